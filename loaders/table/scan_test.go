package table

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func scan(text string, comma byte) (rows [][]string, flaws []flaw) {
	s := scanner{text: text, comma: comma}
	for s.next() {
		var row []string
		for _, c := range s.row {
			row = append(row, c.text)
		}
		rows = append(rows, row)
		flaws = append(flaws, s.flaws...)
	}
	return rows, flaws
}

// The numbers are those of the rules in RFC 4180, section 2.
func TestScanRFC4180(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       [][]string
	}{
		{"1: rows end with CR LF", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"2: the last line break may be missing", "aaa,bbb,ccc\r\nzzz,yyy,xxx", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"4: spaces are part of a cell", "a , b,c\r\n", [][]string{{"a ", " b", "c"}}},
		{"4: an empty last cell", "a,b,\r\n", [][]string{{"a", "b", ""}}},
		{"4: an empty last cell at the end", "a,b,", [][]string{{"a", "b", ""}}},
		{"5: quote marks", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"6: a line break in quote marks", "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", [][]string{{"aaa", "b\nbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"6: a comma in quote marks", "\"a,b\",c", [][]string{{"a,b", "c"}}},
		{"7: doubled quote marks", "\"aaa\",\"b\"\"bb\",\"ccc\"", [][]string{{"aaa", "b\"bb", "ccc"}}},
		{"7: nothing but a quote mark", "\"\"\"\",\"\"", [][]string{{"\"", ""}}},
		{"line feeds alone", "a,b\nc,d\n", [][]string{{"a", "b"}, {"c", "d"}}},
		{"carriage returns alone", "a,b\rc,d\r", [][]string{{"a", "b"}, {"c", "d"}}},
		{"rows of different length", "a\nb,c,d\ne,f", [][]string{{"a"}, {"b", "c", "d"}, {"e", "f"}}},
		{"empty lines", "\n\r\na\n\n\nb\n\n", [][]string{{"a"}, {"b"}}},
		{"spaces around quote marks", "a, \"b, c\" ,d", [][]string{{"a", "b, c", "d"}}},
		{"nothing", "", nil},
	} {
		t.Run(tc.name, func(t *testing.T) {
			rows, flaws := scan(tc.text, ',')
			if diff := cmp.Diff(tc.want, rows); diff != "" || len(flaws) > 0 {
				t.Errorf("flaws %v, rows (-want +got):\n%s", flaws, diff)
			}
			swapped := strings.NewReplacer(",", ";", ";", ",")
			rows, _ = scan(swapped.Replace(tc.text), ';')
			for i := range rows {
				for j := range rows[i] {
					rows[i][j] = swapped.Replace(rows[i][j])
				}
			}
			if diff := cmp.Diff(tc.want, rows); diff != "" {
				t.Errorf("with semicolons (-want +got):\n%s", diff)
			}
		})
	}
}

func TestScanFlaws(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		rows       [][]string
		flaw       flaw
	}{
		{"a quote mark in a cell", "8\" par,1\nb,2", [][]string{{"8\" par", "1"}, {"b", "2"}}, flaw{quoteInside, 1, 2}},
		{"a quote mark never closed", "a,b\nc,\"d\ne,f\n", [][]string{{"a", "b"}, {"c", "d\ne,f\n"}}, flaw{quoteOpen, 6, 7}},
		{"text behind a quote mark", "a,\"b\"c,d\ne", [][]string{{"a", "\"b\"c", "d"}, {"e"}}, flaw{quoteBehind, 2, 6}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			rows, flaws := scan(tc.text, ',')
			if diff := cmp.Diff(tc.rows, rows); diff != "" || len(flaws) != 1 || flaws[0] != tc.flaw {
				t.Errorf("flaws %v, rows (-want +got):\n%s", flaws, diff)
			}
		})
	}
}

func TestScanKeepsNoMoreCellsThanItMust(t *testing.T) {
	s := scanner{text: strings.Repeat(",", 10*MaxColumns) + "\na,b", comma: ','}
	if !s.next() || len(s.row) != MaxColumns || s.extra != 9*MaxColumns+1 {
		t.Errorf("kept %d cells and counted %d", len(s.row), s.extra)
	}
	if !s.next() || len(s.row) != 2 || s.extra != 0 {
		t.Error("the row behind is lost")
	}
	// A flaw is told of the last cell that is kept, and not of the first that is not.
	for commas, flaws := range map[int]int{MaxColumns - 1: 1, MaxColumns: 0} {
		s := scanner{text: strings.Repeat(",", commas) + "8\" par", comma: ','}
		if s.next(); len(s.flaws) != flaws {
			t.Errorf("behind %d columns: %v", commas, s.flaws)
		}
	}
}

// checkScan holds the scanner against the standard library, where that reads
// the text at all, and every cell against the bytes it claims to stand in.
func checkScan(t interface{ Fatalf(string, ...any) }, text string, comma byte) {
	rows, _ := scan(text, comma)
	s := scanner{text: text, comma: comma}
	end := 0
	for s.next() {
		for _, c := range s.row {
			if c.start < end || c.stop < c.start || c.stop > len(text) {
				t.Fatalf("%q: a cell stands at %d-%d, behind %d", text, c.start, c.stop, end)
			}
			end = c.stop
			if all := c.part(0, len(c.text)); c.verbatim && text[all.start:all.stop] != c.text {
				t.Fatalf("%q: %q stands at %q", text, c.text, text[all.start:all.stop])
			}
		}
	}
	if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") || strings.HasSuffix(text, "\r") {
		return // a lone CR is a letter to the standard library
	}
	reader := csv.NewReader(strings.NewReader(text))
	reader.Comma = rune(comma)
	reader.FieldsPerRecord = -1
	var want [][]string
	for {
		row, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return // it gives up where we report a flaw, or take spaces before a quote mark
		}
		want = append(want, row[:min(len(row), MaxColumns)])
	}
	if diff := cmp.Diff(want, rows); diff != "" {
		t.Fatalf("%q with %q (-standard library +scanner):\n%s", text, comma, diff)
	}
}

func TestScanAgainstTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.SampledFrom([]string{`"`, `""`, ",", ";", "\t", "\n", "\r\n", "\r", " ", "a", "ü", "x y"}), 0, 30).Draw(t, "parts")
		comma := rapid.SampledFrom([]byte{',', ';', '\t'}).Draw(t, "comma")
		checkScan(t, strings.Join(parts, ""), comma)
	})
}

func FuzzScan(f *testing.F) {
	for _, seed := range []string{"a,b\r\n\"c\"\"\",\"d\r\n\"\n", "a\rb", "\"", " \"a\" ,b", "a,\"b\"c"} {
		f.Add(seed, byte(0))
	}
	f.Add(strings.Repeat(";", MaxColumns+1), byte(1)) // more than is kept
	f.Fuzz(func(t *testing.T, text string, comma byte) { checkScan(t, text, ",;\t"[comma%3]) })
}

// A line ends with one of three signs, and nothing ends behind the text.
func TestWhatEndsALine(t *testing.T) {
	s := &scanner{text: "a\r\nb\nc\rd\r"}
	for at, want := range map[int]int{0: 0, 1: 2, 2: 1, 3: 0, 4: 1, 5: 0, 6: 1, 7: 0, 8: 1, 9: 0, 10: 0} {
		if got := s.lineEnd(at); got != want {
			t.Errorf("at %d a line ends with %d bytes, want %d", at, got, want)
		}
	}
}
