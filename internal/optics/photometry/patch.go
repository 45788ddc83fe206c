package photometry

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// How finely the light on a rectangle is followed. With these it is within 5 % of what a far finer grid finds on rectangles
// of 2 to 15 m from beams of 2 to 60 degrees, also where the rectangle cuts the beam (tested).
const (
	patchRings = 32
	patchRays  = 48 // around each ring, for a distribution that is not round
	patchSteps = 4  // of a grid, over half the beam angle
	patchMost  = 32 // steps of a grid along a side; where more are needed, a grid is no way
	// patchDark is the part of the peak under which the rest of a beam is left out.
	patchDark = 1e-3
)

// Patch is what a source at full level gives to a rectangle.
type Patch struct {
	Lumens float64 // on its front
	Peak   float64 // lux where it is brightest
}

// On is the light on the front of a rectangle. ok is false for a bad rectangle and for a source that knows nothing.
func (s Source) On(r Rect) (p Patch, ok bool) {
	if p.Lumens, ok = s.LumensOn(r); !ok {
		return Patch{}, false
	}
	p.Peak = s.peakOn(r)
	return p, finite(p.Peak)
}

// LumensOn adds up what lands on the front of a rectangle, in lumens. The beam is followed in rings about its axis, from
// the first that touches the rectangle to the last. How much of a ring lies on it has a closed form: seen from the
// fixture its four sides are planes, and so are the edges of shutters, and each takes an arc of the ring away. ok is false
// for a bad rectangle and for a source that knows nothing.
func (s Source) LumensOn(r Rect) (lumens float64, ok bool) {
	if s.light == nil || r.Check() != nil {
		return 0, false
	}
	cone, ok := coneOf(s.light)
	if !ok {
		return 0, false
	}
	var room [mostSides]side
	sides, from, to, lit := s.sidesOf(r, room[:0])
	if !lit {
		return 0, true
	}
	return cone.between(from, min(to, cone.wide), append(sides, s.blades()...))
}

// cone is a light that is followed ring by ring.
type cone struct {
	light Distribution
	flux  *rings  // nil for a light that is not round
	wide  float64 // radians: beyond it there is next to nothing
}

func coneOf(light Distribution) (c cone, ok bool) {
	c.light = light
	alike, isRound := light.(round)
	if !isRound {
		c.wide, ok = reachOf(light)
		return c, ok
	}
	if c.flux = alike.rings(); c.flux == nil {
		return c, false
	}
	c.flux.fill(alike)
	c.wide = c.flux.reach
	return c, true
}

// between is the lumens between two angles from the axis, in radians, on the right side of all planes.
func (c *cone) between(from, to float64, sides []side) (lumens float64, ok bool) {
	for ring := range patchRings {
		if !(from < to) {
			break
		}
		inner, outer := from+(to-from)*float64(ring)/patchRings, from+(to-from)*float64(ring+1)/patchRings
		part, ok := c.ring(inner, outer, ring, sides)
		if !ok {
			return 0, false
		}
		lumens += part
	}
	return result(lumens)
}

// ring is the lumens of one ring. Rings turn against each other, so that what changes round the axis is met everywhere.
func (c *cone) ring(inner, outer float64, turn int, sides []side) (lumens float64, ok bool) {
	var room [2 * mostSides]arc
	taken := room[:0]
	middle := (inner + outer) / 2
	sin, cos := math.Sincos(middle)
	for i := range sides {
		var all bool
		if taken, all = sides[i].takes(taken, sin, cos); all {
			return 0, true
		}
	}
	left := 2*math.Pi - union(taken)
	switch {
	case !(left > 0):
		return 0, true
	case c.flux != nil:
		return (c.flux.lumens(outer) - c.flux.lumens(inner)) * left / (2 * math.Pi), true
	}
	mean, ok := meanOf(c.light, middle/degree, turn, taken)
	return mean * left * (versineOf(outer) - versineOf(inner)), ok
}

// blades are the planes through the fixture and the edges of its shutters.
func (s Source) blades() []side {
	var list []side
	for _, e := range s.edges { // tan t (x cos p + y sin p) < reach tan(half field)
		list = append(list, planeOf(e.reach*s.tanHalfField, -e.normalX, -e.normalY))
	}
	return list
}

// mostSides are those of a rectangle and the blades.
const mostSides = 4 + 4

// side is a plane through the fixture, by its normal in the fixture's own axes: what is on its negative side is not lit.
type side struct {
	forward float64 // along the axis of the beam
	across  float64 // square to it, in the direction towards
	towards float64 // radians round the axis
}

func planeOf(forward, right, up float64) side {
	return side{forward, math.Hypot(right, up), math.Atan2(up, right)}
}

// arc is a part of a ring, in radians round the axis: from 0 to 2 pi, and not over the zero.
type arc struct{ from, to float64 }

// takes appends the arcs that the plane takes from the ring at an angle from the axis; all is true if it takes all.
func (p *side) takes(list []arc, sin, cos float64) (_ []arc, all bool) {
	// lit where forward cos t + across sin t cos(p - towards) >= 0
	near, far := p.forward*cos, p.across*sin
	switch {
	case near >= far:
		return list, false
	case near <= -far:
		return list, true
	}
	half := math.Acos(near / far) // of what is taken, on the other side of the axis
	from := p.towards + math.Pi - half
	if from < 0 {
		from += 2 * math.Pi
	} else if from >= 2*math.Pi {
		from -= 2 * math.Pi
	}
	to := from + 2*half
	if to > 2*math.Pi {
		return append(list, arc{from, 2 * math.Pi}, arc{0, to - 2*math.Pi}), false
	}
	return append(list, arc{from, to}), false
}

// union is the length of all arcs together, which are sorted by it.
func union(list []arc) (sum float64) {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && list[k].from < list[k-1].from; k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
	end := 0.0
	for _, a := range list {
		if from := max(a.from, end); a.to > from {
			sum += a.to - from
			end = a.to
		}
	}
	return sum
}

// meanOf is the mean intensity on what is left of a ring.
func meanOf(light Distribution, thetaDeg float64, ring int, taken []arc) (candela float64, ok bool) {
	count := 0
	// Each ring is turned against the one before, so that what changes from plane to plane is met everywhere.
	turned := math.Mod(float64(ring)*math.Phi, 1)
	for k := range patchRays {
		phi := 2 * math.Pi * (float64(k) + turned) / patchRays
		if slices.ContainsFunc(taken, func(a arc) bool { return phi > a.from && phi < a.to }) {
			continue
		}
		here, ok := light.Candela(thetaDeg, phi/degree)
		if !ok {
			return 0, false
		}
		candela += here
		count++
	}
	if count > 0 {
		return candela / float64(count), true
	}
	middle := 0.0 // of the first gap between what is taken, which is narrower than the rays are apart
	for _, a := range taken {
		if a.from > middle {
			middle = (middle + a.from) / 2
			break
		}
		middle = max(middle, a.to)
	}
	return light.Candela(thetaDeg, middle/degree)
}

// sidesOf are the planes through the fixture and the sides of a rectangle, and the angles from the axis between which it
// lies, in radians; lit is false for one that turns its back.
func (s Source) sidesOf(r Rect, sides []side) (_ []side, from, to float64, lit bool) {
	right, up, normal := r.axes()
	way := r3.Sub(r.Centre, s.frame.Position)
	if !(r3.Dot(way, normal) < 0) {
		return nil, 0, 0, false
	}
	own := func(v Vec) Vec {
		return Vec{X: r3.Dot(v, s.frame.Right), Y: r3.Dot(v, s.frame.Up), Z: r3.Dot(v, s.frame.Forward)}
	}
	centre, across, down := own(way), r3.Scale(r.Width/2, own(right)), r3.Scale(r.Height/2, own(up))
	corners := [4]Vec{
		r3.Sub(r3.Sub(centre, across), down), r3.Sub(r3.Add(centre, across), down),
		r3.Add(r3.Add(centre, across), down), r3.Add(r3.Sub(centre, across), down),
	}
	for i, a := range corners {
		to = max(to, math.Atan2(math.Hypot(a.X, a.Y), a.Z))
		n := r3.Cross(a, corners[(i+1)%4])
		if r3.Dot(n, centre) < 0 {
			n = r3.Scale(-1, n)
		}
		size := r3.Norm(n)
		if !(size > 0) {
			return nil, 0, 0, false // the fixture is on it
		}
		from = max(from, -math.Asin(max(-1, min(1, n.Z/size))))
		sides = append(sides, planeOf(n.Z, n.X, n.Y))
	}
	return sides, from, to, true
}

// GridFor is how many steps a grid on the rectangle needs so that the beam is not lost between its points, at most 33 and
// at least 1 each way.
func (s Source) GridFor(r Rect) (across, down int) {
	half := 1.0 // degrees: what a file without a beam angle is followed with
	if spread, ok := s.light.(Spread); ok {
		if beam, ok := spread.BeamDeg(); ok {
			half = beam / 2
		}
	}
	near := r.from(s.frame.Position)
	steps := func(side float64) int {
		if !(near > 0) {
			return patchMost + 1
		}
		return int(max(1, min(math.Ceil(patchSteps*math.Atan(side/near)/(half*degree)), patchMost+1)))
	}
	return steps(r.Width), steps(r.Height)
}

// from is how far a point is from the nearest point of the rectangle.
func (r Rect) from(p Vec) float64 {
	right, up, normal := r.axes()
	offset := r3.Sub(p, r.Centre)
	x := max(0, math.Abs(r3.Dot(offset, right))-r.Width/2)
	y := max(0, math.Abs(r3.Dot(offset, up))-r.Height/2)
	z := r3.Dot(offset, normal)
	return math.Sqrt(x*x + y*y + z*z)
}

// PeakOn is the light where the rectangle is brightest, in lux. ok is false for a bad rectangle and for a source that
// knows nothing.
func (s Source) PeakOn(r Rect) (lux float64, ok bool) {
	if s.light == nil || r.Check() != nil {
		return 0, false
	}
	lux = s.peakOn(r)
	return lux, finite(lux)
}

// peakOn is the same of what is in order: from the best of some points it goes to the best of eight
// neighbours as long as there is a better one, and then looks nearer.
func (s Source) peakOn(r Rect) (lux float64) {
	right, up, normal := r.axes()
	var x, y float64 // of half the sides
	try := func(across, down float64) (better bool) {
		across, down = max(-1, min(1, across)), max(-1, min(1, down))
		at := r3.Add(r.Centre, r3.Add(r3.Scale(across*r.Width/2, right), r3.Scale(down*r.Height/2, up)))
		here, ok := s.Coefficient(Receiver{Point: at, Normal: normal})
		if !ok || here <= lux {
			return false
		}
		lux, x, y = here, across, down
		return true
	}
	const points = 8 // along a side
	for i := range points + 1 {
		for k := range points + 1 {
			try(2*float64(i)/points-1, 2*float64(k)/points-1)
		}
	}
	if approach := r3.Dot(s.frame.Forward, normal); approach < 0 { // where the axis meets its plane, or as near as it gets
		way := r3.Scale(r3.Dot(r3.Sub(r.Centre, s.frame.Position), normal)/approach, s.frame.Forward)
		offset := r3.Sub(r3.Add(s.frame.Position, way), r.Centre)
		try(2*r3.Dot(offset, right)/r.Width, 2*r3.Dot(offset, up)/r.Height)
	}
	const nearer, most = 8, 20 // halvings, and steps with each
	for step, halved := 2.0/points, 0; lux > 0 && halved < nearer; step, halved = step/2, halved+1 {
		for range most {
			better := false
			for k, x, y := 0, x, y; k < 8; k++ {
				sin, cos := math.Sincos(float64(k) * math.Pi / 4)
				better = try(x+step*cos, y+step*sin) || better
			}
			if !better {
				break
			}
		}
	}
	return lux
}

// reachOf is the angle from the axis beyond which a light that is not round gives next to nothing, in radians.
func reachOf(light Distribution) (wide float64, ok bool) {
	const turns = 4
	peak := 0.0
	for theta := 0.0; theta <= 90; theta++ {
		for k := range turns {
			candela, ok := light.Candela(theta, 360/turns*float64(k))
			if !ok {
				return 0, false
			}
			if peak = max(peak, candela); candela > patchDark*peak {
				wide = theta + 1
			}
		}
	}
	return min(wide, 90) * degree, peak > 0
}
