package photometry

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// integrate is the flux of a round distribution: 2 pi times the integral of I sin t, cut at the given angles so that no
// Gauss-Legendre piece has to follow an edge.
func integrate(d Distribution, cuts ...float64) float64 {
	sum := 0.0
	for i := 0; i+1 < len(cuts); i++ {
		sum += quad.Fixed(func(t float64) float64 {
			cd, _ := d.Candela(t/degree, 0)
			return 2 * math.Pi * cd * math.Sin(t)
		}, cuts[i]*degree, cuts[i+1]*degree, 200, quad.Legendre{}, 0)
	}
	return sum
}

// pieces cuts 0..90 degrees finely around the beam and field edge and down towards the axis, where a wide ratio has its kink.
func pieces(beam, field float64) []float64 {
	cuts := []float64{0}
	for _, f := range []float64{1e-12, 1e-9, 1e-7, 1e-5, 1e-4, 1e-3, 1e-2, 0.1, 0.5, 0.9, 0.97, 0.99} {
		cuts = append(cuts, f*beam/2)
	}
	for i := 0; i <= 16; i++ {
		cuts = append(cuts, (beam+(field-beam)*float64(i)/16)/2)
	}
	for _, f := range []float64{1.01, 1.03, 1.1, 1.3, 2, 4, 8, 16, 64, 256, 1024, 4096} {
		if f*field/2 < 90 {
			cuts = append(cuts, f*field/2)
		}
	}
	if cuts[len(cuts)-1] < 90 {
		cuts = append(cuts, 90)
	}
	return cuts
}

// The two points that define the beam hold to rounding, and the flux to the 1e-8 that the quadrature itself allows.
func TestBeamMeetsBothAnglesAndItsFlux(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		beam := rapid.Float64Range(0.5, 170).Draw(rt, "beam")
		field := rapid.Float64Range(math.Min(180, beam*minFieldOverBeam*1.0001), math.Min(180, 12*beam)).Draw(rt, "field")
		lumens := rapid.Float64Range(1, 1e6).Draw(rt, "lumens")
		b, err := NewBeamFromFlux(beam, field, lumens)
		if err != nil {
			rt.Fatal(err)
		}
		check := func(what string, got, want, tolerance float64) {
			if !(math.Abs(got-want) <= tolerance*want) {
				rt.Fatalf("%s: got %.15g, want %.15g", what, got, want)
			}
		}
		at := func(theta float64) float64 {
			cd, ok := b.Candela(theta, 0)
			if !ok {
				rt.Fatalf("unknown at %g", theta)
			}
			return cd
		}
		check("axis", at(0), b.Peak(), exact)
		check("half beam angle", at(beam/2), b.Peak()/2, exact)
		check("half field angle", at(field/2), b.Peak()/10, 1e-12) // q up to some 670 times rounding of the ratio
		check("flux stated", b.Flux(), lumens, 0)
		check("flux integrated", integrate(b, pieces(beam, field)...), lumens, 1e-8)

		again, err := NewBeamFromPeak(beam, field, b.Peak())
		if err != nil {
			rt.Fatal(err)
		}
		check("flux from peak", again.Flux(), lumens, exact)
		last := math.Inf(1)
		for theta := 0.0; theta <= 180; theta += 2.5 {
			cd := at(theta)
			if !(cd >= 0 && cd <= last) {
				rt.Fatalf("intensity %g after %g at %g degrees", cd, last, theta)
			}
			last = cd
		}
	})
}

// A field of sqrt(ln 10/ln 2) = 1.823 times a narrow beam is a Gaussian, whose flux is pi I0 tb^2/ln 2 for small angles.
// 1 degree: next terms are of the order t^2 = 1e-4.
func TestBeamIsGaussianAtThatRatio(t *testing.T) {
	ratio := math.Sqrt(math.Ln10 / math.Ln2)
	b, err := NewBeamFromPeak(1, ratio, 1000)
	if err != nil {
		t.Fatal(err)
	}
	tb := 0.5 * degree
	near(t, "flux", b.Flux(), math.Pi*1000*tb*tb/math.Ln2, 1e-4*b.Flux())
	cd, _ := b.Candela(0.3, 0)
	near(t, "intensity", cd, 1000*math.Exp(-math.Ln2*0.36), 0.1)
}

// As the field comes down to the beam angle the beam becomes a disc: flux = I0 times the solid angle of the beam.
// 0.2 % apart leaves about that much of the edge: within 1 %.
func TestBeamWithSharpEdgeIsADisc(t *testing.T) {
	b, err := NewBeamFromPeak(26, 26.05, 10000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flux", b.Flux(), 10000*steradians(0, 13), 0.01*b.Flux())
}

func TestBeamsRefuseWhatTheyCannotMeet(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct{ beam, field, lumens float64 }{
		{0, 20, 1000}, {-5, 20, 1000}, {20, 0, 1000}, {20, -1, 1000}, {30, 20, 1000}, {20, 20, 1000}, {20, 20.001, 1000}, {20, 181, 1000},
		{180, 180, 1000}, {nan, 20, 1000}, {10, nan, 1000}, {10, inf, 1000}, {10, 20, 0}, {10, 20, -1}, {10, 20, nan}, {10, 20, inf},
		{1e-200, 20, 1000}, {5e-324, 1e-323, 1000}, {0.001, 0.002, 1e308},
	} {
		if b, err := NewBeamFromFlux(c.beam, c.field, c.lumens); err == nil {
			t.Errorf("beam %g, field %g, %g lm: made %+v", c.beam, c.field, c.lumens, b)
		}
		if c.lumens == 1e308 {
			continue // as a peak it is all right
		}
		if b, err := NewBeamFromPeak(c.beam, c.field, c.lumens); err == nil {
			t.Errorf("beam %g, field %g, %g cd: made %+v", c.beam, c.field, c.lumens, b)
		}
	}
	for _, c := range []struct{ beam, lumens float64 }{{0, 1}, {-1, 1}, {180, 1}, {nan, 1}, {1e-200, 1}, {20, 0}, {20, -3}, {20, nan}, {20, inf}, {1e-3, 1e308}} {
		if b, err := NewCosinePowerFromFlux(c.beam, c.lumens); err == nil {
			t.Errorf("cosine power %g, %g lm: made %+v", c.beam, c.lumens, b)
		}
	}
	for _, d := range []Distribution{Beam{}, CosinePower{}} {
		if _, ok := d.Candela(0, 0); ok {
			t.Errorf("%T that was never made gives an intensity", d)
		}
	}
	b, err := NewBeamFromPeak(20, 30, 100)
	if err != nil {
		t.Fatal(err)
	}
	c, err := NewCosinePowerFromPeak(20, 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []Distribution{b, c} {
		for _, angle := range [][2]float64{{-1, 0}, {181, 0}, {nan, 0}, {0, nan}, {0, inf}} {
			unknown(t, "direction")(d.Candela(angle[0], angle[1]))
		}
		near(t, "behind", must(t)(d.Candela(91, 0)), 0, 0)
	}
}

func TestCosinePower(t *testing.T) {
	lambert, err := NewCosinePowerFromPeak(120, 100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Lambert emitter, flux = pi I0", lambert.Flux(), 100*math.Pi, 1e-12*100*math.Pi)
	cd, _ := lambert.Candela(60, 123)
	near(t, "Lambert emitter at 60 degrees", cd, 50, 1e-12)
	rapid.Check(t, func(rt *rapid.T) {
		beam := rapid.Float64Range(0.1, 175).Draw(rt, "beam")
		c, err := NewCosinePowerFromFlux(beam, 5000)
		if err != nil {
			rt.Fatal(err)
		}
		field, ok := c.FieldDeg()
		if back, _ := c.BeamDeg(); !ok || math.Abs(back-beam) > 1e-12*beam {
			rt.Fatalf("beam angle %.17g came back as %.17g", beam, back)
		}
		half, _ := c.Candela(beam/2, 0)
		tenth, _ := c.Candela(field/2, 0)
		if math.Abs(half/c.Peak()-0.5) > 1e-12 || math.Abs(tenth/c.Peak()-0.1) > 1e-12 {
			rt.Fatalf("at half the angles: %g and %g of the peak", half/c.Peak(), tenth/c.Peak())
		}
		if flux := integrate(c, pieces(beam, field)...); math.Abs(flux-5000) > 5000*1e-8 {
			rt.Fatalf("flux integrated: %.12g", flux)
		}
	})
}

func ptr(v float64) *float64 { return &v }

func TestSpecSaysWhatItAssumed(t *testing.T) {
	for _, c := range []struct {
		name          string
		spec          Spec
		beam, field   float64 // wanted; 0 is whatever comes
		peak, flux    float64
		assumed, fail string
	}{
		{name: "both angles and flux", spec: Spec{ptr(20), ptr(36), ptr(5000), nil}, beam: 20, field: 36, flux: 5000},
		{name: "both angles and peak", spec: Spec{ptr(20), ptr(36), nil, ptr(80000)}, beam: 20, field: 36, peak: 80000},
		{name: "beam angle alone", spec: Spec{ptr(20), nil, ptr(5000), nil}, beam: 20, flux: 5000, assumed: "field angle not given"},
		{name: "field angle alone", spec: Spec{nil, ptr(36), nil, ptr(80000)}, field: 36, peak: 80000, assumed: "beam angle not given"},
		{name: "flux and peak at odds", spec: Spec{ptr(20), ptr(36), ptr(5000), ptr(1000)}, peak: 1000, assumed: "peak intensity counts"},
		{name: "no angle", spec: Spec{nil, nil, ptr(5000), nil}, fail: "neither beam nor field"},
		{name: "no amount", spec: Spec{ptr(20), ptr(36), nil, nil}, fail: "neither flux nor peak"},
		{name: "swapped", spec: Spec{ptr(36), ptr(20), ptr(5000), nil}, fail: "swapped"},
		{name: "zero beam angle is not an absent one", spec: Spec{ptr(0), ptr(20), ptr(5000), nil}, fail: "beam angle 0"},
		{name: "negative flux beside a peak", spec: Spec{ptr(20), ptr(36), ptr(-5), ptr(1000)}, fail: "flux -5"},
		{name: "field of half a turn alone", spec: Spec{nil, ptr(180), ptr(5), nil}, fail: "field angle 180"},
	} {
		t.Run(c.name, func(t *testing.T) {
			light, assumed, err := c.spec.Light()
			if c.fail != "" {
				if err == nil || !strings.Contains(err.Error(), c.fail) || light != nil {
					t.Fatalf("got %v, %v; want an error about %q", light, err, c.fail)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if (c.assumed == "") != (assumed == "") || !strings.Contains(assumed, c.assumed) {
				t.Errorf("assumed %q, want %q", assumed, c.assumed)
			}
			spread := light.(Spread)
			if c.beam != 0 {
				near(t, "beam", must(t)(spread.BeamDeg()), c.beam, 1e-11)
			}
			if c.field != 0 {
				near(t, "field", must(t)(spread.FieldDeg()), c.field, 1e-11)
			}
			if c.flux != 0 {
				near(t, "flux", light.Flux(), c.flux, exact*c.flux)
			}
			if c.peak != 0 {
				near(t, "peak", must(t)(light.Candela(0, 0)), c.peak, exact*c.peak)
			}
		})
	}
}

func TestZoom(t *testing.T) {
	ends := Zoom{Narrow: Spec{ptr(6), ptr(10), ptr(8000), nil}, Wide: Spec{ptr(46), ptr(60), ptr(10000), nil}}
	for _, c := range []struct{ fraction, beam, field, flux float64 }{{0, 6, 10, 8000}, {0.25, 16, 22.5, 8500}, {1, 46, 60, 10000}} {
		light, assumed, err := ends.At(c.fraction)
		if err != nil || assumed != "" {
			t.Fatal(err, assumed)
		}
		near(t, "beam", must(t)(light.(Spread).BeamDeg()), c.beam, exact*c.beam)
		near(t, "field", must(t)(light.(Spread).FieldDeg()), c.field, exact*c.field)
		near(t, "flux", light.Flux(), c.flux, exact*c.flux)
	}

	peaks := Zoom{Narrow: Spec{ptr(6), ptr(10), nil, ptr(500000)}, Wide: Spec{ptr(46), ptr(60), nil, ptr(9000)}}
	for fraction, peak := range map[float64]float64{0: 500000, 1: 9000} {
		light, _, err := peaks.At(fraction)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "peak at the end", must(t)(light.Candela(0, 0)), peak, 1e-12*peak)
	}

	constant := Zoom{Narrow: Spec{ptr(6), nil, ptr(8000), nil}, Wide: Spec{ptr(46), ptr(60), nil, nil}}
	light, assumed, err := constant.At(0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "constant flux", light.Flux(), 8000, 1e-9)
	near(t, "beam alone", must(t)(light.(Spread).BeamDeg()), 26, 1e-11)
	if !strings.Contains(assumed, "field angle not given") {
		t.Errorf("assumed %q", assumed)
	}

	// What is supposed at an end is said too, and once.
	const soft, off = "field angle not given: a soft cosine-power beam is assumed", "peak intensity counts: with these angles it means %s %% of the given flux"
	sheet := func(beam float64, field *float64, over float64) Spec { // of 1000 lm, and a peak that means so many times as much
		light, _, err := Spec{BeamDeg: &beam, FieldDeg: field, Lumens: ptr(1000 * over)}.Light()
		if err != nil {
			t.Fatal(err)
		}
		return Spec{&beam, field, ptr(1000), ptr(must(t)(light.Candela(0, 0)))}
	}
	for _, c := range []struct {
		narrow, wide Spec
		want         []string
	}{
		{sheet(6, ptr(10), 1), sheet(46, ptr(60), 1), nil},
		{sheet(6, ptr(10), 2), sheet(46, ptr(60), 1), []string{fmt.Sprintf(off, "200")}},
		{sheet(6, ptr(10), 1), sheet(46, ptr(60), 2), []string{fmt.Sprintf(off, "200")}},
		{sheet(6, ptr(10), 2), sheet(46, ptr(60), 2), []string{fmt.Sprintf(off, "200")}},
		{sheet(6, ptr(10), 2), sheet(46, ptr(60), 0.5), []string{fmt.Sprintf(off, "200"), fmt.Sprintf(off, "50")}},
		{sheet(6, nil, 1), sheet(46, nil, 1), []string{soft}},
		{sheet(6, nil, 2), sheet(46, nil, 0.5), []string{soft, fmt.Sprintf(off, "200"), fmt.Sprintf(off, "50")}},
	} {
		if _, assumed, err := (Zoom{Narrow: c.narrow, Wide: c.wide}).At(0.5); err != nil || assumed != strings.Join(c.want, "; ") {
			t.Errorf("assumed is %q (%v), want %q", assumed, err, c.want)
		}
	}

	if _, _, err := (Zoom{Narrow: ends.Wide, Wide: ends.Narrow}).At(0.5); err == nil || err.Error() != "zoom: narrow end 46 degrees is wider than wide end 6 degrees" {
		t.Errorf("ends that are swapped: %v", err)
	}
	for name, z := range map[string]Zoom{
		"swapped ends":  {Narrow: ends.Wide, Wide: ends.Narrow},
		"no flux":       {Narrow: Spec{ptr(6), ptr(10), nil, nil}, Wide: Spec{ptr(46), ptr(60), nil, nil}},
		"no angle":      {Narrow: Spec{nil, nil, ptr(1), nil}, Wide: ends.Wide},
		"NaN beam":      {Narrow: Spec{ptr(math.NaN()), nil, ptr(1), nil}, Wide: ends.Wide},
		"negative flux": {Narrow: ends.Narrow, Wide: Spec{ptr(46), ptr(60), ptr(-1), nil}},
	} {
		if light, _, err := z.At(0.5); err == nil {
			t.Errorf("%s: made %v", name, light)
		}
	}
	for _, fraction := range []float64{-0.1, 1.1, math.NaN()} {
		if _, _, err := ends.At(fraction); err == nil {
			t.Errorf("zoom at %g", fraction)
		}
	}
}

// A round beam gives just that part of its peak where it says that it falls under it.
func TestDarkness(t *testing.T) {
	known := must(t)
	power, err := NewCosinePowerFromPeak(40, 1000)
	if err != nil {
		t.Fatal(err)
	}
	beam, err := NewBeamFromPeak(20, 35, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, light := range []round{power, beam} {
		for _, part := range []float64{0.5, 0.1, 0.001} {
			theta := math.Acos(1-light.darkness(part)) / degree
			near(t, fmt.Sprintf("%T at its %g", light, part), known(light.Candela(theta, 0)), 1000*part, 1e-6)
		}
	}
}
