package main

import (
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/ask"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/spf13/cobra"
)

func newAsk() *cobra.Command {
	var folder, colour, show string
	var house houseFlags
	command := &cobra.Command{
		Use:   "ask WORDS...",
		Short: "Find the rule for what you see",
		Long: `Ask takes what you see in your own words, and says which rules mean that. With
--show it also says what they find in a show tonight, and which order helps. It
looks nothing up outside of this program.`,
		Example: `  cueproof ask "the left side stays dark"
  cueproof ask "stripes roll through the stream" --show shows/sunday

Exit codes: 0 printed, 2 misuse, 3 the show cannot be read, 70 a fault of the program.`,
		Args: atLeastOne("what you see, such as \"the beams do not show\""),
		RunE: func(command *cobra.Command, args []string) error {
			if err := oneOf("color", colour, colourWords); err != nil {
				return err
			}
			if show != "" {
				if err := noSuchShow(show); err != nil {
					return err
				}
			}
			set, err := loadRules(folder)
			if err != nil {
				return err
			}
			options, err := house.options()
			if err != nil {
				return err
			}
			setup, err := lint.SetUp(showOr(show, "."), lint.Options{Rules: set, House: options})
			if err != nil {
				return err
			}
			var cards []finding.Rule
			for _, rule := range setup.Rules.Rules {
				cards = append(cards, rule.Rule)
			}
			question := strings.Join(args, " ")
			hits := ask.Rules(question, cards)
			if len(hits) == 0 {
				return usagef("no rule lists anything like %q; say what you see in other words, or see 'cueproof rules'", question)
			}
			var r *outcome.Report
			if show != "" {
				if r, err = lint.Run([]string{show}, lint.Options{Rules: set, House: options, Version: version().Version}); err != nil {
					return err
				}
				if r.Shows[0].Unreadable {
					return unread(command, show)
				}
			}
			if r != nil { // what is found tonight comes first
				slices.SortStableFunc(hits, func(a, b ask.Hit) int { return foundBy(r, b.Rule.ID) - foundBy(r, a.Rule.ID) })
			}
			told := say.Options{Width: 80, Colour: wantColour(colour, command.OutOrStdout())}
			return tell(command, func(w io.Writer) error { return text.Asked(w, hits, r, told) })
		},
	}
	command.Flags().StringVar(&show, "show", "", "show to look in")
	rulesFlag(command, &folder)
	house.add(command)
	colourFlag(command, &colour)
	return command
}

// foundBy is 1 if a rule finds anything in a report.
func foundBy(r *outcome.Report, rule string) int {
	for i := range r.Shows {
		if slices.ContainsFunc(r.Shows[i].Findings, func(f finding.Finding) bool { return f.Rule == rule && f.Verdict == finding.Fail }) {
			return 1
		}
	}
	return 0
}

func showOr(show, other string) string {
	if show == "" {
		return other
	}
	return show
}
