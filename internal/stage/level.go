package stage

import (
	"math"
)

// LevelsFor are the levels at which each lamp gives factor times its light now. ok is
// false if one of them would have to be above full; that one gets full.
func LevelsFor(lamps []*Lamp, factor float64) (levels []float64, ok bool) {
	ok = true
	for _, lamp := range lamps {
		level := lamp.LevelFor(factor)
		if level > 100 {
			ok = false
			level = 100
		}
		levels = append(levels, level)
	}
	return levels, ok
}

// LevelFor is the level at which the lamp gives factor times its light now, to
// the whole percent above; over 100 if there is none. The dimmer curve is
// followed by halving, because not all have an inverse in closed form.
func (l *Lamp) LevelFor(factor float64) float64 {
	wanted := l.Share * factor
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

// levelOf is the level at which the lamp gives a part of its full light, to the whole
// percent above.
func (l *Lamp) levelOf(part float64) float64 {
	low, high := 0.0, 100.0
	for range 40 {
		if middle := (low + high) / 2; l.Control(middle) < part {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Ceil(high - 1e-6)
}

// shareAt is the part of its full light that the lamp gives at another level,
// in its colour of now.
func (l *Lamp) shareAt(level float64) float64 {
	if l.Kind == nil {
		return 0
	}
	now := l.Control(l.Level)
	if now <= 0 {
		return 0
	}
	return l.Share / now * l.Control(level)
}

// Control is the part of its full light, in one colour, that the lamp gives at a
// level.
func (l *Light) Control(level float64) float64 {
	if l.Kind == nil {
		return level / 100
	}
	if l.Kind.Source == "tungsten" {
		if d, ok := l.filament.Dim(filamentCurve(l.Kind), level/100); ok {
			return d.Light
		}
		return 0
	}
	return dimmed(l.Kind, level/100)
}

// Straight reports whether the lamp's light is in proportion to its level.
func (l *Light) Straight() bool {
	if l.Kind == nil || l.Kind.Source == "tungsten" {
		return false
	}
	shape, _ := l.Kind.Curve()
	return shape == "linear"
}

// Shines is what the lamp's light is; nil where it is dark.
func (l *Lamp) Shines() *Light {
	if l == nil {
		return nil
	}
	return l.Light
}
