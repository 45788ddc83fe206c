package schema

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// What is a list, a point or a mix in a file is the same after it was the text of an edit.
func TestValuesOfEditsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-50, 50)
		point := Point{number.Draw(t, "x"), number.Draw(t, "y"), number.Draw(t, "z")}
		if got, ok := ParsePoint(PointText(point)); !ok || got != point {
			t.Fatalf("%q is %v", PointText(point), got)
		}
		mix := rapid.MapOfN(rapid.StringMatching(`[a-z]{1,6}( [a-z]{1,6})?`), rapid.Float64Range(0, 100), 1, 6).Draw(t, "mix")
		if got, ok := parseMix(MixText(mix)); !ok || !reflect.DeepEqual(got, mix) {
			t.Fatalf("%q is %v", MixText(mix), got)
		}
		pct := rapid.Float64Range(1, 100).Draw(t, "filter")
		if got, ok := parseGrey(GreyText(pct)); !ok || got.Transmission == nil || *got.Transmission-pct/100 > 1e-6 {
			t.Fatalf("%q is %v", GreyText(pct), got)
		}
		names := rapid.SliceOfN(rapid.StringMatching(`[a-z]{1,6}( [a-z]{1,6})?`), 1, 5).Draw(t, "names")
		value, ok := valueFor(reflect.TypeFor[[]string](), ListText(names))
		if !ok || !reflect.DeepEqual(value.Interface(), names) {
			t.Fatalf("%q is %v", ListText(names), value)
		}
	})
}

func TestAnAimIsAPlaceOrAPoint(t *testing.T) {
	for text, want := range map[string]Aim{"pulpit": {Name: "pulpit"}, "x 1, y 2.5, z -3": {Point: &Point{1, 2.5, -3}}, "x 1, y 2": {Name: "x 1, y 2"}} {
		if got, ok := valueFor(reflect.TypeFor[Aim](), text); !ok || !reflect.DeepEqual(got.Interface(), want) {
			t.Errorf("%q is %+v, want %+v", text, got, want)
		}
	}
}
