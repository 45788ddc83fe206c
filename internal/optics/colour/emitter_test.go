package colour

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// atDominant is the chromaticity of a dominant wavelength and an excitation purity (0 to 1):
// on the line from white to the edge (CIE S 017:2020).
func atDominant(nm, purity float64, white XY) (xy XY, ok bool) {
	edge, ok := Monochromatic(nm)
	return XY{white.X + purity*(edge.X-white.X), white.Y + purity*(edge.Y-white.Y)}, ok
}

// drawEmitter draws a real emitter with light.
func drawEmitter(t *rapid.T) Emitter {
	nm := rapid.Float64Range(410, 680).Draw(t, "nm")
	xy, ok := atDominant(nm, rapid.Float64Range(0, 1).Draw(t, "purity"), D65)
	if !ok {
		t.Fatal("no emitter")
	}
	return Emitter{xy.X, xy.Y, rapid.Float64Range(1, 5000).Draw(t, "flux")}
}

func sameLight(p, q XYZ, tolerance float64) bool {
	scale := 1 + p.X + p.Y + p.Z
	return math.Abs(p.X-q.X)+math.Abs(p.Y-q.Y)+math.Abs(p.Z-q.Z) <= tolerance*scale
}

// Two lights by hand: X = x/y F, Z = (1-x-y)/y F.
func TestMixByHand(t *testing.T) {
	got, ok := Mix([]Emitter{{0.5, 0.25, 100}, {0.2, 0.4, 200}}, []float64{1, 0.5})
	// 100 lm: X 200, Z 100. 100 lm: X 50, Z 100.
	if !ok || got != (XYZ{250, 200, 200}) {
		t.Errorf("got %v, %v", got, ok)
	}
	white, ok := Mix(SRGBPrimaries(), []float64{1, 1, 1})
	if !ok || !sameLight(white, XYZ{0.9505, 1, 1.089}, 1e-12) {
		t.Errorf("sRGB white: %v, %v", white, ok)
	}
}

func TestMixIsLinearAndOrderFree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		emitters := rapid.SliceOfN(rapid.Custom(drawEmitter), 1, 8).Draw(t, "emitters")
		n := len(emitters)
		a := rapid.SliceOfN(rapid.Float64Range(0, 0.5), n, n).Draw(t, "a")
		b := rapid.SliceOfN(rapid.Float64Range(0, 0.5), n, n).Draw(t, "b")
		k := rapid.Float64Range(0.01, 1).Draw(t, "k")

		sum, scaled := make([]float64, n), make([]float64, n)
		for i := range a {
			sum[i], scaled[i] = a[i]+b[i], k*a[i]
		}
		mixA, ok1 := Mix(emitters, a)
		mixB, ok2 := Mix(emitters, b)
		mixSum, ok3 := Mix(emitters, sum)
		mixScaled, ok4 := Mix(emitters, scaled)
		if !ok1 || !ok2 || !ok3 || !ok4 {
			t.Fatal("no answer")
		}
		if !sameLight(mixSum, mixA.Add(mixB), 1e-12) {
			t.Fatal("not additive")
		}
		if !sameLight(mixScaled, mixA.Scale(k), 1e-12) {
			t.Fatal("not proportional")
		}
		// Scaling every emitter keeps xy.
		if before, ok := mixA.XY(); ok && mixA.Y > 1e-6 {
			after, _ := mixScaled.XY()
			if math.Hypot(before.X-after.X, before.Y-after.Y) > 1e-9 {
				t.Fatalf("%v became %v", before, after)
			}
		}
		slices.Reverse(emitters)
		slices.Reverse(a)
		reversed, _ := Mix(emitters, a)
		if !sameLight(reversed, mixA, 1e-12) {
			t.Fatal("order matters")
		}
		// An unlit emitter changes nothing at all.
		more, ok := Mix(append(slices.Clone(emitters), Emitter{0.3, 0.3, 1000}), append(slices.Clone(a), 0))
		if !ok || more != reversed {
			t.Fatal("an unlit emitter matters")
		}
	})
}

func TestMixDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := Emitter{0.3, 0.3, 100}
	for _, e := range []Emitter{{0.3, 0, 1}, {0.3, -0.1, 1}, {0.7, 0.6, 1}, {0.3, 0.3, -1}, {0.3, 0.3, nan}, {0.3, 0.3, inf}, {nan, 0.3, 1}, {}} {
		if _, ok := Mix([]Emitter{good, e}, []float64{1, 0}); ok {
			t.Errorf("%v accepted", e)
		}
		if _, ok := SolveLevels([]Emitter{good, e}, good.XY()); ok {
			t.Errorf("SolveLevels accepted %v", e)
		}
		if _, ok := NearestInGamut([]Emitter{good, e}, D65); ok {
			t.Errorf("NearestInGamut accepted %v", e)
		}
		if _, ok := HueSaturation(append(SRGBPrimaries(), e), 0, 50); ok {
			t.Errorf("HueSaturation accepted %v", e)
		}
		if _, ok := Filtered(e, nil, nil); ok {
			t.Errorf("Filtered accepted %v", e)
		}
		if _, ok := (WhitePair{e, good}).At(4000); ok {
			t.Errorf("WhitePair accepted %v", e)
		}
	}
	for _, level := range []float64{-0.01, 1.01, nan, inf} {
		if _, ok := Mix([]Emitter{good}, []float64{level}); ok {
			t.Errorf("level %g accepted", level)
		}
	}
	if _, ok := Mix([]Emitter{good}, nil); ok {
		t.Error("unequal lengths accepted")
	}
	if _, ok := Mix([]Emitter{{0.3, 0.3, 1.7e308}, {0.3, 0.3, 1.7e308}}, []float64{1, 1}); ok {
		t.Error("overflow accepted")
	}
	if dark, ok := Mix(nil, nil); !ok || dark != (XYZ{}) {
		t.Errorf("nothing: %v, %v", dark, ok)
	}
}

// sevenEmitters is an invented seven-emitter engine: red, amber, lime, green,
// cyan, blue and indigo by dominant wavelength.
func sevenEmitters() []Emitter {
	var emitters []Emitter
	for _, e := range []struct{ nm, purity, flux float64 }{
		{625, 1, 900}, {590, 1, 700}, {565, 0.85, 2200}, {525, 0.8, 1500}, {500, 0.7, 900}, {465, 0.97, 350}, {445, 0.99, 150},
	} {
		xy, _ := atDominant(e.nm, e.purity, D65)
		emitters = append(emitters, Emitter{xy.X, xy.Y, e.flux})
	}
	return emitters
}

func TestMixDoesNotAllocate(t *testing.T) {
	emitters, levels := sevenEmitters(), []float64{1, 0.5, 0.2, 0.9, 1, 0, 0.1}
	if n := testing.AllocsPerRun(100, func() { Mix(emitters, levels) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// BenchmarkMix sets a mix of seven emitters against the seven conversions in it.
func BenchmarkMix(b *testing.B) {
	emitters, levels := sevenEmitters(), []float64{1, 0.5, 0.2, 0.9, 1, 0, 0.1}
	b.Run("mix", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Mix(emitters, levels)
		}
	})
	b.Run("conversions", func(b *testing.B) {
		for b.Loop() {
			for _, e := range emitters {
				e.XYZ()
			}
		}
	})
}
