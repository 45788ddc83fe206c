package colour

// Sprague's fifth-order interpolation of evenly spaced spectral data, as
// recommended by CIE 167:2005 and described in Westland, Ripamonti, Cheung,
// Computational Colour Science Using MATLAB, 2nd ed., 2012, section 4.
// Status of the coefficients: from memory. Tests confirm those of the
// interpolation (polynomials up to the fourth degree come back exactly, both
// ends meet the samples); of the extrapolation only that it keeps lines. It
// touches the first and last 10 nm, where the observer is all but blind.

// sprague interpolates between r[2] (x = 0) and r[3] (x = 1).
func sprague(r [6]float64, x float64) float64 {
	a0 := r[2]
	a1 := (2*r[0] - 16*r[1] + 16*r[3] - 2*r[4]) / 24
	a2 := (-r[0] + 16*r[1] - 30*r[2] + 16*r[3] - r[4]) / 24
	a3 := (-9*r[0] + 39*r[1] - 70*r[2] + 66*r[3] - 33*r[4] + 7*r[5]) / 24
	a4 := (13*r[0] - 64*r[1] + 126*r[2] - 124*r[3] + 61*r[4] - 12*r[5]) / 24
	a5 := (-5*r[0] + 25*r[1] - 50*r[2] + 50*r[3] - 25*r[4] + 5*r[5]) / 24
	return a0 + x*(a1+x*(a2+x*(a3+x*(a4+x*a5))))
}

// spragueBeyond extrapolates one or two steps beyond the end of a table; end
// holds the last six samples, the outermost first.
func spragueBeyond(end [6]float64, steps int) float64 {
	c := [6]float64{508, -540, 488, -367, 144, -24}
	if steps == 2 {
		c = [6]float64{884, -1960, 3033, -2648, 1080, -180}
	}
	var sum float64
	for i, w := range c {
		sum += w * end[i]
	}
	return sum / 209
}
