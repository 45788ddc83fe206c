package waiver

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

const today = "2026-11-25"

func failing(rule string, subjects ...finding.Subject) finding.Finding {
	return finding.Finding{Rule: rule, Level: finding.Error, Verdict: finding.Fail, Subjects: subjects}
}

var (
	pulpit = finding.Subject{Kind: "place", Name: "pulpit"}
	talk   = finding.Subject{Kind: "segment", Name: "Talk  one"}
)

func TestCovers(t *testing.T) {
	found := failing("people/no-key", pulpit, talk)
	found.Detail = "left"
	for _, c := range []struct {
		what string
		w    Waiver
		want bool
	}{
		{"all its names", Waiver{Rule: "people/no-key", Subject: "place pulpit in segment Talk one"}, true},
		{"other blanks", Waiver{Rule: "people/no-key", Subject: " place  pulpit in\nsegment Talk one"}, true},
		{"one name", Waiver{Rule: "people/no-key", Subject: "place pulpit"}, true},
		{"the other name", Waiver{Rule: "people/no-key", Subject: "segment Talk one"}, true},
		{"its detail", Waiver{Rule: "people/no-key", Subject: "place pulpit", Detail: "left"}, true},
		{"another detail", Waiver{Rule: "people/no-key", Subject: "place pulpit", Detail: "right"}, false},
		{"another rule", Waiver{Rule: "people/no-back", Subject: "place pulpit"}, false},
		{"part of a name", Waiver{Rule: "people/no-key", Subject: "place pul"}, false},
		{"a name without its kind", Waiver{Rule: "people/no-key", Subject: "pulpit"}, false},
		{"no subject", Waiver{Rule: "people/no-key"}, false},
		{"that nobody could tell", Waiver{Rule: "people/no-key", Subject: "place pulpit", Verdict: finding.Open}, false},
	} {
		if c.w.Verdict == "" {
			c.w.Verdict = finding.Fail
		}
		if got := c.w.Covers(&found); got != c.want {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
	evening := failing("dynamics/always-full", finding.Subject{Kind: "show", Name: "Evening of 25 November"})
	for _, subject := range []string{"show", "show Evening of 25 November"} {
		if w := (Waiver{Rule: evening.Rule, Subject: subject, Verdict: finding.Fail}); !w.Covers(&evening) {
			t.Errorf("%q does not cover what is about the show", subject)
		}
	}
	if w := Of(&evening, "", "", ""); w.Subject != "show" {
		t.Errorf("a waiver about the show is written with its name: %q", w.Subject)
	}
	nothing := failing("a/b")
	if w := Of(&nothing, "", "", ""); w.Subject == "" || !w.Covers(&nothing) {
		t.Errorf("what is about nothing in particular is not recognised by %+v", w)
	}
}

func TestWhatAWaiverNeedsToHold(t *testing.T) {
	whole := Waiver{Rule: "a/b", Subject: "place pulpit", Verdict: finding.Fail, Reason: "why", By: "lead", Until: today}
	change := func(f func(*Waiver)) Waiver { w := whole; f(&w); return w }
	for _, c := range []struct {
		what     string
		w        Waiver
		accepted bool
		problems []string
	}{
		{"all there, on its last day", whole, true, []string{"file/waiver-ending"}},
		{"without end", change(func(w *Waiver) { w.Until = "" }), true, []string{"file/waiver-endless"}},
		{"without end on purpose", change(func(w *Waiver) { w.Until = Never }), true, nil},
		{"with 15 days left", change(func(w *Waiver) { w.Until = "2026-12-10" }), true, nil},
		{"with 14 days left", change(func(w *Waiver) { w.Until = "2026-12-09" }), true, []string{"file/waiver-ending"}},
		{"the day after", change(func(w *Waiver) { w.Until = "2026-11-24" }), false, []string{"file/waiver-expired"}},
		{"without a reason", change(func(w *Waiver) { w.Reason = " " }), false, []string{"file/waiver-incomplete"}},
		{"without a name", change(func(w *Waiver) { w.By = "" }), false, []string{"file/waiver-incomplete"}},
		{"without anything, and over", change(func(w *Waiver) { w.By, w.Reason, w.Until = "", "", "2020-01-01" }), false, []string{"file/waiver-incomplete", "file/waiver-expired"}},
		{"of another place", change(func(w *Waiver) { w.Subject = "place pulpits" }), false, []string{"file/waiver-unmatched"}},
		{"of nothing, and over", change(func(w *Waiver) { w.Subject, w.Until = "cue 1", "2020-01-01" }), false, []string{"file/waiver-expired"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			found := []finding.Finding{failing("a/b", pulpit, talk)}
			list := []Waiver{c.w}
			covers := Apply(list, nil, found, today)
			if got := found[0].Accepted != nil; got != c.accepted {
				t.Errorf("accepted: %v", got)
			}
			var ids []string
			for _, f := range Problems(list, covers, found, today) {
				ids = append(ids, f.Rule)
			}
			if diff := cmp.Diff(c.problems, ids); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestTheFirstWaiverThatHoldsCounts(t *testing.T) {
	found := []finding.Finding{failing("a/b", pulpit)}
	covers := Apply([]Waiver{
		{Rule: "a/b", Subject: "place pulpit", Verdict: finding.Fail, Reason: "old", By: "x", Until: "2020-01-01"},
		{Rule: "a/b", Subject: "place pulpit", Verdict: finding.Fail, Reason: "first", By: "x"},
		{Rule: "a/b", Subject: "place pulpit", Verdict: finding.Fail, Reason: "second", By: "x"},
	}, nil, found, today)
	if found[0].Accepted == nil || found[0].Accepted.Reason != "first" || slices.ContainsFunc(covers, func(u Use) bool { return !u.Covers }) {
		t.Errorf("%+v, covers %v", found[0].Accepted, covers)
	}
}

func TestWhatWasMeant(t *testing.T) {
	found := []finding.Finding{failing("a/b", pulpit), failing("c/d", finding.Subject{Kind: "place", Name: "pulpitt"})}
	found[0].Verdict = finding.Open
	for subject, want := range map[string]string{
		"place pulpitt":                      `Did you mean "place pulpit"?`,
		"place pulpit":                       `It is for the verdict "fail" and the finding is "open".`,
		"cue 14":                             "covers nothing that was found.",
		strings.Repeat("place pulpit", 1000): "covers nothing that was found.",
	} {
		list := []Waiver{{Rule: "a/b", Subject: subject, Verdict: finding.Fail, Reason: "x", By: "y"}}
		problems := Problems(list, Apply(list, nil, found, today), found, today)
		if len(problems) != 1 || !strings.HasSuffix(problems[0].Message, want) {
			t.Errorf("%.20s: %+v", subject, problems)
		}
	}
}

// drawFinding makes findings of a few rules about a few things.
func drawFinding(t *rapid.T) finding.Finding {
	f := failing(rapid.SampledFrom([]string{"a/b", "a/c", "file/x"}).Draw(t, "rule"))
	for range rapid.IntRange(0, 3).Draw(t, "subjects") {
		f.Subjects = append(f.Subjects, finding.Subject{
			Kind: rapid.SampledFrom([]string{"cue", "place", "show"}).Draw(t, "kind"),
			Name: rapid.SampledFrom([]string{"1", "2", "a in cue 1", " x "}).Draw(t, "name"),
		})
	}
	f.Detail = rapid.SampledFrom([]string{"", "d", "e"}).Draw(t, "detail")
	f.Verdict = rapid.SampledFrom([]finding.Verdict{finding.Fail, finding.Open}).Draw(t, "verdict")
	return f
}

// A waiver only removes: findings stay in number, order and content, fewer or as
// many are left to count, and what one waiver accepts another does not bring back.
func TestAWaiverOnlyRemoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var found []finding.Finding
		for range rapid.IntRange(0, 8).Draw(t, "findings") {
			found = append(found, drawFinding(t))
		}
		var list []Waiver
		for range rapid.IntRange(0, 6).Draw(t, "waivers") {
			of := drawFinding(t)
			w := Of(&of, rapid.SampledFrom([]string{"", "why"}).Draw(t, "reason"), rapid.SampledFrom([]string{"", "who"}).Draw(t, "by"),
				rapid.SampledFrom([]string{"", "2026-11-24", today, "2027-01-01"}).Draw(t, "until"))
			list = append(list, w)
		}
		fewer, more := slices.Clone(found), slices.Clone(found)
		Apply(list[:len(list)/2], nil, fewer, today)
		covers := Apply(list, nil, more, today)
		for i := range found {
			if fewer[i].Accepted != nil && more[i].Accepted == nil {
				t.Errorf("%v is accepted by some waivers and not by more", found[i])
			}
			bare := more[i]
			bare.Accepted = nil
			if diff := cmp.Diff(found[i], bare, cmpopts.EquateComparable(source.Ref{})); diff != "" {
				t.Errorf("a finding changed:\n%s", diff)
			}
			if a := more[i].Accepted; a != nil && (a.Reason == "" || a.By == "" || a.Until != "" && a.Until < today) {
				t.Errorf("accepted by %+v", a)
			}
		}
		for i, f := range found { // the waiver made of a finding covers it, and nothing of another rule or verdict
			w := Of(&f, "why", "who", "")
			if !w.Covers(&f) {
				t.Errorf("%+v does not cover %+v", w, f)
			}
			for _, other := range found {
				if w.Covers(&other) && (other.Rule != f.Rule || other.Verdict != f.Verdict) {
					t.Errorf("the waiver of %d covers %+v", i, other)
				}
			}
		}
		for _, problem := range Problems(list, covers, more, today) {
			if !strings.HasPrefix(problem.Rule, "file/waiver-") || problem.Message == "" || problem.Hint == "" || problem.Accepted != nil {
				t.Errorf("%+v", problem)
			}
		}
	})
}

func TestNobodyMayAcceptWhatIsBinding(t *testing.T) {
	found := []finding.Finding{failing("people/no-key", pulpit, talk)}
	found[0].Binding = true
	list := []Waiver{Of(&found[0], "they like it", "stage manager", "")}
	covers := Apply(list, nil, found, today)
	if found[0].Accepted != nil {
		t.Error("it is accepted")
	}
	problems := Problems(list, covers, found, today)
	if len(problems) != 1 || problems[0].Rule != "file/waiver-refused" || problems[0].Level != finding.Warning {
		t.Errorf("said of the waiver is %+v", problems)
	}
}

// What was accepted is a value: as bad as that, worse by no more than the margin of the
// rule, or better is covered, and what is worse than that is not.
func TestAWaiverCoversUpToItsValue(t *testing.T) {
	loud := func(value float64) []finding.Finding {
		f := failing("a/b", pulpit)
		f.Amount = &finding.Amount{Fact: "x", Value: value, Unit: "stops", Worse: finding.More, Margin: 0.3}
		return []finding.Finding{f}
	}
	w := Of(&loud(1.2345678)[0], "why", "lead", Never)
	if w.Value == nil || *w.Value != 1.23457 {
		t.Fatalf("the value of the waiver is %v, want six digits of it", w.Value)
	}
	*w.Value = 1
	for _, c := range []struct {
		value    float64
		accepted bool
	}{{0.2, true}, {1, true}, {1.3, true}, {1.301, false}, {2, false}} {
		found := loud(c.value)
		uses := Apply([]Waiver{w}, nil, found, today)
		problems := Problems([]Waiver{w}, uses, found, today)
		if got := found[0].Accepted != nil; got != c.accepted || !uses[0].Covers || (len(problems) == 0) != c.accepted {
			t.Errorf("%g against an accepted 1: accepted %v, want %v; %v", c.value, got, c.accepted, problems)
		}
	}
	dim := loud(0.5)
	dim[0].Amount.Worse = finding.Less
	if Apply([]Waiver{w}, nil, dim, today); dim[0].Accepted != nil {
		t.Error("less is worse, and much less than what was accepted is covered")
	}
	if w.Value = nil; true {
		found := loud(100)
		if Apply([]Waiver{w}, nil, found, today); found[0].Accepted == nil {
			t.Error("a waiver that names no value covers none")
		}
	}
	more := Of(&loud(5)[0], "more", "lead", Never)
	less := Of(&loud(1)[0], "less", "lead", Never)
	found, list := loud(5), []Waiver{less, more}
	uses := Apply(list, nil, found, today)
	if found[0].Accepted == nil || found[0].Accepted.Reason != "more" || len(Problems(list, uses, found, today)) > 0 {
		t.Errorf("of two waivers the one that accepts as much does not count: %+v", found[0].Accepted)
	}
}

// A waiver goes with its thing, and lets go of its name.
func TestAWaiverGoesWithItsThing(t *testing.T) {
	cue := func(n string) finding.Subject { return finding.Subject{Kind: "cue", Name: n} }
	w := Waiver{Rule: "a/b", Subject: "cue 5", Verdict: finding.Fail, Reason: "why", By: "lead", Until: Never}
	moved := []Target{{Known: true, Whole: true, About: []finding.Subject{cue("50")}}}
	found := []finding.Finding{failing("a/b", cue("5")), failing("a/b", cue("50"))}
	uses := Apply([]Waiver{w}, moved, found, today)
	if found[0].Accepted != nil {
		t.Error("it covers what has the old number today")
	}
	if a := found[1].Accepted; a == nil || a.WrittenFor != "cue 5" || a.Waiver != w.ID() {
		t.Errorf("it does not go with its cue: %+v", found[1].Accepted)
	}
	if p := Problems([]Waiver{w}, uses, found, today); len(p) > 0 || !strings.Contains(w.Renamed(&uses[0]), "what is called cue 50 by now") {
		t.Errorf("%v, %q", p, w.Renamed(&uses[0]))
	}
	gone := []Target{{Known: true}}
	found = found[:1]
	if uses = Apply([]Waiver{w}, gone, found, today); found[0].Accepted != nil {
		t.Error("its cue is no more, and it covers another")
	}
	if p := Problems([]Waiver{w}, uses, found, today); len(p) != 1 || p[0].Rule != "file/waiver-unmatched" {
		t.Errorf("%v", p)
	}
	if c := w.About(&found[0]); !c.Known || !c.Whole || c.Subject() != "cue 5" {
		t.Errorf("%+v", c)
	}
}

// Two things in each other's way are a pair without an order.
func TestAClashHasNoFirst(t *testing.T) {
	channel := func(n string) finding.Subject { return finding.Subject{Kind: "channel", Name: n} }
	f := failing("patch/address-overlap", channel("7"))
	f.With = []finding.Subject{channel("3")}
	for _, subject := range []string{"channel 7", "channel 3"} {
		if w := (Waiver{Rule: f.Rule, Subject: subject, Verdict: finding.Fail}); !w.Covers(&f) {
			t.Errorf("a waiver for %s does not cover it", subject)
		}
	}
	if w := (Waiver{Rule: f.Rule, Subject: "channel 4", Verdict: finding.Fail}); w.Covers(&f) {
		t.Error("a waiver of another channel covers it")
	}
}

// However many waivers have no last day, one finding asks for them.
func TestOneNoteForAllWithoutAnEnd(t *testing.T) {
	found := []finding.Finding{failing("a/b", pulpit), failing("a/b", talk)}
	var list []Waiver
	for i := range found {
		list = append(list, Of(&found[i], "why", "lead", ""))
	}
	problems := Problems(list, Apply(list, nil, found, today), found, today)
	if len(problems) != 1 || problems[0].Rule != "file/waiver-endless" || !strings.HasPrefix(problems[0].Message, "2 waivers have no last day") {
		t.Errorf("%v", problems)
	}
}

// Two waivers are one decision where all is the same but where it stands in a file.
func TestOneDecision(t *testing.T) {
	w := func(change func(w *Waiver)) Waiver {
		one := Waiver{Rule: "a/b", Subject: "place pulpit", Reason: "So.", By: "director", Until: "2026-12-31", Value: new(2.5)}
		change(&one)
		return one
	}
	base := w(func(*Waiver) {})
	for about, c := range map[string]struct {
		other Waiver
		want  bool
	}{
		"the same":         {w(func(w *Waiver) { w.Value = new(2.5) }), true},
		"elsewhere":        {w(func(w *Waiver) { w.Place.Start, w.UntilPlace.Stop = 7, 9 }), true},
		"another value":    {w(func(w *Waiver) { w.Value = new(2.6) }), false},
		"no value":         {w(func(w *Waiver) { w.Value = nil }), false},
		"another rule":     {w(func(w *Waiver) { w.Rule = "a/c" }), false},
		"another last day": {w(func(w *Waiver) { w.Until = "2027-01-01" }), false},
		"somebody else":    {w(func(w *Waiver) { w.By = "pastor" }), false},
	} {
		if base.Same(c.other) != c.want || c.other.Same(base) != c.want {
			t.Errorf("%s is one decision: %v", about, !c.want)
		}
	}
}

// A waiver of so many days holds to the end of the last of them.
func TestWhenAWaiverEnds(t *testing.T) {
	for days, want := range map[int]string{0: "2026-12-30", 1: "2026-12-31", 2: "2027-01-01", 60: "2027-02-28", 61: "2027-03-01"} {
		if got, err := Ends("2026-12-30", days); err != nil || got != want {
			t.Errorf("%d days from 2026-12-30 it ends on %s, want %s (%v)", days, got, want, err)
		}
		if left, ok := (&Waiver{Until: want}).left("2026-12-30"); !ok || left != days {
			t.Errorf("to %s are left %d days, %v", want, left, ok)
		}
	}
	if _, err := Ends("tomorrow", 3); err == nil {
		t.Error("tomorrow is a day")
	}
	if _, ok := (&Waiver{Until: Never}).left("2026-12-30"); ok {
		t.Error("what has no end has days left")
	}
}

// What became of a waiver in several lists: it covers what it covers in one of them, and the first that outgrew it or knows what it is
// about counts.
func TestUsesInSeveralLists(t *testing.T) {
	grown, more := &finding.Amount{Value: 3}, &finding.Amount{Value: 4}
	known := Target{Known: true, Whole: true}
	got := Join(Join(nil, []Use{{}, {Covers: true}, {Outgrown: grown, Carried: known}, {}}), []Use{{Covers: true, Carried: known}, {}, {Outgrown: more, Carried: Target{Known: true}}, {}})
	want := []Use{{Covers: true, Carried: known}, {Covers: true}, {Outgrown: grown, Carried: known}, {}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := Join(nil, nil); len(got) != 0 {
		t.Errorf("of nothing: %+v", got)
	}
}

// What is known of a waiver by now is one of the things of a finding, or all of them; whatever its show is called.
func TestWhatIsCoveredByNow(t *testing.T) {
	pulpit, song, hall := finding.Subject{Kind: "place", Name: "pulpit"}, finding.Subject{Kind: "segment", Name: "Song"}, finding.Subject{Kind: "show", Name: "Hall"}
	f := finding.Finding{Subjects: []finding.Subject{pulpit, song}, With: []finding.Subject{{Kind: "place", Name: "desk"}}}
	for about, c := range map[string]struct {
		target Target
		f      finding.Finding
		want   bool
	}{
		"nothing":                 {Target{Known: true}, f, false},
		"one of them":             {Target{Known: true, About: []finding.Subject{song}}, f, true},
		"the other side":          {Target{Known: true, About: []finding.Subject{{Kind: "place", Name: "desk"}}}, f, true},
		"another":                 {Target{Known: true, About: []finding.Subject{{Kind: "place", Name: "drums"}}}, f, false},
		"all of them":             {Target{Known: true, Whole: true, About: []finding.Subject{pulpit, song}}, f, true},
		"one, and all is meant":   {Target{Known: true, Whole: true, About: []finding.Subject{pulpit}}, f, false},
		"all from the other":      {Target{Known: true, Whole: true, About: []finding.Subject{{Kind: "place", Name: "desk"}, song}}, f, true},
		"a show, as it is called": {Target{Known: true, About: []finding.Subject{{Kind: "show", Name: "Last week"}}}, finding.Finding{Subjects: []finding.Subject{hall}}, true},
	} {
		if got := c.target.covers(&c.f); got != c.want {
			t.Errorf("%s is covered: %v", about, got)
		}
	}
}
