// Package source keeps the text of the files of a show and answers, late and
// only for what is printed, where a value stands in them.
//
// In goes the text of one file; out comes a [File] with a tree of values. A
// [Ref] is a cheap, comparable handle on one value of that tree: the stages
// above pass Refs around and nobody but the reports asks for lines and columns.
// A newcomer's mistake would be to store lines instead: every change of the
// text, and every CSV cell that becomes a JSON-like value, would break them.
package source

import (
	"sort"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// File is one file that was read. Its text is UTF-8 without a byte order mark,
// whatever the encoding on disk was.
type File struct {
	Name     string // as people know it: relative to where the show was named, with forward slashes
	Text     string
	Format   string // the name of the format that it was read as, or ""
	Encoding string // what the bytes on disk were, in words: "UTF-8", "UTF-16 (little endian)"...

	tape
	lists *lists // of items that are read again when they are asked for; nil: none
	whole *File  // for an item that is open: the file that it stands in
	lent  map[borrowedMember]Ref

	once  sync.Once
	lines []uint32 // offset of the first byte of each line
	runes []uint32 // characters before each block of blockSize bytes
}

// blockSize keeps the work of one position small where a file is one long line.
const blockSize = 4096

// Position is a place in a text: line and column count characters from 1.
// CR LF, LF and a lone CR each end a line; a tab is one character.
type Position struct{ Line, Column int }

// Span is a stretch of text; End is exclusive.
type Span struct{ Start, End Position }

// Position returns the place of a byte offset; offsets past the end give the end.
func (f *File) Position(offset int) Position {
	f.once.Do(f.index)
	if offset > len(f.Text) {
		offset = len(f.Text)
	}
	line := sort.Search(len(f.lines), func(i int) bool { return int(f.lines[i]) > offset })
	return Position{Line: line, Column: f.charactersBefore(offset) - f.charactersBefore(int(f.lines[line-1])) + 1}
}

// charactersBefore counts the characters of the text that start before an offset.
func (f *File) charactersBefore(offset int) int {
	block := offset / blockSize
	count := int(f.runes[block])
	for i := block * blockSize; i < offset; i++ {
		if utf8.RuneStart(f.Text[i]) {
			count++
		}
	}
	return count
}

func (f *File) index() {
	f.lines = []uint32{0}
	count := uint32(0)
	for i := range len(f.Text) {
		if i%blockSize == 0 {
			f.runes = append(f.runes, count)
		}
		if utf8.RuneStart(f.Text[i]) {
			count++
		}
	}
	f.runes = append(f.runes, count)
	for i := 0; i < len(f.Text); i++ {
		switch f.Text[i] {
		case '\r':
			if i+1 < len(f.Text) && f.Text[i+1] == '\n' {
				i++
			}
			f.lines = append(f.lines, uint32(i+1))
		case '\n':
			f.lines = append(f.lines, uint32(i+1))
		}
	}
}

// Ref is one value in one file. The zero Ref is nowhere.
type Ref struct {
	File *File
	node int32 // on the file's tape; below 0, the complement of the offset of an item that is read again
}

// Root returns the whole value of a file.
func (f *File) Root() Ref { return Ref{File: f} }

// IsZero reports whether the reference is nowhere.
func (r Ref) IsZero() bool { return r.File == nil }

// Span returns where the value stands. An object or array stands at its key, or
// at its opening bracket if it has none, because nobody wants a thousand lines
// underlined. A Ref into a file that holds no values is the file's first character.
func (r Ref) Span() Span {
	return r.Place().Span()
}

// KeySpan returns where the name of a member stands, or the value's own span
// for what has no name.
func (r Ref) KeySpan() Span { return r.KeyPlace().Span() }

func (f *File) span(start, stop int) Span {
	return Span{f.Position(start), f.Position(stop)}
}

// Start returns the offset of the value's first byte, which needs no reading.
func (r Ref) Start() int {
	if r.node < 0 {
		return int(^r.node)
	}
	start, _ := r.Bytes()
	return start
}

// Bytes returns the byte offsets of the value in the file's text; stop is exclusive.
func (r Ref) Bytes() (start, stop int) {
	n := r.see()
	if n == nil {
		return 0, 0
	}
	return int(n.start), int(n.stop)
}

// Pointer returns the JSON pointer (RFC 6901) of the value in its file. The values
// of a CSV file form the same tree, so its rows are counted from 0: /3/level.
func (r Ref) Pointer() string {
	t, i := r.look()
	if t == nil {
		return ""
	}
	var steps []string
	for ; i > 0; i = t.nodes[i].parent {
		if key := t.nodes[i].key; key >= 0 {
			steps = append(steps, pointerEscape.Replace(t.keys[key]))
		} else {
			steps = append(steps, strconv.Itoa(t.place(i)))
		}
	}
	var b strings.Builder
	b.WriteString(t.above)
	for i := len(steps) - 1; i >= 0; i-- {
		b.WriteByte('/')
		b.WriteString(steps[i])
	}
	return b.String()
}

var (
	pointerEscape   = strings.NewReplacer("~", "~0", "/", "~1")
	pointerUnescape = strings.NewReplacer("~1", "/", "~0", "~")
)

// Find follows a JSON pointer down from the value. A pointer that leads nowhere
// gives the nearest parent and false, so no finding is ever without a place.
func (r Ref) Find(pointer string) (Ref, bool) {
	for _, step := range strings.Split(pointer, "/")[1:] {
		step = pointerUnescape.Replace(step)
		next, ok := r.Get(step)
		if !ok && r.Kind() == Array {
			if want, err := strconv.Atoi(step); err == nil {
				next, ok = r.item(want)
			}
		}
		if !ok {
			return r, false
		}
		r = next
	}
	return r, true
}

func (r Ref) item(want int) (Ref, bool) {
	index := 0
	for item := range r.Items() {
		if index == want {
			return item, true
		}
		index++
	}
	return Ref{}, false
}
