// Package plan chooses changes: which of the remedies that rules offer are made, in
// which order, and what they clear.
//
// In go a state of a show and what a person wants of the plan, out come steps that
// were each proved on a copy. A newcomer's mistake would be to take two steps out of
// their order: each was proved on the show that has those before it.
package plan

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// Every proof runs all rules on a changed copy, so what they may cost together is
// bounded in work: in subjects that rules look at. A small show is worth many proofs,
// and a large one with thousands of faults is answered in the time of a few checks.
// The bounds are ours; nothing is timed, so the same show gives the same plan on any
// machine.
const (
	mostSubjects = 180_000
	fewestProofs = 6
	mostProofs   = 120
	mostRefused  = 8 // changes in a row that one rule offers; then the rest of it is left
)

// Options are what a person wants of a plan.
type Options struct {
	Rules   *rules.Set
	Accept  func([]finding.Finding) // marks what somebody decided to live with; nil: nobody did
	Least   finding.Level           // findings below it are not told, so a change has to clear another
	Minutes float64                 // choose what fits into this time; 0 for all
	Near    bool                    // doors are near: leave what is riskier now than the fault
	Base    *schema.Show            // an earlier state of the show, whose values are offered first; nil for none
	Files   []finding.Finding       // what is wrong with names in the files; what has a remedy there is mended first
}

// Plan is the changes that were proved, to be made in their order.
type Plan struct {
	Start   *proof.State
	Steps   []Step
	Undone  []Step // for lack of time
	Untried int    // findings with a change that was not tried: there were too many, or it gives anew what another one gave

	prover *prover
	cured  map[string]bool
}

// Step is a cure that was proved: the show before it, the copy that has it, and
// which of the findings that are told it cleared.
type Step struct {
	Before, After *proof.State
	Cleared       []finding.Finding
	Minutes       outcome.Minutes

	Worse []outcome.Price // what is worse after it

	cure    cure
	or      *cure     // another way that clears as much
	caused  int       // findings that are new
	priced  int       // what is worse, without lamps that were unlit before
	told    *[]string // see [Step.tells]; nil before somebody has asked
	seconds *[]cure   // see [prover.secondsTo]; likewise
}

// Edits are the change itself.
func (s Step) Edits() []source.Edit { return s.cure.edits }

// Lighting are the edits that change the light of the room, without those that only correct
// what is written of it.
func (s Step) Lighting() []source.Edit {
	words := wordsOf(s.Before)
	words.findCues(s.cure.edits)
	return slices.DeleteFunc(slices.Clone(s.cure.edits), func(e source.Edit) bool { return words.choreOf(e) == inPaper })
}

// Do says the change as an order.
func (s Step) Do() string {
	words := wordsOf(s.Before)
	words.findCues(s.cure.edits)
	return words.do(s.cure.edits)
}

// Make looks for the changes that clear the findings from a level on. It goes through the cures by consequence; each is made on a copy that has
// the changes before it, all rules run on that copy, and the cure is kept if
// something is cleared and nothing is caused. After each change the rules propose
// anew, so two fixtures are never given the same free address. A change that a
// later one makes again with another value is taken out, if the rest does as much
// without it. The error is a [Panic].
func Make(now *proof.State, o Options) (*Plan, error) {
	p := &Plan{Start: now, prover: &prover{Options: o, start: now, earlier: earlierOf(o.Base), left: budget(now), first: Identities(now.Found, o.Files), seconds: map[placed]Step{}}}
	var err error
	if p.Steps, p.Untried, err = p.prover.walk(now); err != nil {
		return nil, err
	}
	if p.Steps, err = p.prover.prune(now, p.Steps); err != nil {
		return nil, err
	}
	count(p.Steps)
	p.cured = CuredBy(p.Steps)
	if o.Minutes > 0 { // a part of an order may have the time that the whole has not
		if p.Steps, p.Undone, err = p.prover.within(o.Minutes, now, p.Steps); err != nil {
			return nil, err
		}
	}
	if p.Steps, err = p.prover.join(now, p.Steps); err != nil {
		return nil, err
	}
	count(p.Steps)
	return p, p.prover.alternatives(now, p.Steps)
}

// budget is how many subjects the proofs of a show may look at.
func budget(now *proof.State) int {
	one := max(1, now.Subjects())
	return one * max(fewestProofs, min(mostProofs, mostSubjects/one))
}

// Orders writes the steps for people, and those for which there is no time.
func (p *Plan) Orders() (orders, undone []outcome.Order) {
	orders = tell(p.Steps, p.prover.Rules)
	p.prover.left += budget(p.Start) / 10  // the plan may have used all, and what an order needs is a part of it
	for _, level := range finding.Levels { // there may not be room for all
		for i := range orders {
			if worst(p.Steps[i].Cleared) == level {
				orders[i].After = p.after(i)
			}
		}
	}
	return orders, tell(p.Undone, p.prover.Rules)
}

// after names the steps that another needs, counted from 1. One that holds on the show as
// it is, and clears there all that it was told to clear, needs none. What would get worse
// there has been cleared by earlier ones: with them it is tried first, and then with one
// that changes the same thing, the nearest first. Where there is no room for proofs any
// more, the nearest of these is named.
func (p *Plan) after(i int) []int {
	s := &p.Steps[i]
	if s.Before == p.Start {
		return nil
	}
	worse := map[string]bool{} // by rule
	holds := func(with ...int) bool {
		p.prover.left -= p.Start.Subjects()
		var c cure
		missing := Identities(s.Cleared)
		for _, j := range append(with, i) {
			c.edits = slices.Concat(c.edits, p.Steps[j].cure.edits)
		}
		proved, ok := p.prover.prove(p.Start, c)
		for k := range proved.Cleared {
			delete(missing, proved.Cleared[k].Identity())
		}
		for k := range proved.Worse {
			worse[proved.Worse[k].Rule] = true
		}
		return ok && len(missing) == 0
	}
	room := func() bool { return p.prover.left >= p.Start.Subjects() }
	if room() && holds() {
		return nil
	}
	var clearing []int
	for j := range i {
		if slices.ContainsFunc(p.Steps[j].Cleared, func(f finding.Finding) bool { return worse[f.Rule] }) {
			clearing = append(clearing, j)
		}
	}
	if len(clearing) > 0 && room() && holds(clearing...) {
		for k := range clearing {
			clearing[k]++
		}
		return clearing
	}
	var same []int
	for j := i - 1; j >= 0; j-- {
		if touches(&p.Steps[j], s) {
			same = append(same, j)
		}
	}
	for _, j := range same[:min(len(same), 2)] {
		if room() && holds(j) {
			return []int{j + 1}
		}
	}
	if len(same) > 0 {
		return []int{same[0] + 1}
	}
	return nil
}

// touches reports whether a step changes a thing that a later one changes too, or clears
// what the same rule says.
func touches(earlier, s *Step) bool {
	for _, e := range s.cure.edits {
		if slices.ContainsFunc(earlier.cure.edits, func(o source.Edit) bool { return o.At == e.At }) {
			return true
		}
	}
	return slices.ContainsFunc(earlier.Cleared, func(f finding.Finding) bool { return f.Rule == s.cure.rule })
}

// Cured returns the identities of the findings that the plan clears, in time or not.
func (p *Plan) Cured() map[string]bool { return p.cured }

// Waiting returns the identities of the findings about which nobody can do anything before
// those have been asked who are told to look away.
func (p *Plan) Waiting() map[string]bool {
	state := p.Start
	if len(p.Steps) > 0 {
		state = p.Steps[len(p.Steps)-1].After
	}
	turned, waiting := turnedAway(p.prover.Rules, state.Found), map[string]bool{}
	if len(turned) == 0 {
		return waiting
	}
	o := p.prover.offers(state)
	for i := range o.order {
		if o.waits(&o.order[i], turned) {
			waiting[o.order[i].Identity()] = true
		}
	}
	return waiting
}

// count lets every finding be cleared once: by the first step that does, if it is
// still gone at the end.
func count(steps []Step) {
	if len(steps) == 0 {
		return
	}
	left := Identities(steps[len(steps)-1].After.Found)
	for i := range steps {
		var kept []finding.Finding
		for _, f := range steps[i].Cleared {
			if identity := f.Identity(); !left[identity] {
				left[identity] = true
				kept = append(kept, f)
			}
		}
		if len(kept) > 0 {
			steps[i].Cleared = kept
			continue
		}
		steps[i].Cleared = takenOver(steps[:i], steps[i].Cleared)
	}
}

// takenOver are the findings of a step that earlier ones had cleared and that were there
// again: they are its own then, as far as the earlier ones have others.
func takenOver(earlier []Step, cleared []finding.Finding) []finding.Finding {
	var own []finding.Finding
	for _, f := range cleared {
		is := func(o finding.Finding) bool { return o.Identity() == f.Identity() }
		for i := range earlier {
			if list := earlier[i].Cleared; len(list) > 1 && slices.ContainsFunc(list, is) {
				earlier[i].Cleared = slices.DeleteFunc(slices.Clone(list), is)
				own = append(own, f)
			}
		}
	}
	if len(own) == 0 {
		return cleared
	}
	return own
}

// Replay proves steps again on the show as it is, without the rest. failed is the
// place of the first that does not hold, or -1.
func (p *Plan) Replay(steps []Step) (again []Step, failed int, err error) {
	return p.prover.replay(p.Start, steps)
}

// tell writes the actions of steps for people.
func tell(steps []Step, set *rules.Set) (actions []outcome.Order) {
	for _, step := range steps {
		words := wordsOf(step.Before)
		action := words.action(step.cure, step.Cleared, set)
		action.Worse, action.Causes = step.Worse, step.caused
		if step.or != nil {
			if or := words.second(step.cure.edits, step.or.edits); or != action.Do {
				action.Or = or
			}
		}
		actions = append(actions, action)
	}
	return actions
}

// CuredBy returns the identities of the findings that steps clear.
func CuredBy(steps []Step) map[string]bool {
	cured := map[string]bool{}
	for _, step := range steps {
		for i := range step.Cleared {
			cured[step.Cleared[i].Identity()] = true
		}
	}
	return cured
}

// prover runs all rules on changed copies, as often as its budget allows.
type prover struct {
	Options
	start   *proof.State
	earlier *earlier
	left    int             // subjects that may still be looked at
	first   map[string]bool // what was found before any change
	tried   trials
	seconds map[placed]Step // second ways in the place of a step; without a state where they do not hold
}

// names are the findings about the files of a show that have a remedy.
func (p *prover) names(state *proof.State) []finding.Finding {
	var list []finding.Finding
	o := &offers{state: p.start, start: p.start.Show}
	for i := range p.Files { // of which there can be very many, and few have a remedy
		f := &p.Files[i]
		remedies := f.Remedies
		if f.Rule == "file/unknown-name" && len(remedies) == 0 {
			remedies = o.meantName(f)
		}
		if len(remedies) > 0 && f.Accepted == nil {
			list = append(list, *f)
			list[len(list)-1].Remedies = remedies
		}
	}
	if len(list) == 0 || state == p.start {
		return list
	}
	left := Identities(state.Show.Check())
	return slices.DeleteFunc(list, func(f finding.Finding) bool { return !left[f.Identity()] })
}

// prove makes a cure on a copy and runs all rules on it, in brief. ok is false if that
// does not clear all that asked for it, if it clears nothing that is told, if what
// it makes worse weighs as much as what it clears, or if it is no change of this
// show.
func (p *prover) prove(from *proof.State, c cure) (s Step, ok bool) {
	p.wake(from)
	after, err := from.Try(p.Rules, &rules.First{Rule: c.rule, Holds: func(now []finding.Finding) bool { return p.clears(from, &c, now) }}, c.edits)
	if err != nil || after == nil {
		return s, false
	}
	p.accept(after.Found)
	return p.hold(from, c, after)
}

// wake makes a state ready to be asked that was passed.
func (p *prover) wake(state *proof.State) {
	if state.Wake(p.Rules) {
		p.accept(state.Found)
	}
}

func (p *prover) accept(found []finding.Finding) {
	if p.Accept != nil && len(found) > 0 {
		p.Accept(found)
	}
}

// take lets the changes to come take over from a step that is taken, and says in full what
// it clears and makes worse.
func (p *prover) take(s *Step) {
	for i := range s.Cleared {
		p.tell(s.Before, s.Cleared[i].Rule)
	}
	s.After.Settle(p.Rules)
	p.accept(s.After.Found)
	for i := range s.Worse {
		p.tell(s.After, s.Worse[i].Rule)
	}
	seconds := s.seconds
	*s, _ = p.hold(s.Before, s.cure, s.After)
	s.seconds = seconds
}

// tell says in full what a rule has found in a state, and returns it; nil if that was
// done before.
func (p *prover) tell(state *proof.State, rule string) []finding.Finding {
	list := state.Tell(p.Rules, rule)
	p.accept(list)
	return list
}

// prune takes out the steps that a later one makes again.
func (p *prover) prune(start *proof.State, steps []Step) ([]Step, error) {
	for i := 0; i < len(steps); i++ {
		if !overwritten(steps[i].cure.edits, steps[i+1:]) || p.left < (len(steps)-i)*start.Subjects() {
			continue
		}
		from := start
		if i > 0 {
			from = steps[i-1].After
		}
		without, failed, err := p.replay(from, steps[i+1:])
		if err != nil {
			return nil, err
		}
		p.left -= (len(steps) - i - 1) * start.Subjects()
		without = append(slices.Clone(steps[:i]), without...)
		if failed < 0 && cleared(without) == cleared(steps) {
			steps = without
			i--
		}
	}
	return steps, nil
}

// join makes one step of two that tell the same thing to do: like things are one
// order. What comes between them is proved again.
func (p *prover) join(start *proof.State, steps []Step) ([]Step, error) {
	for i := 0; i < len(steps); i++ {
		for j := i + 1; j < len(steps); j++ {
			if !sameToDo(&steps[i], &steps[j]) && !likeThings(&steps[i], &steps[j]) || p.left < (len(steps)-i)*start.Subjects() {
				continue
			}
			joined := steps[i]
			joined.cure.edits = settle(slices.Concat(steps[i].cure.edits, steps[j].cure.edits))
			joined.cure.asked = nil
			joined.Before, joined.told, joined.seconds = nil, nil, nil // so that it is proved
			from := start
			if i > 0 {
				from = steps[i-1].After
			}
			again, failed, err := p.replay(from, slices.Concat([]Step{joined}, steps[i+1:j], steps[j+1:]))
			if err != nil {
				return nil, err
			}
			p.left -= (len(steps) - i - 1) * start.Subjects()
			if joined := append(slices.Clone(steps[:i]), again...); failed < 0 && cleared(joined) >= cleared(steps) {
				steps = joined
				j--
			}
		}
	}
	return steps, nil
}

// sameToDo reports whether two steps give the same keys of things of one kind the
// same values.
func sameToDo(a, b *Step) bool {
	levels := func(s *Step) bool {
		return slices.ContainsFunc(s.cure.edits, func(e source.Edit) bool { return e.Field == "level" })
	}
	if a.cure.rule != b.cure.rule && levels(a) {
		return false // the same level for another reason is another matter
	}
	if gravestOf(a.Cleared) != gravestOf(b.Cleared) {
		return false // what could hurt somebody stays apart
	}
	first := a.tells()
	return first != nil && slices.Equal(first, b.tells())
}

// tells are the keys that a step gives to things of a kind, and their values; none where they
// are told one by one.
func (s *Step) tells() []string {
	if s.told == nil {
		w := wordsOf(s.Before)
		w.findCues(s.cure.edits)
		list := []string{}
		for _, e := range w.data(s.cure.edits) {
			if e.Key == "channels" || e.To == nil {
				list = nil
				break
			}
			if word := fmt.Sprint(e.What, e.Key, "=", e.To); !slices.Contains(list, word) {
				list = append(list, word)
			}
		}
		slices.Sort(list)
		s.told = &list
	}
	return *s.told
}

// likeThings reports whether two steps change like things for the same reason, whatever the
// value of each is, and one order can say both: levels in the same cues or of the same lamps,
// or one other setting of several devices.
func likeThings(a, b *Step) bool {
	if a.cure.rule != b.cure.rule || a.cure.way != b.cure.way || gravestOf(a.Cleared) != gravestOf(b.Cleared) || unsure(a.Cleared) != unsure(b.Cleared) {
		return false
	}
	w := wordsOf(a.Before)
	both := settle(slices.Concat(a.cure.edits, b.cure.edits))
	w.findCues(both)
	field := both[0].Field
	if slices.ContainsFunc(both, func(e source.Edit) bool { return e.Field != field || e.Value == nil }) {
		return false
	}
	cues := func(s *Step) (cues []schema.CueNumber) {
		for _, e := range s.cure.edits {
			if cue := w.cues[e.At]; cue != nil {
				cues = append(cues, cue.Number)
			}
		}
		return slices.Compact(slices.Sorted(slices.Values(cues)))
	}
	lamps := func(s *Step) (channels []int) {
		for _, e := range s.cure.edits {
			channels = append(channels, w.channelsOf(e)...)
		}
		return slices.Compact(slices.Sorted(slices.Values(channels)))
	}
	switch {
	case field == "level":
		if in, of := cues(a), lamps(a); len(in) == 0 || !slices.Equal(in, cues(b)) && !slices.Equal(of, lamps(b)) {
			return false
		}
	case field != "drive_pct" && field != "zoom_deg" && bladePhrases[field] == "":
		return false
	}
	list, things := w.sentences(both)
	return things <= mostSentences && len(strings.Join(list, ". ")) <= mostLetters
}

// overwritten reports whether later steps give every value of the edits again.
func overwritten(edits []source.Edit, later []Step) bool {
	again := func(e source.Edit) bool {
		return slices.ContainsFunc(later, func(s Step) bool {
			return slices.ContainsFunc(s.cure.edits, func(l source.Edit) bool {
				return l.At == e.At && l.Field == e.Field && (len(l.Only) == 0 || !slices.ContainsFunc(e.Only, func(c int) bool { return !slices.Contains(l.Only, c) }))
			})
		})
	}
	return !slices.ContainsFunc(edits, func(e source.Edit) bool { return !again(e) })
}

// replay proves steps again from a state on; what asked for a step may have been
// another finding, so a step has only to clear something and to cause nothing.
// failed is the place of the first that does not, or -1.
func (p *prover) replay(now *proof.State, steps []Step) (again []Step, failed int, err error) {
	for i, old := range steps {
		if old.Before == now { // nothing is different up to here
			again, now = append(again, old), old.After
			continue
		}
		c := old.cure
		c.asked = nil
		var proved Step
		var ok bool
		if err := cores.Jobs(1, func(int) { proved, ok = p.prove(now, c) }); err != nil {
			return nil, i, err
		}
		if !ok {
			return nil, i, nil
		}
		p.take(&proved)
		again = append(again, proved)
		now.Rest()
		now = proved.After
	}
	return again, -1, nil
}

func cleared(steps []Step) int {
	sum := 0
	for _, s := range steps {
		sum += len(s.Cleared)
	}
	return sum
}

// compare returns the failures that are gone, and how many findings are new: a
// change that makes a rule unable to tell causes one too.
func compare(before, after []finding.Finding) (cleared []finding.Finding, caused int) {
	was, is := Identities(before), Identities(after)
	for _, f := range before {
		if f.Verdict == finding.Fail && !is[f.Identity()] {
			cleared = append(cleared, f)
		}
	}
	for _, f := range after {
		if !was[f.Identity()] {
			caused++
		}
	}
	return cleared, caused
}

// Caused counts the findings that only the second list has.
func Caused(before, after []finding.Finding) int {
	_, caused := compare(before, after)
	return caused
}

// Identities returns what findings are recognised by.
func Identities(lists ...[]finding.Finding) map[string]bool {
	set := map[string]bool{}
	for _, found := range lists {
		for i := range found {
			set[found[i].Identity()] = true
		}
	}
	return set
}
