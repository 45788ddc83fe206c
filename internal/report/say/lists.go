package say

import (
	"cmp"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
)

// WorstFirst lists the findings of all shows that are wanted, by level, then by
// consequence, then as they stand.
func WorstFirst(shows []outcome.Show, wanted func(*finding.Finding) bool) []*finding.Finding {
	var list []*finding.Finding
	for i := range shows {
		for j := range shows[i].Findings {
			if f := &shows[i].Findings[j]; wanted(f) {
				list = append(list, f)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b *finding.Finding) int {
		return cmp.Or(cmp.Compare(Badness(a), Badness(b)), cmp.Compare(a.Consequence, b.Consequence))
	})
	return list
}

// Accepted lists the findings of a show that somebody accepted.
func Accepted(s *outcome.Show) []*finding.Finding {
	var list []*finding.Finding
	for i := range s.Findings {
		if s.Findings[i].Accepted != nil {
			list = append(list, &s.Findings[i])
		}
	}
	return list
}

// Span returns the lines and columns of a place, the end never before the
// start, whatever the place says; ok is false for a place in no file.
func Span(p source.Place) (span source.Span, ok bool) {
	if p.File == nil {
		return source.Span{}, false
	}
	p.Start = max(p.Start, 0)
	p.Stop = max(p.Start, p.Stop)
	return p.Span(), true
}

// Each makes a list of one kind out of a list of another. It is never nil,
// because null where a list belongs trips up those who read it.
func Each[T, U any](list []T, convert func(*T) U) []U {
	out := make([]U, len(list))
	for i := range list {
		out[i] = convert(&list[i])
	}
	return out
}

// Filled returns the list, or an empty one for none.
func Filled(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// Badness orders findings: failures by level, then what nobody could tell, then what is accepted.
func Badness(f *finding.Finding) int {
	if f.Accepted != nil {
		return len(finding.Levels) + 1
	}
	if f.Verdict == finding.Open {
		return len(finding.Levels)
	}
	return slices.Index(finding.Levels, finding.Level(LevelOf(f.Level)))
}

// LevelOf returns the level, or SARIF's own default for what is none.
func LevelOf(l finding.Level) string {
	if !slices.Contains(finding.Levels, l) {
		return string(finding.Warning)
	}
	return string(l)
}
