package schema

import (
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
)

func barred(t *testing.T, bars, patch string) *Show {
	t.Helper()
	show := &Show{}
	for section, text := range map[string]string{"room": `{"bars": ` + bars + `}`, "patch": patch} {
		file := &source.File{Name: section + ".json", Text: text}
		if problems, ok := source.ParseJSON(file); !ok {
			t.Fatal(problems)
		}
		show.Read(section, file.Root())
	}
	return show
}

const frontBar = `[{"name": "Front Bar", "zero": "middle", "from": {"x": -5, "y": -3, "z": 5}, "to": {"x": 5, "y": -3, "z": 5}}]`

// Positions are closed forms: metres along a straight line between two points.
func TestHangPlacesFixturesAlongTheirBar(t *testing.T) {
	show := barred(t, frontBar, `[
		{"channel": 1, "hung_on": "front  bar", "hung_at_m": -1.5},
		{"channel": 2, "hung_on": "Front Bar", "hung_order": 1},
		{"channel": 3, "hung_on": "Front Bar", "hung_order": 4},
		{"channel": 4, "hung_on": "Front Bar", "hung_at": {"x": 1, "y": 2, "z": 3}, "hung_order": 2},
		{"channel": 5, "hung_on": "somewhere else"},
		{"channel": 6, "hung_on": "Front Bar"}]`)
	if found := show.Hang(); len(found) > 0 {
		t.Fatal(found)
	}
	for i, want := range []struct {
		x   float64
		how string
	}{{-1.5, "derived"}, {-4, "inferred"}, {2, "inferred"}, {1, "read"}} { // 5 hang on it, so a fifth of 10 m for each
		f := show.Patch[i]
		if f.HungAt == nil || math.Abs(f.HungAt.X-want.x) > 1e-9 || f.Known.Of("hung_at").Word != want.how {
			t.Errorf("channel %d hangs at %+v, %s; want x = %v, %s", f.Channel, f.HungAt, f.Known.Of("hung_at").Word, want.x, want.how)
		}
	}
	if show.Patch[0].HungAt.Y != -3 || show.Patch[0].HungAt.Z != 5 {
		t.Errorf("channel 1 left its bar: %+v", show.Patch[0].HungAt)
	}
	if show.Patch[4].HungAt != nil || show.Patch[5].HungAt != nil {
		t.Error("a fixture on no bar, and one without an order among those that have one, cannot be placed")
	}
}

func TestHangSpreadsInTheOrderOfThePatch(t *testing.T) {
	show := barred(t, `[{"name": "b", "from": {"x": 0, "y": 0, "z": 0}, "to": {"x": 0, "y": 8, "z": 0}, "known": {"to": "assumed"}}]`,
		`[{"channel": 9, "hung_on": "b"}, {"channel": 3, "hung_on": "b"}]`)
	show.Hang()
	if show.Patch[0].HungAt.Y != 2 || show.Patch[1].HungAt.Y != 6 {
		t.Errorf("two on 8 m hang at %v and %v", show.Patch[0].HungAt.Y, show.Patch[1].HungAt.Y)
	}
	if how := show.Patch[0].Known.Of("hung_at").Word; how != "assumed" {
		t.Errorf("a place on a bar whose end is assumed is %s", how)
	}
}

func TestBeyondTheEndOfABar(t *testing.T) {
	for at, told := range map[string]bool{"5.05": false, "5.2": true, "-5.1": false, "-5.3": true} {
		show := barred(t, frontBar, `[{"channel": 1, "hung_on": "Front Bar", "hung_at_m": `+at+`}]`)
		found := show.Hang()
		if (len(found) == 1) != told {
			t.Errorf("at %s m from the middle of 10 m: %v", at, found)
		}
		if told && !strings.Contains(found[0].Message, "channel 1 hangs") {
			t.Error(found[0].Message)
		}
	}
}

// What is on a stand is at its top, whichever end is told first; a stand that is wider than high is a bar.
func TestStandsCarryTheirLampsAtTheTop(t *testing.T) {
	for ends, want := range map[string]float64{
		`"from": {"x": 2, "y": 1, "z": 0}, "to": {"x": 2, "y": 1, "z": 3}`:   3,
		`"from": {"x": 2, "y": 1, "z": 3}, "to": {"x": 2, "y": 1, "z": 0}`:   3,
		`"from": {"x": 0, "y": 1, "z": 0}, "to": {"x": 2.9, "y": 1, "z": 3}`: 3,
		`"from": {"x": 0, "y": 1, "z": 0}, "to": {"x": 3.1, "y": 1, "z": 3}`: 1.5,
	} {
		show := barred(t, `[{"name": "left", "kind": "stand", `+ends+`}]`, `[{"channel": 1, "hung_on": "left"}]`)
		show.Hang()
		if f := show.Patch[0]; math.Abs(f.HungAt.Z-want) > 1e-9 || f.Known.Of("hung_at").Word != "inferred" {
			t.Errorf("%s: at %+v, %s; want z = %v", ends, f.HungAt, f.Known.Of("hung_at").Word, want)
		}
	}
	show := barred(t, `[{"name": "left", "kind": "stand", "from": {"x": 2, "y": 1, "z": 0}, "to": {"x": 2, "y": 1, "z": 3}}]`, `[{"channel": 1, "hung_on": "left", "hung_at_m": 2.2}]`)
	if show.Hang(); math.Abs(show.Patch[0].HungAt.Z-2.2) > 1e-9 {
		t.Errorf("2.2 m up the stand is %+v", show.Patch[0].HungAt)
	}
}

// A stand carries its lamps at its top where it goes up more than along; what lies, or leans as far as it rises, is a bar.
func TestWhichBarsAreUpright(t *testing.T) {
	for _, c := range []struct {
		kind    string
		y, z    float64
		upright bool
	}{{"stand", 0, 3, true}, {"stand", 0, -3, true}, {"stand", 2, 2, false}, {"stand", 2, 2.1, true}, {"stand", -2, 2.1, true}, {"stand", 3, 0, false}, {"bar", 0, 3, false}, {"stand", 0, 0, false}} {
		b := &Bar{Kind: c.kind, From: &Point{X: 1, Y: 1, Z: 1}, To: &Point{X: 1, Y: 1 + c.y, Z: 1 + c.z}}
		if got := b.isUpright(); got != c.upright {
			t.Errorf("a %s of %v along and %v up is upright: %v", c.kind, c.y, c.z, got)
		}
	}
	for z, want := range map[float64]float64{3: 3, -3: 0} {
		b := &Bar{Kind: "stand", From: &Point{Z: 4}, To: &Point{Z: 4 + z}}
		if got := b.top(); got != want {
			t.Errorf("the top of a stand of %v m is %v along it, want %v", z, got, want)
		}
	}
}
