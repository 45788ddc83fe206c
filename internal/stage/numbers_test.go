package stage

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
)

// read reads a whole show as the loaders do, but without their findings.
func read(t *testing.T, text string) *schema.Show {
	t.Helper()
	return schematest.Read(t, text)
}

// rigOf is the rig of a show, with its looks.
func rigOf(t *testing.T, text string) (*Rig, []*LookLight) {
	t.Helper()
	show := read(t, text)
	looks := tracking.Resolve(show)
	r := NewRig(show, looks, nil)
	walk, list := r.Walk(), make([]*LookLight, len(looks))
	for i := range looks {
		list[i] = &LookLight{}
		walk.To(&looks[i], list[i])
	}
	return r, list
}

// ISO 2720:1974: the light that a camera is set for is C N^2 / (t S), with C = 250 for a flat
// receptor; a neutral filter of two stops asks for four times that.
func TestWantedLux(t *testing.T) {
	camera := &schema.Camera{Name: "front", ApertureF: new(4.0), ShutterS: new(0.02), SensitivityISO: new(400.0)}
	lux, lack := WantedLux(camera)
	if near(t, "the light", lux, 250*4*4/(0.02*400)); lack != "" {
		t.Error(lack)
	}
	camera.NDStops = new(2.0)
	lux, _ = WantedLux(camera)
	near(t, "the light behind a filter", lux, 4*500)
	for _, broken := range []schema.Camera{
		{ShutterS: new(0.02), SensitivityISO: new(400.0)}, {ApertureF: new(4.0), SensitivityISO: new(400.0)}, {ApertureF: new(4.0), ShutterS: new(0.02)},
		{ApertureF: new(4.0), ShutterS: new(0.0), SensitivityISO: new(400.0)}, {ApertureF: new(4.0), ShutterS: new(0.02), SensitivityISO: new(400.0), NDStops: new(5000.0)},
	} {
		if _, lack := WantedLux(&broken); lack == "" {
			t.Errorf("%+v wants a light", broken)
		}
	}
}

func TestWhoSetsACamera(t *testing.T) {
	for _, c := range []struct {
		camera schema.Camera
		want   bool
	}{{schema.Camera{}, true}, {schema.Camera{Role: "phone"}, false}, {schema.Camera{Role: "phone", AutoExposure: new(false)}, true}, {schema.Camera{AutoExposure: new(true)}, false}} {
		if got := SetsExposure(&c.camera); got != c.want {
			t.Errorf("%+v: %v", c.camera, got)
		}
	}
}

// A matt plane under E lux that reflects the part R has R E / pi cd/m2 (Lambert).
func TestScreensUnderLight(t *testing.T) {
	cloth := &schema.Surface{Kind: "projection"}
	usual, low, high := Paled(cloth, 200, 100)
	near(t, "cloth", usual, 100*100/math.Pi/200)
	if low != usual || high != usual {
		t.Errorf("cloth is known, and yet from %v to %v", low, high)
	}
	cloth.Gain = new(0.8)
	usual, _, _ = Paled(cloth, 200, 100)
	near(t, "cloth of gain 0.8", usual, 0.8*100*100/math.Pi/200)
	wall := &schema.Surface{Kind: "emissive", Name: "wall"}
	usual, low, high = Paled(wall, 1000, 100*math.Pi)
	near(t, "a wall, as most are", usual, 0.5)
	near(t, "a dark wall", low, 0.2)
	near(t, "a pale wall", high, 1)
	wall.Reflectance = new(0.08)
	usual, low, _ = Paled(wall, 1000, 100*math.Pi)
	near(t, "a wall of 8 %", usual, 0.8)
	near(t, "a wall of 8 % at least", low, 0.8)
	if usual, _, _ := Paled(wall, 0, 100); usual != 0 {
		t.Errorf("a dark wall is paled by %v %%", usual)
	}

	ratio, lack := ContrastOf(wall, 1000, 100*math.Pi) // 8 cd/m2 on both
	if near(t, "a black that nobody measured, under light", ratio, 1008.0/8); lack != "" {
		t.Error(lack)
	}
	wall.BlackCdM2 = new(2.0)
	ratio, lack = ContrastOf(wall, 1000, 100*math.Pi)
	if near(t, "the contrast", ratio, 1008.0/10); lack != "" {
		t.Error(lack)
	}
	wall.BlackCdM2 = new(2000.0)
	ratio, _ = ContrastOf(wall, 1000, 0)
	near(t, "a black above white", ratio, 1)
	wall.BlackCdM2 = nil
	ratio, _ = ContrastOf(wall, 1000, 0)
	near(t, "nothing lightens the black", ratio, 1e6)
	if _, lack := ContrastOf(&schema.Surface{Kind: "emissive"}, 1000, 10); !strings.Contains(lack, "reflectance") {
		t.Errorf("missing is %q", lack)
	}
}

const slots = `{"types": [{"name": "ten", "slots": 10}, {"name": "modes", "modes": [{"name": "short", "slots": 4}, {"name": "long", "slots": 9}]}, {"name": "one mode", "modes": [{"name": "only", "slots": 3}]}, {"name": "none"}],
	"patch": [{"channel": 1, "type": "ten", "address": "1.1"}, {"channel": 2, "type": "ten", "address": "1.11"}, {"channel": 3, "type": "ten", "address": "1.503"},
		{"channel": 4, "type": "modes", "mode": "long", "address": "3.505"}, {"channel": 5, "type": "modes"}, {"channel": 6, "type": "one mode"}, {"channel": 7, "type": "none"},
		{"channel": 8}, {"channel": 9, "type": "what"}, {"channel": 10, "type": "modes", "mode": "middle"}], "cues": [{"cue": 1}]}`

// ANSI E1.11: 512 slots, numbered from 1. Of universe 1 here 21 to 502 are free, of universe 3 1 to 504.
func TestRoomInUniverses(t *testing.T) {
	r, _ := rigOf(t, slots)
	m := NewSlotMap(r)
	for _, c := range []struct {
		universe, count int
		want            schema.Address
		ok              bool
	}{
		{1, 1, schema.Address{Universe: 1, Slot: 21}, true}, {1, 482, schema.Address{Universe: 1, Slot: 21}, true}, {1, 483, schema.Address{Universe: 3, Slot: 1}, true},
		{3, 504, schema.Address{Universe: 3, Slot: 1}, true}, {3, 505, schema.Address{}, false}, {2, 7, schema.Address{Universe: 1, Slot: 21}, true}, {0, 7, schema.Address{Universe: 1, Slot: 21}, true},
	} {
		if got, ok := m.Free(c.universe, c.count); got != c.want || ok != c.ok {
			t.Errorf("%d slots, first in universe %d: %v %v, want %v", c.count, c.universe, got, ok, c.want)
		}
	}
	if slot, past := within(508, 10); slot != 508 || past != 513 {
		t.Errorf("from 508 on are those from %d to before %d", slot, past)
	}
	if slot, past := within(-1, 4); slot != 1 || past != 3 {
		t.Errorf("from before the first on are those from %d to before %d", slot, past)
	}
	f := r.Show.Patch
	for i, c := range []struct {
		f     *schema.Fixture
		slot  int
		count int
		want  []*schema.Fixture
	}{{f[0], 1, 10, nil}, {f[1], 11, 10, nil}, {f[2], 5, 10, []*schema.Fixture{f[0], f[1]}}, {f[3], 20, 1, []*schema.Fixture{f[1]}}, {f[4], 21, 5, nil}} {
		if got := m.Claim(c.f, schema.Address{Universe: 1, Slot: c.slot}, c.count); !slices.Equal(got, c.want) {
			t.Errorf("claim %d meets %d fixtures, want %d", i, len(got), len(c.want))
		}
	}
}

func TestHowManySlots(t *testing.T) {
	r, _ := rigOf(t, slots)
	for channel, want := range map[int]any{
		1: 10, 4: 9, 6: 3, 5: "the mode of the fixture on channel 5", 7: `the number of addresses of the type "none"`, 8: "the type of the fixture on channel 8",
		9: `the type "what", with its number of addresses`, 10: `the number of addresses of the mode "middle" of the type "modes"`,
	} {
		count, missing := r.Slots(r.byChan[channel])
		if missing != "" && missing != want || missing == "" && *count != want {
			t.Errorf("channel %d: %q, want %v", channel, missing, want)
		}
	}
}

func TestUsedChannels(t *testing.T) {
	show := read(t, `{"patch": [{"channel": 1}, {"channel": 2}, {"channel": 3}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "3", "level": 1}]},
		{"cue": 2, "set": [{"channels": "1", "level": 0}]}, {"cue": 3, "set": [{"channels": "1", "level": 20}]}, {"cue": 4}]}`)
	used := UsedChannels(tracking.Resolve(show), show.Patch)
	if used[1] != 3 || used[2] != 0 || used[3] != 4 {
		t.Errorf("of four looks channels are lit in %v", used)
	}
}

// A cue says more of people than its part of the evening does, and a later part of a cue more
// than an earlier one.
func TestWhoIsThere(t *testing.T) {
	_, looks := rigOf(t, `{"room": {"places": [{"name": "a"}, {"name": "b"}, {"name": "c"}]}, "patch": [{"channel": 1}], "order": [{"name": "talk", "start_cue": 2, "people": ["a", "b"], "lead": ["a"], "walks": ["in"]}],
		"cues": [{"cue": 1}, {"cue": 2}, {"cue": 3, "people": ["c"], "walks": []}, {"cue": 4, "part": 1, "people": ["a"], "lead": ["b"]}, {"cue": 4, "part": 2, "people": [], "lead": ["c"], "walks": ["out"]}]}`)
	for i, c := range []struct {
		people, leads, walks string
		led, walked          bool
	}{{"", "", "", false, false}, {"a b", "a", "in", true, true}, {"c", "a", "in", true, true}, {"", "c", "out", true, true}} {
		leads, led := looks[i].Leads()
		walks, walked := looks[i].Walks()
		if got := strings.Join(looks[i].People(), " "); got != c.people || strings.Join(leads, " ") != c.leads || led != c.led || strings.Join(walks, " ") != c.walks || walked != c.walked {
			t.Errorf("look %d: people %v, leading %v (%v), walking %v (%v)", i, got, leads, led, walks, walked)
		}
	}
}

// The place comes before the hall, what fits the hour before the number of the day, and where
// the hour is not known the darkest counts.
func TestAmbientByPlaceAndHour(t *testing.T) {
	const hall = `{%s "room": {"ambient_lx": 7, "places": [{"name": "a"}], "ambient": [
		{"face_lx": 50, "from": "10:00", "until": "11:00"}, {"face_lx": 30}, {"face_lx": 90, "place": "a", "white_k": 6000, "from": "22:00", "until": "02:00"}, {"face_lx": 80, "place": "a", "from": "10:30"}, {"place": "a"}]},
		"patch": [{"channel": 1}], "order": [{"name": "one", "start_cue": 1, "duration_s": 1800}, {"name": "two", "start_cue": 2, "duration_s": 1800}], "cues": [{"cue": 1}, {"cue": 2}]}`
	for _, c := range []struct {
		start string
		look  int
		place string
		want  float64
	}{
		{"10:00", 0, "b", 30}, {"10:00", 0, "a", 30}, {"10:00", 1, "a", 80}, {"9:59", 1, "a", 30}, {"21:30", 1, "a", 80}, {"23:45", 1, "a", 90}, {"01:30", 1, "a", 30}, {"01:29", 1, "a", 90},
		{"", 0, "a", 80}, {"", 0, "b", 30},
	} {
		head := ""
		if c.start != "" {
			head = `"starts_at": "` + c.start + `",`
		}
		r, looks := rigOf(t, strings.Replace(hall, "%s", head, 1))
		if got := r.AmbientAt(looks[c.look], c.place); got.Lux != c.want || !got.Known || (got.Kelvin != nil) != (c.want == 90) {
			t.Errorf("from %q, part %d, at %q: %+v, want %v lx", c.start, c.look, c.place, got, c.want)
		}
	}
	r, looks := rigOf(t, `{"room": {"ambient_lx": 7}, "patch": [{"channel": 1}], "cues": [{"cue": 1}]}`)
	if got := r.AmbientAt(looks[0], "a"); got.Lux != 7 || !got.Known {
		t.Errorf("the number of the day is %+v", got)
	}
	r, looks = rigOf(t, `{"patch": [{"channel": 1}], "cues": [{"cue": 1}]}`)
	if got := r.AmbientAt(looks[0], "a"); got.Known {
		t.Errorf("without a room there is %+v", got)
	}
	if at, ok := clock(" 18:15 "); !ok || at != 18*time.Hour+15*time.Minute {
		t.Errorf("a quarter past six is %v", at)
	}
}

// The eyes of a house that rises by a metre: the first row nearest the stage, seated; and a
// point at most a metre from the next.
func TestEyesOfTheHouse(t *testing.T) {
	eyes := eyesIn(&schema.Area{X: []float64{0, 2}, Y: []float64{-8, -4}, Z: new(0.0), BackZ: new(1.0)})
	if len(eyes) != 4*6 || eyes[0] != (photometry.Vec{X: 0, Y: -4, Z: 1.2}) || eyes[len(eyes)-1] != (photometry.Vec{X: 2, Y: -8, Z: 2.2}) {
		t.Errorf("%d eyes, from %v to %v", len(eyes), eyes[0], eyes[len(eyes)-1])
	}
	if eyes := eyesIn(&schema.Area{Kind: "aisle", X: []float64{0, 100}, Y: []float64{-8, -8}, Z: new(0.5)}); len(eyes) != 21*2 || eyes[0].Z != 2.1 || eyes[len(eyes)-1].Z != 2.1 {
		t.Errorf("an aisle has %d eyes, the first at %v", len(eyes), eyes[0])
	}
	if eyes := eyesIn(&schema.Area{Kind: "aisle", X: []float64{0, 1}, Y: []float64{-8, -7}, Z: new(0.5), EyeM: new(1.0)}); eyes[0].Z != 1.5 {
		t.Errorf("eyes a metre up are at %v", eyes[0].Z)
	}
	for _, a := range []schema.Area{{X: []float64{0, 1}, Y: []float64{0, 1}}, {X: []float64{0}, Y: []float64{0, 1}, Z: new(0.0)}, {X: []float64{0, 1}, Z: new(0.0)}} {
		if len(eyesIn(&a)) > 0 {
			t.Errorf("%+v says where it is", a)
		}
	}
}

// A way is looked at in steps of 0.7 m, with both ends; in the dark it has the light of the hall.
func TestWays(t *testing.T) {
	r, looks := rigOf(t, `{"room": {"ambient_lx": 2, "places": [{"name": "wing", "x": 0, "y": 0}, {"name": "lectern", "x": 7, "y": 0, "z": 0.4}, {"name": "nowhere"}],
		"cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}],
		"paths": [{"name": "in", "from": "wing", "to": "lectern"}, {"name": "round", "from": "wing", "to": "lectern", "via": [{"x": 0, "y": 1.3, "z": 0}]}, {"name": "lost", "from": "wing", "to": "nowhere"}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "peak_cd": 20000, "beam_deg": 20, "field_deg": 30}],
		"patch": [{"channel": 1, "type": "spot", "purpose": "top", "hung_at": {"x": 0, "y": 0, "z": 5}, "aimed_at": {"x": 0, "y": 0, "z": 0}}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}], "order": [{"name": "in", "start_cue": 1}]}`)
	s := r.Room
	if missing := s.Light(looks[0]); len(missing) > 0 {
		t.Fatal(missing)
	}
	in, round := s.paths["in"].receivers, s.paths["round"].receivers
	if len(in) != 12 { // 7.01 m are 11 steps
		t.Errorf("7.01 m have %d points", len(in))
	}
	if len(round) != 3+12 { // 1.3 m are 2 steps, 7.13 m are 11
		t.Errorf("the way round has %d points", len(round))
	}
	near(t, "under the lamp", s.LuxAt(in[0]), 0.5*20000/25)
	darkest, ok := s.DarkestWalk(looks[0], []string{"in"})
	if near(t, "the darkest step", darkest.Lux, 2); !ok || darkest.Path != "in" {
		t.Errorf("%+v", darkest)
	}
	for _, name := range []string{"lost", "none"} {
		if w, ok := s.DarkestWalk(looks[0], []string{name}); !ok || !strings.Contains(w.Missing, name) {
			t.Errorf("%q: %+v", name, w)
		}
	}
	if w, place, ok := s.LikelyWalk(looks[0], []string{"nowhere", "lectern"}); !ok || place != "lectern" || w.Lux != 2 {
		t.Errorf("%+v at %q", w, place)
	}
	if _, _, ok := s.LikelyWalk(looks[0], []string{"nowhere"}); ok {
		t.Error("a way that nobody knows is walked")
	}
	if missing := s.paths["lost"].missing; !strings.Contains(missing, `"nowhere"`) {
		t.Errorf("missing is %q", missing)
	}
}

// 200 and 220 mired have their middle at 210, which is 4760 K to the next ten and 4800 K
// to the next hundred, which is 12 mired from the warmer.
func TestTheWhiteThatFitsBest(t *testing.T) {
	whites := KeyWhites{200: {3, 15000}, 220: {1, 4545}}
	for _, c := range []struct{ within, want float64 }{{10, 4760}, {30, 4800}, {9.9, 5000}} {
		if got, ok := whites.Best(c.within); !ok || got != c.want {
			t.Errorf("within %v mired %v K fit best, want %v", c.within, got, c.want)
		}
	}
	for _, c := range []struct{ have, want float64 }{{4740, 4740}, {4700, 4800}} { // what a camera has is as good within half a step
		if got, _ := whites.Best(30, c.have); got != c.want {
			t.Errorf("beside a camera of %v K %v K fit best, want %v", c.have, got, c.want)
		}
	}
	if got, _ := (KeyWhites{200: {1, 5004}}).Best(0); got != 5000 {
		t.Errorf("one white of 5004 K gives %v", got)
	}
	if _, ok := (KeyWhites{}).Best(10); ok {
		t.Error("no light has a white")
	}
	for kelvin, want := range map[float64]bool{999: false, 1000: true, 25000: true, 25001: false} {
		if IsWhite(&kelvin) != want {
			t.Errorf("%v K: %v", kelvin, !want)
		}
	}
	near(t, "5000 and 4000 K", MiredApart(5000, 4000), 50)
	if low, high, ok := WhiteRange(&schema.Type{WhiteRangeK: []float64{2700, 6500}}); !ok || low != 2700 || high != 6500 {
		t.Errorf("from %v to %v", low, high)
	}
	for _, kind := range []*schema.Type{nil, {}, {WhiteRangeK: []float64{6500, 2700}}, {WhiteRangeK: []float64{2700}}} {
		if low, high, ok := WhiteRange(kind); ok || low != 0 || high != 0 {
			t.Errorf("%+v has a range", kind)
		}
	}
}

func TestLevelsForMoreLight(t *testing.T) {
	lamp := func(curve string, level, share float64) *Lamp {
		return &Lamp{Light: &Light{Kind: &schema.Type{DimmerCurve: curve}, Level: level, Share: share}}
	}
	straight, square := lamp("", 25, 0.25), lamp("square", 50, 0.25)
	for _, c := range []struct {
		lamp         *Lamp
		factor, want float64
	}{{straight, 1, 25}, {straight, 2, 50}, {straight, 4, 100}, {straight, 4.01, 101}, {straight, 0, 0}, {straight, 1.01, 26}, {lamp("", 0, 0), 2, 0}, {square, 4, 100}, {square, 1, 50}, {square, 0.25, 25}} {
		if got := c.lamp.LevelFor(c.factor); got != c.want {
			t.Errorf("%v times the light of %v %% takes %v %%, want %v", c.factor, c.lamp.Level, got, c.want)
		}
	}
	if levels, ok := LevelsFor([]*Lamp{straight, straight}, 5); ok || !slices.Equal(levels, []float64{100, 100}) {
		t.Errorf("%v, %v", levels, ok)
	}
	if levels, ok := LevelsFor([]*Lamp{straight, straight}, 4); !ok || !slices.Equal(levels, []float64{100, 100}) {
		t.Errorf("%v, %v", levels, ok)
	}
	if got := square.levelOf(0.25); got != 50 {
		t.Errorf("a quarter of the light is at %v %%", got)
	}
	if !straight.Straight() || square.Straight() || (&Light{}).Straight() {
		t.Error("what is straight is not")
	}
	near(t, "without a type", (&Light{}).Control(40), 0.4)
}

func TestPaletteAndHues(t *testing.T) {
	for _, c := range []struct {
		mains, palette []float64
		deg, hue       float64
	}{{[]float64{10, 200}, []float64{20, 350}, 150, 200}, {[]float64{350}, []float64{10}, 20, 350}, {[]float64{10, 30}, []float64{20}, 10, 10}, {[]float64{20}, []float64{20}, 0, 0}, {[]float64{20}, nil, 180, 20}, {nil, []float64{20}, 0, 0}} {
		if deg, hue := PaletteApart(c.mains, c.palette); deg != c.deg || hue != c.hue {
			t.Errorf("%v and %v are %v apart at %v", c.mains, c.palette, deg, hue)
		}
	}
	tints := []colour.Tint{{Hue: 30, Flux: 700}, {Hue: 262, Flux: 300}}
	mains, accents, names, largest, ok := HuesOver(tints)
	if near(t, "the largest", largest, 0.7); !ok || mains+accents != 2 || len(names) != 2 {
		t.Errorf("%d and %d, %v", mains, accents, names)
	}
	if hue := LargestHue(tints); hue == nil || *hue != 30 {
		t.Errorf("the largest is %v", hue)
	}
	if hue := LargestHue(tints[1:]); hue == nil || *hue != 262 {
		t.Errorf("the largest of one is %v", hue)
	}
	if LargestHue(nil) != nil {
		t.Error("the dark has a hue")
	}
	if hues := PaletteHues(&schema.Segment{Palette: []string{"#ff0000", "#808080", "nonsense", "#0000ff"}}); len(hues) != 2 {
		t.Errorf("of red, grey and blue %v are hues", hues)
	}
}

func TestNumbersThatNobodyGave(t *testing.T) {
	if !SameNumber(nil, nil) || SameNumber(nil, new(0.0)) || SameNumber(new(0.0), nil) || !SameNumber(new(2.0), new(2.0)) || SameNumber(new(2.0), new(3.0)) {
		t.Error("the same is not the same")
	}
	if Positive(nil) != 0 || Positive(new(3.0)) != 3 || Value(nil) != 0 || Value(new(3.0)) != 3 {
		t.Error("what nobody gave is not 0")
	}
	if Clearly(100, 100) || Clearly(100+1e-8, 100) || !Clearly(100+1e-6, 100) {
		t.Error("clearly more is not")
	}
}

// A haze machine is no light, whatever purpose it was given, and house light and a lamp of the
// set are no stage light.
func TestWhatLightsTheStage(t *testing.T) {
	r, _ := rigOf(t, `{"types": [{"name": "lamp", "source": "white-led"}, {"name": "machine", "source": "none"}, {"name": "hazer", "machine": {"kind": "haze", "fluid": "glycol", "output_mg_h": 1000}}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "beam"}, {"channel": 2, "type": "machine", "purpose": "beam"}, {"channel": 3, "type": "lamp", "purpose": "house"}, {"channel": 4, "type": "lamp", "purpose": "key"},
			{"channel": 5, "type": "hazer", "purpose": "beam"}, {"channel": 6, "purpose": "practical"}, {"channel": 7, "purpose": "haze"}, {"channel": 8}], "cues": [{"cue": 1}]}`)
	list := func(fixtures []*schema.Fixture) (channels []int) {
		for _, f := range fixtures {
			channels = append(channels, f.Channel)
		}
		return channels
	}
	if got := list(r.Beams()); !slices.Equal(got, []int{1}) {
		t.Errorf("beams are %v", got)
	}
	if got := list(r.OtherLights()); !slices.Equal(got, []int{3, 6}) {
		t.Errorf("other lights are %v", got)
	}
	if !r.StageLight(r.byChan[8]) || r.StageLight(r.byChan[7]) {
		t.Error("a fixture of no purpose may light the stage, and haze may not")
	}
}

// What a lamp points at is a place, at the height of a face, or a point.
func TestTargets(t *testing.T) {
	r, looks := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 1, "y": 2, "z": 0.2, "head_m": 1.6}, {"name": "nowhere"}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 1000}],
		"patch": [{"channel": 1, "type": "spot", "aimed_at": "lectern"}, {"channel": 2, "type": "spot", "aimed_at": {"x": 3, "y": 4, "z": 5}}, {"channel": 3, "type": "spot", "aimed_at": "nowhere"}, {"channel": 4, "type": "spot"}],
		"cues": [{"cue": 1, "set": [{"channels": "1-4", "level": 50}]}]}`)
	for i, want := range []struct {
		at photometry.Vec
		ok bool
	}{{photometry.Vec{X: 1, Y: 2, Z: 1.8}, true}, {photometry.Vec{X: 3, Y: 4, Z: 5}, true}, {ok: false}, {ok: false}} {
		at, ok := r.Room.Target(looks[0].of(r.Lines[i]))
		if ok != want.ok || ok && at != want.at {
			t.Errorf("channel %d points at %v (%v), want %v", i+1, at, ok, want.at)
		}
	}
}

// A lamp that runs through all hues stands once among the lamps of the looks' hues, however
// many hues it shows.
func TestALampThatSweepsIsOneLamp(t *testing.T) {
	r, looks := rigOf(t, `{"types": [{"name": "lamp", "source": "colour-led", "emitters": [{"name": "red", "x": 0.7, "y": 0.3, "flux_lm": 1000}, {"name": "blue", "x": 0.15, "y": 0.05, "flux_lm": 200}]}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "wash"}, {"channel": 2, "type": "lamp", "purpose": "wash"}, {"channel": 3, "type": "lamp", "purpose": "wash"}],
		"cues": [{"cue": 1, "set": [{"channels": "1-3", "level": 100, "mix": {"red": 100}}, {"channels": "2", "effect": {"kind": "rainbow", "rate_hz": 0.1}}]}]}`)
	h, missing := r.Room.HuesOf(looks[0])
	if len(missing) > 0 || len(h.tinted) != 3 || len(h.firsts) != 1+sweptHues+1+1 {
		t.Fatalf("%v is missing, %d lamps, %d tints", missing, len(h.tinted), len(h.firsts)-1)
	}
	var channels []int
	for tint := range len(h.firsts) - 1 {
		for lamp := range h.lampsOf(hueGroup{tints: []int{tint}}) {
			channels = append(channels, lamp.Channel)
		}
	}
	if !slices.Equal(channels, []int{1, 2, 3}) {
		t.Errorf("the lamps of all hues are %v", channels)
	}
}

// Only a zoom that says where it begins and ends, and is in no photometric file, has lumens at
// both ends.
func TestLumensOfAZoom(t *testing.T) {
	r, _ := rigOf(t, `{"types": [
		{"name": "zoom", "zoom": {"narrow": {"beam_deg": 10, "field_deg": 16, "flux_lm": 2400}, "wide": {"beam_deg": 38, "field_deg": 54, "flux_lm": 3600}}},
		{"name": "fixed", "beam_deg": 20, "field_deg": 30, "flux_lm": 2000},
		{"name": "measured", "photometry": "a.ies", "zoom": {"narrow": {"beam_deg": 10, "field_deg": 16, "flux_lm": 2400}, "wide": {"beam_deg": 38, "field_deg": 54, "flux_lm": 3600}}}],
		"patch": [{"channel": 1, "type": "zoom"}, {"channel": 2, "type": "fixed"}, {"channel": 3, "type": "measured"}], "cues": [{"cue": 1}]}`)
	narrow, wide, ok := r.zoomFluxes(r.Types["zoom"])
	if !ok {
		t.Error("the zoom has no lumens")
	}
	near(t, "the narrow end", narrow, 2400)
	near(t, "the wide end", wide, 3600)
	for _, name := range []string{"fixed", "measured"} {
		if _, _, ok := r.zoomFluxes(r.Types[name]); ok {
			t.Errorf("%s has lumens at the ends of a zoom", name)
		}
	}
}

// TestFilamentPower: on a dimmer that is linear in voltage, the level that gives a quarter of a filament's light is that
// part of full to the power that the type of lamp has.
func TestFilamentPower(t *testing.T) {
	for _, halogen := range []bool{true, false} {
		kind := &schema.Type{Source: "tungsten", DimmerCurve: "linear", CurveOf: "voltage", Halogen: &halogen}
		power := FilamentPower(kind)
		d, ok := colour.Lamp{CCT: 3000, LightExponent: power}.Dim(filamentCurve(kind), math.Pow(0.25, 1/power))
		if want := map[bool]float64{true: 3, false: 3.4}[halogen]; !ok || power != want {
			t.Errorf("halogen %v: %v, want %v", halogen, power, want)
		}
		near(t, "its light", d.Light, 0.25)
	}
}

// A lamp that is made for white gives a face a white, and be it a bad one, unless it is sent through a colour.
func TestABadWhiteIsAWhite(t *testing.T) {
	for _, c := range []struct {
		coloured *bool
		source   string
		kelvin   *float64
		duv      *float64
		want     bool
	}{
		{nil, "discharge", new(6000.0), new(0.0), false}, {new(false), "", nil, nil, true}, {new(true), "discharge", new(6000.0), new(0.04), true}, {new(true), "discharge", new(6000.0), new(-0.04), true},
		{new(true), "discharge", new(6000.0), new(0.041), false}, {new(true), "discharge", new(2000.0), new(0.0), true}, {new(true), "discharge", new(1999.0), new(0.0), false},
		{new(true), "colour-led", new(6000.0), new(0.0), false}, {new(true), "discharge", nil, new(0.0), false}, {new(true), "discharge", new(6000.0), nil, false},
	} {
		light := &Light{Kind: &schema.Type{Source: c.source}}
		light.Coloured, light.CCT, light.Duv = c.coloured, c.kelvin, c.duv
		if light.White() != c.want {
			t.Errorf("%+v is a white: %t", c, !c.want)
		}
	}
	bare := &Light{}
	if bare.Coloured = new(true); bare.White() {
		t.Error("a colour of a lamp without a type is a white")
	}
}

// Key and back light count nothing in the picture, and so does a white lamp that nobody called anything and that points at
// somebody.
func TestWhatCountsInThePicture(t *testing.T) {
	r := &Rig{}
	for _, c := range []struct {
		line     Line
		coloured *bool
		beam     *Beam
		want     float64
	}{
		{Line{people: true}, nil, nil, 0}, {Line{}, new(false), &Beam{atPerson: true}, 0}, {Line{}, new(true), &Beam{atPerson: true}, 1}, {Line{}, nil, &Beam{atPerson: true}, 1}, {Line{}, new(false), &Beam{}, 1}, {Line{}, new(false), nil, 1},
		{Line{Purpose: "wash"}, new(false), &Beam{atPerson: true}, 1},
	} {
		light := &Light{}
		light.Coloured = c.coloured
		if got := r.inPicture(&c.line, light, c.beam); got != c.want {
			t.Errorf("%q, coloured %v, %+v: %g of it counts, not %g", c.line.Purpose, c.coloured, c.beam, got, c.want)
		}
	}
	r.Basis.Arriving = true // what lands in the picture is known of a beam of which all is known
	for _, c := range []struct {
		line Line
		beam *Beam
		want float64
	}{
		{Line{}, &Beam{inPicture: 0.25}, 0.25}, {Line{}, &Beam{inPicture: 0.25, Missing: "where it hangs"}, 1}, {Line{}, nil, 1},
		{Line{inAir: true}, &Beam{inPicture: 0.25}, scattered}, {Line{people: true}, &Beam{inPicture: 0.25}, 0},
	} {
		if got := r.inPicture(&c.line, &Light{}, c.beam); got != c.want {
			t.Errorf("of what lands of %+v %g counts, not %g", c.beam, got, c.want)
		}
	}
}

// A white that somebody tells is that white, and else another one.
func TestAWhiteThatIsTold(t *testing.T) {
	s := &Room{}
	warm, cool := s.bodyAt(3200, 0), s.bodyAt(5600, 0)
	if !warm.ok || s.whiteLike(new(3200.0), cool) != warm.one || s.whiteLike(nil, cool) != cool.one || s.whiteLike(new(-1.0), cool) != cool.one {
		t.Errorf("a white of 3200 K is %v, not %v", s.whiteLike(new(3200.0), cool), warm.one)
	}
}

// Neither in the dark nor at full does it matter how a lamp dims.
func TestACurveIsAssumedBetweenTheEnds(t *testing.T) {
	for level, want := range map[float64]bool{0: false, -1: false, 0.5: true, 50: true, 99.5: true, 100: false} {
		var l Emission
		if l.assumeCurve(&schema.Type{Name: "lamp", Source: "white-led"}, level); !reflect.DeepEqual(l, Emission{}) != want {
			t.Errorf("at %g %% a curve is assumed: %t", level, !want)
		}
	}
	lost := Emission{Missing: "the type"}
	if lost.assumeCurve(&schema.Type{Source: "white-led"}, 50); !reflect.DeepEqual(lost, Emission{Missing: "the type"}) {
		t.Errorf("of a lamp of which nobody knows anything a curve is assumed: %+v", lost)
	}
}

// Where nothing is there but the floor and somebody in plain clothes, the picture has of a lamp what lands there, as often as
// both reflect it.
func TestWhatAPictureHasOfALamp(t *testing.T) {
	r, _ := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 5000, "beam_deg": 20, "field_deg": 30}],
		"patch": [{"channel": 1, "type": "spot", "purpose": "wash", "hung_at": {"x": 0, "y": -2, "z": 5}, "aimed_at": "lectern"}],
		"order": [{"name": "talk", "start_cue": 1, "people": ["lectern"]}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`)
	b := r.Room.InOrder[0]
	if b.Part <= 0 || b.Part >= 1 || b.Part == b.Landed/5000 {
		t.Fatalf("%g of it arrives, and %g lands on the floor", b.Part, b.Landed/5000)
	}
	near(t, "the part of the picture", b.inPicture, plainReflectance*b.Part)
}

// From the right of the house a lamp shines from the right on who looks there; one in front shines from nowhere else.
func TestFromWhereAFaceIsLit(t *testing.T) {
	r, looks := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 5000, "beam_deg": 20, "field_deg": 30}],
		"patch": [{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 3, "y": -1, "z": 1.6}, "aimed_at": "lectern"}, {"channel": 2, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -1, "z": 4.6}, "aimed_at": "lectern"}],
		"order": [{"name": "talk", "start_cue": 1, "people": ["lectern"]}], "cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 50}]}]}`)
	missing := r.Room.Light(looks[0])
	seen := r.Room.Seen(r.Room.FaceOn(looks[0], "lectern", missing))
	if len(seen.Front) != 2 || seen.YawDeg != 0 {
		t.Fatalf("%d lamps light the face, turned by %g degrees", len(seen.Front), seen.YawDeg)
	}
	for i, want := range [][2]float64{{45, 0}, {0, 45}} { // both a diagonal of 3 m by 3 m
		if s := seen.Front[i]; math.Abs(s.AzimuthDeg-want[0]) > 1e-9 || math.Abs(s.ElevationDeg-want[1]) > 1e-9 {
			t.Errorf("channel %d shines from %g degrees to the right and %g up, not %v", i+1, s.AzimuthDeg, s.ElevationDeg, want)
		}
	}
}

// A lamp may draw little or nothing; a power factor is a part of 1, and that of a filament where it is none.
func TestWhatALampDraws(t *testing.T) {
	for _, c := range []struct {
		watts, factor, wantFactor float64
		known                     bool
	}{{500, 0.9, 0.9, true}, {0.5, 1, 1, true}, {0, 1.1, 1, true}, {-0.1, 0, 1, false}, {1, -1, 1, true}} {
		f := &schema.Fixture{Channel: 1, Type: "lamp"}
		r := &Rig{Types: map[string]*schema.Type{"lamp": {Name: "lamp", Watts: &c.watts, PowerFactor: &c.factor}}}
		watts, lack := r.Watts(f)
		if (lack == "") != c.known || c.known && watts != c.watts || r.PowerFactor(f) != c.wantFactor {
			t.Errorf("%+v: %g W (%s) at a factor of %g", c, watts, lack, r.PowerFactor(f))
		}
	}
	for want, f := range map[string]*schema.Fixture{"the type of the fixture on channel 1": {Channel: 1}, `the type "spot", with its watts`: {Type: "spot"}, `the watts of the type "bare"`: {Type: "bare"}} {
		if _, lack := (&Rig{Types: map[string]*schema.Type{"bare": {}}}).Watts(f); lack != want {
			t.Errorf("missing is %q, not %q", lack, want)
		}
	}
}

// A hall has from no light at all to that of the sun.
func TestLightThatAHallCanHave(t *testing.T) {
	for lux, want := range map[float64]bool{-1: false, 0: true, 130_000: true, 130_001: false} {
		for _, room := range []string{`"ambient_lx": %v`, `"ambient": [{"face_lx": %v}]`} {
			r, looks := rigOf(t, fmt.Sprintf(`{"room": {`+room+`, "places": [{"name": "a", "x": 0, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}]}, "patch": [{"channel": 1}], "cues": [{"cue": 1}]}`, lux))
			if missing := r.Room.Light(looks[0]); slices.Contains(missing, "an ambient light of the room that a room can have") == want {
				t.Errorf("a hall of %v lx by %s: missing is %q", lux, room, missing)
			}
		}
	}
}

// A beam of no column lights nothing, and nobody at no place is lit by what a camera asks for.
func TestWhatIsNowhere(t *testing.T) {
	r, _ := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}],
		"cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400}]}, "cues": [{"cue": 1}]}`)
	for _, column := range []int{-1, len(r.Room.given)} {
		r.Room.Lights(&Beam{Column: column}, func(int, float64) { t.Errorf("a beam of column %d lights something", column) })
	}
	for place, want := range map[string]float64{"lectern": 500, "nowhere": 0} { // 250 N^2 / (t S)
		if lux, ok := r.Room.FloorLux(&Face{place: place}); ok != (want > 0) || ok && math.Abs(lux-want) > 1e-9 {
			t.Errorf("on %s %v lx are asked for, %v; want %v", place, lux, ok, want)
		}
	}
	near(t, "the flux of a bulb of 2 cd", bulb{2}.Flux(), 8*math.Pi)
}

// The flux that is given is that of the type, or what its emitters add up to; what usual emitters give is no flux of a lamp of
// which the light is known.
func TestGivenFlux(t *testing.T) {
	for more, want := range map[string]float64{
		"": 300, `, "flux_lm": 500`: 500, `, "known": {"emitters": "assumed"}`: 300, `, "known": {"emitters": "assumed"}, "peak_cd": 9000`: 0, `, "peak_cd": 9000`: 300,
		`, "known": {"emitters": "assumed"}, "photometry": "a.ies"`: 0, `, "known": {"emitters": "assumed"}, "peak_cd": 9000, "flux_lm": 500`: 500,
	} {
		show := read(t, `{"types": [{"name": "wash", "emitters": [{"name": "red", "flux_lm": 100}, {"name": "blue"}, {"name": "green", "flux_lm": 200}]`+more+`}]}`)
		if got := givenFlux(show.Types[0]); got != want {
			t.Errorf("with %s it is %v lm, want %v", more, got, want)
		}
	}
}

// Of a zoom of which nobody says what it is set to, the end that gives more is what is worked out with, which is assumed where the
// other gives less; where it is set, its light is known.
func TestWhatLeavesAZoom(t *testing.T) {
	for _, c := range []struct {
		narrow, wide, zoom float64
		part, low          float64
		assumed            bool
	}{{1000, 1000, 0, 1, 1, false}, {500, 1000, 0, 1, 0.5, true}, {1000, 250, 0, 1, 0.25, true}, {500, 1000, 10, 0.5, 1, false}, {500, 1000, 40, 1, 1, false}} {
		show := read(t, fmt.Sprintf(`{"types": [{"name": "spot", "zoom": {"narrow": {"beam_deg": 10, "flux_lm": %g}, "wide": {"beam_deg": 40, "flux_lm": %g}}}]}`, c.narrow, c.wide))
		r := NewRig(show, tracking.Resolve(show), nil)
		l := r.leaveOf(leavingKey{kind: show.Types[0], zoom: c.zoom})
		near(t, "the part", l.part, c.part)
		near(t, "the least", l.low, c.low)
		if (l.assumed != "") != c.assumed || l.high != 1 {
			t.Errorf("%+v: %+v", c, l)
		}
	}
}

// A white of which something is missing is none, and has no light.
func TestNoWhite(t *testing.T) {
	r, _ := rigOf(t, `{"cues": [{"cue": 1}]}`)
	for about, kind := range map[string]*schema.Type{
		"the white of the fixture on channel 7":                                  {Name: "lamp"},
		`a white range of the type "lamp" from its lowest to its highest kelvin`: {Name: "lamp", WhiteK: new(4000.0), WhiteRangeK: []float64{6500, 2700}},
		"a white of the fixture on channel 7 between 1000 and 25000 K":           {Name: "lamp", WhiteK: new(1e9)},
	} {
		xy, flux, l := r.whiteSource(&schema.Fixture{Channel: 7}, kind, &tracking.State{}, Emission{})
		if l.Missing != about || xy != (colour.XY{}) || flux != 0 {
			t.Errorf("%v, %v lm, missing %q; want %q", xy, flux, l.Missing, about)
		}
	}
	told := &tracking.State{Colour: &tracking.Colour{}}
	told.Colour.WhiteK = new(4000.0)
	if xy, flux, l := r.whiteSource(&schema.Fixture{Channel: 7}, &schema.Type{Name: "lamp"}, told, Emission{}); l.Missing != `the white of the type "lamp"` || xy != (colour.XY{}) || flux != 0 {
		t.Errorf("%v, %v lm, missing %q", xy, flux, l.Missing)
	}
}

// What leaves a lamp through the filter in its frame: a grey one takes its part of all, one of a hue has that hue, and where nobody says
// its colour, or how much it lets through, something is assumed.
func TestFiltersInAFrame(t *testing.T) {
	rose, _ := colour.Wheel(330, 100)
	white, _ := colour.PlanckianOffset(4000, 0)
	for _, c := range []struct {
		filter  string
		lumens  float64
		xy      colour.XY
		assumed bool
	}{
		{``, 1000, white, false}, {`, "filter": {"name": "grey 50 %", "transmission": 0.5}`, 500, white, true},
		{`, "filter": {"name": "rose", "hue_deg": 330, "transmission": 0.2}`, 200, rose, false}, {`, "filter": {"name": "rose", "hue_deg": 330}`, 1000, rose, true},
	} {
		_, looks := rigOf(t, `{"types": [{"name": "spot", "source": "white-led", "white_k": 4000, "flux_lm": 1000}], "patch": [{"channel": 1, "type": "spot", "purpose": "wash"`+c.filter+`}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": 100}]}]}`)
		lamp := looks[0].Lamps[0]
		if lamp.Missing != "" || (len(lamp.Rests) > 0) != c.assumed {
			t.Errorf("with %s is missing %q, and it rests on %v", c.filter, lamp.Missing, lamp.Rests)
		}
		near(t, "its lumens with "+c.filter, lamp.XYZ.Y, c.lumens)
		if xy, ok := lamp.XYZ.XY(); !ok || math.Hypot(xy.X-c.xy.X, xy.Y-c.xy.Y) > 1e-6 {
			t.Errorf("with %s it is %v, want %v", c.filter, xy, c.xy)
		}
	}
}

// Two engines are the warm and the cool one whichever is told first, where both are whites of a lamp of variable white.
func TestPairsOfWhites(t *testing.T) {
	at := func(kelvin float64) colour.Emitter {
		xy, _ := colour.PlanckianOffset(kelvin, 0)
		return colour.Emitter{X: xy.X, Y: xy.Y, Flux: kelvin}
	}
	warm, cool, red := at(2700), at(6500), colour.Emitter{X: 0.69, Y: 0.3, Flux: 100}
	tunable := &schema.Type{Source: "tunable-led"}
	for about, c := range map[string]struct {
		kind     *schema.Type
		emitters []colour.Emitter
		missing  string
		want     bool
	}{
		"warm first": {tunable, []colour.Emitter{warm, cool}, "", true}, "cool first": {tunable, []colour.Emitter{cool, warm}, "", true}, "something is missing": {tunable, []colour.Emitter{warm, cool}, "x", false},
		"another source": {&schema.Type{Source: "colour-led"}, []colour.Emitter{warm, cool}, "", false}, "three": {tunable, []colour.Emitter{warm, cool, red}, "", false}, "one is red": {tunable, []colour.Emitter{warm, red}, "", false}, "red first": {tunable, []colour.Emitter{red, cool}, "", false},
	} {
		if pair, ok := pairOf(c.kind, c.emitters, c.missing); ok != c.want || ok && (pair.Warm != warm || pair.Cool != cool) {
			t.Errorf("%s: %+v, %v", about, pair, ok)
		}
	}
}

// The light of a look anywhere is that of the lamps of which all is known, by the inverse square law; who asks for the cameras of a
// place gets those that see it.
func TestLightAnywhere(t *testing.T) {
	r, looks := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}, {"name": "box", "x": 0}],
		"cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6, "aimed_at": "lectern"}, {"name": "nowhere"}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 1000, "beam_deg": 20, "field_deg": 30}],
		"patch": [{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -1, "z": 5.6}, "aimed_at": {"x": 0, "y": 2, "z": 1.6}}, {"channel": 2, "type": "spot", "purpose": "key"},
			{"channel": 3, "type": "spot", "purpose": "house", "hung_at": {"x": 0, "y": 5, "z": 5.6}, "aimed_at": {"x": 0, "y": 2, "z": 1.6}, "shutters": [{"side": "top", "depth_pct": 0}, {"side": "left", "depth_pct": 20}]}],
		"cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 100}]}, {"cue": 2, "set": [{"channels": "1", "level": 0}, {"channels": "3", "level": 100}]}]}`)
	light, err := photometry.NewBeamFromFlux(20, 30, 1000)
	if err != nil {
		t.Fatal(err)
	}
	at := photometry.Receiver{Point: photometry.Vec{Y: 2, Z: 1.6}, Normal: photometry.Vec{Y: -0.6, Z: 0.8}} // towards channel 1, five metres away
	near(t, "the light of channel 1", looks[0].Shines(at), light.Peak()/25)
	near(t, "the light of channel 3, aside", looks[1].Shines(at), light.Peak()/25*(0.8*0.8-0.6*0.6))
	if one, three := looks[0].Lamps[0].Beam, looks[1].Others[0].Beam; one.Cut() || !three.Cut() {
		t.Errorf("channel 1 is cut: %v, channel 3: %v", one.Cut(), three.Cut())
	}
	for place, want := range map[string]int{"lectern": 1, "box": 0, "nowhere": 0} {
		if got := r.Room.Cameras(place); len(got) != want || want > 0 && got[0].Name != "front" {
			t.Errorf("%s is seen by %v", place, got)
		}
		if head, ok := r.Room.Placed(place); ok != (want > 0) || ok && head != (photometry.Vec{Y: 2, Z: 1.6}) {
			t.Errorf("the head at %s is at %v, %v", place, head, ok)
		}
	}
}
