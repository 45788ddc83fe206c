package colour

import (
	"errors"
	"math"
)

// RGB is a colour in linear-light sRGB: 0 to 1 inside the gamut, beyond it
// outside.
type RGB struct{ R, G, B float64 }

// IEC 61966-2-1:1999: linear sRGB to XYZ (D65, white Y = 1), the standard's
// four decimals. The standard prints a rounded inverse too; ours is computed.
var (
	srgbToXYZ = matrix{
		{0.4124, 0.3576, 0.1805},
		{0.2126, 0.7152, 0.0722},
		{0.0193, 0.1192, 0.9505},
	}
	xyzToSRGB = srgbToXYZ.inverse()
)

// LinearSRGB returns c in linear sRGB. Values below 0 or above 1 are outside
// the gamut and are not clipped. ok is false for parts that are not finite.
func (c XYZ) LinearSRGB() (rgb RGB, ok bool) {
	rgb.R, rgb.G, rgb.B = xyzToSRGB.times(c.X, c.Y, c.Z)
	if !finite(rgb.R, rgb.G, rgb.B) {
		return RGB{}, false
	}
	return rgb, true
}

// Channel is the largest of the red, green and blue parts of c in linear sRGB, whose
// primaries are those of ITU-R BT.709: what the most exposed channel of a camera has, where
// D65 has as much in each as its Y. A saturated blue has nearly fourteen times its Y. It is 0
// for no light and for parts that are not finite.
func (c XYZ) Channel() float64 {
	rgb, ok := c.LinearSRGB()
	if !ok {
		return 0
	}
	return math.Max(0, math.Max(rgb.R, math.Max(rgb.G, rgb.B)))
}

// XYZ returns the tristimulus values of linear sRGB, white having Y = 1.
func (c RGB) XYZ() XYZ {
	x, y, z := srgbToXYZ.times(c.R, c.G, c.B)
	return XYZ{x, y, z}
}

// decodeSRGB undoes the transfer function of IEC 61966-2-1 for a value from 0
// to 1.
func decodeSRGB(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

var errHex = errors.New("a colour is # and six hexadecimal digits, such as #1a2b3c")

// ParseHex returns the linear sRGB values of "#rrggbb", in either case. Nothing
// else is accepted, no spaces and no short form.
func ParseHex(s string) (RGB, error) {
	if len(s) != 7 || s[0] != '#' {
		return RGB{}, errHex
	}
	var bytes [3]float64
	for i, digit := range []byte(s[1:]) {
		var v byte
		switch {
		case digit >= '0' && digit <= '9':
			v = digit - '0'
		case digit >= 'a' && digit <= 'f':
			v = digit - 'a' + 10
		case digit >= 'A' && digit <= 'F':
			v = digit - 'A' + 10
		default:
			return RGB{}, errHex
		}
		bytes[i/2] = bytes[i/2]*16 + float64(v)
	}
	return RGB{decodeSRGB(bytes[0] / 255), decodeSRGB(bytes[1] / 255), decodeSRGB(bytes[2] / 255)}, nil
}

// HexXYZ returns the tristimulus values of "#rrggbb", white having Y = 1.
func HexXYZ(s string) (XYZ, error) {
	rgb, err := ParseHex(s)
	if err != nil {
		return XYZ{}, err
	}
	return rgb.XYZ(), nil
}
