package flash

import (
	"slices"
	"testing"
)

// swings is a series that begins and ends as given: from one luminance to the other, every so many seconds.
func swings(start, every float64, changes int, from, to float64) []State {
	var states []State
	for k := range changes + 1 {
		states = append(states, State{T: start + every*float64(k), Y: []float64{from, to}[k%2]})
	}
	return states
}

// TestWhereTheRuleOfBroadcastersTurns: just below 160 cd/m2 a change needs 20 more, and just above it a ninth of the
// brighter: 159 + 20 = 179 and 159 x 9/8 = 178.875; 161 + 20 = 181 and 161 x 9/8 = 181.125 (ITU-R BT.1702).
func TestWhereTheRuleOfBroadcastersTurns(t *testing.T) {
	for _, test := range []struct {
		dark, bright float64
		counts       bool
	}{{159, 178.94, false}, {159, 179.01, true}, {161, 181.06, false}, {161, 181.2, true}} {
		r, err := Steps(swings(0, 0.1, 1, test.dark, test.bright), BT1702)
		if err != nil || (r.General.Transitions == 1) != test.counts {
			t.Errorf("from %v to %v: %d changes, %v", test.dark, test.bright, r.General.Transitions, err)
		}
	}
}

// TestWhatIsInASecond: seven changes of which the last comes 50 microseconds before the second is over are in it.
func TestWhatIsInASecond(t *testing.T) {
	for _, test := range []struct {
		every float64
		want  int
	}{{0.99995 / 6, 7}, {1.0 / 6, 6}} {
		r, err := Steps(swings(0, test.every, 7, 0, 1), WCAG22)
		if err != nil || r.General.Transitions != test.want {
			t.Errorf("every %v s: %d changes, %v; want %d", test.every, r.General.Transitions, err, test.want)
		}
	}
}

// TestSeriesThatBeginLate: when it begins changes nothing, nor that it begins bright, nor a state that nobody sees.
func TestSeriesThatBeginLate(t *testing.T) {
	for _, start := range []float64{-50, 0, 50} {
		for _, from := range []float64{0, 1} {
			states := swings(start, 0.125, 8, from, 1-from)
			states = append(states[:2:2], append([]State{{T: states[1].T, Y: states[1].Y}}, states[2:]...)...)
			r, err := Steps(states, WCAG22)
			if err != nil || r.General.Transitions != 8 {
				t.Errorf("from %v s at %v: %d changes, %v; want 8", start, from, r.General.Transitions, err)
			}
		}
	}
}

// TestStrobesThatAreTooMany: what there is to go through has an end, by switches and by their sums.
func TestStrobesThatAreTooMany(t *testing.T) {
	strobe := Strobe{Hz: FusionHz, Duty: 0.5, On: Light{Y: 1}}
	if _, err := InStep([]Strobe{strobe}, 8_340, WCAG22); err == nil { // 1,000,802 switches
		t.Error("a million switches of one strobe are gone through")
	}
	list := make([]Strobe, 150)
	for i := range list {
		list[i] = strobe
	}
	if _, err := InStep(list, 37.5, WCAG22); err == nil { // 675,300 switches of 150 lights
		t.Error("a hundred million sums are gone through")
	}
}

// TestRedThatIsTooFastToSee: a steady red beside a white that flashes makes a red that comes and goes.
func TestRedThatIsTooFastToSee(t *testing.T) {
	red := Strobe{Hz: FusionHz + 1, Duty: 0.5, On: Light{Y: 0.2, R: 1}}
	white := Strobe{Hz: 4, Duty: 0.5, On: Light{Y: 1, R: 1, G: 1, B: 1}}
	r, err := Unsynchronised([]Strobe{red, white}, WCAG22)
	if err != nil || !r.Fused || r.Red.Flashes() != 4 {
		t.Errorf("%v red flashes, fused: %v, %v", r.Red.Flashes(), r.Fused, err)
	}
}

// TestColoursOnParallelLines: of two rows of colours that run the same way, the farthest apart are at their far ends.
func TestColoursOnParallelLines(t *testing.T) {
	var a, b []uv
	for k := range 40 {
		a, b = append(a, uv{0.1 + 0.1*float64(k)/39, 0.5}), append(b, uv{0.05 * float64(k) / 39, 0.5})
	}
	if got, want := apart(a, b), 0.2; !near(got, want) {
		t.Errorf("%v apart, want %v", got, want)
	}
	if got, want := apart(b, a), 0.2; !near(got, want) {
		t.Errorf("%v apart the other way, want %v", got, want)
	}
}

func near(a, b float64) bool { return a-b < 1e-12 && b-a < 1e-12 }

// TestTheHullOfThree goes round against the clock, from the leftmost, whatever their order; what is within is no part of it.
func TestTheHullOfThree(t *testing.T) {
	a, b, c := uv{0, 0}, uv{2, 0}, uv{1, 1}
	for _, points := range [][]uv{{a, b, c}, {c, b, a}, {b, a, c}, {a, b, c, {1, 0.5}}, {a, b, c, a, {1, 0}}} {
		if got := hull(points); !slices.Equal(got, []uv{a, b, c}) {
			t.Errorf("the hull of %v is %v", points, got)
		}
	}
	if got := hull([]uv{b, a, {1, 0}}); !slices.Equal(got, []uv{a, b}) {
		t.Errorf("the hull of a line is %v", got)
	}
}
