package colour

import "math"

// Lab is a colour in CIE 1976 L*a*b*: L from 0 to 100, A greenish to reddish, B
// bluish to yellowish.
type Lab struct{ L, A, B float64 }

// CIE 015:2004, equations 8.3 to 8.11 (and 8.2.1.1 for low values). The CIE
// defines both limits through 6/29 and 24/116, so they are written that way.
const (
	labDelta = 6.0 / 29
	labSlope = 1 / (3 * labDelta * labDelta) // 841/108
	labShift = 16.0 / 116
)

// Lab returns the CIELAB values of c against a reference white in the same
// unit. ok is false for a negative or non-finite part and a white without all
// three parts positive.
func (c XYZ) Lab(white XYZ) (lab Lab, ok bool) {
	if !c.light() || !white.light() {
		return Lab{}, false
	}
	f := func(t float64) float64 {
		if t > labDelta*labDelta*labDelta {
			return math.Cbrt(t)
		}
		return labSlope*t + labShift
	}
	x, y, z := f(c.X/white.X), f(c.Y/white.Y), f(c.Z/white.Z)
	lab = Lab{116*y - 16, 500 * (x - y), 200 * (y - z)}
	if !finite(lab.L, lab.A, lab.B) { // also where a part of the white is 0
		return Lab{}, false
	}
	return lab, true
}

// XYZ returns the tristimulus values of lab against a reference white, the
// inverse of XYZ.Lab. ok is false where any part comes out negative or not
// finite, and for a white without all three parts positive.
func (lab Lab) XYZ(white XYZ) (c XYZ, ok bool) {
	if !white.light() || white.X == 0 || white.Y == 0 || white.Z == 0 {
		return XYZ{}, false
	}
	f := func(t float64) float64 {
		if t > labDelta {
			return t * t * t
		}
		v := (t - labShift) / labSlope
		if v < 0 && v > -labRounding {
			return 0 // black, come back with a rounding error
		}
		return v
	}
	y := (lab.L + 16) / 116
	c = XYZ{white.X * f(y+lab.A/500), white.Y * f(y), white.Z * f(y-lab.B/200)}
	if !c.light() {
		return XYZ{}, false
	}
	return c, true
}

// labRounding is the negative fraction of white that is a rounding error.
const labRounding = 1e-12
