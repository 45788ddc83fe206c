package text

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

// sayBase says what changed since the base, and names what is new.
func (t *textWriter) sayBase(r *outcome.Report) {
	if r.Base == nil {
		return
	}
	for _, lost := range r.Base.Lost {
		t.styled("", unstyled, 0, lost, t.strong)
	}
	t.block("", 0, fmt.Sprintf("Against %s: %s. What is new, worse or no longer tellable counts for the exit code.", r.Base.Name, say.Counts(r.Base.Counts)))
	for _, note := range r.Base.Notes {
		t.block("", 0, note)
	}
	t.sayChange("New since "+r.Base.Name, r.Shows, &r.Base.Change)
}

// sayChange names what is new and worse, what can no longer be told and what is for
// somebody to look at.
func (t *textWriter) sayChange(heading string, shows []outcome.Show, c *outcome.Change) {
	in := func(state finding.BaseState) []*finding.Finding {
		return say.WorstFirst(shows, func(f *finding.Finding) bool {
			return f.Base == state && f.Accepted == nil && f.Verdict == finding.Fail
		})
	}
	t.someKinds(heading, in(finding.New))
	if worse := in(finding.Worse); len(worse) > 0 {
		t.heading("Worse")
		for i, f := range worse {
			if i == mostKinds {
				t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", say.Count(len(worse)-i, "finding")))
				break
			}
			t.line("")
			t.block("   -", labelAt, f.Message)
			t.label("change", say.Was(f))
			t.label("rule", fmt.Sprintf("%s (%s), %s", f.Rule, f.Level, f.Key()))
		}
	}
	if len(c.Dark) > 0 {
		t.heading("Could be checked before, and cannot be now")
		t.line("")
		for i, gap := range say.Dark(c.Dark) {
			if i == mostDark {
				t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", say.Count(len(say.Dark(c.Dark))-i, "reason")))
				break
			}
			t.block("   ?", labelAt, gap)
		}
	}
	if len(c.Review) > 0 {
		t.heading("For somebody to look at: what is judged, or how, has changed")
		t.line("")
		for i := range c.Review {
			t.block("   *", labelAt, c.Review[i].Text)
		}
	}
}

// mostDark is how many reasons for checks that went a person is told; the rest is counted.
const mostDark = 12

// someKinds writes findings under a heading, those of one rule together.
func (t *textWriter) someKinds(heading string, list []*finding.Finding) {
	if len(list) == 0 {
		return
	}
	t.line("")
	t.styled("", unstyled, 0, heading, t.strong)
	left := 0
	for i, group := range kinds(list) {
		if i >= mostKinds {
			left += len(group)
			continue
		}
		t.line("")
		t.decision(group)
	}
	if left > 0 {
		t.line("")
		t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", say.Count(left, "finding")))
	}
}
