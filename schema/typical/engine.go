package typical

import (
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
	for _, t := range show.Types {
		tells := t.FluxLm != nil || t.PeakCd != nil || t.Photometry != ""
		if t.Source != "colour-led" || len(t.Emitters) > 0 || len(t.Filters) > 0 || !tells {
			continue
		}
		names, ok := mixedNames(show, t)
		if !ok {
			continue
		}
		for _, d := range diodes {
			if slices.Contains(names, d.name) {
				t.Emitters = append(t.Emitters, d.emitter(1))
			}
		}
		known := schema.Known{"emitters": {Word: "assumed"}}
		for key, how := range t.Known {
			known[key] = how
		}
		t.Known = known
	}
}

// mixedNames are the emitters that cues tell fixtures of a type by name, with the three that make any colour; the usual ones where
// they tell none. ok is false where one of them is not known.
func mixedNames(show *schema.Show, t *schema.Type) (names []string, ok bool) {
	channels := map[int]bool{}
	for _, f := range show.Patch {
		if f.Type == t.Name {
			channels[f.Channel] = true
		}
	}
	told := map[string]bool{}
	for _, cue := range show.Cues {
		for _, set := range cue.Set {
			if len(set.Mix)+len(set.MixPart) == 0 {
				continue
			}
			list, err := show.Channels(set.Channels)
			if err != nil || !slices.ContainsFunc(list, func(c int) bool { return channels[c] }) {
				continue
			}
			for _, mix := range []map[string]float64{set.Mix, set.MixPart} {
				for name := range mix {
					told[name] = true
				}
			}
		}
	}
	if len(told) == 0 {
		return usualEngine, true
	}
	names = slices.Clone(usualEngine[:3])
	for name := range told {
		if !slices.ContainsFunc(diodes, func(d diode) bool { return d.name == name }) {
			return nil, false
		}
		names = append(names, name)
	}
	return names, true
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
