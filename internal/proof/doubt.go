package proof

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema/typical"
)

// Doubt asks of what a show says what a rule asks of how it is worked out (a dimmer
// curve that nobody names): whether the verdict holds over all that may be so. All
// rules look at the shows that this one may be if what is inferred or assumed in it is
// not quite right. What they find in each of them is sure. What some of them do not
// find is likely, and says what it rests on. Of what could hurt somebody or keep a lamp
// from listening, and of nothing else, what only some of them find comes back as an
// open finding: it is not to be trusted until somebody has looked. turns lists, as
// phrases behind "this rests on", all that may turn a verdict.
func (s *State) Doubt(set *rules.Set) (open []finding.Finding, turns []string) {
	now := map[string]int{}
	for i := range s.Found {
		now[s.Found[i].Identity()] = i
	}
	may := map[string]bool{} // open findings that were added, by identity
	for _, doubt := range typical.Doubts(s.Show) {
		turned := false
		for _, show := range doubt.Shows {
			other := map[string]bool{}
			state := s.of(show, set, nil)
			for i := range state.Found {
				f := state.Found[i]
				id := f.Identity()
				other[id] = f.Verdict == finding.Fail
				if f.Verdict != finding.Fail {
					continue
				}
				_, before := now[id]
				if !before && f.Level.AtLeast(finding.Warning) {
					turned = true
				}
				if !before && grave(f.Rule) && !may[id] {
					may[id] = true
					state.Tell(set, f.Rule)
					open = append(open, untrusted(state.Found[i], doubt))
				}
			}
			for id, i := range now {
				f := &s.Found[i]
				if f.Verdict != finding.Fail || other[id] {
					continue
				}
				turned = true
				f.Doubt(doubt.Known, doubt.Rests)
			}
		}
		if turned {
			turns = append(turns, doubt.Rests)
		}
	}
	for i := range s.Found {
		if f := &s.Found[i]; f.Likely && len(f.Rests) > 0 && grave(f.Rule) {
			f.Message += " It is not to be trusted until somebody has looked."
		}
	}
	return open, turns
}

// grave reports whether a rule is about what could hurt somebody, or what does not
// work at all.
func grave(rule string) bool {
	return strings.HasPrefix(rule, "safety/") || strings.HasPrefix(rule, "patch/")
}

// untrusted is the open finding for what would be wrong if an assumption is.
func untrusted(f finding.Finding, doubt typical.Doubt) finding.Finding {
	f.Verdict, f.Remedies, f.Amount, f.Binding = finding.Open, nil, nil, false
	f.Missing = []string{doubt.Give}
	f.Known, f.Rests, f.Likely = doubt.Known, []string{doubt.Rests}, true
	f.Message = fmt.Sprintf("Nothing is wrong with the numbers of now, but they are not to be trusted until %s is known: it may also be so that %s", doubt.Give, spelling.Small(f.Message))
	return f
}
