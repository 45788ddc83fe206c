package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/rules"
)

func newRulesTest() *cobra.Command {
	return &cobra.Command{
		Use:   "test DIR",
		Short: "Run the cases of the rules in a folder",
		Long: `Test reads the rules in DIR (as PACK/RULE/rule.yaml) and lets each judge the small
shows in its cases.txtar: a section NAME is a show and, below it, what the rule says
of it, a line for each finding, or "silent". Where there is a base.json, each show
says only what differs from it: objects key by key, null to take a key away, lists
of named things by channel, cue or name ("*": null to take one away).`,
		Example: `  cueproof rules test house-rules

Exit codes:
  0   every rule says of every case what is expected
  1   one does not, or has no cases
  2   the command was misused, or a rule is broken
  70  a fault of the program`,
		Args: exactlyOne("the folder with the rules"),
		RunE: func(command *cobra.Command, args []string) error {
			text, good, err := testRules(args[0])
			if err != nil {
				return err
			}
			if err := write(command.OutOrStdout(), text); err != nil {
				return err
			}
			if !good {
				return exitCode(exitFindings)
			}
			return nil
		},
	}
}

// testRules runs the cases of all rules in a folder; good reports whether all of
// them say what is expected.
func testRules(folder string) (text []byte, good bool, err error) {
	root, err := openFolder(folder, folder)
	if err != nil {
		return nil, false, err
	}
	defer root.Close()
	set, mistakes := rules.Load(root.FS(), folder)
	if len(mistakes) > 0 {
		return nil, false, rules.Mistakes(mistakes)
	}
	if len(set.Rules) == 0 {
		return nil, false, fmt.Errorf("%s holds no rule; PACK/RULE/rule.yaml is looked for", folder)
	}
	var b bytes.Buffer
	line := func(text string) { fmt.Fprintln(&b, say.Clean(strings.TrimRight(text, " \r\n"))) }
	ran, wrong, without := 0, 0, 0
	var examples rules.Mistakes
	for _, rule := range set.Rules {
		list, _, err := cases.Run(root.FS(), rule)
		if err != nil {
			line(rule.ID + ": " + strings.ReplaceAll(err.Error(), "\n", " "))
			without++
			continue
		}
		if cases.NamesExample(rule) {
			var mistake rules.Mistakes
			if _, err := cases.ExampleOf(rule, list); errors.As(err, &mistake) {
				examples = append(examples, mistake...)
			}
		}
		for _, c := range list {
			ran++
			if c.Want == c.Got {
				continue
			}
			wrong++
			line(fmt.Sprintf("%s, case %s: - is expected, + is said", c.Rule, c.Name))
			for _, changed := range difference(strings.Split(c.Want, "\n"), strings.Split(c.Got, "\n")) {
				line("  " + changed)
			}
		}
	}
	summary := fmt.Sprintf("%s, %s", say.Count(len(set.Rules), "rule"), say.Count(ran, "case"))
	switch {
	case wrong == 0 && without == 0:
		summary += ": all as expected."
	case without == 0:
		summary += fmt.Sprintf(": %d not as expected.", wrong)
	default:
		summary += fmt.Sprintf(": %d not as expected, %s cannot be tested.", wrong, say.Count(without, "rule"))
	}
	line(summary)
	if wrong+without == 0 && len(examples) > 0 { // what does not say what is expected is told of the case itself
		return nil, false, examples
	}
	return b.Bytes(), wrong+without == 0, nil
}

// mostCompared bounds the work of a difference, which grows with the product of
// the two numbers of lines.
const mostCompared = 4_000_000

// difference compares two lists of lines: "-" and "+" stand before those that only
// one of them has, a blank before those that both have, as few of the former as
// there can be (the longest common subsequence, by dynamic programming).
func difference(want, got []string) []string {
	if len(want)*len(got) > mostCompared {
		return append(marked("- ", want), marked("+ ", got)...)
	}
	// common[i][j] is how many lines want[i:] and got[j:] have in common, in order.
	common := make([][]int, len(want)+1)
	for i := range common {
		common[i] = make([]int, len(got)+1)
	}
	for i := len(want) - 1; i >= 0; i-- {
		for j := len(got) - 1; j >= 0; j-- {
			if want[i] == got[j] {
				common[i][j] = common[i+1][j+1] + 1
			} else {
				common[i][j] = max(common[i+1][j], common[i][j+1])
			}
		}
	}
	var lines []string
	i, j := 0, 0
	for i < len(want) || j < len(got) {
		switch {
		case i < len(want) && j < len(got) && want[i] == got[j]:
			lines = append(lines, "  "+want[i])
			i, j = i+1, j+1
		case i < len(want) && (j == len(got) || common[i+1][j] >= common[i][j+1]):
			lines = append(lines, "- "+want[i])
			i++
		default:
			lines = append(lines, "+ "+got[j])
			j++
		}
	}
	return lines
}

func marked(mark string, list []string) []string {
	lines := make([]string, len(list))
	for i, line := range list {
		lines[i] = mark + line
	}
	return lines
}
