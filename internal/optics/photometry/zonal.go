package photometry

import "math"

// FluxBetween is the flux in lumens of a type C distribution between two angles from the beam axis, 0 <= from <= to <=
// 180 degrees. Method (zonal lumens, with the mean candela of neighbouring angles):
//
//	flux = sum over planes p of dphi_p * sum over i of (I_i + I_i+1)/2 * (cos V_i - cos V_i+1)
//
// where dphi_p is half the gap to both neighbouring planes of the full circle. A limit within a step cuts it there. With
// steps over 10 degrees no more than two digits mean anything. ok is false for limits outside the domain, and for types A
// and B, whose grid is not polar about the beam.
func (w *Web) FluxBetween(fromDeg, toDeg float64) (lumens float64, ok bool) {
	if !(fromDeg >= 0 && fromDeg <= toDeg && toDeg <= 180) || w.empty() || w.plane != typeC {
		return 0, false
	}
	circle := w.circle()
	for k, p := range circle {
		before := circle[(k+len(circle)-1)%len(circle)].azimuth
		after := circle[(k+1)%len(circle)].azimuth
		if k == 0 {
			before -= 360
		}
		if k == len(circle)-1 {
			after += 360
		}
		lumens += (after - before) / 2 * degree * w.planeSum(p.plane, fromDeg, toDeg)
	}
	return result(lumens)
}

// planeSum is the inner sum for one stored plane between two V angles: lumens per radian of azimuth.
func (w *Web) planeSum(plane int, from, to float64) float64 {
	sum := 0.0
	for i := 0; i+1 < len(w.v); i++ {
		a, b := math.Max(w.v[i], from), math.Min(w.v[i+1], to)
		if !(a < b) {
			continue
		}
		width := w.v[i+1] - w.v[i]
		ia := w.along(plane, i, (a-w.v[i])/width)
		ib := w.along(plane, i, (b-w.v[i])/width)
		sum += (ia + ib) / 2 * (math.Cos(a*degree) - math.Cos(b*degree))
	}
	return sum
}

// total is the flux of the whole grid. For types A and B each cell has the mean of its corners times its solid angle:
// (sin V2 - sin V1) dH for type A, (sin H2 - sin H1) dV for type B; a mirrored half counts twice.
func (w *Web) total() float64 {
	if w.plane == typeC {
		lumens, ok := w.FluxBetween(0, 180)
		if !ok {
			return math.Inf(1) // only from overflow; the readers refuse such a file
		}
		return lumens
	}
	sum := 0.0
	for j := 0; j+1 < len(w.h); j++ {
		for i := 0; i+1 < len(w.v); i++ {
			mean := (w.along(j, i, 0) + w.along(j, i+1, 0) + w.along(j+1, i, 0) + w.along(j+1, i+1, 0)) / 4
			if w.plane == typeA {
				sum += mean * (math.Sin(w.v[i+1]*degree) - math.Sin(w.v[i]*degree)) * (w.h[j+1] - w.h[j]) * degree
			} else {
				sum += mean * (math.Sin(w.h[j+1]*degree) - math.Sin(w.h[j]*degree)) * (w.v[i+1] - w.v[i]) * degree
			}
		}
	}
	if w.mirror == aboutZero {
		sum *= 2
	}
	return sum
}
