package flash

import "math"

// Criterion says which change of luminance counts. Use [WCAG22] or [BT1702]; the zero value is refused.
type Criterion struct {
	// rise gives the least luminance that counts as a change up from a darker one. It never falls
	// as its argument rises: that is what makes picking changes greedily the best one can do.
	rise func(darker float64) float64
	// fall gives the highest luminance that counts as a change down from a brighter one: the inverse of rise.
	fall func(brighter float64) float64
}

// counts says whether the two luminances are far enough apart.
func (c Criterion) counts(darker, brighter float64) bool {
	return darker < brighter && brighter >= c.rise(darker)
}

// changeSlack, as a part of the least change, lets decimal numbers that differ by exactly that
// change count as they should: 0.15 - 0.05 is a little under 0.10 in binary.
const changeSlack = 1e-9

// WCAG 2.2, definition of "general flash and red flash thresholds" [verified]: each change is at
// least 10 % of the maximum relative luminance (1.0), and the darker state is below 0.80.
const (
	wcagChange = 0.10 * (1 - changeSlack)
	wcagDarker = 0.80
)

// WCAG22 is the general flash of the Web Content Accessibility Guidelines 2.2, for relative luminance.
// Values above 1 (brighter than the reference white) are accepted.
var WCAG22 = Criterion{
	rise: func(darker float64) float64 {
		if darker >= wcagDarker {
			return math.Inf(1)
		}
		return darker + wcagChange
	},
	fall: func(brighter float64) float64 {
		return math.Min(brighter-wcagChange, math.Nextafter(wcagDarker, 0))
	},
}

// ITU-R BT.1702: opposing changes of 20 cd/m² or more with the darker image below 160 cd/m²
// [verified, second-hand]. With the darker image at 160 cd/m² or above (the revision for high
// dynamic range), a Michelson contrast of 1/17 or more [from memory]. The two meet: 20/(160+180) = 1/17.
const (
	btChange    = 20 * (1 - changeSlack)
	btDarker    = 160.0
	btMichelson = 1.0 / 17
	// btRatio is brighter/darker at that Michelson contrast, (1+m)/(1-m) = 9/8.
	btRatio = 1 + ((1+btMichelson)/(1-btMichelson)-1)*(1-changeSlack)
)

// BT1702 is the luminance flash of ITU-R BT.1702, for luminance in cd/m².
var BT1702 = Criterion{
	rise: func(darker float64) float64 {
		if darker < btDarker {
			return darker + btChange
		}
		return darker * btRatio
	},
	fall: func(brighter float64) float64 {
		return math.Min(brighter-btChange, math.Max(brighter/btRatio, math.Nextafter(btDarker, 0)))
	},
}
