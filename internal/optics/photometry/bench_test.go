package photometry

import (
	"math"
	"testing"
)

// Budgets are ratios between benchmarks of one run: building the matrix against the bare arithmetic it cannot do without,
// the product against the same numbers in plain slices. Sizes: 2000 fixtures, 120 receivers.

const (
	benchFixtures  = 2000
	benchReceivers = 120
	benchFloorLux  = 0.1
)

func BenchmarkTransportBuild(b *testing.B) {
	receivers, sources := scene(b, benchFixtures, benchReceivers)
	for b.Loop() {
		laid(receivers, sources, benchFloorLux)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/benchFixtures/benchReceivers, "ns/pair")
}

// BenchmarkTransportBuildBare is only the law and the shape of the beam, without frames, shutters or checks.
func BenchmarkTransportBuildBare(b *testing.B) {
	receivers, sources := scene(b, benchFixtures, benchReceivers)
	beam := sources[0].light.(Beam)
	out := make([]float64, len(receivers)*len(sources))
	for b.Loop() {
		k := 0
		for _, r := range receivers {
			for j := range sources {
				f := &sources[j].frame
				x, y, z := r.Point.X-f.Position.X, r.Point.Y-f.Position.Y, r.Point.Z-f.Position.Z
				square := x*x + y*y + z*z
				d := math.Sqrt(square)
				u := 1 - (x*f.Forward.X+y*f.Forward.Y+z*f.Forward.Z)/d
				cos := -(x*r.Normal.X + y*r.Normal.Y + z*r.Normal.Z) / d
				if cos > 0 && u < 1 {
					out[k] = beam.peak * math.Exp(-math.Ln2*math.Pow(u/beam.ub, beam.q)) * cos / square
				}
				k++
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/benchFixtures/benchReceivers, "ns/pair")
}

func benchMatrix(b *testing.B) (*Transport, []float64, []float64) {
	receivers, sources := scene(b, benchFixtures, benchReceivers)
	m, _ := laid(receivers, sources, benchFloorLux)
	return m, levelsFor(benchFixtures), make([]float64, benchReceivers)
}

func perStored(b *testing.B, stored int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(stored), "ns/coefficient")
}

func BenchmarkApply(b *testing.B) {
	m, levels, lux := benchMatrix(b)
	for b.Loop() {
		if err := m.Apply(lux, levels); err != nil {
			b.Fatal(err)
		}
	}
	perStored(b, m.Stored())
}

// BenchmarkApplyBare walks the same coefficients in plain slices, row by row, without checks.
func BenchmarkApplyBare(b *testing.B) {
	m, levels, lux := benchMatrix(b)
	starts, cols, values := []int{0}, []int32(nil), []float64(nil)
	for i := range benchReceivers {
		m.Row(i, func(j int, v float64) {
			cols, values = append(cols, int32(j)), append(values, v)
		})
		starts = append(starts, len(values))
	}
	for b.Loop() {
		bareProduct(lux, starts, cols, values, levels)
	}
	perStored(b, m.Stored())
}

func bareProduct(lux []float64, starts []int, cols []int32, values, levels []float64) {
	for i := range lux {
		sum := 0.0
		for k := starts[i]; k < starts[i+1]; k++ {
			sum += values[k] * levels[cols[k]]
		}
		lux[i] = sum
	}
}

func BenchmarkParseLM63(b *testing.B) {
	data := []byte(sample(b, "wash.ies"))
	for b.Loop() {
		if _, _, err := ParseLM63(data, Lenient); err != nil {
			b.Fatal(err)
		}
	}
}
