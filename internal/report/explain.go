package report

import (
	"bufio"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// Explain writes what a rule means, for a volunteer who reads it in the booth.
func Explain(w io.Writer, rule finding.Rule, o Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	t.styled("", unstyled, 0, rule.ID, t.strong)
	t.block("", 0, fmt.Sprintf("%s (%s: otherwise %s.)", rule.Title, rule.Level, rule.Consequence.Sentence()))
	t.line("")
	t.markdown(withoutTitle(rule.Explain, rule.Title))
	if rule.Caution != "" {
		t.heading("Caution")
		t.styled("", unstyled, 2, rule.Caution, t.strong)
	}
	if len(rule.Limits) > 0 {
		t.heading("Limits")
		for _, limit := range rule.Limits {
			t.block("   -", labelAt, limitLine(limit))
		}
	}
	if rule.Expect != "" {
		t.heading("What should be so, as the rule has it")
		t.block("", 2, rule.Expect)
	}
	return out.Flush()
}

// Listed is a rule in a list, with whether it looks.
type Listed struct {
	finding.Rule
	Off string // where it is switched off, or ""
}

// List writes the rules with their limits, a few lines each, by packs.
func List(w io.Writer, rules []Listed, o Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	last, packs, off := "", 0, 0
	for _, rule := range rules {
		t.styled("", unstyled, 0, rule.ID, t.strong)
		state := string(rule.Level) + ", on"
		if rule.Off != "" {
			state, off = string(rule.Level)+", off: "+rule.Off, off+1
		}
		if pack, _, _ := strings.Cut(rule.ID, "/"); pack != last {
			last, packs = pack, packs+1
		}
		t.block("", labelAt, fmt.Sprintf("%s (%s)", rule.Title, state))
		for _, limit := range rule.Limits {
			t.block("      -", 8, limitLine(limit))
		}
	}
	t.line("")
	end := fmt.Sprintf("%s in %s", count(len(rules), "rule"), count(packs, "pack"))
	if off > 0 {
		end += fmt.Sprintf(", of which %d off", off)
	}
	t.block("", 0, end+".")
	return out.Flush()
}

func limitLine(limit finding.Limit) string {
	value := strings.TrimSpace(strconv.FormatFloat(limit.Value, 'f', -1, 64) + " " + limit.Unit)
	return fmt.Sprintf("%s: %s (%s)", limit.Name, value, limit.Source)
}

// withoutTitle takes the title away when an explanation opens with it too.
func withoutTitle(markdown, title string) string {
	first, rest, _ := strings.Cut(strings.TrimSpace(markdown), "\n")
	if strings.TrimSuffix(strings.TrimLeft(first, "# "), ".") == strings.TrimSuffix(title, ".") {
		return rest
	}
	return markdown
}

var (
	listMark  = regexp.MustCompile(`^\s*([-*]|\d{1,3}[.)])\s+(.*)$`)
	emphasis  = regexp.MustCompile(`\*\*([^*]+)\*\*`)
	codeQuote = regexp.MustCompile("`([^`]+)`")
)

// markdown writes the few forms of Markdown that explanations use: headings,
// paragraphs, lists, fenced and indented text, and emphasis, which is dropped.
func (t *textWriter) markdown(text string) {
	front, at := "", 2
	var paragraph []string
	blank := true // the line above is empty, or there is none
	flush := func() {
		if len(paragraph) > 0 {
			words := emphasis.ReplaceAllString(strings.Join(paragraph, " "), "$1")
			t.block(front, at, codeQuote.ReplaceAllString(words, "$1"))
			blank = false
		}
		front, at, paragraph = "", 2, nil
	}
	as := func(line string) {
		t.line(line)
		blank = line == ""
	}
	fenced := false
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		line = strings.TrimRight(line, " \r")
		mark := listMark.FindStringSubmatch(line)
		switch {
		case strings.HasPrefix(line, "```"):
			flush()
			fenced = !fenced
		case fenced:
			as("      " + verbatim(line))
		case strings.HasPrefix(line, "#"):
			flush()
			if !blank {
				as("")
			}
			as(t.strong(verbatim(strings.TrimLeft(line, "# \t"))))
		case line == "":
			flush()
			if !blank {
				as("")
			}
		case mark != nil:
			flush()
			front, at, paragraph = "   "+mark[1], 3+len(mark[1])+1, []string{mark[2]}
			if mark[1] == "*" {
				front = "   -"
			}
		case len(paragraph) == 0 && strings.HasPrefix(line, "    "):
			as("  " + verbatim(line))
		default:
			paragraph = append(paragraph, strings.TrimSpace(line))
		}
	}
	flush()
}

// verbatim keeps the blanks of a line.
func verbatim(line string) string { return Clean(strings.ReplaceAll(line, "\t", "    ")) }
