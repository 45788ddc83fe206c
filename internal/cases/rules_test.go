package cases

import (
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/rules"
	"github.com/goccy/go-yaml"
	"golang.org/x/tools/txtar"
)

// headings are those of every explanation, in their order.
var headings = []string{
	"## What it looks like", "## Why it matters", "## How it is worked out",
	"## What to try", "## How to keep it from coming back", "## How sure we are", "## Example",
}

// The length of an explanation in words: it is read in the booth, minutes before
// doors, or aloud to somebody who learns.
const (
	fewestWords = 120
	mostWords   = 245
)

// TestEveryRuleIsComplete looks into every folder of the built-in packs and says
// what is still to be written.
func TestEveryRuleIsComplete(t *testing.T) {
	fsys := packsOnDisk
	folders, err := fs.Glob(fsys, "*/*")
	if err != nil || len(folders) == 0 {
		t.Fatalf("no rules found: %v", err)
	}
	set := builtIn(t)
	for _, id := range folders {
		t.Run(id, func(t *testing.T) {
			for _, lack := range lacks(fsys, set, id) {
				t.Error(lack)
			}
		})
	}
}

// lacks says what the folder of a rule still needs.
func lacks(fsys fs.FS, set *rules.Set, id string) []string {
	var list []string
	say := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	if !regexp.MustCompile(`^[a-z]+/[a-z]+(-[a-z]+)*$`).MatchString(id) {
		say("name the folder in small letters and hyphens, such as white/key-mix: it is what people type after explain")
	}
	for name, what := range map[string]string{
		"rule.yaml": "what must hold, in one expression, and what to say when it does not", "explain.md": "what it means, for a volunteer",
		"cases.txtar": "small shows with what the rule says of each",
	} {
		if text, err := fs.ReadFile(fsys, path.Join(id, name)); err != nil || len(strings.TrimSpace(string(text))) == 0 {
			say("write %s: %s", name, what)
		}
	}
	rule, ok := set.Find(id)
	if !ok || len(list) > 0 {
		slices.Sort(list)
		return list
	}
	cases, archive, err := casesOf(fsys, rule)
	if err != nil {
		say("mend cases.txtar: %v", err)
		return list
	}
	list = append(list, cardLacks(rule)...)
	if data, _ := fs.ReadFile(fsys, path.Join(id, "rule.yaml")); !regexp.MustCompile(`(?m)^(hint|remedies):`).Match(data) {
		say("write a hint or a remedy in rule.yaml: whoever reads the finding asks what to do")
	}
	for name, read := range map[string]func([]byte) []string{"rule.yaml": ruleTexts, "explain.md": paragraphs} {
		data, _ := fs.ReadFile(fsys, path.Join(id, name))
		for _, text := range read(data) {
			for _, sentence := range longSentences(text) {
				say("make two sentences of this one in %s, which has more than %d words: %s", name, mostInSentence, sentence)
			}
		}
	}
	list = append(list, caseLacks(cases, archive)...)
	return append(list, explanationLacks(rule.Explain, cases)...)
}

// mostInSentence is how many words a person in a hurry reads at once.
const mostInSentence = 20

// ruleTexts are what a rule file says to people.
func ruleTexts(data []byte) (texts []string) {
	var card struct {
		Title, Say, Hint, Caution string
		Remedies                  []struct{ Effect string }
	}
	if err := yaml.Unmarshal(data, &card); err != nil {
		return []string{err.Error()}
	}
	texts = []string{card.Title, card.Say, card.Hint, card.Caution}
	for _, r := range card.Remedies {
		texts = append(texts, r.Effect)
	}
	return texts
}

// paragraphs are those of an explanation and the items of its lists, without headings.
func paragraphs(data []byte) (texts []string) {
	for _, text := range regexp.MustCompile(`\n\n|\n- `).Split(string(data), -1) {
		if !strings.HasPrefix(text, "#") && !strings.HasPrefix(text, "Example case:") {
			texts = append(texts, text)
		}
	}
	return texts
}

// longSentences are the sentences of a text with too many words; what stands in braces
// is one, whatever it will be.
func longSentences(text string) (long []string) {
	text = regexp.MustCompile(`\{[^{}]*\}`).ReplaceAllString(text, "N")
	for _, sentence := range regexp.MustCompile(`[.!?]["”)]*(\s+|$)`).Split(text, -1) {
		words := strings.FieldsFunc(sentence, unicode.IsSpace)
		if len(slices.DeleteFunc(words, func(w string) bool {
			return !strings.ContainsFunc(w, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) })
		})) > mostInSentence {
			long = append(long, strings.Join(strings.Fields(sentence), " "))
		}
	}
	return long
}

func cardLacks(rule *rules.Rule) []string {
	var list []string
	if !strings.HasSuffix(rule.Title, ".") {
		list = append(list, "end the title in rule.yaml with a period: it is a sentence")
	}
	if len(rule.Symptoms) == 0 {
		list = append(list, "write symptoms in rule.yaml: what somebody says who sees the trouble and does not know the rule")
	}
	if rule.Consequence == finding.Hurt && rule.Caution == "" {
		list = append(list, "write a caution in rule.yaml: somebody could be hurt, so say who decides (local codes, the venue, licensed people)")
	}
	if promise := regexp.MustCompile(`(?i)\b(is|are|be|it's) safe\b`).FindString(rule.Explain + rule.Caution); promise != "" {
		list = append(list, fmt.Sprintf("do not say %q: no program can know that", promise))
	}
	return list
}

func caseLacks(cases []Case, archive *txtar.Archive) []string {
	var list []string
	say := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	count := func(word, verdict string) int {
		n := 0
		for _, c := range cases {
			if strings.Contains(c.Name, word) && strings.HasPrefix(c.Want, verdict) {
				n++
			}
		}
		return n
	}
	if strings.TrimSpace(string(archive.Comment)) == "" {
		say("say at the head of cases.txtar in a sentence what the cases are about")
	}
	if count("silent", "silent") == 0 {
		say("add a case to cases.txtar with \"silent\" in its name: a show that is as it should be")
	}
	if count("speaks", "fail") == 0 {
		say("add a case to cases.txtar with \"speaks\" in its name: a show of which the rule says no")
	}
	if count("boundary", "silent") == 0 {
		say("add a case to cases.txtar with \"boundary\" in its name that is still as it should be, at the limit itself")
	}
	if count("boundary", "fail") == 0 {
		say("add a case to cases.txtar with \"boundary\" in its name that is just beyond the limit")
	}
	never := strings.Contains(string(archive.Comment), "never unknown")
	switch told := count("unknown", "open") > 0; {
	case !told && !never:
		say("add a case to cases.txtar with \"unknown\" in its name: a show that does not say enough; or write at the head of the file why the rule is never unknown")
	case told && never:
		say("the head of cases.txtar says \"never unknown\", and a case is: take one of them out")
	}
	for _, c := range cases {
		kinds := 0
		for _, word := range []string{"silent", "speaks", "boundary", "unknown"} {
			if strings.Contains(c.Name, word) {
				kinds++
			}
		}
		if kinds != 1 {
			say("give the case %s exactly one of the words silent, speaks, boundary and unknown in its name", c.Name)
		}
	}
	return list
}

func explanationLacks(text string, cases []Case) []string {
	var list []string
	say := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	sections := map[string]string{}
	var order []string
	heading := ""
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(line, "#") {
			heading = strings.TrimSpace(line)
			order = append(order, heading)
			continue
		}
		sections[heading] += line + "\n"
	}
	if !slices.Equal(order, headings) {
		say("give explain.md these headings, in this order: %s; it has: %s", strings.Join(headings, ", "), strings.Join(order, ", "))
		return list
	}
	for _, h := range headings {
		if strings.TrimSpace(sections[h]) == "" {
			say("write something under %q in explain.md", h)
		}
	}
	if !strings.Contains(sections["## What to try"], "\n- ") && !strings.HasPrefix(strings.TrimSpace(sections["## What to try"]), "- ") {
		say("make what stands under \"## What to try\" in explain.md a list, with the least effort first")
	}
	said := regexp.MustCompile(`(?m)^(#.*|Example case: .*)$`).ReplaceAllString(text, "")
	if words := len(strings.Fields(said)); words < fewestWords || words > mostWords {
		say("explain.md has %d words; between %d and %d are read to the end", words, fewestWords, mostWords)
	}
	named := regexp.MustCompile(`(?m)^Example case: (\S+)$`).FindStringSubmatch(sections["## Example"])
	switch {
	case named == nil:
		say("write under \"## Example\" in explain.md, on a line of its own, \"Example case: NAME\", with the name of a case")
	case !slices.ContainsFunc(cases, func(c Case) bool { return c.Name == named[1] }):
		say("explain.md names the case %s, and cases.txtar has no %s", named[1], named[1])
	}
	return list
}

// TestLacks gives the test above something to find, so that it is known to look.
func TestLacks(t *testing.T) {
	const id = "patch/channel-twice"
	good := fstest.MapFS{}
	for _, name := range []string{"rule.yaml", "explain.md", "cases.txtar"} {
		data, err := fs.ReadFile(packsOnDisk, path.Join(id, name))
		if err != nil {
			t.Fatal(err)
		}
		good[path.Join(id, name)] = &fstest.MapFile{Data: data}
	}
	for _, c := range []struct{ what, file, old, new, want string }{
		{"no explanation", "explain.md", "", "", "write explain.md"},
		{"empty cases", "cases.txtar", "", "", "write cases.txtar"},
		{"a heading less", "explain.md", "## Why it matters", "Why it matters:", "give explain.md these headings"},
		{"nothing under a heading", "explain.md", "\n## Why it matters", "\n## What it looks like\n\n## Why it matters", "give explain.md these headings"},
		{"no list", "explain.md", "\n- ", "\n", "a list"},
		{"too long", "explain.md", "## Why it matters", "## Why it matters\n" + strings.Repeat("because ", mostWords), "words"},
		{"no example", "explain.md", "Example case: ", "Example: ", "Example case: NAME"},
		{"an example that is gone", "explain.md", "Example case: ", "Example case: gone-", "cases.txtar has no gone-"},
		{"a promise", "explain.md", "## Why it matters", "## Why it matters\nThen it is safe.", `do not say "is safe"`},
		{"no case that is silent", "cases.txtar", "-- silent", "-- speaks", `"silent" in its name`},
		{"no case that speaks", "cases.txtar", "-- speaks-", "-- silent-", `"speaks" in its name`},
		{"no boundary", "cases.txtar", "-- boundary-", "-- speaks-", "at the limit itself"},
		{"a case of no kind", "cases.txtar", "-- boundary-", "-- edge-", "exactly one of the words"},
		{"nothing unknown", "cases.txtar", "never unknown", "always known", "why the rule is never unknown"},
		{"no word at the head", "cases.txtar", "(?s)^.*?\n-- ", "-- ", "at the head"},
		{"title without period", "rule.yaml", `(?m)^(title: .*)\.$`, "$1", "end the title"},
		{"no symptoms", "rule.yaml", "symptoms: .*", "note: none", "write symptoms"},
		{"a long sentence", "rule.yaml", "title: ", "title: This " + strings.Repeat("very ", mostInSentence) + "long ", "make two sentences"},
		{"a long sentence to learn from", "explain.md", "## Why it matters", "## Why it matters\n\n" + strings.Repeat("because ", mostInSentence+1), "make two sentences"},
		{"nothing to do", "rule.yaml", `(?m)^(hint:.*|remedies:(\n .*)*)\n`, "", "a hint or a remedy"},
		{"hurt without caution", "rule.yaml", "consequence: .*", "consequence: hurt", "write a caution"},
	} {
		t.Run(c.what, func(t *testing.T) {
			changed := fstest.MapFS{}
			for name, file := range good {
				changed[name] = file
			}
			name := path.Join(id, c.file)
			text := string(good[name].Data)
			if c.old == "" {
				text = ""
			} else if text = regexp.MustCompile(c.old).ReplaceAllString(text, c.new); text == string(good[name].Data) {
				t.Fatalf("%q is not in %s any more; change this test", c.old, c.file)
			}
			changed[name] = &fstest.MapFile{Data: []byte(text)}
			set, _ := rules.Load(changed, "")
			list := lacks(changed, set, id)
			if !slices.ContainsFunc(list, func(lack string) bool { return strings.Contains(lack, c.want) }) {
				t.Errorf("nothing is said of it with the words %q; said is %q", c.want, list)
			}
		})
	}
	set, _ := rules.Load(good, "")
	if list := lacks(good, set, id); len(list) > 0 {
		t.Errorf("a complete rule lacks %q", list)
	}
}
