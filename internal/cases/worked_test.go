package cases

import (
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/rules"
)

// The example that each explanation names is a case, it runs, and it says something:
// an example of silence explains nothing.
func TestTheExampleOfEveryExplanationRuns(t *testing.T) {
	for _, rule := range builtIn(t).Rules {
		list, _, err := casesOf(packsOnDisk, rule)
		if err != nil {
			t.Error(err)
			continue
		}
		example, err := ExampleOf(rule, list)
		if err != nil {
			t.Error(err)
		} else if example.Got == "silent" || example.Got == "" {
			t.Errorf("the example %s of %s says nothing", example.Name, rule.ID)
		}
	}
}

func TestARuleIsWorkedOutWithTheNumbersOfAShow(t *testing.T) {
	set := builtIn(t)
	o := lint.Options{Rules: set, House: lint.HouseOptions{None: true}}
	show := filepath.Join("..", "..", "testdata", "shows", "flawed")
	measured, loaded, _, err := lint.Measure(show, o)
	if err != nil {
		t.Fatal(err)
	}
	list := Work([]string{"white/dim-drift", "patch/address-range", "file/syntax", "people/key-angle"}, set, set, measured, loaded.Show.Name)
	low := list[0]
	if !low.Wrong || low.Fails == 0 || low.Cue == "" || len(low.Limits) == 0 || len(low.Facts) == 0 || !strings.Contains(low.Message, "mired warmer;") {
		t.Errorf("white/dim-drift: %+v", low)
	}
	if list[1] == nil || !list[1].Wrong || list[1].Fails != 1 {
		t.Errorf("patch/address-range: %+v", list[1])
	}
	if list[2] != nil {
		t.Errorf("a problem of files has numbers: %+v", list[2])
	}
	for _, w := range list {
		if w != nil && (w.Subjects < w.Fails+w.Open || w.Show != "Evening at Tallow Lane Hall") {
			t.Errorf("%+v", w)
		}
	}
	sound := filepath.Join("..", "..", "testdata", "shows", "mended")
	if measured, _, _, err = lint.Measure(sound, o); err != nil {
		t.Fatal(err)
	}
	list = Work([]string{"people/key-angle"}, set, set, measured, "")
	whole, err := lint.Run([]string{sound}, o)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(whole.Shows[0].Looked, func(look finding.Tally) bool { return look.Rule == "people/key-angle" })
	if look := whole.Shows[0].Looked[i]; look.Subjects != list[0].Subjects || look.Subjects == 0 {
		t.Errorf("a check looks %d times, this %d", look.Subjects, list[0].Subjects)
	}
}

// Closed forms: the first number of each, as a ratio, or as a difference where there is none.
func TestHowFarANumberIsFromItsLimit(t *testing.T) {
	of := func(numbers ...float64) (list []finding.Evidence) {
		list = append(list, finding.Evidence{Name: "a word", Value: "yes"})
		for _, n := range numbers {
			list = append(list, finding.Evidence{Num: &n})
		}
		return list
	}
	for _, c := range []struct {
		facts, limits []finding.Evidence
		want          float64
	}{
		{of(20, 99), of(10, 77), math.Ln2}, {of(10), of(20), math.Ln2}, {of(7), of(7), 0},
		{of(0), of(3), 3}, {of(5), of(0), 5}, {of(-4), of(-1), 3},
		{of(), of(3), 0}, {of(3), of(), 0}, {nil, nil, 0},
	} {
		if got := offLimit(rules.Account{Facts: c.facts, Limits: c.limits}); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v of %v is off by %g, want %g", c.facts, c.limits, got, c.want)
		}
	}
}

// What is wrong is shown before what is right, of what is wrong the furthest from the limit, and
// of what is right the nearest.
func TestWhichSubjectIsShown(t *testing.T) {
	account := func(name string, verdict finding.Verdict, value float64) rules.Account {
		limit := 10.0
		return rules.Account{Names: []finding.Subject{{Kind: "cue", Name: name}}, Verdict: verdict, Facts: []finding.Evidence{{Num: &value}}, Limits: []finding.Evidence{{Num: &limit}}}
	}
	for want, each := range map[string][]rules.Account{
		"wrong":    {account("wrong", finding.Fail, 30), account("right", "", 9)},
		"late":     {account("right", "", 9), account("late", finding.Fail, 11)},
		"furthest": {account("near", finding.Fail, 11), account("furthest", finding.Fail, 30), account("far", finding.Fail, 20)},
		"nearest":  {account("far", "", 1), account("nearest", "", 9), account("near", "", 8)},
	} {
		w := worked(&rules.Rule{}, each, "show", nil)
		if len(w.Names) != 1 || w.Names[0].Name != want || w.Wrong != (want != "nearest") {
			t.Errorf("%v is shown, wrong %v; want %s", w.Names, w.Wrong, want)
		}
	}
	// Of what nobody can tell, what is missing of the first is said.
	open := func(missing ...string) rules.Account { return rules.Account{Verdict: finding.Open, Missing: missing} }
	if w := worked(&rules.Rule{}, []rules.Account{open(), open("a"), open("b")}, "show", nil); w.Open != 3 || !slices.Equal(w.Missing, []string{"a"}) {
		t.Errorf("of %d %q is missing", w.Open, w.Missing)
	}
}
