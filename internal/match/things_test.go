package match_test

import (
	"reflect"
	"testing"

	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

func n(v float64) *float64 { return &v }

// hall is a room with a thing of each kind beside another of its kind, under the names of a year.
func hall(year string) *schema.Show {
	return &schema.Show{
		Room: &schema.Room{
			Places:   []*schema.Place{{Name: "desk " + year, X: n(0), Y: n(1), Z: n(0)}, {Name: "band " + year, X: n(3), Y: n(2), Z: n(0)}},
			Cameras:  []*schema.Camera{{Name: "a " + year, X: n(0), Y: n(-9), Z: n(1)}, {Name: "b " + year, X: n(5), Y: n(-9), Z: n(1)}},
			Surfaces: []*schema.Surface{{Name: "wall " + year, Centre: &schema.Point{Y: 6}}, {Name: "side " + year, Centre: &schema.Point{X: 4, Y: 6}}},
			Bars:     []*schema.Bar{{Name: "front " + year, From: &schema.Point{X: -4}, To: &schema.Point{X: 4}}, {Name: "back " + year, From: &schema.Point{X: -4, Y: 5}, To: &schema.Point{X: 4, Y: 5}}},
			Areas:    []*schema.Area{{Name: "seats " + year, X: []float64{-4, 4}, Y: []float64{-9, -2}}, {Name: "aisle " + year, X: []float64{-5, -4}, Y: []float64{-9, -2}}},
			Paths:    []*schema.Path{{Name: "way " + year, From: "desk " + year, To: "band " + year}, {Name: "back " + year, From: "band " + year, To: "desk " + year}},
			Circuits: []*schema.Circuit{{Name: "D1 " + year}, {Name: "D2 " + year}},
		},
		Patch: []*schema.Fixture{{Channel: 11, Name: "Key", Address: "1.1", Type: "lamp", Circuit: "D1 " + year}, {Channel: 2, Name: "Key", Address: "1.2", Type: "lamp", Circuit: "D1 " + year}, {Channel: 3, Name: "Back", Address: "1.3", Type: "lamp", Circuit: "D2 " + year}},
	}
}

// TestWhatIsKnownByItsPlace: what has another name this year is what stands where it stood, and nothing where nobody knew
// where that was or where something else has changed too.
func TestWhatIsKnownByItsPlace(t *testing.T) {
	for kind, edits := range map[string]struct {
		known, lost []func(*schema.Show) // of the first thing of the kind, this year; an edit of lost[0] is made in both years
	}{
		"place":   {[]func(*schema.Show){func(s *schema.Show) { s.Room.Places[0].HeadM = n(1.2) }}, []func(*schema.Show){func(s *schema.Show) { s.Room.Places[0].Y = nil }, func(s *schema.Show) { s.Room.Places[0].X = n(0.1) }, func(s *schema.Show) { s.Room.Places[0].Z = nil }}},
		"camera":  {[]func(*schema.Show){func(s *schema.Show) { s.Room.Cameras[0].WhiteK = n(3200) }}, []func(*schema.Show){func(s *schema.Show) { s.Room.Cameras[0].X = nil }, func(s *schema.Show) { s.Room.Cameras[0].Z = n(2) }}},
		"screen":  {[]func(*schema.Show){func(s *schema.Show) { s.Room.Surfaces[0].WhiteK = n(6500) }}, []func(*schema.Show){func(s *schema.Show) { s.Room.Surfaces[0].Centre = nil }, func(s *schema.Show) { s.Room.Surfaces[0].Centre.Z = 1 }}},
		"bar":     {[]func(*schema.Show){func(s *schema.Show) { s.Room.Bars[0].Kind = "truss" }}, []func(*schema.Show){func(s *schema.Show) { s.Room.Bars[0].To = nil }, func(s *schema.Show) { s.Room.Bars[0].From.Z = 5 }}},
		"area":    {[]func(*schema.Show){func(s *schema.Show) { s.Room.Areas[0].Z = n(-1) }}, []func(*schema.Show){func(s *schema.Show) { s.Room.Areas[0].Y = nil }, func(s *schema.Show) { s.Room.Areas[0].X = []float64{-4, 5} }}},
		"path":    {nil, []func(*schema.Show){func(s *schema.Show) { s.Room.Paths[0].To = "nowhere" }, func(s *schema.Show) { s.Room.Paths[0].Via = []schema.Point{{X: 1}} }}},
		"circuit": {[]func(*schema.Show){func(s *schema.Show) { s.Room.Circuits[0].Amps = n(16) }}, []func(*schema.Show){func(s *schema.Show) { s.Patch[0].Circuit, s.Patch[1].Circuit = "", "" }, func(s *schema.Show) { s.Patch[1].Circuit = "D9" }}},
	} {
		first := func(things match.Things) string { return things[kind][0].Name }
		is := func(then, now *schema.Show) bool {
			a, b := match.Of(then, nil), match.Of(now, nil)
			link, ok := match.Pair(a, b).Now(kind, first(a))
			return ok && link == match.Link{Name: first(b), How: match.ByContent}
		}
		if !is(hall("24"), hall("25")) {
			t.Errorf("a %s is not known under another name", kind)
		}
		for i, edit := range edits.known {
			if now := hall("25"); edit != nil {
				if edit(now); !is(hall("24"), now) {
					t.Errorf("a %s is not known after the edit %d", kind, i)
				}
			}
		}
		for i, edit := range edits.lost {
			then, now := hall("24"), hall("25")
			if edit(now); i == 0 {
				edit(then)
			}
			if is(then, now) {
				t.Errorf("a %s is known after the edit %d", kind, i)
			}
		}
	}
}

// TestAFixtureOfAnotherNumber is known by its name, address and type together, where it has a name and an address.
func TestAFixtureOfAnotherNumber(t *testing.T) {
	for _, c := range []struct {
		then, now schema.Fixture
		same      bool
	}{
		{schema.Fixture{Name: "Key", Address: "1.1", Type: "lamp"}, schema.Fixture{Name: "Key", Address: "1.1", Type: "lamp", Purpose: "key"}, true},
		{schema.Fixture{Name: "Key", Address: "1.1", Type: "lamp"}, schema.Fixture{Name: "Key", Address: "1.1", Type: "other"}, false},
		{schema.Fixture{Name: "Key", Address: "1.1", Type: "lamp"}, schema.Fixture{Name: "Key", Address: "1.2", Type: "lamp"}, false},
		{schema.Fixture{Name: "Key", Type: "lamp"}, schema.Fixture{Name: "Key", Type: "lamp"}, false},
		{schema.Fixture{Address: "1.1", Type: "lamp"}, schema.Fixture{Address: "1.1", Type: "lamp"}, false},
	} {
		c.then.Channel, c.now.Channel = 1, 2
		then, now := match.Of(&schema.Show{Patch: []*schema.Fixture{&c.then}}, nil), match.Of(&schema.Show{Patch: []*schema.Fixture{&c.now}}, nil)
		if link, ok := match.Pair(then, now).Now("channel", "1"); ok != c.same || ok && link.Name != "2" {
			t.Errorf("%+v and %+v: %v, %t", c.then, c.now, link, ok)
		}
	}
}

// TestWhatAHistoryRemembers is found again by a later program: these numbers stand in the files of people. They are FNV-1a of
// the words, each with a zero behind it, spread by the finaliser of MurmurHash3, worked out apart from this program.
func TestWhatAHistoryRemembers(t *testing.T) {
	show := &schema.Show{Patch: []*schema.Fixture{{Channel: 1, Name: "Key", Address: "1.1", Type: "lamp"}}, Order: []*schema.Segment{{Name: "Song", Kind: "song"}}}
	level := schema.Level(50)
	show.Cues = []*schema.Cue{{Number: number(t, "1")}, {Number: number(t, "2"), Set: []*schema.Setting{{Channels: "1", Told: &schema.Told{Level: &level}}}}}
	things := match.Of(show, tracking.Resolve(show))
	if got := things["channel"][0].Core; got != 0x4593574d415a61d4 {
		t.Errorf("the fixture is %#x", got)
	}
	if got := things["segment"][0].Core; got != 0x2d0aec6108dc989c {
		t.Errorf("the kind of the segment is %#x", got)
	}
	for i, want := range []map[int]uint16{{17: 39941}, {2: 32780}} {
		parts := make([]uint16, 64)
		for part, value := range want {
			parts[part] = value
		}
		if got := things["cue"][i].Sketch; !reflect.DeepEqual(got, parts) {
			t.Errorf("the sketch of cue %d is %v", i+1, got)
		}
	}
}

func number(t *testing.T, text string) schema.CueNumber {
	t.Helper()
	number, err := schema.ParseCueNumber(text)
	if err != nil {
		t.Fatal(err)
	}
	return number
}

// TestFilesAreKnownByTheirSections, in whatever order they come, and screens and their surfaces are one kind.
func TestFilesAreKnownByTheirSections(t *testing.T) {
	of := func(names map[string]string) match.Things {
		show := &schema.Show{ReadFrom: map[string]source.Ref{}}
		for section, name := range names {
			file := &source.File{Name: name, Text: "{}"}
			if problems, ok := source.ParseJSON(file); !ok {
				t.Fatal(problems)
			}
			show.ReadFrom[section] = file.Root()
		}
		return match.Of(show, nil)
	}
	pairs := match.Pair(of(map[string]string{"patch": "a.csv", "room": "b.json", "types": "b.json"}), of(map[string]string{"patch": "x.csv", "room": "y.json", "types": "y.json"}))
	for then, now := range map[string]string{"a.csv": "x.csv", "b.json": "y.json"} {
		if link, ok := pairs.Now("file", then); !ok || link.Name != now {
			t.Errorf("%s is %v (%t)", then, link, ok)
		}
	}
	if link, ok := pairs.Now("show", "whatever"); !ok || link != (match.Link{How: match.ByName}) {
		t.Errorf("the show is %v (%t)", link, ok)
	}
	if link, ok := pairs.Now("file", "never there"); !ok || link != (match.Link{Name: "never there", How: match.ByName}) {
		t.Errorf("what never was is %v (%t)", link, ok)
	}
	if match.KindOf("surface") != "screen" || match.KindOf("cue") != "cue" {
		t.Error("a surface is no screen, or a cue is none")
	}
}

// TestCuesWithoutAPatch are known by what they tell, and a part that they do alike makes them alike.
func TestCuesWithoutAPatch(t *testing.T) {
	of := func(numbers []string, aims ...*schema.Aim) match.Things {
		show := &schema.Show{}
		for i, aim := range aims {
			level := schema.Level(10 * float64(i+1))
			show.Cues = append(show.Cues, &schema.Cue{Number: number(t, numbers[i]), Set: []*schema.Setting{{Channels: "1-4", Told: &schema.Told{Level: &level, Aim: aim}}}})
		}
		return match.Of(show, tracking.Resolve(show))
	}
	desk, point := &schema.Aim{Name: "desk"}, &schema.Aim{Point: &schema.Point{X: 1}}
	for _, c := range []struct {
		now  *schema.Aim
		want bool
	}{{desk, true}, {nil, false}, {point, false}} {
		link, ok := match.Pair(of([]string{"1", "2"}, desk, nil), of([]string{"11", "12", "13"}, c.now, nil, nil)).Now("cue", "1")
		if ok != c.want || ok && link.Name != "11" {
			t.Errorf("aimed at %+v: %v, %t", c.now, link, ok)
		}
	}
}
