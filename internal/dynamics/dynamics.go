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

// stopsSlack, in stops, is for the rounding of the two logarithms (each good to 2e-13 up to 1e308).
const stopsSlack = 1e-12
