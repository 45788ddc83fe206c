package plan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// mostCandidates bounds the ways that are weighed for one finding, and mostSentences
// what an order may ask for: somebody in a hurry does not get more right. Orders are put
// together as long as mostLetters hold them, which are four lines of a screen. All are
// common practice, no source.
const (
	mostCandidates = 8
	mostSentences  = 6
	mostLetters    = 300
)

// cure is one change, and the findings that asked for it, gravest first.
type cure struct {
	id     string
	edits  []source.Edit
	rule   string   // of the finding that it is looked for
	why    string   // the identity of that
	asked  []string // the identities of all
	effect string
	way    int    // of the rule's ways to mend it; below 0 for what was found in the show itself
	free   bool   // it is no cure if it has any price
	cause  string // what was looked for, of those that were found
}

// walk proves one change after the other: for the gravest finding that has one left
// to try, the best of its candidates. After each change the rules propose anew, so
// two fixtures are never given the same free address.
func (p *prover) walk(now *proof.State) (steps []Step, untried int, err error) {
	refused := refusals{}
	vain := map[string]int{} // refused in a row, by rule
	given := givenValues{}
	offers := p.offers(now)
	since := 0             // steps when everything was tried last
	held := map[int]bool{} // findings with a cure that would give anew what was given
	for at := 0; at < len(offers.turns) || len(steps) > since; {
		if at == len(offers.turns) { // what was refused may hold with the changes that were made since
			since, at = len(steps), 0
			refused.reconsider(now)
			clear(vain)
			continue
		}
		turn := offers.turns[at]
		f := &offers.order[turn.finding]
		if vain[f.Rule] >= mostRefused {
			at++
			continue
		}
		candidates := offers.candidates(f, turn.causes, refused)
		some := len(candidates) > 0
		if candidates = given.without(candidates); len(candidates) == 0 {
			if some {
				held[turn.finding] = true
			}
			at++
			continue
		}
		if p.left <= 0 {
			return steps, max(offers.untried(refused), 1), nil // this one at least
		}
		best, err := p.best(now, candidates, refused)
		if err != nil {
			return nil, 0, err
		}
		if best == nil {
			vain[f.Rule] += len(candidates)
			continue // the same finding again: what was refused is not offered twice
		}
		vain[f.Rule] = 0
		if err := p.trySeconds(best, offers); err != nil {
			return nil, 0, err
		}
		p.take(best)
		steps = append(steps, *best)
		given.add(best.cure.edits)
		now.Rest()
		now = best.After
		offers, at = p.offers(now), 0
		clear(held)
	}
	return steps, max(offers.untried(refused), len(held)), nil
}

// mostForOnePrice is how many cures of one cause are tried that have the very same price, which
// then has nothing to do with what is different in them (an estimate of ours).
const mostForOnePrice = 2

// early is the part of a proof that it costs to see that a change is no cure for the rule
// that it is for: no other rule is asked then (an estimate of ours, to keep plans in bounds).
const early = 4

// givenValues are the values that steps have given: a thing is told once, and what was given is
// not given again, since a person would do one and then the other.
type givenValues map[value]bool

// value is a field of a thing, or of one lamp in it; the channel is -1 for the whole.
type value struct {
	at      source.Ref
	field   string
	channel int
}

func valuesOf(edits []source.Edit) (list []value) {
	for _, e := range edits {
		if len(e.Only) == 0 {
			list = append(list, value{e.At, e.Field, -1})
		}
		for _, channel := range e.Only {
			list = append(list, value{e.At, e.Field, channel})
		}
	}
	return list
}

func (g givenValues) add(edits []source.Edit) {
	for _, v := range valuesOf(edits) {
		g[v] = true
	}
}

// without leaves out the cures that give again what was given.
func (g givenValues) without(cures []cure) []cure {
	return slices.DeleteFunc(cures, func(c cure) bool {
		return slices.ContainsFunc(valuesOf(c.edits), func(v value) bool { return v.field != "channels" && g[v] })
	})
}

// best proves candidates in their order and takes the first that holds and makes
// nothing worse, or else the cheapest.
func (p *prover) best(now *proof.State, candidates []cure, refused refusals) (best *Step, err error) {
	if p.tried.from != now {
		p.tried = trials{now, map[string]*proof.State{}}
	}
	prices := map[string]int{} // cures of a cause that were refused for one price
	spent := map[string]refusal{}
	for i := range candidates {
		if p.left <= 0 {
			break
		}
		if why, is := spent[candidates[i].cause]; is {
			refused[candidates[i].id] = why
			continue
		}
		var proved Step
		var why refusal
		key, holds := textOf(candidates[i].edits), true
		same := fmt.Sprint(candidates[i].rule, candidates[i].cause, candidates[i].way, candidates[i].free, key)
		if was, known := refused[same]; known && was.stands(now) {
			refused[candidates[i].id] = was
			continue
		}
		if after := p.tried.after[key]; after != nil {
			_, holds = p.hold(now, candidates[i], after)
		}
		if holds {
			if err := cores.Jobs(1, func(int) { proved, holds = p.prove(now, candidates[i]) }); err != nil {
				return nil, err
			}
			switch {
			case proved.After == nil:
				why = refusalBy(now, candidates[i].rule)
			case !holds && len(proved.Worse) > 0:
				rules := []string{candidates[i].rule}
				for k := range proved.Worse {
					rules = append(rules, proved.Worse[k].Rule)
				}
				if proved.caused == 0 { // what was not there says nothing of how near it is
					why = refusalBy(now, rules...)
					refused[same] = why
				}
				price := fmt.Sprint(candidates[i].cause, proved.Worse)
				if prices[price]++; prices[price] == mostForOnePrice && candidates[i].cause != "" {
					spent[candidates[i].cause] = why
				}
			}
		}
		if after := proved.After; after != nil && !holds {
			p.tried.after[key] = &proof.State{Show: after.Show, Found: after.Found}
		}
		if cost := now.Subjects(); proved.After == nil {
			p.left -= cost / early
		} else {
			p.left -= cost
		}
		switch {
		case !holds:
			refused[candidates[i].id] = why
		case proved.priced == 0:
			return &proved, nil
		case best == nil || proved.priced < best.priced:
			best = &proved
		}
	}
	return best, nil
}

// refusals are cures that were refused, by their id; one for its price also by what it is
// held by and the text of its edits.
type refusals map[string]refusal

// refusal is the rules that stood against a cure, its own and those of its price, and what
// they said before it; with none of them, something else stood against it.
type refusal struct {
	rules []string
	said  string
}

func refusalBy(now *proof.State, rules ...string) refusal {
	slices.Sort(rules)
	rules = slices.Compact(rules)
	return refusal{rules, saidBy(rules, now)}
}

// stands reports whether a refusal is one still: what a cure did not do, or what it made
// worse of what was there, is the same as long as these rules say the same.
func (r refusal) stands(now *proof.State) bool {
	return len(r.rules) > 0 && saidBy(r.rules, now) == r.said
}

// reconsider drops the refusals that may be none any more.
func (r refusals) reconsider(now *proof.State) {
	maps.DeleteFunc(r, func(_ string, was refusal) bool { return !was.stands(now) })
}

// saidBy is what rules say of a state, to be compared.
func saidBy(rules []string, state *proof.State) string {
	var text strings.Builder
	for i := range state.Found {
		f := &state.Found[i]
		if !slices.Contains(rules, f.Rule) {
			continue
		}
		fmt.Fprintln(&text, f.Identity(), f.Cues)
		if f.Amount != nil {
			fmt.Fprintln(&text, f.Amount.Value)
		}
	}
	return text.String()
}

// trials are changes of one state that were refused, with what they led to: another finding
// may ask for the same.
type trials struct {
	from  *proof.State
	after map[string]*proof.State // by the text of the edits; without what was measured
}

// offers are what the findings of a state ask for.
type offers struct {
	state     *proof.State
	start     *schema.Show // as it is before any change
	rules     *rules.Set
	tell      func(rule string) []finding.Finding // says in full what a rule has found, once
	ready     map[string]bool                     // rules whose remedies are in order
	earlier   *earlier                            // nil: nobody knows of any
	words     *words
	least     finding.Level
	order     []finding.Finding // failures, gravest first
	turns     []turn
	alike     map[string][]offer
	byRule    map[string][]int // places of findings, by rule
	wholes    map[string]cure  // by what is alike in them
	everys    map[string]cure  // by rule and way
	searched  map[search][]cure
	heres     map[string]cure // by the id of a cure, as the next two
	fit       map[string]bool // whether it may be an order
	efforts   map[string]effort
	fixtures  map[int]*schema.Fixture // by channel
	types     map[string]*schema.Type
	row       []*schema.Fixture // by channel; made when first asked, like what follows
	places    map[*schema.Fixture]int
	addresses map[string][]*schema.Fixture
	universes map[int][]inSlot    // in the order of the row
	starts    map[int][]inSlot    // the same in the order of their slots
	longest   int                 // the most slots that a lamp takes
	looks     map[string]int      // by the number of their cue
	cues      map[string][]string // of a finding, by its identity
	slips     *slips
	levels    map[int][]float64 // of a channel where it is up, in order
	whites    map[float64]int   // how many lamps for faces have each, in kelvin
}

// packs are the packs of rules from what matters most to people to what matters least:
// nobody looks at colours while a face is in the dark (common practice, no source).
var packs = []string{"safety", "patch", "people", "white", "camera", "screen", "moves", "air", "colour", "dynamics"}

// ranked lists findings gravest first, and of as grave ones people first. Of one consequence
// what is sure comes before what is likely, but no remark, however sure, before somebody who is
// probably in the dark.
func ranked(found []finding.Finding) []finding.Finding {
	list := finding.Gravest(found)
	rank := func(f *finding.Finding) int {
		pack, _, _ := strings.Cut(f.Rule, "/")
		if i := slices.Index(packs, pack); i >= 0 {
			return i
		}
		return len(packs)
	}
	finding.SortBy(list, func(a, b *finding.Finding) int {
		return cmp.Or(
			cmp.Compare(a.Consequence, b.Consequence),
			cmp.Compare(truth(a.Level == finding.Note), truth(b.Level == finding.Note)), cmp.Compare(truth(a.Likely), truth(b.Likely)),
			cmp.Compare(weightOf(b.Level), weightOf(a.Level)), cmp.Compare(rank(a), rank(b)),
		)
	})
	return list
}

// search is one look for the causes of a finding.
type search struct {
	identity string
	last     bool
}

// apart reports whether what a rule offers for one finding does not wait for the causes of
// another: of two that could hurt somebody and are of different packs, and where only one
// is about the picture around people.
func apart(a, b *finding.Finding) bool {
	pack := func(f *finding.Finding) string { pack, _, _ := strings.Cut(f.Rule, "/"); return pack }
	around := func(f *finding.Finding) bool { return slices.Index(packs, pack(f)) >= slices.Index(packs, "moves") }
	return a.Consequence == finding.Hurt && pack(a) != pack(b) || around(a) != around(b)
}

// turn is when a finding is looked at: among those of one consequence and level all
// causes are looked for before anything is made up for.
type turn struct {
	finding int // its place
	causes  bool
}

// offer is a remedy of a finding, by their places.
type offer struct{ finding, remedy int }

func (p *prover) offers(state *proof.State) *offers {
	p.wake(state)
	names := p.names(state)
	o := &offers{state: state, start: p.start.Show, rules: p.Rules, earlier: p.earlier, words: wordsOf(state), least: p.Least, order: ranked(state.Found), alike: map[string][]offer{}}
	if len(names) > 0 {
		o.order = slices.Concat(finding.Gravest(names), o.order)
	}
	o.tell, o.ready = func(rule string) []finding.Finding { return p.tell(state, rule) }, map[string]bool{}
	o.byRule, o.wholes, o.everys, o.searched = map[string][]int{}, map[string]cure{}, map[string]cure{}, map[search][]cure{}
	o.heres, o.fit, o.efforts = map[string]cure{}, map[string]bool{}, map[string]effort{}
	for i := range o.order {
		o.byRule[o.order[i].Rule] = append(o.byRule[o.order[i].Rule], i)
	}
	for i := range names { // all else is worked out from what the files say
		o.turns = append(o.turns, turn{i, false})
	}
	to := len(names)
	for from := to; from < len(o.order); from = to {
		for ; to < len(o.order) && o.order[to].Consequence == o.order[from].Consequence && o.order[to].Level == o.order[from].Level && !apart(&o.order[from], &o.order[to]); to++ {
			o.turns = append(o.turns, turn{to, true})
		}
		for i := from; i < to; i++ {
			o.turns = append(o.turns, turn{i, false})
		}
	}
	if turned := turnedAway(o.rules, o.order); len(turned) > 0 {
		o.turns = slices.DeleteFunc(o.turns, func(t turn) bool { return o.waits(&o.order[t.finding], turned) })
	}
	return o
}

// turnedAway are the places at which somebody is told to look away from all cameras: what a
// face there needs is told when they have been asked.
func turnedAway(set *rules.Set, found []finding.Finding) (places []string) {
	asks := func(rule string) bool {
		r, known := set.Find(rule)
		return known && r.Ask != nil && slices.Contains(r.Ask.Keys, "facing_deg")
	}
	for i := range found {
		if f := &found[i]; f.Verdict == finding.Fail && f.Accepted == nil && asks(f.Rule) && !slices.Contains(places, nameOf(f, "place")) {
			places = append(places, nameOf(f, "place"))
		}
	}
	return places
}

// waits reports whether a finding is about the face of somebody who is told to look away.
func (o *offers) waits(f *finding.Finding, turned []string) bool {
	if pack, _, _ := strings.Cut(f.Rule, "/"); pack != "people" && pack != "white" {
		return false
	}
	if rule, known := o.rules.Find(f.Rule); !known || slices.Contains(rule.Causes, "facing") {
		return false
	}
	is := func(place string) bool { return slices.Contains(turned, place) }
	if place := nameOf(f, "place"); place != "" {
		return is(place)
	}
	return nameOf(f, "cue") != "" && slices.ContainsFunc(o.looksOf(f.Identity()), func(look int) bool {
		people, _ := o.peopleIn(look)
		return slices.ContainsFunc(people, is)
	})
}

// remedies works out what a rule offers for all its findings, when the first is asked for.
func (o *offers) remedies(rule string) {
	if o.ready[rule] {
		return
	}
	o.ready[rule] = true
	told := byIdentity(o.tell(rule))
	for _, i := range o.byRule[rule] {
		if f := told[o.order[i].Identity()]; f != nil {
			o.order[i] = *f
		}
		for k := range o.order[i].Remedies {
			same := signature(rule, &o.order[i].Remedies[k])
			o.alike[same] = append(o.alike[same], offer{i, k})
		}
	}
}

// candidates lists the changes for a finding that are left to try, best first: what
// undoes the cause, then by how much it takes and how far somebody has to go, then
// as the rule has them. The same change for several findings of a rule is one; if
// that was refused as a whole, the finding's own part is tried.
func (o *offers) candidates(f *finding.Finding, causes bool, refused refusals) []cure {
	list := o.offered(f, causes, refused)
	return o.rank(list)[:min(len(list), mostCandidates)]
}

// offered are candidates as they come.
func (o *offers) offered(f *finding.Finding, causes bool, refused refusals) (list []cure) {
	add := func(c cure) bool {
		if _, no := refused[c.id]; no || len(c.edits) == 0 || !o.fits(&c) || o.climbsForLittle(f, &c) {
			return false
		}
		list = append(list, c)
		return true
	}
	for _, c := range o.causes(f, !causes) {
		add(c)
	}
	if causes {
		return list
	}
	if f.Rule == "people/back-strong" && o.isKeyLow(f) || f.Rule == "white/dim-drift" && o.isFilamentAmongCool(nameOf(f, "place")) {
		return list // not the light from behind down in place of a forgotten key, nor a filament up that should go out
	}
	o.remedies(f.Rule)
	for _, remedy := range f.Remedies {
		add(o.every(f, remedy.Way))
		whole := add(o.here(o.whole(f, remedy)))
		whole = add(o.whole(f, remedy)) || whole
		if !whole && !tooMany(remedy.Edits) {
			part := cure{
				id: "part\x00" + f.Identity() + "\x00" + signature(f.Rule, &remedy), rule: f.Rule, why: f.Identity(), effect: remedy.Effect, way: remedy.Way,
				edits: settle(remedy.Edits), asked: []string{f.Identity()},
			}
			add(o.here(part))
			add(part)
		}
	}
	return list
}

// climbsForLittle reports whether somebody would have to go up to a lamp for what is only a remark
// and hurts nobody: that is left for the day on which a lift stands there anyway.
func (o *offers) climbsForLittle(f *finding.Finding, c *cure) bool {
	if f.Level != finding.Note || f.Consequence == finding.Hurt {
		return false
	}
	w := wordsOf(o.state)
	return slices.ContainsFunc(c.edits, func(e source.Edit) bool { return w.choreOf(e) == atHeight })
}

// isKeyLow reports whether a face is too dark where the light from behind is too strong for it.
func (o *offers) isKeyLow(f *finding.Finding) bool {
	place, looks := nameOf(f, "place"), o.looksOf(f.Identity())
	return slices.ContainsFunc([]string{"people/key-low", "people/no-key"}, func(rule string) bool {
		return slices.ContainsFunc(o.faultyFor(rule, place), func(look int) bool { return slices.Contains(looks, look) })
	})
}

// mostValues bounds the different values that a cure may give: five in a sentence, as
// levels in several cues.
const mostValues = 5 * mostSentences

// tooMany reports whether edits are more than one order can say, before they are put
// together: each list of channels is a value of its own.
func tooMany(edits []source.Edit) bool {
	if len(edits) <= mostValues {
		return false
	}
	lists := map[source.Ref]bool{}
	for i := range edits {
		if edits[i].Field == "channels" {
			if lists[edits[i].At] = true; len(lists) > mostValues {
				return true
			}
		}
	}
	return false
}

// fits reports whether a cure may be an order: it asks for nothing that nobody should be
// told, and takes no more sentences than somebody gets right.
func (o *offers) fits(c *cure) bool {
	if ok, known := o.fit[c.id]; known {
		return ok
	}
	ok := !o.forbidden(c.edits) && !tooMany(c.edits) && len(groupEdits(c.edits)) <= mostValues
	if ok {
		o.words.findCues(c.edits)
		_, things := o.words.sentences(c.edits)
		ok = things <= mostSentences
	}
	o.fit[c.id] = ok
	return ok
}

// effort is what a cure takes.
type effort struct {
	minutes      float64
	where, edits int
}

func (e effort) compare(o effort) int {
	return cmp.Or(cmp.Compare(e.minutes, o.minutes), cmp.Compare(e.where, o.where), cmp.Compare(e.edits, o.edits))
}

func (o *offers) effortOf(c *cure) effort {
	e, known := o.efforts[c.id]
	if !known {
		o.words.findCues(c.edits)
		e = effort{o.words.minutes(c.edits).Most, slices.Index(wheres, o.words.whereOf(c.edits)), len(c.edits)}
		o.efforts[c.id] = e
	}
	return e
}

// rank puts cures in the order in which they are tried: by how long they take, how far
// somebody has to go for them, and how much they touch. Those of one cause stay in their
// order, which goes from the most likely to the least, at the place of the easiest. Of what can hurt somebody the ways
// stay in the order of the rule: to stop a flash comes before to slow it. Where cameras differ, one of them may be what is
// wrong with a face, and is tried before any lamp; and where a screen shows other pictures than elsewhere, those before
// the screen.
func (o *offers) rank(list []cure) []cure {
	least := map[string]effort{}
	of := func(c *cure) string {
		if c.cause == "" && strings.HasPrefix(c.rule, "safety/") {
			return c.rule
		}
		return cmp.Or(c.cause, c.id)
	}
	odd := len(o.byRule["camera/exposures-differ"]) > 0
	own := func(c *cure) effort {
		if c.cause != "" {
			return least[of(c)]
		}
		return o.effortOf(c)
	}
	first := func(c *cure) int { return truth(odd && c.cause == "cameras" || c.cause == "other-pictures") }
	for i := range list {
		c := &list[i]
		e := o.effortOf(c)
		if was, known := least[of(c)]; !known || e.compare(was) < 0 {
			least[of(c)] = e
		}
	}
	slices.SortStableFunc(list, func(a, b cure) int {
		return cmp.Or(cmp.Compare(first(&b), first(&a)), least[of(&a)].compare(least[of(&b)]), cmp.Compare(a.way, b.way), own(&a).compare(own(&b)))
	})
	return list
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// whole is a remedy together with the same change for all other findings of its
// rule.
func (o *offers) whole(f *finding.Finding, remedy finding.Remedy) cure {
	o.remedies(f.Rule)
	same := signature(f.Rule, &remedy)
	if whole, done := o.wholes[same]; done {
		whole.why = f.Identity()
		return whole
	}
	whole := cure{id: "whole\x00" + same, rule: f.Rule, why: f.Identity(), effect: remedy.Effect, way: remedy.Way}
	for _, alike := range o.alike[same] {
		other := &o.order[alike.finding]
		whole.edits = append(whole.edits, other.Remedies[alike.remedy].Edits...)
		whole.asked = append(whole.asked, other.Identity())
	}
	if tooMany(whole.edits) {
		whole.edits = nil
	}
	whole.edits = settle(whole.edits)
	o.wholes[same] = whole
	return whole
}

// every is what a rule offers in one way for all its findings, each with a value of its
// own; none where all have the same or there is but one.
func (o *offers) every(f *finding.Finding, way int) cure {
	id := fmt.Sprint("every\x00", f.Rule, "\x00", way)
	if every, done := o.everys[id]; done {
		every.why = f.Identity()
		return every
	}
	every := cure{id: id, rule: f.Rule, why: f.Identity(), way: way}
	if strings.HasPrefix(f.Rule, "patch/") { // free addresses are given one by one
		o.everys[id] = cure{}
		return cure{}
	}
	values := map[string]bool{}
	for _, i := range o.byRule[f.Rule] {
		other := &o.order[i]
		for k := range other.Remedies {
			if remedy := &other.Remedies[k]; remedy.Way == way {
				values[signature(other.Rule, remedy)] = true
				every.edits = append(every.edits, remedy.Edits...)
				every.asked = append(every.asked, other.Identity())
				every.effect = remedy.Effect
			}
		}
	}
	if len(values) < 2 {
		every = cure{}
	}
	every.edits = settle(every.edits)
	o.everys[id] = every
	return every
}

// untried counts the findings that still have something to try.
func (o *offers) untried(refused refusals) int {
	count, turned := 0, turnedAway(o.rules, o.order)
	for i := range o.order {
		f := &o.order[i]
		if !f.Level.AtLeast(o.least) || o.waits(f, turned) {
			continue
		}
		if len(o.offered(f, false, refused)) > 0 {
			count++
		}
	}
	return count
}

// settle puts edits together so that every value is given once: what a remedy gives
// a thing twice, because it shows in several looks, has its last value.
func settle(edits []source.Edit) []source.Edit {
	given := givenValues{}
	merged := finding.MergeEdits(nil, edits)
	var kept []source.Edit
	for _, edit := range slices.Backward(merged) {
		if edit.Field == "channels" {
			kept = append(kept, edit)
			continue
		}
		if len(edit.Only) == 0 {
			if key := (value{edit.At, edit.Field, -1}); !given[key] {
				given[key] = true
				kept = append(kept, edit)
			}
			continue
		}
		var only []int
		for _, channel := range edit.Only {
			if key := (value{edit.At, edit.Field, channel}); !given[key] {
				given[key] = true
				only = append(only, channel)
			}
		}
		if len(only) > 0 {
			edit.Only = only
			kept = append(kept, edit)
		}
	}
	slices.Reverse(kept)
	return kept
}

// signature says which changes are one cure: those of one rule that mend in one
// way and give the same fields the same values.
func signature(rule string, remedy *finding.Remedy) string {
	type change struct {
		field string
		value any
	}
	seen := map[change]bool{}
	var values []string
	for _, edit := range remedy.Edits {
		if c := (change{edit.Field, edit.Value}); !seen[c] {
			seen[c] = true
			values = append(values, fmt.Sprintf("%s=%v", edit.Field, edit.Value))
		}
	}
	slices.Sort(values)
	return fmt.Sprintf("%s\x00%d\x00%s", rule, remedy.Way, strings.Join(values, "\x00"))
}

// leastLevel is the least that a lamp is brought down to, in percent, if it is not
// put out: below it lamps jump, change their colour and are hard to repeat (common
// practice, no source). Fewer lamps, diffusion, a neutral filter or the camera do
// that better.
const leastLevel = 10

// forbidden reports whether edits ask for what nobody should be told to do in a
// hurry, whatever the rules say of it.
func (o *offers) forbidden(edits []source.Edit) bool {
	return slices.ContainsFunc(edits, func(e source.Edit) bool {
		level, isNumber := e.Value.(float64)
		switch {
		case e.Field == schema.White && o.isOwnWhite(e.At):
			return true
		case !isNumber:
			return false
		case e.Field == schema.White && o.isWhiteOfFew(e.At, level):
			return true
		case e.Field == "drive_pct":
			return level <= 0 // a screen that is off is no screen
		case e.Field != "level" || level <= 0 || level >= leastLevel:
			return false
		}
		return !o.allMachines(e)
	})
}

// isOwnWhite reports whether a camera that looks at one place is set to the white of most lamps
// there: it fits what it shows, whatever other cameras are set to.
func (o *offers) isOwnWhite(at source.Ref) bool {
	if o.state.Show.Room == nil {
		return false
	}
	i := slices.IndexFunc(o.state.Show.Room.Cameras, func(c *schema.Camera) bool { return c.At == at })
	if i < 0 {
		return false
	}
	c, own, other := o.state.Show.Room.Cameras[i], 0, 0
	if c.AimedAt == nil || c.AimedAt.Name == "" || c.WhiteK == nil {
		return false
	}
	for _, lamp := range o.lampsFor(c.AimedAt.Name) {
		switch white := o.whiteOf(lamp); {
		case white == nil:
		case passForOne(*white, *c.WhiteK):
			own++
		default:
			other++
		}
	}
	return own > other
}

// isWhiteOfFew reports whether a lamp would be set to a white that no camera has and fewer of
// the lamps for faces than another: the odd one is set, or goes out, and not the rest.
func (o *offers) isWhiteOfFew(at source.Ref, white float64) bool {
	if o.words.isCamera(at) || o.words.isSurface(at) || o.hasCameraAt(white) {
		return false
	}
	if o.whites == nil {
		o.whites = map[float64]int{}
		for _, lamp := range o.state.Show.Patch {
			if w := o.whiteOf(lamp); w != nil && forPeople(lamp) && !fromBehind(lamp) {
				o.whites[*w]++
			}
		}
	}
	own, most := 0, 0
	for w, count := range o.whites {
		if passForOne(w, white) {
			own += count
		} else {
			most = max(most, count)
		}
	}
	return most > own
}

// hasCameraAt reports whether a camera is set to a white, in kelvin.
func (o *offers) hasCameraAt(white float64) bool {
	room := o.state.Show.Room
	return room != nil && slices.ContainsFunc(room.Cameras, func(c *schema.Camera) bool { return c.WhiteK != nil && passForOne(*c.WhiteK, white) })
}

// whiteOf is the white that a lamp has of itself, in kelvin; nil if nobody says.
func (o *offers) whiteOf(lamp *schema.Fixture) *float64 {
	if t := o.typeOf(lamp); lamp.WhiteK == nil && t != nil {
		return t.WhiteK
	}
	return lamp.WhiteK
}

// passForOne reports whether two whites pass for one, in kelvin (common practice, no source).
func passForOne(a, b float64) bool {
	const same = 0.06 // of the higher
	return math.Abs(a-b) <= same*max(a, b)
}

// allMachines reports whether an edit is about haze machines alone.
func (o *offers) allMachines(e source.Edit) bool {
	o.words.findCues([]source.Edit{e})
	channels := o.words.channelsOf(e)
	return len(channels) > 0 && !slices.ContainsFunc(channels, func(channel int) bool { return !o.words.isMachine(channel) })
}
