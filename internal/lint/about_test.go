package lint

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

// TestPlantedFaultsAreFound: each row of the table in ABOUT.md names a rule that says no,
// and a finding of it names something that stands under "where".
func TestPlantedFaultsAreFound(t *testing.T) {
	about, err := os.ReadFile(filepath.Join(showsFolder, "flawed", "ABOUT.md"))
	if err != nil {
		t.Fatal(err)
	}
	rows := regexp.MustCompile(`(?m)^\| ([a-z]+/[a-z-]+) \| (.+?) \|`).FindAllStringSubmatch(string(about), -1)
	if len(rows) < 25 {
		t.Fatalf("the table has %d rows", len(rows))
	}
	shows := []string{"flawed", "flawed-csv"}
	if os.Getenv("CUEPROOF_LONG") == "" {
		shows = shows[:1] // tables say the same as JSON, which another test holds; CI does both
	}
	for _, show := range shows {
		found := asTold(t, filepath.Join(showsFolder, show)).Shows[0].Findings
		for _, row := range rows {
			rule, where := row[1], row[2]
			if !slices.ContainsFunc(found, func(f finding.Finding) bool { return f.Rule == rule && f.Verdict == finding.Fail && stands(&f, where) }) {
				t.Errorf("%s: %s says nothing of %s", show, rule, where)
			}
		}
	}
}

// stands reports whether the name of a thing of a finding, or one of its cues, stands in a
// text by itself.
func stands(f *finding.Finding, text string) bool {
	words := slices.Clone(f.Cues)
	for _, s := range f.Subjects {
		if s.Kind == "show" {
			words = append(words, "whole show")
		}
		words = append(words, s.Name)
	}
	return slices.ContainsFunc(words, func(word string) bool {
		return regexp.MustCompile(`(^|[^\w.])` + regexp.QuoteMeta(word) + `($|[^\w.])`).MatchString(strings.TrimSpace(text))
	})
}
