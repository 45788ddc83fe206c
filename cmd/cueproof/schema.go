package main

import (
	"strings"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
	"github.com/spf13/cobra"
)

func newSchema() *cobra.Command {
	var columns, types bool
	command := &cobra.Command{
		Use:   "schema [NAME]",
		Short: "Print a JSON Schema, for editors; the columns of tables; the typical types",
		Long: `Without a name schema lists the JSON Schemas there are; with one it prints that one.

With --columns it lists every column that a table may have and the names that it goes
by; with --columns FILE... it says what stands in the columns of those tables, what
each probably is and why, and which line of house.yaml has them read so. With --typical it
lists the built-in types of fixture, with the source and the range of each number.`,
		Example: `  cueproof schema
  cueproof schema cues > cues.schema.json
  cueproof schema --columns
  cueproof schema --columns exports/sunday.csv
  cueproof schema --typical`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 && !columns {
				return usagef("one at a time: %q is too many", args[1])
			}
			return nil
		},
		ValidArgs: schema.Documents(),
		RunE: func(command *cobra.Command, args []string) error {
			if columns || types {
				return tellWords(command, args, columns, types)
			}
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
	command.Flags().BoolVar(&columns, "columns", false, "list the columns of tables and the names they go by; with a FILE, say what its columns probably are")
	command.Flags().BoolVar(&types, "typical", false, "list the built-in types of fixture that typical: names")
	return command
}

// tellWords prints what tables and types may be called.
func tellWords(command *cobra.Command, args []string, columns, types bool) error {
	switch {
	case columns && types:
		return usagef("one at a time: --columns or --typical")
	case types && len(args) > 0:
		return usagef("--typical takes no name, not %q", args[0])
	case types:
		return write(command.OutOrStdout(), []byte(lint.TypicalTypes()))
	case len(args) == 0:
		return write(command.OutOrStdout(), []byte(lint.Columns()))
	}
	told, err := lint.MapColumns(args...)
	if err != nil {
		return err
	}
	return write(command.OutOrStdout(), []byte(told))
}
