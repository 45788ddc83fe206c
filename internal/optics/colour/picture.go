package colour

import "math"

// CameraPicture is a picture as a camera takes it: by the white that it is set to and the light
// that it is set for. Its primaries are those of ITU-R BT.709-6, table 1 (the same as in
// sRGB); a white balance is a gain for each of them, and what is beyond 0 or 1 is clipped.
// Real cameras have colours of their own and bend the top of their curve; the curve itself
// is undone by the screen, so linear light is compared.
type CameraPicture struct{ gain RGB }

// Expose returns the picture of a camera that is set to a white, of any luminance. ok is
// false for a white that BT.709 cannot show.
func Expose(white XY) (e CameraPicture, ok bool) {
	xyz, ok := white.XYZ(1)
	if !ok {
		return CameraPicture{}, false
	}
	rgb, ok := xyz.LinearSRGB()
	if !ok || !(rgb.R > 0 && rgb.G > 0 && rgb.B > 0) {
		return CameraPicture{}, false
	}
	return CameraPicture{RGB{1 / rgb.R, 1 / rgb.G, 1 / rgb.B}}, true
}

// Lab is what the picture shows of a light, in CIELAB against its own white (D65): c.Y is
// 1 for what a white sheet gives back in the light that the camera is set for. ok is false
// for a light that is none.
func (e CameraPicture) Lab(c XYZ) (lab Lab, ok bool) {
	rgb, ok := c.LinearSRGB()
	if !ok || !c.light() {
		return Lab{}, false
	}
	clip := func(v float64) float64 { return math.Min(1, math.Max(0, v)) }
	shown := RGB{clip(e.gain.R * rgb.R), clip(e.gain.G * rgb.G), clip(e.gain.B * rgb.B)}
	return shown.XYZ().Lab(RGB{1, 1, 1}.XYZ())
}
