package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever white a camera is set to, light of that white is grey in its picture, and its
// lightness is that of CIE 1976 for its luminance: 18 % give L* 49.5 and 100 % 100.
func TestTheWhiteOfACameraIsGrey(t *testing.T) {
	for _, kelvin := range []float64{2800, 3200, 4300, 5600, 6500, 9000} {
		white, ok := PlanckianOffset(kelvin, 0)
		if !ok {
			t.Fatalf("no white of %v K", kelvin)
		}
		picture, ok := Expose(white)
		if !ok {
			t.Fatalf("no picture at %v K", kelvin)
		}
		for y, want := range map[float64]float64{0.18: 49.496, 1: 100, 4: 100, 0: 0} {
			xyz, _ := white.XYZ(1)
			lab, ok := picture.Lab(xyz.Scale(y))
			if !ok || math.Abs(lab.L-want) > 1e-3 || math.Hypot(lab.A, lab.B) > 1e-6 {
				t.Errorf("%v K, %v of it: %+v, want L* %v and no chroma", kelvin, y, lab, want)
			}
		}
	}
	if _, ok := Expose(XY{0.15, 0.06}); ok {
		t.Error("the blue of the primaries is taken for a white")
	}
}

// A picture holds nothing beyond what BT.709 has: more of a light never changes it once
// all three are clipped, and lightness never falls with more light.
func TestPicturesAreClipped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return rapid.Float64Range(0.1, 0.5).Draw(t, name) }
		light, ok := XY{draw("x"), draw("y")}.XYZ(1)
		white, ok1 := PlanckianOffset(rapid.Float64Range(2500, 10_000).Draw(t, "kelvin"), 0)
		picture, ok2 := Expose(white)
		if !ok || !ok1 || !ok2 {
			return
		}
		before := -1.0
		for _, y := range []float64{0, 0.001, 0.05, 0.5, 1, 10, 1e6} {
			lab, ok := picture.Lab(light.Scale(y))
			if !ok {
				return
			}
			if lab.L < before-1e-9 || lab.L > 100+1e-9 {
				t.Fatalf("%v of %+v has L* %v after %v", y, light, lab.L, before)
			}
			before = lab.L
		}
	})
}

// What the most exposed channel of a camera has: as much as its Y for D65, and for a primary
// its Y over the part that the primary has in the Y of white (IEC 61966-2-1: 0.2126, 0.7152, 0.0722).
func TestChannel(t *testing.T) {
	for name, tc := range map[string]struct {
		rgb  RGB
		want float64
	}{
		"white": {RGB{3, 3, 3}, 3}, "red": {RGB{R: 2}, 2}, "green": {RGB{G: 2}, 2}, "blue": {RGB{B: 2}, 2}, "more green than red": {RGB{1, 4, 0}, 4}, "none": {RGB{}, 0},
	} {
		if got := tc.rgb.XYZ().Channel(); math.Abs(got-tc.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", name, got, tc.want)
		}
	}
	if y := (RGB{B: 1}).XYZ().Y; math.Abs(y-0.0722) > 1e-12 {
		t.Errorf("the Y of blue is %v", y)
	}
	for _, none := range []XYZ{{X: math.NaN()}, {Y: math.Inf(1)}, {X: -1, Y: -1, Z: -1}} {
		if got := none.Channel(); got != 0 {
			t.Errorf("%v has %v", none, got)
		}
	}
}
