package live

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
)

func fail(rule, channel string, amount float64) finding.Finding {
	return finding.Finding{Rule: rule, Verdict: finding.Fail, Level: finding.Warning, Message: rule + " of channel " + channel, Subjects: []finding.Subject{{Kind: "fixture", Name: channel}},
		Amount: &finding.Amount{Fact: "lx", Value: amount, Worse: +1}}
}

func report(found ...finding.Finding) *outcome.Report {
	told := outcome.Show{Verdict: outcome.WithCare, Findings: found}
	for _, f := range found {
		told.Orders = append(told.Orders, outcome.Order{Do: "mend channel " + f.Subjects[0].Name, Cures: []string{f.Key()}})
		told.Looked = append(told.Looked, finding.Tally{Rule: f.Rule, Subjects: 9})
	}
	return &outcome.Report{Shows: []outcome.Show{told}}
}

func TestWhatChangedIsTold(t *testing.T) {
	then := report(fail("a/a", "1", 2), fail("a/a", "2", 2), fail("a/b", "3", 2))
	now := report(fail("a/a", "1", 9), fail("a/b", "4", 2))
	c := Between(then, now)
	if want := []string{"mend channel 2", "mend channel 3"}; !reflect.DeepEqual(c.Done, want) {
		t.Errorf("done are %q, want %q", c.Done, want)
	}
	if len(c.New) != 1 || c.New[0] != "a/b of channel 4" || len(c.Worse) != 1 || c.Worse[0] != "a/a of channel 1" {
		t.Errorf("new is %q and worse %q", c.New, c.Worse)
	}
	if text := strings.Join(c.Lines(1), "\n"); text != "Since the state before: 1 new, 1 worse, 2 fixed, 0 as before.\nDone: mend channel 2.\nDone: and 1 more.\nNew: a/b of channel 4.\nWorse: a/a of channel 1." {
		t.Errorf("it says\n%s", text)
	}
	for _, f := range now.Shows[0].Findings {
		if f.Base != "" {
			t.Errorf("comparing marks what others print: %v", f.Base)
		}
	}
	same := Between(then, then)
	if text := strings.Join(same.Lines(1), "\n"); text != "Saved, and nothing that is told has changed." {
		t.Errorf("of a state against itself it says %s", text)
	}
}

// TestWithNothingToLookAtNothingIsDone: a cue list that lost its half mends nothing.
func TestWithNothingToLookAtNothingIsDone(t *testing.T) {
	then, now := report(fail("a/a", "1", 2)), report()
	now.Shows[0].Looked = []finding.Tally{{Rule: "a/a"}}
	if c := Between(then, now); len(c.Done) != 0 || c.Counts.Fixed != 0 || c.Counts.Untold != 1 {
		t.Errorf("%+v", c)
	}
	now.Shows[0].Looked[0].Subjects = 3
	if c := Between(then, now); len(c.Done) != 1 || c.Counts.Fixed != 1 {
		t.Errorf("%+v", c)
	}
}

func TestTheLastGoodStateStays(t *testing.T) {
	half := report()
	half.Shows[0].Unreadable = true
	half.Shows[0].Findings = []finding.Finding{{Rule: "file/syntax", Level: finding.Error, Verdict: finding.Fail, Message: "the text ends too early"}}
	bad, good, better := report(fail("a/a", "1", 2)), report(fail("a/a", "1", 2)), report()
	better.Shows[0].Looked = good.Shows[0].Looked
	var answer *outcome.Report
	var problem error
	shows := []Show{{Path: "a", Check: func(string, func(*outcome.Report)) (*outcome.Report, error) { return answer, problem }}}
	s := &shows[0]
	for i, step := range []struct {
		r     *outcome.Report
		err   error
		good  *outcome.Report
		wrong string
	}{
		{half, nil, half, "the text ends too early."}, // better than nothing: it says what is wrong
		{bad, nil, bad, ""},
		{half, nil, bad, "the text ends too early."},
		{nil, errors.New("there is no show"), bad, "there is no show."},
		{better, nil, better, ""},
	} {
		answer, problem = step.r, step.err
		if err := Again(shows, []string{"a"}, nil); err != nil {
			t.Fatal(err)
		}
		if s.Good != step.good || !strings.HasPrefix(strings.Join(s.Wrong, " "), step.wrong) || (step.wrong == "") != (s.Wrong == nil) {
			t.Errorf("step %d: %+v, wrong is %q", i, s.Good, s.Wrong)
		}
	}
	if len(s.Change.Done) != 1 {
		t.Errorf("the change is from the last good state: %+v", s.Change)
	}
}

// TestWhyAStateIsNotLookedAt is told by three reasons at most, each with its place.
func TestWhyAStateIsNotLookedAt(t *testing.T) {
	for n, want := range map[int][]string{0: {"It is empty."}, 1: {"a."}, 3: {"a.", "b.", "c."}, 4: {"a.", "b.", "c."}} {
		r := report()
		r.Shows[0].Unreadable, r.Shows[0].Because = true, "It is empty"
		for _, message := range []string{"a", "b", "c", "d"}[:n] {
			r.Shows[0].Findings = append(r.Shows[0].Findings, finding.Finding{Rule: "file/syntax", Level: finding.Error, Verdict: finding.Fail, Message: message})
		}
		got := wrong(r)
		for i := range got {
			got[i], _, _ = strings.Cut(got[i], " (")
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("of %d it is %q, not %q", n, got, want)
		}
	}
}

// TestWhatWasFoundIsKnownSoon: the findings of now, while what to do is being worked out;
// and never of files that cannot be read.
func TestWhatWasFoundIsKnownSoon(t *testing.T) {
	good, better := report(fail("a/a", "1", 2)), report()
	better.Shows[0].Looked = good.Shows[0].Looked
	looks, checks := good, good
	check := func(_ string, early func(*outcome.Report)) (*outcome.Report, error) {
		early(looks)
		return checks, nil
	}
	shows := []Show{{Path: "a", Check: check}, {Path: "b", Check: func(string, func(*outcome.Report)) (*outcome.Report, error) { return good, nil }}}
	called := 0
	again := func(name string, soon func()) {
		t.Helper()
		if err := Again(shows, []string{name}, func() error { called++; soon(); return nil }); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"a", "b"} {
		again(name, func() {
			if s := &shows[0]; s.Soon != good || s.Good != nil || s.Change != nil {
				t.Errorf("of the first state it is %+v", s)
			}
		})
	}
	looks, checks = better, better
	again("a", func() {
		if s := &shows[0]; s.Soon != better || s.Good != good || len(s.Change.Done) != 1 {
			t.Errorf("soon it is %+v", s)
		}
	})
	if s := &shows[0]; called != 2 || s.Soon != nil || s.Good != better || len(s.Change.Done) != 1 || shows[1].Change != nil {
		t.Errorf("after %d calls it is %+v", called, s)
	}
	half := report()
	half.Shows[0].Unreadable = true
	looks, checks = half, half
	again("house.yaml", func() { t.Error("of half a file nothing is told soon") }) // theirs together
	if shows[0].Wrong == nil || shows[0].Good != better || shows[1].Change == nil {
		t.Errorf("%+v", shows)
	}
	shows[0].Check = func(string, func(*outcome.Report)) (*outcome.Report, error) { panic("ours") }
	if err := Again(shows, []string{"a"}, nil); err == nil {
		t.Error("a panic of ours is nothing")
	}
}
