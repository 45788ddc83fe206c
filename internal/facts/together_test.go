package facts_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"pgregory.net/rapid"
)

// grouped draws an evening of three groups of lamps that cues mostly set as a whole, in
// fades that often run into each other.
func grouped(t *rapid.T) object {
	var cues []object
	number := rapid.IntRange(2, 7).Draw(t, "cues")
	at := 0.0
	for n := 1; n <= number; n++ {
		parts := rapid.SampledFrom([]int{1, 1, 2}).Draw(t, "parts")
		for part := 1; part <= parts; part++ {
			cue := object{"cue": n, "in_s": float64(rapid.IntRange(0, 12).Draw(t, "in")), "delay_s": float64(rapid.IntRange(0, 2).Draw(t, "delay"))}
			if part == 1 {
				cue["at_s"] = at
				cue["tracking"] = rapid.SampledFrom([]string{"carry", "carry", "release", "restate"}).Draw(t, "tracking")
			}
			if parts > 1 {
				cue["part"] = part
			}
			var set []object
			for range rapid.IntRange(1, 3).Draw(t, "settings") {
				s := object{"channels": rapid.SampledFrom([]string{"1-6", "11-16", "21-26", "1-6", "11-26", "3", "12, 13", "21-23"}).Draw(t, "channels")}
				if rapid.IntRange(0, 4).Draw(t, "has level") > 0 {
					s["level"] = rapid.IntRange(0, 4).Draw(t, "level") * 25
				}
				switch rapid.IntRange(0, 5).Draw(t, "tells") {
				case 0:
					s["mix"] = object{"red": 100, "blue": rapid.IntRange(0, 2).Draw(t, "blue") * 50}
				case 1:
					s["aim"] = rapid.SampledFrom([]any{"lectern", object{"x": 1.0, "y": 6.0, "z": 2.0}}).Draw(t, "aim")
				case 2:
					s["strobe_hz"] = float64(rapid.IntRange(0, 6).Draw(t, "hz"))
				}
				set = append(set, s)
			}
			cue["set"] = set
			cues = append(cues, cue)
		}
		at += float64(rapid.IntRange(1, 15).Draw(t, "wait"))
	}
	var patch []object
	for i := range 6 {
		for g, group := range []object{{"type": "wash", "purpose": "wash"}, {"type": "spot", "purpose": rapid.SampledFrom([]string{"", "key"}).Draw(t, "purpose")}, {"type": "beam", "purpose": "beam"}} {
			lamp := object{"channel": g*10 + i + 1, "hung_at": object{"x": float64(i) - 3, "y": -2.0, "z": 6.0}, "aimed_at": object{"x": float64(i) - 3, "y": 4.0, "z": 1.0}}
			for key, value := range group {
				lamp[key] = value
			}
			patch = append(patch, lamp)
		}
	}
	return object{
		"types": []object{
			{"name": "wash", "source": "colour-led", "dimmer_curve": "square", "beam_deg": 30, "emitters": []object{
				{"name": "red", "x": 0.7, "y": 0.3, "flux_lm": 800}, {"name": "green", "x": 0.2, "y": 0.7, "flux_lm": 1500}, {"name": "blue", "x": 0.15, "y": 0.05, "flux_lm": 300},
			}},
			{"name": "spot", "source": "tungsten", "white_k": 3200, "flux_lm": 9000, "beam_deg": 20},
			{"name": "beam", "source": "white-led", "white_k": 6500, "flux_lm": 7000, "beam_deg": 4, "dimmer_curve": "linear"},
		},
		"patch": patch,
		"room": object{
			"ambient_lx": 1.0, "places": []object{{"name": "lectern", "x": 0.0, "y": 4.0, "z": 0.0, "head_m": 1.6, "facing_deg": 0}},
			"surfaces": []object{{"name": "drape", "kind": "drape", "centre": object{"x": 0.0, "y": 8.0, "z": 3.0}, "width_m": 12, "height_m": 6, "facing_deg": 0}},
		},
		"order": []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 500.0, "people": []string{"lectern"}}},
		"cues":  cues,
	}
}

// Lamps that do the same are one in the sums of an evening. Where the patch lists them in
// turns they stand beside others and none is joined: all comes out the same.
func TestLampsThatDoTheSameAreOne(t *testing.T) {
	joined := 0
	rapid.Check(t, func(t *rapid.T) {
		show := grouped(t)
		apart := measure2(t, show)
		patch := show["patch"].([]object)
		var sorted []object
		for g := range 3 {
			for i := g; i < len(patch); i += 3 {
				sorted = append(sorted, patch[i])
			}
		}
		show["patch"] = sorted
		together := measure2(t, show)
		for _, kind := range []string{"change", "segment", "show", "look", "minute", "machine"} {
			sameNumbers(t, kind, apart.Subjects(kind), together.Subjects(kind))
		}
		sameNumbers(t, "fixture", byChannel(apart), byChannel(together))
		loaded := read(t, show)
		looks := tracking.Resolve(loaded)
		rig := stage.NewRig(loaded, looks, nil)
		each, one := rig.Walk(), rig.WalkTogether()
		var a, b stage.LookLight
		for i := range looks {
			each.To(&looks[i], &a)
			one.To(&looks[i], &b)
			count := 0
			for _, lamp := range b.Lamps {
				count += lamp.Count()
			}
			if count != len(a.Lamps) {
				t.Fatalf("%d lamps are lit, and %d stand for %d", len(a.Lamps), len(b.Lamps), count)
			}
			joined += len(a.Lamps) - len(b.Lamps)
			out, _ := a.Output()
			sum, _ := b.Output()
			pictureA, fluxA := a.Picture()
			pictureB, fluxB := b.Picture()
			for name, pair := range map[string][2]float64{
				"output": {out, sum}, "emitted": {a.Emitted(), b.Emitted()}, "picture": {pictureA, pictureB}, "flux": {fluxA, fluxB},
				"up": {a.PictureUp(rig.PictureLamps()), b.PictureUp(rig.PictureLamps())}, "ups": {weighed(a.Ups(rig)), weighed(b.Ups(rig))}, "colour": {a.Sum().X, b.Sum().X},
			} {
				if d := pair[0] - pair[1]; d > 1e-9*pair[0] || -d > 1e-9*pair[0] {
					t.Fatalf("%s of look %d: %v one by one, %v together", name, i, pair[0], pair[1])
				}
			}
		}
	})
	if joined == 0 {
		t.Error("no lamp was ever joined to another")
	}
}

// byChannel are the fixtures in the order of their channels.
func byChannel(m *facts.Measured) []facts.Subject {
	list := m.Subjects("fixture")
	slices.SortFunc(list, func(a, b facts.Subject) int {
		return cmp.Compare(a.(*facts.Fixture).Channel, b.(*facts.Fixture).Channel)
	})
	return list
}

// weighed weighs the systems, so that none stands for another.
func weighed(ups stage.Ups) float64 {
	sum := 0.0
	for i, up := range ups {
		sum += float64(i+1) * up
	}
	return sum
}
