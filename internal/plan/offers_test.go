package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/judged"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/rules"
)

// TestWhatIsOffered: what comes to mind for each finding of some judged evenings, whether it is proved to help or not, in the
// words of an order, what is likelier or takes less first, and how the first is undone. An evening is a line "= hall/case";
// CUEPROOF_UPDATE=1 writes what stands below it. Read it before you
// believe it: would somebody who knows the booth look there?
func TestWhatIsOffered(t *testing.T) {
	set := rules.Own()
	judged.Table(t, "testdata/offers.txt", "other things come to mind", func(name string) string {
		var said strings.Builder
		start := proof.Check(judged.Show(t, name), set)
		o := (&prover{Options: Options{Rules: set}, start: start}).offers(start)
		for i := range o.order {
			f := &o.order[i]
			if f.Verdict != finding.Fail {
				continue
			}
			var lines []string
			for i, c := range slices.Concat(o.rank(o.offered(f, true, nil)), o.rank(o.offered(f, false, nil))) {
				o.words.findCues(c.edits)
				sentences, _ := o.words.sentences(c.edits)
				line := fmt.Sprintf("  %s: %s %s", where(c), strings.Join(sentences, " "), c.effect)
				if i == 0 {
					line += " Undo: " + strings.Join(o.words.back(c.edits), "; ") + "."
				}
				lines = append(lines, line)
			}
			if len(lines) > 0 {
				var about []string
				for _, subject := range f.Subjects {
					about = append(about, subject.Kind+" "+subject.Name)
				}
				fmt.Fprintf(&said, "%s of %s\n%s\n", f.Rule, strings.Join(about, ", "), strings.Join(lines, "\n"))
			}
		}
		return said.String()
	})
}

func where(c cure) string {
	if c.cause == "" {
		return "remedy"
	}
	return c.cause
}
