package report

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/fatih/color"
	"golang.org/x/text/width"
)

// How much of each list a person is given; the rest is counted.
const (
	mostOrders = 24 // changes: as many as fit on a screen
	mostKinds  = 12 // of things that need a person
	mostGaps   = 5
	mostSaid   = 3  // messages of a rule that are said in full
	mostNames  = 6  // long names in a row
	mostWords  = 12 // short ones: cues, lines
	mostKeys   = 3
)

// Where things stand in a line: a number or a dash, then a label, then its text.
const (
	labelAt = 6
	textAt  = 15
)

// Text writes the report for people: the verdict first, then what to do in the
// order to do it, what needs a person, what could not be checked, and last the
// reasons. What could hurt somebody comes before all of them.
func Text(w io.Writer, r *Report, o Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	for _, rule := range r.Rules {
		t.rules[rule.ID] = rule
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
	verdicts map[Verdict]style
	rules    map[string]finding.Rule

	afterVerdict func() // says what changed since an earlier state, if there is one show
}

func newTextWriter(out *bufio.Writer, o Options) *textWriter {
	t := &textWriter{out: out, width: o.Width, strong: unstyled, rules: map[string]finding.Rule{}, afterVerdict: func() {}}
	if t.width <= 0 {
		t.width = 80
	}
	if o.Colour {
		t.strong = styleOf(color.Bold)
		t.verdicts = map[Verdict]style{
			Ready: styleOf(color.Bold, color.FgGreen), WithCare: styleOf(color.Bold, color.FgYellow),
			Hold: styleOf(color.Bold, color.FgRed), NotChecked: styleOf(color.Bold, color.FgMagenta),
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
	text = shorten(Clean(onOneLine.Replace(text)))
	for i, line := range wrap(text, max(narrowest, t.width-at)) {
		gap := strings.Repeat(" ", at)
		if i == 0 {
			gap = frontStyle(front) + strings.Repeat(" ", max(0, at-columns(front)))
		}
		t.line(gap + textStyle(line))
	}
}

// onOneLine takes away the line ends that long sentences have in rule files, and
// that a name could have to look like a line of ours.
var onOneLine = strings.NewReplacer("\n", " ", "\t", " ")

// label writes one of the named lines of a block, if there is anything to say.
func (t *textWriter) label(name, text string) {
	t.block(strings.Repeat(" ", labelAt)+name, textAt, text)
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
func (t *textWriter) several(shows []Show) {
	if len(shows) < 2 {
		return
	}
	var words []string
	for _, verdict := range []Verdict{NotChecked, Hold, WithCare, Ready} {
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
	t.block("", 0, count(len(shows), "show")+": "+strings.Join(words, ", ")+".")
	t.line("")
}

func (t *textWriter) show(s *Show) {
	name := s.Path
	if s.Name != "" {
		name = fmt.Sprintf("%s (%s)", s.Name, s.Path)
	}
	verdict := string(s.Verdict)
	inColour, ok := t.verdicts[s.Verdict]
	if !ok {
		inColour = unstyled
	}
	t.styled(verdict, inColour, columns(verdict)+2, name, unstyled)
	t.block("", 0, s.Because+" "+cleared(s))
	for _, sentence := range s.Since {
		t.block("", 0, sentence)
	}
	t.afterVerdict()
	hurt := slices.DeleteFunc(slices.Clone(s.NeedPerson), func(f finding.Finding) bool { return f.Consequence != finding.Hurt })
	rest := slices.DeleteFunc(slices.Clone(s.NeedPerson), func(f finding.Finding) bool { return f.Consequence == finding.Hurt })
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

// cleared says how far the actions go.
func cleared(s *Show) string {
	cured := 0
	for _, action := range s.Actions {
		cured += len(action.Cures)
	}
	if cured == 0 {
		return ""
	}
	all := cured + len(s.NeedPerson)
	for _, action := range s.Undone {
		all += len(action.Cures)
	}
	return fmt.Sprintf("%s below would clear %d of %s.", count(len(s.Actions), "change"), cured, count(all, "finding"))
}

// orders writes what to do, and nothing else, so that it fits on the first
// screen. It returns the actions that it wrote.
func (t *textWriter) orders(s *Show) []Action {
	if len(s.Actions) == 0 {
		return nil
	}
	t.heading("What to change, in this order")
	shown := s.Actions[:min(len(s.Actions), mostOrders)]
	last := finding.Consequence(-1)
	for i, action := range shown {
		if action.Consequence != last {
			last = action.Consequence
			t.otherwise(last)
			t.line("")
		}
		t.styled(fmt.Sprintf("%4d", i+1), t.strong, labelAt, action.Do+action.Minutes.inBrackets(), t.strong)
		t.label("or", action.Or)
		if i == 0 || shown[i-1].Caution != action.Caution || shown[i-1].Consequence != last {
			t.label("caution", cautionFrom(shown, i))
		}
	}
	if left := len(s.Actions) - len(shown); left > 0 {
		t.line("")
		t.block("", labelAt, fmt.Sprintf("... and %s more. Make those above and check again, or see --format json.", count(left, "change")))
	}
	return shown
}

// cautionFrom returns the caution of an action and, if those that follow have the
// same, how far it goes.
func cautionFrom(list []Action, from int) string {
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
func (t *textWriter) reasons(list []Action) {
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
func alike(list []Action) []Action {
	first, n := list[0], 1
	for n < len(list) && list[n].Effect == first.Effect && list[n].Level == first.Level &&
		list[n].Consequence == first.Consequence && slices.Equal(list[n].Rules, first.Rules) {
		n++
	}
	return list[:n]
}

// reason writes about actions that are alike; the first of them has the given number.
func (t *textWriter) reason(number int, list []Action) {
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
	t.label("proof", fmt.Sprintf("clears %s (%s), causes %d", count(len(keys), "finding"), some(keys, mostKeys), causes))
	t.label("rule", fmt.Sprintf("%s (%s)", some(first.Rules, mostKeys), first.Level))
	t.label("where", where(places))
}

// where says places as people look them up: the file as they named it, then its
// lines. A folder, and a file that was not read, has none.
func where(places []source.Place) string {
	type lines struct {
		name   string
		list   []string
		column int
	}
	var files []*lines
	for _, p := range places {
		if p.File == nil {
			continue
		}
		i := slices.IndexFunc(files, func(l *lines) bool { return l.name == p.File.Name })
		if i < 0 {
			i = len(files)
			files = append(files, &lines{name: p.File.Name})
		}
		span, ok := spanOf(p)
		if !ok || p.File.Text == "" {
			continue
		}
		at := span.Start
		if line := fmt.Sprint(at.Line); !slices.Contains(files[i].list, line) {
			files[i].list = append(files[i].list, line)
			files[i].column = at.Column
		}
	}
	var words []string
	for _, f := range files {
		switch len(f.list) {
		case 0:
			words = append(words, f.name)
		case 1:
			words = append(words, fmt.Sprintf("%s, line %s, column %d", f.name, f.list[0], f.column))
		default:
			words = append(words, fmt.Sprintf("%s, lines %s", f.name, some(f.list, mostWords)))
		}
	}
	return strings.Join(words, "; ")
}

func (t *textWriter) needPerson(heading string, list []finding.Finding) {
	if len(list) == 0 {
		return
	}
	t.heading(heading)
	last := finding.Consequence(-1)
	left := 0
	for i, group := range kinds(list) {
		if i >= mostKinds {
			left += len(group)
			continue
		}
		if group[0].Consequence != last {
			last = group[0].Consequence
			t.otherwise(last)
		}
		t.line("")
		t.decision(group)
	}
	if left > 0 {
		t.line("")
		t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", count(left, "finding")))
	}
}

func (t *textWriter) untried(n int) {
	if n > 0 {
		t.line("")
		t.block("", labelAt, fmt.Sprintf("For %s a change could be worked out but was not tried: there were too many for one run. "+
			"Put right what is above and check again.", count(n, "finding")))
	}
}

// kinds puts together the findings of a rule that weigh the same; the groups
// stand in the order of their first findings.
func kinds(list []finding.Finding) [][]finding.Finding {
	type kind struct {
		rule        string
		consequence finding.Consequence
		level       finding.Level
	}
	var groups [][]finding.Finding
	index := map[kind]int{}
	for _, f := range list {
		k := kind{f.Rule, f.Consequence, f.Level}
		i, ok := index[k]
		if !ok {
			i = len(groups)
			index[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], f)
	}
	slices.SortStableFunc(groups, func(a, b []finding.Finding) int { return int(a[0].Consequence) - int(b[0].Consequence) })
	return groups
}

// decision writes findings of one rule. The first speaks for those about other
// subjects; what a second one says of the same subject is said too, and so is
// each problem of a file, because no two of them are alike.
func (t *textWriter) decision(group []finding.Finding) {
	first := &group[0]
	var also []*finding.Finding
	var hints, keys, cues, subjects []string
	said, unsaid := 0, 0
	for i := range group {
		f := &group[i]
		subject := subjectsOf(f)
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
		cues = addNew(cues, f.Cues...)
		if f.Hint != "" {
			hints = addNew(hints, f.Hint)
		}
	}
	t.label("also", alsoAbout(first, also, unsaid))
	t.label("try", strings.Join(hints[:min(len(hints), mostSaid)], " Or: "))
	t.label("caution", t.rules[first.Rule].Caution)
	if len(first.Subjects) == 0 || first.Subjects[0].Kind != "cue" {
		t.label("cues", some(cues, mostWords))
	}
	t.label("rule", fmt.Sprintf("%s (%s), %s", first.Rule, first.Level, some(keys, mostKeys)))
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
		return shelf{head: subjectsOf(&head), kind: last.Kind, whole: subjectsOf(f), names: []string{last.Name}}
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
			words = append(words, fmt.Sprintf("%ss %s", s.kind, some(s.names, mostWords)))
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

// addNew appends the words that the list does not have yet.
func addNew(list []string, words ...string) []string {
	for _, word := range words {
		if !slices.Contains(list, word) {
			list = append(list, word)
		}
	}
	return list
}

// whereOf writes the place of a finding and the others that belong to it.
func (t *textWriter) whereOf(f *finding.Finding) {
	name := "where"
	say := func(text string) {
		if text != "" {
			t.label(name, text)
			name = ""
		}
	}
	say(where([]source.Place{f.Place}))
	for i, other := range f.Related {
		if i == mostKeys {
			say(fmt.Sprintf("%d more", len(f.Related)-mostKeys))
			return
		}
		if at := where([]source.Place{other.Place}); at != "" {
			say(other.Message + ": " + at)
		}
	}
}

func subjectsOf(f *finding.Finding) string {
	var names []string
	for _, s := range f.Subjects {
		names = append(names, s.String())
	}
	return strings.Join(names, " in ")
}

func (t *textWriter) gaps(s *Show) {
	if len(s.Gaps) == 0 {
		return
	}
	t.heading("Not checked, and what would let me")
	t.line("")
	if s.Unreadable && looks(s) == 0 {
		t.block("   ?", labelAt, "everything: put the file right first, and check again")
		return
	}
	for i, gap := range s.Gaps {
		if i == mostGaps {
			t.block("   ?", labelAt, fmt.Sprintf("... and %s more; see --format json.", count(len(s.Gaps)-mostGaps, "missing piece")))
			return
		}
		t.block("   ?", labelAt, gapOrder(&gap))
		t.label("for", gapRules(&gap))
	}
}

// looks counts how often a rule looked at something.
func looks(s *Show) int {
	n := 0
	for _, look := range s.Looked {
		n += look.Subjects
	}
	return n
}

// whatWasRead counts what was looked at and left out, and says how files were
// understood where more than one way was possible.
func (t *textWriter) whatWasRead(s *Show) {
	rules := 0
	for _, look := range s.Looked {
		if look.Subjects > 0 {
			rules++
		}
	}
	t.heading("What was read")
	t.line("")
	text := fmt.Sprintf("%s looked %s in %s.", count(rules, "rule"), count(looks(s), "time"), count(len(s.Files), "file"))
	if s.LeftOut > 0 {
		text += fmt.Sprintf(" Left out below the level you asked for: %s.", count(s.LeftOut, "finding"))
	}
	t.block("   -", labelAt, text)
	for _, note := range s.Notes {
		t.block("   -", labelAt, note)
	}
}

// end says what holds for all shows: what no program can see, where to read more,
// and what this is.
func (t *textWriter) end(shows []Show) {
	var eye []string
	rule := ""
	for i := range shows {
		s := &shows[i]
		if looks(s) > 0 {
			eye = addNew(eye, s.ByEye...)
		}
		switch {
		case rule != "":
		case len(s.Actions) > 0 && len(s.Actions[0].Rules) > 0:
			rule = s.Actions[0].Rules[0]
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
		t.block("", 0, "More about a rule: cueproof explain "+rule)
	}
	t.block("", 0, "This is arithmetic on what the files say. It certifies nothing.")
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// some lists the first few words and counts the rest.
func some(words []string, most int) string {
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}

// longest is how many characters of one text are shown. Ours are far shorter; a
// name in a show can have any length.
const longest = 1200

func shorten(text string) string {
	characters := 0
	for i := range text {
		if characters == longest {
			return fmt.Sprintf("%s... (%d bytes more)", text[:i], len(text)-i)
		}
		characters++
	}
	return text
}

// wrap breaks text at blanks into lines of at most the given number of columns.
// A word that is longer is broken too, unless it looks like the name of a file,
// which people copy. Text of blanks alone has no line.
func wrap(text string, most int) []string {
	var lines []string
	line, used := "", 0
	flush := func() {
		if line != "" {
			lines = append(lines, line)
			line, used = "", 0
		}
	}
	for _, word := range strings.Fields(text) {
		if used+1+columns(word) > most {
			flush()
		}
		for columns(word) > most && !pathLike(word) {
			head := fitting(word, most)
			lines = append(lines, head)
			word = word[len(head):]
		}
		if line != "" {
			line += " "
			used++
		}
		line += word
		used += columns(word)
	}
	flush()
	return lines
}

// pathLike says whether a long word should stay whole; a really long one is no
// name that anybody copies.
func pathLike(word string) bool {
	const longestPath = 200
	return strings.Contains(word, "/") && len(word) <= longestPath
}

// fitting returns the head of a word that fits, one character at least.
func fitting(word string, most int) string {
	used := 0
	for i, r := range word {
		used += columnsOf(r)
		if i > 0 && used > most {
			return word[:i]
		}
	}
	return word
}

// columns returns how many columns of a terminal a text takes up.
func columns(text string) int {
	n := 0
	for _, r := range text {
		n += columnsOf(r)
	}
	return n
}

// columnsOf follows Unicode Standard Annex 11: wide and fullwidth characters take
// two columns. Marks that stand on the character before them take none.
func columnsOf(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// Clean makes text from a show fit for a screen. Control characters but line
// ends and tabs, and characters that cannot be seen, are written as codes: with
// them a name could colour the screen or turn the direction of writing (Unicode
// Standard Annex 9). The two joiners stay, because some scripts need them.
// Whoever writes lines must also see to it that a line end in a name cannot
// start a line of its own.
func Clean(text string) string {
	if strings.IndexFunc(text, unseen) < 0 {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		switch {
		case !unseen(r):
			b.WriteRune(r)
		case r <= 0xFF:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r <= 0xFFFF:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
	}
	return b.String()
}

func unseen(r rune) bool {
	const nonJoiner, joiner = 0x200C, 0x200D
	switch r {
	case '\n', '\t', nonJoiner, joiner:
		return false
	}
	return r == unicode.ReplacementChar || unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp)
}
