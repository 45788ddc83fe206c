package stage

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Pair is a lamp in two neighbouring looks; one of them is nil where it is dark.
type Pair struct{ Before, After *Lamp }

// Rest is where the motors of the lamp are told to be in the look behind, also if it is dark there.
func (p Pair) Rest(after *tracking.Look) *tracking.Rest {
	if p.After != nil {
		return p.After.State.Rest
	}
	return after.State(p.Before.Channel).Rest
}

// Differ calls visit for every stage lamp whose state is not the same in two
// looks of one walk of [Rig.WalkTogether], in the order of their channels. Of lamps that stand for several, those
// whose motors may have to do something come one by one.
func (r *Rig) Differ(before, after *LookLight, visit func(p Pair)) {
	now, was := after.Resolved, before.Resolved
	pairs(before, after, func(slot int) bool { return now.Differs(slot, was) }, func(line *Line, p Pair) {
		if len(line.with) == 0 || p.Before == nil || p.Before.State.Rest == p.Rest(now) {
			visit(p)
			return
		}
		r.eachAlone(line, p, visit)
	})
}

// Told calls visit for every stage lamp of which the cue of the look behind says
// anything, also if that is what it did before, with its place among the lines of the walk.
func (r *Rig) Told(before, after *LookLight, visit func(index int, p Pair)) {
	pairs(before, after, after.Resolved.Says, func(line *Line, p Pair) { visit(line.index, p) })
}

func pairs(before, after *LookLight, which func(slot int) bool, visit func(line *Line, p Pair)) {
	for _, line := range after.walk.joined {
		if !which(line.slot) {
			continue
		}
		if p := (Pair{before.of(line), after.of(line)}); p.Before != nil || p.After != nil {
			visit(line, p)
		}
	}
}

// Shown is the lamp in the look in which it is lit.
func (p Pair) Shown() *Lamp {
	if p.After != nil {
		return p.After
	}
	return p.Before
}

// seenColour is the CIEDE2000 difference from which a lamp's colour counts as
// changed: about 1 is a just noticeable difference side by side, and on a stage
// nothing is side by side. Common practice, no source.
const seenColour = 2.0

// seenLevel is the change of a lamp, as part of its light, from which it counts
// as changed; a step of the eye is about a fiftieth. Common practice, no source.
const seenLevel = 0.02

// SameSetting reports whether a lamp is told the same in both looks, so that its
// light is the same whatever it is.
func SameSetting(p Pair) bool {
	return p.Before != nil && p.After != nil && p.Before.Level == p.After.Level && sameColour(p.Before.State.Colour, p.After.State.Colour) && sameRest(p.Before.State.Rest, p.After.State.Rest)
}

// LooksDifferent reports whether anybody can see that a lamp has changed.
func LooksDifferent(p Pair) bool {
	if p.Before == nil || p.After == nil {
		return true
	}
	if SameSetting(p) {
		return false
	}
	a, b := p.Before.XYZ, p.After.XYZ
	if p.Before.Missing != "" || p.After.Missing != "" {
		return true
	}
	if math.Abs(a.Y-b.Y) > seenLevel*max(a.Y, b.Y) {
		return true
	}
	if apart, ok := colour.Apart(a, b); ok && apart > seenColour {
		return true
	}
	if len(p.After.MovedFrom(p.Before)) > 0 {
		return true
	}
	was, is := restOf(p.Before), restOf(p.After)
	return Positive(was.StrobeHz) != Positive(is.StrobeHz) || !sameEffect(was.Effect, is.Effect)
}

// SameNumber reports whether two numbers are the same, or both unknown.
func SameNumber(a, b *float64) bool {
	return a == b || a != nil && b != nil && *a == *b
}

// sameColour reports whether two colours were told in the same words.
func sameColour(a, b *tracking.Colour) bool {
	if a == b {
		return true
	}
	if a == nil || b == nil || !SameNumber(a.WhiteK, b.WhiteK) || !SameNumber(a.HueDeg, b.HueDeg) || !SameNumber(a.SaturationPct, b.SaturationPct) || !slices.Equal(a.XY, b.XY) || len(a.Mix) != len(b.Mix) {
		return false
	}
	for name, part := range a.Mix {
		if other, ok := b.Mix[name]; !ok || other != part {
			return false
		}
	}
	return true
}

// sameRest reports whether aim, zoom, strobe, pattern, wheel and effect are the same.
func sameRest(a, b *tracking.Rest) bool {
	if a == b {
		return true
	}
	var none tracking.Rest
	if a == nil {
		a = &none
	}
	if b == nil {
		b = &none
	}
	return len(moved(a, b)) == 0 && Positive(a.StrobeHz) == Positive(b.StrobeHz) && sameEffect(a.Effect, b.Effect)
}

// Positive is a number that is 0 where nobody gave it.
func Positive(n *float64) float64 {
	if n == nil {
		return 0
	}
	return *n
}

func sameEffect(a, b *schema.Effect) bool {
	if a == b {
		return true
	}
	return a != nil && b != nil && a.Kind == b.Kind && SameNumber(a.RateHz, b.RateHz) && SameNumber(a.DutyPct, b.DutyPct) &&
		SameNumber(a.SpreadPct, b.SpreadPct) && SameNumber(a.LowPct, b.LowPct) && SameNumber(a.HighPct, b.HighPct)
}

// moved names what a lamp's motors have to do between two states: turn, zoom, or
// change a wheel or a pattern.
func moved(a, b *tracking.Rest) []string {
	var none tracking.Rest
	if a == nil {
		a = &none
	}
	if b == nil {
		b = &none
	}
	var what []string
	if !sameAim(a.Aim, b.Aim) {
		what = append(what, "aim")
	}
	if !SameNumber(a.ZoomDeg, b.ZoomDeg) {
		what = append(what, "zoom")
	}
	if a.Wheel != b.Wheel {
		what = append(what, "wheel")
	}
	if a.Pattern != b.Pattern {
		what = append(what, "pattern")
	}
	return what
}

func sameAim(a, b *schema.Aim) bool {
	switch {
	case a == b:
		return true
	case a == nil || b == nil || a.Name != b.Name:
		return false
	case a.Point == nil || b.Point == nil:
		return a.Point == b.Point
	}
	return *a.Point == *b.Point
}

// MovedFrom is moved, with what the patch says where no cue has spoken yet.
func (l *Lamp) MovedFrom(before *Lamp) []string {
	a, b := restOf(before), restOf(l)
	return moved(&a, &b)
}

// TurnedFrom is how far the lamp turns or zooms from what it was before, in degrees; ok is
// false where nobody knows where it hangs or points.
func (l *Lamp) TurnedFrom(before *Lamp) (deg float64, ok bool) {
	a, b := before.Beam, l.Beam
	if a == nil || b == nil || a.frame.Forward == (r3.Vec{}) || b.frame.Forward == (r3.Vec{}) {
		return 0, false
	}
	turn := math.Atan2(r3.Norm(r3.Cross(a.frame.Forward, b.frame.Forward)), r3.Dot(a.frame.Forward, b.frame.Forward)) * 180 / math.Pi
	return max(turn, math.Abs(b.zoom-a.zoom)), true
}

func restOf(l *Lamp) tracking.Rest {
	var rest tracking.Rest
	if l.State.Rest != nil {
		rest = *l.State.Rest
	}
	if rest.Aim == nil {
		rest.Aim = l.Fixture.AimedAt
	}
	if rest.ZoomDeg == nil {
		rest.ZoomDeg = l.Fixture.ZoomDeg
	}
	return rest
}
