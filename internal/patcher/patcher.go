// Package patcher writes changes of a show into the text of its files: as few
// bytes as can be, and every other byte stays as it is.
//
// In go a show as it was read and changes of it, out come [Replacement]s, each
// with the bytes that it takes the place of; [File] makes them in the bytes of a
// file, in the encoding that it has. Nothing here opens or writes a file. A
// newcomer's mistake would be to write the edits one by one: a later edit can
// change what an earlier one added, so what is written is the difference between
// the show before all edits and the show behind them.
package patcher

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

// Replacement is a stretch of a file's text, in bytes of [source.File.Text], and
// what stands there afterwards. An empty stretch is an insertion.
type Replacement struct {
	File        *source.File
	Start, Stop int
	Text        string
}

// Unwritable is a change that the files of the show have no room for, such as a
// value whose column a table does not have.
type Unwritable struct {
	File *source.File
	Why  string // a clause: "the table has no column zoom_deg"
}

func (u *Unwritable) Error() string { return fmt.Sprintf("%s: %s", u.File.Name, u.Why) }

// Replacements returns what has to be written so that the files say what
// [schema.Apply] makes of the show: by file, and by place within each. Aliases
// are further names of table columns, as [loaders.Options] has them. The error
// is an [Unwritable], or that of Apply.
func Replacements(show *schema.Show, edits []source.Edit, aliases map[string][]string) ([]Replacement, error) {
	after, err := schema.Apply(show, edits)
	if err != nil {
		return nil, err
	}
	d := differ{tables: map[*source.File]*table{}, aliases: aliases}
	for _, section := range schema.Sections {
		if err := d.section(section, show, after); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(d.list, func(a, b Replacement) int {
		return cmp.Or(cmp.Compare(a.File.Name, b.File.Name), cmp.Compare(a.Start, b.Start), cmp.Compare(a.Stop, b.Stop))
	})
	return d.list, nil
}

// differ collects what has to be written.
type differ struct {
	list    []Replacement
	tables  map[*source.File]*table
	aliases map[string][]string
}

func (d *differ) replace(file *source.File, start, stop int, text string) {
	if file.Text[start:stop] != text {
		d.list = append(d.list, Replacement{file, start, stop, text})
	}
}

func (d *differ) section(section string, before, after *schema.Show) error {
	at, given := before.ReadFrom[section]
	if !given {
		return nil
	}
	if strings.EqualFold(path.Ext(at.File.Name), ".csv") {
		return d.rows(section, at.File, before, after)
	}
	switch section {
	case "room":
		if before.Room != after.Room {
			d.object(at, reflect.ValueOf(before.Room).Elem(), reflect.ValueOf(after.Room).Elem())
		}
	case "types":
		d.items(at, reflect.ValueOf(before.Types), reflect.ValueOf(after.Types))
	case "patch":
		d.items(at, reflect.ValueOf(before.Patch), reflect.ValueOf(after.Patch))
	case "cues":
		d.items(at, reflect.ValueOf(before.Cues), reflect.ValueOf(after.Cues))
	case "order":
		d.items(at, reflect.ValueOf(before.Order), reflect.ValueOf(after.Order))
	}
	return nil
}

// File makes the replacements in the bytes of a file that was read before, and
// keeps its encoding, its byte order mark and every byte that they do not touch.
// An error is an [Unwritable] for a letter that the encoding does not have, or
// that the bytes are not those that were read.
func File(file *source.File, data []byte, list []Replacement) ([]byte, error) {
	if len(list) == 0 {
		return data, nil
	}
	encode := encoderOf(file, data)
	same, err := encode(file.Text)
	if err != nil || !bytes.Equal(same, data) {
		return nil, &Unwritable{file, "its bytes are not those that were read: it was changed meanwhile, or some of its characters are damaged"}
	}
	var b strings.Builder
	done := 0
	for _, r := range list {
		if r.Start < done || r.Stop < r.Start || r.Stop > len(file.Text) {
			return nil, errors.New("patcher: replacements overlap or are out of order")
		}
		b.WriteString(file.Text[done:r.Start])
		b.WriteString(r.Text)
		done = r.Stop
	}
	b.WriteString(file.Text[done:])
	out, err := encode(b.String())
	if err != nil {
		return nil, &Unwritable{file, fmt.Sprintf("a letter of the new value does not exist in %s", file.Encoding)}
	}
	return out, nil
}

// encoderOf returns what turns text into bytes like those of the file.
func encoderOf(file *source.File, data []byte) func(string) ([]byte, error) {
	with := func(e encoding.Encoding) func(string) ([]byte, error) {
		return func(text string) ([]byte, error) { return e.NewEncoder().Bytes([]byte(text)) }
	}
	mark := unicode.IgnoreBOM
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		mark = unicode.UseBOM
	}
	switch file.Encoding {
	case "UTF-16 (little endian)":
		return with(unicode.UTF16(unicode.LittleEndian, mark))
	case "UTF-16 (big endian)":
		return with(unicode.UTF16(unicode.BigEndian, mark))
	case "Windows-1252":
		return with(charmap.Windows1252)
	case "UTF-8 with byte order mark":
		return func(text string) ([]byte, error) { return []byte("\xEF\xBB\xBF" + text), nil }
	}
	return func(text string) ([]byte, error) { return []byte(text), nil }
}

// table is a section written as rows, with what is needed to find its things.
type table struct {
	*loaders.Table
	file  *source.File
	index map[int]int // offset of the first byte of a row -> its place
}

func (d *differ) tableOf(section string, file *source.File) (*table, error) {
	if t := d.tables[file]; t != nil {
		return t, nil
	}
	laid, ok := loaders.LayOut(file, section, d.aliases)
	if !ok {
		return nil, &Unwritable{file, "the table cannot be laid out"}
	}
	t := &table{laid, file, map[int]int{}}
	for i, row := range laid.Rows {
		t.index[row.Start()] = i
	}
	d.tables[file] = t
	return t, nil
}
