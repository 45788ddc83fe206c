package finding

import (
	"fmt"
	"strings"
	"testing"
)

// TestWhatStopsAGate: what is new, worse, or can no longer be told.
func TestWhatStopsAGate(t *testing.T) {
	for state, want := range map[BaseState]bool{New: true, Worse: true, Untold: true, Unchanged: false, Better: false, "": false} {
		if state.Grew() != want {
			t.Errorf("%q stops it: %t", state, !want)
		}
	}
}

// TestWhatAFindingIsAbout is said narrowest first; one that is about several things alike says of how many.
func TestWhatAFindingIsAbout(t *testing.T) {
	for want, subjects := range map[string][]Subject{
		"": nil, "show": {{Kind: "show"}}, "channel 12": {{Kind: "channel", Name: "12"}}, "channel 12 of cue 4": {{Kind: "channel", Name: "12"}, {Kind: "cue", Name: "4"}},
	} {
		if got := (&Finding{Subjects: subjects}).About(); got != want {
			t.Errorf("%v is said %q, not %q", subjects, got, want)
		}
	}
	// One is about its subjects for want of what it says; one that stands for others, each for want of the same or of its own.
	for want, f := range map[string]Finding{
		"1: channel 2 a b":              {Subjects: []Subject{{Kind: "channel", Name: "2"}}, Missing: []string{"a", "b"}},
		"2: channel 3 a; channel 4 a":   {Subjects: []Subject{{Kind: "channel"}}, Missing: []string{"a"}, Alike: &Alike{Things: []string{"channel 3", "channel 4"}}},
		"2: channel 3 b; channel 4 c d": {Subjects: []Subject{{Kind: "channel"}}, Missing: []string{"a"}, Alike: &Alike{Things: []string{"channel 3", "channel 4"}, Missing: [][]string{{"b"}, {"c", "d"}}}},
	} {
		var gaps []string
		for thing, missing := range f.Gaps {
			gaps = append(gaps, thing+" "+strings.Join(missing, " "))
		}
		if got := fmt.Sprintf("%d: %s", f.Things(), strings.Join(gaps, "; ")); got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}

// TestHowBadARuleIs, and how bad at worst.
func TestHowBadARuleIs(t *testing.T) {
	for _, c := range []struct {
		rule  Rule
		worst Level
		words string
	}{{Rule{Level: Note}, Note, "note"}, {Rule{Level: Warning, Gravest: Error}, Error, "warning, at worst error"}} {
		if worst, words := c.rule.Worst(), c.rule.Levels(); worst != c.worst || words != c.words {
			t.Errorf("%+v: %s, %q", c.rule, worst, words)
		}
	}
}

// TestWhatIsBeyondAPublishedLimit: on one side of it, and not the limit itself; no other limit has such a side.
func TestWhatIsBeyondAPublishedLimit(t *testing.T) {
	for side, want := range map[Published][3]bool{Most: {false, false, true}, Least: {true, false, false}, "": {}} {
		for i, value := range []float64{2.9, 3, 3.1} {
			if got := (&Limit{Value: 3, Published: side}).Beyond(value); got != want[i] {
				t.Errorf("%g is beyond %q 3: %t", value, side, got)
			}
		}
	}
}

// TestTheGravestComeFirst: by consequence, then what is sure, then by level, then by rule; what is accepted or open is none.
func TestTheGravestComeFirst(t *testing.T) {
	of := func(name string, consequence Consequence, likely bool, level Level) Finding {
		return Finding{Rule: "a/" + name, Verdict: Fail, Consequence: consequence, Likely: likely, Level: level}
	}
	open, accepted := of("open", Hurt, false, Error), of("accepted", Hurt, false, Error)
	open.Verdict, accepted.Accepted = Open, &Acceptance{}
	list := []Finding{
		open, of("g", Later, false, Error), of("f", Camera, true, Error), of("d", Camera, false, Warning), of("e", Camera, false, Note), accepted,
		of("c", Camera, false, Error), of("b", Camera, false, Error), of("a", Dark, true, Note),
	}
	var got []string
	for _, f := range Gravest(list) {
		got = append(got, strings.TrimPrefix(f.Rule, "a/"))
	}
	if words := strings.Join(got, " "); words != "a b c d e f g" {
		t.Errorf("they come as %s", words)
	}
	if list[0].Rule != "a/open" {
		t.Error("the list itself is in another order")
	}
}

// TestWhatAFindingRestsOn is said in one sentence, that names three things and counts the rest.
func TestWhatAFindingRestsOn(t *testing.T) {
	for n, want := range []string{"No.", "No. This rests on a.", "No. This rests on a and b.", "No. This rests on a, b and c.", "No. This rests on a, b, c and 1 more.", "No. This rests on a, b, c and 2 more."} {
		f := Finding{Message: "No."}
		f.Doubt(Inferred, strings.Split("abcde", "")[:n]...)
		if f.Message != want || !f.Likely || f.Known != Inferred {
			t.Errorf("%d things: %q, likely %t, %v", n, f.Message, f.Likely, f.Known)
		}
		unsure := ""
		if n > 0 {
			unsure = " This is likely and not sure: look first at a."
		}
		if got := f.Unsure(); got != unsure {
			t.Errorf("%d things: %q", n, got)
		}
	}
	f := Finding{Message: "No.", Known: Assumed, Rests: []string{"b"}}
	if got := f.restsOn() + f.Unsure(); got != "" {
		t.Errorf("of what is sure it is said %q", got)
	}
	f.Doubt(Derived, "a", "b")
	f.Doubt(Inferred, "c")
	if f.Message != "No. This rests on c, a and b." || f.Known != Assumed {
		t.Errorf("in doubt twice: %q, %v", f.Message, f.Known)
	}
	if got := fmt.Sprint(Amount{Fact: "person.under_stops", Value: 1.5, Unit: "stops"}); got != "person.under_stops = 1.5 stops" {
		t.Errorf("an amount is written %q", got)
	}
}
