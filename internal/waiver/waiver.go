// Package waiver is what a person accepted, why and until when.
//
// In go waivers, findings and the day; findings that a waiver covers are marked
// as accepted, and out come findings about the waivers themselves: one without a
// reason or a name, one past its day, one that covers nothing. A finding is
// recognised by rule and names, so a show can be reformatted and its other cues
// renumbered. A newcomer's mistake would be to drop what is accepted: it is
// marked, told and counted apart, so that a waiver never hides anything.
package waiver

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// Waiver is one decision to live with something.
type Waiver struct {
	Rule    string
	Subject string          // as [Subject] writes it, or one of the names in it: "place pulpit" for each segment
	Detail  string          // the finding's own; "" covers all findings of the rule about the subject
	Verdict finding.Verdict // what it covers: a failure, or that nobody could tell; never both
	Reason  string
	By      string
	Until   string // the last day on which it holds, as 2026-12-31; "" for no end

	Place      source.Place // where people look for it
	UntilPlace source.Place // of its day, if it has one
}

// Of returns the waiver that covers this finding and no other.
func Of(f *finding.Finding, reason, by, until string) Waiver {
	return Waiver{
		Rule: f.Rule, Subject: Subject(f.Subjects), Detail: f.Detail, Verdict: f.Verdict,
		Reason: reason, By: by, Until: until,
	}
}

// Same reports whether two waivers are one decision, wherever they stand.
func (w Waiver) Same(other Waiver) bool {
	w.Place, w.UntilPlace = other.Place, other.UntilPlace
	return w == other
}

// Subject writes what a finding is about on one line, narrowest first: "place
// pulpit in segment Talk". A finding about nothing in particular is about the
// show, and that is written without its name, which may hold tonight's date.
func Subject(list []finding.Subject) string {
	if len(list) == 0 {
		return "show"
	}
	names := make([]string, len(list))
	for i, s := range list {
		names[i] = s.String()
		if s.Kind == "show" {
			names[i] = s.Kind
		}
	}
	return oneLine(strings.Join(names, " in "))
}

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// Covers reports whether the waiver is about the finding, whether or not it holds.
func (w *Waiver) Covers(f *finding.Finding) bool {
	return w.covers(f, wordings(f))
}

// covers is Covers with the wordings of the finding, which are the same for all waivers.
func (w *Waiver) covers(f *finding.Finding, wordings []string) bool {
	return w.Rule == f.Rule && w.Verdict == f.Verdict && (w.Detail == "" || w.Detail == f.Detail) &&
		slices.Contains(wordings, oneLine(w.Subject))
}

// wordings are the ways to say what a finding is about: all its names, or one.
func wordings(f *finding.Finding) []string {
	list := []string{Subject(f.Subjects)}
	for i := range f.Subjects {
		list = append(list, Subject(f.Subjects[i:i+1]), oneLine(f.Subjects[i].String()))
	}
	return list
}

// lacks names what a waiver cannot do without: a reason, and who gives it.
func (w *Waiver) lacks() []string {
	var list []string
	if strings.TrimSpace(w.Reason) == "" {
		list = append(list, "reason")
	}
	if strings.TrimSpace(w.By) == "" {
		list = append(list, "name")
	}
	return list
}

// past reports whether the waiver's last day is over. Days are written as
// 2026-12-31, so they sort as text does.
func (w *Waiver) past(today string) bool { return w.Until != "" && w.Until < today }

// Apply marks the findings that a waiver covers which has a reason, a name and
// days left; of several the first counts. What is binding is never accepted. The findings are marked where they
// stand and otherwise left alone. It returns which waivers cover a finding,
// whether they hold or not. Today is the day as 2026-12-31.
func Apply(list []Waiver, found []finding.Finding, today string) (covers []bool) {
	covers = make([]bool, len(list))
	ofRule := map[string][]int{}
	for i := range list {
		ofRule[list[i].Rule] = append(ofRule[list[i].Rule], i)
	}
	for i := range found {
		f := &found[i]
		if len(ofRule[f.Rule]) == 0 {
			continue
		}
		words := wordings(f)
		for _, index := range ofRule[f.Rule] {
			w := &list[index]
			if !w.covers(f, words) {
				continue
			}
			covers[index] = true
			if f.Accepted == nil && !f.Binding && len(w.lacks()) == 0 && !w.past(today) {
				f.Accepted = &finding.Acceptance{Reason: w.Reason, By: w.By, Until: w.Until, Place: w.Place}
			}
		}
	}
	return covers
}

// Problems says what is wrong with the waivers. Covers is what [Apply] returned;
// for several shows with the same waivers, what it returned for any of them.
// Found is what was found in those shows: a waiver that covers nothing may only
// be misspelt.
func Problems(list []Waiver, covers []bool, found []finding.Finding, today string) []finding.Finding {
	var problems []finding.Finding
	for i := range list {
		w := &list[i]
		lacks := w.lacks()
		if len(lacks) > 0 {
			f := w.problem("file/waiver-incomplete", finding.Warning)
			f.Message = fmt.Sprintf("The waiver of %s for %s has no %s, so it accepts nothing.", w.Rule, w.Subject, strings.Join(lacks, " and no "))
			f.Hint = "write why it is accepted (reason) and who decided it (by), or take the waiver out"
			problems = append(problems, f)
		}
		switch {
		case w.past(today):
			f := w.problem("file/waiver-expired", finding.Warning)
			f.Message = fmt.Sprintf("The waiver of %s for %s ended on %s, so what it accepted counts again.", w.Rule, w.Subject, w.Until)
			f.Hint = "put right what was accepted for a time and take the waiver out, or decide anew and give it another day"
			f.Place = w.UntilPlace
			problems = append(problems, f)
		case len(lacks) == 0 && w.coversBinding(found):
			f := w.problem("file/waiver-refused", finding.Warning)
			f.Message = fmt.Sprintf("The waiver of %s for %s accepts nothing: what this rule finds cannot be waived.", w.Rule, w.Subject)
			f.Hint = "take the waiver out and put the thing right; if it is done on purpose, say so in the cue under meant, as far as the rule allows it"
			problems = append(problems, f)
		case !covers[i] && len(lacks) == 0:
			f := w.problem("file/waiver-unmatched", finding.Note)
			f.Message = fmt.Sprintf("The waiver of %s for %s covers nothing that was found.%s", w.Rule, w.Subject, w.meant(found))
			f.Hint = "take it out if the thing was put right; otherwise write the names as the report does"
			problems = append(problems, f)
		}
	}
	return problems
}

// coversBinding reports whether the waiver is about something that nobody may accept.
func (w *Waiver) coversBinding(found []finding.Finding) bool {
	return slices.ContainsFunc(found, func(f finding.Finding) bool { return f.Binding && w.Covers(&f) })
}

func (w *Waiver) problem(id string, level finding.Level) finding.Finding {
	return finding.Finding{
		Rule: id, Level: level, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "waiver", Name: w.Rule + " for " + w.Subject}},
		Detail:   strings.TrimSpace(w.Detail + " " + string(w.Verdict)), Place: w.Place,
	}
}

// longestName is how long a name may be to be looked for among others; the
// search takes as long as the names are.
const longestName = 100

// meant asks for the subject that was probably meant, or "".
func (w *Waiver) meant(found []finding.Finding) string {
	var known []string
	for i := range found {
		f := &found[i]
		if f.Rule != w.Rule {
			continue
		}
		if w.Verdict != f.Verdict && slices.Contains(wordings(f), oneLine(w.Subject)) {
			return fmt.Sprintf(" It is for the verdict %q and the finding is %q.", w.Verdict, f.Verdict)
		}
		for _, wording := range wordings(f) {
			if len(wording) <= longestName && !slices.Contains(known, wording) {
				known = append(known, wording)
			}
		}
	}
	if len(w.Subject) > longestName {
		return ""
	}
	slices.Sort(known)
	return spelling.Hint(w.Subject, known)
}
