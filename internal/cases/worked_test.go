package cases

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/lint"
)

// The example that each explanation names is a case, it runs, and it says something:
// an example of silence explains nothing.
func TestTheExampleOfEveryExplanationRuns(t *testing.T) {
	for _, rule := range builtIn(t).Rules {
		list, _, err := Run(packsOnDisk, rule)
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
	whole, err := lint.Run([]string{show}, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, look := range whole.Shows[0].Looked {
		if look.Rule == "people/key-angle" && look.Subjects != list[3].Subjects {
			t.Errorf("a check looks %d times, this %d", look.Subjects, list[3].Subjects)
		}
	}
}
