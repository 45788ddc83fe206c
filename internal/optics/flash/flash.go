// Package flash counts flashes of light the way the published flash rules define them.
//
// In: what an area looks like over time, either as states with their times ([Steps], [Ramps]) or as
// strobes and chases described by rate and duty ([Strobe.Count], [InStep], [Unsynchronised]).
// Out: the most opposing changes found in any one second, general and saturated red, and when that second starts.
//
// What a newcomer gets wrong: a flash is a pair of changes, so "more than three flashes" begins at
// seven changes, not at four. And a count says nothing about area: every function here takes the
// light as filling the field of view, which is the strictest case of the rules.
//
// A count within a limit is not a promise that a light is harmless. Local codes, the venue and its
// licensed people decide; this package only counts.
package flash

import (
	"errors"
	"fmt"
	"math"
)

// MaxFlashes is the number of flashes that may fall in one second. More is a failure.
// WCAG 2.2, success criterion 2.3.1: no more than three [verified].
const MaxFlashes = 3

// failingTransitions is the first count of alternating changes that is more than three flashes.
// Three flashes are six changes; seven is more [verified, open test set for the WCAG definition].
const failingTransitions = 2*MaxFlashes + 1

// second is the window of the rule, in seconds. Windows are half-open: two changes exactly one
// second apart are not in the same window (30 frames at 30 fps).
const second = 1.0

// timeSlack, in seconds, is the rounding allowed in a time. Within maxTime a float64 clock resolves
// 1.2e-10 s, so a sum of two such times stays under it. Intervals this near to one second count as one
// second, and edges this near to each other are one edge.
const timeSlack = 1e-9

// maxTime, in seconds, bounds the clock (about 11 days) so that timeSlack holds.
const maxTime = 1e6

// Light is what one area sends to the eye.
//
// Y is relative luminance, 0 to 1, for [WCAG22], or luminance in cd/m² for [BT1702]; not negative.
// R, G, B are linear (not gamma-coded) amounts of the sRGB primaries on any common scale. Only their ratios matter,
// and only for red flashes: leave them 0 if colour is not known. A negative amount, a colour
// outside the sRGB triangle, is taken as 0, which makes the colour no less red.
type Light struct {
	Y       float64
	R, G, B float64
}

// State is the light of an area at the time T in seconds, at most 1e6 from zero in either direction.
type State struct {
	T       float64
	Y       float64
	R, G, B float64
}

// Count is the worst second of a series.
type Count struct {
	// Transitions is the most alternating changes in any half-open window of one second. A single
	// change counts as one however slowly it is made.
	Transitions int
	// Start is when a worst second starts, in seconds: the last moment from which all its changes are
	// seen, and the earliest such second if several tie. A change that is a jump lies at Start itself.
	// It is 0 and means nothing when Transitions is 0, and for [Unsynchronised] sources.
	Start float64
}

// Flashes is the number of flashes in the worst second; a half is an up or down without its pair.
func (c Count) Flashes() float64 { return float64(c.Transitions) / 2 }

// Over says whether the worst second has more than three flashes.
func (c Count) Over() bool { return c.Transitions >= failingTransitions }

// Result holds both counts of the flash rules.
type Result struct {
	General Count // changes of luminance
	Red     Count // changes to and from saturated red, WCAG 2.2
	// Fused says that a source faster than [FusionHz] was taken as its steady mean.
	Fused bool
}

// Over says whether either count has more than three flashes in a second.
func (r Result) Over() bool { return r.General.Over() || r.Red.Over() }

// Steps counts flashes in a series whose light holds from each state's time until the next; the last
// state holds for good. Of states with equal times only the last was ever seen.
//
// It fails on times that go backwards, on numbers that are negative, infinite or not numbers, and on
// times past 1e6 s. No states, or one, give a count of zero. Nothing is fused, however fast: pass the
// mean of a light that flickers above [FusionHz].
func Steps(states []State, c Criterion) (Result, error) {
	if err := check(states, c); err != nil {
		return Result{}, err
	}
	path := make([]State, 0, 2*len(states))
	for i, s := range states {
		if i+1 < len(states) && states[i+1].T == s.T {
			continue // never seen
		}
		if len(path) > 0 { // hold the last state up to here, then jump
			held := path[len(path)-1]
			held.T = s.T
			path = append(path, held)
		}
		path = append(path, s)
	}
	return count(path, c), nil
}

// Ramps counts flashes in a series whose light goes in a straight line (in luminance and in linear
// R, G, B) from each state to the next. Two states with equal times are a jump; between the first and last
// of several with equal times nothing was seen. The domain is that of [Steps].
//
// Crossings are solved exactly, so cutting a straight line in two changes nothing.
func Ramps(states []State, c Criterion) (Result, error) {
	if err := check(states, c); err != nil {
		return Result{}, err
	}
	path := make([]State, 0, len(states))
	for i, s := range states {
		inside := i > 0 && i+1 < len(states) && states[i-1].T == s.T && states[i+1].T == s.T
		if !inside {
			path = append(path, s)
		}
	}
	return count(path, c), nil
}

func count(path []State, c Criterion) Result {
	return Result{General: worst(luminanceChanges(path, c)), Red: worst(redChanges(path))}
}

func check(states []State, c Criterion) error {
	if c.rise == nil {
		return errors.New("flash: no criterion given")
	}
	for i, s := range states {
		if math.IsNaN(s.T) || math.Abs(s.T) > maxTime {
			return fmt.Errorf("flash: state %d: time %v s is outside ±%g s", i, s.T, maxTime)
		}
		if i > 0 && s.T < states[i-1].T {
			return fmt.Errorf("flash: state %d: time %v s comes before the last, %v s", i, s.T, states[i-1].T)
		}
		if err := s.light().check(); err != nil {
			return fmt.Errorf("flash: state %d: %w", i, err)
		}
	}
	return nil
}

func (s State) light() Light { return Light{s.Y, s.R, s.G, s.B} }

func (l Light) check() error {
	if !(l.Y >= 0 && l.Y <= maxLight) {
		return fmt.Errorf("luminance %v is not a number from 0 to %g", l.Y, maxLight)
	}
	for _, v := range [3]float64{l.R, l.G, l.B} {
		if !(math.Abs(v) <= maxLight) {
			return fmt.Errorf("colour %v, %v, %v is not three numbers within ±%g", l.R, l.G, l.B, maxLight)
		}
	}
	return nil
}

// maxLight bounds luminance and colour amounts so that no sum or product overflows. Direct sun is 1.6e9 cd/m² (from memory).
const maxLight = 1e12

// change is one qualifying change: it can be seen whole in any window that holds both its times.
type change struct {
	up   bool    // brighter, or to saturated red
	from float64 // the last moment it can still be seen from, s
	done float64 // the first moment it is complete, s
}

// worst finds the second with the most alternating changes. The changes must be in order of both
// times; neighbours in the same direction are one change, because nothing opposes between them.
// Two moving ends, so linear in the number of changes.
func worst(changes []change) Count {
	var best Count
	end, turns := 0, 0 // the window is changes[i..end]; turns counts its alternations
	for i := range changes {
		if i > 0 && end >= i && changes[i].up != changes[i-1].up {
			turns--
		}
		if end < i {
			end, turns = i, 0
		}
		for end+1 < len(changes) && changes[end+1].done-changes[i].from < second-timeSlack {
			end++
			if changes[end].up != changes[end-1].up {
				turns++
			}
		}
		if turns+1 > best.Transitions {
			best = Count{Transitions: turns + 1, Start: changes[i].from}
		}
	}
	return best
}
