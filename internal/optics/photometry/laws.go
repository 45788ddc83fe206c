package photometry

import "math"

const (
	metresPerFoot = 0.3048 // exact by definition (international yard and pound agreement, 1959)

	// LuxPerFootcandle turns footcandles (lumens per square foot) into lux: 10.7639. Computed from the exact foot.
	LuxPerFootcandle = 1 / (metresPerFoot * metresPerFoot)

	// NitsPerFootlambert turns footlamberts into cd/m2: 3.42626. A perfect diffuser under 1 fc has 1 fL.
	NitsPerFootlambert = LuxPerFootcandle / math.Pi
)

// Illuminance is E = I cos(theta)/d^2 in lux: intensity I in candelas, distance d in metres, theta the angle in degrees
// between the surface normal and the direction to the source (inverse-square and cosine law, IES definitions, section
// 9.1). Over 90 degrees the light comes from behind and E is a true 0.
//
// The law is for a point. "Good to about 1 % beyond five times the largest size of the source" is the usual rule (from
// memory); a lensed beam follows it from its virtual source, not from the lens, so near throws come out a little high.
//
// ok is false for a distance not above 0, a negative intensity, or an angle outside 0 to 180.
func Illuminance(candela, distance, incidenceDeg float64) (lux float64, ok bool) {
	square := distance * distance
	if !(candela >= 0) || !(distance > 0) || !finite(candela, square) || !(incidenceDeg >= 0 && incidenceDeg <= 180) {
		return 0, false
	}
	if incidenceDeg >= 90 {
		return 0, true
	}
	return result(candela * math.Cos(incidenceDeg*degree) / square)
}

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

// LambertianExitance is M = pi L in lm/m2 for a perfect Lambert emitter of luminance L in cd/m2 (CIE 17-24-063). Times
// the area it is the flux. ok is false for a negative luminance.
func LambertianExitance(nits float64) (lumensPerM2 float64, ok bool) {
	if !(nits >= 0) {
		return 0, false
	}
	return result(math.Pi * nits)
}

// IsotropicCandela is I = flux/(4 pi), a source that shines alike in every direction. ok is false for negative flux.
func IsotropicCandela(lumens float64) (candela float64, ok bool) {
	if !(lumens >= 0) {
		return 0, false
	}
	return result(lumens / (4 * math.Pi))
}

// ConeSolidAngle is 2 pi (1 - cos(a/2)) in steradians for a cone of full angle a in degrees, 0 to 360; written as
// 4 pi sin^2(a/4), which keeps its digits for narrow cones. ok is false outside that range.
func ConeSolidAngle(fullAngleDeg float64) (steradians float64, ok bool) {
	if !(fullAngleDeg >= 0 && fullAngleDeg <= 360) {
		return 0, false
	}
	s := math.Sin(fullAngleDeg / 4 * degree)
	return 4 * math.Pi * s * s, true
}

// ZonalConstant is 2 pi (cos t1 - cos t2) in steradians, the solid angle between two polar angles in degrees, 0 <= t1 <=
// t2 <= 180: lumens in a zone are the mean candela in it times this (photometric report practice). ok is false otherwise.
func ZonalConstant(fromDeg, toDeg float64) (steradians float64, ok bool) {
	if !(fromDeg >= 0 && fromDeg <= toDeg && toDeg <= 180) {
		return 0, false
	}
	// cos a - cos b = 2 sin((a+b)/2) sin((b-a)/2)
	return 4 * math.Pi * math.Sin((fromDeg+toDeg)/2*degree) * math.Sin((toDeg-fromDeg)/2*degree), true
}

// BeamDiameter is 2 d tan(a/2) in metres: how wide a beam of full angle a degrees is at d metres on a surface square to
// it. ok is false for a distance not above 0 or an angle not between 0 and 180.
func BeamDiameter(distance, fullAngleDeg float64) (metres float64, ok bool) {
	if !(distance > 0) || !(fullAngleDeg > 0 && fullAngleDeg < 180) {
		return 0, false
	}
	return result(2 * distance * math.Tan(fullAngleDeg/2*degree))
}
