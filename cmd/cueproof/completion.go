package main

import (
	"bytes"
	"io"
	"maps"
	"os"
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

// behind is where scripts leave the words behind the one that is completed, one a line:
// cobra's leave them out, and of which show a key is may stand there.
const behind = "CUEPROOF_BEHIND"

// leaves is how a shell does so: a line of its script, and what is put before it.
var leaves = map[string]struct{ line, before string }{
	"bash":       {`    words=("${words[@]:0:$cword+1}")`, `    local -x ` + behind + `; printf -v ` + behind + ` '%s\n' "${words[@]:cword+1}"`},
	"fish":       {`    set -l args (commandline -opc)`, `    set -lx ` + behind + ` (commandline -op | string collect)`},
	"powershell": {`    if ($Command.Length -gt $CursorPosition) {`, `    $Env:` + behind + ` = if ($Command.Length -gt $CursorPosition) { $Command.Substring($CursorPosition).Replace(' ', [string][char]10) } else { '' }`},
	"zsh":        {`    words=("${=words[1,CURRENT]}")`, `    local -x ` + behind + `="${(F)words[CURRENT+1,-1]}"`},
}

// readBehind reads the options of a command that stand behind the word that is completed;
// what cannot be read is passed over.
func readBehind(command *cobra.Command) {
	plain := strings.NewReplacer(`"`, "", `'`, "", `\ `, " ").Replace(os.Getenv(behind)) // they are as they were typed
	_ = command.Flags().Parse(strings.Split(plain, "\n"))
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
			leave := leaves[args[0]]
			return write(command.OutOrStdout(), bytes.Replace(text.Bytes(), []byte(leave.line), []byte(leave.before+"\n"+leave.line), 1))
		},
	}
}
