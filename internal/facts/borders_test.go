package facts

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestWhatLacksTwiceTellsBoth: what is missing for several facts is added to what one of them lacks already.
func TestWhatLacksTwiceTellsBoth(t *testing.T) {
	var u unknowns
	u.lacks("face_lx", "a camera")
	u.lackAll([]string{"face_lx", "back_lx"}, "a room")
	for fact, want := range map[string][]string{"face_lx": {"a camera", "a room"}, "back_lx": {"a room"}} {
		if got := u.Why(fact); !slices.Equal(got, want) {
			t.Errorf("%s lacks %q, want %q", fact, got, want)
		}
	}
}

// TestStandsLong: over a minute, as the running order has it.
func TestStandsLong(t *testing.T) {
	seconds := func(s float64) *float64 { return &s }
	called := func(segment *schema.Segment, at *float64) tracking.Look {
		return tracking.Look{Segment: segment, Parts: []*schema.Cue{{AtS: at}}}
	}
	song, talk, open := &schema.Segment{DurationS: seconds(100)}, &schema.Segment{}, &schema.Segment{}
	for _, c := range []struct {
		about string
		looks []tracking.Look
		i     int
		want  bool
	}{
		{"a minute between two cues", []tracking.Look{called(song, seconds(10)), called(song, seconds(70))}, 0, false},
		{"a second more", []tracking.Look{called(song, seconds(10)), called(song, seconds(71))}, 0, true},
		{"a minute before the end", []tracking.Look{called(song, nil), called(song, seconds(40)), called(talk, nil)}, 1, false},
		{"a second more before the end", []tracking.Look{called(song, nil), called(song, seconds(39)), called(talk, nil)}, 1, true},
		{"a minute with the next one's wait", []tracking.Look{called(song, nil), called(song, seconds(50)), called(talk, seconds(10))}, 1, false},
		{"all of its segment", []tracking.Look{called(song, nil), called(talk, nil)}, 0, true},
		{"nobody says when it is called", []tracking.Look{called(song, nil), called(song, nil), called(talk, nil)}, 1, false},
		{"no duration, all of its segment", []tracking.Look{called(open, nil), called(talk, nil)}, 0, true},
		{"no duration, and not the first", []tracking.Look{called(open, nil), called(open, nil), called(talk, nil)}, 1, false},
		{"no segment", []tracking.Look{called(nil, nil), called(talk, nil)}, 0, false},
	} {
		if got := standsLong(c.looks, c.i); got != c.want {
			t.Errorf("%s: stands long: %t", c.about, got)
		}
	}
}

// TestTheLeadingHueIsTheFirstOfTwo: blue, of a palette of blue and amber.
func TestTheLeadingHueIsTheFirstOfTwo(t *testing.T) {
	alone := stage.PaletteHues(&schema.Segment{Palette: []string{"#0000ff"}})
	l := &Look{look: &tracking.Look{Segment: &schema.Segment{Palette: []string{"#0000ff", "#ffa000"}}}}
	if got := l.leadingHue(); got == nil || *got != alone[0] {
		t.Errorf("it is %s, want %v", factText(got), alone)
	}
}

func TestWhoWaitsInTheDark(t *testing.T) {
	none, two, lux, stops, more := 0, 2, 5.0, darkFace, math.Nextafter(darkFace, 99)
	for _, c := range []struct {
		light personLight
		dark  *float64
		want  bool
	}{
		{personLight{}, nil, false}, {personLight{KeyCount: &two}, nil, false}, {personLight{KeyCount: &none}, nil, true}, // nobody knows the light
		{personLight{FaceLux: &lux}, nil, true}, {personLight{FaceLux: &lux}, &stops, false}, {personLight{FaceLux: &lux}, &more, true},
		{personLight{FaceLux: &lux, KeyCount: &none}, &stops, false},
	} {
		if got := (&Person{personLight: &c.light, DarkStops: c.dark}).isInTheDark(); got != c.want {
			t.Errorf("light %s, %s stops in the dark: waits in the dark: %t", factText(c.light.FaceLux), factText(c.dark), got)
		}
	}
}

// TestWhatALampOfTheSetGivesIsAssumed where nobody knows it.
func TestWhatALampOfTheSetGivesIsAssumed(t *testing.T) {
	for _, c := range []struct {
		about string
		lamp  stage.Lamp
		want  bool
	}{
		{"known", stage.Lamp{Light: &stage.Light{}, Beam: &stage.Beam{}}, false},
		{"no light", stage.Lamp{Light: &stage.Light{Emission: stage.Emission{Missing: "the type"}}, Beam: &stage.Beam{}}, true},
		{"no beam", stage.Lamp{Light: &stage.Light{}}, true},
		{"a beam of which something is missing", stage.Lamp{Light: &stage.Light{}, Beam: &stage.Beam{Missing: "where it hangs"}}, true},
	} {
		c.lamp.Line = &stage.Line{Channel: 9, Purpose: "practical"}
		p := &Person{personLight: &personLight{SegmentKind: "talk"}}
		lit := &stage.LookLight{Resolved: &tracking.Look{}, Others: []*stage.Lamp{&c.lamp}}
		p.withoutStageLight(lit)
		p.restOnSet(nil, lit)
		if got := len(p.Basis("face_lx").Rests) > 0; got != c.want || !p.StageLit {
			t.Errorf("%s: assumed: %t; to be seen: %t", c.about, got, p.StageLit)
		}
	}
}

// TestTheRatioOfVeryLittleLight: both lamps at a thousandth, under a lux, as in [TestOneLampOneFace].
func TestTheRatioOfVeryLittleLight(t *testing.T) {
	r := room{patch: fixture(1, "key", 0, -2, 5.6, "") + "," + fixture(2, "back", 0, 6, 5.6, ""), cues: `{"cue": 1, "set": [{"channels": "all", "level": 0.1}]}`}
	if p := r.measure(t).People[0]; !isNear(p.BackRatio, math.Sqrt2, exact) || !(*p.FaceLux < 1) {
		t.Errorf("face %s lx, ratio %s, want the root of 2", factText(p.FaceLux), factText(p.BackRatio))
	}
	r.cues = `{"cue": 1, "set": [{"channels": "1", "level": 0}, {"channels": "2", "level": 50}]}`
	if p := r.measure(t).People[0]; p.BackRatio != nil || len(p.Why("back_key_ratio")) == 0 {
		t.Errorf("without light in front the ratio is %s", factText(p.BackRatio))
	}
}

func TestSegmentsThatAskTheSame(t *testing.T) {
	song := func(change func(*schema.Segment)) *schema.Segment {
		s := &schema.Segment{Kind: "song", Mood: "quiet", Palette: []string{"#0000ff"}}
		change(s)
		return s
	}
	as := func(*schema.Segment) {}
	meant := func(s *schema.Segment) { s.Meant = make([]schema.Intent, 1) }
	one := song(meant)
	for _, c := range []struct {
		about string
		a, b  *schema.Segment
		want  bool
	}{
		{"the same one", one, one, true}, {"none", nil, nil, true}, {"one of two", song(as), nil, false}, {"two alike", song(as), song(as), true},
		{"something meant in one", song(meant), song(as), false}, {"in the other", song(as), song(meant), false},
		{"another mood", song(as), song(func(s *schema.Segment) { s.Mood = "loud" }), false},
		{"another palette", song(as), song(func(s *schema.Segment) { s.Palette = nil }), false},
	} {
		if got := sameSegment(c.a, c.b); got != c.want {
			t.Errorf("%s: the same: %t", c.about, got)
		}
	}
}

// TestDriveForWhite: a stop is half of the light; a screen cannot be driven over full.
func TestDriveForWhite(t *testing.T) {
	for _, c := range []struct{ drive, over, want float64 }{{80, 1, 40}, {81, 1, 40}, {50, 0, 50}, {50, -1, 100}, {60, -1, 100}, {100, -0.2, 100}} {
		if got := (&Showing{DrivePct: &c.drive, OverWhite: &c.over}).DriveForWhite(); got == nil || *got != c.want {
			t.Errorf("%v %% that is %v stops over goes to %s %%, want %v", c.drive, c.over, factText(got), c.want)
		}
		if got := (&Showing{DrivePct: &c.drive}).DriveForWhite(); got != nil {
			t.Errorf("it goes to %s", factText(got))
		}
	}
}

// The last minute is begun, however short, and none is when the evening has ended; a day has no more than its minutes.
func TestMinutesOfAnEvening(t *testing.T) {
	for seconds, want := range map[string]int{"59": 1, "60": 1, "60.5": 2, "120": 2, "121": 3, "86400": 1440, "90000": 1440} {
		show := readShow(t, `{"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "duration_s": `+seconds+`}], "cues": [{"cue": 1, "segment": "Talk"}]}`)
		minutes := Measure(show, tracking.Resolve(show)).Subjects("minute")
		if len(minutes) != want {
			t.Errorf("%s seconds have %d minutes, want %d", seconds, len(minutes), want)
		}
	}
}

// TestAFaceThatIsToldItself: a stop under the cameras, a stop and a half where it is quiet, and a stop over them; and one in
// the dark whatever the cameras do.
func TestAFaceThatIsToldItself(t *testing.T) {
	for _, c := range []struct {
		dark, under float64 // stops
		set         bool    // the exposure
		mood, kind  string
		want        bool
	}{
		{2.5, 0, false, "", "talk", false}, {2.6, 0, false, "", "talk", true}, {0, 3, false, "", "talk", false}, {0, 1, true, "", "talk", false}, {0, 1.01, true, "", "talk", true},
		{0, 1.5, true, "quiet", "song", false}, {0, 1.51, true, "quiet", "song", true}, {0, 1.5, true, "", "prayer", false}, {0, 1.51, true, "", "prayer", true},
		{0, -1, true, "", "talk", false}, {0, -1.01, true, "", "talk", true}, {0, 0, true, "", "talk", false},
	} {
		p := &Person{personLight: &personLight{SegmentKind: c.kind, Mood: c.mood}, DarkStops: &c.dark}
		p.ExposureSet, p.Under, p.Over = c.set, new(c.under), new(-c.under)
		if got := p.isToldItself(); got != c.want {
			t.Errorf("%+v: told itself: %t", c, got)
		}
	}
}

// TestThePictureOfTheDarkestOther: one stop under that of a segment; what has no look of its own, or no picture that is
// known, is none.
func TestThePictureOfTheDarkestOther(t *testing.T) {
	of := func(picture float64, looks int) *Segment {
		s := &Segment{segment: &schema.Segment{}, LookCount: looks}
		if picture > 0 {
			s.picture = &picture
		}
		return s
	}
	segments := []*Segment{of(4, 1), of(1, 0), of(0, 2), of(2, 1), of(8, 3)}
	comparePictures(segments)
	for i, want := range []float64{1, 0, 0, 0, 2} {
		if got := segments[i].UnderMost; got != want {
			t.Errorf("segment %d: %g stops, not %g", i+1, got, want)
		}
	}
}

// TestWhatIsMeantAtAPlace: what its look means and what it means itself, each once, and nothing that another place means.
func TestWhatIsMeantAtAPlace(t *testing.T) {
	of := func(words ...string) (list []schema.Intent) {
		for _, word := range words {
			list = append(list, schema.Intent{Intent: word})
		}
		return list
	}
	show := &schema.Show{Room: &schema.Room{Places: []*schema.Place{{Name: "a", Meant: of("sidelight", "black")}, {Name: "b", Meant: of("faces-dark")}, {Name: "c"}}}}
	look := &tracking.Look{Parts: []*schema.Cue{{Meant: of("black")}}}
	for place, want := range map[string][]string{"a": {"black", "sidelight"}, "b": {"black", "faces-dark"}, "c": {"black"}, "d": {"black"}} {
		if got := meantAt(show, look, place); !slices.Equal(got, want) {
			t.Errorf("at %s %q is meant, not %q", place, got, want)
		}
	}
	if got := meantAt(&schema.Show{}, look, "a"); !slices.Equal(got, []string{"black"}) {
		t.Errorf("without a room %q is meant", got)
	}
}

// TestALookThatIsAsAnother has people of its own, and its dimmest and brightest are among them.
func TestALookThatIsAsAnother(t *testing.T) {
	one, two, three := &Person{Place: "a"}, &Person{Place: "b"}, &Person{Place: "c", LateS: 3, Number: "1"}
	old := &Look{shaded: one, dimmest: two, brightest: three, darker: one}
	l := &Look{cueWords: cueWords{Number: "5"}, segmentWords: &segmentWords{SegmentName: "Song"}}
	people, showings := l.as(old, []*Person{one, two, three}, []*Showing{{ScreenName: "wall"}})
	if l.shaded != people[0] || l.dimmest != people[1] || l.brightest != people[2] || l.darker != people[0] || l.brighter != nil {
		t.Errorf("its people are %v, and those who stand out %v, %v, %v, %v, %v", people, l.shaded, l.dimmest, l.brightest, l.darker, l.brighter)
	}
	for n, want := range []string{"5 Song", "5 Song", "1 "} { // who is lit by the look before keeps its name
		if got := people[n].Number + " " + people[n].Segment; got != want || people[n].look != l || one.look != nil {
			t.Errorf("person %d stands in %q, not %q", n, got, want)
		}
	}
	if s := showings[0]; s.Number != "5" || s.Segment != "Song" || s.look != l || s.ScreenName != "wall" {
		t.Errorf("the screen stands in %+v", s)
	}
}

// TestAShowThatIsOnlyRewired has the same name, notices, cues and files.
func TestAShowThatIsOnlyRewired(t *testing.T) {
	cue, notices := &schema.Cue{}, &schema.Notices{}
	of := func() *schema.Show {
		return &schema.Show{Name: "a", Notices: notices, Cues: []*schema.Cue{cue}, ReadFrom: map[string]source.Ref{"cues": {}}}
	}
	other := parse(t, "b.json", "{}")
	for about, c := range map[string]struct {
		change func(*schema.Show)
		steady *stage.Steady
		want   bool
	}{
		"the same": {func(*schema.Show) {}, &stage.Steady{Wiring: true, Looks: []bool{true}}, true}, "nobody knows": {func(*schema.Show) {}, nil, false},
		"more than that": {func(*schema.Show) {}, &stage.Steady{Looks: []bool{true}}, false}, "another look": {func(*schema.Show) {}, &stage.Steady{Wiring: true, Looks: []bool{false}}, false},
		"a look more":  {func(*schema.Show) {}, &stage.Steady{Wiring: true, Looks: []bool{true, true}}, false},
		"another name": {func(s *schema.Show) { s.Name = "b" }, &stage.Steady{Wiring: true, Looks: []bool{true}}, false}, "another file": {func(s *schema.Show) { s.At = other }, &stage.Steady{Wiring: true, Looks: []bool{true}}, false},
		"other notices":       {func(s *schema.Show) { s.Notices = &schema.Notices{} }, &stage.Steady{Wiring: true, Looks: []bool{true}}, false},
		"another cue":         {func(s *schema.Show) { s.Cues = []*schema.Cue{{}} }, &stage.Steady{Wiring: true, Looks: []bool{true}}, false},
		"read from elsewhere": {func(s *schema.Show) { s.ReadFrom = map[string]source.Ref{"cues": other} }, &stage.Steady{Wiring: true, Looks: []bool{true}}, false},
	} {
		now := of()
		c.change(now)
		k := &Kept{m: &Measured{Looks: make([]*Look, 1), back: &back{rig: &stage.Rig{Show: of()}}}}
		if got := k.onlyRewired(&stage.Rig{Show: now}, c.steady); got != c.want {
			t.Errorf("%s: %t", about, got)
		}
	}
}

// TestTheModeOfMost fixtures of a type, the first of two, is that of one whose mode the type does not have.
func TestTheModeOfMost(t *testing.T) {
	for modes, want := range map[string]string{"abb": "b", "aabc": "a", "abbc": "b", "ba": "a", "bc": "b", "cccb": "c", "": "", "x": ""} {
		patch := `{"channel": 1, "type": "lamp", "mode": "y"}`
		for i, mode := range modes {
			patch += fmt.Sprintf(`, {"channel": %d, "type": "lamp", "mode": %q}`, i+2, string(mode))
		}
		f := measured(readShow(t, `{"types": [{"name": "lamp", "modes": [{"name": "a"}, {"name": "b"}, {"name": "c"}]}], "patch": [`+patch+`], "cues": [{"cue": 1}]}`)).Fixtures[0]
		got := ""
		if f.TwinMode != nil {
			got = *f.TwinMode
		}
		if got != want {
			t.Errorf("where others are in %q it is %q, not %q", modes, got, want)
		}
	}
}

// TestWhoStandsInABlack on purpose in which nobody is named: whoever is there before and after it.
func TestWhoStandsInABlack(t *testing.T) {
	of := func(black bool, people ...string) tracking.Look {
		cue := &schema.Cue{People: people}
		if black {
			cue.Meant = []schema.Intent{{Intent: "black"}}
		}
		return tracking.Look{Parts: []*schema.Cue{cue}}
	}
	none := []string{}
	before, after := of(false, "a", "b"), of(false, "b", "c")
	for _, c := range []struct {
		about string
		looks []tracking.Look
		i     int
		want  []string
	}{
		{"a black", []tracking.Look{before, of(true, none...), after}, 1, []string{"b"}}, {"dark, and not on purpose", []tracking.Look{before, of(false, none...), after}, 1, none},
		{"a black in which somebody is named", []tracking.Look{before, of(true, "d"), after}, 1, []string{"d"}}, {"a black of which nobody says who is there", []tracking.Look{before, of(true), after}, 1, nil},
		{"a black that begins", []tracking.Look{of(true, none...), after}, 0, none}, {"a black that ends", []tracking.Look{before, of(true, none...)}, 1, none},
	} {
		if got := standing(c.looks, c.i); !slices.Equal(got, c.want) {
			t.Errorf("%s: there are %q, not %q", c.about, got, c.want)
		}
	}
}

// TestWhatWasTakenOverIsTheSame: a look that is a copy of that of before differs in nothing but what all looks tell together;
// one that is a copy of another may differ in anything.
func TestWhatWasTakenOverIsTheSame(t *testing.T) {
	words, light := &segmentWords{}, &lookLight{}
	was, other := &Look{cueWords: cueWords{Number: "1"}, segmentWords: words, lookLight: light, Opens: true}, &Look{}
	for _, c := range []struct {
		about string
		from  *unknowns
		now   Look
		want  bool
	}{
		{"a copy of it", was.self(), Look{}, true}, {"a copy of it, of another part of the most light", was.self(), Look{OutputPct: new(50.0)}, false},
		{"a copy of another", other.self(), Look{}, false}, {"a copy of another in which all is alike", other.self(), Look{Opens: true}, true}, {"no copy", nil, Look{}, false}, {"no copy, and alike", nil, Look{Opens: true}, true},
	} {
		now := c.now
		now.cueWords, now.segmentWords, now.lookLight, now.from = was.cueWords, words, light, c.from
		m := &Measured{before: &Measured{Looks: []*Look{was}}, Looks: []*Look{&now}}
		if got := m.Same("look"); len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: the same: %v", c.about, got)
		}
	}
}

// TestWhoSaysThatALampIsWorkedByHand: whole words, however they are joined.
func TestWhoSaysThatALampIsWorkedByHand(t *testing.T) {
	for text, want := range map[string]bool{
		"FIRE (hand dimmer, door)": true, "Hand-Dimmer 2": true, "lantern by hand": true, "on battery": true, "wall switch": true,
		"standby handrail": false, "batterybar": false, "handy": false, "": false, "front": false,
	} {
		if got := saysByHand(text); got != want {
			t.Errorf("%q: %t", text, got)
		}
	}
}
