package photometry

// PercentFlicker is 100 (max - min)/(max + min) of a light that swings between two values, also called modulation. ok is
// false for negative values, max below min, or no light at all.
func PercentFlicker(highest, lowest float64) (percent float64, ok bool) {
	if !(lowest >= 0) || !(highest >= lowest) || highest == 0 {
		return 0, false
	}
	return result(100 * (1 - lowest/highest) / (1 + lowest/highest))
}

// LowRiskFlicker is the percent flicker under which IEEE 1789-2015 sees low risk at a frequency in Hz: 0.025 f below 90
// Hz, 0.08 f from 90 to 1250 Hz, no limit above (limited false). From memory, except that 8 % at 100 Hz was read in a
// public page; the standard itself was not. ok is false unless f is above 0.
func LowRiskFlicker(frequencyHz float64) (percent float64, limited, ok bool) {
	return flickerLimit(frequencyHz, 0.025, 0.08, 1250)
}

// UnseenFlicker is the percent flicker under which IEEE 1789-2015 sees no observable effect: 0.01 f below 90 Hz, 0.0333 f
// from 90 to 3000 Hz, no limit above. From memory; one public page gives these factors to other lines.
func UnseenFlicker(frequencyHz float64) (percent float64, limited, ok bool) {
	return flickerLimit(frequencyHz, 0.01, 0.0333, 3000)
}

func flickerLimit(f, slow, fast, end float64) (percent float64, limited, ok bool) {
	switch {
	case !(f > 0) || !finite(f):
		return 0, false, false
	case f > end:
		return 0, false, true
	case f < 90:
		return slow * f, true, true
	}
	return fast * f, true, true
}
