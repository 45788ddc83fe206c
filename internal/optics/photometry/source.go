package photometry

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Receiver is a small plane that light falls on: a point and the normal of the side that counts (any length above 0).
type Receiver struct {
	Point, Normal Vec
}

// Source is a fixture at full level in one aim: where it is, what it gives, and what its shutters take away. Make it with
// NewSource.
type Source struct {
	frame        Frame
	light        Distribution
	edges        []edge
	tanHalfField float64
}

// NewSource puts a fixture together. Error: a frame not made by AimAt or AimAlong, no light, or cuts outside their domain.
func NewSource(frame Frame, light Distribution, cuts Cuts) (Source, error) {
	if light == nil {
		return Source{}, errors.New("the fixture has no light distribution")
	}
	if frame.Forward == (Vec{}) {
		return Source{}, errors.New("the fixture is not aimed")
	}
	edges, err := cuts.edges()
	if err != nil {
		return Source{}, err
	}
	s := Source{frame: frame, light: light, edges: edges}
	if len(edges) > 0 {
		s.tanHalfField = math.Tan(cuts.FieldDeg / 2 * degree)
	}
	return s, nil
}

// Frame is where the fixture is and how it is turned.
func (s Source) Frame() Frame { return s.frame }

// CandelaTowards is the intensity at full level towards a point, after the shutters. ok is false for a point at the
// fixture or one that is not finite.
func (s Source) CandelaTowards(p Vec) (candela float64, ok bool) {
	alike, isRound := s.light.(round)
	if !isRound || len(s.edges) > 0 {
		theta, phi, _, ok := s.frame.Direction(p)
		if !ok {
			return 0, false
		}
		if candela, ok = s.candela(theta, phi); !isRound || !(candela > 0) {
			return candela, ok
		}
	}
	return s.towards(p, alike)
}

// towards is the intensity of a round light towards a point, without any angle.
func (s Source) towards(p Vec, light round) (candela float64, ok bool) {
	u, square := s.off(p)
	if !(square > 0) || math.IsInf(square, 0) {
		return 0, false
	}
	if !math.IsInf(u, 1) {
		candela = light.around(u)
	}
	return candela, candela > 0 || light.around(0) > 0
}

// off is how far from the axis a point is, as 1 - cos t with all digits near the axis, and the square of its distance; behind
// the fixture u is infinite.
func (s Source) off(p Vec) (u, square float64) {
	d := r3.Sub(p, s.frame.Position)
	square = r3.Norm2(d)
	ahead := r3.Dot(d, s.frame.Forward)
	if !(ahead > 0) {
		return math.Inf(1), square
	}
	x, y, far := r3.Dot(d, s.frame.Right), r3.Dot(d, s.frame.Up), math.Sqrt(square)
	return (x*x + y*y) / (far * (far + ahead)), square
}

// OffAxis is how far from the axis a point is, as 1 - cos t: farther out a light that is alike all round its axis, and has no
// shutters, gives less. It is infinite behind the fixture. ok is false for any other light.
func (s Source) OffAxis(p Vec) (u float64, ok bool) {
	if _, isRound := s.light.(round); !isRound || len(s.edges) > 0 {
		return 0, false
	}
	u, _ = s.off(p)
	return u, true
}

func (s Source) candela(theta, phi float64) (float64, bool) {
	if s.light == nil {
		return 0, false
	}
	if len(s.edges) > 0 && blocked(s.edges, image(theta, phi, s.tanHalfField)) {
		return 0, true
	}
	return s.light.Candela(theta, phi)
}

// Coefficient is the illuminance in lux on a receiver per unit level (level 1 is full light output, not a dimmer
// setting). Light from behind the receiver is a true 0. ok is false for a receiver at the fixture, a zero normal, or
// values that are not finite.
func (s Source) Coefficient(r Receiver) (luxPerLevel float64, ok bool) {
	towards := r3.Sub(s.frame.Position, r.Point)
	square, length := r3.Norm2(towards), r3.Norm2(r.Normal)
	if !(square > 0) || !(length > 0) || math.IsInf(square, 0) || math.IsInf(length, 0) || s.light == nil {
		return 0, false
	}
	cos := r3.Dot(towards, r.Normal) / math.Sqrt(square*length)
	switch {
	case !finite(cos):
		return 0, false
	case cos <= 0: // known without asking the fixture, which is half of all there is to ask
		return 0, true
	}
	candela, ok := s.CandelaTowards(r.Point)
	if !ok {
		return 0, false
	}
	return result(candela * cos / square)
}

// beyond reports whether a point lies a metre from the fixture or farther, and farther from the axis than u, which is
// 1 - cos t.
func (s Source) beyond(p Vec, u float64) bool {
	d := r3.Sub(p, s.frame.Position)
	square := r3.Norm2(d)
	return square >= 1 && !math.IsInf(square, 0) && r3.Dot(d, s.frame.Forward) < (1-u)*math.Sqrt(square)
}
