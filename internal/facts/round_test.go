package facts

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestRound(t *testing.T) {
	for _, test := range []struct{ number, want float64 }{
		{0, 0}, {19.9999999996, 20}, {19.9999996, 19.9999996}, {-0.1000000000000001, -0.1}, {3.17e-14, 0}, {-2e-10, 0}, {5.4e-9, 5e-9},
		// Ties go to the even digit where the number is one exactly (IEEE 754), and by its binary value where it is not.
		{1000000000.5, 1000000000}, {100000000.5, 100000000}, {100000001.5, 100000002}, {0.5 + 0x1p-31, 0.5},
		{123456789.4, 123456789}, {1e-300, 0}, {math.MaxFloat64, 1.79769313e308},
	} {
		if got := Round(test.number); got != test.want {
			t.Errorf("%v becomes %v, want %v", test.number, got, test.want)
		}
	}
	for _, x := range []float64{-2e-10, -1e-300, math.Copysign(0, -1)} {
		if got := Round(x); math.Signbit(got) { // it would be written as -0
			t.Errorf("%v becomes %v", x, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e12, 1e12).Draw(t, "x")
		got := Round(x)
		if math.Abs(got-x) > max(5e-9*math.Abs(x), 5.1e-10) || Round(got) != got {
			t.Errorf("%v becomes %v, then %v", x, got, Round(got))
		}
		// A sum in another order is the same number.
		if near := Round(x * (1 + 1e-15)); math.Abs(near-got) > max(1e-8*math.Abs(x), 1.1e-9) {
			t.Errorf("%v and its neighbour become %v and %v", x, got, near)
		}
	})
}

// The quick way gives what the digits give, to the last bit.
func TestRoundPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-10, 10).Draw(t, "x") * math.Pow(10, float64(rapid.IntRange(-12, 9).Draw(t, "size")))
		if rapid.Bool().Draw(t, "whole") {
			x = math.Round(x*1e3) / 1e3
		}
		form, places := byte('e'), digits-1
		if math.Abs(x) < 1 {
			form, places = 'f', digits
		}
		want, err := strconv.ParseFloat(strconv.FormatFloat(x, form, places, 64), 64)
		if got, ok := roundPlain(x); err != nil || ok && got != want {
			t.Errorf("%v becomes %v, by its digits %v", x, got, want)
		}
	})
}

// TestEveryCountIsExplained: a number that decides what counts has a name, a meaning and
// a source, once.
func TestEveryCountIsExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Counts() {
		if c.Name == "" || c.Means == "" || c.Source == "" || seen[c.Name] || math.IsNaN(c.Value) || c.Value == 0 {
			t.Errorf("%+v", c)
		}
		seen[c.Name] = true
	}
	if len(seen) < 20 {
		t.Errorf("only %d", len(seen))
	}
}
