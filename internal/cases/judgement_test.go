package cases

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/draws"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/verdict"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
)

// judgementFolder holds evenings, changes to each, and what an experienced person
// says of them; see its ABOUT.md.
const judgementFolder = "../../testdata/judgement"

// practice is one case of the yardstick.
type practice struct {
	Evening  string `json:"-"`
	Name     string `json:"-"`
	base     []byte
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

// practices reads the cases of all evenings.
func practices(t *testing.T) (list []practice) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(judgementFolder, "*", "cases", "*.json"))
	if err != nil || len(names) < 80 {
		t.Fatalf("%d cases: %v", len(names), err)
	}
	bases := map[string][]byte{}
	for _, name := range names {
		p := practice{Evening: filepath.Base(filepath.Dir(filepath.Dir(name))), Name: strings.TrimSuffix(filepath.Base(name), ".json")}
		if bases[p.Evening] == nil {
			if bases[p.Evening], err = os.ReadFile(filepath.Join(judgementFolder, p.Evening, "base.json")); err != nil {
				t.Fatal(err)
			}
		}
		p.base = bases[p.Evening]
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &p); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		list = append(list, p)
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
	verdict outcome.Readiness
	err     error
}

// judge says of a case what the program says of a show, without the changes to make.
func (p practice) judge(set *rules.Set) judged {
	text, err := Merge(p.base, p.Patch)
	if err != nil {
		return judged{practice: p, err: err}
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: bytes.NewReader(text), StdinName: "show.json"})
	if err != nil {
		return judged{practice: p, err: err}
	}
	measured := calibrate.Run(loaded.Show)
	now := proof.Check(measured.Show, set)
	untrusted, turns := now.Doubt(set)
	told := outcome.Show{
		Findings: slices.Concat(loaded.Findings, measured.Findings, now.Found, untrusted), Assumed: turns,
		Looked: verdict.Looked(now.Tallies), Unreadable: loaded.Unreadable,
	}
	word, _ := verdict.Of(&told, now.Show)
	return judged{practice: p, found: told.Findings, verdict: word}
}

// judgeAll judges cases on all cores.
func judgeAll(t *testing.T, list []practice, set *rules.Set) []judged {
	t.Helper()
	all := make([]judged, len(list))
	if err := cores.Jobs(len(list), func(i int) { all[i] = list[i].judge(set) }); err != nil {
		t.Fatal(err)
	}
	for _, j := range all {
		if j.err != nil {
			t.Fatalf("%s: %v", j.id(), j.err)
		}
	}
	return all
}

func (p *practice) id() string { return p.Evening + "/" + p.Name }

// about reports whether a finding is about what a claim is about.
func (c *claim) about(f *finding.Finding) bool {
	has := func(kind, name string) bool {
		return name == "" || !slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == kind }) ||
			slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == kind && s.Name == name })
	}
	cue := c.Cue == "" || len(f.Cues) == 0 || slices.ContainsFunc(f.Cues, func(cue string) bool { return cueNumber(cue) >= cueNumber(c.Cue.String()) })
	// A clash has two sides, and its sentence names both.
	channel := has("channel", c.Channel.String()) || c.Matter == "address-clash" && regexp.MustCompile(`(?i)\bchannel `+c.Channel.String()+`\b`).MatchString(f.Message)
	return has("place", c.Place) && has("segment", c.Segment) && has("circuit", c.Circuit) && channel && cue
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

// tally counts cases, by evening and all together.
type tally struct {
	score
	cases, good, goodHeld, dark, darkReady, verdicts int
}

func (c *tally) String() string {
	return fmt.Sprintf("%d cases, %d of good practice. Precision %.2f, recall %.2f (%d right, %d wrong, %d missed).\n"+
		"The verdict fits %d of them; %d good ones are on HOLD; %d of %d with somebody in the dark are READY.\n",
		c.cases, c.good, c.precision(), c.recall(), c.right, c.wrong, c.missed, c.verdicts, c.goodHeld, c.darkReady, c.dark)
}

// count adds what was said of a case, and returns in words what was wrong or missed.
// said is the rules that say a matter, matters the matters that a rule says.
func (c *tally) count(j *judged, said, matters map[string][]string, byRule, byMatter map[string]score) (lines []string) {
	note := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	add := func(table map[string]score, key string, change func(*score)) {
		s := table[key]
		change(&s)
		table[key] = s
	}
	covered := map[int]bool{}
	for _, claim := range j.Must {
		hit := ""
		for _, matter := range append([]string{claim.Matter}, claim.Or...) {
			for i := range j.found {
				f := &j.found[i]
				if f.Verdict == finding.Fail && slices.Contains(said[matter], f.Rule) {
					covered[i] = true
					if claim.about(f) && hit == "" {
						hit = f.Rule
					}
				}
			}
		}
		if hit != "" {
			c.right++
			add(byRule, hit, func(s *score) { s.right++ })
			add(byMatter, claim.Matter, func(s *score) { s.right++ })
			continue
		}
		c.missed++
		rule := "(no rule)"
		if len(said[claim.Matter]) > 0 {
			rule = said[claim.Matter][0]
		}
		add(byRule, rule, func(s *score) { s.missed++ })
		add(byMatter, claim.Matter, func(s *score) { s.missed++ })
		note("missed  %s: %s%s", j.id(), claim.Matter, whereOf(claim))
	}
	wrong := map[string]bool{}
	for i := range j.found {
		f := &j.found[i]
		if f.Verdict != finding.Fail || covered[i] || wrong[f.Rule] {
			continue
		}
		ms := matters[f.Rule]
		if slices.ContainsFunc(ms, func(m string) bool { return slices.Contains(j.May, m) }) || slices.ContainsFunc(j.Must, func(c claim) bool {
			return slices.Contains(ms, c.Matter) || slices.ContainsFunc(c.Or, func(m string) bool { return slices.Contains(ms, m) })
		}) {
			continue
		}
		if slices.ContainsFunc(j.MustNot, func(c claim) bool {
			if c.Matter == everything {
				return f.Level != finding.Note
			}
			return slices.Contains(ms, c.Matter) && c.about(f)
		}) {
			wrong[f.Rule] = true
			c.wrong++
			add(byRule, f.Rule, func(s *score) { s.wrong++ })
			add(byMatter, cmp.Or(strings.Join(ms, " or "), "(no matter)"), func(s *score) { s.wrong++ })
			note("wrong   %s: %s: %s", j.id(), f.Rule, f.Message)
		}
	}
	c.cases++
	if slices.Contains(j.Verdict, string(j.verdict)) {
		c.verdicts++
	} else {
		note("verdict %s: %s, not %s", j.id(), j.verdict, strings.Join(j.Verdict, " or "))
	}
	if j.Practice == "good" {
		c.good++
		if j.verdict == outcome.Hold {
			c.goodHeld++
		}
	}
	if slices.ContainsFunc(j.Must, func(c claim) bool { return c.Matter == "speaker-in-the-dark" }) {
		c.dark++
		if j.verdict == outcome.Ready {
			c.darkReady++
		}
	}
	return lines
}

// TestJudgement holds what the program says against what experienced people say, and
// keeps the result as a table: how often each rule was right, how often it cried
// wolf, and what nobody said. With -v it tells case by case. It takes a while because
// it is two thousand shows, each with all rules: of every sixteenth hall the line is held
// against the table, and with CUEPROOF_LONG=1 the whole table is.
func TestJudgement(t *testing.T) {
	list, step := practices(t), draws.Step(16)
	if step > 1 {
		number := map[string]int{} // of an evening
		list = slices.DeleteFunc(list, func(p practice) bool {
			if _, known := number[p.Evening]; !known {
				number[p.Evening] = len(number)
			}
			return number[p.Evening]%step != 0
		})
	}
	set, said := builtIn(t), rulesOf(t)
	matters := map[string][]string{} // by rule
	for _, matter := range slices.Sorted(maps.Keys(said)) {
		for _, rule := range said[matter] {
			matters[rule] = append(matters[rule], matter)
		}
	}
	byRule, byMatter := map[string]score{}, map[string]score{}
	var all tally
	evenings := map[string]*tally{}
	var lines []string
	for _, j := range judgeAll(t, list, set) {
		if evenings[j.Evening] == nil {
			evenings[j.Evening] = &tally{}
		}
		evenings[j.Evening].count(&j, said, matters, map[string]score{}, map[string]score{})
		lines = append(lines, all.count(&j, said, matters, byRule, byMatter)...)
	}
	var b strings.Builder
	b.WriteString(all.String())
	for _, name := range slices.Sorted(maps.Keys(evenings)) {
		fmt.Fprintf(&b, "\n%s: %s", name, evenings[name])
	}
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
	if step > 1 {
		for name, of := range evenings {
			if line := fmt.Sprintf("\n%s: %s", name, of); !strings.Contains(string(want), line) {
				t.Errorf("the result is another; with CUEPROOF_UPDATE=1 it is written down, and then read what changed:%s", line)
			}
		}
		return
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
