package stage

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Emission is what leaves a lamp in a look.
type Emission struct {
	XYZ      colour.XYZ  // Y in lumens; relative where the show gives no flux at all
	XY       colour.XY   // the same at every level; the zero value for darkness
	Missing  string      // what would make it known; "" if it is known
	filament colour.Lamp // the zero value for other sources
	drift    float64     // of a filament: how much warmer than at full, in mired
	driftOff Off         // how far that may be another, because of what is assumed of its dimmer
	presence float64     // its lumens if its colour took none away; see [Lamp.Picture]
	unmixed  float64     // the part by which even its fullest emitter is down

	rough        bool // a filament so cold that its white is no more than a guess
	extrapolated bool // a filament below half its voltage, where its law of light is not known to hold

	Rests     []string // what of it is assumed, each a phrase behind "this rests on"
	low, high float64  // between which parts of xyz it lies if that is not quite right; 0 and 0: it is xyz
}

// Off is by how much a number may be another, and what it rests on, behind "this rests on"; the zero value where it is sure.
type Off struct {
	By    float64
	Rests string
}

// assume records what of a light is assumed, and between which parts of it the
// light lies if that is not quite right.
func (l *Emission) assume(phrase string, low, high float64) {
	if l.high == 0 {
		l.low, l.high = 1, 1
	}
	l.Rests = append(l.Rests, phrase)
	l.low, l.high = l.low*low, l.high*high
}

// assumeLeaving records what of the light that leaves the lamp is assumed.
func (l *Emission) assumeLeaving(part fluxShare) {
	if part.assumed != "" && l.Missing == "" && l.XYZ.Y > 0 {
		l.assume(part.assumed, part.low, part.high)
	}
}

// AtLeast is the dimmest end of what the emission may be, as a factor of what is taken for it; 1 where it is sure.
func (l *Emission) AtLeast() float64 {
	if l.high == 0 {
		return 1
	}
	return l.low
}

// AtMost is the brightest end of what the emission may be, as a factor of what is taken for it; 1 where it is sure.
func (l *Emission) AtMost() float64 {
	if l.high == 0 {
		return 1
	}
	return l.high
}

// lightOf works out the light of a lamp from what its type says of its source
// and what the cues told it. Where nothing but the flux is missing, the colour is there.
func (r *Rig) lightOf(f *schema.Fixture, state *tracking.State) Emission {
	t := r.Types[f.Type]
	switch {
	case f.Type == "":
		return Emission{Missing: fmt.Sprintf("the type of the fixture on channel %d", f.Channel)}
	case t == nil:
		return Emission{Missing: fmt.Sprintf("the type %q, with its light source", f.Type)}
	case t.Source == "":
		return Emission{Missing: fmt.Sprintf("the light source of the type %q", t.Name)}
	case !(state.Level >= 0 && state.Level <= 100):
		return Emission{Missing: fmt.Sprintf("a level of channel %d from 0 to 100 %%", f.Channel)}
	}
	flux, lack := r.weight(f)
	if lack == "" {
		return r.emission(f, t, state, flux)
	}
	l := r.emission(f, t, state, 1) // its white is known all the same
	if l.XYZ, l.presence = (colour.XYZ{}), 0; l.Missing == "" {
		l.Missing = lack
	}
	return l
}

// emission is the light of a lamp of a flux.
func (r *Rig) emission(f *schema.Fixture, t *schema.Type, state *tracking.State, flux float64) (l Emission) {
	var c colour.XY
	switch t.Source {
	case "tungsten":
		c, flux, l = r.tungsten(f, t, state, flux, l)
		l.assumeCurve(t, state.Level)
	case "colour-led":
		return r.mixing(f, t, state, flux, l)
	default: // one white: discharge, white-led, tunable-led
		var part float64
		c, part, l = r.whiteSource(f, t, state, l)
		flux *= part * dimmed(t, state.Level/100)
		l.assumeCurve(t, state.Level)
	}
	if l.Missing != "" {
		return l
	}
	return filtered(colour.Emitter{X: c.X, Y: c.Y, Flux: flux}, f, t, state, l)
}

// assumeCurve says that a lamp that is neither dark nor full has been given the
// usual dimmer curve, because its type names none or does not tell what it is of, and
// how far the others are from it.
func (l *Emission) assumeCurve(t *schema.Type, level float64) {
	if level <= 0 || level >= 100 || l.Missing != "" {
		return
	}
	var others []float64
	off := 0.0 // mired
	switch {
	case t.Source != "tungsten" && t.DimmerCurve == "":
		for _, curve := range []string{"linear", "square", "s"} {
			others = append(others, shaped(curve, level/100))
		}
	case t.Source == "tungsten" && (t.DimmerCurve == "" || t.CurveOf == ""):
		for key, curve := range filamentCurves {
			if (t.DimmerCurve == "" || key.shape == t.DimmerCurve) && (t.CurveOf == "" || key.of == t.CurveOf) {
				d, _ := l.filament.Dim(curve, level/100)
				others = append(others, d.Light)
				if d.Lit {
					off = max(off, math.Abs(1e6/d.CCT-1e6/l.filament.CCT-l.drift))
				}
			}
		}
	}
	usual := dimmed(t, level/100)
	if t.Source == "tungsten" {
		d, _ := l.filament.Dim(filamentCurve(t), level/100)
		usual = d.Light
	}
	if !(usual > 0) || len(others) == 0 {
		return
	}
	low, high := 1.0, 1.0
	for _, other := range others {
		low, high = min(low, other/usual), max(high, other/usual)
	}
	phrase := "the usual dimmer curve of the type %q (%s, of the %s)"
	if t.DimmerCurve != "" {
		phrase = "the dimmer curve of the type %q (%s) shaping the %s, as usual"
	}
	shape, of := t.Curve()
	phrase = fmt.Sprintf(phrase, t.Name, shape, of)
	l.assume(phrase, low, high)
	if off > 0 {
		l.driftOff = Off{off, phrase}
	}
}

// dimmed is the part of its light that an electronic source gives at a control level.
func dimmed(t *schema.Type, x float64) float64 {
	shape, _ := t.Curve()
	return shaped(shape, x)
}

func shaped(curve string, x float64) float64 {
	switch curve {
	case "square":
		return x * x
	case "s":
		return x * x * (3 - 2*x) // the smooth step; makers' S curves differ: common practice, no source
	default:
		return x
	}
}

// curveName is a dimmer curve as [schema.Type.Curve] names it.
type curveName struct{ shape, of string }

// filamentCurves are the curves of dimmers for filaments.
var filamentCurves = map[curveName]colour.Curve{
	{"linear", "voltage"}: colour.LinearVoltage, {"linear", "light"}: colour.LinearLight,
	{"square", "voltage"}: colour.SquareVoltage, {"square", "light"}: colour.SquareLaw,
	{"s", "voltage"}: colour.SCurve, {"s", "light"}: colour.SmoothLight,
}

func filamentCurve(t *schema.Type) colour.Curve {
	shape, of := t.Curve()
	return filamentCurves[curveName{shape, of}]
}

// FilamentPower is the power of its voltage by which the light of a filament goes.
func FilamentPower(t *schema.Type) float64 {
	if t.Halogen != nil && *t.Halogen {
		return colour.HalogenLight
	}
	return colour.IncandescentLight
}

func (r *Rig) tungsten(f *schema.Fixture, t *schema.Type, state *tracking.State, flux float64, l Emission) (colour.XY, float64, Emission) {
	white := ownWhite(f, t)
	if white == nil {
		l.Missing = fmt.Sprintf("the white of the type %q at full", t.Name)
		return colour.XY{}, 0, l
	}
	lamp := colour.Lamp{CCT: *white, LightExponent: FilamentPower(t)}
	d, ok := lamp.Dim(filamentCurve(t), state.Level/100)
	if !ok {
		l.Missing = fmt.Sprintf("a white of the type %q that a filament can have", t.Name)
		return colour.XY{}, 0, l
	}
	l.filament = lamp
	if !d.Lit { // it does not glow
		return colour.XY{X: 1. / 3, Y: 1. / 3}, 0, l
	}
	c, ok := colour.PlanckianOffset(d.CCT, 0)
	if !ok {
		l.Missing = fmt.Sprintf("the white of the type %q at full", t.Name)
	}
	l.drift = max(0, 1e6/d.CCT-1e6/lamp.CCT)
	l.rough, l.extrapolated = d.Rough, d.Extrapolated
	return c, flux * d.Light, l
}

// whiteSource is the chromaticity of a source that makes white by itself, and the part
// of its flux that it gives with that white: a kelvin fixes the ratio of emitters, so
// where the type tells them a white is no brighter than they can make it. Without
// them every white is taken to have the flux of the type.
func (r *Rig) whiteSource(f *schema.Fixture, t *schema.Type, state *tracking.State, l Emission) (colour.XY, float64, Emission) {
	duv := 0.0
	if t.Duv != nil {
		duv = *t.Duv
	}
	asked := ownWhite(f, t)
	if state.Colour != nil && state.Colour.WhiteK != nil {
		asked = state.Colour.WhiteK
	}
	if asked == nil {
		l.Missing = fmt.Sprintf("the white of the fixture on channel %d", f.Channel)
		return colour.XY{}, 0, l
	}
	low, high, variable := WhiteRange(t)
	if !variable && len(t.WhiteRangeK) > 0 {
		l.Missing = fmt.Sprintf("a white range of the type %q from its lowest to its highest kelvin", t.Name)
		return colour.XY{}, 0, l
	}
	if !variable {
		own := ownWhite(f, t)
		if own == nil {
			l.Missing = fmt.Sprintf("the white of the type %q", t.Name)
			return colour.XY{}, 0, l
		}
		low, high = *own, *own // no cue can tell a fixed white another
	}
	if variable {
		if c, part, ok := r.EngineOf(t).white(min(max(*asked, low), high), duv); ok {
			return c, part, l
		}
	}
	c, ok := r.tunableWhite(whiteKey{*asked, duv, low, high})
	if !ok {
		l.Missing = fmt.Sprintf("a white of the fixture on channel %d between 1000 and 25000 K", f.Channel)
		return colour.XY{}, 0, l
	}
	return c, 1, l
}

// whiteKey is what a tunable white is told, and its range.
type whiteKey struct{ kelvin, duv, low, high float64 }

// tunableWhite is worked out once for each white: a show has few, and Planck's law
// is a sum over the spectrum.
func (r *Rig) tunableWhite(key whiteKey) (colour.XY, bool) {
	c, done := r.whites[key]
	if !done {
		xy, _, ok := colour.TunableWhite(key.kelvin, key.duv, key.low, key.high)
		if ok {
			c = &xy
		}
		r.whites[key] = c
	}
	if c == nil {
		return colour.XY{}, false
	}
	return *c, true
}

// WhiteRange is the range of whites that a type can be set to, in kelvin; ok is false if it has none.
func WhiteRange(t *schema.Type) (low, high float64, ok bool) {
	if t == nil || len(t.WhiteRangeK) != 2 || t.WhiteRangeK[0] > t.WhiteRangeK[1] {
		return 0, 0, false
	}
	return t.WhiteRangeK[0], t.WhiteRangeK[1], true
}

// Engine is what makes the light of a type: its emitters, or what is missing to
// know them, and the pair that they are if there are two for a variable white.
type Engine struct {
	Emitters []colour.Emitter
	missing  string
	pair     colour.WhitePair
	isPair   bool
}

// EngineOf works out what makes the light of a type, once for each.
func (r *Rig) EngineOf(t *schema.Type) Engine {
	e, done := r.emitters[t]
	if !done {
		e.Emitters, e.missing = EmittersOf(t)
		e.pair, e.isPair = pairOf(t, slices.Clone(e.Emitters), e.missing)
		r.emitters[t] = e
	}
	return e
}

// white is the chromaticity nearest to a white that the emitters make together, and the
// most light that they can have with it, as a part of all their flux. ok is false
// where the type does not tell its emitters.
func (e Engine) white(kelvin, duv float64) (c colour.XY, part float64, ok bool) {
	var levels []float64
	emitters := e.Emitters
	switch {
	case e.missing != "":
		return colour.XY{}, 0, false
	case e.isPair:
		mix, ok := e.pair.At(kelvin)
		if !ok {
			return colour.XY{}, 0, false
		}
		emitters, levels = []colour.Emitter{e.pair.Warm, e.pair.Cool}, []float64{mix.Warm, mix.Cool}
	default:
		target, ok := colour.PlanckianOffset(kelvin, duv)
		if ok {
			target, ok = colour.NearestInGamut(emitters, target)
		}
		if ok {
			levels, ok = colour.SolveLevels(emitters, target)
		}
		if !ok {
			return colour.XY{}, 0, false
		}
	}
	sum := 0.0
	for _, emitter := range emitters {
		sum += emitter.Flux
	}
	xyz, okMix := colour.Mix(emitters, levels)
	c, ok = xyz.XY()
	return c, xyz.Y / sum, okMix && ok && sum > 0
}

// WhiteMix is the mix at which a type makes the white of so many kelvin, or the nearest that
// it has, with the most light: whole percents by emitter, those that are out too. Emitters
// that are white by themselves do it alone; one that nobody knows is left out. ok is false
// where no white comes of it.
func WhiteMix(t *schema.Type, kelvin float64) (mix map[string]float64, ok bool) {
	white := func(xyz colour.XYZ) bool {
		tint, ok := hueLimits.Tint(xyz)
		return ok && tint.White
	}
	use, whites := make([]colour.Emitter, len(t.Emitters)), make([]bool, len(t.Emitters))
	for i, e := range t.Emitters {
		emitter, lack := emitterOf(t, e)
		if lack != "" {
			emitter = colour.Emitter{X: 1. / 3, Y: 1. / 3}
		}
		xyz, ok := emitter.XYZ()
		use[i], whites[i] = emitter, ok && emitter.Flux > 0 && white(xyz)
	}
	if slices.Contains(whites, true) {
		for i := range use {
			if !whites[i] {
				use[i].Flux = 0
			}
		}
	}
	target, ok := colour.PlanckianOffset(kelvin, 0)
	if ok {
		target, ok = colour.NearestInGamut(use, target)
	}
	var levels []float64
	if ok {
		levels, ok = colour.SolveLevels(use, target)
	}
	if !ok {
		return nil, false
	}
	mix = map[string]float64{}
	for i, e := range t.Emitters {
		if use[i].Flux == 0 {
			levels[i] = 0
		}
		levels[i] = math.Round(100*levels[i]) / 100
		mix[e.Name] = math.Round(100 * levels[i])
	}
	xyz, ok := colour.Mix(use, levels)
	return mix, ok && white(xyz)
}

// pairOf returns the two engines of a variable white that is made of two.
func pairOf(t *schema.Type, emitters []colour.Emitter, missing string) (colour.WhitePair, bool) {
	if t.Source != "tunable-led" || missing != "" || len(emitters) != 2 {
		return colour.WhitePair{}, false
	}
	first, _, ok1 := colour.CCT(emitters[0].XY())
	second, _, ok2 := colour.CCT(emitters[1].XY())
	if !ok1 || !ok2 {
		return colour.WhitePair{}, false
	}
	if first > second {
		emitters[0], emitters[1] = emitters[1], emitters[0]
	}
	return colour.WhitePair{Warm: emitters[0], Cool: emitters[1]}, true
}

// EmittersOf turns the emitters of a type into colour's own, or says what is missing.
func EmittersOf(t *schema.Type) ([]colour.Emitter, string) {
	if len(t.Emitters) == 0 {
		return nil, fmt.Sprintf("the emitters of the type %q: the chromaticity and flux of each", t.Name)
	}
	emitters := make([]colour.Emitter, len(t.Emitters))
	for i, e := range t.Emitters {
		var lack string
		if emitters[i], lack = emitterOf(t, e); lack != "" {
			return nil, lack
		}
	}
	return emitters, ""
}

// emitterOf is one of them. Its flux is told where only its colour is not known.
func emitterOf(t *schema.Type, e *schema.Emitter) (emitter colour.Emitter, lack string) {
	switch {
	case e.FluxLm == nil:
		return emitter, fmt.Sprintf("the flux of the emitter %q of the type %q", e.Name, t.Name)
	case !(*e.FluxLm >= 0 && *e.FluxLm <= mostLumens):
		return emitter, fmt.Sprintf("a flux of the emitter %q of the type %q that a lamp can have", e.Name, t.Name)
	}
	emitter.Flux = *e.FluxLm
	var c colour.XY
	switch {
	case e.X != nil && e.Y != nil:
		c = colour.XY{X: *e.X, Y: *e.Y}
	case e.WavelengthNm != nil:
		var ok bool
		if c, ok = colour.Monochromatic(*e.WavelengthNm); !ok {
			return emitter, fmt.Sprintf("a wavelength between 360 and 830 nm for the emitter %q of the type %q", e.Name, t.Name)
		}
	default:
		return emitter, fmt.Sprintf("the chromaticity of the emitter %q of the type %q", e.Name, t.Name)
	}
	c, ok := colour.RealColour(c)
	if !ok {
		return emitter, fmt.Sprintf("a chromaticity of a real colour for the emitter %q of the type %q", e.Name, t.Name)
	}
	emitter.X, emitter.Y = c.X, c.Y
	return emitter, ""
}

// mixed are the emitters of a type in a mix: what is at zero needs no colour to be known.
func mixed(t *schema.Type, mix map[string]float64) (emitters []colour.Emitter, lack string) {
	for _, e := range t.Emitters {
		emitter, lack := emitterOf(t, e)
		if lack != "" && emitter.Flux > 0 && !(mix[e.Name] > 0) {
			emitter.X, emitter.Y, lack = 1./3, 1./3, ""
		}
		if lack != "" {
			return nil, lack
		}
		emitters = append(emitters, emitter)
	}
	return emitters, ""
}

// mixing is the light of a colour-mixing engine: emitter by emitter if a cue set
// a mix, else the levels that make the white, chromaticity or hue it was told,
// at the most light that colour allows.
func (r *Rig) mixing(f *schema.Fixture, t *schema.Type, state *tracking.State, flux float64, l Emission) Emission {
	engine := r.EngineOf(t)
	emitters, lack := engine.Emitters, engine.missing
	if told := state.Colour; lack != "" && told != nil && told.Mix != nil && len(t.Emitters) > 0 {
		emitters, lack = mixed(t, told.Mix)
	}
	if lack != "" {
		l.Missing = lack
		return l
	}
	share := dimmed(t, state.Level/100)
	l.assumeCurve(t, state.Level)
	levels, lack := r.mixLevels(f, t, state, emitters)
	if lack != "" {
		l.Missing = lack
		return l
	}
	xyz, ok := colour.Mix(emitters, levels)
	if !ok {
		l.Missing = fmt.Sprintf("emitters of the type %q that can be mixed", t.Name)
		return l
	}
	sum := 0.0
	for _, e := range emitters {
		sum += e.Flux
	}
	scale := share
	if sum > 0 { // what leaves the lens is less than the emitters give
		scale *= flux / sum
	}
	l.unmixed = 1 - slices.Max(levels)
	l.presence = flux * share * (1 - l.unmixed)
	c, ok := xyz.XY()
	if !ok { // every emitter at zero
		l.XYZ = colour.XYZ{}
		return l
	}
	return filtered(colour.Emitter{X: c.X, Y: c.Y, Flux: xyz.Y * scale}, f, nil, state, l)
}

func (r *Rig) mixLevels(f *schema.Fixture, t *schema.Type, state *tracking.State, emitters []colour.Emitter) ([]float64, string) {
	var target colour.XY
	ok := false
	told := state.Colour
	switch {
	case told != nil && told.Mix != nil:
		levels := make([]float64, len(emitters))
		for i, e := range t.Emitters {
			levels[i] = min(max(told.Mix[e.Name]/100, 0), 1)
		}
		return levels, ""
	case told != nil && len(told.XY) == 2:
		target, ok = colour.XY{X: told.XY[0], Y: told.XY[1]}, true
	case told != nil && told.HueDeg != nil:
		saturation := 100.0
		if told.SaturationPct != nil {
			saturation = *told.SaturationPct
		}
		target, ok = colour.Wheel(*told.HueDeg, saturation)
	default:
		if kelvin := r.toldWhite(f, t, state); kelvin != nil {
			target, ok = colour.PlanckianOffset(*kelvin, 0)
		} else {
			return nil, fmt.Sprintf("the colour of the fixture on channel %d in the cues that light it", f.Channel)
		}
	}
	if ok {
		target, ok = colour.NearestInGamut(emitters, target)
	}
	if ok {
		if levels, ok := colour.SolveLevels(emitters, target); ok {
			return levels, ""
		}
	}
	return nil, fmt.Sprintf("emitters of the type %q that can make the colour asked of channel %d", t.Name, f.Channel)
}

// toldWhite is the kelvin that a cue, the patch or the type names, in that order.
func (r *Rig) toldWhite(f *schema.Fixture, t *schema.Type, state *tracking.State) *float64 {
	if state.Colour != nil && state.Colour.WhiteK != nil {
		return state.Colour.WhiteK
	}
	return ownWhite(f, t)
}

// ownWhite is the white that the patch says of a lamp, else that of its type.
func ownWhite(f *schema.Fixture, t *schema.Type) *float64 {
	if f.WhiteK != nil {
		return f.WhiteK
	}
	return t.WhiteK
}

// filtered puts the filters of a lamp into its light: the flags or wheel of its
// type as far as the cues bring them in, and the filter in its frame.
func filtered(e colour.Emitter, f *schema.Fixture, t *schema.Type, state *tracking.State, l Emission) Emission {
	if e.Flux == 0 {
		return l
	}
	if l.presence == 0 {
		l.presence = e.Flux
	}
	var filters []colour.Filter
	var insertions []float64
	add := func(filter *schema.Filter, insertion float64) {
		if insertion <= 0 || l.Missing != "" {
			return
		}
		if filter.Transmission == nil || filter.X == nil || filter.Y == nil {
			l.Missing = fmt.Sprintf("the chromaticity and transmission of the filter %q on channel %d", filter.Name, f.Channel)
			return
		}
		filters = append(filters, colour.Filter{X: *filter.X, Y: *filter.Y, Transmission: *filter.Transmission})
		insertions = append(insertions, min(insertion, 1))
	}
	if t != nil {
		for _, filter := range t.Filters {
			if state.Colour != nil && state.Colour.Mix != nil {
				add(filter, state.Colour.Mix[filter.Name]/100)
			}
			if state.Rest != nil && state.Rest.Wheel != "" && strings.EqualFold(state.Rest.Wheel, filter.Name) {
				add(filter, 1)
			}
		}
	}
	if gel := f.Filter; gel != nil {
		switch {
		case gel.ShiftMired != nil && gel.X == nil:
			e = shifted(e, gel)
		case gel.HueDeg != nil && gel.X == nil:
			c, ok := colour.Wheel(*gel.HueDeg, 100)
			if ok {
				e = colour.Emitter{X: c.X, Y: c.Y, Flux: e.Flux * transmission(gel)}
			}
		case gel.X == nil && gel.Y == nil && gel.Transmission != nil:
			e.Flux *= *gel.Transmission
			l.assume(fmt.Sprintf("a filter on channel %d that is grey, since nobody says its colour", f.Channel), 1, 1)
		default:
			add(gel, 1)
		}
	}
	if l.Missing != "" {
		return l
	}
	if gel := f.Filter; gel != nil && gel.Transmission == nil && (gel.ShiftMired != nil || gel.HueDeg != nil) && gel.X == nil {
		l.assume(fmt.Sprintf("a filter on channel %d that takes no light away", f.Channel), leastPassed, 1)
	}
	xyz, ok := e.XYZ()
	xy := e.XY()
	if len(filters) > 0 {
		if xyz, ok = colour.Filtered(e, filters, insertions); ok && xyz.Y > 0 {
			xy, ok = xyz.XY()
		}
	}
	if !ok || !(xyz.Y <= mostLumens) {
		l.Missing = fmt.Sprintf("filters on channel %d that light can pass", f.Channel)
		return l
	}
	if xyz.Y > 0 {
		l.XYZ, l.XY = xyz, xy
	}
	return l
}

// shifted is a light behind a correction filter, which is named by its shift in
// mired; where the shift leads out of the range of whites the light stays as it is.
func shifted(e colour.Emitter, gel *schema.Filter) colour.Emitter {
	kelvin, duv, ok := colour.CCT(e.XY())
	if !ok {
		return e
	}
	c, ok := colour.PlanckianOffset(1e6/(1e6/kelvin+*gel.ShiftMired), duv)
	if !ok {
		return e
	}
	return colour.Emitter{X: c.X, Y: c.Y, Flux: e.Flux * transmission(gel)}
}

// leastPassed is the part of the light that the densest of the correction filters
// lets pass. Common practice, no source.
const leastPassed = 0.3

// transmission is that of a filter, or 1: a correction filter without one makes
// its lamp look brighter than it is.
func transmission(gel *schema.Filter) float64 {
	if gel.Transmission == nil {
		return 1
	}
	return *gel.Transmission
}
