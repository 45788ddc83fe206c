package colour

import (
	"math"
	"slices"
)

// maxEmitters bounds the work on one fixture: the effort of SolveLevels grows
// with the cube of their number.
const maxEmitters = 64

const (
	// tieBreak is the largest relative change made to a flux so that no two
	// answers are equally good; the light lost by it is no more than that.
	tieBreak = 1e-9

	// levelSlack is how far outside 0 to 1 a solved level may be by rounding:
	// far below the step of any control protocol (16 bits: 1.5e-5).
	levelSlack = 1e-7

	// parallel is the sine under which two directions count as one.
	parallel = 1e-12

	// alike is how near, in xy, two emitters count as one colour: far below
	// solvedWithin. Nearer than that, rounding decides which of them is worth more.
	alike = 1e-12

	// solvedWithin is how near, in xy, the mix must come to its target: a
	// thousandth of the last of four decimals.
	solvedWithin = 1e-7
)

// SolveLevels returns the levels, 0 to 1, at which the emitters together have
// chromaticity target and the most luminous flux they can have with it. ok is
// false if the target lies outside their gamut (NearestInGamut finds a target
// that does not), and for a bad emitter or more than 64 of them.
//
// This is a linear program: most sum(level Y) subject to the mix being on the
// line of the target in XYZ (two equations) and 0 <= level <= 1. A best answer
// has at most two levels strictly between their bounds (G. B. Dantzig, Linear
// Programming and Extensions, 1963, chapter 18, bounded variables), and once
// those two are named the prices of the two equations, and so every other level,
// follow. All pairs are tried: exact, the same for the same input, and sure to
// end. Emitters of one colour are one emitter in this, and get the same level. (The general simplex method of gonum 0.17 was tried, and on some sets of
// nearly equal emitters did not end within ten minutes.)
func SolveLevels(emitters []Emitter, target XY) (levels []float64, ok bool) {
	if len(emitters) == 0 || len(emitters) > maxEmitters || !target.valid() {
		return nil, false
	}
	var total float64
	for _, e := range emitters {
		if _, ok := e.XYZ(); !ok {
			return nil, false
		}
		total += e.Flux
	}
	if !(total > 0) || !finite(total) {
		return nil, false
	}

	given := emitters
	emitters, of := byColour(given)
	n := len(emitters)
	// For each emitter: how far it pulls the mix off the target's line, in X and
	// in Z, and what it is worth.
	pullX, pullZ, worth := make([]float64, n), make([]float64, n), make([]float64, n)
	line, _ := target.XYZ(1)
	for i, e := range emitters {
		xyz, _ := e.XY().XYZ(e.Flux / total)
		pullX[i], pullZ[i] = xyz.X-line.X*xyz.Y, xyz.Z-line.Z*xyz.Y
		// Irregular, so that not even three emitters in one line stay tied.
		_, irregular := math.Modf(float64(i+1) * math.Phi)
		worth[i] = xyz.Y * (1 + tieBreak*irregular)
	}

	best, trial := make([]float64, n), make([]float64, n)
	var bestFlux float64
	keep := func() { // the trial, if it meets the target with more light
		mix, ok := Mix(emitters, trial)
		xy, okXY := mix.XY()
		if ok && okXY && math.Hypot(xy.X-target.X, xy.Y-target.Y) <= solvedWithin && mix.Y > bestFlux {
			bestFlux = mix.Y
			copy(best, trial)
		}
	}
	// try sets every level but those of i and j (which may be one emitter, or
	// -1 for none) by the prices, and solves for i and j.
	try := func(i, j int, priceX, priceZ float64) {
		var restX, restZ float64
		for k := range trial {
			trial[k] = 0
			if k != i && k != j && worth[k] > priceX*pullX[k]+priceZ*pullZ[k] {
				trial[k] = 1
				restX += pullX[k]
				restZ += pullZ[k]
			}
		}
		switch {
		case i != j:
			det := pullX[i]*pullZ[j] - pullX[j]*pullZ[i]
			trial[i] = (pullX[j]*restZ - restX*pullZ[j]) / det
			trial[j] = (restX*pullZ[i] - pullX[i]*restZ) / det
		case i >= 0:
			trial[i] = -(restX*pullX[i] + restZ*pullZ[i]) / (pullX[i]*pullX[i] + pullZ[i]*pullZ[i])
		}
		for _, k := range []int{i, j} {
			if k < 0 {
				continue
			}
			if !(trial[k] >= -levelSlack && trial[k] <= 1+levelSlack) {
				return
			}
			trial[k] = min(1, max(0, trial[k]))
		}
		keep()
	}

	try(-1, -1, 0, 0) // every emitter is at the target
	for i := range n {
		clear(trial)
		trial[i] = 1
		keep() // one emitter alone, if the target is its own colour
		length2 := pullX[i]*pullX[i] + pullZ[i]*pullZ[i]
		if length2 == 0 {
			continue
		}
		// All emitters and the target in one line: one equation, one free level.
		try(i, i, worth[i]*pullX[i]/length2, worth[i]*pullZ[i]/length2)
		for j := i + 1; j < n; j++ {
			a, b := math.Sqrt(length2), math.Hypot(pullX[j], pullZ[j])
			if pullX[i]*pullX[j]+pullZ[i]*pullZ[j] < 0 {
				// These two alone, pulling against each other. On the very edge
				// of the gamut, where the prices have no bound, this is safe.
				clear(trial)
				trial[i], trial[j] = b/max(a, b), a/max(a, b)
				keep()
			}
			det := pullX[i]*pullZ[j] - pullX[j]*pullZ[i]
			if math.Abs(det) <= parallel*a*b {
				continue
			}
			try(i, j, (worth[i]*pullZ[j]-worth[j]*pullZ[i])/det, (pullX[i]*worth[j]-pullX[j]*worth[i])/det)
		}
	}
	if bestFlux <= levelSlack*total {
		return nil, false
	}
	// Of emitters that are hardly off the target, rounding blurs how far they pull: what
	// can be all the way up within solvedWithin is.
	for k := range best {
		copy(trial, best)
		trial[k] = 1
		keep()
	}
	levels = make([]float64, len(given))
	for i, group := range of {
		levels[i] = best[group]
	}
	return levels, true
}

// byColour joins emitters that are alike, and says for each which of the joined it is in.
func byColour(emitters []Emitter) (joined []Emitter, of []int) {
	of = make([]int, len(emitters))
	for i, e := range emitters {
		of[i] = slices.IndexFunc(joined, func(j Emitter) bool { return math.Hypot(e.X-j.X, e.Y-j.Y) <= alike })
		if of[i] < 0 {
			of[i] = len(joined)
			joined = append(joined, e)
			continue
		}
		j := &joined[of[i]]
		mix, _ := Mix([]Emitter{*j, e}, []float64{1, 1})
		if xy, ok := mix.XY(); ok && e.XY() != j.XY() {
			j.X, j.Y = xy.X, xy.Y
		}
		j.Flux += e.Flux
	}
	return joined, of
}
