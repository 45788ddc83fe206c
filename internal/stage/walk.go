package stage

import (
	"github.com/cueproof/cueproof/internal/tracking"
)

// Walk goes from look to look and tells what the lamps do in each. From one look to
// the next it only looks at what changes; it may go in any order. A walk is for one
// goroutine.
type Walk struct {
	rig   *Rig
	at    *tracking.Look
	lines []walked // by line of the patch
}

// walked is what a line of the patch does where the walk stands.
type walked struct {
	state *tracking.State // nil before the first look
	light *Light          // nil where it is dark
	beam  *Beam           // nil without a room
	rest  *tracking.Rest  // of the state for which the beam is
	part  float64

	picture float64
}

// Walk starts a walk over the looks that the rig was made for.
func (r *Rig) Walk() *Walk { return &Walk{rig: r, lines: make([]walked, len(r.Lines))} }

// To goes to a look and fills l with it.
func (w *Walk) To(look *tracking.Look, l *Look) {
	for slot := range look.Changed(w.at) {
		state := look.At(slot)
		for _, line := range w.rig.bySlot[slot] {
			w.turn(line, state)
		}
	}
	w.at = look
	count := 0
	for i := range w.lines {
		if w.lines[i].light != nil {
			count++
		}
	}
	if cap(l.room) < count {
		l.room = make([]Lamp, 0, count+count/4)
		l.Lamps = make([]*Lamp, 0, count+count/4)
	}
	if len(l.byLine) < len(w.lines) {
		l.byLine = make([]int32, len(w.lines))
	}
	l.Resolved, l.room, l.Lamps, l.Others = look, l.room[:count], l.Lamps[:0], l.Others[:0]
	for i := range w.lines {
		now := &w.lines[i]
		if now.light == nil {
			l.byLine[i] = 0
			continue
		}
		lamp := &l.room[len(l.Lamps)+len(l.Others)]
		*lamp = Lamp{Look: look, Line: w.rig.Lines[i], Light: now.light, Part: now.part, InPicture: now.picture, Beam: now.beam}
		if lamp.other {
			l.Others = append(l.Others, lamp)
			l.byLine[i] = 0
			continue
		}
		l.Lamps = append(l.Lamps, lamp)
		l.byLine[i] = int32(len(l.Lamps))
	}
}

// turn brings a line to a state.
func (w *Walk) turn(line *Line, state *tracking.State) {
	now := &w.lines[line.index]
	now.state = state
	if !line.stage && !line.other || state.Level <= 0 {
		now.light = nil
		return
	}
	if before := line.index - 1; line.asBefore && w.lines[before].state == state && w.lines[before].light != nil && w.lines[before].light.Missing == "" {
		now.light = w.lines[before].light
	} else {
		now.light = w.rig.known(line, state)
	}
	now.part = 1
	if w.rig.Show.Room == nil {
		now.picture = w.rig.inPicture(line, now.light, nil)
		return
	}
	if now.beam == nil || now.rest != state.Rest {
		now.beam, now.rest = w.rig.Room.beamOf(line.Fixture, state), state.Rest
	}
	if w.rig.Basis.Arriving && !SeenInAir(line.Purpose) && now.beam.Missing == "" {
		now.part = now.beam.Part
	}
	now.picture = w.rig.inPicture(line, now.light, now.beam)
}

// layOut finds out what the looks use: the light of every lamp in every state, and
// the beams, in the order in which they are met; then what arrives of each.
func (r *Rig) layOut(looks []tracking.Look) {
	r.looks, r.bySlot = looks, nil
	if len(looks) > 0 {
		r.bySlot = make([][]*Line, looks[0].Slots())
		for _, line := range r.Lines {
			if slot, ok := looks[0].Slot(line.Channel); ok {
				r.bySlot[slot] = append(r.bySlot[slot], line)
			}
		}
	}
	if r.standsAs(r.kept) {
		return
	}
	r.Room = newScene(r)
	uses, _ := r.meet(func(line *Line, state *tracking.State) *Beam { return r.Room.beamOf(line.Fixture, state) })
	for i, use := range uses {
		r.Room.InOrder[i].use = use
	}
	r.Room.finish()
}

// use is what the looks do with a beam.
type use struct {
	used   bool // one of them uses it: it is not just the patch's own aim
	shines bool // in one of them it gives light
}

// meet goes through the looks and finds out how bright each lamp gets and, by their places
// in the order in which they are met, what becomes of the beams. ok is false, and it ends,
// where a beam is not known or met in another order: what lamps are named in follows that.
func (r *Rig) meet(beamOf func(*Line, *tracking.State) *Beam) (uses []use, ok bool) {
	lines := make([]walked, len(r.Lines))
	var before *tracking.Look
	for i := range r.looks {
		look := &r.looks[i]
		for slot := range look.Changed(before) {
			state := look.At(slot)
			if state.Level <= 0 {
				continue
			}
			for _, line := range r.bySlot[slot] {
				if !line.stage && !line.other {
					continue
				}
				now := &lines[line.index]
				now.state = state
				if b := line.index - 1; line.asBefore && lines[b].state == state && lines[b].light.Missing == "" {
					now.light = lines[b].light
				} else {
					now.light = r.ShineOf(line, state)
				}
				if share := now.light.Share; share > 0 && now.light.Missing == "" && (line.Dimmest == 0 || share < line.Dimmest) {
					line.Dimmest, line.DimmestIn = share, i
				}
				if line.stage {
					line.Brightest = max(line.Brightest, now.light.XYZ.Y)
				}
				if r.Show.Room == nil {
					continue
				}
				if now.beam == nil || now.rest != state.Rest {
					if now.beam, now.rest = beamOf(line, state), state.Rest; now.beam == nil {
						return nil, false
					}
				}
				if now.beam.index > len(uses) {
					return nil, false
				}
				if now.beam.index == len(uses) {
					uses = append(uses, use{})
				}
				u := &uses[now.beam.index]
				u.used = u.used || line.stage
				u.shines = u.shines || line.stage && now.light.XYZ.Y > 0
			}
		}
		before = look
	}
	return uses, true
}
