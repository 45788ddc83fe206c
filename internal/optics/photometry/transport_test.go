package photometry

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func source(t testing.TB, position, target Vec, light Distribution, cuts Cuts) Source {
	t.Helper()
	frame, err := AimAt(position, target, 0)
	if err != nil {
		t.Fatal(err)
	}
	s, err := NewSource(frame, light, cuts)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestCoefficientIsTheInverseSquareAndCosineLaw(t *testing.T) {
	beam, err := NewBeamFromPeak(20, 36, 20000)
	if err != nil {
		t.Fatal(err)
	}
	s := source(t, Vec{Y: -6, Z: 5}, Vec{Y: 2, Z: 1.6}, beam, Cuts{})
	known := must(t)
	face := Receiver{Point: Vec{Y: 2, Z: 1.6}, Normal: Vec{Y: -1}}
	d := math.Hypot(8, 3.4)
	near(t, "on the axis", known(s.Coefficient(face)), 20000*(8/d)/(d*d), 1e-10)
	face.Normal = Vec{Y: -7}
	near(t, "the length of the normal does not count", known(s.Coefficient(face)), 20000*(8/d)/(d*d), 1e-10)
	face.Normal = Vec{Y: 1}
	near(t, "from behind", known(s.Coefficient(face)), 0, 0)

	nan := math.NaN()
	for name, r := range map[string]Receiver{
		"at the fixture":  {Vec{Y: -6, Z: 5}, Vec{Y: -1}},
		"no normal":       {Vec{Y: 2}, Vec{}},
		"NaN normal":      {Vec{Y: 2}, Vec{Y: nan}},
		"endless normal":  {Vec{Y: 2}, Vec{Y: math.Inf(1)}},
		"NaN point":       {Vec{Y: nan}, Vec{Y: -1}},
		"infinitely far":  {Vec{Y: math.Inf(1)}, Vec{Y: -1}},
		"too far to tell": {Vec{Y: 1e200}, Vec{Y: -1}},
	} {
		unknown(t, name)(s.Coefficient(r))
	}
	close := source(t, Vec{}, Vec{Y: 1}, beam, Cuts{})
	unknown(t, "too near to tell")(close.Coefficient(Receiver{Vec{Y: 1e-200}, Vec{Y: -1}}))
	unknown(t, "never made")(Source{}.Coefficient(face))
	unknown(t, "never made")(Source{}.CandelaTowards(Vec{X: 1}))
}

// A disc of luminance L, seen from a point on its axis: E = pi L R^2/(R^2 + h^2). The disc is summed from small Lambert
// emitters in rings of width w: the midpoint rule, too high by w^2/24 (f'(0) - f'(R)) with f = 2 pi L r h^2/(r^2 + h^2)^2
// (Euler-Maclaurin). That part is taken off; the next is some (w/h)^2 of it, so a thousandth of it is the tolerance.
func TestLambertDiscMatchesItsClosedForm(t *testing.T) {
	const radius, luminance, rings, spokes = 1.5, 200.0, 200, 12
	for _, h := range []float64{0.5, 1.5, 4} {
		r := Receiver{Point: Vec{Y: -h, Z: 2}, Normal: Vec{Y: 1}}
		sum := 0.0
		for i := range rings {
			ring := (float64(i) + 0.5) / rings * radius
			area := 2 * math.Pi * ring * radius / rings / spokes
			emitter, err := NewCosinePowerFromPeak(120, luminance*area)
			if err != nil {
				t.Fatal(err)
			}
			for k := range spokes {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / spokes)
				at := Vec{X: ring * cos, Z: 2 + ring*sin}
				lux, ok := source(t, at, r3.Add(at, Vec{Y: -1}), emitter, Cuts{}).Coefficient(r)
				if !ok {
					t.Fatal("unknown")
				}
				sum += lux
			}
		}
		want := math.Pi * luminance * radius * radius / (radius*radius + h*h)
		slope := func(r float64) float64 { return 2 * math.Pi * luminance * h * h * (h*h - 3*r*r) / math.Pow(r*r+h*h, 3) }
		const w = radius / rings
		excess := w * w / 24 * (slope(0) - slope(radius))
		near(t, fmt.Sprintf("h %g", h), sum-excess, want, 1e-3*math.Abs(excess))
	}
}

// The mean over a screen settles as its grid is made finer. Midpoint rule: the error falls with the square of the cell,
// so each halving changes the mean by about a quarter of the change before. Stated tolerance: 16 x 9 cells are within
// 0.5 % of 32 x 18 for a beam whose field reaches over half the screen.
func TestFinerGridsAgree(t *testing.T) {
	beam, err := NewBeamFromFlux(19, 32, 6000)
	if err != nil {
		t.Fatal(err)
	}
	s := source(t, Vec{X: -2, Y: -7, Z: 6}, Vec{X: 0.5, Y: 4, Z: 2.5}, beam, Cuts{})
	screen := Rect{Centre: Vec{Y: 5, Z: 3}, Width: 8, Height: 4.5, FacingDeg: 5, TiltDeg: -3}
	mean := func(n int) float64 {
		cells, err := screen.Grid(16*n, 9*n)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, c := range cells {
			lux, ok := s.Coefficient(c)
			if !ok {
				t.Fatal("unknown")
			}
			sum += lux
		}
		return sum / float64(len(cells))
	}
	a, b, c := mean(1), mean(2), mean(4)
	t.Logf("means %g, %g, %g lx", a, b, c)
	near(t, "one halving", a/b, 1, 0.005)
	if first, second := math.Abs(b-a), math.Abs(c-b); second > first/3 {
		t.Errorf("the first halving changes the mean by %g lx, the second by %g lx: not with the square of the cell", first, second)
	}
}

// The light of a beam on a wall that takes all of it in: lux times area adds up to the flux.
func TestWallCollectsTheFluxOfTheBeam(t *testing.T) {
	beam, err := NewBeamFromFlux(20, 26, 5000)
	if err != nil {
		t.Fatal(err)
	}
	s := source(t, Vec{Y: -10, Z: 3}, Vec{Y: 0, Z: 3}, beam, Cuts{})
	wall := Rect{Centre: Vec{Z: 3}, Width: 12, Height: 12}
	cells, err := wall.Grid(300, 300)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, c := range cells {
		lux, _ := s.Coefficient(c)
		sum += lux * 12 * 12 / 300 / 300
	}
	near(t, "lumens on the wall", sum, 5000, 0.5) // rounding of the grid; beyond 31 degrees off axis this beam has nothing
}

// Moving and turning the whole room about the vertical changes no coefficient, whatever the fixture; with a round beam
// and no shutters neither does turning it any other way.
func TestMovingTheWholeSceneChangesNothing(t *testing.T) {
	file, _, err := Parse([]byte(sample(t, "wash.ies")), Strict)
	if err != nil {
		t.Fatal(err)
	}
	round, err := NewBeamFromFlux(30, 50, 5000)
	if err != nil {
		t.Fatal(err)
	}
	coordinate := rapid.Float64Range(-10, 10)
	vec := rapid.Custom(func(t *rapid.T) Vec {
		return Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")}
	})
	rapid.Check(t, func(rt *rapid.T) {
		position, target, point, normal, shift := vec.Draw(rt, "position"), vec.Draw(rt, "target"), vec.Draw(rt, "point"), vec.Draw(rt, "normal"), vec.Draw(rt, "shift")
		roll := rapid.Float64Range(-180, 180).Draw(rt, "roll")
		angle := rapid.Float64Range(-math.Pi, math.Pi).Draw(rt, "angle")
		axis := Vec{Z: 1}
		light, cuts := Distribution(file.Web), Cuts{FieldDeg: 60, Top: Blade{70, 10}, Left: Blade{30, -20}}
		if rapid.Bool().Draw(rt, "round") {
			light, cuts, axis = round, Cuts{}, vec.Draw(rt, "axis")
		}
		aim := r3.Sub(target, position)
		if r3.Norm(axis) < 0.1 || math.Hypot(aim.X, aim.Y) < 0.1 || r3.Norm(r3.Sub(point, position)) < 0.1 || r3.Norm(normal) < 0.1 {
			rt.Skip("nearly nothing to turn about or to look at")
		}
		lux := func(move func(Vec) Vec) (float64, float64) {
			frame, err := AimAt(move(position), move(target), roll)
			if err != nil {
				rt.Fatal(err)
			}
			s, err := NewSource(frame, light, cuts)
			if err != nil {
				rt.Fatal(err)
			}
			theta, phi, _, _ := frame.Direction(move(point))
			for _, e := range s.edges { // a direction just on a blade's edge can fall to either side by rounding
				p := image(theta, phi, s.tanHalfField)
				if math.Abs(p.X*e.normalX+p.Y*e.normalY-e.reach) < 1e-9 {
					rt.Skip("on the edge of a blade")
				}
			}
			if math.Abs(theta-90) < 1e-9 {
				rt.Skip("at the end of the listed angles")
			}
			v, ok := s.Coefficient(Receiver{move(point), r3.Sub(move(r3.Add(point, normal)), move(point))})
			if !ok {
				rt.Fatal("unknown")
			}
			return v, s.light.Flux()
		}
		here, flux := lux(func(v Vec) Vec { return v })
		there, _ := lux(func(v Vec) Vec { return r3.Add(r3.Rotate(v, angle, r3.Unit(axis)), shift) })
		if tolerance := 1e-11 * (here + flux); math.Abs(here-there) > tolerance {
			rt.Fatalf("%.15g lx, moved %.15g lx", here, there)
		}
	})
}

// scene is a stage with fixtures on bars and receivers on it, regular and without chance.
func scene(t testing.TB, fixtures, places int) ([]Receiver, []Source) {
	beam, err := NewBeamFromFlux(19, 30, 8000)
	if err != nil {
		t.Fatal(err)
	}
	var sources []Source
	for j := range fixtures {
		x, y := float64(j%40)/2-10, float64(j/40%10)-5
		sources = append(sources, source(t, Vec{X: x, Y: y, Z: 6}, Vec{X: x / 2, Y: y + 3, Z: 1.6}, beam, Cuts{FieldDeg: 30, Top: Blade{DepthPercent: float64(j % 3 * 20)}}))
	}
	var receivers []Receiver
	for i := range places {
		receivers = append(receivers, Receiver{Vec{X: float64(i%20) - 10, Y: float64(i/20) / 2, Z: 1.6}, Vec{Y: -1}})
	}
	return receivers, sources
}

func levelsFor(n int) []float64 {
	levels := make([]float64, n)
	for j := range levels {
		levels[j] = float64(j*37%101) / 100
	}
	return levels
}

func TestApplyIsTheSumOverSources(t *testing.T) {
	receivers, sources := scene(t, 60, 50)
	levels := levelsFor(60)
	for _, floor := range []float64{0, 0.5} {
		m, missing := laid(receivers, sources, floor)
		if len(missing) > 0 {
			t.Fatal(missing)
		}
		lux := make([]float64, 50)
		if err := m.Apply(lux, levels); err != nil {
			t.Fatal(err)
		}
		for i, r := range receivers {
			want, dropped := 0.0, 0.0
			for j, s := range sources {
				c, ok := s.Coefficient(r)
				if !ok {
					t.Fatal("unknown")
				}
				want += c * levels[j]
				if c < floor {
					dropped += c
				}
			}
			near(t, "lux", lux[i], want, dropped+1e-9)
			sum := 0.0
			m.Row(i, func(source int, c float64) { sum += c * levels[source] })
			near(t, "row by row", sum, lux[i], 0)
		}
		if floor > 0 && !(m.Stored() < 50*60/2) {
			t.Errorf("%d of %d coefficients stored: nothing sparse about it", m.Stored(), 50*60)
		}
	}
}

// One receiver asked for by itself has the very bits of the product.
func TestAtHasTheBitsOfApply(t *testing.T) {
	receivers, sources := scene(t, 60, 50)
	m, _ := laid(receivers, sources, 0.01)
	rapid.Check(t, func(rt *rapid.T) {
		levels := rapid.SliceOfN(rapid.Float64Range(0, 1), 60, 60).Draw(rt, "levels")
		lux := make([]float64, 50)
		if err := m.Apply(lux, levels); err != nil {
			rt.Fatal(err)
		}
		for i, want := range lux {
			if got := m.At(i, levels); got != want {
				rt.Fatalf("receiver %d has %g, the product %g", i, got, want)
			}
		}
	})
}

func TestTransportKnowsItsDomain(t *testing.T) {
	receivers, sources := scene(t, 3, 4)
	receivers[2].Point = sources[1].Frame().Position
	m, missing := laid(receivers, sources, 0)
	if !slices.Equal(missing, []Pair{{2, 1}}) {
		t.Errorf("unknown pairs %v", missing)
	}
	lux := []float64{9, 9, 9, 9}
	for name, err := range map[string]error{
		"few levels": m.Apply(lux, []float64{1, 1}),
		"few lux":    m.Apply(lux[:3], []float64{1, 1, 1}),
		"NaN level":  m.Apply(lux, []float64{1, math.NaN(), 1}),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if !slices.Equal(lux, []float64{9, 9, 9, 9}) {
		t.Errorf("a refused product wrote %v", lux)
	}
	if empty, _ := laid(nil, nil, 0); empty.Apply(nil, nil) != nil {
		t.Error("an empty room")
	}
}

func laid(receivers []Receiver, sources []Source, floorLux float64) (t *Transport, unknown []Pair) {
	columns := make([]*Column, len(sources))
	for j, s := range sources {
		columns[j] = NewColumn(receivers, s, floorLux)
	}
	return Join(len(receivers), columns)
}

// How far a point is off the axis is told of light that is alike all round, without shutters: 1 - cos t, and nothing behind.
func TestOffTheAxis(t *testing.T) {
	at, ahead := Vec{X: 0, Y: 0, Z: 5}, Vec{X: 0, Y: 0, Z: 0}
	beam, err := NewBeamFromFlux(20, 30, 1000)
	if err != nil {
		t.Fatal(err)
	}
	round := source(t, at, ahead, beam, Cuts{})
	for p, want := range map[Vec]float64{{X: 0, Y: 0, Z: 1}: 0, {X: 5, Y: 0, Z: 0}: 1 - math.Sqrt(0.5), {X: 0, Y: 3, Z: 1}: 1 - 0.8, {X: 1, Y: 0, Z: 6}: math.Inf(1)} {
		if got, ok := round.OffAxis(p); !ok || math.Abs(got-want) > 1e-12 && got != want {
			t.Errorf("%v is off by %g, %t; want %g", p, got, ok, want)
		}
	}
	if _, ok := source(t, at, ahead, beam, Cuts{FieldDeg: 30, Top: Blade{50, 0}}).OffAxis(ahead); ok {
		t.Error("a shutter is no bar to it")
	}
}
