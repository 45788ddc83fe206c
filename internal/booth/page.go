package booth

import (
	"bytes"
	"cmp"
	_ "embed" // style, script and template
	"fmt"
	"html/template"
	"slices"
	"sync"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/live"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/say"
)

//go:embed booth.css
var style string

//go:embed booth.js
var script string

//go:embed banner.html
var bannerText string

var bannerTemplate = sync.OnceValue(func() *template.Template { return template.Must(template.New("banner").Parse(bannerText)) })

// mostTold is how many orders done, new findings and worse ones the banner names each.
const mostTold = 4

// banner is what stands above the reports.
type banner struct {
	State int
	Soon  bool // of a show below nobody knows yet what to change
	Shows []stands
	Asks  bool
}

// stands is how a show stands. All is plain text.
type stands struct {
	Name        string
	Wrong, News []string
	Good        bool // there is a last good state
}

// Page makes the page of shows as they stand. State is its number; asks says whether it may
// ask what would be.
func Page(shows []live.Show, state int, asks bool) ([]byte, error) {
	above, err := above(shows, state, asks)
	if err != nil {
		return nil, err
	}
	all := &outcome.Report{}
	for i := range shows {
		good := cmp.Or(shows[i].Soon, shows[i].Good)
		if good == nil {
			continue
		}
		all.Version = good.Version
		all.Shows = append(all.Shows, good.Shows...)
		for _, rule := range good.Rules {
			if !slices.ContainsFunc(all.Rules, func(card finding.Rule) bool { return card.ID == rule.ID }) {
				all.Rules = append(all.Rules, rule)
			}
		}
	}
	return html.Page(all, html.Options{Options: say.Options{}, Banner: above, Style: style, Script: script, Connect: true})
}

// above is what stands above the reports.
func above(shows []live.Show, state int, asks bool) (template.HTML, error) {
	top := banner{State: state, Asks: asks}
	for i := range shows {
		s := &shows[i]
		one := stands{Name: say.OneLine(s.Path), Wrong: s.Wrong, Good: s.Good != nil}
		if good := cmp.Or(s.Soon, s.Good); good != nil {
			for k := range good.Shows {
				if name := good.Shows[k].Name; name != "" {
					one.Name = say.OneLine(name)
				}
			}
		}
		if s.Wrong == nil {
			one.News = s.Change.Lines(mostTold)
		}
		top.Soon = top.Soon || s.Soon != nil
		top.Shows = append(top.Shows, one)
	}
	var out bytes.Buffer
	if err := bannerTemplate().Execute(&out, top); err != nil {
		return "", fmt.Errorf("lay out the banner: %w", err)
	}
	return template.HTML(out.String()), nil //nolint:gosec // escaped by html/template
}
