package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/summary"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/source"
)

// TestAcceptedThatCouldHurtIsSaidAlone: where nothing else is accepted, nothing else is counted.
func TestAcceptedThatCouldHurtIsSaidAlone(t *testing.T) {
	r := accepting(t)
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{"1 more finding accepted"}, nil)
	for i := range r.Shows[0].Findings {
		if f := &r.Shows[0].Findings[i]; f.Consequence != finding.Hurt {
			f.Accepted = nil
		}
	}
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{"Accepted, so not counted", "The electrician split the circuit"}, []string{"more finding"})
	for i := range r.Shows[0].Findings {
		r.Shows[0].Findings[i].Accepted = &finding.Acceptance{Reason: "So.", By: "director"}
		r.Shows[0].Findings[i].Consequence = finding.Later
	}
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{fmt.Sprintf("%d findings accepted", len(r.Shows[0].Findings))}, []string{"more finding"})
}

// TestManyThatAreWorseAreCounted: a dozen are told, and the others counted.
func TestManyThatAreWorseAreCounted(t *testing.T) {
	for n, want := range map[int]string{12: "", 13: "and 1 finding more", 15: "and 3 findings more"} {
		r := small(0, 0)
		for i := range n {
			r.Shows[0].Findings = append(r.Shows[0].Findings, finding.Finding{
				Rule: "a/b", Level: finding.Warning, Verdict: finding.Fail, Message: fmt.Sprintf("Message %d.", i+1), Base: finding.Worse,
				Amount: &finding.Amount{Value: 3, Unit: "lx"}, Before: &finding.Before{Amount: &finding.Amount{Value: 2, Unit: "lx"}},
			})
		}
		r.Base = &outcome.Base{Name: "earlier.json"}
		out := textOf(t, r, say.Options{All: true})
		if assertSays(t, out, []string{"Worse", "Message 12.", "was 2 lx, is 3 lx", want}, []string{"Message 13."}); strings.Contains(out, "see --format json") != (want != "") {
			t.Errorf("of %d, %q is not what is said", n, want)
		}
	}
}

// TestWhoseAimChanged: what else changed is said with what it is of, if it is of something.
func TestWhoseAimChanged(t *testing.T) {
	c := &outcome.Comparison{Looks: []outcome.LookChange{{OldCue: "1", NewCue: "1", Others: []outcome.OtherStep{{What: "aim", Of: "channel 7", Old: "lectern", New: "keys"}, {What: "words", New: "slow"}}}}}
	var out bytes.Buffer
	if err := text.Comparison(&out, c, say.Options{}); err != nil {
		t.Fatal(err)
	}
	assertSays(t, out.String(), []string{"channel 7: from lectern to keys", "words from"}, []string{": from none", ": from nothing", "aim from"})
}

// TestWhetherAllFits: who names the minutes is told that all changes fit, or which do not.
func TestWhetherAllFits(t *testing.T) {
	const fits, left = "All changes above fit into", "What stays undone in"
	for _, c := range []struct {
		minutes           float64
		orders            int
		undone            bool
		words, otherwords []string
	}{
		{0, 1, false, nil, []string{fits, left}},
		{20, 1, false, []string{fits + " 20 minutes."}, []string{left}},
		{1, 1, false, []string{fits + " 1 minute."}, []string{left}},
		{20, 0, false, nil, []string{fits, left}},
		{20, 1, true, []string{left + " 20 minutes", "Do this too."}, []string{fits}},
	} {
		r := small(c.orders, 0)
		r.Shows[0].Minutes = c.minutes
		if c.undone {
			r.Shows[0].Undone = []outcome.Order{{Do: "Do this too.", Consequence: finding.Camera}}
		}
		assertSays(t, textOf(t, r, say.Options{All: true}), c.words, c.otherwords)
	}
}

// TestWhatIfOfManyAlike: findings of one rule about one thing are one, about two things two.
func TestWhatIfOfManyAlike(t *testing.T) {
	about := func(message string, names ...string) finding.Finding {
		f := finding.Finding{Rule: "a/b", Message: message}
		for _, name := range names {
			f.Subjects = append(f.Subjects, finding.Subject{Kind: "place", Name: name})
		}
		return f
	}
	list := say.WhatIf(&outcome.WhatIf{Question: "it", Come: []finding.Finding{about("One", "lectern"), about("Two", "keys"), about("Three", "lectern"), about("Whole"), about("Whole too")}})
	said := strings.Join(list, "\n")
	for _, want := range []string{"One. (And 1 more like it.)", "Two.", "Whole. (And 1 more like it.)"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said: %s", want, said)
		}
	}
	if strings.Contains(said, "Three") || strings.Contains(said, "too") || strings.Contains(said, "Two. (") {
		t.Errorf("what is like another is said: %s", said)
	}
}

// TestAPlaceEndsBehindItsStart: for any two offsets of a text, also in the middle of a letter,
// and whichever comes first.
func TestAPlaceEndsBehindItsStart(t *testing.T) {
	file := &source.File{Name: "a.json", Text: "aü\r\n😀b\rc\n"}
	for start := -1; start <= len(file.Text)+1; start++ {
		for stop := -1; stop <= len(file.Text)+1; stop++ {
			span, ok := say.Span(source.Place{File: file, Start: start, Stop: stop})
			if a, b := span.Start, span.End; !ok || a.Line < 1 || a.Column < 1 || b.Line < a.Line || b.Line == a.Line && b.Column < a.Column {
				t.Errorf("%d to %d is %v", start, stop, span)
			}
		}
	}
	if span, _ := say.Span(source.Place{File: file, Start: 1, Stop: 6}); span.Start != (source.Position{Line: 1, Column: 2}) || span.End != (source.Position{Line: 2, Column: 2}) {
		t.Errorf("over two lines it is %v", span)
	}
	if _, ok := say.Span(source.Place{}); ok {
		t.Error("a place in no file is one")
	}
}

// TestWhatIsGoneFromNowhere: a finding that is gone, and was in no file, stands at the first
// character of the show.
func TestWhatIsGoneFromNowhere(t *testing.T) {
	r := sample(t)
	for _, show := range []outcome.Show{{Path: "evening"}, {Path: "evening", Files: r.Shows[0].Files}} {
		r.Shows = []outcome.Show{show}
		r.Base = &outcome.Base{Name: "earlier.sarif", Change: outcome.Change{Gone: []outcome.Past{compare.Of(&finding.Finding{Rule: "a/b", Message: "It was so."})}}}
		log := checkSARIF(t, officialSchema(t), r)
		if n := len(log.Runs[0].Results); n != 1 {
			t.Fatalf("%d results", n)
		}
		at := log.Runs[0].Results[0].Locations[0].PhysicalLocation
		if from := at.Region; from.StartLine != 1 || from.StartColumn != 1 || from.EndLine != 1 || from.EndColumn != 1 || !strings.HasPrefix(at.ArtifactLocation.URI, "evening") {
			t.Errorf("it stands at %v of %s", *from, at.ArtifactLocation.URI)
		}
	}
}

// TestAPageOfAChangeCountsWhatStays: each finding once, an open one as nothing that anybody accepted.
func TestAPageOfAChangeCountsWhatStays(t *testing.T) {
	accepted := &finding.Acceptance{Reason: "So.", By: "director"}
	r := small(0, 0)
	r.Shows[0].Findings = []finding.Finding{
		{Rule: "a/b", Verdict: finding.Open, Accepted: accepted}, {Rule: "a/b", Verdict: finding.Open}, {Rule: "a/b", Verdict: finding.Open},
		{Rule: "a/b", Verdict: finding.Fail, Accepted: accepted, Base: finding.Unchanged}, {Rule: "a/b", Verdict: finding.Fail, Accepted: accepted},
		{Rule: "a/b", Verdict: finding.Fail, Base: finding.Unchanged, Message: "As before."}, {Rule: "a/b", Verdict: finding.Fail, Base: finding.Better, Message: "Better."},
		{Rule: "a/b", Verdict: finding.Fail, Base: finding.Worse, Message: "Worse."}, {Rule: "a/b", Verdict: finding.Fail, Base: finding.New, Message: "New."},
	}
	page := func() string {
		var out bytes.Buffer
		if err := summary.Write(&out, r, say.Options{}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	assertSays(t, page(), []string{"### What is wrong (4)", "Beside that: 2 accepted, 3 that nobody could tell."}, []string{"as before or better"})
	r.Base = &outcome.Base{Name: "earlier.json"}
	assertSays(t, page(), []string{"### New (1)", "### Worse (1)", "Beside that: 2 as before or better, 2 accepted, 3 that nobody could tell."}, []string{"What is wrong", "As before."})
}

// TestAPageOfAChangeWarns: of a finding stands the caution of its own rule, and no line where that has none.
func TestAPageOfAChangeWarns(t *testing.T) {
	r := small(0, 0)
	r.Rules = []finding.Rule{{ID: "a/b", Caution: "Mind the ladder."}, {ID: "a/c"}, {ID: "a/d", Caution: "Mind the cable."}}
	for rule, want := range map[string]string{"a/b": "  - Caution: Mind the ladder.\n", "a/c": "", "a/e": ""} {
		r.Shows[0].Findings = []finding.Finding{{Rule: rule, Verdict: finding.Fail, Message: "So it is."}}
		var out bytes.Buffer
		if err := summary.Write(&out, r, say.Options{}); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); strings.Count(got, "Caution") != min(1, len(want)) || !strings.Contains(got, want) {
			t.Errorf("of %s is said\n%s", rule, got)
		}
	}
}

// TestReceipts: what was checked on one line, and how many orders were given where there were any.
func TestReceipts(t *testing.T) {
	if got := say.Receipt(&outcome.Show{}); got != "" {
		t.Errorf("of a report made by hand: %q", got)
	}
	for orders, want := range map[int]string{0: "1 file", 1: "1 file, 1 order given", 2: "1 file, 2 orders given"} {
		receipt := &outcome.Receipt{Number: "12-34", Day: "2026-12-31", Version: "1.2", Edition: 3, Rules: "abc", Verdict: outcome.Hold, Files: make([]outcome.Digest, 1), Orders: make([]string, orders)}
		want = "Receipt 12-34: " + string(outcome.Hold) + " on 2026-12-31, " + want + ", rules of edition 3 (abc), cueproof 1.2."
		if got := say.Receipt(&outcome.Show{Receipt: receipt}); got != want {
			t.Errorf("got  %q\nwant %q", got, want)
		}
	}
}

// TestHowARuleIsWorkedOut: what it is about is told where there is a subject or a fact, and what is missing where nobody
// could tell.
func TestHowARuleIsWorkedOut(t *testing.T) {
	lectern := []finding.Subject{{Kind: "place", Name: "lectern"}}
	facts := []finding.Evidence{{Name: "person.face_lx", Value: "120"}}
	for _, c := range []struct {
		about        string
		worked       outcome.RuleWork
		says, others []string
	}{
		{"nothing", outcome.RuleWork{None: []string{"a patch"}}, []string{"nothing in this show", "It would need a patch"}, []string{"The rule looked"}},
		{"looked at, and nobody could tell", outcome.RuleWork{Subjects: 2, Open: 2, Missing: []string{"a", "b"}}, []string{"looked 2 times: 0 are not as they should be, and of 2 nobody could tell", "this would help: a; b."}, []string{"Nearest", "Furthest"}},
		{"right", outcome.RuleWork{Subjects: 1, Names: lectern, Cue: "3", Message: "It is right."}, []string{"Nearest to the limit, and as it should be: ", "lectern", ", cue 3.", "It is right."}, []string{"Furthest", "would help"}},
		{"wrong", outcome.RuleWork{Subjects: 1, Fails: 1, Names: lectern, Wrong: true, Facts: facts}, []string{"Furthest from right: ", "lectern"}, []string{"Nearest", ", cue"}},
		{"a fact of the evening", outcome.RuleWork{Subjects: 1, Fails: 1, Wrong: true, Facts: facts}, []string{"Furthest from right: "}, nil},
	} {
		var out bytes.Buffer
		if err := text.Work(&out, &c.worked, say.Options{}); err != nil {
			t.Fatal(err)
		}
		t.Run(c.about, func(t *testing.T) { assertSays(t, out.String(), c.says, c.others) })
	}
}

// TestRulesThatAreOffAreCounted, and say where.
func TestRulesThatAreOffAreCounted(t *testing.T) {
	list := func(off ...string) string {
		rules := []text.RuleRow{{Rule: finding.Rule{ID: "a/b", Title: "One", Level: finding.Error}}, {Rule: finding.Rule{ID: "a/c", Title: "Two", Level: finding.Warning}}, {Rule: finding.Rule{ID: "b/c", Title: "Three", Level: finding.Warning}}}
		for i, where := range off {
			rules[i].Off = where
		}
		var out bytes.Buffer
		if err := text.List(&out, rules, nil, say.Options{}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	assertSays(t, list(), []string{"One (error, on)", "Three (warning, on)", "3 rules in 2 packs"}, []string{"off"})
	assertSays(t, list("", "house.yaml"), []string{"One (error, on)", "Two (warning, off: house.yaml)", "3 rules in 2 packs"}, nil)
}

// TestAlikeDecisionsAreOne on a screen, with how many there are.
func TestAlikeDecisionsAreOne(t *testing.T) {
	for n, want := range map[int]string{1: "", 2: " and 1 alike]", 4: " and 3 alike]"} {
		r := small(0, n)
		if out := textOf(t, r, say.Options{}); want != "" && !strings.Contains(out, want) || strings.Contains(out, "alike") != (want != "") {
			t.Errorf("of %d findings is said\n%s", n, out)
		}
	}
}
