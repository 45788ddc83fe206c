package practise

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

func cards(t testing.TB) (list []finding.Rule, recipes map[string]*Recipe) {
	t.Helper()
	recipes, set := all(t)
	for _, rule := range set.Rules {
		list = append(list, rule.Rule)
	}
	return list, recipes
}

// What should be said was written down first: people say what they see, in their words.
func TestAnAnswerInWords(t *testing.T) {
	list, recipes := cards(t)
	places := []string{"lectern", "pulpit", "lead singer"}
	for _, test := range []struct {
		rule   string
		things []string
		words  string
		want   Nearness
	}{
		{"people/no-back", []string{"lectern"}, "the lectern has no light from behind", Right},
		{"people/no-back", []string{"lectern"}, "nobody brought up the back light", Right},
		{"people/no-back", []string{"lectern"}, "the pulpit has no light from behind", Elsewhere},
		{"people/no-back", []string{"lectern"}, "the back light is too weak", Near},
		{"people/no-back", []string{"lectern"}, "the beams do not show", NotThat},
		{"people/no-back", []string{"lectern"}, "xylophone", Unknown},
		{"people/no-back", nil, "", Unknown},
		{"people/no-key", []string{"pulpit"}, "you cannot see who speaks", Right},
		{"people/no-key", []string{"pulpit"}, "the key light of the pulpit was forgotten", Right},
		{"people/half-dark", []string{"pulpit"}, "one half of the face is dark", Right},
		{"people/colour-on-face", []string{"pulpit"}, "the face is blue", Right},
		{"people/back-strong", []string{"lectern"}, "her hair is burnt out", Right},
		{"white/key-camera", nil, "the faces are too warm on the stream", Right},
		{"white/key-mix", []string{"lectern"}, "one lamp has another white than the others", Right},
		{"air/haze-lingers", nil, "there is still haze in the talk", Right},
		{"air/haze-lingers", nil, "the hazer was never turned off", Right},
		{"air/haze-late", nil, "the hazer was switched on too late", Right},
		{"camera/banding", nil, "stripes crawl over the picture", Right},
		{"camera/banding", nil, "too many colours", NotThat},
		{"dynamics/unplanned-jump", nil, "the light jumps, there is no fade", Right},
		{"dynamics/no-visible-change", nil, "a cue does nothing", Right},
		{"screen/outshines-face", []string{"lectern"}, "the wall is brighter than the face", Right},
		{"patch/address-overlap", nil, "two lamps have the same address", Right},
		{"patch/address-overlap", nil, "the address is mistyped", Right},
		{"safety/flash-rate", nil, "it flashes much too fast", Right},
		{"colour/too-many-hues", nil, "too many colours at once", Right},
	} {
		e := &Exercise{Faults: []Fault{{Rule: test.rule, Names: test.things}}}
		said := e.Answer(test.words, list, recipes, places)
		if said.Is != test.want {
			t.Errorf("%s: %q is %d, want %d", test.rule, test.words, said.Is, test.want)
		}
		if named := e.Faults[0].Named; named != (test.want == Right) || named != (said.Left == 0) && test.want != Unknown {
			t.Errorf("%s: %q: named is %v, and %d are left", test.rule, test.words, named, said.Left)
		}
	}
}

// What a recipe says was done is a right answer, and so is a symptom that no other rule has.
func TestWhatWasDoneIsRight(t *testing.T) {
	list, recipes := cards(t)
	times := map[string]int{}
	for _, card := range list {
		for _, symptom := range card.Symptoms {
			times[symptom]++
		}
	}
	for _, card := range list {
		answers := []string{recipes[card.ID].Fault}
		for _, symptom := range card.Symptoms {
			if times[symptom] == 1 {
				answers = append(answers, symptom)
			}
		}
		for _, words := range answers {
			e := &Exercise{Faults: []Fault{{Rule: card.ID}}}
			if said := e.Answer(words, list, recipes, nil); said.Is != Right {
				t.Errorf("%s: %q is %d", card.ID, words, said.Is)
			}
		}
	}
}

// Of two faults of one kind each is named once; a right answer said again counts once, and
// who named a fault has not missed it.
func TestWhatWasNamedIsNotMissed(t *testing.T) {
	list, recipes := cards(t)
	e := &Exercise{Faults: []Fault{{Rule: "people/no-back"}, {Rule: "air/haze-lingers"}}}
	const words = "nobody brought up the back light"
	if said := e.Answer(words, list, recipes, nil); said.Is != Right || said.Before || said.Left != 1 || said.Fault.Rule != "people/no-back" {
		t.Errorf("%+v", said)
	}
	if said := e.Answer(words, list, recipes, nil); said.Is != Right || !said.Before || said.Left != 1 {
		t.Errorf("again: %+v", said)
	}
	m := &Memory{}
	remain := []finding.Finding{{Rule: "people/no-back", Verdict: finding.Fail}, {Rule: "air/haze-lingers", Verdict: finding.Fail}}
	if look := e.Over(remain, recipes, m, "2026-03-01"); len(look.Remain) != 2 {
		t.Errorf("%+v", look)
	}
	if len(m.Remembered) != 1 || m.Remembered[0].Rule != "air/haze-lingers" {
		t.Errorf("missed are %+v", m.Remembered)
	}
}

// A fault remains while its own rule finds something that was not said before; other rules, and what nobody could tell, are no sign
// of it.
func TestWhatRemains(t *testing.T) {
	before := finding.Finding{Rule: "a/b", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}}
	now := finding.Finding{Rule: "a/b", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "channel", Name: "2"}}}
	other, unknown := now, now
	other.Rule, unknown.Verdict = "a/c", finding.Open
	for _, c := range []struct {
		found []finding.Finding
		want  int
	}{{nil, 0}, {[]finding.Finding{before}, 0}, {[]finding.Finding{other}, 0}, {[]finding.Finding{unknown}, 0}, {[]finding.Finding{before, now, other, unknown}, 1}, {[]finding.Finding{now, now}, 2}} {
		e := &Exercise{Said: []string{before.Key()}, Faults: []Fault{{Rule: "a/b"}}}
		look := e.Over(c.found, nil, &Memory{}, "2026-03-01")
		got := 0
		for _, fault := range look.Remain {
			got += len(fault.Now)
		}
		if got != c.want || (len(look.Remain) > 0) != (c.want > 0) {
			t.Errorf("of %v %d remain, want %d", c.found, got, c.want)
		}
	}
}

// What a fault brings with it by its recipe is near, of whatever kind it is; what it does not
// bring is not.
func TestWhatComesWithAFaultIsNear(t *testing.T) {
	list, _ := cards(t)
	const lingers = "there is still haze in the talk"
	for _, c := range []struct {
		recipes map[string]*Recipe
		want    Nearness
	}{
		{map[string]*Recipe{"people/no-back": {Also: []string{"air/haze-lingers"}}}, Near},
		{map[string]*Recipe{"people/no-back": {May: []string{"air/haze-lingers"}}}, Near},
		{map[string]*Recipe{"people/no-back": {Also: []string{"air/haze-late"}}}, NotThat},
		{nil, NotThat},
	} {
		e := &Exercise{Faults: []Fault{{Rule: "people/no-back"}}}
		if said := e.Answer(lingers, list, c.recipes, nil); said.Is != c.want {
			t.Errorf("with %v it is %d, want %d", c.recipes["people/no-back"], said.Is, c.want)
		}
	}
}

// Files of a show that are no JSON are left alone, wherever they stand among the others.
func TestOtherFilesAreLeftAlone(t *testing.T) {
	d, err := read(Files{"a.txt": []byte("words"), "cues.json": []byte("{}"), "photometry/a.json": []byte("no JSON"), "show.json": []byte("{}"), "z.csv": nil})
	if err != nil || len(d.files) != 2 || d.files["cues.json"] == nil || d.files["show.json"] == nil {
		t.Errorf("%v, %v", d, err)
	}
}

// TestNoExercise: what cannot be judged, is not sound, has no recipe or asks for too much is told, and nothing is broken.
func TestNoExercise(t *testing.T) {
	broken := errors.New("no disk")
	sound := func(Files) ([]finding.Finding, error) { return nil, nil }
	for want, c := range map[string]struct {
		judge Judge
		Choice
	}{
		"no disk": {func(Files) ([]finding.Finding, error) { return nil, broken }, Choice{Faults: 1}},
		"the show is not sound, so nobody could learn from it: It hurts.": {func(Files) ([]finding.Finding, error) {
			return []finding.Finding{{Level: finding.Error, Verdict: finding.Open}, {Level: finding.Error, Verdict: finding.Fail, Message: "It hurts."}}, nil
		}, Choice{Faults: 1}},
		"no rule of these packs knows how it is broken":           {sound, Choice{Faults: 1, Packs: []string{"b"}}},
		fmt.Sprintf("an exercise has 1 to %d faults", MostFaults): {sound, Choice{}}, fmt.Sprintf("an exercise has 1 to %d faults ", MostFaults): {sound, Choice{Faults: MostFaults + 1}},
	} {
		if _, made, err := Make(Files{"show.json": []byte("{}")}, map[string]*Recipe{"a/b": {Rule: "a/b"}}, c.judge, c.Choice); err == nil || made != nil || err.Error() != strings.TrimSpace(want) {
			t.Errorf("%v, %v; want %q", made, err, want)
		}
	}
	if _, made, err := Make(Files{"show.json": []byte("{")}, map[string]*Recipe{"a/b": {Rule: "a/b"}}, sound, Choice{Faults: 1}); err == nil || made != nil || errors.Is(err, ErrSound) {
		t.Errorf("of a file that is cut off: %v, %v", made, err)
	}
}
