// Package proof is a show with what the rules say of it, and the same after a change.
//
// In go a show and the rules, out comes a [State] that never changes once it is
// made: a change is made on a copy, and all rules look at the copy. A newcomer's
// mistake would be to believe a remedy before a state has it.
package proof

import (
	"slices"
	"sync/atomic"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// State is a show and what the rules say of it.
type State struct {
	Show    *schema.Show
	Looks   []tracking.Look
	Facts   *facts.Measured // nil in a state that was made by With: many of them are kept
	Found   []finding.Finding
	Tallies []finding.Tally
	Told    map[string]rules.Subjects // of what each rule could tell; nil where nobody asked

	made   *facts.Measured  // of a state that a change made, until it is settled on
	judged rules.Judgements // likewise
	told   map[string]bool  // the rules of which Found has all words; nil: of all
	rests  bool             // Found was let go of
	memory *memory
}

// memory is what all states of one show take over from: the show as it was given, or the
// state that was settled on last. What is taken over is found by what it depends on, so
// either is right, and the one that has more of what a copy has is nearer.
type memory struct {
	first *lastState
	last  atomic.Pointer[lastState]
}

// near is what a changed copy takes over from, and the copy with all that both have.
func (m *memory) near(show *schema.Show) (*schema.Show, *lastState) {
	last := m.last.Load()
	nearest, apart := show.Sharing(last.of.Show)
	if m.first != last {
		if other, far := show.Sharing(m.first.of.Show); far < apart {
			return other, m.first
		}
	}
	return nearest, last
}

type lastState struct {
	of     *State
	kept   *facts.Kept
	judged rules.Judgements // of its subjects; nil where nobody kept them
}

// Settle ranks what is found in a state of Try by all that it rests on, and lets the changes
// to come take over from there.
func (s *State) Settle(set *rules.Set) {
	if s.made != nil {
		s.weigh(set)
		s.memory.last.Store(&lastState{s, s.made.Keep(), s.judged})
		s.made, s.judged = nil, nil
	}
}

// fewToKeep is how many findings take less room than finding them again takes time.
const fewToKeep = 200

// Rest lets go of what is found in a state that was settled on, when another has been since, if
// that is much: a plan keeps all that it came through, and few of them are asked again.
func (s *State) Rest() {
	if s.told != nil && len(s.Found) > fewToKeep && s.memory.last.Load().of != s {
		s.Found, s.rests = nil, true
	}
}

// Wake finds again, in brief, what was let go of; false if nothing was.
func (s *State) Wake(set *rules.Set) bool {
	if !s.rests {
		return false
	}
	s.rests, s.told = false, map[string]bool{}
	last := s.memory.last.Load()
	measured := facts.MeasureAgain(s.Show, s.Looks, last.kept)
	var judged rules.Judgements
	s.Found, _, judged = set.JudgeInBrief(measured, last.judged, nil)
	s.Found = set.Weigh(measured, judged)
	return true
}

// Check resolves, measures and judges a show; nil is a show with nothing in it.
func Check(show *schema.Show, set *rules.Set) *State {
	s := measure(show)
	s.Found, s.Tallies, s.memory.first.judged = set.JudgeAgain(s.Facts, nil) // judge
	return s
}

// CheckAndTell is Check with of what each rule could tell.
func CheckAndTell(show *schema.Show, set *rules.Set) *State {
	s := measure(show)
	s.Found, s.Tallies, s.Told, s.memory.first.judged = set.JudgeAndTell(s.Facts)
	return s
}

func measure(show *schema.Show) *State {
	if show == nil {
		show = &schema.Show{}
	}
	looks := tracking.Resolve(show)        // resolve
	measured := facts.Measure(show, looks) // measure
	s := &State{Show: show, Looks: looks, Facts: measured, memory: &memory{}}
	s.memory.first = &lastState{of: s, kept: measured.Keep()}
	s.memory.last.Store(s.memory.first)
	return s
}

// Measured is what was measured about the show; of a state that a change made it is
// measured again.
func (s *State) Measured() *facts.Measured {
	if s.Facts != nil {
		return s.Facts
	}
	return facts.MeasureAgain(s.Show, s.Looks, s.memory.last.Load().kept)
}

// Subjects is how many subjects the rules looked at: what a state costs.
func (s *State) Subjects() int {
	sum := 0
	for _, t := range s.Tallies {
		sum += t.Subjects
	}
	return sum
}

// With is the state after edits, made on a copy one list after the other. The
// error is an edit that is no change of this show.
func (s *State) With(set *rules.Set, edits ...[]source.Edit) (*State, error) {
	after, err := s.Try(set, nil, edits...)
	if err == nil {
		after.TellAll(set)
	}
	return after, err
}

// Try is With for those who hold the state against another and throw most of them away:
// what is found has no words, no places and no remedies before somebody asks for them. The
// state is nil if the first rule has said that no other is worth a look.
func (s *State) Try(set *rules.Set, first *rules.First, edits ...[]source.Edit) (*State, error) {
	show := s.Show
	for _, list := range edits {
		var err error
		if show, err = schema.Apply(show, list); err != nil {
			return nil, err
		}
	}
	return s.of(show, set, first), nil
}

// Tell says in full what a rule has found in a state of Try and returns that part of what
// is found; nil if nothing is found, or if it was told before.
func (s *State) Tell(set *rules.Set, rule string) []finding.Finding {
	if s.told == nil || s.told[rule] {
		return nil
	}
	s.told[rule] = true
	first := slices.IndexFunc(s.Found, func(f finding.Finding) bool { return f.Rule == rule })
	if first < 0 {
		return nil
	}
	measured, judged := s.made, s.judged
	if last := s.memory.last.Load(); last.of == s {
		measured, judged = last.kept.Measured(), last.judged
	} else if measured == nil {
		measured = s.Measured()
	}
	list := set.Tell(measured, judged, rule)
	return s.Found[first : first+copy(s.Found[first:], list)]
}

// TellAll says in full all that is found in a state of Try.
func (s *State) TellAll(set *rules.Set) {
	for i := range s.Found {
		s.Tell(set, s.Found[i].Rule)
	}
	s.told = nil
}

// weigh adds to what is found in brief what findings are ranked by.
func (s *State) weigh(set *rules.Set) {
	if s.told == nil {
		return
	}
	for i, f := range set.Weigh(s.made, s.judged) {
		if !s.told[f.Rule] {
			s.Found[i] = f
		}
	}
}

// slowly makes every changed copy start from the beginning.
var slowly atomic.Bool

// Slowly makes what changes leave be resolved, measured, judged and put into words from the
// beginning, as if nothing could be taken over from the state before. It is for tests: whatever
// is said of a show has to be the same either way.
func Slowly(yes bool) { slowly.Store(yes) }

// fromTheBeginning is a changed copy of the state's show with nothing taken over.
func (s *State) fromTheBeginning(show *schema.Show, set *rules.Set, first *rules.First) *State {
	after := &State{Show: show, Looks: tracking.Resolve(show), memory: s.memory}
	after.made = facts.Measure(show, after.Looks)
	after.Found, after.Tallies = set.Judge(after.made)
	if first == nil {
		return after
	}
	of := slices.DeleteFunc(slices.Clone(after.Found), func(f finding.Finding) bool { return f.Rule != first.Rule })
	if _, known := set.Find(first.Rule); known && !first.Holds(of) {
		return nil
	}
	return after
}

// of resolves, measures and judges a changed copy of the state's show in brief; what the
// change does not touch is taken over.
func (s *State) of(show *schema.Show, set *rules.Set, first *rules.First) *State {
	if slowly.Load() {
		return s.fromTheBeginning(show, set, first)
	}
	show, near := s.memory.near(show)
	after := &State{Show: show, Looks: tracking.Again(show, near.of.Looks), told: map[string]bool{}, memory: s.memory}
	after.made = facts.BeginAgain(show, after.Looks, near.kept)
	if after.Found, after.Tallies, after.judged = set.JudgeInBrief(after.made, near.judged, first); after.Tallies == nil {
		return nil
	}
	return after
}
