package main

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// usageText is how the use of a command is told.
const usageText = `How to call it:
  {{.UseLine}}{{if and .HasParent .HasAvailableLocalFlags}} [OPTION...]{{end}}{{if .HasExample}}

For example:
{{.Example}}{{end}}{{if .HasAvailableSubCommands}}

Commands:{{range .Commands}}{{if or .IsAvailableCommand (eq .Name "help")}}
  {{rpad .Name .NamePadding }} {{.Short}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

Options:
{{.LocalFlags | options}}{{end}}{{if .HasAvailableSubCommands}}
To read more about one of them: {{.Root.Name}} help {{if .HasParent}}{{.Name}} {{end}}COMMAND
{{end}}`

func init() { cobra.AddTemplateFunc("options", optionText) }

// tellUsage words what the library says and adds by itself.
func tellUsage(root *cobra.Command) {
	root.SetUsageTemplate(usageText)
	root.Flags().BoolP("version", "v", false, "print the version")
	var each func(*cobra.Command)
	each = func(command *cobra.Command) {
		command.DisableFlagsInUseLine = true
		if text := command.Long + command.Example; command.Runnable() && command.HasParent() && !strings.Contains(text, "Exit codes:") {
			command.Example += "\n\nExit codes: 0 printed, 2 misuse, 70 a fault of the program."
		}
		command.Flags().BoolP("help", "h", false, "print this")
		for _, below := range command.Commands() {
			each(below)
		}
	}
	each(root)
}

// optionText lists options, each with what it does on the lines below it.
func optionText(flags *pflag.FlagSet) string {
	const width, indent = 80, "        "
	var text strings.Builder
	flags.VisitAll(func(flag *pflag.Flag) {
		if flag.Hidden {
			return
		}
		name := "--" + flag.Name
		if flag.Shorthand != "" {
			name = "-" + flag.Shorthand + ", " + name
		}
		if flag.Value.Type() != "bool" {
			name += " VALUE"
		}
		about := flag.Usage
		if standard := strings.Trim(flag.DefValue, "[]"); standard != "" && standard != "false" && standard != "0" {
			about += fmt.Sprintf(" (without it: %s)", standard)
		}
		fmt.Fprintln(&text, "  "+name)
		for _, line := range say.Wrap(about, width-len(indent)) {
			fmt.Fprintln(&text, indent+line)
		}
	})
	return text.String()
}
