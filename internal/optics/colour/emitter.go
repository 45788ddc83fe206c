package colour

// Emitter is one source of light: its CIE 1931 chromaticity and its luminous
// flux at full, in lumens.
type Emitter struct{ X, Y, Flux float64 }

// XY returns the chromaticity of e.
func (e Emitter) XY() XY { return XY{e.X, e.Y} }

// XYZ returns the tristimulus values of e at full, Y in lumens. ok is false for
// an impossible chromaticity (y = 0 among them) and a flux that is negative or
// not finite.
func (e Emitter) XYZ() (xyz XYZ, ok bool) { return e.XY().XYZ(e.Flux) }

// Mix returns the tristimulus values of the emitters burning together, each at
// its level from 0 to 1 (Grassmann's laws; Y in lumens). Levels are of light,
// not of control: a dimmer curve comes before. ok is false for a bad emitter,
// lit or not, a level outside 0 to 1, and unequal lengths. No emitter lit gives
// darkness.
func Mix(emitters []Emitter, levels []float64) (sum XYZ, ok bool) {
	if len(emitters) != len(levels) {
		return XYZ{}, false
	}
	for i, e := range emitters {
		xyz, ok := e.XYZ()
		if !ok || !(levels[i] >= 0 && levels[i] <= 1) {
			return XYZ{}, false
		}
		sum = sum.Add(xyz.Scale(levels[i]))
	}
	if !sum.light() {
		return XYZ{}, false // the sum overflowed
	}
	return sum, true
}
