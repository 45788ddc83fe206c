package facts

import (
	"slices"
	"testing"
)

// TestUnnamed: what is missing of one thing is told in the words of all, and comes back as it was.
func TestUnnamed(t *testing.T) {
	for _, c := range []struct{ phrase, want string }{
		{"the colour", "the colour"},
		{"the type of channel 1", "the type of " + thisOne},
		{"channel 1: its type, and that of channel 12", thisOne + ": its type, and that of channel 12"},
		{"channel 12", "channel 12"},
		{"channel 1 and channel 1", thisOne + " and " + thisOne},
	} {
		got := unnamed([]string{"a beam", c.phrase}, "channel", "1")
		if got[0] != "a beam" || got[1] != c.want {
			t.Errorf("%q: %q, want %q", c.phrase, got, c.want)
		}
		if back := named(got, "channel", "1"); !slices.Equal(back, []string{"a beam", c.phrase}) {
			t.Errorf("%q comes back as %q", c.phrase, back)
		}
	}
}
