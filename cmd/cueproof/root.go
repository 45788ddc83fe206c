package main

import "github.com/spf13/cobra"

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "cueproof",
		Short: "Proofread a lighting show before doors",
		Long: `cueproof reads an exported lighting show (patch list, cue list, room, running
order), works out what the light will do, holds that against rules that anyone
can read, and says what to change, to which value, and why.

Nothing leaves this machine, and no show file is ever written.`,
		Example: `  cueproof check shows/sunday          a folder with show.json, patch.csv, cues.csv...
  cueproof explain white/key-mix       what a rule means and what to try
  cueproof schema cues                 the JSON Schema of a section, for editors`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Version:       version().Version,
	}
	root.SetVersionTemplate("cueproof {{.Version}}\n")
	root.CompletionOptions.HiddenDefaultCmd = false
	root.AddCommand(newCheck(), newMeasure(), newExplain(), newRules(), newSchema(), newVersion())
	return root
}
