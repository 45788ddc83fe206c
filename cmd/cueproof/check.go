package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/renameio/v2"
	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"
)

type checkOptions struct {
	format, out, colour   string
	minLevel, failLevel   string
	complete              bool
	stdinName, ruleFolder string
}

func newCheck() *cobra.Command {
	var o checkOptions
	command := &cobra.Command{
		Use:   "check SHOW...",
		Short: "Check shows and say what to change",
		Long: `Check reads each SHOW (a folder, a JSON file, or - for standard input), holds it
against all rules and says what to change, in the order to do it. Every change
it offers was made on a copy first, and all rules ran on that copy.`,
		Example: `  cueproof check shows/sunday
  cueproof check --format sarif --out findings.sarif shows/sunday
  cueproof check --min-level error shows/morning shows/evening
  export-my-show | cueproof check --stdin-name show.json -

Exit codes:
  0   nothing at or above the failing level was found
  1   something was
  2   the command was misused, or a rule is broken
  3   a show cannot be read
  4   nothing could be checked, or with --complete not everything
  70  a fault of the program`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("name the show to check: a folder, a JSON file, or - for standard input")
			}
			if slices.Index(args, "-") >= 0 && slices.Index(args, "-") != len(args)-1-slices.Index(reversed(args), "-") {
				return errors.New("standard input can be read only once")
			}
			return nil
		},
		RunE: func(command *cobra.Command, args []string) error { return check(command, args, o) },
	}
	flags := command.Flags()
	flags.StringVar(&o.format, "format", "text", "how to report: text, json or sarif")
	flags.StringVar(&o.out, "out", "-", "file to report to; - is standard output")
	flags.StringVar(&o.minLevel, "min-level", "note", "leave out findings below this level: error, warning or note")
	flags.StringVar(&o.failLevel, "fail-level", "error", "exit with 1 for findings from this level on: error, warning or note")
	flags.BoolVar(&o.complete, "complete", false, "exit with 4 if anything could not be checked")
	flags.StringVar(&o.colour, "color", "auto", "colours in text: auto, always or never")
	flags.StringVar(&o.stdinName, "stdin-name", "standard input", "what to call the show that is read from -")
	flags.StringVar(&o.ruleFolder, "rules", "", "folder with further rules, as PACK/RULE/rule.yaml")
	complete(command, "format", formatNames()...)
	complete(command, "min-level", levelNames()...)
	complete(command, "fail-level", levelNames()...)
	complete(command, "color", "auto", "always", "never")
	return command
}

func complete(command *cobra.Command, flag string, words ...string) {
	err := command.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
	if err != nil {
		panic(err) // the flag is declared above
	}
}

func reversed(args []string) []string {
	list := slices.Clone(args)
	slices.Reverse(list)
	return list
}

func levelNames() []string {
	var names []string
	for _, level := range finding.Levels {
		names = append(names, string(level))
	}
	return names
}

func formatNames() []string {
	var names []string
	for name := range report.Formats {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// oneOf refuses a word that an option does not know.
func oneOf(option, word string, known []string) error {
	if slices.Contains(known, word) {
		return nil
	}
	return fmt.Errorf("--%s cannot be %q; it is one of %s.%s", option, word, strings.Join(known, ", "), spelling.Hint(word, known))
}

func check(command *cobra.Command, args []string, o checkOptions) error {
	if err := errors.Join(
		oneOf("format", o.format, formatNames()), oneOf("min-level", o.minLevel, levelNames()),
		oneOf("fail-level", o.failLevel, levelNames()), oneOf("color", o.colour, []string{"auto", "always", "never"}),
	); err != nil {
		return err
	}
	set, err := loadRules(o.ruleFolder)
	if err != nil {
		return err
	}
	r, err := lint.Run(args, lint.Options{
		Rules: set, Version: version().Version, MinLevel: finding.Level(o.minLevel),
		Stdin: command.InOrStdin(), StdinName: o.stdinName,
	})
	if err != nil {
		return err
	}
	options := report.Options{Width: 80, Colour: o.out == "-" && wantColour(o.colour, command.OutOrStdout())}
	var text bytes.Buffer
	if err := report.Formats[o.format](&text, r, options); err != nil {
		return fault{err}
	}
	if err := write(command.OutOrStdout(), o.out, text.Bytes()); err != nil {
		return fault{err}
	}
	return exitOf(r, o)
}

// write puts the report where it was asked for; a file is replaced as a whole.
func write(stdout io.Writer, path string, data []byte) error {
	if path == "-" {
		_, err := stdout.Write(data)
		return err
	}
	if err := renameio.WriteFile(path, data, 0o644); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}

// exitOf is what a report means to a script. The gravest of all shows counts:
// unreadable, not checked, findings.
func exitOf(r *report.Report, o checkOptions) error {
	var unreadable, nothing, findings bool
	for _, show := range r.Shows {
		unreadable = unreadable || show.Unreadable
		nothing = nothing || show.Verdict == report.NotChecked || o.complete && len(show.Gaps) > 0
		for _, f := range show.Findings {
			findings = findings || f.Verdict == finding.Fail && f.Level.AtLeast(finding.Level(o.failLevel))
		}
	}
	switch {
	case unreadable:
		return outcome(exitShow)
	case nothing:
		return outcome(exitNothing)
	case findings:
		return outcome(exitFindings)
	}
	return nil
}

// loadRules reads the built-in rules and those of a folder, if one is named.
func loadRules(folder string) (*rules.Set, error) {
	set, found := rules.Load(rules.BuiltIn(), "rules/packs")
	if len(found) > 0 {
		return nil, fault{mistakes(found)}
	}
	if folder == "" {
		return set, nil
	}
	info, err := os.Stat(folder)
	if err != nil || !info.IsDir() {
		return nil, fmt.Errorf("%s is not a folder of rules", folder)
	}
	root, err := os.OpenRoot(folder) // a link out of the folder is not followed
	if err != nil {
		return nil, fmt.Errorf("read the rules: %w", err)
	}
	defer root.Close()
	own, found := rules.Load(root.FS(), folder)
	if len(found) > 0 {
		return nil, mistakes(found)
	}
	if len(own.Rules) == 0 {
		return nil, fmt.Errorf("%s holds no rule: PACK/RULE/rule.yaml is looked for", folder)
	}
	for _, rule := range own.Rules {
		if _, twice := set.Find(rule.ID); twice {
			return nil, fmt.Errorf("%s: a rule %s comes with the program; give yours another name", folder, rule.ID)
		}
		set.Rules = append(set.Rules, rule)
	}
	return set, nil
}

// mistakes puts the mistakes in rules into one error, each with its place.
func mistakes(found []finding.Finding) error {
	var lines []string
	for _, f := range found {
		at := f.Place.Span().Start
		lines = append(lines, fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, f.Message))
	}
	return errors.New("a rule is broken:\n  " + strings.Join(lines, "\n  "))
}

// wantColour follows the usual order: the option, NO_COLOR (no-color.org),
// CLICOLOR_FORCE and FORCE_COLOR, a terminal that cannot, and whether it is one.
func wantColour(option string, out io.Writer) bool {
	set := func(name string) bool { return os.Getenv(name) != "" }
	switch {
	case option != "auto":
		return option == "always"
	case set("NO_COLOR"):
		return false
	case set("CLICOLOR_FORCE") && os.Getenv("CLICOLOR_FORCE") != "0", set("FORCE_COLOR") && os.Getenv("FORCE_COLOR") != "0":
		return true
	case os.Getenv("TERM") == "dumb":
		return false
	}
	file, ok := out.(*os.File)
	return ok && isatty.IsTerminal(file.Fd())
}

var _ = strconv.Itoa
