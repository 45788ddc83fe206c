package lint

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/house"
)

// Exports say what exports leave open. The zero value says nothing.
type Exports struct {
	Unlisted string      // what channels do that a cue does not list: "off" or "keep"
	Origin   *[3]float64 // where the origin of a plan lies, in metres of the show
	TurnDeg  *float64    // how far a plan is turned against our axes
}

// over takes from the house what was not said for this run.
func (e Exports) over(h *house.House) Exports {
	if h == nil {
		return e
	}
	if e.Unlisted == "" {
		e.Unlisted = h.Unlisted
	}
	if e.Origin == nil && e.TurnDeg == nil {
		e.Origin, e.TurnDeg = h.Origin, h.TurnDeg
	}
	return e
}

// Said lists what is said of exports, for the list of what a house sets: the key, what
// it is and where it stands.
func (s *Setup) Said() (list []Setting) {
	say := func(key, what string) {
		from := "the command line"
		if s.House != nil {
			if at, ok := s.House.File.Root().Get(key); ok {
				from = lineOf(at.KeyPlace())
			}
		}
		list = append(list, Setting{key + ": " + what, from, true})
	}
	if s.Exports.Unlisted != "" {
		say("unlisted", s.Exports.Unlisted)
	}
	if at := s.Exports.Origin; at != nil {
		say("origin", fmt.Sprintf("%g, %g, %g m", at[0], at[1], at[2]))
	}
	if turn := s.Exports.TurnDeg; turn != nil {
		say("turn_deg", fmt.Sprintf("%g degrees", *turn))
	}
	return list
}

// mapping is where a plan lies; turned is nil if nobody said anything of it. Who says
// one half of it has no reason to say the other where it is zero.
func (e Exports) mapping() (origin [3]float64, turned *float64) {
	if e.Origin == nil && e.TurnDeg == nil {
		return origin, nil
	}
	if e.Origin != nil {
		origin = *e.Origin
	}
	if turned = e.TurnDeg; turned == nil {
		turned = new(float64)
	}
	return origin, turned
}
