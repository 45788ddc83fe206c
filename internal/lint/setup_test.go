package lint

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/go-cmp/cmp"
)

// TestWhatIsSaidOfFilesIsASentence; a name of a file or of a key stays as it is written.
func TestWhatIsSaidOfFilesIsASentence(t *testing.T) {
	for text, want := range map[string]string{"the file ends": "The file ends", "show.json ends": "show.json ends", "in_s is none": "in_s is none", "Ready": "Ready", "": "", "ends": "Ends", " ends": " ends"} {
		found := []finding.Finding{{Message: text, Hint: text}}
		if asSentences(found); found[0].Message != want || found[0].Hint != want {
			t.Errorf("%q becomes %q and %q", text, found[0].Message, found[0].Hint)
		}
	}
}

// TestWhatIsSaidOfExports: what is said for a run comes before what the house says; of where a plan lies the one or the
// other says all.
func TestWhatIsSaidOfExports(t *testing.T) {
	origin, other, turn := [3]float64{1, 2, 3}, [3]float64{4, 5, 6}, 90.0
	house := &house.House{Unlisted: "keep", Origin: &other, TurnDeg: &turn}
	for _, c := range []struct {
		about    string
		said     Exports
		unlisted string
		origin   [3]float64
		turn     float64
	}{
		{"nothing", Exports{}, "keep", other, 90}, {"what is not listed", Exports{Unlisted: "off"}, "off", other, 90},
		{"where it lies", Exports{Origin: &origin}, "keep", origin, 0}, {"how it is turned", Exports{TurnDeg: &turn}, "keep", [3]float64{}, 90},
	} {
		got := c.said.over(house)
		if at, turned := got.mapping(); got.Unlisted != c.unlisted || at != c.origin || turned == nil || *turned != c.turn {
			t.Errorf("%s: %q, %v, %v", c.about, got.Unlisted, at, turned)
		}
		if at, turned := c.said.over(nil).mapping(); (turned == nil) != (c.said.Origin == nil && c.said.TurnDeg == nil) || c.said.Origin != nil && at != origin {
			t.Errorf("%s, without a house: %v, %v", c.about, at, turned)
		}
	}
}

// TestSettingsOfARule: each says what it is and where that comes from.
func TestSettingsOfARule(t *testing.T) {
	setting := func(text string) []Setting {
		t.Helper()
		folder := written(t, map[string]string{"house.yaml": text, "show.json": `{"patch": []}`})
		s, err := SetUp(filepath.Join(folder, "show.json"), Options{Rules: everyRule(t), House: HouseOptions{File: filepath.Join(folder, "house.yaml"), Today: day}})
		if err != nil {
			t.Fatal(err)
		}
		white, _ := s.All.Find("white/rendering")
		return append(s.Settings(white), s.Said()...)
	}
	words := func(list []Setting) (said []string) {
		for _, s := range list {
			from := s.From
			if at := strings.LastIndexByte(from, '/'); at >= 0 && s.Changed {
				from = from[at+1:]
			}
			said = append(said, fmt.Sprintf("%s | %s | %t", s.What, from, s.Changed))
		}
		return said
	}
	const itself = " | the rule itself | false"
	plain := []string{"on" + itself, "level warning" + itself, "least_share: 0.25" + itself, "min_tlci: 85" + itself, "min_cri: 90" + itself}
	if diff := cmp.Diff(plain, words(setting("note: ours\n"))); diff != "" {
		t.Error(diff)
	}
	got := words(setting("limits:\n  white/rendering:\n    min_cri: 92\nrules:\n  white/rendering: off\nlevels:\n  white/rendering: note\nunlisted: off\norigin: [1, 2.5, 0]\nturn_deg: 90\n"))
	want := []string{
		"off | house.yaml, line 5 | true", "level note | house.yaml, line 7 (warning in the rule) | true", plain[2], plain[3], "min_cri: 92 | house.yaml, line 3 (90 in the rule) | true",
		"unlisted: off | house.yaml, line 8 | true", "origin: 1, 2.5, 0 m | house.yaml, line 9 | true", "turn_deg: 90 degrees | house.yaml, line 10 | true",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestATableIsMapped says what is no table.
func TestATableIsMapped(t *testing.T) {
	folder := written(t, map[string]string{"patch.csv": "Kreis,Address\n1,1.1\n2,1.2\n"})
	if text, err := MapColumns(filepath.Join(folder, "patch.csv")); err != nil || !strings.Contains(text, "Kreis") {
		t.Errorf("%q, %v", text, err)
	}
	for name, want := range map[string]string{folder: "is not a table", filepath.Join(folder, "none.csv"): "cannot be opened"} {
		if _, err := MapColumns(name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, not %q", name, err, want)
		}
	}
}

// TestAShowIsHeldAgainstItsReceipt: file by file, by what is in them.
func TestAShowIsHeldAgainstItsReceipt(t *testing.T) {
	const patch, cues = `[{"channel": 1, "address": "1.1"}]`, `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}]`
	sum := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return hex.EncodeToString(sum[:])
	}
	set := &rules.Set{}
	receipt := func(rules string, files ...string) string {
		var list []string
		for i := 0; i < len(files); i += 2 {
			list = append(list, fmt.Sprintf(`{"name": %q, "sha256": %q}`, files[i], sum(files[i+1])))
		}
		return fmt.Sprintf(`{"schema": "cueproof-findings-1", "shows": [{"path": "show", "receipt": {"number": "R-1", "day": "2026-03-01", "version": "1", "rules": %q, "verdict": "READY", "orders": ["one"], "files": [%s]}}]}`, rules, strings.Join(list, ", "))
	}
	folder := written(t, map[string]string{"show/patch.json": patch, "show/cues.json": cues, "none/a.txt": ""})
	for about, c := range map[string]struct {
		receipt                string
		changed, missing, more []string
		otherRules             bool
	}{
		"the same":     {receipt(rulesDigest(set), "cues.json", cues, "patch.json", patch), nil, nil, nil, false},
		"other rules":  {receipt("0", "cues.json", cues, "patch.json", patch), nil, nil, nil, true},
		"one changed":  {receipt(rulesDigest(set), "cues.json", cues+" ", "patch.json", patch), []string{"cues.json"}, nil, nil, false},
		"one more":     {receipt(rulesDigest(set), "cues.json", cues), nil, nil, []string{"patch.json"}, false},
		"two are gone": {receipt(rulesDigest(set), "cues.json", cues, "patch.json", patch, "types.json", "[]", "order.json", "[]"), nil, []string{"order.json", "types.json"}, nil, false},
		"one of each":  {receipt(rulesDigest(set), "cues.json", "", "types.json", ""), []string{"cues.json"}, []string{"types.json"}, []string{"patch.json"}, false},
	} {
		name := filepath.Join(written(t, map[string]string{"report.json": c.receipt}), "report.json")
		v, err := Verify(name, filepath.Join(folder, "show"), Options{Rules: set, House: HouseOptions{None: true}})
		if err != nil {
			t.Fatal(about, err)
		}
		if !slices.Equal(v.Changed, c.changed) || !slices.Equal(v.Missing, c.missing) || !slices.Equal(v.More, c.more) || v.OtherRules != c.otherRules || v.Same() != (len(c.changed)+len(c.missing)+len(c.more) == 0) {
			t.Errorf("%s: changed %q, missing %q, more %q, other rules %t, the same %t", about, v.Changed, v.Missing, v.More, v.OtherRules, v.Same())
		}
		if r := v.Receipt; r.Number != "R-1" || r.Day != "2026-03-01" || r.Verdict != outcome.Ready || !slices.Equal(r.Orders, []string{"one"}) {
			t.Errorf("%s: %+v", about, r)
		}
	}
	for want, c := range map[string][2]string{
		"cannot be read": {"none.json", "show"}, "no JSON report": {"show/cues.json", "show"}, "no receipt of one show": {"two.json", "show"}, "no receipt": {"bare.json", "show"}, "nothing of the show": {"one.json", "none"},
	} {
		for name, text := range map[string]string{"two.json": `{"schema": "cueproof-findings-1", "shows": [{"receipt": {}}, {"receipt": {}}]}`, "bare.json": `{"schema": "cueproof-findings-1", "shows": [{}]}`, "one.json": receipt("0")} {
			if c[0] == name {
				c[0] = filepath.Join(written(t, map[string]string{name: text}), name)
			}
		}
		if !filepath.IsAbs(c[0]) {
			c[0] = filepath.Join(folder, c[0])
		}
		if _, err := Verify(c[0], filepath.Join(folder, c[1]), Options{Rules: set, House: HouseOptions{None: true}}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v, not %q", c, err, want)
		}
	}
}

// TestShowsAreHeldAgainstAReport: what is gone was put right where its rule looks; of what a rule could tell and cannot in
// any of them, it is told once.
func TestShowsAreHeldAgainstAReport(t *testing.T) {
	set := made(t, map[string]string{"test/on": onPurpose("wash", "error", "dark", ""), "test/off": onPurpose("key", "error", "dark", ""), "test/blind": onPurpose("top", "error", "dark", ""), "test/half": onPurpose("beam", "error", "dark", "")})
	runs := &rules.Set{Rules: slices.DeleteFunc(slices.Clone(set.Rules), func(r *rules.Rule) bool { return r.ID == "test/off" })}
	of := func(rule string, verdict finding.Verdict) finding.Finding {
		return finding.Finding{Rule: rule, Verdict: verdict, Level: finding.Error, Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}, Missing: []string{"a", "b"}}
	}
	check := func(blind []string, found ...finding.Finding) showCheck {
		c := showCheck{setup: &Setup{All: set, Rules: runs}, told: outcome.Show{Findings: found}}
		for _, rule := range blind {
			c.told.Looked = append(c.told.Looked, finding.Tally{Rule: rule})
		}
		return c
	}
	var then []outcome.Past
	for _, rule := range []string{"test/on", "test/off", "test/blind", "test/half"} {
		f := of(rule, finding.Fail)
		then = append(then, earlier.Of(&f))
	}
	open, fresh := of("test/on", finding.Open), of("test/half", finding.Open)
	open.Subjects, fresh.Subjects = []finding.Subject{{Kind: "channel", Name: "2"}}, []finding.Subject{{Kind: "channel", Name: "3"}}
	b := &baseline{Base: earlier.Base{Findings: then, Told: map[string]bool{"test/on": true, "test/blind": true}}}
	change := b.againstReport([]showCheck{check([]string{"test/blind", "test/half"}, open), check([]string{"test/blind"}, fresh)})
	var gone []string
	for _, p := range change.Gone {
		gone = append(gone, fmt.Sprintf("%s %t %s", p.Rule, p.Untold, p.Review))
	}
	if diff := cmp.Diff([]string{"test/on false ", fmt.Sprintf("test/off false %s", outcome.SwitchedOff), "test/blind true ", "test/half false "}, gone); diff != "" {
		t.Error(diff)
	}
	want := []outcome.Dark{{Rule: "test/blind", Why: "it has nothing to look at any more"}, {Rule: "test/on", About: []string{"channel 2"}, Why: "for want of a; b"}}
	if diff := cmp.Diff(want, change.Dark); diff != "" {
		t.Error(diff)
	}
}

// TestHowFarALossGoesDown, in stops; what is dark is as far as it gets.
func TestHowFarALossGoesDown(t *testing.T) {
	for _, c := range []struct{ was, is, want float64 }{{8, 4, 1}, {8, 8, 0}, {8, 1, 3}, {8, 0, 20}, {8, 1e-9, 20}, {1, 0.5, 1}} {
		if got := stops(outcome.LossIn{Was: c.was, Is: c.is}); got != c.want {
			t.Errorf("from %g to %g: %g stops, not %g", c.was, c.is, got, c.want)
		}
	}
}

// TestRulesOfAHouse are read from the folders that its file names, beside those of the program.
func TestRulesOfAHouse(t *testing.T) {
	const ours = "ours/test/slots/rule.yaml"
	for about, c := range map[string]struct {
		files map[string]string
		want  string
	}{
		"one of ours":      {map[string]string{ours: slotsKnown + "warning\n", "ours/test/slots/explain.md": "Because."}, ""},
		"no rule":          {map[string]string{"ours/a.txt": ""}, "no rule is in it"},
		"no folder":        {nil, "there is no folder"},
		"a name twice":     {map[string]string{"ours/people/no-key/rule.yaml": slotsKnown + "warning\n", "ours/people/no-key/explain.md": "Because."}, "there is a rule people/no-key already"},
		"a mistake in one": {map[string]string{ours: "title: A rule.\n", "ours/test/slots/explain.md": "Because."}, "rule.yaml"},
	} {
		files := map[string]string{"house.yaml": "rule_folders: [ours]\n", "show.json": `{"patch": []}`}
		for name, text := range c.files {
			files[name] = text
		}
		folder := written(t, files)
		all := everyRule(t)
		s, err := SetUp(filepath.Join(folder, "show.json"), Options{Rules: all, House: HouseOptions{File: filepath.Join(folder, "house.yaml"), Today: day}})
		if c.want != "" {
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: %v, not %q", about, err, c.want)
			}
			continue
		}
		if err != nil {
			t.Fatal(about, err)
		}
		if _, ok := s.Rules.Find("test/slots"); !ok || len(s.All.Rules) != len(all.Rules)+1 || !slices.IsSortedFunc(s.All.Rules, func(a, b *rules.Rule) int { return strings.Compare(a.ID, b.ID) }) {
			t.Errorf("%s: %d rules for %d, among them %t", about, len(s.All.Rules), len(all.Rules), ok)
		}
	}
}

// TestWhatAHouseChanges is noted: each limit, each level, and what does not look.
func TestWhatAHouseChanges(t *testing.T) {
	folder := written(t, map[string]string{"house.yaml": "limits:\n  white/rendering: {min_cri: 92, min_tlci: 80}\nlevels: {white/rendering: note}\nrules: {people/no-key: off, patch/no-address: off}\n", "show.json": `{"patch": []}`})
	s, err := SetUp(filepath.Join(folder, "show.json"), Options{Rules: everyRule(t), House: HouseOptions{File: filepath.Join(folder, "house.yaml"), Today: day}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"house.yaml sets min_cri of white/rendering to 92 instead of 90", "house.yaml sets min_tlci of white/rendering to 80 instead of 85",
		"house.yaml makes findings of white/rendering notes instead of warnings", "house.yaml switches off patch/no-address, people/no-key",
	}
	if diff := cmp.Diff(want, s.Notes); diff != "" {
		t.Error(diff)
	}
	rule, ok := s.Rules.Find("white/rendering")
	if _, on := s.Rules.Find("people/no-key"); on || !ok || rule.Level != finding.Note || len(s.Rules.Rules) != len(s.All.Rules)-2 {
		t.Errorf("%d of %d rules look, and one of them at the level %s", len(s.Rules.Rules), len(s.All.Rules), rule.Level)
	}
	for _, l := range rule.Limits {
		if want := map[string]float64{"min_cri": 92, "min_tlci": 80, "least_share": 0.25}[l.Name]; l.Value != want {
			t.Errorf("%s is %g, not %g", l.Name, l.Value, want)
		}
	}
}
