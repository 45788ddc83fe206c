package loaders

import (
	"strings"
	"testing"
)

// A word that says that there is no filter is none, in JSON as in a table; with a
// number beside it, it is only a name.
func TestWordsForNoFilter(t *testing.T) {
	for filter, want := range map[string]bool{
		`{"name": "NC"}`: false, `{"name": " none "}`: false, `{"name": "–"}`: false, `{"name": "N/A"}`: false,
		`{"name": "L201"}`: true, `{"name": "nc", "transmission": 0.5}`: true, `{"name": "open", "hue_deg": 30}`: true, `{"name": ""}`: true,
	} {
		r, err := Load("-", Options{Stdin: strings.NewReader(`{"patch": [{"channel": 1, "filter": ` + filter + `}]}`)})
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Show.Patch[0].Filter != nil; got != want {
			t.Errorf("%s is a filter: %v, want %v", filter, got, want)
		}
	}
}
