package stage

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/tracking"
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

// Basis is what the lamps of a show count by.
type Basis struct {
	Arriving bool
	reason   string // why it is not, in a phrase; "" where there is no room to light
}

// Word is the basis as rules know it.
func (b Basis) Word() string {
	if b.Arriving {
		return "arriving"
	}
	return "emitted"
}

// Note says what is counted, as the end of a sentence, where a reader would
// expect something else.
func (b Basis) Note() string {
	if b.Arriving || b.reason == "" {
		return ""
	}
	return ", and on the light that leaves the lamps, wherever it lands, because " + b.reason
}

// SeenInAir reports whether a lamp counts by all its light.
func SeenInAir(purpose string) bool { return purpose == "beam" || purpose == "effect" }

// chooseBasis works out which part of each beam arrives and decides by what the
// lamps of the show count.
func (s *Room) chooseBasis() Basis {
	room := s.Rig.Show.Room
	if room == nil || len(room.Surfaces)+len(room.Places) == 0 {
		return Basis{}
	}
	if s.Transport == nil || len(s.Receivers) == 0 {
		return Basis{reason: "no light of a lamp is known to reach a place or a surface"}
	}
	var bodies [][]float64 // of people; of all places if nobody says who stands where
	for _, sp := range s.Stands {
		if sp.Body != nil && (len(s.Rig.occupied) == 0 || s.Rig.occupied[sp.place.Name]) {
			bodies = append(bodies, sp.Body)
		}
	}
	reason := ""
	for _, b := range s.InOrder {
		full, lack := s.Rig.weight(b.fixture)
		b.leaves = s.Rig.leaves(b.fixture, b.state).part
		full *= b.leaves
		switch {
		case SeenInAir(b.fixture.Purpose):
			b.Part = 1
			continue
		case b.Missing == "" && lack == "" && full > 0:
			people := 0.0
			for _, body := range bodies {
				people += body[b.Column]
			}
			if part := (b.Landed + people) / full; part >= 0 {
				b.Part = min(part, 1) // the grid of a surface is coarse
				b.inPicture = min((b.reflected+plainReflectance*people)/full, 1)
			}
			if b.Part >= leastLanded {
				continue
			}
		}
		if !b.shines || reason != "" {
			continue
		}
		if b.Missing != "" {
			reason = "the show does not tell " + b.Missing
		} else {
			reason = fmt.Sprintf("nearly all light of channel %d lands on nothing that the room describes", b.fixture.Channel)
		}
	}
	if reason != "" {
		return Basis{reason: reason}
	}
	for _, b := range s.InOrder {
		if line := s.Rig.lineOf[b.fixture]; b.Missing == "" {
			line.Best, line.placed = max(line.Best, b.Part*b.leaves), true
		}
	}
	return Basis{Arriving: true}
}

// Output is the light that a lamp counts by.
func (l *Lamp) Output() float64 { return l.XYZ.Y * l.Part }

// FullOutput is the light of the stage rig with everything at full, on the basis
// that the show counts by, with what is missing to know it. Light that arrives is
// that of each lamp in the aim of the show in which most of it does; what no look
// uses and nobody has placed counts by all of it.
func (r *Rig) FullOutput() (sum float64, missing []string) {
	said := map[string]bool{}
	for _, line := range r.Lines {
		if !line.stage {
			continue
		}
		weight, lack := r.weight(line.Fixture)
		if lack != "" && !said[lack] {
			said[lack] = true
			missing = append(missing, lack)
		}
		if r.Basis.Arriving && line.placed {
			weight *= line.Best
		} else {
			weight *= r.leaves(line.Fixture, &tracking.State{}).most()
		}
		sum += weight
	}
	return sum, missing
}
