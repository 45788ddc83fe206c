package report

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// Worked is how a rule is worked out with the numbers of a show.
type Worked struct {
	Show        string
	Kind        string // what the rule looks at
	Subjects    int
	Fails, Open int
	Names       []finding.Subject // the subject that is furthest from right, or nearest to the limit
	Cue         string
	Wrong       bool
	Message     string
	Facts       []finding.Evidence
	Limits      []finding.Evidence
	Missing     []string // of the first subject that nobody could tell of
	None        []string // what the show would have to give, if there is nothing to look at
}

// Work writes how a rule is worked out with the numbers of a show.
func Work(w io.Writer, worked *Worked, o Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	t.heading("With the numbers of " + Clean(onOneLine.Replace(worked.Show)))
	t.line("")
	if worked.Subjects == 0 {
		t.block("", 2, "There is nothing in this show for the rule to look at.")
		for _, phrase := range worked.None {
			t.block("   ?", labelAt, "It would need "+phrase)
		}
		return out.Flush()
	}
	t.block("", 2, fmt.Sprintf("The rule looked %s: %d are not as they should be, and of %d nobody could tell.", count(worked.Subjects, "time"), worked.Fails, worked.Open))
	if len(worked.Names) > 0 || len(worked.Facts) > 0 {
		about := subjectsOf(&finding.Finding{Subjects: worked.Names})
		if worked.Cue != "" && !strings.Contains(about, "cue "+worked.Cue) {
			about += ", cue " + worked.Cue
		}
		front := "Nearest to the limit, and as it should be: "
		if worked.Wrong {
			front = "Furthest from right: "
		}
		t.line("")
		t.block("", 2, front+about+".")
		t.block("", 2, worked.Message)
		t.line("")
		for _, e := range worked.Facts {
			t.block("   -", labelAt, factWords(e))
		}
		for _, e := range worked.Limits {
			t.block("   -", labelAt, fmt.Sprintf("%s: %s", e.Name, strings.TrimSpace(e.Value+" "+e.Unit)))
		}
	}
	if len(worked.Missing) > 0 {
		t.line("")
		t.block("", 2, "Where nobody could tell, this would help: "+strings.Join(worked.Missing, "; ")+".")
	}
	return out.Flush()
}

// units are told by how the words of facts end; see internal/facts/FACTS.md.
var units = []struct{ ending, unit string }{
	{"_cd_m2", "cd/m2"}, {"_mg_m3", "mg/m3"}, {"_per_s", "a second"}, {"_lx", "lx"}, {"_k", "K"}, {"_pct", "%"}, {"_stops", "stops"},
	{"_mired", "mired"}, {"_deg", "degrees"}, {"_hz", "Hz"}, {"_s", "s"}, {"_a", "A"}, {"_w", "W"}, {"_m", "m"}, {"_lm", "lm"},
}

func factWords(e finding.Evidence) string {
	value := e.Value
	if value == "" {
		value = "nothing"
	}
	if e.Num != nil {
		for _, u := range units {
			if strings.HasSuffix(e.Name, u.ending) {
				value += " " + u.unit
				break
			}
		}
	}
	return e.Name + ": " + value
}

var exampleCase = regexp.MustCompile(`(?m)^Example case: (\S+)[ \t]*$`)

// ExampleCase returns the case that an explanation names as its example.
func ExampleCase(explain string) (name string, ok bool) {
	m := exampleCase.FindStringSubmatch(explain)
	if m == nil {
		return "", false
	}
	return m[1], true
}

// Chapter is a rule in the handbook, with what its example says when it is run.
type Chapter struct {
	finding.Rule
	Example string // "" for a problem of files, which has none
}

// Handbooks are the ways to write all explanations as one document.
var Handbooks = map[string]func(io.Writer, []Chapter) error{"md": handbookMarkdown, "html": handbookHTML}

func handbookMarkdown(w io.Writer, chapters []Chapter) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# Handbook of cueproof\n\n%s\n\n", handbookWords)
	for _, c := range chapters {
		fmt.Fprintf(out, "- [%s](#%s): %s\n", c.ID, anchor(c.ID), Clean(c.Title))
	}
	for _, c := range chapters {
		fmt.Fprintf(out, "\n<a id=\"%s\"></a>\n\n## %s\n\n%s (%s: otherwise %s.)\n\n", anchor(c.ID), c.ID, Clean(c.Title), c.Level, c.Consequence.Sentence())
		text := strings.ReplaceAll("\n"+strings.TrimSpace(cleanLines(withoutTitle(c.Explain, c.Title))), "\n#", "\n##")
		fmt.Fprintln(out, strings.TrimSpace(text))
		if c.Example != "" {
			fmt.Fprintf(out, "\nRun, it says:\n\n")
			for line := range strings.SplitSeq(c.Example, "\n") {
				fmt.Fprintf(out, "    %s\n", Clean(line))
			}
		}
		if c.Caution != "" {
			fmt.Fprintf(out, "\n**Caution:** %s\n", Clean(strings.Join(strings.Fields(c.Caution), " ")))
		}
		if len(c.Limits) > 0 {
			fmt.Fprintf(out, "\n### Limits\n\n")
			for _, limit := range c.Limits {
				fmt.Fprintf(out, "- %s\n", Clean(limitLine(limit)))
			}
		}
	}
	return out.Flush()
}

const handbookWords = "Every rule of this program: what it looks like, why it matters, how it is worked out, what to try and how sure it is. " +
	"The example of each built-in rule was run when this was written. This is arithmetic on what show files say; it certifies nothing."

// anchor makes a rule's name fit for the place behind a #.
func anchor(id string) string { return strings.ReplaceAll(id, "/", "-") }

// handbookHTML writes one file that asks nothing of any other place: its style is
// in it, it has no script and no picture, and its policy forbids all requests.
// Every text is escaped; of Markdown only what explanations use is known.
func handbookHTML(w io.Writer, chapters []Chapter) error {
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
		h.markdown(withoutTitle(c.Explain, c.Title))
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
				h.element("li", limitLine(limit))
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

func escapeText(text string) string { return html.EscapeString(Clean(text)) }

// inline is escaped text with its emphasis and its quotes of code.
func inline(text string) string {
	text = emphasis.ReplaceAllString(escapeText(text), "<strong>$1</strong>")
	return codeQuote.ReplaceAllString(text, "<code>$1</code>")
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
	for _, line := range strings.Split(strings.TrimSpace(cleanLines(text)), "\n") {
		mark := listMark.FindStringSubmatch(line)
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
