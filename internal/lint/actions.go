package lint

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Every proof runs all rules on a changed copy, so their number is bounded: by a
// count, and by the work that the size of the show makes of them. The bounds are
// ours; nothing is timed, so the same show gives the same plan on any machine.
const (
	maxProofs    = 200
	maxProofWork = 4_000_000 // lamps times looks, over all proofs
)

// plan is the changes that were proved, to be made in their order.
type plan struct {
	actions []report.Action
	cured   map[string]bool // identities of findings
	untried int
}

// planActions looks for the changes that clear the list. It goes through the
// cures by consequence; each is made on a copy that has the changes before it,
// all rules run on that copy, and the cure is kept if something is cleared and
// nothing is caused. After each change the rules propose anew, so two fixtures
// are never given the same free address. A change that a later one makes again
// with another value is taken out, if the rest does as much without it.
func planActions(show *schema.Show, now judged, setup *Setup, today string) plan {
	p := plan{cured: map[string]bool{}}
	if show == nil {
		return p
	}
	work := max(1, len(show.Patch)*len(show.Cues))
	prover := prover{setup: setup, today: today, budget: min(maxProofs, maxProofWork/work)}
	steps := prover.walk(show, now, &p)
	steps = prover.prune(show, now, steps)
	words := &words{show: show}
	for _, step := range steps {
		p.actions = append(p.actions, words.action(step.cure, step.cleared, setup.Rules))
		for _, f := range step.cleared {
			p.cured[f.Identity()] = true
		}
		words.show = step.after
	}
	return p
}

// step is a cure that was proved: the copy of the show that has it, and what it
// cleared.
type step struct {
	cure    cure
	after   *schema.Show
	cleared []finding.Finding
}

// prover runs all rules on changed copies, as often as its budget allows.
type prover struct {
	setup  *Setup
	today  string
	budget int
}

// prove makes a cure on a copy and runs all rules on it. ok is false if that
// does not clear all that asked for it, if it causes anything, or if it is no
// change of this show.
func (p *prover) prove(show *schema.Show, now judged, c cure) (s step, after judged, ok bool) {
	p.budget--
	changed, err := schema.Apply(show, c.edits)
	if err != nil {
		return s, after, false
	}
	after = judge(changed, p.setup.Rules)
	p.setup.accept(after.found, p.today)
	cleared, caused := compare(now.found, after.found)
	return step{c, changed, cleared}, after, clearsAll(c.asked, after.found) && caused == 0
}

func (p *prover) walk(show *schema.Show, now judged, plan *plan) []step {
	var steps []step
	refused := map[string]bool{}
	for {
		cure, ok := nextCure(now.found, refused)
		if !ok {
			return steps
		}
		if p.budget <= 0 {
			plan.untried = countWithRemedy(now.found, refused)
			return steps
		}
		proved, after, ok := p.prove(show, now, cure)
		if !ok {
			refused[cure.id] = true
			continue
		}
		steps = append(steps, proved)
		show, now = proved.after, after
	}
}

// prune takes out the steps that a later one makes again.
func (p *prover) prune(show *schema.Show, now judged, steps []step) []step {
	for i := 0; i < len(steps); i++ {
		if !overwritten(steps[i].cure.edits, steps[i+1:]) || p.budget < len(steps) {
			continue
		}
		if without, ok := p.replay(show, now, slices.Delete(slices.Clone(steps), i, i+1)); ok && cleared(without) == cleared(steps) {
			steps = without
			i--
		}
	}
	return steps
}

// overwritten reports whether later steps give every value of the edits again.
func overwritten(edits []source.Edit, later []step) bool {
	again := func(e source.Edit) bool {
		return slices.ContainsFunc(later, func(s step) bool {
			return slices.ContainsFunc(s.cure.edits, func(l source.Edit) bool {
				return l.At == e.At && l.Field == e.Field && (len(l.Only) == 0 || !slices.ContainsFunc(e.Only, func(c int) bool { return !slices.Contains(l.Only, c) }))
			})
		})
	}
	return !slices.ContainsFunc(edits, func(e source.Edit) bool { return !again(e) })
}

// replay proves steps again from the beginning; what asked for a step may have
// been another finding, so a step has only to clear something and to cause nothing.
func (p *prover) replay(show *schema.Show, now judged, steps []step) ([]step, bool) {
	var again []step
	for _, old := range steps {
		c := old.cure
		c.asked = nil
		proved, after, ok := p.prove(show, now, c)
		if !ok || len(proved.cleared) == 0 {
			return nil, false
		}
		again = append(again, proved)
		show, now = proved.after, after
	}
	return again, true
}

func cleared(steps []step) int {
	sum := 0
	for _, s := range steps {
		sum += len(s.cleared)
	}
	return sum
}

// cure is one change, and the findings that asked for it, gravest first.
type cure struct {
	id     string
	edits  []source.Edit
	why    finding.Finding
	asked  []string // their identities
	effect string
}

// nextCure returns the change for the gravest finding that has one left to try.
// The same change for several findings, and the same new value for the same
// field asked by one rule, are one cure; if that was refused as a whole, each
// finding's own part is tried.
func nextCure(found []finding.Finding, refused map[string]bool) (cure, bool) {
	order := gravest(found)
	for _, f := range order {
		for _, remedy := range f.Remedies {
			same := signature(f.Rule, remedy)
			whole := cure{id: "whole\x00" + same, why: f, effect: remedy.Effect}
			if !refused[whole.id] {
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
				return whole, true
			}
			part := cure{
				id: "part\x00" + f.Identity() + "\x00" + same, why: f, effect: remedy.Effect,
				edits: remedy.Edits, asked: []string{f.Identity()},
			}
			if !refused[part.id] {
				return part, true
			}
		}
	}
	return cure{}, false
}

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

// gravest orders the failures that nobody accepted by consequence, level and
// place; a copy.
func gravest(found []finding.Finding) []finding.Finding {
	var list []finding.Finding
	for _, f := range found {
		if f.Verdict == finding.Fail && f.Accepted == nil {
			list = append(list, f)
		}
	}
	finding.Sort(list)
	slices.SortStableFunc(list, func(a, b finding.Finding) int {
		return cmp.Or(
			cmp.Compare(a.Consequence, b.Consequence),
			cmp.Compare(slices.Index(finding.Levels, a.Level), slices.Index(finding.Levels, b.Level)),
		)
	})
	return list
}

// compare returns the failures that are gone, and how many findings are new: a
// change that makes a rule unable to tell causes one too.
func compare(before, after []finding.Finding) (cleared []finding.Finding, caused int) {
	was, is := identities(before), identities(after)
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

// clearsAll reports whether none of the findings that asked for a cure is left:
// one new address for two fixtures parts only one of them from the others.
func clearsAll(asked []string, after []finding.Finding) bool {
	left := identities(after)
	return !slices.ContainsFunc(asked, func(identity string) bool { return left[identity] })
}

func identities(found []finding.Finding) map[string]bool {
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

// needPerson returns the failures that no proved change clears, gravest first.
func needPerson(found []finding.Finding, cured map[string]bool) []finding.Finding {
	var list []finding.Finding
	for _, f := range gravest(found) {
		if !cured[f.Identity()] {
			list = append(list, f)
		}
	}
	return list
}
