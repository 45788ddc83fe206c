package stage

import (
	"testing"

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
