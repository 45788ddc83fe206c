package rules

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/google/go-cmp/cmp"
)

// load reads one rule, of the name pack/rule, from its text.
func load(text string) (*Set, []finding.Finding) {
	return Load(fstest.MapFS{
		"pack/rule/rule.yaml":  {Data: []byte(text)},
		"pack/rule/explain.md": {Data: []byte("Because.\n")},
	}, "house")
}

// mustLoad reads one rule that is as it should be.
func mustLoad(t *testing.T, text string) *Rule {
	t.Helper()
	set, mistakes := load(text)
	for _, m := range mistakes {
		t.Fatalf("%v: %s\n%s", m.Place.Span().Start, m.Message, text)
	}
	return set.Rules[0]
}

// marker stands in the text of a rule before the character at which a mistake
// is to be found.
const marker = "▸"

// marked takes the marker out of a text and says where it stood.
func marked(t *testing.T, text string) (clean string, line, column int) {
	t.Helper()
	before, after, found := strings.Cut(text, marker)
	if !found || strings.Contains(after, marker) {
		t.Fatalf("there is not one %s in\n%s", marker, text)
	}
	line = strings.Count(before, "\n") + 1
	column = utf8.RuneCountInString(before[strings.LastIndexByte(before, '\n')+1:]) + 1
	return before + after, line, column
}

// written makes a whole rule over fixtures from the lines that matter.
func written(lines ...string) string {
	has := func(key string) bool {
		for _, line := range lines {
			if strings.HasPrefix(strings.TrimPrefix(line, marker), key+":") {
				return true
			}
		}
		return false
	}
	var b strings.Builder
	for _, standard := range []struct{ key, value string }{
		{"title", "Something is wrong."}, {"over", "fixture"}, {"expect", "fixture.channel > 0"},
		{"say", "No."}, {"level", "warning"}, {"consequence", "room"},
	} {
		if !has(standard.key) {
			fmt.Fprintf(&b, "%s: %s\n", standard.key, standard.value)
		}
	}
	return b.String() + strings.Join(lines, "\n") + "\n"
}

func TestMistakes(t *testing.T) {
	long := strings.Repeat("fixture.channel > 0 and ", 100) + "true"
	many := strings.Repeat("1+", 199) + "1 > 0"
	for _, c := range []struct{ what, rule, want string }{
		// The form of the file.
		{"not YAML", written("hint: ▸\"never closed"), "this is not YAML"},
		{"a tab", written("limits:\n▸\tmax: 1"), "this is not YAML"},
		{"key twice", written("level: warning", "▸level: error"), "this is not YAML"},
		{"nothing at all", "▸", "holds no YAML document"},
		{"only a remark", "▸# nothing yet\n", "holds no YAML document"},
		{"two documents", "▸" + written() + "---\n" + written(), "more than one"},
		{"an anchor", written("hint: ▸&h Look."), "may not use this part of YAML"},
		{"an alias", strings.Replace(written("hint: ▸*h"), "title: ", "title: ", 1), "may not use this part of YAML"},
		{"a merge", written("limits:\n  ▸<<: {value: 1}"), "plain words"},
		{"a tag", written("hint: ▸!!str Look."), "may not use this part of YAML"},
		{"not a list of members", "▸- title\n", "wanted is"},
		{"a number as a name", written("limits:\n  ▸1: {value: 1, unit: \"\", source: x}"), "plain words"},

		// The schema of rule files.
		{"unknown key", written("▸hnit: Look."), `Did you mean "hint"?`},
		{"unknown key of a limit", written("limits:\n  max: {value: 1, ▸units: lx, unit: lx, source: x}"), `Did you mean "unit"?`},
		{"a key is missing", "▸" + strings.Replace(written(), "level: warning\n", "", 1), `has no "level"`},
		{"unknown level", written("level: ▸eror"), `Did you mean "error"?`},
		{"unknown subject", written("over: ▸fixtures"), `Did you mean "fixture"?`},
		{"a limit without a source", written("limits:\n  ▸max: {value: 1, unit: lx}"), `has no "source"`},
		{"a limit that is text", written("limits:\n  max: {value: ▸\"1\", unit: lx, source: x}"), "a number"},
		{"a limit that only YAML understands", written("expect: fixture.channel < limit.max", "limits:\n  max: {value: ▸0x10, unit: lx, source: x}"), "plain digits"},
		{"a limit beyond all numbers", written("expect: fixture.channel < limit.max", "limits:\n  max: {value: ▸1e999, unit: lx, source: x}"), "a number"},
		{"expect is a number", written("expect: ▸5"), "text in quotes"},

		// Words.
		{"unknown word", written("expect: ▸fixtrue.channel > 0"), `nothing is called "fixtrue" here. Did you mean "fixture"?`},
		{"another subject", written("expect: fixture.channel > 0 and ▸look.coloured_count > 0"), `nothing is called "look" here.`},
		{"unknown fact", written("expect: fixture.▸chanel > 0"), `a fixture has no fact "chanel". Did you mean "channel"?`},
		{"unknown fact, nothing near", written("expect: fixture.▸temperature > 0"), `a fixture has no fact "temperature".`},
		{"a Go name is no fact", written("expect: fixture.▸FixtureName != \"\""), "has no fact"},
		{"a method is no fact", written("expect: fixture.▸Names != nil"), "Names is not a fact"},
		{"a call of a method", written("expect: fixture.▸Cue() != \"\""), "Cue is not a fact"},
		{"unknown fact of an item", written("over: person", "expect: all(person.keys_to_set(15), .▸cct > 0)"), `has no fact "cct". Did you mean "cct_k"?`},
		{"unknown limit", written("expect: fixture.channel > limit.▸mx", "limits:\n  max: {value: 1, unit: lx, source: x}"), `no limit "mx". Did you mean "max"?`},
		{"unknown limit in brackets", written("expect: fixture.channel > limit▸[\"mx\"]", "limits:\n  max: {value: 1, unit: lx, source: x}"), `no limit "mx"`},
		{"a limit by a computed word", written("expect: fixture.channel > limit▸[fixture.name]"), "named by its word"},
		{"limit alone", written("expect: fixture.name != \"limit\" and ▸limit != nil"), "named by its word"},
		{"limit in a list", written("expect: len([▸limit]) > 0"), "named by its word"},
		{"the way around", written("expect: ▸$env.limit.anything == 0"), `nothing is called "$env" here`},
		{"unused limit", written("limits:\n  ▸max: {value: 1, unit: lx, source: x}"), `no expression of the rule uses the limit "max"`},
		{"unknown fact of others", written("others: ▸twin"), `a fixture has no fact "twin". Did you mean "twins"?`},
		{"others where there are none", written("over: show", "expect: show.look_count > 0", "others: ▸look_count"), "has no other things"},

		// What an expression may do.
		{"no expression", written("expect: fixture.channel ▸>"), "unexpected token EOF"},
		{"a loop in a loop", written("over: person", "expect: all(person.keys_to_set(15), any(person.▸drifted_keys(20, 2), true))"), "a loop inside a loop"},
		{"a list in a loop", written("over: cue", "expect: \"all(cue.unpatched, # in cue.▸unpatched)\""), "a loop inside a loop"},
		{"a sum in a loop", written("over: cue", "expect: all(cue.unpatched, sum(cue.▸unpatched) > 0)"), "a loop inside a loop"},
		{"a function that is none", written("expect: ▸frist(fixture.twins) == \"\""), `a rule may not call "frist".`},
		{"a function that is not allowed", written("expect: ▸now() != nil"), `a rule may not call "now".`},
		{"a function that repeats", written("expect: ▸repeat(fixture.name, 9) != \"\""), `a rule may not call "repeat".`},
		{"a function nearly right", written("expect: ▸coutn(fixture.twins) == 0"), `Did you mean "count"?`},
		{"a function of the engine", written("expect: ▸known(fixture.cri, fixture, \"cri\") > 0"), `a rule may not call "known".`},
		{"the least of a list", written("over: cue", "expect: min(cue.▸unpatched) > 0"), "may be empty"},
		{"the most of a list and a number", written("over: cue", "expect: max(1, cue.▸unpatched) > 0"), "may be empty"},
		{"a range", written("expect: len(1▸..9) > 0"), `may not use ".."`},
		{"a pattern", written("expect: fixture.name ▸matches \"a\""), `may not use "matches"`},
		{"a power", written("expect: fixture.channel ▸** 2 > 0"), `may not use "**"`},
		{"a rest", written("expect: fixture.channel ▸% 2 > 0"), `may not use "%"`},
		{"something for what is unknown", written("expect: (fixture.cri ▸?? 100) > 0"), `may not use "??"`},
		{"going on where nothing is", written("expect: fixture?.▸cri > 0"), `may not use "?."`},
		{"a variable", written("expect: let ▸f = fixture; f.channel > 0"), `may not use "let"`},
		{"too long", written("expect: ▸" + long), "2000 are the most"},
		{"too many parts", written("expect: ▸" + many), "more than 200 parts"},
		{"not true or false", written("expect: ▸fixture.channel"), "true or false"},
		{"not true or false, nobody knows what", written("expect: ▸([fixture.channel])[0]"), "true or false"},
		{"when is not true or false", written("when: ▸fixture.name"), "true or false"},
		{"numbers and words", written("expect: fixture.channel ▸> \"9\""), "mismatched types int and string"},

		// Sentences.
		{"a brace that is not closed", written("say: \"It is ▸{fixture.channel\""), "never closed"},
		{"a brace that was not opened", written("say: \"It is fixture.channel▸}\""), "never opened"},
		{"an empty brace", written("say: \"It is {▸}\""), "unexpected token EOF"},
		{"a mistake in a brace", written("say: \"It is {fixture.▸chanel} now.\""), `Did you mean "channel"?`},
		{"a mistake in a hint", written("hint: \"It is {fixture.▸chanel} now.\""), `Did you mean "channel"?`},
		{"an effect", written("remedies:\n  - change: [{on: fixture, set: channel, to: \"1\"}]\n    effect: \"It is {fixture.▸chanel}.\""), `Did you mean "channel"?`},

		// Remedies.
		{"to on a number", written("remedies:\n  - change: [{on: ▸fixture.channel, set: channel, to: \"1\"}]\n    effect: Done."), "not something that can be changed"},
		{"to on a limit", written("expect: fixture.channel < limit.max", "limits:\n  max: {value: 1, unit: \"\", source: x}", "remedies:\n  - change: [{on: ▸limit.max, set: value, to: \"1\"}]\n    effect: Done."), "not something that can be changed"},
		{"taking away from a word", written("remedies:\n  - change: [{on: ▸fixture.name, set: name}]\n    effect: Done."), "not something that can be changed"},
		{"it outside of to", written("remedies:\n  - change: [{on: ▸it, set: channel, to: \"1\"}]\n    effect: Done."), `nothing is called "it" here`},
		{"a fact that it has not", written("over: person", "expect: person.place != \"\"", "remedies:\n  - change: [{on: person.keys_to_set(15), set: level, to: it.▸levl_pct}]\n    effect: Done."), `Did you mean "level_pct"?`},
		{"when of a remedy", written("remedies:\n  - when: ▸fixture.channel\n    change: [{on: fixture, set: channel, to: \"1\"}]\n    effect: Done."), "true or false"},
	} {
		t.Run(c.what, func(t *testing.T) {
			text, line, column := marked(t, c.rule)
			set, mistakes := load(text)
			if len(mistakes) == 0 {
				t.Fatalf("nothing is said of\n%s", text)
			}
			if len(set.Rules) != 0 {
				t.Error("the rule is in the set all the same")
			}
			m := mistakes[0]
			at := m.Place.Span().Start
			if !strings.Contains(m.Message, c.want) || at.Line != line || at.Column != column {
				t.Errorf("said is\n  %d:%d: %s\nwanted is\n  %d:%d: ...%s...\nof\n%s", at.Line, at.Column, m.Message, line, column, c.want, text)
			}
			if m.Place.File.Name != "house/pack/rule/rule.yaml" {
				t.Errorf("the file is called %q", m.Place.File.Name)
			}
			if m.Level != finding.Error || m.Verdict != finding.Fail || len(m.Subjects) != 1 || m.Subjects[0].String() != "rule pack/rule" {
				t.Errorf("level %s, verdict %s, subjects %v", m.Level, m.Verdict, m.Subjects)
			}
		})
	}
}

// TestMistakesInEveryScalar puts the same mistake into every way in which YAML
// writes a text.
func TestMistakesInEveryScalar(t *testing.T) {
	for _, c := range []struct{ what, rule string }{
		{"plain", "expect: fixture.channel > 0 and fixture.▸chanel > 0"},
		{"plain, over two lines", "expect: fixture.channel > 0\n  and fixture.▸chanel > 0"},
		{"plain, over three lines, one blank", "expect: fixture.channel > 0\n\n     and\n  fixture.▸chanel > 0"},
		{"double quotes", `expect: "fixture.channel > 0 and fixture.▸chanel > 0"`},
		{"double quotes with escapes", `expect: "fixture.name != \"a\\b\" and fixture.▸chanel > 0"`},
		{"double quotes with a code", `expect: "fixture.name != 'caf\u00e9\t' and fixture.▸chanel > 0"`},
		{"double quotes over two lines", "expect: \"fixture.channel > 0\n  and fixture.▸chanel > 0\""},
		{"single quotes", `expect: 'fixture.channel > 0 and fixture.▸chanel > 0'`},
		{"single quotes with a quote", `expect: 'fixture.name != ''a'' and fixture.▸chanel > 0'`},
		{"letters of more than a byte", `expect: fixture.name != "Bühne · 舞台" and fixture.▸chanel > 0`},
		{"literal block", "expect: |\n  fixture.channel > 0 and\n  fixture.▸chanel > 0"},
		{"literal block, deeper", "expect: |-\n    fixture.channel > 0 and\n      fixture.▸chanel > 0"},
		{"folded block", "expect: >-\n  fixture.channel > 0 and\n  fixture.▸chanel > 0"},
		{"folded block, third line", "expect: >\n  fixture.channel > 0\n  and\n  fixture.channel < 9 and fixture.▸chanel > 0\n"},
		{"folded block with a blank line", "expect: >-\n  fixture.channel > 0\n\n  and fixture.▸chanel > 0"},
		{"sentence, plain", "say: It is {fixture.▸chanel}."},
		{"sentence, folded", "say: >-\n  Channel {fixture.channel} is\n  not {fixture.▸chanel}."},
		{"sentence, quoted, space before", `say: "  It is {fixture.▸chanel}."`},
		{"sentence, letters of more than a byte", `say: "Größe {fixture.▸chanel}."`},
		{"flow", "remedies: [{change: [{on: fixture, set: channel, to: fixture.▸chanel}], effect: Done.}]"},
	} {
		for _, ending := range []string{"\n", "\r\n"} {
			t.Run(fmt.Sprintf("%s %q", c.what, ending), func(t *testing.T) {
				text, line, column := marked(t, written(c.rule))
				_, mistakes := load(strings.ReplaceAll(text, "\n", ending))
				if len(mistakes) != 1 {
					t.Fatalf("%d mistakes in\n%s: %v", len(mistakes), text, mistakes)
				}
				at := mistakes[0].Place.Span().Start
				if at.Line != line || at.Column != column {
					t.Errorf("found at %d:%d, wanted at %d:%d, in\n%s", at.Line, at.Column, line, column, text)
				}
			})
		}
	}
}

func TestAllMistakesOfARuleAreTold(t *testing.T) {
	_, mistakes := load(written("expect: fixture.chanel > 0", "when: fixture.nam != \"\"", "say: \"{fixture.typ}\"", "limits:\n  max: {value: 1, unit: lx, source: x}"))
	var got []string
	for _, m := range mistakes {
		got = append(got, m.Message)
	}
	want := []string{
		`a fixture has no fact "nam". Did you mean "name"?`,
		`a fixture has no fact "chanel". Did you mean "channel"?`,
		`a fixture has no fact "typ". Did you mean "type"?`,
		`no expression of the rule uses the limit "max"`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestLoadOfFolders(t *testing.T) {
	good := []byte(written())
	explain := &fstest.MapFile{Data: []byte("Because.\n")}
	for _, c := range []struct {
		what string
		fsys fstest.MapFS
		want string
	}{
		{"no explanation", fstest.MapFS{"a/b/rule.yaml": {Data: good}}, "explain.md beside it is missing"},
		{"a huge explanation", fstest.MapFS{"a/b/rule.yaml": {Data: good}, "a/b/explain.md": {Data: make([]byte, maxRuleFile+1)}}, "explain.md beside it is missing or too large"},
		{"a huge rule", fstest.MapFS{"a/b/rule.yaml": {Data: make([]byte, maxRuleFile+1)}, "a/b/explain.md": explain}, "a rule has at most 16384"},
		{"not text", fstest.MapFS{"a/b/rule.yaml": {Data: []byte("title: \xff\xfe\x00")}, "a/b/explain.md": explain}, "not UTF-8"},
		{"a folder instead of a file", fstest.MapFS{"a/b/rule.yaml": {Mode: fs.ModeDir}, "a/b/explain.md": explain}, "cannot be read"},
	} {
		t.Run(c.what, func(t *testing.T) {
			set, mistakes := Load(c.fsys, "")
			if len(set.Rules) != 0 || len(mistakes) != 1 || !strings.Contains(mistakes[0].Message, c.want) {
				t.Errorf("%d rules, mistakes %v, wanted one with %q", len(set.Rules), mistakes, c.want)
			}
		})
	}
	t.Run("what is no rule is left alone, and a mistake spoils no other rule", func(t *testing.T) {
		set, mistakes := Load(fstest.MapFS{
			"z/last/rule.yaml": {Data: good}, "z/last/explain.md": explain,
			"a/first/rule.yaml": {Data: good}, "a/first/explain.md": explain,
			"a/wrong/rule.yaml": {Data: []byte("title: 1\n")}, "a/wrong/explain.md": explain,
			"README.md": explain, "a/notes.txt": explain, "a/b/c/rule.yaml": {Data: []byte("no")},
		}, "")
		if len(set.Rules) != 2 || set.Rules[0].ID != "a/first" || set.Rules[1].ID != "z/last" {
			t.Errorf("loaded %v", set.Rules)
		}
		if len(mistakes) == 0 {
			t.Error("nothing is said of a/wrong")
		}
	})
}

func TestBuiltInRulesLoad(t *testing.T) {
	set, mistakes := Load(BuiltIn(), "rules/packs")
	for _, m := range mistakes {
		at := m.Place.Span().Start
		t.Errorf("%s:%d:%d: %s", m.Place.File.Name, at.Line, at.Column, m.Message)
	}
	for _, rule := range set.Rules {
		if _, ok := set.Find(rule.ID); !ok {
			t.Errorf("%s is listed and not found", rule.ID)
		}
	}
	if _, ok := set.Find("pack/none"); ok {
		t.Error("a rule is found that is not there")
	}
}

// Every rule that comes with the program says with which edition, so that a house that
// holds to an earlier one is asked nothing new.
func TestEveryRuleHasItsEdition(t *testing.T) {
	for _, rule := range Own().Rules {
		if rule.Since < 1 || rule.Since > Edition {
			t.Errorf("%s: since is %d; the editions are 1 to %d", rule.ID, rule.Since, Edition)
		}
	}
}
