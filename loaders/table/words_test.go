package table

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

func TestWordLevel(t *testing.T) {
	for word, want := range map[string]float64{"full": 100, "ful": 100, "fl": 100, "ff": 100, "half": 50, "out": 0, "f": -1, "": -1, "fulll": -1, "flu": -1, "fool": -1, "lull": -1} {
		got, ok := wordLevel(word)
		if ok != (want >= 0) || ok && got != want {
			t.Errorf("%q is %g, %v; want %g", word, got, ok, want)
		}
	}
}

// What a row becomes counts against the limit of a table, not what it takes up: a row of
// ten cues with two levels is thirty cells, and so a short file is no long show.
func TestRowsOfSeveralCuesCount(t *testing.T) {
	for text, want := range map[string]int{"Cue,Ch 1,Ch 2\n1,5,5\n": 3, "Cue,Ch 1,Ch 2\n1-10,5,5\n": 30, "Cue,Channels\n1,1@5 2@6 3@7\n": 2 + 3} {
		file := &source.File{Name: "cues.csv", Text: text}
		s := newSheet(format.Quiet(format.Options{}), "cues", file)
		if !s.readHeader() {
			t.Fatal("no header")
		}
		s.build = source.NewBuilder(file)
		s.build.Begin(source.Array, 0)
		readCueRows(s)
		s.build.End(len(text))
		if s.cells != want {
			t.Errorf("%q counts as %d cells, want %d", text, s.cells, want)
		}
	}
}

// What is looked at first, whether a header has a bracket or something before a unit at all, changes nothing.
func TestBracketsAndUnitsAreFoundAllTheSame(t *testing.T) {
	piece := rapid.SampledFrom([]string{"Level", "(0-255)", "[%]", "{x", "s", "Time", " ", "_", ".", "/", "-", ",", "\t", "\f", "\r", "\n", "ms", "%", "m", "é", ")", "0-100"})
	rapid.Check(t, func(t *rapid.T) {
		header := strings.Join(rapid.SliceOfN(piece, 0, 6).Draw(t, "pieces"), "")
		if got, want := withoutBrackets(header), bracketed.ReplaceAllString(header, ""); got != want {
			t.Fatalf("%q without brackets is %q, want %q", header, got, want)
		}
		if got, want := withoutUnit(header), headerUnit.ReplaceAllString(trim(header), ""); got != want {
			t.Fatalf("%q without its unit is %q, want %q", header, got, want)
		}
	})
}
