package typical

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/schema"
)

// TestDoubts: what is assumed or inferred is tried at either end of its range, or taken away,
// each by itself and then all together; what was read is not doubted.
func TestDoubts(t *testing.T) {
	within := schema.Knowing{Word: "assumed", Low: 3000, High: 9000}
	show := &schema.Show{
		Types: []*schema.Type{{Name: "wash", FluxLm: new(6000.0), BeamDeg: new(25.0), Known: schema.Known{"flux_lm": within, "beam_deg": {Word: "assumed", Low: 20, High: 30}, "can": {Word: "assumed"}}}},
		Patch: []*schema.Fixture{
			{Channel: 1, Type: "wash", Purpose: "key", Known: schema.Known{"purpose": {Word: "inferred"}}},
			{Channel: 2, Type: "wash", Purpose: "key", Known: schema.Known{"purpose": {Word: "read"}}},
			{Channel: 3, Type: "wash", Purpose: "house", Known: schema.Known{"purpose": {Word: "inferred"}}},
		},
	}
	list := Doubts(show)
	if len(list) != 3 {
		t.Fatalf("%d doubts, not that of the type, that of the purposes and both together", len(list))
	}
	for i, want := range []Doubt{
		{Rests: `assumed numbers of the type "wash"`, Give: `the numbers of the type "wash" from its data sheet`, Known: finding.Assumed, Kinds: map[string]bool{"type": true}},
		{Rests: "inferred purpose of 2 fixtures", Give: "purpose of 2 fixtures, as it is in the hall", Known: finding.Inferred, Kinds: map[string]bool{"fixture": true}},
		{Rests: "several assumed numbers together", Give: "the real numbers in place of the assumed ones", Known: finding.Assumed, Kinds: map[string]bool{"type": true, "fixture": true}},
	} {
		got := list[i]
		if got.Rests != want.Rests || got.Give != want.Give || got.Known != want.Known || !reflect.DeepEqual(got.Kinds, want.Kinds) {
			t.Errorf("%+v, not %+v", got, want)
		}
	}
	// The low end is the one with less light on a face: fewer lumens, in a wider beam.
	low, high := list[0].Shows[0].Types[0], list[0].Shows[1].Types[0]
	if *low.FluxLm != 3000 || *low.BeamDeg != 30 || *high.FluxLm != 9000 || *high.BeamDeg != 20 {
		t.Errorf("%v lm in %v degrees to %v lm in %v", *low.FluxLm, *low.BeamDeg, *high.FluxLm, *high.BeamDeg)
	}
	// A purpose has no range, so it is taken away, but for one that its name tells beyond doubt.
	if without := list[1].Shows; len(without) != 1 || without[0].Patch[0].Purpose != "" || without[0].Patch[1].Purpose != "key" || without[0].Patch[2].Purpose != "house" {
		t.Errorf("without what was inferred there are %d shows", len(without))
	}
	if len(list[2].Shows) != 2 || *list[2].Shows[0].Types[0].FluxLm != 3000 || *list[2].Shows[1].Types[0].FluxLm != 9000 {
		t.Errorf("together there are %d shows", len(list[2].Shows))
	}
	if *show.Types[0].FluxLm != 6000 || show.Patch[0].Purpose != "key" {
		t.Error("the show itself was changed")
	}
	for _, f := range show.Patch {
		f.Output = 0.8 // what a meter showed of every lamp of the type is no assumption any more
	}
	if list := Doubts(show); len(list) != 1 || list[0].Known != finding.Inferred {
		t.Errorf("with readings of every lamp, %d doubts", len(list))
	}
	show.Patch[1].Output = 0
	if list := Doubts(show); len(list) != 3 {
		t.Errorf("with a lamp that nobody measured, %d doubts", len(list))
	}
}

// TestWhatItMayBeInstead: the ends of what has no range of numbers.
func TestWhatItMayBeInstead(t *testing.T) {
	bar := &schema.Bar{From: &schema.Point{X: -3, Y: -2, Z: 5}, To: &schema.Point{X: 5, Y: -2, Z: 5}}
	at := &schema.Point{X: 2, Y: -2, Z: 5}
	for _, c := range []struct {
		word string
		end  int
		want schema.Point
	}{
		{"inferred", 0, schema.Point{X: 1.6, Y: -2, Z: 5}}, {"inferred", 1, schema.Point{X: 2.4, Y: -2, Z: 5}}, // 0.4 m along the bar
		{"assumed", 0, schema.Point{X: 1.6, Y: -1.5, Z: 4.6}}, {"assumed", 1, schema.Point{X: 2.4, Y: -2.5, Z: 5.4}},
		{"assumed", 2, schema.Point{X: 0, Y: -2, Z: 5}}, // as far from the other end
	} {
		if got := otherPoint(at, bar, schema.Knowing{Word: c.word}, c.end); *got != c.want {
			t.Errorf("%s, end %d: %+v, not %+v", c.word, c.end, *got, c.want)
		}
	}
	for _, c := range []struct{ to, want schema.Point }{ // along a bar of half a metre that rises, and along one to the back
		{schema.Point{X: 2.3, Y: -2, Z: 5.4}, schema.Point{X: 2.24, Y: -2, Z: 5.32}}, {schema.Point{X: 2, Y: 1, Z: 5}, schema.Point{X: 2, Y: -1.6, Z: 5}},
	} {
		got := otherPoint(at, &schema.Bar{From: at, To: &c.to}, schema.Knowing{Word: "inferred"}, 1)
		if off := math.Abs(got.X-c.want.X) + math.Abs(got.Y-c.want.Y) + math.Abs(got.Z-c.want.Z); !(off < 1e-9) {
			t.Errorf("along a bar to %+v: %+v, not %+v", c.to, *got, c.want)
		}
	}
	stand := &schema.Bar{From: &schema.Point{X: 2, Y: -2, Z: 5}, To: &schema.Point{X: 2, Y: -2, Z: 5}} // along which there is no way
	if got := otherPoint(at, stand, schema.Knowing{Word: "inferred"}, 1); *got != *at {
		t.Errorf("on a stand: %+v", *got)
	}

	zoom := &schema.ZoomRange{Narrow: &schema.ZoomEnd{BeamDeg: new(10.0)}, Wide: &schema.ZoomEnd{BeamDeg: new(100.0), FieldDeg: new(160.0)}}
	for end, want := range [][3]float64{{12, 120, 175}, {8, 80, 128}} { // no field is wider than 175 degrees
		got := otherZoom(zoom, end)
		if *got.Narrow.BeamDeg != want[0] || *got.Wide.BeamDeg != want[1] || *got.Wide.FieldDeg != want[2] || got.Narrow.FieldDeg != nil {
			t.Errorf("end %d: %v to %v and %v degrees", end, *got.Narrow.BeamDeg, *got.Wide.BeamDeg, *got.Wide.FieldDeg)
		}
	}
	if got := otherZoom(&schema.ZoomRange{Narrow: zoom.Narrow}, 0); got.Wide != nil {
		t.Error("an end that nobody gave is there")
	}

	emitters := []*schema.Emitter{{Name: "blue", FluxLm: new(100.0), WavelengthNm: new(460.0)}, {Name: "white", FluxLm: new(300.0)}}
	for end, want := range [][3]float64{{67, 300, 454}, {100, 201, 466}} {
		got := otherEmitters(emitters, end)
		if *got[0].FluxLm != want[0] || *got[1].FluxLm != want[1] || *got[0].WavelengthNm != want[2] || got[1].WavelengthNm != nil || *emitters[0].FluxLm != 100 {
			t.Errorf("end %d: %v and %v lm, %v nm", end, *got[0].FluxLm, *got[1].FluxLm, *got[0].WavelengthNm)
		}
	}

	place := func(name string) *schema.Place {
		return &schema.Place{Name: name, X: new(1.0), Y: new(2.0), Z: new(0.5)}
	}
	three := &schema.Show{Room: &schema.Room{Places: []*schema.Place{place("a"), place("b"), place("c")}}}
	one := &schema.Show{Room: &schema.Room{Places: []*schema.Place{place("a")}}}
	for _, c := range []struct {
		show *schema.Show
		aim  schema.Aim
		end  int
		want *schema.Aim
	}{
		{three, schema.Aim{Name: "b"}, 0, &schema.Aim{Name: "a"}}, {three, schema.Aim{Name: "b"}, 1, &schema.Aim{Name: "c"}},
		{three, schema.Aim{Name: "a"}, 0, &schema.Aim{Name: "c"}}, {three, schema.Aim{Name: "c"}, 1, &schema.Aim{Name: "a"}},
		{three, schema.Aim{Name: "d"}, 1, nil}, {&schema.Show{}, schema.Aim{Name: "a"}, 1, nil},
		{three, schema.Aim{Point: &schema.Point{X: 2, Y: 1, Z: 1}}, 0, &schema.Aim{Point: &schema.Point{X: 0.5, Y: 1, Z: 1}}},
		{three, schema.Aim{Point: &schema.Point{X: 2, Y: 1, Z: 1}}, 1, &schema.Aim{Point: &schema.Point{X: 3.5, Y: 1, Z: 1}}},
		{one, schema.Aim{Name: "a"}, 0, &schema.Aim{Point: &schema.Point{X: -0.5, Y: 2, Z: 2.1}}}, // beside the head of who stands there
		{one, schema.Aim{Name: "a"}, 1, &schema.Aim{Point: &schema.Point{X: 2.5, Y: 2, Z: 2.1}}},
	} {
		if got := otherAim(c.show, &c.aim, c.end); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%+v, end %d: %+v, not %+v", c.aim, c.end, got, c.want)
		}
	}
}

// Two types are doubted each by itself, and their purposes apart from them.
func TestDoubtsOfTwoTypes(t *testing.T) {
	within := schema.Known{"flux_lm": {Word: "assumed", Low: 3000, High: 9000}}
	list := Doubts(&schema.Show{
		Types: []*schema.Type{{Name: "wash", FluxLm: new(6000.0), Known: within}, {Name: "spot", FluxLm: new(5000.0), Known: within}},
		Patch: []*schema.Fixture{{Channel: 1, Type: "wash"}, {Channel: 2, Type: "spot"}},
	})
	var rests []string
	for _, doubt := range list {
		rests = append(rests, doubt.Rests)
	}
	want := []string{`assumed numbers of the type "wash"`, `assumed numbers of the type "spot"`, "several assumed numbers together"}
	if !reflect.DeepEqual(rests, want) {
		t.Errorf("doubts rest on %q, not %q", rests, want)
	}
}

// TestARangeOfOneValue: what is assumed to be just one number stays it, be it small, and what has no range goes.
func TestARangeOfOneValue(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      any
	}{{0.5, 0.5, 0.3}, {2, 2, 0.3}, {0, 0, nil}, {0.2, 0.4, 0.2}, {0, 0.4, 0.0}} {
		wall := &schema.Surface{Reflectance: new(0.3)}
		vary(&schema.Show{}, "surface", "reflectance", schema.Knowing{Word: "assumed", Low: c.low, High: c.high}, reflect.ValueOf(wall), 0)
		if got := wall.Reflectance; (got == nil) != (c.want == nil) || got != nil && *got != c.want {
			t.Errorf("from %v to %v it is %v, want %v", c.low, c.high, got, c.want)
		}
	}
}

// TestDoubtsOfEveryThing: each thing of a show and of its room is doubted, in its own words, at either end of its range or without what
// has none, and the show itself stays as it is.
func TestDoubtsOfEveryThing(t *testing.T) {
	word := func(word, key string) schema.Known { return schema.Known{key: {Word: word}} }
	within := func(key string, low, high float64) schema.Known {
		return schema.Known{key: {Word: "assumed", Low: low, High: high}}
	}
	show := &schema.Show{
		Types: []*schema.Type{
			{Name: "hazer", Machine: &schema.Machine{OutputMgH: new(1000.0)}, Known: within("machine", 500, 2000)},
			{Name: "zoom", Zoom: &schema.ZoomRange{Narrow: &schema.ZoomEnd{BeamDeg: new(10.0)}, Wide: &schema.ZoomEnd{BeamDeg: new(40.0)}}, Known: word("assumed", "zoom")},
			{Name: "led", Emitters: []*schema.Emitter{{Name: "red", FluxLm: new(100.0)}}, Known: word("assumed", "emitters")},
			{Name: "slots", Slots: new(4), WhiteK: new(3200.0), Known: schema.Known{"slots": {Word: "assumed", Low: 4, High: 4}, "white_k": {Word: "assumed", Low: 3200, High: 3200}, "nothing": {Word: "assumed"}, "cri": {Word: "assumed"}}},
		},
		Patch: []*schema.Fixture{
			{Channel: 7, HungOn: "Front  bar", HungAt: &schema.Point{X: 2, Y: -2, Z: 5}, Known: word("inferred", "hung_at")}, {Channel: 8, AimedAt: &schema.Aim{Name: "desk"}, Known: word("inferred", "aimed_at")},
			{Channel: 9, HungOn: "box", HungAt: &schema.Point{X: 2, Y: -2, Z: 5}, Mount: "hangs", Known: word("inferred", "mount")},
		},
		Order: []*schema.Segment{{Name: "Song", Kind: "song", Known: word("inferred", "kind")}, {Name: "Talk", Kind: "talk", Known: word("inferred", "kind")}},
		Cues:  []*schema.Cue{{Number: 12_0000, InS: new(3.0), Known: within("in_s", 1, 5)}},
		Room: &schema.Room{
			Name: "Hall", AmbientLx: new(5.0), Known: within("ambient_lx", 0, 30),
			Places:   []*schema.Place{{Name: "desk", X: new(0.0), Y: new(1.0), Z: new(0.0), HeadM: new(1.6), Known: within("head_m", 1.2, 1.85)}, {Name: "drums"}},
			Cameras:  []*schema.Camera{{Name: "front", WhiteK: new(5600.0), Known: within("white_k", 5000, 6500)}},
			Surfaces: []*schema.Surface{{Name: "wall", Reflectance: new(0.5), Known: within("reflectance", 0.2, 0.8)}}, Circuits: []*schema.Circuit{{Name: "A1", Amps: new(16.0), Known: within("amps", 10, 16)}},
			Ambient: []*schema.Ambient{{Place: "desk", FaceLx: new(9.0), Known: within("face_lx", 0, 20)}}, Air: &schema.Air{VolumeM3: new(900.0), Known: within("volume_m3", 700, 1200)},
			Bars: []*schema.Bar{{Name: "front bar", From: &schema.Point{X: -3, Y: -2, Z: 5}, To: &schema.Point{X: 5, Y: -2, Z: 5}}, {Name: "box"}},
		},
	}
	list := Doubts(show)
	at := 0
	for _, c := range []struct {
		rests, kind string
		of          func(s *schema.Show) any
		want        []any
	}{
		{`assumed numbers of the type "hazer"`, "type", func(s *schema.Show) any { return *s.Types[0].Machine.OutputMgH }, []any{500.0, 2000.0}},
		{`assumed numbers of the type "zoom"`, "type", func(s *schema.Show) any { return *s.Types[1].Zoom.Wide.BeamDeg }, []any{48.0, 32.0}},
		{`assumed numbers of the type "led"`, "type", func(s *schema.Show) any { return *s.Types[2].Emitters[0].FluxLm }, []any{67.0, 100.0}},
		{`assumed numbers of the type "slots"`, "type", func(s *schema.Show) any { return [2]float64{float64(*s.Types[3].Slots), *s.Types[3].WhiteK} }, []any{[2]float64{4, 3200}, [2]float64{4, 3200}}},
		{"inferred position of channel 7", "fixture", func(s *schema.Show) any { return s.Patch[0].HungAt.X }, []any{1.6, 2.4, 0.0}},
		{"inferred aim of channel 8", "fixture", func(s *schema.Show) any { return s.Patch[1].AimedAt.Name }, []any{"drums", "drums"}},
		{"inferred mount of channel 9", "fixture", func(s *schema.Show) any { return s.Patch[2].Mount }, []any{""}},
		{"inferred kind of 2 segments", "segment", func(s *schema.Show) any { return s.Order[0].Kind + s.Order[1].Kind }, []any{""}},
		{`assumed fade time of the cue "12"`, "cue", func(s *schema.Show) any { return *s.Cues[0].InS }, []any{1.0, 5.0}},
		{"assumed ambient of the room", "room", func(s *schema.Show) any { return *s.Room.AmbientLx }, []any{0.0, 30.0}},
		{`assumed height of the head of the place "desk"`, "place", func(s *schema.Show) any { return *s.Room.Places[0].HeadM }, []any{1.2, 1.85}},
		{`assumed white of the camera "front"`, "camera", func(s *schema.Show) any { return *s.Room.Cameras[0].WhiteK }, []any{5000.0, 6500.0}},
		{`assumed reflectance of the surface "wall"`, "surface", func(s *schema.Show) any { return *s.Room.Surfaces[0].Reflectance }, []any{0.2, 0.8}},
		{`assumed amps of the circuit "A1"`, "circuit", func(s *schema.Show) any { return *s.Room.Circuits[0].Amps }, []any{10.0, 16.0}},
		{`assumed light of the ambient light "desk"`, "ambient light", func(s *schema.Show) any { return *s.Room.Ambient[0].FaceLx }, []any{0.0, 20.0}},
		{"assumed volume of the air", "air", func(s *schema.Show) any { return *s.Room.Air.VolumeM3 }, []any{700.0, 1200.0}},
	} {
		now := c.of(show)
		if at >= len(list) {
			t.Fatalf("%s is not doubted", c.rests)
		}
		doubt := list[at]
		if at++; doubt.Rests != c.rests || !doubt.Kinds[c.kind] || len(doubt.Shows) != len(c.want) {
			t.Errorf("%q of %v with %d shows, want %q of a %s with %d", doubt.Rests, doubt.Kinds, len(doubt.Shows), c.rests, c.kind, len(c.want))
			continue
		}
		for end, want := range c.want {
			if got := c.of(doubt.Shows[end]); got != want {
				t.Errorf("%s: at end %d it is %v, want %v", c.rests, end, got, want)
			}
		}
		if again := c.of(show); again != now {
			t.Errorf("%s: the show itself has %v now, and had %v", c.rests, again, now)
		}
	}
	if len(list) != at+1 || len(list[at].Shows) != 2 || len(list[at].Kinds) != 11 {
		t.Errorf("%d doubts, and all together in %d shows of %v", len(list), len(list[at].Shows), list[at].Kinds)
	}
	if both := list[at].Shows[0]; *both.Room.AmbientLx != 0 || *both.Room.Air.VolumeM3 != 700 || both.Order[0].Kind != "song" || both.Patch[0].HungAt.X != 2 {
		t.Errorf("all at their low ends: %v lx, %v m3, %q, %v", *both.Room.AmbientLx, *both.Room.Air.VolumeM3, both.Order[0].Kind, both.Patch[0].HungAt)
	}
	// A show that is too large to look at each by itself looks at all of them together, however few they are.
	for cues, want := range map[int][]int{mostStates / 1000: {2}, mostStates/1000 + 1: {0, 2}} {
		large := &schema.Show{Types: show.Types[:1]}
		for i := range 1000 {
			large.Patch = append(large.Patch, &schema.Fixture{Channel: i + 1})
		}
		for range cues {
			large.Cues = append(large.Cues, &schema.Cue{})
		}
		var got []int
		for _, doubt := range Doubts(large) {
			got = append(got, len(doubt.Shows))
		}
		if !slices.Equal(got, want) {
			t.Errorf("with 1000 fixtures in %d cues the doubts have %v shows, want %v", cues, got, want)
		}
	}
}
