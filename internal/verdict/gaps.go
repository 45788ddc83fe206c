package verdict

import (
	"cmp"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// ByEye is what no program can see, for the end of every report.
var ByEye = []string{
	"Stand on each place, then sit in the house, and look up: no light should be in your eyes.",
	"Look at one face on the stream's own picture, not on a phone: skin first, then the background.",
	"Walk the room: exits, aisles and steps stay visible in the darkest cue.",
}

// Looked puts the tallies of rules into the order of their ids.
func Looked(tallies []finding.Tally) []finding.Tally {
	return slices.SortedFunc(slices.Values(tallies), func(a, b finding.Tally) int { return cmp.Compare(a.Rule, b.Rule) })
}

// Gaps gathers what is missing: from the findings that could not tell, and from
// the rules that had nothing to look at. A thing about which several rules could
// not tell counts once, and the same of several things is one gap. Those that would
// let us check most stand first.
func Gaps(found []finding.Finding, tallies []finding.Tally, set *rules.Set, files []*source.File) []outcome.Gap {
	g := gapList{index: map[string]int{}, counted: map[[2]string]bool{}, named: map[[2]string]bool{}}
	for i := range found {
		if f := &found[i]; f.Verdict == finding.Open && f.Accepted == nil {
			for thing, missing := range f.Gaps {
				for _, phrase := range missing {
					g.add(phrase, f.Rule, f.Consequence, kindOf(f), thing)
				}
			}
		}
	}
	for _, t := range tallies {
		rule, _ := set.Find(t.Rule)
		for _, phrase := range t.None {
			g.add(phrase, t.Rule, rule.Consequence, "", "")
		}
	}
	for i := range g.list {
		slices.Sort(g.list[i].Rules)
		slices.SortFunc(g.list[i].Each, func(a, b outcome.GapCount) int {
			return cmp.Or(cmp.Compare(a.Consequence, b.Consequence), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Kind, b.Kind))
		})
	}
	list := g.grouped()
	slices.SortStableFunc(list, mostUnlocked)
	write(list, files)
	return list
}

// gapList is gaps in the making, one for each form: of thousands of lamps each may want a phrase
// of its own.
type gapList struct {
	list    []formGap
	index   map[string]int     // by the form of the phrase
	counted map[[2]string]bool // phrase and subject, of phrases with a name
	named   map[[2]string]bool // form and name
}

// formGap is what is missing in phrases of one form.
type formGap struct {
	outcome.Gap // with the first of the phrases
	form        string
	names       []string        // of the things in them
	counted     map[string]bool // the subjects, where the phrase has no name
}

// add counts a missing piece against a rule and a subject, or "" if the rule had
// none to look at.
func (g *gapList) add(phrase, rule string, consequence finding.Consequence, kind, subject string) {
	form := finding.FormOf(phrase)
	index, known := g.index[form.Words]
	if !known {
		index = len(g.list)
		g.index[form.Words] = index
		g.list = append(g.list, formGap{Gap: outcome.Gap{Missing: phrase, Consequence: consequence}, form: form.Words})
	}
	gap := &g.list[index]
	if key := [2]string{gap.form, form.Name}; form.Name != "" && !g.named[key] {
		g.named[key] = true
		gap.names = append(gap.names, form.Name)
	}
	gap.Consequence = min(gap.Consequence, consequence)
	if !slices.Contains(gap.Rules, rule) {
		gap.Rules = append(gap.Rules, rule)
	}
	each := slices.IndexFunc(gap.Each, func(c outcome.GapCount) bool { return c.Rule == rule && c.Kind == kind })
	if each < 0 {
		each = len(gap.Each)
		gap.Each = append(gap.Each, outcome.GapCount{Rule: rule, Kind: kind, Consequence: consequence})
	}
	if subject != "" {
		gap.Each[each].Subjects++ // a rule has one finding about a thing
	}
	switch key := [2]string{phrase, subject}; {
	case subject == "":
	case form.Name != "" && !g.counted[key]:
		g.counted[key] = true
		gap.Subjects++
	case form.Name == "" && !gap.counted[subject]:
		if gap.counted == nil {
			gap.counted = map[string]bool{}
		}
		gap.counted[subject] = true
		gap.Subjects++
	}
}

// kindOf is the kind of the narrowest thing that a finding is about.
func kindOf(f *finding.Finding) string {
	if len(f.Subjects) == 0 {
		return "show"
	}
	return f.Subjects[0].Kind
}
