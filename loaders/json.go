package loaders

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

const byteOrderMark = "\xEF\xBB\xBF"

// readJSON lays a JSON text on the file's tape.
func readJSON(l *loader, _ string, file *source.File, data []byte) (source.Ref, bool) {
	if !l.decodeJSON(file, data) {
		return source.Ref{}, false
	}
	problems, ok := source.ParseJSON(file)
	for _, p := range problems {
		f := finding.Finding{
			Level: finding.Error, Consequence: finding.Dark,
			Subjects: []finding.Subject{l.fileSubject(file)},
			Detail:   detail(p),
			Message:  p.Message + ".",
			Place:    p.At,
		}
		if p.Related != nil {
			f.Related = []finding.Related{{Message: "here is the first", Place: *p.Related}}
		}
		l.say(p.ID, f)
	}
	l.result.Unreadable = l.result.Unreadable || !ok
	return file.Root(), ok
}

// detail tells two names that stand twice in one file apart.
func detail(p source.Problem) string {
	const longest = 200
	if p.ID != "key-twice" || p.At.Stop-p.At.Start > longest {
		return ""
	}
	return p.At.File.Text[p.At.Start:p.At.Stop]
}

// decodeJSON gives the file its text. JSON that is exchanged is UTF-8 (RFC 8259,
// section 8.1); a byte order mark is let pass, as that section allows.
func (l *loader) decodeJSON(file *source.File, data []byte) bool {
	const sample = 64 // enough for source.Decode to know UTF-16 by its zeros
	_, encoding, _ := source.Decode(data[:min(len(data), sample)])
	refuse := finding.Finding{
		Subjects: []finding.Subject{l.fileSubject(file)},
		Hint:     "save it as UTF-8",
	}
	if strings.HasPrefix(encoding, "UTF-16") {
		file.Encoding = encoding
		refuse.Message = fmt.Sprintf("%s is %s; JSON is read as UTF-8 only.", file.Name, encoding)
		refuse.Place = source.Place{File: file}
		l.fail("encoding", refuse)
		return false
	}
	file.Encoding = "UTF-8"
	text := string(data)
	if strings.HasPrefix(text, byteOrderMark) {
		text = text[len(byteOrderMark):]
		file.Encoding = "UTF-8 with byte order mark"
		l.note(file, file.Encoding)
	}
	if bad := invalidUTF8(text); bad >= 0 {
		file.Encoding = "not UTF-8"
		file.Text = text[:bad] + string(utf8.RuneError)
		refuse.Message = fmt.Sprintf("%s holds a byte (0x%02X) that is not UTF-8: it is in another encoding, such as Windows-1252, or is no text.", file.Name, text[bad])
		refuse.Place = source.Place{File: file, Start: bad, Stop: len(file.Text)}
		l.fail("encoding", refuse)
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

// note records how a file was understood.
func (l *loader) note(file *source.File, parts ...string) {
	l.result.Notes = append(l.result.Notes, l.relative(file)+": "+strings.Join(parts, ", "))
}
