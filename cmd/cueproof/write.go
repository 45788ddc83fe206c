package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"
)

// tell prints into memory first and puts the whole where it was asked for, so
// that what cannot be printed leaves nothing half written. read are the files that
// out may not be.
func tell(command *cobra.Command, out string, read []string, print func(io.Writer) error) error {
	var text bytes.Buffer
	if err := print(&text); err != nil {
		return fault{err}
	}
	return write(command.OutOrStdout(), out, text.Bytes(), read)
}

// write puts what a command has to say where it was asked for. A file is
// replaced as a whole (on Windows as far as that can be done), a pipe or a device
// is written to, and a file that was read stays as it is. A path that is no use
// is misuse; standard output that takes nothing is a fault of the machine.
func write(stdout io.Writer, path string, data []byte, read []string) error {
	switch path {
	case "-":
		if _, err := stdout.Write(data); err != nil {
			return fault{fmt.Errorf("write to standard output: %w", cause(err))}
		}
		return nil
	case "":
		return usagef("--out needs the name of a file, or - for standard output")
	}
	target := path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real // so that a link stays a link
	}
	info, err := os.Stat(target)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("--out %s: this is a folder; name a file in it", path)
	case err == nil && isOneOf(info, read):
		return fmt.Errorf("--out %s: this is a file of the show, and no show file is ever written", path)
	case err == nil && !info.Mode().IsRegular():
		err = writeInto(target, data)
	default:
		err = maybe.WriteFile(target, data, 0o644)
	}
	if err != nil {
		return fmt.Errorf("--out %s: cannot be written: %w", path, cause(err))
	}
	return nil
}

func isOneOf(info fs.FileInfo, names []string) bool {
	for _, name := range names {
		if other, err := os.Stat(filepath.FromSlash(name)); err == nil && os.SameFile(info, other) {
			return true
		}
	}
	return false
}

func writeInto(path string, data []byte) error {
	file, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	if _, err := file.Write(data); err != nil {
		file.Close() // the write has failed already
		return err
	}
	return file.Close()
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
