package stage

import (
	"math"
	"testing"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
)

// TestClothing: words stand for what cloth gives back, a colour for its luminance (white is
// all of it), and where nobody says nothing is known.
func TestClothing(t *testing.T) {
	r := &Rig{Places: map[string]*schema.Place{"a": {Clothing: "black"}, "b": {Clothing: "#ffffff"}, "c": {}, "d": {Clothing: "tweed"}, "e": {Clothing: "white"}}}
	for place, want := range map[string]float64{"a": 0.04, "b": 1, "e": 0.8, "c": -1, "d": -1, "nowhere": -1} {
		part, ok := r.ClothingOf(place)
		if ok != (want >= 0) || ok && math.Abs(part-want) > 1e-6 {
			t.Errorf("who is at %q gives back %v, %v; not %v", place, part, ok, want)
		}
	}
}

// TestHowAnEyeSeesACell: a cell of a wall that looks at the eye has a cosine of 1, one turned by
// 60 degrees a half, one from behind none.
func TestHowAnEyeSeesACell(t *testing.T) {
	eye := photometry.Vec{Y: -4}
	for name, c := range map[string]struct {
		normal photometry.Vec
		want   float64
	}{"towards": {photometry.Vec{Y: -1}, 1}, "turned": {photometry.Vec{X: math.Sqrt(3) / 2, Y: -0.5}, 0.5}, "along": {photometry.Vec{Z: 1}, 0}, "from behind": {photometry.Vec{Y: 1}, 0}} {
		at := cell{at: photometry.Vec{}, normal: c.normal}
		cos, far, way := at.towards(eye)
		if math.Abs(cos-c.want) > 1e-12 || far != 4 || way != (photometry.Vec{Y: 4}) {
			t.Errorf("%s: a cosine of %v, %v m away by %v", name, cos, far, way)
		}
	}
	at := cell{at: eye, normal: photometry.Vec{Y: -1}}
	if cos, far, _ := at.towards(eye); cos != 1 || far != cellM {
		t.Errorf("a cell at the eye has a cosine of %v, %v m away", cos, far)
	}
}

// TestWhatIsInAPicture: a camera that sees 90 degrees has as much to each side as is before it, and whoever stands a
// quarter of a metre farther has a shoulder in it; half of its picture has half of that.
func TestWhatIsInAPicture(t *testing.T) {
	r, _ := rigOf(t, `{"room": {"cameras": [{"name": "front", "x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": 0, "z": 2}, "view_deg": 90}]}, "cues": []}`)
	views, lack := r.Room.fixedViews()
	if lack != "" || len(views) != 1 || math.Abs(views[0].half-1) > 1e-12 {
		t.Fatalf("%d views, for want of %s", len(views), lack)
	}
	for _, c := range []struct {
		x, y, part float64
		in         bool
	}{
		{0, 0, 1, true}, {10.2, 0, 1, true}, {-10.2, 0, 1, true}, {10.3, 0, 1, false}, {-10.3, 0, 1, false}, {5.2, -5, 1, true}, {5.3, -5, 1, false}, {0, -11, 1, false},
		{5.2, 0, 0.5, true}, {-5.2, 0, 0.5, true}, {5.3, 0, 0.5, false},
	} {
		if got := views[0].has(photometry.Vec{X: c.x, Y: c.y, Z: 2}, c.part); got != c.in {
			t.Errorf("%v, %v is in %v of the picture: %v", c.x, c.y, c.part, got)
		}
	}
	for name, camera := range map[string]string{
		"carried about": `"role": "roaming", "x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": 0, "z": 2}, "view_deg": 90`,
		"a telephone":   `"role": "phone", "x": 0, "y": -10, "z": 2, "view_deg": 90`,
		"no aim":        `"x": 0, "y": -10, "z": 2, "view_deg": 90`,
		"no height":     `"x": 0, "y": -10, "aimed_at": {"x": 0, "y": 0, "z": 2}, "view_deg": 90`,
		"no angle":      `"x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": 0, "z": 2}`,
		"half a circle": `"x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": 0, "z": 2}, "view_deg": 180`,
		"at itself":     `"x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": -10, "z": 2}, "view_deg": 90`,
	} {
		r, _ := rigOf(t, `{"room": {"cameras": [{"name": "front", `+camera+`}]}, "cues": []}`)
		if views, lack := r.Room.fixedViews(); lack != noView || len(views) > 0 {
			t.Errorf("%s: %d views, for want of %q", name, len(views), lack)
		}
	}
	r, _ = rigOf(t, `{"room": {"cameras": [{"name": "tripod", "role": "phone", "x": 0, "y": -10, "z": 2, "aimed_at": {"x": 0, "y": 0, "z": 2}, "view_deg": 90}]}, "cues": []}`)
	if views, lack := r.Room.fixedViews(); lack != "" || len(views) != 1 {
		t.Errorf("a telephone that stands and looks where it is told: %d views, for want of %q", len(views), lack)
	}
	r, _ = rigOf(t, `{"room": {}, "cues": []}`)
	if _, lack := r.Room.fixedViews(); lack != noView {
		t.Errorf("without a camera it lacks %q", lack)
	}
}

// A side has a cell for each begun decimetre, one at least and 128 at most.
func TestCellsAlongASide(t *testing.T) {
	for side, want := range map[float64]int{0: 1, 0.05: 1, 0.1: 1, 0.11: 2, 0.5: 5, 12.8: 128, 13: 128} {
		if got := cellsAlong(side); got != want {
			t.Errorf("%g m have %d cells, want %d", side, got, want)
		}
	}
}
