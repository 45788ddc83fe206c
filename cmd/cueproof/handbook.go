package main

import (
	"cmp"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

// bookOptions are what explain is told besides the rules.
type bookOptions struct {
	all          bool
	format, show string
	history      string
	out          outFlags
}

func (b *bookOptions) add(command *cobra.Command) {
	flags := command.Flags()
	flags.BoolVar(&b.all, "all", false, "explain everything, as a handbook")
	flags.StringVar(&b.format, "format", "md", "how to write the handbook, or a rule as a page (html): "+strings.Join(bookFormats(), " or "))
	b.out.add(command)
	flags.StringVar(&b.show, "show", "", "show with whose numbers to say how the rule is worked out")
	historyFlag(command, &b.history)
	complete(command, "format", bookFormats()...)
}

func bookFormats() []string { return slices.Sorted(maps.Keys(report.Handbooks)) }

func (b *bookOptions) validate() error {
	if err := oneOf("format", b.format, bookFormats()); err != nil {
		return err
	}
	if b.all && b.show != "" {
		return usagef("--show gives one rule the numbers of a show; name the rule instead of --all")
	}
	if b.show != "" && b.show != "-" {
		return noSuchShow(b.show)
	}
	return nil
}

// workOf works the named rules out with the numbers of a show, if one is given.
func workOf(command *cobra.Command, ids []string, cards []finding.Rule, folder string, house houseFlags, book bookOptions) ([]*outcome.Worked, error) {
	if book.show == "" {
		return nil, nil
	}
	for _, id := range ids {
		if !slices.ContainsFunc(cards, func(card finding.Rule) bool { return card.ID == id }) {
			return nil, usagef("there is no rule %q.%s", id, meant(id, cards))
		}
	}
	set, err := loadRules(folder)
	if err != nil {
		return nil, err
	}
	options, err := house.options()
	if err != nil {
		return nil, err
	}
	run := lint.Options{Rules: set, Stdin: command.InOrStdin(), StdinName: "standard input", House: options, Out: book.out.guard}
	setup, err := lint.SetUp(book.show, run)
	if err != nil {
		return nil, err
	}
	measured, loaded, _, err := lint.Measure(book.show, run)
	if err != nil {
		return nil, err
	}
	return cases.Work(ids, setup.Rules, setup.All, measured, cmp.Or(loaded.Show.Name, book.show)), nil
}

// writeHandbook writes all explanations, and runs the example of every rule of ours.
func writeHandbook(command *cobra.Command, cards []finding.Rule, b bookOptions) error {
	set, err := loadRules("")
	if err != nil {
		return err
	}
	var chapters []handbook.Chapter
	for _, card := range cards {
		chapter := handbook.Chapter{Rule: card}
		if rule, ok := set.Find(card.ID); ok { // run with its own limits, as its cases are
			list, _, err := cases.Run(rules.BuiltIn(), rule)
			if err != nil {
				return fault{err}
			}
			example, err := cases.ExampleOf(rule, list)
			if err != nil {
				return err
			}
			chapter.Example = example.Says
		}
		chapters = append(chapters, chapter)
	}
	return b.out.tell(command, marks[b.format], func(w io.Writer) error { return report.Handbooks[b.format](w, chapters) })
}
