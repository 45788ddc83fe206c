package facts

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// darkReflectance is the reflectance below which a background counts as dark: it
// is about half a grey card (18 %). Common practice, no source.
const darkReflectance = 0.10

// Person is somebody on a place in a look.
type Person struct {
	unknowns
	look        *Look
	place       string
	shoulderHue string // the colour that outweighs white on head and shoulders, or ""

	Place         string    `expr:"place"`              // the place
	Number        string    `expr:"cue"`                // the number of the look's cue
	Segment       string    `expr:"segment"`            // the segment
	KeyCount      *int      `expr:"key_count"`          // key lights that are lit and aimed at the place
	KeySpread     *float64  `expr:"key_spread_mired"`   // largest difference of white among them
	WarmestK      *float64  `expr:"warmest_key_k"`      // the lowest kelvin among them
	CoolestK      *float64  `expr:"coolest_key_k"`      // the highest kelvin among them
	Warmest       string    `expr:"warmest_key"`        // the channels with that, as "11, 12"
	Coolest       string    `expr:"coolest_key"`        // the channels with that
	WhiteKeys     int       `expr:"white_key_count"`    // how many of the keys make a white and not a colour
	CommonK       *float64  `expr:"common_key_k"`       // the white that all of them can make
	KeysToSet     []*Lamp   `expr:"keys_to_set"`        // the variable-white keys that make another white now
	KeyDuv        *float64  `expr:"key_duv"`            // the Duv farthest from zero among them
	KeyCamera     *float64  `expr:"key_camera_mired"`   // largest difference between a key and the white of a camera
	CameraK       *float64  `expr:"camera_k"`           // the white of that camera
	CameraName    string    `expr:"camera"`             // that camera
	KeysToCamera  []*Lamp   `expr:"keys_to_camera"`     // variable-white keys that can make the cameras' common white and do not
	BestCameraK   *float64  `expr:"best_camera_k"`      // the white for the cameras that fits the key lights of the whole show best
	Cameras       []*Camera `expr:"cameras_to_set"`     // the cameras that are set to another white
	KeyDrift      *float64  `expr:"key_drift_mired"`    // how much warmer the most dimmed filament key is than at full
	Drifted       []*Lamp   `expr:"drifted_keys"`       // filament keys that are over 20 mired warmer than at full
	DriftedText   string    `expr:"drifted_keys_text"`  // the same lamps, as "11, 12"
	CuePurpose    string    `expr:"cue_purpose"`        // what the cue says it is for, or ""
	StageLit      bool      `expr:"stage_is_lit"`       // whether any stage light is on in the look
	FaceLux       *float64  `expr:"face_lx"`            // light on the face, towards the camera that sees most of it
	WantedLux     *float64  `expr:"wanted_lx"`          // light that the camera of under_stops is set for (ISO 2720)
	Under         *float64  `expr:"under_stops"`        // how far the face is under what a camera is set for; the worst camera
	UnderLux      *float64  `expr:"under_lx"`           // the light on the face towards that camera
	UnderCamera   string    `expr:"under_camera"`       // that camera
	Over          *float64  `expr:"over_stops"`         // how far the face is over what a camera is set for; the worst camera
	OverLux       *float64  `expr:"over_lx"`            // the light on the face towards that camera
	OverCamera    string    `expr:"over_camera"`        // that camera
	KeysToTurn    []*Turn   `expr:"keys_to_turn"`       // the key lights with the level that brings the face to what the camera is set for
	KeysReach     *bool     `expr:"keys_can_reach"`     // whether none of those levels is above full
	StrongestKey  string    `expr:"strongest_key"`      // the white lamp that gives the face the most light
	KeyElevation  *float64  `expr:"key_elevation_deg"`  // how high it stands, as seen from the face
	KeyAzimuth    *float64  `expr:"key_azimuth_deg"`    // how far to the side of the camera; positive to the right as the camera sees it
	ColouredShare *float64  `expr:"coloured_share"`     // coloured light as a part of all light of lamps on the face, 0 to 1
	FaceCCT       *float64  `expr:"face_cct_k"`         // the correlated colour temperature of all light on the face
	FaceDuv       *float64  `expr:"face_duv"`           // its Duv
	Backdrop      *float64  `expr:"background_cd_m2"`   // luminance of what the camera sees behind the person
	BackdropStops *float64  `expr:"background_stops"`   // how far that is over a face of 36 % reflectance; negative is darker
	BackLux       *float64  `expr:"back_lx"`            // light from behind on head and shoulders
	BackRatio     *float64  `expr:"back_key_ratio"`     // that light over the key light on the face
	BacksToTurn   []*Turn   `expr:"backs_to_turn"`      // the back lights with the level that brings the ratio to 1
	BacksReach    *bool     `expr:"backs_can_reach"`    // whether none of those levels is above full
	HeldHue       string    `expr:"held_hue"`           // the strong colour that is on head and shoulders in every look of the segment, or ""
	HeldS         *float64  `expr:"held_hue_s"`         // for how long, in seconds; 0 if there is none
	BackCount     *int      `expr:"back_count"`         // back lights that are lit and aimed at the place
	BackLamps     []*Lamp   `expr:"dark_back_lamps"`    // back lights aimed at the place that are dark in this look
	BackText      string    `expr:"dark_back_text"`     // the same lamps, as "31, 32"
	SpareBack     *Fixture  `expr:"spare_back"`         // a back light that is aimed at nobody in this show and could light the place
	SpareLamp     *Lamp     `expr:"spare_back_lamp"`    // the same fixture in this look
	Background    *bool     `expr:"background_is_dark"` // whether the cameras see a dark surface behind it
	BackName      string    `expr:"background"`         // that surface
}

// Names returns the place and the segment, so that the same trouble in ten cues
// of one song is one thing.
func (p *Person) Names() []Name {
	names := []Name{{"place", p.Place}}
	if p.Segment != "" {
		names = append(names, Name{"segment", p.Segment})
	}
	return names
}

// Cue returns the number of the look's cue.
func (p *Person) Cue() string { return p.Number }

// Ref returns where the cue stands.
func (p *Person) Ref() source.Ref { return p.look.Ref() }

func measurePeople(r *rig, s *scene, looks []*Look) []*Person {
	r.countKeyWhites(looks)
	byLook := make([][]*Person, len(looks))
	cores.Stretches(len(looks), func(from, to int) {
		s := s.another()
		for i := from; i < to; i++ {
			byLook[i] = peopleOf(r, s, looks[i])
		}
	})
	people := slices.Concat(byLook...)
	measureHeld(people)
	return people
}

// peopleOf measures the people of a look. Nothing of a look depends on another.
func peopleOf(r *rig, s *scene, look *Look) []*Person {
	segment := look.look.Segment
	if segment == nil || len(segment.People) == 0 {
		look.lacks("face_range_stops", fmt.Sprintf("people on stage in cue %s", look.Number))
		return nil
	}
	missing := s.light(look)
	look.noLux = missing
	people := make([]*Person, 0, len(segment.People))
	for _, place := range segment.People {
		p := &Person{
			look: look, place: place, Place: place, Number: look.Number, Segment: segment.Name,
			CuePurpose: look.Purpose, StageLit: len(look.lamps) > 0,
		}
		light := p.measureLight(s, missing)
		p.measureKeys(r, light)
		p.measureBack(r, light)
		people = append(people, p)
	}
	look.compareFaces(people)
	return people
}

// countKeyWhites counts the whites of the key lights, to the mired, over all
// looks with people.
func (r *rig) countKeyWhites(looks []*Look) {
	for _, look := range looks {
		if look.look.Segment == nil || len(look.look.Segment.People) == 0 {
			continue
		}
		for _, lamp := range look.lamps {
			if lamp.Purpose == "key" && lamp.Coloured != nil && !*lamp.Coloured {
				mired := int(math.Round(1e6 / *lamp.CCT))
				white := r.keyWhites[mired]
				r.keyWhites[mired] = keyWhite{white.count + 1, white.kelvin + *lamp.CCT}
			}
		}
	}
}

// aimedHere returns the lit lamps of a purpose that point at the place, and what
// is missing to be sure that these are all.
func (p *Person) aimedHere(purpose string) (lamps []*Lamp, missing []string) {
	for _, lamp := range p.look.lamps {
		switch {
		case lamp.Purpose == "":
			missing = append(missing, fmt.Sprintf("the purpose of the fixture on channel %d", lamp.Channel))
		case lamp.Purpose != purpose:
		case lamp.aim() == nil:
			missing = append(missing, fmt.Sprintf("where the %s light on channel %d is aimed", purpose, lamp.Channel))
		case lamp.aim().Name == p.place:
			lamps = append(lamps, lamp)
		}
	}
	return lamps, missing
}

// keyFacts are the facts that need the white of every key light of the place.
var keyFacts = []string{
	"key_spread_mired", "warmest_key_k", "coolest_key_k", "common_key_k",
	"key_camera_mired", "key_duv", "camera_k", "best_camera_k", "key_drift_mired",
}

// keys returns the key lights of the person: by the light that arrives where
// that is known, else by where they are aimed.
func (p *Person) keys(light *facets) (keys []*Lamp, missing []string) {
	if light == nil {
		return p.aimedHere("key")
	}
	for _, a := range light.face {
		if a.lux >= leastShare*light.faceLux && (a.lamp.Purpose == "key" || a.lamp.Purpose == "" && light.role(a) == photometry.RoleKey) {
			keys = append(keys, a.lamp)
		}
	}
	return keys, nil
}

// role is what a lamp is for the person by geometry.
func (f *facets) role(a arrival) photometry.Role {
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

func (p *Person) measureKeys(r *rig, light *facets) {
	keys, missing := p.keys(light)
	p.turnKeys(keys, light)
	for _, phrase := range missing {
		p.lacks("key_count", phrase)
	}
	if len(missing) == 0 {
		p.KeyCount = known(len(keys))
	}
	var whites []*Lamp
	for _, lamp := range keys {
		switch {
		case lamp.light.missing != "":
			missing = append(missing, lamp.light.missing)
		case lamp.Coloured != nil && !*lamp.Coloured:
			whites = append(whites, lamp)
		}
	}
	if len(whites) == 0 && len(missing) == 0 {
		missing = append(missing, fmt.Sprintf("a key light of white that is lit on %s", p.Place))
	}
	if len(missing) > 0 {
		for _, fact := range keyFacts {
			for _, phrase := range missing {
				p.lacks(fact, phrase)
			}
		}
		return
	}
	p.WhiteKeys = len(whites)
	low, high, duv, drift := math.Inf(1), math.Inf(-1), 0.0, 0.0
	for _, lamp := range whites {
		low, high = math.Min(low, *lamp.CCT), math.Max(high, *lamp.CCT)
		if math.Abs(*lamp.Duv) > math.Abs(duv) {
			duv = *lamp.Duv
		}
		drift = math.Max(drift, *lamp.Drift)
		if *lamp.Drift > steadyMired && lamp.SteadyLevel != nil {
			p.Drifted = append(p.Drifted, lamp)
		}
	}
	p.WarmestK, p.CoolestK, p.KeyDuv, p.KeyDrift = &low, &high, &duv, &drift
	p.KeySpread = known(1e6/low - 1e6/high)
	p.Warmest, p.Coolest = channelsWithWhite(whites, low), channelsWithWhite(whites, high)
	p.DriftedText = channelsOf(p.Drifted)
	p.proposeWhite(r, whites)
	p.measureCamera(r, whites)
}

func channelsOf(lamps []*Lamp) string {
	var channels []int
	for _, lamp := range lamps {
		channels = append(channels, lamp.Channel)
	}
	return schema.FormatChannels(channels)
}

func channelsWithWhite(lamps []*Lamp, kelvin float64) string {
	var channels []int
	for _, lamp := range lamps {
		if math.Abs(*lamp.CCT-kelvin) < 0.5 {
			channels = append(channels, lamp.Channel)
		}
	}
	return schema.FormatChannels(channels)
}

// sameWhite is how close two whites have to be to count as the same, in mired:
// well under what anybody sees, well over rounding.
const sameWhite = 0.5

func miredApart(a, b float64) float64 { return math.Abs(1e6/a - 1e6/b) }

// proposeWhite finds the white that all keys can share: the one of the keys that
// cannot be set, if they agree; else the cameras', if they agree; else the mean
// in mired.
func (p *Person) proposeWhite(r *rig, keys []*Lamp) {
	var fixed []float64
	var free []*Lamp
	mean := 0.0
	for _, lamp := range keys {
		mean += 1e6 / *lamp.CCT / float64(len(keys))
		if _, _, ok := lamp.variableWhite(); ok {
			free = append(free, lamp)
		} else {
			fixed = append(fixed, *lamp.CCT)
		}
	}
	common := 1e6 / mean
	if white, ok := r.cameraWhite(); ok {
		common = white
	}
	if len(fixed) > 0 {
		common = fixed[0]
	}
	for _, kelvin := range fixed {
		if miredApart(kelvin, common) > sameWhite {
			p.lacks("common_key_k", fmt.Sprintf("key lights on %s whose white can be set: two of them cannot and differ", p.Place))
			return
		}
	}
	for _, lamp := range free {
		if low, high, _ := lamp.variableWhite(); common < low || common > high {
			p.lacks("common_key_k", fmt.Sprintf("a key light on channel %d that reaches %.0f K", lamp.Channel, common))
			return
		}
		if miredApart(*lamp.CCT, common) > sameWhite {
			p.KeysToSet = append(p.KeysToSet, lamp)
		}
	}
	if white, ok := r.cameraWhite(); ok && miredApart(common, white) > cameraMired {
		p.lacks("common_key_k", fmt.Sprintf("a key light on %s that can be filtered or set to the cameras' %.0f K", p.Place, white))
		return
	}
	p.CommonK = known(math.Round(common))
}

// cameraMired is how far a proposal may leave the keys from the cameras; the rule
// white/key-camera has the same number as its limit. Common practice, no source.
const cameraMired = 15

// measureCamera compares the keys with the whites that the cameras are set to.
func (p *Person) measureCamera(r *rig, keys []*Lamp) {
	facts := []string{"key_camera_mired", "camera_k", "best_camera_k"}
	if r.show.Room == nil || len(r.show.Room.Cameras) == 0 {
		for _, fact := range facts {
			p.lacks(fact, "the cameras of the room, with the white balance of each")
		}
		return
	}
	worst, at, odd := -1.0, 0.0, ""
	for _, camera := range r.show.Room.Cameras {
		if !isWhite(camera.WhiteK) {
			for _, fact := range facts {
				p.lacks(fact, fmt.Sprintf("the white balance of the camera %q", camera.Name))
			}
			continue
		}
		for _, lamp := range keys {
			if apart := miredApart(*lamp.CCT, *camera.WhiteK); apart > worst {
				worst, at, odd = apart, *camera.WhiteK, camera.Name
			}
		}
	}
	if len(p.Why("key_camera_mired")) > 0 {
		return
	}
	p.KeyCamera, p.CameraK, p.CameraName = &worst, &at, odd
	if best, ok := r.bestCameraWhite(); ok {
		p.BestCameraK = &best
		for _, camera := range r.show.Room.Cameras {
			if miredApart(*camera.WhiteK, best) > sameWhite {
				p.Cameras = append(p.Cameras, &Camera{camera: camera})
			}
		}
	} else {
		p.lacks("best_camera_k", "key lights of white in a look with people")
	}
	if white, ok := r.cameraWhite(); ok {
		for _, lamp := range keys {
			if low, high, free := lamp.variableWhite(); free && miredApart(*lamp.CCT, white) > sameWhite && white >= low && white <= high {
				p.KeysToCamera = append(p.KeysToCamera, lamp)
			}
		}
	}
}

// Camera is a camera that a remedy may set.
type Camera struct{ camera *schema.Camera }

// Edits changes a field of the camera.
func (c *Camera) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: c.camera.At, Field: field, Value: value}}
}

// keyWhite is how often a white occurs, and the sum of its temperatures.
type keyWhite struct {
	count  int
	kelvin float64
}

// bestCameraWhite is the white that fits the key lights of all looks with people
// best: the middle of the warmest and the coolest in mired, which is the least
// worst, if it is near enough to both; else the white that most of them have.
// Rounded to 10 K, finer than any camera's menu.
func (r *rig) bestCameraWhite() (kelvin float64, ok bool) {
	if len(r.keyWhites) == 0 {
		return 0, false
	}
	warmest, coolest := math.MinInt, math.MaxInt
	var common keyWhite
	for _, mired := range slices.Sorted(maps.Keys(r.keyWhites)) {
		warmest, coolest = max(warmest, mired), min(coolest, mired)
		if white := r.keyWhites[mired]; white.count > common.count {
			common = white
		}
	}
	kelvin = common.kelvin / float64(common.count)
	if warmest != coolest && warmest-coolest <= 2*cameraMired {
		kelvin = 2e6 / float64(warmest+coolest)
	}
	return math.Round(kelvin/10) * 10, true
}

// isWhite reports whether a white balance is given and is one: from 1000 to
// 25,000 K, the range of correlated colour temperatures (Ohno 2014).
func isWhite(kelvin *float64) bool {
	return kelvin != nil && *kelvin >= leastKelvin && *kelvin <= 25_000
}

// cameraWhite returns the white that all cameras are set to, if they agree.
func (r *rig) cameraWhite() (kelvin float64, ok bool) {
	if r.show.Room == nil {
		return 0, false
	}
	for _, camera := range r.show.Room.Cameras {
		if !isWhite(camera.WhiteK) || ok && *camera.WhiteK != kelvin {
			return 0, false
		}
		kelvin, ok = *camera.WhiteK, true
	}
	return kelvin, ok
}

// turnKeys proposes levels at which the face gets what the camera is set for.
func (p *Person) turnKeys(keys []*Lamp, light *facets) {
	if light == nil || p.Under == nil || p.Over == nil || len(keys) == 0 {
		p.lacks("keys_can_reach", fmt.Sprintf("a key light that is lit on %s", p.Place))
		return
	}
	stops := *p.Under // raise by this, or lower by what it is over
	if *p.Over > -stops && *p.Over > 0 && *p.Over > stops {
		stops = -*p.Over
	}
	turns, ok := turned(keys, math.Exp2(stops))
	p.KeysToTurn, p.KeysReach = turns, &ok
}

// backs returns the back lights of the person, as keys does.
func (p *Person) backs(light *facets) (backs []*Lamp, missing []string) {
	if light == nil {
		return p.aimedHere("back")
	}
	key := 0.0
	for _, a := range light.face {
		if a.lamp.Purpose == "key" || a.lamp.Purpose == "" && light.role(a) == photometry.RoleKey {
			key += a.lux
		}
	}
	sum := 0.0
	for _, a := range light.shoulder {
		if light.role(a) != photometry.RoleBack {
			continue
		}
		sum += a.lux
		if a.lux >= leastShare*key {
			backs = append(backs, a.lamp)
		}
	}
	p.BackLux = &sum
	if key > 0 {
		p.BackRatio = known(sum / key)
	} else {
		p.lacks("back_key_ratio", fmt.Sprintf("a key light that is lit on %s", p.Place))
	}
	return backs, nil
}

func (p *Person) measureBack(r *rig, light *facets) {
	backs, missing := p.backs(light)
	if p.BackRatio != nil && *p.BackRatio > 0 {
		turns, ok := turned(backs, 1 / *p.BackRatio)
		p.BacksToTurn, p.BacksReach = turns, &ok
	} else {
		p.lacks("backs_can_reach", fmt.Sprintf("a back light that is lit on %s", p.Place))
	}
	for _, phrase := range missing {
		p.lacks("back_count", phrase)
	}
	if len(missing) == 0 {
		p.BackCount = known(len(backs))
	}
	var dark []int
	for _, f := range r.show.Patch {
		if f.Purpose != "back" {
			continue
		}
		state := p.look.look.State(f.Channel)
		if aim := aimOf(f, state); state.Level <= 0 && aim != nil && aim.Name == p.place {
			p.BackLamps = append(p.BackLamps, r.lamp(p.look.look, f, state))
			dark = append(dark, f.Channel)
		}
	}
	p.BackText = schema.FormatChannels(dark)
	p.findSpareBack(r)
	p.measureBackground(r)
}

// findSpareBack looks for a back light that serves nobody: aimed at a place where
// nobody ever stands, or at nothing. That it can light this place is for the
// proof to say.
func (p *Person) findSpareBack(r *rig) {
	for _, f := range r.show.Patch {
		if f.Purpose != "back" || f.AimedAt != nil && (f.AimedAt.Point != nil || r.occupied[f.AimedAt.Name]) {
			continue
		}
		p.SpareBack = &Fixture{fixture: f, Channel: f.Channel}
		p.SpareLamp = r.lamp(p.look.look, f, p.look.look.State(f.Channel))
		return
	}
}

func (p *Person) measureBackground(r *rig) {
	if p.BackdropStops != nil {
		p.Background = known(*p.BackdropStops <= darkStops)
		p.BackName = p.backdropName(r)
		return
	}
	lack := func(format string, args ...any) { p.lacks("background_is_dark", fmt.Sprintf(format, args...)) }
	place := r.places[p.place]
	if place == nil {
		lack("the place %q in the room", p.place)
		return
	}
	if place.Background == "" {
		lack("the background of the place %q: the surface that the cameras see behind it", p.place)
		return
	}
	p.BackName = place.Background
	surface := r.surfaces[place.Background]
	switch {
	case surface == nil:
		lack("the surface %q in the room", place.Background)
	case surface.Kind == "emissive":
		p.Background = known(false)
	case surface.Reflectance == nil:
		lack("the reflectance of the surface %q", surface.Name)
	default:
		p.Background = known(*surface.Reflectance < darkReflectance)
	}
}

// backdropName is the surface behind the place: as the room names it, or as the
// first camera that sees one.
func (p *Person) backdropName(r *rig) string {
	if place := r.places[p.place]; place != nil && place.Background != "" {
		return place.Background
	}
	return "what is behind"
}

// compareFaces compares the light on the faces of a look.
func (l *Look) compareFaces(people []*Person) {
	l.People = len(people)
	var dimmest, brightest *Person
	for _, p := range people {
		if p.FaceLux == nil {
			for _, phrase := range p.Why("face_lx") {
				l.lacks("face_range_stops", phrase)
			}
			continue
		}
		if dimmest == nil || clearly(*dimmest.FaceLux, *p.FaceLux) {
			dimmest = p
		}
		if brightest == nil || clearly(*p.FaceLux, *brightest.FaceLux) {
			brightest = p
		}
	}
	l.dimmest = dimmest
	if len(l.Why("face_range_stops")) > 0 || dimmest == nil {
		return
	}
	stops, ok := photometry.Stops(*brightest.FaceLux, *dimmest.FaceLux)
	if !ok {
		l.lacks("face_range_stops", fmt.Sprintf("light on every face in cue %s", l.Number))
		return
	}
	l.FaceRange = &stops
	l.Dimmest, l.Brightest = dimmest.Place, brightest.Place
	var keys []*Lamp
	for _, turn := range dimmest.KeysToTurn {
		keys = append(keys, turn.Lamp)
	}
	if turns, ok := turned(keys, *brightest.FaceLux / *dimmest.FaceLux); ok {
		l.DimKeys = turns
	}
}

// measureHeld finds the colours that stay on somebody for a whole segment.
func measureHeld(people []*Person) {
	type stay struct{ place, segment string }
	byStay := map[stay][]*Person{}
	for _, p := range people {
		key := stay{p.Place, p.Segment}
		byStay[key] = append(byStay[key], p)
	}
	for _, list := range byStay {
		hue := list[0].shoulderHue
		var missing []string
		for _, p := range list {
			if p.shoulderHue != hue {
				hue = ""
			}
			missing = append(missing, p.Why("face_lx")...)
		}
		duration := list[0].look.look.Segment.DurationS
		for _, p := range list {
			switch {
			case len(missing) > 0: // light that is unknown may be coloured
				for _, phrase := range missing {
					p.lacks("held_hue_s", phrase)
				}
			case hue == "":
				p.HeldS = known(0.0)
			case duration == nil || *duration < 0:
				p.lacks("held_hue_s", fmt.Sprintf("the duration of the segment %q", p.Segment))
			default:
				p.HeldHue, p.HeldS = hue, duration
			}
		}
	}
}
