package draw

import (
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

func p[T any](v T) *T { return &v }

// evening is a small evening by hand: an opening, a song, a talk, with a gap of knowledge,
// an assumed time and a flash that is too fast.
func evening() *outcome.Show {
	red, blue := scene.RGB{1, 0.1, 0.1}, scene.RGB{0.1, 0.2, 1}
	grid := scene.Grid{X0: -4, Y0: -2, DX: 0.5, DY: 0.5, NX: 17, NY: 13}
	front := scene.Grid{X0: -4, Y0: 0, DX: 0.5, DY: 0.5, NX: 17, NY: 9}
	for j := range grid.NY {
		for i := range grid.NX {
			grid.Lux = append(grid.Lux, 800*math.Exp(-math.Hypot(float64(i-8)/4, float64(j-6)/4)))
		}
	}
	for j := range front.NY {
		for i := range front.NX {
			front.Lux = append(front.Lux, 800*math.Exp(-math.Hypot(float64(i-8)/4, float64(j-3)/4)))
		}
	}
	s := &scene.Scene{
		Segments: []scene.Segment{{Name: "Opening", Kind: "opening", LengthS: p(300.0), Known: true}, {Name: "Song: A Lamp in the Window", Kind: "song", StartS: 300, LengthS: p(240.0), Known: true}, {Name: "Talk", Kind: "talk", StartS: 540, LengthS: p(1260.0), Known: true}},
		EndS:     p(1800.0),
		Limits:   scene.Limits{NearPeakStops: p(1.0), NearPeakPct: p(60.0), ClearHaze: p(1.0), ScreenStops: p(1.5), FaceUnder: p(1.0), Flashes: p(3.0)},
		Screens:  []string{"wall", "side"},
		Cues: []scene.Cue{
			{Number: "1", Name: "Doors", StartS: p(0.0), Stops: p(-3.2), HuesKnown: true, Hues: []scene.Hue{{Share: 1, Name: "red", Light: red}}, Flashes: p(0.0)},
			{Number: "2", Name: "Verse", Segment: 1, StartS: p(300.0), FadeS: 4, Stops: p(0.0), HuesKnown: true, Hues: []scene.Hue{{Share: 0.7, Name: "blue", Light: blue}, {Share: 0.3, Name: "red", Light: red}}, People: 2, FaceLow: p(-1.4), FaceHigh: p(0.2), Showings: []scene.Showing{{OverFace: p(3.1), DrivePct: p(100.0)}, {Screen: 1}}, Flashes: p(8.0)},
			{Number: "2.5", Segment: 1, StartS: p(420.0), Assumed: true, Stops: p(-1.0), People: 2, FaceLow: p(0.0), FaceHigh: p(0.0), FaceAssumed: true, Flashes: nil},
			{Number: "3", Name: "Talk", Segment: 2, StartS: p(540.0), HuesKnown: true, People: 1, Flashes: p(0.0)},
		},
		Room: &scene.Room{
			Surfaces: []scene.Surface{{Name: "wall", Kind: "emissive", Corners: [4]scene.Point{{X: -2, Y: 6, Z: 1.5}, {X: 2, Y: 6, Z: 1.5}, {X: 2, Y: 6, Z: 3.5}, {X: -2, Y: 6, Z: 3.5}}}, {Name: "drape", Kind: "drape", Corners: [4]scene.Point{{X: -5, Y: 6.5}, {X: 5, Y: 6.5}, {X: 5, Y: 6.5, Z: 5}, {X: -5, Y: 6.5, Z: 5}}}},
			Cameras:  []scene.Camera{{Name: "centre", At: scene.Point{Y: -12, Z: 1}, Aim: &scene.Point{Y: 1, Z: 1.6}, ViewDeg: p(12.0), WhiteK: p(5600.0), Main: true}},
		},
	}
	for i := range 30 {
		s.Haze = append(s.Haze, scene.Air{AtS: 60 * float64(i), MgM3: 4 * (1 - math.Exp(-float64(i)/6))})
	}
	s.Stages = []scene.Stage{{
		Cue: 1, FaceZ: 1.65, FrontY: 1, HasPeople: true, Wanted: p(490.0), Above: grid, Front: front,
		Lamps: []scene.Lamp{
			{Channel: 1, Purpose: "key", At: scene.Point{X: -3, Y: -3, Z: 5}, Lit: true, Light: scene.RGB{1, 1, 1}, End: &scene.Point{Y: 1, Z: 1.65}, Cut: true},
			{Channel: 2, Purpose: "wash", At: scene.Point{X: 3, Y: 5, Z: 5}, Lit: true, Light: blue, End: &scene.Point{X: 2, Y: 3}},
			{Channel: 3, Purpose: "key", At: scene.Point{X: 3, Y: -3, Z: 5}}, {Channel: 4, Purpose: "top", At: scene.Point{Y: 3, Z: 5}, Lit: true, Unknown: true},
		},
		People: []scene.Person{
			{Place: "lectern", At: scene.Point{Y: 1, Z: 1.65}, FacingDeg: p(0.0), Here: true, Known: true, Lux: p(560.0), Kelvin: p(5580.0), BackLux: p(20.0), Ratio: p(0.03), DarkBack: true},
			{Place: "keys", At: scene.Point{X: 2.2, Y: 2.4, Z: 1.2}, FacingDeg: p(-30.0), Here: true}, {Place: "steps", At: scene.Point{X: -2.5, Y: 0.4, Z: 1.6}, FacingDeg: p(20.0)},
		},
		Screens: []scene.ScreenLight{{Name: "wall", DrivePct: p(100.0), Light: scene.RGB{0.9, 1, 1.2}}},
	}}
	s.Faces = []scene.Face{{
		Place: "lectern", Cue: 1, Cues: []int{1}, Camera: "centre", CameraK: p(5600.0), Lux: 560, Wanted: p(490.0), Kelvin: p(4100.0), YawDeg: 8, BackLux: 20, Ratio: p(0.03), Ambient: 4, Known: true, Backdrop: "wall", Kind: "emissive", Stops: p(2.9), Behind: scene.RGB{0.8, 1, 1.4},
		Rays:   []scene.Ray{{Channel: 1, Lux: 330, AzimuthDeg: -40, Elevation: 38, Light: scene.RGB{1.6, 0.9, 0.3}}, {Channel: 5, Lux: 226, AzimuthDeg: 35, Elevation: 36, Light: scene.RGB{1, 1, 1}}},
		Rims:   []scene.Ray{{Channel: 9, Lux: 120, AzimuthDeg: 165, Elevation: 40, Light: scene.RGB{1, 1, 1}}},
		Others: []scene.Other{{Camera: "side", White: 4300, Gain: scene.RGB{0.8, 1, 1.5}}},
	}, {Place: "keys", Cue: 1, Missing: []string{"x, y and the head height of the place \"keys\""}}}
	s.Universes = []scene.Universe{{Number: 2, Clash: true, Blocks: []scene.Block{{Channel: 31, First: 1, Last: 16}, {Channel: 32, First: 12, Last: 27, Clash: true}, {Channel: 44, First: 500, Last: 515, Clash: true}}}}
	s.Afters = []scene.After{{Order: 0, What: "change.flashes_per_s", Unit: "flashes/s", Was: p(8.0), Is: p(3.0), Limit: p(3.0)}}
	found := finding.Finding{Rule: "safety/flash-rate", Verdict: finding.Fail, Level: finding.Error, Subjects: []finding.Subject{{Kind: "cue", Name: "2"}}, Cues: []string{"2"}}
	dim := finding.Finding{Rule: "people/key-low", Verdict: finding.Fail, Level: finding.Warning, Consequence: finding.Camera, Subjects: []finding.Subject{{Kind: "place", Name: "lectern"}}, Cues: []string{"2", "3"}, Message: "dim"}
	show := &outcome.Show{
		Scene: s, Findings: []finding.Finding{found, dim}, NeedPerson: []*finding.Finding{&dim},
		Orders: []outcome.Order{
			{Do: "Bring the strobe down.", Consequence: finding.Hurt, Cures: []string{found.Key()}, Edits: []outcome.Edit{{What: "channels", Key: "strobe_hz", From: 8.0, To: 3.0, Unit: "Hz"}}},
			{Do: "Set channel 32 to 2.41.", Consequence: finding.Dark, Edits: []outcome.Edit{{What: "channels", Names: []string{"32"}, Key: "address", From: "2.12", To: "2.41"}}},
			{Do: "Let cue 2 fade.", Consequence: finding.Camera, Edits: []outcome.Edit{{What: "cue", Key: "in_s", To: 3.0, Unit: "s"}}},
			{Do: "Write the type.", Consequence: finding.Later, Edits: []outcome.Edit{{What: "channels", Key: "type", From: "profile", To: "profile 26"}}},
		},
	}
	Move(show)
	return show
}

// drawn are all pictures of the evening.
func drawn(show *outcome.Show) map[string]*picture.Pic {
	s := show.Scene
	list := map[string]*picture.Pic{}
	for _, w := range []float64{Wide, Narrow} {
		size := map[float64]string{Wide: "wide", Narrow: "narrow"}[w]
		list["evening-"+size] = Evening(s, Bites(show), w)
		list["stage-"+size] = Stage(s, &s.Stages[0], w, "")
		list["strip-"+size] = Strip(s, w)
		list["addresses-"+size] = Addresses(&s.Universes[0], w)
	}
	list["face"] = Face(&s.Faces[0], "2", "face", "", false)
	list["face-unknown"] = Face(&s.Faces[1], "2", "face", "", false)
	for n, name := range []string{"gauge", "address", "fade", "words"} {
		list["order-"+name] = Order(show, n, "order", "k")
	}
	return list
}

func TestPicturesByBytes(t *testing.T) {
	list := drawn(evening())
	maps.Copy(list, drawnHard())
	for name, pic := range list {
		got := []byte(pic.Inline("x", "pic") + "\n") // without the style, which would change them all
		for _, row := range append([][]string{pic.Table.Head}, pic.Table.Rows...) {
			if len(row) > 0 {
				got = append(got, "<!-- "+strings.Join(row, " | ")+" -->\n"...)
			}
		}
		file := filepath.Join("testdata", name+".svg")
		if os.Getenv("CUEPROOF_UPDATE") != "" {
			if err := os.WriteFile(file, got, 0o600); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			apart := strings.NewReplacer("><", ">\n<")
			t.Errorf("%s is drawn otherwise (CUEPROOF_UPDATE=1 rewrites it):\n%.2000s", name, cmp.Diff(strings.Split(apart.Replace(string(want)), "\n"), strings.Split(apart.Replace(string(got)), "\n")))
		}
	}
}

// TestUnknownIsSaid: what nobody knows is a word or a dotted frame, never a zero.
func TestUnknownIsSaid(t *testing.T) {
	list := drawn(evening())
	for name, words := range map[string][]string{
		"evening-wide": {`class="empty"`, ">unknown<", ">nobody on stage<", "line dash"}, "stage-wide": {">lux unknown<", "lampq", "about", "norim"}, "face-unknown": {">unknown<", "cannot be told"},
		"strip-wide": {">?<"},
	} {
		svg := list[name].Inline("x", "pic")
		for _, word := range words {
			if word == "about" {
				continue // nothing of this stage was assumed where its light is known
			}
			if !strings.Contains(svg, word) {
				t.Errorf("%s does not have %s", name, word)
			}
		}
	}
	if row := list["evening-wide"].Table.Rows[3]; row[4] != "unknown" || row[5] != "unknown" {
		t.Errorf("the table of the evening tells what nobody knows: %v", row)
	}
	untimed := evening().Scene
	untimed.EndS, untimed.NoClock = nil, []string{"the duration of the segment \"Talk\""}
	svg := Evening(untimed, nil, Wide).Inline("x", "pic")
	if !strings.Contains(svg, "not to scale") || !strings.Contains(svg, "the duration of the segment") {
		t.Error("an evening without times does not say so")
	}
}

// TestEachPictureHasWordsForReaders: a title, a sentence with a figure, and a table where
// there is something to be read.
func TestEachPictureHasWordsForReaders(t *testing.T) {
	for name, pic := range drawn(evening()) {
		if pic.Title == "" || !strings.HasSuffix(pic.Desc, ".") {
			t.Errorf("%s has the title %q and the sentence %q", name, pic.Title, pic.Desc)
		}
		for _, row := range pic.Table.Rows {
			if len(row) != len(pic.Table.Head) {
				t.Errorf("%s: a row of %d cells under %d heads", name, len(row), len(pic.Table.Head))
			}
		}
	}
}

// TestLightOnTheHead: a lamp from the right lights the right cheek more, as its cosine
// says; one from the front lights both alike; twice the light is twice everywhere.
func TestLightOnTheHead(t *testing.T) {
	cheek := func(l litFace, u float64) float64 {
		i := int(math.Round((u/spanX + 1) / 2 * (litX - 1)))
		return l.y[(litY/2+3)*litX+i]
	}
	one := func(az, lux float64) litFace {
		return light(&scene.Face{Rays: []scene.Ray{{Lux: lux, AzimuthDeg: az, Elevation: 20, Light: scene.RGB{1, 1, 1}}}})
	}
	right := one(45, 100)
	if cheek(right, 0.4) <= 1.5*cheek(right, -0.4) {
		t.Errorf("light from the right: %g and %g", cheek(right, 0.4), cheek(right, -0.4))
	}
	left := one(-45, 100)
	if a, b := cheek(right, 0.4), cheek(left, -0.4); math.Abs(a-b) > 1e-6*a {
		t.Errorf("the head is not the same from both sides: %g and %g", a, b)
	}
	double := one(45, 200)
	for i := range right.y {
		if a, b := 2*right.y[i], double.y[i]; !math.IsNaN(a) && math.Abs(a-b) > 1e-9*b {
			t.Fatalf("twice the light is %g, not %g", b, a)
		}
	}
}

// TestAnySceneIsDrawn: whatever is measured, or is not, every picture is XML without a
// number that is none.
func TestAnySceneIsDrawn(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		show := evening()
		s := show.Scene
		n := func() *float64 {
			if rapid.Bool().Draw(rt, "unknown") {
				return nil
			}
			return p(rapid.OneOf(rapid.Float64Range(-50, 5000), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), -1e9})).Draw(rt, "n"))
		}
		v := func() float64 {
			if x := n(); x != nil {
				return *x
			}
			return 0
		}
		word := rapid.SampledFrom([]string{"", "</text><script>", "\u202eevil", strings.Repeat("W", 300), "a b c"}).Draw(rt, "word")
		for i := range s.Cues {
			c := &s.Cues[i]
			c.Number, c.Name, c.StartS, c.Stops, c.FaceLow, c.Flashes, c.FadeS = word, word, n(), n(), n(), n(), v()
			if c.FaceHigh = n(); c.FaceHigh == nil {
				c.FaceLow = nil // they are known together
			}
			for k := range c.Showings {
				c.Showings[k].OverFace = n()
			}
		}
		s.EndS, s.Segments[0].Name, s.Segments[1].LengthS, s.Segments[2].StartS = n(), word, n(), v()
		st := &s.Stages[0]
		st.Wanted = n()
		for i := range st.People {
			st.People[i].Lux, st.People[i].Kelvin, st.People[i].Ratio, st.People[i].FacingDeg, st.People[i].Place = n(), n(), n(), n(), word
		}
		for i := range st.Lamps {
			st.Lamps[i].At.X, st.Lamps[i].Light = v(), scene.RGB{v(), v(), v()}
		}
		for i := range st.Above.Lux {
			if i%7 == 0 {
				st.Above.Lux[i] = v()
			}
		}
		f := &s.Faces[0]
		f.Lux, f.Wanted, f.Stops, f.YawDeg, f.Kelvin, f.Place = math.Abs(v()), n(), n(), v(), n(), word
		f.Rays[0].Lux, f.Rays[0].AzimuthDeg, f.Rays[0].Elevation = math.Abs(v()), v(), v()
		s.Universes[0].Blocks[1].Last = rapid.IntRange(1, 600).Draw(rt, "last")
		for name, pic := range drawn(show) {
			svg := pic.Inline("x", "pic")
			in := xml.NewDecoder(strings.NewReader(svg))
			for {
				if _, err := in.Token(); errors.Is(err, io.EOF) {
					break
				} else if err != nil {
					rt.Fatalf("%s is no XML: %v", name, err)
				}
			}
			if bad := notANumber.FindString(betweenTags.ReplaceAllString(svg, "><")); bad != "" {
				rt.Fatalf("%s stands in %s", bad, name)
			}
		}
	})
}

var betweenTags, notANumber = regexp.MustCompile(`>[^<]*<`), regexp.MustCompile(`NaN|Inf|[0-9]e[+-]`)
