package facts

import (
	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// stageLook is the stage after one cue, as light.
type stageLook struct {
	look  *tracking.Look
	lamps []*stageLamp // the lit stage lamps, in the order of the patch
}

// measureStage lays out the room and lights it with every look.
func measureStage(r *rig, looks []tracking.Look) []*stageLook {
	measured := make([]*stageLook, 0, len(looks))
	s := newScene(r)
	type memo struct {
		state *tracking.State
		shine *shine
		beam  *beam
	}
	last := make([]memo, len(r.lines)) // what each fixture did in the look that it was lit in last
	var lit []int                      // the lines that are lit in this look
	for i := range looks {
		raw := &looks[i]
		lit = lit[:0]
		for k, line := range r.lines {
			if !line.stage {
				continue
			}
			state := raw.State(line.fixture.Channel)
			if state.Level <= 0 {
				continue
			}
			if m := &last[k]; m.state != state {
				m.state = state
				if line.asBefore && last[k-1].state == state && last[k-1].shine.missing == "" {
					m.shine = last[k-1].shine
				} else {
					m.shine = r.shineOf(line, state)
				}
				m.beam = s.use(line, m.shine, state)
			}
			lit = append(lit, k)
		}
		in := &inLook{look: raw, number: raw.Number.String()}
		lamps := make([]stageLamp, len(lit)) // side by side in memory
		l := &stageLook{look: raw, lamps: make([]*stageLamp, len(lit))}
		for i, k := range lit {
			lamps[i] = stageLamp{inLook: in, patched: r.lines[k], shine: last[k].shine, part: 1, beam: last[k].beam}
			l.lamps[i] = &lamps[i]
		}
		measured = append(measured, l)
	}
	s.finish()
	cores.Stretches(len(measured), func(from, to int) {
		for _, l := range measured[from:to] {
			l.count(s)
		}
	})
	return measured
}

// output is the light of the look that counts, in lumens, with what is missing to
// know it of every lamp.
func (l *stageLook) output() (lumens float64, missing []string) {
	for _, lamp := range l.lamps {
		lumens += lamp.output()
		missing = addMissing(missing, lamp.missing)
	}
	return lumens, missing
}

// sum is the output of the look with its colour.
func (l *stageLook) sum() colour.XYZ {
	var sum colour.XYZ
	for _, lamp := range l.lamps {
		sum = sum.Add(lamp.xyz.Scale(lamp.part))
	}
	return sum
}

// emitted is all light that leaves the lamps of the look, in lumens.
func (l *stageLook) emitted() float64 {
	sum := 0.0
	for _, lamp := range l.lamps {
		sum += lamp.xyz.Y
	}
	return sum
}

// screenLight reports whether a screen shows something in a look. ok is false if
// its drive is not known.
func (l *stageLook) screenLight(r *rig) (lit, ok bool, missing string) {
	ok = true
	if r.show.Room == nil {
		return false, true, ""
	}
	for _, surface := range r.show.Room.Surfaces {
		if surface.Kind != "emissive" && surface.Kind != "projection" {
			continue
		}
		drive := l.drive(surface)
		switch {
		case drive == nil:
			ok, missing = false, "the drive of the screen \""+surface.Name+"\""
		case *drive > 0:
			return true, true, ""
		}
	}
	return false, ok, missing
}

// people are the places on which somebody stands in the look.
func (l *stageLook) people() []string {
	if l.look.Segment == nil {
		return nil
	}
	return l.look.Segment.People
}

// drive is what the look drives a screen at, in percent: a cue's word, else the
// room's; nil if neither tells.
func (l *stageLook) drive(surface *schema.Surface) *float64 {
	if drive, ok := l.look.Drives[surface.Name]; ok && drive.DrivePct != nil {
		return drive.DrivePct
	}
	return surface.DrivePct
}
