package evening

import (
	"slices"

	"github.com/cueproof/cueproof/internal/tracking"
)

// Darkness remembers in which looks a channel is dark, a bit for each look.
type Darkness struct {
	Looks     []tracking.Look
	ByChannel map[int][]uint64
}

func (d *Darkness) of(channel int) []uint64 {
	bits, ok := d.ByChannel[channel]
	if !ok {
		bits = make([]uint64, (len(d.Looks)+63)/64)
		for i := range d.Looks {
			if d.Looks[i].State(channel).Level <= 0 {
				bits[i/64] |= 1 << (i % 64)
			}
		}
		d.ByChannel[channel] = bits
	}
	return bits
}

// Last is the last look before another in which all the channels are dark.
func (d *Darkness) Last(channels []int, before int) (look int, ok bool) {
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
