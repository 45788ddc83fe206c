// Package handbook writes the explanations of all rules as one document.
package handbook

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/report/say"
)

// Chapter is a rule in the handbook, with what its example says when it is run.
type Chapter struct {
	finding.Rule
	Example string // "" for a problem of files, which has none
}

// Markdown writes the chapters as one document. The error is that of the writer.
func Markdown(w io.Writer, chapters []Chapter) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# Handbook of cueproof\n\n%s\n\n", handbookWords)
	for _, c := range chapters {
		fmt.Fprintf(out, "- [%s](#%s): %s\n", c.ID, anchor(c.ID), say.Clean(c.Title))
	}
	for _, c := range chapters {
		fmt.Fprintf(out, "\n<a id=\"%s\"></a>\n\n## %s\n\n%s (%s: otherwise %s.)\n\n", anchor(c.ID), c.ID, say.Clean(c.Title), c.Level, c.Consequence.Sentence())
		text := strings.ReplaceAll("\n"+strings.TrimSpace(say.CleanLines(say.WithoutTitle(c.Explain, c.Title))), "\n#", "\n##")
		fmt.Fprintln(out, strings.TrimSpace(text))
		if c.Example != "" {
			fmt.Fprintf(out, "\nRun, it says:\n\n")
			for line := range strings.SplitSeq(c.Example, "\n") {
				fmt.Fprintf(out, "    %s\n", say.Clean(line))
			}
		}
		if c.Caution != "" {
			fmt.Fprintf(out, "\n**Caution:** %s\n", say.Clean(strings.Join(strings.Fields(c.Caution), " ")))
		}
		if len(c.Limits) > 0 {
			fmt.Fprintf(out, "\n### Limits\n\n")
			for _, limit := range c.Limits {
				fmt.Fprintf(out, "- %s\n", say.Clean(say.Limit(limit)))
			}
		}
	}
	return out.Flush()
}

const handbookWords = "Every rule of this program: what it looks like, why it matters, how it is worked out, what to try and how sure it is. " +
	"The example of each built-in rule was run when this was written. This is arithmetic on what show files say; it certifies nothing."

// anchor makes a rule's name fit for the place behind a #.
func anchor(id string) string { return strings.ReplaceAll(id, "/", "-") }

// HTML writes one file that asks nothing of any other place: its style is
// in it, it has no script and no picture, and its policy forbids all requests.
// Every text is escaped; of Markdown only what explanations use is known.
func HTML(w io.Writer, chapters []Chapter) error {
	out := bufio.NewWriter(w)
	h := htmlWriter{out}
	h.raw(`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="cueproof">
<title>Handbook of cueproof</title>
<style>
body { max-width: 42rem; margin: 2rem auto; padding: 0 1rem; font: 1.05rem/1.5 Georgia, serif; color: #222; background: #fdfcf8; }
h1, h2, h3 { line-height: 1.2; font-family: sans-serif; }
h2 { margin-top: 3rem; border-top: 1px solid #bbb; padding-top: 1rem; }
pre { white-space: pre-wrap; background: #eee; padding: .6rem; }
.caution { border-left: .3rem solid #b00; padding-left: .8rem; }
@media (prefers-color-scheme: dark) { body { color: #ddd; background: #1b1b1b; } pre { background: #2a2a2a; } a { color: #9bd; } }
</style>
</head>
<body>
`)
	h.element("h1", "Handbook of cueproof")
	h.element("p", handbookWords)
	h.raw("<ul>\n")
	for _, c := range chapters {
		h.raw(fmt.Sprintf("<li><a href=\"#%s\">%s</a>: %s</li>\n", html.EscapeString(anchor(c.ID)), html.EscapeString(c.ID), escapeText(c.Title)))
	}
	h.raw("</ul>\n")
	for _, c := range chapters {
		h.raw(fmt.Sprintf("<h2 id=\"%s\">%s</h2>\n", html.EscapeString(anchor(c.ID)), html.EscapeString(c.ID)))
		h.element("p", fmt.Sprintf("%s (%s: otherwise %s.)", c.Title, c.Level, c.Consequence.Sentence()))
		h.markdown(say.WithoutTitle(c.Explain, c.Title))
		if c.Example != "" {
			h.element("p", "Run, it says:")
			h.element("pre", c.Example)
		}
		if c.Caution != "" {
			h.raw("<p class=\"caution\"><strong>Caution:</strong> " + escapeText(c.Caution) + "</p>\n")
		}
		if len(c.Limits) > 0 {
			h.element("h3", "Limits")
			h.raw("<ul>\n")
			for _, limit := range c.Limits {
				h.element("li", say.Limit(limit))
			}
			h.raw("</ul>\n")
		}
	}
	h.raw("</body>\n</html>\n")
	return out.Flush()
}

type htmlWriter struct{ out *bufio.Writer }

func (h htmlWriter) raw(text string) { _, _ = h.out.WriteString(text) } // the writer keeps its first error for Flush

func (h htmlWriter) element(name, text string) {
	h.raw("<" + name + ">" + escapeText(text) + "</" + name + ">\n")
}

func escapeText(text string) string { return html.EscapeString(say.Clean(text)) }

// inline is escaped text with its emphasis and its quotes of code.
func inline(text string) string {
	text = say.Emphasis.ReplaceAllString(escapeText(text), "<strong>$1</strong>")
	return say.CodeQuote.ReplaceAllString(text, "<code>$1</code>")
}

// markdown writes the few forms of Markdown that explanations use.
func (h htmlWriter) markdown(text string) {
	list, fenced := "", false
	var paragraph []string
	flush := func() {
		if len(paragraph) == 0 {
			return
		}
		words := inline(strings.Join(paragraph, " "))
		if list != "" {
			h.raw("<li>" + words + "</li>\n")
		} else {
			h.raw("<p>" + words + "</p>\n")
		}
		paragraph = nil
	}
	end := func() {
		flush()
		if list != "" {
			h.raw("</" + list + ">\n")
			list = ""
		}
	}
	for _, line := range strings.Split(strings.TrimSpace(say.CleanLines(text)), "\n") {
		mark := say.ListMark.FindStringSubmatch(line)
		switch {
		case strings.HasPrefix(line, "```"):
			end()
			if fenced = !fenced; fenced {
				h.raw("<pre>")
			} else {
				h.raw("</pre>\n")
			}
		case fenced:
			h.raw(html.EscapeString(line) + "\n")
		case strings.HasPrefix(line, "#"):
			end()
			h.element("h3", strings.TrimLeft(line, "# \t"))
		case strings.TrimSpace(line) == "":
			flush()
		case mark != nil:
			kind := "ul"
			if mark[1] != "-" && mark[1] != "*" {
				kind = "ol"
			}
			flush()
			if list != kind {
				end()
				list = kind
				h.raw("<" + list + ">\n")
			}
			paragraph = []string{mark[2]}
		case list != "" && len(paragraph) == 0 && !strings.HasPrefix(line, " "):
			end()
			paragraph = []string{strings.TrimSpace(line)}
		case list == "" && len(paragraph) == 0 && strings.HasPrefix(line, "    "):
			h.element("pre", strings.TrimSpace(line))
		default:
			paragraph = append(paragraph, strings.TrimSpace(line))
		}
	}
	end()
	if fenced {
		h.raw("</pre>\n")
	}
}
