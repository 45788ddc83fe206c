package outcome

import (
	"github.com/cueproof/cueproof/internal/finding"
)

// RuleWork is how a rule is worked out with the numbers of a show.
type RuleWork struct {
	Show        string
	Kind        string // what the rule looks at
	Subjects    int
	Fails, Open int
	Names       []finding.Subject // the subject that is furthest from right, or nearest to the limit
	Cue         string
	Wrong       bool
	Message     string
	Facts       []finding.Evidence
	Limits      []finding.Evidence
	Missing     []string // of the first subject that nobody could tell of
	None        []string // what the show would have to give, if there is nothing to look at
}
