package start

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"github.com/cueproof/cueproof/schema"
)

// How far a derived number may be from the hall and still be right: metres for what
// hangs and stands and for what lamps point at, parts of the value for the rest.
const (
	nearPlace = 1.0
	nearAim   = 1.5
	nearPart  = 0.02
)

// A first evening of a hall of 30 fixtures: at most ten questions with at most forty
// values, and every value that is derived held against the hall as it was written down
// by hand. What is wrong is listed one by one; what is assumed says a range, and the
// hall has to lie in it.
func TestAFirstEveningOfThirtyFixtures(t *testing.T) {
	evening, err := txtar.ParseFile("testdata/evening.txtar")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	var answered map[string]string
	for _, f := range evening.Files {
		if f.Name == "answers.txt" {
			if answered, err = ReadAnswers(string(f.Data)); err != nil {
				t.Fatal(err)
			}
			continue
		}
		name := filepath.Join(folder, f.Name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	runWith(t, folder, load(t, folder), answered)
	got, want := load(t, folder), load(t, filepath.Join(folder, "hall"))
	if len(got.Patch) != 30 || len(want.Patch) != 30 {
		t.Fatalf("%d and %d fixtures", len(got.Patch), len(want.Patch))
	}
	derived, truth := flatten(got), flatten(want)
	count, ranged, wrong := 0, 0, []string{}
	for _, path := range slices.Sorted(keysOf(truth)) {
		is, has := derived[path]
		if !has {
			wrong = append(wrong, fmt.Sprintf("%s is not known, it is %v", path, truth[path].value))
			continue
		}
		count++
		switch {
		case same(path, is.value, truth[path].value):
		case is.high > is.low && within(truth[path].value, is.low, is.high):
			ranged++
		default:
			wrong = append(wrong, fmt.Sprintf("%s is %v, it is %v", path, is.value, truth[path].value))
		}
	}
	if f := got.Patch[22]; f.AimedAt != nil {
		wrong = append(wrong, "moving beams point somewhere, where their cues do not say it")
	}
	t.Logf("%d values compared, %d of them right within the range that they say, %d wrong or not known", count, ranged, len(wrong))
	golden := filepath.Join("testdata", "wrong.txt")
	text := fmt.Sprintf("%d values compared; %d differ within the range that they say; wrong or not known are %d:\n%s\n", count, ranged, len(wrong), strings.Join(wrong, "\n"))
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if before, _ := os.ReadFile(golden); string(before) != text {
		t.Errorf("got\n%s\nwant\n%s", text, before)
	}
}

type leaf struct {
	value     any
	low, high float64 // how far it may be off, where it is assumed
}

func keysOf(m map[string]leaf) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for key := range m {
			if !yield(key) {
				return
			}
		}
	}
}

// flatten gives the values of a show by their paths, things of a list by their names.
func flatten(show *schema.Show) map[string]leaf {
	data, err := json.Marshal(map[string]any{"room": show.Room, "types": show.Types, "patch": show.Patch, "order": show.Order})
	if err != nil {
		panic(err)
	}
	var tree any
	if err := json.Unmarshal(data, &tree); err != nil {
		panic(err)
	}
	leaves := map[string]leaf{}
	var walk func(path string, value any, ranges map[string]any)
	walk = func(path string, value any, ranges map[string]any) {
		switch v := value.(type) {
		case nil:
		case map[string]any:
			knowing, _ := v["known"].(map[string]any)
			for key, inner := range v {
				if key != "known" && key != "note" && key != "palette" {
					walk(path+"/"+key, inner, knowing)
				}
			}
		case []any:
			for i, inner := range v {
				name := fmt.Sprint(i)
				if thing, ok := inner.(map[string]any); ok {
					for _, key := range []string{"channel", "name"} {
						if called, ok := thing[key]; ok {
							name = fmt.Sprint(called)
							break
						}
					}
				}
				walk(path+"/"+name, inner, ranges)
			}
		case string:
			if v != "" {
				leaves[path] = leaf{value: v}
			}
		default:
			one := leaf{value: v}
			if k, ok := ranges[path[strings.LastIndexByte(path, '/')+1:]].(map[string]any); ok {
				one.low, _ = k["Low"].(float64)
				one.high, _ = k["High"].(float64)
			}
			leaves[path] = one
		}
	}
	walk("", tree, nil)
	return leaves
}

func same(path string, is, want any) bool {
	a, okA := is.(float64)
	b, okB := want.(float64)
	if !okA || !okB {
		return is == want
	}
	away := math.Abs(a - b)
	switch {
	case strings.Contains(path, "/aimed_at/"):
		return away <= nearAim
	case strings.HasSuffix(path, "/x"), strings.HasSuffix(path, "/y"), strings.HasSuffix(path, "/z"), strings.Contains(path, "/areas/"):
		return away <= nearPlace
	}
	return away <= nearPart*math.Abs(b)
}

func within(value any, low, high float64) bool {
	v, ok := value.(float64)
	return ok && v >= low && v <= high
}
