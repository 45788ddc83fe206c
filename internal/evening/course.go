// Package evening is the show on the clock: when each cue is called, how the light
// gets from one look to the next, what flashes, and what hangs in the air.
//
// In go the looks of a [stage.Rig] and a [Clock], out comes an [Evening]: steps
// between looks that stand side by side, the course of the light over the set, the
// flashes of each look, and the haze at any time. Times that the running order does
// not give are spread and say so; where the clock is lost, phrases say what would
// give it back. The air has its ways back beside it, with the haze to aim at as an
// argument ([Airs.HazeLevels], [Airs.HazeStart], [Airs.HazeOff]). A newcomer's
// mistake would be to compare two moments without looking whether they are on one
// clock.
package evening

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Evening is the show on the clock, with the light and the air over it.
type Evening struct {
	Rig    *stage.Rig
	Looks  []tracking.Look
	Time   *Clock
	Sums   []colour.XYZ      // the output of each look, with its colour
	given  []float64         // all light that leaves the lamps in each look, lumens
	ups    []stage.Ups       // how far the systems are up in each look
	unsure []bool            // looks with a lamp whose light is not known
	others []*schema.Fixture // lights that are no stage lights

	Steps     []*Step   // into each look; nothing happens in the one into the first, and those in which the same happens are one
	finished  []float64 // when the last lamp of each has finished, on the clock of its look
	Stretches []*Stretch
	knots     [][]Knot // of each stretch of several looks
	Peak      float64  // output of the brightest look, lumens
	channel   float64  // the most that any look gives the red, green or blue of a camera, as [colour.XYZ.Channel] has it
	emitted   float64  // the most light that leaves the lamps in a look, lumens
	Full      float64  // output of the stage rig with everything at full, lumens; 0 if unknown

	Course     *dynamics.Course // the lit part of the set; nil if it is not known
	Loud       dynamics.Range   // of the course
	Ranged     bool             // whether it has one
	NoCourse   []string         // what would make it known
	AlikeTimes bool             // every look was taken as equally long

	Dynamics Dynamics

	Flashes []*LookFlashes            // of each look; those that flash alike have it together
	slower  map[slowKey]schema.Effect // effects at other rates
	sweeps  sweeps                    // runs through hues that were counted

	flashing flashingStates

	Air *Airs
}

// NewEvening puts the looks that the rig was made for on the clock. before is the evening
// of a show of which this one is a changed copy, or nil. steady tells which looks have the
// same light in both; nil: nobody knows. What stands still in them is taken over.
func NewEvening(r *stage.Rig, looks []tracking.Look, t *Clock, before *Evening, steady *stage.Steady) *Evening {
	e := &Evening{
		Rig: r, Looks: looks, Time: t, Sums: make([]colour.XYZ, len(looks)), given: make([]float64, len(looks)), ups: make([]stage.Ups, len(looks)), unsure: make([]bool, len(looks)), Steps: make([]*Step, len(looks)), finished: make([]float64, len(looks)),
		Dynamics: newDynamics(r, len(looks)), others: r.OtherLights(), slower: map[slowKey]schema.Effect{},
	}
	if full, missing := r.FullOutput(); len(missing) == 0 {
		e.Full = full
	}
	if steady != nil {
		e.walkFrom(before, steady.Looks)
	} else {
		e.walk()
	}
	e.measureCourse()
	e.measureDynamics()
	e.Air = NewAirCourses(e)
	e.Flashes = e.countFlashes(before, steady != nil)
	return e
}

// walk measures the looks one after the other, and what happens between them.
func (e *Evening) walk() {
	w := e.Rig.WalkTogether()
	before, look := &stage.LookLight{}, &stage.LookLight{}
	var s *stretcher
	known := steps{}
	for i := range e.Looks {
		w.To(&e.Looks[i], look)
		e.measure(i, before, look, known)
		if i == 0 || e.Time.Moments[i].Clock != e.Time.Moments[i-1].Clock {
			if s != nil {
				e.Stretches = append(e.Stretches, s.done(i-1))
			}
			s = e.begin(i, look, false)
		} else {
			s.next(i, before, look)
		}
		before, look = look, before
	}
	if s != nil {
		e.Stretches = append(e.Stretches, s.done(len(e.Looks)-1))
	}
	e.addUp()
}

// measure takes down the light of a look and the step into it.
func (e *Evening) measure(i int, before, look *stage.LookLight, known steps) {
	e.Sums[i], e.given[i], e.ups[i] = look.Sum(), look.Emitted(), look.Ups(e.Rig)
	d := &e.Dynamics
	d.Of[i], d.Luminous[i] = look.Picture()
	d.ups[i] = look.PictureUp(d.Lamps)
	e.unsure[i] = slices.ContainsFunc(look.Lamps, func(l *stage.Lamp) bool { return l.Missing != "" })
	if i == 0 {
		e.Steps[i] = &Step{}
	} else {
		step, finished := e.stepTo(i, before, look)
		e.Steps[i], e.finished[i] = known.intern(step), finished
	}
}

// addUp works out what the looks have in common.
func (e *Evening) addUp() {
	for i := range e.Looks {
		e.Peak, e.emitted = max(e.Peak, e.Sums[i].Y), max(e.emitted, e.given[i])
		e.channel = max(e.channel, e.Sums[i].Channel())
	}
	for k, s := range e.Stretches {
		if s.first < s.last {
			if e.knots == nil {
				e.knots = make([][]Knot, len(e.Stretches))
			}
			e.knots[k] = s.Knots()
		}
	}
}

// Knots are those of a stretch.
func (e *Evening) Knots(k int) []Knot {
	if s := e.Stretches[k]; s.first == s.last { // there may be as many of them as cues
		return s.Knots()
	}
	return e.knots[k]
}

// measureCourse works out the light over the set: all segments but those in
// which every evening is darker than the rest, the opening while people come in,
// films and changeovers. Without a running order that gives times every look is
// taken as equally long.
func (e *Evening) measureCourse() {
	e.NoCourse = e.missing()
	if len(e.Looks) == 0 {
		e.NoCourse = append(e.NoCourse, "the cue list")
	}
	if len(e.NoCourse) > 0 {
		return
	}
	var list []dynamics.Piece
	if end, ok := e.Time.End(); ok && len(e.Stretches) == 1 && e.Time.Moments[0].Clock == 0 {
		list = e.setPieces(end)
	} else {
		e.AlikeTimes = true
		list = e.alikePieces()
	}
	list = lit(list)
	if len(list) == 0 {
		e.NoCourse = append(e.NoCourse, "a cue list with at least one look that is lit")
		return
	}
	course, err := dynamics.New(list)
	if err != nil {
		e.NoCourse = append(e.NoCourse, "times and levels that can be added up")
		return
	}
	e.Course = course
	e.Loud, e.Ranged = course.Range()
}

// outsideSet are the kinds of segment that are no part of the set.
var outsideSet = []string{"opening", "film", "changeover"}

// InSet reports whether a segment belongs to the set whose range of light is judged; one that nobody described does.
func InSet(segment *schema.Segment) bool {
	return segment == nil || !slices.Contains(outsideSet, segment.Kind)
}

// setPieces are the lines of the light in the segments of the set; in all of
// them if none is of the set.
func (e *Evening) setPieces(end float64) []dynamics.Piece {
	var list []dynamics.Piece
	begin := e.Stretches[0].begin
	for _, s := range e.Time.Spans {
		if InSet(s.Segment) {
			list = append(list, pieces(e.Knots(0), max(begin, s.Start), s.Start+*s.Length)...)
		}
	}
	if len(list) == 0 {
		list = pieces(e.Knots(0), begin, end)
	}
	return list
}

// alikePieces are the looks of the set, each for as long as any other.
func (e *Evening) alikePieces() []dynamics.Piece {
	var set, all []dynamics.Piece
	for i := range e.Looks {
		look := &e.Looks[i]
		p := dynamics.Piece{Start: float64(i), End: float64(i + 1), From: e.Sums[i].Y, To: e.Sums[i].Y}
		all = append(all, p)
		if InSet(look.Segment) {
			set = append(set, p)
		}
	}
	if len(set) == 0 {
		return all
	}
	return set
}

// Percent is light as percent of everything at full.
func (e *Evening) Percent(lumens float64) *float64 {
	if e.Full <= 0 {
		return nil
	}
	return new(100 * lumens / e.Full)
}

// PiecesBetween are the lines of the light on the evening's clock; none if part
// of the time is not covered.
func (e *Evening) PiecesBetween(from, to float64) []dynamics.Piece {
	var list []dynamics.Piece
	if len(e.Stretches) > 0 && e.Time.Moments[0].Clock == 0 {
		from = max(from, e.Stretches[0].begin) // nobody knows what the stage did before its first cue
	}
	for k, s := range e.Stretches {
		if e.Time.Moments[s.first].Clock != 0 || len(s.missing) > 0 {
			continue
		}
		end := to
		if s.last+1 < len(e.Looks) {
			// What comes behind it on another clock may begin at any time.
			knots := e.Knots(k)
			end = min(to, max(e.Time.Moments[s.last].At, knots[len(knots)-1].T))
		}
		list = append(list, pieces(e.Knots(k), max(from, s.begin), end)...)
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
// black to a camera that is set for faces, in that of red, green and blue in which it has
// most: a video camera shows about six to seven stops between its middle grey's white and
// its noise. Common practice, no source.
const stageBlack = 1.0 / 128 // seven stops

// StopsApart is how many stops b is over a; nil where one of them is dark.
func StopsApart(a, b float64) *float64 {
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
	NearStops = 1.0
	// stopSlack is for rounding: half of the light is a stop, whatever fades led to it.
	StopSlack = 1e-9
	// alikeStops and alikeColour are how near two looks are that count as alike: a
	// third of a stop is the step of a camera's dials, and a CIEDE2000 of 5 is seen
	// side by side but not from memory. Common practice, no source.
	alikeStops  = 1.0 / 3
	alikeColour = 5.0
	// alikeUp is how far a system may go up or down beside them, as a part of its lamps at
	// full. Common practice, no source.
	alikeUp = 0.1
	// alikeMoved is the part of the light, in percent, that may come, go or change
	// place between two looks that count as alike. Common practice, no source.
	alikeMoved = 20.0
)

// missing is why the light over time is not known; nothing if it is.
func (e *Evening) missing() []string {
	var m stage.Missing
	for _, s := range e.Stretches {
		m.Add(s.missing...)
	}
	return m.Phrases
}

// LightIn is the light over a segment's time, or what is missing.
func (e *Evening) LightIn(sp *Span) (list []dynamics.Piece, missing []string) {
	switch {
	case sp.Missing != "":
		return nil, []string{sp.Missing}
	case sp.Length == nil:
		return nil, []string{fmt.Sprintf("the duration of the segment %q", sp.Segment.Name)}
	case sp.trouble != "":
		return nil, []string{sp.trouble}
	}
	if missing = e.missing(); len(missing) > 0 {
		return nil, missing
	}
	if list = e.PiecesBetween(sp.Start, sp.Start+*sp.Length); len(list) == 0 {
		return nil, []string{fmt.Sprintf("a time for every cue of the segment %q", sp.Segment.Name)}
	}
	return list, nil
}

// ShareAbove is the share of time in which lines are at or above a value.
func ShareAbove(list []dynamics.Piece, y float64) (share float64, ok bool) {
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

// AlikeRun finds the most looks in a row of a segment that are alike: where the run
// begins and ends among the segment's looks, and how long it is, without cues that
// do nothing. steps are those of all looks; it says what is missing if one of them is
// not known.
func (e *Evening) AlikeRun(sp *Span, steps []*Step) (first, last, length int, missing []string) {
	// A run may begin at any look: what breaks one may be part of a longer one that
	// begins within it.
	for k := 0; k+length < len(sp.Looks); k++ {
		run, still := 1, 0
		anchor := sp.Looks[k]
		low, high := e.Sums[anchor], e.Sums[anchor]
		for k+run < len(sp.Looks) && sp.Looks[k+run] == sp.Looks[k+run-1]+1 {
			i := sp.Looks[k+run]
			s := steps[i]
			if len(s.Missing) > 0 {
				return 0, 0, 0, s.Missing
			}
			sum := e.Sums[i]
			if sum.Y < low.Y {
				low = sum
			}
			if sum.Y > high.Y {
				high = sum
			}
			if s.Lamps+s.Screens == 0 { // nothing happens, which is another matter
				still++
				run++
				continue
			}
			if s.MovedPct > alikeMoved || s.Screens > 0 || !alike(e.Sums[anchor], sum, low, high) || !upAlike(e.ups[anchor], e.ups[i]) {
				break
			}
			run++
		}
		if run-still > length {
			first, length, last = k, run-still, k+run-1
		}
	}
	return first, last, length, nil
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

// upAlike reports whether no system of a look is seen to go up or down against another: keys
// that hold drown in the sum of all light that the beams have doubled.
func upAlike(a, b stage.Ups) bool {
	for i := range a {
		low, high := min(a[i], b[i]), max(a[i], b[i])
		if high-low > alikeUp+slack && high > low*math.Exp2(alikeStops)+slack {
			return false
		}
	}
	return true
}

// Darkest finds the longest time of a segment in which a camera sees nothing: the
// stage is seven stops and more under the brightest look, and no screen shows
// anything. look is the one in which that begins, -1 if it never is dark.
func (e *Evening) Darkest(sp *Span) (seconds float64, look int, missing []string) {
	look = -1
	var dark []int
	for _, i := range e.standing(sp) {
		isDark, lack := e.isDark(i)
		missing = stage.AddMissing(missing, lack)
		if isDark {
			dark = append(dark, i)
		}
	}
	if len(missing) > 0 || len(dark) == 0 {
		return 0, -1, missing
	}
	missing = stage.AddMissing(stage.AddMissing(missing, sp.Missing), sp.trouble)
	if sp.Length == nil {
		missing = stage.AddMissing(missing, fmt.Sprintf("the duration of the segment %q", sp.Segment.Name))
	}
	if len(missing) > 0 {
		return 0, -1, missing
	}
	run := 0.0
	begins, last := -1, -2
	for _, i := range dark {
		m := e.Time.Moments[i]
		wait, ok := e.Time.Until(i)
		if m.Clock != 0 || !ok {
			return 0, -1, []string{fmt.Sprintf("a time for every cue of the segment %q", sp.Segment.Name)}
		}
		// It is dark from the end of the fade out to the start of the next fade in.
		start := m.At
		if last != i-1 && i > 0 {
			start = e.finished[i]
		}
		from, to := max(start, sp.Start), min(m.At+wait, sp.Start+*sp.Length)
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
func (e *Evening) standing(sp *Span) []int {
	list := slices.Clone(sp.Looks)
	if len(list) > 0 && e.Time.Moments[list[0]].At <= sp.Start+slack {
		return list
	}
	if sp.Missing != "" {
		return list
	}
	before := -1
	for i, m := range e.Time.Moments {
		if m.Clock == 0 && m.At <= sp.Start {
			before = i
		}
	}
	if before >= 0 && !slices.Contains(list, before) {
		list = slices.Insert(list, 0, before)
	}
	return list
}

// isDark reports whether a camera sees nothing in a look: whoever stands in daylight is seen without a lamp.
func (e *Evening) isDark(i int) (dark bool, missing string) {
	if !e.Rig.HasPatch() {
		return false, stage.NeedPatch
	}
	if e.unsure[i] {
		return false, "" // something is on
	}
	if e.channel > 0 && e.Sums[i].Channel() >= e.channel*stageBlack { // a low blue is little to eyes and plain to a camera
		return false, ""
	}
	look := &e.Looks[i]
	if e.Rig.AmbientAt(&stage.LookLight{Resolved: look}, "").Lux >= stage.LeastTold {
		return false, ""
	}
	for _, f := range e.others {
		if f.Purpose == "practical" && look.State(f.Channel).Level > 0 {
			return false, ""
		}
	}
	lit, ok, lack := stage.ScreenLight(e.Rig, look)
	if !ok {
		return false, lack
	}
	return !lit, ""
}
