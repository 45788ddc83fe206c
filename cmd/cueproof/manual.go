//go:build manual

package main

import (
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// The pages of the manual are made when a release is packed, by a program built with
// this tag; the program itself does not carry what makes them.
func init() { extra = append(extra, newManual) }

func newManual() *cobra.Command {
	return &cobra.Command{
		Use:   "manual FOLDER",
		Short: "Write a manual page for each command",
		Args:  exactlyOne("the folder to write to"),
		RunE: func(command *cobra.Command, args []string) error {
			root := command.Root()
			root.RemoveCommand(command)
			root.DisableAutoGenTag = true
			day, err := time.Parse(time.DateOnly, os.Getenv("CUEPROOF_DAY")) // of the commit, so that two builds are one
			if err != nil {
				return usagef("set CUEPROOF_DAY to a day such as 2026-03-01: %v", err)
			}
			return doc.GenManTree(root, &doc.GenManHeader{Title: "CUEPROOF", Section: "1", Date: &day, Source: "cueproof " + version().Version, Manual: "cueproof"}, args[0])
		},
	}
}
