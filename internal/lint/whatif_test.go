package lint

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/rules"
)

// twoKeys is a hall with two key lights on a pulpit, one of them at 60 %, and a third that
// is dark beside the first.
const twoKeys = `{
	"room": {"places": [{"name": "pulpit", "x": 0, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0}],
		"cameras": [{"name": "centre", "x": 0, "y": -12, "z": 1.6, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800}]},
	"types": [{"name": "front", "source": "tunable-led", "slots": 2, "white_k": 5600, "white_range_k": [2700, 6500], "beam_deg": 20, "field_deg": 30, "flux_lm": 6000}],
	"patch": [
		{"channel": 1, "address": "1.1", "type": "front", "purpose": "key", "hung_at": {"x": -3, "y": -5, "z": 4.5}, "aimed_at": "pulpit"},
		{"channel": 2, "address": "2.1", "type": "front", "purpose": "key", "hung_at": {"x": 3, "y": -5, "z": 4.5}, "aimed_at": "pulpit"},
		{"channel": 3, "address": "3.1", "type": "front", "purpose": "key", "hung_at": {"x": -2, "y": -5, "z": 4.5}, "aimed_at": "pulpit"}],
	"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "duration_s": 600, "people": ["pulpit"]}],
	"cues": [{"cue": 1, "in_s": 3, "set": [{"channels": "1", "level": 100}, {"channels": "2", "level": 60}]}]}`

func ask(t *testing.T, show, question string) (*outcome.WhatIf, error) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "show.json")
	if err := os.WriteFile(name, []byte(show), 0o600); err != nil {
		t.Fatal(err)
	}
	return WhatIf(name, question, Options{Rules: rules.Own(), House: HouseOptions{None: true, Today: "2026-03-01"}})
}

func answered(t *testing.T, question string) *outcome.WhatIf {
	t.Helper()
	w, err := ask(t, twoKeys, question)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// face is the loss on the one face, in the one cue.
func face(t *testing.T, w *outcome.WhatIf) outcome.LossIn {
	t.Helper()
	for _, loss := range w.Losses {
		if !loss.Back && loss.Place == "pulpit" && len(loss.Cues) == 1 && loss.Cues[0].Cue == "1" {
			return loss.Cues[0]
		}
	}
	t.Fatalf("nobody loses light on the face: %+v", w)
	return outcome.LossIn{}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b)) }

// TestLightIsASum: what each lamp alone takes away is together what there was.
func TestLightIsASum(t *testing.T) {
	one, two, both := face(t, answered(t, "channel 1 dark")), face(t, answered(t, "channel 2 dead")), face(t, answered(t, "channels 1-2 dark"))
	if one.Was <= 0 || !near((one.Was-one.Is)+(two.Was-two.Is), one.Was) || both.Is != 0 {
		t.Errorf("of %g lx one lamp gives %g and the other %g; without both there are %g", one.Was, one.Was-one.Is, two.Was-two.Is, both.Is)
	}
	if universe := face(t, answered(t, "universe 1 out")); universe != one {
		t.Errorf("universe 1 is channel 1, and gives %+v, not %+v", universe, one)
	}
}

// TestANearLampStandsIn: the third lamp hangs a metre beside the first, nearer than the
// second, and gives nearly as much.
func TestANearLampStandsIn(t *testing.T) {
	w := answered(t, "channel 1 dark")
	s := w.StandIn
	if s == nil || s.Channel != 3 || s.AwayM == nil || !near(*s.AwayM, 1) || s.From != 0 || s.To != 100 || s.Lux < givesBack*s.In.Was {
		t.Fatalf("the stand-in is %+v", s)
	}
	text := strings.Join(say.WhatIf(w), "\n")
	for _, words := range []string{"With channel 1 dark: ", "Light on the face of pulpit: ", "Nearest stand-in: channel 3 (key, 1.0 m away) from 0 to 100 % in cue 1", "nothing was written."} {
		if !strings.Contains(text, words) {
			t.Errorf("it does not say %q:\n%s", words, text)
		}
	}
	if w := answered(t, "channels 1-3 dark"); w.StandIn != nil {
		t.Errorf("nothing is left to stand in: %+v", w.StandIn)
	}
}

// TestWhitesThatGoApart: the camera or a lamp at another white brings findings, and no loss
// of light.
func TestWhitesThatGoApart(t *testing.T) {
	for _, question := range []string{"camera centre 3200 K", "channel 1 3200K"} {
		if w := answered(t, question); len(w.Come)+len(w.Worse) == 0 || len(w.Losses) > 0 || w.StandIn != nil {
			t.Errorf("%s: %d come, %v", question, len(w.Come), w.Losses)
		}
	}
	if w := answered(t, "camera CENTRE 5600 k"); len(w.Come)+len(w.Go)+len(w.Worse) > 0 {
		t.Errorf("a camera at the white that it has changes %+v", w)
	}
}

// TestADarkLampIsNoNews: that a dark lamp is never used was asked; and a lamp that no cue
// lights changes nothing.
func TestADarkLampIsNoNews(t *testing.T) {
	for _, f := range answered(t, "channel 1 dark").Come {
		if f.Rule == "patch/patched-never-used" {
			t.Errorf("%s", f.Message)
		}
	}
	if w := answered(t, "channel 3 dark"); len(w.Come)+len(w.Go)+len(w.Worse)+len(w.Losses) > 0 {
		t.Errorf("channel 3 is dark already: %+v", w)
	}
}

func TestQuestionsThatAreNotUnderstood(t *testing.T) {
	for question, want := range map[string]string{
		"":                    "Ask as in: channel 12 dark;",
		"lights out":          "Ask as in: channel 12 dark;",
		"channel 9 dark":      "the patch has no channel 9",
		"channel nine dark":   "nine",
		"channel 1 at 140":    "not a level",
		"channel 1 100 K":     "from 1500 to 20000",
		"channel 1 6501 K":    "goes from 2700 to 6500 K",
		"channel 1 NaN K":     "Ask as in",
		"universe 9 out":      "nothing in universe 9",
		"camera centr 3200 K": `"centre"`,
	} {
		if w, err := ask(t, twoKeys, question); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q gives %+v and %v, want %q", question, w, err, want)
		}
	}
	if w, err := ask(t, strings.Replace(twoKeys, `"tunable-led"`, `"white-led"`, 1), "channel 1 3200 K"); err == nil || !strings.Contains(err.Error(), "one white") {
		t.Errorf("a lamp of one white at another gives %+v and %v", w, err)
	}
	if _, err := ask(t, twoKeys[:200], "channel 1 dark"); err == nil || !strings.Contains(err.Error(), "cannot be read") {
		t.Errorf("half a file gives %v", err)
	}
	if w, err := ask(t, `{"patch": [{"channel": 1, "address": "1.1", "type": "a", "purpose": "key"}], "types": [{"name": "a", "slots": 1}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`, "channel 1 dark"); err != nil || w.Unmeasured == "" {
		t.Errorf("without a room nobody can say who loses light: %+v, %v", w, err)
	}
}
