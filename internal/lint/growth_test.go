package lint

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// TestAPlanGrowsLikeTheFaults doubles the faults of a show and holds what a whole run
// takes from the heap against the double. Bytes are counted and no seconds, so a busy
// machine says the same.
func TestAPlanGrowsLikeTheFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of faults take a while")
	}
	const most = 2.3
	set := everyRule(t)
	heap := func(line func(i int) string, n int) uint64 {
		list := make([]string, n)
		for i := range list {
			list[i] = line(i)
		}
		text := fmt.Sprintf(`{"types": [{"name": "par", "source": "white-led", "white_k": 5600, "slots": 4}], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 50}]}]}`, strings.Join(list, ","), n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if _, err := Run([]string{"-"}, Options{Rules: set, Stdin: strings.NewReader(text), StdinName: "show.json", House: HouseOptions{None: true}}); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	for name, line := range map[string]func(i int) string{
		"fixtures at one address": func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "1.1"}`, i+1) },
		"twins": func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "%d.%d"}`, 1+i/2, 1+i/100, 1+5*(i%100))
		},
		"fixtures of one channel": func(i int) string {
			return fmt.Sprintf(`{"channel": 1, "type": "par", "address": "%d.%d"}`, 1+i/100, 1+5*(i%100))
		},
	} {
		t.Run(name, func(t *testing.T) {
			once, twice := heap(line, 1000), heap(line, 2000)
			if ratio := float64(twice) / float64(once); ratio > most {
				t.Errorf("%d bytes, twice as many faults %d: %.2f times", once, twice, ratio)
			}
		})
	}
}
