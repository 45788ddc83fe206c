package facts

import (
	"bytes"
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
)

// BenchmarkBigEvening measures what the haze and the parts of an evening of a big show cost,
// as parts of the time that reading it takes: each should be under a tenth.
func BenchmarkBigEvening(b *testing.B) {
	var text bytes.Buffer
	if err := bigshow.Write(&text, bigshow.Big); err != nil {
		b.Fatal(err)
	}
	start := time.Now()
	loaded, err := loaders.Load("-", loaders.Options{Stdin: bytes.NewReader(text.Bytes()), StdinName: "big.json"})
	if err != nil || loaded.Show == nil {
		b.Fatal(err)
	}
	load := time.Since(start)
	looks := tracking.Resolve(loaded.Show)
	rig := stage.NewRig(loaded.Show, looks, nil)
	m := &Measured{}
	m.back = &back{rig: rig, all: m}
	m.measureLooks(rig, looks, nil, nil)
	words := m.Looks
	e := evening.NewEvening(rig, looks, evening.NewClock(loaded.Show, looks), nil, nil)
	changes := measureChanges(e, words, nil)
	for _, part := range []struct {
		name string
		work func()
	}{
		{"Haze", func() {
			evening.NewAirCourses(e)
			measureMachines(e, words, changes, m.back)
		}},
		{"Timeline", func() { evening.NewClock(loaded.Show, looks) }},
		{"Light", func() { evening.NewEvening(rig, looks, e.Time, nil, nil) }},
		{"Changes", func() { measureChanges(e, words, nil) }},
		{"Segments", func() { measureSegments(e, words, changes, m.back) }},
		{"Minutes", func() { measureMinutes(e, words, changes) }},
	} {
		b.Run(part.name, func(b *testing.B) {
			for b.Loop() {
				part.work()
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/load.Seconds(), "of-load")
		})
	}
}
