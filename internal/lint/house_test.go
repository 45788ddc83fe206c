package lint

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
	"github.com/google/go-cmp/cmp"
)

const showsFolder = "../../testdata/shows"

// day is before the end of all waivers that these tests write.
const day = "2026-11-25"

// checkWith checks one show with a house file of this text; "" for none.
func checkWith(t *testing.T, show, text string) outcome.Show {
	t.Helper()
	o := Options{Rules: everyRule(t), House: HouseOptions{None: true, Today: day}}
	if text != "" {
		name := filepath.Join(t.TempDir(), house.FileName)
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		o.House = HouseOptions{File: name, Today: day}
	}
	r, err := Run([]string{show}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r.Shows[0]
}

// acceptAll is the text of a house file with a waiver for every finding that can have one.
func acceptAll(t *testing.T, show string) string {
	t.Helper()
	var list []waiver.Waiver
	for _, f := range asTold(t, show).Shows[0].Findings {
		if f.Binding {
			continue
		}
		list = append(list, waiver.Of(&f, "a test", "nobody", waiver.Never))
	}
	if len(list) < 50 {
		t.Fatalf("only %d findings", len(list))
	}
	text, err := house.Append(house.FileName, nil, list)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// counting are the findings that count though they could be accepted, as rule and identity.
func counting(show outcome.Show) []string {
	var list []string
	for _, f := range show.Findings {
		if f.Accepted == nil && !f.Binding {
			list = append(list, f.Rule+" "+waiver.Subject(f.Subjects)+" "+f.Detail+" "+f.Message)
		}
	}
	return list
}

func TestWhatIsAcceptedIsRecognisedInOtherNotation(t *testing.T) {
	house := acceptAll(t, filepath.Join(showsFolder, "flawed"))
	t.Run("the same show", func(t *testing.T) {
		show := checkWith(t, filepath.Join(showsFolder, "flawed"), house)
		if diff := cmp.Diff([]string(nil), counting(show)); diff != "" {
			t.Error(diff)
		}
		left := map[string]bool{}
		for _, f := range show.Findings {
			left[f.Key()] = f.Accepted == nil
		}
		for _, a := range show.Orders {
			for _, key := range a.Cures {
				if !left[key] {
					t.Errorf("%s is accepted and still a reason to: %s", key, a.Do)
				}
			}
		}
		for _, f := range show.NeedPerson {
			if f.Accepted != nil {
				t.Errorf("%s is accepted and still needs a person", f.Key())
			}
		}
		if show.Verdict != outcome.Hold {
			t.Errorf("the verdict is %s; nobody may accept a flash that is too fast", show.Verdict)
		}
	})
	t.Run("tables instead of objects", func(t *testing.T) {
		if diff := cmp.Diff([]string(nil), counting(checkWith(t, filepath.Join(showsFolder, "flawed-csv"), house))); diff != "" {
			t.Error(diff)
		}
	})
	t.Run("lines laid out anew", func(t *testing.T) {
		folder := copyShow(t, "flawed", func(text string) string {
			return "\n\n" + strings.ReplaceAll(strings.ReplaceAll(text, "\n", " "), "}, ", "},\n\t")
		})
		if diff := cmp.Diff([]string(nil), counting(checkWith(t, folder, house))); diff != "" {
			t.Error(diff)
		}
	})
	t.Run("an unrelated cue renumbered", func(t *testing.T) {
		used := map[string]bool{}
		for _, f := range asTold(t, filepath.Join(showsFolder, "flawed")).Shows[0].Findings {
			for _, s := range f.Subjects {
				used[s.String()] = true
			}
		}
		order, err := os.ReadFile(filepath.Join(showsFolder, "flawed", "order.json"))
		if err != nil {
			t.Fatal(err)
		}
		for _, match := range regexp.MustCompile(`"start_cue": ([0-9.]+)`).FindAllStringSubmatch(string(order), -1) {
			used["cue "+match[1]] = true // the running order calls it
		}
		renamed := 0
		number := regexp.MustCompile(`"cue": (\d+),`)
		folder := copyShow(t, "flawed", func(text string) string {
			if !strings.Contains(text, `"set"`) {
				return text
			}
			return number.ReplaceAllStringFunc(text, func(match string) string {
				n := number.FindStringSubmatch(match)[1]
				if used["cue "+n] {
					return match
				}
				renamed++
				return fmt.Sprintf(`"cue": %s.1,`, n)
			})
		})
		if renamed < 3 {
			t.Fatalf("only %d cues have no finding", renamed)
		}
		if diff := cmp.Diff([]string(nil), counting(checkWith(t, folder, house))); diff != "" {
			t.Error(diff)
		}
	})
}

// copyShow copies a demo show, each JSON file changed.
func copyShow(t *testing.T, name string, change func(string) string) string {
	t.Helper()
	folder := t.TempDir()
	files, err := filepath.Glob(filepath.Join(showsFolder, name, "*"))
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		changed := string(text)
		if filepath.Ext(file) == ".json" {
			changed = change(changed)
		}
		if err := os.WriteFile(filepath.Join(folder, filepath.Base(file)), []byte(changed), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// What one waiver accepts asks for no change, and all other changes stay proved.
func TestAWaiverTakesAwayOnlyItsOwnChange(t *testing.T) {
	flawed := filepath.Join(showsFolder, "flawed")
	before := asTold(t, flawed).Shows[0]
	find := func(key string) int {
		return slices.IndexFunc(before.Findings, func(f finding.Finding) bool { return f.Key() == key })
	}
	i := slices.IndexFunc(before.Orders, func(a outcome.Order) bool {
		return len(a.Cures) == 1 && !before.Findings[find(a.Cures[0])].Binding
	})
	if i < 0 {
		t.Fatal("no change clears one finding alone")
	}
	key := before.Orders[i].Cures[0]
	j := find(key)
	text, err := house.Append(house.FileName, nil, []waiver.Waiver{waiver.Of(&before.Findings[j], "a test", "nobody", waiver.Never)})
	if err != nil {
		t.Fatal(err)
	}
	after := checkWith(t, flawed, string(text))
	if len(after.Findings) != len(before.Findings) {
		t.Errorf("%d findings became %d", len(before.Findings), len(after.Findings))
	}
	for _, a := range after.Orders {
		if slices.Contains(a.Cures, key) {
			t.Errorf("%s is accepted and still a reason to: %s", key, a.Do)
		}
		if a.Causes > len(a.Worse) {
			t.Errorf("%s causes %d and tells a price of %d", a.Do, a.Causes, len(a.Worse))
		}
	}
}

func TestLimitsOfTheHouseDecide(t *testing.T) {
	mended := filepath.Join(showsFolder, "mended")
	count := func(show outcome.Show, rule string) int {
		n := 0
		for _, f := range show.Findings {
			if f.Rule == rule && f.Verdict == finding.Fail {
				n++
			}
		}
		return n
	}
	if n := count(checkWith(t, mended, ""), "people/key-uneven"); n != 0 {
		t.Fatalf("the mended show has %d uneven keys", n)
	}
	strict := checkWith(t, mended, "limits: {patch/circuit-load: {max_pct: 1}}\n")
	if count(strict, "patch/circuit-load") == 0 {
		t.Error("a limit of 1 % finds nothing")
	}
	for _, f := range strict.Findings {
		if f.Rule == "patch/circuit-load" && f.Limits[0].Value != "1" {
			t.Errorf("the finding says the limit is %s", f.Limits[0].Value)
		}
	}
	if n := count(checkWith(t, mended, "limits: {patch/circuit-load: {max_pct: 1}}\nrules: {patch: off}\n"), "patch/circuit-load"); n != 0 {
		t.Error("a pack that is off still finds something")
	}
}

// A limit of the house moves what a change aims at: at 12 mired the lamp goes higher
// than at 20, just as far as it has to, and what is left is nothing.
func TestAHouseLimitMovesTheAim(t *testing.T) {
	show := filepath.Join(t.TempDir(), "show.json")
	text := `{"room": {"places": [{"name": "lectern"}], "cameras": [{"name": "rear", "white_k": 3200}]},
		"types": [{"name": "warm profile", "source": "tungsten", "white_k": 3200}],
		"patch": [{"channel": 3, "type": "warm profile", "purpose": "key", "aimed_at": "lectern", "address": "1.1"}],
		"cues": [{"cue": 1, "segment": "reading", "set": [{"channels": "3", "level": 70}]}],
		"order": [{"name": "reading", "people": ["lectern"]}]}`
	if err := os.WriteFile(show, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	levels := map[float64]float64{}
	for _, limit := range []float64{12, 20} {
		house := fmt.Sprintf("limits:\n  white/dim-drift:\n    max_mired: %g\n", limit)
		loaded, err := loaders.Load(show, loaders.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, order := range checkWith(t, show, house).Orders {
			for _, edit := range order.Edits {
				if edit.Key == "level" {
					levels[limit], _ = edit.To.(float64)
				}
			}
		}
		level := schema.Level(levels[limit])
		drift := func() float64 {
			loaded.Show.Cues[0].Set[0].Level = &level
			return *facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)).People[0].FullDrift
		}
		if got := drift(); got > limit {
			t.Errorf("with a limit of %g the lamp goes to %g %%, where it is %g mired warmer", limit, level, got)
		}
		level--
		if got := drift(); got <= limit {
			t.Errorf("with a limit of %g a level of %g %% would have done, at %g mired", limit, level, got)
		}
	}
	if levels[12] <= levels[20] {
		t.Errorf("the levels are %v", levels)
	}
}

func TestAllOffIsNotChecked(t *testing.T) {
	var off strings.Builder
	off.WriteString("rules:\n")
	for _, rule := range everyRule(t).Rules {
		fmt.Fprintf(&off, "  %s: off\n", rule.ID)
	}
	show := checkWith(t, filepath.Join(showsFolder, "mended"), off.String())
	if show.Verdict != outcome.NotChecked || !strings.Contains(show.Because, "rules are switched off") {
		t.Errorf("the verdict is %s: %s", show.Verdict, show.Because)
	}
}

// Two shows of one house: a waiver that covers something in either is in use, and
// one that covers nothing is told once.
func TestAHouseWithTwoShows(t *testing.T) {
	folder := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		full := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	show := `{"patch": [{"channel": %[1]d, "purpose": "house"}, {"channel": %[1]d, "purpose": "house"}], "cues": [{"cue": 1, "set": [{"channels": "%[1]d", "level": 50}]}]}`
	write("a/show.json", fmt.Sprintf(show, 1))
	write("b/show.json", fmt.Sprintf(show, 2))
	write("house.yaml", `topmost: true
waivers:
  - {rule: patch/channel-twice, subject: channel 1, reason: x, by: y}
  - {rule: patch/channel-twice, subject: channel 2, reason: x, by: y}
  - {rule: patch/channel-twice, subject: channel 3, reason: x, by: y}
`)
	unmatched := func(paths ...string) (list []string) {
		for i := range paths {
			paths[i] = filepath.Join(folder, paths[i])
		}
		r, err := Run(paths, Options{Rules: everyRule(t), House: HouseOptions{Today: day}})
		if err != nil {
			t.Fatal(err)
		}
		for _, show := range r.Shows {
			for _, f := range show.Findings {
				if f.Rule == "file/waiver-unmatched" {
					list = append(list, f.Subjects[0].Name)
				}
			}
		}
		return list
	}
	if diff := cmp.Diff([]string{"patch/channel-twice for channel 3"}, unmatched("a", "b")); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"patch/channel-twice for channel 2", "patch/channel-twice for channel 3"}, unmatched("a")); diff != "" {
		t.Error(diff)
	}
}
