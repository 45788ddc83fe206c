package evening

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
)

// Step is what happens to the light between two looks that stand side by side.
type Step struct {
	Lamps   int     // lamps that look different behind it, house lights and lamps of the set among them
	FadeS   float64 // from the first move to the end of the last
	Screens int     // screens that are driven otherwise, or have another palette
	Settles bool    // all it does is done in the dark: aims, colours, patterns

	Missing  []string // why what follows is not known; empty if it is
	MovedPct float64  // light that comes, goes or changes place, of the brighter of the two looks
	jump     float64  // light that comes or goes in under half a second, in lumens
	brighter float64  // output of the brighter of the two looks
	Stops    *float64 // how much brighter the stage is behind it; nil if either look is dark
	DeltaE   *float64 // CIEDE2000 between the mean colours of the looks; nil if either is dark

	Moved      []*stage.Lamp // lamps that move while they are seen, as they are behind it
	MovedWords []string      // what they change: aim, zoom, wheel, pattern
}

// jumpS is the fade time under which a change is a jump: half a second is about
// as short as a fade can be and still be seen as one. Common practice, no source.
const jumpS = 0.5

// JumpPct is of the output of the brighter of two looks what comes or goes in under half a
// second, in percent. Nobody sees the dark jump.
func (e *Evening) JumpPct(s *Step) float64 {
	if s.brighter > stageBlack*e.Peak {
		return 100 * s.jump / s.brighter
	}
	return 0
}

// stepKey is a step by its numbers.
type stepKey struct {
	lamps, screens              int
	settles                     bool
	fade, moved, jump, brighter float64
	stops, deltaE               float64
	hasStops, hasDeltaE         bool
}

// steps are those of an evening so far: a song comes back to its looks, and steps in which the
// same happens, and no lamp moves while it is seen, are one.
type steps map[stepKey]*Step

func (known steps) intern(s *Step) *Step {
	if len(s.Moved) > 0 {
		return s
	}
	key := stepKey{
		lamps: s.Lamps, screens: s.Screens, settles: s.Settles, fade: s.FadeS, moved: s.MovedPct, jump: s.jump, brighter: s.brighter,
		stops: stage.Value(s.Stops), deltaE: stage.Value(s.DeltaE), hasStops: s.Stops != nil, hasDeltaE: s.DeltaE != nil,
	}
	same := known[key]
	if same == nil {
		known[key] = s
		return s
	}
	if !slices.Equal(same.Missing, s.Missing) {
		return s
	}
	return same
}

// noPatch is a step of which nothing is known.
var noPatch = &Step{Missing: []string{stage.NeedPatch}}

// stepTo measures the change from look i-1 to look i, and when its last lamp has finished.
func (e *Evening) stepTo(i int, before, look *stage.LookLight) (step *Step, finished float64) {
	if !e.Rig.HasPatch() {
		return noPatch, 0
	}
	s := &Step{}
	jumpUp, jumpDown, come, went := 0.0, 0.0, 0.0, 0.0
	at := e.Time.Moments[i].At
	first, end := math.Inf(1), math.Inf(-1)
	paces := pacesOf(look.Resolved)
	finished = at
	var missing stage.Missing
	moves := func(start, stop float64) {
		first, end = min(first, start), max(end, stop)
	}
	e.Rig.Differ(before, look, func(p stage.Pair) {
		start, stop := timesOf(paces, p, at)
		s.noteMove(e.Rig, look.Resolved, p, stop-start)
		if !stage.SameSetting(p) {
			for _, lamp := range []*stage.Lamp{p.Before, p.After} {
				if lamp != nil {
					missing.Add(lamp.Missing)
				}
			}
		}
		by := 0.0
		if p.After != nil {
			by += p.After.Output()
		}
		if p.Before != nil {
			by -= p.Before.Output()
		}
		if by > 0 {
			come += by
		} else {
			went -= by
		}
		finished = max(finished, stop)
		if !stage.LooksDifferent(p) {
			return
		}
		s.Lamps += p.Shown().Count()
		moves(start, stop)
		if stop-start < jumpS-slack {
			jumpUp, jumpDown = jumpUp+max(by, 0), jumpDown+max(-by, 0)
		}
	})
	for _, f := range e.others {
		was, is := before.Resolved.State(f.Channel), look.Resolved.State(f.Channel)
		if was == is || was.Level == is.Level && (was.Level == 0 || was.Colour == is.Colour) {
			continue
		}
		s.Lamps++
		pace := paces.of(f.Channel)
		long := pace.in
		if is.Level < was.Level {
			long = pace.out
		}
		moves(at+pace.delay, at+pace.delay+long)
	}
	if end > first {
		s.FadeS = end - first
	}
	s.Screens = screensChanged(before.Resolved, look.Resolved)
	s.Settles = s.Lamps == 0 && s.Screens == 0 && setsInDark(look.Resolved)
	if s.Missing = missing.Phrases; len(s.Missing) > 0 {
		return s, finished
	}
	was, is := e.Sums[i-1], e.Sums[i]
	if brighter := max(was.Y, is.Y); brighter > 0 {
		s.MovedPct = 100 * max(come, went) / brighter
		s.jump, s.brighter = max(jumpUp, jumpDown), brighter
	}
	s.Stops = StopsApart(was.Y, is.Y)
	if apart, ok := colour.Apart(was, is); ok {
		s.DeltaE = &apart
	}
	return s, finished
}

// A beam that moves slowly in a loud part is a look, and no lamp on its way. Common
// practice, no source.
const (
	slowMoveS     = 3.0  // what takes less is a swing, however short, in seconds
	slowMoveDegS  = 10.0 // the fastest that counts as slow, in degrees a second: a fist at the end of the arm
	usualSwingDeg = 40.0 // how far a beam swings of which nobody knows where it hangs or points
)

// slowly reports whether a move in so many seconds is slow.
func slowly(p stage.Pair, seconds float64) bool {
	deg, ok := p.After.TurnedFrom(p.Before)
	if !ok {
		deg = usualSwingDeg
	}
	return seconds >= slowMoveS-slack && deg <= slowMoveDegS*(seconds+slack)
}

// longFadeS is from where on a lamp that goes out is watched on its way to its next place. Common practice, no source.
const longFadeS = 6.0

// noteMove takes down a lamp that moves while it is seen, in so many seconds. A lamp that
// comes on in the same cue is not counted, nor one that soon goes dark: the move and the fade
// are one. Nor is a beam that travels slowly in a loud song, which is what it is there for.
func (s *Step) noteMove(r *stage.Rig, look *tracking.Look, p stage.Pair, seconds float64) {
	if p.Before == nil || p.Rest(look) == p.Before.State.Rest {
		return
	}
	if p.After == nil {
		if seconds < longFadeS-slack {
			return
		}
		p.After = r.Lamp(look, p.Before.Fixture, look.State(p.Before.Channel))
	}
	words := p.After.MovedFrom(p.Before)
	if len(words) == 0 {
		return
	}
	travels := !slices.ContainsFunc(words, func(word string) bool { return word != "aim" && word != "zoom" })
	if travels && stage.SeenInAir(p.After.Purpose) && slowly(p, seconds) && p.After.Look.Segment != nil && IsLoud(p.After.Look.Segment) {
		return
	}
	moved := *p.After // the look is filled again
	s.Moved = append(s.Moved, &moved)
	for _, word := range words {
		if !slices.Contains(s.MovedWords, word) {
			s.MovedWords = append(s.MovedWords, word)
		}
	}
}

// screensChanged counts the screens that a look drives otherwise than the one before.
func screensChanged(before, after *tracking.Look) int {
	count := 0
	for _, now := range after.Drives {
		was, _ := before.Drives.Of(now.Screen)
		if !stage.SameNumber(was.DrivePct, now.DrivePct) || !slices.Equal(was.Palette, now.Palette) ||
			!stage.SameNumber(was.ContentPct, now.ContentPct) || was.Content != now.Content {
			count++
		}
	}
	for _, was := range before.Drives { // what a segment put there goes with it
		if _, stays := after.Drives.Of(was.Screen); !stays {
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
