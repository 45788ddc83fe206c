package stage

import (
	"math"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Heights of eyes above the floor where an area does not tell them, in metres: seated and
// standing people. Common practice, no source.
const (
	seatedEyes   = 1.2
	standingEyes = 1.6
)

// eyesIn are points where somebody's eyes are in an area, a metre or less apart, and never
// more than a few hundred; none if it does not say where it is.
func eyesIn(a *schema.Area) []photometry.Vec {
	if len(a.X) != 2 || len(a.Y) != 2 || a.Z == nil {
		return nil
	}
	const most = 20
	eye := seatedEyes
	if a.Kind == "aisle" {
		eye = standingEyes
	}
	if a.EyeM != nil {
		eye = *a.EyeM
	}
	front, back := max(a.Y[0], a.Y[1]), min(a.Y[0], a.Y[1]) // the stage is upstage of the house
	backZ := *a.Z
	if a.BackZ != nil {
		backZ = *a.BackZ
	}
	steps := func(from, to float64) int { return int(min(max(to-from, from-to)+1, most)) + 1 }
	across, down := steps(a.X[0], a.X[1]), steps(back, front)
	var eyes []photometry.Vec
	for i := range across {
		for j := range down {
			u, v := float64(i)/float64(across-1), float64(j)/float64(down-1)
			eyes = append(eyes, photometry.Vec{X: a.X[0] + u*(a.X[1]-a.X[0]), Y: front + v*(back-front), Z: *a.Z + v*(backZ-*a.Z) + eye})
		}
	}
	return eyes
}

// seats are the eyes in an area of the house.
type seats struct {
	area string
	eyes []photometry.Vec
}

// placeHouse finds the eyes of people in the areas that say where they are.
func (s *Room) placeHouse() {
	s.middle = middleOf(s.heads())
	for _, a := range s.Rig.Show.Room.Areas {
		if eyes := eyesIn(a); len(eyes) > 0 {
			s.seats = append(s.seats, seats{a.Name, eyes})
			s.houseEyes = append(s.houseEyes, eyes...)
		}
	}
}

// HasAudience reports whether the room says where people sit or walk in the house.
func (s *Room) HasAudience() bool { return len(s.houseEyes) > 0 }

// behindBack reports whether a lamp hangs behind whoever looks from somewhere in the house at the middle of the places where
// people stand: light that comes over the shoulder dazzles nobody. Where no place is known it may be anywhere.
func (s *Room) behindBack(eye, lamp photometry.Vec) bool {
	if s.middle == nil {
		return false
	}
	gaze, way := r3.Sub(*s.middle, eye), r3.Sub(lamp, eye)
	gaze.Z, way.Z = 0, 0
	return r3.Dot(gaze, way) < 0
}

// IntoEyes is how much of the beam of a fixture goes into the eyes of the house: the
// intensity towards the eyes that get most of it, as percent of that on its axis, in the
// aims that the looks use, in which area, and how many degrees it stands above these eyes;
// and the most light at full that arrives at any eyes; or what is missing.
func (s *Room) IntoEyes(f *schema.Fixture) (pct, lux, above float64, area string, missing []string) {
	for _, b := range s.byFixture[f] {
		if !b.used || !b.lit {
			continue
		}
		if b.Missing != "" {
			missing = AddMissing(missing, b.Missing)
			continue
		}
		peak, ok := b.Source.CandelaTowards(along(b.frame))
		if !ok || peak <= 0 {
			continue
		}
		most, nearest := 0.0, math.Inf(1) // what the eyes nearest to the axis get, and how far from it they are
		for _, a := range s.seats {
			for _, eye := range a.eyes {
				square := r3.Norm2(r3.Sub(eye, b.frame.Position))
				off, round := b.Source.OffAxis(eye)
				if round && off >= nearest && most/square <= lux { // a house has hundreds of eyes
					continue
				}
				candela, ok := b.Source.CandelaTowards(eye)
				if !ok || s.behindBack(eye, b.frame.Position) {
					continue
				}
				if off < nearest {
					most, nearest = candela, off
				}
				if 100*candela/peak > pct {
					way := r3.Sub(b.frame.Position, eye)
					pct, area, above = 100*candela/peak, a.area, math.Atan2(way.Z, math.Hypot(way.X, way.Y))*180/math.Pi
				}
				lux = max(lux, candela/square)
			}
		}
	}
	return pct, lux, above, area, missing
}
