package source

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// MaxDepth is how deeply values may nest. A show needs about eight levels; the
// limit is far above that and far below what could exhaust a stack.
const MaxDepth = 200

// MaxValues is how many values one file may hold. A very big show of 20 MB has
// about two million; without a limit a file of brackets and commas would take
// fifty times its size in memory. mostProblems is how many problems are told one
// by one, for the same reason.
const (
	MaxValues    = 6_000_000
	mostProblems = 1_000
)

// Problem is something wrong with a text, with the bytes it is about. Related
// is a second place that belongs to it, or the zero Ref.
type Problem struct {
	ID      string // the last word of the finding's id: "syntax", "key-twice"...
	Message string
	At      Place
	Related *Place
}

// Place is a stretch of a file's text in bytes.
type Place struct {
	File        *File
	Start, Stop int
}

// Replacement is a stretch of a file's text and what stands there afterwards. An empty
// stretch is an insertion.
type Replacement struct {
	Place
	Text string
}

// Span returns the place in lines and columns.
func (p Place) Span() Span { return p.File.span(p.Start, p.Stop) }

// Place returns the stretch of text that the reference is printed with.
func (r Ref) Place() Place {
	if start := int(^r.node); r.node < 0 && r.File.opensItem(start) { // it need not be read again
		return Place{r.lasting(), start, start + 1}
	}
	n := r.see()
	switch {
	case n == nil:
		return Place{File: r.File}
	case n.kind != Object && n.kind != Array:
		return Place{r.lasting(), int(n.start), int(n.stop)}
	case n.key >= 0:
		return Place{r.lasting(), int(n.keyStart), int(n.keyStop)}
	default:
		return Place{r.lasting(), int(n.start), min(int(n.start)+1, int(n.stop))}
	}
}

// opensItem reports whether an object or an array that is an item of another array begins
// at an offset.
func (f *File) opensItem(start int) bool {
	if start >= len(f.Text) || f.Text[start] != '{' && f.Text[start] != '[' {
		return false
	}
	before := strings.TrimRight(f.Text[max(0, start-64):start], " \t\r\n")
	return strings.HasSuffix(before, ",") || strings.HasSuffix(before, "[")
}

// KeyPlace returns the stretch of text of the member's name.
func (r Ref) KeyPlace() Place {
	n := r.see()
	if n == nil || n.key < 0 {
		return r.Place()
	}
	return Place{r.lasting(), int(n.keyStart), int(n.keyStop)}
}

// ParseJSON lays the values of file.Text on the file's tape and returns all
// problems. ok is false when the text is not JSON (RFC 8259) as a whole; the
// file then has no values. The grammar is that of the jsontext package; names
// that stand twice, numbers beyond a float64 and deep nesting are found here.
//
// The arrays that stand at one of the pointers ("" is the whole value, "/cues" a
// member of it) are long lists: their values are not kept, and only their grammar
// is checked. Their items, and what is in them, are read again when a reference
// is asked for them; [Opener] reads them one by one, and finds the problems in them.
func ParseJSON(file *File, long ...string) (problems []Problem, ok bool) {
	return parseJSON(file, MaxValues, long...)
}

func parseJSON(file *File, maxValues int, long ...string) (problems []Problem, ok bool) {
	if strings.TrimSpace(file.Text) == "" {
		return []Problem{{ID: "syntax", Message: "the file is empty", At: Place{File: file}}}, false
	}
	p := jsonParser{
		file:  file,
		most:  maxValues,
		long:  long,
		build: NewBuilder(file),
		dec:   jsontext.NewDecoder(strings.NewReader(file.Text), jsontext.AllowDuplicateNames(true)),
	}
	err := p.run()
	if err != nil && len(long) > 0 { // once more, so that what is wrong is told in the same words
		return parseJSON(file, maxValues)
	}
	if err != nil {
		file.tape, file.lists = tape{}, nil
		return append(p.problems, p.syntax(err)), false
	}
	if p.untold > 0 {
		p.problems[mostProblems-1].Message += fmt.Sprintf("; %d more things of this kind are wrong behind it", p.untold)
	}
	return p.problems, true
}

type jsonParser struct {
	file     *File
	most     int // values
	long     []string
	build    *Builder
	dec      *jsontext.Decoder
	problems []Problem
	untold   int     // problems beyond mostProblems
	stamps   []stamp // by key id: which object last had that key, and where
}

type stamp struct{ object, member int32 }

var (
	errDepth    = fmt.Errorf("values nest more than %d levels deep", MaxDepth)
	errTrailing = errors.New("more text follows the end of the value")
)

func (p *jsonParser) run() error {
	for {
		if err := p.step(); err != nil {
			return err
		}
		if p.dec.StackDepth() == 0 {
			return p.finish()
		}
	}
}

// step reads one bracket or one value without parts.
func (p *jsonParser) step() error {
	kind := p.dec.PeekKind()
	switch kind {
	case '{', '[':
		if p.dec.StackDepth() >= MaxDepth {
			return errDepth
		}
		if len(p.file.nodes) >= p.most {
			return tooMany(p.most)
		}
		if kind == '[' && p.isLong() {
			return p.list()
		}
		if _, err := p.dec.ReadToken(); err != nil {
			return err
		}
		nodeKind := Array
		if kind == '{' {
			nodeKind = Object
		}
		p.build.Begin(nodeKind, int(p.dec.InputOffset())-1)
	case '}', ']':
		if _, err := p.dec.ReadToken(); err != nil {
			return err
		}
		if ref := p.build.End(int(p.dec.InputOffset())); kind == '}' {
			p.findTwins(ref)
		}
	default:
		return p.scalar(kind)
	}
	return nil
}

func (p *jsonParser) scalar(kind jsontext.Kind) error {
	stack, length := p.dec.StackIndex(p.dec.StackDepth())
	raw, err := p.dec.ReadValue()
	if err != nil {
		return err
	}
	stop := int(p.dec.InputOffset())
	start := stop - len(raw)
	text := p.file.Text[start:stop]
	if len(p.file.nodes) >= p.most {
		return tooMany(p.most)
	}
	if kind == '"' {
		text = text[1 : len(text)-1]
		if strings.IndexByte(text, '\\') >= 0 {
			unquoted, err := jsontext.AppendUnquote(nil, raw)
			if err != nil {
				return err
			}
			text = string(unquoted)
		}
		if stack == '{' && length%2 == 0 {
			p.build.Key(text, start, stop)
			return nil
		}
	}
	switch kind {
	case '"':
		p.build.Scalar(String, text, start, stop)
	case 'n':
		p.build.Scalar(Null, "", start, stop)
	case 't', 'f':
		p.build.Scalar(Bool, text, start, stop)
	default:
		if value, err := strconv.ParseFloat(text, 64); err != nil || math.IsInf(value, 0) {
			p.tell(Problem{
				ID:      "number-range",
				Message: fmt.Sprintf("%s is too large a number to compute with", Shorten(text)),
				At:      Place{p.file, start, stop},
			})
		}
		p.build.Scalar(Number, text, start, stop)
	}
	return nil
}

func tooMany(most int) error { return fmt.Errorf("the file holds more than %d values", most) }

func (p *jsonParser) tell(problem Problem) {
	if len(p.problems) == mostProblems {
		p.untold++
		return
	}
	p.problems = append(p.problems, problem)
}

// finish makes sure that nothing follows the value of the file.
func (p *jsonParser) finish() error {
	_, err := p.dec.ReadToken()
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case err == nil:
		return errTrailing
	default:
		return err
	}
}

// findTwins reports the members of an object that bear a name used before.
func (p *jsonParser) findTwins(object Ref) {
	for len(p.stamps) < len(p.file.keys) {
		p.stamps = append(p.stamps, stamp{-1, -1})
	}
	for member := range object.Items() {
		s := &p.stamps[p.file.nodes[member.node].key]
		if s.object == object.node {
			first := Ref{p.file, s.member}.KeyPlace()
			p.tell(Problem{
				ID:      "key-twice",
				Message: fmt.Sprintf("%q stands twice in one object; the last one is used", Shorten(member.Key())),
				At:      member.KeyPlace(),
				Related: &first,
			})
		}
		*s = stamp{object.node, member.node}
	}
}

func (p *jsonParser) syntax(err error) Problem {
	offset := int(p.dec.InputOffset())
	message := err.Error()
	var syntactic *jsontext.SyntacticError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		offset = len(p.file.Text)
		message = "the file ends in the middle of a value: it looks cut off"
	case errors.As(err, &syntactic):
		offset = int(syntactic.ByteOffset)
		message = "this is not JSON: " + strings.TrimPrefix(syntactic.Err.Error(), "jsontext: ")
	}
	if offset > len(p.file.Text) {
		offset = len(p.file.Text)
	}
	return Problem{ID: "syntax", Message: message, At: Place{p.file, offset, min(offset+1, len(p.file.Text))}}
}

// Shorten keeps what somebody wrote from filling the screen: beyond 60 letters it ends
// with an ellipsis.
func Shorten(text string) string {
	const most = 60
	count := 0
	for i := range text {
		if count == most {
			return text[:i] + "…"
		}
		count++
	}
	return text
}
