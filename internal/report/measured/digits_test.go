package measured

import (
	"math"
	"testing"

	"github.com/cueproof/cueproof/internal/report/say"
)

// TestFactDigits: people see four digits, machines six, and nothing that is no number.
func TestFactDigits(t *testing.T) {
	for _, test := range []struct {
		value           any
		people, machine string
	}{
		{133.92857142857, "133.9", "133.929"},
		{1234567.0, "1235000", "1234570"},
		{-0.00123456789, "-0.001235", "-0.00123457"},
		{1e-9, "0", "0.000000001"},
		{0.0, "0", "0"},
		{math.NaN(), "0", "0"},
		{math.Inf(1), "0", "0"},
		{nil, "?", "?"},
		{true, "true", "true"},
		{[]int{3, 1}, "3 1", "3 1"},
		{[]string{"a", "b"}, "a; b", "a; b"},
		{[]float64{0.123456789, 2}, "0.1235 2", "0.123457 2"},
	} {
		if got := factText(test.value, "?", say.PeopleDigits); got != test.people {
			t.Errorf("%v for people is %q, want %q", test.value, got, test.people)
		}
		if got := factText(test.value, "?", say.MachineDigits); got != test.machine {
			t.Errorf("%v for machines is %q, want %q", test.value, got, test.machine)
		}
	}
}
