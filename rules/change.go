package rules

import (
	"maps"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
)

// Changes is what a house wants different about the rules.
type Changes struct {
	Limits map[string]map[string]NewLimit // by rule and limit
	Levels map[string]finding.Level       // by rule
	Off    map[string]bool                // rules that are not to look at all
}

// NewLimit is a number in the place of a rule's own, with where it comes from.
type NewLimit struct {
	Value  float64
	Source string
}

// With returns the rules with the changes made; the set itself stays as it is.
// Rules and limits that the set does not have are passed over: whoever read them
// from a file has said so.
//
// A changed limit decides what is right, what the report says, and what a remedy aims
// at: facts know no limit of their own.
func (s *Set) With(c Changes) *Set {
	changed := &Set{}
	for _, rule := range s.Rules {
		if c.Off[rule.ID] {
			continue
		}
		if level, ok := c.Levels[rule.ID]; ok || len(c.Limits[rule.ID]) > 0 {
			changedRule := *rule
			if ok {
				changedRule.Level, changedRule.Gravest, changedRule.graver = level, "", nil
			}
			changedRule.setLimits(c.Limits[rule.ID])
			rule = &changedRule
		}
		changed.Rules = append(changed.Rules, rule)
	}
	return changed
}

// setLimits gives a copied rule limits of its own.
func (r *Rule) setLimits(limits map[string]NewLimit) {
	r.limits, r.Limits = maps.Clone(r.limits), slices.Clone(r.Limits)
	for i := range r.Limits {
		if wanted, ok := limits[r.Limits[i].Name]; ok {
			own := r.Limits[i].Value
			r.limits[r.Limits[i].Name], r.Limits[i].Own = wanted.Value, &own
			r.Limits[i].Value, r.Limits[i].Source = wanted.Value, wanted.Source
		}
	}
}
