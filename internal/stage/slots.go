package stage

import (
	"fmt"
	"sort"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// slotsPerUniverse is ANSI E1.11: 512 data slots in a packet, numbered from 1.
const slotsPerUniverse = 512

// slotsTogether are the slots of a block: a universe of which few are in use has few blocks.
const slotsTogether = 32

// UsedChannels counts for each patched channel the looks in which it is above zero.
func UsedChannels(looks []tracking.Look, patch []*schema.Fixture) map[int]int {
	used := map[int]int{}
	if len(looks) == 0 {
		return used
	}
	count := tracking.LitIn(looks)
	for _, fixture := range patch {
		if slot, ok := looks[0].Slot(fixture.Channel); ok {
			used[fixture.Channel] = count[slot]
		}
	}
	return used
}

// SlotMap knows which fixture listens to which slot.
type SlotMap struct {
	rig    *Rig
	owners map[[2]int]*[slotsTogether]*schema.Fixture // by universe and block of slots: of each slot the first to claim it
	full   map[int][]bool                             // universe -> by slot-1, whether anyone at all listens there
	order  []int                                      // the universes from 1 on, ascending
	firsts map[int]*schema.Address                    // by count: the first room in any of them; nil where there is none
	rooms  map[[2]int]int                             // by universe and count: the first room in it; 0 where there is none
}

// NewSlotMap lays the patch of a rig out over its universes.
func NewSlotMap(r *Rig) *SlotMap {
	m := &SlotMap{rig: r, owners: map[[2]int]*[slotsTogether]*schema.Fixture{}, full: map[int][]bool{}, firsts: map[int]*schema.Address{}, rooms: map[[2]int]int{}}
	for _, f := range r.Show.Patch {
		address, err := schema.ParseAddress(f.Address)
		slots, _ := r.Slots(f)
		if err != nil || slots == nil {
			continue
		}
		for slot, past := within(address.Slot, *slots); slot < past; slot++ {
			if m.full[address.Universe] == nil {
				m.full[address.Universe] = make([]bool, slotsPerUniverse)
			}
			m.full[address.Universe][slot-1] = true
		}
	}
	for u := range m.full {
		if u >= 1 {
			m.order = append(m.order, u)
		}
	}
	sort.Ints(m.order)
	return m
}

// within returns the first of the slots of a footprint that exist, and the one past them.
func within(first, count int) (slot, past int) {
	return max(first, 1), min(first+count, slotsPerUniverse+1)
}

// Claim gives the fixture its slots and returns those who had some of them.
func (m *SlotMap) Claim(f *schema.Fixture, address schema.Address, count int) []*schema.Fixture {
	var before []*schema.Fixture
	var owners *[slotsTogether]*schema.Fixture
	for slot, past := within(address.Slot, count); slot < past; slot++ {
		at := (slot - 1) % slotsTogether
		if owners == nil || at == 0 {
			block := [2]int{address.Universe, (slot - 1) / slotsTogether}
			if owners = m.owners[block]; owners == nil {
				owners = new([slotsTogether]*schema.Fixture)
				m.owners[block] = owners
			}
		}
		owner := owners[at]
		if owner == nil {
			owners[at] = f
		} else if len(before) == 0 || before[len(before)-1] != owner {
			before = append(before, owner)
		}
	}
	return before
}

// Free returns the lowest address with room, first in the given universe and
// then in the ones that the patch uses, in order.
func (m *SlotMap) Free(universe, count int) (schema.Address, bool) {
	if universe >= 1 && m.full[universe] != nil {
		if slot, ok := m.room(universe, count); ok {
			return schema.Address{Universe: universe, Slot: slot}, true
		}
	}
	first, done := m.firsts[count]
	if !done {
		for _, u := range m.order {
			if slot, ok := m.room(u, count); ok {
				first = &schema.Address{Universe: u, Slot: slot}
				break
			}
		}
		m.firsts[count] = first
	}
	if first == nil {
		return schema.Address{}, false
	}
	return *first, true
}

// room is the first of so many free slots in a row of a universe.
func (m *SlotMap) room(universe, count int) (slot int, ok bool) {
	slot, known := m.rooms[[2]int{universe, count}]
	if known {
		return slot, slot > 0
	}
	run := 0
	for last := 1; last <= slotsPerUniverse && slot == 0; last++ {
		run++
		if m.full[universe][last-1] {
			run = 0
		}
		if run == count {
			slot = last - count + 1
		}
	}
	m.rooms[[2]int{universe, count}] = slot
	return slot, slot > 0
}

// Slots returns how many slots a fixture listens to; nil with what is missing.
func (r *Rig) Slots(f *schema.Fixture) (*int, string) {
	t := r.Types[f.Type]
	switch {
	case f.Type == "":
		return nil, fmt.Sprintf("the type of the fixture on channel %d", f.Channel)
	case t == nil:
		return nil, fmt.Sprintf("the type %q, with its number of addresses", f.Type)
	}
	if slots := t.SlotsIn(f.Mode); slots != nil {
		return slots, ""
	}
	switch {
	case f.Mode != "" && len(t.Modes) > 0:
		return nil, fmt.Sprintf("the number of addresses of the mode %q of the type %q", f.Mode, t.Name)
	case len(t.Modes) > 1:
		return nil, fmt.Sprintf("the mode of the fixture on channel %d", f.Channel)
	}
	return nil, fmt.Sprintf("the number of addresses of the type %q", t.Name)
}
