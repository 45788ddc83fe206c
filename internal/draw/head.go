package draw

import (
	"math"
	"sync"

	"github.com/cueproof/cueproof/internal/scene"
)

// The head is one invented surface, no person's: a front half of an ellipsoid with brow,
// eyes, nose, cheeks, lips and chin. x runs to the right of who looks at it, y up, z to
// them; half its width is headX, half its height 1.
const (
	headX = 0.71
	headZ = 0.86
)

func bump(x, y, cx, cy, rx, ry float64) float64 {
	dx, dy := (x-cx)/rx, (y-cy)/ry
	return math.Exp(-dx*dx - dy*dy)
}

// halfWidth is half the width of the head at a height: narrower towards the chin.
func halfWidth(y float64) float64 {
	round := math.Sqrt(max(0, 1-y*y))
	jaw := 1.0
	if y < 0.05 {
		t := min(1, (0.05-y)/0.95)
		jaw = 1 - 0.2*t*t*(3-2*t)
	}
	return headX * math.Pow(round, 0.86) * jaw
}

// surface is how far the head stands out at a point; below 0 there is none.
func surface(x, y float64) float64 {
	half := halfWidth(y)
	if math.Abs(x) >= half || half == 0 {
		return -1
	}
	z := headZ * math.Pow(1-(x/half)*(x/half), 0.46) * math.Pow(max(0, 1-y*y), 0.36)
	side := math.Abs(x)
	// Nose: a ridge that rises to its tip, with two wings.
	rise := 0.0
	switch {
	case y > -0.2 && y < 0.3:
		rise = (0.3 - y) / 0.5
		rise = 0.06 + 0.22*rise*rise
	case y <= -0.2 && y > -0.33:
		t := (y + 0.33) / 0.13
		rise = 0.28 * t * t * (3 - 2*t)
	case y >= 0.3 && y < 0.42:
		rise = 0.06 * (0.42 - y) / 0.12
	}
	z += rise * math.Exp(-(x/0.125)*(x/0.125))
	z += 0.075 * bump(side, y, 0.125, -0.2, 0.065, 0.07)
	z -= 0.115*bump(side, y, 0.3, 0.2, 0.15, 0.1) - 0.075*bump(side, y, 0.3, 0.185, 0.1, 0.06) // eye
	z += 0.05 * bump(side, y, 0.27, 0.36, 0.26, 0.07)                                          // brow
	z += 0.06 * bump(side, y, 0.42, -0.08, 0.17, 0.15)                                         // cheek
	z -= 0.03 * bump(side, y, 0.36, -0.42, 0.12, 0.16)                                         // hollow
	z += 0.085*bump(x, y, 0, -0.455, 0.2, 0.05) + 0.09*bump(x, y, 0, -0.555, 0.17, 0.055)      // lips
	z -= 0.05*bump(x, y, 0, -0.505, 0.22, 0.02) + 0.05*bump(x, y, 0, -0.66, 0.16, 0.05)        // between, and under them
	z += 0.09 * bump(x, y, 0, -0.8, 0.2, 0.12)                                                 // chin
	return z
}

// The head is kept as a table of heights.
const (
	tableX, tableY = 121, 161
	tableW, tableH = 0.8, 1.02 // half of what it covers
)

var heights = sync.OnceValue(func() []float64 {
	list := make([]float64, tableX*tableY)
	for j := range tableY {
		for i := range tableX {
			list[j*tableX+i] = surface(tableW*(2*float64(i)/(tableX-1)-1), tableH*(1-2*float64(j)/(tableY-1)))
		}
	}
	return list
})

// height reads the table between its points.
func height(table []float64, x, y float64) float64 {
	fi, fj := (x/tableW+1)/2*(tableX-1), (1-y/tableH)/2*(tableY-1)
	i, j := int(math.Floor(fi)), int(math.Floor(fj))
	if i < 0 || j < 0 || i >= tableX-1 || j >= tableY-1 {
		return -1
	}
	fi, fj = fi-float64(i), fj-float64(j)
	at := func(i, j int) float64 { return table[j*tableX+i] }
	a, b, c, d := at(i, j), at(i+1, j), at(i, j+1), at(i+1, j+1)
	if a < 0 || b < 0 || c < 0 || d < 0 {
		return max(a, b, c, d)
	}
	return (a*(1-fi)+b*fi)*(1-fj) + (c*(1-fi)+d*fi)*fj
}

// The grid on which a face is lit.
const (
	litX, litY     = 41, 51
	spanX, spanY   = 0.8, 1.06 // half of what it covers, in the picture
	mostTurned     = 40.0      // degrees that a head is turned at most; beyond, its side would be hair
	bounce         = 0.14      // of the light on a face that comes back to it from all sides. Common practice, no source
	leastObliquity = 0.08      // cosine under which light grazes the plane of the face
)

// litFace is the light on a head, point by point of the grid; NaN beside it.
type litFace struct {
	y    []float64   // lux of luminance
	rgb  []scene.RGB // the same with its colour
	mask []float64   // above zero on the head
}

// light lights the head by a face's rays, with the shadows that it throws on itself.
func light(f *scene.Face) litFace {
	table := heights()
	l := litFace{make([]float64, litX*litY), make([]scene.RGB, litX*litY), make([]float64, litX*litY)}
	type lamp struct {
		x, y, z, lux float64
		rgb          scene.RGB
	}
	var lamps []lamp
	var mean scene.RGB
	total := 0.0
	for _, r := range f.Rays {
		sin, cos := math.Sincos(r.AzimuthDeg * math.Pi / 180)
		up, level := math.Sincos(r.Elevation * math.Pi / 180)
		d := lamp{x: sin * level, y: up, z: cos * level, rgb: r.Light}
		d.lux = r.Lux / max(leastObliquity, d.z)
		lamps = append(lamps, d)
		total += r.Lux
		for k := range mean {
			mean[k] += r.Lux * r.Light[k]
		}
	}
	all := f.Ambient + bounce*total
	if total > 0 {
		for k := range mean {
			mean[k] /= total
		}
	} else {
		mean = scene.RGB{1, 1, 1}
	}
	yaw := max(-mostTurned, min(mostTurned, f.YawDeg)) * math.Pi / 180
	for j := range litY {
		v := spanY * (1 - 2*float64(j)/(litY-1))
		for i := range litX {
			u := spanX * (2*float64(i)/(litX-1) - 1)
			n := j*litX + i
			x, z := unturn(table, u, v, yaw)
			y := v
			l.mask[n] = halfWidth(v) - math.Abs(x)
			for back := 0.97; z < 0 && back > 0.85; back -= 0.03 { // beside the head its light goes on as at its edge
				x, y = x*back, v*back
				z = height(table, x, y)
			}
			if z < 0 {
				l.y[n] = math.NaN()
				continue
			}
			v := y
			const d = 0.022
			left, right, below, above := height(table, x-d, v), height(table, x+d, v), height(table, x, v-d), height(table, x, v+d)
			if left < 0 {
				left = z - 0.06
			}
			if right < 0 {
				right = z - 0.06
			}
			if below < 0 {
				below = z - 0.06
			}
			if above < 0 {
				above = z - 0.06
			}
			nx, ny, nz := (left-right)/(2*d), (below-above)/(2*d), 1.0
			long := math.Sqrt(nx*nx + ny*ny + 1)
			nx, ny, nz = nx/long, ny/long, nz/long
			open := all * (0.72 + 0.28*nz) // less reaches what is turned away
			rgb := scene.RGB{open * mean[0], open * mean[1], open * mean[2]}
			sum := open
			for _, lamp := range lamps {
				cos := nx*lamp.x + ny*lamp.y + nz*lamp.z
				if cos <= 0 {
					continue
				}
				lux := lamp.lux * cos * (1 - shadow(table, x, v, z, lamp.x, lamp.y, lamp.z))
				sum += lux
				for k := range rgb {
					rgb[k] += lux * lamp.rgb[k]
				}
			}
			l.y[n], l.rgb[n] = sum, rgb
		}
	}
	return l
}

// unturn finds the point of the head that stands at a point of the picture, when the
// head is turned.
func unturn(table []float64, u, v, yaw float64) (x, z float64) {
	sin, cos := math.Sincos(yaw)
	x = u / cos
	for range 14 {
		if z = height(table, x, v); z < 0 {
			z = 0
		}
		x += 0.7 * ((u-z*sin)/cos - x)
	}
	return x, height(table, x, v)
}

// shadow is how much of a lamp's light the head itself takes from a point, 0 to 1, with
// a soft edge, as lamps with an opening have.
func shadow(table []float64, x, y, z, lx, ly, lz float64) float64 {
	most := 0.0
	for t := 0.05; t < 0.9; t += 0.06 {
		h := height(table, x+t*lx, y+t*ly)
		if h < 0 {
			break
		}
		most = max(most, (h-z-t*lz-0.015)/0.05)
	}
	return min(1, most)
}
