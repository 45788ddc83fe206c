package plan

import (
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// maxAlternatives bounds the second ways that are tried where a matter is one of
// taste: each costs a proof, and one is enough to choose from.
const maxAlternatives = 10

// eachAlternatives bounds those of one order.
const eachAlternatives = 3

// tasteTimes is how often the time of an order another way may take, to be a matter of taste
// (common practice, no source).
const tasteTimes = 2

// alternatives looks for steps of which the gravest finding can be mended in another way
// that is a matter of taste. It is proved twice: in the place of the step, where it has to
// clear as much, and in the plan as a whole, which keeps all that it promises with it. A
// price that nobody was told is no matter of taste.
func (p *prover) alternatives(start *proof.State, steps []Step) error {
	tries := make([][]cure, len(steps))
	most := min(maxAlternatives, p.left/max(1, 2*start.Subjects()))
	for i := 0; i < len(steps) && most > 0; i++ {
		if gravestOf(steps[i].Cleared) == finding.Hurt {
			continue
		}
		tries[i] = p.secondsTo(&steps[i], nil)
		tries[i] = tries[i][:min(len(tries[i]), eachAlternatives, most)]
		most -= len(tries[i])
		p.left -= 2 * start.Subjects() * len(tries[i])
	}
	seconds := make([]*cure, len(steps)) // the steps are read by all of them
	err := cores.Jobs(len(steps), func(at int) {
		for k := range tries[at] {
			second := &tries[at][k]
			if proved, ok := p.inPlace(&steps[at], second); !ok || !clearsAll(&proved, steps[at:at+1]) {
				continue
			}
			var all cure
			for i := range steps {
				edits := steps[i].cure.edits
				if i == at {
					edits = second.edits
				}
				all.edits = slices.Concat(all.edits, edits)
			}
			if len(steps) > 1 {
				if proved, ok := p.prove(start, all); !ok || !clearsAll(&proved, steps) {
					continue
				}
			}
			seconds[at] = second
			return
		}
	})
	for i := range steps {
		steps[i].or = seconds[i]
	}
	return err
}

// tastes are the causes that are no mistake to be undone, but something that can be had in
// one way or in another.
var tastes = []string{"picture-down", "picture-up", "second-colour", "colour-elsewhere", "like-next", "exposure", "one-drive"}

// isTaste reports whether a cure undoes no mistake.
func (c *cure) isTaste() bool { return c.way != found || slices.Contains(tastes, c.cause) }

// inPlace is a second way in the place of a step.
func (p *prover) inPlace(s *Step, second *cure) (proved Step, ok bool) {
	if was, known := p.seconds[placed{s.Before, second.id}]; known {
		return was, was.After != nil
	}
	return p.prove(s.Before, *second)
}

// placed is a second way by the state that it is for and its id.
type placed struct {
	in *proof.State
	id string
}

// trySeconds proves second ways in the place of a step that is about to be taken, up to the
// first that holds: all that they do not touch can be taken over from there now, and not later.
func (p *prover) trySeconds(s *Step, o *offers) error {
	if gravestOf(s.Cleared) == finding.Hurt {
		return nil
	}
	list := p.secondsTo(s, o)
	for i := range list[:min(len(list), eachAlternatives, maxAlternatives-len(p.seconds))] {
		var proved Step
		var ok bool
		if err := cores.Jobs(1, func(int) { proved, ok = p.prove(s.Before, list[i]) }); err != nil {
			return err
		}
		kept := Step{}
		if ok {
			kept = Step{Cleared: proved.Cleared, Worse: proved.Worse, After: s.Before} // what was measured of it is not needed
		}
		if p.seconds[placed{s.Before, list[i].id}] = kept; ok && clearsAll(&proved, []Step{*s}) {
			break
		}
	}
	return nil
}

// secondsTo are the other ways to mend what a step mends that nobody has to go much farther
// for, the easiest first; none where what went wrong is undone, and where somebody could be
// hurt: that is no matter of taste. o are what the findings before it ask for; nil: to be found.
func (p *prover) secondsTo(s *Step, o *offers) (list []cure) {
	if !s.cure.isTaste() {
		return nil
	}
	if s.seconds != nil {
		return *s.seconds
	}
	defer func() { s.seconds = &list }()
	if o == nil {
		o = p.offers(s.Before)
	}
	at := slices.IndexFunc(o.order, func(f finding.Finding) bool { return f.Identity() == s.cure.why })
	if at < 0 {
		return nil
	}
	first := o.effortOf(&s.cure)
	f := &o.order[at]
	for _, c := range o.rank(slices.Concat(o.offered(f, true, refusals{}), o.offered(f, false, refusals{}))) {
		if !c.isTaste() || c.way != found && c.way == s.cure.way || sameWithOther(s.cure.edits, c.edits) {
			continue
		}
		e := o.effortOf(&c)
		if e.where > max(first.where, slices.Index(wheres, outcome.Device)) || e.minutes > tasteTimes*first.minutes || p.Minutes > 0 && e.minutes > first.minutes {
			continue
		}
		list = append(list, c)
	}
	return list
}

// sameWithOther reports whether two changes differ only in how far they turn the same things:
// that is one way, unless one of them puts them out.
func sameWithOther(a, b []source.Edit) bool {
	out := func(edits []source.Edit) bool {
		return slices.ContainsFunc(edits, func(e source.Edit) bool { return e.Value == 0.0 })
	}
	word := func(e source.Edit) bool { _, isNumber := e.Value.(float64); return !isNumber }
	mine, theirs := valuesOf(a), valuesOf(b)
	return out(a) == out(b) && !slices.ContainsFunc(b, word) && !slices.ContainsFunc(theirs, func(v value) bool { return !slices.Contains(mine, v) })
}

// clearsAll reports whether a change that was proved clears at least what steps have cleared
// and makes nothing worse but what they do.
func clearsAll(proved *Step, steps []Step) bool {
	missing, prices := CuredBy(steps), map[string]bool{}
	for i := range proved.Cleared {
		delete(missing, proved.Cleared[i].Identity())
	}
	for i := range steps {
		for k := range steps[i].Worse {
			prices[steps[i].Worse[k].Key] = true
		}
	}
	return len(missing) == 0 && !slices.ContainsFunc(proved.Worse, func(w outcome.Price) bool { return !prices[w.Key] })
}

// second says another way than the first: what is different in it, if it turns the same things.
func (w *words) second(first, second []source.Edit) string {
	w.findCues(second)
	rest := slices.DeleteFunc(slices.Clone(second), func(e source.Edit) bool {
		return slices.ContainsFunc(first, func(f source.Edit) bool {
			return f.At == e.At && f.Field == e.Field && f.Value == e.Value && slices.Equal(f.Only, e.Only)
		})
	})
	turned := valuesOf(second)
	if len(rest) == 0 || len(rest) == len(second) || slices.ContainsFunc(valuesOf(first), func(v value) bool { return !slices.Contains(turned, v) }) {
		return w.do(second)
	}
	do := w.do(rest)
	return "The same, but " + spelling.Small(do)
}
