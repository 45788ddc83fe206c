// Package text writes reports, comparisons and explanations for people at a terminal.
package text

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/fatih/color"
)

// How much of each list a person is given; the rest is counted.
const (
	mostKinds = 12 // of things that need a person
	mostGaps  = 5
	mostSaid  = 3 // messages of a rule that are said in full
	mostNames = 6 // long names in a row
)

// Where things stand in a line: a number or a dash, then a label, then its text.
const (
	labelAt = 6
	textAt  = 15
)

// Write writes the report for people: the verdict first, then what to do in the
// order to do it, what needs a person, what could not be checked, and last the
// reasons. What could hurt somebody comes before all of them.
func Write(w io.Writer, r *outcome.Report, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	for _, rule := range r.Rules {
		t.rules[rule.ID] = rule
	}
	if !o.All {
		t.screen(r)
		return out.Flush()
	}
	t.several(r.Shows)
	if len(r.Shows) > 1 {
		t.sayBase(r)
	} else {
		t.afterVerdict = func() { t.sayBase(r) }
	}
	for i := range r.Shows {
		if i > 0 {
			t.line("")
			t.line(strings.Repeat("_", t.width))
			t.line("")
		}
		t.show(&r.Shows[i])
	}
	t.end(r.Shows)
	return out.Flush()
}

// style puts what a terminal needs around a piece of a line; it changes no letter.
type style func(...any) string

func unstyled(words ...any) string { return fmt.Sprint(words...) }

type textWriter struct {
	out      *bufio.Writer
	width    int
	strong   style
	verdicts map[outcome.Readiness]style
	rules    map[string]finding.Rule

	afterVerdict func() // says what changed since an earlier state, if there is one show
}

func newTextWriter(out *bufio.Writer, o say.Options) *textWriter {
	t := &textWriter{out: out, width: o.Width, strong: unstyled, rules: map[string]finding.Rule{}, afterVerdict: func() {}}
	if t.width <= 0 {
		t.width = 80
	}
	if o.Colour {
		t.strong = styleOf(color.Bold)
		t.verdicts = map[outcome.Readiness]style{
			outcome.Ready: styleOf(color.Bold, color.FgGreen), outcome.WithCare: styleOf(color.Bold, color.FgYellow),
			outcome.Hold: styleOf(color.Bold, color.FgRed), outcome.NotChecked: styleOf(color.Bold, color.FgMagenta),
		}
	}
	return t
}

func styleOf(attributes ...color.Attribute) style {
	c := color.New(attributes...)
	c.EnableColor() // whether there is colour was decided by whoever asked for the report
	return c.Sprint
}

// line writes one line as it is; what comes from a show goes through block. The
// writer keeps its first error for Flush.
func (t *textWriter) line(text string) { fmt.Fprintln(t.out, text) }

// block writes text wrapped to the width, all of it behind the column at. In
// front of its first line stands a number, a dash or a label.
func (t *textWriter) block(front string, at int, text string) {
	t.styled(front, unstyled, at, text, unstyled)
}

func (t *textWriter) styled(front string, frontStyle style, at int, text string, textStyle style) {
	const narrowest = 20
	text = say.Cap(say.Clean(say.Straight.Replace(text)))
	for i, line := range say.Wrap(text, max(narrowest, t.width-at)) {
		gap := strings.Repeat(" ", at)
		if i == 0 {
			gap = frontStyle(front) + strings.Repeat(" ", max(0, at-say.Columns(front)))
		}
		t.line(gap + textStyle(line))
	}
}

// label writes one of the named lines of a block, if there is anything to say.
func (t *textWriter) label(name, text string) {
	t.block(strings.Repeat(" ", labelAt)+say.Clean(say.Straight.Replace(name)), textAt, text)
}

func (t *textWriter) heading(text string) {
	t.line("")
	t.line(t.strong(text))
}

// otherwise says what happens if the next blocks are left undone.
func (t *textWriter) otherwise(c finding.Consequence) {
	t.line("")
	t.line("Otherwise " + c.Sentence() + ":")
}

// several counts the verdicts when there is more than one show.
func (t *textWriter) several(shows []outcome.Show) {
	if len(shows) < 2 {
		return
	}
	var words []string
	for _, verdict := range []outcome.Readiness{outcome.NotChecked, outcome.Hold, outcome.WithCare, outcome.Ready} {
		n := 0
		for _, s := range shows {
			if s.Verdict == verdict {
				n++
			}
		}
		if n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, verdict))
		}
	}
	t.block("", 0, say.Count(len(shows), "show")+": "+strings.Join(words, ", ")+".")
	t.line("")
}

// verdictLine is the first word about a show, and which it is.
func (t *textWriter) verdictLine(s *outcome.Show, brief bool) {
	name := s.Path
	if s.Name != "" {
		name = fmt.Sprintf("%s (%s)", s.Name, s.Path)
	}
	verdict := string(s.Verdict)
	if brief && s.Name != "" && say.Columns(verdict)+2+say.Columns(name) > t.width {
		name = s.Name
	}
	inColour, ok := t.verdicts[s.Verdict]
	if !ok {
		inColour = unstyled
	}
	t.styled(verdict, inColour, say.Columns(verdict)+2, name, unstyled)
}

func (t *textWriter) show(s *outcome.Show) {
	t.verdictLine(s, false)
	t.block("", 0, s.Because+" "+cleared(s))
	for _, sentence := range s.Since {
		t.block("", 0, sentence)
	}
	t.afterVerdict()
	hurt := slices.DeleteFunc(slices.Clone(s.NeedPerson), func(f *finding.Finding) bool { return f.Consequence != finding.Hurt })
	rest := slices.DeleteFunc(slices.Clone(s.NeedPerson), func(f *finding.Finding) bool { return f.Consequence == finding.Hurt })
	t.needPerson("Before anything else", hurt)
	shown := t.orders(s)
	t.undone(s)
	t.needPerson("What only a person can decide", rest)
	t.untried(s.Untried)
	t.gaps(s)
	t.accepted(s)
	t.reasons(shown)
	t.tried(s.Tried)
	t.whatWasRead(s)
}

// receipt says at the foot what was checked, for those who ask later whether this is
// the file.
func (t *textWriter) receipt(s *outcome.Show) {
	if s.Receipt == nil {
		return
	}
	t.line("")
	t.block("", 0, say.Receipt(s))
	for _, f := range s.Receipt.Files {
		t.block("   -", labelAt, fmt.Sprintf("%s  %.16s", f.Name, f.SHA256))
	}
}

// cleared says how far the actions go.
func cleared(s *outcome.Show) string {
	cured := 0
	for _, action := range s.Orders {
		cured += len(action.Cures)
	}
	if cured == 0 {
		return ""
	}
	all := cured + len(s.NeedPerson)
	for _, action := range s.Undone {
		all += len(action.Cures)
	}
	return say.Clears(len(s.Orders), cured, all) + "."
}

// orders writes what to do, and nothing else, so that it fits on the first
// screen. It returns the actions that it wrote.
func (t *textWriter) orders(s *outcome.Show) []outcome.Order {
	if len(s.Orders) == 0 {
		return nil
	}
	t.heading("What to change, in this order")
	shown := s.Orders
	last := finding.Consequence(-1)
	for i, action := range shown {
		if action.Consequence != last {
			last = action.Consequence
			t.otherwise(last)
			t.line("")
		}
		t.styled(fmt.Sprintf("%4d", i+1), t.strong, labelAt, action.Do+say.InBrackets(action.Minutes), t.strong)
		t.label("or", action.Or)
		if i == 0 || shown[i-1].Caution != action.Caution || shown[i-1].Consequence != last {
			t.label("caution", cautionFrom(shown, i))
		}
	}
	return shown
}

// cautionFrom returns the caution of an action and, if those that follow have the
// same, how far it goes.
func cautionFrom(list []outcome.Order, from int) string {
	to := from
	for to+1 < len(list) && list[to+1].Caution == list[from].Caution && list[to+1].Consequence == list[from].Consequence {
		to++
	}
	if to == from || list[from].Caution == "" {
		return list[from].Caution
	}
	return fmt.Sprintf("For %d to %d: %s", from+1, to+1, list[from].Caution)
}

// reasons writes for each action why, what then, and how to go back; for actions
// that differ only in what is to be done once.
func (t *textWriter) reasons(list []outcome.Order) {
	if len(list) == 0 {
		return
	}
	t.heading("Why to change it, and how to go back")
	t.block("", 0, "Each change was made on a copy of the show that had those before it, and all rules looked again.")
	for done := 0; done < len(list); {
		same := alike(list[done:])
		t.line("")
		t.reason(done+1, same)
		done += len(same)
	}
}

// alike returns the actions at the head of the list that differ only in what is
// to be done.
func alike(list []outcome.Order) []outcome.Order {
	first, n := list[0], 1
	for n < len(list) && list[n].Effect == first.Effect && list[n].Level == first.Level &&
		list[n].Consequence == first.Consequence && slices.Equal(list[n].Rules, first.Rules) {
		n++
	}
	return list[:n]
}

// reason writes about actions that are alike; the first of them has the given number.
func (t *textWriter) reason(number int, list []outcome.Order) {
	first := list[0]
	numbers, why := fmt.Sprint(number), first.Why
	if others := len(list) - 1; others > 0 {
		numbers = fmt.Sprintf("%d-%d", number, number+others)
		why += fmt.Sprintf(" (And %d like it.)", others)
	}
	var undo, keys []string
	var places []source.Place
	causes := 0
	for i, action := range list {
		keys = append(keys, action.Cures...)
		places = append(places, action.Place)
		causes += action.Causes
		if len(list) > 1 {
			undo = append(undo, fmt.Sprintf("%d: %s", number+i, action.Undo))
		} else {
			undo = append(undo, action.Undo)
		}
	}
	t.block(fmt.Sprintf("%4s  why", numbers), textAt, why)
	t.label("then", first.Effect)
	t.label("undo", strings.Join(undo, " "))
	t.label("proof", fmt.Sprintf("clears %s (%s), causes %d", say.Count(len(keys), "finding"), spelling.Few(keys, say.MostKeys), causes))
	t.label("rule", fmt.Sprintf("%s (%s)", spelling.Few(first.Rules, say.MostKeys), first.Level))
	t.label("where", say.Where(places))
}

func (t *textWriter) needPerson(heading string, list []*finding.Finding) {
	if len(list) == 0 {
		return
	}
	t.heading(heading)
	last := finding.Consequence(-1)
	for _, group := range kinds(list) {
		if group[0].Consequence != last {
			last = group[0].Consequence
			t.otherwise(last)
		}
		t.line("")
		t.decision(group)
	}
}

func (t *textWriter) untried(n int) {
	if n > 0 {
		t.line("")
		t.block("", labelAt, fmt.Sprintf("For %s a change could be worked out but was not tried in this run. "+
			"Put right what is above and check again.", say.Count(n, "finding")))
	}
}

// kinds puts together the findings of a rule that weigh the same; the groups
// stand in the order of their first findings.
func kinds(list []*finding.Finding) [][]*finding.Finding {
	type kind struct {
		rule        string
		consequence finding.Consequence
		level       finding.Level
	}
	var groups [][]*finding.Finding
	index := map[kind]int{}
	for _, f := range list {
		k := kind{rule: f.Rule, consequence: f.Consequence, level: f.Level}
		i, ok := index[k]
		if !ok {
			i = len(groups)
			index[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], f)
	}
	slices.SortStableFunc(groups, func(a, b []*finding.Finding) int { return int(a[0].Consequence) - int(b[0].Consequence) })
	return groups
}

// decision writes findings of one rule. The first speaks for those about other
// subjects; what a second one says of the same subject is said too, and so is
// each problem of a file, because no two of them are alike.
func (t *textWriter) decision(group []*finding.Finding) {
	first := group[0]
	var also []*finding.Finding
	var hints, keys, cues, subjects []string
	said, unsaid := 0, 0
	for i, f := range group {
		subject := say.Subjects(f)
		alone := i == 0 || strings.HasPrefix(f.Rule, "file/") || slices.Contains(subjects, subject)
		switch {
		case alone && said < mostSaid:
			said++
			t.styled("   -", unstyled, labelAt, f.Message, t.strong)
			t.whereOf(f)
		case alone:
			unsaid++
		default:
			also = append(also, f)
		}
		subjects = append(subjects, subject)
		keys = append(keys, f.Key())
		cues = say.AddNew(cues, f.Cues...)
		if f.Hint != "" {
			hints = say.AddNew(hints, f.Hint)
		}
	}
	t.label("also", alsoAbout(first, also, unsaid))
	t.label("try", strings.Join(hints[:min(len(hints), mostSaid)], " Or: "))
	t.label("caution", t.rules[first.Rule].Caution)
	if len(first.Subjects) == 0 || first.Subjects[0].Kind != "cue" {
		t.label("cues", spelling.Few(cues, say.MostWords))
	}
	t.label("rule", fmt.Sprintf("%s (%s), %s", first.Rule, first.Level, spelling.Few(keys, say.MostKeys)))
}

// alsoAbout says the subjects of further findings the short way: "channels 4, 5",
// "place pulpit in 2 segments".
func alsoAbout(first *finding.Finding, list []*finding.Finding, unsaid int) string {
	type shelf struct {
		head, kind string
		whole      string // the only finding, in full
		names      []string
	}
	shelfOf := func(f *finding.Finding) shelf {
		if len(f.Subjects) == 0 {
			return shelf{}
		}
		last := f.Subjects[len(f.Subjects)-1]
		head := finding.Finding{Subjects: f.Subjects[:len(f.Subjects)-1]}
		return shelf{head: say.Subjects(&head), kind: last.Kind, whole: say.Subjects(f), names: []string{last.Name}}
	}
	mine := shelfOf(first)
	var shelves []shelf
	for _, f := range list {
		s := shelfOf(f)
		i := slices.IndexFunc(shelves, func(other shelf) bool { return other.head == s.head && other.kind == s.kind })
		if i < 0 {
			shelves = append(shelves, s)
			continue
		}
		shelves[i].names = append(shelves[i].names, s.names...)
	}
	var words []string
	for i, s := range shelves {
		if i == mostNames {
			left := 0
			for _, other := range shelves[i:] {
				left += len(other.names)
			}
			unsaid += left
			break
		}
		switch {
		case len(s.names) == 1:
			words = append(words, s.whole)
		case s.head == "":
			words = append(words, fmt.Sprintf("%ss %s", s.kind, spelling.Few(s.names, say.MostWords)))
		case s.head == mine.head:
			words = append(words, fmt.Sprintf("%s in %d more %ss", s.head, len(s.names), s.kind))
		default:
			words = append(words, fmt.Sprintf("%s in %d %ss", s.head, len(s.names), s.kind))
		}
	}
	if unsaid > 0 {
		words = append(words, fmt.Sprintf("%d more of this kind", unsaid))
	}
	return strings.Join(words, "; ")
}

// whereOf writes the place of a finding and the others that belong to it.
func (t *textWriter) whereOf(f *finding.Finding) {
	name := "where"
	tell := func(text string) {
		if text != "" {
			t.label(name, text)
			name = ""
		}
	}
	tell(say.Where([]source.Place{f.Place}))
	for i, other := range f.Related {
		if i == say.MostKeys {
			tell(fmt.Sprintf("%d more", len(f.Related)-say.MostKeys))
			return
		}
		if at := say.Where([]source.Place{other.Place}); at != "" {
			tell(other.Message + ": " + at)
		}
	}
}

func (t *textWriter) gaps(s *outcome.Show) {
	if len(s.Gaps) == 0 {
		return
	}
	t.heading("Not checked, and what would let me")
	t.line("")
	if s.Unreadable && looks(s) == 0 {
		t.block("   ?", labelAt, "everything: put the file right first, and check again")
		return
	}
	for _, gap := range s.Gaps {
		t.block("   ?", labelAt, say.GapOrder(&gap))
		t.label("for", say.GapRules(&gap))
		if gap.Key != "" {
			t.label("write", gap.Key+" in "+gap.File)
		}
	}
}

// looks counts how often a rule looked at something.
func looks(s *outcome.Show) int {
	n := 0
	for _, look := range s.Looked {
		n += look.Subjects
	}
	return n
}

// whatWasRead counts what was looked at and left out, and says how files were
// understood where more than one way was possible.
func (t *textWriter) whatWasRead(s *outcome.Show) {
	rules := 0
	for _, look := range s.Looked {
		if look.Subjects > 0 {
			rules++
		}
	}
	t.heading("What was read")
	t.line("")
	text := fmt.Sprintf("%s looked %s in %s.", say.Count(rules, "rule"), say.Count(looks(s), "time"), say.Count(len(s.Files), "file"))
	if s.LeftOut > 0 {
		text += fmt.Sprintf(" Left out below the level you asked for: %s.", say.Count(s.LeftOut, "finding"))
	}
	t.block("   -", labelAt, text)
	for _, note := range s.Notes {
		t.block("   -", labelAt, note)
	}
}

// end says what holds for all shows: what no program can see, where to read more,
// and what this is.
func (t *textWriter) end(shows []outcome.Show) {
	var eye []string
	rule := ""
	for i := range shows {
		s := &shows[i]
		if looks(s) > 0 {
			eye = say.AddNew(eye, s.ByEye...)
		}
		switch {
		case rule != "":
		case len(s.Orders) > 0 && len(s.Orders[0].Rules) > 0:
			rule = s.Orders[0].Rules[0]
		case len(s.NeedPerson) > 0:
			rule = s.NeedPerson[0].Rule
		}
	}
	if len(eye) > 0 {
		t.heading("Look at these yourself")
		t.line("")
		for _, text := range eye {
			t.block("   -", labelAt, text)
		}
	}
	t.line("")
	if rule != "" {
		t.block("", 0, "What is behind it: cueproof explain "+rule)
	}
	t.block("", 0, "This is arithmetic on what the files say. It certifies nothing.")
	for i := range shows {
		t.receipt(&shows[i])
	}
}
