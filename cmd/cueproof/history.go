package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/google/renameio/v2/maybe"
)

// openHistory reads what earlier runs left behind, if a history is asked for. A
// file that is something else ends the run before anything is written.
func openHistory(o checkOptions) (*lint.History, error) {
	if o.history == "" {
		return nil, nil
	}
	if o.out != "-" && sameFile(o.out, o.history) {
		return nil, usagef("--out and --history name the same file")
	}
	past, err := lint.OpenHistory(o.history)
	if err != nil {
		return nil, fmt.Errorf("--history: %w", err)
	}
	return past, nil
}

// sameFile reports whether two paths are one file, or would be.
func sameFile(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	if errA == nil && errB == nil {
		return os.SameFile(infoA, infoB)
	}
	absA, errA := filepath.Abs(a)
	absB, errB := filepath.Abs(b)
	return errA == nil && errB == nil && absA == absB
}

// writeHistory replaces the history as a whole, after the report is out. What
// could not be read whole is not remembered, so nothing is written then.
func writeHistory(name string, past *lint.History, r *report.Report) error {
	if past == nil || r.Shows[0].Unreadable {
		return nil
	}
	data, err := past.Bytes()
	if err != nil {
		return fault{err}
	}
	target := name
	if real, err := filepath.EvalSymlinks(name); err == nil {
		target = real // so that a link stays a link
	}
	if info, err := os.Stat(target); err == nil && isOneOf(info, filesOf(r)) {
		return fmt.Errorf("--history %s: this is a file of the show, and no show file is ever written", name)
	}
	if err := maybe.WriteFile(target, data, 0o644); err != nil {
		return fmt.Errorf("--history %s: cannot be written: %w", name, cause(err))
	}
	return nil
}
