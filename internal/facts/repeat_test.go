package facts

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawReprise draws an evening whose segments come back to the same looks.
func drawReprise(t *rapid.T) string {
	pick := func(what string, of ...string) string { return rapid.SampledFrom(of).Draw(t, what) }
	var looks []string // settings
	for range rapid.IntRange(1, 2).Draw(t, "looks") {
		looks = append(looks, fmt.Sprintf(`{"channels": "1-2", "level": %s}, {"channels": "3-4", "level": %s, "mix": {"red": %s, "blue": 50}}, {"channels": "5", "level": %s}`,
			pick("key", "0", "30", "60"), pick("wash", "0", "50", "100"), pick("red", "0", "100"), pick("back", "0", "40")))
	}
	var cues, order []string
	number := 0
	for s := range rapid.IntRange(1, 3).Draw(t, "segments") {
		segment := fmt.Sprintf(`{"name": "part %d", "kind": %q, "start_cue": %d, "duration_s": 300, "people": %s%s}`, s, pick("kind", "song", "song", "talk"), number+1,
			pick("people", `["left"]`, `["left", "right"]`, `[]`), pick("more", "", "", `, "palette": ["#ff0000"]`, `, "meant": ["faces-dark"]`, `, "lead": ["left"]`, `, "mood": "loud"`))
		order = append(order, segment)
		for k := range rapid.IntRange(2, 6).Draw(t, "cues") {
			number++
			more := pick("also", "", "", "", "", "", "", `, "at_s": 20`, `, "people": ["right"]`, `, "meant": ["empty-place-lit"]`, `, "screens": [{"screen": "wall", "drive_pct": 20}]`, `, "screens": [{"screen": "wall", "content": "bright"}]`, `, "walks": ["aisle"]`)
			if k == 0 && more == "" {
				more = pick("first at", "", `, "at_s": 30`)
			}
			cues = append(cues, fmt.Sprintf(`{"cue": %d, "set": [%s]%s}`, number, pick("look", looks...), more))
		}
	}
	flux := pick("flux", "", `, "flux_lm": 9000`)
	rest := pick("rest", "", "", "", "", `, "readings": [{"place": "left", "cue": 2, "lx": 300}]`)
	room := pick("room", "", "", "", `, "ambient": [{"face_lx": 5}]`, `, "paths": [{"name": "aisle", "from": "left", "to": "right", "steps": [{"x": -1, "y": 3, "z": 0}, {"x": 1, "y": 3, "z": 0}]}]`, `, "drop": 1`)
	camera := pick("camera", "", `{"name": "main", "x": 0, "y": -12, "z": 1.6, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400}`)
	return fmt.Sprintf(`{
"types": [{"name": "spot", "source": "white-led", "white_k": 5000%s, "beam_deg": 25}, {"name": "wash", "source": "colour-led", "beam_deg": 40, "emitters": [
  {"name": "red", "x": 0.7, "y": 0.3, "flux_lm": 900}, {"name": "blue", "x": 0.15, "y": 0.05, "flux_lm": 400}]}],
"patch": [{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": -2, "y": -3, "z": 5}, "aimed_at": "left"}, {"channel": 2, "type": "spot", "purpose": "key", "hung_at": {"x": 2, "y": -3, "z": 5}, "aimed_at": "right"},
  {"channel": 3, "type": "wash", "purpose": "wash", "hung_at": {"x": -1, "y": 1, "z": 5}, "aimed_at": {"x": 0, "y": 7, "z": 2}}, {"channel": 4, "type": "wash", "purpose": "wash", "hung_at": {"x": 1, "y": 1, "z": 5}, "aimed_at": {"x": 0, "y": 7, "z": 2}},
  {"channel": 5, "type": "spot", "purpose": "back", "hung_at": {"x": 0, "y": 6, "z": 5}, "aimed_at": "left"}],
"room": {"ambient_lx": 1, "cameras": [%s], "places": [{"name": "left", "x": -1, "y": 3, "z": 0, "head_m": 1.6}, {"name": "right", "x": 1, "y": 3, "z": 0, "head_m": 1.6}],
  "surfaces": [{"name": "wall", "kind": "emissive", "centre": {"x": 0, "y": 7, "z": 3}, "width_m": 6, "height_m": 3, "facing_deg": 0, "white_k": 6500, "peak_cd_m2": 800, "drive_pct": 10}]%s},
"order": [%s], "cues": [%s]%s}`, flux, camera, room, strings.Join(order, ", "), strings.Join(cues, ", "), rest)
}

// plainly is all that can be read off subjects, in words.
func plainly(m *Measured, kind string) (list []string) {
	for _, s := range m.Subjects(kind) {
		line := fmt.Sprint(s.Names(), " in ", s.Cue(), " at ", s.Ref().Place().Span())
		for _, word := range WordsOf(kind) {
			fact, _ := ValueOf(s, word)
			b := s.Basis(word)
			line += fmt.Sprintf("\n%s: %v, %q, %s %q", word, fact.Value, s.Why(word), b.Known, b.Rests)
			if b.Range != nil {
				line += fmt.Sprint(" ", *b.Range)
			}
		}
		list = append(list, line)
	}
	return list
}

// What is measured of looks that come back is what measuring each of them gives.
func TestLooksThatComeBack(t *testing.T) {
	repeats := 0
	rapid.Check(t, func(t *rapid.T) {
		show := readShow(t, drawReprise(t))
		looks := tracking.Resolve(show)
		measure := func(slowly bool) *Measured {
			m := &Measured{slowly: slowly}
			m.back = &back{rig: stage.NewRig(show, looks, nil), all: m}
			m.measureLooks(m.back.rig, looks, nil, nil)
			for i, first := range m.firsts(show, looks) {
				if i != first {
					repeats++
				}
			}
			return m
		}
		fast, slow := measure(false), measure(true)
		for _, kind := range []string{"look", "person", "showing"} {
			wanted, got := plainly(slow, kind), plainly(fast, kind)
			if len(wanted) != len(got) {
				t.Fatalf("%d of %s, not %d", len(got), kind, len(wanted))
			}
			for i := range wanted {
				if got[i] != wanted[i] {
					t.Fatal(cmp.Diff(strings.Split(wanted[i], "\n"), strings.Split(got[i], "\n")))
				}
			}
		}
		place := func(p *Person) string {
			if p == nil {
				return ""
			}
			return p.Place + " in " + p.look.Number
		}
		for i, l := range fast.Looks {
			s := slow.Looks[i]
			for _, pair := range [][2]*Person{{l.shaded, s.shaded}, {l.dimmest, s.dimmest}, {l.brightest, s.brightest}, {l.darker, s.darker}, {l.brighter, s.brighter}} {
				if place(pair[0]) != place(pair[1]) {
					t.Fatalf("cue %s: %s, and measured slowly %s", l.Number, place(pair[0]), place(pair[1]))
				}
			}
			if l.look != s.look || l.allDark != s.allDark || fmt.Sprint(l.coming, l.moving, l.early, l.passes, l.tints) != fmt.Sprint(s.coming, s.moving, s.early, s.passes, s.tints) {
				t.Fatalf("cue %s is told otherwise", l.Number)
			}
		}
	})
	if repeats == 0 {
		t.Error("no look ever came back")
	}
	t.Log(repeats, "looks came back")
}
