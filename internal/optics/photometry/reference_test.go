package photometry

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// exact is the tolerance for what differs from a closed form only by rounding: some hundred units in the last place.
const exact = 1e-13

// row is a line of a reference table by column name.
type row map[string]string

// reference reads a table of published values.
func reference(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, line := range lines[1:] {
		r := row{}
		for i, name := range lines[0] {
			r[name] = line[i]
		}
		if r["source"] == "" || r["status"] == "" {
			t.Errorf("%s: row %q without source or status", name, line[0])
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows", name)
	}
	return rows
}

// num reads a number, also one like 1/50; an empty field is NaN, which no check lets pass.
func (r row) num(t *testing.T, name string) float64 {
	t.Helper()
	text := r[name]
	if text == "" {
		return math.NaN()
	}
	over, under, fraction := strings.Cut(text, "/")
	v, err := strconv.ParseFloat(over, 64)
	if err != nil {
		t.Fatal(err)
	}
	if fraction {
		d, err := strconv.ParseFloat(under, 64)
		if err != nil {
			t.Fatal(err)
		}
		v /= d
	}
	return v
}

// lastDigit is half a unit of the last digit that a table prints.
func lastDigit(text string) float64 {
	_, decimals, _ := strings.Cut(text, ".")
	return 0.5000001 * math.Pow(10, -float64(len(decimals)))
}

// near fails unless got is within tolerance of want; NaN is near nothing.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

// must takes a value that has to be known.
func must(t *testing.T) func(v float64, ok bool) float64 {
	return func(v float64, ok bool) float64 {
		t.Helper()
		if !ok {
			t.Error("ok is false")
		}
		return v
	}
}

// unknown fails when a value is given where none can be.
func unknown(t *testing.T, what string) func(v float64, ok bool) {
	return func(v float64, ok bool) {
		t.Helper()
		if ok || v != 0 {
			t.Errorf("%s: got %g, %v; want unknown", what, v, ok)
		}
	}
}
