package schema

import (
	"reflect"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
)

// wordPlaces calls use with the text of a value that has a certain word at one place where a form wants one of a list, for every
// such place.
func wordPlaces(f *form, wrong string, within []*form, use func(text string)) {
	f = f.referred()
	if f == nil || slices.Contains(within, f) {
		return
	}
	within = append(within, f)
	if f.words != nil {
		use(`"` + wrong + `"`)
	}
	wordPlaces(f.items, wrong, within, func(text string) { use("[" + text + "]") })
	for name := range f.members {
		wordPlaces(f.member(name), wrong, within, func(text string) { use(`{"` + name + `": ` + text + "}") })
	}
}

// holds reports whether a text stands anywhere in a value but in the file that it was read from.
func holds(v reflect.Value, text string) bool {
	switch {
	case v.Type() == refType:
		return false
	case v.Kind() == reflect.String:
		return v.String() == text
	case v.Kind() == reflect.Pointer:
		return !v.IsNil() && holds(v.Elem(), text)
	case v.Kind() == reflect.Struct:
		for _, field := range v.Fields() {
			if holds(field, text) {
				return true
			}
		}
	case v.Kind() == reflect.Slice:
		for _, item := range v.Seq2() {
			if holds(item, text) {
				return true
			}
		}
	case v.Kind() == reflect.Map:
		for _, item := range v.Seq2() {
			if holds(item, text) {
				return true
			}
		}
	}
	return false
}

// A word that is refused is nowhere taken for one that says something: what a lamp is for, how a scene should feel.
func TestARefusedWordSaysNothing(t *testing.T) {
	places := 0
	for _, section := range Sections {
		wordPlaces(checkers[section].form(), "zounds", nil, func(text string) {
			file := &source.File{Name: section + ".json", Text: text}
			if problems, ok := source.ParseJSON(file); !ok {
				t.Fatalf("%s: %v", text, problems)
			}
			s := &Show{}
			s.Read(section, file.Root())
			s.ReadFrom = nil
			places++
			if holds(reflect.ValueOf(s), "zounds") {
				t.Errorf("kept of %s: %s", section, text)
			}
		})
	}
	if places < 20 {
		t.Errorf("%d places of words are known", places)
	}
}
