package proof

import (
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// BenchmarkProof is what a proof costs as a part of a check from the beginning, by what its
// change touches. Both are measured in turn.
func BenchmarkProof(b *testing.B) {
	set := rules.Own()
	show := loadShow(b, "mended")
	last := show.Cues[len(show.Cues)-1]
	for _, test := range []struct {
		name string
		edit source.Edit
	}{
		{"level", source.Edit{At: last.Set[0].At, Field: "level", Value: 40.0}},
		{"fade", source.Edit{At: last.At, Field: "in_s", Value: 7.0}},
		{"address", source.Edit{At: show.Patch[0].At, Field: "address", Value: "7.1"}},
		{"circuit", source.Edit{At: show.Patch[0].At, Field: "circuit", Value: show.Room.Circuits[0].Name}},
		{"camera", source.Edit{At: show.Room.Cameras[0].At, Field: "white_k", Value: 5000.0}},
		{"surface", source.Edit{At: show.Room.Surfaces[0].At, Field: "white_k", Value: 5000.0}},
		{"aim", source.Edit{At: show.Patch[0].At, Field: "aimed_at", Value: show.Room.Places[1].Name}},
		{"channel", source.Edit{At: show.Patch[0].At, Field: "channel", Value: 301.0}},
	} {
		b.Run(test.name, func(b *testing.B) {
			var whole, part time.Duration
			for range b.N {
				began := time.Now()
				start := Check(show, set)
				middle := time.Now()
				const times = 5
				for range times {
					if _, err := start.Try(set, nil, []source.Edit{test.edit}); err != nil {
						b.Fatal(err)
					}
				}
				whole, part = whole+middle.Sub(began), part+time.Since(middle)/times
			}
			b.ReportMetric(100*part.Seconds()/whole.Seconds(), "%_of_a_check")
		})
	}
}
