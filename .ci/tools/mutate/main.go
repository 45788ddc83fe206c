// Command mutate asks whether the tests would notice: it changes places of the program
// (the bound of a comparison, a sum, a constant, a condition, a sign, an error that is
// returned), runs the tests of that package and, where nobody notices, the cases of the
// rules, and lists what survived.
//
//	go run -C .ci/tools ./mutate -top ../.. -seed 7 -n 30
//
// Which places follows from the seed and from what stands there alone, so a change of the
// program leaves the sample of a seed as it was everywhere else, and what was found out
// about it holds. All of them are compiled into the program at
// once, each behind a switch that the environment sets, so that a change costs one run of
// the tests and no build. A change in code that no test reaches survives without a run;
// tests that take several times as long as without the change have noticed. Files are
// changed by an overlay: nothing in the checkout is written. What survives for a reason
// stands in argued.txt beside this file.
package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// argued are survivors that change nothing that anybody could notice, a line each: file,
// source line, what is done, and the reason, apart by tabs.
//
//go:embed argued.txt
var argued string

// casesOf has the cases of the rules, and theCases runs them.
const casesOf, theCases = "./internal/cases", "TestCases"

// atOnce is how many tests run beside each other.
const atOnce = 2

func main() {
	top := flag.String("top", ".", "the top of the checkout")
	seed := flag.Uint64("seed", 1, "which places")
	count := flag.Int("n", 30, "how many changes to try")
	within := flag.String("in", "", "only files whose path begins so, such as internal/stage/")
	least := flag.Float64("least", 0, "exit with 1 when a smaller share is noticed or argued, in percent")
	most := flag.Duration("most", 24*time.Hour, "begin with no more changes after so long, and tell of those that were tried")
	only := flag.String("line", "", "try all places of one line instead, as FILE:LINE")
	flag.Parse()
	if err := run(*top, *seed, *count, *within, *only, *least, time.Now().Add(*most)); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func run(top string, seed uint64, count int, within, only string, least float64, until time.Time) error {
	top, err := filepath.Abs(top)
	if err != nil {
		return err
	}
	program, err := load(top, within)
	if err != nil {
		return err
	}
	places := program.places
	all := len(places)
	if only != "" {
		places = slices.DeleteFunc(places, func(p *place) bool { return fmt.Sprintf("%s:%d", p.file.name, p.line) != only })
		count = len(places)
	} else {
		draw(places, seed)
	}
	chosen := choose(places, count)
	if len(chosen) == 0 {
		return errors.New("there is nothing to change")
	}
	scratch, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(scratch) }()
	overlay, chosen, err := compiled(top, scratch, chosen)
	if err != nil {
		return err
	}
	h := &harness{top: top, scratch: scratch, overlay: overlay, tests: map[string]*tests{}}
	if err := h.prepare(chosen); err != nil {
		return err
	}
	h.try(chosen, until)
	tried := slices.DeleteFunc(slices.Clone(chosen), func(p *place) bool { return !p.tried })
	if len(tried) == 0 {
		return errors.New("the time is over before any change was tried")
	}
	if len(tried) < len(chosen) {
		fmt.Printf("the time is over: %d of %d changes were tried\n", len(tried), len(chosen))
	}
	return tell(tried, all, seed, least)
}

// compiled writes the changes and builds the program with them. Those of a file that the
// compiler does not take are left out, and that is said.
func compiled(top, scratch string, chosen []*place) (string, []*place, error) {
	inScratch := filepath.Base(scratch) + string(filepath.Separator) // the compiler may name it from where it runs
	for {
		overlay, stands, err := write(chosen, scratch)
		if err != nil {
			return "", nil, err
		}
		build := exec.Command("go", "build", "-overlay", overlay, "./...")
		build.Dir = top
		out, err := build.CombinedOutput()
		if err == nil {
			return overlay, chosen, nil
		}
		before := len(chosen)
		chosen = slices.DeleteFunc(chosen, func(p *place) bool {
			return slices.ContainsFunc(p.spots, func(s spot) bool {
				return bytes.Contains(out, []byte(inScratch+filepath.Base(stands[s.file.path])+":"))
			})
		})
		fmt.Printf("%d changes do not compile\n%.600s", before-len(chosen), out)
		if len(chosen) == before || len(chosen) == 0 {
			return "", nil, fmt.Errorf("the program cannot be built with the changes: %w", err)
		}
	}
}

// draw puts places in an order that follows from the seed and from what each of them is: its
// file, the text of its line, what is done, and which of several such it is.
func draw(places []*place, seed uint64) {
	type same struct{ file, text, what string }
	met := map[same]int{}
	order := make(map[*place][sha256.Size]byte, len(places))
	for _, p := range places {
		like := same{p.file.name, p.text(), p.what}
		order[p] = sha256.Sum256(fmt.Appendf(nil, "%d\x00%s\x00%s\x00%s\x00%d", seed, like.file, like.text, like.what, met[like]))
		met[like]++
	}
	slices.SortFunc(places, func(a, b *place) int {
		x, y := order[a], order[b]
		return bytes.Compare(x[:], y[:])
	})
}

// choose takes places from the front; of two that are one and the same expression, the first.
func choose(places []*place, count int) []*place {
	var chosen []*place
	taken := map[span]bool{}
	for _, p := range places {
		if len(chosen) == count {
			break
		}
		if slices.ContainsFunc(p.spots, func(s spot) bool { return taken[s.span] }) {
			continue
		}
		for _, s := range p.spots {
			taken[s.span] = true
		}
		p.number = len(chosen) + 1
		chosen = append(chosen, p)
	}
	return chosen
}

func tell(chosen []*place, all int, seed uint64, least float64) error {
	own, cases, excused, survived := 0, 0, 0, 0
	slices.SortFunc(chosen, func(a, b *place) int {
		if c := strings.Compare(a.file.name, b.file.name); c != 0 {
			return c
		}
		return a.line - b.line
	})
	for _, p := range chosen {
		name := fmt.Sprintf("%s:%d: %s", p.file.name, p.line, p.what)
		switch {
		case p.noticed == casesOf && !slices.Contains(p.file.unit.tests(), casesOf):
			cases++
		case p.noticed != "":
			own++
		default:
			if reason := p.argument(); reason != "" {
				excused++
				fmt.Printf("argued    %s (%s)\n", name, reason)
				continue
			}
			survived++
			reached := ""
			if !p.reached {
				reached = "  [no test of its package comes here]"
			}
			fmt.Printf("SURVIVED  %s   %s%s\n", name, p.text(), reached)
		}
	}
	share := 100 * float64(own+cases+excused) / float64(len(chosen))
	fmt.Printf("%d changes of %d places, seed %d: %d noticed by the tests of their packages, %d by the cases of the rules, %d argued, %d survived (%.1f %% noticed or argued)\n",
		len(chosen), all, seed, own, cases, excused, survived, share)
	if share < least {
		return fmt.Errorf("less than %g %%", least)
	}
	return nil
}

// argument is why a survivor may live.
func (p *place) argument() string {
	for line := range strings.Lines(argued) {
		words := strings.SplitN(strings.TrimSpace(line), "\t", 4)
		if len(words) == 4 && words[0] == p.file.name && words[1] == p.text() && words[2] == p.what {
			return words[3]
		}
	}
	return ""
}

// harness builds the tests with all changes in them and runs them with one switched on.
type harness struct {
	top, scratch, overlay string
	tests                 map[string]*tests // by package, such as ./internal/stage
	casesWhole            bool              // the package of the cases is changed itself
}

// tests is the built test program of a package.
type tests struct {
	program string
	list    []test // the quick ones first
}

// test is one of them: what it takes without a change, and which changes it comes by.
type test struct {
	name    string
	usual   time.Duration
	reached map[int]bool
}

// prepare builds the tests that are needed, runs each once without a change, and notes
// which changes it comes by.
func (h *harness) prepare(chosen []*place) error {
	list := []string{casesOf}
	for _, p := range chosen {
		for _, own := range p.file.unit.tests() {
			h.casesWhole = h.casesWhole || own == casesOf
			if !slices.Contains(list, own) {
				list = append(list, own)
			}
		}
	}
	var guard sync.Mutex
	var failed error
	beside(list, func(name string) {
		t, err := h.build(name)
		guard.Lock()
		defer guard.Unlock()
		h.tests[name] = t
		failed = errors.Join(failed, err)
	})
	return failed
}

func (h *harness) build(name string) (*tests, error) {
	file := strings.NewReplacer("./", "", "/", "-").Replace(name)
	t := &tests{program: filepath.Join(h.scratch, file+".test")}
	build := exec.Command("go", "test", "-c", "-vet=off", "-overlay", h.overlay, "-o", t.program, name)
	build.Dir = h.top
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("building the tests of %s: %w\n%s", name, err, out)
	}
	_, _, listed := h.one(name, t, 0, time.Minute, nil, "-test.list=.")
	whole := time.Duration(0)
	for each := range strings.FieldsSeq(string(listed)) {
		if name == casesOf && !h.casesWhole && each != theCases {
			continue
		}
		marks := filepath.Join(h.scratch, file+"."+each)
		begun := time.Now()
		most := longest
		if name == casesOf && each == theCases {
			most = 10 * longest // on a busy machine; without them nothing is told
		}
		passed, late, out := h.one(name, t, 0, most, []string{"CUEPROOF_MUTANTS_REACHED=" + marks}, "-test.run=^"+each+"$")
		if late {
			fmt.Printf("%s of %s takes over %v and is left out\n", each, name, most)
			continue
		}
		if !passed {
			fmt.Printf("%s of %s fails without a change, but for the switches, and is left out\n%.300s\n", each, name, out)
			continue
		}
		one := test{name: each, usual: time.Since(begun), reached: map[int]bool{}}
		whole += one.usual
		text, err := os.ReadFile(marks)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
		for word := range strings.FieldsSeq(string(text)) {
			if n, err := strconv.Atoi(word); err == nil {
				one.reached[n] = true
			}
		}
		if len(one.reached) > 0 {
			t.list = append(t.list, one)
		}
	}
	slices.SortFunc(t.list, func(a, b test) int { return int(a.usual - b.usual) })
	fmt.Printf("%-32s %5.1f s\n", name, whole.Seconds())
	return t, nil
}

// longest is what a test may take without a change: a longer one would take the time of
// hundreds.
const longest = 20 * time.Second

// slow is what a test takes that is run by itself, after all quick ones.
const slow = time.Second

// try runs, for each change, the tests of its package that come by it and, if those do not
// notice, the cases, until the time is over.
func (h *harness) try(chosen []*place, until time.Time) {
	beside(chosen, func(p *place) {
		if time.Now().After(until) {
			return
		}
		p.tried = true
		own := p.file.unit.tests()
		for _, name := range slices.Compact(append(own, casesOf)) {
			var quick []string
			var usual time.Duration
			notice := func() bool {
				passed, late, _ := h.one(name, h.tests[name], p.number, 20*time.Second+10*usual, nil, "-test.run=^("+strings.Join(quick, "|")+")$")
				quick, usual = nil, 0
				return !passed || late
			}
			for _, t := range h.tests[name].list {
				if !t.reached[p.number] {
					continue
				}
				p.reached = p.reached || slices.Contains(own, name)
				if len(quick) > 0 && t.usual > slow && notice() {
					p.noticed = name
					return
				}
				quick, usual = append(quick, t.name), usual+t.usual
			}
			if len(quick) > 0 && notice() {
				p.noticed = name
				return
			}
		}
	})
}

// one runs tests with one change switched on; 0 is none.
func (h *harness) one(name string, t *tests, number int, most time.Duration, env []string, flags ...string) (passed, late bool, out []byte) {
	ctx, cancel := context.WithTimeout(context.Background(), most)
	defer cancel()
	c := exec.CommandContext(ctx, t.program, append(flags, "-test.short", "-test.failfast")...)
	c.Dir = filepath.Join(h.top, filepath.FromSlash(name))
	c.Env = append(os.Environ(), append(env, "CUEPROOF_MUTANT="+strconv.Itoa(number), "CUEPROOF_UPDATE=", "RAPID_NOFAILFILE=true")...)
	c.WaitDelay = time.Second
	out, err := c.CombinedOutput()
	return err == nil, ctx.Err() != nil, out
}

// beside does the work for all, a few at a time, in their order.
func beside[T any](all []T, work func(T)) {
	next := make(chan T)
	var running sync.WaitGroup
	for range atOnce {
		running.Go(func() {
			for one := range next {
				work(one)
			}
		})
	}
	for _, one := range all {
		next <- one
	}
	close(next)
	running.Wait()
}

// overlayOf is the text of an overlay for the go command.
func overlayOf(replace map[string]string) ([]byte, error) {
	return json.Marshal(map[string]any{"Replace": replace})
}
