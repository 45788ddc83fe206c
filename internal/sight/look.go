package sight

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// faceKey is somebody on a place in a look.
type faceKey struct {
	cue   int
	place string
}

// look measures the looks again that are drawn: those where a finding bites, gravest
// first, then the first of each segment with people in it.
func (v *view) look() {
	looks, faces := v.bites()
	first := map[int]bool{}
	var openers []int
	for i, c := range v.scene.Cues {
		if c.People > 0 && (c.Segment < 0 && len(openers) == 0 || c.Segment >= 0 && !first[c.Segment]) {
			first[c.Segment] = true
			openers = append(openers, i)
		}
	}
	if v.o.Cue != "" {
		looks, openers = nil, nil
		if at, ok := v.cueAt[v.o.Cue]; ok {
			looks = []int{at}
		}
	}
	v.stages(append(looks, openers...))
	v.faces(faces, openers)
}

// stages draws at most as many looks as are asked for; those that stand alike in all
// that is drawn are one.
func (v *view) stages(wanted []int) {
	var chosen []int
	for _, at := range wanted {
		if !slices.Contains(chosen, at) && !slices.ContainsFunc(chosen, func(other int) bool {
			return v.m.Looks[at].Resolved().Same(v.m.Looks[other].Resolved())
		}) {
			chosen = append(chosen, at)
		}
	}
	if v.scene.Room == nil || len(chosen) == 0 {
		return
	}
	if left := len(chosen) - v.o.Stages; left > 0 {
		v.scene.LeftOut = append(v.scene.LeftOut, fmt.Sprintf("the stage in %d more looks", left))
		chosen = chosen[:v.o.Stages]
	}
	worst := chosen[0]
	rooms := v.rig.Room.Another()
	for i, lit := range v.m.Lit() {
		at := i.Resolved().Index
		if slices.Contains(chosen, at) {
			v.o.Tell("the stage", len(v.scene.Stages), len(chosen))
			v.scene.Stages = append(v.scene.Stages, v.stage(rooms, at, lit))
		}
	}
	slices.SortStableFunc(v.scene.Stages, func(a, b scene.Stage) int { // the gravest first, the others as they come
		switch {
		case a.Cue == worst && b.Cue != worst:
			return -1
		case b.Cue == worst && a.Cue != worst:
			return +1
		}
		return a.Cue - b.Cue
	})
}

// gridSteps is how finely light is laid out for isolines: a step of the grid is then a
// third of a metre on a usual stage, where a line half a step off is not seen.
const gridSteps = 34

func (v *view) stage(room *stage.Room, at int, lit *stage.LookLight) scene.Stage {
	st := scene.Stage{Cue: at, Missing: room.Light(lit)}
	people := lit.People()
	st.HasPeople = len(people) > 0
	facts := v.peopleOf(at)
	heads := 0
	for _, place := range v.show.Room.Places {
		head, ok := room.Placed(place.Name)
		if !ok {
			continue
		}
		p := scene.Person{Place: place.Name, At: scene.Point{X: head.X, Y: head.Y, Z: head.Z}, FacingDeg: place.FacingDeg, Here: slices.Contains(people, place.Name)}
		if p.Here {
			heads++
			st.FaceZ += head.Z
			st.FrontY += head.Y
		}
		if f := facts[place.Name]; f != nil {
			p.Lux, p.Kelvin, p.BackLux, p.Ratio = f.FaceLux, f.FaceCCT, f.BackLux, f.BackRatio
			p.DarkBack = f.Background != nil && *f.Background
			p.Known = f.Basis("face_lx").Known.Sure()
		}
		st.People = append(st.People, p)
	}
	if heads == 0 {
		for _, p := range st.People {
			st.FaceZ, st.FrontY = st.FaceZ+p.At.Z, st.FrontY+p.At.Y
		}
		heads = len(st.People)
	}
	if heads > 0 {
		st.FaceZ, st.FrontY = st.FaceZ/float64(heads), st.FrontY/float64(heads)
	}
	for _, c := range v.show.Room.Cameras {
		if wanted, lack := stage.WantedLux(c); lack == "" && stage.SetsExposure(c) && (st.Wanted == nil || c.Role == "main") {
			st.Wanted = &wanted
		}
	}
	white := v.mainWhite()
	lamps := map[int]*stage.Lamp{}
	for _, list := range [][]*stage.Lamp{lit.Lamps, lit.Others} {
		for _, lamp := range list {
			if lamps[lamp.Channel] == nil {
				lamps[lamp.Channel] = lamp
			}
		}
	}
	for _, f := range v.show.Patch {
		if f.HungAt == nil || f.Purpose == "haze" {
			continue
		}
		one := scene.Lamp{Channel: f.Channel, Purpose: f.Purpose, At: point(f.HungAt)}
		if lamp := lamps[f.Channel]; lamp != nil {
			one.Lit, one.Lumens = true, lamp.XYZ.Y
			one.Unknown = lamp.Missing != "" || lamp.Beam == nil || lamp.Beam.Missing != ""
			one.Light = toOne(through(lamp.XYZ, white))
			st.Assumed = st.Assumed || len(lamp.Rests) > 0
			if target, ok := room.Target(lamp); ok && !one.Unknown {
				one.End = &scene.Point{X: target.X, Y: target.Y, Z: target.Z}
				one.Cut = lamp.Beam.Cut()
			}
		}
		st.Lamps = append(st.Lamps, one)
	}
	for _, surface := range v.show.Room.Surfaces {
		if surface.Kind == "emissive" || surface.Kind == "projection" {
			kelvin := white
			if stage.IsWhite(surface.WhiteK) {
				kelvin = *surface.WhiteK
			}
			st.Screens = append(st.Screens, scene.ScreenLight{Name: surface.Name, DrivePct: lit.Drive(surface), Light: whiteLight(kelvin, white)})
		}
	}
	if len(st.Missing) == 0 && len(st.People) > 0 {
		v.grids(&st, lit)
	}
	return st
}

// whiteLight is a white as a camera of another shows it.
func whiteLight(kelvin, camera float64) scene.RGB {
	xy, ok := colour.Daylight(kelvin)
	if !ok {
		if xy, ok = colour.PlanckianOffset(kelvin, 0); !ok {
			return scene.RGB{1, 1, 1}
		}
	}
	xyz, _ := xy.XYZ(1)
	return toOne(through(xyz, camera))
}

// margin is how far the grid of light reaches beyond the places, in metres.
const margin = 2.5

// grids lays out the light at the height of faces, and upright through the people.
func (v *view) grids(st *scene.Stage, lit *stage.LookLight) {
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, p := range st.People {
		low[0], high[0] = min(low[0], p.At.X), max(high[0], p.At.X)
		low[1], high[1] = min(low[1], p.At.Y), max(high[1], p.At.Y)
	}
	ambient := v.rig.AmbientAt(lit, "").Lux
	lay := func(x0, x1, y0, y1 float64, at func(x, y float64) photometry.Vec) scene.Grid {
		step := max((x1-x0)/gridSteps, (y1-y0)/gridSteps, 0.1)
		g := scene.Grid{X0: x0, Y0: y0, DX: step, DY: step, NX: int(math.Ceil((x1-x0)/step)) + 1, NY: int(math.Ceil((y1-y0)/step)) + 1}
		if !(step < 1e4) {
			return scene.Grid{}
		}
		g.Lux = make([]float64, g.NX*g.NY)
		cores.Stretches(len(g.Lux), func(from, to int) {
			for k := from; k < to; k++ {
				x, y := x0+float64(k%g.NX)*step, y0+float64(k/g.NX)*step
				g.Lux[k] = facts.Round(lit.Shines(photometry.Receiver{Point: at(x, y), Normal: photometry.Vec{Y: -1}}) + ambient)
			}
		})
		return g
	}
	st.Above = lay(low[0]-margin, high[0]+margin, low[1]-margin, high[1]+margin, func(x, y float64) photometry.Vec { return photometry.Vec{X: x, Y: y, Z: st.FaceZ} })
	st.Front = lay(low[0]-margin, high[0]+margin, 0, st.FaceZ+2.2, func(x, z float64) photometry.Vec { return photometry.Vec{X: x, Y: st.FrontY, Z: z} })
}

// peopleOf are the facts of who is on stage in a look, by place.
func (v *view) peopleOf(at int) map[string]*facts.Person {
	list := map[string]*facts.Person{}
	for _, p := range v.m.People {
		if p.Number == v.scene.Cues[at].Number && list[p.Place] == nil {
			list[p.Place] = p
		}
	}
	return list
}

// faces draws each face where a finding bites, and all in the first look of each
// segment. Faces that look the same stand once, with all their cues.
func (v *view) faces(bites []faceKey, openers []int) {
	var wanted []faceKey
	add := func(k faceKey) {
		if !slices.Contains(wanted, k) && (v.o.Place == "" || v.o.Place == k.place) {
			wanted = append(wanted, k)
		}
	}
	if at, ok := v.cueAt[v.o.Cue]; ok && v.o.Cue != "" {
		for place := range v.peopleOf(at) {
			add(faceKey{at, place})
		}
		slices.SortFunc(wanted, func(a, b faceKey) int { return cmpText(a.place, b.place) })
	} else {
		for _, k := range bites {
			add(k)
		}
		for _, at := range openers {
			for _, place := range v.placesOf(at) {
				add(faceKey{at, place})
			}
		}
	}
	byCue := map[int][]int{}
	for n, k := range wanted {
		byCue[k.cue] = append(byCue[k.cue], n)
	}
	made := make([]*scene.Face, len(wanted))
	room := v.rig.Room.Another()
	for l, lit := range v.m.Lit() {
		for _, n := range byCue[l.Resolved().Index] {
			made[n] = v.face(room, lit, l.Resolved().Index, wanted[n].place)
		}
	}
	var list []scene.Face
	more := 0
	for _, f := range made {
		if f == nil {
			continue
		}
		if same := slices.IndexFunc(list, func(other scene.Face) bool { return alike(&other, f) }); same >= 0 {
			list[same].Cues = append(list[same].Cues, f.Cues...)
			continue
		}
		if len(list) == v.o.Faces {
			more++
			continue
		}
		list = append(list, *f)
	}
	if more > 0 {
		v.scene.LeftOut = append(v.scene.LeftOut, fmt.Sprintf("%d more faces", more))
	}
	for i := range list {
		slices.Sort(list[i].Cues)
		list[i].Cues = slices.Compact(list[i].Cues)
	}
	v.scene.Faces = list
}

func cmpText(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return +1
	}
	return 0
}

// placesOf are the places of a look in the order of the room.
func (v *view) placesOf(at int) (list []string) {
	people := v.peopleOf(at)
	if v.show.Room == nil {
		return nil
	}
	for _, place := range v.show.Room.Places {
		if people[place.Name] != nil && !slices.Contains(list, place.Name) {
			list = append(list, place.Name)
		}
	}
	return list
}

// alike reports whether nobody would tell two faces apart: the same place and camera,
// light within a tenth of a stop, white within 5 mired, what is behind within a third
// of a stop (within one where it is dark, and black is black), the rim within half a stop. Common practice, no source.
func alike(a, b *scene.Face) bool {
	stops := func(x, y, most float64) bool {
		if x < 1 && y < 1 {
			return true
		}
		return x > 0 && y > 0 && math.Abs(math.Log2(x/y)) <= most
	}
	near := func(x, y *float64, apart func(x, y float64) float64, most float64) bool {
		if x == nil || y == nil {
			return x == y
		}
		return apart(*x, *y) <= most
	}
	difference := func(x, y float64) float64 { return math.Abs(x - y) }
	behind := near(a.Stops, b.Stops, difference, 0.34)
	if a.Stops != nil && b.Stops != nil {
		behind = behind || max(*a.Stops, *b.Stops) < -3 && near(a.Stops, b.Stops, difference, 1) || max(*a.Stops, *b.Stops) < -5
	}
	return a.Place == b.Place && a.Camera == b.Camera && len(a.Missing) == 0 && len(b.Missing) == 0 &&
		stops(a.Lux, b.Lux, 0.1) && near(a.Kelvin, b.Kelvin, stage.MiredApart, 5) && behind && a.Backdrop == b.Backdrop && stops(a.BackLux, b.BackLux, 0.5)
}

// leastRay is the light under which a lamp on a face is not drawn, in lux: a hundredth
// of what a camera usually wants.
const leastRay = 2

// face is a face as its camera sees it; nil where the place is not known.
func (v *view) face(room *stage.Room, lit *stage.LookLight, at int, place string) *scene.Face {
	f := room.FaceOn(lit, place, room.Light(lit))
	made := &scene.Face{Place: place, Cue: at, Cues: []int{at}, Missing: slices.Concat(f.Missing, f.BackMissing)}
	if p := v.rig.Places[place]; p != nil {
		made.Skin = p.Skin
	}
	if len(made.Missing) > 0 {
		return made
	}
	seen := room.Seen(f)
	made.Camera, made.YawDeg = seen.Camera.Name, seen.YawDeg
	white := v.mainWhite()
	if stage.IsWhite(seen.Camera.WhiteK) && stage.SetsWhite(seen.Camera) {
		white, made.CameraK = *seen.Camera.WhiteK, seen.Camera.WhiteK
	}
	if wanted, lack := stage.WantedLux(seen.Camera); lack == "" && stage.SetsExposure(seen.Camera) {
		made.Wanted = &wanted
	}
	made.Lux, made.Ambient, made.Known = f.Lux, f.Ambient.Lux, f.Ambient.Known
	light := f.Made()
	made.Kelvin, made.Duv = light.CCT, light.Duv
	rays := func(list []stage.Shine, least float64) (out []scene.Ray) {
		for _, s := range list {
			if s.Lux >= least {
				out = append(out, scene.Ray{Channel: s.Lamp.Channel, Lux: s.Lux, AzimuthDeg: s.AzimuthDeg, Elevation: s.ElevationDeg, Light: toOne(through(s.Lamp.XYZ, white))})
			}
		}
		return out
	}
	made.Rays, made.Rims = rays(seen.Front, leastRay), rays(seen.Behind, leastRay)
	key, back := f.BackAndFront()
	made.BackLux = back
	if key > 0 {
		ratio := back / key
		made.Ratio = &ratio
	}
	_, _, made.Rests = f.Between()
	behind := room.BackdropOf(f)
	made.Backdrop, made.Kind, made.Stops = behind.Name, behind.Kind, behind.Stops
	made.Behind = v.backdrop(seen, behind.Name, white)
	for _, c := range room.Cameras(place) {
		if c.Name == seen.Camera.Name || !stage.SetsWhite(c) || !stage.IsWhite(c.WhiteK) || made.CameraK == nil || stage.MiredApart(*c.WhiteK, white) < 10 {
			continue
		}
		one := whiteLight(white, *c.WhiteK)
		made.Others = append(made.Others, scene.Other{Camera: c.Name, White: *c.WhiteK, Gain: one})
	}
	return made
}

// backdrop is the colour of what is behind a face: its own white for a screen, the
// light on it for all else.
func (v *view) backdrop(seen stage.Seen, name string, white float64) scene.RGB {
	surface := v.rig.Surfaces[name]
	if surface == nil {
		return scene.RGB{}
	}
	if surface.Kind == "emissive" || surface.Kind == "projection" {
		if stage.IsWhite(surface.WhiteK) {
			return whiteLight(*surface.WhiteK, white)
		}
		return scene.RGB{1, 1, 1}
	}
	rgb := toOne(through(seen.Wall, white))
	if rgb == (scene.RGB{}) {
		rgb = scene.RGB{1, 1, 1}
	}
	return tinted(rgb, surface)
}

// tinted is light that comes back from a coloured cloth.
func tinted(rgb scene.RGB, surface *schema.Surface) scene.RGB {
	cloth, err := colour.ParseHex(surface.Colour)
	if surface.Colour == "" || err != nil {
		return rgb
	}
	return toOne(scene.RGB{rgb[0] * cloth.R, rgb[1] * cloth.G, rgb[2] * cloth.B})
}
