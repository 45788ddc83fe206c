package plan

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// A shutter that no camera has is nothing that anybody can set; one that every camera has and
// that holds whole flashes is.
func TestShuttersAreThoseOfCameras(t *testing.T) {
	for _, tc := range []struct {
		pwm  string
		is   string  // s
		rate string  // pictures a second
		time float64 // s; 0: none
	}{
		{"180", "0.02", "25", 1.0 / 60}, {"420", "0.02", "25", 1.0 / 60}, {"240", "0.02", "25", 1.0 / 48}, {"250", "0.02", "25", 0}, {"220", "0.02", "25", 0}, {"600", "0.02", "25", 0},
		{"420", "0.025", "40", 1.0 / 60}, {"420", "0.0251", "40", 0}, // by half at most: 1/60 s is two thirds of 25 ms
		{"25", "0.05", "25", 1.0 / 25}, {"24", "0.05", "25", 0}, // no longer than the picture stands
	} {
		show := read(t, `{
			"types": [{"name": "panel", "pwm_hz": `+tc.pwm+`}], "patch": [{"channel": 1, "type": "panel"}], "cues": [{"cue": 1}],
			"room": {"cameras": [{"name": "centre", "shutter_s": `+tc.is+`, "frame_rate_hz": `+tc.rate+`, "sensitivity_iso": 400, "aperture_f": 4}]}
		}`)
		o := (&prover{Options: Options{Rules: rules.Own()}, start: &proof.State{Show: show}}).offers(&proof.State{Show: show})
		got, said := 0.0, ""
		o.wholePeriods(&finding.Finding{Rule: "camera/banding", Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}}, func(_ string, edits ...source.Edit) {
			for _, e := range edits {
				got, _ = e.Value.(float64)
				said = o.words.do(edits)
			}
		})
		if math.Abs(got-tc.time) > 1e-9 {
			t.Errorf("flashes of %s Hz: the shutter of %s s goes to %g, not %g", tc.pwm, tc.is, got, tc.time)
		}
		if tc.time > 0 && !strings.Contains(said, fmt.Sprintf("to 1/%.0f s", 1/tc.time)) {
			t.Errorf("nobody sets that: %s", said)
		}
	}
}

// With a patch alone, or with groups that nobody has given, nobody knows by which number a cue
// calls a lamp, so none is given.
func TestAPatchAloneGivesNoNumbers(t *testing.T) {
	const patch = `"patch": [{"channel": 1, "address": "1.1"}, {"channel": 1, "address": "1.2"}, {"channel": 2, "address": "1.3"}]`
	for cues, want := range map[string]bool{``: false, `, "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]`: true,
		`, "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "nobody knows", "level": 50}]}]`: false} {
		show := read(t, "{"+patch+cues+"}")
		o := &offers{state: &proof.State{Show: show}, start: show}
		given := false
		o.numberTwice(nil, func(string, ...source.Edit) { given = true })
		if given != want {
			t.Errorf("with cues %q a number is given: %v", cues, given)
		}
	}
}
