package picture

import (
	"cmp"
	"math"
	"slices"
)

// Field is a grid of numbers over a stretch: NX times NY points, row by row.
type Field struct {
	NX, NY int
	At     []float64
	Loose  float64 // how far a point may lie off a straight line to be left out, in steps of the grid; 0 for the usual
}

// Above is the outline of where a field is above a level, as closed ways through the
// grid (marching squares, with the crossings where a straight line between two points
// puts them). Outside of the grid it is below. place turns a point of the grid into
// one of the picture.
func (f Field) Above(level float64, place func(i, j float64) (x, y float64)) *Path {
	path := Coarse()
	for _, loop := range f.loops(level) {
		if len(loop) < 3 || extent(loop) < speck {
			continue
		}
		for k, point := range f.thin(loop) {
			x, y := place(point[0], point[1])
			if k == 0 {
				path.Move(x, y)
			} else {
				path.Line(x, y)
			}
		}
		path.Close()
	}
	return path
}

// Lines are the same outlines without what runs along the edge of the grid, as open
// ways: for a line that says where a number is reached. loops are their points, each from
// the highest on, the longest loop first.
func (f Field) Lines(level float64, place func(i, j float64) (x, y float64)) (path *Path, loops [][][2]float64) {
	path = Coarse()
	for _, loop := range f.loops(level) {
		if extent(loop) < speck {
			continue
		}
		pen, top := false, 0
		var points [][2]float64
		for _, point := range f.thin(loop) {
			if point[0] < 0 || point[1] < 0 || point[0] > float64(f.NX-1) || point[1] > float64(f.NY-1) {
				pen = false
				continue
			}
			x, y := place(point[0], point[1])
			x, y = steady(x), steady(y)
			if pen {
				path.Line(x, y)
			} else {
				path.Move(x, y)
			}
			pen = true
			if points = append(points, [2]float64{x, y}); y < points[top][1] {
				top = len(points) - 1
			}
		}
		if len(points) > 5 {
			loops = append(loops, slices.Concat(points[top:], points[:top]))
		}
	}
	slices.SortStableFunc(loops, func(a, b [][2]float64) int { return len(b) - len(a) })
	return path, loops
}

// steady makes a length the same on processors that differ in its last bits, so that of two
// that are equal no other is taken first.
func steady(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// speck is what an outline has to enclose to be drawn, in cells of the grid.
const speck = 2.5

// extent is what an outline encloses, in cells.
func extent(loop [][2]float64) float64 {
	sum := 0.0
	for k, a := range loop {
		b := loop[(k+1)%len(loop)]
		sum += a[0]*b[1] - b[0]*a[1]
	}
	return math.Abs(sum) / 2
}

func (f Field) value(i, j int) float64 {
	if i < 0 || j < 0 || i >= f.NX || j >= f.NY {
		return math.Inf(-1)
	}
	if v := f.At[j*f.NX+i]; !math.IsNaN(v) {
		return v
	}
	return math.Inf(-1)
}

// loops follows the outline from cell to cell, each with what is above on its left.
func (f Field) loops(level float64) [][][2]float64 {
	if f.NX < 2 || f.NY < 2 || len(f.At) != f.NX*f.NY {
		return nil
	}
	type edge struct {
		i, j int
		down bool // from a point to the one below it; else to the one beside it
	}
	above := func(i, j int) bool { return f.value(i, j) > level }
	next := map[edge]edge{}
	var order []edge
	for j := -1; j < f.NY; j++ {
		for i := -1; i < f.NX; i++ {
			var corners [4]bool
			corners[0], corners[1], corners[2], corners[3] = above(i, j), above(i+1, j), above(i+1, j+1), above(i, j+1)
			sides := [4]edge{{i, j, false}, {i + 1, j, true}, {i, j + 1, false}, {i, j, true}} // top, right, bottom, left
			// Round the cell, an outline comes in where above turns to below and goes out where
			// below turns to above.
			var ins, outs []int
			for k := range 4 {
				a, b := corners[k], corners[(k+1)%4]
				switch {
				case a && !b:
					ins = append(ins, k)
				case !a && b:
					outs = append(outs, k)
				}
			}
			for _, in := range ins {
				next[sides[in]] = sides[pairOf(in, outs)]
				order = append(order, sides[in])
			}
		}
	}
	crossing := func(e edge) [2]float64 {
		i2, j2 := e.i+1, e.j
		if e.down {
			i2, j2 = e.i, e.j+1
		}
		a, b := f.value(e.i, e.j), f.value(i2, j2)
		part := 0.5
		switch {
		case math.IsInf(a, -1) && !math.IsInf(b, -1):
			part = 0.75
		case math.IsInf(b, -1) && !math.IsInf(a, -1):
			part = 0.25
		case a != b:
			part = (level - a) / (b - a)
		}
		return [2]float64{steady(float64(e.i) + part*float64(i2-e.i)), steady(float64(e.j) + part*float64(j2-e.j))}
	}
	var loops [][][2]float64
	seen := map[edge]bool{}
	for _, start := range order {
		if seen[start] {
			continue
		}
		var loop [][2]float64
		for at := start; !seen[at]; {
			seen[at] = true
			loop = append(loop, crossing(at))
			to, ok := next[at]
			if !ok {
				break
			}
			at = to
		}
		loops = append(loops, loop)
	}
	return loops
}

// pairOf is the way out of a cell that is next after a way in, going round: so two
// parts above that touch in a corner are joined.
func pairOf(in int, outs []int) int {
	return slices.MinFunc(outs, func(a, b int) int { return cmp.Compare((a-in)&3, (b-in)&3) })
}

// thinness is how far a point may lie off a straight line to be left out, in steps of
// the grid, where nothing is said.
const thinness = 0.16

// thin is [Thin] for an outline, which ends where it began.
func (f Field) thin(points [][2]float64) [][2]float64 {
	if len(points) < 4 {
		return points
	}
	loose := f.Loose
	if loose == 0 {
		loose = thinness
	}
	half := len(points) / 2
	first, second := Thin(points[:half+1], loose), Thin(append(append([][2]float64{}, points[half:]...), points[0]), loose)
	return append(first, second[1:]...)
}

// Thin leaves out the points of a way that lie no farther than loose off a straight line
// between those that stay (Douglas and Peucker, 1973).
func Thin(points [][2]float64, loose float64) [][2]float64 {
	if len(points) < 3 {
		return points
	}
	a, b := points[0], points[len(points)-1]
	far, at := 0.0, 0
	dx, dy := b[0]-a[0], b[1]-a[1]
	long := math.Hypot(dx, dy)
	for k := 1; k < len(points)-1; k++ {
		x, y := points[k][0]-a[0], points[k][1]-a[1]
		off := math.Hypot(x, y)
		if long > 0 {
			off = math.Abs(x*dy-y*dx) / long
		}
		if off > far {
			far, at = off, k
		}
	}
	if far <= loose {
		return [][2]float64{a, b}
	}
	left, right := Thin(points[:at+1], loose), Thin(points[at:], loose)
	return append(append([][2]float64{}, left...), right[1:]...)
}
