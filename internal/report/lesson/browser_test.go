package lesson_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/cueproof/cueproof/internal/browser"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/lesson"
	"github.com/cueproof/cueproof/rules"
)

// TestTheExerciseInABrowser: the pictures come first and without a verdict, then questions,
// then three hints for each fault, which open one by one by keyboard; on paper none is there.
// The answers stand on a page of their own.
func TestTheExerciseInABrowser(t *testing.T) {
	ctx := browser.Start(t)
	show, err := lint.Picture("../../../testdata/shows/flawed", lint.Options{Rules: rules.Own(), House: lint.HouseOptions{None: true}}, "", "")
	if err != nil {
		t.Fatal(err)
	}
	fault := func(n int) lesson.Fault {
		return lesson.Fault{
			Hints: []string{fmt.Sprint("look ", n), fmt.Sprint("measure ", n), fmt.Sprint("rule ", n)}, Title: fmt.Sprint("title ", n), Where: fmt.Sprint("cue ", n), Says: fmt.Sprint("said ", n),
			Parts: []lesson.Part{{Word: "What", Text: "part"}, {Word: "Why", Text: "part"}, {Word: "How to put it right", Text: "part"}, {Word: "How to keep it from coming back", Text: "part"}},
		}
	}
	list := []lesson.Exercise{{Folder: "lesson", Show: show, Faults: []lesson.Fault{fault(1), fault(2)}}}
	files := map[bool]string{}
	for _, answers := range []bool{false, true} {
		var page bytes.Buffer
		if err := lesson.Write(&page, "Exercise", list, answers); err != nil {
			t.Fatal(err)
		}
		files[answers] = filepath.Join(t.TempDir(), "lesson.html")
		if err := os.WriteFile(files[answers], page.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	heard := browser.Listen(t, ctx, "file://")
	for _, answers := range []bool{false, true} {
		for _, view := range []struct {
			width         int64
			media, scheme string
		}{{1280, "screen", "light"}, {1280, "screen", "dark"}, {360, "screen", "light"}, {360, "screen", "dark"}, {688, "print", "light"}} {
			name := fmt.Sprintf("answers %v at %d, %s, %s", answers, view.width, view.media, view.scheme)
			browser.Do(t, ctx, browser.View(view.width, 900, view.media, view.scheme), chromedp.Navigate(browser.File(files[answers])))
			browser.Look(t, ctx).Right(t, name)
			if view.media == "screen" {
				browser.Axe(t, ctx, name)
			}
		}
	}
	browser.Do(t, ctx, browser.View(1280, 900, "screen", "light"), chromedp.Navigate(browser.File(files[false])))
	var page struct {
		Order  []string
		Hidden bool
		Text   string
	}
	const look = `({
		Order: [...document.querySelectorAll("svg.pic,ol.lines,details")].map(e => e.tagName).filter((e, i, all) => e != all[i - 1]),
		Hidden: [...document.querySelectorAll("details p")].every(p => p.getClientRects().length == 0 || !p.checkVisibility({contentVisibilityAuto: true})),
		Text: document.body.textContent})`
	browser.Do(t, ctx, chromedp.Evaluate(look, &page))
	if got := strings.Join(page.Order, " "); got != "svg OL DETAILS" {
		t.Errorf("in their order come %s", got)
	}
	if !page.Hidden {
		t.Error("a hint is seen before anybody asks")
	}
	for i := range show.Findings {
		if message := show.Findings[i].Message; strings.Contains(page.Text, message) {
			t.Errorf("a verdict stands in it: %s", message)
		}
	}
	var open []string
	const opened = `[...document.querySelectorAll("details[open] p")].map(p => p.textContent)`
	for range 40 { // past the pictures, which can be scrolled
		var at string
		browser.Do(t, ctx, chromedp.KeyEvent(kb.Tab), chromedp.Evaluate(`document.activeElement.tagName`, &at))
		if at == "SUMMARY" {
			browser.Do(t, ctx, chromedp.KeyEvent(kb.Enter), chromedp.Evaluate(opened, &open))
			if want := []string{"look 1", "measure 1", "rule 1", "look 2", "measure 2", "rule 2"}; strings.Join(open, ", ") != strings.Join(want[:len(open)], ", ") {
				t.Errorf("open are %q", open)
			}
		}
		if len(open) == 6 {
			break
		}
	}
	if len(open) != 6 {
		t.Errorf("by keyboard %d of six hints open", len(open))
	}
	var printed int
	browser.Do(t, ctx, browser.View(688, 900, "print", "light"), chromedp.Evaluate(`[...document.querySelectorAll("details")].filter(e => e.getClientRects().length).length`, &printed))
	if printed > 0 {
		t.Errorf("%d hints are on paper", printed)
	}
	heard.Nothing(t)
}
