package rules

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
)

// Account is how a rule came to what it says of one subject.
type Account struct {
	Names   []finding.Subject
	Cue     string
	Verdict finding.Verdict // finding.Fail, finding.Open, or "" for as it should be
	Message string          // what it says of a failure
	Facts   []finding.Evidence
	Limits  []finding.Evidence
	Missing []string
}

// Work holds every subject against the rule and gives the numbers of each that is
// its business, also of those that are as they should be.
func (r *Rule) Work(measured *facts.Measured) []Account {
	j := r.newJudgement()
	j.code.judge() // says which facts are looked at
	var list []Account
	for _, subject := range measured.Subjects(r.Over) {
		verdict, missing := j.verdict(subject)
		if verdict == notItsBusiness {
			continue
		}
		w := Account{Cue: subject.Cue(), Missing: missing, Facts: j.known(subject), Limits: j.limits()}
		for _, name := range subject.Names() {
			w.Names = append(w.Names, finding.Subject{Kind: name.Kind, Name: name.Name})
		}
		switch verdict {
		case finding.Fail:
			j.env[r.Over] = subject
			w.Verdict, w.Message = verdict, r.code.tell().say.fill(j.machine, j.env)
		case finding.Open:
			w.Verdict = verdict
		}
		list = append(list, w)
	}
	return list
}

// known returns the facts of a subject that the rule looks at, as far as they are
// known and can be said: first those that decide, then those that say when to look.
func (j *judgement) known(subject facts.Subject) []finding.Evidence {
	paths := slices.Clone(j.code.expect.facts)
	if j.code.when != nil {
		paths = append(paths, j.code.when.facts...)
	}
	var list []finding.Evidence
	done := map[string]bool{}
	for _, path := range paths {
		kind, word, _ := strings.Cut(path, ".")
		if kind != j.rule.Over || done[path] {
			continue
		}
		done[path] = true
		if fact, ok := facts.ValueOf(subject, word); ok && fact.Value != nil {
			list = append(list, evidenceOf(path, fact.Value))
		}
	}
	return list
}
