package colour

// The walk of HueSaturation from white to the edge of a gamut, in chroma over
// lightness. The widest real light, near 400 nm, is below the end of the walk.
const (
	saturationStep = 0.01
	saturationEnd  = 4
)

// HueSaturation returns the chromaticity that a colour engine shows for a hue,
// in degrees, and a saturation from 0 to 100.
//
// Hue is the OKLCh hue, taken modulo 360. Saturation 0 is D65, the neutral point
// of OKLCh; 100 is where the line of that hue first leaves the gamut of the
// emitters; between them OKLCh chroma grows in proportion at one lightness.
// Lines of one hue are curved in xy; the line through an sRGB blue leaves the
// gamut just before that corner, at (0.156, 0.080).
// (Chroma over lightness, like hue, does not depend on luminance in OKLab, so
// which lightness does not matter.) ok is false if D65 lies outside the gamut,
// for a bad emitter, a hue that is not finite and a saturation outside 0 to 100.
func HueSaturation(emitters []Emitter, hue, saturation float64) (xy XY, ok bool) {
	hull, ok := gamutOf(emitters)
	if !ok || !finite(hue) || !(saturation >= 0 && saturation <= 100) {
		return XY{}, false
	}
	at := func(chroma float64) (XY, bool) {
		if chroma == 0 {
			return D65, true // to all its digits
		}
		xyz, ok := OKLCh{1, chroma, wrapDegrees(hue)}.Lab().XYZ()
		if !ok {
			return XY{}, false
		}
		return xyz.XY()
	}
	inside := func(chroma float64) bool {
		xy, ok := at(chroma)
		p, okUV := xy.UVPrime()
		return ok && okUV && hull.contains(p)
	}
	if !inside(0) {
		return XY{}, false
	}
	in, out := 0.0, saturationStep
	for inside(out) {
		in, out = out, out+saturationStep
		if out > saturationEnd {
			return XY{}, false
		}
	}
	for range 50 {
		if middle := (in + out) / 2; inside(middle) {
			in = middle
		} else {
			out = middle
		}
	}
	return at(in * saturation / 100)
}
