package text

import (
	"testing"

	"github.com/cueproof/cueproof/internal/outcome"
)

// A step is said in stops and in its unit; one of less than a twentieth of a stop is none, and what is not known or not there is said so.
func TestStepsInWords(t *testing.T) {
	for _, c := range []struct {
		old, now *float64
		want     string
	}{
		{new(100.0), new(200.0), "+1.0 stops (100 lx to 200 lx)"}, {new(200.0), new(100.0), "-1.0 stops (200 lx to 100 lx)"}, {new(100.0), new(103.0), ""}, {new(100.0), new(104.0), "+0.1 stops (100 lx to 104 lx)"},
		{new(0.5), new(0.0), "0.5 lx to dark"}, {new(0.0), new(0.5), "dark to 0.5 lx"}, {nil, new(5.0), "unknown to 5 lx"}, {new(5.0), nil, "5 lx to unknown"},
	} {
		if got := stepText(outcome.Step{Old: c.old, New: c.now}, "lx", "dark"); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// The other cure of an order stands in one line, where it fits into one.
func TestAnotherCureInOneLine(t *testing.T) {
	w := &textWriter{width: 20}
	for or, want := range map[string]string{"": "", "Bring it up": "    Or: Bring it up.", "Bring it up.": "    Or: Bring it up.", "Bring it so": "    Or: Bring it so.", "Bring it upp": ""} {
		if got := w.second(&outcome.Order{Or: or}); got != want {
			t.Errorf("%q is %q, want %q", or, got, want)
		}
	}
	if orNone("") != "none" || orNone("a") != "a" {
		t.Errorf("nothing is %q", orNone(""))
	}
}

// A text that is too long for its line is cut before a word, and its end stays in sight.
func TestOneLine(t *testing.T) {
	w := &textWriter{width: 30}
	for _, c := range []struct{ text, end, want string }{
		{"short", " [7]", " ?  short [7]"}, {"exactly as long as it is", "", " ?  exactly as long as it is"}, {"twenty-two letters are i", " [7]", " ?  twenty-two ... [7]"}, {"twenty-two letters it is", " [7]", " ?  twenty-two ... [7]"},
		{"exactly as long as it isn't", "", " ?  exactly as long as it ..."},
	} {
		if got := w.oneLine(" ?", c.text, c.end); got != c.want || len(got) > w.width {
			t.Errorf("%q is %q (%d letters), want %q", c.text, got, len(got), c.want)
		}
	}
}
