package loaders

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// maxFile is the largest file that is read, in bytes. It is three times the
// biggest show that we know how to think of and bounds the memory that a wrong
// file can take.
const maxFile = 64 << 20

// These are the ways in which a file that is there is no use.
var (
	errOutside = errors.New("outside the folder of the show")
	errFolder  = errors.New("a folder where a file is wanted")
	errSpecial = errors.New("neither a file nor a folder (a pipe or a device)")
)

// maxArchive is the largest archive that is looked into. Plans carry the shapes and
// pictures of a hall, of which nothing is read.
const maxArchive = 1 << 30

// sizeError says that a file is over what it may have; size is 0 when only that is known.
type sizeError struct{ size, most int64 }

func (e sizeError) Error() string {
	most := cmp.Or(e.most, maxFile)
	size := "too large"
	if e.size > 0 {
		size = fmt.Sprintf("%.0f MB large", float64(e.size)/1e6)
	}
	if most == maxArchive {
		return fmt.Sprintf("%s; the limit for an archive is %d MiB", size, most>>20)
	}
	if e.size == 0 {
		size = fmt.Sprintf("larger than %d MiB, which is the limit", most>>20)
	} else {
		size += fmt.Sprintf("; the limit is %d MiB", most>>20)
	}
	return size + ", and a very big show is about 20 MB"
}

// enter makes a folder the one that the show is read from.
func (l *loader) enter(folder string) error {
	real, err := filepath.EvalSymlinks(folder)
	if err == nil {
		real, err = filepath.Abs(real)
	}
	if err != nil {
		return fmt.Errorf("open the show: %w", err)
	}
	l.folder, l.real = folder, real
	return nil
}

// list learns what is in the folder.
func (l *loader) list() error {
	entries, err := os.ReadDir(l.real)
	if err != nil {
		return fmt.Errorf("open the show: %w", err)
	}
	for _, entry := range entries {
		l.entries = append(l.entries, entry.Name())
	}
	return nil
}

// open reads a file of the show's folder for a section. What goes wrong is said
// at the given place, or at the file itself if that is the zero Place.
func (l *loader) open(relative, section string, at source.Place) (file *source.File, data string, ok bool) {
	file, ok = l.reach(relative, section, at, func(real string) (err error) {
		data, err = read(l.real, real)
		return err
	})
	return file, data, ok
}

// reach takes a file of the show's folder, by its name without symbolic links.
func (l *loader) reach(relative, section string, at source.Place, take func(real string) error) (*source.File, bool) {
	real, err := l.resolve(relative)
	if err == nil {
		if before, twice := l.used[real]; twice {
			l.fileTwice(relative, before, section, at)
			return nil, false
		}
		l.used[real] = section
		if err = take(real); err == nil {
			return l.addFile(l.named(relative)), true
		}
	}
	l.told[relative] = true
	if at.File == nil {
		at.File = l.addFile(l.named(relative))
	}
	l.cannotRead(err, relative, at, l.named(relative))
	return nil, false
}

// resolve follows symbolic links and refuses what leads out of the folder.
func (l *loader) resolve(relative string) (string, error) {
	local := filepath.FromSlash(relative)
	drive := len(relative) > 1 && relative[1] == ':' // one machine has drives and another has not; the files are the same
	if drive || !filepath.IsLocal(local) {
		return "", errOutside
	}
	real, err := filepath.EvalSymlinks(filepath.Join(l.real, local))
	if err != nil {
		return "", err
	}
	inside, err := filepath.Rel(l.real, real)
	if err != nil || !filepath.IsLocal(inside) {
		return "", errOutside
	}
	return real, nil
}

// read reads a regular file in a folder, both without symbolic links in them. It
// looks before it opens, because opening a pipe waits for a writer, and asks for
// the file through the folder, so that nothing that changes meanwhile leads out
// of it.
func read(folder, real string) (string, error) {
	f, size, err := openFile(folder, real, maxFile)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return readLimited(f, size)
}

// openFile opens a file up to a size, see [read].
func openFile(folder, real string, most int64) (*os.File, int64, error) {
	info, err := os.Stat(real)
	switch {
	case err != nil:
		return nil, 0, err
	case info.IsDir():
		return nil, 0, errFolder
	case !info.Mode().IsRegular():
		return nil, 0, errSpecial
	case info.Size() > most:
		return nil, 0, sizeError{info.Size(), most}
	}
	inside, err := filepath.Rel(folder, real)
	if err != nil {
		return nil, 0, err
	}
	f, err := os.OpenInRoot(folder, inside)
	return f, info.Size(), err
}

// readLimited reads all there is, up to maxFile; size is what is expected. The
// bytes are kept once, as the text that everything else points into.
func readLimited(r io.Reader, size int64) (string, error) {
	var b strings.Builder
	b.Grow(int(min(size, maxFile)) + 1)
	if _, err := io.Copy(&b, io.LimitReader(r, maxFile+1)); err != nil {
		return "", err
	}
	if b.Len() > maxFile {
		return "", sizeError{}
	}
	return b.String(), nil
}

// cannotRead says why a file is not read.
func (l *loader) cannotRead(err error, relative string, at source.Place, name string) {
	f := finding.Finding{
		Subjects: []finding.Subject{{Kind: "file", Name: relative}},
		Place:    at,
	}
	var tooLarge sizeError
	switch {
	case errors.Is(err, errOutside):
		f.Message = fmt.Sprintf("%s is outside the folder of the show; only files inside it are read.", relative)
		f.Hint = "copy the file into the folder"
		l.fail("outside-folder", f)
	case errors.Is(err, fs.ErrNotExist):
		f.Message = fmt.Sprintf("%s is not there.%s", name, l.likeness(relative))
		l.fail("missing-file", f)
	case errors.Is(err, errFolder), errors.Is(err, errSpecial):
		f.Message = fmt.Sprintf("%s is %s.", name, err)
		l.fail("not-a-file", f)
	case errors.As(err, &tooLarge):
		f.Message = fmt.Sprintf("%s is %s.", name, err)
		f.Hint = "this is probably not an export of a show"
		l.fail("too-large", f)
	default:
		f.Message = fmt.Sprintf("%s cannot be read: %s.", name, source.Cause(err))
		l.fail("unreadable", f)
	}
}
