package main

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"text/template"

	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// usageText is how the use of a command is told.
const usageText = `How to call it:
  {{.UseLine}}{{if and .HasParent .HasAvailableLocalFlags}} [OPTION...]{{end}}{{if .HasExample}}

For example:
{{.Example | fold}}{{end}}{{if .HasAvailableSubCommands}}

Commands:{{range .Commands}}{{if or .IsAvailableCommand (eq .Name "help")}}
{{printf "  %s %s" (rpad .Name .NamePadding) .Short | fold}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

Options:
{{.LocalFlags | options}}{{end}}{{if .HasAvailableSubCommands}}
To read more about one of them: {{.Root.Name}} help {{if .HasParent}}{{.Name}} {{end}}COMMAND
{{end}}`

// helpText is what a command is for, before its use.
const helpText = "{{or .Long .Short | fold}}\n\n{{.UsageString}}"

// helpWidth is how many columns of a terminal help takes up.
const helpWidth = 80

func init() { cobra.AddTemplateFuncs(template.FuncMap{"options": optionText, "fold": fold}) }

var gap = regexp.MustCompile(`^ +\S.*?  +`)

// fold breaks the lines of a text that are too long: those of a paragraph anew, and of an
// indented one what stands behind a gap, below itself, or else before an option of a command.
func fold(text string) string {
	var folded, paragraph []string
	flush := func() {
		if slices.ContainsFunc(paragraph, func(line string) bool { return len(line) > helpWidth }) {
			paragraph = say.Wrap(strings.Join(paragraph, " "), helpWidth)
		}
		folded, paragraph = append(folded, paragraph...), nil
	}
	for line := range strings.SplitSeq(text, "\n") {
		if line != "" && line[0] != ' ' {
			paragraph = append(paragraph, line)
			continue
		}
		flush()
		const least, below = 24, "        " // columns beside a gap, and what is begun anew
		switch head := gap.FindString(line); {
		case len(line) <= helpWidth:
			folded = append(folded, line)
		case head == "":
			if at := strings.LastIndex(line[:helpWidth-len(" \\")], " --"); at > 0 {
				folded, line = append(folded, line[:at]+" \\"), below+line[at+1:]
			}
			folded = append(folded, line)
		case helpWidth-len(head) < least:
			folded = append(folded, strings.TrimRight(head, " "), below+line[len(head):])
		default:
			for i, part := range say.Wrap(line[len(head):], helpWidth-len(head)) {
				if i > 0 {
					head = strings.Repeat(" ", len(head))
				}
				folded = append(folded, head+part)
			}
		}
	}
	flush()
	return strings.Join(folded, "\n")
}

// tellUsage words what the library says and adds by itself.
func tellUsage(root *cobra.Command) {
	root.SetUsageTemplate(usageText)
	root.SetHelpTemplate(helpText)
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
	const indent = "        "
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
		for _, line := range say.Wrap(about, helpWidth-len(indent)) {
			fmt.Fprintln(&text, indent+line)
		}
	})
	return text.String()
}
