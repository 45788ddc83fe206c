package main

import (
	"errors"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/spf13/cobra"
)

type compareOptions struct {
	format, colour        string
	out                   outFlags
	failLevel, ruleFolder string
	house                 houseFlags
	exports               exportFlags
}

func newCompare() *cobra.Command {
	var o compareOptions
	formats := slices.Sorted(maps.Keys(report.ComparisonFormats))
	command := &cobra.Command{
		Use:   "compare OLD NEW",
		Short: "Say what two states of a show have different",
		Long: `Compare checks two states of a show (folders or JSON files), each by the house
file it has, and says which findings are new, which are fixed and how each look
changed: light in stops, hues, levels of channels, and the light on faces.

A finding is recognised by its rule and by the names in it, so that moved lines
and a new order of keys change nothing. What was found then and cannot be told
now is not called fixed.`,
		Example: `  cueproof compare last-week/sunday shows/sunday
  cueproof compare --format json --out changes.json before after
  cueproof compare --format html --out changes.html before after
  git worktree add ../before main
  cueproof compare ../before/shows/sunday shows/sunday

Exit codes:
  0   nothing new or worse at or above the failing level, and all can be told as before
  1   something is new or worse, or can no longer be told
  2   the command was misused, or a house file or rule is broken
  3   a show cannot be read
  70  a fault of the program`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usagef("name two shows: the old state and the new one")
			}
			return nil
		},
		RunE: func(command *cobra.Command, args []string) error { return compareShows(command, args, o, formats) },
	}
	flags := command.Flags()
	flags.StringVar(&o.format, "format", "text", "how to report: "+strings.Join(formats, ", "))
	o.out.add(command)
	flags.StringVar(&o.failLevel, "fail-level", "error", "exit with 1 for new findings from this level on: error, warning or note")
	colourFlag(command, &o.colour)
	rulesFlag(command, &o.ruleFolder)
	o.house.add(command)
	o.house.addNow(command)
	o.exports.add(command)
	complete(command, "format", formats...)
	complete(command, "fail-level", levelNames()...)
	return command
}

func compareShows(command *cobra.Command, args []string, o compareOptions, formats []string) error {
	problems := []error{
		oneOf("format", o.format, formats), oneOf("fail-level", o.failLevel, levelNames()), oneOf("color", o.colour, colourWords),
	}
	for _, arg := range args {
		if arg == "-" {
			problems = append(problems, usagef("compare reads no standard input; name two shows"))
		} else {
			problems = append(problems, noSuchShow(arg))
		}
	}
	if err := errors.Join(problems...); err != nil {
		return err
	}
	run, err := runOptions(o.ruleFolder, o.house, &o.exports)
	if err != nil {
		return err
	}
	if err := o.out.check(command, o.ruleFolder, append(args, o.house.file)...); err != nil {
		return err
	}
	progress := progressOn(command)
	defer progress.done()
	run.Out, run.Pictures, run.Tell = o.out.guard, o.format == "html", progress.tell
	c, err := lint.Compare(args[0], args[1], run)
	if err != nil {
		return err
	}
	progress.done()
	options := say.Options{Width: 80, Colour: o.colour == "always" || o.out.isStandard(command.OutOrStdout()) && wantColour(o.colour, command.OutOrStdout())}
	if err := o.out.tell(command, marks[o.format], func(w io.Writer) error { return report.ComparisonFormats[o.format](w, c, options) }); err != nil {
		return err
	}
	if c.Old.Unreadable || c.New.Unreadable {
		return exitCode(exitShow)
	}
	if c.Failed() {
		return exitCode(exitFindings)
	}
	for i := range c.Findings {
		f := &c.Findings[i]
		if f.Base.Grew() && f.Accepted == nil && f.Verdict == finding.Fail && f.Level.AtLeast(finding.Level(o.failLevel)) {
			return exitCode(exitFindings)
		}
	}
	return nil
}
