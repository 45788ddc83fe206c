package loaders

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

const washIES = "IESNA:LM-63-2002\n[TEST] 1\n[TESTLAB] Nowhere\n[ISSUEDATE] 1\n[MANUFAC] Invented\nTILT=NONE\n1 5000 1 3 1 1 2 0 0 0\n1 1 60\n0 45 90\n0\n1000 500 0\n"

func TestPhotometricFiles(t *testing.T) {
	show := `{"types": [{"name": "wash", "photometry": "wash.ies"}, {"name": "wash two", "photometry": "wash.ies"}]}`
	for _, tc := range []struct {
		name, text, want string
		level            finding.Level
		line             int
		light            bool
	}{
		{"a good file", washIES, "", "", 0, true},
		{"cut off", washIES[:len(washIES)-10], "number-count", finding.Error, 0, false},
		{"a count that lies", strings.Replace(washIES, "1 3 1 1 2", "1 9000 9000 1 2", 1), "number-count", finding.Error, 0, false},
		{"a word among the numbers", strings.Replace(washIES, "1000 500 0", "1000 many 0", 1), "bad-number", finding.Error, 11, false},
		{"a negative candela", strings.Replace(washIES, "1000 500 0", "1000 500 -1", 1), "negative-candela", finding.Warning, 0, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			folder := t.TempDir()
			write(t, folder, "show.json", show)
			write(t, folder, "wash.ies", tc.text)
			result, err := Load(folder, Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, kind := range result.Show.Types {
				if (kind.PhotometryData != nil) != tc.light {
					t.Errorf("the type %q has light: %v, want %v", kind.Name, kind.PhotometryData != nil, tc.light)
				}
			}
			found := false
			for _, f := range result.Findings {
				if f.Rule == "file/photometry" && strings.Contains(f.Message, tc.want) && f.Level == tc.level {
					found = true
					if line := f.Place.Span().Start.Line; tc.line > 0 && line != tc.line {
						t.Errorf("%s is in line %d, want %d", tc.want, line, tc.line)
					}
				} else if tc.want == "" {
					t.Errorf("unexpected: %s: %s", f.Rule, f.Message)
				}
			}
			if tc.want != "" && !found {
				t.Errorf("no finding with %s among %v", tc.want, result.Findings)
			}
		})
	}
}

func TestMissingPhotometricFile(t *testing.T) {
	folder := t.TempDir()
	write(t, folder, "show.json", `{"types": [{"name": "wash", "photometry": "../wash.ies"}, {"name": "spot", "photometry": "spot.ies"}]}`)
	result, err := Load(folder, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var rules []string
	for _, f := range result.Findings {
		rules = append(rules, f.Rule)
	}
	if got := strings.Join(rules, " "); got != "file/outside-folder file/missing-file" {
		t.Errorf("got %s", got)
	}
}

func write(t *testing.T, folder, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestWorkIsBounded(t *testing.T) {
	folder := t.TempDir()
	write(t, folder, "patch.json", "["+strings.TrimSuffix(strings.Repeat(`{"channel":1,"type":"x"},`, 10_001), ",")+"]")
	write(t, folder, "cues.json", "["+strings.TrimSuffix(strings.Repeat(`{"cue":1},`, 2_000), ",")+"]")
	result, err := Load(folder, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !result.Unreadable || len(result.Show.Cues) != 0 {
		t.Errorf("10,001 fixtures in 2,000 cues were read")
	}
	write(t, folder, "cues.json", "["+strings.TrimSuffix(strings.Repeat(`{"cue":1},`, 1_999), ",")+"]")
	if result, err = Load(folder, Options{}); err != nil || result.Unreadable || len(result.Show.Cues) != 1_999 {
		t.Errorf("one cue less is not read: %v", err)
	}
}
