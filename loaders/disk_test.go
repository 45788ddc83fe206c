package loaders

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// sparse makes a file that claims a size and takes no room.
func sparse(t *testing.T, path string, size int64) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.Truncate(size); err != nil {
		t.Fatal(err)
	}
}

// allocated is how many bytes a function takes from the memory, freed or not.
func allocated(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

func TestALargeFileIsRefusedUnread(t *testing.T) {
	const size, little = 200_000_000, 4 << 20
	for _, name := range []string{"show.json", "cues.json", "patch.csv"} {
		folder := files(t, nil)
		sparse(t, filepath.Join(folder, name), size)
		var r Result
		taken := allocated(func() { r = load(t, folder) })
		if diff := cmp.Diff([]string{name + ":1:1 too-large error"}, brief(folder, r.Findings)); diff != "" || !r.Unreadable {
			t.Errorf("%s: %s", name, diff)
		}
		if text := messages(r.Findings); !strings.Contains(text, "200 MB") || !strings.Contains(text, "64 MiB") || !strings.Contains(text, "about 20 MB") {
			t.Errorf("the message leaves a number out: %s", text)
		}
		if taken > little {
			t.Errorf("%s: took %d bytes of memory", name, taken)
		}
	}
}

// What leads out of the folder is refused by its name, a drive with and without a way on it, wherever we are.
func TestNamesThatLeadOut(t *testing.T) {
	l := &loader{real: t.TempDir()}
	for name, out := range map[string]bool{"c:": true, "c:/a.csv": true, "C:a.csv": true, "../a.csv": true, "/a.csv": true, "a": false, "ab:": false, "a/c:": false} {
		if _, err := l.resolve(name); errors.Is(err, errOutside) != out || err == nil {
			t.Errorf("%s leads out: %v, want %v", name, err, out)
		}
	}
}

// The limit itself is read, a byte more is not, whether the size is known or not.
func TestLimitOfSize(t *testing.T) {
	folder := files(t, nil)
	name := filepath.Join(folder, "a.json")
	for size, want := range map[int64]string{maxFile: "syntax", maxFile + 1: "too-large"} {
		sparse(t, name, size)
		for _, path := range []string{name, "-"} {
			r, err := Load(path, Options{Stdin: endless{}})
			if path == "-" {
				want = "too-large"
			}
			if err != nil || len(r.Findings) != 1 || r.Findings[0].Rule != "file/"+want {
				t.Errorf("%s of %d bytes: %v, %v", path, size, brief(folder, r.Findings), err)
			}
		}
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// What is kept of a table of garbage is bounded by the file, whatever stands in it.
func TestGarbageTakesBoundedMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector, which runs with -short, takes memory of its own")
	}
	const size = 2 << 20
	const most = 150 // bytes for each of the file, freed or not; about 100 were measured for rows of one letter
	garbage := map[string]string{"short rows": "1\n", "flaws": `"a"b,`}
	if os.Getenv("CUEPROOF_LONG") != "" { // a third of a second for each
		maps.Copy(garbage, map[string]string{"empty rows": "\n", "separators": ";", "quote marks": `"`, "long rows": "1,2,3,4\n", "bad rows": "x,\n"})
	}
	for name, unit := range garbage {
		folder := files(t, map[string]string{"patch.csv": "channel,name\n" + strings.Repeat(unit, size/len(unit))})
		if taken := allocated(func() { load(t, folder) }) / size; taken > most {
			t.Errorf("%s take %d bytes for each of the file", name, taken)
		}
	}
}

func symlink(t *testing.T, target, name string) {
	t.Helper()
	if err := os.Symlink(target, name); err != nil {
		t.Skip("no symbolic links here: ", err)
	}
}

func TestSymbolicLinks(t *testing.T) {
	outside := filepath.Join(t.TempDir(), "patch.csv")
	if err := os.WriteFile(outside, []byte(csvPatch), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name, show string
		link       func(folder string) (target, name string)
		sections   string
		want       []string
		message    string
	}{
		{
			"to a file in the folder", `{"patch": "p.csv"}`,
			func(string) (string, string) { return "lists/p.csv", "p.csv" }, "patch", nil, "",
		},
		{
			"to a file in the folder by its whole path", `{"patch": "p.csv"}`,
			func(folder string) (string, string) { return filepath.Join(folder, "lists", "p.csv"), "p.csv" }, "patch", nil, "",
		},
		{
			"out of the folder", `{"patch": "p.csv"}`,
			func(string) (string, string) { return outside, "p.csv" }, "", []string{"show.json:1:11 outside-folder error"}, "p.csv is outside the folder",
		},
		{
			"out of the folder, found by name", `{}`,
			func(string) (string, string) { return outside, "patch.csv" }, "", []string{"patch.csv:1:1 outside-folder error"}, "patch.csv is outside the folder",
		},
		{
			"a folder out of the folder", `{"patch": "out/patch.csv"}`,
			func(string) (string, string) { return filepath.Dir(outside), "out" }, "", []string{"show.json:1:11 outside-folder error"}, "out/patch.csv is outside the folder",
		},
		{
			"to itself", `{"patch": "p.csv"}`,
			func(string) (string, string) { return "p.csv", "p.csv" }, "", []string{"show.json:1:11 unreadable error"}, "too many links",
		},
		{
			"a folder in itself", `{"patch": "round/round/round/lists/p.csv"}`,
			func(string) (string, string) { return ".", "round" }, "patch", nil, "",
		},
		{
			"to nothing", `{"patch": "p.csv"}`,
			func(string) (string, string) { return "gone.csv", "p.csv" }, "", []string{"show.json:1:11 missing-file error"}, "It is a link that leads nowhere.",
		},
		{
			"two names for one file", `{"patch": "lists/p.csv"}`,
			func(string) (string, string) { return "lists/p.csv", "patch.csv" }, "patch", nil, "",
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			folder := files(t, map[string]string{"show.json": tc.show, "lists/p.csv": csvPatch})
			target, name := tc.link(folder)
			symlink(t, target, filepath.Join(folder, name))
			r := load(t, folder)
			if diff := cmp.Diff(tc.want, brief(folder, r.Findings)); diff != "" || sectionsRead(r.Show) != tc.sections {
				t.Errorf("read %q, findings (-want +got):\n%s", sectionsRead(r.Show), diff)
			}
			if text := messages(r.Findings); !strings.Contains(text, tc.message) || strings.Contains(text, filepath.Dir(outside)) {
				t.Errorf("the message does not say %q, or gives away what is outside: %s", tc.message, text)
			}
			if r.Unreadable != (tc.want != nil) {
				t.Errorf("unreadable is %v", r.Unreadable)
			}
		})
	}
	folder := filepath.Join(t.TempDir(), "link")
	symlink(t, files(t, map[string]string{"patch.csv": csvPatch}), folder)
	if r := load(t, folder); len(r.Findings) > 0 || r.Files[0].Name != filepath.ToSlash(folder)+"/patch.csv" {
		t.Errorf("through a link to the folder: %s, %s", r.Files[0].Name, messages(r.Findings))
	}
	away := filepath.Join(files(t, map[string]string{"p.csv": csvPatch}), "sunday.json")
	symlink(t, filepath.Join(files(t, map[string]string{"real.json": `{"patch": "p.csv"}`}), "real.json"), away)
	if r := load(t, away); len(r.Findings) > 0 || r.Name != "sunday" || len(r.Show.Patch) != 1 {
		t.Errorf("through a link to the file: %s", messages(r.Findings))
	}
	loop := filepath.Join(t.TempDir(), "loop")
	symlink(t, loop, loop)
	if _, err := Load(loop, Options{}); err == nil {
		t.Error("a link to itself is taken for a show")
	}
}

func TestAFileThatMayNotBeRead(t *testing.T) {
	folder := files(t, map[string]string{"patch.csv": csvPatch, "cues.json": oneCue})
	name := filepath.Join(folder, "patch.csv")
	if err := os.Chmod(name, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(name); err == nil {
		f.Close()
		t.Skip("this user may read everything")
	}
	r := load(t, folder)
	if diff := cmp.Diff([]string{"patch.csv:1:1 unreadable error"}, brief(folder, r.Findings)); diff != "" || !r.Unreadable {
		t.Error(diff)
	}
}

func TestReadLimitedReadsAll(t *testing.T) {
	text := bytes.Repeat([]byte("x"), 100_000)
	for _, size := range []int64{0, 5, 100_000, 1 << 40} {
		if got, err := readLimited(bytes.NewReader(text), size); err != nil || got != string(text) {
			t.Errorf("expecting %d bytes: got %d, %v", size, len(got), err)
		}
	}
}
