// Package paper writes a show as one side of paper for people who walk: what to change in
// the order of the way, places to go with a meter, what somebody has to decide, and what
// to look at by eye.
//
// In go a report with scenes, out comes a page that prints on one side, black. How much
// fits is reckoned from the widths of letters; what does not is counted, and the worst
// stays. A newcomer's mistake would be to make letters smaller: nobody reads them in the
// half dark.
package paper

import (
	"cmp"
	_ "embed" // style and template
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/frame"
	"github.com/cueproof/cueproof/internal/report/say"
)

//go:embed paper.css
var style string

//go:embed paper.html
var text string

var paperTemplate = sync.OnceValue(func() *template.Template { return template.Must(template.New("paper").Parse(text)) })

// Size is a size of paper.
type Size string

// The sizes.
const (
	A4     Size = "a4"
	Letter Size = "letter"
)

// Sizes are the words that ask for them.
var Sizes = []string{string(A4), string(Letter)}

// sheet is what of a paper can be written on, in points.
type sheet struct{ wide, high float64 }

const millimetre = 72 / 25.4

func (s Size) sheet() sheet {
	if s == Letter {
		return sheet{(215.9 - 26) * millimetre, (279.4 - 22) * millimetre}
	}
	return sheet{(210 - 26) * millimetre, (297 - 22) * millimetre}
}

type page struct {
	Head  template.HTML
	Title string
	Shows []*side
}

// side is one show on one side.
type side struct {
	Verdict, Name, Room, Day, Because, Receipt string
	Groups                                     []group
	Focus                                      []focus
	Decide                                     []item
	Eye                                        []string
	LeftOrders, LeftFocus, LeftDecide          string

	items []item // all orders that are on it, in the order of the report
}

type group struct {
	Where, What string
	Items       []item
}

type item struct {
	Mark               template.HTML
	Do, After, Minutes string
	where              int
	grave              finding.Consequence
}

type focus struct{ Place, Cue, Channels, Lux, Kelvin string }

// Write writes each show of a report as one side.
func Write(w io.Writer, r *outcome.Report, size Size) error {
	sized := style
	if size == Letter {
		sized = strings.Replace(style, "size:A4", "size:letter", 1)
	}
	p := page{Head: frame.Head(sized, "", false)}
	var titles []string
	for i := range r.Shows {
		s := sideOf(&r.Shows[i], size.sheet())
		p.Shows = append(p.Shows, s)
		titles = append(titles, s.Verdict+": "+s.Name)
	}
	p.Title = strings.Join(titles, "; ")
	if err := paperTemplate().Execute(w, p); err != nil {
		return fmt.Errorf("lay out the paper: %w", err)
	}
	return nil
}

func plain(words string) string { return say.Straight.Replace(say.OneLine(words)) }

func mark(c finding.Consequence, full bool, sign string) template.HTML {
	return template.HTML(picture.Sign(draw.ShapeOf(c), full, sign).Bare("sign")) //nolint:gosec // its words passed the door of package picture
}

// ways are where one goes, in the order of the way: from the house to the booth.
var ways = []struct {
	where       outcome.Where
	name, about string
}{
	{outcome.Device, "House", "cameras, screens, notices"},
	{outcome.Stage, "Stage", "on the floor, by hand"},
	{outcome.Ladder, "Ladder", "at height, by people who may"},
	{outcome.Booth, "Booth", "at the console"},
}

// How many letters of one thing stand on paper: an order is never cut where its value may
// stand, only a hostile name is.
const mostOrder, mostLetters = 400, 150

func sideOf(told *outcome.Show, on sheet) *side {
	s := &side{
		Verdict: plain(string(told.Verdict)), Name: short(cmp.Or(told.Name, told.Path), 60), Room: short(told.Room, 40), Day: day(told.Day), Because: short(told.Because, 220),
	}
	for n := range told.Tasks {
		s.items = append(s.items, item{Mark: mark(told.Tasks[n].Consequence, false, string(rune('A'+n%26))), Do: short(told.Tasks[n].Do, mostOrder), Minutes: "first", grave: told.Tasks[n].Consequence})
	}
	for n := range told.Orders {
		o := &told.Orders[n]
		one := item{Mark: mark(o.Consequence, true, fmt.Sprint(n+1)), Do: short(o.Do, mostOrder), Minutes: minutes(o.Minutes), grave: o.Consequence}
		one.where = max(0, slices.IndexFunc(ways, func(w struct {
			where       outcome.Where
			name, about string
		}) bool {
			return w.where == cmp.Or(o.Where, outcome.Booth)
		}))
		if len(o.After) > 0 {
			one.After = fmt.Sprintf("(after %d)", o.After[len(o.After)-1])
		}
		s.items = append(s.items, one)
	}
	for n, g := range draw.Decisions(told) {
		s.Decide = append(s.Decide, item{Mark: mark(g[0].Consequence, false, draw.Letter(n)), Do: short(say.Period(firstSentence(g[0].Message)), mostLetters)})
	}
	if told.Scene != nil {
		for _, f := range told.Scene.Walk {
			one := focus{Place: short(f.Place, 24), Cue: "cue " + short(f.Cue, 8), Channels: short(f.Channels, 22), Lux: "?", Kelvin: "?"}
			about := ""
			if f.Assumed {
				about = "≈ "
			}
			if f.Lux != nil {
				one.Lux = about + picture.Say(*f.Lux, 0)
			}
			switch {
			case f.Wanted != nil: // the show gives another white, and nobody should take that for what is right
				one.Kelvin = picture.Say(*f.Wanted, 0) + " wanted"
			case f.Kelvin != nil:
				one.Kelvin = picture.Kelvin(*f.Kelvin)
			}
			s.Focus = append(s.Focus, one)
		}
	}
	for _, look := range told.ByEye {
		s.Eye = append(s.Eye, short(look, mostLetters))
	}
	s.Receipt = fmt.Sprintf("%s, %s.", say.Count(len(told.Looked), "rule"), say.Count(len(told.Files), "file"))
	if told.Receipt != nil {
		s.Receipt = plain(fmt.Sprintf("Receipt %s, %s. %s", told.Receipt.Number, told.Receipt.Day, s.Receipt))
	}
	s.fit(on)
	s.group()
	return s
}

// firstSentence is what is, without why it matters: that stands on the screen.
func firstSentence(words string) string {
	before, _, _ := strings.Cut(words, ". ")
	return before
}

// short cuts a text at a word, so that a line of paper can hold it.
func short(words string, most int) string {
	words = plain(words)
	letters := []rune(words)
	if len(letters) <= most {
		return words
	}
	cut := string(letters[:most-1])
	if at := strings.LastIndexByte(cut, ' '); at > most/2 {
		cut = cut[:at]
	}
	return strings.TrimRight(cut, " ,;:.") + " …"
}

func minutes(m outcome.Minutes) string {
	if m.Most <= 0 {
		return ""
	}
	return say.Minutes(m) + " min"
}

func day(date string) string {
	t, err := time.Parse("2006-01-02", date)
	if err != nil {
		return short(date, 24)
	}
	return t.Format("2 January 2006")
}

// fit takes away what has no room, from the end of each list: first what is to be decided
// beyond the gravest four, then rows of the walk beyond the first eight, then orders that
// only trip us up later, then rows beyond four, what is to be decided, orders beyond the
// gravest fourteen, and then all else in that order.
func (s *side) fit(on sheet) {
	all, letters, rows := len(s.items), len(s.Decide), len(s.Focus)
	over := func() bool {
		s.tell(all, letters, rows)
		return s.height(on) > on.high
	}
	lastLater := func() bool {
		return len(s.items) > 0 && s.items[len(s.items)-1].grave == finding.Later
	}
	for over() {
		switch {
		case len(s.Decide) > 4:
			s.Decide = s.Decide[:len(s.Decide)-1]
		case len(s.Focus) > 8:
			s.Focus = s.Focus[:len(s.Focus)-1]
		case lastLater():
			s.items = s.items[:len(s.items)-1]
		case len(s.Focus) > 4:
			s.Focus = s.Focus[:len(s.Focus)-1]
		case len(s.Decide) > 0:
			s.Decide = s.Decide[:len(s.Decide)-1]
		case len(s.items) > 14: // a walk that nobody can do before doors helps less than a meter
			s.items = s.items[:len(s.items)-1]
		case len(s.Focus) > 0:
			s.Focus = s.Focus[:len(s.Focus)-1]
		case len(s.Eye) > 0:
			s.Eye = nil
		case len(s.items) > 1:
			s.items = s.items[:len(s.items)-1]
		default:
			return
		}
	}
}

// tell counts what was taken away.
func (s *side) tell(items, letters, rows int) {
	s.LeftOrders, s.LeftDecide, s.LeftFocus = "", "", ""
	if left := items - len(s.items); left > 0 {
		s.LeftOrders = fmt.Sprintf("%d more on the screen", left)
	}
	if left := letters - len(s.Decide); left > 0 {
		s.LeftDecide = fmt.Sprintf("%d more on the screen", left)
		if len(s.Decide) == 0 {
			s.Receipt, _, _ = strings.Cut(s.Receipt, " To be decided:")
			s.Receipt += fmt.Sprintf(" To be decided: %d, on the screen.", left)
		}
	}
	if left := rows - len(s.Focus); left > 0 {
		s.LeftFocus = fmt.Sprintf("%d more places", left)
	}
}

// group puts the orders where one walks.
func (s *side) group() {
	for k, way := range ways {
		g := group{Where: way.name, What: way.about}
		for _, one := range s.items {
			if one.where == k {
				g.Items = append(g.Items, one)
			}
		}
		if len(g.Items) > 0 {
			s.Groups = append(s.Groups, g)
		}
	}
}

// The measures of the style, in points.
const (
	textSize, smallSize = 9.6, 9.0
	textLine, smallLine = textSize * 1.28, smallSize * 1.25
	headHigh            = 13*1.15 + 9 // of a heading
	rowHigh             = textLine + 7.3
	groupHigh           = textLine + 6
)

// serif is how wide the letters of the style are at most, as a part of those of pictures:
// Palatino is the widest of its faces. From memory; what is printed is tested.
const serif = 0.95

// lines is how many lines a text takes.
func lines(words string, size, wide float64) float64 {
	total, line := 1.0, 0.0
	blank := picture.Width(" ", size, false)
	for _, word := range strings.Fields(words) {
		w := picture.Width(word, size, false) * serif
		if line > 0 && line+blank+w > wide {
			total++
			line = 0
		}
		for w > wide { // a word that is broken
			total++
			w -= wide
		}
		if line > 0 {
			line += blank
		}
		line += w
	}
	return total
}

// height is how high the side becomes, rather too much than too little.
func (s *side) height(on sheet) float64 {
	column := (on.wide - 16) / 2
	high := 34 + textLine*lines(s.Because, textSize, on.wide) + 4 // head
	if lines(s.Name, 16, on.wide-picture.Width(s.Verdict, 20, true)*1.3-150) > 1 {
		high += 17
	}
	if len(s.items) > 0 {
		sum, tallest, seen := 0.0, 0.0, map[int]bool{}
		for _, one := range s.items {
			beside := 45 + picture.Width(one.Minutes, smallSize, false) + 4 + 10*millimetre // box, mark, time and line
			h := max(16, textLine*lines(one.Do+" "+one.After, textSize, column-beside)) + 4
			sum, tallest = sum+h, max(tallest, h)
			if !seen[one.where] {
				seen[one.where] = true
				sum += groupHigh
			}
		}
		high += headHigh + sum/2 + tallest + groupHigh/2 // columns are as uneven as their tallest item
	}
	if len(s.Focus) > 0 {
		high += headHigh + 14 + rowHigh*float64(len(s.Focus))
	}
	two := func(list []string, indent float64) float64 {
		sum, tallest := 0.0, 0.0
		for _, words := range list {
			h := max(15.4, smallLine*lines(words, smallSize, column-indent)) + 3.2
			sum, tallest = sum+h, max(tallest, h)
		}
		return headHigh + sum/2 + tallest/2
	}
	if len(s.Decide) > 0 {
		var words []string
		for _, one := range s.Decide {
			words = append(words, one.Do)
		}
		high += two(words, 23)
	}
	if len(s.Eye) > 0 {
		high += two(s.Eye, 16)
	}
	return high + 11 + smallLine*max(1, lines(s.Receipt, smallSize, on.wide/2))
}
