package evening

import (
	"math"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
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
