package colour

import "math"

// XYZ holds CIE 1931 tristimulus values. Y is luminous: lumens, lux or a
// fraction of white, whichever the caller put in.
type XYZ struct{ X, Y, Z float64 }

// XY is a CIE 1931 chromaticity.
type XY struct{ X, Y float64 }

// UV is a CIE 1960 UCS chromaticity, in which CCT and Duv are defined.
type UV struct{ U, V float64 }

// UVPrime is a CIE 1976 UCS chromaticity (u', v').
type UVPrime struct{ U, V float64 }

// D65 is the chromaticity of CIE standard illuminant D65, CIE 015:2004,
// Table T.3. Status: verified (testdata/reference/cie_illuminants.csv).
var D65 = XY{0.31270, 0.32900}

// sumSlack lets x + y exceed 1 by what rounding to four decimals can add.
const sumSlack = 1e-4

// valid reports whether c can be the chromaticity of a light at all: finite,
// x >= 0, y > 0 and x + y <= 1. It does not ask whether c is inside the
// spectral locus; InsideLocus does.
func (c XY) valid() bool {
	return c.X >= 0 && c.Y > 0 && c.X+c.Y <= 1+sumSlack
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// light reports whether c is finite and has no negative part.
func (c XYZ) light() bool {
	return c.X >= 0 && c.Y >= 0 && c.Z >= 0 && finite(c.X, c.Y, c.Z)
}

// XY returns the chromaticity x = X/(X+Y+Z), y = Y/(X+Y+Z) (CIE 015:2004,
// section 7.3). ok is false for darkness, a negative or non-finite part, and
// Y = 0.
func (c XYZ) XY() (xy XY, ok bool) {
	s := c.X + c.Y + c.Z
	if !c.light() || c.Y == 0 || !finite(s) {
		return XY{}, false
	}
	xy = XY{c.X / s, c.Y / s}
	return xy, xy.valid()
}

// UV returns the CIE 1960 chromaticity of c. ok as for XY.
func (c XYZ) UV() (uv UV, ok bool) {
	xy, ok := c.XY()
	if !ok {
		return UV{}, false
	}
	return xy.UV()
}

// Add returns the tristimulus values of both lights together (Grassmann).
func (c XYZ) Add(d XYZ) XYZ { return XYZ{c.X + d.X, c.Y + d.Y, c.Z + d.Z} }

// Scale returns k times c.
func (c XYZ) Scale(k float64) XYZ { return XYZ{k * c.X, k * c.Y, k * c.Z} }

// XYZ returns the tristimulus values of a light of chromaticity c and luminous
// value lum: X = x/y lum, Y = lum, Z = (1-x-y)/y lum. ok is false for an
// impossible chromaticity (y = 0 among them) and a lum that is negative or not
// finite. lum = 0 gives darkness.
func (c XY) XYZ(lum float64) (xyz XYZ, ok bool) {
	if !c.valid() || !(lum >= 0) {
		return XYZ{}, false
	}
	k := lum / c.Y
	xyz = XYZ{c.X * k, lum, math.Max(0, 1-c.X-c.Y) * k}
	if !finite(xyz.X, xyz.Y, xyz.Z) {
		return XYZ{}, false
	}
	return xyz, true
}

// UV returns the CIE 1960 chromaticity u = 4x/(-2x+12y+3),
// v = 6y/(-2x+12y+3) (CIE 015:2004, Appendix A). ok is false for an impossible
// chromaticity.
func (c XY) UV() (uv UV, ok bool) {
	if !c.valid() {
		return UV{}, false
	}
	d := -2*c.X + 12*c.Y + 3
	return UV{4 * c.X / d, 6 * c.Y / d}, true
}

// UVPrime returns the CIE 1976 chromaticity u' = 4x/(-2x+12y+3),
// v' = 9y/(-2x+12y+3) (CIE 015:2004, equations 8.24). ok as for UV.
func (c XY) UVPrime() (uv UVPrime, ok bool) {
	p, ok := c.UV()
	return UVPrime{p.U, 1.5 * p.V}, ok
}

// XY returns the CIE 1931 chromaticity x = 3u/(2u-8v+4), y = 2v/(2u-8v+4),
// the inverse of XY.UV. ok is false where the result is impossible.
func (p UV) XY() (xy XY, ok bool) {
	d := 2*p.U - 8*p.V + 4
	if !(d > 0) || !finite(d) {
		return XY{}, false
	}
	xy = XY{3 * p.U / d, 2 * p.V / d}
	if !xy.valid() {
		return XY{}, false
	}
	return xy, true
}

// XY returns the CIE 1931 chromaticity, the inverse of XY.UVPrime. ok is false
// where the result is impossible.
func (p UVPrime) XY() (xy XY, ok bool) { return UV{p.U, p.V / 1.5}.XY() }
