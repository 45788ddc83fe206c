package sight_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/judged"
	"github.com/cueproof/cueproof/internal/sight"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
)

// short writes a value on a line: what is nought, empty or unknown is left out, and of many numbers there are how many, their sum
// and the most.
func short(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return "&" + short(v.Elem())
	case reflect.Float64:
		if math.Abs(v.Float()) < 1e-5 {
			return "0" // processors differ in what is left of nothing
		}
		return fmt.Sprintf("%.5g", v.Float())
	case reflect.Struct:
		var words []string
		for i := range v.NumField() {
			if text := short(v.Field(i)); !v.Field(i).IsZero() && text != "" {
				words = append(words, v.Type().Field(i).Name+" "+text)
			}
		}
		return "{" + strings.Join(words, ", ") + "}"
	case reflect.Slice, reflect.Array:
		if list, ok := v.Interface().([]float64); ok && len(list) > 20 {
			sum, most := 0.0, list[0]
			for i, one := range list {
				sum, most = sum+one*float64(1+i%7), max(most, one) // so that places count
			}
			return fmt.Sprintf("%d numbers, %.5g, up to %.5g", len(list), sum, most)
		}
		var words []string
		for i := range v.Len() {
			words = append(words, short(v.Index(i)))
		}
		return "[" + strings.Join(words, "; ") + "]"
	default:
		return fmt.Sprint(v.Interface())
	}
}

// TestScenesOfHalls: what pictures of some judged evenings are drawn from. An evening is a line "= hall/case"; CUEPROOF_UPDATE=1
// writes what stands below it.
func TestScenesOfHalls(t *testing.T) {
	set := rules.Own()
	var cards []finding.Rule
	for _, rule := range set.Rules {
		cards = append(cards, rule.Rule)
	}
	judged.Table(t, "testdata/scenes.txt", "scenes are others", func(name string) string {
		show := judged.Show(t, name)
		m := facts.Measure(show, tracking.Resolve(show))
		found, _ := set.Judge(m)
		scene := reflect.ValueOf(sight.Of(m, show, sight.Options{Rules: cards, Found: found})).Elem()
		var said strings.Builder
		for i := range scene.NumField() {
			field := scene.Field(i)
			if field.Kind() != reflect.Slice {
				fmt.Fprintf(&said, "%s: %s\n", scene.Type().Field(i).Name, short(field))
				continue
			}
			for k := range field.Len() {
				fmt.Fprintf(&said, "%s: %s\n", scene.Type().Field(i).Name, short(field.Index(k)))
			}
		}
		return said.String()
	})
}
