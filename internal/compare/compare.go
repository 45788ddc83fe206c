// Package compare holds the findings and looks of a show against those of an
// earlier state of it.
//
// In go two states ([State]), or a state and what a report keeps of an earlier one
// ([Base]); each finding is marked as new, worse, as before, better or no longer
// tellable, and out comes what is gone and what can no longer be checked. A
// newcomer's mistake would be to call everything that is gone fixed: what can no
// longer be told is not ([outcome.Past.Untold]), and neither is what a rule that is
// switched off would have found ([outcome.Past.Review]).
package compare

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
)

// Base is an earlier state of shows.
type Base struct {
	Name     string // as it was named
	Findings []outcome.Past
	LeftOut  int             // findings that its report left out, so that they would count as new
	Told     map[string]bool // rules that could tell of something; nil where that is not known
}

// Of keeps what a later run needs of a finding.
func Of(f *finding.Finding) outcome.Past {
	past := outcome.Past{
		Fingerprint: f.Fingerprint(), Key: f.Key(), Rule: f.Rule, Level: f.Level, Verdict: f.Verdict, Consequence: f.Consequence,
		Subjects: f.Subjects, With: f.With, Detail: f.Detail, Cues: f.Cues, Amount: f.Amount, Message: f.Message, Accepted: f.Accepted != nil,
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

// Mark says of every finding of now how it stands against the base, and returns
// what is gone, in the order of the base. The same identity can stand several times
// on both sides; one of now answers one of then. Pairs say what is called otherwise
// by now; nil is for a base of which only names are left.
func Mark(base []outcome.Past, now []*finding.Finding, pairs *match.Pairs) (gone []outcome.Past) {
	m := baseMatch{base: base, pairs: pairs, left: map[string][]int{}}
	for i := range base {
		m.left[base[i].Fingerprint] = append(m.left[base[i].Fingerprint], i)
	}
	m.answered = make([]bool, len(base))
	m.untold = make([]bool, len(base))
	for _, f := range now {
		f.Base, f.Before = finding.New, nil
		then, renames, ok := m.asThen(f)
		if !ok {
			continue
		}
		if i, found := m.take(then.Fingerprint()); found {
			m.answer(i, f, renames)
		}
	}
	m.clashes(now)
	m.minutes(now)
	for _, f := range now {
		then, renames, ok := m.asThen(f)
		if f.Base != finding.New || f.Verdict != finding.Open || !ok {
			continue
		}
		if i, found := m.take(AsFailure(then)); found { // it failed, and nobody can tell now
			m.untold[i] = true
			f.Base, f.Before = finding.Untold, before(&base[i], renames)
		}
	}
	for i := range base {
		if !m.answered[i] {
			past := base[i]
			past.Untold = m.untold[i]
			gone = append(gone, past)
		}
	}
	return gone
}

// baseMatch is the findings of an earlier state while those of now are held against them.
type baseMatch struct {
	base     []outcome.Past
	pairs    *match.Pairs
	left     map[string][]int // by fingerprint: those that none of now has answered
	answered []bool
	untold   []bool
}

func (m *baseMatch) take(fingerprint string) (index int, ok bool) {
	for list := m.left[fingerprint]; len(list) > 0; list = m.left[fingerprint] {
		m.left[fingerprint] = list[1:]
		if !m.answered[list[0]] {
			return list[0], true
		}
	}
	return 0, false
}

// asThen is a finding as it would have been called then; ok is false for one that
// names what was not there.
func (m *baseMatch) asThen(f *finding.Finding) (then *finding.Finding, renames []finding.Rename, ok bool) {
	if m.pairs == nil {
		return f, nil, true
	}
	named := *f
	renamed := func(list []finding.Subject) []finding.Subject {
		out := make([]finding.Subject, len(list))
		for i, s := range list {
			link, known := m.pairs.Then(s.Kind, s.Name)
			ok = ok && known
			out[i] = finding.Subject{Kind: s.Kind, Name: link.Name}
			if known && link.Name != s.Name && s.Kind != "show" {
				renames = append(renames, finding.Rename{Kind: s.Kind, Was: link.Name, Is: s.Name, How: link.How})
			}
		}
		return out
	}
	ok = true
	named.Subjects, named.With = renamed(f.Subjects), renamed(f.With)
	return &named, renames, ok
}

// answer marks a finding of now by what it was.
func (m *baseMatch) answer(i int, f *finding.Finding, renames []finding.Rename) {
	m.answered[i] = true
	past := &m.base[i]
	f.Before = before(past, renames)
	f.Base = finding.Unchanged
	if f.Verdict != finding.Fail {
		return
	}
	f.Before.More = m.more(past, f)
	if a, b := f.Amount, past.Amount; a != nil && b != nil && a.Fact == b.Fact && a.Unit == b.Unit {
		switch a.Compare(*b) {
		case +1:
			f.Base = finding.Worse
		case -1:
			f.Base = finding.Better
		}
	}
	if len(f.Before.More) > 0 {
		f.Base = finding.Worse
	}
}

func before(past *outcome.Past, renames []finding.Rename) *finding.Before {
	return &finding.Before{Key: past.Key, Fingerprint: past.Fingerprint, Amount: past.Amount, Now: renames}
}

// more lists the cues in which a finding shows that were there before and in which it
// did not show.
func (m *baseMatch) more(past *outcome.Past, f *finding.Finding) (list []string) {
	if len(past.Cues) == 0 || m.pairs == nil {
		return nil
	}
	was := map[string]bool{}
	for _, cue := range past.Cues {
		was[cue] = true
	}
	for _, cue := range f.Cues {
		if link, ok := m.pairs.Then("cue", cue); ok && !was[link.Name] {
			list = append(list, cue)
		}
	}
	return list
}

// clashes matches two things that are in each other's way: which of them a finding is
// about hangs on which stands first in a file.
func (m *baseMatch) clashes(now []*finding.Finding) {
	sides := func(rule string, verdict finding.Verdict, about, with []finding.Subject) string {
		words := make([]string, 0, 1+len(with))
		for _, s := range append(slices.Clone(about), with...) {
			words = append(words, s.Kind+"="+s.Name)
		}
		slices.Sort(words)
		return strings.Join(append([]string{rule, string(verdict)}, words...), "\x00")
	}
	then := map[string][]int{}
	for i := range m.base {
		if p := &m.base[i]; !m.answered[i] && len(p.With) > 0 {
			key := sides(p.Rule, p.Verdict, p.Subjects, p.With)
			then[key] = append(then[key], i)
		}
	}
	for _, f := range now {
		if f.Base != finding.New || len(f.With) == 0 {
			continue
		}
		if was, renames, ok := m.asThen(f); ok {
			key := sides(f.Rule, f.Verdict, was.Subjects, was.With)
			if list := then[key]; len(list) > 0 {
				then[key] = list[1:]
				m.answer(list[0], f, renames)
			}
		}
	}
}

// minutes matches what is told of minutes of the evening: they move with every
// change of a running time, so the cue tells them, where only one of each side shows
// in it.
func (m *baseMatch) minutes(now []*finding.Finding) {
	type at struct{ rule, verdict, cue string }
	isMinute := func(list []finding.Subject, cues []string) bool {
		return len(list) == 1 && list[0].Kind == "minute" && len(cues) > 0
	}
	then, today := map[at][]int{}, map[at][]*finding.Finding{}
	for i := range m.base {
		if p := &m.base[i]; !m.answered[i] && isMinute(p.Subjects, p.Cues) {
			key := at{p.Rule, string(p.Verdict), p.Cues[0]}
			then[key] = append(then[key], i)
		}
	}
	for _, f := range now {
		if f.Base != finding.New || !isMinute(f.Subjects, f.Cues) {
			continue
		}
		cue, ok := f.Cues[0], true
		if m.pairs != nil {
			var link match.Link
			link, ok = m.pairs.Then("cue", cue)
			cue = link.Name
		}
		if ok {
			key := at{f.Rule, string(f.Verdict), cue}
			today[key] = append(today[key], f)
		}
	}
	for key, list := range then {
		if len(list) == 1 && len(today[key]) == 1 {
			m.answer(list[0], today[key][0], nil)
		}
	}
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
		if f.Verdict != finding.Fail || f.Accepted != nil {
			continue
		}
		switch f.Base {
		case finding.New:
			c.New++
		case finding.Worse:
			c.Worse++
		case finding.Better:
			c.Better++
		default:
			c.Before++
		}
	}
	for i := range gone {
		switch past := &gone[i]; {
		case past.Verdict != finding.Fail || past.Accepted:
		case past.Untold:
			c.Untold++
		case past.Review != "":
			c.Review++
		default:
			c.Fixed++
		}
	}
	return c
}
