package ask

import (
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/rules"
)

func builtIn() []finding.Rule {
	set := rules.Own()
	list := make([]finding.Rule, len(set.Rules))
	for i, rule := range set.Rules {
		list[i] = rule.Rule
	}
	return list
}

// People ask in their own words. What should come out was written down first.
func TestWhatPeopleAsk(t *testing.T) {
	list := builtIn()
	for question, want := range map[string]string{
		"the beams do not show":                  "air/beams-without-haze",
		"there is haze in the talk":              "air/haze-lingers",
		"stripes roll through the stream":        "camera/banding",
		"the face is blue":                       "people/colour-on-face",
		"her hair is burnt out":                  "people/back-strong",
		"too many colours at once":               "colour/too-many-hues",
		"it flashes much too fast":               "safety/flash-rate",
		"people melt into the dark background":   "people/no-back",
		"the preacher is dark before the slides": "screen/outshines-face",
	} {
		hits := Rules(question, list)
		found := false
		for _, hit := range hits[:min(3, len(hits))] {
			found = found || hit.Rule.ID == want
		}
		if !found {
			t.Errorf("%q: %s is not among the first three of %v", question, want, ids(hits))
		}
	}
}

func ids(hits []Hit) []string {
	var list []string
	for _, hit := range hits {
		list = append(list, hit.Rule.ID+" by "+hit.Symptom)
	}
	return list
}

func TestNothingFits(t *testing.T) {
	for _, question := range []string{"", "the of and", "xylophone", "\x1b[31m"} {
		if hits := Rules(question, builtIn()); len(hits) > 0 {
			t.Errorf("%q: %v", question, ids(hits))
		}
	}
}

// Each symptom that a rule lists leads to that rule.
func TestSymptomsLeadHome(t *testing.T) {
	list := builtIn()
	for _, rule := range list {
		for _, symptom := range rule.Symptoms {
			hits := Rules(symptom, list)
			home := false
			for _, hit := range hits {
				home = home || hit.Rule.ID == rule.ID
			}
			if !home {
				t.Errorf("%q of %s leads to %v", symptom, rule.ID, ids(hits))
			}
		}
	}
}
