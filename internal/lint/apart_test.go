package lint

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/google/go-cmp/cmp"
)

// TestWhatIsOpenOfEachIsToldTogether: of very many lamps each wants a type, or the numbers of a
// type of its own. Where only a screen is told the rest of them are one finding for each rule and
// form, and what is missing, of how many, and the verdict are what they are thing by thing.
func TestWhatIsOpenOfEachIsToldTogether(t *testing.T) {
	const lamps = mostApart + 150
	list := func(item func(i int) string) string {
		items := make([]string, lamps)
		for i := range items {
			items[i] = item(i)
		}
		return strings.Join(items, ",")
	}
	set := everyRule(t)
	for name, line := range map[string]func(i int) string{
		"no type":           func(i int) string { return fmt.Sprintf(`{"channel": %d}`, i+1) },
		"a type of its own": func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "wash %d"}`, i+1, i) },
		"one type":          func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "wash"}`, i+1) },
	} {
		t.Run(name, func(t *testing.T) {
			show := fmt.Sprintf(`{"types": [{"name": "par", "slots": 4}], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 50}]}]}`, list(line), lamps)
			whole := Options{Rules: set, Stdin: strings.NewReader(show), StdinName: "show.json", House: HouseOptions{None: true}}
			short := whole
			short.Short, short.Stdin = true, strings.NewReader(show)
			each, few := run(t, "-", whole), run(t, "-", short)
			if diff := cmp.Diff(each.Gaps, few.Gaps); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(each.Looked, few.Looked); diff != "" {
				t.Error(diff)
			}
			if each.Verdict != few.Verdict || each.Because != few.Because {
				t.Errorf("%s: %s, and thing by thing %s: %s", few.Verdict, few.Because, each.Verdict, each.Because)
			}
			open := opens(each)
			if want := open - open/lamps*(lamps-mostApart-1); open < lamps || opens(few) != want {
				t.Errorf("%d open findings, and told together %d, want %d", open, opens(few), want)
			}
		})
	}
}

func opens(show outcome.Show) (n int) {
	for i := range show.Findings {
		if show.Findings[i].Verdict == finding.Open {
			n++
		}
	}
	return n
}

// TestAnAcceptedGapIsFoundAmongMany: a house may have accepted that something cannot be told of the
// last of very many things, and whoever is told a screen hears no other word of that.
func TestAnAcceptedGapIsFoundAmongMany(t *testing.T) {
	lines := make([]string, mostApart+100)
	for i := range lines {
		lines[i] = fmt.Sprintf(`{"channel": %d, "type": "wash"}`, i+1)
	}
	path := filepath.Join(t.TempDir(), "show.json")
	if err := os.WriteFile(path, []byte(fmt.Sprintf(`{"patch": [%s]}`, strings.Join(lines, ","))), 0o600); err != nil {
		t.Fatal(err)
	}
	last := fmt.Sprint(len(lines))
	var accepted []waiver.Waiver
	for _, f := range checkWith(t, path, "").Findings {
		if f.Verdict == finding.Open && f.Subjects[0].Name == last {
			accepted = append(accepted, waiver.Of(&f, "a test", "nobody", waiver.Never))
		}
	}
	text, err := house.Append(house.FileName, nil, accepted)
	if err != nil || len(accepted) == 0 {
		t.Fatal(len(accepted), err)
	}
	name := filepath.Join(t.TempDir(), house.FileName)
	if err := os.WriteFile(name, text, 0o600); err != nil {
		t.Fatal(err)
	}
	told := run(t, path, Options{Rules: everyRule(t), House: HouseOptions{File: name, Today: day}, Short: true})
	for i := range told.Findings {
		f := &told.Findings[i]
		if f.Rule == "file/waiver-unmatched" {
			t.Error(f.Message)
		}
		if f.Accepted != nil {
			accepted = accepted[1:]
		}
	}
	if len(accepted) > 0 {
		t.Errorf("%d waivers of what cannot be told accept nothing", len(accepted))
	}
}

// TestWhatNeedsAPersonIsTheFindingItself: of thousands of failures that no order clears there is no
// second copy, also where milder ones are left out.
func TestWhatNeedsAPersonIsTheFindingItself(t *testing.T) {
	const show = `{"patch": [{"channel": 1, "purpose": "fill"}, {"channel": 2, "purpose": "top"}, {"channel": 3, "purpose": "side"}, {"channel": 4, "purpose": "fill"}],
		"cues": [{"cue": 1, "set": [{"channels": "1-4", "level": 50}]}]}`
	for level, want := range map[finding.Level][]string{finding.Note: {"1", "4", "3", "2"}, finding.Warning: {"1", "4", "3"}} {
		told := run(t, "-", Options{Rules: threeLevels(t), Stdin: strings.NewReader(show), StdinName: "show.json", House: HouseOptions{None: true}, MinLevel: level})
		var names []string
		for _, f := range told.NeedPerson {
			names = append(names, f.Subjects[0].Name)
			own := slices.IndexFunc(told.Findings, func(other finding.Finding) bool { return other.Identity() == f.Identity() })
			if own < 0 || level == finding.Note && f != &told.Findings[own] {
				t.Errorf("from %s on: %s is a copy, or no finding that is told", level, f.About())
			}
		}
		if !slices.Equal(names, want) {
			t.Errorf("from %s on channels %v need a person, want %v", level, names, want)
		}
	}
}
