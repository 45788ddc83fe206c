package lint

import (
	"maps"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
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
