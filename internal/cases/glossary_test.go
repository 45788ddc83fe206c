package cases

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/rules"
)

// trade are words that a newcomer has to look up, as rules write them. Units of limits
// come beside them.
var trade = []string{
	"accent", "address", "ambient", "back light", "bar", "beam", "circuit", "CRI", "cue", "Duv", "emitter", "fill light", "filament",
	"gel", "haze", "hue", "key light", "look", "mired", "mode", "palette", "patch", "practical", "profile", "reflectance", "shutter", "slot",
	"spill", "stop", "strobe", "TLCI", "tint", "universe", "wash", "white balance", "zoom",
}

// TestEveryWordIsExplained: a word of the trade that an explanation uses, and the unit of
// every limit, stand in the glossary once; and the glossary has no entry twice.
func TestEveryWordIsExplained(t *testing.T) {
	var words []string
	for _, term := range handbook.Glossary() {
		if slices.Contains(words, term.Word) || term.Means == "" {
			t.Errorf("%q stands twice or means nothing", term.Word)
		}
		if !strings.HasSuffix(term.Means, ".") || len(strings.Fields(term.Means)) > 20 {
			t.Errorf("%s: %q is no short sentence", term.Word, term.Means)
		}
		words = append(words, term.Word)
	}
	known := func(word string) bool {
		return slices.ContainsFunc(words, func(w string) bool {
			return w == word || strings.HasSuffix(w, " ("+word+")") || strings.HasPrefix(w, word+" (")
		})
	}
	units := map[string]string{
		"%": "", "": "", "s": "", "min": "", "days": "", "looks": "", "cues": "", "places": "", "lamps": "", "universe": "", "slot": "", "deg": "", "degrees": "", "m": "", "stops": "stop", "K": "K", "lx": "lx", "Hz": "Hz",
		"mg/m3": "haze", "mired": "mired", "cd/m2": "cd/m2", "lm": "lm", "Duv": "Duv", "flashes/s": "flash",
	}
	var text strings.Builder
	for _, rule := range rules.Own().Rules {
		text.WriteString(rule.Explain)
		for _, limit := range rule.Limits {
			term, ok := units[limit.Unit]
			if !ok {
				t.Errorf("the unit %q of %s is none that a reader is told of", limit.Unit, rule.ID)
			}
			if term != "" && !known(term) {
				t.Errorf("the unit %q of %s is not explained", limit.Unit, rule.ID)
			}
		}
	}
	for _, word := range trade {
		if used := regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(word) + `s?\b`).MatchString(text.String()); !used {
			t.Errorf("no explanation uses %q any more", word)
		}
		if !known(word) {
			t.Errorf("%q is not explained", word)
		}
	}
}
