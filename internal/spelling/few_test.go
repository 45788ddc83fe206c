package spelling

import (
	"strings"
	"testing"
)

func TestListsThatAreCutShort(t *testing.T) {
	words := strings.Fields("a b c d e")
	for most, want := range map[int]string{2: "a, b and at 3 more", 3: "a, b, c and at 2 more", 4: "a, b, c, d and e", 5: "a, b, c, d and e"} {
		if got := List(Shortened(words, most, "at %d more")); got != want {
			t.Errorf("at most %d: %q, want %q", most, got, want)
		}
	}
	for most, want := range map[int]string{3: "a, b, c and 2 more", 5: "a, b, c, d, e"} {
		if got := Few(words, most); got != want {
			t.Errorf("few of %d: %q, want %q", most, got, want)
		}
	}
	if words[2] != "c" {
		t.Error("the list is another now")
	}
}
