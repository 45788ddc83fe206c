package cases

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	_ "github.com/cueproof/cueproof/internal/draws" // takes it easy with garbage
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"
)

// packsFolder is where the built-in rules stand, seen from this package.
const packsFolder = "../../rules/packs"

// packsOnDisk is that folder as it is now: what an earlier test has rewritten, the
// later ones see.
var packsOnDisk = os.DirFS(packsFolder)

// onDisk reads the rules there, which no test rewrites, once.
var onDisk = sync.OnceValues(func() (*rules.Set, []finding.Finding) { return rules.Load(packsOnDisk, "rules/packs") })

// update says whether the tests should rewrite what they expect.
var update = os.Getenv("CUEPROOF_UPDATE") != ""

// builtIn is the built-in rules; a mistake in one of them is told with its
// place, and ends the test.
func builtIn(t testing.TB) *rules.Set {
	t.Helper()
	set, mistakes := onDisk()
	for _, m := range mistakes {
		at := m.Place.Span().Start
		t.Errorf("%s:%d:%d: %s", m.Place.File.Name, at.Line, at.Column, m.Message)
	}
	if len(mistakes) > 0 {
		t.FailNow()
	}
	return set
}

// casesOf is [Run] of a rule, whose shows are judged once for all tests; where answers are rewritten, each time.
func casesOf(fsys fs.FS, rule *rules.Rule) ([]Case, *txtar.Archive, error) {
	if fsys != packsOnDisk || update {
		return Run(fsys, rule)
	}
	of, known := judgedOnce[rule]
	if !known {
		of.list, of.archive, of.err = Run(fsys, rule)
		judgedOnce[rule] = of
	}
	return of.list, of.archive, of.err
}

var judgedOnce = map[*rules.Rule]struct {
	list    []Case
	archive *txtar.Archive
	err     error
}{}

// TestCases lets every built-in rule judge its own small shows. With
// CUEPROOF_UPDATE=1 in the environment it writes down what they say instead;
// read the difference then as you would read code.
func TestCases(t *testing.T) {
	for _, rule := range builtIn(t).Rules {
		t.Run(rule.ID, func(t *testing.T) {
			cases, archive, err := casesOf(packsOnDisk, rule)
			if err != nil {
				t.Fatal(err)
			}
			if update {
				name := filepath.Join(packsFolder, filepath.FromSlash(rule.ID), "cases.txtar")
				if err := os.WriteFile(name, txtar.Format(archive), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			for _, c := range cases {
				t.Run(c.Name, func(t *testing.T) {
					want, got := strings.Split(c.Want, "\n"), strings.Split(c.Got, "\n")
					if diff := cmp.Diff(want, got); diff != "" {
						t.Errorf("%s does not say of %s what is expected (-want +got):\n%s"+
							"If it is right now, run the test again with CUEPROOF_UPDATE=1 and read what changed.", rule.ID, c.Name, diff)
					}
				})
			}
		})
	}
}

// TestCasesOfOthers holds Run to what it promises to whoever writes a rule.
func TestCasesOfOthers(t *testing.T) {
	set := builtIn(t)
	rule, _ := set.Find("patch/channel-twice")
	run := func(archive string) ([]Case, string, error) {
		cases, current, err := Run(fstest.MapFS{"patch/channel-twice/cases.txtar": {Data: []byte(archive)}}, rule)
		if err != nil {
			return nil, "", err
		}
		return cases, string(txtar.Format(current)), nil
	}

	for what, archive := range map[string][2]string{
		"a case that lacks its answer": {"-- one --\n{\"patch\": [{\"channel\": 1}]}\n", ""},
		"an answer below the show":     {"-- one --\n{\"patch\": [{\"channel\": 1}]}\nfail\nfail\n", "fail\nfail"},
		"an answer in its own section": {"-- one.want --\nsilent\n-- one.json --\n{\"patch\": [{\"channel\": 1}]}\n", "silent"},
	} {
		t.Run(what, func(t *testing.T) {
			cases, rewritten, err := run("About.\n" + archive[0])
			want := []Case{{Rule: "patch/channel-twice", Name: "one", Want: archive[1], Got: "silent", Show: []byte("{\"patch\": [{\"channel\": 1}]}")}}
			if diff := cmp.Diff(want, cases); diff != "" || err != nil {
				t.Errorf("error %v (-want +got):\n%s", err, diff)
			}
			if want := "About.\n-- one --\n{\"patch\": [{\"channel\": 1}]}\nsilent\n"; rewritten != want {
				t.Errorf("rewritten is\n%s\nwant\n%s", rewritten, want)
			}
		})
	}
	t.Run("a show that is wrong itself is no case", func(t *testing.T) {
		_, _, err := run("-- one --\n{\"patch\": [{\"channel\": \"one\"}]}\n")
		if err == nil || !strings.Contains(err.Error(), "the show itself is wrong") {
			t.Errorf("error is %v", err)
		}
	})
	t.Run("no archive", func(t *testing.T) {
		if _, _, err := Run(fstest.MapFS{}, rule); err == nil {
			t.Error("no error")
		}
	})
}
