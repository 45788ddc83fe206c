// Package jsonform reads and writes shows as JSON, the form that this program has
// for them.
//
// In go the bytes of one file; out comes its value tree, each value with its
// place. A newcomer's mistake would be to write a whole file anew: a change is
// written in the style of the object that it stands in, and every other byte
// stays as it is.
package jsonform

import (
	"fmt"
	"path"
	"strings"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

const byteOrderMark = "\xEF\xBB\xBF"

// Format is JSON (RFC 8259), a section of a show or all of it.
var Format = format.Format{
	Name: "JSON", Ends: []string{".json"}, Holds: append([]string{"show"}, schema.Sections...),
	Sniff: sniff, Read: read, Write: write,
}

// sniff goes by the name: a text that begins with a bracket may be many things.
func sniff(name, _ string) format.Sure {
	if strings.EqualFold(path.Ext(name), ".json") {
		return format.ByName
	}
	return format.No
}

// read lays a JSON text on the file's tape.
func read(in *format.Input, section string, file *source.File, data string) (format.Part, bool) {
	if !decode(in, file, data) {
		return format.Part{}, false
	}
	var long []string
	switch section {
	case "patch", "cues":
		long = []string{""}
	case "show":
		long = []string{"/patch", "/cues"}
	}
	problems, ok := source.ParseJSON(file, long...)
	Tell(in, file, problems)
	if !ok {
		in.Lost()
		return format.Part{}, false
	}
	return format.Part{Sections: []format.Section{{Name: section, Root: file.Root()}}}, true
}

// Tell says what is wrong with the text of a file.
func Tell(in *format.Input, file *source.File, problems []source.Problem) {
	for _, p := range problems {
		f := finding.Finding{
			Level: finding.Error, Consequence: finding.Dark,
			Subjects: []finding.Subject{in.Subject(file)},
			Detail:   detail(p),
			Message:  p.Message + ".",
			Place:    p.At,
		}
		if p.Related != nil {
			f.Related = []finding.Related{{Message: "here is the first", Place: *p.Related}}
		}
		in.Say(p.ID, f)
	}
}

// detail tells two names that stand twice in one file apart.
func detail(p source.Problem) string {
	const longest = 200
	if p.ID != "key-twice" || p.At.Stop-p.At.Start > longest {
		return ""
	}
	return p.At.File.Text[p.At.Start:p.At.Stop]
}

// decode gives the file its text. JSON that is exchanged is UTF-8 (RFC 8259,
// section 8.1); a byte order mark is let pass, as that section allows.
func decode(in *format.Input, file *source.File, text string) bool {
	const sample = 64 // enough for source.Decode to know UTF-16 by its zeros
	_, encoding, _ := source.Decode([]byte(text[:min(len(text), sample)]))
	refuse := finding.Finding{
		Subjects: []finding.Subject{in.Subject(file)},
		Hint:     "save it as UTF-8",
	}
	if strings.HasPrefix(encoding, "UTF-16") {
		file.Encoding = encoding
		refuse.Message = fmt.Sprintf("%s is %s; JSON is read as UTF-8 only.", file.Name, encoding)
		refuse.Place = source.Place{File: file}
		in.Fail("encoding", refuse)
		return false
	}
	file.Encoding = "UTF-8"
	if strings.HasPrefix(text, byteOrderMark) {
		text = text[len(byteOrderMark):]
		file.Encoding = "UTF-8 with byte order mark"
		in.Note(file, file.Encoding)
	}
	if bad := invalidUTF8(text); bad >= 0 {
		file.Encoding = "not UTF-8"
		file.Text = text[:bad] + string(utf8.RuneError)
		refuse.Message = fmt.Sprintf("%s holds a byte (0x%02X) that is not UTF-8: it is in another encoding, such as Windows-1252, or is no text.", file.Name, text[bad])
		refuse.Place = source.Place{File: file, Start: bad, Stop: len(file.Text)}
		in.Fail("encoding", refuse)
		return false
	}
	file.Text = text
	return true
}

// invalidUTF8 returns the offset of the first byte that is not UTF-8, or -1.
func invalidUTF8(text string) int {
	if utf8.ValidString(text) {
		return -1
	}
	for i := 0; ; {
		r, size := utf8.DecodeRuneInString(text[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		i += size
	}
}
