package loaders

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// Unwritable is a change that the files of the show have no room for.
type Unwritable = format.Unwritable

// Replacements returns what has to be written so that the files say what
// [schema.Apply] makes of the show: by file, and by place within each. Options
// are those that the show was read with. The error
// is an [Unwritable], or that of Apply. What is written is the difference between
// the show before all edits and the show behind them, and not the edits one by
// one: a later edit can change what an earlier one added.
func Replacements(show *schema.Show, edits []source.Edit, opts Options) ([]source.Replacement, error) {
	after, err := schema.Apply(show, edits)
	if err != nil {
		return nil, err
	}
	c := &format.Change{Options: format.Options{Aliases: opts.Aliases, Levels: opts.Levels}, Before: show, After: after}
	for _, section := range schema.Sections {
		at, given := show.ReadFrom[section]
		if !given || !changed(section, show, after) {
			continue
		}
		f := formatNamed(at.File.Format)
		if f == nil || f.Write == nil {
			return nil, &Unwritable{File: at.File, Why: "a file of this format is only read, never written"}
		}
		if err := f.Write(c, section, at); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(c.List, func(a, b source.Replacement) int {
		return cmp.Or(cmp.Compare(a.File.Name, b.File.Name), cmp.Compare(a.Start, b.Start), cmp.Compare(a.Stop, b.Stop))
	})
	return c.List, nil
}

// changed reports whether a section is another one in a changed copy of a show;
// [schema.Apply] shares what it does not touch.
func changed(section string, before, after *schema.Show) bool {
	switch section {
	case "room":
		return before.Room != after.Room
	case "types":
		return !slices.Equal(before.Types, after.Types)
	case "patch":
		return !slices.Equal(before.Patch, after.Patch)
	case "cues":
		return !slices.Equal(before.Cues, after.Cues)
	case "order":
		return !slices.Equal(before.Order, after.Order)
	case "readings":
		return len(before.Readings) != len(after.Readings)
	}
	return false
}

func formatNamed(name string) *format.Format {
	for _, f := range formats {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// File makes the replacements in the bytes of a file that was read before, and
// keeps its encoding, its byte order mark and every byte that they do not touch.
// An error is an [Unwritable] for a letter that the encoding does not have, or
// that the bytes are not those that were read.
func File(file *source.File, data []byte, list []source.Replacement) ([]byte, error) {
	if len(list) == 0 {
		return data, nil
	}
	encode := encoderOf(file, data)
	same, err := encode(file.Text)
	if err != nil || !bytes.Equal(same, data) {
		return nil, &Unwritable{File: file, Why: "its bytes are not those that were read: it was changed meanwhile, or some of its characters are damaged"}
	}
	var b strings.Builder
	done := 0
	for _, r := range list {
		if r.Start < done || r.Stop < r.Start || r.Stop > len(file.Text) {
			return nil, errors.New("loaders: replacements overlap or are out of order")
		}
		b.WriteString(file.Text[done:r.Start])
		b.WriteString(r.Text)
		done = r.Stop
	}
	b.WriteString(file.Text[done:])
	out, err := encode(b.String())
	if err != nil {
		return nil, &Unwritable{File: file, Why: fmt.Sprintf("a letter of the new value does not exist in %s", file.Encoding)}
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
