// Package handbook writes the explanations of all rules as one document.
package handbook

import (
	"bufio"
	_ "embed" // its style
	"fmt"
	"html"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/frame"
	"github.com/cueproof/cueproof/internal/report/markdown"
	"github.com/cueproof/cueproof/internal/report/say"
)

// Chapter is a rule in the handbook, with what its example says when it is run.
type Chapter struct {
	finding.Rule
	Example string // "" for a problem of files, which has none

	Pictures []Picture // of the example and of a good one beside it; none where nobody sees it in light
}

// Picture is what one sees of an example.
type Picture struct {
	ID    string // for its parts
	Case  string // what it shows, in a few words
	Wrong bool
	Pic   *picture.Pic
}

// says is what stands under a picture.
func (p *Picture) says() string {
	if p.Wrong {
		return "Wrong: " + p.Case + "."
	}
	return "Right: " + p.Case + "."
}

// Figure is the name under which the page keeps what all faces are drawn with.
const Figure = "figure"

// Markdown writes the chapters as one document. The error is that of the writer.
func Markdown(w io.Writer, chapters []Chapter) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# Handbook of cueproof\n\n%s\n\n", handbookWords)
	for _, pack := range packs(chapters) {
		fmt.Fprintf(out, "**%s**\n\n", say.Clean(pack.name))
		for _, c := range pack.chapters {
			fmt.Fprintf(out, "- [%s](#%s): %s\n", c.ID, anchor(c.ID), say.Clean(c.Title))
		}
		fmt.Fprintln(out)
	}
	fmt.Fprintf(out, "## By what you see\n\n")
	for _, s := range bySight(chapters) {
		fmt.Fprintf(out, "- %s:", say.Clean(s.what))
		for _, rule := range s.rules {
			fmt.Fprintf(out, " [%s](#%s)", rule, anchor(rule))
		}
		fmt.Fprintln(out)
	}
	var terms []Term
	left := Glossary()
	for _, c := range chapters {
		fmt.Fprintf(out, "\n<a id=\"%s\"></a>\n\n## %s\n\n%s (%s: otherwise %s.)\n\n", anchor(c.ID), c.ID, say.Clean(c.Title), c.Levels(), c.Consequence.Sentence())
		if terms, left = c.news(left); len(terms) > 0 {
			fmt.Fprintf(out, "Words that come here first:\n\n")
			for _, t := range terms {
				fmt.Fprintf(out, "- **%s**: %s\n", t.Word, t.Means)
			}
			fmt.Fprintln(out)
		}
		text := strings.ReplaceAll("\n"+strings.TrimSpace(say.CleanLines(say.WithoutTitle(c.Explain, c.Title))), "\n#", "\n##")
		fmt.Fprintln(out, strings.TrimSpace(text))
		if c.Example != "" {
			fmt.Fprintf(out, "\nRun, it says:\n\n")
			for line := range strings.SplitSeq(c.Example, "\n") {
				fmt.Fprintf(out, "    %s\n", say.Clean(line))
			}
		}
		for i := range c.Pictures {
			p := &c.Pictures[i]
			fmt.Fprintf(out, "\n*%s* %s\n", say.Clean(p.says()), say.OneLine(p.Pic.Desc))
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
	fmt.Fprintf(out, "\n## Words\n\n%s", glossary)
	return out.Flush()
}

const handbookWords = "Every rule of this program: what it looks like, why it matters, how it is worked out, what to try, how to keep it from coming back, and how sure it is. " +
	"The example of each built-in rule was run when this was written. This is arithmetic on what show files say; it certifies nothing."

// anchor makes a rule's name fit for the place behind a #.
func anchor(id string) string { return strings.ReplaceAll(id, "/", "-") }

// pack is the chapters of one pack.
type pack struct {
	name     string
	chapters []Chapter
}

// packs puts the chapters together that are of one pack, in the order in which the packs
// come.
func packs(chapters []Chapter) (list []pack) {
	for _, c := range chapters {
		name, _, _ := strings.Cut(c.ID, "/")
		k := slices.IndexFunc(list, func(p pack) bool { return p.name == name })
		if k < 0 {
			k = len(list)
			list = append(list, pack{name: name})
		}
		list[k].chapters = append(list[k].chapters, c)
	}
	return list
}

//go:embed handbook.css
var style string

// glossary explains the words of rules, one in a line. Common words of the trade, from
// memory; units as the SI has them.
//
//go:embed glossary.md
var glossary string

// Term is a word of the glossary.
type Term struct{ Word, Means string }

// Verbs are words that mean something else where they say what to do.
var Verbs = []string{"aim", "drive", "look", "spill", "stop", "throw", "zoom"}

// used reports whether a text has the word, alone or as several. What stands in brackets
// behind a word is its sign, of which the letters count.
func (t Term) used(text string) bool {
	word, sign, _ := strings.Cut(strings.TrimSuffix(t.Word, ")"), " (")
	if word == strings.ToUpper(word) || strings.ContainsAny(word, "/") {
		sign = word
	}
	pattern := `(?i:\b` + regexp.QuoteMeta(word) + `s?\b)`
	if slices.Contains(Verbs, word) {
		pattern = `(?i:\b(?:a|an|the|of|each|every|one|two|three|half|no|per|in|\d+) ` + regexp.QuoteMeta(word) + `s?\b)`
	}
	if sign != "" {
		pattern += `|\b` + regexp.QuoteMeta(sign) + `\b`
	}
	return regexp.MustCompile(pattern).MatchString(text)
}

// news are the terms that a chapter uses first; they are taken out of those that are left.
func (c *Chapter) news(left []Term) (list, rest []Term) {
	text := c.Title + "\n" + c.Explain + "\n" + c.Caution
	for _, limit := range c.Limits {
		text += "\n" + say.Limit(limit)
	}
	for _, t := range left {
		if t.used(text) {
			list = append(list, t)
		} else {
			rest = append(rest, t)
		}
	}
	return list, rest
}

// Glossary is every word that is explained.
func Glossary() (list []Term) {
	for line := range strings.Lines(glossary) {
		word, means, ok := strings.Cut(strings.TrimPrefix(strings.TrimSpace(line), "- **"), "**: ")
		if ok {
			list = append(list, Term{word, means})
		}
	}
	return list
}

// impression is what one sees, with the rules that may be the reason.
type impression struct {
	what  string
	rules []string
}

// bySight turns the symptoms of rules round: from what one sees to the rules.
func bySight(chapters []Chapter) (list []impression) {
	for _, c := range chapters {
		for _, symptom := range c.Symptoms {
			k := slices.IndexFunc(list, func(s impression) bool { return s.what == symptom })
			if k < 0 {
				k = len(list)
				list = append(list, impression{what: symptom})
			}
			list[k].rules = append(list[k].rules, c.ID)
		}
	}
	slices.SortFunc(list, func(a, b impression) int { return strings.Compare(strings.ToLower(a.what), strings.ToLower(b.what)) })
	return list
}

// HTML writes one file that asks nothing of any other place: its style is in it, it has no
// script, its pictures are drawn in it, and its policy forbids all requests. Every text is escaped.
func HTML(w io.Writer, chapters []Chapter) error {
	out := bufio.NewWriter(w)
	h := htmlWriter{out}
	h.raw("<!doctype html>\n<html lang=\"en\">\n<head>\n" + string(frame.Head(picture.Palette+picture.Style+style, "", false)) + "\n<title>Handbook of cueproof</title>\n</head>\n<body>\n")
	if slices.ContainsFunc(chapters, func(c Chapter) bool { return len(c.Pictures) > 0 }) {
		h.raw(draw.Figure(Figure).Hidden())
	}
	h.raw("<main>\n")
	h.element("h1", "Handbook of cueproof")
	h.element("p", handbookWords)
	h.raw("<nav aria-label=\"Rules by pack\">\n")
	for _, p := range packs(chapters) {
		h.element("h2", p.name)
		h.raw("<ul>\n")
		for _, c := range p.chapters {
			h.raw(fmt.Sprintf("<li><a href=\"#%s\">%s</a>: %s</li>\n", escapeText(anchor(c.ID)), escapeText(c.ID), escapeText(c.Title)))
		}
		h.raw("</ul>\n")
	}
	h.element("h2", "By what you see")
	h.raw("<ul>\n")
	for _, s := range bySight(chapters) {
		h.raw("<li>" + escapeText(s.what) + ":")
		for _, rule := range s.rules {
			h.raw(fmt.Sprintf(" <a href=\"#%s\">%s</a>", escapeText(anchor(rule)), escapeText(rule)))
		}
		h.raw("</li>\n")
	}
	h.raw("</ul>\n<p><a href=\"#words\">Words that rules use</a></p>\n</nav>\n")
	var terms []Term
	left := Glossary()
	for _, c := range chapters {
		h.raw(fmt.Sprintf("<section>\n<h2 id=\"%s\">%s</h2>\n", escapeText(anchor(c.ID)), escapeText(c.ID)))
		h.element("p", fmt.Sprintf("%s (%s: otherwise %s.)", c.Title, c.Levels(), c.Consequence.Sentence()))
		if terms, left = c.news(left); len(terms) > 0 {
			h.raw("<dl class=\"first\">\n")
			for _, t := range terms {
				h.raw("<dt><dfn>" + escapeText(t.Word) + "</dfn></dt><dd>" + escapeText(t.Means) + "</dd>\n")
			}
			h.raw("</dl>\n")
		}
		text, err := markdown.HTML(say.CleanLines(say.WithoutTitle(c.Explain, c.Title)), 3)
		if err != nil {
			return err
		}
		h.raw(say.Clean(text)) // a reference in it may stand for what no screen should obey
		if c.Example != "" {
			h.element("p", "Run, it says:")
			h.element("pre", c.Example)
		}
		if len(c.Pictures) > 0 {
			h.raw("<div class=\"pair\">")
			for i := range c.Pictures {
				p := &c.Pictures[i]
				h.raw("<figure>" + p.Pic.Inline(p.ID, "pic") + "<figcaption>" + escapeText(p.says()) + "</figcaption></figure>")
			}
			h.raw("</div>\n")
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
		h.raw("</section>\n")
	}
	h.raw("<section>\n<h2 id=\"words\">Words</h2>\n<dl>\n")
	for _, t := range Glossary() {
		h.element("dt", t.Word)
		h.element("dd", t.Means)
	}
	h.raw("</dl>\n</section>\n</main>\n</body>\n</html>\n")
	return out.Flush()
}

type htmlWriter struct{ out *bufio.Writer }

func (h htmlWriter) raw(text string) { _, _ = h.out.WriteString(text) } // the writer keeps its first error for Flush

func (h htmlWriter) element(name, text string) {
	h.raw("<" + name + ">" + escapeText(text) + "</" + name + ">\n")
}

func escapeText(text string) string { return html.EscapeString(say.Clean(text)) }
