package practise

import (
	"bytes"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
)

// demo is the sound evening.
func demo(t testing.TB) Files {
	t.Helper()
	dir := filepath.Join("..", "..", "testdata", "shows", "mended")
	names, err := fs.Glob(os.DirFS(dir), "*.json")
	if err != nil {
		t.Fatal(err)
	}
	files := Files{}
	for _, name := range names {
		if files[name], err = os.ReadFile(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// judge holds all rules against files, which have to be written for that.
func judge(t testing.TB, set *rules.Set) Judge {
	dir := t.TempDir()
	return func(files Files) ([]finding.Finding, error) {
		if err := files.Put(dir); err != nil {
			return nil, err
		}
		read, err := loaders.Load(dir, loaders.Options{})
		if err != nil {
			return nil, err
		}
		found, _ := set.Judge(facts.Measure(read.Show, tracking.Resolve(read.Show)))
		return append(read.Findings, found...), nil
	}
}

// TestEveryRuleCanBeBroken: on the sound evening each rule has its way of being broken,
// and the fault is found by its rule and by no other, but for those that cannot but speak
// too and do. Each takes a check for every thing that is tried, so that CI alone tries all.
func TestEveryRuleCanBeBroken(t *testing.T) {
	recipes, set := all(t)
	files, judge := demo(t), judge(t, set)
	found, err := judge(files)
	if err != nil {
		t.Fatal(err)
	}
	said := Said(found)
	step := 13
	if os.Getenv("CUEPROOF_LONG") != "" {
		step = 1
	}
	for i, name := range slices.Sorted(maps.Keys(recipes)) {
		if step > 1 && i%step != 0 {
			continue
		}
		changed, planted, err := Break(files, said, recipes[name], judge, 1)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, also := range recipes[name].Also {
			if !slices.Contains(planted.Others, also) {
				t.Errorf("%s: %s need not be named: it does not speak", name, also)
			}
		}
		if len(planted.Keys) == 0 || maps.EqualFunc(changed, files, bytes.Equal) {
			t.Errorf("%s: nothing is changed", name)
		}
	}
}

// all reads the recipes; every rule has one.
func all(t testing.TB) (map[string]*Recipe, *rules.Set) {
	t.Helper()
	recipes, err := Recipes(rules.BuiltIn())
	if err != nil {
		t.Fatal(err)
	}
	set := rules.Own()
	for _, rule := range set.Rules {
		if recipes[rule.ID] == nil {
			t.Errorf("%s does not say how it is broken", rule.ID)
		}
	}
	return recipes, set
}

// TestAnExerciseOfEachPack is solved as a learner would, by putting right what was said,
// and left unsolved; the files are changed in nothing else, and the same seed makes the
// same exercise.
func TestAnExerciseOfEachPack(t *testing.T) {
	recipes, set := all(t)
	files, judge := demo(t), judge(t, set)
	packs := map[string]bool{}
	for rule := range recipes {
		pack, _, _ := strings.Cut(rule, "/")
		packs[pack] = true
	}
	const day = "2026-03-01"
	for i, pack := range slices.Sorted(maps.Keys(packs)) {
		if i > 0 && os.Getenv("CUEPROOF_LONG") == "" {
			break
		}
		changed, exercise, err := Make(files, recipes, judge, Choice{Faults: 1, Packs: []string{pack}, Seed: 7})
		if err != nil {
			t.Fatalf("%s: %v", pack, err)
		}
		rule := exercise.Faults[0].Rule
		if !strings.HasPrefix(rule, pack+"/") {
			t.Errorf("%s: the fault is one of %s", pack, rule)
		}
		if again, _, err := Make(files, recipes, judge, Choice{Faults: 1, Packs: []string{pack}, Seed: 7}); err != nil || !maps.EqualFunc(again, changed, bytes.Equal) {
			t.Errorf("%s: the same seed makes another exercise", pack)
		}
		m := &Memory{}
		unsolved, err := judge(changed)
		if err != nil {
			t.Fatal(err)
		}
		if look := exercise.Over(unsolved, recipes, m, day); len(look.Remain) != 1 || len(look.Gone) != 0 || len(look.New) != 0 {
			t.Errorf("%s: unsolved, %d remain, %d are gone and %d new", pack, len(look.Remain), len(look.Gone), len(look.New))
		}
		if due := m.Due("2026-03-07"); len(due) != 0 {
			t.Errorf("%s: it comes back too soon", pack)
		}
		if due := m.Due("2026-03-08"); !slices.Equal(due, []string{rule}) {
			t.Errorf("%s: what was missed does not come back after a week: %v", pack, due)
		}
		solved, err := judge(files)
		if err != nil {
			t.Fatal(err)
		}
		if look := exercise.Over(solved, recipes, m, day); len(look.Remain) != 0 || len(look.Gone) != 1 || len(look.New) != 0 {
			t.Errorf("%s: solved, %d remain, %d are gone and %d new", pack, len(look.Remain), len(look.Gone), len(look.New))
		}
	}
}

// TestSeveralFaults: as many as were asked for, each of another rule, each found at the end.
func TestSeveralFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("several faults are several times as many checks")
	}
	recipes, set := all(t)
	files, judge := demo(t), judge(t, set)
	seeds := uint64(1)
	if os.Getenv("CUEPROOF_LONG") != "" {
		seeds = 3
	}
	for seed := range seeds {
		changed, exercise, err := Make(files, recipes, judge, Choice{Faults: 3, Seed: seed, First: []string{"safety/flash-rate"}})
		if err != nil || len(exercise.Faults) != 3 || exercise.Faults[0].Rule != "safety/flash-rate" {
			t.Fatalf("seed %d: %+v, %v", seed, exercise, err)
		}
		found, err := judge(changed)
		if err != nil {
			t.Fatal(err)
		}
		if look := exercise.Over(found, recipes, &Memory{}, "2026-03-01"); len(look.Remain) != 3 || len(look.New) > 0 {
			t.Errorf("seed %d: of three faults %d remain, and %d are new", seed, len(look.Remain), len(look.New))
		}
	}
}

// What was missed comes back after one, three and eight weeks, and then no more; what is
// missed again begins anew.
func TestWhatWasMissedComesBack(t *testing.T) {
	m := &Memory{Format: 1}
	m.missed("a/b", "2026-01-01")
	for _, due := range []string{"2026-01-08", "2026-01-29", "2026-03-26"} {
		if got := m.Due(due); !slices.Equal(got, []string{"a/b"}) {
			t.Fatalf("on %s %v comes back", due, got)
		}
		if got := m.Due(after(due, -1)); len(got) != 0 {
			t.Errorf("it comes back before %s", due)
		}
		m.found("a/b", due)
	}
	if len(m.Remembered) != 0 {
		t.Errorf("it is never forgotten: %+v", m.Remembered)
	}
	m.missed("a/b", "2026-01-01")
	m.found("a/b", "2026-01-08")
	m.missed("a/b", "2026-01-29")
	if got := m.Due("2026-02-05"); !slices.Equal(got, []string{"a/b"}) {
		t.Errorf("what is missed again waits: %+v", m.Remembered)
	}
	m.found("a/b", "2026-02-01") // before it is due: practice that nobody asked for
	if m.Remembered[0].Times != 0 {
		t.Error("it counts as found before it is due")
	}
}

func TestMemoryIsReadAsAWholeOrNotAtAll(t *testing.T) {
	for _, text := range []string{"{", "[]", `{"format": 2}`, `{"format": 1, "more": 1}`, `{"format": 1, "remembered": [{"rule": "a/b", "due": "soon"}]}`} {
		if _, err := ReadMemory([]byte(text)); err == nil {
			t.Errorf("%s is read", text)
		}
	}
	for _, nothing := range []string{"", " \n"} {
		first, err := ReadMemory([]byte(nothing))
		if err != nil {
			t.Fatal(err)
		}
		text, err := first.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadMemory(text); err != nil {
			t.Errorf("what is written first cannot be read again: %v", err)
		}
	}
	m := &Memory{Format: 1, Exercises: []Exercise{{Folder: "lesson", Day: "2026-03-01", Faults: []Fault{{Rule: "a/b", Keys: []string{"F-1"}}}}}}
	m.missed("a/b", "2026-03-01")
	text, err := m.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	again, err := ReadMemory(text)
	if err != nil {
		t.Fatal(err)
	}
	if second, err := again.Bytes(); err != nil || !bytes.Equal(text, second) {
		t.Errorf("written, read and written again it is something else:\n%s", second)
	}
}

// Recipes with a slip are told, and nothing of them is used.
func TestRecipesWithASlip(t *testing.T) {
	const good = "fault: f\nlook: l\nmeasure: m\neach: cues\nchange: {in_s: 0}\n"
	if _, err := parse([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"", "fault: f", strings.Replace(good, "cues", "songs", 1), good + "lamp: x\n", good + "also: [a/b]\n", good + "because: b\n",
		strings.Replace(good, "change: {in_s: 0}", "", 1), strings.Replace(good, "cues", "patch", 1) + "settings: [{lamps: true}]\n", good + strings.Repeat("#", mostRecipe),
		good + "where: any(it.set,\n", strings.Replace(good, "in_s: 0", "in_s: =1 +", 1),
	} {
		if _, err := parse([]byte(text)); err == nil {
			t.Errorf("%.80q is read", text)
		}
	}
}

// What a recipe tells people is read aloud: no sentence has more than 20 words.
func TestRecipesAreReadAloud(t *testing.T) {
	recipes, _ := all(t)
	for rule, r := range recipes {
		for _, text := range []string{r.Fault, r.Look, r.Measure, r.Because, r.When} {
			for _, sentence := range strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(".?!:", c) }) {
				if words := strings.Fields(sentence); len(words) > 20 {
					t.Errorf("%s: %d words: %s", rule, len(words), sentence)
				}
			}
			if text != "" && !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
				t.Errorf("%s: %q is no sentence", rule, text)
			}
		}
	}
}

// What is changed in a text leaves all else as it was written.
func TestATextIsChangedInPlace(t *testing.T) {
	files := Files{"cues.json": []byte("[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  },\n  { \"cue\": 2 }\n]\n")}
	for _, test := range []struct {
		do   func(d *document, cues []source.Ref) error
		want string
	}{
		{func(d *document, cues []source.Ref) error { return d.set(cues[0], "cue", 3) }, "[\n  { \"cue\": 3,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  },\n  { \"cue\": 2 }\n]\n"},
		{func(d *document, cues []source.Ref) error { return d.set(cues[1], "name", "x") }, "[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  },\n  { \"cue\": 2, \"name\": \"x\" }\n]\n"},
		{func(d *document, cues []source.Ref) error { d.cut(cues[0]); return nil }, "[\n  { \"cue\": 2 }\n]\n"},
		{func(d *document, cues []source.Ref) error { d.cut(cues[1]); return nil }, "[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  }\n]\n"},
		{func(d *document, cues []source.Ref) error {
			set, _ := cues[0].Get("set")
			d.add(set, "{}")
			d.add(set, "[]")
			return nil
		}, "[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" },\n      {},\n      []\n    ]\n  },\n  { \"cue\": 2 }\n]\n"},
		{func(d *document, cues []source.Ref) error {
			return errors.Join(d.set(cues[1], "set", []any{}), d.set(cues[1], "name", "x"))
		}, "[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  },\n  { \"cue\": 2, \"set\": [], \"name\": \"x\" }\n]\n"},
		{func(d *document, cues []source.Ref) error { // the same key again
			return errors.Join(d.set(cues[1], "name", "x"), d.set(cues[1], "in_s", 3), d.set(cues[1], "name", "y"))
		}, "[\n  { \"cue\": 1,\n    \"set\": [\n      { \"channels\": \"1\" }\n    ]\n  },\n  { \"cue\": 2, \"name\": \"y\", \"in_s\": 3 }\n]\n"},
	} {
		d, err := read(files)
		if err != nil {
			t.Fatal(err)
		}
		_, cues := d.list("cues")
		if err := test.do(d, cues); err != nil {
			t.Fatal(err)
		}
		if got := string(d.changed(files)["cues.json"]); got != test.want {
			t.Errorf("%s\nwant\n%s", got, test.want)
		}
	}
}

// TestASettingOfNoLampIsLeftOut: where no lamp is meant the others are set all the same, and a cue without settings gets a list of
// them.
func TestASettingOfNoLampIsLeftOut(t *testing.T) {
	recipe := &Recipe{Rule: "a/b", Edit: Edit{Each: "cues", Where: "it.cue == 2", Settings: []Settings{
		{Lamps: `it.purpose == "haze"`, Set: map[string]any{"level": 1}}, {Lamps: `it.purpose == "key"`, Set: map[string]any{"level": 10}}, {Set: map[string]any{"channels": "9", "level": 20}},
	}}}
	judge := func(Files) ([]finding.Finding, error) {
		return []finding.Finding{{Rule: "a/b", Verdict: finding.Fail, Message: "broken"}}, nil
	}
	for cue, want := range map[string]string{
		`{"cue": 2}`: `{"cue": 2, "set": [{"channels":"1-2, 4","level":10},{"channels":"9","level":20}]}`,
		`{"cue": 2, "set": [{"channels": "5", "level": 5}]}`: `{"cue": 2, "set": [{"channels": "5", "level": 5}, {"channels":"1-2, 4","level":10}, {"channels":"9","level":20}]}`,
	} {
		files := Files{"show.json": []byte(`{"patch": [{"channel": 1, "purpose": "key"}, {"channel": 2, "purpose": "key"}, {"channel": 3, "purpose": "back"}, {"channel": 4, "purpose": "key"}], "cues": [{"cue": 1}, ` + cue + `]}`)}
		changed, fault, err := Break(files, nil, recipe, judge, 1)
		if err != nil {
			t.Fatal(err)
		}
		if got := string(changed["show.json"]); !strings.HasSuffix(got, want+"]}") || fault.Says != "broken" {
			t.Errorf("%s\nwant %s", got, want)
		}
	}
}
