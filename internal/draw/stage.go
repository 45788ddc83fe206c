package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// extent is the part of the room that is drawn, in metres.
type extent struct{ x0, x1, y0, y1, z1 float64 }

// farAway is how far beyond the places something may be to be drawn where it is, in
// metres; cameras stand farther off and are named at the edge.
const farAway = 9

func extentOf(s *scene.Scene, st *scene.Stage) extent {
	e := extent{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1), 0}
	for _, p := range st.People {
		e.x0, e.x1 = min(e.x0, p.At.X), max(e.x1, p.At.X)
		e.y0, e.y1 = min(e.y0, p.At.Y), max(e.y1, p.At.Y)
	}
	core := e
	grow := func(p scene.Point) {
		if !(p.X >= core.x0-farAway && p.X <= core.x1+farAway && p.Y >= core.y0-farAway && p.Y <= core.y1+farAway && p.Z < 100) {
			return
		}
		e.x0, e.x1, e.y0, e.y1, e.z1 = min(e.x0, p.X), max(e.x1, p.X), min(e.y0, p.Y), max(e.y1, p.Y), max(e.z1, p.Z)
	}
	for _, l := range st.Lamps {
		if l.Purpose != "house" {
			grow(l.At)
		}
	}
	for _, f := range s.Room.Surfaces {
		if f.Kind != "wall" {
			for _, c := range f.Corners {
				grow(c)
			}
		}
	}
	for _, p := range st.People {
		grow(p.At)
	}
	e.x0, e.x1, e.y0, e.y1 = e.x0-1, e.x1+1, e.y0-0.8, e.y1+0.8
	e.z1 = max(e.z1, 3) + 0.5
	return e
}

// plan is a view of the stage, with metres to pixels.
type plan struct {
	p      *picture.Pic
	s      *scene.Scene
	st     *scene.Stage
	k      float64 // pixels of a metre
	place  func(scene.Point) (x, y float64)
	top    float64
	bottom float64
	narrow bool
	front  bool
	tops   map[float64][][][2]float64 // the points of the lines of a level, loop by loop
}

// leastIso is the lowest light of which a line is drawn, in lux; each further line is
// twice as much, a stop.
const leastIso = 50

// unit is how many units of the kept shapes a metre has: a tenth of one is a centimetre.
const unit = 10

// StageShapes are the shapes of a look without its words, kept under an id for [Stage]
// to show at each width.
func StageShapes(s *scene.Scene, st *scene.Stage, id string) *picture.Pic {
	p := picture.New(0, 0)
	e := extentOf(s, st)
	for _, front := range []bool{false, true} {
		v := shapesOf(s, st, e, front)
		p.Keep(keptAs(id, front), v.p)
	}
	return p
}

func keptAs(id string, front bool) string {
	if front {
		return id + "-f"
	}
	return id + "-a"
}

// shapesOf draws a view of a look in units of its own.
func shapesOf(s *scene.Scene, st *scene.Stage, e extent, front bool) *plan {
	h := e.y1 - e.y0
	if front {
		h = e.z1
	}
	v := &plan{p: picture.New((e.x1-e.x0)*unit, h*unit), s: s, st: st, k: unit, front: front, bottom: h * unit, tops: map[float64][][][2]float64{}}
	v.place = func(at scene.Point) (float64, float64) {
		if front {
			return (at.X - e.x0) * unit, (e.z1 - at.Z) * unit
		}
		return (at.X - e.x0) * unit, (e.y1 - at.Y) * unit
	}
	if front {
		v.surfacesFront()
		v.isolines(st.Front)
	} else {
		v.isolines(st.Above)
		v.surfacesAbove()
	}
	v.beams()
	v.lamps()
	return v
}

// Stage draws one look from above and from the front, on one scale from left to right.
// kept is the id under which the page keeps its shapes; "" for a picture that stands
// alone.
func Stage(s *scene.Scene, st *scene.Stage, w float64, kept string) *picture.Pic {
	e := extentOf(s, st)
	p := picture.New(w, 10_000)
	if kept == "" {
		kept = "shapes"
		p.Add(StageShapes(s, st, kept))
	}
	k := w / (e.x1 - e.x0)
	if most := 640.0; k*(e.y1-e.y0) > most { // a deep stage is not higher than a screen
		k = most / (e.y1 - e.y0)
	}
	left := (w - k*(e.x1-e.x0)) / 2
	x := func(m float64) float64 { return left + (m-e.x0)*k }
	view := func(top, h float64, front bool) *plan {
		shapes := shapesOf(s, st, e, front)
		v := &plan{p: p, s: s, st: st, k: k, narrow: w < 500, top: top, bottom: top + k*h, front: front, tops: map[float64][][][2]float64{}}
		for level, loops := range shapes.tops {
			for _, loop := range loops {
				moved := make([][2]float64, len(loop))
				for i, at := range loop {
					moved[i] = [2]float64{left + at[0]*k/unit, top + at[1]*k/unit}
				}
				v.tops[level] = append(v.tops[level], moved)
			}
		}
		p.Rect(0, v.top, w, v.bottom-v.top, "dusk")
		p.Kept(keptAs(kept, front), left, top, k/unit)
		return v
	}
	p.Text(0, 12, 12, picture.Start, "lab", "From above")
	above := view(18, e.y1-e.y0, false)
	above.place = func(at scene.Point) (float64, float64) { return x(at.X), above.bottom - (at.Y-e.y0)*k }
	above.fromAbove()
	foot := above.cameras(e)

	p.Text(0, foot+24, 12, picture.Start, "lab", "From the front")
	front := view(foot+30, e.z1, true)
	front.place = func(at scene.Point) (float64, float64) { return x(at.X), front.bottom - at.Z*k }
	front.fromFront()
	p.H = front.bottom + 20
	long := 2 * k
	p.Path(new(picture.Path).Move(w-long-1, front.bottom+10).Line(w-long-1, front.bottom+14).Line(w-1, front.bottom+14).Line(w-1, front.bottom+10), "axis")
	p.Text(w-long-7, front.bottom+16, 10.5, picture.End, "sub", "2 m")
	cue := s.Cues[st.Cue]
	p.Title = strings.TrimSpace("The stage in cue " + cue.Number + " " + cue.Name)
	p.Desc = sayStage(s, st)
	p.Table = stageTable(s, st)
	return p
}

func (v *plan) shapes(grid scene.Grid, level float64) (area, line *picture.Path, loops [][][2]float64) {
	f := picture.Field{NX: grid.NX, NY: grid.NY, At: grid.Lux}
	place := func(i, j float64) (float64, float64) {
		a, b := grid.X0+i*grid.DX, grid.Y0+j*grid.DY
		if v.front {
			return v.place(scene.Point{X: a, Z: b})
		}
		return v.place(scene.Point{X: a, Y: b})
	}
	line, loops = f.Lines(level, place)
	return f.Above(level, place), line, loops
}

// short of what it is aimed at an axis ends, in metres: round each face stands a ring of
// dots, one for each lamp, on the side that its light comes from.
const short = 0.75

func (v *plan) beams() {
	byColour := slices.Clone(v.st.Lamps) // so that those of a colour are one element
	slices.SortStableFunc(byColour, func(a, b scene.Lamp) int { return strings.Compare(ink(a.Light), ink(b.Light)) })
	axes := func(draw func(l *scene.Lamp, x1, y1, x2, y2 float64)) {
		for i := range byColour {
			l := &byColour[i]
			if !l.Lit || l.End == nil || l.Purpose == "house" {
				continue
			}
			x1, y1 := v.place(l.At)
			x2, y2 := v.place(*l.End)
			if long := math.Hypot(x2-x1, y2-y1); long >= 1 && v.inside(x1, y1) {
				part := max(0.3, 1-short*v.k/long)
				draw(l, x1, y1, x1+(x2-x1)*part, y1+(y2-y1)*part)
			}
		}
	}
	axes(func(l *scene.Lamp, x1, y1, x2, y2 float64) {
		x2, y2 = v.cut(x1, y1, x2, y2)
		v.p.PathStroke(new(picture.Path).Move(x1, y1).Line(x2, y2), ink(l.Light), 1.1, "")
	})
	axes(func(l *scene.Lamp, _, _, x2, y2 float64) {
		if v.inside(x2, y2) {
			v.p.Spark(x2, y2, ink(l.Light))
		}
	})
	axes(func(l *scene.Lamp, x1, y1, x2, y2 float64) { // a shutter: a bar across the axis near the lamp
		if l.Cut {
			long := math.Hypot(x2-x1, y2-y1)
			dx, dy := (x2-x1)/long, (y2-y1)/long
			cx, cy := x1+3*dx, y1+3*dy
			v.p.Line(cx-1.2*dy, cy+1.2*dx, cx+1.2*dy, cy-1.2*dx, "cutm")
		}
	})
}

// cut ends a line at the edge of the view.
func (v *plan) cut(x1, y1, x2, y2 float64) (x, y float64) {
	part := 1.0
	if y2 < v.top {
		part = min(part, (v.top-y1)/(y2-y1))
	}
	if y2 > v.bottom {
		part = min(part, (v.bottom-y1)/(y2-y1))
	}
	if x2 < 0 {
		part = min(part, -x1/(x2-x1))
	}
	if x2 > v.p.W {
		part = min(part, (v.p.W-x1)/(x2-x1))
	}
	return x1 + (x2-x1)*part, y1 + (y2-y1)*part
}

func (v *plan) inside(x, y float64) bool {
	return x >= 0 && x <= v.p.W && y >= v.top && y <= v.bottom
}

// lamps draws the fixtures: a dot where one is lit, a ring where it is dark, a dot in a
// ring where nobody can tell its light.
func (v *plan) lamps() {
	dot := func(name string, wanted func(*scene.Lamp) bool) {
		for i := range v.st.Lamps {
			l := &v.st.Lamps[i]
			if x, y := v.place(l.At); wanted(l) && v.inside(x, y) && l.Purpose != "house" {
				v.p.Dot(x, y, name)
			}
		}
	}
	sure := func(l *scene.Lamp) bool { return l.Lit && !l.Unknown }
	dot("lampo", func(l *scene.Lamp) bool { return !sure(l) })
	dot("lampi", func(l *scene.Lamp) bool { return !sure(l) })
	dot("lampq", func(l *scene.Lamp) bool { return l.Lit && l.Unknown })
	dot("lamp", sure)
}

func (v *plan) channels() {
	if v.narrow {
		return
	}
	for _, l := range v.st.Lamps {
		x, y := v.place(l.At)
		if l.Lit && l.Purpose != "house" && v.inside(x, y) {
			v.p.Place(picture.Words{Lines: []string{fmt.Sprint(l.Channel)}, Size: 10.5, Class: "val"}, picture.Spot{X: x, Y: y + 14, Anchor: picture.Middle}, picture.Spot{X: x, Y: y - 7, Anchor: picture.Middle}, picture.Spot{X: x + 5, Y: y + 3.5, Anchor: picture.Start}, picture.Spot{X: x - 5, Y: y + 3.5, Anchor: picture.End})
		}
	}
}

func (v *plan) screenLight(name string) (light *scene.ScreenLight) {
	for i := range v.st.Screens {
		if v.st.Screens[i].Name == name {
			return &v.st.Screens[i]
		}
	}
	return nil
}

// surfacesAbove draws what stands round the stage, from above.
func (v *plan) surfacesAbove() {
	for _, f := range v.s.Room.Surfaces {
		x1, y1 := v.place(f.Corners[0])
		x2, y2 := v.place(f.Corners[1])
		if !v.inside(x1, y1) || !v.inside(x2, y2) {
			continue
		}
		switch f.Kind {
		case "drape":
			v.scallop(x1, y1, x2, y2)
		case "wall":
			v.p.Line(x1, y1, x2, y2, "wall")
		default:
			v.p.Line(x1, y1, x2, y2, "scr")
		}
	}
	if x1, y := v.place(scene.Point{}); v.inside(max(0, min(v.p.W, x1)), y) {
		v.p.Line(0, y, v.p.W, y, "floor")
	}
}

// fromAbove writes what stands beside the shapes of the view from above.
func (v *plan) fromAbove() {
	for i := range v.st.Lamps {
		v.keepFree(&v.st.Lamps[i])
	}
	for _, f := range v.s.Room.Surfaces {
		x1, y1 := v.place(f.Corners[0])
		x2, y2 := v.place(f.Corners[1])
		if v.inside(x1, y1) && v.inside(x2, y2) && f.Kind != "drape" && f.Kind != "wall" && math.Abs(y2-y1) < 4 {
			v.p.Take(picture.Box{X: min(x1, x2), Y: min(y1, y2) - 3, W: math.Abs(x2 - x1), H: math.Abs(y2-y1) + 6})
		}
	}
	v.heads()
	v.persons()
	v.isolineLabels(v.st.Above)
	v.channels()
	for _, f := range v.s.Room.Surfaces {
		x1, y1 := v.place(f.Corners[0])
		x2, y2 := v.place(f.Corners[1])
		if !v.inside(x1, y1) || !v.inside(x2, y2) || f.Kind == "drape" || f.Kind == "wall" {
			continue
		}
		text := picture.Fit(f.Name, 10.5, 120, false)
		if l := v.screenLight(f.Name); l != nil && l.DrivePct != nil {
			text += ", " + picture.Say(*l.DrivePct, 0) + " %"
		}
		mx, my := (x1+x2)/2, (y1+y2)/2
		v.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: "val", Plate: "plate"}, picture.Spot{X: mx, Y: my + 15, Anchor: picture.Middle}, picture.Spot{X: mx, Y: my - 7, Anchor: picture.Middle}, picture.Spot{X: max(4, mx-20), Y: my + 30, Anchor: picture.Start}, picture.Spot{X: max(4, mx), Y: my + 44, Anchor: picture.Start})
	}
	if _, y := v.place(scene.Point{}); y > v.top+12 && y < v.bottom {
		v.p.Place(picture.Words{Lines: []string{"stage edge"}, Size: 10.5, Class: "sub"}, picture.Spot{X: 5, Y: y - 4, Anchor: picture.Start}, picture.Spot{X: 5, Y: y + 11, Anchor: picture.Start})
	}
}

// keepFree keeps words off a lamp.
func (v *plan) keepFree(l *scene.Lamp) {
	if x, y := v.place(l.At); v.inside(x, y) && l.Purpose != "house" {
		v.p.Take(picture.Box{X: x - 3.5, Y: y - 3.5, W: 7, H: 7})
	}
}

// scallop is a drape: a line of small bows.
func (v *plan) scallop(x1, y1, x2, y2 float64) {
	long := math.Hypot(x2-x1, y2-y1)
	n := int(long / 4)
	if n < 1 || n > 400 {
		v.p.Line(x1, y1, x2, y2, "drape")
		return
	}
	dx, dy := (x2-x1)/float64(n), (y2-y1)/float64(n)
	path := new(picture.Path).Move(x1, y1)
	for i := range n {
		ax, ay := x1+float64(i)*dx, y1+float64(i)*dy
		path.Curve(ax+dx/2-dy*0.5, ay+dy/2+dx*0.5, ax+dx, ay+dy)
	}
	v.p.Path(path, "drape")
}

// headR is half of a head, in pixels.
const headR = 8.5

// heads draws the people: drops from above, figures from the front. Who is not there in
// this look is an outline.
func (v *plan) heads() {
	const r = headR
	for _, here := range []bool{false, true} {
		name, dot := "off", "heado"
		if here {
			name, dot = "pers", "head"
		}
		each := func(draw func(person *scene.Person, x, y float64)) {
			for n := range v.st.People {
				if person := &v.st.People[n]; person.Here == here {
					if x, y := v.place(person.At); v.inside(x, y) {
						draw(person, x, y)
					}
				}
			}
		}
		each(func(person *scene.Person, x, y float64) { v.body(person, x, y, r, name) })
		each(func(_ *scene.Person, x, y float64) { v.p.Dot(x, y, dot) })
		if !here {
			each(func(_ *scene.Person, x, y float64) { v.p.Dot(x, y, "headi") })
		}
		if here && !v.front {
			each(func(person *scene.Person, x, y float64) { v.rim(person, x, y, r) })
		}
	}
	for n, person := range v.st.People {
		x, y := v.place(person.At)
		if !v.inside(x, y) {
			continue
		}
		word := "onl"
		if !person.Here {
			word = "sub"
		}
		v.p.Take(picture.Box{X: x - r - 4, Y: y - r - 4, W: 2*r + 8, H: 2*r + 8})
		if v.hidden(n, x, y, r) {
			continue // its number stands with its light
		}
		v.p.Text(x, y+3.8, 10.5, picture.Middle, word, fmt.Sprint(n+1))
	}
}

// hidden reports whether somebody stands before a person, as the view has it.
func (v *plan) hidden(n int, x, y, r float64) bool {
	for k := range v.st.People {
		other := &v.st.People[k]
		if k == n {
			continue
		}
		if ox, oy := v.place(other.At); math.Abs(ox-x) < 2*r-2 && math.Abs(oy-y) < 2*r-2 {
			mine := &v.st.People[n]
			nearer := other.At.Y < mine.At.Y || other.At.Y == mine.At.Y && k < n
			if other.Here != mine.Here {
				nearer = other.Here
			}
			if nearer {
				return true
			}
		}
	}
	return false
}

// body is a figure from the front, or from above the point that says where a head looks.
func (v *plan) body(person *scene.Person, x, y, r float64, name string) {
	if v.front {
		_, foot := v.place(scene.Point{X: person.At.X})
		v.p.Shape(new(picture.Path).Move(x-0.24*v.k, foot).Line(x-0.26*v.k, y+0.36*v.k).Curve(x-0.24*v.k, y+0.2*v.k, x, y+0.2*v.k).Curve(x+0.24*v.k, y+0.2*v.k, x+0.26*v.k, y+0.36*v.k).Line(x+0.24*v.k, foot).Close(), name)
		v.p.Take(picture.Box{X: x - 0.26*v.k, Y: y + 0.2*v.k, W: 0.52 * v.k, H: foot - y - 0.2*v.k})
		return
	}
	if person.FacingDeg != nil {
		at := turned(person, x, y)
		tx, ty := at(1.9*r, 0)
		ax, ay := at(0.55*r, 0.84*r)
		bx, by := at(0.55*r, -0.84*r)
		v.p.Shape(new(picture.Path).Move(ax, ay).Line(tx, ty).Line(bx, by).Close(), name)
	}
}

// turned gives points before and beside a head that looks somewhere, from above.
func turned(person *scene.Person, x, y float64) func(along, side float64) (float64, float64) {
	sin, cos := math.Sincos(*person.FacingDeg * math.Pi / 180)
	return func(along, side float64) (float64, float64) {
		return x + along*sin + side*cos, y + along*cos - side*sin
	}
}

// rim is light from behind: a bow at the back of the head, broken where there is none
// before something dark.
func (v *plan) rim(person *scene.Person, x, y, r float64) {
	if person.FacingDeg == nil || person.Ratio == nil {
		return
	}
	name := "rim"
	if *person.Ratio < leastRim {
		if name = "norim"; !person.DarkBack {
			return
		}
	}
	at := turned(person, x, y)
	ax, ay := at(-(r+4)*0.54, (r+4)*0.84)
	bx, by := at(-(r+4)*0.54, -(r+4)*0.84)
	cx, cy := at(-(r+4)*1.55, 0)
	v.p.Shape(new(picture.Path).Move(ax, ay).Curve(cx, cy, bx, by), name)
}

// leastRim is the light from behind, as a part of the key, from which a rim is drawn as
// one. Common practice, no source.
const leastRim = 0.1

// persons writes at each face what reaches it.
func (v *plan) persons() {
	for n, person := range v.st.People {
		x, y := v.place(person.At)
		if !person.Here || !v.inside(x, y) {
			continue
		}
		who := ""
		if v.hidden(n, x, y, headR) {
			who = fmt.Sprintf("%d: ", n+1)
		}
		w := picture.Words{Size: 11, Plate: "plate", Shrink: true}
		add := func(text, class string) { w.Lines, w.Each = append(w.Lines, text), append(w.Each, class) }
		if !v.narrow && !v.front {
			add(picture.Fit(person.Place, 11, 110, true), "lab")
		}
		about := ""
		if !person.Known {
			about = "about "
		}
		switch {
		case person.Lux == nil:
			add(who+"lux unknown", "sub")
		case v.narrow:
			add(who+picture.Say(*person.Lux, 0), "val")
		default:
			add(who+about+picture.Say(*person.Lux, 0)+" lx", "val")
		}
		if person.Kelvin != nil && !v.narrow && !v.front {
			add(about+picture.Kelvin(*person.Kelvin)+" K", "val")
		}
		if person.Ratio != nil && *person.Ratio < leastRim && person.DarkBack && !v.narrow && !v.front {
			add("no light from behind", "fnd")
		}
		w.Bold = true
		if v.front {
			v.p.Place(w, picture.Spot{X: x, Y: y - 17, Anchor: picture.Middle}, picture.Spot{X: x + 15, Y: y + 4, Anchor: picture.Start}, picture.Spot{X: x - 15, Y: y + 4, Anchor: picture.End}, picture.Spot{X: x, Y: y - 30, Anchor: picture.Middle})
			continue
		}
		v.p.Place(w, picture.Around(x, y, 17, 11)...)
	}
}

// isolines draws lines of equal light, each a stop from the next, and the one of what
// the cameras want.
func (v *plan) isolines(grid scene.Grid) {
	if len(grid.Lux) == 0 {
		return
	}
	most := slices.Max(grid.Lux)
	for level := float64(leastIso); level < most; level *= 2 {
		area, line, tops := v.shapes(grid, level)
		v.tops[level] = tops
		if v.whole(grid, level) {
			v.p.Path(area, "lit iso")
			continue
		}
		v.p.Path(area, "lit")
		v.p.Path(line, "iso")
	}
	if w := v.st.Wanted; w != nil && *w < most {
		_, line, tops := v.shapes(grid, *w)
		v.tops[*w] = tops
		v.p.Path(line, "iso2")
	}
}

// whole reports whether no line of a level runs out of the grid.
func (v *plan) whole(g scene.Grid, level float64) bool {
	for i := range g.NX { // along the floor the outline is that of the floor
		if !v.front && g.Lux[i] > level || g.Lux[(g.NY-1)*g.NX+i] > level {
			return false
		}
	}
	for j := range g.NY {
		if g.Lux[j*g.NX] > level || g.Lux[j*g.NX+g.NX-1] > level {
			return false
		}
	}
	return true
}

func (v *plan) isolineLabels(grid scene.Grid) {
	if len(grid.Lux) == 0 {
		return
	}
	most := slices.Max(grid.Lux)
	label := func(level float64, text, class string) {
		said := 0
		for _, loop := range v.tops[level] {
			for k := 0; k < 8 && said < 2; k++ { // round the loop, from its top
				at := loop[(k*len(loop)/8)%len(loop)]
				if at[1] > v.top+8 && at[1] < v.bottom-8 && v.p.Place(picture.Words{Lines: []string{text}, Size: 10.5, Class: class, Bold: class == "lab", Plate: "plate"}, picture.Spot{X: at[0], Y: at[1] + 3.5, Anchor: picture.Middle}) {
					said++
					break
				}
			}
			if class == "lab" && said > 0 {
				return
			}
		}
	}
	if w := v.st.Wanted; w != nil && *w < most {
		label(*w, picture.Say(*w, 0)+" lx wanted", "lab")
	}
	if v.narrow {
		return
	}
	for level := float64(leastIso); level < most; level *= 2 {
		label(level, picture.Say(level, 0), "sub")
	}
}

// cameras draws the cameras below the plan, each under where it stands, with its
// distance, its white and how much it sees; it returns where that ends.
func (v *plan) cameras(e extent) float64 {
	y := v.bottom + 20
	deepest := y
	for _, c := range v.s.Room.Cameras {
		x, real := v.place(c.At)
		if real >= v.top && real <= v.bottom {
			continue // it stands on the stage
		}
		x = max(8, min(v.p.W-8, x))
		if c.Aim != nil {
			ax, ay := v.place(*c.Aim)
			half := 0.0
			if c.ViewDeg != nil && *c.ViewDeg > 0 && *c.ViewDeg < 170 {
				half = *c.ViewDeg / 2 * math.Pi / 180
			}
			v.view(c, ax, ay, half)
		}
		v.p.Path(new(picture.Path).Move(x, y+2).Line(x, y-10).Move(x-4, y-5).Line(x, y-11).Line(x+4, y-5).Move(x-6, y+2).Line(x+6, y+2), "cam")
		v.p.Take(picture.Box{X: x - 7, Y: y - 12, W: 14, H: 15})
		far := math.Abs(c.At.Y)
		lines := []string{picture.Fit(c.Name, 10.5, 120, true), picture.Say(far, 0) + " m"}
		if c.WhiteK != nil {
			lines[1] += ", " + picture.Say(*c.WhiteK, 0) + " K"
		}
		w := picture.Words{Lines: lines, Each: []string{"lab", "sub"}, Size: 10.5, Bold: true}
		var spots []picture.Spot
		for down := 14.0; down < 80; down += 26 {
			spots = append(spots, picture.Spot{X: x, Y: y + down, Anchor: picture.Middle}, picture.Spot{X: x + 12, Y: y + down - 12, Anchor: picture.Start}, picture.Spot{X: x - 12, Y: y + down - 12, Anchor: picture.End})
		}
		for _, spot := range spots {
			if v.p.Place(w, spot) {
				deepest = max(deepest, spot.Y+13)
				break
			}
		}
	}
	return deepest + 4
}

// view draws how much of the stage a camera sees: two broken lines from the edge, as
// far as what it is aimed at; one where nobody says how wide it sees.
func (v *plan) view(c scene.Camera, ax, ay, half float64) {
	cx, cy := v.place(c.At)
	for _, side := range []float64{-1, 1} {
		sin, cos := math.Sincos(side * half)
		dx, dy := ax-cx, ay-cy
		ex, ey := cx+dx*cos-dy*sin, cy+dx*sin+dy*cos
		if cy > v.bottom && ey < v.bottom { // cut at the edge of the plan
			part := (cy - v.bottom) / (cy - ey)
			v.p.Line(cx+(ex-cx)*part, v.bottom, ex, ey, "view")
		}
		if half == 0 {
			return
		}
	}
}

// surfacesFront draws screens and drapes from the front, and the floor.
func (v *plan) surfacesFront() {
	for _, f := range v.s.Room.Surfaces {
		if f.Kind == "wall" {
			continue
		}
		path := new(picture.Path)
		ok := true
		for _, c := range f.Corners {
			x, y := v.place(c)
			ok = ok && v.inside(x, max(y, v.top))
			path.Line(x, max(y, v.top))
		}
		if !ok {
			continue
		}
		path.Close()
		if f.Kind == "drape" {
			v.p.Path(path, "drape")
			continue
		}
		if l := v.screenLight(f.Name); l != nil && l.DrivePct != nil && *l.DrivePct > 0 {
			v.p.PathFill(path, hex(scene.RGB{0.85 * l.Light[0], 0.85 * l.Light[1], 0.85 * l.Light[2]}), "glow")
		}
		v.p.Path(path, "frame")
	}
	v.p.Line(0, v.bottom, v.p.W, v.bottom, "floor")
}

// fromFront writes what stands beside the shapes of the view from the front.
func (v *plan) fromFront() {
	for i := range v.st.Lamps {
		v.keepFree(&v.st.Lamps[i])
	}
	v.heads()
	v.persons()
	v.isolineLabels(v.st.Front)
}

func sayStage(s *scene.Scene, st *scene.Stage) string {
	if len(st.Missing) > 0 {
		return "The light cannot be told: " + list(st.Missing, 2) + " is missing."
	}
	lit, here := 0, 0
	low, high := math.Inf(1), math.Inf(-1)
	for _, l := range st.Lamps {
		if l.Lit && l.Purpose != "house" {
			lit++
		}
	}
	for _, p := range st.People {
		if p.Here {
			here++
			if p.Lux != nil {
				low, high = min(low, *p.Lux), max(high, *p.Lux)
			}
		}
	}
	text := fmt.Sprintf("%d lamps are lit and %d of %d places have somebody on them", lit, here, len(st.People))
	if high >= low {
		text += fmt.Sprintf("; faces get %s to %s lux", picture.Say(low, 0), picture.Say(high, 0))
	}
	if st.Wanted != nil {
		text += fmt.Sprintf(", the main camera wants %s", picture.Say(*st.Wanted, 0))
	}
	if st.Assumed {
		text += ". Some of it rests on assumptions"
	}
	return text + "."
}

func stageTable(s *scene.Scene, st *scene.Stage) picture.Table {
	t := picture.Table{Head: []string{"", "place", "somebody there", "lux", "kelvin", "lux from behind", "behind to front"}}
	for n, p := range st.People {
		row := []string{fmt.Sprint(n + 1), p.Place, "no", "", "", "", ""}
		if p.Here {
			row = []string{fmt.Sprint(n + 1), p.Place, "yes", number(p.Lux, 0), "no white", number(p.BackLux, 0), number(p.Ratio, 2)}
			if p.Kelvin != nil {
				row[4] = picture.Kelvin(*p.Kelvin)
			}
			if !p.Known && p.Lux != nil {
				row[3] += ", assumed"
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
