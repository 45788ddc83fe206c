package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/spf13/cobra"
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

// usualHistory is what a history beside a show is called.
const usualHistory = ".cueproof-history.json"

func historyFlag(command *cobra.Command, name *string) {
	command.Flags().StringVar(name, "history", "", "history of the show to read, for what is called otherwise by now and for keys of earlier runs (without it: "+usualHistory+" in the folder of the show, if there is one)")
}

// pastOf reads the history of a show for a command that only asks it: the one that is
// named, or else the one in its folder.
func pastOf(name, show string) (*lint.History, error) {
	if name == "" {
		name = filepath.Join(show, usualHistory)
		if info, err := os.Stat(name); err != nil || !info.Mode().IsRegular() {
			return nil, nil
		}
	} else if _, err := os.Stat(name); err != nil {
		return nil, usagef("--history: %s cannot be opened: %w", name, source.Cause(err))
	}
	past, err := lint.OpenHistory(name)
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
