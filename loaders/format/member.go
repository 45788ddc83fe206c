package format

import (
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Member is a field of an entity under the key that it has in show files.
type Member struct {
	Key   string
	Index []int // in the Go type, through embedded structs
}

// Members lists the fields of an entity.
func Members(t reflect.Type) []Member {
	var list []Member
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if key != "" && key != "-" {
			list = append(list, Member{key, []int{i}})
		} else if field := t.Field(i); field.Anonymous && field.Type.Kind() == reflect.Pointer {
			for _, m := range Members(field.Type.Elem()) {
				list = append(list, Member{m.Key, append([]int{i}, m.Index...)})
			}
		}
	}
	return list
}

// Same compares two values of a field; what was not touched is shared.
func Same(a, b reflect.Value) bool {
	if a.Kind() == reflect.Slice && a.Len() == b.Len() && a.Pointer() == b.Pointer() {
		return true
	}
	if a.Kind() == reflect.Pointer && a.Pointer() == b.Pointer() {
		return true
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// PlaceOf returns where an entity was read, given a pointer to it.
func PlaceOf(v reflect.Value) (source.Ref, bool) {
	if v.Kind() != reflect.Pointer || v.IsNil() || v.Elem().Kind() != reflect.Struct {
		return source.Ref{}, false
	}
	at := v.Elem().FieldByName("At")
	if !at.IsValid() {
		return source.Ref{}, false
	}
	ref, ok := at.Interface().(source.Ref)
	return ref, ok && !ref.IsZero()
}

// Number writes a number as people do, with all its digits.
func Number(v float64) string {
	if v != 0 && (math.Abs(v) < 1e-6 || math.Abs(v) >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v+0, 'f', -1, 64)
}
