package draw

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// has fails where a picture lacks one of its parts.
func has(t *testing.T, what string, pic *picture.Pic, parts ...string) {
	t.Helper()
	svg := pic.Inline("x", "pic")
	for _, part := range parts {
		if !strings.Contains(svg, part) {
			t.Errorf("%s does not have %s:\n%.3000s", what, part, svg)
		}
	}
}

// TestTheBandOfALowLimit goes from the left edge to the limit: 4 on a scale from -0.24 to 5.6 over 272 pixels.
func TestTheBandOfALowLimit(t *testing.T) {
	has(t, "a gauge", gauge(2, 5, p(4.0), true, "lx"), `<path d="M8 8h197.5v18h-197.5Z" class="lim"/>`, `<path d="M205.5 6v22" class="limline"/>`)
}

// TestWordsStayInTheirPicture: a number of up to 28 pixels in the middle of its mark, and one of up to 38 beside it.
func TestWordsStayInTheirPicture(t *testing.T) {
	for x, want := range map[float64][3]float64{0: {14, 2, 40}, 100: {100, 96, 104}, smallW: {smallW - 14, smallW - 40, smallW - 2}} {
		for i, spot := range spots(x, 38) {
			if spot.X != want[i] || spot.Y != 38 || spot.Anchor != []picture.Anchor{picture.Middle, picture.Start, picture.End}[i] {
				t.Errorf("at %g the spot %d is %+v, want it at %g", x, i, spot, want[i])
			}
		}
	}
}

// TestTwoFacesFillTheirPicture: as high as a face at 0.58 of its size and two pixels on either side, to less than one.
func TestTwoFacesFillTheirPicture(t *testing.T) {
	show := evening()
	f := &show.Scene.Faces[0]
	show.Scene.Afters = []scene.After{{FaceWas: f, FaceIs: f}}
	pic := Order(show, 0, "o", "k")
	if need := 0.58*Face(f, "2", "a", "k", true).H + 4; !(pic.H >= need && pic.H < need+1) {
		t.Errorf("it is %g high, and needs %g", pic.H, need)
	}
}

// TestABlockThatLeavesItsUniverse has a short line down to where it goes; 521 pixels are one a slot.
func TestABlockThatLeavesItsUniverse(t *testing.T) {
	u := &scene.Universe{Number: 2, Clash: true, Blocks: []scene.Block{{Channel: 31, First: 101, Last: 120, Clash: true, Order: 1, ToUniverse: 3, ToFirst: 1, ToLast: 20}}}
	has(t, "universe 2", Addresses(u, 521), `<path d="M110.2 47v11" class="arc"/>`, `<text x="114.2" y="60" class="fnd">to 3.1</text>`)
}

// TestARateOfFlashesHasOneDecimal, and so has its limit.
func TestARateOfFlashesHasOneDecimal(t *testing.T) {
	s := evening().Scene
	s.Cues[1].Flashes, s.Limits.Flashes = p(7.26), p(3.14)
	has(t, "the evening", Evening(s, nil, Wide), ">7.3, limit 3.1<")
}

// TestTheHeadOfBothEnds: the chin is as round as the crown, at four fifths of its width, and
// from its edge on there is no head.
func TestTheHeadOfBothEnds(t *testing.T) {
	for _, y := range []float64{0.95, 0.97, 0.99} {
		if chin, crown := halfWidth(-y), halfWidth(y); math.Abs(chin-0.8*crown) > 1e-9 {
			t.Errorf("at %g the chin is %g wide and the crown %g", y, chin, crown)
		}
	}
	for _, y := range []float64{-0.9, -0.5, 0, 0.3, 0.8} {
		if half := halfWidth(y); surface(half, y) != -1 || surface(-half, y) != -1 || surface(0.99*half, y) < 0 {
			t.Errorf("at %g the head stands out by %g on its edge, by %g within", y, surface(half, y), surface(0.99*half, y))
		}
	}
}

// TestARimIsOnTheSideOfItsLight: light from a side draws nine tenths of it there and one tenth on the other, light from
// straight behind half on both.
func TestARimIsOnTheSideOfItsLight(t *testing.T) {
	rims := func(azimuth, lux float64) (wide [2]string) {
		s := &portrait{f: &scene.Face{Rims: []scene.Ray{{Lux: lux, AzimuthDeg: azimuth, Light: scene.RGB{1, 1, 1}}}}, p: picture.New(100, 100), gain: 0.01}
		s.rims(func(rgb scene.RGB) scene.RGB { return rgb })
		svg := s.p.Inline("x", "pic")
		for side := range wide {
			if _, after, there := strings.Cut(svg, fmt.Sprintf("#r%d\"", side)); there {
				wide[side], _, _ = strings.Cut(after, "/>")
			}
		}
		return wide
	}
	right, left, behind := rims(120, 100), rims(-120, 100), rims(170, 100)
	if right[0] == right[1] || right[0] != left[1] || right[1] != left[0] || behind[0] != behind[1] || behind[0] == "" {
		t.Errorf("from the right %q, from the left %q, from behind %q", right, left, behind)
	}
	// What light behind the head gives both sides, five times as much, or five ninths of it, gives one of them from a side.
	if weak, strong := rims(120, 500), rims(120, 500.0/9); weak[0] != behind[0] || strong[1] != behind[0] {
		t.Errorf("the weak side is %q, the strong one %q, want %q", weak[0], strong[1], behind[0])
	}
}

// byHand is a view of 200 pixels square, one a metre, from above.
func byHand(s *scene.Scene, st *scene.Stage) *plan {
	return &plan{p: picture.New(200, 200), s: s, st: st, k: 1, bottom: 200, place: func(at scene.Point) (float64, float64) { return at.X, at.Y }, tops: map[float64][][][2]float64{}}
}

// TestANumberFindsItsPlaceByItsLamp: below it, above it, on its right, on its left.
func TestANumberFindsItsPlaceByItsLamp(t *testing.T) {
	below, above, right := picture.Box{X: 97, Y: 106, W: 6, H: 8}, picture.Box{X: 97, Y: 86, W: 6, H: 8}, picture.Box{X: 110, Y: 98, W: 4, H: 4}
	for want, taken := range map[string][]picture.Box{
		`<text x="100" y="114" class="val m">101<`:  nil,
		`<text x="100" y="93" class="val m">101<`:   {below},
		`<text x="105" y="103.5" class="val">101<`:  {below, above},
		`<text x="95" y="103.5" class="val e">101<`: {below, above, right},
	} {
		st := &scene.Stage{Lamps: []scene.Lamp{{Channel: 101, Purpose: "key", Lit: true, At: scene.Point{X: 100, Y: 100}}}}
		v := byHand(nil, st)
		v.keepFree(&st.Lamps[0])
		for _, box := range taken {
			v.p.Take(box)
		}
		v.channels()
		has(t, fmt.Sprint(taken), v.p, want)
	}
}

// TestANameFindsItsPlaceByItsScreen: below it, above it, and then lower down.
func TestANameFindsItsPlaceByItsScreen(t *testing.T) {
	below, above, lower := picture.Box{X: 90, Y: 108, W: 20, H: 6}, picture.Box{X: 90, Y: 86, W: 20, H: 6}, picture.Box{X: 82, Y: 124, W: 4, H: 4}
	for want, taken := range map[string][]picture.Box{
		`<text x="100" y="115" class="val m">wall<`: nil,
		`<text x="100" y="93" class="val m">wall<`:  {below},
		`<text x="80" y="130" class="val">wall<`:    {below, above},
		`<text x="100" y="144" class="val">wall<`:   {below, above, lower},
	} {
		wall := scene.Surface{Name: "wall", Kind: "emissive", Corners: [4]scene.Point{{X: 60, Y: 100}, {X: 140, Y: 100}, {X: 140, Y: 100, Z: 2}, {X: 60, Y: 100, Z: 2}}}
		v := byHand(&scene.Scene{Room: &scene.Room{Surfaces: []scene.Surface{wall}}}, &scene.Stage{})
		for _, box := range taken {
			v.p.Take(box)
		}
		v.fromAbove()
		has(t, fmt.Sprint(taken), v.p, want)
	}
}

// TestWhoStandsBeforeWhom: who is there hides who is not, and else the nearer one hides the other.
func TestWhoStandsBeforeWhom(t *testing.T) {
	for _, c := range []struct {
		about         string
		y1, y2        float64
		here1, here2  bool
		first, second bool // is hidden
	}{
		{"both there, the first nearer", 1, 2, true, true, false, true},
		{"both there, the second nearer", 2, 1, true, true, true, false},
		{"both there, at one place", 1, 1, true, true, false, true},
		{"the farther one is there", 1, 2, false, true, true, false},
		{"the nearer one is there", 1, 2, true, false, false, true},
		{"far apart", 1, 90, true, true, false, false},
	} {
		v := byHand(nil, &scene.Stage{People: []scene.Person{{At: scene.Point{Y: c.y1}, Here: c.here1}, {At: scene.Point{Y: c.y2}, Here: c.here2}}})
		if first, second := v.hidden(0, 0, c.y1, 9), v.hidden(1, 0, c.y2, 9); first != c.first || second != c.second {
			t.Errorf("%s: hidden are %t and %t", c.about, first, second)
		}
	}
}

// TestLevelsAreWrittenAtTheirLines: what is wanted once, every other level at two of its lines.
func TestLevelsAreWrittenAtTheirLines(t *testing.T) {
	loops := func(y float64) (list [][][2]float64) {
		for x := 30.0; x < 200; x += 70 {
			list = append(list, [][2]float64{{x, y}})
		}
		return list
	}
	v := byHand(nil, &scene.Stage{Wanted: p(70.0)})
	v.tops = map[float64][][][2]float64{70: loops(40), 50: loops(120)}
	v.isolineLabels(scene.Grid{Lux: []float64{99}})
	svg := v.p.Inline("x", "pic")
	if wanted, others := strings.Count(svg, ">70 lx wanted<"), strings.Count(svg, ">50<"); wanted != 1 || others != 2 {
		t.Errorf("what is wanted is written %d times, the other level %d times", wanted, others)
	}
}

// TestAnAxisThatIsDrawn is of a lamp that is lit and whose end is a pixel off or more; its light stands at its end, short of
// what it is aimed at by three quarters of a metre, and at three tenths of the way at least. Light of the house has none.
func TestAnAxisThatIsDrawn(t *testing.T) {
	for _, c := range []struct {
		about   string
		far     float64
		dark    bool
		purpose string
		cut     bool
		want    string
	}{
		{"ten pixels", 10, false, "key", false, `<path d="M100 100v9.3" fill="none" stroke="#ffffff" stroke-width="1.1"/><path d="M100 109.3h0" class="spark" stroke="#ffffff"/>`},
		{"a pixel", 1, false, "key", false, `<path d="M100 100v.3" fill="none" stroke="#ffffff" stroke-width="1.1"/><path d="M100 100.3h0" class="spark" stroke="#ffffff"/>`},
		{"less", 0.99, false, "key", true, ""},
		{"one with a shutter", 10, false, "key", true, `<path d="M100 100v9.3" fill="none" stroke="#ffffff" stroke-width="1.1"/><path d="M100 109.3h0" class="spark" stroke="#ffffff"/><path d="M98.8 103h2.4" class="cutm"/>`},
		{"a dark one", 10, true, "key", true, ""},
		{"one of the house", 10, false, "house", true, ""},
		{"beyond the view", 150, false, "key", false, `<path d="M100 100v100" fill="none" stroke="#ffffff" stroke-width="1.1"/>`},
	} {
		v := byHand(nil, &scene.Stage{Lamps: []scene.Lamp{{Purpose: c.purpose, Lit: !c.dark, Cut: c.cut, Light: scene.RGB{1, 1, 1}, At: scene.Point{X: 100, Y: 100}, End: &scene.Point{X: 100, Y: 100 + c.far}}}})
		v.beams()
		if _, got, _ := strings.Cut(v.p.Inline("x", "pic"), "</desc>"); got != c.want+"</svg>" {
			t.Errorf("%s: %s\nwant %s", c.about, got, c.want)
		}
	}
}

// TestTheEdgeOfAView: a point on it is inside, and a line beyond it ends there.
func TestTheEdgeOfAView(t *testing.T) {
	v := byHand(nil, nil)
	v.top = 20
	for at, want := range map[[2]float64]bool{{0, 100}: true, {-0.1, 100}: false, {200, 100}: true, {200.1, 100}: false, {100, 20}: true, {100, 19.9}: false, {100, 200}: true, {100, 200.1}: false} {
		if v.inside(at[0], at[1]) != want {
			t.Errorf("%v is inside: %t", at, !want)
		}
	}
	for to, want := range map[[2]float64][2]float64{{150, 150}: {150, 150}, {100, -60}: {100, 20}, {100, 300}: {100, 200}, {-100, 150}: {0, 125}, {300, 150}: {200, 125}, {200, -60}: {150, 20}, {-300, 250}: {0, 137.5}} {
		if x, y := v.cut(100, 100, to[0], to[1]); x != want[0] || y != want[1] {
			t.Errorf("to %v it ends at %g, %g; want %v", to, x, y, want)
		}
	}
}

// TestADrapeHasABowEveryFourPixels, and is a line where it is shorter or of more than 400.
func TestADrapeHasABowEveryFourPixels(t *testing.T) {
	for long, want := range map[float64]int{3.9: 0, 4: 1, 9: 2, 1600: 400, 1604: 0} {
		v := byHand(nil, nil)
		v.scallop(0, 100, long, 100)
		if got := strings.Count(v.p.Inline("x", "pic"), "q"); got != want {
			t.Errorf("a drape of %g has %d bows, want %d", long, got, want)
		}
	}
	v := byHand(nil, nil)
	v.scallop(100, 100, 108, 100)
	has(t, "a drape", v.p, `<path d="M100 100q2 2 4 0q2 2 4 0" class="drape"/>`)
}

// TestAScreenThatShowsSomething glows; one at nought, one of which nobody knows and one out of the view do not.
func TestAScreenThatShowsSomething(t *testing.T) {
	for _, c := range []struct {
		about string
		x     float64
		drive *float64
		want  string
	}{
		{"at 1 %", 100, p(1.0), `<path d="M60 100h40v-40h-40Z" fill="#ededed" class="glow"/><path d="M60 100h40v-40h-40Z" class="frame"/>`},
		{"at nought", 100, p(0.0), `<path d="M60 100h40v-40h-40Z" class="frame"/>`},
		{"unknown", 100, nil, `<path d="M60 100h40v-40h-40Z" class="frame"/>`},
		{"out of the view", 201, p(1.0), ""},
	} {
		wall := scene.Surface{Name: "wall", Kind: "emissive", Corners: [4]scene.Point{{X: 60, Y: 100}, {X: c.x, Y: 100}, {X: c.x, Y: 60}, {X: 60, Y: 60}}}
		v := byHand(&scene.Scene{Room: &scene.Room{Surfaces: []scene.Surface{wall}}}, &scene.Stage{Screens: []scene.ScreenLight{{Name: "other", DrivePct: p(50.0)}, {Name: "wall", DrivePct: c.drive, Light: scene.RGB{1, 1, 1}}}})
		v.surfacesFront()
		if svg := v.p.Inline("x", "pic"); !strings.Contains(svg, "</desc>"+c.want+`<path d="M0 200h200" class="floor"/>`) {
			t.Errorf("%s: %s\nwant %s", c.about, svg, c.want)
		}
	}
}

// TestHeadsThatMeet are nearer to each other than their size less two pixels, both ways.
func TestHeadsThatMeet(t *testing.T) {
	for off, want := range map[[2]float64]bool{{15.9, 0}: true, {16, 0}: false, {0, 15.9}: true, {0, 16}: false, {-15.9, -15.9}: true, {-16, 0}: false} {
		v := byHand(nil, &scene.Stage{People: []scene.Person{{At: scene.Point{X: 100, Y: 100}}, {At: scene.Point{X: 100 + off[0], Y: 100 + off[1]}, Here: true}}})
		if got := v.hidden(0, 100, 100, 9); got != want {
			t.Errorf("at %v: %t", off, got)
		}
	}
}

// TestWhatIsWrittenAtAFace: an assumption is "about", what is unknown is said, and a tenth of the key from behind is enough.
func TestWhatIsWrittenAtAFace(t *testing.T) {
	for _, c := range []struct {
		person scene.Person
		want   []string
	}{
		{scene.Person{Lux: p(560.0), Kelvin: p(4130.0), Known: true}, []string{"desk", "560 lx", picture.Kelvin(4130) + " K"}},
		{scene.Person{Lux: p(560.0), Kelvin: p(4130.0)}, []string{"desk", "about 560 lx", "about " + picture.Kelvin(4130) + " K"}},
		{scene.Person{Known: true}, []string{"desk", "lux unknown"}},
		{scene.Person{Lux: p(560.0), Known: true, DarkBack: true, Ratio: p(0.1)}, []string{"desk", "560 lx"}},
		{scene.Person{Lux: p(560.0), Known: true, DarkBack: true, Ratio: p(0.099)}, []string{"desk", "560 lx", "no light from behind"}},
		{scene.Person{Lux: p(560.0), Known: true, Ratio: p(0.099)}, []string{"desk", "560 lx"}},
	} {
		c.person.Place, c.person.Here, c.person.At = "desk", true, scene.Point{X: 100, Y: 100}
		v := byHand(nil, &scene.Stage{People: []scene.Person{c.person}})
		v.persons()
		var got []string
		for _, part := range strings.Split(v.p.Inline("x", "pic"), "<text")[1:] {
			_, word, _ := strings.Cut(part, ">")
			word, _, _ = strings.Cut(word, "<")
			got = append(got, word)
		}
		if strings.Join(got, "; ") != strings.Join(c.want, "; ") {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// TestWhoIsNotThereIsNotWritten, and whoever is behind them in the list is.
func TestWhoIsNotThereIsNotWritten(t *testing.T) {
	of := func(place string, x float64, here bool) scene.Person {
		return scene.Person{Place: place, Here: here, Known: true, At: scene.Point{X: x, Y: 100}}
	}
	v := byHand(nil, &scene.Stage{People: []scene.Person{of("gone", 50, false), of("desk", 100, true), of("outside", 900, true), of("keys", 160, true)}})
	v.persons()
	svg := v.p.Inline("x", "pic")
	for place, want := range map[string]bool{"gone": false, "desk": true, "outside": false, "keys": true} {
		if got := strings.Contains(svg, ">"+place+"<"); got != want {
			t.Errorf("%s is written: %t", place, got)
		}
	}
}

// TestTheStageInASentence: the house is no lamp of it, one face is a range too, and none is no range.
func TestTheStageInASentence(t *testing.T) {
	lamps := []scene.Lamp{{Lit: true, Purpose: "key"}, {Lit: true, Purpose: "house"}, {Purpose: "key"}}
	for want, st := range map[string]*scene.Stage{
		"1 lamps are lit and 1 of 2 places have somebody on them; faces get 300 to 300 lux, the main camera wants 490.":       {Lamps: lamps, People: []scene.Person{{Here: true, Lux: p(300.0)}, {Lux: p(900.0)}}, Wanted: p(490.0)},
		"1 lamps are lit and 2 of 2 places have somebody on them; faces get 300 to 900 lux. Some of it rests on assumptions.": {Lamps: lamps, People: []scene.Person{{Here: true, Lux: p(300.0)}, {Here: true, Lux: p(900.0)}}, Assumed: true},
		"1 lamps are lit and 1 of 1 places have somebody on them.":                                                            {Lamps: lamps, People: []scene.Person{{Here: true}}},
		"The light cannot be told: a, b and 1 more is missing.":                                                               {Missing: []string{"a", "b", "c"}},
	} {
		if got := sayStage(nil, st); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// TestThePartOfTheRoomThatIsDrawn holds the places, and of lamps and surfaces what is no farther than nine metres from them and
// under a hundred; a metre is left beside it, four fifths before and behind, half above.
func TestThePartOfTheRoomThatIsDrawn(t *testing.T) {
	for _, c := range []struct {
		about string
		lamp  scene.Lamp
		want  extent
	}{
		{"no lamp", scene.Lamp{Purpose: "house"}, extent{-3, 3, 0.2, 2.8, 3.5}},
		{"one on the left", scene.Lamp{At: scene.Point{X: -11, Y: 1}}, extent{-12, 3, 0.2, 2.8, 3.5}},
		{"one farther on the left", scene.Lamp{At: scene.Point{X: -11.1, Y: 1}}, extent{-3, 3, 0.2, 2.8, 3.5}},
		{"one on the right", scene.Lamp{At: scene.Point{X: 11, Y: 1}}, extent{-3, 12, 0.2, 2.8, 3.5}},
		{"one farther on the right", scene.Lamp{At: scene.Point{X: 11.1, Y: 1}}, extent{-3, 3, 0.2, 2.8, 3.5}},
		{"one over the house", scene.Lamp{At: scene.Point{Y: -8, Z: 6}}, extent{-3, 3, -8.8, 2.8, 6.5}},
		{"one farther over the house", scene.Lamp{At: scene.Point{Y: -8.1, Z: 6}}, extent{-3, 3, 0.2, 2.8, 3.5}},
		{"one behind", scene.Lamp{At: scene.Point{Y: 11}}, extent{-3, 3, 0.2, 11.8, 3.5}},
		{"one farther behind", scene.Lamp{At: scene.Point{Y: 11.1}}, extent{-3, 3, 0.2, 2.8, 3.5}},
		{"one at no height", scene.Lamp{At: scene.Point{Y: 1, Z: 100}}, extent{-3, 3, 0.2, 2.8, 3.5}},
	} {
		st := &scene.Stage{People: []scene.Person{{At: scene.Point{X: -2, Y: 1, Z: 1}}, {At: scene.Point{X: 2, Y: 2, Z: 1}}}, Lamps: []scene.Lamp{c.lamp}}
		got := extentOf(&scene.Scene{Room: &scene.Room{Surfaces: []scene.Surface{{Kind: "wall", Corners: [4]scene.Point{{X: 8}}}}}}, st)
		for i, v := range []float64{got.x0 - c.want.x0, got.x1 - c.want.x1, got.y0 - c.want.y0, got.y1 - c.want.y1, got.z1 - c.want.z1} {
			if math.Abs(v) > 1e-9 {
				t.Errorf("%s: %+v, want %+v (%d)", c.about, got, c.want, i)
			}
		}
	}
}

// TestLinesOfEqualLight begin at 50 lx, each a stop on, as far as there is more light; what is wanted has a line of its own.
func TestLinesOfEqualLight(t *testing.T) {
	for most, want := range map[float64]int{50: 0, 50.1: 1, 100: 1, 101: 2, 400: 3, 401: 4} {
		grid := scene.Grid{NX: 5, NY: 5, DX: 40, DY: 40, Lux: make([]float64, 25)}
		for i := range grid.Lux {
			grid.Lux[i] = most
		}
		v := byHand(nil, &scene.Stage{Wanted: p(100.0)})
		v.isolines(grid)
		wanted := most > 100
		if got := strings.Count(v.p.Inline("x", "pic"), `class="lit`); got != want {
			t.Errorf("up to %g lx there are %d lines, want %d", most, got, want)
		}
		if _, there := v.tops[100]; there != (wanted || want > 1) {
			t.Errorf("up to %g lx the line that is wanted is drawn: %t", most, there)
		}
	}
}

// TestALineThatRunsOut of the grid is no whole one, except along the floor.
func TestALineThatRunsOut(t *testing.T) {
	for at, want := range map[int]bool{12: true, 2: false, 22: false, 10: false, 14: false} { // in the middle, on each side
		for _, front := range []bool{false, true} {
			grid := scene.Grid{NX: 5, NY: 5, Lux: make([]float64, 25)}
			grid.Lux[at] = 100
			v := byHand(nil, nil)
			v.front = front
			if got := v.whole(grid, 99); got != (want || front && at == 2) {
				t.Errorf("bright at %d, from the front %t: whole is %t", at, front, got)
			}
			if !v.whole(grid, 100) {
				t.Errorf("bright at %d: at its own level it runs out", at)
			}
		}
	}
}

// TestHowThingsAreSaid: a tenth of full is coded 89 by the curve of its standard, and what is under 0.0031308 by its straight
// part: 12.92 * 0.003 * 255 is 9.9. Light of which more than three tenths is white stays as it is, of other light seven tenths
// are over 0.075.
func TestHowThingsAreSaid(t *testing.T) {
	for i, c := range [][2]string{
		{Letter(0), "a"}, {Letter(25), "z"}, {Letter(26), "a2"}, {Letter(51), "z2"}, {Letter(52), "a3"},
		{clock(59), "0:59"}, {clock(60), "1:00"}, {clock(61.9), "1:01"}, {clock(3600), "60:00"}, {clock(725), "12:05"},
		{list([]string{"x", "y"}, 2), "x, y"}, {list([]string{"x", "y", "z"}, 2), "x, y and 1 more"},
		{say(9.994), "9.99"}, {say(10.04), "10"}, {say(10.26), "10.3"}, {say(99.94), "99.9"}, {say(100.4), "100"}, {say(-10.26), picture.Say(-10.3, 1)},
		{stops(0.26), "+0.3"}, {stops(0.04), "0"}, {stops(0), "0"}, {number(nil, 1), "unknown"}, {number(p(0.26), 1), "0.3"},
		{hex(scene.RGB{0.1, 0.003, 2}), "#590aff"}, {hex(scene.RGB{-1, 1, 0.4}), "#00ffaa"},
		{ink(scene.RGB{10, 10, 4}), "#ffffaa"}, {ink(scene.RGB{10, 10, 3}), "#e4e491"}, {ink(scene.RGB{10, 3, 0}), "#e4914d"}, {ink(scene.RGB{}), "#8a8272"},
	} {
		if c[0] != c[1] {
			t.Errorf("%d: %q, want %q", i, c[0], c[1])
		}
	}
}

// TestANumberThatIsTooWideIsADot: 40 looks of as many parts have 16.2 pixels each of 1000, and a number that is wider than four
// more is not written: +1.2 takes 20.7, 1.2 would not.
func TestANumberThatIsTooWideIsADot(t *testing.T) {
	for over, dots := range map[float64]int{1.2: 1, -3: 0} { // −3 takes 12.1
		s := &scene.Scene{Screens: []string{"wall"}}
		for i := range 40 {
			s.Segments = append(s.Segments, scene.Segment{Name: fmt.Sprint(i)})
			s.Cues = append(s.Cues, scene.Cue{Number: "1", Segment: i})
		}
		s.Cues[0].Showings = []scene.Showing{{OverFace: &over}}
		if got := strings.Count(Strip(s, Wide).Inline("x", "pic"), `cy="133" r="2" class="hot"`); got != dots {
			t.Errorf("%g stops: %d dots, want %d", over, got, dots)
		}
	}
}

// TestWhichHuesAreNamed: those of a tenth or more, each once. Looks that name the same and touch name it together; a
// look between them that takes half a pixel keeps them apart: of 1024 s on as many pixels it has half a second.
func TestWhichHuesAreNamed(t *testing.T) {
	red := []scene.Hue{{Share: 0.5, Name: "red"}, {Share: 0.2, Name: "red"}, {Share: 0.1, Name: "blue"}, {Share: 0.09, Name: "green"}, {Share: 0.11}}
	for between, want := range map[float64]int{0: 1, 0.4: 1, 0.5: 2, 0.55: 2, 5: 2} {
		s := &scene.Scene{EndS: p(1024.0), Cues: []scene.Cue{
			{StartS: p(0.0), HuesKnown: true, Hues: red}, {StartS: p(512.0)}, {StartS: p(512 + between), HuesKnown: true, Hues: red},
		}}
		r := &rows{p: picture.New(1024, 200), right: 1024, c: courseOf(s, 0, 1024)}
		r.hues()
		if svg := r.p.Inline("x", "pic"); strings.Count(svg, ">red, blue<") != want || strings.Contains(svg, "green") {
			t.Errorf("%g s between them: not %d times red and blue\n%s", between, want, svg)
		}
	}
}

// TestNeighboursOfABlock are drawn as far as its own width beside it: of one on 101 to 104 those that reach 97 and 108.
func TestNeighboursOfABlock(t *testing.T) {
	u := scene.Universe{Number: 1, Blocks: []scene.Block{
		{Channel: 1, First: 101, Last: 104, Order: 1, ToUniverse: 2, ToFirst: 1, ToLast: 4},
		{Channel: 2, First: 90, Last: 97}, {Channel: 3, First: 90, Last: 96}, {Channel: 4, First: 108, Last: 120}, {Channel: 5, First: 109, Last: 120},
		{Channel: 1, First: 105, Last: 105}, {Channel: 6, First: 101, Last: 101},
	}}
	pic := blocks(&scene.Scene{Universes: []scene.Universe{u}}, &u, &u.Blocks[0])
	if svg := pic.Inline("x", "pic"); strings.Count(svg, `class="adr"`) != 4 {
		t.Errorf("%d neighbours, not 4:\n%s", strings.Count(svg, `class="adr"`), svg)
	}
}

// near is a box at an edge of something that is drawn, and whether names may stand there.
type near struct {
	box  picture.Box
	free bool
}

// holdOff holds what a drawing keeps free of names.
func holdOff(t *testing.T, boxes map[string]near, drawn func() *picture.Pic) {
	t.Helper()
	for about, c := range boxes {
		if got := drawn().Free(c.box); got != c.free {
			t.Errorf("%s it is free: %t", about, got)
		}
	}
}

// TestNamesStayOffACamera, which has seven pixels on either side, twelve above where it stands and three below.
func TestNamesStayOffACamera(t *testing.T) {
	holdOff(t, map[string]near{
		"left of it": {picture.Box{X: 90, Y: 210, W: 1.9, H: 2}, true}, "on its left": {picture.Box{X: 90, Y: 210, W: 2.1, H: 2}, false},
		"right of it": {picture.Box{X: 108.1, Y: 210, W: 1, H: 2}, true}, "on its right": {picture.Box{X: 107.9, Y: 210, W: 1, H: 2}, false},
		"above it": {picture.Box{X: 100, Y: 200, W: 1, H: 6.9}, true}, "on its top": {picture.Box{X: 100, Y: 200, W: 1, H: 7.1}, false},
		"below it": {picture.Box{X: 100, Y: 224.1, W: 1, H: 0.5}, true}, "on its foot": {picture.Box{X: 100, Y: 223.9, W: 1, H: 0.5}, false},
	}, func() *picture.Pic {
		v := byHand(&scene.Scene{Room: &scene.Room{Cameras: []scene.Camera{{At: scene.Point{X: 100, Y: -1}}}}}, &scene.Stage{})
		v.p = picture.New(200, 300)
		v.cameras(extent{})
		return v.p
	})
}

// TestHowFarDownIsDrawn: three stops at least, six at most, and a fifth of a stop below the least of them.
func TestHowFarDownIsDrawn(t *testing.T) {
	for _, c := range []struct {
		cues []scene.Cue
		want float64
	}{
		{nil, -3}, {[]scene.Cue{{}}, -3}, {[]scene.Cue{{Stops: p(-2.75)}}, -3}, {[]scene.Cue{{Stops: p(-2.9)}}, -4}, {[]scene.Cue{{Stops: p(-4.5)}, {Stops: p(-1.0)}}, -5},
		{[]scene.Cue{{Stops: p(-9.0)}}, -6}, {[]scene.Cue{{Dark: true}}, -6},
	} {
		if got := lowest(&scene.Scene{Cues: c.cues}); got != c.want {
			t.Errorf("of %+v it is drawn down to %g, not %g", c.cues, got, c.want)
		}
	}
}

// TestLimitsHaveOneDecimal, and a share of time none.
func TestLimitsHaveOneDecimal(t *testing.T) {
	show := evening()
	show.Scene.Limits = scene.Limits{NearPeakStops: p(1.26), NearPeakPct: p(60.4), ClearHaze: p(1.26), ScreenStops: p(1.26), FaceUnder: p(1.26), Flashes: p(3.14)}
	show.Scene.Haze[29].MgM3 = 4.26
	has(t, "a wide evening", Evening(show.Scene, nil, Wide), "within 1.3 stop of the most light; 60 % of the time", "band: 1.3 stop under", "clear under 1.3; the most is 4.3,", "band: over 1.3<")
	show.Scene.Faces[0].BackLux, show.Scene.Faces[0].Lux = 20.4, 560.4
	has(t, "a face", Face(&show.Scene.Faces[0], "2", "face", "", false), "560 lux, where", "20 lux from behind")
	has(t, "a narrow one", Evening(show.Scene, nil, Narrow), "1.3 stop from the most, 60 % of time", "band: 1.3 stop under", "clear under 1.3; most 4.3")
	for v, want := range map[float64]string{9.876: "9.88", 10: "10", 12.34: "12.3", -12.34: "−12.3", 99.96: "100", 100.4: "100", -0.456: "−0.46"} {
		if got := say(v); got != want {
			t.Errorf("%g is written %s, not %s", v, got, want)
		}
	}
	for v, want := range map[float64]string{0.04: "0", -0.04: "0", 1.26: "+1.3", -1.26: "−1.3"} {
		if got := stops(v); got != want {
			t.Errorf("%g stops are written %s, not %s", v, got, want)
		}
	}
}

// TestADrapeIsALineOfBows of four pixels: a straight line where it has no room for one, or for too many.
func TestADrapeIsALineOfBows(t *testing.T) {
	for long, want := range map[float64]int{3.9: 0, 4: 1, 8: 2, 1603: 400, 1604: 0} {
		v := byHand(nil, &scene.Stage{})
		v.scallop(0, 10, long, 10)
		if got := strings.Count(v.p.Inline("x", "pic"), "q"); got != want {
			t.Errorf("a drape of %g pixels has %d bows, not %d", long, got, want)
		}
	}
}

// pixelASecond are the rows of an evening of 1024 s on as many pixels, with looks that begin when it is said; of one that
// begins before the evening nobody knows when.
func pixelASecond(starts ...float64) *rows {
	s := &scene.Scene{EndS: p(1024.0)}
	for _, at := range starts {
		c := scene.Cue{StartS: p(at), Flashes: p(0.0)}
		if at < 0 {
			c.StartS = nil
		}
		s.Cues = append(s.Cues, c)
	}
	return &rows{p: picture.New(1024, 300), right: 1024, c: courseOf(s, 0, 1024)}
}

// TestOneFrameOverWhatIsAlike: looks in a row of which the same is unknown have one frame, half a pixel inside of them, and one
// of which nobody knows how long it is ends it.
func TestOneFrameOverWhatIsAlike(t *testing.T) {
	for _, c := range []struct {
		starts []float64
		words  string // of each look
		want   [][2]float64
		drawn  int
	}{
		{[]float64{0, 100, 200, 300, 400}, "-aabb", [][2]float64{{100, 300}, {300, 1024}}, 1},
		{[]float64{10, 100, 200, 300}, "aa-a", [][2]float64{{10, 200}, {300, 1024}}, 1},
		{[]float64{10, 100, 200, -1, 400}, "aaaaa", [][2]float64{{10, 200}, {400, 1024}}, 0},
	} {
		r, drawn := pixelASecond(c.starts...), 0
		for i := range r.c.s.Cues {
			r.c.s.Cues[i].Name = strings.Trim(c.words[i:i+1], "-")
		}
		r.runs(10, 30, func(c *scene.Cue) string { return c.Name }, func(int, float64, float64) { drawn++ })
		svg := r.p.Inline("x", "pic")
		for _, f := range c.want {
			if frame := fmt.Sprintf("M%g 10.5h%gv19h-%gZ", f[0]+0.5, f[1]-f[0]-1, f[1]-f[0]-1); !strings.Contains(svg, frame) {
				t.Errorf("%s has no frame %s:\n%s", c.words, frame, svg)
			}
		}
		if frames := strings.Count(svg, "10.5h"); frames != len(c.want) || drawn != c.drawn {
			t.Errorf("%s has %d frames and %d looks are drawn, not %d and %d", c.words, frames, drawn, len(c.want), c.drawn)
		}
	}
}

// TestFlashesThatTouch are told of once, also over a look between them that takes no more than a pixel.
func TestFlashesThatTouch(t *testing.T) {
	for between, want := range map[float64]int{1: 1, 1.25: 2, 200: 2} {
		r := pixelASecond(0, 100, 100+between, 200+between)
		r.c.s.Limits.Flashes = p(3.0)
		r.c.s.Cues[0].Flashes, r.c.s.Cues[2].Flashes = p(5.0), p(5.0)
		r.flashes()
		if svg := r.p.Inline("x", "pic"); strings.Count(svg, ">5, limit 3<") != want {
			t.Errorf("%g pixels between them: not told of %d times:\n%s", between, want, svg)
		}
	}
}

// TestMarksInARow: two have a row together where their circles, of 8 pixels and 2 around, and their looks stay 4 off each other.
func TestMarksInARow(t *testing.T) {
	for _, c := range []struct {
		long, second float64
		rows         float64
	}{
		{1, 224, 1}, {1, 223, 2}, // from one at 200: 8 + 2 + 4 + 2 + 8
		{100, 314, 1}, {100, 313, 2}, // from where its look ends at 300: 4 + 2 + 8
	} {
		r := pixelASecond(200, 200+c.long, c.second, c.second+1)
		r.narrow = true
		r.bites([]Bite{{Cues: []int{0}}, {Cues: []int{2}}})
		if want := 18 + 19*c.rows + 12; r.y != want { // its head, the rows, what is under them
			t.Errorf("a look of %g, and one at %g: it ends at %g, not %g", c.long, c.second, r.y, want)
		}
	}
}

// TestANameUnderItsPart may stand out of it by 7 pixels on either side.
func TestANameUnderItsPart(t *testing.T) {
	wide := picture.Width("Intermission", 10.5, false)
	for long, want := range map[float64]bool{wide: true, wide - 13.9: true, wide - 14.1: false} {
		r := pixelASecond()
		r.c.s.Segments = []scene.Segment{{Name: "Intermission", StartS: 500, LengthS: &long}}
		r.order()
		if got := strings.Contains(r.p.Inline("x", "pic"), ">Intermission<"); got != want {
			t.Errorf("a name of %g pixels under %g is written: %t", wide, long, got)
		}
	}
}

// TestNamesStayOffABody, which at 50 pixels a metre has 13 on either side, and goes from 10 under the middle of the face to the
// floor.
func TestNamesStayOffABody(t *testing.T) {
	holdOff(t, map[string]near{
		"left of it": {picture.Box{X: 80, Y: 200, W: 5.9, H: 2}, true}, "on its left": {picture.Box{X: 80, Y: 200, W: 6.1, H: 2}, false},
		"right of it": {picture.Box{X: 114.1, Y: 200, W: 1, H: 2}, true}, "on its right": {picture.Box{X: 113.9, Y: 200, W: 1, H: 2}, false},
		"above it": {picture.Box{X: 100, Y: 100, W: 1, H: 8.9}, true}, "on its top": {picture.Box{X: 100, Y: 100, W: 1, H: 9.1}, false},
		"below it": {picture.Box{X: 100, Y: 281.1, W: 1, H: 2}, true}, "on its foot": {picture.Box{X: 100, Y: 280.9, W: 1, H: 2}, false},
	}, func() *picture.Pic {
		v := byHand(nil, nil)
		v.p, v.front, v.k = picture.New(200, 300), true, 50
		v.place = func(at scene.Point) (float64, float64) { return at.X, 280 - 50*at.Z }
		v.body(&scene.Person{At: scene.Point{X: 100, Z: 3.6}}, 100, 100, 9, "person")
		return v.p
	})
}

// TestLevelsStayInTheirView: a level is written where its line is more than 8 pixels inside of it.
func TestLevelsStayInTheirView(t *testing.T) {
	for y, want := range map[float64]bool{28: false, 28.1: true, 100: true, 191.9: true, 192: false} {
		v := byHand(nil, &scene.Stage{})
		v.p, v.top = picture.New(200, 300), 20
		v.tops = map[float64][][][2]float64{50: {{{100, y}}}}
		v.isolineLabels(scene.Grid{Lux: []float64{99}})
		if got := strings.Contains(v.p.Inline("x", "pic"), ">50<"); got != want {
			t.Errorf("at %g from 20 to 200 it is written: %t", y, got)
		}
	}
}
