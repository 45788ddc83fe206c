package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
)

// evening is the show on the clock, with the light and the air over it.
type evening struct {
	rig    *rig
	looks  []*Look
	time   *timeline
	sums   []colour.XYZ      // the output of each look, with its colour
	others []*schema.Fixture // lights that are no stage lights

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

func newEvening(r *rig, looks []*Look, t *timeline) *evening {
	e := &evening{rig: r, looks: looks, time: t, sums: make([]colour.XYZ, len(looks)), others: r.otherLights(), slower: map[*schema.Effect]schema.Effect{}}
	for i, look := range looks {
		e.sums[i] = sumOf(look)
		e.peak = max(e.peak, e.sums[i].Y)
		e.emitted = max(e.emitted, emittedBy(look))
	}
	if full, missing := r.fullOutput(); len(missing) == 0 {
		e.full = full
	}
	for first := 0; first < len(looks); {
		last := first
		for last+1 < len(looks) && t.moments[last+1].clock == t.moments[first].clock {
			last++
		}
		s := r.stretchOf(t, looks, first, last, false)
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
	return known(100 * lumens / e.full)
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

// screenLight reports whether a screen shows something in a look. ok is false if
// its drive is not known.
func (l *Look) screenLight(r *rig) (lit, ok bool, missing string) {
	ok = true
	if r.show.Room == nil {
		return false, true, ""
	}
	for _, surface := range r.show.Room.Surfaces {
		if surface.Kind != "emissive" && surface.Kind != "projection" {
			continue
		}
		drive := drivePct(surface, l)
		switch {
		case drive == nil:
			ok, missing = false, "the drive of the screen \""+surface.Name+"\""
		case *drive > 0:
			return true, true, ""
		}
	}
	return false, ok, missing
}

// otherLights are the fixtures that give light without being stage lights:
// house lights and lamps that are part of the set.
func (r *rig) otherLights() []*schema.Fixture {
	var list []*schema.Fixture
	for _, f := range r.show.Patch {
		if t := r.types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) || f.Purpose == "haze" || r.stageLight(f) {
			continue
		}
		list = append(list, f)
	}
	return list
}

// stopsApart is how many stops b is over a; nil where one of them is dark.
func stopsApart(a, b float64) *float64 {
	if stops, ok := photometry.Stops(b, a); ok {
		return &stops
	}
	return nil
}
