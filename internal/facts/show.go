package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Show is the whole evening.
type Show struct {
	unknowns
	at   source.Ref
	name string
	back *back

	LookCount   int      `expr:"look_count"`         // how many looks the show has
	Meant       []string `expr:"meant"`              // what every song of the running order means for every place, or without songs every segment, as words of the vocabulary
	PeakPct     *float64 `expr:"peak_output_pct"`    // the largest output of a look
	NearPeakPct *float64 `expr:"near_peak_look_pct"` // share of looks within a third of a stop of the largest output
	QuietestPct *float64 `expr:"quietest_lit_pct"`   // the smallest output of a look that is not dark

	NearPeakTime *float64 `expr:"near_peak_time_pct"`      // share of the lit time of the set within a stop of its most light
	RangeStops   *float64 `expr:"range_stops"`             // from the quiet to the loud light of the set: 10th to 95th percentile over time, gated
	LoudPct      *float64 `expr:"loud_output_pct"`         // the 95th percentile of output over time
	QuietPct     *float64 `expr:"quiet_output_pct"`        // the 10th percentile of output over time
	PictureRange *float64 `expr:"picture_range_stops"`     // from the quiet to the loud of the picture without key light over the set, in stops over a black six stops under the loudest look: 10th to 95th percentile over time; quiet parts aside that are brighter than the loud ones, if others are not
	PictureNear  *float64 `expr:"picture_near_peak_pct"`   // share of the set in which that picture is within a stop of its most
	PictureUp    *float64 `expr:"picture_up_pct"`          // how far up the lamps that light something else than faces are while the picture is within a stop of its most, on average, whatever their colours take away
	MainHues     *int     `expr:"main_hue_count"`          // hues that carry a large share of the coloured light of the set over its time, without the parts whose colours are shades of their own on-screen palette
	AccentHues   *int     `expr:"accent_hue_count"`        // hues that carry a small share of it
	HueNames     *string  `expr:"main_hue_names"`          // these hues in words, largest share first
	LargestHue   *float64 `expr:"largest_hue_pct"`         // share of one hue in all coloured light of the set over its time
	ColouredS    *float64 `expr:"coloured_s"`              // how long coloured light stands in the set
	Songs        int      `expr:"song_count"`              // songs in the running order
	NoSongs      bool     `expr:"has_no_songs"`            // whether the running order has parts and none of them is a song
	PictureLamps int      `expr:"picture_lamp_count"`      // lamps of the rig that light something else than faces
	NoPicture    bool     `expr:"has_no_picture"`          // whether no lamp of the show lights something else than faces, so that there is no picture around them to judge
	FacesUnder   *float64 `expr:"quiet_faces_under_stops"` // how far the faces of those who speak or lead in the quiet parts are under those in the loudest part, at least
	AsksRange    bool     `expr:"asks_for_range"`          // whether the running order has a song that is not quiet and a part that is
	TimeBasis    string   `expr:"time_basis"`              // what the times are taken from, in words
	OutputBasis  string   `expr:"output_basis"`            // what all light of the stage rig is counted by: "arriving" on people, surfaces and the stage floor, or "emitted" by the lamps if that is not known of each
	BasisNote    string   `expr:"output_basis_note"`       // where it is "emitted" though places or surfaces are given: why, as the end of a sentence; else ""
	StrobeUsed   bool     `expr:"strobe_in_use"`           // whether any look has a strobe, or an effect that flashes like one
	StrobeCues   string   `expr:"strobe_cues"`             // the cues of those looks, as "cues 4 and 5"
	StrobeNotice string   `expr:"strobe_notice"`           // what is recorded of a notice of strobes to the audience, or ""
	HazeUsed     bool     `expr:"haze_in_use"`             // whether any cue runs a haze or fog machine
	HazeCues     string   `expr:"haze_cues"`               // the cues in which one runs, as "cues 4 and 5"
	HazeNotice   string   `expr:"haze_notice"`             // what is recorded of a notice of haze to the audience, or ""
	SmokeNotice  string   `expr:"smoke_detection_notice"`  // what is recorded of the agreement about smoke detection, or ""
}

// nearPeak is a third of a stop below the maximum, the step of a camera's dials.
const nearPeak = 0.7937005259840998 // 2^(-1/3)

// Names returns the show.
func (s *Show) Names() []Name { return []Name{{"show", s.name}} }

// Cue returns "": the show is all cues.
func (s *Show) Cue() string { return "" }

// Ref returns the cue list, or else what there is of the show.
func (s *Show) Ref() source.Ref { return s.at }

func measureShow(r *stage.Rig, looks []*Look) *Show {
	s := &Show{at: r.Show.At, name: r.Show.Name, LookCount: len(looks), OutputBasis: r.Basis.Word(), BasisNote: r.Basis.Note()}
	if cues, ok := r.Show.ReadFrom["cues"]; ok {
		s.at = cues
	}
	facts := []string{"peak_output_pct", "near_peak_look_pct", "quietest_lit_pct"}
	lit := 0
	peak := 0.0
	for _, look := range looks {
		if look.OutputPct == nil {
			for _, fact := range facts {
				s.lacks(fact, look.Why("output_pct")...)
			}
			return s
		}
		if *look.OutputPct > 0 {
			lit++
			peak = max(peak, *look.OutputPct)
			if s.QuietestPct == nil || *look.OutputPct < *s.QuietestPct {
				s.QuietestPct = look.OutputPct
			}
		}
	}
	if lit == 0 {
		for _, fact := range facts {
			s.lacks(fact, "a cue list with at least one look that is lit")
		}
		return s
	}
	near := 0
	for _, look := range looks {
		if *look.OutputPct >= peak*nearPeak {
			near++
		}
	}
	s.PeakPct = &peak
	s.NearPeakPct = new(100 * float64(near) / float64(lit))
	return s
}

// measureEvening works out what only the whole evening shows.
func (s *Show) fillEvening(e *evening.Evening, looks []*Look, changes []*Change) {
	s.Meant = meantThroughout(e.Rig.Show.Order)
	if songs := slices.DeleteFunc(slices.Clone(e.Rig.Show.Order), func(s *schema.Segment) bool { return s.Kind != "song" }); len(songs) > 0 {
		s.Meant = meantThroughout(songs)
	}
	s.fillCourse(e, looks)
	s.fillPicture(e, s.back.all.Segments)
	s.fillHues(e, looks, s.back.all.Segments)
	var strobes []string
	for _, c := range changes {
		if c.StrobesOn {
			strobes = append(strobes, c.Number)
		}
	}
	s.StrobeUsed, s.StrobeCues = len(strobes) > 0, cuesText(strobes)
	var haze []string
	for i, look := range looks {
		if e.Air.Runs(i) {
			haze = append(haze, look.Number)
		}
	}
	s.HazeUsed, s.HazeCues = len(haze) > 0, cuesText(haze)
	if !s.HazeUsed && e.Air.Hung > 0 {
		s.HazeUsed, s.HazeCues = true, "the room before the first cue"
	}
	if notices := e.Rig.Show.Notices; notices != nil {
		s.StrobeNotice = strings.TrimSpace(notices.Strobe)
		s.HazeNotice, s.SmokeNotice = strings.TrimSpace(notices.Haze), strings.TrimSpace(notices.SmokeDetection)
	}
}

// meantThroughout is what all segments mean for every place.
func meantThroughout(order []*schema.Segment) (words []string) {
	for k, segment := range order {
		var own []string
		for i := range segment.Meant {
			if intent := &segment.Meant[i]; intent.For("") {
				own = append(own, intent.Intent)
			}
		}
		if k == 0 {
			words = own
			continue
		}
		words = slices.DeleteFunc(words, func(word string) bool { return !slices.Contains(own, word) })
	}
	return words
}

// cuesText names cues: all of a few, or the first and how many more.
func cuesText(cues []string) string {
	switch {
	case len(cues) == 0:
		return ""
	case len(cues) > 1 && len(cues) <= 4:
		return "cues " + spelling.List(cues)
	}
	return spelling.Cues(cues, 3)
}

func (s *Show) fillCourse(e *evening.Evening, looks []*Look) {
	facts := []string{"near_peak_time_pct", "range_stops", "loud_output_pct", "quiet_output_pct"}
	s.TimeBasis = "the times of the running order"
	assumed := 0
	for _, m := range e.Time.Moments {
		if m.Assumed {
			assumed++
		}
	}
	if assumed > 0 {
		s.TimeBasis = fmt.Sprintf("the times of the running order, with %d of %d cues spread evenly between the others", assumed, len(looks))
	}
	if e.AlikeTimes || e.Course == nil {
		s.TimeBasis = "every cue being taken as equally long, because not all times are known"
	}
	if e.Course == nil {
		s.lackAll(facts, e.NoCourse...)
		return
	}
	if near, ok := e.Course.Near(evening.NearStops + evening.StopSlack); ok {
		s.NearPeakTime = new(100 * near)
	}
	r, ok := e.Loud, e.Ranged
	if !ok {
		s.lackAll(facts, "a cue list with at least one look that is lit")
		return
	}
	s.RangeStops, s.LoudPct, s.QuietPct = &r.Stops, e.Percent(r.High), e.Percent(r.Low)
	if _, missing := e.Rig.FullOutput(); e.Full <= 0 {
		s.lackAll([]string{"loud_output_pct", "quiet_output_pct"}, missing...)
	}
}

// fillHues tells of the hues over the set.
func (s *Show) fillHues(e *evening.Evening, looks []*Look, segments []*Segment) {
	facts := []string{"main_hue_count", "accent_hue_count", "main_hue_names", "largest_hue_pct", "coloured_s"}
	for _, segment := range e.Rig.Show.Order {
		if segment.Kind == "song" {
			s.Songs++
		}
	}
	s.NoSongs = len(e.Rig.Show.Order) > 0 && s.Songs == 0
	own := map[string]bool{} // parts whose colours are those of their palette
	for _, segment := range segments {
		palette := stage.PaletteHues(segment.segment)
		fits := len(palette) > 0 && len(segment.tints) > 0
		for _, look := range segment.looks {
			fits = fits && look.PaletteApart != nil && *look.PaletteApart < stage.NearHues
		}
		own[segment.SegmentName] = fits
	}
	var all, free []colour.Tint
	seconds := 0.0
	for i, look := range looks {
		if !evening.InSet(look.look.Segment) {
			continue
		}
		if look.HueNames == nil {
			s.lackAll(facts, look.Why("hue_names")...)
			return
		}
		tints := timed(look, e, i)
		all = append(all, tints...)
		if !own[look.SegmentName] {
			free = append(free, tints...)
		}
		if wait, ok := e.Time.Until(i); len(tints) > 0 && ok && !e.AlikeTimes {
			seconds += max(wait, 0)
		}
	}
	mains, accents, names, _, ok := stage.HuesOver(free)
	_, _, _, largest, okAll := stage.HuesOver(all)
	if !ok || !okAll {
		s.lackAll(facts, "light in the set that can be added up")
		return
	}
	s.MainHues, s.AccentHues, s.HueNames = &mains, &accents, new(spelling.List(names))
	s.LargestHue = new(100 * largest)
	if e.AlikeTimes {
		s.lacks("coloured_s", e.Time.Missing()...)
	} else {
		s.ColouredS = &seconds
	}
}

// fillPicture tells of the picture without its key light over the set.
func (s *Show) fillPicture(e *evening.Evening, segments []*Segment) {
	d := &e.Dynamics
	s.PictureLamps, s.AsksRange = d.Lamps, evening.AsksForRange(e.Rig.Show.Order)
	s.fillFaces(segments)
	facts := []string{"picture_range_stops", "picture_near_peak_pct", "picture_up_pct"}
	switch {
	case len(e.NoCourse) > 0:
		s.lackAll(facts, e.NoCourse...)
		return
	case !d.OK:
		s.NoPicture = true
		s.lackAll(facts, "a lamp that lights something else than faces")
		return
	}
	s.PictureRange, s.PictureNear = new(d.Moves), new(100*d.Near)
	if bright, others := upsideDown(segments); len(bright) > 0 && others {
		*s.PictureRange = max(d.Moves, e.MovesWithout(bright))
	}
	s.PictureUp = new(100 * d.Up)
	if !e.Rig.Basis.Arriving {
		for _, fact := range facts {
			s.rests(fact, finding.Basis{Known: finding.Assumed, Rests: []string{"the light that leaves the lamps, wherever it lands"}})
		}
	}
}

// fillFaces tells how far the quiet parts of the set are quieter on faces.
func (s *Show) fillFaces(segments []*Segment) {
	for _, q := range segments {
		if !q.IsQuiet || !evening.InSet(q.segment) {
			continue
		}
		if q.FacesUnder == nil {
			s.FacesUnder = nil
			s.lacks("quiet_faces_under_stops", q.Why("faces_under_loud_stops")...)
			return
		}
		if s.FacesUnder == nil || *q.FacesUnder < *s.FacesUnder {
			s.FacesUnder = q.FacesUnder
		}
	}
	if s.FacesUnder == nil {
		s.lacks("quiet_faces_under_stops", "a quiet part in the set")
	}
}

// upsideDown are the quiet segments that are brighter than the brightest loud one, each of
// which is told of itself, and whether there is another quiet one.
func upsideDown(segments []*Segment) (bright []*schema.Segment, others bool) {
	for _, s := range segments {
		switch {
		case !s.IsQuiet || s.UnderLoud == nil:
		case *s.UnderLoud < 0:
			bright = append(bright, s.segment)
		default:
			others = true
		}
	}
	return bright, others
}

// dipPurposes are the lamps that can be brought down without touching a face.
var dipPurposes = []string{"wash", "top", "beam", "effect", "side"}

// washes finds the levels that bring the segments down which should be quiet, so that
// the set has a range of so many stops; reach is false if the washes alone cannot do
// it. What stands on in the segment behind is given back there.
func (s *Show) washes(rangeStops float64) (dips []*Level, reach bool) {
	e := s.back.evening
	if !e.Dynamics.OK {
		return nil, false
	}
	segments := s.back.all.Segments
	target := e.Dynamics.Range.High*math.Exp2(-rangeStops) - e.Dynamics.Black()
	walk := e.Rig.Walk()
	var lit stage.LookLight
	for k, segment := range segments {
		if segment.BringDownStops(rangeStops) <= 0 {
			continue
		}
		for n, look := range segment.looks {
			walk.To(look.look, &lit)
			rest, wash := 0.0, 0.0
			for _, lamp := range lit.Lamps {
				if slices.Contains(dipPurposes, lamp.Purpose) {
					wash += lamp.Picture()
				} else {
					rest += lamp.Picture()
				}
			}
			if wash+rest <= target {
				continue
			}
			if rest >= target || wash <= 0 {
				return nil, false
			}
			for _, lamp := range lit.Lamps {
				if !slices.Contains(dipPurposes, lamp.Purpose) || n > 0 && look.look.SetBy(lamp.Channel, tracking.LevelBy).Look != look.look.Index {
					continue
				}
				level := math.Floor(lamp.LevelFor((target - rest) / wash))
				dips = append(dips, &Level{look.look, lamp.Channel, max(0, min(level-1, lamp.Level))})
			}
		}
		if k+1 < len(segments) && len(segment.looks) > 0 && segments[k+1].BringDownStops(rangeStops) <= 0 {
			dips = append(dips, giveBack(e.Rig, segments[k+1])...)
		}
	}
	return dips, len(dips) > 0
}

// giveBack states the levels again that stand on from the segment before.
func giveBack(r *stage.Rig, segment *Segment) (levels []*Level) {
	if len(segment.looks) == 0 {
		return nil
	}
	next := segment.looks[0].look
	var lit stage.LookLight
	r.Walk().To(next, &lit)
	for _, lamp := range lit.Lamps {
		if slices.Contains(dipPurposes, lamp.Purpose) && next.SetBy(lamp.Channel, tracking.LevelBy).Look < next.Index {
			levels = append(levels, &Level{next, lamp.Channel, lamp.Level})
		}
	}
	return levels
}

// WashesToDim are the washes of the quiet segments with the level that gives the set a
// range of so many stops, and what is given back behind them.
func (s *Show) WashesToDim(minStops float64) []*Level {
	dips, _ := s.washes(minStops)
	return dips
}

// WashesCanDim tells whether the washes alone can do it.
func (s *Show) WashesCanDim(minStops float64) bool {
	_, reach := s.washes(minStops)
	return reach
}

// BringDownText names the segments to bring down for a range of so many stops, and how
// far; "" if there are none.
func (s *Show) BringDownText(minStops float64) string {
	var words []string
	for _, segment := range s.back.all.Segments {
		if down := segment.BringDownStops(minStops); down > 0 {
			words = append(words, fmt.Sprintf("%q by %.1f stops", segment.SegmentName, math.Ceil(down*10)/10))
		}
	}
	return spelling.List(words)
}
