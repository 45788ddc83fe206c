package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/schema"
)

// TestCircuitsToMove: a circuit of 100 V and 10 A with 3, 4 and 5 A on it is at 120 %.
func TestCircuitsToMove(t *testing.T) {
	lamp := func(channel, watts int, circuit string) string {
		return fmt.Sprintf(`{"channel": %d, "type": "%d", "circuit": %q}`, channel, watts, circuit)
	}
	show := func(others string) *Circuit {
		return measured(readShow(t, fmt.Sprintf(`{
			"types": [{"name": "300", "watts": 300}, {"name": "400", "watts": 400}, {"name": "500", "watts": 500}],
			"patch": [%s, %s, %s, %s, %s],
			"room": {"circuits": [{"name": "a", "volts": 100, "amps": 10}%s]},
			"cues": []}`, lamp(1, 300, "a"), lamp(2, 400, "a"), lamp(3, 500, "a"), lamp(4, 300, "b"), lamp(5, 300, "e"), others))).Circuits[0]
	}
	const half, third, empty, other = `, {"name": "b", "volts": 100, "amps": 10}`, `, {"name": "e", "volts": 100, "amps": 12}`, `, {"name": "c", "volts": 100, "amps": 6.25}`, `, {"name": "d", "volts": 230, "amps": 100}`
	for _, c := range []struct {
		others  string
		pct     float64
		channel int // 0 for none
		to      string
	}{
		{half, 120, 0, ""},         // it is no more than that
		{half, 90, 1, "b"},         // 3 A are too many, which is what the smallest has
		{half, 89, 2, "b"},         // 3.1 A are too many: the smallest that has as much
		{half, 70, 0, ""},          // 5 A are too many, and b takes 7 - 3 of them
		{half + empty, 80, 2, "b"}, // b takes 8 - 3 more, c takes 6.25 x 0.8 = 5 more: of two that are alike the first
		{empty + half, 80, 2, "c"},
		{half + third, 80, 2, "e"}, // 12 x 0.8 - 3 = 6.6 is the roomiest
		{empty, 64, 0, ""},         // 5.6 A are too many, and no lamp has as much
		{other, 80, 0, ""},         // another voltage is no place to go
		{"", 80, 0, ""},
	} {
		got := show(c.others)
		if !isNear(got.LoadPct, 120, 1e-9) || !isNear(got.LoadA, 12, 1e-9) || !isNear(got.LoadW, 1200, 1e-9) {
			t.Fatalf("%s W are %s A and %s %%", factText(got.LoadW), factText(got.LoadA), factText(got.LoadPct))
		}
		channel, to := 0, ""
		if f := got.Mover(c.pct); f != nil {
			channel = f.Channel
		}
		if name := got.MoveTo(c.pct); name != nil {
			to = *name
		}
		if channel != c.channel || to != c.to {
			t.Errorf("for %v %% beside%s: channel %d goes to %q, not %d to %q", c.pct, c.others, channel, to, c.channel, c.to)
		}
	}
}

// TestDarkLamps: the spot of TestKeysToTurn gives 442 lx at full and is dark, so that a level
// of x % gives x % of that; a back light that is dark is named, one that serves nobody too.
func TestDarkLamps(t *testing.T) {
	full := 20000 / math.Sqrt2 / 32
	spare := `{"channel": 3, "type": "spot", "purpose": "back", "hung_at": {"x": 4, "y": 6, "z": 5.6}}`
	r := room{
		patch:   fixture(1, "key", 0, -2, 5.6, "") + "," + fixture(2, "back", 0, 6, 5.6, "") + "," + spare,
		cues:    `{"cue": 1, "set": [{"channels": "1-3", "level": 0}]}, {"cue": 2, "set": [{"channels": "1", "level": 5}]}`,
		cameras: fmt.Sprintf(`{"name": "front", "x": 0, "y": -10, "z": 1.6, "aperture_f": 4, "shutter_s": %v, "sensitivity_iso": 400}`, 10/(full*0.25)),
	}
	p := r.measure(t).People[0]
	for stops, want := range map[float64]float64{-1: 12.5, 0: 25, 1: 50, 2: 100, 3: 100} {
		turns := p.DarkKeys(stops)
		if len(turns) != 1 || turns[0].Channel != 1 || turns[0].Wanted < want-1e-6 || turns[0].Wanted > want+1 {
			t.Errorf("for %v stops over: %+v, not channel 1 at %v %%, to a whole percent", stops, turns[0], want)
		}
	}
	if got := p.DarkKeysText(); got != "1" {
		t.Errorf("dark keys are %q", got)
	}
	cameras := r.cameras
	patch := r.patch
	for _, c := range []struct {
		camera, lamp string
		want         float64
	}{
		{`{"name": "front", "x": 0, "y": -10, "z": 1.6}`, "spot", 26}, // 113 of 442 lx, without which a face is not lit
		{" ", "spot", 26},
		{cameras, "lost", 50}, // nobody says what it gives
	} {
		r.cameras, r.patch = c.camera, strings.ReplaceAll(patch, `"spot"`, fmt.Sprintf("%q", c.lamp))
		if turns := r.measure(t).People[0].DarkKeys(0); len(turns) != 1 || math.Abs(turns[0].Wanted-c.want) > 1 {
			t.Errorf("%s with the camera %s: %+v, not %v %%", c.lamp, c.camera, turns[0], c.want)
		}
	}
	r.patch = patch
	r.cameras = cameras
	if backs := p.DarkBackLamps(); len(backs) != 1 || backs[0].Channel != 2 {
		t.Errorf("%d back lights are dark", len(backs))
	}
	if f, lamp := p.SpareBack(), p.SpareBackLamp(); f == nil || f.Channel != 3 || lamp == nil || lamp.Channel != 3 {
		t.Errorf("the back light that serves nobody is %v, %v", f, lamp)
	}
	r.cues = `{"cue": 1, "set": [{"channels": "1, 2", "level": 50}]}`
	r.patch = fixture(1, "key", 0, -2, 5.6, "") + "," + fixture(2, "back", 0, 6, 5.6, "")
	p = r.measure(t).People[0]
	if len(p.DarkKeys(0)) > 0 || p.DarkKeysText() != "" || len(p.DarkBackLamps()) > 0 || p.SpareBack() != nil || p.SpareBackLamp() != nil {
		t.Errorf("of two lamps that are lit %v are dark", p.DarkKeysText())
	}
}

// TestWhitesToSet: with keys of 5600 K a camera at 4300 K is to be set, one at 5600 K is not.
func TestWhitesToSet(t *testing.T) {
	p := hall(t, []key{fixed(5600)}, []float64{4300, 5600}).People[0]
	if cameras := p.CamerasToSet(5); len(cameras) != 1 || cameras[0].Name != "camera 1" || !isNear(p.BestCameraK(5), 5600, oneKelvin) {
		t.Errorf("%d cameras are set to %s", len(cameras), factText(p.BestCameraK(5)))
	}
	p = hall(t, []key{{5600, 2700, 6500}, {4300, 2700, 6500}, fixed(3200), {3200, 2700, 4000}}, []float64{4300}).People[0]
	channels := func(lamps []*Lamp) (list []int) {
		for _, l := range lamps {
			list = append(list, l.Channel)
		}
		return list
	}
	// The first makes another white and can make the cameras'; the second makes it; the third is
	// fixed; the fourth cannot make it.
	if got := channels(p.KeysToCamera()); !slices.Equal(got, []int{1}) {
		t.Errorf("keys to set are %v, not the first alone", got)
	}
	p = hall(t, []key{fixed(5600)}, nil).People[0]
	if p.BestCameraK(5) != nil || len(p.CamerasToSet(5)) > 0 || len(p.KeysToCamera()) > 0 {
		t.Error("a white is told without a camera")
	}
}

// TestWhatIsSeen: what channels do and how cues come in, in words.
func TestWhatIsSeen(t *testing.T) {
	m := measured(readShow(t, `{
		"types": [{"name": "spot"}, {"name": "hazer", "source": "none", "machine": {"kind": "hazer"}}],
		"patch": [
			{"channel": 1, "type": "spot", "aimed_at": "lectern", "zoom_deg": 20, "hung_at": {"x": 1, "y": -2.25, "z": 5}, "shutters": [{"side": "top", "depth_pct": 15, "angle_deg": 5}, {"side": "left", "depth_pct": 10}]},
			{"channel": 2, "type": "spot", "aimed_at": {"x": 1, "y": 2, "z": 3}}, {"channel": 3, "type": "hazer"}, {"channel": 4, "type": "spot", "purpose": "haze"}, {"channel": 5, "type": "spot"}],
		"room": {"surfaces": [{"name": "wall", "kind": "emissive"}, {"name": "side", "kind": "emissive"}]},
		"cues": [
			{"cue": 1, "in_s": 2, "out_s": 3.5, "follow_s": 1, "at_s": 60, "set": [
				{"channels": "1", "level": 50}, {"channels": "2", "level": 1, "aim": "steps", "zoom_deg": 12.5, "strobe_hz": 4, "pattern": "leaves", "wheel": "red", "effect": {"kind": "pulse", "rate_hz": 0.5, "duty_pct": 30, "spread_pct": 100, "low_pct": 10, "high_pct": 90}},
				{"channels": "3, 4", "level": 20}, {"channels": "5", "level": 0, "strobe_hz": 0}],
				"screens": [{"screen": "wall", "drive_pct": 80, "palette": ["red", "blue"]}, {"screen": "side", "drive_pct": 40}]},
			{"cue": 1, "part": 2, "delay_s": 0.25, "set": [{"channels": "1", "level": 60}]}]}`))
	want := []ChannelState{
		{Channel: 1, Level: 60, Aim: "lectern", Zoom: "20 degrees", Shutters: "top 15 % 5 degrees, left 10 %", Hung: "1, -2.25, 5 m"},
		{Channel: 2, Level: 1, Aim: "steps", Zoom: "12.5 degrees", Pattern: "leaves", Wheel: "red", Strobe: "4 Hz", Effect: "pulse at 0.5 Hz lit 30 % of the time spread over 100 % down to 10 % up to 90 %"},
		{Channel: 3, Level: 20, Haze: true}, {Channel: 4, Level: 20, Haze: true},
	}
	if got := m.Doings()(m.Looks[0]); !slices.Equal(got, want) {
		t.Errorf("%+v\nnot\n%+v", got, want)
	}
	traits := []Trait{{"delay", "part 2", "0.25 s"}, {"fade in", "", "2 s"}, {"fade out", "", "3.5 s"}, {"follow-on", "", "1 s"}, {"picture", "wall", "red, blue"}, {"screen", "side", "40 %"}, {"screen", "wall", "80 %"}, {"start", "", "60 s"}}
	if got := m.Looks[0].Traits(); !slices.Equal(got, traits) {
		t.Errorf("%+v\nnot\n%+v", got, traits)
	}
	// Without a patch nobody knows which lamps a cue sets, so what it says is told.
	bare := measured(readShow(t, `{"cues": [{"cue": 1, "set": [{"channels": "front", "level": 50, "zoom_deg": 20}]}]}`))
	if got := bare.Looks[0].Traits(); !slices.Equal(got, []Trait{{"sets", "front", "level 50, zoom_deg 20"}}) {
		t.Errorf("%+v", got)
	}
	if aim := aimWords(&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 3}}); aim != "1, 2, 3 m" || aimWords(nil) != "" {
		t.Errorf("an aim is %q", aim)
	}
}

// TestCornersOfTheirOwn: two corners, each with a key light and a camera that has only that corner in its picture. A camera is
// set to the white of its own corner, and what else is lit is nothing to it.
func TestCornersOfTheirOwn(t *testing.T) {
	corners := func(view float64) *Measured {
		return measured(readShow(t, fmt.Sprintf(`{
			"types": [{"name": "warm", "source": "white-led", "white_k": 3200, "beam_deg": 18, "field_deg": 26, "peak_cd": 15625},
				{"name": "cool", "source": "white-led", "white_k": 5600, "beam_deg": 18, "field_deg": 26, "peak_cd": 15625}],
			"room": {"places": [{"name": "left", "x": -10, "y": 1, "head_m": 1.5}, {"name": "right", "x": 10, "y": 1, "head_m": 1.5}],
				"cameras": [{"name": "left", "x": -10, "y": -7, "z": 1.5, "aimed_at": "left", "view_deg": %[1]v, "white_k": 3200},
					{"name": "right", "x": 10, "y": -7, "z": 1.5, "aimed_at": "right", "view_deg": %[1]v, "white_k": 4300}]},
			"patch": [{"channel": 1, "type": "warm", "purpose": "key", "hung_at": {"x": -10, "y": -3, "z": 4.5}, "aimed_at": "left"},
				{"channel": 2, "type": "cool", "purpose": "key", "hung_at": {"x": 10, "y": -3, "z": 4.5}, "aimed_at": "right"}],
			"cues": [{"cue": 1, "segment": "talk", "set": [{"channels": "1-2", "level": 100}]}],
			"order": [{"name": "talk", "people": ["left", "right"]}]}`, view)))
	}
	for _, c := range []struct {
		view float64
		best [2]float64
		set  [2]string
	}{
		{20, [2]float64{3200, 5600}, [2]string{"", "right"}},
		{140, [2]float64{5600, 5600}, [2]string{"left, right", "left, right"}}, // 20 m aside from 8 m away is 68 degrees: both see both
	} {
		for i, p := range corners(c.view).People {
			var set []string
			for _, camera := range p.CamerasToSet(15) {
				set = append(set, camera.Name)
			}
			if best := p.BestCameraK(15); !isNear(best, c.best[i], oneKelvin) || strings.Join(set, ", ") != c.set[i] {
				t.Errorf("with pictures %v degrees wide, on %s: %s K for %q, not %v for %q", c.view, p.Place, factText(best), set, c.best[i], c.set[i])
			}
		}
	}
}
