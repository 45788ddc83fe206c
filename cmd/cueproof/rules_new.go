package main

import (
	"embed"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/spf13/cobra"
)

// starter is the rule that a new one is written from. It is a whole rule with
// cases that pass, so that its author changes what works.
//
//go:embed starter
var starter embed.FS

func newRulesNew() *cobra.Command {
	var in string
	command := &cobra.Command{
		Use:   "new PACK/RULE",
		Short: "Write the three files of a new rule, to be changed",
		Long: `New writes a folder PACK/RULE with rule.yaml (what should be so), explain.md (what
it means, for a volunteer) and cases.txtar (small shows, one of which the rule
passes and one of which it does not). The rule works as it is: change it bit by
bit, and run 'cueproof rules test' after each bit.`,
		Example: `  cueproof rules new hall/fader-reach --in house-rules
  cueproof rules test house-rules`,
		Args: exactlyOne("the new rule, as PACK/RULE"),
		RunE: func(command *cobra.Command, args []string) error {
			id := args[0]
			if err := checkRuleName(id); err != nil {
				return err
			}
			packs, err := openFolder("--in "+in, in)
			if err != nil {
				return err
			}
			defer packs.Close()
			folder := filepath.Join(in, filepath.FromSlash(id))
			if err := writeStarter(folder); err != nil {
				return err
			}
			shown := filepath.ToSlash(filepath.Clean(in))
			text := fmt.Sprintf("%s: rule.yaml, explain.md, cases.txtar\nRun its cases with:   cueproof rules test %s\nLet it look with:     cueproof check --rules %s SHOW, or rule_folders in house.yaml\n",
				filepath.ToSlash(folder), shown, shown)
			return write(command.OutOrStdout(), []byte(text))
		},
	}
	command.Flags().StringVar(&in, "in", ".", "folder of the packs, which has to be there")
	if err := command.MarkFlagDirname("in"); err != nil {
		panic(err) // the option is declared above
	}
	return command
}

var ruleName = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*/[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

func checkRuleName(id string) error {
	if !ruleName.MatchString(id) {
		return usagef("%q is no name for a rule: write PACK/RULE in small letters and hyphens, such as hall/fader-reach", id)
	}
	if pack, _, _ := strings.Cut(id, "/"); pack == "file" || pack == "house" {
		return usagef("the pack %q is for what is wrong with files; choose another", pack)
	}
	set, err := loadRules("")
	if err != nil {
		return err
	}
	if _, twice := set.Find(id); twice {
		return usagef("a rule %s comes with the program; give yours another name", id)
	}
	return nil
}

// writeStarter writes the folder of a new rule as a whole or not at all.
func writeStarter(folder string) error {
	if _, err := os.Lstat(folder); err == nil {
		return fmt.Errorf("%s is there already; nothing was written", filepath.ToSlash(folder))
	}
	var guard outfile.Guard
	err := guard.Folder(folder, func(made *os.Root) error {
		files, err := starter.ReadDir("starter")
		if err != nil {
			return fault{err}
		}
		for _, file := range files {
			text, err := starter.ReadFile("starter/" + file.Name())
			if err != nil {
				return fault{err}
			}
			if err := made.WriteFile(file.Name(), text, 0o644); err != nil {
				return fmt.Errorf("%s cannot be written: %w", file.Name(), source.Cause(err))
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("the folder %s: %w", filepath.ToSlash(folder), err)
	}
	return nil
}
