package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

// TestWhatIsOpenAlikeIsToldTogether holds one state judged thing by thing against the same
// with few findings of one thing: no thing is lost or counted twice, and what is told to
// somebody who holds two states against each other is each.
func TestWhatIsOpenAlikeIsToldTogether(t *testing.T) {
	const fixtures, known, apart = 50, 7, 10
	patch := make([]string, fixtures)
	for i := range patch {
		kind := "bare"
		if i < known {
			kind = "told"
		}
		patch[i] = fmt.Sprintf(`{"channel": %d, "type": %q}`, i+1, kind)
	}
	m := measured(t, fmt.Sprintf(`{"types": [{"name": "told", "tlci": 92, "slots": 4}, {"name": "bare", "slots": 4}], "patch": [%s]}`, strings.Join(patch, ",")))
	rule := mustLoad(t, written("expect: fixture.tlci >= 95"))
	each, tally := (&Set{Rules: []*Rule{rule}}).Judge(m)
	few := &Set{Rules: []*Rule{rule}, Apart: apart}
	found, tallyOfFew := few.Judge(m)
	if tally[0].Open != fixtures-known || tally[0].Open != tallyOfFew[0].Open || tally[0].Subjects != tallyOfFew[0].Subjects || tally[0].Fails != tallyOfFew[0].Fails {
		t.Errorf("the tallies are %+v and %+v", tally[0], tallyOfFew[0])
	}
	if len(each) != fixtures || len(found) != known+apart+1 {
		t.Errorf("%d findings of one thing, and %d where they are told together", len(each), len(found))
	}
	about := map[string]int{}
	for i := range found {
		f := &found[i]
		if f.Alike == nil {
			about[f.About()]++
			continue
		}
		if f.About() != "channel" || f.Verdict != finding.Open || f.Message != fmt.Sprintf("Could not tell of %d more: %s", fixtures-known-apart, rule.Title) {
			t.Errorf("the others are told as %q: %q", f.About(), f.Message)
		}
		for _, thing := range f.Alike.Things {
			about[thing]++
		}
	}
	for i := range each {
		if about[each[i].About()] != 1 {
			t.Errorf("%s is told %d times", each[i].About(), about[each[i].About()])
		}
	}
	if compared, _, _, _ := few.JudgeAndTell(m); len(compared) != len(each) {
		t.Errorf("of %d findings that are compared %d are told", len(each), len(compared))
	}
}

// TestALongListHasEachWordOnce holds what is looked up against what is looked through.
func TestALongListHasEachWordOnce(t *testing.T) {
	var got, want []string
	j := judgement{}
	for i := range 4 * long {
		words := []string{fmt.Sprint("cue ", i), fmt.Sprint("cue ", i/2), fmt.Sprint("cue ", 5*i)}
		for _, word := range words {
			if !slices.Contains(want, word) {
				want = append(want, word)
			}
		}
		got = j.withMore(got, words, listOf{0, "cues"})
	}
	if !slices.Equal(got, want) || len(j.has[listOf{0, "cues"}]) != len(want) {
		t.Errorf("%d words, %d looked up, want %d", len(got), len(j.has[listOf{0, "cues"}]), len(want))
	}
}

// TestWhatShowsAllEveningIsOneList: what two rules find of two people, in the same hundreds of cues, has one
// list of them, and each finding of a rule the one list of its limits.
func TestWhatShowsAllEveningIsOneList(t *testing.T) {
	cues := make([]string, 4*long)
	for i := range cues {
		cues[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": %d}]}`, i+1, 10+i%80)
	}
	m := measured(t, fmt.Sprintf(`{"room": {"places": [{"name": "left"}, {"name": "right"}]}, "order": [{"name": "song", "start_cue": 1, "people": ["left", "right"]}], "patch": [{"channel": 1}], "cues": [%s]}`, strings.Join(cues, ",")))
	set := &Set{}
	for range 2 {
		set.Rules = append(set.Rules, mustLoad(t, written("over: person", "expect: person.late_s >= limit.least", "limits:", "  least: {value: 1, unit: s, source: none}")))
	}
	found, _ := set.Judge(m)
	if len(found) != 4 {
		t.Fatalf("%d findings", len(found))
	}
	for i := range found {
		f := &found[i]
		if len(f.Cues) != len(cues) || cap(f.Cues) != len(cues) {
			t.Fatalf("%s shows in %d cues, with room for %d", f.About(), len(f.Cues), cap(f.Cues))
		}
		if &f.Cues[0] != &found[0].Cues[0] {
			t.Errorf("%s of rule %d has a list of its own", f.About(), i/2)
		}
		if first := &found[i/2*2]; len(f.Limits) != 1 || &f.Limits[0] != &first.Limits[0] {
			t.Errorf("%s of rule %d has limits of its own", f.About(), i/2)
		}
	}
}

// TestWhatRulesCannotTellOfTheSameThingsIsOneList: of the same hundreds of lamps two rules cannot tell, and
// these are listed once.
func TestWhatRulesCannotTellOfTheSameThingsIsOneList(t *testing.T) {
	patch := make([]string, 4*long)
	for i := range patch {
		patch[i] = fmt.Sprintf(`{"channel": %d, "type": "bare"}`, i+1)
	}
	m := measured(t, fmt.Sprintf(`{"types": [{"name": "bare", "slots": 4}], "patch": [%s]}`, strings.Join(patch, ",")))
	set := &Set{Apart: 1, Rules: []*Rule{mustLoad(t, written("expect: fixture.tlci >= 95")), mustLoad(t, written("expect: fixture.cri >= 95"))}}
	found, _ := set.Judge(m)
	if len(found) != 4 || found[1].Alike == nil || found[3].Alike == nil {
		t.Fatalf("%d findings", len(found))
	}
	one, other := found[1].Alike.Things, found[3].Alike.Things
	if len(one) != len(patch)-1 || &one[0] != &other[0] || cap(one) != len(one) {
		t.Errorf("%d things with room for %d, and a list of their own", len(one), cap(one))
	}
}
