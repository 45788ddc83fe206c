package plan

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// What was otherwise in an earlier state is offered as it was, each kind of thing by itself: cameras, lamps for the place or of the
// finding, where a face looked, times, and levels; and nothing that is as it was or that nobody told then.
func TestAsItWasBefore(t *testing.T) {
	const text = `{"room": {"places": [{"name": "desk", "x": 0, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": %s}], "cameras": [{"name": "front", "white_k": %s}, {"name": "new%[2]s", "white_k": 4000}]},
		"patch": [{"channel": 7%[1]s, "purpose": "key", "aimed_at": "desk"}, {"channel": 1, "purpose": "key", "address": "%[3]s", "zoom_deg": 20, "aimed_at": "desk"}, {"channel": 2, "purpose": "key", "address": "1.9", "aimed_at": %[4]s}, {"channel": 3, "purpose": "wash", "address": "%[3]s"}],
		"cues": [{"cue": 1, "in_s": %[5]s, "set": [{"channels": "1-2", "level": %[6]s}]}, {"cue": 2}, {"cue": 3, "set": [{"channels": "1", "level": 30}]}]}`
	then := read(t, fmt.Sprintf(text, "0", "5600", "1.1", `"desk"`, "3", "60"))
	found := at("people/no-key", "desk", "1", "2")
	for about, c := range map[string]struct {
		facing, white, address, aim, in, level string
		want                                   string
	}{
		"nothing":          {"0", "5600", "1.1", `"desk"`, "3", "60", ""},
		"where it looks":   {"10", "5600", "1.1", `"desk"`, "3", "60", "facing_deg=0"},
		"a camera":         {"0", "3200", "1.1", `"desk"`, "3", "60", "white_k=5600"},
		"an address":       {"0", "5600", "1.5", `"desk"`, "3", "60", "address=1.1"},
		"beside a new one": {"10", "5600", "1.5", `"desk"`, "3", "60", "address=1.1 facing_deg=0"}, // channel 710 was not there then
		"an aim elsewhere": {"0", "5600", "1.1", `{"x": 9, "y": 1, "z": 1.6}`, "3", "60", "aimed_at=desk"},
		"a time":           {"0", "5600", "1.1", `"desk"`, "0.5", "60", "in_s=3"},
		"levels":           {"0", "5600", "1.1", `"desk"`, "3", "20", "level=60 level=60"},
	} {
		o := offersFound(t, fmt.Sprintf(text, c.facing, c.white, c.address, c.aim, c.in, c.level), found)
		o.earlier = earlierOf(then)
		var list [][]source.Edit
		o.asBefore(&o.order[0], heard(&list))
		var got []string
		for _, edits := range list {
			for _, e := range edits {
				value := e.Value
				if aim, ok := value.(schema.Aim); ok {
					value = aim.Name
				}
				got = append(got, fmt.Sprintf("%s=%v", e.Field, value))
			}
		}
		if words := strings.Join(got, " "); words != c.want {
			t.Errorf("%s: %s, want %s", about, words, c.want)
		}
		// That comes first of all causes, and not once more among those that take a lift.
		for last, want := range map[bool]int{false: len(list), true: 0} {
			cures, n := o.causes(&o.order[0], last), 0
			for n < len(cures) && cures[n].cause == "before" {
				n++
			}
			if n != want {
				t.Errorf("%s: %d come first of the causes, want %d", about, n, want)
			}
		}
	}
}
