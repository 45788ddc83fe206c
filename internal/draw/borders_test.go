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
	has(t, "universe 2", Addresses(u, 521), `<path d="M110.2 47v11" class="arc"/>`, `<text x="114.2" y="60" font-size="10" class="fnd">to 3.1</text>`)
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
		`<text x="100" y="114" font-size="10" class="val m">101<`:  nil,
		`<text x="100" y="93" font-size="10" class="val m">101<`:   {below},
		`<text x="105" y="103.5" font-size="10" class="val">101<`:  {below, above},
		`<text x="95" y="103.5" font-size="10" class="val e">101<`: {below, above, right},
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
