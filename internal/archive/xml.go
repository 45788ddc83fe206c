package archive

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// XMLLimits bounds what is made of an XML text.
type XMLLimits struct {
	Depth    int // elements inside elements
	Elements int // with their attributes
}

// UsualXML bounds the descriptions of a type and of a plan. Some 50,000 elements
// describe 2,000 fixtures.
var UsualXML = XMLLimits{Depth: 256, Elements: 1_000_000}

// Element is one element of an XML text. Offsets are bytes of that text.
type Element struct {
	Name        string // without the prefix of a namespace
	Attrs       []Attr
	Children    []*Element
	Text        string // what stands in it besides elements, without blanks around it
	Start, Stop int    // of its start tag
	TextStart   int    // of the first character of Text that is no blank; Stop if there is none
	TextStop    int    // behind the last one
}

// Attr is one attribute with the place of its value between the quote marks.
type Attr struct {
	Name, Value string
	Start, Stop int
}

// SyntaxError is what is wrong with an XML text, and where.
type SyntaxError struct {
	Offset int
	Reason string // the end of a sentence that begins with the name of the file
}

func (e *SyntaxError) Error() string { return e.Reason }

// ParseXML reads an XML text that is UTF-8. All errors are of type [*SyntaxError].
// Names with a prefix lose it. A text may name its document type, and no more:
// one that declares entities is refused, since they are how a few bytes become
// gigabytes.
func ParseXML(text string, limits XMLLimits) (*Element, error) {
	d := xml.NewDecoder(strings.NewReader(text))
	// The text was decoded before; what it says of its encoding is of the past.
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil }
	p := &xmlParser{text: text, limits: limits}
	for {
		p.at = int(d.InputOffset())
		token, err := d.Token()
		p.next = int(d.InputOffset())
		if errors.Is(err, io.EOF) {
			return p.finish()
		}
		if err != nil {
			return nil, &SyntaxError{min(p.next, len(text)), "is no XML that can be read: " + xmlReason(err)}
		}
		if err := p.take(token); err != nil {
			return nil, err
		}
	}
}

// openElement is one whose end is still to come, with its text so far.
type openElement struct {
	*Element
	text strings.Builder
}

type xmlParser struct {
	text     string
	limits   XMLLimits
	at, next int // of the token
	root     *Element
	open     []*openElement
	elements int
}

func (p *xmlParser) fails(format string, args ...any) error {
	return &SyntaxError{p.at, fmt.Sprintf(format, args...)}
}

func (p *xmlParser) take(token xml.Token) error {
	switch t := token.(type) {
	case xml.StartElement:
		return p.start(t)
	case xml.EndElement:
		top := p.open[len(p.open)-1]
		p.open = p.open[:len(p.open)-1]
		top.Text = strings.Trim(top.text.String(), blanks)
	case xml.CharData:
		p.chars(t)
	case xml.Directive:
		if strings.ContainsAny(string(t), "[") || strings.Contains(strings.ToUpper(string(t)), "ENTITY") {
			return p.fails("declares entities or a document type of its own, which is not read")
		}
	}
	return nil
}

const blanks = " \t\r\n"

func (p *xmlParser) chars(text []byte) {
	if len(p.open) == 0 {
		return
	}
	top := p.open[len(p.open)-1]
	raw := p.text[p.at:p.next]
	if strings.Trim(string(text), blanks) != "" {
		if top.TextStop == top.Stop {
			top.TextStart = p.at + len(raw) - len(strings.TrimLeft(raw, blanks))
		}
		top.TextStop = p.at + len(strings.TrimRight(raw, blanks))
	}
	if top.text.Len() > 0 || top.TextStop > top.Stop {
		top.text.Write(text)
	}
}

func (p *xmlParser) start(t xml.StartElement) error {
	if len(p.open) >= p.limits.Depth {
		return p.fails("has elements inside elements deeper than %d, which is the limit", p.limits.Depth)
	}
	if p.elements += 1 + len(t.Attr); p.elements > p.limits.Elements {
		return p.fails("has more than %d elements and attributes, which is the limit", p.limits.Elements)
	}
	e := &Element{Name: t.Name.Local, Start: p.at, Stop: p.next, TextStart: p.next, TextStop: p.next}
	if err := p.attributes(e, t.Attr); err != nil {
		return err
	}
	switch {
	case len(p.open) > 0:
		top := p.open[len(p.open)-1]
		top.Children = append(top.Children, e)
	case p.root != nil:
		return p.fails("goes on behind its last element")
	default:
		p.root = e
	}
	p.open = append(p.open, &openElement{Element: e})
	return nil
}

// attributes takes the attributes of a start tag with their places, which the
// library does not tell, from the text of the tag.
func (p *xmlParser) attributes(e *Element, given []xml.Attr) error {
	if len(given) == 0 {
		return nil
	}
	e.Attrs = make([]Attr, 0, len(given))
	seen := make(map[string]bool, len(given))
	at := p.at + 1
	for at < p.next && !strings.ContainsRune(blanks, rune(p.text[at])) {
		at++
	}
	for _, a := range given {
		at += len(p.text[at:p.next]) - len(strings.TrimLeft(p.text[at:p.next], blanks))
		equals := strings.IndexByte(p.text[at:p.next], '=')
		if equals < 0 {
			return p.fails("has an attribute without a value")
		}
		name := strings.TrimRight(p.text[at:at+equals], blanks)
		if seen[name] {
			p.at = at
			return p.fails("gives the attribute %q twice in one element", name)
		}
		seen[name] = true
		at += equals + 1
		at += len(p.text[at:p.next]) - len(strings.TrimLeft(p.text[at:p.next], blanks))
		if at >= p.next {
			return p.fails("has an attribute without a value")
		}
		quote := p.text[at]
		length := strings.IndexByte(p.text[at+1:p.next], quote)
		if length < 0 {
			return p.fails("has an attribute without a quote mark at its end")
		}
		if !strings.HasPrefix(name, "xmlns") {
			e.Attrs = append(e.Attrs, Attr{a.Name.Local, a.Value, at + 1, at + 1 + length})
		}
		at += length + 2
	}
	return nil
}

func (p *xmlParser) finish() (*Element, error) {
	if p.at = len(p.text); p.root == nil {
		return nil, p.fails("holds no XML element")
	}
	return p.root, nil // all its elements have ended, or the library had complained
}

// xmlReason is an error of the library without what it says of lines.
func xmlReason(err error) string {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		if syntax.Msg == "unexpected EOF" {
			return "it ends in the middle, so it is cut off"
		}
		return strings.TrimSuffix(syntax.Msg, " (no semicolon)")
	}
	return strings.TrimPrefix(err.Error(), "xml: ")
}

// Attr returns an attribute by its name; case counts only if two differ in nothing else.
func (e *Element) Attr(name string) (Attr, bool) {
	for _, a := range e.Attrs {
		if a.Name == name {
			return a, true
		}
	}
	for _, a := range e.Attrs {
		if strings.EqualFold(a.Name, name) {
			return a, true
		}
	}
	return Attr{}, false
}

// Value returns the value of an attribute without blanks around it, or "".
func (e *Element) Value(name string) string {
	a, _ := e.Attr(name)
	return strings.Trim(a.Value, blanks)
}

// Is reports whether the element has that name, in any case.
func (e *Element) Is(name string) bool { return strings.EqualFold(e.Name, name) }

// First returns the first child of that name, or nil.
func (e *Element) First(name string) *Element {
	if e == nil {
		return nil
	}
	for _, c := range e.Children {
		if c.Is(name) {
			return c
		}
	}
	return nil
}

// All returns the children of that name, in their order.
func (e *Element) All(name string) []*Element {
	if e == nil {
		return nil
	}
	var list []*Element
	for _, c := range e.Children {
		if c.Is(name) {
			list = append(list, c)
		}
	}
	return list
}

// Find follows names down from the element, taking the first child of each; nil
// if one is missing.
func (e *Element) Find(names ...string) *Element {
	for _, name := range names {
		e = e.First(name)
	}
	return e
}
