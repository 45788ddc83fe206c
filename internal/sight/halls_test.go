package sight_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/sight"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// hall reads a case of the yardstick: one of its halls with one thing changed.
func hall(t *testing.T, name string) *schema.Show {
	t.Helper()
	folder, short, _ := strings.Cut(name, "/")
	folder = filepath.Join("..", "..", "testdata", "judgement", folder)
	base, err := os.ReadFile(filepath.Join(folder, "base.json"))
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(folder, "cases", short+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var about struct{ Patch json.RawMessage }
	if err := json.Unmarshal(data, &about); err != nil {
		t.Fatal(err)
	}
	text, err := cases.Merge(base, about.Patch)
	if err != nil {
		t.Fatal(err)
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(text)), StdinName: "show.json"})
	if err != nil {
		t.Fatal(err)
	}
	return loaded.Show
}

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
	const golden = "testdata/scenes.txt"
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	set := rules.Own()
	var cards []finding.Rule
	for _, rule := range set.Rules {
		cards = append(cards, rule.Rule)
	}
	var got strings.Builder
	for _, line := range strings.Split(string(want), "\n") {
		name, ok := strings.CutPrefix(line, "= ")
		if !ok {
			continue
		}
		fmt.Fprintf(&got, "= %s\n", name)
		show := hall(t, name)
		m := facts.Measure(show, tracking.Resolve(show))
		found, _ := set.Judge(m)
		scene := reflect.ValueOf(sight.Of(m, show, sight.Options{Rules: cards, Found: found})).Elem()
		for i := range scene.NumField() {
			field := scene.Field(i)
			if field.Kind() != reflect.Slice {
				fmt.Fprintf(&got, "%s: %s\n", scene.Type().Field(i).Name, short(field))
				continue
			}
			for k := range field.Len() {
				fmt.Fprintf(&got, "%s: %s\n", scene.Type().Field(i).Name, short(field.Index(k)))
			}
		}
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")); diff != "" {
		t.Errorf("scenes are others (CUEPROOF_UPDATE=1 writes them):\n%.3000s", diff)
	}
}
