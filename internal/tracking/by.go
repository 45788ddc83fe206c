package tracking

import (
	"slices"
	"sync"

	"github.com/cueproof/cueproof/schema"
)

// By says which cue gave a value: the index of its look, and the setting in it.
// Setting is nil for a value that a restate or release gave; Look is -1 for a
// value that no cue ever gave.
type By struct {
	Look    int
	Setting *schema.Setting
}

// Nobody is the By of a value that no cue gave.
var Nobody = By{Look: -1}

// Value is one of the parts of a state that cues set apart from each other.
type Value uint8

// The values of a state.
const (
	LevelBy Value = iota
	ColourBy
	RestBy // aim, zoom, strobe, pattern, wheel and effect, as a whole
	values
)

// tells reports whether a setting says anything of a value.
func tells(set *schema.Setting, value Value) bool {
	switch value {
	case LevelBy:
		return set.Level != nil
	case ColourBy:
		return set.WhiteK != nil || set.XY != nil || len(set.Mix) > 0 || len(set.MixPart) > 0 || set.HueDeg != nil || set.SaturationPct != nil
	default:
		return set.Aim != nil || set.ZoomDeg != nil || set.StrobeHz != nil || set.Pattern != "" || set.Wheel != "" || set.Effect != nil
	}
}

// byIndex answers who gave a value. Few are asked, so nothing is kept for those who
// are not: an answer is looked for from cue to cue backwards, and remembered.
type byIndex struct {
	mu    sync.Mutex
	known map[slotValue]answer
	spans map[string][]slotSpan // by the text of a selection
}

// slotValue is a value of a slot.
type slotValue struct {
	slot  int32
	value Value
}

// answer is who gave a value that stands in a look; it holds for all looks from
// there back to its own.
type answer struct {
	look int
	by   By
}

// slotSpan is slots side by side, both ends included.
type slotSpan struct{ first, last int32 }

// SetBy returns who gave a channel a value that it has in the look: of several, the
// last that did. It may be called from several goroutines.
func (l *Look) SetBy(channel int, value Value) By {
	slot, ok := l.of.slots.of(channel)
	if !ok {
		return Nobody
	}
	ix := &l.of.by
	ix.mu.Lock()
	defer ix.mu.Unlock()
	if ix.known == nil {
		ix.known, ix.spans = map[slotValue]answer{}, map[string][]slotSpan{}
	}
	key := slotValue{int32(slot), value}
	before, done := ix.known[key]
	if done && before.by.Look <= l.Index && l.Index <= before.look {
		return before.by
	}
	by := Nobody
	for i := l.Index; i >= 0; i-- {
		if done && i == before.look {
			by = before.by
			break
		}
		if found, ok := l.of.toldIn(i, int32(slot), channel, value); ok {
			by = found
			break
		}
	}
	ix.known[key] = answer{l.Index, by}
	return by
}

// toldIn returns who gives a slot a value in one look, if anything in it does.
func (all *list) toldIn(i int, slot int32, channel int, value Value) (By, bool) {
	look := &all.looks[i]
	if look.told[slot/64]&(1<<(slot%64)) == 0 {
		return Nobody, false
	}
	for _, part := range slices.Backward(look.Parts) {
		for _, set := range slices.Backward(part.Set) {
			if tells(set, value) && all.covers(set.Channels, slot) {
				return By{i, set}, true
			}
		}
	}
	if i == 0 {
		return Nobody, false // there was nothing to release or to state again
	}
	was := all.looks[i-1].State(channel)
	switch {
	case tracks(look.Parts, "release"):
		return By{Look: i}, value == LevelBy && was.Level > 0
	case tracks(look.Parts, "restate"):
		switch value {
		case LevelBy:
			return By{Look: i}, was.Level > 0 || all.everTold(i-1, slot)
		case ColourBy:
			return By{Look: i}, was.Colour != nil
		default:
			return By{Look: i}, was.Rest != nil
		}
	}
	return Nobody, false
}

// everTold reports whether any cue up to a look has set the level of a slot: a level
// of zero that was told is stated again, darkness that nobody told is not.
func (all *list) everTold(i int, slot int32) bool {
	for ; i >= 0; i-- {
		for _, part := range all.looks[i].Parts {
			for _, set := range part.Set {
				if set.Level != nil && all.covers(set.Channels, slot) {
					return true
				}
			}
		}
	}
	return false
}

// covers reports whether a selection holds a slot.
func (all *list) covers(text string, slot int32) bool {
	spans, known := all.by.spans[text]
	if !known {
		channels, _ := all.show.Channels(text)
		var slots []int32
		for _, channel := range channels {
			if slot, ok := all.slots.of(channel); ok {
				slots = append(slots, int32(slot))
			}
		}
		slices.Sort(slots)
		for _, slot := range slots {
			if n := len(spans) - 1; n >= 0 && spans[n].last+1 >= slot {
				spans[n].last = slot
				continue
			}
			spans = append(spans, slotSpan{slot, slot})
		}
		all.by.spans[text] = spans
	}
	_, found := slices.BinarySearchFunc(spans, slot, func(s slotSpan, slot int32) int {
		switch {
		case s.last < slot:
			return -1
		case s.first > slot:
			return 1
		}
		return 0
	})
	return found
}
