package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// key is a key light on the place "lectern"; a range makes its white variable.
type key struct {
	kelvin, low, high float64
}

// hall is a room with one place that key lights are aimed at, none of which has a
// position, so that purpose and aim decide; cameras by their whites.
func hall(t stopper, keys []key, cameras []float64) *Measured {
	t.Helper()
	var types, patch, room []string
	for i, k := range keys {
		source := `"source": "white-led"`
		if k.high > 0 {
			source = fmt.Sprintf(`"source": "tunable-led", "white_range_k": [%v, %v]`, k.low, k.high)
		}
		types = append(types, fmt.Sprintf(`{"name": "type %d", %s, "white_k": %v, "flux_lm": 1000}`, i, source, k.kelvin))
		patch = append(patch, fmt.Sprintf(`{"channel": %d, "type": "type %d", "purpose": "key", "aimed_at": "lectern"}`, i+1, i))
	}
	for i, white := range cameras {
		room = append(room, fmt.Sprintf(`{"name": "camera %d", "white_k": %v}`, i+1, white))
	}
	return measured(readShow(t, fmt.Sprintf(`{
		"room": {"places": [{"name": "lectern", "x": 0, "y": 1, "head_m": 1.6}], "cameras": [%s]},
		"types": [%s], "patch": [%s],
		"cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 100}]}],
		"order": [{"name": "reading", "start_cue": 1, "people": ["lectern"]}]}`,
		strings.Join(room, ","), strings.Join(types, ","), strings.Join(patch, ","), len(keys))))
}

// fixed is a key whose white cannot be set.
func fixed(kelvin float64) key { return key{kelvin: kelvin} }

// milli is a thousandth of a mired, three times what 0.1 K is at 5600 K; colour
// temperatures come back to that.
const milli = 0.004

func TestKeyWhites(t *testing.T) {
	for _, row := range reference(t, "mired_vectors.csv") {
		from, to := parsed(t, row["from_K"]), parsed(t, row["to_K"])
		p := hall(t, []key{fixed(from), fixed(to)}, []float64{to}).People[0]
		want := math.Abs(parsed(t, row["shift_mired"]))
		if !isNear(p.KeySpread, want, milli) {
			t.Errorf("%v K with %v K: %s mired, want %v", from, to, factText(p.KeySpread), want)
		}
		// Half of the light is right for the camera: the face is half as far from it.
		if !isNear(p.KeyCamera, want/2, milli) || !isNear(p.CameraK, to, 0) {
			t.Errorf("keys of %v and %v K are %s mired from a camera at %v K, want %v", from, to, factText(p.KeyCamera), to, want/2)
		}
		low, high := min(from, to), max(from, to)
		if !isNear(p.WarmestK, low, oneKelvin) || !isNear(p.CoolestK, high, oneKelvin) || p.WhiteKeys != 2 || *p.KeyCount != 2 {
			t.Errorf("warmest %s, coolest %s of %d", factText(p.WarmestK), factText(p.CoolestK), p.WhiteKeys)
		}
	}
	p := hall(t, []key{fixed(3200), fixed(5600)}, []float64{5600}).People[0]
	if !isNear(p.KeySpread, 133.93, 0.005) {
		t.Errorf("3200 K with 5600 K is %s mired, want 133.93", factText(p.KeySpread))
	}
	if p.Warmest != "channel 1" || p.Coolest != "channel 2" {
		t.Errorf("warmest is %s, coolest %s", p.Warmest, p.Coolest)
	}
}

func TestCommonKeyWhite(t *testing.T) {
	any := func(kelvin float64) key { return key{kelvin, 2700, 6500} }
	for _, test := range []struct {
		name    string
		keys    []key
		cameras []float64
		want    float64 // 0: there is none
		set     int     // lamps to set
	}{
		{"the fixed one leads", []key{fixed(5600), any(3200)}, []float64{5600}, 5600, 1},
		{"all fixed and alike", []key{fixed(5600), fixed(5600)}, []float64{5600}, 5600, 0},
		{"two fixed that differ", []key{fixed(3200), fixed(5600)}, []float64{5600}, 0, 0},
		{"out of the free one's range", []key{fixed(8000), any(3200)}, []float64{8000}, 0, 0},
		{"all free, to the cameras", []key{any(3200), any(5000)}, []float64{5600}, 5600, 2},
		{"all free, cameras differ: the mean in mired", []key{any(3000), any(6000)}, []float64{4000, 5600}, 4000, 2},
		{"the fixed one is not the cameras'", []key{fixed(3200), any(3200)}, []float64{5600}, 0, 0},
		{"all free, no camera: as most of them", []key{any(3200), any(4300), any(4300)}, nil, 4300, 1},
		{"all free, no camera: the mean in mired, as people name it", []key{any(3000), any(5200)}, nil, 3800, 2},
		{"the fixed one is near the cameras'", []key{fixed(5400), any(3200)}, []float64{5600}, 5400, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := hall(t, test.keys, test.cameras).People[0]
			switch {
			case test.want > 0 && !isNear(p.CommonKeyK(15), test.want, oneKelvin):
				t.Errorf("common white %s, want %v", factText(p.CommonKeyK(15)), test.want)
			case test.want == 0 && p.CommonKeyK(15) != nil:
				t.Errorf("common white %s, want none", factText(p.CommonKeyK(15)))
			case len(p.KeysToSet(15)) != test.set:
				t.Errorf("%d keys to set, want %d", len(p.KeysToSet(15)), test.set)
			}
		})
	}
}

// TestBestCameraWhite: where all keys are within 30 mired of each other, no white
// on a camera's menu of 10 K steps has a smaller worst difference, tried one by one, but
// for what it takes to name one in steps of 100 K; and none is over the limit.
func TestBestCameraWhite(t *testing.T) {
	worst := func(keys []key, white float64) float64 {
		most := 0.0
		for _, k := range keys {
			most = max(most, math.Abs(1e6/k.kelvin-1e6/white))
		}
		return most
	}
	rapid.Check(t, func(t *rapid.T) {
		middle := rapid.Float64Range(150, 330).Draw(t, "mired")
		var keys []key
		for range rapid.IntRange(1, 5).Draw(t, "keys") {
			keys = append(keys, fixed(1e6/(middle+rapid.Float64Range(-14, 14).Draw(t, "off"))))
		}
		p := hall(t, keys, []float64{4000}).People[0]
		if p.BestCameraK(15) == nil {
			t.Fatal("there is none")
		}
		least := math.Inf(1)
		for white := 2000.0; white <= 12_000; white += 10 {
			least = min(least, worst(keys, white))
		}
		// Whites are counted to the whole mired, so the middle of two is off by up
		// to half a mired, and its rounding to 100 K by as much as 50 K are there.
		slack := 0.5 + 1e6/(*p.BestCameraK(15)-50) - 1e6 / *p.BestCameraK(15)
		if got := worst(keys, *p.BestCameraK(15)); got > min(least+slack, 15+1) {
			t.Fatalf("%v K is %v mired from the worst key, the best is %v", *p.BestCameraK(15), got, least)
		}
	})
	// Keys too far apart for any one white: the one that most of them have.
	p := hall(t, []key{fixed(3200), fixed(5600), fixed(5600)}, []float64{4000}).People[0]
	if !isNear(p.BestCameraK(15), 5600, 0) {
		t.Errorf("%s K, want 5600", factText(p.BestCameraK(15)))
	}
}

func TestKeyDrift(t *testing.T) {
	show := func(level float64) *Person {
		return measured(readShow(t, fmt.Sprintf(`{
			"types": [{"name": "profile", "source": "tungsten", "white_k": 3200, "halogen": true, "flux_lm": 9000}, {"name": "led", "source": "white-led", "white_k": 3200, "flux_lm": 9000}],
			"patch": [{"channel": 1, "type": "profile", "purpose": "key", "aimed_at": "lectern"}, {"channel": 2, "type": "led", "purpose": "key", "aimed_at": "lectern"}],
			"cues": [{"cue": 1, "set": [{"channels": "1-2", "level": %v}]}],
			"order": [{"name": "reading", "start_cue": 1, "people": ["lectern"]}]}`, level))).People[0]
	}
	// A square law of light: 4, 20, 50, 75 and 100 % of it, and the white of a black body
	// that gives as much (filament_planck.csv).
	for light, kelvin := range map[float64]float64{0.04: 2271.3, 0.2: 2658.7, 0.5: 2942.6, 0.75: 3088.0, 1: 3200} {
		level := 100 * math.Sqrt(light)
		p := show(level)
		if want := 1e6/kelvin - 1e6/3200; !isNear(p.FullDrift, want, milli) {
			t.Errorf("at %v %% drifted by %s mired, want %v", level, factText(p.FullDrift), want)
		}
		if drifted := 1e6/kelvin-1e6/3200 > 20; drifted != (len(p.DriftedKeys(20, 100)) == 1) {
			t.Errorf("at %v %% the drifted keys are %v", level, p.DriftedKeys(20, 100))
		}
	}
}

func TestUnknownKeyWhites(t *testing.T) {
	for _, test := range []struct {
		name, fact, want string
		measure          func() *Measured
	}{
		{"no cameras", "key_camera_mired", "the cameras of the room, with the white balance of each", func() *Measured { return hall(t, []key{fixed(5600)}, nil) }},
		{"cameras without white", "key_camera_mired", `the white balance of the camera "camera 1"`, func() *Measured { return hall(t, []key{fixed(5600)}, []float64{0}) }},
		{"a white that no camera has", "camera_k", `the white balance of the camera "camera 1"`, func() *Measured { return hall(t, []key{fixed(5600)}, []float64{1e-300}) }},
		{"a key that no light has", "key_spread_mired", "a white of the fixture on channel 1 between 1000 and 25000 K", func() *Measured { return hall(t, []key{fixed(50)}, []float64{5600}) }},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := test.measure().People[0]
			fact, _ := ValueOf(p, test.fact)
			if why := p.Why(test.fact); fact.Value != nil || len(why) != 1 || why[0] != test.want {
				t.Errorf("%s is %v, missing %q, want %q", test.fact, fact.Value, why, test.want)
			}
		})
	}
}

// Where nobody knows how much of each white arrives, it may be either alone.
func TestAWhiteThatMayBeEither(t *testing.T) {
	for camera, want := range map[float64][2]float64{9000: {1e6/5600 - 1e6/9000, 1e6/3200 - 1e6/9000}, 5600: {0, 1e6/3200 - 1e6/5600}, 2500: {1e6/2500 - 1e6/3200, 1e6/2500 - 1e6/5600}} {
		r := hall(t, []key{fixed(3200), fixed(5600)}, []float64{camera}).People[0].Basis("key_camera_mired").Range
		if r == nil || math.Abs(r.Low-want[0]) > 0.01 || math.Abs(r.High-want[1]) > 0.01 {
			t.Errorf("for a camera at %g K it is %v mired off, want %v", camera, r, want)
		}
	}
}

// Of two cameras one is known: the fact is as bad as that says, and what is missing of the other is said.
func TestAWhiteThatOneCameraTells(t *testing.T) {
	p := hall(t, []key{fixed(5600)}, []float64{4000, 0}).People[0]
	var part []string
	p.InPart(func(fact string) { part = append(part, fact) })
	if p.KeyCamera == nil || math.Abs(*p.KeyCamera-(1e6/4000-1e6/5600)) > 0.1 || p.CameraName != "camera 1" {
		t.Errorf("%s mired from %q, want 71.4 from camera 1", factText(p.KeyCamera), p.CameraName)
	}
	if want := []string{"key_camera_mired", "key_drift_mired"}; !slices.Equal(part, want) || !slices.Equal(p.Why("key_camera_mired"), []string{`the white balance of the camera "camera 2"`}) {
		t.Errorf("known in part are %q, missing %q", part, p.Why("key_camera_mired"))
	}
}

// TestScreenWhite compares a screen with the camera that is farthest from it.
func TestScreenWhite(t *testing.T) {
	screen := func(white string, cameras string) *Screen {
		return measured(readShow(t, `{"room": {"cameras": [`+cameras+`], "surfaces": [{"name": "wall", "kind": "emissive", "white_k": `+white+`}, {"name": "drape", "kind": "drape"}]}}`)).Screens[0]
	}
	s := screen("9300", `{"name": "one", "white_k": 5600}, {"name": "two", "white_k": 3200}`)
	if !isNear(s.Apart, 1e6/3200-1e6/9300, 1e-9) || s.Camera != "two" || !isNear(s.CameraK, 3200, 0) || s.CommonK != nil {
		t.Errorf("%s mired from %q at %s K, common %s", factText(s.Apart), s.Camera, factText(s.CameraK), factText(s.CommonK))
	}
	if s := screen("5600", `{"name": "one", "white_k": 5600}`); !isNear(s.Apart, 0, 0) || !isNear(s.CommonK, 5600, 0) {
		t.Errorf("%s mired, common %s", factText(s.Apart), factText(s.CommonK))
	}
	for white, want := range map[string]string{"0": `the white of the screen "wall"`, "null": `the white of the screen "wall"`} {
		if s := screen(white, `{"name": "one", "white_k": 5600}`); s.Apart != nil || s.Why("camera_mired")[0] != want {
			t.Errorf("a white of %s: %s mired, missing %q", white, factText(s.Apart), s.Why("camera_mired"))
		}
	}
}
