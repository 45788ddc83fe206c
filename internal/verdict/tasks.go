package verdict

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// noticeKeys are the notices that rules ask for, by the rule, and what stands there.
var noticeKeys = map[string][]struct {
	key string
	of  func(*schema.Notices) string
}{
	"safety/strobe-notice": {{"strobe", func(n *schema.Notices) string { return n.Strobe }}},
	"safety/haze-detection-notice": {
		{"smoke_detection", func(n *schema.Notices) string { return n.SmokeDetection }},
		{"haze", func(n *schema.Notices) string { return n.Haze }},
	},
}

// Tasks are what only a person can give, of the findings that no order clears: a
// notice that was put up, something agreed with somebody. Nothing of it can be
// proved on a copy.
func Tasks(left []finding.Finding, show *schema.Show, set *rules.Set) []outcome.Order {
	var list []outcome.Order
	// No notice makes up for flashes that are too fast: first they have to go.
	tooFast := slices.ContainsFunc(left, func(f finding.Finding) bool {
		return f.Verdict == finding.Fail && (f.Rule == "safety/flash-rate" || f.Rule == "safety/red-flash")
	})
	for i := range left {
		f := &left[i]
		keys, isNotice := noticeKeys[f.Rule]
		if !isNotice || f.Rule == "safety/strobe-notice" && tooFast {
			continue
		}
		task := outcome.Order{
			Do: f.Hint, Why: f.Message, Effect: "People know, and it is written down.", Undo: "Take the words out of notices again.",
			Consequence: f.Consequence, Level: f.Level, Rules: []string{f.Rule}, Cures: []string{f.Key()}, Place: f.Place,
			Where: outcome.Booth, Who: "somebody who speaks for the house", Minutes: outcome.Minutes{Least: minutesToAsk / 2, Most: minutesToAsk},
		}
		if rule, ok := set.Find(f.Rule); ok {
			task.Caution = rule.Caution
		}
		for _, k := range keys {
			if show == nil || show.Notices == nil || strings.TrimSpace(k.of(show.Notices)) == "" {
				task.Edits = append(task.Edits, outcome.Edit{What: "notices", Names: []string{k.key}, Key: k.key})
			}
		}
		list = append(list, task)
	}
	return list
}

// minutesToAsk is how long it takes to find somebody and agree (common practice, no
// source).
const minutesToAsk = 10
