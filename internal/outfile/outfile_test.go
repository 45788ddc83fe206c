package outfile_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/outfile"
)

func says(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// alone fails if anything but the named files is in a folder.
func alone(t *testing.T, folder string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var there []string
	for _, entry := range entries {
		there = append(there, entry.Name())
	}
	if got, want := strings.Join(there, " "), strings.Join(names, " "); got != want {
		t.Errorf("the folder holds %q, want %q", got, want)
	}
}

func TestWrite(t *testing.T) {
	folder := t.TempDir()
	var g outfile.Guard
	path := filepath.Join(folder, "report")
	for _, text := range []string{"one\n", "two\n"} {
		if err := g.Write(path, []byte(outfile.TextMark), false, says(text)); err != nil {
			t.Fatal(err)
		}
		if got := read(t, path); got != outfile.TextMark+text {
			t.Errorf("%q", got)
		}
	}
	alone(t, folder, "report")
}

// TestWhatCannotBePrinted leaves the old file as it was.
func TestWhatCannotBePrinted(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "report")
	put(t, path, outfile.TextMark+"old")
	wrong := errors.New("wrong")
	var g outfile.Guard
	err := g.Write(path, nil, false, func(w io.Writer) error {
		_, _ = io.WriteString(w, "half")
		return wrong
	})
	if !errors.Is(err, wrong) || read(t, path) != outfile.TextMark+"old" {
		t.Errorf("%v; the file holds %q", err, read(t, path))
	}
	alone(t, folder, "report")
}

// TestWhatWasReadStays under every name that a file can have.
func TestWhatWasReadStays(t *testing.T) {
	folder := t.TempDir()
	t.Chdir(folder)
	put(t, "read", outfile.TextMark)
	for _, folder := range []string{"in", "far"} {
		if err := os.Mkdir(folder, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	names := []string{"read", "./read", "in/../read", filepath.Join(folder, "read"), "in//..//read"}
	if err := os.Link("read", "hard"); err != nil {
		t.Fatal(err)
	}
	names = append(names, "hard")
	for link, to := range map[string]string{"soft": "read", "softer": "soft", "far/soft": "../read", "deep": "far"} {
		if err := os.Symlink(to, link); err != nil {
			t.Skip("links need a right that few have here")
		}
	}
	names = append(names, "soft", "softer", "far/soft", "deep/soft", "deep/../read")
	if _, err := os.Stat("READ"); err == nil {
		names = append(names, "READ")
	}
	for _, told := range names {
		for _, name := range names {
			var g outfile.Guard
			g.Read(told)
			for _, replace := range []bool{false, true} {
				if err := g.Write(name, nil, replace, says("lost")); err == nil || !strings.Contains(err.Error(), "read in this run") {
					t.Fatalf("%s was read, and for %s it says %v", told, name, err)
				}
			}
		}
	}
	if got := read(t, "read"); got != outfile.TextMark {
		t.Errorf("it holds %q", got)
	}
}

// TestReadInAnArchive takes the name of an entry for the archive that it is in.
func TestReadInAnArchive(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "rig", outfile.TextMark)
	var g outfile.Guard
	g.Read("rig/inside/file.xml", "standard input")
	if err := g.Write("rig", nil, true, says("lost")); err == nil {
		t.Error("the archive is written over")
	}
	if err := g.Write("standard input", nil, false, says("not read")); err != nil {
		t.Error(err)
	}
}

// TestAnotherFileOfThatName is read too: whoever saves a file puts another one in its place.
func TestAnotherFileOfThatName(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "read", outfile.TextMark)
	var g outfile.Guard
	g.Read("read")
	put(t, "new", outfile.TextMark)
	if err := os.Rename("new", "read"); err != nil {
		t.Fatal(err)
	}
	if err := g.Write("read", nil, true, says("lost")); err == nil {
		t.Error("the file is written over")
	}
}

func TestMarked(t *testing.T) {
	for text, want := range map[string]bool{
		outfile.TextMark:                                                                  true,
		strings.TrimSpace(outfile.TextMark):                                               true,
		strings.TrimSpace(outfile.TextMark) + "\r\nx":                                     true,
		"\n" + outfile.TextMark:                                                           false,
		" " + outfile.TextMark:                                                            false,
		outfile.CommentMark + "# x":                                                       true,
		"x" + outfile.CommentMark:                                                         false,
		"<!doctype html>\n<head>\n" + outfile.MetaMark + "\n":                             true,
		"<!DOCTYPE HTML>\n" + outfile.MetaMark + "\n":                                     true,
		"<!doctype html>\n<p>" + outfile.MetaMark + "\n":                                  false,
		"<p>\n" + outfile.MetaMark + "\n":                                                 false,
		`{"schema":"cueproof-findings-1","shows":[`:                                       true,
		`{"schema":"cueproof-comparison-12"}`:                                             true,
		`{"schema":"cueproof-facts-1"}`:                                                   true,
		`{"schema":"cueproof-history-1"}`:                                                 false,
		`{"schema":"cueproof-findings"}`:                                                  false,
		`{"schema":"other-findings-1"}`:                                                   false,
		`{"a":{"schema":"cueproof-findings-1"}}`:                                          false,
		`[{"schema":"cueproof-findings-1"}]`:                                              false,
		`{"a":1,"schema":"cueproof-findings-1"}`:                                          true,
		`{"$schema":"x","version":"2.1.0","properties":{"writtenBy":"cueproof"},"runs":[`: true,
		`{"properties":{"writtenBy":"other"}}`:                                            false,
		`{"properties":{"a":{"writtenBy":"cueproof"}}}`:                                   false,
		`{`: false, ``: false, `null`: false, "{\"schema\":1}": false,
	} {
		if outfile.Marked([]byte(text)) != want {
			t.Errorf("%q: not %v", text, want)
		}
	}
}

// TestWhatIsRefused: what a report is never written to, and why; a file without our mark is replaced where somebody asks for that,
// and nothing else is.
func TestWhatIsRefused(t *testing.T) {
	folder := t.TempDir()
	t.Chdir(folder)
	put(t, "report", outfile.TextMark)
	put(t, "empty", "")
	put(t, "letter", "Dear all")
	put(t, "kept", "what was kept")
	put(t, "cues.json", "")
	put(t, "shut", outfile.TextMark)
	if err := os.Chmod("shut", 0o444); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir("folder", 0o755); err != nil {
		t.Fatal(err)
	}
	if os.Symlink("nothing", "dangling") != nil || os.Symlink("round", "round") != nil || os.Symlink("letter", "link") != nil {
		t.Skip("links need a right that few have here")
	}
	g := outfile.Guard{
		TakenFor: func(path string, beside bool) string {
			return map[string]string{"cues.json": "a section of a show", "new.json": map[bool]string{true: "a section of a show"}[beside]}[filepath.Base(path)]
		},
		Holds: func(path string, _ bool) string { return map[string]string{"kept": "a history"}[filepath.Base(path)] },
	}
	for name, why := range map[string][2]string{ // as it is, and with what is there to be replaced
		"report": {}, "new": {}, "new.json": {}, "empty": {}, "folder/new": {}, filepath.Join(folder, "new"): {},
		"letter": {"not marked as a report", ""}, "link": {"not marked as a report", ""},
		"kept":   {"this is a history, and none is ever written over", "this is a history, and none is ever written over"},
		"folder": {"this is a folder", "this is a folder"}, "folder/": {"this is a folder", "this is a folder"}, ".": {"this is a folder", "this is a folder"}, "folder/..": {"this is a folder", "this is a folder"},
		"nowhere/": {"this is a folder", "this is a folder"}, "nowhere/.": {"this is a folder", "this is a folder"}, "nowhere/..": {"this is a folder", "this is a folder"},
		"nowhere/new": {outfile.ErrNoFolder.Error(), outfile.ErrNoFolder.Error()}, "letter/new": {"not a directory", "not a directory"},
		"dangling": {"a link to nothing", "a link to nothing"}, "round": {"too many", "too many"},
		"cues.json": {"is taken for a section of a show", "is taken for a section of a show"}, "shut": {"protected against writing", "protected against writing"},
	} {
		for i, replace := range []bool{false, true} {
			err := g.Check(name, replace)
			if (err != nil) != (why[i] != "") || err != nil && !strings.Contains(err.Error(), why[i]) {
				t.Errorf("%s, to be replaced %v: %v, want %q", name, replace, err, why[i])
			}
		}
	}
	g.Read("letter") // now something beside was read
	if err := g.Check("new.json", true); err == nil || !strings.Contains(err.Error(), "is taken for a section of a show") {
		t.Errorf("beside what was read: %v", err)
	}
	if err := g.Check("folder/new.json", true); err != nil {
		t.Errorf("in a folder of its own: %v", err)
	}
	if err := g.CheckKept("new.json", "a section"); err != nil {
		t.Errorf("what it is: %v", err)
	}
	if err := g.CheckKept("letter", ""); err == nil || !strings.Contains(err.Error(), "read in this run as something else") {
		t.Errorf("what was read as something else: %v", err)
	}
	if err := g.CheckKept("folder", ""); err == nil {
		t.Error("a folder is kept")
	}
}

// TestReadOpen: what is open already is read too, if it is a file.
func TestReadOpen(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "show", outfile.TextMark)
	file, err := os.Open("show")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	here, err := os.Open(".")
	if err != nil {
		t.Fatal(err)
	}
	defer here.Close()
	var g outfile.Guard
	g.ReadOpen(strings.NewReader("words"))
	g.ReadOpen(here)
	if err := g.Check("show", false); err != nil {
		t.Error(err)
	}
	g.ReadOpen(file)
	if err := g.Check("show", true); err == nil || !strings.Contains(err.Error(), "read in this run") {
		t.Errorf("what stands in front of us is written over: %v", err)
	}
}

// TestTwoOptionsForOneFile: what two options name is one file however it is called, also where nothing is there yet.
func TestTwoOptionsForOneFile(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{"report", "other"} {
		put(t, name, "")
	}
	if err := os.Mkdir("in", 0o755); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		a, b string
		one  bool
	}{
		{"report", "report", true}, {"report", "./report", true}, {"report", "in/../report", true}, {"report", "other", false}, {"report", "in/report", false}, {"report", "new", false}, {"new", "report", false},
		{"new", "new", true}, {"new", "NEW", true}, {"new", "in/../new", true}, {"new", "in/new", false}, {"new", "newer", false}, {"nowhere/new", "nowhere/new", false},
	} {
		var g outfile.Guard
		if err := g.Choose("--html", c.a); err != nil {
			t.Error(err)
		}
		if err := g.Choose("--json", c.b); (err != nil) != c.one || err != nil && err.Error() != "--html and --json name the same file" {
			t.Errorf("%s and %s: %v", c.a, c.b, err)
		}
	}
}
