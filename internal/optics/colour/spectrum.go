package colour

import "math"

// luminousEfficacy is K_cd in lm/W: SI Brochure, 9th ed., 2019, section 2.3.1.
// (The K_m of the photopic curve in air is 683.002; the difference is 3e-6.)
const luminousEfficacy = 683

// SpectrumXYZ integrates a spectrum against the CIE 1931 2-degree functions
// (ISO/CIE 11664-3). nm holds wavelengths in nanometres, strictly rising; power
// the spectral radiant flux at each, in W/nm, so that Y is in lumens (or in
// any other unit, and then only ratios mean anything).
//
// Both are taken as straight lines between their knots: the samples given, and
// the observer at 1 nm (Sprague interpolation of the 5 nm table). Outside
// 360 to 830 nm, and outside the samples, there is no light. ok is false for
// fewer than two samples, unequal lengths, wavelengths that do not rise, and
// powers that are negative or not finite.
func SpectrumXYZ(nm, power []float64) (xyz XYZ, ok bool) {
	if len(nm) < 2 || len(nm) != len(power) {
		return XYZ{}, false
	}
	for i := range nm {
		if !finite(nm[i], power[i]) || power[i] < 0 || i > 0 && nm[i] <= nm[i-1] {
			return XYZ{}, false
		}
	}
	last := len(nm) - 1
	from, to := math.Max(nm[0], cmfFirst), math.Min(nm[last], cmfLast)
	if from >= to {
		return XYZ{}, true
	}

	// Trapezium rule over the knots of both curves, left to right.
	i := 0
	at := func(x float64) XYZ {
		for i < last-1 && nm[i+1] <= x {
			i++
		}
		t := (x - nm[i]) / (nm[i+1] - nm[i])
		return matching(x).Scale(power[i] + t*(power[i+1]-power[i]))
	}
	x, here := from, at(from)
	for x < to {
		next := math.Min(math.Floor(x)+1, to)
		if sample := nm[i+1]; sample > x && sample < next {
			next = sample
		}
		there := at(next)
		xyz = xyz.Add(here.Add(there).Scale((next - x) / 2))
		x, here = next, there
	}
	xyz = xyz.Scale(luminousEfficacy)
	if !finite(xyz.X, xyz.Y, xyz.Z) {
		return XYZ{}, false
	}
	return xyz, true
}
