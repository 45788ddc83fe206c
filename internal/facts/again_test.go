package facts

import (
	"fmt"
	"reflect"
	"strings"
	"testing"
	"unicode"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestMeasuredAgainIsMeasured: whatever one change touches, and whatever it leaves to be taken
// over, every fact of the changed show is what it is where nothing was measured before.
func TestMeasuredAgainIsMeasured(t *testing.T) {
	show := demo(t, "flawed")
	looks := tracking.Resolve(show)
	kept := Measure(show, looks).Keep()
	cue, lamp := show.Cues[len(show.Cues)/2], show.Patch[0]
	setting := func(from, until int) source.Ref { // the first of channels by their numbers
		for _, cue := range show.Cues[from:until] {
			for _, set := range cue.Set {
				if !strings.ContainsFunc(set.Channels, unicode.IsLetter) {
					return set.At
				}
			}
		}
		t.Fatalf("no cue of %d to %d sets a channel by its number", from, until)
		return source.Ref{}
	}
	edit := func(at source.Ref, field string, value any) []source.Edit {
		return []source.Edit{{At: at, Field: field, Value: value}}
	}
	changes := map[string][]source.Edit{
		"nothing at all":        nil,
		"an address":            edit(lamp.At, "address", "7.1"),
		"a circuit":             edit(lamp.At, "circuit", "side"),
		"a name":                edit(lamp.At, "name", "another"),
		"the white of a lamp":   edit(lamp.At, "white_k", 3200.0),
		"what a lamp is for":    edit(lamp.At, "purpose", "back"),
		"the length of a fade":  edit(cue.At, "in_s", 31.0),
		"the time of a cue":     edit(cue.At, "at_s", 17.0),
		"a level in the first":  edit(setting(0, 3), "level", 3.0),
		"a level in the last":   edit(setting(len(show.Cues)-5, len(show.Cues)), "level", 3.0),
		"a level in the middle": edit(setting(len(show.Cues)/2, len(show.Cues)), "level", 77.0),
		"the white of a camera": edit(show.Room.Cameras[0].At, "white_k", 4300.0),
		"a place":               edit(show.Room.Places[0].At, "x", -2.5),
		"a piece of the order":  edit(show.Order[1].At, "duration_s", 700.0),
	}
	for name, edits := range changes {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			changed, err := schema.Apply(show, edits)
			if err != nil {
				t.Fatal(err)
			}
			again, whole := MeasureAgain(changed, tracking.Again(changed, looks), kept), measured(changed)
			for _, kind := range KindNames() {
				a, b := again.Subjects(kind), whole.Subjects(kind)
				if len(a) != len(b) {
					t.Fatalf("%d of %s again, %d from the beginning", len(a), kind, len(b))
				}
				same, was := again.Same(kind), kept.Measured().Subjects(kind)
				for i := range a {
					if same != nil && !same[i] && len(edits) == 0 {
						t.Errorf("%s %v, cue %q: nothing has changed, and it counts as another", kind, a[i].Names(), a[i].Cue())
					}
					for _, word := range WordsOf(kind) {
						x, _ := ValueOf(a[i], word)
						y, _ := ValueOf(b[i], word)
						if same != nil && same[i] {
							if z, _ := ValueOf(was[i], word); !reflect.DeepEqual(x.Value, z.Value) {
								t.Errorf("%s %v, cue %q counts as the same: %s is %v and was %v", kind, a[i].Names(), a[i].Cue(), word, x.Value, z.Value)
							}
						}
						if !reflect.DeepEqual(x.Value, y.Value) || fmt.Sprint(a[i].Why(word)) != fmt.Sprint(b[i].Why(word)) {
							t.Errorf("%s %v, cue %q: %s is %v (%q) again, and %v (%q) from the beginning", kind, a[i].Names(), a[i].Cue(), word, x.Value, a[i].Why(word), y.Value, b[i].Why(word))
						}
					}
				}
			}
		})
	}
}

// TestFlashesAreTakenOver where neither the lamps that flash, nor the most light of the evening, nor the air and the beams
// are others: they are counted once for all that is tried.
func TestFlashesAreTakenOver(t *testing.T) {
	show := room{
		types: spotType + `, {"name": "hazer", "source": "none", "machine": {"kind": "hazer", "fluid": "glycol", "output_mg_h": 50000}}`,
		patch: fixture(1, "key", 0, -2, 5.6, "") + "," + fixture(2, "wash", 1, -2, 5.6, "") + `, {"channel": 3, "type": "hazer", "purpose": "haze"}`,
		cues: `{"cue": 1, "set": [{"channels": "1", "level": 90}, {"channels": "2", "level": 100, "effect": {"kind": "pulse", "rate_hz": 2}}]},
			{"cue": 2, "set": [{"channels": "1", "level": 50}, {"channels": "3", "level": 0}]}`,
	}.read(t)
	looks := tracking.Resolve(show)
	before := Measure(show, looks)
	kept := before.Keep()
	first, second := show.Cues[0].Set, show.Cues[1].Set
	edit := func(at source.Ref, field string, value any) []source.Edit {
		return []source.Edit{{At: at, Field: field, Value: value}}
	}
	dimmer := edit(second[0].At, "level", 40.0)
	for _, c := range []struct {
		about string
		edit  []source.Edit
		want  bool
	}{
		{"nothing", nil, true},
		{"the dimmer look", dimmer, true},
		{"the address of a lamp that does not flash", append(edit(show.Patch[0].At, "address", "1.1"), dimmer...), true},
		{"the address of one that does", append(edit(show.Patch[1].At, "address", "1.1"), dimmer...), false},
		{"the brightest look", edit(first[0].At, "level", 95.0), false},
		{"how bright it flashes", edit(first[1].At, "level", 90.0), false},
		{"the rate", edit(first[1].At, "effect", schema.Effect{Kind: "pulse", RateHz: new(3.0)}), false},
		{"where another lamp points", edit(show.Patch[0].At, "aimed_at", "x 0, y 2, z 1"), false},
		{"the air", edit(second[1].At, "level", 20.0), false},
		{"a camera", edit(show.Room.Cameras[0].At, "white_k", 4300.0), false},
	} {
		changed, err := schema.Apply(show, c.edit)
		if err != nil {
			t.Fatalf("%s: %v", c.about, err)
		}
		after := MeasureAgain(changed, tracking.Again(changed, looks), kept)
		a, b := before.back.evening.Flashes[0].Words, after.back.evening.Flashes[0].Words
		if len(a) != 1 || len(b) != 1 {
			t.Fatalf("%s: %q flash, and then %q", c.about, a, b)
		}
		if got := &a[0] == &b[0]; got != c.want {
			t.Errorf("%s is changed: flashes are taken over: %t", c.about, got)
		}
	}
}

// TestALookThatStandsBesideAnotherFull: a lamp that is dark in it is aimed from the edge of the wall into it, so that
// everything at full gives more than one and a half of the other, and the look gives less of it.
func TestALookThatStandsBesideAnotherFull(t *testing.T) {
	show := readShow(t, `{
		"room": {"places": [{"name": "in", "x": 3, "y": 0, "z": 0, "head_m": 4}], "surfaces": [{"name": "wall", "kind": "drape", "centre": {"x": 0, "y": 0, "z": 4}, "width_m": 12, "height_m": 8, "facing_deg": 0, "tilt_deg": 0}]},
		"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
		"patch": [`+lampAt(1, "wash", 0)+`,`+lampAt(2, "wash", 6)+`], "cues": [`+cueOf(1, `{"channels": "1", "level": 100}`)+`,`+cueOf(2, `{"channels": "1", "level": 0}, {"channels": "2", "level": 100}`)+`]}`)
	looks := tracking.Resolve(show)
	kept := Measure(show, looks).Keep()
	changed, err := schema.Apply(show, []source.Edit{{At: show.Patch[1].At, Field: "aimed_at", Value: "in"}})
	if err != nil {
		t.Fatal(err)
	}
	again := MeasureAgain(changed, tracking.Again(changed, looks), kept)
	before, after, want := kept.Measured().Looks[0].OutputPct, again.Looks[0].OutputPct, measured(changed).Looks[0].OutputPct
	if !isNear(before, 100/1.5, 0.005*100/1.5) || want == nil || *want > 60 || !isNear(after, *want, 1e-9) {
		t.Errorf("it gives %s %% of everything at full, and %s %% afterwards, not %s", factText(before), factText(after), factText(want))
	}
}
