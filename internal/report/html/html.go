// Package html writes a report as one file that asks nothing of any other place: its
// style is in it, its pictures are drawn in it, and its policy forbids all requests.
//
// In go a report whose shows have a scene ([outcome.Show.Scene]), out comes a page.
// [Write] is the row of the table of formats; [Page] is the same with a banner above it
// and a script in it, for who serves it. Text from a show is escaped by html/template,
// and by package picture inside of pictures. A newcomer's mistake would be to put
// something into a template.HTML that a show wrote.
package html

import (
	"bytes"
	_ "embed" // style and template
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/frame"
	"github.com/cueproof/cueproof/internal/report/say"
)

//go:embed page.css
var pageStyle string

//go:embed page.html
var pageText string

// pageTemplate is read when the first page is written.
var pageTemplate = sync.OnceValue(func() *template.Template { return template.Must(template.New("page").Parse(pageText)) })

// Options are what a page has beside its report.
type Options struct {
	say.Options
	Banner  template.HTML // above the report; whoever gives it answers for it
	Style   string        // more style, behind ours
	Script  string        // one script, at the end of the page; "" for none
	Connect bool          // the script may ask the place that the page came from
	Most    int           // bytes of the page, about; 0 for the usual number
}

// mostBytes is how large a page may become: what a phone opens without a wait. Ours.
const mostBytes = 5 << 20

// Write writes the report of all shows as one page.
func Write(w io.Writer, r *outcome.Report, o say.Options) error {
	page, err := Page(r, Options{Options: o})
	if err != nil {
		return err
	}
	if _, err := w.Write(page); err != nil {
		return fmt.Errorf("write the page: %w", err)
	}
	return nil
}

// Page is the report of all shows of r. A page that would become too large loses
// pictures, the least telling first, and says so.
func Page(r *outcome.Report, o Options) ([]byte, error) {
	if o.Most == 0 {
		o.Most = mostBytes
	}
	for thin := 0; ; thin++ {
		page, err := render(r, o, thin)
		if err != nil || len(page) <= o.Most || thin == len(thinner)-1 {
			return page, err
		}
	}
}

// page is what the template lays out.
type page struct {
	Head   template.HTML
	Title  string
	Banner template.HTML
	Kept   template.HTML // shapes that several pictures use
	Shows  []*show
	Script template.JS
}

func render(r *outcome.Report, o Options, thin int) ([]byte, error) {
	style := picture.Palette + picture.Style + pageStyle + o.Style
	p := page{Head: frame.Head(style, o.Script, o.Connect), Banner: o.Banner, Script: template.JS(o.Script)} //nolint:gosec // ours: a script of the program, never of a show
	if slices.ContainsFunc(r.Shows, func(s outcome.Show) bool { return s.Scene != nil }) {
		p.Kept = safe(draw.Figure(figureID).Hidden())
	}
	var titles []string
	for i := range r.Shows {
		s, err := showOf(r, i, o, thin)
		if err != nil {
			return nil, err
		}
		p.Shows = append(p.Shows, s)
		titles = append(titles, fmt.Sprintf("%s: %s", s.Verdict, s.Name))
	}
	p.Title = strings.Join(titles, "; ")
	var out bytes.Buffer
	if err := pageTemplate().Execute(&out, p); err != nil {
		return nil, fmt.Errorf("lay out the page: %w", err)
	}
	return out.Bytes(), nil
}
