// Package plan chooses changes: which of the remedies that rules offer are made, in
// which order, and what they clear.
//
// In go a state of a show and what a person wants of the plan, out come steps that
// were each proved on a copy. A newcomer's mistake would be to take two steps out of
// their order: each was proved on the show that has those before it.
package plan

import (
	"fmt"
	"maps"
	"reflect"
	"runtime"
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

// Every proof runs all rules on a changed copy, so their number is bounded: by a
// count, and by the work that the size of the show makes of them. The bounds are
// ours; nothing is timed, so the same show gives the same plan on any machine.
const (
	maxProofs    = 200
	maxProofWork = 4_000_000 // lamps times looks, over all proofs
)

// maxAlternatives bounds the second ways that are tried where a matter is one of
// taste: each costs a proof, and one is enough to choose from.
const maxAlternatives = 10

// Options are what a person wants of a plan.
type Options struct {
	Rules   *rules.Set
	Accept  func([]finding.Finding) // marks what somebody decided to live with; nil: nobody did
	Least   finding.Level           // findings below it are not told, so a change has to clear another
	Minutes float64                 // choose what fits into this time; 0 for all
}

// Plan is the changes that were proved, to be made in their order.
type Plan struct {
	Start   *proof.State
	Steps   []Step
	Undone  []Step // for lack of time
	Untried int    // findings whose changes were not tried, because there were too many

	prover *prover
}

// Step is a cure that was proved: the show before it, the copy that has it, and
// which of the findings that are told it cleared.
type Step struct {
	Before, After *proof.State
	Cleared       []finding.Finding
	Minutes       outcome.Minutes

	cure cure
	or   *cure // another way that clears as much
}

// Edits are the change itself.
func (s Step) Edits() []source.Edit { return s.cure.edits }

// Do says the change as an order.
func (s Step) Do() string {
	words := &words{show: s.Before.Show}
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
	p := &Plan{Start: now, prover: &prover{Options: o, budget: budgetOf(now.Show)}}
	var err error
	if p.Steps, p.Untried, err = p.prover.walk(now); err != nil {
		return nil, err
	}
	if p.Steps, err = p.prover.prune(now, p.Steps); err != nil {
		return nil, err
	}
	if o.Minutes > 0 {
		if p.Steps, p.Undone, err = p.prover.within(o.Minutes, now, p.Steps); err != nil {
			return nil, err
		}
	}
	return p, p.prover.alternatives(p.Steps)
}

func budgetOf(show *schema.Show) int {
	return min(maxProofs, maxProofWork/max(1, len(show.Patch)*len(show.Cues)))
}

// Orders writes the steps for people, and those for which there is no time.
func (p *Plan) Orders() (orders, undone []outcome.Order) {
	return tell(p.Steps, p.prover.Rules), tell(p.Undone, p.prover.Rules)
}

// Cured returns the identities of the findings that the plan clears, in time or not.
func (p *Plan) Cured() map[string]bool { return CuredBy(slices.Concat(p.Steps, p.Undone)) }

// Replay proves steps again on the show as it is, without the rest. failed is the
// place of the first that does not hold, or -1.
func (p *Plan) Replay(steps []Step) (again []Step, failed int, err error) {
	return p.prover.replay(p.Start, steps)
}

// tell writes the actions of steps for people.
func tell(steps []Step, set *rules.Set) (actions []outcome.Order) {
	for _, step := range steps {
		words := &words{show: step.Before.Show}
		action := words.action(step.cure, step.Cleared, set)
		if step.or != nil {
			words.findCues(step.or.edits)
			action.Or = words.do(step.or.edits)
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
	budget int
}

// prove makes a cure on a copy and runs all rules on it. ok is false if that
// does not clear all that asked for it, if it clears nothing that is told, if it
// causes anything, or if it is no change of this show.
func (p *prover) prove(from *proof.State, c cure) (s Step, ok bool) {
	after, ok := p.changed(from, c.edits)
	if !ok {
		return s, false
	}
	return p.hold(from, c, after)
}

// changed makes edits on a copy and runs all rules on it.
func (p *prover) changed(from *proof.State, edits ...[]source.Edit) (after *proof.State, ok bool) {
	after, err := from.With(p.Rules, edits...)
	if err != nil {
		return nil, false
	}
	if p.Accept != nil {
		p.Accept(after.Found)
	}
	return after, true
}

// hold holds the state behind a cure against the one before it.
func (p *prover) hold(from *proof.State, c cure, after *proof.State) (s Step, ok bool) {
	cleared, caused := compare(from.Found, after.Found)
	words := &words{show: from.Show}
	words.findCues(c.edits)
	s = Step{
		cure: c, Before: from, After: after, Minutes: words.minutes(c.edits),
		Cleared: slices.DeleteFunc(cleared, func(f finding.Finding) bool { return f.Accepted != nil || !f.Level.AtLeast(p.Least) }),
	}
	return s, clearsAll(c.asked, after.Found) && caused == 0 && len(s.Cleared) > 0
}

// walk proves one cure after the other. With more than one core something is
// worked out at the same time that may be wanted next, and thrown away if it is
// not: behind one that was refused the next ones on the same state, for refusals
// come in rows, and otherwise the one that would follow if this one holds. What is
// taken is what is taken on a single core too, and only the proofs up to it count.
func (p *prover) walk(now *proof.State) (steps []Step, untried int, err error) {
	refused := map[string]bool{}
	width := runtime.GOMAXPROCS(0)
	atOnce := 1
	var next follower
	for {
		var batch []cure
		ahead := maps.Clone(refused)
		for len(batch) < min(atOnce, max(1, p.budget)) {
			cure, ok := nextCure(now.Found, ahead)
			if !ok {
				break
			}
			ahead[cure.id], ahead[cure.part] = true, true
			batch = append(batch, cure)
		}
		if len(batch) == 0 {
			return steps, 0, nil
		}
		if p.budget <= 0 {
			return steps, countWithRemedy(p.told(now.Found), refused), nil
		}
		proved, holds := make([]Step, len(batch)), make([]bool, len(batch))
		if ready := next; len(batch) == 1 && ready.after != nil && reflect.DeepEqual(ready.edits, batch[0].edits) {
			next = follower{}
			proved[0], holds[0] = p.hold(now, batch[0], ready.after)
		} else {
			next = p.guess(now, batch, refused, width)
			err := cores.Jobs(len(batch)+min(1, len(next.edits)), func(i int) {
				if i == len(batch) {
					next.after, _ = p.changed(now, batch[0].edits, next.edits)
				} else {
					proved[i], holds[i] = p.prove(now, batch[i])
				}
			})
			if err != nil {
				return nil, 0, err
			}
		}
		for i := range batch {
			p.budget--
			if holds[i] {
				steps = append(steps, proved[i])
				now, atOnce = proved[i].After, 1
				break
			}
			refused[batch[i].id], refused[batch[i].part] = true, true
			atOnce, next = width, follower{}
		}
	}
}

// follower is a change that may follow another, with the state behind both.
type follower struct {
	edits []source.Edit
	after *proof.State
}

// guess is the change that follows if the only one of a batch holds and clears no
// more than was asked; it has no edits if there is no core to try it on.
func (p *prover) guess(now *proof.State, batch []cure, refused map[string]bool, width int) follower {
	if len(batch) > 1 || width < 2 || p.budget < 2 {
		return follower{}
	}
	rest := slices.DeleteFunc(slices.Clone(now.Found), func(f finding.Finding) bool { return slices.Contains(batch[0].asked, f.Identity()) })
	next, _ := nextCure(rest, refused)
	return follower{edits: next.edits}
}

// told returns the findings that are told.
func (p *prover) told(found []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(found), func(f finding.Finding) bool { return !f.Level.AtLeast(p.Least) })
}

// prune takes out the steps that a later one makes again.
func (p *prover) prune(start *proof.State, steps []Step) ([]Step, error) {
	for i := 0; i < len(steps); i++ {
		if !overwritten(steps[i].cure.edits, steps[i+1:]) || p.budget < len(steps) {
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
		p.budget -= len(steps) - i - 1
		without = append(slices.Clone(steps[:i]), without...)
		if failed < 0 && cleared(without) == cleared(steps) {
			steps = without
			i--
		}
	}
	return steps, nil
}

// alternatives looks for steps of which the gravest finding can be mended in
// another way that clears as much where it stands and causes nothing.
func (p *prover) alternatives(steps []Step) error {
	type try struct {
		step int
		cure cure
	}
	var tries []try
	for i, s := range steps {
		for _, remedy := range s.cure.why.Remedies {
			if remedy.Way == s.cure.way || len(tries) == min(maxAlternatives, max(0, p.budget)) {
				continue
			}
			tries = append(tries, try{i, wholeCure(s.cure.why, remedy, finding.Gravest(s.Before.Found))})
			break
		}
	}
	holds := make([]bool, len(tries))
	err := cores.Jobs(len(tries), func(i int) {
		old := steps[tries[i].step]
		proved, ok := p.prove(old.Before, tries[i].cure)
		missing := Identities(old.Cleared)
		for j := range proved.Cleared {
			delete(missing, proved.Cleared[j].Identity())
		}
		holds[i] = ok && len(missing) == 0
	})
	for i, t := range tries {
		if holds[i] {
			steps[t.step].or = &tries[i].cure
		}
	}
	return err
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
		again = append(again, proved)
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

// cure is one change, and the findings that asked for it, gravest first.
type cure struct {
	id     string
	part   string // what the same change for the one finding that asks for it is called; "" if several do
	edits  []source.Edit
	why    finding.Finding
	asked  []string // their identities
	effect string
	way    int // of the rule's ways to mend it
}

// nextCure returns the change for the gravest finding that has one left to try.
// The same change for several findings, and the same new value for the same
// field asked by one rule, are one cure; if that was refused as a whole, each
// finding's own part is tried.
func nextCure(found []finding.Finding, refused map[string]bool) (cure, bool) {
	order := finding.Gravest(found)
	for _, f := range order {
		for _, remedy := range f.Remedies {
			same := signature(f.Rule, remedy)
			if !refused["whole\x00"+same] {
				return wholeCure(f, remedy, order), true
			}
			part := cure{
				id: partOf(f, same), why: f, effect: remedy.Effect, way: remedy.Way,
				edits: remedy.Edits, asked: []string{f.Identity()},
			}
			if !refused[part.id] {
				return part, true
			}
		}
	}
	return cure{}, false
}

// wholeCure is a remedy together with the same change for all other findings of
// its rule.
func wholeCure(f finding.Finding, remedy finding.Remedy, order []finding.Finding) cure {
	same := signature(f.Rule, remedy)
	whole := cure{id: "whole\x00" + same, why: f, effect: remedy.Effect, way: remedy.Way}
	for _, other := range order {
		if other.Rule != f.Rule {
			continue
		}
		for _, alike := range other.Remedies {
			if signature(other.Rule, alike) == same {
				whole.edits = append(whole.edits, alike.Edits...)
				whole.asked = append(whole.asked, other.Identity())
			}
		}
	}
	whole.edits = finding.MergeEdits(nil, whole.edits)
	if len(whole.asked) == 1 {
		whole.part = partOf(f, same)
	}
	return whole
}

func partOf(f finding.Finding, same string) string { return "part\x00" + f.Identity() + "\x00" + same }

// signature says which changes are one cure: those of one rule that mend in one
// way and give the same fields the same values.
func signature(rule string, remedy finding.Remedy) string {
	type change struct {
		field string
		value any
	}
	seen := map[change]bool{}
	var values []string
	for _, edit := range remedy.Edits {
		if c := (change{edit.Field, edit.Value}); !seen[c] {
			seen[c] = true
			values = append(values, fmt.Sprintf("%s=%v", edit.Field, edit.Value))
		}
	}
	slices.Sort(values)
	return fmt.Sprintf("%s\x00%d\x00%s", rule, remedy.Way, strings.Join(values, "\x00"))
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

// clearsAll reports whether none of the findings that asked for a cure is left:
// one new address for two fixtures parts only one of them from the others.
func clearsAll(asked []string, after []finding.Finding) bool {
	left := Identities(after)
	return !slices.ContainsFunc(asked, func(identity string) bool { return left[identity] })
}

// Identities returns what findings are recognised by.
func Identities(found []finding.Finding) map[string]bool {
	set := make(map[string]bool, len(found))
	for i := range found {
		set[found[i].Identity()] = true
	}
	return set
}

func countWithRemedy(found []finding.Finding, refused map[string]bool) int {
	count := 0
	for _, f := range found {
		one, ok := nextCure([]finding.Finding{f}, refused)
		if ok && one.id != "" {
			count++
		}
	}
	return count
}
