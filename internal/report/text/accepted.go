package text

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

// accepted counts what a waiver accepts, and tells in full what could hurt
// somebody: that is never out of sight, whoever decided to live with it.
func (t *textWriter) accepted(s *outcome.Show) {
	list := say.Accepted(s)
	if len(list) == 0 {
		return
	}
	t.heading("Accepted, so not counted")
	t.line("")
	unsaid := 0
	for _, f := range list {
		if f.Consequence != finding.Hurt || f.Verdict != finding.Fail {
			unsaid++
			continue
		}
		t.block("   -", labelAt, f.Message)
		t.whereOf(f)
		t.label("accepted", acceptanceLine(f.Accepted))
		t.label("caution", t.rules[f.Rule].Caution)
		t.label("rule", fmt.Sprintf("%s (%s), %s", f.Rule, f.Level, f.Key()))
	}
	switch {
	case unsaid == len(list):
		t.block("   -", labelAt, say.Count(unsaid, "finding")+" accepted; --format json lists who accepted what, and why.")
	case unsaid > 0:
		t.block("   -", labelAt, say.Count(unsaid, "more finding")+" accepted; --format json lists who accepted what, and why.")
	}
}

// acceptanceLine says a decision in a sentence.
func acceptanceLine(a *finding.Acceptance) string {
	line := fmt.Sprintf("%s (%s", say.Period(a.Reason), a.By)
	if a.Until != "" && a.Until != "never" {
		line += ", until " + a.Until
	}
	if a.WrittenFor != "" {
		line += "; the waiver says " + a.WrittenFor + ", which is called otherwise by now"
	}
	return line + ")"
}
