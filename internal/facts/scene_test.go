package facts

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"
)

// room is a hall for one person on the place "lectern", whose head is at (0, 2,
// 1.6), and what is said of it.
type room struct {
	cameras, surfaces, more string // members of room
	places                  string // more of them
	types, patch, cues      string
	people                  string
}

// Parts of rooms. The spot has 20,000 cd on its axis.
const (
	frontCamera = `{"name": "front", "x": 0, "y": -10, "z": 1.6, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400}`
	spotType    = `{"name": "spot", "source": "white-led", "white_k": 5600, "peak_cd": 20000, "beam_deg": 20, "field_deg": 30}`
)

func (r room) measure(t stopper) *Measured {
	t.Helper()
	return measured(r.read(t))
}

func (r room) read(t stopper) *schema.Show {
	t.Helper()
	if r.cameras == "" {
		r.cameras = frontCamera
	}
	if r.types == "" {
		r.types = spotType
	}
	if r.cues == "" {
		r.cues = `{"cue": 1, "set": [{"channels": "all", "level": 50}]}`
	}
	if r.people == "" {
		r.people = `"lectern"`
	}
	return readShow(t, fmt.Sprintf(`{
		"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "head_m": 1.6}%s], "cameras": [%s], "surfaces": [%s]%s},
		"types": [%s], "patch": [%s], "cues": [%s], "order": [{"name": "reading", "start_cue": 1, "people": [%s]}]}`,
		r.places, r.cameras, r.surfaces, r.more, r.types, r.patch, r.cues, r.people))
}

func fixture(channel int, purpose string, x, y, z float64, more string) string {
	return fmt.Sprintf(`{"channel": %d, "type": "spot", "purpose": %q, "hung_at": {"x": %v, "y": %v, "z": %v}, "aimed_at": "lectern"%s}`, channel, purpose, x, y, z, more)
}

// TestFromTheHouse holds what is measured where nobody says where the cameras stand against
// the same with one that stands straight in front and as high as the face.
func TestFromTheHouse(t *testing.T) {
	const drape = `{"name": "drape", "kind": "drape", "centre": {"x": 0, "y": 8, "z": 2}, "width_m": 9, "height_m": 4, "reflectance": 0.2}`
	r := room{patch: fixture(1, "key", 3, -2, 5.6, "") + "," + fixture(2, "back", 1, 6, 5.6, ""), surfaces: drape}
	r.cameras = `{"name": "front", "x": 0, "y": -8, "z": 1.6}`
	want := r.measure(t).People[0]
	for _, camera := range []string{`{"name": "front"}`, `{"name": "front", "x": 0, "y": -8}`, " "} {
		r.cameras = camera
		p := r.measure(t).People[0]
		for _, word := range slices.Concat([]string{"turned_deg"}, sidedFacts, betweenFacts, facedFacts) {
			is, _ := ValueOf(p, word)
			was, _ := ValueOf(want, word)
			if !sameValue(reflect.ValueOf(&is.Value).Elem().Elem(), reflect.ValueOf(&was.Value).Elem().Elem()) && was.Value != nil {
				t.Errorf("with the camera %s %s is %v, want %v", camera, word, is.Value, was.Value)
			}
			if b := p.Basis(word); is.Value != nil && (b.Known != finding.Assumed || !slices.Contains(b.Rests, fromTheHouse)) {
				t.Errorf("%s rests on %v", word, b)
			}
		}
		if _, why := ValueOf(p, "under_stops"); p.Under != nil || len(p.Why("under_stops")) != 1 || !why {
			t.Errorf("nobody knows what a camera is set for, and %s is %v", factText(p.Under), p.Why("under_stops"))
		}
	}
	r.places = `, {"name": "riser", "x": 3, "y": 2, "head_m": 1.6, "facing_deg": 20}`
	r.people = `"riser"`
	p := r.measure(t).People[0]
	for _, word := range []string{"face_lx", "cheek_stops", "light_half_deg"} {
		if b := p.Basis(word); slices.Contains(b.Rests, fromTheHouse) {
			t.Errorf("%s of somebody who looks to a side that is told rests on %v", word, b)
		}
	}
}

// TestOneLampOneFace: E = I cos/d^2 by hand. The key stands 4 m before and 4 m
// above the head, so d^2 is 32 and both cosines are 1/sqrt 2; the back light is its
// mirror image, straight on the shoulders, which look back and up by 45 degrees.
func TestOneLampOneFace(t *testing.T) {
	face := 0.5 * 20000 / math.Sqrt2 / 32
	r := room{patch: fixture(1, "key", 0, -2, 5.6, "")}
	p := r.measure(t).People[0]
	if !isNear(p.FaceLux, face, exact*face) || !isNear(p.KeyElevation, 45, 1e-9) || !isNear(p.KeyAzimuth, 0, 1e-9) {
		t.Errorf("%s lx at %s, %s degrees, want %v at 45, 0", factText(p.FaceLux), factText(p.KeyElevation), factText(p.KeyAzimuth), face)
	}
	if !isNear(p.BackLux, 0, 0) || *p.KeyCount != 1 || *p.BackCount != 0 || *p.ColouredShare != 0 || !isNear(p.FaceCCT, 5600, oneKelvin) {
		t.Errorf("back %s lx, %d keys, %d backs, coloured %v, %s K", factText(p.BackLux), *p.KeyCount, *p.BackCount, *p.ColouredShare, factText(p.FaceCCT))
	}
	t.Run("back light", func(t *testing.T) {
		r := room{patch: r.patch + "," + fixture(2, "back", 0, 6, 5.6, "")}
		p := r.measure(t).People[0]
		back := 0.5 * 20000 / 32.0
		if !isNear(p.FaceLux, face, exact*face) || !isNear(p.BackLux, back, exact*back) || !isNear(p.BackRatio, math.Sqrt2, exact) || *p.BackCount != 1 {
			t.Errorf("face %s, back %s lx, ratio %s, want %v, %v, sqrt 2", factText(p.FaceLux), factText(p.BackLux), factText(p.BackRatio), face, back)
		}
		for _, ratio := range []float64{1, 0.5, 2} {
			if turns := p.BacksToTurn(ratio); len(turns) != 1 || turns[0].Wanted != math.Ceil(ratio*50/math.Sqrt2) || !p.BacksCanReach(ratio) {
				t.Errorf("for a ratio of %v backs to turn %v", ratio, turns)
			}
		}
		if p.BacksCanReach(3) {
			t.Error("a back light is turned over full")
		}
	})
	t.Run("twice as far is a quarter", func(t *testing.T) {
		p := room{patch: fixture(1, "key", 0, -6, 9.6, "")}.measure(t).People[0]
		if !isNear(p.FaceLux, face/4, exact*face) {
			t.Errorf("%s lx, want %v", factText(p.FaceLux), face/4)
		}
	})
	t.Run("ambient light is added", func(t *testing.T) {
		p := room{patch: r.patch, more: `, "ambient_lx": 3`}.measure(t).People[0]
		if !isNear(p.FaceLux, face+3, exact*face) || !isNear(p.ColouredShare, 0, 0) {
			t.Errorf("%s lx, want %v", factText(p.FaceLux), face+3)
		}
	})
	t.Run("three cameras", func(t *testing.T) {
		// The face turns to each camera; the light on it is the most of the three,
		// and the worst camera is told by its own exposure.
		camera := func(name string, deg, wanted float64) string {
			x, y := 10*math.Sin(deg*math.Pi/180), 2-10*math.Cos(deg*math.Pi/180)
			// C N^2/(t S) with C 250, N 4, S 400: 10/t lux.
			return fmt.Sprintf(`{"name": %q, "x": %v, "y": %v, "z": 1.6, "aperture_f": 4, "shutter_s": %v, "sensitivity_iso": 400}`, name, x, y, 10/wanted)
		}
		p := room{patch: fixture(1, "key", 0, -2, 5.6, ""), cameras: camera("left", -40, 50) + "," + camera("front", 0, 500) + "," + camera("right", 60, 200)}.measure(t).People[0]
		under := math.Log2(500 / face)
		over := math.Log2(face * math.Cos(40*math.Pi/180) / 50)
		if !isNear(p.FaceLux, face, exact*face) || !isNear(p.Under, under, 1e-9) || p.UnderCamera != "front" || !isNear(p.Over, over, 1e-9) || p.OverCamera != "left" {
			t.Errorf("%s lx, %s under on %q, %s over on %q, want %v, %v, %v", factText(p.FaceLux), factText(p.Under), p.UnderCamera, factText(p.Over), p.OverCamera, face, under, over)
		}
	})
	t.Run("light on the body", func(t *testing.T) {
		s, looks := laidOut(room{patch: fixture(1, "key", 0, -2, 5.6, "") + "," + fixture(2, "back", 0, 6, 5.6, "")}.read(t))
		for i, want := range []float64{stage.BodyArea * 20000 / math.Sqrt2 / 32, stage.BodyArea * 20000 / 32.0} {
			if got := s.Stand("lectern").Body[looks[0].Lamps[i].Beam.Column]; math.Abs(got-want) > exact*want {
				t.Errorf("channel %d: %v lm, want %v", i+1, got, want)
			}
		}
	})
}

// laidOut measures a show as far as the light on its people, and gives the scene.
func laidOut(show *schema.Show) (*stage.Room, []*stage.LookLight) {
	looks := tracking.Resolve(show)
	r := stage.NewRig(show, looks, nil)
	list := litLooks(r, looks)
	return r.Room, list
}

// TestTheRoomMayMove turns and shifts the whole room: places, cameras, surfaces,
// fixtures, aims. No fact changes. Areas lie along the axes and cannot be turned, so there
// are none.
func TestTheRoomMayMove(t *testing.T) {
	open := func(t stopper, name string) *schema.Show {
		show := demo(t, name)
		show.Room.Areas = nil
		return show
	}
	before := map[string]*Measured{"mended": measured(open(t, "mended")), "flawed": measured(open(t, "flawed"))}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"flawed", "mended"}).Draw(t, "show")
		show := open(t, name)
		move(show, rapid.Float64Range(-180, 180).Draw(t, "turn"), rapid.Float64Range(-50, 50).Draw(t, "x"), rapid.Float64Range(-50, 50).Draw(t, "y"), rapid.Float64Range(-5, 5).Draw(t, "z"))
		sameFacts(t, before[name], measured(show))
	})
}

func move(show *schema.Show, deg, dx, dy, dz float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	turn := func(x, y *float64) {
		if x != nil && y != nil {
			*x, *y = cos**x-sin**y+dx, sin**x+cos**y+dy
		}
	}
	point := func(p *schema.Point) {
		if p != nil {
			turn(&p.X, &p.Y)
			p.Z += dz
		}
	}
	moved := map[*schema.Point]bool{}
	aim := func(a *schema.Aim) {
		if a != nil && !moved[a.Point] {
			moved[a.Point] = true
			point(a.Point)
		}
	}
	add := func(number **float64, by float64) {
		v := by + stage.Value(*number)
		*number = &v
	}
	for _, p := range show.Room.Places {
		turn(p.X, p.Y)
		add(&p.Z, dz)
		add(&p.FacingDeg, deg)
	}
	for _, c := range show.Room.Cameras {
		turn(c.X, c.Y)
		add(&c.Z, dz)
		aim(c.AimedAt)
	}
	for _, s := range show.Room.Surfaces {
		point(s.Centre)
		add(&s.FacingDeg, deg)
	}
	for _, f := range show.Patch {
		point(f.HungAt)
		aim(f.AimedAt)
	}
	for _, cue := range show.Cues {
		for _, set := range cue.Set {
			aim(set.Aim)
		}
	}
}

// sameFacts compares all plain facts of two shows: texts and counts as they are,
// numbers to a millionth, because sines and sums round.
func sameFacts(t interface{ Fatalf(string, ...any) }, a, b *Measured) {
	for _, kind := range KindNames() {
		as, bs := a.Subjects(kind), b.Subjects(kind)
		if len(as) != len(bs) {
			t.Fatalf("%d %ss, before %d", len(bs), kind, len(as))
		}
		for i := range as {
			for _, word := range WordsOf(kind) {
				x, _ := ValueOf(as[i], word)
				y, _ := ValueOf(bs[i], word)
				u, isNumber := x.Value.(float64)
				v, both := y.Value.(float64)
				if isNumber && both && math.Abs(u-v) <= 1e-6*max(1, math.Abs(u)) {
					continue
				}
				if fmt.Sprint(x.Value) != fmt.Sprint(y.Value) {
					t.Fatalf("%s %v, cue %q: %s is %v, was %v", kind, as[i].Names(), as[i].Cue(), word, y.Value, x.Value)
				}
			}
		}
	}
}

// TestGridIsFineEnough halves the step of the grid on the surfaces of the demo
// shows, and holds what that changes to what room.go states.
func TestGridIsFineEnough(t *testing.T) {
	const share, lux = 0.02, 0.03
	worst := 0.0
	for _, name := range []string{"mended", "flawed"} {
		s, looks := laidOut(demo(t, name))
		for _, c := range s.Panels {
			coarse, fine := means(t, s, c, 1), means(t, s, c, 2)
			for _, look := range looks {
				a, b := 0.0, 0.0
				for _, lamp := range look.Lamps {
					column := lamp.Beam.Column
					a += lamp.Share * coarse[column]
					b += lamp.Share * fine[column]
				}
				if b >= 1 {
					worst = max(worst, math.Abs(a-b)/b)
				}
				if b >= 1 && math.Abs(a-b) >= share*b || b < 1 && math.Abs(a-b) >= lux {
					t.Errorf("%s, cue %s, %s: %.4g lx, on a finer grid %.4g", name, look.Resolved.Number, c.Surface.Name, a, b)
				}
			}
		}
	}
	if worst == 0 {
		t.Error("nothing was compared")
	}
	t.Logf("largest change %.2f %%", 100*worst)
}

// means are the mean lux on a surface of every column at full, on a grid that is
// finer by a factor.
func means(t *testing.T, s *stage.Room, c *stage.Panel, finer int) []float64 {
	grid, err := c.Rect.Grid(finer*stage.SamplesAcross, finer*stage.SamplesDown)
	if err != nil {
		t.Fatal(err)
	}
	mean := make([]float64, len(s.Columns))
	for column, b := range s.Columns {
		for _, receiver := range grid {
			lux, ok := b.Source.Coefficient(receiver)
			if !ok {
				t.Fatal("a fixture on a surface")
			}
			mean[column] += lux / float64(len(grid))
		}
	}
	return mean
}

// TestLooksInAnyOrder lights the looks of a show in any order: each has the light, to the
// last bit, that it has when it is worked out from darkness.
func TestLooksInAnyOrder(t *testing.T) {
	s, looks := laidOut(demo(t, "flawed"))
	rapid.Check(t, func(t *rapid.T) {
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(looks)-1), 1, 12).Draw(t, "looks") {
			look := looks[i]
			if missing := s.Light(look); len(missing) > 0 {
				t.Fatalf("missing %q", missing)
			}
			levels := make([]float64, len(s.Columns))
			for _, lamp := range slices.Concat(look.Lamps, look.Others) {
				if lamp.Beam.Missing == "" && lamp.Missing == "" {
					levels[lamp.Beam.Column] = lamp.Share
				}
			}
			lux := make([]float64, len(s.Receivers))
			if err := s.Transport.Apply(lux, levels); err != nil {
				t.Fatal(err)
			}
			for receiver, want := range lux {
				if got := s.LuxAt(receiver); got != want {
					t.Fatalf("look %d has %g lx on receiver %d, the product %g", i, got, receiver, want)
				}
			}
		}
	})
}

// photometricFile is an LM-63 file of a round beam: candelas at 0, 10, 20, 30 and 90
// degrees from its axis.
const photometricFile = "IESNA:LM-63-2002\n[TEST] invented\n[MANUFAC] none\nTILT=NONE\n1 1000 1 5 1 1 2 0 0 0\n1 1 100\n0 10 20 30 90\n0\n5000 4000 2000 500 0\n"

func TestPhotometricFile(t *testing.T) {
	r := room{
		types:  `{"name": "spot", "source": "white-led", "white_k": 5600, "photometry": "spot.ies"}`,
		patch:  `{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -8, "z": 1.6}, "aimed_at": "lectern"}`,
		places: `, {"name": "aside", "x": 2.5, "y": 2, "head_m": 1.6}`,
		people: `"lectern", "aside"`,
	}
	measure := func(flux float64) []*Person {
		show := r.read(t)
		show.Types[0].PhotometryData = []byte(photometricFile)
		if flux > 0 {
			show.Types[0].FluxLm = &flux
		}
		return measured(show).People
	}
	people := measure(0)
	// On the axis 5000 cd from 10 m, at half level. Aside, the ray is at
	// atan(2.5/10) from the axis, where the file is a straight line from 4000 to
	// 2000 cd; the face looks at the camera from (2.5, 2) to (0, -10).
	if want := 0.5 * 5000 / 100.0; !isNear(people[0].FaceLux, want, exact*want) {
		t.Errorf("on the axis %s lx, want %v", factText(people[0].FaceLux), want)
	}
	deg := math.Atan(0.25) * 180 / math.Pi
	candela := 4000 + (deg-10)/10*(2000-4000)
	d2 := 2.5*2.5 + 100
	cos := (2.5*2.5 + 10*12) / math.Sqrt(d2) / math.Hypot(2.5, 12)
	want := 0.5 * candela * cos / d2
	if !isNear(people[1].FaceLux, want, 1e-9*want) {
		t.Errorf("aside %s lx, want %v", factText(people[1].FaceLux), want)
	}
	// The lamp in use need not be that of the file.
	show := r.read(t)
	show.Types[0].PhotometryData = []byte(photometricFile)
	flux := *lampsOf(measured(show), 0)[0].Lumens * 2 // at half level
	if scaled := measure(3 * flux); !isNear(scaled[1].FaceLux, 3*want, 1e-9*want) {
		t.Errorf("with three times the flux %s lx, want %v", factText(scaled[1].FaceLux), 3*want)
	}
}

func TestShutters(t *testing.T) {
	r := room{
		places: `, {"name": "riser", "x": 0, "y": 2, "z": 0.6, "head_m": 1.6}`, people: `"lectern", "riser"`,
		patch: fixture(1, "key", 0, -8, 1.6, ""),
	}
	open := r.measure(t).People
	// The riser's head is 0.6 m above the axis, 10 m away: at 0.06 over the tangent
	// of 15 degrees, 22 % of the radius of the field. The percent of a blade are of
	// the whole picture: 40 % from the top is 20 % of the radius above the axis.
	r.patch = fixture(1, "key", 0, -8, 1.6, `, "shutters": [{"side": "top", "depth_pct": 40}]`)
	cut := r.measure(t).People
	if *open[1].FaceLux <= 0 || !isNear(cut[1].FaceLux, 0, 0) || !isNear(cut[0].FaceLux, *open[0].FaceLux, 0) {
		t.Errorf("open %s and %s lx, cut %s and %s", factText(open[0].FaceLux), factText(open[1].FaceLux), factText(cut[0].FaceLux), factText(cut[1].FaceLux))
	}
	r.patch = fixture(1, "key", 0, -8, 1.6, `, "shutters": [{"side": "top", "depth_pct": 38}]`)
	if p := r.measure(t).People[1]; !isNear(p.FaceLux, *open[1].FaceLux, 0) {
		t.Errorf("a shutter that stays outside takes light: %s lx", factText(p.FaceLux))
	}
}

func TestZoom(t *testing.T) {
	r := room{
		types: `{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 3600, "zoom": {"narrow": {"beam_deg": 10, "field_deg": 16, "flux_lm": 2400}, "wide": {"beam_deg": 38, "field_deg": 54, "flux_lm": 3600}}}`,
		patch: fixture(1, "key", 0, -8, 1.6, `, "zoom_deg": 35`),
	}
	for _, test := range []struct{ zoom, beam, field, flux float64 }{
		{16, 10, 16, 2400}, {35, 24, 35, 3000}, {54, 38, 54, 3600}, {90, 38, 54, 3600}, {2, 10, 16, 2400},
	} {
		light, err := photometry.NewBeamFromFlux(test.beam, test.field, test.flux)
		if err != nil {
			t.Fatal(err)
		}
		r.cues = fmt.Sprintf(`{"cue": 1, "set": [{"channels": "1", "level": 50, "zoom_deg": %v}]}`, test.zoom)
		if want := 0.5 * light.Peak() / 100; !isNear(r.measure(t).People[0].FaceLux, want, 1e-9*want) {
			t.Errorf("at %v degrees %s lx, want %v", test.zoom, factText(r.measure(t).People[0].FaceLux), want)
		}
	}
}

// TestUnknownScene breaks each thing that light on a face is worked out from.
func TestUnknownScene(t *testing.T) {
	spot := func(angles string) string {
		return `{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 1000` + angles + `}`
	}
	key := fixture(1, "key", 0, -2, 5.6, "")
	for _, test := range []struct {
		name string
		room room
		want string
	}{
		{"a fixture at its own target", room{patch: fixture(1, "key", 0, 2, 1.6, "")}, "an aim of the fixture on channel 1 that is not the fixture itself"},
		{"a fixture on the face", room{patch: strings.Replace(fixture(1, "key", 0, 2, 1.6, ""), `"lectern"`, `{"x": 0, "y": 0, "z": 0}`, 1)}, "a position of the fixture on channel 1 that is not on a person or a screen"},
		{"no angle", room{patch: key, types: spot("")}, `the beam or field angle of the type "spot"`},
		{"an angle of zero", room{patch: key, types: spot(`, "beam_deg": 0`)}, `other numbers for the type "spot" (beam angle 0 degrees: must be above 0 and below 180)`},
		{"a negative angle", room{patch: key, types: spot(`, "beam_deg": -20, "field_deg": 30`)}, `other numbers for the type "spot" (beam angle -20 degrees: must be above 0 and below 180)`},
		{"a field smaller than the beam", room{patch: key, types: spot(`, "beam_deg": 30, "field_deg": 20`)}, `other numbers for the type "spot" (field angle 20 degrees is smaller than beam angle 30 degrees: are they swapped?)`},
		{"a field that is the beam", room{patch: key, types: spot(`, "beam_deg": 20, "field_deg": 20`)}, `the field angle of the type "spot", to a tenth of the peak: it is given as the beam angle, 20 degrees, and is always the wider one`},
		{"no light", room{patch: key, types: `{"name": "spot", "source": "white-led", "white_k": 5600, "beam_deg": 20}`}, `the flux or peak candela of the type "spot"`},
		{"nothing at all", room{patch: key, types: `{"name": "spot", "source": "white-led", "white_k": 5600}`}, `the beam or field angle and the flux or peak candela of the type "spot"`},
		{"half a metre and no more", room{patch: fixture(1, "key", 0, 1.51, 1.6, "")}, `a measured light on the place "lectern": the fixture on channel 1 is nearer than 0.5 m, where no law of light from a distance holds`},
		{"an angle over all", room{patch: key, types: spot(`, "beam_deg": 300`)}, `other numbers for the type "spot" (beam angle 300 degrees: must be above 0 and below 180)`},
		{"a zoom that is not set", room{patch: key, types: spot(`, "zoom": {"narrow": {"beam_deg": 10}, "wide": {"beam_deg": 40}}`)}, `the zoom that the fixtures of the type "spot" are set to`},
		{"a zoom the wrong way round", room{patch: fixture(1, "key", 0, -2, 5.6, `, "zoom_deg": 20`), types: spot(`, "zoom": {"narrow": {"beam_deg": 40}, "wide": {"beam_deg": 10}}`)}, `other numbers for the zoom of the type "spot" (zoom: narrow end 40 degrees is wider than wide end 10 degrees)`},
		{"a zoom with one end", room{patch: fixture(1, "key", 0, -2, 5.6, `, "zoom_deg": 20`), types: spot(`, "zoom": {"narrow": {"beam_deg": 10}, "wide": {}}`)}, `the beam or field angle of the wide end of the zoom of the type "spot"`},
		{"a file that is none", room{patch: key, types: spot(`, "photometry": "spot.ies"`)}, `a photometric file for the type "spot" that can be read`},
		{"nowhere", room{patch: `{"channel": 1, "type": "spot", "purpose": "key", "aimed_at": "lectern"}`}, "where the fixture on channel 1 hangs"},
		{"at nothing", room{patch: `{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": 0, "z": 5}}`}, "where the fixture on channel 1 is aimed"},
		{"at something unknown", room{patch: strings.Replace(key, `"lectern"`, `"font"`, 1)}, `where "font" is`},
		{"a shutter that is none", room{patch: fixture(1, "key", 0, -2, 5.6, `, "shutters": [{"side": "top", "depth_pct": 500}]`)}, "shutters of the fixture on channel 1 that its beam can have"},
		{"a place outside the room", room{patch: key, people: `"balcony"`}, `the place "balcony" in the room`},
		{"a place without a head", room{patch: key, places: `, {"name": "riser", "x": 1, "y": 1}`, people: `"riser"`}, `x, y and the head height of the place "riser"`},
		{"a camera right above", room{patch: key, cameras: `{"name": "one", "x": 0, "y": 2, "z": 9}`}, `a camera that is not straight above the place "lectern", as "one" is`},
		{"wild ambient light", room{patch: key, more: `, "ambient_lx": 1e300`}, "an ambient light of the room that a room can have"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := test.room.measure(t).People[0]
			for _, word := range []string{"face_lx", "under_stops", "over_stops", "back_lx", "coloured_share", "face_cct_k", "key_elevation_deg"} {
				fact, _ := ValueOf(p, word)
				if fact.Value != nil || !slices.Contains(p.Why(word), test.want) {
					t.Errorf("%s is %v, missing %q, want %q", word, fact.Value, p.Why(word), test.want)
				}
			}
		})
	}
	t.Run("no room", func(t *testing.T) {
		p := measured(readShow(t, `{"types": [`+spotType+`], "patch": [`+key+`], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}], "order": [{"name": "reading", "start_cue": 1, "people": ["lectern"]}]}`)).People[0]
		if p.FaceLux != nil || p.Why("face_lx")[0] != "the room, with its places and cameras" {
			t.Errorf("%s lx, missing %q", factText(p.FaceLux), p.Why("face_lx"))
		}
	})
	t.Run("a camera right above beside one in front", func(t *testing.T) {
		p := room{patch: key, cameras: frontCamera + `, {"name": "above", "x": 0, "y": 2, "z": 9}`}.measure(t).People[0]
		if p.FaceLux == nil || p.Under == nil || p.UnderCamera != "front" {
			t.Errorf("%s lx, %s under on %q, missing %q: the camera above sees no face and has no say", factText(p.FaceLux), factText(p.Under), p.UnderCamera, p.Why("under_stops"))
		}
	})
	t.Run("a camera without exposure", func(t *testing.T) {
		for cameras, want := range map[string]string{
			frontCamera + `, {"name": "side", "x": 5, "y": -5, "z": 1.6}`:                                                                      `the aperture, shutter and sensitivity of the camera "side"`,
			frontCamera + `, {"name": "side", "x": 5, "y": -5, "z": 1.6, "aperture_f": 0, "shutter_s": 0.02, "sensitivity_iso": 400}`:          `an aperture, shutter and sensitivity above zero for the camera "side"`,
			frontCamera + `, {"name": "side", "x": 5, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400}`:                             `x, y and z of the camera "side"`,
			frontCamera + `, {"name": "side", "x": 5, "y": -5, "z": 1.6, "aperture_f": 1e300, "shutter_s": 5e-324, "sensitivity_iso": 5e-324}`: `an aperture, shutter and sensitivity above zero for the camera "side"`,
		} {
			p := room{patch: key, cameras: cameras}.measure(t).People[0]
			part := false
			p.InPart(func(fact string) { part = part || fact == "under_stops" })
			if p.FaceLux == nil || p.Under == nil || p.UnderCamera != "front" || !part || !slices.Equal(p.Why("under_stops"), []string{want}) {
				t.Errorf("%s lx, %s under on %q, in part %v, missing %q, want what the front camera tells, and %q", factText(p.FaceLux), factText(p.Under), p.UnderCamera, part, p.Why("under_stops"), want)
			}
		}
	})
	t.Run("a surface of no size", func(t *testing.T) {
		for size, want := range map[string]string{`"width_m": 0, "height_m": 2`: `a size of the surface "wall" above zero`, `"width_m": 2`: `the centre, width and height of the surface "wall"`} {
			m := room{patch: key, surfaces: `{"name": "wall", "kind": "emissive", "centre": {"x": 0, "y": 6, "z": 2}, ` + size + `, "peak_cd_m2": 500, "drive_pct": 20, "reflectance": 0.05}`}.measure(t)
			s := m.Showings[0]
			if s.SpillLux != nil || s.KeySpill != nil || s.Contrast != nil || !slices.Contains(s.Why("spill_lx"), want) {
				t.Errorf("%s lx, missing %q, want %q", factText(s.SpillLux), s.Why("spill_lx"), want)
			}
		}
	})
}

// TestLevelFor: the level that is proposed gives the light that is wanted, and one
// percent less does not, on every dimmer curve.
func TestLevelFor(t *testing.T) {
	for _, source := range []string{`"source": "white-led"`, `"source": "tungsten"`, `"source": "tungsten", "halogen": true`} {
		for _, curve := range []string{"", "linear", "square", "s"} {
			kind := source + `, "white_k": 3200, "flux_lm": 1000`
			if curve != "" {
				kind += fmt.Sprintf(`, "dimmer_curve": %q`, curve)
			}
			t.Run(kind, rapid.MakeCheck(func(t *rapid.T) {
				level, factor := rapid.Float64Range(5, 100).Draw(t, "level"), rapid.Float64Range(0.05, 4).Draw(t, "factor")
				lamp := oneLamp(t, kind, "", fmt.Sprintf(`"level": %v`, level))
				wanted := *lamp.Lumens * factor
				got := lamp.lamp.LevelFor(factor)
				lumens := func(level float64) float64 {
					if level <= 0 {
						return 0
					}
					return *oneLamp(t, kind, "", fmt.Sprintf(`"level": %v`, level)).Lumens
				}
				const slack = 1e-6 // of the light: the curve is followed to that part of a percent
				switch {
				case got > 100 && wanted <= 1000*(1-slack):
					t.Fatalf("%v %% times %v cannot be reached", level, factor)
				case got > 100:
				case got != math.Round(got) || lumens(got) < wanted*(1-slack) || lumens(got-1) > wanted*(1+slack):
					t.Fatalf("%v %% times %v is %v %%: %v lm, one less %v, want %v", level, factor, got, lumens(got), lumens(got-1), wanted)
				}
			}))
		}
	}
}

// TestLooksSideBySide measures a show with enough looks for several cores: on one
// core it has the same facts.
func TestLooksSideBySide(t *testing.T) {
	var text bytes.Buffer
	cues := 100
	if os.Getenv("CUEPROOF_LONG") != "" {
		cues = 300
	}
	if err := bigshow.Write(&text, bigshow.Size{Fixtures: 90, Cues: cues, Places: 4}); err != nil {
		t.Fatal(err)
	}
	show := readShow(t, text.String())
	looks := tracking.Resolve(show)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(4))
	many := Measure(show, looks)
	runtime.GOMAXPROCS(1)
	one := Measure(show, looks)
	compared := 0
	for kind := range Kinds() {
		a, b := many.Subjects(kind), one.Subjects(kind)
		if len(a) != len(b) {
			t.Fatalf("%d subjects of the kind %s, on one core %d", len(a), kind, len(b))
		}
		for i := range a {
			for _, word := range WordsOf(kind) {
				x, _ := ValueOf(a[i], word)
				y, _ := ValueOf(b[i], word)
				if !reflect.DeepEqual(x, y) || !slices.Equal(a[i].Why(word), b[i].Why(word)) {
					t.Fatalf("%s of %s %v is %v, on one core %v", word, kind, a[i].Names(), x.Value, y.Value)
				}
				compared++
			}
		}
	}
	if compared < 333*cues {
		t.Errorf("only %d facts were compared", compared)
	}
}

// The light of a narrow beam on a wall is its lumens over the area, wherever on the wall
// it lands: a grid of samples once found none, or eight times as much.
func TestNarrowBeamOnAWall(t *testing.T) {
	for _, beam := range []float64{2, 3, 5, 8, 20, 40} {
		for _, at := range []float64{-1.1, -0.4, 0, 0.13, 0.77, 2} {
			m := room{
				types:    fmt.Sprintf(`{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 3840, "beam_deg": %v, "field_deg": %v}`, beam, 1.5*beam),
				patch:    fmt.Sprintf(`{"channel": 1, "type": "spot", "purpose": "key", "hung_at": {"x": %v, "y": 2, "z": 3}, "aimed_at": {"x": %v, "y": 6, "z": %v}}`, at, at, 3+at/3),
				cues:     `{"cue": 1, "set": [{"channels": "1", "level": 100}]}`,
				surfaces: `{"name": "wall", "kind": "emissive", "centre": {"x": 0, "y": 6, "z": 3}, "width_m": 10, "height_m": 6, "peak_cd_m2": 500, "drive_pct": 20, "reflectance": 0.05}`,
			}.measure(t)
			if lux := m.Showings[0].SpillLux; !isNear(lux, 64, 64*0.05) { // 3840 lm on 60 m2
				t.Errorf("a beam of %v degrees at %v m leaves %s lx, want 64", beam, at, factText(lux))
			}
		}
	}
}

// TestAFixtureHalfAMetreAway from a face is reckoned with.
func TestAFixtureHalfAMetreAway(t *testing.T) {
	for y, known := range map[float64]bool{1.51: false, 1.5: true, 1.4: true} {
		if p := (room{patch: fixture(1, "key", 0, y, 1.6, "")}).measure(t).People[0]; (p.FaceLux != nil) != known {
			t.Errorf("%g m away the light is known: %t (%q)", 2-y, !known, p.Why("face_lx"))
		}
	}
}
