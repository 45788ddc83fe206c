// Package verdict has the first and the last word about a show: READY or not, what
// could not be told, and what only a person can decide.
//
// In go what was found and how often each rule looked; a newcomer's mistake would
// be to call a show ready because nothing was found in it: nothing may have looked.
package verdict

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/schema"
)

// needed are the sections without which there is no show to check.
var needed = []string{"patch", "cues"}

// Of is the first word about a show, and why. It cannot lie: a show of
// which nothing was looked at is NOT CHECKED whatever else is said of it; READY
// needs that no failure is left above a note, that every rule that matters
// could tell, and that nothing of it turns with what is only assumed.
func Of(told *outcome.Show, show *schema.Show) (outcome.Verdict, string) {
	if told.Unreadable {
		return outcome.NotChecked, "A file of the show could not be read, so what follows is not the whole show."
	}
	if missing := emptySections(show); len(missing) > 0 {
		return outcome.NotChecked, fmt.Sprintf("There is nothing to check in the %s of this show.", strings.Join(missing, " and the "))
	}
	counts := map[finding.Level]int{}
	graveGaps, notesOpen, likely := 0, 0, 0
	for _, f := range told.Findings {
		switch {
		case f.Accepted != nil: // told, and not counted
		case f.Verdict == finding.Fail && f.Likely && f.Level != finding.Note:
			likely++ // it may not be so: nobody is to be stopped for it
		case f.Verdict == finding.Fail:
			counts[f.Level]++
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
	switch {
	case subjects == 0:
		return outcome.NotChecked, "No rule found anything in this show to look at."
	case counts[finding.Error] > 0:
		return outcome.Hold, fmt.Sprintf("%s before doors.", must(counts[finding.Error]))
	case counts[finding.Warning] > 0:
		return outcome.WithCare, fmt.Sprintf("Nothing stops the service; %s.", worth(counts[finding.Warning]))
	case likely > 0:
		return outcome.WithCare, fmt.Sprintf("Nothing is wrong for sure; %s with numbers that nobody has read yet.", isLikely(likely))
	case len(told.Assumed) > 0:
		return outcome.WithCare, "Nothing wrong was found, but that rests on numbers that nobody has read yet: " + strings.Join(told.Assumed[:min(len(told.Assumed), 2)], ", ") + "."
	case graveGaps > 0:
		return outcome.WithCare, "Nothing wrong was found, but not everything could be checked."
	case counts[finding.Note]+notesOpen > 0:
		return outcome.Ready, "Every rule that matters looked at everything it should; what is left are notes."
	default:
		return outcome.Ready, "Every rule looked at everything it should, and nothing was found."
	}
}

func must(count int) string {
	if count == 1 {
		return "1 thing has to be put right"
	}
	return fmt.Sprintf("%d things have to be put right", count)
}

func worth(count int) string {
	if count == 1 {
		return "1 thing is worth a change"
	}
	return fmt.Sprintf("%d things are worth a change", count)
}

func isLikely(count int) string {
	if count == 1 {
		return "1 thing is likely to be,"
	}
	return fmt.Sprintf("%d things are likely to be,", count)
}

// emptySections names the needed sections that hold nothing.
func emptySections(show *schema.Show) []string {
	var missing []string
	for _, section := range needed {
		empty := show == nil || section == "patch" && len(show.Patch) == 0 || section == "cues" && len(show.Cues) == 0
		if empty {
			missing = append(missing, map[string]string{"patch": "patch list", "cues": "cue list"}[section])
		}
	}
	return missing
}

// NeedPerson returns the failures that no proved change clears, gravest first.
func NeedPerson(found []finding.Finding, cured map[string]bool) []finding.Finding {
	var list []finding.Finding
	for _, f := range finding.Gravest(found) {
		if !cured[f.Identity()] {
			list = append(list, f)
		}
	}
	return list
}
