// Package finding is the narrow waist between judging and telling: what a rule,
// or a reader of files, has to say about one thing in a show.
//
// In go plain values, out come plain values; nothing here decides anything. A
// newcomer's mistake would be to recognise a finding by its place: a finding is
// recognised by what it is about ([Finding.Identity]), so that reformatting a
// file or renumbering its lines makes nothing new.
package finding

import (
	"cmp"
	"crypto/sha256"
	"encoding/base32"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Level says how bad a finding is, in SARIF's words.
type Level string

// The levels, worst first.
const (
	Error   Level = "error"
	Warning Level = "warning"
	Note    Level = "note"
)

// Levels lists the levels, worst first.
var Levels = []Level{Error, Warning, Note}

// AtLeast reports whether the level is as bad as the other or worse.
func (l Level) AtLeast(other Level) bool { return l.rank() <= other.rank() }

func (l Level) rank() int {
	for i, level := range Levels {
		if l == level {
			return i
		}
	}
	return len(Levels)
}

// Verdict is what was found: that something is not as it should be, or that
// nobody could tell.
type Verdict string

// The verdicts of a finding. What is as it should be makes no finding.
const (
	Fail Verdict = "fail"
	Open Verdict = "open" // could not tell: Missing says why
)

// Consequence is what happens to the service if nothing is done; it orders
// everything that people read.
type Consequence int

// The consequences, gravest first.
const (
	Hurt   Consequence = iota // someone could be hurt
	Dark                      // part of the service goes dark or cannot run
	Camera                    // it will look wrong on camera
	Room                      // it will look wrong in the room
	Later                     // it will trip us up later
)

// Consequences names the consequences, gravest first, as rule files write them.
var Consequences = []string{"hurt", "dark", "camera", "room", "later"}

// String names the consequence as rule files write it.
func (c Consequence) String() string { return Consequences[c] }

// Sentence says the consequence to a volunteer.
func (c Consequence) Sentence() string {
	return [...]string{
		"someone could be hurt",
		"part of the service goes dark or cannot run",
		"it will look wrong on camera",
		"it will look wrong in the room",
		"it will trip us up later",
	}[c]
}

// Subject is what a finding is about, by the names people use: "channel 12", "cue 4".
type Subject struct {
	Kind string // "channel", "cue", "place", "circuit", "file"...
	Name string
}

// String returns the subject as people say it.
func (s Subject) String() string {
	if s.Name == "" {
		return s.Kind
	}
	return s.Kind + " " + s.Name
}

// Evidence is one measured number that a rule looked at, or the limit it was held against.
type Evidence struct {
	Name  string   // the fact or limit as rules write it: "fixture.overlap_count"
	Value string   // for people
	Num   *float64 // the number itself, if it is one
	Unit  string
}

// Related is a second place that belongs to a finding, with what it shows.
type Related struct {
	Message string
	Place   source.Place
}

// Finding is one thing that a show's people should know. It has 432 bytes beside its words, and a
// long list may have tens of thousands of them: a field more is paid as often.
type Finding struct {
	Rule        string // "pack/rule", or "file/..." for what is wrong with a file
	Level       Level
	Verdict     Verdict
	Consequence Consequence

	Subjects []Subject // what it is about, narrowest first; the whole list is part of the identity
	With     []Subject // the others of a clash, of the kind of the first subject; which of them is the first is no matter of theirs
	Detail   string    // tells apart two findings of one rule about one subject; no number, no place
	Message  string    // what is, and what was wanted: one or two sentences
	Cues     []string  // the cues in which it shows, if it shows in cues
	Measured []Evidence
	Amount   *Amount // the measured value that would get worse or better; nil where the rule measures nothing
	Limits   []Evidence
	Known    Known    // how what was measured is known: the weakest input decides
	Rests    []string // what of it was inferred or assumed, each a phrase behind "this rests on"
	Likely   bool     // the verdict would turn if that were not quite right
	Missing  []string // for Open: what would let us tell, each a phrase: "the white balance of camera 1"
	Alike    *Alike   // for Open: the things of the kind of its subject that it stands for; nil where it is about its subjects
	Hint     string   // what a person can do, when there is no remedy to prove

	Binding bool // nobody may accept it: it cannot be waived

	Remedies []Remedy // changes that would clear it, best first; none is proved yet

	Place   source.Place
	Item    source.Ref // that of which the place is, where its parts have places of their own
	Related []Related  // where the value was set, the other of two twins...

	Accepted *Acceptance // who decided to live with it; nil: nobody. Accepted findings are told and not counted
	Base     BaseState   // against an earlier state of the show; "" if the run knows of none
	Before   *Before     // what it was in that state; nil for what is new there
}

// BaseState says how a finding stands against an earlier state of the show.
type BaseState string

// The states. A finding that is gone is none any more.
const (
	New       BaseState = "new"
	Worse     BaseState = "worse"     // beyond the margin of its rule, or it shows in more of the cues that there were
	Unchanged BaseState = "unchanged" // as before
	Better    BaseState = "better"    // beyond the margin, and still a finding
	Untold    BaseState = "untold"    // nobody can tell now, and somebody could then
)

// Grew reports whether a gate has to stop for it: what is new, what got worse, and
// what can no longer be told.
func (b BaseState) Grew() bool { return b == New || b == Worse || b == Untold }

// Before is a finding as it was in an earlier state of the show.
type Before struct {
	Key         string   // by which it was known then
	Fingerprint string   // and by which programs knew it
	Amount      *Amount  // nil where nothing was measured
	More        []string // the cues in which it shows now and did not, though they were there
	Now         []Rename // what is called otherwise by now, with how that was seen
}

// Rename is a thing that has another name than it had.
type Rename struct {
	Kind, Was, Is string
	How           string // "content", "position", "levels", "cues"
}

// Acceptance is the decision of a person to live with a finding for a time.
type Acceptance struct {
	Reason string
	By     string
	Until  string       // the last day on which it holds, as 2026-12-31; "" and "never" for no end
	Place  source.Place // of the waiver that says so
	Waiver string       // what the waiver is known by, whatever is called otherwise since it was written

	WrittenFor string // what the waiver calls the thing, if that has another name by now; "" otherwise
}

// About is what a finding is about, narrowest first: "channel 12 of cue 4".
func (f *Finding) About() string {
	words := make([]string, len(f.Subjects))
	for i, s := range f.Subjects {
		words[i] = s.String()
	}
	return strings.Join(words, " of ")
}

// Alike are things of which nobody could tell for want of the same, or of the same of each of
// them, in one finding.
type Alike struct {
	Things  []string   // as [Finding.About] has them
	Missing [][]string // of each of them; nil: of all what the finding says
}

// Things is of how many things a finding says that nobody could tell.
func (f *Finding) Things() int {
	if f.Alike == nil {
		return 1
	}
	return len(f.Alike.Things)
}

// Gaps yields each thing of which a finding says that nobody could tell, with what is missing of it.
func (f *Finding) Gaps(yield func(thing string, missing []string) bool) {
	if f.Alike == nil {
		yield(f.About(), f.Missing)
		return
	}
	for i, thing := range f.Alike.Things {
		missing := f.Missing
		if f.Alike.Missing != nil {
			missing = f.Alike.Missing[i]
		}
		if !yield(thing, missing) {
			return
		}
	}
}

// Identity is the words a finding is recognised by from one run to the next:
// rule, verdict, subjects and detail. It holds no place, number or message, and
// not what the show is called: there is one.
func (f *Finding) Identity() string {
	long := len(f.Rule) + len(f.Verdict) + len(f.Detail) + 2
	for i := range f.Subjects {
		long += len(f.Subjects[i].Kind) + len(f.Subjects[i].Name) + 2
	}
	var b strings.Builder // plans ask for many of these
	b.Grow(long)
	b.WriteString(f.Rule)
	b.WriteByte(0)
	b.WriteString(string(f.Verdict))
	for i := range f.Subjects {
		s := &f.Subjects[i]
		b.WriteByte(0)
		b.WriteString(s.Kind)
		b.WriteByte('=')
		if s.Kind != "show" {
			b.WriteString(s.Name)
		}
	}
	b.WriteByte(0)
	b.WriteString(f.Detail)
	return b.String()
}

// Value is the place of the value in its item that the first remedy would change, or else of
// the one that the item is known by; no file: there is none.
func (f *Finding) Value() source.Place {
	if f.Item.IsZero() || f.Item.Kind() != source.Object {
		return source.Place{}
	}
	at := f.Item.Place()
	for i := range f.Remedies {
		for _, edit := range f.Remedies[i].Edits {
			if edit.At.IsZero() || edit.At.Place() != at {
				continue
			}
			if value, ok := edit.At.Get(edit.Field); ok {
				return value.Place()
			}
		}
	}
	for _, key := range []string{"cue", "channel", "name"} {
		if value, ok := f.Item.Get(key); ok {
			return value.Place()
		}
	}
	return source.Place{}
}

// keyLetters is Crockford's base 32 (no I, L, O, U), so that a key can be said
// over a headset and written down without doubt.
var keyLetters = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// Key is a short stable name for the finding, like F-7Q2KM: five letters of the
// hash of its identity. Two findings of one run can share a key by bad luck
// (about 1 in 30 at 1,500 findings); whoever needs certainty uses Fingerprint.
func (f *Finding) Key() string {
	sum := sha256.Sum256([]byte(f.Identity()))
	return "F-" + keyLetters.EncodeToString(sum[:])[:5]
}

// Fingerprint is the hash of the identity, 32 hexadecimal digits.
func (f *Finding) Fingerprint() string {
	sum := sha256.Sum256([]byte(f.Identity()))
	const digits = "0123456789abcdef"
	var b strings.Builder
	for _, c := range sum[:16] {
		b.WriteByte(digits[c>>4])
		b.WriteByte(digits[c&15])
	}
	return b.String()
}

// Remedy is a change that a rule offers. Nothing of it is shown before the
// whole rule set has run on a changed copy.
type Remedy struct {
	Way    int    // which of the rule's ways to mend it, counted from 0
	Effect string // what the room or the stream would see
	Edits  []source.Edit
}

// MergeEdits puts the edits of two lists together: the same change of the same
// thing stands once, and changes that differ only in their channels become one.
// Neither list is changed.
func MergeEdits(list, more []source.Edit) []source.Edit {
	type change struct {
		at    source.Ref
		field string
		value any
		only  bool
	}
	merged := make([]source.Edit, 0, len(list)+len(more))
	index := make(map[change]int, len(list)+len(more))
	seen := map[change]map[int]bool{} // the channels of those that have several lists of them
	add := func(edit *source.Edit) {
		key := change{edit.At, edit.Field, edit.Value, len(edit.Only) > 0}
		same, known := index[key]
		if !known {
			index[key] = len(merged)
			merged = append(merged, *edit)
			return
		}
		if seen[key] == nil {
			seen[key] = map[int]bool{}
			merged[same].Only = slices.Clone(merged[same].Only)
			for _, channel := range merged[same].Only {
				seen[key][channel] = true
			}
		}
		for _, channel := range edit.Only {
			if !seen[key][channel] {
				seen[key][channel] = true
				merged[same].Only = append(merged[same].Only, channel)
			}
		}
	}
	for i := range list {
		add(&list[i])
	}
	for i := range more {
		add(&more[i])
	}
	return merged
}

// Rule is the card of a rule: all that a report says about it.
type Rule struct {
	ID          string
	Title       string // one sentence with a period
	Level       Level
	Gravest     Level // where it is worst; "": as Level
	Consequence Consequence
	Over        string // what it looks at: "fixture", "look"...
	Expect      string // the expression, as written
	Limits      []Limit
	Explain     string // Markdown
	Caution     string // for rules about what can hurt

	Measure  *Measure // what of its subjects gets worse or better; nil where it is a matter of yes or no
	Meant    []string // the intents that answer it
	Binding  bool     // nobody may accept what it finds: it cannot be waived
	Since    int      // the edition of the rules with which it came; 0 for those of a house
	Symptoms []string // what somebody would say who sees the trouble and does not know the rule
}

// Worst is how bad what the rule finds is at worst.
func (r *Rule) Worst() Level { return cmp.Or(r.Gravest, r.Level) }

// Levels says how bad what the rule finds is, and how bad at worst.
func (r *Rule) Levels() string {
	if r.Gravest == "" {
		return string(r.Level)
	}
	return string(r.Level) + ", at worst " + string(r.Gravest)
}

// Limit is a number of a rule with its unit and where it comes from.
type Limit struct {
	Name      string
	Value     float64
	Unit      string
	Source    string
	Published Published
	Own       *float64 // what the rule came with, where a house has set another value
}

// Published says that a limit is a published one which is no matter of taste, and on
// which side of it is what it allows; "" for all other limits.
type Published string

// The sides of a published limit.
const (
	Most  Published = "most"  // more is beyond it
	Least Published = "least" // less is beyond it
)

// Beyond reports whether a value asks for less care than the published limit.
func (l *Limit) Beyond(value float64) bool {
	return l.Published == Most && value > l.Value || l.Published == Least && value < l.Value
}

// Sort orders findings for machines: by file, place, rule and identity, by
// bytes, and then by all else that is told of them, so that the same show gives
// the same list on any machine, whatever order its findings were made in.
func Sort(list []Finding) { SortBy(list, compare) }

// SortBy orders findings; what compares as equal stays as it came. Findings are large and
// lists of them long, so each is moved once.
func SortBy(list []Finding, compare func(a, b *Finding) int) {
	from := make([]int, len(list))
	for i := range from {
		from[i] = i
	}
	slices.SortStableFunc(from, func(a, b int) int { return compare(&list[a], &list[b]) })
	for i := range from { // a round of those that change places, one after the other
		kept := list[i]
		for to := i; from[to] >= 0; {
			next := from[to]
			from[to] = -1
			if from[next] < 0 {
				list[to] = kept
				break
			}
			list[to], to = list[next], next
		}
	}
}

func compare(a, b *Finding) int {
	if c := cmp.Or(cmp.Compare(fileName(a), fileName(b)), cmp.Compare(a.Place.Start, b.Place.Start), cmp.Compare(a.Rule, b.Rule)); c != 0 {
		return c
	}
	return cmp.Or(
		cmp.Compare(a.Identity(), b.Identity()),
		cmp.Compare(a.Message, b.Message), cmp.Compare(a.Level.rank(), b.Level.rank()),
		cmp.Compare(a.Consequence, b.Consequence), cmp.Compare(a.Place.Stop, b.Place.Stop),
		slices.Compare(a.Cues, b.Cues), slices.Compare(a.Missing, b.Missing), cmp.Compare(a.Hint, b.Hint),
	)
}

func fileName(f *Finding) string {
	if f.Place.File == nil {
		return ""
	}
	return f.Place.File.Name
}

// Gravest orders the failures that nobody accepted by consequence, what is sure
// before what is likely, level and place; a copy.
func Gravest(found []Finding) []Finding {
	inPlace := GravestOf(found)
	list := make([]Finding, len(inPlace))
	for i, f := range inPlace {
		list[i] = *f
	}
	return list
}

// GravestOf is Gravest of the very findings: of thousands a copy would be as much as all that was found.
func GravestOf(found []Finding) []*Finding {
	count := 0
	for i := range found {
		if found[i].isGrave() {
			count++
		}
	}
	list := make([]*Finding, 0, count)
	for i := range found {
		if f := &found[i]; f.isGrave() {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b *Finding) int {
		return cmp.Or(
			cmp.Compare(a.Consequence, b.Consequence),
			likelyLast(a, b),
			cmp.Compare(a.Level.rank(), b.Level.rank()),
			compare(a, b),
		)
	})
	return list
}

func (f *Finding) isGrave() bool { return f.Verdict == Fail && f.Accepted == nil }

// likelyLast puts what is sure before what is only likely.
func likelyLast(a, b *Finding) int {
	switch {
	case a.Likely == b.Likely:
		return 0
	case a.Likely:
		return +1
	}
	return -1
}
