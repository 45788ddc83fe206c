package tracking

import (
	"reflect"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// movedSlots are the slots that may do something else where nothing but channels of fixtures
// is another: those that had or have a channel which a fixture has given up or got. ok is
// false where more than that has changed.
func movedSlots(show, was *schema.Show, groups [][]*schema.Cue, before []Look) (slots []int, ok bool) {
	if len(show.Patch) != len(was.Patch) || len(groups) != len(before) || reflect.ValueOf(show.Groups).Pointer() != reflect.ValueOf(was.Groups).Pointer() {
		return nil, false
	}
	for i, parts := range groups {
		if !slices.Equal(parts, before[i].Parts) {
			return nil, false
		}
	}
	var channels []int
	for i, f := range show.Patch {
		if old := was.Patch[i]; f.Channel != old.Channel {
			channels = append(channels, f.Channel, old.Channel)
		} else if !slices.Equal(f.Groups, old.Groups) {
			return nil, false // a selection may not be one any more
		}
	}
	for i, f := range show.Patch {
		if slices.Contains(channels, f.Channel) || slices.Contains(channels, was.Patch[i].Channel) {
			slots = append(slots, i)
		}
	}
	return slots, true
}

// againFor resolves looks again for some slots alone; all others do what they did.
func (all *list) againFor(moved []int, before []Look, segments segments, r *resolver) {
	covered := map[string][]int{} // the moved slots of a selection
	of := func(text string) []int {
		list, known := covered[text]
		if !known {
			channels, _ := all.show.Channels(text)
			for _, slot := range moved {
				channel := all.show.Patch[slot].Channel
				if _, ok := all.slots.of(channel); ok && slices.Contains(channels, channel) {
					list = append(list, slot)
				}
			}
			covered[text] = list
		}
		return list
	}
	r.only = moved
	for index := range before {
		look := before[index]
		told := slices.Clone(look.told)
		for _, slot := range moved {
			told[slot/64] &^= 1 << (slot % 64)
		}
		r.applyTracking(look.Parts, told)
		for _, part := range look.Parts {
			for _, setting := range part.Set {
				if slots := of(setting.Channels); len(slots) > 0 {
					set := change{pool: r.pool, set: setting, told: r.pool.toldBy(setting)}
					for _, slot := range slots {
						r.turn(slot, &set, told)
					}
				}
			}
		}
		if !slices.Equal(told, look.told) {
			look.told = told
		}
		look.blocks, look.Segment, look.of = r.blocksWith(look.blocks), segments.of(look.Parts), all
		all.looks = append(all.looks, look)
	}
}

// blocksWith are blocks in which the slots that the resolver is for stand as they stand now.
func (r *resolver) blocksWith(before []*block) []*block {
	list, changed := before, false
	for from, to := 0, 0; from < len(r.only); from = to {
		b := r.only[from] / blockSize
		now := *before[b]
		for ; to < len(r.only) && r.only[to]/blockSize == b; to++ {
			now[r.only[to]%blockSize] = r.now[r.only[to]]
		}
		if now == *before[b] {
			continue
		}
		if !changed {
			list, changed = slices.Clone(before), true
		}
		list[b] = r.intern(&now)
	}
	return list
}
