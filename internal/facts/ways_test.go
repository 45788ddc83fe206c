package facts

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestTwoCamerasAreHeldAgainstEachOther: 5000 and 4000 K are 200 and 250 mired; half the sensitivity is a stop.
func TestTwoCamerasAreHeldAgainstEachOther(t *testing.T) {
	for _, c := range []struct {
		about, main, other string
		apart, stops       string // or what is missing
		same, comparable   bool
	}{
		{"whites", `"white_k": 5000`, `"white_k": 4000`, "50", "", false, true},
		{"no white of the other", `"white_k": 5000`, `"note": ""`, `the white balance of the camera "two"`, "", false, true},
		{"no white of the main one", `"note": ""`, `"white_k": 5000`, `the white balance of the camera "one"`, "", false, true},
		{"no white of either", `"note": ""`, `"note": ""`, `the white balance of the camera "two"; the white balance of the camera "one"`, "", false, true},
		{"the other finds its own white", `"white_k": 5000`, `"white_k": 4000, "auto_white": true`, `a white set by hand on the camera "two", which finds its own`, "", false, true},
		{"the main one finds its own white", `"white_k": 5000, "auto_white": true`, `"white_k": 4000`, `a white set by hand on the camera "one", which finds its own`, "", false, true},
		{"one make", `"white_k": 5000, "make": "a"`, `"white_k": 4000, "make": "a"`, "50", "", true, true},
		{"two makes", `"white_k": 5000, "make": "a"`, `"white_k": 4000, "make": "b"`, "50", "", false, false},
		{"one of two makes measured", `"white_k": 5000, "make": "a"`, `"white_k": 4000, "make": "b", "known": {"white_k": "measured"}`, "50", "", false, false},
		{"two makes, both measured", `"white_k": 5000, "make": "a", "known": {"white_k": "measured"}`, `"white_k": 4000, "make": "b", "known": {"white_k": "measured"}`, "50", "", false, true},
		{"exposures", `"white_k": 5000, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800`, `"white_k": 5000, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400`, "0", "1", false, true},
		{"an exposure that is not known", `"white_k": 5000, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800`, `"white_k": 5000, "aperture_f": 4`, "0", `the aperture, shutter and sensitivity of the camera "two"`, false, true},
		{"an exposure that it finds", `"white_k": 5000`, `"white_k": 5000, "auto_exposure": true`, "0", `an exposure set by hand on the camera "two", which finds its own`, false, true},
		{"an exposure that the main one finds", `"white_k": 5000, "auto_exposure": true`, `"white_k": 5000`, "0", `an exposure set by hand on the camera "one", which finds its own`, false, true},
	} {
		show := readShow(t, fmt.Sprintf(`{"room": {"cameras": [{"name": "two", %s}, {"name": "one", "role": "main", %s}]}}`, c.other, c.main))
		list := measured(show).Cameras
		two, one := list[0], list[1]
		if !one.IsMain || two.IsMain || *one.WhiteApart != 0 || *one.ExposureApart != 0 || one.Comparable == nil || !*one.Comparable {
			t.Errorf("%s: the main one is %+v", c.about, one)
		}
		said := func(fact string, value *float64) string {
			if value == nil {
				return strings.Join(two.Why(fact), "; ")
			}
			return fmt.Sprintf("%.9g", *value)
		}
		if got := said("white_apart_mired", two.WhiteApart); got != c.apart {
			t.Errorf("%s: apart %s, not %s", c.about, got, c.apart)
		}
		if got := said("exposure_apart_stops", two.ExposureApart); c.stops != "" && got != c.stops {
			t.Errorf("%s: %s stops, not %s", c.about, got, c.stops)
		}
		if two.SameMake != c.same || (two.Comparable != nil) != c.comparable {
			t.Errorf("%s: of one make %t, comparable %t", c.about, two.SameMake, two.Comparable != nil)
		}
	}
}

// TestWhyALookComesLate: because its cue is called late, or because its light waits; of the parts of the cue the one that
// is as late as the look, and of the two reasons the longer.
func TestWhyALookComesLate(t *testing.T) {
	part := func(at, delay float64) *schema.Cue { return &schema.Cue{AtS: &at, DelayS: &delay} }
	for _, c := range []struct {
		about         string
		late          float64
		parts         []*schema.Cue
		called, waits int // which of the parts; -1 for none
	}{
		{"called late", 20, []*schema.Cue{part(20, 0)}, 0, -1}, {"waits", 20, []*schema.Cue{part(0, 20)}, -1, 0}, {"both alike", 20, []*schema.Cue{part(10, 10)}, 0, -1},
		{"more of it waits", 20, []*schema.Cue{part(8, 12)}, -1, 0}, {"another part", 20, []*schema.Cue{part(5, 0), part(20, 0)}, 1, -1},
		{"not late", 0, []*schema.Cue{part(0, 0)}, -1, -1}, {"none of its parts", 20, []*schema.Cue{part(5, 0)}, -1, -1}, {"says nothing", 20, []*schema.Cue{{}}, -1, -1},
	} {
		look := &Look{look: &tracking.Look{Parts: c.parts}, cueWords: cueWords{Number: "4"}}
		p := &Person{LateS: c.late, look: &Look{around: &around{late: look}}}
		change := &Change{LateS: c.late, look: look}
		if (change.LateCue() != nil) != (p.LateCue() != nil) || (change.DelayedCue() != nil) != (p.DelayedCue() != nil) {
			t.Errorf("%s: the change into it says otherwise", c.about)
		}
		for reason, got := range map[int]*Cue{c.called: p.LateCue(), c.waits: p.DelayedCue()} {
			if c.called == c.waits {
				got = p.LateCue()
			}
			if (got != nil) != (reason >= 0) || got != nil && (got.cue != c.parts[reason] || got.Number != "4") {
				t.Errorf("%s: %+v, not part %d", c.about, got, reason)
			}
		}
	}
	p := &Person{LateS: 0, look: &Look{around: &around{late: &Look{look: &tracking.Look{Parts: []*schema.Cue{part(0, 1)}}}}}}
	if p.LateCue() != nil || p.DelayedCue() != nil {
		t.Error("what is not late has a reason")
	}
}

// TestWhichSkinsAreTooDark: brown skin gives back 0.16 of its light and fair skin 0.36, 1.17 stops more.
func TestWhichSkinsAreTooDark(t *testing.T) {
	for over, want := range map[float64]string{2: "brown or dark skin", 1.9: "brown or dark skin", 1.8: "dark skin"} {
		if got := (&Person{personLight: &personLight{BesideLight: &over}}).SkinsOver(3); got != want {
			t.Errorf("%g stops over fair skin: %s, not %s", over, got, want)
		}
	}
	if got := (&Person{personLight: &personLight{}}).SkinsOver(3); got != "dark skin" {
		t.Errorf("where nobody knows: %s", got)
	}
}

// TestWhatIsParked: what no look lights and a cue puts at zero by itself, or with others that no look lights.
func TestWhatIsParked(t *testing.T) {
	for cue, want := range map[string][]int{
		`{"channels": "1", "level": 50}`: nil, `{"channels": "1", "level": 50}, {"channels": "2", "level": 0}`: {2}, `{"channels": "1", "level": 50}, {"channels": "2-3", "level": 0}`: {2, 3},
		`{"channels": "1", "level": 50}, {"channels": "all", "level": 0}`: nil, `{"channels": "1", "level": 50}, {"channels": "2", "mix": {"red": 100}}`: nil,
	} {
		m := measured(readShow(t, `{"patch": [{"channel": 1}, {"channel": 2}, {"channel": 3}], "cues": [{"cue": 1, "set": [`+cue+`]}, {"cue": 2, "set": [{"channels": "1", "level": 60}]}]}`))
		var got []int
		for _, f := range m.Fixtures {
			if f.IsParked() {
				got = append(got, f.Channel)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v are parked, not %v", cue, got, want)
		}
	}
	m := measured(readShow(t, `{"patch": [{"channel": 1}, {"channel": 2}], "cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 0}]}, {"cue": 2, "set": [{"channels": "1", "level": 60}]}, {"cue": 3, "set": [{"channels": "2", "level": 0}]}]}`))
	if m.Fixtures[0].IsParked() || !m.Fixtures[1].IsParked() {
		t.Error("what is at zero with one that is lit, and later by itself, is parked")
	}
}

// TestWhereALampIsChanged: in the setting that gave it what is changed, for itself alone; else in the patch, where that has
// a word for it, or in the cue.
func TestWhereALampIsChanged(t *testing.T) {
	show := readShow(t, `{"types": [{"name": "lamp", "source": "tunable-led", "white_k": 5600, "white_range_k": [2700, 6500], "beam_deg": 20, "field_deg": 30, "flux_lm": 1000}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "key"}, {"channel": 2, "type": "lamp", "purpose": "key"}],
		"cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 50}]}, {"cue": 2, "set": [{"channels": "1", "white_k": 3200}]}]}`)
	m := measured(show)
	lamp := lampsOf(m, 1)[0]
	level, white, cue, line := show.Cues[0].Set[0].At, show.Cues[1].Set[0].At, show.Cues[1].At, show.Patch[0].At
	for _, c := range []struct {
		field string
		value any
		at    source.Ref
		only  []int
	}{
		{"level", 60.0, level, []int{1}}, {"white_k", 4000.0, white, []int{1}}, {"purpose", "back", line, nil}, {"address", "1.1", line, nil},
		{"effect", nil, cue, []int{1}}, {"zoom_deg", 30.0, line, nil},
	} {
		edits := lamp.Edits(c.field, c.value)
		if len(edits) != 1 || edits[0].At != c.at || edits[0].Field != c.field || !slices.Equal(edits[0].Only, c.only) {
			t.Errorf("%s: %+v", c.field, edits)
		}
	}
	if at, ok := lamp.SetBy("level"); !ok || at != level {
		t.Errorf("its level was set at %v, %t", at, ok)
	}
	if _, ok := lamp.SetBy("zoom_deg"); ok {
		t.Error("what nobody set was set somewhere")
	}
	if got := Channels([]*Lamp{lamp, lampsOf(m, 0)[1]}); got != "1, 2" {
		t.Errorf("two lamps are %s", got)
	}
}

// TestSubjectsOfWhichNothingIsTold can be made of each kind, copied, and changed without their first.
func TestSubjectsOfWhichNothingIsTold(t *testing.T) {
	for kind, word := range map[string]string{"look": "output_pct", "person": "face_lx", "change": "fade_s", "camera": "white_k", "segment": "darker_other_stops"} {
		one := New(kind)
		two := Copy(one)
		Set(two, word, 4)
		Set(two, "no_such_word", 5)
		was, _ := ValueOf(one, word)
		is, ok := ValueOf(two, word)
		if number := fmt.Sprint(is.Value); !ok || number != "4" || fmt.Sprint(was.Value) == "4" {
			t.Errorf("%s of a %s is %v, and %v in a copy", word, kind, was.Value, is.Value)
		}
	}
	if New("nothing") != nil {
		t.Error("there is a kind that there is not")
	}
}
