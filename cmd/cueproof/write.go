package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/spf13/cobra"
)

// tell prints into memory first, so that what cannot be printed leaves nothing
// half written on standard output.
func tell(command *cobra.Command, print func(io.Writer) error) error {
	var text bytes.Buffer
	if err := print(&text); err != nil {
		return fault{err}
	}
	return write(command.OutOrStdout(), text.Bytes())
}

// unread says that a file of a show cannot be read, so that nothing is told of what is in it.
func unread(command *cobra.Command, show string) error {
	complain(command.ErrOrStderr(), fmt.Sprintf("a file of %s cannot be read; cueproof check %s says which", show, show))
	return exitCode(exitShow)
}

// helpTold puts the help on standard output as all else is put there. What stands behind the
// pointer at the end is why it could not be; the library would say that itself and call it a
// success.
func helpTold(root *cobra.Command) *error {
	var failed error
	help := root.HelpFunc()
	root.SetHelpFunc(func(command *cobra.Command, args []string) {
		stdout := command.OutOrStdout()
		var page bytes.Buffer
		command.SetOut(&page)
		help(command, args)
		command.SetOut(stdout)
		failed = write(stdout, page.Bytes())
	})
	return &failed
}

// write puts what a command has to say on standard output. If whoever reads it has seen
// enough and ended, the program ends as well, without a word; if it takes nothing for
// another reason, it is a fault of the machine.
func write(stdout io.Writer, data []byte) error {
	if _, err := stdout.Write(data); err != nil {
		if slices.ContainsFunc(pipeEnds, func(end error) bool { return errors.Is(err, end) }) {
			return exitCode(exitUnread)
		}
		return fault{fmt.Errorf("write to standard output: %w", source.Cause(err))}
	}
	return nil
}
