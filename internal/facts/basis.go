package facts

import (
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/stage"
)

// unknowns is how a subject knows its facts: what is missing for those that are
// unknown, and what the others rest on. A fact of which nothing is said was worked
// out from what was read.
type unknowns struct {
	said []factNote // of each fact once; a show has many subjects, and of most facts nothing is said
	lent bool       // it belongs to another subject

	from *unknowns // those of the subject that this is a copy of, but for facts that all of its kind tell together; nil: of none
}

// factNote is what is said of a fact: never changed once it stands, so subjects may share it.
type factNote struct {
	fact  string
	why   []string       // what is missing
	basis *finding.Basis // nil if it was worked out from what was read
	part  bool           // it is known of some of what it is about, and the worst of those; why is what is missing of the others
}

// of finds what is said of a fact; nil if nothing is.
func (u *unknowns) of(fact string) *factNote {
	for i := range u.said {
		if u.said[i].fact == fact {
			return &u.said[i]
		}
	}
	return nil
}

// own finds what is said of a fact, to be added to.
func (u *unknowns) own(fact string) *factNote {
	if u.lent {
		u.lent, u.said = false, slices.Clone(u.said)
	}
	if s := u.of(fact); s != nil {
		return s
	}
	u.said = append(u.said, factNote{fact: fact})
	return &u.said[len(u.said)-1]
}

// Why returns what would make the fact known.
func (u *unknowns) Why(fact string) []string {
	if s := u.of(fact); s != nil {
		return s.why
	}
	return nil
}

// Basis returns what a fact rests on.
func (u *unknowns) Basis(fact string) finding.Basis {
	b := finding.Basis{Known: finding.Derived}
	if s := u.of(fact); s != nil {
		if s.basis != nil {
			b = *s.basis
		}
		b.Missing = s.why
	}
	return b
}

// lacks records what is missing for a fact; the same phrase counts once.
func (u *unknowns) lacks(fact string, phrases ...string) {
	if len(phrases) == 0 {
		return
	}
	s := u.own(fact)
	if len(s.why) == len(phrases) && &s.why[0] == &phrases[0] {
		return
	}
	m := stage.Missing{Phrases: slices.Clip(s.why)}
	m.Add(phrases...)
	s.why = m.Phrases
}

// lacksPart records what is missing for a fact that is known of a part of what it is about: as bad as it says it surely is, and as
// good nobody knows.
func (u *unknowns) lacksPart(fact string, phrases ...string) {
	if u.lacks(fact, phrases...); len(phrases) > 0 {
		u.own(fact).part = true
	}
}

// InPart calls use with each fact that is known of a part of what it is about alone.
func (u *unknowns) InPart(use func(fact string)) {
	for i := range u.said {
		if u.said[i].part {
			use(u.said[i].fact)
		}
	}
}

// lacksThese records the same of many subjects, each of which is told all of it.
func (u *unknowns) lacksThese(fact string, m *stage.Missing) {
	if s := u.own(fact); s.why == nil {
		s.why = slices.Clip(m.Phrases)
		return
	}
	u.lacks(fact, m.Phrases...)
}

// lackAll records what is missing for several facts.
func (u *unknowns) lackAll(facts []string, phrases ...string) {
	var m stage.Missing
	if m.Add(phrases...); len(m.Phrases) == 0 {
		return
	}
	u.said, u.lent = append(make([]factNote, 0, len(u.said)+len(facts)), u.said...), false
	for _, fact := range facts {
		if s := u.own(fact); s.why == nil {
			s.why = m.Phrases
		} else {
			u.lacks(fact, m.Phrases...)
		}
	}
}

// lackSame is lackAll of a list in which each phrase stands once. Many subjects may be told the
// same long list: one of which nothing else is missing has no copy of it, any other one for all
// its facts.
func (u *unknowns) lackSame(facts, phrases []string) {
	if len(phrases) == 0 {
		return
	}
	var was, both []string // of the fact before, which mostly lacks the same
	for _, fact := range facts {
		s := u.own(fact)
		switch {
		case len(s.why) == 0:
			s.why = slices.Clip(phrases)
		case len(both) > 0 && slices.Equal(s.why, was):
			s.why = both
		default:
			was = s.why
			both = slices.Grow(slices.Clip(was), len(phrases))
			for _, phrase := range phrases {
				if !slices.Contains(was, phrase) {
					both = append(both, phrase)
				}
			}
			both = slices.Clip(both)
			s.why = both
		}
	}
}

// neighbours are subjects one after the other: those of which the same is said have it in
// one place. Where a list is long, what is missing is mostly the same for all of it, or for
// those of a few kinds that take turns in it.
type neighbours struct {
	kinds [4]*unknowns
	next  int
}

func (n *neighbours) share(u *unknowns) {
	if len(u.said) == 0 {
		return
	}
	for _, last := range n.kinds {
		if last != nil && slices.EqualFunc(u.said, last.said, factNote.is) {
			u.said, u.lent, last.lent = last.said, true, true
			return
		}
	}
	n.kinds[n.next] = u
	n.next = (n.next + 1) % len(n.kinds)
}

// alike tells subjects of a kind one after the other the same: one of which the same was said
// as of the one before has the very same with it, and nothing is made for it.
type alike struct{ was, is []factNote }

func (a *alike) tell(u *unknowns, say func()) {
	if was := u.said; len(was) > 0 && len(was) == len(a.was) && &was[0] == &a.was[0] {
		u.said = a.is
	} else {
		say()
		a.was, a.is = was, u.said
	}
	u.lend()
}

// sameThings are the neighbours of each thing that many looks tell of.
type sameThings map[string]*neighbours

func (t sameThings) share(name string, u *unknowns) {
	if t[name] == nil {
		t[name] = &neighbours{}
	}
	t[name].share(u)
}

// sharePeople and the next let a place, and a screen, have in one place what is missing of it
// in look after look.
func (t sameThings) sharePeople(people []*Person) {
	for _, p := range people {
		t.share(p.Place, &p.unknowns)
	}
}

func (t sameThings) shareScreens(showings []*Showing) {
	for _, s := range showings {
		t.share(s.ScreenName, &s.unknowns)
	}
}

func (s factNote) is(other factNote) bool {
	same := s.fact == other.fact && s.part == other.part && (s.basis == nil) == (other.basis == nil) && slices.Equal(s.why, other.why)
	return same && (s.basis == other.basis || s.basis.Same(*other.basis))
}

// thisOne stands for the cue of a look or the channel of a fixture in what is missing of
// it, so that neighbours have the same words.
const thisOne = "\x00"

// named puts a subject into what is missing of it.
func named(why []string, kind, name string) []string {
	if !slices.ContainsFunc(why, func(phrase string) bool { return strings.Contains(phrase, thisOne) }) {
		return why
	}
	words := make([]string, len(why))
	for i, phrase := range why {
		words[i] = strings.ReplaceAll(phrase, thisOne, kind+" "+name)
	}
	return words
}

// unnamed is the opposite of named.
func unnamed(why []string, kind, name string) []string {
	subject := kind + " " + name
	if !slices.ContainsFunc(why, func(phrase string) bool { return strings.Contains(phrase, subject) }) {
		return why
	}
	words := make([]string, len(why))
	for i, phrase := range why {
		var b strings.Builder
		for {
			before, after, found := strings.Cut(phrase, subject)
			b.WriteString(before)
			if !found {
				break
			}
			if after != "" && after[0] >= '0' && after[0] <= '9' { // channel 12 is not channel 1
				b.WriteString(subject)
			} else {
				b.WriteString(thisOne)
			}
			phrase = after
		}
		words[i] = b.String()
	}
	return words
}

// rests records what a fact rests on, beside what it rests on already.
func (u *unknowns) rests(fact string, basis finding.Basis) {
	if basis.Known.Sure() && basis.Range == nil {
		return
	}
	s := u.own(fact)
	if before := s.basis; before != nil {
		within := basis.Range
		basis = before.And(basis)
		if basis.Range = within; within == nil {
			basis.Range = before.Range
		}
	}
	s.basis = &basis
}

// noHaze is a level, in mg/m3, under which it makes no difference what hung before.
const noHaze = 0.01

// restOnAirAt records what of the haze at a time of the evening is assumed.
func (u *unknowns) restOnAirAt(fact string, a *evening.Airs, level *float64, at float64) {
	least, most := a.Between(at)
	u.restOnAir(fact, a, level, least, most)
}

// restOnAir records what of haze that is between two levels is assumed.
func (u *unknowns) restOnAir(fact string, a *evening.Airs, level *float64, least, most float64) {
	basis := finding.Basis{Known: finding.Assumed, Rests: a.Rests}
	if a.Start != "" {
		basis.Rests = append(slices.Clip(a.Rests), a.Start)
	}
	switch {
	case len(basis.Rests) == 0 || level == nil:
		return
	case !a.Clear():
		if most-least < noHaze {
			return
		}
		basis.Range = &finding.Range{Low: min(least, *level), High: max(most, *level)}
	}
	u.rests(fact, basis)
}

// New returns a subject of a kind of which no fact is told; nil for a kind that does not exist.
func New(kind string) Subject {
	switch kind {
	case "look":
		return &Look{segmentWords: &segmentWords{}, lookLight: &lookLight{}, around: &around{}}
	case "person":
		return &Person{personLight: &personLight{}}
	case "cue":
		return &Cue{notPatched: &notPatched{}}
	case "change":
		return &Change{cueWords: &cueWords{}, segmentWords: &segmentWords{}, changeLight: &changeLight{}, changeMoves: &changeMoves{}}
	}
	none, known := Kinds()[kind]
	if !known {
		return nil
	}
	return reflect.New(reflect.TypeOf(none).Elem()).Interface().(Subject)
}

// Copy returns a copy of a subject, for [Set] to change.
func Copy(subject Subject) Subject {
	v := reflect.ValueOf(subject).Elem()
	copied := reflect.New(v.Type())
	copied.Elem().Set(v)
	subject = copied.Interface().(Subject)
	switch s := subject.(type) { // what it has together with others is not to be changed
	case *Look:
		s.segmentWords, s.lookLight = new(*s.segmentWords), new(*s.lookLight)
	case *Person:
		s.personLight = new(*s.personLight)
	case *Cue:
		s.notPatched = new(*s.notPatched)
	case *Change:
		s.segmentWords, s.changeLight, s.changeMoves = new(*s.segmentWords), new(*s.changeLight), new(*s.changeMoves)
	}
	return subject
}

// Set gives a number that rules have a word for another value. A word of another kind it
// leaves alone.
func Set(subject Subject, word string, value float64) {
	v := reflect.ValueOf(subject).Elem()
	index, ok := placesOf(v.Type())[word]
	if !ok {
		return
	}
	switch at := v.FieldByIndex(index).Addr().Interface().(type) {
	case **float64:
		*at = &value
	case *float64:
		*at = value
	}
}
