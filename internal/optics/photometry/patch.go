package photometry

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// How finely a rectangle, or the cone of a beam, is cut. With these the light on a rectangle of 2 to 15 m from a beam of 2
// to 60 degrees is within 5 % of what a far finer grid finds, also where the rectangle cuts the beam (tested).
const (
	patchSteps = 4  // of a grid, over half the beam angle
	patchMost  = 32 // steps of a grid along a side; where more are needed, rays are sent
	patchRings = 24
	patchRays  = 48
	patchEdge  = 0.1 // of the flux: a cone is cut three times finer where less lands
	// patchDark is the part of the peak under which the rest of a beam is left out.
	patchDark = 1e-3
)

// Patch is what a source at full level gives to a rectangle.
type Patch struct {
	Lumens float64 // on its front
	Peak   float64 // lux where it is brightest
}

// On adds up what lands on the front of a rectangle. A beam that is wide against it is followed on a grid that is as fine
// as the beam asks for; a narrow one, which a grid finds by chance, by the source's own cone of rays. ok is false for a
// bad rectangle and for a source that knows nothing.
func (s Source) On(r Rect) (p Patch, ok bool) {
	if s.light == nil || r.Check() != nil {
		return Patch{}, false
	}
	wide, ok := s.reach()
	if !ok || s.misses(r, wide) {
		return Patch{}, ok
	}
	if across, down := s.GridFor(r); across <= patchMost && down <= patchMost {
		return s.onGrid(r, max(across, patchSteps), max(down, patchSteps))
	}
	p, ok = s.onCone(r, wide, 1)
	if p.Lumens < patchEdge*s.light.Flux() { // the rectangle cuts all but an edge off
		return s.onCone(r, wide, 3)
	}
	return p, ok
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

// misses reports whether no part of the rectangle lies within an angle from the axis, by the sphere around it.
func (s Source) misses(r Rect, wide float64) bool {
	way := r3.Sub(r.Centre, s.frame.Position)
	far, radius := r3.Norm(way), math.Hypot(r.Width, r.Height)/2
	if far <= radius {
		return false
	}
	off := math.Acos(max(-1, min(1, r3.Dot(way, s.frame.Forward)/far)))
	return off-math.Asin(radius/far) > wide*degree
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

func (s Source) onGrid(r Rect, across, down int) (p Patch, ok bool) {
	grid, err := r.Grid(across, down)
	if err != nil {
		return Patch{}, false
	}
	cell := r.Width * r.Height / float64(len(grid))
	var brightest Vec
	for _, receiver := range grid {
		lux, ok := s.Coefficient(receiver)
		if !ok {
			return Patch{}, false
		}
		p.Lumens += lux * cell
		if lux > p.Peak {
			p.Peak, brightest = lux, receiver.Point
		}
	}
	p.Peak = s.climb(r, brightest, p.Peak, max(r.Width/float64(across), r.Height/float64(down)))
	return p, finite(p.Lumens, p.Peak)
}

func (s Source) onCone(r Rect, wide float64, finer int) (p Patch, ok bool) {
	rings, rays := finer*patchRings, finer*patchRays
	right, up, normal := r.axes()
	away := r3.Dot(r3.Sub(r.Centre, s.frame.Position), normal) // below 0 in front of it
	ray := func(theta, phi float64) (lux, candela float64, at Vec) {
		sinT, cosT := math.Sincos(theta * degree)
		sinP, cosP := math.Sincos(phi * degree)
		way := r3.Add(r3.Scale(cosT, s.frame.Forward), r3.Scale(sinT, r3.Add(r3.Scale(cosP, s.frame.Right), r3.Scale(sinP, s.frame.Up))))
		approach := r3.Dot(way, normal)
		far := away / approach
		if approach >= 0 || !(far > 0) || math.IsInf(far, 0) {
			return 0, 0, at
		}
		at = r3.Add(s.frame.Position, r3.Scale(far, way))
		offset := r3.Sub(at, r.Centre)
		if math.Abs(r3.Dot(offset, right)) > r.Width/2 || math.Abs(r3.Dot(offset, up)) > r.Height/2 {
			return 0, 0, at
		}
		candela, ok := s.candela(theta, phi)
		if !ok {
			return 0, 0, at
		}
		return -candela * approach / (far * far), candela, at
	}
	var brightest Vec
	p.Peak, _, brightest = ray(0, 0)
	for ring := range rings {
		inner, outer := wide*float64(ring)/float64(rings), wide*float64(ring+1)/float64(rings)
		solid := 2 * math.Pi * (math.Cos(inner*degree) - math.Cos(outer*degree)) / float64(rays)
		for k := range rays {
			// Each ring is turned against the one before, so that an edge of the rectangle does not run along the rays.
			lux, candela, at := ray((inner+outer)/2, 360*(float64(k)+math.Mod(float64(ring)*math.Phi, 1))/float64(rays))
			p.Lumens += candela * solid
			if lux > p.Peak {
				p.Peak, brightest = lux, at
			}
		}
	}
	p.Peak = s.climb(r, brightest, p.Peak, r3.Norm(r3.Sub(brightest, s.frame.Position))*wide*degree/float64(rings))
	return p, finite(p.Lumens, p.Peak)
}

// climb finds the brightest point near one that is bright: it goes to the best of eight neighbours as long as there is a
// better one, and then looks nearer.
func (s Source) climb(r Rect, at Vec, lux, step float64) float64 {
	if !(lux > 0) {
		return lux
	}
	right, up, normal := r.axes()
	const nearer, most = 5, 20 // halvings, and steps with each
	for range nearer {
		for range most {
			best, there := lux, at
			for k := range 8 {
				sin, cos := math.Sincos(float64(k) * math.Pi / 4)
				next := r3.Add(at, r3.Add(r3.Scale(step*cos, right), r3.Scale(step*sin, up)))
				offset := r3.Sub(next, r.Centre)
				if math.Abs(r3.Dot(offset, right)) > r.Width/2 || math.Abs(r3.Dot(offset, up)) > r.Height/2 {
					continue
				}
				if here, ok := s.Coefficient(Receiver{Point: next, Normal: normal}); ok && here > best {
					best, there = here, next
				}
			}
			if best == lux {
				break
			}
			lux, at = best, there
		}
		step /= 2
	}
	return lux
}

// reach is the angle from the axis beyond which the source gives next to nothing, in degrees.
func (s Source) reach() (deg float64, ok bool) { return reachOf(s.light) }

func reachOf(light Distribution) (deg float64, ok bool) {
	const turns = 4 // of a distribution that need not be round
	step := 1.0
	round := false
	if spread, ok := light.(Spread); ok {
		if beam, ok := spread.BeamDeg(); ok {
			step, round = beam/8, true
		}
	}
	peak := 0.0
	for theta := 0.0; theta <= 90; theta += step {
		for k := range turns {
			candela, ok := light.Candela(theta, 360/turns*float64(k))
			if !ok {
				return 0, false
			}
			if peak = max(peak, candela); candela > patchDark*peak {
				deg = theta + step
			}
			if round {
				break
			}
		}
		if round && theta > deg {
			break
		}
	}
	return min(deg, 90), peak > 0
}
