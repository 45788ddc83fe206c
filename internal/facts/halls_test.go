package facts_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/judged"
	"github.com/cueproof/cueproof/internal/tracking"
)

// told are all facts of a subject by their words: what is known, with what it rests on and how far it may be off, and why the
// rest is not. What is nought, empty or not so is left out.
func told(kind string, s facts.Subject) map[string]string {
	all := map[string]string{}
	for _, word := range facts.WordsOf(kind) {
		fact, _ := facts.ValueOf(s, word)
		basis := s.Basis(word)
		text := fmt.Sprint(fact.Value)
		if number, ok := fact.Value.(float64); ok {
			if text = fmt.Sprintf("%.6g", number); math.Abs(number) < 1e-5 {
				text = "0" // processors differ in what is left of nothing
			}
		}
		switch {
		case fact.Value == nil || text == "<nil>":
			if text = strings.Join(s.Why(word), "; "); text != "" {
				all[word] = "wants " + text
			}
			continue
		case slices.Contains([]string{"0", "", "false", "[]"}, text) && len(basis.Rests) == 0:
			continue
		}
		if len(basis.Rests) > 0 {
			text += " by " + strings.Join(basis.Rests, "; ")
		}
		if basis.Range != nil {
			text += fmt.Sprintf(" (%.4g to %.4g)", basis.Range.Low, basis.Range.High)
		}
		all[word] = text
	}
	return all
}

// listed are subjects of a kind, a line each, with what is other than of the one before, or of the last that is called alike.
func listed(kind string, subjects []facts.Subject) string {
	var text strings.Builder
	last := map[string]map[string]string{}
	for _, s := range subjects {
		now, called := told(kind, s), ""
		for _, name := range s.Names() {
			called += " " + name.Name
		}
		first := s.Names()[0].Name
		before := last[first]
		if before == nil {
			before = last[""]
		}
		last[""], last[first] = now, now
		var words []string
		lines := map[string][]string{} // words by what is told of them
		for _, word := range facts.WordsOf(kind) {
			if now[word] == before[word] {
				continue
			}
			told := cmp.Or(now[word], "gone")
			if lines[told] == nil {
				words = append(words, told)
			}
			lines[told] = append(lines[told], word)
		}
		fmt.Fprintf(&text, "%s%s:", kind, called)
		for i, told := range words {
			if i > 0 {
				text.WriteString(",")
			}
			fmt.Fprintf(&text, " %s %s", strings.Join(lines[told], " "), told)
		}
		text.WriteString("\n")
	}
	return text.String()
}

// TestFactsOfWholeHalls: all that is measured of some judged evenings. An evening is a line "= hall/case"; CUEPROOF_UPDATE=1
// writes what stands below it. What changes here is told to people otherwise: know why before you believe it.
func TestFactsOfWholeHalls(t *testing.T) {
	judged.Table(t, "testdata/halls.txt", "something else is measured", func(name string) string {
		show := judged.Show(t, name)
		measured := facts.Measure(show, tracking.Resolve(show))
		var said strings.Builder
		for _, kind := range slices.Sorted(maps.Keys(facts.Kinds())) {
			said.WriteString(listed(kind, measured.Subjects(kind)))
		}
		return said.String()
	})
}
