// Package verdict has the first and the last word about a show: READY or not, what
// could not be told, and what only a person can decide.
//
// In go what was found and how often each rule looked; a newcomer's mistake would
// be to call a show ready because nothing was found in it: nothing may have looked.
package verdict

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// needed are the sections without which there is no show to check.
var needed = []string{"patch", "cues"}

// Of is the first word about a show, and why. It cannot lie: a show of which nothing
// was looked at is NOT CHECKED, and so is one of which a third of the rules or fewer
// could look at anything, unless an error is certain; READY needs that no failure is
// left above a note, that every rule that matters could tell, and that nothing of it
// turns with what is only assumed.
func Of(told *outcome.Show, show *schema.Show) (outcome.Readiness, string) {
	if told.Unreadable {
		return outcome.NotChecked, "A file of the show could not be read, so what follows is not the whole show."
	}
	counts := map[finding.Level]int{}
	graveGaps, notesOpen, likely, byRules := 0, 0, 0, 0
	for _, f := range told.Findings {
		switch {
		case f.Accepted != nil: // told, and not counted
		case f.Verdict == finding.Fail && f.Likely && f.Level != finding.Note:
			likely++ // it may not be so: nobody is to be stopped for it
		case f.Verdict == finding.Fail:
			counts[f.Level]++
			if f.Level == finding.Error && !strings.HasPrefix(f.Rule, "file/") {
				byRules++
			}
		case f.Level == finding.Note:
			notesOpen++
		default:
			graveGaps++
		}
	}
	subjects := 0
	for _, look := range told.Looked {
		subjects += look.Subjects
		if len(look.None) > 0 {
			graveGaps++
		}
	}
	could, all := Could(told.Looked)
	looked := fmt.Sprintf("%d of %d rules could look.", could, all)
	if could == all {
		looked = fmt.Sprintf("All %d rules could look.", all)
	}
	missing := emptySections(told, show)
	switch {
	case counts[finding.Error] > 0 && len(missing) == 0 && subjects > 0, byRules > 0: // a patch alone can be wrong for sure
		return outcome.Hold, fmt.Sprintf("%s to be put right before doors. %s", spelling.Count(counts[finding.Error], "finding has", "findings have"), looked)
	case len(missing) > 0:
		return outcome.NotChecked, fmt.Sprintf("This show has no %s, so its light cannot be worked out.", strings.Join(missing, " and no "))
	case subjects == 0:
		return outcome.NotChecked, "No rule found anything in this show to look at."
	case 3*could <= all && graveGaps > 0:
		return outcome.NotChecked, "Only " + looked
	case counts[finding.Warning] > 0:
		return outcome.WithCare, fmt.Sprintf("Nothing stops the service; %s worth a change. %s", spelling.Count(counts[finding.Warning], "finding is", "findings are"), looked)
	case likely > 0:
		return outcome.WithCare, fmt.Sprintf("Nothing is wrong for sure; %s likely, with numbers that nobody has read yet. %s", spelling.Count(likely, "finding is", "findings are"), looked)
	case len(told.Assumed) > 0:
		return outcome.WithCare, "Nothing wrong was found, but that rests on numbers that nobody has read yet: " + strings.Join(told.Assumed[:min(len(told.Assumed), 2)], ", ") + ". " + looked
	case graveGaps > 0:
		return outcome.WithCare, "Nothing wrong was found, but not everything could be checked. " + looked
	case counts[finding.Note]+notesOpen > 0:
		return outcome.Ready, "Every rule that matters looked at everything it should; what is left are notes."
	default:
		return outcome.Ready, "Every rule looked at everything it should, and nothing was found."
	}
}

// Could counts the rules that could look: at something of which they could tell, or
// at a show that has nothing of their kind and need not have.
func Could(looked []finding.Tally) (could, all int) {
	for _, look := range looked {
		if look.Subjects > look.Open || look.Subjects == 0 && len(look.None) == 0 {
			could++
		}
	}
	return could, len(looked)
}

// emptySections names the needed sections that hold nothing. Groups are needed where half of the cues or more name some.
func emptySections(told *outcome.Show, show *schema.Show) []string {
	var missing []string
	for _, section := range needed {
		empty := show == nil || section == "patch" && len(show.Patch) == 0 || section == "cues" && len(show.Cues) == 0
		if empty {
			missing = append(missing, map[string]string{"patch": "patch list", "cues": "cue list"}[section])
		}
	}
	if show != nil && len(show.Cues) > 0 && len(show.Groups) == 0 {
		cues := map[string]bool{}
		for i := range told.Findings {
			if f := &told.Findings[i]; f.Rule == "file/unknown-name" && f.Verdict == finding.Fail && strings.HasPrefix(f.Detail, "group/") && len(f.Subjects) > 1 {
				cues[f.Subjects[1].Name] = true
			}
		}
		if 2*len(cues) >= len(show.Cues) {
			missing = append(missing, "groups, though its cues name some")
		}
	}
	return missing
}

// NeedPerson returns the failures that no proved change clears, gravest first.
func NeedPerson(found []finding.Finding, cured map[string]bool) []*finding.Finding {
	return slices.DeleteFunc(finding.GravestOf(found), func(f *finding.Finding) bool { return cured[f.Identity()] })
}
