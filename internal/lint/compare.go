package lint

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// largestReport is how much of a report of an earlier run is read: several times
// what the most results of a log take.
const largestReport = 256 << 20

// examine is a show, measured and judged by its own house, with no changes tried.
// Then is an earlier state of it, or nil.
func examine(path string, o Options, then *showCheck) (showCheck, error) {
	o.tells = true
	c, _, _, err := judge(path, o, then)
	if err != nil {
		return showCheck{}, err
	}
	list := []showCheck{c}
	sayWaivers(list, o.House.Today)
	finding.Sort(list[0].told.Findings)
	return list[0], nil
}

// Compare holds two states of a show against each other, each judged by the
// house file it has, and says how its looks differ. An error is a path that is no
// show.
func Compare(old, now string, o Options) (*outcome.Comparison, error) {
	for _, name := range []string{old, now} {
		if _, err := readReport(name); err == nil {
			return nil, fmt.Errorf("%s is a report of an earlier run; compare wants shows (check --base takes reports)", name)
		} else if !errors.Is(err, earlier.ErrNoReport) {
			return nil, err
		}
	}
	then, err := examine(old, o, nil)
	if err != nil {
		return nil, err
	}
	today, err := examine(now, o, &then)
	if err != nil {
		return nil, err
	}
	c := &outcome.Comparison{Version: o.Version, Old: sideOf(&then), New: sideOf(&today), Findings: today.told.Findings}
	var pairs *match.Pairs
	c.Change, pairs = earlier.Against(then.state(), today.state())
	c.Looks, c.SameLooks = earlier.Looks(then.measured, today.measured, pairs)
	if o.Pictures {
		c.OldScene, c.NewScene = sceneOf(&then, o), sceneOf(&today, o)
	}
	return c, nil
}

// state is what another state of the show is held against.
func (c *showCheck) state() *earlier.State {
	s := &earlier.State{
		Show: c.show, Files: c.told.Files, Findings: pointers(c.told.Findings), Rules: cards(c.setup.Rules),
		Told: map[string]map[string][]finding.Subject{}, None: map[string][]string{}, House: c.setup.review(),
	}
	if s.Show == nil {
		s.Show = &schema.Show{}
	}
	s.Things = match.Of(s.Show, tracking.Resolve(s.Show))
	for rule, subjects := range c.could {
		s.Told[rule] = subjects
	}
	for _, look := range c.told.Looked {
		if look.Subjects == 0 && len(look.None) > 0 {
			s.None[look.Rule] = look.None
		}
	}
	return s
}

// review lists what a house sets, by what it is about, for those who look at a change
// of it.
func (s *Setup) review() map[string]outcome.Review {
	set := map[string]outcome.Review{}
	if s.House == nil {
		return set
	}
	name := toldName(s.Found.Path)
	add := func(what string, at source.Place, format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		set[what+" "+text] = outcome.Review{What: what, Text: text + " (" + name + ").", Place: at}
	}
	for _, rule := range s.All.Rules {
		if on, by := s.House.Switched(rule.ID); !on && by != nil {
			add("rule", by.At, "%s is switched off", rule.ID)
		}
	}
	if s.House.Edition > 0 {
		add("edition", source.Place{File: s.House.File}, "this house holds to edition %d of the rules", s.House.Edition)
	}
	for _, l := range s.House.Limits {
		add("limit", l.At, "%s of %s is %s", l.Name, l.Rule, rules.FormatNumber(l.Value))
	}
	for _, l := range s.House.Levels {
		add("level", l.At, "findings of %s are %s", l.Rule, levelWords(l.Level))
	}
	for i := range s.House.Waivers {
		w := &s.House.Waivers[i]
		until := ""
		if w.Until != "" {
			until = " until " + w.Until
		}
		add("waiver", w.Place, "%s for %s is accepted%s by %s: %s", w.Rule, w.Subject, until, w.By, w.Reason)
	}
	return set
}

func sideOf(e *showCheck) outcome.Side {
	side := outcome.Side{Path: e.told.Path, Name: e.told.Name, Unreadable: e.told.Unreadable, Notes: e.told.Notes}
	for _, file := range e.told.Files {
		side.Files = append(side.Files, file.Name)
	}
	return side
}

func pointers(list []finding.Finding) []*finding.Finding {
	out := make([]*finding.Finding, len(list))
	for i := range list {
		out[i] = &list[i]
	}
	return out
}

// blind lists the rules that had nothing to look at, though the show should have
// given it, or in a show that lacks a whole section: what they found before is not
// put right.
func (c *showCheck) blind() map[string]bool {
	show := c.show
	bare := show == nil || show.Room == nil || len(show.Types) == 0 || len(show.Patch) == 0 || len(show.Cues) == 0 || len(show.Order) == 0
	rules := map[string]bool{}
	for _, look := range c.told.Looked {
		if look.Subjects == 0 && (bare || len(look.None) > 0) {
			rules[look.Rule] = true
		}
	}
	return rules
}

// reportBytes reads a file that may be a report of an earlier run. What is no ordinary file is
// none and is not opened: a pipe waits for a writer, and a device has no end.
func reportBytes(name string, info fs.FileInfo) ([]byte, error) {
	if !info.Mode().IsRegular() {
		return nil, earlier.ErrNoReport
	}
	tooLong := fmt.Errorf("%s has more than %d MiB; no report is that long", name, largestReport>>20)
	if info.Size() > largestReport {
		return nil, tooLong
	}
	data, err := source.ReadFirst(name, largestReport)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, source.Cause(err))
	}
	if len(data) > largestReport { // it grew meanwhile
		return nil, tooLong
	}
	return data, nil
}

// readReport reads a report of an earlier run; [earlier.ErrNoReport] is for what
// may be a show.
func readReport(name string) (earlier.Base, error) {
	if name == "-" {
		return earlier.Base{}, earlier.ErrNoReport
	}
	info, err := os.Stat(name)
	if err != nil {
		return earlier.Base{}, fmt.Errorf("%s cannot be opened: %w", name, source.Cause(err))
	}
	data, err := reportBytes(name, info)
	if err != nil {
		return earlier.Base{}, err
	}
	base, err := earlier.Read(data)
	switch {
	case errors.Is(err, earlier.ErrNoReport) && strings.EqualFold(filepath.Ext(name), ".sarif"):
		return base, fmt.Errorf("%s is no whole SARIF log", name)
	case err != nil && !errors.Is(err, earlier.ErrNoReport):
		return base, fmt.Errorf("%s cannot be used: %w", name, err)
	}
	base.Name = name
	return base, err
}

// baseOf reads what the shows are to be held against: a report, or the earlier
// state of the one show there is.
func baseOf(shows []string, o Options) (*baseline, error) {
	if o.Base == "" {
		return nil, nil
	}
	base, err := readReport(o.Base)
	o.read(o.Base)
	if err == nil {
		return &baseline{Base: base}, nil
	}
	if !errors.Is(err, earlier.ErrNoReport) {
		return nil, fmt.Errorf("--base: %w", err)
	}
	switch {
	case o.Base == "-":
		return nil, errors.New("--base: standard input is for the show; name a folder or a file")
	case len(shows) != 1:
		return nil, fmt.Errorf("--base: %s is a show, and there are several to hold against it; check one at a time, or give a report of all", o.Base)
	}
	then, err := examine(o.Base, o, nil)
	if err != nil {
		return nil, fmt.Errorf("--base: %w", err)
	}
	if then.told.Unreadable {
		return nil, fmt.Errorf("--base: a file of %s cannot be read, so everything would count as new; cueproof check %s says which", o.Base, o.Base)
	}
	return &baseline{earlier.Base{Name: o.Base}, &then}, nil
}

// baseline is what shows are held against; then is nil if that is a report.
type baseline struct {
	earlier.Base
	then *showCheck
}

// earlier is the earlier state of the show; nil if there is none, or only a report of it.
func (b *baseline) earlier() *showCheck {
	if b == nil {
		return nil
	}
	return b.then
}

// lookDifferent says how many looks are not what they were: a strobe that got faster
// may break the same rule as before, and is still to be seen.
func (b *baseline) lookDifferent(show *showCheck, pairs *match.Pairs) string {
	if b.then.measured == nil || show.measured == nil {
		return ""
	}
	changes, same := earlier.Looks(b.then.measured, show.measured, pairs)
	if len(changes) == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d looks are not what they were; cueproof compare %s %s says how.", len(changes), len(changes)+same, b.Name, show.told.Path)
}

// inside names a file of the earlier show as it is called in the one of today, so
// that what is gone stands where people look.
func inside(file, old, now string) string {
	from, to := path.Clean(filepath.ToSlash(old)), path.Clean(filepath.ToSlash(now))
	if file == from {
		return to
	}
	if rest, ok := strings.CutPrefix(file, strings.TrimSuffix(from, "/")+"/"); ok {
		return path.Join(to, rest)
	}
	return file
}

// holdAgainst marks all findings of the shows, and says what is gone and what can no
// longer be told.
func holdAgainst(base *baseline, shows []showCheck, least finding.Level) *outcome.Base {
	if base == nil {
		return nil
	}
	told := &outcome.Base{Name: base.Name}
	if base.then != nil { // one show against one
		now := &shows[0]
		var pairs *match.Pairs
		told.Change, pairs = earlier.Against(base.then.state(), now.state())
		if note := base.lookDifferent(now, pairs); note != "" {
			told.Notes = append(told.Notes, note)
		}
		for i := range told.Gone {
			told.Gone[i].File = inside(told.Gone[i].File, base.Name, now.told.Path)
		}
	} else {
		told.Change = base.againstReport(shows)
		told.Notes = append(told.Notes, "A report keeps no lists, so that one has lost its end shows only against the show itself.")
	}
	told.Gone = slices.DeleteFunc(told.Gone, func(p outcome.Past) bool { return !p.Level.AtLeast(least) })
	var counted []*finding.Finding
	for i := range shows {
		for _, f := range pointers(shows[i].told.Findings) {
			if f.Level.AtLeast(least) {
				counted = append(counted, f)
			}
		}
	}
	told.Counts = earlier.Count(counted, told.Gone)
	if base.LeftOut > 0 {
		told.Notes = append(told.Notes, "The base leaves out findings, so some that are called new may be old.")
	}
	return told
}

// againstReport holds shows against what a report keeps: names, amounts, and how often
// each rule could tell.
func (b *baseline) againstReport(shows []showCheck) (c outcome.Change) {
	var now []*finding.Finding
	blinds := map[string]int{}
	off := map[string]bool{}
	for i := range shows {
		now = append(now, pointers(shows[i].told.Findings)...)
		for rule := range shows[i].blind() {
			blinds[rule]++
		}
		for _, rule := range shows[i].setup.All.Rules {
			if _, runs := shows[i].setup.Rules.Find(rule.ID); !runs {
				off[rule.ID] = true
			}
		}
	}
	c.Gone = earlier.Mark(b.Findings, now, nil)
	for i := range c.Gone {
		past := &c.Gone[i]
		switch {
		case past.Verdict != finding.Fail:
		case off[past.Rule]:
			past.Review = outcome.SwitchedOff
		case blinds[past.Rule] == len(shows):
			past.Untold = true
		}
	}
	for rule := range b.Told {
		if blinds[rule] == len(shows) {
			c.Dark = append(c.Dark, outcome.Dark{Rule: rule, Why: "it has nothing to look at any more"})
		}
	}
	for _, f := range now {
		if f.Verdict == finding.Open && f.Base == finding.New && b.Told[f.Rule] {
			f.Base = finding.Untold
		}
		if f.Base == finding.Untold {
			c.Dark = append(c.Dark, outcome.Dark{Rule: f.Rule, About: []string{waiver.Subject(f.Subjects)}, Why: "for want of " + strings.Join(f.Missing, "; ")})
		}
	}
	slices.SortFunc(c.Dark, func(x, y outcome.Dark) int {
		return cmp.Or(cmp.Compare(x.Rule, y.Rule), slices.Compare(x.About, y.About))
	})
	return c
}

// dark keeps a show from being called ready of which less could be told than before.
func (c *showCheck) dark(base *outcome.Base) {
	if base == nil || !base.Failed() || c.told.Verdict != outcome.Ready {
		return
	}
	var rules []string
	for _, d := range base.Dark {
		if !slices.Contains(rules, d.Rule) {
			rules = append(rules, d.Rule)
		}
	}
	c.told.Verdict = outcome.WithCare
	what := "A list has lost some of what was in it."
	switch len(rules) {
	case 0:
	case 1:
		what = "1 rule can no longer tell what it could tell before."
	default:
		what = fmt.Sprintf("%d rules can no longer tell what they could tell before.", len(rules))
	}
	c.told.Because = what
	if len(base.Dark) > 0 {
		why := base.Dark[0].Why
		c.told.Because += " " + spelling.Capital(why) + "."
	}
}
