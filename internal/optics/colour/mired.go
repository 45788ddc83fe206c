package colour

// Mired returns the reciprocal colour temperature 1e6/T, in mired, of T kelvin.
// ok is false unless T is positive and finite.
func Mired(T float64) (mired float64, ok bool) {
	if !(T > 0) || !finite(T, 1e6/T) {
		return 0, false
	}
	return 1e6 / T, true
}

// MiredShift returns the shift 1e6/to - 1e6/from, in mired, that takes a light
// of one colour temperature (kelvin) to another. Positive shifts warm. ok is
// false unless both temperatures are positive and finite.
func MiredShift(from, to float64) (shift float64, ok bool) {
	a, okA := Mired(from)
	b, okB := Mired(to)
	if !okA || !okB {
		return 0, false
	}
	return b - a, true
}
