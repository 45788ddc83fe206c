package stage

import (
	"cmp"
	"math"
	"slices"
)

// Ray is light that arrives on a face from one direction. The face looks along the
// zero of both angles.
type Ray struct {
	Lux          float64 // on the plane of the face; 0 from behind
	AzimuthDeg   float64 // round the person, from the way the face looks; -180 to 180
	ElevationDeg float64 // above the level of the face; -90 to 90
	OffCameraDeg float64 // to the side of the way to the camera, or half of what it is above or below that, whichever is more; 0 to 180
	WidthDeg     float64 // how wide the lamp shines as seen from the face; 0 if it is not known
	WidestDeg    float64 // the same at most
	Kelvin       float64 // of a white; 0 for a colour or where it is not known
	Duv          float64 // of a white
	DriftMired   float64 // by which a dimmed filament is warmer than at full
	Filament     bool    // it is that of a filament
}

// White is the white that the light on a face has on the whole.
type White struct {
	Mired, Duv float64
	DriftMired float64 // by which it is warmer because filaments are dimmed
	Filament   bool    // most of it is that of filaments
	Dimmed     []Ray   // of the dimmed filaments that give a good part of it, where they were asked for
}

// DimmedOf are the rays of dimmed filaments that give a good part of the white light.
func DimmedOf(rays []Ray) (list []Ray) {
	total := 0.0
	for _, r := range rays {
		if r.Kelvin > 0 {
			total += r.Lux
		}
	}
	for _, r := range rays {
		if r.Kelvin > 0 && r.DriftMired > 0 && r.Lux >= goodPart*total {
			list = append(list, r)
		}
	}
	return list
}

// ofFilaments reports whether most of the white light is that of filaments.
func ofFilaments(rays []Ray) bool {
	filament, total := 0.0, 0.0
	for _, r := range rays {
		if r.Kelvin > 0 {
			if total += r.Lux; r.Filament {
				filament += r.Lux
			}
		}
	}
	return filament > total/2
}

// Over is the most by which one of its dimmed filaments is warmer than a white, in
// mired, because it is dimmed.
func (w *White) Over(mired float64) (drift float64) {
	for _, r := range w.Dimmed {
		drift = max(drift, min(r.DriftMired, 1e6/r.Kelvin-mired))
	}
	return drift
}

// MeanWhite is the mean of the whites on a face but for a trace at either end
// ([TraceShare]), weighed by the light of each: in mired, in which equal steps look
// alike. ok is false where there is no white.
func MeanWhite(rays []Ray) (w White, ok bool) {
	var room [fewWhites]tint
	whites, total := whitesOf(rays, room[:0], kelvin)
	for _, t := range whites {
		share := t.lux / total
		w.Mired += share * 1e6 / t.key
		w.Duv += share * t.duv
		w.DriftMired += share * t.drift
	}
	w.Filament = ofFilaments(rays)
	return w, total > 0
}

// cheekDeg is how far the plane of a cheek is turned from that of the face: half way
// between the nose and the ear. Light from 30 degrees to the side then just misses
// the other cheek. Common practice, no source.
const cheekDeg = 60

var sinCheek, cosCheek = math.Sincos(cheekDeg * degree)

// Cheeks is the light on the two cheeks, in lux: upright planes that are turned to
// the one and the other side by cheekDeg. ambient is light from all around, in lux.
func Cheeks(rays []Ray, ambient float64) (left, right float64) {
	left, right = ambient, ambient
	for _, r := range rays {
		if r.Lux <= 0 {
			continue
		}
		side, front := math.Sincos(r.AzimuthDeg * degree)
		if !(front > 1e-9) {
			continue
		}
		along := r.Lux / front // on an upright plane that looks at the lamp
		left += along * max(0, front*cosCheek-side*sinCheek)
		right += along * max(0, front*cosCheek+side*sinCheek)
	}
	return left, right
}

// Undimmed is the same light if no filament were dimmed, at the same lux.
func Undimmed(rays []Ray) []Ray {
	full := slices.Clone(rays)
	for i := range full {
		if r := &full[i]; r.Kelvin > 0 {
			r.Kelvin = 1e6 / (1e6/r.Kelvin - r.DriftMired)
		}
	}
	return full
}

const degree = math.Pi / 180

// ElevationOf is the elevation under which a part of the light on a face comes, 0 to
// 1: for 0.5 half of it comes from higher up. ok is false where there is no light.
func ElevationOf(rays []Ray, part float64) (deg float64, ok bool) {
	return quantile(rays, part, func(r *Ray) float64 { return r.ElevationDeg })
}

// WithinOf is the angle to either side of the way to the camera within which a part of
// the light comes, and from no more than twice that above or below. ok is false where
// there is no light.
func WithinOf(rays []Ray, part float64) (deg float64, ok bool) {
	return quantile(rays, part, func(r *Ray) float64 { return r.OffCameraDeg })
}

// weightedValue is a value with its light.
type weightedValue struct{ value, lux float64 }

// fewRays is how many rays are looked at without asking for memory.
const fewRays = 256

// quantile is the value that a part of the light does not exceed: the values are parted by one of them, and the side
// on which it lies again, until one is left.
func quantile(rays []Ray, part float64, of func(*Ray) float64) (value float64, ok bool) {
	var room [fewRays]weightedValue
	list := room[:0]
	total := 0.0
	for i := range rays {
		list = append(list, weightedValue{of(&rays[i]), rays[i].Lux})
		total += rays[i].Lux
	}
	if !(total > 0) {
		return 0, false
	}
	below, wanted := 0.0, part*total*(1-1e-9)
	for len(list) > 1 {
		middle := list[len(list)/2].value
		lower, same := 0, 0 // of the list: how many are below the middle, and how many are at it behind those
		light, there := 0.0, 0.0
		for i, w := range list {
			switch {
			case w.value < middle:
				list[i] = list[lower+same]
				list[lower+same] = list[lower]
				list[lower] = w
				lower++
				light += w.lux
			case w.value == middle:
				list[i] = list[lower+same]
				list[lower+same] = w
				same++
				there += w.lux
			}
		}
		switch {
		case light > 0 && below+light >= wanted:
			list = list[:lower]
		case below+light+there >= wanted || lower+same == len(list) || same == 0: // the last for what is no number
			return middle, true
		default:
			below += light + there
			list = list[lower+same:]
		}
	}
	return list[0].value, true
}

// WidestOf is how wide the widest of the lamps shines that give at least a part of
// the light, in degrees as seen from the face: what is known of it, 0 if nothing is, and what it is at most.
func WidestOf(rays []Ray, part float64) (deg, most float64) {
	total := 0.0
	for _, r := range rays {
		total += r.Lux
	}
	for _, r := range rays {
		if r.Lux >= part*total {
			deg, most = max(deg, r.WidthDeg), max(most, r.WidestDeg)
		}
	}
	return deg, most
}

// TraceShare is the part of the white light on a face that tints nobody's cheek,
// whatever its white: the warmest and the coolest light up to this part are left out
// of [WhiteSpread] and [MeanWhite], the greenest and the pinkest of [DuvSpread]. Common practice, no source.
const TraceShare = 0.1

// tint is all white light on a face of one colour temperature, or of one Duv.
type tint struct{ key, lux, duv, drift float64 }

func kelvin(r *Ray) float64 { return r.Kelvin }
func duv(r *Ray) float64    { return r.Duv }

// whitesOf lists the whites on a face, each once and in the order of a key, without a
// trace at either end, and how much light they are together. It uses the room of list.
func whitesOf(rays []Ray, list []tint, by func(*Ray) float64) (whites []tint, total float64) {
	at := 0
	for i := range rays {
		r := &rays[i] // a copy of it would be asked for anew for every key
		if !(r.Kelvin > 0 && r.Lux > 0) {
			continue
		}
		total += r.Lux
		if key := by(r); at >= len(list) || list[at].key != key { // lamps side by side mostly have one white
			same := false
			if at, same = slices.BinarySearchFunc(list, key, func(t tint, key float64) int { return cmp.Compare(t.key, key) }); !same {
				list = slices.Insert(list, at, tint{key: key})
			}
		}
		t := &list[at]
		t.lux += r.Lux
		t.duv += r.Lux / t.lux * (r.Duv - t.duv)
		t.drift += r.Lux / t.lux * (r.DriftMired - t.drift)
	}
	end := 0.0
	for i := range list { // what is left of each between the two ends
		from, to := end, end+list[i].lux
		end = to
		list[i].lux = max(0, min(to, (1-TraceShare)*total)-max(from, TraceShare*total))
	}
	return list, (1 - 2*TraceShare) * total
}

// WhiteSpread is how far the whites on a face are apart, in mired, weighed by the
// light of each: twice the mean difference of two rays that are drawn by their light,
// once a trace of it ([TraceShare]) is taken off at the warm and at the cool end. For
// two whites d mired apart that give the same it is d; for one that gives no more than
// a trace it is 0.
func WhiteSpread(rays []Ray) (mired float64) {
	return -spreadOf(rays, kelvin, func(kelvin float64) float64 { return 1e6 / kelvin })
}

// DuvSpread is how far they are apart between green and pink, likewise.
func DuvSpread(rays []Ray) float64 {
	return spreadOf(rays, duv, func(duv float64) float64 { return duv })
}

// spreadOf is twice the mean difference of what whites are worth, in the order of a key; below
// zero where that falls.
func spreadOf(rays []Ray, by func(*Ray) float64, worth func(float64) float64) (apart float64) {
	var room [fewWhites]tint
	whites, total := whitesOf(rays, room[:0], by)
	if !(total > 0) {
		return 0
	}
	below, moment := 0.0, 0.0 // the light before, and that times what it is worth
	for _, w := range whites {
		share, value := w.lux/total, worth(w.key)
		apart += 4 * share * (below*value - moment)
		below, moment = below+share, moment+share*value
	}
	return apart
}

// fewWhites is how many whites are looked at without asking for memory.
const fewWhites = 64
