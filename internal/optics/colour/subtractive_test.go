package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawFilter draws a filter that leaves a real colour.
func drawFilter(t *rapid.T) Filter {
	e := drawEmitter(t)
	return Filter{e.X, e.Y, rapid.Float64Range(0, 1).Draw(t, "transmission")}
}

func TestFilteredOneFilter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xy, _ := PlanckianOffset(rapid.Float64Range(2500, 9000).Draw(t, "cct"), 0)
		source := Emitter{xy.X, xy.Y, rapid.Float64Range(1, 20000).Draw(t, "flux")}
		f := drawFilter(t)
		open, _ := source.XYZ()
		through, _ := XY{f.X, f.Y}.XYZ(f.Transmission * source.Flux)
		in := rapid.Float64Range(0, 1).Draw(t, "in")

		// One filter is exact: the straight line between open and fully in. A deep
		// colour outside the bands' primaries loses its trace below nothing.
		got, ok := Filtered(source, []Filter{f}, []float64{in})
		want := open.Scale(1 - in).Add(through.Scale(in))
		if !ok || !sameLight(got, want, 1e-9) {
			t.Fatalf("got %v, %v, want %v", got, ok, want)
		}
		// A filter that is out changes nothing at all, wherever it stands.
		g := drawFilter(t)
		for _, filters := range [][]Filter{{f, g}, {g, f}} {
			insertions := []float64{in, 0}
			if filters[0] == g {
				insertions = []float64{0, in}
			}
			if both, ok := Filtered(source, filters, insertions); !ok || both != got {
				t.Fatalf("with another filter out: %v, %v, want %v", both, ok, got)
			}
		}
	})
}

func TestFilteredManyFilters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xy, _ := PlanckianOffset(rapid.Float64Range(2500, 9000).Draw(t, "cct"), 0)
		source := Emitter{xy.X, xy.Y, 10000}
		filters := rapid.SliceOfN(rapid.Custom(drawFilter), 2, 5).Draw(t, "filters")
		n := len(filters)
		in := rapid.SliceOfN(rapid.Float64Range(0, 1), n, n).Draw(t, "in")
		got, ok := Filtered(source, filters, in)
		if !ok || !got.light() {
			t.Fatalf("got %v, %v", got, ok)
		}
		// Order does not matter.
		back, inBack := make([]Filter, n), make([]float64, n)
		for i := range filters {
			back[n-1-i], inBack[n-1-i] = filters[i], in[i]
		}
		if reversed, ok := Filtered(source, back, inBack); !ok || !sameLight(got, reversed, 1e-9) {
			t.Fatalf("%v, reversed %v", got, reversed)
		}
		// Grey filters multiply exactly.
		grey := Filter{source.X, source.Y, 0.5}
		half, ok := Filtered(source, append(filters, grey), append(in, 1))
		if !ok || !sameLight(half, got.Scale(0.5), 1e-9) {
			t.Fatalf("through half grey: %v, want half of %v", half, got)
		}
	})
}

// The errors the doc comment states, against spectra: invented flags that pass
// 2 % in their stop band and 92 % outside, with edges 5 or 15 nm soft, in front
// of two black bodies.
func TestFilteredAgainstSpectra(t *testing.T) {
	rise := func(nm, at, softness float64) float64 { return 1 / (1 + math.Exp((at-nm)/softness)) }
	var sum, worst, worstStops float64
	cases := 0
	for _, T := range []float64{3200, 6500} {
		for _, w := range []float64{5, 15} {
			flags := []func(nm float64) float64{
				func(nm float64) float64 { return 0.02 + 0.9*(1-rise(nm, 595, w)) },                  // cyan
				func(nm float64) float64 { return 0.02 + 0.9*(1-rise(nm, 495, w)+rise(nm, 600, w)) }, // magenta
				func(nm float64) float64 { return 0.02 + 0.9*rise(nm, 505, w) },                      // yellow
			}
			spectrum := func(in []float64) (c XYZ) {
				for i, r := range planckRows {
					k := 1 / (math.Exp(r.c2OverWavelength/T) - 1)
					for j, flag := range flags {
						k *= 1 - in[j] + in[j]*flag(float64(cmfFirst+i*cmfStep))
					}
					c = c.Add(r.weight.Scale(k))
				}
				return c
			}
			open := spectrum([]float64{0, 0, 0})
			xy, _ := open.XY()
			source := Emitter{xy.X, xy.Y, 1}
			var filters []Filter
			for j := range flags {
				in := make([]float64, 3)
				in[j] = 1
				c := spectrum(in)
				xy, _ := c.XY()
				filters = append(filters, Filter{xy.X, xy.Y, c.Y / open.Y})
			}
			for _, in := range [][]float64{{1, 1, 0}, {1, 0, 1}, {0, 1, 1}, {.5, .5, 0}, {.5, 0, .5}, {0, .5, .5}, {1, .5, 0}, {.5, 1, 0},
				{1, 0, .5}, {.5, 0, 1}, {0, 1, .5}, {0, .5, 1}, {.3, .3, .3}, {.7, .7, .2}, {.5, .5, .5}} {
				got, ok := Filtered(source, filters, in)
				want := spectrum(in)
				p, okP := got.UV()
				q, okQ := want.UV()
				if !ok || !okP || !okQ {
					t.Fatalf("%v: no answer", in)
				}
				d := math.Hypot(p.U-q.U, 1.5*(p.V-q.V))
				sum, worst = sum+d, max(worst, d)
				worstStops = max(worstStops, math.Abs(math.Log2(got.Y*open.Y/want.Y)))
				cases++
			}
		}
	}
	mean := sum / float64(cases)
	t.Logf("u'v': mean %.4f, worst %.4f; flux: worst %.2f stops", mean, worst, worstStops)
	if mean > 0.01 || worst > 0.13 || worstStops > 1 {
		t.Errorf("u'v': mean %.4f, worst %.4f; flux: worst %.2f stops", mean, worst, worstStops)
	}
}

func TestFilteredDomain(t *testing.T) {
	source := Emitter{0.4, 0.39, 1000}
	good := Filter{0.5, 0.4, 0.5}
	for _, f := range []Filter{{}, {0.5, 0, 0.5}, {0.5, 0.4, 1.01}, {0.5, 0.4, -0.1}, {0.5, 0.4, math.NaN()}, {math.NaN(), 0.4, 0.5}} {
		if _, ok := Filtered(source, []Filter{f}, []float64{0}); ok {
			t.Errorf("%v accepted", f)
		}
	}
	for _, in := range []float64{-0.1, 1.1, math.NaN()} {
		if _, ok := Filtered(source, []Filter{good}, []float64{in}); ok {
			t.Errorf("insertion %g accepted", in)
		}
	}
	if _, ok := Filtered(source, []Filter{good}, nil); ok {
		t.Error("unequal lengths accepted")
	}
	if _, ok := Filtered(Emitter{0.14, 0.035, 100}, []Filter{good}, []float64{1}); ok {
		t.Error("a source with no long band accepted")
	}
	open, ok := Filtered(source, nil, nil)
	want, _ := source.XYZ()
	if !ok || open != want {
		t.Errorf("no filter: %v, %v", open, ok)
	}
	if black, ok := Filtered(source, []Filter{{0.3, 0.3, 0}}, []float64{1}); !ok || black != (XYZ{}) {
		t.Errorf("a black flag: %v, %v", black, ok)
	}
	if dark, ok := Filtered(Emitter{0.4, 0.39, 0}, []Filter{good}, []float64{1}); !ok || dark != (XYZ{}) {
		t.Errorf("a dark source: %v, %v", dark, ok)
	}
}
