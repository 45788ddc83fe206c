// Package match says which cue, segment, place or fixture of one state of a show is
// which of another, whatever they are called by then.
//
// In go two shows as lists of things ([Of]), out come pairs ([Pair]): from a name of
// then to the name of now, with a word for how it was seen. Things are paired in
// passes, the surest evidence first, and only where nothing else could be meant: one
// to one, with no second candidate. What is told by content comes before what is told
// by name, because a cue that was put in pushes the numbers of all that follow. A
// newcomer's mistake would be to pair what is merely likely: what is left over is
// gone and new, which is a nuisance; a wrong pair hides a fault.
package match

import (
	"slices"
)

// Thing is something that findings name, as far as its like can be recognised.
// Names may be hashes of names: they are only held against each other.
type Thing struct {
	Name   string
	Title  string   // of a cue: what it is called beside its number
	Exact  uint64   // all of its content; 0 where there is none to tell by
	Core   uint64   // the part of it that seldom changes, such as where it stands; 0 for none
	Sketch []uint16 // of a cue: what its channels do, so that a share of it can be held against another
	In     string   // of a cue: the name of its segment, or ""
}

// Things are the things of a show by kind, in the words of findings; cues in the
// order of their numbers, segments in that of the running order.
type Things map[string][]Thing

// How a pair was seen, in words that reports print.
const (
	ByName     = "name"     // called the same, and nothing speaks against it
	ByContent  = "content"  // the same content, and no other thing has it
	ByPosition = "position" // between neighbours that are the same
	ByLevels   = "levels"   // more like it than any other, by what its channels do
	ByCues     = "cues"     // its cues are those of the other
)

// Link is what became of a thing.
type Link struct {
	Name string // now
	How  string
}

// Pairs says of the things of then what they are now, and the other way round.
type Pairs struct {
	now  map[string]map[string]Link // by kind and name of then
	then map[string]map[string]Link // by kind and name of now
	old  map[string]map[string]bool // the names that can be paired
	new  map[string]map[string]bool
}

// Now returns the name of now for a thing of then. Where there never was such a
// thing, as for a name that leads nowhere, or where several have the name, it is
// called as it was; ok is false for a thing that is no more or that nobody could tell
// from others.
func (p *Pairs) Now(kind, name string) (link Link, ok bool) { return look(p.now, p.old, kind, name) }

// Then returns the name of then for a thing of now; ok is false for one that is new.
func (p *Pairs) Then(kind, name string) (link Link, ok bool) { return look(p.then, p.new, kind, name) }

func look(links map[string]map[string]Link, known map[string]map[string]bool, kind, name string) (Link, bool) {
	kind = KindOf(kind)
	if kind == "show" { // there is one, whatever it is called this week
		return Link{"", ByName}, true
	}
	if !known[kind][name] {
		return Link{name, ByName}, true
	}
	link, ok := links[kind][name]
	return link, ok
}

// KindOf is the kind under which things of a kind of subject are listed.
func KindOf(subject string) string {
	if subject == "surface" {
		return "screen"
	}
	return subject
}

// Pair pairs the things of two states of a show.
func Pair(then, now Things) *Pairs {
	p := &Pairs{
		now: map[string]map[string]Link{}, then: map[string]map[string]Link{},
		old: map[string]map[string]bool{}, new: map[string]map[string]bool{},
	}
	cues := newSides(then["cue"], now["cue"])
	cues.cues()
	for kind := range both(then, now) {
		s := newSides(then[kind], now[kind])
		switch kind {
		case "cue":
			s = cues
		case "segment":
			s.segments(cues)
		default:
			s.plain()
		}
		p.now[kind], p.then[kind] = map[string]Link{}, map[string]Link{}
		p.old[kind], p.new[kind] = names(s.old), names(s.new)
		for i, j := range s.to {
			if j >= 0 {
				p.now[kind][s.old[i].Name] = Link{s.new[j].Name, s.how[i]}
				p.then[kind][s.new[j].Name] = Link{s.old[i].Name, s.how[i]}
			}
		}
	}
	return p
}

func names(list []Thing) map[string]bool {
	all := make(map[string]bool, len(list))
	for i := range list {
		all[list[i].Name] = true
	}
	return all
}

func both(a, b Things) map[string]bool {
	kinds := map[string]bool{}
	for kind := range a {
		kinds[kind] = true
	}
	for kind := range b {
		kinds[kind] = true
	}
	return kinds
}

// sides are the things of one kind on both sides while they are paired.
type sides struct {
	old, new []Thing
	to, from []int    // the other one, or -1
	how      []string // of each old one that is paired
	sure     []bool   // of each old one: by content that no other has
}

// newSides leaves out all things of a name that stands twice on one of the sides:
// nobody can tell which of them a finding is about, so their name is all there is.
func newSides(old, now []Thing) *sides {
	twice := map[string]bool{}
	for _, list := range [][]Thing{old, now} {
		seen := map[string]bool{}
		for i := range list {
			twice[list[i].Name] = twice[list[i].Name] || seen[list[i].Name]
			seen[list[i].Name] = true
		}
	}
	once := func(list []Thing) []Thing {
		return slices.DeleteFunc(slices.Clone(list), func(t Thing) bool { return twice[t.Name] })
	}
	s := &sides{old: once(old), new: once(now)}
	s.to, s.from = make([]int, len(s.old)), make([]int, len(s.new))
	s.how, s.sure = make([]string, len(s.old)), make([]bool, len(s.old))
	for i := range s.to {
		s.to[i] = -1
	}
	for j := range s.from {
		s.from[j] = -1
	}
	return s
}

func (s *sides) pair(i, j int, how string) {
	if s.old[i].Name == s.new[j].Name {
		how = ByName
	}
	s.to[i], s.from[j], s.how[i] = j, i, how
}

// unique pairs what has a key that stands once on each side among what is left; the
// zero key is none.
func unique[K comparable](s *sides, how string, sure bool, key func(*Thing) K) {
	var none K
	count := func(list []Thing, other []int) map[K]int {
		at := map[K]int{}
		for i := range list {
			if other[i] >= 0 {
				continue
			}
			if k := key(&list[i]); k != none {
				if _, twice := at[k]; twice {
					at[k] = -1
				} else {
					at[k] = i
				}
			}
		}
		return at
	}
	now := count(s.new, s.from)
	for k, i := range count(s.old, s.to) {
		if j, there := now[k]; there && i >= 0 && j >= 0 {
			s.pair(i, j, how)
			s.sure[i] = sure
		}
	}
}

type nameAnd struct {
	name    string
	content uint64
}

// plain pairs things that are told by their own content: what is called the same and
// is the same; what has a content that no other has, so that two that changed names
// are seen; what stands where no other does; and what is called the same.
func (s *sides) plain() {
	unique(s, ByName, true, func(t *Thing) nameAnd { return nameAnd{t.Name, t.Exact} })
	unique(s, ByContent, true, func(t *Thing) uint64 { return rich(t, t.Exact) })
	unique(s, ByContent, true, func(t *Thing) uint64 { return t.Core })
	unique(s, ByName, false, func(t *Thing) string { return t.Name })
}

// rich is a content that is worth more than a name: one of a thing that also has what
// seldom changes.
func rich(t *Thing, content uint64) uint64 {
	if t.Core == 0 {
		return 0
	}
	return content
}

// segments pairs segments by the cues that are surely the same, then by name, then by
// content, then by what stands between the same neighbours.
func (s *sides) segments(cues *sides) {
	s.byCues(cues, true)
	unique(s, ByName, false, func(t *Thing) string { return t.Name })
	s.byCues(cues, false)
	unique(s, ByContent, false, func(t *Thing) uint64 { return t.Exact })
	s.between(func(i, j int) bool { return s.old[i].Core == s.new[j].Core })
}

// byCues pairs the segments of which more than half of the paired cues are in the
// other, both ways.
func (s *sides) byCues(cues *sides, sure bool) {
	at := func(list []Thing) map[string]int {
		index := map[string]int{}
		for i := range list {
			index[list[i].Name] = i
		}
		return index
	}
	then, now := at(s.old), at(s.new)
	type pair struct{ i, j int }
	votes := map[pair]int{}
	ofOld, ofNew := map[int]int{}, map[int]int{}
	for i, j := range cues.to {
		if j < 0 || sure && !cues.sure[i] {
			continue
		}
		a, okA := then[cues.old[i].In]
		b, okB := now[cues.new[j].In]
		if okA {
			ofOld[a]++
		}
		if okB {
			ofNew[b]++
		}
		if okA && okB {
			votes[pair{a, b}]++
		}
	}
	for p, n := range votes {
		if 2*n > ofOld[p.i] && 2*n > ofNew[p.j] && s.to[p.i] < 0 && s.from[p.j] < 0 {
			s.pair(p.i, p.j, ByCues)
		}
	}
}

// between pairs what stands between two pairs of neighbours (or an end) with as many
// things on both sides, in order, if all of them are alike.
func (s *sides) between(alike func(i, j int) bool) {
	for i := 0; i < len(s.old); {
		if s.to[i] >= 0 {
			i++
			continue
		}
		end := i
		for end < len(s.old) && s.to[end] < 0 {
			end++
		}
		before, after := -1, len(s.new)
		if i > 0 {
			before = s.to[i-1]
		}
		if end < len(s.old) {
			after = s.to[end]
		}
		fits := after-before-1 == end-i
		for k := i; fits && k < end; k++ {
			j := before + 1 + k - i
			fits = s.from[j] < 0 && alike(k, j)
		}
		if fits {
			for k := i; k < end; k++ {
				s.pair(k, before+1+k-i, ByPosition)
			}
		}
		i = end
	}
}
