package dynamics

import (
	"math"
	"slices"
	"sort"
)

// The range is the loudness range of EBU Tech 3342 (a statistic of levels between two percentiles, after the two
// gates of ITU-R BS.1770) carried over to light. Percentiles and relative gate are theirs [from memory]: 10 % and 95 %,
// so that neither one blinder nor one dip sets the range; and 20 LU below the mean of what passes the
// absolute gate. What is changed, and why:
//
//   - Loudness units are decibels of power, and light output stands for power, so 20 LU, a ratio of 100, is
//     log2(100) = 6.64 stops.
//   - Sound has a full scale and an absolute gate of -70 LUFS on it. Light has none, so the absolute gate hangs from the
//     set's own maximum: 10 stops below it is blackout, to a camera and to an eye used to the bright parts.
//     Common practice, no source.
//   - The method for sound takes levels over a sliding 3 s, because a waveform has no level at an instant. An output
//     has, so time itself is weighed, along the straight lines, and the percentiles are exact.
const (
	absoluteGateStops = 10
	relativeGate      = 1.0 / 100 // of the mean
	lowShare          = 0.10
	highShare         = 0.95
)

// shareSlack, as a part of the gated time, is for rounding: ten equal steps must put their first
// exactly at 10 %, whatever clock they are on.
const shareSlack = 1e-9

// Range is how far the output moves.
type Range struct {
	Stops float64 // from Low to High
	Low   float64 // output exceeded in 90 % of the gated time
	High  float64 // output exceeded in 5 % of it
	Gate  float64 // output below which time was left out
	Share float64 // of the measured time that passed the gate, 0 to 1
}

// Range gives the gated range between the 10th and the 95th percentile of output over time. Where the output jumps across a
// percentile, the lower value is taken. Not ok if there is never any light.
func (c *Course) Range() (Range, bool) {
	if c.max == 0 {
		return Range{}, false
	}
	gate := math.Exp2(-absoluteGateStops)
	seconds, sum := c.above(gate) // the maximum passes, though perhaps only for an instant
	if seconds > 0 {
		gate = max(gate, relativeGate*sum/seconds)
	}
	passed, _ := c.above(gate)
	if passed == 0 {
		return Range{}, false
	}
	ends := c.endsFrom(gate)
	low, high := c.percentile(ends, passed, lowShare), c.percentile(ends, passed, highShare)
	stops, ok := Stops(low, high)
	return Range{Stops: stops, Low: low * c.max, High: high * c.max, Gate: gate * c.max, Share: passed / c.time}, ok
}

// endsFrom are a gate and the ends of lines above it, ascending: between neighbours the time
// below y grows in a straight line.
func (c *Course) endsFrom(gate float64) []float64 {
	ends := make([]float64, 1, 1+2*len(c.pieces))
	ends[0] = gate
	for _, p := range c.pieces {
		if p.low > gate {
			ends = append(ends, p.low)
		}
		if p.high > gate {
			ends = append(ends, p.high)
		}
	}
	slices.Sort(ends)
	return slices.Compact(ends)
}

// percentile is the lowest output y of the gated time with at least the given share of that time at or below it.
func (c *Course) percentile(ends []float64, passed, share float64) float64 {
	atOrBelow := func(y float64) float64 { return passed - c.strictlyAbove(y) }
	want := share * passed
	i := sort.Search(len(ends)-1, func(i int) bool { return atOrBelow(ends[i]) >= want-shareSlack*passed })
	if i == 0 {
		return ends[0]
	}
	// It lies above ends[i-1], at or below ends[i], where time may jump by what is held at ends[i] itself.
	a := atOrBelow(ends[i-1])
	above, _ := c.above(ends[i])
	b := passed - above
	if b <= want || b <= a {
		return ends[i]
	}
	return ends[i-1] + max(0, want-a)/(b-a)*(ends[i]-ends[i-1])
}

// strictlyAbove is above less the time held at y itself.
func (c *Course) strictlyAbove(y float64) float64 {
	seconds, _ := c.above(y)
	for _, p := range c.pieces {
		if p.low == y && p.high == y {
			seconds -= p.seconds
		}
	}
	return seconds
}
