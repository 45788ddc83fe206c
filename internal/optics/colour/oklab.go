package colour

import "math"

// OKLab is a colour in the OKLab space (2020): L is 1 for D65 white of Y = 1, A
// greenish to reddish, B bluish to yellowish.
type OKLab struct{ L, A, B float64 }

// OKLCh is the same in cylinder form: chroma C and hue H, degrees from 0 up to
// 360 (0 for grey, where hue has no meaning).
type OKLCh struct{ L, C, H float64 }

// The matrices of the method's public article, "A perceptual color space for
// image processing", December 2020: XYZ (D65, white Y = 1) to cone-like
// responses, and their cube roots to OKLab. A later revision of the article's
// sample code differs in the fourth decimal; these are the ones printed with
// the definition. Status: verified by testdata/reference/oklab_vectors.csv.
var (
	okM1 = matrix{
		{0.8189330101, 0.3618667424, -0.1288597137},
		{0.0329845436, 0.9293118715, 0.0361456387},
		{0.0482003018, 0.2643662691, 0.6338517070},
	}
	okM2 = matrix{
		{0.2104542553, 0.7936177850, -0.0040720468},
		{1.9779984951, -2.4285922050, 0.4505937099},
		{0.0259040371, 0.7827717662, -0.8086757660},
	}
	okM1Inverse = okM1.inverse()
	okM2Inverse = okM2.inverse()
)

// OKLab returns c in OKLab. Scaling c by k scales all three values by the cube
// root of k, so hue, and chroma over lightness, do not depend on luminance. ok
// is false for parts that are not finite.
func (c XYZ) OKLab() (lab OKLab, ok bool) {
	l, m, s := okM1.times(c.X, c.Y, c.Z)
	lab.L, lab.A, lab.B = okM2.times(math.Cbrt(l), math.Cbrt(m), math.Cbrt(s))
	if !finite(lab.L, lab.A, lab.B) {
		return OKLab{}, false
	}
	return lab, true
}

// XYZ returns the tristimulus values of lab, the inverse of XYZ.OKLab. Colours
// no light can have come out with negative parts. ok is false for parts that
// are not finite.
func (lab OKLab) XYZ() (c XYZ, ok bool) {
	l, m, s := okM2Inverse.times(lab.L, lab.A, lab.B)
	c.X, c.Y, c.Z = okM1Inverse.times(l*l*l, m*m*m, s*s*s)
	if !finite(c.X, c.Y, c.Z) {
		return XYZ{}, false
	}
	return c, true
}

// LCh returns lab in cylinder form.
func (lab OKLab) LCh() OKLCh {
	return OKLCh{lab.L, math.Hypot(lab.A, lab.B), hueDegrees(lab.A, lab.B)}
}

// Lab returns c in Cartesian form.
func (c OKLCh) Lab() OKLab {
	sin, cos := math.Sincos(c.H * math.Pi / 180)
	return OKLab{c.L, c.C * cos, c.C * sin}
}

// OKLCh returns the hue and chroma of chromaticity c judged at the fixed
// luminance Y = 1, whatever its real intensity: a dim blue and a bright one of
// the same xy are the same colour here. ok is false for an impossible
// chromaticity.
func (c XY) OKLCh() (lch OKLCh, ok bool) {
	xyz, ok := c.XYZ(1)
	if !ok {
		return OKLCh{}, false
	}
	lab, ok := xyz.OKLab()
	return lab.LCh(), ok
}
