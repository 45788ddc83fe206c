package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/annotate"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/summary"
	"github.com/cueproof/cueproof/internal/source"
)

// failures are so many failures of a rule, each of another channel.
func failures(rule string, level finding.Level, n int) (list []finding.Finding) {
	for i := range n {
		list = append(list, finding.Finding{
			Rule: rule, Level: level, Verdict: finding.Fail, Consequence: finding.Camera, Message: fmt.Sprintf("%s on %d.", rule, i+1),
			Subjects: []finding.Subject{{Kind: "channel", Name: fmt.Sprint(i + 1)}},
		})
	}
	return list
}

// TestAPageOfAChangeIsCutAndCounted: five findings of a rule and thirty in all stand on the page of a change, and twenty of what
// can be checked no more; the rest is counted.
func TestAPageOfAChangeIsCutAndCounted(t *testing.T) {
	page := func(r *outcome.Report) string {
		var out bytes.Buffer
		if err := summary.Write(&out, r, say.Options{}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	for _, c := range []struct {
		rules, each int
		want        string
	}{{1, 5, ""}, {1, 6, "and 1 finding more"}, {6, 5, ""}, {7, 5, "and 5 findings more"}, {7, 6, "and 12 findings more"}} {
		r := small(0, 0)
		for i := range c.rules {
			r.Shows[0].Findings = append(r.Shows[0].Findings, failures(fmt.Sprintf("a/r%d", i), finding.Warning, c.each)...)
		}
		got := page(r)
		if stand, want := strings.Count(got, "- **"), min(c.rules*min(c.each, 5), 30); stand != want || strings.Contains(got, "; the text report has all") != (c.want != "") || !strings.Contains(got, c.want) {
			t.Errorf("of %d rules with %d findings each %d stand there, want %d and %q:\n%s", c.rules, c.each, stand, want, c.want, got)
		}
	}
	for lost, want := range map[int]string{20: "- Sentence 20.\n\n", 21: "- Sentence 20.\n- and 1 more\n\n", 23: "- Sentence 20.\n- and 3 more\n\n"} {
		r := small(0, 0)
		r.Base = &outcome.Base{Name: "earlier.json"}
		for i := range lost {
			r.Base.Notes = append(r.Base.Notes, fmt.Sprintf("Sentence %d.", i+1))
		}
		if got := page(r); !strings.Contains(got, want) {
			t.Errorf("of %d sentences:\n%s\nwant %q", lost, got, want)
		}
	}
}

// TestAnnotationsAreCutAndCounted: three of a rule, ten errors and ten warnings, no notes; what was checked before and cannot be now
// is an error of a run that fails for it; and the receipt stands behind all.
func TestAnnotationsAreCutAndCounted(t *testing.T) {
	lines := func(r *outcome.Report) string {
		var out bytes.Buffer
		if err := annotate.Write(&out, r, say.Options{}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	for _, c := range []struct {
		rules, each      int
		level            finding.Level
		errors, warnings int
		want             string
	}{
		{1, 3, finding.Error, 3, 0, ""}, {1, 4, finding.Error, 3, 0, "Not annotated: 1 more error."}, {4, 3, finding.Error, 10, 0, "Not annotated: 2 more errors."},
		{4, 3, finding.Warning, 0, 10, "Not annotated: 2 more warnings."}, {1, 2, finding.Note, 0, 0, "Not annotated: 2 more notes."},
	} {
		r := small(0, 0)
		for i := range c.rules {
			r.Shows[0].Findings = append(r.Shows[0].Findings, failures(fmt.Sprintf("a/r%d", i), c.level, c.each)...)
		}
		got := lines(r)
		if errors, warnings := strings.Count(got, "::error "), strings.Count(got, "::warning "); errors != c.errors || warnings != c.warnings || !strings.Contains(got, c.want) || strings.Contains(got, "Not annotated") != (c.want != "") {
			t.Errorf("of %d rules with %d findings each %d errors and %d warnings, want %d, %d and %q:\n%s", c.rules, c.each, errors, warnings, c.errors, c.warnings, c.want, got)
		}
	}
	r := small(0, 0)
	r.Shows[0].Receipt = &outcome.Receipt{Number: "12-34"}
	r.Rules = []finding.Rule{{ID: "a/b", Caution: "Mind the ladder."}, {ID: "a/c", Caution: "Mind the cable."}, {ID: "a/d"}}
	r.Shows[0].Findings = append(failures("a/b", finding.Error, 1), failures("a/d", finding.Error, 1)...)
	assertSays(t, lines(r), []string{"a/b on 1. Caution: Mind the ladder.", "a/d on 1. ::notice title=cueproof::Receipt 12-34: "}, []string{"Mind the cable"})
}

// TestFixesInSARIF: an exact change stands with the first of its findings, file by file, and says what has to be done with it; the
// others say where it stands.
func TestFixesInSARIF(t *testing.T) {
	r := small(1, 0)
	cues, patch := &source.File{Name: "cues.json", Text: "50\n60\n"}, &source.File{Name: "patch.json", Text: "1.1\n"}
	r.Shows[0].Files = []*source.File{cues, patch}
	r.Shows[0].Findings = failures("a/b", finding.Error, 2)
	order := &r.Shows[0].Orders[0]
	order.Cures = []string{r.Shows[0].Findings[0].Key(), r.Shows[0].Findings[1].Key()}
	for _, at := range []source.Place{{File: cues, Start: 0, Stop: 2}, {File: cues, Start: 3, Stop: 5}, {File: patch, Start: 0, Stop: 3}} {
		order.Fix = append(order.Fix, source.Replacement{Place: at, Text: "70"})
	}
	type results struct {
		Runs []struct {
			Results []struct {
				Message struct{ Text string }
				Fixes   []struct {
					Description     struct{ Text string }
					ArtifactChanges []struct {
						Replacements []struct {
							DeletedRegion struct{ StartLine, EndColumn int }
						}
					}
				}
			}
		}
	}
	for brings, want := range map[string]string{"": "Do thing 1.", "Do thing 2.": "Do thing 1. This needs to be done with it: Do thing 2."} {
		if order.FixBrings = nil; brings != "" {
			order.FixBrings = []string{brings}
		}
		checkSARIF(t, officialSchema(t), r)
		var log results
		if err := json.Unmarshal(written(t, sarif.Write, r), &log); err != nil {
			t.Fatal(err)
		}
		list := log.Runs[0].Results
		if len(list) != 2 || len(list[0].Fixes) != 1 || len(list[1].Fixes) != 0 {
			t.Fatalf("%+v", list)
		}
		fix := list[0].Fixes[0]
		if len(fix.ArtifactChanges) != 2 || len(fix.ArtifactChanges[0].Replacements) != 2 || len(fix.ArtifactChanges[1].Replacements) != 1 || fix.Description.Text != want {
			t.Errorf("%+v", fix)
		}
		if at := fix.ArtifactChanges[0].Replacements[1].DeletedRegion; at.StartLine != 2 || at.EndColumn != 3 {
			t.Errorf("the second value stands at %+v", at)
		}
		const stands = "The exact change stands with "
		if strings.Contains(list[0].Message.Text, stands) || !strings.Contains(list[1].Message.Text, stands+order.Cures[0]) {
			t.Errorf("%q, %q", list[0].Message.Text, list[1].Message.Text)
		}
	}
	order.Fix = append(order.Fix, source.Replacement{})
	var log results
	if err := json.Unmarshal(written(t, sarif.Write, r), &log); err != nil || len(log.Runs[0].Results[0].Fixes) > 0 {
		t.Errorf("a change of no place is written: %v", err)
	}
}

// TestStatesOfABase: what a finding is against an earlier state, in the words of SARIF, and why one is gone that nobody put right.
func TestStatesOfABase(t *testing.T) {
	for change, want := range map[finding.BaseState]string{finding.New: "new", finding.Unchanged: "unchanged", finding.Worse: "updated", finding.Better: "updated", finding.Untold: "updated"} {
		r := small(0, 0)
		r.Shows[0].Findings = failures("a/b", finding.Error, 1)
		r.Shows[0].Findings[0].Base = change
		r.Base = &outcome.Base{Name: "earlier.sarif"}
		if got := checkSARIF(t, officialSchema(t), r).Runs[0].Results[0].BaselineState; got == nil || *got != want {
			t.Errorf("%v is %v, want %s", change, got, want)
		}
	}
	put, judged, unknown := compare.Of(&finding.Finding{Rule: "a/b", Message: "One."}), compare.Of(&finding.Finding{Rule: "a/b", Message: "Two."}), compare.Of(&finding.Finding{Rule: "a/b", Message: "Three."})
	judged.Review, unknown.Untold = "limit", true
	r := small(0, 0)
	r.Base = &outcome.Base{Name: "earlier.sarif", Change: outcome.Change{Gone: []outcome.Past{put, judged, unknown}}}
	got := ""
	for _, result := range checkSARIF(t, officialSchema(t), r).Runs[0].Results {
		got += result.Message.Text + "\n"
	}
	assertSays(t, got, []string{"One. Key", "Two. It was not put right: its rule is off, its limit is another, or it is meant. Key", "Three. Nobody can tell any more whether it is still so. Key"}, nil)
}

// TestGapsInWords: what to give, and to check how many things of each kind, counted once whoever asks for them.
func TestGapsInWords(t *testing.T) {
	for _, c := range []struct {
		gap         outcome.Gap
		give, rules string
	}{
		{outcome.Gap{Missing: "x", Rules: []string{"a/b", "a/c"}}, "Give x.", "a/b, a/c"},
		{outcome.Gap{Missing: "x", Rules: []string{"a/b"}, Subjects: 3}, "Give x.", "a/b (3 times)"},
		{outcome.Gap{Missing: "x", Rules: []string{"a/b", "a/c"}, Each: []outcome.GapCount{{Rule: "a/b"}, {Rule: "a/c"}}}, "Give x, for 2 rules.", "a/b, a/c"},
		{outcome.Gap{Missing: "x", Rules: []string{"a/b", "a/c"}, Each: []outcome.GapCount{{Rule: "a/b", Kind: "cue", Subjects: 3}, {Rule: "a/c", Kind: "cue", Subjects: 2}}}, "Give x, to check 3 cues.", "a/b (3 cues), a/c (2 cues)"},
		{outcome.Gap{Missing: "x", Each: []outcome.GapCount{{Rule: "a/b", Kind: "cue", Subjects: 1}, {Rule: "a/c", Kind: "channel", Subjects: 2}, {Rule: "a/d"}, {Rule: "a/e", Kind: "cue", Subjects: 4}}}, "Give x, to check 4 cues and 2 channels.", "a/b (1 cue), a/c (2 channels), a/d and 1 more"},
	} {
		if got := say.GapOrder(&c.gap); got != c.give {
			t.Errorf("got %q, want %q", got, c.give)
		}
		if got := say.GapRules(&c.gap); got != c.rules {
			t.Errorf("got %q, want %q", got, c.rules)
		}
	}
}

// TestNamesFromTheRoot: a file inside of the root of a repository is told from there, and any other as it was named.
func TestNamesFromTheRoot(t *testing.T) {
	root := t.TempDir()
	for name, want := range map[string]string{
		filepath.Join(root, "shows", "cues.json"): "shows/cues.json", root: ".", filepath.Join(root, "..evening"): "..evening",
		filepath.Dir(root): filepath.Dir(root), filepath.Join(filepath.Dir(root), "other", "cues.json"): filepath.Join(filepath.Dir(root), "other", "cues.json"),
	} {
		if got := say.UnderRoot(root, name); got != want {
			t.Errorf("%s is %s from %s, want %s", name, got, root, want)
		}
	}
	if got := say.UnderRoot("", "a/b.json"); got != "a/b.json" {
		t.Errorf("without a root: %s", got)
	}
}

// TestTheCorrectedCopyInWords: what it has, what could not be written, and which readings have to be taken again.
func TestTheCorrectedCopyInWords(t *testing.T) {
	for _, c := range []struct {
		trial        outcome.Trial
		says, others []string
	}{
		{outcome.Trial{Folder: "copy"}, []string{"There is no change to write, so copy was not made."}, []string{"Left out", "measure again"}},
		{outcome.Trial{Folder: "copy", LeftOut: []string{"one"}}, []string{"No order can be written into these files, so copy was not made: what is to be done is done by hand.", "Left out: one."}, nil},
		{outcome.Trial{Folder: "copy", Changes: 1, Cleared: 1}, []string{"copy has 1 change.", "1 finding is gone"}, []string{"was not made", "measure again"}},
		{outcome.Trial{Folder: "copy", Changes: 2, Cleared: 3, LeftOut: []string{"one", "two"}, Stale: []string{"lectern"}}, []string{"copy has 2 changes.", "3 findings are gone", "Left out: one.", "Left out: two.", "1 reading was taken before these changes and is not in it: measure again lectern."}, nil},
		{outcome.Trial{Folder: "copy", Changes: 2, Stale: []string{"lectern", "drums"}}, []string{"2 readings were taken before these changes and are not in it: measure again lectern and drums."}, nil},
	} {
		r := small(0, 0)
		r.Shows[0].Tried = &c.trial
		assertSays(t, textOf(t, r, say.Options{All: true}), c.says, c.others)
		if got := string(written(t, jsonreport.Write, r)); !strings.Contains(got, `"folder": "copy"`) {
			t.Errorf("%+v is not in JSON", c.trial)
		}
	}
}

// TestWhatIsUnseenIsWritten: what turns or hides what stands around it is written by its number, in two, four or eight digits.
func TestWhatIsUnseenIsWritten(t *testing.T) {
	for text, want := range map[string]string{
		"a\x1bb": `a\x1bb`, "\u0085": `\x85`, "\u00ad": `\xad`, "ÿ": "ÿ", "\u061c": `\u061c`, "\u202e": `\u202e`, "\ufeff": `\ufeff`, "\U000e0001": `\U000e0001`, "𝄞 é": "𝄞 é", "plain": "plain",
	} {
		if got := say.Clean(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
