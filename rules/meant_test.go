package rules

import (
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema/schematest"
	"github.com/google/go-cmp/cmp"
)

func TestAnIntentThatAnswersNothingIsTold(t *testing.T) {
	show := schematest.Read(t, `{
  "room": {"places": [{"name": "lectern", "meant": ["silhouette"]}, {"name": "pulpit", "meant": ["faces-dark"]}]},
  "patch": [{"channel": 1, "purpose": "wash", "aimed_at": "lectern"}, {"channel": 2, "purpose": "key", "aimed_at": "pulpit"}],
  "cues": [
    {"cue": 1, "segment": "s", "meant": ["faces-dark", "sweep"], "set": [{"channels": "1", "level": 50}]},
    {"cue": 2, "segment": "s", "meant": ["faces-dark"], "people": ["pulpit"], "set": [{"channels": "2", "level": 50}]}
  ],
  "order": [{"name": "s", "people": ["lectern"], "meant": ["silhouette"]}, {"name": "t", "meant": ["faces-dark"]}]
}`)
	set := &Set{Rules: []*Rule{mustLoad(t, written("over: person", "meant: [faces-dark, silhouette]", "expect: person.key_count > 0"))}}
	found, tallies := set.Judge(facts.Measure(show, tracking.Resolve(show)))
	if len(found) != 0 || tallies[0].Subjects != 2 {
		t.Errorf("found is %v of %d", found, tallies[0].Subjects)
	}
	var idle []string
	for _, f := range set.Idle(show, tallies) {
		idle = append(idle, f.Subjects[0].String()+": "+f.Detail)
	}
	// In cue 1 the lectern is dark and faces-dark answers; in cue 2 the pulpit has its key.
	// No rule of the set asks for a sweep. The silhouette was answered by the word before it.
	want := []string{"cue 2: faces-dark", "segment s: silhouette", "segment t: faces-dark", "place lectern: silhouette", "place pulpit: faces-dark"}
	if diff := cmp.Diff(want, idle); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
