package colour

import (
	"math"
	"slices"
)

// hueWeight is a hue on the circle, degrees from 0 up to 360, and its share of
// all weight.
type hueWeight struct{ hue, weight float64 }

// arc is a run of hues: first and count index the sorted hues, wrapping round.
type arc struct{ first, count int }

const (
	// arcSlack is how much wider than its width an arc may be by rounding,
	// degrees.
	arcSlack = 1e-9

	// spreadTie is the difference in weighted square degrees within which two
	// divisions are equally good.
	spreadTie = 1e-9
)

// arcs divides sorted, distinct hues on the circle into the fewest runs that
// are each at most width degrees wide and, among all such divisions, into the
// one whose hues lie closest to the means of their runs (least weighted sum of
// squares). It is exact: every place where the circle could be cut is tried.
// Equal divisions, which only a symmetric set of hues has, go to the lowest cut,
// counted upwards from 0 degrees. 0 <= width <= 180; weights are positive and
// sum to 1.
//
// Three things keep it quick. The run that holds one chosen hue, the pivot, must
// start where it still reaches the pivot, so only those cuts matter, and the
// pivot is the hue with the fewest. From one cut the rest is a line, for which
// dynamic programming is exact (W. D. Fisher, J. Am. Stat. Assoc. 53, 789-798,
// 1958), and the least number of runs leaves each run little room to end in. And
// best divisions from different cuts need not cross, because the spread obeys
// the quadrangle inequality (A. Aggarwal, B. Schieber, T. Tokuyama, Discrete
// Comput. Geom. 12, 263-280, 1994), so those of two cuts hem in all between.
func arcs(hues []hueWeight, width float64) []arc {
	n := len(hues)
	if n == 0 {
		return nil
	}
	c := unroll(hues, width)

	// The pivot, in the second turn so that the runs before it are in view.
	pivot, cuts := n, n+1
	for p := n; p < 2*n; p++ {
		if before := p - c.back[p+1]; before < cuts {
			pivot, cuts = p, before
		}
	}
	var divisions []division
	for cut := c.back[pivot+1]; cut <= pivot; cut++ {
		d := c.division(cut)
		if len(divisions) > 0 && len(d.last) < len(divisions[0].last) {
			divisions = divisions[:0]
		}
		if len(divisions) == 0 || len(d.last) == len(divisions[0].last) {
			divisions = append(divisions, d)
		}
	}
	c.solve(divisions, nil, nil)

	// By the lowest cut, where several are equally good.
	slices.SortFunc(divisions, func(a, b division) int { return a.starts[0]%n - b.starts[0]%n })
	best := divisions[0]
	for _, d := range divisions {
		if d.spread < best.spread-spreadTie {
			best = d
		}
	}
	var runs []arc
	for k, start := range best.starts[:len(best.starts)-1] {
		runs = append(runs, arc{start % n, best.starts[k+1] - start})
	}
	return runs
}

// circle is the circle of n hues unrolled to three turns: index i+n is hue i one
// turn further on.
type circle struct {
	n          int
	s0, s1, s2 []float64 // sums of weight, weight x degrees, weight x degrees^2 before an index
	reach      []int     // a run that starts at i ends before reach[i] at the latest
	back       []int     // a run that ends before j starts at back[j] at the earliest
	cost       []float64 // of a division in the making, by index less the cut:
	from       []int     // least spread up to there, and where the last run starts
}

func unroll(hues []hueWeight, width float64) *circle {
	n := len(hues)
	sums := make([]float64, 3*(3*n+1))
	c := &circle{
		n:  n,
		s0: sums[:3*n+1], s1: sums[3*n+1 : 2*(3*n+1)], s2: sums[2*(3*n+1):],
		reach: make([]int, 3*n), back: make([]int, 3*n+1),
		cost: make([]float64, n+1), from: make([]int, n+1),
	}
	degrees := func(i int) float64 { return hues[i%n].hue + 360*float64(i/n) }
	for i := range 3 * n {
		w := hues[i%n].weight
		d := degrees(i) - 540 // from the middle, to keep the sums small
		c.s0[i+1] = c.s0[i] + w
		c.s1[i+1] = c.s1[i] + w*d
		c.s2[i+1] = c.s2[i] + w*d*d
	}
	for i, j := 0, 0; i < 3*n; i++ {
		for j < 3*n && j < i+n && degrees(j)-degrees(i) <= width+arcSlack {
			j++
			c.back[j] = i
		}
		c.reach[i] = j
	}
	return c
}

// spread is the weighted sum of squares of hues i to j-1 about their mean.
func (c *circle) spread(i, j int) float64 {
	w, m := c.s0[j]-c.s0[i], c.s1[j]-c.s1[i]
	return max(0, c.s2[j]-c.s2[i]-m*m/w)
}

// division is a division of the circle from one cut into as few runs as that
// cut allows. After k runs the next starts from first[k] to last[k]: no earlier,
// or the rest would not fit into the runs left; no later, for no k runs reach
// further. As the runs are as few as can be, these ranges do not overlap.
type division struct {
	first, last []int
	starts      []int // the best: the cut, the start of each next run, cut + n
	spread      float64
}

func (c *circle) division(cut int) (d division) {
	d.last = append(d.last, cut)
	for end := cut; end < cut+c.n; {
		end = min(c.reach[end], cut+c.n)
		d.last = append(d.last, end)
	}
	d.first = slices.Clone(d.last)
	for k := len(d.first) - 1; k > 0; k-- {
		d.first[k-1] = max(cut, c.back[d.first[k]])
	}
	return d
}

// solve solves divisions of rising cuts and one number of runs, the middle one
// first; left and right are solved ones on either side, or nil.
func (c *circle) solve(divisions []division, left, right []int) {
	if len(divisions) == 0 {
		return
	}
	middle := len(divisions) / 2
	d := &divisions[middle]
	for k := range d.first {
		if left != nil {
			d.first[k] = max(d.first[k], left[k])
		}
		if right != nil {
			d.last[k] = min(d.last[k], right[k])
		}
	}
	cut, runs := d.first[0], len(d.first)-1
	c.cost[0] = 0
	for k := 1; k <= runs; k++ {
		for j := d.first[k]; j <= d.last[k]; j++ {
			least := math.Inf(1)
			for i := max(d.first[k-1], c.back[j]); i <= d.last[k-1]; i++ {
				if cost := c.cost[i-cut] + c.spread(i, j); cost < least {
					least = cost
					c.from[j-cut] = i
				}
			}
			c.cost[j-cut] = least
		}
	}
	d.spread = c.cost[c.n]
	d.starts = make([]int, runs+1)
	d.starts[runs] = cut + c.n
	for k := runs; k > 0; k-- {
		d.starts[k-1] = c.from[d.starts[k]-cut]
	}
	c.solve(divisions[:middle], left, d.starts)
	c.solve(divisions[middle+1:], d.starts, right)
}
