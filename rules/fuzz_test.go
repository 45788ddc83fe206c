package rules

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"pgregory.net/rapid"
)

// words are what expressions are made of, right and wrong.
var words = []string{
	"fixture", "cue", "limit", "limit.max", ".channel", ".cri", ".overlaps", ".name", ".Names", ".unpatched_settings", "?.cri", "[0]", "[-1]", "[1:2]",
	"and", "or", "not", "==", "!=", "<", ">=", "+", "-", "*", "/", "%", "**", "^", "..", "in", "not in", "matches", "contains", "startsWith", "??", "|", "?", ":",
	"(", ")", "[", "]", "{", "}", ",", ";", "#", "#acc", "#index", "nil", "true", "let x =", "x", "if", "else", "$env", "\"", "'", "`", "\\", "//", "/*", "*/",
	"0", "1", "0x1F", "1e308", "1e-308", "9223372036854775807", "99999999999999999999", "\"a\"", "'é'", "\n", "\t", "\u0000", "\u2028", "🎭",
	"all(", "any(", "none(", "count(", "filter(", "map(", "sum(", "len(", "min(", "max(", "abs(", "round(", "join(", "lower(", "known(", "divide(", "now(", "reduce(", "repeat(", "sortBy(",
}

// bounded is what the properties below hold on to: whatever the text, a rule loads
// or has a mistake with a place in its file; and what loads gives a verdict.
func bounded(t interface{ Fatalf(string, ...any) }, m *facts.Measured, text string) {
	set, mistakes := load(text)
	if len(set.Rules) == 0 && len(mistakes) == 0 {
		t.Fatalf("no rule and no mistake in\n%s", text)
	}
	for _, mistake := range mistakes {
		at := mistake.Place
		if at.File == nil || at.Start < 0 || at.Start > at.Stop || at.Stop > len(at.File.Text) {
			t.Fatalf("%q stands at %d to %d of %d bytes of\n%s", mistake.Message, at.Start, at.Stop, len(at.File.Text), text)
		}
		if mistake.Message == "" {
			t.Fatalf("a mistake without a word in\n%s", text)
		}
	}
	found, _ := set.Judge(m)
	for _, f := range found {
		if strings.Contains(f.Message, "NaN") || strings.Contains(f.Message, "Inf") {
			t.Fatalf("%q is said by\n%s", f.Message, text)
		}
	}
}

// block writes a text as a literal block, so that YAML takes it as it is.
func block(key, text string) string {
	return key + ": |2\n  " + strings.ReplaceAll(text, "\n", "\n  ")
}

func TestAnyExpressionIsBounded(t *testing.T) {
	m := measured(t, halfKnown)
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 30).Draw(t, "words"), rapid.SampledFrom([]string{"", " "}).Draw(t, "between"))
		over := rapid.SampledFrom([]string{"fixture", "cue"}).Draw(t, "over")
		where := rapid.SampledFrom([]string{"expect", "when", "say", "hint"}).Draw(t, "where")
		if where == "say" || where == "hint" {
			text = "{" + text + "}"
		}
		bounded(t, m, written("over: "+over, block(where, text), "limits: {max: {value: 3, unit: \"\", source: x}}"))
	})
}

func TestAnyTextAsExpressionIsBounded(t *testing.T) {
	m := measured(t, halfKnown)
	rapid.Check(t, func(t *rapid.T) {
		bounded(t, m, written(block("expect", rapid.String().Draw(t, "text"))))
	})
}

// yamlPieces are what YAML is made of, right and wrong.
var yamlPieces = []string{
	"title", "expect", "say", "limits", "a", "1", "é", "true", "null", "~", ".nan", ".inf", "0x1", "1_000", "2026-01-01",
	":", ": ", "- ", "? ", "|", ">", "|-", ">+", "|2", "\"", "'", "&a ", "*a", "!!str ", "!x ", "{", "}", "[", "]", ", ", "#", " # ", "<<: ", "---", "...", "%YAML 1.2",
	"\n", "\n", "\n  ", "\n    ", "\r\n", "\r", " ", "\t", "\\", "\\u00", "@", "`", "\ufeff", "\u2028", "\u0000",
}

func TestAnyYAMLIsBounded(t *testing.T) {
	m := measured(t, halfKnown)
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(yamlPieces), 0, 40).Draw(t, "pieces"), "")
		bounded(t, m, text)
		bounded(t, m, written("hint: "+text))
	})
}

// TestHostileYAMLIsBounded gives Load what makes careless readers of YAML run out
// of stack, memory or patience, as large as a rule file may be.
func TestHostileYAMLIsBounded(t *testing.T) {
	m := measured(t, halfKnown)
	fill := func(piece string) string { return strings.Repeat(piece, maxRuleFile/len(piece)) }
	var stairs strings.Builder
	for depth := 0; stairs.Len() < maxRuleFile-1000; depth++ {
		stairs.WriteString(strings.Repeat(" ", depth) + "a:\n")
	}
	for _, text := range []string{
		fill("["), fill("{a: "), fill("- "), fill("? "), fill("a: "), fill("!a "), fill("&a "), fill("\""), fill("'"), fill("\n"), fill("#"), fill("\t"),
		fill("a: b\n"), fill("---\n"), fill("|\n"), fill("- a\n"), stairs.String(), "a: " + fill("x"), "a: |\n" + fill(" x\n"),
		"a: &a [" + strings.Repeat("*a, ", 1000) + "]",
	} {
		bounded(t, m, text[:min(len(text), maxRuleFile)])
	}
}

// FuzzLoad gives Load any bytes as a rule.yaml.
func FuzzLoad(f *testing.F) {
	set, _ := Load(BuiltIn(), "")
	for _, rule := range set.Rules {
		f.Add(rule.code.compiler.file.Text)
	}
	for _, text := range []string{"", "a", "- a", "a: &a [*a]", "? [a]\n: b", "a: |\n", "a: >9\n x", "a: \"\\", "!!binary a", "%YAML 1.2\n---\n", "\ufeffa: b", "a: 'b\r\n\r\n c'", "{a: b, c", "a:\n\t- b"} {
		f.Add(text)
		f.Add(written(text))
	}
	m := measured(f, halfKnown)
	f.Fuzz(func(t *testing.T, text string) { bounded(t, m, text) })
}

// TestTheMostWorkARuleCanAsk judges a large show by the longest loops and the
// longest expression that are let through; a test that is stuck here has found
// one that should not be. Nothing is timed.
func TestTheMostWorkARuleCanAsk(t *testing.T) {
	const many = 2000
	var patch []string
	for i := range many {
		patch = append(patch, fmt.Sprintf(`{"channel": %d, "address": "%d.%d"}`, i+1, i/512+1, i%512+1))
	}
	m := measured(t, fmt.Sprintf(`{"patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "%d-%d", "level": 50}]}]}`, strings.Join(patch, ","), many+1, 3*many))

	most := func(piece, between string) string { // as many pieces as an expression may have
		text := piece
		for {
			longer := text + between + piece
			set, _ := load(written("over: cue", block("expect", longer)))
			if len(set.Rules) == 0 {
				return text
			}
			text = longer
		}
	}
	for _, c := range []struct{ over, expect string }{
		{"cue", most(`all(cue.unpatched, # > 0)`, " and ")},
		{"cue", most(`sum(map(filter(cue.unpatched, # > 0), # * 2)) > 0`, " and ")},
		{"cue", most(`len(join(map(cue.unpatched, lower(cue.name)), cue.name)) >= 0`, " and ")},
		{"fixture", strings.ReplaceAll(most(`cue.number != "x"`, " and "), "cue.number", "fixture.name")},
	} {
		rule := mustLoad(t, written("over: "+c.over, block("expect", c.expect)))
		set := &Set{Rules: []*Rule{rule}}
		found, tallies := set.Judge(m)
		if want := map[string]int{"cue": 1, "fixture": many}[c.over]; tallies[0].Subjects != want || len(found) != 0 {
			t.Errorf("%d subjects, wanted %d; %d findings of %.60s..., wanted none", tallies[0].Subjects, want, len(found), c.expect)
		}
	}
}
