// Package lint is the whole run: load, resolve, measure, judge, report.
//
// In go the names of shows and the rules, out comes one [report.Report].
// Everything wrong with a show is a finding in it; only a failure of ours or a
// show that is not there is an error. A newcomer's mistake would be to look for
// a rule here: this package knows no rule and no format.
package lint

import (
	"io"
	"runtime"
	"sync"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// Options are what a run is told.
type Options struct {
	Rules     *rules.Set
	Version   string
	MinLevel  finding.Level // findings below it are counted and left out; "" is note
	Stdin     io.Reader
	StdinName string
}

// Run checks the shows, several at a time, and reports them in the order given.
func Run(paths []string, o Options) (*report.Report, error) {
	if o.MinLevel == "" {
		o.MinLevel = finding.Note
	}
	shows := make([]report.Show, len(paths))
	errs := make([]error, len(paths))
	var wait sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, path := range paths {
		wait.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			shows[i], errs[i] = check(path, o)
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	r := &report.Report{Version: o.Version, Shows: shows}
	for _, rule := range o.Rules.Rules {
		r.Rules = append(r.Rules, rule.Rule)
	}
	r.Rules = append(r.Rules, fileRules(shows)...)
	return r, nil
}

// check is the line of the program, from a path to what is told about it.
func check(path string, o Options) (report.Show, error) {
	loaded, err := loaders.Load(path, loaders.Options{Stdin: o.Stdin, StdinName: o.StdinName})
	if err != nil {
		return report.Show{}, err
	}
	now := judge(loaded.Show, o.Rules)
	told := report.Show{
		Path: path, Files: loaded.Files, Notes: loaded.Notes, Unreadable: loaded.Unreadable,
		Findings: append(loaded.Findings, now.found...),
	}
	if loaded.Show != nil {
		told.Name = loaded.Show.Name
	}
	plan := planActions(loaded.Show, now, o.Rules)
	told.Actions, told.Untried = plan.actions, plan.untried
	told.NeedPerson = needPerson(told.Findings, plan.cured)
	told.Looked = looked(now.tallies)
	told.Gaps = gaps(told.Findings, now.tallies, o.Rules)
	told.ByEye = byEye
	told.Verdict, told.Because = verdict(&told, loaded.Show)
	leaveOut(&told, o.MinLevel)
	finding.Sort(told.Findings)
	return told, nil
}

// judged is what the rules say of one state of a show.
type judged struct {
	found   []finding.Finding
	tallies []rules.Tally
}

func judge(show *schema.Show, set *rules.Set) judged {
	if show == nil {
		show = &schema.Show{}
	}
	looks := tracking.Resolve(show)        // resolve
	measured := facts.Measure(show, looks) // measure
	found, tallies := set.Judge(measured)  // judge
	return judged{found, tallies}
}

// leaveOut drops the findings below the level that was asked for.
func leaveOut(told *report.Show, least finding.Level) {
	keep := func(list []finding.Finding) []finding.Finding {
		kept := []finding.Finding{}
		for _, f := range list {
			if f.Level.AtLeast(least) {
				kept = append(kept, f)
			}
		}
		return kept
	}
	all := len(told.Findings)
	told.Findings = keep(told.Findings)
	told.NeedPerson = keep(told.NeedPerson)
	told.LeftOut = all - len(told.Findings)
	actions := []report.Action{}
	for _, action := range told.Actions {
		if action.Level.AtLeast(least) {
			actions = append(actions, action)
		}
	}
	told.Actions = actions
}
