package loaders

import (
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

// mostLookedInto is how many files of a folder are opened to see whether they are
// exports. A folder with more than that holds something else.
const mostLookedInto = 500

// readExports reads the files of the folder that other programs wrote, whatever
// their names are, and puts them to what was read before.
func (l *loader) readExports() (found bool) {
	looked := 0
	for _, name := range l.entries {
		if strings.HasPrefix(name, ".") || l.isUsed(name) || l.told[name] || looked == mostLookedInto {
			continue
		}
		looked++
		f := l.export(name)
		if f == nil {
			continue
		}
		found = true
		l.takeExport(f, name, source.Place{})
	}
	return found
}

// export returns the format of a file of the folder that is an export; nil for
// any other file.
func (l *loader) export(name string) *format.Format {
	real, err := l.resolve(name)
	if err != nil {
		return nil
	}
	if info, err := os.Stat(real); err != nil || !info.Mode().IsRegular() {
		return nil
	}
	return exported(name, headOfFile(real))
}

func exported(name, head string) *format.Format {
	var best *format.Format
	sure := format.No
	for _, f := range formats {
		if s := f.Sniff(name, head); f.Alone && s > sure {
			best, sure = f, s
		}
	}
	return best
}

// headOfFile reads the first bytes of a file, or none if it cannot be read.
func headOfFile(name string) string {
	f, err := os.Open(name)
	if err != nil {
		return ""
	}
	defer f.Close()
	head := make([]byte, format.HeadBytes)
	n, _ := io.ReadFull(f, head)
	return string(head[:n])
}

// takeExport reads an export of the folder. An archive is opened and not read whole.
func (l *loader) takeExport(f *format.Format, name string, at source.Place) {
	in := l.input()
	if !f.Archive {
		if file, data, ok := l.open(name, f.Name, at); ok {
			l.readExport(in, f, file, data)
		}
		return
	}
	var archive *os.File
	file, ok := l.reach(name, f.Name, at, func(real string) (err error) {
		archive, in.Size, err = openFile(l.real, real, maxArchive)
		return err
	})
	if !ok {
		return
	}
	defer archive.Close()
	in.Archive = archive
	l.readExport(in, f, file, "")
}

// readExport takes all sections that an export holds.
func (l *loader) readExport(in *format.Input, f *format.Format, file *source.File, data string) {
	file.Format = f.Name
	part, ok := f.Read(in, "", file, data)
	if !ok {
		return
	}
	l.result.Losses = append(l.result.Losses, part.Losses...)
	for _, section := range part.Sections {
		section.Root.File.Format = f.Name // it may be one within
		l.merge(section.Name, section.Root)
	}
}

// loadExport reads one export that was named as the show.
func (l *loader) loadExport(f *format.Format, name string) error {
	base := filepath.Base(name)
	l.result.Name = strings.TrimSuffix(base, filepath.Ext(base))
	l.takeExport(f, base, source.Place{})
	return nil
}
