package say

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/spelling"
)

// Short writes a number with three significant digits, and never as a power of ten
// where a person would not.
func Short(v *float64) string {
	if v == nil {
		return "unknown"
	}
	number := *v
	if math.Abs(number) >= 100 {
		return fmt.Sprintf("%.0f", number)
	}
	return fmt.Sprintf("%.3g", number)
}

// Limit says a limit with its unit and where it comes from.
func Limit(limit finding.Limit) string {
	value := spelling.Amount(strconv.FormatFloat(limit.Value, 'f', -1, 64), limit.Unit)
	return fmt.Sprintf("%s: %s (%s)", limit.Name, value, limit.Source)
}

// How many digits of a fact are printed: for machines more than any of them is
// good for and fewer than processors agree on, for people what they can read.
const (
	MachineDigits = 6
	PeopleDigits  = 4
)

// RoundFact rounds a fact. For people what is nearly nothing is nothing.
func RoundFact(number float64, digits int) float64 {
	if digits == PeopleDigits && math.Abs(number) < 1e-5 {
		return 0
	}
	rounded, _ := Round(number, digits) // facts are finite: their tests say so
	return rounded
}

// SixDigits rounds to six significant digits, fewer than the 15 on which all
// processors agree (some fuse a multiplication with an addition) and more than
// any light meter has. ok is false for what is not a finite number.
func SixDigits(v float64) (rounded float64, ok bool) { return Round(v, MachineDigits) }

// Round rounds to so many significant digits; ok is false for what is not a
// finite number.
func Round(v float64, digits int) (rounded float64, ok bool) {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil || math.IsNaN(rounded) || math.IsInf(rounded, 0) {
		return 0, false
	}
	return rounded + 0, true // -0 + 0 is 0
}

// LimitValue says the value of a limit with its unit.
func LimitValue(l *finding.Limit) string {
	value, ok := SixDigits(l.Value)
	if !ok {
		return "unknown"
	}
	return spelling.Amount(fmt.Sprintf("%g", value), l.Unit)
}

// InBrackets says a range of minutes behind an order, or nothing if there is none.
func InBrackets(m outcome.Minutes) string {
	if m.Most <= 0 {
		return ""
	}
	return " (" + Minutes(m) + " min)"
}

// Minutes says a range: "5-15".
func Minutes(m outcome.Minutes) string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	if m.Least == m.Most {
		return number(m.Most)
	}
	return number(m.Least) + "-" + number(m.Most)
}

// Counts says the counts: "2 new, 1 worse, 5 fixed, 30 as before".
func Counts(c outcome.Counts) string {
	words := []string{fmt.Sprintf("%d new", c.New)}
	add := func(n int, text string) {
		if n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, text))
		}
	}
	add(c.Worse, "worse")
	words = append(words, fmt.Sprintf("%d fixed", c.Fixed))
	add(c.Better, "better")
	words = append(words, fmt.Sprintf("%d as before", c.Before))
	add(c.Untold, "of which nobody can tell any more")
	add(c.Review, "gone by a change of rules, limits or what is meant")
	return strings.Join(words, ", ")
}

// Was says what a finding was in the base and is now: "was 1.2 stops, is 1.9 stops",
// or "" where nothing was measured in either.
func Was(f *finding.Finding) string {
	if f.Before == nil {
		return ""
	}
	var words []string
	if a, b := f.Before.Amount, f.Amount; a != nil && b != nil && f.Base != finding.Unchanged {
		words = append(words, fmt.Sprintf("was %s, is %s", amountText(a), amountText(b)))
	}
	if len(f.Before.More) > 0 {
		noun := "cue"
		if len(f.Before.More) > 1 {
			noun = "cues"
		}
		words = append(words, fmt.Sprintf("shows in %s %s as well now", noun, spelling.Few(f.Before.More, MostWords)))
	}
	return strings.Join(words, "; ")
}

func amountText(a *finding.Amount) string {
	return spelling.Amount(Short(&a.Value), a.Unit)
}

// Dark says which checks went, those that went for one reason together.
func Dark(list []outcome.Dark) []string {
	var reasons []string
	rules, about := map[string][]string{}, map[string][]string{}
	for i := range list {
		d := &list[i]
		reasons = AddNew(reasons, d.Why)
		rules[d.Why] = AddNew(rules[d.Why], d.Rule)
		for _, name := range d.About {
			about[d.Why] = AddNew(about[d.Why], name)
		}
	}
	for i, why := range reasons {
		text := Period(spelling.Capital(why))
		reasons[i] = fmt.Sprintf("%s Gone dark: %s", text, spelling.Few(rules[why], 4))
		if len(about[why]) > 0 {
			reasons[i] += ", about " + spelling.Few(about[why], 3)
		}
		reasons[i] += "."
	}
	return reasons
}

// Stops is how much more light it is now, in photographic stops (the logarithm
// to base 2 of the ratio); ok is false where one of the two is unknown or no light.
func Stops(s outcome.Step) (stops float64, ok bool) {
	if s.Old == nil || s.New == nil || *s.Old <= 0 || *s.New <= 0 {
		return 0, false
	}
	stops = math.Log2(*s.New / *s.Old)
	return stops, !math.IsInf(stops, 0) && !math.IsNaN(stops)
}

// Clears says how many of all findings so many orders would clear.
func Clears(orders, cleared, all int) string {
	what := fmt.Sprintf("%d of %s", cleared, Count(all, "finding"))
	switch {
	case cleared != all:
	case all == 1:
		what = "it"
	default:
		what = fmt.Sprintf("all %d findings", all)
	}
	return fmt.Sprintf("%s would clear %s", Count(orders, "order"), what)
}
