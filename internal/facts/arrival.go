package facts

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
)

// Shares and reflectances that decide what counts.
const (
	// leastShare is the part of the light on a face under which a lamp is not one
	// of its keys, and the part of the key under which it is no back light: a lamp
	// that is over four stops weaker is not seen. Common practice, no source.
	leastShare = 0.05
	// skin is the reflectance that faces are reckoned with: light skin, 36 %, from
	// two camera handbooks. Brown skin is about 16 %, dark skin about 10 %.
	skin = 0.36
	// darkStops is how many stops under the face a background counts as dark.
	// Common practice, no source.
	darkStops = -2.0
)

// arrival is the light of one lamp on one plane.
type arrival struct {
	lamp   *stageLamp
	lux    float64
	column int
}

// light brings the scene to a look: the levels of all beams and their lamps. The
// lux on a receiver is its row of the sparse product, worked out when it is asked
// for: a look asks for the people in it and not for the whole room. It returns
// what is missing to be sure that all light is in it.
func (s *scene) light(look *stageLook) (missing []string) {
	if s.transport == nil {
		return []string{"the room, with its places and cameras"}
	}
	if ambient := value(s.rig.show.Room.AmbientLx); !(ambient >= 0 && ambient <= mostLux) {
		missing = append(missing, "an ambient light of the room that a room can have")
	}
	if !s.rig.hasPatch() {
		missing = append(missing, needPatch)
	}
	for _, column := range s.lit {
		s.levels[column], s.lamps[column] = 0, nil
	}
	s.lit = s.lit[:0]
	for _, lamp := range look.lamps {
		b := s.beamOfLamp(lamp)
		phrase := b.missing
		if phrase == "" {
			phrase = lamp.missing
		}
		if phrase != "" {
			if !slices.Contains(missing, phrase) {
				missing = append(missing, phrase)
			}
			continue
		}
		s.lamps[b.column], s.levels[b.column] = lamp, lamp.share
		s.lit = append(s.lit, b.column)
	}
	return missing
}

// another is the same room for a look of its own, so that several can be lit at
// once.
func (s *scene) another() *scene {
	other := *s
	other.levels, other.lamps = make([]float64, len(s.levels)), make([]*stageLamp, len(s.lamps))
	other.lit, other.face, other.shoulder = nil, nil, nil
	other.coloured, other.lumens, other.tints, other.firsts = nil, nil, nil, nil
	other.spots, other.byName = make([]*spot, len(s.spots)), map[string]*spot{}
	for i, before := range s.spots {
		copied := *before
		copied.views = slices.Clone(before.views)
		for k := range copied.views {
			copied.views[k].roles = nil // filled as they are asked for
		}
		other.spots[i] = &copied
		if s.byName[copied.place.Name] == before {
			other.byName[copied.place.Name] = &copied
		}
	}
	return &other
}

// luxAt is the light of the look on a receiver.
func (s *scene) luxAt(receiver int) float64 { return s.transport.At(receiver, s.levels) }

// mostLux is the light of the sun at noon, about 130,000 lx (from memory).
const mostLux = 130_000

// arrivals appends the light of each lit lamp on a receiver to a list, in the
// order of the columns.
func (s *scene) arrivals(list []arrival, receiver int) []arrival {
	s.transport.Row(receiver, func(column int, coefficient float64) {
		if lamp := s.lamps[column]; lamp != nil && lamp.share > 0 {
			list = append(list, arrival{lamp, coefficient * lamp.share, column})
		}
	})
	return list
}

// clearly reports whether a light is more than another by more than rounding, so
// that of two that are equal by symmetry it is always the first that is named.
func clearly(lux, than float64) bool { return lux > than*(1+1e-9) }

// face is somebody on a place in a look, as the light and the cameras see them.
// Its lists are good until the scene is asked for another face.
type face struct {
	look    *stageLook
	place   string
	missing []string // why nothing else is known; empty if it is

	lux            float64 // of the camera that sees the most light on the face, ambient light included
	view           *view   // of that camera
	face, shoulder []arrival
}

// faceOn measures the light on somebody on a place in the look that the scene was
// lit with, for every camera. missing is what [scene.light] said.
func (s *scene) faceOn(look *stageLook, place string, missing []string) *face {
	f := &face{look: look, place: place, missing: slices.Clone(missing)}
	sp := s.spot(place)
	switch {
	case sp == nil:
		f.missing = append(f.missing, fmt.Sprintf("the place %q in the room", place))
	case sp.missing != "":
		f.missing = append(f.missing, sp.missing)
	case len(sp.views) == 0:
		f.missing = append(f.missing, "the cameras of the room, with x, y and z of each")
	}
	if len(f.missing) > 0 {
		return f
	}
	ambient := value(s.rig.show.Room.AmbientLx)
	for i := range sp.views {
		v := &sp.views[i]
		if lux := s.luxAt(v.face) + ambient; f.view == nil || clearly(lux, f.lux) {
			f.lux, f.view = lux, v
		}
	}
	s.face = s.arrivals(s.face[:0], f.view.face)
	s.shoulder = s.arrivals(s.shoulder[:0], f.view.shoulder)
	f.face, f.shoulder = s.face, s.shoulder
	return f
}

// exposures is how the light on a face compares with what the cameras are set for:
// the worst of them each way.
type exposures struct {
	under, over exposure
	missing     []string // why they are not known; empty if they are
}

// exposure is that of one camera.
type exposure struct {
	camera string
	stops  float64 // over what it is set for; negative is under
	lux    float64 // on the face, towards it
	wanted float64 // lux that it is set for (ISO 2720)
}

// blackStops stands for a face with no light on it: beyond the range of any
// camera of today. Common practice, no source.
const blackStops = 16

// exposuresOf compares the light on a face that is known with all cameras.
func (s *scene) exposuresOf(f *face) exposures {
	var e exposures
	ambient := value(s.rig.show.Room.AmbientLx)
	views := s.spot(f.place).views
	first := true
	for i := range views {
		camera := views[i].camera
		if camera.ApertureF == nil || camera.ShutterS == nil || camera.SensitivityISO == nil {
			e.missing = addMissing(e.missing, fmt.Sprintf("the aperture, shutter and sensitivity of the camera %q", camera.Name))
			continue
		}
		wanted, ok := photometry.ExposureIlluminance(*camera.ApertureF, *camera.ShutterS, *camera.SensitivityISO, photometry.CalibrationFlat)
		if !ok {
			e.missing = addMissing(e.missing, fmt.Sprintf("an aperture, shutter and sensitivity above zero for the camera %q", camera.Name))
			continue
		}
		lux := s.luxAt(views[i].face) + ambient
		stops, ok := photometry.Stops(lux, wanted)
		if !ok { // no light at all: as far under as a camera can see
			stops = -blackStops
		}
		one := exposure{camera.Name, stops, lux, wanted}
		if first || stops < e.under.stops {
			e.under = one
		}
		if first || stops > e.over.stops {
			e.over = one
		}
		first = false
	}
	for _, camera := range s.rig.show.Room.Cameras {
		if !slices.ContainsFunc(views, func(v view) bool { return v.camera == camera }) {
			e.missing = addMissing(e.missing, fmt.Sprintf("x, y and z of the camera %q, not above or below the place %q", camera.Name, f.place))
		}
	}
	return e
}

// faceLight is what the light on a face is made of.
type faceLight struct {
	coloured  float64    // coloured light as a part of that of all lamps, 0 to 1
	cct, duv  *float64   // of all of it; nil if it is dark or no white
	strongest *stageLamp // the white lamp, no back light, that gives most; nil if there is none
	bearing   *photometry.Bearing
}

// made tells what the light on the face is made of.
func (f *face) made() faceLight {
	var l faceLight
	var sum colour.XYZ
	coloured, total := 0.0, 0.0
	var strongest arrival
	for _, a := range f.face {
		total += a.lux
		sum = sum.Add(a.lamp.xyz.Scale(a.lux / a.lamp.xyz.Y))
		if a.lamp.Coloured != nil && *a.lamp.Coloured {
			coloured += a.lux
		} else if clearly(a.lux, strongest.lux) && a.lamp.Purpose != "back" {
			strongest = a
		}
	}
	if total > 0 {
		l.coloured = coloured / total
		if xy, ok := sum.XY(); ok {
			if cct, duv, ok := colour.CCT(xy); ok {
				l.cct, l.duv = &cct, &duv
			}
		}
	}
	if l.strongest = strongest.lamp; l.strongest != nil {
		if bearing, ok := photometry.BearingOf(vec(l.strongest.fixture.HungAt), f.view.head, f.view.eye); ok {
			l.bearing = &bearing
		}
	}
	return l
}

// shoulderHue names the colour that outweighs white on head and shoulders, or "".
func (f *face) shoulderHue() string {
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

// backdrop is what the cameras see behind a person.
type backdrop struct {
	nits    *float64
	stops   *float64 // over a face of 36 % reflectance; negative is darker
	missing string   // why nits is not known; "" if it is
}

// backdropOf compares the background with a face that is known.
func (s *scene) backdropOf(f *face) (b backdrop) {
	v := f.view
	surface := v.behind
	if named := s.rig.places[f.place].Background; named != "" && s.rig.surfaces[named] != nil {
		surface = s.rig.surfaces[named]
	}
	switch {
	case surface == nil:
		b.missing = fmt.Sprintf("the surface behind the place %q", f.place)
		return b
	case surface.Kind == "emissive":
		if b.nits = emitted(surface, f.look.drive(surface)); b.nits == nil {
			b.missing = fmt.Sprintf("the peak luminance and drive of the screen %q", surface.Name)
			return b
		}
	case surface.Reflectance == nil && surface.Gain == nil:
		b.missing = fmt.Sprintf("the reflectance of the surface %q", surface.Name)
		return b
	case v.backdrop < 0 || surface != v.behind:
		b.missing = fmt.Sprintf("the centre, width and height of the surface %q behind the place %q", surface.Name, f.place)
		return b
	default:
		nits, ok := photometry.LambertianLuminance(s.luxAt(v.backdrop)+value(s.rig.show.Room.AmbientLx), reflectance(surface))
		if !ok {
			b.missing = fmt.Sprintf("a reflectance of the surface %q that is not below zero", surface.Name)
			return b
		}
		b.nits = &nits
	}
	lit, _ := photometry.LambertianLuminance(f.lux, skin)
	if stops, ok := photometry.Stops(*b.nits, lit); ok {
		b.stops = &stops
	}
	return b
}

// aimedAt returns the lit lamps of a purpose that point at a place, and what is
// missing to be sure that these are all.
func (l *stageLook) aimedAt(place, purpose string) (lamps []*stageLamp, missing []string) {
	for _, lamp := range l.lamps {
		switch {
		case lamp.Purpose == "":
			missing = append(missing, fmt.Sprintf("the purpose of the fixture on channel %d", lamp.Channel))
		case lamp.Purpose != purpose:
		case lamp.aim() == nil:
			missing = append(missing, fmt.Sprintf("where the %s light on channel %d is aimed", purpose, lamp.Channel))
		case lamp.aim().Name == place:
			lamps = append(lamps, lamp)
		}
	}
	return lamps, missing
}

// role is what a lamp is for the person by geometry.
func (f *face) role(a arrival) photometry.Role {
	for len(f.view.roles) <= a.column {
		f.view.roles = append(f.view.roles, "")
	}
	if role := f.view.roles[a.column]; role != "" {
		return role
	}
	bearing, ok := photometry.BearingOf(vec(a.lamp.fixture.HungAt), f.view.head, f.view.eye)
	if !ok {
		return ""
	}
	role, _ := photometry.RoleByGeometry(bearing)
	f.view.roles[a.column] = role
	return role
}

// isKey reports whether the light of a lamp is key light for the person.
func (f *face) isKey(a arrival) bool {
	return a.lamp.Purpose == "key" || a.lamp.Purpose == "" && f.role(a) == photometry.RoleKey
}

// keys returns the key lights of the person: by the light that arrives where that
// is known, else by where they are aimed.
func (f *face) keys() (keys []*stageLamp, missing []string) {
	if len(f.missing) > 0 {
		return f.look.aimedAt(f.place, "key")
	}
	for _, a := range f.face {
		if a.lux >= leastShare*f.lux && f.isKey(a) {
			keys = append(keys, a.lamp)
		}
	}
	return keys, nil
}

// backs returns the back lights of the person, as keys does.
func (f *face) backs() (backs []*stageLamp, missing []string) {
	if len(f.missing) > 0 {
		return f.look.aimedAt(f.place, "back")
	}
	key, _ := f.backAndKey()
	for _, a := range f.shoulder {
		if f.role(a) == photometry.RoleBack && a.lux >= leastShare*key {
			backs = append(backs, a.lamp)
		}
	}
	return backs, nil
}

// backAndKey is the key light on the face, and the light from behind on head and
// shoulders, of a face that is known.
func (f *face) backAndKey() (key, back float64) {
	for _, a := range f.face {
		if f.isKey(a) {
			key += a.lux
		}
	}
	for _, a := range f.shoulder {
		if f.role(a) == photometry.RoleBack {
			back += a.lux
		}
	}
	return key, back
}

func reflectance(s *schema.Surface) float64 {
	if s.Reflectance != nil {
		return *s.Reflectance
	}
	return value(s.Gain)
}

// emitted is the white of a screen at a drive, in cd/m2; nil if it is unknown.
func emitted(surface *schema.Surface, drive *float64) *float64 {
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

// darkReflectance is the reflectance below which a background counts as dark: it
// is about half a grey card (18 %). Common practice, no source.
const darkReflectance = 0.10

// darkBacks are the back lights aimed at a place that are dark in the look.
func (r *rig) darkBacks(look *stageLook, place string) []*stageLamp {
	var list []*stageLamp
	for _, f := range r.show.Patch {
		if f.Purpose != "back" {
			continue
		}
		state := look.look.State(f.Channel)
		if aim := aimOf(f, state); state.Level <= 0 && aim != nil && aim.Name == place {
			list = append(list, r.lamp(look.look, f, state))
		}
	}
	return list
}

// spareBack is a back light that serves nobody: aimed at a place where nobody ever
// stands, or at nothing. nil if there is none.
func (r *rig) spareBack(look *stageLook) *stageLamp {
	for _, f := range r.show.Patch {
		if f.Purpose == "back" && (f.AimedAt == nil || f.AimedAt.Point == nil && !r.occupied[f.AimedAt.Name]) {
			return r.lamp(look.look, f, look.look.State(f.Channel))
		}
	}
	return nil
}
