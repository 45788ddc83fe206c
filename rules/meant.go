package rules

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Idle returns a finding for each intent of a show that answered nothing: what it is
// for was not done there, or is not done any more. The tallies are those of
// [Set.Judge]. Words that no rule of the set asks for are passed over.
func (s *Set) Idle(show *schema.Show, tallies []finding.Tally) []finding.Finding {
	if show == nil {
		return nil
	}
	asked := map[string]bool{}
	for _, rule := range s.Rules {
		for _, word := range rule.Meant {
			asked[word] = true
		}
	}
	answered := func(word, kind, name string) bool {
		return slices.ContainsFunc(tallies, func(t finding.Tally) bool {
			return slices.ContainsFunc(t.Meant, func(a finding.Answer) bool { return a.Intent == word && a.Within(kind, name) })
		})
	}
	var found []finding.Finding
	look := func(kind, name string, at source.Ref, intents []schema.Intent) {
		called := "Cue " + name
		if kind != "cue" {
			called = fmt.Sprintf("The %s %q", kind, name)
		}
		for i := range intents {
			word := intents[i].Intent
			if !asked[word] || answered(word, kind, name) {
				continue
			}
			found = append(found, finding.Finding{
				Rule: "file/meant-for-nothing", Level: finding.Note, Verdict: finding.Fail, Consequence: finding.Later,
				Subjects: []finding.Subject{{Kind: kind, Name: name}}, Detail: word,
				Message: fmt.Sprintf("%s means %q, and nothing there asks for it.", called, word),
				Hint:    "Nothing has to be done tonight. Take the word out if what it was for is gone, or move it to the cue in which it is done.",
				Place:   at.Place(),
			})
		}
	}
	for _, cue := range show.Cues {
		look("cue", cue.Number.String(), cue.At, cue.Meant)
	}
	for _, segment := range show.Order {
		look("segment", segment.Name, segment.At, segment.Meant)
	}
	if show.Room != nil {
		for _, place := range show.Room.Places {
			look("place", place.Name, place.At, place.Meant)
		}
	}
	return found
}
