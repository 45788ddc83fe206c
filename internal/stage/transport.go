package stage

import (
	"fmt"
	"maps"
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

// canvases are the surfaces that are known, and the floor.
func (s *Room) canvases() []*Panel {
	list := slices.DeleteFunc(slices.Clone(s.Panels), func(c *Panel) bool { return c.missing != "" })
	if s.floor != nil {
		list = append(list, s.floor)
	}
	return list
}

// addUp sums what arrives of each column on every surface and person. In a room that is as
// it was, beams that were there give what they gave.
func (s *Room) addUp() {
	canvases := s.canvases()
	for _, c := range canvases {
		c.Mean = make([]float64, len(s.Columns))
	}
	for _, sp := range s.Stands {
		if len(sp.views) > 0 {
			sp.Body = make([]float64, len(s.Columns))
		}
	}
	news := s.takeSums(canvases)
	if len(news) == 0 {
		return
	}
	shown, shows := make([]float64, len(s.Receivers)), make([]float64, len(canvases))
	for i, c := range canvases {
		for receiver := c.first; receiver < c.last; receiver++ {
			shown[receiver] = s.shown(s.Receivers[receiver])
			shows[i] += shown[receiver] / float64(c.last-c.first)
		}
	}
	onto := make([][]*landing, len(news)) // by a finer way than the grid, where that is asked for
	cores.Stretches(len(news), func(from, to int) {
		lux := make([]float64, len(s.Receivers))
		for n := from; n < to; n++ {
			s.given[news[n]].Each(func(receiver int, l float64) { lux[receiver] = l })
			onto[n] = s.sumUp(news[n], lux, canvases, shown, shows)
			s.given[news[n]].Each(func(receiver int, _ float64) { lux[receiver] = 0 })
		}
	})
	s.onto = maps.Clone(s.onto)
	for n, list := range onto {
		for i, l := range list {
			if l != nil {
				s.onto[landingKey{s.Columns[news[n]].key(), canvases[i].Rect}] = l
			}
		}
	}
}

// sumUp sums what arrives of one column, of which lux is the light on each receiver.
func (s *Room) sumUp(column int, lux []float64, canvases []*Panel, shown, shows []float64) (onto []*landing) {
	b := s.Columns[column]
	for i, c := range canvases {
		count, area := float64(c.last-c.first), c.Rect.Width*c.Rect.Height
		seen := 0.0 // mean lux, times the part that shows
		for receiver := c.first; receiver < c.last; receiver++ {
			if l := lux[receiver]; l > 0 {
				c.Mean[column] += l / count
				seen += l / count * shown[receiver]
			}
		}
		part := shows[i]
		if c.Mean[column] > 0 {
			part = seen / c.Mean[column]
		}
		if across, down := b.Source.GridFor(c.Rect); across > SamplesAcross || down > SamplesDown {
			l := s.Rig.kept.landing(b, c.Rect)
			if l.ok { // the grid would lose the beam between its points
				c.Mean[column] = l.lumens / area
			}
			if onto == nil {
				onto = make([]*landing, len(canvases))
			}
			onto[i] = l
		}
		b.Landed += c.Mean[column] * area
		b.reflected += c.Mean[column] * area * reflects(c.Surface)
		b.Shown += c.Mean[column] * area * part
	}
	for _, sp := range s.Stands {
		face, shoulder := 0.0, 0.0 // towards the camera that sees most of it
		for i := range sp.views {
			face, shoulder = max(face, lux[sp.views[i].face]), max(shoulder, lux[sp.views[i].shoulder])
		}
		if sp.Body != nil {
			sp.Body[column] = BodyArea*face + BodyArea*shoulder
		}
	}
	return onto
}

// takeSums takes over the sums of the beams that were there before, and returns the others.
func (s *Room) takeSums(canvases []*Panel) (news []int) {
	k := s.Rig.kept
	usable := k != nil && sameSight(s.Rig.Show.Room, k.rig.Show.Room)
	var before []*Panel
	if usable {
		before, s.onto = k.rig.Room.canvases(), k.onto
	}
	for column, b := range s.Columns {
		var was *Beam
		if usable {
			was = k.beams[b.key()].beam
		}
		if was == nil {
			news = append(news, column)
			continue
		}
		b.Landed, b.reflected, b.Shown = was.Landed, was.reflected, was.Shown
		for i, c := range canvases {
			c.Mean[column] = before[i].Mean[was.Column]
		}
		for i, sp := range s.Stands {
			if sp.Body != nil {
				sp.Body[column] = k.rig.Room.Stands[i].Body[was.Column]
			}
		}
	}
	return news
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
