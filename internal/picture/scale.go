package picture

import (
	"math"
	"strconv"
	"strings"
)

// Scale lays a range of numbers over a stretch of a picture.
type Scale struct{ From, To, A, B float64 }

// At is where a number stands. What is beyond the range stands at its end. A range of
// no width has all its numbers at its beginning.
func (s Scale) At(v float64) float64 {
	if s.To == s.From || !drawable(s.From, s.To) || math.IsNaN(v) {
		return s.A
	}
	v = max(min(s.From, s.To), min(max(s.From, s.To), v))
	return s.A + (v-s.From)/(s.To-s.From)*(s.B-s.A)
}

// Within reports whether a number lies in the range.
func (s Scale) Within(v float64) bool { return v >= min(s.From, s.To) && v <= max(s.From, s.To) }

// mostTicks bounds the ticks of an axis whatever its range.
const mostTicks = 40

// Ticks are round numbers over the range: steps of 1, 2 or 5 times a power of ten, at
// most so many.
func (s Scale) Ticks(most int) []float64 {
	low, high := min(s.From, s.To), max(s.From, s.To)
	most = max(1, min(most, mostTicks))
	if !drawable(low, high) || !(high > low) {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, times := range []float64{1, 2, 5, 10} {
		if math.Floor(high/(step*times))-math.Ceil(low/(step*times))+1 <= float64(most) {
			step *= times
			break
		}
	}
	var list []float64
	for k := math.Ceil(low / step); k*step <= high+step*1e-9 && len(list) < most; k++ {
		list = append(list, max(low, min(high, k*step))+0)
	}
	return list
}

// Kelvin writes a colour temperature to the ten that a meter shows.
func Kelvin(k float64) string { return Say(math.Round(k/10)*10, 0) }

// Say writes a number of a tick, or another, as people do: with a real minus.
func Say(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "?"
	}
	power := math.Pow(10, float64(digits))
	text := strconv.FormatFloat(math.Round(v*power)/power+0, 'f', -1, 64)
	if text[0] == '-' {
		return "−" + text[1:]
	}
	return text
}

// Signed is [Say] with a plus before what is more than nothing.
func Signed(v float64, digits int) string {
	text := Say(v, digits)
	if text == "0" || strings.ContainsAny(text, "−?") {
		return text
	}
	return "+" + text
}
