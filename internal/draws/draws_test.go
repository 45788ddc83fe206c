package draws

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestDrawsAreTheSameInEveryRun(t *testing.T) {
	if flag.Lookup("rapid.seed").Value.String() == "0" {
		t.Error("the draws of a run begin anywhere")
	}
	draw := func() (list []int) {
		rapid.Check(t, func(t *rapid.T) { list = append(list, rapid.Int().Draw(t, "number")) })
		return list
	}
	if one, two := draw(), draw(); len(one) < 10 || one[9] != two[9] {
		t.Errorf("two runs draw %d and %d numbers, and not the same", len(one), len(two))
	}
}

func TestAllCasesAreTakenInFull(t *testing.T) {
	for _, c := range []struct {
		set         string
		step, whole int
	}{{"CUEPROOF_ELSE", 28, 3}, {"CUEPROOF_MUTANT", 7, 1}, {"CUEPROOF_LONG", 1, 1}, {"CUEPROOF_UPDATE", 1, 1}} {
		for _, name := range []string{"CUEPROOF_LONG", "CUEPROOF_UPDATE", "CUEPROOF_MUTANT"} {
			t.Setenv(name, "")
		}
		t.Setenv(c.set, "1")
		if step, whole := Step(28), Step(3); step != c.step || whole != c.whole {
			t.Errorf("with %s, steps of 28 and 3 are %d and %d, want %d and %d", c.set, step, whole, c.step, c.whole)
		}
	}
}

// Every package with a property has its draws from here.
func TestEveryPropertyDrawsTheSame(t *testing.T) {
	random, fixed := map[string]bool{}, map[string]bool{}
	err := filepath.WalkDir("../..", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".go") {
			return err
		}
		text, err := os.ReadFile(name)
		if strings.Contains(string(text), `"pgregory.net/rapid"`) {
			random[filepath.Dir(name)] = true
		}
		if strings.Contains(string(text), `_ "github.com/cueproof/cueproof/internal/draws"`) {
			fixed[filepath.Dir(name)] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for folder := range random {
		if !fixed[folder] && filepath.Base(folder) != "draws" {
			t.Errorf("%s: import _ %q in a test, so that its properties draw the same in every run", folder, "github.com/cueproof/cueproof/internal/draws")
		}
	}
	if len(random) < 20 {
		t.Errorf("properties were found in %d packages only", len(random))
	}
}
