package facts

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// pair is a lamp in two neighbouring looks; one of them is nil where it is dark.
type pair struct{ before, after *stageLamp }

// differ calls visit for every stage lamp whose state is not the same in two
// looks, in the order of the patch.
func (r *rig) differ(before, after *stageLook, visit func(index int, p pair)) {
	i, j := 0, 0
	for index, f := range r.show.Patch {
		if i >= len(before.lamps) && j >= len(after.lamps) {
			return
		}
		var p pair
		if i < len(before.lamps) && before.lamps[i].fixture == f {
			p.before = before.lamps[i]
			i++
		}
		if j < len(after.lamps) && after.lamps[j].fixture == f {
			p.after = after.lamps[j]
			j++
		}
		if p.before == nil && p.after == nil || p.before != nil && p.after != nil && p.before.state == p.after.state {
			continue
		}
		visit(index, p)
	}
}

// shown is the lamp in the look in which it is lit.
func (p pair) shown() *stageLamp {
	if p.after != nil {
		return p.after
	}
	return p.before
}

// seenColour is the CIEDE2000 difference from which a lamp's colour counts as
// changed: about 1 is a just noticeable difference side by side, and on a stage
// nothing is side by side. Common practice, no source.
const seenColour = 2.0

// seenLevel is the change of a lamp, as part of its light, from which it counts
// as changed; a step of the eye is about a fiftieth. Common practice, no source.
const seenLevel = 0.02

// sameSetting reports whether a lamp is told the same in both looks, so that its
// light is the same whatever it is.
func sameSetting(p pair) bool {
	return p.before != nil && p.after != nil && p.before.Level == p.after.Level && sameColour(p.before.state.Colour, p.after.state.Colour) && sameRest(p.before.state.Rest, p.after.state.Rest)
}

// looksDifferent reports whether anybody can see that a lamp has changed.
func looksDifferent(p pair) bool {
	if p.before == nil || p.after == nil {
		return true
	}
	if sameSetting(p) {
		return false
	}
	a, b := p.before.xyz, p.after.xyz
	if p.before.missing != "" || p.after.missing != "" {
		return true
	}
	if math.Abs(a.Y-b.Y) > seenLevel*max(a.Y, b.Y) {
		return true
	}
	if apart, ok := colour.Apart(a, b); ok && apart > seenColour {
		return true
	}
	if len(p.after.movedFrom(p.before)) > 0 {
		return true
	}
	was, is := restOf(p.before), restOf(p.after)
	return positive(was.StrobeHz) != positive(is.StrobeHz) || !sameEffect(was.Effect, is.Effect)
}

func sameNumber(a, b *float64) bool {
	return a == b || a != nil && b != nil && *a == *b
}

// sameColour reports whether two colours were told in the same words.
func sameColour(a, b *tracking.Colour) bool {
	if a == b {
		return true
	}
	if a == nil || b == nil || !sameNumber(a.WhiteK, b.WhiteK) || !sameNumber(a.HueDeg, b.HueDeg) || !sameNumber(a.SaturationPct, b.SaturationPct) || !slices.Equal(a.XY, b.XY) || len(a.Mix) != len(b.Mix) {
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
	return len(moved(a, b)) == 0 && positive(a.StrobeHz) == positive(b.StrobeHz) && sameEffect(a.Effect, b.Effect)
}

func positive(n *float64) float64 {
	if n == nil {
		return 0
	}
	return *n
}

func sameEffect(a, b *schema.Effect) bool {
	if a == b {
		return true
	}
	return a != nil && b != nil && a.Kind == b.Kind && sameNumber(a.RateHz, b.RateHz) && sameNumber(a.DutyPct, b.DutyPct) &&
		sameNumber(a.SpreadPct, b.SpreadPct) && sameNumber(a.LowPct, b.LowPct) && sameNumber(a.HighPct, b.HighPct)
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
	if !sameNumber(a.ZoomDeg, b.ZoomDeg) {
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

// movedFrom is moved, with what the patch says where no cue has spoken yet.
func (l *stageLamp) movedFrom(before *stageLamp) []string {
	a, b := restOf(before), restOf(l)
	return moved(&a, &b)
}

func restOf(l *stageLamp) tracking.Rest {
	var rest tracking.Rest
	if l.state.Rest != nil {
		rest = *l.state.Rest
	}
	if rest.Aim == nil {
		rest.Aim = l.fixture.AimedAt
	}
	if rest.ZoomDeg == nil {
		rest.ZoomDeg = l.fixture.ZoomDeg
	}
	return rest
}
