package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestTunableWhite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cct := rapid.Float64Range(0, 30000).Draw(t, "cct")
		duv := rapid.Float64Range(-0.01, 0.01).Draw(t, "duv")
		lowest := rapid.Float64Range(2000, 4000).Draw(t, "lowest")
		highest := rapid.Float64Range(4000, 10000).Draw(t, "highest")
		xy, used, ok := TunableWhite(cct, duv, lowest, highest)
		if !ok || used != math.Min(highest, math.Max(lowest, cct)) {
			t.Fatalf("%v, %g, %v", xy, used, ok)
		}
		got, gotDuv, ok := CCT(xy)
		if !ok || math.Abs(got-used) > 3e-5*used || math.Abs(gotDuv-duv) > 1e-6 {
			t.Fatalf("%g K, Duv %g came out as %g K, %g", used, duv, got, gotDuv)
		}
	})
	for _, bad := range [][4]float64{
		{math.NaN(), 0, 2700, 6500}, {math.Inf(1), 0, 2700, 6500}, {4000, 0, 6500, 2700}, {4000, 0, 900, 6500},
		{4000, 0, 2700, 30000}, {4000, 0.06, 2700, 6500}, {4000, math.NaN(), 2700, 6500}, {4000, 0, math.NaN(), 6500}, {4000, 0, 2700, math.NaN()},
	} {
		if _, _, ok := TunableWhite(bad[0], bad[1], bad[2], bad[3]); ok {
			t.Errorf("%v accepted", bad)
		}
	}
	if _, used, ok := TunableWhite(4000, 0, 3000, 3000); !ok || used != 3000 {
		t.Errorf("a range of one: %g, %v", used, ok)
	}
}

func TestWhitePair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		end := func(name string, low, high float64) Emitter {
			xy, _ := PlanckianOffset(rapid.Float64Range(low, high).Draw(t, name), rapid.Float64Range(-0.005, 0.005).Draw(t, "duv"))
			return Emitter{xy.X, xy.Y, rapid.Float64Range(100, 5000).Draw(t, "flux")}
		}
		pair := WhitePair{end("warm", 2200, 3200), end("cool", 5000, 8000)}
		lowest, highest, ok := pair.Range()
		if !ok {
			t.Fatal("no range")
		}
		cct := rapid.Float64Range(1500, 10000).Draw(t, "cct")
		mix, ok := pair.At(cct)
		if !ok {
			t.Fatal("no answer")
		}
		want := math.Min(highest, math.Max(lowest, cct))
		// Where CCT changes its solution, at abs(Duv) 0.002, it steps by the errors
		// of both, 2.9e-5 and 1.1e-5, as told to two digits.
		if math.Abs(mix.CCT-want) > (2.95e-5+1.15e-5)*want {
			t.Fatalf("asked for %g K in %g to %g, got %g K", cct, lowest, highest, mix.CCT)
		}
		if max(mix.Warm, mix.Cool) != 1 || min(mix.Warm, mix.Cool) < 0 {
			t.Fatalf("levels %g and %g", mix.Warm, mix.Cool)
		}
		xyz, ok := Mix([]Emitter{pair.Warm, pair.Cool}, []float64{mix.Warm, mix.Cool})
		xy, _ := xyz.XY()
		got, duv, okCCT := CCT(xy)
		if !ok || !okCCT || got != mix.CCT || duv != mix.Duv {
			t.Fatalf("the levels give %g K, Duv %g, not %+v", got, duv, mix)
		}
	})
}

func TestWhitePairDomain(t *testing.T) {
	at := func(T float64) Emitter {
		xy, _ := PlanckianOffset(T, 0)
		return Emitter{xy.X, xy.Y, 1000}
	}
	warm, cool := at(2700), at(6500)
	dark := cool
	dark.Flux = 0
	for name, pair := range map[string]WhitePair{
		"exchanged":       {cool, warm},
		"the same":        {warm, warm},
		"dark":            {warm, dark},
		"a colour":        {Emitter{0.64, 0.33, 100}, cool},
		"tiny":            {Emitter{warm.X, warm.Y, 5e-324}, Emitter{cool.X, cool.Y, 5e-324}},
		"nothing at all ": {},
	} {
		if mix, ok := pair.At(4000); ok {
			t.Errorf("%s: %+v", name, mix)
		}
	}
	pair := WhitePair{warm, cool}
	for _, cct := range []float64{math.NaN(), math.Inf(1)} {
		if _, ok := pair.At(cct); ok {
			t.Errorf("%g K accepted", cct)
		}
	}
	if mix, ok := pair.At(1); !ok || mix.Warm != 1 || mix.Cool != 0 {
		t.Errorf("far too warm: %+v, %v", mix, ok)
	}
	if mix, ok := pair.At(1e6); !ok || mix.Warm != 0 || mix.Cool != 1 {
		t.Errorf("far too cool: %+v, %v", mix, ok)
	}
	// Between them the line runs below the locus.
	if mix, _ := pair.At(4000); mix.Duv > -0.005 || mix.Duv < -0.02 {
		t.Errorf("Duv between 2700 K and 6500 K: %g", mix.Duv)
	}
}
