package schema

import (
	"math"
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
		if got, ok := parseGrey(GreyText(pct)); !ok || got.Transmission == nil || math.Abs(*got.Transmission-pct/100) > 1e-6 {
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
	for text, want := range map[string]Aim{"pulpit": {Name: "pulpit"}, "x 1, y 2.5, z -3": {Point: &Point{1, 2.5, -3}}, "x 1, y 2": {Name: "x 1, y 2"},
		"x 1, y 2, z three": {Name: "x 1, y 2, z three"}, "x 1, y 2, 3": {Name: "x 1, y 2, 3"}, "x 1, x 2, z 3": {Name: "x 1, x 2, z 3"}, "x NaN, y 2, z 3": {Name: "x NaN, y 2, z 3"}, "x 1, y -Inf, z 3": {Name: "x 1, y -Inf, z 3"}, "x 1, y 2, z 1e999": {Name: "x 1, y 2, z 1e999"}} {
		if got, ok := valueFor(reflect.TypeFor[Aim](), text); !ok || !reflect.DeepEqual(got.Interface(), want) {
			t.Errorf("%q is %+v, want %+v", text, got, want)
		}
	}
}

// TestPartsOfLight: a mix has emitters from none to all of their light, and a filter lets some of it through.
func TestPartsOfLight(t *testing.T) {
	for text, want := range map[string]any{
		"red 0, blue 100": map[string]float64{"red": 0, "blue": 100}, "deep red 0.5": map[string]float64{"deep red": 0.5},
		"red -0.1": nil, "red 100.1": nil, "red": nil, " 50": nil, "red NaN": nil, "red all": nil,
	} {
		if got, ok := valueFor(reflect.TypeFor[map[string]float64](), text); ok != (want != nil) || ok && !reflect.DeepEqual(got.Interface(), want) {
			t.Errorf("%q is the mix %v (%v), want %v", text, got, ok, want)
		}
	}
	for text, want := range map[string]float64{"grey 100 %": 1, "grey 0.5 %": 0.005, "grey 0 %": 0, "grey 100.1 %": 0, "grey -1 %": 0, "50 %": 0, "grey NaN %": 0, "grey half": 0} {
		if got, ok := parseGrey(text); ok != (want > 0) || ok && (got.Name != text || *got.Transmission != want) {
			t.Errorf("%q is %+v (%v), want %v of the light", text, got, ok, want)
		}
	}
}

// A level goes from nothing to full.
func TestLevelsOfEdits(t *testing.T) {
	for value, want := range map[float64]bool{0: true, 50.5: true, 100: true, 100.1: false, 124: false, -0.1: false} {
		if got, ok := valueFor(reflect.TypeFor[Level](), value); ok != want || ok && float64(got.Interface().(Level)) != value {
			t.Errorf("%v is the level %v, %v", value, got, ok)
		}
	}
}
