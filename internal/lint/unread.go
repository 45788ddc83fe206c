package lint

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// unread is what of the cue list could not be read, so that the looks from there on may
// be others than those that were measured: a cell, a line of a cue whose number is none,
// or a name of channels that nobody explains.
type unread struct {
	from   map[string]bool // the cues in which it may show
	cue    string          // the first of which something was lost, as it is written
	number bool            // a cue was lost whole, so that another may only seem to be missing
	blind  bool            // it was more than a slip: a whole cue, or every name of channels
	lost   []finding.Finding
}

// what says what was lost, behind "it rests on".
func (u *unread) what() string { return "what was not read of cue " + u.cue }

// unreadOf gathers what was lost of the cue list; nil if nothing was.
func unreadOf(files []finding.Finding, show *schema.Show) *unread {
	if show == nil {
		return nil
	}
	u := &unread{}
	first := len(show.Cues)
	index := map[string]int{}
	for i, cue := range slices.Backward(show.Cues) {
		index[cue.Number.String()] = i
	}
	for i := range files {
		f := &files[i]
		if f.Verdict != finding.Fail || f.Level != finding.Error || f.Accepted != nil || !strings.HasPrefix(f.Rule, "file/") {
			continue
		}
		at := slices.IndexFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == "cue" })
		if at < 0 || slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool { return s.Kind == "segment" }) {
			continue
		}
		cue, known := index[f.Subjects[at].Name]
		if !known {
			u.number = true
			cue = behind(show.Cues, f)
		}
		u.lost = append(u.lost, *f)
		u.blind = u.blind || u.number || strings.HasPrefix(f.Detail, "group/") && len(show.Groups) == 0
		if cue < first {
			first, u.cue = cue, f.Subjects[at].Name
		}
	}
	if u.cue == "" {
		return nil
	}
	u.from = map[string]bool{}
	for _, cue := range show.Cues[first:] {
		u.from[cue.Number.String()] = true
	}
	return u
}

// behind is the first cue that stands behind a place in its file, or else the first.
func behind(cues []*schema.Cue, f *finding.Finding) int {
	return max(0, slices.IndexFunc(cues, func(c *schema.Cue) bool {
		return c.At.File == f.Place.File && c.At.Start() > f.Place.Start
	}))
}

// hold makes likely what shows only from where a value was not read: with it, it may
// not be so. Where more than a slip was lost it makes it open: then a change would be
// made in the dark. What could hurt somebody stands as it was found.
func (u *unread) hold(found []finding.Finding) {
	if u == nil {
		return
	}
	lost := u.what()
	for i := range found {
		f := &found[i]
		start := u.number && f.Rule == "file/unknown-name" && strings.HasPrefix(f.Detail, "start_cue")
		if f.Verdict != finding.Fail || !start && (strings.HasPrefix(f.Rule, "file/") || strings.HasPrefix(f.Rule, "safety/") || !u.touches(f)) {
			continue
		}
		if !u.blind {
			f.Doubt(finding.Assumed, lost)
			continue
		}
		f.Verdict, f.Remedies, f.Amount = finding.Open, nil, nil
		f.Message = fmt.Sprintf("Could not tell. Without %s: %s", lost, f.Message)
		f.Missing = append(f.Missing, lost)
	}
}

// touches reports whether all cues of a finding come from where something was lost. One
// without cues is of the whole evening, so what was lost belongs to it.
func (u *unread) touches(f *finding.Finding) bool {
	for _, cue := range f.Cues {
		if !u.from[cue] {
			return false
		}
	}
	return len(f.Cues) > 0 || strings.HasPrefix(f.Rule, "dynamics/") || f.Rule == "patch/patched-never-used"
}

// writeAgain is the task that comes before orders which rest on what was not read: whoever follows
// them first changes a cue by what does not stand there. None where no order does.
func (u *unread) writeAgain(told *outcome.Show) []outcome.Order {
	if u == nil || len(told.Orders) == 0 {
		return nil
	}
	doubted := map[string]bool{}
	for i := range told.Findings {
		if f := &told.Findings[i]; slices.Contains(f.Rests, u.what()) {
			doubted[f.Key()] = true
		}
	}
	var orders []string
	for i := range told.Orders {
		if slices.ContainsFunc(told.Orders[i].Cures, func(key string) bool { return doubted[key] }) {
			orders = append(orders, fmt.Sprint(i+1))
		}
	}
	if len(orders) == 0 {
		return nil
	}
	first := &u.lost[0]
	cell, of := first.Message, "order "+orders[0]
	if len(orders) > 1 {
		of = "orders " + spelling.List(spelling.Shortened(orders, mostOrders, "%d more"))
	}
	if len(u.lost) > 1 {
		var others []string
		for i := range u.lost[1:] {
			what, _, _ := strings.Cut(u.lost[i+1].Message, "; wanted is ") // which the first says already
			others = append(others, strings.TrimSuffix(what, "."))
		}
		cell = fmt.Sprintf("%s Likewise: %s.", cell, spelling.List(spelling.Shortened(others, mostCells, "%d more")))
	}
	task := outcome.Order{
		Do:  fmt.Sprintf("Before %s, write what could not be read, and check again. %s", of, cell),
		Why: "What the orders change rests on it.", Effect: "The orders are those of the cues that there are.", Undo: "Nothing is changed in the light.",
		Consequence: first.Consequence, Level: first.Level, Rules: []string{first.Rule}, Place: first.Place,
		Where: outcome.Booth, Who: "whoever writes the cues", Minutes: outcome.Minutes{Least: 1, Most: 3}, First: true,
	}
	for i := range u.lost {
		task.Cures = append(task.Cures, u.lost[i].Key())
	}
	return []outcome.Order{task}
}

// How many numbers of orders and how many places beside the first a task names before it counts (common
// practice, no source).
const mostOrders, mostCells = 4, 2
