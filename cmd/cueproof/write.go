package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"

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

// write puts what a command has to say on standard output. If that takes
// nothing, it is a fault of the machine.
func write(stdout io.Writer, data []byte) error {
	if _, err := stdout.Write(data); err != nil {
		return fault{fmt.Errorf("write to standard output: %w", cause(err))}
	}
	return nil
}

// cause is the reason in an error of the file system, without names that the
// user did not give.
func cause(err error) error {
	var onPath *fs.PathError
	if errors.As(err, &onPath) {
		return onPath.Err
	}
	return err
}
