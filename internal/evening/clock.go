package evening

import (
	"cmp"
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Clock is when every look begins, and when every segment runs.
//
// The evening's clock starts with the first segment, and the segments of the
// running order follow each other by their durations. Within a segment a cue
// stands at its at_s; a follow-on stands follow_s behind the cue that it follows,
// whatever its own at_s says, because a machine keeps it; and the first cue of a
// segment, if nothing else is said, begins with it. All other cues are assumed to
// be spread evenly: between two known times (or the last of them and the end of
// the segment) the waits are equal, where a chain of follow-ons counts as one cue
// of its own length. Such times are marked as assumed.
//
// Where the running order does not say how long a segment lasts, the clock is
// lost from there on. Times that hang together then have a clock of their own, so
// that a chain of follow-ons is known even where the time of day is not.
type Clock struct {
	Moments []Moment // by look
	Spans   []*Span  // by segment, in the running order
	bySeg   map[*schema.Segment]*Span
	looks   []tracking.Look
}

// Moment is when a look's cue is called.
type Moment struct {
	At      float64 // s on its clock
	Clock   int     // 0 is the evening's; moments on different clocks cannot be compared
	Assumed bool    // the time is spread, not said
	chained bool    // it follows the look before by itself, so the time between them is said
	Missing string  // what would put it on the evening's clock; "" if it is there
}

// Span is when a segment runs.
type Span struct {
	Segment *schema.Segment
	Start   float64  // s on its clock
	Length  *float64 // s; nil if the running order does not say
	clock   int
	Missing string // what would put it on the evening's clock; "" if it is there
	trouble string // why the times within it cannot be told; "" if they can
	Looks   []int
}

// maxSeconds bounds every time of a show: a hundred days, far beyond any evening
// and well inside what sums of seconds can hold.
const maxSeconds = 8_640_000

// seconds reads a time that may be missing; ok is false for one that no clock can show.
func seconds(given *float64) (s float64, ok bool) {
	if given == nil || !(*given >= 0 && *given <= maxSeconds) {
		return 0, false
	}
	return *given, true
}

// NewClock puts the looks of a show on the clock.
func NewClock(show *schema.Show, looks []tracking.Look) *Clock {
	t := &Clock{Moments: make([]Moment, len(looks)), bySeg: map[*schema.Segment]*Span{}, looks: looks}
	t.placeSegments(show)
	clocks := len(t.Spans) + 1 // above those of the segments
	newClock := func() int { clocks++; return clocks }
	for i := range looks {
		if s := t.bySeg[looks[i].Segment]; s != nil {
			s.Looks = append(s.Looks, i)
			continue
		}
		phrase := "the running order, with the duration of each segment"
		if len(t.Spans) > 0 {
			phrase = fmt.Sprintf("the segment of cue %s in the running order", looks[i].Number)
		}
		t.Moments[i] = Moment{Clock: newClock(), Missing: phrase}
		if wait, ok := t.Follows(i); ok {
			before := t.Moments[i-1]
			t.Moments[i] = Moment{At: before.At + wait, Clock: before.Clock, Assumed: before.Assumed, chained: true, Missing: before.Missing}
		}
	}
	for _, s := range t.Spans {
		t.placeLooks(s, newClock)
	}
	t.refuseBackwards(newClock)
	return t
}

// placeSegments adds up the durations.
func (t *Clock) placeSegments(show *schema.Show) {
	known := map[schema.CueNumber]bool{}
	for _, cue := range show.Cues {
		known[cue.Number] = true
	}
	at, clock, missing := 0.0, 0, ""
	for i, segment := range show.Order {
		s := &Span{Segment: segment, Start: at, clock: clock, Missing: missing}
		t.Spans = append(t.Spans, s)
		if t.bySeg[segment] == nil {
			t.bySeg[segment] = s
		}
		if segment.StartCue != nil && !known[*segment.StartCue] {
			s.trouble = fmt.Sprintf("cue %s, with which the segment %q is said to start", *segment.StartCue, segment.Name)
		}
		length, ok := seconds(segment.DurationS)
		if ok && at+length <= maxSeconds {
			s.Length = &length
			at += length
			continue
		}
		// From here on the evening's clock is lost; what follows has one of its own.
		at, clock = 0, i+1
		if missing == "" {
			missing = fmt.Sprintf("the duration of the segment %q", segment.Name)
		}
	}
}

// Follows reports whether a look starts by itself, and how long after the one before.
func (t *Clock) Follows(i int) (wait float64, ok bool) {
	if i == 0 {
		return 0, false
	}
	for _, part := range t.looks[i-1].Parts {
		if wait, ok := seconds(part.FollowS); ok {
			return wait, true
		}
	}
	return 0, false
}

// saidAt is the time that a look's cue gives within its segment.
func (t *Clock) saidAt(i int) (s float64, ok bool) {
	for _, part := range t.looks[i].Parts {
		if s, ok := seconds(part.AtS); ok {
			return s, true
		}
	}
	return 0, false
}

// unit is a cue with the follow-ons that hang on it.
type unit struct {
	looks   []int
	offsets []float64 // of each look behind the first
	at      float64   // in the segment
	said    bool      // at is known, not spread
	assumed bool
}

func (u *unit) length() float64 { return u.offsets[len(u.offsets)-1] }

// placeLooks gives the looks of a segment their times.
func (t *Clock) placeLooks(s *Span, newClock func() int) {
	units := t.unitsOf(s)
	if s.trouble == "" {
		s.trouble = s.spread(units)
	}
	for _, u := range units {
		clock, start, missing := s.clock, s.Start, s.Missing
		if s.trouble != "" {
			clock, start, missing, u.at = newClock(), 0, s.trouble, 0
			if before := u.looks[0] - 1; before >= 0 && len(u.looks) > 0 {
				if wait, ok := t.Follows(u.looks[0]); ok {
					clock, start = t.Moments[before].Clock, t.Moments[before].At+wait
					missing = cmp.Or(t.Moments[before].Missing, missing)
				}
			}
		}
		for k, i := range u.looks {
			t.Moments[i] = Moment{At: start + u.at + u.offsets[k], Clock: clock, Assumed: u.assumed, chained: k > 0, Missing: missing}
		}
	}
}

// unitsOf puts the looks of a segment together with their follow-ons.
func (t *Clock) unitsOf(s *Span) []*unit {
	var units []*unit
	for k, i := range s.Looks {
		wait, chained := t.Follows(i)
		if chained && k > 0 && s.Looks[k-1] == i-1 {
			u := units[len(units)-1]
			u.looks, u.offsets = append(u.looks, i), append(u.offsets, u.length()+wait)
			continue
		}
		u := &unit{looks: []int{i}, offsets: []float64{0}}
		at, said := t.saidAt(i)
		switch {
		case chained && i > 0 && k == 0 && t.Moments[i-1].Clock == s.clock && t.Moments[i-1].At+wait >= s.Start-crossing:
			u.at, u.said = t.Moments[i-1].At+wait-s.Start, true
		case said:
			u.at, u.said = at, true
		case k == 0:
			u.said = true
			u.assumed = s.Segment.StartCue == nil || *s.Segment.StartCue != t.looks[i].Number
		}
		units = append(units, u)
	}
	return units
}

// crossing is how long before its segment a follow-on may start it, in seconds:
// the last cue of one song can begin the next a little early.
const crossing = 60

// slack is for rounding: a thousandth of a second is nothing on a stage.
const slack = 1e-3

// spread gives the units without a time theirs; it returns what is missing to do so.
func (s *Span) spread(units []*unit) (missing string) {
	name := s.Segment.Name
	end := 0.0 // of the unit before
	for k := 0; k < len(units); {
		u := units[k]
		if u.said {
			if u.at < end-slack && k > 0 {
				return fmt.Sprintf("times of the cues in the segment %q that go forwards", name)
			}
			end = u.at + u.length()
			k++
			continue
		}
		last, sum := k, 0.0
		for last < len(units) && !units[last].said {
			sum += units[last].length()
			last++
		}
		var until float64
		if last < len(units) {
			until = units[last].at
		} else if s.Length != nil {
			until = *s.Length
		} else {
			return fmt.Sprintf("the duration of the segment %q", name)
		}
		left := until - end - sum
		if left < -slack {
			return fmt.Sprintf("times of the cues in the segment %q that go forwards and fit into it", name)
		}
		wait := max(0, left) / float64(last-k+1)
		for ; k < last; k++ {
			units[k].at, units[k].assumed = end+wait, true
			end = units[k].at + units[k].length()
		}
	}
	if s.Length != nil && end > *s.Length+slack {
		return fmt.Sprintf("times of the cues in the segment %q that fit into its duration", name)
	}
	return ""
}

// refuseBackwards takes looks off the evening's clock that would run before one
// with a lower number: in a list that is played in order they cannot.
func (t *Clock) refuseBackwards(newClock func() int) {
	latest, of := math.Inf(-1), 0
	for i := range t.Moments {
		m := &t.Moments[i]
		switch {
		case m.Clock != 0:
		case m.At < latest-slack:
			m.Missing = fmt.Sprintf("a running order in which cue %s comes before cue %s", t.looks[of].Number, t.looks[i].Number)
			m.Clock, m.At = newClock(), 0
		case m.At > latest:
			latest, of = m.At, i
		}
	}
}

// Until returns how long a look stands before the next one is called, or until
// the running order ends; ok is false if that is not known.
func (t *Clock) Until(i int) (s float64, ok bool) {
	m := t.Moments[i]
	if i+1 < len(t.Moments) {
		next := t.Moments[i+1]
		return next.At - m.At, next.Clock == m.Clock
	}
	end, ok := t.End()
	return end - m.At, ok && m.Clock == 0
}

// End is when the running order ends on the evening's clock.
func (t *Clock) End() (s float64, ok bool) {
	if len(t.Spans) == 0 {
		return 0, false
	}
	last := t.Spans[len(t.Spans)-1]
	if last.clock != 0 || last.Length == nil {
		return 0, false
	}
	return last.Start + *last.Length, true
}

// Missing lists what would put all looks and the end on the evening's clock.
func (t *Clock) Missing() []string {
	var list []string
	seen := map[string]bool{}
	add := func(phrase string) {
		if phrase != "" && !seen[phrase] {
			seen[phrase] = true
			list = append(list, phrase)
		}
	}
	for _, s := range t.Spans {
		if s.Length == nil {
			add(fmt.Sprintf("the duration of the segment %q", s.Segment.Name))
		}
		add(s.trouble)
	}
	for _, m := range t.Moments {
		add(m.Missing)
	}
	return list
}

// pace is how a look's cue moves.
type pace struct{ in, out, delay float64 }

// paceOf is that of one part of a cue: a missing time is 0, a missing out time
// is the in time, as the show file has it.
func paceOf(cue *schema.Cue) pace {
	var p pace
	p.in, _ = seconds(cue.InS)
	p.out = p.in
	if out, ok := seconds(cue.OutS); ok {
		p.out = out
	}
	p.delay, _ = seconds(cue.DelayS)
	return p
}

// paces are those of a cue's parts.
type paces struct {
	look  *tracking.Look
	first pace
	parts map[*schema.Setting]pace // of each setting; nil for a cue of one part
}

func pacesOf(look *tracking.Look) paces {
	p := paces{look: look, first: paceOf(look.Parts[0])}
	if len(look.Parts) > 1 {
		p.parts = map[*schema.Setting]pace{}
		for _, part := range look.Parts {
			own := paceOf(part)
			for _, setting := range part.Set {
				p.parts[setting] = own
			}
		}
	}
	return p
}

// of is the pace of a channel: that of the part that sets its level.
func (p *paces) of(channel int) pace {
	if p.parts != nil {
		if own, ok := p.parts[p.look.SetBy(channel, tracking.LevelBy).Setting]; ok {
			return own
		}
	}
	return p.first
}
