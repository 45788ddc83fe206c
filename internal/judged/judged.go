// Package judged hands tests the evenings of the yardstick: the halls of testdata/judgement, each with one
// thing changed, by names such as "almond/lectern-left-on".
package judged

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

// Text is an evening as one document of JSON.
func Text(t testing.TB, name string) []byte {
	t.Helper()
	hall, short, _ := strings.Cut(name, "/")
	folder := filepath.Join(halls(t), hall)
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
	return text
}

// Show is an evening as it is read.
func Show(t testing.TB, name string) *schema.Show {
	t.Helper()
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(Text(t, name))), StdinName: "show.json"})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range loaded.Findings {
		if f.Rule == "file/syntax" {
			t.Fatal(f.Message)
		}
	}
	return loaded.Show
}

// Table holds what is said of some evenings against a golden file, in which each has a line "= hall/case" and what
// is said below it. With CUEPROOF_UPDATE=1 it is written; otherwise is what a reader is told where it differs.
func Table(t *testing.T, golden, otherwise string, say func(name string) string) {
	t.Helper()
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	var got strings.Builder
	for _, line := range strings.Split(string(want), "\n") {
		if name, ok := strings.CutPrefix(line, "= "); ok {
			got.WriteString(line + "\n" + say(name))
		}
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")); diff != "" {
		t.Errorf("%s (CUEPROOF_UPDATE=1 writes it):\n%.3000s", otherwise, diff)
	}
}

// halls is the folder of the halls, as seen from the package that is tested.
func halls(t testing.TB) string {
	t.Helper()
	for top := "."; len(top) < 40; top = filepath.Join("..", top) {
		folder := filepath.Join(top, "testdata", "judgement")
		if _, err := os.Stat(folder); err == nil {
			return folder
		}
	}
	t.Fatal("there is no testdata/judgement above this folder")
	return ""
}
