package plan

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/rules"
)

// TestWhatIsOffered: what comes to mind for each finding of some judged evenings, whether it is proved to help or not, in the
// words of an order, what is likelier or takes less first, and how the first is undone. An evening is a line "= hall/case";
// CUEPROOF_UPDATE=1 writes what stands below it. Read it before you
// believe it: would somebody who knows the booth look there?
func TestWhatIsOffered(t *testing.T) {
	const golden = "testdata/offers.txt"
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	set := rules.Own()
	var got strings.Builder
	for _, line := range strings.Split(string(want), "\n") {
		name, ok := strings.CutPrefix(line, "= ")
		if !ok {
			continue
		}
		start := proof.Check(caseOf(t, name), set)
		o := (&prover{Options: Options{Rules: set}, start: start}).offers(start)
		fmt.Fprintf(&got, "= %s\n", name)
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
				fmt.Fprintf(&got, "%s of %s\n%s\n", f.Rule, strings.Join(about, ", "), strings.Join(lines, "\n"))
			}
		}
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")); diff != "" {
		t.Errorf("other things come to mind (CUEPROOF_UPDATE=1 writes them):\n%.3000s", diff)
	}
}

func where(c cure) string {
	if c.cause == "" {
		return "remedy"
	}
	return c.cause
}
