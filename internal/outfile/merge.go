package outfile

import (
	"errors"
	"io/fs"
	"os"
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
	return g.allowed(name, t, is)
}

// Merge replaces a file that is kept from run to run by what change makes of what
// stands in it; nil is nothing.
func (g *Guard) Merge(name, is string, change func(before []byte) (after []byte, err error)) error {
	t, err := find(name)
	if err != nil {
		return err
	}
	if err := g.kept(name, is, t); err != nil {
		return err
	}
	mode := fs.FileMode(0o644)
	var before []byte
	if t.info != nil {
		mode = t.info.Mode().Perm()
		if before, err = os.ReadFile(t.path); err != nil {
			return cannot(err)
		}
	}
	after, err := change(before)
	if err != nil {
		return err
	}
	return cannot(replaceWhole(t.path, after, mode))
}
