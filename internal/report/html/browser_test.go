package html_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/cueproof/cueproof/internal/browser"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/paper"
	"github.com/cueproof/cueproof/rules"
)

// open opens a page as people see it.
func open(t *testing.T, ctx context.Context, name string, width, height int64, media, scheme string) browser.Sight {
	t.Helper()
	browser.Do(t, ctx, browser.View(width, height, media, scheme), chromedp.Navigate(browser.File(name)))
	return browser.Look(t, ctx)
}

// shows are what pages are made of: with many faults, with none, with half of what there
// could be, and with names that try to break out.
func shows(t *testing.T) map[string]*outcome.Report {
	t.Helper()
	checkOnce.Do(func() { checked = check(t) })
	return checked
}

var (
	checkOnce sync.Once
	checked   map[string]*outcome.Report
)

func check(t *testing.T) map[string]*outcome.Report {
	t.Helper()
	folder := t.TempDir()
	for name, text := range map[string]string{"half.json": half, "hostile.json": hostile} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	reports := map[string]*outcome.Report{}
	for name, path := range map[string]string{
		"flawed": "../../../testdata/shows/flawed", "mended": "../../../testdata/shows/mended",
		"half": filepath.Join(folder, "half.json"), "hostile": filepath.Join(folder, "hostile.json"),
	} {
		r, err := lint.Run([]string{path}, lint.Options{Rules: rules.Own(), Version: "0", Pictures: true, House: lint.HouseOptions{Today: "2026-03-01"}})
		if err != nil {
			t.Fatal(err)
		}
		reports[name] = r
	}
	return reports
}

const half = `{ "name": "Half of a show", "patch": [ { "channel": 1, "address": "1.1", "type": "a", "purpose": "key" }, { "channel": 2, "address": "1.3", "type": "a" } ],
  "types": [ { "name": "a", "slots": 4 } ], "cues": [ { "cue": 1, "set": [ { "channels": "1", "level": 50 } ] }, { "cue": 2, "set": [ { "channels": "9", "level": 50 } ] } ] }`

// hostile has names that are markup, that turn the direction of writing, and that are
// long beyond every column.
var hostile = strings.NewReplacer("EVIL", `</text></title><script>alert(1)</script><img src=http://192.0.2.1/x onerror=alert(2)>`, "LONG", strings.Repeat("W", 900), "TURN", "\u202eevil\u2066").Replace(`{
  "name": "EVIL LONG", "date": "EVIL",
  "room": { "name": "LONG", "places": [ { "name": "LONG", "x": 0, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0, "background": "TURN" }, { "name": "EVIL", "x": 0.2, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0 } ],
    "cameras": [ { "name": "EVIL", "x": 0, "y": -9, "z": 1, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 800 } ],
    "surfaces": [ { "name": "TURN", "kind": "emissive", "centre": { "x": 0, "y": 6, "z": 2.5 }, "width_m": 4, "height_m": 2, "peak_cd_m2": 800, "drive_pct": 100, "white_k": 9000 } ] },
  "types": [ { "name": "EVIL", "source": "white-led", "slots": 4, "white_k": 3200, "beam_deg": 20, "field_deg": 30, "flux_lm": 5000 } ],
  "patch": [ { "channel": 1, "address": "1.1", "type": "EVIL", "purpose": "key", "name": "LONG", "hung_at": { "x": -2, "y": -3, "z": 5 }, "aimed_at": "LONG" },
    { "channel": 2, "address": "1.2", "type": "EVIL", "purpose": "key", "name": "TURN", "hung_at": { "x": 2, "y": -3, "z": 5 }, "aimed_at": "EVIL" } ],
  "order": [ { "name": "LONG", "kind": "song", "duration_s": 300, "people": ["LONG", "EVIL"] }, { "name": "EVIL", "kind": "talk", "duration_s": 30, "people": ["LONG"] } ],
  "cues": [ { "cue": 1, "name": "EVIL", "segment": "LONG", "set": [ { "channels": "1-2", "level": 100 } ] }, { "cue": 2, "name": "LONG", "segment": "EVIL", "set": [ { "channels": "1", "level": 10 } ] } ] }`)

func write(t *testing.T, name string, data []byte) string {
	t.Helper()
	name = filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestPagesInABrowser takes some 20 s: it opens each page as people see it, and measures
// every box.
func TestPagesInABrowser(t *testing.T) {
	ctx := browser.Start(t)
	heard := browser.Listen(t, ctx, "file://")
	for name, r := range shows(t) {
		made, err := html.Page(r, html.Options{})
		if err != nil {
			t.Fatal(err)
		}
		file := write(t, name+".html", made)
		for _, view := range []struct {
			width, height int64
			media, scheme string
		}{{1280, 900, "screen", "light"}, {1280, 900, "screen", "dark"}, {800, 900, "screen", "light"}, {360, 740, "screen", "light"}, {360, 740, "screen", "dark"}, {688, 1000, "print", "light"}} {
			s := open(t, ctx, file, view.width, view.height, view.media, view.scheme)
			if s.Texts == 0 && name != "hostile" && name != "half" {
				t.Errorf("%s at %d: no picture has a label", name, view.width)
			}
			s.Right(t, fmt.Sprintf("%s at %d, %s, %s", name, view.width, view.media, view.scheme))
		}
		for _, scheme := range []string{"light", "dark"} {
			browser.Do(t, ctx, browser.View(1280, 900, "screen", scheme))
			browser.Axe(t, ctx, name+" "+scheme)
		}
	}
	heard.Nothing(t)
}

// TestByKeyboard goes through a page with the tabulator key alone: it reaches each link,
// each folded part and each table, in their order, with an outline, and Enter opens.
func TestByKeyboard(t *testing.T) {
	ctx := browser.Start(t)
	made, err := html.Page(shows(t)["flawed"], html.Options{})
	if err != nil {
		t.Fatal(err)
	}
	file := write(t, "flawed.html", made)
	var want, opened int
	err = chromedp.Run(ctx, chromedp.Navigate(browser.File(file)),
		chromedp.Evaluate(`[...document.querySelectorAll("a[href],summary,[tabindex='0']")].filter(e => e.getClientRects().length > 0 && (e.tagName == "SUMMARY" || !e.closest("details:not([open])"))).filter(e => !(e.parentElement.closest("details:not([open])") && e.tagName == "SUMMARY" && e.parentElement.parentElement.closest("details:not([open])"))).length`, &want))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for range want {
		var at struct {
			Name    string
			Outline float64
		}
		if err := chromedp.Run(ctx, chromedp.KeyEvent(kb.Tab), chromedp.Evaluate(`(() => { const e = document.activeElement, all = [...document.querySelectorAll("*")]; return {Name: e.tagName + all.indexOf(e), Outline: parseFloat(getComputedStyle(e).outlineWidth)} })()`, &at)); err != nil {
			t.Fatal(err)
		}
		if at.Outline < 2 || strings.HasPrefix(at.Name, "BODY") {
			t.Fatalf("%s has no outline that anybody sees", at.Name)
		}
		seen[at.Name] = true
	}
	if len(seen) != want {
		t.Errorf("the tabulator key reaches %d of %d things", len(seen), want)
	}
	if err := chromedp.Run(ctx, chromedp.Evaluate(`document.querySelector(".looks summary").focus()`, nil), chromedp.KeyEvent(kb.Enter), chromedp.Evaluate(`document.querySelectorAll(".looks details[open]").length`, &opened)); err != nil {
		t.Fatal(err)
	}
	if opened != 1 {
		t.Error("Enter does not open a folded look")
	}
}

var sheets = regexp.MustCompile(`/Type ?/Page\b[^s]`)

// TestPaperIsOneSide prints each show on both sizes.
func TestPaperIsOneSide(t *testing.T) {
	ctx := browser.Start(t)
	for name, r := range shows(t) {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			var out bytes.Buffer
			if err := paper.Write(&out, r, size); err != nil {
				t.Fatal(err)
			}
			file := write(t, name+".html", out.Bytes())
			var printed []byte
			err := chromedp.Run(ctx, chromedp.Navigate(browser.File(file)), chromedp.ActionFunc(func(ctx context.Context) (err error) {
				printed, _, err = page.PrintToPDF().WithPreferCSSPageSize(true).Do(ctx)
				return err
			}))
			if err != nil {
				t.Fatal(err)
			}
			if n := len(sheets.FindAll(printed, -1)); n != 1 {
				t.Errorf("%s on %s takes %d sides", name, size, n)
			}
			for _, width := range []int64{794, 360} {
				for _, wrong := range open(t, ctx, file, width, 1000, "screen", "light").Wrong {
					t.Errorf("paper of %s at %d: %s", name, width, wrong)
				}
			}
		}
	}
}
