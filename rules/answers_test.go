package rules

import (
	"path/filepath"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"

	"github.com/cueproof/cueproof/internal/facts"
)

// TestAnswers: each names a kind, a rule of that limit and a fact that there are, asks for
// no limit that the rule does not have, and has a word that no fact has.
func TestAnswers(t *testing.T) {
	set, _ := Load(BuiltIn(), "rules/packs")
	loaded, err := loaders.Load(filepath.Join("..", "testdata", "shows", "flawed"), loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m := facts.Measure(loaded.Show, tracking.Resolve(loaded.Show))
	for _, a := range answers {
		rule, ok := set.Find(a.rule)
		if !ok || slices.Contains(facts.WordsOf(a.kind), a.word) || facts.Kinds()[a.kind] == nil {
			t.Errorf("%s of a %s: rule %s", a.word, a.kind, a.rule)
			continue
		}
		if words := facts.WordsOf(a.kind); a.like != "" && !slices.Contains(words, a.like) {
			t.Errorf("%s is unknown where %q is, which is no fact of a %s", a.word, a.like, a.kind)
		}
		known := 0
		for _, subject := range m.Subjects(a.kind) {
			if value, _ := set.Value(subject, a.word); value != nil {
				known++
			}
			a.of(subject, func(name string) float64 {
				value, ok := rule.limits[name]
				if !ok {
					t.Errorf("%s asks for the limit %q, which %s does not have", a.word, name, a.rule)
				}
				return value
			})
		}
		if known == 0 {
			t.Errorf("no %s of the flawed evening has a %s", a.kind, a.word)
		}
	}
}
