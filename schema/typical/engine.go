package typical

import (
	"maps"
	"math"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// usualEngine are the emitters of a colour-mixing fixture of which nobody tells any. From memory.
var usualEngine = []string{"red", "green", "blue", "white"}

// engines gives usual emitters to the types that mix colours and tell what they give, and not of what: exports seldom do, and
// without them no colour of such a lamp would be known. Where cues mix by name, the emitters are those; a name that is none of the
// usual ones leaves the type as it is.
func engines(show *schema.Show) {
	var told map[string]map[string]bool // of all types; asked for when one is met that needs it
	for _, t := range show.Types {
		tells := t.FluxLm != nil || t.PeakCd != nil || t.Photometry != ""
		if t.Source != "colour-led" || len(t.Emitters) > 0 || len(t.Filters) > 0 || !tells {
			continue
		}
		if told == nil {
			told = mixedNames(show)
		}
		names := usualEngine
		if mixed := told[t.Name]; len(mixed) > 0 {
			names = slices.AppendSeq(slices.Clone(usualEngine[:3]), maps.Keys(mixed)) // three make any colour
		}
		isUsual := func(name string) bool {
			return slices.ContainsFunc(diodes, func(d diode) bool { return d.name == name })
		}
		if slices.ContainsFunc(names, func(name string) bool { return !isUsual(name) }) {
			continue
		}
		for _, d := range diodes {
			if slices.Contains(names, d.name) {
				t.Emitters = append(t.Emitters, d.emitter(1))
			}
		}
		known := maps.Clone(t.Known)
		if known == nil {
			known = schema.Known{}
		}
		known["emitters"] = schema.Knowing{Word: "assumed"}
		t.Known = known
	}
}

// mixedNames are the emitters that cues tell fixtures by name, by the type of the fixtures.
func mixedNames(show *schema.Show) map[string]map[string]bool {
	types := map[int][]string{} // by channel, which may stand for several
	for _, f := range show.Patch {
		types[f.Channel] = append(types[f.Channel], f.Type)
	}
	told, known := map[string]map[string]bool{}, map[string][]string{} // known are the types of a selection
	for _, cue := range show.Cues {
		for _, set := range cue.Set {
			if len(set.Mix)+len(set.MixPart) == 0 {
				continue
			}
			selected, met := known[set.Channels]
			if !met {
				channels, _ := show.Channels(set.Channels) // one that cannot be read has none
				for _, channel := range channels {
					for _, name := range types[channel] {
						if !slices.Contains(selected, name) {
							selected = append(selected, name)
						}
					}
				}
				known[set.Channels] = selected
			}
			for _, name := range selected {
				if told[name] == nil {
					told[name] = map[string]bool{}
				}
				for _, mix := range []map[string]float64{set.Mix, set.MixPart} {
					for emitter := range mix {
						told[name][emitter] = true
					}
				}
			}
		}
	}
	return told
}

// emitter is one of a fixture whose light is so many times that of a can of 150 W.
func (d diode) emitter(scale float64) *schema.Emitter {
	e := &schema.Emitter{Name: d.name, FluxLm: new(math.Round(d.lumens * scale))}
	if d.wavelength > 0 {
		e.WavelengthNm = new(d.wavelength)
	} else {
		e.X, e.Y = new(d.x), new(d.y)
	}
	return e
}
