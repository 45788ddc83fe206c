package rules

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema/schematest"
	"github.com/google/go-cmp/cmp"
)

// measured reads a show from its JSON and measures it.
func measured(t testing.TB, text string) *facts.Measured {
	t.Helper()
	show := schematest.Read(t, text)
	return facts.Measure(show, tracking.Resolve(show))
}

// halfKnown is a fixture of which some facts are known (tlci 92, one twin earlier
// in the patch) and some are not (cri, slot).
const halfKnown = `{
  "types": [{"name": "profile", "tlci": 92, "slots": 4}],
  "patch": [{"channel": 7, "type": "profile", "address": "1.1"}, {"channel": 7, "type": "profile", "name": "second"}],
  "cues": [{"cue": 1, "set": [{"channels": "7-9", "level": 50}, {"channels": "8", "level": 40}]}]
}`

const (
	holds = string(asItShould)
	fails = string(finding.Fail)
	open  = string(finding.Open)
	none  = string(notItsBusiness)
)

// verdictOn is what the rule says of the last subject of its kind.
func verdictOn(t *testing.T, m *facts.Measured, rule *Rule) (string, []string) {
	t.Helper()
	subjects := m.Subjects(rule.Over)
	subject := subjects[len(subjects)-1]
	j := rule.newJudgement()
	verdict, missing := j.verdict(subject)
	return string(verdict), missing
}

func TestWhatIsUnknown(t *testing.T) {
	m := measured(t, halfKnown)
	for _, c := range []struct{ expect, want string }{
		{`fixture.tlci >= 85`, holds},
		{`fixture.tlci >= 95`, fails},
		{`fixture.cri >= 90`, open},
		{`not (fixture.cri >= 90)`, open},
		{`-fixture.cri < 0`, open},

		// From left to right, as far as it takes.
		{`fixture.tlci >= 95 and fixture.cri >= 90`, fails},
		{`fixture.tlci >= 85 and fixture.cri >= 90`, open},
		{`fixture.tlci >= 85 or fixture.cri >= 90`, holds},
		{`fixture.tlci >= 95 or fixture.cri >= 90`, open},
		{`fixture.cri >= 90 and fixture.tlci >= 95`, open},
		{`fixture.cri >= 90 and false`, fails}, // whatever it is
		{`fixture.cri >= 90 or true`, holds},
		{`fixture.tlci >= 85 ? true : fixture.cri >= 90`, holds},
		{`fixture.tlci >= 95 ? true : fixture.cri >= 90`, open},
		{`fixture.cri >= 90 ? true : true`, open},

		// Two things cannot be equal or different if one is unknown.
		{`fixture.cri == 90`, open},
		{`fixture.cri != 90`, open},
		{`90 == fixture.cri`, open},
		{`fixture.cri == fixture.tlci`, open},
		{`fixture.cri in [90, 95]`, open},
		{`fixture.cri not in [90, 95]`, open},

		// But a rule may ask whether it is unknown.
		{`fixture.cri == nil`, holds},
		{`nil == fixture.cri`, holds},
		{`fixture.cri != nil`, fails},
		{`fixture.tlci != nil`, holds},
		{`fixture.cri == nil or fixture.cri >= 90`, holds},
		{`fixture.cri != nil and fixture.cri >= 90`, fails},
		{`fixture.tlci == nil or fixture.tlci >= 85`, holds},
		{`fixture["cri"] == nil`, holds},
		{`fixture["cri"] >= 90`, open},

		// In functions and lists.
		{`abs(fixture.cri) >= 0`, open},
		{`max(fixture.cri, 0) >= 0`, open},
		{`round(fixture.tlci) == 92`, holds},
		{`len([fixture.cri]) == 1`, open},
		{`sum([fixture.tlci, 8]) == 100`, holds},
		{`any(fixture.twins, fixture.cri >= 90)`, open},
		{`len(fixture.twins) == 1`, holds},
		{`count(fixture.twins, # == "") == 0`, holds}, // another function of a list than its length
		{`all(fixture.twins, fixture.cri == nil)`, holds},
		{`none(fixture.overlaps, fixture.cri >= 90)`, holds}, // there is none to ask it of

		// What cannot be computed is unknown too, and never true or false.
		{`1 / 0 > 1`, open},
		{`fixture.tlci / 0 > 1`, open},
		{`not (fixture.tlci / (fixture.channel - 7) > 1)`, open},
		{`0 / (fixture.channel - 7) == 0`, open},
		{`fixture.channel / 2 == 3.5`, holds},
		{`any(fixture.twins, 1 / (len(#) - len(#)) > 0)`, open},
		{`fixture.overlaps[3] == "channel 1"`, open},
		{`1e308 * fixture.channel * 10 / 1e308 > 0`, holds}, // infinity is larger than nought
	} {
		t.Run(c.expect, func(t *testing.T) {
			rule := mustLoad(t, written("expect: |\n  "+c.expect))
			got, missing := verdictOn(t, m, rule)
			if got != c.want {
				t.Errorf("the verdict is %q, wanted %q (missing %q)", got, c.want, missing)
			}
			if (got == open) != (len(missing) > 0) {
				t.Errorf("the verdict is %q, and missing is %q", got, missing)
			}
		})
	}
}

func TestWhatIsUnknownOfAnItem(t *testing.T) {
	m := measured(t, halfKnown) // the cue has a setting with patched channels and one with none
	for _, c := range []struct{ expect, want string }{
		{`sum(cue.unpatched) == 17 and len(cue.unpatched) == 2`, holds},
		{`any(cue.unpatched_settings, .patched_channels == "7")`, holds}, // found before the unknown one
		{`all(cue.unpatched_settings, .patched_channels == "7")`, open},
		{`any(cue.unpatched_settings, .patched_channels == "9")`, open},
		{`any(cue.unpatched_settings, #.patched_channels == nil)`, holds},
		{`count(cue.unpatched_settings, .patched_channels != nil) == 1`, holds},
		{`len(filter(cue.unpatched_settings, .patched_channels == "7")) == 1`, open},
		{`len(map(cue.unpatched_settings, .patched_channels)) == 2`, open},
	} {
		t.Run(c.expect, func(t *testing.T) {
			rule := mustLoad(t, written("over: cue", "expect: |\n  "+c.expect))
			if got, missing := verdictOn(t, m, rule); got != c.want {
				t.Errorf("the verdict is %q, wanted %q (missing %q)", got, c.want, missing)
			}
		})
	}
}

func TestWhen(t *testing.T) {
	m := measured(t, halfKnown)
	for _, c := range []struct{ when, want string }{
		{`fixture.tlci >= 85`, fails},
		{`fixture.tlci >= 95`, none},
		{`fixture.cri >= 90`, open},
		{`fixture.cri != nil and fixture.cri >= 90`, none},
	} {
		rule := mustLoad(t, written("when: "+c.when, "expect: fixture.channel == 0"))
		if got, _ := verdictOn(t, m, rule); got != c.want {
			t.Errorf("when %s: the verdict is %q, wanted %q", c.when, got, c.want)
		}
	}
}

func TestMissingIsSaidInTheWordsOfTheShow(t *testing.T) {
	m := measured(t, `{
	  "room": {"circuits": [{"name": "front", "volts": 230, "amps": 16}]},
	  "types": [{"name": "flood"}],
	  "patch": [{"channel": 1, "type": "flood", "circuit": "front"}, {"channel": 2, "type": "strip", "circuit": "front"}]
	}`)
	for _, c := range []struct {
		over, expect string
		want         []string
	}{
		{"circuit", "circuit.load_pct <= 80", []string{`the watts of the type "flood"`, `the type "strip", with its watts`}},
		{"fixture", "fixture.cri >= 90", []string{`the type "strip", with its colour rendering`}},
		{"fixture", "fixture.channel / 0 > 1", []string{"numbers with which fixture.channel / 0 > 1 can be computed"}},
	} {
		rule := mustLoad(t, written("over: "+c.over, "expect: "+c.expect))
		if _, missing := verdictOn(t, m, rule); !cmp.Equal(missing, c.want) {
			t.Errorf("%s: missing is %q, wanted %q", c.expect, missing, c.want)
		}
	}
}

// judgeOne lets one rule judge a show.
func judgeOne(t *testing.T, show, rule string) ([]finding.Finding, finding.Tally) {
	t.Helper()
	set := &Set{Rules: []*Rule{mustLoad(t, rule)}}
	found, tallies := set.Judge(measured(t, show))
	return found, tallies[0]
}

// Where somebody asks whether a state stands or falls by one rule, that is judged first, and the others where it stands.
func TestTheRuleByWhichAStateStands(t *testing.T) {
	set, _ := Load(fstest.MapFS{
		"pack/one/rule.yaml": {Data: []byte(written("expect: fixture.channel > 7"))}, "pack/one/explain.md": {Data: []byte("Because.\n")},
		"pack/two/rule.yaml": {Data: []byte(written("expect: fixture.channel > 8"))}, "pack/two/explain.md": {Data: []byte("Because.\n")},
	}, "house")
	if len(set.Rules) != 2 {
		t.Fatalf("%d rules", len(set.Rules))
	}
	for rule, want := range map[string]string{set.Rules[0].ID: "told 1, all 2", set.Rules[1].ID: "told 1, all 2", "pack/none": "told 0, all 2"} {
		for _, stands := range []bool{true, false} {
			told := 0
			found, tallies, _ := set.JudgeInBrief(measured(t, halfKnown), nil, &First{Rule: rule, Holds: func(now []finding.Finding) bool { told = len(now); return stands }})
			got, want := fmt.Sprintf("told %d, all %d", told, len(found)), want
			if !stands && rule != "pack/none" {
				want = "told 1, all 0"
			}
			if got != want || (len(tallies) == 0) != (len(found) == 0) {
				t.Errorf("by %s it stands: %v: %s (%d tallies), want %s", rule, stands, got, len(tallies), want)
			}
		}
	}
}

func TestEvidenceIsReadOffTheExpression(t *testing.T) {
	found, _ := judgeOne(t, halfKnown, written(
		`expect: (fixture.cri == nil or fixture.cri > 90) and fixture.tlci + limit.step < limit.most and fixture.type != "profile" and all(fixture.twins, len(#) > fixture.twin_count) and fixture.tlci > limit.step`,
		`when: fixture.channel > limit.unseen`,
		`say: "{fixture.tlci} of {limit.most}, cri {fixture.cri}, {{braces}}"`,
		`hint: "Change {fixture.name}."`,
		`limits:`, `  unseen: {value: 1, unit: "", source: x}`, `  most: {value: 95.5, unit: pt, source: x}`, `  step: {value: 10, unit: pt, source: x}`,
	))
	if len(found) != 1 { // both lines of the patch are channel 7
		t.Fatalf("%d findings: %v", len(found), found)
	}
	f := found[0]
	show := func(list []finding.Evidence) (lines []string) {
		for _, e := range list {
			line := strings.TrimSpace(e.Name + " = " + e.Value + " " + e.Unit)
			if e.Num != nil {
				line += fmt.Sprintf(" (%g)", *e.Num)
			}
			lines = append(lines, line)
		}
		return lines
	}
	if diff := cmp.Diff([]string{"fixture.tlci = 92 (92)", "fixture.type = profile", "fixture.twins =", "fixture.twin_count = 0 (0)"}, show(f.Measured)); diff != "" {
		t.Errorf("measured (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"limit.step = 10 pt (10)", "limit.most = 95.5 pt (95.5)"}, show(f.Limits)); diff != "" {
		t.Errorf("limits (-want +got):\n%s", diff)
	}
	if f.Message != "92 of 95.5, cri unknown, {braces}" || f.Hint != "Change ." {
		t.Errorf("message %q, hint %q", f.Message, f.Hint)
	}
}

func TestOthersAreShownWithTheirPlaces(t *testing.T) {
	found, _ := judgeOne(t, halfKnown, written("expect: fixture.twin_count == 0", "others: twins", "others_are: the other one"))
	if len(found) != 1 || len(found[0].Related) != 1 || found[0].Related[0].Message != "the other one" {
		t.Fatalf("found %v", found)
	}
	if here, there := found[0].Place.Start, found[0].Related[0].Place.Start; there >= here {
		t.Errorf("the finding stands at byte %d and the other at %d, wanted earlier", here, there)
	}
}

// twoCues is a person in two cues of a song, under key lights that can be set.
const twoCues = `{
  "room": {"places": [{"name": "piano"}]},
  "types": [{"name": "variable", "source": "tunable-led", "white_k": 3200, "white_range_k": [2800, 6500]}, {"name": "fixed", "source": "white-led", "white_k": 5600}],
  "patch": [
    {"channel": 1, "type": "fixed", "purpose": "key", "aimed_at": "piano"},
    {"channel": 2, "type": "variable", "purpose": "key", "aimed_at": "piano"}
  ],
  "cues": [
    {"cue": 1, "segment": "song", "set": [{"channels": "1-2", "level": 50, "white_k": 3200}]},
    {"cue": 2, "segment": "song", "set": [{"channels": "2", "level": 60, "white_k": 3300}]},
    {"cue": 3, "segment": "song", "set": [{"channels": "1", "level": 40}]},
    {"cue": 4, "segment": "talk", "set": [{"channels": "1", "level": 30}]}
  ],
  "order": [{"name": "song", "people": ["piano"]}, {"name": "talk", "people": ["piano"]}]
}`

func TestCuesOfOneThingAreOneFinding(t *testing.T) {
	found, tally := judgeOne(t, twoCues, written("over: person", "expect: person.key_count > 2", `say: "In cue {person.cue}."`,
		"remedies:", "  - change: [{on: person.keys_to_set(15), set: white_k, to: \"5600\"}]", "    effect: Done."))
	if len(found) != 2 {
		t.Fatalf("%d findings, wanted one for the song and one for the talk", len(found))
	}
	song := found[0]
	if diff := cmp.Diff([]string{"1", "2", "3"}, song.Cues); diff != "" {
		t.Errorf("cues (-want +got):\n%s", diff)
	}
	if song.Message != "In cue 1." {
		t.Errorf("the message is %q; wanted are the numbers of the first cue", song.Message)
	}
	if len(song.Remedies) != 1 || len(song.Remedies[0].Edits) != 2 {
		t.Errorf("remedies are %v; wanted is one, with the settings of cues 1 and 2", song.Remedies)
	}
	if tally.Subjects != 4 || tally.Fails != 2 || tally.Open != 0 {
		t.Errorf("the tally is %+v", tally)
	}
}

// Which of a rule's remedies can be offered differs from cue to cue; what is put
// together has to be the same remedy.
func TestEachRemedyIsMergedWithItself(t *testing.T) {
	rule := func(first, second string) string {
		return written("over: person", "expect: person.key_count > 2", "remedies:",
			"  - when: "+first, "    change: [{on: person.keys_to_set(15), set: white_k, to: \"5600\"}]", "    effect: White.",
			"  - when: "+second, "    change: [{on: person.keys_to_set(15), set: level, to: \"10\"}]", "    effect: Level.")
	}
	for _, c := range []struct{ first, second, want string }{
		{`person.cue == "2"`, `person.cue == "1"`, "White.: white_k; Level.: level"},
		{`person.cue == "1"`, `person.cue == "2"`, "White.: white_k; Level.: level"},
		{`person.cue == "2"`, `1 == 1`, "White.: white_k; Level.: level, level"},
		{`1 == 1`, `person.cue == "2"`, "White.: white_k, white_k; Level.: level"},
		{`1 == 2`, `person.cue == "2"`, "Level.: level"},
		{`1 == 2`, `1 == 2`, ""},
		{`person.best_camera_k(15) > 0`, `1 == 1`, "Level.: level, level"}, // unknown: not offered
	} {
		found, _ := judgeOne(t, twoCues, rule(c.first, c.second))
		var remedies []string
		for _, r := range found[0].Remedies {
			var fields []string
			for _, edit := range r.Edits {
				fields = append(fields, edit.Field)
			}
			remedies = append(remedies, r.Effect+": "+strings.Join(fields, ", "))
		}
		if got := strings.Join(remedies, "; "); got != c.want {
			t.Errorf("when %s and when %s: remedies are %q, wanted %q", c.first, c.second, got, c.want)
		}
	}
}

func TestRemedyWithAnUnknownValueIsNotOffered(t *testing.T) {
	change := func(changes string) string {
		return written("over: person", "expect: person.key_count > 2", "remedies:", "  - effect: Done.", "    change: "+changes)
	}
	for _, c := range []struct{ what, rule, want string }{
		{"known", change("[{on: person.keys_to_set(15), set: level, to: it.level_pct + 5}]"), "level=55"},
		{"of each thing by itself", change("[{on: person.keys_to_set(15), set: level, to: it.channel}]"), "level=2"},
		{"taken away", change("[{on: person.keys_to_set(15), set: white_k}]"), "white_k=<nil>"},
		{"text", change("[{on: person.keys_to_set(15), set: purpose, to: person.place}]"), "purpose=piano"},
		{"unknown", change("[{on: person.keys_to_set(15), set: level, to: it.level_for_drift(20)}]"), ""},
		{"one of two is unknown", change("[{on: person.keys_to_set(15), set: white_k, to: \"5600\"}, {on: person.keys_to_set(15), set: level, to: it.level_for_drift(20)}]"), ""},
		{"not computable", change("[{on: person.keys_to_set(15), set: level, to: 1 / (it.channel - 2)}]"), ""},
		{"nothing to change", change("[{on: person.dark_back_lamps(), set: level, to: \"50\"}]"), ""},
	} {
		t.Run(c.what, func(t *testing.T) {
			found, _ := judgeOne(t, twoCues, c.rule)
			got := ""
			for _, r := range found[0].Remedies {
				edit := r.Edits[0]
				got += fmt.Sprintf("%s=%v", edit.Field, edit.Value)
			}
			if got != c.want {
				t.Errorf("offered is %q, wanted %q", got, c.want)
			}
		})
	}
}

func TestTally(t *testing.T) {
	const show = `{
	  "types": [{"name": "a", "cri": 95}, {"name": "b", "cri": 70}, {"name": "c"}],
	  "patch": [{"channel": 1, "type": "a"}, {"channel": 2, "type": "b"}, {"channel": 3, "type": "c"}, {"channel": 4, "type": "a", "purpose": "house"}]
	}`
	found, tally := judgeOne(t, show, written(`when: fixture.purpose != "house"`, "expect: fixture.cri >= 90", "title: It is dull."))
	if tally.Subjects != 3 || tally.Fails != 1 || tally.Open != 1 || tally.None != nil {
		t.Errorf("the tally is %+v", tally)
	}
	if len(found) != 2 || found[0].Verdict != finding.Fail || found[1].Verdict != finding.Open || found[1].Message != "Could not tell: It is dull." {
		t.Errorf("found %v", found)
	}
	_, tally = judgeOne(t, show, written("over: cue", `expect: cue.number != ""`))
	if tally.Subjects != 0 || len(tally.None) != 1 {
		t.Errorf("the tally of a show without cues is %+v; wanted is what it would have to give", tally)
	}
}

func TestFormatNumber(t *testing.T) {
	for _, c := range []struct {
		number float64
		want   string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {1, "1"}, {-1, "-1"}, {100, "100"}, {1200, "1200"}, {63999, "63999"},
		{133.929, "134"}, {-133.929, "-134"}, {99.95, "100"}, {99.94, "99.9"}, {10.04, "10"}, {10.05, "10.1"}, {82.6087, "82.6"},
		{9.995, "9.99"}, {9.999, "10"}, {1.5, "1.5"}, {3.14159, "3.14"}, {1.004, "1"},
		{0.9994, "0.999"}, {0.9996, "1"}, {0.333333, "0.333"}, {0.1, "0.1"},
		{0.0061, "0.0061"}, {-0.0061, "-0.0061"}, {0.006, "0.006"}, {0.05, "0.05"}, {0.00004, "0"}, {-0.00004, "0"}, {0.00005001, "0.0001"},
		{1e15, "1000000000000000"},
	} {
		if got := FormatNumber(c.number); got != c.want {
			t.Errorf("%v is written %q, wanted %q", c.number, got, c.want)
		}
	}
}

func TestFormatValue(t *testing.T) {
	number, word := 2.5, "word"
	var nothing *float64
	for _, c := range []struct {
		value any
		want  string
	}{
		{nil, "unknown"}, {nothing, "unknown"}, {&number, "2.5"}, {&word, "word"}, {"text", "text"}, {7, "7"}, {true, "yes"}, {false, "no"},
		{[]string{"a", "b"}, "a, b"}, {[]int{1, 2}, "1, 2"}, {[]any{1.25, "x", nil}, "1.25, x, unknown"}, {[]string(nil), ""},
		{&facts.Fixture{Channel: 3}, "channel 3"}, {[]*facts.Fixture{{Channel: 3}, {Channel: 4}}, "channel 3, channel 4"},
	} {
		if got := FormatValue(c.value); got != c.want {
			t.Errorf("%v is written %q, wanted %q", c.value, got, c.want)
		}
	}
}

// Half a lamp of 1,000 lm gives 500 lm by a straight curve and 250 lm by a square
// one; which it has, the show does not say.
func TestWhatRestsOnAnAssumption(t *testing.T) {
	const show = `{
  "types": [{"name": "profile", "source": "white-led", "white_k": 5600, "flux_lm": 1000%s}],
  "patch": [{"channel": 7, "type": "profile"}],
  "cues": [{"cue": 1, "set": [{"channels": "7", "level": 50}]}]
}`
	const rule = `title: Light.
over: lamp
expect: %s
measure: {of: lamp.lumens, unit: lm, worse: more, margin: 50}
say: "{lamp.lumens} lm."
level: note
consequence: later
`
	for _, c := range []struct {
		curve, expect string
		known         finding.Known
		likely        bool
		message       string
	}{
		{"", "lamp.lumens >= 501", finding.Assumed, false, "500 lm."}, // over all that it can be
		{"", "lamp.lumens < 250", finding.Assumed, false, "500 lm."},
		{"", "lamp.lumens <= 250", finding.Assumed, true, `500 lm. This rests on the usual dimmer curve of the type "profile" (linear, of the light).`},
		{`, "dimmer_curve": "linear"`, "lamp.lumens <= 250", finding.Derived, false, "500 lm."},
		{"", "lamp.level_pct > 50", finding.Derived, false, "500 lm."},
	} {
		found, _ := judgeOne(t, fmt.Sprintf(show, c.curve), fmt.Sprintf(rule, c.expect))
		if len(found) != 1 {
			t.Fatalf("%s: %d findings", c.expect, len(found))
		}
		f := found[0]
		if f.Known != c.known || f.Likely != c.likely || f.Message != c.message {
			t.Errorf("%s%s: %s, likely %v: %s", c.expect, c.curve, f.Known, f.Likely, f.Message)
		}
		want := &finding.Amount{Fact: "lamp.lumens", Value: 500, Unit: "lm", Worse: finding.More, Margin: 50}
		if diff := cmp.Diff(want, f.Amount); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.expect, diff)
		}
	}
}

func TestTheAmountIsTheWorstOfAllCues(t *testing.T) {
	const rule = `title: Too much.
over: person
expect: person.key_count < 1
measure: {of: person.key_count, unit: "", worse: %s, margin: 0}
say: "{person.key_count} keys."
level: note
consequence: later
`
	const show = `{
  "room": {"places": [{"name": "lectern"}]},
  "patch": [{"channel": 1, "purpose": "key", "aimed_at": "lectern"}, {"channel": 2, "purpose": "key", "aimed_at": "lectern"}],
  "cues": [{"cue": 1, "segment": "s", "set": [{"channels": "1", "level": 50}]}, {"cue": 2, "segment": "s", "set": [{"channels": "2", "level": 50}]}],
  "order": [{"name": "s", "people": ["lectern"]}]
}`
	for worse, want := range map[string]float64{"more": 2, "less": 1} {
		found, _ := judgeOne(t, show, fmt.Sprintf(rule, worse))
		if len(found) != 1 || found[0].Amount == nil || found[0].Amount.Value != want || found[0].Message != "1 keys." {
			t.Errorf("%s is worse: %+v", worse, found)
		}
	}
}
