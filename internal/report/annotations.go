package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// mostAnnotations is how many of each command a step of a run may show at one
// large code host: 10 errors and 10 warnings (its documentation of workflow
// commands, from memory). What is beyond is counted, so that nobody cuts in silence.
const mostAnnotations = 10

// Annotations writes a line for each failure in the form in which a large code
// host takes messages out of the log of a run (::error file=...::text), worst
// first, at most 10 errors and 10 warnings, and then how many more there are. If
// there is a base, only what is new is written. The error is the writer's.
func Annotations(w io.Writer, r *Report, _ Options) error {
	out := bufio.NewWriter(w)
	said := map[finding.Level]int{}
	notChecked := 0
	for i := range r.Shows {
		show := &r.Shows[i]
		if show.Verdict != NotChecked {
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
		annotate(out, "error", file, nil, string(NotChecked), cmp.Or(show.Name, show.Path)+": "+show.Because)
	}
	left := map[finding.Level]int{}
	left[finding.Error] = notChecked - said[finding.Error]
	for _, f := range worstFirst(r.Shows, func(f *finding.Finding) bool {
		return f.Verdict == finding.Fail && f.Accepted == nil && f.Base != finding.Unchanged
	}) {
		level := finding.Level(sarifLevel(f.Level))
		if level == finding.Note || said[level] == mostAnnotations {
			left[level]++
			continue
		}
		said[level]++
		text := f.Message
		for i := range r.Rules {
			if r.Rules[i].ID == f.Rule && r.Rules[i].Caution != "" {
				text = period(text) + " Caution: " + r.Rules[i].Caution
			}
		}
		file := ""
		if f.Place.File != nil {
			file = f.Place.File.Name
		}
		annotate(out, string(level), file, jsonPlaceOf(f.Place), fmt.Sprintf("%s (%s)", f.Rule, f.Key()), text)
	}
	var rest []string
	for _, level := range finding.Levels {
		if left[level] > 0 {
			rest = append(rest, count(left[level], "more "+string(level)))
		}
	}
	if r.Base != nil {
		rest = append(rest, "against "+r.Base.Name+": "+r.Base.Counts.String())
	}
	gaps := 0
	for i := range r.Shows {
		gaps += len(r.Shows[i].Gaps)
	}
	if gaps > 0 {
		rest = append(rest, count(gaps, "piece")+" of missing knowledge kept something from being checked")
	}
	if len(rest) > 0 {
		annotate(out, "notice", "", nil, "cueproof", "Not annotated: "+strings.Join(rest, "; ")+". The text report has all of it.")
	}
	return out.Flush()
}

// annotate writes one command. Properties with nothing in them are left out,
// and so is the end of a span of several lines in its column, for which the host
// takes columns as those of one line.
func annotate(w *bufio.Writer, command, file string, at *jsonPlace, title, text string) {
	var properties []string
	add := func(name, value string) {
		if value != "" {
			properties = append(properties, name+"="+annotationProperty.Replace(oneCleanLine(value)))
		}
	}
	add("file", file)
	if at != nil {
		add("line", fmt.Sprint(at.Line))
		add("endLine", fmt.Sprint(at.EndLine))
		if at.Line == at.EndLine {
			add("col", fmt.Sprint(at.Column))
			add("endColumn", fmt.Sprint(max(at.Column, at.EndColumn-1))) // theirs is inclusive, from memory
		}
	}
	add("title", title)
	fmt.Fprintf(w, "::%s %s::%s\n", command, strings.Join(properties, ","), annotationText.Replace(oneCleanLine(text)))
}

// oneCleanLine keeps line ends, which the commands can carry, only as blanks, and
// nothing that a screen obeys.
func oneCleanLine(text string) string {
	return shorten(Clean(strings.Join(strings.Fields(text), " ")))
}

// What the commands need escaped, in their text and in their properties (the
// published source of the host's toolkit, from memory).
var (
	annotationText     = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A")
	annotationProperty = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A", ":", "%3A", ",", "%2C")
)
