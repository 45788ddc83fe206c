package facts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Segment is one item of the running order, with the light and the air in it.
type Segment struct {
	unknowns
	segment *schema.Segment
	span    *evening.Span
	back    *back
	tints   []colour.Tint // its hues, each with its light times its seconds
	picture *float64      // mean light of the picture over the black floor; nil if it is not known
	faces   *float64      // mean light on the faces of those who lead, lx, each look and face alike in stops; nil if one is not known
	looks   []*Look

	SegmentName string   `expr:"name"`               // its name
	Kind        string   `expr:"kind"`               // song, talk, prayer..., or ""
	Mood        string   `expr:"mood"`               // quiet, middle, loud, or ""
	Meant       []string `expr:"meant"`              // what the running order means in all of it, and the cue in which it is longest dark, as words of the vocabulary
	StartS      *float64 `expr:"start_s"`            // when it starts, in seconds from the start of the running order
	DurationS   *float64 `expr:"duration_s"`         // how long it is planned to last
	LookCount   int      `expr:"look_count"`         // how many looks it has of its own
	CuesText    string   `expr:"cues_text"`          // from which cue to which, as "4 to 9"
	Assumed     *int     `expr:"assumed_time_count"` // how many of its cues have no time of their own and are spread evenly

	MeanPct     *float64 `expr:"mean_output_pct"`          // mean light of the stage rig over its time, as percent of everything at full
	HighestPct  *float64 `expr:"highest_output_pct"`       // the most light in it
	LowestPct   *float64 `expr:"lowest_output_pct"`        // the least light in it
	RangeStops  *float64 `expr:"range_stops"`              // from its quiet to its loud light: 10th to 95th percentile over time, gated
	NearPeakPct *float64 `expr:"near_peak_time_pct"`       // share of its time within a stop of the brightest look of the show
	Under       *float64 `expr:"under_loud_stops"`         // how far its mean light is under the loud light of the show
	Picture     *float64 `expr:"picture_stops"`            // how far its mean picture without key light is under the loudest look of the show; negative or 0
	OverQuiet   *float64 `expr:"over_quiet_stops"`         // how far that picture is over the one of the brightest quiet segment
	UnderLoud   *float64 `expr:"under_loudest_song_stops"` // how far it is under the one of the brightest loud segment
	FacesUnder  *float64 `expr:"faces_under_loud_stops"`   // how far the faces of those who speak or lead are under those in that segment, on average
	UnderMost   float64  `expr:"darker_other_stops"`       // how far the darkest picture of another segment is under its own; 0 where none is
	OverOthers  *float64 `expr:"over_others_stops"`        // how far its mean light, with that on faces, is over that of the brightest lit segment that is not quiet; none for a talk, reading or interview that says nothing of its mood
	OverCalm    *float64 `expr:"light_over_quiet_stops"`   // how far its mean light, with that on faces, is over that of the brightest segment whose mood is quiet
	IsQuiet     bool     `expr:"is_quiet"`                 // whether it should be quieter than the others: its mood, or what a prayer, reading, talk, communion or interview mostly is; not where silhouettes are meant, which need something bright behind them
	IsLoud      bool     `expr:"is_loud"`                  // whether its mood is loud, or it is a song that is not quiet
	HasQuiet    bool     `expr:"show_has_quiet"`           // whether the show has a quiet segment beside it
	HasLoud     bool     `expr:"show_has_loud"`            // whether the show has a loud segment beside it, which a song in the middle is not
	SongMains   *int     `expr:"main_hue_count"`           // hues that carry a large share of its coloured light over its time
	SongAccents *int     `expr:"accent_hue_count"`         // hues that carry a small share of it
	SongHues    *string  `expr:"main_hue_names"`           // these hues in words, largest share first
	HueNames    *string  `expr:"hue_names"`                // the hues of its looks in words
	LeadHues    *int     `expr:"lead_hue_count"`           // hues that have the most light in one of its looks or another, however long that stands; shades of one count once
	LeadNames   *string  `expr:"lead_hue_names"`           // these hues in words
	Lamps       int      `expr:"picture_lamp_count"`       // lamps of the rig that light something else than faces
	NoPicture   bool     `expr:"has_no_picture"`           // whether no lamp of the show lights something else than faces, so that there is no picture around them to judge

	Calls    *int   `expr:"calls_per_minute"` // the most calls by hand in 60 s that begin in it; cues that follow by themselves are none
	CallsCue string `expr:"calls_from_cue"`   // the cue with which these begin, or ""

	RunLooks *int   `expr:"alike_run_looks"` // the most looks in a row that are alike: within a third of a stop, 5 of CIEDE2000, a fifth of their light in the same place, and no system (wash, beams...) a third of a stop and a tenth of its lamps apart
	RunCues  string `expr:"alike_run_cues"`  // from which cue to which that is

	SongStops  *float64 `expr:"song_before_stops"`   // for a song: how much brighter its mean is than that of the song before
	SongDeltaE *float64 `expr:"song_before_delta_e"` // for a song: CIEDE2000 between its mean colour and that of the song before, at equal luminance

	DarkS   *float64 `expr:"dark_s"`        // the longest time in it in which neither the stage nor a screen gives a camera anything
	DarkCue string   `expr:"dark_cue"`      // the cue in which that begins
	Flashes *float64 `expr:"flashes_per_s"` // the most flashes in any second of it

	HazeStart *float64 `expr:"haze_start_mg_m3"`       // haze in the air when it starts
	HazeEnd   *float64 `expr:"haze_end_mg_m3"`         // haze in the air when it ends
	HazeTen   *float64 `expr:"haze_ten_minutes_mg_m3"` // haze in the air ten minutes after its start
	HazeRuns  bool     `expr:"haze_machine_runs"`      // whether a haze machine is on in its last cue
	LongTalk  bool     `expr:"longer_talk_follows"`    // whether a talk or an interview of ten minutes or more, or of a length that nobody tells, comes after it
}

// Names returns the segment.
func (s *Segment) Names() []Name { return []Name{{"segment", s.SegmentName}} }

// Cue returns the number of its first cue, or "".
func (s *Segment) Cue() string {
	if len(s.looks) == 0 {
		return ""
	}
	return s.looks[0].Number
}

// Ref returns its line of the running order.
func (s *Segment) Ref() source.Ref { return s.segment.At }

// Edits changes a field of the segment.
func (s *Segment) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: s.segment.At, Field: field, Value: value}}
}

// fillMeant takes what the running order means, and that the dark is meant from
// the cue in which it begins: that is the one to ask.
func (s *Segment) fillMeant() {
	for i := range s.segment.Meant {
		if intent := &s.segment.Meant[i]; intent.For("") && !slices.Contains(s.Meant, intent.Intent) {
			s.Meant = append(s.Meant, intent.Intent)
		}
	}
	for _, look := range s.looks {
		if look.Number == s.DarkCue && slices.Contains(look.Meant, "black") && !slices.Contains(s.Meant, "black") {
			s.Meant = append(s.Meant, "black")
		}
	}
}

func measureSegments(e *evening.Evening, looks []*Look, changes []*Change, back *back) []*Segment {
	var segments []*Segment
	faces := facesOf(back.all.People)
	var song *Segment
	for k, sp := range e.Time.Spans {
		s := &Segment{
			segment: sp.Segment, span: sp, back: back, SegmentName: sp.Segment.Name, Kind: sp.Segment.Kind, Mood: sp.Segment.Mood,
			LookCount: len(sp.Looks), DurationS: sp.Length,
		}
		for _, i := range sp.Looks {
			s.looks = append(s.looks, looks[i])
		}
		s.fillTime(e, k)
		s.fillLight(e, sp)
		s.fillRuns(e, sp)
		s.fillCalls(e, looks, sp)
		s.fillDark(e, looks, sp)
		s.fillMeant()
		s.fillAir(e, sp)
		s.fillFlashes(changes, sp)
		if s.Kind == "song" {
			s.compareSongs(e, song)
			song = s
		} else {
			s.lacks("song_before_stops", "a song")
			s.lacks("song_before_delta_e", "a song")
		}
		s.Lamps = e.Dynamics.Lamps
		s.fillPicture(e, sp)
		s.faces = faces[sp.Segment]
		s.fillHues(e, sp)
		segments = append(segments, s)
	}
	comparePictures(segments)
	long := false
	for _, s := range slices.Backward(segments) {
		s.LongTalk = long
		long = long || evening.SpeaksLong(s.Kind) && (s.DurationS == nil || *s.DurationS >= evening.TalkS)
	}
	return segments
}

func (s *Segment) fillTime(e *evening.Evening, k int) {
	sp := e.Time.Spans[k]
	if sp.Missing == "" {
		s.StartS = new(sp.Start)
	} else {
		s.lacks("start_s", sp.Missing)
	}
	if s.DurationS == nil {
		s.lacks("duration_s", fmt.Sprintf("the duration of the segment %q", s.SegmentName))
	}
	if len(s.looks) > 0 {
		s.CuesText = fromTo(s.looks[0], s.looks[len(s.looks)-1])
	}
	assumed := 0
	for _, i := range sp.Looks {
		if phrase := e.Time.Moments[i].Missing; phrase != "" {
			s.lacks("assumed_time_count", phrase)
		}
		if e.Time.Moments[i].Assumed {
			assumed++
		}
	}
	if len(s.Why("assumed_time_count")) == 0 {
		s.Assumed = &assumed
	}
}

func (s *Segment) fillLight(e *evening.Evening, sp *evening.Span) {
	facts := []string{"mean_output_pct", "highest_output_pct", "lowest_output_pct", "range_stops", "near_peak_time_pct", "under_loud_stops"}
	lack := func(phrase string, names ...string) {
		for _, fact := range names {
			s.lacks(fact, phrase)
		}
	}
	list, missing := e.LightIn(sp)
	if e.Full <= 0 {
		_, lacks := e.Rig.FullOutput()
		missing = append(missing, lacks...)
		if len(missing) == 0 {
			missing = []string{"the patch: which channel is which fixture"}
		}
	}
	if len(missing) > 0 {
		for _, phrase := range missing {
			lack(phrase, facts...)
		}
		return
	}
	course, err := dynamics.New(list)
	if err != nil {
		lack("times and levels that can be added up", facts...)
		return
	}
	mean, ok1 := course.Mean()
	highest, ok2 := course.Max()
	if !ok1 || !ok2 {
		lack(fmt.Sprintf("a duration of the segment %q above zero", s.SegmentName), facts...)
		return
	}
	lowest := math.Inf(1)
	for _, p := range list {
		lowest = min(lowest, p.From, p.To)
	}
	s.MeanPct, s.HighestPct, s.LowestPct = e.Percent(mean), e.Percent(highest), e.Percent(lowest)
	if r, ok := course.Range(); ok {
		s.RangeStops = &r.Stops
	} else {
		lack(fmt.Sprintf("stage light in the segment %q", s.SegmentName), "range_stops")
	}
	if e.Peak > 0 {
		if above, ok := evening.ShareAbove(list, e.Peak*math.Exp2(-evening.NearStops-evening.StopSlack)); ok {
			s.NearPeakPct = new(100 * above)
		}
	} else {
		lack("a look that is lit", "near_peak_time_pct")
	}
	s.fillUnder(e, mean, highest)
}

// fillUnder holds the segment against the loud light of the show.
func (s *Segment) fillUnder(e *evening.Evening, mean, highest float64) {
	if e.Course == nil || e.AlikeTimes {
		for _, phrase := range e.NoCourse {
			s.lacks("under_loud_stops", phrase)
		}
		if e.AlikeTimes {
			for _, phrase := range e.Time.Missing() {
				s.lacks("under_loud_stops", phrase)
			}
		}
		return
	}
	r, ok := e.Loud, e.Ranged
	if !ok {
		s.lacks("under_loud_stops", "a look that is lit")
		return
	}
	if s.Under = evening.StopsApart(mean, r.High); s.Under == nil {
		s.lacks("under_loud_stops", fmt.Sprintf("stage light in the segment %q", s.SegmentName))
	}
}

// fillPicture tells of the picture without its key light.
func (s *Segment) fillPicture(e *evening.Evening, sp *evening.Span) {
	s.IsQuiet, s.IsLoud = evening.IsQuiet(s.segment) && !slices.ContainsFunc(s.looks, hasSilhouette), evening.IsLoud(s.segment)
	facts := []string{"picture_stops", "over_quiet_stops", "under_loudest_song_stops"}
	switch {
	case len(e.NoCourse) > 0:
		s.lackAll(facts, e.NoCourse...)
		return
	case e.AlikeTimes && len(sp.Looks) == 0:
		s.lackAll(facts, e.Time.Missing()...)
		return
	case e.Dynamics.Peak <= 0:
		s.NoPicture = true
		s.lackAll(facts, "a lamp that lights something else than faces")
		return
	}
	mean, ok := e.PictureIn(sp)
	if !ok {
		s.lackAll(facts, fmt.Sprintf("a time for every cue of the segment %q", s.SegmentName))
		return
	}
	s.picture = &mean
	s.Picture = evening.StopsApart(e.Dynamics.Peak+e.Dynamics.Black(), mean)
	if !e.Rig.Basis.Arriving {
		for _, fact := range facts {
			s.rests(fact, finding.Basis{Known: finding.Assumed, Rests: []string{"the light that leaves the lamps, wherever it lands"}})
		}
	}
}

// fillHues tells of the hues over the time of the segment.
func (s *Segment) fillHues(e *evening.Evening, sp *evening.Span) {
	var tints []colour.Tint
	facts := []string{"main_hue_count", "accent_hue_count", "main_hue_names", "lead_hue_count", "lead_hue_names"}
	var leads []colour.Tint
	for n, i := range sp.Looks {
		look := s.looks[n]
		if look.HueNames == nil {
			s.lackAll(facts, look.Why("hue_names")...)
			return
		}
		tints = append(tints, timed(look, e, i)...)
		if len(look.tints) > 0 {
			leads = append(leads, colour.Tint{Hue: look.tints[0].Hue, Flux: 1})
		}
	}
	mains, accents, names, _, ok := stage.HuesOver(tints)
	if !ok {
		s.lackAll(facts, fmt.Sprintf("light in the segment %q that can be added up", s.SegmentName))
		return
	}
	s.tints = tints
	s.SongMains, s.SongAccents, s.SongHues = &mains, &accents, new(spelling.List(names))
	count, names := stage.HuesApart(leads)
	s.LeadHues, s.LeadNames = &count, new(spelling.List(names))
}

// timed are the hues of a look, each with its light times the seconds for which it
// stands; every look for as long as any other where the times are not known.
func timed(look *Look, e *evening.Evening, i int) []colour.Tint {
	seconds := 1.0
	if wait, ok := e.Time.Until(i); ok && !e.AlikeTimes {
		seconds = max(wait, 0)
	}
	list := make([]colour.Tint, len(look.tints))
	for k, tint := range look.tints {
		list[k] = colour.Tint{Hue: tint.Hue, Flux: tint.Flux * seconds}
	}
	return list
}

// hasSilhouette reports whether somebody is meant to stand as a shape in a look.
func hasSilhouette(l *Look) bool {
	is := func(intent schema.Intent) bool { return intent.Intent == "silhouette" }
	return l.look.Segment != nil && slices.ContainsFunc(l.look.Segment.Meant, is) ||
		slices.ContainsFunc(l.look.Parts, func(c *schema.Cue) bool { return slices.ContainsFunc(c.Meant, is) })
}

// facesOf is the mean light on the faces of those who speak or lead in each segment, in
// lux, every look and face alike in stops; none where one of them is not known or dark.
func facesOf(people []*Person) map[*schema.Segment]*float64 {
	sums, counts := map[*schema.Segment]float64{}, map[*schema.Segment]float64{}
	for _, p := range people {
		segment := p.look.look.Segment
		if segment == nil || !p.Leads || p.LateS > 0 {
			continue
		}
		stops := math.NaN()
		if p.FaceLux != nil && *p.FaceLux > 0 {
			stops = math.Log2(*p.FaceLux)
		}
		sums[segment], counts[segment] = sums[segment]+stops, counts[segment]+1
	}
	means := map[*schema.Segment]*float64{}
	for segment, sum := range sums {
		if !math.IsNaN(sum) {
			means[segment] = new(math.Exp2(sum / counts[segment]))
		}
	}
	return means
}

// comparePictures holds the quiet segments against the loud ones.
func comparePictures(segments []*Segment) {
	brightest := func(of func(*Segment) bool, but *Segment) (best *Segment, any bool) {
		for _, s := range segments {
			if s == but || !of(s) {
				continue
			}
			any = true
			if s.picture != nil && (best == nil || *s.picture > *best.picture) {
				best = s
			}
		}
		return best, any
	}
	for _, s := range segments {
		quiet, hasQuiet := brightest(func(o *Segment) bool { return o.IsQuiet }, s)
		loud, _ := brightest(func(o *Segment) bool { return o.IsLoud }, s)
		s.HasQuiet = hasQuiet
		s.HasLoud = slices.ContainsFunc(segments, func(o *Segment) bool { return o != s && o.IsLoud && o.Mood != "middle" })
		s.compareLight(segments)
		if loud != nil && loud.faces != nil && s.faces != nil {
			s.FacesUnder = evening.StopsApart(*s.faces, *loud.faces)
		}
		if s.FacesUnder == nil {
			s.lacks("faces_under_loud_stops", "the light on the faces of those who lead in this segment and the loudest one")
		}
		if s.picture == nil {
			continue
		}
		for _, o := range segments {
			if o.picture != nil && o.LookCount > 0 { // of itself it is no stop under
				if under := evening.StopsApart(*o.picture, *s.picture); under != nil {
					s.UnderMost = max(s.UnderMost, *under)
				}
			}
		}
		if quiet != nil {
			s.OverQuiet = evening.StopsApart(*quiet.picture, *s.picture)
		} else {
			s.lacks("over_quiet_stops", "a quiet segment whose light is known")
		}
		if loud != nil {
			s.UnderLoud = evening.StopsApart(*s.picture, *loud.picture)
		} else {
			s.lacks("under_loudest_song_stops", "a loud segment whose light is known")
		}
	}
}

// compareLight holds all the light of a segment against that of those that are not quiet. A
// talk or an interview that says nothing of its mood has as much as people need who are seen.
func (s *Segment) compareLight(segments []*Segment) {
	for _, o := range segments {
		if o == s || o.Mood != "quiet" || o.Under == nil || s.Under == nil {
			continue
		}
		if over := *o.Under - *s.Under; s.OverCalm == nil || over < *s.OverCalm {
			s.OverCalm = &over
		}
	}
	if s.OverCalm == nil {
		s.lacks("light_over_quiet_stops", cmp.Or(strings.Join(s.Why("under_loud_stops"), ""), "a quiet segment whose light is known"))
	}
	if s.segment.Mood == "" && evening.IsQuiet(s.segment) && evening.Speaks(s.segment.Kind) {
		s.lacks("over_others_stops", "the mood of the segment")
		return
	}
	if s.Under == nil {
		s.lacks("over_others_stops", s.Why("under_loud_stops")...)
		return
	}
	for _, o := range segments {
		switch {
		case o == s || o.IsQuiet || o.LookCount == 0 || o.HighestPct != nil && *o.HighestPct == 0:
		case o.Under == nil:
			s.OverOthers = nil
			s.lacks("over_others_stops", o.Why("under_loud_stops")...)
			return
		default:
			if over := *o.Under - *s.Under; s.OverOthers == nil || over < *s.OverOthers {
				s.OverOthers = &over
			}
		}
	}
	if s.OverOthers == nil {
		s.lacks("over_others_stops", "a segment that is not quiet")
	}
}

// BringDownStops is by how many stops the wash of the segment has to come down for the show to
// have a range of so many stops; 0 if it need not, or if that is not known.
func (s *Segment) BringDownStops(rangeStops float64) float64 {
	e := s.back.evening
	if s.picture == nil || !e.Dynamics.OK || !s.IsQuiet || !evening.InSet(s.segment) {
		return 0
	}
	over := evening.StopsApart(e.Dynamics.Range.High*math.Exp2(-rangeStops), *s.picture)
	if over == nil {
		return 0
	}
	return max(0, *over)
}

// fillCalls counts what the hand has to do that runs the cues.
func (s *Segment) fillCalls(e *evening.Evening, looks []*Look, sp *evening.Span) {
	most, from, missing := e.CallsPerMinute(sp)
	if s.lacks("calls_per_minute", missing...); len(missing) > 0 {
		return
	}
	s.Calls = &most
	if from >= 0 {
		s.CallsCue = looks[from].Number
	}
	if s.Assumed != nil && *s.Assumed > 0 {
		s.rests("calls_per_minute", finding.Basis{Known: finding.Assumed, Rests: []string{"cues spread evenly over their segment, where their times are not said"}})
	}
}

// fillRuns tells of the hues of the segment, and of looks in a row that are alike.
func (s *Segment) fillRuns(e *evening.Evening, sp *evening.Span) {
	var names []string
	for _, look := range s.looks {
		if look.HueNames == nil {
			for _, phrase := range look.Why("hue_names") {
				s.lacks("hue_names", phrase)
			}
			continue
		}
		for _, name := range strings.FieldsFunc(strings.ReplaceAll(*look.HueNames, " and ", ", "), func(r rune) bool { return r == ',' }) {
			if name = strings.TrimSpace(name); name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(s.Why("hue_names")) == 0 {
		s.HueNames = new(spelling.List(names))
	}
	first, last, length, missing := e.AlikeRun(sp, e.Steps)
	if s.lacks("alike_run_looks", missing...); len(missing) > 0 {
		return
	}
	s.RunLooks = &length
	if length > 0 {
		s.RunCues = fromTo(s.looks[first], s.looks[last])
	}
}

// compareSongs tells a song from the one before.
func (s *Segment) compareSongs(e *evening.Evening, before *Segment) {
	switch {
	case before == nil:
		s.lacks("song_before_stops", "a song before this one")
		s.lacks("song_before_delta_e", "a song before this one")
		return
	case s.MeanPct == nil || before.MeanPct == nil:
		for _, phrase := range append(slices.Clone(s.Why("mean_output_pct")), before.Why("mean_output_pct")...) {
			s.lacks("song_before_stops", phrase)
		}
	default:
		if s.SongStops = evening.StopsApart(*before.MeanPct, *s.MeanPct); s.SongStops == nil {
			s.lacks("song_before_stops", "stage light in both songs")
		}
	}
	var a, b colour.XYZ
	for _, look := range before.looks {
		a = a.Add(e.Sums[look.look.Index])
	}
	for _, look := range s.looks {
		b = b.Add(e.Sums[look.look.Index])
	}
	if apart, ok := colour.Apart(a, b); ok {
		s.SongDeltaE = &apart
	} else {
		s.lacks("song_before_delta_e", "stage light in both songs")
	}
}

// fillDark tells of the longest time in which a camera sees nothing.
func (s *Segment) fillDark(e *evening.Evening, looks []*Look, sp *evening.Span) {
	seconds, look, missing := e.Darkest(sp)
	if s.lacks("dark_s", missing...); len(missing) > 0 {
		return
	}
	s.DarkS = &seconds
	if look >= 0 {
		s.DarkCue = looks[look].Number
	}
}

// fillFlashes takes the worst second of the segment's cues.
func (s *Segment) fillFlashes(changes []*Change, sp *evening.Span) {
	worst := 0.0
	for _, i := range sp.Looks {
		c := changes[i]
		if c.Flashes == nil {
			for _, phrase := range c.Why("flashes_per_s") {
				s.lacks("flashes_per_s", phrase)
			}
			continue
		}
		worst = max(worst, *c.Flashes)
	}
	if len(s.Why("flashes_per_s")) == 0 {
		s.Flashes = &worst
	}
}

// fillAir tells how much haze hangs in the segment.
func (s *Segment) fillAir(e *evening.Evening, sp *evening.Span) {
	tell := func(fact string, behind *float64) *float64 {
		if e.Air.Clear() {
			return new(0.0) // nothing ever makes haze
		}
		switch {
		case sp.Missing != "":
			s.lacks(fact, sp.Missing)
			return nil
		case behind == nil:
			s.lacks(fact, fmt.Sprintf("the duration of the segment %q", s.SegmentName))
			return nil
		}
		level, missing := e.Air.At(sp.Start + *behind)
		s.lacks(fact, missing...)
		s.restOnAirAt(fact, e.Air, level, sp.Start+*behind)
		return level
	}
	for _, f := range e.Air.Machines {
		s.HazeRuns = s.HazeRuns || len(sp.Looks) > 0 && e.Looks[sp.Looks[len(sp.Looks)-1]].State(f.Channel).Level > 0
	}
	s.HazeStart = tell("haze_start_mg_m3", new(0.0))
	s.HazeEnd = tell("haze_end_mg_m3", sp.Length)
	if sp.Length != nil && *sp.Length < evening.TalkS {
		s.lacks("haze_ten_minutes_mg_m3", fmt.Sprintf("ten minutes or more in the segment %q", s.SegmentName))
		return
	}
	s.HazeTen = tell("haze_ten_minutes_mg_m3", new(evening.TalkS))
}

// hazeOff is the last look from which on the air is down to so many mg/m3 ten minutes
// into the segment if all haze machines are off, and the settings that do it.
func (s *Segment) hazeOff(mgM3 float64) (look *Look, settings []evening.LampLevel) {
	if s.HazeTen == nil { // nobody can tell, or the segment is shorter
		return nil, nil
	}
	i, settings, ok := s.back.evening.Air.HazeOff(s.span.Start+evening.TalkS, mgM3)
	if !ok {
		return nil, nil
	}
	return s.back.all.Looks[i], settings
}

// HazeOff are the haze machines, to be off from the last cue on from which the air is
// down to so many mg/m3 ten minutes into the segment.
func (s *Segment) HazeOff(mgM3 float64) []*Level {
	_, settings := s.hazeOff(mgM3)
	return newPlaced(s.back.all.Looks, settings)
}

// HazeOffCue is the number of that cue, or "".
func (s *Segment) HazeOffCue(mgM3 float64) string {
	if look, _ := s.hazeOff(mgM3); look != nil {
		return look.Number
	}
	return ""
}

// fromTo names looks by their cues, as "4 to 9".
func fromTo(first, last *Look) string {
	if first.Number == last.Number {
		return first.Number
	}
	return first.Number + " to " + last.Number
}
