package html_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/rules"
)

// evening is the demo show with its faults, or without.
func evening(t *testing.T, name string) *outcome.Report {
	t.Helper()
	r, err := lint.Run([]string{"../../../testdata/shows/" + name}, lint.Options{Rules: rules.Own(), Version: "0", Pictures: true, House: lint.HouseOptions{Today: "2026-03-01"}})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestThePageOfTheDemo is under 400 KB, is known again, and its policy is that of what it
// holds.
func TestThePageOfTheDemo(t *testing.T) {
	r := evening(t, "flawed")
	page, err := html.Page(r, html.Options{Script: "1;", Connect: true, Banner: "<p>banner</p>"})
	if err != nil {
		t.Fatal(err)
	}
	if len(page) >= 400_000 {
		t.Errorf("the page has %d bytes", len(page))
	}
	if !outfile.Marked(page[:4096]) {
		t.Error("nobody would know the page as ours")
	}
	for tag, directive := range map[string]string{"style": "style-src", "script": "script-src"} {
		inside := regexp.MustCompile(`(?s)<` + tag + `>(.*?)</` + tag + `>`).FindSubmatch(page)
		if inside == nil {
			t.Fatalf("the page has no %s", tag)
		}
		sum := sha256.Sum256(inside[1])
		if want := directive + " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !bytes.Contains(page, []byte(want)) {
			t.Errorf("the policy does not have %s", want)
		}
	}
	for _, word := range []string{"<p>banner</p>", "connect-src 'self'", "Order 15.", "Receipt R-", "A face as a camera sees it", "Addresses that clash", "<mark>"} {
		if !bytes.Contains(page, []byte(word)) {
			t.Errorf("the page does not have %q", word)
		}
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllSubmatch(page, -1) {
		if ids[string(m[1])] {
			t.Errorf("two things have the id %q", m[1])
		}
		ids[string(m[1])] = true
	}
	for _, m := range regexp.MustCompile(`(?:href="#|url\(#)([^")]*)`).FindAllSubmatch(page, -1) {
		if !ids[string(m[1])] {
			t.Errorf("nothing has the id %q", m[1])
		}
	}
	plain, err := html.Page(r, html.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(plain, []byte("script-src")) || bytes.Contains(plain, []byte("<script")) {
		t.Error("a page that needs no script may run one")
	}

	// A page that would become too large loses pictures and says so.
	small, err := html.Page(r, html.Options{Most: 250_000})
	if err != nil {
		t.Fatal(err)
	}
	if len(small) > 250_000 || !strings.Contains(string(small), "To keep the page small, ") || !strings.Contains(string(small), "Order 15.") {
		t.Errorf("a page of at most 250000 bytes has %d and does not say what it lost, or lost an order", len(small))
	}
	least, err := html.Page(r, html.Options{Most: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(least) >= len(small) {
		t.Errorf("the least that a page has are %d bytes", len(least))
	}
}

// TestTheSameBytes: two runs over the same files say the same, whatever the order of maps.
func TestTheSameBytes(t *testing.T) {
	var first []byte
	for range 2 {
		page, err := html.Page(evening(t, "mended"), html.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if first != nil && !bytes.Equal(first, page) {
			t.Fatal("the same show gives another page")
		}
		first = page
	}
	if got := fmt.Sprint(bytes.Count(first, []byte("Order 1."))); got != "0" {
		t.Error("a sound show has orders")
	}
}
