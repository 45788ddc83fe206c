package html

import (
	"cmp"
	_ "embed" // the template
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/frame"
	"github.com/cueproof/cueproof/internal/report/markdown"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/spelling"
)

//go:embed small.html
var smallText string

var smallTemplate = sync.OnceValue(func() *template.Template { return template.Must(template.New("small").Parse(smallText)) })

// smallPage is a page about one question: two states, some numbers, a rule.
type smallPage struct {
	Head             template.HTML
	Kept             template.HTML
	Title, Over, Day string
	Lead             []string
	Sections         []section
}

func (p smallPage) write(w io.Writer) error {
	p.Head = frame.Head(picture.Palette+picture.Style+pageStyle, "", false)
	p.Kept = safe(draw.Figure(figureID).Hidden())
	if err := smallTemplate().Execute(w, p); err != nil {
		return fmt.Errorf("lay out the page: %w", err)
	}
	return nil
}

// Comparison writes how two states of a show differ, with the evening of both where they
// have scenes.
func Comparison(w io.Writer, c *outcome.Comparison, _ say.Options) error {
	p := smallPage{Title: text("Then and now: " + c.New.Name), Over: text(c.Old.Path + " and " + c.New.Path)}
	p.Lead = append(p.Lead, text(say.Counts(c.Counts)+"."))
	for _, words := range append(append([]string{}, c.Lost...), say.Dark(c.Dark)...) {
		p.Lead = append(p.Lead, text(words))
	}
	list := func(heading string, wanted func(*finding.Finding) bool) {
		var b strings.Builder
		n := 0
		for i := range c.Findings {
			if f := &c.Findings[i]; f.Verdict == finding.Fail && f.Accepted == nil && wanted(f) {
				if n++; n <= mostDecided {
					more := ""
					if was := say.Was(f); was != "" {
						more = `<p class="more">` + template.HTMLEscapeString(text(say.Period(was))) + "</p>"
					}
					fmt.Fprintf(&b, "<li>%s<div><p>%s</p>%s</div></li>", mark(f.Consequence, false, ""), template.HTMLEscapeString(text(say.Period(f.Message))), more)
				}
			}
		}
		if n > 0 {
			lead := ""
			if n > mostDecided {
				lead = fmt.Sprintf("The first %d of %d.", mostDecided, n)
			}
			p.Sections = append(p.Sections, section{Heading: heading, Lead: lead, Body: safe(`<ol class="decide">` + b.String() + "</ol>")})
		}
	}
	list("New", func(f *finding.Finding) bool { return f.Base == finding.New })
	list("Worse", func(f *finding.Finding) bool { return f.Base == finding.Worse })
	s := &show{Prefix: "c-"}
	both := func(id, heading string, draw_ func(sc *scene.Scene, w float64) *picture.Pic) {
		var body template.HTML
		for _, side := range []struct {
			id, name string
			sc       *scene.Scene
		}{{"then", "Then", c.OldScene}, {"now", "Now", c.NewScene}} {
			if side.sc != nil && len(side.sc.Cues) > 0 {
				body += safe("<h3>"+side.name+"</h3>") + s.three(id+"-"+side.id, side.name+": "+heading+" as a table", func(w float64) *picture.Pic { return draw_(side.sc, w) }, 400)
			}
		}
		if body != "" {
			p.Sections = append(p.Sections, section{Heading: heading, Body: body})
		}
	}
	both("evening", "The evening", func(sc *scene.Scene, w float64) *picture.Pic { return draw.Evening(sc, nil, w) })
	both("strip", "All looks, side by side", draw.Strip)
	var gone []string
	for i := range c.Gone {
		if g := &c.Gone[i]; g.Verdict == finding.Fail && !g.Accepted && !g.Untold && g.Review == "" {
			gone = append(gone, "<li>"+template.HTMLEscapeString(text(say.Period(g.Message)))+"</li>")
		}
	}
	if n := len(gone); n > 0 {
		lead := ""
		if n > mostDecided {
			lead, gone = fmt.Sprintf("The first %d of %d.", mostDecided, n), gone[:mostDecided]
		}
		p.Sections = append(p.Sections, section{Heading: "Put right", Lead: lead, Body: safe(fmt.Sprintf(`<details><summary>%s put right</summary><ul class="gaps">%s</ul></details>`, say.Count(n, "finding"), strings.Join(gone, "")))})
	}
	if len(c.Looks) > 0 {
		t := picture.Table{Head: []string{"cue", "name", "light, stops", "hues then", "hues now", "levels", "else"}}
		for i := range c.Looks {
			t.Rows = append(t.Rows, lookRow(&c.Looks[i]))
		}
		p.Sections = append(p.Sections, section{Heading: fmt.Sprintf("Looks that differ (%d, and %d are the same)", len(c.Looks), c.SameLooks), Body: tableOf(t, 400, "Look by look")})
	}
	return p.write(w)
}

func lookRow(l *outcome.LookChange) []string {
	cue := l.NewCue
	switch {
	case l.OldCue == "":
		cue += " (new)"
	case l.NewCue == "":
		cue = l.OldCue + " (gone)"
	case l.OldCue != l.NewCue:
		cue += " (was " + l.OldCue + ")"
	}
	row := []string{cue, l.Name, "", l.OldHues, l.NewHues, "", ""}
	if stops_, ok := say.Stops(l.Output); ok {
		row[2] = stops(stops_)
	}
	var levels, others []string
	for _, step := range slices.Concat(l.Levels, l.Haze) {
		levels = append(levels, fmt.Sprintf("%s: %s to %s %%", step.Channels, say.Short(step.Old), say.Short(step.New)))
	}
	for _, c := range l.Colours {
		others = append(others, fmt.Sprintf("colour of %s: %s to %s", c.Channels, c.Old, c.New))
	}
	for _, o := range l.Others {
		what := o.What
		if o.Of != "" {
			what += " of " + o.Of
		}
		others = append(others, fmt.Sprintf("%s: %s to %s", what, cmp.Or(o.Old, "none"), cmp.Or(o.New, "none")))
	}
	for _, f := range l.Faces {
		others = append(others, fmt.Sprintf("face on %s: %s to %s lx", f.Place, say.Short(f.Old), say.Short(f.New)))
	}
	row[5], row[6] = spelling.Few(levels, 4), spelling.Few(others, 3)
	return row
}

// Numbers writes facts of one kind with the pictures that show them.
func Numbers(w io.Writer, told *outcome.Show, kind string, table picture.Table) error {
	p := smallPage{Title: text(told.Name), Over: text(told.Room), Day: day(told.Day)}
	s := &show{Prefix: "m-"}
	if sc := told.Scene; sc != nil {
		switch kind {
		case "person", "lamp", "camera":
			s.stage(sc, 1, 0)
			s.faces(sc, 12)
		case "fixture":
			s.addresses(sc, 12)
		case "circuit":
		default:
			if len(sc.Cues) > 0 {
				s.add("evening", "The evening", "", s.three("evening", "", func(w float64) *picture.Pic { return draw.Evening(sc, nil, w) }, 0))
			}
		}
	}
	p.Sections = s.Pictures
	body := tableOf(table, 2000, fmt.Sprintf("Every %s, in numbers", kind))
	p.Sections = append(p.Sections, section{Heading: "In numbers", Lead: "What is unknown is a question mark.", Body: template.HTML(strings.Replace(string(body), "<details ", "<details open ", 1))}) //nolint:gosec // made by tableOf
	return p.write(w)
}

// RulePage is a rule with the numbers of a show, and what there is to see of it.
type RulePage struct {
	Rule finding.Rule
	Work *outcome.RuleWork // nil: no show was given
	Show *outcome.Show     // with a scene of where it speaks; nil likewise
}

// Explain writes rules as a page, each worked out with the numbers of a show.
func Explain(w io.Writer, list []RulePage) error {
	p := smallPage{Title: "What the rules say", Over: "cueproof"}
	for i, e := range list {
		s := &show{Prefix: fmt.Sprintf("e%d-", i+1)}
		explained, err := markdown.HTML(say.CleanLines(withoutExample(say.WithoutTitle(e.Rule.Explain, e.Rule.Title))), 3)
		if err != nil {
			return err
		}
		body := safe(`<div class="why said"><div class="text">` + say.Clean(explained) + "</div></div>")
		if e.Rule.Caution != "" {
			body += safe(`<p class="caution">` + template.HTMLEscapeString(text(e.Rule.Caution)) + "</p>")
		}
		if e.Work != nil {
			body += worked(e.Work)
		}
		p.Sections = append(p.Sections, section{ID: s.Prefix + "rule", Heading: text(e.Rule.Title), Lead: text(fmt.Sprintf("%s, %s: otherwise %s.", e.Rule.ID, e.Rule.Levels(), e.Rule.Consequence.Sentence())), Body: body})
		if e.Show != nil && e.Show.Scene != nil {
			sc := e.Show.Scene
			switch e.Rule.Over {
			case "person", "showing", "camera", "lamp":
				s.faces(sc, 1)
				s.stage(sc, 1, 40)
			case "fixture":
				s.addresses(sc, 4)
			default:
				if len(sc.Cues) > 0 {
					s.add("evening", "The evening", "", s.three("evening", "The evening as a table", func(w float64) *picture.Pic { return draw.Evening(sc, draw.Bites(e.Show), w) }, 400))
				}
			}
			p.Sections = append(p.Sections, s.Pictures...)
		}
	}
	return p.write(w)
}

// worked is a rule in the numbers of a show.
func worked(work *outcome.RuleWork) template.HTML {
	var b strings.Builder
	esc := func(words string) string { return template.HTMLEscapeString(text(words)) }
	fmt.Fprintf(&b, "<h3>In the numbers of %s</h3><p>It looked %s: %d are wrong, and of %d nobody could tell.</p>", esc(work.Show), esc(say.Count(work.Subjects, "time")), work.Fails, work.Open)
	if work.Message != "" {
		fmt.Fprintf(&b, "<p>%s</p>", esc(say.Period(work.Message)))
	}
	t := picture.Table{Head: []string{"what", "value"}}
	for _, e := range append(append([]finding.Evidence{}, work.Facts...), work.Limits...) {
		t.Rows = append(t.Rows, []string{e.Name, spelling.Amount(e.Value, e.Unit)})
	}
	for _, missing := range work.Missing {
		fmt.Fprintf(&b, "<p>Nobody can tell without %s.</p>", esc(missing))
	}
	return safe(b.String()) + tableOf(t, 60, "The numbers that it looked at")
}
