package main

import (
	"bytes"
	"fmt"
	"io"

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

// write puts what a command has to say on standard output. If that takes
// nothing, it is a fault of the machine.
func write(stdout io.Writer, data []byte) error {
	if _, err := stdout.Write(data); err != nil {
		return fault{fmt.Errorf("write to standard output: %w", source.Cause(err))}
	}
	return nil
}
