package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// moved names what a lamp's motors have to do between two states: turn, zoom, or
// change a wheel or a pattern.
func moved(a, b *tracking.Rest) []string {
	var none tracking.Rest
	if a == nil {
		a = &none
	}
	if b == nil {
		b = &none
	}
	var what []string
	if !sameAim(a.Aim, b.Aim) {
		what = append(what, "aim")
	}
	if !sameNumber(a.ZoomDeg, b.ZoomDeg) {
		what = append(what, "zoom")
	}
	if a.Wheel != b.Wheel {
		what = append(what, "wheel")
	}
	if a.Pattern != b.Pattern {
		what = append(what, "pattern")
	}
	return what
}

func sameAim(a, b *schema.Aim) bool {
	switch {
	case a == b:
		return true
	case a == nil || b == nil || a.Name != b.Name:
		return false
	case a.Point == nil || b.Point == nil:
		return a.Point == b.Point
	}
	return *a.Point == *b.Point
}

// movedFrom is moved, with what the patch says where no cue has spoken yet.
func (l *Lamp) movedFrom(before *Lamp) []string {
	a, b := restOf(before), restOf(l)
	return moved(&a, &b)
}

func restOf(l *Lamp) tracking.Rest {
	var rest tracking.Rest
	if l.state.Rest != nil {
		rest = *l.state.Rest
	}
	if rest.Aim == nil {
		rest.Aim = l.fixture.AimedAt
	}
	if rest.ZoomDeg == nil {
		rest.ZoomDeg = l.fixture.ZoomDeg
	}
	return rest
}

// noteMove takes down a lamp that moves while it is seen. A lamp that goes dark in
// the same cue, or comes on with it, is not counted: the move and the fade are one.
func (c *Change) noteMove(p pair) {
	if p.before == nil || p.after == nil || p.before.state.Rest == p.after.state.Rest {
		return
	}
	words := p.after.movedFrom(p.before)
	if len(words) == 0 {
		return
	}
	c.Moved = append(c.Moved, p.after)
	for _, word := range words {
		if !slices.Contains(c.movedWords, word) {
			c.movedWords = append(c.movedWords, word)
		}
	}
}

// measureMoves says of the lamps that move while they are seen what they do, and
// when they were last dark.
func (e *evening) measureMoves(changes []*Change) {
	dark := darkness{looks: e.looks, byChannel: map[int][]uint64{}}
	for i, c := range changes {
		if len(c.Moved) == 0 {
			continue
		}
		var channels []int
		for _, lamp := range c.Moved {
			channels = append(channels, lamp.Channel)
		}
		c.MovedCount = len(c.Moved)
		c.MovedText, c.MovedWhat = schema.FormatChannels(channels), joinWords(c.movedWords)
		if k, ok := dark.last(channels, i); ok {
			c.LastDark = e.looks[k].Number
		}
	}
}

// darkness remembers in which looks a channel is dark, a bit for each look.
type darkness struct {
	looks     []*Look
	byChannel map[int][]uint64
}

func (d *darkness) of(channel int) []uint64 {
	bits, ok := d.byChannel[channel]
	if !ok {
		bits = make([]uint64, (len(d.looks)+63)/64)
		for i, look := range d.looks {
			if look.look.State(channel).Level <= 0 {
				bits[i/64] |= 1 << (i % 64)
			}
		}
		d.byChannel[channel] = bits
	}
	return bits
}

// last is the last look before another in which all the channels are dark.
func (d *darkness) last(channels []int, before int) (look int, ok bool) {
	all := slices.Clone(d.of(channels[0]))
	for _, channel := range channels[1:] {
		for word, mask := range d.of(channel) {
			all[word] &= mask
		}
	}
	for i := before - 1; i >= 0; i-- {
		if all[i/64]&(1<<(i%64)) != 0 {
			return i, true
		}
	}
	return 0, false
}
