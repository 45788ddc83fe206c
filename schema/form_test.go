package schema

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"
	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"
)

// maker draws documents near a schema: mostly right, sometimes wrong, so that
// both answers are tried at every keyword.
type maker struct {
	*rapid.T
	document *keywords
}

func (m maker) pick(label string, list ...any) any { return rapid.SampledFrom(list).Draw(m.T, label) }

// odd reports, one time in n, that something wrong is to be drawn.
func (m maker) odd(n int) bool { return rapid.IntRange(1, n).Draw(m.T, "odd") == 1 }

func (m maker) value(k *keywords) any {
	if name, local := strings.CutPrefix(k.Ref, "#/$defs/"); local {
		k = m.document.Defs[name]
	}
	if k.If != nil && strings.HasPrefix(k.Else.Ref, "#") && !m.odd(10) {
		return m.value([]*keywords{k.Then, k.Else}[rapid.IntRange(0, 1).Draw(m.T, "branch")])
	}
	if k.If != nil {
		if m.odd(2) {
			return m.pick("path", "room.json", "", "x", "black")
		}
		return m.pick("part", map[string]any{}, map[string]any{"intent": "sweep", "places": []any{"drums"}}, []any{}, 5.0, true, nil)
	}
	if m.odd(60) {
		return m.pick("other", nil, true, 1.0, "x", []any{1.0}, map[string]any{"x": 1.0})
	}
	if k.Enum != nil {
		if m.odd(20) {
			return m.pick("no word", "", "Tungsten", 3.0)
		}
		return rapid.SampledFrom(k.Enum).Draw(m.T, "word")
	}
	if len(k.Type) == 0 {
		return 1.0
	}
	switch rapid.SampledFrom(k.Type).Draw(m.T, "type") {
	case "object":
		return m.object(k)
	case "array":
		list := []any{}
		count := rapid.IntRange(0, 3).Draw(m.T, "items")
		if k.MinItems > 0 && !m.odd(10) {
			count = k.MinItems
		}
		for range count {
			list = append(list, m.value(k.Items))
		}
		return list
	case "string":
		texts := []string{"a", "", "70", "70 %", "FL", "Full", "full", "100.0%", "101", "12.5", "1.23456", "1.101", "-1/5", "1-1",
			"18:30", "24:00", "assumed", "2026-02-30", "2026-03-28T21:05:00+01:00", "#12aBcd", "#12", "beam.IES", "1-6,9", "é", "70\u00a0%", ".5", "."}
		if pattern := regexp.MustCompile(k.Pattern); !m.odd(10) {
			texts = slices.DeleteFunc(texts, func(text string) bool { return text == "" || !pattern.MatchString(text) })
		}
		return rapid.SampledFrom(texts).Draw(m.T, "text")
	case "boolean":
		return true
	case "integer":
		if !m.odd(10) {
			return 12.0
		}
		return m.pick("whole", 1.0, 0.0, -1.0, 1.5, 99999.0, 1e5, 1e300, 65535.0, 12.0)
	default:
		numbers := []any{0.0, 1.0, -1.0, 50.0, 0.1, 1e-9, 1e300}
		for _, bound := range []*float64{k.Minimum, k.Maximum, k.ExclusiveMinimum, k.ExclusiveMaximum} {
			if bound != nil {
				numbers = append(numbers, *bound, *bound+1, *bound-1, *bound*(1+1e-15), *bound*(1-1e-15))
			}
		}
		if !m.odd(10) && k.Maximum != nil {
			return *k.Maximum / 2
		}
		return m.pick("number", numbers...)
	}
}

func (m maker) json(k *keywords) []byte {
	text, err := json.Marshal(m.value(k))
	if err != nil {
		m.Fatal(err)
	}
	return text
}

func (m maker) object(k *keywords) any {
	object := map[string]any{}
	var names []string
	for name := range k.Properties {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if slices.Contains(k.Required, name) && !m.odd(20) || m.odd(4) {
			object[name] = m.value(k.Properties[name])
		}
	}
	if k.AdditionalProperties != nil && k.AdditionalProperties.Always == nil {
		for range rapid.IntRange(0, 2).Draw(m.T, "more") {
			object[m.pick("name", "red", "a/b", "c~d %", "note", "x_a", "").(string)] = m.value(k.AdditionalProperties)
		}
	}
	if m.odd(15) {
		object[m.pick("key", "x_a", "note", "$schema", "nme", "", "a/b").(string)] = m.pick("any", 1.0, nil, []any{map[string]any{}})
	}
	return object
}

// TestFormsAgreeWithTheLibrary draws documents and holds what forms affirm
// against the library: they agree both ways, so a form is never wrong and never
// sends what is right to the slow way.
func TestFormsAgreeWithTheLibrary(t *testing.T) {
	for _, name := range ofShow() {
		t.Run(name, func(t *testing.T) {
			document := readKeywords(name)
			part, form, library := document, checkers[name].form(), checkers[name].library().whole
			if isList(name) { // one item is enough, and more often right
				part, form, library = document.Items, form.items, library.Items2020
			}
			right, wrong := 0, 0
			rapid.Check(t, func(rt *rapid.T) {
				m := maker{rt, document}
				text := m.json(part)
				ref := parse(t, string(text))
				value := ref.Any()
				if name == "show" {
					value = head(ref)
				}
				err := library.Validate(value)
				if form.accepts(ref) != (err == nil) {
					rt.Fatalf("the form says %v, the library %v\n%s", form.accepts(ref), err, text)
				}
				if err == nil {
					right++
				} else {
					wrong++
				}
			})
			if (right == 0 || wrong == 0) && os.Getenv("CUEPROOF_LONG") != "" { // of so few all may be of one kind
				t.Errorf("%d documents were right and %d wrong: both have to be tried", right, wrong)
			}
		})
	}
}

// FuzzForms holds forms against the library for any JSON there is.
func FuzzForms(f *testing.F) {
	for _, text := range []string{`[{"cue":1,"set":[{"channels":"1","level":"Full","xy":[0.3,0.3]}]}]`, `{"places":[{"name":"a","x":1e400}]}`, `{"mix":{"":1}}`, `[]`, `[{"name":"a","zoom":{"narrow":{},"wide":{}}}]`} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file := &source.File{Name: "fuzz", Text: text}
		problems, ok := source.ParseJSON(file)
		if !ok {
			return
		}
		for _, name := range ofShow() {
			value := file.Root().Any()
			if name == "show" {
				value = head(file.Root())
			}
			err := checkers[name].library().whole.Validate(value)
			// Where a key stands twice or a number is beyond all numbers, a form may
			// doubt what the library takes; it may never affirm what the library refuses.
			if accepted := checkers[name].form().accepts(file.Root()); accepted && err != nil || !accepted && err == nil && len(problems) == 0 {
				t.Fatalf("%s: the form says %v, the library %v", name, accepted, err)
			}
			found := Validate(name, file.Root())
			if err != nil && len(found) == 0 && len(problems) == 0 {
				t.Fatalf("%s: wrong without a word: %v", name, err)
			}
			for i := range found {
				found[i].Identity()
				found[i].Place.Span()
			}
		}
	})
}

// leaves gives every place in value and schema that the library refuses.
func leaves(invalid *jsonschema.ValidationError, list []string) []string {
	for _, cause := range invalid.Causes {
		list = leaves(cause, list)
	}
	if len(invalid.Causes) == 0 {
		list = append(list, invalid.AbsoluteKeywordLocation+" "+invalid.InstanceLocation)
	}
	return list
}

// TestExcerptsLoseNothing holds what is said of an excerpt against what is said
// of the whole value.
func TestExcerptsLoseNothing(t *testing.T) {
	whole, form := checkers["cues"].library().whole, checkers["cues"].form()
	rapid.Check(t, func(rt *rapid.T) {
		m := maker{rt, readKeywords("cues")}
		text := fmt.Sprintf("[%s,%s]", m.json(m.document.Items), m.json(m.document.Items))
		ref := parse(t, text)
		count := func(value any) map[string]int {
			counts := map[string]int{}
			var invalid *jsonschema.ValidationError
			if errors.As(whole.Validate(value), &invalid) {
				for _, leaf := range leaves(invalid, nil) {
					part, _, _ := strings.Cut(leaf, " ")
					counts[part]++
				}
			}
			return counts
		}
		e := newExcerpt(func() bool { return true })
		want, got := count(ref.Any()), count(e.take(ref, form))
		if fmt.Sprint(want) != fmt.Sprint(got) {
			rt.Fatalf("the whole has %v\nthe excerpt %v\n%s", want, got, text)
		}
	})
}

// A list of which a schema says that it has no item, or so many at most, has no more.
func TestListsOfNoMoreThan(t *testing.T) {
	for _, test := range []struct {
		least, most int
		text        string
		want        bool
	}{
		{0, -1, "[1, 2, 3]", true}, {0, 0, "[]", true}, {0, 0, "[1]", false}, {0, 1, "[1]", true}, {0, 1, "[1, 2]", false}, {1, -1, "[]", false}, {1, -1, "[1]", true},
	} {
		file := &source.File{Text: test.text}
		if problems, ok := source.ParseJSON(file); !ok {
			t.Fatal(problems)
		}
		if got := (&form{minItems: test.least, maxItems: test.most}).acceptsList(file.Root()); got != test.want {
			t.Errorf("%s of %d to %d items: %v", test.text, test.least, test.most, got)
		}
	}
}
