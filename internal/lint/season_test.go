package lint

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/season"
	"github.com/cueproof/cueproof/rules"
)

// truth is how two services in the names of one show differ: read off the names alone.
func truth(then, now []finding.Finding) (c outcome.Counts) {
	before := map[string][]*finding.Finding{}
	for i := range then {
		before[then[i].Identity()] = append(before[then[i].Identity()], &then[i])
	}
	for i := range now {
		f := &now[i]
		list := before[f.Identity()]
		if len(list) > 0 {
			before[f.Identity()] = list[1:]
		}
		switch {
		case f.Verdict != finding.Fail:
		case len(list) == 0:
			c.New++
		case slices.ContainsFunc(f.Cues, func(cue string) bool { return !slices.Contains(list[0].Cues, cue) }):
			c.Worse++
		case f.Amount == nil || list[0].Amount == nil || f.Amount.Compare(*list[0].Amount) == 0:
			c.Before++
		case f.Amount.Compare(*list[0].Amount) > 0:
			c.Worse++
		default:
			c.Better++
		}
	}
	for _, list := range before {
		for _, f := range list {
			if f.Verdict == finding.Fail {
				c.Fixed++
			}
		}
	}
	return c
}

// TestASimulatedYear holds what is reported from one service to the next of an
// invented year, dressed as a team would export them, against what the same services
// differ in under the names of the first: a month, or as many weeks as
// CUEPROOF_WEEKS says.
func TestASimulatedYear(t *testing.T) {
	weeks := 4
	if text := os.Getenv("CUEPROOF_WEEKS"); text != "" {
		var err error
		if weeks, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	seed := uint64(2026)
	if text := os.Getenv("CUEPROOF_SEED"); text != "" {
		var err error
		if seed, err = strconv.ParseUint(text, 10, 64); err != nil {
			t.Fatal(err)
		}
	}
	base, err := os.ReadFile("../../testdata/judgement/tallow/base.json")
	if err != nil {
		t.Fatal(err)
	}
	services, err := season.Year(base, seed, weeks)
	if err != nil {
		t.Fatal(err)
	}
	examined := func(show []byte) *checked {
		o := Options{Rules: rules.Own(), Stdin: bytes.NewReader(show), StdinName: "show.json", House: HouseOptions{None: true, Today: "2026-01-04"}}
		c, err := examine("-", o, nil)
		if err != nil || c.told.Unreadable {
			t.Fatal(err, c.told.Findings)
		}
		return &c
	}
	var sum, wrong outcome.Counts
	var plainThen, then *checked
	past, err := OpenHistory(filepath.Join(t.TempDir(), "none.json"))
	if err != nil {
		t.Fatal(err)
	}
	lastOf := map[bool][]finding.Finding{} // of the morning and of the evening
	ever := map[bool]map[string]bool{false: {}, true: {}}
	for i, service := range services {
		plain, now := examined(service.Plain), examined(service.Dressed)
		if i > 0 {
			want := truth(plainThen.told.Findings, plain.told.Findings)
			change, _ := earlier.Against(then.state(), now.state())
			got := change.Counts
			add(&sum, want, 1)
			if got != want || change.Failed() {
				add(&wrong, got, 1)
				add(&wrong, want, -1)
				t.Errorf("service %d (%s, %v):\n got %+v\nwant %+v\ndark %v %v", i, service.Day, service.Edits, got, want, change.Dark, change.Lost)
			}
		}
		plainThen, then = plain, now

		// The same in one history for morning and evening.
		now.told.Path = map[bool]string{false: "shows/morning", true: "shows/evening"}[service.Evening]
		run := now.run(service.Day)
		if last := lastOf[service.Evening]; last != nil {
			want := truth(last, plain.told.Findings)
			back := 0
			for i := range plain.told.Findings {
				if f := &plain.told.Findings[i]; f.Verdict == finding.Fail && ever[service.Evening][f.Identity()] && !slices.ContainsFunc(last, func(o finding.Finding) bool { return o.Identity() == f.Identity() }) {
					back++
				}
			}
			got := past.Since(run)[0]
			counted := fmt.Sprintf(": %d fixed, %d new", want.Fixed, want.New-back)
			if want.Worse > 0 {
				counted += fmt.Sprintf(", %d worse", want.Worse)
			}
			if !strings.Contains(got, counted) || want.Worse == 0 && strings.Contains(got, "worse") {
				t.Errorf("service %d (%s, %v):\n got %s\nwant %s, %d back", i, service.Day, service.Edits, got, counted, back)
			}
		}
		past.Add(run)
		lastOf[service.Evening] = plain.told.Findings
		for i := range plain.told.Findings {
			ever[service.Evening][plain.told.Findings[i].Identity()] = true
		}
	}
	t.Logf("%d weeks, %d services: %s; reported and true differ by %s", weeks, len(services), told(sum), told(wrong))
}

func add(sum *outcome.Counts, c outcome.Counts, sign int) {
	sum.New += sign * c.New
	sum.Worse += sign * c.Worse
	sum.Fixed += sign * c.Fixed
	sum.Better += sign * c.Better
	sum.Before += sign * c.Before
	sum.Untold += sign * c.Untold
}

func told(c outcome.Counts) string {
	return fmt.Sprintf("%d new, %d worse, %d fixed, %d better, %d as before", c.New, c.Worse, c.Fixed, c.Better, c.Before)
}
