package table

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

var (
	fixtureHead = []field{
		{"name", "name", asText},
		{"type", "type", asText},
		{"mode", "mode", asText},
		{"purpose", "purpose", asText},
		{"hung_on", "hung_on", asText},
		{"hung_order", "hung_order", asWhole},
		{"hung_at_m", "hung_at_m", asMetres},
	}
	hungPoint = []field{{"x", "hung_x", asMetres}, {"y", "hung_y", asMetres}, {"z", "hung_z", asMetres}}
	filter    = []field{
		{"name", "filter", asText},
		{"x", "filter_x", asPlain},
		{"y", "filter_y", asPlain},
		{"transmission", "filter_transmission", asPlain},
		{"shift_mired", "filter_shift_mired", asNumber("mired")},
		{"hue_deg", "filter_hue_deg", asDegrees},
	}
	fixtureTail = []field{
		{"zoom_deg", "zoom_deg", asDegrees},
		{"circuit", "circuit", asText},
		{"white_k", "white_k", asKelvin},
		{"mount", "mount", asText},
	}
)

// readPatchRows reads one fixture a row.
func readPatchRows(s *sheet) {
	for {
		usable, ok := s.nextRow()
		if !ok {
			return
		}
		if usable {
			s.fixture()
		}
	}
}

func (s *sheet) fixture() {
	if _, ok := s.get("channel"); !ok {
		s.sayAbout("bad-cell", "channel", s.line.start, s.line.stop, "the row has no channel, so it is left out.", finding.Error, finding.Dark)
		return
	}
	channel, c, ok := s.value("channel", asChannel)
	if !ok {
		return
	}
	s.build.Begin(source.Object, s.line.start)
	s.member("channel", "channel", channel, c)
	s.address()
	s.putList("more_addresses", "more_addresses", betweenColours)
	s.put(fixtureHead)
	s.putObject("hung_at", hungPoint)
	s.putAim("aimed_at", "aimed_at")
	s.shutters()
	s.putObject("filter", filter)
	s.putList("groups", "groups", betweenNames)
	s.put(fixtureTail)
	s.build.End(s.line.stop)
}

// address writes where the fixture listens: one cell, or universe and slot in
// two. Beside a universe, an address of digits alone is the slot in it.
func (s *sheet) address() {
	universe, hasUniverse := s.get("universe")
	slot, hasSlot := s.get("slot")
	address, hasAddress := s.get("address")
	column := "slot"
	if hasAddress && !hasSlot && hasUniverse && digits(address.text) {
		slot, hasSlot, hasAddress, column = address, true, false, "address"
	}
	if !hasUniverse && !hasSlot {
		if hasAddress {
			s.member("address", "address", value{source.String, address.text}, address)
		}
		return
	}
	switch {
	case !hasUniverse:
		s.bad(column, slot, "is a slot, but the row has no universe for it")
	case !hasSlot && !hasAddress:
		s.bad("universe", universe, "is a universe, but the row has no slot in it")
	case !hasSlot:
		s.bad("universe", universe, "stands beside a whole address; give the universe in one of the two")
		s.member("address", "address", value{source.String, address.text}, address)
	default:
		s.universeAndSlot(universe, slot, column)
		if hasAddress {
			s.bad("address", address, "stands beside a universe and a slot; those are used")
		}
	}
}

func (s *sheet) universeAndSlot(universe, slot cell, column string) {
	u, complaint := asWhole(s, universe)
	if complaint != "" {
		s.bad("universe", universe, complaint)
		return
	}
	n, complaint := asWhole(s, slot)
	if complaint != "" {
		s.bad(column, slot, complaint)
		return
	}
	s.member("address", column, value{source.String, fmt.Sprintf("%s.%s", u.text, n.text)}, slot)
}

func (s *sheet) shutters() {
	c, ok := s.get("shutters")
	if !ok {
		return
	}
	list, ok := blades(c)
	if !ok || len(list) > MaxItems {
		s.bad("shutters", c, `is not a list of cuts such as "top 30, left 20/15" (side, percent, and degrees behind a slash)`)
		return
	}
	s.begin("shutters", source.Array, c)
	for _, b := range list {
		s.build.Begin(source.Object, b.side.start)
		stop := b.side.stop
		s.inCell("side", asText, b.side)
		for _, part := range []struct {
			key string
			c   cell
		}{{"depth_pct", b.depth}, {"angle_deg", b.angle}} {
			if part.c.text == "" {
				continue
			}
			if v, complaint := asPlain(s, part.c); complaint != "" {
				s.bad("shutters", part.c, complaint)
			} else {
				s.part(part.key, v, part.c)
			}
			stop = part.c.stop
		}
		s.build.End(stop)
	}
	s.build.End(c.stop)
}

// inCell writes a member that is a part of a cell.
func (s *sheet) inCell(key string, read reading, c cell) {
	v, _ := read(s, c)
	s.part(key, v, c)
}

func (s *sheet) part(key string, v value, c cell) {
	s.build.Key(key, c.start, c.stop)
	s.scalar(v, c)
}
