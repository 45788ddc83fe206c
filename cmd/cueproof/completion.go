package main

import (
	"bytes"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/spf13/cobra"
)

// shells is the table of shells that can complete our words.
var shells = map[string]func(root *cobra.Command, w io.Writer) error{
	"bash":       func(root *cobra.Command, w io.Writer) error { return root.GenBashCompletionV2(w, true) },
	"fish":       func(root *cobra.Command, w io.Writer) error { return root.GenFishCompletion(w, true) },
	"powershell": func(root *cobra.Command, w io.Writer) error { return root.GenPowerShellCompletionWithDesc(w) },
	"zsh":        func(root *cobra.Command, w io.Writer) error { return root.GenZshCompletion(w) },
}

func newCompletion() *cobra.Command {
	names := slices.Sorted(maps.Keys(shells))
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "Print a script that lets a shell complete commands, options and rules",
		Long: `Completion prints a script for one of the shells ` + strings.Join(names, ", ") + `.
Load it where the shell reads such scripts, or for this session only:`,
		Example: `  source <(cueproof completion bash)
  source <(cueproof completion zsh)
  cueproof completion fish | source
  cueproof completion powershell | Out-String | Invoke-Expression`,
		Args:      exactlyOne("the shell: " + strings.Join(names, ", ")),
		ValidArgs: names,
		RunE: func(command *cobra.Command, args []string) error {
			script, ok := shells[args[0]]
			if !ok {
				return usagef("there is no script for %q; there is one for %s.%s", args[0], strings.Join(names, ", "), spelling.Hint(args[0], names))
			}
			var text bytes.Buffer
			if err := script(command.Root(), &text); err != nil {
				return fault{err}
			}
			return write(command.OutOrStdout(), text.Bytes())
		},
	}
}
