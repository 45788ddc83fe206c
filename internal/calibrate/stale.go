package calibrate

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// changed is the part of its light, or of its kelvins, by which what is worked out for a
// reading has to change for the reading to be one of another light (common practice, no
// source: no meter shows less).
const changed = 0.01

// Stale returns the readings of a show that were taken in a light which a changed copy no
// longer has, as its own worked-out lux and kelvins say. A reading for which nothing could be
// worked out before is none of them.
func Stale(before, after *schema.Show) (stale []*schema.Reading) {
	if before == nil || after == nil || before.Room == nil || after.Room == nil || len(before.Readings) == 0 || len(before.Readings) > mostReadings {
		return nil
	}
	was, wasWhite := workedOut(before)
	is, isWhite := workedOut(after)
	differs := func(was, is map[*schema.Reading]float64, r *schema.Reading) bool {
		old, known := was[r]
		now, still := is[r]
		return known && (!still || math.Abs(now-old) > changed*max(now, old))
	}
	for _, r := range before.Readings {
		if slices.Contains(after.Readings, r) && (differs(was, is, r) || differs(wasWhite, isWhite, r)) {
			stale = append(stale, r)
		}
	}
	return stale
}

// workedOut is the light in lux and the white in kelvin at each reading.
func workedOut(show *schema.Show) (lux, kelvin map[*schema.Reading]float64) {
	lux, kelvin = map[*schema.Reading]float64{}, map[*schema.Reading]float64{}
	rows, whites, _ := compare(show)
	for i := range rows {
		lux[rows[i].reading] = rows[i].modelled(func(*schema.Fixture) float64 { return 1 })
	}
	for i := range whites {
		if whites[i].kelvin != nil {
			kelvin[whites[i].reading] = *whites[i].kelvin
		}
	}
	return lux, kelvin
}

// Where says where and in which light a meter was held, as "at desk in cue 4".
func Where(r *schema.Reading) string { return whereOf(r) }
