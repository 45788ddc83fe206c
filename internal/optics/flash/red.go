package flash

import (
	"cmp"
	"math"
	"slices"
)

// WCAG 2.2, working definition of a pair of opposing transitions involving a saturated red, from
// ISO 9241-391 [verified at the WCAG source]: one state has R/(R+G+B) >= 0.8 (linear R, G, B),
// and the two states differ by more than 0.2 in CIE 1976 u'v'.
const (
	redShare    = 0.8 * (1 - 1e-12) // the slack is for rounding: 0.8, 0.2, 0 is saturated
	redDistance = 0.2
)

// linear sRGB to XYZ, IEC 61966-2-1:1999 (four decimals as printed) [from memory].
var srgbToXYZ = [3][3]float64{
	{0.4124, 0.3576, 0.1805},
	{0.2126, 0.7152, 0.0722},
	{0.0193, 0.1192, 0.9505},
}

type uv struct{ u, v float64 } // CIE 1976 u', v'

// redder is above or at zero for a saturated red, and linear in the light: R - 0.8 (R+G+B).
func (l Light) redder() float64 { return l.R - redShare*(l.R+l.G+l.B) }

func (l Light) black() bool { return l.R == 0 && l.G == 0 && l.B == 0 }

func (l Light) saturatedRed() bool { return !l.black() && l.redder() >= 0 }

// clipped takes negative amounts as 0.
func (l Light) clipped() Light {
	l.R, l.G, l.B = max(l.R, 0), max(l.G, 0), max(l.B, 0)
	return l
}

// chromaticity is u' = 4X/(X+15Y+3Z), v' = 9Y/(X+15Y+3Z) (CIE 015, CIE 1976 uniform chromaticity
// scale diagram). Black has none. It is given that of the white of sRGB (D65), as a black that the room's
// light falls on would have: our own choice, which the definition leaves open.
func (l Light) chromaticity() uv {
	if l.black() {
		l = Light{R: 1, G: 1, B: 1}
	}
	l = l.scaled() // or the sums below could come to zero
	var xyz [3]float64
	for i, row := range srgbToXYZ {
		xyz[i] = row[0]*l.R + row[1]*l.G + row[2]*l.B
	}
	d := xyz[0] + 15*xyz[1] + 3*xyz[2]
	return uv{4 * xyz[0] / d, 9 * xyz[1] / d}
}

// redRun is a stretch of time in which the light stays saturated red, or stays not.
type redRun struct {
	red     bool
	start   float64
	colours []uv // corners of its path; the path between them is straight in u'v' as it is in R, G, B
}

// redChanges picks the changes to and from saturated red of a path of straight lines.
//
// The path is cut into runs that are saturated red and runs that are not. A change lies where two
// runs meet, and counts if some colour of one run is more than 0.2 from some colour of the other. So
// a slow change of hue counts at the moment it enters or leaves saturated red, whatever steps it takes; this is
// the strictest simple reading, and the same for a path run backwards. Of a colour that leaves
// saturated red by less than 0.2 and comes back, the two stretches of red are judged each on its own.
//
// Two saturated reds are never a change: within sRGB no two are more than 0.15 apart.
func redChanges(path []State) []change {
	var out []change
	var before *redRun
	for _, run := range redRuns(path) {
		if before != nil && apart(before.colours, run.colours) > redDistance {
			out = append(out, change{up: run.red, from: run.start, done: run.start})
		}
		before = &run
	}
	return out
}

func redRuns(path []State) []redRun {
	var runs []redRun
	for i, s := range path {
		here := s.light().clipped()
		red := here.saturatedRed()
		if i == 0 {
			runs = append(runs, redRun{red, s.T, []uv{here.chromaticity()}})
			continue
		}
		run := &runs[len(runs)-1]
		if red == run.red {
			if c := here.chromaticity(); c != run.colours[len(run.colours)-1] {
				run.colours = append(run.colours, c)
			}
			continue
		}
		next := redRun{red: red, start: s.T}
		if p := path[i-1]; p.T < s.T {
			// A gradual change: find where it crosses. That colour was seen too.
			there := p.light().clipped()
			switch {
			case there.black():
				next.start = p.T
			case !here.black():
				a, b := there.redder(), here.redder() // of opposite sign, or one is 0
				part := min(max(a/(a-b), 0), 1)
				next.start = p.T + part*(s.T-p.T)
				edge := redEdge(there, here).chromaticity()
				run.colours = append(run.colours, edge)
				next.colours = append(next.colours, edge)
			}
		}
		next.colours = append(next.colours, here.chromaticity())
		runs = append(runs, next)
	}
	return runs
}

// redEdge is a light on the edge of saturated red, of the colour found between the two lights, one on each side.
// Weighing each light by the other's distance from the edge adds only positive amounts, so the colour is
// right even when one light is all but black.
func redEdge(p, q Light) Light {
	p, q = p.scaled(), q.scaled()
	a, b := math.Abs(p.redder()), math.Abs(q.redder())
	return Light{R: b*p.R + a*q.R, G: b*p.G + a*q.G, B: b*p.B + a*q.B}
}

// scaled makes the largest amount 1. The light must not be black.
func (l Light) scaled() Light {
	most := max(l.R, l.G, l.B)
	return Light{R: l.R / most, G: l.G / most, B: l.B / most}
}

func mix(a, b Light, part float64) Light {
	return Light{
		R: a.R + part*(b.R-a.R),
		G: a.G + part*(b.G-a.G),
		B: a.B + part*(b.B-a.B),
	}
}

// apart is the greatest distance between a colour of a and a colour of b.
func apart(a, b []uv) float64 {
	var most float64
	if len(a)*len(b) <= 1024 { // the plain way; above this the corners of the sum are quicker
		for _, p := range a {
			for _, q := range b {
				most = max(most, math.Hypot(p.u-q.u, p.v-q.v))
			}
		}
		return most
	}
	// The differences p - q fill the convex shape hull(a) + hull(-b), whose corner farthest from
	// zero is wanted; its edges are the edges of the two hulls in order of their angle.
	minus := make([]uv, len(b))
	for i, q := range b {
		minus[i] = uv{-q.u, -q.v}
	}
	h, k := hull(a), hull(minus)
	for i, j := 0, 0; i < len(h) || j < len(k); {
		p, q := h[i%len(h)], k[j%len(k)]
		most = max(most, math.Hypot(p.u+q.u, p.v+q.v))
		turn := cross(uv{}, minusOf(h[(i+1)%len(h)], p), minusOf(k[(j+1)%len(k)], q))
		// Edges in the same direction go together, or a hull of two points could be passed by.
		nextH := j >= len(k) || i < len(h) && turn >= 0
		nextK := i >= len(h) || j < len(k) && turn <= 0
		if nextH {
			i++
		}
		if nextK {
			j++
		}
	}
	return most
}

func minusOf(a, b uv) uv { return uv{a.u - b.u, a.v - b.v} }

// cross is the cross product of the vectors from o to a and from o to b.
func cross(o, a, b uv) float64 { return (a.u-o.u)*(b.v-o.v) - (a.v-o.v)*(b.u-o.u) }

// hull is the convex hull, anticlockwise from the leftmost point (A. M. Andrew, Information
// Processing Letters 9(5), 1979, 216-219 [from memory]).
func hull(points []uv) []uv {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b uv) int { return cmp.Or(cmp.Compare(a.u, b.u), cmp.Compare(a.v, b.v)) })
	sorted = slices.Compact(sorted)
	if len(sorted) < 3 {
		return sorted
	}
	half := func(in []uv) []uv {
		var out []uv
		for _, p := range in {
			for len(out) >= 2 && cross(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(sorted)
	slices.Reverse(sorted)
	return append(lower, half(sorted)...)
}
