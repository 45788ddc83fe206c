package main

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
	"github.com/spf13/cobra"
)

func newSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [NAME]",
		Short: "Print a JSON Schema, for editors; without a name, list them",
		Example: `  cueproof schema
  cueproof schema cues > cues.schema.json`,
		Args:      cobra.MaximumNArgs(1),
		ValidArgs: schema.Documents(),
		RunE: func(command *cobra.Command, args []string) error {
			if len(args) == 0 {
				fmt.Fprintln(command.OutOrStdout(), strings.Join(schema.Documents(), "\n"))
				return nil
			}
			text, ok := schema.Document(args[0])
			if !ok {
				return fmt.Errorf("there is no schema %q.%s", args[0], spelling.Hint(args[0], schema.Documents()))
			}
			_, err := command.OutOrStdout().Write(text)
			return err
		},
	}
}
