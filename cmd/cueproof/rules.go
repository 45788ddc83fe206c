package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

func newRules() *cobra.Command {
	var folder, colour string
	command := &cobra.Command{
		Use:   "rules",
		Short: "List the rules with their limits and where these come from",
		Example: `  cueproof rules
  cueproof rules --rules house-rules`,
		Args: noArguments,
		RunE: func(command *cobra.Command, _ []string) error {
			if err := oneOf("color", colour, colourWords); err != nil {
				return err
			}
			set, err := loadRules(folder)
			if err != nil {
				return err
			}
			var cards []finding.Rule
			for _, rule := range set.Rules {
				cards = append(cards, rule.Rule)
			}
			var text bytes.Buffer
			if err := report.List(&text, cards, report.Options{Width: 80, Colour: wantColour(colour, command.OutOrStdout())}); err != nil {
				return fault{err}
			}
			return write(command.OutOrStdout(), "-", text.Bytes(), nil)
		},
	}
	rulesFlag(command, &folder)
	colourFlag(command, &colour)
	return command
}

func rulesFlag(command *cobra.Command, folder *string) {
	command.Flags().StringVar(folder, "rules", "", "folder with further rules, as PACK/RULE/rule.yaml")
	if err := command.MarkFlagDirname("rules"); err != nil {
		panic(err) // the option is declared above
	}
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
		return nil, fmt.Errorf("--rules %s: this is not a folder", folder)
	}
	root, err := os.OpenRoot(folder) // a link out of the folder is not followed
	if err != nil {
		return nil, fmt.Errorf("--rules %s: cannot be read: %w", folder, cause(err))
	}
	defer root.Close()
	own, found := rules.Load(root.FS(), folder)
	if len(found) > 0 {
		return nil, mistakes(found)
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

// mistakes puts the mistakes in rules into one error, each with its place.
func mistakes(found []finding.Finding) error {
	lines := []string{"a rule is broken:"}
	if len(found) > 1 {
		lines[0] = fmt.Sprintf("there are %d mistakes in rules:", len(found))
	}
	for _, f := range found {
		at := f.Place.Span().Start
		lines = append(lines, fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, strings.ReplaceAll(f.Message, "\n", " ")))
	}
	return errors.New(strings.Join(lines, "\n"))
}
