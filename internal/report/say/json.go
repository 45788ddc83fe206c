package say

import (
	"encoding/json"
	"fmt"
	"io"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
)

// Evidence is a measured number or a limit, as the machine formats write it.
type Evidence struct {
	Name   string   `json:"name"`
	Text   string   `json:"text"`
	Number *float64 `json:"number,omitempty"`
	Unit   string   `json:"unit,omitempty"`
}

// EvidenceOf leaves out what claims to be a number and is none.
func EvidenceOf(list []finding.Evidence) []Evidence {
	out := make([]Evidence, 0, len(list))
	for _, e := range list {
		item := Evidence{Name: e.Name, Text: e.Value, Unit: e.Unit}
		if e.Num != nil {
			number, ok := SixDigits(*e.Num)
			if !ok {
				continue
			}
			item.Number = &number
		}
		out = append(out, item)
	}
	return out
}

// JSON is how every JSON of ours is written.
func JSON(w io.Writer, value any) error {
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

// Amount is the value of a finding that would get worse or better, as JSON has it.
type Amount struct {
	Fact   string  `json:"fact"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Worse  string  `json:"worse"`
	Margin float64 `json:"margin"`
}

// AmountOf is nil for an amount that is none or no finite number.
func AmountOf(a *finding.Amount) *Amount {
	if a == nil {
		return nil
	}
	value, ok1 := SixDigits(a.Value)
	margin, ok2 := SixDigits(a.Margin)
	if !ok1 || !ok2 {
		return nil
	}
	return &Amount{a.Fact, value, a.Unit, a.Worse.String(), margin}
}

// Known says how what was measured is known; of what nobody could tell there is
// nothing to say.
func Known(f *finding.Finding) string {
	if f.Verdict == finding.Open {
		return ""
	}
	return f.Known.String()
}
