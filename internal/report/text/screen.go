package text

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
)

// One screen of a terminal, which is what somebody in the booth reads: so many lines
// of [say.Options.Width] columns, and the first order within the first few.
const (
	screenLines = 40
	headLines   = 4
	fewestLines = 12 // for each of several shows
	orderLines  = 6  // of one order: half of an order is none
	graveTasks  = 16 // for what is asked for so that nobody is hurt
	otherTasks  = 6  // for what else is asked for
)

// screen writes what matters most of each show, and counts the rest with the command
// that shows it.
func (t *textWriter) screen(r *outcome.Report) {
	room := screenLines
	if len(r.Shows) > 1 {
		t.several(r.Shows)
		t.sayBase(r)
		room = max(fewestLines, screenLines/len(r.Shows))
	}
	for i := range r.Shows {
		if i > 0 {
			t.line("")
		}
		for _, line := range t.page(&r.Shows[i], r, room) {
			t.line(line)
		}
	}
}

// lines are what write writes, at most so many. What is cut says so with its end.
func (t *textWriter) lines(most int, end string, write func(t *textWriter)) []string {
	var text bytes.Buffer
	inner := *t
	inner.out = bufio.NewWriter(&text)
	write(&inner)
	_ = inner.out.Flush() // a buffer takes everything
	list := strings.Split(strings.TrimSuffix(text.String(), "\n"), "\n")
	if text.Len() == 0 {
		return nil
	}
	if len(list) > most {
		list = list[:most]
		end = " ..." + end
		list[most-1] = cutTo(list[most-1], t.width-say.Columns(end)) + end
	}
	return list
}

// page is one show on one screen. Orders have its room first: one line each is kept for
// what somebody must decide and for what is missing, which else have what orders leave.
func (t *textWriter) page(s *outcome.Show, r *outcome.Report, room int) []string {
	head := t.lines(headLines+headOf(r), "", func(t *textWriter) { t.head(s, r) })
	others := 0
	for i := range s.Orders {
		if s.Orders[i].Or != "" {
			others++
		}
	}
	tail := t.tail(s, r, others)
	room -= len(head) + len(tail)
	decisions, gaps := t.decisions(s), t.missing(s)
	kept := max(3, room-decisions.kept()-gaps.kept())
	orders, _ := t.orderLines(s, kept, 0)
	if others > 0 {
		var told int
		orders, told = t.orderLines(s, kept, kept-len(orders))
		tail = t.tail(s, r, others-told)
	}
	room -= len(orders)
	decided := decisions.fit(room - gaps.kept())
	return slices.Concat(head, orders, decided, gaps.fit(room-len(decided)), tail)
}

// part is a heading with what stands under it, each whole or not at all.
type part struct {
	heading string
	brief   string // its first entry, and how many there are, where the heading has no room
	each    []entry
	noun    string // for how many more there are; "" if the heading counts them
	hidden  int    // more of them, of which none is told here
}

// entry is one thing told in full, and in few lines.
type entry struct{ full, short []string }

// kept is how many lines a part has, however many orders there are.
func (p *part) kept() int {
	if p == nil {
		return 0
	}
	return 1
}

// lines are how many lines the first so many take.
func (p *part) lines(most int, full bool) int {
	n := 2 // an empty line and the heading
	for _, e := range p.each[:most] {
		if full {
			n += len(e.full)
		} else {
			n += len(e.short)
		}
	}
	if p.noun != "" && p.left(most) > 0 {
		n++
	}
	return n
}

// left is how many are not among the first so many.
func (p *part) left(most int) int { return len(p.each) - most + p.hidden }

// fit tells as much as has room: all of it in full, all of it shortly, the first few, or
// one line.
func (p *part) fit(room int) []string {
	if p == nil || room < 1 {
		return nil
	}
	full, most := p.lines(len(p.each), true) <= room, len(p.each)
	for !full && most > 0 && p.lines(most, false) > room {
		most--
	}
	if most == 0 {
		return []string{p.brief} // a heading alone is none
	}
	list := []string{"", p.heading}
	for _, e := range p.each[:most] {
		if full {
			list = append(list, e.full...)
		} else {
			list = append(list, e.short...)
		}
	}
	if left := p.left(most); left > 0 && p.noun != "" {
		list = append(list, fmt.Sprintf("    ... and %s more.", say.Count(left, p.noun)))
	}
	return list
}

// head is the verdict, what it rests on, and how far the orders go.
func (t *textWriter) head(s *outcome.Show, r *outcome.Report) {
	if r.Base != nil {
		for _, lost := range r.Base.Lost {
			t.styled("", unstyled, 0, lost, t.strong)
		}
	}
	t.verdictLine(s, true)
	t.block("", 0, strings.TrimSpace(s.Because+" "+cleared(s)))
	for _, sentence := range s.Since {
		t.block("", 0, sentence)
	}
	if r.Base != nil && len(r.Shows) == 1 {
		t.block("", 0, fmt.Sprintf("Against %s: %s.", r.Base.Name, say.Counts(r.Base.Counts)))
	}
}

// headOf is how many lines of the head a warning about the base takes: it is never cut.
func headOf(r *outcome.Report) int {
	const each = 3
	if r.Base == nil {
		return 0
	}
	return each * len(r.Base.Lost)
}

// whoShort marks what a volunteer leaves to others.
var whoShort = map[outcome.Where]string{
	outcome.Stage:  ", ask",
	outcome.Ladder: ", ask",
}

// orderLines writes orders in so many lines. What orders rest on is asked for before all of them.
// Tasks for a person without whom somebody could
// be hurt, and of what there is no time for what could hurt somebody, stand behind the first, or
// before it if nobody could be hurt by what that mends, and the others behind the last if there
// is room. Second cures have
// one line each under their orders, as far as the spare lines go; how many are told comes
// with the lines.
func (t *textWriter) orderLines(s *outcome.Show, room, spare int) (list []string, seconds int) {
	hurts := func(o *outcome.Order) bool { return o.Consequence == finding.Hurt && !o.First }
	tasks := t.tasks(s, graveTasks, hurts)
	if len(s.Orders) == 0 && len(s.Tasks) == 0 && len(s.Undone) == 0 {
		return nil, 0
	}
	tasks = append(tasks, t.tell(s)...)
	heading := "What to do, in this order"
	if slices.ContainsFunc(s.Orders, func(o outcome.Order) bool { return whoShort[o.Where] != "" }) {
		heading += " (ask: leave it to the person responsible)"
	}
	undone := t.leave(s)
	room -= len(undone)
	list = append([]string{"", t.strong(heading)}, t.tasks(s, graveTasks, func(o *outcome.Order) bool { return o.First })...)
	last := finding.Consequence(-1)
	said := 0
	cautioned := false
	otherwise := func(c finding.Consequence) string { return cutTo("Otherwise "+c.Sentence()+":", t.width) }
	if len(tasks) > 0 && (len(s.Orders) == 0 || !hurts(&s.Orders[0])) {
		list = append(append(list, otherwise(finding.Hurt)), tasks...)
		tasks = nil
	}
	for i := range s.Orders {
		o := &s.Orders[i]
		var lines []string
		if o.Consequence != last {
			lines = append(lines, otherwise(o.Consequence))
		}
		lines = append(lines, t.lines(orderLines, "", func(t *textWriter) {
			t.orderAndWhy(fmt.Sprintf("%2d", i+1), o)
		})...)
		if len(o.Worse) > 0 {
			lines = append(lines, t.lines(2, "", func(t *textWriter) { t.block("", 4, "Its price: "+t.price(o)) })...)
		}
		if o.Caution != "" && !cautioned {
			lines = append(lines, t.lines(2, "", func(t *textWriter) { t.block("", 4, "Caution: "+sentence(o.Caution)) })...)
		}
		under := len(lines)
		if i == 0 {
			lines = append(lines, tasks...)
		}
		if len(list)-seconds+len(lines) > room-1 && i > 0 {
			break
		}
		if second := t.second(o); second != "" && seconds < spare {
			lines = slices.Insert(lines, under, second)
			seconds++
		}
		cautioned = cautioned || o.Caution != ""
		last = o.Consequence
		list = append(list, lines...)
		said++
	}
	others := func(o *outcome.Order) bool { return !hurts(o) && !o.First }
	if left := len(s.Orders) - said; left > 0 {
		asked := ""
		if slices.ContainsFunc(s.Tasks, func(o outcome.Order) bool { return others(&o) }) {
			asked = ", and things to ask for"
		}
		list = append(list, fmt.Sprintf("    ... and %s more%s.", say.Count(left, "order"), asked))
	} else {
		list = append(list, t.tasks(s, max(1, min(otherTasks, room-len(list)+seconds-1)), others)...)
	}
	return append(list, undone...), seconds
}

// second is the other cure of an order in one line; "" if it has none, or one that is longer.
func (t *textWriter) second(o *outcome.Order) string {
	line := strings.Repeat(" ", 4) + "Or: " + say.Clean(say.Straight.Replace(strings.TrimSuffix(o.Or, "."))) + "."
	if o.Or == "" || say.Columns(line) > t.width {
		return ""
	}
	return line
}

// undone splits that for which there is no time into what could hurt somebody and the rest.
func undone(s *outcome.Show) (hurt, rest []outcome.Order) {
	for _, o := range s.Undone {
		if o.Consequence == finding.Hurt {
			hurt = append(hurt, o)
		} else {
			rest = append(rest, o)
		}
	}
	return hurt, rest
}

func more(n int) string {
	if n < 1 {
		return ""
	}
	return fmt.Sprintf(" [and %d more]", n)
}

// tell says whom to tell of what there is no time for and could hurt somebody.
func (t *textWriter) tell(s *outcome.Show) []string {
	hurt, _ := undone(s)
	if len(hurt) == 0 {
		return nil
	}
	o := &hurt[0]
	text := fmt.Sprintf("There is no time to do this well, and %s. Tell the person responsible now: %s", o.Consequence.Sentence(), sentence(o.Why))
	return t.entry(" -", 3, text, keyIn(o)+more(len(hurt)-1))
}

// leave says of what else there is no time for that it is left.
func (t *textWriter) leave(s *outcome.Show) []string {
	_, rest := undone(s)
	if len(rest) == 0 {
		return nil
	}
	return []string{t.oneLine(" -", "Leave this, there is no time: "+rest[0].Do, more(len(rest)-1))}
}

// longest is how many minutes an order may take in the hours before doors (common practice,
// no source).
const longest = 60

// why is the reason of an order in a few words: what its rule says is wrong.
func (t *textWriter) why(o *outcome.Order) string {
	if len(o.Rules) == 0 {
		return sentence(o.Why)
	}
	return cmp.Or(t.rules[o.Rules[0]].Title, sentence(o.Why))
}

// orderAndWhy writes an order and, behind it and less loud, why it is given.
func (t *textWriter) orderAndWhy(front string, o *outcome.Order) {
	const at = 4
	clean := func(text string) string { return say.Cap(say.Clean(say.Straight.Replace(text))) }
	do := clean(o.Do + orderTail(o))
	why := clean("Why: "+t.why(o)) + keyIn(o)
	left := len(strings.ReplaceAll(do, " ", "")) // of the order, in bytes without blanks
	for i, line := range say.Wrap(do+" "+why, max(20, t.width-at)) {
		gap := strings.Repeat(" ", at)
		if i == 0 {
			gap = t.strong(front) + strings.Repeat(" ", max(0, at-say.Columns(front)))
		}
		end := 0
		for end < len(line) && left > 0 {
			if line[end] != ' ' {
				left--
			}
			end++
		}
		loud, rest := line[:end], line[end:]
		if loud != "" {
			loud = t.strong(loud)
		}
		t.line(gap + loud + rest)
	}
}

// keyIn is the key by which what is behind an order can be asked for.
func keyIn(o *outcome.Order) string {
	if len(o.Cures) == 0 {
		return ""
	}
	return " [" + o.Cures[0] + "]"
}

func orderTail(o *outcome.Order) string {
	if o.Minutes.Most <= 0 {
		return ""
	}
	after := ""
	if len(o.After) > 0 {
		numbers := make([]string, len(o.After))
		for i, n := range o.After {
			numbers[i] = fmt.Sprint(n)
		}
		after = ", after " + spelling.List(numbers)
	}
	if o.Minutes.Most > longest {
		after += ", not tonight"
	}
	return fmt.Sprintf(" (%s min%s%s)", say.Minutes(outcome.Minutes{Least: o.Minutes.Most, Most: o.Minutes.Most}), whoShort[o.Where], after)
}

// price says what an order makes worse, in a few words.
func (t *textWriter) price(o *outcome.Order) string {
	first := &o.Worse[0]
	text := cmp.Or(t.rules[first.Rule].Title, sentence(first.Message)) + " [" + first.Key
	if more := len(o.Worse) - 1; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text + "]"
}

// sentence is the first sentence of a text.
func sentence(text string) string {
	if i := strings.Index(text, ". "); i >= 0 {
		return text[:i+1]
	}
	return text
}

// tasks are those of what only a person can give for which take is so, lettered, in at most
// so many lines; each is whole.
func (t *textWriter) tasks(s *outcome.Show, most int, take func(*outcome.Order) bool) []string {
	var list []string
	left := 0
	for i := range s.Tasks {
		if !take(&s.Tasks[i]) {
			continue
		}
		letter := string(rune('A' + i%26))
		task := t.lines(orderLines, "", func(t *textWriter) {
			t.styled(" "+letter, t.strong, 4, s.Tasks[i].Do+keyIn(&s.Tasks[i]), t.strong)
		})
		if left > 0 || len(list)+len(task) >= most {
			left++
			continue
		}
		list = append(list, task...)
	}
	if left > 0 {
		list = append(list, fmt.Sprintf("    ... and %d more to ask for.", left))
	}
	return list
}

// idle is a word under "meant" that answers nothing: nobody has to decide anything tonight.
func idle(f *finding.Finding) bool { return f.Rule == "file/meant-for-nothing" }

// decisions are findings that no order helps, one for each kind: what is wrong, and in
// full also what to do about it.
func (t *textWriter) decisions(s *outcome.Show) *part {
	tasked := map[string]bool{}
	for _, task := range s.Tasks {
		for _, key := range task.Cures {
			tasked[key] = true
		}
	}
	left := slices.DeleteFunc(slices.Clone(s.NeedPerson), func(f *finding.Finding) bool { return tasked[f.Key()] || idle(f) })
	if len(left) == 0 {
		return nil
	}
	p := &part{heading: t.strong(fmt.Sprintf("What somebody has to decide (%s)", say.Count(len(left), "finding")))}
	for _, group := range kinds(left) {
		f := group[0]
		end := " [" + f.Key()
		if len(group) > 1 {
			end += fmt.Sprintf(" and %d alike", len(group)-1)
		}
		end += "]"
		if p.brief == "" {
			p.brief = t.oneLine(" -", fmt.Sprintf("To decide (%s): %s", say.Count(len(left), "finding"), sentence(f.Message)), end)
		}
		told, most := sentence(f.Message)+f.Unsure(), 2
		if f.Likely {
			most++
		}
		e := entry{short: t.entry(" -", most, told, end)}
		e.full = e.short
		if f.Hint != "" {
			e.full = slices.Concat(t.entry(" -", most+1, told, end), t.entry("", 3, "Try: "+f.Hint, ""))
		}
		p.each = append(p.each, e)
	}
	return p
}

// missing is what could not be checked, one for each piece of knowledge.
func (t *textWriter) missing(s *outcome.Show) *part {
	if len(s.Gaps) == 0 {
		return nil
	}
	p := &part{heading: t.strong("Not checked, and what would let me"), noun: "missing piece", hidden: max(0, len(s.Gaps)-mostGaps)}
	if s.Unreadable && looks(s) == 0 {
		all := t.entry(" ?", 2, "everything: put the file right first, and check again", "")
		p.brief, p.each = all[0], []entry{{full: all, short: all}}
		return p
	}
	for i := range s.Gaps[:min(len(s.Gaps), mostGaps)] {
		g := &s.Gaps[i]
		end := ""
		if g.Key != "" {
			end = fmt.Sprintf(" [%s in %s]", g.Key, g.File)
		}
		if i == 0 {
			p.brief = t.oneLine(" ?", fmt.Sprintf("Not checked (%s): give %s.", say.Count(len(s.Gaps), "missing piece"), g.Missing), end)
		}
		p.each = append(p.each, entry{full: t.entry(" ?", 3, say.GapOrder(g), end), short: t.entry(" ?", 2, "Give "+g.Missing+".", end)})
	}
	return p
}

// entry is a text with its end, wrapped to at most so many lines; the end is always in sight.
func (t *textWriter) entry(front string, most int, text, end string) []string {
	const at = 4
	end = say.Clean(say.Straight.Replace(end))
	return t.lines(most, end, func(t *textWriter) { t.block(front, at, text+end) })
}

// oneLine keeps a text to one line, its end always in sight.
func (t *textWriter) oneLine(front, text, end string) string {
	const at = 4
	text = say.Cap(say.Clean(say.Straight.Replace(text)))
	end = say.Clean(say.Straight.Replace(end))
	room := max(10, t.width-at-say.Columns(end))
	if say.Columns(text) > room {
		text = cutTo(text, room-4) + " ..."
	}
	return front + strings.Repeat(" ", at-say.Columns(front)) + text + end
}

// cutTo is the head of a text that fits, whole words if there are any.
func cutTo(text string, room int) string {
	used := 0
	for i, r := range text {
		if used += say.Columns(string(r)); used > room {
			text = text[:i]
			if blank := strings.LastIndexByte(text, ' '); blank > len(text)/2 {
				text = text[:blank]
			}
			return text
		}
	}
	return text
}

// receipt names the receipt of a report, for those who ask later whether this is the file.
func receipt(s *outcome.Show) string {
	if s.Receipt == nil {
		return ""
	}
	return " Receipt " + s.Receipt.Number + "."
}

// tail says what was left out, and the commands that show it; seconds are the cures that
// orders have besides and that have no room here.
func (t *textWriter) tail(s *outcome.Show, r *outcome.Report, seconds int) []string {
	path := say.Clean(say.Straight.Replace(s.Path))
	if strings.ContainsAny(path, " '\"") {
		path = "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return t.lines(10, "", func(t *textWriter) {
		t.line("")
		if s.Tried != nil {
			t.block("", 0, strings.TrimSpace(triedWords(s.Tried)+" "+staleWords(s.Tried, 2)))
		}
		if s.LeftOut > 0 {
			t.block("", 0, fmt.Sprintf("Left out below the level you asked for: %s.", say.Count(s.LeftOut, "finding")))
		}
		if accepted := len(say.Accepted(s)); accepted > 0 {
			t.block("", 0, fmt.Sprintf("Accepted, so not counted: %s.", say.Count(accepted, "finding")))
		}
		words := 0
		for _, f := range s.NeedPerson {
			if idle(f) {
				words++
			}
		}
		if words > 0 {
			t.block("", 0, fmt.Sprintf("Nothing asks for %s under \"meant\"; nothing has to be done tonight.", say.Count(words, "word")))
		}
		if s.Untried > 0 {
			t.block("", 0, fmt.Sprintf("For %s a change was not tried in this run.", say.Count(s.Untried, "finding")))
		}
		everything := "Everything, with reasons and how to go back"
		if seconds > 0 { // no longer than that, or an order would have to go
			everything = fmt.Sprintf("All, with %s and the way back", say.Count(seconds, "second cure"))
		}
		t.block("", 0, everything+": cueproof check --all "+path)
		if key := firstKey(s); key != "" {
			t.block("", 0, fmt.Sprintf("One of them: cueproof explain %s --show %s", key, path))
		}
		t.block("", 0, "This is arithmetic on what the files say. It certifies nothing."+receipt(s))
	})
}

func firstKey(s *outcome.Show) string {
	if len(s.Orders) > 0 && len(s.Orders[0].Cures) > 0 {
		return s.Orders[0].Cures[0]
	}
	for _, f := range s.NeedPerson {
		if !idle(f) {
			return f.Key()
		}
	}
	return ""
}
