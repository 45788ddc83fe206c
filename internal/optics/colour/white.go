package colour

import "math"

// TunableWhite returns the chromaticity of a variable-white light set to cct
// kelvin: on the Planckian locus, or duv above or below it, with the temperature
// held to the light's own range lowest to highest. used is the temperature after
// that. ok is false for values that are not finite, a range that is empty or
// reaches outside 1,000 to 25,000 K, abs(duv) over 0.05, and a warm white so far
// above the locus that no light has it.
func TunableWhite(cct, duv, lowest, highest float64) (xy XY, used float64, ok bool) {
	if !finite(cct) || !(lowest <= highest) {
		return XY{}, 0, false
	}
	if !(lowest >= minCCT && highest <= maxCCT) {
		return XY{}, 0, false
	}
	used = math.Min(highest, math.Max(lowest, cct))
	xy, ok = PlanckianOffset(used, duv)
	if !ok {
		return XY{}, 0, false
	}
	return xy, used, true
}

// WhitePair is a variable-white light of two engines. Their mixes lie on the
// straight line between them, below the Planckian locus where the two are far
// apart.
type WhitePair struct{ Warm, Cool Emitter }

// WhiteMix is a setting of a WhitePair: the level of each, 0 to 1, the larger of
// the two being 1, and the white they make.
type WhiteMix struct{ Warm, Cool, CCT, Duv float64 }

// Range returns the lowest and highest CCT, in kelvin, that the pair reaches:
// those of its ends. ok is false if an end is a bad emitter, gives no light or
// has no CCT, or if both have the same.
func (p WhitePair) Range() (lowest, highest float64, ok bool) {
	for _, e := range []Emitter{p.Warm, p.Cool} {
		if _, ok := e.XYZ(); !ok || e.Flux == 0 {
			return 0, 0, false
		}
	}
	warm, _, okWarm := CCT(p.Warm.XY())
	cool, _, okCool := CCT(p.Cool.XY())
	if !okWarm || !okCool || !(warm < cool) {
		return 0, 0, false
	}
	return warm, cool, true
}

// At returns the setting whose CCT is cct kelvin, or the end nearest to it, with
// as much light as that white allows. ok is false as for Range, for a cct that
// is not finite, and where the line between the two runs so far below the locus
// that it has no CCT.
func (p WhitePair) At(cct float64) (mix WhiteMix, ok bool) {
	lowest, highest, ok := p.Range()
	if !ok || !finite(cct) {
		return WhiteMix{}, false
	}
	// at gives the setting that takes the fraction f of all its light from Cool.
	at := func(f float64) (WhiteMix, bool) {
		warm, cool := (1-f)/p.Warm.Flux, f/p.Cool.Flux
		full := math.Max(warm, cool)
		m := WhiteMix{Warm: warm / full, Cool: cool / full}
		xyz, _ := Mix([]Emitter{p.Warm, p.Cool}, []float64{m.Warm, m.Cool}) // darkness where it has no mix
		xy, ok := xyz.XY()
		if !ok {
			return WhiteMix{}, false
		}
		m.CCT, m.Duv, ok = CCT(xy)
		return m, ok
	}
	switch {
	case cct <= lowest:
		return at(0)
	case cct >= highest:
		return at(1)
	}
	// CCT rises along the line, which crosses one isotherm after another.
	warmer, cooler := 0.0, 1.0
	for range 50 {
		f := (warmer + cooler) / 2
		if mix, ok = at(f); !ok {
			return WhiteMix{}, false
		}
		if mix.CCT < cct {
			warmer = f
		} else {
			cooler = f
		}
	}
	return mix, true
}
