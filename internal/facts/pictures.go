package facts

import (
	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
)

// What pictures are drawn from is measured again from here: rules never see it.

// Rig is the rig that was measured.
func (m *Measured) Rig() *stage.Rig { return m.back.rig }

// Evening is the show on its clock.
func (m *Measured) Evening() *evening.Evening { return m.back.evening }

// Resolved is the state of the stage that the facts of a look are of.
func (l *Look) Resolved() *tracking.Look { return l.look }
