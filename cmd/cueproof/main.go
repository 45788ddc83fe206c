// Command cueproof proofreads a lighting show before people sit down.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/say"
)

// The exit codes, in one place. Each command's help lists those it uses.
const (
	exitClean    = 0  // clean and complete
	exitFindings = 1  // findings at or above the failing level
	exitMisuse   = 2  // misuse, or a bad house file or rule
	exitShow     = 3  // the show cannot be read
	exitNothing  = 4  // nothing, or with --complete not everything, could be checked
	exitFault    = 70 // our own fault (EX_SOFTWARE of sysexits.h)

	// exitUnread: whoever read our output ended first. A shell says the same of a program that
	// SIGPIPE ended: 128 and its number, 13.
	exitUnread = 141
)

// exitCode is an error that only carries an exit code: everything was said.
type exitCode int

func (o exitCode) Error() string { return fmt.Sprintf("exit code %d", int(o)) }

// usage is a command line that is not understood; the help says how it should be.
// Every other error that is not a fault ends with the same exit code.
type usage struct{ error }

func usagef(format string, args ...any) error { return usage{fmt.Errorf(format, args...)} }

// fault is something wrong with us or the machine.
type fault struct{ error }

func main() {
	easeCollection(os.Args[1:])
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// run is the whole program; it returns the exit code.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	defer func() {
		if problem := recover(); problem != nil {
			complain(stderr, fmt.Sprintf("this is our own fault, not the show's: %v\n%s", problem, debug.Stack()))
			code = exitFault
		}
	}()
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	unhelped := helpTold(root)
	command, err := root, noSuchCommand(root, args)
	if err == nil {
		command, err = root.ExecuteC()
	}
	if err == nil {
		err = *unhelped
	}
	var said exitCode
	var misused usage
	var ours fault
	var panicked *cores.Panic
	var unproved *lint.ProofFailed
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &said):
		return int(said)
	case errors.As(err, &ours), errors.As(err, &panicked), errors.As(err, &unproved):
		complain(stderr, err.Error())
		return exitFault
	case errors.As(err, &misused):
		complain(stderr, err.Error())
		_, _ = fmt.Fprintf(stderr, "Try '%s --help'.\n", command.CommandPath())
		return exitMisuse
	default:
		complain(stderr, err.Error())
		return exitMisuse
	}
}

// complain writes an error. Only its first line starts at the margin, so no name
// in it can pass for a message of ours.
func complain(stderr io.Writer, text string) {
	for i, line := range strings.Split(strings.TrimSpace(say.Clean(text)), "\n") {
		if i == 0 {
			_, _ = fmt.Fprintf(stderr, "cueproof: %s\n", line)
		} else {
			_, _ = fmt.Fprintf(stderr, "  %s\n", strings.TrimSpace(line))
		}
	}
}
