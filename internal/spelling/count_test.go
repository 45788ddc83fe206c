package spelling

import (
	"strings"
	"testing"
)

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

func TestOrdinal(t *testing.T) {
	for n, want := range map[int]string{1: "1st", 2: "2nd", 3: "3rd", 4: "4th", 10: "10th", 11: "11th", 12: "12th", 13: "13th", 14: "14th", 19: "19th", 20: "20th", 21: "21st", 22: "22nd", 33: "33rd", 101: "101st", 110: "110th", 111: "111th", 119: "119th", 121: "121st", 1012: "1012th"} {
		if got := Ordinal(n); got != want {
			t.Errorf("%d is %s, want %s", n, got, want)
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

func TestAmount(t *testing.T) {
	for _, test := range [][3]string{
		{"1", "stops", "1 stop"}, {"-1", "stops", "-1 stop"}, {"2", "stops", "2 stops"}, {"1.5", "stops", "1.5 stops"}, {"0", "stops", "0 stops"}, {"1", "flashes/s", "1 flash/s"},
		{"1", "lx", "1 lx"}, {"1", "s", "1 s"}, {"1", "cd/m2", "1 cd/m2"}, {"1", "", "1"}, {"", "stops", " stops"}, {"11", "lamps", "11 lamps"}, {"1", "places", "1 place"},
	} {
		if got := Amount(test[0], test[1]); got != test[2] {
			t.Errorf("%q of %q is %q, want %q", test[0], test[1], got, test[2])
		}
	}
	for text, want := range map[string]string{
		" stops over it": " stop over it", " stops.": " stop.", "stops": "stops", " stopsign": " stopsign", " to 2 stops": " to 2 stops", "": "", " ": " ", "%": "%",
	} {
		if got := After("1", text); got != want {
			t.Errorf("behind 1, %q is %q, want %q", text, got, want)
		}
	}
}

func TestCues(t *testing.T) {
	for want, numbers := range map[string][]string{
		"cue 3": {"3"}, "cues 3, 4": {"3", "4"}, "cues 3, 4, 5": {"3", "4", "5"}, "cues 3, 4, 5 and 1 more": {"3", "4", "5", "6.5"},
	} {
		if got := Cues(numbers, 3); got != want {
			t.Errorf("%q are %q, want %q", numbers, got, want)
		}
	}
}

// Only the first letter changes, in every alphabet.
func TestASentenceBeginsAndGoesOn(t *testing.T) {
	for text, want := range map[string][2]string{ // as it begins, and as it goes on
		"circuit A": {"Circuit A", "circuit A"}, "In cue 3": {"In cue 3", "in cue 3"}, "über 3": {"Über 3", "über 3"}, "Étage": {"Étage", "étage"},
		"3 lamps": {"3 lamps", "3 lamps"}, `"Front" is`: {`"Front" is`, `"Front" is`}, "a": {"A", "a"}, "": {"", ""}, "\xffa": {"\xffa", "\xffa"},
	} {
		if begins, goesOn := Capital(text), Small(text); begins != want[0] || goesOn != want[1] {
			t.Errorf("%q begins as %q and goes on as %q, want %q", text, begins, goesOn, want)
		}
	}
}
