package match

import (
	"reflect"
	"strconv"
	"testing"
)

// Two looks may be one where half of what their channels do is the same, or a fifth of it under one title.
func TestRelated(t *testing.T) {
	for _, c := range []struct {
		title string
		same  int // of ten parts
		want  bool
	}{{"", 5, true}, {"", 4, false}, {"Verse", 4, true}, {"Verse", 2, true}, {"Verse", 1, false}} {
		was := Thing{Title: c.title, Sketch: []uint16{1, 1, 1, 1, 1, 1, 1, 1, 1, 1}}
		now := Thing{Title: c.title, Sketch: []uint16{2, 2, 2, 2, 2, 2, 2, 2, 2, 2}}
		copy(now.Sketch, was.Sketch[:c.same])
		if got := related(&was, &now); got != c.want {
			t.Errorf("with %d parts of ten and the title %q they may be one: %v", c.same, c.title, got)
		}
	}
	if was := (Thing{Title: "Verse", Sketch: []uint16{1, 1, 1, 1}}); related(&was, &Thing{Title: "Chorus", Sketch: []uint16{1, 2, 2, 2}}) {
		t.Error("a quarter is enough under another title")
	}
}

// What is left out is left out of a thing and of what it is made of, and not of another thing that it names.
func TestDeep(t *testing.T) {
	type Base struct{ Level, White int }
	type other struct{ Level int }
	got := deep(reflect.ValueOf(struct {
		Base
		Rest   other
		Level  int
		List   []other
		hidden int
	}{Base{1, 2}, other{3}, 4, []other{{5}}, 6}), []string{"Level"})
	if want := "Base=White=2;;Rest=Level=3;;List=Level=5;,;"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// What is paired already does not count any more, wherever it stands in its list, and what has no key is paired with nothing.
func TestUniqueAmongWhatIsLeft(t *testing.T) {
	was := []Thing{{Name: "a", Exact: 1}, {Name: "b", Exact: 2}, {Name: "c", Exact: 3}, {Name: "d"}, {Name: "e", Exact: 1}}
	now := []Thing{{Name: "v", Exact: 3}, {Name: "w", Exact: 1}, {Name: "x", Exact: 2}, {Name: "y"}, {Name: "z", Exact: 2}}
	for _, c := range []struct {
		paired [][2]int
		want   []int
	}{
		{nil, []int{-1, -1, 0, -1, -1}}, {[][2]int{{0, 2}}, []int{2, 4, 0, -1, 1}}, {[][2]int{{0, 0}}, []int{0, -1, -1, -1, 1}}, {[][2]int{{4, 4}}, []int{1, 2, 0, -1, 4}},
	} {
		s := newSides(was, now)
		for _, p := range c.paired {
			s.pair(p[0], p[1], ByName)
		}
		unique(s, ByContent, false, func(t *Thing) uint64 { return t.Exact })
		if !reflect.DeepEqual(s.to, c.want) {
			t.Errorf("with %v paired they are paired %v, want %v", c.paired, s.to, c.want)
		}
	}
}

// TestHowManyLooksAreHeldAgainstEachOther: 2,000 on each side of which none is as it was, and one is found again; with one
// more that would take too long.
func TestHowManyLooksAreHeldAgainstEachOther(t *testing.T) {
	for n, want := range map[int]int{2000: 7, 2001: -1} {
		was, now := make([]Thing, 2000), make([]Thing, n)
		for i := range was {
			was[i].Name = strconv.Itoa(i)
		}
		for j := range now {
			now[j].Name = strconv.Itoa(j)
		}
		was[1234].Sketch, now[7].Sketch = []uint16{1}, []uint16{1}
		s := newSides(was, now)
		if s.byLikeness(); s.to[1234] != want {
			t.Errorf("of 2000 and %d looks one is found again at %d, not at %d", n, s.to[1234], want)
		}
	}
}
