package schema

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/source"
)

// reader is a value with its own notation: a level, a cue number, an aim.
type reader interface {
	read(ref source.Ref) bool
}

var (
	readerType = reflect.TypeFor[reader]()
	refType    = reflect.TypeFor[source.Ref]()
)

// decode fills a pointer from a value tree. What does not fit is left out and
// reported by the schema check of the same tree, so decode never fails; it
// returns whether the value itself fitted.
func decode(ref source.Ref, into any) bool { return decodeBy(nil, ref, into) }

// decodeBy does so by a form, if there is one: a word that is none of a list is
// left out as well. It means nothing here, and what stands in its place is not known.
func decodeBy(f *form, ref source.Ref, into any) bool {
	return decodeValue(f, ref, reflect.ValueOf(into).Elem())
}

func decodeValue(f *form, ref source.Ref, v reflect.Value) bool {
	f = f.referred()
	if v.Kind() != reflect.Pointer && v.CanAddr() && v.Addr().Type().Implements(readerType) {
		return v.Addr().Interface().(reader).read(ref)
	}
	switch v.Kind() {
	case reflect.Pointer:
		target := reflect.New(v.Type().Elem())
		if !decodeValue(f, ref, target.Elem()) {
			return false
		}
		v.Set(target)
	case reflect.Struct:
		return decodeStruct(f, ref, v)
	case reflect.Slice:
		return decodeSlice(f, ref, v)
	case reflect.Map:
		return decodeMap(f, ref, v)
	case reflect.String:
		if ref.Kind() != source.String || f != nil && f.words != nil && !slices.Contains(f.words, ref.Str()) {
			return false
		}
		v.SetString(ref.Str())
	case reflect.Float64:
		number, ok := ref.Float()
		if !ok {
			return false
		}
		v.SetFloat(number)
	case reflect.Int:
		number, ok := ref.Float()
		if !ok || number != math.Trunc(number) || math.Abs(number) > 1<<31 {
			return false
		}
		v.SetInt(int64(number))
	case reflect.Bool:
		truth, ok := ref.Truth()
		if !ok {
			return false
		}
		v.SetBool(truth)
	default:
		panic("schema: no reading for " + v.Type().String())
	}
	return true
}

func decodeStruct(f *form, ref source.Ref, v reflect.Value) bool {
	if ref.Kind() != source.Object {
		return false
	}
	fields := fieldsOf(v.Type())
	if fields.at >= 0 {
		v.Field(fields.at).Set(reflect.ValueOf(ref.Lasting()))
	}
	for _, index := range fields.embedded {
		v.Field(index).Set(reflect.New(v.Type().Field(index).Type.Elem()))
	}
	for member := range ref.Items() {
		if index, known := fields.byName[member.Key()]; known {
			decodeValue(f.member(member.Key()), member, v.FieldByIndex(index))
		}
	}
	return true
}

func decodeSlice(f *form, ref source.Ref, v reflect.Value) bool {
	if ref.Kind() != source.Array {
		return false
	}
	var items *form
	if f != nil {
		items = f.items
	}
	list := reflect.MakeSlice(v.Type(), 0, 8)
	for item := range ref.Items() {
		value := reflect.New(v.Type().Elem()).Elem()
		if decodeValue(items, item, value) {
			list = reflect.Append(list, value)
		}
	}
	v.Set(list)
	return true
}

func decodeMap(f *form, ref source.Ref, v reflect.Value) bool {
	if ref.Kind() != source.Object {
		return false
	}
	m := reflect.MakeMap(v.Type())
	for member := range ref.Items() {
		value := reflect.New(v.Type().Elem()).Elem()
		if decodeValue(f.member(member.Key()), member, value) {
			m.SetMapIndex(reflect.ValueOf(member.Key()), value)
		}
	}
	v.Set(m)
	return true
}

type structFields struct {
	at       int              // index of the field At, or -1
	byName   map[string][]int // through embedded structs
	embedded []int            // pointers to structs whose fields count as its own
}

var fieldCache sync.Map // reflect.Type -> structFields

func fieldsOf(t reflect.Type) structFields {
	if cached, ok := fieldCache.Load(t); ok {
		return cached.(structFields)
	}
	fields := structFields{at: -1, byName: map[string][]int{}}
	for i := range t.NumField() {
		field := t.Field(i)
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		switch {
		case field.Name == "At" && field.Type == refType:
			fields.at = i
		case name != "-" && name != "":
			fields.byName[name] = []int{i}
		case field.Anonymous && field.Type.Kind() == reflect.Pointer:
			fields.embedded = append(fields.embedded, i)
			for name, index := range fieldsOf(field.Type.Elem()).byName {
				fields.byName[name] = append([]int{i}, index...)
			}
		}
	}
	fieldCache.Store(t, fields)
	return fields
}
