package photometry

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// Web is a measured distribution: intensities on a grid of directions, as photometric files carry them. It implements
// Distribution and Spread. Between grid points it is bilinear in degrees; outside the listed angles it is 0, which is
// what the files mean by leaving them out.
//
// In type C the grid is polar about the beam axis: V is theta and H (or C) is phi. In types A and B the beam axis is H 0
// V 0, phi 0 points to positive H (right), phi 90 to positive V (up).
type Web struct {
	plane  planeType
	mirror mirror
	h, v   []float64 // stored angles in degrees, ascending (equal neighbours can occur in a lenient reading)
	cd     []float64 // effective candela, all of v for the first h, then for the next
	flux   float64
}

// planeType says which axis the planes of the grid share (LM-63 field "type"; definitions chapter of LM-63-2002).
type planeType int

const (
	typeC planeType = 1 // half planes about the beam axis
	typeB planeType = 2 // planes about the axis left to right: H is the latitude, V turns about the axis
	typeA planeType = 3 // planes about the axis up and down: V is the latitude, H turns about the axis
)

// mirror says how stored planes stand for the rest.
type mirror int

const (
	fullCircle mirror = iota // type C: every plane is stored. Types A, B: no mirror
	rotational               // one plane stands for all
	bilateral                // C 0..180 stored: I(h) = I(360-h)
	crosswise                // C 90..270 stored: I(h) = I(180-h)
	quadrant                 // C 0..90 stored: both
	aboutZero                // types A, B with H 0..90 stored: I(-h) = I(h)
)

// Candela implements Distribution.
func (w *Web) Candela(thetaDeg, phiDeg float64) (candela float64, ok bool) {
	if w.empty() || !inDomain(thetaDeg, phiDeg) {
		return 0, false
	}
	if w.plane == typeC {
		return w.at(thetaDeg, phiDeg), true
	}
	sinT, cosT := math.Sincos(thetaDeg * degree)
	sinP, cosP := math.Sincos(phiDeg * degree)
	forward, right, up := cosT, sinT*cosP, sinT*sinP
	if w.plane == typeA {
		return w.at(math.Asin(clampUnit(up))/degree, math.Atan2(right, forward)/degree), true
	}
	return w.at(math.Atan2(up, forward)/degree, math.Asin(clampUnit(right))/degree), true
}

// empty is a distribution that no reader made, such as that of a file which could not be read.
func (w *Web) empty() bool { return w == nil || len(w.cd) == 0 }

func clampUnit(x float64) float64 { return math.Max(-1, math.Min(1, x)) }

// Flux implements Distribution: lumens by zonal integration over the stored grid.
func (w *Web) Flux() float64 {
	if w.empty() {
		return 0
	}
	return w.flux
}

// at reads the grid in its own angles.
func (w *Web) at(v, h float64) float64 {
	if v < w.v[0] || v > w.v[len(w.v)-1] {
		return 0
	}
	h, inside := w.fold(h)
	if !inside {
		return 0
	}
	j, next, f := w.planes(h)
	i, g := bracket(w.v, v)
	return (1-f)*w.along(j, i, g) + f*w.along(next, i, g)
}

// along interpolates in one stored plane, g of the way from the i-th to the next V angle.
func (w *Web) along(plane, i int, g float64) float64 {
	row := w.cd[plane*len(w.v) : (plane+1)*len(w.v)]
	if g == 0 {
		return row[i]
	}
	return (1-g)*row[i] + g*row[i+1]
}

// fold brings an H angle into the stored range by the symmetry; inside is false where types A and B have no data.
func (w *Web) fold(h float64) (folded float64, inside bool) {
	if w.plane != typeC {
		if w.mirror == aboutZero {
			h = math.Abs(h)
		}
		return h, h >= w.h[0] && h <= w.h[len(w.h)-1]
	}
	h = turn(h)
	switch w.mirror {
	case rotational:
		h = w.h[0]
	case bilateral:
		h = math.Min(h, 360-h)
	case quadrant:
		h = math.Mod(h, 180)
		h = math.Min(h, 180-h)
	case crosswise:
		if h < 90 {
			h = 180 - h
		} else if h > 270 {
			h = 540 - h
		}
	case fullCircle:
		h = w.h[0] + turn(h-w.h[0])
	}
	return h, true
}

// turn brings an angle into 0 <= a < 360.
func turn(a float64) float64 {
	a = math.Mod(a, 360)
	if a < 0 {
		a += 360
	}
	if a >= 360 { // a tiny negative angle rounds up to the full turn
		return 0
	}
	return a
}

// planes gives the two stored planes around a folded H angle and how far it is from the first to the second. On a full
// circle the first plane follows the last.
func (w *Web) planes(h float64) (j, next int, f float64) {
	last := len(w.h) - 1
	if h <= w.h[last] {
		j, f = bracket(w.h, h)
		return j, min(j+1, last), f
	}
	gap := w.h[0] + 360 - w.h[last]
	if w.mirror != fullCircle || !(gap > 0) {
		return last, last, 0
	}
	return last, 0, math.Min(1, (h-w.h[last])/gap)
}

// bracket finds x in an ascending list that spans it: between the i-th and the next value, f of the way.
func bracket(list []float64, x float64) (i int, f float64) {
	i = sort.Search(len(list), func(k int) bool { return list[k] > x }) - 1
	if i < 0 {
		return 0, 0
	}
	if i >= len(list)-1 {
		return len(list) - 1, 0
	}
	return i, (x - list[i]) / (list[i+1] - list[i])
}

// Peak gives the largest stored intensity in candelas and its direction in the angles of Candela; the first one where
// several are equal. ok is false without a distribution.
func (w *Web) Peak() (candela, thetaDeg, phiDeg float64, ok bool) {
	if w.empty() {
		return 0, 0, 0, false
	}
	j, i := w.peakAt()
	candela = w.cd[j*len(w.v)+i]
	v, h := w.v[i], w.h[j]
	if w.plane == typeC {
		return candela, v, h, true
	}
	sinV, cosV := math.Sincos(v * degree)
	sinH, cosH := math.Sincos(h * degree)
	forward, right, up := cosV*cosH, cosV*sinH, sinV
	if w.plane == typeB {
		right, up = sinH, cosH*sinV
	}
	return candela, math.Atan2(math.Hypot(right, up), forward) / degree, math.Atan2(up, right) / degree, true
}

func (w *Web) peakAt() (plane, i int) {
	best := 0
	for k, cd := range w.cd {
		if cd > w.cd[best] {
			best = k
		}
	}
	return best / len(w.v), best % len(w.v)
}

// maxStep is the largest gap between listed angles.
func maxStep(angles []float64) float64 {
	step := 0.0
	for i := 1; i < len(angles); i++ {
		step = math.Max(step, angles[i]-angles[i-1])
	}
	return step
}

// mirrored gives the planes of the other half circle first, for a list stored as C 270 (-90) to C 90: I(c) = I(180-c)
// turns it into the 90..270 half that crosswise expects.
func mirrored(h, cd []float64, perPlane int) (turnedH, turnedCd []float64) {
	for j := len(h) - 1; j >= 0; j-- {
		turnedH = append(turnedH, 180-h[j])
		turnedCd = append(turnedCd, cd[j*perPlane:(j+1)*perPlane]...)
	}
	return turnedH, turnedCd
}

// circle lists the azimuth and stored plane of every plane of the full circle, ascending, without repeats.
func (w *Web) circle() []circlePlane {
	var all []circlePlane
	add := func(azimuth float64, plane int) {
		all = append(all, circlePlane{turn(azimuth), plane})
	}
	for j, h := range w.h {
		add(h, j)
		switch w.mirror {
		case bilateral:
			add(360-h, j)
		case crosswise:
			add(180-h, j)
		case quadrant:
			add(180-h, j)
			add(180+h, j)
			add(360-h, j)
		}
	}
	slices.SortStableFunc(all, func(a, b circlePlane) int {
		return cmp.Or(cmp.Compare(a.azimuth, b.azimuth), cmp.Compare(a.plane, b.plane))
	})
	return slices.CompactFunc(all, func(a, b circlePlane) bool { return a.azimuth == b.azimuth })
}

type circlePlane struct {
	azimuth float64
	plane   int
}
