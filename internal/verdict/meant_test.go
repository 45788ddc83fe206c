package verdict

import (
	"fmt"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

func TestWhatIsMeantIsCounted(t *testing.T) {
	answers := func(intents ...string) (list []finding.Answer) {
		for _, word := range intents {
			list = append(list, finding.Answer{Intent: word})
		}
		return list
	}
	got := Meant([]finding.Tally{
		{Rule: "people/no-key", Meant: answers("silhouette", "faces-dark")}, {Rule: "people/key-low", Meant: answers("silhouette")}, {Rule: "people/flat"},
	})
	if want := "not said, because it is meant: silhouette 2 times (people/key-low, people/no-key); faces-dark once (people/no-key)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := Meant([]finding.Tally{{Rule: "people/flat"}}); got != "" {
		t.Errorf("nothing is meant, and it says %q", got)
	}
	var many []string
	for i := range 7 {
		many = append(many, fmt.Sprint("word", i))
	}
	if got := Meant([]finding.Tally{{Rule: "people/flat", Meant: answers(many...)}}); got[len(got)-18:] != "and 2 more intents" {
		t.Errorf("%q", got)
	}
}
