package say

import (
	"cmp"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
)

// Cure is the order of a show that clears a finding, or nil.
func Cure(s *outcome.Show, f *finding.Finding) *outcome.Order {
	key := f.Key()
	for i := range s.Orders {
		o := &s.Orders[i]
		if slices.Contains(o.Cures, key) && slices.Contains(o.Rules, f.Rule) {
			return o
		}
	}
	return nil
}

// ToChange is the line that has to change for a finding, and what to do there: those
// of the order that clears it, or else where it was found and what a person can do.
func ToChange(s *outcome.Show, f *finding.Finding) (at source.Place, do string) {
	if o := Cure(s, f); o != nil {
		if o.Place.File != nil {
			return o.Place, o.Do
		}
		return f.Place, o.Do
	}
	return f.Place, f.Hint
}

// FileOf names the file of a place, or the first of a show.
func FileOf(s *outcome.Show, p source.Place) string {
	if p.File != nil {
		return p.File.Name
	}
	if len(s.Files) > 0 {
		return s.Files[0].Name
	}
	return cmp.Or(s.Path, s.Name)
}
