// Package lint is the whole run: load, resolve, measure, judge, report.
//
// In go the names of shows and the rules, out comes one [outcome.Report].
// Everything wrong with a show is a finding in it; only a failure of ours or a
// show that is not there is an error. A newcomer's mistake would be to look for
// a rule here: this package knows no rule and no format.
package lint

import (
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/plan"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/verdict"
	"github.com/cueproof/cueproof/internal/waiver"
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
	Exports   Exports  // what exports leave open; wins over the house
	Minutes   float64  // choose the changes that fit into this time; 0 for all
	Near      bool     // doors are near: what is riskier now than the fault is left
	Try       string   // the new folder for a corrected copy of the one show; "" for none
	Fixes     bool     // work out exact replacements for each change
	Base      string   // an earlier state to hold the shows against: a show, or a report of an earlier run
	History   *History // what earlier runs of the show left behind, for one show at a time; nil: nothing is remembered
	Short     bool     // only what fits on a screen will be told: what nobody can tell of very many things is one finding
	Asks      bool     // the history is only asked for names and keys: nothing is told of it, and nothing is added

	Pictures bool                            // work out what pictures are drawn from
	Tell     func(what string, done, of int) // is told what is being done and how far it is; nil: nobody asks
	Early    func(*outcome.Report)           // is told what was found in a show, before changes to it are tried; nil: nobody asks

	tells bool // the show will be held against an earlier state

	Out *outfile.Guard // is told of every file that is read, and writes what is written; nil: one that knows nothing
}

// tell says what is being done, where nobody can say how far it is.
func (o Options) tell(what string) {
	if o.Tell != nil {
		o.Tell(what, 0, 0)
	}
}

func (o Options) read(names ...string) {
	if o.Out != nil {
		o.Out.Read(names...)
	}
}

// load reads a show in the words of its house.
func (o Options) load(path string, setup *Setup) (loaders.Result, error) {
	loaded, err := loaders.Load(path, o.reading(setup))
	for _, file := range loaded.Files {
		o.read(file.Name)
	}
	return loaded, err
}

// reading is how files are read in a house.
func (o Options) reading(setup *Setup) loaders.Options {
	options := loaders.Options{Stdin: o.Stdin, StdinName: o.StdinName, Aliases: setup.Aliases, Levels: setup.Scale, Unlisted: setup.Exports.Unlisted}
	options.Origin, options.TurnDeg = setup.Exports.mapping()
	return options
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
	o.tells = base.earlier() != nil
	each := make([]showCheck, len(paths))
	errs := make([]error, len(paths))
	if err := cores.Jobs(len(paths), func(i int) { each[i], errs[i] = check(paths[i], o, base.earlier()) }); err != nil {
		return nil, err
	}
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	if len(each) == 1 {
		each[0].remember(o.History, o.House.Today, o.Asks)
	}
	sayWaivers(each, o.House.Today)
	r := &outcome.Report{Version: o.Version, Base: holdAgainst(base, each, o.MinLevel)}
	for i := range each {
		each[i].finish(o)
		each[i].dark(r.Base)
		each[i].receipt(o)
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

// early is a report of what was found in a show before any change to it was tried, with
// its pictures, and without orders and a verdict.
func (c showCheck) early(o Options, now *proof.State) *outcome.Report {
	each := []showCheck{c}
	sayWaivers(each, o.House.Today)
	told := &each[0].told
	told.Findings = slices.Clone(told.Findings) // the others go on
	leaveOut(told, o.MinLevel)
	finding.Sort(told.Findings)
	told.Verdict, told.Because = outcome.Early, "What was found is of the files as they are now. What to change is being worked out."
	if show := now.Show; show.Room != nil {
		told.Room = show.Room.Name
	}
	told.Day = now.Show.Date
	if o.Pictures {
		told.Scene = picture(now, &plan.Plan{}, c.setup.Rules, o)
	}
	shows := []outcome.Show{*told}
	return &outcome.Report{Version: o.Version, Shows: shows, Rules: append(cards(c.setup.Rules), fileRules(shows)...)}
}

// check is the line of the program, from a path to what is told about it.
// Then is the earlier state that it is held against, if there is one.
func check(path string, o Options, then *showCheck) (showCheck, error) {
	c, now, other, err := judge(path, o, then)
	if err != nil {
		return showCheck{}, err
	}
	told, setup := &c.told, c.setup
	if o.Early != nil && slices.ContainsFunc(now.Found, func(f finding.Finding) bool { return f.Verdict == finding.Fail && f.Accepted == nil }) {
		o.Early(c.early(o, now)) // where nothing is wrong, all of it comes soon
	}
	o.tell("looking for changes")
	var earlier *schema.Show
	if then != nil {
		earlier = then.show
	}
	hold := func(found []finding.Finding) {
		other.hold(found)
		c.unread.hold(found)
	}
	todo, err := plan.Make(now, plan.Options{
		Rules: setup.Rules, Least: o.MinLevel, Minutes: o.Minutes, Near: o.Near, Files: c.loaded.Findings, Base: earlier,
		Accept: func(found []finding.Finding) {
			hold(found)
			setup.accept(o.House.Today, found)
		},
	})
	if err != nil {
		return showCheck{}, err
	}
	told.Orders, told.Undone = todo.Orders()
	told.Untried, told.Minutes = todo.Untried, o.Minutes
	if o.Fixes {
		if err := fixes(told.Orders, todo, setup); err != nil {
			return showCheck{}, err
		}
	}
	if o.Try != "" {
		t := trial{path: path, loaded: c.loaded, setup: setup, plan: todo, steps: todo.Steps, writer: o.Out, reading: o.reading(setup), hold: hold}
		if told.Tried, err = t.try(o.Try); err != nil {
			return showCheck{}, err
		}
	}
	c.stale = wheres(staleBy(now.Show, todo.Steps))
	told.Gaps = verdict.Gaps(told.Findings, now.Tallies, setup.Rules, told.Files)
	told.ByEye = verdict.ByEye
	c.cured, c.waiting = todo.Cured(), todo.Waiting()
	if o.Base == "" {
		c.measured = nil
	}
	if show := now.Show; show.Room != nil {
		told.Room = show.Room.Name
	}
	told.Day = now.Show.Date
	if o.Pictures {
		told.Scene = picture(now, todo, setup.Rules, o)
	}
	return c, nil
}

// mostApart is how many things have a finding of their own where a rule cannot tell for
// want of the same and only a screen of it will be told.
const mostApart = 200

// acceptsGaps reports whether the house has accepted that something cannot be told: then each thing
// of which nobody can tell needs the finding that this is about.
func (s *Setup) acceptsGaps() bool {
	return s.House != nil && slices.ContainsFunc(s.House.Waivers, func(w waiver.Waiver) bool { return w.Verdict == finding.Open })
}

// judge is the line up to where changes are tried: a show with all that is found in
// it and with what its house accepts. Then is the earlier state that it is held
// against, or nil. The state is for plans; the other reading, if there is one, is to
// be held against what they find.
func judge(path string, o Options, then *showCheck) (showCheck, *proof.State, *otherReading, error) {
	setup, err := SetUp(path, o)
	if err != nil {
		return showCheck{}, nil, nil, err
	}
	if o.Short && then == nil && !setup.acceptsGaps() {
		setup.Rules = &rules.Set{Rules: setup.Rules.Rules, Apart: mostApart}
	}
	loaded, err := o.load(path, setup)
	if err != nil {
		return showCheck{}, nil, nil, err
	}
	o.tell("measuring and judging")
	measured := calibrate.Run(loaded.Show) // what was measured beats what a data sheet says
	loaded.Show = measured.Show
	loaded.Findings = append(loaded.Findings, measured.Findings...)
	asSentences(loaded.Findings)
	loaded.Notes = append(loaded.Notes, measured.Notes...)
	look := proof.Check // resolve, measure, judge
	if o.tells {
		look = proof.CheckAndTell
	}
	now := look(loaded.Show, setup.Rules)
	other, err := readOtherwise(loaded.Show, setup.Rules)
	if err != nil {
		return showCheck{}, nil, nil, err
	}
	elsewhere := other.more(now.Found)
	other.hold(now.Found)
	lost := unreadOf(loaded.Findings, loaded.Show)
	lost.hold(now.Found)
	lost.hold(loaded.Findings)
	untrusted, turns := now.Doubt(setup.Rules)
	idle := setup.Rules.Idle(loaded.Show, now.Tallies)
	setup.carry(path, loaded.Show, loaded.Files, o.History, then)
	uses := setup.accept(o.House.Today, now.Found, untrusted, loaded.Findings, elsewhere, idle)
	all := now.Found
	if len(loaded.Findings)+len(setup.Beyond)+len(elsewhere)+len(untrusted)+len(idle) > 0 {
		all = slices.Concat(loaded.Findings, setup.Beyond, now.Found, elsewhere, untrusted, idle)
	}
	told := outcome.Show{
		Path: path, Files: loaded.Files, Notes: append(loaded.Notes, setup.Notes...), Unreadable: loaded.Unreadable,
		Name: now.Show.Name, Findings: all, Assumed: turns,
		Looked: verdict.Looked(now.Tallies),
	}
	// What was found of the show is in memory once: nobody writes what a plan goes by before that is done.
	first := len(loaded.Findings) + len(setup.Beyond)
	now.Found = told.Findings[first : first+len(now.Found) : first+len(now.Found)]
	if meant := verdict.Meant(now.Tallies); meant != "" {
		told.Notes = append(told.Notes, meant)
	}
	return showCheck{told: told, show: loaded.Show, unread: lost, setup: setup, uses: uses, loaded: loaded, could: now.Told, measured: now.Facts}, now, other, nil
}

// finish has the last word about a show, when all that there is to say is found.
func (c *showCheck) finish(o Options) {
	told := &c.told
	finding.Sort(told.Findings) // where they stand now they stay
	told.NeedPerson = verdict.NeedPerson(told.Findings, c.cured)
	told.Tasks = append(c.unread.writeAgain(told), plan.Tasks(told.NeedPerson, c.show, c.setup.Rules, c.waiting)...)
	told.Verdict, told.Because = verdict.Of(told, c.show)
	told.Because += c.aside()
	told.Tasks = append(told.Tasks, measureAgain(c.stale)...)
	leaveOut(told, o.MinLevel)
}

// leaveOut drops the findings below the level that was asked for.
func leaveOut(told *outcome.Show, least finding.Level) {
	if least == finding.Note { // nothing is below it
		return
	}
	all := told.Findings
	told.Findings = make([]finding.Finding, 0, len(all)) // what needs a person points at those that there were
	for i := range all {
		if f := &all[i]; f.Level.AtLeast(least) {
			told.Findings = append(told.Findings, *f)
		} else {
			told.LeftOut += f.Things()
		}
	}
	told.NeedPerson = slices.DeleteFunc(told.NeedPerson, func(f *finding.Finding) bool { return !f.Level.AtLeast(least) })
}
