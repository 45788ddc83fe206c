package evening

import (
	"cmp"
	"slices"

	"github.com/cueproof/cueproof/internal/stage"
)

// walkFrom does as walk does, and takes over from another evening what happens in looks
// and between looks that stand in both, and at the same time.
func (e *Evening) walkFrom(before *Evening, standing []bool) {
	same := make([]bool, len(e.Looks))
	for i := range min(len(e.Looks), len(before.Looks)) {
		same[i] = standing[i] && e.Time.Moments[i] == before.Time.Moments[i]
	}
	pairs, known := walker{e: e, walk: e.Rig.WalkTogether()}, steps{}
	for i := range e.Looks {
		if same[i] && (i == 0 || same[i-1]) {
			e.Sums[i], e.given[i], e.ups[i], e.unsure[i], e.Steps[i], e.finished[i] = before.Sums[i], before.given[i], before.ups[i], before.unsure[i], before.Steps[i], before.finished[i]
			d, was := &e.Dynamics, &before.Dynamics
			d.Of[i], d.Luminous[i], d.ups[i] = was.Of[i], was.Luminous[i], was.ups[i]
			continue
		}
		was, look := pairs.to(i)
		e.measure(i, was, look, known)
	}
	for first := 0; first < len(e.Looks); {
		last := first
		for last+1 < len(e.Looks) && e.Time.Moments[last+1].Clock == e.Time.Moments[first].Clock {
			last++
		}
		e.Stretches = append(e.Stretches, e.stretchFrom(before, same, first, last))
		first = last + 1
	}
	e.addUp()
}

// walker holds two looks that stand side by side.
type walker struct {
	e         *Evening
	walk      *stage.Walk
	was, look stage.LookLight
}

// to returns the look before another, and that one.
func (w *walker) to(i int) (was, look *stage.LookLight) {
	if i > 0 {
		if before := &w.e.Looks[i-1]; w.look.Resolved == before {
			w.was, w.look = w.look, w.was
		} else if w.was.Resolved != before {
			w.walk.To(before, &w.was)
		}
	}
	w.walk.To(&w.e.Looks[i], &w.look)
	return &w.was, &w.look
}

// stretchFrom works out a stretch of looks and takes over the ramps between moments at
// which nothing moves, as far as the looks there are the same.
func (e *Evening) stretchFrom(before *Evening, same []bool, first, last int) *Stretch {
	at, found := slices.BinarySearchFunc(before.Stretches, first, func(s *Stretch, first int) int { return cmp.Compare(s.first, first) })
	found = found && before.Stretches[at].last == last
	if found && first == last && same[first] {
		return before.Stretches[at]
	}
	pairs := walker{e: e, walk: e.Rig.WalkTogether()}
	_, look := pairs.to(first)
	st := e.begin(first, look, false)
	if !found || len(before.Stretches[at].missing) > 0 || len(st.missing.Phrases) > 0 {
		for i := first + 1; i <= last; i++ {
			st.next(pairs.next(i))
		}
		return st.done(last)
	}
	old := before.Stretches[at].fades                                                // none where there is one look, of which nothing moves
	quiet := func(i int) bool { return old.ends[i-1-first] <= e.Time.Moments[i].At } // when look i is called
	changed := func(i int) bool { return !same[i] || !same[i-1] }
	for i := first + 1; i <= last; {
		if !quiet(i) || st.end > e.Time.Moments[i].At {
			st.next(pairs.next(i))
			i++
			continue
		}
		// Nothing moves here in either: go on to where nothing moves before something changes.
		until := i
		for k := i; k <= last && !changed(k); k++ {
			if k == last || quiet(k+1) {
				until = k + 1
			}
		}
		if until == i {
			st.next(pairs.next(i))
			i++
			continue
		}
		st.take(old, first, last, i, until)
		i = until
	}
	return st.done(last)
}

// next returns what a stretcher wants to know of a look.
func (w *walker) next(i int) (int, *stage.LookLight, *stage.LookLight) {
	was, look := w.to(i)
	return i, was, look
}

// take adds the ramps of another stretch from one look to before another, between which
// nothing reaches in or out.
func (st *stretcher) take(old *fades, first, last, from, until int) {
	st.goOn()
	start := len(st.all.list) - old.starts[from-first]
	stop := len(old.ramps)
	if until <= last {
		stop = old.starts[until-first]
	}
	st.all.list = append(st.all.list, old.ramps[old.starts[from-first]:stop]...)
	now := st.s.fades
	for i := from; i < until; i++ {
		now.starts = append(now.starts, old.starts[i-first]+start)
		now.ends = append(now.ends, old.ends[i-first])
	}
	st.end = old.ends[until-1-first]
	clear(st.runs)
}
