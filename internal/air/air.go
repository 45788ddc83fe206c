// Package air works out how much haze hangs in a room: one well-mixed volume with a machine, air changes and settling.
//
// In: the room, the level to begin with, and the machine's output over time ([Solve]). Out: the level at any
// time, its peak, its mean, when it reaches or falls below a level ([Course]); and the other way round, when to start
// the machine and how hard to run it ([Reach]). Published exposure limits and the assumptions of the
// trade stand in [Limits], [Fluids] and the constants beside them, each with its source.
//
// Units: mg/m³ for levels, mg/h for output, m³ for volume, per hour for rates, seconds for times.
//
// What a newcomer gets wrong: the well-mixed level is that of the room, hours and rows away from the
// machine. Near the outlet it is many times higher, and nothing here covers that spot. A level below a
// limit is not a promise of harmless air: local codes, the venue and the fluid maker's data sheet decide.
package air

import (
	"fmt"
	"math"
	"sort"
)

const secondsPerHour = 3600.0

// maxValue bounds every quantity given, so that no product of a few of them overflows.
const maxValue = 1e12

// minVolume and minRate, in m³ and per hour, keep quotients in range. A smaller rate is refused unless it is 0.
const (
	minVolume = 1e-3
	minRate   = 1e-9
)

// Room is a volume of air that is well mixed at all times.
type Room struct {
	VolumeM3        float64 // air volume, m³, from 0.001
	ACH             float64 // air changes per hour n, fresh or filtered of the aerosol; 0 for none
	SettlingPerHour float64 // what the aerosol loses by itself s, per hour; 0 for none. See [Fluids]
}

func (r Room) check() error {
	if !(r.VolumeM3 >= minVolume && r.VolumeM3 <= maxValue) {
		return fmt.Errorf("air: a volume of %v m³ is outside %g to %g", r.VolumeM3, minVolume, maxValue)
	}
	for _, rate := range []float64{r.ACH, r.SettlingPerHour} {
		if rate != 0 && !(rate >= minRate && rate <= maxValue) {
			return fmt.Errorf("air: a rate of %v per hour is neither 0 nor %g to %g", rate, minRate, maxValue)
		}
	}
	return nil
}

// loss is n + s, per hour.
func (r Room) loss() float64 { return r.ACH + r.SettlingPerHour }

// Left is the part of an aerosol that is left after so many seconds if no more is made, 0 to 1.
func (r Room) Left(seconds float64) float64 {
	return math.Exp(-r.loss() * max(seconds, 0) / secondsPerHour)
}

// SteadyMgPerM3 is where the level ends up with a constant output in mg/h: G / ((n+s) V) [from memory, textbook].
// Not ok if nothing is ever lost (the level then grows without end) or a number is out of range.
func (r Room) SteadyMgPerM3(mgPerHour float64) (float64, bool) {
	if r.check() != nil || r.loss() == 0 || !amount(mgPerHour) {
		return 0, false
	}
	return mgPerHour / r.VolumeM3 / r.loss(), true
}

func amount(v float64) bool { return v >= 0 && v <= maxValue }

// Change sets the machine's output, which then holds until the next change (the last one for good).
type Change struct {
	At        float64 // s
	MgPerHour float64 // aerosol put into the air, mg/h
}

// Course is the level over time. It is fixed once made and may be shared.
type Course struct {
	room  Room
	steps []step
}

// step is a stretch of constant output, from at to the next step.
type step struct {
	at     float64 // s
	level  float64 // at its start, mg/m³
	source float64 // output / volume, mg/m³ per hour
}

// maxTime, in seconds, bounds the clock: about 30 000 years.
const maxTime = 1e12

// Solve gives the level from the time start (s), when it is level (mg/m³), onwards. Changes must be in order of time and
// not before start; of several at one time the last holds. Until the first the output is 0.
//
//	dC/dt = G(t)/V - (n + s) C
//
// is solved exactly between changes: C(t) = G/((n+s)V) (1 - exp(-(n+s)t)) + C0 exp(-(n+s)t) [from memory, textbook].
// It fails on a room with no volume, on anything negative, infinite or not a number, and on times past 1e12 s.
func Solve(room Room, start, level float64, changes []Change) (*Course, error) {
	if err := room.check(); err != nil {
		return nil, err
	}
	if !(math.Abs(start) <= maxTime) {
		return nil, fmt.Errorf("air: the start at %v s is outside ±%g s", start, maxTime)
	}
	if !amount(level) {
		return nil, fmt.Errorf("air: a level of %v mg/m³ at the start is outside 0 to %g", level, maxValue)
	}
	c := &Course{room: room, steps: make([]step, 1, len(changes)+1)}
	c.steps[0] = step{at: start, level: level}
	before := start
	for i, ch := range changes {
		last := &c.steps[len(c.steps)-1]
		if !(ch.At >= before && ch.At <= maxTime) {
			return nil, fmt.Errorf("air: change %d at %v s comes before %v s or is not a time", i, ch.At, before)
		}
		before = ch.At
		if !amount(ch.MgPerHour) {
			return nil, fmt.Errorf("air: change %d: an output of %v mg/h is outside 0 to %g", i, ch.MgPerHour, maxValue)
		}
		source := ch.MgPerHour / room.VolumeM3
		switch {
		case source == last.source: // nothing changes, so cutting a stretch in two gives the same bits
		case ch.At == last.at:
			last.source = source
		default:
			c.steps = append(c.steps, step{at: ch.At, level: c.within(*last, ch.At), source: source})
		}
	}
	return c, nil
}

// held is the time in hours that a steady source would need, with nothing lost, to make the level it makes
// in t hours: (1 - exp(-k t))/k, which is t for k = 0.
func held(k, t float64) float64 {
	if k == 0 {
		return t
	}
	return -math.Expm1(-k*t) / k
}

// heldFor is the inverse of held: the time in hours that it takes. +Inf if it never comes to f.
func heldFor(k, f float64) float64 {
	switch {
	case k == 0:
		return f
	case k*f >= 1:
		return math.Inf(1)
	}
	return -math.Log1p(-k*f) / k
}

// within is the level at a time t (s) at or after the start of s, if its output still holds.
func (c *Course) within(s step, t float64) float64 {
	h := (t - s.at) / secondsPerHour
	k := c.room.loss()
	return s.level*math.Exp(-k*h) + s.source*held(k, h)
}

// dose is the integral of the level from the start of s over the next h hours, mg h/m³.
func (c *Course) dose(s step, h float64) float64 {
	k := c.room.loss()
	x := k * h
	f := held(k, h)
	// (h - f)/k, or its series where the difference would be lost in rounding: at the switch the first
	// term left out is x⁴/360 of the whole, 2e-16.
	grown := h * h * (0.5 - x/6 + x*x/24 - x*x*x/120)
	if x > 5e-4 {
		grown = (h - f) / k
	}
	return s.level*f + s.source*grown
}

// find is the step that holds at time t, or -1 before the start.
func (c *Course) find(t float64) int {
	return sort.Search(len(c.steps), func(i int) bool { return c.steps[i].at > t }) - 1
}

// At is the level at time t (s) in mg/m³. Not ok before the start, past 1e12 s, or for what is not a time.
func (c *Course) At(t float64) (float64, bool) {
	if !c.covers(t) {
		return 0, false
	}
	return c.within(c.steps[c.find(t)], t), true
}

func (c *Course) covers(t float64) bool { return t >= c.steps[0].at && t <= maxTime }

// Peak is the highest level in mg/m³ from one time to another (s), and the first time it is there. Not ok if to is before from,
// or either is not covered by [Course.At].
func (c *Course) Peak(from, to float64) (level, at float64, ok bool) {
	if !c.covers(from) || !c.covers(to) || to < from {
		return 0, 0, false
	}
	// Between changes the level only rises or only falls, so the peak is at an end or at a change.
	first := c.find(from)
	level, at = c.within(c.steps[first], from), from
	for _, s := range c.steps[first+1:] {
		if s.at > to {
			break
		}
		if s.level > level {
			level, at = s.level, s.at
		}
	}
	if end, _ := c.At(to); end > level {
		level, at = end, to
	}
	return level, at, true
}

// Mean is the time-weighted mean level in mg/m³ from one time to another (s), exact. Over no time it is the level itself.
// Not ok as for [Course.Peak].
func (c *Course) Mean(from, to float64) (float64, bool) {
	if !c.covers(from) || !c.covers(to) || to < from {
		return 0, false
	}
	if hours := (to - from) / secondsPerHour; hours > 0 {
		return c.between(from, to) / hours, true
	}
	return c.At(from)
}

// between is the dose from one time to another, mg h/m³.
func (c *Course) between(from, to float64) float64 {
	var sum float64
	for i := c.find(from); i < len(c.steps) && c.steps[i].at < to; i++ {
		s := c.steps[i]
		if s.at < from {
			s.level, s.at = c.within(s, from), from
		}
		end := to
		if i+1 < len(c.steps) {
			end = min(end, c.steps[i+1].at)
		}
		sum += c.dose(s, (end-s.at)/secondsPerHour)
	}
	return sum
}

// EightHourMean is the 8 h time-weighted mean in mg/m³ for someone in the room from one time to another (s)
// and in clean air for the rest of the day: the dose over 8 h, E = (C1 T1 + C2 T2 + ...)/8, as in the US
// occupational rule 29 CFR 1910.1000(d)(1)(i) [from memory]. A stay of over 8 h is divided by 8 all the same,
// which is the stricter way. Not ok as for [Course.Peak].
func (c *Course) EightHourMean(from, to float64) (float64, bool) {
	if !c.covers(from) || !c.covers(to) || to < from {
		return 0, false
	}
	return c.between(from, to) / 8, true
}

// FirstAtLeast is the first time (s), not before from, at which the level is at or above the given one (mg/m³). Not ok
// if it never gets there (a level only ever approached is not reached), or from is not covered.
func (c *Course) FirstAtLeast(level, from float64) (float64, bool) {
	return c.first(level, from, func(l float64) bool { return l >= level })
}

// FirstAtMost is the first time (s), not before from, at which the level is at or below the given one (mg/m³). It may rise
// again later. Not ok as for [Course.FirstAtLeast].
func (c *Course) FirstAtMost(level, from float64) (float64, bool) {
	return c.first(level, from, func(l float64) bool { return l <= level })
}

func (c *Course) first(level, from float64, there func(float64) bool) (float64, bool) {
	if !c.covers(from) || !amount(level) {
		return 0, false
	}
	for i := c.find(from); i < len(c.steps); i++ {
		s := c.steps[i]
		if s.at < from {
			s.level, s.at = c.within(s, from), from
		}
		if there(s.level) {
			return s.at, true
		}
		end := maxTime
		if i+1 < len(c.steps) {
			end = c.steps[i+1].at
		}
		if t := c.crossing(s, level); t <= end {
			return t, true
		}
	}
	return 0, false
}

// crossing is when the level passes the given one if the output of s holds for good, or +Inf. The level
// of s is not yet there.
func (c *Course) crossing(s step, level float64) float64 {
	k := c.room.loss()
	slope := s.source - k*s.level // mg/m³ per hour, at the start
	// level = s.level + slope * held(k, h), so held(k, h) is wanted.
	f := (level - s.level) / slope
	if !(f > 0) { // the level goes the other way, or nowhere
		return math.Inf(1)
	}
	return s.at + heldFor(k, f)*secondsPerHour
}
