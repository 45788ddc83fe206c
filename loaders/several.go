package loaders

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// LoadAll reads several paths as one show: folders, exports, files that hold a whole
// show, and files that are called like a section. What they tell of one thing meets as
// in a folder, and what was named first wins. The error is that of [Load].
func LoadAll(names []string, opts Options) (Result, error) {
	if err := CheckAliases(opts.Aliases); err != nil {
		return Result{}, err
	}
	l := newLoader(opts)
	for _, name := range names {
		l.entries, l.whole = nil, false
		if err := l.one(name); err != nil {
			return Result{}, err
		}
		l.readPhotometry() // beside the types that name it
	}
	if len(names) > 1 {
		l.result.Name = ""
	}
	return l.finish(), nil
}

// one reads one of several paths.
func (l *loader) one(name string) error {
	info, err := os.Stat(name)
	if err != nil {
		return fmt.Errorf("open the show: %w", err)
	}
	section, ok := sectionOf(filepath.Base(name))
	if !ok || !info.Mode().IsRegular() || !slices.Contains(schema.Sections, section) {
		return l.load(name)
	}
	if err := l.enter(filepath.Dir(name)); err != nil {
		return err
	}
	_ = l.list() // only for hints at names
	if file, data, ok := l.open(filepath.Base(name), section, source.Place{}); ok {
		l.readSection(section, file, data)
	}
	l.result.Name = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	return nil
}
