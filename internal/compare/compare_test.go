package compare

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func anyFindings(t *rapid.T, label string) []finding.Finding {
	one := rapid.Custom(func(t *rapid.T) finding.Finding {
		f := finding.Finding{
			Rule:     rapid.SampledFrom([]string{"white/key-mix", "people/no-key", "file/syntax"}).Draw(t, "rule"),
			Level:    rapid.SampledFrom(finding.Levels).Draw(t, "level"),
			Verdict:  rapid.SampledFrom([]finding.Verdict{finding.Fail, finding.Open}).Draw(t, "verdict"),
			Subjects: []finding.Subject{{Kind: "channel", Name: fmt.Sprint(rapid.IntRange(1, 4).Draw(t, "channel"))}},
			Message:  rapid.StringN(0, 8, -1).Draw(t, "message"),
		}
		if rapid.Bool().Draw(t, "accepted") {
			f.Accepted = &finding.Acceptance{Reason: "seen"}
		}
		return f
	})
	return rapid.SliceOfN(one, 0, 30).Draw(t, label)
}

func marked(old, now []finding.Finding) (states []*finding.Finding, gone []outcome.Past) {
	var base []outcome.Past
	for i := range old {
		base = append(base, Of(&old[i]))
	}
	for i := range now {
		states = append(states, &now[i])
	}
	return states, Mark(base, states, nil)
}

func countState(list []*finding.Finding, state finding.BaseState) int {
	n := 0
	for _, f := range list {
		if f.Base == state {
			n++
		}
	}
	return n
}

func TestNothingIsNewAgainstItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := anyFindings(t, "list")
		now, gone := marked(list, slices.Clone(list))
		if len(gone) != 0 || countState(now, finding.New) != 0 || countState(now, finding.Unchanged) != len(list) {
			t.Fatalf("%d gone, %d new of %d", len(gone), countState(now, finding.New), len(list))
		}
		if c := Count(now, gone); c.New+c.Fixed+c.Untold != 0 {
			t.Fatal(c)
		}
	})
}

func TestEveryFindingIsSomewhereOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old, list := anyFindings(t, "old"), anyFindings(t, "now")
		now, gone := marked(old, list)
		if n := len(gone) + countState(now, finding.Unchanged); n != len(old) {
			t.Fatalf("gone and unchanged are %d of %d", n, len(old))
		}
		fresh := countState(now, finding.New) + countState(now, finding.Untold)
		if n := fresh + countState(now, finding.Unchanged); n != len(list) {
			t.Fatalf("new and unchanged are %d of %d", n, len(list))
		}
		// The other way round, new and gone change places.
		back, lost := marked(slices.Clone(list), slices.Clone(old))
		if countState(back, finding.New)+countState(back, finding.Untold) != len(gone) || len(lost) != fresh {
			t.Fatal("the other way round gives something else")
		}
	})
}

func TestWhatNobodyCanTellIsNotFixed(t *testing.T) {
	failure := finding.Finding{Rule: "white/key-camera", Level: finding.Error, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: "pulpit"}}}
	open := failure
	open.Verdict = finding.Open
	accepted := failure
	accepted.Accepted = &finding.Acceptance{}
	for _, tc := range []struct {
		name     string
		old, now []finding.Finding
		want     outcome.Counts
	}{
		{"fixed", []finding.Finding{failure}, nil, outcome.Counts{Fixed: 1}},
		{"open now", []finding.Finding{failure}, []finding.Finding{open}, outcome.Counts{Untold: 1}},
		{"told at last", []finding.Finding{open}, []finding.Finding{failure}, outcome.Counts{New: 1}},
		{"accepted now", []finding.Finding{failure}, []finding.Finding{accepted}, outcome.Counts{}},
		{"accepted then", []finding.Finding{accepted}, nil, outcome.Counts{}},
		{"one of twins", []finding.Finding{failure, failure}, []finding.Finding{failure}, outcome.Counts{Fixed: 1, Before: 1}},
		{"a twin more", []finding.Finding{failure}, []finding.Finding{failure, failure}, outcome.Counts{New: 1, Before: 1}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			now, gone := marked(tc.old, tc.now)
			if diff := cmp.Diff(tc.want, Count(now, gone)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// recognised is how many findings of now were there before, and how many are new.
type recognised struct {
	about         string
	old, now      []finding.Finding
	before, fresh int
}

func (c *recognised) check(t *testing.T) {
	t.Helper()
	now, gone := marked(c.old, c.now)
	if before, fresh := countState(now, finding.Unchanged), countState(now, finding.New); before != c.before || fresh != c.fresh || len(gone) != len(c.old)-before {
		t.Errorf("%s: %d as before, %d new, %d gone; want %d and %d", c.about, before, fresh, len(gone), c.before, c.fresh)
	}
}

func those(list ...finding.Finding) []finding.Finding { return list }

// TestTwoThingsInEachOthersWay: which of them a finding is about hangs on which stands first in a file.
func TestTwoThingsInEachOthersWay(t *testing.T) {
	clash := func(verdict finding.Verdict, detail string, channels ...string) finding.Finding {
		f := finding.Finding{Rule: "patch/address-overlap", Level: finding.Error, Verdict: verdict, Detail: detail}
		for _, name := range channels {
			f.With = append(f.With, finding.Subject{Kind: "channel", Name: name})
		}
		f.Subjects, f.With = f.With[:1:1], f.With[1:]
		return f
	}
	for _, c := range []recognised{
		{"the other way round", those(clash(finding.Fail, "", "1", "2")), those(clash(finding.Fail, "", "2", "1")), 1, 0},
		{"two of them", those(clash(finding.Fail, "a", "1", "2"), clash(finding.Fail, "b", "1", "2")), those(clash(finding.Fail, "a", "2", "1"), clash(finding.Fail, "b", "2", "1")), 2, 0},
		{"one more", those(clash(finding.Fail, "a", "1", "2")), those(clash(finding.Fail, "a", "2", "1"), clash(finding.Fail, "b", "2", "1")), 1, 1},
		{"with another", those(clash(finding.Fail, "", "1", "2")), those(clash(finding.Fail, "", "2", "3")), 0, 1},
		{"that nobody can tell", those(clash(finding.Fail, "", "1", "2")), those(clash(finding.Open, "", "2", "1")), 0, 1},
		{"of one alone", those(clash(finding.Fail, "", "1")), those(clash(finding.Fail, "", "2")), 0, 1},
	} {
		c.check(t)
	}
}

// TestConsequencesAreRead: each word is its own, and one that there is not is the mildest.
func TestConsequencesAreRead(t *testing.T) {
	for i, word := range finding.Consequences {
		if got := consequence(word); got != finding.Consequence(i) {
			t.Errorf("%s is read as %v", word, got)
		}
	}
	if got := consequence("doom"); got != finding.Later {
		t.Errorf("an unknown word is read as %v", got)
	}
}

func TestRead(t *testing.T) {
	print := strings.Repeat("0a", 16)
	sarif := func(driver, results string) string {
		return `{"version":"2.1.0","runs":[{"tool":{"driver":{"name":"` + driver + `"}},"results":[` + results + `]}]}`
	}
	result := func(more string) string {
		return `{"ruleId":"white/key-mix","level":"error","message":{"text":"One \\[two\\]: c:\\\\x.\nKey: F-1."},"partialFingerprints":{"cueproofFinding/v1":"` + print + `:1"}` + more + `}`
	}
	for _, tc := range []struct{ name, text, problem string }{
		{"nothing", ``, "no report"},
		{"no object", `[1]`, "no report"},
		{"a show", `{"patch": [], "version": 1}`, "no report"},
		{"another shape", `{"schema":"cueproof-findings-2"}`, `"cueproof-findings-2"`},
		{"a history", `{"schema":"cueproof-history-1"}`, "not a report"},
		{"another SARIF", `{"version":"2.0.0","runs":[]}`, `only 2.1.0`},
		{"another tool", sarif("other", result("")), "none of its runs"},
		{"no runs", `{"version":"2.1.0","runs":[]}`, "none of its runs"},
		{"no fingerprint", sarif("cueproof", `{"ruleId":"a/b","level":"error"}`), "no fingerprint"},
		{"a kind of its own", sarif("cueproof", result(`,"kind":"pass"`)), `"pass"`},
		{"a level of its own", sarif("cueproof", strings.Replace(result(""), "error", "fatal", 1)), `"fatal"`},
		{"broken", `{"schema":"cueproof-findings-1","shows":[{"findings":{}}]}`, "broken"},
		{"no rule", `{"schema":"cueproof-findings-1","shows":[{"findings":[{"fingerprint":"` + print + `","level":"error","verdict":"fail"}]}]}`, "names no rule"},
		{"no verdict", `{"schema":"cueproof-findings-1","shows":[{"findings":[{"fingerprint":"` + print + `","level":"error","rule":"a/b"}]}]}`, "verdict"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := Read([]byte(tc.text))
			if err == nil || !strings.Contains(err.Error(), tc.problem) {
				t.Errorf("%v, want %q", err, tc.problem)
			}
			if isNone := tc.problem == "no report"; errors.Is(err, ErrNoReport) != isNone {
				t.Errorf("whether it may be a show: %v", err)
			}
		})
	}
	base, err := Read([]byte(sarif("cueproof", result(`,"baselineState":"absent"`)+","+result(`,"suppressions":[{"kind":"external"}]`)+","+result(`,"suppressions":[{"kind":"external","status":"rejected"}]`))))
	if err != nil || len(base.Findings) != 2 || !base.Findings[0].Accepted || base.Findings[1].Accepted {
		t.Fatalf("%+v, %v", base, err)
	}
	if got := base.Findings[0].Message; got != `One [two]: c:\x.` {
		t.Errorf("message %q", got)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"version":"2.1.0","runs":[{"tool":{"driver":{"name":"cueproof"}},"results":[{"ruleId":"a/b","level":"note","partialFingerprints":{"cueproofFinding/v1":"00000000000000000000000000000000:1"},"locations":[{"physicalLocation":{"artifactLocation":{"uri":"a%20b"},"region":{"startLine":-1e300}}}]}]}]}`))
	f.Add([]byte(`{"schema":"cueproof-findings-1","shows":[{"findings":[{"fingerprint":"00000000000000000000000000000000","rule":"a/b","level":"error","verdict":"open","place":{"file":"x","line":1e99}}]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		base, err := Read(data)
		if err != nil {
			return
		}
		for _, past := range base.Findings {
			s := past.Span
			if past.File != "" && (s.Start.Line < 1 || s.Start.Column < 1 || s.End.Line < s.Start.Line || s.End.Line == s.Start.Line && s.End.Column < s.Start.Column) {
				t.Fatalf("a place that cannot be: %+v", s)
			}
			if past.Rule == "" || !fingerprintForm.MatchString(past.Fingerprint) {
				t.Fatalf("%+v", past)
			}
		}
	})
}

// TestWhatIsToldOfMinutes: they move with every change of a running time, so the cue tells them, where one alone of each
// side shows in it.
func TestWhatIsToldOfMinutes(t *testing.T) {
	in := func(minute, cue string, verdict finding.Verdict) finding.Finding {
		f := finding.Finding{Rule: "safety/flash-rate", Level: finding.Error, Verdict: verdict, Subjects: []finding.Subject{{Kind: "minute", Name: minute}}}
		if cue != "" {
			f.Cues = []string{cue, "9"}
		}
		return f
	}
	for _, c := range []recognised{
		{"later", those(in("3", "4", finding.Fail)), those(in("5", "4", finding.Fail)), 1, 0},
		{"in another cue", those(in("3", "4", finding.Fail)), those(in("5", "6", finding.Fail)), 0, 1},
		{"two of them then", those(in("3", "4", finding.Fail), in("4", "4", finding.Fail)), those(in("5", "4", finding.Fail)), 0, 1},
		{"two of them now", those(in("3", "4", finding.Fail)), those(in("5", "4", finding.Fail), in("6", "4", finding.Fail)), 0, 2},
		{"one of two where it was", those(in("3", "4", finding.Fail), in("4", "4", finding.Fail)), those(in("3", "4", finding.Fail), in("6", "4", finding.Fail)), 2, 0},
		{"of which nobody can tell", those(in("3", "4", finding.Fail)), those(in("5", "4", finding.Open)), 0, 1},
		{"in no cue", those(in("3", "", finding.Fail)), those(in("5", "", finding.Fail)), 0, 1},
	} {
		c.check(t)
	}
}

// TestWhatGotWorse: by more than the margin of the same fact, or in more of the cues that there were.
func TestWhatGotWorse(t *testing.T) {
	of := func(value float64, fact, unit string, cues ...string) finding.Finding {
		return finding.Finding{
			Rule: "people/key-low", Level: finding.Error, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: "lectern"}}, Cues: cues,
			Amount: &finding.Amount{Fact: fact, Unit: unit, Value: value, Worse: finding.More, Margin: 0.5},
		}
	}
	bare := of(2, "a", "lx")
	bare.Amount = nil
	cues := match.Things{"cue": {{Name: "1", Exact: 11}, {Name: "2", Exact: 22}, {Name: "3", Exact: 33}}}
	later := match.Things{"cue": {{Name: "1", Exact: 11}, {Name: "2.5", Exact: 22}, {Name: "3", Exact: 33}, {Name: "4", Exact: 44}}}
	for _, c := range []struct {
		about     string
		then, now finding.Finding
		want      finding.BaseState
		more      []string
	}{
		{"by less", of(2, "a", "lx"), of(2.4, "a", "lx"), finding.Unchanged, nil}, {"by more", of(2, "a", "lx"), of(2.6, "a", "lx"), finding.Worse, nil},
		{"less by more", of(2, "a", "lx"), of(1.4, "a", "lx"), finding.Better, nil}, {"less by less", of(2, "a", "lx"), of(1.6, "a", "lx"), finding.Unchanged, nil},
		{"of another fact", of(2, "a", "lx"), of(9, "b", "lx"), finding.Unchanged, nil}, {"in another unit", of(2, "a", "lx"), of(9, "a", "K"), finding.Unchanged, nil},
		{"that was not measured", bare, of(9, "a", "lx"), finding.Unchanged, nil}, {"that is not measured", of(2, "a", "lx"), bare, finding.Unchanged, nil}, {"that never was", bare, bare, finding.Unchanged, nil},
		{"in the same cues by other numbers", of(2, "a", "lx", "1", "2"), of(2, "a", "lx", "1", "2.5"), finding.Unchanged, nil},
		{"in one more", of(2, "a", "lx", "1"), of(2, "a", "lx", "1", "2.5"), finding.Worse, []string{"2.5"}},
		{"in one more, and by less", of(2, "a", "lx", "1"), of(1, "a", "lx", "1", "3"), finding.Worse, []string{"3"}},
		{"in a new one", of(2, "a", "lx", "1"), of(2, "a", "lx", "1", "4"), finding.Unchanged, nil}, {"in no cue before", of(2, "a", "lx"), of(2, "a", "lx", "1"), finding.Unchanged, nil},
	} {
		if Mark([]outcome.Past{Of(&c.then)}, []*finding.Finding{&c.now}, match.Pair(cues, later)); c.now.Base != c.want || c.now.Before == nil || !slices.Equal(c.now.Before.More, c.more) {
			t.Errorf("%s: %s, %+v; want %s", c.about, c.now.Base, c.now.Before, c.want)
		}
	}
}

// TestAmountsAreRead: the way in which they get worse is a word, and a margin is never below zero.
func TestAmountsAreRead(t *testing.T) {
	for _, c := range []struct {
		read *amount
		want *finding.Amount
	}{
		{nil, nil}, {&amount{Fact: "a", Worse: "sideways"}, nil}, {&amount{Fact: "a"}, nil},
		{&amount{Fact: "a", Unit: "lx", Worse: "more", Value: 2, Margin: 0.5}, &finding.Amount{Fact: "a", Unit: "lx", Worse: finding.More, Value: 2, Margin: 0.5}},
		{&amount{Fact: "a", Worse: "less", Value: -2, Margin: -0.5}, &finding.Amount{Fact: "a", Worse: finding.Less, Value: -2}},
	} {
		if diff := cmp.Diff(c.want, c.read.of()); diff != "" {
			t.Errorf("%+v: %s", c.read, diff)
		}
	}
}

// TestWhereAFindingWas: in lines and columns of its file, and no place that turns round.
func TestWhereAFindingWas(t *testing.T) {
	file := &source.File{Name: "show.json", Text: "one\ntwo\nthree"}
	at := func(line, column int) source.Position { return source.Position{Line: line, Column: column} }
	for _, c := range []struct {
		start, stop int
		from, to    source.Position
	}{{4, 7, at(2, 1), at(2, 4)}, {1, 9, at(1, 2), at(3, 2)}, {2, 5, at(1, 3), at(2, 2)}, {-3, 2, at(1, 1), at(1, 3)}, {6, 5, at(2, 3), at(2, 3)}} {
		past := Of(&finding.Finding{Place: source.Place{File: file, Start: c.start, Stop: c.stop}})
		if past.File != "show.json" || past.Span.Start != c.from || past.Span.End != c.to {
			t.Errorf("from %d to %d it is %s %+v", c.start, c.stop, past.File, past.Span)
		}
	}
	if past := Of(&finding.Finding{}); past.File != "" || past.Span != (source.Span{}) {
		t.Errorf("without a place it is %+v", past)
	}
}

// TestColoursThatChanged to four decimals, of lamps in both looks; those that change alike are told together.
func TestColoursThatChanged(t *testing.T) {
	of := func(list ...[2]float64) map[int]*facts.Lamp {
		lamps := map[int]*facts.Lamp{}
		for i, xy := range list {
			if lamps[i+1] = (&facts.Lamp{Channel: i + 1}); xy[0] > 0 {
				lamps[i+1].X, lamps[i+1].Y = &xy[0], &xy[1]
			}
		}
		return lamps
	}
	one, other := [2]float64{0.3, 0.3}, [2]float64{0.31, 0.3}
	then, now := of(one, one, one, one, one, [2]float64{}, one), of(other, other, one, [2]float64{0.30004, 0.29996}, [2]float64{0.3, 0.30006}, one, [2]float64{})
	then[8], now[9] = then[1], now[1]
	want := []outcome.ColourStep{{Channels: "1-2", Old: "xy 0.3000, 0.3000", New: "xy 0.3100, 0.3000"}, {Channels: "5", Old: "xy 0.3000, 0.3000", New: "xy 0.3000, 0.3001"}}
	if diff := cmp.Diff(want, colours(then, now)); diff != "" {
		t.Error(diff)
	}
}

// TestSpansOfAReport begin at the first line and column and never end before they begin.
func TestSpansOfAReport(t *testing.T) {
	for _, c := range []struct {
		given [4]float64
		want  [4]int
	}{
		{[4]float64{}, [4]int{1, 1, 1, 1}}, {[4]float64{3, 5, 3, 2}, [4]int{3, 5, 3, 5}}, {[4]float64{3, 5, 4, 2}, [4]int{3, 5, 4, 2}}, {[4]float64{3, 5, 2, 9}, [4]int{3, 5, 3, 9}},
		{[4]float64{1, 1, 1, 1}, [4]int{1, 1, 1, 1}}, {[4]float64{2.9, 1.9, 2.9, 3.9}, [4]int{2, 1, 2, 3}}, {[4]float64{-4, -4, 1e12, 7}, [4]int{1, 1, math.MaxInt32, 7}},
	} {
		s := span(c.given[0], c.given[1], c.given[2], c.given[3])
		if got := [4]int{s.Start.Line, s.Start.Column, s.End.Line, s.End.Column}; got != c.want {
			t.Errorf("%v: %v, not %v", c.given, got, c.want)
		}
	}
}
