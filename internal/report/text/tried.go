package text

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
)

// undone lists the changes for which there is no time, by what happens without them.
func (t *textWriter) undone(s *outcome.Show) {
	if s.Minutes <= 0 {
		return
	}
	within := fmt.Sprintf("%s minutes", say.Minutes(outcome.Minutes{Least: s.Minutes, Most: s.Minutes}))
	if s.Minutes == 1 {
		within = "1 minute"
	}
	if len(s.Undone) == 0 {
		if len(s.Orders) > 0 {
			t.line("")
			t.block("", labelAt, fmt.Sprintf("All changes above fit into %s.", within))
		}
		return
	}
	t.heading(fmt.Sprintf("What stays undone in %s", within))
	last := s.Undone[0].Consequence - 1
	for _, action := range s.Undone {
		if action.Consequence != last {
			last = action.Consequence
			t.line("")
			t.line("So " + last.Sentence() + ":")
			t.line("")
		}
		t.block("   -", labelAt, action.Do+say.InBrackets(action.Minutes))
	}
}

// tried says what became of the corrected copy.
func (t *textWriter) tried(tried *outcome.Trial) {
	if tried == nil {
		return
	}
	t.heading("The corrected copy")
	t.line("")
	t.block("   -", labelAt, triedWords(tried))
	if stale := staleWords(tried, len(tried.Stale)); stale != "" {
		t.block("   -", labelAt, stale)
	}
	for _, text := range tried.LeftOut {
		t.block("   -", labelAt, "Left out: "+text+".")
	}
}

func triedWords(tried *outcome.Trial) string {
	if tried.Changes == 0 && len(tried.LeftOut) > 0 {
		return fmt.Sprintf("No order can be written into these files, so %s was not made: what is to be done is done by hand.", tried.Folder)
	}
	if tried.Changes == 0 {
		return fmt.Sprintf("There is no change to write, so %s was not made.", tried.Folder)
	}
	return fmt.Sprintf("%s has %s. It was read again and all rules looked: %s gone, and nothing came that was not said.",
		tried.Folder, say.Count(tried.Changes, "change"), say.Count(tried.Cleared, "finding is", "findings are"))
}

// staleWords says which readings are not in a copy, and why, and names at most so many.
func staleWords(tried *outcome.Trial, most int) string {
	if len(tried.Stale) == 0 {
		return ""
	}
	is := "is"
	if len(tried.Stale) > 1 {
		is = "are"
	}
	return fmt.Sprintf("%s taken before these changes and %s not in it: measure again %s.", say.Count(len(tried.Stale), "reading was", "readings were"), is, spelling.List(spelling.Shortened(tried.Stale, most, "at %d more")))
}
