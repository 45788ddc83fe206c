package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// A song comes back to its looks. Where all channels and screens do what they did before,
// for the same people in a part of the evening like that one, everything that is measured
// is the same, and only the first such look is measured.

// firsts tells of each look which one is measured for it: mostly itself.
func (m *Measured) firsts(show *schema.Show, looks []tracking.Look) []int {
	if m.slowly || len(show.Readings) > 0 || show.Room != nil && len(show.Room.Ambient) > 0 { // of one cue, or at a time of day
		each := make([]int, len(looks))
		for i := range each {
			each[i] = i
		}
		return each
	}
	return tracking.Firsts(looks, func(first, i int) bool { return m.Looks[first].isLike(m.Looks[i]) })
}

// isLike reports whether all that is measured of two looks is the same if their channels
// and screens do the same.
func (l *Look) isLike(other *Look) bool {
	a, b := &stage.LookLight{Resolved: l.look}, &stage.LookLight{Resolved: other.look}
	means := func(part *schema.Cue) bool { return len(part.Meant) > 0 }
	if slices.ContainsFunc(l.look.Parts, means) || slices.ContainsFunc(other.look.Parts, means) || !sameSegment(l.look.Segment, other.look.Segment) {
		return false
	}
	leads, said := a.Leads()
	otherLeads, otherSaid := b.Leads()
	walks, told := a.Walks()
	otherWalks, otherTold := b.Walks()
	return slices.Equal(a.People(), b.People()) && slices.Equal(leads, otherLeads) && said == otherSaid &&
		slices.Equal(walks, otherWalks) && told == otherTold &&
		slices.Equal(l.coming, other.coming) && slices.Equal(l.moving, other.moving) && len(l.early)+len(other.early) == 0 && l.passes == other.passes
}

// sameSegment reports whether two segments ask the same of a look, but for who is there.
func sameSegment(a, b *schema.Segment) bool {
	if a == b {
		return true
	}
	return a != nil && b != nil && a.Kind == b.Kind && a.Mood == b.Mood && len(a.Meant)+len(b.Meant) == 0 && slices.Equal(a.Palette, b.Palette)
}

// repeat takes over what was measured of the first look like this one.
func (l *Look) repeat(first *Look, people []*Person, showings []*Showing) ([]*Person, []*Showing) {
	first.lend()
	for _, p := range people {
		p.lend()
	}
	for _, s := range showings {
		s.lend()
	}
	return l.as(first, people, showings)
}

// as makes a look what another one is, with copies of its people and screens, but for its
// own name and place in the evening.
func (l *Look) as(old *Look, people []*Person, showings []*Showing) (ps []*Person, ss []*Showing) {
	now := *old
	now.look, now.back = l.look, l.back
	now.cueWords, now.segmentWords, now.around = l.cueWords, l.segmentWords, l.around
	now.from = nil
	now.lend()
	*l = now
	copies := make([]Person, len(people))
	ps = make([]*Person, len(people))
	for n, p := range people {
		copied := &copies[n]
		*copied = *p
		copied.look, copied.from = l, nil
		if copied.lend(); copied.LateS <= 0 {
			copied.Number, copied.Segment = l.Number, l.SegmentName
		}
		for _, one := range []**Person{&l.shaded, &l.dimmest, &l.brightest, &l.darker, &l.brighter} {
			if *one == p {
				*one = copied
			}
		}
		ps[n] = copied
	}
	for _, s := range showings {
		copied := *s
		copied.look, copied.from, copied.Number, copied.Segment = l, nil, l.Number, l.SegmentName
		copied.lend()
		ss = append(ss, &copied)
	}
	return ps, ss
}
