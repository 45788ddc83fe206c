package typical

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestEveryNumberAsItIs pins what each built-in type says, with its range: people are told
// what follows from these. The sources of the numbers stand beside them in the code, and are
// printed by the program.
func TestEveryNumberAsItIs(t *testing.T) {
	var b strings.Builder
	for _, name := range slices.Concat(Names(), []string{"profile tungsten 750 19", "profile white 170", "fresnel white 170", "wash red amber lime mint green cyan blue indigo violet white 40", "wash red green blue warm cool 40"}) {
		e, ok := Find(name)
		if !ok {
			t.Fatalf("%q is not found", name)
		}
		e.Type.Name = name
		fmt.Fprintf(&b, "%s\n", written(t, &e.Type))
		for _, key := range slices.Sorted(maps.Keys(e.Sources)) {
			if how := e.Type.Known[key]; how.High > 0 {
				fmt.Fprintf(&b, "\t%s %.6g to %.6g\n", key, how.Low, how.High)
			}
		}
	}
	const file = "testdata/types.txt"
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
