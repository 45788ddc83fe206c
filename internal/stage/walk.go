package stage

import (
	"github.com/cueproof/cueproof/internal/tracking"
)

// Walk goes from look to look and tells what the lamps do in each. From one look to
// the next it only looks at what changes; it may go in any order. A walk is for one
// goroutine.
type Walk struct {
	rig    *Rig
	joined []*Line // those of a walk of [Rig.WalkTogether]; nil: each line of the patch is one
	at     *tracking.Look
	lines  []lampAtStep // by line of the patch
	step   int          // how many looks it has gone to
	lit    int          // the last step at which a lamp came on or went out

	counted map[countKey]lampSums // of lamps that are one
}

// lampAtStep is what a line of the patch does where the walk stands.
type lampAtStep struct {
	lamp  Lamp            // without its look; no light where it is dark
	state *tracking.State // nil before the first look
	rest  *tracking.Rest  // of the state for which the beam is
	step  int             // the last at which it changed
	of    countKey        // what its lamp counts by, where it stands for several
}

// Walk starts a walk over the looks that the rig was made for.
func (r *Rig) Walk() *Walk { return r.walk(r.Lines) }

func (r *Rig) walk(lines []*Line) *Walk {
	w := &Walk{rig: r, lines: make([]lampAtStep, len(lines))}
	for i, line := range lines {
		w.lines[i].lamp.Line = line
	}
	return w
}

// To goes to a look and fills l with it: what l holds of an earlier look of this walk, and
// has not changed since, stays.
func (w *Walk) To(look *tracking.Look, l *LookLight) {
	w.step++
	if w.joined != nil {
		for _, line := range w.joined {
			if w.at == nil || look.Differs(line.slot, w.at) {
				w.turn(line, look.At(line.slot))
			}
		}
	} else {
		for slot := range look.Changed(w.at) {
			w.turn(w.rig.Lines[slot], look.At(slot))
		}
	}
	w.at = look
	since := l.step
	if l.walk != w {
		l.walk, since = w, -1
		l.byLine = make([]Lamp, len(w.lines))
	}
	l.Resolved, l.step = look, w.step
	if since >= w.lit {
		for i := range w.lines {
			if now := &w.lines[i]; now.step > since && now.lamp.Light != nil {
				l.byLine[i] = now.lamp
			}
		}
		for _, list := range [2][]*Lamp{l.Lamps, l.Others} {
			for _, lamp := range list {
				lamp.Look = look
			}
		}
		return
	}
	l.Lamps, l.Others = l.Lamps[:0], l.Others[:0]
	for i := range w.lines {
		now, lamp := &w.lines[i], &l.byLine[i]
		if now.step > since {
			*lamp = now.lamp
		}
		switch {
		case lamp.Light == nil:
			continue
		case lamp.other:
			l.Others = append(l.Others, lamp)
		default:
			l.Lamps = append(l.Lamps, lamp)
		}
		lamp.Look = look
	}
}

// turn brings a line to a state.
func (w *Walk) turn(line *Line, state *tracking.State) {
	now := &w.lines[line.index]
	lamp := &now.lamp
	now.step = w.step
	if !line.stage && !line.other || state.Level <= 0 {
		if lamp.Light != nil {
			lamp.Light, w.lit = nil, w.step
		}
		return
	}
	if lamp.Light == nil {
		w.lit = w.step
	}
	w.shine(line, state, w.rig.known, w.rig.beamOf)
	if len(line.with) > 0 {
		w.count(line, state)
		return
	}
	lamp.Part, lamp.InPicture = w.rig.counts(line, lamp.Light, lamp.Beam)
}

// counts are the parts of a line's light in a beam that count as output and in the picture.
func (r *Rig) counts(line *Line, light *Light, beam *Beam) (part, inPicture float64) {
	part = 1
	if beam != nil && r.Basis.Arriving && !line.inAir && beam.Missing == "" {
		part = beam.Part
	}
	return part, r.inPicture(line, light, beam)
}

// shine gives a line the light and the beam of a state that lights it. The light of the
// line before it is as good where both depend on their state alike.
func (w *Walk) shine(line *Line, state *tracking.State, lightOf func(*Line, *tracking.State) *Light, beamOf func(*Line, *tracking.State) *Beam) {
	now := &w.lines[line.index]
	now.state = state
	if b := line.index - 1; line.asBefore && w.lines[b].state == state && w.lines[b].lamp.Light != nil && w.lines[b].lamp.Missing == "" {
		now.lamp.Light = w.lines[b].lamp.Light
	} else {
		now.lamp.Light = lightOf(line, state)
	}
	if w.rig.Show.Room != nil && (now.lamp.Beam == nil || now.rest != state.Rest) {
		now.lamp.Beam, now.rest = beamOf(line, state), state.Rest
	}
}

// beamOf is the beam of a line in a state.
func (r *Rig) beamOf(line *Line, state *tracking.State) *Beam {
	return r.Room.beamOf(line.Fixture, state)
}

// layOut finds out what the looks use: the light of every lamp in every state, and
// the beams, in the order in which they are met; then what arrives of each.
func (r *Rig) layOut(looks []tracking.Look) {
	r.looks, r.apart = looks, tracking.Apart(looks)
	if r.standsAs(r.kept) {
		return
	}
	r.Room = newScene(r)
	uses, _ := r.meet(r.beamOf)
	for i, use := range uses {
		r.Room.InOrder[i].use = use
	}
	r.Room.finish()
}

// use is what the looks do with a beam.
type use struct {
	used   bool // one of them uses it: it is not just the patch's own aim
	shines bool // in one of them it gives light
	lit    bool // in one of them it gives light, or may: nobody knows how much
}

// meet goes through the looks and finds out how bright each lamp gets and, by their places
// in the order in which they are met, what becomes of the beams. ok is false, and it ends,
// where a beam is not known or met in another order: what lamps are named in follows that.
func (r *Rig) meet(beamOf func(*Line, *tracking.State) *Beam) (uses []use, ok bool) {
	w := r.Walk()
	groups := r.join(nil)
	met := make([]struct {
		rest *tracking.Rest
		any  bool // the beams of that rest are met
		lit  bool // and give light
	}, len(groups))
	visit := func(line *Line, state *tracking.State, look int) bool {
		w.shine(line, state, r.ShineOf, beamOf)
		lamp := &w.lines[line.index].lamp
		if share := lamp.Share; share > 0 && lamp.Missing == "" && (line.Dimmest == 0 || share < line.Dimmest) {
			line.Dimmest, line.DimmestIn = share, look
		}
		if line.stage {
			line.Brightest = max(line.Brightest, lamp.XYZ.Y)
		}
		if r.Show.Room == nil {
			return true
		}
		if lamp.Beam == nil || lamp.Beam.index > len(uses) {
			return false
		}
		if lamp.Beam.index == len(uses) {
			uses = append(uses, use{})
		}
		u := &uses[lamp.Beam.index]
		u.used = u.used || line.stage
		u.shines = u.shines || line.stage && lamp.XYZ.Y > 0
		u.lit = u.lit || line.stage && (lamp.XYZ.Y > 0 || lamp.Missing != "")
		return true
	}
	for i := range r.looks {
		look := &r.looks[i]
		for g, group := range groups {
			if w.at != nil && !look.Differs(group.slot, w.at) {
				continue
			}
			state := look.At(group.slot)
			if state.Level <= 0 || !group.stage && !group.other {
				continue
			}
			first := r.lineOf[group.Fixture]
			if !visit(first, state, i) {
				return nil, false
			}
			lamp := &w.lines[first.index].lamp
			lit := lamp.XYZ.Y > 0
			// Else the others only do what they did, in a light that is known by now.
			if m := &met[g]; !m.any || m.rest != state.Rest || lit && !m.lit || lamp.Missing != "" {
				m.any, m.rest, m.lit = true, state.Rest, lit || m.any && m.rest == state.Rest && m.lit
				for _, line := range group.with {
					if !visit(line, state, i) {
						return nil, false
					}
				}
			}
		}
		w.at = look
	}
	for _, group := range groups {
		first := r.lineOf[group.Fixture]
		for _, line := range group.with {
			line.Dimmest, line.DimmestIn, line.Brightest = first.Dimmest, first.DimmestIn, first.Brightest
		}
	}
	return uses, true
}
