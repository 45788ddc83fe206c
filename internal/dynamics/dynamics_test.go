package dynamics

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// rounding is the relative tolerance for exact results: a few hundred operations in float64.
const rounding = 1e-11

func near(a, b float64) bool { return math.Abs(a-b) <= rounding*max(math.Abs(a), math.Abs(b)) }

func course(t interface{ Fatal(...any) }, pieces []Piece) *Course {
	c, err := New(pieces)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestByHand runs the series of testdata/reference/dynamics_percentiles.csv.
func TestByHand(t *testing.T) {
	f, err := os.Open("../../testdata/reference/dynamics_percentiles.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) != 9 {
		t.Fatalf("%d rows, %v; want a heading and eight series", len(rows), err)
	}
	for _, row := range rows[1:] {
		t.Run(row[0], func(t *testing.T) {
			var pieces []Piece
			for text := range strings.SplitSeq(row[1], ";") {
				var p Piece
				if _, err := fmt.Sscan(text, &p.Start, &p.End, &p.From, &p.To); err != nil {
					t.Fatal(err)
				}
				pieces = append(pieces, p)
			}
			c := course(t, pieces)
			r, ok := c.Range()
			mean, okMean := c.Mean()
			share, okShare := c.Near(1)
			if !ok || !okMean || !okShare {
				t.Fatalf("range %v, mean %v, share %v: not all known", ok, okMean, okShare)
			}
			for i, got := range []float64{r.Low, r.High, r.Stops, r.Gate, r.Share, mean, share} {
				want, err := strconv.ParseFloat(row[2+i], 64)
				if err != nil {
					t.Fatal(err)
				}
				if !near(got, want) {
					t.Errorf("%s is %v, want %v", rows[0][2+i], got, want)
				}
			}
		})
	}
}

// A ramp from a to b, far above the gates: the output is spread evenly, so percentile q is a + q (b - a).
func TestRampClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Float64Range(1, 1e6).Draw(t, "b")
		a := b * rapid.Float64Range(0.02, 0.95).Draw(t, "a")
		p := Piece{3, 3 + rapid.Float64Range(0.01, 1e4).Draw(t, "length"), a, b}
		if rapid.Bool().Draw(t, "down") {
			p.From, p.To = p.To, p.From
		}
		c := course(t, []Piece{p})
		r, ok := c.Range()
		low, high := a+0.1*(b-a), a+0.95*(b-a)
		if !ok || !near(r.Low, low) || !near(r.High, high) || math.Abs(r.Stops-math.Log2(high/low)) > rounding {
			t.Fatalf("%+v, want %v to %v", r, low, high)
		}
		x := rapid.Float64Range(0, 8).Draw(t, "stops")
		want := 1.0
		if y := b * math.Exp2(-x); y > a {
			want = (b - y) / (b - a)
		}
		if got, ok := c.Near(x); !ok || math.Abs(got-want) > 1e-10 { // the slack of 1e-12 stops, over a ramp of a twentieth of its height
			t.Fatalf("within %v stops: %v, want %v", x, got, want)
		}
	})
}

// Twenty equal steps: 10 % is the end of the second and 95 % the end of the nineteenth, on any clock, though
// tenths and thirds of a second are rounded.
func TestEqualSteps(t *testing.T) {
	for _, length := range []float64{0.1, 0.7, 1. / 3, 3, 1e-3} {
		for start := 0.0; start < 100; start += 3.7 {
			pieces := make([]Piece, 20)
			for i := range pieces {
				y := float64(20 + i)
				pieces[i] = Piece{start + float64(i)*length, start + float64(i+1)*length, y, y}
			}
			if r, ok := course(t, pieces).Range(); !ok || !near(r.Low, 21) || !near(r.High, 38) {
				t.Fatalf("from %v, %v s each: %+v, want 21 to 38", start, length, r)
			}
		}
	}
}

func TestDarkness(t *testing.T) {
	for name, pieces := range map[string][]Piece{"nothing": nil, "no length": {{1, 1, 5, 5}}, "dark": {{0, 10, 0, 0}}} {
		c := course(t, pieces)
		if r, ok := c.Range(); ok || r != (Range{}) {
			t.Errorf("%s has a range %+v", name, r)
		}
		if _, ok := c.Near(1); ok {
			t.Errorf("%s has time near its maximum", name)
		}
		_, okMean := c.Mean()
		_, okMax := c.Max()
		if want := name == "dark"; okMean != want || okMax != want {
			t.Errorf("%s: mean %v, maximum %v", name, okMean, okMax)
		}
	}
	if max, ok := course(t, []Piece{{0, 1, 2, 7}, {2, 3, 1, 0}}).Max(); !ok || max != 7 {
		t.Errorf("maximum %v", max)
	}
}

func TestStops(t *testing.T) {
	for _, tc := range []struct {
		a, b, want float64
		ok         bool
	}{
		{100, 200, 1, true}, {200, 100, -1, true}, {3, 3, 0, true}, {1, 1024, 10, true},
		{1, 3, 1.584962500721156, true}, // log2 3, any table of logarithms
		{5e-324, math.MaxFloat64, 2098, true},
		{0, 1, 0, false}, {1, 0, 0, false}, {0, 0, 0, false}, {-1, 1, 0, false},
		{math.NaN(), 1, 0, false}, {1, math.Inf(1), 0, false},
	} {
		if got, ok := Stops(tc.a, tc.b); ok != tc.ok || math.Abs(got-tc.want) > 1e-12 { // rounding at 2098
			t.Errorf("stops from %v to %v: %v, %v; want %v, %v", tc.a, tc.b, got, ok, tc.want, tc.ok)
		}
	}
}

func TestBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, pieces := range [][]Piece{
		{{1, 0, 1, 1}}, {{nan, 1, 1, 1}}, {{0, nan, 1, 1}}, {{0, inf, 1, 1}}, {{-inf, 0, 1, 1}}, {{0, 2e9, 1, 1}},
		{{0, 1, -1, 1}}, {{0, 1, 1, nan}}, {{0, 1, inf, 1}},
		{{0, 2, 1, 1}, {1, 3, 1, 1}},
		{{0, 0, nan, 1}},
	} {
		if _, err := New(pieces); err == nil {
			t.Errorf("%v: no error", pieces)
		}
	}
	c := course(t, []Piece{{0, 1, 1, 1}})
	for _, stops := range []float64{-1, nan, inf} {
		if _, ok := c.Near(stops); ok {
			t.Errorf("within %v stops", stops)
		}
	}
}

// ---- properties ----

func drawPieces(t *rapid.T) []Piece {
	pieces := make([]Piece, rapid.IntRange(1, 20).Draw(t, "n"))
	level := rapid.OneOf(rapid.SampledFrom([]float64{0, 0.001, 1, 10, 500}), rapid.Float64Range(1e-6, 1000))
	at := 0
	for i := range pieces {
		at += rapid.IntRange(0, 50).Draw(t, "gap")
		start := at
		at += rapid.IntRange(0, 300).Draw(t, "length")
		a := level.Draw(t, "from")
		pieces[i] = Piece{float64(start), float64(at), a, a}
		if rapid.Bool().Draw(t, "fade") {
			pieces[i].To = level.Draw(t, "to")
		}
	}
	return pieces
}

type summary struct {
	r              Range
	mean, near     float64
	okR, okM, okNr bool
}

func sum(c *Course) (s summary) {
	s.r, s.okR = c.Range()
	s.mean, s.okM = c.Mean()
	s.near, s.okNr = c.Near(1.5)
	return s
}

// same compares all figures, those in the unit of output after scaling.
func same(t *rapid.T, what string, a, b summary, scale float64) {
	flags := a.okR == b.okR && a.okM == b.okM && a.okNr == b.okNr
	if !flags || !near(a.r.Low*scale, b.r.Low) || !near(a.r.High*scale, b.r.High) || !near(a.r.Gate*scale, b.r.Gate) ||
		math.Abs(a.r.Stops-b.r.Stops) > 4*rounding || !near(a.r.Share, b.r.Share) || !near(a.mean*scale, b.mean) || !near(a.near, b.near) {
		t.Fatalf("%s: %+v became %+v (scale %v)", what, a, b, scale)
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := drawPieces(t)
		before := sum(course(t, pieces))

		scale := rapid.SampledFrom([]float64{0x1p-900, 0.3, 0.25, 8, 0x1p30, 0x1p900}).Draw(t, "scale")
		changed := slices.Clone(pieces)
		for i := range changed {
			changed[i].From *= scale
			changed[i].To *= scale
		}
		same(t, "scaled", before, sum(course(t, changed)), scale)

		shift := float64(rapid.IntRange(-1_000_000, 1_000_000).Draw(t, "shift"))
		changed = slices.Clone(pieces)
		for i := range changed {
			changed[i].Start += shift
			changed[i].End += shift
		}
		same(t, "shifted", before, sum(course(t, changed)), 1)

		var split []Piece
		for _, p := range pieces {
			middle := (p.From + p.To) / 2
			half := (p.Start + p.End) / 2
			split = append(split, Piece{p.Start, half, p.From, middle}, Piece{half, p.End, middle, p.To})
		}
		same(t, "split", before, sum(course(t, split)), 1)

		// Order does not matter either: the same pieces, last first, on a mirrored clock.
		slices.Reverse(changed)
		for i, p := range changed {
			changed[i] = Piece{-p.End, -p.Start, p.To, p.From}
		}
		same(t, "backwards", before, sum(course(t, changed)), 1)

		if !before.okR {
			return
		}
		if r := before.r; !(r.Stops >= 0 && r.Low >= r.Gate && r.High >= r.Low && r.Share > 0 && r.Share <= 1) {
			t.Fatalf("%+v", r)
		}
	})
}

// The exact percentile against the plain one of many samples in the middle of equal slices of time.
func TestRangeAgainstSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := drawPieces(t)
		r, ok := course(t, pieces).Range()
		if !ok {
			return
		}
		var samples []float64
		for _, p := range pieces {
			n := int(p.End-p.Start) * 40
			for k := range n {
				if v := p.From + (float64(k)+0.5)/float64(n)*(p.To-p.From); v >= r.Gate {
					samples = append(samples, v)
				}
			}
		}
		slices.Sort(samples)
		if len(samples) < 1000 {
			return
		}
		// A piece may gain or lose one sample at the gate and at the percentile: 40 in all, at most.
		const slack = 40
		for _, p := range []struct{ share, got float64 }{{lowShare, r.Low}, {highShare, r.High}} {
			at := int(p.share * float64(len(samples)))
			low, high := samples[max(0, at-slack)], samples[min(len(samples)-1, at+slack)]
			if p.got < low*(1-rounding) && p.got < low-1e-6 || p.got > high*(1+rounding) && p.got > high+1e-6 {
				t.Fatalf("percentile %v is %v, samples say %v to %v", p.share, p.got, low, high)
			}
		}
	})
}

func FuzzCourse(f *testing.F) {
	f.Add(0.0, 1.0, 5.0, 5.0, 1.0, 2.0, 0.0, 7.0, 1.0)
	f.Add(-1e9, 1e9, 5e-324, math.MaxFloat64, 1e9, 1e9, 0.0, 0.0, 2000.0)
	f.Fuzz(func(t *testing.T, a, b, c, d, e, f, g, h, stops float64) {
		set, err := New([]Piece{{a, b, c, d}, {e, f, g, h}})
		if err != nil {
			return
		}
		r, _ := set.Range()
		mean, _ := set.Mean()
		share, _ := set.Near(stops)
		for _, v := range []float64{r.Stops, r.Low, r.High, r.Gate, r.Share, mean, share} {
			if !(v >= 0) || math.IsInf(v, 0) {
				t.Fatalf("%+v, mean %v, share %v", r, mean, share)
			}
		}
	})
}

// Growth shows as the time per piece at both sizes; sorting adds a little to the larger.
func BenchmarkRange(b *testing.B) {
	for _, n := range []int{2_000, 20_000} {
		pieces := make([]Piece, n)
		for i := range pieces {
			pieces[i] = Piece{float64(i), float64(i + 1), float64(i * 7919 % 101), float64(i * 31 % 97)}
		}
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			for b.Loop() {
				course(b, pieces).Range()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/piece")
		})
	}
}
