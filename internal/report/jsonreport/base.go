package jsonreport

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

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

func jsonBaseOf(b *outcome.Base) *jsonBase {
	if b == nil {
		return nil
	}
	return &jsonBase{
		Name: b.Name, New: b.Counts.New, Fixed: b.Counts.Fixed, AsBefore: b.Counts.Before, Untold: b.Counts.Untold,
		Gone: say.Each(b.Gone, jsonPastOf), Notes: say.Filled(b.Notes),
	}
}

func jsonPastOf(p *outcome.Past) jsonPast {
	return jsonPast{p.Key, p.Fingerprint, p.Rule, p.Level, p.Verdict, p.Message, p.Untold, p.Accepted, placeOfPast(p)}
}

func placeOfPast(p *outcome.Past) *jsonPlace {
	if p.File == "" {
		return nil
	}
	return &jsonPlace{p.File, p.Span.Start.Line, p.Span.Start.Column, p.Span.End.Line, p.Span.End.Column}
}
