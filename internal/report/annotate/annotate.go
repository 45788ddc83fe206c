// Package annotate writes a few findings as commands in the log of a run, where a
// large code host shows them beside the lines.
package annotate

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
	"github.com/cueproof/cueproof/internal/source"
)

// mostAnnotations is how many of each command a step of a run may show at one
// large code host: 10 errors and 10 warnings (its documentation of workflow
// commands, from memory). What is beyond is counted, so that nobody cuts in silence.
const mostAnnotations = 10

// Write writes a line for each failure in the form in which a large code
// host takes messages out of the log of a run (::error file=...::text), worst
// first, at most 10 errors and 10 warnings, and then how many more there are. If
// there is a base, only what is new is written. The error is the writer's.
func Write(w io.Writer, r *outcome.Report, o say.Options) error {
	out := bufio.NewWriter(w)
	said := map[finding.Level]int{}
	notChecked := 0
	for i := range r.Shows {
		show := &r.Shows[i]
		if show.Verdict != outcome.NotChecked {
			continue
		}
		notChecked++
		if said[finding.Error] == mostAnnotations {
			continue
		}
		said[finding.Error]++
		file := ""
		if len(show.Files) > 0 {
			file = show.Files[0].Name
		}
		annotate(out, "error", say.UnderRoot(o.Root, file), source.Place{}, string(outcome.NotChecked), cmp.Or(show.Name, show.Path)+": "+show.Because)
	}
	left := map[finding.Level]int{}
	left[finding.Error] = notChecked - said[finding.Error]
	ofRule := map[string]int{}
	for _, j := range join(r) {
		f := j.first
		level := finding.Level(say.LevelOf(f.Level))
		if level == finding.Note || said[level] == mostAnnotations || ofRule[f.Rule] == mostOfARule {
			left[level] += 1 + j.more
			continue
		}
		said[level]++
		ofRule[f.Rule]++
		text := say.Period(f.Message)
		if was := say.Was(f); was != "" {
			text += " It " + say.Period(was)
		}
		if j.more > 0 {
			text += fmt.Sprintf(" %d more of this kind hang on the same line.", j.more)
		}
		if j.do != "" {
			text += " Do: " + say.Period(j.do)
		}
		for i := range r.Rules {
			if r.Rules[i].ID == f.Rule && r.Rules[i].Caution != "" {
				text += " Caution: " + r.Rules[i].Caution
			}
		}
		annotate(out, string(level), say.UnderRoot(o.Root, say.FileOf(j.show, j.at)), j.at, fmt.Sprintf("%s (%s)", f.Rule, f.Key()), text)
	}
	var rest []string
	for _, level := range finding.Levels {
		if left[level] > 0 {
			rest = append(rest, say.Count(left[level], "more "+string(level)))
		}
	}
	if r.Base != nil && r.Base.Failed() {
		for _, why := range append(slices.Clone(r.Base.Lost), say.Dark(r.Base.Dark)...) {
			if said[finding.Error] == mostAnnotations {
				break
			}
			said[finding.Error]++
			annotate(out, "error", "", source.Place{}, "Could be checked before, and cannot be now", why)
		}
	}
	if r.Base != nil {
		rest = append(rest, "against "+r.Base.Name+": "+say.Counts(r.Base.Counts))
	}
	gaps := 0
	for i := range r.Shows {
		gaps += len(r.Shows[i].Gaps)
	}
	if gaps > 0 {
		rest = append(rest, say.Count(gaps, "piece")+" of missing knowledge kept something from being checked")
	}
	if len(rest) > 0 {
		annotate(out, "notice", "", source.Place{}, "cueproof", "Not annotated: "+strings.Join(rest, "; ")+". The text report has all of it.")
	}
	for i := range r.Shows {
		if receipt := say.Receipt(&r.Shows[i]); receipt != "" {
			annotate(out, "notice", "", source.Place{}, "cueproof", receipt)
		}
	}
	return out.Flush()
}

// mostOfARule is how many annotations one rule gets, so that none fills the page.
const mostOfARule = 3

// lineNote is what one rule found on account of one line, which has to change.
type lineNote struct {
	show  *outcome.Show
	first *finding.Finding // the worst
	more  int
	at    source.Place
	do    string
}

// join puts what counts together by rule and by the line that has to change, worst first.
func join(r *outcome.Report) (list []*lineNote) {
	type key struct {
		rule, file, do string
		line           int
	}
	shows := map[*finding.Finding]*outcome.Show{}
	for i := range r.Shows {
		for j := range r.Shows[i].Findings {
			shows[&r.Shows[i].Findings[j]] = &r.Shows[i]
		}
	}
	at := map[key]*lineNote{}
	for _, f := range say.WorstFirst(r.Shows, func(f *finding.Finding) bool {
		return f.Verdict == finding.Fail && f.Accepted == nil && (r.Base == nil || f.Base.Grew())
	}) {
		show := shows[f]
		place, do := say.ToChange(show, f)
		k := key{rule: f.Rule, file: say.FileOf(show, place)}
		if span, ok := say.Span(place); ok {
			k.line = span.Start.Line
		} else {
			k.do = f.Key() // what stands nowhere is joined with nothing
		}
		if known := at[k]; known != nil {
			known.more++
			continue
		}
		one := &lineNote{show: show, first: f, at: place, do: do}
		at[k] = one
		list = append(list, one)
	}
	return list
}

// annotate writes one command. Properties with nothing in them are left out,
// and so is the end of a span of several lines in its column, for which the host
// takes columns as those of one line.
func annotate(w *bufio.Writer, command, file string, at source.Place, title, text string) {
	var properties []string
	add := func(name, value string) {
		if value != "" {
			properties = append(properties, name+"="+annotationProperty.Replace(say.OneLine(value)))
		}
	}
	add("file", file)
	if span, ok := say.Span(at); ok {
		add("line", fmt.Sprint(span.Start.Line))
		add("endLine", fmt.Sprint(span.End.Line))
		if span.Start.Line == span.End.Line {
			add("col", fmt.Sprint(span.Start.Column))
			add("endColumn", fmt.Sprint(max(span.Start.Column, span.End.Column-1))) // theirs is inclusive, from memory
		}
	}
	add("title", title)
	fmt.Fprintf(w, "::%s %s::%s\n", command, strings.Join(properties, ","), annotationText.Replace(say.OneLine(text)))
}

// What the commands need escaped, in their text and in their properties (the
// published source of the host's toolkit, from memory).
var (
	annotationText     = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A")
	annotationProperty = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A", ":", "%3A", ",", "%2C")
)
