package main

import (
	"cmp"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const ours = "github.com/cueproof/cueproof/"

// nevers are imports that must not be, however long the way: whoever comes first
// would have to know all that the other knows.
var nevers = []struct{ from, to, why string }{
	{"rules", "loaders", "rules see measured facts, never files"},
	{"internal/facts", "loaders", "facts are measured, not read"},
	{"internal/proof", "loaders", "a proof is made on a copy in memory"},
	{"internal/plan", "loaders", "a plan knows no file"},
	{"internal/plan", "internal/report", "a plan is values, and reports print them"},
	{"internal/stage", "internal/evening", "light in the room knows no clock"},
	{"internal/stage", "internal/facts", "what is measured knows none of the words for it"},
	{"internal/evening", "internal/facts", "what is measured knows none of the words for it"},
	{"internal/facts", "rules", "facts know no limit"},
	{"internal/outcome", "internal/facts", "what a run has to say is plain values"},
	{"internal/report/text", "internal/facts", "a format prints the outcome and measures nothing"},
	{"internal/report/html", "internal/facts", "a format prints the outcome and measures nothing"},
	{"internal/report", "rules", "reports never judge"},
	{"internal/report", "loaders", "reports print what was found and read nothing"},
	{"internal/report/text", "internal/tracking", "a format prints the outcome and measures nothing"},
	{"internal/report/html", "internal/stage", "pictures come drawn"},
	{"internal/booth", "rules", "the page is handed a function that builds a report"},
	{"internal/booth", "loaders", "the page is handed a function that builds a report"},
	{"loaders", "internal/tracking", "the document is read before it is resolved"},
	{"schema", "loaders", "what a show is does not hang on how it is read"},
	{"internal/picture", "internal/source", "a picture is drawn from numbers"},
}

// rooms asks Go who imports whom in this module; tests do not count.
func rooms(t *testing.T) map[string][]string {
	t.Helper()
	list := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./...")
	list.Dir = filepath.Join("..", "..")
	out, err := list.Output()
	if err != nil {
		t.Skipf("go list is not to be had: %v", err)
	}
	imports := map[string][]string{}
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		name := strings.TrimPrefix(words[0], ours)
		imports[name] = []string{}
		for _, other := range words[1:] {
			if short, own := strings.CutPrefix(other, ours); own {
				imports[name] = append(imports[name], short)
			}
		}
	}
	return imports
}

// levels puts every package one above the highest that it imports.
func levels(imports map[string][]string) map[string]int {
	level := map[string]int{}
	var of func(string) int
	of = func(name string) int {
		if known, ok := level[name]; ok {
			return known
		}
		highest := -1
		for _, other := range imports[name] {
			highest = max(highest, of(other))
		}
		level[name] = highest + 1
		return highest + 1
	}
	for name := range imports {
		of(name)
	}
	return level
}

// The table of imports in DEVELOPERS.md is what Go says, package by package, so
// that a new arrow is seen by whoever reviews a change.
// CUEPROOF_UPDATE=1 writes it anew.
func TestTheTableOfImportsIsTrue(t *testing.T) {
	imports := rooms(t)
	level := levels(imports)
	short := func(name string) string { return "`" + strings.TrimPrefix(name, "internal/") + "`" }
	names := slices.Collect(maps.Keys(imports))
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(level[a]-level[b], strings.Compare(short(a), short(b)))
	})
	var table strings.Builder
	table.WriteString("| level | package | imports of ours |\n|---|---|---|\n")
	for _, name := range names {
		var others []string
		for _, other := range imports[name] {
			others = append(others, short(other))
		}
		slices.Sort(others)
		fmt.Fprintf(&table, "| %d | %s | %s |\n", level[name], short(name), strings.Join(others, ", "))
	}
	const begin, end = "<!-- imports: written by CUEPROOF_UPDATE=1 go test ./cmd/cueproof -run Imports -->\n", "<!-- end of imports -->"
	file := filepath.Join("..", "..", "DEVELOPERS.md")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok1 := strings.Cut(string(data), begin)
	have, after, ok2 := strings.Cut(rest, end)
	if !ok1 || !ok2 {
		t.Fatal("DEVELOPERS.md has lost the marks around its table of imports")
	}
	if have == table.String() {
		return
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(before+begin+table.String()+end+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	was := map[string]bool{}
	for line := range strings.Lines(have) {
		was[line] = true
	}
	for line := range strings.Lines(table.String()) {
		if !was[line] {
			t.Errorf("DEVELOPERS.md does not say so yet: %s", line)
		}
	}
	t.Error("the table of imports is not true; look at the new arrows, then run CUEPROOF_UPDATE=1 go test ./cmd/cueproof -run Imports")
}

// TestGuardsAreOfRooms: the linter guards no folder, and allows no package, that is gone.
func TestGuardsAreOfRooms(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", ".golangci.yml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, found := range regexp.MustCompile(`(?:\$\{base-path\}|cueproof/cueproof)/([a-z0-9_/]+[a-z0-9])`).FindAllStringSubmatch(string(data), -1) {
		if info, err := os.Stat(filepath.Join("..", "..", filepath.FromSlash(found[1]))); err != nil || !info.IsDir() {
			t.Errorf(".golangci.yml names %s, which is no folder", found[1])
		}
	}
}

func TestNevers(t *testing.T) {
	imports := rooms(t)
	for _, never := range nevers {
		if way := wayTo(imports, never.from, never.to); len(way) > 0 {
			t.Errorf("%s: %s", strings.Join(way, " -> "), never.why)
		}
	}
}

// wayTo returns a way from one package to another over imports, or nothing.
func wayTo(imports map[string][]string, from, to string) []string {
	seen := map[string]bool{}
	var walk func(string) []string
	walk = func(name string) []string {
		if name == to {
			return []string{name}
		}
		if seen[name] {
			return nil
		}
		seen[name] = true
		for _, other := range imports[name] {
			if way := walk(other); way != nil {
				return append([]string{name}, way...)
			}
		}
		return nil
	}
	if _, there := imports[from]; !there {
		return nil // a room that is not built yet
	}
	return walk(from)
}

// A test that cannot fail is none.
func TestAWayIsFound(t *testing.T) {
	imports := map[string][]string{"a": {"b", "c"}, "b": {}, "c": {"d"}, "d": {}}
	if got := strings.Join(wayTo(imports, "a", "d"), " "); got != "a c d" {
		t.Errorf("the way is %q", got)
	}
	if way := wayTo(imports, "b", "a"); way != nil {
		t.Errorf("there is no way: %v", way)
	}
	if got := levels(imports); got["a"] != 2 || got["c"] != 1 || got["d"] != 0 {
		t.Errorf("levels %v", got)
	}
}
