package say

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/outcome"
)

// Receipt says on one line what was checked: "" for a report that was made by hand.
func Receipt(s *outcome.Show) string {
	r := s.Receipt
	if r == nil {
		return ""
	}
	line := fmt.Sprintf("Receipt %s: %s on %s, %s", r.Number, r.Verdict, r.Day, Count(len(r.Files), "file"))
	if len(r.Orders) > 0 {
		line += ", " + Count(len(r.Orders), "order") + " given"
	}
	return fmt.Sprintf("%s, rules of edition %d (%s), cueproof %s.", line, r.Edition, r.Rules, r.Version)
}
