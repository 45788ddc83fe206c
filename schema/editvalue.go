package schema

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// An edit gives a field a number, a truth or a text, so that changes can be compared
// and read aloud. What a file has as a list or an object is a text there: names with
// " + " between them, "x 1, y 2, z 3" for a point, "blue 100, green 18" for a mix.

// listed stands between the items of a list.
const listed = " + "

// MixText is a mix as the value of an edit, its emitters by name.
func MixText(mix map[string]float64) string {
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(mix)) {
		parts = append(parts, name+" "+strconv.FormatFloat(mix[name], 'f', -1, 64))
	}
	return strings.Join(parts, ", ")
}

// PointText is a point as the value of an edit, in metres.
func PointText(p Point) string {
	number := func(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
	return fmt.Sprintf("x %s, y %s, z %s", number(p.X), number(p.Y), number(p.Z))
}

// AimText is an aim as the value of an edit.
func AimText(a *Aim) string {
	if a.Point != nil {
		return PointText(*a.Point)
	}
	return a.Name
}

// ListText is a list of names as the value of an edit.
func ListText(names []string) string { return strings.Join(names, listed) }

// GreyText is a neutral filter as the value of an edit, by the part of the light that it
// lets through, in percent.
func GreyText(pct float64) string { return fmt.Sprintf("grey %g %%", pct) }

func parseGrey(text string) (f Filter, ok bool) {
	number, isGrey := strings.CutPrefix(text, "grey ")
	pct, err := strconv.ParseFloat(strings.TrimSuffix(number, " %"), 64)
	if !isGrey || err != nil || !(pct > 0 && pct <= 100) {
		return f, false
	}
	part := pct / 100
	return Filter{Name: text, Transmission: &part}, true
}

func parseMix(text string) (mix map[string]float64, ok bool) {
	mix = map[string]float64{}
	for part := range strings.SplitSeq(text, ", ") {
		at := strings.LastIndexByte(part, ' ')
		if at <= 0 {
			return nil, false
		}
		share, err := strconv.ParseFloat(part[at+1:], 64)
		if err != nil || !(share >= 0 && share <= 100) {
			return nil, false
		}
		mix[part[:at]] = share
	}
	return mix, true
}

// ParsePoint reads a point as the value of an edit, in metres; ok is false if it is none.
func ParsePoint(text string) (p Point, ok bool) {
	parts := strings.Split(text, ", ")
	if len(parts) != 3 {
		return p, false
	}
	for i, to := range []*float64{&p.X, &p.Y, &p.Z} {
		number, isAxis := strings.CutPrefix(parts[i], string("xyz"[i])+" ")
		value, err := strconv.ParseFloat(number, 64)
		if !isAxis || err != nil || value-value != 0 { // as for what is endless or no number
			return p, false
		}
		*to = value
	}
	return p, true
}
