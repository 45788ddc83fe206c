package booth_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdpruntime "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/cueproof/cueproof/internal/booth"
	"github.com/cueproof/cueproof/internal/follow"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/live"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
)

// demo copies a demo show.
func demo(t *testing.T, name string) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), name)
	if err := os.CopyFS(folder, os.DirFS("../../testdata/shows/"+name)); err != nil {
		t.Fatal(err)
	}
	return folder
}

// followed serves shows as the command does, and ends with the test or when it is told to.
func followed(t *testing.T, paths ...string) (address string, end func()) {
	t.Helper()
	b, err := booth.Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	var shows []live.Show
	for _, path := range paths {
		o := lint.Options{Rules: rules.Own(), Version: "0", Pictures: true, House: lint.HouseOptions{None: true, Today: "2026-03-01"}}
		shows = append(shows, live.Show{Path: path,
			Check: func(path string) (*outcome.Report, error) { return lint.Run([]string{path}, o) },
			Look:  func(path string) (*outcome.Report, error) { return lint.Look(path, o) },
		})
	}
	files := follow.New(false, paths...)
	ctx, stop := context.WithCancel(context.Background())
	ready, ended := make(chan bool), make(chan error, 1)
	go func() {
		ended <- b.Follow(ctx, shows, files, io.Discard, func() error { close(ready); return nil })
		files.Close()
	}()
	<-ready
	once := false
	end = func() {
		if once {
			return
		}
		once = true
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	t.Cleanup(end)
	return b.Address(), end
}

// browser starts a real browser, which CUEPROOF_BROWSER names.
func browser(t *testing.T) context.Context {
	t.Helper()
	name := os.Getenv("CUEPROOF_BROWSER")
	if name == "" {
		t.Skip("not looked at in a browser: CUEPROOF_BROWSER names none (such as /usr/bin/chromium)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(name), chromedp.NoSandbox, chromedp.DisableGPU)
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

func do(t *testing.T, ctx context.Context, actions ...chromedp.Action) {
	t.Helper()
	if err := chromedp.Run(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

// until waits for something to be true of the page.
func until(t *testing.T, ctx context.Context, condition string) {
	t.Helper()
	if err := chromedp.Run(ctx, chromedp.Poll(condition, nil, chromedp.WithPollingTimeout(time.Minute))); err != nil {
		var text string
		_ = chromedp.Run(ctx, chromedp.Evaluate(`document.body.innerText.slice(0, 600)`, &text))
		t.Fatalf("%s: %v; the page says:\n%s", condition, err, text)
	}
}

// change replaces a text in a file once.
func change(t *testing.T, name, from, to string) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil || !bytes.Contains(text, []byte(from)) {
		t.Fatalf("%s has no %q: %v", name, from, err)
	}
	if err := os.WriteFile(name, bytes.Replace(text, []byte(from), []byte(to), 1), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestThePageFollowsTheFiles: two shows; one is changed, half written, gone and back.
func TestThePageFollowsTheFiles(t *testing.T) {
	ctx := browser(t)
	var wrong []string
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *cdpruntime.EventExceptionThrown:
			wrong = append(wrong, e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			if !strings.Contains(e.Entry.URL, "favicon") {
				wrong = append(wrong, e.Entry.Text+" "+e.Entry.URL)
			}
		}
	})
	a, b := demo(t, "mended"), demo(t, "flawed")
	address, end := followed(t, a, b)
	var shows int
	do(t, ctx, network.Enable(), log.Enable(), cdpruntime.Enable(), chromedp.Navigate(address), chromedp.Evaluate(`document.querySelectorAll("#report .show").length`, &shows))
	if shows != 2 {
		t.Fatalf("%d shows", shows)
	}
	name := filepath.Join(a, "show.json")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	change(t, name, `"name": "`, `"name": "Changed `)
	until(t, ctx, `document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	until(t, ctx, `document.querySelectorAll("#b-state .b-news").length == 1`)
	if err := os.WriteFile(name, whole[:len(whole)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, `document.querySelector("#b-state .b-wrong") && document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	if err := os.WriteFile(name, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, `!document.querySelector("#b-state .b-wrong") && !document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	if err := os.Rename(a, a+"-away"); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, `document.querySelector("#b-state .b-wrong") && document.querySelectorAll("#report .show").length == 2`)
	if err := os.Rename(a+"-away", a); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, `!document.querySelector("#b-state .b-wrong")`)
	for _, words := range wrong {
		t.Error(words)
	}
	end()
	until(t, ctx, `document.querySelector("#b-link").textContent.includes("has ended")`)
}

// TestOneAtATimeByKeyboard goes through the orders in the dark with keys alone, and looks
// for anything bright.
func TestOneAtATimeByKeyboard(t *testing.T) {
	ctx := browser(t)
	show := demo(t, "flawed")
	address, _ := followed(t, show)
	said := func(of string) (text string) {
		t.Helper()
		do(t, ctx, chromedp.Evaluate(`document.querySelector("`+of+`").textContent`, &text))
		return text
	}
	do(t, ctx, chromedp.Navigate(address), chromedp.KeyEvent("d"))
	first := said("#b-do")
	if !strings.Contains(said("#b-where"), ": 1 of ") || first == "" {
		t.Fatalf("it begins with %s: %s", said("#b-where"), first)
	}
	do(t, ctx, chromedp.KeyEvent(kb.ArrowRight))
	second := said("#b-do")
	do(t, ctx, chromedp.KeyEvent("x"))
	if where := said("#b-where"); !strings.Contains(where, ": 2 of ") || !strings.HasSuffix(where, ", done") || second == first {
		t.Errorf("then comes %s: %s", where, second)
	}
	do(t, ctx, chromedp.KeyEvent(kb.ArrowLeft))
	if said("#b-do") != first {
		t.Error("back does not go back")
	}
	var brightest, smallest float64
	do(t, ctx, chromedp.Evaluate(`(() => {
		const light = c => { const [r, g, b] = c.match(/[\d.]+/g).map(Number).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 }); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
		let most = 0
		for (let x = 5; x < innerWidth; x += 40) for (let y = 5; y < innerHeight; y += 40) for (let e = document.elementFromPoint(x, y); e; e = e.parentElement) {
			const c = getComputedStyle(e).backgroundColor
			if (c != "rgba(0, 0, 0, 0)") { most = Math.max(most, light(c)); break }
		}
		return most })()`, &brightest),
		chromedp.Evaluate(`parseFloat(getComputedStyle(document.querySelector("#b-do")).fontSize)`, &smallest))
	if brightest > 0.01 || smallest < 30 { // a hundredth of white, and letters of twice the usual size; ours
		t.Errorf("in the dark something has %.3f of the light of white, and letters are %.0f px", brightest, smallest)
	}
	change(t, filepath.Join(show, "show.json"), `"name": "`, `"name": "Changed `) // what is done stays done, where we are stays
	until(t, ctx, `document.querySelector("#b-where").textContent.startsWith("Changed ")`)
	do(t, ctx, chromedp.KeyEvent(kb.Escape))
	var hidden bool
	do(t, ctx, chromedp.Evaluate(`document.querySelector("#b-night").hidden && document.querySelector("main").getClientRects().length > 0`, &hidden))
	if !hidden {
		t.Error("Escape does not leave")
	}
	do(t, ctx, chromedp.KeyEvent("d"), chromedp.Reload())
	if where := said("#b-where"); !strings.Contains(where, ": 1 of ") {
		t.Errorf("after a reload it is at %q", where)
	}
}

// TestTheQuestionOfThePage asks by keyboard what would be, and gets an answer or a mistake.
func TestTheQuestionOfThePage(t *testing.T) {
	ctx := browser(t)
	b := started(t)
	b.Ask = func(show int, question string) ([]string, error) {
		if question == "" {
			return nil, errors.New("it is not understood")
		}
		return []string{fmt.Sprintf("of show %d: <b>%s</b>", show, question), "nothing was written"}, nil
	}
	page, err := booth.Page([]live.Show{{Path: "one", Good: &outcome.Report{}}, {Path: "two", Good: &outcome.Report{}}}, 2, true)
	if err != nil {
		t.Fatal(err)
	}
	b.Show(page)
	do(t, ctx, chromedp.Navigate(b.Address()), chromedp.Focus("#b-question"), chromedp.KeyEvent(kb.Enter))
	until(t, ctx, `document.querySelector("#b-answer").textContent == "it is not understood"`)
	do(t, ctx, chromedp.SetValue("#b-show", "1"), chromedp.Focus("#b-question"), chromedp.KeyEvent("dark & dead"), chromedp.KeyEvent(kb.Enter))
	until(t, ctx, `document.querySelector("#b-answer").textContent == "of show 1: <b>dark & dead</b>nothing was written" && document.querySelector("#b-night").hidden`)
}

// TestAnotherPageGetsNothing: a page of another origin in the same browser asks with the
// token, which it should not even have.
func TestAnotherPageGetsNothing(t *testing.T) {
	ctx := browser(t)
	address, _ := followed(t, demo(t, "mended"))
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = fmt.Fprintf(w, `<title>-</title><iframe src=%q></iframe><script>fetch(%q).then(r => r.text()).then(t => document.title = "got " + t.length, () => document.title = "refused")</script>`, address, address)
	}))
	defer other.Close()
	do(t, ctx, chromedp.Navigate(other.URL))
	until(t, ctx, `document.title == "refused"`)
	var code int
	do(t, ctx, chromedp.Evaluate(`fetch("`+address+`", {mode: "no-cors"}).then(r => 0, () => 1)`, &code, func(p *cdpruntime.EvaluateParams) *cdpruntime.EvaluateParams { return p.WithAwaitPromise(true) }))
	if code != 1 {
		t.Error("it gets an answer, if one that it cannot read") // Cross-Origin-Resource-Policy
	}
}

// TestFromSaveToPicture measures and never fails by the clock: it prints how long it takes
// from the end of a save until the browser has drawn the new state. CUEPROOF_SAVES says how
// many; CUEPROOF_SHOW names the demo show.
func TestFromSaveToPicture(t *testing.T) {
	ctx := browser(t)
	saves, _ := strconv.Atoi(os.Getenv("CUEPROOF_SAVES"))
	if saves == 0 {
		saves = 5
	}
	which := os.Getenv("CUEPROOF_SHOW")
	if which == "" {
		which = "mended"
	}
	show := demo(t, which)
	address, _ := followed(t, show)
	name := filepath.Join(show, "show.json")
	do(t, ctx, chromedp.Navigate(address), chromedp.Evaluate(`window.drawn = {}; window.told = []; new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() => {
		const state = document.querySelector("#b-state"), now = Date.now()
		if (!state.seen) { state.seen = true; told.push(now) }
		drawn[document.querySelector("#report h1").textContent.split(" ")[0]] ||= now
	}))).observe(document.body, {childList: true, subtree: true})`, nil))
	change(t, name, `"name": "`, `"name": "N0 `)
	until(t, ctx, `drawn["N0"]`)
	var news, whole []time.Duration
	for i := range saves {
		do(t, ctx, chromedp.Evaluate(`told = []`, nil))
		change(t, name, fmt.Sprintf(`"name": "N%d `, i), fmt.Sprintf(`"name": "N%d `, i+1))
		saved := time.Now()
		until(t, ctx, fmt.Sprintf(`drawn["N%d"]`, i+1))
		var first, all int64
		do(t, ctx, chromedp.Evaluate(`told[0]`, &first), chromedp.Evaluate(fmt.Sprintf(`drawn["N%d"]`, i+1), &all))
		news, whole = append(news, time.UnixMilli(first).Sub(saved)), append(whole, time.UnixMilli(all).Sub(saved))
	}
	for what, took := range map[string][]time.Duration{"what changed": news, "the whole page": whole} {
		slices.Sort(took)
		t.Logf("%s: from save to picture of %s: median %v, worst of %d %v", which, what, took[len(took)/2].Round(time.Millisecond), len(took), took[len(took)-1].Round(time.Millisecond))
	}
}

// TestSavesLeaveNothingBehind saves again and again: neither goroutines nor memory grow.
// CUEPROOF_SAVES says how often; a thousand before a release.
func TestSavesLeaveNothingBehind(t *testing.T) {
	saves, _ := strconv.Atoi(os.Getenv("CUEPROOF_SAVES"))
	if saves == 0 {
		saves = 50
	}
	show := filepath.Join(t.TempDir(), "show.json")
	put := func(i int) string {
		name := fmt.Sprintf("Save %d.", i)
		if err := os.WriteFile(show, fmt.Appendf(nil, `{"name": %q, "patch": [{"channel": 1, "address": "1.1", "type": "a"}], "types": [{"name": "a", "slots": 4}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`, name), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	put(0)
	before := runtime.NumGoroutine()
	address, end := followed(t, show)
	state := 1
	settle := func(name string) (goroutines int, heap uint64) {
		t.Helper()
		for {
			_, body := asked(t, "GET", fmt.Sprintf("%sstate?after=%d", address, state), nil)
			if state++; strings.Contains(body, name) {
				break
			}
		}
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return runtime.NumGoroutine(), m.HeapAlloc
	}
	goroutines, heap := settle(put(1))
	for i := range saves { // as fast as can be, then some one by one
		put(2 + i)
	}
	state = 0
	settle(put(2 + saves))
	for i := range min(10, saves) {
		state = 0
		settle(put(3 + saves + i))
	}
	state = 0
	moreGoroutines, moreHeap := settle(put(100_000))
	t.Logf("%d saves: %d goroutines and %d KiB of heap after the first, %d and %d after the last", saves, goroutines, heap>>10, moreGoroutines, moreHeap>>10)
	for until := time.Now().Add(time.Minute); runtime.NumGoroutine() > goroutines; time.Sleep(time.Millisecond) { // connections of the test are being closed
		if time.Now().After(until) {
			t.Fatalf("%d goroutines, %d after the first save", runtime.NumGoroutine(), goroutines)
		}
	}
	if moreHeap > heap+4<<20 { // a page has some 10 KB: one for each save would be more at a thousand saves
		t.Errorf("%d KiB of heap, %d after the first save", moreHeap>>10, heap>>10)
	}
	end()
	for until := time.Now().Add(time.Minute); runtime.NumGoroutine() > before; time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			t.Fatalf("%d goroutines are left, %d were there before", runtime.NumGoroutine(), before)
		}
	}
}
