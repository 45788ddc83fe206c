package stage

import (
	"math"
	"testing"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
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
	// A square metre in front of it, ten metres away, is a hundredth of what a metre away is one; beside the picture, above
	// it, behind the camera and in little light there is nothing.
	for _, c := range []struct{ x, y, z, light, want float64 }{
		{0, 0, 2, 5, 0.01}, {9.9, 0, 2, 5, 0.01}, {10.1, 0, 2, 5, 0}, {-10.1, 0, 2, 5, 0}, {0, 0, 2 + 9.9*pictureHigh, 5, 0.01}, {0, 0, 2 + 10.1*pictureHigh, 5, 0}, {0, -20, 2, 5, 0}, {0, 0, 2, 4.9, 0},
	} {
		eye := photometry.Vec{Y: -10, Z: 2}
		at := photometry.Vec{X: c.x, Y: c.y, Z: c.z}
		way := r3.Sub(eye, at)
		one := cell{at: at, normal: r3.Unit(way), light: c.light, area: 1}
		want := c.want * r3.Norm(way) / 10 / (4 * pictureHigh) // it looks at the camera, and is farther away
		if got := views[0].part([]cell{one}, 5); math.Abs(got-want) > 1e-12 {
			t.Errorf("%+v fills %v of the picture, not %v", c, got, want)
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

// Of two hues the one with more light leads, or the one that is nearer to that which is to lead; the other may keep a part of its
// light, and be no farther up than that.
func TestTheSecondOfTwoHues(t *testing.T) {
	ptr := func(v float64) *float64 { return &v }
	red, blue := &Lamp{}, &Lamp{}
	for _, c := range []struct {
		about   string
		leading *float64
		drive   float64
		second  *Lamp
		factor  float64
	}{
		{"by their light", nil, 0, blue, 0.5 * 0.6 / 0.3}, {"the larger is to lead", ptr(20), 0, blue, 0.5 * 0.6 / 0.3}, {"the smaller is to lead", ptr(250), 0, red, 0.5 * 0.3 / 0.6},
		{"as far up", nil, 1, blue, 0.5 * 40 / 80}, {"the smaller is to lead, as far up", ptr(250), 1, red, 0.5 * 0.3 / 0.6},
	} {
		h := &Hues{Drive: c.drive, groups: []hueGroup{{hue: 10, share: 0.6, up: 40, tints: []int{0}}, {hue: 260, share: 0.3, up: 80, tints: []int{1}}}, tinted: []*Lamp{red, blue}, firsts: []int{0, 1, 2}}
		lamps, factor := h.SecondLamps(c.leading, 0.5)
		if len(lamps) != 1 || lamps[0] != c.second || math.Abs(factor-c.factor) > 1e-12 {
			t.Errorf("%s: %v by %g, want %v by %g", c.about, lamps, factor, c.second, c.factor)
		}
	}
	if lamps, factor := (&Hues{groups: make([]hueGroup, 1)}).SecondLamps(nil, 0.5); lamps != nil || factor != 1 {
		t.Errorf("of one hue it is %v by %g", lamps, factor)
	}
}

// What is aimed at a person is aimed at a place by its name, or at a point above its floor and up to a hand over the head of who
// stands there, no farther beside it than they are wide.
func TestAimedAtAPerson(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	r := &Rig{Places: map[string]*schema.Place{"desk": {Name: "desk", X: v(1), Y: v(2), Z: v(0.5), HeadM: v(1.6)}}}
	for i, c := range []struct {
		aim  *schema.Aim
		want bool
	}{
		{nil, false}, {&schema.Aim{Name: "desk"}, true}, {&schema.Aim{Name: "wall"}, false}, {&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 2}}, true},
		{&schema.Aim{Point: &schema.Point{X: 1 + personM, Y: 2, Z: 2}}, true}, {&schema.Aim{Point: &schema.Point{X: 1, Y: 2.01 + personM, Z: 2}}, false},
		{&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 0.5}}, false}, {&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 0.51}}, true},
		{&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 0.499 + 1.6 + overHeadM}}, true}, {&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 0.501 + 1.6 + overHeadM}}, false},
	} {
		if got := r.atPerson(c.aim); got != c.want {
			t.Errorf("%d: %t", i, got)
		}
	}
	for _, p := range []*schema.Place{{X: v(1)}, {Y: v(2)}} {
		r.Places = map[string]*schema.Place{"desk": p}
		if r.atPerson(&schema.Aim{Point: &schema.Point{X: 1, Y: 2, Z: 1}}) {
			t.Errorf("at %+v somebody is", p)
		}
	}
}
