package cases

import (
	"bytes"
	"fmt"
	"math"
	"regexp"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
)

// Work tells with the numbers of a show how rules are worked out: one answer for
// each of the ids, with the subject that is furthest from right, or, if none is
// wrong, nearest to the limit. An id of a problem of files has no numbers and gives
// nil. The rules of own (with the limits of the house) come before those of all.
func Work(ids []string, own, all *rules.Set, measured *facts.Measured, show string) []*outcome.RuleWork {
	var list []*outcome.RuleWork
	for _, id := range ids {
		rule, ok := own.Find(id)
		if !ok {
			rule, ok = all.Find(id)
		}
		if !ok {
			list = append(list, nil)
			continue
		}
		list = append(list, worked(rule, rule.Work(measured), show, measured.None(rule.Over)))
	}
	return list
}

func worked(rule *rules.Rule, each []rules.Account, show string, none []string) *outcome.RuleWork {
	w := &outcome.RuleWork{Show: show, Subjects: len(each), Kind: rule.Over, None: none}
	best, bestOff := -1, 0.0
	for i, one := range each {
		switch one.Verdict {
		case finding.Fail:
			w.Fails++
		case finding.Open:
			w.Open++
			if len(w.Missing) == 0 {
				w.Missing = one.Missing
			}
			continue
		}
		off := offLimit(one)
		failsFirst := best >= 0 && one.Verdict == finding.Fail && each[best].Verdict != finding.Fail
		sameKind := best >= 0 && one.Verdict == each[best].Verdict
		switch {
		case best < 0, failsFirst,
			sameKind && one.Verdict == finding.Fail && off > bestOff,
			sameKind && one.Verdict != finding.Fail && off < bestOff:
			best, bestOff = i, off
		}
	}
	if best >= 0 {
		one := each[best]
		w.Names, w.Cue, w.Message, w.Wrong = one.Names, one.Cue, one.Message, one.Verdict == finding.Fail
		w.Facts, w.Limits = one.Facts, one.Limits
	}
	return w
}

// offLimit is how far the first number that decides is from the first limit, in
// powers of e where both are above zero; 0 where there are no such two.
func offLimit(w rules.Account) float64 {
	var fact, limit *float64
	for _, e := range w.Facts {
		if e.Num != nil && fact == nil {
			fact = e.Num
		}
	}
	for _, e := range w.Limits {
		if e.Num != nil && limit == nil {
			limit = e.Num
		}
	}
	switch {
	case fact == nil || limit == nil:
		return 0
	case *fact > 0 && *limit > 0:
		return math.Abs(math.Log(*fact / *limit))
	}
	return math.Abs(*fact - *limit)
}

var exampleCase = regexp.MustCompile(`(?m)^Example case: (\S+)[ \t]*$`)

// NamesExample reports whether the explanation of a rule names a case as its example.
func NamesExample(rule *rules.Rule) bool { return exampleCase.MatchString(rule.Explain) }

// silent is what stands for a show of which a rule says nothing.
const silent = "silent"

// Beside returns the good example for a bad one: the case called silent or, of those of
// which nothing is said though nothing is meant to be so, the one that differs from the bad
// one in the fewest values. ok is false if there is none.
func Beside(list []Case, bad Case) (good Case, ok bool) {
	of := leaves(bad.Show)
	least := math.MaxInt
	for _, c := range list {
		if c.Got != silent || bytes.Contains(c.Show, []byte(`"meant"`)) {
			continue
		}
		if c.Name == silent {
			return c, true
		}
		other, differ := leaves(c.Show), 0
		for path, value := range of {
			if other[path] != value {
				differ++
			}
		}
		for path := range other {
			if _, there := of[path]; !there {
				differ++
			}
		}
		if differ < least {
			good, ok, least = c, true, differ
		}
	}
	return good, ok
}

// leaves are the values of a document by where they stand.
func leaves(text []byte) map[string]string {
	all := map[string]string{}
	var walk func(path string, value any)
	walk = func(path string, value any) {
		switch value := value.(type) {
		case map[string]any:
			for key, inner := range value {
				walk(path+"/"+key, inner)
			}
		case []any:
			for i, inner := range value {
				walk(fmt.Sprint(path, "/", i), inner)
			}
		default:
			all[path] = fmt.Sprint(value)
		}
	}
	if document, err := decode(text); err == nil {
		walk("", document)
	}
	return all
}

// ExampleOf returns the case that the explanation of a rule names
// under its example; list is what [Run] returned for the rule. The error is
// [rules.Mistakes]: none is named, or it is no case. Whether it says what is written
// beside it is for those who run the cases.
func ExampleOf(rule *rules.Rule, list []Case) (Case, error) {
	named := exampleCase.FindStringSubmatchIndex(rule.Explain)
	if named == nil {
		return Case{}, rule.ExplanationMistake(0, "no case is named as the example; write \"Example case: NAME\" on a line of its own")
	}
	name := rule.Explain[named[2]:named[3]]
	for _, c := range list {
		if c.Name == name {
			return c, nil
		}
	}
	return Case{}, rule.ExplanationMistake(named[2], fmt.Sprintf("the example %s is no case of cases.txtar", name))
}
