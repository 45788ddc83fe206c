package stage

import (
	"fmt"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestWhatLampsGiveToASurface: of each lamp that reaches it its share of what it gives at full; nothing is known of a
// surface without a place. A lamp of which nobody knows whether it is white may be a colour.
func TestWhatLampsGiveToASurface(t *testing.T) {
	lamp := func(column int, share float64, coloured *bool) *Lamp {
		return &Lamp{Line: &Line{Fixture: &schema.Fixture{Channel: column}}, Light: &Light{Share: share, Coloured: coloured}, Beam: &Beam{Column: column}}
	}
	look := &LookLight{Lamps: []*Lamp{lamp(0, 0.5, new(false)), lamp(1, 1, new(true)), lamp(2, 0.25, nil), lamp(3, 1, nil)}}
	list, ok := (&Room{}).PartsOn(look, &Panel{Mean: []float64{100, 40, 8, 0}})
	if !ok || len(list) != 3 {
		t.Fatalf("%+v, %t", list, ok)
	}
	for i, want := range []Part{{Lux: 50}, {Lux: 40, Colour: true}, {Lux: 2, Colour: true}} {
		if got := list[i]; got.Fixture.Channel != i || got.Lux != want.Lux || got.Colour != want.Colour {
			t.Errorf("lamp %d gives %+v, not %+v", i, got, want)
		}
	}
	if list, ok := (&Room{}).PartsOn(look, &Panel{missing: "its place", Mean: []float64{100, 40, 8, 0}}); ok || list != nil {
		t.Errorf("to a surface without a place they give %+v, %t", list, ok)
	}
}

// TestWhatIsColouredOfAimedKeys: of the lumens of those that point at the place, by name; nothing where not all of it is
// known, or no light comes.
func TestWhatIsColouredOfAimedKeys(t *testing.T) {
	lamp := func(purpose, aim string, lumens float64, coloured *bool) *Lamp {
		l := &Lamp{Line: &Line{Fixture: &schema.Fixture{AimedAt: &schema.Aim{Name: aim}}, Purpose: purpose}, Light: &Light{State: &tracking.State{}, Coloured: coloured}}
		l.XYZ.Y = lumens
		return l
	}
	white, blue := lamp("key", "desk", 300, new(false)), lamp("key", "desk", 100, new(true))
	for _, c := range []struct {
		about string
		lamps []*Lamp
		want  float64
	}{
		{"white and blue", []*Lamp{white, blue}, 0.25}, {"blue", []*Lamp{blue}, 1}, {"white", []*Lamp{white}, 0}, {"none", nil, 0}, {"no light", []*Lamp{lamp("key", "desk", 0, new(true))}, 0},
		{"a blue one for something else", []*Lamp{white, blue, lamp("wash", "desk", 600, new(true))}, 0.25}, {"a blue one elsewhere", []*Lamp{white, blue, lamp("key", "choir", 600, new(true))}, 0.25},
		{"one of which nobody knows the colour", []*Lamp{blue, lamp("key", "desk", 1, nil)}, 0}, {"one of which nobody knows what it is for", []*Lamp{blue, lamp("", "desk", 1, new(false))}, 0},
	} {
		f := &Face{look: &LookLight{Lamps: c.lamps}, place: "desk", room: &Room{Rig: &Rig{Show: &schema.Show{Patch: []*schema.Fixture{white.Fixture}}}}}
		if got := f.AimedColour(); got != c.want {
			t.Errorf("%s: %g of it is coloured, not %g", c.about, got, c.want)
		}
	}
}

// TestWhoIsBesideAPlace: who stands within reach of an arm, on the floor.
func TestWhoIsBesideAPlace(t *testing.T) {
	at := func(x, y float64) *schema.Place { return &schema.Place{X: &x, Y: &y} }
	r := &Rig{Places: map[string]*schema.Place{"desk": at(0, 0), "beside": at(0.7, 0), "behind": at(0, -0.7), "aside": at(0.71, 0), "across": at(0.5, 0.5), "nowhere": {}}}
	for name, want := range map[string]bool{"desk": true, "beside": true, "behind": true, "aside": false, "across": false, "nowhere": false, "unknown": false} {
		if got := r.somebodyAt("desk", []string{name}); got != want {
			t.Errorf("who is %s is at the desk: %t", name, got)
		}
	}
	if !r.somebodyAt("nowhere", []string{"desk", "nowhere"}) || r.somebodyAt("desk", nil) {
		t.Error("who is there is there, and nobody is not")
	}
}

// TestLightThatWaits stands on a place where nobody is: at least a part of that on the best-lit face where no camera tells
// what it wants, however little that is. Two keys hang alike before two places that are far apart.
func TestLightThatWaits(t *testing.T) {
	for _, lumens := range []float64{2000, 0.5} {
		for levels, want := range map[[2]int][]string{{80, 80}: {"stool"}, {80, 41}: {"stool"}, {80, 39}: nil, {80, 0}: nil, {0, 80}: nil} {
			r, looks := rigOf(t, fmt.Sprintf(`{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}, {"name": "stool", "x": 12, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "far", "x": 6, "y": -40, "z": 1.6}]},
				"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": %g, "beam_deg": 10, "field_deg": 15, "dimmer_curve": "linear"}],
				"patch": [{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -2, "z": 5.6}, "aimed_at": "lectern"}, {"channel": 2, "type": "spot", "purpose": "key", "hung_at": {"x": 12, "y": -2, "z": 5.6}, "aimed_at": "stool"}],
				"order": [{"name": "talk", "start_cue": 1, "people": ["lectern"]}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": %d}, {"channels": "2", "level": %d}]}]}`, lumens, levels[0], levels[1]))
			r.Room.Light(looks[0])
			if got := r.Room.Waiting(looks[0], 0.5); !slices.Equal(got, want) {
				t.Errorf("keys of %g lm at %v %%: light waits at %q, not %q", lumens, levels, got, want)
			}
		}
	}
}

// TestTheLightOnAWall behind a face is that of the lamps, and nothing where no wall is known.
func TestTheLightOnAWall(t *testing.T) {
	const wall = `{"name": "wall", "kind": "wall", "centre": {"x": 0, "y": 6, "z": 2}, "width_m": 12, "height_m": 4, "facing_deg": 0, "tilt_deg": 0, "reflectance": 0.5}`
	for surfaces, want := range map[string]bool{wall: true, "": false} {
		r, looks := rigOf(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6}], "surfaces": [`+surfaces+`]},
			"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 5000, "beam_deg": 20, "field_deg": 30}],
			"patch": [{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -2, "z": 1.6}, "aimed_at": "lectern"}],
			"order": [{"name": "talk", "start_cue": 1, "people": ["lectern"]}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`)
		face := r.Room.FaceOn(looks[0], "lectern", r.Room.Light(looks[0]))
		if got := r.Room.Seen(face).Wall.Y; (got > 0) != want {
			t.Errorf("with the surfaces [%s] it has %g lx", surfaces, got)
		}
		if b := r.Room.BackdropOf(face); (b.Nits != nil) != want || (b.Missing == "") != want {
			t.Errorf("with the surfaces [%s] the background has %v cd/m2, and %q is missing", surfaces, b.Nits, b.Missing)
		}
	}
}
