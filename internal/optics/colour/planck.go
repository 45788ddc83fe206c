package colour

import "math"

// c2 is the second radiation constant hc/k in m K: SI of 2019 (CODATA 2018,
// 1.438776877e-2).
const c2 = 1.438776877e-2

// The temperatures Planckian accepts, in kelvin: below the first hardly any of
// the radiation is visible, above the second the colour no longer changes.
const (
	minPlanckian = 500
	maxPlanckian = 1e7
)

// planckRow is one wavelength of the sum over the 5 nm table.
type planckRow struct {
	c2OverWavelength float64 // K
	weight           XYZ     // matching functions times wavelength^-5, at 560 nm 1
}

var planckRows = func() (rows [len(cie1931)]planckRow) {
	for i, cmf := range cie1931 {
		wavelength := float64(cmfFirst+i*cmfStep) * 1e-9
		relative := math.Pow(560e-9/wavelength, 5)
		rows[i] = planckRow{c2 / wavelength, XYZ{cmf[0], cmf[1], cmf[2]}.Scale(relative)}
	}
	return rows
}()

// planckSum returns the tristimulus values of Planck's law at T kelvin, in one
// arbitrary unit for all T. CIE 015:2004, section 3 (Planck's law) and 7.1
// (summation at 5 nm).
func planckSum(T float64) (sum XYZ) {
	for i := range planckRows {
		row := &planckRows[i]
		// The exponent is over 0.001: nothing to gain from Expm1.
		k := 1 / (math.Exp(row.c2OverWavelength/T) - 1)
		sum.X += k * row.weight.X
		sum.Y += k * row.weight.Y
		sum.Z += k * row.weight.Z
	}
	return sum
}

// Planckian returns the tristimulus values of a black body at T kelvin, Y = 1.
// ok is false outside 500 K to 10,000,000 K.
func Planckian(T float64) (xyz XYZ, ok bool) {
	if !(T >= minPlanckian && T <= maxPlanckian) {
		return XYZ{}, false
	}
	sum := planckSum(T)
	return sum.Scale(1 / sum.Y), true
}

// PlanckianUV returns the CIE 1960 chromaticity of a black body at T kelvin. ok
// as for Planckian.
func PlanckianUV(T float64) (uv UV, ok bool) {
	xyz, ok := Planckian(T)
	if !ok {
		return UV{}, false
	}
	return xyz.UV()
}

// tangentStep is the relative step of the central difference that gives the
// direction of the locus: the error is its square, and far above rounding.
const tangentStep = 1e-4

// PlanckianOffset returns the chromaticity that lies duv from the Planckian
// point of T kelvin, on the normal to the locus in CIE 1960 u, v; positive is
// above the locus (greenish), negative below (pinkish). Its CCT is T. ok is
// false outside 1,000 to 25,000 K and for abs(duv) over 0.05, where CCT has no
// meaning (CIE 015:2004, section 9.5).
func PlanckianOffset(T, duv float64) (xy XY, ok bool) {
	if !(T >= minCCT && T <= maxCCT && math.Abs(duv) <= maxDuv) {
		return XY{}, false
	}
	at, _ := PlanckianUV(T)
	cooler, _ := PlanckianUV(T * (1 - tangentStep))
	hotter, _ := PlanckianUV(T * (1 + tangentStep))
	// Along the locus u falls as T rises, so (dv, -du) points upwards.
	du, dv := hotter.U-cooler.U, hotter.V-cooler.V
	length := math.Hypot(du, dv)
	return UV{at.U + duv*dv/length, at.V - duv*du/length}.XY()
}
