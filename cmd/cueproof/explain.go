package main

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
	"github.com/spf13/cobra"
)

func newExplain() *cobra.Command {
	var folder, colour string
	var house houseFlags
	var book bookOptions
	command := &cobra.Command{
		Use:   "explain RULE...",
		Short: "Explain what a rule means and what to try",
		Long: `Explain prints for each RULE (such as white/key-mix, or file/unknown-key for a
problem of a file) what it looks like, why it matters, how it is worked out, what
to try and how sure it is; with --show also with the numbers of a show. With --all
it prints everything as a handbook, and runs the example of each rule for it.`,
		Example: `  cueproof explain white/key-mix
  cueproof explain white/key-mix --show shows/sunday
  cueproof explain --all --format html --out handbook.html
  cueproof explain file/unknown-key`,
		Args: func(command *cobra.Command, args []string) error {
			if book.all {
				return noArguments(command, args)
			}
			return atLeastOne("the rule to explain; 'cueproof rules' lists them")(command, args)
		},
		ValidArgsFunction: func(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
			cards, err := allCards(folder, house, nil)
			if err != nil {
				return nil, cobra.ShellCompDirectiveError
			}
			var words []string
			for _, card := range cards {
				if strings.HasPrefix(card.ID, begun) {
					words = append(words, card.ID+"\t"+card.Title)
				}
			}
			return words, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(command *cobra.Command, args []string) error {
			if err := oneOf("color", colour, colourWords); err != nil {
				return err
			}
			if err := book.validate(); err != nil {
				return err
			}
			if err := book.out.check(command, folder, book.show, house.file); err != nil {
				return err
			}
			cards, err := allCards(folder, house, book.out.guard)
			if err != nil {
				return err
			}
			if book.all {
				return writeHandbook(command, cards, book)
			}
			var page bytes.Buffer
			options := say.Options{Width: 80, Colour: colour == "always" || book.out.isStandard(command.OutOrStdout()) && wantColour(colour, command.OutOrStdout())}
			work, err := workOf(command, args, cards, folder, house, book)
			if err != nil {
				return err
			}
			for i, id := range args {
				at := slices.IndexFunc(cards, func(card finding.Rule) bool { return card.ID == id })
				if at < 0 {
					return usagef("there is no rule %q.%s", id, meant(id, cards))
				}
				if i > 0 {
					page.WriteByte('\n')
				}
				if err := text.Explain(&page, cards[at], options); err != nil {
					return fault{err}
				}
				if work != nil && work[i] != nil {
					if err := text.Work(&page, work[i], options); err != nil {
						return fault{err}
					}
				}
			}
			return book.out.tell(command, outfile.TextMark, func(w io.Writer) error {
				_, err := page.WriteTo(w)
				return err
			})
		},
	}
	rulesFlag(command, &folder)
	house.add(command)
	colourFlag(command, &colour)
	book.add(command)
	return command
}

// allCards lists all that can be explained: rules, and problems of files.
func allCards(folder string, house houseFlags, out *outfile.Guard) ([]finding.Rule, error) {
	set, err := loadRules(folder)
	if err != nil {
		return nil, err
	}
	options, err := house.options()
	if err != nil {
		return nil, err
	}
	setup, err := lint.SetUp(".", lint.Options{Rules: set, House: options, Out: out})
	if err != nil {
		return nil, err
	}
	var cards []finding.Rule
	for _, one := range listed(setup) { // with the limits of the house, and also those that it switches off
		cards = append(cards, one.Rule)
	}
	for _, id := range schema.ProblemIDs() {
		cards = append(cards, lint.FileRule(id, finding.Warning, finding.Later))
	}
	slices.SortFunc(cards, func(a, b finding.Rule) int { return strings.Compare(a.ID, b.ID) })
	return cards, nil
}

// meant says which rule was probably meant: one whose pack was left out, or one
// that is spelt nearly so.
func meant(id string, cards []finding.Rule) string {
	var ids []string
	for _, card := range cards {
		if strings.HasSuffix(card.ID, "/"+id) {
			return fmt.Sprintf(" Did you mean %q?", card.ID)
		}
		ids = append(ids, card.ID)
	}
	return spelling.Hint(id, ids)
}
