package report

import (
	"fmt"
	"slices"
	"strings"
)

// gapOrder says what to give, and to check what: "Give the white balance of the
// camera "front", to check 14 channels."
func gapOrder(g *Gap) string {
	var kinds []string
	most := map[string]int{} // by kind; several rules ask about the same things
	none := false
	for _, c := range g.Each {
		if c.Subjects == 0 {
			none = true
			continue
		}
		if !slices.Contains(kinds, c.Kind) {
			kinds = append(kinds, c.Kind)
		}
		most[c.Kind] = max(most[c.Kind], c.Subjects)
	}
	text := "Give " + g.Missing
	switch {
	case len(kinds) > 0:
		var words []string
		for _, kind := range kinds {
			words = append(words, count(most[kind], kind))
		}
		text += ", to check " + strings.Join(words, " and ")
	case none:
		text += ", so that there is something to look at"
	}
	return text + "."
}

// gapRules names the rules that wait for a piece of knowledge, gravest first.
func gapRules(g *Gap) string {
	if len(g.Each) == 0 {
		text := some(g.Rules, mostKeys)
		if g.Subjects > 0 {
			text += fmt.Sprintf(" (%s)", count(g.Subjects, "time"))
		}
		return text
	}
	var words []string
	for _, c := range g.Each {
		word := c.Rule
		if c.Subjects > 0 {
			word += fmt.Sprintf(" (%s)", count(c.Subjects, c.Kind))
		}
		words = append(words, word)
	}
	return some(words, mostKeys)
}

type jsonGapCount struct {
	Rule        string `json:"rule"`
	Kind        string `json:"kind"`
	Subjects    int    `json:"subjects"`
	Consequence string `json:"consequence"`
}

func jsonGapCountOf(c *GapCount) jsonGapCount {
	return jsonGapCount{c.Rule, c.Kind, c.Subjects, c.Consequence.String()}
}
