package photometry

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Transport is the matrix A of E = A x levels: a row for each receiver, a column for each source (a fixture in one aim,
// zoom and cut), lux per unit level. Most fixtures miss most receivers, so only what is there is stored, row by row
// (compressed sparse rows).
type Transport struct {
	rows, cols int
	start      []int     // of each row in col and lux, and the end
	col        []int32   // ascending within a row
	lux        []float64 // per unit level
}

// Pair is a receiver and a source by index.
type Pair struct {
	Receiver, Source int
}

// Column is what one source gives to every receiver. It depends on nothing else, so it can be kept while other sources
// change.
type Column struct {
	receivers int
	row       []int32   // ascending
	lux       []float64 // per unit level
	unknown   []int32   // receivers that have no coefficient
}

// NewColumn works out the coefficients of one source. Those below floorLux are not stored; with floorLux 0 only true zeros
// are left out.
func NewColumn(receivers []Receiver, source Source, floorLux float64) *Column {
	c := &Column{receivers: len(receivers)}
	dark := math.Inf(1) // the u beyond which a beam gives less than the floor, a metre away or farther
	if alike, isRound := source.light.(round); isRound && floorLux > 0 {
		if peak := alike.around(0); peak > floorLux {
			dark = alike.darkness(floorLux / peak)
		}
	}
	var rows [128]int32 // most beams reach few: what is kept is as long as it has to be
	var luxes [128]float64
	row, luxOf := rows[:0], luxes[:0]
	for i, r := range receivers {
		if source.beyond(r.Point, dark) {
			continue
		}
		switch lux, ok := source.Coefficient(r); {
		case !ok:
			c.unknown = append(c.unknown, int32(i))
		case lux > 0 && lux >= floorLux:
			row, luxOf = append(row, int32(i)), append(luxOf, lux)
		}
	}
	c.row, c.lux = slices.Clone(row), slices.Clone(luxOf)
	return c
}

// Each calls each for every stored coefficient of the source, in the order of the receivers.
func (c *Column) Each(each func(receiver int, luxPerLevel float64)) {
	for k, i := range c.row {
		each(int(i), c.lux[k])
	}
}

// Join puts columns for the same receivers side by side. unknown lists the pairs that have no coefficient, such as a
// fixture at the very point of a receiver, by receiver: what those receivers get from the product is only a part.
func Join(receivers int, columns []*Column) (t *Transport, unknown []Pair) {
	t = &Transport{rows: receivers, cols: len(columns), start: make([]int, receivers+1)}
	stored := 0
	for j, c := range columns {
		if c.receivers != receivers {
			panic(fmt.Sprintf("photometry: a column for %d receivers among those for %d", c.receivers, receivers))
		}
		stored += len(c.row)
		for _, i := range c.row {
			t.start[i+1]++
		}
		for _, i := range c.unknown {
			unknown = append(unknown, Pair{int(i), j})
		}
	}
	for i := range receivers {
		t.start[i+1] += t.start[i]
	}
	t.col, t.lux = make([]int32, stored), make([]float64, stored)
	next := slices.Clone(t.start)
	for j, c := range columns {
		for k, i := range c.row {
			t.col[next[i]], t.lux[next[i]] = int32(j), c.lux[k]
			next[i]++
		}
	}
	slices.SortStableFunc(unknown, func(a, b Pair) int { return cmp.Compare(a.Receiver, b.Receiver) })
	return t, unknown
}

// Stored is how many coefficients the matrix holds.
func (t *Transport) Stored() int { return len(t.lux) }

// Row calls each for every stored coefficient of a receiver, in the order of the sources.
func (t *Transport) Row(receiver int, each func(source int, luxPerLevel float64)) {
	for k := t.start[receiver]; k < t.start[receiver+1]; k++ {
		each(int(t.col[k]), t.lux[k])
	}
}

// RowOf is the stored coefficients of a receiver with their sources, in the order of the sources. They are not to be changed.
func (t *Transport) RowOf(receiver int) (sources []int32, luxPerLevel []float64) {
	from, to := t.start[receiver], t.start[receiver+1]
	return t.col[from:to], t.lux[from:to]
}

var errLevels = errors.New("photometry: levels must be plain numbers")

// Apply puts E = A x levels into lux: one level per source, 0 to 1 for 0 to full light; one lux per receiver.
// Error: lengths that do not fit, or a level that is not finite; lux is untouched then.
func (t *Transport) Apply(lux, levels []float64) error {
	if err := t.check(lux, levels); err != nil {
		return err
	}
	if !finite(levels...) {
		return errLevels
	}
	for i := range lux {
		lux[i] = t.row(i, levels)
	}
	return nil
}

// At is one receiver's part of the product, to the very bits of Apply: for a look in which few receivers are asked for.
// Levels must be as many as there are sources, and finite.
func (t *Transport) At(receiver int, levels []float64) (lux float64) { return t.row(receiver, levels) }

func (t *Transport) check(lux, levels []float64) error {
	if len(lux) != t.rows || len(levels) != t.cols {
		return fmt.Errorf("photometry: %d receivers and %d sources, but room for %d lux and %d levels", t.rows, t.cols, len(lux), len(levels))
	}
	return nil
}

func (t *Transport) row(i int, levels []float64) float64 {
	sum := 0.0
	lux, col := t.lux[t.start[i]:t.start[i+1]], t.col[t.start[i]:t.start[i+1]]
	for k, c := range lux {
		sum += c * levels[col[k]]
	}
	return sum
}
