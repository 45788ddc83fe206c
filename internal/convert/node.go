package convert

import (
	"encoding/json"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// node is a value that is written.
type node struct {
	kind        source.Kind
	key         string
	text        string // as of [source.Ref.Str]; "true" or "false"
	kids        []*node
	from        source.Ref // where it was read; zero for what is ours
	start, stop int        // in the text that was printed last, with its key
}

// copied copies a value with all that is in it. Of members with one name the last
// counts, as when it was read.
func copied(ref source.Ref) *node {
	n := &node{kind: ref.Kind(), key: ref.Key(), text: ref.Str(), from: ref}
	if truth, ok := ref.Truth(); ok {
		n.text = "false"
		if truth {
			n.text = "true"
		}
	}
	for item := range ref.Items() {
		kid := copied(item)
		if n.kind == source.Object {
			n.drop(kid.key)
		}
		n.kids = append(n.kids, kid)
	}
	return n
}

// plain reports whether all members of an object are names of something else, so that
// none of ours can stand among them.
func (n *node) plain() bool { return n.key == "known" || n.key == "mix" || n.key == "mix_part" }

func (n *node) get(key string) *node {
	for _, k := range n.kids {
		if k.key == key {
			return k
		}
	}
	return nil
}

func (n *node) put(k *node) { n.kids = append(n.kids, k) }

func (n *node) drop(key string) {
	n.kids = slices.DeleteFunc(n.kids, func(k *node) bool { return k.key == key })
}

// replace puts a member where one of that name is, or behind all.
func (n *node) replace(k *node) {
	for i := range n.kids {
		if n.kids[i].key == k.key {
			n.kids[i] = k
			return
		}
	}
	n.put(k)
}

// clean takes out what is marked, and what has nothing left in it then.
func (n *node) clean(gone map[*node]bool) {
	n.kids = slices.DeleteFunc(n.kids, func(k *node) bool { return gone[k] })
	for _, k := range n.kids {
		k.clean(gone)
	}
}

// document is a file that is written.
type document struct {
	root *node
	text string
}

// width is how long a line may get before a list or an object is broken up.
const width = 120

// print writes the file anew: what fits into a line is one, so that a fixture or a
// setting is a line of a difference.
func (d *document) print() {
	p := printer{}
	p.value(d.root, 0)
	p.b.WriteByte('\n')
	d.text = p.b.String()
}

// at returns the smallest value at an offset.
func (d *document) at(offset int) *node {
	n := d.root
	for {
		i := slices.IndexFunc(n.kids, func(k *node) bool { return k.start <= offset && offset < k.stop })
		if i < 0 {
			return n
		}
		n = n.kids[i]
	}
}

type printer struct{ b strings.Builder }

func quoted(text string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(text); err != nil {
		return `""` // a text is always written
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func (p *printer) value(n *node, indent int) {
	switch n.kind {
	case source.String:
		p.b.WriteString(quoted(n.text))
	case source.Number, source.Bool:
		p.b.WriteString(n.text)
	case source.Null:
		p.b.WriteString("null")
	default:
		p.list(n, indent)
	}
}

var marks = map[source.Kind][2]string{source.Object: {"{", "}"}, source.Array: {"[", "]"}}

func (p *printer) list(n *node, indent int) {
	open, end := marks[n.kind][0], marks[n.kind][1]
	if len(n.kids) == 0 {
		p.b.WriteString(open + end)
		return
	}
	broken := n.length(width-2*indent) < 0 || indent == 0 && n.kind == source.Array
	blank := ""
	if n.kind == source.Object {
		blank = " "
	}
	p.b.WriteString(open)
	for i, k := range n.kids {
		if i > 0 {
			p.b.WriteByte(',')
		}
		switch {
		case broken:
			p.b.WriteString("\n" + strings.Repeat("  ", indent+1))
		case i > 0:
			p.b.WriteByte(' ')
		default:
			p.b.WriteString(blank)
		}
		k.start = p.b.Len()
		if n.kind == source.Object {
			p.b.WriteString(quoted(k.key) + ": ")
		}
		p.value(k, indent+1)
		k.stop = p.b.Len()
	}
	if broken {
		p.b.WriteString("\n" + strings.Repeat("  ", indent))
	} else {
		p.b.WriteString(blank)
	}
	p.b.WriteString(end)
}

// length is how much of a line a value needs, or -1 for more than there is.
func (n *node) length(most int) int {
	size := 2
	switch n.kind {
	case source.String:
		size = len(quoted(n.text))
	case source.Number, source.Bool:
		size = len(n.text)
	case source.Null:
		size = 4
	default:
		for _, k := range n.kids {
			size += 2
			if n.kind == source.Object {
				size += len(quoted(k.key)) + 2
			}
			inside := k.length(most - size)
			if inside < 0 {
				return -1
			}
			size += inside
		}
	}
	if size > most {
		return -1
	}
	return size
}
