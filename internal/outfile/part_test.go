//go:build unix

package outfile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

func inFolder(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, entry := range entries {
		names = append(names, entry.Name())
	}
	return names
}

func named(path string) (*os.File, bool, error) {
	file, err := createFile(path, 0o644)
	return file, false, err
}

// TestLeftOverParts: what a killed program left is cleared away, what is still
// being made is not, nor anything that only looks alike.
func TestLeftOverParts(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{".cueproof-part-0123456789abcdef", ".cueproof-history.json", ".cueproof-part-mine"} {
		if err := os.WriteFile(filepath.Join(folder, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{".cueproof-part-00000000000000aa/deep", ".cueproof-part-00000000000000bb-gone/deep"} {
		if err := os.MkdirAll(filepath.Join(folder, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	first, err := newPart(folder, named)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := newPart(folder, makeFolder)
	if err != nil {
		t.Fatal(err)
	}
	second, err := newPart(folder, named) // clears away, and must leave the two
	if err != nil {
		t.Fatal(err)
	}
	if got := inFolder(t, folder); len(got) != 5 {
		t.Errorf("the folder holds %v", got)
	}
	for i, p := range []*part{first, whole, second} {
		if err := p.become(filepath.Join(folder, string(rune('a'+i))), os.Rename); err != nil {
			t.Error(err)
		}
		p.drop()
	}
	got := inFolder(t, folder)
	want := []string{".cueproof-history.json", ".cueproof-part-mine", "a", "b", "c"}
	if len(got) != len(want) {
		t.Fatalf("the folder holds %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("the folder holds %v, want %v", got, want)
		}
	}
}

// TestNamedParts goes the way of file systems that have no files without a name.
func TestNamedParts(t *testing.T) {
	folder := t.TempDir()
	p, err := newPart(folder, named)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.file.WriteString("text"); err != nil {
		t.Fatal(err)
	}
	p.drop()
	if got := inFolder(t, folder); len(got) != 0 {
		t.Errorf("what was dropped leaves %v", got)
	}
}

// TestPermissions: an old file keeps its own, a new one is as the system wants it.
func TestPermissions(t *testing.T) {
	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	folder := t.TempDir()
	var g Guard
	say := func(w io.Writer) error { _, err := io.WriteString(w, "x"); return err }
	for name, want := range map[string]fs.FileMode{"new": 0o640, "private": 0o600, "open": 0o666} {
		path := filepath.Join(folder, name)
		if name != "new" {
			if err := os.WriteFile(path, nil, want); err != nil {
				t.Fatal(err)
			}
			if err := os.Chmod(path, want); err != nil {
				t.Fatal(err)
			}
		}
		if err := g.Write(path, nil, false, say); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s has %v, want %v (%v)", name, info.Mode().Perm(), want, err)
		}
	}
}

// TestLock: one at a time, and the next as soon as the first lets go; by the folder
// itself and by a file that stands for it and is gone afterwards.
func TestLock(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, lockName)
	for name, try := range map[string]func() (func(), error){
		"folder": func() (func(), error) { return tryLock(folder) },
		"file":   func() (func(), error) { return tryLockFile(file) },
	} {
		unlock, err := try()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if _, err := try(); !errors.Is(err, errBusy) {
			t.Errorf("%s: the second is told %v", name, err)
		}
		unlock()
		unlock, err = try()
		if err != nil {
			t.Fatalf("%s: after the first, %v", name, err)
		}
		unlock()
		if got := inFolder(t, folder); len(got) != 0 {
			t.Errorf("%s: left is %v", name, got)
		}
	}
}

// TestWaitingForTheLock: whoever finds it taken waits until it is given back.
func TestWaitingForTheLock(t *testing.T) {
	folder := t.TempDir()
	unlock, err := tryLock(folder)
	if err != nil {
		t.Fatal(err)
	}
	var given atomic.Bool
	time.AfterFunc(10*time.Millisecond, func() {
		given.Store(true)
		unlock()
	})
	next, err := lock(folder)
	if err != nil || !given.Load() {
		t.Fatalf("the second has it before the first gave it back: %v; %v", !given.Load(), err)
	}
	next()
}

// TestALockFileThatIsLeft by a killed program holds nobody up.
func TestALockFileThatIsLeft(t *testing.T) {
	file := filepath.Join(t.TempDir(), lockName)
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	unlock, err := tryLockFile(file)
	if err != nil {
		t.Fatal(err)
	}
	unlock()
}

// TestAnEditorMeanwhile: what somebody wrote who takes no lock is merged too.
func TestAnEditorMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept")
	if err := os.WriteFile(path, []byte("one\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	var g Guard
	asked := 0
	err := g.Merge(path, "", func(before []byte) ([]byte, error) {
		if asked++; asked == 1 {
			if err := os.WriteFile(path, []byte("one\ntwo\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		return append(before, "three\n"...), nil
	})
	if err != nil || asked != 2 {
		t.Errorf("asked %d times: %v", asked, err)
	}
	if got, _ := os.ReadFile(path); string(got) != "one\ntwo\nthree\n" {
		t.Errorf("it holds %q", got)
	}
	// one who never stops is given up on
	err = g.Merge(path, "", func(before []byte) ([]byte, error) {
		if err := os.WriteFile(path, append(before, '.'), 0o644); err != nil {
			t.Fatal(err)
		}
		return []byte("lost"), nil
	})
	if !errors.Is(err, errChanged) {
		t.Errorf("%v", err)
	}
}

// TestWhatWasFoundAndIsNot: a file that went since it was found is an error, one that came is read; nothing is read of none.
func TestWhatWasFoundAndIsNot(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept")
	none, err := find(path)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := none.read(); text != nil || err != nil {
		t.Errorf("of none: %q, %v", text, err)
	}
	if err := os.WriteFile(path, []byte("one\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if text, err := none.read(); string(text) != "one\n" || err != nil {
		t.Errorf("of one that came: %q, %v", text, err)
	}
	there, err := find(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if text, err := there.read(); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("of one that went: %q, %v", text, err)
	}
	if err := os.Mkdir(path, 0o755); err != nil {
		t.Fatal(err)
	}
	if text, err := none.read(); err == nil {
		t.Errorf("of a folder that came: %q", text)
	}
}

// TestBeside: what was read lies beside all that is in its folder, and beside nothing of a folder that is not there.
func TestBeside(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("in", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("show", nil, 0o644); err != nil {
		t.Fatal(err)
	}
	var g Guard
	g.Read("show")
	for folder, want := range map[string]bool{".": true, "in/..": true, "in": false, "nowhere": false} {
		if got := g.beside(folder); got != want {
			t.Errorf("in %s: %v", folder, got)
		}
	}
}

// TestPipe: what does not fit into a pipe at once gets through, and one whose
// reader goes away is an error.
func TestPipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(path, 0o644); err != nil {
		t.Skip(err)
	}
	var g Guard
	text := make([]byte, 1<<20)
	say := func(w io.Writer) error { _, err := w.Write(text); return err }
	got := make(chan int)
	go func() {
		time.Sleep(50 * time.Millisecond) // a reader that is a little late
		data, _ := os.ReadFile(path)
		got <- len(data)
	}()
	if err := g.Write(path, []byte("mark"), false, say); err != nil {
		t.Error(err)
	}
	if n := <-got; n != len(text) {
		t.Errorf("%d bytes came through", n)
	}
	go func() {
		file, err := os.Open(path)
		if err == nil {
			file.Close()
		}
		got <- 0
	}()
	err := g.Write(path, nil, false, say)
	<-got
	if !errors.Is(err, syscall.EPIPE) {
		t.Errorf("a pipe without a reader: %v", err)
	}
}

// TestAFailingFolder leaves nothing, also of the folders above it.
func TestAFailingFolder(t *testing.T) {
	folder := t.TempDir()
	var g Guard
	wrong := errors.New("wrong")
	for _, name := range []string{"new", "above/new", "a/b/c"} {
		err := g.Folder(filepath.Join(folder, name), func(made *os.Root) error {
			if err := made.WriteFile("half", nil, 0o644); err != nil {
				t.Error(err)
			}
			return wrong
		})
		if !errors.Is(err, wrong) {
			t.Errorf("%v", err)
		}
	}
	if got := inFolder(t, folder); len(got) != 0 {
		t.Errorf("left is %v", got)
	}
	// whole, also in the place of an empty folder, and never over one that holds something
	if err := os.Mkdir(filepath.Join(folder, "empty"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"new", "above/new", "empty"} {
		fill := func(made *os.Root) error { return made.WriteFile("file", []byte("text"), 0o644) }
		path := filepath.Join(folder, name)
		if err := g.Folder(path, fill); err != nil {
			t.Error(err)
		}
		if got, err := os.ReadFile(filepath.Join(path, "file")); string(got) != "text" {
			t.Errorf("%q, %v", got, err)
		}
		if err := g.Folder(path, fill); err == nil {
			t.Errorf("%s is written over", name)
		}
	}
	// and nowhere where no folder can stand
	for _, name := range []string{"new/file", "new/file/deeper", "above/" + strings.Repeat("a", 300) + "/new", "beside/" + strings.Repeat("a", 300)} {
		filled := false
		err := g.Folder(filepath.Join(folder, name), func(*os.Root) error { filled = true; return nil })
		if err == nil || filled {
			t.Errorf("%s is made: %v, %v", name, filled, err)
		}
	}
	g.TakenFor = func(path string, _ bool) string { return map[string]string{"evening": "a show"}[filepath.Base(path)] }
	if err := g.Folder(filepath.Join(folder, "evening"), func(*os.Root) error { return nil }); err == nil || !strings.Contains(err.Error(), "taken for a show") {
		t.Errorf("a folder that would be taken for a show: %v", err)
	}
	if got := inFolder(t, folder); len(got) != 3 {
		t.Errorf("the folder holds %v", got)
	}
}

// TestAShutFolder: where nothing can be made, what is there stays.
func TestAShutFolder(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "report")
	if err := os.WriteFile(path, []byte(TextMark), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(folder, 0o555); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = os.Chmod(folder, 0o755) }() // so that it can be taken away
	if file, err := os.Create(filepath.Join(folder, "probe")); err == nil {
		file.Close()
		t.Skip("who runs this may write anywhere")
	}
	var g Guard
	say := func(w io.Writer) error { _, err := io.WriteString(w, "lost"); return err }
	for name, err := range map[string]error{
		"report": g.Write(path, nil, false, say),
		"new":    g.Write(filepath.Join(folder, "new"), nil, false, say),
		"kept":   g.Merge(path, "", func([]byte) ([]byte, error) { return []byte("lost"), nil }),
		"folder": g.Folder(filepath.Join(folder, "made"), func(*os.Root) error { return nil }),
	} {
		if !errors.Is(err, fs.ErrPermission) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, err := os.ReadFile(path); string(got) != TextMark {
		t.Errorf("it holds %q (%v)", got, err)
	}
	if got := inFolder(t, folder); len(got) != 1 {
		t.Errorf("the folder holds %v", got)
	}
}

// TestAFolderThatWent: where there is no folder any more, that is the error.
func TestAFolderThatWent(t *testing.T) {
	err := replaceWhole(target{path: filepath.Join(t.TempDir(), "gone", "report")}, []byte("text"), nil)
	if !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}
