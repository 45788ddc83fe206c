package colour

import (
	"math"
	"sort"
	"sync"
)

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
	// SquareVoltage means: RMS voltage is x squared times full.
	SquareVoltage
	// SmoothLight means: light output is x² (3 - 2x) times full, the smooth step. Makers'
	// S curves differ: common practice, no source.
	SmoothLight
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
	// lawDownTo is the voltage fraction below which the laws are extrapolated.
	lawDownTo = 0.5
)

// The colour of a dimmed filament follows from its light: the temperature at which a
// black body gives that part of the luminous output that it gives at full (Planck's
// law and the CIE 1931 luminosity, inverted). The emissivity of tungsten is taken to
// be the same at all temperatures; it changes by a few percent, which is under 2 mired
// (from memory). The law of exponent 0.42 (encyclopedia article on lamp rerating,
// verified) agrees within 3 mired down to three quarters of the voltage (tested), and is 12
// mired warmer at half of it.
const (
	// roughBelow is where the colour of a filament is a rough figure only.
	roughBelow = 2000 // K
	// glowsFrom is the temperature under which a filament counts as dark: it gives
	// less than a millionth of its light at full.
	glowsFrom = 1000 // K

	filamentStep = 2.0 // mired, between the rows of the table
)

// filamentRow is the natural logarithm of the luminous output of a black body.
type filamentRow struct{ mired, logOutput float64 }

// filamentTable runs from the coldest to the hottest filament.
var filamentTable = sync.OnceValue(func() (rows []filamentRow) {
	for mired := 1e6 / glowsFrom; mired > 1e6/meltingPoint-filamentStep; mired -= filamentStep {
		rows = append(rows, filamentRow{mired, math.Log(planckSum(1e6 / mired).Y)})
	}
	return rows
})

// filamentOutput is the logarithm of the luminous output at a temperature within the
// table, which is nearly straight over the reciprocal temperature.
func filamentOutput(kelvin float64) float64 {
	rows, mired := filamentTable(), 1e6/kelvin
	i := min(max(int((rows[0].mired-mired)/filamentStep), 0), len(rows)-2)
	a, b := rows[i], rows[i+1]
	return a.logOutput + (a.mired-mired)/(a.mired-b.mired)*(b.logOutput-a.logOutput)
}

// filamentCCT is the temperature at which a filament of full kelvin gives the part
// light of its output; ok is false where it is too cold to count as lit.
func filamentCCT(full, light float64) (kelvin float64, ok bool) {
	rows := filamentTable()
	wanted := filamentOutput(full) + math.Log(light)
	if wanted < rows[0].logOutput {
		return 0, false
	}
	i := sort.Search(len(rows)-2, func(i int) bool { return rows[i+1].logOutput >= wanted })
	a, b := rows[i], rows[i+1]
	mired := a.mired - (wanted-a.logOutput)/(b.logOutput-a.logOutput)*(a.mired-b.mired)
	return min(1e6/mired, full), true
}

// Lamp is a tungsten lamp: its CCT at full voltage in kelvin, and the exponent
// of its light output (IncandescentLight or HalogenLight).
type Lamp struct{ CCT, LightExponent float64 }

// meltingPoint of tungsten, in kelvin.
const meltingPoint = 3695

// valid reports whether l can be a lamp: its filament glows and does not melt, and the
// exponents met with lie between 3 and 4.
func (l Lamp) valid() bool {
	return l.CCT >= minCCT && l.CCT <= meltingPoint && l.LightExponent >= 1 && l.LightExponent <= 10
}

// LampState is the state of a lamp on a dimmer.
type LampState struct {
	Voltage float64 // RMS, as a fraction of full
	Light   float64 // as a fraction of full
	Lit     bool    // false where the filament is colder than 1,000 K: it has no light and no CCT
	CCT     float64 // kelvin
	// Extrapolated: below half voltage the law of light is used outside the range it
	// is known to hold in.
	Extrapolated bool
	// Rough: the filament is colder than 2,000 K, where CCT is good for adding up its
	// light and for nothing else.
	Rough bool
}

// Dim returns the state of l at control level x on a dimmer of curve c. ok is
// false for an x outside 0 to 1, an unknown curve, a lamp whose CCT is outside
// 1,000 to 3,695 K (the melting point of tungsten) or whose exponent is outside
// 1 to 10.
func (l Lamp) Dim(c Curve, x float64) (d LampState, ok bool) {
	if !l.valid() || !(x >= 0 && x <= 1) {
		return LampState{}, false
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
	case SquareVoltage:
		r = x * x
	case SmoothLight:
		r = math.Pow(smooth(x), 1/l.LightExponent)
	case Switch:
		if x >= switchAt {
			r = 1
		}
	default:
		return LampState{}, false
	}
	d = LampState{Voltage: r}
	light := math.Pow(r, l.LightExponent)
	if light == 1 {
		return LampState{Voltage: r, Light: 1, Lit: true, CCT: l.CCT, Rough: l.CCT < roughBelow}, true
	}
	if kelvin, glows := filamentCCT(l.CCT, light); glows {
		d.Light, d.Lit, d.CCT = light, true, kelvin
		d.Extrapolated, d.Rough = r < lawDownTo, kelvin < roughBelow
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
	r := 0.0 // so far that it is dark
	if kelvin := 1e6 / (1e6/l.CCT + drift); kelvin >= glowsFrom {
		r = math.Pow(math.Exp(filamentOutput(kelvin)-filamentOutput(l.CCT)), 1/l.LightExponent)
	}
	switch c {
	case LinearVoltage:
		x = r
	case LinearLight:
		x = math.Pow(r, l.LightExponent)
	case SquareLaw:
		x = math.Pow(r, l.LightExponent/2)
	case SCurve:
		x = levelWhere(phaseVoltage, r)
	case SquareVoltage:
		x = math.Sqrt(r)
	case SmoothLight:
		x = levelWhere(smooth, math.Pow(r, l.LightExponent))
	case Switch:
		x = switchAt
	default:
		return 0, false
	}
	return x, true
}

// levelWhere returns the level at which a curve that rises all the way reaches a
// value, by halving the interval.
func levelWhere(curve func(x float64) float64, value float64) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		if middle := (low + high) / 2; curve(middle) < value {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

func smooth(x float64) float64 { return x * x * (3 - 2*x) }

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
