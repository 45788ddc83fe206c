package colour

import (
	"math"
	"sync"
	"sync/atomic"
)

// Ohno, Y., "Practical use and calculation of CCT and Duv", LEUKOS 10(1),
// 47-55, 2014: a table of Planckian points, the nearest of them, and from it
// and its neighbours a triangular solution near the locus and a parabolic one
// away from it ("combined method").

// The range of the method, kelvin (section 3 of the paper), and the largest
// abs(Duv) at which CCT still means something (CIE 015:2004, section 9.5).
const (
	minCCT = 1000
	maxCCT = 25000
	maxDuv = 0.05
)

const (
	// ohnoStep is the ratio of neighbouring table temperatures. The paper takes
	// 1 % and corrects the triangular solution by a factor 0.99991; the error
	// falls with the square of the step, and here needs no correction.
	ohnoStep = 1.0025

	// triangularBelow is the abs(Duv) under which the triangular solution
	// holds: 0.002 in the paper.
	triangularBelow = 0.002

	// endSlack lets a point at either end of the range, printed to five or six
	// decimals, still have a temperature (0.1 %: 25 K at 25,000 K).
	endSlack = 1e-3

	// ohnoStride is the spacing of the rows looked at first, a power of two. Within
	// maxDuv the distance to the table falls to one lowest row and then rises (tested),
	// so the lowest row lies within a stride of the lowest of these, and within half a
	// stride of the lowest of those and the rows half a stride beside it.
	ohnoStride = 32
)

type ohnoRow struct{ T, u, v float64 }

// distance2 is the squared distance of the row from p.
func (r *ohnoRow) distance2(p UV) float64 {
	du, dv := p.U-r.u, p.V-r.v
	return du*du + dv*dv
}

// An ohnoTable is worked out row by row when a row is asked for: a show has a few whites, and
// the sums for all temperatures would be a twentieth of what judging it takes.
type ohnoTable struct {
	kelvin []float64
	rows   []atomic.Pointer[ohnoRow]
}

// theTable runs a little past both ends, so that every temperature in range
// has a row on each side.
var theTable = sync.OnceValue(func() *ohnoTable {
	t := &ohnoTable{}
	for T := minCCT / math.Pow(ohnoStep, 4); T < maxCCT*math.Pow(ohnoStep, 4); T *= ohnoStep {
		t.kelvin = append(t.kelvin, T)
	}
	t.rows = make([]atomic.Pointer[ohnoRow], len(t.kelvin))
	return t
})

func (t *ohnoTable) row(i int) *ohnoRow {
	if r := t.rows[i].Load(); r != nil {
		return r
	}
	uv, _ := PlanckianUV(t.kelvin[i])
	r := &ohnoRow{t.kelvin[i], uv.U, uv.V}
	t.rows[i].Store(r) // whoever else works it out finds the same
	return r
}

// CCT returns the correlated colour temperature in kelvin and Duv, the distance
// from the Planckian locus in CIE 1960 u, v (positive above it), by the
// combined method of Ohno 2014. For Planckian points the error is under 0.1 K
// below 10,000 K. ok is false for an impossible chromaticity, a temperature
// outside 1,000 to 25,000 K (give or take 0.1 %), and abs(Duv) over 0.05.
func CCT(c XY) (cct, duv float64, ok bool) {
	p, ok := c.UV()
	if !ok {
		return 0, 0, false
	}
	table := theTable()
	m := table.nearest(p)
	if m == 0 || m == len(table.rows)-1 {
		return 0, 0, false
	}
	below, at, above := table.row(m-1), table.row(m), table.row(m+1)
	d0, d1, d2 := math.Sqrt(below.distance2(p)), math.Sqrt(at.distance2(p)), math.Sqrt(above.distance2(p))

	// Triangular solution, equations (6) to (9): the foot of the perpendicular
	// on the chord between the two neighbours.
	chord := math.Hypot(above.u-below.u, above.v-below.v)
	x := (d0*d0 - d2*d2 + chord*chord) / (2 * chord)
	cct = below.T + (above.T-below.T)*x/chord
	duv = math.Sqrt(math.Max(0, d0*d0-x*x))

	// Parabolic solution, equations (10) to (15): the lowest point of the
	// parabola through the three distances.
	if duv >= triangularBelow {
		T0, T1, T2 := below.T, at.T, above.T
		X := (T2 - T1) * (T0 - T2) * (T1 - T0)
		a := (T0*(d2-d1) + T1*(d0-d2) + T2*(d1-d0)) / X
		b := -(T0*T0*(d2-d1) + T1*T1*(d0-d2) + T2*T2*(d1-d0)) / X
		c := -(d0*(T2-T1)*T1*T2 + d1*(T0-T2)*T0*T2 + d2*(T1-T0)*T0*T1) / X
		cct = -b / (2 * a)
		duv = a*cct*cct + b*cct + c
	}
	if p.V < below.v+(above.v-below.v)*x/chord {
		duv = -duv
	}
	// Written so that a NaN answers no.
	ok = cct >= minCCT*(1-endSlack) && cct <= maxCCT*(1+endSlack) && math.Abs(duv) <= maxDuv
	if !ok {
		return 0, 0, false
	}
	return cct, duv, true
}

// nearest returns the index of the row nearest to p.
func (t *ohnoTable) nearest(p UV) int {
	m, least := 0, math.Inf(1)
	look := func(i int) {
		if i < 0 || i >= len(t.rows) {
			return
		}
		if d := t.row(i).distance2(p); d < least {
			m, least = i, d
		}
	}
	for i := 0; i < len(t.rows); i += ohnoStride {
		look(i)
	}
	for stride := ohnoStride / 2; stride > 0; stride /= 2 {
		at := m
		look(at - stride)
		look(at + stride)
	}
	return m
}
