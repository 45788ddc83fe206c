package evening

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// The dynamics of an evening are those of the picture without its key light
// ([stage.Look.Picture]), in stops over a black that hangs under the loudest look.
// Between cues it is taken as what the look settles at: fades take seconds, looks
// minutes.

// blackFloor is the light of the picture under which nothing is told apart, as a part
// of the loudest look's: six stops, a camera that is set for faces sees no deeper.
// Common practice, no source.
const blackFloor = 1.0 / 64

// Dynamics is how the picture moves between quiet and loud.
type Dynamics struct {
	Of    []float64      // of each look
	Peak  float64        // of the loudest look
	Up    float64        // how far its lamps are up while it is within a stop of its most, on average, 0 to 1
	Lamps int            // that add to it
	Range dynamics.Range // over the set, of light over the black floor
	OK    bool           // the range is known
	Moves float64        // stops between quiet and loud: of that range, or of the luminous flux if that moves more
	Near  float64        // share of the set within a stop of the loudest moment

	Luminous []float64 // its luminous flux in each look, which colours take light away from

	ups []float64 // how far the lamps are up in each look
}

func newDynamics(r *stage.Rig, looks int) Dynamics {
	return Dynamics{Of: make([]float64, looks), ups: make([]float64, looks), Luminous: make([]float64, looks), Lamps: r.PictureLamps()}
}

// Black is the light under which nothing of the picture is told apart.
func (d *Dynamics) Black() float64 { return blackFloor * d.Peak }

// measureDynamics works out the course of the picture over the set.
func (e *Evening) measureDynamics() {
	d := &e.Dynamics
	for _, y := range d.Of {
		d.Peak = max(d.Peak, y)
	}
	if len(e.NoCourse) > 0 || d.Peak <= 0 {
		return
	}
	near := (d.Peak + d.Black()) * math.Exp2(-NearStops-StopSlack)
	up, time := 0.0, 0.0
	for i := range e.Looks {
		if !InSet(e.Looks[i].Segment) {
			continue
		}
		for _, p := range e.held(i) {
			if p.From >= near {
				up, time = up+d.ups[i]*(p.End-p.Start), time+p.End-p.Start
			}
		}
	}
	if time > 0 {
		d.Up = up / time
	}
	course, seen := e.courses(nil)
	if course == nil {
		return
	}
	d.Range, d.OK = course.Range()
	d.Moves = moves(course, seen)
	d.Near, _ = course.Near(NearStops + StopSlack)
}

// courses are those of the picture over the set and of its luminous flux, without some
// segments; nil where there is none.
func (e *Evening) courses(without []*schema.Segment) (picture, luminous *dynamics.Course) {
	d := &e.Dynamics
	var list, seen []dynamics.Piece
	brightest := slices.Max(d.Luminous)
	for i := range e.Looks {
		if segment := e.Looks[i].Segment; !InSet(segment) || slices.Contains(without, segment) {
			continue
		}
		for _, p := range e.held(i) {
			list = append(list, p)
			p.From = d.Luminous[i] + blackFloor*brightest
			p.To = p.From
			seen = append(seen, p)
		}
	}
	picture, err := dynamics.New(list)
	if err != nil {
		return nil, nil
	}
	if luminous, err = dynamics.New(seen); err != nil {
		luminous = nil
	}
	return picture, luminous
}

// moves is the range of a course in stops, or of the luminous flux if that moves more: a
// colour that takes light away is seen to move too.
func moves(picture, luminous *dynamics.Course) float64 {
	r, _ := picture.Range()
	if luminous != nil {
		if seen, ok := luminous.Range(); ok {
			return max(r.Stops, seen.Stops)
		}
	}
	return r.Stops
}

// MovesWithout is how far the picture moves between quiet and loud in the set without some
// segments, in stops; 0 where that cannot be told.
func (e *Evening) MovesWithout(segments []*schema.Segment) float64 {
	picture, luminous := e.courses(segments)
	if picture == nil {
		return 0
	}
	return moves(picture, luminous)
}

// held is the time for which a look stands, with its picture over the black floor; each
// look for as long as any other where not all times are known.
func (e *Evening) held(i int) []dynamics.Piece {
	y := e.Dynamics.Of[i] + e.Dynamics.Black()
	if e.AlikeTimes {
		return []dynamics.Piece{{Start: float64(i), End: float64(i + 1), From: y, To: y}}
	}
	wait, ok := e.Time.Until(i)
	if !ok || !(wait > 0) {
		return nil
	}
	at := e.Time.Moments[i].At
	return []dynamics.Piece{{Start: at, End: at + wait, From: y, To: y}}
}

// PictureIn is the mean picture of a segment over its time, as light over the black
// floor; ok is false if it has no look of its own or stands before the first.
func (e *Evening) PictureIn(sp *Span) (mean float64, ok bool) {
	if e.Dynamics.Peak <= 0 {
		return 0, false
	}
	var list []dynamics.Piece
	for _, i := range e.standing(sp) {
		for _, p := range e.held(i) {
			if !e.AlikeTimes && sp.Length != nil {
				p.Start, p.End = max(p.Start, sp.Start), min(p.End, sp.Start+*sp.Length)
			}
			if p.End > p.Start {
				list = append(list, p)
			}
		}
	}
	course, err := dynamics.New(list)
	if err != nil {
		return 0, false
	}
	return course.Mean()
}

// AsksForRange reports whether a running order has a loud and a quiet part.
func AsksForRange(order []*schema.Segment) bool {
	loud := slices.ContainsFunc(order, IsLoud)
	return loud && slices.ContainsFunc(order, IsQuiet)
}

// IsLoud reports whether a segment says that it is loud, or is a song that does not say
// that it is quiet.
func IsLoud(s *schema.Segment) bool {
	return s.Mood == "loud" || s.Kind == "song" && s.Mood != "quiet"
}

// IsQuiet reports whether a segment should be quieter than the others: it says so, or is
// of a kind that mostly is.
func IsQuiet(s *schema.Segment) bool {
	if s.Mood != "" {
		return s.Mood == "quiet"
	}
	return slices.Contains([]string{"prayer", "reading", "talk", "communion", "interview"}, s.Kind)
}

// Speaks reports whether in a segment of a kind whoever is named speaks to the room.
func Speaks(kind string) bool { return kind == "welcome" || kind == "reading" || SpeaksLong(kind) }

// SpeaksLong reports whether in a segment of a kind somebody speaks so long that the air is to
// be clear.
func SpeaksLong(kind string) bool { return kind == "talk" || kind == "interview" }

// TalkS is how far into a talk its air is looked at, in seconds, as the word of the fact
// says; a talk that is shorter is over before its air clears.
const TalkS = 600.0
