package facts

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/tracking"
)

// step is what happens to the light between two looks that stand side by side.
type step struct {
	lamps   int     // lamps that look different behind it, house lights and lamps of the set among them
	fadeS   float64 // from the first move to the end of the last
	screens int     // screens that are driven otherwise, or have another palette
	settles bool    // all it does is done in the dark: aims, colours, patterns

	missing  []string // why what follows is not known; empty if it is
	movedPct float64  // light that comes, goes or changes place, of the brighter of the two looks
	jumpPct  float64  // change that takes under half a second, of the brightest look of the show
	stops    *float64 // how much brighter the stage is behind it; nil if either look is dark
	deltaE   *float64 // CIEDE2000 between the mean colours of the looks; nil if either is dark

	moved      []*stageLamp // lamps that move while they are seen, as they are behind it
	movedWords []string     // what they change: aim, zoom, wheel, pattern
}

// jumpS is the fade time under which a change is a jump: half a second is about
// as short as a fade can be and still be seen as one. Common practice, no source.
const jumpS = 0.5

// stepTo measures the change from look i-1 to look i.
func (e *evening) stepTo(i int) step {
	var s step
	if !e.rig.hasPatch() {
		return step{missing: []string{needPatch}}
	}
	before, look := e.looks[i-1], e.looks[i]
	jump, come, went := 0.0, 0.0, 0.0
	at := e.time.moments[i].at
	first, end := math.Inf(1), math.Inf(-1)
	paces := pacesOf(look.look)
	moves := func(start, stop float64) {
		first, end = min(first, start), max(end, stop)
	}
	e.rig.differ(before, look, func(_ int, p pair) {
		s.noteMove(p)
		if !sameSetting(p) {
			for _, lamp := range []*stageLamp{p.before, p.after} {
				if lamp != nil {
					s.missing = addMissing(s.missing, lamp.missing)
				}
			}
		}
		by := 0.0
		if p.after != nil {
			by += p.after.output()
		}
		if p.before != nil {
			by -= p.before.output()
		}
		if by > 0 {
			come += by
		} else {
			went -= by
		}
		if !looksDifferent(p) {
			return
		}
		s.lamps++
		start, stop := timesOf(paces, look.look, p, at)
		moves(start, stop)
		if stop-start < jumpS-slack {
			jump += by
		}
	})
	for _, f := range e.others {
		was, is := before.look.State(f.Channel), look.look.State(f.Channel)
		if was == is || was.Level == is.Level && (was.Level == 0 || was.Colour == is.Colour) {
			continue
		}
		s.lamps++
		pace := paces.of(is)
		long := pace.in
		if is.Level < was.Level {
			long = pace.out
		}
		moves(at+pace.delay, at+pace.delay+long)
	}
	if end > first {
		s.fadeS = end - first
	}
	s.screens = screensChanged(before.look, look.look)
	s.settles = s.lamps == 0 && s.screens == 0 && setsInDark(look.look)
	if len(s.missing) > 0 {
		return s
	}
	was, is := e.sums[i-1], e.sums[i]
	if brighter := max(was.Y, is.Y); brighter > 0 {
		s.movedPct = 100 * max(come, went) / brighter
	}
	if e.peak > 0 {
		s.jumpPct = 100 * math.Abs(jump) / e.peak
	}
	s.stops = stopsApart(was.Y, is.Y)
	if apart, ok := colour.Apart(was, is); ok {
		s.deltaE = &apart
	}
	return s
}

// noteMove takes down a lamp that moves while it is seen. A lamp that goes dark in
// the same cue, or comes on with it, is not counted: the move and the fade are one.
func (s *step) noteMove(p pair) {
	if p.before == nil || p.after == nil || p.before.state.Rest == p.after.state.Rest {
		return
	}
	words := p.after.movedFrom(p.before)
	if len(words) == 0 {
		return
	}
	s.moved = append(s.moved, p.after)
	for _, word := range words {
		if !slices.Contains(s.movedWords, word) {
			s.movedWords = append(s.movedWords, word)
		}
	}
}

// screensChanged counts the screens that a look drives otherwise than the one before.
func screensChanged(before, after *tracking.Look) int {
	count := 0
	for name, now := range after.Drives {
		was := before.Drives[name]
		if !sameNumber(was.DrivePct, now.DrivePct) || !slices.Equal(was.Palette, now.Palette) {
			count++
		}
	}
	return count
}

// setsInDark reports whether a cue says anything at all about aims, colours,
// patterns or haze: what it does then is done in the dark.
func setsInDark(look *tracking.Look) bool {
	for _, part := range look.Parts {
		for _, s := range part.Set {
			if s.Aim != nil || s.ZoomDeg != nil || s.Wheel != "" || s.Pattern != "" {
				return true
			}
		}
	}
	return false
}
