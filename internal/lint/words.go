package lint

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema/typical"
)

// CheckName says why what bears a name can be no whole show, whatever stands in it.
func CheckName(name string, info fs.FileInfo) error { return loaders.CheckName(name, info) }

// Columns lists every column that a table may have, and the names that it goes by.
func Columns() string { return loaders.Columns() }

// asSentences begins what is said of files as sentences begin; a name of a file or of a key
// stays as it is written.
func asSentences(found []finding.Finding) {
	begin := func(text string) string {
		word, _, _ := strings.Cut(text, " ")
		if strings.ContainsFunc(word, func(r rune) bool { return r < 'a' || r > 'z' }) || word == "" {
			return text
		}
		return spelling.Capital(text)
	}
	for i := range found {
		found[i].Message, found[i].Hint = begin(found[i].Message), begin(found[i].Hint)
	}
}

// mostTable is how much of a table is looked at to see what stands in its columns.
const mostTable = 1 << 20

// MapColumns says what stands in the columns of table files, what each probably is,
// and which line of the house file has all of them read so. The house file of the folder
// of the first is followed already.
func MapColumns(names ...string) (string, error) {
	var tables []loaders.TableText
	for _, name := range names {
		info, err := os.Stat(name)
		if err != nil {
			return "", fmt.Errorf("%s cannot be opened: %w", filepath.ToSlash(name), source.Cause(err))
		}
		if !info.Mode().IsRegular() {
			return "", fmt.Errorf("%s is not a table but a folder or something else", name)
		}
		data, err := source.ReadFirst(name, mostTable)
		if err != nil {
			return "", fmt.Errorf("%s cannot be read: %w", filepath.ToSlash(name), source.Cause(err))
		}
		text, _, err := source.Decode(data[:min(len(data), mostTable)])
		if err != nil {
			return "", fmt.Errorf("%s is no text: %w", name, err)
		}
		tables = append(tables, loaders.TableText{Name: filepath.ToSlash(name), Text: text})
	}
	setup, err := SetUp(filepath.Dir(names[0]), Options{})
	if err != nil {
		return "", err
	}
	return loaders.MapColumns(tables, setup.Aliases)
}

// TypicalTypes lists the built-in types of fixture with their numbers, the range of each
// and where it comes from.
func TypicalTypes() string {
	var told strings.Builder
	told.WriteString("Built-in types, for `typical:` of a type. Angles, watts and emitters may be others.\nEvery number counts as assumed until the data sheet's own stands beside it.\n")
	for _, name := range typical.Names() {
		e, _ := typical.Find(name)
		fmt.Fprintf(&told, "\n%s: %s\n", e.Name, e.About)
		for _, key := range slices.Sorted(maps.Keys(e.Sources)) {
			number, how := typical.Number(e.Type, key), e.Type.Known[key]
			switch {
			case number != "" && how.High > how.Low:
				fmt.Fprintf(&told, "  %-14s %s, from %s to %s (%s)\n", key, number, typical.Plain(how.Low), typical.Plain(how.High), e.Sources[key])
			case number != "":
				fmt.Fprintf(&told, "  %-14s %s (%s)\n", key, number, e.Sources[key])
			}
		}
	}
	return told.String()
}
