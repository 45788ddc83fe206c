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
	jsonChanged
}

// jsonChanged is what a comparison has beside the findings and what is gone.
type jsonChanged struct {
	Worse   int          `json:"worse"`
	Better  int          `json:"better"`
	Unfixed int          `json:"gone_by_change"`
	Dark    []jsonDark   `json:"dark"`
	Lost    []string     `json:"lost"`
	Review  []jsonReview `json:"review"`
}

type jsonDark struct {
	Rule  string   `json:"rule"`
	About []string `json:"about"`
	Why   string   `json:"why"`
}

type jsonReview struct {
	What  string     `json:"what"`
	Text  string     `json:"text"`
	Place *jsonPlace `json:"place,omitempty"`
}

func jsonChangedOf(c *outcome.Change) jsonChanged {
	return jsonChanged{
		Worse: c.Counts.Worse, Better: c.Counts.Better, Unfixed: c.Counts.Review, Lost: say.Filled(c.Lost),
		Dark:   say.Each(c.Dark, func(d *outcome.Dark) jsonDark { return jsonDark{d.Rule, say.Filled(d.About), d.Why} }),
		Review: say.Each(c.Review, func(r *outcome.Review) jsonReview { return jsonReview{r.What, r.Text, jsonPlaceOf(r.Place)} }),
	}
}

// jsonBefore is a finding as it was in the base.
type jsonBefore struct {
	Key    string       `json:"key"`
	Amount *say.Amount  `json:"amount,omitempty"`
	More   []string     `json:"more_cues"`
	Now    []jsonRename `json:"renamed"`
}

type jsonRename struct {
	Kind string `json:"kind"`
	Was  string `json:"was"`
	Is   string `json:"is"`
	How  string `json:"how"`
}

func jsonBeforeOf(b *finding.Before) *jsonBefore {
	if b == nil {
		return nil
	}
	return &jsonBefore{
		b.Key, say.AmountOf(b.Amount), say.Filled(b.More),
		say.Each(b.Now, func(r *finding.Rename) jsonRename { return jsonRename{r.Kind, r.Was, r.Is, r.How} }),
	}
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
	Because     string          `json:"because,omitempty"`
	Place       *jsonPlace      `json:"place,omitempty"`
}

func jsonBaseOf(b *outcome.Base) *jsonBase {
	if b == nil {
		return nil
	}
	return &jsonBase{
		Name: b.Name, New: b.Counts.New, Fixed: b.Counts.Fixed, AsBefore: b.Counts.Before, Untold: b.Counts.Untold,
		Gone: say.Each(b.Gone, jsonPastOf), Notes: say.Filled(b.Notes),
		jsonChanged: jsonChangedOf(&b.Change),
	}
}

func jsonPastOf(p *outcome.Past) jsonPast {
	return jsonPast{p.Key, p.Fingerprint, p.Rule, p.Level, p.Verdict, p.Message, p.Untold, p.Accepted, string(p.Review), placeOfPast(p)}
}

func placeOfPast(p *outcome.Past) *jsonPlace {
	if p.File == "" {
		return nil
	}
	return &jsonPlace{p.File, p.Span.Start.Line, p.Span.Start.Column, p.Span.End.Line, p.Span.End.Column}
}
