package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema/schematest"
)

// threeFixtures are three lines of a patch: all that is known, with names that a
// spreadsheet or a screen would take amiss; next to nothing; and the first again.
func threeFixtures(t *testing.T) []facts.Subject {
	t.Helper()
	show := schematest.Read(t, `{
		"types": [{"name": "=cmd()", "slots": 4, "cri": 95}],
		"patch": [
			{"channel": 1, "name": "+1\tkey", "type": "=cmd()", "address": "1.510", "purpose": "key"},
			{"channel": 2, "name": "\u001b[2J@home"},
			{"channel": 1, "name": "-3 \"quoted\", cut", "type": "=cmd()", "address": "1.511", "purpose": "back"}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`)
	return facts.Measure(show, tracking.Resolve(show)).Subjects("fixture")
}

var fixtureWords = []string{"channel", "name", "type", "slots", "last_slot", "overlaps", "twin_count", "cri", "is_key"}

func factsIn(t *testing.T, format string, subjects []facts.Subject, words []string) string {
	t.Helper()
	var out bytes.Buffer
	if err := FactFormats[format](&out, subjects, words, (&rules.Set{}).Value); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestFactTable(t *testing.T) {
	want := `channel  name             type    slots  last_slot  overlaps   twin_count  cri  is_key
1        +1 key           =cmd()  4      513                   0           95   true
2        \x1b[2J@home             ?      ?                     0           ?    false
1        -3 "quoted", cut  =cmd()  4      514        channel 1  1           95   false
`
	got := factsIn(t, "table", threeFixtures(t), fixtureWords)
	// Widths are the writer's business; cells and what is left of a terminal's
	// commands are not.
	if diff := cmp.Diff(cells(want), cells(got)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if strings.ContainsAny(got, "\x1b\t") {
		t.Errorf("the table has characters that move a cursor: %q", got)
	}
}

// cells are the lines of a table, with two or more spaces as one mark.
func cells(table string) []string {
	var lines []string
	for _, line := range strings.Split(table, "\n") {
		for strings.Contains(line, "   ") {
			line = strings.ReplaceAll(line, "   ", "  ")
		}
		lines = append(lines, strings.TrimRight(line, " "))
	}
	return lines
}

func TestFactCSV(t *testing.T) {
	all := threeFixtures(t)
	all[1] = all[2]
	text := factsIn(t, "csv", all[:2], fixtureWords)
	if strings.Count(text, "\r\n") != 3 || strings.Count(text, "\n") != 3 {
		t.Errorf("not three lines that end as RFC 4180 says: %q", text)
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		fixtureWords,
		{"1", "'+1\tkey", "'=cmd()", "4", "513", "", "0", "95", "true"},
		{"1", `'-3 "quoted", cut`, "'=cmd()", "4", "514", "channel 1", "1", "95", "false"},
	}
	if diff := cmp.Diff(want, rows); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	for _, row := range rows[1:] {
		for _, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				t.Errorf("a spreadsheet takes %q for a formula", cell)
			}
		}
	}
}

func TestFactJSON(t *testing.T) {
	var told struct {
		Schema string
		Facts  []map[string]any
	}
	if err := json.Unmarshal([]byte(factsIn(t, "json", threeFixtures(t)[:2], []string{"channel", "name", "slots", "cri", "overlaps"})), &told); err != nil {
		t.Fatal(err)
	}
	if told.Schema != "cueproof-facts-1" {
		t.Errorf("the shape is %q", told.Schema)
	}
	want := []map[string]any{
		{"channel": 1.0, "name": "+1\tkey", "slots": 4.0, "cri": 95.0, "overlaps": nil},
		{"channel": 2.0, "name": "\x1b[2J@home", "slots": nil, "cri": nil, "overlaps": nil, "missing": map[string]any{
			"slots": []any{"the type of the fixture on channel 2"},
			"cri":   []any{`the type "", with its colour rendering`},
		}},
	}
	if diff := cmp.Diff(want, told.Facts); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := factsIn(t, "json", nil, fixtureWords); !strings.Contains(got, `"facts": []`) {
		t.Errorf("no subjects are %q", got)
	}
}

func TestFactsOnAFullDisk(t *testing.T) {
	for name, format := range FactFormats {
		if err := format(&fullDisk{room: 8}, threeFixtures(t), fixtureWords, (&rules.Set{}).Value); err == nil {
			t.Errorf("%s takes a full disk for success", name)
		}
	}
}
