package picture

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// wellFormed fails where a picture is no XML, or where a number in it is none.
func wellFormed(t interface{ Fatalf(string, ...any) }, svg string) {
	in := xml.NewDecoder(strings.NewReader(svg))
	in.Strict = true
	for {
		_, err := in.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("no XML: %v\n%s", err, svg)
		}
	}
	if bad := regexp.MustCompile(`NaN|Inf|e[+-]\d`).FindString(regexp.MustCompile(`>[^<]*<`).ReplaceAllString(svg, "><")); bad != "" {
		t.Fatalf("%s stands in %s", bad, svg)
	}
}

func anyNumber() *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64(), rapid.Float64Range(-500, 1500), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e-300}))
}

func TestAnythingGivesAPicture(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := New(300, 200)
		n := func(label string) float64 { return anyNumber().Draw(rt, label) }
		word := rapid.String().Draw(rt, "word")
		p.Title, p.Desc = word, word
		p.Rect(n("x"), n("y"), n("w"), n("h"), word)
		p.Fill(n("x"), n("y"), n("w"), n("h"), word)
		p.Circle(n("x"), n("y"), n("r"), "lamp")
		p.Dot(n("x"), n("y"), "lamp")
		p.Spark(n("x"), n("y"), word)
		p.Line(n("x"), n("y"), n("x"), n("y"), "line")
		p.PathStroke(new(Path).Move(n("x"), n("y")).Line(n("x"), n("y")).Curve(n("x"), n("y"), n("x"), n("y")).Close(), word, n("w"), word)
		p.Text(n("x"), n("y"), n("size"), Middle, word, word)
		p.Place(Words{Lines: []string{word, word}, Size: n("size"), Plate: "plate", Shrink: true}, Around(n("x"), n("y"), n("r"), 11)...)
		p.Clip(word, new(Path).Move(0, 0).Line(n("x"), n("y")).Close(), func() { p.Use(word, word) })
		p.Moved(n("x"), n("y"), n("k"), func() { p.Mark(Shape(rapid.IntRange(0, 5).Draw(rt, "shape")), true, word, n("x"), n("y"), 8) })
		p.Kept("a", n("x"), n("y"), n("k"))
		s := Scale{n("from"), n("to"), 0, 100}
		if at := s.At(n("value")); !(at >= 0 && at <= 100) {
			rt.Fatalf("a number stands at %g, outside of its scale", at)
		}
		for _, tick := range s.Ticks(5) {
			if !s.Within(tick) {
				rt.Fatalf("the tick %g is outside of %v", tick, s)
			}
		}
		wellFormed(rt, p.Inline("p", "pic"))
		wellFormed(rt, string(p.File("")))
	})
}

// TestNothingOfAShowIsMarkup holds the one door against what a name could try.
func TestNothingOfAShowIsMarkup(t *testing.T) {
	for _, evil := range []string{`</text><script>alert(1)</script>`, `" onload="alert(1)`, `]]>`, `<!--`, `&#60;script>`, "\x00\x1b\u0085", `url(javascript:1)`} {
		p := New(100, 100)
		p.Title, p.Desc = evil, evil
		p.Text(1, 1, 11, Start, evil, evil)
		p.Fill(0, 0, 5, 5, evil)
		p.Rect(0, 0, 5, 5, evil)
		p.Use(evil, evil)
		svg := p.Inline("p", "pic")
		wellFormed(t, svg)
		if strings.Contains(svg, "<script") || strings.Contains(svg, `onload="`) || strings.Count(svg, "<svg") != 1 {
			t.Errorf("markup came through: %s", svg)
		}
	}
}

func TestLabelsNeverCollide(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := New(400, 300)
		for range rapid.IntRange(1, 40).Draw(rt, "labels") {
			x, y := rapid.Float64Range(0, 400).Draw(rt, "x"), rapid.Float64Range(0, 300).Draw(rt, "y")
			lines := rapid.SliceOfN(rapid.StringMatching(`[a-zA-Z0-9 .]{1,14}`), 1, 4).Draw(rt, "lines")
			p.Place(Words{Lines: lines, Size: 11, Shrink: true}, Around(x, y, 5, 11)...)
		}
		for i, a := range p.taken {
			if !p.within(a) {
				rt.Fatalf("%v is cut at the edge", a)
			}
			for _, b := range p.taken[:i] {
				if a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H {
					rt.Fatalf("%v and %v lie on each other", a, b)
				}
			}
		}
	})
}

// TestFitIsNeverWider: a word that was cut fits, and one that was not is whole.
func TestFitIsNeverWider(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		word, width := rapid.String().Draw(rt, "word"), rapid.Float64Range(0, 300).Draw(rt, "width")
		bold := rapid.Bool().Draw(rt, "bold")
		if fit := Fit(word, 11, width, bold); fit != "" && Width(fit, 11, bold) > width || len([]rune(Fit(word, 11, width, bold))) > mostLetters {
			rt.Fatalf("%q is wider than %g", fit, width)
		}
	})
	if got := Fit("Evening at Tallow Lane", 10, 1000, false); got != "Evening at Tallow Lane" {
		t.Errorf("%q was cut for nothing", got)
	}
}

// TestContourOfACone: where a cone of height 10 is above 4 is a disc of radius 6, whose
// outline is known.
func TestContourOfACone(t *testing.T) {
	const n = 41
	f := Field{NX: n, NY: n, At: make([]float64, n*n)}
	for j := range n {
		for i := range n {
			f.At[j*n+i] = 10 - math.Hypot(float64(i-20), float64(j-20))
		}
	}
	loops := f.loops(4)
	if len(loops) != 1 {
		t.Fatalf("%d outlines of one hill", len(loops))
	}
	for _, p := range loops[0] {
		if r := math.Hypot(p[0]-20, p[1]-20); math.Abs(r-6) > 0.05 { // straight between the points of the grid
			t.Errorf("a point of the outline is %g from the middle, not 6", r)
		}
	}
	// A straight side of the polygon lies inside of the disc: the area is a little less.
	if area := extent(loops[0]); math.Abs(area-math.Pi*36) > 1.5 {
		t.Errorf("it encloses %g, not %g", area, math.Pi*36)
	}
	if len(f.loops(11)) != 0 {
		t.Error("there is an outline above the top")
	}
}

// TestContoursClose: whatever the field, each outline has as many crossings as the grid
// has edges with one end above, and no edge is crossed twice.
func TestContoursClose(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		nx, ny := rapid.IntRange(2, 9).Draw(rt, "nx"), rapid.IntRange(2, 9).Draw(rt, "ny")
		f := Field{NX: nx, NY: ny}
		for range nx * ny {
			f.At = append(f.At, float64(rapid.IntRange(0, 3).Draw(rt, "v")))
		}
		edges := 0
		for j := -1; j <= ny; j++ {
			for i := -1; i <= nx; i++ {
				if (f.value(i, j) > 1.5) != (f.value(i+1, j) > 1.5) {
					edges++
				}
				if (f.value(i, j) > 1.5) != (f.value(i, j+1) > 1.5) {
					edges++
				}
			}
		}
		crossed := 0
		for _, loop := range f.loops(1.5) {
			crossed += len(loop)
		}
		if crossed != edges {
			rt.Fatalf("%d edges have an end above, %d were crossed", edges, crossed)
		}
	})
}

// TestRoundTicks: they are 1, 2 or 5 times a power of ten apart.
func TestRoundTicks(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		most     int
		want     string
	}{{0, 74, 6, "0 20 40 60"}, {0, -3, 4, "-3 -2 -1 0"}, {0, 5.4, 3, "0 2 4"}, {-1, 1, 5, "-1 -.5 0 .5 1"}, {-7, 7, 3, "-5 0 5"}, {0, 10, 6, "0 2 4 6 8 10"}, {0, 10, 5, "0 5 10"}, {0, 1, 1, "0"}, {0, 1, 0, "0"}, {12, 48, 4, "20 30 40"}, {3, 3, 5, ""}, {0, 2e6, 5, ""}} {
		var words []string
		for _, v := range (Scale{From: c.from, To: c.to}).Ticks(c.most) {
			words = append(words, number(v))
		}
		if got := strings.Join(words, " "); got != c.want {
			t.Errorf("%g to %g: %s, not %s", c.from, c.to, got, c.want)
		}
	}
}

// TestTicksHaveABound: forty, however many are asked for.
func TestTicksHaveABound(t *testing.T) {
	if got := (Scale{From: 0, To: 1000}).Ticks(1000); len(got) != 21 || got[1] != 50 { // steps of 20 are 51, of 50 are 21
		t.Errorf("%d ticks: %v", len(got), got)
	}
	if got := (Scale{From: 1, To: 40}).Ticks(1000); len(got) != 40 || got[39] != 40 {
		t.Errorf("%d ticks: %v", len(got), got)
	}
}

// TestAroundAPoint: ten pixels round it, letters of ten: below it with their heads at its edge, beside it on its height.
func TestAroundAPoint(t *testing.T) {
	want := []Spot{{100, 120, Middle}, {113, 103.5, Start}, {87, 103.5, End}, {110, 118, Start}, {90, 118, End}, {100, 86.5, Middle}, {110, 90, Start}, {90, 90, End}}
	if got := Around(100, 100, 10, 10); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestWhatCanBeDrawn is a number of up to a million, and an id begins with a letter.
func TestWhatCanBeDrawn(t *testing.T) {
	for v, want := range map[float64]bool{1e6: true, -1e6: true, 1000000.1: false, -1000000.1: false, math.Inf(1): false} {
		if drawable(0, v) != want {
			t.Errorf("%g can be drawn: %t", v, !want)
		}
	}
	if drawable(math.NaN()) {
		t.Error("no number can be drawn")
	}
	for id, want := range map[string]bool{"a": true, "z-9": true, "": false, "9a": false, "-a": false, "A": false, "a b": false} {
		if isID(id) != want {
			t.Errorf("%q is an id: %t", id, !want)
		}
	}
	for v, want := range map[float64]string{0.04: "0", 0.05: ".1", -0.04: "0", -0.26: "-.3", 10.04: "10", 20.5: "20.5", -10.5: "-10.5"} {
		if got := number(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}

// No text of a picture turns the direction of what stands around it, or hides.
func TestEscape(t *testing.T) {
	const text = "<a>&\"'\x1b\u009b\u2028\u202e\u2066\u061c\u00adk\u200dj"
	if got, want := escape(text), `&lt;a&gt;&amp;&#34;&#39;   \u202e\u2066\u061c\u00adk`+"\u200dj"; got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	for r, stays := range map[rune]bool{
		0: false, '\t': false, 0x1f: false, ' ': true, '~': true, 0x7f: false, 0x80: false, 0x9f: false, 0xa0: true, 'é': true,
		'\u2027': true, '\u2028': false, '\u2029': false, '\ufffd': true, '\ufffe': false, '\uffff': false, '\u200c': true, '\u200d': true, '𝄞': true,
	} {
		want := " "
		if stays {
			want = string(r)
		}
		if got := escape(string(r)); got != want {
			t.Errorf("%U becomes %q, want %q", r, got, want)
		}
	}
}

// TestContrast holds the palette against WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for
// letters, whatever they stand on, in light, in the dark and in print.
func TestContrast(t *testing.T) {
	palettes := strings.Split(strings.TrimSpace(Palette), "\n")
	if len(palettes) != 3 {
		t.Fatalf("%d palettes, not those for light, dark and print", len(palettes))
	}
	for i, name := range []string{"light", "dark", "print"} {
		colours := map[string]float64{}
		for _, m := range regexp.MustCompile(`--([a-z]+):#([0-9a-f]+)`).FindAllStringSubmatch(palettes[i], -1) {
			colours[m[1]] = luminance(m[2])
		}
		for _, pair := range [][2]string{
			{"ink", "paper"}, {"soft", "paper"}, {"acc", "paper"}, {"ink", "dusk"}, {"soft", "dusk"}, {"acc", "dusk"}, {"ink", "lim"}, {"soft", "lim"}, {"acc", "lim"},
			{"ink", "haze"}, {"soft", "haze"}, {"ink", "wash"}, {"soft", "wash"}, {"ink", "leaf"}, {"soft", "leaf"}, {"acc", "leaf"}, {"acct", "acc"}, {"paper", "ink"},
		} {
			a, b := colours[pair[0]], colours[pair[1]]
			if ratio := (max(a, b) + 0.05) / (min(a, b) + 0.05); ratio < 4.5 {
				t.Errorf("%s: %s on %s has a contrast of %.2f", name, pair[0], pair[1], ratio)
			}
		}
	}
}

// luminance is the relative luminance of WCAG 2.2 of a colour as "f5efe3" or "fff".
func luminance(hex string) (y float64) {
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		v := float64(n) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		y += weight * v
	}
	return y
}

// TestWidthsOfLetters holds the tables against the same metrics the other way round: which letters are
// how wide. From memory too; the free face that browsers take for it has each of these widths.
func TestWidthsOfLetters(t *testing.T) {
	for bold, table := range map[bool]map[float64]string{
		false: {
			191: "'", 222: "ijl", 260: "|", 278: " !,./:;I[\\]ft", 333: "()-`r", 334: "{}", 355: "\"", 389: "*", 469: "^", 500: "Jcksvxyz",
			556: "#$0123456789?L_abdeghnopqu", 584: "+<=>~", 611: "FTZ", 667: "&ABEKPSVXY", 722: "CDHNRUw", 778: "GOQ", 833: "Mm", 889: "%", 944: "W", 1015: "@",
			wideWidth: "…→\u1100\u115f\u2e80\ua4cf\uac00\ud7a3\uf900\ufaff\uff00\uff60\U0001f000", otherWidth: "\u10ff\u1160\u2e7f\ua4d0\uabff\ud7a4\uf8ff\ufb00\ufeff\uff61\U0001efff\u00fc", 0: "\u0301",
		},
		true: {
			238: "'", 278: " ,./I\\ijl", 280: "|", 333: "!()-:;[]`ft", 389: "*r{}", 474: "\"", 500: "z", 556: "#$0123456789J_aceksvxy", 584: "+<=>^~",
			611: "?FLTZbdghnopqu", 667: "EPSVXY", 722: "&ABCDHKNRU", 778: "GOQw", 833: "M", 889: "%m", 944: "W", 975: "@",
			wideWidth: "…→\u1100", 648: "\u10ff\u00fc", 0: "\u0301",
		},
	} {
		all := 0
		for width, letters := range table {
			for _, letter := range letters {
				if got := Width(string(letter), 1, bold) * 1000; math.Abs(got-width) > 1e-9 {
					t.Errorf("%q (%U, bold %t) is %g wide, want %g", letter, letter, bold, got, width)
				}
				if letter <= '~' {
					all++
				}
			}
		}
		if all != len(widths) {
			t.Errorf("bold %t: %d of %d letters are told of", bold, all, len(widths))
		}
	}
}
