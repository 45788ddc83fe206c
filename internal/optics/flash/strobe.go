package flash

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// FusionHz is the rate, in flashes per second, above which a source is taken as steady at its mean
// light. Sensitivity to flashes is reported from as low as 3 to as high as 60 per second [verified, pages
// of charities and a broadcaster]. A camera may still see bands, and moving things may look
// chopped, above it.
const FusionHz = 60

// MaxHz is the fastest source accepted.
const MaxHz = 10_000

// Strobe is a square wave between two lights. Its own light is added to that of the other sources, so the
// darkness of a room belongs to the Off of one of them.
type Strobe struct {
	Hz      float64 // flashes per second, 0 to 10 000; 0 stays at Off (or at On if Duty is 1)
	Duty    float64 // part of each cycle spent at On, 0 to 1
	Phase   float64 // part of a cycle already run at time 0, 0 up to (not including) 1
	Off, On Light
	// Random says that flashes come at chance moments and last as long as they like, and that Hz is the
	// fastest they ever come: no two start nearer than 1/Hz. A mean rate bounds nothing, so it is no use here.
	Random bool
}

func (s Strobe) check() error {
	if !(s.Hz >= 0 && s.Hz <= MaxHz) {
		return fmt.Errorf("rate %v Hz is outside 0 to %d", s.Hz, MaxHz)
	}
	if !(s.Duty >= 0 && s.Duty <= 1) {
		return fmt.Errorf("duty %v is outside 0 to 1", s.Duty)
	}
	if !(s.Phase >= 0 && s.Phase < 1) {
		return fmt.Errorf("phase %v is outside 0 up to 1", s.Phase)
	}
	if err := s.Off.check(); err != nil {
		return fmt.Errorf("off: %w", err)
	}
	if err := s.On.check(); err != nil {
		return fmt.Errorf("on: %w", err)
	}
	return nil
}

func (s Strobe) steady() bool { return s.Hz == 0 || !s.Random && (s.Duty == 0 || s.Duty == 1) }

// fused is never so for a random strobe, which may well slow down to a rate that is seen.
func (s Strobe) fused() bool { return s.Hz > FusionHz && !s.Random && !s.steady() }

// mean is the light over a whole cycle, in colour as in luminance.
func (s Strobe) mean() Light {
	l := mix(s.Off, s.On, s.Duty)
	l.Y = s.Off.Y + s.Duty*(s.On.Y-s.Off.Y)
	return l
}

// edges is the most times the strobe switches in any half-open second.
//
// A window that opens at a switch-on sees ceil(f) of them, and ceil(f - d) switch-offs; one that opens
// at a switch-off sees ceil(f) of those, and ceil(f - (1 - d)) switch-ons. At random, ceil(f)
// switch-ons fit, and a switch-off before the first and after each; f need not be taken above
// [FusionHz], where single flashes are no longer seen.
func (s Strobe) edges() int {
	if s.steady() {
		return 0
	}
	fits := func(cycles float64) int { // how many edges a cycle apart, the first after 1 - cycles/f
		return max(0, int(math.Ceil(cycles-timeSlack*s.Hz)))
	}
	if s.Random {
		return 2*fits(min(s.Hz, FusionHz)) + 1
	}
	return fits(s.Hz) + max(fits(s.Hz-s.Duty), fits(s.Hz-(1-s.Duty)))
}

// Count gives the worst second of this strobe alone, in closed form. Above [FusionHz] it is zero, and
// Fused is set. Start is 0 in every case.
func (s Strobe) Count(c Criterion) (Result, error) {
	return Unsynchronised([]Strobe{s}, c)
}

// Unsynchronised gives a bound for strobes that run each on its own clock: no choice of phases shows
// more changes in a second. The rates add up. Each change of the whole needs a switch of one of them, so the
// bound is the sum of the most switches that each makes in a second. It is exact for one strobe
// of fixed rate; for several it may say more than will happen, never less. Start is always 0.
//
// Changes too small to count even if all switched together are not counted, and red is not if no
// light given is saturated red (a sum of lights is never redder than the reddest of them). A source
// above [FusionHz] is steady; fusion is judged on each source, never on the sum of their rates.
func Unsynchronised(strobes []Strobe, c Criterion) (Result, error) {
	if err := checkStrobes(strobes, c); err != nil {
		return Result{}, err
	}
	var r Result
	var darkest, brightest float64
	var anyRed bool
	var edges int
	for _, s := range strobes {
		if s.fused() {
			r.Fused = true
			mean := s.mean()
			darkest, brightest = darkest+mean.Y, brightest+mean.Y
			anyRed = anyRed || mean.clipped().saturatedRed()
			continue
		}
		edges += s.edges()
		lights := s.lights()
		low, high := lights[0].Y, lights[0].Y
		for _, l := range lights {
			low, high = min(low, l.Y), max(high, l.Y)
			anyRed = anyRed || l.clipped().saturatedRed()
		}
		darkest, brightest = darkest+low, brightest+high
	}
	if c.counts(darkest, brightest) {
		r.General.Transitions = edges
	}
	if len(strobes) == 1 { // the two lights are all there is to see
		off, on := strobes[0].Off.clipped(), strobes[0].On.clipped()
		anyRed = off.saturatedRed() != on.saturatedRed() && apart([]uv{off.chromaticity()}, []uv{on.chromaticity()}) > redDistance
	}
	if anyRed {
		r.Red.Transitions = edges
	}
	return r, nil
}

// lights are those the strobe ever shows.
func (s Strobe) lights() []Light {
	switch {
	case s.steady() && s.Duty == 1:
		return []Light{s.On}
	case s.steady():
		return []Light{s.Off}
	}
	return []Light{s.Off, s.On}
}

// maxEdges and maxSums bound the work of [InStep]: about a second of one processor.
const (
	maxEdges = 1_000_000
	maxSums  = 100_000_000
)

// InStep counts the flashes of strobes that share one clock, by adding up their light over the time from 0 to
// the given seconds (more than 0, up to 1e6). A pattern that repeats is wholly seen if seconds covers one repeat and
// one second more. A strobe above [FusionHz] counts with its mean light, and Fused is set.
//
// It fails on a random strobe, which is in step with nothing, and when there are over a million switches
// to go through: use [Unsynchronised], whose bound covers every phase.
func InStep(strobes []Strobe, seconds float64, c Criterion) (Result, error) {
	if err := checkStrobes(strobes, c); err != nil {
		return Result{}, err
	}
	if !(seconds > 0 && seconds <= maxTime) {
		return Result{}, fmt.Errorf("flash: a time of %v s is not more than 0 and at most %g s", seconds, maxTime)
	}
	var fused bool
	var switches float64
	now := make([]Light, len(strobes))
	for i, s := range strobes {
		if s.Random {
			return Result{}, fmt.Errorf("flash: strobe %d is random and cannot be in step", i)
		}
		switch {
		case s.fused():
			fused = true
			now[i] = s.mean()
		case s.steady():
			now[i] = s.lights()[0]
		default:
			switches += 2*s.Hz*seconds + 2
			now[i] = s.Off
			if s.Phase < s.Duty {
				now[i] = s.On
			}
		}
	}
	if switches > maxEdges || switches*float64(len(strobes)) > maxSums {
		return Result{}, errors.New("flash: too many switches to go through one by one")
	}

	type edge struct {
		t     float64
		which int
		to    Light
	}
	edges := make([]edge, 0, int(switches))
	for i, s := range strobes {
		if s.steady() || s.fused() {
			continue
		}
		// The strobe is On while the cycles run so far, t Hz + Phase, are less than Duty past a whole number.
		for k := 0.0; ; k++ {
			on, off := (k-s.Phase)/s.Hz, (k-s.Phase+s.Duty)/s.Hz
			if min(on, off) >= seconds {
				break
			}
			edges = append(edges, edge{on, i, s.On}, edge{off, i, s.Off})
		}
	}
	slices.SortStableFunc(edges, func(a, b edge) int {
		if a.t < b.t {
			return -1
		}
		if a.t > b.t {
			return 1
		}
		return 0
	})

	states := []State{stateAt(0, now)}
	for i := 0; i < len(edges) && edges[i].t < seconds; {
		t := edges[i].t
		for ; i < len(edges) && edges[i].t <= t+timeSlack; i++ { // edges this near are one
			if edges[i].t >= -timeSlack { // earlier ones are in the first state already
				now[edges[i].which] = edges[i].to
			}
		}
		switch {
		case t > timeSlack:
			states = append(states, stateAt(t, now))
		case t >= -timeSlack && t <= timeSlack:
			states[0] = stateAt(0, now)
		}
	}
	r, err := Steps(states, c)
	r.Fused = fused
	return r, err
}

// stateAt adds the lights up afresh each time: a running sum would leave rounding behind, and in the dark
// that could pass for a colour.
func stateAt(t float64, lights []Light) State {
	s := State{T: t}
	for _, l := range lights {
		s.Y += l.Y
		s.R += l.R
		s.G += l.G
		s.B += l.B
	}
	return s
}

func checkStrobes(strobes []Strobe, c Criterion) error {
	if c.rise == nil {
		return errors.New("flash: no criterion given")
	}
	for i, s := range strobes {
		if err := s.check(); err != nil {
			return fmt.Errorf("flash: strobe %d: %w", i, err)
		}
	}
	return nil
}
