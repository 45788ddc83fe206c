package plan

import (
	"fmt"
	"os"
	"strings"
	"testing"
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
