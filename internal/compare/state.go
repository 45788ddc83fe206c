package compare

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// State is one state of a show, as far as another is held against it.
type State struct {
	Show     *schema.Show
	Things   match.Things
	Files    []*source.File
	Findings []*finding.Finding
	Rules    []finding.Rule                          // those that looked, as their house has them
	Told     map[string]map[string][]finding.Subject // of what each rule could tell, by their names on one line
	None     map[string][]string                     // rules that had nothing to look at, with what the show would have to give
	House    map[string]outcome.Review               // what a house sets: switches, limits, levels and waivers, by what they are about
}

// Against holds a state against an earlier one: the findings of now are marked, and
// what is gone, no longer tellable or to be looked at by somebody is said, with what is
// called otherwise by now.
func Against(then, now *State) (outcome.Change, *match.Pairs) {
	a := against{then: then, now: now, pairs: match.Pair(then.Things, now.Things)}
	a.lists()
	var past []outcome.Past
	for _, f := range then.Findings {
		past = append(past, Of(f))
	}
	c := outcome.Change{Gone: Mark(past, now.Findings, a.pairs), Lost: a.lost}
	dark := a.dark()
	c.Dark = a.said(dark)
	for i := range c.Gone {
		a.why(&c.Gone[i], dark)
	}
	for _, f := range now.Findings { // what could be told, and was right, and cannot be told now
		if f.Base == finding.New && f.Verdict == finding.Open && a.wasTold(f) {
			f.Base = finding.Untold
		}
	}
	c.Review = a.review()
	c.Counts = Count(now.Findings, c.Gone)
	return c, a.pairs
}

type against struct {
	then, now *State
	pairs     *match.Pairs
	suspect   map[string]string // kinds of which a list may not be whole, with why
	lost      []string
}

// list is a list of a show that somebody may have cut, with the kinds of things that
// are in it.
type list struct {
	section, key string // the section of a show, and the key in it: room, places
	kind         string
	noun         string
}

var lists = []list{
	{"cues", "", "cue", "cues"}, {"patch", "", "channel", "fixtures"}, {"order", "", "segment", "segments"}, {"types", "", "type", "types"},
	{"room", "places", "place", "places"}, {"room", "cameras", "camera", "cameras"}, {"room", "surfaces", "screen", "surfaces"},
	{"room", "circuits", "circuit", "circuits"}, {"room", "paths", "path", "paths"}, {"room", "bars", "bar", "bars"}, {"room", "areas", "area", "areas"},
}

// lists finds the lists that are not given any more, that lost a third, or of which
// the end is missing.
func (a *against) lists() {
	a.suspect = map[string]string{}
	ends := cutFiles(a.then.Files, a.now.Files)
	for _, l := range lists {
		was, is := a.then.Things[l.kind], a.now.Things[l.kind]
		lost := 0
		for i := range was {
			if _, there := a.pairs.Now(l.kind, was[i].Name); !there {
				lost++
			}
		}
		file := ""
		if at, ok := a.now.Show.ReadFrom[l.section]; ok && at.File != nil {
			file = at.File.Name
		}
		switch {
		case len(was) == 0 || lost == 0 && len(is) > 0:
		case !given(a.now.Show, l):
			a.suspect[l.kind] = fmt.Sprintf("the show gives no %s any more", l.noun)
		case 3*lost >= len(was) && len(is) < len(was) && lost > 1:
			a.suspect[l.kind] = fmt.Sprintf("%d of %d %s are gone", lost, len(was), l.noun)
			if l.kind == "cue" || l.kind == "channel" {
				a.lost = append(a.lost, fmt.Sprintf("%d of the %d %s are gone: see whether this is the whole of the right file. It is no measure for later runs.", lost, len(was), l.noun))
			}
		case ends[file] > 0:
			a.suspect[l.kind] = fmt.Sprintf("%s ends earlier than it did, and is otherwise the same to the letter", baseName(file))
			a.lost = append(a.lost, fmt.Sprintf("%s ends %s earlier than it did, and is otherwise the same to the letter: see whether its end is missing.", baseName(file), spelling.Count(ends[file], "line")))
		}
	}
}

// given reports whether a show gives a list at all.
func given(show *schema.Show, l list) bool {
	if show == nil {
		return false
	}
	at, ok := show.ReadFrom[l.section]
	if !ok {
		return false
	}
	if l.key == "" {
		return true
	}
	_, ok = at.Get(l.key)
	return ok
}

// cutFiles says by name how many lines at their end files have lost that are
// otherwise what they were.
func cutFiles(then, now []*source.File) map[string]int {
	was := map[string]*source.File{}
	for _, file := range then {
		was[baseName(file.Name)] = file
	}
	cut := map[string]int{}
	for _, file := range now {
		before := was[baseName(file.Name)]
		if before == nil || len(file.Text) == 0 || len(file.Text) >= len(before.Text) {
			continue
		}
		if rest, ok := strings.CutPrefix(before.Text, file.Text); ok && strings.TrimSpace(rest) != "" {
			cut[file.Name] = strings.Count(strings.TrimSpace(rest), "\n") + 1
		}
	}
	return cut
}

func baseName(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// blind is one thing of which a rule could tell and cannot.
type blind struct {
	rule, subject string // the subject in the names of then, on one line
}

// darkness is what can no longer be told, with why.
type darkness map[blind]gap

type gap struct {
	about []finding.Subject // in the names of now, as far as there are any
	why   string
}

// dark finds what a rule could tell of then and cannot tell of now, though the thing
// is still there or only seems to be gone. A rule that does not run now is a matter
// for review.
func (a *against) dark() darkness {
	dark := darkness{}
	runs := map[string]bool{}
	for _, rule := range a.now.Rules {
		runs[rule.ID] = true
	}
	open := map[string]map[string][]string{} // by rule and subject: what is missing
	for _, f := range a.now.Findings {
		if f.Verdict == finding.Open {
			if open[f.Rule] == nil {
				open[f.Rule] = map[string][]string{}
			}
			open[f.Rule][key(f.Subjects)] = f.Missing
		}
	}
	keys, columns := a.lostKeys(), a.lostColumns()
	for rule, subjects := range a.then.Told {
		if !runs[rule] {
			continue
		}
		told := map[string]bool{}
		for k := range a.now.Told[rule] {
			told[k] = true
		}
		for was, about := range subjects {
			is, gone := a.named(about)
			now := key(is)
			switch missing, isOpen := open[rule][now]; {
			case gone != "":
				if why, suspect := a.suspect[gone]; suspect {
					dark[blind{rule, was}] = gap{about, why}
				}
			case isOpen:
				dark[blind{rule, was}] = gap{is, "for want of " + strings.Join(missing, "; ")}
			case told[now]:
			case len(a.now.None[rule]) > 0:
				dark[blind{rule, was}] = gap{is, "the show would have to give " + strings.Join(a.now.None[rule], "; ")}
			case columns != "":
				dark[blind{rule, was}] = gap{is, columns}
			default:
				for _, s := range about {
					if why := keys[s]; why != "" {
						dark[blind{rule, was}] = gap{is, why}
						break
					}
				}
			}
		}
	}
	return dark
}

// key is the names of a subject on one line, without what the show is called.
func key(about []finding.Subject) string {
	words := make([]string, len(about))
	for i, s := range about {
		words[i] = s.Kind + "=" + s.Name
		if s.Kind == "show" {
			words[i] = s.Kind
		}
	}
	return strings.Join(words, "\x00")
}

// named gives the names of now to things of then; gone is the kind of one that is no more.
func (a *against) named(about []finding.Subject) (is []finding.Subject, gone string) {
	for _, s := range about {
		link, ok := a.pairs.Now(s.Kind, s.Name)
		if !ok {
			return nil, cmp.Or(map[string]string{"surface": "screen"}[s.Kind], s.Kind)
		}
		is = append(is, finding.Subject{Kind: s.Kind, Name: link.Name})
	}
	return is, ""
}

// wasTold reports whether the rule of a finding could tell of its subject then.
func (a *against) wasTold(f *finding.Finding) bool {
	var then []finding.Subject
	for _, s := range f.Subjects {
		link, ok := a.pairs.Then(s.Kind, s.Name)
		if !ok {
			return false
		}
		then = append(then, finding.Subject{Kind: s.Kind, Name: link.Name})
	}
	return a.then.Told[f.Rule][key(then)] != nil
}

// said joins what can no longer be told by rule and reason.
func (a *against) said(dark darkness) []outcome.Dark {
	type cause struct{ rule, why string }
	about := map[cause][]string{}
	for b, g := range dark {
		words := make([]string, len(g.about))
		for i, s := range g.about {
			words[i] = s.String()
		}
		c := cause{b.rule, g.why}
		about[c] = append(about[c], strings.Join(words, " in "))
	}
	var list []outcome.Dark
	for c, names := range about {
		slices.Sort(names)
		list = append(list, outcome.Dark{Rule: c.rule, About: names, Why: c.why})
	}
	slices.SortFunc(list, func(a, b outcome.Dark) int { return cmp.Or(cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Why, b.Why)) })
	return list
}

// why says of what is gone whether it was put right.
func (a *against) why(past *outcome.Past, dark darkness) {
	if past.Untold || past.Verdict != finding.Fail {
		return
	}
	var card *finding.Rule
	for i := range a.now.Rules {
		if a.now.Rules[i].ID == past.Rule {
			card = &a.now.Rules[i]
		}
	}
	_, isDark := dark[blind{past.Rule, key(past.Subjects)}]
	_, gone := a.named(past.Subjects)
	switch {
	case strings.HasPrefix(past.Rule, "file/"):
		past.Untold = gone != "" && a.suspect[gone] != ""
	case card == nil:
		past.Review = outcome.SwitchedOff
	case isDark, gone != "" && a.suspect[gone] != "":
		past.Untold = true
	case gone == "" && a.meant(past, card):
		past.Review = outcome.MeantNow
	case a.limitChanged(card):
		past.Review = outcome.LimitChanged
	}
}

func (a *against) limitChanged(card *finding.Rule) bool {
	for i := range a.then.Rules {
		if a.then.Rules[i].ID == card.ID {
			return !slices.EqualFunc(a.then.Rules[i].Limits, card.Limits, func(x, y finding.Limit) bool { return x.Name == y.Name && x.Value == y.Value })
		}
	}
	return false
}

// meant reports whether the show says now, and did not say then, that what a rule
// found is meant.
func (a *against) meant(past *outcome.Past, card *finding.Rule) bool {
	then, now := intentsOf(a.then.Show), intentsOf(a.now.Show)
	about := slices.Clone(past.Subjects)
	for _, cue := range past.Cues {
		about = append(about, finding.Subject{Kind: "cue", Name: cue})
	}
	for _, s := range about {
		link, ok := a.pairs.Now(s.Kind, s.Name)
		if !ok {
			continue
		}
		for _, word := range card.Meant {
			if now[said{s.Kind, link.Name, word}] != nil && then[said{s.Kind, s.Name, word}] == nil {
				return true
			}
		}
	}
	return false
}

// said is an intent of a thing.
type said struct{ kind, name, word string }

// intentsOf lists what a show means, with the item that says so.
func intentsOf(show *schema.Show) map[said]*source.Ref {
	all := map[said]*source.Ref{}
	add := func(kind, name string, list []schema.Intent, at source.Ref) {
		for i := range list {
			all[said{kind, name, list[i].Intent}] = &at
		}
	}
	if show == nil {
		return all
	}
	if show.Room != nil {
		for _, p := range show.Room.Places {
			add("place", p.Name, p.Meant, p.At)
		}
	}
	for _, s := range show.Order {
		add("segment", s.Name, s.Meant, s.At)
	}
	for _, c := range show.Cues {
		add("cue", c.Number.String(), c.Meant, c.At)
	}
	return all
}

// review lists what changed in what is judged: rules, limits, levels, waivers, intents.
func (a *against) review() []outcome.Review {
	var list []outcome.Review
	for _, what := range slices.Sorted(maps.Keys(a.now.House)) {
		if _, there := a.then.House[what]; !there {
			list = append(list, a.now.House[what])
		}
	}
	for _, what := range slices.Sorted(maps.Keys(a.then.House)) {
		if _, there := a.now.House[what]; !there {
			r := a.then.House[what]
			list = append(list, outcome.Review{What: r.What, Text: "No more: " + r.Text})
		}
	}
	then, now := intentsOf(a.then.Show), intentsOf(a.now.Show)
	words := slices.SortedFunc(maps.Keys(now), func(x, y said) int {
		return cmp.Or(cmp.Compare(x.kind, y.kind), cmp.Compare(x.name, y.name), cmp.Compare(x.word, y.word))
	})
	for _, s := range words {
		if link, ok := a.pairs.Then(s.kind, s.name); ok && then[said{s.kind, link.Name, s.word}] != nil {
			continue
		}
		list = append(list, outcome.Review{What: "intent", Text: fmt.Sprintf("%s %s means %s now.", s.kind, s.name, s.word), Place: now[s].Place()})
	}
	return list
}
