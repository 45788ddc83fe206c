package table

import (
	"slices"
	"strings"
)

// cell is one cell of a table, with the bytes it takes up in the text, quote
// marks included.
type cell struct {
	start, stop int
	text        string
	quoted      bool
	verbatim    bool // text stands in the file letter by letter, so a part of it has a place of its own
}

// trimmed returns the cell without blanks at its ends, unless quote marks keep
// them. A cell of nothing but blanks becomes empty.
func (c cell) trimmed() cell {
	text := trim(c.text)
	if c.quoted {
		if strings.Trim(text, "\r\n"+blanks) == "" {
			c.text = ""
		}
		return c
	}
	if len(text) < len(c.text) {
		c.start += len(c.text) - len(strings.TrimLeft(c.text, blanks))
		c.stop = c.start + len(text)
		c.text = text
	}
	return c
}

// blanks are what people and spreadsheets put around a value without meaning
// it; among them the no-break spaces of several languages.
const blanks = " \t\u00a0\u202f"

// trim takes the blanks from both ends of a text; most have none.
func trim(text string) string {
	if text == "" || plain(text[0]) && plain(text[len(text)-1]) {
		return text
	}
	return strings.Trim(text, blanks)
}

func plain(b byte) bool { return b > ' ' && b < 0x80 }

func (c cell) blank() bool { return c.text == "" || strings.Trim(c.text, blanks+"\r\n") == "" }

// part returns a stretch of the cell's text as a cell of its own. Where the text
// is not letter by letter that of the file, it keeps the place of the whole.
func (c cell) part(from, to int) cell {
	p := cell{start: c.start, stop: c.stop, text: c.text[from:to], quoted: c.quoted, verbatim: c.verbatim}
	if c.verbatim {
		inner := c.start
		if c.quoted {
			inner++
		}
		p.start, p.stop = inner+from, inner+to
	}
	return p
}

// flaw is something in a text that RFC 4180 has no rule for.
type flaw struct {
	kind        flawKind
	start, stop int
}

type flawKind int

const (
	quoteOpen   flawKind = iota // a quote mark opens a cell and no other closes it
	quoteInside                 // a quote mark in a cell that does not start with one
	quoteBehind                 // text behind the quote mark that closes a cell
)

// MaxColumns is how many cells of a row are kept. A table of a show has about
// forty columns; the limit keeps a file of commas from filling the memory.
const MaxColumns = 400

// scanner splits a text into rows and cells as RFC 4180 says. The standard
// library's encoding/csv does that too, and a test holds the two against each
// other; but it does not tell where a cell ends, takes a lone carriage return
// for a letter, and gives up at the first stray quote mark.
type scanner struct {
	text  string
	comma byte // what stands between columns
	pos   int

	row   []cell // of the row read last; overwritten by the next
	extra int    // cells of that row beyond MaxColumns
	flaws []flaw // of that row
}

// next reads the next row that is not an empty line.
func (s *scanner) next() bool {
	for s.pos < len(s.text) && s.lineEnd(s.pos) > 0 {
		s.pos += s.lineEnd(s.pos)
	}
	if s.pos >= len(s.text) {
		return false
	}
	s.row, s.extra, s.flaws = s.row[:0], 0, nil
	for {
		c := s.cell()
		if len(s.row) < MaxColumns {
			s.row = append(s.row, c)
		} else {
			s.extra++
		}
		if s.pos >= len(s.text) || s.text[s.pos] != s.comma {
			s.pos += s.lineEnd(s.pos)
			return true
		}
		s.pos++
	}
}

// nextFilled reads the next row that has something in one of its cells.
func (s *scanner) nextFilled() bool {
	for s.next() {
		if s.extra > 0 || slices.ContainsFunc(s.row, func(c cell) bool { return !c.blank() }) {
			return true
		}
	}
	return false
}

// lineEnd returns how many bytes end a line at the offset: CR LF, LF or a lone CR.
func (s *scanner) lineEnd(at int) int {
	switch {
	case at >= len(s.text):
		return 0
	case s.text[at] == '\n':
		return 1
	case s.text[at] != '\r':
		return 0
	case at+1 < len(s.text) && s.text[at+1] == '\n':
		return 2
	default:
		return 1
	}
}

// cell reads up to the end of a cell. Spaces before a quote mark are let pass.
func (s *scanner) cell() cell {
	quote := s.pos
	for quote < len(s.text) && s.text[quote] == ' ' {
		quote++
	}
	if quote < len(s.text) && s.text[quote] == '"' {
		s.pos = quote
		return s.quotedCell()
	}
	start := s.pos
	s.pos = s.cellEnd(start)
	text := s.text[start:s.pos]
	if i := strings.IndexByte(text, '"'); i >= 0 {
		s.note(flaw{quoteInside, start + i, start + i + 1})
	}
	return cell{start: start, stop: s.pos, text: text, verbatim: true}
}

// note keeps a flaw if its cell is kept, or if it ends the file.
func (s *scanner) note(f flaw) {
	if len(s.row) < MaxColumns || f.kind == quoteOpen {
		s.flaws = append(s.flaws, f)
	}
}

// cellEnd returns the offset of the next column or line end.
func (s *scanner) cellEnd(from int) int {
	for i := from; i < len(s.text); i++ {
		if b := s.text[i]; b == s.comma || b == '\n' || b == '\r' {
			return i
		}
	}
	return len(s.text)
}

func (s *scanner) quotedCell() cell {
	start := s.pos
	doubled := false
	closing := start + 1
	for {
		i := strings.IndexByte(s.text[closing:], '"')
		if i < 0 {
			s.pos = len(s.text)
			s.note(flaw{quoteOpen, start, start + 1})
			return cell{start: start, stop: s.pos, text: s.text[start+1:], quoted: true}
		}
		closing += i
		if !strings.HasPrefix(s.text[closing+1:], `"`) {
			break
		}
		doubled = true
		closing += 2
	}
	c := cell{start: start, stop: closing + 1, text: s.text[start+1 : closing], quoted: true, verbatim: true}
	if doubled {
		c.text, c.verbatim = strings.ReplaceAll(c.text, `""`, `"`), false
	}
	if strings.Contains(c.text, "\r\n") {
		c.text, c.verbatim = strings.ReplaceAll(c.text, "\r\n", "\n"), false
	}
	s.pos = s.cellEnd(c.stop)
	if behind := s.text[c.stop:s.pos]; strings.Trim(behind, " ") != "" {
		s.note(flaw{quoteBehind, start, s.pos})
		c = cell{start: start, stop: s.pos, text: s.text[start:s.pos], quoted: true}
	}
	return c
}
