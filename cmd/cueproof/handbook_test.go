package main

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/rules"
)

// undrawn are rules of what nobody sees in a picture of light: how a camera is set, how a
// lamp dims or renders, what is written in a list.
var undrawn = []string{
	"camera/automatic", "camera/banding", "camera/beam-into-lens", "patch/channel-twice", "patch/circuit-load", "patch/cue-channel-unpatched",
	"patch/patched-never-used", "patch/type-unknown", "safety/beam-into-eyes", "safety/haze-detection-notice", "white/key-green", "white/key-source", "white/rendering",
}

// TestTheHandbookShowsEachRule holds of the example of each rule, run and drawn: a bad picture and a good one of each rule of which there is anything
// to see, each term explained where it comes first, and a file that a phone opens.
func TestTheHandbookShowsEachRule(t *testing.T) {
	if !long() {
		t.Skip("it takes some 5 s; CI takes them with CUEPROOF_LONG=1")
	}
	page, complaints, code := ran("explain", "--all", "--format", "html")
	if code != exitClean {
		t.Fatalf("%d: %s", code, complaints)
	}
	const most = 1 << 20
	if len(page) > most {
		t.Errorf("the handbook has %d bytes, more than %d", len(page), most)
	}
	for _, words := range []string{`<h2 id="white-key-mix">white/key-mix</h2>`, "Run, it says", "<dt>mired</dt>",
		`<li>you cannot see who speaks: <a href="#people-no-key">people/no-key</a></li>`} {
		if !strings.Contains(page, words) {
			t.Errorf("the handbook does not have %s", words)
		}
	}
	if outside := regexp.MustCompile(`https?://|<script|<img|<link`).FindString(page); outside != "" {
		t.Errorf("the handbook reaches out of itself: %s", outside)
	}
	for _, rule := range rules.Own().Rules {
		_, chapter, _ := strings.Cut(page, `<h2 id="`+strings.ReplaceAll(rule.ID, "/", "-")+`">`)
		chapter, _, _ = strings.Cut(chapter, "</section>")
		wrong, right := strings.Count(chapter, "<figcaption>Wrong: "), strings.Count(chapter, "<figcaption>Right: ")
		want := 1
		if slices.Contains(undrawn, rule.ID) {
			want = 0
		}
		if wrong != want || right != want || strings.Count(chapter, "<figure><svg ") != 2*want {
			t.Errorf("%s has %d bad and %d good pictures, want %d of each", rule.ID, wrong, right, want)
		}
	}
	_, words, _ := strings.Cut(page, `<h2 id="words">`)
	chapters := strings.TrimSuffix(page, words)
	for _, term := range handbook.Glossary() {
		first := strings.Count(chapters, "<dfn>"+term.Word+"</dfn>")
		if first > 1 || first == 0 && regexp.MustCompile(`(?i)<(?:p|li)>[^<]*\b`+regexp.QuoteMeta(term.Word)+`\b`).MatchString(chapters) && !slices.Contains(handbook.Verbs, term.Word) {
			t.Errorf("%q is explained %d times where it comes first", term.Word, first)
		}
		if !strings.Contains(words, "<dt>"+term.Word+"</dt>") {
			t.Errorf("%q is not among the words at the end", term.Word)
		}
	}
}
