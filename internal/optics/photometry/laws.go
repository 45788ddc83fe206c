package photometry

import "math"

const metresPerFoot = 0.3048 // exact by definition (international yard and pound agreement, 1959)

// result passes a computed value on unless it left the range of numbers.
func result(v float64) (float64, bool) {
	if !finite(v) {
		return 0, false
	}
	return v, true
}

// LambertianLuminance is L = rho E / pi in cd/m2 for a matt surface of reflectance (or screen gain) rho under E lux:
// from M = pi L, CIE International Lighting Vocabulary 17-24-063. A gain may exceed 1. ok is false for negative inputs.
func LambertianLuminance(lux, reflectance float64) (nits float64, ok bool) {
	if !(lux >= 0) || !(reflectance >= 0) {
		return 0, false
	}
	return result(reflectance * lux / math.Pi)
}
