// Package dynamics measures how much the light of a set moves between soft and full, as loudness measures do for sound.
//
// In: an output that is never negative (lux on the stage, lumens, any one quantity) as straight lines over
// time ([New]). Out: its mean, its range in stops, and the share of time near the maximum ([Course]); and, for a list of
// values, runs that look alike ([Runs]). All of it is exact over the lines: nothing is sampled.
//
// Units: seconds for times; a stop is a doubling. No result depends on the scale of the output.
//
// What a newcomer gets wrong: darkness has no place on a scale of stops. It is minus infinity, so no
// function here gives a number for it: ok is false.
package dynamics

import (
	"errors"
	"fmt"
	"math"
)

// Piece is a stretch of time in which the output goes in a straight line.
type Piece struct {
	Start, End float64 // s
	From, To   float64 // output at Start and at End, 0 or more
}

// Course is the output over a set. It is fixed once made and may be shared.
type Course struct {
	pieces []part
	max    float64 // highest output, in the unit given
	time   float64 // total length, s
}

// part is a piece with its output as a part of the maximum, low end first: for how much of the time the output has
// which value, the direction does not matter.
type part struct{ seconds, low, high float64 }

// maxTime, in seconds, bounds the clock, so that lengths are good to a microsecond.
const maxTime = 1e9

// New takes pieces in order of time. They must not overlap; time between them is not measured at all. Pieces
// of no length count for nothing. It fails on times that go backwards or lie past 1e9 s, and on outputs that are
// negative, infinite or not numbers.
func New(pieces []Piece) (*Course, error) {
	c := &Course{pieces: make([]part, 0, len(pieces))}
	before := -maxTime
	for i, p := range pieces {
		if !(p.Start >= before && p.End >= p.Start && p.End <= maxTime) {
			return nil, fmt.Errorf("dynamics: piece %d from %v s to %v s is out of order", i, p.Start, p.End)
		}
		for _, v := range []float64{p.From, p.To} {
			if !(v >= 0) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("dynamics: piece %d: an output of %v is not a number from 0", i, v)
			}
		}
		before = p.End
		if p.End == p.Start {
			continue
		}
		c.pieces = append(c.pieces, part{p.End - p.Start, min(p.From, p.To), max(p.From, p.To)})
		c.time += p.End - p.Start
		c.max = max(c.max, p.From, p.To)
	}
	if c.max > 0 {
		for i := range c.pieces {
			c.pieces[i].low /= c.max
			c.pieces[i].high /= c.max
		}
	}
	return c, nil
}

// Max is the highest output. Not ok if no time is measured.
func (c *Course) Max() (float64, bool) { return c.max, c.time > 0 }

// Mean is the time-weighted mean output over all measured time, darkness included. Not ok if no time is measured.
func (c *Course) Mean() (float64, bool) {
	if c.time == 0 {
		return 0, false
	}
	var sum float64
	for _, p := range c.pieces {
		sum += p.seconds * (p.low + p.high) / 2
	}
	return sum / c.time * c.max, true
}

// Near is the share of all measured time, 0 to 1, in which the output is within so many stops (0 or more) of
// the maximum. Not ok if there is never any light, or stops is negative, infinite or not a number.
func (c *Course) Near(stops float64) (float64, bool) {
	if c.max == 0 || !(stops >= 0) || math.IsInf(stops, 0) {
		return 0, false
	}
	above, _ := c.above(math.Exp2(-stops - stopsSlack))
	return above / c.time, true
}

// above is the time in seconds with an output at or above y (as a part of the maximum), and the integral of the output over it.
func (c *Course) above(y float64) (seconds, sum float64) {
	for _, p := range c.pieces {
		t, low := p.seconds, p.low
		switch {
		case p.high < y:
			continue
		case low < y: // only the upper part of the line
			t *= (p.high - y) / (p.high - low)
			low = y
		}
		seconds += t
		sum += t * (low + p.high) / 2
	}
	return seconds, sum
}

// Stops is how many stops brighter b is than a: log2(b/a), negative if it is darker. Not ok unless both are
// above 0 and finite: there is no number of stops to or from darkness.
func Stops(a, b float64) (float64, bool) {
	if !(a > 0) || !(b > 0) || math.IsInf(a, 0) || math.IsInf(b, 0) {
		return 0, false
	}
	return math.Log2(b) - math.Log2(a), true
}

// Run is a stretch of a list of values, from the index First to the index Last, both included.
type Run struct{ First, Last int }

// Len is the number of values in the run.
func (r Run) Len() int { return r.Last - r.First + 1 }

// Runs gives every longest run of two values or more that all look alike: the highest is within so many stops of the lowest. A
// slow drift is therefore not one run, and two runs may share values, but no run lies inside another. Darkness
// (0) is like darkness only. A value that is negative, infinite or not a number is unknown and ends a run.
//
// It fails if stops is negative, infinite or not a number.
func Runs(values []float64, stops float64) ([]Run, error) {
	if !(stops >= 0) || math.IsInf(stops, 0) {
		return nil, errors.New("dynamics: stops must be a number from 0")
	}
	var out []Run
	first := 0
	var low, high []int // indices from first on; low[0] is that of the lowest value, high[0] that of the highest, the rest their successors
	end := func(last int) {
		if r := (Run{first, last}); r.Len() >= 2 {
			out = append(out, r)
		}
	}
	for i, v := range values {
		if !(v >= 0) || math.IsInf(v, 0) {
			end(i - 1)
			first, low, high = i+1, nil, nil
			continue
		}
		fits := func() bool {
			return len(low) == 0 || alike(min(v, values[low[0]]), max(v, values[high[0]]), stops)
		}
		if !fits() {
			end(i - 1)
		}
		for !fits() {
			first++
			if low[0] < first {
				low = low[1:]
			}
			if high[0] < first {
				high = high[1:]
			}
		}
		for len(low) > 0 && values[low[len(low)-1]] >= v {
			low = low[:len(low)-1]
		}
		for len(high) > 0 && values[high[len(high)-1]] <= v {
			high = high[:len(high)-1]
		}
		low, high = append(low, i), append(high, i)
	}
	end(len(values) - 1)
	return out, nil
}

// stopsSlack, in stops, is for the rounding of the two logarithms (each good to 2e-13 up to 1e308).
const stopsSlack = 1e-12

func alike(low, high, stops float64) bool {
	if low == high {
		return true
	}
	s, ok := Stops(low, high)
	return ok && s <= stops+stopsSlack
}
