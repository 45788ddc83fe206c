package html_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/judged"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/rules"
)

// reported is a run over a case of the yardstick: one of its halls with one thing changed.
func reported(t *testing.T, name string) *outcome.Report {
	t.Helper()
	file := filepath.Join(t.TempDir(), "show.json")
	if err := os.WriteFile(file, judged.Text(t, name), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := lint.Run([]string{file}, lint.Options{Rules: rules.Own(), Version: "0", Pictures: true, House: lint.HouseOptions{Today: "2026-03-01"}})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var (
	styles   = regexp.MustCompile(`(?s)<style>.*?</style>|<meta [^>]*>`)
	drawings = regexp.MustCompile(`(?s)<svg.*?</svg>`)
	titles   = regexp.MustCompile(`(?s)<title[^>]*>(.*?)</title>`)
	// What the rules say at length, and how many there are, is held with the rules; where a test puts its files is no matter.
	explained = regexp.MustCompile(`(?s)<h3>What it looks like</h3>.*?(<p class="more">)`)
	counted   = regexp.MustCompile(`\d+ (?:of \d+ )?rules? |Receipt R-\w+|edition \d+ \(\w+\)|looked \d+ times|[^ >]*/TestPages\w+/\d+/`)
	between   = regexp.MustCompile(`>\s*<`)
)

// inWords is a page without its style and its large pictures, of which the titles stay, an element to a line.
func inWords(page []byte) string {
	text := styles.ReplaceAllString(string(page), "")
	text = drawings.ReplaceAllStringFunc(text, func(svg string) string {
		if len(svg) < 900 {
			return svg
		}
		if m := titles.FindStringSubmatch(svg); m != nil {
			return "[" + m[1] + "]"
		}
		return "[shapes]"
	})
	text = counted.ReplaceAllString(explained.ReplaceAllString(text, "$1"), "#")
	return strings.TrimSpace(between.ReplaceAllString(text, ">\n<")) + "\n"
}

func goldenWords(t *testing.T, name string, page []byte) {
	t.Helper()
	file := filepath.Join("testdata", name+".txt")
	got := inWords(page)
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s says something else (CUEPROOF_UPDATE=1 writes it):\n%.3000s", file, diff)
	}
}

// TestPagesInWords: what pages say of evenings with a running order and without, with addresses that clash, and of one that
// becomes too large for its pictures.
func TestPagesInWords(t *testing.T) {
	for _, name := range []string{"front-room/no-running-order-yet", "tallow/patch-alone-with-a-clash", "dairy-reading-room/close-camera-at-daylight"} {
		r := reported(t, name)
		page, err := html.Page(r, html.Options{})
		if err != nil {
			t.Fatal(err)
		}
		goldenWords(t, strings.ReplaceAll(name, "/", "-"), page)
		if strings.HasPrefix(name, "dairy") {
			if page, err = html.Page(r, html.Options{Most: 1}); err != nil {
				t.Fatal(err)
			}
			goldenWords(t, "least", page)
		}
	}
}

// TestSmallPagesInWords: a comparison, a table of numbers and what a rule means, each as a page of its own.
func TestSmallPagesInWords(t *testing.T) {
	amount := func(v float64) *finding.Amount { return &finding.Amount{Value: v, Unit: "stops"} }
	c := &outcome.Comparison{
		Old: outcome.Side{Path: "a", Name: "Evening"}, New: outcome.Side{Path: "b", Name: "Evening"},
		Change: outcome.Change{Counts: outcome.Counts{New: 1, Worse: 1, Before: 1}, Lost: []string{"Half of the cues are gone."}, Dark: []outcome.Dark{{Rule: "a/b", Why: "the watts are missing"}}, Gone: []outcome.Past{{Rule: "a/c", Verdict: finding.Fail, Message: "It was there."}, {Rule: "a/d", Verdict: finding.Fail, Message: "It was accepted.", Accepted: true}, {Rule: "a/d", Verdict: finding.Fail, Message: "Nobody can tell now.", Untold: true}, {Rule: "a/d", Verdict: finding.Fail, Message: "It is meant now.", Review: outcome.MeantNow}, {Rule: "a/d", Verdict: finding.Open, Message: "Nobody could tell."}}},
		Findings: []finding.Finding{
			{Rule: "a/b", Verdict: finding.Fail, Message: "It is <new>.", Base: finding.New}, {Rule: "a/c", Verdict: finding.Fail, Message: "It is worse.", Base: finding.Worse, Amount: amount(2), Before: &finding.Before{Amount: amount(1)}},
			{Rule: "a/d", Verdict: finding.Fail, Message: "It is as before.", Base: finding.Unchanged}, {Rule: "a/e", Verdict: finding.Open, Message: "Nobody could tell.", Base: finding.New}, {Rule: "a/f", Verdict: finding.Fail, Message: "It is accepted.", Base: finding.New, Accepted: &finding.Acceptance{}},
		},
	}
	of := func(old, now float64) outcome.Step { return outcome.Step{Old: &old, New: &now} }
	c.SameLooks = 2
	c.Looks = []outcome.LookChange{
		{OldCue: "1", NewCue: "1", Name: "Verse", Output: of(10, 20), OldHues: "blue", NewHues: "red", Levels: []outcome.ChannelStep{{Channels: "1-4", Step: of(50, 100)}}, Colours: []outcome.ColourStep{{Channels: "5", Old: "3200 K", New: "5600 K"}}},
		{OldCue: "2", NewCue: "3", Haze: []outcome.ChannelStep{{Channels: "51", Step: of(0, 100)}}, Others: []outcome.OtherStep{{What: "fade", Old: "3 s"}, {What: "aim", Of: "11", New: "desk"}}, Faces: []outcome.FaceStep{{Place: "desk", Step: of(100, 200)}}}, {OldCue: "4"}, {NewCue: "5"},
	}
	for i := range 70 {
		c.Gone = append(c.Gone, outcome.Past{Rule: "a/h", Verdict: finding.Fail, Message: fmt.Sprintf("It was there, %d.", i)})
		c.Findings = append(c.Findings, finding.Finding{Rule: "a/g", Verdict: finding.Fail, Message: fmt.Sprintf("It is new, %d.", i), Base: finding.New})
	}
	var out bytes.Buffer
	if err := html.Comparison(&out, c, say.Options{}); err != nil {
		t.Fatal(err)
	}
	goldenWords(t, "comparison", out.Bytes())
	out.Reset()
	table := picture.Table{Head: []string{"", "place", "lux"}}
	for i := range 12 {
		table.Rows = append(table.Rows, []string{fmt.Sprint(i + 1), "desk <1>", "300"})
	}
	r := reported(t, "front-room/prayer-starts-with-cue-nine")
	if err := html.Numbers(&out, &r.Shows[0], "person", table); err != nil {
		t.Fatal(err)
	}
	goldenWords(t, "numbers", out.Bytes())
}
