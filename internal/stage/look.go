package stage

import (
	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Look is the stage after one cue, as light.
type Look struct {
	Resolved *tracking.Look
	Lamps    []*Lamp // the lit stage lamps, in the order of the patch
}

// LightAll lays out the room and lights it with every look.
func LightAll(r *Rig, looks []tracking.Look) []*Look {
	measured := make([]*Look, 0, len(looks))
	s := newScene(r)
	type memo struct {
		state *tracking.State
		shine *Light
		beam  *Beam
	}
	last := make([]memo, len(r.Lines)) // what each fixture did in the look that it was lit in last
	var lit []int                      // the lines that are lit in this look
	for i := range looks {
		raw := &looks[i]
		lit = lit[:0]
		for k, line := range r.Lines {
			if !line.stage {
				continue
			}
			state := raw.State(line.Fixture.Channel)
			if state.Level <= 0 {
				continue
			}
			if m := &last[k]; m.state != state {
				m.state = state
				if line.asBefore && last[k-1].state == state && last[k-1].shine.Missing == "" {
					m.shine = last[k-1].shine
				} else {
					m.shine = r.ShineOf(line, state)
				}
				m.beam = s.use(line, m.shine, state)
			}
			lit = append(lit, k)
		}
		in := &InLook{Look: raw, Number: raw.Number.String()}
		lamps := make([]Lamp, len(lit)) // side by side in memory
		l := &Look{Resolved: raw, Lamps: make([]*Lamp, len(lit))}
		for i, k := range lit {
			lamps[i] = Lamp{InLook: in, Line: r.Lines[k], Light: last[k].shine, Part: 1, Beam: last[k].beam}
			l.Lamps[i] = &lamps[i]
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

// Output is the light of the look that counts, in lumens, with what is missing to
// know it of every lamp.
func (l *Look) Output() (lumens float64, missing []string) {
	for _, lamp := range l.Lamps {
		lumens += lamp.Output()
		missing = AddMissing(missing, lamp.Missing)
	}
	return lumens, missing
}

// Sum is the output of the look with its colour.
func (l *Look) Sum() colour.XYZ {
	var sum colour.XYZ
	for _, lamp := range l.Lamps {
		sum = sum.Add(lamp.XYZ.Scale(lamp.Part))
	}
	return sum
}

// Emitted is all light that leaves the lamps of the look, in lumens.
func (l *Look) Emitted() float64 {
	sum := 0.0
	for _, lamp := range l.Lamps {
		sum += lamp.XYZ.Y
	}
	return sum
}

// ScreenLight reports whether a screen shows something in a look. ok is false if
// its drive is not known.
func (l *Look) ScreenLight(r *Rig) (lit, ok bool, missing string) {
	ok = true
	if r.Show.Room == nil {
		return false, true, ""
	}
	for _, surface := range r.Show.Room.Surfaces {
		if surface.Kind != "emissive" && surface.Kind != "projection" {
			continue
		}
		drive := l.Drive(surface)
		switch {
		case drive == nil:
			ok, missing = false, "the drive of the screen \""+surface.Name+"\""
		case *drive > 0:
			return true, true, ""
		}
	}
	return false, ok, missing
}

// People are the places on which somebody stands in the look.
func (l *Look) People() []string {
	if l.Resolved.Segment == nil {
		return nil
	}
	return l.Resolved.Segment.People
}

// Drive is what the look drives a screen at, in percent: a cue's word, else the
// room's; nil if neither tells.
func (l *Look) Drive(surface *schema.Surface) *float64 {
	if drive, ok := l.Resolved.Drives[surface.Name]; ok && drive.DrivePct != nil {
		return drive.DrivePct
	}
	return surface.DrivePct
}
