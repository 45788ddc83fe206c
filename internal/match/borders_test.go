package match_test

import (
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/match"
)

// TestWhatIsPaired: cues are written as name, title and content; looks of another content
// have nothing in common.
func TestWhatIsPaired(t *testing.T) {
	type look struct {
		name, title string
		content     uint64
	}
	for _, c := range []struct {
		about    string
		old, new []look
		want     map[string]string // of old names; what is not in it is gone
	}{
		{"a title and number that stand once", []look{{"1", "Opening", 1}}, []look{{"1", "Opening", 2}, {"2", "", 3}}, map[string]string{"1": "1"}},
		{"a title that stands twice now", []look{{"1", "Opening", 1}}, []look{{"1", "Opening", 2}, {"2", "Opening", 3}}, nil},
		{"a title that stood twice", []look{{"1", "Opening", 1}, {"2", "Opening", 2}}, []look{{"1", "Opening", 3}}, nil},
		{"no title is no title of its own", []look{{"1", "", 1}}, []look{{"1", "", 2}, {"2", "Song", 3}}, nil},
		{"a title and number that something else has", []look{{"2", "Opening", 5}}, []look{{"1", "Song", 5}, {"2", "Opening", 6}}, map[string]string{"2": "1"}},
		{"titles that changed places", []look{{"1", "Verse", 1}, {"2", "Chorus", 1}}, []look{{"1", "Chorus", 1}, {"2", "Verse", 1}}, map[string]string{"1": "2", "2": "1"}},
		{"no title does not tell two that look alike apart", []look{{"1", "", 5}, {"2", "Verse", 5}}, []look{{"1", "Chorus", 5}, {"2", "", 5}}, map[string]string{"1": "1", "2": "2"}},
		{"no content is none of its own", []look{{"1", "Opening", 0}}, []look{{"2", "Opening", 0}}, nil},
		{"a number between neighbours that kept theirs", []look{{"1", "", 1}, {"2", "", 2}, {"3", "", 3}}, []look{{"1", "", 1}, {"2", "", 4}, {"3", "", 3}}, map[string]string{"1": "1", "2": "2", "3": "3"}},
		{"a number behind a neighbour that moved", []look{{"1", "", 1}, {"2", "", 2}, {"3", "", 3}}, []look{{"1", "", 4}, {"2", "", 1}, {"3", "", 5}}, map[string]string{"1": "2"}},
	} {
		of := func(looks []look) match.Things {
			var list []match.Thing
			for _, l := range looks {
				list = append(list, match.Thing{Name: l.name, Title: l.title, Exact: l.content, Sketch: []uint16{uint16(l.content)}})
			}
			return match.Things{"cue": list}
		}
		pairs := match.Pair(of(c.old), of(c.new))
		for _, l := range c.old {
			link, ok := pairs.Now("cue", l.name)
			if want, there := c.want[l.name]; ok != there || ok && link.Name != want {
				t.Errorf("%s: cue %s is %q (%t) now, and should be %q (%t)", c.about, l.name, link.Name, ok, want, there)
			}
		}
	}
}

// TestLooksThatWereChanged: half of what channels do has to be the same, a fifth where the titles are, and of two that may be it
// one has to be more like it by a fifth.
func TestLooksThatWereChanged(t *testing.T) {
	sketch := func(parts, same int, other uint16) []uint16 {
		list := make([]uint16, parts)
		for k := range list {
			if list[k] = 1; k >= same {
				list[k] = other
			}
		}
		return list
	}
	for _, c := range []struct {
		about string
		parts int
		title string
		same  []int // parts of each look of now that are as they were
		gone  bool  // the other parts are empty now; else they do something else
		want  string
	}{
		{"half of it", 10, "", []int{5}, false, "a"}, {"less than half of it", 10, "", []int{4}, false, ""},
		{"half of it, and the rest is dark", 10, "", []int{5}, true, "a"}, {"less than half of it, and the rest is dark", 10, "", []int{4}, true, ""},
		{"a fifth under its title", 10, "Verse", []int{2}, false, "a"}, {"less under its title", 10, "Verse", []int{1}, false, ""},
		{"one that is more like it", 9, "", []int{5, 7}, false, "b"}, {"one that is hardly more like it", 9, "", []int{6, 7}, false, ""},
	} {
		then := match.Things{"cue": {{Name: "1", Title: c.title, Exact: 1, Sketch: sketch(c.parts, c.parts, 0)}}}
		now := match.Things{}
		for i, same := range c.same {
			other := uint16(i + 2)
			if c.gone {
				other = 0
			}
			now["cue"] = append(now["cue"], match.Thing{Name: string(rune('a' + i)), Title: c.title, Exact: uint64(i + 2), Sketch: sketch(c.parts, same, other)})
		}
		link, ok := match.Pair(then, now).Now("cue", "1")
		if ok != (c.want != "") || link.Name != c.want {
			t.Errorf("%s: it is %q (%t), and should be %q", c.about, link.Name, ok, c.want)
		}
	}
}

// TestALookBetweenItsNeighbours is one that was changed where half of what channels do is the same, though another is nearly as
// much like it.
func TestALookBetweenItsNeighbours(t *testing.T) {
	sketch := func(same int, other uint16) []uint16 { // of what look 2 was
		list := make([]uint16, 10)
		for k := range list {
			if list[k] = 1; k >= same {
				list[k] = other
			}
		}
		return list
	}
	for same, want := range map[int]bool{5: true, 4: false} {
		then := match.Things{"cue": {{Name: "1", Exact: 1, Sketch: sketch(4, 8)}, {Name: "2", Exact: 2, Sketch: sketch(10, 1)}, {Name: "3", Exact: 3, Sketch: sketch(0, 9)}}}
		now := match.Things{"cue": {{Name: "a", Exact: 1, Sketch: sketch(4, 8)}, {Name: "b", Exact: 20, Sketch: sketch(same, 7)}, {Name: "c", Exact: 3, Sketch: sketch(0, 9)}}}
		if link, ok := match.Pair(then, now).Now("cue", "2"); ok != want || ok && link != (match.Link{Name: "b", How: match.ByPosition}) {
			t.Errorf("%d parts of 10: %v, %t", same, link, ok)
		}
	}
}

// TestASegmentIsToldByMostOfItsCues: more than half of the cues of both.
func TestASegmentIsToldByMostOfItsCues(t *testing.T) {
	of := func(segment string, others uint64, cues ...uint64) match.Things {
		things := match.Things{"segment": {{Name: segment, Exact: others, Core: others}, {Name: "the rest " + segment, Exact: others + 1, Core: others + 1}}}
		for _, c := range []uint64{1, 2, 3} {
			in := "the rest " + segment
			for _, own := range cues {
				if own == c {
					in = segment
				}
			}
			things["cue"] = append(things["cue"], match.Thing{Name: string(rune('0' + c)), Exact: c, Sketch: []uint16{uint16(c)}, In: in})
		}
		return things
	}
	for _, c := range []struct {
		old, new []uint64
		same     bool
	}{
		{[]uint64{1, 2, 3}, []uint64{1, 2, 3}, true},
		{[]uint64{1, 2, 3}, []uint64{1, 2}, true},
		{[]uint64{1, 2}, []uint64{2, 3}, false}, // half
		{[]uint64{1, 2, 3}, []uint64{1}, false},
	} {
		link, ok := match.Pair(of("a", 10, c.old...), of("b", 20, c.new...)).Now("segment", "a")
		if told := ok && link == (match.Link{Name: "b", How: match.ByCues}); told != c.same {
			t.Errorf("cues %v and %v: %v (%t), and should be the same: %t", c.old, c.new, link, ok, c.same)
		}
	}
}

// TestASegmentIsPairedOnce: cues that stand once come before those that repeat, on either side.
func TestASegmentIsPairedOnce(t *testing.T) {
	of := func(segments ...string) match.Things {
		things := match.Things{}
		for i, in := range segments {
			content := uint64(1)
			if i > 0 {
				content = 9 // a refrain
			}
			things["cue"] = append(things["cue"], match.Thing{Name: string(rune('1' + i)), Exact: content, Sketch: []uint16{uint16(content)}, In: in})
			things["segment"] = append(things["segment"], match.Thing{Name: in, Exact: uint64(in[0]), Core: uint64(in[0])})
		}
		things["segment"] = slices.CompactFunc(things["segment"], func(a, b match.Thing) bool { return a.Name == b.Name })
		return things
	}
	two, one := of("A", "B", "B", "B"), of("X", "X", "X", "X")
	if link, ok := match.Pair(two, one).Now("segment", "A"); !ok || link.Name != "X" {
		t.Errorf("A is %v (%t)", link, ok)
	}
	if link, ok := match.Pair(two, one).Now("segment", "B"); ok {
		t.Errorf("B is %v", link)
	}
	if link, ok := match.Pair(one, two).Now("segment", "X"); !ok || link.Name != "A" {
		t.Errorf("X is %v (%t)", link, ok)
	}
}
