package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/report/handbook"
)

const unwanted = `<script src="https://example.test/x.js">alert(1)</script>`

func chapters() []handbook.Chapter {
	return []handbook.Chapter{{
		Rule: finding.Rule{
			ID: "own/" + "rule", Title: "A title & " + unwanted + ".", Level: finding.Warning, Consequence: finding.Camera, Caution: unwanted,
			Explain: "## What it looks like\n\nA **bold** word and `code` with " + unwanted + "\n\n- one\n- two " + unwanted + "\n  goes on\n\nAfter.\n\n1. first\n2. second\n\n```\n" + unwanted + "\n```\n\n    as it is " + unwanted + "\n\n## Example\n\nExample case: speaks\n",
			Limits:  []finding.Limit{{Name: "most", Value: 3, Unit: unwanted, Source: unwanted}},
		},
		Example: "fail cue 1: " + unwanted,
	}, {Rule: finding.Rule{ID: "file/syntax", Title: "A file cannot be read.", Explain: "# A file cannot be read.\n\nBecause."}}}
}

// The handbook is one file that asks for nothing, in which nothing of a rule is
// taken for markup, and every element is closed.
func TestTheHandbookIsOneHarmlessFile(t *testing.T) {
	var b bytes.Buffer
	if err := Handbooks["html"](&b, chapters()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if strings.Contains(text, "<script") || strings.Contains(text, "<img") || regexp.MustCompile(`<[^>]*(src|url)=`).MatchString(text) {
		t.Error("the page has markup from a rule in it")
	}
	if !strings.Contains(text, "default-src 'none'") || !strings.Contains(text, "<strong>bold</strong>") || !strings.Contains(text, "<code>code</code>") {
		t.Error("the policy or the emphasis is missing")
	}
	if n := strings.Count(text, "&lt;script"); n < 8 {
		t.Errorf("the unwanted text is shown %d times", n)
	}
	decoder := xml.NewDecoder(strings.NewReader(strings.NewReplacer(`<meta charset="utf-8">`, "", "<!doctype html>", "").Replace(regexp.MustCompile(`<meta [^>]*>`).ReplaceAllString(text, ""))))
	decoder.Strict = true
	for {
		_, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("an element is not closed: %v", err)
		}
	}
}

func TestTheHandbookIsMarkdownToo(t *testing.T) {
	var b bytes.Buffer
	if err := Handbooks["md"](&b, chapters()); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"- [own/rule](#own-rule)", "\n## own/rule\n", "\n### What it looks like\n", "Run, it says:\n\n    fail cue 1", "- most: 3 ", "\n## file/syntax\n\nA file cannot be read. ("} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the handbook has no %q:\n%s", want, b.String())
		}
	}
}
