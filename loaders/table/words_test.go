package table

import "testing"

func TestWordLevel(t *testing.T) {
	for word, want := range map[string]float64{"full": 100, "ful": 100, "fl": 100, "ff": 100, "half": 50, "out": 0, "f": -1, "": -1, "fulll": -1, "flu": -1, "fool": -1, "lull": -1} {
		got, ok := wordLevel(word)
		if ok != (want >= 0) || ok && got != want {
			t.Errorf("%q is %g, %v; want %g", word, got, ok, want)
		}
	}
}
