package lint

import (
	"maps"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/schema"
)

// What shows only because a part of the cue list was not read is no fact: likely where a
// value was lost, open where a whole cue or all names were. What does not depend on it
// stands.
func TestWhatRestsOnUnreadCuesIsNoFact(t *testing.T) {
	const dark = `{"cue": 1, "in_s": 3, "set": [{"channels": "1-2", "level": 80}]}, {"cue": 2, "in_s": 3, "set": [{"channels": "1-2", "level": 0}, {"channels": "3", "level": 50}]}`
	for _, test := range []struct {
		name, cues, groups string
		want               string // of the dark face: its verdict, "likely" or nothing
	}{
		{"read whole", dark, `{}`, "fail"},
		{"a level that is none", `{"cue": 1, "in_s": 3, "set": [{"channels": "1-2", "level": 80}]}, {"cue": 2, "in_s": 3, "set": [{"channels": "3", "level": 50}, {"channels": "1-2", "level": "6o"}]}, {"cue": 3, "in_s": 3, "tracking": "release", "set": [{"channels": "3", "level": 20}]}`, `{}`, "likely"},
		{"a name that nobody explains", `{"cue": 1, "in_s": 3, "tracking": "release", "set": [{"channels": "3", "level": 50}, {"channels": "left", "level": 80}]}`, `{"right": "1"}`, "likely"},
		{"the faults are before it", dark + `, {"cue": 3, "set": [{"channels": "left", "level": 80}]}`, `{"right": "1"}`, "fail"},
		{"all names", `{"cue": 1, "in_s": 3, "tracking": "release", "set": [{"channels": "3", "level": 50}, {"channels": "left", "level": 80}]}`, `{}`, "open"},
		{"a cue without a number", `{"cue": "1o", "in_s": 3, "set": [{"channels": "1-2", "level": 80}]}, {"cue": 2, "in_s": 3, "set": [{"channels": "3", "level": 50}]}`, `{}`, "open"},
	} {
		show := maps.Clone(lectern)
		delete(show, "desk.asc")
		show["cues.json"], show["groups.json"] = "["+test.cues+"]", test.groups
		list := found(t, show, Exports{})
		at := slices.IndexFunc(list, func(f finding.Finding) bool { return f.Rule == "people/no-key" })
		got := ""
		if at >= 0 {
			got = string(list[at].Verdict)
			if list[at].Likely {
				got = "likely"
			}
		}
		if got != test.want {
			t.Errorf("%s: the dark face is %q, want %q", test.name, got, test.want)
			for _, f := range list {
				t.Log(f.Rule, f.Verdict, f.Cues, f.Message)
			}
		}
		if got := verdictOf(list, "patch/address-overlap"); got != "fail" {
			t.Errorf("%s: two lamps at one address are %q, whatever the cues say", test.name, got)
		}
	}
}

// TestWhatWasNotReadIsWrittenBeforeOrders that rest on it: one task names them and the cells.
func TestWhatWasNotReadIsWrittenBeforeOrders(t *testing.T) {
	cell := func(detail, message string) finding.Finding {
		return finding.Finding{Rule: "file/out-of-range", Verdict: finding.Fail, Level: finding.Error, Detail: detail, Subjects: []finding.Subject{{Kind: "cue", Name: "2"}}, Message: message}
	}
	dim := func(place string, rests ...string) finding.Finding {
		return finding.Finding{Rule: "people/dim-face", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: place}}, Rests: rests}
	}
	lost := []finding.Finding{
		cell("a", `Level of channels left of cue 2 is "6o"; wanted is a level.`), cell("b", `Level of channels right of cue 2 is "x"; wanted is a level.`),
		cell("c", `Level of channels top of cue 2 is "y"; wanted is a level.`), cell("d", `Level of channels back of cue 2 is "z"; wanted is a level.`),
		cell("e", `Level of channels drape of cue 2 is "?"; wanted is a level.`),
	}
	number, err := schema.ParseCueNumber("2")
	if err != nil {
		t.Fatal(err)
	}
	show := &schema.Show{Cues: []*schema.Cue{{Number: number}}}
	const rests = "what was not read of cue 2"
	for _, test := range []struct {
		lost   int
		dims   []finding.Finding // each is cleared by an order of its own
		do     string            // none is wanted where nothing stands
		orders int
	}{
		{1, []finding.Finding{dim("a"), dim("b", rests)}, `Before order 2, write what could not be read, and check again. Level of channels left of cue 2 is "6o"; wanted is a level.`, 2},
		{2, []finding.Finding{dim("a", rests), dim("b", rests)}, `Before orders 1 and 2, write what could not be read, and check again. Level of channels left of cue 2 is "6o"; wanted is a level. Likewise: Level of channels right of cue 2 is "x".`, 2},
		{5, []finding.Finding{dim("a", rests), dim("b", rests), dim("c", rests), dim("d", rests), dim("e", rests), dim("f", rests)}, `Before orders 1, 2, 3, 4 and 2 more, write what could not be read, and check again. Level of channels left of cue 2 is "6o"; wanted is a level. Likewise: Level of channels right of cue 2 is "x", Level of channels top of cue 2 is "y" and 2 more.`, 6},
		{1, []finding.Finding{dim("a", "the peak of a type")}, "", 1},
		{1, nil, "", 0},
	} {
		u := unreadOf(lost[:test.lost], show)
		told := &outcome.Show{Findings: test.dims}
		for i := range test.dims {
			told.Orders = append(told.Orders, outcome.Order{Cures: []string{test.dims[i].Key()}})
		}
		tasks := u.writeAgain(told)
		do := ""
		if len(tasks) > 0 {
			do = tasks[0].Do
			if !tasks[0].First || len(tasks[0].Cures) != test.lost || tasks[0].Level != finding.Error {
				t.Errorf("the task is %+v", tasks[0])
			}
		}
		if do != test.do {
			t.Errorf("%d places and %d findings: %q\nwant %q", test.lost, len(test.dims), do, test.do)
		}
	}
	if tasks := (*unread)(nil).writeAgain(&outcome.Show{}); tasks != nil {
		t.Errorf("all was read, and there is a task: %+v", tasks)
	}
}
