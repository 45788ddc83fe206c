package photometry

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Vec is a position or a direction, in metres along the axes of the package comment.
type Vec = r3.Vec

const degree = math.Pi / 180

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func finiteVec(v Vec) bool { return finite(v.X, v.Y, v.Z) }

// unit gives v at length 1; ok is false for the zero vector and for anything not finite.
func unit(v Vec) (u Vec, ok bool) {
	// Divide by the largest component first: squares of very large or small components leave the range of float64.
	largest := math.Max(math.Abs(v.X), math.Max(math.Abs(v.Y), math.Abs(v.Z)))
	if !finiteVec(v) || largest == 0 {
		return Vec{}, false
	}
	v = Vec{X: v.X / largest, Y: v.Y / largest, Z: v.Z / largest}
	return r3.Scale(1/r3.Norm(v), v), true
}
