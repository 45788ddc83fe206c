package lint

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/season"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/rules"
)

// truth is how two services in the names of one show differ: read off the names alone.
// What somebody accepted is not counted if that is asked for.
func truth(then, now []finding.Finding, accepted bool) (c outcome.Counts) {
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
		case f.Verdict != finding.Fail || !accepted && f.Accepted != nil:
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
			if f.Verdict == finding.Fail && (accepted || f.Accepted == nil) {
				c.Fixed++
			}
		}
	}
	return c
}

// decided is one thing that somebody accepted: in the names of the first show, and as
// it was written into the house file in those of its day.
type decided struct {
	identity string
	amount   *finding.Amount
	waiver   waiver.Waiver
}

// covers reports whether a finding of a plain show is what was accepted, and no worse.
func (d *decided) covers(f *finding.Finding) bool {
	return f.Identity() == d.identity && (d.amount == nil || f.Amount == nil || f.Amount.Compare(*d.amount) <= 0)
}

// inDress is a finding of a plain show under the names of the dressed one.
func inDress(s *season.Service, f *finding.Finding) *finding.Finding {
	named := *f
	named.Subjects = slices.Clone(f.Subjects)
	for i := range named.Subjects {
		named.Subjects[i].Name = s.Dressed(named.Subjects[i].Kind, named.Subjects[i].Name)
	}
	return &named
}

// accept chooses one failure of a plain show that may be accepted, and writes the waiver
// for it in the names of the dressed show; ok is false if there is none.
func acceptOne(s *season.Service, plain, dressed []finding.Finding, known []decided) (d decided, ok bool) {
	twice := map[string]int{}
	for i := range plain {
		twice[plain[i].Identity()]++
	}
	var may []*finding.Finding
	for i := range plain {
		f := &plain[i]
		about := slices.ContainsFunc(known, func(d decided) bool { return d.identity == f.Identity() })
		if f.Verdict == finding.Fail && !f.Binding && !strings.HasPrefix(f.Rule, "file/") && twice[f.Identity()] == 1 && len(f.With) == 0 && !about {
			may = append(may, f)
		}
	}
	if len(may) == 0 {
		return decided{}, false
	}
	f := may[s.Accept%uint64(len(may))]
	at := slices.IndexFunc(dressed, func(g finding.Finding) bool { return g.Identity() == inDress(s, f).Identity() })
	if at < 0 {
		return decided{}, false // its detail has a name in it
	}
	w := waiver.Of(&dressed[at], "it is so", "lead", waiver.Never)
	w.Since = s.Day
	return decided{f.Identity(), f.Amount, w}, true
}

// yearOf returns how many weeks the simulated years have, and their seeds.
func yearOf(t *testing.T) (weeks int, seeds []uint64) {
	weeks, seeds = 4, []uint64{2026}
	var err1, err2 error
	if text := os.Getenv("CUEPROOF_WEEKS"); text != "" {
		weeks, err1 = strconv.Atoi(text)
	}
	if text := os.Getenv("CUEPROOF_SEEDS"); text != "" {
		seeds = nil
		for _, word := range strings.Fields(text) {
			seed, err := strconv.ParseUint(word, 10, 64)
			seeds, err2 = append(seeds, seed), errors.Join(err2, err)
		}
	}
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	return weeks, seeds
}

// TestASimulatedYear holds what is reported from one service to the next of an
// invented year, dressed as a team would export them, against what the same services
// differ in under the names of the first: a month, or as many weeks as
// CUEPROOF_WEEKS says, for each seed in CUEPROOF_SEEDS. What was accepted in one week
// has to be accepted in the next, up to its value, and nothing else.
func TestASimulatedYear(t *testing.T) {
	weeks, seeds := yearOf(t)
	base, err := os.ReadFile("../../testdata/judgement/tallow/base.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, seed := range seeds {
		services, err := season.Year(base, seed, weeks)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { simulate(t, services) })
	}
}

// year is a simulated year as far as it has gone.
type year struct {
	t              *testing.T
	folder         string
	past           *History
	decisions      []decided
	sum, wrong     outcome.Counts
	carried, moved int // waivers that covered something, and those of them whose thing had another name by then
}

func simulate(t *testing.T, services []season.Service) {
	y := year{t: t, folder: t.TempDir()}
	var err error
	if y.past, err = OpenHistory(filepath.Join(y.folder, "none.json")); err != nil {
		t.Fatal(err)
	}
	var plainThen, then *showCheck
	lastOf := map[bool][]finding.Finding{} // of the morning and of the evening
	ever := map[bool]map[string]bool{false: {}, true: {}}
	for i := range services {
		service := &services[i]
		where := fmt.Sprintf("service %d (%s, %v)", i, service.Day, service.Edits)
		plain, now := y.plain(service), y.dressed(service)
		for j := range plain.told.Findings {
			if f := &plain.told.Findings[j]; slices.ContainsFunc(y.decisions, func(d decided) bool { return d.covers(f) }) {
				f.Accepted = &finding.Acceptance{}
			}
		}
		y.waivers(where, service, plain, now, then)
		if i > 0 {
			want := truth(plainThen.told.Findings, plain.told.Findings, false)
			change, _ := earlier.Against(then.state(), now.state())
			got := change.Counts
			add(&y.sum, want, 1)
			if got != want || change.Failed() {
				add(&y.wrong, got, 1)
				add(&y.wrong, want, -1)
				t.Errorf("%s:\n got %+v\nwant %+v\ndark %v %v", where, got, want, change.Dark, change.Lost)
			}
		}
		plainThen, then = plain, now

		// The same in one history for morning and evening.
		run := now.run(service.Day)
		if last := lastOf[service.Evening]; last != nil {
			want := truth(last, plain.told.Findings, true)
			back := 0
			for i := range plain.told.Findings {
				if f := &plain.told.Findings[i]; f.Verdict == finding.Fail && ever[service.Evening][f.Identity()] && !slices.ContainsFunc(last, func(o finding.Finding) bool { return o.Identity() == f.Identity() }) {
					back++
				}
			}
			since := y.past.Since(run)
			got := since[0]
			counted := fmt.Sprintf(": %d fixed, %d new", want.Fixed, want.New-back)
			if want.Worse > 0 {
				counted += fmt.Sprintf(", %d worse", want.Worse)
			}
			if !strings.Contains(got, counted) || want.Worse == 0 && strings.Contains(got, "worse") {
				t.Errorf("%s:\n got %s\nwant %s, %d back", where, strings.Join(since, "\n     "), counted, back)
			}
		}
		if service.Accept != 0 {
			if d, ok := acceptOne(service, plain.told.Findings, now.told.Findings, y.decisions); ok {
				y.decisions = append(y.decisions, d)
				y.write()
				now = y.dressed(service) // the run after it was written
				run = now.run(service.Day)
				then = now
				for j := range plain.told.Findings {
					if f := &plain.told.Findings[j]; d.covers(f) {
						f.Accepted = &finding.Acceptance{}
					}
				}
			}
		}
		y.past.Add(run)
		lastOf[service.Evening] = plain.told.Findings
		for i := range plain.told.Findings {
			ever[service.Evening][plain.told.Findings[i].Identity()] = true
		}
		if service.Forget && len(y.decisions) > 0 {
			y.decisions = y.decisions[1:]
			y.write()
		}
	}
	t.Logf("%d services: %s; reported and true differ by %s; %d times something accepted was found again, %d times under another name",
		len(services), told(y.sum), told(y.wrong), y.carried, y.moved)
}

// write writes the house file anew.
func (y *year) write() {
	var list []waiver.Waiver
	for _, d := range y.decisions {
		list = append(list, d.waiver)
	}
	text, err := house.Append("house.yaml", nil, list)
	if err == nil {
		err = os.WriteFile(filepath.Join(y.folder, "house.yaml"), text, 0o644)
	}
	if err != nil {
		y.t.Fatal(err)
	}
}

func (y *year) plain(s *season.Service) *showCheck {
	name := filepath.Join(y.folder, "plain.json")
	return y.examined(name, s.Plain, Options{House: HouseOptions{None: true, Today: s.Day}})
}

func (y *year) dressed(s *season.Service) *showCheck {
	folder := filepath.Join(y.folder, map[bool]string{false: "morning", true: "evening"}[s.Evening])
	if err := errors.Join(os.RemoveAll(folder), os.Mkdir(folder, 0o755)); err != nil {
		y.t.Fatal(err)
	}
	o := Options{House: HouseOptions{None: len(y.decisions) == 0, Today: s.Day}, History: y.past, Asks: true}
	if !o.House.None {
		o.House.File = filepath.Join(y.folder, "house.yaml")
	}
	name := filepath.Join(folder, s.File)
	return y.examined(name, s.Show, o)
}

func (y *year) examined(file string, data []byte, o Options) *showCheck {
	if err := os.WriteFile(file, data, 0o644); err != nil {
		y.t.Fatal(err)
	}
	o.Rules, o.tells = rules.Own(), true
	c, _, _, err := judge(file, o, nil)
	if err != nil || c.told.Unreadable {
		y.t.Fatal(err, c.told.Findings)
	}
	finding.Sort(c.told.Findings)
	return &c
}

// waivers holds what is accepted by the house file as it was written, week by week,
// against what was decided.
func (y *year) waivers(where string, s *season.Service, plain, now, then *showCheck) {
	var want, got []string
	for i := range plain.told.Findings {
		if f := &plain.told.Findings[i]; f.Accepted != nil {
			want = append(want, inDress(s, f).Identity())
		}
	}
	for i := range now.told.Findings {
		if f := &now.told.Findings[i]; f.Accepted != nil {
			got = append(got, f.Identity())
			y.carried++
			if f.Accepted.WrittenFor != "" {
				y.moved++
			}
		}
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		y.t.Errorf("%s:\naccepted %q\n    want %q", where, got, want)
	}
	if then == nil || now.setup.House == nil || then.setup.House == nil {
		return
	}
	// The earlier state alone says the same of what it knows.
	byBase := Setup{House: now.setup.House}
	byBase.carry(now.told.Path, now.show, now.told.Files, nil, then)
	for i := range byBase.carried {
		a, b := byBase.carried[i], now.setup.carried[i]
		if a.Known && len(a.About) > 0 && b.Known && len(b.About) > 0 && a.Subject() != b.Subject() {
			y.t.Errorf("%s: the waiver for %s is about %s by the base and about %s by the history", where, now.setup.House.Waivers[i].Subject, a.Subject(), b.Subject())
		}
	}
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
