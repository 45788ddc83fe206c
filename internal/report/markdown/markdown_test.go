package markdown

import (
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func TestWhatExplanationsUse(t *testing.T) {
	got, err := HTML("## What it is\n\nA **bold** `word`, [see](#there) and [away](https://example.test/x) ![p](https://example.test/y.png).\n\n- one\n- two\n\n### Deeper\n", 4)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"<h4>What it is</h4>", "<h5>Deeper</h5>", "<strong>bold</strong> <code>word</code>", `<a href="#there">see</a>`, "and away p.", "<li>two</li>"} {
		if !strings.Contains(got, want) {
			t.Errorf("there is no %s in\n%s", want, got)
		}
	}
}

// TestNothingRunsAndNothingIsAsked: no element of a text but those that Markdown has, and
// no address of another place.
func TestNothingRunsAndNothingIsAsked(t *testing.T) {
	ours := regexp.MustCompile(`^</?(p|h[1-6]|ul|ol|li|strong|em|code|pre|blockquote|hr|br|a)( |>|/>)`)
	forbidden := regexp.MustCompile(`(?i)<(script|img|iframe|style|link|object|embed|svg)|(href|src)="[^#"]| on[a-z]+="`)
	rapid.Check(t, func(rt *rapid.T) {
		pieces := rapid.SliceOf(rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{
			"<script>alert(1)</script>", "<img src=x onerror=1>", "[a](javascript:1)", "![b](http://x.test/)", "<!-- c -->", "\n\n<div onclick=\"1\">\n\n", "[d]: http://x.test \"e\"\n\n[d]", "<http://x.test>", "&#60;script&#62;", "# ", "- ", "```", "\n", "> ", "|a|\n|-|\n", "`", "**", "1. ",
		}))).Draw(rt, "pieces")
		got, err := HTML(strings.Join(pieces, ""), 3)
		if err != nil {
			rt.Fatal(err)
		}
		if bad := forbidden.FindString(got); bad != "" {
			rt.Fatalf("%q stands in %s", bad, got)
		}
		for _, tag := range regexp.MustCompile(`<[^>]*>`).FindAllString(got, -1) {
			if !ours.MatchString(tag) {
				rt.Fatalf("the element %s is none of Markdown", tag)
			}
		}
	})
}
