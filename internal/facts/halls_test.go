package facts_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
)

// hall reads a case of the yardstick: one of its halls with one thing changed.
func hall(t *testing.T, name string) *facts.Measured {
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
	return facts.Measure(loaded.Show, tracking.Resolve(loaded.Show))
}

// told are all facts of a subject by their words: what is known, with what it rests on and how far it may be off, and why the
// rest is not. What is nought, empty or not so is left out.
func told(kind string, s facts.Subject) map[string]string {
	all := map[string]string{}
	for _, word := range facts.WordsOf(kind) {
		fact, _ := facts.ValueOf(s, word)
		basis := s.Basis(word)
		text := fmt.Sprint(fact.Value)
		if number, ok := fact.Value.(float64); ok {
			if text = fmt.Sprintf("%.6g", number); math.Abs(number) < 1e-5 {
				text = "0" // processors differ in what is left of nothing
			}
		}
		switch {
		case fact.Value == nil || text == "<nil>":
			if text = strings.Join(s.Why(word), "; "); text != "" {
				all[word] = "wants " + text
			}
			continue
		case slices.Contains([]string{"0", "", "false", "[]"}, text) && len(basis.Rests) == 0:
			continue
		}
		if len(basis.Rests) > 0 {
			text += " by " + strings.Join(basis.Rests, "; ")
		}
		if basis.Range != nil {
			text += fmt.Sprintf(" (%.4g to %.4g)", basis.Range.Low, basis.Range.High)
		}
		all[word] = text
	}
	return all
}

// listed are subjects of a kind, a line each, with what is other than of the one before, or of the last that is called alike.
func listed(kind string, subjects []facts.Subject) string {
	var text strings.Builder
	last := map[string]map[string]string{}
	for _, s := range subjects {
		now, called := told(kind, s), ""
		for _, name := range s.Names() {
			called += " " + name.Name
		}
		first := s.Names()[0].Name
		before := last[first]
		if before == nil {
			before = last[""]
		}
		last[""], last[first] = now, now
		var words []string
		lines := map[string][]string{} // words by what is told of them
		for _, word := range facts.WordsOf(kind) {
			if now[word] == before[word] {
				continue
			}
			told := cmp.Or(now[word], "gone")
			if lines[told] == nil {
				words = append(words, told)
			}
			lines[told] = append(lines[told], word)
		}
		fmt.Fprintf(&text, "%s%s:", kind, called)
		for i, told := range words {
			if i > 0 {
				text.WriteString(",")
			}
			fmt.Fprintf(&text, " %s %s", strings.Join(lines[told], " "), told)
		}
		text.WriteString("\n")
	}
	return text.String()
}

// TestFactsOfWholeHalls: all that is measured of some judged evenings. An evening is a line "= hall/case"; CUEPROOF_UPDATE=1
// writes what stands below it. What changes here is told to people otherwise: know why before you believe it.
func TestFactsOfWholeHalls(t *testing.T) {
	const golden = "testdata/halls.txt"
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	var got strings.Builder
	for _, line := range strings.Split(string(want), "\n") {
		name, ok := strings.CutPrefix(line, "= ")
		if !ok {
			continue
		}
		fmt.Fprintf(&got, "= %s\n", name)
		measured := hall(t, name)
		for _, kind := range slices.Sorted(maps.Keys(facts.Kinds())) {
			got.WriteString(listed(kind, measured.Subjects(kind)))
		}
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := gocmp.Diff(strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")); diff != "" {
		t.Errorf("something else is measured (CUEPROOF_UPDATE=1 writes it):\n%.3000s", diff)
	}
}
