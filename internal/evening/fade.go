package evening

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/flash"
	"github.com/cueproof/cueproof/internal/stage"
)

// Amount is light: lumens, and linear sRGB on the same scale. Amounts of several
// lamps add up.
type Amount struct{ Y, r, g, b float64 }

func (a Amount) plus(b Amount) Amount {
	return Amount{a.Y + b.Y, a.r + b.r, a.g + b.g, a.b + b.b}
}

func (a Amount) times(k float64) Amount { return Amount{a.Y * k, a.r * k, a.g * k, a.b * k} }

// between is the amount at a part p of the way from a to b.
func (a Amount) between(b Amount, p float64) Amount { return a.plus(b.plus(a.times(-1)).times(p)) }

func (a Amount) finite() bool {
	return !math.IsNaN(a.Y+a.r+a.g+a.b) && !math.IsInf(a.Y+a.r+a.g+a.b, 0)
}

// amountOf is the light of a lamp. A colour outside the sRGB triangle has its
// negative parts cut off, which makes a red no less red.
func amountOf(xyz colour.XYZ) Amount {
	rgb, ok := xyz.LinearSRGB()
	if !ok {
		return Amount{Y: xyz.Y}
	}
	return Amount{xyz.Y, max(0, rgb.R), max(0, rgb.G), max(0, rgb.B)}
}

// bends is into how many straight lines a fade of a lamp is cut whose light is
// not in proportion to its level. A square law is then off by at most 1/256 of
// full between the knots (the gap of a parabola to its chord, (b-a)^2/4); the
// level itself is a straight line, and exact.
const bends = 8

// travel is the way of a lamp's light from one look to the next.
type travel struct {
	start, end float64  // s
	at         []Amount // at equal steps of time; two for a straight line
}

// value is the light at a time.
func (t *travel) value(s float64) Amount {
	if s >= t.end {
		return t.at[len(t.at)-1]
	}
	if s <= t.start {
		return t.at[0]
	}
	p := (s - t.start) / (t.end - t.start) * float64(len(t.at)-1)
	k := min(int(p), len(t.at)-2)
	return t.at[k].between(t.at[k+1], p-float64(k))
}

// travelOf is the way between the states of a lamp in two looks, of which the
// parts in k count; before and after are nil where the lamp is dark.
func travelOf(before, after *stage.Lamp, k parts, start, end float64) travel {
	t := travel{start: start, end: end}
	lamp := after
	if lamp == nil {
		lamp = before
	}
	var from, to, fullFrom, fullTo Amount
	levelFrom, levelTo := 0.0, 0.0
	if before != nil {
		from, levelFrom = amountOf(before.XYZ).times(k.before), before.Level
	}
	if after != nil {
		to, levelTo = amountOf(after.XYZ).times(k.after), after.Level
	}
	if lamp.Straight() && (before == nil || after == nil || levelFrom == levelTo) || end <= start {
		t.at = []Amount{from, to}
		return t
	}
	if before != nil {
		if part := before.Control(levelFrom); part > 0 {
			fullFrom = from.times(1 / part)
		}
	}
	if after != nil {
		if part := after.Control(levelTo); part > 0 {
			fullTo = to.times(1 / part)
		}
	}
	if before == nil {
		fullFrom = fullTo
	}
	if after == nil {
		fullTo = fullFrom
	}
	if lamp.Straight() && fullFrom == fullTo {
		t.at = []Amount{from, to}
		return t
	}
	t.at = make([]Amount, bends+1)
	for k := range t.at {
		p := float64(k) / bends
		t.at[k] = fullFrom.between(fullTo, p).times(lamp.Control(levelFrom + p*(levelTo-levelFrom)))
	}
	t.at[0], t.at[bends] = from, to
	return t
}

// parts are what counts of the light of a lamp in two looks.
type parts struct{ before, after float64 }

// whole is all of it.
var whole = parts{1, 1}

// partsOf tells what counts of a lamp's light as output. Where it is dark it counts
// by the same part as where it is lit.
func partsOf(p stage.Pair) parts {
	switch {
	case p.Before == nil:
		return parts{p.After.Part, p.After.Part}
	case p.After == nil:
		return parts{p.Before.Part, p.Before.Part}
	}
	return parts{p.Before.Part, p.After.Part}
}

// ramp adds an amount evenly over a time, or at once.
type ramp struct {
	start, end float64
	by         Amount
}

// ramps gathers what the lamps of one look do; lamps that move together are one.
type ramps struct {
	list  []ramp
	first int // of the present look
}

func (r *ramps) add(start, end float64, by Amount) {
	if by == (Amount{}) {
		return
	}
	for i := r.first; i < len(r.list); i++ {
		if r.list[i].start == start && r.list[i].end == end {
			r.list[i].by = r.list[i].by.plus(by)
			return
		}
	}
	r.list = append(r.list, ramp{start, end, by})
}

// addTravel adds the ways of a lamp from the time s on, times a sign.
func (r *ramps) addTravel(t *travel, s, sign float64) {
	steps := len(t.at) - 1
	if t.end <= t.start {
		if s <= t.start {
			r.add(t.start, t.start, t.at[steps].plus(t.at[0].times(-1)).times(sign))
		}
		return
	}
	for k := range steps {
		start := t.start + (t.end-t.start)*float64(k)/float64(steps)
		end := t.start + (t.end-t.start)*float64(k+1)/float64(steps)
		if end <= s {
			continue
		}
		from := t.at[k]
		if start < s {
			start, from = s, t.value(s)
		}
		r.add(start, end, t.at[k+1].plus(from.times(-1)).times(sign))
	}
}

// Stretch is a row of looks on one clock, with the light of the stage over it.
type Stretch struct {
	first, last int // looks
	begin       float64
	Initial     Amount
	missing     []string // why the light is not known; empty if it is
	fades       *fades   // nil where it is one look: there may be as many of these as cues
}

// fades are what happens in a stretch of several looks.
type fades struct {
	ramps  []ramp
	starts []int     // of each look: its first ramp
	ends   []float64 // of each look: when all is done that was called up to it
}

// stretcher works out the light of looks that stand on one clock. The first of
// them is taken as settled when it begins. A lamp that is told something new
// while it still fades goes on from where it is; one that is not told anything
// finishes its fade. Each lamp counts by what counts of it as output, or else, if
// emitted, by all its light.
type stretcher struct {
	e       *Evening
	s       *Stretch
	emitted bool
	all     ramps
	runs    []scaledWay // what may not have ended, by place in the patch
	end     float64     // when all of it has
	ways    wayMemo
	missing stage.Missing
}

// begin starts a stretch with a look.
func (e *Evening) begin(i int, look *stage.LookLight, emitted bool) *stretcher {
	st := &stretcher{
		e: e, s: &Stretch{first: i, begin: e.Time.Moments[i].At}, emitted: emitted,
		end: e.Time.Moments[i].At,
	}
	for _, lamp := range look.Lamps {
		st.lack(lamp)
		part := lamp.Part
		if emitted {
			part = float64(lamp.Count())
		}
		st.s.Initial = st.s.Initial.plus(amountOf(lamp.XYZ).times(part))
	}
	return st
}

func (st *stretcher) lack(lamp *stage.Lamp) {
	if lamp != nil {
		st.missing.Add(lamp.Missing)
	}
}

// goOn gets ready for another look.
func (st *stretcher) goOn() {
	if st.runs != nil {
		return
	}
	moments := st.e.Time.Moments
	first := st.s.first
	last := first
	for last+1 < len(moments) && moments[last+1].Clock == moments[first].Clock {
		last++
	}
	st.runs, st.ways.turns = make([]scaledWay, len(st.e.Rig.Show.Patch)), map[turnKey]*lightWay{}
	st.s.fades = &fades{starts: append(make([]int, 0, last-first+1), 0), ends: append(make([]float64, 0, last-first+1), st.end)}
}

// next adds a look that follows the one before on its clock.
func (st *stretcher) next(i int, before, look *stage.LookLight) {
	all := &st.all
	all.first = len(all.list)
	st.goOn()
	st.s.fades.starts = append(st.s.fades.starts, all.first)
	paces := pacesOf(look.Resolved)
	at := st.e.Time.Moments[i].At
	st.ways.clear()
	st.e.Rig.Told(before, look, func(index int, p stage.Pair) {
		st.lack(p.Before)
		st.lack(p.After)
		k := partsOf(p)
		if st.emitted {
			all := float64(p.Shown().Count())
			k = parts{all, all}
		}
		shared, times := st.ways.wayOf(paces, p, k, at)
		way := &shared.travel
		if old := &st.runs[index]; len(old.way.at) > 0 && old.way.end > way.start {
			all.addTravel(&old.way, way.start, -old.times) // what is left of it does not happen
			way = &travel{start: way.start, end: way.end, at: []Amount{old.way.value(way.start).times(old.times), way.at[len(way.at)-1].times(times)}}
			times = 1
			all.addTravel(way, way.start, 1)
		} else {
			shared.times += times
		}
		st.runs[index] = scaledWay{}
		if way.end > way.start {
			st.runs[index] = scaledWay{*way, times}
			st.end = max(st.end, way.end)
		}
	})
	for _, shared := range st.ways.list {
		all.addTravel(&shared.travel, shared.travel.start, shared.times)
	}
	st.s.fades.ends = append(st.s.fades.ends, st.end)
}

// done ends the stretch with a look.
func (st *stretcher) done(last int) *Stretch {
	st.s.last, st.s.missing = last, st.missing.Phrases
	if st.s.fades != nil {
		st.s.fades.ramps = st.all.list
	}
	return st.s
}

// StretchOf works out the light of a row of looks that stand on one clock.
func (e *Evening) StretchOf(first, last int, emitted bool) *Stretch {
	w := e.Rig.WalkTogether()
	before, look := &stage.LookLight{}, &stage.LookLight{}
	w.To(&e.Looks[first], before)
	st := e.begin(first, before, emitted)
	for i := first + 1; i <= last; i++ {
		w.To(&e.Looks[i], look)
		st.next(i, before, look)
		before, look = look, before
	}
	return st.done(last)
}

// scaledWay is a way that a lamp is on, and how many times its light it is.
type scaledWay struct {
	way   travel
	times float64
}

// wayKey is all that the way of a lamp depends on, but for how many times its
// light it is: a lamp of which the same part counts in both looks goes the way of
// any other such lamp, times that part.
type wayKey struct {
	before, after *stage.Light
	parts         parts // whole where they are the same
	start, end    float64
}

// sharedWay is a way that several lamps take.
type sharedWay struct {
	travel travel
	times  float64 // of all of them together
}

// turnKey is all that the light on a way depends on, whenever that begins.
type turnKey struct {
	before, after *stage.Light
	parts         parts
	moves         bool // it takes time
}

// lightWay is that light, and the last way on which it was met.
type lightWay struct {
	at   []Amount
	look int
	way  *sharedWay
}

// wayMemo keeps the ways of the lamps of one look: those that are told the same
// share what their light is. What the light does on them it keeps for all looks.
type wayMemo struct {
	turns map[turnKey]*lightWay
	look  int          // how many it has seen
	list  []*sharedWay // of the present one; their room is used again for the next
	key   wayKey
	last  *sharedWay
}

func (m *wayMemo) clear() {
	m.look++
	m.list, m.last = m.list[:0], nil
}

// wayOf returns a way and how many times its light the lamp gives on it.
func (m *wayMemo) wayOf(paces paces, p stage.Pair, k parts, at float64) (way *sharedWay, times float64) {
	start, end := timesOf(paces, p, at)
	times = 1
	if k.before == k.after {
		k, times = whole, k.after
	}
	key := wayKey{p.Before.Shines(), p.After.Shines(), k, start, end}
	if m.last != nil && m.key == key { // lamps that do the same stand side by side in a patch
		return m.last, times
	}
	turn := turnKey{key.before, key.after, k, end > start}
	done := m.turns[turn]
	if done == nil {
		done = &lightWay{at: travelOf(p.Before, p.After, k, start, end).at}
		m.turns[turn] = done
	}
	shared := done.way
	if done.look != m.look || shared.travel.start != start || shared.travel.end != end {
		shared = m.another()
		*shared = sharedWay{travel: travel{start, end, done.at}}
		done.look, done.way = m.look, shared
	}
	m.key, m.last = key, shared
	return shared, times
}

// another adds a way to the list.
func (m *wayMemo) another() *sharedWay {
	n := len(m.list)
	if m.list = slices.Grow(m.list, 1)[:n+1]; m.list[n] == nil {
		m.list[n] = &sharedWay{}
	}
	return m.list[n]
}

// wayOf is the way of all light of a lamp into a look whose cue is called at a time.
func wayOf(paces paces, p stage.Pair, at float64) travel {
	start, end := timesOf(paces, p, at)
	return travelOf(p.Before, p.After, whole, start, end)
}

// timesOf is when a lamp moves into a look whose cue is called at a time.
func timesOf(paces paces, p stage.Pair, at float64) (start, end float64) {
	rising := p.Before == nil || p.After != nil && p.After.Level >= p.Before.Level
	pace := paces.of(p.Shown().Channel)
	start = at + pace.delay
	if rising {
		return start, start + pace.in
	}
	return start, start + pace.out
}

// Knot is the light just before and just after a moment.
type Knot struct {
	T             float64
	Before, After Amount
}

// Knots are the corners of the light over the stretch, in order of time.
func (s *Stretch) Knots() []Knot {
	type event struct {
		t    float64
		ramp int32
		runs int32 // 1 where it begins, -1 where it ends, 0 for one that is done at once
	}
	var ramps []ramp
	if s.fades != nil {
		ramps = s.fades.ramps
	}
	events := make([]event, 0, 2*len(ramps))
	for i, r := range ramps {
		if r.end <= r.start {
			events = append(events, event{r.start, int32(i), 0})
			continue
		}
		events = append(events, event{r.start, int32(i), 1}, event{r.end, int32(i), -1})
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.t, b.t) })
	value, slope, now := s.Initial, Amount{}, s.begin
	times := 1
	for i := range events {
		if i == 0 || events[i].t != events[i-1].t {
			times++
		}
	}
	list := append(make([]Knot, 0, times), Knot{now, value, value})
	running := int32(0)
	for i := 0; i < len(events); {
		t := events[i].t
		value = value.plus(slope.times(t - now))
		k := Knot{T: t, Before: value.tidy()}
		for ; i < len(events) && events[i].t == t; i++ {
			r, runs := &ramps[events[i].ramp], events[i].runs
			if running += runs; runs == 0 {
				value = value.plus(r.by)
			} else {
				slope = slope.plus(r.by.times(1 / (r.end - r.start)).times(float64(runs)))
			}
		}
		if running == 0 {
			slope = Amount{} // without what rounding left of it
		}
		value = value.tidy()
		k.After, now = value, t
		list = append(list, k)
	}
	return list
}

// dust is what is left over, in lumens, where amounts that were added are taken
// away again: far below anything that a lamp gives.
const dust = 1e-6

// tidy takes rounding away.
func (a Amount) tidy() Amount {
	clean := func(x float64) float64 {
		if x < dust || math.IsNaN(x) {
			return 0
		}
		return x
	}
	return Amount{clean(a.Y), clean(a.r), clean(a.g), clean(a.b)}
}

// pieces are the straight lines of the light from one time to another.
func pieces(knots []Knot, from, to float64) []dynamics.Piece {
	first := max(0, sort.Search(len(knots), func(i int) bool { return knots[i].T > from })-1) // the line that is under way
	last := sort.Search(len(knots), func(i int) bool { return !(knots[i].T < to) })
	if first >= last {
		return nil
	}
	list := make([]dynamics.Piece, 0, last-first)
	for i := first; i < last; i++ {
		k := knots[i]
		start, end := k.T, to
		at := k.After.Y
		until := at
		if i+1 < len(knots) {
			end = knots[i+1].T
			until = knots[i+1].Before.Y
		}
		if end <= from || end <= start {
			continue
		}
		along := func(t float64) float64 {
			part := (t - start) / (end - start)
			return (1-part)*at + part*until
		}
		begins, ends := max(start, from), min(end, to)
		list = append(list, dynamics.Piece{Start: begins, End: ends, From: along(begins), To: along(ends)})
	}
	return list
}

// lit leaves out what is dark all along: darkness between the parts of an
// evening is no part of its light.
func lit(list []dynamics.Piece) []dynamics.Piece {
	return slices.DeleteFunc(list, func(p dynamics.Piece) bool { return !(p.From > 0 || p.To > 0) })
}

// flashStates turns knots into a path for the flash rules, in parts of the
// brightest light.
func flashStates(knots []Knot, peak float64) []flash.State {
	var states []flash.State
	for _, k := range knots {
		for _, a := range []Amount{k.Before, k.After} {
			states = append(states, flash.State{T: k.T, Y: a.Y / peak, R: a.r / peak, G: a.g / peak, B: a.b / peak})
		}
	}
	return states
}
