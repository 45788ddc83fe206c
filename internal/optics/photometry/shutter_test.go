package photometry

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// cutBeam is a beam from the house, 5 m up, straight upstage, with a field of 90 degrees: at 10 m the edge of the field is
// 10 m from the axis, so percent of depth read as decimetres.
func cutBeam(t *testing.T, cuts Cuts) Source {
	t.Helper()
	frame, err := AimAt(Vec{Z: 5}, Vec{Y: 10, Z: 5}, 0)
	if err != nil {
		t.Fatal(err)
	}
	beam, err := NewBeamFromPeak(60, 90, 1000)
	if err != nil {
		t.Fatal(err)
	}
	cuts.FieldDeg = 90
	s, err := NewSource(frame, beam, cuts)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestBladesCutWhereTheyStand(t *testing.T) {
	at := func(x, z float64) Vec { return Vec{X: x, Y: 10, Z: 5 + z} }
	for _, c := range []struct {
		name     string
		cuts     Cuts
		lit, cut []Vec
	}{
		{"all out", Cuts{}, []Vec{at(0, 0), at(0, 9.9), at(0, 30), at(-30, 0)}, nil},
		{"top by 40 percent", Cuts{Top: Blade{40, 0}}, []Vec{at(0, 5.9), at(9, 5.9), at(0, -20)}, []Vec{at(0, 6.1), at(-9, 6.1), at(0, 30)}},
		{"bottom to the axis", Cuts{Bottom: Blade{100, 0}}, []Vec{at(0, 0.1)}, []Vec{at(0, -0.1), at(5, -8)}},
		{"left past the axis", Cuts{Left: Blade{150, 0}}, []Vec{at(5.1, 0)}, []Vec{at(4.9, 0), at(-5, 3)}},
		{"right", Cuts{Right: Blade{30, 0}}, []Vec{at(6.9, 0)}, []Vec{at(7.1, 0)}},
		{"two blades", Cuts{Top: Blade{40, 0}, Left: Blade{40, 0}}, []Vec{at(-5.9, 5.9)}, []Vec{at(-6.1, 0), at(0, 6.1)}},
		{"right into the field all over", Cuts{Top: Blade{200, 0}}, []Vec{at(0, -10.1)}, []Vec{at(0, 0), at(9, 0), at(0, -9.9)}},
		// Turned counter-clockwise by 45 degrees, the top blade's outward normal points up and to the left.
		{"turned", Cuts{Top: Blade{100, 45}}, []Vec{at(0.1, 0), at(5, 4.9), at(-5, -5.1)}, []Vec{at(-0.1, 0), at(5, 5.1), at(-5, -4.9)}},
		{"turned, just in: the field is whole", Cuts{Top: Blade{0.001, 30}}, []Vec{at(0, 9.99), at(-9.99, 0), at(9.99, 0)}, nil},
		{"behind", Cuts{Top: Blade{1, 0}}, nil, []Vec{{Z: 8}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, open := cutBeam(t, c.cuts), cutBeam(t, Cuts{})
			for _, p := range c.lit {
				near(t, "lit", must(t)(s.CandelaTowards(p)), must(t)(open.CandelaTowards(p)), 0)
			}
			for _, p := range c.cut {
				near(t, "cut", must(t)(s.CandelaTowards(p)), 0, 0)
			}
		})
	}
}

// A light that shines all round still has no picture behind it: with a blade in, nothing goes there; with none, all of it.
func TestNothingPassesBehindABlade(t *testing.T) {
	lamp := sampled(rotational, []float64{0}, 30, 180, func(v, h float64) float64 { return 50 })
	behind := Vec{X: 1, Y: -5, Z: 4}
	for depth, want := range map[float64]float64{0: 50, 1: 0} {
		s := source(t, Vec{Z: 5}, Vec{Y: 10, Z: 5}, lamp, Cuts{FieldDeg: 90, Bottom: Blade{DepthPercent: depth}})
		near(t, "behind", must(t)(s.CandelaTowards(behind)), want, 1e-12)
	}
}

func TestCutsKnowTheirDomain(t *testing.T) {
	frame, _ := AimAlong(Vec{}, Vec{Y: 1}, 0)
	beam, err := NewBeamFromPeak(60, 90, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]Cuts{
		"negative depth":    {FieldDeg: 30, Top: Blade{-1, 0}},
		"too deep":          {FieldDeg: 30, Left: Blade{201, 0}},
		"NaN depth":         {FieldDeg: 30, Left: Blade{math.NaN(), 0}},
		"on its side":       {FieldDeg: 30, Right: Blade{10, 90}},
		"NaN angle":         {FieldDeg: 30, Right: Blade{0, math.NaN()}},
		"no field":          {Top: Blade{10, 0}},
		"field half a turn": {FieldDeg: 180, Top: Blade{10, 0}},
		"NaN field":         {FieldDeg: math.NaN(), Top: Blade{10, 0}},
	} {
		if _, err := NewSource(frame, beam, c); err == nil {
			t.Errorf("%s: no complaint", name)
		}
	}
	if _, err := NewSource(frame, nil, Cuts{}); err == nil {
		t.Error("a fixture without light")
	}
	if _, err := NewSource(Frame{}, beam, Cuts{}); err == nil || !strings.Contains(err.Error(), "aimed") {
		t.Error("a fixture without aim")
	}
	for _, field := range []float64{0, -1, 180, math.NaN()} {
		if _, ok := frame.Image(field, nil); ok {
			t.Errorf("picture for a field of %g", field)
		}
	}
	if _, ok := frame.Image(30, []Vec{{}}); ok {
		t.Error("picture of the fixture itself")
	}
}

// The smallest cut as a person would set it: a fixture from the house that lights faces below a screen.
func TestSmallestCutTakesTheLightOffTheScreen(t *testing.T) {
	frame, err := AimAt(Vec{Y: -8, Z: 5}, Vec{Y: 2, Z: 1.6}, 0)
	if err != nil {
		t.Fatal(err)
	}
	screen := Rect{Centre: Vec{Y: 5, Z: 4}, Width: 4, Height: 2.25}
	cells, err := screen.Grid(8, 6)
	if err != nil {
		t.Fatal(err)
	}
	var clear []Vec
	for _, c := range cells {
		clear = append(clear, c.Point)
	}
	faces := []Vec{{X: -1, Y: 2, Z: 1.6}, {X: 1, Y: 2, Z: 1.7}}
	pClear, ok1 := frame.Image(40, clear)
	pKeep, ok2 := frame.Image(40, faces)
	if !ok1 || !ok2 {
		t.Fatal("no picture")
	}
	side, depth, ok := SmallestCut(pClear, pKeep)
	if !ok || side != Top {
		t.Fatalf("%s, %g, %v", side, depth, ok)
	}
	light := func(depth float64) (screenLit, facesLit int) {
		beam, err := NewBeamFromPeak(26, 40, 20000)
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewSource(frame, beam, Cuts{FieldDeg: 40, Top: Blade{DepthPercent: depth}})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cells {
			if lux, _ := s.Coefficient(c); lux > 0 {
				screenLit++
			}
		}
		for _, p := range faces {
			if cd, _ := s.CandelaTowards(p); cd > 0 {
				facesLit++
			}
		}
		return screenLit, facesLit
	}
	if screenLit, facesLit := light(depth); screenLit != 0 || facesLit != 2 {
		t.Errorf("at %g %%: %d samples of the screen lit, %d faces lit", depth, screenLit, facesLit)
	}
	if screenLit, _ := light(depth - 1e-6); screenLit == 0 {
		t.Errorf("less than %g %% is enough too", depth)
	}
}

func TestSmallestCutSaysWhenItCannot(t *testing.T) {
	p := func(x, y float64) ImagePoint { return ImagePoint{x, y, true} }
	for _, c := range []struct {
		name        string
		clear, keep []ImagePoint
		side        Side
		depth       float64
		ok          bool
	}{
		{"nothing to clear", nil, []ImagePoint{p(0, 0)}, "", 0, false},
		{"nothing to keep", []ImagePoint{p(0.7, 0.1)}, nil, Right, 30, true},
		{"in between", []ImagePoint{p(0, 0)}, []ImagePoint{p(0.5, 0.5), p(-0.5, -0.5)}, "", 0, false},
		{"the nearer blade would cut a face", []ImagePoint{p(0.7, 0.1)}, []ImagePoint{p(0.9, -0.5)}, Top, 90, true},
		{"the same direction", []ImagePoint{p(0.5, 0)}, []ImagePoint{p(0.5, 0)}, "", 0, false},
		{"beyond the field", []ImagePoint{p(0, 1.5)}, []ImagePoint{p(0, 0)}, Top, leastDepth, true},
		{"equal depths", []ImagePoint{p(0, 0)}, nil, Top, 100, true},
		{"behind the fixture", []ImagePoint{{}}, []ImagePoint{p(0, 0)}, Top, leastDepth, true},
		{"a face behind the fixture", []ImagePoint{p(0, 0.5)}, []ImagePoint{{}}, "", 0, false},
		{"NaN", []ImagePoint{p(math.NaN(), 0)}, nil, "", 0, false},
		{"NaN to keep", []ImagePoint{p(0.5, 0)}, []ImagePoint{p(0, math.NaN())}, "", 0, false},
		{"from rim to rim", []ImagePoint{p(0, 2), p(0, -2), p(2, 0), p(-2, 0)}, nil, "", 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			side, depth, ok := SmallestCut(c.clear, c.keep)
			if ok != c.ok || side != c.side || math.Abs(depth-c.depth) > 1e-9 {
				t.Errorf("got %q, %g, %v; want %q, %g, %v", side, depth, ok, c.side, c.depth, c.ok)
			}
		})
	}
}

// Whatever is asked: an answer clears everything and keeps everything; and any whole percent below it does not clear.
func TestSmallestCutIsEnoughAndLeast(t *testing.T) {
	points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) ImagePoint {
		return ImagePoint{rapid.Float64Range(-1.2, 1.2).Draw(t, "x"), rapid.Float64Range(-1.2, 1.2).Draw(t, "y"), true}
	}), 1, 4)
	rapid.Check(t, func(rt *rapid.T) {
		clear, keep := points.Draw(rt, "clear"), points.Draw(rt, "keep")
		side, depth, ok := SmallestCut(clear, keep)
		if !ok {
			return
		}
		cuts := func(depth float64) []edge {
			c := Cuts{FieldDeg: 40}
			*map[Side]*Blade{Top: &c.Top, Bottom: &c.Bottom, Left: &c.Left, Right: &c.Right}[side] = Blade{DepthPercent: depth}
			edges, err := c.edges()
			if err != nil {
				rt.Fatal(err)
			}
			return edges
		}
		if anyLit(cuts(depth), clear) || anyBlocked(cuts(depth), keep) {
			rt.Fatalf("%s by %g %% does not do it", side, depth)
		}
		if depth > leastDepth && !anyLit(cuts(depth*(1-1e-9)), clear) {
			rt.Fatalf("%s by less than %g %% would do", side, depth)
		}
	})
}

// What shutters let out, where it is known without adding up: all, half by symmetry, nothing where they cover the field
// from both sides, and nothing behind one that is all the way in.
func TestPasses(t *testing.T) {
	for _, beam := range []float64{5, 12, 30, 60} {
		light, err := NewBeamFromFlux(beam, 1.4*beam, 1000)
		if err != nil {
			t.Fatal(err)
		}
		in := func(depth float64) Blade { return Blade{DepthPercent: depth} }
		for _, c := range []struct {
			cuts Cuts
			want float64
			off  float64 // rays are dealt out evenly, not to both sides of a blade alike
		}{
			{Cuts{}, 1, 0}, {Cuts{Top: in(100)}, 0.5, 0.005}, {Cuts{Left: in(100)}, 0.5, 0.005},
			{Cuts{Left: Blade{DepthPercent: 100, AngleDeg: 30}}, 0.5, 0.005},
			{Cuts{Top: in(100), Left: in(100)}, 0.25, 0.005},
			{Cuts{Top: in(100), Bottom: in(100)}, 0, 0}, {Cuts{Left: in(120), Right: in(90)}, 0, 0},
			{Cuts{Top: in(200)}, 0, 0.006}, // what is beyond the field on the far side
		} {
			c.cuts.FieldDeg = 1.4 * beam
			if part, ok := c.cuts.Passes(light); !ok || math.Abs(part-c.want) > c.off {
				t.Errorf("%v degrees, %+v: %v passes, want %v", beam, c.cuts, part, c.want)
			}
		}
	}
	if _, ok := (Cuts{Top: Blade{DepthPercent: 300}, FieldDeg: 20}).Passes(Beam{}); ok {
		t.Error("a blade beyond the field has let something out")
	}
	if _, ok := (Cuts{Top: Blade{DepthPercent: 50}, FieldDeg: 20}).Passes(Beam{}); ok {
		t.Error("a beam that was never made has let something out")
	}
}

// What passes the shutters is what lands on a wall before them, on a grid that has nothing to do with the rays.
func TestPassesIsWhatLands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		beam := rapid.Float64Range(5, 60).Draw(t, "beam")
		light, err := NewBeamFromFlux(beam, beam*rapid.Float64Range(1.1, 1.9).Draw(t, "field of beam"), 1000)
		if err != nil {
			t.Fatal(err)
		}
		blade := func(name string) Blade {
			return Blade{DepthPercent: rapid.Float64Range(0, 150).Draw(t, name), AngleDeg: rapid.Float64Range(-40, 40).Draw(t, name+" angle")}
		}
		cuts := Cuts{FieldDeg: light.fieldDeg, Top: blade("top"), Right: blade("right")}
		frame, _ := AimAt(Vec{Y: -1}, Vec{}, 0)
		open, err1 := NewSource(frame, light, Cuts{})
		cut, err2 := NewSource(frame, light, cuts)
		part, ok := cuts.Passes(light)
		if err1 != nil || err2 != nil || !ok {
			t.Fatal(err1, err2, ok)
		}
		side := 4 * math.Tan(light.fieldDeg/2*degree) // a wall as wide as two fields catches nearly all
		wall := Rect{Width: side, Height: side}
		const cells = 180 // the edge of a blade lies up to half a cell beside the grid
		want := onFineGrid(cut, wall, cells, 90).Lumens / onFineGrid(open, wall, cells, 90).Lumens
		if math.Abs(part-want) > 0.02 {
			t.Fatalf("%v passes, and %v lands", part, want)
		}
	})
}

// Off the axis by t is 1 - cos t, of light that is alike all round; with a shutter in it nobody can tell.
func TestHowFarOffTheAxis(t *testing.T) {
	s := cutBeam(t, Cuts{})
	for at, want := range map[Vec]float64{{Y: 10, Z: 5}: 0, {X: 10, Y: 10, Z: 5}: 1 - math.Sqrt2/2, {X: 10, Z: 5}: math.Inf(1), {Y: -10, Z: 5}: math.Inf(1)} {
		if u, ok := s.OffAxis(at); !ok || !(math.Abs(u-want) < 1e-12 || u == want) {
			t.Errorf("%v is %g off (%t), not %g", at, u, ok, want)
		}
	}
	if _, ok := cutBeam(t, Cuts{Top: Blade{DepthPercent: 30}}).OffAxis(Vec{Y: 10, Z: 5}); ok {
		t.Error("with a shutter how far off the axis is says what light there is")
	}
}
