package html_test

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/paper"
	"github.com/cueproof/cueproof/rules"
)

// browser starts a real browser, which CUEPROOF_BROWSER names; without it what only a
// browser can say is skipped.
func browser(t *testing.T) context.Context {
	t.Helper()
	name := os.Getenv("CUEPROOF_BROWSER")
	if name == "" {
		t.Skip("not looked at in a browser: CUEPROOF_BROWSER names none (such as /usr/bin/chromium)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(name), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Flag("hide-scrollbars", true))
	allocated, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(allocated)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(cancel)
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("the browser does not start: %v", err)
	}
	return ctx
}

// heard is what a page said or asked for that it should not have.
type heard struct {
	mu   sync.Mutex
	list []string
}

func (h *heard) add(format string, args ...any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.list = append(h.list, fmt.Sprintf(format, args...))
}

func listen(ctx context.Context, h *heard) {
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			h.add("the console: %s", e.Type)
		case *runtime.EventExceptionThrown:
			h.add("an exception: %s", e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			h.add("the log: %s", e.Entry.Text)
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(e.Request.URL, "file://") || e.Type != network.ResourceTypeDocument {
				h.add("a request: %s", e.Request.URL)
			}
		case *page.EventJavascriptDialogOpening:
			h.add("a dialogue: %s", e.Message)
		}
	})
}

//go:embed testdata/look.js
var lookAtPage string

// sight is what the script says of a page.
type sight struct {
	Wrong []string
	Texts int // labels in pictures that show
	Focus int // things that the keyboard should reach
}

func open(t *testing.T, ctx context.Context, name string, width, height int64, media, scheme string) (s sight) {
	t.Helper()
	err := chromedp.Run(ctx,
		emulation.SetDeviceMetricsOverride(width, height, 1, width < 500),
		emulation.SetEmulatedMedia().WithMedia(media).WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}),
		chromedp.Navigate((&url.URL{Scheme: "file", Path: name}).String()),
		chromedp.Evaluate(`document.querySelectorAll("details").forEach(d => d.open = true)`, nil),
		chromedp.Evaluate(lookAtPage, &s),
	)
	if err != nil {
		t.Fatal(err)
	}
	return s
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
	ctx := browser(t)
	var h heard
	listen(ctx, &h)
	if err := chromedp.Run(ctx, network.Enable(), log.Enable(), runtime.Enable(), page.Enable()); err != nil {
		t.Fatal(err)
	}
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
			for i, wrong := range s.Wrong {
				if i == 6 {
					t.Errorf("%s at %d, %s, %s: and %d more", name, view.width, view.media, view.scheme, len(s.Wrong)-i)
					break
				}
				t.Errorf("%s at %d, %s, %s: %s", name, view.width, view.media, view.scheme, wrong)
			}
		}
		axe(t, ctx, name)
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, words := range h.list {
		t.Error(words)
	}
}

// axe lets axe-core look at the page that is open, where CUEPROOF_AXE names it.
func axe(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	file := os.Getenv("CUEPROOF_AXE")
	if file == "" {
		t.Log("not looked at by axe-core: CUEPROOF_AXE names no axe.min.js")
		return
	}
	script, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var found string
	err = chromedp.Run(ctx,
		emulation.SetDeviceMetricsOverride(1280, 900, 1, false), emulation.SetEmulatedMedia().WithMedia("screen"),
		chromedp.Evaluate(string(script)+";1", nil),
		chromedp.Evaluate(`axe.run(document, {resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 160))}))))`, &found,
			func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }),
	)
	if err != nil {
		t.Fatal(err)
	}
	var violations []struct {
		ID, Help string
		Nodes    []string
	}
	if err := json.Unmarshal([]byte(found), &violations); err != nil {
		t.Fatal(err)
	}
	for _, v := range violations {
		t.Errorf("%s: axe-core: %s: %s: %s", name, v.ID, v.Help, strings.Join(v.Nodes, " "))
	}
}

// TestByKeyboard goes through a page with the tabulator key alone: it reaches each link,
// each folded part and each table, in their order, with an outline, and Enter opens.
func TestByKeyboard(t *testing.T) {
	ctx := browser(t)
	made, err := html.Page(shows(t)["flawed"], html.Options{})
	if err != nil {
		t.Fatal(err)
	}
	file := write(t, "flawed.html", made)
	var want, opened int
	err = chromedp.Run(ctx, chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()),
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
	ctx := browser(t)
	for name, r := range shows(t) {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			var out bytes.Buffer
			if err := paper.Write(&out, r, size); err != nil {
				t.Fatal(err)
			}
			file := write(t, name+".html", out.Bytes())
			var printed []byte
			err := chromedp.Run(ctx, chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()), chromedp.ActionFunc(func(ctx context.Context) (err error) {
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
