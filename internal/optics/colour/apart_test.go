package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// Lights are compared by colour alone: how bright each is makes no difference, the
// order makes none, and a light is like itself.
func TestApartSeesColourAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := func(name string) XYZ {
			kelvin := rapid.Float64Range(2000, 12_000).Draw(t, name+" K")
			lumens := rapid.Float64Range(1e-3, 1e7).Draw(t, name+" lm")
			c, ok := PlanckianOffset(kelvin, 0)
			if !ok {
				t.Fatalf("%v K is no white", kelvin)
			}
			xyz, _ := c.XYZ(lumens)
			return xyz
		}
		a, b := light("a"), light("b")
		ab, ok1 := Apart(a, b)
		ba, ok2 := Apart(b, a.Scale(3))
		if !ok1 || !ok2 || math.Abs(ab-ba) > 1e-9*max(1, ab) {
			t.Errorf("%v one way, %v the other", ab, ba)
		}
		if same, ok := Apart(a, a.Scale(7)); !ok || same > 1e-6 {
			t.Errorf("a light is %v from itself", same)
		}
	})
}

func TestNothingIsComparedWithDarkness(t *testing.T) {
	lit, _ := D65.XYZ(1)
	for _, dark := range []XYZ{{}, {Y: -1}, {Y: math.NaN()}} {
		if apart, ok := Apart(lit, dark); ok {
			t.Errorf("%v from %v", apart, dark)
		}
		if apart, ok := Apart(dark, lit); ok {
			t.Errorf("%v of %v", apart, dark)
		}
	}
}

func TestHuesApart(t *testing.T) {
	for _, c := range []struct{ a, b, want float64 }{{0, 0, 0}, {350, 10, 20}, {10, 350, 20}, {0, 180, 180}, {90, 300, 150}, {0, 360, 0}} {
		if got := HuesApart(c.a, c.b); got != c.want {
			t.Errorf("%v and %v are %v apart, not %v", c.a, c.b, got, c.want)
		}
	}
}
