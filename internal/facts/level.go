package facts

import "math"

// levelsFor are the levels at which each lamp gives factor times its light now. ok is
// false if one of them would have to be above full; that one gets full.
func levelsFor(lamps []*stageLamp, factor float64) (levels []float64, ok bool) {
	ok = true
	for _, lamp := range lamps {
		level := lamp.levelFor(factor)
		if level > 100 {
			ok = false
			level = 100
		}
		levels = append(levels, level)
	}
	return levels, ok
}

// levelFor is the level at which the lamp gives factor times its light now, to
// the whole percent above; over 100 if there is none. The dimmer curve is
// followed by halving, because not all have an inverse in closed form.
func (l *stageLamp) levelFor(factor float64) float64 {
	wanted := l.share * factor
	low, high := 0.0, 100.0
	if l.shareAt(high) < wanted*(1-1e-9) {
		return 101
	}
	for range 40 {
		if middle := (low + high) / 2; l.shareAt(middle) < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Ceil(high - 1e-6)
}

// shareAt is the part of its full light that the lamp gives at another level,
// in its colour of now.
func (l *stageLamp) shareAt(level float64) float64 {
	if l.kind == nil {
		return 0
	}
	now := l.control(l.Level)
	if now <= 0 {
		return 0
	}
	return l.share / now * l.control(level)
}

// control is the part of its full light, in one colour, that the lamp gives at a
// level.
func (l *stageLamp) control(level float64) float64 {
	if l.kind == nil {
		return level / 100
	}
	if l.kind.Source == "tungsten" {
		if d, ok := l.filament.Dim(filamentCurves[l.kind.DimmerCurve], level/100); ok {
			return d.Light
		}
		return 0
	}
	return dimmed(l.kind.DimmerCurve, level/100)
}

// straight reports whether the lamp's light is in proportion to its level.
func (l *stageLamp) straight() bool {
	return l.kind != nil && l.kind.Source != "tungsten" && l.kind.DimmerCurve != "square" && l.kind.DimmerCurve != "s"
}

// shines is what the lamp's light is; nil where it is dark.
func (l *stageLamp) shines() *shine {
	if l == nil {
		return nil
	}
	return l.shine
}
