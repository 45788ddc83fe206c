package photometry

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
)

// Transport is the matrix A of E = A x levels: a row for each receiver, a column for each source (a fixture in one aim,
// zoom and cut), lux per unit level. Most fixtures miss most receivers, so only what is there is stored, row by row
// (compressed sparse rows).
type Transport struct {
	rows, cols int
	start      []int     // of each row in col and lux, and the end
	col        []int32   // ascending within a row
	lux        []float64 // per unit level
	dropped    []float64 // per row, the sum of the coefficients under the floor
}

// Pair is a receiver and a source by index.
type Pair struct {
	Receiver, Source int
}

// NewTransport works out every coefficient. Those below floorLux are not stored, and Dropped tells per receiver what they
// would add up to; with floorLux 0 only true zeros are left out. unknown lists the pairs that have no coefficient, such
// as a fixture at the very point of a receiver: what those receivers get from the product is only a part.
// Error: a floor that is negative or not finite.
func NewTransport(receivers []Receiver, sources []Source, floorLux float64) (t *Transport, unknown []Pair, err error) {
	if !(floorLux >= 0) || !finite(floorLux) {
		return nil, nil, fmt.Errorf("floor of %g lx: must be 0 or more", floorLux)
	}
	t = &Transport{rows: len(receivers), cols: len(sources), dropped: make([]float64, len(receivers))}
	parts := make([]rows, max(1, min(runtime.GOMAXPROCS(0), len(receivers))))
	var group sync.WaitGroup
	for k := range parts {
		from, to := k*len(receivers)/len(parts), (k+1)*len(receivers)/len(parts)
		group.Go(func() { parts[k] = rowsOf(receivers[from:to], sources, floorLux, from, t.dropped) })
	}
	group.Wait()
	t.start = make([]int, 1, len(receivers)+1)
	for _, part := range parts {
		for _, stop := range part.stops {
			t.start = append(t.start, len(t.col)+stop)
		}
		t.col, t.lux = append(t.col, part.col...), append(t.lux, part.lux...)
		unknown = append(unknown, part.unknown...)
	}
	return t, unknown, nil
}

// rows are some rows of the matrix next to each other. No row depends on another,
// so all cores can work, and the matrix is the same however many there are.
type rows struct {
	stops   []int // behind the last coefficient of each row
	col     []int32
	lux     []float64
	unknown []Pair
}

// rowsOf works out the rows of some receivers, of which the first has the given
// index, and puts what they drop into its own places.
func rowsOf(receivers []Receiver, sources []Source, floorLux float64, first int, dropped []float64) (part rows) {
	for i, r := range receivers {
		for j, s := range sources {
			lux, ok := s.Coefficient(r)
			switch {
			case !ok:
				part.unknown = append(part.unknown, Pair{first + i, j})
			case lux < floorLux:
				dropped[first+i] += lux
			case lux > 0:
				part.col = append(part.col, int32(j))
				part.lux = append(part.lux, lux)
			}
		}
		part.stops = append(part.stops, len(part.col))
	}
	return part
}

// Stored is how many coefficients the matrix holds.
func (t *Transport) Stored() int { return len(t.lux) }

// Dropped is the illuminance in lux that a receiver would get at most, with everything at level 1, from the coefficients
// below the floor.
func (t *Transport) Dropped(receiver int) float64 { return t.dropped[receiver] }

// Row calls each for every stored coefficient of a receiver, in the order of the sources.
func (t *Transport) Row(receiver int, each func(source int, luxPerLevel float64)) {
	for k := t.start[receiver]; k < t.start[receiver+1]; k++ {
		each(int(t.col[k]), t.lux[k])
	}
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
