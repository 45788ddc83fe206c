package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"
)

type checkOptions struct {
	root                 string
	formats, outs        []string // pairs, in the order of the command line
	colour               string
	out                  outFlags // the first of them; the others share its guard
	minLevel, failLevel  string
	base, history        string
	try                  string
	minutes              minutesFlag
	doors                string
	complete, all, watch bool
	whatIf               string
	readFlags
}

func newCheck() *cobra.Command {
	var o checkOptions
	command := &cobra.Command{
		Use:   "check SHOW...",
		Short: "Check shows and say what to change",
		Long: `Check reads each SHOW (a folder, a JSON file, or - for standard input), holds it
against all rules and says what to change, in the order to do it. Every change
it offers was made on a copy first, and all rules ran on that copy. A folder may
hold exports: console data as ASCII text, plans as MVR, fixture types as GDTF.`,
		Example: `  cueproof check shows/sunday
  cueproof check --format sarif --out findings.sarif shows/sunday
  cueproof check --min-level error shows/morning shows/evening
  cueproof check --base ../before/shows/sunday shows/sunday
  cueproof check --history shows/sunday/.cueproof-history.json shows/sunday
  cueproof check --format text --out - --format sarif --out findings.sarif shows/sunday
  cueproof check --format html --out evening.html shows/sunday
  cueproof check --doors 10:30 shows/sunday
  cueproof check --try corrected/sunday shows/sunday
  cueproof check --watch shows/sunday
  cueproof check --what-if "channel 12 dark" shows/sunday
  export-my-show | cueproof check --stdin-name show.json -

Exit codes:
  0   nothing at or above the failing level was found
  1   something was; with --base, something new, worse or no longer tellable
  2   the command was misused, or a house file or rule is broken
  3   a show cannot be read
  4   nothing could be checked, or with --complete not everything
  70  a fault of the program`,
		Args: atLeastOne("the show to check: a folder, a JSON file, or - for standard input"),
		RunE: func(command *cobra.Command, args []string) error { return check(command, args, o) },
	}
	flags := command.Flags()
	flags.StringArrayVar(&o.formats, "format", []string{"text"}, "how to report: "+strings.Join(formatNames(), ", ")+"; may be given again, each with an --out of its own")
	flags.StringArrayVar(&o.outs, "out", []string{"-"}, outHelp)
	o.out.addGuard(command)
	flags.StringVar(&o.minLevel, "min-level", "note", "leave out findings below this level: error, warning or note")
	flags.StringVar(&o.failLevel, "fail-level", "error", "exit with 1 for findings from this level on: error, warning or note")
	flags.StringVar(&o.base, "base", "", "earlier state of the show, or a JSON or SARIF report of an earlier run: only what is new, worse or no longer tellable counts for the exit code")
	flags.StringVar(&o.history, "history", "", "file to remember this run in, such as .cueproof-history.json beside the show: says what changed since last time, and warns of what looks like the wrong file")
	flags.StringVar(&o.try, "try", "", "write a corrected copy of the show as this new folder, read it again and prove it; the show itself is never written")
	flags.Var(&o.minutes, "minutes", "choose the changes that avoid the most harm in this time, such as 10 or 10min, and say what stays undone")
	flags.StringVar(&o.doors, "doors", "", "when doors open, such as 10:30: what there is no time for, and what is riskier now than the fault, is left")
	flags.BoolVar(&o.watch, "watch", false, "check again each time the files have changed, until Ctrl-C; while they cannot be read, the last state that could be stays")
	flags.StringVar(&o.whatIf, "what-if", "", "say what would be, worked out in memory, such as: "+strings.Join(lint.WhatIfGrammar, "; "))
	flags.BoolVar(&o.all, "all", false, "print everything, with reasons and how to go back, and not only what fits on one screen")
	flags.StringVar(&o.root, "root", "", "folder that the places of SARIF, annotations and summary are told from, such as that of the repository, wherever the program is started")
	flags.BoolVar(&o.complete, "complete", false, "exit with 4 if anything could not be checked")
	colourFlag(command, &o.colour)
	o.readFlags.add(command)
	o.house.addNow(command)
	complete(command, "format", formatNames()...)
	complete(command, "min-level", levelNames()...)
	complete(command, "fail-level", levelNames()...)
	return command
}

func levelNames() []string {
	var names []string
	for _, level := range finding.Levels {
		names = append(names, string(level))
	}
	return names
}

func formatNames() []string { return slices.Sorted(maps.Keys(report.Formats)) }

func check(command *cobra.Command, args []string, o checkOptions) error {
	if o.watch || command.Flags().Changed("what-if") {
		if err := o.onlySays(command, args); err != nil {
			return err
		}
	}
	run, err := o.begin(command, args)
	if err != nil {
		return err
	}
	past, err := openHistory(o)
	if err != nil {
		return err
	}
	minutes, near, err := o.time()
	if err != nil {
		return err
	}
	reports, err := o.pairs()
	if err != nil {
		return err
	}
	if command.Flags().Changed("what-if") {
		return whatIf(command, args, o, run)
	}
	if o.watch {
		run.MinLevel, run.Base, run.Minutes, run.Near = finding.Level(o.minLevel), o.base, minutes, near
		return watch(command, o, followedShows(args, func(path string, _ func(*outcome.Report)) (*outcome.Report, error) {
			return lint.Run([]string{path}, run)
		}))
	}
	progress := progressOn(command)
	defer progress.done()
	run.MinLevel, run.Base, run.History, run.Try, run.Minutes, run.Near = finding.Level(o.minLevel), o.base, past, o.try, minutes, near
	run.Tell, run.Out = progress.tell, o.out.guard
	run.Fixes, run.Pictures = slices.Contains(o.formats, "sarif"), slices.Contains(o.formats, "html")
	run.Short = o.base == "" && past == nil && !o.all && !slices.ContainsFunc(o.formats, func(format string) bool { return format != "text" })
	r, err := lint.Run(args, run)
	progress.done()
	if err != nil {
		return err
	}
	if err := checkHistory(o); err != nil { // now that all is read, and before anything is written
		return err
	}
	var exit exitCode
	errors.As(exitOf(r, o), &exit)
	for _, p := range reports {
		options := say.Options{Width: 80, All: o.all, Root: o.root, Exit: int(exit), Colour: o.colour == "always" || p.out.isStandard(command.OutOrStdout()) && wantColour(o.colour, command.OutOrStdout())}
		if err := p.out.tell(command, marks[p.format], func(w io.Writer) error { return report.Formats[p.format](w, r, options) }); err != nil {
			return err
		}
	}
	if err := writeHistory(o, past, r); err != nil {
		return err
	}
	return exitOf(r, o)
}

// begin refuses what cannot be, before any show is read.
func (o checkOptions) begin(command *cobra.Command, args []string) (lint.Options, error) {
	if err := o.validate(args); err != nil {
		return lint.Options{}, err
	}
	run, err := o.options(command)
	if err != nil {
		return run, err
	}
	return run, o.checkPlaces(command, args)
}

// validate refuses what cannot be meant, all of it at once.
func (o checkOptions) validate(args []string) error {
	var problems []error
	for _, format := range o.formats {
		problems = append(problems, oneOf("format", format, formatNames()))
	}
	problems = append(problems,
		oneOf("min-level", o.minLevel, levelNames()),
		oneOf("fail-level", o.failLevel, levelNames()), oneOf("color", o.colour, colourWords),
	)
	if o.root != "" {
		root, err := openFolder("--root "+o.root, o.root)
		if err == nil {
			err = root.Close()
		}
		problems = append(problems, err)
	}
	if err := errors.Join(problems...); err != nil {
		return err
	}
	if !finding.Level(o.failLevel).AtLeast(finding.Level(o.minLevel)) {
		return usagef("--min-level %s leaves out what --fail-level %s should fail for", o.minLevel, o.failLevel)
	}
	stdin := 0
	for _, arg := range args {
		if arg == "-" {
			stdin++
		} else {
			problems = append(problems, noSuchShow(arg))
		}
	}
	if o.history != "" && len(args) > 1 {
		return usagef("--history is about one show; check them one at a time, each with a history of its own")
	}
	if _, err := o.pairs(); err != nil {
		problems = append(problems, err)
	}
	switch {
	case o.try != "" && len(args) > 1:
		problems = append(problems, usagef("--try writes one corrected show; %d are named", len(args)))
	case o.try != "" && errors.Join(problems...) == nil:
		problems = append(problems, lint.CheckTry(args[0], o.try))
	}
	if stdin > 1 {
		return usagef("standard input can be read only once")
	}
	return errors.Join(problems...)
}

// pair is a report in one format, and where it goes.
type pair struct {
	format string
	out    outFlags
}

// pairs puts the formats and the places together, in their order. Where there are fewer
// places, one whose name ends as a format is called goes to that; what has no place goes
// to standard output, of which there is one.
func (o *checkOptions) pairs() ([]pair, error) {
	if len(o.outs) > len(o.formats) {
		return nil, usagef("--out is given %d times and --format %d times; give each report its format", len(o.outs), len(o.formats))
	}
	places, rest := make([]*string, len(o.formats)), []*string(nil)
	for i := range o.outs {
		place := &o.outs[i]
		at := slices.IndexFunc(o.formats, func(format string) bool { return strings.EqualFold(filepath.Ext(*place), "."+format) })
		if at < 0 || places[at] != nil || len(o.outs) == len(o.formats) {
			rest = append(rest, place)
		} else {
			places[at] = place
		}
	}
	for _, place := range rest {
		places[slices.Index(places, nil)] = place
	}
	var list []pair
	standard := 0
	for i, format := range o.formats {
		out := o.out
		out.path = "-"
		if places[i] != nil {
			out.path = *places[i]
		}
		if out.path == "-" {
			standard++
		}
		list = append(list, pair{format, out})
	}
	if standard > 1 {
		return nil, usagef("standard output takes one report; give the others a file each with --out")
	}
	return list, nil
}

// checkPlaces refuses what cannot be written to before any work is done, and asks
// that nothing is written to twice.
func (o checkOptions) checkPlaces(command *cobra.Command, args []string) error {
	reports, err := o.pairs()
	if err != nil {
		return err
	}
	for _, p := range reports {
		err := p.out.check(command, o.ruleFolder, slices.Concat(args, []string{o.base, o.house.file})...)
		if err != nil && !(o.try != "" && errors.Is(err, outfile.ErrNoFolder)) { // a report may go into the corrected copy
			return err
		}
	}
	for _, other := range []struct{ option, name string }{{"--try", o.try}, {"--history", o.history}} {
		if other.name == "" {
			continue
		}
		if err := o.out.guard.Choose(other.option, other.name); err != nil {
			return usage{err}
		}
	}
	return checkHistory(o)
}

// noSuchShow says when a path leads nowhere, or to what can be no whole show.
func noSuchShow(name string) error {
	if info, err := os.Stat(name); err == nil {
		return lint.CheckName(name, info)
	}
	return notThere(name)
}

// notThere says when a path leads nowhere, and what is there instead.
func notThere(name string) error {
	_, err := os.Stat(name)
	if err == nil {
		return nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the show %q cannot be opened: %w", name, source.Cause(err))
	}
	var there []string
	folder := filepath.Dir(name)
	entries, _ := os.ReadDir(folder) // a folder that is not there has no likeness either
	for _, entry := range entries {
		there = append(there, filepath.ToSlash(filepath.Join(folder, entry.Name())))
	}
	return fmt.Errorf("there is no show %q.%s", name, spelling.Hint(filepath.ToSlash(filepath.Clean(name)), there))
}

// exitOf is what a report means to a script. The gravest of all shows counts:
// unreadable, not checked, findings.
func exitOf(r *outcome.Report, o checkOptions) error {
	var unreadable, nothing, findings bool
	for _, show := range r.Shows {
		unreadable = unreadable || show.Unreadable
		nothing = nothing || show.Verdict == outcome.NotChecked || o.complete && len(show.Gaps) > 0
		for _, f := range show.Findings {
			findings = findings || f.Accepted == nil && (r.Base == nil || f.Base.Grew()) && f.Verdict == finding.Fail && f.Level.AtLeast(finding.Level(o.failLevel))
		}
	}
	findings = findings || r.Base != nil && r.Base.Failed()
	switch {
	case unreadable:
		return exitCode(exitShow)
	case nothing:
		return exitCode(exitNothing)
	case findings:
		return exitCode(exitFindings)
	}
	return nil
}

var colourWords = []string{"auto", "always", "never"}

func colourFlag(command *cobra.Command, colour *string) {
	command.Flags().StringVar(colour, "color", "auto", "colours in text: auto, always or never")
	complete(command, "color", colourWords...)
}

// wantColour follows the usual order: the option, NO_COLOR (no-color.org),
// CLICOLOR_FORCE and FORCE_COLOR, a terminal that cannot, and whether it is one.
func wantColour(option string, out io.Writer) bool {
	forced := func(name string) bool { return os.Getenv(name) != "" && os.Getenv(name) != "0" }
	switch {
	case option != "auto":
		return option == "always"
	case os.Getenv("NO_COLOR") != "":
		return false
	case forced("CLICOLOR_FORCE") || forced("FORCE_COLOR"):
		return true
	case os.Getenv("TERM") == "dumb":
		return false
	}
	file, ok := out.(*os.File)
	return ok && isatty.IsTerminal(file.Fd())
}
