package stage

import (
	"fmt"

	"github.com/cueproof/cueproof/schema"
)

// Watts returns what a fixture draws at full, or what is missing to know it.
func (r *Rig) Watts(f *schema.Fixture) (float64, string) {
	t := r.Types[f.Type]
	switch {
	case t == nil && f.Type == "":
		return 0, fmt.Sprintf("the type of the fixture on channel %d", f.Channel)
	case t == nil:
		return 0, fmt.Sprintf("the type %q, with its watts", f.Type)
	case t.Watts == nil || *t.Watts < 0:
		return 0, fmt.Sprintf("the watts of the type %q", f.Type)
	}
	return *t.Watts, ""
}

// PowerFactor is the type's, or 1: a filament lamp. A missing power factor makes
// the load of an LED driver look a little smaller than it is.
func (r *Rig) PowerFactor(f *schema.Fixture) float64 {
	if t := r.Types[f.Type]; t != nil && t.PowerFactor != nil && *t.PowerFactor > 0 && *t.PowerFactor <= 1 {
		return *t.PowerFactor
	}
	return 1
}
