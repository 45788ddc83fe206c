package verdict

import (
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/schema"
)

// TestOf: the first word, and the sentence behind it, at each edge between two of them.
func TestOf(t *testing.T) {
	whole := &schema.Show{Patch: []*schema.Fixture{{}}, Cues: []*schema.Cue{{}}}
	fails := func(level finding.Level, rule string) finding.Finding {
		return finding.Finding{Rule: rule, Level: level, Verdict: finding.Fail}
	}
	likely := func(level finding.Level) finding.Finding {
		f := fails(level, "white/x")
		f.Likely = true
		return f
	}
	accepted := fails(finding.Error, "white/x")
	accepted.Accepted = &finding.Acceptance{}
	open := func(level finding.Level) finding.Finding {
		return finding.Finding{Rule: "white/x", Level: level, Verdict: finding.Open}
	}
	tallies := func(could, blind, without int) (list []finding.Tally) {
		for range could {
			list = append(list, finding.Tally{Subjects: 2, Open: 1})
		}
		for range blind {
			list = append(list, finding.Tally{Subjects: 2, Open: 2})
		}
		for range without {
			list = append(list, finding.Tally{})
		}
		return list
	}
	namesGroup := func(cue string) finding.Finding {
		f := fails(finding.Error, "file/unknown-name")
		f.Detail, f.Subjects = "group/house", []finding.Subject{{Kind: "channels", Name: "house"}, {Kind: "cue", Name: cue}}
		return f
	}
	for name, test := range map[string]struct {
		told outcome.Show
		show *schema.Show
		word outcome.Readiness
		why  string
	}{
		"nothing found": {outcome.Show{Looked: tallies(3, 0, 1)}, whole, outcome.Ready, "Every rule looked at everything it should, and nothing was found."},
		"a note": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{fails(finding.Note, "white/x")}}, whole, outcome.Ready,
			"Every rule that matters looked at everything it should; what is left are notes."},
		"a note that cannot be told": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{open(finding.Note)}}, whole, outcome.Ready,
			"Every rule that matters looked at everything it should; what is left are notes."},
		"a gap": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{open(finding.Warning)}}, whole, outcome.WithCare,
			"Nothing wrong was found, but not everything could be checked. All 3 rules could look."},
		"a rule without anything to look at": {outcome.Show{Looked: append(tallies(3, 0, 0), finding.Tally{None: []string{"cameras"}})}, whole, outcome.WithCare,
			"Nothing wrong was found, but not everything could be checked. 3 of 4 rules could look."},
		"what is assumed": {outcome.Show{Looked: tallies(3, 0, 0), Assumed: []string{"one", "two", "three"}}, whole, outcome.WithCare,
			"Nothing wrong was found, but that rests on numbers that nobody has read yet: one, two. All 3 rules could look."},
		"a likely error": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{likely(finding.Error)}}, whole, outcome.WithCare,
			"Nothing is wrong for sure; 1 finding is likely, with numbers that nobody has read yet. All 3 rules could look."},
		"a likely note": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{likely(finding.Note)}}, whole, outcome.Ready,
			"Every rule that matters looked at everything it should; what is left are notes."},
		"two warnings": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{fails(finding.Warning, "white/x"), fails(finding.Warning, "white/y")}}, whole, outcome.WithCare,
			"Nothing stops the service; 2 findings are worth a change. All 3 rules could look."},
		"an error": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{fails(finding.Error, "white/x"), fails(finding.Warning, "white/y")}}, whole, outcome.Hold,
			"1 finding has to be put right before doors. All 3 rules could look."},
		"an error that is accepted": {outcome.Show{Looked: tallies(3, 0, 0), Findings: []finding.Finding{accepted}}, whole, outcome.Ready,
			"Every rule looked at everything it should, and nothing was found."},
		"an error in a patch alone": {outcome.Show{Looked: tallies(1, 3, 0), Findings: []finding.Finding{fails(finding.Error, "patch/x")}}, &schema.Show{Patch: whole.Patch}, outcome.Hold,
			"1 finding has to be put right before doors. 1 of 4 rules could look."},
		"an error of a file in a patch alone": {outcome.Show{Looked: tallies(1, 3, 0), Findings: []finding.Finding{fails(finding.Error, "file/x")}}, &schema.Show{Patch: whole.Patch}, outcome.NotChecked,
			"This show has no cue list, so its light cannot be worked out."},
		"groups that no file gives, in a cue of two": {outcome.Show{Looked: tallies(1, 1, 0), Findings: []finding.Finding{namesGroup("1")}}, &schema.Show{Patch: whole.Patch, Cues: []*schema.Cue{{}, {}}},
			outcome.NotChecked, "This show has no groups, though its cues name some, so its light cannot be worked out."},
		"in a cue of three": {outcome.Show{Looked: tallies(1, 1, 0), Findings: []finding.Finding{namesGroup("1"), namesGroup("1")}}, &schema.Show{Patch: whole.Patch, Cues: []*schema.Cue{{}, {}, {}}},
			outcome.Hold, "2 findings have to be put right before doors. 1 of 2 rules could look."},
		"no show":            {outcome.Show{Looked: tallies(1, 0, 0)}, nil, outcome.NotChecked, "This show has no patch list and no cue list, so its light cannot be worked out."},
		"nothing to look at": {outcome.Show{Looked: tallies(0, 0, 3)}, whole, outcome.NotChecked, "No rule found anything in this show to look at."},
		"a third could look, with a gap": {outcome.Show{Looked: tallies(1, 2, 0), Findings: []finding.Finding{open(finding.Warning)}}, whole, outcome.NotChecked,
			"Only 1 of 3 rules could look."},
		"more than a third could look, with a gap": {outcome.Show{Looked: tallies(2, 3, 0), Findings: []finding.Finding{open(finding.Warning)}}, whole, outcome.WithCare,
			"Nothing wrong was found, but not everything could be checked. 2 of 5 rules could look."},
		"a file that cannot be read": {outcome.Show{Unreadable: true, Looked: tallies(3, 0, 0), Findings: []finding.Finding{fails(finding.Error, "white/x")}}, whole, outcome.NotChecked,
			"A file of the show could not be read, so what follows is not the whole show."},
	} {
		t.Run(name, func(t *testing.T) {
			if word, why := Of(&test.told, test.show); word != test.word || why != test.why {
				t.Errorf("%v: %s", word, why)
			}
		})
	}
}
