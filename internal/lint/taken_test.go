package lint

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/house"
)

// written writes files into a new folder, by their names in it.
func written(t *testing.T, files map[string]string) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range files {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// TestWhatAFileIsTakenFor that a report is to be written to: by its name alone, or by what stands in its folder or above.
func TestWhatAFileIsTakenFor(t *testing.T) {
	folder := written(t, map[string]string{"rule/rule.yaml": "", "rule/other.yaml": "", "rule/other.yml": "", "rule/other.txtar": "", "rule/other.md": "", "show/cues.json": "[]", "show/notes/a/b.txt": ""})
	for _, c := range []struct {
		path   string
		beside bool
		want   string
	}{
		{"show.json", false, "the file of a show"}, {"CUES.json", false, "the section cues of a show"},
		{"house.yaml", false, "a house file"}, {"House.YAML", false, "a house file"},
		{"rule.yaml", false, "a part of a rule"}, {"cases.txtar", false, "a part of a rule"},
		{"rule/explain.md", false, "a part of a rule"}, {"show/explain.md", false, ""}, {"rule/other.md", false, ""},
		{"rule/other.yaml", false, "a house file or a rule"}, {"rule/other.yml", false, "a house file or a rule"}, {"rule/other.txtar", false, "a house file or a rule"},
		{"show/other.yaml", false, ""}, {"show/other.yml", true, ""}, // not there
		{"rule/desk.asc", false, ""}, {"rule/desk.asc", true, "an export"}, {"show/desk.asc", false, "an export"}, {"show/notes/desk.asc", false, "an export"},
		{"show/notes/a/desk.asc", false, ""},
		{"show/cuess.json", false, "a misspelt cues.json"}, {"rule/cuess.json", false, ""},
		{"show/report.csv", true, ""}, {"show/report.html", true, ""},
	} {
		if got := TakenFor(filepath.Join(folder, c.path), c.beside); got != c.want {
			t.Errorf("%s (beside a show: %t) is taken for %q, not %q", c.path, c.beside, got, c.want)
		}
	}
	t.Chdir(filepath.Join(folder, "show"))
	if got := TakenFor("desk.asc", false); got != "an export" {
		t.Errorf("in the folder of a show an export is taken for %q", got)
	}
}

// TestWhatAFileHolds that nobody can make again.
func TestWhatAFileHolds(t *testing.T) {
	const export = "taken for an export, as it stands in the folder of a show"
	words := strings.Join(facts.WordsOf("look")[:2], ",")
	for _, c := range []struct{ name, text, alone, beside string }{
		{"a.json", `{"schema": "cueproof-history-1"}`, "a history", "a history"}, {"a.json", `{"runs": 1, "schema": "cueproof-history-2"}`, "a history", "a history"},
		{"a.json", `{"schema": "cueproof-report-1"}`, "", export}, {"a.json", `{"other": "cueproof-history-1"}`, "", export},
		{"a.json", `{"cues": []}`, "a show", "a show"}, {"a.txt", `{"by": "us", "patch": [], "name": 1}`, "a show", "a show"}, {"a.json", `{"patch": [], "cues": [`, "a show", "a show"},
		{"a.json", `{"cues": [`, "", export}, {"a.json", `["cues"]`, "", export}, {"a.txt", "", "", ""},
		{"a.txt", "Ident 3:0\n", "", export}, {"a.txt", "a report", "", ""},
		{"a.csv", words + "\r\n1,2\r\n", "", ""}, {"a.CSV", words + "\r\n", "", ""}, {"a.csv", words + "\n1,2\n", "", export}, {"a.csv", words, "", export},
		{"a.csv", words + ",ours\r\n", "", export}, {"a.csv", "\r\n", "", export}, {"a.csv", "", "", export},
	} {
		path := filepath.Join(written(t, map[string]string{c.name: c.text}), c.name)
		if got := Holds(path, false); got != c.alone {
			t.Errorf("%s with %q holds %q, not %q", c.name, c.text, got, c.alone)
		}
		if got := Holds(path, true); got != c.beside {
			t.Errorf("%s with %q beside a show holds %q, not %q", c.name, c.text, got, c.beside)
		}
		path = filepath.Join(written(t, map[string]string{c.name: c.text, "cues.json": "[]"}), c.name)
		if got := Holds(path, false); got != c.beside {
			t.Errorf("%s with %q in the folder of a show holds %q, not %q", c.name, c.text, got, c.beside)
		}
	}
	if got := Holds(filepath.Join(t.TempDir(), "a.csv"), true); got != "" {
		t.Errorf("what is not there holds %q", got)
	}
}

// TestWhatBelongsToACopy: a file that can hold a section, and the house file where it names no folders.
func TestWhatBelongsToACopy(t *testing.T) {
	none, folders := &Setup{}, &Setup{House: &house.House{Folders: []house.Folder{{Path: "own-rules"}}}}
	for _, c := range []struct {
		name  string
		setup *Setup
		want  bool
	}{
		{"house.yaml", none, true}, {"house.yaml", &Setup{House: &house.House{}}, true}, {"house.yaml", folders, false},
		{"cues.json", none, true}, {"cues.json", folders, true}, {"cues.csv", none, true}, {"plan.png", none, false},
	} {
		if got := (&trial{setup: c.setup}).belongs(c.name); got != c.want {
			t.Errorf("%s with %+v belongs to it: %t", c.name, c.setup.House, got)
		}
	}
}
