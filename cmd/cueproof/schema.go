package main

import (
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
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("one at a time: %q is too many", args[1])
			}
			return nil
		},
		ValidArgs: schema.Documents(),
		RunE: func(command *cobra.Command, args []string) error {
			text := []byte(strings.Join(schema.Documents(), "\n") + "\n")
			if len(args) == 1 {
				var ok bool
				if text, ok = schema.Document(args[0]); !ok {
					return usagef("there is no schema %q.%s", args[0], spelling.Hint(args[0], schema.Documents()))
				}
			}
			return write(command.OutOrStdout(), text)
		},
	}
}
