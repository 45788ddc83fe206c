package photometry

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var (
	head   = Vec{X: 1, Y: 3, Z: 1.6}
	camera = Vec{X: 1, Y: -12, Z: 2.5} // straight in front
)

func TestPlanesOfAPerson(t *testing.T) {
	face, ok := FacePlane(head, camera)
	if !ok {
		t.Fatal("unknown")
	}
	nearVec(t, "the face looks at the camera, upright", face.Normal, Vec{Y: -1}, 1e-15)
	shoulders, ok := ShoulderPlane(head, camera)
	if !ok {
		t.Fatal("unknown")
	}
	nearVec(t, "the shoulders look away and up", shoulders.Normal, Vec{Y: math.Sqrt2 / 2, Z: math.Sqrt2 / 2}, 1e-15)
	for name, at := range map[string]Vec{"above": {X: 1, Y: 3, Z: 9}, "the head itself": head, "nowhere": {X: math.NaN()}, "endless": {X: 1, Y: 9, Z: math.Inf(1)}} {
		if _, ok := FacePlane(head, at); ok {
			t.Errorf("face plane for a camera %s", name)
		}
		if _, ok := ShoulderPlane(head, at); ok {
			t.Errorf("shoulder plane for a camera %s", name)
		}
	}
}

func TestBearings(t *testing.T) {
	for _, c := range []struct {
		name               string
		fixture            Vec
		azimuth, elevation float64
	}{
		{"beside the camera, level", Vec{X: 1, Y: -5, Z: 1.6}, 0, 0},
		{"front right, 45 up", Vec{X: 5, Y: -1, Z: 1.6 + math.Sqrt(32)}, 45, 45},
		{"front left", Vec{X: -3, Y: -1, Z: 1.6}, -45, 0},
		{"right side", Vec{X: 4, Y: 3, Z: 1.6}, 90, 0},
		{"behind", Vec{X: 1, Y: 8, Z: 6.6}, 180, 45},
		{"overhead", Vec{X: 1, Y: 3, Z: 6}, 0, 90},
		{"from the floor", Vec{X: 1, Y: 1.4, Z: 0}, 0, -45},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, ok := BearingOf(c.fixture, head, camera)
			if !ok {
				t.Fatal("unknown")
			}
			near(t, "azimuth", b.AzimuthDeg, c.azimuth, 1e-9)
			near(t, "elevation", b.ElevationDeg, c.elevation, 1e-9)
		})
	}
	for name, at := range map[string][2]Vec{"fixture at the head": {head, camera}, "camera overhead": {{}, {X: 1, Y: 3, Z: 9}}, "NaN": {{X: math.NaN()}, camera}, "endless": {{X: math.Inf(-1)}, camera}} {
		if b, ok := BearingOf(at[0], head, at[1]); ok {
			t.Errorf("%s: %+v", name, b)
		}
	}
}

func TestRoles(t *testing.T) {
	for _, c := range []struct {
		azimuth, elevation float64
		want               Role
	}{
		{0, 45, RoleKey}, {60, 45, RoleKey}, {-60, 45, RoleKey}, {60.1, 45, RoleSide}, {-119.9, 10, RoleSide}, {120, 30, RoleBack}, {-120, 30, RoleBack}, {180, 69.9, RoleBack},
		{180, 70, RoleTop}, {0, 70, RoleTop}, {0, 90, RoleTop}, {30, 10, RoleKey}, {30, 9.9, RoleFill}, {0, -45, RoleFill}, {90, -20, RoleSide},
	} {
		if got, ok := RoleByGeometry(Bearing{c.azimuth, c.elevation}); !ok || got != c.want {
			t.Errorf("%g, %g: got %s, %v; want %s", c.azimuth, c.elevation, got, ok, c.want)
		}
	}
	for _, b := range []Bearing{{math.NaN(), 0}, {0, math.NaN()}, {181, 0}, {0, 91}} {
		if role, ok := RoleByGeometry(b); ok {
			t.Errorf("%+v: %s", b, role)
		}
	}
}

// Turning place, camera and fixture together about the vertical leaves the bearing as it is.
func TestBearingTurnsWithTheRoom(t *testing.T) {
	coordinate := rapid.Float64Range(-10, 10)
	rapid.Check(t, func(rt *rapid.T) {
		fixture := Vec{X: coordinate.Draw(rt, "x"), Y: coordinate.Draw(rt, "y"), Z: coordinate.Draw(rt, "z")}
		sin, cos := math.Sincos(rapid.Float64Range(-4, 4).Draw(rt, "angle"))
		turned := func(v Vec) Vec { return Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y, Z: v.Z} }
		if math.Hypot(fixture.X-head.X, fixture.Y-head.Y) < 0.01 {
			rt.Skip("overhead, where the azimuth is anything")
		}
		a, ok1 := BearingOf(fixture, head, camera)
		b, ok2 := BearingOf(turned(fixture), turned(head), turned(camera))
		apart := math.Abs(math.Remainder(a.AzimuthDeg-b.AzimuthDeg, 360))
		if !ok1 || !ok2 || apart > 1e-9 || math.Abs(a.ElevationDeg-b.ElevationDeg) > 1e-9 {
			rt.Fatalf("%+v, turned %+v", a, b)
		}
	})
}
