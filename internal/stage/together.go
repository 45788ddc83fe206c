package stage

import (
	"github.com/cueproof/cueproof/internal/tracking"
)

// Lamps that are set in groups do the same all evening: the same make, side by side in the
// patch, told the same by every cue. Whoever only adds light up can take them as one lamp:
// their light is the same, and what counts of it is added up once for each aim.

// WalkTogether starts a walk in which such lamps are one, which stands for all of them:
// its light is that of each, and Part and InPicture are the sums of theirs. All else of it
// is that of the first of them.
func (r *Rig) WalkTogether() *Walk {
	r.joined.once.Do(func() {
		unsure := map[*Make]bool{} // what is missing is said of each fixture
		for key := range r.Lights {
			if key.only != nil {
				unsure[key.of] = true
			}
		}
		r.joined.lines = r.join(unsure)
	})
	w := r.walk(r.joined.lines)
	w.joined, w.counted = r.joined.lines, map[countKey]lampSums{}
	return w
}

// join finds the lines that always do the same, but for some makes.
func (r *Rig) join(unsure map[*Make]bool) (lines []*Line) {
	for slot, line := range r.Lines {
		if slot > 0 && slot < len(r.apart) && !r.apart[slot] && !unsure[line.Of] {
			if first := lines[len(lines)-1]; first.Of == line.Of && first.Purpose == line.Purpose {
				first.with = append(first.with, line)
				continue
			}
		}
		first := *line
		first.index, first.slot = len(lines), slot
		first.asBefore = len(lines) > 0 && lines[len(lines)-1].Of == line.Of
		lines = append(lines, &first)
	}
	return lines
}

// countKey is all that decides what counts of lamps that are one.
type countKey struct {
	line     *Line
	rest     *tracking.Rest
	coloured bool
	white    bool // neither, where nobody knows
}

// lampSums are the sums of what counts.
type lampSums struct {
	part, inPicture float64
	pictured        int32 // how many count in the picture
}

// count adds up what counts of the lamps that a line stands for.
func (w *Walk) count(line *Line, state *tracking.State) {
	now := &w.lines[line.index]
	key := countKey{line: line, rest: state.Rest}
	if coloured := now.lamp.Coloured; coloured != nil {
		key.coloured, key.white = *coloured, !*coloured
	}
	if now.of == key {
		return
	}
	sum, done := w.counted[key]
	if !done {
		add := func(line *Line, beam *Beam) {
			part, inPicture := w.rig.counts(line, now.lamp.Light, beam)
			sum.part, sum.inPicture = sum.part+part, sum.inPicture+inPicture
			if inPicture > 0 {
				sum.pictured++
			}
		}
		add(line, now.lamp.Beam)
		for _, more := range line.with {
			add(more, w.rig.pointing(more, state))
		}
		w.counted[key] = sum
	}
	now.of = key
	now.lamp.Part, now.lamp.InPicture, now.lamp.pictured = sum.part, sum.inPicture, sum.pictured
}

// pointing is the beam of a line in a state; nil without a room.
func (r *Rig) pointing(line *Line, state *tracking.State) *Beam {
	if r.Show.Room == nil {
		return nil
	}
	return r.beamOf(line, state)
}

// eachAlone visits the lamps that a line stands for, each by itself.
func (r *Rig) eachAlone(first *Line, p Pair, visit func(p Pair)) {
	for _, line := range append([]*Line{r.lineOf[first.Fixture]}, first.with...) {
		visit(Pair{r.alone(line, p.Before), r.alone(line, p.After)})
	}
}

// alone is one of the lamps that another stands for; nil of one that is dark.
func (r *Rig) alone(line *Line, of *Lamp) *Lamp {
	if of == nil {
		return nil
	}
	lamp := &Lamp{Look: of.Look, Line: line, Light: of.Light, Beam: r.pointing(line, of.State)}
	lamp.Part, lamp.InPicture = r.counts(line, lamp.Light, lamp.Beam)
	return lamp
}
