package house

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/cueproof/cueproof/internal/source"
)

// Found says which house file a show has.
type Found struct {
	Path   string   // as the user would name it; "" if there is none
	Root   string   // the absolute folder that its rule folders stay in
	Passed []string // house files above that do not say they are for shows below
}

// Find looks for the house file of a show: beside it, then in the folders above,
// up to the folder that holds a repository (.git). The nearest one is used.
// Outside of a repository nothing says where to stop, so a file above the show is
// used only if it says topmost: true. Path names a folder, a file, or something that
// is not there; the last is for whoever reads the show to say.
func Find(path string) (Found, error) {
	folder := path
	if info, err := os.Stat(path); err != nil || !info.IsDir() {
		folder = filepath.Dir(path)
	}
	start, err := filepath.Abs(folder)
	if err != nil {
		return Found{}, fmt.Errorf("look for %s: %w", FileName, err)
	}
	var candidates []string
	repository := ""
	for folder := start; ; folder = filepath.Dir(folder) {
		if _, err := os.Lstat(filepath.Join(folder, FileName)); err == nil {
			candidates = append(candidates, filepath.Join(folder, FileName))
		}
		if isRepository(folder) {
			repository = folder
			break
		}
		if folder == filepath.Dir(folder) {
			break
		}
	}
	told := func(name string) string { return asTold(path, name) }
	var passed []string
	for _, name := range candidates {
		switch {
		case repository != "":
			return Found{Path: told(name), Root: repository}, nil
		case filepath.Dir(name) == start || saysRoot(name):
			return Found{Path: told(name), Root: filepath.Dir(name), Passed: passed}, nil
		}
		passed = append(passed, told(name))
	}
	return Found{Passed: passed}, nil
}

// Named is what Find would give for a house file that the user named.
func Named(path string) (Found, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return Found{}, fmt.Errorf("read the house file: %w", err)
	}
	root := filepath.Dir(full)
	for folder := root; folder != filepath.Dir(folder); folder = filepath.Dir(folder) {
		if isRepository(folder) {
			root = folder
			break
		}
	}
	return Found{Path: path, Root: root}, nil
}

// isRepository reports whether a folder holds a repository; in a linked copy of
// one, .git is a file.
func isRepository(folder string) bool {
	_, err := os.Lstat(filepath.Join(folder, ".git"))
	return err == nil
}

// saysRoot reports whether a file far above the show is a house file that says
// topmost: true. It may belong to anybody, so whatever else it is is nothing wrong.
func saysRoot(name string) bool {
	data, err := Load(name, false)
	if err != nil {
		return false
	}
	h, err := Read(name, data)
	return err == nil && h.Root
}

// asTold names a file as the user would who named the show: from the folder they
// are in, unless the show was named from the root of the file system.
func asTold(path, full string) string {
	if filepath.IsAbs(path) {
		return full
	}
	here, err := filepath.Abs(".")
	if err != nil {
		return full
	}
	short, err := filepath.Rel(here, full)
	if err != nil {
		return full
	}
	return short
}

// Load reads the bytes of a house file. One that was not named by the user may be
// no link that leads out of its folder. It looks before it opens, because opening
// a pipe waits for a writer.
func Load(path string, named bool) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("read the house file: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder where the house file is wanted", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is neither a file nor a folder, so it is no house file", path)
	case info.Size() > MaxBytes:
		return nil, fmt.Errorf("%s has %d bytes; a house file has at most %d", path, info.Size(), MaxBytes)
	}
	var file *os.File
	if named {
		file, err = os.Open(path)
	} else {
		file, err = os.OpenInRoot(filepath.Dir(path), filepath.Base(path))
		if link, is := os.Lstat(path); err != nil && is == nil && link.Mode()&fs.ModeSymlink != 0 {
			return nil, fmt.Errorf("%s is a link that leads out of its folder; name the file itself with --house", path)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("read the house file: %w", err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the house file: %w", err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s has more than the %d bytes of a house file", path, MaxBytes)
	}
	return data, nil
}

// OpenFolder opens a folder of further rules. It and everything in it stay inside
// the root, whatever links say. The caller closes it.
func (h *House) OpenFolder(f Folder, found Found) (*os.Root, error) {
	wrong := func(format string, args ...any) error {
		return Mistakes{h.mistake(f.At, format, args...)}
	}
	full, err := filepath.Abs(found.Path)
	if err != nil {
		return nil, fmt.Errorf("read the rules: %w", err)
	}
	local := filepath.FromSlash(f.Path)
	inside, err := filepath.Rel(found.Root, filepath.Join(filepath.Dir(full), local))
	if err != nil || filepath.IsAbs(local) || !filepath.IsLocal(inside) {
		return nil, wrong("the folder %q is outside of %s; rules are read only from inside", source.Shorten(f.Path), rootWords(found))
	}
	root, err := os.OpenRoot(found.Root)
	if err != nil {
		return nil, fmt.Errorf("read the rules: %w", err)
	}
	defer root.Close()
	info, err := root.Stat(inside)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, wrong("there is no folder %q", source.Shorten(f.Path))
	case err != nil:
		return nil, wrong("the folder %q cannot be read, or a link in it leads out of %s", source.Shorten(f.Path), rootWords(found))
	case !info.IsDir():
		return nil, wrong("%q is no folder", source.Shorten(f.Path))
	}
	folder, err := root.OpenRoot(inside)
	if err != nil {
		return nil, wrong("the folder %q cannot be read", source.Shorten(f.Path))
	}
	return folder, nil
}

func rootWords(found Found) string {
	if isRepository(found.Root) {
		return "the repository"
	}
	return "the folder of the house file"
}

// WrongFolder is a mistake in what a folder of further rules holds.
func (h *House) WrongFolder(f Folder, what string) error {
	return Mistakes{h.mistake(f.At, "the folder %q: %s", source.Shorten(f.Path), what)}
}
