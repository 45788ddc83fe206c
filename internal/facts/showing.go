package facts

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
)

// Showing is a screen in a look with people on stage.
type Showing struct {
	unknowns
	look   *Look
	canvas *canvas

	ScreenName string   `expr:"name"`               // the screen
	Kind       string   `expr:"kind"`               // emissive or projection
	Number     string   `expr:"cue"`                // the number of the look's cue
	Segment    string   `expr:"segment"`            // the segment
	DrivePct   *float64 `expr:"drive_pct"`          // what it is driven at
	White      *float64 `expr:"white_cd_m2"`        // the luminance of its white at that drive
	OverFace   *float64 `expr:"over_face_stops"`    // how far that is over the dimmest face, at 36 % reflectance
	Face       string   `expr:"dimmest_place"`      // the place of that face
	DriveFor   *float64 `expr:"drive_for_face_pct"` // the highest drive, in whole percent, at which that is 1.5 stops or less
	SpillLux   *float64 `expr:"spill_lx"`           // mean light of all lamps and the ambient light on it
	KeySpill   *float64 `expr:"key_spill_lx"`       // mean light of the key lights on it
	SpillPct   *float64 `expr:"key_spill_pct"`      // that light as percent of the projector's white on it
	Contrast   *float64 `expr:"contrast"`           // image contrast under that light: (white + ambient) / (black + ambient)
	Spiller    *Lamp    `expr:"worst_spiller"`      // the key light that puts most light on it
	CutSide    string   `expr:"cut_side"`           // the shutter of that light that clears the screen and leaves its target lit, or ""
	CutPct     *float64 `expr:"cut_depth_pct"`      // how far to push it in
}

// Names returns the screen and the segment.
func (s *Showing) Names() []Name {
	names := []Name{{"screen", s.ScreenName}}
	if s.Segment != "" {
		names = append(names, Name{"segment", s.Segment})
	}
	return names
}

// Cue returns the number of the look's cue.
func (s *Showing) Cue() string { return s.Number }

// Ref returns where the cue stands.
func (s *Showing) Ref() source.Ref { return s.look.Ref() }

// Edits changes the drive of the screen: in the cue that set it, or in the room
// if no cue did.
func (s *Showing) Edits(field string, value any) []source.Edit {
	if drive, ok := s.look.look.Drives[s.ScreenName]; ok && field == "drive_pct" {
		return []source.Edit{{At: drive.At, Field: field, Value: value}}
	}
	return []source.Edit{{At: s.canvas.surface.At, Field: field, Value: value}}
}

// screenStops is how far white on a screen may be over a face for a proposal;
// the rule screen/outshines-face has the same number as its limit. Common
// practice, no source.
const screenStops = 1.5

func measureShowings(s *scene, looks []*Look) []*Showing {
	byLook := make([][]*Showing, len(looks))
	cores.Stretches(len(looks), func(from, to int) {
		for i := from; i < to; i++ {
			byLook[i] = showingsOf(s, looks[i])
		}
	})
	return slices.Concat(byLook...)
}

// showingsOf measures the screens of a look with people.
func showingsOf(s *scene, look *Look) []*Showing {
	if look.People == 0 {
		return nil
	}
	var showings []*Showing
	for _, c := range s.screens {
		if c.surface.Kind != "emissive" && c.surface.Kind != "projection" {
			continue
		}
		showing := &Showing{
			look: look, canvas: c, ScreenName: c.surface.Name, Kind: c.surface.Kind,
			Number: look.Number, Segment: look.SegmentName, DrivePct: drivePct(c.surface, look),
		}
		showing.measureWhite(look)
		showing.measureSpill(s)
		showings = append(showings, showing)
	}
	return showings
}

func (s *Showing) measureWhite(look *Look) {
	surface := s.canvas.surface
	if s.DrivePct == nil {
		s.lacks("drive_pct", fmt.Sprintf("what the screen %q is driven at", surface.Name))
	}
	s.White = emitted(surface, s.DrivePct)
	if s.White == nil {
		phrase := fmt.Sprintf("the peak luminance and drive of the screen %q", surface.Name)
		if surface.Kind == "projection" {
			phrase = fmt.Sprintf("the projector's lumens, the size and the drive of the screen %q", surface.Name)
		}
		for _, fact := range []string{"white_cd_m2", "over_face_stops", "drive_for_face_pct", "key_spill_pct", "contrast"} {
			s.lacks(fact, phrase)
		}
	}
	lack := func(phrase string) {
		s.lacks("over_face_stops", phrase)
		s.lacks("drive_for_face_pct", phrase)
	}
	switch {
	case look.dimmest == nil:
		for _, phrase := range look.Why("face_range_stops") {
			lack(phrase)
		}
	case s.White != nil && *s.White > 0:
		s.Face = look.dimmest.Place
		if stops, ok := photometry.ScreenOverFace(*s.White, *look.dimmest.FaceLux, skin); ok {
			s.OverFace = &stops
			s.DriveFor = known(math.Floor(min(100, *s.DrivePct*math.Exp2(screenStops-stops))))
		} else {
			lack(fmt.Sprintf("light on the face on %s", look.dimmest.Place))
		}
	case s.White != nil: // a dark screen outshines nobody
		s.Face = look.dimmest.Place
		s.OverFace = known(-float64(blackStops))
		s.lacks("drive_for_face_pct", fmt.Sprintf("a picture on the screen %q", surface.Name))
	}
}

func (s *Showing) measureSpill(sc *scene) {
	c := s.canvas
	missing := s.look.noLux
	if c.missing != "" {
		missing = append(slices.Clone(missing), c.missing)
	}
	if len(missing) > 0 {
		for _, fact := range []string{"spill_lx", "key_spill_lx", "key_spill_pct", "contrast", "cut_depth_pct"} {
			for _, phrase := range missing {
				s.lacks(fact, phrase)
			}
		}
		return
	}
	total := value(sc.rig.show.Room.AmbientLx)
	keys, worst := 0.0, 0.0
	for _, lamp := range s.look.lamps { // in the order of the patch, so that ties are settled
		lux := c.mean[sc.beamOfLamp(lamp).column] * lamp.share
		total += lux
		if lamp.Purpose != "key" {
			continue
		}
		keys += lux
		if clearly(lux, worst) {
			worst, s.Spiller = lux, lamp
		}
	}
	s.SpillLux, s.KeySpill = &total, &keys
	s.proposeCut(sc)
	s.measureContrast(total)
}

// deepestContrast stands for a black that no light reaches: beyond any screen of
// today. Common practice, no source.
const deepestContrast = 1_000_000

func (s *Showing) measureContrast(lux float64) {
	surface := s.canvas.surface
	if s.White == nil {
		return
	}
	matt := reflectance(surface)
	if surface.Kind == "projection" {
		matt = 1
		if surface.Gain != nil {
			matt = *surface.Gain
		}
	}
	added, ok := photometry.LambertianLuminance(lux, matt)
	if surface.Kind == "emissive" && surface.Reflectance == nil || !ok {
		s.lacks("contrast", fmt.Sprintf("the reflectance of the screen %q", surface.Name))
	} else if added == 0 && surface.BlackCdM2 == nil && *s.White > 0 {
		s.Contrast = known(float64(deepestContrast)) // nothing lightens a black that nobody measured
	} else if ratio, ok := photometry.ContrastRatio(*s.White, min(value(surface.BlackCdM2), *s.White), added); ok {
		s.Contrast = &ratio
	} else {
		s.lacks("contrast", fmt.Sprintf("the black luminance of the screen %q", surface.Name))
	}
	if *s.White > 0 && matt > 0 && surface.Kind == "projection" {
		s.SpillPct = known(100 * *s.KeySpill / (*s.White * math.Pi / matt))
	} else {
		s.lacks("key_spill_pct", fmt.Sprintf("a picture on the screen %q", surface.Name))
	}
}

// proposeCut finds the shutter of the worst spiller that clears the screen and
// leaves the head that it is aimed at lit.
func (s *Showing) proposeCut(sc *scene) {
	if s.Spiller == nil {
		s.lacks("cut_depth_pct", "a key light that reaches the screen")
		return
	}
	b := sc.beamOfLamp(s.Spiller)
	phrase := fmt.Sprintf("a shutter of channel %d that clears the screen and leaves its target lit", s.Spiller.Channel)
	target, missing := sc.target(s.Spiller.aim())
	grid, err := s.canvas.rect.Grid(samplesAcross, samplesDown)
	if missing != "" || err != nil || b.field <= 0 {
		s.lacks("cut_depth_pct", phrase)
		return
	}
	points := make([]photometry.Vec, len(grid))
	for i, receiver := range grid {
		points[i] = receiver.Point
	}
	clear, ok1 := b.frame.Image(b.field, points)
	keep, ok2 := b.frame.Image(b.field, []photometry.Vec{target})
	if !ok1 || !ok2 {
		s.lacks("cut_depth_pct", phrase)
		return
	}
	// Only what the beam reaches has to be cleared.
	var reached []photometry.ImagePoint
	for _, p := range clear {
		if p.Ahead && math.Hypot(p.X, p.Y) <= 2 {
			reached = append(reached, p)
		}
	}
	side, depth, ok := photometry.SmallestCut(reached, keep)
	if !ok {
		s.lacks("cut_depth_pct", phrase)
		return
	}
	s.CutSide, s.CutPct = string(side), known(math.Ceil(depth/2))
}

// measureOptics works out what a fixture does to lenses and sensors, and whether
// its place in the room fits its purpose.
func (f *Fixture) measureOptics(r *rig, s *scene, used bool) {
	f.measureRole(r, s)
	f.measureLens(r, s)
	f.measureBands(r, used)
}

func (f *Fixture) measureRole(r *rig, s *scene) {
	lack := func(phrase string) {
		for _, fact := range []string{"geometry_role", "azimuth_deg", "elevation_deg"} {
			f.lacks(fact, phrase)
		}
	}
	raw := f.fixture
	switch {
	case raw.HungAt == nil:
		lack(fmt.Sprintf("where the fixture on channel %d hangs", f.Channel))
		return
	case raw.AimedAt == nil || raw.AimedAt.Name == "" || s.spot(raw.AimedAt.Name) == nil:
		lack(fmt.Sprintf("a place that the fixture on channel %d is aimed at", f.Channel))
		return
	}
	sp := s.spot(raw.AimedAt.Name)
	if sp.missing != "" || len(sp.views) == 0 {
		lack("the cameras of the room, with x, y and z of each")
		return
	}
	// The first camera of the room decides: cameras stand close together as seen
	// from a lamp. Common practice, no source.
	bearing, ok := photometry.BearingOf(vec(raw.HungAt), sp.head, sp.views[0].eye)
	if !ok {
		lack(fmt.Sprintf("a position of the fixture on channel %d that is not on the person", f.Channel))
		return
	}
	role, _ := photometry.RoleByGeometry(bearing)
	f.Role = known(string(role))
	f.AimPlace = raw.AimedAt.Name
	f.Azimuth, f.Elevation = &bearing.AzimuthDeg, &bearing.ElevationDeg
}

// measureLens works out how much of the beam of a back light goes into a lens.
func (f *Fixture) measureLens(r *rig, s *scene) {
	if f.Purpose != "back" {
		return
	}
	phrase := fmt.Sprintf("where the back light on channel %d hangs and is aimed, its beam, and the positions of the cameras", f.Channel)
	if r.show.Room == nil || s.transport == nil {
		f.lacks("lens_pct", phrase)
		return
	}
	worst := -1.0
	for _, b := range s.inOrder {
		if b.fixture != f.fixture || !b.used {
			continue
		}
		if b.missing != "" {
			f.lacks("lens_pct", b.missing)
			continue
		}
		peak, ok := b.source.CandelaTowards(along(b.frame))
		for _, camera := range r.show.Room.Cameras {
			if camera.X == nil || camera.Y == nil || camera.Z == nil || !ok || peak <= 0 {
				f.lacks("lens_pct", phrase)
				continue
			}
			eye := photometry.Vec{X: *camera.X, Y: *camera.Y, Z: *camera.Z}
			if candela, ok := b.source.CandelaTowards(eye); ok && 100*candela/peak > worst {
				worst = 100 * candela / peak
				f.LensCamera = camera.Name
			}
		}
	}
	switch {
	case len(f.Why("lens_pct")) > 0:
	case worst < 0:
		f.lacks("lens_pct", phrase)
	default:
		f.LensPct = &worst
	}
}

// along is a point on the axis of a beam.
func along(f photometry.Frame) photometry.Vec {
	return photometry.Vec{X: f.Position.X + f.Forward.X, Y: f.Position.Y + f.Forward.Y, Z: f.Position.Z + f.Forward.Z}
}

// leastDuty is the duty that banding is reckoned with: a lamp at a tenth of its
// light, about the lowest at which a stage lamp is used with people. Common
// practice, no source.
const leastDuty = 0.1

// measureBands works out the depth of the bands that the fixture's dimming
// makes on the worst camera.
func (f *Fixture) measureBands(r *rig, used bool) {
	lack := func(phrase string) {
		f.lacks("band_depth_pct", phrase)
		f.lacks("band_shutter_s", phrase)
	}
	t := r.types[f.Type]
	if t == nil || t.PWMHz == nil {
		phrase := fmt.Sprintf("the PWM frequency of the type %q", f.Type)
		f.lacks("pwm_hz", phrase)
		lack(phrase)
		return
	}
	if !used {
		phrase := fmt.Sprintf("a cue that lights the fixture on channel %d", f.Channel)
		f.lacks("pwm_hz", phrase)
		lack(phrase)
		return
	}
	f.PWMHz = t.PWMHz
	if r.show.Room == nil || len(r.show.Room.Cameras) == 0 {
		lack("the cameras of the room, with the shutter of each")
		return
	}
	for _, camera := range r.show.Room.Cameras {
		if camera.ShutterS == nil {
			lack(fmt.Sprintf("the shutter of the camera %q", camera.Name))
			continue
		}
		depth, ok := photometry.WorstBandDepth(*t.PWMHz, *camera.ShutterS, leastDuty)
		if !ok {
			lack(fmt.Sprintf("a PWM frequency of the type %q and a shutter of the camera %q above zero", f.Type, camera.Name))
			continue
		}
		if f.BandPct == nil || 100*depth > *f.BandPct {
			f.BandPct, f.BandCamera, f.BandShutter = known(100*depth), camera.Name, camera.ShutterS
		}
	}
	if len(f.Why("band_depth_pct")) > 0 {
		f.BandPct, f.BandShutter, f.BandCamera = nil, nil, ""
	}
}
