package plan

import (
	"maps"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/rules"
)

// A rule names only causes that are looked for, and each of those is of use to a rule.
func TestRulesNameCausesThatAreLookedFor(t *testing.T) {
	used := map[string]bool{}
	for _, rule := range rules.Own().Rules {
		for _, word := range rule.Causes {
			used[word] = true
			if causes[word] == nil {
				t.Errorf("%s names the cause %q, for which nobody looks", rule.ID, word)
			}
		}
	}
	for _, word := range slices.Sorted(maps.Keys(causes)) {
		if !used[word] {
			t.Errorf("no rule names the cause %q", word)
		}
	}
	for _, word := range slices.Concat(ofTheShow, lastResorts, slices.Collect(maps.Keys(reveals))) {
		if causes[word] == nil {
			t.Errorf("%q is no cause", word)
		}
	}
}
