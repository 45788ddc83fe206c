package facts

import (
	"reflect"
	"slices"
)

// together are the facts of a subject that others tell too, by kind: they may be others
// though the subject was taken over.
var together = map[string][]string{
	"fixture": {"used_in_looks", "face_share", "face_place", "face_cue", "pwm_hz", "band_depth_pct", "band_camera", "band_shutter_s", "band_light_pct", "band_cue"},
	"look":    {"output_pct", "output_of_peak_pct", "picture_of_peak_pct"},
	"person":  {"dark_back_text", "dark_stops", "held_hue", "held_hue_s"},
	"showing": {},
}

// Same tells of each subject of a kind whether all that rules can read off it is as it
// was in the state that [MeasureAgain] took over from, under the same names; nil where
// that cannot be told because there are more or fewer of them. What asks a subject in
// brackets may learn something else all the same.
func (m *Measured) Same(kind string) []bool {
	if m.before == nil {
		return nil
	}
	if same, done := m.same[kind]; done {
		return same
	}
	var same []bool
	if now, was := m.Subjects(kind), m.before.Subjects(kind); len(now) == len(was) && len(now) > 0 && kind != "lamp" { // lamps are made anew when they are asked for
		places := allPlacesOf(reflect.TypeOf(now[0]).Elem())
		var few [][]int
		for _, word := range together[kind] {
			few = append(few, places.byWord[word])
		}
		same = make([]bool, len(now))
		for i := range now {
			if same[i] = now[i] == was[i]; same[i] || now[i].Cue() != was[i].Cue() {
				continue
			}
			fields := places.all
			if from := now[i].(origin).origin(); from != nil && from == was[i].(origin).self() {
				fields = few
			}
			a, b := reflect.ValueOf(now[i]).Elem(), reflect.ValueOf(was[i]).Elem()
			same[i] = !slices.ContainsFunc(fields, func(index []int) bool {
				return !sameValue(a.FieldByIndex(index), b.FieldByIndex(index))
			})
		}
	}
	if m.same == nil {
		m.same = map[string][]bool{}
	}
	m.same[kind] = same
	return same
}

// origin is a subject that knows of which it is a copy.
type origin interface {
	origin() *unknowns
	self() *unknowns
}

func (u *unknowns) origin() *unknowns { return u.from }
func (u *unknowns) self() *unknowns   { return u }

func sameValue(a, b reflect.Value) bool {
	switch a.Kind() {
	case reflect.Pointer:
		if a.Pointer() == b.Pointer() {
			return true
		}
		return !a.IsNil() && !b.IsNil() && sameValue(a.Elem(), b.Elem())
	case reflect.Float64:
		return a.Float() == b.Float()
	case reflect.Int:
		return a.Int() == b.Int()
	case reflect.String:
		return a.String() == b.String()
	case reflect.Bool:
		return a.Bool() == b.Bool()
	case reflect.Slice:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !sameValue(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	}
	return false
}
