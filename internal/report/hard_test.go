package report

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
)

// hardComparison is a comparison with more of everything than a person is told: findings that are worse, checks that went, looks
// that changed, and all ways in which something is gone.
func hardComparison() *outcome.Comparison {
	c := &outcome.Comparison{
		Old: outcome.Side{Path: "before", Name: "Evening of old", Unreadable: true, Notes: []string{"a note of before"}}, New: outcome.Side{Path: "after", Name: "Evening", Notes: []string{"a note of now"}},
		Change: outcome.Change{
			Counts: outcome.Counts{New: 1, Worse: 12, Fixed: 4, Better: 1, Before: 2, Untold: 1, Review: 2},
			Lost:   []string{"Half of the cues are gone."},
			Review: []outcome.Review{{What: "limit", Text: "A limit is another."}, {What: "rule", Text: "A rule is off."}},
		},
	}
	amount := func(v float64) *finding.Amount { return &finding.Amount{Value: v, Unit: "stops"} }
	for i := range 14 {
		f := finding.Finding{
			Rule: fmt.Sprintf("pack/rule-%d", i), Level: finding.Levels[i%3], Verdict: finding.Fail, Consequence: []finding.Consequence{finding.Hurt, finding.Camera, finding.Later}[i%3], Message: fmt.Sprintf("The %d. is worse.", i),
			Base: finding.Worse, Amount: amount(1.5 + float64(i)), Before: &finding.Before{Amount: amount(1)},
		}
		for cue := range i % 4 {
			f.Before.More = append(f.Before.More, fmt.Sprint(cue+1))
		}
		c.Findings = append(c.Findings, f)
	}
	c.Findings = append(c.Findings, finding.Finding{Rule: "pack/new", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Dark, Message: "It is new.", Base: finding.New})
	for i := range 14 {
		d := outcome.Dark{Rule: fmt.Sprintf("pack/rule-%d", i), Why: fmt.Sprintf("the watts of type %d are missing", i/2*2)}
		for about := range i % 6 {
			d.About = append(d.About, fmt.Sprintf("channel %d", about))
		}
		c.Dark = append(c.Dark, d)
	}
	for i := range 14 {
		c.Dark = append(c.Dark, outcome.Dark{Rule: "pack/dark", Why: fmt.Sprintf("cue %d is gone", i)})
	}
	for i := range 9 {
		past := outcome.Past{Rule: fmt.Sprintf("pack/gone-%d", i%5), Key: fmt.Sprintf("key%d", i), Level: finding.Levels[i%3], Verdict: finding.Fail, Consequence: []finding.Consequence{finding.Room, finding.Hurt}[i%2], Message: fmt.Sprintf("It was there, %d.", i)}
		switch i {
		case 2:
			past.Untold = true
		case 3:
			past.Review = outcome.LimitChanged
		case 4:
			past.Review = outcome.SwitchedOff
		case 6:
			past.Accepted = true
		case 7:
			past.Verdict = finding.Open
		}
		c.Gone = append(c.Gone, past)
	}
	steps := func(n int) (list []outcome.ChannelStep) {
		for i := range n {
			list = append(list, outcome.ChannelStep{Channels: fmt.Sprint(10*i + 1), Step: outcome.Step{Old: number(5 * float64(i)), New: number(100 - float64(i))}})
		}
		return list
	}
	for i := range 43 {
		look := outcome.LookChange{OldCue: fmt.Sprint(i + 1), NewCue: fmt.Sprint(i + 1), Levels: steps(i % 10)}
		for k := range i % 7 {
			look.Colours = append(look.Colours, outcome.ColourStep{Channels: fmt.Sprint(k), Old: "3200 K", New: "5600 K"})
			look.Others = append(look.Others, outcome.OtherStep{What: []string{"aim", "effect"}[k%2], Of: []string{"11-14", ""}[k%2], Old: "", New: fmt.Sprintf("place %d", k)})
			look.Faces = append(look.Faces, outcome.FaceStep{Place: fmt.Sprintf("place %d", k), Step: outcome.Step{Old: number(100), New: number(100 * (1 + 0.02*float64(k)))}})
		}
		if i%9 == 8 {
			look = outcome.LookChange{OldCue: look.OldCue, NewCue: look.NewCue, Haze: steps(2), Output: outcome.Step{Old: number(40), New: number(40 * 1.0353)}} // 0.05005 stops
		}
		if i%9 == 7 {
			look = outcome.LookChange{OldCue: look.OldCue, NewCue: look.NewCue, Output: outcome.Step{Old: number(40), New: number(40 * 1.0352)}} // 0.0499
		}
		c.Looks = append(c.Looks, look)
	}
	return c
}

func TestAHardComparison(t *testing.T) {
	for name, c := range map[string]*outcome.Comparison{"hard_comparison": hardComparison(), "same_comparison": {Old: outcome.Side{Path: "a", Name: "E"}, New: outcome.Side{Path: "b", Name: "E"}, SameLooks: 1}} {
		var out bytes.Buffer
		if err := text.Comparison(&out, c, say.Options{}); err != nil {
			t.Fatal(err)
		}
		golden(t, name+".txt", out.Bytes())
		assertFits(t, out.String())
		out.Reset()
		if err := jsonreport.Comparison(&out, c, say.Options{All: true}); err != nil {
			t.Fatal(err)
		}
		golden(t, name+".json", out.Bytes())
	}
}

// TestWhatAFindingWas: what was measured then and now, unless that is as it was, and in which cues it shows that it did not show in.
func TestWhatAFindingWas(t *testing.T) {
	was, is := &finding.Amount{Value: 1.2, Unit: "stops"}, &finding.Amount{Value: 1.92, Unit: "stops"}
	for want, f := range map[string]*finding.Finding{
		"": {Amount: is}, "was 1.2 stops, is 1.92 stops": {Base: finding.Worse, Amount: is, Before: &finding.Before{Amount: was}},
		"shows in cue 3 as well now":                               {Base: finding.Worse, Amount: is, Before: &finding.Before{More: []string{"3"}}},
		"shows in cues 3, 4 as well now":                           {Base: finding.Unchanged, Amount: is, Before: &finding.Before{Amount: was, More: []string{"3", "4"}}},
		"was 1.92 stops, is 1.2 stops; shows in cue 3 as well now": {Base: finding.Better, Amount: was, Before: &finding.Before{Amount: is, More: []string{"3"}}},
	} {
		if got := say.Was(f); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// TestNumbersForPeople: three digits, none of them a power of ten, ranges of minutes, and counts of what changed.
func TestNumbersForPeople(t *testing.T) {
	for i, c := range [][2]string{
		{say.Short(nil), "unknown"}, {say.Short(number(0.12345)), "0.123"}, {say.Short(number(99.96)), "100"}, {say.Short(number(100.4)), "100"}, {say.Short(number(1234.5)), "1234"}, {say.Short(number(-1234567)), "-1234567"},
		{say.Minutes(outcome.Minutes{Least: 5, Most: 15}), "5-15"}, {say.Minutes(outcome.Minutes{Least: 5, Most: 5}), "5"}, {say.InBrackets(outcome.Minutes{}), ""}, {say.InBrackets(outcome.Minutes{Least: 0, Most: 0.5}), " (0-0.5 min)"},
		{say.Counts(outcome.Counts{}), "0 new, 0 fixed, 0 as before"}, {say.Counts(outcome.Counts{New: 1, Worse: 2, Fixed: 3, Better: 4, Before: 5, Untold: 6, Review: 7}), "1 new, 2 worse, 3 fixed, 4 better, 5 as before, 6 of which nobody can tell any more, 7 gone by a change of rules, limits or what is meant"},
		{say.Clears(1, 1, 1), "1 order would clear it"}, {say.Clears(2, 3, 3), "2 orders would clear all 3 findings"}, {say.Clears(2, 3, 4), "2 orders would clear 3 of 4 findings"}, {say.Clears(2, 0, 1), "2 orders would clear 0 of 1 finding"},
		{fmt.Sprint(say.RoundFact(0.0000099, say.PeopleDigits), say.RoundFact(0.00001, say.PeopleDigits), say.RoundFact(-0.0000099, say.PeopleDigits), say.RoundFact(0.0000099, say.MachineDigits), say.RoundFact(1.23456, say.PeopleDigits)), "0 1e-05 0 9.9e-06 1.235"},
	} {
		if c[0] != c[1] {
			t.Errorf("%d: %q, want %q", i, c[0], c[1])
		}
	}
	for _, c := range []struct {
		step outcome.Step
		want float64
		ok   bool
	}{{outcome.Step{Old: number(1), New: number(4)}, 2, true}, {outcome.Step{Old: number(0), New: number(4)}, 0, false}, {outcome.Step{Old: number(1), New: number(0)}, 0, false}, {outcome.Step{New: number(4)}, 0, false}, {outcome.Step{Old: number(4)}, 0, false}, {outcome.Step{Old: number(4), New: number(1)}, -2, true}} {
		if got, ok := say.Stops(c.step); ok != c.ok || got != c.want {
			t.Errorf("%v: %g, %t", c.step, got, ok)
		}
	}
}
