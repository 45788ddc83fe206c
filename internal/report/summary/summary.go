// Package summary writes a page of Markdown for the people of a change: what is new
// or worse in it, each with what to do, what it was before and the line, and then one
// line of what stays.
package summary

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

// What one page takes; the rest is counted.
const (
	mostFindings = 30
	mostOfARule  = 5
	mostDark     = 20
)

// Write writes the page. Without an earlier state all failures are on it that nobody
// accepted. The error is the writer's.
func Write(w io.Writer, r *outcome.Report, o say.Options) error {
	out := bufio.NewWriter(w)
	p := page{out: out, report: r, options: o}
	for i := range r.Shows {
		p.head(&r.Shows[i])
	}
	if r.Base != nil {
		for _, lost := range r.Base.Lost {
			p.line("**" + text(lost) + "**")
		}
		p.line(text(fmt.Sprintf("Against %s: %s.", r.Base.Name, say.Counts(r.Base.Counts))))
		p.findings("New", func(f *finding.Finding) bool { return f.Base == finding.New })
		p.findings("Worse", func(f *finding.Finding) bool { return f.Base == finding.Worse })
		p.list("Could be checked before, and cannot be now", say.Dark(r.Base.Dark))
		p.list("For somebody to look at: what is judged, or how, has changed", say.Each(r.Base.Review, func(v *outcome.Review) string { return v.Text }))
		p.list("", r.Base.Notes)
	} else {
		p.findings("What is wrong", func(*finding.Finding) bool { return true })
	}
	p.stays()
	for i := range r.Shows {
		if receipt := say.Receipt(&r.Shows[i]); receipt != "" {
			p.line(text(receipt))
		}
	}
	return out.Flush()
}

type page struct {
	out     *bufio.Writer
	report  *outcome.Report
	options say.Options
}

// line writes a paragraph; an error stays in the writer and comes out at the end.
func (p *page) line(markdown string) { fmt.Fprintf(p.out, "%s\n\n", markdown) }

func (p *page) head(s *outcome.Show) {
	p.line(fmt.Sprintf("## %s: %s", s.Verdict, text(cmp.Or(s.Name, s.Path))))
	p.line(text(s.Because))
	for _, sentence := range s.Since {
		p.line(text(sentence))
	}
}

func (p *page) list(heading string, sentences []string) {
	if len(sentences) == 0 {
		return
	}
	if heading != "" {
		p.line("### " + text(heading))
	}
	for i, sentence := range sentences {
		if i == mostDark {
			fmt.Fprintf(p.out, "- and %d more\n", len(sentences)-i)
			break
		}
		fmt.Fprintf(p.out, "- %s\n", text(sentence))
	}
	fmt.Fprintln(p.out)
}

func (p *page) findings(heading string, wanted func(*finding.Finding) bool) {
	type entry struct {
		show *outcome.Show
		f    *finding.Finding
	}
	var list []entry
	for i := range p.report.Shows {
		show := &p.report.Shows[i]
		for j := range show.Findings {
			if f := &show.Findings[j]; f.Verdict == finding.Fail && f.Accepted == nil && wanted(f) {
				list = append(list, entry{show, f})
			}
		}
	}
	if len(list) == 0 {
		return
	}
	slices.SortStableFunc(list, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.f.Consequence, b.f.Consequence), cmp.Compare(say.Badness(a.f), say.Badness(b.f)))
	})
	p.line(fmt.Sprintf("### %s (%d)", heading, len(list)))
	said, ofRule := 0, map[string]int{}
	for _, e := range list {
		if said == mostFindings || ofRule[e.f.Rule] == mostOfARule {
			continue
		}
		said++
		ofRule[e.f.Rule]++
		p.finding(e.show, e.f)
	}
	if left := len(list) - said; left > 0 {
		fmt.Fprintf(p.out, "- and %s more; the text report has all of them\n", say.Count(left, "finding"))
	}
	fmt.Fprintln(p.out)
}

func (p *page) finding(s *outcome.Show, f *finding.Finding) {
	at, do := say.ToChange(s, f)
	fmt.Fprintf(p.out, "- **%s** %s\n", f.Level, text(say.Period(f.Message)))
	if was := say.Was(f); was != "" {
		fmt.Fprintf(p.out, "  - Before: %s\n", text(say.Period(was)))
	}
	if do != "" {
		fmt.Fprintf(p.out, "  - Do: %s\n", text(say.Period(do)))
	}
	for i := range p.report.Rules {
		if c := &p.report.Rules[i]; c.ID == f.Rule && c.Caution != "" {
			fmt.Fprintf(p.out, "  - Caution: %s\n", text(say.Period(c.Caution)))
		}
	}
	place := say.UnderRoot(p.options.Root, say.FileOf(s, at))
	if span, ok := say.Span(at); ok {
		place = fmt.Sprintf("%s, line %d", place, span.Start.Line)
	}
	fmt.Fprintf(p.out, "  - %s; %s, %s\n", text(place), text(f.Rule), f.Key())
}

// stays says in one line what is as it was.
func (p *page) stays() {
	before, accepted, open := 0, 0, 0
	for i := range p.report.Shows {
		for _, f := range p.report.Shows[i].Findings {
			switch {
			case f.Verdict == finding.Open:
				open++
			case f.Accepted != nil:
				accepted++
			case f.Base == finding.Unchanged || f.Base == finding.Better:
				before++
			}
		}
	}
	var words []string
	if p.report.Base != nil {
		words = append(words, fmt.Sprintf("%d as before or better", before))
	}
	words = append(words, fmt.Sprintf("%d accepted", accepted), fmt.Sprintf("%d that nobody could tell", open))
	p.line("Beside that: " + strings.Join(words, ", ") + ". This is arithmetic on what the files say. It certifies nothing.")
}

// text makes words from a show fit for a line of Markdown: nothing in them is a mark.
func text(words string) string {
	return marks.Replace(say.Clean(say.OneLine(words)))
}

var marks = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "<", "&lt;", ">", "&gt;", "&", "&amp;", "#", `\#`, "|", `\|`, "!", `\!`, "@", "&#64;", "~", `\~`, "$", `\$`, "://", ":&#47;&#47;",
)
