package colour

// Daylight returns the chromaticity of the CIE daylight locus at a correlated
// colour temperature of T kelvin: CIE 015:2004, equations 3.2 to 3.4 (from
// Judd, MacAdam, Wyszecki 1964). Coefficients from memory, confirmed by the
// tabled D illuminants. T is on today's scale of c2 = 1.4388e-2 m K: D65 is at
// 6504 K. ok is false outside 4,000 to 25,000 K.
func Daylight(T float64) (xy XY, ok bool) {
	if !(T >= 4000 && T <= 25000) {
		return XY{}, false
	}
	x := 0.244063 + 0.09911e3/T + 2.9678e6/(T*T) - 4.6070e9/(T*T*T)
	if T > 7000 {
		x = 0.237040 + 0.24748e3/T + 1.9018e6/(T*T) - 2.0064e9/(T*T*T)
	}
	return XY{x, -3.000*x*x + 2.870*x - 0.275}, true
}
