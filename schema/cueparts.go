package schema

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"

	"github.com/cueproof/cueproof/internal/source"
)

// cueNumbers checks the cues that share a number: parts of one cue, or the same
// cue twice.
func (c *crossCheck) cueNumbers() {
	same := map[CueNumber][]*Cue{}
	var several []CueNumber
	for _, cue := range c.Cues {
		if !cue.Numbered() {
			c.tooFine(cue.At, "cue", "cues")
			continue
		}
		if same[cue.Number] = append(same[cue.Number], cue); len(same[cue.Number]) == 2 {
			several = append(several, cue.Number)
		}
	}
	for _, number := range several {
		parts := slices.Clone(same[number])
		slices.SortStableFunc(parts, func(a, b *Cue) int { return cmp.Compare(a.part(), b.part()) })
		c.cueTwice(parts)
		c.cueParts(parts)
	}
}

// hasNumber reports whether the number of the cue that stands somewhere can be
// read; a cue without one has number 0, which a cue may have.
func hasNumber(cue source.Ref) bool {
	given, ok := cue.Get("cue")
	return ok && new(CueNumber).read(given)
}

// part returns the part of the cue, 0 for a cue without parts.
func (c *Cue) part() int {
	if c.Part == nil {
		return 0
	}
	return *c.Part
}

// cueTwice takes the cues of one number, sorted by part.
func (c *crossCheck) cueTwice(parts []*Cue) {
	for i, cue := range parts {
		if i == 0 || cue.part() != parts[i-1].part() || i > 1 && cue.part() == parts[i-2].part() {
			continue // not twice, or said before
		}
		what := "cue " + cue.Number.String()
		if cue.Part != nil {
			what = fmt.Sprintf("part %d of %s", *cue.Part, what)
		}
		f := finding.Finding{
			Subjects: []finding.Subject{about("cue", cue.Number.String())}, Detail: what,
			Message: what + " stands more than once in the cue list; they are read as one cue, and where they differ the last one wins.",
			Hint:    "delete the one that is not meant, or give it a number of its own",
		}
		if first := parts[i-1]; !first.At.IsZero() {
			f.Related = []finding.Related{{Message: "the first one", Place: fieldPlace(first.At, "cue")}}
		}
		c.say("cue-twice", "cues", cue.At, "cue", f)
	}
}

// cueParts notes that a cue comes in parts, and where two of them set the
// same thing of the same channel.
func (c *crossCheck) cueParts(parts []*Cue) {
	distinct := slices.CompactFunc(slices.Clone(parts), func(a, b *Cue) bool { return a.part() == b.part() })
	if len(distinct) < 2 {
		return
	}
	by := []finding.Subject{about("cue", parts[0].Number.String())}
	c.say("cue-parts", "cues", parts[0].At, "cue", finding.Finding{
		Level: finding.Note, Subjects: by,
		Message: fmt.Sprintf("cue %s comes in %d parts; they are read as one cue, and later parts win.", parts[0].Number, len(distinct)),
	})
	claims := map[string][]claim{}
	for _, cue := range parts {
		for _, set := range cue.Set {
			spans, err := c.selections.spans(set.Channels)
			if err != nil {
				continue
			}
			for _, attribute := range set.attributes() {
				for _, s := range spans {
					claims[attribute] = append(claims[attribute], claim{s, cue})
				}
			}
		}
	}
	for _, f := range FieldsOf(OfSetting) {
		attribute := f.Key
		if shared, a, b := sharedBy(claims[attribute]); len(shared) > 0 {
			c.say("cue-parts", "cues", b.At, "cue", finding.Finding{
				Level: finding.Note, Subjects: by, Detail: attribute,
				Message: fmt.Sprintf("several parts of cue %s set the %s of channels %s, first parts %d and %d; the later part wins.",
					parts[0].Number, attribute, source.Shorten(merged(shared).String()), a.part(), b.part()),
				Hint: "set it in one part only",
			})
		}
	}
}

// claim is channels that a part of a cue sets.
type claim struct {
	span
	by *Cue
}

// sharedBy returns the channels that more than one part claims, and the two parts
// that meet on the first of them. It looks at ranges, never at each channel.
func sharedBy(claims []claim) (shared []span, a, b *Cue) {
	slices.SortStableFunc(claims, func(x, y claim) int { return cmp.Compare(x.first, y.first) })
	var furthest, other claim // of all so far: the one that reaches furthest, and that of another part
	for _, next := range claims {
		rival := furthest
		if rival.by != nil && rival.by.part() == next.by.part() {
			rival = other
		}
		if rival.by != nil && rival.last >= next.first {
			if a == nil {
				a, b = rival.by, next.by
				if a.part() > b.part() {
					a, b = b, a
				}
			}
			shared = append(shared, span{next.first, min(rival.last, next.last)})
		}
		switch {
		case furthest.by == nil || next.last > furthest.last:
			if furthest.by != nil && furthest.by.part() != next.by.part() {
				other = furthest
			}
			furthest = next
		case next.by.part() != furthest.by.part() && (other.by == nil || next.last > other.last):
			other = next
		}
	}
	return shared, a, b
}

// attributes returns what the setting sets.
func (s *Setting) attributes() []string {
	var list []string
	for f := range s.Values() {
		list = append(list, f.Key)
	}
	return list
}
