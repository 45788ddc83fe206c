package booth_test

import (
	"bytes"
	"context"
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

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"github.com/cueproof/cueproof/internal/booth"
	"github.com/cueproof/cueproof/internal/browser"
	"github.com/cueproof/cueproof/internal/follow"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/live"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
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
	o := lint.Options{Rules: rules.Own(), Version: "0", Pictures: true, House: lint.HouseOptions{None: true, Today: "2026-03-01"}}
	var shows []live.Show
	for _, path := range paths {
		shows = append(shows, live.Show{Path: path, Check: func(path string, early func(*outcome.Report)) (*outcome.Report, error) {
			o := o
			o.Early = early
			return lint.Run([]string{path}, o)
		}})
	}
	b.Ask = func(show int, question string) ([]string, error) {
		answer, err := lint.WhatIf(paths[show], question, o)
		if err != nil {
			return nil, err
		}
		return say.WhatIf(answer), nil
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

// TestThePageFollowsTheFiles: two shows; one is changed, half written, gone and back. The
// page asks nobody but where it came from.
func TestThePageFollowsTheFiles(t *testing.T) {
	ctx := browser.Start(t)
	a, b := demo(t, "mended"), demo(t, "flawed")
	address, end := followed(t, a, b)
	heard := browser.Listen(t, ctx, address)
	browser.Do(t, ctx, chromedp.Navigate(address))
	browser.Until(t, ctx, `document.querySelectorAll("#report .show").length == 2`)
	name := filepath.Join(a, "show.json")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	change(t, name, `"name": "`, `"name": "Changed `)
	browser.Until(t, ctx, `document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	browser.Until(t, ctx, `document.querySelectorAll("#b-state .b-news").length == 1`)
	if err := os.WriteFile(name, whole[:len(whole)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	browser.Until(t, ctx, `document.querySelector("#b-state .b-wrong") && document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	if err := os.WriteFile(name, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	browser.Until(t, ctx, `!document.querySelector("#b-state .b-wrong") && !document.querySelector("#report h1").textContent.startsWith("Changed ")`)
	if err := os.Rename(a, a+"-away"); err != nil {
		t.Fatal(err)
	}
	browser.Until(t, ctx, `document.querySelector("#b-state .b-wrong") && document.querySelectorAll("#report .show").length == 2`)
	if err := os.Rename(a+"-away", a); err != nil {
		t.Fatal(err)
	}
	browser.Until(t, ctx, `!document.querySelector("#b-state .b-wrong")`)
	heard.Nothing(t)
	end()
	browser.Until(t, ctx, `document.querySelector("#b-link").textContent.includes("has ended")`)
}

// TestBrokenAndMended: a fault is made and put right by hand, and the page tells of both.
func TestBrokenAndMended(t *testing.T) {
	ctx := browser.Start(t)
	show := demo(t, "mended")
	address, _ := followed(t, show)
	browser.Do(t, ctx, chromedp.Navigate(address))
	name := filepath.Join(show, "patch.json")
	change(t, name, `"purpose": "back"`, `"purpose": "side"`)
	browser.Until(t, ctx, `[...document.querySelectorAll("#b-state .b-news p")].some(p => p.textContent.startsWith("New: "))`)
	change(t, name, `"purpose": "side"`, `"purpose": "back"`)
	browser.Until(t, ctx, `[...document.querySelectorAll("#b-state .b-news p")].some(p => /, [1-9][0-9]* fixed/.test(p.textContent))`)
}

// What nothing in the dark may have of the light of white: the strokes of letters, and all
// of the screen together. Ours.
const brightest, together = 0.3, 0.04

// TestOneAtATimeByKeyboard goes through the orders in the dark with keys alone, whatever
// the system of the reader likes, and looks for anything bright or small.
func TestOneAtATimeByKeyboard(t *testing.T) {
	ctx := browser.Start(t)
	show := demo(t, "flawed")
	address, _ := followed(t, show)
	said := func(of string) (text string) {
		t.Helper()
		browser.Do(t, ctx, chromedp.Evaluate(`document.querySelector("`+of+`").textContent`, &text))
		return text
	}
	browser.Do(t, ctx, chromedp.Navigate(address))
	browser.Until(t, ctx, `document.querySelector("#report .orders>li")`)
	browser.Do(t, ctx, chromedp.KeyEvent("d"))
	first := said("#b-do")
	if !strings.Contains(said("#b-where"), ": 1 of ") || first == "" {
		t.Fatalf("it begins with %s: %s", said("#b-where"), first)
	}
	browser.Do(t, ctx, chromedp.KeyEvent(kb.ArrowRight))
	second := said("#b-do")
	browser.Do(t, ctx, chromedp.KeyEvent("x"))
	if where := said("#b-where"); !strings.Contains(where, ": 2 of ") || !strings.HasSuffix(where, ", done") || second == first {
		t.Errorf("then comes %s: %s", where, second)
	}
	for _, scheme := range []string{"light", "dark"} {
		for _, size := range [][2]int64{{1280, 900}, {360, 740}} {
			browser.Do(t, ctx, browser.View(size[0], size[1], "screen", scheme))
			if peak, mean := browser.Light(t, ctx); peak > brightest || mean > together {
				t.Errorf("in the dark, %s at %d: a letter has %.3f of the light of white, and all of it %.3f", scheme, size[0], peak, mean)
			}
			var letters struct{ Order, Smallest float64 }
			browser.Do(t, ctx, chromedp.Evaluate(`(() => { const size = e => parseFloat(getComputedStyle(e).fontSize); return {Order: size(document.querySelector("#b-do")), Smallest: Math.min(...[...document.querySelectorAll("#b-night *")].filter(e => e.textContent.trim()).map(size))} })()`, &letters))
			if letters.Order < 30 || letters.Smallest < 20 { // twice the usual size, and more than it; ours
				t.Errorf("%s at %d: an order has letters of %.0f px, the smallest %.0f", scheme, size[0], letters.Order, letters.Smallest)
			}
			browser.Look(t, ctx).Right(t, fmt.Sprintf("in the dark, %s at %d", scheme, size[0]))
			browser.Axe(t, ctx, "in the dark, "+scheme)
		}
	}
	browser.Do(t, ctx, browser.View(1280, 900, "screen", "light"), chromedp.KeyEvent(kb.ArrowLeft))
	if said("#b-do") != first {
		t.Error("back does not go back")
	}
	change(t, filepath.Join(show, "show.json"), `"name": "`, `"name": "Changed `) // where we are stays
	browser.Until(t, ctx, `document.querySelector("#b-where").textContent.startsWith("Changed ") && document.querySelector("#b-where").textContent.includes(": 1 of ")`)
	for _, key := range []string{"#b-back", "#b-next", "#b-done", "#b-leave"} { // all is reached with the tabulator key, and nothing behind it
		var at string
		browser.Do(t, ctx, chromedp.KeyEvent(kb.Tab), chromedp.Evaluate(`"#" + document.activeElement.id`, &at))
		if at != key {
			t.Errorf("the tabulator key goes to %s, not %s", at, key)
		}
	}
	browser.Do(t, ctx, chromedp.KeyEvent(kb.Escape))
	var left bool
	browser.Do(t, ctx, chromedp.Evaluate(`document.querySelector("#b-night").hidden && document.querySelector("main").getClientRects().length > 0`, &left))
	if !left {
		t.Error("Escape does not leave")
	}
	browser.Do(t, ctx, chromedp.KeyEvent("d"), chromedp.Reload())
	if where := said("#b-where"); !strings.Contains(where, ": 1 of ") {
		t.Errorf("after a reload it is at %q", where)
	}
}

// TestThePageInLightAndDark looks at the whole page of two shows, and reaches all of what
// the booth adds by keyboard.
func TestThePageInLightAndDark(t *testing.T) {
	ctx := browser.Start(t)
	show := demo(t, "flawed")
	address, _ := followed(t, demo(t, "mended"), show)
	browser.Do(t, ctx, chromedp.Navigate(address))
	browser.Until(t, ctx, `document.querySelector("#report .orders>li")`)
	change(t, filepath.Join(show, "show.json"), `"name": "`, `"name": "Changed `)
	browser.Until(t, ctx, `document.querySelector("#b-state .b-news") && !("soon" in document.querySelector("#b-state").dataset)`)
	browser.Do(t, ctx, chromedp.Evaluate(`document.querySelector("#b-show").options[0].textContent = "a show with a long name ".repeat(4)`, nil))
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{1280, 360} {
			browser.Do(t, ctx, browser.View(width, 900, "screen", scheme), chromedp.Evaluate(`scrollTo(0, 0)`, nil))
			browser.Look(t, ctx).Right(t, fmt.Sprintf("%s at %d", scheme, width))
			if scheme == "dark" {
				if _, mean := browser.Light(t, ctx); mean > 0.1 { // letters and pictures, but no white ground; ours
					t.Errorf("%s at %d: the page has %.3f of the light of white", scheme, width, mean)
				}
			}
		}
		browser.Axe(t, ctx, scheme)
	}
	var list []string
	for range 6 {
		var at string
		browser.Do(t, ctx, chromedp.KeyEvent(kb.Tab), chromedp.Evaluate(`(() => { const e = document.activeElement; if (parseFloat(getComputedStyle(e).outlineWidth) < 2) return "no outline: " + e.outerHTML.slice(0, 80); return e.id || e.textContent })()`, &at))
		list = append(list, at)
	}
	if want := []string{"To the report", "b-dark", "b-question", "b-show", "Try it in memory"}; !slices.Equal(list[:5], want) {
		t.Errorf("the tabulator key goes to %q, want %q", list, want)
	}
}

// TestTheQuestionOfThePage asks by keyboard what would be of a real show, and gets an answer
// or a mistake; nothing is written.
func TestTheQuestionOfThePage(t *testing.T) {
	ctx := browser.Start(t)
	show := demo(t, "mended")
	before, err := os.ReadFile(filepath.Join(show, "cues.json"))
	if err != nil {
		t.Fatal(err)
	}
	address, _ := followed(t, demo(t, "mended"), show)
	browser.Do(t, ctx, chromedp.Navigate(address), chromedp.Focus("#b-show"), chromedp.KeyEvent(kb.ArrowDown), chromedp.Focus("#b-question"), chromedp.KeyEvent("channel 1 dark"), chromedp.KeyEvent(kb.Enter))
	browser.Until(t, ctx, `document.querySelectorAll("#b-answer p").length > 1`)
	answer, err := lint.WhatIf(show, "channel 1 dark", lint.Options{Rules: rules.Own(), House: lint.HouseOptions{None: true, Today: "2026-03-01"}})
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	browser.Do(t, ctx, chromedp.Evaluate(`[...document.querySelectorAll("#b-answer p")].map(p => p.textContent)`, &told))
	if want := say.WhatIf(answer); !slices.Equal(told, want) {
		t.Errorf("the page answers\n%s\nwant\n%s", strings.Join(told, "\n"), strings.Join(want, "\n"))
	}
	if all := strings.Join(told, "\n"); !strings.Contains(all, "Light on the face of ") || !strings.Contains(all, "nothing was written") {
		t.Errorf("it does not say who loses light: %s", all)
	}
	browser.Do(t, ctx, chromedp.Evaluate(`document.querySelector("#b-question").value = ""`, nil), chromedp.Focus("#b-question"), chromedp.KeyEvent("<b>lights</b> & out"), chromedp.KeyEvent(kb.Enter))
	browser.Until(t, ctx, `document.querySelector("#b-answer").textContent.includes("is not understood. Ask as in: channel 12 dark")`)
	var hidden bool // a d in the question is a letter
	browser.Do(t, ctx, chromedp.Evaluate(`document.querySelector("#b-night").hidden && !document.querySelector("#b-answer b")`, &hidden))
	if !hidden {
		t.Error("letters of the question are taken for keys, or for markup")
	}
	if after, err := os.ReadFile(filepath.Join(show, "cues.json")); err != nil || !bytes.Equal(after, before) {
		t.Error("the show is another one")
	}
}

// TestAnotherPageGetsNothing: a page of another origin in the same browser asks with the
// token, which it should not even have. The booth's own is the same on both families.
func TestAnotherPageGetsNothing(t *testing.T) {
	ctx := browser.Start(t)
	address, _ := followed(t, demo(t, "mended"))
	for _, address := range []string{address, strings.Replace(address, "127.0.0.1", "[::1]", 1)} {
		other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html")
			_, _ = fmt.Fprintf(w, `<title>-</title><iframe src=%q></iframe><script>fetch(%q).then(r => r.text()).then(t => document.title = "got " + t.length, () => document.title = "refused")</script>`, address, address)
		}))
		defer other.Close()
		browser.Do(t, ctx, chromedp.Navigate(other.URL))
		browser.Until(t, ctx, `document.title == "refused"`)
		var code int
		browser.Do(t, ctx, chromedp.Evaluate(`fetch("`+address+`", {mode: "no-cors"}).then(r => 0, () => 1)`, &code, browser.Awaited))
		if code != 1 {
			t.Error("it gets an answer, if one that it cannot read") // Cross-Origin-Resource-Policy
		}
		if strings.Contains(address, "[") && !six() {
			continue
		}
		browser.Do(t, ctx, chromedp.Navigate(address))
		browser.Until(t, ctx, `document.querySelector("#report .show")`)
	}
}

// TestFromSaveToPicture measures, and never fails by the clock: it prints how long it takes
// from the end of a save until the browser has drawn the new state. Never is an order of
// before shown with what was found now. CUEPROOF_SAVES says how many.
func TestFromSaveToPicture(t *testing.T) {
	ctx := browser.Start(t)
	saves, _ := strconv.Atoi(os.Getenv("CUEPROOF_SAVES"))
	if saves == 0 {
		saves = 5
	}
	for _, which := range []string{"mended", "flawed"} {
		show := demo(t, which)
		address, end := followed(t, show)
		name := filepath.Join(show, "show.json")
		browser.Do(t, ctx, chromedp.Navigate(address))
		browser.Until(t, ctx, `document.querySelector("#report") && !("soon" in document.querySelector("#b-state").dataset)`)
		browser.Do(t, ctx, chromedp.Evaluate(`window.seen = {}; new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() => {
			const soon = "soon" in document.querySelector("#b-state").dataset
			seen[document.querySelector("#report h1").textContent.split(" ")[0] + (soon ? " soon" : " whole")] ||= {At: Date.now(), Orders: document.querySelectorAll("#report .orders>li").length, Faces: document.querySelectorAll("#report svg").length}
		}))).observe(document.body, {childList: true, subtree: true})`, nil))
		change(t, name, `"name": "`, `"name": "N0 `)
		browser.Until(t, ctx, `seen["N0 whole"]`)
		var found, whole []time.Duration
		for i := range saves {
			change(t, name, fmt.Sprintf(`"name": "N%d `, i), fmt.Sprintf(`"name": "N%d `, i+1))
			saved := time.Now()
			browser.Until(t, ctx, fmt.Sprintf(`seen["N%d whole"]`, i+1))
			type state struct{ At, Orders, Faces int64 }
			var soon, last *state
			browser.Do(t, ctx, chromedp.Evaluate(fmt.Sprintf(`seen["N%d soon"] || null`, i+1), &soon), chromedp.Evaluate(fmt.Sprintf(`seen["N%d whole"]`, i+1), &last))
			first := soon
			switch {
			case which == "mended":
				first = last // nothing is wrong, so nothing is waited for
			case soon == nil: // on a busy machine both may be drawn at once
				continue
			case soon.Orders > 0 || soon.Faces == 0 || last.Orders == 0:
				t.Errorf("%s: with what was found stand %d orders and %d pictures, and then %d orders", which, soon.Orders, soon.Faces, last.Orders)
			}
			found, whole = append(found, time.UnixMilli(first.At).Sub(saved)), append(whole, time.UnixMilli(last.At).Sub(saved))
		}
		end()
		for what, took := range map[string][]time.Duration{"what was found": found, "all of it": whole} {
			if slices.Sort(took); len(took) == 0 {
				t.Errorf("%s: %s was never seen", which, what)
				continue
			}
			t.Logf("%s: from save to picture of %s: median %v, worst of %d %v", which, what, took[len(took)/2].Round(time.Millisecond), len(took), took[len(took)-1].Round(time.Millisecond))
		}
	}
}

// TestSavesLeaveNothingBehind saves again and again, each time when the page of the save
// before has come, and at last in one burst: neither goroutines nor memory grow.
// CUEPROOF_SAVES says how often; five hundred in .ci/run.
func TestSavesLeaveNothingBehind(t *testing.T) {
	saves, _ := strconv.Atoi(os.Getenv("CUEPROOF_SAVES"))
	if saves == 0 {
		saves = 8
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
	client := http.Client{Timeout: time.Minute}
	state := 0
	come := func(name string) {
		t.Helper()
		for {
			answer, err := client.Get(fmt.Sprintf("%sstate?after=%d", address, state))
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(answer.Body)
			if answer.Body.Close(); err != nil {
				t.Fatal(err)
			}
			if n, err := strconv.Atoi(answer.Header.Get("Booth-State")); err == nil {
				state = n
			}
			if strings.Contains(string(text), name) {
				return
			}
		}
	}
	figures := func() (goroutines int, heap uint64) {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return runtime.NumGoroutine(), m.HeapAlloc
	}
	const warm = 5 // pools and caches are filled by then
	for i := range warm {
		come(put(1 + i))
	}
	goroutines, heap := figures()
	moreGoroutines, moreHeap := goroutines, heap
	for i := range saves {
		come(put(1 + warm + i))
		if (i+1)%max(1, saves/4) == 0 {
			moreGoroutines, moreHeap = figures()
			t.Logf("after %d saves %d goroutines and %d KiB of heap; %d and %d after the first", i+1, moreGoroutines, moreHeap>>10, goroutines, heap>>10)
		}
	}
	if moreGoroutines > goroutines {
		t.Errorf("%d goroutines, %d after the first saves", moreGoroutines, goroutines)
	}
	if moreHeap > heap+4<<20 { // a page has some 10 KB: one for each save would be more at five hundred saves
		t.Errorf("%d KiB of heap, %d after the first saves", moreHeap>>10, heap>>10)
	}
	for i := range saves {
		put(1 + warm + saves + i)
	}
	come(put(1 + warm + 2*saves))
	if _, moreHeap = figures(); moreHeap > heap+4<<20 {
		t.Errorf("after a burst %d KiB of heap, %d after the first saves", moreHeap>>10, heap>>10)
	}
	end()
	client.CloseIdleConnections()
	for until := time.Now().Add(time.Minute); runtime.NumGoroutine() > before; time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			t.Fatalf("%d goroutines are left, %d were there before", runtime.NumGoroutine(), before)
		}
	}
}
