// Package follow waits until files change and have come to rest.
//
// In go names of files and folders, out comes which of them changed, once nobody has
// written for a moment. The system tells of changes where it can; beside that the files
// are looked at now and then, because a share in the network, a mount or a full table of
// watches tells nothing. Nothing is opened, and nothing is started but what the library
// for notices starts. A newcomer's mistake would be to take a change for a whole file:
// whoever reads has to live with half of one, and is told again.
package follow

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// How long is waited. Programs save in bursts of some milliseconds; ours, from trying.
const (
	quiet     = 50 * time.Millisecond   // after the last sign of a change
	longest   = 1500 * time.Millisecond // after the first, while signs keep coming
	paceTold  = time.Second             // between looks, where the system tells of changes
	paceAlone = 200 * time.Millisecond  // where it does not
)

// deepest is how many folders below a named one are followed: a rule lies two deep.
const deepest = 4

// Files are names that are followed. They belong to one goroutine.
type Files struct {
	names  []string
	notify *fsnotify.Watcher // nil: the system tells nothing
	seen   state
}

// state is what the names looked like: for each all that is below it, by path.
type state map[string]map[string]fs.FileInfo

// New begins to follow files and folders from what they are now; a name need not be there
// yet. Alone is for who does not want to be told by the system.
func New(alone bool, names ...string) *Files {
	f := &Files{}
	for _, name := range names {
		if name = filepath.Clean(name); !slices.Contains(f.names, name) {
			f.names = append(f.names, name)
		}
	}
	if !alone {
		f.notify, _ = fsnotify.NewWatcher() // without it we look for ourselves
	}
	f.seen = f.look()
	f.watch(nil)
	return f
}

// Alone reports whether the system tells nothing, so that all is looked at.
func (f *Files) Alone() bool { return f.notify == nil }

// Names are the names that are followed, cleaned, each once.
func (f *Files) Names() []string { return slices.Clone(f.names) }

// Close ends it.
func (f *Files) Close() {
	if f.notify != nil {
		_ = f.notify.Close() // nothing can be lost by it
		f.notify = nil
	}
}

// Next waits for a change and then for rest, and returns the names that changed, as New
// was given them but cleaned. What changes between two calls counts for the second. The
// error is that of the context.
func (f *Files) Next(ctx context.Context) ([]string, error) {
	changed := map[string]bool{}
	var since time.Time // of the first sign
	rest := time.NewTimer(time.Hour)
	defer rest.Stop()
	sign := func(names ...string) {
		for _, name := range names {
			changed[name] = true
		}
		if since.IsZero() {
			since = time.Now()
		}
		rest.Reset(max(0, min(quiet, longest-time.Since(since))))
	}
	last := f.look()
	if names := differ(f.names, f.seen, last); len(names) > 0 {
		sign(names...)
	}
	tick := time.NewTicker(f.pace())
	defer tick.Stop()
	for {
		var events chan fsnotify.Event
		var failed chan error
		if f.notify != nil {
			events, failed = f.notify.Events, f.notify.Errors
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case event := <-events:
			if names := f.about(event); len(names) > 0 {
				sign(names...)
			}
		case err := <-failed: // more happened than the system keeps
			if err != nil {
				sign(f.names...)
			}
		case <-tick.C:
			now := f.look()
			if names := differ(f.names, last, now); len(names) > 0 {
				sign(names...)
			}
			last = now
		case <-rest.C:
			now := f.look()
			names := differ(f.names, last, now)
			if last = now; len(names) > 0 && time.Since(since) < longest {
				sign(names...) // it still moves
				continue
			}
			before := f.seen
			f.seen = now
			f.watch(before)
			var list []string
			for _, name := range f.names {
				if changed[name] || slices.Contains(names, name) {
					list = append(list, name)
				}
			}
			return list, nil
		}
	}
}

func (f *Files) pace() time.Duration {
	if f.Alone() {
		return paceAlone
	}
	return paceTold
}

// look sees what is there, without opening any file.
func (f *Files) look() state {
	now := state{}
	for _, name := range f.names {
		now[name] = map[string]fs.FileInfo{}
		lookAt(name, 0, now[name])
	}
	return now
}

func lookAt(path string, depth int, there map[string]fs.FileInfo) {
	info, err := os.Stat(path)
	if err != nil {
		return // not there, or not for us: the same
	}
	there[path] = info
	if !info.IsDir() || depth > deepest {
		return
	}
	entries, _ := os.ReadDir(path) // what can be listed
	for _, entry := range entries {
		if !hidden(entry.Name()) {
			lookAt(filepath.Join(path, entry.Name()), depth+1, there)
		}
	}
}

// hidden files belong to editors and systems; no show has any.
func hidden(name string) bool { return strings.HasPrefix(name, ".") }

func differ(names []string, old, now state) (list []string) {
	for _, name := range names {
		if !same(old[name], now[name]) {
			list = append(list, name)
		}
	}
	return list
}

func same(old, now map[string]fs.FileInfo) bool {
	if len(old) != len(now) {
		return false
	}
	for path, a := range old {
		b, there := now[path]
		if !there || a.IsDir() != b.IsDir() || !os.SameFile(a, b) || !a.IsDir() && (a.Size() != b.Size() || !a.ModTime().Equal(b.ModTime())) {
			return false
		}
	}
	return true
}

// about are the names that an event is about.
func (f *Files) about(event fsnotify.Event) (list []string) {
	if event.Op == fsnotify.Chmod {
		return nil
	}
	for _, name := range f.names {
		folder := filepath.Dir(event.Name)
		if info := f.seen[name][folder]; event.Name == name || info != nil && info.IsDir() && !hidden(filepath.Base(event.Name)) {
			list = append(list, name)
		}
	}
	return list
}

// watch asks the system to tell of every folder that is seen and of those that the names
// are in, so that it tells when one comes back. If a folder cannot be asked for, all is
// looked at oftener; what is not there yet is found by looking.
func (f *Files) watch(before state) {
	if f.notify == nil {
		return
	}
	asked := f.notify.WatchList()
	for _, name := range f.names {
		for path, info := range f.seen[name] {
			if !info.IsDir() {
				continue
			}
			if was := before[name][path]; slices.Contains(asked, path) {
				if was != nil && os.SameFile(was, info) {
					continue
				}
				_ = f.notify.Remove(path) // another folder of that name
			}
			if err := f.notify.Add(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				f.Close()
				return
			}
		}
		if above := filepath.Dir(name); f.seen[name][name] != nil && !slices.Contains(asked, above) {
			_ = f.notify.Add(above) // if not, looking finds it
		}
	}
}
