package spelling

import (
	"slices"
	"testing"

	"github.com/agext/levenshtein"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func TestNearest(t *testing.T) {
	sections := []string{"room", "types", "patch", "groups", "cues", "order", "notices"}
	for _, test := range []struct {
		word  string
		known []string
		want  string
	}{
		{"patch", sections, "patch"},
		{"pacth", sections, "patch"}, // two letters changed places: two changes
		{"Patch", sections, "patch"}, // case is no difference
		{"PATHC", sections, "patch"},
		{"cue", sections, "cues"},
		{"cuess", sections, "cues"},
		{"rooms", sections, "room"},
		{"notcies", sections, "notices"},
		{"lighting", sections, ""}, // nothing is near
		{"white_K", []string{"white_k"}, "white_k"},
		{"whitek", []string{"white_k"}, "white_k"},

		// Short words: two changes are the most, and they may not change all of it.
		{"ab", []string{"ba"}, ""},
		{"ab", []string{"ac"}, "ac"},
		{"a", []string{"b"}, ""},
		{"a", []string{"ab"}, ""},
		{"", []string{"a", "ab"}, ""},
		{"key", []string{"fog"}, ""},
		{"keu", []string{"key"}, "key"},
		{"no", []string{"none"}, ""},
		{"non", []string{"none"}, "none"},

		// Longer words may differ in about a third of their letters, and no more.
		{"house downlight rov", []string{"house downlight row"}, "house downlight row"},
		{"house down-light row", []string{"house downlight row"}, "house downlight row"},
		{"abcdefghi", []string{"abcdefxyz"}, "abcdefxyz"}, // 3 of 9
		{"abcdefghi", []string{"abcdewxyz"}, ""},          // 4 of 9

		// Of equals the first is taken, and a nearer one behind it wins.
		{"bar", []string{"bat", "bay"}, "bat"},
		{"bar", []string{"bay", "bat"}, "bay"},
		{"front", []string{"frontal", "fronts"}, "fronts"},
		{"front", []string{"fronts", "front"}, "front"},

		{"clé", []string{"cle"}, "cle"},
		{"patch", nil, ""},
		{"patch", []string{""}, ""},
	} {
		if got := Nearest(test.word, test.known); got != test.want {
			t.Errorf("nearest to %q of %q is %q, want %q", test.word, test.known, got, test.want)
		}
	}
}

func TestHint(t *testing.T) {
	if got, want := Hint("pacth", []string{"patch"}), ` Did you mean "patch"?`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := Hint("lighting", []string{"patch"}); got != "" {
		t.Errorf("got %q, want nothing", got)
	}
}

func TestNearestIsOneOfTheKnown(t *testing.T) {
	words := rapid.StringOfN(rapid.SampledFrom([]rune("abcé ")), 0, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		word, known := words.Draw(t, "word"), rapid.SliceOf(words).Draw(t, "known")
		near := Nearest(word, known)
		if near != "" && !slices.Contains(known, near) {
			t.Fatalf("%q is none of %q", near, known)
		}
		if len(word) > 0 && slices.Contains(known, word) && near != word {
			t.Fatalf("%q is known, but %q is offered", word, near)
		}
		if again := Nearest(word, known); again != near {
			t.Fatalf("%q, and then %q", near, again)
		}
		want, least := "", 1+max(2, len(word)/3)
		for _, other := range known { // each of them looked at whole
			if distance := levenshtein.Distance(word, other, nil); distance < least {
				want, least = other, distance
			}
		}
		if least >= len(word) {
			want = ""
		}
		if near != want {
			t.Fatalf("%q is offered for %q, want %q", near, word, want)
		}
	})
}
