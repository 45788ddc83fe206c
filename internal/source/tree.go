package source

import (
	"iter"
	"math"
	"slices"
	"strconv"
)

// Kind is what sort of value stands somewhere.
type Kind uint8

// The kinds of value, as in JSON.
const (
	Null Kind = iota
	Bool
	Number
	String
	Array
	Object
)

var kindWords = [...]string{"null", "true or false", "a number", "text", "a list", "an object"}

// String names the kind in plain words, with its article.
func (k Kind) String() string { return kindWords[k] }

// node is one value on the flat tape of a file. Children follow their parent. It has 32 bytes and
// no pointer: a long table has a million of them.
type node struct {
	kind              Kind
	parent            int32
	more              int32 // of an object or array the index behind the last of its children, so that it is skipped in one step; else where its text is
	key               int32 // index into File.keys, or -1
	keyStart, keyStop uint32
	start, stop       uint32
}

// Where the text of a value is that has no parts: the text of a string, the literal of a number,
// "true" or "false". From 0 on it is the index of one that does not stand in the file so.
const (
	asInFile int32 = -1 - iota // from start to stop
	inQuotes                   // the same without a quote mark at either end
)

// tape is the values of a file, or of one item of it, in reading order.
type tape struct {
	nodes []node
	keys  []string
	texts []string // that do not stand in the file as they are
	above string   // the JSON pointer of the first value; "" for that of a file
}

// behind is the index behind a value and all in it.
func (t *tape) behind(i int32) int32 {
	if n := &t.nodes[i]; n.kind == Object || n.kind == Array {
		return n.more
	}
	return i + 1
}

// text is that of a value without parts, of a file with this text.
func (t *tape) text(n *node, file string) string {
	switch n.more {
	case asInFile:
		return file[n.start:n.stop]
	case inQuotes:
		return file[n.start+1 : n.stop-1]
	}
	return t.texts[n.more]
}

// whereText says where the text of a value is, if it is in the file between two offsets.
func whereText(text, file string, start, stop int) (where int32, found bool) {
	if start > stop || stop > len(file) {
		return 0, false
	}
	switch at := file[start:stop]; {
	case at == text:
		return asInFile, true
	case len(at) == len(text)+2 && at[0] == '"' && at[len(at)-1] == '"' && at[1:len(at)-1] == text:
		return inQuotes, true
	}
	return 0, false
}

// place returns the position of an item in its array.
func (t *tape) place(node int32) int {
	index := 0
	for i := t.nodes[node].parent + 1; i < node; i = t.behind(i) {
		index++
	}
	return index
}

// look returns the tape that the reference is on and its index there; nil if the
// reference is nowhere or its file holds no values.
func (r Ref) look() (*tape, int32) {
	switch {
	case r.File == nil:
		return nil, 0
	case r.node < 0:
		return r.File.lists.look(r.File, uint32(^r.node))
	case len(r.File.nodes) == 0:
		return nil, 0
	}
	return &r.File.tape, r.node
}

// see returns the node of the reference; nil if there is none.
func (r Ref) see() *node {
	t, i := r.look()
	if t == nil {
		return nil
	}
	return &t.nodes[i]
}

// Kind returns what sort of value the reference names.
func (r Ref) Kind() Kind {
	n := r.see()
	if n == nil {
		return Null
	}
	return n.kind
}

// Str returns the text of a string, the literal of a number, and "" for the rest.
func (r Ref) Str() string {
	t, i := r.look()
	if t == nil || t.nodes[i].kind != String && t.nodes[i].kind != Number {
		return ""
	}
	return t.text(&t.nodes[i], r.File.Text)
}

// Float returns the value of a number; ok is false for anything else and for
// literals beyond the range of a float64.
func (r Ref) Float() (value float64, ok bool) {
	t, i := r.look()
	if t == nil || t.nodes[i].kind != Number {
		return 0, false
	}
	value, err := strconv.ParseFloat(t.text(&t.nodes[i], r.File.Text), 64)
	return value, err == nil && !math.IsInf(value, 0)
}

// Truth returns the value of true or false; ok is false for anything else.
func (r Ref) Truth() (value, ok bool) {
	t, i := r.look()
	if t == nil || t.nodes[i].kind != Bool {
		return false, false
	}
	return t.text(&t.nodes[i], r.File.Text) == "true", true
}

// Key returns the name under which the value stands in its object, or "".
func (r Ref) Key() string {
	t, i := r.look()
	if t == nil || t.nodes[i].key < 0 {
		return ""
	}
	return t.keys[t.nodes[i].key]
}

// Len returns how many members or items the value has.
func (r Ref) Len() int {
	count := 0
	for range r.Items() {
		count++
	}
	return count
}

// Items yields the members of an object or the items of an array, in file order.
// Of members with the same name all are yielded.
func (r Ref) Items() iter.Seq[Ref] {
	return func(yield func(Ref) bool) {
		t, index := r.look()
		if t == nil {
			return
		}
		n := &t.nodes[index]
		if n.kind != Array && n.kind != Object {
			return
		}
		if list := r.File.lists.at(n.start); list != nil {
			for _, item := range list.items {
				if !yield(Ref{r.File, ^int32(item.start)}) {
					return
				}
			}
			return
		}
		for i, end := index+1, n.more; i < end; i = t.behind(i) {
			item := Ref{r.File, i}
			if r.node < 0 {
				item.node = ^int32(t.nodes[i].start)
			}
			if !yield(item) {
				return
			}
		}
	}
}

// Get returns the member with that name; of several the last, as most readers do. A
// member that stands in another file, see [Ref.Lend], is found too.
func (r Ref) Get(name string) (Ref, bool) {
	var found Ref
	if r.Kind() == Object {
		for member := range r.Items() {
			if member.Key() == name {
				found = member
			}
		}
	}
	if found.File == nil && r.File != nil && r.File.lent != nil {
		found = r.File.lent[borrowedMember{r.node, name}]
	}
	return found, found.File != nil
}

// borrowedMember is a member that an object does not have in its own file.
type borrowedMember struct {
	object int32
	key    string
}

// Lend gives an object a member that stands in another file, where two files tell of
// one thing. [Ref.Get] finds it, so that its place is known; it is none of the Items,
// as nothing can be written for it here. It must not be called while others read.
func (r Ref) Lend(key string, member Ref) {
	if r.File.lent == nil {
		r.File.lent = map[borrowedMember]Ref{}
	}
	r.File.lent[borrowedMember{r.node, key}] = member
}

// Any returns the value as the plain Go values that a schema validator takes.
// Numbers out of range are given as 0: they are reported where they are read.
func (r Ref) Any() any {
	switch r.Kind() {
	case Bool:
		value, _ := r.Truth()
		return value
	case Number:
		value, ok := r.Float()
		if !ok {
			return 0.0
		}
		return value
	case String:
		return r.Str()
	case Array:
		items := []any{}
		for item := range r.Items() {
			items = append(items, item.Any())
		}
		return items
	case Object:
		members := map[string]any{}
		for member := range r.Items() {
			members[member.Key()] = member.Any()
		}
		return members
	default:
		return nil
	}
}

// Builder lays the values of a file on its tape, in reading order. Readers of
// formats other than JSON use it so that everything above sees one kind of tree.
type Builder struct {
	file *File
	open []int32
	ids  map[string]int32
	key  pendingKey

	texts map[string]int32 // those that are not in the file
}

type pendingKey struct {
	id          int32
	start, stop int
}

// NewBuilder starts the tree of a file, replacing any it had.
func NewBuilder(file *File) *Builder {
	file.tape, file.lists = tape{}, nil
	return &Builder{file: file, ids: map[string]int32{}, key: pendingKey{id: -1}, texts: map[string]int32{}}
}

// Key names the next value and says where the name stands.
func (b *Builder) Key(name string, start, stop int) {
	id, known := b.ids[name]
	if !known {
		id = int32(len(b.file.keys))
		b.file.keys = append(b.file.keys, name)
		b.ids[name] = id
	}
	b.key = pendingKey{id, start, stop}
}

// Scalar lays a value without parts. The text of a number is its JSON literal.
func (b *Builder) Scalar(kind Kind, text string, start, stop int) Ref {
	return b.add(kind, text, start, stop)
}

// Begin opens an object or array at the given offset.
func (b *Builder) Begin(kind Kind, start int) Ref {
	ref := b.add(kind, "", start, start)
	b.open = append(b.open, ref.node)
	return ref
}

// End closes what was opened last; stop is the offset behind it.
func (b *Builder) End(stop int) Ref {
	top := b.open[len(b.open)-1]
	b.open = b.open[:len(b.open)-1]
	n := &b.file.nodes[top]
	n.more, n.stop = int32(len(b.file.nodes)), uint32(stop)
	return Ref{b.file, top}
}

func (b *Builder) add(kind Kind, text string, start, stop int) Ref {
	parent := int32(-1)
	if len(b.open) > 0 {
		parent = b.open[len(b.open)-1]
	}
	index := int32(len(b.file.nodes))
	if len(b.file.nodes) == cap(b.file.nodes) {
		b.file.nodes = slices.Grow(b.file.nodes, max(64, len(b.file.nodes))) // twice as many: append would copy more often
	}
	b.file.nodes = append(b.file.nodes, node{
		kind: kind, parent: parent, more: b.where(text, start, stop),
		key: b.key.id, keyStart: uint32(b.key.start), keyStop: uint32(b.key.stop),
		start: uint32(start), stop: uint32(stop),
	})
	b.key = pendingKey{id: -1}
	return Ref{b.file, index}
}

// where says where a text is, and keeps one that is not in the file.
func (b *Builder) where(text string, start, stop int) int32 {
	if where, found := whereText(text, b.file.Text, start, stop); found {
		return where
	}
	where, known := b.texts[text]
	if !known {
		where = int32(len(b.file.texts))
		b.file.texts = append(b.file.texts, text)
		b.texts[text] = where
	}
	return where
}
