package facts

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Showing is a screen in a look with people on stage.
type Showing struct {
	unknowns
	look      *Look
	surface   *schema.Surface
	whiteOver float64 // how far full white on it is over the dimmest face that is lit, where over_face_stops is known

	ScreenName  string   `expr:"name"`               // the screen
	Kind        string   `expr:"kind"`               // emissive or projection
	Number      string   `expr:"cue"`                // the number of the look's cue
	Segment     string   `expr:"segment"`            // the segment
	Meant       []string `expr:"meant"`              // what the cue and its segment mean for every place, as words of the vocabulary
	DrivePct    *float64 `expr:"drive_pct"`          // what it is driven at
	ContentPct  *float64 `expr:"content_pct"`        // the mean light of its picture, in percent of full white
	White       *float64 `expr:"white_cd_m2"`        // the luminance of its white at that drive
	Picture     *float64 `expr:"picture_cd_m2"`      // the luminance of what is bright in its picture; of full white where nobody says what it shows
	OverFace    *float64 `expr:"over_face_stops"`    // how far its mean light, or white where nobody says what it shows, is over the dimmest face that is lit, with the skin that the place names, else with light skin
	OverDarkest *float64 `expr:"over_darkest_stops"` // the same with the darkest skin that may stand there
	OverWhite   *float64 `expr:"over_white_stops"`   // how far it is over white for the most open camera: a matt white sheet in the light that it is set for
	FaceOver    *float64 `expr:"face_over_stops"`    // how far the light on that face is over what that camera is set for
	ExposureSet bool     `expr:"exposure_is_set"`    // whether there is a camera whose exposure is set by hand, or none is known
	Camera      string   `expr:"camera"`             // the most open camera
	FacesDark   bool     `expr:"faces_are_dark"`     // whether there are people and no face of them is lit
	Face        string   `expr:"dimmest_place"`      // the place of that face
	SpillLux    *float64 `expr:"spill_lx"`           // mean light of all lamps and the ambient light on it
	KeySpill    *float64 `expr:"key_spill_lx"`       // mean light of key and fill lights on it
	SpillPct    *float64 `expr:"key_spill_pct"`      // how bright that makes its black, as percent of its white
	SurelyPct   *float64 `expr:"key_spill_sure_pct"` // the same if it reflects as little as any of its kind; key_spill_pct where somebody says what it reflects
	PeakPct     *float64 `expr:"key_peak_pct"`       // the same where one of these lights is brightest on it
	HallPct     *float64 `expr:"hall_spill_pct"`     // how bright the ambient light makes it, the same way
	Contrast    *float64 `expr:"contrast"`           // image contrast under that light: (white + ambient) / (black + ambient)
	AtBest      *float64 `expr:"contrast_at_best"`   // the same if only a quarter of the ambient light at faces falls on it
	CutSide     string   `expr:"cut_side"`           // the shutter of that light that clears the screen and leaves its target lit, or ""
	CutPct      *float64 `expr:"cut_depth_pct"`      // how far to push it in
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

// Why returns what would make the fact known.
func (s *Showing) Why(fact string) []string {
	return named(s.unknowns.Why(fact), "cue", s.Number)
}

// What is not known where the white of the picture is not, and where the light on the screen is not:
// how much its black is lightened, and its contrast, in both cases.
var (
	paleFacts     = []string{"key_spill_pct", "key_spill_sure_pct", "key_peak_pct", "hall_spill_pct"}
	contrastFacts = []string{"contrast", "contrast_at_best"}
	whiteFacts    = slices.Concat([]string{"white_cd_m2", "picture_cd_m2", "over_face_stops", "over_darkest_stops", "over_white_stops"}, paleFacts, contrastFacts)
	spillFacts    = slices.Concat([]string{"spill_lx", "key_spill_lx", "cut_depth_pct"}, paleFacts, contrastFacts)
)

// Basis returns what a fact rests on.
func (s *Showing) Basis(fact string) finding.Basis {
	b := s.unknowns.Basis(fact)
	b.Missing = s.Why(fact)
	return b
}

// Edits changes the drive of the screen: in the cue that set it, or in the room
// if no cue did.
func (s *Showing) Edits(field string, value any) []source.Edit {
	if drive, ok := s.look.look.Drives.Of(s.ScreenName); ok && field == "drive_pct" {
		return []source.Edit{{At: drive.At, Field: field, Value: value}}
	}
	return []source.Edit{{At: s.surface.At, Field: field, Value: value}}
}

// showingsOf measures the screens of a look with people. missing is what
// [stage.Room.Light] said of the look.
func showingsOf(s *stage.Room, lit *stage.LookLight, look *Look, missing []string) []*Showing {
	var showings []*Showing
	for _, c := range s.Panels {
		if c.Surface.Kind != "emissive" && c.Surface.Kind != "projection" {
			continue
		}
		showing := &Showing{
			look: look, surface: c.Surface, ScreenName: c.Surface.Name, Kind: c.Surface.Kind,
			Number: look.Number, Segment: look.SegmentName, Meant: look.Meant, DrivePct: lit.Drive(c.Surface), ContentPct: lit.Content(c.Surface),
		}
		showing.restOnDrive(lit)
		showing.fillWhite()
		showing.fillSpill(s, lit, c, missing)
		showings = append(showings, showing)
	}
	return showings
}

// restOnDrive says so where a projector is taken to run at full.
func (s *Showing) restOnDrive(lit *stage.LookLight) {
	if told, _ := lit.Resolved.Drives.Of(s.ScreenName); !stage.AtFull(s.surface) || told.DrivePct != nil {
		return
	}
	assumed := fmt.Sprintf("the projector of the screen %q at full, since nobody says what it is driven at", s.ScreenName)
	s.rests("drive_pct", finding.Basis{Known: finding.Assumed, Rests: []string{assumed}})
	for _, fact := range whiteFacts {
		s.rests(fact, finding.Basis{Known: finding.Assumed, Rests: []string{assumed}})
	}
}

// brightParts is how many times its mean the light of what is bright in a picture is,
// at most white: slides and films of middling brightness show white, a night sky does
// not. Common practice, no source.
const brightParts = 4

// fillWhite holds the white of the screen against the dimmest face.
func (s *Showing) fillWhite() {
	if s.DrivePct == nil {
		s.lacks("drive_pct", fmt.Sprintf("what the screen %q is driven at", s.ScreenName))
	}
	if s.ContentPct == nil {
		s.lacks("content_pct", fmt.Sprintf("what the screen %q shows: how bright its picture is", s.ScreenName))
	}
	s.White = stage.Emitted(s.surface, s.DrivePct)
	if s.Picture = s.White; s.White != nil && s.ContentPct != nil {
		s.Picture = new(*s.White * min(1, brightParts**s.ContentPct/100))
	}
	if s.White == nil {
		phrase := fmt.Sprintf("the peak luminance and drive of the screen %q", s.ScreenName)
		if s.Kind == "projection" {
			phrase = fmt.Sprintf("the projector's lumens, the size and the drive of the screen %q", s.ScreenName)
		}
		s.lackAll(whiteFacts, phrase)
	}
	dimmest := s.look.shaded
	s.fillExposed(dimmest)
	s.FacesDark = s.look.allDark
	overFace := []string{"over_face_stops", "over_darkest_stops"}
	switch {
	case dimmest == nil && s.FacesDark:
		s.lackAll(overFace, "light on a face in "+thisOne)
	case dimmest == nil:
		s.lackSame(overFace, s.look.unknowns.Why("face_range_stops"))
		if len(s.unknowns.Why("over_face_stops")) == 0 {
			s.lackAll(overFace, "people who are to be seen in "+thisOne)
		}
	case s.White != nil && *s.White > 0 && *s.Picture <= 0:
		s.Face, s.OverFace, s.OverDarkest = dimmest.Place, new(-blackStops+0.0), new(-blackStops+0.0)
	case s.White != nil && *s.Picture > 0:
		s.Face = dimmest.Place
		skin, darkest := s.look.back.rig.SkinOf(dimmest.Place)
		if stops, ok := photometry.ScreenOverFace(*s.Picture, *dimmest.FaceLux, skin); ok {
			if s.whiteOver = stops - math.Log2(*s.Picture / *s.White); s.ContentPct != nil {
				stops += math.Log2(max(1./brightParts, *s.ContentPct/100))
			}
			s.OverFace, s.OverDarkest = &stops, new(stops+math.Log2(skin/darkest))
		} else {
			s.lackAll(overFace, fmt.Sprintf("light on the face on %s", dimmest.Place))
		}
	case s.White != nil: // a dark screen outshines nobody, and by no number of stops
		s.Face = dimmest.Place
		s.lackAll(overFace, fmt.Sprintf("a picture on the screen %q", s.ScreenName))
	}
}

// fillExposed holds the picture, and the dimmest face that is lit, against what the most open camera is set for.
func (s *Showing) fillExposed(dimmest *Person) {
	r := s.look.back.rig
	e := r.WhiteExposure(r.Room.PastSurface(s.surface))
	s.ExposureSet, s.Camera = e.Asked, e.Camera
	if s.lacks("over_white_stops", e.Missing...); s.Picture == nil || len(e.Missing) > 0 {
		s.lackSame([]string{"face_over_stops"}, s.unknowns.Why("over_white_stops"))
		return
	}
	s.OverWhite = new(e.OverWhite(*s.Picture))
	if dimmest != nil && dimmest.FaceLux != nil {
		if over, ok := photometry.Stops(*dimmest.FaceLux, e.Lux); ok {
			s.FaceOver = &over
			return
		}
	}
	s.lacks("face_over_stops", "light on a face in "+thisOne)
}

// fillSpill tells of the light on the screen, and what it does to the picture.
func (s *Showing) fillSpill(sc *stage.Room, lit *stage.LookLight, c *stage.Panel, missing []string) {
	spill, missing := sc.SpillOn(lit, c, missing)
	if len(missing) > 0 {
		s.lackAll(spillFacts, missing...)
		return
	}
	s.SpillLux, s.KeySpill = &spill.Total, &spill.Keys
	if spill.Worst == nil {
		s.lacks("cut_depth_pct", "a key light that reaches the screen")
	} else {
		s.fillCut(sc, c, spill.Worst)
	}
	if s.White == nil {
		return
	}
	s.fillContrast(spill)
	paled, low, high := stage.Paled(s.surface, *s.White, spill.Keys)
	hall, _, _ := stage.Paled(s.surface, *s.White, spill.Hall)
	peak, peakLow, peakHigh := stage.Paled(s.surface, *s.White, spill.Peak)
	if sum := paled + low + high + hall + peakHigh; !(*s.White > 0) || math.IsInf(sum, 0) || math.IsNaN(sum) { // as good as dark
		s.lackAll(paleFacts, fmt.Sprintf("a picture on the screen %q", s.ScreenName))
		return
	}
	s.SpillPct, s.SurelyPct, s.PeakPct, s.HallPct = &paled, &low, &peak, &hall
	if low < high {
		rests := []string{fmt.Sprintf("what an LED wall mostly reflects, since nobody says it of %q", s.ScreenName)}
		s.rests("key_spill_pct", finding.Basis{Known: finding.Assumed, Range: &finding.Range{Low: low, High: high}, Rests: rests})
		s.rests("key_peak_pct", finding.Basis{Known: finding.Assumed, Range: &finding.Range{Low: peakLow, High: peakHigh}, Rests: rests})
	}
}

// fillContrast tells of the contrast under all light on the screen. How much of the
// light of the hall falls there is assumed.
func (s *Showing) fillContrast(spill stage.Spill) {
	ratio, lack := stage.ContrastOf(s.surface, *s.White, spill.Total)
	if lack != "" {
		s.lackAll(contrastFacts, lack)
		return
	}
	s.Contrast, s.AtBest = &ratio, &ratio
	if spill.Hall <= 0 {
		return
	}
	low, _ := stage.ContrastOf(s.surface, *s.White, spill.Total+spill.Hall/stage.OnScreen-spill.Hall)
	high, _ := stage.ContrastOf(s.surface, *s.White, spill.Total-spill.Hall/2)
	s.AtBest = &high
	s.rests("contrast", finding.Basis{
		Known: finding.Assumed, Range: &finding.Range{Low: low, High: high},
		Rests: []string{"half of the ambient light at faces falling on the screen"},
	})
}

// fillCut tells of the shutter that clears the screen of the worst spiller's light.
func (s *Showing) fillCut(sc *stage.Room, c *stage.Panel, worst *stage.Lamp) {
	if side, depth, ok := sc.CutFor(c, worst); ok {
		s.CutSide, s.CutPct = side, &depth
	} else {
		s.lacks("cut_depth_pct", fmt.Sprintf("a shutter of channel %d that clears the screen and leaves its target lit", worst.Channel))
	}
}

// DriveForFace is the highest drive, in whole percent, at which white on the screen is at
// most a number of stops over the dimmest face; unknown where nothing can be told of the two.
func (s *Showing) DriveForFace(maxStops float64) *float64 {
	if s.OverFace == nil || s.DrivePct == nil {
		return nil
	}
	return new(math.Floor(min(100, *s.DrivePct*math.Exp2(maxStops-s.whiteOver))))
}

// DriveForWhite is the highest drive, in whole percent, at which what is bright on the screen
// is not over the white of the most open camera; unknown where nothing can be told of the two.
func (s *Showing) DriveForWhite() *float64 {
	if s.OverWhite == nil || s.DrivePct == nil {
		return nil
	}
	return new(math.Floor(min(100, *s.DrivePct*math.Exp2(-*s.OverWhite))))
}

// WorstSpiller is the key light that puts most light on the screen.
func (s *Showing) WorstSpiller() (worst *Lamp) {
	s.look.back.to(s.look.look, func(room *stage.Room, lit *stage.LookLight, missing []string) {
		for _, c := range room.Panels {
			if c.Surface != s.surface {
				continue
			}
			if spill, lack := room.SpillOn(lit, c, missing); len(lack) == 0 && spill.Worst != nil {
				worst = newLamp(spill.Worst)
			}
		}
	})
	return worst
}
