package finding

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Known says how a value is known. Where a value is worked out from several, the
// weakest of them decides.
type Known int

// How a value can be known, surest first.
const (
	Read     Known = iota // it stands in a file of the show
	Reading               // somebody held a meter there
	Derived               // it was worked out from such values
	Inferred              // it was concluded from something else: a purpose from where a lamp hangs
	Assumed               // nobody said it, and the usual stands in its place
)

// KnownWords are the words for how a value is known, surest first, as reports
// write them.
var KnownWords = []string{"read", "measured", "derived", "inferred", "assumed"}

// String returns the word for it.
func (k Known) String() string { return KnownWords[k] }

// Sure reports whether a value that is known in this way is as good as read.
func (k Known) Sure() bool { return k < Inferred }

// Basis is what a value rests on.
type Basis struct {
	Known   Known
	Missing []string // for a value that is unknown: what would make it known, each a phrase behind "give"
	// Rests says what was inferred or assumed, each a phrase that fits behind "this
	// rests on": "an assumed 9,000 lm of the type front wash".
	Rests []string
	// Range is what the value can be if the inference or assumption is not quite
	// right; nil where that cannot be told in numbers.
	Range *Range
}

// Range is the least and the most that a value can be.
type Range struct{ Low, High float64 }

// Same reports whether two say the same.
func (b Basis) Same(other Basis) bool {
	return b.Known == other.Known && slices.Equal(b.Missing, other.Missing) && slices.Equal(b.Rests, other.Rests) &&
		(b.Range == other.Range || b.Range != nil && other.Range != nil && *b.Range == *other.Range)
}

// And returns a basis that rests on both: the weaker of the two decides, and what
// either rests on is kept. Ranges are not joined: what they mean for a result is
// for whoever works it out.
func (b Basis) And(other Basis) Basis {
	b.Known = max(b.Known, other.Known)
	b.Missing = union(b.Missing, other.Missing)
	b.Rests = union(b.Rests, other.Rests)
	b.Range = nil
	return b
}

// union returns the phrases of both lists, each once. Neither list is changed.
func union(list, more []string) []string {
	joined := list[:len(list):len(list)]
	for _, phrase := range more {
		seen := false
		for _, known := range joined {
			seen = seen || known == phrase
		}
		if !seen {
			joined = append(joined, phrase)
		}
	}
	return joined
}

// Doubt makes a finding likely: it rests on what is known no better than that, said in
// phrases behind "this rests on", which stand before those that it rests on already.
func (f *Finding) Doubt(known Known, rests ...string) {
	f.Message = strings.TrimSuffix(f.Message, f.restsOn())
	f.Likely, f.Known, f.Rests = true, max(f.Known, known), union(rests, f.Rests)
	f.Message += f.restsOn()
}

// restsOn is the sentence in which a likely finding says what it rests on.
func (f *Finding) restsOn() string {
	const most = 3
	list, end := f.Rests, ""
	if more := len(list) - most; more > 0 {
		list, end = list[:most], fmt.Sprintf(" and %d more", more)
	} else if last := len(list) - 1; last > 0 {
		list, end = list[:last], " and "+list[last]
	}
	if !f.Likely || len(list) == 0 {
		return ""
	}
	return " This rests on " + strings.Join(list, ", ") + end + "."
}

// Unsure is the sentence that stands behind what is to be done about a finding that is only
// likely, and says what to look at first; "" for any other.
func (f *Finding) Unsure() string {
	if !f.Likely || len(f.Rests) == 0 {
		return ""
	}
	return fmt.Sprintf(" This is likely and not sure: look first at %s.", f.Rests[0])
}

// Direction is the way in which a measured value gets worse.
type Direction int

// The directions.
const (
	Less Direction = -1 // less of it is worse
	More Direction = +1 // more of it is worse
)

// String returns the word that rule files use.
func (w Direction) String() string {
	if w == Less {
		return "less"
	}
	return "more"
}

// Amount is how much of a thing there is, and which way it would be worse.
type Amount struct {
	Fact   string // as the rule writes it: "person.under_stops", or a small sum of facts
	Value  float64
	Unit   string // "" for a bare count
	Worse  Direction
	Margin float64 // how much of the unit counts as a difference at all; never below zero
}

// Compare holds an amount against another of the same fact: +1 if this one is
// worse by more than its margin, -1 if it is better by more than that, 0 if the
// two are as good as equal. It is the caller's task to compare like with like.
func (a Amount) Compare(before Amount) int {
	const rounding = 1e-5 // of a value that a report keeps with six digits
	off := float64(a.Worse) * (a.Value - before.Value)
	margin := a.Margin + rounding*math.Abs(before.Value)
	switch {
	case off > margin:
		return +1
	case off < -margin:
		return -1
	default:
		return 0
	}
}

// String writes the amount for people who look for trouble.
func (a Amount) String() string { return fmt.Sprintf("%s = %g %s", a.Fact, a.Value, a.Unit) }

// Measure is what a rule measures of its subjects, to tell worse from better.
type Measure struct {
	Fact   string
	Unit   string
	Worse  Direction
	Margin float64
}
