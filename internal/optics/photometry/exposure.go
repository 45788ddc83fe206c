package photometry

import "math"

const (
	// CalibrationFlat is C of ISO 2720:1974 for a flat (cosine) receptor: 250 is the common choice within 240 to 400.
	CalibrationFlat = 250.0

	// GreyCard is the reflectance that exposures are referred to, 18 %.
	GreyCard = 0.18
)

// ExposureIlluminance is the illuminance in lux that a camera is set for: E = C N^2/(t S), with N the f-number, t the
// exposure time in seconds, S the arithmetic ISO speed and C the calibration constant (ISO 2720:1974, incident light).
// ok is false unless all are above 0.
func ExposureIlluminance(fNumber, seconds, iso, c float64) (lux float64, ok bool) {
	if !(fNumber > 0) || !(seconds > 0) || !(iso > 0) || !(c > 0) {
		return 0, false
	}
	return positive(c * fNumber * fNumber / (seconds * iso))
}

// positive is result for what cannot be 0 except by leaving the range of numbers.
func positive(v float64) (float64, bool) {
	if !(v > 0) {
		return 0, false
	}
	return result(v)
}

// Stops is log2(a/b): how many stops a is over b, both of one kind (two illuminances, two luminances). ok is false unless
// both are above 0; darkness is no number of stops away.
func Stops(a, b float64) (stops float64, ok bool) {
	if !(a > 0) || !(b > 0) || !finite(a, b) {
		return 0, false
	}
	return math.Log2(a) - math.Log2(b), true
}

// ScreenOverFace is how many stops a screen of the given luminance in cd/m2 is over a matt face of the given reflectance
// under the given illuminance in lux. ok is false unless all are above 0.
func ScreenOverFace(screenNits, faceLux, faceReflectance float64) (stops float64, ok bool) {
	face, ok := LambertianLuminance(faceLux, faceReflectance)
	if !ok {
		return 0, false
	}
	return Stops(screenNits, face)
}
