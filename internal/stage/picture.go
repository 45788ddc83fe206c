package stage

import (
	"math"

	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// The picture without its key light is what the cameras see around the people: the
// light on surfaces and the stage floor, and of the wash on people, times what they
// reflect, and the beams in the air. The light of people, from before and behind, is
// left out. Faces are kept at one brightness all evening, so the quiet
// and the loud of an evening are in the rest. It is a stand-in for a luminance, good
// for comparing one look with another and for nothing else.
const (
	// plainReflectance is that of the stage floor, of surfaces that tell none, and of
	// the shoulders of people: a wooden floor has 0.2 to 0.3, a dark one 0.1. Common
	// practice, no source.
	plainReflectance = 0.2
	// scattered is the part of a beam's light that comes out of it to the side where
	// haze hangs: 9 % of it over 10 m at 3 mg/m3, see package air.
	scattered = 0.09
)

// Picture is what the lamp adds to the picture without its key light, in lumens that
// go out to be seen; where the room does not tell where its light lands, all of it. What
// its colour takes away counts all the same: a deep blue at full has a twentieth of the
// luminance of a white and is no quiet picture. A saturated light looks brighter than its
// luminance (Helmholtz-Kohlrausch effect; textbook, from memory), and whoever sets levels
// thinks of levels; that a colour loses nothing at all is common practice, no source.
func (l *Lamp) Picture() float64 { return l.presence * l.InPicture }

// Picture adds up the lamps of the look, and their luminous flux beside it, which what
// colours take away is missing from.
func (l *LookLight) Picture() (sum, luminous float64) {
	for _, lamp := range l.Lamps {
		sum, luminous = sum+lamp.Picture(), luminous+lamp.XYZ.Y*lamp.InPicture
	}
	return sum, luminous
}

// PictureLamps counts the lamps of the rig that light something else than faces.
func (r *Rig) PictureLamps() int {
	count := 0
	for _, line := range r.Lines {
		if line.stage && !line.people && !(line.Purpose == "" && r.atPerson(line.Fixture.AimedAt)) {
			count++
		}
	}
	return count
}

// personM is how near to a place, level, a point is that is aimed at for whoever stands
// there, and overHeadM how far above the head: half a pace and a hand. Common practice,
// no source.
const personM, overHeadM = 0.5, 0.3

// atPerson reports whether something is aimed at a person: at a place by its name, or at a
// point there between floor and head.
func (r *Rig) atPerson(aim *schema.Aim) bool {
	switch {
	case aim == nil:
		return false
	case aim.Point == nil:
		return r.Places[aim.Name] != nil
	}
	for _, p := range r.Places {
		if p.X == nil || p.Y == nil || math.Hypot(aim.Point.X-*p.X, aim.Point.Y-*p.Y) > personM {
			continue
		}
		if up := aim.Point.Z - Value(p.Z); up > 0 && up <= Value(p.HeadM)+overHeadM {
			return true
		}
	}
	return false
}

// PictureUp is how far up those lamps are on average, 0 to 1: the part of its light
// that the dimmer of each gives, whatever its colour takes away.
func (l *LookLight) PictureUp(lamps int) float64 {
	up := 0.0
	for _, lamp := range l.Lamps {
		switch {
		case lamp.people || lamp.InPicture <= 0:
		case len(lamp.with) > 0:
			up += lamp.up * float64(lamp.pictured)
		default:
			up += lamp.up
		}
	}
	return up / float64(max(lamps, 1))
}

// goesWithPeople reports whether a lamp is there for people alone: more of them in the
// light make a stage no louder.
func goesWithPeople(purpose string) bool {
	return purpose == "key" || purpose == "fill" || purpose == "back"
}

// inPicture is the part of a line's light in a beam that the picture without its key
// light counts.
func (r *Rig) inPicture(line *Line, light *Light, b *Beam) float64 {
	switch {
	case line.people || r.Basis.Arriving && b != nil && r.Room.lightsAFace(line, light, b):
		return 0
	case line.Purpose == "" && b != nil && b.atPerson && light.Coloured != nil && !*light.Coloured:
		return 0 // key or back light, whatever nobody called it
	case !r.Basis.Arriving:
		return 1
	case line.inAir:
		return scattered
	case b != nil && b.Missing == "":
		return b.inPicture
	}
	return 1
}

// notKey are the purposes of lamps that never are key light, wherever they point.
var notKey = [...]string{"back", "side", "top", "beam", "effect"}

// lightsAFace reports whether a white lamp is aimed at a place from its front half:
// then it is key light, whatever it is called.
func (s *Room) lightsAFace(line *Line, light *Light, b *Beam) bool {
	if line.notKey || light.Coloured == nil || *light.Coloured || b.aimedAt == "" || b.Missing != "" {
		return false
	}
	sp := s.Stand(b.aimedAt)
	if sp == nil || len(sp.views) == 0 {
		return false
	}
	lamp, eye := r3.Sub(b.frame.Position, sp.head), r3.Sub(sp.views[0].eye, sp.head)
	return lamp.X*eye.X+lamp.Y*eye.Y > 0
}
