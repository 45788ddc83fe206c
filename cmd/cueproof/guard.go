package main

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

// outFlags say where a report goes.
type outFlags struct {
	path    string
	called  string // the option that names it; "" is --out
	replace bool
	guard   *outfile.Guard
}

func (o *outFlags) add(command *cobra.Command) {
	command.Flags().StringVar(&o.path, "out", "-", outHelp)
	o.addGuard(command)
}

const outHelp = "file to write to; - is standard output. No file that was read, nor one that could be a part of a show, is ever written over"

func (o *outFlags) addGuard(command *cobra.Command) {
	flags := command.Flags()
	flags.BoolVar(&o.replace, "replace", false, "replace also a file that is not marked as a report of this program")
	o.guard = &outfile.Guard{TakenFor: lint.TakenFor, Holds: lint.Holds}
}

// check refuses what cannot be written before any work is done, as far as is known
// then: by what is named to be read, and the folder of rules. It is asked again
// when all is read.
func (o *outFlags) check(command *cobra.Command, ruleFolder string, read ...string) error {
	o.guard.Read(read...)
	if ruleFolder != "" {
		for _, name := range rules.Files(os.DirFS(ruleFolder)) {
			o.guard.Read(filepath.Join(ruleFolder, name))
		}
	}
	o.guard.ReadOpen(command.InOrStdin())
	switch {
	case o.path == "":
		return usagef("--out needs the name of a file, or - for standard output")
	case o.isStandard(command.OutOrStdout()):
		return nil
	}
	if err := o.guard.Choose(cmp.Or(o.called, "--out"), o.path); err != nil {
		return usage{err}
	}
	return o.wrap(o.guard.Check(o.path, o.replace))
}

// isStandard reports whether the report goes to standard output, by whichever of
// the names that systems give it.
func (o *outFlags) isStandard(stdout io.Writer) bool {
	if o.path == "-" {
		return true
	}
	file, ok := stdout.(*os.File)
	if !ok || !strings.HasPrefix(o.path, "/dev/") && !strings.HasPrefix(o.path, "/proc/") {
		return false
	}
	there, err1 := os.Stat(o.path)
	here, err2 := file.Stat()
	return err1 == nil && err2 == nil && os.SameFile(here, there)
}

func (o *outFlags) wrap(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s %s: %w", cmp.Or(o.called, "--out"), o.path, err)
}

// tell prints into memory first and puts the whole where it was asked for, so
// that what cannot be printed leaves nothing half written. The mark begins the
// file, if it is one, so that the next run knows it.
func (o *outFlags) tell(command *cobra.Command, mark string, print func(io.Writer) error) error {
	if o.isStandard(command.OutOrStdout()) {
		if file, ok := command.OutOrStdout().(*os.File); ok {
			if info, err := file.Stat(); err == nil && info.Mode().IsRegular() && o.guard.WasRead(info) {
				return fmt.Errorf("standard output is a file that is read in this run, and what is read is never written over")
			}
		}
		return tell(command, print)
	}
	return o.wrap(o.guard.Write(o.path, []byte(mark), o.replace, func(w io.Writer) error {
		if err := print(w); err != nil {
			return fault{err}
		}
		return nil
	}))
}

// marks are what files begin with by which we know them again; the other formats
// carry a mark of their own, and CSV has room for none.
var marks = map[string]string{
	"text": outfile.TextMark, "annotations": outfile.TextMark, "summary": outfile.CommentMark, "table": outfile.TextMark, "md": outfile.CommentMark,
}
