package proof

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
	"github.com/cueproof/cueproof/schema/typical"
)

// show reads a show with one lamp of a typical type on somebody who speaks.
func show(t *testing.T, level, more string) *schema.Show {
	t.Helper()
	s := schematest.Read(t, `{
	"room": {"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0}],
		"circuits": [{"name": "front", "volts": 230, "amps": 16}],
		"cameras": [{"name": "centre", "x": 0, "y": -12, "z": 1.6, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800}]},
	"types": [{"name": "front", "typical": "profile white 26"}],
	"patch": [{"channel": 1, "address": "1.1", "type": "front", "purpose": "key", "circuit": "front", "hung_at": {"x": 1, "y": -5, "z": 4.5}, "aimed_at": "lectern"`+more+`}],
	"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "duration_s": 600, "people": ["lectern"]}],
	"cues": [{"cue": 1, "in_s": 3, "set": [{"channels": "1", "level": `+level+`}]}]}`)
	if found := typical.Fill(s); len(found) > 0 {
		t.Fatal(found)
	}
	return s
}

func doubted(t *testing.T, level, more string) (state *State, open []finding.Finding, turns []string) {
	t.Helper()
	state = Check(show(t, level, more), rules.Own())
	open, turns = state.Doubt(rules.Own())
	return state, open, turns
}

func find(list []finding.Finding, rule string) *finding.Finding {
	for i := range list {
		if list[i].Rule == rule && list[i].Verdict == finding.Fail {
			return &list[i]
		}
	}
	return nil
}

func underRule(t *testing.T, state *State) *finding.Finding {
	t.Helper()
	for i := range state.Found {
		f := &state.Found[i]
		if f.Verdict == finding.Fail && f.Amount != nil && (strings.Contains(f.Amount.Fact, "under_stops") || strings.Contains(f.Amount.Fact, "dark_stops")) {
			return f
		}
	}
	return nil
}

// A lamp of 4,000 to 12,000 lm that is worked out with 7,000: the range is 0.8 stops
// down and as many up from its flux alone, and more from its angle.
func TestWhatFailsOverTheWholeRangeIsSure(t *testing.T) {
	dark, _, _ := doubted(t, "0.5", "")
	if f := underRule(t, dark); f == nil || f.Likely {
		t.Errorf("somebody who is lit by a half percent of any profile is dark for sure: %+v", f)
	}
	bright, _, _ := doubted(t, "100", "")
	if f := underRule(t, bright); f != nil {
		t.Skipf("the lamp of this test is too weak for its camera: %v", f.Message)
	}
	turned := false
	for _, level := range []string{"1", "2", "3", "4", "5", "7", "10", "15"} {
		dim, _, _ := doubted(t, level, "")
		if f := underRule(t, dim); f != nil && f.Likely {
			turned = true
			if f.Known != finding.Assumed || !strings.Contains(f.Message, `This rests on assumed numbers of the type "front"`) {
				t.Errorf("what turns within the range is told as %s: %s", f.Known, f.Message)
			}
		}
	}
	if !turned {
		t.Error("between dark and bright there is a level at which only the assumed flux decides, and none was found")
	}
}

// 16 A at 230 V and 80 % are 2944 W: fifteen of 200 W are over it with 3000 / 0.95 VA,
// and not with 120 W each.
func TestWhatCouldHurtIsNotTrusted(t *testing.T) {
	base := show(t, "50", "")
	for i := 2; i <= 12; i++ {
		more := *base.Patch[0]
		more.Channel = i
		base.Patch = append(base.Patch, &more)
	}
	state := Check(base, rules.Own())
	if f := find(state.Found, "patch/circuit-load"); f != nil {
		t.Fatalf("12 of 200 W are within 16 A: %s", f.Message)
	}
	open, turns := state.Doubt(rules.Own())
	told := false
	for _, f := range open {
		if f.Rule == "patch/circuit-load" {
			told = true
			if f.Verdict != finding.Open || len(f.Missing) != 1 || !strings.Contains(f.Message, "not to be trusted until") || !strings.Contains(f.Message, "so that circuit front carries ") || len(f.Remedies) > 0 {
				t.Errorf("the load of lamps of up to 320 W is told so: %+v", f)
			}
		}
		if !grave(f.Rule) {
			t.Errorf("%s is no matter of safety or patch", f.Rule)
		}
	}
	if !told || len(turns) == 0 {
		t.Errorf("12 lamps of up to 320 W may be too much for 16 A, and nobody says so: %v", turns)
	}
}

func TestWhatIsReadIsNotDoubted(t *testing.T) {
	s := show(t, "0.5", "")
	s.Types[0].Known = nil
	state := Check(s, rules.Own())
	if open, turns := state.Doubt(rules.Own()); len(open)+len(turns) > 0 {
		t.Errorf("nothing is assumed, and %v, %v turn", open, turns)
	}
}

func TestInferredPurposesAndAimsAreDoubted(t *testing.T) {
	doubts := typical.Doubts(show(t, "50", `, "known": {"purpose": "inferred", "aimed_at": "inferred", "hung_on": "inferred"}`))
	var rests []string
	for _, d := range doubts {
		rests = append(rests, d.Rests)
	}
	want := `assumed numbers of the type "front"|inferred aim of channel 1|inferred purpose of channel 1|several assumed numbers together`
	if got := strings.Join(rests, "|"); got != want {
		t.Errorf("doubted are %s\nwant %s", got, want)
	}
	for _, d := range doubts[1:2] {
		if aim := d.Shows[0].Patch[0].AimedAt; aim == nil || aim.Point == nil || aim.Point.X != -1.5 {
			t.Errorf("an inferred aim may be beside the only place, not at %+v", aim)
		}
	}
}
