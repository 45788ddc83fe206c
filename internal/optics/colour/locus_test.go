package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Spectral chromaticities printed in CIE 015:2004, Table T.4 (and in Wyszecki
// and Stiles, Color Science, 2nd ed., Table I(3.3.1)). From memory.
func TestMonochromatic(t *testing.T) {
	const printed = 5e-5
	for nm, want := range map[float64]XY{
		400: {0.1733, 0.0048}, 450: {0.1566, 0.0177}, 480: {0.0913, 0.1327}, 500: {0.0082, 0.5384},
		520: {0.0743, 0.8338}, 550: {0.3016, 0.6923}, 580: {0.5125, 0.4866}, 600: {0.6270, 0.3725},
		650: {0.7260, 0.2740}, 700: {0.7347, 0.2653},
	} {
		got, ok := Monochromatic(nm)
		if !ok {
			t.Fatalf("%g nm: no answer", nm)
		}
		near(t, "x", got.X, want.X, printed)
		near(t, "y", got.Y, want.Y, printed)
	}
	for _, nm := range []float64{359.999, 830.001, 0, -500, math.NaN(), math.Inf(1)} {
		if _, ok := Monochromatic(nm); ok {
			t.Errorf("%g nm accepted", nm)
		}
	}
	for _, nm := range []float64{360, 830} {
		if _, ok := Monochromatic(nm); !ok {
			t.Errorf("%g nm refused", nm)
		}
	}
}

// The locus must not jump or loop between the tabled wavelengths: a 1 nm step is
// about a fifth of the 5 nm chord it belongs to.
func TestSpectralLocusIsSmooth(t *testing.T) {
	const (
		uneven = 1.35 // the locus speeds up and slows down within a chord
		wobble = 3e-4 // at both ends the table has too few digits for more
	)
	locus := spectralLocus()
	if len(locus) != 471 {
		t.Fatalf("%d points", len(locus))
	}
	for i := 0; i+cmfStep < len(locus); i += cmfStep {
		a, b := locus[i], locus[i+cmfStep]
		chord := math.Hypot(b.X-a.X, b.Y-a.Y)
		for j := i; j < i+cmfStep; j++ {
			step := math.Hypot(locus[j+1].X-locus[j].X, locus[j+1].Y-locus[j].Y)
			if step > uneven*chord/cmfStep+wobble {
				t.Errorf("step of %.5f after %d nm in a chord of %.5f", step, cmfFirst+j, chord)
			}
		}
	}
}

func TestRealColour(t *testing.T) {
	for _, c := range []XY{D65, {1. / 3, 1. / 3}, {0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}, {0.17, 0.01}} {
		if real, ok := RealColour(c); !ok || real != c {
			t.Errorf("%v is %v, %v", c, real, ok)
		}
	}
	for _, c := range []XY{{0.05, 0.1}, {0.8, 0.15}, {0.6, 0.41}, {0.3, 0.01}, {0.02, 0.85}, {0.2, 0.75 + 0.05}} {
		if real, ok := RealColour(c); ok {
			t.Errorf("%v is real: %v", c, real)
		}
	}
	// So is all between the two sides, at every height of the red end of the purple line.
	for y := 0.2653; y < 0.2654; y += 5e-7 {
		c := XY{0.4, y}
		if real, ok := RealColour(c); !ok || real != c {
			t.Fatalf("%v is %v, %v", c, real, ok)
		}
	}
	sag := 0.0 // how far the locus bulges over its chords of a nanometre
	for nm := 360.5; nm < 830; nm++ {
		mid, _ := Monochromatic(nm)
		real, _ := RealColour(mid)
		sag = max(sag, math.Hypot(real.X-mid.X, real.Y-mid.Y))
	}
	if sag > 2e-4 {
		t.Fatalf("chords are %g apart from the locus", sag)
	}
	rapid.Check(t, func(t *rapid.T) {
		// Every mix of single wavelengths is real, and so it is in two decimals.
		a, _ := Monochromatic(rapid.Float64Range(360, 830).Draw(t, "a"))
		b, _ := Monochromatic(rapid.Float64Range(360, 830).Draw(t, "b"))
		f := rapid.Float64Range(0, 1).Draw(t, "f")
		c := XY{a.X + f*(b.X-a.X), a.Y + f*(b.Y-a.Y)}
		if real, ok := RealColour(c); !ok || math.Hypot(real.X-c.X, real.Y-c.Y) > 1.1*sag {
			t.Fatalf("%v between %v and %v is %v, %v", c, a, b, real, ok)
		}
		printed := XY{math.Round(100*c.X) / 100, math.Round(100*c.Y) / 100}
		if printed.Y == 0 {
			return // no chromaticity any more
		}
		real, ok := RealColour(printed)
		if _, again := RealColour(real); !ok || !again {
			t.Fatalf("%v, printed %v, is %v, %v", c, printed, real, ok)
		}
	})
}
