package stage

import (
	"fmt"
	"sort"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// slotsPerUniverse is ANSI E1.11: 512 data slots in a packet, numbered from 1.
const slotsPerUniverse = 512

// UsedChannels counts for each patched channel the looks in which it is above zero.
func UsedChannels(looks []tracking.Look, patch []*schema.Fixture) map[int]int {
	used := map[int]int{}
	for _, fixture := range patch {
		if _, done := used[fixture.Channel]; done {
			continue
		}
		count := 0
		for i := range looks {
			if looks[i].State(fixture.Channel).Level > 0 {
				count++
			}
		}
		used[fixture.Channel] = count
	}
	return used
}

// SlotMap knows which fixture listens to which slot.
type SlotMap struct {
	rig    *Rig
	owners map[int][]*schema.Fixture     // universe -> by slot-1, the first to claim it
	full   map[int][]bool                // universe -> by slot-1, whether anyone at all listens there
	found  map[footprint]*schema.Address // what free has found; nil where there is none
}

// footprint is a number of slots in a universe.
type footprint struct{ universe, count int }

// NewSlotMap lays the patch of a rig out over its universes.
func NewSlotMap(r *Rig) *SlotMap {
	m := &SlotMap{rig: r, owners: map[int][]*schema.Fixture{}, full: map[int][]bool{}, found: map[footprint]*schema.Address{}}
	for _, f := range r.Show.Patch {
		address, err := schema.ParseAddress(f.Address)
		slots, _ := r.Slots(f)
		if err != nil || slots == nil {
			continue
		}
		for _, slot := range within(address.Slot, *slots) {
			if m.full[address.Universe] == nil {
				m.full[address.Universe] = make([]bool, slotsPerUniverse)
			}
			m.full[address.Universe][slot-1] = true
		}
	}
	return m
}

// within returns the slots of a footprint that exist.
func within(first, count int) []int {
	var slots []int
	for slot := max(first, 1); slot < first+count && slot <= slotsPerUniverse; slot++ {
		slots = append(slots, slot)
	}
	return slots
}

// Claim gives the fixture its slots and returns those who had some of them.
func (m *SlotMap) Claim(f *schema.Fixture, address schema.Address, count int) []*schema.Fixture {
	owners := m.owners[address.Universe]
	if owners == nil {
		owners = make([]*schema.Fixture, slotsPerUniverse)
		m.owners[address.Universe] = owners
	}
	var before []*schema.Fixture
	for _, slot := range within(address.Slot, count) {
		owner := owners[slot-1]
		if owner == nil {
			owners[slot-1] = f
		} else if len(before) == 0 || before[len(before)-1] != owner {
			before = append(before, owner)
		}
	}
	return before
}

// Free returns the lowest address with room, first in the given universe and
// then in the ones that the patch uses, in order.
func (m *SlotMap) Free(universe, count int) (schema.Address, bool) {
	asked := footprint{universe, count}
	found, done := m.found[asked]
	if !done {
		found = m.search(universe, count)
		m.found[asked] = found
	}
	if found == nil {
		return schema.Address{}, false
	}
	return *found, true
}

func (m *SlotMap) search(universe, count int) *schema.Address {
	var order []int
	for u := range m.full {
		if u != universe && u >= 1 {
			order = append(order, u)
		}
	}
	sort.Ints(order)
	if m.full[universe] != nil && universe >= 1 {
		order = append([]int{universe}, order...)
	}
	for _, u := range order {
		run := 0
		for slot := 1; slot <= slotsPerUniverse; slot++ {
			run++
			if m.full[u][slot-1] {
				run = 0
			}
			if run == count {
				return &schema.Address{Universe: u, Slot: slot - count + 1}
			}
		}
	}
	return nil
}

// Slots returns how many slots a fixture listens to; nil with what is missing.
func (r *Rig) Slots(f *schema.Fixture) (*int, string) {
	t := r.Types[f.Type]
	switch {
	case f.Type == "":
		return nil, fmt.Sprintf("the type of the fixture on channel %d", f.Channel)
	case t == nil:
		return nil, fmt.Sprintf("the type %q, with its slots", f.Type)
	case f.Mode != "":
		for _, mode := range t.Modes {
			if mode.Name == f.Mode && mode.Slots != nil {
				return mode.Slots, ""
			}
		}
		if len(t.Modes) > 0 {
			return nil, fmt.Sprintf("the slots of the mode %q of the type %q", f.Mode, t.Name)
		}
	case len(t.Modes) == 1 && t.Modes[0].Slots != nil && t.Slots == nil:
		return t.Modes[0].Slots, ""
	case len(t.Modes) > 1 && t.Slots == nil:
		return nil, fmt.Sprintf("the mode of the fixture on channel %d", f.Channel)
	}
	if t.Slots == nil {
		return nil, fmt.Sprintf("the slots of the type %q", t.Name)
	}
	return t.Slots, ""
}
