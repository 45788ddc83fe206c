package photometry

import "math"

// Banding of pulse-width dimming on camera. Derived from geometry; no published standard for a least PWM frequency on
// camera is known. Assumptions: light that is fully on for a part D of each period and fully off for the rest; a shutter
// that opens and closes at once for T seconds, alike for every line (a global shutter, or one line of a rolling shutter);
// frames or lines that fall at any phase of the light; no other light. Other light on the same thing makes bands weaker
// in proportion.

// BandDepth is the light of the brightest exposure less that of the darkest, over the mean, for square-wave PWM of
// frequency f in Hz and duty D, seen for T seconds:
//
//	x = f T, n = floor(x), r = x - n, p = min(r, D) - max(0, r + D - 1), depth = p/(x D)
//
// It is 0 when f T is whole, and can be above 1 when the shutter is open for less than a period. ok is false unless f and
// T are above 0 and 0 < D <= 1.
func BandDepth(frequencyHz, shutterSeconds, duty float64) (depth float64, ok bool) {
	x, r, ok := periods(frequencyHz, shutterSeconds)
	if !ok || !(duty > 0 && duty <= 1) {
		return 0, false
	}
	p := math.Min(r, duty) - math.Max(0, r-(1-duty))
	return result(math.Max(0, p) / (x * duty))
}

// periods gives how many PWM periods the shutter sees and the broken part of the last one.
func periods(frequencyHz, shutterSeconds float64) (x, r float64, ok bool) {
	x = frequencyHz * shutterSeconds
	if !(frequencyHz > 0) || !(shutterSeconds > 0) || !(x > 0) || !finite(x) {
		return 0, 0, false
	}
	// 600 Hz for 1/50 s is 12 periods, though not in binary; nothing real is on frequency to a part in 10^12 either.
	const rounding = 1e-12
	if whole := math.Round(x); math.Abs(x-whole) <= rounding*whole {
		return x, 0, true
	}
	return x, x - math.Floor(x), true
}
