package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/air"
	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Segment is one item of the running order, with the light and the air in it.
type Segment struct {
	unknowns
	segment *schema.Segment
	looks   []*Look

	SegmentName string   `expr:"name"`               // its name
	Kind        string   `expr:"kind"`               // song, talk, prayer..., or ""
	Mood        string   `expr:"mood"`               // quiet, middle, loud, or ""
	Purpose     string   `expr:"purpose"`            // what the running order says it is for, or ""
	StartS      *float64 `expr:"start_s"`            // when it starts, in seconds from the start of the running order
	DurationS   *float64 `expr:"duration_s"`         // how long it is planned to last
	LookCount   int      `expr:"look_count"`         // how many looks it has of its own
	CuesText    string   `expr:"cues_text"`          // from which cue to which, as "4 to 9"
	Assumed     *int     `expr:"assumed_time_count"` // how many of its cues have no time of their own and are spread evenly

	MeanPct     *float64 `expr:"mean_output_pct"`    // mean light of the stage rig over its time, as percent of everything at full
	HighestPct  *float64 `expr:"highest_output_pct"` // the most light in it
	LowestPct   *float64 `expr:"lowest_output_pct"`  // the least light in it
	RangeStops  *float64 `expr:"range_stops"`        // from its quiet to its loud light: 10th to 95th percentile over time, gated
	NearPeakPct *float64 `expr:"near_peak_time_pct"` // share of its time within a stop of the brightest look of the show
	Under       *float64 `expr:"under_loud_stops"`   // how far its mean light is under the loud light of the show
	DownBy      *float64 `expr:"bring_down_stops"`   // how far its wash has to come down for the show to have a range of 2 stops; 0 if it need not
	HueNames    *string  `expr:"hue_names"`          // the hues of its looks in words

	RunLooks *int   `expr:"alike_run_looks"` // the most looks in a row that are alike: within a third of a stop, 5 of CIEDE2000, and a fifth of their light in the same place
	RunCues  string `expr:"alike_run_cues"`  // from which cue to which that is

	SongStops  *float64 `expr:"song_before_stops"`   // for a song: how much brighter its mean is than that of the song before
	SongDeltaE *float64 `expr:"song_before_delta_e"` // for a song: CIEDE2000 between its mean colour and that of the song before, at equal luminance

	DarkS   *float64 `expr:"dark_s"`        // the longest time in it in which neither the stage nor a screen gives a camera anything
	DarkCue string   `expr:"dark_cue"`      // the cue in which that begins
	Flashes *float64 `expr:"flashes_per_s"` // the most flashes in any second of it

	HazeStart *float64  `expr:"haze_start_mg_m3"`       // haze in the air when it starts
	HazeEnd   *float64  `expr:"haze_end_mg_m3"`         // haze in the air when it ends
	HazeTen   *float64  `expr:"haze_ten_minutes_mg_m3"` // haze in the air ten minutes after its start
	HazeOff   []*Placed `expr:"haze_off"`               // the haze machines, to be off from the last cue on from which the air is clear ten minutes into it
	HazeOffAt string    `expr:"haze_off_cue"`           // the number of that cue, or ""
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

// Limits that facts share with rules.
const (
	// nearStops is how near the most light of a show counts as near it: a stop, half
	// of the light, is where a louder moment begins to be seen as louder. Common
	// practice, no source.
	nearStops = 1.0
	// stopSlack is for rounding: half of the light is a stop, whatever fades led to it.
	stopSlack = 1e-9
	// rangeStops is the range that bring_down_stops is worked out for; the rule
	// dynamics/narrow-range has the same number as its limit. Two stops, a fourth of
	// the light, is what a camera and an eye take for another scene. Common practice,
	// no source.
	rangeStops = 2.0
	// alikeStops and alikeColour are how near two looks are that count as alike: a
	// third of a stop is the step of a camera's dials, and a CIEDE2000 of 5 is seen
	// side by side but not from memory. Common practice, no source.
	alikeStops  = 1.0 / 3
	alikeColour = 5.0
	// alikeMoved is the part of the light, in percent, that may come, go or change
	// place between two looks that count as alike. Common practice, no source.
	alikeMoved = 20.0
	// talkS is how far into a talk the air is looked at: ten minutes.
	talkS = 600.0
)

func measureSegments(e *evening, changes []*Change) []*Segment {
	var segments []*Segment
	var song *Segment
	for k, sp := range e.time.spans {
		s := &Segment{
			segment: sp.segment, SegmentName: sp.segment.Name, Kind: sp.segment.Kind, Mood: sp.segment.Mood,
			Purpose: sp.segment.Purpose, LookCount: len(sp.looks), DurationS: sp.length,
		}
		for _, i := range sp.looks {
			s.looks = append(s.looks, e.looks[i])
		}
		s.measureTime(e, k)
		s.measureLight(e, sp)
		s.measureRuns(e, changes, sp)
		s.measureDark(e, sp)
		s.measureAir(e, sp)
		s.measureFlashes(changes, sp)
		if s.Kind == "song" {
			s.compareSongs(song)
			song = s
		} else {
			s.lacks("song_before_stops", "a song")
			s.lacks("song_before_delta_e", "a song")
		}
		segments = append(segments, s)
	}
	return segments
}

func (s *Segment) measureTime(e *evening, k int) {
	sp := e.time.spans[k]
	if sp.missing == "" {
		s.StartS = known(sp.start)
	} else {
		s.lacks("start_s", sp.missing)
	}
	if s.DurationS == nil {
		s.lacks("duration_s", fmt.Sprintf("the duration of the segment %q", s.SegmentName))
	}
	if len(s.looks) > 0 {
		s.CuesText = s.looks[0].Number
		if last := s.looks[len(s.looks)-1].Number; last != s.CuesText {
			s.CuesText += " to " + last
		}
	}
	assumed := 0
	for _, i := range sp.looks {
		if phrase := e.time.moments[i].missing; phrase != "" {
			s.lacks("assumed_time_count", phrase)
		}
		if e.time.moments[i].assumed {
			assumed++
		}
	}
	if len(s.Why("assumed_time_count")) == 0 {
		s.Assumed = &assumed
	}
}

// lightOver is the light over the segment's time; nil with what is missing.
func (s *Segment) lightOver(e *evening, sp *span) (list []dynamics.Piece, missing []string) {
	switch {
	case sp.missing != "":
		return nil, []string{sp.missing}
	case sp.length == nil:
		return nil, []string{fmt.Sprintf("the duration of the segment %q", s.SegmentName)}
	case sp.trouble != "":
		return nil, []string{sp.trouble}
	}
	for _, st := range e.stretches {
		for _, phrase := range st.missing {
			if !slices.Contains(missing, phrase) {
				missing = append(missing, phrase)
			}
		}
	}
	if len(missing) > 0 {
		return nil, missing
	}
	if list = e.piecesBetween(sp.start, sp.start+*sp.length); len(list) == 0 {
		return nil, []string{fmt.Sprintf("a time for every cue of the segment %q", s.SegmentName)}
	}
	return list, nil
}

func (s *Segment) measureLight(e *evening, sp *span) {
	facts := []string{"mean_output_pct", "highest_output_pct", "lowest_output_pct", "range_stops", "near_peak_time_pct", "under_loud_stops", "bring_down_stops"}
	lack := func(phrase string, names ...string) {
		for _, fact := range names {
			s.lacks(fact, phrase)
		}
	}
	list, missing := s.lightOver(e, sp)
	if e.full <= 0 {
		_, lacks := e.rig.fullOutput()
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
	s.MeanPct, s.HighestPct, s.LowestPct = e.percent(mean), e.percent(highest), e.percent(lowest)
	if r, ok := course.Range(); ok {
		s.RangeStops = &r.Stops
	} else {
		lack(fmt.Sprintf("stage light in the segment %q", s.SegmentName), "range_stops")
	}
	if e.peak > 0 {
		if above, ok := shareAbove(list, e.peak*math.Exp2(-nearStops-stopSlack)); ok {
			s.NearPeakPct = known(100 * above)
		}
	} else {
		lack("a look that is lit", "near_peak_time_pct")
	}
	s.measureUnder(e, mean, highest)
}

// shareAbove is the share of time in which lines are at or above a value.
func shareAbove(list []dynamics.Piece, y float64) (share float64, ok bool) {
	total, above := 0.0, 0.0
	for _, p := range list {
		long := p.End - p.Start
		total += long
		low, high := min(p.From, p.To), max(p.From, p.To)
		switch {
		case low >= y:
			above += long
		case high >= y:
			above += long * (high - y) / (high - low)
		}
	}
	return above / total, total > 0
}

// measureUnder holds the segment against the loud light of the show.
func (s *Segment) measureUnder(e *evening, mean, highest float64) {
	if e.course == nil || e.alikeTimes {
		for _, phrase := range e.noCourse {
			s.lacks("under_loud_stops", phrase)
			s.lacks("bring_down_stops", phrase)
		}
		if e.alikeTimes {
			for _, phrase := range e.time.missing() {
				s.lacks("under_loud_stops", phrase)
				s.lacks("bring_down_stops", phrase)
			}
		}
		return
	}
	r, ok := e.loud, e.ranged
	if !ok {
		s.lacks("under_loud_stops", "a look that is lit")
		s.lacks("bring_down_stops", "a look that is lit")
		return
	}
	if s.Under = stopsApart(mean, r.High); s.Under == nil {
		s.lacks("under_loud_stops", fmt.Sprintf("stage light in the segment %q", s.SegmentName))
	}
	down := 0.0
	if s.quiet() && inSet(s.segment) {
		if over := stopsApart(r.High*math.Exp2(-rangeStops), mean); over != nil {
			down = max(0, *over)
		}
	}
	s.DownBy = &down
}

// quiet reports whether the segment is one that should be quieter than the
// others: it says so, or it is of a kind that mostly is.
func (s *Segment) quiet() bool {
	if s.Mood != "" {
		return s.Mood == "quiet"
	}
	return slices.Contains([]string{"prayer", "reading", "talk", "communion", "interview"}, s.Kind)
}

// measureRuns finds looks in a row that are alike.
func (s *Segment) measureRuns(e *evening, changes []*Change, sp *span) {
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
		s.HueNames = known(joinWords(names))
	}
	longest, first := 0, 0
	// A run may begin at any look: what breaks one may be part of a longer one that
	// begins within it.
	for k := 0; k+longest < len(sp.looks); k++ {
		run := 1
		anchor := sp.looks[k]
		low, high := e.sums[anchor], e.sums[anchor]
		for k+run < len(sp.looks) {
			i := sp.looks[k+run]
			c := changes[i]
			if c.MovedPc == nil {
				for _, phrase := range c.Why("light_moved_pct") {
					s.lacks("alike_run_looks", phrase)
				}
				return
			}
			sum := e.sums[i]
			if sum.Y < low.Y {
				low = sum
			}
			if sum.Y > high.Y {
				high = sum
			}
			if sp.looks[k+run-1] != i-1 || *c.MovedPc > alikeMoved || c.Screens > 0 || !alike(e.sums[anchor], sum, low, high) {
				break
			}
			run++
		}
		if run > longest {
			longest, first = run, k
		}
	}
	s.RunLooks = &longest
	if longest > 0 {
		s.RunCues = s.looks[first].Number
		if longest > 1 {
			s.RunCues += " to " + s.looks[first+longest-1].Number
		}
	}
}

// alike reports whether a look is like the first of its run, and as bright as all of it.
func alike(anchor, look, low, high colour.XYZ) bool {
	if high.Y == 0 {
		return true // darkness is like darkness
	}
	stops, ok := dynamics.Stops(low.Y, high.Y)
	if !ok || stops > alikeStops {
		return false
	}
	apart, ok := colour.Apart(anchor, look)
	return ok && apart <= alikeColour
}

// compareSongs tells a song from the one before.
func (s *Segment) compareSongs(before *Segment) {
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
		if s.SongStops = stopsApart(*before.MeanPct, *s.MeanPct); s.SongStops == nil {
			s.lacks("song_before_stops", "stage light in both songs")
		}
	}
	var a, b colour.XYZ
	for _, look := range before.looks {
		a = a.Add(sumOf(look))
	}
	for _, look := range s.looks {
		b = b.Add(sumOf(look))
	}
	if apart, ok := colour.Apart(a, b); ok {
		s.SongDeltaE = &apart
	} else {
		s.lacks("song_before_delta_e", "stage light in both songs")
	}
}

// measureDark finds the longest time in which a camera sees nothing: the stage is
// seven stops and more under the brightest look, and no screen shows anything.
func (s *Segment) measureDark(e *evening, sp *span) {
	var dark []int
	var missing []string
	for _, i := range e.standing(sp) {
		look := e.looks[i]
		isDark, lack := e.isDark(look)
		if lack != "" {
			missing = append(missing, lack)
		}
		if isDark {
			dark = append(dark, i)
		}
	}
	switch {
	case len(missing) > 0:
		for _, phrase := range missing {
			s.lacks("dark_s", phrase)
		}
		return
	case len(dark) == 0:
		s.DarkS = known(0.0)
		return
	case sp.missing != "" || sp.length == nil || sp.trouble != "":
		for _, phrase := range []string{sp.missing, sp.trouble} {
			if phrase != "" {
				s.lacks("dark_s", phrase)
			}
		}
		if sp.length == nil {
			s.lacks("dark_s", fmt.Sprintf("the duration of the segment %q", s.SegmentName))
		}
		return
	}
	longest, run := 0.0, 0.0
	begins := ""
	last := -2
	for _, i := range dark {
		m := e.time.moments[i]
		wait, ok := e.time.until(i)
		if m.clock != 0 || !ok {
			s.lacks("dark_s", fmt.Sprintf("a time for every cue of the segment %q", s.SegmentName))
			return
		}
		// It is dark from the end of the fade out to the start of the next fade in.
		start := m.at
		if last != i-1 && i > 0 {
			start = e.fadedBy(i)
		}
		from, to := max(start, sp.start), min(m.at+wait, sp.start+*sp.length)
		if last != i-1 {
			run, begins = 0, e.looks[i].Number
		}
		run += max(0, to-from)
		if begins == s.DarkCue || run > longest+slack { // of two that are equally long the first
			longest, s.DarkCue = run, begins
		}
		last = i
	}
	s.DarkS = &longest
}

// standing lists the looks that are there at some time of a segment: its own, and
// the one that stands when it begins if none of its own begins with it.
func (e *evening) standing(sp *span) []int {
	list := slices.Clone(sp.looks)
	if len(list) > 0 && e.time.moments[list[0]].at <= sp.start+slack {
		return list
	}
	if sp.missing != "" {
		return list
	}
	before := -1
	for i, m := range e.time.moments {
		if m.clock == 0 && m.at <= sp.start {
			before = i
		}
	}
	if before >= 0 && !slices.Contains(list, before) {
		list = slices.Insert(list, 0, before)
	}
	return list
}

// fadedBy is when the last lamp that a look takes out is out.
func (e *evening) fadedBy(i int) float64 {
	end := e.time.moments[i].at
	paces := pacesOf(e.looks[i].look)
	e.rig.differ(e.looks[i-1], e.looks[i], func(_ int, p pair) {
		_, stop := timesOf(paces, e.looks[i].look, p, e.time.moments[i].at)
		end = max(end, stop)
	})
	return end
}

// isDark reports whether a camera sees nothing in a look.
func (e *evening) isDark(look *Look) (dark bool, missing string) {
	if !e.rig.hasPatch() {
		return false, needPatch
	}
	sum := 0.0
	for _, lamp := range look.lamps {
		if lamp.light.missing != "" {
			return false, "" // something is on
		}
		sum += lamp.output()
	}
	if e.peak > 0 && sum >= e.peak*stageBlack {
		return false, ""
	}
	for _, f := range e.others {
		if f.Purpose == "practical" && look.look.State(f.Channel).Level > 0 {
			return false, ""
		}
	}
	lit, ok, lack := look.screenLight(e.rig)
	if !ok {
		return false, lack
	}
	return !lit, ""
}

// measureFlashes takes the worst second of the segment's cues.
func (s *Segment) measureFlashes(changes []*Change, sp *span) {
	worst := 0.0
	for _, i := range sp.looks {
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

// measureAir tells how much haze hangs in the segment.
func (s *Segment) measureAir(e *evening, sp *span) {
	tell := func(fact string, behind *float64) *float64 {
		if e.air.first >= len(e.looks) {
			return known(0.0) // nothing ever makes haze
		}
		switch {
		case sp.missing != "":
			s.lacks(fact, sp.missing)
			return nil
		case behind == nil:
			s.lacks(fact, fmt.Sprintf("the duration of the segment %q", s.SegmentName))
			return nil
		}
		level, missing := e.air.at(sp.start + *behind)
		for _, phrase := range missing {
			s.lacks(fact, phrase)
		}
		return level
	}
	s.HazeStart = tell("haze_start_mg_m3", known(0.0))
	s.HazeEnd = tell("haze_end_mg_m3", sp.length)
	if sp.length != nil && *sp.length < talkS {
		s.lacks("haze_ten_minutes_mg_m3", fmt.Sprintf("ten minutes or more in the segment %q", s.SegmentName))
		return
	}
	s.HazeTen = tell("haze_ten_minutes_mg_m3", known(talkS))
	if s.HazeTen != nil && *s.HazeTen > air.BeamsFaint {
		s.proposeOff(e, sp.start+talkS)
	}
}

// proposeOff finds the last cue from which the air is clear by a time if all haze
// machines are off from there on.
func (s *Segment) proposeOff(e *evening, at float64) {
	if e.air.proposed >= maxProposals {
		return
	}
	e.air.proposed++
	last := -1
	for i, m := range e.time.moments {
		if m.clock == 0 && m.at <= at {
			last = i
		}
	}
	clears := func(k int) bool {
		sum := 0.0
		for _, fluid := range e.air.byFluid {
			if !fluid.used {
				continue
			}
			level, ok := e.air.levelIf(fluid, at, func(look int, set float64) float64 {
				if look >= k {
					return 0
				}
				return set
			})
			if !ok {
				return false
			}
			sum += level
		}
		return sum <= air.BeamsFaint
	}
	if last < 0 || !clears(0) {
		return
	}
	low, high := 0, last+1 // clear from low on, not from high on
	for high-low > 1 {
		if middle := (low + high) / 2; clears(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	s.HazeOffAt = e.looks[low].Number
	for i := low; i <= last; i++ {
		look := e.looks[i].look
		for _, f := range e.air.machines {
			state := look.State(f.Channel)
			if i == low && state.Level > 0 || i > low && state.Level > 0 && state.LevelBy.Look == i {
				s.HazeOff = append(s.HazeOff, &Placed{look, f.Channel, 0})
			}
		}
	}
}
