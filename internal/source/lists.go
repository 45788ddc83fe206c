package source

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json/jsontext"
)

// lists are the long lists of a file. Of their items only the place is kept.
type lists struct {
	all []list

	mu     sync.Mutex
	recent [recentItems]*tape // items that were read again
	next   int
}

// recentItems is how many items of long lists are kept when they were read again:
// as many as are asked for side by side.
const recentItems = 64

type list struct {
	pointer string // of the list in its file
	start   uint32
	items   []stretch
}

type stretch struct{ start, stop uint32 }

// isLong reports whether the array that begins here is a long list.
func (p *jsonParser) isLong() bool {
	switch depth := p.dec.StackDepth(); {
	case len(p.long) == 0 || depth > 1:
		return false
	case depth == 0:
		return slices.Contains(p.long, "")
	}
	kind, _ := p.dec.StackIndex(1)
	key := p.build.key.id
	return kind == '{' && key >= 0 && slices.Contains(p.long, "/"+p.file.keys[key])
}

// list reads an array of which only the places of its items are kept.
func (p *jsonParser) list() error {
	l := list{}
	if key := p.build.key.id; key >= 0 {
		l.pointer = "/" + p.file.keys[key]
	}
	if _, err := p.dec.ReadToken(); err != nil {
		return err
	}
	l.start = uint32(p.dec.InputOffset()) - 1
	p.build.Begin(Array, int(l.start))
	for p.dec.PeekKind() != ']' {
		raw, err := p.dec.ReadValue()
		if err != nil {
			return err
		}
		stop := uint32(p.dec.InputOffset())
		l.items = append(l.items, stretch{stop - uint32(len(raw)), stop})
	}
	if _, err := p.dec.ReadToken(); err != nil {
		return err
	}
	p.build.End(int(p.dec.InputOffset()))
	if p.file.lists == nil {
		p.file.lists = &lists{}
	}
	p.file.lists.all = append(p.file.lists.all, l)
	return nil
}

// at returns the long list that starts at an offset; nil if none does.
func (l *lists) at(start uint32) *list {
	if l == nil {
		return nil
	}
	for i := range l.all {
		if l.all[i].start == start {
			return &l.all[i]
		}
	}
	return nil
}

// look finds the value at an offset, which is an item of a long list or in one.
func (l *lists) look(file *File, offset uint32) (*tape, int32) {
	if l == nil {
		return nil, 0
	}
	found, index := -1, 0
	for i := range l.all {
		items := l.all[i].items
		n, exact := slices.BinarySearchFunc(items, offset, func(s stretch, offset uint32) int { return cmp.Compare(s.start, offset) })
		if !exact {
			n--
		}
		if n >= 0 && offset < items[n].stop {
			found, index = i, n
		}
	}
	if found < 0 {
		return nil, 0
	}
	t := l.read(file, &l.all[found], index)
	i, exact := slices.BinarySearchFunc(t.nodes, offset, func(n node, start uint32) int { return cmp.Compare(n.start, start) })
	if !exact {
		return nil, 0
	}
	return t, int32(i)
}

// read lays an item on a tape of its own, or takes one that was laid before.
func (l *lists) read(file *File, of *list, index int) *tape {
	item := of.items[index]
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, t := range l.recent {
		if t != nil && t.nodes[0].start == item.start {
			return t
		}
	}
	var o Opener
	o.file = file
	o.lay(item)
	t := o.tape
	t.above = of.pointer + "/" + strconv.Itoa(index)
	l.recent[l.next] = &t
	l.next = (l.next + 1) % recentItems
	return &t
}

// lasting returns the file that people know, where a reference is into an item
// that is open.
func (r Ref) lasting() *File {
	if r.File.whole != nil {
		return r.File.whole
	}
	return r.File
}

// Lasting returns a reference to the same value that stays good: one into an open
// item is only good until the next is opened.
func (r Ref) Lasting() Ref {
	if r.File == nil || r.File.whole == nil {
		return r
	}
	return Ref{r.File.whole, ^int32(r.File.nodes[r.node].start)}
}

// IsLong reports whether the value is a long list, see [ParseJSON].
func (r Ref) IsLong() bool {
	if r.File == nil || r.node < 0 || len(r.File.nodes) == 0 {
		return false
	}
	return r.File.lists.at(r.File.nodes[r.node].start) != nil
}

// Opener reads items of long lists, one after the other, with the same memory. The
// zero value is ready.
type Opener struct {
	file *File
	tape
	ids      map[string]int32
	stamps   []stamp
	problems []Problem
	depth    int
	inner    *File

	// Skip is the key of a member of an item whose own items are not laid; what is
	// left out is in Skipped. It is only for arrays.
	Skip    string
	Skipped []Item
}

// Item is a value of a long list, or one that was skipped, by its place.
type Item struct {
	File        *File
	Start, Stop int
}

// Ref returns the lasting reference to the item.
func (i Item) Ref() Ref { return Ref{i.File, ^int32(i.Start)} }

// Text returns the item as it stands in the file.
func (i Item) Text() string { return i.File.Text[i.Start:i.Stop] }

// LongItems returns the items of a long list.
func (r Ref) LongItems() []Item {
	l := r.File.lists.at(r.see().start)
	items := make([]Item, len(l.items))
	for i, s := range l.items {
		items[i] = Item{r.File, int(s.start), int(s.stop)}
	}
	return items
}

// Open lays an item, and returns a reference to it that is good until the next is
// opened, with what is wrong with its text. The item is JSON whose grammar was
// checked before.
func (o *Opener) Open(item Item) (Ref, []Problem) {
	if o.file != item.File {
		o.file, o.inner = item.File, &File{Name: item.File.Name, Text: item.File.Text, Format: item.File.Format, whole: item.File}
	}
	o.lay(stretch{uint32(item.Start), uint32(item.Stop)})
	o.inner.tape = o.tape
	return Ref{o.inner, 0}, o.problems
}

func (o *Opener) lay(item stretch) {
	o.nodes, o.texts, o.problems, o.Skipped, o.depth = o.nodes[:0], o.texts[:0], nil, o.Skipped[:0], 0
	if o.ids == nil {
		o.ids = map[string]int32{}
	}
	o.value(int(item.start), -1, pendingKey{id: -1})
}

// value lays the value that begins at an offset and returns the offset behind it.
func (o *Opener) value(at int, parent int32, key pendingKey) int {
	text := o.file.Text
	index := int32(len(o.nodes))
	n := node{parent: parent, key: key.id, keyStart: uint32(key.start), keyStop: uint32(key.stop), start: uint32(at), more: asInFile}
	switch c := text[at]; c {
	case '{', '[':
		if o.depth == MaxDepth {
			return o.tooDeep(at)
		}
		o.depth++
		n.kind = Array
		if c == '{' {
			n.kind = Object
		}
		o.nodes = append(o.nodes, n)
		stop := o.parts(at+1, index, c == '[' && parent == 0 && key.id >= 0 && o.Skip != "" && o.keys[key.id] == o.Skip)
		o.depth--
		o.nodes[index].more, o.nodes[index].stop = int32(len(o.nodes)), uint32(stop)
		if c == '{' {
			o.findTwins(index)
		}
		return stop
	case '"':
		n.kind, n.more = String, inQuotes
		var words string
		if words, at = o.quoted(at); len(words) != at-int(n.start)-2 {
			n.more = int32(len(o.texts))
			o.texts = append(o.texts, words)
		}
	case 't', 'f', 'n':
		if n.kind = Bool; c == 'n' {
			n.kind = Null
		}
		at += len(map[byte]string{'t': "true", 'f': "false", 'n': "null"}[c])
	default:
		n.kind = Number
		stop := at + 1
		for stop < len(text) && isNumeric(text[stop]) {
			stop++
		}
		number := text[at:stop]
		at = stop
		if value, err := strconv.ParseFloat(number, 64); err != nil || math.IsInf(value, 0) {
			o.problems = append(o.problems, Problem{
				ID:      "number-range",
				Message: fmt.Sprintf("%s is too large a number to compute with", Shorten(number)),
				At:      Place{o.file, int(n.start), at},
			})
		}
	}
	n.stop = uint32(at)
	o.nodes = append(o.nodes, n)
	return at
}

// tooDeep passes over a value that nests too deeply, and says so once.
func (o *Opener) tooDeep(at int) int {
	if !slices.ContainsFunc(o.problems, func(p Problem) bool { return p.Message == errDepth.Error() }) {
		o.problems = append(o.problems, Problem{ID: "syntax", Message: errDepth.Error(), At: Place{o.file, at, at + 1}})
	}
	stop, _ := behindValue(o.file.Text, at)
	return stop
}

func isNumeric(c byte) bool {
	return c >= '0' && c <= '9' || c == '.' || c == 'e' || c == 'E' || c == '+' || c == '-'
}

// parts lays what stands between brackets, up to and with the closing one.
func (o *Opener) parts(at int, parent int32, skip bool) int {
	text := o.file.Text
	isObject := o.nodes[parent].kind == Object
	for {
		at = behindBlanks(text, at)
		switch text[at] {
		case '}', ']':
			return at + 1
		case ',':
			at++
			continue
		}
		key := pendingKey{id: -1}
		if isObject {
			name, stop := o.quoted(at)
			key = pendingKey{o.id(name), at, stop}
			at = behindBlanks(text, stop)
			at = behindBlanks(text, at+1) // the colon
		}
		if skip {
			stop, depth := behindValue(text, at)
			if o.depth+depth > MaxDepth {
				o.tooDeep(at)
			}
			o.Skipped = append(o.Skipped, Item{o.file, at, stop})
			at = stop
			continue
		}
		at = o.value(at, parent, key)
	}
}

func (o *Opener) id(name string) int32 {
	id, known := o.ids[name]
	if !known {
		id = int32(len(o.keys))
		o.keys = append(o.keys, name)
		o.ids[name] = id
	}
	return id
}

func behindBlanks(text string, at int) int {
	for text[at] == ' ' || text[at] == '\n' || text[at] == '\t' || text[at] == '\r' {
		at++
	}
	return at
}

// behindQuote returns the offset behind the quote mark that ends a text that
// begins at an offset.
func behindQuote(text string, at int) int {
	for at++; text[at] != '"'; at++ {
		if text[at] == '\\' {
			at++
		}
	}
	return at + 1
}

// marks are what tells where a value with brackets ends.
var marks = [256]bool{'"': true, '{': true, '[': true, '}': true, ']': true}

// behindValue returns the offset behind a value, and how deeply it nests.
func behindValue(text string, at int) (stop, deepest int) {
	depth := 0
	for {
		switch c := text[at]; c {
		case '"':
			at = behindQuote(text, at)
		case '{', '[':
			depth++
			deepest = max(deepest, depth)
			at++
		case '}', ']':
			depth--
			at++
		default:
			if depth == 0 {
				for at++; at < len(text) && (isNumeric(text[at]) || text[at] >= 'a' && text[at] <= 'z'); {
					at++
				}
				return at, deepest
			}
			for at++; !marks[text[at]]; { // numbers, words, and what stands between values
				at++
			}
		}
		if depth == 0 {
			return at, deepest
		}
	}
}

// quoted reads a text in quote marks.
func (o *Opener) quoted(at int) (text string, stop int) {
	stop = behindQuote(o.file.Text, at)
	text = o.file.Text[at+1 : stop-1]
	if strings.IndexByte(text, '\\') >= 0 {
		plain, err := jsontext.AppendUnquote(nil, o.file.Text[at:stop])
		if err != nil {
			panic("source: " + err.Error()) // its grammar was checked
		}
		text = string(plain)
	}
	return text, stop
}

// findTwins reports the members of an object that bear a name used before.
func (o *Opener) findTwins(object int32) {
	for len(o.stamps) < len(o.keys) {
		o.stamps = append(o.stamps, stamp{-1, -1})
	}
	end := o.nodes[object].more
	for i := object + 1; i < end; i = o.behind(i) {
		s := &o.stamps[o.nodes[i].key]
		// Indices are used again from item to item, so the one before is looked at too.
		if s.object == object && s.member < i && s.member > object && o.nodes[s.member].key == o.nodes[i].key && o.nodes[s.member].parent == object {
			first := Place{o.file, int(o.nodes[s.member].keyStart), int(o.nodes[s.member].keyStop)}
			o.problems = append(o.problems, Problem{
				ID:      "key-twice",
				Message: fmt.Sprintf("%q stands twice in one object; the last one is used", Shorten(o.keys[o.nodes[i].key])),
				At:      Place{o.file, int(o.nodes[i].keyStart), int(o.nodes[i].keyStop)},
				Related: &first,
			})
		}
		*s = stamp{object, i}
	}
}
