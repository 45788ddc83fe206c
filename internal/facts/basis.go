package facts

import (
	"reflect"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/stage"
)

// unknowns is how a subject knows its facts: what is missing for those that are
// unknown, and what the others rest on. A fact of which nothing is said was worked
// out from what was read.
type unknowns struct {
	why   map[string][]string
	bases map[string]finding.Basis
	lent  bool // both belong to another subject
}

// Why returns what would make the fact known.
func (u *unknowns) Why(fact string) []string { return u.why[fact] }

// Basis returns what a fact rests on.
func (u *unknowns) Basis(fact string) finding.Basis {
	b, said := u.bases[fact]
	if !said {
		b.Known = finding.Derived
	}
	b.Missing = u.why[fact]
	return b
}

// lacks records what is missing for a fact; the same phrase counts once.
func (u *unknowns) lacks(fact string, phrases ...string) {
	if len(phrases) > 0 {
		u.own()
	}
	if u.why == nil && len(phrases) > 0 {
		u.why = map[string][]string{}
	}
	for _, phrase := range phrases {
		if all := stage.AddMissing(u.why[fact], phrase); len(all) > 0 {
			u.why[fact] = all
		}
	}
}

// lackAll records what is missing for several facts.
func (u *unknowns) lackAll(facts []string, phrases ...string) {
	for _, fact := range facts {
		u.lacks(fact, phrases...)
	}
}

// rests records what a fact rests on, beside what it rests on already.
func (u *unknowns) rests(fact string, basis finding.Basis) {
	if basis.Known.Sure() && basis.Range == nil {
		return
	}
	u.own()
	if u.bases == nil {
		u.bases = map[string]finding.Basis{}
	}
	within := basis.Range
	before, said := u.bases[fact]
	if said {
		basis = before.And(basis)
	}
	if basis.Range = within; within == nil {
		basis.Range = before.Range
	}
	u.bases[fact] = basis
}

// noHaze is a level, in mg/m3, under which it makes no difference what hung before.
const noHaze = 0.01

// restOnAir records what of the haze at a time of the evening is assumed.
func (u *unknowns) restOnAir(fact string, a *evening.Airs, level *float64, at float64) {
	if len(a.Rests) > 0 {
		u.rests(fact, finding.Basis{Known: finding.Assumed, Rests: a.Rests})
	}
	if level == nil || a.Start == "" {
		return
	}
	less, more := a.Off(at)
	if !a.Clear() && less+more < noHaze {
		return
	}
	basis := finding.Basis{Known: finding.Assumed, Rests: []string{a.Start}}
	if !a.Clear() {
		basis.Range = &finding.Range{Low: max(0, *level-less), High: *level + more}
	}
	u.rests(fact, basis)
}

// With returns a copy of a subject in which a number that rules have a word for
// has another value. ok is false for a word of another kind.
func With(subject Subject, word string, value float64) (changed Subject, ok bool) {
	v := reflect.ValueOf(subject).Elem()
	index, ok := placesOf(v.Type())[word]
	if !ok {
		return nil, false
	}
	copied := reflect.New(v.Type())
	copied.Elem().Set(v)
	at := copied.Elem().FieldByIndex(index)
	switch {
	case at.Type() == reflect.TypeFor[*float64]():
		at.Set(reflect.ValueOf(&value))
	case at.Type() == reflect.TypeFor[float64]():
		at.SetFloat(value)
	default:
		return nil, false
	}
	return copied.Interface().(Subject), true
}
