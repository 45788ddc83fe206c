package lint

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/go-json-experiment/json/jsontext"
)

// All benchmarks are ratios: the time of a check in bare passes over the tokens of
// the same bytes, measured side by side in the same run, so that a slow or a busy
// machine says the same as a fast one.

func everyRule(testing.TB) *rules.Set { return rules.Own() }

func showOf(b testing.TB, size bigshow.Size) (path string, data []byte) {
	b.Helper()
	var text bytes.Buffer
	if err := bigshow.Write(&text, size); err != nil {
		b.Fatal(err)
	}
	path = filepath.Join(b.TempDir(), "show.json")
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		b.Fatal(err)
	}
	return path, text.Bytes()
}

// tokens is one bare pass with the reader that the program uses too.
func tokens(b testing.TB, data []byte) {
	decoder := jsontext.NewDecoder(bytes.NewReader(data), jsontext.AllowDuplicateNames(true))
	for {
		if _, err := decoder.ReadToken(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			b.Fatal(err)
		}
	}
}

// tokensOfTheStandardLibrary is one bare pass with the decoder that everybody has.
func tokensOfTheStandardLibrary(b testing.TB, data []byte) {
	decoder := json.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := decoder.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			b.Fatal(err)
		}
	}
}

// stopwatch keeps the least time that a stage took: what else the machine had to
// do only ever adds to it.
type stopwatch struct {
	names []string
	least map[string]time.Duration
}

func (s *stopwatch) time(name string, stage func()) {
	start := time.Now()
	stage()
	spent := time.Since(start)
	if s.least == nil {
		s.least = map[string]time.Duration{}
	}
	before, known := s.least[name]
	if !known {
		s.names = append(s.names, name)
	}
	if !known || spent < before {
		s.least[name] = spent
	}
}

// ratio is how many times longer one stage takes than another.
func (s *stopwatch) ratio(one, other string) float64 {
	return s.least[one].Seconds() / s.least[other].Seconds()
}

// stages runs the line of the program one stage after the other.
func stages(b testing.TB, watch *stopwatch, path string, set *rules.Set) (found int) {
	var read loaders.Result
	var looks []tracking.Look
	var measured *facts.Measured
	watch.time("load", func() {
		var err error
		if read, err = loaders.Load(path, loaders.Options{}); err != nil {
			b.Fatal(err)
		}
	})
	watch.time("resolve", func() { looks = tracking.Resolve(read.Show) })
	watch.time("measure", func() { measured = facts.Measure(read.Show, looks) })
	watch.time("judge", func() {
		list, _ := set.Judge(measured)
		found = len(list) + len(read.Findings)
	})
	return found
}

// BenchmarkBigShow is the budget of the program: the whole check of the big show
// against a bare pass over its tokens, and how many such passes each stage takes.
func BenchmarkBigShow(b *testing.B) {
	path, data := showOf(b, bigshow.Size{})
	set := everyRule(b)
	b.SetBytes(int64(len(data)))
	var watch stopwatch
	found := 0
	b.ResetTimer()
	for range b.N {
		for range 5 { // short, and everything is held against it
			watch.time("bare", func() { tokens(b, data) })
		}
		watch.time("standard", func() { tokensOfTheStandardLibrary(b, data) })
		watch.time("check", func() {
			if _, err := Run([]string{path}, Options{Rules: set}); err != nil {
				b.Fatal(err)
			}
		})
		found = stages(b, &watch, path, set)
	}
	b.ReportMetric(watch.ratio("check", "bare"), "check/bare")
	b.ReportMetric(watch.ratio("check", "standard"), "check/standard")
	for _, name := range []string{"load", "resolve", "measure", "judge"} {
		b.ReportMetric(watch.ratio(name, "bare"), name+"/bare")
	}
	b.ReportMetric(float64(found), "findings")
}

// BenchmarkGrowth doubles the cues, and then the fixtures, twice: 2 is linear. The
// other of the two stays at a quarter of the big show.
func BenchmarkGrowth(b *testing.B) {
	set := everyRule(b)
	for _, test := range []struct {
		name  string
		sizes [3]bigshow.Size
	}{
		{"cues", [3]bigshow.Size{{Fixtures: 500, Cues: 500}, {Fixtures: 500, Cues: 1000}, {Fixtures: 500, Cues: 2000}}},
		{"fixtures", [3]bigshow.Size{{Fixtures: 500, Cues: 500}, {Fixtures: 1000, Cues: 500}, {Fixtures: 2000, Cues: 500}}},
	} {
		b.Run(test.name, func(b *testing.B) {
			var paths [3]string
			var texts [3][]byte
			for i, size := range test.sizes {
				paths[i], texts[i] = showOf(b, size)
			}
			var watches [3]stopwatch
			b.ResetTimer()
			for range b.N {
				for i := range test.sizes {
					for range 5 {
						watches[i].time("bare", func() { tokens(b, texts[i]) })
					}
					stages(b, &watches[i], paths[i], set)
				}
			}
			for _, stage := range watches[0].names {
				for i := 1; i < 3; i++ {
					ratio := watches[i].least[stage].Seconds() / watches[i-1].least[stage].Seconds()
					b.ReportMetric(ratio, fmt.Sprintf("%s-doubled-%d", stage, i))
				}
			}
		})
	}
}

// BenchmarkPeakMemory is the most that the heap holds during a check of the big
// show, above what it held before: looked at every few milliseconds.
func BenchmarkPeakMemory(b *testing.B) {
	path, _ := showOf(b, bigshow.Size{})
	set := everyRule(b)
	most := uint64(0)
	for range b.N {
		runtime.GC()
		var before runtime.MemStats
		runtime.ReadMemStats(&before)
		stop, stopped := make(chan bool), make(chan bool)
		go func() {
			defer close(stopped)
			for {
				select {
				case <-stop:
					return
				case <-time.After(5 * time.Millisecond):
					var now runtime.MemStats
					runtime.ReadMemStats(&now)
					if now.HeapAlloc > before.HeapAlloc {
						most = max(most, now.HeapAlloc-before.HeapAlloc)
					}
				}
			}
		}()
		if _, err := Run([]string{path}, Options{Rules: set}); err != nil {
			b.Fatal(err)
		}
		close(stop)
		<-stopped
	}
	b.ReportMetric(float64(most)/(1<<20), "peak-MiB")
}

// BenchmarkBytesOfABigCheck is what a whole check takes from the heap, for each byte of the
// show: of the big one, and of one that finds something in every line of its patch.
func BenchmarkBytesOfABigCheck(b *testing.B) {
	set := everyRule(b)
	sound, data := showOf(b, bigshow.Size{})
	faulty := filepath.Join(b.TempDir(), "faulty.json")
	var list []string
	for i := range 2000 {
		list = append(list, fmt.Sprintf(`{"channel": %d, "type": "par", "address": "1.1"}`, i+1))
	}
	text := fmt.Appendf(nil, `{"types": [{"name": "par", "source": "white-led", "white_k": 5600, "slots": 4}], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1-2000", "level": 50}]}]}`, strings.Join(list, ",\n"))
	if err := os.WriteFile(faulty, text, 0o600); err != nil {
		b.Fatal(err)
	}
	for _, show := range []struct {
		name, path string
		bytes      int
	}{{"sound", sound, len(data)}, {"a fault in every line", faulty, len(text)}} {
		b.Run(show.name, func(b *testing.B) {
			b.ReportAllocs()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			for range b.N {
				if _, err := Run([]string{show.path}, Options{Rules: set, House: HouseOptions{None: true}}); err != nil {
					b.Fatal(err)
				}
			}
			runtime.ReadMemStats(&after)
			b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(b.N*show.bytes), "B/byte")
		})
	}
}
