package lint

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
)

// TestTheBigShowIsSound holds what costs are measured with to be a check and not the repair
// of one: whoever adds a rule that speaks of it changes the show. The first has a segment of each kind.
func TestTheBigShowIsSound(t *testing.T) {
	for _, size := range []bigshow.Size{{Fixtures: 200, Cues: 321, Places: 40}, {Fixtures: 4000, Cues: 45, Places: 40}} {
		var text strings.Builder
		if err := bigshow.Write(&text, size); err != nil {
			t.Fatal(err)
		}
		told := runOf(t, everyRule(t), text.String())
		for _, f := range told.Findings {
			t.Errorf("%+v: %s: %s", size, f.Rule, f.Message)
		}
	}
}

func runOf(t *testing.T, set *rules.Set, text string) *outcome.Show {
	t.Helper()
	r, err := Run([]string{"-"}, Options{Rules: set, Stdin: strings.NewReader(text), StdinName: "show.json", House: HouseOptions{None: true}})
	if err != nil {
		t.Fatal(err)
	}
	return &r.Shows[0]
}

// TestSettingsOfNoFixtureCostWhatTheyAre holds what one more setting of a channel that no
// fixture has takes from the heap in cues that have more of them than an order could say
// against one more where an order could.
func TestSettingsOfNoFixtureCostWhatTheyAre(t *testing.T) {
	set := everyRule(t)
	const cues = 40
	whole := func(settings int) float64 {
		list := make([]string, cues)
		for i := range list {
			var set []string
			for k := range settings {
				set = append(set, fmt.Sprintf(`{"channels": "%d", "level": %d}`, 1000+100*i+k, 1+k%90))
			}
			list[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": 50}, %s]}`, i+1, strings.Join(set, ","))
		}
		return float64(bytesOf(t, set, fmt.Sprintf(`{"types": [{"name": "par", "source": "white-led", "white_k": 5600, "slots": 4}], "patch": [{"channel": 1, "type": "par", "address": "1.1"}], "cues": [%s]}`, strings.Join(list, ","))))
	}
	oneMore := func(from, to int) float64 { return (whole(to) - whole(from)) / float64((to-from)*cues) }
	whole(10)        // what is worked out once is not counted
	const most = 0.4 // half of it if every change were made
	if few, many := oneMore(10, 30), oneMore(50, 100); many > most*few {
		t.Errorf("one more setting costs %.0f bytes where a cue has fewer than 30, and %.0f where it has more", few, many)
	}
}

// bytesOf is what a whole run takes from the heap.
func bytesOf(t *testing.T, set *rules.Set, text string) uint64 {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	runOf(t, set, text)
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// TestARunGrowsLikeTheShow doubles what a show repeats, mistakes among it, and holds what a
// whole run takes from the heap against the double. Bytes are counted and no seconds, so a
// busy machine says the same.
func TestARunGrowsLikeTheShow(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of faults take a while")
	}
	const most = 2.3
	whole := os.Getenv("CUEPROOF_LONG") != ""
	set := everyRule(t)
	list := func(n int, line func(i int) string) string {
		list := make([]string, n)
		for i := range list {
			list[i] = line(i)
		}
		return strings.Join(list, ",")
	}
	show := func(patch, cues string) string {
		return fmt.Sprintf(`{"types": [{"name": "par", "source": "white-led", "white_k": 5600, "slots": 4}], "patch": [%s], "cues": [%s]}`, patch, cues)
	}
	fixtures := func(line func(i int) string) func(n int) string {
		return func(n int) string {
			return show(list(n, line), fmt.Sprintf(`{"cue": 1, "set": [{"channels": "1-%d", "level": 50}]}`, n))
		}
	}
	const one = `{"channel": 1, "type": "par", "address": "1.1"}`
	for name, input := range map[string]struct {
		n    int
		less int // so much less will do where not all is done; 0: it is left out there
		text func(n int) string
	}{
		"fixtures at one address": {1000, 0, fixtures(func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "1.1"}`, i+1) })},
		"twins": {1000, 0, fixtures(func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "%d.%d"}`, 1+i/2, 1+i/100, 1+5*(i%100))
		})},
		"fixtures of one channel": {1000, 8, fixtures(func(i int) string {
			return fmt.Sprintf(`{"channel": 1, "type": "par", "address": "%d.%d"}`, 1+i/100, 1+5*(i%100))
		})},
		"fixtures of no type": {500, 8, fixtures(func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "address": "%d.%d"}`, i+1, 1+i/100, 1+5*(i%100))
		})},
		"fixtures of types that nobody described": {500, 8, fixtures(func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "wash %d", "address": "%d.%d"}`, i+1, i, 1+i/100, 1+5*(i%100))
		})},
		"cues that set channels of no fixture": {100, 0, func(n int) string {
			return show(one, list(n, func(i int) string {
				return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1-99999", "level": 50}]}`, i+1)
			}))
		}},
		"settings of no fixture": {1000, 8, func(n int) string {
			return show(one, fmt.Sprintf(`{"cue": 1, "set": [{"channels": "1", "level": 50}, %s]}`, list(n, func(i int) string {
				return fmt.Sprintf(`{"channels": "%d", "level": %d}`, 1000+i, i%100)
			})))
		}},
		"cues of a sound evening": {400, 2, func(n int) string {
			var text strings.Builder
			if err := bigshow.Write(&text, bigshow.Size{Fixtures: 60, Cues: n}); err != nil {
				t.Fatal(err)
			}
			return text.String()
		}},
	} {
		t.Run(name, func(t *testing.T) {
			heap := func(n int) uint64 {
				text := input.text(n)
				var before, after runtime.MemStats
				runtime.ReadMemStats(&before)
				runOf(t, set, text)
				runtime.ReadMemStats(&after)
				return after.TotalAlloc - before.TotalAlloc
			}
			if !whole && input.less == 0 {
				t.Skip("it takes a second; CI does with CUEPROOF_LONG=1")
			}
			if !whole {
				input.n /= input.less
			}
			once, twice := heap(input.n), heap(2*input.n)
			if ratio := float64(twice) / float64(once); ratio > most {
				t.Errorf("%d bytes, of twice as many %d: %.2f times", once, twice, ratio)
			}
		})
	}
}
