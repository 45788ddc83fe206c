// Package jsonreport writes reports and comparisons as JSON, in the shape that
// schema/findings.schema.json describes. Within one shape members are only added.
package jsonreport

import (
	"io"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
)

type jsonGapCount struct {
	Rule        string `json:"rule"`
	Kind        string `json:"kind"`
	Subjects    int    `json:"subjects"`
	Consequence string `json:"consequence"`
}

func jsonGapCountOf(c *outcome.GapCount) jsonGapCount {
	return jsonGapCount{c.Rule, c.Kind, c.Subjects, c.Consequence.String()}
}

// jsonShape names the shape of the JSON report. Within one name fields are only
// added; schema/findings.schema.json describes it.
const jsonShape = "cueproof-findings-1"

type jsonReport struct {
	Schema  string     `json:"schema"`
	Version string     `json:"version"`
	Shows   []jsonShow `json:"shows"`
	Rules   []jsonRule `json:"rules"`
	Base    *jsonBase  `json:"base,omitempty"`
}

type jsonShow struct {
	Path       string            `json:"path"`
	Name       string            `json:"name"`
	Verdict    outcome.Readiness `json:"verdict"`
	Because    string            `json:"because"`
	Since      []string          `json:"since,omitempty"`
	Unreadable bool              `json:"unreadable"`
	Counts     jsonCounts        `json:"counts"`
	Orders     []jsonAction      `json:"actions"`
	Minutes    float64           `json:"minutes,omitempty"`
	Undone     []jsonAction      `json:"undone,omitempty"`
	Tried      *jsonTried        `json:"tried,omitempty"`
	NeedPerson []string          `json:"need_person"`
	Accepted   []string          `json:"accepted"`
	Gaps       []jsonGap         `json:"gaps"`
	ByEye      []string          `json:"by_eye"`
	Findings   []jsonFinding     `json:"findings"`
	Looked     []jsonLook        `json:"looked"`
	Files      []jsonFile        `json:"files"`
	Receipt    *jsonReceipt      `json:"receipt,omitempty"`
	Notes      []string          `json:"notes"`
}

type jsonCounts struct {
	Errors   int `json:"errors"` // of the findings that fail; open ones are counted apart
	Warnings int `json:"warnings"`
	Notes    int `json:"notes"`
	Open     int `json:"open"`
	Accepted int `json:"accepted"` // these count nowhere else
	LeftOut  int `json:"left_out"`
	Untried  int `json:"untried"`
}

type jsonAction struct {
	Do          string        `json:"do"`
	Why         string        `json:"why"`
	Effect      string        `json:"effect"`
	Undo        string        `json:"undo"`
	Caution     string        `json:"caution,omitempty"`
	Consequence string        `json:"consequence"`
	Level       finding.Level `json:"level"`
	Rules       []string      `json:"rules"`
	Cures       []string      `json:"cures"`
	Causes      int           `json:"causes"`
	Place       *jsonPlace    `json:"place,omitempty"`
	Minutes     *jsonMinutes  `json:"minutes,omitempty"`
	Or          string        `json:"or,omitempty"`
	Edits       []jsonEdit    `json:"edits"`
	Where       string        `json:"where,omitempty"`
	Who         string        `json:"who,omitempty"`
	After       []int         `json:"after,omitempty"`
	Task        bool          `json:"task,omitempty"`
	First       bool          `json:"first,omitempty"`
	Worse       []jsonPrice   `json:"worse,omitempty"`
}

type jsonEdit struct {
	What  string   `json:"what"`
	Names []string `json:"names"`
	Cue   string   `json:"cue,omitempty"`
	Part  string   `json:"segment,omitempty"`
	Key   string   `json:"key"`
	From  any      `json:"from"`
	To    any      `json:"to"`
	Unit  string   `json:"unit,omitempty"`
}

type jsonPrice struct {
	Key     string  `json:"key"`
	Rule    string  `json:"rule"`
	Message string  `json:"message"`
	Was     float64 `json:"was"`
	Is      float64 `json:"is"`
	Unit    string  `json:"unit,omitempty"`
}

type jsonGap struct {
	Missing     string   `json:"missing"`
	Rules       []string `json:"rules"`
	Subjects    int      `json:"subjects"`
	Consequence string   `json:"consequence"`
	Key         string   `json:"key,omitempty"`
	File        string   `json:"file,omitempty"`

	Each []jsonGapCount `json:"each,omitempty"`
}

type jsonFinding struct {
	Key         string          `json:"key"`
	Fingerprint string          `json:"fingerprint"`
	Rule        string          `json:"rule"`
	Level       finding.Level   `json:"level"`
	Verdict     finding.Verdict `json:"verdict"`
	Consequence string          `json:"consequence"`
	Subjects    []jsonSubject   `json:"subjects"`
	Message     string          `json:"message"`
	Cues        []string        `json:"cues"`
	Measured    []say.Evidence  `json:"measured"`
	Limits      []say.Evidence  `json:"limits"`
	Amount      *say.Amount     `json:"amount,omitempty"`
	Known       string          `json:"known,omitempty"`
	Rests       []string        `json:"rests,omitempty"`
	Likely      bool            `json:"likely,omitempty"`
	Missing     []string        `json:"missing"`
	Hint        string          `json:"hint,omitempty"`
	Place       *jsonPlace      `json:"place,omitempty"`
	Related     []jsonRelated   `json:"related"`
	Accepted    *jsonAccepted   `json:"accepted,omitempty"`
	Base        string          `json:"base,omitempty"`
	Before      *jsonBefore     `json:"before,omitempty"`
}

type jsonAccepted struct {
	Reason string     `json:"reason"`
	By     string     `json:"by"`
	Until  string     `json:"until,omitempty"`
	Place  *jsonPlace `json:"place,omitempty"`
	Waiver string     `json:"waiver,omitempty"`

	WrittenFor string `json:"written_for,omitempty"`
}

type jsonSubject struct {
	Kind string `json:"kind"`
	Name string `json:"name"`
}

type jsonRelated struct {
	Message string     `json:"message"`
	Place   *jsonPlace `json:"place,omitempty"`
}

type jsonPlace struct {
	File      string `json:"file"`
	Line      int    `json:"line"`
	Column    int    `json:"column"`
	EndLine   int    `json:"end_line"`
	EndColumn int    `json:"end_column"`
}

type jsonLook struct {
	Rule     string   `json:"rule"`
	Subjects int      `json:"subjects"`
	Fails    int      `json:"fails"`
	Open     int      `json:"open"`
	Needs    []string `json:"needs"`
}

type jsonFile struct {
	Name     string `json:"name"`
	Encoding string `json:"encoding"`
}

type jsonReceipt struct {
	Number  string       `json:"number"`
	Day     string       `json:"day"`
	Version string       `json:"version"`
	Edition int          `json:"edition"`
	Rules   string       `json:"rules"`
	Verdict string       `json:"verdict"`
	Files   []jsonDigest `json:"files"`
	Orders  []string     `json:"orders"`
}

type jsonDigest struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

func jsonReceiptOf(r *outcome.Receipt) *jsonReceipt {
	if r == nil {
		return nil
	}
	return &jsonReceipt{
		r.Number, r.Day, r.Version, r.Edition, r.Rules, string(r.Verdict),
		say.Each(r.Files, func(d *outcome.Digest) jsonDigest { return jsonDigest{d.Name, d.SHA256} }), say.Filled(r.Orders),
	}
}

type jsonRule struct {
	ID          string        `json:"id"`
	Title       string        `json:"title"`
	Level       finding.Level `json:"level"`
	Consequence string        `json:"consequence"`
	Over        string        `json:"over,omitempty"`
	Expect      string        `json:"expect,omitempty"`
	Limits      []jsonLimit   `json:"limits"`
	Caution     string        `json:"caution,omitempty"`
	Measure     *jsonMeasure  `json:"measure,omitempty"`
	Meant       []string      `json:"meant,omitempty"`
	Waivable    bool          `json:"waivable"`
	Symptoms    []string      `json:"symptoms,omitempty"`
	Since       int           `json:"since,omitempty"`
}

// jsonMeasure is what a rule measures, to tell worse from better.
type jsonMeasure struct {
	Fact   string  `json:"fact"`
	Unit   string  `json:"unit"`
	Worse  string  `json:"worse"`
	Margin float64 `json:"margin"`
}

type jsonLimit struct {
	Name   string  `json:"name"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`

	Published finding.Published `json:"published,omitempty"`
	Own       *float64          `json:"own,omitempty"` // what the rule came with
}

// Write writes the report for programs: UTF-8, two spaces of indent, one object
// in the shape of schema/findings.schema.json. Numbers are rounded to six
// significant digits, and what is not a finite number is left out. The error is
// the writer's.
func Write(w io.Writer, r *outcome.Report, _ say.Options) error {
	out := jsonReport{
		Schema:  jsonShape,
		Version: r.Version,
		Shows:   say.Each(r.Shows, jsonShowOf),
		Rules:   say.Each(r.Rules, jsonRuleOf),
		Base:    jsonBaseOf(r.Base),
	}
	return say.JSON(w, out)
}

func jsonShowOf(s *outcome.Show) jsonShow {
	return jsonShow{
		Path:       s.Path,
		Name:       s.Name,
		Verdict:    s.Verdict,
		Because:    s.Because,
		Since:      s.Since,
		Unreadable: s.Unreadable,
		Counts:     jsonCountsOf(s),
		Orders:     append(say.Each(s.Orders, jsonActionOf), say.Each(s.Tasks, jsonTaskOf)...),
		Minutes:    s.Minutes,
		Undone:     say.Each(s.Undone, jsonActionOf),
		Tried:      jsonTriedOf(s.Tried),
		NeedPerson: say.Each(s.NeedPerson, jsonKeyOf),
		Accepted:   say.Each(say.Accepted(s), jsonKeyOf),
		Gaps:       say.Each(s.Gaps, jsonGapOf),
		ByEye:      say.Filled(s.ByEye),
		Findings:   say.Each(s.Findings, jsonFindingOf),
		Looked:     say.Each(s.Looked, jsonLookOf),
		Files:      say.Each(s.Files, func(f **source.File) jsonFile { return jsonFile{(*f).Name, (*f).Encoding} }),
		Receipt:    jsonReceiptOf(s.Receipt),
		Notes:      say.Filled(s.Notes),
	}
}

func jsonCountsOf(s *outcome.Show) jsonCounts {
	counts := jsonCounts{LeftOut: s.LeftOut, Untried: s.Untried}
	for i := range s.Findings {
		switch f := &s.Findings[i]; {
		case f.Accepted != nil:
			counts.Accepted++
		case f.Verdict == finding.Open:
			counts.Open++
		case f.Level == finding.Error:
			counts.Errors++
		case f.Level == finding.Warning:
			counts.Warnings++
		default:
			counts.Notes++
		}
	}
	return counts
}

func jsonActionOf(a *outcome.Order) jsonAction {
	return jsonAction{
		Do: a.Do, Why: a.Why, Effect: a.Effect, Undo: a.Undo, Caution: a.Caution,
		Consequence: a.Consequence.String(), Level: a.Level,
		Rules: say.Filled(a.Rules), Cures: say.Filled(a.Cures), Causes: a.Causes,
		Place: jsonPlaceOf(a.Place), Minutes: jsonMinutesOf(a.Minutes), Or: a.Or,
		Edits: say.Each(a.Edits, jsonEditOf), Where: string(a.Where), Who: a.Who, After: a.After,
		Worse: say.Each(a.Worse, jsonPriceOf),
	}
}

func jsonTaskOf(t *outcome.Order) jsonAction {
	task := jsonActionOf(t)
	task.Task, task.First = true, t.First
	return task
}

func jsonEditOf(e *outcome.Edit) jsonEdit {
	return jsonEdit{e.What, say.Filled(e.Names), e.Cue, e.Segment, e.Key, valueOf(e.From), valueOf(e.To), e.Unit}
}

// valueOf rounds what is a number; what is not finite is null.
func valueOf(value any) any {
	number, isNumber := value.(float64)
	if !isNumber {
		return value
	}
	rounded, ok := say.SixDigits(number)
	if !ok {
		return nil
	}
	return rounded
}

func jsonPriceOf(p *outcome.Price) jsonPrice {
	was, _ := say.SixDigits(p.Was)
	is, _ := say.SixDigits(p.Is)
	return jsonPrice{p.Key, p.Rule, p.Message, was, is, p.Unit}
}

func jsonKeyOf(f **finding.Finding) string { return (*f).Key() }

func jsonGapOf(g *outcome.Gap) jsonGap {
	return jsonGap{g.Missing, say.Filled(g.Rules), g.Subjects, g.Consequence.String(), g.Key, g.File, say.Each(g.Each, jsonGapCountOf)}
}

func jsonFindingOf(f *finding.Finding) jsonFinding {
	out := jsonFinding{
		Key: f.Key(), Fingerprint: f.Fingerprint(),
		Rule: f.Rule, Level: f.Level, Verdict: f.Verdict, Consequence: f.Consequence.String(),
		Subjects: say.Each(f.Subjects, func(s *finding.Subject) jsonSubject { return jsonSubject{s.Kind, s.Name} }),
		Message:  f.Message,
		Cues:     say.Filled(f.Cues),
		Measured: say.EvidenceOf(f.Measured),
		Limits:   say.EvidenceOf(f.Limits),
		Amount:   say.AmountOf(f.Amount),
		Known:    say.Known(f),
		Rests:    f.Rests,
		Likely:   f.Likely,
		Missing:  say.Filled(f.Missing),
		Hint:     f.Hint,
		Base:     string(f.Base),
		Before:   jsonBeforeOf(f.Before),
		Place:    jsonPlaceOf(f.Place),
		Related: say.Each(f.Related, func(r *finding.Related) jsonRelated {
			return jsonRelated{r.Message, jsonPlaceOf(r.Place)}
		}),
	}
	if a := f.Accepted; a != nil {
		out.Accepted = &jsonAccepted{a.Reason, a.By, a.Until, jsonPlaceOf(a.Place), a.Waiver, a.WrittenFor}
	}
	return out
}

func jsonPlaceOf(p source.Place) *jsonPlace {
	span, ok := say.Span(p)
	if !ok {
		return nil
	}
	return &jsonPlace{p.File.Name, span.Start.Line, span.Start.Column, span.End.Line, span.End.Column}
}

func jsonLookOf(l *finding.Tally) jsonLook {
	return jsonLook{l.Rule, l.Subjects, l.Fails, l.Open, say.Filled(l.None)}
}

func jsonRuleOf(r *finding.Rule) jsonRule {
	out := jsonRule{
		ID: r.ID, Title: r.Title, Level: r.Level, Consequence: r.Consequence.String(),
		Over: r.Over, Expect: r.Expect, Limits: []jsonLimit{}, Caution: r.Caution,
		Meant: r.Meant, Waivable: !r.Binding, Symptoms: r.Symptoms, Since: r.Since,
	}
	if m := r.Measure; m != nil {
		margin, _ := say.SixDigits(m.Margin)
		out.Measure = &jsonMeasure{m.Fact, m.Unit, m.Worse.String(), margin}
	}
	for _, limit := range r.Limits {
		if value, ok := say.SixDigits(limit.Value); ok {
			out.Limits = append(out.Limits, jsonLimit{limit.Name, value, limit.Unit, limit.Source, limit.Published, limit.Own})
		}
	}
	return out
}

type jsonMinutes struct {
	Least float64 `json:"least"`
	Most  float64 `json:"most"`
}

func jsonMinutesOf(m outcome.Minutes) *jsonMinutes {
	if m.Most <= 0 {
		return nil
	}
	return &jsonMinutes{m.Least, m.Most}
}

type jsonTried struct {
	Folder  string   `json:"folder"`
	Changes int      `json:"changes"`
	Cleared int      `json:"cleared"`
	LeftOut []string `json:"left_out"`
	Stale   []string `json:"stale_readings,omitempty"`
}

func jsonTriedOf(t *outcome.Trial) *jsonTried {
	if t == nil {
		return nil
	}
	return &jsonTried{t.Folder, t.Changes, t.Cleared, say.Filled(t.LeftOut), t.Stale}
}
