package stage

import (
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// LookLight is the stage after one cue, as light. A [Walk] fills it, and may fill it again
// for another cue: who keeps a lamp beyond that keeps a copy.
type LookLight struct {
	Resolved *tracking.Look
	Lamps    []*Lamp // the lit stage lamps, in the order of the patch
	Others   []*Lamp // lit house lights and lamps of the set: they light people too

	byLine []Lamp // where they are, by line of the patch; no light where it is dark
	walk   *Walk  // that filled it
	step   int    // of the walk
}

// of is a line's lamp; nil where it is dark, or no stage light.
func (l *LookLight) of(line *Line) *Lamp {
	if lamp := &l.byLine[line.index]; lamp.Light != nil && !line.other {
		return lamp
	}
	return nil
}

// Output is the light of the look that counts, in lumens, with what is missing to
// know it of every lamp.
func (l *LookLight) Output() (lumens float64, missing []string) {
	var m Missing
	for _, lamp := range l.Lamps {
		lumens += lamp.Output()
		m.Add(lamp.Missing)
	}
	return lumens, m.Phrases
}

// Sum is the output of the look with its colour.
func (l *LookLight) Sum() colour.XYZ {
	var sum colour.XYZ
	for _, lamp := range l.Lamps {
		sum = sum.Add(lamp.XYZ.Scale(lamp.Part))
	}
	return sum
}

// Emitted is all light that leaves the lamps of the look, in lumens.
func (l *LookLight) Emitted() float64 {
	sum := 0.0
	for _, lamp := range l.Lamps {
		sum += lamp.XYZ.Y * float64(lamp.Count())
	}
	return sum
}

// ScreenLight reports whether a screen shows something in a look. ok is false if
// its drive is not known.
func ScreenLight(r *Rig, look *tracking.Look) (lit, ok bool, missing string) {
	ok = true
	if r.Show.Room == nil {
		return false, true, ""
	}
	for _, surface := range r.Show.Room.Surfaces {
		if surface.Kind != "emissive" && surface.Kind != "projection" {
			continue
		}
		drive := drivePct(look, surface)
		switch {
		case drive == nil:
			ok, missing = false, "the drive of the screen \""+surface.Name+"\""
		case *drive > 0:
			return true, true, ""
		}
	}
	return false, ok, missing
}

// Drive is what the look drives a screen at, in percent: the word of a cue or of the
// segment, else the room's. If neither tells, a projector counts as running at full ([AtFull]); of other
// screens it is nil.
func (l *LookLight) Drive(surface *schema.Surface) *float64 { return drivePct(l.Resolved, surface) }

// contentWords are how much of a full white picture the light of a picture is, in
// percent: the middle of what the words are for. Common practice, no source.
var contentWords = map[string]float64{"black": 0, "dark": 5, "mixed": 25, "bright": 70}

// Content is the mean light of the picture on a screen in percent of full white: the
// word of a cue or of the segment, else the room's; nil if none tells.
func (l *LookLight) Content(surface *schema.Surface) *float64 {
	told := func(pct *float64, word string) *float64 {
		if pct == nil {
			if mean, ok := contentWords[word]; ok {
				return &mean
			}
		}
		return pct
	}
	if drive, ok := l.Resolved.Drives.Of(surface.Name); ok {
		if pct := told(drive.ContentPct, drive.Content); pct != nil {
			return pct
		}
	}
	return told(surface.ContentPct, surface.Content)
}

func drivePct(look *tracking.Look, surface *schema.Surface) *float64 {
	if drive, ok := look.Drives.Of(surface.Name); ok && drive.DrivePct != nil {
		return drive.DrivePct
	}
	if AtFull(surface) {
		return new(100.0)
	}
	return surface.DrivePct
}

// AtFull reports whether a screen is taken to run at full where no cue says
// otherwise: a projector of which nobody says more than its lumens. Common practice,
// no source.
func AtFull(surface *schema.Surface) bool {
	return surface.DrivePct == nil && surface.Kind == "projection" && surface.ProjectorLm != nil
}
