package colour

// hueFamilies are plain words for OKLCh hue, each with the hue in degrees where
// it begins; it ends where the next begins. The bounds are our own, set between
// the hues of colours that everyone names alike (common practice, no source):
// sRGB red 29, yellow 110, green 143, cyan 195, blue 264 and magenta 328, and
// single wavelengths as emitters have them, 660 to 620 nm 21 to 27, 600 nm 41,
// 590 nm 58, 570 nm 112, 525 nm 156, 500 nm 177, 470 nm 237, 450 nm 280 and
// 430 to 400 nm 294 to 298. "Amber" is the emitter's word: it begins below the
// 590 nm that the trade sells under it and so takes in what a web palette calls
// orange (#ffa500, 71). Each is tested.
var hueFamilies = []struct {
	from float64
	name string
}{
	{14, "red"},
	{37, "orange"},
	{55, "amber"},
	{90, "yellow"},
	{120, "green"},
	{170, "cyan"},
	{220, "blue"},
	{287, "violet"},
	{312, "magenta"},
	{342, "pink"}, // over 0, up to red
}

// HueFamily returns the plain word for an OKLCh hue in degrees, taken modulo
// 360: red, orange, amber, yellow, green, cyan, blue, violet, magenta or pink.
// White is not among them; whether a light is white is for HueLimits.White. ok
// is false for a hue that is not finite.
func HueFamily(hue float64) (name string, ok bool) {
	if !finite(hue) {
		return "", false
	}
	hue = wrapDegrees(hue)
	name = hueFamilies[len(hueFamilies)-1].name
	for _, family := range hueFamilies {
		if hue >= family.from {
			name = family.name
		}
	}
	return name, true
}
