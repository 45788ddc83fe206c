// Package typical holds the built-in types of fixture that `typical:` names: what
// such a lamp usually is, for a hall that has no data sheet at hand yet.
//
// In goes a name such as "profile white 26" or "wash red green blue amber"; out comes
// a type of which every number has a source, or the words "from memory", and a range
// that real ones lie in. [Fill] puts it behind the types of a show that name one, and
// marks what it put there as assumed, so that nothing which rests on it is told as a
// fact. A newcomer's mistake would be to sharpen a range to make a finding sure: a
// range says what the lamps of the world are, not what we would like to know.
package typical

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/schema"
)

// Entry is a built-in type.
type Entry struct {
	Name    string            // in full, with what was left to its default
	About   string            // what such a fixture is, in a phrase
	Type    schema.Type       // its numbers, each with its range in Known
	Sources map[string]string // key of the type -> where its number comes from
}

// family is a kind of fixture, with what its name may say beside the kind.
type family struct {
	words   string // the kind, in the words of its name
	lights  []string
	about   string
	watts   float64 // of tungsten, where the name says none
	degrees float64 // field angle, where the name says none; 0 if its name takes none
	make    func(b *builder)
}

// What makes the light, as the second part of a name says it.
const (
	white    = "white"    // a fixed white LED
	tunable  = "tunable"  // an LED of a variable white
	tungsten = "tungsten" // a filament, with its watts behind it
	colours  = "colours"  // emitters, each by its name
	nothing  = ""
)

const memory = "from memory"

// families lists what is built in. Light output by class of fixture is from memory,
// as are the ranges: makers print them in ways that cannot be compared.
var families = []family{
	{"profile", []string{white, tunable, tungsten}, "a spot with shutters and a hard edge", 575, 26, func(b *builder) {
		b.led(7000, 4000, 12_000, 200, 120, 320)
		b.filament(0.5, 0.3, 0.7)
		b.field(b.degrees, 0.85, 1.15, 0.7)
		b.can("dim", "shutters", "pattern")
	}},
	{"fresnel", []string{white, tunable, tungsten}, "a soft-edged spot", 1000, 45, func(b *builder) {
		b.led(7000, 3500, 13_000, 200, 100, 320)
		b.filament(0.35, 0.2, 0.5)
		b.field(b.degrees, 0.5, 1.4, 0.6)
		b.can("dim", "barn-doors", "zoom")
	}},
	{"par", []string{white, tungsten}, "a fixed can or a small wash of one white", 1000, 38, func(b *builder) {
		b.led(4000, 2000, 8000, 100, 50, 200)
		b.filament(0.6, 0.4, 0.75)
		b.field(b.degrees, 0.6, 1.5, 0.55)
		b.can("dim")
	}},
	{"flood", []string{white, tungsten}, "an open flood without lens", 500, 110, func(b *builder) {
		b.led(8000, 4000, 15_000, 150, 80, 250)
		b.filament(0.6, 0.4, 0.75)
		b.field(b.degrees, 0.8, 1.2, 0.6)
		b.can("dim")
	}},
	{"blinder", []string{white, tungsten}, "lamps that face the house", 1300, 70, func(b *builder) {
		b.led(15_000, 7000, 30_000, 250, 150, 450)
		b.filament(0.7, 0.5, 0.8)
		b.field(b.degrees, 0.7, 1.4, 0.5)
		b.can("dim")
	}},
	{"panel", []string{tunable, white}, "a soft panel", 0, 150, func(b *builder) {
		b.led(6000, 3000, 12_000, 120, 60, 250)
		b.field(b.degrees, 0.8, 1.1, 0.67)
		b.can("dim", "barn-doors")
		b.t.OpeningM = []float64{0.6, 0.4}
		b.source("opening_m", "assumed", memory)
	}},
	{"wash", []string{colours}, "a colour-mixing can", 0, 40, func(b *builder) {
		b.emitters(1, 150, 80, 300)
		b.field(b.degrees, 0.5, 1.5, 0.55)
		b.can("dim", "mix", "strobe")
	}},
	{"batten", []string{colours}, "a row of colour-mixing cells of about a metre", 0, 50, func(b *builder) {
		b.emitters(0.9, 140, 70, 300)
		b.field(b.degrees, 0.5, 1.6, 0.55)
		b.can("dim", "mix", "strobe")
	}},
	{"strip", []string{colours}, "a slim row of pixels, to be looked at", 0, 110, func(b *builder) {
		b.emitters(0.25, 50, 15, 100)
		b.field(b.degrees, 0.7, 1.3, 0.7)
		b.can("dim", "mix", "strobe")
	}},
	{"moving wash", []string{colours}, "a moving head that mixes colours", 0, 0, func(b *builder) {
		b.emitters(2.2, 350, 150, 700)
		b.zoom(10, 50)
		b.head("dim", "mix", "zoom", "strobe", "aim")
	}},
	{"moving spot", []string{white}, "a moving head with patterns and a hard edge", 0, 0, func(b *builder) {
		b.led(12_000, 6000, 22_000, 450, 200, 900)
		b.t.WhiteK, b.t.Known["white_k"] = new(6700.0), between(5600, 8000)
		b.zoom(9, 40)
		b.flags()
		b.head("dim", "mix", "wheel", "pattern", "zoom", "iris", "strobe", "aim")
	}},
	{"moving beam", []string{white}, "a moving head with a pencil of light", 0, 4, func(b *builder) {
		b.led(6000, 3000, 11_000, 280, 120, 500)
		b.t.WhiteK, b.t.Known["white_k"] = new(7200.0), between(6000, 8500)
		b.field(b.degrees, 0.6, 1.6, 0.6)
		b.head("dim", "wheel", "pattern", "strobe", "aim")
	}},
	{"house", []string{white, tungsten}, "a light of the house, in the ceiling", 150, 90, func(b *builder) {
		b.led(2000, 700, 4500, 25, 8, 60)
		if b.t.Source == "white-led" {
			b.t.WhiteK, b.t.Known["white_k"] = new(3000.0), between(2700, 4000)
		}
		b.filament(0.6, 0.4, 0.8)
		b.field(b.degrees, 0.6, 1.4, 0.6)
		b.can("dim")
	}},
	{"strobe", []string{white}, "a strobe", 0, 120, func(b *builder) {
		b.led(25_000, 8000, 60_000, 500, 200, 1000)
		b.field(b.degrees, 0.8, 1.2, 0.7)
		b.can("dim", "strobe")
	}},
	{"hazer", []string{nothing}, "a machine that makes a thin haze of droplets", 0, 0, func(b *builder) {
		b.machine("hazer", 30_000, 8000, 120_000, 700, 300, 1500)
	}},
	{"fogger", []string{nothing}, "a machine that makes thick fog in bursts", 0, 0, func(b *builder) {
		b.machine("fogger", 400_000, 100_000, 1_500_000, 1000, 700, 1700)
	}},
}

// synonyms are other words of the trade for a word of a name.
var synonyms = map[string]string{
	"ellipsoidal": "profile", "floodlight": "flood", "downlight": "house", "bar": "batten", "led": white,
	"halogen": tungsten, "bicolour": tunable, "bicolor": tunable, "variable": tunable, "haze": "hazer", "fog": "fogger", "smoke": "fogger",
}

// diode is an emitter by its name.
type diode struct {
	name       string
	wavelength float64 // dominant, nm
	x, y       float64 // where it is no single wavelength
	lumens     float64 // in a can of about 150 W
}

// diodes are the emitters that colour-mixing fixtures are made of. Wavelengths are
// the middle of the usual bins and lumens what a can of some 150 W gives of each,
// both from memory; the whites are chromaticities of black bodies of 6500 and 3000 K
// (the reference of the project's colour package).
var diodes = []diode{
	{name: "red", wavelength: 624, lumens: 600},
	{name: "amber", wavelength: 593, lumens: 500},
	{name: "lime", x: 0.41, y: 0.55, lumens: 1800},
	{name: "mint", x: 0.37, y: 0.46, lumens: 1800},
	{name: "green", wavelength: 523, lumens: 1100},
	{name: "cyan", wavelength: 499, lumens: 600},
	{name: "blue", wavelength: 460, lumens: 180},
	{name: "indigo", wavelength: 446, lumens: 60},
	{name: "violet", wavelength: 420, lumens: 10},
	{name: "white", x: 0.3135, y: 0.3237, lumens: 1700},
	{name: "warm", x: 0.4369, y: 0.4041, lumens: 1400},
	{name: "cool", x: 0.3135, y: 0.3237, lumens: 1700},
}

// Find returns the built-in type of a name; ok is false if there is none. Case does
// not count, and neither does the order of what stands behind the kind.
func Find(name string) (Entry, bool) {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" \t,;/+-_()", r) })
	if len(words) == 0 || len(words) > 16 {
		return Entry{}, false
	}
	for i, word := range words {
		if other, known := synonyms[word]; known {
			words[i] = other
		}
	}
	for i := range families {
		f := &families[i]
		rest, ok := without(words, strings.Fields(f.words))
		if !ok || f.words != "moving wash" && f.words != "moving spot" && f.words != "moving beam" && slices.Contains(words, "moving") {
			continue
		}
		if e, ok := f.entry(rest); ok {
			return e, true
		}
	}
	return Entry{}, false
}

// Names lists one name of every kind, for people who look for theirs.
func Names() []string {
	var names []string
	for _, f := range families {
		for _, light := range f.lights {
			var rest []string
			switch light {
			case nothing:
			case colours:
				rest = []string{"red", "green", "blue", "white"}
			default:
				rest = []string{light}
			}
			if e, ok := f.entry(rest); ok {
				names = append(names, e.Name)
			}
		}
	}
	return names
}

// without takes the words of a kind out of a name; ok is false if one is not in it.
func without(words, kind []string) (rest []string, ok bool) {
	rest = slices.Clone(words)
	for _, word := range kind {
		i := slices.Index(rest, word)
		if i < 0 {
			return nil, false
		}
		rest = slices.Delete(rest, i, i+1)
	}
	return rest, true
}

// entry makes the type of what a name says behind the kind.
func (f *family) entry(rest []string) (Entry, bool) {
	b := builder{
		light: f.lights[0], degrees: f.degrees, watts: f.watts, sources: map[string]string{},
		t: schema.Type{Known: schema.Known{}},
	}
	var numbers, watts, degrees []float64 // without a unit, and with one
	for _, word := range rest {
		switch {
		case f.lights[0] == colours:
			i := slices.IndexFunc(diodes, func(d diode) bool { return d.name == word })
			number, err := strconv.ParseFloat(word, 64)
			switch {
			case i >= 0:
				b.diodes = append(b.diodes, diodes[i])
			case err == nil:
				numbers = append(numbers, number)
			case strings.Trim(word, "rgbawulc") == "" && len(word) > 1: // rgbw, rgbaw
				for _, letter := range word {
					if i := slices.IndexFunc(diodes, func(d diode) bool { return strings.ContainsRune(letters[d.name], letter) }); i >= 0 {
						b.diodes = append(b.diodes, diodes[i])
					}
				}
			default:
				return Entry{}, false
			}
		case slices.Contains(f.lights, word):
			b.light = word
		default:
			into := &numbers
			if bare, ok := strings.CutSuffix(word, "w"); ok {
				word, into = bare, &watts
			} else if bare, ok := strings.CutSuffix(word, "°"); ok {
				word, into = bare, &degrees
			}
			number, err := strconv.ParseFloat(word, 64)
			if err != nil {
				return Entry{}, false
			}
			*into = append(*into, number)
		}
	}
	if !b.take(numbers, watts, degrees) {
		return Entry{}, false
	}
	if f.lights[0] == colours && len(b.diodes) == 0 {
		for _, i := range []int{0, 4, 6, 9} { // red, green, blue, white
			b.diodes = append(b.diodes, diodes[i])
		}
	}
	name := []string{f.words}
	switch b.light {
	case colours:
		for i, d := range b.diodes {
			if slices.ContainsFunc(b.diodes[:i], func(before diode) bool { return before.name == d.name }) {
				return Entry{}, false
			}
			name = append(name, d.name)
		}
	case tungsten:
		name = append(name, tungsten, plain(b.watts))
		if b.watts < b.degrees { // it would be read as the angle
			name[len(name)-1] += "w"
		}
	case nothing:
	default:
		name = append(name, b.light)
	}
	if f.degrees > 0 {
		name = append(name, plain(b.degrees))
	}
	f.make(&b)
	return Entry{Name: strings.Join(name, " "), About: f.about, Type: b.t, Sources: b.sources}, true
}

// letters are those by which the name of a fixture tells its emitters.
var letters = map[string]string{"red": "r", "green": "g", "blue": "b", "amber": "a", "white": "w", "violet": "u", "lime": "l", "cyan": "c"}

// take sorts the numbers of a name into watts and degrees: a filament has watts, and where
// no unit says which of two numbers they are, the larger.
func (b *builder) take(numbers, watts, degrees []float64) bool {
	const leastWatts = 100 // no stage lamp has less, and no beam that is sold by its angle is wider
	slices.Sort(numbers)
	if last := len(numbers) - 1; b.light == tungsten && len(watts) == 0 && last >= 0 && (len(numbers)+len(degrees) == 2 || numbers[last] >= leastWatts) {
		watts, numbers = numbers[last:], numbers[:last]
	}
	degrees = append(degrees, numbers...)
	if len(watts) > 1 || len(degrees) > 1 || len(watts) > 0 && b.light != tungsten || len(degrees) > 0 && b.degrees == 0 {
		return false
	}
	if len(watts) > 0 {
		b.watts = watts[0]
	}
	if len(degrees) > 0 {
		b.degrees = degrees[0]
	}
	within := func(value, least, most float64) bool { return value >= least && value <= most }
	return (len(watts) == 0 || within(b.watts, leastWatts, 10_000)) && (len(degrees) == 0 || within(b.degrees, 1, 170))
}

// Plain writes a number as people do.
func Plain(number float64) string { return plain(math.Round(number*100) / 100) }

// Number writes the number that stands under a key of a type; "" if it is none.
func Number(t schema.Type, key string) string {
	switch field := fieldOf(reflect.ValueOf(&t), key); value := field.Interface().(type) {
	case *float64:
		return Plain(*value)
	case *int:
		return strconv.Itoa(*value)
	}
	return ""
}

func plain(number float64) string { return strconv.FormatFloat(number, 'f', -1, 64) }

// builder makes the type of one entry.
type builder struct {
	light          string
	watts, degrees float64
	diodes         []diode
	t              schema.Type
	sources        map[string]string
}

func between(low, high float64) schema.Knowing {
	return schema.Knowing{Word: "assumed", Low: low, High: high}
}

// source says where what stands under a key comes from, for a key without range.
func (b *builder) source(key, word, source string) {
	b.t.Known[key] = schema.Knowing{Word: word}
	b.sources[key] = source
}

func (b *builder) number(key string, into **float64, value, low, high float64, source string) {
	*into = &value
	b.t.Known[key] = between(low, high)
	b.sources[key] = source
}

// led is a white LED engine: the light out of the fixture and its power.
func (b *builder) led(lumens, low, high, watts, lowWatts, highWatts float64) {
	switch b.light {
	case white:
		b.t.Source = "white-led"
		b.number("white_k", &b.t.WhiteK, 5600, 3000, 6500, memory+": stage whites are sold as 3000 to 3200 or 5600 to 6500 K")
	case tunable:
		b.t.Source = "tunable-led"
		b.t.WhiteRangeK = []float64{2700, 6500}
		b.source("white_range_k", "assumed", memory)
	default:
		return
	}
	b.number("flux_lm", &b.t.FluxLm, lumens, low, high, memory)
	b.number("watts", &b.t.Watts, watts, lowWatts, highWatts, memory)
	b.number("power_factor", &b.t.PowerFactor, 0.95, 0.9, 1, memory+": drivers over 25 W have to correct it (IEC 61000-3-2)")
	b.number("cri", &b.t.CRI, 90, 75, 97, memory)
}

// lampEfficacy is the light of a halogen stage lamp for a watt: 575 W with 16,500 lm
// at 3250 K and with 12,400 lm at 3050 K (long life), that is 29 and 22 lm/W; from memory.
const lampEfficacy, leastEfficacy, mostEfficacy = 25.0, 21.0, 29.0

// filament is a halogen lamp of which the fixture passes on a part.
func (b *builder) filament(part, least, most float64) {
	if b.light != tungsten {
		return
	}
	b.t.Source = "tungsten"
	b.t.Halogen = new(true)
	b.sources["halogen"] = memory + ": stage lamps over 250 W are halogen lamps"
	b.t.Known["halogen"] = schema.Knowing{Word: "assumed"}
	b.number("white_k", &b.t.WhiteK, 3200, 2900, 3250, memory+": long-life lamps 2950 to 3050 K, photographic ones 3200 K")
	b.number("flux_lm", &b.t.FluxLm, math.Round(b.watts*lampEfficacy*part), b.watts*leastEfficacy*least, b.watts*mostEfficacy*most,
		memory+": 21 to 29 lm for a watt of a halogen lamp, of which the optics pass on a part")
	b.number("watts", &b.t.Watts, b.watts, b.watts*0.97, b.watts*1.05, "its name; lamps keep to it within some percent, from memory")
	b.number("power_factor", &b.t.PowerFactor, 1, 1, 1, "a filament is a plain resistance")
	b.number("cri", &b.t.CRI, 99, 98, 100, "a filament is nearly the reference itself (CIE 13.3)")
	b.t.Slots = new(1)
	b.t.Known["slots"], b.sources["slots"] = between(1, 1), "a filament is one circuit of a dimmer"
}

// field is the spread of a beam: its field angle and the part of it that is the beam angle.
func (b *builder) field(degrees, low, high, part float64) {
	high = min(high, 175/degrees)
	b.number("field_deg", &b.t.FieldDeg, degrees, degrees*low, degrees*high, "its name, or the usual one of its kind from memory")
	b.number("beam_deg", &b.t.BeamDeg, degrees*part, degrees*part*low, min(degrees*part*high, 170), memory)
}

// zoom is the range of a zoom, as field angles; it is set by fixture.
func (b *builder) zoom(narrow, wide float64) {
	end := func(degrees float64) *schema.ZoomEnd {
		return &schema.ZoomEnd{BeamDeg: new(0.6 * degrees), FieldDeg: new(degrees)}
	}
	b.t.Zoom = &schema.ZoomRange{Narrow: end(narrow), Wide: end(wide)}
	b.source("zoom", "assumed", memory)
}

func (b *builder) can(what ...string) {
	if b.light == tunable {
		what = append(what, "white")
	}
	b.t.Can = what
	b.source("can", "assumed", "what its kind can do at the least, common practice")
}

func (b *builder) head(what ...string) {
	b.can(what...)
	b.t.Moving = new(true)
	b.source("moving", "assumed", "its kind")
}

// emitters is a colour-mixing engine; scale is its light against a can of 150 W.
func (b *builder) emitters(scale, watts, lowWatts, highWatts float64) {
	b.t.Source = "colour-led"
	sum := 0.0
	for _, d := range b.diodes {
		e := d.emitter(scale)
		sum += *e.FluxLm
		b.t.Emitters = append(b.t.Emitters, e)
	}
	b.source("emitters", "assumed", memory+": the middle of the usual bins of each colour")
	b.number("flux_lm", &b.t.FluxLm, sum, sum*0.4, sum*2.5, memory)
	b.number("watts", &b.t.Watts, watts, lowWatts, highWatts, memory)
	b.number("power_factor", &b.t.PowerFactor, 0.95, 0.9, 1, memory+": drivers over 25 W have to correct it (IEC 61000-3-2)")
}

// flags are the three filters of a subtractive mixer, full in; from memory.
func (b *builder) flags() {
	for _, f := range []struct {
		name               string
		x, y, transmission float64
	}{{"cyan", 0.17, 0.25, 0.25}, {"magenta", 0.32, 0.13, 0.12}, {"yellow", 0.45, 0.50, 0.75}} {
		b.t.Filters = append(b.t.Filters, &schema.Filter{Name: f.name, X: new(f.x), Y: new(f.y), Transmission: new(f.transmission)})
	}
	b.source("filters", "assumed", memory)
}

func (b *builder) machine(kind string, output, low, high, watts, lowWatts, highWatts float64) {
	b.t.Source = "none"
	b.t.Machine = &schema.Machine{Kind: kind, Fluid: "glycol", OutputMgH: &output}
	b.t.Known["machine"] = between(low, high) // of its output
	b.sources["machine"] = memory + fmt.Sprintf(": %s mg of aerosol in an hour at full, of glycols in water", plain(output))
	b.number("watts", &b.t.Watts, watts, lowWatts, highWatts, memory)
	b.number("power_factor", &b.t.PowerFactor, 1, 0.9, 1, "nearly all of it is a heater")
}
