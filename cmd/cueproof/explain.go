package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
	"github.com/spf13/cobra"
)

func newExplain() *cobra.Command {
	return &cobra.Command{
		Use:   "explain RULE...",
		Short: "Explain what a rule means and what to try",
		Long: `Explain prints for each RULE (such as white/key-mix, or file/unknown-key for a
problem of a file) what it looks like, why it matters, how it is worked out, what
to try and how sure it is.`,
		Example: `  cueproof explain white/key-mix
  cueproof explain file/unknown-key`,
		Args: cobra.MinimumNArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return ruleIDs(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(command *cobra.Command, args []string) error {
			for i, id := range args {
				card, err := cardOf(id)
				if err != nil {
					return err
				}
				if i > 0 {
					fmt.Fprintln(command.OutOrStdout())
				}
				if err := report.Explain(command.OutOrStdout(), card, report.Options{Width: 80, Colour: wantColour("auto", command.OutOrStdout())}); err != nil {
					return fault{err}
				}
			}
			return nil
		},
	}
}

func builtInRules() *rules.Set {
	set, _ := rules.Load(rules.BuiltIn(), "rules/packs")
	return set
}

// ruleIDs lists all that can be explained.
func ruleIDs() []string {
	ids := builtInRules().IDs()
	for _, id := range schema.ProblemIDs() {
		ids = append(ids, "file/"+id)
	}
	slices.Sort(ids)
	return ids
}

func cardOf(id string) (finding.Rule, error) {
	if rule, ok := builtInRules().Find(id); ok {
		return rule.Rule, nil
	}
	if word, isFile := strings.CutPrefix(id, "file/"); isFile && slices.Contains(schema.ProblemIDs(), word) {
		return lint.FileRule(word, finding.Warning, finding.Later), nil
	}
	return finding.Rule{}, fmt.Errorf("there is no rule %q.%s", id, spelling.Hint(id, ruleIDs()))
}
