package facts

import (
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Circuit is one protected outlet or dimmer feed, with all that is plugged into it.
type Circuit struct {
	unknowns
	circuit *schema.Circuit
	all     []*Circuit
	rig     *stage.Rig

	CircuitName string   `expr:"name"`     // its name
	LoadW       *float64 `expr:"load_w"`   // watts of everything on it at full
	LoadA       *float64 `expr:"load_a"`   // amperes of that, with each type's power factor where given
	RatedA      *float64 `expr:"rated_a"`  // amperes of its protection
	LoadPct     *float64 `expr:"load_pct"` // load as percent of its protection
	Channels    []int    `expr:"channels"` // what is plugged into it
}

// Names returns the circuit.
func (c *Circuit) Names() []Name { return []Name{{"circuit", c.CircuitName}} }

// Cue returns "": a circuit shows in no cue.
func (c *Circuit) Cue() string { return "" }

// Ref returns where the circuit stands.
func (c *Circuit) Ref() source.Ref { return c.circuit.At }

// Label names the circuit for an order to a person.
func (c *Circuit) Label() string { return "circuit " + c.CircuitName }

// Edits changes a field of the circuit.
func (c *Circuit) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: c.circuit.At, Field: field, Value: value}}
}

func measureCircuits(r *stage.Rig) []*Circuit {
	if r.Show.Room == nil {
		return nil
	}
	var circuits []*Circuit
	for _, raw := range r.Show.Room.Circuits {
		c := &Circuit{circuit: raw, CircuitName: raw.Name, RatedA: raw.Amps}
		c.measureLoad(r)
		circuits = append(circuits, c)
	}
	for _, c := range circuits {
		c.all, c.rig = circuits, r
	}
	return circuits
}

// mostWatts is more than any circuit carries, and few enough to be added up.
const mostWatts = 1e12

func (c *Circuit) measureLoad(r *stage.Rig) {
	if c.RatedA != nil && *c.RatedA <= 0 {
		c.RatedA = nil
	}
	if c.RatedA == nil {
		c.lacks("rated_a", fmt.Sprintf("the amps of circuit %s", c.CircuitName))
	}
	volts := c.circuit.Volts
	if volts == nil || *volts <= 0 {
		volts = nil
		c.lacks("load_a", fmt.Sprintf("the volts of circuit %s", c.CircuitName))
		c.lacks("load_pct", fmt.Sprintf("the volts of circuit %s", c.CircuitName))
	}
	watts, amps, complete := 0.0, 0.0, true
	for _, f := range r.Show.Patch {
		if f.Circuit != c.CircuitName {
			continue
		}
		c.Channels = append(c.Channels, f.Channel)
		load, missing := r.Watts(f)
		if missing != "" {
			complete = false
			for _, fact := range []string{"load_w", "load_a", "load_pct"} {
				c.lacks(fact, missing)
			}
			continue
		}
		watts += load
		if volts != nil {
			amps += load / r.PowerFactor(f) / *volts
		}
	}
	if !complete {
		return
	}
	if !(watts <= mostWatts && amps <= mostWatts) {
		for _, fact := range []string{"load_w", "load_a", "load_pct"} {
			c.lacks(fact, fmt.Sprintf("watts, power factors and volts of circuit %s that a circuit can have", c.CircuitName))
		}
		return
	}
	c.LoadW = &watts
	if volts == nil {
		return
	}
	c.LoadA = &amps
	if c.RatedA == nil {
		c.lacks("load_pct", fmt.Sprintf("the amps of circuit %s", c.CircuitName))
		return
	}
	if share := amps / *c.RatedA; share <= mostWatts {
		c.LoadPct = new(100 * share)
	} else {
		c.lacks("load_pct", fmt.Sprintf("the amps of circuit %s that a circuit can have", c.CircuitName))
	}
}

// move finds the smallest load whose leaving brings the circuit down to a part of its
// protection, and the emptiest circuit of the same voltage that can take it and stay
// there too.
func (c *Circuit) move(maxPct float64) (mover *schema.Fixture, to string) {
	if c.LoadPct == nil || *c.LoadPct <= maxPct {
		return nil, ""
	}
	excess := *c.LoadA - maxPct/100*(*c.RatedA)
	best := math.Inf(1)
	for _, f := range c.rig.Show.Patch {
		if f.Circuit != c.CircuitName {
			continue
		}
		watts, _ := c.rig.Watts(f)
		amps := watts / c.rig.PowerFactor(f) / *c.circuit.Volts
		if amps < excess || amps >= best {
			continue
		}
		if roomiest := c.roomiest(amps, maxPct); roomiest != "" {
			best, mover, to = amps, f, roomiest
		}
	}
	return mover, to
}

func (c *Circuit) roomiest(amps, maxPct float64) string {
	name, most := "", -1.0
	for _, to := range c.all {
		if to == c || to.LoadPct == nil || *to.circuit.Volts != *c.circuit.Volts {
			continue
		}
		if spare := maxPct/100*(*to.RatedA) - *to.LoadA - amps; spare >= 0 && spare > most {
			name, most = to.CircuitName, spare
		}
	}
	return name
}

// Mover is the smallest load that has to leave for the circuit to be at a percentage of
// its protection or less; none if there is nowhere for it to go.
func (c *Circuit) Mover(maxPct float64) *Fixture {
	if f, _ := c.move(maxPct); f != nil {
		return &Fixture{fixture: f, Channel: f.Channel}
	}
	return nil
}

// MoveTo is a circuit that can take that load and stay at that percentage or less.
func (c *Circuit) MoveTo(maxPct float64) *string {
	if f, to := c.move(maxPct); f != nil {
		return &to
	}
	return nil
}
