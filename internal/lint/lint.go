// Package lint is the whole run: load, resolve, measure, judge, report.
//
// In go the names of shows and the rules, out comes one [report.Report].
// Everything wrong with a show is a finding in it; only a failure of ours or a
// show that is not there is an error. A newcomer's mistake would be to look for
// a rule here: this package knows no rule and no format.
package lint

import (
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
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
	House     HouseOptions
	Minutes   float64  // choose the changes that fit into this time; 0 for all
	Try       string   // the new folder for a corrected copy of the one show; "" for none
	Fixes     bool     // work out exact replacements for each change
	Base      string   // an earlier state to hold the shows against: a show, or a report of an earlier run
	History   *History // what earlier runs of the show left behind, for one show at a time; nil: nothing is remembered

	Out *outfile.Guard // is told of every file that is read, and writes what is written; nil: one that knows nothing
}

func (o Options) read(names ...string) {
	if o.Out != nil {
		o.Out.Read(names...)
	}
}

// load reads a show in the words of its house.
func (o Options) load(path string, setup *Setup) (loaders.Result, error) {
	loaded, err := loaders.Load(path, loaders.Options{Stdin: o.Stdin, StdinName: o.StdinName, Aliases: setup.Aliases})
	for _, file := range loaded.Files {
		o.read(file.Name)
	}
	return loaded, err
}

// Run checks the shows, several at a time, and reports them in the order given.
func Run(paths []string, o Options) (*outcome.Report, error) {
	if o.MinLevel == "" {
		o.MinLevel = finding.Note
	}
	base, err := baseOf(paths, o)
	if err != nil {
		return nil, err
	}
	each := make([]checked, len(paths))
	errs := make([]error, len(paths))
	if err := cores.Jobs(len(paths), func(i int) { each[i], errs[i] = check(paths[i], o) }); err != nil {
		return nil, err
	}
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	if len(each) == 1 {
		each[0].remember(o.History, o.House.Today)
	}
	sayWaivers(each, o.House.Today)
	r := &outcome.Report{Version: o.Version, Base: holdAgainst(base, each, o.MinLevel)}
	for i := range each {
		each[i].finish(o)
		r.Shows = append(r.Shows, each[i].told)
		for _, rule := range each[i].setup.Rules.Rules { // where two houses differ, each finding has its own limit
			if !slices.ContainsFunc(r.Rules, func(card finding.Rule) bool { return card.ID == rule.ID }) {
				r.Rules = append(r.Rules, rule.Rule)
			}
		}
	}
	slices.SortFunc(r.Rules, func(a, b finding.Rule) int { return strings.Compare(a.ID, b.ID) })
	r.Rules = append(r.Rules, fileRules(r.Shows)...)
	return r, nil
}

// check is the line of the program, from a path to what is told about it.
func check(path string, o Options) (checked, error) {
	setup, err := SetUp(path, o)
	if err != nil {
		return checked{}, err
	}
	loaded, err := o.load(path, setup)
	if err != nil {
		return checked{}, err
	}
	now := judge(loaded.Show, setup.Rules)
	covers := setup.accept(now.found, o.House.Today)
	for i, covered := range setup.accept(loaded.Findings, o.House.Today) {
		covers[i] = covers[i] || covered
	}
	told := outcome.Show{
		Path: path, Files: loaded.Files, Notes: append(loaded.Notes, setup.Notes...), Unreadable: loaded.Unreadable,
		Findings: slices.Concat(loaded.Findings, setup.Beyond, now.found),
	}
	if loaded.Show != nil {
		told.Name = loaded.Show.Name
	}
	plan, err := planActions(loaded.Show, now, setup, o)
	if err != nil {
		return checked{}, err
	}
	told.Orders, told.Untried = tell(plan.steps, setup.Rules), plan.untried
	told.Minutes, told.Undone = o.Minutes, tell(plan.undone, setup.Rules)
	if o.Fixes && loaded.Show != nil {
		if err := fixes(told.Orders, plan, setup.Aliases); err != nil {
			return checked{}, err
		}
	}
	if o.Try != "" {
		t := trial{path: path, loaded: loaded, setup: setup, prover: plan.prover, start: plan.start, steps: plan.steps, writer: o.Out}
		if told.Tried, err = t.try(o.Try); err != nil {
			return checked{}, err
		}
	}
	told.Looked = looked(now.tallies)
	told.Gaps = gaps(told.Findings, now.tallies, setup.Rules)
	told.ByEye = byEye
	return checked{told: told, show: loaded.Show, setup: setup, covers: covers, cured: curedBy(plan.steps, plan.undone)}, nil
}

// finish has the last word about a show, when all that there is to say is found.
func (c *checked) finish(o Options) {
	told := &c.told
	told.NeedPerson = needPerson(told.Findings, c.cured)
	told.Verdict, told.Because = verdict(told, c.show)
	told.Because += c.aside()
	leaveOut(told, o.MinLevel)
	finding.Sort(told.Findings)
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
func leaveOut(told *outcome.Show, least finding.Level) {
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
}
