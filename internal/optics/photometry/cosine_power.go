package photometry

import (
	"fmt"
	"math"
)

// CosinePower is the one-parameter beam I(t) = I0 cos(t)^n, for a fixture of which a single angle is known; flux is
// 2 pi I0/(n + 1). n = 1 (beam angle 120 degrees) is a Lambert emitter. Common practice, no source for the shape; the
// closed forms are computed.
//
// Its foot is that of a soft wash: the field comes out 1.8 times as wide as a narrow beam. A fixture with a hard edge has less
// light outside and more inside than this says.
type CosinePower struct {
	peak, flux, n float64
	cut           *rings
}

// exponent solves cos(angle/2)^n = fraction.
func exponent(name string, fullAngleDeg, fraction float64) (float64, error) {
	if !(fullAngleDeg > 0 && fullAngleDeg < 180) {
		return 0, fmt.Errorf("%s angle %g degrees: must be above 0 and below 180", name, fullAngleDeg)
	}
	n := math.Log(fraction) / math.Log1p(-versine(fullAngleDeg/2))
	if !finite(n) {
		return 0, fmt.Errorf("%s angle %g degrees is out of the range of this model", name, fullAngleDeg)
	}
	return n, nil
}

// NewCosinePowerFromFlux makes the beam with the given full beam angle in degrees (0 < beam < 180) and lumens above 0.
func NewCosinePowerFromFlux(beamDeg, lumens float64) (CosinePower, error) {
	n, err := exponent("beam", beamDeg, beamFraction)
	if err != nil {
		return CosinePower{}, err
	}
	return cosinePower(n, "flux", lumens, "lm", (n+1)/(2*math.Pi)*lumens, lumens)
}

// NewCosinePowerFromPeak is NewCosinePowerFromFlux for a beam known by its peak candelas.
func NewCosinePowerFromPeak(beamDeg, candela float64) (CosinePower, error) {
	n, err := exponent("beam", beamDeg, beamFraction)
	if err != nil {
		return CosinePower{}, err
	}
	return cosinePower(n, "peak intensity", candela, "cd", candela, 2*math.Pi/(n+1)*candela)
}

func cosinePower(n float64, what string, given float64, unit string, peak, flux float64) (CosinePower, error) {
	if err := checkAmount(what, given, unit); err != nil {
		return CosinePower{}, err
	}
	if !finite(peak, flux) {
		return CosinePower{}, fmt.Errorf("%s %g %s is too large to compute with", what, given, unit)
	}
	return CosinePower{peak: peak, flux: flux, n: n, cut: &rings{}}, nil
}

// Candela implements Distribution; phi does not matter.
func (c CosinePower) Candela(thetaDeg, phiDeg float64) (candela float64, ok bool) {
	if !inDomain(thetaDeg, phiDeg) || c.peak == 0 {
		return 0, false
	}
	if thetaDeg >= 90 {
		return 0, true
	}
	return c.around(versine(thetaDeg)), true
}

func (c CosinePower) around(u float64) float64 { return c.peak * math.Exp(c.n*math.Log1p(-u)) }

func (c CosinePower) darkness(part float64) float64 { return -math.Expm1(math.Log(part) / c.n) }

func (c CosinePower) rings() *rings { return c.cut }

// Flux implements Distribution, in lumens.
func (c CosinePower) Flux() float64 { return c.flux }

// Peak is the intensity on the axis in candelas.
func (c CosinePower) Peak() float64 { return c.peak }

// BeamDeg implements Spread.
func (c CosinePower) BeamDeg() (float64, bool) { return c.angle(beamFraction), c.n > 0 }

// FieldDeg implements Spread.
func (c CosinePower) FieldDeg() (float64, bool) { return c.angle(fieldFraction), c.n > 0 }

// angle is the full angle at which the intensity is a fraction of the peak: 1 - cos t = 1 - fraction^(1/n).
func (c CosinePower) angle(fraction float64) float64 {
	if c.n == 0 {
		return 0
	}
	u := -math.Expm1(math.Log(fraction) / c.n)
	return 4 / degree * math.Asin(math.Sqrt(u/2))
}
