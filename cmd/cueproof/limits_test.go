package main

import (
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// TestLimitsAreTrue compares the table of limits in DEVELOPERS.md with the code.
func TestLimitsAreTrue(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	rows := regexp.MustCompile("(?m)^\\| [^|]+ \\| ([0-9]+) \\| `([^`]+)` `([A-Za-z]+)` \\| [^|]+ \\|$").FindAllStringSubmatch(string(text), -1)
	if len(rows) < 20 {
		t.Fatalf("the table has %d rows", len(rows))
	}
	for _, row := range rows {
		said, file, name := row[1], row[2], row[3]
		code, err := os.ReadFile(filepath.Join("..", "..", filepath.FromSlash(file)))
		if err != nil {
			t.Error(err)
			continue
		}
		is := regexp.MustCompile(`(?m)^(?:const|\t)(?:.*?[ \t,])?` + name + `(?:, \w+)?[ \t]+= ([^/\n,]+)`).FindStringSubmatch(string(code))
		if is == nil {
			t.Errorf("%s has no number %s", file, name)
			continue
		}
		value, err := types.Eval(token.NewFileSet(), nil, token.NoPos, is[1])
		if err != nil {
			t.Errorf("%s: %s: %v", file, name, err)
		} else if value.Value.ExactString() != said {
			t.Errorf("%s in %s is %s, and DEVELOPERS.md says %s", name, file, value.Value.ExactString(), said)
		}
	}
}
