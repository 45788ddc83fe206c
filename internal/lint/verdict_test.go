package lint

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/go-cmp/cmp"
)

// made compiles rules that a test needs, by id; each is the text of its rule.yaml.
func made(t testing.TB, texts map[string]string) *rules.Set {
	t.Helper()
	files := fstest.MapFS{}
	for id, text := range texts {
		files[id+"/rule.yaml"] = &fstest.MapFile{Data: []byte(text)}
		files[id+"/explain.md"] = &fstest.MapFile{Data: []byte("Because.")}
	}
	set, mistakes := rules.Load(files, "")
	for _, m := range mistakes {
		t.Fatalf("%s: %s", m.Place.File.Name, m.Message)
	}
	return set
}

// onPurpose is a rule that fixtures of one purpose break.
func onPurpose(purpose, level, consequence, more string) string {
	return `
title: A fixture has the purpose ` + purpose + `.
over: fixture
expect: fixture.purpose != "` + purpose + `"
say: Channel {fixture.channel} has the purpose ` + purpose + `.
level: ` + level + `
consequence: ` + consequence + `
` + more
}

const slotsKnown = `
title: Nobody knows how many slots a fixture has.
over: fixture
expect: fixture.slots > 0
say: Channel {fixture.channel} has no slots.
consequence: dark
level: `

// threeLevels has a rule of each level, and one that may not be able to tell.
func threeLevels(t testing.TB) *rules.Set {
	return made(t, map[string]string{
		"t/error":   onPurpose("fill", "error", "dark", ""),
		"t/warning": onPurpose("side", "warning", "camera", ""),
		"t/note":    onPurpose("top", "note", "later", ""),
		"t/slots":   slotsKnown + "warning",
	})
}

// folder writes the files of a show and returns the folder they are in.
func folder(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// run checks one show and returns what is told of it.
func run(t testing.TB, path string, o Options) outcome.Show {
	t.Helper()
	r, err := Run([]string{path}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r.Shows[0]
}

func purposes(list ...string) string {
	var items []string
	for i, purpose := range list {
		items = append(items, `{"channel": `+string(rune('1'+i))+`, "type": "lamp", "purpose": "`+purpose+`"}`)
	}
	return `"types": [{"name": "lamp", "slots": 1}], "patch": [` + strings.Join(items, ",") + `], "cues": [{"cue": 1}]`
}

// inferred says of every purpose that nobody has read it.
func inferred(sections string) string {
	return strings.ReplaceAll(sections, `"purpose":`, `"known": {"purpose": "inferred"}, "purpose":`)
}

func TestVerdicts(t *testing.T) {
	const cues, patch = `[{"cue": 1}]`, `[{"channel": 1}]`
	overCircuits := made(t, map[string]string{"t/circuit": `
title: A circuit is overloaded.
over: circuit
expect: circuit.load_pct <= 80
say: It is.
level: error
consequence: hurt
`})
	for _, test := range []struct {
		name    string
		files   map[string]string
		rules   *rules.Set
		verdict outcome.Readiness
		because string
	}{
		{"all is well", map[string]string{"show.json": "{" + purposes("key") + "}"}, threeLevels(t), outcome.Ready, "nothing was found"},
		{"a note", map[string]string{"show.json": "{" + purposes("key", "top") + "}"}, threeLevels(t), outcome.Ready, "what is left are notes"},
		{"a warning", map[string]string{"show.json": "{" + purposes("side", "top") + "}"}, threeLevels(t), outcome.WithCare, "1 finding is worth a change"},
		{"two warnings", map[string]string{"show.json": "{" + purposes("side", "side") + "}"}, threeLevels(t), outcome.WithCare, "2 findings are worth a change"},
		{"an error", map[string]string{"show.json": "{" + purposes("fill", "side") + "}"}, threeLevels(t), outcome.Hold, "1 finding has to be put right"},
		{"two errors", map[string]string{"show.json": "{" + purposes("fill", "fill") + "}"}, threeLevels(t), outcome.Hold, "2 findings have to be put right"},
		{"an error that is only likely", map[string]string{"show.json": "{" + inferred(purposes("fill")) + "}"}, threeLevels(t), outcome.WithCare, "1 finding is likely"},
		{"a sure error beside a likely one", map[string]string{"show.json": "{" + inferred(purposes("fill")) + "}", "x.json": ""}, made(t, map[string]string{"t/error": onPurpose("fill", "error", "dark", ""), "t/type": "title: A lamp.\nover: fixture\nexpect: fixture.type != 'lamp'\nsay: It is.\nlevel: error\nconsequence: dark\n"}), outcome.Hold, "1 finding has to be put right"},
		{"an inference with which nothing turns", map[string]string{"show.json": "{" + inferred(purposes("key")) + "}"}, threeLevels(t), outcome.Ready, "nothing was found"},
		{"a rule cannot tell", map[string]string{"patch.json": patch, "cues.json": cues}, threeLevels(t), outcome.WithCare, "not everything could be checked"},
		{"only a note cannot tell", map[string]string{"patch.json": patch, "cues.json": cues}, made(t, map[string]string{"t/slots": slotsKnown + "note"}), outcome.Ready, "what is left are notes"},
		{"a rule has nothing to look at", map[string]string{"show.json": "{" + purposes("key") + "}"}, made(t, map[string]string{"t/error": onPurpose("fill", "error", "dark", ""), "t/circuit": ruleText(overCircuits)}), outcome.WithCare, "not everything could be checked"},

		{"no rule has anything to look at", map[string]string{"show.json": "{" + purposes("key") + "}"}, overCircuits, outcome.NotChecked, "No rule found anything"},
		{"no rules at all", map[string]string{"show.json": "{" + purposes("fill") + "}"}, &rules.Set{}, outcome.NotChecked, "No rule found anything"},
		{"an empty folder", nil, threeLevels(t), outcome.NotChecked, "could not be read"},
		{"a folder of other things", map[string]string{"holiday.txt": "sea"}, threeLevels(t), outcome.NotChecked, "could not be read"},
		{"an empty object", map[string]string{"show.json": "{}"}, threeLevels(t), outcome.NotChecked, "no patch list and no cue list"},
		{"an empty file", map[string]string{"show.json": ""}, threeLevels(t), outcome.NotChecked, "could not be read"},
		{"empty sections", map[string]string{"patch.json": "[]", "cues.json": "[]"}, threeLevels(t), outcome.NotChecked, "no patch list and no cue list"},
		{"no cues", map[string]string{"patch.json": patch}, threeLevels(t), outcome.NotChecked, "no cue list"},
		{"no patch", map[string]string{"cues.json": cues}, threeLevels(t), outcome.NotChecked, "no patch list"},
		{"a misspelt section", map[string]string{"show.json": strings.Replace("{"+purposes("key")+"}", `"cues"`, `"cuess"`, 1)}, threeLevels(t), outcome.NotChecked, "no cue list"},
		{"a misspelt file", map[string]string{"patch.json": patch, "cue.json": cues}, threeLevels(t), outcome.NotChecked, "no cue list"},
		{"a file that is cut off", map[string]string{"patch.json": `[{"channel": 1}, {"chan`, "cues.json": cues}, threeLevels(t), outcome.NotChecked, "could not be read"},
		{"another file that is cut off", map[string]string{"patch.json": patch, "cues.json": cues, "room.json": `{"name"`}, threeLevels(t), outcome.NotChecked, "could not be read"},
		{"a section that is something else", map[string]string{"patch.json": `"1-6"`, "cues.json": cues}, threeLevels(t), outcome.NotChecked, "no patch list"},
	} {
		t.Run(test.name, func(t *testing.T) {
			told := run(t, folder(t, test.files), Options{Rules: test.rules})
			if told.Verdict != test.verdict || !strings.Contains(told.Because, test.because) {
				t.Errorf("%s: %s\nwant %s: ...%s...", told.Verdict, told.Because, test.verdict, test.because)
			}
		})
	}
}

// ruleText is the text of the only rule of a set.
func ruleText(set *rules.Set) string {
	rule := set.Rules[0]
	return "title: " + rule.Title + "\nover: " + rule.Over + "\nexpect: " + rule.Expect + "\nsay: It is.\nlevel: error\nconsequence: hurt\n"
}

// A show that cannot be found is no show, and no verdict is given of it.
func TestNoShow(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "nowhere")
	good := folder(t, map[string]string{"show.json": "{" + purposes("key") + "}"})
	if r, err := Run([]string{good, missing}, Options{Rules: threeLevels(t)}); err == nil || r != nil {
		t.Errorf("a show that is not there gives %v, %v", r, err)
	}
	if r, err := Run(nil, Options{Rules: threeLevels(t)}); err != nil || len(r.Shows) != 0 {
		t.Errorf("no shows give %v, %v", r, err)
	}
}

// What is below the level that was asked for is left out and counted; the verdict
// is that of the whole show all the same.
func TestMinLevelLeavesOutAndCounts(t *testing.T) {
	show := folder(t, map[string]string{"show.json": "{" + purposes("fill", "side", "top", "top") + "}"})
	for _, test := range []struct {
		least   finding.Level
		kept    int
		leftOut int
	}{{"", 4, 0}, {finding.Note, 4, 0}, {finding.Warning, 2, 2}, {finding.Error, 1, 3}} {
		told := run(t, show, Options{Rules: threeLevels(t), MinLevel: test.least})
		if len(told.Findings) != test.kept || told.LeftOut != test.leftOut || len(told.NeedPerson) != test.kept {
			t.Errorf("from %q on: %d findings and %d left out, %d for a person; want %d and %d", test.least, len(told.Findings), told.LeftOut, len(told.NeedPerson), test.kept, test.leftOut)
		}
		for _, f := range told.Findings {
			if test.least != "" && !f.Level.AtLeast(test.least) {
				t.Errorf("from %q on there is a %s", test.least, f.Level)
			}
		}
		if told.Verdict != outcome.Hold {
			t.Errorf("from %q on the verdict is %s", test.least, told.Verdict)
		}
	}
	notes := folder(t, map[string]string{"show.json": "{" + purposes("side") + "}"})
	if told := run(t, notes, Options{Rules: threeLevels(t), MinLevel: finding.Error}); told.Verdict != outcome.WithCare || told.LeftOut != 1 {
		t.Errorf("a warning that is left out makes the show %s, %d left out", told.Verdict, told.LeftOut)
	}
}

// An action that clears an error is offered, whoever proposed it; the lesser
// things that it clears too are left out of its count as they are of the list.
func TestMinLevelKeepsWhatClearsAnError(t *testing.T) {
	set := made(t, map[string]string{
		"t/hurt": onPurpose("fill", "note", "hurt", `
remedies:
  - change: [{on: fixture, set: purpose, to: '"key"'}]
    effect: It is a key light.
`),
		"t/later": onPurpose("fill", "error", "later", ""),
	})
	show := folder(t, map[string]string{"show.json": "{" + purposes("fill") + "}"})
	told := run(t, show, Options{Rules: set, MinLevel: finding.Error})
	if len(told.Orders) != 1 || told.Orders[0].Level != finding.Error || len(told.Orders[0].Cures) != 1 {
		t.Errorf("actions: %+v", told.Orders)
	}
	if len(told.Findings) != 1 || told.LeftOut != 1 || len(told.NeedPerson) != 0 {
		t.Errorf("%d findings, %d left out, %d for a person", len(told.Findings), told.LeftOut, len(told.NeedPerson))
	}
}

func TestGapsOfAShow(t *testing.T) {
	show := folder(t, map[string]string{"show.json": `{
		"types": [{"name": "lamp"}, {"name": "counted", "slots": 2}],
		"patch": [{"channel": 1, "type": "lamp"}, {"channel": 2, "type": "lamp"}, {"channel": 3, "type": "counted"}, {"channel": 4}],
		"cues": [{"cue": 1}]}`})
	set := made(t, map[string]string{"t/slots": slotsKnown + "warning", "t/again": slotsKnown + "error"})
	told := run(t, show, Options{Rules: set})
	want := []string{
		`the number of addresses of the type "lamp": 2, t/again t/slots`,
		"the type of the fixture on channel 4: 1, t/again t/slots",
	}
	var got []string
	for _, gap := range told.Gaps {
		got = append(got, fmt.Sprintf("%s: %d, %s", gap.Missing, gap.Subjects, strings.Join(gap.Rules, " ")))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if len(told.ByEye) == 0 {
		t.Error("there is nothing to look at by eye")
	}
}
