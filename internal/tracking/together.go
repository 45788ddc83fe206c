package tracking

// Apart tells of each slot whether some look tells it apart from the slot before: the
// two do not do the same, or the cue says something of one of them alone, or it says so in
// different parts, which have times of their own. The first slot is told apart.
func Apart(looks []Look) []bool {
	if len(looks) == 0 {
		return nil
	}
	apart := make([]bool, looks[0].Slots())
	mark := func(slot int, is bool) {
		if is && slot < len(apart) {
			apart[slot] = true
		}
	}
	mark(0, true)
	type placed struct { // looks share blocks, and so do places in a look
		*block
		at int
	}
	seen := map[placed]bool{}
	for i := range looks {
		look := &looks[i]
		for b, now := range look.blocks {
			if b > 0 {
				mark(b*blockSize, now[0] != look.blocks[b-1][blockSize-1])
			}
			if i > 0 && now == looks[i-1].blocks[b] || seen[placed{now, b}] {
				continue
			}
			seen[placed{now, b}] = true
			for k := 1; k < blockSize; k++ {
				mark(b*blockSize+k, now[k] != now[k-1])
			}
		}
		last := uint64(0)
		for word, told := range look.told {
			for k, differ := 0, told^(told<<1|last>>63); differ != 0; k, differ = k+1, differ>>1 {
				mark(word*64+k, differ&1 != 0)
			}
			last = told
		}
		if len(look.Parts) > 1 {
			look.apartByParts(mark)
		}
	}
	return apart
}

// apartByParts marks the slots whose level another part sets than that of the slot before.
func (l *Look) apartByParts(mark func(slot int, is bool)) {
	parts := make([]int, l.Slots()) // from 1; 0: none
	for n, part := range l.Parts {
		for _, set := range part.Set {
			if set.Level == nil {
				continue
			}
			channels, _ := l.of.show.Channels(set.Channels)
			for _, channel := range channels {
				if slot, ok := l.of.slots.of(channel); ok {
					parts[slot] = n + 1
				}
			}
		}
	}
	for slot := 1; slot < len(parts); slot++ {
		mark(slot, parts[slot] != parts[slot-1])
	}
}
