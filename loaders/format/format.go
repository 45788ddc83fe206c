// Package format says what a way of writing down a show has to offer: to know a
// file of it, to read parts of a show from it and, where it can be changed, to
// write a change into it.
//
// In go the bytes of one file, out come value trees of sections, whatever the
// file looks like, so that one check and one decoder serve all formats. A
// newcomer's mistake would be to judge a show in a reader: it only says what it
// could not read, and counts what the show has no word for.
package format

import (
	"io"
	"path"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Format is one way of writing down parts of a show.
type Format struct {
	Name    string   // for people: "JSON", "table"
	Ends    []string // how names of its files usually end: ".json"
	Holds   []string // the sections that it can hold
	Archive bool     // its files are archives, which are looked into and not read whole
	Alone   bool     // its files are parts of a show under any name: an export of another program

	// Sniff says how sure it is that a file is of this format, by the first bytes
	// of it and, if those say nothing, by its name.
	Sniff func(name, head string) Sure

	// Read reads a section, or all that the file holds if section is "". It gives
	// the file its text and returns false if the file is no use, and has said why.
	Read func(in *Input, section string, file *source.File, data string) (Part, bool)

	// Write tells a change what has to be replaced in the file that a section was
	// read from. It is nil for a format that is only read.
	Write func(c *Change, section string, at source.Ref) error
}

// Sure is how sure a format is of a file.
type Sure int

// From not at all to certain.
const (
	No Sure = iota
	ByName
	ByContent
)

// HeadBytes is how much of a file is looked at to know its format.
const HeadBytes = 4096

// Part is what one file gave.
type Part struct {
	Sections []Section
	Losses   []Loss
}

// Section is one section of a show as a value tree, as its JSON would be. One
// file may have several of one name, such as the types of an archive.
type Section struct {
	Name string // one of schema.Sections, or "show" for the object of show.json
	Root source.Ref
}

// Loss is something that a file says and a show has no word for, or that had to
// be made up.
type Loss struct {
	Kind  LossKind
	What  string // a noun phrase in the plural: "links between cues"
	Count int
	Place source.Place // of the first
}

// LossKind is what became of what was lost.
type LossKind string

// The kinds of loss.
const (
	Dropped   LossKind = "dropped"   // there is no word for it
	Guessed   LossKind = "guessed"   // it is read in one of several ways
	Defaulted LossKind = "defaulted" // the file leaves it out, and its standard says what that means
)

// Options are what a user can say of files that leave something open.
type Options struct {
	Aliases  map[string][]string // further names of table columns: column -> names
	Levels   string              // how tables write levels: "percent", "byte", "hex", or "" to see by the column
	Unlisted string              // what channels do that a cue does not list: "off", "keep", or "" for not said
	Origin   [3]float64          // where the origin of a plan lies on our axes, in metres
	TurnDeg  *float64            // how far a plan is turned against our axes, in degrees counter-clockwise from above; nil: not said
}

// Input is what a reader may ask for and has to report to.
type Input struct {
	Options
	Say     func(id string, f finding.Finding)              // the finding's rule becomes file/ID
	Fail    func(id string, f finding.Finding)              // the same for what could not be read
	Lost    func()                                          // what could not be read was told by Say
	Note    func(file *source.File, parts ...string)        // how a file was understood
	Subject func(file *source.File) finding.Subject         // the file as a finding names it
	Entry   func(of *source.File, name string) *source.File // a file inside of an archive

	Archive io.ReaderAt // the file itself, of a format whose files are archives, and
	Size    int64       // how large it is
}

// Bytes returns what an archive is read from: the file, or else the data of it.
func (in *Input) Bytes(data string) (r io.ReaderAt, size int64) {
	if in.Archive != nil {
		return in.Archive, in.Size
	}
	return strings.NewReader(data), int64(len(data))
}

// Quiet is an input that nobody listens to.
func Quiet(options Options) *Input {
	return &Input{
		Options: options,
		Say:     func(string, finding.Finding) {}, Fail: func(string, finding.Finding) {},
		Lost: func() {}, Note: func(*source.File, ...string) {},
		Subject: func(file *source.File) finding.Subject { return finding.Subject{Kind: "file", Name: file.Name} },
		Entry:   func(_ *source.File, name string) *source.File { return &source.File{Name: name} },
	}
}

// Can reports whether a section can be in a format.
func (f *Format) Can(section string) bool {
	for _, held := range f.Holds {
		if held == section {
			return true
		}
	}
	return false
}

// Change is a show before and after an edit, and what has to be written for it.
type Change struct {
	Options
	Before, After *schema.Show
	List          []source.Replacement
}

// Replace notes that a stretch of a file gets another text.
func (c *Change) Replace(file *source.File, start, stop int, text string) {
	if file.Text[start:stop] != text {
		c.List = append(c.List, source.Replacement{Place: source.Place{File: file, Start: start, Stop: stop}, Text: text})
	}
}

// Unwritable is a change that the files of the show have no room for, such as a
// value whose column a table does not have.
type Unwritable struct {
	File *source.File
	Why  string // a clause: "the table has no column zoom_deg"
}

func (u *Unwritable) Error() string { return u.File.Name + ": " + u.Why }

// Span is a stretch of a file's text in bytes; Stop is exclusive.
type Span struct{ Start, Stop int }

// Text is words with where they stand.
type Text struct {
	Words string
	At    Span
}

// Severity says how bad a [Problem] is.
type Severity uint8

// The severities, mildest first. What cannot be read is an error; a breach of what
// is only remembered of a standard is never worse than a warning.
const (
	Note Severity = iota
	Warning
	Error
)

// Problem is something that is wrong with an export of another program, or unusual.
type Problem struct {
	Code     string
	Severity Severity
	Message  string // one sentence, without its first capital and its full stop
	At       Span
	Related  Span // the other of two; zero if there is none
	Line     int  // from 1, and
	Column   int  // from 1 in bytes; 0 where the reader works neither out
}

// Places counts places of a file and keeps the first.
type Places struct {
	Count int
	First Span
}

// Add counts one more.
func (p *Places) Add(at Span) {
	if p.Count == 0 {
		p.First = at
	}
	p.Count++
}

// SniffArchive knows an archive by its first bytes, and what is in it by its name or by
// that of its first entry.
func SniffArchive(end, entry string) func(name, head string) Sure {
	return func(name, head string) Sure {
		byName := strings.EqualFold(path.Ext(name), end)
		switch packed := strings.HasPrefix(head, "PK\x03\x04"); {
		case packed && (byName || strings.HasPrefix(head[min(len(head), 30):], entry)):
			return ByContent
		case byName:
			return ByName // and no archive, which is to be said
		}
		return No
	}
}
