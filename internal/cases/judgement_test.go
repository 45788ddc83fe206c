package cases

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
)

// judgementFolder holds an evening, changes to it, and what an experienced person
// says of each; see its ABOUT.md.
const judgementFolder = "../../testdata/judgement"

// practice is one case of the yardstick.
type practice struct {
	Name     string
	About    string
	Practice string
	Patch    json.RawMessage
	Must     []claim
	MustNot  []claim `json:"must_not"`
	May      []string
	Open     []string
	Verdict  []string
}

// claim is something that can be said of a show, and of which part of it.
type claim struct {
	Matter  string
	Or      []string
	Place   string
	Segment string
	Circuit string
	Screen  string
	Camera  string
	Channel json.Number
	Cue     json.Number
}

// everything is the matter that stands for all of them.
const everything = "*"

func practices(t *testing.T) []practice {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(judgementFolder, "cases", "*.json"))
	if err != nil || len(names) < 80 {
		t.Fatalf("%d cases: %v", len(names), err)
	}
	list := make([]practice, len(names))
	for i, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &list[i]); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		list[i].Name = strings.TrimSuffix(filepath.Base(name), ".json")
	}
	return list
}

// rulesOf reads which rules say what a matter means.
func rulesOf(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(judgementFolder, "said.json"))
	if err != nil {
		t.Fatal(err)
	}
	said := map[string][]string{}
	if err := json.Unmarshal(text, &said); err != nil {
		t.Fatal(err)
	}
	return said
}

// judged is what is said of a case.
type judged struct {
	practice
	found   []finding.Finding
	verdict string
}

func judgePractice(t *testing.T, base []byte, p practice, set *rules.Set) judged {
	t.Helper()
	show, err := Merge(base, p.Patch)
	if err != nil {
		t.Fatalf("%s: %v", p.Name, err)
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(show)), StdinName: "show.json"})
	if err != nil {
		t.Fatalf("%s: %v", p.Name, err)
	}
	found, tallies := set.Judge(facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)))
	found = append(loaded.Findings, found...)
	return judged{p, found, verdictOf(found, tallies, len(loaded.Show.Patch) > 0 && len(loaded.Show.Cues) > 0)}
}

func verdictOf(found []finding.Finding, tallies []rules.Tally, any bool) string {
	if !any {
		return "NOT CHECKED"
	}
	verdict := "READY"
	for _, f := range found {
		switch {
		case f.Verdict == finding.Fail && f.Level == finding.Error && !f.Likely:
			return "HOLD"
		case f.Level != finding.Note:
			verdict = "READY WITH CARE"
		}
	}
	for _, tally := range tallies {
		if len(tally.None) > 0 {
			verdict = "READY WITH CARE"
		}
	}
	return verdict
}

// about reports whether a finding is about what a claim is about.
func (c *claim) about(f *finding.Finding) bool {
	has := func(kind, name string) bool {
		return name == "" || !slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == kind }) ||
			slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == kind && s.Name == name })
	}
	cue := c.Cue == "" || len(f.Cues) == 0 || slices.ContainsFunc(f.Cues, func(cue string) bool { return cueNumber(cue) >= cueNumber(c.Cue.String()) })
	return has("place", c.Place) && has("segment", c.Segment) && has("circuit", c.Circuit) && has("channel", c.Channel.String()) && cue
}

func cueNumber(text string) float64 {
	var number float64
	_, _ = fmt.Sscan(text, &number)
	return number
}

// score counts how often something was said rightly, wrongly, or not at all.
type score struct{ right, wrong, missed int }

func (s score) precision() float64 { return share(s.right, s.right+s.wrong) }
func (s score) recall() float64    { return share(s.right, s.right+s.missed) }

func share(part, whole int) float64 {
	if whole == 0 {
		return 1
	}
	return float64(part) / float64(whole)
}

// TestJudgement holds what the rules say against what experienced people say, and
// keeps the result as a table: how often each rule was right, how often it cried
// wolf, and what nobody said. With -v it tells case by case.
func TestJudgement(t *testing.T) {
	base, err := os.ReadFile(filepath.Join(judgementFolder, "base.json"))
	if err != nil {
		t.Fatal(err)
	}
	set, said := builtIn(t), rulesOf(t)
	matters := map[string][]string{} // by rule
	for _, matter := range slices.Sorted(maps.Keys(said)) {
		for _, rule := range said[matter] {
			matters[rule] = append(matters[rule], matter)
		}
	}
	byRule, byMatter := map[string]score{}, map[string]score{}
	var all score
	var lines []string
	note := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	count := func(table map[string]score, key string, change func(*score)) {
		s := table[key]
		change(&s)
		table[key] = s
	}
	good, goodHeld, dark, darkReady, verdicts := 0, 0, 0, 0, 0
	list := practices(t)
	for _, p := range list {
		j := judgePractice(t, base, p, set)
		covered := map[int]bool{}
		for _, c := range p.Must {
			hit := ""
			for _, matter := range append([]string{c.Matter}, c.Or...) {
				for i := range j.found {
					f := &j.found[i]
					if f.Verdict == finding.Fail && slices.Contains(said[matter], f.Rule) {
						covered[i] = true
						if c.about(f) && hit == "" {
							hit = f.Rule
						}
					}
				}
			}
			if hit != "" {
				all.right++
				count(byRule, hit, func(s *score) { s.right++ })
				count(byMatter, c.Matter, func(s *score) { s.right++ })
				continue
			}
			all.missed++
			rule := "(no rule)"
			if len(said[c.Matter]) > 0 {
				rule = said[c.Matter][0]
			}
			count(byRule, rule, func(s *score) { s.missed++ })
			count(byMatter, c.Matter, func(s *score) { s.missed++ })
			note("missed  %s: %s%s", p.Name, c.Matter, whereOf(c))
		}
		wrong := map[string]bool{}
		for i := range j.found {
			f := &j.found[i]
			if f.Verdict != finding.Fail || covered[i] || wrong[f.Rule] {
				continue
			}
			ms := matters[f.Rule]
			if slices.ContainsFunc(ms, func(m string) bool { return slices.Contains(p.May, m) }) || slices.ContainsFunc(p.Must, func(c claim) bool {
				return slices.Contains(ms, c.Matter) || slices.ContainsFunc(c.Or, func(m string) bool { return slices.Contains(ms, m) })
			}) {
				continue
			}
			if slices.ContainsFunc(p.MustNot, func(c claim) bool {
				if c.Matter == everything {
					return f.Level != finding.Note
				}
				return slices.Contains(ms, c.Matter) && c.about(f)
			}) {
				wrong[f.Rule] = true
				all.wrong++
				count(byRule, f.Rule, func(s *score) { s.wrong++ })
				count(byMatter, cmp.Or(strings.Join(ms, " or "), "(no matter)"), func(s *score) { s.wrong++ })
				note("wrong   %s: %s: %s", p.Name, f.Rule, f.Message)
			}
		}
		if slices.Contains(p.Verdict, j.verdict) {
			verdicts++
		} else {
			note("verdict %s: %s, not %s", p.Name, j.verdict, strings.Join(p.Verdict, " or "))
		}
		if p.Practice == "good" {
			good++
			if j.verdict == "HOLD" {
				goodHeld++
			}
		}
		if slices.ContainsFunc(p.Must, func(c claim) bool { return c.Matter == "speaker-in-the-dark" }) {
			dark++
			if j.verdict == "READY" {
				darkReady++
			}
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%d cases, %d of good practice. Precision %.2f, recall %.2f (%d right, %d wrong, %d missed).\n", len(list), good, all.precision(), all.recall(), all.right, all.wrong, all.missed)
	fmt.Fprintf(&b, "The verdict fits %d of them; %d good ones are on HOLD; %d of %d with somebody in the dark are READY.\n", verdicts, goodHeld, darkReady, dark)
	for _, table := range []struct {
		head string
		of   map[string]score
	}{{"by rule", byRule}, {"by matter", byMatter}} {
		fmt.Fprintf(&b, "\n%-40s right  wrong missed  precision  recall\n", table.head)
		for _, key := range slices.Sorted(maps.Keys(table.of)) {
			s := table.of[key]
			fmt.Fprintf(&b, "%-40s %5d %6d %6d %10.2f %7.2f\n", key, s.right, s.wrong, s.missed, s.precision(), s.recall())
		}
	}
	t.Logf("case by case:\n%s", strings.Join(lines, "\n")) // with -v
	golden := filepath.Join(judgementFolder, "result.txt")
	if update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != b.String() {
		t.Errorf("the result is another; with CUEPROOF_UPDATE=1 it is written down, and then read what changed:\n%s", b.String())
	}
}

func whereOf(c claim) string {
	var b strings.Builder
	for _, w := range []struct{ kind, name string }{
		{"place", c.Place}, {"cue", c.Cue.String()}, {"channel", c.Channel.String()}, {"segment", c.Segment},
		{"screen", c.Screen}, {"camera", c.Camera}, {"circuit", c.Circuit},
	} {
		if w.name != "" {
			fmt.Fprintf(&b, " (%s %s)", w.kind, w.name)
		}
	}
	return b.String()
}
