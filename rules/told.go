package rules

import (
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
)

// Subjects are things that rules look at, by their names on one line.
type Subjects map[string][]finding.Subject

// SubjectKey is the names of a subject on one line.
func SubjectKey(about []finding.Subject) string {
	words := make([]string, len(about))
	for i, s := range about {
		words[i] = s.Kind + "=" + s.Name
		if s.Kind == "show" { // there is one, whatever it is called
			words[i] = s.Kind
		}
	}
	return strings.Join(words, "\x00")
}

// coverage is of what a rule could tell, while it judges.
type coverage struct {
	list Subjects
	open map[string]bool
}

func (t *coverage) add(subject facts.Subject, open bool) {
	names := about(subject)
	key := SubjectKey(names)
	switch {
	case open:
		t.open[key] = true
	case t.list[key] == nil:
		t.list[key] = names
	}
}

// subjects are those of which the rule could tell in each cue in which it looked.
func (t *coverage) subjects() Subjects {
	for key := range t.open {
		delete(t.list, key)
	}
	return t.list
}
