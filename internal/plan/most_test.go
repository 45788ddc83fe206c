package plan

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// A rule that would offer more values than an order can say does not make them: for a cue
// of a hundred settings that was most of the work.
func TestARuleOffersNoMoreThanAnOrderSays(t *testing.T) {
	rule, err := os.ReadFile("../../rules/packs/patch/cue-channel-unpatched/rule.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("when: len(cue.unpatched_settings) <= %d and ", mostValues); strings.Count(string(rule), want) != 2 {
		t.Errorf("both remedies of the rule begin with %q", want)
	}
}

// Each list of channels is a value of its own, as many edits as there are of one list.
func TestMoreListsThanAnOrderSays(t *testing.T) {
	var cues []string
	for i := range mostValues + 1 {
		cues = append(cues, fmt.Sprintf(`{"cue": %d}`, i+1))
	}
	show := read(t, `{"cues": [`+strings.Join(cues, ",")+`]}`)
	edits := func(field string, list []*schema.Cue) (edits []source.Edit) {
		for _, cue := range list {
			edits = append(edits, source.Edit{At: cue.At, Field: field})
		}
		return edits
	}
	all := edits("channels", show.Cues)
	same := edits("channels", append(show.Cues[:mostValues:mostValues], show.Cues[:mostValues]...))
	if !tooMany(all) || tooMany(all[:mostValues]) || tooMany(same) || tooMany(edits("level", show.Cues)) {
		t.Errorf("%v, %v, %v and %v are too many", tooMany(all), tooMany(all[:mostValues]), tooMany(same), tooMany(edits("level", show.Cues)))
	}
}
