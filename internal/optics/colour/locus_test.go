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
	locus := SpectralLocus()
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
	locus[0] = XY{}
	if SpectralLocus()[0] == (XY{}) {
		t.Error("the caller can change the table")
	}
}

func TestInsideLocus(t *testing.T) {
	for _, c := range []XY{D65, {1. / 3, 1. / 3}, {0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}, {0.7006, 0.2993}, {0.17, 0.01}} {
		if !InsideLocus(c) {
			t.Errorf("%v is real", c)
		}
	}
	for _, c := range []XY{{0.05, 0.1}, {0.8, 0.15}, {0.6, 0.41}, {0.3, 0.01}, {0.02, 0.85}, {0.2, 0.75 + 0.05}} {
		if InsideLocus(c) {
			t.Errorf("%v is not real", c)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		// Every mix of single wavelengths is real.
		a, _ := Monochromatic(rapid.Float64Range(360, 830).Draw(t, "a"))
		b, _ := Monochromatic(rapid.Float64Range(360, 830).Draw(t, "b"))
		f := rapid.Float64Range(0, 1).Draw(t, "f")
		if c := (XY{a.X + f*(b.X-a.X), a.Y + f*(b.Y-a.Y)}); !InsideLocus(c) {
			t.Fatalf("%v between %v and %v is outside", c, a, b)
		}
	})
}

func TestDominantIsInverseOfAtDominant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Beyond these the locus bends so little that rounding moves the wavelength.
		nm := rapid.Float64Range(440, 640).Draw(t, "nm")
		purity := rapid.Float64Range(0.05, 1).Draw(t, "purity")
		xy, ok := AtDominant(nm, purity, D65)
		if !ok {
			t.Fatal("no answer")
		}
		d, ok := Dominant(xy, D65)
		// The locus is taken as straight between whole wavelengths.
		if !ok || d.Complementary || math.Abs(d.NM-nm) > 0.05 || math.Abs(d.Purity-purity) > 5e-4 {
			t.Fatalf("%g nm, purity %g: got %+v, %v", nm, purity, d, ok)
		}
		p, ok := ExcitationPurity(xy, D65)
		if !ok || p != d.Purity {
			t.Fatalf("purity %g, %v", p, ok)
		}
	})
}

// Two documented examples of an open colour-science library against D65, which
// works at whole nanometres (616, 509 complementary) and gives the purity of the
// first as 0.62289. From memory.
func TestDominantExamples(t *testing.T) {
	d, ok := Dominant(XY{0.54369557, 0.32107944}, D65)
	if !ok || d.Complementary {
		t.Fatalf("got %+v, %v", d, ok)
	}
	near(t, "dominant wavelength", d.NM, 616, 0.5)
	near(t, "purity", d.Purity, 0.62289, 5e-5)
	d, ok = Dominant(XY{0.37605506, 0.24452225}, D65)
	if !ok || !d.Complementary {
		t.Fatalf("got %+v, %v", d, ok)
	}
	near(t, "complementary wavelength", d.NM, 509, 0.5)
}

// sRGB magenta is the complement of sRGB green in an additive mix to D65, so
// both have the same wavelength, one of them through the purple line.
func TestComplementaryWavelength(t *testing.T) {
	magentaXY, _ := RGB{1, 0, 1}.XYZ().XY()
	magenta, ok := Dominant(magentaXY, D65)
	green, okGreen := Dominant(XY{0.30, 0.60}, D65)
	if !ok || !okGreen || !magenta.Complementary || green.Complementary {
		t.Fatalf("magenta %+v, green %+v", magenta, green)
	}
	const fourDecimals = 0.1 // nm: what the four-decimal sRGB matrix allows
	near(t, "complementary wavelength", magenta.NM, green.NM, fourDecimals)
}

func TestDominantDomain(t *testing.T) {
	if d, ok := Dominant(D65, D65); ok {
		t.Errorf("white has a dominant wavelength %+v", d)
	}
	if p, ok := ExcitationPurity(D65, D65); !ok || p != 0 {
		t.Errorf("purity of white: %g, %v", p, ok)
	}
	bad := []XY{{0.05, 0.1}, {math.NaN(), 0.3}, {0.3, 0}}
	for _, c := range bad {
		if _, ok := Dominant(c, D65); ok {
			t.Errorf("Dominant(%v) accepted", c)
		}
		if _, ok := Dominant(XY{0.4, 0.4}, c); ok {
			t.Errorf("white %v accepted", c)
		}
		if _, ok := ExcitationPurity(c, D65); ok {
			t.Errorf("ExcitationPurity(%v) accepted", c)
		}
	}
	for _, purity := range []float64{-0.1, 1.1, math.NaN()} {
		if _, ok := AtDominant(500, purity, D65); ok {
			t.Errorf("purity %g accepted", purity)
		}
	}
	if _, ok := AtDominant(900, 1, D65); ok {
		t.Error("900 nm accepted")
	}
	if _, ok := AtDominant(500, 1, XY{}); ok {
		t.Error("impossible white accepted")
	}
	rapid.Check(t, func(t *rapid.T) {
		c, white := drawXY(t), drawXY(t)
		if d, ok := Dominant(c, white); ok && !(d.NM >= 360 && d.NM <= 830 && d.Purity >= 0 && d.Purity <= 1) {
			t.Fatalf("%v against %v: %+v", c, white, d)
		}
	})
}
