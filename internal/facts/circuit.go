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

	CircuitName string   `expr:"name"`         // its name
	LoadW       *float64 `expr:"load_w"`       // watts of everything on it at full
	LoadA       *float64 `expr:"load_a"`       // amperes of that, with each type's power factor where given
	RatedA      *float64 `expr:"rated_a"`      // amperes of its protection
	LoadPct     *float64 `expr:"load_pct"`     // load as percent of its protection
	Channels    []int    `expr:"channels"`     // what is plugged into it
	MoveChannel *int     `expr:"move_channel"` // the smallest load that has to leave for it to be at 80 % or less
	MoveTo      *string  `expr:"move_to"`      // a circuit that can take that load and stay at 80 % or less
	Mover       *Fixture `expr:"mover"`        // the fixture of move_channel
}

// continuousShare is NFPA 70, 210.20(A): protection must be at least 125 % of a
// continuous load, so that load may use 80 % of it. Other countries rate
// otherwise; the rule's limit can be changed, this is the aim of the proposal.
const continuousShare = 0.8

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
		c.proposeMove(r, circuits)
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

// proposeMove finds the smallest load whose leaving is enough, and the emptiest
// circuit of the same voltage that can take it.
func (c *Circuit) proposeMove(r *stage.Rig, all []*Circuit) {
	if c.LoadPct == nil || *c.LoadPct <= 100*continuousShare {
		return
	}
	excess := *c.LoadA - continuousShare*(*c.RatedA)
	best := math.Inf(1)
	for _, f := range r.Show.Patch {
		if f.Circuit != c.CircuitName {
			continue
		}
		watts, _ := r.Watts(f)
		amps := watts / r.PowerFactor(f) / *c.circuit.Volts
		if amps < excess || amps >= best {
			continue
		}
		if to := roomiest(c, all, amps); to != "" {
			best = amps
			c.MoveChannel, c.MoveTo = new(f.Channel), &to
			c.Mover = &Fixture{fixture: f, Channel: f.Channel}
		}
	}
	if c.MoveChannel == nil {
		phrase := "a circuit with room for what has to leave it"
		c.lacks("move_channel", phrase)
		c.lacks("move_to", phrase)
	}
}

func roomiest(from *Circuit, all []*Circuit, amps float64) string {
	name, most := "", -1.0
	for _, c := range all {
		if c == from || c.LoadPct == nil || *c.circuit.Volts != *from.circuit.Volts {
			continue
		}
		if spare := continuousShare*(*c.RatedA) - *c.LoadA - amps; spare >= 0 && spare > most {
			name, most = c.CircuitName, spare
		}
	}
	return name
}
