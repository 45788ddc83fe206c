package colour

import (
	"cmp"
	"math"
	"slices"
)

// gamut is the convex polygon of all chromaticities that emitters can make
// together, in CIE 1976 u', v', counter-clockwise. It may shrink to a line or a
// point. Straight lines stay straight from xy to u'v', so it is the same set.
type gamut []UVPrime

// insideSlack is how far outside its edge, in u', v', a point still counts as
// in a gamut: rounding, and nothing that could be seen or printed.
const insideSlack = 1e-9

// gamutOf returns the gamut of those emitters that give any light, by the
// monotone chain of A. M. Andrew, Information Processing Letters 9(5), 216-219,
// 1979. ok is false for a bad emitter, or none that gives light, or over 64.
func gamutOf(emitters []Emitter) (hull gamut, ok bool) {
	if len(emitters) > maxEmitters {
		return nil, false
	}
	var points []UVPrime
	for _, e := range emitters {
		if _, ok := e.XYZ(); !ok {
			return nil, false
		}
		if e.Flux > 0 {
			p, _ := e.XY().UVPrime()
			points = append(points, p)
		}
	}
	if len(points) == 0 {
		return nil, false
	}
	slices.SortFunc(points, func(p, q UVPrime) int {
		return cmp.Or(cmp.Compare(p.U, q.U), cmp.Compare(p.V, q.V))
	})
	points = slices.Compact(points)
	if len(points) == 1 {
		return points, true
	}
	// Left to right below, then right to left above.
	for range 2 {
		start := len(hull)
		for _, p := range points {
			for len(hull) >= start+2 && turn(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1] // it begins the other half
		slices.Reverse(points)
	}
	return hull, true
}

// turn is positive where the way from a over b to c turns left.
func turn(a, b, c UVPrime) float64 {
	return (b.U-a.U)*(c.V-a.V) - (b.V-a.V)*(c.U-a.U)
}

// nearest returns the point of the gamut nearest to p: p itself if inside.
func (hull gamut) nearest(p UVPrime) UVPrime {
	inside := len(hull) > 2
	var best UVPrime
	least := math.Inf(1)
	for i, b := range hull {
		a := hull[(i+len(hull)-1)%len(hull)]
		if turn(a, b, p) < 0 {
			inside = false
		}
		foot := nearestOnSegment(XY{p.U, p.V}, XY{a.U, a.V}, XY{b.U, b.V})
		q := UVPrime{foot.X, foot.Y}
		if d := math.Hypot(p.U-q.U, p.V-q.V); d < least {
			best, least = q, d
		}
	}
	if inside {
		return p
	}
	return best
}

// contains reports whether p is in the gamut.
func (hull gamut) contains(p UVPrime) bool {
	q := hull.nearest(p)
	return math.Hypot(p.U-q.U, p.V-q.V) <= insideSlack
}

// NearestInGamut returns the chromaticity nearest to target, by distance in CIE
// 1976 u', v', that the emitters can make together: target itself if they can
// make it. Emitters of no flux do not count. ok is false for an impossible
// target, a bad emitter, no emitter with any flux, and more than 64 of them.
func NearestInGamut(emitters []Emitter, target XY) (xy XY, ok bool) {
	hull, ok := gamutOf(emitters)
	p, okTarget := target.UVPrime()
	if !ok || !okTarget {
		return XY{}, false
	}
	q := hull.nearest(p)
	if q == p {
		return target, true
	}
	return q.XY()
}
