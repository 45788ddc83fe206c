package rules

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// bothWays judges a subject with functions and with the machine.
func bothWays(t interface{ Errorf(string, ...any) }, rule *Rule, subject facts.Subject) {
	quick := rule.newJudgement()
	slow := quick
	slow.direct = nil
	slow.code.judge()
	verdict, missing := quick.verdict(subject)
	wanted, lacks := slow.verdict(subject)
	if verdict != wanted || !slices.Equal(missing, lacks) {
		t.Errorf("%s: %s, missing %q; the machine says %s, missing %q", rule.ID, verdict, missing, wanted, lacks)
	}
}

// Values around the limits of the rule, so that what is exactly at one of them is met.
func number(t *rapid.T, rule *Rule, word string) float64 {
	of := []float64{-3, -1e-12, 0, 0.1 + 0.2, 1, 2, 17.5, 1234.5678901234, 1e12}
	for _, limit := range rule.Limits {
		of = append(of, limit.Value, limit.Value*(1+1e-12), limit.Value-1, limit.Value+1)
	}
	return rapid.SampledFrom(of).Draw(t, word)
}

var wordsInRules = []string{"", "song", "talk", "opening", "key", "back", "beam", "drape", "wall", "phone", "loud", "quiet", "film", "fogger", "1.1"}

// fill gives the plain facts of a subject values, and leaves out some.
func fill(t *rapid.T, rule *Rule) facts.Subject {
	subject := facts.New(rule.Over)
	all := reflect.ValueOf(subject).Elem()
	for _, word := range facts.WordsOf(rule.Over) {
		field, _ := facts.FieldOf(all.Type(), word)
		v := all.FieldByIndex(field.Index)
		if v.Kind() == reflect.Pointer {
			if rapid.IntRange(0, 3).Draw(t, word+" known") == 0 {
				continue
			}
			v.Set(reflect.New(field.Type.Elem()))
			v = v.Elem()
		}
		switch v.Kind() {
		case reflect.Float64:
			v.SetFloat(number(t, rule, word))
		case reflect.Int:
			v.SetInt(int64(min(max(number(t, rule, word), -1e6), 1e6)))
		case reflect.String:
			v.SetString(rapid.SampledFrom(wordsInRules).Draw(t, word))
		case reflect.Bool:
			v.SetBool(rapid.Bool().Draw(t, word))
		case reflect.Slice:
			v.Set(reflect.MakeSlice(v.Type(), rapid.IntRange(0, 2).Draw(t, word), 2))
		}
	}
	return subject
}

// Every rule of the program is judged alike by both ways.
func TestFunctionsAndTheMachineAgree(t *testing.T) {
	set := Own()
	plain := 0
	for _, rule := range set.Rules {
		if rule.code.plainly() == nil {
			t.Logf("%s goes the library's way", rule.ID)
			continue
		}
		plain++
		for _, name := range rule.code.plainly().limits {
			if _, ok := rule.limits[name]; !ok {
				t.Errorf("%s has no limit %s", rule.ID, name)
			}
		}
	}
	if plain < len(set.Rules)*9/10 {
		t.Errorf("%d of %d rules are judged by functions; nearly all were", plain, len(set.Rules))
	}
	rapid.Check(t, func(t *rapid.T) {
		const some = 10 // of some 80
		for i := range some {
			rule := rapid.SampledFrom(set.Rules).Draw(t, fmt.Sprint("rule ", i))
			bothWays(t, rule, fill(t, rule))
		}
	})
}

// expressions draws what a rule of a house may say of a fixture.
type expressions struct{ *rapid.T }

func (e expressions) of(depth int, leaves, forms []string) string {
	list := leaves
	if depth > 0 {
		list = append(slices.Clone(leaves), forms...)
	}
	form := rapid.SampledFrom(list).Draw(e.T, "form")
	return regexp.MustCompile("[NTW]").ReplaceAllStringFunc(form, func(part string) string {
		switch part {
		case "N":
			return e.number(depth - 1)
		case "T":
			return e.truth(depth - 1)
		}
		return e.word(depth - 1)
	})
}

func (e expressions) number(depth int) string {
	return e.of(depth, []string{"fixture.channel", "fixture.cri", "fixture.tlci", "fixture.slot", "limit.a", "limit.none", "3", "0.5", "len(fixture.twins)"},
		[]string{"(N + N)", "(N - N)", "(N * N)", "(N / N)", "(-N)", "abs(N)", "min(N, N)", "max(N, N)", "round(N)", "(T ? N : N)"})
}

func (e expressions) word(depth int) string {
	return e.of(depth, []string{"fixture.purpose", "fixture.address", "fixture.name", `"key"`, `""`}, []string{"(T ? W : W)", "(W + W)"})
}

func (e expressions) truth(depth int) string {
	return e.of(depth, []string{"fixture.needs_cues", "fixture.type_known", "fixture.cri == nil", "nil != fixture.tlci", "true", "false"},
		[]string{"N < N", "N <= N", "N > N", "N >= N", "N == N", "N != N", "W == W", "W != W", "(T and T)", "(T or T)", "not (T)", "(T ? T : T)", `(W in ["key", "back"])`, "(T == T)"})
}

// So is nearly all that may stand in a rule of a house.
func TestFunctionsAgreeOnAnyRule(t *testing.T) {
	m := measured(t, halfKnown)
	loaded, direct := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text := "(" + (expressions{t}).truth(4) + ") or limit.a == limit.none"
		set, _ := load(written("over: fixture", block("expect", text), "limits: {a: {value: 3, unit: \"\", source: x}, none: {value: 0, unit: \"\", source: x}}"))
		for _, rule := range set.Rules { // none if the text is too long
			loaded++
			if rule.code.plainly() != nil {
				direct++
			}
			for _, subject := range m.Subjects("fixture") {
				bothWays(t, rule, subject)
			}
		}
	})
	if direct == 0 {
		t.Errorf("none of %d rules that were drawn is judged by functions", loaded)
	}
	t.Logf("%d of %d rules by functions", direct, loaded)
}

// What is asked of nearly every rule is asked by functions, on either side of a sign; what makes no sense is left to the machine.
func TestWhatIsJudgedByFunctions(t *testing.T) {
	for text, want := range map[string]bool{
		"fixture.cri == nil": true, "nil == fixture.cri": true, "fixture.cri != nil": true, "nil != fixture.cri": true, "fixture.channel == 7": true, `fixture.purpose == "key"`: true,
		"fixture.needs_cues == fixture.type_known": true, "(fixture.channel == 7) == nil": false,
	} {
		set, mistakes := load(written("over: fixture", block("expect", text)))
		if len(set.Rules) != 1 {
			t.Errorf("%s: %v", text, mistakes)
			continue
		}
		if got := set.Rules[0].code.plainly() != nil; got != want {
			t.Errorf("%s is judged by functions: %v", text, got)
		}
	}
}

func TestWhatAPointerHolds(t *testing.T) {
	number, one := 2.5, struct{ X int }{1}
	var none *float64
	if deref(none) != nil || deref(&number) != 2.5 || deref("word") != "word" || deref(&one) != any(&one) || deref(nil) != nil {
		t.Errorf("pointers hold %v, %v, %v", deref(none), deref(&number), deref(&one))
	}
}
