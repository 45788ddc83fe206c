package facts

import "slices"

// darkness remembers in which looks a channel is dark, a bit for each look.
type darkness struct {
	looks     []*stageLook
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
