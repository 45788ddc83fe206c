package facts

import (
	"reflect"
	"sort"
)

// Fact is one fact of a subject, by the word that rules use for it.
type Fact struct {
	Word  string
	Value any // float64, int, string, bool, []int or []string; nil if it is unknown
}

// WordsOf lists the facts of a kind of subject that are plain values: numbers,
// words, truths and lists of those, in the order in which they are declared.
func WordsOf(kind string) []string {
	subject, known := Kinds()[kind]
	if !known {
		return nil
	}
	var words []string
	t := reflect.TypeOf(subject).Elem()
	for i := range t.NumField() {
		if word := t.Field(i).Tag.Get("expr"); word != "" && plain(t.Field(i).Type) {
			words = append(words, word)
		}
	}
	return words
}

// ValueOf returns a fact of a subject by its word. A fact that is unknown has
// the value nil.
func ValueOf(subject Subject, word string) (fact Fact, ok bool) {
	v := reflect.ValueOf(subject).Elem()
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("expr") != word || !plain(v.Type().Field(i).Type) {
			continue
		}
		field := v.Field(i)
		if field.Kind() == reflect.Pointer {
			if field.IsNil() {
				return Fact{Word: word}, true
			}
			field = field.Elem()
		}
		return Fact{word, field.Interface()}, true
	}
	return Fact{}, false
}

// plain reports whether a fact is a value that can be printed by itself.
func plain(t reflect.Type) bool {
	if t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Float64, reflect.Int, reflect.String, reflect.Bool:
		return true
	default:
		return false
	}
}

// KindNames lists the kinds of subject, sorted.
func KindNames() []string {
	var names []string
	for name := range Kinds() {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}
