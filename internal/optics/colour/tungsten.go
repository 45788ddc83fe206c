package colour

import "math"

// Curve is a dimmer curve: what a dimmer does with a control level x, 0 to 1.
// Makers mean different things by the same word, so each says what it is of.
type Curve int

const (
	// LinearVoltage means: RMS voltage is x times full. The usual meaning of "linear"
	// here; makers differ.
	LinearVoltage Curve = iota
	// LinearLight means: light output is x times full.
	LinearLight
	// SquareLaw means: light output is x squared, so that the level reads as perceived
	// brightness (perceived = sqrt(measured), IES Lighting Handbook, from memory).
	SquareLaw
	// SCurve means: uncorrected phase control. The firing delay falls evenly from half
	// a cycle to nothing, a = pi (1 - x), and RMS voltage is
	// sqrt(1 - a/pi + sin(2a)/(2 pi)) times full (textbook formula).
	SCurve
	// Switch means: a non-dim. Off below x = 0.5, full from there (a common threshold).
	Switch
)

// switchAt is the level at which a Switch closes: "often 50 %".
const switchAt = 0.5

// Exponents of the laws quantity/full = (voltage/full)^exponent. They hold near
// full voltage; below about half they are extrapolation.
const (
	// IncandescentLight is the exponent of light output of a filament lamp: 3.4
	// (3.4 to 3.5; encyclopedia article on lamp rerating, verified. IES Lighting
	// Handbook, 9th ed., 2000, has 3.38, from memory).
	IncandescentLight = 3.4
	// HalogenLight is that of a tungsten-halogen lamp: 3.0 (from memory; the
	// published example, 5 % over voltage gives 15 % more light, verified).
	HalogenLight = 3.0
	// cctExponent is the exponent of colour temperature: 0.42 (encyclopedia
	// article on lamp rerating, verified).
	cctExponent = 0.42
	// lawDownTo is the voltage fraction below which the laws are extrapolated.
	lawDownTo = 0.5
)

// Lamp is a tungsten lamp: its CCT at full voltage in kelvin, and the exponent
// of its light output (IncandescentLight or HalogenLight).
type Lamp struct{ CCT, LightExponent float64 }

// valid reports whether l can be a lamp: a filament melts at 3,695 K, and the
// exponents met with lie between 3 and 4.
func (l Lamp) valid() bool {
	return l.CCT >= minCCT && l.CCT <= 3695 && l.LightExponent >= 1 && l.LightExponent <= 10
}

// Dimmed is the state of a lamp on a dimmer.
type Dimmed struct {
	Voltage float64 // RMS, as a fraction of full
	Light   float64 // as a fraction of full
	Lit     bool    // false at zero voltage, where there is no CCT
	CCT     float64 // kelvin
	// Extrapolated: below half voltage the laws are used outside the range they
	// are known to hold in, and CCT is a rough figure.
	Extrapolated bool
}

// Dim returns the state of l at control level x on a dimmer of curve c. ok is
// false for an x outside 0 to 1, an unknown curve, a lamp whose CCT is outside
// 1,000 to 3,695 K (the melting point of tungsten) or whose exponent is outside
// 1 to 10.
func (l Lamp) Dim(c Curve, x float64) (d Dimmed, ok bool) {
	if !l.valid() || !(x >= 0 && x <= 1) {
		return Dimmed{}, false
	}
	var r float64
	switch c {
	case LinearVoltage:
		r = x
	case LinearLight:
		r = math.Pow(x, 1/l.LightExponent)
	case SquareLaw:
		r = math.Pow(x, 2/l.LightExponent)
	case SCurve:
		r = phaseVoltage(x)
	case Switch:
		if x >= switchAt {
			r = 1
		}
	default:
		return Dimmed{}, false
	}
	d = Dimmed{Voltage: r, Light: math.Pow(r, l.LightExponent)}
	if r > 0 {
		d.Lit = true
		d.CCT = l.CCT * math.Pow(r, cctExponent)
		d.Extrapolated = r < lawDownTo
	}
	return d, true
}

// LowestLevel returns the lowest control level at which the lamp's colour is no
// more than drift mired warmer than at full. ok is false as for Dim, and for a
// drift that is negative or not finite.
func (l Lamp) LowestLevel(c Curve, drift float64) (x float64, ok bool) {
	if !l.valid() || !(drift >= 0) || !finite(drift) {
		return 0, false
	}
	// 1e6/T0 (r^-0.42 - 1) = drift
	r := math.Pow(1+drift*l.CCT/1e6, -1/cctExponent)
	switch c {
	case LinearVoltage:
		x = r
	case LinearLight:
		x = math.Pow(r, l.LightExponent)
	case SquareLaw:
		x = math.Pow(r, l.LightExponent/2)
	case SCurve:
		// Voltage rises with x all the way, so halving the interval finds it.
		low, high := 0.0, 1.0
		for range 60 {
			if middle := (low + high) / 2; phaseVoltage(middle) < r {
				low = middle
			} else {
				high = middle
			}
		}
		x = high
	case Switch:
		x = switchAt
	default:
		return 0, false
	}
	return x, true
}

// phaseVoltage returns the RMS voltage under phase control, as a fraction of
// full, at control level x. With a = pi (1 - x) the formula above is
// sqrt((y - sin y)/(2 pi)), y = 2 pi x; for small y the difference would be all
// rounding, so its series takes over.
func phaseVoltage(x float64) float64 {
	y := 2 * math.Pi * x
	difference := y - math.Sin(y)
	if y < 0.05 {
		difference = y * y * y / 6 * (1 - y*y/20*(1-y*y/42))
	}
	return math.Sqrt(difference / (2 * math.Pi))
}
