package facts

import (
	"path/filepath"
	"reflect"
	"testing"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
)

// What is measured before the evening is on the clock stands as it will: a change that is
// refused by it is not looked at any further.
func TestWhatIsEarlyStandsAsItWill(t *testing.T) {
	for _, name := range []string{"mended", "flawed"} {
		loaded, err := loaders.Load(filepath.Join("..", "..", "testdata", "shows", name), loaders.Options{})
		if err != nil || loaded.Show == nil {
			t.Fatal(err)
		}
		looks := tracking.Resolve(loaded.Show)
		begun, whole := BeginAgain(loaded.Show, looks, nil), Measure(loaded.Show, looks)
		later := 0
		for _, kind := range KindNames() {
			for _, word := range WordsOf(kind) {
				if !IsEarly(kind + "." + word) {
					later++
					continue
				}
				now, then := begun.Subjects(kind), whole.Subjects(kind)
				if len(now) != len(then) {
					t.Fatalf("%s: %d of the kind %s, in the end %d", name, len(now), kind, len(then))
				}
				for i := range now {
					x, _ := ValueOf(now[i], word)
					y, _ := ValueOf(then[i], word)
					if !reflect.DeepEqual(x, y) || !reflect.DeepEqual(now[i].Why(word), then[i].Why(word)) || !reflect.DeepEqual(now[i].Basis(word), then[i].Basis(word)) {
						t.Errorf("%s: %s of %s %v is %v, in the end %v", name, word, kind, now[i].Names(), x.Value, y.Value)
					}
				}
			}
		}
		if later == 0 || IsEarly("look.picture_of_peak_pct") || !IsEarly("look.output_pct") || IsEarly("minute.at_min") {
			t.Errorf("%s: %d facts come later", name, later)
		}
	}
}
