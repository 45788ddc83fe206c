package photometry

// Least contrast ratios of a projected image by what it is for, ANSI/INFOCOMM 3M-2011 (second-hand: 7 from a vendor's
// summary, 15 and 50 from the association's own calculator page; 80 from memory).
const (
	ContrastPassiveViewing    = 7
	ContrastBasicDecisions    = 15
	ContrastAnalyticDecisions = 50
	ContrastFullMotionVideo   = 80 // from memory
)

// ContrastRatio is (Lw + La)/(Lb + La): white and black luminance of the display alone and the luminance that ambient
// light adds (LambertianLuminance of the light on the screen and its gain), all in cd/m2; or all three in lux on one
// screen. Computed from photometry. ok is false for negative values, for a white below the black, and where black is no
// light at all.
func ContrastRatio(white, black, ambient float64) (ratio float64, ok bool) {
	if !(white >= black) || !(black >= 0) || !(ambient >= 0) || black+ambient == 0 {
		return 0, false
	}
	return result((white + ambient) / (black + ambient))
}

// ProjectorWhite is the white of a projected image: flux over area as illuminance in lux, and times gain over pi as
// luminance in cd/m2. ok is false unless flux, width and height (m) and gain are above 0.
func ProjectorWhite(lumens, width, height, gain float64) (lux, nits float64, ok bool) {
	if !(lumens > 0) || !(width > 0) || !(height > 0) || !(gain > 0) {
		return 0, 0, false
	}
	lux, ok = positive(lumens / (width * height))
	if !ok {
		return 0, 0, false
	}
	nits, ok = LambertianLuminance(lux, gain)
	if !ok {
		return 0, 0, false
	}
	return lux, nits, true
}
