package history

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/waiver"
)

// step is a run held against the service that it is most like.
type step struct {
	salt     string
	now      Run
	then     *service // nil: there was none
	own      bool     // it is the same service, not only the nearest
	index    int
	things   match.Things
	findings []*finding.Finding // copies of those that fail, with hashes for names
	of       []*finding.Finding // the same as they are
	before   []int              // of each the entry that it answers, or -1
	untold   map[int]bool       // entries of which nobody can tell now
	fixed    int
}

// step finds what the run has in common with earlier ones.
func (h *History) step(now Run) *step {
	s := &step{salt: h.kept.Salt, now: now, untold: map[int]bool{}}
	if s.salt == "" {
		s.salt = hash("salt " + now.Date + showHash(now.Files))[:32]
	}
	s.things = match.Things{}
	for kind, list := range now.Things {
		for _, t := range list {
			t.Name, t.Title, t.In = s.hide(t.Name), s.hide(t.Title), s.hide(t.In)
			s.things[kind] = append(s.things[kind], t)
		}
	}
	for _, f := range now.Findings {
		hidden := *f
		hidden.Subjects, hidden.With, hidden.Detail, hidden.Cues = s.hideAll(f.Subjects), s.hideAll(f.With), s.hide(f.Detail), nil
		for _, cue := range f.Cues {
			hidden.Cues = append(hidden.Cues, s.hide(cue))
		}
		s.findings, s.of, s.before = append(s.findings, &hidden), append(s.of, f), append(s.before, -1)
	}
	s.pick(h.kept.Services)
	if s.then != nil {
		s.against()
	}
	return s
}

// hide returns a short hash of a name; nothing stays nothing.
func (s *step) hide(name string) string {
	if name == "" {
		return ""
	}
	return hash(s.salt + name)[:16]
}

func (s *step) hideAll(list []finding.Subject) (hidden []finding.Subject) {
	for _, one := range list {
		hidden = append(hidden, finding.Subject{Kind: one.Kind, Name: s.hide(one.Name)})
	}
	return hidden
}

// starts and path are what one service is told from another by: the clock time of the
// show, and what its folder is called, without digits, which are a date.
func (s *step) starts() string { return s.hide(s.now.Show.StartsAt) }

func (s *step) path() string {
	name := path.Base(strings.ReplaceAll(s.now.Path, "\\", "/"))
	return s.hide(strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, name))
}

// pick takes the service that has both in common with this run, or one of them, or
// else the last that ran. What begins at the same time is the same service, whatever its
// file is called by now.
func (s *step) pick(services []service) {
	best := -1
	for i := range services {
		same := 0
		if services[i].Starts == s.starts() {
			same += 2
		}
		if services[i].Path == s.path() {
			same++
		}
		if same >= best {
			best, s.then, s.index, s.own = same, &services[i], i, same == 3 || same == 2 && s.now.Show.StartsAt != ""
		}
	}
}

func (s *step) against() {
	past := make([]outcome.Past, len(s.then.Findings))
	for i := range past {
		past[i] = s.then.Findings[i].past()
	}
	at := map[string][]int{}
	for i := range past { // those of last time before those that were gone by then
		at[past[i].Fingerprint] = append(at[past[i].Fingerprint], i)
	}
	gone := compare.Mark(past, s.findings, match.Pair(s.then.things(), s.things))
	left := map[string]int{}
	for i := range gone {
		left[gone[i].Fingerprint]++
		entry := at[gone[i].Fingerprint][len(at[gone[i].Fingerprint])-left[gone[i].Fingerprint]]
		e := &s.then.Findings[entry]
		switch {
		case !e.Here:
		case gone[i].Untold || s.now.Blind[e.Rule] || s.now.Off[e.Rule]:
			s.untold[entry] = true
		default:
			s.fixed++
		}
	}
	for i, f := range s.findings {
		if f.Before == nil || f.Verdict != finding.Fail {
			continue
		}
		list := at[f.Before.Fingerprint]
		if len(list) > 0 {
			s.before[i], at[f.Before.Fingerprint] = list[0], list[1:]
		}
	}
}

// things are those of the last run.
func (s *service) things() match.Things {
	things := match.Things{}
	for kind, list := range s.Things {
		for i := range list {
			things[kind] = append(things[kind], list[i].match())
		}
	}
	return things
}

func (t *thing) match() match.Thing {
	out := match.Thing{Name: t.Name, Title: t.Title, In: t.In, Exact: t.Exact, Core: t.Core}
	for i := 0; i+1 < len(t.Levels); i += 2 {
		out.Sketch = append(out.Sketch, binary.BigEndian.Uint16(t.Levels[i:]))
	}
	return out
}

func (e *findingThen) past() outcome.Past {
	f := finding.Finding{Rule: e.Rule, Verdict: finding.Fail, Detail: e.Detail, Cues: e.Cues}
	for _, s := range e.About {
		f.Subjects = append(f.Subjects, finding.Subject{Kind: s[0], Name: s[1]})
	}
	for _, s := range e.With {
		f.With = append(f.With, finding.Subject{Kind: s[0], Name: s[1]})
	}
	if a := e.Amount; a != nil {
		f.Amount = &finding.Amount{Fact: a.Fact, Value: a.Value, Unit: a.Unit, Worse: finding.Direction(a.Worse), Margin: a.Margin}
	}
	p := compare.Of(&f)
	p.Key = e.Keys[len(e.Keys)-1]
	return p
}

// Since says how the run of now differs from the last of its service, in sentences;
// the first counts, the second names what is new, worse or back.
func (h *History) Since(now Run) []string {
	s := h.step(now)
	if s.then == nil {
		return []string{"This is the first run that the history remembers."}
	}
	var fresh, worse, back []string
	better := 0
	again := map[int]int{}
	for i, f := range s.findings {
		if f.Verdict != finding.Fail {
			continue
		}
		name := called(s.of[i])
		switch entry := s.before[i]; {
		case entry < 0:
			fresh = append(fresh, name)
		case !s.then.Findings[entry].Here:
			times := s.then.Findings[entry].Times + 1
			again[times]++
			back = append(back, fmt.Sprintf("%s for the %s time", name, ordinal(times)))
		case f.Base == finding.Worse:
			worse = append(worse, name)
		case f.Base == finding.Better:
			better++
		}
	}
	words := []string{fmt.Sprintf("%d fixed", s.fixed), fmt.Sprintf("%d new", len(fresh))}
	add := func(n int, word string) {
		if n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, word))
		}
	}
	add(len(worse), "worse")
	add(better, "better")
	for _, times := range slices.Sorted(maps.Keys(again)) {
		add(again[times], "back for the "+ordinal(times)+" time")
	}
	add(len(s.untold), "of which nobody can tell any more")
	list := []string{fmt.Sprintf("Since last time (%s): %s.", s.then.Date, strings.Join(words, ", "))}
	var named []string
	for _, group := range []struct {
		word  string
		names []string
	}{{"New", fresh}, {"Worse", worse}, {"Back", back}} {
		if len(group.names) > 0 {
			named = append(named, group.word+": "+spelling.Few(group.names, mostNamed))
		}
	}
	if len(named) > 0 {
		list = append(list, strings.Join(named, ". ")+".")
	}
	if orders := s.orders(); orders != "" {
		list = append(list, orders)
	}
	return list
}

// called is what a finding is about by today's names, with its rule.
func called(f *finding.Finding) string {
	words := make([]string, 0, len(f.Subjects))
	for _, s := range f.Subjects {
		if s.Kind == "show" {
			s.Name = ""
		}
		words = append(words, s.String())
	}
	return fmt.Sprintf("%s (%s)", strings.Join(words, " in "), f.Rule)
}

// mostNamed is how many things a step names before it counts.
const mostNamed = 3

// orders says what became of the orders of last time: one is done if nothing that it
// would have cleared is found any more. What is open and what is new is named.
func (s *step) orders() string {
	if len(s.then.Orders) == 0 {
		return ""
	}
	still := map[string]string{} // by fingerprint of then: today's name
	byKey := map[string]*finding.Finding{}
	for i, f := range s.findings {
		if s.before[i] >= 0 && s.then.Findings[s.before[i]].Here {
			still[f.Before.Fingerprint] = called(s.of[i])
		}
		byKey[s.of[i].Key()] = s.of[i]
	}
	for entry := range s.untold {
		p := s.then.Findings[entry].past()
		still[p.Fingerprint] = "one of which nobody can tell any more (" + p.Rule + ")"
	}
	old := map[string]bool{}
	var open, fresh []string
	for _, cures := range s.then.Orders {
		name := ""
		for _, fingerprint := range cures {
			name = cmp.Or(name, still[fingerprint])
			old[fingerprint] = true
		}
		if name != "" {
			open = append(open, name)
		}
	}
	for _, keys := range s.now.Orders {
		isNew := true
		for i, f := range s.findings {
			if f.Before != nil && old[f.Before.Fingerprint] && slices.Contains(keys, s.of[i].Key()) {
				isNew = false
			}
		}
		if isNew && len(keys) > 0 && byKey[keys[0]] != nil {
			fresh = append(fresh, called(byKey[keys[0]]))
		}
	}
	text := fmt.Sprintf("%d of %s of last time done", len(s.then.Orders)-len(open), spelling.Count(len(s.then.Orders), "order"))
	if len(open) > 0 {
		text += fmt.Sprintf("; %d open: %s", len(open), spelling.Few(open, mostNamed))
	}
	if len(fresh) > 0 {
		text += fmt.Sprintf("; %d new: %s", len(fresh), spelling.Few(fresh, mostNamed))
	}
	return text + "."
}

func ordinal(n int) string {
	words := []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}
	if n < len(words) {
		return words[n]
	}
	return spelling.Ordinal(n)
}

// Lost says in a sentence that a third of the cues or of the fixtures is gone, so that
// the run is no measure for later ones; "" where all is well.
func (h *History) Lost(now Run) string {
	s := h.step(now)
	if s.then == nil || !s.own { // another service may well be shorter
		return ""
	}
	for _, list := range []struct{ kind, noun string }{{"cue", "cues"}, {"channel", "fixtures"}} {
		was, is := len(s.then.Things[list.kind]), len(s.things[list.kind])
		if lost := was - is; lost > 1 && 3*lost >= was {
			return fmt.Sprintf("%d of the %d %s of last time are gone: see whether this is the whole of the right file.", lost, was, list.noun)
		}
	}
	return ""
}

// Keys answers the keys of earlier runs with those of today, where they are others.
func (h *History) Keys(now Run) map[string]string {
	s := h.step(now)
	keys := map[string]string{}
	for i, entry := range s.before {
		if entry < 0 {
			continue
		}
		today := s.of[i].Key()
		for _, old := range s.then.Findings[entry].Keys {
			if old != today {
				keys[old] = today
			}
		}
	}
	return keys
}

// Waivers says what the waivers that the service of this run knows are about by the
// names of now, by their ID. Of those that another service knows, only what is found
// here is told: what is not may well be in that one.
func (h *History) Waivers(now Run) map[string]waiver.Target {
	s := h.step(now)
	names := map[finding.Subject]string{}
	for kind, list := range now.Things {
		for _, t := range list {
			names[finding.Subject{Kind: kind, Name: s.hide(t.Name)}] = t.Name
		}
	}
	list := map[string]waiver.Target{}
	known := func(of *service, own bool) {
		if len(of.Waivers) == 0 {
			return
		}
		pairs := match.Pair(of.things(), s.things)
		for _, w := range of.Waivers {
			if _, ok := list[w.ID]; ok {
				continue
			}
			c := waiver.Target{Known: true, Whole: w.Whole}
			for _, about := range w.About {
				link, ok := pairs.Now(about[0], about[1])
				name, named := names[finding.Subject{Kind: match.KindOf(about[0]), Name: link.Name}]
				if about[0] == "show" {
					name, named = "", true
				}
				if !ok || !named {
					c.About = nil
					break
				}
				c.About = append(c.About, finding.Subject{Kind: about[0], Name: name})
			}
			if c.About != nil || own {
				list[w.ID] = c
			}
		}
	}
	if s.then != nil && s.own {
		known(s.then, true)
	}
	for i := range slices.Backward(h.kept.Services) { // the newest first
		known(&h.kept.Services[i], false)
	}
	return list
}

// mostKeys is how many earlier keys of one finding are kept.
const mostKeys = 8

// Add remembers the run of now. The same show on the same day is one run.
func (h *History) Add(now Run) {
	h.added = append(h.added, now)
	s := h.step(now)
	h.kept.Salt = s.salt
	next := service{
		Starts: s.starts(), Path: s.path(), Date: now.Date, Things: map[string][]thing{}, Findings: []findingThen{}, Orders: [][]string{},
	}
	for kind, list := range s.things {
		for i := range list {
			next.Things[kind] = append(next.Things[kind], keep(&list[i]))
		}
	}
	byKey := map[string][]string{}
	used := map[int]bool{}
	for i, f := range s.findings {
		if f.Verdict != finding.Fail {
			continue
		}
		e := entryOf(f, now.Date)
		key := s.of[i].Key()
		e.Keys = []string{key}
		if entry := s.before[i]; entry >= 0 {
			used[entry] = true
			old := &s.then.Findings[entry]
			e.Times = old.Times
			if !old.Here {
				e.Times++
			}
			e.Keys = append(slices.DeleteFunc(slices.Clone(old.Keys), func(k string) bool { return k == key }), key)
			e.Keys = e.Keys[max(0, len(e.Keys)-mostKeys):]
		}
		next.Findings = append(next.Findings, e)
		byKey[key] = append(byKey[key], f.Fingerprint())
	}
	if s.then != nil {
		next.Findings = append(next.Findings, s.gone(used)...)
	}
	for _, keys := range now.Orders {
		var cures []string
		for _, key := range keys {
			cures = append(cures, byKey[key]...)
		}
		if len(cures) > 0 {
			next.Orders = append(next.Orders, cures)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(now.Waivers)) {
		w := now.Waivers[id]
		next.Waivers = append(next.Waivers, waiverThen{id, pairsOf(s.hideAll(w.About)), w.Whole})
	}
	if s.own {
		h.kept.Services = slices.Delete(slices.Clone(h.kept.Services), s.index, s.index+1)
	}
	h.kept.Services = append(h.kept.Services, next)
	h.kept.Services = h.kept.Services[max(0, len(h.kept.Services)-mostServices):]
	again := runOf(now)
	if last, ok := h.last(); ok && last.Date == again.Date && last.Show == again.Show {
		h.kept.Runs = h.kept.Runs[:len(h.kept.Runs)-1]
	}
	h.kept.Runs = append(h.kept.Runs, again)
	h.kept.Runs = slices.Clone(h.kept.Runs[max(0, len(h.kept.Runs)-mostRuns):])
	h.kept.Services[len(h.kept.Services)-1].forget(h.kept.Runs[0].Date)
}

// gone are the entries that nothing of now answers, under the names that their things
// have by now; what names a thing that is no more can never come back under its name.
func (s *step) gone(used map[int]bool) (list []findingThen) {
	pairs := match.Pair(s.then.things(), s.things)
	for i := range s.then.Findings {
		if used[i] {
			continue
		}
		e := s.then.Findings[i]
		e.Here = e.Here && s.untold[i]
		ok := true
		rename := func(from [][2]string) (to [][2]string) {
			for _, about := range from {
				link, there := pairs.Now(about[0], about[1])
				ok = ok && there
				to = append(to, [2]string{about[0], link.Name})
			}
			return to
		}
		e.About, e.With = rename(e.About), rename(e.With)
		var cues []string
		for _, cue := range e.Cues {
			if link, there := pairs.Now("cue", cue); there {
				cues = append(cues, link.Name)
			}
		}
		e.Cues = cues
		if ok {
			list = append(list, e)
		}
	}
	return list
}

func keep(t *match.Thing) thing {
	out := thing{Name: t.Name, Title: t.Title, In: t.In, Exact: t.Exact, Core: t.Core}
	for _, part := range t.Sketch {
		out.Levels = binary.BigEndian.AppendUint16(out.Levels, part)
	}
	return out
}

func entryOf(f *finding.Finding, day string) findingThen {
	e := findingThen{Rule: f.Rule, About: pairsOf(f.Subjects), Detail: f.Detail, Cues: f.Cues, Times: 1, Here: true, Last: day}
	if len(f.With) > 0 {
		e.With = pairsOf(f.With)
	}
	if a := f.Amount; a != nil {
		e.Amount = &amount{a.Fact, a.Value, a.Unit, int(a.Worse), a.Margin}
	}
	return e
}

// pairsOf is kind and name of each; the show has none that lasts.
func pairsOf(list []finding.Subject) [][2]string {
	pairs := [][2]string{}
	for _, s := range list {
		if s.Kind == "show" {
			s.Name = ""
		}
		pairs = append(pairs, [2]string{s.Kind, s.Name})
	}
	return pairs
}

// forget drops what is gone and was last found before the oldest run, and of the rest
// what is too much: what is gone stands at the end, and goes first.
func (s *service) forget(oldest string) {
	s.Findings = slices.DeleteFunc(s.Findings, func(e findingThen) bool { return !e.Here && e.Last < oldest })
	s.Findings = s.Findings[:min(len(s.Findings), mostFindings)]
}
