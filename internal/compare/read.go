package compare

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
)

// What a report of ours is known by.
const (
	jsonShape        = "cueproof-findings-1"
	sarifVersion     = "2.1.0"
	sarifTool        = "cueproof"
	sarifFingerprint = "cueproofFinding/v1"
)

// ErrNoReport is returned for bytes that are no report at all; they may be a show.
var ErrNoReport = errors.New("this is no report")

// Read reads the findings from a JSON or SARIF report of an earlier run. Bytes
// that are neither give [ErrNoReport]; every other error is a report that is not
// ours, too new or broken.
func Read(data []byte) (Base, error) {
	var head struct {
		Schema  string          `json:"schema"`
		Version json.RawMessage `json:"version"`
		Runs    json.RawMessage `json:"runs"`
		Shows   json.RawMessage `json:"shows"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Base{}, ErrNoReport
	}
	switch {
	case head.Runs != nil:
		if version := strings.Trim(string(head.Version), `"`); version != sarifVersion {
			return Base{}, fmt.Errorf("this is SARIF %.20q; only %s can be read", version, sarifVersion)
		}
		return readSARIF(data)
	case head.Schema == jsonShape:
		return readJSON(data)
	case strings.HasPrefix(head.Schema, "cueproof-findings-"):
		return Base{}, fmt.Errorf("this report has the shape %.40q, which this program does not know; it knows %s", head.Schema, jsonShape)
	case strings.HasPrefix(head.Schema, "cueproof-"):
		return Base{}, fmt.Errorf("this is a file of shape %.40q, not a report of findings", head.Schema)
	}
	return Base{}, ErrNoReport
}

func readJSON(data []byte) (Base, error) {
	var report struct {
		Shows []struct {
			Counts struct {
				LeftOut float64 `json:"left_out"`
			}
			Looked []struct {
				Rule           string
				Subjects, Open float64
			}
			Findings []struct {
				Key, Fingerprint, Rule, Message, Consequence string
				Level                                        finding.Level
				Verdict                                      finding.Verdict
				Subjects                                     []struct{ Kind, Name string }
				Cues                                         []string
				Amount                                       *amount
				Accepted                                     *struct{}
				Place                                        *struct {
					File         string
					Line, Column float64
					EndLine      float64 `json:"end_line"`
					EndColumn    float64 `json:"end_column"`
				}
			}
		}
	}
	if err := json.Unmarshal(data, &report); err != nil {
		return Base{}, fmt.Errorf("the report is broken: %w", err)
	}
	base := Base{Told: map[string]bool{}}
	for _, show := range report.Shows {
		base.LeftOut += whole(show.Counts.LeftOut, 0)
		for _, look := range show.Looked {
			if look.Subjects > look.Open {
				base.Told[look.Rule] = true
			}
		}
		for _, f := range show.Findings {
			past := outcome.Past{
				Key: f.Key, Rule: f.Rule, Level: f.Level, Verdict: f.Verdict,
				Consequence: consequence(f.Consequence), Message: f.Message, Accepted: f.Accepted != nil,
				Cues: f.Cues, Amount: f.Amount.of(),
			}
			for _, s := range f.Subjects {
				past.Subjects = append(past.Subjects, finding.Subject{Kind: s.Kind, Name: s.Name})
			}
			if p := f.Place; p != nil {
				past.File, past.Span = p.File, span(p.Line, p.Column, p.EndLine, p.EndColumn)
			}
			if err := take(&past, f.Fingerprint); err != nil {
				return Base{}, err
			}
			base.Findings = append(base.Findings, past)
		}
	}
	return base, nil
}

func readSARIF(data []byte) (Base, error) {
	type text struct{ Text string }
	var log struct {
		Runs []struct {
			Tool struct {
				Driver struct {
					Name  string
					Rules []struct{ ID string }
				}
			}
			// What the log says of itself.
			Invocations []struct {
				ToolExecutionNotifications []struct {
					Descriptor     struct{ ID string }
					AssociatedRule struct{ ID string }
				}
			}
			Results []struct {
				RuleID, Kind  string
				Level         finding.Level
				Message       text
				BaselineState string
				Suppressions  []struct{ Status string }
				Properties    struct {
					Key, Consequence string
					Cues             []string
					Amount           *amount
				}
				Prints    map[string]string `json:"partialFingerprints"`
				Locations []struct {
					PhysicalLocation struct {
						ArtifactLocation struct{ URI string }
						Region           struct{ StartLine, StartColumn, EndLine, EndColumn float64 }
					}
					LogicalLocations []struct{ Name, Kind string }
				}
			}
		}
	}
	if err := json.Unmarshal(data, &log); err != nil {
		return Base{}, fmt.Errorf("the log is broken: %w", err)
	}
	base := Base{Told: map[string]bool{}}
	ours := false
	for _, run := range log.Runs {
		if run.Tool.Driver.Name != sarifTool {
			continue
		}
		ours = true
		for _, rule := range run.Tool.Driver.Rules {
			base.Told[rule.ID] = !strings.HasPrefix(rule.ID, "file/")
		}
		for _, invocation := range run.Invocations {
			for _, n := range invocation.ToolExecutionNotifications {
				switch n.Descriptor.ID {
				case "left-out":
					base.LeftOut++ // how many stands only in its sentence
				case "nothing-to-look-at":
					delete(base.Told, n.AssociatedRule.ID)
				}
			}
		}
		for _, r := range run.Results {
			if r.BaselineState == "absent" {
				continue // it was gone then already
			}
			title, _, _ := strings.Cut(r.Message.Text, "\n")
			past := outcome.Past{
				Key: r.Properties.Key, Rule: r.RuleID, Level: r.Level, Verdict: finding.Fail,
				Consequence: consequence(r.Properties.Consequence), Message: unescape.Replace(title),
				Cues: r.Properties.Cues, Amount: r.Properties.Amount.of(),
			}
			switch r.Kind {
			case "", "fail":
			case "open":
				past.Verdict = finding.Open
			default:
				return Base{}, fmt.Errorf("a result of %.80q has the kind %.20q, which no log of this program has", r.RuleID, r.Kind)
			}
			past.Accepted = len(r.Suppressions) > 0
			for _, s := range r.Suppressions { // SARIF 2.1.0, section 3.27.23, from memory
				past.Accepted = past.Accepted && (s.Status == "" || s.Status == "accepted")
			}
			if len(r.Locations) > 0 {
				at := r.Locations[0].PhysicalLocation
				if name, err := url.PathUnescape(at.ArtifactLocation.URI); err == nil && !strings.Contains(name, "://") {
					past.File = name
					past.Span = span(at.Region.StartLine, at.Region.StartColumn, at.Region.EndLine, at.Region.EndColumn)
				}
				for _, l := range r.Locations[0].LogicalLocations {
					past.Subjects = append(past.Subjects, finding.Subject{Kind: l.Kind, Name: l.Name})
				}
			}
			print, _, _ := strings.Cut(r.Prints[sarifFingerprint], ":")
			if err := take(&past, print); err != nil {
				return Base{}, err
			}
			base.Findings = append(base.Findings, past)
			if past.Verdict == finding.Open { // of how many things it could tell beside that, a log does not say
				delete(base.Told, past.Rule)
			}
		}
	}
	maps.DeleteFunc(base.Told, func(_ string, told bool) bool { return !told })
	if !ours {
		return Base{}, fmt.Errorf("none of its runs is of this program")
	}
	return base, nil
}

// amount is an amount as reports write it.
type amount struct {
	Fact, Unit, Worse string
	Value, Margin     float64
}

// of reads an amount; one without a direction is none.
func (a *amount) of() *finding.Amount {
	if a == nil || a.Worse != finding.More.String() && a.Worse != finding.Less.String() {
		return nil
	}
	way := finding.More
	if a.Worse == finding.Less.String() {
		way = finding.Less
	}
	return &finding.Amount{Fact: a.Fact, Value: a.Value, Unit: a.Unit, Worse: way, Margin: max(0, a.Margin)}
}

// unescape undoes what SARIF asks for in messages, where brackets make links.
var unescape = strings.NewReplacer(`\\`, `\`, `\[`, `[`, `\]`, `]`)

var fingerprintForm = regexp.MustCompile(`^[0-9a-f]{32}$`)

// take checks what the finding is known by and the words that decide something.
func take(p *outcome.Past, fingerprint string) error {
	if !fingerprintForm.MatchString(fingerprint) {
		return fmt.Errorf("a finding of %.80q has no fingerprint of this program", p.Rule)
	}
	p.Fingerprint = fingerprint
	if p.Rule == "" {
		return fmt.Errorf("finding %s names no rule", fingerprint)
	}
	if p.Verdict != finding.Fail && p.Verdict != finding.Open {
		return fmt.Errorf("a finding of %.80q has the verdict %.20q, which there is not", p.Rule, p.Verdict)
	}
	if !slices.Contains(finding.Levels, p.Level) {
		if p.Verdict == finding.Fail {
			return fmt.Errorf("a finding of %.80q has the level %.20q, which there is not", p.Rule, p.Level)
		}
		p.Level = finding.Note // SARIF gives none to what is open
	}
	return nil
}

// consequence reads a consequence; an unknown word is the mildest.
func consequence(word string) finding.Consequence {
	if i := slices.Index(finding.Consequences, word); i >= 0 {
		return finding.Consequence(i)
	}
	return finding.Later
}

func span(line, column, endLine, endColumn float64) source.Span {
	start := source.Position{Line: whole(line, 1), Column: whole(column, 1)}
	end := source.Position{Line: max(start.Line, whole(endLine, 1)), Column: whole(endColumn, 1)}
	if end.Line == start.Line {
		end.Column = max(start.Column, end.Column)
	}
	return source.Span{Start: start, End: end}
}

// whole makes a number of a report one that can be a line or a count.
func whole(number float64, least int) int {
	return int(min(max(math.Trunc(number), float64(least)), math.MaxInt32))
}
