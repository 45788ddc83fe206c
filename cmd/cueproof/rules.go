package main

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

func newRules() *cobra.Command {
	var folder string
	command := &cobra.Command{
		Use:   "rules",
		Short: "List the rules with their limits and where these come from",
		Example: `  cueproof rules
  cueproof rules --rules house-rules`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			set, err := loadRules(folder)
			if err != nil {
				return err
			}
			pack := ""
			for _, rule := range set.Rules {
				if now, _, _ := strings.Cut(rule.ID, "/"); now != pack {
					if pack != "" {
						fmt.Fprintln(command.OutOrStdout())
					}
					pack = now
				}
				fmt.Fprintf(command.OutOrStdout(), "%-30s %-8s %s\n", rule.ID, rule.Level, rule.Title)
				for _, limit := range rule.Limits {
					value := strings.TrimSpace(rules.FormatNumber(limit.Value) + " " + limit.Unit)
					fmt.Fprintf(command.OutOrStdout(), "%-39s %s: %s (%s)\n", "", limit.Name, value, limit.Source)
				}
			}
			return nil
		},
	}
	command.Flags().StringVar(&folder, "rules", "", "folder with further rules, as PACK/RULE/rule.yaml")
	return command
}
