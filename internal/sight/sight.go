// Package sight makes a scene of a show that was measured: what its pictures are
// drawn from.
//
// In go facts, findings and the changes that were proved, out comes a [scene.Scene].
// What pictures need beyond the facts (light on a grid, a face lamp by lamp) is measured
// again for the looks that are drawn, and for no others. A newcomer's mistake would be
// to judge here: where something bites, a finding says.
package sight

import (
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Options are what is to be seen.
type Options struct {
	Rules  []finding.Rule    // whose limits are drawn
	Found  []finding.Finding // where it bites: these looks and faces come first
	Steps  []Step            // the changes that were proved, in their order
	Stages int               // looks of the stage at most; 0 for the usual number
	Faces  int               // faces at most; 0 for the usual number
	Cue    string            // the one look that is wanted; "" for a choice
	Place  string            // and the one place
	Tell   func(what string, done, of int)
}

// Step is a change that was proved. Its functions measure the show before and behind it.
type Step struct {
	Cleared       []finding.Finding
	Before, After func() *facts.Measured
}

// The usual numbers.
const (
	usualStages = 2
	usualFaces  = 24
	usualSteps  = 24 // changes that are measured before and behind
)

// Of makes the scene.
func Of(m *facts.Measured, show *schema.Show, o Options) *scene.Scene {
	if o.Stages == 0 {
		o.Stages = usualStages
	}
	if o.Faces == 0 {
		o.Faces = usualFaces
	}
	if o.Tell == nil {
		o.Tell = func(string, int, int) {}
	}
	s := &scene.Scene{Limits: limitsOf(o.Rules)}
	v := &view{m: m, show: show, rig: m.Rig(), evening: m.Evening(), scene: s, o: o, cueAt: map[string]int{}}
	v.segments()
	v.cues()
	v.air()
	v.room()
	v.addresses()
	v.look()
	v.afters()
	v.walk()
	return s
}

// view is a scene while it is made.
type view struct {
	m       *facts.Measured
	show    *schema.Show
	rig     *stage.Rig
	evening *evening.Evening
	scene   *scene.Scene
	o       Options
	cueAt   map[string]int
}

func limitsOf(rules []finding.Rule) (l scene.Limits) {
	of := func(id, name string) *float64 {
		for i := range rules {
			if rules[i].ID != id {
				continue
			}
			for _, limit := range rules[i].Limits {
				if limit.Name == name {
					return &limit.Value
				}
			}
		}
		return nil
	}
	if l.NearPeakPct = of("dynamics/always-full", "max_pct"); l.NearPeakPct != nil {
		near := evening.NearStops
		l.NearPeakStops = &near
	}
	l.ClearHaze = of("air/haze-lingers", "max_mg_m3")
	l.ScreenStops = of("screen/outshines-face", "max_stops")
	l.Flashes = of("safety/flash-rate", "max_flashes_per_s")
	l.FaceUnder = of("people/key-low", "max_stops")
	l.WhiteMired = of("white/key-camera", "max_mired")
	return l
}

// cameraWhite is the white that colours are drawn through where no camera tells one.
const cameraWhite = 5600

// through is light as a camera of a white shows it: linear parts, each over that of the
// white. A camera sets its white by a gain for each part.
func through(c colour.XYZ, kelvin float64) scene.RGB {
	white, ok := colour.Daylight(kelvin)
	if !ok {
		white, ok = colour.PlanckianOffset(kelvin, 0)
	}
	if !ok {
		white = colour.D65
	}
	w, _ := white.XYZ(1)
	is, ok1 := c.LinearSRGB()
	as, ok2 := w.LinearSRGB()
	if !ok1 || !ok2 || !(c.Y > 0) {
		return scene.RGB{}
	}
	rgb := scene.RGB{is.R / as.R, is.G / as.G, is.B / as.B}
	for i, part := range rgb {
		if !(part > 0) {
			rgb[i] = 0
		}
	}
	return rgb
}

// toOne scales light to a luminance of 1.
func toOne(rgb scene.RGB) scene.RGB {
	y := 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2] // IEC 61966-2-1
	if !(y > 0) {
		return scene.RGB{}
	}
	return scene.RGB{rgb[0] / y, rgb[1] / y, rgb[2] / y}
}

// mainWhite is the white of the main camera.
func (v *view) mainWhite() float64 {
	if v.show.Room != nil {
		for _, c := range v.show.Room.Cameras {
			if (c.Role == "main" || c.Role == "") && stage.IsWhite(c.WhiteK) {
				return *c.WhiteK
			}
		}
	}
	return cameraWhite
}

func (v *view) segments() {
	e := v.evening
	for _, span := range e.Time.Spans {
		v.scene.Segments = append(v.scene.Segments, scene.Segment{
			Name: span.Segment.Name, Kind: span.Segment.Kind, StartS: span.Start, LengthS: span.Length, Known: span.Missing == "",
		})
	}
	if end, ok := e.Time.End(); ok && len(e.Time.Missing()) == 0 {
		v.scene.EndS = &end
		return
	}
	v.scene.NoClock = e.Time.Missing()
	if len(v.scene.NoClock) == 0 {
		v.scene.NoClock = []string{"the running order, with the duration of each segment"}
	}
}

func (v *view) cues() {
	e, s := v.evening, v.scene
	room := v.rig.Room.Another()
	people := map[*facts.Look][]*facts.Person{}
	at := map[string]*facts.Look{}
	for _, l := range v.m.Looks {
		at[l.Number] = l
	}
	for _, p := range v.m.People {
		if l := at[p.Number]; l != nil && p.Segment == l.SegmentName {
			people[l] = append(people[l], p)
		}
	}
	screens := map[string]int{}
	if v.show.Room != nil {
		for _, surface := range v.show.Room.Surfaces {
			if surface.Kind == "emissive" || surface.Kind == "projection" {
				screens[surface.Name] = len(s.Screens)
				s.Screens = append(s.Screens, surface.Name)
			}
		}
	}
	i := 0
	for l, lit := range v.m.Lit() {
		v.o.Tell("looks", i, len(v.m.Looks))
		c := scene.Cue{Number: l.Number, Name: l.CueName, Segment: -1, People: len(lit.People())}
		for k, span := range e.Time.Spans {
			if l.Resolved().Segment == span.Segment {
				c.Segment = k
				break
			}
		}
		if i < len(e.Time.Moments) {
			if moment := e.Time.Moments[i]; moment.Clock == 0 && moment.Missing == "" {
				c.StartS, c.Assumed = &moment.At, moment.Assumed
			}
		}
		if i < len(v.m.Changes) {
			c.FadeS, c.Flashes = stage.Value(v.m.Changes[i].FadeS), v.m.Changes[i].Flashes
		}
		if e.Dynamics.Peak > 0 && i < len(e.Dynamics.Of) && l.OutputPct != nil {
			if y := e.Dynamics.Of[i]; y > 0 {
				stops := math.Log2(y / e.Dynamics.Peak)
				c.Stops = &stops
			} else {
				c.Dark = true
			}
		}
		room.Light(lit)
		if hues, missing := room.HuesOf(lit); len(missing) == 0 {
			c.HuesKnown = true
			c.Hues = shares(hues.Tints)
		}
		for _, p := range people[l] {
			if p.Under != nil {
				c.FaceLow, c.FaceHigh = least(c.FaceLow, -*p.Under), most(c.FaceHigh, -*p.Under)
				c.FaceAssumed = c.FaceAssumed || !p.Basis("face_lx").Known.Sure()
			}
			if p.Over != nil && p.Under != nil {
				c.FaceHigh = most(c.FaceHigh, *p.Over)
			}
		}
		s.Cues = append(s.Cues, c)
		v.cueAt[l.Number] = i
		i++
	}
	for _, showing := range v.m.Showings {
		if k, ok := v.cueAt[showing.Number]; ok {
			if n, ok := screens[showing.ScreenName]; ok {
				s.Cues[k].Showings = append(s.Cues[k].Showings, scene.Showing{Screen: n, OverFace: showing.OverFace, DrivePct: showing.DrivePct, FacesDark: showing.FacesDark})
			}
		}
	}
}

// leastShare is the part of the light in colour from which a hue is drawn (for the eye; no source).
const leastShare = 0.01

// shares are the parts that hues have of the light in colour.
func shares(tints []colour.Tint) (list []scene.Hue) {
	sum := 0.0
	for _, tint := range tints {
		sum += tint.Flux
	}
	for _, tint := range tints {
		if share := tint.Flux / sum; share >= leastShare { // and not where nothing is in colour
			name, _ := colour.HueFamily(tint.Hue)
			list = append(list, scene.Hue{Share: share, Name: name, Light: hueLight(tint.Hue)})
		}
	}
	return list
}

// hueLight is a colour of a hue, as bright and as strong as all others.
func hueLight(deg float64) scene.RGB {
	xyz, ok := colour.OKLCh{L: 0.66, C: 0.17, H: deg}.Lab().XYZ()
	if !ok {
		return scene.RGB{}
	}
	rgb, _ := xyz.LinearSRGB()
	return scene.RGB{max(0, rgb.R), max(0, rgb.G), max(0, rgb.B)}
}

func least(a *float64, b float64) *float64 {
	if a == nil || b < *a {
		return &b
	}
	return a
}

func most(a *float64, b float64) *float64 {
	if a == nil || b > *a {
		return &b
	}
	return a
}

func (v *view) air() {
	if len(v.m.Machines) == 0 {
		return
	}
	for _, minute := range v.m.Minutes {
		if minute.Haze == nil {
			v.scene.NoHaze = minute.Why("haze_mg_m3")
			break
		}
		v.scene.Haze = append(v.scene.Haze, scene.Air{AtS: minute.StartS, MgM3: *minute.Haze})
	}
	if len(v.scene.Haze) == 0 && len(v.scene.NoHaze) == 0 {
		v.scene.NoHaze = v.scene.NoClock
	}
}

func point(p *schema.Point) scene.Point { return scene.Point{X: p.X, Y: p.Y, Z: p.Z} }

func (v *view) room() {
	room := v.show.Room
	if room == nil {
		v.scene.NoRoom = []string{"the room, with its places and cameras"}
		return
	}
	r := &scene.Room{}
	for _, panel := range v.rig.Room.Panels {
		if panel.Mean == nil {
			continue
		}
		s := scene.Surface{Name: panel.Surface.Name, Kind: panel.Surface.Kind}
		for i, at := range panel.Rect.Corners() {
			s.Corners[i] = scene.Point{X: at.X, Y: at.Y, Z: at.Z}
		}
		r.Surfaces = append(r.Surfaces, s)
	}
	for _, c := range room.Cameras {
		if c.X == nil || c.Y == nil || c.Z == nil {
			continue
		}
		camera := scene.Camera{Name: c.Name, At: scene.Point{X: *c.X, Y: *c.Y, Z: *c.Z}, ViewDeg: c.ViewDeg, Main: c.Role == "main"}
		if stage.IsWhite(c.WhiteK) {
			camera.WhiteK = c.WhiteK
		}
		if c.AimedAt != nil {
			if c.AimedAt.Point != nil {
				at := point(c.AimedAt.Point)
				camera.Aim = &at
			} else if head, ok := v.rig.Room.Placed(c.AimedAt.Name); ok {
				camera.Aim = &scene.Point{X: head.X, Y: head.Y, Z: head.Z}
			}
		}
		r.Cameras = append(r.Cameras, camera)
	}
	for _, bar := range room.Bars {
		if bar.From != nil && bar.To != nil {
			r.Bars = append(r.Bars, [2]scene.Point{point(bar.From), point(bar.To)})
		}
	}
	placed := 0
	for _, f := range v.show.Patch {
		if f.HungAt == nil {
			r.Unplaced++
		} else {
			placed++
		}
	}
	known := 0
	for _, place := range room.Places {
		if _, ok := v.rig.Room.Placed(place.Name); ok {
			known++
		}
	}
	if known == 0 {
		v.scene.NoRoom = append(v.scene.NoRoom, "the places of the room, with x, y and the head height of each")
	}
	if placed == 0 {
		v.scene.NoRoom = append(v.scene.NoRoom, "where the fixtures of the patch hang")
	}
	if len(v.scene.NoRoom) == 0 {
		v.scene.Room = r
	}
}

func (v *view) addresses() {
	universes := map[int]*scene.Universe{}
	var order []int
	for _, f := range v.show.Patch {
		address, err := schema.ParseAddress(f.Address)
		slots, _ := v.rig.Slots(f)
		if err != nil || slots == nil || *slots < 1 {
			continue
		}
		u := universes[address.Universe]
		if u == nil {
			u = &scene.Universe{Number: address.Universe}
			universes[address.Universe] = u
			order = append(order, address.Universe)
		}
		u.Blocks = append(u.Blocks, scene.Block{Channel: f.Channel, First: address.Slot, Last: address.Slot + *slots - 1})
	}
	slices.Sort(order)
	for _, number := range order {
		u := universes[number]
		slices.SortStableFunc(u.Blocks, func(a, b scene.Block) int { return a.First - b.First })
		furthest := 0 // the block that reaches furthest so far
		for i := range u.Blocks {
			b := &u.Blocks[i]
			if b.First < 1 || b.Last > 512 {
				b.Clash, u.Clash = true, true
			}
			if i > 0 && b.First <= u.Blocks[furthest].Last {
				b.Clash, u.Blocks[furthest].Clash, u.Clash = true, true, true
			}
			if b.Last > u.Blocks[furthest].Last {
				furthest = i
			}
		}
		v.scene.Universes = append(v.scene.Universes, *u)
	}
}

// bites are the looks, and the faces in them, of findings that fail, gravest first.
func (v *view) bites() (looks []int, faces []faceKey) {
	for _, f := range finding.Gravest(v.o.Found) {
		place := ""
		for _, subject := range f.Subjects {
			if subject.Kind == "place" {
				place = subject.Name
			}
		}
		cues := f.Cues
		if len(cues) == 0 {
			for _, subject := range f.Subjects {
				if subject.Kind == "cue" {
					cues = append(cues, subject.Name)
				}
			}
		}
		if len(cues) == 0 || strings.HasPrefix(f.Rule, "file/") {
			continue
		}
		at, ok := v.cueAt[cues[0]]
		if !ok {
			continue
		}
		if place != "" {
			faces = append(faces, faceKey{at, place})
			looks = append(looks, at)
		} else if v.scene.Cues[at].People > 0 {
			looks = append(looks, at)
		}
	}
	return looks, faces
}
