package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/ask"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
)

// TestAnswersToQuestions: what a person is told who asks for one finding, with their own words, for all rules, or for a rule with
// the numbers of their show.
func TestAnswersToQuestions(t *testing.T) {
	r := sample(t)
	s := &r.Shows[0]
	load := &s.Findings[1]
	load.Likely, load.Rests, load.Known = true, []string{"an assumed load", "an assumed circuit"}, finding.Assumed
	for i := range 14 {
		load.Cues = append(load.Cues, fmt.Sprint(i+1))
	}
	second := *load
	second.Accepted = &finding.Acceptance{By: "the hall", Reason: "It is split.", Until: "2026-12-31"}
	r.Shows = append(r.Shows, outcome.Show{Findings: []finding.Finding{second}, Orders: []outcome.Order{{Do: "Wait."}, {
		Do: "Move it.", Or: "Take it out.", Effect: "It is lighter.", Who: "an electrician", Minutes: outcome.Minutes{Least: 5, Most: 15}, Worse: []outcome.Price{{Message: "It is dark there."}}, Undo: "back again", Caution: "Not alone.", Cures: []string{load.Key()},
	}}})
	var many []finding.Finding
	for i := range 9 {
		f := finding.Finding{Rule: "a/many", Verdict: finding.Fail, Message: fmt.Sprintf("It is so, %d.", i), Subjects: []finding.Subject{{Kind: "place", Name: fmt.Sprint(i)}}}
		many = append(many, f)
	}
	asked := &outcome.Report{Shows: []outcome.Show{{Findings: many, Orders: []outcome.Order{{Do: "Do this."}, {Do: "Do that.", Cures: []string{many[1].Key()}}}}}}
	hits := []ask.Hit{{Rule: finding.Rule{ID: "a/many", Title: "There are many."}, Symptom: "too much of it"}, {Rule: finding.Rule{ID: "a/none", Title: "There is none."}}}
	limits := []finding.Evidence{{Name: "limit.max_lx", Value: "1", Unit: "stops"}}
	num := 1.0
	measured := []finding.Evidence{{Name: "person.face_lx", Value: "120", Num: &num}, {Name: "look.rate_per_s", Value: "1", Num: &num}, {Name: "look.hue", Value: "red"}, {Name: "look.name", Value: ""}, {Name: "look.moved_deg", Value: "30", Num: &num}, {Name: "look.long_s", Value: "3", Num: &num}, {Name: "room.far_m", Value: "4", Num: &num}, {Name: "air.haze_mg_m3", Value: "2", Num: &num}}
	var out bytes.Buffer
	for _, c := range []struct {
		about string
		write func(w io.Writer) error
	}{
		{"a finding by its key, in any case", func(w io.Writer) error {
			for _, key := range []string{load.Key(), "f" + s.Findings[2].Key()[1:], "F-00000"} {
				ok, err := text.Finding(w, r, key, say.Options{})
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintln(w, "found:", ok); err != nil {
					return err
				}
			}
			return nil
		}},
		{"words, with a show", func(w io.Writer) error { return text.Asked(w, hits, asked, say.Options{}) }},
		{"words, without one", func(w io.Writer) error { return text.Asked(w, hits, nil, say.Options{}) }},
		{"rules", func(w io.Writer) error {
			return text.List(w, []text.RuleRow{{Rule: r.Rules[0]}, {Rule: r.Rules[1], Off: "house.yaml"}, {Rule: r.Rules[2]}}, []text.Count{{Name: "dark_stops", Value: -3.5, Unit: "stops", Means: "what is dark", Source: "common practice, no source"}, {Name: "digits", Value: 9, Means: "what is kept", Source: "ours"}}, say.Options{})
		}},
		{"rules that all look", func(w io.Writer) error { return text.List(w, []text.RuleRow{{Rule: r.Rules[0]}}, nil, say.Options{}) }},
		{"a rule that has nothing to look at", func(w io.Writer) error {
			return text.Work(w, &outcome.RuleWork{Show: "Evening", None: []string{"a camera", "a face"}}, say.Options{})
		}},
		{"a rule that is right", func(w io.Writer) error {
			return text.Work(w, &outcome.RuleWork{Show: "Evening", Subjects: 1, Names: []finding.Subject{{Kind: "place", Name: "desk"}}, Cue: "4", Message: "All is well.", Facts: measured, Limits: limits}, say.Options{})
		}},
		{"a rule that is not", func(w io.Writer) error {
			return text.Work(w, &outcome.RuleWork{Show: "Evening", Subjects: 9, Fails: 2, Open: 3, Names: []finding.Subject{{Kind: "cue", Name: "4"}}, Cue: "4", Wrong: true, Message: "It is dark.", Facts: measured[:1], Missing: []string{"the watts", "the white"}}, say.Options{})
		}},
		{"a rule of which nobody could tell", func(w io.Writer) error {
			return text.Work(w, &outcome.RuleWork{Show: "Evening", Subjects: 2, Open: 2, Missing: []string{"the watts"}}, say.Options{})
		}},
	} {
		fmt.Fprintf(&out, "== %s\n", c.about)
		if err := c.write(&out); err != nil {
			t.Fatal(err)
		}
	}
	golden(t, "questions.txt", out.Bytes())
}

// TestAgainstABase: one show is held against it in a sentence, of several each by itself; what the base lost stands above all.
func TestAgainstABase(t *testing.T) {
	var out bytes.Buffer
	for shows := 1; shows <= 2; shows++ {
		r := against(small(2, 2), earlier(t))
		r.Base.Lost = []string{"Half of the cues are gone."}
		for len(r.Shows) < shows {
			r.Shows = append(r.Shows, r.Shows[0])
		}
		fmt.Fprintf(&out, "== %d\n%s", shows, textOf(t, r, say.Options{}))
	}
	golden(t, "screen_base.txt", out.Bytes())
}

// TestWhatIfInSentences: what comes, is worse and goes, each kind once, who loses how much light, and what could stand in.
func TestWhatIfInSentences(t *testing.T) {
	found := func(n int, each int) (list []finding.Finding) {
		for i := range n {
			list = append(list, finding.Finding{Rule: fmt.Sprintf("a/%d", i/each), Message: fmt.Sprintf("it is so, %d", i), Subjects: []finding.Subject{{Kind: "place", Name: fmt.Sprint(i / each)}}})
		}
		return list
	}
	var losses []outcome.Loss
	for i := range 8 {
		loss := outcome.Loss{Place: fmt.Sprintf("place %d", i), Back: i%2 == 1}
		for k := range 2 * i {
			loss.Cues = append(loss.Cues, outcome.LossIn{Cue: fmt.Sprint(k), Was: 100 * float64(k/2+1), Is: 0.5 * float64(k/2)})
		}
		losses = append(losses, loss)
	}
	away, in := 1.26, outcome.LossIn{Cue: "4", Was: 300, Is: 0.4}
	var out bytes.Buffer
	for i, w := range []*outcome.WhatIf{
		{Question: "channel 1 dark", Come: found(1, 1), Worse: found(2, 1), Go: []finding.Finding{{Rule: "a/none", Message: "it is gone"}, {Rule: "a/none", Message: "it is gone too"}}, Losses: losses, StandIn: &outcome.StandIn{Channel: 2, Purpose: "key", AwayM: &away, Place: "desk", In: in, Lux: 200, From: 40, To: 80, New: 1}, Rests: []string{"a", "b", "c", "d"}},
		{Question: "channel 1 dark", Come: found(20, 2), Losses: losses[1:2], StandIn: &outcome.StandIn{Channel: 2, Purpose: "key", Place: "desk", In: in, Lux: 200, From: 40, To: 80}},
		{Question: "channel 1 dark", Go: found(7, 1), StandIn: &outcome.StandIn{Channel: 2, Place: "desk", In: in, Lux: 1, From: 40, To: 80, New: 2}}, {Question: "channel 1 dark", Come: found(6, 1), Losses: losses[3:4], Rests: []string{"a"}},
		{Question: "channel 1 dark", Unmeasured: "where the lamps hang"}, {Question: "channel 1 dark"},
	} {
		fmt.Fprintf(&out, "== %d\n%s\n", i+1, strings.Join(say.WhatIf(w), "\n"))
	}
	golden(t, "whatif.txt", out.Bytes())
}
