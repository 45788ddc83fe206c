package colour

import "math"

// middle is the luminance at which lights are compared: L* 50, where CIEDE2000
// has its lightness weight at 1, against a white of Y = 1.
const middle = 0.18418651851244416 // ((50+16)/116)^3, CIE 1976 L*

// Apart is the CIEDE2000 difference of the colours of two lights, made equally
// bright: at L* 50 against D65. ok is false where one of them is dark or no light
// that there can be.
func Apart(a, b XYZ) (deltaE float64, ok bool) {
	white, ok := D65.XYZ(1)
	if !ok || !(a.Y > 0) || !(b.Y > 0) {
		return 0, false
	}
	p, ok1 := a.Scale(middle / a.Y).Lab(white)
	q, ok2 := b.Scale(middle / b.Y).Lab(white)
	if !ok1 || !ok2 {
		return 0, false
	}
	return DeltaE2000(p, q)
}

// HuesApart is the angle between two hues, 0 to 180 degrees.
func HuesApart(a, b float64) float64 {
	apart := math.Mod(math.Abs(a-b), 360)
	return min(apart, 360-apart)
}
