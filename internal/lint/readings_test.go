package lint

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/rules"
)

// lectern is a show of one speaker, whose cues come from a desk.
var lectern = map[string]string{
	"show.json": `{"name": "Evening", "room": {"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0, "head_m": 1.65, "facing_deg": 0}],
		"cameras": [{"name": "centre", "role": "main", "x": 0, "y": -12, "z": 1, "aimed_at": "lectern", "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800, "frame_rate_hz": 25}]},
		"types": [{"name": "profile", "source": "white-led", "slots": 1, "white_k": 5600, "beam_deg": 18, "field_deg": 26, "flux_lm": 9000}],
		"patch": [
			{"channel": 1, "address": "1.1", "type": "profile", "hung_at": {"x": -2, "y": -3, "z": 5}, "aimed_at": "lectern"},
			{"channel": 2, "address": "1.2", "type": "profile", "hung_at": {"x": 2, "y": -3, "z": 5}, "aimed_at": "lectern"},
			{"channel": 3, "address": "1.2", "type": "profile", "hung_at": {"x": 0, "y": 6, "z": 5}, "aimed_at": {"x": 0, "y": 8, "z": 0}}],
		"order": [{"name": "Welcome", "kind": "welcome", "start_cue": 1, "duration_s": 300, "people": ["lectern"]}]}`,
	// Without channels 1 and 2 the lectern is dark in cue 2.
	"desk.asc": "Ident 3:0\nCue 1\nUp 3\nChan 1@80 2@80\nCue 2\nUp 3\nChan 3@50\nEndData\n",
}

func found(t *testing.T, content map[string]string, exports Exports) []finding.Finding {
	t.Helper()
	folder := t.TempDir()
	for name, text := range content {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	report, err := Run([]string{folder}, Options{Rules: rules.Own(), House: HouseOptions{None: true}, Exports: exports})
	if err != nil {
		t.Fatal(err)
	}
	return report.Shows[0].Findings
}

func verdictOf(list []finding.Finding, rule string) string {
	for _, f := range list {
		if f.Rule == rule {
			return string(f.Verdict)
		}
	}
	return ""
}

func TestWhatNobodySaidOfUnlistedChannelsIsOpen(t *testing.T) {
	for _, test := range []struct{ unlisted, noKey, overlap string }{
		{"off", "fail", "fail"},
		{"keep", "", "fail"},
		{"", "open", "fail"}, // dark in one reading only; the patch is the same in both
	} {
		list := found(t, lectern, Exports{Unlisted: test.unlisted})
		if got := verdictOf(list, "people/no-key"); got != test.noKey {
			t.Errorf("%q: no key is %q, want %q", test.unlisted, got, test.noKey)
		}
		if got := verdictOf(list, "patch/address-overlap"); got != test.overlap {
			t.Errorf("%q: overlap is %q, want %q", test.unlisted, got, test.overlap)
		}
		asked := slices.ContainsFunc(list, func(f finding.Finding) bool { return f.Rule == "file/unlisted-channels" })
		if asked != (test.unlisted == "") {
			t.Errorf("%q: asked is %v", test.unlisted, asked)
		}
		for _, f := range list {
			if f.Rule == "people/no-key" && f.Verdict == finding.Open && (!slices.Contains(f.Missing, missing) || !strings.HasPrefix(f.Message, "Could not tell. If channels that a cue does not list go off: ")) {
				t.Errorf("%q, missing %q", f.Message, f.Missing)
			}
		}
	}
}

// TestTheOtherReadingIsToldToo has a desk that says zero, so that "keep" is guessed: what
// only happens if channels go off is told as open.
func TestTheOtherReadingIsToldToo(t *testing.T) {
	content := map[string]string{"show.json": lectern["show.json"], "desk.asc": "Ident 3:0\nCue 1\nUp 3\nChan 1@80 2@80 3@0\nCue 2\nUp 3\nChan 3@50\nEndData\n"}
	list := found(t, content, Exports{})
	for _, f := range list {
		if f.Rule == "people/no-key" && f.Verdict == finding.Open && strings.HasPrefix(f.Message, "Could not tell. If channels that a cue does not list go off: ") {
			return
		}
	}
	t.Errorf("no key is %q", verdictOf(list, "people/no-key"))
}

// TestNothingIsAskedWhereItMakesNoDifference lists every channel in every cue.
func TestNothingIsAskedWhereItMakesNoDifference(t *testing.T) {
	content := map[string]string{"show.json": lectern["show.json"], "desk.asc": "Ident 3:0\nCue 1\nUp 3\nChan 1@80 2@80 3@0\nCue 2\nUp 3\nChan 1@0 2@0 3@50\nEndData\n"}
	list := found(t, content, Exports{})
	if got := verdictOf(list, "people/no-key"); got != "fail" {
		t.Errorf("no key is %q", got)
	}
	if got := verdictOf(list, "file/unlisted-channels"); got != "" {
		t.Error("it was asked")
	}
}
