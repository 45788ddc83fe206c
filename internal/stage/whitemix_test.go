package stage

import (
	"math"
	"testing"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/schema"
)

// TestWhiteMix: the mix of a lamp of three colours has the white that was asked for, one that
// has a white of its own uses that alone, and two colours make none.
func TestWhiteMix(t *testing.T) {
	emitter := func(name string, x, y, lm float64) *schema.Emitter {
		return &schema.Emitter{Name: name, X: &x, Y: &y, FluxLm: &lm}
	}
	red, green, blue := emitter("red", 0.69, 0.31, 500), emitter("green", 0.17, 0.7, 800), emitter("blue", 0.14, 0.05, 250)
	three := &schema.Type{Name: "three", Emitters: []*schema.Emitter{red, green, blue}}
	for _, kelvin := range []float64{3200, 4300, 5600} {
		mix, ok := WhiteMix(three, kelvin)
		if !ok || len(mix) != 3 {
			t.Fatalf("%v K: %v", kelvin, mix)
		}
		emitters, _ := EmittersOf(three)
		xyz, _ := colour.Mix(emitters, []float64{mix["red"] / 100, mix["green"] / 100, mix["blue"] / 100})
		xy, _ := xyz.XY()
		got, duv, _ := colour.CCT(xy)
		// Whole percents: a step of the weakest emitter is about 10 mired.
		if math.Abs(1e6/got-1e6/kelvin) > 10 || math.Abs(duv) > 0.005 || max(mix["red"], mix["green"], mix["blue"]) != 100 {
			t.Errorf("%v K: %v has %.0f K, Duv %.4f", kelvin, mix, got, duv)
		}
	}
	four := &schema.Type{Name: "four", Emitters: []*schema.Emitter{red, green, blue, emitter("cold", 0.329, 0.34, 900)}}
	if mix, ok := WhiteMix(four, 3200); !ok || mix["cold"] != 100 || mix["red"]+mix["green"]+mix["blue"] != 0 {
		t.Errorf("with a white of its own: %v", mix)
	}
	four.Emitters[2] = &schema.Emitter{Name: "blue"}
	if mix, ok := WhiteMix(four, 3200); !ok || mix["cold"] != 100 || mix["blue"] != 0 {
		t.Errorf("with a blue that nobody knows: %v", mix)
	}
	for _, none := range []*schema.Type{
		{Name: "two", Emitters: []*schema.Emitter{green, blue}},
		{Name: "no flux", Emitters: []*schema.Emitter{{Name: "red", X: red.X, Y: red.Y}}},
		{Name: "none"},
	} {
		if mix, ok := WhiteMix(none, 4300); ok {
			t.Errorf("%s: %v", none.Name, mix)
		}
	}
}
