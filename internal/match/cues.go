package match

import "slices"

// How alike two looks have to be: chosen on shows of ours, no source. A sketch of 64
// parts estimates a share to about 0.06 (the root of 0.5 * 0.5 / 64).
const (
	alike  = 0.5 // share of what channels do that is the same in two looks that may be one
	margin = 0.2 // by how much the second best has to be worse
	akin   = 0.2 // as little as this is enough where name and neighbours say the same
)

// mostTries is how many pairs of looks are held against each other at most: that of
// 2,000 cues of which none is as it was, both ways.
const mostTries = 8_000_000

type titleKey struct {
	title string
	exact uint64
}

// cues pairs cues: what has the same content and title, and the same content; what
// repeats, in order between neighbours and then by number; what has a title of its
// own; what is more alike than any other; what stands between the same neighbours;
// and what has the same number where its neighbours kept theirs.
func (s *sides) cues() {
	unique(s, ByContent, true, func(t *Thing) titleKey {
		if t.Exact == 0 || t.Title == "" {
			return titleKey{}
		}
		return titleKey{t.Title, t.Exact}
	})
	unique(s, ByContent, true, func(t *Thing) uint64 { return t.Exact })
	same := func(i, j int) bool { return s.old[i].Exact == s.new[j].Exact && s.old[i].Exact != 0 }
	s.between(func(i, j int) bool { return same(i, j) && s.old[i].Title == s.new[j].Title })
	s.between(same)
	unique(s, ByName, false, func(t *Thing) nameAnd { return nameAnd{t.Name, t.Exact} })
	s.byTitle()
	s.byLikeness()
	s.between(func(i, j int) bool { return related(&s.old[i], &s.new[j]) })
	s.byNumber()
}

// related reports whether two looks may be one that was changed.
func related(a, b *Thing) bool {
	like := likeness(a, b)
	return like >= alike || sameTitle(a, b) && like >= akin
}

func sameTitle(a, b *Thing) bool { return a.Title != "" && a.Title == b.Title }

// byTitle pairs cues of a title that stands once in the whole of each list.
func (s *sides) byTitle() {
	times := func(list []Thing) map[string]int {
		n := map[string]int{}
		for i := range list {
			n[list[i].Title]++
		}
		return n
	}
	then, now := times(s.old), times(s.new)
	at := map[string]int{}
	for j := range s.new {
		at[s.new[j].Title] = j
	}
	for i := range s.old {
		title := s.old[i].Title
		if s.to[i] >= 0 || title == "" || then[title] != 1 || now[title] != 1 {
			continue
		}
		j := at[title]
		if s.from[j] < 0 && (s.old[i].Name == s.new[j].Name || likeness(&s.old[i], &s.new[j]) >= akin) {
			s.pair(i, j, ByLevels)
		}
	}
}

// byLikeness pairs looks that are each other's best, by a margin over all others, also
// over those that are paired already: one of two refrains may be either.
func (s *sides) byLikeness() {
	left, right := 0, 0
	for _, j := range s.to {
		if j < 0 {
			left++
		}
	}
	for _, i := range s.from {
		if i < 0 {
			right++
		}
	}
	if left == 0 || right == 0 || left*len(s.new)+right*len(s.old) > mostTries {
		return
	}
	like := func(i, j int) float64 {
		if sameTitle(&s.old[i], &s.new[j]) {
			return likeness(&s.old[i], &s.new[j]) + margin
		}
		return likeness(&s.old[i], &s.new[j])
	}
	back := make([]int, len(s.new))
	for j := range s.new {
		if back[j] = -1; s.from[j] < 0 {
			back[j] = clearly(len(s.old), func(i int) float64 { return like(i, j) })
		}
	}
	for i := range s.old {
		if s.to[i] >= 0 {
			continue
		}
		if j := clearly(len(s.new), func(j int) float64 { return like(i, j) }); j >= 0 && s.from[j] < 0 && back[j] == i {
			s.pair(i, j, ByLevels)
		}
	}
}

// clearly returns which of n is alike and better than all others by the margin, or -1.
func clearly(n int, like func(int) float64) int {
	at, first, second := -1, 0.0, 0.0
	for k := range n {
		if l := like(k); l > first {
			at, first, second = k, l, first
		} else if l > second {
			second = l
		}
	}
	if first < alike || first-second < margin {
		return -1
	}
	return at
}

// byNumber pairs what has the same number, where the next pairs before and behind
// have kept theirs: elsewhere a number says nothing. Where both lists have the same
// numbers, a look of another kind is the same cue too: it was made anew.
func (s *sides) byNumber() {
	at := map[string]int{}
	for j := range s.new {
		at[s.new[j].Name] = j
	}
	kept := func(i, step int) bool {
		for i += step; i >= 0 && i < len(s.old); i += step {
			if j := s.to[i]; j >= 0 {
				return s.old[i].Name == s.new[j].Name
			}
		}
		return true
	}
	all := len(s.old) == len(s.new) && !slices.ContainsFunc(s.old, func(t Thing) bool { _, there := at[t.Name]; return !there })
	type pair struct{ i, j int }
	var found []pair
	for i := range s.old {
		j, there := at[s.old[i].Name]
		if s.to[i] < 0 && there && s.from[j] < 0 && kept(i, -1) && kept(i, +1) && (all || related(&s.old[i], &s.new[j])) {
			found = append(found, pair{i, j})
		}
	}
	for _, p := range found {
		s.pair(p.i, p.j, ByName)
	}
}

// likeness is the share of what the channels of two looks do that is the same, as
// their sketches estimate it: of the parts that are not empty in both, those that are
// equal (Li, Owen and Zhang, 2012). Looks of which nothing is known are different.
func likeness(a, b *Thing) float64 {
	if len(a.Sketch) != len(b.Sketch) {
		return 0
	}
	equal, parts := 0, 0
	for k := range a.Sketch {
		if a.Sketch[k] == 0 && b.Sketch[k] == 0 {
			continue
		}
		parts++
		if a.Sketch[k] == b.Sketch[k] {
			equal++
		}
	}
	return float64(equal) / float64(max(1, parts))
}
