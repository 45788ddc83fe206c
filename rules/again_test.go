package rules_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// TestWhatIsJudgedAgain: after a change, of what is as it was the verdicts are taken over; what rules say then in brief, when it is
// weighed and in full is what they say of the changed show from the beginning.
func TestWhatIsJudgedAgain(t *testing.T) {
	loaded, err := loaders.Load("../testdata/shows/flawed", loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	set, show := rules.Own(), loaded.Show
	start := proof.Check(show, set)
	lit := slices.IndexFunc(show.Cues, func(c *schema.Cue) bool { return len(c.Set) > 0 && c.Set[0].Level != nil && *c.Set[0].Level > 0 })
	for _, edit := range []source.Edit{
		{At: show.Cues[lit].Set[0].At, Field: "level", Value: 0.0}, {At: show.Cues[lit].Set[0].At, Field: "level", Value: 5.0}, {At: show.Cues[lit].At, Field: "in_s", Value: 0.0},
		{At: show.Patch[0].At, Field: "address", Value: "9.1"}, {At: show.Patch[0].At, Field: "purpose", Value: "wash"}, {At: show.Room.Cameras[0].At, Field: "white_k", Value: 3200.0},
	} {
		changed, err := schema.Apply(show, []source.Edit{edit})
		if err != nil {
			t.Fatal(err)
		}
		fresh := proof.Check(changed, set)
		after, err := start.Try(set, nil, []source.Edit{edit})
		if err != nil {
			t.Fatal(err)
		}
		brief := func(f *finding.Finding) string {
			return fmt.Sprint(f.Identity(), f.Level, f.Consequence, f.Cues, f.Missing, f.Amount != nil, f.Verdict)
		}
		full := func(f *finding.Finding) string {
			text := fmt.Sprint(brief(f), f.Message, f.Hint, f.Rests, len(f.Remedies))
			for _, e := range append(slices.Clone(f.Measured), f.Limits...) {
				text += fmt.Sprint(e.Name, e.Value, e.Unit)
			}
			return text
		}
		same := func(how string, got, want []finding.Finding, words func(*finding.Finding) string) {
			for i := range max(len(got), len(want)) {
				if i >= len(got) || i >= len(want) || words(&got[i]) != words(&want[i]) {
					t.Errorf("%s is %v: of %d findings the %d. is not that of %d from the beginning, %s", edit.Field, edit.Value, len(got), i+1, len(want), how)
					return
				}
			}
		}
		same("in brief", after.Found, fresh.Found, brief)
		for i := range after.Tallies {
			if !reflect.DeepEqual(after.Tallies[i], fresh.Tallies[i]) {
				t.Errorf("%s is %v: it counts %+v, from the beginning %+v", edit.Field, edit.Value, after.Tallies[i], fresh.Tallies[i])
			}
		}
		for _, rule := range []string{"people/key-low", "people/no-key", "white/key-camera", "none/such"} {
			of := slices.DeleteFunc(slices.Clone(fresh.Found), func(f finding.Finding) bool { return f.Rule != rule })
			same("of "+rule, after.Tell(set, rule), of, full)
		}
		after.TellAll(set)
		same("in full", after.Found, fresh.Found, full)
	}
}

// TestTheWorkOfARule: each thing that it looked at, what it found there, and the facts and limits that it went by.
func TestTheWorkOfARule(t *testing.T) {
	loaded, err := loaders.Load("../testdata/shows/flawed", loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	set := rules.Own()
	state := proof.CheckAndTell(loaded.Show, set)
	for _, id := range []string{"people/key-low", "patch/address-overlap", "white/key-camera", "air/haze-lingers"} {
		rule, ok := set.Find(id)
		if !ok {
			t.Fatal(id)
		}
		fails, open := 0, 0
		work := rule.Work(state.Measured())
		for _, w := range work {
			switch {
			case w.Verdict == finding.Fail:
				fails++
			case w.Verdict == finding.Open:
				open++
				if len(w.Missing) == 0 {
					t.Errorf("%s: of %v nobody can tell, for want of nothing", id, w.Names)
				}
			}
			if w.Verdict != finding.Open && len(w.Facts) == 0 || len(w.Limits) == 0 && id == "people/key-low" {
				t.Errorf("%s: of %v %d facts and %d limits", id, w.Names, len(w.Facts), len(w.Limits))
			}
		}
		tally := state.Tallies[slices.IndexFunc(state.Tallies, func(tally finding.Tally) bool { return tally.Rule == id })]
		if len(work) != tally.Subjects || fails < tally.Fails || open < tally.Open || (fails > 0) != (tally.Fails > 0) || (open > 0) != (tally.Open > 0) { // what is one in many cues is one finding
			t.Errorf("%s looked at %d things, of which %d are wrong and %d open; its tally is %+v", id, len(work), fails, open, tally)
		}
	}
}
