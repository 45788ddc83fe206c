package main

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/html"
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
		Use:   "explain RULE|KEY...",
		Short: "Explain what a rule means and what to try",
		Long: `Explain prints for each RULE (such as white/key-mix, or file/unknown-key for a
problem of a file) what it looks like, why it matters, how it is worked out, what
to try and how sure it is; with --show also with the numbers of a show. For the KEY
of a finding (such as F-7Q2KM) it prints all of it, and the order that helps. With --all
it prints everything as a handbook, and runs the example of each rule for it.`,
		Example: `  cueproof explain white/key-mix
  cueproof explain white/key-mix --show shows/sunday
  cueproof explain --all --format html --out handbook.html
  cueproof explain file/unknown-key
  cueproof explain white/key-mix --show shows/sunday --format html --out rule.html
  cueproof explain F-7Q2KM --show shows/sunday

Exit codes: 0 printed, 2 misuse, 3 the show cannot be read, 70 a fault of the program.`,
		Args: func(command *cobra.Command, args []string) error {
			if book.all {
				return noArguments(command, args)
			}
			return atLeastOne("the rule to explain; 'cueproof rules' lists them")(command, args)
		},
		ValidArgsFunction: func(command *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
			readBehind(command)
			cards, err := allCards(folder, house, book.show, nil)
			if err != nil {
				return nil, cobra.ShellCompDirectiveError
			}
			var words []string
			if strings.HasPrefix(strings.ToUpper(begun), "F") && book.show != "" {
				words = keyWords(folder, house, book.show, begun)
			}
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
			cards, err := allCards(folder, house, book.show, book.out.guard)
			if err != nil {
				return err
			}
			if book.all {
				return writeHandbook(command, cards, book)
			}
			if slices.ContainsFunc(args, isKey) {
				return explainKeys(command, args, folder, house, book, colour)
			}
			var page bytes.Buffer
			options := say.Options{Width: 80, Colour: colour == "always" || book.out.isStandard(command.OutOrStdout()) && wantColour(colour, command.OutOrStdout())}
			work, err := workOf(command, args, cards, folder, house, book)
			if err != nil {
				return err
			}
			if book.format == "html" {
				return explainPage(command, args, cards, work, folder, house, book)
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

var keyForm = regexp.MustCompile(`^[Ff]-[0-9A-Za-z]{5}$`)

func isKey(arg string) bool { return keyForm.MatchString(arg) }

// explainKeys says all of findings by their keys.
func explainKeys(command *cobra.Command, keys []string, folder string, house houseFlags, book bookOptions, colour string) error {
	if book.show == "" {
		return usagef("%s is the key of a finding; say of which show with --show", keys[0])
	}
	past, err := pastOf(book.history, book.show)
	if err != nil {
		return err
	}
	r, err := runFor(folder, house, book.show, past)
	if err != nil {
		return err
	}
	if r.Shows[0].Unreadable {
		return unread(command, book.show)
	}
	options := say.Options{Width: 80, Colour: colour == "always" || book.out.isStandard(command.OutOrStdout()) && wantColour(colour, command.OutOrStdout())}
	var page bytes.Buffer
	for i, key := range keys {
		if i > 0 {
			page.WriteByte('\n')
		}
		if now := lint.KeyNow(r, strings.ToUpper(key)); now != strings.ToUpper(key) {
			fmt.Fprintf(&page, "%s of an earlier run is %s by now.\n\n", strings.ToUpper(key), now)
			key = now
		}
		ok, err := text.Finding(&page, r, key, options)
		if err != nil {
			return fault{err}
		}
		if !ok {
			var known []string
			for j := range r.Shows[0].Findings {
				known = append(known, r.Shows[0].Findings[j].Key())
			}
			return usagef("%s has no finding %q.%s", book.show, key, spelling.Hint(strings.ToUpper(key), known))
		}
	}
	return book.out.tell(command, outfile.TextMark, func(w io.Writer) error {
		_, err := page.WriteTo(w)
		return err
	})
}

// runFor checks one show, to speak of its findings.
func runFor(folder string, house houseFlags, show string, past *lint.History) (*outcome.Report, error) {
	run, err := runOptions(folder, house, &exportFlags{})
	if err != nil {
		return nil, err
	}
	run.History, run.Asks = past, true
	return lint.Run([]string{show}, run)
}

// keyWords completes the key of a finding, with what it says.
func keyWords(folder string, house houseFlags, show, begun string) []string {
	r, err := runFor(folder, house, show, nil)
	if err != nil {
		return nil
	}
	var words []string
	for i := range r.Shows[0].Findings {
		f := &r.Shows[0].Findings[i]
		if key := f.Key(); f.Verdict == finding.Fail && strings.HasPrefix(key, strings.ToUpper(begun)) {
			words = append(words, key+"\t"+say.OneLine(f.Message))
		}
	}
	return words
}

// allCards lists all that can be explained: rules, with the limits that hold for a show
// or else where we stand, and problems of files.
func allCards(folder string, house houseFlags, show string, out *outfile.Guard) ([]finding.Rule, error) {
	run, err := runOptions(folder, house, &exportFlags{})
	if err != nil {
		return nil, err
	}
	run.Out = out
	setup, err := lint.SetUp(cmp.Or(show, "."), run)
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

// explainPage writes rules as a page, each with what there is to see of it in a show.
func explainPage(command *cobra.Command, ids []string, cards []finding.Rule, work []*outcome.RuleWork, folder string, house houseFlags, book bookOptions) error {
	var list []html.RulePage
	for i, id := range ids {
		at := slices.IndexFunc(cards, func(card finding.Rule) bool { return card.ID == id })
		if at < 0 {
			return usagef("there is no rule %q.%s", id, meant(id, cards))
		}
		one := html.RulePage{Rule: cards[at]}
		if work != nil && work[i] != nil && book.show != "-" { // standard input is read once
			one.Work = work[i]
			run, err := runOptions(folder, house, &exportFlags{})
			if err != nil {
				return err
			}
			run.Out = book.out.guard
			cue, place := one.Work.Cue, ""
			for _, name := range one.Work.Names {
				if name.Kind == "place" {
					place = name.Name
				}
			}
			if one.Show, err = lint.Picture(book.show, run, cue, place); err != nil {
				return err
			}
		}
		list = append(list, one)
	}
	return book.out.tell(command, "", func(w io.Writer) error { return html.Explain(w, list) })
}
