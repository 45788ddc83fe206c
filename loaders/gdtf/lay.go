package gdtf

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

// light is what a type shines with, over all its modes.
type light struct {
	beams      []Beam         // of the mode in which most of them shine
	attributes map[string]int // in lower case -> how many functions have it
	functions  []Function
	filled     map[format.Span]bool // written values that are most likely only defaults
	uneven     bool                 // modes differ in their beams
}

// defaults are what the standard fills in (DIN SPEC 15800:2022-02, Beam). A program
// that writes them out has measured nothing either.
const (
	defaultWatts     = 1000
	defaultFlux      = 10_000
	defaultKelvin    = 6000
	defaultAngle     = 25
	defaultRendering = 100
)

// severalDefaults is how many values of one beam have to equal the defaults before
// all of them are taken for filled in. Our own choice: two may be chance.
const severalDefaults = 3

func (t *Type) shine() light {
	l := light{attributes: map[string]int{}, filled: map[format.Span]bool{}}
	most := -1
	for _, m := range t.Modes {
		count := 0
		for _, b := range m.Beams {
			count += b.Count
			l.fill(b.Lens)
		}
		if most >= 0 && count != most {
			l.uneven = true
		}
		if count > most {
			most, l.beams = count, m.Beams
		}
		for _, f := range m.Functions {
			l.attributes[strings.ToLower(f.Attribute)]++
			l.functions = append(l.functions, f)
		}
	}
	return l
}

// fill finds the values of a beam that are most likely only defaults.
func (l *light) fill(b *Lens) {
	var same []format.Span
	for _, v := range []struct {
		n  *Number
		is float64
	}{{b.Watts, defaultWatts}, {b.FluxLm, defaultFlux}, {b.ColourK, defaultKelvin}, {b.BeamDeg, defaultAngle}, {b.FieldDeg, defaultAngle}, {b.Rendering, defaultRendering}} {
		if v.n != nil && v.n.Value == v.is {
			same = append(same, v.n.At)
		}
	}
	if b.LampType != nil && strings.EqualFold(b.LampType.Words, "Discharge") {
		same = append(same, b.LampType.At)
	}
	// No lens has its half and its tenth at one angle.
	angles := b.BeamDeg != nil && b.FieldDeg != nil && b.BeamDeg.Value == defaultAngle && b.FieldDeg.Value == defaultAngle
	if len(same) >= severalDefaults {
		for _, at := range same {
			l.filled[at] = true
		}
	}
	if angles {
		l.filled[b.BeamDeg.At], l.filled[b.FieldDeg.At] = true, true
	}
}

// has reports whether a channel controls one of these.
func (l *light) has(kinds ...*regexp.Regexp) bool {
	for name := range l.attributes {
		for _, kind := range kinds {
			if kind.MatchString(name) {
				return true
			}
		}
	}
	return false
}

func attributes(pattern string) *regexp.Regexp { return regexp.MustCompile("^(?:" + pattern + ")$") }

// These are names of attributes in lower case (DIN SPEC 15800:2022-02, Annex A),
// but for fog and haze, which are from memory.
var (
	dimming     = attributes(`dimmer|hsb_brightness|cie_brightness`)
	additive    = attributes(`coloradd_(r|g|b|c|m|y|ry|gy|gc|bc|bm|rm)|colorrgb_(red|green|blue|cyan|magenta|yellow)|hsb_(hue|saturation)|cie_[xy]`)
	subtractive = attributes(`colorsub_(r|g|b|c|m|y)`)
	whitePair   = attributes(`coloradd_(ww|cw)`)
	whiteWhite  = attributes(`ct[ocb]\d*`)
	wheelColour = attributes(`color\d+|colormacro\d+`)
	strobing    = attributes(`shutter\d+strobe.*|strobe(frequency|rate|mode.+)`)
	blades      = attributes(`blade\d+[ab]|shaperrot|blade\d+rot`)
	patterns    = attributes(`gobo\d+`)
	irises      = attributes(`iris`)
	zooming     = attributes(`zoom|digitalzoom`)
	turning     = attributes(`pan|tilt`)
	hazing      = attributes(`haze\d*`)
	fogging     = attributes(`fog\d*`)
)

// abilities are the words of the format for what a type can do, in their order.
var abilities = []struct {
	word  string
	kinds []*regexp.Regexp
}{
	{"dim", []*regexp.Regexp{dimming}}, {"shutters", []*regexp.Regexp{blades}}, {"iris", []*regexp.Regexp{irises}},
	{"zoom", []*regexp.Regexp{zooming}}, {"mix", []*regexp.Regexp{additive, subtractive}}, {"white", []*regexp.Regexp{whiteWhite, whitePair}},
	{"wheel", []*regexp.Regexp{wheelColour}}, {"pattern", []*regexp.Regexp{patterns}}, {"strobe", []*regexp.Regexp{strobing}},
	{"aim", []*regexp.Regexp{turning}},
}

// source says what makes the light.
func (w *writer) source() {
	mixes, machine := w.light.has(additive), w.light.has(hazing, fogging)
	var lamp *format.Text
	for _, b := range w.light.beams {
		if b.LampType != nil && lamp == nil {
			lamp = b.LampType
		}
	}
	is := func(what, how string, at format.Span) {
		w.text("source", what, at)
		if how != "" {
			w.mark("source", how)
		}
	}
	switch {
	case lamp == nil && mixes:
		is("colour-led", "inferred", w.At)
	case lamp == nil && machine && len(w.light.beams) == 0:
		is("none", "inferred", w.At)
	case lamp == nil:
	case strings.EqualFold(lamp.Words, "LED"):
		switch {
		case mixes:
			is("colour-led", "", lamp.At)
		case w.light.has(whitePair, whiteWhite):
			is("tunable-led", "", lamp.At)
		default:
			is("white-led", "", lamp.At)
		}
	case strings.EqualFold(lamp.Words, "Discharge"):
		how := ""
		if w.light.filled[lamp.At] {
			how = "assumed"
		}
		is("discharge", how, lamp.At)
	case strings.EqualFold(lamp.Words, "Halogen"):
		is("tungsten", "", lamp.At)
		w.build.Key("halogen", lamp.At.Start, lamp.At.Stop)
		w.build.Scalar(source.Bool, "true", lamp.At.Start, lamp.At.Stop)
	case strings.EqualFold(lamp.Words, "Tungsten"):
		is("tungsten", "", lamp.At)
	}
	if machine {
		kind := "fogger"
		if w.light.has(hazing) {
			kind = "hazer"
		}
		w.build.Key("machine", w.At.Start, w.At.Stop)
		w.build.Begin(source.Object, w.At.Start)
		w.text("kind", kind, w.At)
		w.build.End(w.At.Stop)
		w.mark("machine", "inferred")
	}
}

// mostBreaks is how many breaks a mode may have here.
const mostBreaks = 32

func (w *writer) modes() {
	if len(w.Modes) == 0 {
		return
	}
	w.build.Key("modes", w.Modes[0].At.Start, w.Modes[0].At.Stop)
	w.build.Begin(source.Array, w.Modes[0].At.Start)
	for i, m := range w.Modes {
		name := m.Name.Words
		if name == "" {
			name = fmt.Sprintf("mode %d", i+1)
		}
		w.build.Begin(source.Object, m.At.Start)
		w.text("name", name, m.Name.At)
		if len(m.Breaks) > 0 {
			w.number("slots", float64(m.Slots()), m.At)
		}
		if last := len(m.Breaks) - 1; last >= 0 && m.Breaks[last].Number > 1 {
			if m.Breaks[last].Number > mostBreaks {
				w.loss(format.Dropped, "breaks of modes", len(m.Breaks), m.At)
			} else {
				w.breaks(m)
			}
		}
		w.build.End(m.At.Stop)
	}
	w.build.End(w.Modes[len(w.Modes)-1].At.Stop)
}

func (w *writer) breaks(m *Mode) {
	w.build.Key("breaks", m.At.Start, m.At.Stop)
	w.build.Begin(source.Array, m.At.Start)
	next := 1
	for _, b := range m.Breaks {
		for ; next <= b.Number; next++ {
			slots := 0
			if next == b.Number {
				slots = b.Slots
			}
			w.build.Scalar(source.Number, decimal(float64(slots)), m.At.Start, m.At.Stop)
		}
	}
	w.build.End(m.At.Stop)
}

// power takes what is written about consumers, else what is written about the type,
// else the beams; the standard's own 1,000 W of a beam never.
func (w *writer) power() {
	const most = 100_000
	var watts, factor *Number
	how := ""
	for _, m := range w.Modes {
		if m.Watts != nil && (watts == nil || m.Watts.Value > watts.Value) {
			watts = m.Watts
		}
		if factor == nil {
			factor = m.CosPhi
		}
	}
	if watts == nil {
		watts = w.Watts
	}
	if watts == nil {
		sum, all := 0.0, len(w.light.beams) > 0
		for _, b := range w.light.beams {
			if all = all && b.Watts != nil && !w.light.filled[b.Watts.At]; all {
				sum += b.Watts.Value * float64(b.Count)
			}
		}
		if all {
			watts, how = &Number{sum, w.light.beams[0].Watts.At}, "inferred" // the beams alone: fans and motors come on top
		}
	}
	if watts != nil && watts.Value > 0 && w.within("watts", watts, 0, most) && how != "" {
		w.mark("watts", how)
	}
	if factor == nil {
		factor = w.PowerFactor
	}
	if factor != nil && factor.Value > 0 {
		w.within("power_factor", factor, 0, 1)
	}
}

// kelvins are the colour temperatures that a type of the show may have.
const lowestK, highestK = 1000, 25_000

func (w *writer) whites() {
	low, high, at := math.Inf(1), math.Inf(-1), format.Span{}
	for _, f := range w.light.functions {
		if f.Physical == nil || !whiteWhite.MatchString(strings.ToLower(f.Attribute)) {
			continue
		}
		a, b := min(f.Physical[0], f.Physical[1]), max(f.Physical[0], f.Physical[1])
		if a >= lowestK && b <= highestK && a < b { // else it is a share and not kelvin
			low, high, at = min(low, a), max(high, b), f.At
		}
	}
	if low < high {
		w.build.Key("white_range_k", at.Start, at.Stop)
		w.build.Begin(source.Array, at.Start)
		w.build.Scalar(source.Number, decimal(low), at.Start, at.Stop)
		w.build.Scalar(source.Number, decimal(high), at.Start, at.Stop)
		w.build.End(at.Stop)
	}
	brightest := w.light.brightest()
	if brightest != nil && brightest.ColourK != nil && !w.light.has(additive) && !(low < high) {
		w.within("white_k", brightest.ColourK, lowestK, highestK)
	}
}

// brightest returns the beam that gives most of the light; of several the first.
func (l *light) brightest() *Beam {
	var best *Beam
	most := 0.0
	for i := range l.beams {
		b := &l.beams[i]
		flux := 0.0
		if b.FluxLm != nil {
			flux = b.FluxLm.Value * float64(b.Count)
		}
		if best == nil || flux > most {
			best, most = b, flux
		}
	}
	return best
}

// flux returns the light of all beams together; nil where one does not say.
func (l *light) flux() (sum *Number, how string) {
	count := 0
	for _, b := range l.beams {
		if b.FluxLm == nil {
			return nil, ""
		}
		if sum == nil {
			sum = &Number{0, b.FluxLm.At}
		}
		sum.Value += b.FluxLm.Value * float64(b.Count)
		count += b.Count
		if l.filled[b.FluxLm.At] {
			how = "assumed"
		}
	}
	if how == "" && count > 1 {
		how = "derived"
	}
	return sum, how
}

// emitterWords name the emitters of a type that does not.
var emitterWords = map[string]string{
	"r": "red", "g": "green", "b": "blue", "c": "cyan", "m": "magenta", "y": "yellow", "ry": "amber", "gy": "lime", "gc": "blue-green",
	"bc": "light blue", "bm": "purple", "rm": "pink", "w": "white", "ww": "warm white", "cw": "cool white", "uv": "uv",
}

func (w *writer) colours() {
	list := w.emitters()
	if len(list) > 1 {
		flux, _ := w.light.flux()
		shares := slices.ContainsFunc(list, func(e *Emitter) bool { return e.Colour != nil && e.Colour.Luminance > 0 })
		w.build.Key("emitters", list[0].At.Start, list[0].At.Stop)
		w.build.Begin(source.Array, list[0].At.Start)
		for _, e := range list {
			w.emitter(e, flux)
		}
		w.build.End(list[len(list)-1].At.Stop)
		if flux != nil && shares {
			w.mark("emitters", "derived")
		}
	}
	w.filters()
}

// emitters returns those that channels add, each once; where no channel names one,
// all that are described; where none is described, what the attributes say.
func (w *writer) emitters() []*Emitter {
	var linked, named []*Emitter
	seen := map[string]bool{}
	for _, f := range w.light.functions {
		which, adds := strings.CutPrefix(strings.ToLower(f.Attribute), "coloradd_")
		if !adds {
			continue
		}
		if f.Emitter != nil && !slices.Contains(linked, f.Emitter) {
			linked = append(linked, f.Emitter)
		}
		if word := emitterWords[which]; word != "" && !seen[which] {
			seen[which] = true
			named = append(named, &Emitter{Name: format.Text{Words: word, At: f.At}, At: f.At})
		}
	}
	switch {
	case len(linked) > 0:
		return linked
	case len(w.Emitters) > 1:
		return w.Emitters
	}
	return named
}

// emitter lays one. Its Y is its share of the flux of the beams, in percent; shares of
// more than the whole are those of emitters that never burn at full together.
func (w *writer) emitter(e *Emitter, flux *Number) {
	w.build.Begin(source.Object, e.At.Start)
	name := e.Name.Words
	if name == "" {
		name = "emitter"
	}
	w.text("name", name, e.Name.At)
	switch {
	case e.Colour != nil && e.Colour.Y > 0:
		w.number("x", e.Colour.X, e.Colour.At)
		w.number("y", e.Colour.Y, e.Colour.At)
	case len(e.Spectrum) > 1:
		var nm, watts []float64
		for _, p := range e.Spectrum {
			nm, watts = append(nm, p.Nm), append(watts, p.Watts)
		}
		if xyz, ok := colour.SpectrumXYZ(nm, watts); ok {
			if sum := xyz.X + xyz.Y + xyz.Z; sum > 0 && xyz.Y > 0 {
				w.number("x", xyz.X/sum, e.At)
				w.number("y", xyz.Y/sum, e.At)
			}
		}
	case e.WavelengthNm != nil && e.WavelengthNm.Value >= 360 && e.WavelengthNm.Value <= 830:
		w.number("wavelength_nm", e.WavelengthNm.Value, e.WavelengthNm.At)
	}
	if flux != nil && e.Colour != nil && e.Colour.Luminance > 0 {
		w.number("flux_lm", flux.Value*e.Colour.Luminance/100, e.Colour.At)
	}
	w.build.End(e.At.Stop)
}

// filterName is a filter under the name that a cue would call it by.
type filterName struct {
	name   format.Text
	colour *Colour
	at     format.Span
}

func (w *writer) filters() {
	var list []filterName
	seen := map[string]bool{}
	add := func(n filterName) {
		folded := strings.ToLower(n.name.Words)
		if folded == "" || seen[folded] || open(n.colour) {
			return
		}
		seen[folded] = true
		list = append(list, n)
	}
	for _, f := range w.light.functions {
		attribute := strings.ToLower(f.Attribute)
		if which, subtracts := strings.CutPrefix(attribute, "colorsub_"); subtracts {
			n := filterName{name: format.Text{Words: emitterWords[which], At: f.At}, at: f.At}
			if f.Filter != nil {
				n.colour, n.at = f.Filter.Colour, f.Filter.At
			}
			add(n)
			continue
		}
		if f.Filter != nil {
			add(filterName{f.Filter.Name, f.Filter.Colour, f.Filter.At})
		}
		if f.Wheel == nil || !strings.HasPrefix(attribute, "color") {
			continue
		}
		for _, s := range f.Wheel.Slots {
			if s.Colour != nil {
				add(filterName{s.Name, s.Colour, s.At})
			}
		}
	}
	images := 0
	for _, wheel := range w.Wheels {
		for _, s := range wheel.Slots {
			if s.Image {
				images++
			}
		}
	}
	w.loss(format.Dropped, "patterns of wheels", images, w.At)
	if len(list) == 0 {
		return
	}
	w.build.Key("filters", list[0].at.Start, list[0].at.Stop)
	w.build.Begin(source.Array, list[0].at.Start)
	for _, n := range list {
		w.build.Begin(source.Object, n.at.Start)
		w.text("name", n.name.Words, n.name.At)
		if c := n.colour; c != nil && c.Y > 0 {
			w.number("x", c.X, c.At)
			w.number("y", c.Y, c.At)
			if c.Luminance > 0 && c.Luminance <= 100 {
				w.number("transmission", c.Luminance/100, c.At)
			}
		}
		w.build.End(n.at.Stop)
	}
	w.build.End(list[len(list)-1].at.Stop)
}

// open reports whether a colour is that of a slot without a filter, which the
// standard gives to slots that do not say.
func open(c *Colour) bool {
	return c != nil && c.X == 0.3127 && c.Y == 0.3290 && c.Luminance == 100
}

func (w *writer) beam() {
	b := w.light.brightest()
	if b == nil {
		return
	}
	if w.light.uneven {
		w.loss(format.Guessed, "modes with fewer beams (the light of the fullest is taken)", 1, w.At)
	}
	for i := range w.light.beams {
		o := &w.light.beams[i]
		if different(o.BeamDeg, b.BeamDeg) || different(o.FieldDeg, b.FieldDeg) {
			w.loss(format.Guessed, "types whose beams spread differently (the brightest is taken)", 1, w.At)
			break
		}
	}
	if !w.zoom(b) {
		const widest = 180
		if b.BeamDeg != nil && b.BeamDeg.Value > 0 {
			w.within("beam_deg", b.BeamDeg, 0, widest)
		}
		if b.FieldDeg != nil && b.FieldDeg.Value > 0 && (b.BeamDeg == nil || b.FieldDeg.Value >= b.BeamDeg.Value) {
			w.within("field_deg", b.FieldDeg, 0, widest)
		}
	}
	const mostLm = 10_000_000
	if flux, how := w.light.flux(); flux != nil && flux.Value > 0 && flux.Value <= mostLm {
		w.number("flux_lm", flux.Value, flux.At)
		if how != "" {
			w.mark("flux_lm", how)
		}
	}
	if r := b.Rendering; r != nil && w.within("cri", r, 0, 100) && !w.light.filled[r.At] {
		w.mark("cri", "inferred") // an index in the style of TM-30 is not the Ra that is meant here
	}
	if r := b.RadiusM; r != nil && len(w.light.beams) == 1 && b.Count == 1 && r.Value > 0 && r.Value <= 1 && r.Value != 0.05 {
		w.build.Key("opening_m", r.At.Start, r.At.Stop)
		w.build.Begin(source.Array, r.At.Start)
		w.build.Scalar(source.Number, decimal(2*r.Value), r.At.Start, r.At.Stop)
		w.build.End(r.At.Stop)
	}
}

func different(a, b *Number) bool {
	return (a == nil) != (b == nil) || a != nil && a.Value != b.Value
}

// zoom lays the two ends of a zoom. What the standard calls the angle of a zoom is
// taken for the beam angle (from memory), and the field keeps its ratio to it.
func (w *writer) zoom(b *Beam) bool {
	low, high, at := math.Inf(1), math.Inf(-1), format.Span{}
	for _, f := range w.light.functions {
		if strings.EqualFold(f.Attribute, "Zoom") && f.Physical != nil {
			low, high, at = min(low, f.Physical[0], f.Physical[1]), max(high, f.Physical[0], f.Physical[1]), f.At
		}
	}
	const widest = 180
	if !(low > 0.5 && high <= widest && low < high) { // a share from 0 to 1 is no angle
		return false
	}
	ratio := 0.0
	if b.BeamDeg != nil && b.FieldDeg != nil && b.BeamDeg.Value > 0 && !w.light.filled[b.BeamDeg.At] {
		ratio = b.FieldDeg.Value / b.BeamDeg.Value
	}
	w.build.Key("zoom", at.Start, at.Stop)
	w.build.Begin(source.Object, at.Start)
	for _, end := range []struct {
		key string
		deg float64
	}{{"narrow", low}, {"wide", high}} {
		w.build.Key(end.key, at.Start, at.Stop)
		w.build.Begin(source.Object, at.Start)
		w.number("beam_deg", end.deg, at)
		if ratio >= 1 && ratio*high <= widest {
			w.number("field_deg", end.deg*ratio, at)
		}
		w.build.End(at.Stop)
	}
	w.build.End(at.Stop)
	w.mark("zoom", "inferred")
	return true
}

// Moves reports whether the type can aim itself.
func (t *Type) Moves() bool {
	l := t.shine()
	return l.has(turning)
}

// Straight reports whether all beams leave the type along -Z of its base.
func (t *Type) Straight() bool {
	for _, m := range t.Modes {
		for _, b := range m.Beams {
			if !b.Straight {
				return false
			}
		}
	}
	return len(t.Modes) > 0
}

// BreaksOf returns the slots of the breaks of a mode; nil if there is no such mode
// or nothing is known of it.
func (t *Type) BreaksOf(mode string) map[int]int {
	for _, m := range t.Modes {
		if m.Name.Words == mode && len(m.Breaks) > 0 {
			slots := map[int]int{}
			for _, b := range m.Breaks {
				slots[b.Number] = b.Slots
			}
			return slots
		}
	}
	return nil
}

// abilities lists what the type can do, where that can be told: a lamp without
// motors may have shutters and a zoom that hands move, and no channel tells.
func (w *writer) abilities() {
	if !w.light.has(turning) {
		return
	}
	w.build.Key("moving", w.At.Start, w.At.Stop)
	w.build.Scalar(source.Bool, "true", w.At.Start, w.At.Stop)
	w.build.Key("can", w.At.Start, w.At.Stop)
	w.build.Begin(source.Array, w.At.Start)
	for _, a := range abilities {
		if w.light.has(a.kinds...) {
			w.build.Scalar(source.String, a.word, w.At.Start, w.At.Stop)
		}
	}
	w.build.End(w.At.Stop)
	w.mark("can", "derived")
}

func (w *writer) marks() {
	if len(w.known) == 0 {
		return
	}
	w.build.Key("known", w.At.Start, w.At.Stop)
	w.build.Begin(source.Object, w.At.Start)
	last := map[string]string{}
	for _, m := range w.known {
		last[m.key] = m.how
	}
	for _, key := range slices.Sorted(maps.Keys(last)) {
		w.text(key, last[key], w.At)
	}
	w.build.End(w.At.Stop)
}
