package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/spf13/cobra"
)

func newVerify() *cobra.Command {
	var ruleFolder string
	var house houseFlags
	command := &cobra.Command{
		Use:   "verify RECEIPT SHOW",
		Short: "Say whether a show is the one that was checked",
		Long: `Verify holds the files of SHOW against the receipt in a JSON report of an earlier
run: the digest of each file, the verdict, the day and the rules.`,
		Example: `  cueproof check --format json --out checked.json shows/sunday
  cueproof verify checked.json shows/sunday

Exit codes:
  0   the files are those that were checked, to the letter
  1   they are not
  2   the command was misused, or there is no receipt
  70  a fault of the program`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usagef("name the JSON report with the receipt, and the show")
			}
			return nil
		},
		RunE: func(command *cobra.Command, args []string) error {
			if err := noSuchShow(args[1]); err != nil {
				return err
			}
			options, err := house.options()
			if err != nil {
				return err
			}
			set, err := loadRules(ruleFolder)
			if err != nil {
				return err
			}
			v, err := lint.Verify(args[0], args[1], lint.Options{Rules: set, Version: version().Version, House: options})
			if err != nil {
				return err
			}
			if err := write(command.OutOrStdout(), verifyText(v)); err != nil {
				return err
			}
			if !v.Same() {
				return exitCode(exitFindings)
			}
			return nil
		},
	}
	rulesFlag(command, &ruleFolder)
	house.add(command)
	house.addNow(command)
	return command
}

func verifyText(v *lint.Verification) []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) {
		fmt.Fprintln(&b, say.Clean(strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", " ")))
	}
	r := v.Receipt
	if v.Same() {
		line("This is the show of receipt %s: %s, checked on %s.", r.Number, r.Verdict, r.Day)
	} else {
		line("This is NOT the show of receipt %s, which was %s on %s.", r.Number, r.Verdict, r.Day)
	}
	for _, list := range []struct {
		what  string
		names []string
	}{{"Changed since", v.Changed}, {"Missing", v.Missing}, {"Not there then", v.More}} {
		if len(list.names) > 0 {
			line("%s: %s.", list.what, strings.Join(list.names, ", "))
		}
	}
	for _, sentence := range v.Unread {
		line("%s", sentence)
	}
	if v.OtherRules {
		line("The rules or limits of now are others than those that looked then (cueproof %s), so check again.", r.Version)
	}
	return b.Bytes()
}
