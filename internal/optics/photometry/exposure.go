package photometry

import "math"

const (
	// CalibrationFlat is C of ISO 2720:1974 for a flat (cosine) receptor: 250 is the common choice within 240 to 400.
	CalibrationFlat = 250.0

	// calibrationReflected is K of ISO 2720:1974 for reflected light: 12.5 is the common choice within 10.6 to 13.4.
	calibrationReflected = 12.5

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

// ExposureValue is EV at ISO 100 of a camera setting: log2(N^2/t) - log2(S/100) (ISO 2720:1974). ok is false unless all
// are above 0.
func ExposureValue(fNumber, seconds, iso float64) (ev100 float64, ok bool) {
	lux, ok := ExposureIlluminance(fNumber, seconds, iso, CalibrationFlat)
	if !ok {
		return 0, false
	}
	return IlluminanceEV(lux)
}

// IlluminanceEV is the EV at ISO 100 that an illuminance in lux asks for: E = 2.5 x 2^EV, which is ISO 2720:1974 with
// C = 250. ok is false unless it is above 0.
func IlluminanceEV(lux float64) (ev100 float64, ok bool) {
	return Stops(lux, CalibrationFlat/100)
}

// EVIlluminance is the illuminance in lux for an EV at ISO 100: 2.5 x 2^EV (ISO 2720:1974, C = 250). ok is false for an
// EV that is not finite or whose light is out of the range of numbers.
func EVIlluminance(ev100 float64) (lux float64, ok bool) {
	return positive(CalibrationFlat / 100 * math.Exp2(ev100))
}

// EVLuminance is the luminance in cd/m2 for an EV at ISO 100: 2^(EV-3) (ISO 2720:1974, K = 12.5). ok as for
// EVIlluminance.
func EVLuminance(ev100 float64) (nits float64, ok bool) {
	return positive(calibrationReflected / 100 * math.Exp2(ev100))
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
