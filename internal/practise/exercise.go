package practise

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// MostFaults is how many faults one exercise holds at most.
const MostFaults = 5

// Choice is what an exercise is made of.
type Choice struct {
	Faults int
	Packs  []string // none: all
	First  []string // rules that come back, before all others
	Seed   uint64
}

// Make puts faults into a show, one after the other, each of another rule. The show must
// be sound as far as its rules go: what it says already is no exercise.
func Make(files Files, recipes map[string]*Recipe, judge Judge, c Choice) (Files, *Exercise, error) {
	if c.Faults < 1 || c.Faults > MostFaults {
		return nil, nil, fmt.Errorf("an exercise has 1 to %d faults", MostFaults)
	}
	found, err := judge(files)
	if err != nil {
		return nil, nil, err
	}
	made := &Exercise{Seed: c.Seed, Asked: c.Faults}
	said := Said(found)
	for _, f := range found {
		if f.Level == finding.Error && f.Verdict == finding.Fail {
			return nil, nil, fmt.Errorf("the show is not sound, so nobody could learn from it: %s", f.Message)
		}
	}
	made.Said = slices.Sorted(maps.Keys(said))
	r := rand.New(rand.NewPCG(c.Seed, 1))
	names := slices.Sorted(maps.Keys(recipes))
	names = slices.DeleteFunc(names, func(rule string) bool {
		pack, _, _ := strings.Cut(rule, "/")
		return len(c.Packs) > 0 && !slices.Contains(c.Packs, pack)
	})
	if len(names) == 0 {
		return nil, nil, errors.New("no rule of these packs knows how it is broken")
	}
	r.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	slices.SortStableFunc(names, func(a, b string) int { return place(c.First, a) - place(c.First, b) })
	for _, rule := range names {
		changed, planted, err := Break(files, said, recipes[rule], judge, r.Uint64())
		if errors.Is(err, ErrSound) {
			made.Passed = append(made.Passed, rule) // another, then
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		files = changed
		made.Faults = append(made.Faults, *planted)
		maps.Copy(said, Said(planted.found)) // what it cannot but bring along is no fault of the next
		if len(made.Faults) == c.Faults {
			return files, made, nil
		}
	}
	if len(made.Faults) == 0 {
		return nil, nil, errors.New("none of these rules can be broken in this show by itself")
	}
	return files, made, nil
}

// place is where a rule stands among those that come first.
func place(first []string, rule string) int {
	if i := slices.Index(first, rule); i >= 0 {
		return i
	}
	return len(first)
}

// Progress is how far a learner has come.
type Progress struct {
	Gone, Remain []FaultNow
	New          []finding.Finding // what was not there before, and was not put in
}

// FaultNow is a fault and what its rule says of the show now.
type FaultNow struct {
	*Fault
	Now []finding.Finding
}

// Over holds what is found now against what was put in, and remembers what was missed.
func (e *Exercise) Over(found []finding.Finding, recipes map[string]*Recipe, m *Memory, day string) Progress {
	var look Progress
	said := map[string]bool{}
	for _, key := range e.Said {
		said[key] = true
	}
	explained := map[string]bool{}
	for i := range e.Faults {
		seen := FaultNow{Fault: &e.Faults[i]}
		explained[seen.Rule] = true
		for _, f := range found {
			if f.Rule == seen.Rule && f.Verdict == finding.Fail && !said[f.Key()] {
				seen.Now = append(seen.Now, f)
			}
		}
		if len(seen.Now) > 0 {
			look.Remain = append(look.Remain, seen)
			if !seen.Named { // who said what it is has only not mended it yet
				m.missed(seen.Rule, day)
				seen.Missed = true
			}
			if r := recipes[seen.Rule]; r != nil {
				for _, also := range slices.Concat(r.Also, r.May) {
					explained[also] = true
				}
			}
			continue
		}
		look.Gone = append(look.Gone, seen)
		if !seen.Found && !seen.Missed { // at the first look: what took several is not found yet
			m.found(seen.Rule, day)
		}
		seen.Found = true
	}
	for _, f := range found {
		if f.Verdict == finding.Fail && !said[f.Key()] && !explained[f.Rule] {
			look.New = append(look.New, f)
		}
	}
	return look
}

// Hint is the next hint of a fault: where to look, what to measure, which rule. There are
// three, and then no more.
func (p *Fault) Hint(r *Recipe, title string) (text string, ok bool) {
	hints := []string{r.Look, r.Measure, fmt.Sprintf("The rule is %s: %s", p.Rule, title)}
	if p.Hints >= len(hints) {
		return "", false
	}
	text = hints[p.Hints]
	p.Hints++
	return text, true
}
