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

// Told lists for every rule of what it could tell whether all is as it should be, in
// each cue in which it looked. It judges again, so it is for those who hold two states
// of a show against each other.
func (s *Set) Told(measured *facts.Measured) map[string]Subjects {
	told := make(map[string]Subjects, len(s.Rules))
	for _, rule := range s.Rules {
		list, open := Subjects{}, map[string]bool{}
		j := rule.newJudgement()
		for _, subject := range measured.Subjects(rule.Over) {
			j.env[rule.Over] = subject
			verdict, _ := j.verdict()
			if verdict == notItsBusiness {
				continue
			}
			var about []finding.Subject
			for _, name := range subject.Names() {
				about = append(about, finding.Subject{Kind: name.Kind, Name: name.Name})
			}
			key := SubjectKey(about)
			if verdict == finding.Open {
				open[key] = true
			} else if list[key] == nil {
				list[key] = about
			}
		}
		for key := range open {
			delete(list, key)
		}
		told[rule.ID] = list
	}
	return told
}
