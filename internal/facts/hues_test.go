package facts

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"
)

// stripe is a lamp of one emitter, so that its chromaticity and lumens are those
// of the emitter.
type stripe struct {
	x, y, lumens float64
}

// Colours of usual emitters: common practice, no source.
var (
	redLight   = stripe{0.693, 0.306, 1000}
	amberLight = stripe{0.560, 0.435, 1000}
	greenLight = stripe{0.170, 0.700, 1000}
	blueLight  = stripe{0.140, 0.050, 1000}
	whiteLight = stripe{0.3324, 0.3475, 1000} // near 5500 K
)

func (s stripe) of(lumens float64) stripe { return stripe{s.x, s.y, lumens} }

// stripes is a look of lamps without positions: they count by what leaves them.
func stripes(t stopper, lamps []stripe, order []int, more string) *Look {
	t.Helper()
	var types, patch []string
	for i, s := range lamps {
		types = append(types, fmt.Sprintf(`{"name": "type %d", "source": "colour-led", "emitters": [{"name": "one", "x": %v, "y": %v, "flux_lm": %v}]}`, i, s.x, s.y, s.lumens))
	}
	for _, i := range order {
		patch = append(patch, fmt.Sprintf(`{"channel": %d, "type": "type %d", "purpose": "wash"}`, i+1, i))
	}
	looks := measured(readShow(t, fmt.Sprintf(`{"types": [%s], "patch": [%s], "order": [{"name": "song", "start_cue": 1, "palette": ["#0000ff"]}],
		"cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 100, "mix": {"one": 100}}%s]}]}`,
		strings.Join(types, ","), strings.Join(patch, ","), len(lamps), more))).Looks
	return looks[0]
}

func inOrder(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func TestHuesOfALook(t *testing.T) {
	for _, test := range []struct {
		name         string
		lamps        []stripe
		main, accent int
		coloured     int
		names, odd   string
		redMain      bool
	}{
		{"white alone", []stripe{whiteLight, whiteLight}, 0, 0, 0, "", "", false},
		{"white is set aside", []stripe{whiteLight.of(1e6), redLight}, 1, 0, 1, "red", "", true},
		{"two and an accent", []stripe{redLight.of(500), blueLight.of(400), greenLight.of(100)}, 2, 1, 3, "red, blue and green", "", true},
		{"a trace that nobody sees", []stripe{redLight.of(995), blueLight.of(5)}, 1, 0, 2, "red", "", true},
		{"one too many", []stripe{redLight.of(400), blueLight.of(350), greenLight.of(250)}, 3, 0, 3, "red, blue and green", "3", true},
	} {
		t.Run(test.name, func(t *testing.T) {
			l := stripes(t, test.lamps, inOrder(len(test.lamps)), "")
			if l.MainHues == nil {
				t.Fatalf("unknown: %q", l.Why("main_hue_count"))
			}
			if *l.MainHues != test.main || *l.AccentHues != test.accent || *l.Coloured != test.coloured || *l.HueNames != test.names || wordsText(l.OddLamps(2, 1)) != test.odd || *l.RedMain != test.redMain {
				t.Errorf("%d main, %d accents, %d coloured, %q, odd %q, red %v", *l.MainHues, *l.AccentHues, *l.Coloured, *l.HueNames, wordsText(l.OddLamps(2, 1)), *l.RedMain)
			}
		})
	}
}

// wordsText writes the channels of lamps the short way.
func wordsText(lamps []*Lamp) string {
	var channels []int
	for _, l := range lamps {
		channels = append(channels, l.Channel)
	}
	return schema.FormatChannels(channels)
}

// hueFacts are the facts about hues that do not name lamps.
func hueFacts(l *Look) string {
	var text strings.Builder
	for _, word := range []string{"coloured_count", "main_hue_count", "accent_hue_count", "hue_names", "red_is_main"} {
		fact, _ := ValueOf(l, word)
		fmt.Fprintf(&text, "%s %v; ", word, fact.Value)
	}
	return text.String()
}

func drawStripes(t *rapid.T) []stripe {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) stripe {
		lamp := rapid.SampledFrom([]stripe{redLight, amberLight, greenLight, blueLight, whiteLight}).Draw(t, "colour")
		return lamp.of(float64(rapid.IntRange(1, 5000).Draw(t, "lumens")))
	}), 1, 8).Draw(t, "lamps")
}

// TestHuesKeep: an unlit fixture, another order of the patch and one dimmer for
// all change nothing.
func TestHuesKeep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lamps := drawStripes(t)
		l := stripes(t, lamps, inOrder(len(lamps)), "")
		others := map[string]*Look{
			"another order": stripes(t, lamps, rapid.Permutation(inOrder(len(lamps))).Draw(t, "order"), ""),
			"an unlit one":  stripes(t, append(lamps[:len(lamps):len(lamps)], greenLight), inOrder(len(lamps)+1), fmt.Sprintf(`, {"channels": "%d", "level": 0}`, len(lamps)+1)),
			"dimmed":        stripes(t, lamps, inOrder(len(lamps)), fmt.Sprintf(`, {"channels": "1-%d", "level": 7}`, len(lamps))),
		}
		for name, other := range others {
			if hueFacts(l) != hueFacts(other) {
				t.Fatalf("%s: %s\nbefore: %s", name, hueFacts(other), hueFacts(l))
			}
			// Sums of another order differ in their last digits.
			if l.NearestHue != nil && !isNear(other.NearestHue, *l.NearestHue, 1e-9) {
				t.Fatalf("%s: hue %s, before %s", name, factText(other.NearestHue), factText(l.NearestHue))
			}
			if l.PaletteApart != nil && !isNear(other.PaletteApart, *l.PaletteApart, 1e-9) {
				t.Fatalf("%s: %s degrees from the palette, before %s", name, factText(other.PaletteApart), factText(l.PaletteApart))
			}
		}
	})
}

// TestHuesThatAreEqualStaySo: ten lumens of red, and one and nine of blue, are halves at
// any level.
func TestHuesThatAreEqualStaySo(t *testing.T) {
	lamps := []stripe{{0.693, 0.306, 10}, {0.14, 0.05, 1}, {0.14, 0.05, 9}}
	full := stripes(t, lamps, inOrder(3), "")
	for level := 1; level < 100; level++ {
		if dimmed := stripes(t, lamps, inOrder(3), fmt.Sprintf(`, {"channels": "1-3", "level": %d}`, level)); hueFacts(dimmed) != hueFacts(full) {
			t.Fatalf("at %d %%: %s\nat full: %s", level, hueFacts(dimmed), hueFacts(full))
		}
	}
}

func TestUnknownHues(t *testing.T) {
	l := measured(readShow(t, `{"types": [{"name": "wash", "source": "colour-led", "emitters": [{"name": "red", "x": 0.69, "y": 0.3}]}],
		"patch": [{"channel": 1, "type": "wash"}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 100}]}]}`)).Looks[0]
	for _, word := range []string{"coloured_count", "main_hue_count", "accent_hue_count", "hue_names", "nearest_kept_hue_deg", "red_is_main", "palette_apart_deg"} {
		fact, _ := ValueOf(l, word)
		if want := []string{`the flux of the emitter "red" of the type "wash"`}; fact.Value != nil || !reflect.DeepEqual(l.Why(word), want) {
			t.Errorf("%s is %v, missing %q, want %q", word, fact.Value, l.Why(word), want)
		}
	}
}

// stage is a hall of which all is known: a drape, a camera before it, a place with
// a person, and two washes of 1000 lm each, one blue to the drape and one red to
// wherever it is told.
func redStage(t stopper, redAim, more, people string) *Look {
	t.Helper()
	return measured(readShow(t, fmt.Sprintf(`{
		"room": {
			"places": [{"name": "lectern", "x": 0, "y": 2, "head_m": 1.6}],
			"cameras": [{"name": "one", "x": 0, "y": -12, "z": 1.6}],
			"surfaces": [{"name": "drape", "kind": "drape", "centre": {"x": 0, "y": 6, "z": 3}, "width_m": 12, "height_m": 6, "reflectance": 0.1}]},
		"types": [
			{"name": "red", "source": "colour-led", "beam_deg": 20, "field_deg": 30, "emitters": [{"name": "one", "x": 0.693, "y": 0.306, "flux_lm": 1000}]},
			{"name": "blue", "source": "colour-led", "beam_deg": 20, "field_deg": 30, "emitters": [{"name": "one", "x": 0.14, "y": 0.05, "flux_lm": 1000}]}],
		"patch": [
			{"channel": 1, "type": "red", "purpose": "wash", "hung_at": {"x": 0, "y": -1, "z": 4}, "aimed_at": %s},
			{"channel": 2, "type": "blue", "purpose": "wash", "hung_at": {"x": 0, "y": 1, "z": 4}, "aimed_at": {"x": 0, "y": 6, "z": 3}}%s],
		"order": [{"name": "song", "start_cue": 1, "people": [%s]}],
		"cues": [{"cue": 1, "set": [{"channels": "all", "level": 100, "mix": {"one": 100}}]}]}`, redAim, more, people))).Looks[0]
}

// TestHuesArrive: lamps count by what arrives on people and, as cameras see it,
// on surfaces and the floor.
func TestHuesArrive(t *testing.T) {
	for _, test := range []struct {
		name, redAim, more, people string
		main, accent               int
		names                      string
	}{
		{"both on the drape", `{"x": 0, "y": 6, "z": 3}`, "", "", 2, 0, "red and blue"},
		// A floor that a camera sees from the side shows little of itself.
		{"red to the floor", `{"x": 0, "y": 2, "z": 0}`, "", "", 1, 0, "blue"},
		// Past the drape and the stage there is nothing: what the red one is for is
		// not described, and both count by what leaves them.
		{"red to nowhere", `{"x": 0, "y": -30, "z": 30}`, "", "", 2, 0, "red and blue"},
	} {
		t.Run(test.name, func(t *testing.T) {
			l := redStage(t, test.redAim, test.more, test.people)
			if l.MainHues == nil {
				t.Fatalf("unknown: %q", l.Why("main_hue_count"))
			}
			if *l.MainHues != test.main || *l.HueNames != test.names && *l.HueNames != "blue and red" {
				t.Errorf("%d main, %d accents, %q", *l.MainHues, *l.AccentHues, *l.HueNames)
			}
		})
	}
	t.Run("a beam in haze counts by all of it", func(t *testing.T) {
		beam := `, {"channel": 3, "type": "red", "purpose": "beam", "hung_at": {"x": 0, "y": 5, "z": 0.5}, "aimed_at": {"x": 0, "y": 4, "z": 30}}`
		l := redStage(t, `{"x": 0, "y": 2, "z": 0}`, beam, "")
		if *l.MainHues != 2 {
			t.Errorf("%d main, %q", *l.MainHues, *l.HueNames)
		}
	})
}

// TestArriving holds the lumens of a lamp by hand: all of a narrow beam lands on a
// large drape, and shows by the cosine to the camera; a person in it adds the
// light on face and shoulders.
func TestArriving(t *testing.T) {
	show := readShow(t, `{
		"room": {
			"places": [{"name": "lectern", "x": 0, "y": 2, "head_m": 1.6}],
			"cameras": [{"name": "one", "x": 0, "y": -4, "z": 3}],
			"surfaces": [{"name": "drape", "kind": "drape", "centre": {"x": 0, "y": 6, "z": 3}, "width_m": 6, "height_m": 4, "reflectance": 0.1}]},
		"types": [{"name": "red", "source": "colour-led", "beam_deg": 20, "field_deg": 30, "emitters": [{"name": "one", "x": 0.693, "y": 0.306, "flux_lm": 1000}]}],
		"patch": [{"channel": 1, "type": "red", "purpose": "wash", "hung_at": {"x": 0, "y": 0, "z": 3}, "aimed_at": {"x": 0, "y": 6, "z": 3}}],
		"order": [{"name": "song", "start_cue": 1, "people": ["lectern"]}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50, "mix": {"one": 100}}]}]}`)
	m := measured(show)
	lamp := lampsOf(m, 0)[0].lamp
	s := lamp.Beam
	if s == nil || s.Missing != "" {
		t.Fatal("the beam is not laid out")
	}
	// The drape holds the whole of the beam but what lies beyond about twice the
	// field; the midpoint rule on a grid of 0.5 m is within a few percent.
	if s.Landed < 950 || s.Landed > 1030 {
		t.Errorf("%v of 1000 lm land on the drape", s.Landed)
	}
	// Over the lit spot of some 3 m, 10 m away, the cosine is between 0.95 and 1.
	if s.Shown < 0.95*s.Landed || s.Shown > s.Landed {
		t.Errorf("%v of %v lm show to the camera", s.Shown, s.Landed)
	}
}

// TestHowLongTheSetIsColoured: half a second of red, and later twenty more.
func TestHowLongTheSetIsColoured(t *testing.T) {
	const red, off = `{"channels": "1", "level": 100, "mix": {"one": 100}}`, `{"channels": "1", "level": 0}`
	cue := func(number int, at float64, set string) string {
		return fmt.Sprintf(`{"cue": %d, "segment": "Song", "at_s": %g, "set": [%s]}`, number, at, set)
	}
	show := readShow(t, `{"types": [{"name": "one", "source": "colour-led", "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "emitters": [{"name": "one", "x": 0.68, "y": 0.31, "flux_lm": 100}]}],
		"patch": [{"channel": 1, "type": "one", "purpose": "wash"}], "order": [{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 100}],
		"cues": [`+strings.Join([]string{cue(1, 0, red), cue(2, 0.5, off), cue(3, 40, red), cue(4, 60, off)}, ",")+`]}`)
	if got := measured(show).Show; !isNear(got.ColouredS, 20.5, 1e-9) {
		t.Errorf("%s s (%q)", factText(got.ColouredS), got.Why("coloured_s"))
	}
}
