package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// Base is how the shows of a report stand against an earlier state of them. Each
// finding says itself whether it is new ([finding.Finding.Base]).
type Base struct {
	Name   string // of the earlier show or report, as it was named
	Counts compare.Counts
	Gone   []compare.Past // what was there and is no more
	Notes  []string       // what the numbers leave open
}

// sayBase says what changed since the base, and names what is new.
func (t *textWriter) sayBase(r *Report) {
	if r.Base == nil {
		return
	}
	t.block("", 0, fmt.Sprintf("Against %s: %s. Only what is new counts for the exit code.", r.Base.Name, r.Base.Counts))
	for _, note := range r.Base.Notes {
		t.block("", 0, note)
	}
	list := worstFirst(r.Shows, func(f *finding.Finding) bool {
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
		t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", count(left, "finding")))
	}
}

// worstFirst lists the findings of all shows that are wanted, by level, then by
// consequence, then as they stand.
func worstFirst(shows []Show, wanted func(*finding.Finding) bool) []*finding.Finding {
	var list []*finding.Finding
	for i := range shows {
		for j := range shows[i].Findings {
			if f := &shows[i].Findings[j]; wanted(f) {
				list = append(list, f)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b *finding.Finding) int {
		return cmp.Or(cmp.Compare(badness(a), badness(b)), cmp.Compare(a.Consequence, b.Consequence))
	})
	return list
}

type jsonBase struct {
	Name     string     `json:"name"`
	New      int        `json:"new"`
	Fixed    int        `json:"fixed"`
	AsBefore int        `json:"as_before"`
	Untold   int        `json:"untold"`
	Gone     []jsonPast `json:"gone"`
	Notes    []string   `json:"notes"`
}

type jsonPast struct {
	Key         string          `json:"key"`
	Fingerprint string          `json:"fingerprint"`
	Rule        string          `json:"rule"`
	Level       finding.Level   `json:"level"`
	Verdict     finding.Verdict `json:"verdict"`
	Message     string          `json:"message"`
	Untold      bool            `json:"untold"`
	Accepted    bool            `json:"accepted"`
	Place       *jsonPlace      `json:"place,omitempty"`
}

func jsonBaseOf(b *Base) *jsonBase {
	if b == nil {
		return nil
	}
	return &jsonBase{
		Name: b.Name, New: b.Counts.New, Fixed: b.Counts.Fixed, AsBefore: b.Counts.Before, Untold: b.Counts.Untold,
		Gone: each(b.Gone, jsonPastOf), Notes: filled(b.Notes),
	}
}

func jsonPastOf(p *compare.Past) jsonPast {
	return jsonPast{p.Key, p.Fingerprint, p.Rule, p.Level, p.Verdict, p.Message, p.Untold, p.Accepted, placeOfPast(p)}
}

func placeOfPast(p *compare.Past) *jsonPlace {
	if p.File == "" {
		return nil
	}
	return &jsonPlace{p.File, p.Span.Start.Line, p.Span.Start.Column, p.Span.End.Line, p.Span.End.Column}
}

// baselineState is what SARIF wants on every result of a log or on none.
func (s *sarifWriter) baselineState(f *finding.Finding) string {
	switch {
	case s.report.Base == nil:
		return ""
	case f.Base == "":
		return string(finding.New)
	}
	return string(f.Base)
}

// absent makes a result of a finding that is gone, from what the base kept of it.
func (s *sarifWriter) absent(past *compare.Past, fingerprint string) sarifResult {
	message := period(s.prose(cmp.Or(past.Message, past.Rule)))
	if past.Untold {
		message += "\nNobody can tell any more whether it is still so."
	}
	result := sarifResult{
		RuleID: ruleID(past.Rule), RuleIndex: s.rules[ruleID(past.Rule)], Kind: "fail", Level: sarifLevel(past.Level),
		BaselineState:       "absent",
		Message:             sarifText{Text: strings.Join([]string{message, "Key: " + s.prose(past.Key) + "."}, "\n")},
		PartialFingerprints: map[string]string{sarifFingerprint: fingerprint},
		Properties: sarifResultExtra{
			Key: s.oneLine(past.Key), Consequence: past.Consequence.String(),
			Cues: []string{}, Measured: []jsonEvidence{}, Limits: []jsonEvidence{}, Missing: []string{},
		},
	}
	if past.Verdict == finding.Open {
		result.Kind, result.Level = "open", "none"
	}
	at := sarifPhysical{Region: sarifRegion{1, 1, 1, 1}}
	switch {
	case past.File != "":
		at.ArtifactLocation = s.artifact(&source.File{Name: past.File}, "")
		at.Region = sarifRegion{
			max(1, past.Span.Start.Line), max(1, past.Span.Start.Column), max(1, past.Span.End.Line), max(1, past.Span.End.Column),
		}
	case len(s.report.Shows) > 0:
		at = s.physical(&s.report.Shows[0], source.Place{})
	}
	result.Locations = []sarifLocation{{PhysicalLocation: at, LogicalLocations: s.logical(past.Subjects)}}
	if s.accepts {
		result.Suppressions = &sarifSuppressed{}
		if past.Accepted {
			result.Suppressions = &sarifSuppressed{{Kind: "external", Status: "accepted", Justification: "It was accepted in the base of this comparison."}}
		}
	}
	return result
}
