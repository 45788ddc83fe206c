package photometry

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// steradians is the solid angle between two angles from the axis, in degrees.
func steradians(from, to float64) float64 {
	return 2 * math.Pi * (math.Cos(from*degree) - math.Cos(to*degree))
}

// sampled lists a type C distribution of one function of both angles, at the given steps.
func sampled(mirror mirror, h []float64, stepV, lastV float64, candela func(v, h float64) float64) *Web {
	w := &Web{plane: typeC, mirror: mirror, h: h}
	for i := 0; float64(i)*stepV <= lastV; i++ {
		w.v = append(w.v, float64(i)*stepV)
	}
	for _, h := range h {
		for _, v := range w.v {
			w.cd = append(w.cd, candela(v, h))
		}
	}
	w.flux = w.total()
	return w
}

// With the same intensity everywhere the zonal sum is exact whatever the steps: 4 pi.
func TestIsotropicWebIsFourPi(t *testing.T) {
	one := func(v, h float64) float64 { return 1 }
	for name, w := range map[string]*Web{
		"one plane":        sampled(rotational, []float64{0}, 30, 180, one),
		"quadrant":         sampled(quadrant, []float64{0, 20, 90}, 45, 180, one),
		"half":             sampled(bilateral, []float64{0, 90, 135, 180}, 90, 180, one),
		"crosswise":        sampled(crosswise, []float64{90, 100, 270}, 36, 180, one),
		"full, closed":     sampled(fullCircle, []float64{0, 120, 200, 360}, 60, 180, one),
		"full, open":       sampled(fullCircle, []float64{15, 90, 300}, 60, 180, one),
		"type A, whole":    ab(typeA, 0, []float64{-180, -30, 100, 180}, []float64{-90, 10, 90}, one),
		"type B, whole":    ab(typeB, 0, []float64{-90, 10, 90}, []float64{-180, -30, 100, 180}, one),
		"type A, mirrored": ab(typeA, aboutZero, []float64{0, 30, 180}, []float64{-90, 10, 90}, one),
	} {
		near(t, name, w.Flux(), 4*math.Pi, 1e-13*4*math.Pi)
		if _, ok := w.BeamDeg(); ok && w.plane == typeC {
			t.Errorf("%s: light that is the same all round has a beam angle", name)
		}
	}
}

func ab(plane planeType, mirror mirror, h, v []float64, candela func(v, h float64) float64) *Web {
	w := &Web{plane: plane, mirror: mirror, h: h, v: v}
	for _, h := range h {
		for _, v := range v {
			w.cd = append(w.cd, candela(v, h))
		}
	}
	w.flux = w.total()
	return w
}

// The same Lambert emitter, I = 1000 cos(theta), listed in all three types: flux is 1000 pi, beam angle 120, field angle
// 2 acos(0.1), and intensities agree in every direction. Steps of 1 degree: linear interpolation and the trapezium are
// off by at most (1 degree)^2/8 of the second derivative, 4e-5 of the peak.
func TestLambertEmitterInEveryPlaneType(t *testing.T) {
	const off = 1000 * degree * degree / 8 * 1.01
	steps := func(first, last float64) (list []float64) {
		for a := first; a <= last; a++ {
			list = append(list, a)
		}
		return list
	}
	cosV := func(v, h float64) float64 { return 1000 * math.Cos(v*degree) }
	cosBoth := func(v, h float64) float64 { return 1000 * math.Cos(v*degree) * math.Cos(h*degree) }
	for name, w := range map[string]*Web{
		"C":           sampled(rotational, []float64{0}, 1, 90, cosV),
		"A":           ab(typeA, 0, steps(-90, 90), steps(-90, 90), cosBoth),
		"B":           ab(typeB, 0, steps(-90, 90), steps(-90, 90), cosBoth),
		"A, mirrored": ab(typeA, aboutZero, steps(0, 90), steps(-90, 90), cosBoth),
		"B, mirrored": ab(typeB, aboutZero, steps(0, 90), steps(-90, 90), cosBoth),
	} {
		t.Run(name, func(t *testing.T) {
			known := must(t)
			near(t, "flux", w.Flux(), 1000*math.Pi, 1e-4*1000*math.Pi)
			near(t, "beam", known(w.BeamDeg()), 120, 1e-9)
			near(t, "field", known(w.FieldDeg()), 2*math.Acos(0.1)/degree, 2e-3)
			cd, theta, _, _ := w.Peak()
			near(t, "peak", cd, 1000, 1e-9)
			near(t, "peak direction", theta, 0, 1e-9)
			rapid.Check(t, func(rt *rapid.T) {
				theta := rapid.Float64Range(0, 180).Draw(rt, "theta")
				phi := rapid.Float64Range(-720, 720).Draw(rt, "phi")
				cd, ok := w.Candela(theta, phi)
				want := 1000 * math.Max(0, math.Cos(theta*degree))
				if tolerance := 2 * off; !ok || math.Abs(cd-want) > tolerance { // 2: interpolated both ways
					rt.Fatalf("got %g, %v; want %g", cd, ok, want)
				}
			})
		})
	}
}

// Where H and V point in types A and B: positive H to the right, positive V up, and only in type A does V stay the height
// above the level plane when H turns.
func TestPlaneTypesPointTheRightWay(t *testing.T) {
	spot := func(atV, atH float64) func(v, h float64) float64 {
		return func(v, h float64) float64 {
			if v == atV && h == atH {
				return 100
			}
			return 0
		}
	}
	list := []float64{-90, -45, 0, 45, 90}
	known := must(t)
	for _, plane := range []planeType{typeA, typeB} {
		right := ab(plane, 0, list, list, spot(0, 45))
		near(t, "right", known(right.Candela(45, 0)), 100, 1e-9)
		up := ab(plane, 0, list, list, spot(45, 0))
		near(t, "up", known(up.Candela(45, 90)), 100, 1e-9)
		near(t, "not down", known(up.Candela(45, -90)), 0, 1e-9)
	}
	// Direction H 45 V 45: in A it is 45 degrees above the level, so cos(theta) = cos 45 cos 45 and the vertical part is
	// sin 45; in B it is 45 degrees off the plane of the poles, so the sideways part is sin 45.
	theta := math.Acos(0.5) / degree
	vertical := math.Asin(math.Sqrt2/2/math.Sin(theta*degree)) / degree
	near(t, "A", known(ab(typeA, 0, list, list, spot(45, 45)).Candela(theta, vertical)), 100, 1e-6)
	near(t, "B", known(ab(typeB, 0, list, list, spot(45, 45)).Candela(theta, 90-vertical)), 100, 1e-6)
	for _, plane := range []planeType{typeA, typeB} {
		w := ab(plane, 0, list, list, spot(45, 45))
		cd, th, ph, _ := w.Peak()
		near(t, "read back at the peak", known(w.Candela(th, ph)), cd, 1e-6)
	}
}

// Full grids that have a symmetry give what the folded part gives, in every direction, in flux and in width.
func TestMirroredPlanesStandForTheRest(t *testing.T) {
	all := []float64{0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 330, 360}
	cos := func(h, n float64) float64 { return math.Cos(n * h * degree) }
	for _, c := range []struct {
		name    string
		mirror  mirror
		stored  []float64
		candela func(v, h float64) float64
	}{
		{"about 0-180", bilateral, all[:7], func(v, h float64) float64 { return (200 - v) * (3 + cos(h, 1) + cos(h, 2)) }},
		{"about 90-270", crosswise, all[3:10], func(v, h float64) float64 { return (200 - v) * (3 + math.Sin(h*degree) + cos(h, 2)) }},
		{"about both", quadrant, all[:4], func(v, h float64) float64 { return (200 - v) * (3 + cos(h, 2)) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			whole := sampled(fullCircle, all, 15, 90, c.candela)
			folded := sampled(c.mirror, c.stored, 15, 90, c.candela)
			open := sampled(fullCircle, all[:12], 15, 90, c.candela)
			for name, w := range map[string]*Web{"folded": folded, "without the closing plane": open} {
				near(t, name+": flux", w.Flux(), whole.Flux(), 1e-12*whole.Flux())
				wantField, wantOK := whole.FieldDeg()
				field, ok := w.FieldDeg()
				if ok != wantOK {
					t.Errorf("%s: field angle known %v, want %v", name, ok, wantOK)
				}
				near(t, name+": field", field, wantField, 1e-9)
				rapid.Check(t, func(rt *rapid.T) {
					theta := rapid.Float64Range(0, 180).Draw(rt, "theta")
					phi := rapid.Float64Range(-1000, 1000).Draw(rt, "phi")
					got, _ := w.Candela(theta, phi)
					want, _ := whole.Candela(theta, phi)
					if math.Abs(got-want) > 1e-9 {
						rt.Fatalf("%s: got %g, want %g", name, got, want)
					}
				})
			}
		})
	}
}

// A file that could not be read has no distribution; whoever goes on with it gets no numbers, and no panic.
func TestNoWebKnowsNothing(t *testing.T) {
	for _, w := range []*Web{nil, {}} {
		unknown(t, "intensity")(w.Candela(0, 0))
		unknown(t, "beam")(w.BeamDeg())
		unknown(t, "field")(w.FieldDeg())
		unknown(t, "flux in a zone")(w.FluxBetween(0, 90))
		if _, _, _, ok := w.Peak(); ok || w.Flux() != 0 {
			t.Error("a peak or a flux")
		}
		s := source(t, Vec{}, Vec{Y: 1}, w, Cuts{})
		unknown(t, "coefficient")(s.Coefficient(Receiver{Vec{Y: 1}, Vec{Y: -1}}))
	}
}

func TestFluxBetween(t *testing.T) {
	w := sampled(rotational, []float64{0}, 5, 180, func(v, h float64) float64 { return 100 + v })
	known := must(t)
	whole := known(w.FluxBetween(0, 180))
	near(t, "whole", whole, w.Flux(), 0)
	parts := 0.0
	for _, z := range [][2]float64{{0, 90}, {90, 120}, {120, 180}} {
		parts += known(w.FluxBetween(z[0], z[1]))
	}
	near(t, "parts at listed angles", parts, whole, 1e-12*whole)
	near(t, "no zone", known(w.FluxBetween(33, 33)), 0, 0)
	even := sampled(rotational, []float64{0}, 20, 180, func(v, h float64) float64 { return 7 })
	near(t, "cut within a step", known(even.FluxBetween(13, 57)), 7*steradians(13, 57), 1e-12*whole)
	for _, z := range [][2]float64{{-1, 10}, {10, 5}, {0, 181}, {math.NaN(), 10}} {
		unknown(t, "zone")(w.FluxBetween(z[0], z[1]))
	}
}

// The planes of the full circle go round once, by their own where two stand at one azimuth.
func TestPlanesOfTheCircle(t *testing.T) {
	for _, c := range []struct {
		mirror mirror
		h      []float64
		want   []circlePlane
	}{
		{fullCircle, []float64{0, 90, 180, 270, 360}, []circlePlane{{0, 0}, {90, 1}, {180, 2}, {270, 3}}},
		{fullCircle, []float64{350, 10, 100}, []circlePlane{{10, 1}, {100, 2}, {350, 0}}},
		{bilateral, []float64{0, 90, 180}, []circlePlane{{0, 0}, {90, 1}, {180, 2}, {270, 1}}},
		{crosswise, []float64{90, 180, 270}, []circlePlane{{0, 1}, {90, 0}, {180, 1}, {270, 2}}},
		{quadrant, []float64{0, 45, 90}, []circlePlane{{0, 0}, {45, 1}, {90, 2}, {135, 1}, {180, 0}, {225, 1}, {270, 2}, {315, 1}}},
	} {
		w := &Web{mirror: c.mirror, h: c.h}
		if got := w.circle(); !slices.Equal(got, c.want) {
			t.Errorf("planes at %v, mirrored %v: %v, want %v", c.h, c.mirror, got, c.want)
		}
	}
}

// Beam and field angle by hand: linear between listed angles.
func TestWidthOfAListedBeam(t *testing.T) {
	known := must(t)
	for _, c := range []struct {
		name        string
		v           []float64
		cd          []float64
		beam, field float64
	}{
		{"on axis", []float64{0, 10, 20, 30, 90}, []float64{1000, 800, 400, 0, 0}, 35, 55},
		{"ring with a dark middle", []float64{0, 10, 20, 30, 90}, []float64{200, 1000, 400, 0, 0}, 2 * (10 + 10.0*5/6), 55},
		{"upwards", []float64{90, 150, 160, 170, 180}, []float64{0, 0, 400, 800, 1000}, 35, 55},
		{"a ring a little upwards", []float64{90, 100, 110, 180}, []float64{0, 1000, 0, 0}, 170, 178},
		{"listed only to where it is bright", []float64{0, 10, 20}, []float64{1000, 900, 800}, 40, 40},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := &Web{plane: typeC, mirror: rotational, h: []float64{0}, v: c.v, cd: c.cd}
			near(t, "beam", known(w.BeamDeg()), c.beam, 1e-12)
			near(t, "field", known(w.FieldDeg()), c.field, 1e-12)
		})
	}
	lopsided := &Web{plane: typeC, mirror: bilateral, h: []float64{0, 180}, v: []float64{0, 10, 20, 90}, cd: []float64{500, 1000, 0, 0, 500, 0, 0, 0}}
	near(t, "peak off the axis", known(lopsided.BeamDeg()), 15, 1e-12)         // from 15 on its side to 0 on the axis
	near(t, "peak off the axis, field", known(lopsided.FieldDeg()), 27, 1e-12) // from 19 to 8 on the other side
	dark := &Web{plane: typeC, mirror: rotational, h: []float64{0}, v: []float64{0, 90}, cd: []float64{0, 0}}
	unknown(t, "dark")(dark.BeamDeg())
}
