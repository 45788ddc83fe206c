package photometry

import "slices"

// BeamDeg implements Spread: the full angle between the directions at 50 % of the maximum, in the plane through the beam
// axis and the peak (type C: its plane and the opposite one; type A: its vertical plane; type B: the plane about the left
// to right axis), linear between listed angles. Of several such directions on a side the outermost counts. Where the
// listed angles end above 50 % the edge is there. ok is false when there is no light or no edge.
func (w *Web) BeamDeg() (deg float64, ok bool) { return w.width(beamFraction) }

// FieldDeg implements Spread, at 10 % of the maximum.
func (w *Web) FieldDeg() (deg float64, ok bool) { return w.width(fieldFraction) }

type profilePoint struct{ angle, candela float64 }

func (w *Web) width(fraction float64) (deg float64, ok bool) {
	if w.empty() {
		return 0, false
	}
	plane, i := w.peakAt()
	limit := fraction * w.cd[plane*len(w.v)+i]
	if !(limit > 0) {
		return 0, false
	}
	profile := w.profile(plane, w.v[i] > 90)
	right, ok := outermost(profile, limit)
	if !ok {
		return 0, false
	}
	slices.Reverse(profile)
	left, ok := outermost(profile, limit)
	if !ok || right-left >= 360 { // the two ends of a full turn are one direction: no edge there
		return 0, false
	}
	return right - left, right > left
}

// profile is the intensity along the plane through the peak, with signed angles ascending. Type C is unrolled about its
// lower pole, or about the upper one (light that goes up).
func (w *Web) profile(plane int, upward bool) []profilePoint {
	var profile []profilePoint
	switch w.plane {
	case typeA:
		for i, v := range w.v {
			profile = append(profile, profilePoint{v, w.along(plane, i, 0)})
		}
		return profile
	case typeB:
		_, row := w.peakAt()
		for j, h := range w.h {
			profile = append(profile, profilePoint{h, w.along(j, row, 0)})
			if w.mirror == aboutZero && h > 0 {
				profile = append(profile, profilePoint{-h, w.along(j, row, 0)})
			}
		}
	default:
		for _, v := range w.v {
			angle := v
			if upward {
				angle = 180 - v
			}
			profile = append(profile, profilePoint{angle, w.at(v, w.h[plane])})
			if angle > 0 {
				profile = append(profile, profilePoint{-angle, w.at(v, w.h[plane]+180)})
			}
		}
	}
	slices.SortStableFunc(profile, func(a, b profilePoint) int {
		switch {
		case a.angle < b.angle:
			return -1
		case a.angle > b.angle:
			return 1
		}
		return 0
	})
	return profile
}

// outermost walks in from the end of the profile to where it first reaches the limit.
func outermost(profile []profilePoint, limit float64) (angle float64, ok bool) {
	for i := len(profile) - 1; i >= 0; i-- {
		p := profile[i]
		if p.candela < limit {
			continue
		}
		if i == len(profile)-1 {
			return p.angle, true
		}
		outer := profile[i+1]
		f := (p.candela - limit) / (p.candela - outer.candela)
		return p.angle + f*(outer.angle-p.angle), true
	}
	return 0, false
}
