// Package live keeps the last good state of a show while its files change.
//
// In goes a function that checks the show, out come its last report that could be made,
// why there is none of now, and what changed. Nothing is written and no clock is looked
// at. A newcomer's mistake would be to show nothing because a file is half written: people
// read the state before it meanwhile.
package live

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
)

// Show is a show that is checked again and again.
type Show struct {
	Path string

	// Check makes a report of this one show. Early is told what was found before what to
	// change is worked out, where that takes longer.
	Check func(path string, early func(*outcome.Report)) (*outcome.Report, error)

	Soon   *outcome.Report // what was found in the state of now, while changes are worked out; nil: all of it is known
	Good   *outcome.Report // of the last state that could be read; nil: there was none yet
	Wrong  []string        // why the state of now cannot be shown, in sentences; nil if it can
	Change *Change         // from the good state before; nil for the first
}

// take has what a check found. The last good state stays if the one of now cannot be read.
func (s *Show) take(r *outcome.Report, err error) {
	s.Soon = nil
	if err != nil {
		first, _, _ := strings.Cut(err.Error(), "\n") // behind it is where in our code, if the fault is ours
		s.Wrong = []string{say.Period(say.OneLine(first))}
		return
	}
	if s.Wrong = wrong(r); s.Wrong != nil && (s.Good != nil || len(r.Shows) == 0) {
		return
	}
	s.changed(r)
	s.Good = r
}

func (s *Show) changed(r *outcome.Report) {
	if s.Good != nil {
		change := Between(s.Good, r)
		s.Change = &change
	}
}

// Again checks those shows of which files changed, or all if something changed that is
// theirs together. Changed are cleaned names. Soon is called, by one at a time, when what
// was found in a show is known before what to do about it; nil: nobody asks. The error is
// a panic of ours, or of soon.
func Again(shows []Show, changed []string, soon func() error) error {
	own := map[string]bool{}
	for i := range shows {
		own[filepath.Clean(shows[i].Path)] = true
	}
	all := slices.ContainsFunc(changed, func(name string) bool { return !own[name] })
	var those []*Show
	for i := range shows {
		if all || slices.Contains(changed, filepath.Clean(shows[i].Path)) {
			those = append(those, &shows[i])
		}
	}
	var mu sync.Mutex // of all shows: who is told of one looks at all
	var problems []error
	err := cores.Jobs(len(those), func(i int) {
		s := those[i]
		r, err := s.Check(s.Path, func(early *outcome.Report) {
			mu.Lock()
			defer mu.Unlock()
			if soon == nil || wrong(early) != nil {
				return
			}
			s.Soon, s.Wrong = early, nil
			s.changed(early)
			problems = append(problems, soon())
		})
		mu.Lock()
		defer mu.Unlock()
		s.take(r, err)
	})
	return errors.Join(append(problems, err)...)
}

// mostWrong is how many reasons are told; the first is usually the one.
const mostWrong = 3

// wrong says why a report is no state that people should look at.
func wrong(r *outcome.Report) (list []string) {
	for i := range r.Shows {
		told := &r.Shows[i]
		if !told.Unreadable && told.Verdict != outcome.NotChecked {
			continue
		}
		for _, f := range told.Findings {
			if f.Verdict == finding.Fail && strings.HasPrefix(f.Rule, "file/") && f.Level == finding.Error && len(list) < mostWrong {
				list = append(list, say.Period(say.OneLine(f.Message))+" ("+say.Where([]source.Place{f.Place})+")")
			}
		}
		if len(list) == 0 {
			list = append(list, say.Period(say.OneLine(told.Because)))
		}
	}
	return list
}

// Change is what one state of a show has other than the one before it.
type Change struct {
	Counts outcome.Counts
	Done   []string // orders of before that need not be done any more
	New    []string // what was not there before
	Worse  []string
}

// Between holds two reports of one show against each other. Neither is changed.
func Between(then, now *outcome.Report) (c Change) {
	var before []outcome.Past
	for i := range then.Shows {
		for k := range then.Shows[i].Findings {
			before = append(before, compare.Of(&then.Shows[i].Findings[k]))
		}
	}
	var after []*finding.Finding
	for i := range now.Shows {
		for _, f := range now.Shows[i].Findings { // copies, which are marked
			after = append(after, &f)
		}
	}
	gone := compare.Mark(before, after, nil)
	looked, looks := looked(then), looked(now)
	fixed := map[string]bool{}
	for i := range gone {
		past := &gone[i]
		if past.Verdict == finding.Fail && looked[past.Rule] && !looks[past.Rule] {
			past.Untold = true // with nothing to look at nothing is put right
		}
		fixed[past.Key] = !past.Untold
	}
	c.Counts = compare.Count(after, gone)
	for _, f := range after {
		if f.Verdict != finding.Fail || f.Accepted != nil {
			continue
		}
		switch f.Base {
		case finding.New:
			c.New = append(c.New, f.Message)
		case finding.Worse:
			c.Worse = append(c.Worse, f.Message)
		}
	}
	for i := range then.Shows {
		for _, order := range then.Shows[i].Orders {
			if len(order.Cures) > 0 && !slices.ContainsFunc(order.Cures, func(key string) bool { return !fixed[key] }) {
				c.Done = append(c.Done, order.Do)
			}
		}
	}
	return c
}

// looked are the rules that had something to look at.
func looked(r *outcome.Report) map[string]bool {
	rules := map[string]bool{}
	for i := range r.Shows {
		for _, look := range r.Shows[i].Looked {
			rules[look.Rule] = rules[look.Rule] || look.Subjects > 0
		}
	}
	return rules
}

// Lines says a change, a sentence a line, with at most so many of each kind.
func (c *Change) Lines(most int) []string {
	if c == nil {
		return nil
	}
	n := c.Counts
	if len(c.Done) == 0 && n.New == 0 && n.Worse == 0 && n.Fixed == 0 && n.Better == 0 && n.Untold == 0 && n.Review == 0 {
		return []string{"Saved, and nothing that is told has changed."}
	}
	list := []string{"Since the state before: " + say.Counts(n) + "."}
	add := func(word string, all []string) {
		for i, text := range all {
			if i == most {
				list = append(list, fmt.Sprintf("%s: and %d more.", word, len(all)-i))
				return
			}
			list = append(list, word+": "+say.Period(say.OneLine(text)))
		}
	}
	add("Done", c.Done)
	add("New", c.New)
	add("Worse", c.Worse)
	return list
}
