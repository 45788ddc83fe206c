package schema

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"
)

func hall() *Show {
	return &Show{
		Patch: []*Fixture{
			{Channel: 3, Groups: []string{"Front"}}, {Channel: 1, Groups: []string{"front", "odd"}},
			{Channel: 3}, {Channel: 0, Name: "unread", Groups: []string{"front"}}, {Channel: 2}, {Channel: 10}, {Channel: 11}, {Channel: 20}, {Channel: 30},
		},
		Groups: map[string]string{"front": "10-11", "2nd row": "20", "a, b": "30", "broken": "x"},
	}
}

func TestSelections(t *testing.T) {
	show := hall()
	for text, want := range map[string][]int{
		"1-3,9": {1, 2, 3}, "all": {3, 1, 2, 10, 11, 20, 30}, " ALL ": {3, 1, 2, 10, 11, 20, 30}, "front": {10, 11, 3, 1}, "FRONT": {10, 11, 3, 1}, "odd": {1},
		"2nd row": {20}, "a, b": {30}, "front, 2": {10, 11, 3, 1, 2}, "1-3+odd;2nd row": {1, 2, 3, 20}, "broken": nil, "9": nil,
		"2-99999,1": {2, 3, 10, 11, 20, 30, 1}, "3,1-2,1-3": {3, 1, 2}, "odd, ODD, odd": {1},
	} {
		for range 2 { // worked out, and remembered
			if got, err := show.Channels(text); err != nil || !slices.Equal(got, want) {
				t.Errorf("%q is %v, %v; want %v", text, got, err, want)
			}
		}
	}
	for text, part := range map[string]string{
		"": "no channel", "frnt": `no group is called "frnt"`, "front,bak": `no group is called "bak"`, "3-1": "backwards", "1-": "not a channel", "0": "not a channel",
	} {
		for range 2 {
			if got, err := show.Channels(text); err == nil || !strings.Contains(err.Error(), part) {
				t.Errorf("%q is %v, %v; want ...%s...", text, got, err, part)
			}
		}
	}
	if got := (&Show{}).GroupNames(); len(got) != 0 {
		t.Errorf("an empty show has groups %v", got)
	}
	if got, want := show.GroupNames(), []string{"2nd row", "Front", "a, b", "broken", "front", "odd"}; !slices.Equal(got, want) {
		t.Errorf("groups are %v; want %v", got, want)
	}
	if got, err := (&Show{}).Channels("all"); err != nil || len(got) != 0 {
		t.Errorf("all of an empty show is %v, %v", got, err)
	}
}

func TestSelectionsFromSeveralGoroutines(t *testing.T) {
	show := hall()
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			for _, text := range []string{"all", "front", "1-6,9", "nobody"} {
				_, _ = show.Channels(text)
			}
			if _, err := Apply(show, nil); err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
}

func TestUnpatched(t *testing.T) {
	show := hall()
	show.Groups["wide"] = "5-12"
	for text, want := range map[string]string{
		"1-3": "", "1-99999": "4-9, 12-19, 21-29, 31-99999", "9,4-5,5-8": "4-9", "all": "", "front": "", "wide": "5-9, 12", "wide,1-4": "4-9, 12", "nobody": "", "99999": "99999",
	} {
		for range 2 {
			if got := show.Unpatched(text); got.String() != want {
				t.Errorf("of %q %q is unpatched; want %q", text, got, want)
			}
		}
	}
	most := show.Unpatched("1-99999")
	if most.Count() != MaxChannel-7 || !slices.Equal(most.First(8), []int{4, 5, 6, 7, 8, 9, 12, 13}) {
		t.Errorf("%d unpatched, first %v", most.Count(), most.First(8))
	}
}

// Every channel of a selection is either patched or not, and none is both.
func TestSelectionsAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		show := &Show{}
		for _, channel := range rapid.SliceOfN(rapid.IntRange(1, 40), 0, 20).Draw(rt, "patch") {
			show.Patch = append(show.Patch, &Fixture{Channel: channel})
		}
		var parts []string
		var want []int
		for range rapid.IntRange(1, 8).Draw(rt, "parts") {
			first := rapid.IntRange(1, 30).Draw(rt, "first")
			last := first + rapid.IntRange(0, 12).Draw(rt, "more")
			parts = append(parts, fmt.Sprintf("%d-%d", first, last))
			for c := first; c <= last; c++ {
				if !slices.Contains(want, c) {
					want = append(want, c)
				}
			}
		}
		text := strings.Join(parts, ",")
		isPatched := func(c int) bool {
			return slices.ContainsFunc(show.Patch, func(f *Fixture) bool { return f.Channel == c })
		}
		var without []int
		for _, c := range want {
			if !isPatched(c) {
				without = append(without, c)
			}
		}
		slices.Sort(without)
		// The order written is kept and no channel comes twice.
		want = slices.DeleteFunc(want, func(c int) bool { return !isPatched(c) })
		if got, err := show.Channels(text); err != nil || !slices.Equal(got, want) {
			rt.Fatalf("%s is %v, %v; want %v", text, got, err, want)
		}
		if got := show.Unpatched(text).First(100); !slices.Equal(got, without) {
			rt.Fatalf("%s has unpatched %v; want %v", text, got, without)
		}
	})
}

// A slip in one cell, or in 250 groups, costs no more than the channels that are
// patched: one by one these would be 50 million steps and as many numbers.
func TestWideSelectionsAreCheap(t *testing.T) {
	show := hall()
	cue := &Cue{Number: 1}
	var names []string
	for i := range 250 {
		name := fmt.Sprint("group ", i)
		names = append(names, name)
		show.Groups[name] = "1-99999"
		cue.Set = append(cue.Set, &Setting{Told: new(Told), Channels: name}, &Setting{Told: new(Told), Channels: fmt.Sprintf("1-%d", 99_999-i)})
	}
	cue.Set = append(cue.Set, &Setting{Told: new(Told), Channels: strings.Join(names, ",")})
	show.Cues = []*Cue{cue}
	allocated := testing.AllocsPerRun(1, func() {
		show.selections = nil
		for _, set := range cue.Set {
			channels, err := show.Channels(set.Channels)
			if err != nil || len(channels) != 7 || show.Unpatched(set.Channels).Count() < 99_700 {
				t.Fatalf("%s: %v, %v", source.Shorten(set.Channels), channels, err)
			}
		}
		show.Check()
	})
	if allocated > 50_000 {
		t.Errorf("%v allocations", allocated)
	}
}

// What is remembered has an end, and what is not remembered is still right.
func TestSelectionsRememberABoundedAmount(t *testing.T) {
	show := hall()
	for i := range 20_000 {
		show.Patch = append(show.Patch, &Fixture{Channel: 100 + i})
	}
	first := ""
	for range mostRemembered/20_000 + 10 {
		first += " "
		if got, err := show.Channels(first + "100-99999"); err != nil || len(got) != 20_000 {
			t.Fatalf("%d channels, %v", len(got), err)
		}
	}
	sum := 0
	for _, known := range show.selections.known {
		sum += len(known.channels)
	}
	if sum > mostRemembered || sum < mostRemembered/2 {
		t.Errorf("%d channels are remembered", sum)
	}
	show = hall()
	_, _ = show.Channels("1-2, 900-905, 907") // two that are there, and two ranges of what nobody has
	if taken := mostRemembered - show.selections.room; taken != 2+2+1 {
		t.Errorf("it takes room for %d", taken)
	}
}

func TestRemarksAreNoGroups(t *testing.T) {
	var show Show
	show.Read("groups", parse(t, `{"front": "1-3", "note": "front is the bar over row one", "x_colour": "blue", "$schema": "groups.schema.json", "bad": 5}`))
	if got := show.GroupNames(); !slices.Equal(got, []string{"front"}) {
		t.Errorf("the groups are %v", got)
	}
}

func TestEndOfARange(t *testing.T) {
	r, err := ParseRanges("4-6,9,20-30")
	if err != nil {
		t.Fatal(err)
	}
	for channel, want := range map[int]int{3: 0, 4: 6, 6: 6, 7: 0, 9: 9, 19: 0, 20: 30, 30: 30, 31: 0} {
		if last, ok := r.End(channel); last != want || ok != (want > 0) {
			t.Errorf("channel %d: %d %v, want %d", channel, last, ok, want)
		}
	}
}
