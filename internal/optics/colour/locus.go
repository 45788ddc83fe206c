package colour

import (
	"math"
	"sync"
)

// locusTolerance is how far outside the spectral locus a chromaticity may be written and
// still mean a colour on it: one printed to two decimals is up to 0.0071 off.
const locusTolerance = 0.0071

// Monochromatic returns the chromaticity of light of one wavelength, in
// nanometres, interpolated by Sprague's method from the CIE 1931 2-degree
// functions. ok is false outside 360 to 830 nm.
func Monochromatic(nm float64) (xy XY, ok bool) {
	if !(nm >= cmfFirst && nm <= cmfLast) {
		return XY{}, false
	}
	return matching(nm).XY()
}

// spectralLocus is the locus at 360, 361 ... 830 nm. The purple line closes it,
// from the last point back to the first.
var spectralLocus = sync.OnceValue(func() []XY {
	locus := make([]XY, 0, cmfLast-cmfFirst+1)
	for nm := cmfFirst; nm <= cmfLast; nm++ {
		xy, _ := Monochromatic(float64(nm))
		locus = append(locus, xy)
	}
	return locus
})

// RealColour is the chromaticity of a real light that is meant by c: c itself on or within
// the spectral locus and the purple line, and the nearest point of these where c lies
// outside by no more than rounding. ok is false farther out, and for no chromaticity.
func RealColour(c XY) (real XY, ok bool) {
	if !c.valid() {
		return XY{}, false
	}
	locus := spectralLocus()
	inside, apart := false, math.Inf(1)
	a := locus[len(locus)-1]
	for _, b := range locus {
		// Even-odd rule: does the edge a-b cross the ray to the right of c?
		if (a.Y > c.Y) != (b.Y > c.Y) && c.X < a.X+(c.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			inside = !inside
		}
		near := nearestOnSegment(c, a, b)
		if d := math.Hypot(c.X-near.X, c.Y-near.Y); d < apart {
			real, apart = near, d
		}
		a = b
	}
	if inside {
		return c, true
	}
	return real, apart <= locusTolerance
}

// nearestOnSegment returns the point of the straight line a-b nearest to c.
func nearestOnSegment(c, a, b XY) XY {
	dx, dy := b.X-a.X, b.Y-a.Y
	if length2 := dx*dx + dy*dy; length2 > 0 {
		t := min(1, max(0, ((c.X-a.X)*dx+(c.Y-a.Y)*dy)/length2))
		return XY{a.X + t*dx, a.Y + t*dy}
	}
	return a
}
