package photometry

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// onFineGrid adds up what lands on a rectangle cell by cell. What lies farther from the axis than the spread, in degrees,
// is taken for dark.
func onFineGrid(s Source, r Rect, n int, spread float64) (p Patch) {
	edge := math.Cos(min(spread, 90) * degree)
	right, up, normal := r.axes()
	cell := r.Width * r.Height / float64(n*n)
	for j := range n {
		v := ((float64(j)+0.5)/float64(n) - 0.5) * r.Height
		for i := range n {
			u := ((float64(i)+0.5)/float64(n) - 0.5) * r.Width
			at := Vec{X: r.Centre.X + u*right.X + v*up.X, Y: r.Centre.Y + u*right.Y + v*up.Y, Z: r.Centre.Z + u*right.Z + v*up.Z}
			if way := r3.Sub(at, s.frame.Position); r3.Dot(way, s.frame.Forward) < edge*r3.Norm(way) {
				continue
			}
			lux, _ := s.Coefficient(Receiver{Point: at, Normal: normal})
			p.Lumens += lux * cell
			p.Peak = max(p.Peak, lux)
		}
	}
	return p
}

// A beam that falls wholly on a wall leaves all its lumens there, and its peak is the
// inverse square law's.
func TestOnWholeBeam(t *testing.T) {
	for _, beam := range []float64{2, 5, 10, 20, 40} {
		light, err := NewBeamFromFlux(beam, 1.6*beam, 1000)
		if err != nil {
			t.Fatal(err)
		}
		frame, _ := AimAt(Vec{Y: -6, Z: 3}, Vec{Y: 0, Z: 3}, 0)
		s, err := NewSource(frame, light, Cuts{})
		if err != nil {
			t.Fatal(err)
		}
		p, ok := s.On(Rect{Centre: Vec{Z: 3}, Width: 15, Height: 15})
		if want := light.Peak() / 36; !ok || math.Abs(p.Lumens-1000) > 10 || math.Abs(p.Peak-want) > 0.01*want {
			t.Errorf("a beam of %v degrees leaves %v", beam, p)
		}
		if p, ok := s.On(Rect{Centre: Vec{Z: 3}, Width: 15, Height: 15, FacingDeg: 180}); !ok || p != (Patch{}) {
			t.Errorf("on the back of the wall it leaves %v", p)
		}
		if p, ok := s.On(Rect{Centre: Vec{Y: -12, Z: 3}, Width: 15, Height: 15, FacingDeg: 180}); !ok || p.Lumens > 1 {
			t.Errorf("on the wall behind it it leaves %v", p)
		}
	}
}

// Beams of 2 to 60 degrees on surfaces of 2 to 15 m, from anywhere in front of them and
// aimed anywhere near: within 5 % of a grid that is fine enough for any of them.
func TestOnAgainstAFineGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		beam := rapid.Float64Range(2, 60).Draw(t, "beam")
		field := beam * rapid.Float64Range(1.2, 1.9).Draw(t, "field of beam")
		light, err := NewBeamFromFlux(beam, field, 1000)
		if err != nil {
			t.Fatal(err)
		}
		r := Rect{Centre: Vec{Z: 3}, Width: rapid.Float64Range(2, 15).Draw(t, "width"), Height: rapid.Float64Range(2, 15).Draw(t, "height")}
		from := Vec{X: rapid.Float64Range(-5, 5).Draw(t, "x"), Y: -rapid.Float64Range(2, 15).Draw(t, "distance"), Z: rapid.Float64Range(1, 7).Draw(t, "z")}
		to := Vec{X: rapid.Float64Range(-0.6, 0.6).Draw(t, "aim across") * r.Width, Z: 3 + rapid.Float64Range(-0.6, 0.6).Draw(t, "aim up")*r.Height}
		frame, err := AimAt(from, to, 0)
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewSource(frame, light, Cuts{})
		if err != nil {
			t.Fatal(err)
		}
		got, ok := s.On(r)
		// Twelve cells across the narrowest spot that the beam can make.
		spot := -2 * from.Y * math.Tan(beam/2*degree)
		want := onFineGrid(s, r, int(min(max(12*max(r.Width, r.Height)/spot, 60), 800)), 1.5*field)
		const within, nothing = 0.05, 5 // of a thousand lumens: what a beam beside the surface leaves on it
		if !ok || math.Abs(got.Lumens-want.Lumens) > max(within*want.Lumens, nothing) {
			t.Fatalf("%v lm, on a grid %v", got.Lumens, want.Lumens)
		}
		// A grid never finds more than there is, and less where the brightest point lies on an edge.
		if want.Lumens > nothing && got.Peak < (1-within)*want.Peak || want.Lumens > 500 && got.Peak > (1+within)*want.Peak {
			t.Fatalf("%v lx at the brightest, on a grid %v (%v lm)", got.Peak, want.Peak, want.Lumens)
		}
	})
}

// A light that is not round, as wide again up and down as across and stronger to the right: on a whole wall lies its flux, on either
// side of the axis what a fine grid finds there, and so on strips that are narrower than its rays are apart.
func TestOnOfALightThatIsNotRound(t *testing.T) {
	var planes []float64
	for h := 0.0; h < 360; h += 15 {
		planes = append(planes, h)
	}
	light := sampled(fullCircle, planes, 1, 90, func(v, h float64) float64 {
		sin, cos := math.Sincos(h * degree)
		return 1000 * (1 + 0.5*cos) * math.Exp(-(v/16)*(v/16)*(4*cos*cos+sin*sin))
	})
	frame, _ := AimAt(Vec{Y: -6, Z: 3}, Vec{Y: 0, Z: 3}, 0)
	s, err := NewSource(frame, light, Cuts{})
	if err != nil {
		t.Fatal(err)
	}
	if p, ok := s.On(Rect{Centre: Vec{Z: 3}, Width: 30, Height: 30}); !ok || math.Abs(p.Lumens-light.Flux()) > 0.01*light.Flux() {
		t.Errorf("of %v lm a wall gets %v", light.Flux(), p)
	}
	for _, r := range []Rect{
		{Centre: Vec{X: 7.5, Z: 3}, Width: 15, Height: 15}, {Centre: Vec{X: -7.5, Z: 3}, Width: 15, Height: 15}, {Centre: Vec{Z: 10.5}, Width: 15, Height: 15},
		{Centre: Vec{X: 0.5, Z: 3}, Width: 0.02, Height: 4}, {Centre: Vec{X: 0.5, Z: 3.8}, Width: 0.04, Height: 0.02}, {Centre: Vec{X: -0.3, Z: 2.4}, Width: 0.5, Height: 0.3},
	} {
		got, ok := s.On(r)
		want := onFineGrid(s, r, 300, 90)
		if !ok || math.Abs(got.Lumens-want.Lumens) > 0.05*want.Lumens || want.Lumens == 0 {
			t.Errorf("on %v x %v m at %v lie %v lm, on a grid %v", r.Width, r.Height, r.Centre, got.Lumens, want.Lumens)
		}
	}
	dark, err := NewSource(frame, evenLight{20, 0}, Cuts{})
	if err != nil {
		t.Fatal(err)
	}
	if lumens, ok := dark.LumensOn(Rect{Centre: Vec{Z: 3}, Width: 15, Height: 15}); ok || lumens != 0 {
		t.Errorf("a light of nothing gives %v lm", lumens)
	}
}

// A shutter takes its light away from the surface too.
func TestOnWithShutters(t *testing.T) {
	light, _ := NewBeamFromFlux(10, 16, 1000)
	frame, _ := AimAt(Vec{Y: -6, Z: 3}, Vec{Y: 0, Z: 3}, 0)
	s, err := NewSource(frame, light, Cuts{FieldDeg: 16, Top: Blade{DepthPercent: 100}})
	if err != nil {
		t.Fatal(err)
	}
	if p, ok := s.On(Rect{Centre: Vec{Z: 3}, Width: 9, Height: 9}); !ok || math.Abs(p.Lumens-500) > 15 {
		t.Errorf("half a beam leaves %v", p)
	}
}

func TestOnBadInput(t *testing.T) {
	if _, ok := (Source{}).On(Rect{Width: 1, Height: 1}); ok {
		t.Error("no light lands somewhere")
	}
	light, _ := NewBeamFromFlux(10, 16, 1000)
	frame, _ := AimAt(Vec{Y: -6}, Vec{}, 0)
	s, _ := NewSource(frame, light, Cuts{})
	for _, r := range []Rect{{}, {Width: 1}, {Width: math.NaN(), Height: 1}, {Width: 1, Height: math.Inf(1)}} {
		if _, ok := s.On(r); ok {
			t.Errorf("%v is lit", r)
		}
	}
}

// evenLight gives the same candelas to an angle off its axis, and more than all that behind itself.
type evenLight struct{ to, candela float64 }

func (evenLight) Flux() float64 { return 1 }

func (l evenLight) Candela(theta, _ float64) (float64, bool) {
	switch {
	case theta <= l.to:
		return l.candela, true
	case theta <= 90:
		return 0, true
	}
	return 1e6, true
}

// A beam reaches a degree beyond the last that is lit, and never backwards; one of no light reaches nowhere.
func TestReachOf(t *testing.T) {
	for _, c := range []struct {
		light evenLight
		wide  float64
		ok    bool
	}{{evenLight{20, 1000}, 21, true}, {evenLight{20, 0.25}, 21, true}, {evenLight{89, 1000}, 90, true}, {evenLight{90, 1000}, 90, true}, {evenLight{20, 0}, 0, false}} {
		wide, ok := reachOf(c.light)
		if ok != c.ok {
			t.Errorf("%+v reaches anywhere: %v", c.light, ok)
		}
		near(t, "reach", wide/degree, c.wide, 1e-9)
	}
}

// A grid has four steps over half the beam, as wide as that is at the point of the rectangle that is nearest: of a light that
// tells no beam angle, over a degree. A metre at 10 m is atan(0.1) = 5.71 degrees.
func TestGridFor(t *testing.T) {
	narrow, _ := NewBeamFromFlux(4, 7, 1000)
	some, _ := NewBeamFromFlux(17.2, 26, 1000)
	wide, _ := NewBeamFromFlux(40, 60, 1000)
	for _, c := range []struct {
		light        Distribution
		at           Vec
		rect         Rect
		across, down int
	}{
		{evenLight{20, 1000}, Vec{Y: -10}, Rect{Width: 1, Height: 0.5}, 23, 12}, // 4 x 5.711, 4 x 2.862
		{narrow, Vec{Y: -10}, Rect{Width: 1, Height: 0.5}, 12, 6},               // 2 x 5.711, 2 x 2.862
		{wide, Vec{Y: -10}, Rect{Width: 1, Height: 0.5}, 2, 1},                  // 5.711/5, 2.862/5
		{some, Vec{X: 8, Y: -8}, Rect{Width: 4, Height: 0.5}, 11, 2},            // 6 m beside its edge: 4 x 21.80/8.6, 4 x 2.862/8.6
		{some, Vec{Z: 8, Y: -8}, Rect{Width: 0.5, Height: 4}, 2, 11},
		{narrow, Vec{X: 0.5, Y: -10}, Rect{Width: 1, Height: 1}, 12, 12}, // before its edge it is as near as before its midst
		{narrow, Vec{Y: -1}, Rect{Width: 10, Height: 0.1}, 33, 12},
		{wide, Vec{X: 1}, Rect{Width: 4, Height: 4}, 33, 33}, {narrow, Vec{X: 1}, Rect{Width: 4, Height: 4}, 33, 33}, // on it
	} {
		frame, err := AimAt(c.at, r3.Add(c.at, Vec{Y: 10}), 0)
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewSource(frame, c.light, Cuts{})
		if err != nil {
			t.Fatal(err)
		}
		if across, down := s.GridFor(c.rect); across != c.across || down != c.down {
			t.Errorf("from %v on %v x %v m: %d x %d steps, want %d x %d", c.at, c.rect.Width, c.rect.Height, across, down, c.across, c.down)
		}
	}
}

// The peak of a narrow beam that grazes a wall lies on the ridge of its spot, far nearer to the fixture than where the axis meets
// the wall: by symmetry in the plane that the axis and the shortest way to the wall span, where it is found along a line. The
// ridge runs askew to the sides of the wall.
func TestPeakOfAGrazingBeam(t *testing.T) {
	for _, c := range []struct{ beam, turned, away, lumens float64 }{{6, 30, 78, 1000}, {10, 33, 80, 1000}, {10, 12, 80, 1000}, {14, 70, 75, 1000}, {4, 50, 80, 1000}, {16, 57, 82, 1000}, {10, 33, 80, 0.001}} {
		light, err := NewBeamFromFlux(c.beam, 1.6*c.beam, c.lumens)
		if err != nil {
			t.Fatal(err)
		}
		sin, cos := math.Sincos(c.turned * degree)
		along := Vec{X: cos, Z: sin}
		from := Vec{X: -6 * cos, Y: -1, Z: -6 * sin} // a metre before a wall at y 0
		frame, err := AimAt(from, r3.Add(Vec{X: from.X, Z: from.Z}, r3.Scale(math.Tan(c.away*degree), along)), 0)
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewSource(frame, light, Cuts{})
		if err != nil {
			t.Fatal(err)
		}
		want := 0.0
		for psi := 0.0; psi < 89; psi += 0.01 { // E = I cos^3 / h^2 at an angle from the shortest way
			candela, _ := light.Candela(math.Abs(psi-c.away), 0)
			cos := math.Cos(psi * degree)
			want = max(want, candela*cos*cos*cos)
		}
		got, ok := s.PeakOn(Rect{Width: 16, Height: 15})
		if !ok {
			t.Fatal("no peak")
		}
		near(t, "peak", got, want, 1e-3*want)
	}
}

// Of the light along the axis, a plane through the axis takes nothing; nor does one that a ring only touches.
func TestPlanesThatOnlyTouch(t *testing.T) {
	for name, c := range map[string]struct{ plane, sin, cos float64 }{"the axis": {0, 0, 1}, "a ring that touches it": {0.6, 0.6, 0.8}} {
		p := side{forward: c.plane, across: 0.8}
		list, all := p.takes(nil, c.sin, c.cos)
		var taken float64
		for _, a := range list {
			taken += a.to - a.from
		}
		if all || taken > 1e-6 {
			t.Errorf("of %s %v is taken, all %v", name, list, all)
		}
	}
}
