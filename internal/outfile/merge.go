package outfile

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// CheckKept says why a name is no use for a file that is kept from run to run,
// such as a history or a house file, if it is none. Such a file may be read in
// the run that writes it, and may be taken for what it is; whether it holds that
// is for its owner to say.
func (g *Guard) CheckKept(name, is string) error {
	t, err := find(name)
	if err != nil {
		return err
	}
	return g.kept(name, is, t)
}

func (g *Guard) kept(name, is string, t target) error {
	if t.info != nil && !t.info.Mode().IsRegular() {
		return errors.New("this is no ordinary file, and what is kept is one file")
	}
	if t.info != nil && g.WasRead(t.info) {
		return errors.New("this file is read in this run as something else, and what is read is never written over")
	}
	return g.allowed(name, t, is)
}

// Merge replaces a file that is kept from run to run by what change makes of what
// stands in it; nil is nothing. Runs that merge at the same time wait for each
// other, so that none of them loses what another has written; if somebody else,
// such as an editor, writes meanwhile, change is asked again.
func (g *Guard) Merge(name, is string, change func(before []byte) (after []byte, err error)) error {
	t, err := find(name)
	if err != nil {
		return err
	}
	unlock, err := lock(filepath.Dir(t.path))
	if err != nil {
		return cannot(err)
	}
	defer unlock()
	const tries = 5
	for range tries {
		err = g.merge(name, is, change)
		if !errors.Is(err, errChanged) {
			return err
		}
	}
	return err
}

var errChanged = errors.New("somebody else changed the file meanwhile; nothing was written")

func (g *Guard) merge(name, is string, change func([]byte) ([]byte, error)) error {
	t, err := find(name) // again: what is there may be new
	if err != nil {
		return err
	}
	if err := g.kept(name, is, t); err != nil {
		return err
	}
	before, err := t.read()
	if err != nil {
		return cannot(err)
	}
	after, err := change(before)
	if err != nil || bytes.Equal(before, after) {
		return err
	}
	return cannot(replaceWhole(t, after, func() error {
		if now, err := t.read(); err != nil || !bytes.Equal(now, before) {
			return errChanged
		}
		return nil
	}))
}

// read reads what stands in a file; of none it is nil.
func (t target) read() ([]byte, error) {
	data, err := os.ReadFile(t.path)
	if t.info == nil && errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return data, err
}
