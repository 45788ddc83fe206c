package verdict

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// mostIntents is how many intents a report names.
const mostIntents = 5

// Meant tells what the rules would have said if it were not meant, intent by intent with
// the rules that it answers, most often first; "" if nothing was left unsaid.
func Meant(tallies []finding.Tally) string {
	type answered struct {
		intent string
		times  int
		rules  []string
	}
	var list []answered
	for _, tally := range tallies {
		for _, a := range tally.Meant {
			i := slices.IndexFunc(list, func(known answered) bool { return known.intent == a.Intent })
			if i < 0 {
				i = len(list)
				list = append(list, answered{intent: a.Intent})
			}
			list[i].times++
			if !slices.Contains(list[i].rules, tally.Rule) {
				list[i].rules = append(list[i].rules, tally.Rule)
			}
		}
	}
	if len(list) == 0 {
		return ""
	}
	slices.SortFunc(list, func(a, b answered) int { return cmp.Or(b.times-a.times, cmp.Compare(a.intent, b.intent)) })
	var words []string
	for _, a := range list[:min(len(list), mostIntents)] {
		slices.Sort(a.rules)
		times := fmt.Sprintf("%d times", a.times)
		if a.times == 1 {
			times = "once"
		}
		words = append(words, fmt.Sprintf("%s %s (%s)", a.intent, times, strings.Join(a.rules, ", ")))
	}
	if more := len(list) - mostIntents; more > 0 {
		words = append(words, fmt.Sprintf("and %d more intents", more))
	}
	return "not said, because it is meant: " + strings.Join(words, "; ")
}
