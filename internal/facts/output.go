package facts

import (
	"fmt"
)

// The output of the stage rig at a moment is the light that arrives on people,
// surfaces and the stage floor. A lamp counts by the part of its lumens that
// lands there in its aim and zoom, measured against its type's flux; beams and
// effects are seen in the air and count by all of them. Between two aims the part
// goes evenly with the fade: what the light passes over on its way is left out.
//
// If that cannot be told of a lamp that a look uses, or if nearly all its light
// lands on nothing that the room describes, every lamp of the whole show counts
// by the light that leaves it: two kinds of lumens cannot be added up.

// basis is what the lamps of a show count by.
type basis struct {
	arriving bool
	reason   string // why it is not, in a phrase; "" where there is no room to light
}

// word is the basis as rules know it.
func (b basis) word() string {
	if b.arriving {
		return "arriving"
	}
	return "emitted"
}

// note says what is counted, as the end of a sentence, where a reader would
// expect something else.
func (b basis) note() string {
	if b.arriving || b.reason == "" {
		return ""
	}
	return ", and on the light that leaves the lamps, wherever it lands, because " + b.reason
}

// seenInAir reports whether a lamp counts by all its light.
func seenInAir(purpose string) bool { return purpose == "beam" || purpose == "effect" }

// chooseBasis works out which part of each beam arrives and decides by what the
// lamps of the show count.
func (s *scene) chooseBasis() basis {
	room := s.rig.show.Room
	if room == nil || len(room.Surfaces)+len(room.Places) == 0 {
		return basis{}
	}
	if s.transport == nil || len(s.receivers) == 0 {
		return basis{reason: "no light of a lamp is known to reach a place or a surface"}
	}
	var bodies [][]float64 // of people; of all places if nobody says who stands where
	for _, sp := range s.spots {
		if sp.body != nil && (len(s.rig.occupied) == 0 || s.rig.occupied[sp.place.Name]) {
			bodies = append(bodies, sp.body)
		}
	}
	reason := ""
	for _, b := range s.inOrder {
		full, lack := s.rig.weight(b.fixture)
		switch {
		case seenInAir(b.fixture.Purpose):
			b.part = 1
			continue
		case b.missing == "" && lack == "" && full > 0:
			people := 0.0
			for _, body := range bodies {
				people += body[b.column]
			}
			if part := (b.landed + people) / full; part >= 0 {
				b.part = min(part, 1) // the grid of a surface is coarse
			}
			if b.part >= leastLanded {
				continue
			}
		}
		if !b.shines || reason != "" {
			continue
		}
		if b.missing != "" {
			reason = "the show does not tell " + b.missing
		} else {
			reason = fmt.Sprintf("nearly all light of channel %d lands on nothing that the room describes", b.fixture.Channel)
		}
	}
	if reason != "" {
		return basis{reason: reason}
	}
	for _, b := range s.inOrder {
		if line := s.rig.lineOf[b.fixture]; b.missing == "" {
			line.best, line.placed = max(line.best, b.part), true
		}
	}
	return basis{arriving: true}
}

// count gives every lamp of a look the part of its light that it counts by.
func (l *stageLook) count(s *scene) {
	if !s.rig.basis.arriving {
		return // all of it, as it is
	}
	for _, lamp := range l.lamps {
		if seenInAir(lamp.Purpose) {
			continue
		}
		if b := s.beamOfLamp(lamp); b.missing == "" {
			lamp.part = b.part
		}
	}
}

// output is the light that a lamp counts by.
func (l *stageLamp) output() float64 { return l.xyz.Y * l.part }

// fullOutput is the light of the stage rig with everything at full, on the basis
// that the show counts by, with what is missing to know it. Light that arrives is
// that of each lamp in the aim of the show in which most of it does; what no look
// uses and nobody has placed counts by all of it.
func (r *rig) fullOutput() (sum float64, missing []string) {
	said := map[string]bool{}
	for _, line := range r.lines {
		if !line.stage {
			continue
		}
		weight, lack := r.weight(line.fixture)
		if lack != "" && !said[lack] {
			said[lack] = true
			missing = append(missing, lack)
		}
		if r.basis.arriving && line.placed {
			weight *= line.best
		}
		sum += weight
	}
	return sum, missing
}
