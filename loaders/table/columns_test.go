package table

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// A name that two columns of a table claim would be read as either by chance.
func TestNamesOfColumnsAreDistinct(t *testing.T) {
	if len(tables) != len(sections()) {
		t.Fatal("tables and tableSections differ")
	}
	for _, table := range tables {
		owner := map[string]string{}
		for _, c := range table.columns {
			for _, name := range append([]string{c.name}, c.other...) {
				word := fold(name)
				if first, taken := owner[word]; taken {
					t.Errorf("%s: %q stands for %s and for %s", table.section, name, first, c.name)
				}
				owner[word] = c.name
			}
		}
		for _, c := range table.columns {
			if private(c.name) && c.name != "note" {
				t.Errorf("%s: the column %s would pass for a private one", table.section, c.name)
			}
		}
	}
}

// The short way to a number's shortest form gives what the long way does.
func TestShortestForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`-?[0-9]{0,8}(\.[0-9]{0,8})?(e[0-9])?`).Draw(t, "text")
		number, err := strconv.ParseFloat(text, 64)
		got, ok := canonical(text)
		if ok != (err == nil) || ok && got != strconv.FormatFloat(number, 'f', -1, 64) {
			t.Fatalf("%q: got %q, %v", text, got, ok)
		}
	})
}

// A number of more digits than are kept is written as it is kept.
func TestMoreDigitsThanAreKept(t *testing.T) {
	for text, want := range map[string]string{"123456789012345": "123456789012345", "9007199254740993": "9007199254740992", "0.1": "0.1", "00.1": "0.1", "1.50": "1.5", "1.": "1", "1e2": "100", "-0.5": "-0.5"} {
		if got, ok := canonical(text); !ok || got != want {
			t.Errorf("%s is %q, %t; want %s", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "x1", "1e999", "0x1", "nan"} {
		if got, ok := canonical(text); ok {
			t.Errorf("%q is %q", text, got)
		}
	}
}

// Names of columns that the program knows by itself are words of the trade at large. Others are
// read by what stands below them, or a house says what they are.
func TestColumnsHaveNamesOfTheTrade(t *testing.T) {
	for _, table := range tables {
		for _, c := range table.columns {
			for _, name := range slices.Concat([]string{c.name}, c.other, c.weak) {
				if slices.Contains([]string{"personality", "instrument type", "system", "trim", "trim height", "label", "cue label", "auto follow", "int", "fl"}, name) {
					t.Errorf("%s of %s is also called %q", c.name, table.section, name)
				}
			}
		}
	}
}

// A cell with one colour tells hue and saturation of a setting, where they have no columns of their own.
func TestWhatACellOfOneColourTells(t *testing.T) {
	for columns, want := range map[string]string{"": "", "colour": "hue_deg saturation_pct", "colour hue_deg": "saturation_pct", "hue_deg saturation_pct": ""} {
		w := &rowWriter{layout: &layout{Columns: map[string]int{}}}
		for i, name := range strings.Fields(columns) {
			w.Columns[name] = i
		}
		var got []string
		for _, key := range []string{"hue_deg", "saturation_pct", "white_k", "level", "zoom_deg", "aim", "nothing"} {
			if w.byColour(key) {
				got = append(got, key)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("with the columns %q one colour tells %q, want %q", columns, got, want)
		}
	}
}

// What no table has a column for is not written.
func TestAFieldOfNoTable(t *testing.T) {
	w := &rowWriter{layout: &layout{Columns: map[string]int{}}, file: &source.File{Name: "cues.csv"}}
	if cells, err := w.field(0, "nothing", reflect.ValueOf(new(5.0))); err == nil || cells != nil || !strings.Contains(err.Error(), "a new nothing cannot be written") {
		t.Errorf("%v, %v", cells, err)
	}
}
