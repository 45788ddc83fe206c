package air

import "math"

// Wish is a level to be reached and a level to be left behind.
type Wish struct {
	Earliest  float64 // when the machine may first run, s
	Level     float64 // in the air then, mg/m³
	AtLeast   float64 // wanted at the time T1, mg/m³
	T1        float64 // s, not before Earliest
	AtMost    float64 // wanted at the time T2, mg/m³
	T2        float64 // s, not before Earliest; before or after T1
	MgPerHour float64 // the most the machine puts out, mg/h
}

// Reason says what stands in the way of a [Wish]. Empty if nothing does.
type Reason string

// What can stand in the way.
const (
	// ClearsTooSlowly: even if the machine stops at T1, the level at T2 is too high. More air changes, more time
	// between, or a lower level at T1 would help.
	ClearsTooSlowly Reason = "the air clears too slowly"
	// HazyAlready: what hangs in the air already is too much for T2, machine or not.
	HazyAlready Reason = "there is too much haze in the air already"
	// OutputTooSmall: the machine at full output for ever would not reach the level.
	OutputTooSmall Reason = "the machine is too small for the room and its air changes"
	// TooLate: the machine would reach the level, but not by T1.
	TooLate Reason = "there is too little time to build up"
)

// Plan meets a [Wish]: the machine runs with a constant output from a start until Stop and is off at all other times.
// It gives the two ends of the choice; any output between them, started when it takes to make AtLeast at T1,
// works too.
type Plan struct {
	Needed      bool    // false if the level is high enough without the machine; the rest but LevelAtT2 is then 0
	LatestStart float64 // s, with the full output
	LeastOutput float64 // mg/h, with the earliest start that will do
	EarlyStart  float64 // s, the start that goes with LeastOutput
	Stop        float64 // s, at T1
	LevelAtT2   float64 // mg/m³; if T2 comes before T1, with LeastOutput, and no higher with any other choice
}

// Reach finds how to have at least one level at T1 and at most another at T2. If it cannot be done, ok is false and
// the reason says what limits; then LevelAtT2 is the lowest that can be had (for [ClearsTooSlowly] and
// [HazyAlready]), LeastOutput what would be needed (for [TooLate] and [OutputTooSmall]; 0 if nothing would do), and the
// rest is 0. It fails on anything negative, infinite or not a number, on times before Earliest, and on what
// [Solve] refuses.
//
// It works because the level at T2 is lowest if the level at T1 is exactly AtLeast: if T2 comes later, for any way
// of getting there; if T2 comes first, the lower the shorter and harder the machine runs. So the full
// output with the latest start is the best there is, and if that does not do, nothing does.
func Reach(room Room, w Wish) (p Plan, reason Reason, ok bool, err error) {
	if err := room.check(); err != nil {
		return Plan{}, "", false, err
	}
	for _, t := range []float64{w.Earliest, w.T1, w.T2} {
		if !(math.Abs(t) <= maxTime) || t < w.Earliest {
			return Plan{}, "", false, errOutOfRange
		}
	}
	for _, v := range []float64{w.Level, w.AtLeast, w.AtMost, w.MgPerHour} {
		if !amount(v) {
			return Plan{}, "", false, errOutOfRange
		}
	}
	k := room.loss()
	hours := func(from, to float64) float64 { return (to - from) / secondsPerHour }
	left := func(h float64) float64 { return math.Exp(-k * h) }

	idleAtT1 := w.Level * left(hours(w.Earliest, w.T1))
	idleAtT2 := w.Level * left(hours(w.Earliest, w.T2))
	if idleAtT2 > w.AtMost {
		return Plan{LevelAtT2: idleAtT2}, HazyAlready, false, nil
	}
	if idleAtT1 >= w.AtLeast {
		return Plan{LevelAtT2: idleAtT2}, "", true, nil
	}
	p = Plan{Needed: true, Stop: w.T1, LevelAtT2: idleAtT2}

	// With an output G over the last h hours before T1 the level is idleAtT1 + G/V held(k, h).
	missing := (w.AtLeast - idleAtT1) * room.VolumeM3 // mg
	needed, early := missing/held(k, hours(w.Earliest, w.T1)), w.Earliest
	if gap := hours(w.T2, w.T1); gap > 0 {
		// The level at T2 may not be over AtMost, and from there it has to come to AtLeast. Over a long gap that hardly
		// shows in the output, so the start is worked out from T2.
		needed = max(needed, (w.AtLeast-w.AtMost*left(gap))*room.VolumeM3/held(k, gap))
		early = max(early, w.T2-heldFor(k, (w.AtMost-idleAtT2)*room.VolumeM3/needed)*secondsPerHour)
		p.LevelAtT2 += needed / room.VolumeM3 * held(k, hours(early, w.T2))
	} else {
		p.LevelAtT2 = w.AtLeast * left(-gap)
		if p.LevelAtT2 > w.AtMost {
			return Plan{LevelAtT2: p.LevelAtT2}, ClearsTooSlowly, false, nil
		}
	}
	if needed <= maxValue {
		p.LeastOutput, p.EarlyStart = needed, early
	}

	full := heldFor(k, missing/w.MgPerHour) // hours, +Inf if the level is out of reach
	switch {
	case math.IsInf(full, 1):
		return Plan{LeastOutput: p.LeastOutput}, OutputTooSmall, false, nil
	case w.MgPerHour < needed:
		return Plan{LeastOutput: p.LeastOutput}, TooLate, false, nil
	}
	p.LatestStart = max(early, w.T1-full*secondsPerHour) // for rounding, when there is but one choice
	return p, "", true, nil
}
