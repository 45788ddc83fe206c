// Package outfile is the only door through which the program writes files.
//
// In go a name, what was read in this run and what is to be written; out comes
// a file that is replaced as a whole, or an error and everything as it was. What
// was read is never written over, nor what could be taken for a part of a show or
// a house, nor a file that does not carry the mark of a report of ours. A
// newcomer's mistake would be to compare names: one file has many (links, other
// letters, ".."), so files are told apart by what the system says they are.
package outfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// Guard knows what a run has read, and stands before all that it writes. The
// zero value guards nothing yet; its methods may be called from several goroutines.
type Guard struct {
	// TakenFor says what a file would be taken for that is no report: "a section of
	// a show". It is asked for the name that was given and for the file behind it;
	// beside tells whether something in the same folder was read in this run.
	TakenFor func(path string, beside bool) string
	// Holds says of a file that is there what it holds that cannot be made again, or "".
	Holds func(path string, beside bool) string

	mu     sync.Mutex
	names  []string
	infos  []fs.FileInfo
	chosen []destination
}

// destination is a place that the run is going to write to.
type destination struct {
	option string
	name   string
}

// Read tells of files that the run reads. A name inside an archive stands for
// the archive; one that is no file, such as what standard input is called, for
// nothing.
func (g *Guard) Read(names ...string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, name := range names {
		if file, info := fileOf(name); info != nil {
			g.names, g.infos = append(g.names, file), append(g.infos, info)
		}
	}
}

// ReadOpen tells of a file that is open already, such as standard input.
func (g *Guard) ReadOpen(r io.Reader) {
	file, ok := r.(interface{ Stat() (fs.FileInfo, error) })
	if !ok {
		return
	}
	if info, err := file.Stat(); err == nil && info.Mode().IsRegular() {
		g.mu.Lock()
		defer g.mu.Unlock()
		g.infos = append(g.infos, info)
	}
}

// fileOf finds the file that a name stands for, if there is one.
func fileOf(name string) (file string, info fs.FileInfo) {
	for file = filepath.FromSlash(name); ; file = filepath.Dir(file) {
		info, err := os.Stat(file)
		switch {
		case err == nil && info.Mode().IsRegular():
			return file, info
		case err == nil, file == filepath.Dir(file):
			return "", nil
		}
	}
}

// WasRead reports whether a file was read in this run, under whatever name.
func (g *Guard) WasRead(info fs.FileInfo) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, other := range g.infos {
		if os.SameFile(info, other) {
			return true
		}
	}
	for _, name := range g.names { // an editor may have put another file there meanwhile
		if other, err := os.Stat(name); err == nil && os.SameFile(info, other) {
			return true
		}
	}
	return false
}

// beside reports whether something in a folder was read in this run.
func (g *Guard) beside(folder string) bool {
	here, err := os.Stat(folder)
	if err != nil {
		return false
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, name := range g.names {
		if there, err := os.Stat(filepath.Dir(name)); err == nil && os.SameFile(here, there) {
			return true
		}
	}
	return false
}

// Choose says where an option is going to write. An error is that another one
// writes to the same place, also if nothing is there yet.
func (g *Guard) Choose(option, name string) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, other := range g.chosen {
		if same(name, other.name) {
			return fmt.Errorf("%s and %s name the same file", other.option, option)
		}
	}
	g.chosen = append(g.chosen, destination{option, name})
	return nil
}

// same reports whether two names are one file, or would be on a disk that does
// not tell capital and small letters apart.
func same(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	if errA == nil && errB == nil {
		return os.SameFile(infoA, infoB)
	}
	if (errA == nil) != (errB == nil) {
		return false
	}
	folderA, baseA := split(a)
	folderB, baseB := split(b)
	infoA, _ = os.Stat(folderA) // nil where there is none, which is the same as no other
	infoB, _ = os.Stat(folderB)
	return os.SameFile(infoA, infoB) && strings.EqualFold(baseA, baseB)
}

// split is [filepath.Split] with a folder that can be opened. It does not tidy
// the name: behind a link, ".." is another folder than it looks.
func split(name string) (folder, base string) {
	folder, base = filepath.Split(name)
	if folder == "" {
		folder = "."
	}
	return folder, base
}

// target is a place to write to.
type target struct {
	path string      // without links, unless it is a pipe or a device
	info fs.FileInfo // nil: nothing is there yet
}

// ErrNoFolder is returned where the folder to write to is not there.
var ErrNoFolder = errors.New("the folder it should stand in is not there")

// find looks where a name leads. A link to nothing and a link in a circle are
// errors, so that a link never becomes a file.
func find(name string) (target, error) {
	folder, base := split(name)
	if base == "" || base == "." || base == ".." {
		return target{}, errors.New("this is a folder; name a file in it")
	}
	info, err := os.Stat(name)
	switch {
	case err == nil && info.IsDir():
		return target{}, errors.New("this is a folder; name a file in it")
	case err == nil && !info.Mode().IsRegular():
		return target{name, info}, nil
	case err == nil:
		real, err := filepath.EvalSymlinks(name)
		if err != nil {
			return target{}, reason(err)
		}
		return target{real, info}, nil
	case !errors.Is(err, fs.ErrNotExist):
		return target{}, reason(err)
	}
	if link, err := os.Lstat(name); err == nil {
		if link.Mode()&fs.ModeSymlink == 0 { // somebody else made the file between the two looks
			return find(name)
		}
		return target{}, errors.New("this is a link to nothing, and a link is not made a file")
	}
	real, err := filepath.EvalSymlinks(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return target{}, ErrNoFolder
	}
	if err != nil {
		return target{}, reason(err)
	}
	if info, err := os.Stat(real); err != nil || !info.IsDir() {
		return target{}, ErrNoFolder
	}
	return target{path: filepath.Join(real, base)}, nil
}

// Check says why a report must not be written to a name, if it must not. With
// replace a file without our mark may be replaced, and nothing else.
func (g *Guard) Check(name string, replace bool) error {
	t, err := find(name)
	if err != nil {
		return err
	}
	return g.check(name, t, replace)
}

func (g *Guard) check(name string, t target, replace bool) error {
	if t.info != nil && !t.info.Mode().IsRegular() {
		return special(t.info.Mode())
	}
	if t.info != nil && g.WasRead(t.info) {
		return errors.New("this file is read in this run, and what is read is never written over")
	}
	if err := g.allowed(name, t, ""); err != nil {
		return err
	}
	if t.info == nil || t.info.Size() == 0 {
		return nil
	}
	head, err := headOf(t.path)
	if err != nil {
		return fmt.Errorf("a file is there that cannot be read: %w", reason(err))
	}
	if Marked(head) {
		return nil
	}
	if g.Holds != nil {
		if what := g.Holds(t.path, g.beside(filepath.Dir(t.path))); what != "" {
			return fmt.Errorf("this is %s, and none is ever written over", what)
		}
	}
	if !replace {
		return errors.New("a file is there that is not marked as a report of this program, so it stays; name another, or add --replace")
	}
	return nil
}

// allowed refuses what could be taken for something else than it is.
func (g *Guard) allowed(name string, t target, is string) error {
	if g.TakenFor != nil {
		beside := g.beside(filepath.Dir(t.path))
		for _, path := range []string{name, t.path} {
			if what := g.TakenFor(path, beside); what != "" && (is == "" || !strings.HasPrefix(what, is)) {
				return fmt.Errorf("a file of that name is taken for %s here, and none is ever written over; choose another name or another folder", what)
			}
		}
	}
	if t.info != nil && t.info.Mode().Perm()&0o222 == 0 {
		return errors.New("the file is protected against writing, so it stays")
	}
	return nil
}

// special says which of the things that are neither file nor folder can be written to.
func special(mode fs.FileMode) error {
	if mode&fs.ModeNamedPipe != 0 || mode&fs.ModeCharDevice != 0 {
		return nil
	}
	return errors.New("this is neither a file nor a pipe")
}

// Write writes what put prints to a name, whole or not at all. A file gets the
// mark before it; a pipe or a device is written to as it is. Nothing is written
// that [Guard.Check] refuses.
func (g *Guard) Write(name string, mark []byte, replace bool, put func(io.Writer) error) error {
	var text bytes.Buffer
	if err := put(&text); err != nil {
		return err
	}
	t, err := find(name)
	if err != nil {
		return err
	}
	if err := g.check(name, t, replace); err != nil {
		return err
	}
	if t.info != nil && !t.info.Mode().IsRegular() {
		return pour(t, text.Bytes())
	}
	return cannot(replaceWhole(t, append(bytes.Clone(mark), text.Bytes()...), nil))
}

func cannot(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("cannot be written: %w", reason(err))
}

// reason is the cause of an error of the file system, without names that the
// user did not give.
func reason(err error) error {
	var onPath *fs.PathError
	var onLink *os.LinkError
	switch {
	case errors.As(err, &onPath):
		return onPath.Err
	case errors.As(err, &onLink):
		return onLink.Err
	}
	if text := err.Error(); strings.HasPrefix(text, "EvalSymlinks: ") {
		return errors.New(strings.TrimPrefix(text, "EvalSymlinks: "))
	}
	return err
}
