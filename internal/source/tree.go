package source

import (
	"iter"
	"math"
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

// node is one value on the flat tape of a file. Children follow their parent;
// end is the index behind the last of them, so a subtree is skipped in one step.
type node struct {
	kind              Kind
	parent, end       int32
	key               int32 // index into File.keys, or -1
	keyStart, keyStop uint32
	start, stop       uint32
	text              string // the text of a string; the literal of a number; "true" or "false"
}

// Kind returns what sort of value the reference names.
func (r Ref) Kind() Kind {
	if r.File == nil || len(r.File.nodes) == 0 {
		return Null
	}
	return r.File.nodes[r.node].kind
}

// Str returns the text of a string, the literal of a number, and "" for the rest.
func (r Ref) Str() string {
	if k := r.Kind(); k != String && k != Number {
		return ""
	}
	return r.File.nodes[r.node].text
}

// Float returns the value of a number; ok is false for anything else and for
// literals beyond the range of a float64.
func (r Ref) Float() (value float64, ok bool) {
	if r.Kind() != Number {
		return 0, false
	}
	value, err := strconv.ParseFloat(r.File.nodes[r.node].text, 64)
	return value, err == nil && !math.IsInf(value, 0)
}

// Truth returns the value of true or false; ok is false for anything else.
func (r Ref) Truth() (value, ok bool) {
	if r.Kind() != Bool {
		return false, false
	}
	return r.File.nodes[r.node].text == "true", true
}

// Key returns the name under which the value stands in its object, or "".
func (r Ref) Key() string {
	if r.File == nil || len(r.File.nodes) == 0 || r.File.nodes[r.node].key < 0 {
		return ""
	}
	return r.File.keys[r.File.nodes[r.node].key]
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
		if k := r.Kind(); k != Array && k != Object {
			return
		}
		for i, end := r.node+1, r.File.nodes[r.node].end; i < end; i = r.File.nodes[i].end {
			if !yield(Ref{r.File, i}) {
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
		found = r.File.lent[lent{r.node, name}]
	}
	return found, found.File != nil
}

// lent is a member that an object does not have in its own file.
type lent struct {
	object int32
	key    string
}

// Lend gives an object a member that stands in another file, where two files tell of
// one thing. [Ref.Get] finds it, so that its place is known; it is none of the Items,
// as nothing can be written for it here. It must not be called while others read.
func (r Ref) Lend(key string, member Ref) {
	if r.File.lent == nil {
		r.File.lent = map[lent]Ref{}
	}
	r.File.lent[lent{r.node, key}] = member
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
}

type pendingKey struct {
	id          int32
	start, stop int
}

// NewBuilder starts the tree of a file, replacing any it had.
func NewBuilder(file *File) *Builder {
	file.nodes, file.keys = nil, nil
	return &Builder{file: file, ids: map[string]int32{}, key: pendingKey{id: -1}}
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
	n.end, n.stop = int32(len(b.file.nodes)), uint32(stop)
	return Ref{b.file, top}
}

func (b *Builder) add(kind Kind, text string, start, stop int) Ref {
	parent := int32(-1)
	if len(b.open) > 0 {
		parent = b.open[len(b.open)-1]
	}
	index := int32(len(b.file.nodes))
	b.file.nodes = append(b.file.nodes, node{
		kind: kind, parent: parent, end: index + 1,
		key: b.key.id, keyStart: uint32(b.key.start), keyStop: uint32(b.key.stop),
		start: uint32(start), stop: uint32(stop), text: text,
	})
	b.key = pendingKey{id: -1}
	return Ref{b.file, index}
}
