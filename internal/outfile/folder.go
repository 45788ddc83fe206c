package outfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Folder makes a folder with what fill puts into it, whole or not at all. It must
// not be there yet, or be empty; folders above it are made with it.
func (g *Guard) Folder(name string, fill func(folder *os.Root) error) error {
	target := filepath.Clean(name)
	if info, err := os.Lstat(target); err == nil && !info.IsDir() {
		return errors.New("something of that name is there")
	}
	if g.TakenFor != nil {
		if what := g.TakenFor(target, false); what != "" {
			return fmt.Errorf("a folder of that name would be taken for %s; choose another", what)
		}
	}
	inside := "."
	for {
		_, err := os.Stat(filepath.Dir(target))
		if err == nil {
			break
		}
		if !errors.Is(err, fs.ErrNotExist) || filepath.Dir(target) == target {
			return cannot(err)
		}
		inside = filepath.Join(filepath.Base(target), inside)
		target = filepath.Dir(target)
	}
	p, err := newPart(filepath.Dir(target), makeFolder)
	if err != nil {
		return cannot(err)
	}
	defer p.drop()
	if err := p.fill(inside, fill); err != nil {
		return err
	}
	return cannot(p.become(target, renameFolder))
}

// fill works through open folders: if the part is taken away meanwhile, nothing
// makes it anew.
func (p *part) fill(inside string, fill func(*os.Root) error) error {
	root, err := os.OpenRoot(p.path)
	if err != nil {
		return cannot(err)
	}
	defer root.Close()
	if inside == "." {
		return fill(root)
	}
	var deep *os.Root
	if err = root.MkdirAll(inside, 0o755); err == nil {
		deep, err = root.OpenRoot(inside)
	}
	if err != nil {
		return cannot(err)
	}
	defer deep.Close()
	return fill(deep)
}
