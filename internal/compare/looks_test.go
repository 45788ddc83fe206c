package compare_test

import (
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

const rig = `{
  "types": [{"name": "white spot", "source": "fixed-white", "white_k": 3200, "beam_deg": 20, "field_deg": 30, "flux_lm": 5000, "slots": 1}],
  "patch": [
    {"channel": 1, "type": "white spot", "address": "1.1", "purpose": "key"}, {"channel": 2, "type": "white spot", "address": "1.2", "purpose": "key"},
    {"channel": 3, "type": "white spot", "address": "1.3", "purpose": "key"}, {"channel": 5, "type": "white spot", "address": "1.5", "purpose": "key"}],
  "cues": CUES}`

// state is a show as it was measured, with what its cues can be recognised by.
type state struct {
	*facts.Measured
	things match.Things
}

func measure(t testing.TB, text string) state {
	t.Helper()
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(text)})
	if err != nil || loaded.Unreadable {
		t.Fatal(err, loaded.Findings)
	}
	return stateOf(loaded)
}

func stateOf(loaded loaders.Result) state {
	cues := tracking.Resolve(loaded.Show)
	return state{facts.Measure(loaded.Show, cues), match.Of(loaded.Show, cues)}
}

func looks(old, now state) ([]outcome.LookChange, int) {
	return compare.Looks(old.Measured, now.Measured, match.Pair(old.things, now.things))
}

func withCues(t testing.TB, cues string) state {
	return measure(t, strings.Replace(rig, "CUES", cues, 1))
}

func TestLooks(t *testing.T) {
	old := withCues(t, `[
    {"cue": 1, "name": "start", "set": [{"channels": "1-3,5", "level": 50}]},
    {"cue": 2, "name": "middle", "set": [{"channels": "1", "level": 100}]},
    {"cue": 3, "name": "talk", "set": [{"channels": "1-3,5", "level": 20}]},
    {"cue": 4, "name": "over", "set": [{"channels": "1-3,5", "level": 0}]}]`)
	now := withCues(t, `[
    {"cue": 1, "name": "start", "set": [{"channels": "1-3,5", "level": 50}]},
    {"cue": 2, "name": "middle", "set": [{"channels": "1-3", "level": 100}, {"channels": "5", "level": 0}]},
    {"cue": 3.5, "name": "talk", "set": [{"channels": "1-3,5", "level": 20}]},
    {"cue": 5, "name": "end", "set": [{"channels": "1-3,5", "level": 5}]}]`)
	changes, same := looks(old, now)
	if same != 2 || len(changes) != 3 {
		t.Fatalf("%d changes and %d the same: %+v", len(changes), same, changes)
	}
	middle := changes[0]
	if middle.OldCue != "2" || middle.NewCue != "2" {
		t.Fatalf("%+v", middle)
	}
	var got []string
	for _, s := range middle.Levels {
		got = append(got, s.Channels)
	}
	if diff := cmp.Diff([]string{"2-3", "5"}, got); diff != "" {
		t.Error(diff)
	}
	if *middle.Levels[0].Old != 50 || *middle.Levels[0].New != 100 || *middle.Levels[1].New != 0 {
		t.Errorf("%+v", middle.Levels)
	}
	// A cue more, a cue fewer; the new number of a cue is no change of its look.
	if c := changes[1]; c.OldCue != "" || c.NewCue != "5" {
		t.Errorf("%+v", c)
	}
	if c := changes[2]; c.OldCue != "4" || c.NewCue != "" {
		t.Errorf("%+v", c)
	}
}

// TestTheLightOfALook of four lamps that are alike: one at half gives an eighth of all; another one in its place as much.
func TestTheLightOfALook(t *testing.T) {
	one := func(channel, level string) state {
		return measure(t, strings.NewReplacer("CUES", `[{"cue": 1, "set": [{"channels": "`+channel+`", "level": `+level+`}]}]`, `"fixed-white"`, `"white-led"`, `"slots": 1`, `"slots": 1, "duv": 0, "dimmer_curve": "linear"`).Replace(rig))
	}
	changes, _ := looks(one("1", "50"), one("1", "100"))
	if len(changes) != 1 || changes[0].Output.Old == nil || math.Abs(*changes[0].Output.Old-12.5) > 1e-9 || changes[0].Output.New == nil || math.Abs(*changes[0].Output.New-25) > 1e-9 {
		t.Errorf("at full instead of half: %+v", changes)
	}
	if changes, _ := looks(one("1", "50"), one("2", "50")); len(changes) != 1 || changes[0].Output != (outcome.Step{}) {
		t.Errorf("another lamp: %+v", changes)
	}
}

// Whatever people see differently makes a look another one.
func TestWhatPeopleSee(t *testing.T) {
	const text = `{
  "room": {"places": [{"name": "pulpit", "x": 0, "y": 2, "z": 0}, {"name": "piano", "x": 4, "y": 3, "z": 0}], "surfaces": [{"name": "wall", "kind": "emissive"}]},
  "types": [{"name": "white spot", "source": "white-led", "white_k": 3200, "beam_deg": 20, "field_deg": 30, "flux_lm": 5000, "slots": 1},
    {"name": "hazer", "source": "none", "slots": 1, "machine": {"kind": "hazer"}}],
  "patch": [{"channel": 1, "type": "white spot", "address": "1.1", "purpose": "beam"}, {"channel": 2, "type": "white spot", "address": "1.2", "purpose": "house"},
    {"channel": 9, "type": "hazer", "address": "1.9", "purpose": "haze"}],
  "cues": [
    {"cue": 1, "in_s": 3, "out_s": 4, "follow_s": 5, "set": [{"channels": "1", "level": 50, "strobe_hz": 8, "effect": {"kind": "chase", "rate_hz": 1}, "aim": "pulpit", "zoom_deg": 20, "pattern": "leaves"},
      {"channels": "2", "level": 30}, {"channels": "9", "level": 20}], "screens": [{"screen": "wall", "drive_pct": 15, "palette": ["#102030"]}]},
    {"cue": 2}]}`
	old := measure(t, text)
	for _, tc := range []struct{ from, to, want string }{
		{`"strobe_hz": 8`, `"strobe_hz": 20`, "strobe 1: 8 Hz, 20 Hz"},
		{`"rate_hz": 1`, `"rate_hz": 4`, "effect 1: chase at 1 Hz, chase at 4 Hz"},
		{`"kind": "chase", "rate_hz": 1`, `"kind": "none"`, "effect 1: chase at 1 Hz, "},
		{`"aim": "pulpit"`, `"aim": "piano"`, "aim 1: pulpit, piano"},
		{`"zoom_deg": 20`, `"zoom_deg": 25`, "zoom 1: 20 degrees, 25 degrees"},
		{`"pattern": "leaves"`, `"pattern": "stars"`, "pattern 1: leaves, stars"},
		{`"in_s": 3`, `"in_s": 9`, "fade in : 3 s, 9 s"},
		{`"out_s": 4, `, ``, "fade out : 4 s, "},
		{`"follow_s": 5`, `"follow_s": 0.1`, "follow-on : 5 s, 0.1 s"},
		{`"drive_pct": 15`, `"drive_pct": 60`, "screen wall: 15 %, 60 %"},
		{`"#102030"`, `"#ff0000"`, "picture wall: #102030, #ff0000"},
		{`"channels": "2", "level": 30`, `"channels": "2", "level": 70`, "levels 2"},
		{`"channels": "9", "level": 20`, `"channels": "9", "level": 70`, "haze 9"},
		{`"purpose": "beam"`, `"purpose": "beam", "shutters": [{"side": "top", "depth_pct": 30}]`, "shutters 1: , top 30 %"},
	} {
		changes, _ := looks(old, measure(t, strings.Replace(text, tc.from, tc.to, 1)))
		var got []string
		if len(changes) > 0 {
			for _, s := range changes[0].Others {
				got = append(got, s.What+" "+s.Of+": "+s.Old+", "+s.New)
			}
			for _, s := range changes[0].Levels {
				got = append(got, "levels "+s.Channels)
			}
			for _, s := range changes[0].Haze {
				got = append(got, "haze "+s.Channels)
			}
		}
		if diff := cmp.Diff([]string{tc.want}, got); diff != "" {
			t.Errorf("%s to %s:\n%s", tc.from, tc.to, diff)
		}
	}
	if changes, same := looks(old, measure(t, text)); len(changes) != 0 || same != 2 {
		t.Errorf("against itself: %+v", changes)
	}
	// Without a patch nobody knows the lamps, and still two cue lists can differ.
	bare := func(level string) state {
		return measure(t, `{"cues": [{"cue": 1, "set": [{"channels": "1-4", "level": `+level+`}]}]}`)
	}
	if changes, _ := looks(bare("50"), bare("60")); len(changes) != 1 || len(changes[0].Others) != 1 || changes[0].Others[0].New != "level 60" {
		t.Errorf("without a patch: %+v", changes)
	}
	if changes, same := looks(bare("50"), bare("50")); len(changes) != 0 || same != 1 {
		t.Errorf("without a patch: %+v", changes)
	}
}

func TestLooksOfTheDemoShows(t *testing.T) {
	load := func(name string) state {
		loaded, err := loaders.Load("../../testdata/shows/"+name, loaders.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return stateOf(loaded)
	}
	mended, flawed := load("mended"), load("flawed")
	if changes, same := looks(mended, mended); len(changes) != 0 || same != len(mended.Looks) {
		t.Errorf("against itself %d looks changed", len(changes))
	}
	if changes, _ := looks(mended, load("mended-csv")); len(changes) != 0 {
		t.Errorf("as tables %d looks changed: %+v", len(changes), changes[0])
	}
	changes, same := looks(mended, flawed)
	if len(changes)+same < len(flawed.Looks) || len(changes) == 0 {
		t.Errorf("%d changed, %d the same of %d", len(changes), same, len(flawed.Looks))
	}
	lux := 0
	for _, c := range changes {
		lux += len(c.Faces)
	}
	if lux == 0 {
		t.Error("no face got another light, though key lights were changed")
	}
}

// TestStops holds the stops against their definition: doubling is one stop.
func TestStops(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	for _, tc := range []struct {
		old, new *float64
		want     float64
		ok       bool
	}{
		{number(10), number(20), 1, true},
		{number(20), number(10), -1, true},
		{number(10), number(80), 3, true},
		{number(7), number(7), 0, true},
		{number(0), number(7), 0, false},
		{number(7), number(0), 0, false},
		{nil, number(7), 0, false},
		{number(-1), number(7), 0, false},
		{number(math.Inf(1)), number(7), 0, false},
		{number(math.NaN()), number(7), 0, false},
		{number(5e-324), number(math.MaxFloat64), 0, false}, // the ratio overflows
	} {
		got, ok := say.Stops(outcome.Step{Old: tc.old, New: tc.new})
		const rounding = 1e-12 // of one logarithm
		if ok != tc.ok || ok && math.Abs(got-tc.want) > rounding {
			t.Errorf("%v to %v: %v, %t", tc.old, tc.new, got, ok)
		}
	}
}

func TestStepsAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(1e-3, 1e5).Draw(t, "a"), rapid.Float64Range(1e-3, 1e5).Draw(t, "b")
		up, _ := say.Stops(outcome.Step{Old: &a, New: &b})
		down, _ := say.Stops(outcome.Step{Old: &b, New: &a})
		const rounding = 1e-9
		if math.Abs(up+down) > rounding || math.Abs(a*math.Exp2(up)-b) > rounding*b {
			t.Fatalf("%v up, %v down", up, down)
		}
		if compare.Changed(outcome.Step{Old: &a, New: &b}) != compare.Changed(outcome.Step{Old: &b, New: &a}) {
			t.Fatal("one way it has changed, the other way not")
		}
	})
}
