package schema_test

import (
	"testing"

	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
)

// TestAPointNeedsAllItsNumbers: with one that is missing or cannot be read, nobody knows where it is. Nought
// would be a place, such as a lamp on the floor.
func TestAPointNeedsAllItsNumbers(t *testing.T) {
	for text, want := range map[string]*schema.Point{
		`{"x": 1, "y": -2.5, "z": 4}`:           {X: 1, Y: -2.5, Z: 4},
		`{"z": 0, "y": 0, "x": 0}`:              {},
		`{"x": 1, "y": 2, "z": 4, "note": "a"}`: {X: 1, Y: 2, Z: 4},
		`{"x": 1, "y": 2}`:                      nil,
		`{"x": 1, "z": 2, "xy": 3}`:             nil,
		`{"x": 1, "y": 2, "z": "high"}`:         nil,
		`{"x": null, "y": 2, "z": 3}`:           nil,
		`{}`:                                    nil,
		`[1, 2, 3]`:                             nil,
	} {
		show := schematest.Read(t, `{"room": {"bars": [{"name": "front", "from": `+text+`}], "surfaces": [{"name": "wall", "centre": `+text+`}]},
			"patch": [{"channel": 1, "hung_at": `+text+`, "aimed_at": `+text+`}], "cues": [{"cue": 1, "set": [{"channels": "1", "aim": `+text+`}]}]}`)
		lamp := show.Patch[0]
		got := map[string]*schema.Point{"from": show.Room.Bars[0].From, "centre": show.Room.Surfaces[0].Centre, "hung_at": lamp.HungAt}
		for key, aim := range map[string]*schema.Aim{"aimed_at": lamp.AimedAt, "aim": show.Cues[0].Set[0].Aim} {
			if aim != nil {
				got[key] = aim.Point
			} else {
				got[key] = nil
			}
		}
		for key, point := range got {
			if (point == nil) != (want == nil) || point != nil && *point != *want {
				t.Errorf("%s of %s is %v, want %v", key, text, point, want)
			}
		}
	}
}
