package compare_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/google/go-cmp/cmp"
)

// held is a show as another is held against it: so many cues, and a place of these keys.
func held(t *testing.T, cues int, place, meant string) *compare.State {
	t.Helper()
	var list []string
	for n := 1; n <= cues; n++ {
		word := ""
		if n == 1 {
			word = meant
		}
		list = append(list, fmt.Sprintf(`{"cue": %d, "name": "moment %d", %s"set": [{"channels": "%d", "level": %d}]}`, n, n, word, 1+n%4, 5+9*n))
	}
	text := fmt.Sprintf(`{"patch": [{"channel": 1}, {"channel": 2}, {"channel": 3}, {"channel": 4}], "room": {"places": [{"name": "lectern"%s}]}, "cues": [%s]}`, place, strings.Join(list, ", "))
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(text)})
	if err != nil || loaded.Unreadable {
		t.Fatal(err, loaded.Findings)
	}
	return &compare.State{Show: loaded.Show, Things: match.Of(loaded.Show, tracking.Resolve(loaded.Show)), Rules: []finding.Rule{{ID: "people/x", Limits: []finding.Limit{{Name: "least", Value: 3}}, Meant: []string{"black"}}}}
}

func about(kind, name string) []finding.Subject { return []finding.Subject{{Kind: kind, Name: name}} }

// TestListsThatLostAThird: from a third on, and more than one, cues that are gone are told,
// and what was found in them counts as untold, not as put right.
func TestListsThatLostAThird(t *testing.T) {
	for _, c := range []struct {
		was, is int
		lost    bool
	}{{6, 6, false}, {6, 5, false}, {6, 4, true}, {7, 5, false}, {7, 4, true}, {2, 1, false}} {
		then, now := held(t, c.was, "", ""), held(t, c.is, "", "")
		then.Findings = []*finding.Finding{{Rule: "people/x", Verdict: finding.Fail, Level: finding.Error, Subjects: about("cue", fmt.Sprint(c.was))}}
		change, _ := compare.Against(then, now)
		var want []string
		if c.lost {
			want = []string{fmt.Sprintf("%d of the %d cues are gone: see whether this is the whole of the right file. It is no measure for later runs.", c.was-c.is, c.was)}
		}
		if diff := cmp.Diff(want, change.Lost); diff != "" {
			t.Errorf("%d of %d cues: %s", c.is, c.was, diff)
		}
		if len(change.Gone) != 1 || change.Gone[0].Untold != c.lost {
			t.Errorf("%d of %d cues: what was found in the last is %+v", c.is, c.was, change.Gone)
		}
	}
}

// TestFilesThatEndEarly: a file that is the beginning of what it was lacks its end; one that
// lost a blank line, or is another, does not.
func TestFilesThatEndEarly(t *testing.T) {
	for _, c := range []struct{ was, is, lost string }{
		{"[a\nb\nc\n", "[a\n", "cues.json ends 2 lines earlier than it did, and is otherwise the same to the letter: see whether its end is missing."},
		{"[a\nb\n", "[a\n", "cues.json ends 1 line earlier than it did, and is otherwise the same to the letter: see whether its end is missing."},
		{"[a\n\n", "[a\n", ""}, {"[a\n", "[a\n", ""}, {"[a\nb\n", "[b\n", ""}, {"[a\n", "[a\nb\n", ""}, {"[a\n", "", ""},
	} {
		then, now := held(t, 7, "", ""), held(t, 6, "", "")
		then.Files, now.Files = []*source.File{{Name: "old/cues.json", Text: c.was}}, []*source.File{{Name: "new/cues.json", Text: c.is}}
		now.Show.ReadFrom["cues"] = source.Ref{File: now.Files[0]}
		change, _ := compare.Against(then, now)
		if got := strings.Join(change.Lost, " "); got != c.lost {
			t.Errorf("%q after %q: %q, not %q", c.is, c.was, got, c.lost)
		}
	}
}

// TestWhyItIsGone: what is found no more was put right only if the rule still looks, with the
// same limits, and nobody has said that it is meant.
func TestWhyItIsGone(t *testing.T) {
	const black = `"meant": ["black"], `
	for name, c := range map[string]struct {
		change func(now *compare.State)
		meant  string
		want   outcome.Why
	}{
		"put right":      {func(*compare.State) {}, "", ""},
		"switched off":   {func(now *compare.State) { now.Rules = nil }, "", outcome.SwitchedOff},
		"another limit":  {func(now *compare.State) { now.Rules[0].Limits = []finding.Limit{{Name: "least", Value: 4}} }, "", outcome.LimitChanged},
		"meant":          {func(*compare.State) {}, black, outcome.MeantNow},
		"meant for more": {func(now *compare.State) { now.Rules[0].Meant = []string{"sweep"} }, black, ""},
	} {
		then, now := held(t, 3, "", ""), held(t, 3, "", c.meant)
		then.Findings = []*finding.Finding{{Rule: "people/x", Verdict: finding.Fail, Level: finding.Error, Subjects: about("cue", "1")}}
		c.change(now)
		change, _ := compare.Against(then, now)
		if len(change.Gone) != 1 || change.Gone[0].Untold || change.Gone[0].Review != c.want {
			t.Errorf("%s: %+v", name, change.Gone)
		}
		if reviewed := slices.ContainsFunc(change.Review, func(r outcome.Review) bool { return r.What == "intent" && r.Text == "cue 1 means black now." }); reviewed != (c.meant != "") {
			t.Errorf("%s: to be looked at is %+v", name, change.Review)
		}
	}
}

// TestWhatNobodyCanTellAnyMore: a rule that could tell of a thing and cannot is told, with
// what it wants; so is a key that a thing gave.
func TestWhatNobodyCanTellAnyMore(t *testing.T) {
	for name, c := range map[string]struct {
		place  string
		change func(now *compare.State)
		want   string
	}{
		"told as before": {`, "head_m": 1.6`, func(now *compare.State) {
			now.Told = map[string]map[string][]finding.Subject{"people/x": {"place=lectern": about("place", "lectern")}}
		}, ""},
		"told as before, without a key": {"", func(now *compare.State) {
			now.Told = map[string]map[string][]finding.Subject{"people/x": {"place=lectern": about("place", "lectern")}}
		}, ""},
		"a key that is gone": {"", func(*compare.State) {}, "place lectern no longer gives head_m"},
		"an open question": {`, "head_m": 1.6`, func(now *compare.State) {
			now.Findings = []*finding.Finding{{Rule: "people/x", Verdict: finding.Open, Subjects: about("place", "lectern"), Missing: []string{"a camera", "a lamp"}}}
		}, "for want of a camera; a lamp"},
		"nothing to look at": {`, "head_m": 1.6`, func(now *compare.State) { now.None = map[string][]string{"people/x": {"people", "cues"}} }, "the show would have to give people; cues"},
		"switched off":       {"", func(now *compare.State) { now.Rules = nil }, ""},
	} {
		then, now := held(t, 3, `, "head_m": 1.6`, ""), held(t, 3, c.place, "")
		then.Told = map[string]map[string][]finding.Subject{"people/x": {"place=lectern": about("place", "lectern")}}
		c.change(now)
		change, _ := compare.Against(then, now)
		var want []outcome.Dark
		if c.want != "" {
			want = []outcome.Dark{{Rule: "people/x", About: []string{`place lectern`}, Why: c.want}}
		}
		if len(change.Dark) == 1 && len(want) == 1 {
			want[0].About = []string{about("place", "lectern")[0].String()}
		}
		if diff := cmp.Diff(want, change.Dark); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		if len(now.Findings) == 1 && now.Findings[0].Base != finding.Untold {
			t.Errorf("%s: the question counts as %q", name, now.Findings[0].Base)
		}
	}
}

// TestWhatAHouseSets: what is set now and was not, and what is set no more, is to be looked at.
func TestWhatAHouseSets(t *testing.T) {
	then, now := held(t, 3, "", ""), held(t, 3, "", "")
	both, gone, fresh := outcome.Review{What: "limit", Text: "both"}, outcome.Review{What: "waiver", Text: "it was."}, outcome.Review{What: "rule", Text: "it is."}
	then.House = map[string]outcome.Review{"a": both, "b": gone}
	now.House = map[string]outcome.Review{"a": both, "c": fresh}
	change, _ := compare.Against(then, now)
	if diff := cmp.Diff([]outcome.Review{fresh, {What: "waiver", Text: "No more: it was."}}, change.Review); diff != "" {
		t.Error(diff)
	}
}

// TestColumnsThatAreCalledOtherwise: where a show has words that nobody knows and had none, what the whole list gives no
// more is told once.
func TestColumnsThatAreCalledOtherwise(t *testing.T) {
	strange := func(rule string) []*finding.Finding {
		return []*finding.Finding{{Rule: rule, Verdict: finding.Open, Subjects: about("file", "patch.csv"), Detail: "Kreis"}}
	}
	for name, c := range map[string]struct {
		then, now []*finding.Finding
		keeps     bool
		want      string
	}{
		"a word that nobody knows": {nil, strange("file/unknown-column"), false, "nothing gives cues name any more"}, "a key": {nil, strange("file/unknown-key"), false, "nothing gives cues name any more"},
		"as before": {strange("file/unknown-key"), strange("file/unknown-key"), false, ""}, "nothing strange": {nil, nil, false, ""},
		"something else": {nil, strange("file/unused-file"), false, ""}, "all is there": {nil, strange("file/unknown-key"), true, ""},
	} {
		then, now := held(t, 3, "", ""), held(t, 3, "", "")
		if !c.keeps {
			for _, cue := range now.Show.Cues {
				cue.Name = ""
			}
		}
		then.Findings, now.Findings = c.then, c.now
		then.Told = map[string]map[string][]finding.Subject{"people/x": {"place=lectern": about("place", "lectern")}}
		change, _ := compare.Against(then, now)
		if len(change.Dark) != min(1, len(c.want)) || c.want != "" && change.Dark[0].Why != c.want {
			t.Errorf("%s: %+v, not %q", name, change.Dark, c.want)
		}
	}
}
