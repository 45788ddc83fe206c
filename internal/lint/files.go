package lint

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/schema"
)

// fileRules returns cards for the problems of files that occur, so that every
// finding of a report is described in it.
func fileRules(shows []outcome.Show) []finding.Rule {
	var cards []finding.Rule
	for _, show := range shows {
		for _, f := range show.Findings {
			id, isFile := strings.CutPrefix(f.Rule, "file/")
			if !isFile || slices.ContainsFunc(cards, func(c finding.Rule) bool { return c.ID == f.Rule }) {
				continue
			}
			cards = append(cards, FileRule(id, f.Level, f.Consequence))
		}
	}
	slices.SortFunc(cards, func(a, b finding.Rule) int { return strings.Compare(a.ID, b.ID) })
	return cards
}

// FileRule is the card of a problem that a file can have, by the word behind "file/".
func FileRule(id string, level finding.Level, consequence finding.Consequence) finding.Rule {
	markdown, _ := schema.Problem(id)
	title := strings.TrimSpace(strings.TrimLeft(strings.SplitN(markdown, "\n", 2)[0], "# "))
	if title == "" {
		title = strings.ReplaceAll(id, "-", " ")
	}
	if !strings.HasSuffix(title, ".") {
		title += "."
	}
	return finding.Rule{
		ID: "file/" + id, Title: title, Level: level, Consequence: consequence, Over: "file", Explain: markdown,
		Binding: "file/"+id == publishedLimit,
	}
}
