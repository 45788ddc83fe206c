package stage

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// LuxAt is the light of the look on a receiver.
func (s *Room) LuxAt(receiver int) float64 { return s.Transport.At(receiver, s.levels) }

// arrivals appends the light of each lit lamp on a receiver to a list, in the
// order of the columns.
func (s *Room) arrivals(list []Arrival, receiver int) []Arrival {
	columns, coefficients := s.Transport.RowOf(receiver)
	for at, column := range columns {
		if lamp := s.lamps[column]; lamp != nil && lamp.Share > 0 {
			list = append(list, Arrival{lamp, coefficients[at] * lamp.Share, int(column), at})
		}
	}
	return list
}

// addUp sums what arrives of each column on every surface and person.
func (s *Room) addUp() {
	canvases := s.Panels
	if s.floor != nil {
		canvases = append(slices.Clone(canvases), s.floor)
	}
	for _, c := range canvases {
		if c.missing != "" {
			continue
		}
		c.Mean = make([]float64, len(s.Columns))
		count := float64(c.last - c.first)
		area := c.Rect.Width * c.Rect.Height
		seen := make([]float64, len(s.Columns)) // mean lux, times the part that shows
		shows := 0.0
		for receiver := c.first; receiver < c.last; receiver++ {
			shown := s.shown(s.Receivers[receiver])
			shows += shown / count
			s.Transport.Row(receiver, func(column int, lux float64) {
				c.Mean[column] += lux / count
				seen[column] += lux / count * shown
			})
		}
		onto := make([]*landing, len(s.Columns)) // by a finer way than the grid, where that is asked for
		cores.Stretches(len(s.Columns), func(from, to int) {
			for column := from; column < to; column++ {
				b := s.Columns[column]
				part := shows
				if c.Mean[column] > 0 {
					part = seen[column] / c.Mean[column]
				}
				if across, down := b.Source.GridFor(c.Rect); across > SamplesAcross || down > SamplesDown {
					onto[column] = s.Rig.kept.landing(b, c.Rect)
					if onto[column].ok { // the grid would lose the beam between its points
						c.Mean[column] = onto[column].lumens / area
					}
				}
				b.Landed += c.Mean[column] * area
				b.reflected += c.Mean[column] * area * reflects(c.Surface)
				b.Shown += c.Mean[column] * area * part
			}
		})
		for column, l := range onto {
			if l != nil {
				s.onto[landingKey{s.Columns[column].key(), c.Rect}] = l
			}
		}
	}
	for _, sp := range s.Stands {
		if len(sp.views) == 0 {
			continue
		}
		sp.Body = make([]float64, len(s.Columns))
		for _, plane := range []func(v View) int{
			func(v View) int { return v.face },
			func(v View) int { return v.shoulder },
		} {
			most := make([]float64, len(s.Columns)) // of the camera that sees most of it
			for _, v := range sp.views {
				s.Transport.Row(plane(v), func(column int, lux float64) { most[column] = max(most[column], lux) })
			}
			for column, lux := range most {
				sp.Body[column] += BodyArea * lux
			}
		}
	}
}

// reflects is the part of the light on a surface, or on the floor, that goes out again.
func reflects(surface *schema.Surface) float64 {
	if surface == nil || surface.Reflectance == nil && surface.Gain == nil {
		return plainReflectance
	}
	return min(reflectance(surface), 1)
}

// shown is the part of a plane that shows towards the cameras: the cosine between
// its normal and the way to the camera, on average; all of it where no camera has
// a position.
func (s *Room) shown(r photometry.Receiver) float64 {
	eyes := s.eyes()
	if len(eyes) == 0 {
		return 1
	}
	sum := 0.0
	for _, eye := range eyes {
		way := r3.Sub(eye, r.Point)
		if far := r3.Norm(way) * r3.Norm(r.Normal); far > 0 && !math.IsInf(far, 0) {
			sum += max(0, r3.Dot(way, r.Normal)/far)
		}
	}
	return sum / float64(len(eyes))
}

// eyes are the positions of the cameras.
func (s *Room) eyes() []photometry.Vec {
	var eyes []photometry.Vec
	for _, camera := range s.Rig.Show.Room.Cameras {
		if camera.X != nil && camera.Y != nil && camera.Z != nil {
			eyes = append(eyes, photometry.Vec{X: *camera.X, Y: *camera.Y, Z: *camera.Z})
		}
	}
	return eyes
}

func (s *Room) transfer() {
	// The patch's own aim counts too: a remedy may light what is dark now.
	for _, line := range s.Rig.Lines {
		if line.stage {
			s.beamOf(line.Fixture, &tracking.State{})
		}
	}
	s.given = s.Rig.kept.columns(s.Receivers, s.Columns)
	transport, unknown := photometry.Join(len(s.Receivers), s.given)
	for _, pair := range unknown {
		if s.floor != nil && pair.Receiver >= s.floor.first && pair.Receiver < s.floor.last {
			continue // a fixture on the floor hides its own spot of it
		}
		s.Columns[pair.Source].Missing = fmt.Sprintf("a position of the fixture on channel %d that is not on a person or a screen", s.Columns[pair.Source].fixture.Channel)
	}
	s.Transport = transport
	s.levels = make([]float64, len(s.Columns))
	s.lamps = make([]*Lamp, len(s.Columns))
	s.addUp()
}

// leastLux is the light at full under which a beam does not count on a plane:
// thousands of them together give less than starlight.
const leastLux = 1e-6

func (s *Room) receiver(r photometry.Receiver) int {
	s.Receivers = append(s.Receivers, r)
	return len(s.Receivers) - 1
}
