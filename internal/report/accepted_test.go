package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/google/go-cmp/cmp"
)

// accepting is the sample with two of its findings accepted, one of which can
// hurt somebody.
func accepting(t testing.TB) *outcome.Report {
	r := sample(t)
	text := "waivers:\n  - rule: patch/circuit-load\n"
	file := &source.File{Name: "house.yaml", Text: text}
	start := strings.Index(text, "patch")
	place := source.Place{File: file, Start: start, Stop: len(text) - 1}
	for i := range r.Shows[0].Findings {
		switch f := &r.Shows[0].Findings[i]; f.Rule {
		case "patch/circuit-load":
			f.Accepted = &finding.Acceptance{Reason: "The electrician split the circuit [by hand].", By: "technical lead", Until: "2026-12-31", Place: place}
		case "white/key-camera":
			f.Accepted = &finding.Acceptance{Reason: "No camera tonight", By: "director", Place: place}
		}
	}
	return r
}

func TestAcceptedInSARIF(t *testing.T) {
	log := checkSARIF(t, officialSchema(t), accepting(t))
	suppressed := map[string]string{}
	for _, result := range log.Runs[0].Results {
		if result.Suppressions == nil {
			t.Errorf("%s does not say whether it is suppressed", result.RuleID)
		}
		for _, s := range result.Suppressions {
			one, _ := json.Marshal(s)
			suppressed[result.RuleID] = string(one)
		}
	}
	for id, words := range map[string][]string{
		"patch/circuit-load": {`"kind":"external"`, `"status":"accepted"`, `"justification":"The electrician split the circuit [by hand]. (accepted by technical lead until 2026-12-31)"`, `"uri":"house.yaml"`, `"startLine":2`},
		"white/key-camera":   {`"justification":"No camera tonight. (accepted by director)"`},
	} {
		for _, word := range words {
			if !strings.Contains(suppressed[id], word) {
				t.Errorf("%s: no %s in %s", id, word, suppressed[id])
			}
		}
	}
	if len(suppressed) != 2 {
		t.Errorf("suppressed: %v", suppressed)
	}
	if last := log.Runs[0].Results[len(log.Runs[0].Results)-1]; len(last.Suppressions) == 0 {
		t.Errorf("the last result is %s; what is accepted comes last", last.RuleID)
	}
	accepted, other := compare.Of(&finding.Finding{Rule: "a/a", Message: "It was so."}), compare.Of(&finding.Finding{Rule: "a/b", Message: "It was so too."})
	accepted.Accepted = true
	for name, c := range map[string]struct {
		r     *outcome.Report
		wants bool
	}{
		"nobody accepts any":         {sample(t), false},
		"nobody accepted what went":  {against(sample(t), []outcome.Past{other}), false},
		"what went was accepted":     {against(sample(t), []outcome.Past{other, accepted, other}), true},
		"it was, and others are now": {against(accepting(t), []outcome.Past{other}), true},
	} {
		for _, result := range checkSARIF(t, officialSchema(t), c.r).Runs[0].Results {
			if (result.Suppressions != nil) != c.wants {
				t.Errorf("%s, and %s says of suppressions %v", name, result.RuleID, result.Suppressions)
			}
		}
	}
}

func TestAcceptedInJSON(t *testing.T) {
	var got struct {
		Shows []struct {
			Counts   struct{ Errors, Warnings, Open, Accepted int }
			Accepted []string
			Findings []struct {
				Key, Rule string
				Accepted  *struct {
					Reason, By, Until string
					Place             struct{ File string }
				}
			}
		}
	}
	if err := json.Unmarshal(written(t, jsonreport.Write, accepting(t)), &got); err != nil {
		t.Fatal(err)
	}
	show := got.Shows[0]
	if show.Counts.Accepted != 2 || show.Counts.Open != 0 || show.Counts.Warnings != 0 {
		t.Errorf("counts are %+v", show.Counts)
	}
	var keys []string
	for _, f := range show.Findings {
		if f.Accepted == nil {
			continue
		}
		keys = append(keys, f.Key)
		if f.Accepted.Reason == "" || f.Accepted.By == "" || f.Accepted.Place.File != "house.yaml" {
			t.Errorf("%s: %+v", f.Rule, f.Accepted)
		}
	}
	if diff := cmp.Diff(keys, show.Accepted); diff != "" || len(keys) != 2 {
		t.Errorf("accepted (-findings +list):\n%s", diff)
	}
}

func TestAcceptedInText(t *testing.T) {
	var b bytes.Buffer
	if err := text.Write(&b, accepting(t), say.Options{Width: 200, All: true}); err != nil {
		t.Fatal(err)
	}
	_, text, found := strings.Cut(b.String(), "Accepted, so not counted\n")
	if !found {
		t.Fatalf("nothing is said to be accepted:\n%s", b.String())
	}
	for _, want := range []string{
		"Circuit A/1 [left] carries 14.9 A", "The electrician split the circuit [by hand]. (technical lead, until 2026-12-31)",
		"local codes, the venue and a licensed electrician decide", "1 more finding accepted",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}
