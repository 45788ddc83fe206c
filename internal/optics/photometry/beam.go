package photometry

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Beam is a round beam known by its beam and field angle. It meets both exactly and carries exactly the flux it is given.
//
// The shape is our own choice, there is no standard one:
//
//	I(t) = I0 exp(-ln 2 (u/ub)^q),  u = 1 - cos t,  q = ln(ln 10/ln 2) / ln(uf/ub)   for t <= 90 degrees, 0 behind
//
// with ub and uf the values of u at half the beam and half the field angle. For narrow beams u goes as t^2, so this is the
// super-Gaussian exp(-ln 2 (t/tb)^2q) of laser optics: a field near the beam angle gives a flat top with a sharp edge, a
// field of 1.82 times the beam angle (q = 1) a plain Gaussian, a wider one a peak with a long foot (above 3.3 times the
// peak has a kink on the axis). It is written in u because solid angle is 2 pi du, so the flux has a closed form:
//
//	flux = 2 pi I0 ub (ln 2)^(-1/q) Gamma(1 + 1/q) P(1/q, ln 2 ub^-q)
//
// with P the regularised lower incomplete gamma function; the last factor takes off what would lie behind 90 degrees.
type Beam struct {
	beamDeg, fieldDeg float64
	peak, flux        float64
	ub, q             float64
	cut               *rings
}

// minFieldOverBeam is how far apart the two angles must be. Nearer than this the exponent q runs to infinity and rounding
// shows in the 10 % point; no goniophotometer tells them apart either. Common practice, no source.
const minFieldOverBeam = 1.001

// versine is 1 - cos t, without the loss of digits near 0.
func versine(deg float64) float64 { return versineOf(deg * degree) }

func versineOf(radians float64) float64 {
	s := math.Sin(radians / 2)
	return 2 * s * s
}

// NewBeamFromFlux makes a beam of the given full beam and field angle in degrees that carries the given lumens.
// Error: angles not in 0 < beam < field <= 180 with field at least 1.001 times beam, or flux not above 0.
func NewBeamFromFlux(beamDeg, fieldDeg, lumens float64) (Beam, error) {
	b, perCandela, err := newBeam(beamDeg, fieldDeg)
	if err != nil {
		return Beam{}, err
	}
	if err := checkAmount("flux", lumens, "lm"); err != nil {
		return Beam{}, err
	}
	return b.withPeak(lumens/perCandela, lumens)
}

// NewBeamFromPeak is NewBeamFromFlux for a beam known by its peak candelas; the flux follows.
func NewBeamFromPeak(beamDeg, fieldDeg, candela float64) (Beam, error) {
	b, perCandela, err := newBeam(beamDeg, fieldDeg)
	if err != nil {
		return Beam{}, err
	}
	if err := checkAmount("peak intensity", candela, "cd"); err != nil {
		return Beam{}, err
	}
	return b.withPeak(candela, candela*perCandela)
}

func checkAmount(what string, value float64, unit string) error {
	if !(value > 0) || !finite(value) {
		return fmt.Errorf("%s %g %s: must be above 0", what, value, unit)
	}
	return nil
}

// newBeam gives the shape and the lumens it carries for each candela of peak.
func newBeam(beamDeg, fieldDeg float64) (b Beam, lumensPerCandela float64, err error) {
	switch {
	case !(beamDeg > 0 && beamDeg < 180):
		return Beam{}, 0, fmt.Errorf("beam angle %g degrees: must be above 0 and below 180", beamDeg)
	case !(fieldDeg > 0 && fieldDeg <= 180):
		return Beam{}, 0, fmt.Errorf("field angle %g degrees: must be above 0 and at most 180", fieldDeg)
	case fieldDeg < beamDeg:
		return Beam{}, 0, fmt.Errorf("field angle %g degrees is smaller than beam angle %g degrees: are they swapped?", fieldDeg, beamDeg)
	case fieldDeg < minFieldOverBeam*beamDeg:
		return Beam{}, 0, fmt.Errorf("field angle %g and beam angle %g degrees are the same: give the field angle (10 %%) or leave it out", fieldDeg, beamDeg)
	}
	ub, uf := versine(beamDeg/2), versine(fieldDeg/2)
	q := math.Log(math.Ln10/math.Ln2) / math.Log(uf/ub)
	inFront := 1.0
	if x := math.Ln2 * math.Pow(ub, -q); x < 1e4 { // beyond, P is 1 to the last bit for every 1/q that can occur
		inFront = mathext.GammaIncReg(1/q, x)
	}
	lumensPerCandela = 2 * math.Pi * ub * math.Pow(math.Ln2, -1/q) * math.Gamma(1+1/q) * inFront
	if !finite(lumensPerCandela) || !(lumensPerCandela > 0) {
		return Beam{}, 0, fmt.Errorf("beam angle %g with field angle %g degrees is out of the range of this model", beamDeg, fieldDeg)
	}
	return Beam{beamDeg: beamDeg, fieldDeg: fieldDeg, ub: ub, q: q}, lumensPerCandela, nil
}

func (b Beam) withPeak(peak, flux float64) (Beam, error) {
	if !finite(peak, flux) {
		return Beam{}, fmt.Errorf("beam of %g degrees: flux or intensity is too large to compute with", b.beamDeg)
	}
	b.peak, b.flux, b.cut = peak, flux, &rings{}
	return b, nil
}

// Candela implements Distribution; phi does not matter.
func (b Beam) Candela(thetaDeg, phiDeg float64) (candela float64, ok bool) {
	if !inDomain(thetaDeg, phiDeg) {
		return 0, false
	}
	if thetaDeg > 90 || b.peak == 0 {
		return 0, b.peak != 0 // the zero Beam was never made, so it knows nothing
	}
	return b.around(versine(thetaDeg)), true
}

func (b Beam) around(u float64) float64 { return b.peak * math.Exp(-math.Ln2*math.Pow(u/b.ub, b.q)) }

func (b Beam) darkness(part float64) float64 { return b.ub * math.Pow(-math.Log2(part), 1/b.q) }

func inDomain(thetaDeg, phiDeg float64) bool {
	return thetaDeg >= 0 && thetaDeg <= 180 && finite(phiDeg)
}

func (b Beam) rings() *rings { return b.cut }

// Flux implements Distribution, in lumens.
func (b Beam) Flux() float64 { return b.flux }

// Peak is the intensity on the axis in candelas.
func (b Beam) Peak() float64 { return b.peak }

// BeamDeg implements Spread.
func (b Beam) BeamDeg() (float64, bool) { return b.beamDeg, b.beamDeg > 0 }

// FieldDeg implements Spread.
func (b Beam) FieldDeg() (float64, bool) { return b.fieldDeg, b.fieldDeg > 0 }
