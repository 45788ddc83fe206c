package facts

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
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
	lamp   *Lamp
	lux    float64
	column int
}

// light brings the scene to a look: the levels of all beams and their lamps. The
// lux on a receiver is its row of the sparse product, worked out when it is asked
// for: a look asks for the people in it and not for the whole room. It returns
// what is missing to be sure that all light is in it.
func (s *scene) light(look *Look) (missing []string) {
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
			phrase = lamp.light.missing
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
	other.levels, other.lamps = make([]float64, len(s.levels)), make([]*Lamp, len(s.lamps))
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

// facets are what the cameras see of a person in a look.
type facets struct {
	face, shoulder []arrival // from the camera that sees the most light on the face
	faceLux        float64
	view           *view
}

// measureLight works out the light on a person: for every camera, and for the
// facts the worst of them.
func (p *Person) measureLight(s *scene, missing []string) *facets {
	facts := []string{
		"face_lx", "under_stops", "over_stops", "wanted_lx", "under_lx", "over_lx", "key_elevation_deg", "key_azimuth_deg", "back_lx", "back_key_ratio",
		"coloured_share", "face_cct_k", "face_duv", "background_stops", "background_cd_m2",
	}
	lack := func(phrase string, names ...string) {
		for _, fact := range names {
			p.lacks(fact, phrase)
		}
	}
	for _, phrase := range missing {
		lack(phrase, facts...)
	}
	sp := s.spot(p.place)
	switch {
	case sp == nil:
		lack(fmt.Sprintf("the place %q in the room", p.place), facts...)
	case sp.missing != "":
		lack(sp.missing, facts...)
	case len(sp.views) == 0:
		lack("the cameras of the room, with x, y and z of each", facts...)
	}
	if len(p.Why("face_lx")) > 0 {
		return nil
	}
	ambient := value(s.rig.show.Room.AmbientLx)
	var best *facets
	for i := range sp.views {
		v := &sp.views[i]
		lux := s.luxAt(v.face) + ambient
		if best == nil || clearly(lux, best.faceLux) {
			best = &facets{faceLux: lux, view: v}
		}
		p.expose(v.camera, lux)
	}
	for _, camera := range s.rig.show.Room.Cameras {
		if !slices.ContainsFunc(sp.views, func(v view) bool { return v.camera == camera }) {
			for _, fact := range exposureFacts {
				p.lacks(fact, fmt.Sprintf("x, y and z of the camera %q, not above or below the place %q", camera.Name, p.place))
			}
		}
	}
	if len(p.Why("under_stops")) > 0 {
		p.Under, p.Over, p.WantedLux, p.UnderLux, p.OverLux = nil, nil, nil, nil, nil
		p.UnderCamera, p.OverCamera = "", ""
	}
	s.face = s.arrivals(s.face[:0], best.view.face)
	s.shoulder = s.arrivals(s.shoulder[:0], best.view.shoulder)
	best.face, best.shoulder = s.face, s.shoulder
	p.FaceLux = &best.faceLux
	p.measureFace(best)
	p.measureShoulders(best)
	p.measureBackdrop(s, best, ambient)
	return best
}

// exposureFacts are about the worst camera: unknown if one of the cameras is.
var exposureFacts = []string{"under_stops", "over_stops", "wanted_lx", "under_lx", "over_lx"}

// expose compares the light on the face with what a camera is set for.
func (p *Person) expose(camera *schema.Camera, lux float64) {
	lack := func(format string) {
		for _, fact := range exposureFacts {
			p.lacks(fact, fmt.Sprintf(format, camera.Name))
		}
	}
	if camera.ApertureF == nil || camera.ShutterS == nil || camera.SensitivityISO == nil {
		lack("the aperture, shutter and sensitivity of the camera %q")
		return
	}
	wanted, ok := photometry.ExposureIlluminance(*camera.ApertureF, *camera.ShutterS, *camera.SensitivityISO, photometry.CalibrationFlat)
	if !ok {
		lack("an aperture, shutter and sensitivity above zero for the camera %q")
		return
	}
	stops, ok := photometry.Stops(lux, wanted)
	if !ok { // no light at all: as far under as a camera can see
		stops = -blackStops
	}
	if p.Under == nil || -stops > *p.Under {
		p.Under, p.UnderLux, p.UnderCamera, p.WantedLux = known(-stops), &lux, camera.Name, &wanted
	}
	if p.Over == nil || stops > *p.Over {
		p.Over, p.OverLux, p.OverCamera = &stops, &lux, camera.Name
	}
}

// blackStops stands for a face with no light on it: beyond the range of any
// camera of today. Common practice, no source.
const blackStops = 16

// measureFace works out what the light on the face is made of.
func (p *Person) measureFace(f *facets) {
	var sum colour.XYZ
	coloured, total := 0.0, 0.0
	var strongest arrival
	for _, a := range f.face {
		total += a.lux
		sum = sum.Add(a.lamp.light.xyz.Scale(a.lux / a.lamp.light.xyz.Y))
		if a.lamp.Coloured != nil && *a.lamp.Coloured {
			coloured += a.lux
		} else if clearly(a.lux, strongest.lux) && a.lamp.Purpose != "back" {
			strongest = a
		}
	}
	if total > 0 {
		p.ColouredShare = known(coloured / total)
		if xy, ok := sum.XY(); ok {
			if cct, duv, ok := colour.CCT(xy); ok {
				p.FaceCCT, p.FaceDuv = &cct, &duv
			}
		}
	} else {
		p.ColouredShare = known(0.0)
	}
	dark := fmt.Sprintf("light on the face on %s", p.Place)
	if p.FaceCCT == nil {
		p.lacks("face_cct_k", dark)
		p.lacks("face_duv", dark)
	}
	if strongest.lamp == nil {
		p.lacks("key_elevation_deg", dark)
		p.lacks("key_azimuth_deg", dark)
		return
	}
	p.StrongestKey = strongest.lamp.Label()
	bearing, ok := photometry.BearingOf(vec(strongest.lamp.fixture.HungAt), f.view.head, f.view.eye)
	if ok {
		p.KeyElevation, p.KeyAzimuth = &bearing.ElevationDeg, &bearing.AzimuthDeg
	} else {
		aside := fmt.Sprintf("a position of the fixture on channel %d that is not on the person", strongest.lamp.Channel)
		p.lacks("key_elevation_deg", aside)
		p.lacks("key_azimuth_deg", aside)
	}
}

// measureShoulders names the colour that outweighs white on head and shoulders.
func (p *Person) measureShoulders(f *facets) {
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
			p.shoulderHue = name
		}
	}
}

// measureBackdrop compares the background with the face.
func (p *Person) measureBackdrop(s *scene, f *facets, ambient float64) {
	v := f.view
	lack := func(phrase string) {
		p.lacks("background_stops", phrase)
		p.lacks("background_cd_m2", phrase)
	}
	surface := v.behind
	if named := s.rig.places[p.place].Background; named != "" && s.rig.surfaces[named] != nil {
		surface = s.rig.surfaces[named]
	}
	switch {
	case surface == nil:
		lack(fmt.Sprintf("the surface behind the place %q", p.place))
		return
	case surface.Kind == "emissive":
		picture := emitted(surface, drivePct(surface, p.look))
		if picture == nil {
			lack(fmt.Sprintf("the peak luminance and drive of the screen %q", surface.Name))
			return
		}
		p.Backdrop = picture
	case surface.Reflectance == nil && surface.Gain == nil:
		lack(fmt.Sprintf("the reflectance of the surface %q", surface.Name))
		return
	case v.backdrop < 0 || surface != v.behind:
		lack(fmt.Sprintf("the centre, width and height of the surface %q behind the place %q", surface.Name, p.place))
		return
	default:
		nits, ok := photometry.LambertianLuminance(s.luxAt(v.backdrop)+ambient, reflectance(surface))
		if !ok {
			lack(fmt.Sprintf("a reflectance of the surface %q that is not below zero", surface.Name))
			return
		}
		p.Backdrop = &nits
	}
	face, _ := photometry.LambertianLuminance(f.faceLux, skin)
	if stops, ok := photometry.Stops(*p.Backdrop, face); ok {
		p.BackdropStops = &stops
	} else {
		p.lacks("background_stops", fmt.Sprintf("light on the face on %s and on the background", p.Place))
	}
}

func reflectance(s *schema.Surface) float64 {
	if s.Reflectance != nil {
		return *s.Reflectance
	}
	return value(s.Gain)
}

// drivePct is what a look drives a screen at: a cue's word, else the room's.
func drivePct(surface *schema.Surface, look *Look) *float64 {
	if drive, ok := look.look.Drives[surface.Name]; ok && drive.DrivePct != nil {
		return drive.DrivePct
	}
	return surface.DrivePct
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

// Turn is a lamp with the level that would put a thing right.
type Turn struct {
	*Lamp
	Wanted float64 `expr:"wanted_pct"` // that level
}

// Edits changes what the lamp does, where that was set.
func (t *Turn) Edits(field string, value any) []source.Edit { return t.Lamp.Edits(field, value) }

// turned returns the lamps at the levels at which each gives factor times its
// light now. ok is false if one of them would have to be above full.
func turned(lamps []*Lamp, factor float64) (turns []*Turn, ok bool) {
	ok = true
	for _, lamp := range lamps {
		level := lamp.levelFor(factor)
		if level > 100 {
			ok = false
			level = 100
		}
		turns = append(turns, &Turn{lamp, level})
	}
	return turns, ok
}

// levelFor is the level at which the lamp gives factor times its light now, to
// the whole percent above; over 100 if there is none. The dimmer curve is
// followed by halving, because not all have an inverse in closed form.
func (l *Lamp) levelFor(factor float64) float64 {
	wanted := l.share * factor
	low, high := 0.0, 100.0
	if l.shareAt(high) < wanted*(1-1e-9) {
		return 101
	}
	for range 40 {
		if middle := (low + high) / 2; l.shareAt(middle) < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Ceil(high - 1e-6)
}

// shareAt is the part of its full light that the lamp gives at another level,
// in its colour of now.
func (l *Lamp) shareAt(level float64) float64 {
	if l.kind == nil {
		return 0
	}
	control := func(level float64) float64 {
		if l.kind.Source == "tungsten" {
			if d, ok := l.light.filament.Dim(filamentCurves[l.kind.DimmerCurve], level/100); ok {
				return d.Light
			}
			return 0
		}
		return dimmed(l.kind.DimmerCurve, level/100)
	}
	now := control(l.Level)
	if now <= 0 {
		return 0
	}
	return l.share / now * control(level)
}
