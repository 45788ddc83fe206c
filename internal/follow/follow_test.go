package follow

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"testing/synctest"
	"time"
)

// patience is no measure of anything: it ends a test that would hang.
const patience = 30 * time.Second

func put(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// next waits until a name is told. On a busy machine the system may tell late of what was
// told already, which is no mistake.
func next(t *testing.T, f *Files, want string) {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), patience)
	defer stop()
	for {
		got, err := f.Next(ctx)
		if err != nil {
			t.Fatalf("%s is never told: %v", want, err)
		}
		if slices.Contains(got, want) {
			return
		}
	}
}

// both runs a test where the system tells of changes and where it does not, beside others that mostly wait.
func both(t *testing.T, test func(t *testing.T, alone bool)) {
	t.Parallel()
	for _, alone := range []bool{false, true} {
		t.Run(fmt.Sprintf("alone %v", alone), func(t *testing.T) {
			t.Parallel()
			test(t, alone)
		})
	}
}

func TestChangesOfEveryKindAreSeen(t *testing.T) {
	both(t, func(t *testing.T, alone bool) {
		parent := t.TempDir()
		show, other, house := filepath.Join(parent, "show"), filepath.Join(parent, "other.json"), filepath.Join(parent, "house.yaml")
		if err := os.MkdirAll(filepath.Join(show, "types"), 0o700); err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(show, "cues.json"), "1")
		put(t, other, "1")
		f := New(alone, show, other, house)
		defer f.Close()

		put(t, filepath.Join(show, "cues.json"), "22")
		next(t, f, show)
		put(t, filepath.Join(parent, "new"), "333") // put in its place, as careful programs save
		if err := os.Rename(filepath.Join(parent, "new"), other); err != nil {
			t.Fatal(err)
		}
		next(t, f, other)
		put(t, filepath.Join(show, "types", "profile.json"), "1")
		next(t, f, show)
		put(t, house, "a: 1") // was never there
		next(t, f, house)
		if err := os.Rename(show, filepath.Join(parent, "away")); err != nil {
			t.Fatal(err)
		}
		next(t, f, show)
		if err := os.Mkdir(show, 0o700); err != nil { // comes back as another one
			t.Fatal(err)
		}
		put(t, filepath.Join(show, "cues.json"), "4444")
		next(t, f, show)
		put(t, filepath.Join(show, "cues.json"), "55555")
		next(t, f, show)
	})
}

// TestSavesInABurstAreFew: what changes while nobody waits is told by the next call, and at
// most twice more where the system tells late.
func TestSavesInABurstAreFew(t *testing.T) {
	both(t, func(t *testing.T, alone bool) {
		show := filepath.Join(t.TempDir(), "show.json")
		put(t, show, "")
		f := New(alone, show)
		defer f.Close()
		for i := range 50 {
			put(t, show, fmt.Sprint("save ", i))
		}
		next(t, f, show)
		ctx, stop := context.WithTimeout(context.Background(), 2*f.pace())
		defer stop()
		told := 1
		for {
			if _, err := f.Next(ctx); err != nil {
				break
			}
			told++
		}
		if told > 3 {
			t.Errorf("50 saves are told %d times", told)
		}
	})
}

// TestWhatOthersWriteIsNothing: files beside the show, hidden ones in it, and reading.
func TestWhatOthersWriteIsNothing(t *testing.T) {
	both(t, func(t *testing.T, alone bool) {
		parent := t.TempDir()
		show := filepath.Join(parent, "show")
		if err := os.Mkdir(show, 0o700); err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(show, "cues.json"), "1")
		f := New(alone, show)
		defer f.Close()
		put(t, filepath.Join(parent, "beside.json"), "1")
		put(t, filepath.Join(show, ".swap"), "1")
		if _, err := os.ReadFile(filepath.Join(show, "cues.json")); err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithTimeout(context.Background(), 2*f.pace())
		defer stop()
		if got, err := f.Next(ctx); err == nil {
			t.Errorf("%v is told", got)
		}
	})
}

func TestNothingIsLeftRunning(t *testing.T) {
	before := runtime.NumGoroutine()
	for range 20 {
		f := New(false, t.TempDir())
		ctx, stop := context.WithCancel(context.Background())
		stop()
		if _, err := f.Next(ctx); err == nil {
			t.Error("it ends without an error")
		}
		f.Close()
	}
	for end := time.Now().Add(patience); runtime.NumGoroutine() > before; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d goroutines, %d before", runtime.NumGoroutine(), before)
		}
	}
}

// TestAFileThatMovesIsWaitedFor counts in the time of the test alone: a change that is seen
// at the first look and goes on before the rest is over makes the rest begin again.
func TestAFileThatMovesIsWaitedFor(t *testing.T) {
	name := filepath.Join(t.TempDir(), "cues.json")
	put(t, name, "1")
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		f := New(true, name)
		go func() {
			time.Sleep(paceAlone / 2)
			put(t, name, "22")
			time.Sleep(paceAlone/2 + quiet/2)
			put(t, name, "333")
		}()
		got, err := f.Next(t.Context())
		if took := time.Since(begin); err != nil || !slices.Equal(got, []string{name}) || took != paceAlone+2*quiet {
			t.Errorf("%v after %v, %v", got, took, err)
		}
	})
}

// TestWhatIsTheSame: a folder stays what it is whatever its time; a file is another one when it is longer, newer or has
// been put in the place of the one that was there.
func TestWhatIsTheSame(t *testing.T) {
	folder, then := t.TempDir(), time.Date(2026, 3, 1, 10, 0, 0, 0, time.UTC)
	at := func(name string, time time.Time) fs.FileInfo {
		t.Helper()
		name = filepath.Join(folder, name)
		if err := os.Chtimes(name, time, time); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		return info
	}
	put(t, filepath.Join(folder, "a"), "1")
	put(t, filepath.Join(folder, "b"), "1")
	if err := os.Mkdir(filepath.Join(folder, "c"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(folder, "d"), 0o700); err != nil {
		t.Fatal(err)
	}
	a, b, c := at("a", then), at("b", then), at("c", then)
	newer, other, later := at("a", then.Add(time.Second)), at("d", then), at("c", then.Add(time.Second))
	put(t, filepath.Join(folder, "a"), "12")
	longer := at("a", then)
	of := func(infos ...fs.FileInfo) map[string]fs.FileInfo {
		list := map[string]fs.FileInfo{}
		for i, info := range infos {
			list[fmt.Sprint(i)] = info
		}
		return list
	}
	for _, tc := range []struct {
		about    string
		old, now map[string]fs.FileInfo
		want     bool
	}{
		{"nothing", nil, nil, true}, {"itself", of(a, c), of(a, c), true}, {"newer", of(a), of(newer), false}, {"longer", of(a), of(longer), false},
		{"another in its place", of(a), of(b), false}, {"a folder in its place", of(a), of(c), false}, {"another folder", of(c), of(other), false}, {"a folder with another time", of(c), of(later), true},
		{"one more", of(a), of(a, b), false}, {"one less", of(a, b), of(a), false}, {"under another name", map[string]fs.FileInfo{"x": a}, map[string]fs.FileInfo{"y": a}, false},
	} {
		if got := same(tc.old, tc.now); got != tc.want {
			t.Errorf("%s: the same %t", tc.about, got)
		}
	}
}

// TestTheFolderOfANameIsFollowed, so that the system tells when the name comes back, and when a file is put in its place; a
// folder that is named itself is followed as well.
func TestTheFolderOfANameIsFollowed(t *testing.T) {
	parent := t.TempDir()
	show, table := filepath.Join(parent, "show"), filepath.Join(parent, "exports", "patch.csv")
	for _, folder := range []string{show, filepath.Dir(table)} {
		if err := os.Mkdir(folder, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	put(t, table, "1")
	f := New(false, show, table)
	defer f.Close()
	if f.Alone() {
		t.Skip("the system tells nothing here")
	}
	asked := f.notify.WatchList()
	slices.Sort(asked)
	if want := []string{parent, filepath.Dir(table), show}; !slices.Equal(asked, want) {
		t.Errorf("the system is asked of %q, not %q", asked, want)
	}
}
