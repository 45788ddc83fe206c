// Package compare holds the findings and looks of a show against those of an
// earlier state of it.
//
// In go findings, and what is left of earlier ones ([Past]); each finding is
// marked as new or as before, and out come those that are gone. A newcomer's
// mistake would be to call everything that is gone fixed: what can no longer be
// told is not ([Past.Untold]).
package compare

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
)

// Base is an earlier state of shows.
type Base struct {
	Name     string // as it was named
	Findings []outcome.Past
	LeftOut  int // findings that its report left out, so that they would count as new
}

// Of keeps what a later run needs of a finding.
func Of(f *finding.Finding) outcome.Past {
	past := outcome.Past{
		Fingerprint: f.Fingerprint(), Key: f.Key(), Rule: f.Rule, Level: f.Level, Verdict: f.Verdict, Consequence: f.Consequence,
		Subjects: f.Subjects, Message: f.Message, Accepted: f.Accepted != nil,
	}
	if place := f.Place; place.File != nil {
		place.Start = max(0, place.Start)
		place.Stop = max(place.Start, place.Stop)
		past.File, past.Span = place.File.Name, place.Span()
		if s := &past.Span; s.End.Line == s.Start.Line { // an offset inside a character can turn them round
			s.End.Column = max(s.Start.Column, s.End.Column)
		}
	}
	return past
}

// Mark says of every finding of now whether it is new or was there in the base,
// and returns what is gone, in the order of the base. The same identity can stand
// several times on both sides; one of now answers one of then. Blind are the
// rules that had nothing to look at this time: what they found then is untold.
func Mark(base []outcome.Past, now []*finding.Finding, blind map[string]bool) (gone []outcome.Past) {
	before := map[string]int{}
	for i := range base {
		before[base[i].Fingerprint]++
	}
	open := map[string]bool{} // failures of which nobody can tell now
	for _, f := range now {
		fingerprint := f.Fingerprint()
		f.Base = finding.New
		if before[fingerprint] > 0 {
			before[fingerprint]--
			f.Base = finding.Unchanged
		}
		if f.Verdict == finding.Open {
			open[AsFailure(f)] = true
		}
	}
	for i := len(base) - 1; i >= 0; i-- { // of several that are the same, the last are gone
		past := base[i]
		if before[past.Fingerprint] == 0 {
			continue
		}
		before[past.Fingerprint]--
		past.Untold = past.Verdict == finding.Fail && (open[past.Fingerprint] || blind[past.Rule])
		gone = append(gone, past)
	}
	for i, j := 0, len(gone)-1; i < j; i, j = i+1, j-1 {
		gone[i], gone[j] = gone[j], gone[i]
	}
	return gone
}

// AsFailure is the fingerprint that an open finding would have as a failure.
func AsFailure(f *finding.Finding) string {
	failure := *f
	failure.Verdict = finding.Fail
	return failure.Fingerprint()
}

// Count counts findings that [Mark] has marked, and those that it called gone.
func Count(now []*finding.Finding, gone []outcome.Past) outcome.Counts {
	var c outcome.Counts
	for _, f := range now {
		switch {
		case f.Verdict != finding.Fail || f.Accepted != nil:
		case f.Base == finding.New:
			c.New++
		default:
			c.Before++
		}
	}
	for i := range gone {
		switch past := &gone[i]; {
		case past.Verdict != finding.Fail || past.Accepted:
		case past.Untold:
			c.Untold++
		default:
			c.Fixed++
		}
	}
	return c
}
