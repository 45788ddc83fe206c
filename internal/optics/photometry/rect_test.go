package photometry

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func nearVec(t *testing.T, what string, got, want Vec, tolerance float64) {
	t.Helper()
	if !(r3.Norm(r3.Sub(got, want)) <= tolerance) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func TestRectFacesWhereItSays(t *testing.T) {
	for _, c := range []struct {
		facing, tilt float64
		normal       Vec
	}{
		{0, 0, Vec{Y: -1}}, {90, 0, Vec{X: 1}}, {-90, 0, Vec{X: -1}}, {180, 0, Vec{Y: 1}}, {0, 90, Vec{Z: 1}}, {0, -90, Vec{Z: -1}},
		{0, 45, Vec{Y: -math.Sqrt2 / 2, Z: math.Sqrt2 / 2}},
	} {
		nearVec(t, "normal", Rect{Width: 1, Height: 1, FacingDeg: c.facing, TiltDeg: c.tilt}.Normal(), c.normal, 1e-15)
	}
}

func TestGridRunsFromTopLeft(t *testing.T) {
	screen := Rect{Centre: Vec{Y: 6, Z: 3}, Width: 4, Height: 2}
	cells, err := screen.Grid(2, 2)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []Vec{{X: -1, Y: 6, Z: 3.5}, {X: 1, Y: 6, Z: 3.5}, {X: -1, Y: 6, Z: 2.5}, {X: 1, Y: 6, Z: 2.5}} {
		nearVec(t, "cell", cells[i].Point, want, 1e-14)
		nearVec(t, "normal", cells[i].Normal, Vec{Y: -1}, 1e-14)
	}
}

func TestRectKnowsItsDomain(t *testing.T) {
	good := Rect{Width: 2, Height: 1}
	for name, r := range map[string]Rect{
		"no width":       {Height: 1},
		"negative":       {Width: -1, Height: 1},
		"NaN height":     {Width: 1, Height: math.NaN()},
		"endless":        {Width: math.Inf(1), Height: 1},
		"NaN centre":     {Centre: Vec{X: math.NaN()}, Width: 1, Height: 1},
		"NaN facing":     {Width: 1, Height: 1, FacingDeg: math.NaN()},
		"tilted too far": {Width: 1, Height: 1, TiltDeg: 91},
	} {
		if r.Check() == nil {
			t.Errorf("%s: no complaint", name)
		}
		if _, err := r.Grid(1, 1); err == nil {
			t.Errorf("%s: has a grid", name)
		}
		if _, _, _, ok := r.Hit(Vec{Y: -5}, Vec{Y: 1}); ok {
			t.Errorf("%s: is hit", name)
		}
	}
	for _, n := range [][2]int{{0, 1}, {1, 0}, {-1, 1}, {1001, 1000}, {math.MaxInt, math.MaxInt}} {
		if _, err := good.Grid(n[0], n[1]); err == nil {
			t.Errorf("grid of %v", n)
		}
	}
	for name, ray := range map[string][2]Vec{
		"past the edge":     {{X: 1.001, Y: -5}, {Y: 1}},
		"over the top":      {{Z: 0.501, Y: -5}, {Y: 1}},
		"away":              {{Y: -5}, {Y: -1}},
		"along":             {{Y: -5}, {X: 1}},
		"in the plane":      {{X: -3}, {X: 1}},
		"from the surface":  {{}, {Y: 1}},
		"no direction":      {{Y: -5}, {}},
		"NaN direction":     {{Y: -5}, {X: math.NaN()}},
		"NaN start":         {{Y: math.NaN()}, {Y: 1}},
		"infinite distance": {{Y: -1e308}, {Y: 1e-320, X: 1}},
	} {
		if at, d, _, ok := good.Hit(ray[0], ray[1]); ok {
			t.Errorf("%s: hit at %v, %g m", name, at, d)
		}
	}
}

// A ray aimed at any point of any rectangle arrives there, on the side it came from.
func TestHitArrivesWhereItIsAimed(t *testing.T) {
	coordinate := rapid.Float64Range(-30, 30)
	vec := rapid.Custom(func(t *rapid.T) Vec {
		return Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")}
	})
	rapid.Check(t, func(rt *rapid.T) {
		r := Rect{Centre: vec.Draw(rt, "centre"), Width: rapid.Float64Range(0.1, 20).Draw(rt, "width"), Height: rapid.Float64Range(0.1, 20).Draw(rt, "height"),
			FacingDeg: rapid.Float64Range(-360, 360).Draw(rt, "facing"), TiltDeg: rapid.Float64Range(-90, 90).Draw(rt, "tilt")}
		cells, err := r.Grid(3, 4)
		if err != nil {
			rt.Fatal(err)
		}
		target := cells[rapid.IntRange(0, 11).Draw(rt, "cell")].Point
		from := vec.Draw(rt, "from")
		side := r3.Dot(r3.Sub(from, target), r.Normal())
		if math.Abs(side) < 1e-3 {
			rt.Skip("along the surface")
		}
		at, distance, front, ok := r.Hit(from, r3.Sub(target, from))
		want := r3.Norm(r3.Sub(target, from))
		// Grazing rays blow rounding up by distance over height above the surface.
		tolerance := 1e-12 * want * math.Max(1, want/math.Abs(side))
		if !ok || front != (side > 0) || math.Abs(distance-want) > tolerance || r3.Norm(r3.Sub(at, target)) > tolerance {
			rt.Fatalf("hit %v at %g m, front %v, ok %v; want %v at %g m", at, distance, front, ok, target, want)
		}
		if near, side, ok := r.Near(from, r3.Sub(target, from)); !ok || near != at || side != front {
			rt.Fatalf("near %v, front %v, ok %v; it hits %v", near, side, ok, at)
		}
		right, up, _ := r.axes()
		past := r3.Add(r.Centre, r3.Add(r3.Scale(r.Width, right), r3.Scale(r.Height/4, up)))
		edge := r3.Add(r.Centre, r3.Add(r3.Scale(r.Width/2, right), r3.Scale(r.Height/4, up)))
		far := r3.Norm(r3.Sub(past, from))
		if near, _, ok := r.Near(from, r3.Sub(past, from)); !ok || r3.Norm(r3.Sub(near, edge)) > 1e-11*far*math.Max(1, far/math.Abs(side)) {
			rt.Fatalf("past the edge: %v, ok %v; want %v", near, ok, edge)
		}
	})
}

// A way from one point to another meets a rectangle where it meets the plane, if that is on it.
func TestBetween(t *testing.T) {
	sheet := Rect{Centre: Vec{Y: 2, Z: 3}, Width: 4, Height: 2}
	for name, c := range map[string]struct {
		a, b Vec
		want bool
	}{
		"straight through":         {Vec{Y: 5, Z: 3}, Vec{Y: -5, Z: 3}, true},
		"the other way":            {Vec{Y: -5, Z: 3}, Vec{Y: 5, Z: 3}, true},
		"slantwise, 1.9 m aside":   {Vec{X: 3.8, Y: 4, Z: 3}, Vec{Y: 0, Z: 3}, true},
		"slantwise, 2.1 m aside":   {Vec{X: 4.2, Y: 4, Z: 3}, Vec{Y: 0, Z: 3}, false},
		"over its upper edge":      {Vec{Y: 5, Z: 4.1}, Vec{Y: -5, Z: 4.1}, false},
		"both before it":           {Vec{Y: 1, Z: 3}, Vec{Y: -5, Z: 3}, false},
		"ends on it":               {Vec{Y: 5, Z: 3}, Vec{Y: 2, Z: 3}, false},
		"along it":                 {Vec{X: -3, Y: 2, Z: 3}, Vec{X: 3, Y: 2, Z: 3}, false},
		"from what is no position": {Vec{Y: math.NaN()}, Vec{Y: 5, Z: 3}, false},
	} {
		if got := sheet.Between(c.a, c.b); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Float64Range(0.5, 15)
		r := Rect{Centre: Vec{X: part(t, "x"), Y: part(t, "y"), Z: part(t, "z")}, Width: size.Draw(t, "width"), Height: size.Draw(t, "height"),
			FacingDeg: rapid.Float64Range(-180, 180).Draw(t, "facing"), TiltDeg: rapid.Float64Range(-90, 90).Draw(t, "tilt")}
		right, up, normal := r.axes()
		x, y := part(t, "across"), part(t, "up")
		if near := math.Min(math.Abs(math.Abs(x)-1), math.Abs(math.Abs(y)-1)); near < 1e-6 {
			return // on the edge
		}
		through := r3.Add(r.Centre, r3.Add(r3.Scale(x*r.Width/2, right), r3.Scale(y*r.Height/2, up)))
		way := r3.Add(normal, r3.Add(r3.Scale(part(t, "slant"), right), r3.Scale(part(t, "rise"), up)))
		a, b := r3.Add(through, way), r3.Sub(through, r3.Scale(rapid.Float64Range(0.1, 3).Draw(t, "behind"), way))
		if got, want := r.Between(a, b), math.Abs(x) < 1 && math.Abs(y) < 1; got != want {
			t.Fatalf("through %g and %g of %+v: %v", x, y, r, got)
		}
	})
}

func part(t *rapid.T, name string) float64 { return rapid.Float64Range(-2, 2).Draw(t, name) }

// Somebody who looks at the front sees the first corner at the lower left, and they go round.
func TestCorners(t *testing.T) {
	for _, tc := range []struct {
		rect Rect
		want [4]Vec
	}{
		{Rect{Centre: Vec{X: 1, Y: 5, Z: 2}, Width: 4, Height: 2}, [4]Vec{{X: -1, Y: 5, Z: 1}, {X: 3, Y: 5, Z: 1}, {X: 3, Y: 5, Z: 3}, {X: -1, Y: 5, Z: 3}}},
		{Rect{Centre: Vec{Z: 2}, Width: 4, Height: 2, FacingDeg: 90}, [4]Vec{{Y: -2, Z: 1}, {Y: 2, Z: 1}, {Y: 2, Z: 3}, {Y: -2, Z: 3}}},
	} {
		for i, got := range tc.rect.Corners() {
			if math.Abs(got.X-tc.want[i].X)+math.Abs(got.Y-tc.want[i].Y)+math.Abs(got.Z-tc.want[i].Z) > 1e-12 {
				t.Errorf("corner %d of %+v is at %v, not %v", i, tc.rect, got, tc.want[i])
			}
		}
	}
}
