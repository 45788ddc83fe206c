package schema

import (
	"slices"
	"strings"
	"sync"
	"testing"
)

func hall() *Show {
	return &Show{
		Patch: []*Fixture{
			{Channel: 3, Groups: []string{"Front"}}, {Channel: 1, Groups: []string{"front", "odd"}},
			{Channel: 3}, {Channel: 0, Name: "unread", Groups: []string{"front"}}, {Channel: 2},
		},
		Groups: map[string]string{"front": "10-11", "2nd row": "20", "a, b": "30", "broken": "x"},
	}
}

func TestSelections(t *testing.T) {
	show := hall()
	for text, want := range map[string][]int{
		"1-3,9": {1, 2, 3, 9}, "all": {3, 1, 2}, " ALL ": {3, 1, 2}, "front": {10, 11, 3, 1}, "FRONT": {10, 11, 3, 1}, "odd": {1},
		"2nd row": {20}, "a, b": {30}, "front, 2": {10, 11, 3, 1, 2}, "1-3+odd;2nd row": {1, 2, 3, 20}, "broken": nil,
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

// What is remembered has an end, and what is not remembered is still right.
func TestSelectionsRememberABoundedAmount(t *testing.T) {
	show := hall()
	first := ""
	for i := range 2*mostRemembered/MaxChannel + 2 {
		first += " "
		if got, err := show.Channels(first + "1-99999"); err != nil || len(got) != MaxChannel {
			t.Fatalf("%d: %d channels, %v", i, len(got), err)
		}
	}
	sum := 0
	for _, known := range show.selections.known {
		sum += len(known.channels)
	}
	if sum > mostRemembered {
		t.Errorf("%d channels are remembered", sum)
	}
}

func TestRemarksAreNoGroups(t *testing.T) {
	var show Show
	show.Read("groups", parse(t, `{"front": "1-3", "note": "front is the bar over row one", "x_colour": "blue", "$schema": "groups.schema.json", "bad": 5}`))
	if got := show.GroupNames(); !slices.Equal(got, []string{"front"}) {
		t.Errorf("the groups are %v", got)
	}
}
