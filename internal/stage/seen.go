package stage

import (
	"math"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Shine is the light of one lamp on a face or on shoulders, for pictures.
type Shine struct {
	Lamp                     *Lamp
	Lux                      float64 // on the plane of the face, or of the shoulders
	AzimuthDeg, ElevationDeg float64 // as those of [Ray]
}

// Seen is a face as the camera sees it that it looks at most, lamp by lamp.
type Seen struct {
	Camera *schema.Camera
	YawDeg float64 // how far it is turned from the camera, to the right of the picture; 0 if nobody says where the person looks
	Front  []Shine
	Behind []Shine    // from behind, on head and shoulders
	Wall   colour.XYZ // the light that falls on what is behind; zero for what shines itself
}

// Seen takes a face that is known apart for a picture of it.
func (s *Room) Seen(f *Face) Seen {
	seen := Seen{Camera: f.view.camera}
	normal := s.Receivers[f.view.face].Normal
	if s.Stand(f.place).facing != nil {
		to := r3.Sub(f.view.eye, f.view.head)
		seen.YawDeg = -math.Remainder(math.Atan2(to.X, -to.Y)-math.Atan2(normal.X, -normal.Y), 2*math.Pi) / degree
	}
	shine := func(a Arrival) Shine {
		right := photometry.Vec{X: -normal.Y, Y: normal.X}
		way := r3.Sub(s.Columns[a.column].frame.Position, f.view.head)
		x, y := r3.Dot(way, right), r3.Dot(way, normal)
		return Shine{a.lamp, a.lux, math.Atan2(x, y) / degree, math.Atan2(way.Z, math.Hypot(x, y)) / degree}
	}
	for _, a := range f.face {
		seen.Front = append(seen.Front, shine(a))
	}
	for _, a := range f.shoulder {
		if f.fromBehind(a) {
			seen.Behind = append(seen.Behind, shine(a))
		}
	}
	if f.view.behind != nil {
		for _, a := range s.arrivals(nil, f.view.backdrop) {
			if a.lamp.XYZ.Y > 0 {
				seen.Wall = seen.Wall.Add(a.lamp.XYZ.Scale(a.lux / a.lamp.XYZ.Y))
			}
		}
	}
	return seen
}

// Cameras are those that see a place.
func (s *Room) Cameras(place string) (list []*schema.Camera) {
	if sp := s.Stand(place); sp != nil && !sp.house {
		for _, v := range sp.views {
			list = append(list, v.camera)
		}
	}
	return list
}

// Placed reports where the face at a place is, and which way it looks; ok is false if
// nobody knows.
func (s *Room) Placed(place string) (head photometry.Vec, ok bool) {
	sp := s.Stand(place)
	return sp.headOr(), sp != nil && sp.missing == ""
}

func (sp *Stand) headOr() (head photometry.Vec) {
	if sp != nil {
		head = sp.head
	}
	return head
}

// Shines adds up the light of a lit look on a plane anywhere, in lux, without the ambient
// light: of all lamps whose beams are known.
func (l *LookLight) Shines(r photometry.Receiver) (lux float64) {
	for _, list := range [2][]*Lamp{l.Lamps, l.Others} {
		for _, lamp := range list {
			if b := lamp.Beam; b != nil && b.Missing == "" && lamp.Missing == "" && lamp.Share > 0 {
				if c, ok := b.Source.Coefficient(r); ok {
					lux += c * lamp.Share
				}
			}
		}
	}
	return lux
}

// Cut reports whether the fixture of a beam has a shutter in it.
func (b *Beam) Cut() bool {
	for _, blade := range b.fixture.Shutters {
		if Value(blade.DepthPct) > 0 {
			return true
		}
	}
	return false
}

// Target is the point that the beam of a lamp points at; ok is false if nobody knows.
func (s *Room) Target(lamp *Lamp) (at photometry.Vec, ok bool) {
	aim := lamp.Aim()
	if aim == nil {
		return at, false
	}
	at, missing := s.target(aim)
	return at, missing == ""
}
