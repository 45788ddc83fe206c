package main

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/start"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
	"github.com/google/go-cmp/cmp"
)

// part is what stands under a heading of README.md.
func part(t *testing.T, heading string) string {
	t.Helper()
	_, text, ok := strings.Cut(manual(t, "README.md"), "\n## "+heading+"\n")
	if !ok {
		t.Fatalf("README.md has no part %q", heading)
	}
	text, _, _ = strings.Cut(text, "\n## ")
	return text
}

// first are the words that stand first in the rows of a table, without marks.
func first(text string) (words []string) {
	for _, row := range regexp.MustCompile("(?m)^\\| [*`]+([a-z, ]+)[*`]+ \\|").FindAllStringSubmatch(text, -1) {
		words = append(words, strings.Split(row[1], ", ")...)
	}
	return words
}

// The table of what is checked has a row for each pack, and that of what is read one for each section.
func TestTablesOfTheReadme(t *testing.T) {
	var packs []string
	for _, rule := range rules.Own().Rules {
		pack, _, _ := strings.Cut(rule.ID, "/")
		packs = append(packs, pack)
	}
	slices.Sort(packs)
	told := first(part(t, "What it checks"))
	slices.Sort(told)
	if diff := cmp.Diff(slices.Compact(packs), told); diff != "" {
		t.Errorf("packs (-there +told):\n%s", diff)
	}
	if diff := cmp.Diff(schema.Sections, first(part(t, "What it needs to know"))); diff != "" {
		t.Errorf("sections (-there +told):\n%s", diff)
	}
}

// A rule is a folder of four files, and "rules" lists each with all its limits and where they come from.
func TestRulesAreFourFilesAndAllNumbersAreListed(t *testing.T) {
	listed, _, code := ran("rules", "--no-house")
	flat := strings.Join(strings.Fields(listed), " ")
	for _, rule := range rules.Own().Rules {
		entries, err := os.ReadDir(filepath.Join("..", "..", "rules", "packs", filepath.FromSlash(rule.ID)))
		var names []string
		for _, entry := range entries {
			names = append(names, entry.Name())
		}
		if want := []string{"break.yaml", "cases.txtar", "explain.md", "rule.yaml"}; err != nil || !slices.Equal(names, want) {
			t.Errorf("%s has %v, want %v (%v)", rule.ID, names, want, err)
		}
		if code != exitClean || !strings.Contains(listed, "\n"+rule.ID+"\n") && !strings.HasPrefix(listed, rule.ID+"\n") {
			t.Errorf("%s is not listed", rule.ID)
		}
		for _, limit := range rule.Limits {
			if limit.Source == "" || !strings.Contains(flat, "- "+limit.Name+": ") || !strings.Contains(flat, strings.Join(strings.Fields(limit.Source), " ")) {
				t.Errorf("%s: the limit %s is not listed with where it comes from", rule.ID, limit.Name)
			}
		}
	}
}

// The schema of a section has a sentence on every key.
func TestEveryKeyHasASentence(t *testing.T) {
	for _, section := range schema.Sections {
		text, _, code := ran("schema", section)
		var tree any
		if err := json.Unmarshal([]byte(text), &tree); err != nil || code != exitClean {
			t.Fatal(section, code, err)
		}
		keys := 0
		var walk func(node any)
		walk = func(node any) {
			switch node := node.(type) {
			case []any:
				for _, item := range node {
					walk(item)
				}
			case map[string]any:
				properties, _ := node["properties"].(map[string]any)
				for key, property := range properties {
					keys++
					if described, ok := property.(map[string]any); !ok || described["description"] == nil {
						if node["additionalProperties"] != nil { // what does not only narrow another
							t.Errorf("%s: nothing is said of the key %q", section, key)
						}
					}
				}
				for _, item := range node {
					walk(item)
				}
			}
		}
		walk(tree)
		if keys == 0 && section != "groups" { // which has names of the house's own
			t.Errorf("%s has no keys", section)
		}
	}
}

// The house files of the README are house files, its columns are read, and its levels too.
func TestSamplesOfTheReadme(t *testing.T) {
	show := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(show, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	needs := part(t, "What it needs to know")
	for _, words := range []string{"`Ch`, `Fixture type`, `Focus`", "`Cue no`, `Channels`,\n`Level (%)`", "`1-6, 9`", "`70`, `70 %` or `Full`"} {
		if !strings.Contains(needs, words) {
			t.Errorf("README.md does not tell of %s: this test does", words)
		}
	}
	write("patch.csv", "Ch;Fixture type;Focus\n1;par;lectern\n2;par;\n3;par;\n")
	write("cues.csv", "Cue no,Channels,Level (%)\n1,\"1-2, 3\",70\n2,1,70 %\n3,1,Full\n")
	fixtures, stderr, code := ran("measure", "--no-house", "--of", "fixture", "--format", "csv", "--facts", "channel,type", show)
	if code != exitClean || stderr != "" || strings.Join(strings.Fields(fixtures), " ") != "channel,type 1,par 2,par 3,par" {
		t.Errorf("the sample of a table ended with %d: %s\n%s", code, stderr, fixtures)
	}
	if report, _, _ := ran("check", "--no-house", "--format", "json", show); strings.Contains(report, `"rule": "file/`) {
		t.Errorf("something is wrong with the sample of a table:\n%s", report)
	}
	looks, stderr, code := ran("measure", "--no-house", "--of", "lamp", "--format", "csv", "--facts", "cue,channel,level_pct", show)
	if code != exitClean || stderr != "" || !strings.Contains(looks, "1,3,70") || !strings.Contains(looks, "3,1,100") {
		t.Errorf("the sample of levels ended with %d: %s\n%s", code, stderr, looks)
	}

	blocks := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(manual(t, "README.md"), -1)
	if len(blocks) != 2 {
		t.Fatalf("README.md has %d house files", len(blocks))
	}
	if err := os.Mkdir(filepath.Join(show, "house-rules"), 0o755); err != nil {
		t.Fatal(err)
	}
	if _, stderr, code := ran("rules", "new", "hall/fader-reach", "--in", filepath.Join(show, "house-rules")); code != exitClean {
		t.Fatal(stderr)
	}
	for _, block := range blocks {
		write("house.yaml", block[1])
		if _, stderr, code := ran("house", show); code != exitClean || stderr != "" {
			t.Errorf("ended with %d: %s\n%s", code, stderr, block[1])
		}
	}
}

// DEVELOPERS.md says for how many systems a release is packed.
func TestAReleaseIsForSevenSystems(t *testing.T) {
	targets := regexp.MustCompile(`CUEPROOF_TARGETS:-([^}]*)}`).FindStringSubmatch(manual(t, ".ci/release"))
	if targets == nil || len(strings.Fields(targets[1])) != 7 || !strings.Contains(manual(t, "DEVELOPERS.md"), "a release for seven systems") {
		t.Errorf("a release is for %q", targets)
	}
}

// A hall is told in ten answers, and start --ask prints no more questions than that.
func TestAHallTakesTenAnswers(t *testing.T) {
	if !strings.Contains(part(t, "A hall of your own, in ten answers"), "`hall.json`") || len(start.IDs) != 10 {
		t.Errorf("there are %d questions", len(start.IDs))
	}
	folder := t.TempDir()
	for name, text := range map[string]string{"patch.csv": "channel,type\n1,odd\n2,par led\n", "cues.csv": "cue,channels,level\n1,1-2,50\n"} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	sheet, stderr, code := ran("start", "--ask", folder)
	if asked := len(regexp.MustCompile(`(?m)^#? ?[a-z]+:`).FindAllString(sheet, -1)); code != exitClean || asked == 0 || asked > 10 {
		t.Errorf("%d questions (%d): %s\n%s", asked, code, stderr, sheet)
	}
}

// What the README counts or lists is so many, and those: pictures, formats, lines on a change, and
// the light that comes back from all around.
func TestTheReadmeCountsRight(t *testing.T) {
	listed := func(text, before, behind string) []string {
		t.Helper()
		_, text, there := strings.Cut(text, before)
		text, _, ended := strings.Cut(text, behind)
		if !there || !ended {
			t.Fatalf("README.md does not say %q: this test does", before)
		}
		words := regexp.MustCompile("[a-z]+").FindAllString(text, -1)
		slices.Sort(words)
		return words
	}
	look := part(t, "Look before you read")
	if diff := cmp.Diff(slices.Sorted(maps.Keys(pictures)), listed(look, "# a picture alone: ", "\n")); diff != "" {
		t.Errorf("pictures (-there +told):\n%s", diff)
	}
	formats := append(listed(part(t, "In a script"), "# or ", "\n"), "sarif")
	slices.Sort(formats)
	if diff := cmp.Diff(formatNames(), formats); diff != "" {
		t.Errorf("formats (-there +told):\n%s", diff)
	}
	for _, c := range counted() {
		if c.Name == "bounced" && (c.Value != 1./20 || !strings.Contains(part(t, "What it never does"), "is a twentieth of what falls on a face")) {
			t.Errorf("%v of the light on a face comes back", c.Value)
		}
	}
	if !strings.Contains(part(t, "From week to week, and from change to change"), "at most ten errors and\nten warnings on the lines") {
		t.Error("README.md does not say on how many lines a check speaks: this test does")
	}
	said, _, _ := ran("check", "--no-house", "--format", "annotations", "../../testdata/shows/flawed")
	if errors, warnings := strings.Count(said, "::error "), strings.Count(said, "::warning "); errors == 0 || errors > 10 || warnings != 10 {
		t.Errorf("%d errors and %d warnings on lines", errors, warnings)
	}
}
