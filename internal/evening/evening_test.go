package evening

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/air"
	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/flash"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
)

// called is a cue of a segment; a time below 0 is not given.
type called struct {
	segment   string
	at, after float64 // s in the segment, and until the next
}

// showOf is a show of segments that last so long each, in seconds; 0 is not given.
func showOf(t *testing.T, lengths map[string]float64, order []string, cues ...called) *schema.Show {
	t.Helper()
	given := func(s float64) *float64 {
		if s < 0 {
			return nil
		}
		return &s
	}
	show := &schema.Show{}
	for _, name := range order {
		s := &schema.Segment{Name: name}
		if lengths[name] > 0 {
			s.DurationS = given(lengths[name])
		}
		show.Order = append(show.Order, s)
	}
	for i, c := range cues {
		number, err := schema.ParseCueNumber(string(rune('1' + i)))
		if err != nil {
			t.Fatal(err)
		}
		show.Cues = append(show.Cues, &schema.Cue{Number: number, Segment: c.segment, AtS: given(c.at), FollowS: given(c.after)})
	}
	return show
}

// TestAFollowOnCrossesIntoTheNextSegment up to a minute before that begins.
func TestAFollowOnCrossesIntoTheNextSegment(t *testing.T) {
	for after, want := range map[float64]float64{95: 95, 40: 40, 39: 100, 120: 120} {
		show := showOf(t, map[string]float64{"A": 100, "B": 50}, []string{"A", "B"}, called{"A", 0, after}, called{"B", -1, -1})
		clock := NewClock(show, tracking.Resolve(show))
		if m := clock.Moments[1]; m.At != want || m.Clock != 0 || m.Missing != "" {
			t.Errorf("a cue %g s after the first of a segment of 100 s begins at %+v, want %g", after, m, want)
		}
	}
}

// TestAFollowOnKeepsItsTimeInTrouble: the cues of B run backwards, and the first of them
// still stands 30 s behind the last of A.
func TestAFollowOnKeepsItsTimeInTrouble(t *testing.T) {
	show := showOf(t, map[string]float64{"A": 100, "B": 50}, []string{"A", "B"}, called{"A", 10, 30}, called{"B", 40, -1}, called{"B", 45, -1}, called{"B", 20, -1})
	clock := NewClock(show, tracking.Resolve(show))
	if m := clock.Moments[1]; m.At != 40 || m.Clock != 0 || m.Missing == "" {
		t.Errorf("it begins at %+v", m)
	}
	if m := clock.Moments[2]; m.Clock == 0 || m.Missing == "" {
		t.Errorf("the one behind it begins at %+v", m)
	}
}

func TestCallsPerMinute(t *testing.T) {
	show := showOf(t, map[string]float64{"A": 300}, []string{"A"}, called{"A", 0, -1}, called{"A", 100, 5}, called{"A", -1, -1}, called{"A", 130, -1}, called{"A", 159, -1}, called{"A", 160, -1})
	looks := tracking.Resolve(show)
	e := &Evening{Looks: looks, Time: NewClock(show, looks)}
	// From 100 s: at 100, 130 and 159; that at 105 runs by itself, and 160 is the next minute. From 130 s: three too.
	if most, from, missing := e.CallsPerMinute(e.Time.Spans[0]); most != 3 || from != 1 || missing != nil {
		t.Errorf("%d calls from cue %d, %v", most, from, missing)
	}
	show = showOf(t, nil, []string{"A"}, called{"A", -1, -1}, called{"A", -1, -1})
	looks = tracking.Resolve(show)
	e = &Evening{Looks: looks, Time: NewClock(show, looks)}
	if most, from, missing := e.CallsPerMinute(e.Time.Spans[0]); most != 0 || from != -1 || !slices.Equal(missing, []string{`the duration of the segment "A"`}) {
		t.Errorf("%d calls from cue %d, %v", most, from, missing)
	}
}

// TestWhatIsMissingOfTheSettlingOfHaze, of a machine whose fluid nobody gives, and of haze that hangs there without one.
func TestWhatIsMissingOfTheSettlingOfHaze(t *testing.T) {
	number := func(n float64) *float64 { return &n }
	const fluid, settling = "the fluid of the haze machine on channel 7, or how fast haze settles in the room", "how fast haze settles in the room"
	for _, c := range []struct {
		machine bool
		fluid   string
		settles *float64
		want    []string
	}{
		{true, "", nil, []string{fluid}}, {true, "glycol", nil, nil}, {true, "", number(1), nil},
		{false, "", nil, []string{settling}}, {false, "", number(1), nil},
	} {
		show := showOf(t, map[string]float64{"A": 100}, []string{"A"}, called{"A", 0, -1})
		show.Room = &schema.Room{Air: &schema.Air{VolumeM3: number(1000), AirChangesPerH: number(2), SettlingPerH: c.settles, Start: "full"}}
		rig := &stage.Rig{Show: show, Types: map[string]*schema.Type{"hazer": {Name: "hazer", Machine: &schema.Machine{Kind: "hazer", Fluid: c.fluid, OutputMgH: number(1000)}}}}
		if c.machine {
			full := schema.Level(100)
			show.Patch = []*schema.Fixture{{Channel: 7, Type: "hazer", Purpose: "haze"}}
			show.Cues[0].Set = []*schema.Setting{{Channels: "7", Told: &schema.Told{Level: &full}}}
		}
		looks := tracking.Resolve(show)
		a := NewAirCourses(&Evening{Rig: rig, Looks: looks, Time: NewClock(show, looks)})
		if !slices.Equal(a.Missing, c.want) {
			t.Errorf("%+v: missing is %q", c, a.Missing)
		}
		if _, most := a.Between(10); (most > 0) != (c.want == nil) {
			t.Errorf("%+v: there may be %g mg/m3", c, most)
		}
	}
}

// TestAJumpHasNothingBetween: a lamp of 200 lm at 20 % turns to a colour of which it gives 200 lm at full. In a fade it
// gives 60 % of 600 lm half way; where it jumps it never does.
func TestAJumpHasNothingBetween(t *testing.T) {
	for about, kind := range map[string]*schema.Type{"a lamp without a type": nil, "a straight one": {Source: "white-led"}} {
		lamp := func(level, lumens float64) *stage.Lamp {
			return &stage.Lamp{Light: &stage.Light{Kind: kind, Level: level, Emission: stage.Emission{XYZ: colour.XYZ{X: lumens, Y: lumens, Z: lumens}}}}
		}
		dim, full := lamp(20, 200), lamp(100, 200)
		if way := travelOf(dim, full, whole, 10, 10); len(way.at) != 2 || way.at[0].Y != 200 || way.at[1].Y != 200 {
			t.Errorf("%s jumps by way of %v", about, way.at)
		}
		if way := travelOf(dim, full, whole, 10, 20); math.Abs(way.value(15).Y-0.6*600) > 1e-9 {
			t.Errorf("%s gives %g lm half way through the fade", about, way.value(15).Y)
		}
	}
}

// TestLooksInARowThatAreAlike: of a third of a stop, a fifth of the light in another place, a tenth of a system; a cue
// that does nothing is none of them.
func TestLooksInARowThatAreAlike(t *testing.T) {
	const third = 1.25992 // the cube root of 2, rounded down
	same := &Step{Lamps: 1}
	for _, c := range []struct {
		about       string
		looks       []int
		light       []float64 // lumens, by look
		up          []float64 // of the washes, by look
		steps       []*Step
		first, last int
		length      int
	}{
		{"all alike", []int{0, 1, 2}, []float64{100, 100, 100}, nil, []*Step{{}, same, same}, 0, 2, 3},
		{"one look", []int{0}, []float64{100}, nil, []*Step{{}}, 0, 0, 1},
		{"one that does nothing in the midst", []int{0, 1, 2}, []float64{100, 100, 100}, nil, []*Step{{}, {}, same}, 0, 2, 2},
		{"one that does nothing at the end", []int{0, 1, 2}, []float64{100, 100, 100}, nil, []*Step{{}, same, {}}, 0, 2, 2},
		{"a screen", []int{0, 1, 2}, []float64{100, 100, 100}, nil, []*Step{{}, {Lamps: 1, Screens: 1}, same}, 1, 2, 2},
		{"a screen alone", []int{0, 1, 2}, []float64{100, 100, 100}, nil, []*Step{{}, {Screens: 1}, same}, 1, 2, 2},
		{"another segment between them", []int{0, 1, 3, 4, 5}, []float64{100, 100, 0, 100, 100, 100}, nil, []*Step{{}, same, same, same, same, same}, 2, 4, 3},
		{"another segment between them, and back to nothing", []int{0, 1, 3}, []float64{100, 100, 0, 100}, nil, []*Step{{}, same, same, {}}, 0, 1, 2},
		{"of two that are as long the first", []int{0, 1, 2, 3, 4}, []float64{100, 100, 10, 10, 1}, nil, []*Step{{}, same, same, same, same}, 0, 1, 2},
		{"a fifth moves", []int{0, 1}, []float64{100, 100}, nil, []*Step{{}, {Lamps: 1, MovedPct: 20}}, 0, 1, 2},
		{"more moves", []int{0, 1}, []float64{100, 100}, nil, []*Step{{}, {Lamps: 1, MovedPct: 20.1}}, 0, 0, 1},
		{"a third of a stop", []int{0, 1}, []float64{1, third}, nil, []*Step{{}, same}, 0, 1, 2},
		{"more than that", []int{0, 1}, []float64{1, third + 0.01}, nil, []*Step{{}, same}, 0, 0, 1},
		{"more than that down", []int{0, 1}, []float64{third + 0.01, 1}, nil, []*Step{{}, same}, 0, 0, 1},
		{"step by step up", []int{0, 1, 2}, []float64{100, 115, 130}, nil, []*Step{{}, same, same}, 0, 1, 2},
		{"down and up from where it began", []int{0, 1, 2}, []float64{115, 100, 130}, nil, []*Step{{}, same, same}, 0, 1, 2},
		{"up and down from where it began", []int{0, 1, 2}, []float64{115, 130, 100}, nil, []*Step{{}, same, same}, 0, 1, 2},
		{"a longer one begins within one", []int{0, 1, 2, 3}, []float64{100, 120, 130, 130}, nil, []*Step{{}, same, same, same}, 1, 3, 3},
		{"in the dark", []int{0, 1}, []float64{0, 0}, nil, []*Step{{}, same}, 0, 1, 2},
		{"out of the dark", []int{0, 1}, []float64{0, 1}, nil, []*Step{{}, same}, 0, 0, 1},
		{"the washes up by a tenth", []int{0, 1}, []float64{100, 100}, []float64{0.1, 0.2}, []*Step{{}, same}, 0, 1, 2},
		{"the washes up by more", []int{0, 1}, []float64{100, 100}, []float64{0.1, 0.21}, []*Step{{}, same}, 0, 0, 1},
		{"the washes down by more", []int{0, 1}, []float64{100, 100}, []float64{0.21, 0.1}, []*Step{{}, same}, 0, 0, 1},
		{"the washes up by more, and by less than a third of a stop", []int{0, 1}, []float64{100, 100}, []float64{0.6, 0.75}, []*Step{{}, same}, 0, 1, 2},
	} {
		e := &Evening{Sums: make([]colour.XYZ, len(c.light)), ups: make([]stage.Ups, len(c.light))}
		for i, lumens := range c.light {
			e.Sums[i] = colour.XYZ{X: lumens, Y: lumens, Z: lumens}
			if c.up != nil {
				e.ups[i][0] = c.up[i]
			}
		}
		if first, last, length, missing := e.AlikeRun(&Span{Looks: c.looks}, c.steps); first != c.first || last != c.last || length != c.length || missing != nil {
			t.Errorf("%s: %d in a row, from %d to %d (%q); want %d from %d to %d", c.about, length, first, last, missing, c.length, c.first, c.last)
		}
		if len(c.steps) > 1 {
			c.steps[1] = &Step{Missing: []string{"a lamp"}}
			if _, _, length, missing := e.AlikeRun(&Span{Looks: c.looks}, c.steps); length != 0 || len(missing) != 1 {
				t.Errorf("%s: %d in a row though %q is missing", c.about, length, missing)
			}
		}
	}
	blue := colour.XYZ{X: 0.18, Y: 0.07, Z: 0.95}
	e := &Evening{Sums: []colour.XYZ{{X: 0.95, Y: 1, Z: 1.09}, blue.Scale(1 / blue.Y)}, ups: make([]stage.Ups, 2)}
	if _, _, length, _ := e.AlikeRun(&Span{Looks: []int{0, 1}}, []*Step{{}, same}); length != 1 {
		t.Errorf("white and blue are %d in a row", length)
	}
}

// What is dark all along is no part of an evening's light; the least light at either end is.
func TestWhatIsDarkAllAlong(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		want     bool
	}{{0, 0, false}, {0.001, 0, true}, {0, 0.001, true}, {0.5, 0.5, true}} {
		if got := len(lit([]dynamics.Piece{{Start: 0, End: 1, From: c.from, To: c.to}})) > 0; got != c.want {
			t.Errorf("from %g to %g it is lit: %t", c.from, c.to, got)
		}
	}
}

// TestLinesOfTheLight: dark to 10 s, then a jump to 100 lm, and from 20 s on down to nothing in 10 s.
func TestLinesOfTheLight(t *testing.T) {
	amount := func(lumens float64) Amount { return Amount{Y: lumens} }
	knots := []Knot{{T: 0, Before: amount(0), After: amount(0)}, {T: 10, Before: amount(0), After: amount(100)}, {T: 20, Before: amount(100), After: amount(100)}, {T: 30, Before: amount(0), After: amount(0)}}
	line := func(start, end, from, to float64) dynamics.Piece {
		return dynamics.Piece{Start: start, End: end, From: from, To: to}
	}
	for _, c := range []struct {
		from, to float64
		want     []dynamics.Piece
	}{
		{0, 40, []dynamics.Piece{line(0, 10, 0, 0), line(10, 20, 100, 100), line(20, 30, 100, 0), line(30, 40, 0, 0)}},
		{5, 15, []dynamics.Piece{line(5, 10, 0, 0), line(10, 15, 100, 100)}}, {10, 20, []dynamics.Piece{line(10, 20, 100, 100)}}, {25, 30, []dynamics.Piece{line(25, 30, 50, 0)}},
		{10, 10, nil}, {15, 5, nil}, {40, 40, nil},
	} {
		if got := pieces(knots, c.from, c.to); !slices.Equal(got, c.want) {
			t.Errorf("from %g to %g s they are %v, not %v", c.from, c.to, got, c.want)
		}
	}
}

// TestRampsAreTakenFromAnotherEvening: a look that is worked out has three ramps, and four looks behind it are those of
// another evening, in which the same look has two. First those up to one of them are taken, then the rest.
func TestRampsAreTakenFromAnotherEvening(t *testing.T) {
	of := func(start float64) ramp { return ramp{start: start, end: start + 1, by: Amount{Y: start}} }
	moments := make([]Moment, 6)
	moments[0].Clock = 1 // the stretch begins with the second look
	e := &Evening{Rig: &stage.Rig{Show: &schema.Show{Patch: make([]*schema.Fixture, 2)}}, Time: &Clock{Moments: moments}}
	st := &stretcher{e: e, s: &Stretch{first: 1}, end: 7}
	if st.goOn(); !slices.Equal(st.s.fades.starts, []int{0}) || !slices.Equal(st.s.fades.ends, []float64{7}) || len(st.runs) != 2 {
		t.Errorf("it begins with %+v and %d lamps", *st.s.fades, len(st.runs))
	}
	st.all.list = []ramp{of(1), of(2), of(3)}
	st.s.fades.starts, st.s.fades.ends, st.end = []int{0, 0}, []float64{0, 4}, 4
	st.runs[1] = scaledWay{times: 1}
	old := &fades{ramps: []ramp{of(1), of(2), of(10), of(20), of(21), of(40)}, starts: []int{0, 0, 2, 3, 5}, ends: []float64{0, 3, 11, 22, 41}}
	st.take(old, 1, 5, 3, 5)
	if got := st.s.fades; st.end != 22 || !slices.Equal(got.starts, []int{0, 0, 3, 4}) || !slices.Equal(got.ends, []float64{0, 4, 11, 22}) || st.runs[1].times != 0 {
		t.Errorf("two looks are taken as %+v, and all ends at %g", *got, st.end)
	}
	st.take(old, 1, 5, 5, 6)
	s := st.done(5)
	if got := s.fades; st.end != 41 || !slices.Equal(got.starts, []int{0, 0, 3, 4, 6}) || !slices.Equal(got.ends, []float64{0, 4, 11, 22, 41}) {
		t.Errorf("with the last they are %+v, and all ends at %g", *got, st.end)
	}
	if want := []ramp{of(1), of(2), of(3), of(10), of(20), of(21), of(40)}; !slices.Equal(s.fades.ramps, want) {
		t.Errorf("the ramps are %v, not %v", s.fades.ramps, want)
	}
}

// TestAFadeThatRunsOnIsNotTakenOver: channel 1 goes up from 10 s on in another time than before, and the two looks behind it,
// in the second of which it goes out, are those of before. Going up in 30 s it is half up when it goes out, at once it is full.
func TestAFadeThatRunsOnIsNotTakenOver(t *testing.T) {
	of := func(in string) string {
		return `{"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
			"patch": [{"channel": 1, "type": "lamp", "purpose": "wash"}, {"channel": 2, "type": "lamp", "purpose": "back"}], "order": [{"name": "A", "start_cue": 1, "duration_s": 100}], "cues": [
			{"cue": 1, "at_s": 0, "in_s": 0, "out_s": 0, "set": [{"channels": "1-2", "level": 0}]}, {"cue": 2, "at_s": 10, "in_s": ` + in + `, "out_s": 0, "set": [{"channels": "1", "level": 100}]},
			{"cue": 3, "at_s": 15, "in_s": 0, "out_s": 0, "set": [{"channels": "2", "level": 100}]}, {"cue": 4, "at_s": 20, "in_s": 0, "out_s": 0, "set": [{"channels": "2", "level": 0}]},
			{"cue": 5, "at_s": 25, "in_s": 0, "out_s": 0, "set": [{"channels": "1", "level": 0}]}]}`
	}
	for _, c := range []struct {
		was, is string
		part    float64 // of its light when it goes out
	}{{"0", "30", 0.5}, {"30", "0", 1}, {"30", "20", 0.75}} {
		before, e := eveningOf(t, of(c.was)), eveningOf(t, of(c.is))
		e.Stretches = nil
		e.walkFrom(before, []bool{true, false, true, true, true})
		knots := e.Knots(0)
		k := slices.IndexFunc(knots, func(k Knot) bool { return k.T == 25 })
		if want := c.part * e.Sums[1].Y; k < 0 || math.Abs(knots[k].Before.Y-want) > 1e-6 || knots[k].After.Y != 0 || knots[len(knots)-1].After.Y != 0 {
			t.Errorf("in %s s where it was %s: it goes out in %+v, from %g", c.is, c.was, knots, want)
		}
	}
}

// TestTheLongestDark is that of the cues that are dark in a row; of two that are as long it is the first. What nobody knows
// of a screen is all that is missing as long as it may be lit.
func TestTheLongestDark(t *testing.T) {
	of := func(room, order string, at, level []float64) *Evening {
		var cues []string
		for i := range at {
			drive := ""
			if level[i] == 0 {
				drive = `, "screens": [{"screen": "wall", "drive_pct": 0}]`
			}
			cues = append(cues, fmt.Sprintf(`{"cue": %d, "at_s": %g, "in_s": 0, "out_s": 0, "set": [{"channels": "1", "level": %g}]%s}`, i+1, at[i], max(0, level[i]), drive))
		}
		return eveningOf(t, `{`+room+`"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
			"patch": [{"channel": 1, "type": "lamp", "purpose": "wash"}], "order": [{"name": "A", "start_cue": 1`+order+`}], "cues": [`+strings.Join(cues, ",")+`]}`)
	}
	for _, c := range []struct {
		about     string
		at, level []float64
		s         float64
		look      int
	}{
		{"one", []float64{0, 10, 30}, []float64{50, 0, 50}, 20, 1}, {"none", []float64{0, 10, 30}, []float64{50, 40, 50}, 0, -1}, {"the last", []float64{0, 10, 30}, []float64{50, 40, 0}, 70, 2},
		{"two that are as long", []float64{0, 10, 30, 50, 70}, []float64{50, 0, 50, 0, 50}, 20, 1}, {"the second is longer", []float64{0, 10, 30, 50, 71}, []float64{50, 0, 50, 0, 50}, 21, 3},
		{"two in a row", []float64{0, 10, 30, 50, 60, 75}, []float64{50, 0, 50, 0, 0, 50}, 25, 3},
	} {
		e := of("", `, "duration_s": 100`, c.at, c.level)
		if s, look, missing := e.Darkest(e.Time.Spans[0]); s != c.s || look != c.look || missing != nil {
			t.Errorf("%s: %g s from look %d on (%q), not %g from %d on", c.about, s, look, missing, c.s, c.look)
		}
	}
	const wall = `"room": {"surfaces": [{"name": "wall", "kind": "emissive"}]}, `
	e := of(wall, "", []float64{0, 10, 30}, []float64{-1, 0, 50})
	if s, look, missing := e.Darkest(e.Time.Spans[0]); s != 0 || look != -1 || !slices.Equal(missing, []string{`the drive of the screen "wall"`}) {
		t.Errorf("with a screen that may be lit: %g s from look %d on, and %q is missing", s, look, missing)
	}
}

// TestWhereLampsMeet: the light of two of them is a field where they are most alike, and where each has the largest part
// of it, however bright that is. What is a tenth of the brightest counts, less does not.
func TestWhereLampsMeet(t *testing.T) {
	a, b, c := &flasher{}, &flasher{}, &flasher{}
	points := map[int]map[int]float64{ // point, lamp, lux
		0: {0: 100, 1: 50}, 1: {0: 40, 1: 40}, 2: {0: 60, 1: 12}, 3: {0: 10, 1: 60}, 4: {0: 9.9, 1: 2}, 5: {1: 20, 2: 1.9}, 6: {0: 30, 1: 30, 2: 3},
	}
	at, lux := map[int][]int{}, map[int][]float64{}
	for point, lamps := range points {
		for lamp := range 3 {
			if arrives, ok := lamps[lamp]; ok {
				at[point], lux[point] = append(at[point], lamp), append(lux[point], arrives)
			}
		}
	}
	want := []field{
		{a: 40, b: 40}, {a: 60, b: 12}, {a: 10, b: 60}, // alike; 5 of 6 of the first; 6 of 7 of the second
		{a: 30, b: 30, c: 3}, {a: 30, b: 30, c: 3}, {a: 30, b: 30, c: 3}, {a: 30, b: 30, c: 3},
		{b: 20}, {b: 20},
	}
	if got := pointsOf([]*flasher{a, b, c}, at, lux); !slices.EqualFunc(got, want, maps.Equal[field, field]) {
		t.Errorf("%v, not %v", got, want)
	}
}

// TestALampThatIsDarkAtOneEnd goes straight to nothing and back: it has no colour there that could come in between.
func TestALampThatIsDarkAtOneEnd(t *testing.T) {
	lamp := func(level, lumens float64) *stage.Lamp {
		return &stage.Lamp{Light: &stage.Light{Level: level, Emission: stage.Emission{XYZ: colour.XYZ{X: lumens, Y: lumens, Z: lumens}}}}
	}
	for _, way := range []travel{travelOf(lamp(0, 0), lamp(100, 200), whole, 10, 20), travelOf(lamp(100, 200), lamp(0, 0), whole, 10, 20)} {
		if got := way.value(15).Y; !(math.Abs(got-50) <= 1e-9) { // half the level of half the light
			t.Errorf("half way it gives %g lm by way of %v", got, way.at)
		}
	}
}

// TestHowLongALookStands: until the next is called, on one clock; what stands for no time is no part of the evening.
func TestHowLongALookStands(t *testing.T) {
	e := &Evening{Time: &Clock{Moments: []Moment{{At: 0}, {At: 10}, {At: 10}, {At: 5}, {At: 5.5}, {At: 7, Clock: 1}}}, Dynamics: Dynamics{Of: []float64{1, 2, 3, 4, 5, 6}}}
	of := func(start, end, y float64) []dynamics.Piece {
		return []dynamics.Piece{{Start: start, End: end, From: y, To: y}}
	}
	black := e.Dynamics.Black()
	for i, want := range [][]dynamics.Piece{of(0, 10, 1+black), nil, nil, of(5, 5.5, 4+black), nil, nil} {
		if got := e.held(i); !slices.Equal(got, want) {
			t.Errorf("look %d: %v, not %v", i, got, want)
		}
	}
	e.AlikeTimes = true
	if got, want := e.held(1), of(1, 2, 2+black); !slices.Equal(got, want) {
		t.Errorf("where no times are known: %v, not %v", got, want)
	}
}

// TestHazeAtALook: up to the first that a machine puts any out in there is none, whenever it is called, unless some may
// hang there before.
func TestHazeAtALook(t *testing.T) {
	const lost = "the duration of the segment"
	for _, c := range []struct {
		about   string
		look    int
		hung    float64
		unsaid  bool
		missing string
		want    string // what is missing; "" where there is none
	}{
		{"before the first", 0, 0, false, "", ""}, {"before the first, at no known time", 0, 0, false, lost, ""}, {"the first, at no known time", 1, 0, false, lost, ""},
		{"behind it, at no known time", 2, 0, false, lost, lost}, {"behind it", 2, 0, false, "", ""},
		{"the first, where some may hang", 1, 4, true, lost, needStart}, {"behind it, where some may hang", 2, 4, true, lost, lost},
		{"the first, where some hangs", 1, 4, false, lost, lost}, {"the first, where a little may hang", 1, 0.5, true, lost, needStart},
	} {
		e := &Evening{Looks: make([]tracking.Look, 3), Time: &Clock{Moments: make([]Moment, 3)}, Air: &Airs{First: 1, unsaid: c.unsaid}}
		e.Air.e, e.Air.hung.Most, e.Time.Moments[c.look].Missing = e, c.hung, c.missing
		level, missing := e.HazeAt(c.look)
		if c.want == "" && (level == nil || *level != 0 || missing != nil) || c.want != "" && (level != nil || !slices.Equal(missing, []string{c.want})) {
			t.Errorf("%s: %v, and %q is missing; want %q", c.about, level, missing, c.want)
		}
	}
}

// eveningOf is the evening of a show in JSON.
func eveningOf(t *testing.T, text string) *Evening {
	t.Helper()
	show := schematest.Read(t, text)
	looks := tracking.Resolve(show)
	return NewEvening(stage.NewRig(show, looks, nil), looks, NewClock(show, looks), nil, nil)
}

// TestHowLongHouseLightsFade: from the end of the delay on, in their own time, up and down.
func TestHowLongHouseLightsFade(t *testing.T) {
	e := eveningOf(t, `{"patch": [{"channel": 1, "purpose": "house"}], "cues": [
		{"cue": 1, "in_s": 1, "set": [{"channels": "1", "level": 0}]}, {"cue": 2, "in_s": 3, "out_s": 8, "delay_s": 5, "set": [{"channels": "1", "level": 50}]}, {"cue": 3, "in_s": 3, "out_s": 8, "delay_s": 5, "set": [{"channels": "1", "level": 20}]}]}`)
	for i, want := range []float64{0, 3, 8} {
		if got := e.Steps[i]; got.FadeS != want || got.Lamps != min(i, 1) {
			t.Errorf("look %d: %d lamps in %g s, want %g", i, got.Lamps, got.FadeS, want)
		}
	}
}

// TestAllStrobesThatFlashTooFast are listed, and none that is as slow as is allowed or so fast that nobody sees it.
func TestAllStrobesThatFlashTooFast(t *testing.T) {
	for hz, want := range map[string]int{"3": 0, "3.1": 2, "12": 2, "61": 0} {
		e := eveningOf(t, `{"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "linear", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
			"patch": [{"channel": 1, "type": "lamp", "purpose": "wash"}, {"channel": 2, "type": "lamp", "purpose": "wash"}, {"channel": 3, "type": "lamp", "purpose": "wash"}],
			"cues": [{"cue": 1, "set": [{"channels": "1-3", "level": 100}, {"channels": "1-2", "strobe_hz": `+hz+`}]}]}`)
		if strobes, effects := e.Slowed(0, 3); len(strobes) != want || len(effects) != 0 {
			t.Errorf("of two strobes of %s Hz %d are too fast, and %d effects; want %d", hz, len(strobes), len(effects), want)
		}
	}
}

// levels are cues of one segment of 100 s, at these times, in which channel 7 has these levels.
func levels(t *testing.T, at, level []float64) *Evening {
	t.Helper()
	cues := make([]called, len(at))
	for i := range at {
		cues[i] = called{"A", at[i], -1}
	}
	show := showOf(t, map[string]float64{"A": 100}, []string{"A"}, cues...)
	show.Patch = []*schema.Fixture{{Channel: 7, Purpose: "haze"}}
	for i := range level {
		told := schema.Level(level[i])
		show.Cues[i].Set = []*schema.Setting{{Channels: "7", Told: &schema.Told{Level: &told}}}
	}
	looks := tracking.Resolve(show)
	return &Evening{Rig: &stage.Rig{Show: show}, Looks: looks, Time: NewClock(show, looks)}
}

// TestTheLongestRunOfAChannel goes on through cues that change its level; of two that are as long it is the first.
func TestTheLongestRunOfAChannel(t *testing.T) {
	for _, c := range []struct {
		about       string
		at, level   []float64
		s           float64
		first, last int
	}{
		{"of three alike", []float64{0, 10, 20, 30, 40, 45, 50}, []float64{50, 0, 60, 0, 50, 60, 0}, 10, 0, 0},
		{"of two parts", []float64{0, 10, 20, 30, 35}, []float64{50, 0, 50, 60, 0}, 15, 2, 3},
		{"to the end", []float64{0, 10, 60}, []float64{50, 0, 1}, 40, 2, 2}, {"all along", []float64{0, 10, 60}, []float64{50, 60, 1}, 100, 0, 2},
		{"never", []float64{0, 10}, []float64{0, 0}, 0, -1, -1}, {"of no time", []float64{0, 0, 10}, []float64{50, 0, 0}, 0, -1, -1},
		{"a millisecond longer is as long", []float64{0, 1, 2, 3 + slack}, []float64{50, 0, 50, 0}, 1, 0, 0}, {"half a second longer", []float64{0, 1, 2, 3.5}, []float64{50, 0, 50, 0}, 1.5, 2, 2},
	} {
		if s, first, last, missing := levels(t, c.at, c.level).LongestRun(7); s != c.s || first != c.first || last != c.last || missing != nil {
			t.Errorf("%s: %g s from %d to %d (%q), not %g from %d to %d", c.about, s, first, last, missing, c.s, c.first, c.last)
		}
	}
	lost := levels(t, []float64{0, 10}, []float64{50, 0})
	lost.Time.Moments[1].Clock, lost.Time.Moments[1].Missing = 1, "a time"
	if s, first, last, missing := lost.LongestRun(7); s != 0 || first != -1 || last != -1 || len(missing) == 0 {
		t.Errorf("where the clock is lost: %g s from %d to %d (%q)", s, first, last, missing)
	}
}

// TestHowMuchHazeToPutOut: from 2 to 4 mg is 2.04 times as much with the margin, of what the cues before set; nothing goes
// above full.
func TestHowMuchHazeToPutOut(t *testing.T) {
	for _, c := range []struct {
		look     int
		from, to float64
		want     []float64
		reach    bool
	}{
		{4, 2, 4, []float64{100, 41}, false}, {4, 2, 1, []float64{26, 11}, true}, {2, 2, 1, []float64{26}, true}, {0, 2, 1, nil, true}, {4, 0, 1, nil, false},
	} {
		e := levels(t, []float64{0, 10, 20, 30, 40}, []float64{50, 0, 20, 20, 30})
		e.Looks[3] = e.Looks[2] // a cue that sets nothing
		a := &Airs{e: e, Machines: e.Rig.Show.Patch}
		settings, reach := a.HazeLevels(c.look, c.from, c.to)
		var got []float64
		for _, s := range settings {
			got = append(got, s.Level)
		}
		if !slices.Equal(got, c.want) || reach != c.reach {
			t.Errorf("before look %d from %g to %g mg: %v, reach %t; want %v, %t", c.look, c.from, c.to, got, reach, c.want, c.reach)
		}
	}
}

// TestWhichLookStands at a time: the last that is called by then, the first at any time before.
func TestWhichLookStands(t *testing.T) {
	e := &Evening{Time: &Clock{Moments: []Moment{{At: 0}, {At: 10}, {At: 10.5}, {At: 11}}}}
	for at, want := range map[float64]int{5: 1, 10: 1, 10.4: 1, 10.5: 2, 10.9: 2, 11: 3, 99: 3} {
		if got := e.lookAt(at, 1, 3); got != want {
			t.Errorf("at %g s it is look %d, not %d", at, got, want)
		}
	}
}

// TestWhereHazeIsPutOff: a sealed room in which a machine at full adds 1 mg a second. Off from the last look on from which
// that clears it in time; after it every look is set to nothing that sets a level of its own.
func TestWhereHazeIsPutOff(t *testing.T) {
	e := levels(t, []float64{0, 10, 20, 30, 40, 50, 70}, []float64{50, 50, 1, 0, 60, 60, 90})
	for _, i := range []int{1, 5} { // these set nothing
		e.Looks[i] = e.Looks[i-1]
	}
	machine := &schema.Type{Name: "m", Machine: &schema.Machine{OutputMgH: new(3600.0)}}
	e.Rig.Types = map[string]*schema.Type{"m": machine}
	e.Rig.Show.Patch[0].Type = "m"
	a := &Airs{e: e, Machines: e.Rig.Show.Patch, known: math.Inf(1)}
	a.ByFluid = []*Air{{Machines: a.Machines, Room: air.Room{VolumeM3: 1}, Used: true}}
	for _, c := range []struct {
		at, most float64
		look     int
		set      []int
	}{{60, 0, 0, []int{0, 2, 4}}, {60, 5.05, 1, []int{1, 2, 4}}, {60, 10.05, 2, []int{2, 4}}, {60, 10.15, 4, []int{4}}, {60, 16.15, 5, []int{5}}, {60, 99, 5, []int{5}}, {35, 99, 3, nil}} {
		look, settings, ok := a.HazeOff(c.at, c.most)
		var set []int
		for _, s := range settings {
			set = append(set, s.Look)
			if s.Level != 0 || s.Fixture != a.Machines[0] {
				t.Errorf("for %g mg: %+v", c.most, s)
			}
		}
		if !ok || look != c.look || !slices.Equal(set, c.set) {
			t.Errorf("for %g mg it is off from look %d on, set in %v, %t; want %d, %v", c.most, look, set, ok, c.look, c.set)
		}
	}
	if _, _, ok := a.HazeOff(-1, 99); ok {
		t.Error("before the first look something is put off")
	}
}

// TestWhichLooksAPartHas: its own and, where none of them begins with it, the one that stands by then.
func TestWhichLooksAPartHas(t *testing.T) {
	for _, c := range []struct {
		about   string
		at      []float64
		own     []int
		missing string
		want    []int
	}{
		{"one that begins with it", []float64{0, 10, 20}, []int{1, 2}, "", []int{1, 2}}, {"one that begins with it but for rounding", []float64{0, 10 + slack/2, 20}, []int{1, 2}, "", []int{1, 2}},
		{"one that begins later", []float64{0, 12, 20}, []int{1, 2}, "", []int{0, 1, 2}}, {"none of its own", []float64{0, 5, 20}, nil, "", []int{1}},
		{"nothing before it", []float64{12, 15, 20}, []int{0, 1}, "", []int{0, 1}}, {"at no known time", []float64{0, 12, 20}, []int{1, 2}, "its length", []int{1, 2}},
	} {
		e := &Evening{Time: &Clock{Moments: make([]Moment, 3)}, Looks: make([]tracking.Look, 3)}
		for i, at := range c.at {
			e.Time.Moments[i].At = at
		}
		if got := e.standing(&Span{Start: 10, Looks: c.own, Missing: c.missing}); !slices.Equal(got, c.want) {
			t.Errorf("%s: looks %v, not %v", c.about, got, c.want)
		}
	}
}

// TestTheWayOfALamp: a straight line between its ends, which stay as they are before and after it; a jump has nothing between.
func TestTheWayOfALamp(t *testing.T) {
	for _, c := range []struct{ start, end, at, want float64 }{
		{10, 20, 5, 100}, {10, 20, 10, 100}, {10, 20, 12.5, 150}, {10, 20, 20, 300}, {10, 20, 25, 300}, {10, 10, 9, 100}, {10, 10, 10, 300}, {10, 10, 11, 300},
	} {
		way := travel{start: c.start, end: c.end, at: []Amount{{Y: 100}, {Y: 200}, {Y: 300}}}
		if got := way.value(c.at).Y; got != c.want {
			t.Errorf("from %g to %g s it is %g lm at %g s, not %g", c.start, c.end, got, c.at, c.want)
		}
	}
}

// TestKnotsAreAPathForFlashes: what was before each and what comes after it, in parts of the brightest light.
func TestKnotsAreAPathForFlashes(t *testing.T) {
	got := flashStates([]Knot{{T: 3, Before: Amount{4, 1, 2, 3}, After: Amount{8, 2, 4, 6}}}, 4)
	if want := []flash.State{{T: 3, Y: 1, R: 0.25, G: 0.5, B: 0.75}, {T: 3, Y: 2, R: 0.5, G: 1, B: 1.5}}; !slices.Equal(got, want) {
		t.Errorf("%+v, not %+v", got, want)
	}
}

// TestThePathOfALampWithASquareLaw: up in eight seconds from ten seconds on, with a knot each second, and at once to nothing.
func TestThePathOfALampWithASquareLaw(t *testing.T) {
	e := eveningOf(t, `{"types": [{"name": "lamp", "source": "white-led", "white_k": 5600, "duv": 0, "dimmer_curve": "square", "beam_deg": 30, "field_deg": 50, "flux_lm": 1000}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "wash"}], "order": [{"name": "A", "start_cue": 1, "duration_s": 100}],
		"cues": [{"cue": 1, "segment": "A", "at_s": 0, "set": [{"channels": "1", "level": 0}]}, {"cue": 2, "segment": "A", "at_s": 10, "in_s": 8, "set": [{"channels": "1", "level": 100}]}, {"cue": 3, "segment": "A", "at_s": 30, "in_s": 0, "set": [{"channels": "1", "level": 0}]}]}`)
	path := e.lampPath(e.Rig.Show.Patch[0], 0, 2, nil)
	if len(path) != 11 {
		t.Fatalf("%d knots: %+v", len(path), path)
	}
	for k, state := range path[:9] {
		if part := float64(k) / 8; math.Abs(state.T-float64(10+k)) > 1e-9 || math.Abs(state.Y-part*part) > 1e-9 {
			t.Errorf("knot %d: %g of full at %g s, not %g at %d", k, state.Y, state.T, part*part, 10+k)
		}
	}
	if a, b := path[9], path[10]; a.T != 30 || b.T != 30 || math.Abs(a.Y-1) > 1e-9 || b.Y != 0 {
		t.Errorf("at once to nothing: %+v, %+v", a, b)
	}
}
