package practise

import (
	"bytes"
	"cmp"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/bigshow"
)

// evenings are sound shows that no recipe was written for, and one that is made.
func evenings(t testing.TB) map[string]Files {
	t.Helper()
	all := map[string]Files{}
	folder := filepath.Join("..", "..", "testdata", "judgement")
	for _, name := range []string{"tallow", "almond", "harrow", "pinewood"} {
		text, err := os.ReadFile(filepath.Join(folder, name, "base.json"))
		if err != nil {
			t.Fatal(err)
		}
		all[name] = Files{"show.json": text}
	}
	var made bytes.Buffer
	if err := bigshow.Write(&made, bigshow.Size{Fixtures: 40, Cues: 16, Places: 2}); err != nil {
		t.Fatal(err)
	}
	all["made"] = Files{"show.json": made.Bytes()}
	return all
}

// least is how many rules at least can be broken in a show by themselves, of more than 70;
// the first of them has filament lamps alone, the third two songs and nobody who speaks.
var least = map[string]int{"almond": 20, "harrow": 46, "made": 16, "pinewood": 26, "tallow": 44}

// TestHowFarRecipesReach: a recipe asks by what things are for, so that it breaks shows
// which it was not written for, or says that there is nothing to break in them. Each try is
// a check, so that some rules and one show are tried; CUEPROOF_REACH names a show, or all,
// for all rules, which takes minutes, and says what each reaches.
func TestHowFarRecipesReach(t *testing.T) {
	if testing.Short() {
		t.Skip("each try is a check")
	}
	which := os.Getenv("CUEPROOF_REACH")
	everything := which != ""
	recipes, set := all(t)
	shows := evenings(t)
	spoke := map[string]bool{}
	for _, show := range slices.Sorted(maps.Keys(shows)) {
		if which != "all" && show != cmp.Or(which, "pinewood") {
			continue
		}
		judge := judge(t, set)
		found, err := judge(shows[show])
		if err != nil {
			t.Fatal(err)
		}
		said, broken := Said(found), 0
		for i, rule := range slices.Sorted(maps.Keys(recipes)) {
			if !everything && i%8 != 0 {
				continue
			}
			_, planted, err := Break(shows[show], said, recipes[rule], judge, 1)
			switch {
			case errors.Is(err, ErrSound):
				t.Logf("%s: %v", show, err)
			case err != nil:
				t.Errorf("%s: %s: %v", show, rule, err)
			default:
				broken++
				for _, other := range planted.Others {
					spoke[rule+" "+other] = true
				}
			}
		}
		t.Logf("%s: %d of %d rules can be broken", show, broken, len(recipes))
		if want := least[show]; everything && broken < want || broken == 0 {
			t.Errorf("%s: %d rules can be broken, want %d", show, broken, want)
		}
	}
	for rule, recipe := range recipes {
		for _, other := range recipe.May {
			if which == "all" && !spoke[rule+" "+other] {
				t.Logf("%s: %s speaks in none of these shows", rule, other)
			}
		}
	}
}
