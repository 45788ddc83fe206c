package rules

import (
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
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

// What is known lacks nothing, and of what is unknown is said what would make it known.
func TestValuesThatAreMissing(t *testing.T) {
	set, m := Own(), measured(t, halfKnown)
	lamp := m.Subjects("fixture")[0]
	if value, missing := set.Value(lamp, "tlci"); value != 92.0 || len(missing) > 0 {
		t.Errorf("the consistency index is %v, missing %q", value, missing)
	}
	if value, missing := set.Value(lamp, "cri"); value != nil || len(missing) == 0 {
		t.Errorf("the rendering index is %v, missing %q", value, missing)
	}
}

// The others of a clash stand in a finding as things of the same kind.
func TestTheOthersOfAClash(t *testing.T) {
	m := measured(t, `{"types": [{"name": "par", "source": "white-led", "slots": 4}], "patch": [
		{"channel": 1, "type": "par", "address": "1.1"}, {"channel": 2, "type": "par", "address": "1.3"}, {"channel": 3, "type": "par", "address": "1.4"}]}`)
	rule, _ := Own().Find("patch/address-overlap")
	found, _ := (&Set{Rules: []*Rule{rule}}).Judge(m)
	got := map[string][]finding.Subject{}
	for _, f := range found {
		got[f.Subjects[0].Name] = f.With
	}
	want := map[string][]finding.Subject{"2": {{Kind: "channel", Name: "1"}}, "3": {{Kind: "channel", Name: "1"}, {Kind: "channel", Name: "2"}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Only what looks at nothing but plain facts of its own subject depends on these alone.
func TestPlainExpressions(t *testing.T) {
	for expect, want := range map[string]bool{
		`cue.number != "1"`: true,
		`any(cue.unpatched_settings, .patched_channels == "7")`: false,
		`cue["unpatched"] != nil`:                               true,
	} {
		if got := mustLoad(t, written("over: cue", block("expect", expect))).code.plain(); got != want {
			t.Errorf("%s: plain is %v", expect, got)
		}
	}
	if mustLoad(t, written("over: circuit", block("expect", `circuit.move_to(limit.most) == nil`), "limits:", `  most: {value: 80, unit: "%", source: none}`)).code.plain() {
		t.Error("what is worked out from all of a show depends on more than its subject")
	}
}
