// Package browser opens pages in a real browser, for tests.
//
// In go an address and what should be true of the page, out comes what a person would see
// and hear of it. CUEPROOF_BROWSER names the browser, without which such tests are skipped,
// and CUEPROOF_AXE the script of axe-core. A newcomer's mistake would be to wait for a time:
// a busy machine takes longer, so wait for something to be true.
package browser

import (
	"bytes"
	"context"
	_ "embed" // what looks at a page
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"net/url"
	"os"
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
)

// Start starts a browser that ends with the test.
func Start(t testing.TB) context.Context {
	t.Helper()
	name := os.Getenv("CUEPROOF_BROWSER")
	if name == "" {
		t.Skip("not looked at in a browser: CUEPROOF_BROWSER names none (such as /usr/bin/chromium)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(name), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("hide-scrollbars", true), chromedp.WSURLReadTimeout(2*time.Minute)) // a busy machine starts it late
	allocated, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(allocated)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(cancel)
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("the browser does not start: %v", err)
	}
	return ctx
}

// Do does things one after the other.
func Do(t testing.TB, ctx context.Context, actions ...chromedp.Action) {
	t.Helper()
	if err := chromedp.Run(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

// Until waits for something to be true of the page.
func Until(t testing.TB, ctx context.Context, condition string) {
	t.Helper()
	if err := chromedp.Run(ctx, chromedp.Poll(condition, nil, chromedp.WithPollingTimeout(2*time.Minute))); err != nil {
		var text string
		_ = chromedp.Run(ctx, chromedp.Evaluate(`document.body.innerText.slice(0, 600)`, &text))
		t.Fatalf("%s: %v; the page says:\n%s", condition, err, text)
	}
}

// Awaited is for an expression that is a promise.
func Awaited(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }

// File is the address of a file.
func File(name string) string { return (&url.URL{Scheme: "file", Path: name}).String() }

// View is the size of a page in pixels, what it is shown on (screen or print), and whether
// the person likes it light or dark.
func View(width, height int64, media, scheme string) chromedp.Action {
	return chromedp.Tasks{
		emulation.SetDeviceMetricsOverride(width, height, 1, width < 500),
		emulation.SetEmulatedMedia().WithMedia(media).WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}),
	}
}

// Heard is what a page said or asked for.
type Heard struct {
	mu   sync.Mutex
	list []string
}

func (h *Heard) add(format string, args ...any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.list = append(h.list, fmt.Sprintf(format, args...))
}

// Listen hears what pages say from now on, and what they ask for beside that which is
// fine: addresses that begin so.
func Listen(t testing.TB, ctx context.Context, fine string) *Heard {
	t.Helper()
	h := &Heard{}
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			h.add("the console: %s", e.Type)
		case *runtime.EventExceptionThrown:
			h.add("an exception: %s", e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			if !strings.HasSuffix(e.Entry.URL, "/favicon.ico") { // the browser's own wish
				h.add("the log: %s %s", e.Entry.Text, e.Entry.URL)
			}
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(e.Request.URL, fine) || fine == "file://" && e.Type != network.ResourceTypeDocument {
				h.add("a request: %s", e.Request.URL)
			}
		case *page.EventJavascriptDialogOpening:
			h.add("a dialogue: %s", e.Message)
		}
	})
	Do(t, ctx, network.Enable(), log.Enable(), runtime.Enable(), page.Enable())
	return h
}

// Nothing fails the test for each thing that was heard.
func (h *Heard) Nothing(t testing.TB) {
	t.Helper()
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, words := range h.list {
		t.Error(words)
	}
}

//go:embed look.js
var lookAtPage string

// Sight is what a look at the boxes of a page finds.
type Sight struct {
	Wrong []string // that overlaps, is cut, too small or too faint
	Texts int      // labels in pictures that show
}

// Look opens all that is folded in the page, and measures every box.
func Look(t testing.TB, ctx context.Context) (s Sight) {
	t.Helper()
	Do(t, ctx, chromedp.Evaluate(`document.querySelectorAll("details").forEach(d => d.open = true)`, nil), chromedp.Evaluate(lookAtPage, &s))
	return s
}

// Right fails the test for what a look finds wrong.
func (s Sight) Right(t testing.TB, of string) {
	t.Helper()
	const most = 6
	for i, wrong := range s.Wrong {
		if i == most {
			t.Errorf("%s: and %d more", of, len(s.Wrong)-i)
			return
		}
		t.Errorf("%s: %s", of, wrong)
	}
}

// Axe lets axe-core look at the page that is open, where CUEPROOF_AXE names it.
func Axe(t testing.TB, ctx context.Context, name string) {
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
	Do(t, ctx, chromedp.Evaluate(string(script)+";1", nil),
		chromedp.Evaluate(`axe.run(document, {resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 160))}))))`, &found, Awaited))
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

// Light is the light of the brightest pixel on the screen and that of all of it together,
// as parts of that of white.
func Light(t testing.TB, ctx context.Context) (peak, mean float64) {
	t.Helper()
	var shot []byte
	Do(t, ctx, chromedp.CaptureScreenshot(&shot))
	picture, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		t.Fatal(err)
	}
	box := picture.Bounds()
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			r, g, b, _ := picture.At(x, y).RGBA()
			light := 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b) // IEC 61966-2-1
			peak, mean = max(peak, light), mean+light
		}
	}
	return peak, mean / float64(box.Dx()*box.Dy())
}

// linear is the light of a part of a pixel, of 65535.
func linear(v uint32) float64 {
	part := float64(v) / 65535
	if part <= 0.04045 {
		return part / 12.92
	}
	return math.Pow((part+0.055)/1.055, 2.4)
}
