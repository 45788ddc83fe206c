package rules

import (
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/google/go-cmp/cmp"
)

func TestWith(t *testing.T) {
	const text = `
title: A channel is high.
over: fixture
when: fixture.channel != limit.but
expect: fixture.channel <= limit.most
say: "{fixture.channel} is above {limit.most}."
level: warning
consequence: later
limits:
  most: {value: 10, unit: "", source: own}
  but: {value: 99, unit: "", source: own}
`
	rule := mustLoad(t, text)
	set := &Set{Rules: []*Rule{rule}}
	changed := set.With(Changes{
		Limits: map[string]map[string]NewLimit{rule.ID: {"most": {5, "house.yaml"}, "nothing": {1, ""}}, "no/rule": {"most": {1, ""}}},
		Levels: map[string]finding.Level{rule.ID: finding.Error, "no/rule": finding.Note},
	})
	own := 10.0
	want := []finding.Limit{{Name: "most", Value: 5, Source: "house.yaml", Own: &own}, {Name: "but", Value: 99, Source: "own"}}
	got := append([]finding.Limit{}, changed.Rules[0].Limits...)
	for i, limit := range got {
		if value, ok := changed.Rules[0].limits[limit.Name]; !ok || value != got[i].Value {
			t.Errorf("%s is judged with %g and told as %g", limit.Name, value, limit.Value)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if changed.Rules[0].Level != finding.Error || len(changed.Rules[0].limits) != 2 {
		t.Errorf("level %s, limits %v", changed.Rules[0].Level, changed.Rules[0].limits)
	}
	if rule.Limits[0].Value != 10 || rule.limits["most"] != 10 || rule.Level != finding.Warning {
		t.Error("the rule itself was changed")
	}
	if off := set.With(Changes{Off: map[string]bool{rule.ID: true}}); len(off.Rules) != 0 || len(set.Rules) != 1 {
		t.Error("a rule that is off still looks")
	}
	if same := set.With(Changes{}); same.Rules[0] != rule {
		t.Error("a rule that nothing changes was copied")
	}
}
