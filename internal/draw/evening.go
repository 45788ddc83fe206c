package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// course is the axis that all rows of the evening share: time, or the cues side by side
// where nobody says when they are.
type course struct {
	s      *scene.Scene
	x      picture.Scale
	timed  bool
	starts []float64 // of each cue, on the axis; NaN where that is not known
	ends   []float64
}

func courseOf(s *scene.Scene, left, right float64) course {
	c := course{s: s, timed: s.EndS != nil && *s.EndS > 0}
	end := float64(max(len(s.Cues), 1))
	if c.timed {
		end = *s.EndS
	}
	c.x = picture.Scale{From: 0, To: end, A: left, B: right}
	for i := range s.Cues {
		start := float64(i)
		if c.timed {
			start = math.NaN()
			if at := s.Cues[i].StartS; at != nil {
				start = *at
			}
		}
		c.starts = append(c.starts, start)
	}
	for i := range s.Cues {
		stop := end
		if i+1 < len(c.starts) {
			stop = c.starts[i+1]
		}
		c.ends = append(c.ends, stop)
	}
	return c
}

// known reports whether a cue has a stretch on the axis.
func (c course) known(i int) bool {
	return !math.IsNaN(c.starts[i]) && !math.IsNaN(c.ends[i]) && c.ends[i] >= c.starts[i]
}

func (c course) span(i int) (from, to float64) { return c.x.At(c.starts[i]), c.x.At(c.ends[i]) }

// segments are the stretches of the running order, in pixels.
func (c course) segments() (from, to []float64) {
	for k, segment := range c.s.Segments {
		a, b := math.NaN(), math.NaN()
		if c.timed && segment.LengthS != nil {
			a, b = c.x.At(segment.StartS), c.x.At(segment.StartS+*segment.LengthS)
		} else if !c.timed {
			for i := range c.s.Cues {
				if c.s.Cues[i].Segment == k {
					x1, x2 := c.span(i)
					if math.IsNaN(a) {
						a = x1
					}
					b = x2
				}
			}
		}
		from, to = append(from, a), append(to, b)
	}
	return from, to
}

// strokes are lines that are gathered by how they look, so that all of a look are one
// element.
type strokes struct {
	names []string
	paths map[string]*picture.Path
}

func (s *strokes) line(x1, y1, x2, y2 float64, name string) {
	if s.paths == nil {
		s.paths = map[string]*picture.Path{}
	}
	path := s.paths[name]
	if path == nil {
		path = new(picture.Path)
		s.paths[name] = path
		s.names = append(s.names, name)
	}
	path.Go(x1, y1).Line(x2, y2)
}

func (s *strokes) draw(p *picture.Pic) {
	for _, name := range s.names {
		p.Path(s.paths[name], name)
	}
}

// block is a stretch of a colour.
type block struct {
	x, y, w, h float64
	colour     string
}

// fillAll fills stretches that do not lie on each other; those of a colour are one element.
func fillAll(p *picture.Pic, blocks []block) {
	slices.SortStableFunc(blocks, func(a, b block) int { return strings.Compare(a.colour, b.colour) })
	for _, b := range blocks {
		p.Fill(b.x, b.y, b.w, b.h, b.colour)
	}
}

// rows lays the rows of the evening below each other.
type rows struct {
	p           *picture.Pic
	c           course
	left, right float64
	narrow      bool
	y           float64
}

// head writes the name of a row and returns where its stretch begins.
func (r *rows) head(name, sub string, h float64) (top float64) {
	if r.narrow {
		r.p.Text(0, r.y+11, 11, picture.Start, "lab", name)
		r.p.Text(picture.Width(name+"  ", 11, true), r.y+11, 10.5, picture.Start, "sub", strings.ReplaceAll(sub, "|", " "))
		r.p.Take(picture.Box{X: 0, Y: r.y, W: r.p.W, H: 14})
		r.y += 18
		return r.y
	}
	r.p.Text(0, r.y+12, 12, picture.Start, "lab", name)
	for i, line := range strings.Split(sub, "|") {
		r.p.Text(0, r.y+27+float64(i)*13, 10.5, picture.Start, "sub", line)
	}
	return r.y
}

// uprights draws where segments begin and end.
func (r *rows) uprights(top, bottom float64) {
	from, to := r.c.segments()
	for i := range from {
		if i == 0 || !(math.Abs(from[i]-to[i-1]) < 0.05) {
			r.p.Line(from[i], top, from[i], bottom, "seg")
		}
		r.p.Line(to[i], top, to[i], bottom, "seg")
	}
}

// axis draws the numbers of a row beside it.
func (r *rows) axis(y picture.Scale, ticks []float64, say func(float64) string) {
	for _, v := range ticks {
		at := y.At(v)
		r.p.Line(r.left, at, r.right, at, "grid")
		if r.narrow {
			r.p.Place(picture.Words{Lines: []string{say(v)}, Size: 10.5, Class: "sub", Plate: "pplate"}, picture.Spot{X: r.left + 2, Y: at + 3.5, Anchor: picture.Start})
		} else {
			r.p.Text(r.left-6, at+3.6, 10.5, picture.End, "sub", say(v))
		}
	}
}

// unknown draws a stretch of which nothing is known.
func (r *rows) unknown(x1, x2, top, bottom float64, words string) {
	r.p.Rect(x1+0.5, top+0.5, x2-x1-1, bottom-top-1, "empty")
	if text := picture.Fit(words, 10.5, x2-x1-6, false); text == words {
		r.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: "sub"}, picture.Spot{X: (x1 + x2) / 2, Y: (top+bottom)/2 + 4, Anchor: picture.Middle})
	}
}

// lightRange is how far down the light of the picture is drawn at most, in stops: under
// it a camera that is set for faces sees nothing.
const lightRange = 6

// lowest is how far down it is drawn in this evening.
func lowest(s *scene.Scene) float64 {
	low := -3.0
	for _, c := range s.Cues {
		if c.Dark {
			return -lightRange
		}
		if c.Stops != nil {
			low = min(low, math.Floor(*c.Stops-0.2))
		}
	}
	return max(low, -lightRange)
}

// Evening draws the evening along its running order.
func Evening(s *scene.Scene, bites []Bite, w float64) *picture.Pic {
	p := picture.New(w, 10_000)
	r := &rows{p: p, left: 128, right: w - 8, y: 6}
	if w < 500 {
		r.narrow, r.left, r.right = true, 0, w
	} else if w < 800 {
		r.left = 112
	}
	r.c = courseOf(s, r.left, r.right)
	r.light()
	r.faces()
	r.hues()
	r.haze()
	r.flashes()
	r.screens()
	r.bites(bites)
	r.order()
	p.H = math.Ceil(r.y + 4)
	p.Title = "The evening"
	p.Desc = sayEvening(s)
	p.Table = eveningTable(s)
	return p
}

func (r *rows) light() {
	h := 92.0
	if r.narrow {
		h = 76
	}
	top := r.head("Light", "of the picture,|stops under most", h)
	bottom := top + h
	s := r.c.s
	y := picture.Scale{From: 0, To: lowest(s), A: top + 4, B: bottom}
	if s.Limits.NearPeakStops != nil { // only over what the rule counts
		for i := 0; i < len(s.Cues); i++ {
			if !r.c.known(i) || outside(s, i) {
				continue
			}
			x1, x2 := r.c.span(i)
			for i+1 < len(s.Cues) && r.c.known(i+1) && !outside(s, i+1) {
				i++
				_, x2 = r.c.span(i)
			}
			r.p.Rect(x1, top, x2-x1, y.At(-*s.Limits.NearPeakStops)-top, "lim")
		}
	}
	area, line, broken := new(picture.Path), new(picture.Path), new(picture.Path)
	down, open := false, false // of the line, and of the area that goes on
	for i := range s.Cues {
		c := &s.Cues[i]
		if !r.c.known(i) {
			down = false
			continue
		}
		x1, x2 := r.c.span(i)
		if c.Stops == nil && !c.Dark {
			r.unknown(x1, x2, top, bottom, "?")
			down = false
			continue
		}
		at := bottom
		if c.Stops != nil {
			at = y.At(*c.Stops)
		}
		if !open {
			area.Move(x1, bottom)
		}
		area.Line(x1, at).Line(x2, at)
		open = true
		if i+1 == len(s.Cues) || !r.c.known(i+1) || s.Cues[i+1].Stops == nil {
			area.Line(x2, bottom)
			open = false
		}
		way := line
		if c.Assumed {
			way = broken
			down = false
		}
		fade := x1
		if r.c.timed && c.FadeS > 0 {
			fade = min(x2, r.c.x.At(r.c.starts[i]+c.FadeS))
		}
		if down {
			way.Line(fade, at)
		} else {
			way.Move(x1, at)
		}
		way.Line(x2, at)
		down = !c.Assumed
	}
	r.p.Path(area, "area")
	r.uprights(top, bottom)
	r.axis(y, picture.Scale{From: 0, To: lowest(s)}.Ticks(4), func(v float64) string { return picture.Say(v, 0) })
	r.p.Path(line, "line")
	r.p.Path(broken, "line dash")
	if s.Limits.NearPeakStops != nil && s.Limits.NearPeakPct != nil && len(s.Cues) > 0 {
		text := fmt.Sprintf("band: within %s stop of the most light; %s %% of the time is the limit", picture.Say(*s.Limits.NearPeakStops, 1), picture.Say(*s.Limits.NearPeakPct, 0))
		if r.narrow {
			text = fmt.Sprintf("band: %s stop from the most, %s %% of time", picture.Say(*s.Limits.NearPeakStops, 1), picture.Say(*s.Limits.NearPeakPct, 0))
		}
		r.p.Text(r.right, bottom+12, 10.5, picture.End, "sub", text)
		bottom += 14
	}
	r.y = bottom + 12
}

// outside reports whether a cue is in a part of the evening that no limit of its light
// counts.
func outside(s *scene.Scene, i int) bool {
	k := s.Cues[i].Segment
	return k >= 0 && slices.Contains([]string{"opening", "film", "changeover"}, s.Segments[k].Kind)
}

func (r *rows) faces() {
	h := 54.0
	top := r.head("Faces", "stops over what|cameras want", h)
	bottom := top + h
	s := r.c.s
	y := picture.Scale{From: 2, To: -3, A: top, B: bottom}
	if s.Limits.FaceUnder != nil {
		r.p.Rect(r.left, y.At(-*s.Limits.FaceUnder), r.right-r.left, bottom-y.At(-*s.Limits.FaceUnder), "lim")
	}
	r.uprights(top, bottom)
	r.axis(y, []float64{1, 0, -1, -2}, stops)
	var lines strokes
	r.runs(top, bottom, func(c *scene.Cue) string {
		switch {
		case c.People == 0:
			return "nobody on stage"
		case c.FaceLow == nil:
			return "unknown"
		}
		return ""
	}, func(i int, x1, x2 float64) {
		c := &s.Cues[i]
		low, high := y.At(*c.FaceLow), y.At(*c.FaceHigh)
		name := "area"
		if s.Limits.FaceUnder != nil && *c.FaceLow < -*s.Limits.FaceUnder {
			name = "hot"
		}
		if low-high > 1 {
			r.p.Rect(x1, high, x2-x1, low-high, name)
		}
		edge := "line thin"
		if c.FaceAssumed || c.Assumed {
			edge = "line dash"
		}
		lines.line(x1, low, x2, low, edge)
		if low-high > 1.5 {
			lines.line(x1, high, x2, high, edge)
		}
	})
	lines.draw(r.p)
	if s.Limits.FaceUnder != nil {
		text := fmt.Sprintf("from the dimmest to the brightest; band: %s stop under", picture.Say(*s.Limits.FaceUnder, 1))
		if r.narrow {
			text = fmt.Sprintf("dimmest to brightest; band: %s stop under", picture.Say(*s.Limits.FaceUnder, 1))
		}
		r.p.Text(r.right, bottom+12, 10.5, picture.End, "sub", text)
		bottom += 14
	}
	r.y = bottom + 12
}

// runs draws what is known cue by cue, and one frame with words over each stretch of
// which nothing is.
func (r *rows) runs(top, bottom float64, gap func(*scene.Cue) string, draw func(i int, x1, x2 float64)) {
	s := r.c.s
	for i := 0; i < len(s.Cues); i++ {
		if !r.c.known(i) {
			continue
		}
		x1, x2 := r.c.span(i)
		words := gap(&s.Cues[i])
		if words == "" {
			draw(i, x1, x2)
			continue
		}
		for i+1 < len(s.Cues) && r.c.known(i+1) && gap(&s.Cues[i+1]) == words {
			i++
			_, x2 = r.c.span(i)
		}
		r.unknown(x1, x2, top, bottom, words)
	}
}

func (r *rows) hues() {
	h := 34.0
	top := r.head("Hues", "shares of the|coloured light", h)
	bottom := top + h
	s := r.c.s
	type word struct {
		x1, x2 float64
		text   string
	}
	var blocks []block
	var words []word
	r.runs(top, bottom, func(c *scene.Cue) string {
		if !c.HuesKnown {
			return "unknown"
		}
		return ""
	}, func(i int, x1, x2 float64) {
		at := top
		var names []string
		for _, hue := range s.Cues[i].Hues {
			blocks = append(blocks, block{x1, at, x2 - x1 + 0.3, h * hue.Share, ink(hue.Light)})
			at += h * hue.Share
			if hue.Name != "" && hue.Share >= 0.1 && !slices.Contains(names, hue.Name) {
				names = append(names, hue.Name)
			}
		}
		text := strings.Join(names, ", ")
		if len(s.Cues[i].Hues) == 0 {
			text = "white"
		}
		if n := len(words); n > 0 && words[n-1].text == text && math.Abs(words[n-1].x2-x1) < 0.5 {
			words[n-1].x2 = x2
		} else {
			words = append(words, word{x1, x2, text})
		}
	})
	fillAll(r.p, blocks)
	r.p.Rect(r.left, top, r.right-r.left, h, "box")
	r.uprights(top, bottom)
	foot := bottom + 12
	for _, w := range words {
		text := picture.Fit(w.text, 10.5, w.x2-w.x1-2, false)
		if strings.HasSuffix(text, "…") {
			text = picture.Fit(strings.Split(w.text, ",")[0], 10.5, w.x2-w.x1-2, false)
			if strings.HasSuffix(text, "…") {
				continue
			}
		}
		r.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: "sub"}, picture.Spot{X: (w.x1 + w.x2) / 2, Y: foot, Anchor: picture.Middle})
	}
	r.y = foot + 14
}

func (r *rows) haze() {
	s := r.c.s
	if len(s.Haze) == 0 && len(s.NoHaze) == 0 || !r.c.timed {
		return
	}
	h := 46.0
	top := r.head("Haze", "mg in a|cubic metre", h)
	bottom := top + h
	if len(s.Haze) == 0 {
		r.unknown(r.left, r.right, top, bottom, "unknown")
		r.y = bottom + 14
		return
	}
	most := 2.0
	peak := s.Haze[0]
	for _, a := range s.Haze {
		if a.MgM3 > peak.MgM3 {
			peak = a
		}
		most = max(most, a.MgM3*1.15)
	}
	y := picture.Scale{From: most, To: 0, A: top, B: bottom}
	area, line := new(picture.Path).Move(r.left, bottom), new(picture.Path)
	last := r.left
	var points [][2]float64
	for _, a := range s.Haze {
		last = r.c.x.At(a.AtS)
		points = append(points, [2]float64{last, y.At(a.MgM3)})
	}
	for i, at := range picture.Thin(points, 0.3) {
		area.Line(at[0], at[1])
		if i == 0 {
			line.Move(at[0], at[1])
		} else {
			line.Line(at[0], at[1])
		}
	}
	if len(s.NoHaze) == 0 {
		area.Line(r.right, y.At(s.Haze[len(s.Haze)-1].MgM3))
		line.Line(r.right, y.At(s.Haze[len(s.Haze)-1].MgM3))
		last = r.right
	}
	r.p.Path(area.Line(last, bottom).Close(), "haze")
	r.uprights(top, bottom)
	r.axis(y, picture.Scale{From: 0, To: most}.Ticks(3), func(v float64) string { return picture.Say(v, 1) })
	r.p.Path(line, "line thin")
	if last < r.right {
		r.unknown(last, r.right, top, bottom, "unknown")
	}
	if s.Limits.ClearHaze != nil {
		at := y.At(*s.Limits.ClearHaze)
		r.p.Line(r.left, at, r.right, at, "limline")
		text := fmt.Sprintf("clear under %s; most %s", picture.Say(*s.Limits.ClearHaze, 1), picture.Say(peak.MgM3, 1))
		if !r.narrow {
			text = fmt.Sprintf("broken line: clear under %s; the most is %s, %s minutes in", picture.Say(*s.Limits.ClearHaze, 1), picture.Say(peak.MgM3, 1), clock(peak.AtS))
		}
		r.p.Text(r.right, bottom+12, 10.5, picture.End, "sub", text)
		bottom += 14
	}
	r.y = bottom + 12
}

func (r *rows) flashes() {
	s := r.c.s
	any := false
	for _, c := range s.Cues {
		any = any || c.Flashes == nil || *c.Flashes > 0
	}
	if !any {
		return
	}
	h := 16.0
	if !r.narrow {
		h = 24
	}
	top := r.head("Flashes", "a second", h)
	bottom := top + h
	r.p.Line(r.left, bottom, r.right, bottom, "grid")
	r.uprights(top, bottom)
	type said struct{ rate, x1, x2 float64 }
	var all []said // where too many flash, those of one rate that touch each other together
	r.runs(top, bottom, func(c *scene.Cue) string {
		if c.Flashes == nil {
			return "unknown"
		}
		return ""
	}, func(i int, x1, x2 float64) {
		rate := *s.Cues[i].Flashes
		if rate <= 0 {
			return
		}
		name := "line thin"
		if s.Limits.Flashes != nil && rate > *s.Limits.Flashes {
			name = "hotline"
		}
		step := max(1.8, 6/max(rate, 0.5))
		path := new(picture.Path)
		for k := 0; k < 200; k++ {
			x := x1 + float64(k)*step
			if x > x2 && k > 1 {
				break
			}
			path.Move(x, top+2).Line(x, bottom)
		}
		r.p.Path(path, name)
		r.p.Take(picture.Box{X: x1 - 1, Y: top, W: max(x2-x1, 2*step) + 2, H: h})
		if s.Limits.Flashes == nil || rate <= *s.Limits.Flashes {
			return // the table has them
		}
		x2 = max(x2, x1+2*step)
		if k := len(all) - 1; k >= 0 && all[k].rate == rate && x1 <= all[k].x2+1 {
			all[k].x2 = x2
			return
		}
		all = append(all, said{rate, x1, x2})
	})
	for _, f := range all { // when all is drawn that they must not lie on
		text := picture.Say(f.rate, 1) + ", limit " + picture.Say(*s.Limits.Flashes, 1)
		r.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: "fnd", Bold: true},
			picture.Spot{X: f.x2 + 5, Y: bottom - 3, Anchor: picture.Start}, picture.Spot{X: f.x1 - 5, Y: bottom - 3, Anchor: picture.End}, picture.Spot{X: f.x1, Y: bottom + 13, Anchor: picture.Start})
	}
	r.y = bottom + 14
}

// screenLines are how screens are told apart.
var screenLines = []string{"line", "line dash", "line dots", "line thin"}

func (r *rows) screens() {
	s := r.c.s
	if len(s.Screens) == 0 {
		return
	}
	h := 58.0
	top := r.head("Screens", "stops over the|dimmest face", h)
	bottom := top + h
	y := picture.Scale{From: 6, To: -2, A: top, B: bottom}
	if s.Limits.ScreenStops != nil {
		r.p.Rect(r.left, top, r.right-r.left, y.At(*s.Limits.ScreenStops)-top, "lim")
	}
	r.uprights(top, bottom)
	r.axis(y, []float64{4, 2, 0}, stops)
	var lines strokes
	r.runs(top, bottom, func(c *scene.Cue) string {
		if c.People == 0 {
			return "nobody on stage"
		}
		known := false
		for _, showing := range c.Showings {
			known = known || showing.OverFace != nil
		}
		if len(c.Showings) > 0 && !known {
			return "unknown"
		}
		return ""
	}, func(i int, x1, x2 float64) {
		for _, showing := range s.Cues[i].Showings {
			if showing.OverFace != nil && !showing.FacesDark && *showing.OverFace > -8 {
				at := y.At(*showing.OverFace)
				lines.line(x1, at, x2, at, screenLines[showing.Screen%len(screenLines)])
			}
		}
	})
	lines.draw(r.p)
	x := r.right
	if s.Limits.ScreenStops != nil {
		text := "band: over " + picture.Say(*s.Limits.ScreenStops, 1)
		r.p.Text(x, bottom+13, 10.5, picture.End, "sub", text)
		x -= picture.Width(text, 10.5, false) + 12
	}
	at := r.left
	for k, name := range s.Screens {
		word := picture.Fit(name, 10.5, 110, false)
		wide := 26 + picture.Width(word, 10.5, false)
		if at+wide > x {
			break
		}
		r.p.Line(at, bottom+9.5, at+20, bottom+9.5, screenLines[k%len(screenLines)])
		r.p.Text(at+25, bottom+13, 10.5, picture.Start, "sub", word)
		at += wide + 14
	}
	r.y = bottom + 28
}

// mostMarks is how many marks the evening has; the gravest stay.
const mostMarks = 24

func (r *rows) bites(list []Bite) {
	if len(list) == 0 {
		return
	}
	shown := list[:min(len(list), mostMarks)]
	top := r.head("Where it bites", "numbers: orders|letters: a person|decides", 0)
	type stretch struct{ x1, x2 float64 }
	var packed [][]stretch
	var draw []func() // once it is known how deep the rows go
	var lines strokes
	const step, radius = 19.0, 8.0
	deepest := 0
	for _, b := range shown {
		var mine []stretch
		for _, i := range b.Cues {
			if !r.c.known(i) {
				continue
			}
			x1, x2 := r.c.span(i)
			if n := len(mine); n > 0 && x1-mine[n-1].x2 < 0.6 {
				mine[n-1].x2 = x2
			} else {
				mine = append(mine, stretch{x1, x2})
			}
		}
		if len(mine) == 0 {
			continue
		}
		mark := max(min(mine[0].x1, r.right-radius-2), r.left+radius+2)
		claim := append([]stretch{{mark - radius - 2, max(mine[0].x2, mark+radius+2)}}, mine[1:]...)
		row := 0
		for ; row < len(packed); row++ {
			clash := slices.ContainsFunc(packed[row], func(o stretch) bool {
				return slices.ContainsFunc(claim, func(m stretch) bool { return m.x1 < o.x2+4 && o.x1 < m.x2+4 })
			})
			if !clash {
				break
			}
		}
		if row == len(packed) {
			packed = append(packed, nil)
		}
		packed[row] = append(packed[row], claim...)
		y := top + 10 + float64(row)*step
		name := "lasto"
		if b.Full {
			name = "last"
		}
		for k, m := range mine {
			from := m.x1
			if k == 0 {
				from = mark
			} else {
				lines.line(m.x1, y-4, m.x1, y+4, "last")
			}
			lines.line(from, y, max(m.x2, from), y, name)
		}
		draw = append(draw, func() { r.p.Mark(b.Shape, b.Full, b.Sign, mark, y, radius) })
		deepest = max(deepest, row+1)
	}
	bottom := top + float64(deepest)*step + 4
	r.uprights(top, bottom)
	lines.draw(r.p)
	for _, one := range draw {
		one()
	}
	if left := len(list) - len(shown); left > 0 {
		r.p.Text(r.right, bottom+9, 10.5, picture.End, "sub", fmt.Sprintf("and %d more, listed below", left))
		bottom += 12
	}
	if !r.narrow {
		bottom = max(bottom, top+68)
	}
	r.y = bottom + 8
}

func (r *rows) order() {
	s := r.c.s
	top, h := r.y, 24.0
	if !r.narrow {
		r.p.Text(0, top+16, 12, picture.Start, "lab", "Running order")
	}
	from, to := r.c.segments()
	for k, segment := range s.Segments {
		if math.IsNaN(from[k]) {
			continue
		}
		name := "run"
		if segment.Kind == "song" {
			name = "song"
		}
		r.p.Rect(from[k], top, to[k]-from[k], h, name)
		if sign := fmt.Sprint(k + 1); picture.Width(sign, 11, true) < to[k]-from[k]-2 {
			r.p.Text((from[k]+to[k])/2, top+16, 11, picture.Middle, "lab", sign)
		}
	}
	for i := range s.Cues {
		if r.c.known(i) {
			x, _ := r.c.span(i)
			foot := 5.0
			if s.Cues[i].Assumed {
				foot = 2.5 // nobody says when it is
			}
			r.p.Line(x, top+h, x, top+h+foot, "tick")
		}
	}
	y := top + h + 18
	if r.c.timed {
		for _, m := range (picture.Scale{From: 0, To: *s.EndS / 60}).Ticks(6) {
			text := picture.Say(m, 0)
			if m == 0 {
				text = "doors + 0 min"
			}
			if r.narrow && m == 0 {
				text = "0 min"
			}
			x := r.c.x.At(m * 60)
			anchor := picture.Middle
			if m == 0 {
				anchor = picture.Start
			} else if x > r.right-20 {
				anchor, x = picture.End, r.right
			}
			r.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: "sub"}, picture.Spot{X: x, Y: y, Anchor: anchor})
		}
		y += 16
	} else {
		r.p.Text(r.left, y, 10.5, picture.Start, "sub", picture.Fit("cue after cue, not to scale: nobody says when", 10.5, r.right-r.left, false))
		y += 16
	}
	if !r.narrow {
		for k, segment := range s.Segments {
			if math.IsNaN(from[k]) {
				continue
			}
			lines := wrap(segment.Name, to[k]-from[k]+14, 10.5, 4)
			if lines == nil {
				continue
			}
			x, anchor := (from[k]+to[k])/2, picture.Middle
			r.p.Place(picture.Words{Lines: lines, Size: 10.5, Class: "sub"}, picture.Spot{X: x, Y: y, Anchor: anchor})
		}
		y += 3*12.4 + 6
	}
	r.y = y
}

// wrap breaks a name into at most so many lines of a width; nil if a word is wider.
func wrap(text string, width, size float64, most int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(picture.Fit(text, size, 1e5, false)) {
		if picture.Width(word, size, false) > width {
			return nil
		}
		if both := strings.TrimSpace(line + " " + word); picture.Width(both, size, false) <= width {
			line = both
			continue
		}
		lines, line = append(lines, line), word
	}
	if lines = append(lines, line); len(lines) > most {
		return nil
	}
	return lines
}

// sayEvening is the evening in a sentence.
func sayEvening(s *scene.Scene) string {
	var words []string
	lowest, dark := 0.0, 0
	for _, c := range s.Cues {
		if c.Stops != nil {
			lowest = min(lowest, *c.Stops)
		}
		if c.Dark {
			dark++
		}
	}
	words = append(words, fmt.Sprintf("%d looks in %d parts. The light of the picture goes down to %s stops under its most", len(s.Cues), len(s.Segments), picture.Say(-lowest, 1)))
	if dark > 0 {
		words = append(words, fmt.Sprintf("in %d looks there is none", dark))
	}
	most := -99.0
	for _, c := range s.Cues {
		for _, showing := range c.Showings {
			if showing.OverFace != nil {
				most = max(most, *showing.OverFace)
			}
		}
	}
	if most > -99 {
		words = append(words, fmt.Sprintf("a screen is at most %s stops over the dimmest face", stops(most)))
	}
	if n := len(s.Haze); n > 0 {
		words = append(words, fmt.Sprintf("the haze ends at %s mg/m3", picture.Say(s.Haze[n-1].MgM3, 1)))
	}
	text := strings.Join(words, "; ") + "."
	if s.EndS == nil {
		text += " Times are not known: " + list(s.NoClock, 2) + " is missing."
	}
	return text
}

func eveningTable(s *scene.Scene) picture.Table {
	t := picture.Table{Head: []string{"cue", "name", "part", "at", "light, stops", "faces, stops", "hues", "flashes a second"}}
	for _, name := range s.Screens {
		t.Head = append(t.Head, name+", stops")
	}
	for _, c := range s.Cues {
		row := []string{c.Number, c.Name, "", "unknown", number(c.Stops, 1), "", "unknown", number(c.Flashes, 1)}
		if c.Segment >= 0 {
			row[2] = s.Segments[c.Segment].Name
		}
		if c.StartS != nil {
			row[3] = clock(*c.StartS)
			if c.Assumed {
				row[3] += ", assumed"
			}
		}
		if c.Dark {
			row[4] = "dark"
		}
		switch {
		case c.People == 0:
			row[5] = "nobody"
		case c.FaceLow == nil:
			row[5] = "unknown"
		default:
			row[5] = stops(*c.FaceLow)
			if high := stops(*c.FaceHigh); high != row[5] {
				row[5] += " to " + high
			}
			if c.FaceAssumed {
				row[5] += ", assumed"
			}
		}
		if c.HuesKnown {
			var words []string
			for _, hue := range c.Hues {
				words = append(words, fmt.Sprintf("%s %.0f %%", hue.Name, 100*hue.Share))
			}
			if row[6] = strings.Join(words, ", "); row[6] == "" {
				row[6] = "white"
			}
		}
		for k := range s.Screens {
			value := ""
			for _, showing := range c.Showings {
				if showing.Screen == k {
					switch {
					case showing.FacesDark:
						value = "faces are dark"
					default:
						value = number(showing.OverFace, 1)
					}
				}
			}
			row = append(row, value)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
