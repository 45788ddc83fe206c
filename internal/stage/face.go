package stage

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Shares and reflectances that decide what counts.
const (
	// LeastShare is the part of the light on a face under which a lamp is not one
	// of its keys, and the part of the key under which it is no back light: a lamp
	// that is over four stops weaker is not seen. Common practice, no source.
	LeastShare = 0.05
	// skin is the reflectance that faces are reckoned with: light skin, 36 %, from
	// two camera handbooks. Brown skin is about 16 %, dark skin about 10 %.
	Skin = 0.36
	// DarkStops is how many stops under a face of light skin a background counts as dark:
	// 3 % in the picture, near black, into which dark hair sinks. Common practice, no source.
	DarkStops = -3.5
)

// Arrival is the light of one lamp on one plane.
type Arrival struct {
	lamp   *Lamp
	lux    float64
	column int
	at     int // in the row of the plane
}

// Part is what one lamp gives to the light on a face.
type Part struct {
	Fixture *schema.Fixture
	Lux     float64
	Colour  bool // it is light of a colour, or of unknown colour
}

// Parts are what the light on the face is made of, without the ambient light.
func (f *Face) Parts() []Part {
	var list []Part
	for _, a := range f.face {
		list = append(list, Part{a.lamp.Fixture, a.lux, a.lamp.Coloured == nil || *a.lamp.Coloured})
	}
	return list
}

// Light brings the scene to a look: the levels of all beams and their lamps. The
// lux on a receiver is its row of the sparse product, worked out when it is asked
// for: a look asks for the people in it and not for the whole room. It returns
// what is missing to be sure that all light is in it.
func (s *Room) Light(look *LookLight) (missing []string) {
	if s.Transport == nil {
		return []string{"the room, with its places and cameras"}
	}
	if ambient := Value(s.Rig.Show.Room.AmbientLx); !(ambient >= 0 && ambient <= mostLux) {
		missing = append(missing, "an ambient light of the room that a room can have")
	}
	for _, a := range s.Rig.Show.Room.Ambient {
		if ambient := Value(a.FaceLx); !(ambient >= 0 && ambient <= mostLux) {
			missing = AddMissing(missing, "an ambient light of the room that a room can have")
		}
	}
	if !s.Rig.HasPatch() {
		missing = append(missing, NeedPatch)
	}
	for _, column := range s.lit {
		s.levels[column], s.lamps[column] = 0, nil
	}
	s.lit, s.unsure = s.lit[:0], s.unsure[:0]
	for _, lamp := range look.Lamps {
		b := lamp.Beam
		phrase := b.Missing
		if phrase == "" {
			phrase = lamp.Missing
		}
		if phrase != "" {
			s.unsure = append(s.unsure, unsure{lamp, phrase})
			if !slices.Contains(missing, phrase) {
				missing = append(missing, phrase)
			}
			continue
		}
		s.lamps[b.Column], s.levels[b.Column] = lamp, lamp.Share
		s.lit = append(s.lit, b.Column)
	}
	for _, lamp := range look.Others { // what is not known of them is left out: they are not what people are lit by
		if b := lamp.Beam; b != nil && b.Missing == "" && lamp.Missing == "" {
			s.lamps[b.Column], s.levels[b.Column] = lamp, lamp.Share
			s.lit = append(s.lit, b.Column)
		}
	}
	return missing
}

// Another is the same room for a look of its own, so that several can be lit at
// once.
func (s *Room) Another() *Room {
	other := *s
	other.levels, other.lamps = make([]float64, len(s.levels)), make([]*Lamp, len(s.lamps))
	other.lit, other.unsure, other.face, other.shoulder, other.wall, other.rays, other.whiteRays = nil, nil, nil, nil, nil, nil, nil
	other.coloured, other.lumens, other.tints, other.firsts, other.bodies = nil, nil, nil, nil, nil
	other.Stands, other.byName = make([]*Stand, len(s.Stands)), map[string]*Stand{}
	for i, before := range s.Stands {
		copied := *before
		copied.views = slices.Clone(before.views)
		for k := range copied.views {
			copied.views[k].roles, copied.views[k].ways = nil, nil // filled as they are asked for
		}
		other.Stands[i] = &copied
		if s.byName[copied.place.Name] == before {
			other.byName[copied.place.Name] = &copied
		}
	}
	return &other
}

// mostLux is the light of the sun at noon, about 130,000 lx (from memory).
const mostLux = 130_000

// Clearly reports whether a light is more than another by more than rounding, so
// that of two that are equal by symmetry it is always the first that is named.
func Clearly(lux, than float64) bool { return lux > than*(1+1e-9) }

// Face is somebody on a place in a look, as the light and the cameras see them.
// Its lists are good until the scene is asked for another face.
type Face struct {
	look        *LookLight
	place       string
	Missing     []string // why nothing else is known; empty if it is
	BackMissing []string // why the light from behind is not known; empty if it is

	Lux            float64 // on it as it looks, or where nobody says that towards the camera that sees most; ambient light included
	Ambient        Ambient
	nowhere        bool // the room has places and this is none of them
	room           *Room
	beside         []unsure // lamps of which nobody knows what they give, and which point elsewhere
	stray          []unsure // the same that nobody says the aim of, where other lamps are known to be hung for the face
	view           *View    // of the camera that it looks at most, or of that one
	face, shoulder []Arrival
	followed       bool // its rays are those that the room holds
}

// Turned is how far round the person looks from the nearest camera, in degrees; 0
// where nobody says where the person looks.
func (f *Face) Turned() float64 { return f.view.turn }

// Elsewhere is a camera that is carried about and may stand where it sees a face that all the others do not; "" if there is none.
func (s *Room) Elsewhere(f *Face) string {
	if f.view.turn <= ProfileDeg || len(s.wandering) == 0 {
		return ""
	}
	return s.wandering[0].Name
}

// Shown is the light on what the camera sees of the head: on the face, or where that looks away on the side towards the
// camera.
func (s *Room) Shown(f *Face) float64 { return s.LuxAt(f.view.shown) + f.Ambient.Lux }

// FaceOn measures the light on somebody on a place in the look that the scene was
// lit with, for every camera. missing is what [Room.Light] said.
func (s *Room) FaceOn(look *LookLight, place string, missing []string) *Face {
	sp := s.Stand(place)
	f := &Face{look: look, place: place, room: s}
	f.Missing = s.lacking(f, sp, missing)
	switch {
	case sp == nil:
		f.nowhere = s.Rig.Show.Room != nil && len(s.Rig.Show.Room.Places) > 0
		f.Missing = append(f.Missing, fmt.Sprintf("the place %q in the room", place))
	case sp.missing != "":
		f.Missing = append(f.Missing, sp.missing)
	case len(sp.views) == 0 && len(sp.overhead) > 0:
		f.Missing = append(f.Missing, fmt.Sprintf("a camera that is not straight above the place %q, as %q is", place, sp.overhead[0]))
	case len(sp.views) == 0:
		f.Missing = append(f.Missing, "the cameras of the room, with x, y and z of each")
	}
	if len(f.Missing) > 0 {
		return f
	}
	f.Ambient = s.Rig.AmbientAt(look, place)
	for i := range sp.views {
		v := &sp.views[i]
		lux := s.LuxAt(v.face) + f.Ambient.Lux
		if f.view == nil || v.turn < f.view.turn || v.turn == f.view.turn && Clearly(lux, f.Lux) {
			f.Lux, f.view = lux, v
		}
	}
	s.face = s.arrivals(s.face[:0], f.view.face)
	s.shoulder = s.arrivals(s.shoulder[:0], f.view.shoulder)
	f.face, f.shoulder = s.face, s.shoulder
	for _, list := range [][]Arrival{f.face, f.shoulder} {
		for _, a := range list {
			if a.lamp.stage && r3.Norm(r3.Sub(s.Columns[a.column].frame.Position, sp.head)) < nearestM {
				f.Missing = AddMissing(f.Missing, fmt.Sprintf("a measured light on the place %q: the fixture on channel %d is nearer than %.1f m, where no law of light from a distance holds", place, a.lamp.Channel, nearestM))
			}
		}
	}
	return f
}

// unsure is a lit lamp of which nobody knows what it gives, and what of it is missing.
type unsure struct {
	lamp *Lamp
	lack string
}

// asideDeg is how far from where a lamp of which nobody knows what it gives is aimed somebody has to stand who is not lit by
// it: half of a field of 70 degrees. Common practice, no source: few lamps on a stage are wider.
const asideDeg = 35

// asidePart is the most that such lamps may give to a face, as a part of its light: the field of a lamp ends where its
// intensity is a tenth (IES definition).
const asidePart = 0.1

// lacking is what keeps us from knowing the light on somebody: of what [Room.Light] said, all but the lamps that point elsewhere
// or nowhere that anybody says, which are told of the face, and those behind the person, which are lacking for the light from behind.
func (s *Room) lacking(f *Face, sp *Stand, missing []string) (list []string) {
	if len(missing) == 0 || len(s.unsure) == 0 || sp == nil || sp.missing != "" {
		return slices.Clone(missing)
	}
	here := map[string]bool{} // what is missing of lamps: whether of one that may light the face
	for _, u := range s.unsure {
		if _, met := here[u.lack]; !met {
			here[u.lack] = false
		}
		fixture := u.lamp.Fixture
		switch {
		case u.lamp.Beam.pointsAside(sp.head), fixture.HungAt == nil && s.aimsAside(u.lamp, sp):
			f.beside = append(f.beside, u)
		case s.isBehind(fixture, sp), fixture.HungAt == nil && u.lamp.Purpose == "back":
			f.BackMissing = append(f.BackMissing, u.lack)
		case u.lamp.Aim() == nil && !slices.Contains(forFaces, u.lamp.Purpose) && s.isServed(f.place):
			f.stray = append(f.stray, u)
		default:
			here[u.lack] = true
		}
	}
	for _, phrase := range missing {
		if may, ofLamp := here[phrase]; may || !ofLamp {
			list = append(list, phrase)
		}
	}
	return list
}

// isServed reports whether a lamp is aimed at a place, for faces, of which it is known where it hangs and what it gives.
func (s *Room) isServed(place string) bool {
	return slices.ContainsFunc(s.Rig.frontAt[place], func(line *Line) bool {
		return line.Purpose != "" && slices.ContainsFunc(s.byFixture[line.Fixture], func(b *Beam) bool { return b.Missing == "" })
	})
}

// aimsAside reports whether a lamp of which nobody knows where it hangs is aimed at something that is not near somebody.
func (s *Room) aimsAside(lamp *Lamp, sp *Stand) bool {
	metres, ok := s.Rig.besideAim(lamp.Aim(), sp.place)
	return ok && metres > nearM
}

// besideAim is how far beside what something is aimed at a place is, in metres on the floor; ok is false where nobody knows it.
func (r *Rig) besideAim(aim *schema.Aim, place *schema.Place) (metres float64, ok bool) {
	if aim == nil || place == nil || place.X == nil || place.Y == nil {
		return 0, false
	}
	from := aim.Point
	if at := r.Places[aim.Name]; from == nil && at != nil && at.X != nil && at.Y != nil {
		from = &schema.Point{X: *at.X, Y: *at.Y}
	}
	if surface := r.Surfaces[aim.Name]; from == nil && surface != nil {
		from = surface.Centre
	}
	if from == nil {
		return 0, false
	}
	return math.Hypot(from.X-*place.X, from.Y-*place.Y), true
}

// strayLux is what lamps may give to a face of which nobody says where they point: as much as a key light. Common practice, no source.
const strayLux = 500

// isBehind reports whether a lamp hangs clearly behind the face as every camera sees it, so that it gives it nothing.
func (s *Room) isBehind(f *schema.Fixture, sp *Stand) bool {
	return f.HungAt != nil && len(sp.views) > 0 && !slices.ContainsFunc(sp.views, func(v View) bool {
		face := s.Receivers[v.face]
		return r3.Dot(face.Normal, r3.Sub(vec(f.HungAt), face.Point)) > -nearestM
	})
}

// pointsAside reports whether a lamp points so far beside a head that it hardly lights it, whatever it is.
func (b *Beam) pointsAside(head photometry.Vec) bool {
	off, _, _, ok := b.frame.Direction(head)
	return ok && off >= asideDeg
}

// nearestM is how near a fixture may be to a face. The inverse square law is good to
// about 1 % from five times the largest dimension of the source (usual rule, from
// memory), and the lens of a small spot is a tenth of a metre across.
const nearestM = 0.5

// Exposures is how the light on a face compares with what the cameras are set for:
// the worst of them each way.
type Exposures struct {
	Under, Over Exposure
	Asked       bool     // a camera has its exposure set by hand
	Known       bool     // of one of them it is known what it is set for
	Wanders     string   // a camera that may have the face in its picture or not, where it is one of them
	Missing     []string // why they are not known, or not of all cameras; empty if they are
}

// Exposure is that of one camera.
type Exposure struct {
	Camera string
	Stops  float64 // over what it is set for; negative is under
	Lux    float64 // on the face, towards it
	Wanted float64 // lux that it is set for (ISO 2720)
}

// WantedLux is the light on a face that a camera is set for. lack says why it is not
// known.
func WantedLux(camera *schema.Camera) (lux float64, lack string) {
	if camera.ApertureF == nil || camera.ShutterS == nil || camera.SensitivityISO == nil {
		return 0, fmt.Sprintf("the aperture, shutter and sensitivity of the camera %q", camera.Name)
	}
	lux, ok := photometry.ExposureIlluminance(*camera.ApertureF, *camera.ShutterS, *camera.SensitivityISO, photometry.CalibrationFlat)
	if lux *= math.Exp2(Value(camera.NDStops)); !ok || !(lux > 0 && lux < math.MaxFloat64) {
		return 0, fmt.Sprintf("an aperture, shutter and sensitivity above zero for the camera %q", camera.Name)
	}
	return lux, ""
}

// SetsExposure reports whether somebody has set the exposure of a camera: one that sets
// its own follows whatever it sees, and so does a phone of which nobody says otherwise.
func SetsExposure(camera *schema.Camera) bool { return byHand(camera, camera.AutoExposure) }

// byHand reports whether somebody has set what a camera can find by itself.
func byHand(camera *schema.Camera, automatic *bool) bool {
	if automatic == nil {
		return camera.Role != "phone"
	}
	return !*automatic
}

// WhiteExposure is what the most open camera shows as white: a matt white sheet in the
// light that it is set for (ISO 2720). What is brighter burns out, whatever a face does.
type WhiteExposure struct {
	Camera  string
	Lux     float64
	Asked   bool     // a camera has its exposure set by hand, or no camera is known
	Missing []string // why it is not known; empty if it is
}

// WhiteExposure looks at the cameras whose exposure is set by hand, but for those that look
// past what is asked about. One that is carried about beside others is set anew wherever it goes.
func (r *Rig) WhiteExposure(past func(*schema.Camera) bool) (e WhiteExposure) {
	if r.Show.Room == nil || len(r.Show.Room.Cameras) == 0 {
		return WhiteExposure{Asked: true, Missing: []string{"the cameras of the room, with the exposure of each"}}
	}
	for _, camera := range r.Show.Room.Cameras {
		if !SetsExposure(camera) || isCarried(camera) && len(r.Show.Room.Cameras) > 1 || past(camera) {
			continue
		}
		e.Asked = true
		wanted, lack := WantedLux(camera)
		if e.Missing = AddMissing(e.Missing, lack); lack == "" && (e.Camera == "" || wanted < e.Lux) {
			e.Camera, e.Lux = camera.Name, wanted
		}
	}
	if !e.Asked {
		e.Missing = []string{"a camera whose exposure is set by hand"}
	}
	return e
}

// OverWhite is how many stops a luminance in cd/m2 is over that white.
func (e WhiteExposure) OverWhite(nits float64) float64 {
	if stops, ok := photometry.Stops(nits*math.Pi, e.Lux); ok {
		return max(stops, -blackBackdrop)
	}
	return -blackBackdrop
}

// House reports whether nobody says where a camera stands, so that the face is measured as
// from the house, and whether nobody says either which way the person looks.
func (s *Room) House(f *Face) (house, anyWay bool) {
	sp := s.Stand(f.place)
	return sp.house, sp.house && sp.facing == nil
}

// FloorLux is the least light on a face that any of the cameras which see it is set
// for; ok is false if none is known to be set.
func (s *Room) FloorLux(f *Face) (lux float64, ok bool) {
	sp := s.Stand(f.place)
	if sp == nil {
		return 0, false
	}
	return s.floorLux(sp)
}

func (s *Room) floorLux(sp *Stand) (lux float64, ok bool) {
	for _, v := range sp.views {
		if !SetsExposure(v.camera) {
			continue
		}
		if wanted, lack := WantedLux(v.camera); lack == "" && (!ok || wanted < lux) {
			lux, ok = wanted, true
		}
	}
	return lux, ok
}

// isAim reports whether an aim is the person: their place by its name, also where the room does not describe it, or a point there.
func (f *Face) isAim(aim *schema.Aim) bool {
	return aim != nil && (aim.Point == nil && aim.Name == f.place || pointsAt(aim, f.room.Rig.Places[f.place]))
}

// OwnLampsOut reports whether there are lamps for faces that point at the person, and all of them are dark.
func (s *Room) OwnLampsOut(f *Face) bool {
	own := 0
	for _, line := range s.Rig.frontAt[f.place] {
		state := f.look.Resolved.State(line.Channel)
		if aim := aimOf(line.Fixture, state); f.isAim(aim) {
			if own++; state.Level > 0 {
				return false
			}
		}
	}
	return own > 0
}

// DarkKeys are the lamps for faces that point at a place and are dark in the look,
// with the level at which all of them together give it a light in lux: 100 where that
// is out of reach, and half where it cannot be told.
func (s *Room) DarkKeys(f *Face, wanted float64) (lamps []*Lamp, levels []float64) {
	total := 0.0
	for _, line := range s.Rig.frontAt[f.place] {
		state := f.look.Resolved.State(line.Channel)
		if aim := aimOf(line.Fixture, state); state.Level > 0 || !f.isAim(aim) {
			continue
		}
		key, _ := s.keyOf(line.Fixture, state)
		if b := s.beams[key]; len(f.Missing) == 0 && b != nil && b.Missing == "" {
			lux := s.full(f.view.face, b.Column)
			if lux < LeastShare*LeastLit {
				continue // it hangs behind the person
			}
			total += lux
		}
		lamps = append(lamps, s.Rig.Lamp(f.look.Resolved, line.Fixture, state))
	}
	for _, lamp := range lamps {
		level := 100.0
		switch {
		case total <= 0 || wanted <= 0:
			level = untoldLevel
		case total > wanted:
			level = lamp.levelOf(wanted / total)
		}
		levels = append(levels, level)
	}
	return lamps, levels
}

// untoldLevel is where a lamp is tried of which nobody can tell what it gives, in percent
// (common practice, no source: there is as much above it as below).
const untoldLevel = 50

// LeastTold is the light in which the features of a face can just be told, in lux (EN 12464-1, from memory; it means lux
// on a level plane).
const LeastTold = 20

// LeastLit is about what a face needs to be lit at all, in lux: 2.5 stops more.
const LeastLit = 113

// ProfileDeg is how far somebody may look past a camera for it to see the face, in
// degrees: in profile it sees a half. Common practice, no source.
const ProfileDeg = 90

// ExposuresOf compares the light on a face that is known with all cameras that see it.
func (s *Room) ExposuresOf(f *Face) Exposures {
	var e Exposures
	views := s.Stand(f.place).views
	first := true
	var dark []string // no number of stops is that of no light at all
	for i := range views {
		camera := views[i].camera
		if !SetsExposure(camera) || views[i].turn > ProfileDeg {
			continue
		}
		e.Asked = true
		wanted, lack := WantedLux(camera)
		if lack != "" {
			e.Missing = AddMissing(e.Missing, lack)
			continue
		}
		if s.wanders(camera) {
			e.Wanders = camera.Name
		}
		lux := s.LuxAt(views[i].face) + f.Ambient.Lux
		stops, ok := photometry.Stops(lux, wanted)
		if !ok {
			dark = AddMissing(dark, fmt.Sprintf("light on the face on %s", f.place))
			continue
		}
		one := Exposure{camera.Name, stops, lux, wanted}
		if first || stops < e.Under.Stops {
			e.Under = one
		}
		if first || stops > e.Over.Stops {
			e.Over = one
		}
		first, e.Known = false, true
	}
	overhead := s.Stand(f.place).overhead // they see no face
	for _, camera := range s.Rig.Show.Room.Cameras {
		if SetsExposure(camera) && camera.Role != "roaming" && !s.looksPast(camera, f.place) && !slices.Contains(overhead, camera.Name) && !slices.ContainsFunc(views, func(v View) bool { return v.camera == camera }) {
			e.Asked = true
			e.Missing = AddMissing(e.Missing, fmt.Sprintf("x, y and z of the camera %q", camera.Name))
		}
	}
	if len(s.Rig.Show.Room.Cameras) == 0 {
		e.Asked, e.Missing = true, []string{"the cameras of the room, with the exposure of each"}
	}
	if first && len(e.Missing) == 0 {
		e.Missing = dark
		if len(dark) == 0 {
			e.Missing = []string{"a camera whose exposure is set by hand"}
		}
	}
	return e
}

// FaceLight is what the light on a face is made of.
type FaceLight struct {
	Coloured  float64  // coloured light as a part of all light on it, 0 to 1
	CCT, Duv  *float64 // of all of it; nil if it is dark or no white
	Strongest *Lamp    // the white lamp that gives most; nil if there is none
	Bearing   *photometry.Bearing
}

// Made tells what the light on the face is made of.
func (f *Face) Made() FaceLight {
	var l FaceLight
	var sum colour.XYZ
	coloured, total := 0.0, 0.0
	var strongest Arrival
	for _, a := range f.face {
		total += a.lux
		sum = sum.Add(a.lamp.XYZ.Scale(a.lux / a.lamp.XYZ.Y))
		if !a.lamp.White() {
			coloured += a.lux
		} else if Clearly(a.lux, strongest.lux) {
			strongest = a
		}
	}
	if total > 0 {
		l.Coloured = coloured / (total + f.Ambient.Lux)
		if xy, ok := sum.XY(); ok {
			if cct, duv, ok := colour.CCT(xy); ok {
				l.CCT, l.Duv = &cct, &duv
			}
		}
	}
	if l.Strongest = strongest.lamp; l.Strongest != nil {
		if bearing, ok := photometry.BearingOf(vec(l.Strongest.Fixture.HungAt), f.view.head, f.view.eye); ok {
			l.Bearing = &bearing
		}
	}
	return l
}

// ShoulderHue names the colour that outweighs white on head and shoulders, or "".
func (f *Face) ShoulderHue() string {
	total := 0.0
	byHue := map[string]float64{}
	for _, a := range f.shoulder {
		total += a.lux
		if a.lamp.Hue != nil {
			if name, ok := colour.HueFamily(*a.lamp.Hue); ok {
				byHue[name] += a.lux
			}
		}
	}
	for name, lux := range byHue { // at most one is over half
		if lux > total/2 {
			return name
		}
	}
	return ""
}

// SkinOf is the reflectance of the skin of whoever stands on a place, and of the
// darkest skin that may stand there: the same where the place tells.
func (r *Rig) SkinOf(place string) (skin, darkest float64) {
	p := r.Places[place]
	switch {
	case p == nil:
	case p.SkinReflectance != nil && *p.SkinReflectance > 0 && *p.SkinReflectance <= 1:
		return *p.SkinReflectance, *p.SkinReflectance
	case p.Skin == "light":
		return Skin, Skin
	case p.Skin == "medium":
		return MediumSkin, MediumSkin
	case p.Skin == "dark":
		return darkSkin, darkSkin
	}
	return Skin, darkSkin
}

// Reflectances of brown and of dark skin, from two camera handbooks.
const (
	MediumSkin = 0.16
	darkSkin   = 0.10
)

// Backdrop is what the cameras see behind a person.
type Backdrop struct {
	Nits    *float64
	Stops   *float64 // over a face of 36 % reflectance; negative is darker
	Kind    string   // of the surface
	Name    string
	Missing string // why nits is not known; "" if it is

	surface *schema.Surface
}

// blackBackdrop stands for a background that gives no light at all, in stops under a
// face: beyond the range of any camera of today. Common practice, no source.
const blackBackdrop = 16

// BackdropOf compares the background with a face that is known. What it says is good
// until the room is asked for another.
func (s *Room) BackdropOf(f *Face) (b Backdrop) {
	v := f.view
	surface := v.behind
	if named := s.Rig.Places[f.place].Background; named != "" && s.Rig.Surfaces[named] != nil && !v.instead {
		surface = s.Rig.Surfaces[named]
	}
	if surface != nil {
		b.Kind, b.Name, b.surface = surface.Kind, surface.Name, surface
	}
	switch {
	case surface == nil:
		b.Missing = fmt.Sprintf("the surface behind the place %q", f.place)
		return b
	case surface.Kind == "emissive":
		if b.Nits = Emitted(surface, f.look.Drive(surface)); b.Nits == nil {
			b.Missing = fmt.Sprintf("the peak luminance and drive of the screen %q", surface.Name)
			return b
		}
		if content := f.look.Content(surface); content != nil {
			b.Nits = new(*b.Nits * *content / 100)
		}
	case surface.Reflectance == nil && surface.Gain == nil:
		b.Missing = fmt.Sprintf("the reflectance of the surface %q", surface.Name)
		return b
	case surface != v.behind:
		b.Missing = fmt.Sprintf("the centre, width and height of the surface %q behind the place %q", surface.Name, f.place)
		return b
	case len(f.beside)+len(f.stray) > 0:
		b.Missing = slices.Concat(f.beside, f.stray)[0].lack // it may light what is behind
		return b
	default:
		s.wall = s.arrivals(s.wall[:0], v.backdrop)
		lux := f.Ambient.Lux
		for i := range s.wall {
			lux += s.wall[i].lux
		}
		nits, ok := photometry.LambertianLuminance(lux, reflectance(surface))
		if !ok {
			b.Missing = fmt.Sprintf("a reflectance of the surface %q that is not below zero", surface.Name)
			return b
		}
		b.Nits = &nits
	}
	lit, _ := photometry.LambertianLuminance(f.Lux, Skin)
	if stops, ok := photometry.Stops(*b.Nits, lit); ok {
		b.Stops = &stops
	} else if *b.Nits <= 0 && lit > 0 {
		b.Stops = new(-blackBackdrop + 0.0)
	}
	return b
}

// aimedAt returns the lit lamps of some purposes that point at the person, and what is
// missing to be sure that these are all.
func (f *Face) aimedAt(purposes ...string) (lamps []*Lamp, missing []string) {
	if !f.room.Rig.HasPatch() {
		return nil, []string{NeedPatch}
	}
	for _, lamp := range f.look.Lamps {
		switch {
		case lamp.Purpose == "":
			missing = append(missing, fmt.Sprintf("the purpose of the fixture on channel %d", lamp.Channel))
		case !slices.Contains(purposes, lamp.Purpose):
		case lamp.Aim() == nil:
			missing = append(missing, fmt.Sprintf("where the %s light on channel %d is aimed", lamp.Purpose, lamp.Channel))
		case f.isAim(lamp.Aim()):
			lamps = append(lamps, lamp)
		}
	}
	return lamps, missing
}

// forFaces and fromBehind are the purposes of lamps that are hung to light a face, and a person from behind; mayLight are those
// that light a face where they point at it.
var (
	forFaces   = []string{"key", "fill"}
	mayLight   = []string{"key", "fill", "side", "wash"}
	fromBehind = []string{"back"}
)

// nearDeg is how far from where a lamp points somebody may stand whom its light still takes in, where nobody knows how wide it
// is, and nearM is that in metres where nobody knows where it hangs: half of a field of 36 degrees, at 7 m. Common practice, no source.
const (
	nearDeg = 18
	nearM   = 2.2
)

// takesIn reports whether a lamp of some purposes may light the person though it is not aimed there by name: it points near
// enough or, of a person or a point whose place nobody knows, perhaps.
func (f *Face) takesIn(lamp *Lamp, purposes []string) bool {
	aim := lamp.Aim()
	if aim == nil || !slices.Contains(purposes, lamp.Purpose) {
		return false
	}
	if sp := f.room.Stand(f.place); lamp.Beam != nil && sp != nil && sp.missing == "" {
		if off, _, _, ok := lamp.Beam.frame.Direction(sp.head); ok {
			return off <= nearDeg
		}
	}
	metres, known := f.room.Rig.besideAim(aim, f.room.Rig.Places[f.place])
	if !known {
		return aim.Point != nil || aim.Name == f.place
	}
	return metres <= nearM
}

// near are the lit lamps of some purposes that may light the person; see takesIn.
func (f *Face) near(purposes []string) (lamps []*Lamp) {
	for _, lamp := range f.look.Lamps {
		if f.takesIn(lamp, purposes) {
			lamps = append(lamps, lamp)
		}
	}
	return lamps
}

// AimedPct is the most of its full light that a lamp gives which points at the person or near, of those for faces or, for
// "back", from behind, in percent: what purpose and aim still tell of a face whose light is not known.
func (f *Face) AimedPct(purpose string) (pct float64) {
	purposes, others := forFaces, mayLight
	if purpose == "back" {
		purposes, others = fromBehind, fromBehind
	}
	lamps, _ := f.aimedAt(purposes...)
	for _, lamp := range append(lamps, f.near(others)...) {
		if lamp.Missing != "" { // its level is all that is known
			pct = max(pct, lamp.Level)
			continue
		}
		pct = max(pct, 100*lamp.Share)
	}
	return pct
}

// AimedColour is the part of the light of the key lights that point at the place which is
// coloured, 0 to 1; 0 where not all of it is known.
func (f *Face) AimedColour() (part float64) {
	lamps, missing := f.aimedAt("key")
	coloured, all := 0.0, 0.0
	for _, lamp := range lamps {
		if lamp.Missing != "" || lamp.Coloured == nil {
			return 0
		}
		if all += lamp.XYZ.Y; !lamp.White() {
			coloured += lamp.XYZ.Y
		}
	}
	if len(missing) > 0 || coloured == 0 {
		return 0
	}
	return coloured / all
}

// AimedKind is the type of all key lights that point at the place; nil where it is not one.
func (f *Face) AimedKind() (kind *schema.Type) {
	lamps, _ := f.aimedAt("key")
	for i, lamp := range lamps {
		if i > 0 && lamp.Kind != kind {
			return nil
		}
		kind = lamp.Kind
	}
	return kind
}

// role is what a lamp is for the person by geometry.
func (f *Face) role(a Arrival) photometry.Role {
	for len(f.view.roles) <= a.column {
		f.view.roles = append(f.view.roles, "")
	}
	if role := f.view.roles[a.column]; role != "" {
		return role
	}
	bearing, ok := photometry.BearingOf(vec(a.lamp.Fixture.HungAt), f.view.head, f.view.eye)
	if !ok {
		return ""
	}
	role, _ := photometry.RoleByGeometry(bearing)
	f.view.roles[a.column] = role
	return role
}

// fromBehind reports whether light is back light: by where it comes from, and near that bound by what its lamp is
// called, since one hung for the house stands beside the person for a camera at the side.
func (f *Face) fromBehind(a Arrival) bool {
	switch role := f.role(a); {
	case role != photometry.RoleSide || a.lamp.Fixture.Purpose != "back":
		return role == photometry.RoleBack
	default:
		bearing, ok := photometry.BearingOf(vec(a.lamp.Fixture.HungAt), f.view.head, f.view.eye)
		return ok && math.Abs(bearing.AzimuthDeg) >= photometry.RimFromAzimuth
	}
}

// isKey reports whether the light of a lamp is key light for the person: what lands
// on the face decides, not what the lamp is called, and a colour is none.
func (f *Face) isKey(a Arrival) bool { return a.lux > 0 && a.lamp.White() }

// Rays is the light on the face, lamp by lamp; all of it, or that of whites alone. The list is good until the room is
// asked for another face.
func (f *Face) Rays(room *Room, whites bool) []Ray {
	if !f.followed {
		f.follow(room)
	}
	if whites {
		return room.whiteRays
	}
	return room.rays
}

func (f *Face) follow(room *Room) {
	f.followed = true
	room.rays, room.whiteRays = room.rays[:0], room.whiteRays[:0]
	if f.view.ways == nil {
		columns, _ := room.Transport.RowOf(f.view.face)
		f.view.ways = make([]Ray, len(columns))
	}
	for i := range f.face {
		a := &f.face[i]
		way := &f.view.ways[a.at]
		if way.OffCameraDeg == 0 { // not worked out yet, or a lamp in the lens
			*way = room.wayTo(f.view, a)
		}
		ray := *way
		ray.Lux = a.lux
		if f.isKey(*a) {
			if a.lamp.CCT != nil {
				ray.Kelvin, ray.Duv, ray.DriftMired, ray.Filament = *a.lamp.CCT, Value(a.lamp.Duv), Value(a.lamp.Drift), a.lamp.Kind.Source == "tungsten"
			}
			room.whiteRays = append(room.whiteRays, ray)
		}
		room.rays = append(room.rays, ray)
	}
}

// wayTo is from where the light of a lamp comes to a face, whatever it gives.
func (s *Room) wayTo(v *View, a *Arrival) Ray {
	normal := s.Receivers[v.face].Normal
	right := photometry.Vec{X: -normal.Y, Y: normal.X}
	angles := func(way photometry.Vec) (azimuth, elevation float64) {
		x, y := r3.Dot(way, right), r3.Dot(way, normal)
		return math.Atan2(x, y) / degree, math.Atan2(way.Z, math.Hypot(x, y)) / degree
	}
	way := r3.Sub(s.Columns[a.column].frame.Position, v.head)
	var ray Ray
	ray.AzimuthDeg, ray.ElevationDeg = angles(way)
	aside, above := angles(r3.Sub(v.eye, v.head))
	ray.OffCameraDeg = max(math.Abs(math.Remainder(ray.AzimuthDeg-aside, 360)), math.Abs(ray.ElevationDeg-above)/2)
	seen := func(wide float64) float64 { return 2 * math.Atan2(wide/2, r3.Norm(way)) / degree }
	switch beam := s.Columns[a.column]; {
	case a.lamp.Kind != nil && len(a.lamp.Kind.OpeningM) > 0:
		ray.WidthDeg = seen(slices.Max(a.lamp.Kind.OpeningM))
		ray.WidestDeg = ray.WidthDeg
	case beam.field > 0 && beam.field <= lensDeg:
		ray.WidestDeg = seen(widestLens)
	default:
		ray.WidestDeg = seen(widestPanel)
	}
	return ray
}

// How large a lamp may shine of which nobody says its opening, in metres: through a lens, which a field of up to so many
// degrees takes, or as a panel. Common practice, no source.
const (
	lensDeg     = 60
	widestLens  = 0.3
	widestPanel = 1.2
)

// Whites is the white light on the face, lamp by lamp, and that of the room where somebody
// says what white it has.
func (f *Face) Whites(room *Room) []Ray {
	rays := f.Rays(room, true)
	if f.RoomWhite() {
		rays = append(rays, Ray{Lux: f.Ambient.Lux, Kelvin: *f.Ambient.Kelvin})
	}
	return rays
}

// RoomWhite reports whether the light of the room itself has a white that counts: it is
// more than a trace.
func (f *Face) RoomWhite() bool {
	return f.Ambient.Kelvin != nil && f.Ambient.Lux > TraceShare*f.Lux
}

// Between is the least and the most light on the face if what is assumed of its
// lamps is not quite right, with what that is.
func (f *Face) Between() (low, high float64, rests []string) {
	low, high = f.Ambient.Lux, f.Ambient.Lux
	for _, a := range f.face {
		low, high = low+a.lux*a.lamp.AtLeast(), high+a.lux*a.lamp.AtMost()
		for _, phrase := range a.lamp.Rests {
			if a.lux >= LeastShare*f.Lux {
				rests = AddMissing(rests, phrase)
			}
		}
	}
	if len(f.beside) > 0 {
		high += asidePart * f.Lux
	}
	if len(f.stray) > 0 {
		high += strayLux
	}
	rests = append(rests, f.Aside()...)
	if !f.Ambient.Known {
		high += dimHallLux
		rests = append(rests, "no ambient light in the room")
	}
	return low, high, rests
}

// Aside says that lamps of which nobody knows what they give are taken to light somebody else.
func (f *Face) Aside() (rests []string) {
	for _, of := range []struct {
		lamps        []unsure
		one, several string
	}{{f.beside, "which points elsewhere", "which point elsewhere"}, {f.stray, "of which nobody says where it points", "of which nobody says where they point"}} {
		switch channels := schema.FormatChannels(channelsOf(of.lamps)); len(of.lamps) {
		case 0:
		case 1:
			rests = append(rests, fmt.Sprintf("little light from channel %s, %s, since nobody knows how much it gives", channels, of.one))
		default:
			rests = append(rests, fmt.Sprintf("little light from channels %s, %s, since nobody knows how much they give", channels, of.several))
		}
	}
	return rests
}

func channelsOf(lamps []unsure) (channels []int) {
	for _, u := range lamps {
		channels = append(channels, u.lamp.Channel)
	}
	return channels
}

// Bounced is the part of the light on a face that comes back to it from floor, walls and whoever
// stands around, where no meter tells. Common practice, no source.
const Bounced = 0.05

// Around is the light that comes to the face from all around, and whether somebody
// measured it: the ambient light and a part of that of the lamps, or what a meter showed
// there in this cue beyond the light of the lamps.
func (f *Face) Around(s *Room) (lux float64, measured bool) {
	for _, r := range s.Rig.Show.Readings {
		if r.Place == f.place && r.Cue != nil && r.Lx != nil && *r.Lx >= 0 && (r.Plane == "" || r.Plane == "face") && r.HeightM == nil && r.Cue.String() == f.look.Resolved.Number.String() {
			return max(f.Ambient.Lux, *r.Lx-f.Lux+f.Ambient.Lux), true
		}
	}
	return f.Ambient.Lux + Bounced*(f.Lux-f.Ambient.Lux), f.Ambient.Known
}

// dimHallLux is what a hall with its lights down may still give to a face where
// nobody says what it does. Common practice, no source.
const dimHallLux = 10

// Keys returns the key lights of the person: by the light that arrives where that
// is known, else by where they are aimed.
func (f *Face) Keys() (keys []*Lamp, missing []string) {
	if len(f.Missing) > 0 {
		if f.nowhere {
			return nil, f.Missing
		}
		keys, missing = f.aimedAt(forFaces...)
		if len(keys) > 0 {
			return keys, missing
		}
		if len(f.near(mayLight)) > 0 {
			return nil, f.Missing
		}
		if len(missing) == 0 { // dancers and players are lit from the side alone
			_, missing = f.aimedAt("side")
		}
		return keys, missing
	}
	for _, a := range f.face {
		if a.lux >= LeastShare*f.Lux && f.isKey(a) {
			keys = append(keys, a.lamp)
		}
	}
	return keys, nil
}

// Shares calls use with the line of each white lamp that lights the face, by its place
// in the patch, and the part of all light on the face that it gives.
func (f *Face) Shares(use func(line int, share float64)) {
	for _, a := range f.face {
		if f.isKey(a) {
			use(a.lamp.index, a.lux/f.Lux)
		}
	}
}

// Backs returns the back lights of the person, as keys does.
func (f *Face) Backs() (backs []*Lamp, missing []string) {
	if len(f.Missing)+len(f.BackMissing) > 0 {
		if backs, missing = f.aimedAt(fromBehind...); len(backs)+len(missing) == 0 && len(f.near(fromBehind)) > 0 {
			return nil, slices.Concat(f.BackMissing, f.Missing)
		}
		return backs, missing
	}
	for _, a := range f.shoulder {
		if f.fromBehind(a) && a.lux >= LeastShare*f.Lux {
			backs = append(backs, a.lamp)
		}
	}
	return backs, nil
}

// BackAndFront is the light on the face of whatever colour, ambient light included,
// and the light from behind on head and shoulders, of a face that is known.
func (f *Face) BackAndFront() (front, back float64) {
	for _, a := range f.shoulder {
		if f.fromBehind(a) {
			back += a.lux
		}
	}
	return f.Lux, back
}

func reflectance(s *schema.Surface) float64 {
	if s.Reflectance != nil {
		return *s.Reflectance
	}
	return Value(s.Gain)
}

// Emitted is the white of a screen at a drive, in cd/m2; nil if it is unknown.
func Emitted(surface *schema.Surface, drive *float64) *float64 {
	if drive == nil {
		return nil
	}
	full := 0.0
	switch surface.Kind {
	case "emissive":
		if surface.PeakCdM2 == nil {
			return nil
		}
		full = *surface.PeakCdM2
	case "projection":
		if surface.ProjectorLm == nil || surface.WidthM == nil || surface.HeightM == nil {
			return nil
		}
		gain := 1.0
		if surface.Gain != nil {
			gain = *surface.Gain
		}
		_, nits, ok := photometry.ProjectorWhite(*surface.ProjectorLm, *surface.WidthM, *surface.HeightM, gain)
		if !ok {
			return nil
		}
		full = nits
	default:
		return nil
	}
	if white := full * *drive / 100; white >= 0 && white <= mostNits {
		return &white
	}
	return nil
}

// mostNits is more than any screen shows: it is the luminance of the sun's disc,
// about 1.6e9 cd/m2 (from memory).
const mostNits = 1.6e9

// DarkReflectance is the reflectance below which a background counts as dark: it
// is about half a grey card (18 %). Common practice, no source.
const DarkReflectance = 0.10

// PaleReflectance is the reflectance from which a background is never dark behind somebody
// who is lit: light that comes back from floor and people, which is not worked out, is
// enough to see it. Common practice, no source.
const PaleReflectance = 0.4

// DarkBacks are the back lights aimed at a place that are dark in the look.
func (r *Rig) DarkBacks(look *tracking.Look, place string) []*Lamp {
	var list []*Lamp
	for _, f := range r.backs {
		state := look.State(f.Channel)
		if aim := aimOf(f, state); state.Level <= 0 && aim != nil && aim.Name == place {
			list = append(list, r.Lamp(look, f, state))
		}
	}
	return list
}

// SpareBack is a back light that serves nobody: aimed at a place where nobody ever
// stands, or at nothing. nil if there is none.
func (r *Rig) SpareBack(look *tracking.Look) *Lamp {
	for _, f := range r.backs {
		if f.AimedAt == nil || f.AimedAt.Point == nil && !r.occupied[f.AimedAt.Name] {
			return r.Lamp(look, f, look.State(f.Channel))
		}
	}
	return nil
}
