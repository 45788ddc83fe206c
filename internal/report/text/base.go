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
	t.block("", 0, fmt.Sprintf("Against %s: %s. Only what is new counts for the exit code.", r.Base.Name, say.Counts(r.Base.Counts)))
	for _, note := range r.Base.Notes {
		t.block("", 0, note)
	}
	list := say.WorstFirst(r.Shows, func(f *finding.Finding) bool {
		return f.Base == finding.New && f.Accepted == nil && f.Verdict == finding.Fail
	})
	t.someKinds("New since "+r.Base.Name, list)
}

// someKinds writes findings under a heading, those of one rule together.
func (t *textWriter) someKinds(heading string, list []*finding.Finding) {
	if len(list) == 0 {
		return
	}
	values := make([]finding.Finding, len(list))
	for i, f := range list {
		values[i] = *f
	}
	t.line("")
	t.styled("", unstyled, 0, heading, t.strong)
	left := 0
	for i, group := range kinds(values) {
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
