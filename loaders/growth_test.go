package loaders

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// repeated writes an item n times with commas between, %d being its number.
func repeated(item string, n int) string {
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteByte(',')
		}
		if strings.Contains(item, "%d") {
			fmt.Fprintf(&b, item, i)
		} else {
			b.WriteString(item)
		}
	}
	return b.String()
}

func rows(header, row string, n int) string {
	var b strings.Builder
	b.WriteString(header)
	for i := range n {
		fmt.Fprintf(&b, row, i+1)
	}
	return b.String()
}

// Twice the input asks for at most 2.3 times the memory. Most of that is given back
// on the way; all of it together stays under 100 times the input and 16 MiB.
func TestLoadingGrowsLikeTheInput(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector, which runs with -short, takes memory of its own")
	}
	const header = "cue,name,channels,level\n"
	for _, input := range []struct {
		name string
		n    int
		make func(n int) map[string]string
	}{
		{"stray quotes behind a cell", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.csv": rows(header, "%d,\"a\"b,1,50\n", n)}
		}},
		{"stray quotes in a cell", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.csv": rows(header, "%d,a\"b,1,50\n", n)}
		}},
		{"stray quotes that open a cell", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.csv": rows(header, "%d,\"ab,1,50\n", n)}
		}},
		{"bad cells", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.csv": rows(header, "%d,a,1-,loud\n", n)}
		}},
		{"rows too long", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.csv": rows(header, "%d,a,1,50,6\n", n)}
		}},
		{"unknown keys of one thing", 4_000, func(n int) map[string]string {
			return map[string]string{"patch.json": `[{"channel": 1, ` + repeated(`"k%d": 1`, n) + `}]`}
		}},
		{"unknown keys of many things", 2_000, func(n int) map[string]string {
			return map[string]string{"room.json": `{"places": [` + repeated(`{"name": "p%d", "k": 1, "lev": 5}`, n) + `]}`}
		}},
		{"unknown keys of settings", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.json": `[{"cue": 1, "set": [` + repeated(`{"channels": "1", "k%d": 1}`, n) + `]}]`}
		}},
		{"keys that stand twice", 2_000, func(n int) map[string]string {
			return map[string]string{"patch.json": `[` + repeated(`{"channel": 1, "channel": %d}`, n) + `]`}
		}},
		{"all channels in every cue", 100, func(n int) map[string]string {
			return map[string]string{"cues.json": `[` + repeated(`{"cue": %d, "set": [{"channels": "1-99999", "level": 50}]}`, n) + `]`}
		}},
		{"all channels, each time in other words", 100, func(n int) map[string]string {
			return map[string]string{"cues.json": `[` + repeated(`{"cue": 1, "set": [{"channels": "1-99999,%d", "level": 50}]}`, n) + `]`}
		}},
		{"groups of all channels", 100, func(n int) map[string]string {
			return map[string]string{"groups.json": `{` + repeated(`"g%d": "1-99999"`, n) + `}`, "patch.json": `[{"channel": 1}]`}
		}},
		{"ranges that overlap", 4_000, func(n int) map[string]string {
			return map[string]string{"cues.json": `[{"cue": 1, "set": [{"channels": "` + repeated("%d-60000", n) + `"}]}]`}
		}},
		{"settings that are all different", 2_000, func(n int) map[string]string {
			return map[string]string{"cues.json": `[{"cue": 1, "set": [` + repeated(`{"channels": "1", "strobe_hz": 0.%d}`, n) + `]}]`}
		}},
	} {
		t.Run(input.name, func(t *testing.T) {
			if os.Getenv("CUEPROOF_LONG") == "" {
				input.n /= 2
			}
			size, used := [2]int{}, [2]uint64{}
			for i := range 2 {
				content := input.make(input.n * (i + 1))
				for _, text := range content {
					size[i] += len(text)
				}
				folder := files(t, content)
				load(t, folder) // what is made once for all is made here
				used[i] = allocated(func() { load(t, folder) })
			}
			if ratio := float64(used[1]) / float64(used[0]); ratio > 2.3 {
				t.Errorf("twice the input takes %.2f times the memory: %d and %d MiB", ratio, used[0]>>20, used[1]>>20)
			}
			if most := uint64(100*size[1] + 16<<20); used[1] > most {
				t.Errorf("%d KiB of input take %d MiB", size[1]>>10, used[1]>>20)
			}
		})
	}
}
