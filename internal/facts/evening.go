package facts

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
)

// evening is the show on the clock, with the light and the air over it.
type evening struct {
	rig    *rig
	looks  []*stageLook
	time   *timeline
	sums   []colour.XYZ      // the output of each look, with its colour
	others []*schema.Fixture // lights that are no stage lights

	steps     []step // into each look; nothing for the first
	stretches []*stretch
	knots     [][]knot // of each stretch
	peak      float64  // output of the brightest look, lumens
	emitted   float64  // the most light that leaves the lamps in a look, lumens
	full      float64  // output of the stage rig with everything at full, lumens; 0 if unknown

	course     *dynamics.Course // the lit part of the set; nil if it is not known
	loud       dynamics.Range   // of the course
	ranged     bool             // whether it has one
	noCourse   []string         // what would make it known
	alikeTimes bool             // every look was taken as equally long

	brightestOf map[*schema.Fixture]float64 // the most light of each fixture; worked out when asked for

	slower map[*schema.Effect]schema.Effect // effects slowed down to three flashes a second

	air *airCourses
}

func newEvening(r *rig, looks []*stageLook, t *timeline) *evening {
	e := &evening{rig: r, looks: looks, time: t, sums: make([]colour.XYZ, len(looks)), others: r.otherLights(), slower: map[*schema.Effect]schema.Effect{}}
	for i, look := range looks {
		e.sums[i] = look.sum()
		e.peak = max(e.peak, e.sums[i].Y)
		e.emitted = max(e.emitted, look.emitted())
	}
	if full, missing := r.fullOutput(); len(missing) == 0 {
		e.full = full
	}
	e.steps = make([]step, len(looks))
	for i := 1; i < len(looks); i++ {
		e.steps[i] = e.stepTo(i)
	}
	for first := 0; first < len(looks); {
		last := first
		for last+1 < len(looks) && t.moments[last+1].clock == t.moments[first].clock {
			last++
		}
		s := stretchOf(r, t, looks, first, last, false)
		e.stretches = append(e.stretches, s)
		e.knots = append(e.knots, s.knots())
		first = last + 1
	}
	e.measureCourse()
	e.air = newAirCourses(e)
	return e
}

// measureCourse works out the light over the set: all segments but those in
// which every evening is darker than the rest, the opening while people come in,
// films and changeovers. Without a running order that gives times every look is
// taken as equally long.
func (e *evening) measureCourse() {
	for _, s := range e.stretches {
		for _, phrase := range s.missing {
			if !slices.Contains(e.noCourse, phrase) {
				e.noCourse = append(e.noCourse, phrase)
			}
		}
	}
	if len(e.looks) == 0 {
		e.noCourse = append(e.noCourse, "the cue list")
	}
	if len(e.noCourse) > 0 {
		return
	}
	var list []dynamics.Piece
	if end, ok := e.time.end(); ok && len(e.stretches) == 1 && e.time.moments[0].clock == 0 {
		list = e.setPieces(end)
	} else {
		e.alikeTimes = true
		list = e.alikePieces()
	}
	list = lit(list)
	if len(list) == 0 {
		e.noCourse = append(e.noCourse, "a cue list with at least one look that is lit")
		return
	}
	course, err := dynamics.New(list)
	if err != nil {
		e.noCourse = append(e.noCourse, "times and levels that can be added up")
		return
	}
	e.course = course
	e.loud, e.ranged = course.Range()
}

// outsideSet are the kinds of segment that are no part of the set.
var outsideSet = []string{"opening", "film", "changeover"}

func inSet(segment *schema.Segment) bool {
	return segment == nil || !slices.Contains(outsideSet, segment.Kind)
}

// setPieces are the lines of the light in the segments of the set; in all of
// them if none is of the set.
func (e *evening) setPieces(end float64) []dynamics.Piece {
	var list []dynamics.Piece
	begin := e.stretches[0].begin
	for _, s := range e.time.spans {
		if inSet(s.segment) {
			list = append(list, pieces(e.knots[0], max(begin, s.start), s.start+*s.length)...)
		}
	}
	if len(list) == 0 {
		list = pieces(e.knots[0], begin, end)
	}
	return list
}

// alikePieces are the looks of the set, each for as long as any other.
func (e *evening) alikePieces() []dynamics.Piece {
	var set, all []dynamics.Piece
	for i, look := range e.looks {
		p := dynamics.Piece{Start: float64(i), End: float64(i + 1), From: e.sums[i].Y, To: e.sums[i].Y}
		all = append(all, p)
		if inSet(look.look.Segment) {
			set = append(set, p)
		}
	}
	if len(set) == 0 {
		return all
	}
	return set
}

// percent is light as percent of everything at full.
func (e *evening) percent(lumens float64) *float64 {
	if e.full <= 0 {
		return nil
	}
	return new(100 * lumens / e.full)
}

// piecesBetween are the lines of the light on the evening's clock; none if part
// of the time is not covered.
func (e *evening) piecesBetween(from, to float64) []dynamics.Piece {
	var list []dynamics.Piece
	if len(e.stretches) > 0 && e.time.moments[0].clock == 0 {
		from = max(from, e.stretches[0].begin) // nobody knows what the stage did before its first cue
	}
	for k, s := range e.stretches {
		if e.time.moments[s.first].clock != 0 || len(s.missing) > 0 {
			continue
		}
		end := to
		if s.last+1 < len(e.looks) {
			// What comes behind it on another clock may begin at any time.
			knots := e.knots[k]
			end = min(to, max(e.time.moments[s.last].at, knots[len(knots)-1].t))
		}
		list = append(list, pieces(e.knots[k], max(from, s.begin), end)...)
	}
	if to < from {
		return nil
	}
	covered := 0.0
	for _, p := range list {
		covered += p.End - p.Start
	}
	if covered < (to-from)-slack*float64(len(list)+1) {
		return nil
	}
	return list
}

// stageBlack is how far under the brightest look of the show a stage counts as
// black to a camera that is set for faces: a video camera shows about six to
// seven stops between its middle grey's white and its noise. Common practice, no
// source.
const stageBlack = 1.0 / 128 // seven stops

// stopsApart is how many stops b is over a; nil where one of them is dark.
func stopsApart(a, b float64) *float64 {
	if stops, ok := photometry.Stops(b, a); ok {
		return &stops
	}
	return nil
}

// What counts as near, and as alike.
const (
	// nearStops is how near the most light of a show counts as near it: a stop, half
	// of the light, is where a louder moment begins to be seen as louder. Common
	// practice, no source.
	nearStops = 1.0
	// stopSlack is for rounding: half of the light is a stop, whatever fades led to it.
	stopSlack = 1e-9
	// alikeStops and alikeColour are how near two looks are that count as alike: a
	// third of a stop is the step of a camera's dials, and a CIEDE2000 of 5 is seen
	// side by side but not from memory. Common practice, no source.
	alikeStops  = 1.0 / 3
	alikeColour = 5.0
	// alikeMoved is the part of the light, in percent, that may come, go or change
	// place between two looks that count as alike. Common practice, no source.
	alikeMoved = 20.0
)

// lightIn is the light over a segment's time, or what is missing.
func (e *evening) lightIn(sp *span) (list []dynamics.Piece, missing []string) {
	switch {
	case sp.missing != "":
		return nil, []string{sp.missing}
	case sp.length == nil:
		return nil, []string{fmt.Sprintf("the duration of the segment %q", sp.segment.Name)}
	case sp.trouble != "":
		return nil, []string{sp.trouble}
	}
	for _, st := range e.stretches {
		for _, phrase := range st.missing {
			missing = addMissing(missing, phrase)
		}
	}
	if len(missing) > 0 {
		return nil, missing
	}
	if list = e.piecesBetween(sp.start, sp.start+*sp.length); len(list) == 0 {
		return nil, []string{fmt.Sprintf("a time for every cue of the segment %q", sp.segment.Name)}
	}
	return list, nil
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

// alikeRun finds the most looks in a row of a segment that are alike: where the run
// begins among the segment's looks, and how long it is. steps are those of all
// looks; it says what is missing if one of them is not known.
func (e *evening) alikeRun(sp *span, steps []step) (first, length int, missing []string) {
	// A run may begin at any look: what breaks one may be part of a longer one that
	// begins within it.
	for k := 0; k+length < len(sp.looks); k++ {
		run := 1
		anchor := sp.looks[k]
		low, high := e.sums[anchor], e.sums[anchor]
		for k+run < len(sp.looks) {
			i := sp.looks[k+run]
			s := &steps[i]
			if len(s.missing) > 0 {
				return 0, 0, s.missing
			}
			sum := e.sums[i]
			if sum.Y < low.Y {
				low = sum
			}
			if sum.Y > high.Y {
				high = sum
			}
			if sp.looks[k+run-1] != i-1 || s.movedPct > alikeMoved || s.screens > 0 || !alike(e.sums[anchor], sum, low, high) {
				break
			}
			run++
		}
		if run > length {
			first, length = k, run
		}
	}
	return first, length, nil
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

// darkest finds the longest time of a segment in which a camera sees nothing: the
// stage is seven stops and more under the brightest look, and no screen shows
// anything. look is the one in which that begins, -1 if it never is dark.
func (e *evening) darkest(sp *span) (seconds float64, look int, missing []string) {
	look = -1
	var dark []int
	for _, i := range e.standing(sp) {
		isDark, lack := e.isDark(e.looks[i])
		missing = addMissing(missing, lack)
		if isDark {
			dark = append(dark, i)
		}
	}
	if len(missing) > 0 || len(dark) == 0 {
		return 0, -1, missing
	}
	missing = addMissing(addMissing(missing, sp.missing), sp.trouble)
	if sp.length == nil {
		missing = addMissing(missing, fmt.Sprintf("the duration of the segment %q", sp.segment.Name))
	}
	if len(missing) > 0 {
		return 0, -1, missing
	}
	run := 0.0
	begins, last := -1, -2
	for _, i := range dark {
		m := e.time.moments[i]
		wait, ok := e.time.until(i)
		if m.clock != 0 || !ok {
			return 0, -1, []string{fmt.Sprintf("a time for every cue of the segment %q", sp.segment.Name)}
		}
		// It is dark from the end of the fade out to the start of the next fade in.
		start := m.at
		if last != i-1 && i > 0 {
			start = e.fadedBy(i)
		}
		from, to := max(start, sp.start), min(m.at+wait, sp.start+*sp.length)
		if last != i-1 {
			run, begins = 0, i
		}
		run += max(0, to-from)
		if begins == look || run > seconds+slack { // of two that are equally long the first
			seconds, look = run, begins
		}
		last = i
	}
	return seconds, look, nil
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
func (e *evening) isDark(look *stageLook) (dark bool, missing string) {
	if !e.rig.hasPatch() {
		return false, needPatch
	}
	sum := 0.0
	for _, lamp := range look.lamps {
		if lamp.missing != "" {
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
