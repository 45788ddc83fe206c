package loaders

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// mostAlike is how many findings of one kind are made about one file. A list
// with thousands of bad rows has one cause, and nobody reads the thousandth.
const mostAlike = 100

type countKey struct {
	rule string
	file *source.File
}

// count is how often something was found in a file; first is the first place
// that was left out.
type count struct {
	n     int
	first finding.Finding
}

// say adds a finding, up to mostAlike of a kind in a file.
func (l *loader) say(id string, f finding.Finding) {
	f.Rule = "file/" + id
	f.Verdict = finding.Fail
	key := countKey{f.Rule, f.Place.File}
	c := l.counts[key]
	if c == nil {
		c = &count{}
		l.counts[key] = c
	}
	c.n++
	switch {
	case c.n <= mostAlike:
		l.result.Findings = append(l.result.Findings, f)
	case c.n == mostAlike+1:
		c.first = f
	}
}

// fail adds a finding about something that was there and could not be read.
func (l *loader) fail(id string, f finding.Finding) {
	f.Level = finding.Error
	f.Consequence = finding.Dark
	l.result.Unreadable = true
	l.say(id, f)
}

// sayCounts tells how many findings were left out.
func (l *loader) sayCounts() {
	for _, c := range l.counts {
		if c.n <= mostAlike {
			continue
		}
		f := c.first
		f.Subjects = f.Subjects[len(f.Subjects)-1:]
		f.Detail = "more"
		f.Related = nil
		f.Message = fmt.Sprintf("%d more of this kind in %s are not listed. The first: %s", c.n-mostAlike, f.Place.File.Name, f.Message)
		l.result.Findings = append(l.result.Findings, f)
	}
}

// check adds what the schema of a section has to say about a value tree.
func (l *loader) check(section string, root source.Ref) {
	l.add(section, schema.Validate(section, root))
}

func (l *loader) add(section string, found []finding.Finding) {
	for _, f := range found {
		if len(f.Subjects) == 0 {
			f.Subjects = []finding.Subject{{Kind: "section", Name: section}}
		}
		l.result.Findings = append(l.result.Findings, f)
	}
}
