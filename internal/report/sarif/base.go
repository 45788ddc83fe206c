package sarif

import (
	"cmp"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
)

// baselineState is what SARIF wants on every result of a log or on none (2.1.0,
// section 3.27.24, from memory): it has one word for what is better and what is worse.
func (s *sarifWriter) baselineState(f *finding.Finding) string {
	switch {
	case s.report.Base == nil:
		return ""
	case f.Base == finding.Unchanged:
		return "unchanged"
	case f.Base == finding.Worse, f.Base == finding.Better, f.Base == finding.Untold:
		return "updated"
	}
	return "new"
}

// absent makes a result of a finding that is gone, from what the base kept of it.
func (s *sarifWriter) absent(past *outcome.Past, fingerprint string) sarifResult {
	message := say.Period(s.prose(cmp.Or(past.Message, past.Rule)))
	if past.Review != "" {
		message += "\nIt was not put right: its rule is off, its limit is another, or it is meant."
	}
	if past.Untold {
		message += "\nNobody can tell any more whether it is still so."
	}
	result := sarifResult{
		RuleID: ruleID(past.Rule), RuleIndex: s.rules[ruleID(past.Rule)], Kind: "fail", Level: say.LevelOf(past.Level),
		BaselineState:       "absent",
		Message:             sarifText{Text: strings.Join([]string{message, "Key: " + s.prose(past.Key) + "."}, "\n")},
		PartialFingerprints: map[string]string{sarifFingerprint: fingerprint},
		Properties: sarifResultExtra{
			Key: s.oneLine(past.Key), Consequence: past.Consequence.String(),
			Cues: []string{}, Measured: []say.Evidence{}, Limits: []say.Evidence{}, Missing: []string{},
		},
	}
	if past.Verdict == finding.Open {
		result.Kind, result.Level = "open", "none"
	}
	var at sarifPhysical
	if past.File != "" {
		at.ArtifactLocation = s.artifact(&source.File{Name: past.File}, "")
		at.Region = sarifRegion{
			max(1, past.Span.Start.Line), max(1, past.Span.Start.Column), max(1, past.Span.End.Line), max(1, past.Span.End.Column),
		}
	} else {
		at = s.physical(&s.report.Shows[0], source.Place{}) // a run is of one show at least
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
