package table

import (
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

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
