package lint

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/google/go-cmp/cmp"
)

func comparing(t *testing.T) Options {
	t.Helper()
	return Options{Rules: everyRule(t), House: HouseOptions{None: true, Today: "2026-03-08"}}
}

// TestComparingAddsUp holds every pair of demo shows against each other: what is
// fixed, untold and unchanged is all that was found in the old one, what is new and
// unchanged all that was found in the new one, and the other way round they change
// places.
func TestComparingAddsUp(t *testing.T) {
	o := comparing(t)
	names := []string{"flawed", "mended", "flawed-csv"}
	if os.Getenv("CUEPROOF_LONG") == "" {
		names = names[:2] // CI compares tables too
	}
	path := func(name string) string { return "../../testdata/shows/" + name }
	found := map[string]int{}
	for _, name := range names {
		e, err := examine(path(name), o, nil)
		if err != nil {
			t.Fatal(err)
		}
		found[name] = len(e.told.Findings)
	}
	compared := map[[2]string]*outcome.Comparison{}
	for _, old := range names {
		for _, now := range names {
			c, err := Compare(path(old), path(now), o)
			if err != nil {
				t.Fatal(err)
			}
			compared[[2]string{old, now}] = c
		}
	}
	for _, old := range names {
		for _, now := range names {
			c, back := compared[[2]string{old, now}], compared[[2]string{now, old}]
			states := map[finding.BaseState]int{}
			for _, f := range c.Findings {
				states[f.Base]++
			}
			still := states[finding.Unchanged] + states[finding.Worse] + states[finding.Better]
			if n := len(c.Gone) + still; n != found[old] {
				t.Errorf("%s to %s: gone and unchanged are %d of %d", old, now, n, found[old])
			}
			if n := states[finding.New] + states[finding.Untold] + still; n != found[now] {
				t.Errorf("%s to %s: new and unchanged are %d of %d", old, now, n, found[now])
			}
			alike := strings.TrimSuffix(old, "-csv") == strings.TrimSuffix(now, "-csv")
			if alike != (found[now]-states[finding.Unchanged]+len(c.Gone) == 0) || alike != (len(c.Looks) == 0) {
				t.Errorf("%s to %s: %v, %d gone, %d looks changed", old, now, states, len(c.Gone), len(c.Looks))
			}
			if back.Counts.New != c.Counts.Fixed+c.Counts.Untold || back.Counts.Before != c.Counts.Before || back.Counts.Better != c.Counts.Worse || len(back.Looks) != len(c.Looks) {
				t.Errorf("%s to %s: %v, and back: %v", old, now, c.Counts, back.Counts)
			}
		}
	}
}

// TestCheckAndCompareAgree holds a check with a base against a comparison.
func TestCheckAndCompareAgree(t *testing.T) {
	o := comparing(t)
	const sound, flawed = "../../testdata/shows/mended", "../../testdata/shows/flawed"
	ways := [][2]string{{flawed, sound}, {sound, flawed}}
	if os.Getenv("CUEPROOF_LONG") == "" {
		ways = ways[:1] // in CI both
	}
	for _, way := range ways {
		old, now := way[0], way[1]
		c, err := Compare(old, now, o)
		if err != nil {
			t.Fatal(err)
		}
		o.Base = old
		r, err := Run([]string{now}, o)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.Counts, r.Base.Counts); diff != "" {
			t.Error(diff)
		}
		if len(r.Base.Gone) != len(c.Gone) || len(c.Gone)+c.Counts.New == 0 {
			t.Errorf("%d gone, and compared %d; %d new", len(r.Base.Gone), len(c.Gone), c.Counts.New)
		}
		for _, past := range r.Base.Gone {
			if past.File != "" && !strings.HasPrefix(past.File, now+"/") {
				t.Errorf("what is gone stands in %s, where nobody looks", past.File)
			}
		}
	}
}

func TestInside(t *testing.T) {
	for _, tc := range []struct{ file, old, now, want string }{
		{"before/sunday/cues.json", "before/sunday", "shows/sunday", "shows/sunday/cues.json"},
		{"before/sunday/cues.json", "before/sunday/", "shows/sunday/", "shows/sunday/cues.json"},
		{"old.json", "old.json", "new.json", "new.json"},
		{"before/sunday-2/cues.json", "before/sunday", "shows", "before/sunday-2/cues.json"},
		{"house.yaml", "before", "after", "house.yaml"},
		{"", "before", "after", ""},
	} {
		if got := inside(tc.file, tc.old, tc.now); got != tc.want {
			t.Errorf("%s of %s is %s, want %s", tc.file, tc.old, got, tc.want)
		}
	}
}

func TestReportsThatAreTooLong(t *testing.T) {
	name := filepath.Join(t.TempDir(), "long.json")
	if err := os.WriteFile(name, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(name, largestReport+1); err != nil {
		t.Fatal(err)
	}
	if _, err := readReport(name); err == nil || !strings.Contains(err.Error(), "no report is that long") {
		t.Error(err)
	}
}
