package stage

import (
	"slices"
	"strings"
	"time"

	"github.com/cueproof/cueproof/schema"
)

// People are the places on which somebody is in the look: as the cue says, else as
// its segment does.
func (l *LookLight) People() []string {
	for _, part := range slices.Backward(l.Resolved.Parts) {
		if part.People != nil {
			return part.People
		}
	}
	if l.Resolved.Segment == nil {
		return nil
	}
	return l.Resolved.Segment.People
}

// Leads are the places of those who speak or lead in the look. said is false where
// neither the cue nor the segment names them, and then it is everybody.
func (l *LookLight) Leads() (places []string, said bool) {
	for _, part := range slices.Backward(l.Resolved.Parts) {
		if part.Lead != nil {
			return part.Lead, true
		}
	}
	if s := l.Resolved.Segment; s != nil && s.Lead != nil {
		return s.Lead, true
	}
	return l.People(), false
}

// Walks are the paths that somebody walks in the look. said is false where neither the cue
// nor the segment tells whether anybody does.
func (l *LookLight) Walks() (list []string, said bool) {
	for _, part := range l.Resolved.Parts {
		list = append(list, part.Walks...)
		said = said || part.Walks != nil
	}
	if s := l.Resolved.Segment; len(list) == 0 && s != nil {
		list = s.Walks
		said = said || s.Walks != nil
	}
	return list, said
}

// Ambient is the light from all around on an upright plane at a face, with every
// fixture off.
type Ambient struct {
	Lux    float64
	Kelvin *float64
	Known  bool // the show says so; else it is taken as none
}

// AmbientAt is the ambient light on a place in a look. Of what the room says, what
// is about the place comes before what is about all of them, and either before the
// one number for the whole day; of what is about a time of day, only what fits to
// the start of the segment counts, and where that is not known the darkest.
func (r *Rig) AmbientAt(look *LookLight, place string) Ambient {
	room := r.Show.Room
	if room == nil {
		return Ambient{}
	}
	clock, known := r.clockOf(look)
	var best *schema.Ambient
	rank := -1
	for _, a := range room.Ambient {
		if a.FaceLx == nil || a.Place != "" && a.Place != place || known && !during(clock, a) {
			continue
		}
		mine := 0
		if a.Place != "" {
			mine = 1
		}
		if mine > rank || mine == rank && *a.FaceLx < *best.FaceLx {
			best, rank = a, mine
		}
	}
	switch {
	case best != nil:
		return Ambient{*best.FaceLx, best.WhiteK, true}
	case room.AmbientLx != nil:
		return Ambient{*room.AmbientLx, nil, true}
	}
	return Ambient{}
}

// clockOf is the time of day at which the segment of a look begins, as far as the
// show's start and the durations of the segments before tell it.
func (r *Rig) clockOf(look *LookLight) (at time.Duration, ok bool) {
	start, ok := clock(r.Show.StartsAt)
	if !ok || look.Resolved.Segment == nil {
		return 0, false
	}
	for _, segment := range r.Show.Order {
		if segment == look.Resolved.Segment {
			return start, true
		}
		if segment.DurationS == nil {
			return 0, false
		}
		start += time.Duration(*segment.DurationS * float64(time.Second))
	}
	return 0, false
}

// clock reads a time of day, as "18:15".
func clock(text string) (at time.Duration, ok bool) {
	t, err := time.Parse("15:04", strings.TrimSpace(text))
	if err != nil {
		return 0, false
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, true
}

// during reports whether a time of day is within that of an ambient light; a time
// that ends before it begins goes over midnight.
func during(at time.Duration, a *schema.Ambient) bool {
	at %= 24 * time.Hour
	from, limited := clock(a.From)
	until, ends := clock(a.Until)
	switch {
	case limited && ends && until < from:
		return at >= from || at < until
	case limited && at < from, ends && at >= until:
		return false
	}
	return true
}
