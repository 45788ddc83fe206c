package stage

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

func TestCheeks(t *testing.T) {
	for _, c := range []struct {
		what        string
		rays        []Ray
		ambient     float64
		left, right float64
	}{
		{"in the dark", nil, 0, 0, 0},
		{"ambient light alone", nil, 4, 4, 4},
		// From straight ahead each cheek has the cosine of 60 degrees of it.
		{"from the front", []Ray{{Lux: 100, ElevationDeg: 40}}, 0, 50, 50},
		// From 30 degrees the near cheek is 30 degrees off the lamp, the far one 90.
		{"from 30 degrees right", []Ray{{Lux: 100 * math.Cos(30*degree), AzimuthDeg: 30}}, 0, 0, 100 * math.Cos(30*degree)},
		{"from 45 degrees left", []Ray{{Lux: 100 * math.Cos(45*degree), AzimuthDeg: -45}}, 0, 100 * math.Cos(15*degree), 0},
		// Key and fill of two to one at 37 degrees to either side stay two to one.
		{"two to one", []Ray{{Lux: 200, AzimuthDeg: -37}, {Lux: 100, AzimuthDeg: 37}}, 0, 200 / math.Cos(37*degree) * math.Cos(23*degree), 100 / math.Cos(37*degree) * math.Cos(23*degree)},
		{"from behind", []Ray{{Lux: 0, AzimuthDeg: 150}}, 0, 0, 0},
		{"from behind and the side, and then from the front", []Ray{{Lux: 0}, {Lux: 10, AzimuthDeg: 90}, {Lux: 100}}, 0, 50, 50},
	} {
		left, right := Cheeks(c.rays, c.ambient)
		near(t, c.what+": left", left, c.left)
		near(t, c.what+": right", right, c.right)
	}
	rapid.Check(t, func(t *rapid.T) { // what comes from the left as seen in a mirror comes from the right
		var rays, mirrored []Ray
		for range rapid.IntRange(0, 5).Draw(t, "rays") {
			r := Ray{Lux: rapid.Float64Range(0, 1000).Draw(t, "lux"), AzimuthDeg: rapid.Float64Range(-89, 89).Draw(t, "azimuth")}
			rays = append(rays, r)
			r.AzimuthDeg = -r.AzimuthDeg
			mirrored = append(mirrored, r)
		}
		l, r := Cheeks(rays, 1)
		ml, mr := Cheeks(mirrored, 1)
		if math.Abs(l-mr) > 1e-6*l || math.Abs(r-ml) > 1e-6*r {
			t.Fatalf("%v %v mirrored is %v %v", l, r, ml, mr)
		}
	})
}

func TestWhereTheLightComesFrom(t *testing.T) {
	rays := []Ray{{Lux: 60, ElevationDeg: 70, OffCameraDeg: 70}, {Lux: 30, ElevationDeg: 45, OffCameraDeg: 10}, {Lux: 10, ElevationDeg: 5, OffCameraDeg: 12}}
	for _, c := range []struct{ part, elevation, within float64 }{
		{0.05, 5, 10}, {0.1, 5, 10}, {0.25, 45, 10}, {0.4, 45, 12}, {0.41, 70, 70}, {0.5, 70, 70}, {1, 70, 70},
	} {
		if deg, ok := ElevationOf(rays, c.part); !ok || deg != c.elevation {
			t.Errorf("%v of it comes from under %v degrees, want %v", c.part, deg, c.elevation)
		}
		if deg, ok := WithinOf(rays, c.part); !ok || deg != c.within {
			t.Errorf("%v of it comes from within %v degrees, want %v", c.part, deg, c.within)
		}
	}
	if _, ok := ElevationOf([]Ray{{ElevationDeg: 9}}, 0.5); ok {
		t.Error("no light comes from somewhere")
	}
	width, most := WidestOf([]Ray{{Lux: 90, WidthDeg: 2, WidestDeg: 5}, {Lux: 10, WidthDeg: 30, WidestDeg: 40}}, 0.2)
	near(t, "the widest", width, 2)
	near(t, "the widest at most", most, 5)
}

// What is left of two whites of which one gives the part p is (p-0.1)/0.8 and the rest of it: 0.25 of a part of 0.3.
func TestWhiteSpread(t *testing.T) {
	const warm, cool = 1e6 / 200, 1e6 / 180 // 20 mired apart
	for _, c := range []struct{ part, want float64 }{{0.5, 20}, {0.3, 15}, {0.2, 8.75}, {TraceShare, 0}, {0.05, 0}, {0, 0}, {0.9, 0}, {0.8, 8.75}} {
		near(t, "the spread", WhiteSpread([]Ray{{Lux: 100 * c.part, Kelvin: warm}, {Lux: 100 * (1 - c.part), Kelvin: cool}}), c.want)
	}
	near(t, "a colour beside a white", WhiteSpread([]Ray{{Lux: 50, Kelvin: warm}, {Lux: 50}}), 0)
	near(t, "the dark", WhiteSpread(nil), 0)
	// Cut in two, a lamp is still one lamp.
	near(t, "three", WhiteSpread([]Ray{{Lux: 25, Kelvin: warm}, {Lux: 25, Kelvin: warm}, {Lux: 50, Kelvin: cool}}), 20)
}

// A trace is no part of the mean: of two whites of which one gives the part p, the cooler counts with (p-0.1)/0.8.
func TestDuvSpread(t *testing.T) {
	const kelvin = 5600
	near(t, "two halves", DuvSpread([]Ray{{Lux: 50, Kelvin: kelvin, Duv: 0.006}, {Lux: 50, Kelvin: kelvin, Duv: -0.002}}), 0.008)
	near(t, "whatever their kelvin", DuvSpread([]Ray{{Lux: 50, Kelvin: 3200, Duv: 0.006}, {Lux: 50, Kelvin: kelvin, Duv: -0.002}}), 0.008)
	near(t, "a trace", DuvSpread([]Ray{{Lux: 90, Kelvin: kelvin, Duv: 0.006}, {Lux: 10, Kelvin: kelvin}}), 0)
	near(t, "a colour", DuvSpread([]Ray{{Lux: 50, Kelvin: kelvin, Duv: 0.006}, {Lux: 50, Duv: 0.1}}), 0)
}

func TestMeanWhite(t *testing.T) {
	const warm, cool = 1e6 / 350, 1e6 / 200
	for _, c := range []struct{ part, want float64 }{{0.5, 275}, {0.3, 312.5}, {TraceShare, 350}, {0.05, 350}, {0.95, 200}} {
		mean, ok := MeanWhite([]Ray{{Lux: 100 * (1 - c.part), Kelvin: warm, DriftMired: 40, Duv: 0.01}, {Lux: 100 * c.part, Kelvin: cool}})
		if near(t, "the mean", mean.Mired, c.want); !ok {
			t.Error("there is light")
		}
		near(t, "the drift", mean.DriftMired, 40*(c.want-200)/150)
		near(t, "the Duv", mean.Duv, 0.01*(c.want-200)/150)
	}
	if _, ok := MeanWhite([]Ray{{Lux: 100}}); ok {
		t.Error("a colour has no white")
	}
}

// Filaments of 350 and 400 mired, 38 and 88 warmer than at full: what gives less than a fifth is left out.
func TestDimmedFilaments(t *testing.T) {
	rays := []Ray{{Lux: 79, Kelvin: 1e6 / 350, DriftMired: 38}, {Lux: 21, Kelvin: 1e6 / 400, DriftMired: 88}, {Lux: 900}}
	w := White{Dimmed: DimmedOf(rays)}
	near(t, "over nothing", w.Over(0), 88)
	near(t, "over a camera of 320 mired", w.Over(320), 80)
	near(t, "over one of 420", w.Over(420), 0)
	rays[1].Lux = 19
	w.Dimmed = DimmedOf(rays)
	near(t, "without a trace", w.Over(0), 38)
}
