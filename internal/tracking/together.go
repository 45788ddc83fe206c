package tracking

import (
	"hash/maphash"
	"slices"
	"sync"
)

// toldOfAll is what all looks together tell of each slot, once it was asked for.
type toldOfAll struct {
	apart func() []bool
	lit   func() []int
}

func newToldOfAll(all *list) *toldOfAll {
	return &toldOfAll{
		sync.OnceValue(func() []bool { return apartIn(all.looks) }),
		sync.OnceValue(func() []int { return litIn(all.looks) }),
	}
}

// AllAlike reports whether looks that were resolved [Again] do what the others do, each of them.
func AllAlike(looks, before []Look) bool {
	return len(looks) > 0 && len(before) > 0 && looks[0].of.told == before[0].of.told
}

// LitIn counts for each slot the looks in which it is above zero.
func LitIn(looks []Look) []int {
	if len(looks) == 0 {
		return nil
	}
	return looks[0].of.told.lit()
}

func litIn(looks []Look) []int {
	count, since := make([]int, looks[0].Slots()), make([]int, looks[0].Slots())
	for slot := range since {
		since[slot] = -1 // dark
	}
	var before *Look
	for i := range looks {
		for slot := range looks[i].Changed(before) {
			switch lit := looks[i].At(slot).Level > 0; {
			case lit && since[slot] < 0:
				since[slot] = i
			case !lit && since[slot] >= 0:
				count[slot] += i - since[slot]
				since[slot] = -1
			}
		}
		before = &looks[i]
	}
	for slot, from := range since {
		if from >= 0 {
			count[slot] += len(looks) - from
		}
	}
	return count
}

// Apart tells of each slot whether some look tells it apart from the slot before: the
// two do not do the same, or the cue says something of one of them alone, or it says so in
// different parts, which have times of their own. The first slot is told apart.
func Apart(looks []Look) []bool {
	if len(looks) == 0 {
		return nil
	}
	return looks[0].of.told.apart()
}

func apartIn(looks []Look) []bool {
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
				for slot := range l.of.slots.all(channel) {
					parts[slot] = n + 1
				}
			}
		}
	}
	for slot := 1; slot < len(parts); slot++ {
		mark(slot, parts[slot] != parts[slot-1])
	}
}

// mostAlike is how many looks in which the channels do the same are held against another
// one: a show that stays dark has thousands.
const mostAlike = 8

// Firsts tells of each look which one, at its place or before, is the first with all
// channels and screens doing the same that is alike in all else that counts. It may miss one.
func Firsts(looks []Look, alike func(first, i int) bool) []int {
	firsts := make([]int, len(looks))
	seed := maphash.MakeSeed()
	byBlocks := map[uint64][]int{}
	for i := range looks {
		look := &looks[i]
		var sum maphash.Hash
		sum.SetSeed(seed)
		for _, b := range look.blocks {
			maphash.WriteComparable(&sum, b)
		}
		hash := sum.Sum64()
		known := byBlocks[hash]
		at := slices.IndexFunc(known, func(first int) bool {
			return look.Does(&looks[first]) && look.Drives.does(looks[first].Drives) && alike(first, i)
		})
		if at >= 0 {
			firsts[i] = known[at]
			continue
		}
		firsts[i] = i
		if len(known) == mostAlike {
			known = known[1:]
		}
		byBlocks[hash] = append(known, i)
	}
	return firsts
}
