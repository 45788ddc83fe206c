package colour

import (
	"math"
	"sync"

	"github.com/lucasb-eyer/go-colorful"
)

// Wheel returns the chromaticity of a colour named by its place on the colour
// wheel: the hue of HSV in degrees (0 red, 60 yellow, 120 green, 180 cyan, 240
// blue, 300 magenta), taken modulo 360, and a saturation from 0 to 100. It is
// the colour that an sRGB display shows for that hue and saturation at full
// value (A. R. Smith, Color Gamut Transform Pairs, 1978, for HSV; IEC 61966-2-1
// for sRGB), so saturation 0 is D65. ok is false for a hue that is not finite
// and a saturation outside 0 to 100.
//
// This is what people and control desks mean by a hue; the hues of a look are
// judged in OKLCh, where equal steps look equal.
func Wheel(hue, saturation float64) (xy XY, ok bool) {
	if !finite(hue) || !(saturation >= 0 && saturation <= 100) {
		return XY{}, false
	}
	r, g, b := colorful.Hsv(wrapDegrees(hue), saturation/100, 1).LinearRgb()
	return RGB{r, g, b}.XYZ().XY()
}

// WheelHue returns the whole degree of the colour wheel whose full colour is
// nearest in OKLCh hue to the given one. ok is false for a hue that is not finite.
func WheelHue(oklch float64) (hue float64, ok bool) {
	if !finite(oklch) {
		return 0, false
	}
	best := math.Inf(1)
	for degree, h := range wheelHues() {
		if apart := math.Abs(math.Remainder(h-oklch, 360)); apart < best {
			best, hue = apart, float64(degree)
		}
	}
	return hue, true
}

// wheelHues are the OKLCh hues of the whole degrees of the wheel.
var wheelHues = sync.OnceValue(func() (hues [360]float64) {
	for degree := range hues {
		if xy, ok := Wheel(float64(degree), 100); ok { // it always is
			lch, _ := xy.OKLCh()
			hues[degree] = lch.H
		}
	}
	return hues
})
