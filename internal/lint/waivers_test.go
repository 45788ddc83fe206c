package lint

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestWhatBecameOfWaivers of two shows with one house file: what each accepts in both, and which of them nobody needs.
func TestWhatBecameOfWaivers(t *testing.T) {
	const accept = "  - {rule: patch/patched-never-used, subject: channel %s, reason: r, by: b, until: %s}\n"
	show := func(channels ...string) string {
		return `{"patch": [{"channel": ` + strings.Join(channels, `, "address": "1.1"}, {"channel": `) + `, "address": "1.9"}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`
	}
	folder := written(t, map[string]string{
		"house.yaml": "waivers:\n" + fmt.Sprintf(accept, "2", "2026-12-31") + fmt.Sprintf(accept, "3", "2026-11-24") + fmt.Sprintf(accept, "9", "2026-12-31") + fmt.Sprintf(accept, "4", "2026-11-25"),
		"a.json":     show("1", "2", "3"), "b.json": show("1", "2", "4"), "c.json": `{"patch": [`,
		"other/house.yaml": "waivers:\n", "other/d.json": show("1"),
	})
	path := func(name string) string { return filepath.Join(folder, name) }
	o := Options{Rules: everyRule(t), House: HouseOptions{Today: day}}
	w, err := LookAtWaivers([]string{path("a.json"), path("b.json")}, o)
	if err != nil {
		t.Fatal(err)
	}
	if w.Path != path("house.yaml") || w.Named || len(w.List) != 4 {
		t.Fatalf("%d waivers of %s, named %t", len(w.List), w.Path, w.Named)
	}
	for i, want := range []struct {
		accepts  int
		problems string
		stale    bool
	}{{2, "", false}, {0, "file/waiver-expired", true}, {0, "file/waiver-unmatched", true}, {1, "file/waiver-ending", false}} {
		var problems []string
		for _, f := range w.List[i].Problems {
			problems = append(problems, f.Rule)
		}
		if got := &w.List[i]; len(got.Accepts) != want.accepts || got.Stale != want.stale || got.Today != "" || !slices.Equal(problems, strings.Fields(want.problems)) {
			t.Errorf("waiver %d accepts %d, stale %t, today %q: %q; want %+v", i+1, len(got.Accepts), got.Stale, got.Today, problems, want)
		}
	}
	named := o
	named.House.File = path("house.yaml")
	if w, err := LookAtWaivers([]string{path("a.json")}, named); err != nil || !w.Named {
		t.Errorf("a house file that is named: %+v, %v", w, err)
	}
	none := o
	none.House.None = true
	for _, c := range []struct {
		about string
		o     Options
		names []string
		want  string
	}{
		{"no house file", none, []string{"a.json"}, "has no house file"}, {"two house files", o, []string{"a.json", "other/d.json"}, "have two house files"},
		{"one that cannot be read", o, []string{"a.json", "c.json"}, "cannot be read"}, {"one that is not there", o, []string{"a.json", "e.json"}, "e.json"},
	} {
		var paths []string
		for _, name := range c.names {
			paths = append(paths, path(name))
		}
		if _, err := LookAtWaivers(paths, c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, not %q", c.about, err, c.want)
		}
	}
}

// TestHowManyThingsAreToldApart where a screen is all that will be told: two hundred of those of which the same is missing.
func TestHowManyThingsAreToldApart(t *testing.T) {
	lamps := make([]string, 202)
	for i := range lamps {
		lamps[i] = fmt.Sprintf(`{"channel": %d, "type": "t", "address": "1.%d", "purpose": "key"}`, i+1, i+1)
	}
	path := filepath.Join(written(t, map[string]string{"show.json": `{"types": [{"name": "t"}], "patch": [` + strings.Join(lamps, ",") + `], "cues": [{"cue": 1, "set": [{"channels": "1-202", "level": 50}]}]}`}), "show.json")
	set := made(t, map[string]string{"test/slots": slotsKnown + "warning\n"})
	for short, want := range map[bool]int{true: 201, false: 202} {
		c, _, _, err := judge(path, Options{Rules: set, Short: short, House: HouseOptions{None: true}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, f := range c.told.Findings {
			if f.Rule == "test/slots" {
				found++
			}
		}
		if found != want {
			t.Errorf("short %t: %d findings, want %d", short, found, want)
		}
	}
}

// TestWaiversAreTakenOutAndRenamed, each if it is asked for; what is taken out needs no name.
func TestWaiversAreTakenOutAndRenamed(t *testing.T) {
	const one = "  - {rule: a/b, subject: cue %s, reason: r, by: b, until: 2026-12-31}\n"
	text := "waivers:\n" + fmt.Sprintf(one, "1") + fmt.Sprintf(one, "2") + fmt.Sprintf(one, "3") + fmt.Sprintf(one, "4")
	w := &Waivers{List: []WaiverUse{{Stale: true}, {Today: "cue 9"}, {}, {Stale: true, Today: "cue 8"}}}
	for _, c := range []struct {
		prune, rewrite bool
		want           []string
	}{
		{false, false, []string{"1", "2", "3", "4"}}, {true, false, []string{"2", "3"}}, {false, true, []string{"1", "9", "3", "8"}}, {true, true, []string{"9", "3"}},
	} {
		data, err := w.Change("house.yaml", []byte(text), c.prune, c.rewrite)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for line := range strings.Lines(string(data)) {
			if _, rest, ok := strings.Cut(line, "subject: "); ok {
				name, _, _ := strings.Cut(strings.Trim(rest, "\""), ",")
				got = append(got, strings.Trim(strings.TrimPrefix(name, "cue "), "\""))
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("taken out %t, renamed %t: %q, not %q\n%s", c.prune, c.rewrite, got, c.want, data)
		}
	}
}
