package spelling

import "testing"

func TestCount(t *testing.T) {
	for want, got := range map[string]string{
		"0 cues": Count(0, "cue"), "1 cue": Count(1, "cue"), "2 cues": Count(2, "cue"), "-1 cues": Count(-1, "cue"), "3 switches": Count(3, "switch"),
		"1 finding is": Count(1, "finding is", "findings are"), "4 findings are": Count(4, "finding is", "findings are"),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestList(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "red": {"red"}, "red and blue": {"red", "blue"}, "red, amber and blue": {"red", "amber", "blue"}} {
		if got := List(words); got != want {
			t.Errorf("List(%q) = %q, want %q", words, got, want)
		}
	}
}
