package outcome

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/scene"
)

// Base is how the shows of a report stand against an earlier state of them. Each
// finding says itself whether it is new ([finding.Finding.Base]).
type Base struct {
	Name string // of the earlier show or report, as it was named
	Change
	Notes []string // what the numbers leave open
}

// Comparison is what two states of one show have different.
type Comparison struct {
	Version  string
	Old, New Side
	Change
	Findings  []finding.Finding // of the new state, each marked as new, worse, as before...
	Looks     []LookChange
	SameLooks int

	OldScene, NewScene *scene.Scene // what pictures of both are drawn from; nil: none were asked for
}

// Side is one of the two states.
type Side struct {
	Path, Name string
	Unreadable bool
	Files      []string // what was read, by name
	Notes      []string
}
