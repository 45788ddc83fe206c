// Package waiver is what a person accepted, why and until when.
//
// In go waivers, findings and the day; findings that a waiver covers are marked
// as accepted, and out come findings about the waivers themselves: one without a
// reason or a name, one past its day, one that covers nothing. A finding is
// recognised by rule and names; where an earlier state of the show is known, a waiver
// goes with the thing that it was written for, whatever that is called by now
// ([Target]). A newcomer's mistake would be to drop what is accepted: it is
// marked, told and counted apart, so that a waiver never hides anything.
package waiver

import (
	"cmp"
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

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
	Value   *float64        // what was accepted, of what the rule measures: what is worse by its margin is not covered; nil for any
	Reason  string
	By      string
	Since   string // the day on which it was written, in the names of that day; "" if nobody said
	Until   string // the last day on which it holds, as 2026-12-31; [Never] for no end; "" if nobody said

	Place      source.Place // where people look for it
	UntilPlace source.Place // of its day, if it has one
}

// Never is the last day of a waiver of which somebody decided that it has none.
const Never = "never"

// How long waivers hold. Both are common practice, no source.
const (
	UsualDays  = 90 // if neither the house nor whoever accepts says another number
	endingDays = 14 // so long before its end somebody is told: two services
)

// idLetters are those of the keys of findings.
var idLetters = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// ID is what a waiver is known by from run to run, such as W-7Q2KM4HT: by what it is
// for, as it was written, and since when; not by its reason, value or last day.
func (w *Waiver) ID() string {
	sum := sha256.Sum256([]byte(strings.Join([]string{w.Rule, string(w.Verdict), oneLine(w.Subject), w.Detail, w.Since}, "\x00")))
	return "W-" + idLetters.EncodeToString(sum[:])[:8]
}

// Target is what a waiver is about by today's names, as far as an earlier state of
// the show tells. The zero value is for a waiver of which that knows nothing: its
// names are those of today.
type Target struct {
	Known bool
	About []finding.Subject // narrowest first; nil: what it was about is no more, or nobody can tell which it is
	Whole bool              // these are all subjects of a finding, and not one of them
}

// Subject is what the waiver would be written for today.
func (c *Target) Subject() string { return Subject(c.About) }

// moved reports whether a waiver is about something that is called otherwise by now.
func (c *Target) moved(w *Waiver) bool {
	return c.Known && len(c.About) > 0 && c.Subject() != oneLine(w.Subject) && oneLine(c.About[0].String()) != oneLine(w.Subject)
}

// covers reports whether a finding is about that.
func (c *Target) covers(f *finding.Finding) bool {
	same := func(a, b finding.Subject) bool { return a == b || a.Kind == "show" && b.Kind == "show" }
	if len(c.About) == 0 {
		return false
	}
	if !c.Whole {
		return slices.ContainsFunc(slices.Concat(f.Subjects, f.With), func(s finding.Subject) bool { return same(s, c.About[0]) })
	}
	return slices.ContainsFunc(sides(f), func(list []finding.Subject) bool { return slices.EqualFunc(list, c.About, same) })
}

// sides are the ways to list what a finding is about: which of the things that are in
// each other's way stands first hangs on the order of rows.
func sides(f *finding.Finding) [][]finding.Subject {
	list := [][]finding.Subject{f.Subjects}
	for _, other := range f.With {
		if len(f.Subjects) > 0 {
			list = append(list, append([]finding.Subject{other}, f.Subjects[1:]...))
		}
	}
	return list
}

// About says what of a finding a waiver names that covers it by name.
func (w *Waiver) About(f *finding.Finding) Target {
	subject := oneLine(w.Subject)
	for _, list := range sides(f) {
		if Subject(list) == subject && len(list) > 0 {
			return Target{true, list, true}
		}
		for i := range list {
			if Subject(list[i:i+1]) == subject || oneLine(list[i].String()) == subject {
				return Target{true, list[i : i+1], false}
			}
		}
	}
	return Target{}
}

// Of returns the waiver that covers this finding and no other.
func Of(f *finding.Finding, reason, by, until string) Waiver {
	w := Waiver{
		Rule: f.Rule, Subject: Subject(f.Subjects), Detail: f.Detail, Verdict: f.Verdict,
		Reason: reason, By: by, Until: until,
	}
	if f.Amount != nil {
		value := sixDigits(f.Amount.Value)
		w.Value = &value
	}
	return w
}

// sixDigits rounds a value as reports do.
func sixDigits(v float64) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return v // no number to be written down
	}
	return rounded
}

// Same reports whether two waivers are one decision, wherever they stand.
func (w Waiver) Same(other Waiver) bool {
	if (w.Value == nil) != (other.Value == nil) || w.Value != nil && *w.Value != *other.Value {
		return false
	}
	w.Place, w.UntilPlace, w.Value = other.Place, other.UntilPlace, other.Value
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
	return w.alike(f) && slices.Contains(wordings, oneLine(w.Subject))
}

// alike is covers without names.
func (w *Waiver) alike(f *finding.Finding) bool {
	return w.Rule == f.Rule && w.Verdict == f.Verdict && (w.Detail == "" || w.Detail == f.Detail)
}

// wordings are the ways to say what a finding is about: all its names, or one.
func wordings(f *finding.Finding) (words []string) {
	for _, list := range sides(f) {
		words = append(words, Subject(list))
		for i := range list {
			words = append(words, Subject(list[i:i+1]), oneLine(list[i].String()))
		}
	}
	return words
}

// outgrown reports whether a finding is worse than what was accepted.
func (w *Waiver) outgrown(f *finding.Finding) bool {
	if w.Value == nil || f.Amount == nil {
		return false
	}
	accepted := *f.Amount
	accepted.Value = *w.Value
	return f.Amount.Compare(accepted) > 0
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
func (w *Waiver) past(today string) bool { return w.Until != "" && w.Until != Never && w.Until < today }

// left is how many days a waiver holds after today; ok is false for one without an end.
func (w *Waiver) left(today string) (days int, ok bool) {
	from, err1 := time.Parse(time.DateOnly, today)
	to, err2 := time.Parse(time.DateOnly, w.Until)
	if err1 != nil || err2 != nil {
		return 0, false
	}
	return int(to.Sub(from).Hours() / 24), true
}

// Ends is the day on which a waiver of today ends that holds for so many days.
func Ends(today string, days int) (string, error) {
	from, err := time.Parse(time.DateOnly, today)
	if err != nil {
		return "", fmt.Errorf("%q is no day: %w", today, err)
	}
	return from.AddDate(0, 0, days).Format(time.DateOnly), nil
}

// Use is what became of a waiver in a run.
type Use struct {
	Covers   bool            // it is about a finding, whether it holds or not
	Outgrown *finding.Amount // of a finding that is worse than what was accepted; nil if there is none
	Carried  Target          // what it is about
}

// and joins what became of a waiver in several lists of findings.
func (u *Use) and(other Use) {
	u.Covers = u.Covers || other.Covers
	u.Outgrown = cmp.Or(u.Outgrown, other.Outgrown)
	if !u.Carried.Known {
		u.Carried = other.Carried
	}
}

// Join puts together what became of the same waivers in several lists.
func Join(uses, more []Use) []Use {
	if uses == nil {
		return slices.Clone(more)
	}
	for i := range more {
		uses[i].and(more[i])
	}
	return uses
}

// Apply marks the findings that a waiver covers which has a reason, a name and
// days left, and of which they are no worse than what was accepted; of several the first counts.
// What is binding is never accepted. The findings are marked where they
// stand and otherwise left alone. Carried says of each waiver what it is about by now; nil
// is for a run that knows of no earlier state. It returns what became of each. Today is the day as 2026-12-31.
func Apply(list []Waiver, carried []Target, found []finding.Finding, today string) []Use {
	uses := make([]Use, len(list))
	ofRule := map[string][]int{}
	for i := range list {
		if carried != nil {
			uses[i].Carried = carried[i]
		}
		ofRule[list[i].Rule] = append(ofRule[list[i].Rule], i)
	}
	for i := range found {
		f := &found[i]
		if len(ofRule[f.Rule]) == 0 {
			continue
		}
		words := wordings(f)
		var outgrown []*Use
		for _, index := range ofRule[f.Rule] {
			w, use := &list[index], &uses[index]
			switch isCarried := carried != nil && carried[index].Known; {
			case isCarried && !(w.alike(f) && use.Carried.covers(f)):
				continue
			case isCarried:
			case !w.covers(f, words):
				continue
			case !use.Carried.Known:
				use.Carried = w.About(f)
			}
			use.Covers = true
			if w.outgrown(f) {
				outgrown = append(outgrown, use)
				continue
			}
			if f.Accepted == nil && !f.Binding && len(w.lacks()) == 0 && !w.past(today) {
				f.Accepted = &finding.Acceptance{Reason: w.Reason, By: w.By, Until: w.Until, Place: w.Place, Waiver: w.ID()}
				if use.Carried.moved(w) {
					f.Accepted.WrittenFor = oneLine(w.Subject)
				}
			}
		}
		for _, use := range outgrown { // unless another waiver accepts as much as it is by now
			if f.Accepted == nil && (use.Outgrown == nil || f.Amount.Compare(*use.Outgrown) > 0) {
				use.Outgrown = f.Amount
			}
		}
	}
	return uses
}

// Problems says what is wrong with the waivers. Uses is what [Apply] returned;
// for several shows with the same waivers, that of all of them joined.
// Found is what was found in those shows: a waiver that covers nothing may only
// be misspelt.
func Problems(list []Waiver, uses []Use, found []finding.Finding, today string) []finding.Finding {
	var problems []finding.Finding
	var endless []*Waiver
	for i := range list {
		w, use := &list[i], &uses[i]
		add := func(id string, level finding.Level, at source.Place, message, hint string) {
			f := w.problem(id, level)
			f.Message, f.Hint, f.Place = fmt.Sprintf("The waiver of %s for %s ", w.Rule, w.Subject)+message, hint, at
			problems = append(problems, f)
		}
		lacks := w.lacks()
		if len(lacks) > 0 {
			add("file/waiver-incomplete", finding.Warning, w.Place, fmt.Sprintf("has no %s, so it accepts nothing.", strings.Join(lacks, " and no ")),
				"write why it is accepted (reason) and who decided it (by), or take the waiver out")
		}
		days, ends := w.left(today)
		binding := w.coversBinding(found)
		switch {
		case w.past(today):
			add("file/waiver-expired", finding.Warning, w.UntilPlace, fmt.Sprintf("ended on %s, so what it accepted counts again.", w.Until),
				"put right what was accepted for a time and take the waiver out, or decide anew and give it another day")
		case len(lacks) > 0:
		case binding:
			add("file/waiver-refused", finding.Warning, w.Place, "accepts nothing: what this rule finds cannot be waived.",
				"take the waiver out and put the thing right; if it is done on purpose, say so in the cue under meant, as far as the rule allows it")
		case use.Carried.Known && len(use.Carried.About) == 0:
			add("file/waiver-unmatched", finding.Note, w.Place, "covers nothing: what it was written for is no more, or nobody can tell which it is by now. What has that name today is something else.",
				"take it out (cueproof waivers --prune does), or write it anew for what it is to cover")
		case !use.Covers:
			add("file/waiver-unmatched", finding.Note, w.Place, "covers nothing that was found."+w.meant(found),
				"take it out if the thing was put right (cueproof waivers --prune does); otherwise write the names as the report does")
		case ends && days <= endingDays:
			add("file/waiver-ending", finding.Warning, w.UntilPlace, fmt.Sprintf("ends on %s, %s. From then on what it accepts counts again.", w.Until, inDays(days)),
				"put the thing right until then, or decide anew and give it another day")
		case w.Until == "":
			endless = append(endless, w)
		}
		if use.Outgrown != nil && !binding && len(lacks) == 0 && !w.past(today) {
			unit := strings.TrimRight(" "+use.Outgrown.Unit, " ")
			add("file/waiver-outgrown", finding.Warning, w.Place, fmt.Sprintf("accepts %g%s, and it is %g%s by now. So it counts again.", *w.Value, unit, sixDigits(use.Outgrown.Value), unit),
				"put it right, or decide anew with the value of now")
		}
	}
	if len(endless) > 0 {
		f := endless[0].problem("file/waiver-endless", finding.Note)
		f.Message = fmt.Sprintf("The waiver of %s for %s has no last day, so nobody will be asked about it again.", endless[0].Rule, endless[0].Subject)
		if more := len(endless) - 1; more > 0 {
			f.Subjects = []finding.Subject{{Kind: "house file"}}
			f.Detail, f.Message = "", fmt.Sprintf("%d waivers have no last day, so nobody will be asked about them again; the first is that of %s for %s.", more+1, endless[0].Rule, endless[0].Subject)
		}
		f.Hint = "give each a day under until, such as 2026-12-31, or write never there if that was decided"
		problems = append(problems, f)
	}
	return problems
}

// Renamed says in a sentence that a waiver goes with something that is called
// otherwise by now; "" for all others.
func (w *Waiver) Renamed(use *Use) string {
	if !use.Carried.moved(w) {
		return ""
	}
	return fmt.Sprintf("the waiver of %s for %s was written for what is called %s by now, and goes with it (cueproof waivers --rewrite writes that name)", w.Rule, w.Subject, use.Carried.Subject())
}

func inDays(days int) string {
	if days == 0 {
		return "which is today"
	}
	return "in " + spelling.Count(days, "day")
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
