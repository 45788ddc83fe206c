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
	"testing"
	"time"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
)

// All benchmarks are ratios: the time of a check in bare passes over the tokens of
// the same bytes, measured side by side in the same run, so that a slow or a busy
// machine says the same as a fast one.

func everyRule(b testing.TB) *rules.Set {
	b.Helper()
	set, found := rules.Load(rules.BuiltIn(), "rules/packs")
	if len(found) > 0 {
		b.Fatal(found[0].Message)
	}
	return set
}

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

// stopwatch adds up the times of stages.
type stopwatch struct {
	names []string
	spent map[string]time.Duration
}

func (s *stopwatch) time(name string, stage func()) {
	start := time.Now()
	stage()
	if s.spent == nil {
		s.spent = map[string]time.Duration{}
	}
	if _, known := s.spent[name]; !known {
		s.names = append(s.names, name)
	}
	s.spent[name] += time.Since(start)
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
		watch.time("bare", func() { tokens(b, data) })
		watch.time("standard", func() { tokensOfTheStandardLibrary(b, data) })
		watch.time("check", func() {
			if _, err := Run([]string{path}, Options{Rules: set}); err != nil {
				b.Fatal(err)
			}
		})
		found = stages(b, &watch, path, set)
	}
	bare, standard := watch.spent["bare"].Seconds(), watch.spent["standard"].Seconds()
	b.ReportMetric(watch.spent["check"].Seconds()/bare, "check/bare")
	b.ReportMetric(watch.spent["check"].Seconds()/standard, "check/standard")
	for _, name := range []string{"load", "resolve", "measure", "judge"} {
		b.ReportMetric(watch.spent[name].Seconds()/bare, name+"/bare")
	}
	b.ReportMetric(float64(found), "findings")
	b.ReportMetric(1000*bare/float64(b.N), "bare-ms")
}

// BenchmarkGrowth doubles the cues, and the fixtures, from a quarter of the big show
// on. Linear growth is 2 for each doubling.
func BenchmarkGrowth(b *testing.B) {
	set := everyRule(b)
	grow := func(name string, sizes [3]bigshow.Size) {
		b.Run(name, func(b *testing.B) {
			var paths [3]string
			var datas [3][]byte
			for i, size := range sizes {
				paths[i], datas[i] = showOf(b, size)
			}
			var watch stopwatch
			b.ResetTimer()
			for range b.N {
				for i := range sizes {
					watch.time(fmt.Sprint("bare", i), func() { tokens(b, datas[i]) })
					var parts stopwatch
					watch.time(fmt.Sprint("check", i), func() { stages(b, &parts, paths[i], set) })
					for stage, spent := range parts.spent {
						if watch.spent[fmt.Sprint(stage, i)] += spent; i == 2 {
							continue
						}
					}
				}
			}
			for _, stage := range []string{"bare", "load", "resolve", "measure", "judge", "check"} {
				one, two, four := watch.spent[stage+"0"].Seconds(), watch.spent[stage+"1"].Seconds(), watch.spent[stage+"2"].Seconds()
				b.ReportMetric(two/one, stage+"-x2")
				b.ReportMetric(four/two, stage+"-x4/x2")
			}
		})
	}
	grow("cues", [3]bigshow.Size{{Cues: 500}, {Cues: 1000}, {Cues: 2000}})
	grow("fixtures", [3]bigshow.Size{{Fixtures: 500}, {Fixtures: 1000}, {Fixtures: 2000}})
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
