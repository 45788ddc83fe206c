package colour

import "math"

// DeltaE2000 returns the CIEDE2000 colour difference of two CIELAB colours with
// all three parametric factors 1: CIE 142:2001 (ISO/CIE 11664-6), in the
// formulation of Sharma, Wu, Dalal, Color Res. Appl. 30(1), 21-30, 2005,
// equations (2) to (22). ok is false for values that are not finite, or so
// large that the result is not.
//
// Where two hues are exactly opposite the mean hue is ambiguous and the formula
// jumps; which side a rounded figure falls on is chance.
func DeltaE2000(p, q Lab) (deltaE float64, ok bool) {
	const pow25to7 = 6103515625 // 25^7
	pow7 := func(c float64) float64 { c3 := c * c * c; return c3 * c3 * c }
	g7 := func(c float64) float64 { return math.Sqrt(pow7(c) / (pow7(c) + pow25to7)) }
	cosDeg := func(h float64) float64 { return math.Cos(h * math.Pi / 180) }

	// Modified chroma and hue, (2) to (7).
	meanC := (math.Hypot(p.A, p.B) + math.Hypot(q.A, q.B)) / 2
	stretch := 1 + 0.5*(1-g7(meanC))
	a1, a2 := stretch*p.A, stretch*q.A
	C1, C2 := math.Hypot(a1, p.B), math.Hypot(a2, q.B)
	h1, h2 := hueDegrees(a1, p.B), hueDegrees(a2, q.B)

	// Differences, (8) to (11).
	dL, dC := q.L-p.L, C2-C1
	dh := h2 - h1
	switch {
	case C1*C2 == 0:
		dh = 0
	case dh > 180:
		dh -= 360
	case dh < -180:
		dh += 360
	}
	dH := 2 * math.Sqrt(C1*C2) * math.Sin(dh/2*math.Pi/180)

	// Means, (12) to (14).
	L, C := (p.L+q.L)/2, (C1+C2)/2
	h := (h1 + h2) / 2
	switch {
	case C1*C2 == 0:
		h = h1 + h2
	case math.Abs(h1-h2) > 180 && h1+h2 < 360:
		h += 180
	case math.Abs(h1-h2) > 180:
		h -= 180
	}

	// Weights, (15) to (21).
	T := 1 - 0.17*cosDeg(h-30) + 0.24*cosDeg(2*h) + 0.32*cosDeg(3*h+6) - 0.20*cosDeg(4*h-63)
	dTheta := 30 * math.Exp(-((h-275)/25)*((h-275)/25))
	RC := 2 * g7(C)
	l2 := (L - 50) * (L - 50)
	SL := 1 + 0.015*l2/math.Sqrt(20+l2)
	SC := 1 + 0.045*C
	SH := 1 + 0.015*C*T
	RT := -math.Sin(2*dTheta*math.Pi/180) * RC

	l, c, H := dL/SL, dC/SC, dH/SH
	deltaE = math.Sqrt(math.Max(0, l*l+c*c+H*H+RT*c*H)) // (22)
	if !finite(deltaE) {
		return 0, false
	}
	return deltaE, true
}

// hueDegrees returns the angle of (a, b) from 0 up to 360 degrees, 0 for grey.
func hueDegrees(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	return wrapDegrees(math.Atan2(b, a) * 180 / math.Pi)
}

// wrapDegrees returns h turned into the range from 0 up to, not including, 360.
func wrapDegrees(h float64) float64 {
	h = math.Mod(h, 360)
	if h < 0 {
		h += 360
	}
	if h >= 360 { // a tiny negative angle rounds up to a full turn
		h = 0
	}
	return h
}
