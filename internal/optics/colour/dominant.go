package colour

import "math"

// DominantWavelength says where the line from white through a chromaticity
// leaves the space of real lights. CIE S 017:2020, terms 17-23-064 (dominant
// wavelength), 17-23-065 (complementary wavelength), 17-23-066 (excitation
// purity); term numbers from memory.
type DominantWavelength struct {
	NM float64 // nanometres
	// Complementary: the line leaves through the purple line, and NM is where
	// its other end meets the spectral locus.
	Complementary bool
	// Purity is the excitation purity: distance from white over the distance
	// from white to the edge, 0 to 1.
	Purity float64
}

// samePoint is a distance in xy below which two chromaticities are one and no
// direction leads from one to the other: far below any printed figure.
const samePoint = 1e-9

// Dominant returns the dominant wavelength of c seen against white. ok is false
// for white itself, for a c or white outside the spectral locus, and where the
// line meets no wavelength.
func Dominant(c, white XY) (d DominantWavelength, ok bool) {
	if !InsideLocus(c) || !InsideLocus(white) {
		return DominantWavelength{}, false
	}
	dx, dy := c.X-white.X, c.Y-white.Y
	length := math.Hypot(dx, dy)
	if length < samePoint {
		return DominantWavelength{}, false
	}
	nm, edge, ok := exitLocus(white, dx/length, dy/length)
	if !ok {
		return DominantWavelength{}, false
	}
	// A rounded figure may lie a hair outside: its purity is 1.
	d.Purity = min(1, length/edge)
	if nm == 0 {
		d.Complementary = true
		nm, _, ok = exitLocus(white, -dx/length, -dy/length)
		if !ok || nm == 0 {
			return DominantWavelength{}, false
		}
	}
	d.NM = nm
	return d, true
}

// ExcitationPurity returns the excitation purity of c against white, from 0
// (white) to 1 (monochromatic, or on the purple line). ok is false for a c or
// white outside the spectral locus.
func ExcitationPurity(c, white XY) (purity float64, ok bool) {
	if !InsideLocus(c) || !InsideLocus(white) {
		return 0, false
	}
	if math.Hypot(c.X-white.X, c.Y-white.Y) < samePoint {
		return 0, true
	}
	d, ok := Dominant(c, white)
	return d.Purity, ok
}

// AtDominant returns the chromaticity with the given dominant wavelength, in
// nanometres, and excitation purity (0 to 1) against white: what a data sheet
// of a coloured emitter means. ok is false outside 360 to 830 nm, for a purity
// outside 0 to 1 and an impossible white.
func AtDominant(nm, purity float64, white XY) (xy XY, ok bool) {
	edge, ok := Monochromatic(nm)
	if !ok || !white.valid() || !(purity >= 0 && purity <= 1) {
		return XY{}, false
	}
	return XY{white.X + purity*(edge.X-white.X), white.Y + purity*(edge.Y-white.Y)}, true
}

// exitLocus follows the ray from a point inside the locus in the unit direction
// (dx, dy) to the edge and returns the wavelength there, 0 on the purple line,
// and the distance.
func exitLocus(from XY, dx, dy float64) (nm, distance float64, ok bool) {
	locus := spectralLocus()
	a := locus[len(locus)-1]
	for i, b := range locus {
		// from + t d = a + s (b - a)
		ex, ey := b.X-a.X, b.Y-a.Y
		ax, ay := a.X-from.X, a.Y-from.Y
		if det := ex*dy - ey*dx; det != 0 {
			t := (ex*ay - ey*ax) / det
			s := (dx*ay - dy*ax) / det
			// The tails of the locus wriggle by less than a rounding error, so
			// a ray may cross several edges there: the furthest is the edge.
			// A ray through a corner may miss both its edges by a rounding error.
			if s >= -samePoint && s <= 1+samePoint && t > distance {
				distance, ok = t, true
				nm = 0
				if i > 0 {
					nm = cmfFirst + float64(i-1) + min(1, max(0, s))
				}
			}
		}
		a = b
	}
	return nm, distance, ok
}
