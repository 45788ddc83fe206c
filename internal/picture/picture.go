// Package picture writes SVG: shapes, labels that never collide, scales with ticks,
// marks, and the table behind each picture.
//
// In go numbers and words, out comes text that is the same to the byte on every
// machine. Every word passes one door ([escape]) and every colour another ([paint]);
// numbers that are none draw nothing. A newcomer's mistake would be to scale a picture
// down for a narrow page: its labels go below what can be read, so it is drawn again.
package picture

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// Pic is a picture while it is drawn. Lengths are in CSS pixels; y grows downwards.
type Pic struct {
	W, H  float64
	Title string // what it is
	Desc  string // what it shows, in a sentence with figures
	Table Table  // every figure in it

	out     strings.Builder
	taken   []Box
	pending string          // attributes of shapes that are joined to one while they are alike
	joined  strings.Builder // their ways
	kept    strings.Builder // what is drawn only where it is used
}

// Table is what a picture shows, to be read.
type Table struct {
	Head []string
	Rows [][]string
}

// New starts a picture of a size.
func New(w, h float64) *Pic { return &Pic{W: w, H: h} }

// number writes a length: a tenth of a pixel is finer than any screen shows.
func number(v float64) string {
	text := strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64)
	if whole, rest, ok := strings.Cut(text, "0."); ok && (whole == "" || whole == "-") {
		return whole + "." + rest
	}
	return text
}

// drawable reports whether all numbers can be drawn.
func drawable(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > 1e6 {
			return false
		}
	}
	return true
}

// escape is the door for text: nothing in it is a mark, and nothing in it is obeyed.
func escape(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch {
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '&':
			b.WriteString("&amp;")
		case r == '"':
			b.WriteString("&#34;")
		case r == '\'':
			b.WriteString("&#39;")
		case r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 || r == 0xfffe || r == 0xffff || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case r != '\u200c' && r != '\u200d' && unicode.Is(unicode.Cf, r): // turns the direction of writing, or hides; the joiners stay
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// paint is the door for colours: what is none is that of lines.
func paint(colour string) string {
	if len(colour) != 7 || colour[0] != '#' || !onlyOf(colour[1:], "0123456789abcdef") {
		return "currentColor"
	}
	return colour
}

// class writes the class of an element. Classes are words of ours, never a show's.
func class(name string) string {
	if name == "" || !onlyOf(name, "abcdefghijklmnopqrstuvwxyz0123456789 ") {
		return ""
	}
	return ` class="` + name + `"`
}

// put writes an element.
func (p *Pic) put(format string, args ...any) {
	p.flush()
	fmt.Fprintf(&p.out, format, args...)
}

// join adds a way to those before it that look alike: many small shapes in a row are one
// element.
func (p *Pic) join(look, d string) {
	if !strings.HasPrefix(d, "M") {
		return // it could not be drawn
	}
	if look != p.pending {
		p.flush()
		p.pending = look
	}
	p.joined.WriteString(d)
}

func (p *Pic) flush() {
	if d := p.joined.String(); d != "" {
		fmt.Fprintf(&p.out, `<path d="%s"%s/>`, d, p.pending)
		p.joined.Reset()
	}
}

// Rect draws a rectangle.
func (p *Pic) Rect(x, y, w, h float64, name string) { p.rect(x, y, w, h, class(name)) }

// Fill draws a rectangle of a colour.
func (p *Pic) Fill(x, y, w, h float64, colour string) {
	p.rect(x, y, w, h, ` fill="`+paint(colour)+`"`)
}

func (p *Pic) rect(x, y, w, h float64, look string) {
	if !drawable(x, y, w, h) || !(w > 0) || !(h > 0) {
		return
	}
	p.join(look, new(Path).Move(x, y).Line(x+w, y).Line(x+w, y+h).Line(x, y+h).Close().text())
}

// Circle draws a circle.
func (p *Pic) Circle(x, y, r float64, name string) {
	if drawable(x, y, r) && r > 0 { // an element of its own: it may overlap another
		p.put(`<circle cx="%s" cy="%s" r="%s"%s/>`, number(x), number(y), number(r), class(name))
	}
}

// Dot draws a dot of a class that says how large it is. Dots in a row that look alike
// are one element: points of a line with round ends.
func (p *Pic) Dot(x, y float64, name string) {
	p.join(class(name), new(Path).Move(x, y).text()+"h0")
}

// Spark draws a dot of a colour.
func (p *Pic) Spark(x, y float64, colour string) {
	p.join(` class="spark" stroke="`+paint(colour)+`"`, new(Path).Move(x, y).text()+"h0")
}

// Line draws a straight line.
func (p *Pic) Line(x1, y1, x2, y2 float64, name string) {
	p.join(class(name), new(Path).Move(x1, y1).Line(x2, y2).text())
}

// Path draws a path.
func (p *Pic) Path(path *Path, name string) {
	if d := path.text(); d != "" {
		p.put(`<path d="%s"%s/>`, d, class(name))
	}
}

// Shape draws a path; shapes in a row that look alike are one element.
func (p *Pic) Shape(path *Path, name string) { p.join(class(name), path.text()) }

// PathFill draws a path filled with a colour.
func (p *Pic) PathFill(path *Path, colour, name string) {
	if d := path.text(); d != "" {
		p.put(`<path d="%s" fill="%s"%s/>`, d, paint(colour), class(name))
	}
}

// PathStroke draws a path as a line of a colour and a width.
func (p *Pic) PathStroke(path *Path, colour string, width float64, name string) {
	if d := path.text(); d != "" && drawable(width) {
		p.join(fmt.Sprintf(` fill="none" stroke="%s" stroke-width="%s"%s`, paint(colour), number(width), class(name)), d)
	}
}

// Clip draws what draw draws within a path. id has to be one of its own in the page.
func (p *Pic) Clip(id string, path *Path, draw func()) {
	d := path.text()
	if d == "" || !isID(id) {
		return
	}
	p.put(`<clipPath id="%s"><path d="%s" /></clipPath><g clip-path="url(#%s)">`, id, d, id)
	draw()
	p.put(`</g>`)
}

// isID reports whether a word can be an id: small letters, digits and hyphens, a letter
// first.
func isID(word string) bool {
	return onlyOf(word, "abcdefghijklmnopqrstuvwxyz0123456789-") && word != "" && word[0] >= 'a'
}

// onlyOf reports whether a word has no other letters than these.
func onlyOf(word, letters string) bool {
	return strings.IndexFunc(word, func(r rune) bool { return !strings.ContainsRune(letters, r) }) < 0
}

// Anchor is which point of a text stands at its place, as a class of [Style].
type Anchor string

// The anchors.
const (
	Start  Anchor = ""
	Middle Anchor = "m"
	End    Anchor = "e"
)

// usualSize is that of letters where nothing is said, as [Style] has it.
const usualSize = 10.5

// Text writes a word at the foot of its letters, wherever others are.
func (p *Pic) Text(x, y, size float64, anchor Anchor, name, text string) {
	if text = strings.TrimSpace(text); text == "" || !drawable(x, y, size) {
		return
	}
	tall := ""
	if size != usualSize {
		tall = ` font-size="` + number(size) + `"`
	}
	p.put(`<text x="%s" y="%s"%s%s>%s</text>`, number(x), number(y), tall, class(strings.TrimSpace(name+" "+string(anchor))), escape(text))
}

// Inline is the picture as a part of a page: role, title and description in it, its
// labels hidden from readers, who have the table. id has to be one of its own in the
// page. Its classes are those of [Style].
func (p *Pic) Inline(id, name string) string { return p.svg(id, name, "", "") }

// File is the picture as a file of its own, with its style. mark is written behind its
// first line.
func (p *Pic) File(mark string) []byte {
	return []byte("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + mark + p.svg("pic", "pic", ` xmlns="http://www.w3.org/2000/svg" width="`+number(p.W)+`" height="`+number(p.H)+`"`,
		"<style>"+Palette+Style+"svg{background:var(--paper);color:var(--ink)}</style>") + "\n")
}

func (p *Pic) svg(id, name, more, style string) string {
	p.flush()
	return fmt.Sprintf(`<svg%s id="%s" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d"%s><title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s%s</svg>`,
		class(name), id, number(p.W), number(p.H), id, id, more, id, escape(p.Title), id, escape(p.Desc), style, p.defs()+p.out.String())
}

// Bare is the picture without words for readers, for a sign whose meaning stands
// beside it in words.
func (p *Pic) Bare(name string) string {
	p.flush()
	return fmt.Sprintf(`<svg%s viewBox="0 0 %s %s" aria-hidden="true" focusable="false">%s</svg>`, class(name), number(p.W), number(p.H), p.defs()+p.out.String())
}

// Path is the way of a pen.
type Path struct {
	b       strings.Builder
	x, y    float64
	started bool
	broken  bool
	coarse  bool
}

// Coarse makes a pen that goes to every half pixel and no finer, for outlines of many
// points.
func Coarse() *Path { return &Path{coarse: true} }

func (d *Path) round(v float64) float64 {
	if d.coarse {
		return math.Round(v*2) / 2
	}
	return math.Round(v*10) / 10
}

// Move lifts the pen to a point.
func (d *Path) Move(x, y float64) *Path { return d.to('M', x, y) }

// Go lifts the pen to a point, unless it is there.
func (d *Path) Go(x, y float64) *Path {
	if d.started && d.round(x) == d.x && d.round(y) == d.y {
		return d
	}
	return d.Move(x, y)
}

// Line draws to a point.
func (d *Path) Line(x, y float64) *Path {
	if !d.started {
		return d.to('M', x, y)
	}
	return d.to('L', x, y)
}

func (d *Path) to(verb byte, x, y float64) *Path {
	if !drawable(x, y) {
		d.broken = true
		return d
	}
	x, y = d.round(x), d.round(y)
	switch {
	case verb == 'L' && x == d.x && y == d.y:
		return d
	case verb == 'L' && y == d.y:
		d.b.WriteString("h" + number(x-d.x))
	case verb == 'L' && x == d.x:
		d.b.WriteString("v" + number(y-d.y))
	case verb == 'L':
		d.b.WriteString("l" + pair(x-d.x, y-d.y))
	default:
		d.b.WriteString("M" + pair(x, y))
	}
	d.x, d.y, d.started = x, y, true
	return d
}

// pair writes two numbers with as little between them as a reader of SVG needs.
func pair(x, y float64) string {
	second := number(y)
	if strings.HasPrefix(second, "-") {
		return number(x) + second
	}
	return number(x) + " " + second
}

// Curve draws a quadratic curve to a point, pulled by another.
func (d *Path) Curve(cx, cy, x, y float64) *Path {
	if !drawable(cx, cy, x, y) {
		d.broken = true
		return d
	}
	cx, cy, x, y = d.round(cx), d.round(cy), d.round(x), d.round(y)
	d.b.WriteString("q" + pair(cx-d.x, cy-d.y) + " " + pair(x-d.x, y-d.y))
	d.x, d.y = x, y
	return d
}

// Close goes back to where the pen was put down.
func (d *Path) Close() *Path {
	if d.started {
		d.b.WriteString("Z")
	}
	return d
}

func (d *Path) text() string {
	if d == nil || d.broken {
		return ""
	}
	return d.b.String()
}

// Def keeps a path under an id of its own in the page, to be drawn by [Pic.Use].
func (p *Pic) Def(id string, path *Path) {
	if d := path.text(); d != "" && isID(id) {
		fmt.Fprintf(&p.kept, `<path id="%s" d="%s"/>`, id, d)
	}
}

// Use draws a path that was kept, in a colour.
func (p *Pic) Use(id, colour string) {
	if isID(id) {
		p.put(`<use href="#%s" fill="%s"/>`, id, paint(colour))
	}
}

// Moved draws what draw draws elsewhere and k times as large.
func (p *Pic) Moved(x, y, k float64, draw func()) {
	if !drawable(x, y, k) {
		return
	}
	p.put(`<g transform="translate(%s %s) scale(%s)">`, number(x), number(y), strconv.FormatFloat(math.Round(k*1000)/1000, 'f', -1, 64))
	draw()
	p.put(`</g>`)
}

// Within draws what draw draws inside a way that was kept.
func (p *Pic) Within(id, kept string, draw func()) {
	if !isID(id) || !isID(kept) {
		return
	}
	p.put(`<clipPath id="%s"><use href="#%s"/></clipPath><g clip-path="url(#%s)">`, id, kept, id)
	draw()
	p.put(`</g>`)
}

// Again draws what is inside a way that was used by [Pic.Within] already.
func (p *Pic) Again(id string, draw func()) {
	if !isID(id) {
		return
	}
	p.put(`<g clip-path="url(#%s)">`, id)
	draw()
	p.put(`</g>`)
}

// Add draws another picture here.
func (p *Pic) Add(other *Pic) {
	other.flush()
	p.flush()
	p.kept.WriteString(other.kept.String())
	p.out.WriteString(other.out.String())
}

// Keep draws another picture once, unseen, under an id of its own in the page, for
// [Pic.Kept] to show at any size: for shapes without words.
func (p *Pic) Keep(id string, other *Pic) {
	if !isID(id) {
		return
	}
	other.flush()
	p.kept.WriteString(other.kept.String())
	fmt.Fprintf(&p.kept, `<g id="%s" class="geo">%s</g>`, id, other.out.String())
}

// Kept shows what was kept, moved and k times as large; its lines and dots keep their
// widths.
func (p *Pic) Kept(id string, x, y, k float64) {
	if isID(id) && drawable(x, y, k) {
		p.put(`<use href="#%s" transform="translate(%s %s) scale(%s)"/>`, id, number(x), number(y), strconv.FormatFloat(math.Round(k*1e4)/1e4, 'f', -1, 64))
	}
}

// Hidden is a picture that shows nothing and only keeps.
func (p *Pic) Hidden() string {
	p.flush()
	return `<svg class="keep" width="0" height="0" aria-hidden="true" focusable="false">` + p.defs() + p.out.String() + `</svg>`
}

// defs is what is kept.
func (p *Pic) defs() string {
	if p.kept.Len() == 0 {
		return ""
	}
	return "<defs>" + p.kept.String() + "</defs>"
}

// Trace draws a way that was kept as a line of a colour and a width.
func (p *Pic) Trace(id, colour string, width float64) {
	if isID(id) && drawable(width) {
		p.put(`<use href="#%s" fill="none" stroke="%s" stroke-width="%s"/>`, id, paint(colour), number(width))
	}
}
