package photometry

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Spec is what a data sheet says of a round beam; nil means that it does not say. Full angles in degrees.
type Spec struct {
	BeamDeg, FieldDeg   *float64
	Lumens, PeakCandela *float64
}

// Light makes the best distribution that the sheet allows. assumed says in words what had to be supposed, and is empty
// when nothing had to: with both angles it is a Beam; with one a CosinePower through that angle. With both flux and peak
// the peak counts, because that is what was measured on the axis, and assumed tells how far the flux is off.
// Error: no angle, neither flux nor peak, or values outside the domain of those models.
func (s Spec) Light() (light Distribution, assumed string, err error) {
	if s.Lumens == nil && s.PeakCandela == nil {
		return nil, "", errors.New("neither flux nor peak intensity is given")
	}
	if s.Lumens != nil { // checked even where the peak counts: a wrong number is a wrong number
		if err := checkAmount("flux", *s.Lumens, "lm"); err != nil {
			return nil, "", err
		}
	}
	switch {
	case s.BeamDeg != nil && s.FieldDeg != nil:
		var b Beam
		if s.PeakCandela != nil {
			b, err = NewBeamFromPeak(*s.BeamDeg, *s.FieldDeg, *s.PeakCandela)
		} else {
			b, err = NewBeamFromFlux(*s.BeamDeg, *s.FieldDeg, *s.Lumens)
		}
		light = b
	case s.BeamDeg != nil:
		assumed = "field angle not given: a soft cosine-power beam is assumed"
		light, err = s.cosinePower(*s.BeamDeg)
	case s.FieldDeg != nil:
		assumed = "beam angle not given: a soft cosine-power beam through the field angle is assumed"
		var n float64
		if n, err = exponent("field", *s.FieldDeg, fieldFraction); err == nil {
			light, err = s.cosinePower(CosinePower{n: n}.angle(beamFraction))
		}
	default:
		err = errors.New("neither beam nor field angle is given")
	}
	if err != nil {
		return nil, "", err
	}
	if s.Lumens != nil && s.PeakCandela != nil {
		if off := light.Flux() / *s.Lumens; math.Abs(off-1) > 0.005 { // smaller prints as "100 %"
			assumed = join(assumed, fmt.Sprintf("peak intensity counts: with these angles it means %.0f %% of the given flux", 100*off))
		}
	}
	return light, assumed, nil
}

func (s Spec) cosinePower(beamDeg float64) (Distribution, error) {
	if s.PeakCandela != nil {
		return NewCosinePowerFromPeak(beamDeg, *s.PeakCandela)
	}
	return NewCosinePowerFromFlux(beamDeg, *s.Lumens)
}

// join puts behind what was supposed what else was.
func join(assumed, others string) string {
	var list []string
	for _, one := range append(strings.Split(assumed, "; "), strings.Split(others, "; ")...) {
		if one != "" && !slices.Contains(list, one) {
			list = append(list, one)
		}
	}
	return strings.Join(list, "; ")
}
