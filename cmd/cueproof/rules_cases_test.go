package main

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func TestDifference(t *testing.T) {
	lines := func(text string) []string { return strings.Split(text, "") }
	for _, c := range []struct{ want, got, difference string }{
		{"abc", "abc", "  a|  b|  c"},
		{"abc", "adc", "  a|- b|+ d|  c"},
		{"abc", "bcd", "- a|  b|  c|+ d"},
		{"a", "b", "- a|+ b"},
	} {
		if diff := cmp.Diff(strings.Split(c.difference, "|"), difference(lines(c.want), lines(c.got))); diff != "" {
			t.Errorf("%s and %s:\n%s", c.want, c.got, diff)
		}
	}
	long := slices.Repeat([]string{"x"}, 3000)
	if got := difference(long, long); len(got) != 6000 || got[0] != "- x" {
		t.Errorf("%d lines, first %q", len(got), got[0])
	}
}

// Each of the two lists can be read off a difference.
func TestDifferenceHoldsBothLists(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "- c"}), 0, 12)
		want, got := draw.Draw(t, "want"), draw.Draw(t, "got")
		var left, right []string
		for _, line := range difference(want, got) {
			if line[0] != '+' {
				left = append(left, line[2:])
			}
			if line[0] != '-' {
				right = append(right, line[2:])
			}
		}
		if !slices.Equal(left, want) || !slices.Equal(right, got) {
			t.Errorf("left %q, right %q", left, right)
		}
	})
}
