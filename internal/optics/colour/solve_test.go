package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// mostFlux returns an upper bound on the flux that any levels can give at
// target, and by strong duality the flux itself: the least over the prices p of
// sum max(0, flux - p . pull), which is convex, made of planes, and so lowest at
// a corner, where two emitters are worth exactly their price.
func mostFlux(emitters []Emitter, target XY) float64 {
	line, _ := target.XYZ(1)
	var pulls []XY
	for _, e := range emitters {
		xyz, _ := e.XYZ()
		pulls = append(pulls, XY{xyz.X - line.X*xyz.Y, xyz.Z - line.Z*xyz.Y})
	}
	least := math.Inf(1)
	for i, a := range pulls {
		for j, b := range pulls[:i] {
			det := a.X*b.Y - b.X*a.Y
			if det == 0 {
				continue
			}
			p := XY{(emitters[i].Flux*b.Y - emitters[j].Flux*a.Y) / det, (a.X*emitters[j].Flux - b.X*emitters[i].Flux) / det}
			var bound float64
			for k, e := range emitters {
				if k == i || k == j {
					continue // worth its price exactly, whatever rounding says
				}
				bound += math.Max(0, e.Flux-p.X*pulls[k].X-p.Y*pulls[k].Y)
			}
			least = min(least, bound)
		}
	}
	return least
}

func TestSolveLevelsGivesMostFlux(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		emitters := rapid.SliceOfN(rapid.Custom(drawEmitter), 3, 8).Draw(t, "emitters")
		levels := make([]float64, len(emitters))
		for i := range levels {
			levels[i] = rapid.Float64Range(0.05, 1).Draw(t, "level")
		}
		mix, _ := Mix(emitters, levels)
		target, ok := mix.XY()
		if !ok {
			t.Fatal("no target")
		}
		solved, ok := SolveLevels(emitters, target)
		if !ok {
			t.Fatalf("%v is a mix of the emitters", target)
		}
		got, ok := Mix(emitters, solved)
		xy, _ := got.XY()
		if !ok || math.Hypot(xy.X-target.X, xy.Y-target.Y) > solvedWithin {
			t.Fatalf("levels %v give %v, not %v", solved, xy, target)
		}
		if got.Y < mix.Y*(1-1e-6) {
			t.Fatalf("%g lm, but %g lm is possible", got.Y, mix.Y)
		}
	})
}

// For well separated emitters the bound is reached.
func TestSolveLevelsReachesBound(t *testing.T) {
	emitters := sevenEmitters()
	rapid.Check(t, func(t *rapid.T) {
		levels := rapid.SliceOfN(rapid.Float64Range(0.01, 1), len(emitters), len(emitters)).Draw(t, "levels")
		mix, _ := Mix(emitters, levels)
		target, _ := mix.XY()
		solved, ok := SolveLevels(emitters, target)
		got, _ := Mix(emitters, solved)
		if most := mostFlux(emitters, target); !ok || math.Abs(got.Y-most) > 1e-6*most {
			t.Fatalf("%g lm, bound %g lm", got.Y, most)
		}
	})
}

func TestSolveLevelsByHand(t *testing.T) {
	red, green, blue := Emitter{0.64, 0.33, 0.2126}, Emitter{0.30, 0.60, 0.7152}, Emitter{0.15, 0.06, 0.0722}
	rgb := []Emitter{red, green, blue}
	white, _ := RGB{1, 1, 1}.XYZ().XY()
	yellow, _ := XYZ{0.77, 0.9278, 0.1385}.XY() // the sum of the sRGB red and green columns
	for name, c := range map[string]struct {
		emitters []Emitter
		target   XY
		want     []float64
	}{
		"white needs all":           {SRGBPrimaries(), white, []float64{1, 1, 1}},
		"an emitter's own colour":   {rgb, green.XY(), []float64{0, 1, 0}},
		"one emitter":               {[]Emitter{red}, red.XY(), []float64{1}},
		"the same twice":            {[]Emitter{red, red}, red.XY(), []float64{1, 1}},
		"on an edge":                {SRGBPrimaries(), yellow, []float64{1, 1, 0}},
		"an emitter that is broken": {[]Emitter{red, {0.3, 0.3, 0}}, red.XY(), []float64{1, 0}},
		"all in one line":           {[]Emitter{{0.2, 0.2, 100}, {0.4, 0.4, 100}}, XY{0.3, 0.3}, nil},
		"three in one line":         {[]Emitter{{0.2, 0.2, 100}, {0.3, 0.3, 50}, {0.4, 0.4, 100}}, XY{0.3, 0.3}, nil},
		// the prices of what is nearly one white are nearly one, and none is worth more
		"whites but for a rounding": {[]Emitter{{0.3127, 0.329, 2}, {0.3126999999999999, 0.32899999999999996, 1.5},
			{0.3116287947448026, 0.328997369785868, 1}, {0.7334169672259684, 0.2665830327740317, 1024.9375}}, XY{0.731313724857471, 0.266894813628265}, nil},
		"many of two colours":        {[]Emitter{blue, {0.2426, 0.1669, 1}, blue, {0.2426, 0.1669, 1}, blue, {0.3653, 0.3212, 1}, blue, blue}, blue.XY(), []float64{1, 0, 1, 0, 1, 0, 1, 1}},
		"two alike in a full engine": {append(SRGBPrimaries(), SRGBPrimaries()...), white, []float64{1, 1, 1, 1, 1, 1}},
	} {
		levels, ok := SolveLevels(c.emitters, c.target)
		if !ok {
			t.Errorf("%s: no answer", name)
			continue
		}
		mix, _ := Mix(c.emitters, levels)
		xy, _ := mix.XY()
		if math.Hypot(xy.X-c.target.X, xy.Y-c.target.Y) > solvedWithin {
			t.Errorf("%s: levels %v give %v", name, levels, xy)
		}
		for i := range c.want {
			near(t, name, levels[i], c.want[i], 1e-6)
		}
	}
	// In one line with xy weights y/flux: 0.2,0.2 has X 100 Z 300, 0.4,0.4 has X
	// 100 Z 50 per 100 lm. On the line to 0.3,0.3 (X 1, Z 4/3): 300a + 50b =
	// 4/3 (100a + 100b), so 1000a = 500b, b = 1, a = 0.5.
	levels, _ := SolveLevels([]Emitter{{0.2, 0.2, 100}, {0.4, 0.4, 100}}, XY{0.3, 0.3})
	near(t, "first of the line", levels[0], 0.5, 1e-6)
	near(t, "second of the line", levels[1], 1, 1e-6)
	// A third at 0.25,0.25 has X 100 Z 200 and pulls as the first does. Over 4/3 of their
	// light the three have Z 166.67, 66.67 and -83.33: with the others full the first gives 0.1.
	levels, _ = SolveLevels([]Emitter{{0.2, 0.2, 100}, {0.25, 0.25, 100}, {0.4, 0.4, 100}}, XY{0.3, 0.3})
	for i, want := range []float64{0.1, 1, 1} {
		near(t, "three of the line", levels[i], want, 1e-6)
	}
}

func TestSolveLevelsDomain(t *testing.T) {
	rgb := SRGBPrimaries()
	for _, target := range []XY{{0.7, 0.29}, {0.1, 0.8}, {0.15, 0.05}, {}, {0.3, 0}, {math.NaN(), 0.3}} {
		if levels, ok := SolveLevels(rgb, target); ok {
			t.Errorf("%v accepted: %v", target, levels)
		}
	}
	if _, ok := SolveLevels(nil, D65); ok {
		t.Error("no emitter accepted")
	}
	if _, ok := SolveLevels([]Emitter{{0.3, 0.3, 0}}, XY{0.3, 0.3}); ok {
		t.Error("no light accepted")
	}
	many := make([]Emitter, maxEmitters+1)
	for i := range many {
		many[i] = Emitter{0.3, 0.3, 1}
	}
	if _, ok := SolveLevels(many, XY{0.3, 0.3}); ok {
		t.Error("65 emitters accepted")
	}
	if levels, ok := SolveLevels(many[:maxEmitters], XY{0.3, 0.3}); !ok || levels[0] != 1 {
		t.Error("64 emitters refused")
	}
}

// There is a gamut of as many emitters as a lamp may have that give any light, and of no more.
func TestGamutOf(t *testing.T) {
	lit := Emitter{0.3, 0.3, 100}
	many := make([]Emitter, maxEmitters+1)
	for i := range many {
		many[i] = Emitter{0.3 + float64(i)/1000, 0.3, 100}
	}
	for about, c := range map[string]struct {
		emitters []Emitter
		points   int
	}{
		"none": {nil, 0}, "one": {[]Emitter{lit}, 1}, "twice the same": {[]Emitter{lit, lit}, 1}, "one that is dark": {[]Emitter{{0.3, 0.3, 0}}, 0}, "one beside it that is dark": {[]Emitter{lit, {0.6, 0.3, 0}}, 1},
		"a bad one": {[]Emitter{lit, {0.3, 0, 100}}, 0}, "three": {[]Emitter{{0.64, 0.33, 1}, {0.3, 0.6, 1}, {0.15, 0.06, 1}}, 3}, "too many": {many, 0},
	} {
		hull, ok := gamutOf(c.emitters)
		if ok != (c.points > 0) || len(hull) != c.points {
			t.Errorf("%s: %d points, %v; want %d", about, len(hull), ok, c.points)
		}
	}
	if _, ok := gamutOf(many[1:]); !ok {
		t.Errorf("%d emitters have no gamut", maxEmitters)
	}
}

func TestNearestInGamut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		emitters := rapid.SliceOfN(rapid.Custom(drawEmitter), 1, 8).Draw(t, "emitters")
		target := drawXY(t)
		xy, ok := NearestInGamut(emitters, target)
		if !ok {
			t.Fatal("no answer")
		}
		p, _ := target.UVPrime()
		q, _ := xy.UVPrime()
		distance := math.Hypot(p.U-q.U, p.V-q.V)
		// No mix is nearer.
		levels := make([]float64, len(emitters))
		for range 20 {
			for i := range levels {
				levels[i] = rapid.Float64Range(0, 1).Draw(t, "level")
			}
			mix, _ := Mix(emitters, levels)
			m, okMix := mix.UV()
			if d := math.Hypot(p.U-m.U, p.V-1.5*m.V); okMix && d < distance-1e-9 {
				t.Fatalf("%v is %g away, a mix only %g", xy, distance, d)
			}
		}
		// The answer can be made, and asking again changes nothing.
		again, _ := NearestInGamut(emitters, xy)
		if math.Hypot(again.X-xy.X, again.Y-xy.Y) > 1e-8 {
			t.Fatalf("%v moved to %v", xy, again)
		}
		if _, ok := SolveLevels(emitters, xy); !ok {
			t.Fatalf("%v, nearest to %v, cannot be made", xy, target)
		}
	})
	if got, ok := NearestInGamut(SRGBPrimaries(), D65); !ok || got != D65 {
		t.Errorf("inside: %v, %v", got, ok)
	}
	for _, emitters := range [][]Emitter{nil, {{0.3, 0.3, 0}}, make([]Emitter, maxEmitters+1)} {
		if _, ok := NearestInGamut(emitters, D65); ok {
			t.Errorf("%d emitters without light accepted", len(emitters))
		}
	}
	if _, ok := NearestInGamut(SRGBPrimaries(), XY{0.3, 0}); ok {
		t.Error("impossible target accepted")
	}
}

func TestHueSaturation(t *testing.T) {
	rgb := SRGBPrimaries()
	// At full saturation a primary's or secondary's own hue gives its own colour:
	// there the edge of the gamut is that very point.
	// (Blue is the exception that the doc comment names.)
	for _, c := range []RGB{{1, 0, 0}, {0, 1, 0}, {1, 1, 0}, {0, 1, 1}, {1, 0, 1}} {
		want, _ := c.XYZ().XY()
		lch, _ := want.OKLCh()
		got, ok := HueSaturation(rgb, lch.H, 100)
		if !ok || math.Hypot(got.X-want.X, got.Y-want.Y) > 1e-5 {
			t.Errorf("%v: got %v, %v, want %v", c, got, ok, want)
		}
	}
	blue, _ := HueSaturation(rgb, 264.05, 100)
	near(t, "x of blue", blue.X, 0.156, 1e-3)
	near(t, "y of blue", blue.Y, 0.080, 1e-3)
	rapid.Check(t, func(t *rapid.T) {
		hue := rapid.Float64Range(-720, 720).Draw(t, "hue")
		saturation := rapid.Float64Range(0.5, 100).Draw(t, "saturation")
		xy, ok := HueSaturation(rgb, hue, saturation)
		full, okFull := HueSaturation(rgb, hue, 100)
		if !ok || !okFull {
			t.Fatal("no answer")
		}
		lch, _ := xy.OKLCh()
		edge, _ := full.OKLCh()
		if d := math.Abs(wrapDegrees(lch.H-hue+180) - 180); d > 1e-6 {
			t.Fatalf("hue %g came out as %g", hue, lch.H)
		}
		if got, want := lch.C/lch.L, edge.C/edge.L*saturation/100; math.Abs(got-want) > 1e-9 {
			t.Fatalf("chroma over lightness %g, want %g", got, want)
		}
		if _, ok := SolveLevels(rgb, xy); !ok {
			t.Fatalf("%v cannot be made", xy)
		}
	})
	for _, hue := range []float64{0, 100, 359} {
		if white, ok := HueSaturation(rgb, hue, 0); !ok || white != D65 {
			t.Errorf("no saturation: %v, %v", white, ok)
		}
	}
}

func TestHueSaturationDomain(t *testing.T) {
	for _, saturation := range []float64{-1, 100.1, math.NaN()} {
		if _, ok := HueSaturation(SRGBPrimaries(), 0, saturation); ok {
			t.Errorf("saturation %g accepted", saturation)
		}
	}
	for _, hue := range []float64{math.NaN(), math.Inf(1)} {
		if _, ok := HueSaturation(SRGBPrimaries(), hue, 50); ok {
			t.Errorf("hue %g accepted", hue)
		}
	}
	if _, ok := HueSaturation(SRGBPrimaries()[:2], 0, 50); ok {
		t.Error("red and green alone have no D65")
	}
	xy, ok := HueSaturation(sevenEmitters(), 1e300, 100)
	if _, real := RealColour(xy); !ok || !real {
		t.Errorf("a huge hue: %v, %v", xy, ok)
	}
}

// BenchmarkSolveLevels sets the solution against one mix of the same emitters.
func BenchmarkSolveLevels(b *testing.B) {
	emitters := sevenEmitters()
	levels, _ := SolveLevels(emitters, D65)
	b.Run("solve", func(b *testing.B) {
		for b.Loop() {
			SolveLevels(emitters, D65)
		}
	})
	b.Run("mix", func(b *testing.B) {
		for b.Loop() {
			Mix(emitters, levels)
		}
	})
}

// SRGBPrimaries are the primaries of IEC 61966-2-1 as emitters that make D65 white of 1 lm together.
func SRGBPrimaries() []Emitter {
	primaries := make([]Emitter, 0, 3)
	for _, rgb := range []RGB{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} {
		xyz := rgb.XYZ()
		xy, _ := xyz.XY()
		primaries = append(primaries, Emitter{xy.X, xy.Y, xyz.Y})
	}
	return primaries
}
