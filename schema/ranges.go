package schema

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Ranges is channels in numeric order, each once, written as ranges: it takes as much
// room as it has gaps, however many channels it is.
type Ranges []span

// ParseRanges reads a selection such as "1-6,9": numbers and ranges, split by
// commas, semicolons or "+". Names of groups need a show ([Show.Channels]).
func ParseRanges(text string) (Ranges, error) {
	spans, err := parseSpans(text)
	return merged(spans), err
}

// Count returns how many channels there are.
func (r Ranges) Count() int {
	count := 0
	for _, s := range r {
		count += s.last - s.first + 1
	}
	return count
}

// First returns the first channels, at most so many.
func (r Ranges) First(most int) []int {
	if len(r) == 0 {
		return nil
	}
	channels := make([]int, 0, min(most, r.Count()))
	for _, s := range r {
		for c := s.first; c <= s.last; c++ {
			if len(channels) == most {
				return channels
			}
			channels = append(channels, c)
		}
	}
	return channels
}

// End returns the last channel of the range in which a channel stands; false if it
// stands in none.
func (r Ranges) End(channel int) (last int, ok bool) {
	i, _ := slices.BinarySearchFunc(r, channel, func(s span, c int) int { return s.last - c })
	if i < len(r) && r[i].first <= channel {
		return r[i].last, true
	}
	return 0, false
}

// Joined returns the channels of any of the lists.
func Joined(lists ...Ranges) Ranges { return merged(slices.Concat(lists...)) }

// String writes the channels the short way: "1-6, 9".
func (r Ranges) String() string {
	var parts []string
	for _, s := range r {
		switch s.last {
		case s.first:
			parts = append(parts, fmt.Sprint(s.first))
		case s.first + 1:
			parts = append(parts, fmt.Sprint(s.first), fmt.Sprint(s.last))
		default:
			parts = append(parts, fmt.Sprintf("%d-%d", s.first, s.last))
		}
	}
	return strings.Join(parts, ", ")
}

// without returns the channels that are not among the sorted ones.
func (r Ranges) without(sorted []int) Ranges {
	var left Ranges
	for _, s := range r {
		from, _ := slices.BinarySearch(sorted, s.first)
		next := s.first
		for ; from < len(sorted) && sorted[from] <= s.last; from++ {
			if sorted[from] > next {
				left = append(left, span{next, sorted[from] - 1})
			}
			next = sorted[from] + 1
		}
		if next <= s.last {
			left = append(left, span{next, s.last})
		}
	}
	return left
}

// merged puts spans in numeric order and joins those that touch.
func merged(spans []span) Ranges {
	spans = slices.Clone(spans)
	slices.SortFunc(spans, func(a, b span) int { return cmp.Compare(a.first, b.first) })
	var list Ranges
	for _, s := range spans {
		if n := len(list) - 1; n >= 0 && s.first <= list[n].last+1 {
			list[n].last = max(list[n].last, s.last)
			continue
		}
		list = append(list, s)
	}
	return list
}
