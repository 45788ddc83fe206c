package facts

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Person is somebody on a place in a look.
type Person struct {
	unknowns
	look        *Look
	againstBest bool // no camera tells how dark the face is: it is held against the best-lit one

	Place     string   `expr:"place"`            // the place
	Number    string   `expr:"cue"`              // the number of the look's cue; where a segment begins before its first cue, of that one
	Segment   string   `expr:"segment"`          // the segment
	LateS     float64  `expr:"late_s"`           // how long after the beginning of the segment that cue is called, where this is the light before it; else 0
	DarkStops *float64 `expr:"dark_stops"`       // how far what a camera sees of the head is under what the most open camera is set for; without one, under the best-lit face of the show, or what a face needs to be lit at all if that is more
	LookDrift *float64 `expr:"look_drift_mired"` // how much of full_drift_mired is warmer than the white on the faces of the show mostly is
	HeldHue   string   `expr:"held_hue"`         // the strong colour that is on head and shoulders in every look of the segment, or ""
	HeldS     *float64 `expr:"held_hue_s"`       // for how long, in seconds; 0 if there is none
	BackText  string   `expr:"dark_back_text"`   // the back lights aimed at the place that are dark, as "31, 32"

	*personLight
}

// personLight is what was measured of somebody in one look alone; see [lookLight].
type personLight struct {
	shoulderHue string       // the colour that outweighs white on head and shoulders, or ""
	shownLux    float64      // on what the camera sees of the head
	lit         []share      // by the lamps of white that give more than a trace of it
	white       stage.White  // on the face, where full_drift_mired is known
	driftOff    stage.Off    // of the whites of its keys
	keyKind     *schema.Type // of all key lights aimed at it, where its light is not known and they are of one

	SegmentKind   string   `expr:"segment_kind"`                  // song, talk, prayer..., or ""
	Mood          string   `expr:"mood"`                          // quiet, middle, loud, or ""
	Leads         bool     `expr:"leads"`                         // whether the person speaks or leads, or nobody says who does
	ExposureSet   bool     `expr:"exposure_is_set"`               // whether there is a camera whose exposure is set by hand, or none is known
	CheekStops    *float64 `expr:"cheek_stops"`                   // from the darker to the brighter cheek
	Elevation     *float64 `expr:"light_half_deg"`                // the elevation from above which half of the white light on the face comes
	LowElevation  *float64 `expr:"light_quarter_deg"`             // the elevation from below which a quarter of it comes
	OffCamera     *float64 `expr:"light_within_deg"`              // the angle to either side of the camera within which nine tenths of it come, from no more than twice that above it
	SourceWidth   *float64 `expr:"source_width_deg"`              // how wide the widest of its lamps shines as seen from the face; taken as 0 if no lamp tells its opening
	Turned        *float64 `expr:"turned_deg"`                    // how far the person looks past the nearest camera; 0 if nobody says where the person looks
	FaceSeen      bool     `expr:"face_is_seen"`                  // whether a camera may see the face: nobody knows that the person looks away from all of them
	WhiteSet      bool     `expr:"camera_white_is_set"`           // whether there is a camera whose white is set by hand, or none is known
	KeyCount      *int     `expr:"key_count"`                     // lamps of white that give a share of the light on the face; without a room, key lights that are lit and aimed at it
	KeyLight      float64  `expr:"key_light_pct"`                 // where the light on the face is not known: the most of its full light that a key light gives which is aimed at it; else 100
	BackLight     float64  `expr:"back_light_pct"`                // where it is not known: the same of the back lights; else 100
	KeySpread     *float64 `expr:"key_spread_mired"`              // how far the whites on the face are apart, weighed by the light of each
	FullSpread    *float64 `expr:"key_spread_at_full_mired"`      // the same if no filament were dimmed
	WhiteSpread   *float64 `expr:"white_spread_mired"`            // the same with the light of the room itself, where somebody says what white it has
	WarmestK      *float64 `expr:"warmest_key_k"`                 // the lowest kelvin among them
	CoolestK      *float64 `expr:"coolest_key_k"`                 // the highest kelvin among them
	Warmest       string   `expr:"warmest_key"`                   // what has that, as "channels 11, 12" or, of ambient light, "the room itself"
	Coolest       string   `expr:"coolest_key"`                   // what has that
	WhiteKeys     int      `expr:"white_key_count"`               // how many of the keys make a white and not a colour
	KeyDuv        *float64 `expr:"key_duv"`                       // the Duv of the white on the face, from what that camera takes as white
	DuvSpread     *float64 `expr:"key_duv_spread"`                // how far the whites on the face are apart between green and pink, weighed by the light of each
	KeyCamera     *float64 `expr:"key_camera_mired"`              // largest difference between the white on the face and that of a camera
	CameraK       *float64 `expr:"camera_k"`                      // the white of that camera
	CameraName    string   `expr:"camera"`                        // that camera
	FullDrift     *float64 `expr:"full_drift_mired"`              // how much warmer than at full a dimmed filament is that gives the face a good part of its white; of all of them the most
	CameraPast    *float64 `expr:"camera_past_mired"`             // the same, or where whites meet on the face that are as far apart as that: how far the white of the camera is beyond the warmest and the coolest of them, 0 between them
	KeyDrift      *float64 `expr:"key_drift_mired"`               // how much of that is warmer than a camera is set for; of all cameras the most
	Meant         []string `expr:"meant"`                         // what is meant here by the cue, its segment and the place, as words of the vocabulary
	StageLit      bool     `expr:"stage_is_lit"`                  // whether any stage light is on in the look, or the people are to be seen without
	FaceLux       *float64 `expr:"face_lx"`                       // light on the face, towards the camera that sees most of it
	WantedLux     *float64 `expr:"wanted_lx"`                     // light that the camera of under_stops is set for (ISO 2720)
	Under         *float64 `expr:"under_stops"`                   // how far the face is under what a camera is set for; the worst camera
	UnderLux      *float64 `expr:"under_lx"`                      // the light on the face towards that camera
	UnderCamera   string   `expr:"under_camera"`                  // that camera
	Over          *float64 `expr:"over_stops"`                    // how far the face is over what a camera is set for; the worst camera
	OverLux       *float64 `expr:"over_lx"`                       // the light on the face towards that camera
	OverCamera    string   `expr:"over_camera"`                   // that camera
	StrongestKey  string   `expr:"strongest_key"`                 // the white lamp that gives the face the most light
	KeyElevation  *float64 `expr:"key_elevation_deg"`             // how high it stands, as seen from the face
	KeyAzimuth    *float64 `expr:"key_azimuth_deg"`               // how far to the side of the camera; positive to the right as the camera sees it
	ColouredShare *float64 `expr:"coloured_share"`                // coloured light as a part of all light of lamps on the face, 0 to 1
	FaceTint      *float64 `expr:"face_tint_de"`                  // CIEDE2000 between a sheet as bright as light skin in all light on the face and in as much of its white alone, to a camera set to that white
	FaceCCT       *float64 `expr:"face_cct_k"`                    // the correlated colour temperature of all light on the face
	FaceDuv       *float64 `expr:"face_duv"`                      // its Duv
	Backdrop      *float64 `expr:"background_cd_m2"`              // luminance of what the camera sees behind the person
	BackdropStops *float64 `expr:"background_stops"`              // how far that is over a face of 36 % reflectance; negative is darker
	BackLux       *float64 `expr:"back_lx"`                       // light from behind on head and shoulders
	BackRatio     *float64 `expr:"back_key_ratio"`                // that light over the light on the face, whatever its colour
	BackCamera    *float64 `expr:"back_camera_ratio"`             // that light over what the most open camera is set for
	BackCount     *int     `expr:"back_count"`                    // back lights that are lit and aimed at the place
	Background    *bool    `expr:"background_is_dark"`            // whether the cameras see a dark surface behind it
	BackKind      string   `expr:"background_kind"`               // emissive, projection, drape, wall, or "" if nobody knows what is behind
	OwnStops      *float64 `expr:"background_over_skin_stops"`    // how far the background is over the face with the skin that the place names, else over light skin
	DarkestStops  *float64 `expr:"background_over_darkest_stops"` // the same over the darkest skin that may stand there
	BesideLight   *float64 `expr:"bright_over_light_skin_stops"`  // of what is behind and the screens beside, whatever is brightest: how far it is over the face of light skin; unknown too where the place tells the skin, or the face is not lit
	BesideDarkest *float64 `expr:"bright_over_dark_skin_stops"`   // the same over one of dark skin
	BesideName    string   `expr:"bright_thing"`                  // that surface
	ClothesOver   *float64 `expr:"clothes_over_white_stops"`      // how far what the person wears is over white for the most open camera: a matt white sheet in the light that it is set for
	BehindOver    *float64 `expr:"background_over_white_stops"`   // the same of the background
	WhiteCamera   string   `expr:"white_camera"`                  // that camera
	Clothing      string   `expr:"clothing"`                      // what the place says that the person wears, or ""
	Separation    *float64 `expr:"separation_de"`                 // CIEDE2000 between hair and shoulders in the light from behind and the background, in the picture of the camera that sees the face
	SepDarkest    *float64 `expr:"separation_darkest_de"`         // the same of the darkest skin that may stand there
	LightApart    *float64 `expr:"separation_light_de"`           // the same of their lightness alone
	ColourApart   *float64 `expr:"separation_colour_de"`          // the same of their chroma and hue alone
	BehindL       *float64 `expr:"background_lightness"`          // the lightness (CIE L*, 0 to 100) of the background in that picture
	BehindC       *float64 `expr:"background_chroma"`             // its chroma (CIE C*ab)
	BackName      string   `expr:"background"`                    // that surface
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
func (p *Person) Ref() source.Ref {
	if p.LateS > 0 {
		return p.look.late.Ref()
	}
	return p.look.Ref()
}

// waitsInLight reports whether somebody whose light comes late has some before it.
func (p *Person) waitsInLight() bool { return p.LateS > 0 && !p.isInTheDark() }

func (p *Person) isInTheDark() bool {
	if p.FaceLux == nil {
		return p.KeyCount != nil && *p.KeyCount == 0
	}
	return p.DarkStops == nil || *p.DarkStops > darkFace
}

// LateCue is the part of the first cue of the segment that says when it is called, where
// that is so late that this is the light before it; nil otherwise.
func (p *Person) LateCue() *Cue {
	return p.look.late.lateBy(p.LateS, isCalledLate)
}

// DelayedCue is likewise the part that waits before its light moves, where that is longer.
func (p *Person) DelayedCue() *Cue {
	return p.look.late.lateBy(p.LateS, isDelayed)
}

// meantAt returns what is done on purpose at a place in a look.
func meantAt(show *schema.Show, look *tracking.Look, place string) []string {
	words := look.Meant(place)
	if show.Room == nil {
		return words
	}
	for _, p := range show.Room.Places {
		for i := range p.Meant {
			if p.Name == place && !slices.Contains(words, p.Meant[i].Intent) {
				words = append(words, p.Meant[i].Intent)
			}
		}
	}
	return words
}

// peopleAndScreens measures the people in a look, and the screens beside them.
func peopleAndScreens(s *stage.Room, lit *stage.LookLight, look *Look) ([]*Person, []*Showing) {
	places := lit.People()
	if look.passes {
		places = nil
	}
	look.fillWalks(s, lit)
	if len(places)+len(look.early) == 0 {
		look.lackAll([]string{"face_range_stops", "others_apart_stops", "waiting_count"}, "people on stage in "+thisOne)
		return nil, nil
	}
	missing := s.Light(lit)
	leads, said := lit.Leads()
	screens, _, _ := stage.ScreenLight(s.Rig, look.look)
	stageLit := len(lit.Lamps) > 0 || screens
	people := make([]*Person, 0, len(places)+len(look.early))
	add := func(place string, of *tracking.Look, segment *schema.Segment, leads bool) *Person {
		p := &Person{
			look: look, Place: place, Number: look.Number,
			personLight: &personLight{
				Meant: meantAt(s.Rig.Show, of, place), StageLit: stageLit, Leads: leads, ExposureSet: true, FaceSeen: true, WhiteSet: s.Rig.SetsWhite(),
			},
		}
		if segment != nil {
			p.Segment, p.SegmentKind, p.Mood = segment.Name, segment.Kind, segment.Mood
		}
		f := s.FaceOn(lit, place, missing)
		p.fillFace(s, f)
		p.fillKeys(s, f)
		p.fillBack(s, f)
		people = append(people, p)
		return p
	}
	for _, place := range places {
		p := add(place, look.look, look.look.Segment, slices.Contains(leads, place))
		if !stageLit {
			p.withoutStageLight(lit)
		}
		p.restOnSet(s, lit)
	}
	for _, place := range look.early {
		if !slices.Contains(places, place) {
			p := add(place, look.late.look, look.earlyIn, true) // they belong to what comes, whatever is meant before
			p.Number, p.LateS, p.StageLit = look.late.Number, look.lateS, true
		}
	}
	var showings []*Showing
	if len(places) == 0 {
		look.lackAll([]string{"face_range_stops", "others_apart_stops", "waiting_count"}, "people on stage in "+thisOne)
	} else {
		look.compareFaces(people[:len(places)], said)
		look.fillWaiting(s, lit, missing)
		showings = showingsOf(s, lit, look, missing)
	}
	for _, p := range people {
		p.fillBeside(showings)
	}
	return people, showings
}

// besideFacts are about what is brightest about somebody.
var besideFacts = []string{"bright_over_light_skin_stops", "bright_over_dark_skin_stops"}

// fillBeside finds what is brightest about somebody of whom nobody says what skin they have.
func (p *Person) fillBeside(showings []*Showing) {
	skin, darkest := p.look.back.rig.SkinOf(p.Place)
	if skin == darkest || p.FaceLux == nil || p.DarkStops != nil && *p.DarkStops > darkFace {
		p.lackAll(besideFacts, fmt.Sprintf("light on a face on %s of which nobody tells the skin", p.Place))
		return
	}
	var basis finding.Basis
	brighter := func(stops *float64, of string, b finding.Basis) {
		if stops != nil && (p.BesideDarkest == nil || *stops > *p.BesideDarkest) {
			p.BesideDarkest, p.BesideName, basis = stops, of, b
		}
	}
	if p.BackKind != "emissive" && p.BackKind != "projection" {
		brighter(p.DarkestStops, p.BackName, p.Basis("background_over_darkest_stops"))
	}
	for _, s := range showings {
		if s.Face == p.Place {
			brighter(s.OverDarkest, s.ScreenName, s.Basis("over_darkest_stops"))
		}
	}
	if p.BesideDarkest == nil {
		p.lackAll(besideFacts, fmt.Sprintf("something that is known to be bright beside %s", p.Place))
		return
	}
	p.BesideLight = new(*p.BesideDarkest - math.Log2(skin/darkest))
	basis.Range, basis.Missing = nil, nil
	for _, fact := range besideFacts {
		p.rests(fact, basis)
	}
}

// SkinsOver names the skins of whose faces what is brightest is more than a number of stops over.
func (p *Person) SkinsOver(maxStops float64) string {
	if p.BesideLight != nil && *p.BesideLight+math.Log2(stage.Skin/stage.MediumSkin) > maxStops {
		return "brown or dark skin"
	}
	return "dark skin"
}

// withoutStageLight tells whether somebody is to be seen though no stage light is on: a cue names
// its people, or they are named in a part in which people speak, and lamps of the set are on.
func (p *Person) withoutStageLight(lit *stage.LookLight) {
	p.StageLit = slices.ContainsFunc(lit.Resolved.Parts, func(part *schema.Cue) bool { return len(part.People) > 0 }) ||
		slices.ContainsFunc(lit.Others, ofTheSet) && evening.Speaks(p.SegmentKind)
}

func ofTheSet(lamp *stage.Lamp) bool { return lamp.Purpose == "practical" }

// restOnSet says so where a lamp of the set may light a face of which nobody knows what it gives: one beside it, and where
// no stage light is on, any.
func (p *Person) restOnSet(s *stage.Room, lit *stage.LookLight) {
	for _, lamp := range lit.Others {
		if ofTheSet(lamp) && (lamp.Missing != "" || lamp.Beam == nil || lamp.Beam.Missing != "") && (len(lit.Lamps) == 0 || s.Beside(lamp, p.Place)) {
			as := finding.Basis{Known: finding.Assumed, Rests: []string{fmt.Sprintf("little light from the lamp of the set on channel %d, since nobody knows how much it gives", lamp.Channel)}}
			for _, fact := range []string{"face_lx", "dark_stops", "under_stops", "key_count"} {
				p.rests(fact, as)
			}
			return
		}
	}
}

// waitingPart is the part of what a camera is set for from which light stands on a
// place rather than falls there by the way. Common practice, no source.
const waitingPart = 0.5

// landsWhereAimed is what is taken for a key light where nobody knows what arrives.
const landsWhereAimed = "key lights that land where they are aimed, since nobody knows all that arrives there"

// fillWaiting tells where key light stands and nobody is, while somebody is elsewhere.
func (l *Look) fillWaiting(s *stage.Room, lit *stage.LookLight, missing []string) {
	wait := s.Waiting
	if len(missing) > 0 {
		wait = s.WaitingByAim
	}
	places := slices.DeleteFunc(wait(lit, waitingPart), func(place string) bool {
		return slices.Contains(l.coming, place) || slices.Contains(meantAt(s.Rig.Show, l.look, place), "empty-place-lit")
	})
	if len(missing) > 0 {
		if len(places) == 0 {
			l.lacks("waiting_count", missing...)
			return
		}
		l.rests("waiting_count", finding.Basis{Known: finding.Inferred, Rests: []string{landsWhereAimed}})
	}
	l.WaitingCount, l.WaitingText = new(len(places)), spelling.List(places)
}

// fillWalks tells how dark the way is that somebody walks. Where nobody says whether anybody
// does, people who leave a place or come to it with the next cue walk a path that ends there.
func (l *Look) fillWalks(s *stage.Room, lit *stage.LookLight) {
	paths, said := lit.Walks()
	movers := l.moving
	if said || s.Rig.Show.Room == nil || len(s.Rig.Show.Room.Paths) == 0 {
		movers = nil
	}
	if len(paths)+len(movers) > 0 {
		if missing := s.Light(lit); len(missing) > 0 {
			if len(paths) > 0 {
				l.Walked = paths[0]
			}
			l.lacks("walk_lx", missing...)
			return
		}
	}
	if evening.Speaks(l.SegmentKind) && s.Rig.Show.Room != nil {
		l.WalkDip, l.DipPath = s.DarkestFace(lit, paths)
	}
	walk, ok := s.DarkestWalk(lit, paths)
	if !ok {
		var place string
		if walk, place, ok = s.LikelyWalk(lit, movers); ok {
			as := finding.Basis{Known: finding.Inferred, Rests: []string{fmt.Sprintf("somebody walking to or from %s in %s, since people change there", place, thisOne)}}
			l.rests("walk_lx", as)
			l.WalkInferred = true
		}
	}
	switch {
	case walk.Missing != "":
		l.Walked = walk.Path
		l.lacks("walk_lx", walk.Missing)
	case ok:
		l.WalkLux, l.Walked = &walk.Lux, walk.Path
	case len(l.moving) > 0 && !said && s.Rig.Show.Room != nil && !slices.ContainsFunc(lit.Others, func(lamp *stage.Lamp) bool { return lamp.Purpose == "house" }):
		l.UnseenWay, l.HouseLux = true, s.Rig.AmbientAt(lit, "").Lux
		l.lacks("walk_lx", "the paths by which people walk to their places and away (paths of the room)")
	default:
		l.lacks("walk_lx", "a path that somebody walks in "+thisOne)
	}
}

// separationFacts need the background, and a light to take a picture by.
var separationFacts = []string{"separation_de", "separation_darkest_de", "separation_light_de", "separation_colour_de", "background_lightness", "background_chroma"}

// lightApart and colourApart are the two parts of a difference in a picture: the one at no
// chroma, the other at the lightness in the middle.
func lightApart(a, b colour.Lab) float64 {
	d, _ := colour.DeltaE2000(colour.Lab{L: a.L}, colour.Lab{L: b.L})
	return d
}

func colourApart(a, b colour.Lab) float64 {
	a.L = (a.L + b.L) / 2
	b.L = a.L
	d, _ := colour.DeltaE2000(a, b)
	return d
}

// exposureFacts are about the worst camera: unknown if one of the cameras is.
var exposureFacts = []string{"under_stops", "over_stops", "wanted_lx", "under_lx", "over_lx"}

// fillFace tells of the light on the face and what is behind it.
func (p *Person) fillFace(s *stage.Room, f *stage.Face) {
	if len(f.Missing) > 0 {
		p.lackAll(exposureFacts, f.Missing...)
		p.lackAll([]string{
			"face_lx", "key_elevation_deg", "key_azimuth_deg", "back_lx", "back_key_ratio", "back_camera_ratio",
			"coloured_share", "face_tint_de", "face_cct_k", "face_duv", "background_stops", "background_cd_m2",
			"background_over_skin_stops", "background_over_darkest_stops", "background_over_white_stops", "clothes_over_white_stops", "dark_stops", "cheek_stops", "light_half_deg", "light_quarter_deg", "light_within_deg", "source_width_deg", "turned_deg",
		}, f.Missing...)
		p.lackAll(separationFacts, f.Missing...)
		return
	}
	p.FaceLux, p.shownLux = &f.Lux, s.Shown(f)
	p.restOnHouse(s.House(f))
	if aside := f.Aside(); len(aside) > 0 {
		p.restOn(finding.Basis{Known: finding.Assumed, Rests: aside}, sidedFacts, facedFacts)
	}
	e := s.ExposuresOf(f)
	p.ExposureSet = e.Asked
	p.restOnWandering([]string{"under_stops", "over_stops"}, e.Wanders)
	p.Turned, p.FaceSeen = new(f.Turned()), f.Turned() <= stage.ProfileDeg
	p.restOnWandering([]string{"turned_deg"}, s.Elsewhere(f))
	p.fillModelling(s, f)
	if e.Known {
		p.lacksPart("under_stops", e.Missing...)
		p.lacksPart("over_stops", e.Missing...)
		p.Under, p.WantedLux, p.UnderLux, p.UnderCamera = new(-e.Under.Stops), &e.Under.Wanted, &e.Under.Lux, e.Under.Camera
		p.Over, p.OverLux, p.OverCamera = &e.Over.Stops, &e.Over.Lux, e.Over.Camera
	} else {
		p.lackAll(exposureFacts, e.Missing...)
	}
	if floor, ok := s.FloorLux(f); ok {
		p.DarkStops = new(stopsUnder(p.shownLux, floor))
	}
	light := f.Made()
	dark := fmt.Sprintf("light on the face on %s", p.Place)
	p.ColouredShare, p.FaceCCT, p.FaceDuv = &light.Coloured, light.CCT, light.Duv
	if p.FaceCCT == nil {
		p.lackAll([]string{"face_cct_k", "face_duv"}, dark)
	}
	angles := []string{"key_elevation_deg", "key_azimuth_deg"}
	if light.Strongest == nil {
		p.lackAll(angles, dark)
	} else if p.StrongestKey = newLamp(light.Strongest).Label(); light.Bearing == nil {
		p.lackAll(angles, fmt.Sprintf("a position of the fixture on channel %d that is not on the person", light.Strongest.Channel))
	} else {
		p.KeyElevation, p.KeyAzimuth = &light.Bearing.ElevationDeg, &light.Bearing.AzimuthDeg
	}
	if tint, ok := s.TintOf(f); ok {
		p.FaceTint = &tint
	} else {
		p.lacks("face_tint_de", fmt.Sprintf("white light on the face on %s", p.Place))
	}
	if len(f.BackMissing) == 0 {
		p.shoulderHue = f.ShoulderHue()
	}
	behind := s.BackdropOf(f)
	p.Backdrop, p.BackdropStops, p.BackKind = behind.Nits, behind.Stops, behind.Kind
	overSkin := []string{"background_over_skin_stops", "background_over_darkest_stops"}
	if behind.Stops != nil {
		skin, darkest := s.Rig.SkinOf(p.Place)
		p.OwnStops, p.DarkestStops = new(*behind.Stops-math.Log2(skin/stage.Skin)), new(*behind.Stops-math.Log2(darkest/stage.Skin))
	} else if p.lackAll(overSkin, behind.Missing); behind.Missing == "" {
		p.lackAll(overSkin, fmt.Sprintf("light on the face on %s and on the background", p.Place))
	}
	p.BackName = behind.Name
	p.fillOverWhite(s.Rig, behind)
	p.fillBetween(s, f)
	if sep, ok := s.SeparationOf(f, behind); len(f.BackMissing) > 0 {
		p.lackAll(separationFacts, f.BackMissing...)
	} else if ok {
		p.Separation, p.SepDarkest = &sep.DeltaE, &sep.Darkest
		p.LightApart, p.ColourApart = new(lightApart(sep.Rim, sep.Behind)), new(colourApart(sep.Rim, sep.Behind))
		p.BehindL, p.BehindC = new(sep.Behind.L), new(math.Hypot(sep.Behind.A, sep.Behind.B))
	} else if p.lackAll(separationFacts, behind.Missing); behind.Missing == "" {
		p.lackAll(separationFacts, fmt.Sprintf("light on the face on %s", p.Place))
	}
	if behind.Missing != "" {
		p.lackAll([]string{"background_stops", "background_cd_m2"}, behind.Missing)
	} else if behind.Stops == nil {
		p.lacks("background_stops", fmt.Sprintf("light on the face on %s and on the background", p.Place))
	}
}

// fillOverWhite holds what the person wears and what is behind against what the cameras are
// set for, whatever the face does.
func (p *Person) fillOverWhite(r *stage.Rig, behind stage.Backdrop) {
	e := r.WhiteExposure(r.Room.PastPlace(p.Place))
	p.WhiteCamera = e.Camera
	p.lackAll([]string{"clothes_over_white_stops", "background_over_white_stops"}, e.Missing...)
	if cloth, told := r.ClothingOf(p.Place); !told {
		p.lacks("clothes_over_white_stops", fmt.Sprintf("what somebody on %s wears", p.Place))
	} else if len(e.Missing) == 0 {
		p.Clothing, p.ClothesOver = r.Places[p.Place].Clothing, new(e.OverWhite(*p.FaceLux*cloth/math.Pi))
	}
	if behind.Nits == nil {
		p.lacks("background_over_white_stops", behind.Missing)
	} else if len(e.Missing) == 0 {
		p.BehindOver = new(e.OverWhite(*behind.Nits))
	}
}

// Facts that nobody knows for sure who does not know where the cameras stand, and those that
// are sure all the same where somebody says which way the person looks.
var (
	sidedFacts = []string{
		"light_within_deg", "key_azimuth_deg", "back_lx", "back_key_ratio", "back_camera_ratio", "back_count", "held_hue_s", "background_is_dark", "background_cd_m2",
		"background_stops", "background_over_skin_stops", "background_over_darkest_stops", "background_over_white_stops",
		"separation_de", "separation_darkest_de", "separation_light_de", "separation_colour_de", "background_lightness", "background_chroma",
	}
	facedFacts = []string{
		"cheek_stops", "light_half_deg", "light_quarter_deg", "coloured_share", "face_tint_de",
		"key_count", "key_spread_mired", "white_spread_mired", "key_camera_mired", "key_duv", "key_duv_spread", "full_drift_mired",
	}
)

// betweenFacts are faced ones with a range; see [Person.fillBetween].
var betweenFacts = []string{"face_lx", "dark_stops", "under_stops", "over_stops", "clothes_over_white_stops"}

// restOn says of all facts of some lists what they rest on.
func (p *Person) restOn(as finding.Basis, lists ...[]string) {
	for _, list := range lists {
		for _, fact := range list {
			p.rests(fact, as)
		}
	}
}

// fromTheHouse is what a face rests on that is measured as from the house.
const fromTheHouse = "cameras straight in front, since nobody says where they stand"

// restOnHouse says of a face that is measured as from the house what that is.
func (p *Person) restOnHouse(house, anyWay bool) {
	if !house {
		return
	}
	as := finding.Basis{Known: finding.Assumed, Rests: []string{fromTheHouse}}
	if p.restOn(as, []string{"turned_deg"}, sidedFacts); anyWay {
		p.restOn(as, betweenFacts, facedFacts)
	}
}

// restOnWandering says of facts that they rest on where a camera looks that is carried about; "" is none.
func (p *Person) restOnWandering(facts []string, camera string) {
	if camera != "" {
		p.restOn(finding.Basis{Known: finding.Inferred, Rests: []string{wandering(camera)}}, facts)
	}
}

func wandering(camera string) string {
	return fmt.Sprintf("what the camera %q shows, which is carried about", camera)
}

// blackStops stands for a face with no light on it: beyond the range of any camera of
// today. Common practice, no source.
const blackStops = 16

// stopsUnder is how far a light is under another, at most blackStops.
func stopsUnder(lux, wanted float64) float64 {
	stops, ok := photometry.Stops(wanted, lux)
	if !ok {
		return blackStops
	}
	return min(stops, blackStops)
}

// fillModelling tells from where the white light on the face comes.
func (p *Person) fillModelling(s *stage.Room, f *stage.Face) {
	around, measured := f.Around(s)
	left, right := stage.Cheeks(f.Rays(s, false), around)
	p.CheekStops = new(stopsUnder(min(left, right), max(left, right)))
	if max(left, right) <= 0 {
		p.CheekStops = new(0.0)
	}
	if !measured {
		p.rests("cheek_stops", finding.Basis{Known: finding.Assumed, Rests: []string{"a twentieth of the light on the face coming back from floor, walls and the hall"}})
	}
	rays := f.Rays(s, true)
	dark := fmt.Sprintf("white light on the face on %s", p.Place)
	half, ok := stage.ElevationOf(rays, 0.5)
	if !ok {
		p.lackAll([]string{"light_half_deg", "light_quarter_deg", "light_within_deg", "source_width_deg"}, dark)
		return
	}
	quarter, _ := stage.ElevationOf(rays, 0.25)
	within, _ := stage.WithinOf(rays, 0.9)
	width, most := stage.WidestOf(rays, 0.25)
	p.Elevation, p.LowElevation, p.OffCamera, p.SourceWidth = &half, &quarter, &within, &width
	if most > width {
		p.rests("source_width_deg", finding.Basis{Known: finding.Assumed, Range: &finding.Range{Low: width, High: most}, Rests: []string{"a small opening of the lamps in front, since nobody says it (opening_m)"}})
	}
}

// fillBetween says between what the light on the face lies where something of it is assumed.
func (p *Person) fillBetween(s *stage.Room, f *stage.Face) {
	low, high, rests := f.Between()
	if len(rests) == 0 {
		return
	}
	assume := func(fact string, low, high float64) {
		p.rests(fact, finding.Basis{Known: finding.Assumed, Rests: rests, Range: &finding.Range{Low: low, High: high}})
	}
	assume("face_lx", low, high)
	if !(f.Lux > 0) { // no light is over or under anything by a number of stops
		if floor, ok := s.FloorLux(f); ok {
			assume("dark_stops", min(*p.DarkStops, stopsUnder(high, floor)), *p.DarkStops)
		}
		return
	}
	up, down := math.Log2(high/f.Lux), blackStops+0.0
	if low > 0 {
		down = math.Log2(f.Lux / low)
	}
	for fact, value := range map[string]*float64{"under_stops": p.Under, "dark_stops": p.DarkStops} {
		if value != nil {
			assume(fact, *value-up, *value+down)
		}
	}
	for fact, value := range map[string]*float64{"over_stops": p.Over, "clothes_over_white_stops": p.ClothesOver} {
		if value != nil {
			assume(fact, *value-down, *value+up)
		}
	}
}

// fillDark says how far faces are in the dark where no camera tells: against the best-lit face of the show, and where
// that is dim itself, against what a face needs to be lit at all.
func fillDark(people []*Person) {
	best := 0.0
	for _, p := range people {
		if p.FaceLux != nil {
			best = max(best, *p.FaceLux)
		}
	}
	for _, p := range people {
		p.againstBest = p.DarkStops == nil && p.FaceLux != nil
		switch {
		case !p.againstBest:
		case best > 0:
			wanted := max(best, stage.LeastLit)
			p.DarkStops = new(stopsUnder(p.shownLux, wanted))
			b := p.Basis("face_lx")
			low, high := p.shownLux, p.shownLux
			if b.Range != nil && p.FaceSeen {
				low, high = b.Range.Low, b.Range.High
			}
			if wanted > best {
				b = b.And(finding.Basis{Known: finding.Assumed, Rests: []string{"20 lx as about the least by which a face can be told, since no camera says what it needs"}})
			}
			if b.Range != nil || wanted > best {
				b.Range = &finding.Range{Low: stopsUnder(high, best), High: stopsUnder(low, wanted)}
			}
			p.rests("dark_stops", b)
		default:
			p.lacks("dark_stops", "a face that is lit, or a camera whose exposure is set")
		}
	}
}

// keyFacts are the facts that need the white of every key light of the place.
var keyFacts = []string{
	"key_spread_mired", "key_spread_at_full_mired", "white_spread_mired", "warmest_key_k", "coolest_key_k", "key_camera_mired", "key_duv", "key_duv_spread", "camera_k", "camera_past_mired",
	"key_drift_mired", "full_drift_mired", "look_drift_mired",
}

// share is the part of the light on a face that one line of the patch gives.
type share struct {
	line int32
	part float32
}

// fillKeys tells of the key lights and their whites.
func (p *Person) fillKeys(s *stage.Room, f *stage.Face) {
	if len(f.Missing) == 0 {
		f.Shares(func(line int, part float64) {
			if part >= stage.LeastShare {
				p.lit = append(p.lit, share{int32(line), float32(part)})
			}
		})
	}
	keys, missing := f.Keys()
	if p.KeyLight, p.BackLight = 100, 100; len(f.Missing) > 0 {
		p.KeyLight, p.BackLight, p.keyKind = f.AimedPct("key"), f.AimedPct("back"), f.AimedKind()
		if part := f.AimedColour(); part > 0 { // white may be all that lands, but not all that does
			p.ColouredShare = &part
			p.rests("coloured_share", finding.Basis{Known: finding.Inferred, Rests: []string{landsWhereAimed}})
		}
	}
	p.lacks("key_count", missing...)
	if len(missing) == 0 {
		p.KeyCount = new(len(keys))
	}
	whites, lack := stage.WhitesOf(keys)
	missing = append(missing, lack...)
	if len(whites.Lamps)+len(whites.Glowing) == 0 && len(missing) == 0 {
		missing = append(missing, fmt.Sprintf("a key light of white that is lit on %s", p.Place))
	}
	if len(missing) > 0 {
		p.lackAll(keyFacts, missing...)
		return
	}
	p.WhiteKeys = len(whites.Lamps) + len(whites.Glowing)
	for _, lamp := range whites.Glowing {
		p.FullDrift, p.KeyDrift = &whites.Drift, &whites.Drift // no camera is set for so warm a white
		for _, fact := range keyFacts {
			if fact != "key_drift_mired" && fact != "full_drift_mired" {
				p.lacks(fact, glowing(lamp))
			}
		}
	}
	if len(whites.Glowing) > 0 {
		return
	}
	p.WarmestK, p.CoolestK, p.KeyDuv = &whites.Low, &whites.High, &whites.Duv
	p.KeySpread = new(1e6/whites.Low - 1e6/whites.High)
	p.FullSpread, p.WhiteSpread, p.DuvSpread = &whites.FullMired, p.KeySpread, &whites.DuvApart
	alike := false // taken to give as much each
	white := stage.White{Mired: (1e6/whites.Low + 1e6/whites.High) / 2, Duv: whites.Duv, DriftMired: whites.Drift}
	if len(f.Missing) == 0 {
		rays := f.Rays(s, true)
		p.KeySpread, p.DuvSpread = new(stage.WhiteSpread(rays)), new(stage.DuvSpread(rays))
		p.FullSpread = p.KeySpread
		if whites.Drift > 0 {
			p.FullSpread = new(stage.WhiteSpread(stage.Undimmed(rays)))
		}
		p.WhiteSpread = p.KeySpread
		if f.RoomWhite() {
			rays = f.Whites(s)
			p.WhiteSpread = new(stage.WhiteSpread(rays))
		}
		if mean, ok := stage.MeanWhite(rays); ok {
			white = mean
		}
		white.Dimmed = stage.DimmedOf(rays)
	} else {
		for _, lamp := range whites.Lamps {
			filament := lamp.Kind.Source == "tungsten"
			white.Dimmed = append(white.Dimmed, stage.Ray{Kelvin: *lamp.CCT, DriftMired: *lamp.Drift, Filament: filament})
			white.Filament = filament && (len(white.Dimmed) == 1 || white.Filament)
		}
		alike = len(whites.Lamps) > 1
	}
	p.Warmest, p.Coolest = schema.ChannelWords(stage.ChannelNumbers(whites.Having(whites.Low))), schema.ChannelWords(stage.ChannelNumbers(whites.Having(whites.High)))
	if ambient := f.Ambient; len(f.Missing) == 0 && f.RoomWhite() {
		if *ambient.Kelvin < whites.Low {
			p.WarmestK, p.Warmest = ambient.Kelvin, "the room itself"
		}
		if *ambient.Kelvin > whites.High {
			p.CoolestK, p.Coolest = ambient.Kelvin, "the room itself"
		}
	}
	p.fillCamera(s.Rig, white)
	p.fillPast()
	if alike {
		as := finding.Basis{Known: finding.Inferred, Rests: []string{"as much light from each lamp that points there, since nobody knows how much arrives"}}
		for _, fact := range []string{"key_spread_mired", "white_spread_mired", "key_duv_spread"} {
			p.rests(fact, as)
		}
		if p.KeyCamera != nil && *p.KeySpread > 0 { // it may be the white of either alone
			as.Range = &finding.Range{Low: max(0, *p.KeyCamera-*p.KeySpread/2), High: *p.KeyCamera + *p.KeySpread/2}
			p.rests("key_camera_mired", as)
			as.Range = &finding.Range{Low: p.pastWhites(), High: as.Range.High}
			p.rests("camera_past_mired", as)
		}
	}
	p.driftOff = whites.DriftOff
	p.restOnDrift("key_spread_mired", p.KeySpread)
	p.restOnDrift("white_spread_mired", p.WhiteSpread)
	p.restOnDrift("key_camera_mired", p.KeyCamera)
	p.restOnDrift("camera_past_mired", p.CameraPast)
	p.restOnDrift("full_drift_mired", p.FullDrift)
	p.restOnDrift("key_drift_mired", p.KeyDrift)
}

// restOnDrift records how far mired may be off because nobody says what the dimmers of filaments do.
func (p *Person) restOnDrift(fact string, mired *float64) {
	off := p.driftOff
	if mired == nil || off.By == 0 {
		return
	}
	p.rests(fact, finding.Basis{Known: finding.Assumed, Rests: []string{off.Rests}, Range: &finding.Range{Low: max(0, *mired-off.By), High: *mired + off.By}})
}

// pastWhites is how many mired the white of the camera is beyond the warmest and the coolest
// light on the face.
func (p *Person) pastWhites() float64 {
	return max(0, 1e6 / *p.CameraK - 1e6 / *p.WarmestK, 1e6 / *p.CoolestK - 1e6 / *p.CameraK)
}

// fillPast tells a camera that is set wrongly from lights that do not belong together. Where
// they are farther apart than their mean is from the camera, and not because filaments are
// dimmed, the fault is theirs unless the camera is beyond all of them.
func (p *Person) fillPast() {
	if p.KeyCamera == nil {
		return
	}
	apart := p.FullSpread
	if *p.WhiteSpread != *p.KeySpread { // by the light of the room
		apart = p.WhiteSpread
	}
	if p.CameraPast = p.KeyCamera; *apart >= *p.KeyCamera {
		p.CameraPast = new(p.pastWhites())
	}
}

// fillCamera compares the keys with the whites that the cameras are set to.
func (p *Person) fillCamera(r *stage.Rig, white stage.White) {
	p.KeyDuv, p.FullDrift, p.white = &white.Duv, new(white.Over(0)), white
	apart, missing := r.CameraApart(white, p.Place)
	if apart.Camera == "" {
		p.lackAll([]string{"key_camera_mired", "camera_k", "camera_past_mired", "key_drift_mired"}, missing...)
	} else {
		p.lacksPart("key_camera_mired", missing...)
		p.lacksPart("key_drift_mired", missing...)
		p.KeyCamera, p.CameraK, p.CameraName = &apart.Mired, &apart.Kelvin, apart.Camera
		p.KeyDuv, p.KeyDrift = &apart.Duv, &apart.DriftMired
		if apart.Wanders {
			p.restOnWandering([]string{"key_camera_mired", "key_duv", "key_drift_mired"}, apart.Camera)
		}
		if apart.NoTint != "" {
			p.rests("key_duv", finding.Basis{Known: finding.Assumed, Rests: []string{fmt.Sprintf("no tint of the camera %q, since nobody says what it is set to", apart.NoTint)}})
		}
	}
}

// fillLookDrift says how much warmer dimmed filaments are than faces mostly are in the
// show: what a camera is set for of which nobody says it.
func fillLookDrift(people []*Person) {
	var whites []float64
	for _, p := range people {
		if p.white.Mired > 0 {
			whites = append(whites, p.white.Mired)
		}
	}
	slices.Sort(whites)
	for _, p := range people {
		if p.white.Mired > 0 {
			p.LookDrift = new(p.white.Over(whites[len(whites)/2]))
			p.restOnDrift("look_drift_mired", p.LookDrift)
		}
	}
}

// face measures the person again, with the light of the look.
func (p *Person) face(use func(s *stage.Room, f *stage.Face)) {
	p.look.back.to(p.look.look, func(s *stage.Room, lit *stage.LookLight, missing []string) {
		use(s, s.FaceOn(lit, p.Place, missing))
	})
}

// whiteKeys are the key lights that make a white, each one to keep.
func (p *Person) whiteKeys(use func(r *stage.Rig, keys stage.Whites)) {
	p.face(func(s *stage.Room, f *stage.Face) {
		keys, missing := f.Keys()
		if whites, lack := stage.WhitesOf(keys); len(missing)+len(lack) == 0 {
			use(s.Rig, whites)
		}
	})
}

// DriftedKeys are the filament keys that are more than a number of mired warmer than
// at full, and that have a level at which they are not; none if one of them would have to
// be brought up by more than a factor.
func (p *Person) DriftedKeys(maxMired, mostUp float64) (lamps []*Lamp) {
	p.whiteKeys(func(_ *stage.Rig, keys stage.Whites) { lamps = newLamps(keys.Drifted(maxMired)) })
	if slices.ContainsFunc(lamps, func(l *Lamp) bool {
		level := l.LevelForDrift(maxMired)
		return level == nil || *level > mostUp*l.Level
	}) {
		return nil
	}
	return lamps
}

// CommonKeyK is the white that all keys can share and that leaves the cameras' white
// by at most a number of mired; unknown where there is none.
func (p *Person) CommonKeyK(cameraMired float64) (kelvin *float64) {
	p.whiteKeys(func(r *stage.Rig, keys stage.Whites) {
		if common, _, lack := r.CommonWhite(keys, p.Place, cameraMired); lack == "" && p.KeySpread != nil {
			kelvin = &common
		}
	})
	return kelvin
}

// KeysToSet are the variable-white keys that make another white than that now.
func (p *Person) KeysToSet(cameraMired float64) (lamps []*Lamp) {
	p.whiteKeys(func(r *stage.Rig, keys stage.Whites) {
		if _, set, lack := r.CommonWhite(keys, p.Place, cameraMired); lack == "" && p.KeySpread != nil {
			lamps = newLamps(set)
		}
	})
	return lamps
}

// KeysToCamera are the variable-white keys that can make the cameras' common white and
// do not.
func (p *Person) KeysToCamera() (lamps []*Lamp) {
	p.whiteKeys(func(r *stage.Rig, keys stage.Whites) {
		if white, ok := r.CameraWhite(r.Room.PastPlace(p.Place)); ok && p.KeySpread != nil {
			lamps = newLamps(keys.Settable(white))
		}
	})
	return lamps
}

// BestCameraK is the white for the cameras that see the place which fits the key lights of
// all that they see in the show best: the middle of the warmest and the coolest if it is within a number of mired
// of both, else the one that most of them have; unknown where there are none.
func (p *Person) BestCameraK(maxMired float64) *float64 {
	if p.KeyCamera == nil { // no cameras, or no white to set them by
		return nil
	}
	var have []float64
	for _, camera := range p.camerasSet() {
		if stage.IsWhite(camera.WhiteK) {
			have = append(have, *camera.WhiteK)
		}
	}
	if best, ok := p.look.back.keyWhites(p.Place).Best(maxMired, have...); ok {
		return &best
	}
	return nil
}

// camerasSet are the cameras that do not look past the place, and whose white is set by hand.
func (p *Person) camerasSet() []*schema.Camera {
	rig := p.look.back.rig
	past := rig.Room.PastPlace(p.Place)
	return slices.DeleteFunc(slices.Clone(rig.Show.Room.Cameras), func(c *schema.Camera) bool { return !stage.SetsWhite(c) || past(c) })
}

// CamerasToSet are the cameras that are set to another white than that.
func (p *Person) CamerasToSet(maxMired float64) (cameras []*Camera) {
	best := p.BestCameraK(maxMired)
	if best == nil {
		return nil
	}
	for _, camera := range p.camerasSet() {
		if stage.IsWhite(camera.WhiteK) && stage.MiredApart(*camera.WhiteK, *best) > stage.SameWhite {
			cameras = append(cameras, newCamera(camera))
		}
	}
	return cameras
}

// KeysToTurn are the key lights with the level at which the face is a number of stops
// over what the camera is set for that sees it worst, or full.
func (p *Person) KeysToTurn(stopsOver float64) []*Turn {
	turns, _ := p.keysFor(stopsOver)
	return turns
}

// KeysCanReach tells whether none of those levels is above full.
func (p *Person) KeysCanReach(stopsOver float64) bool {
	_, reach := p.keysFor(stopsOver)
	return reach
}

func (p *Person) keysFor(stopsOver float64) (turns []*Turn, reach bool) {
	if p.Under == nil || p.Over == nil {
		return nil, false
	}
	stops := *p.Under // raise by this, or lower by what it is over
	if *p.Over > -stops && *p.Over > 0 && *p.Over > stops {
		stops = -*p.Over
	}
	p.face(func(_ *stage.Room, f *stage.Face) {
		keys, _ := f.Keys()
		turns, reach = newTurns(keys, math.Exp2(stops+stopsOver))
	})
	return turns, reach
}

// DarkKeys are the lamps for faces that point at the place and are dark, with the level
// at which all of them together give it a number of stops over what the camera is set
// for, or over what a face needs to be lit at all where no camera tells; full where that
// is out of reach, and half where it cannot be told.
func (p *Person) DarkKeys(stopsOver float64) (turns []*Turn) {
	p.face(func(s *stage.Room, f *stage.Face) {
		wanted, ok := s.FloorLux(f)
		switch {
		case p.WantedLux != nil: // no face without any light has one
			wanted = *p.WantedLux
		case !ok:
			wanted = stage.LeastLit
		}
		lamps, levels := s.DarkKeys(f, wanted*math.Exp2(stopsOver))
		for i, lamp := range lamps {
			turns = append(turns, &Turn{newLamp(lamp), levels[i]})
		}
	})
	return turns
}

// OwnLampsOut tells whether lamps for faces point at the place, and all of them are dark.
func (p *Person) OwnLampsOut() (out bool) {
	p.face(func(s *stage.Room, f *stage.Face) { out = s.OwnLampsOut(f) })
	return out
}

// DarkKeysText is the channels of the same lamps, as "11, 12".
func (p *Person) DarkKeysText() string {
	var channels []int
	for _, turn := range p.DarkKeys(0) {
		channels = append(channels, turn.Channel)
	}
	return schema.FormatChannels(channels)
}

// backsFor are the back lights at the levels at which their light is a ratio of the
// key light, and whether none of them is above full.
func (p *Person) backsFor(ratio float64) (turns []*Turn, reach bool) {
	if p.BackRatio == nil || *p.BackRatio <= 0 {
		return nil, false
	}
	p.face(func(_ *stage.Room, f *stage.Face) {
		backs, _ := f.Backs()
		turns, reach = newTurns(backs, ratio / *p.BackRatio)
	})
	return turns, reach
}

// BacksToTurn are the back lights with the level at which their light is a ratio of
// the key light, or full.
func (p *Person) BacksToTurn(ratio float64) []*Turn {
	turns, _ := p.backsFor(ratio)
	return turns
}

// BacksCanReach tells whether none of those levels is above full.
func (p *Person) BacksCanReach(ratio float64) bool {
	_, reach := p.backsFor(ratio)
	return reach
}

// DarkBackLamps are the back lights aimed at the place that are dark in this look.
func (p *Person) DarkBackLamps() []*Lamp {
	return newLamps(p.look.back.rig.DarkBacks(p.look.look, p.Place))
}

// SpareBack is a back light that is aimed at nobody in this show and could light the
// place. That it can is for the proof to say.
func (p *Person) SpareBack() *Fixture {
	if spare := p.look.back.rig.SpareBack(p.look.look); spare != nil {
		return &Fixture{fixture: spare.Fixture, Channel: spare.Channel}
	}
	return nil
}

// SpareBackLamp is the same fixture in this look.
func (p *Person) SpareBackLamp() *Lamp {
	if spare := p.look.back.rig.SpareBack(p.look.look); spare != nil {
		return newLamp(spare)
	}
	return nil
}

// fillBack tells of the back lights and the background.
func (p *Person) fillBack(s *stage.Room, f *stage.Face) {
	r := s.Rig
	backs, missing := f.Backs()
	if p.lackAll([]string{"back_lx", "back_key_ratio", "back_camera_ratio"}, f.BackMissing...); len(f.Missing)+len(f.BackMissing) == 0 {
		front, back := f.BackAndFront()
		p.BackLux = &back
		if front > 0 {
			p.BackRatio = new(back / front)
		} else {
			p.lacks("back_key_ratio", fmt.Sprintf("light on the face on %s", p.Place))
		}
		if floor, ok := s.FloorLux(f); ok {
			p.BackCamera = new(back / floor)
		} else {
			p.lacks("back_camera_ratio", "a camera whose exposure is set by hand")
		}
	}
	p.lacks("back_count", missing...)
	if len(missing) == 0 {
		p.BackCount = new(len(backs))
	}
	p.BackText = darkBacks(r, p.look.look, p.Place)
	if p.fillBackground(r); p.Background == nil {
		p.rests("back_light_pct", finding.Basis{Known: finding.Inferred, Rests: []string{"nothing bright behind the person, since nobody says what is there"}})
	}
}

// darkBacks are the back lights aimed at a place that are dark in a look, as "31, 32".
func darkBacks(r *stage.Rig, look *tracking.Look, place string) string {
	var dark []int
	for _, lamp := range r.DarkBacks(look, place) {
		dark = append(dark, lamp.Channel)
	}
	return schema.FormatChannels(dark)
}

func (p *Person) fillBackground(r *stage.Rig) {
	if p.BackdropStops != nil {
		surface := r.Surfaces[p.BackName]
		pale := surface != nil && surface.Kind != "emissive" && surface.Reflectance != nil && *surface.Reflectance >= stage.PaleReflectance
		p.Background = new(*p.BackdropStops <= stage.DarkStops && !pale)
		return
	}
	lack := func(format string, args ...any) { p.lacks("background_is_dark", fmt.Sprintf(format, args...)) }
	place := r.Places[p.Place]
	if place == nil {
		lack("the place %q in the room", p.Place)
		return
	}
	if place.Background == "" {
		lack("the background of the place %q: the surface that the cameras see behind it", p.Place)
		return
	}
	p.BackName = place.Background
	surface := r.Surfaces[place.Background]
	switch {
	case surface == nil:
		lack("the surface %q in the room", place.Background)
	case surface.Kind == "emissive":
		p.Background = new(false)
	case surface.Reflectance == nil:
		lack("the reflectance of the surface %q", surface.Name)
	default:
		p.Background = new(*surface.Reflectance < stage.DarkReflectance)
	}
}

// compareFaces compares the light on the faces of a look: those who speak or lead with
// each other, and the others with them. Whoever is meant to be darker is left out.
func (l *Look) compareFaces(people []*Person, said bool) {
	l.People = len(people)
	song := l.SegmentKind == "song" && !said // the whole band sings
	var leads, others []*Person
	var missing stage.Missing
	for _, p := range people {
		if b := p.Basis("face_lx"); slices.Contains(b.Rests, fromTheHouse) {
			b.Range = nil
			l.rests("face_range_stops", b)
			l.rests("others_apart_stops", b)
		}
		switch {
		case slices.ContainsFunc(p.Meant, func(word string) bool { return slices.Contains(darkOnPurpose, word) }):
			l.People--
		case p.FaceLux == nil:
			missing.Add(p.Why("face_lx")...)
		case !p.FaceSeen:
		case p.Leads && !song:
			leads = append(leads, p)
		default:
			others = append(others, p)
		}
	}
	l.lackAll([]string{"face_range_stops", "others_apart_stops"}, missing.Phrases...)
	l.compareKeys(people)
	lit := slices.DeleteFunc(slices.Concat(leads, others), func(p *Person) bool { return p.DarkStops != nil && *p.DarkStops > darkFace })
	_, best := dimAndBright(lit)
	l.shaded, _ = dimAndBright(slices.DeleteFunc(slices.Clone(lit), func(p *Person) bool {
		return *p.FaceLux*math.Exp2(besideStops) < *best.FaceLux
	}))
	l.allDark = len(lit) == 0 && (len(leads)+len(others) > 0 || len(l.Why("face_range_stops")) == 0)
	leads, others = slices.DeleteFunc(leads, (*Person).isToldItself), slices.DeleteFunc(others, (*Person).isToldItself)
	dimmest, brightest := dimAndBright(leads)
	l.dimmest = dimmest
	if len(l.Why("face_range_stops")) > 0 {
		return
	}
	l.FaceRange, l.OthersApart = new(0.0), new(0.0)
	if dimmest != nil {
		l.FaceRange = l.apart(dimmest, brightest, "face_range_stops")
		l.brightest = brightest
		l.Dimmest, l.Brightest = dimmest.Place, brightest.Place
	}
	dim, bright := dimAndBright(others)
	if dim != nil {
		pairs := [][2]*Person{{dim, brightest}, {dimmest, bright}}
		if dimmest == nil {
			pairs = [][2]*Person{{dim, bright}}
		}
		for _, pair := range pairs {
			stops := l.apart(pair[0], pair[1], "others_apart_stops")
			if stops == nil {
				l.OthersApart = nil
				break
			}
			if l.Darker == "" || *stops > *l.OthersApart {
				l.OthersApart, l.Darker, l.Brighter = stops, pair[0].Place, pair[1].Place
				l.darker, l.brighter = pair[0], pair[1]
			}
		}
	}
}

// compareKeys compares the key lights of those who speak or lead where nothing else is known:
// lamps of one type that point at them, by what each gives of its full light.
func (l *Look) compareKeys(people []*Person) {
	var dimmest, brightest *Person
	for _, p := range people {
		if !p.Leads || slices.ContainsFunc(p.Meant, func(word string) bool { return slices.Contains(darkOnPurpose, word) }) {
			continue
		}
		if p.FaceLux != nil || p.keyKind == nil || !(p.KeyLight > 0) || dimmest != nil && p.keyKind != dimmest.keyKind {
			return
		}
		if dimmest == nil || p.KeyLight < dimmest.KeyLight {
			dimmest = p
		}
		if brightest == nil || p.KeyLight > brightest.KeyLight {
			brightest = p
		}
	}
	if dimmest == nil {
		return
	}
	l.KeysApart, l.Dimmest, l.Brightest = stopsUnder(dimmest.KeyLight, brightest.KeyLight), dimmest.Place, brightest.Place
	l.rests("key_levels_apart_stops", finding.Basis{Known: finding.Inferred, Rests: []string{"key lights that hang equally far from the people, since nobody knows where"}})
}

// besideStops is how far a face may be under the best-lit one of a look for what is
// beside it to be held against it: one that is darker was forgotten, which is a fault of
// its own. Common practice, no source.
const besideStops = 1.5

// darkFace is from how many stops under the cameras a face is no measure any more for
// what is beside it: it is the fault itself. Common practice, no source.
const darkFace = 2.5

// From how many stops under and over the cameras a face is told of itself, so that it is told
// once and not again as one that differs from its neighbour: the limits of people/key-low and
// people/key-high, where no house has others. Common practice, no source.
const (
	dimFace      = 1
	quietDimFace = 1.5
	brightFace   = 1
)

// isToldItself reports whether the face is too dark or too bright for a camera: that is the
// fault, and that it differs from other faces is a part of it.
func (p *Person) isToldItself() bool {
	if p.DarkStops != nil && *p.DarkStops > darkFace {
		return true
	}
	if !p.ExposureSet {
		return false
	}
	dim := float64(dimFace)
	if p.Mood == "quiet" || p.SegmentKind == "prayer" {
		dim = quietDimFace
	}
	return p.Under != nil && *p.Under > dim && !slices.Contains(p.Meant, "faces-dim") || p.Over != nil && *p.Over > brightFace
}

// darkOnPurpose are the intents by which a face is not as bright as others.
var darkOnPurpose = []string{"faces-dark", "silhouette", "uneven-faces"}

// dimAndBright are the people with the dimmest and the brightest face; nil if there are none.
func dimAndBright(people []*Person) (dimmest, brightest *Person) {
	for _, p := range people {
		if dimmest == nil || stage.Clearly(*dimmest.FaceLux, *p.FaceLux) {
			dimmest = p
		}
		if brightest == nil || stage.Clearly(*p.FaceLux, *brightest.FaceLux) {
			brightest = p
		}
	}
	return dimmest, brightest
}

// apart is how much brighter one face is than another, in stops; nil where one is dark.
func (l *Look) apart(dim, bright *Person, fact string) *float64 {
	stops, ok := photometry.Stops(*bright.FaceLux, *dim.FaceLux)
	if !ok {
		l.lacks(fact, "light on every face in "+thisOne)
		return nil
	}
	return &stops
}

// DimmestKeys are the key lights of the dimmest face with the level that makes it as
// bright as the brightest: of those who lead, if they are so many stops apart, or else of
// the others. None if one of them would have to be above full.
func (l *Look) DimmestKeys(stops float64) (turns []*Turn) {
	dim, bright := l.dimmest, l.brightest
	if l.FaceRange == nil || *l.FaceRange <= stops {
		dim, bright = l.darker, l.brighter
	}
	if dim == nil || bright == nil {
		return nil
	}
	dim.face(func(_ *stage.Room, f *stage.Face) {
		keys, _ := f.Keys()
		if all, ok := newTurns(keys, *bright.FaceLux / *dim.FaceLux); ok {
			turns = all
		}
	})
	return turns
}

// fillHeld finds the colours that stay on somebody for a whole segment.
func fillHeld(people []*Person) {
	type stay struct{ place, segment string }
	byStay := map[stay][]*Person{}
	for _, p := range people {
		key := stay{p.Place, p.Segment}
		byStay[key] = append(byStay[key], p)
	}
	for _, list := range byStay {
		var alike alike
		hue := list[0].shoulderHue
		var missing stage.Missing
		for _, p := range list {
			if p.shoulderHue != hue {
				hue = ""
			}
			missing.Add(p.Why("face_lx")...)
		}
		var duration *float64
		if segment := list[0].look.look.Segment; segment != nil {
			duration = segment.DurationS
		}
		for _, p := range list {
			switch {
			case len(missing.Phrases) > 0: // light that is unknown may be coloured
				alike.tell(&p.unknowns, func() { p.lacksThese("held_hue_s", &missing) })
			case hue == "":
				p.HeldS = new(0.0)
			case duration == nil || *duration < 0:
				p.lacks("held_hue_s", fmt.Sprintf("the duration of the segment %q", p.Segment))
			default:
				p.HeldHue, p.HeldS = hue, duration
			}
		}
	}
}
