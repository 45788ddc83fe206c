package schema

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// idIn finds the ids of file problems in Go source: they stand in a finding's
// rule, in a problem of a reader, or as the first word given to what says them.
var idIn = regexp.MustCompile(`(?:"file/|\bID:\s*"|\b(?:[sS]ay|[fF]ail|sayRow|sayAbout|fileFails)\("|\bfinding\(w, ")([a-z]+(?:-[a-z]+)*)"`)

var ruleIn = regexp.MustCompile(`"file/([a-z]+(?:-[a-z]+)*)"`)

func TestEveryProblemIsExplained(t *testing.T) {
	used := map[string]string{}
	for _, folder := range []string{".", "../internal/calibrate", "typical", "../loaders", "../loaders/*", "../internal/source", "../internal/waiver", "../internal/history", "../internal/lint", "../rules"} {
		files, err := filepath.Glob(folder + "/*.go")
		if err != nil || len(files) == 0 {
			t.Fatalf("no Go files in %s: %v", folder, err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			ids := idIn
			if folder == "../internal/lint" || folder == "../rules" { // where say is a word for other things
				ids = ruleIn
			}
			for _, match := range ids.FindAllSubmatch(text, -1) {
				if string(match[1]) != "rule-mistake" { // of a rule file, which is no part of a show
					used[string(match[1])] = name
				}
			}
		}
	}
	for id, name := range used {
		if _, ok := Problem(id); !ok {
			t.Errorf("%s says file/%s, and schema/problems/%s.md does not explain it", name, id, id)
		}
	}
	for _, id := range ProblemIDs() {
		if used[id] == "" {
			t.Errorf("schema/problems/%s.md explains what nothing says", id)
		}
	}
	for _, id := range []string{"syntax", "unknown-key", "too-many", "order-gap", "missing-file"} {
		if used[id] == "" {
			t.Errorf("the search does not find file/%s: it looks for the wrong thing", id)
		}
	}
	if _, ok := Problem("../problems/syntax"); ok {
		t.Error("a path is taken for an id")
	}
}

func TestExplanationsAreForVolunteers(t *testing.T) {
	for _, id := range ProblemIDs() {
		text, _ := Problem(id)
		lines := strings.Split(text, "\n")
		if !strings.HasPrefix(lines[0], "# ") || strings.HasSuffix(lines[0], ".") {
			t.Errorf("%s: the first line is its title: %q", id, lines[0])
		}
		if !strings.Contains(text, "\n**What to do.** ") {
			t.Errorf("%s does not say what to do", id)
		}
		words := len(strings.Fields(strings.Join(lines[1:], "\n")))
		if words < 40 || words > 120 {
			t.Errorf("%s has %d words; 40 to 120 are read", id, words)
		}
		if strings.ContainsRune(text, '!') {
			t.Errorf("%s shouts", id)
		}
	}
	if !slices.IsSorted(ProblemIDs()) {
		t.Error("the ids are not sorted")
	}
}
