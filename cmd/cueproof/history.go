package main

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
)

// openHistory reads what earlier runs left behind, if a history is asked for. A
// file that is something else ends the run before anything is written.
func openHistory(o checkOptions) (*lint.History, error) {
	if o.history == "" {
		return nil, nil
	}
	past, err := lint.OpenHistory(o.history)
	if err != nil {
		return nil, fmt.Errorf("--history: %w", err)
	}
	return past, nil
}

// checkHistory refuses a name that is no use for a history.
func checkHistory(o checkOptions) error {
	if o.history == "" {
		return nil
	}
	if err := o.out.guard.CheckKept(o.history, "a history"); err != nil {
		return fmt.Errorf("--history %s: %w", o.history, err)
	}
	return nil
}

// writeHistory replaces the history as a whole, after the report is out. What
// could not be read whole is not remembered, so nothing is written then.
func writeHistory(o checkOptions, past *lint.History, r *outcome.Report) error {
	if past == nil || r.Shows[0].Unreadable {
		return nil
	}
	if err := o.out.guard.Merge(o.history, "a history", past.Onto); err != nil {
		return fmt.Errorf("--history %s: %w", o.history, err)
	}
	return nil
}
