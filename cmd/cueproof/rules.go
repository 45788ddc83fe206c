package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

func newRules() *cobra.Command {
	var folder, colour string
	var house houseFlags
	command := &cobra.Command{
		Use:   "rules",
		Short: "List the rules with their limits and where these come from",
		Long: `Rules lists all rules by packs: what goes wrong, how bad that is, whether the rule
looks, and its limits with their sources; then the numbers that decide what counts
as dark, white, near or lit for all of them. What a house file here or above changes
is said with its file and line. With a subcommand it helps to write rules.`,
		Example: `  cueproof rules
  cueproof rules --rules house-rules
  cueproof rules new hall/fader-reach --in house-rules
  cueproof rules test house-rules`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("rules has no subcommand %q.%s", args[0], spelling.Hint(args[0], []string{"new", "test"}))
			}
			return nil
		},
		RunE: func(command *cobra.Command, _ []string) error {
			if err := oneOf("color", colour, colourWords); err != nil {
				return err
			}
			set, err := loadRules(folder)
			if err != nil {
				return err
			}
			options, err := house.options()
			if err != nil {
				return err
			}
			setup, err := lint.SetUp(".", lint.Options{Rules: set, House: options})
			if err != nil {
				return err
			}
			var page bytes.Buffer
			if err := text.List(&page, listed(setup), counted(), say.Options{Width: 80, Colour: wantColour(colour, command.OutOrStdout())}); err != nil {
				return fault{err}
			}
			return write(command.OutOrStdout(), page.Bytes())
		},
	}
	rulesFlag(command, &folder)
	house.add(command)
	colourFlag(command, &colour)
	command.AddCommand(newRulesNew(), newRulesTest())
	return command
}

// counted are the numbers that decide what counts for all rules.
func counted() []text.Count {
	var list []text.Count
	for _, c := range facts.Counts() {
		list = append(list, text.Count(c))
	}
	return list
}

// listed gives the rules as their house wants them, those that are off too.
func listed(setup *lint.Setup) []text.RuleRow {
	var list []text.RuleRow
	for _, rule := range setup.All.Rules {
		one := text.RuleRow{Rule: rule.Rule}
		if changed, looks := setup.Rules.Find(rule.ID); looks {
			one.Rule = changed.Rule
		} else {
			one.Off = setup.Settings(rule)[0].From
		}
		list = append(list, one)
	}
	return list
}

func rulesFlag(command *cobra.Command, folder *string) {
	command.Flags().StringVar(folder, "rules", "", "folder with further rules, as PACK/RULE/rule.yaml")
	if err := command.MarkFlagDirname("rules"); err != nil {
		panic(err) // the option is declared above
	}
}

// openFolder opens a folder that somebody named; a link out of it is not followed. An error
// begins with what they wrote.
func openFolder(written, folder string) (*os.Root, error) {
	switch info, err := os.Stat(folder); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s: there is no such folder", written)
	case err == nil && !info.IsDir():
		return nil, fmt.Errorf("%s: this is not a folder", written)
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be read: %w", written, source.Cause(err))
	}
	return root, nil
}

// loadRules reads the built-in rules and those of a folder, if one is named.
func loadRules(folder string) (*rules.Set, error) {
	set := rules.Own()
	if folder == "" {
		return set, nil
	}
	root, err := openFolder("--rules "+folder, folder)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	own, found := rules.Load(root.FS(), folder)
	if len(found) > 0 {
		return nil, rules.Mistakes(found)
	}
	if len(own.Rules) == 0 {
		return nil, fmt.Errorf("--rules %s: no rule is in it; PACK/RULE/rule.yaml is looked for", folder)
	}
	for _, rule := range own.Rules {
		if _, twice := set.Find(rule.ID); twice {
			return nil, fmt.Errorf("--rules %s: a rule %s comes with the program; give yours another name", folder, rule.ID)
		}
	}
	set.Rules = append(set.Rules, own.Rules...)
	slices.SortFunc(set.Rules, func(a, b *rules.Rule) int { return strings.Compare(a.ID, b.ID) })
	return set, nil
}
