package facts

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"
)

// wallShow is a wall 12 m wide and 8 m high at y = 0, and lamps of 1000 lm 4 m in
// front of it.
func wallShow(t stopper, patch []string, cues []string, rest string) *schema.Show {
	t.Helper()
	return readShow(t, fmt.Sprintf(`{
"room": {"surfaces": [{"name": "wall", "kind": "drape", "centre": {"x": 0, "y": 0, "z": 4}, "width_m": 12, "height_m": 8, "facing_deg": 0, "tilt_deg": 0}]},
"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
"patch": [%s], "cues": [%s]%s}`, strings.Join(patch, ","), strings.Join(cues, ","), rest))
}

// lampAt is a lamp straight before a point of the wall.
func lampAt(channel int, purpose string, x float64) string {
	return fmt.Sprintf(`{"channel": %d, "type": "lamp", "purpose": %q, "hung_at": {"x": %g, "y": -4, "z": 4}, "aimed_at": {"x": %g, "y": 0, "z": 4}}`, channel, purpose, x, x)
}

func cueOf(number int, sets string) string {
	return fmt.Sprintf(`{"cue": %d, "at_s": %d, "in_s": 4, "set": [%s]}`, number, 10*number, sets)
}

// TestHalfOfALampAtTheEdge: of two lamps that are alike, the one that points
// straight at the edge of a wall has half of its light on it by symmetry, and the
// grid of the wall is the same on both sides.
func TestHalfOfALampAtTheEdge(t *testing.T) {
	cues := []string{
		cueOf(1, `{"channels": "1", "level": 100}`), cueOf(2, `{"channels": "1", "level": 0}, {"channels": "2", "level": 100}`),
		cueOf(3, `{"channels": "1-2", "level": 50}`),
	}
	show := wallShow(t, []string{lampAt(1, "wash", 0), lampAt(2, "wash", 6)}, cues, "")
	r := stage.NewRig(show, tracking.Resolve(show), nil)
	middle, edge := r.Room.InOrder[0].Landed, r.Room.InOrder[1].Landed
	if math.Abs(middle-2*edge) > 1e-3 { // what reaches farther along the wall than 6 m
		t.Errorf("%v lm of the lamp in the middle land on the wall, and %v lm of the one at the edge", middle, edge)
	}
	// The wall catches the whole beam in the middle, and its grid makes 0.4 % more of
	// it than there is; that is cut off there, and there alone.
	const coarse = 0.005
	m := measured(show)
	if m.Show.OutputBasis != "arriving" || m.Show.BasisNote != "" {
		t.Fatalf("counted by what is %s%s", m.Show.OutputBasis, m.Show.BasisNote)
	}
	// Everything at full is one and a half of the first lamp.
	for i, want := range []float64{100 / 1.5, 50 / 1.5, 50} {
		if got := m.Looks[i].OutputPct; !isNear(got, want, coarse*want) {
			t.Errorf("cue %d: %s %%, want %v", i+1, factText(got), want)
		}
	}
	if got := m.Looks[1].PeakShare; !isNear(got, 50, coarse*50) {
		t.Errorf("the lamp at the edge is %s %% of the brightest look, want 50", factText(got))
	}
	if got := m.Changes[1].Stops; !isNear(got, -1, 2*coarse) {
		t.Errorf("from the middle to the edge it is %s stops, want -1", factText(got))
	}
	// Half of what comes and goes is what goes.
	if got := m.Changes[1].MovedPc; !isNear(got, 100, 1e-9) {
		t.Errorf("%s %% of the light moves, want 100", factText(got))
	}

	// The same lamp as a beam is seen in the air: all its light counts.
	m = measured(wallShow(t, []string{lampAt(1, "wash", 0), lampAt(2, "beam", 6)}, cues, ""))
	wall, air := m.Looks[0].OutputPct, m.Looks[1].OutputPct
	if !isNear(wall, 50, 1e-9) || !isNear(air, 50, 1e-9) {
		t.Errorf("a lamp on the wall %s %%, a beam past it %s %%", factText(wall), factText(air))
	}
}

// TestAllOfANarrowBeam: a beam that ends within the wall counts by all its light.
func TestAllOfANarrowBeam(t *testing.T) {
	show := wallShow(t, []string{lampAt(1, "wash", 0)}, []string{cueOf(1, `{"channels": "1", "level": 100}`)}, "")
	beamDeg, fieldDeg := 30.0, 45.0
	show.Types[0].BeamDeg, show.Types[0].FieldDeg = &beamDeg, &fieldDeg
	r := stage.NewRig(show, tracking.Resolve(show), nil)
	// 96 samples of a wall are worth a few percent for a field 3.3 m wide.
	const tolerance = 0.05
	if part := r.Lines[0].Best; math.Abs(part-1) > tolerance {
		t.Errorf("%v of the light of a beam within the wall arrives", part)
	}
}

func TestWhenTheLightThatLeavesCounts(t *testing.T) {
	const lit, dark = `{"channels": "1-2", "level": 100}`, `{"channels": "1", "level": 100}`
	nowhere := `{"channel": 2, "type": "lamp", "purpose": "wash"}`
	away := func(purpose string) string {
		return fmt.Sprintf(`{"channel": 2, "type": "lamp", "purpose": %q, "hung_at": {"x": 0, "y": -4, "z": 4}, "aimed_at": {"x": 0, "y": -9, "z": 4}}`, purpose)
	}
	for _, c := range []struct {
		what, second, set, basis, note string
	}{
		{"a lamp that hangs nobody knows where", nowhere, lit, "emitted", "because the show does not tell where the fixture on channel 2 hangs"},
		{"the same, but no look uses it", nowhere, dark, "arriving", ""},
		{"the same with no light in it", nowhere, dark + `, {"channels": "2", "level": 0}`, "arriving", ""},
		{"a lamp that points away from everything", away("wash"), lit, "emitted", "because nearly all light of channel 2 lands on nothing that the room describes"},
		{"a beam that does", away("beam"), lit, "arriving", ""},
		{"an effect light that does", away("effect"), lit, "arriving", ""},
		{"a practical lamp, which is no stage light", strings.Replace(nowhere, "wash", "practical", 1), lit, "arriving", ""},
	} {
		m := measured(wallShow(t, []string{lampAt(1, "wash", 0), c.second}, []string{cueOf(1, c.set)}, ""))
		if m.Show.OutputBasis != c.basis || !strings.HasSuffix(m.Show.BasisNote, c.note) || (c.note == "") != (m.Show.BasisNote == "") {
			t.Errorf("%s: counted by what is %s%s", c.what, m.Show.OutputBasis, m.Show.BasisNote)
		}
		if c.basis == "emitted" && !isNear(m.Looks[0].OutputPct, 100, 1e-9) {
			t.Errorf("%s: two of two lamps at full are %s %%", c.what, factText(m.Looks[0].OutputPct))
		}
	}
	// Without places and surfaces nobody expects anything else.
	for _, room := range []string{"", `, "room": {"circuits": [{"name": "1", "volts": 230, "amps": 16}]}`} {
		show := readShow(t, fmt.Sprintf(`{"types": [{"name": "lamp", "source": "white-led", "flux_lm": 1000, "white_k": 5600}],
"patch": [%s], "cues": [%s]%s}`, nowhere, cueOf(1, `{"channels": "2", "level": 100}`), room))
		if m := measured(show); m.Show.OutputBasis != "emitted" || m.Show.BasisNote != "" {
			t.Errorf("without a room: counted by what is %s%s", m.Show.OutputBasis, m.Show.BasisNote)
		}
	}
	// A room that gives nothing to land on.
	show := wallShow(t, []string{lampAt(1, "wash", 0)}, []string{cueOf(1, dark)}, "")
	show.Room.Surfaces[0].Centre = nil
	if m := measured(show); m.Show.OutputBasis != "emitted" || !strings.Contains(m.Show.BasisNote, "place or a surface") {
		t.Errorf("a wall that is nowhere: counted by what is %s%s", m.Show.OutputBasis, m.Show.BasisNote)
	}
}

// TestOnlyPeopleCatchLight: a lamp on a place counts by more if somebody stands there.
func TestOnlyPeopleCatchLight(t *testing.T) {
	parts := map[string]float64{}
	for _, stands := range []string{"near", "far"} {
		show := readShow(t, fmt.Sprintf(`{
"room": {"cameras": [{"name": "c", "x": 0, "y": -10, "z": 2}], "places": [{"name": "near", "x": 0, "y": 0, "z": 0, "head_m": 1.7}, {"name": "far", "x": 30, "y": 0, "z": 0, "head_m": 1.7}]},
"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "beam_deg": 14, "field_deg": 20, "flux_lm": 1000}],
"patch": [{"channel": 1, "type": "lamp", "purpose": "key", "hung_at": {"x": 0, "y": -6, "z": 5}, "aimed_at": "near"}],
"order": [{"name": "Talk", "start_cue": 1, "people": [%q]}], "cues": [%s]}`, stands, cueOf(1, `{"channels": "1", "level": 100}`)))
		r := stage.NewRig(show, tracking.Resolve(show), nil)
		parts[stands] = r.Room.InOrder[0].Part
	}
	if parts["near"] <= parts["far"] || parts["far"] < 0 || parts["near"] > 1 {
		t.Errorf("parts that arrive: %v", parts)
	}
}

// lightAt is the light of a stretch at a time, by its own knots.
func lightAt(s *evening.Stretch, knots []evening.Knot, time float64) float64 {
	y := s.Initial.Y
	for i, k := range knots {
		switch {
		case k.T > time:
			if i > 0 {
				a := knots[i-1]
				return a.After.Y + (k.Before.Y-a.After.Y)*(time-a.T)/(k.T-a.T)
			}
			return y
		default:
			y = k.After.Y
		}
	}
	return y
}

// TestLampsAddUp: however lamps share their ways, the light of all is the sum of
// the light of each, on either basis, and it ends where the looks say.
func TestLampsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.IntRange(1, 6).Draw(t, "lamps")
		var patch []string
		for i := range count {
			purpose := rapid.SampledFrom([]string{"wash", "wash", "beam"}).Draw(t, "purpose")
			patch = append(patch, lampAt(i+1, purpose, rapid.SampledFrom([]float64{0, 0, 2, 6}).Draw(t, "x")))
		}
		var cues []string
		for n := range rapid.IntRange(2, 5).Draw(t, "cues") {
			var sets []string
			for i := range count {
				aim := ""
				if rapid.Bool().Draw(t, "aims") {
					aim = fmt.Sprintf(`, "aim": {"x": %g, "y": 0, "z": 4}`, rapid.SampledFrom([]float64{-3, 0, 3}).Draw(t, "aim"))
				}
				sets = append(sets, fmt.Sprintf(`{"channels": "%d", "level": %d%s}`, i+1, rapid.SampledFrom([]int{0, 20, 100}).Draw(t, "level"), aim))
			}
			cues = append(cues, fmt.Sprintf(`{"cue": %d, "at_s": %d, "in_s": %d, "set": [%s]}`, n+1, 10*n, rapid.SampledFrom([]int{0, 3, 14}).Draw(t, "fade"), strings.Join(sets, ",")))
		}
		show := wallShow(t, patch, cues, `, "order": [{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 100}]`)
		show.Types[0].DimmerCurve = rapid.SampledFrom([]string{"linear", "square"}).Draw(t, "curve")
		tracked := tracking.Resolve(show)
		r := stage.NewRig(show, tracked, nil)
		if !r.Basis.Arriving {
			t.Fatalf("counted by what leaves the lamps%s", r.Basis.Note())
		}
		looks := litLooks(r, tracked)
		last := len(looks) - 1
		e := evening.NewEvening(r, tracked, evening.NewClock(show, tracked), nil, nil)
		var alone []*evening.Evening // each with one lamp; the settings of the others meet none
		for _, f := range show.Patch {
			one := &schema.Show{Types: show.Types, Room: show.Room, Order: show.Order, Cues: show.Cues, Patch: []*schema.Fixture{f}}
			tracked := tracking.Resolve(one)
			r := stage.NewRig(one, tracked, nil)
			if !r.Basis.Arriving {
				t.Fatalf("channel %d alone is counted by what leaves the lamps%s", f.Channel, r.Basis.Note())
			}
			alone = append(alone, evening.NewEvening(r, tracked, evening.NewClock(one, tracked), nil, nil))
		}
		for _, emitted := range []bool{false, true} {
			whole := e.StretchOf(0, last, emitted)
			knots := whole.Knots()
			var single []*evening.Stretch
			var singles [][]evening.Knot
			for _, one := range alone {
				s := one.StretchOf(0, last, emitted)
				single, singles = append(single, s), append(singles, s.Knots())
			}
			for time := 0.25; time < 100; time += 0.5 { // between the corners
				sum := 0.0
				for i, s := range single {
					sum += lightAt(s, singles[i], time)
				}
				if got := lightAt(whole, knots, time); math.Abs(got-sum) > 1e-6*float64(count)*1000 { // dust apart
					t.Fatalf("emitted %v: at %v s %v lm, and lamp by lamp %v lm", emitted, time, got, sum)
				}
			}
			want := 0.0
			for _, lamp := range looks[last].Lamps {
				if emitted {
					want += lamp.XYZ.Y
				} else {
					want += lamp.Output()
				}
			}
			if got := lightAt(whole, knots, 99); math.Abs(got-want) > 1e-6*float64(count)*1000 {
				t.Fatalf("emitted %v: it ends at %v lm, and the look has %v lm", emitted, got, want)
			}
		}
	})
}

// TestATurnInAFade: a lamp that turns from the middle of the wall to its edge
// while it fades counts by the mean of both half way.
func TestATurnInAFade(t *testing.T) {
	show := wallShow(t, []string{lampAt(1, "wash", 0)}, []string{
		cueOf(1, `{"channels": "1", "level": 100}`), cueOf(2, `{"channels": "1", "level": 100, "aim": {"x": 6, "y": 0, "z": 4}}`),
	}, `, "order": [{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 100}]`)
	tracked := tracking.Resolve(show)
	r := stage.NewRig(show, tracked, nil)
	e := evening.NewEvening(r, tracked, evening.NewClock(show, tracked), nil, nil)
	a, b := e.Sums[0].Y, e.Sums[1].Y
	if !(b < 0.9*a && b > 0.1*a) {
		t.Fatalf("%v lm in the middle and %v lm at the edge", a, b)
	}
	for _, c := range []struct{ time, want float64 }{{19, a}, {22, (a + b) / 2}, {25, b}} {
		if got := lightAt(e.Stretches[0], e.Knots(0), c.time); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("at %v s: %v lm, want %v", c.time, got, c.want)
		}
	}
}

// TestFlashesDoNotAskWhereLightLands: what flashes is counted by the light that
// leaves the lamps, on either basis.
func TestFlashesDoNotAskWhereLightLands(t *testing.T) {
	var cues []string
	for n := range 12 {
		cues = append(cues, fmt.Sprintf(`{"cue": %d, "in_s": 0, "follow_s": 0.2, "set": [{"channels": "1", "level": %d}, {"channels": "2", "level": 50}]}`, n+1, 100*(n%2)))
	}
	patch := []string{lampAt(1, "wash", 6), lampAt(2, "wash", 0)}
	arriving := wallShow(t, patch, cues, "")
	emitted := wallShow(t, patch, cues, "")
	emitted.Room = nil
	a, b := measured(arriving), measured(emitted)
	if a.Show.OutputBasis == b.Show.OutputBasis {
		t.Fatal("both are counted the same")
	}
	flashes := false
	for i := range a.Changes {
		if *a.Changes[i].Flashes != *b.Changes[i].Flashes || *a.Changes[i].BT1702 != *b.Changes[i].BT1702 {
			t.Errorf("cue %d: %v flashes a second where light arrives, %v where it leaves", i+1, *a.Changes[i].Flashes, *b.Changes[i].Flashes)
		}
		flashes = flashes || *a.Changes[i].Flashes > 0
	}
	if !flashes {
		t.Error("five changes a second are no flash")
	}
}

// TestDipsCountWhatArrives: with the levels that are proposed the range is there,
// though the lamps have different parts of their light on the wall.
func TestDipsCountWhatArrives(t *testing.T) {
	show := wallShow(t, []string{lampAt(1, "wash", 0), lampAt(2, "wash", 6), lampAt(3, "key", 3)}, []string{
		`{"cue": 1, "set": [{"channels": "1-2", "level": 100}, {"channels": "3", "level": 10}]}`, `{"cue": 2}`,
		`{"cue": 3, "set": [{"channels": "1-2", "level": 100}]}`,
	}, `, "order": [{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 300}, {"name": "Prayer", "kind": "prayer", "start_cue": 2, "duration_s": 300}, {"name": "Second song", "kind": "song", "start_cue": 3, "duration_s": 300}]`)
	m := measured(show)
	if !m.Show.WashesCanDim(2) || m.Show.OutputBasis != "arriving" {
		t.Fatalf("no levels are proposed for %q", m.Show.BringDownText(2))
	}
	var sum float64
	for _, lamp := range lampsOf(m, 1) {
		level := lamp.Level
		for _, dip := range m.Show.WashesToDim(2) {
			if dip.look == lamp.lamp.Look && dip.Channel == lamp.Channel {
				level = dip.Wanted
			}
		}
		sum += lamp.lamp.Picture() * level / lamp.Level
	}
	loud := 0.0
	for _, lamp := range lampsOf(m, 0) {
		loud += lamp.lamp.Picture()
	}
	black := loud / 64 // of both
	sum, loud = sum+black, loud+black
	// A level is rounded down and one less, so the light is up to two hundredths of
	// the washes below a fourth.
	if sum > loud/4 || sum < loud/4-0.02*loud {
		t.Errorf("the prayer comes down to %v lm, a fourth of the song is %v lm", sum, loud/4)
	}
}

// TestFlashesWhereTheyLand adds up the light of lamps over time where it lands together.
func TestFlashesWhereTheyLand(t *testing.T) {
	flashes := func(at float64, effect string) float64 {
		m := measured(wallShow(t, []string{lampAt(1, "wash", -at), lampAt(2, "wash", at)}, []string{
			`{"cue": 1, "set": [{"channels": "1-2", "level": 100, "effect": {"kind": "strobe", "rate_hz": 2, ` + effect + `}}]}`,
		}, ""))
		if m.Changes[0].Flashes == nil {
			t.Fatalf("unknown: %q", m.Changes[0].Why("flashes_per_s"))
		}
		return *m.Changes[0].Flashes
	}
	for _, test := range []struct {
		name   string
		at     float64
		effect string
		want   float64
	}{
		{"one cloth, in step", 0, `"duty_pct": 20, "spread_pct": 0`, 2},
		{"one cloth, short pulses in counter-phase", 0, `"duty_pct": 20, "spread_pct": 100`, 4},
		// Each is still seen itself: two a second, and not four.
		{"one cloth, each fills the other's gaps", 0, `"duty_pct": 50, "spread_pct": 100`, 2},
	} {
		if got := flashes(test.at, test.effect); got != test.want {
			t.Errorf("%s: %v flashes, want %v", test.name, got, test.want)
		}
	}
}
