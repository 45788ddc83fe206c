package photometry

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func TestAimedFrames(t *testing.T) {
	for _, c := range []struct {
		name                string
		direction           Vec
		roll                float64
		forward, right, top Vec
	}{
		{"from the house, level", Vec{Y: 2}, 0, Vec{Y: 1}, Vec{X: 1}, Vec{Z: 1}},
		{"from upstage, level", Vec{Y: -2}, 0, Vec{Y: -1}, Vec{X: -1}, Vec{Z: 1}},
		{"towards the right", Vec{X: 3}, 0, Vec{X: 1}, Vec{Y: -1}, Vec{Z: 1}},
		{"straight down", Vec{Z: -1}, 0, Vec{Z: -1}, Vec{X: 1}, Vec{Y: 1}},
		{"straight up", Vec{Z: 1}, 0, Vec{Z: 1}, Vec{X: 1}, Vec{Y: -1}},
		{"rolled a quarter counter-clockwise", Vec{Y: 2}, 90, Vec{Y: 1}, Vec{Z: 1}, Vec{X: -1}},
		{"down at 45 degrees", Vec{Y: 1, Z: -1}, 0, Vec{Y: math.Sqrt2 / 2, Z: -math.Sqrt2 / 2}, Vec{X: 1}, Vec{Y: math.Sqrt2 / 2, Z: math.Sqrt2 / 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := AimAlong(Vec{X: 1, Y: 2, Z: 3}, c.direction, c.roll)
			if err != nil {
				t.Fatal(err)
			}
			nearVec(t, "forward", f.Forward, c.forward, 1e-15)
			nearVec(t, "right", f.Right, c.right, 1e-15)
			nearVec(t, "up", f.Up, c.top, 1e-15)
			nearVec(t, "right x up", r3.Cross(f.Right, f.Up), r3.Scale(-1, f.Forward), 1e-15)
		})
	}
}

func TestDirectionInTheBeam(t *testing.T) {
	f, err := AimAt(Vec{Z: 5}, Vec{Y: 5, Z: 5}, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		point                Vec
		theta, phi, distance float64
	}{
		{Vec{Y: 2, Z: 5}, 0, 0, 2},
		{Vec{X: 2, Y: 2, Z: 5}, 45, 0, math.Sqrt(8)},
		{Vec{Y: 2, Z: 7}, 45, 90, math.Sqrt(8)},
		{Vec{X: -3, Z: 5}, 90, 180, 3},
		{Vec{Y: -1, Z: 5}, 180, 0, 1},
	} {
		theta, phi, distance, ok := f.Direction(c.point)
		if !ok {
			t.Fatalf("%v: unknown", c.point)
		}
		near(t, "theta", theta, c.theta, 1e-12)
		near(t, "phi", phi, c.phi, 1e-12)
		near(t, "distance", distance, c.distance, 1e-12)
	}
	for _, p := range []Vec{{Z: 5}, {X: math.NaN()}, {X: math.Inf(1)}} {
		if _, _, _, ok := f.Direction(p); ok {
			t.Errorf("%v has a direction", p)
		}
	}
	if _, _, _, ok := (Frame{}).Direction(Vec{X: 1}); ok {
		t.Error("a frame that was never aimed has directions")
	}
}

func TestFramesRefuseWhatPointsNowhere(t *testing.T) {
	for name, make := range map[string]func() (Frame, error){
		"own target":    func() (Frame, error) { return AimAt(Vec{X: 1}, Vec{X: 1}, 0) },
		"NaN target":    func() (Frame, error) { return AimAt(Vec{}, Vec{X: math.NaN()}, 0) },
		"far apart":     func() (Frame, error) { return AimAt(Vec{X: -1e308}, Vec{X: 1e308}, 0) },
		"no direction":  func() (Frame, error) { return AimAlong(Vec{}, Vec{}, 0) },
		"NaN roll":      func() (Frame, error) { return AimAlong(Vec{}, Vec{X: 1}, math.NaN()) },
		"endless place": func() (Frame, error) { return AimAlong(Vec{Z: math.Inf(1)}, Vec{X: 1}, 0) },
	} {
		if f, err := make(); err == nil {
			t.Errorf("%s: made %+v", name, f)
		}
	}
	for _, tiny := range []Vec{{X: 1e-300, Y: 1e-300}, {Z: 5e-324}, {X: 1e300, Z: -1e300}} {
		f, err := AimAlong(Vec{}, tiny, 0)
		if err != nil {
			t.Errorf("%v: %v", tiny, err)
		}
		near(t, "length of forward", r3.Norm(f.Forward), 1, 1e-15)
	}
}
