package facts

import (
	"math"
	"reflect"
	"slices"
	"sort"
	"strconv"
	"sync"
)

// Fact is one fact of a subject, by the word that rules use for it.
type Fact struct {
	Word  string
	Value any // float64, int, string, bool, []int or []string; nil if it is unknown
}

// Fields lists the fields of a kind of subject that rules have a word for, with
// those of the structs that it embeds, in the order in which they are declared.
// It is nil for a kind that does not exist.
func Fields(kind string) []reflect.StructField {
	subject, known := Kinds()[kind]
	if !known {
		return nil
	}
	return tagged(reflect.TypeOf(subject).Elem())
}

func tagged(t reflect.Type) []reflect.StructField {
	return slices.DeleteFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool { return f.Tag.Get("expr") == "" })
}

// WordsOf lists the facts of a kind of subject that are plain values: numbers,
// words, truths and lists of those, in the order in which they are declared.
func WordsOf(kind string) []string {
	var words []string
	for _, field := range Fields(kind) {
		if plain(field.Type) {
			words = append(words, field.Tag.Get("expr"))
		}
	}
	return words
}

// PlainWord reports whether a word of a kind of subject is a plain value.
func PlainWord(kind, word string) bool {
	subject, known := Kinds()[kind]
	return known && placesOf(reflect.TypeOf(subject).Elem())[word] != nil
}

// FieldOf is the plain fact of a type of subject that a word means.
func FieldOf(subject reflect.Type, word string) (field reflect.StructField, ok bool) {
	index, ok := placesOf(subject)[word]
	if !ok {
		return reflect.StructField{}, false
	}
	field = subject.FieldByIndex(index)
	field.Index = index // from the subject, not from what it embeds
	return field, true
}

// plainFields says where the plain facts of a type of subject stand, by word and in a row.
var plainFields sync.Map // reflect.Type -> plainPlaces

type plainPlaces struct {
	byWord map[string][]int
	all    [][]int
}

func placesOf(t reflect.Type) map[string][]int { return allPlacesOf(t).byWord }

func allPlacesOf(t reflect.Type) plainPlaces {
	known, done := plainFields.Load(t)
	if !done {
		p := plainPlaces{byWord: map[string][]int{}}
		for _, field := range tagged(t) {
			if plain(field.Type) {
				p.byWord[field.Tag.Get("expr")] = field.Index
				p.all = append(p.all, field.Index)
			}
		}
		known, _ = plainFields.LoadOrStore(t, p)
	}
	return known.(plainPlaces)
}

// digits are how many significant digits of a measured number count. Nothing in a booth
// is measured to five; sums of a thousand lamps in another order, or sines on another
// processor, differ in the sixteenth.
const digits = 9

// Round makes nine significant digits of a measured number, and no more than nine places
// after the point: the difference of two equal numbers is nothing, whatever its last bit
// says. It is done once to every fact, before anything is judged, compared or printed, so
// that what is exactly at a limit does not fall to one side of it by the last bit of a sum.
func Round(number float64) float64 {
	if rounded, ok := roundPlain(number); ok {
		return rounded
	}
	form, places := byte('e'), digits-1
	if math.Abs(number) < 1 {
		form, places = 'f', digits
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(number, form, places, 64), 64)
	if err != nil {
		return number
	}
	return rounded + 0 // -0 + 0 is 0
}

// roundPlain is Round of a number of a usual size that is not near the middle between two
// others: both parts of the quotient are then exact, and the nearest number to it is what
// its decimal digits are read as.
func roundPlain(number float64) (rounded float64, ok bool) {
	size, scale := math.Abs(number), 1e9
	switch {
	case !(size < 1e9):
		return 0, false
	case size >= 1:
		scale = 1e8
		for top := 10.0; size >= top; top *= 10 {
			scale /= 10
		}
	}
	whole := number * scale
	nearest := math.Round(whole)
	if math.Abs(math.Abs(whole-nearest)-0.5) < 1e-3 {
		return 0, false
	}
	return nearest/scale + 0, true
}

// ValueOf returns a fact of a subject by its word, numbers as [Round] makes them. A fact
// that is unknown has the value nil.
func ValueOf(subject Subject, word string) (fact Fact, ok bool) {
	v := reflect.ValueOf(subject).Elem()
	index, ok := placesOf(v.Type())[word]
	if !ok {
		return Fact{}, false
	}
	return Fact{word, plainOf(v.FieldByIndex(index))}, true
}

// Plain is a value as [ValueOf] gives it: what a pointer points to, nil for none, and
// numbers as [Round] makes them.
func Plain(value any) any { return plainOf(reflect.ValueOf(value)) }

func plainOf(v reflect.Value) any {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return nil
		}
		v = v.Elem()
	}
	if v.Kind() == reflect.Float64 {
		return Round(v.Float())
	}
	return v.Interface()
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
