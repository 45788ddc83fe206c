package html

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/markdown"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// show is one show as the template lays it out. All its strings are plain text.
type show struct {
	Prefix, ID, Room, Day, Name string
	Verdict, Because            string
	Hold                        bool
	Since                       []string
	Nav                         []link
	Tasks                       []order
	Groups                      []group
	More                        string
	Decide, DecideMore          []decision
	Pictures                    []section
	Why                         []reason
	Gaps, ByEye, LeftOut        []string
	Receipt                     string
}

type link struct{ ID, Text string }

type group struct {
	Otherwise string
	Orders    []order
}

type order struct {
	ID, Sign, Do, Minutes, FromTo, Who, Caution string
	Mark, Picture, Excerpt                      template.HTML
	Worse                                       []string
	Reasons                                     []reasonText
}

type reasonText struct{ Name, Text string }

type decision struct {
	Mark                     template.HTML
	Sign, Text, Try, Caution string
	Lines                    []string
}

type section struct {
	ID, Heading, Lead string
	Body              template.HTML
}

type reason struct {
	Title, Rule, Left string
	Found             []quote
	Explain           template.HTML
	Limits            []string
}

type quote struct {
	Text    string
	Excerpt template.HTML
}

// How much of long lists a page has; the rest is counted.
const (
	mostOfARule  = 1
	mostDecided  = 40
	mostOpen     = 6 // of what is decided; the rest is folded
	mostGaps     = 30
	mostPictured = 40 // orders with a picture
)

// text makes words of a show fit for a line.
func text(words string) string { return say.Straight.Replace(say.OneLine(words)) }

func showOf(r *outcome.Report, i int, o Options, thin int) (*show, error) {
	told := &r.Shows[i]
	draw.Move(told)
	s := &show{
		Prefix: fmt.Sprintf("s%d-", i+1), Room: text(told.Room), Day: day(told.Day), Name: text(cmp.Or(told.Name, told.Path)),
		Verdict: text(string(told.Verdict)), Because: text(told.Because), Hold: told.Verdict == outcome.Hold || told.Verdict == outcome.NotChecked,
	}
	s.ID = s.Prefix + "show"
	s.Because = strings.TrimSpace(s.Because + " " + promise(told))
	for _, sentence := range told.Since {
		s.Since = append(s.Since, text(sentence))
	}
	if r.Base != nil {
		s.Since = append(s.Since, text(fmt.Sprintf("Against %s: %s.", r.Base.Name, say.Counts(r.Base.Counts))))
	}
	for n := range told.Tasks {
		s.Tasks = append(s.Tasks, order{Sign: string(rune('A' + n%26)), Do: text(told.Tasks[n].Do), Caution: text(told.Tasks[n].Caution)})
	}
	s.orders(told, thinner[thin].orders)
	s.decisions(r, told)
	if told.Scene != nil {
		s.pictures(told, thin)
	}
	if err := s.why(r, told, thinner[thin].reasons); err != nil {
		return nil, err
	}
	for n := range told.Gaps {
		if n == mostGaps {
			s.Gaps = append(s.Gaps, fmt.Sprintf("and %d more", len(told.Gaps)-n))
			break
		}
		s.Gaps = append(s.Gaps, text(say.GapOrder(&told.Gaps[n])))
	}
	for _, look := range told.ByEye {
		s.ByEye = append(s.ByEye, text(look))
	}
	s.receipt(told)
	s.navigation()
	return s, nil
}

// promise says what the orders do together.
func promise(told *outcome.Show) string {
	if len(told.Orders) == 0 {
		return ""
	}
	cleared, least, most := map[string]bool{}, 0.0, 0.0
	for _, o := range told.Orders {
		for _, key := range o.Cures {
			cleared[key] = true
		}
		least, most = least+o.Minutes.Least, most+o.Minutes.Most
	}
	text := say.Clears(len(told.Orders), len(cleared), failures(told))
	if most > 0 {
		text += fmt.Sprintf(", in %.0f to %.0f minutes", math.Ceil(least), math.Ceil(most))
	}
	return text + "."
}

// failures counts what is wrong and nobody accepted.
func failures(told *outcome.Show) (n int) {
	for i := range told.Findings {
		if f := &told.Findings[i]; f.Verdict == finding.Fail && f.Accepted == nil {
			n++
		}
	}
	return n
}

// day writes a date as people do.
func day(date string) string {
	t, err := time.Parse("2006-01-02", date)
	if err != nil {
		return text(date)
	}
	return t.Format("2 January 2006")
}

func (s *show) navigation() {
	add := func(there bool, id, words string) {
		if there {
			s.Nav = append(s.Nav, link{s.Prefix + id, words})
		}
	}
	add(len(s.Groups) > 0, "orders", "Orders")
	add(len(s.Decide) > 0, "decide", "For a person")
	for _, p := range s.Pictures {
		words, _, _ := strings.Cut(p.Heading, ",")
		s.Nav = append(s.Nav, link{p.ID, strings.TrimPrefix(words, "The ")})
	}
	add(len(s.Why) > 0, "why", "Why")
	add(len(s.Gaps) > 0, "gaps", "Not checked")
	add(len(s.ByEye) > 0, "eye", "By eye")
	for i := range s.Nav {
		s.Nav[i].Text = spelling.Capital(s.Nav[i].Text)
	}
}

// safe is a picture: its words passed the door of package picture.
func safe(svg string) template.HTML { return template.HTML(svg) } //nolint:gosec // see package picture

func mark(c finding.Consequence, full bool, sign string) template.HTML {
	return safe(picture.Sign(draw.ShapeOf(c), full, sign).Bare("sign"))
}

func (s *show) orders(told *outcome.Show, most int) {
	for n := range told.Orders[:min(most, len(told.Orders))] {
		o := &told.Orders[n]
		sign := fmt.Sprint(n + 1)
		one := order{
			ID: s.Prefix + "order-" + sign, Sign: sign, Do: text(o.Do), Minutes: say.Minutes(o.Minutes), Who: text(o.Who), Caution: text(o.Caution),
			Mark: mark(o.Consequence, true, sign), FromTo: fromTo(o),
		}
		if o.Minutes.Most <= 0 {
			one.Minutes = ""
		}
		if n < mostPictured && told.Scene != nil {
			if p := draw.Order(told, n, one.ID+"-p", figureID); p != nil {
				one.Picture = safe(p.Inline(one.ID+"-p", "pic"))
			}
		}
		for _, worse := range o.Worse {
			one.Worse = append(one.Worse, text(fmt.Sprintf("Its price: %s It was %s, and is %s then.", say.Period(worse.Message), number(worse.Was), spelling.Amount(number(worse.Is), worse.Unit))))
		}
		add := func(name, words string) {
			if words != "" {
				one.Reasons = append(one.Reasons, reasonText{name, text(words)})
			}
		}
		add("why", o.Why)
		add("then", o.Effect)
		add("or", o.Or)
		add("undo", o.Undo)
		if len(o.After) > 0 {
			add("after", "order "+joined(o.After))
		}
		add("clears", strings.Join(o.Cures, ", "))
		add("where", say.Where([]source.Place{o.Place}))
		otherwise := o.Consequence.Sentence()
		if k := len(s.Groups); k == 0 || s.Groups[k-1].Otherwise != otherwise {
			s.Groups = append(s.Groups, group{Otherwise: otherwise})
		}
		last := &s.Groups[len(s.Groups)-1]
		last.Orders = append(last.Orders, one)
	}
	s.left(max(0, len(told.Orders)-most), "# more orders, which come after these, are")
	if n := len(told.Undone); n > 0 {
		s.More = fmt.Sprintf("%s more would help, and there is no time for them.", say.Count(n, "change"))
	}
}

func joined(list []int) string {
	words := make([]string, len(list))
	for i, n := range list {
		words[i] = fmt.Sprint(n)
	}
	return strings.Join(words, ", ")
}

func number(v float64) string { return say.Short(&v) }

// fromTo says the values of an order that has few: "100 to 25 % drive".
func fromTo(o *outcome.Order) string {
	var words []string
	for _, e := range o.Edits {
		if e.From == nil || e.To == nil {
			continue
		}
		one := fmt.Sprintf("%s → %s", value(e.From), value(e.To))
		if e.Unit != "" {
			one += " " + e.Unit
		}
		if !slices.Contains(words, one) {
			words = append(words, one)
		}
	}
	if len(words) > 3 {
		return ""
	}
	return text(strings.Join(words, "; "))
}

func value(v any) string {
	if n, ok := v.(float64); ok {
		return number(n)
	}
	return fmt.Sprint(v)
}

func (s *show) decisions(r *outcome.Report, told *outcome.Show) {
	groups := draw.Decisions(told)
	for n, g := range groups {
		if n == mostDecided {
			s.Decide = append(s.Decide, decision{Text: fmt.Sprintf("and %d more kinds of finding, in the text report", len(groups)-n)})
			break
		}
		f := g[0]
		one := decision{Mark: mark(f.Consequence, false, draw.Letter(n)), Sign: draw.Letter(n), Text: text(say.Period(f.Message))}
		if len(g) > 1 {
			var also []string
			for _, other := range g[1:] {
				if words := say.Subjects(other); !slices.Contains(also, words) {
					also = append(also, words)
				}
			}
			one.Lines = append(one.Lines, text("Also: "+spelling.Few(also, 6)+"."))
		}
		if f.Hint != "" {
			one.Try = text(say.Period(f.Hint))
		}
		if len(f.Cues) > 0 {
			one.Lines = append(one.Lines, text("Cues "+spelling.Few(f.Cues, 12)+"."))
		}
		if f.Likely {
			one.Lines = append(one.Lines, "Likely: it would turn if what is assumed is not quite right.")
		}
		if len(f.Rests) > 0 {
			one.Lines = append(one.Lines, text("This rests on "+spelling.Few(f.Rests, 3)+"."))
		}
		one.Lines = append(one.Lines, text(f.Rule+", "+f.Key()))
		if card := cardOf(r, f.Rule); card != nil {
			one.Caution = text(card.Caution)
		}
		s.Decide = append(s.Decide, one)
	}
	if len(s.Decide) > mostOpen+2 { // people look before they read on
		s.Decide, s.DecideMore = s.Decide[:mostOpen], s.Decide[mostOpen:]
	}
}

func cardOf(r *outcome.Report, id string) *finding.Rule {
	for i := range r.Rules {
		if r.Rules[i].ID == id {
			return &r.Rules[i]
		}
	}
	return nil
}

func (s *show) why(r *outcome.Report, told *outcome.Show, most int) error {
	byRule := map[string][]*finding.Finding{}
	var order []string
	for _, f := range finding.GravestOf(told.Findings) {
		if byRule[f.Rule] == nil {
			order = append(order, f.Rule)
		}
		byRule[f.Rule] = append(byRule[f.Rule], f)
	}
	for n, id := range order {
		if n == most {
			s.left(len(order)-n, "the explanations of # more rules are")
			break
		}
		one := reason{Title: text(id), Rule: text(id)}
		found := byRule[id]
		for i, f := range found {
			if i == mostOfARule {
				one.Left = fmt.Sprintf("and %d more", len(found)-i)
				break
			}
			words := say.Period(f.Message)
			if where := say.Where([]source.Place{f.Place}); where != "" {
				words += " (" + where + "; " + f.Key() + ")"
			}
			one.Found = append(one.Found, toldOf(text(words), f.Place))
		}
		if card := cardOf(r, id); card != nil {
			one.Title = text(card.Title)
			explained, err := markdown.HTML(say.CleanLines(withoutExample(say.WithoutTitle(card.Explain, card.Title))), 3)
			if err != nil {
				return err
			}
			one.Explain = template.HTML(say.Clean(explained)) //nolint:gosec // without raw HTML, see package markdown
			for _, limit := range card.Limits {
				one.Limits = append(one.Limits, text(say.Limit(limit)))
			}
			one.Rule = text(fmt.Sprintf("%s, %s. Otherwise %s.", id, card.Level, card.Consequence.Sentence()))
		}
		s.Why = append(s.Why, one)
	}
	return nil
}

// withoutExample leaves out the part of an explanation that names a small show of the
// rule: who reads a page has its own show.
func withoutExample(markdown string) string {
	before, after, found := strings.Cut(markdown, "\n## Example\n")
	if !found {
		return markdown
	}
	if next := strings.Index(after, "\n## "); next >= 0 {
		return before + after[next:]
	}
	return before
}

func toldOf(words string, place source.Place) quote {
	return quote{words, excerpt(place)}
}

// excerpt is the lines of a file around a place, which is marked; "" for a place in no
// file, or one that is a whole file.
func excerpt(place source.Place) template.HTML {
	span, ok := say.Span(place)
	if !ok || place.File == nil || span.Start.Line == 1 && place.Start == 0 {
		return ""
	}
	const mostLines, mostLetters = 3, 160
	file := place.File.Text
	start, stop := place.Start, min(place.Stop, len(file))
	if start < 0 || start > len(file) || stop < start {
		return ""
	}
	from := strings.LastIndexByte(file[:start], '\n') + 1
	to, lines := start, 0
	for to < len(file) && lines < mostLines {
		if next := strings.IndexByte(file[to:], '\n'); next >= 0 {
			to += next + 1
		} else {
			to = len(file)
		}
		lines++
		if to >= stop {
			break
		}
	}
	from = max(from, start-mostLetters/2)
	to = min(to, start+mostLetters*2)
	clean := func(part string) string {
		return template.HTMLEscapeString(say.Clean(strings.ToValidUTF8(strings.ReplaceAll(strings.ReplaceAll(part, "\r", ""), "\t", "  "), "")))
	}
	if file[start:stop] == "{" { // the whole thing
		if line, _, ends := strings.Cut(file[start:to], "\n"); ends {
			stop = start + len(line)
		}
	}
	more := ""
	if to < stop {
		more = " …"
		stop = to
	}
	return template.HTML(fmt.Sprintf("<pre><code>%s<mark>%s</mark>%s%s</code></pre>", clean(file[from:start]), clean(file[start:stop]), clean(strings.TrimRight(file[stop:max(to, stop)], "\n")), more)) //nolint:gosec // escaped
}

func (s *show) receipt(told *outcome.Show) {
	looked := 0
	for _, t := range told.Looked {
		looked += t.Subjects
	}
	words := fmt.Sprintf("%s looked %s at %s.", say.Count(len(told.Looked), "rule"), say.Count(looked, "time"), say.Count(len(told.Files), "file"))
	if told.Receipt != nil {
		words = say.Receipt(told) + " " + words
	}
	s.Receipt = text(words)
	for _, note := range told.Notes {
		s.LeftOut = append(s.LeftOut, text(note))
	}
	if told.Scene != nil && len(told.Scene.LeftOut) > 0 {
		s.LeftOut = append(s.LeftOut, text("Not drawn: "+strings.Join(told.Scene.LeftOut, ", ")+"."))
	}
}
