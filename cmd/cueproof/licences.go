package main

import (
	"github.com/cueproof/cueproof"
	"github.com/spf13/cobra"
)

func newLicences() *cobra.Command {
	return &cobra.Command{
		Use:     "licences",
		Short:   "Print the licence and the notices of all that is linked",
		Example: "  cueproof licences > notices.md",
		Args:    noArguments,
		RunE: func(command *cobra.Command, _ []string) error {
			return write(command.OutOrStdout(), []byte(cueproof.Licence+"\n"+cueproof.Notices))
		},
	}
}
