package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

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
	Path       string        `json:"path"`
	Name       string        `json:"name"`
	Verdict    Verdict       `json:"verdict"`
	Because    string        `json:"because"`
	Since      []string      `json:"since,omitempty"`
	Unreadable bool          `json:"unreadable"`
	Counts     jsonCounts    `json:"counts"`
	Actions    []jsonAction  `json:"actions"`
	Minutes    float64       `json:"minutes,omitempty"`
	Undone     []jsonAction  `json:"undone,omitempty"`
	Tried      *jsonTried    `json:"tried,omitempty"`
	NeedPerson []string      `json:"need_person"`
	Accepted   []string      `json:"accepted"`
	Gaps       []jsonGap     `json:"gaps"`
	ByEye      []string      `json:"by_eye"`
	Findings   []jsonFinding `json:"findings"`
	Looked     []jsonLook    `json:"looked"`
	Files      []jsonFile    `json:"files"`
	Notes      []string      `json:"notes"`
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
}

type jsonGap struct {
	Missing     string   `json:"missing"`
	Rules       []string `json:"rules"`
	Subjects    int      `json:"subjects"`
	Consequence string   `json:"consequence"`

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
	Measured    []jsonEvidence  `json:"measured"`
	Limits      []jsonEvidence  `json:"limits"`
	Amount      *jsonAmount     `json:"amount,omitempty"`
	Known       string          `json:"known,omitempty"`
	Rests       []string        `json:"rests,omitempty"`
	Likely      bool            `json:"likely,omitempty"`
	Missing     []string        `json:"missing"`
	Hint        string          `json:"hint,omitempty"`
	Place       *jsonPlace      `json:"place,omitempty"`
	Related     []jsonRelated   `json:"related"`
	Accepted    *jsonAccepted   `json:"accepted,omitempty"`
	Base        string          `json:"base,omitempty"`
}

type jsonAccepted struct {
	Reason string     `json:"reason"`
	By     string     `json:"by"`
	Until  string     `json:"until,omitempty"`
	Place  *jsonPlace `json:"place,omitempty"`
}

type jsonSubject struct {
	Kind string `json:"kind"`
	Name string `json:"name"`
}

type jsonEvidence struct {
	Name   string   `json:"name"`
	Text   string   `json:"text"`
	Number *float64 `json:"number,omitempty"`
	Unit   string   `json:"unit,omitempty"`
}

// jsonAmount is the value that would get worse or better.
type jsonAmount struct {
	Fact   string  `json:"fact"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Worse  string  `json:"worse"`
	Margin float64 `json:"margin"`
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

// JSON writes the report for programs: UTF-8, two spaces of indent, one object
// in the shape of schema/findings.schema.json. Numbers are rounded to six
// significant digits, and what is not a finite number is left out. The error is
// the writer's.
func JSON(w io.Writer, r *Report, _ Options) error {
	out := jsonReport{
		Schema:  jsonShape,
		Version: r.Version,
		Shows:   each(r.Shows, jsonShowOf),
		Rules:   each(r.Rules, jsonRuleOf),
		Base:    jsonBaseOf(r.Base),
	}
	return writeJSON(w, out)
}

func jsonShowOf(s *Show) jsonShow {
	return jsonShow{
		Path:       s.Path,
		Name:       s.Name,
		Verdict:    s.Verdict,
		Because:    s.Because,
		Since:      s.Since,
		Unreadable: s.Unreadable,
		Counts:     jsonCountsOf(s),
		Actions:    each(s.Actions, jsonActionOf),
		Minutes:    s.Minutes,
		Undone:     each(s.Undone, jsonActionOf),
		Tried:      jsonTriedOf(s.Tried),
		NeedPerson: each(s.NeedPerson, (*finding.Finding).Key),
		Accepted:   each(acceptedOf(s), func(f **finding.Finding) string { return (*f).Key() }),
		Gaps:       each(s.Gaps, jsonGapOf),
		ByEye:      filled(s.ByEye),
		Findings:   each(s.Findings, jsonFindingOf),
		Looked:     each(s.Looked, jsonLookOf),
		Files:      each(s.Files, func(f **source.File) jsonFile { return jsonFile{(*f).Name, (*f).Encoding} }),
		Notes:      filled(s.Notes),
	}
}

func jsonCountsOf(s *Show) jsonCounts {
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

func jsonActionOf(a *Action) jsonAction {
	return jsonAction{
		Do: a.Do, Why: a.Why, Effect: a.Effect, Undo: a.Undo, Caution: a.Caution,
		Consequence: a.Consequence.String(), Level: a.Level,
		Rules: filled(a.Rules), Cures: filled(a.Cures), Causes: a.Causes,
		Place: jsonPlaceOf(a.Place), Minutes: jsonMinutesOf(a.Minutes), Or: a.Or,
	}
}

func jsonGapOf(g *Gap) jsonGap {
	return jsonGap{g.Missing, filled(g.Rules), g.Subjects, g.Consequence.String(), each(g.Each, jsonGapCountOf)}
}

// acceptedOf lists the findings of a show that somebody accepted.
func acceptedOf(s *Show) []*finding.Finding {
	var list []*finding.Finding
	for i := range s.Findings {
		if s.Findings[i].Accepted != nil {
			list = append(list, &s.Findings[i])
		}
	}
	return list
}

func jsonFindingOf(f *finding.Finding) jsonFinding {
	out := jsonFinding{
		Key: f.Key(), Fingerprint: f.Fingerprint(),
		Rule: f.Rule, Level: f.Level, Verdict: f.Verdict, Consequence: f.Consequence.String(),
		Subjects: each(f.Subjects, func(s *finding.Subject) jsonSubject { return jsonSubject{s.Kind, s.Name} }),
		Message:  f.Message,
		Cues:     filled(f.Cues),
		Measured: jsonEvidenceOf(f.Measured),
		Limits:   jsonEvidenceOf(f.Limits),
		Amount:   jsonAmountOf(f.Amount),
		Known:    knownWord(f),
		Rests:    f.Rests,
		Likely:   f.Likely,
		Missing:  filled(f.Missing),
		Hint:     f.Hint,
		Base:     string(f.Base),
		Place:    jsonPlaceOf(f.Place),
		Related: each(f.Related, func(r *finding.Related) jsonRelated {
			return jsonRelated{r.Message, jsonPlaceOf(r.Place)}
		}),
	}
	if a := f.Accepted; a != nil {
		out.Accepted = &jsonAccepted{a.Reason, a.By, a.Until, jsonPlaceOf(a.Place)}
	}
	return out
}

// jsonEvidenceOf leaves out what claims to be a number and is none.
func jsonEvidenceOf(list []finding.Evidence) []jsonEvidence {
	out := make([]jsonEvidence, 0, len(list))
	for _, e := range list {
		item := jsonEvidence{Name: e.Name, Text: e.Value, Unit: e.Unit}
		if e.Num != nil {
			number, ok := sixDigits(*e.Num)
			if !ok {
				continue
			}
			item.Number = &number
		}
		out = append(out, item)
	}
	return out
}

func jsonAmountOf(a *finding.Amount) *jsonAmount {
	if a == nil {
		return nil
	}
	value, ok1 := sixDigits(a.Value)
	margin, ok2 := sixDigits(a.Margin)
	if !ok1 || !ok2 {
		return nil
	}
	return &jsonAmount{a.Fact, value, a.Unit, a.Worse.String(), margin}
}

// knownWord says how what was measured is known; of what nobody could tell there
// is nothing to say.
func knownWord(f *finding.Finding) string {
	if f.Verdict == finding.Open {
		return ""
	}
	return f.Known.String()
}

func jsonPlaceOf(p source.Place) *jsonPlace {
	span, ok := spanOf(p)
	if !ok {
		return nil
	}
	return &jsonPlace{p.File.Name, span.Start.Line, span.Start.Column, span.End.Line, span.End.Column}
}

func jsonLookOf(l *Look) jsonLook {
	return jsonLook{l.Rule, l.Subjects, l.Fails, l.Open, filled(l.None)}
}

func jsonRuleOf(r *finding.Rule) jsonRule {
	out := jsonRule{
		ID: r.ID, Title: r.Title, Level: r.Level, Consequence: r.Consequence.String(),
		Over: r.Over, Expect: r.Expect, Limits: []jsonLimit{}, Caution: r.Caution,
		Meant: r.Meant, Waivable: !r.Binding, Symptoms: r.Symptoms,
	}
	if m := r.Measure; m != nil {
		margin, _ := sixDigits(m.Margin)
		out.Measure = &jsonMeasure{m.Fact, m.Unit, m.Worse.String(), margin}
	}
	for _, limit := range r.Limits {
		if value, ok := sixDigits(limit.Value); ok {
			out.Limits = append(out.Limits, jsonLimit{limit.Name, value, limit.Unit, limit.Source, limit.Published, limit.Own})
		}
	}
	return out
}

// sixDigits rounds to six significant digits, fewer than the 15 on which all
// processors agree (some fuse a multiplication with an addition) and more than
// any light meter has. ok is false for what is not a finite number.
func sixDigits(v float64) (rounded float64, ok bool) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, false
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	return rounded + 0, err == nil // -0 + 0 is 0
}

// spanOf returns the lines and columns of a place, the end never before the
// start, whatever the place says; ok is false for a place in no file.
func spanOf(p source.Place) (span source.Span, ok bool) {
	if p.File == nil {
		return source.Span{}, false
	}
	p.Start = max(p.Start, 0)
	p.Stop = max(p.Start, p.Stop)
	span = p.Span()
	if span.End.Line == span.Start.Line { // an offset inside a character can turn them round
		span.End.Column = max(span.Start.Column, span.End.Column)
	}
	return span, true
}

// each makes a list of one kind out of a list of another. It is never nil,
// because null where a list belongs trips up those who read it.
func each[T, U any](list []T, convert func(*T) U) []U {
	out := make([]U, len(list))
	for i := range list {
		out[i] = convert(&list[i])
	}
	return out
}

// filled returns the list, or an empty one for none.
func filled(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// writeJSON is how every JSON of ours is written.
func writeJSON(w io.Writer, value any) error {
	encoder := json.NewEncoder(escapingWriter{w})
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(value); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}

// escapingWriter writes the control and format characters that encoding/json
// leaves as they are (DEL, the C1 controls, marks that reverse the direction of
// text) as \u escapes. The text means the same, and a terminal that shows the
// file obeys nothing in it. What is written through it is JSON of whole
// characters, in which these can only stand inside strings.
type escapingWriter struct{ w io.Writer }

func (e escapingWriter) Write(p []byte) (int, error) {
	done := 0
	for i := 0; i < len(p); {
		if p[i] < 0x7F {
			i++
			continue
		}
		r, size := utf8.DecodeRune(p[i:])
		if unicode.In(r, unicode.Cc, unicode.Cf) {
			if _, err := e.w.Write(p[done:i]); err != nil {
				return done, err
			}
			if _, err := io.WriteString(e.w, jsonEscape(r)); err != nil {
				return i, err
			}
			done = i + size
		}
		i += size
	}
	if _, err := e.w.Write(p[done:]); err != nil {
		return done, err
	}
	return len(p), nil
}

func jsonEscape(r rune) string {
	if high, low := utf16.EncodeRune(r); high != unicode.ReplacementChar {
		return fmt.Sprintf(`\u%04x\u%04x`, high, low)
	}
	return fmt.Sprintf(`\u%04x`, r)
}
