package loaders

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// files makes a folder with the given files; a name that ends in a slash is a folder.
func files(t testing.TB, content map[string]string) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "show")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range content {
		full := filepath.Join(folder, filepath.FromSlash(name))
		if strings.HasSuffix(name, "/") {
			if err := os.MkdirAll(full, 0o755); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

func load(t testing.TB, path string) Result {
	t.Helper()
	result, err := Load(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkFindings(t, result)
	return result
}

// checkFindings holds what is true of the findings of any show whatever.
func checkFindings(t testing.TB, r Result) {
	t.Helper()
	for _, f := range r.Findings {
		if f.Place.File == nil || f.Place.Start < 0 || f.Place.Stop < f.Place.Start || f.Place.Stop > len(f.Place.File.Text) {
			t.Errorf("the place of %s is not in its file: %+v", f.Rule, f.Place)
			continue
		}
		f.Place.Span()
		switch {
		case !strings.HasPrefix(f.Rule, "file/"), f.Level == "", f.Verdict != finding.Fail, f.Message == "", len(f.Subjects) == 0:
			t.Errorf("incomplete: %+v", f)
		case !strings.HasSuffix(f.Message, ".") && !strings.HasSuffix(f.Message, "?"):
			t.Errorf("no sentence: %s", f.Message)
		case f.Consequence != finding.Dark && f.Consequence != finding.Later:
			t.Errorf("consequence %v of %s", f.Consequence, f.Rule)
		case len(f.Message) > 2000:
			t.Errorf("a message of %d bytes: %.200s", len(f.Message), f.Message)
		}
		for _, related := range f.Related {
			if related.Place.Stop > len(related.Place.File.Text) {
				t.Errorf("a related place of %s is not in its file", f.Rule)
			}
		}
	}
	for i := 1; i < len(r.Files); i++ {
		if r.Files[i-1].Name >= r.Files[i].Name {
			t.Errorf("files are not sorted, or one is there twice: %s, %s", r.Files[i-1].Name, r.Files[i].Name)
		}
	}
	if r.Show == nil || r.Name == "" {
		t.Errorf("no show or no name: %q", r.Name)
	}
}

// brief writes findings for comparison: id, level and place, then a part of the message.
func brief(folder string, list []finding.Finding) []string {
	var lines []string
	for _, f := range list {
		name, err := filepath.Rel(folder, filepath.FromSlash(f.Place.File.Name))
		if err != nil {
			name = f.Place.File.Name
		}
		start := f.Place.Span().Start
		lines = append(lines, fmt.Sprintf("%s:%d:%d %s %s", filepath.ToSlash(name), start.Line, start.Column, strings.TrimPrefix(f.Rule, "file/"), f.Level))
	}
	return lines
}

func messages(list []finding.Finding) string {
	var lines []string
	for _, f := range list {
		lines = append(lines, f.Message)
	}
	return strings.Join(lines, "\n")
}

// A folder without a table is told nothing of columns.
func TestAnEmptyFolderHasNoColumns(t *testing.T) {
	said := messages(load(t, files(t, nil)).Findings)
	if !strings.HasSuffix(said, "readings.csv, readings.tsv.") {
		t.Error(said)
	}
}

// The path of a section may be as long as any that systems take: 1,000 bytes are read, and one more is no path.
func TestALongPathIsRead(t *testing.T) {
	folder := strings.Repeat(strings.Repeat("d", 199)+"/", 4)
	for letters, want := range map[int]string{1000: "patch", 1001: ""} {
		name := folder + strings.Repeat("p", letters-len(folder)-len(".json")) + ".json"
		r := load(t, files(t, map[string]string{name: onePatch, "show.json": `{"patch": "` + name + `"}`}))
		if got := sectionsRead(r.Show); got != want {
			t.Errorf("of a path of %d bytes %q is read, want %q: %s", letters, got, want, messages(r.Findings))
		}
	}
}

const (
	onePatch = `[{"channel": 1, "address": "1.1", "type": "par"}]`
	oneCue   = `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}]`
	csvPatch = "channel,address\n1,1.1\n"
)

func TestLoadFolder(t *testing.T) {
	for _, tc := range []struct {
		name     string
		files    map[string]string
		sections string // that were read, in order
		want     []string
		message  string
		unread   bool
	}{
		{
			name:     "all in show.json",
			files:    map[string]string{"show.json": `{"patch": ` + onePatch + `, "cues": ` + oneCue + `}`},
			sections: "patch cues",
		},
		{
			name:     "files by their names",
			files:    map[string]string{"patch.csv": csvPatch, "cues.json": oneCue, "groups.json": `{"front": "1"}`, "README.md": "x", "house.yaml": "x"},
			sections: "patch groups cues",
		},
		{
			name:     "named files, one in a folder, one with a backslash",
			files:    map[string]string{"show.json": `{"patch": "lists/a.csv", "cues": "lists\\b.json"}`, "lists/a.csv": csvPatch, "lists/b.json": oneCue},
			sections: "patch cues",
		},
		{
			name:     "capital letters",
			files:    map[string]string{"Show.json": `{}`, "PATCH.CSV": csvPatch},
			sections: "patch",
			want:     []string{"PATCH.CSV:1:1 name-case note", "Show.json:1:1 name-case note"},
			message:  "PATCH.CSV is read as patch.csv.",
		},
		{
			name:     "byte order mark and CR LF",
			files:    map[string]string{"show.json": "\xEF\xBB\xBF{\r\n\"patch\": " + onePatch + "}\r\n"},
			sections: "patch",
		},
		{
			name:    "named file is not there",
			files:   map[string]string{"show.json": "{\n \"patch\": \"pach.csv\"}", "patch1.csv": "", "pach.cvs": ""},
			want:    []string{"pach.cvs:1:1 unused-file error", "patch1.csv:1:1 unused-file error", "show.json:2:11 missing-file error"},
			message: `/pach.csv is not there. Did you mean "pach.cvs"?`,
			unread:  true,
		},
		{
			name:    "named file in a folder that is misspelt",
			files:   map[string]string{"show.json": `{"patch": "list/p.csv"}`, "lists/p.csv": csvPatch},
			want:    []string{"show.json:1:11 missing-file error"},
			message: `Did you mean the folder "lists"?`,
			unread:  true,
		},
		{
			name:    "outside by dots",
			files:   map[string]string{"show.json": `{"patch": "../patch.csv"}`},
			want:    []string{"show.json:1:11 outside-folder error"},
			message: "outside the folder",
			unread:  true,
		},
		{
			name:    "outside by an absolute path",
			files:   map[string]string{"show.json": `{"patch": "/etc/patch.csv"}`},
			want:    []string{"show.json:1:11 outside-folder error"},
			message: "outside the folder",
			unread:  true,
		},
		{
			name:    "outside on a drive",
			files:   map[string]string{"show.json": `{"patch": "C:\\shows\\patch.csv", "cues": "d:cues.csv"}`},
			want:    []string{"show.json:1:11 outside-folder error", "show.json:1:43 outside-folder error"},
			message: "C:/shows/patch.csv is outside the folder",
			unread:  true,
		},
		{
			name:    "outside on another machine",
			files:   map[string]string{"show.json": `{"patch": "\\\\desk\\shows\\patch.csv"}`},
			want:    []string{"show.json:1:11 outside-folder error"},
			message: "outside the folder",
			unread:  true,
		},
		{
			name:     "in a folder, as written on another system",
			files:    map[string]string{"show.json": `{"patch": "lists\\p.csv"}`, "lists/p.csv": strings.ReplaceAll(csvPatch, "\n", "\r\n")},
			sections: "patch",
		},
		{
			name:    "a format that is not read",
			files:   map[string]string{"show.json": `{"patch": "patch.xlsx", "room": "room.csv"}`, "patch.xlsx": "PK", "room.csv": "x"},
			want:    []string{"room.csv:1:1 unused-file error", "show.json:1:11 unknown-format error", "show.json:1:33 unknown-format error", "patch.xlsx:1:1 unused-file error"},
			message: `cannot be read from "patch.xlsx": its name should end in .json or .csv or .tsv.`,
			unread:  true,
		},
		{
			name:     "inline and as a file",
			files:    map[string]string{"show.json": `{"patch": ` + onePatch + `}`, "patch.csv": csvPatch},
			sections: "patch",
			want:     []string{"patch.csv:1:1 section-twice error"},
			message:  "the section patch stands twice, in show.json and in ",
		},
		{
			name:     "in two formats",
			files:    map[string]string{"patch.json": onePatch, "patch.csv": csvPatch},
			sections: "patch",
			want:     []string{"patch.csv:1:1 section-twice error"},
			message:  "the first is used",
		},
		{
			name:     "a name, and another file by its name",
			files:    map[string]string{"show.json": `{"patch": "patch-2.csv"}`, "patch-2.csv": csvPatch, "patch.csv": csvPatch},
			sections: "patch",
			want:     []string{"patch.csv:1:1 unused-file warning"},
			message:  "patch.csv is not read: show.json names patch-2.csv for the section patch.",
		},
		{
			name:     "one file for two sections",
			files:    map[string]string{"show.json": `{"patch": "a.json", "cues": "a.json"}`, "a.json": onePatch},
			sections: "patch",
			want:     []string{"show.json:1:29 section-twice error"},
			unread:   true,
		},
		{
			name:    "the show file names itself",
			files:   map[string]string{"show.json": `{"patch": "show.json"}`},
			want:    []string{"show.json:1:11 section-twice error"},
			message: "show.json is read for the show already",
			unread:  true,
		},
		{
			name:    "nothing of a show",
			files:   map[string]string{"pach.csv": csvPatch, "notes.txt": "x"},
			want:    []string{".:1:1 no-show error"},
			message: `Looked for show.json, room.json, types.json, patch.json, patch.csv, patch.tsv, groups.json, cues.json, cues.csv, cues.tsv, order.json, order.csv, order.tsv, notices.json, readings.json, readings.csv, readings.tsv. Found "pach.csv": did you mean "patch.csv"?`,
			unread:  true,
		},
		{
			name:   "an empty folder",
			want:   []string{".:1:1 no-show error"},
			unread: true,
		},
		{
			name:    "a show file without sections",
			files:   map[string]string{"show.json": `{"name": "x"}`},
			want:    []string{"show.json:1:1 no-show error"},
			message: "none of the sections",
		},
		{
			name:    "a misspelt section",
			files:   map[string]string{"show.json": `{"pach": []}`},
			want:    []string{"show.json:1:1 no-show error", "show.json:1:2 unknown-key error"},
			message: `Did you mean "patch"?`,
		},
		{
			name:    "a list where the show should be",
			files:   map[string]string{"show.json": onePatch},
			want:    []string{"show.json:1:1 no-show error"},
			message: "holds a list where a show is an object",
			unread:  true,
		},
		{
			name:     "copies beside the files",
			files:    map[string]string{"cues.json": oneCue, "cues (1).json": oneCue, "cues-old.csv": "x", "cuesheet.csv": "x", "rules.json": "x", ".cues.json.swp": "x"},
			sections: "cues",
			want:     []string{"cues (1).json:1:1 unused-file warning", "cues-old.csv:1:1 unused-file warning", "cuesheet.csv:1:1 unused-file warning"},
		},
		{
			name:   "a folder that is called like a file",
			files:  map[string]string{"patch.csv/": "", "cues.json": oneCue},
			want:   []string{"patch.csv:1:1 not-a-file error"},
			unread: true, sections: "cues",
			message: "is a folder where a file is wanted",
		},
		{
			name:   "a folder that is called show.json",
			files:  map[string]string{"show.json/": "", "cues.json": oneCue},
			want:   []string{"show.json:1:1 not-a-file error"},
			unread: true, sections: "cues",
		},
		{
			name:  "a section of the wrong kind, and one that is null",
			files: map[string]string{"show.json": `{"patch": 5, "cues": null, "room": {}}`}, sections: "room",
			want:    []string{"show.json:1:11 wrong-type error", "show.json:1:22 wrong-type warning"},
			message: "or the path of its file in quotes",
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			folder := files(t, tc.files)
			r := load(t, folder)
			if diff := cmp.Diff(sorted(tc.want), sorted(brief(folder, r.Findings))); diff != "" {
				t.Errorf("findings (-want +got):\n%s\n%s", diff, messages(r.Findings))
			}
			if !strings.Contains(messages(r.Findings), tc.message) {
				t.Errorf("no message says %q:\n%s", tc.message, messages(r.Findings))
			}
			if got := sectionsRead(r.Show); got != tc.sections {
				t.Errorf("read %q, want %q", got, tc.sections)
			}
			if r.Unreadable != tc.unread {
				t.Errorf("unreadable is %v", r.Unreadable)
			}
		})
	}
}

func sorted(list []string) []string {
	out := append([]string{}, list...)
	for i := range out {
		for j := i; j > 0 && out[j] < out[j-1]; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

func sectionsRead(show *schema.Show) string {
	var read []string
	for _, section := range schema.Sections {
		if _, ok := show.ReadFrom[section]; ok {
			read = append(read, section)
		}
	}
	return strings.Join(read, " ")
}

func TestLoadOneFile(t *testing.T) {
	folder := files(t, map[string]string{
		"sunday.json": `{"name": "Sunday", "patch": "lists/p.csv", "cues": ` + oneCue + `}`,
		"lists/p.csv": csvPatch,
		"order.json":  `[]`, // not part of a show that is one file
		"patch.csv":   csvPatch,
		"show.json":   `{"name": "Folder"}`,
	})
	r := load(t, filepath.Join(folder, "sunday.json"))
	if len(r.Findings) > 0 || r.Name != "Sunday" || sectionsRead(r.Show) != "patch cues" || len(r.Files) != 2 {
		t.Errorf("%s read %q from %d files: %s", r.Name, sectionsRead(r.Show), len(r.Files), messages(r.Findings))
	}
	r = load(t, filepath.Join(folder, "show.json"))
	if r.Name != "Folder" || sectionsRead(r.Show) != "patch order" {
		t.Errorf("of show.json the folder is read: %s, %q", r.Name, sectionsRead(r.Show))
	}
}

func TestLoadNamesFilesAsTheUserDoes(t *testing.T) {
	folder := files(t, map[string]string{"patch.csv": csvPatch, "cues.json": oneCue})
	t.Chdir(filepath.Dir(folder))
	for path, want := range map[string]string{"show": "show/cues.json", "./show/": "show/cues.json", folder: filepath.ToSlash(folder) + "/cues.json"} {
		if r := load(t, path); r.Files[0].Name != want || r.Name != "show" {
			t.Errorf("%s: got %s, %s, want %s", path, r.Files[0].Name, r.Name, want)
		}
	}
	t.Chdir("show")
	if r := load(t, "."); r.Files[0].Name != "cues.json" || r.Name != "show" {
		t.Errorf("got %s, %s", r.Files[0].Name, r.Name)
	}
	if err := os.Mkdir("deeper", 0o755); err != nil {
		t.Fatal(err)
	}
	t.Chdir("deeper")
	if r := load(t, ".."); r.Files[0].Name != "../cues.json" || r.Notes[0] != "patch.csv: a comma between columns, UTF-8" {
		t.Errorf("got %s, %q", r.Files[0].Name, r.Notes)
	}
}

func TestLoadStandardInput(t *testing.T) {
	text := `{"cues": ` + oneCue + `, "patch": "patch.csv"}`
	options := Options{Stdin: strings.NewReader(text), StdinName: "sunday.json"}
	r, err := Load("-", options)
	if err != nil {
		t.Fatal(err)
	}
	checkFindings(t, r)
	if len(r.Findings) != 1 || r.Findings[0].Rule != "file/outside-folder" || r.Findings[0].Place.Start != strings.Index(text, `"patch.csv"`) || !r.Unreadable {
		t.Errorf("got %v", brief("", r.Findings))
	}
	if r.Name != "sunday.json" || r.Files[0].Name != "sunday.json" || sectionsRead(r.Show) != "cues" {
		t.Errorf("%s, %s, %s", r.Name, r.Files[0].Name, sectionsRead(r.Show))
	}
	r, err = Load("-", Options{Stdin: failing{}})
	if err != nil || len(r.Findings) != 1 || r.Findings[0].Rule != "file/unreadable" || !r.Unreadable {
		t.Errorf("got %v, %v", brief("", r.Findings), err)
	}
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errors.New("the cable is out") }

func TestLoadRefusesAPathThatIsNoShow(t *testing.T) {
	folder := files(t, map[string]string{"patch.csv": csvPatch})
	for _, path := range []string{"", "-", filepath.Join(folder, "nothing"), filepath.Join(folder, "patch.csv"), filepath.Join(folder, "patch.csv", "x")} {
		if r, err := Load(path, Options{}); err == nil {
			t.Errorf("%q is taken for a show: %+v", path, r)
		}
	}
}

func TestHostileJSON(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       []string
		unread     bool
	}{
		{"empty", "", []string{"show.json:1:1 syntax error"}, true},
		{"blank", " \n ", []string{"show.json:1:1 syntax error"}, true},
		{"cut off", "{\"cues\": [\n{\"cue\": 1", []string{"show.json:2:10 syntax error"}, true},
		{"garbage", "%PDF-1.4 \x00", []string{"show.json:1:1 syntax error"}, true},
		{"UTF-16", "\xFF\xFE{\x00}\x00", []string{"show.json:1:1 encoding error"}, true},
		{"the first byte is none of UTF-8", "\xFC", []string{"show.json:1:1 encoding error"}, true},
		{"UTF-16 without mark", "{\x00}\x00", []string{"show.json:1:1 encoding error"}, true},
		{"Windows-1252", "{\"cues\": " + oneCue + ",\n\"name\": \"\xFCber\"}", []string{"show.json:2:10 encoding error"}, true},
		{"deep nesting", strings.Repeat("[", 10_000), []string{"show.json:1:201 syntax error"}, true},
		{"NaN", "{\"cues\": [{\"cue\": NaN}]}", []string{"show.json:1:19 syntax error"}, true},
		{"number out of range", "{\"patch\": [{\"channel\": 1, \"white_k\":\n1e999}]}", []string{"show.json:2:1 number-range error"}, false},
		{"same key twice", "{\"patch\": [{\"channel\": 1, \"channel\": 2}]}", []string{"show.json:1:27 key-twice error"}, false},
		{"unknown key", "{\"patch\": [{\"channel\": 1, \"adress\": \"1.1\"}]}", []string{"show.json:1:27 unknown-key warning"}, false},
		{"wrong types", "{\"patch\": {\"channel\": 1}, \"cues\": [1]}", []string{"show.json:1:2 wrong-type error", "show.json:1:36 wrong-type error"}, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			folder := files(t, map[string]string{"show.json": tc.text})
			r := load(t, folder)
			if diff := cmp.Diff(tc.want, brief(folder, r.Findings)); diff != "" || r.Unreadable != tc.unread {
				t.Errorf("unreadable %v, findings (-want +got):\n%s\n%s", r.Unreadable, diff, messages(r.Findings))
			}
			// Standard input and a single file are read the same way.
			r, err := Load("-", Options{Stdin: strings.NewReader(tc.text), StdinName: "show.json"})
			if err != nil || r.Unreadable != tc.unread || !cmp.Equal(tc.want, brief("", r.Findings)) {
				t.Errorf("standard input: %v, %v", brief("", r.Findings), err)
			}
		})
	}
}

func TestTwinsKeepBothPlaces(t *testing.T) {
	folder := files(t, map[string]string{"show.json": `{"patch": [{"channel": 1, "channel": 2}]}`})
	f := load(t, folder).Findings[0]
	if len(f.Related) != 1 || f.Related[0].Place.Span().Start != (source.Position{Line: 1, Column: 13}) {
		t.Errorf("the first of the two is at %+v", f.Related)
	}
}

func TestFindingsAlikeAreCounted(t *testing.T) {
	rows := strings.Repeat("x,1.1\n", 250)
	r := load(t, files(t, map[string]string{"patch.csv": "channel,address\n" + rows}))
	if len(r.Findings) != mostAlike+1 || !strings.HasPrefix(r.Findings[mostAlike].Message, "150 more of this kind in ") {
		t.Errorf("%d findings, the last: %s", len(r.Findings), r.Findings[len(r.Findings)-1].Message)
	}
}

func TestSortsAndIsStable(t *testing.T) {
	folder := files(t, map[string]string{
		"show.json": `{"pach": 1, "room": {"nam": "x"}}`, "patch.csv": "channel,adress\nx,1\n,2\n", "cues.csv": "cue;level\n1;x\n", "orders.csv": "x",
	})
	first := load(t, folder)
	for range 5 {
		if diff := cmp.Diff(brief(folder, first.Findings), brief(folder, load(t, folder).Findings)); diff != "" {
			t.Fatal(diff)
		}
	}
	again := append([]finding.Finding{}, first.Findings...)
	finding.Sort(again)
	if diff := cmp.Diff(brief(folder, again), brief(folder, first.Findings)); diff != "" {
		t.Error(diff)
	}
}
