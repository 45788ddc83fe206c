package lint

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/plan"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// staleBy are the readings of a show that were taken in a light that steps make another.
func staleBy(start *schema.Show, steps []plan.Step) []*schema.Reading {
	if len(steps) == 0 || start == nil || len(start.Readings) == 0 {
		return nil
	}
	var edits []source.Edit
	for _, s := range steps {
		edits = append(edits, s.Lighting()...)
	}
	after, err := schema.Apply(start, edits)
	if err != nil { // they rest on what is only written otherwise
		after = steps[len(steps)-1].After.Show
	}
	return calibrate.Stale(start, after)
}

// wheres says where readings were taken.
func wheres(readings []*schema.Reading) (list []string) {
	for _, r := range readings {
		list = append(list, calibrate.Where(r))
	}
	return list
}

// mostMeasured is how many places a task names before it counts (common practice, no source).
const mostMeasured = 3

// measureAgain asks for readings in the light that orders make, where a meter was held in the
// one before them; nothing where there are none.
func measureAgain(stale []string) []outcome.Order {
	if len(stale) == 0 {
		return nil
	}
	what := "the reading there was"
	if len(stale) > 1 {
		what = "the readings there were"
	}
	return []outcome.Order{{
		Do:  fmt.Sprintf("When the orders are done, measure again %s: %s taken before them.", spelling.List(spelling.Shortened(stale, mostMeasured, "at %d more")), what),
		Why: "An order changes the light in which a meter was held.", Effect: "The numbers are those of the light that there is then.",
		Undo: "Nothing is changed in the show.", Consequence: finding.Later, Level: finding.Note, Rules: []string{"file/reading-differs"},
		Where: outcome.Stage, Who: "whoever has the meter",
	}}
}
