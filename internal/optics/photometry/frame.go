package photometry

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Frame is where a fixture hangs and how it is turned: three unit vectors, at right angles, as seen by someone behind the
// fixture who looks along the beam. Right x Up points back at that person.
type Frame struct {
	Position           Vec
	Forward, Right, Up Vec
}

// AimAt is the frame of a fixture that points at a target. With rollDeg 0 its right is level; positive roll turns the
// picture counter-clockwise as seen looking along the beam. A fixture that points straight down has x to its right and
// upstage at its top; straight up, x to its right and downstage at its top.
// Error: the fixture is at its own target, or a value is not a plain number.
func AimAt(position, target Vec, rollDeg float64) (Frame, error) {
	if !finiteVec(position) || !finiteVec(target) {
		return Frame{}, errors.New("fixture position and target must be plain numbers")
	}
	if position == target {
		return Frame{}, errors.New("the fixture hangs at the very point it is aimed at, so it points nowhere")
	}
	return AimAlong(position, r3.Sub(target, position), rollDeg)
}

// AimAlong is AimAt with a direction of any length above 0 in place of the target.
func AimAlong(position, direction Vec, rollDeg float64) (Frame, error) {
	forward, ok := unit(direction)
	if !ok || !finiteVec(position) || !finite(rollDeg) {
		return Frame{}, errors.New("fixture position, direction and roll must be plain numbers, and the direction not zero")
	}
	right := Vec{X: 1}
	if level := math.Hypot(forward.X, forward.Y); level > 1e-9 { // nearer to the vertical, rounding would choose
		right = Vec{X: forward.Y / level, Y: -forward.X / level}
	}
	up := r3.Cross(right, forward)
	sin, cos := math.Sincos(rollDeg * degree)
	return Frame{
		Position: position,
		Forward:  forward,
		Right:    r3.Add(r3.Scale(cos, right), r3.Scale(sin, up)),
		Up:       r3.Sub(r3.Scale(cos, up), r3.Scale(sin, right)),
	}, nil
}

// Direction gives a point in the angles of Distribution.Candela and how far away it is in metres. ok is false for a point
// at the fixture itself, one too near or too far for its distance to be squared, or one that is not finite.
func (f Frame) Direction(p Vec) (thetaDeg, phiDeg, distance float64, ok bool) {
	d := r3.Sub(p, f.Position)
	square := r3.Norm2(d)
	if !(square > 0) || math.IsInf(square, 0) || f.Forward == (Vec{}) {
		return 0, 0, 0, false
	}
	x, y, z := r3.Dot(d, f.Right), r3.Dot(d, f.Up), r3.Dot(d, f.Forward)
	return math.Atan2(math.Sqrt(x*x+y*y), z) / degree, math.Atan2(y, x) / degree, math.Sqrt(square), true
}
