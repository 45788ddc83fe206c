package picture

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// drawing is what a picture has drawn, without its frame.
func drawing(draw func(p *Pic)) string {
	p := New(100, 100)
	draw(p)
	p.flush()
	return p.defs() + p.out.String()
}

// TestShapesInSVG: each shape as SVG 1.1 has it (https://www.w3.org/TR/SVG11/paths.html): a
// way goes by steps from where the pen is, with the letter of a step along an axis where it
// is one, and no more between two numbers than a reader needs.
func TestShapesInSVG(t *testing.T) {
	square := func() *Path { return new(Path).Move(1, 2).Line(4, 2).Line(4, 6).Line(1, 2).Close() }
	for name, c := range map[string]struct {
		draw func(p *Pic)
		want string
	}{
		"a rectangle":           {func(p *Pic) { p.Rect(1, 2, 3, 4, "lamp") }, `<path d="M1 2h3v4h-3Z" class="lamp"/>`},
		"one of a colour":       {func(p *Pic) { p.Fill(1, 2, 3, 4, "#0a0b0c") }, `<path d="M1 2h3v4h-3Z" fill="#0a0b0c"/>`},
		"one of no width":       {func(p *Pic) { p.Rect(1, 2, 0, 4, "lamp") }, ``},
		"one of no height":      {func(p *Pic) { p.Rect(1, 2, 3, 0, "lamp") }, ``},
		"one of no number":      {func(p *Pic) { p.Rect(1, math.NaN(), 3, 4, "lamp") }, ``},
		"two alike":             {func(p *Pic) { p.Rect(1, 2, 3, 4, "a"); p.Rect(5, 2, 1, 1, "a") }, `<path d="M1 2h3v4h-3ZM5 2h1v1h-1Z" class="a"/>`},
		"two unlike":            {func(p *Pic) { p.Rect(1, 2, 3, 4, "a"); p.Rect(5, 2, 1, 1, "b") }, `<path d="M1 2h3v4h-3Z" class="a"/><path d="M5 2h1v1h-1Z" class="b"/>`},
		"a circle":              {func(p *Pic) { p.Circle(1, 2, 3, "c") }, `<circle cx="1" cy="2" r="3" class="c"/>`},
		"a circle of no radius": {func(p *Pic) { p.Circle(1, 2, 0, "c") }, ``},
		"a dot":                 {func(p *Pic) { p.Dot(1, 2, "d") }, `<path d="M1 2h0" class="d"/>`},
		"a spark":               {func(p *Pic) { p.Spark(1, 2, "#ffffff") }, `<path d="M1 2h0" class="spark" stroke="#ffffff"/>`},
		"a spark of no colour":  {func(p *Pic) { p.Spark(1, 2, "#fffff") }, `<path d="M1 2h0" class="spark" stroke="currentColor"/>`},
		"a line":                {func(p *Pic) { p.Line(1, 2, 4, 0, "l") }, `<path d="M1 2l3-2" class="l"/>`},
		"a line of tenths":      {func(p *Pic) { p.Line(0.04, 0.05, 0.52, -0.5, "l") }, `<path d="M0 .1l.5-.6" class="l"/>`},
		"a way":                 {func(p *Pic) { p.Path(square(), "w") }, `<path d="M1 2h3v4l-3-4Z" class="w"/>`},
		"a way of a colour":     {func(p *Pic) { p.PathFill(square(), "#010203", "w") }, `<path d="M1 2h3v4l-3-4Z" fill="#010203" class="w"/>`},
		"a way as a line":       {func(p *Pic) { p.PathStroke(square(), "#010203", 1.5, "w") }, `<path d="M1 2h3v4l-3-4Z" fill="none" stroke="#010203" stroke-width="1.5" class="w"/>`},
		"a curve":               {func(p *Pic) { p.Path(new(Path).Move(1, 1).Curve(2, 3, 4, 0), "") }, `<path d="M1 1q1 2 3-1"/>`},
		"a way begun by a line": {func(p *Pic) { p.Path(new(Path).Line(1, 1).Line(2, 2), "") }, `<path d="M1 1l1 1"/>`},
		"going where one is":    {func(p *Pic) { p.Path(new(Path).Move(1, 1).Go(1, 1).Line(2, 1).Go(2, 3).Line(2, 4), "") }, `<path d="M1 1h1M2 3v1"/>`},
		"a step of nothing":     {func(p *Pic) { p.Path(new(Path).Move(1, 1).Line(1, 1).Line(1, 2), "") }, `<path d="M1 1v1"/>`},
		"a coarse way":          {func(p *Pic) { p.Path(Coarse().Move(1.2, 1.3).Line(2.8, 1.7), "") }, `<path d="M1 1.5h2"/>`},
		"a way that breaks":     {func(p *Pic) { p.Path(new(Path).Move(1, 1).Line(math.Inf(1), 0), "") }, ``},
		"within a way":          {func(p *Pic) { p.Clip("k", square(), func() { p.Dot(0, 0, "") }) }, `<clipPath id="k"><path d="M1 2h3v4l-3-4Z" /></clipPath><g clip-path="url(#k)"><path d="M0 0h0"/></g>`},
		"moved":                 {func(p *Pic) { p.Moved(1.25, 2, 0.33333, func() { p.Dot(0, 0, "") }) }, `<g transform="translate(1.3 2) scale(0.333)"><path d="M0 0h0"/></g>`},
		"kept and used":         {func(p *Pic) { p.Def("k", square()); p.Use("k", "#010203"); p.Trace("k", "#040506", 2) }, `<defs><path id="k" d="M1 2h3v4l-3-4Z"/></defs><use href="#k" fill="#010203"/><use href="#k" fill="none" stroke="#040506" stroke-width="2"/>`},
		"kept under no id":      {func(p *Pic) { p.Def("1", square()); p.Use("1", ""); p.Trace("K", "", 2); p.Kept("", 0, 0, 1) }, ``},
		"kept, and within it": {func(p *Pic) {
			p.Def("k", square())
			p.Within("w", "k", func() { p.Dot(0, 0, "") })
			p.Again("w", func() {})
		}, `<defs><path id="k" d="M1 2h3v4l-3-4Z"/></defs><clipPath id="w"><use href="#k"/></clipPath><g clip-path="url(#w)"><path d="M0 0h0"/></g><g clip-path="url(#w)"></g>`},
		"a picture kept":   {func(p *Pic) { o := New(9, 9); o.Dot(1, 1, ""); p.Keep("o", o); p.Kept("o", 1, 2, 0.25) }, `<defs><g id="o" class="geo"><path d="M1 1h0"/></g></defs><use href="#o" transform="translate(1 2) scale(0.25)"/>`},
		"a picture added":  {func(p *Pic) { o := New(9, 9); o.Dot(1, 1, ""); p.Add(o) }, `<path d="M1 1h0"/>`},
		"a word":           {func(p *Pic) { p.Text(1, 2, usualSize, Start, "", "a") }, `<text x="1" y="2">a</text>`},
		"a word of a size": {func(p *Pic) { p.Text(1, 2, 11, End, "soft", " a ") }, `<text x="1" y="2" font-size="11" class="soft e">a</text>`},
		"no word":          {func(p *Pic) { p.Text(1, 2, 11, End, "soft", " ") }, ``},
	} {
		if got := drawing(c.draw); got != c.want {
			t.Errorf("%s:\n%s\nnot\n%s", name, got, c.want)
		}
	}
}

// TestMarks: with ten pixels from its middle to its edge, a mark is about twenty wide and
// high, and each letter stands in its middle.
func TestMarks(t *testing.T) {
	for name, c := range map[string]struct {
		shape Shape
		full  bool
		sign  string
		want  string
	}{
		"hurt":          {Triangle, true, "1", `<path d="M50 39l12.5 21h-25Z" class="mf"/><text x="50" y="57.2" font-size="9.9" class="mt m">1</text>`},
		"dark":          {Square, true, "2", `<path d="M40.8 40.8h18.4v18.4h-18.4Z" class="mf"/><text x="50" y="53.6" font-size="11.2" class="mt m">2</text>`},
		"camera":        {Disc, false, "A", `<circle cx="50" cy="50" r="10" class="mo"/><text x="50" y="53.6" font-size="11.2" class="mto m">A</text>`},
		"room":          {HalfCircle, true, "12", `<path d="M39 57.5q0-19.5 11-19.5q11 0 11 19.5Z" class="mf"/><text x="50" y="53.6" font-size="9.8" class="mt m">12</text>`},
		"later":         {Lozenge, false, "3", `<path d="M37 50l13-11.5l13 11.5l-13 11.5Z" class="mo"/><text x="50" y="53.6" font-size="9.9" class="mto m">3</text>`},
		"later, of two": {Lozenge, true, "14", `<path d="M37 50l13-11.5l13 11.5l-13 11.5Z" class="mf"/><text x="50" y="53.6" font-size="8.6" class="mt m">14</text>`},
	} {
		if got := drawing(func(p *Pic) { p.Mark(c.shape, c.full, c.sign, 50, 50, 10) }); got != c.want {
			t.Errorf("%s:\n%s\nnot\n%s", name, got, c.want)
		}
	}
	// As a picture of its own it is whole, with room for the widest and the highest of them.
	if got := Sign(Disc, true, "1").Bare("sign"); !strings.HasPrefix(got, `<svg class="sign" viewBox="0 0 28 26" aria-hidden="true" focusable="false"><circle cx="14" cy="13.4" r="10.6" class="mf"/>`) {
		t.Error(got)
	}
}

// TestThin: a point stays if it lies farther off the line between its neighbours than asked.
func TestThin(t *testing.T) {
	way := [][2]float64{{0, 0}, {2, 0.5}, {4, 0}, {6, 1}, {8, 0}}
	for loose, want := range map[float64][][2]float64{
		0.4: way,
		0.5: {{0, 0}, {4, 0}, {6, 1}, {8, 0}},
		0.9: {{0, 0}, {6, 1}, {8, 0}},
		1.0: {{0, 0}, {8, 0}},
	} {
		if got := Thin(way, loose); !slices.Equal(got, want) {
			t.Errorf("%v: %v, not %v", loose, got, want)
		}
	}
	for _, far := range []float64{-50, 50} { // wherever it lies
		var there, want [][2]float64
		for _, p := range way {
			there = append(there, [2]float64{p[0] + far, p[1] + 2*far})
		}
		if want = [][2]float64{there[0], there[2], there[3], there[4]}; !slices.Equal(Thin(there, 0.5), want) {
			t.Errorf("at %g: %v, not %v", far, Thin(there, 0.5), want)
		}
	}
	// Where both ends are one point, off is away from it.
	if got := Thin([][2]float64{{0, 0}, {3, 4}, {0, 0}}, 4.9); len(got) != 3 {
		t.Errorf("a point five away is left out: %v", got)
	}
	if got := Thin([][2]float64{{0, 0}, {3, 4}, {0, 0}}, 5); len(got) != 2 {
		t.Errorf("a point five away stays: %v", got)
	}
}

// TestThinOutlines: of an outline the points on its way go, wherever it begins, and those at its corners stay; three are never fewer.
func TestThinOutlines(t *testing.T) {
	for _, c := range []struct{ way, want [][2]float64 }{
		{[][2]float64{{0, 0}, {1, 0.05}, {2, 0}}, [][2]float64{{0, 0}, {1, 0.05}, {2, 0}}},
		{[][2]float64{{0, 0}, {1, 0.05}, {2, 0}, {1, 1}}, [][2]float64{{0, 0}, {2, 0}, {1, 1}, {0, 0}}},
		{[][2]float64{{0, 0}, {1, 0}, {2, 0}, {2, 1}, {2, 2}, {0, 2}}, [][2]float64{{0, 0}, {2, 0}, {2, 1}, {2, 2}, {0, 2}, {0, 0}}},
	} {
		if got := (Field{}).thin(c.way); !slices.Equal(got, c.want) {
			t.Errorf("%v: %v, want %v", c.way, got, c.want)
		}
	}
	if got := (Field{Loose: 0.01}).thin([][2]float64{{0, 0}, {1, 0.05}, {2, 0}, {1, 1}}); len(got) != 5 {
		t.Errorf("where less may be left out there are %v", got)
	}
}

// TestPairOf: the way out next after the way in, going round by the four sides.
func TestPairOf(t *testing.T) {
	for _, c := range []struct {
		in   int
		outs []int
		want int
	}{{0, []int{2}, 2}, {0, []int{3, 1}, 1}, {0, []int{1, 3}, 1}, {1, []int{0, 2}, 2}, {2, []int{1, 3}, 3}, {2, []int{1, 0}, 0}, {3, []int{2, 0}, 0}, {3, []int{1, 2}, 1}} {
		if got := pairOf(c.in, c.outs); got != c.want {
			t.Errorf("in by %d and out by %v: %d, want %d", c.in, c.outs, got, c.want)
		}
	}
}

// TestOutlines: a block of two by three points of 10 in a field of 0, at a level of 5, has its
// outline half a step outside of them; cut by the edge of the grid, its line is open there.
func TestOutlines(t *testing.T) {
	field := func(i0, i1, j0, j1 int) Field {
		f := Field{NX: 8, NY: 8, At: make([]float64, 64), Loose: 1e-6}
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				f.At[j*8+i] = 10
			}
		}
		return f
	}
	double := func(i, j float64) (float64, float64) { return 2 * i, 2 * j }
	got := field(2, 3, 2, 4).Above(5, double).text()
	if !strings.HasSuffix(got, "Z") || strings.Count(got, "M") != 1 {
		t.Errorf("the outline is %s", got)
	}
	// The outline has a corner cut off at each corner, an eighth of a cell: 2*3 - 4/8 cells.
	loops := field(2, 3, 2, 4).loops(5)
	if len(loops) != 1 || math.Abs(extent(loops[0])-5.5) > 1e-9 {
		t.Fatalf("%d outlines", len(loops))
	}
	path, lines := field(2, 3, 2, 4).Lines(5, double)
	if path.text() == "" || len(lines) != 1 || lines[0][0][1] != 3 {
		t.Errorf("its line begins at %v, not at its highest, 1.5 steps of 2 down", lines)
	}
	// A single point encloses half a cell, which is a speck.
	if path, lines := field(2, 2, 2, 2).Lines(5, double); path.text() != "" || len(lines) > 0 || field(2, 2, 2, 2).Above(5, double).text() != "" {
		t.Error("a speck is drawn")
	}
	// What runs along the edge of the grid, a quarter of a step outside of it, is left out.
	_, edge := field(0, 3, 2, 5).Lines(5, double)
	if len(edge) != 1 || slices.ContainsFunc(edge[0], func(p [2]float64) bool { return p[0] < 0 }) || !slices.ContainsFunc(field(0, 3, 2, 5).loops(5)[0], func(p [2]float64) bool { return p[0] == -0.25 }) {
		t.Errorf("the line of what reaches the edge is %v", edge)
	}
	// What is not known is below: the line passes a quarter of a step from the last that is.
	f := field(2, 5, 2, 5)
	for k, v := range f.At {
		if v == 0 {
			f.At[k] = math.NaN()
		}
	}
	low, high := 9.0, 0.0
	for _, p := range f.loops(5)[0] {
		low, high = min(low, p[0], p[1]), max(high, p[0], p[1])
	}
	if low != 1.75 || high != 5.25 {
		t.Errorf("the outline of what is known goes from %v to %v", low, high)
	}
}

// TestScale: a number stands where its share of the range does, and never outside.
func TestScale(t *testing.T) {
	s := Scale{From: 10, To: 20, A: 100, B: 300}
	for v, want := range map[float64]float64{10: 100, 15: 200, 20: 300, 5: 100, 25: 300} {
		if got := s.At(v); got != want {
			t.Errorf("%v stands at %v, not %v", v, got, want)
		}
	}
	if down := (Scale{From: 20, To: 10, A: 100, B: 300}); down.At(12.5) != 250 || !down.Within(10) || !down.Within(20) || down.Within(9.9) || down.Within(20.1) {
		t.Error("a range that goes down is not understood")
	}
	if (Scale{From: 3, To: 3, A: 7, B: 9}).At(3) != 7 || s.At(math.NaN()) != 100 {
		t.Error("what has no place does not stand at the beginning")
	}
	for text, got := range map[string]string{
		"5590": Kelvin(5594), "5600": Kelvin(5595), "1.5": Say(1.46, 1), "−2": Say(-2.4, 0), "0": Say(-0.04, 1), "?": Say(math.NaN(), 0), "1500": Say(1500, 1),
		"+0.5": Signed(0.46, 1), "−0.5": Signed(-0.46, 1), "0 0 ?": Signed(0.04, 1) + " " + Signed(-0.04, 1) + " " + Signed(math.Inf(1), 1),
	} {
		if got != text {
			t.Errorf("%q, not %q", got, text)
		}
	}
}

// TestWidths: letters take what the tables of the face and of its bold say, others 600 and in bold 8 % more.
func TestWidths(t *testing.T) {
	for text, want := range map[string][2]float64{
		"": {}, "i": {2.22, 2.78}, "mi": {8.33 + 2.22, 8.89 + 2.78}, " ": {2.78, 2.78}, "~": {5.84, 5.84}, "é": {6, 6.48}, "e\u0301": {5.56, 5.56},
		"光": {10, 10}, "光i": {12.22, 12.78}, "…": {10, 10}, "→": {10, 10},
	} {
		if got := Width(text, 10, false); math.Abs(got-want[0]) > 1e-9 {
			t.Errorf("%q is %v wide, not %v", text, got, want[0])
		}
		if got := Width(text, 20, true); math.Abs(got-2*want[1]) > 1e-9 {
			t.Errorf("%q is %v wide in bold, not %v", text, got, 2*want[1])
		}
	}
	// Four letters of 5.56 and the ellipsis of 10 take 32.24.
	for width, want := range map[float64]string{32.25: "aaaa…", 32.23: "aaa…", 21.13: "aa…", 21.11: ""} {
		if got := Fit("aaaaaaaaaa", 10, width, false); got != want {
			t.Errorf("in %v: %q, not %q", width, got, want)
		}
	}
	if got := Fit(strings.Repeat("a", 28), 10, 1000, false); len(got) != 28 {
		t.Errorf("28 letters are cut: %q", got)
	}
	if got := Fit(strings.Repeat("a", 29), 10, 1000, false); got != strings.Repeat("a", 27)+"…" {
		t.Errorf("29 letters are %q", got)
	}
}

// TestLabelsTakeTurns: a label takes the first spot that is free, then loses lines.
func TestLabelsTakeTurns(t *testing.T) {
	p := New(100, 100)
	spot := []Spot{{50, 50, Middle}, {50, 70, Middle}}
	word := Words{Lines: []string{"ii"}, Size: 10} // 4.44 wide, from 42 to 52.2
	for n, want := range []bool{true, true, false} {
		if got := p.Place(word, spot...); got != want {
			t.Errorf("label %d finds a place: %v", n+1, got)
		}
	}
	if want := (Box{50 - 2.22, 42, 4.44, 10.2}); math.Abs(p.taken[0].X-want.X) > 1e-9 || p.taken[0].Y != want.Y || math.Abs(p.taken[0].W-want.W) > 1e-9 || math.Abs(p.taken[0].H-want.H) > 1e-9 {
		t.Errorf("it takes %v, not %v", p.taken[0], want)
	}
	// Labels keep a pixel from each other: 52.2 and one are 53.2.
	if p.Free(Box{48, 53.1, 4, 5}) || !p.Free(Box{48, 53.3, 4, 5}) || p.Free(Box{95, 0, 6, 5}) || p.Free(Box{-1, 0, 6, 5}) || !p.Free(Box{94, 0, 6, 5}) {
		t.Error("what is free is told wrongly")
	}
	for anchor, x := range map[Anchor]float64{Start: 50, Middle: 47.78, End: 45.56} {
		if got := word.box(Spot{50, 50, anchor}); math.Abs(got.X-x) > 1e-9 {
			t.Errorf("anchored %q it begins at %v, not %v", anchor, got.X, x)
		}
	}
	low := New(100, 12)
	if low.Place(Words{Lines: []string{"a", "b"}, Size: 10}, Spot{50, 9, Middle}) {
		t.Error("two lines stand where there is room for one")
	}
	if !low.Place(Words{Lines: []string{"a", "b"}, Each: []string{"x", "y"}, Size: 10, Shrink: true, Plate: "plate"}, Spot{50, 9, Middle}) {
		t.Error("one of two lines finds no place")
	}
	low.flush()
	// The plate is two pixels wider to each side and one higher: 5.56 + 4 by 10.2 + 1.
	if got, want := low.out.String(), `<path d="M45.2 0h9.6v11.2h-9.6Z" class="plate"/><text x="50" y="9" font-size="10" class="y m">b</text>`; got != want {
		t.Errorf("%s\nnot\n%s", got, want)
	}
}

// TestWithinThePicture: what touches its edges is within, and what goes over one of them is not.
func TestWithinThePicture(t *testing.T) {
	p := &Pic{W: 100, H: 50}
	for box, want := range map[Box]bool{
		{X: 0, Y: 0, W: 100, H: 50}: true, {X: 10, Y: 10, W: 90, H: 40}: true, {X: -0.5, Y: 0, W: 10, H: 10}: false, {X: 0, Y: -0.5, W: 10, H: 10}: false, {X: 90.5, Y: 0, W: 10, H: 10}: false, {X: 0, Y: 40.5, W: 10, H: 10}: false,
		{X: 90, Y: 40, W: 10, H: 10}: true,
	} {
		if got := p.within(box); got != want {
			t.Errorf("%+v is within: %v", box, got)
		}
	}
}

// TestWhatKeepsApart: two stretches meet where less than a pixel is between them, on whichever side.
func TestWhatKeepsApart(t *testing.T) {
	box := Box{X: 20, Y: 20, W: 10, H: 10}
	for other, want := range map[Box]bool{
		{X: 31, Y: 20, W: 5, H: 5}: false, {X: 30.5, Y: 20, W: 5, H: 5}: true, {X: 14, Y: 20, W: 5, H: 5}: false, {X: 14.5, Y: 20, W: 5, H: 5}: true,
		{X: 20, Y: 31, W: 5, H: 5}: false, {X: 20, Y: 30.5, W: 5, H: 5}: true, {X: 20, Y: 14, W: 5, H: 5}: false, {X: 20, Y: 14.5, W: 5, H: 5}: true, {X: 0, Y: 0, W: 99, H: 99}: true, {X: 22, Y: 22, W: 1, H: 1}: true,
	} {
		if got := box.meets(other); got != want || other.meets(box) != want {
			t.Errorf("%+v meets %+v: %v", box, other, got)
		}
		p := &Pic{W: 100, H: 100}
		p.Take(box)
		if got := p.Free(other); got == want {
			t.Errorf("%+v is free: %v", other, got)
		}
	}
	if p := (&Pic{W: 100, H: 100}); p.Free(Box{X: math.NaN(), Y: 1, W: 1, H: 1}) || p.Free(Box{X: 95, Y: 1, W: 10, H: 1}) || !p.Free(Box{X: 1, Y: 1, W: 1, H: 1}) {
		t.Error("what lies nowhere or beyond is free, or nothing is")
	}
}
