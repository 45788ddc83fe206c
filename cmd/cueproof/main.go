// Command cueproof proofreads a lighting show before people sit down.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"github.com/cueproof/cueproof/internal/report"
)

// The exit codes, in one place. Each command's help lists those it uses.
const (
	exitClean    = 0  // clean and complete
	exitFindings = 1  // findings at or above the failing level
	exitMisuse   = 2  // misuse, or a bad house file or rule
	exitShow     = 3  // the show cannot be read
	exitNothing  = 4  // nothing, or with --complete not everything, could be checked
	exitFault    = 70 // our own fault (EX_SOFTWARE of sysexits.h)
)

// outcome is an error that only carries an exit code: everything was said.
type outcome int

func (o outcome) Error() string { return fmt.Sprintf("exit code %d", int(o)) }

// fault is something wrong with us or the machine.
type fault struct{ error }

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run is the whole program; it returns the exit code.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	defer func() {
		if problem := recover(); problem != nil {
			fmt.Fprintf(stderr, "cueproof: this is our own fault, not the show's: %v\n%s", problem, debug.Stack())
			code = exitFault
		}
	}()
	command := newRoot()
	command.SetArgs(args)
	command.SetIn(stdin)
	command.SetOut(stdout)
	command.SetErr(stderr)
	err := command.Execute()
	var said outcome
	var ours fault
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &said):
		return int(said)
	case errors.As(err, &ours):
		fmt.Fprintf(stderr, "cueproof: %s\n", report.Clean(err.Error()))
		return exitFault
	default:
		fmt.Fprintf(stderr, "cueproof: %s\n", report.Clean(err.Error()))
		fmt.Fprintln(stderr, "Try 'cueproof --help'.")
		return exitMisuse
	}
}
