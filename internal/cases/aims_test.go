package cases

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
)

// aims are the limits that judge nothing and say what a person is told to do, each with a
// case of its rule, what differs from it, and a change that is proposed: as far as it goes
// with the limit as it is. A "no" before it says that it is not. What is wanted was worked
// out by hand from the numbers at the head of the cases.
var aims = []struct{ rule, limit, of, patch, want string }{
	// At full the haze reaches 2 mg/m3 of 10 after 1200 s times ln(10/8), which is 267.8 s.
	{"air/beams-without-haze", "read_mg_m3", "speaks-machine-never-on", threeCues(275), "haze machines at full from cue 2 on"},
	{"air/beams-without-haze", "read_mg_m3", "speaks-machine-never-on", threeCues(260), "haze machines at full from cue 1 on"},
	{"air/beams-without-haze", "read_mg_m3", "speaks-machine-never-on", threeCues(275), "level of 91: 100"},
	// 2 of the 7.77 mg/m3 that half an hour brings at full: 25.7 %, rounded up, and one more.
	{"air/haze-late", "read_mg_m3", "speaks-level-too-low", `{}`, "level of 91: 27"},
	{"camera/banding", "steady_hz", "speaks-630-hertz", `{}`, "best 2000 Hz or more"},
	{"colour/accent-too-large", "aim_ratio", "speaks-half-and-half", `{}`, "level of 31: 33"},
	{"dynamics/always-full", "quiet_stops", "boundary-an-evening-without-songs-that-is-nearly-full", `{}`, `Bring down the wash and the beams of "Keynote" by 2.0 stops`},
	{"dynamics/unplanned-jump", "fade_s", "speaks-left-at-nought", `{}`, "in_s: 3"},
	{"dynamics/unplanned-jump", "fade_s", "speaks-left-at-nought", `{}`, "out_s: 3"},
	// 100 lx of key, and 5 lx from behind for each percent; 400 lx and 5.
	{"people/back-strong", "aim_ratio", "speaks-key-faded-back-stayed", `{}`, "level of 23: 20"},
	{"people/back-weak", "aim_ratio", "speaks-forgotten-at-a-tenth", `{}`, "level of 23: 80"},
	{"people/no-back", "level_pct", "speaks-left-dark", `{}`, "level of 23: 50"},
	{"people/no-back", "level_pct", "speaks-aimed-elsewhere", `{}`, "level of 23: 50"},
	// 3 flashes a second are the limit.
	{"safety/flash-rate", "under_per_s", "speaks-eight-a-second", `{}`, "strobe_hz of 31: 2"},
	{"safety/flash-rate", "under_per_s", "speaks-effect", `{}`, `effect of 31: {"kind":"strobe","rate_hz":2,`},
	{"safety/red-flash", "under_per_s", "boundary-over-three-a-second", `{}`, "strobe_hz of 31: 2"},
	{"safety/red-flash", "under_per_s", "speaks-red-pulse", `{}`, `effect of 31: {"kind":"pulse","rate_hz":2,`},
	// A stop over the 114.6 cd/m2 of skin are 229 of the wall's 600.
	{"screen/burns-out", "aim_stops", "speaks-a-stop-over-white", `{}`, "drive_pct: 38"},
	{"screen/outshines-face", "usual_pct", "speaks-projection", `{}`, "drive_pct: 25"},
	// At 61 % the lamp is white enough; that is 1.49 times 41 % and 1.53 times 40 %.
	{"white/dim-drift", "most_up", "speaks-at-half", `{"cues": [{"cue": 1, "set": [{"channels": "3", "level": 41}]}]}`, "level of 3: 61"},
	{"white/dim-drift", "most_up", "speaks-at-half", `{"cues": [{"cue": 1, "set": [{"channels": "3", "level": 40}]}]}`, "no level of 3"},
	// The keys can share 5600 K, 178.6 mired; 6095 K are 164.1 and 6132 K are 163.1.
	{"white/key-mix", "camera_mired", "speaks-once-for-all-cues", `{"room": {"cameras": [{"name": "rear", "white_k": 6095}]}}`, "white_k of 6: 5600"},
	{"white/key-mix", "camera_mired", "speaks-once-for-all-cues", `{"room": {"cameras": [{"name": "rear", "white_k": 6132}]}}`, "no white_k of 6: 5600"},
}

// threeCues puts the beams into a third cue, so many seconds after the second.
func threeCues(seconds int) string {
	return fmt.Sprintf(`{"cues": [{"cue": 2, "set": [{"channels": "41", "level": 0}]}, {"cue": 3, "set": [{"channels": "41", "level": 80}]}],
		"order": [{"*": null}, {"name": "Opening", "kind": "opening", "start_cue": 1, "duration_s": 1800},
			{"name": "Welcome", "kind": "welcome", "start_cue": 2, "duration_s": %d}, {"name": "Song", "kind": "song", "start_cue": 3, "duration_s": 300}]}`, seconds)
}

// proposed lists what a rule proposes for a show: its changes and its hint, a line each.
func proposed(t *testing.T, rule *rules.Rule, show []byte) []string {
	t.Helper()
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(show)), StdinName: "show.json"})
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	found, _ := (&rules.Set{Rules: []*rules.Rule{rule}}).Judge(facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)))
	for _, f := range found {
		if f.Verdict != finding.Fail {
			continue
		}
		lines = append(lines, f.Hint)
		for _, remedy := range f.Remedies {
			for _, edit := range remedy.Edits {
				line := edit.Field
				if len(edit.Only) > 0 {
					line += " of " + strings.Trim(fmt.Sprint(edit.Only), "[]")
				}
				value, err := json.Marshal(edit.Value)
				if err != nil {
					t.Fatal(err)
				}
				lines = append(lines, line+": "+string(value))
			}
		}
	}
	return lines
}

// TestWhatIsAimedAt holds every limit that judges nothing and is aimed at to what it makes
// of a case, and sees that an aim a tenth to either side of it makes something else.
func TestWhatIsAimedAt(t *testing.T) {
	set := builtIn(t)
	moved := map[string]bool{} // the aims that some case follows upwards and downwards
	for _, aim := range aims {
		rule, ok := set.Find(aim.rule)
		if !ok {
			t.Fatalf("there is no rule %s", aim.rule)
		}
		all, _, err := casesOf(packsOnDisk, rule)
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(all, func(c Case) bool { return c.Name == aim.of })
		limit := slices.IndexFunc(rule.Limits, func(l finding.Limit) bool { return l.Name == aim.limit })
		if at < 0 || limit < 0 {
			t.Errorf("%s has no case %s, or no limit %s", aim.rule, aim.of, aim.limit)
			continue
		}
		show, err := Merge(all[at].Show, []byte(aim.patch))
		if err != nil {
			t.Fatal(err)
		}
		is := proposed(t, rule, show)
		want, never := strings.CutPrefix(aim.want, "no ")
		if never == slices.ContainsFunc(is, func(line string) bool { return strings.Contains(line, want) }) {
			t.Errorf("%s %s: of %s is proposed %q, want %s", aim.rule, aim.limit, aim.of, is, aim.want)
		}
		for way, factor := range map[string]float64{"up": 1.1, "down": 0.9} {
			other := set.With(rules.Changes{Limits: map[string]map[string]rules.NewLimit{aim.rule: {aim.limit: {Value: rule.Limits[limit].Value * factor}}}})
			changed, _ := other.Find(aim.rule)
			if !slices.Equal(is, proposed(t, changed, show)) {
				moved[aim.rule+" "+aim.limit+" "+way] = true
			}
		}
	}
	for _, aim := range aims {
		for _, way := range []string{"up", "down"} {
			if name := aim.rule + " " + aim.limit + " " + way; !moved[name] {
				t.Errorf("%s: a tenth of the limit changes nothing that is proposed", name)
				moved[name] = true
			}
		}
	}
}

// Every limit that only hints, remedies and questions use is held by one of the aims.
func TestEveryAimIsHeld(t *testing.T) {
	for _, rule := range builtIn(t).Rules {
		text, err := fs.ReadFile(packsOnDisk, path.Join(rule.ID, "rule.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		var judging strings.Builder
		for _, part := range regexp.MustCompile(`(?m)^[a-z]+:(.*\n?)(?:[ #\n].*\n?)*`).FindAllString(string(text), -1) {
			if key, _, _ := strings.Cut(part, ":"); !slices.Contains([]string{"hint", "remedies", "ask", "limits"}, key) {
				judging.WriteString(part)
			}
		}
		for _, limit := range rule.Limits {
			judges := regexp.MustCompile(`limit\.` + limit.Name + `\b`).MatchString(judging.String())
			held := slices.ContainsFunc(aims, func(a struct{ rule, limit, of, patch, want string }) bool {
				return a.rule == rule.ID && a.limit == limit.Name
			})
			if !judges && !held {
				t.Errorf("%s: no aim holds %s", rule.ID, limit.Name)
			}
		}
	}
}
