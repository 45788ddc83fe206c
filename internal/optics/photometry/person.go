package photometry

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// towards is the level direction from one point to another; ok is false when one is straight above the other.
func towards(from, to Vec) (level Vec, ok bool) {
	return unit(Vec{X: to.X - from.X, Y: to.Y - from.Y})
}

// FacePlane is the upright plane at a person's head that looks at the camera: what a key light is measured on. ok is
// false when the camera is straight above or below, or a value is not finite.
func FacePlane(head, camera Vec) (r Receiver, ok bool) {
	level, ok := towards(head, camera)
	if !ok || !finite(head.Z, camera.Z) {
		return Receiver{}, false
	}
	return Receiver{Point: head, Normal: level}, true
}

// ShoulderPlane is the plane at a person's head and shoulders that a back light is measured on: it looks away from the
// camera and up by 45 degrees (common practice, no source). ok as for FacePlane.
func ShoulderPlane(head, camera Vec) (r Receiver, ok bool) {
	face, ok := FacePlane(head, camera)
	if !ok {
		return Receiver{}, false
	}
	return Receiver{Point: head, Normal: r3.Scale(math.Sqrt2/2, r3.Sub(Vec{Z: 1}, face.Normal))}, true
}

// Bearing is where a fixture is as seen from a place that faces a camera. AzimuthDeg, over -180 to 180, is 0 for a fixture
// on the camera's side, in line with it; positive to the right as the camera sees it; 180 straight behind. ElevationDeg,
// -90 to 90, is above the level of the place. Straight above or below there is no azimuth and it reads 0.
type Bearing struct {
	AzimuthDeg, ElevationDeg float64
}

// BearingOf gives the bearing of a fixture. ok is false for a fixture at the place itself, a camera straight above it, or
// values that are not finite.
func BearingOf(fixture, place, camera Vec) (b Bearing, ok bool) {
	front, ok := towards(place, camera)
	d := r3.Sub(fixture, place)
	if !ok || !finiteVec(d) || d == (Vec{}) {
		return Bearing{}, false
	}
	// The camera looks along -front, so its right is that direction turned clockwise as seen from above.
	right := Vec{X: -front.Y, Y: front.X}
	x, y := r3.Dot(d, right), r3.Dot(d, front)
	b.ElevationDeg = math.Atan2(d.Z, math.Hypot(x, y)) / degree
	if x != 0 || y != 0 {
		b.AzimuthDeg = math.Atan2(x, y) / degree
		if b.AzimuthDeg == -180 {
			b.AzimuthDeg = 180
		}
	}
	return b, finite(b.AzimuthDeg, b.ElevationDeg)
}
