package colour

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// row is one row of a reference file, by column name.
type row map[string]string

// number returns a column as a number and fails the test if it is not one.
func (r row) number(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s: %v in row %v", column, err, r)
	}
	return v
}

// reference reads testdata/reference/name and checks that every row states its
// source and status, in columns of these names.
func reference(t *testing.T, name, source, status string) []row {
	t.Helper()
	f, err := os.Open("../../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, record := range records[1:] {
		r := row{}
		for i, column := range records[0] {
			r[column] = record[i]
		}
		if r[source] == "" || r[status] == "" {
			t.Errorf("%s: row without source or status: %v", name, record)
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows", name)
	}
	return rows
}

// near fails the test unless got is within tolerance of want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}
