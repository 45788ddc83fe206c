package facts

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

// All benchmarks here are ratios of times that were taken in the same run, so that
// a slow or a busy machine says the same as a fast one.

// bigFile is an invented show of a size, in a file.
func bigFile(b *testing.B, size bigshow.Size) string {
	b.Helper()
	var text bytes.Buffer
	if err := bigshow.Write(&text, size); err != nil {
		b.Fatal(err)
	}
	path := filepath.Join(b.TempDir(), "show.json")
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

func loadFile(b *testing.B, path string) *schema.Show {
	b.Helper()
	read, err := loaders.Load(path, loaders.Options{})
	if err != nil || len(read.Findings) > 0 {
		b.Fatalf("the big show is wrong: %v %v", err, read.Findings)
	}
	return read.Show
}

// laps adds up times by name.
type laps map[string]time.Duration

func (l laps) time(name string, do func()) {
	runtime.GC() // what others left behind is not its cost
	start := time.Now()
	do()
	l[name] += time.Since(start)
}

// products does what no measurement of this scene can do without: for every look
// with people, the light on every receiver from the levels of every beam.
func products(b *testing.B, s *stage.Room, levels [][]float64) {
	lux := make([]float64, len(s.Receivers))
	for _, x := range levels {
		if err := s.Transport.Apply(lux, x); err != nil {
			b.Fatal(err)
		}
	}
}

// levelsOf are the levels of all beams in each look.
func levelsOf(s *stage.Room, looks []*stage.LookLight) [][]float64 {
	var list [][]float64
	for _, look := range looks {
		x := make([]float64, len(s.Columns))
		for _, lamp := range look.Lamps {
			x[lamp.Beam.Column] = lamp.Share
		}
		list = append(list, x)
	}
	return list
}

// BenchmarkBigShow holds resolving and measuring the big show against the bare
// sparse product in it: all looks of the show, the same matrix. The product is done
// once for each look; measuring does it for those with people only.
func BenchmarkBigShow(b *testing.B) {
	show := loadFile(b, bigFile(b, bigshow.Size{}))
	times := laps{}
	var s *stage.Room
	for range b.N {
		var looks []tracking.Look
		times.time("resolve", func() { looks = tracking.Resolve(show) })
		var measured []*stage.LookLight
		times.time("light", func() {
			r := stage.NewRig(show, looks, nil)
			s = r.Room
			m := &Measured{}
			m.back = &back{rig: r, all: m}
			m.measureLooks(r, looks, nil, nil)
			measured = litLooks(r, looks)
		})
		levels := levelsOf(s, measured)
		times.time("product", func() { products(b, s, levels) })
		times.time("measure", func() { Measure(show, looks) })
	}
	product := times["product"].Seconds()
	b.ReportMetric((times["resolve"]+times["light"]).Seconds()/product, "resolve+light/product")
	b.ReportMetric((times["resolve"]+times["measure"]).Seconds()/product, "resolve+measure/product")
	b.ReportMetric(1000*product/float64(b.N), "product-ms")
	b.ReportMetric(1000*times["resolve"].Seconds()/float64(b.N), "resolve-ms")
	b.ReportMetric(1000*times["light"].Seconds()/float64(b.N), "light-ms")
	b.ReportMetric(float64(s.Transport.Stored()), "coefficients")
}

// BenchmarkColour holds the colour of all lamps of the big show, and the hues of
// its looks, against loading it.
func BenchmarkColour(b *testing.B) {
	path := bigFile(b, bigshow.Size{})
	times := laps{}
	lamps, lights := 0, 0
	for range b.N {
		var show *schema.Show
		times.time("load", func() { show = loadFile(b, path) })
		looks := tracking.Resolve(show)
		var r *stage.Rig
		var measured []*stage.LookLight
		times.time("colour", func() { r = stage.NewRig(show, looks, nil) })
		measured = litLooks(r, looks)
		lamps, lights = 0, len(r.Lights)
		for _, look := range measured {
			lamps += len(look.Lamps)
		}
	}
	b.ReportMetric(times["colour"].Seconds()/times["load"].Seconds(), "colour/load")
	b.ReportMetric(float64(lamps), "fixture-looks")
	b.ReportMetric(float64(lights), "lights")
}

// BenchmarkLamp holds the whole colour of one lamp in one look (levels for a
// chromaticity, mixing, CCT and Duv, hue) against the mixing alone.
func BenchmarkLamp(b *testing.B) {
	show := readShow(b, `{
		"types": [{"name": "wash", "source": "colour-led", "emitters": [
			{"name": "red", "x": 0.693, "y": 0.306, "flux_lm": 620}, {"name": "green", "x": 0.17, "y": 0.7, "flux_lm": 1050},
			{"name": "blue", "x": 0.14, "y": 0.05, "flux_lm": 230}, {"name": "white", "x": 0.329, "y": 0.34, "flux_lm": 1300}]}],
		"patch": [{"channel": 1, "type": "wash", "purpose": "wash"}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50, "mix": {"red": 10, "green": 60, "blue": 90, "white": 5}}]},
			{"cue": 2, "set": [{"channels": "1", "xy": [0.31, 0.33]}]}]}`)
	looks := tracking.Resolve(show)
	r := stage.NewRig(show, looks, nil)
	emitters := r.EngineOf(show.Types[0]).Emitters
	times := laps{}
	const rounds = 100_000
	for range b.N {
		times.time("bare", func() {
			for range rounds {
				colour.Mix(emitters, []float64{0.1, 0.6, 0.9, 0.05})
			}
		})
		for i, name := range []string{"mix", "xy"} {
			state := looks[i].State(1)
			times.time(name, func() {
				for range rounds {
					clear(r.Lights)
					r.ShineOf(r.Lines[0], state)
				}
			})
		}
	}
	b.ReportMetric(times["mix"].Seconds()/times["bare"].Seconds(), "mix/bare")
	b.ReportMetric(times["xy"].Seconds()/times["bare"].Seconds(), "xy/bare")
}

// BenchmarkGrowth doubles the cues, and the fixtures, from a quarter of the big
// show on. Growth in proportion is 2 for each doubling.
func BenchmarkGrowth(b *testing.B) {
	for name, sizes := range map[string][3]bigshow.Size{
		"cues":     {{Cues: 500}, {Cues: 1000}, {Cues: 2000}},
		"fixtures": {{Fixtures: 500}, {Fixtures: 1000}, {Fixtures: 2000}},
	} {
		b.Run(name, func(b *testing.B) {
			var shows [3]*schema.Show
			for i, size := range sizes {
				shows[i] = loadFile(b, bigFile(b, size))
			}
			times := laps{}
			b.ResetTimer()
			for range b.N {
				for i, show := range shows {
					times.time(fmt.Sprint(i), func() { Measure(show, tracking.Resolve(show)) })
				}
			}
			b.ReportMetric(times["1"].Seconds()/times["0"].Seconds(), "x2")
			b.ReportMetric(times["2"].Seconds()/times["1"].Seconds(), "x4/x2")
		})
	}
}
