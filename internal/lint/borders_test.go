package lint

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// TestARuleThatSawNothingIsBlind where the show should have given it something to see.
func TestARuleThatSawNothingIsBlind(t *testing.T) {
	whole := &schema.Show{Room: &schema.Room{}, Types: []*schema.Type{{}}, Patch: []*schema.Fixture{{}}, Cues: []*schema.Cue{{}}, Order: []*schema.Segment{{}}}
	bare := *whole
	bare.Order = nil
	looked := []finding.Tally{
		{Rule: "saw", Subjects: 2}, {Rule: "saw, and asks for more", Subjects: 1, None: []string{"screens"}},
		{Rule: "nothing there"}, {Rule: "nothing given", None: []string{"screens"}},
	}
	for _, c := range []struct {
		show *schema.Show
		want []string
	}{
		{whole, []string{"nothing given"}}, {&bare, []string{"nothing given", "nothing there"}}, {nil, []string{"nothing given", "nothing there"}},
	} {
		check := showCheck{show: c.show, told: outcome.Show{Looked: looked}}
		if got := slices.Sorted(maps.Keys(check.blind())); !slices.Equal(got, c.want) {
			t.Errorf("blind are %q, want %q", got, c.want)
		}
	}
}

// TestTellable: of a waiver nobody can say that it is not needed before its rule has looked
// at something in every show, and could tell.
func TestTellable(t *testing.T) {
	saw := showCheck{told: outcome.Show{Looked: []finding.Tally{{Rule: "white/key-mix", Subjects: 3}, {Rule: "people/no-key"}}}}
	none := showCheck{told: outcome.Show{Looked: []finding.Tally{{Rule: "white/key-mix"}}}}
	open := []finding.Finding{{Rule: "white/key-mix", Verdict: finding.Open}}
	fails := []finding.Finding{{Rule: "white/key-mix", Verdict: finding.Fail}, {Rule: "people/no-key", Verdict: finding.Open}}
	for _, c := range []struct {
		rule  string
		shows []showCheck
		found []finding.Finding
		want  bool
	}{
		{"white/key-mix", []showCheck{saw, saw}, nil, true},
		{"white/key-mix", []showCheck{saw, none}, nil, false},
		{"people/no-key", []showCheck{saw}, nil, false},
		{"people/dim-face", []showCheck{saw}, nil, false},
		{"white/key-mix", []showCheck{saw}, open, false},
		{"white/key-mix", []showCheck{saw}, fails, true},
		{"file/unused-file", []showCheck{none}, nil, true},
	} {
		if got := tellable(c.rule, c.shows, c.found); got != c.want {
			t.Errorf("%s in %d shows, with %v: %t", c.rule, len(c.shows), c.found, got)
		}
	}
}

// TestEveryNumberOfABuiltInTypeIsTold, also one that has no range.
func TestEveryNumberOfABuiltInTypeIsTold(t *testing.T) {
	told := TypicalTypes()
	for _, line := range []string{
		"  power_factor   1 (a filament is a plain resistance)\n",
		"  slots          1 (a filament is one circuit of a dimmer)\n",
	} {
		if strings.Count(told, line) != 6 { // as many types have a filament
			t.Errorf("%q is told %d times", line, strings.Count(told, line))
		}
	}
	if strings.Contains(told, "  (") {
		t.Error("a number is missing")
	}
}

// TestOnlyGuessedCuesAreReadOtherwise, behind one of which the show says it.
func TestOnlyGuessedCuesAreReadOtherwise(t *testing.T) {
	for _, guessed := range [][]string{nil, {"tracking"}} {
		_, loaded, _, err := Measure("../../testdata/shows/flawed", Options{Rules: rules.Own(), House: HouseOptions{None: true}})
		if err != nil {
			t.Fatal(err)
		}
		cues := loaded.Show.Cues
		for _, key := range guessed {
			cues[len(cues)-1].Known = schema.Known{key: {Word: "inferred"}}
		}
		o, err := readOtherwise(loaded.Show, rules.Own())
		if err != nil || (o != nil) != (len(guessed) > 0) {
			t.Errorf("with %q guessed: %v, %v", guessed, o, err)
		}
	}
}

// TestWhatNumbersRestOn: one thing that is assumed is told, of several how many there are and the first.
func TestWhatNumbersRestOn(t *testing.T) {
	one := inferred(purposes("key"))
	for sections, want := range map[string]string{
		purposes("key"): "", one: "these numbers rest on what is assumed or inferred: inferred purpose of channel 1; ",
		strings.Replace(one, `"cue": 1`, `"cue": 1, "known": {"in_s": "inferred"}, "in_s": 3`, 1): "2 things that these numbers rest on are assumed or inferred, such as inferred purpose of channel 1; ",
	} {
		_, _, rests, err := Measure(folder(t, map[string]string{"show.json": "{" + sections + "}"}), Options{Rules: rules.Own(), House: HouseOptions{None: true}})
		if told := strings.Join(rests, "; "); err != nil || !strings.HasPrefix(told, want) || want == "" && told != "" {
			t.Errorf("%s rests on %q, %v; want %q", sections, told, err, want)
		}
	}
}

// TestTheHeadOfOurTablesIsRead: the first line of every kind is within what is looked at.
func TestTheHeadOfOurTablesIsRead(t *testing.T) {
	for _, kind := range facts.KindNames() {
		if line := strings.Join(facts.WordsOf(kind), ",") + "\r\n"; len(line) > 4096 || !isOurTable(line) {
			t.Errorf("the first line of %s has %d bytes", kind, len(line))
		}
	}
}

// TestACopyOfWhatLiesElsewhereFails: nobody can say where a file is in the folder of its show, if one is told
// from the top of the disk and the other from where we are.
func TestACopyOfWhatLiesElsewhereFails(t *testing.T) {
	file := &source.File{Name: "cues.json"}
	elsewhere := &trial{folder: t.TempDir(), loaded: loaders.Result{Files: []*source.File{file}}, content: map[*source.File][]byte{file: []byte("[]")}}
	if err := elsewhere.copyTo(nil, nil); err == nil {
		t.Error("it is copied")
	}
}

// What tells two sets of rules apart is as short in every receipt: sixteen digits, other ones where a limit is another.
func TestTheDigestOfRules(t *testing.T) {
	own := rulesDigest(rules.Own())
	if !regexp.MustCompile(`^[0-9a-f]{16}$`).MatchString(own) || own != rulesDigest(rules.Own()) {
		t.Errorf("the digest is %q", own)
	}
}

// TestLessCanBeToldThanBefore: a show that was ready is no more where a rule has gone blind, and why is said.
func TestLessCanBeToldThanBefore(t *testing.T) {
	for _, c := range []struct {
		about   string
		verdict outcome.Readiness
		base    *outcome.Base
		want    string // because; "" where all stays
	}{
		{"no base", outcome.Ready, nil, ""},
		{"nothing lost", outcome.Ready, &outcome.Base{}, ""},
		{"one", outcome.Ready, &outcome.Base{Change: outcome.Change{Dark: []outcome.Dark{{Rule: "a/b", Why: "the patch is gone"}}}}, "1 rule can no longer tell what it could tell before. The patch is gone."},
		{"one of two things", outcome.Ready, &outcome.Base{Change: outcome.Change{Dark: []outcome.Dark{{Rule: "a/b", Why: "so"}, {Rule: "a/b", Why: "and so"}}}}, "1 rule can no longer tell what it could tell before. So."},
		{"two", outcome.Ready, &outcome.Base{Change: outcome.Change{Dark: []outcome.Dark{{Rule: "a/b", Why: "so"}, {Rule: "a/c", Why: "and so"}}}}, "2 rules can no longer tell what they could tell before. So."},
		{"it was not ready", outcome.Hold, &outcome.Base{Change: outcome.Change{Dark: []outcome.Dark{{Rule: "a/b", Why: "so"}}}}, ""},
	} {
		check := showCheck{told: outcome.Show{Verdict: c.verdict}}
		check.dark(c.base)
		verdict := c.verdict
		if c.want != "" {
			verdict = outcome.WithCare
		}
		if check.told.Because != c.want || check.told.Verdict != verdict {
			t.Errorf("%s: %s, because %q", c.about, check.told.Verdict, check.told.Because)
		}
	}
}

// TestWhatWasLostMakesDoubtful what comes behind it, but for what is about files and what could hurt somebody; a part of the
// evening that starts with a cue that nobody could read is doubtful too.
func TestWhatWasLostMakesDoubtful(t *testing.T) {
	for _, c := range []struct {
		rule, detail string
		cues         []string
		number, want bool
	}{
		{"people/dim-face", "", []string{"3"}, false, true}, {"people/dim-face", "", []string{"1"}, false, false}, {"people/dim-face", "", []string{"1", "3"}, false, false}, {"show/range", "", nil, false, false}, {"dynamics/flat", "", nil, false, true}, {"patch/patched-never-used", "", nil, false, true},
		{"safety/flash-rate", "", []string{"3"}, false, false}, {"file/unknown-name", "type", []string{"3"}, true, false}, {"file/unknown-name", "start_cue", nil, false, false},
		{"file/unknown-name", "start_cue", nil, true, true}, {"file/wrong-type", "start_cue", nil, true, false},
	} {
		found := []finding.Finding{{Rule: c.rule, Detail: c.detail, Cues: c.cues, Verdict: finding.Fail}}
		u := &unread{cue: "2", from: map[string]bool{"2": true, "3": true}, number: c.number}
		if u.hold(found); found[0].Likely != c.want {
			t.Errorf("%+v is doubtful: %t", c, found[0].Likely)
		}
	}
}

// TestAKeyOfAnEarlierRun is answered with that of today, as far as a finding or a history knows it.
func TestAKeyOfAnEarlierRun(t *testing.T) {
	of := func(channel, was string) finding.Finding {
		f := finding.Finding{Rule: "a/b", Subjects: []finding.Subject{{Kind: "channel", Name: channel}}}
		if was != "" {
			f.Before = &finding.Before{Key: was}
		}
		return f
	}
	one, two, three := of("1", ""), of("2", "F-OLD"), of("3", "F-ELSE")
	three.Before.Key = one.Key() // what was called as another is called by now
	r := &outcome.Report{Shows: []outcome.Show{
		{Findings: []finding.Finding{three, one}, Keys: map[string]string{"F-OLDER": "F-TODAY"}}, {Findings: []finding.Finding{two}},
	}}
	for key, want := range map[string]string{one.Key(): one.Key(), "F-OLD": two.Key(), "F-OLDER": "F-TODAY", "F-NONE": "F-NONE", three.Key(): three.Key()} {
		if got := KeyNow(r, key); got != want {
			t.Errorf("%s is %s now, not %s", key, got, want)
		}
	}
}

// TestWhichWhitesALampCanShow: none but its own, those of its range, or any where nobody says; lamps that are not meant
// and those of no known type do not matter.
func TestWhichWhitesALampCanShow(t *testing.T) {
	show := &schema.Show{
		Types: []*schema.Type{{Name: "one", Source: "tungsten"}, {Name: "range", Source: "tunable-led", WhiteRangeK: []float64{2700, 6500}}, {Name: "any", Source: "tunable-led"}},
		Patch: []*schema.Fixture{{Channel: 1, Type: "one"}, {Channel: 2, Type: "range"}, {Channel: 3, Type: "any"}, {Channel: 4, Type: "nobody's"}},
	}
	for _, c := range []struct {
		channels []int
		k        float64
		want     string
	}{
		{[]int{1}, 3200, "channel 1 has one white"}, {[]int{2, 1}, 3200, "channel 1 has one white"},
		{[]int{2}, 2699, "channel 2 goes from 2700 to 6500 K"}, {[]int{2}, 2700, ""}, {[]int{2}, 6500, ""}, {[]int{2}, 6501, "channel 2 goes from 2700 to 6500 K"},
		{[]int{3, 4}, 20000, ""}, {nil, 3200, ""}, {[]int{4, 2}, 20000, "channel 2 goes from 2700 to 6500 K"},
	} {
		err := canShow(show, c.channels, c.k)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.HasPrefix(err.Error(), c.want)) {
			t.Errorf("channels %v at %g K: %v, not %q", c.channels, c.k, err, c.want)
		}
	}
	for text, ok := range map[string]bool{"1500": true, "1499": false, "20000": true, "20001": false, "warm": false} {
		if _, err := kelvin(text); (err == nil) != ok {
			t.Errorf("%s K: %v", text, err)
		}
	}
}
