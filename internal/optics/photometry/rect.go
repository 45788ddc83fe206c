package photometry

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxSamples bounds a sample grid, so that a slip in a count cannot ask for all the memory there is.
const maxSamples = 1_000_000

// Rect is a flat rectangle in space with a front: a screen, a drape, a wall.
//
// FacingDeg 0 faces the house (front towards -y) and turns towards +x as it grows. TiltDeg 0 stands upright, +90 faces
// straight up, -90 straight down. Width runs along the horizontal edge, Height along the other. Lengths in metres.
type Rect struct {
	Centre             Vec
	Width, Height      float64
	FacingDeg, TiltDeg float64
}

// Check says in words what is wrong with the rectangle, or nil.
func (r Rect) Check() error {
	switch {
	case !finiteVec(r.Centre) || !finite(r.FacingDeg, r.TiltDeg):
		return fmt.Errorf("surface position and angles must be plain numbers")
	case !(r.Width > 0) || !(r.Height > 0) || !finite(r.Width, r.Height):
		return fmt.Errorf("surface of %g x %g m: both sides must be above 0", r.Width, r.Height)
	case math.Abs(r.TiltDeg) > 90:
		return fmt.Errorf("surface tilt %g degrees: must be -90 to 90", r.TiltDeg)
	}
	return nil
}

// axes gives the unit vectors of the rectangle: to the right and up as seen by someone looking at its front, and the
// normal towards that person.
func (r Rect) axes() (right, up, normal Vec) {
	sinF, cosF := math.Sincos(r.FacingDeg * degree)
	sinT, cosT := math.Sincos(r.TiltDeg * degree)
	right = Vec{X: cosF, Y: sinF}
	normal = Vec{X: cosT * sinF, Y: -cosT * cosF, Z: sinT}
	return right, r3.Cross(normal, right), normal
}

// Between reports whether the rectangle stands between two points: whether the straight way from one to the other goes
// through it.
func (r Rect) Between(a, b Vec) bool {
	right, up, normal := r.axes()
	from, to := r3.Sub(a, r.Centre), r3.Sub(b, r.Centre)
	here, there := r3.Dot(from, normal), r3.Dot(to, normal)
	if !(here*there < 0) {
		return false
	}
	at := r3.Add(from, r3.Scale(here/(here-there), r3.Sub(to, from)))
	return math.Abs(r3.Dot(at, right)) < r.Width/2 && math.Abs(r3.Dot(at, up)) < r.Height/2
}

// Corners are the four corners, in metres, one after the other round the edge.
func (r Rect) Corners() [4]Vec {
	right, up, _ := r.axes()
	at := func(across, high float64) Vec {
		return r3.Add(r.Centre, r3.Add(r3.Scale(across*r.Width/2, right), r3.Scale(high*r.Height/2, up)))
	}
	return [4]Vec{at(-1, -1), at(1, -1), at(1, 1), at(-1, 1)}
}

// Normal is the unit vector out of the front.
func (r Rect) Normal() Vec {
	_, _, n := r.axes()
	return n
}

// Grid cuts the rectangle into across x down equal cells and gives a receiver in the middle of each, facing like the
// surface: row by row from the top, each row from left to right as seen from the front. The mean over the grid is the
// midpoint rule for the mean over the surface. Error: a bad rectangle, or counts below 1 or over a million in all.
func (r Rect) Grid(across, down int) ([]Receiver, error) {
	if err := r.Check(); err != nil {
		return nil, err
	}
	if across < 1 || down < 1 || across > maxSamples || down > maxSamples/across {
		return nil, fmt.Errorf("grid of %d x %d samples: both at least 1, at most %d in all", across, down, maxSamples)
	}
	right, up, normal := r.axes()
	cells := make([]Receiver, 0, across*down)
	for j := range down {
		v := (0.5 - (float64(j)+0.5)/float64(down)) * r.Height
		for i := range across {
			u := ((float64(i)+0.5)/float64(across) - 0.5) * r.Width
			p := r3.Add(r.Centre, r3.Add(r3.Scale(u, right), r3.Scale(v, up)))
			cells = append(cells, Receiver{Point: p, Normal: normal})
		}
	}
	return cells, nil
}

// Hit follows a ray from a point along a direction (of any length above 0) to the rectangle and gives where it arrives,
// how far that is in metres, and whether it arrives on the front. ok is false when the ray misses, runs along the
// surface, points away from it, starts on it, or when any input is bad.
func (r Rect) Hit(from, direction Vec) (at Vec, distance float64, front, ok bool) {
	at, distance, front, ok = r.meet(from, direction)
	if !ok || r.beside(at) != at {
		return Vec{}, 0, false, false
	}
	return at, distance, front, true
}

// beside is the point of the rectangle that is nearest to a point in its plane.
func (r Rect) beside(p Vec) Vec {
	right, up, _ := r.axes()
	offset := r3.Sub(p, r.Centre)
	x, y := r3.Dot(offset, right), r3.Dot(offset, up)
	if math.Abs(x) <= r.Width/2 && math.Abs(y) <= r.Height/2 {
		return p
	}
	x, y = max(-r.Width/2, min(x, r.Width/2)), max(-r.Height/2, min(y, r.Height/2))
	return r3.Add(r.Centre, r3.Add(r3.Scale(x, right), r3.Scale(y, up)))
}

// Near is like Hit, but a ray that goes past the rectangle in its plane arrives at the edge that it passes.
func (r Rect) Near(from, direction Vec) (at Vec, front, ok bool) {
	at, _, front, ok = r.meet(from, direction)
	return r.beside(at), front, ok
}

// edgeOn is how little a ray may close in on a plane, as a part of its way, before it counts as running beside it: of the
// order of what sines and cosines of right angles are off zero.
const edgeOn = 1e-9

// meet follows a ray to the plane of the rectangle.
func (r Rect) meet(from, direction Vec) (at Vec, distance float64, front, ok bool) {
	direction, good := unit(direction)
	if !good || !finiteVec(from) || r.Check() != nil {
		return Vec{}, 0, false, false
	}
	_, _, normal := r.axes()
	approach := r3.Dot(direction, normal)
	distance = r3.Dot(r3.Sub(r.Centre, from), normal) / approach
	at = r3.Add(from, r3.Scale(distance, direction))
	return at, distance, approach < 0, math.Abs(approach) > edgeOn && finite(distance) && distance > 0 && finiteVec(at)
}
