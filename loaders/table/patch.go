package table

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

var (
	fixtureFields = simple(schema.OfFixture)
	fixtureLists  = listsOf(schema.OfFixture)
	hungPoint     = partsOf(schema.OfFixture, "hung_at")
	filter        = partsOf(schema.OfFixture, "filter")
)

// purposesOf are the purposes of the format, and words of people for them.
var purposesOf = map[string]string{
	"key": "key", "fill": "fill", "back": "back", "side": "side", "top": "top", "wash": "wash", "beam": "beam", "effect": "effect", "house": "house", "practical": "practical", "haze": "haze",
	"keys": "key", "keylight": "key", "front": "key", "frontlight": "key", "face": "key", "backlight": "back", "rim": "back", "hair": "back", "sidelight": "side", "cross": "side",
	"toplight": "top", "downlight": "top", "colour": "wash", "color": "wash", "cyc": "wash", "beams": "beam", "effects": "effect", "fx": "effect",
	"audience": "house", "houselight": "house", "houselights": "house", "hazer": "haze", "fog": "haze", "fogger": "haze", "practicals": "practical",
}

// asPurpose reads what a lamp is for: the first word of the cell that says it.
func asPurpose(_ *sheet, c cell) (value, string) {
	for _, word := range strings.FieldsFunc(strings.ToLower(c.text), func(r rune) bool { return r < 'a' || r > 'z' }) {
		if purpose, known := purposesOf[word]; known {
			return value{source.String, purpose}, ""
		}
	}
	return value{source.String, c.text}, ""
}

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
	s.put(fixtureFields)
	s.putObject("hung_at", hungPoint)
	s.putAim("aimed_at", "aimed_at")
	s.shutters()
	if c, ok := s.get("filter"); !ok || !schema.NoColour(c.text) || s.holds(filter) > 1 {
		s.putObject("filter", filter)
	}
	s.putLists(fixtureLists)
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
			s.wholeAddress(address)
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
		s.wholeAddress(address)
	default:
		s.universeAndSlot(universe, slot, column)
		if hasAddress {
			s.bad("address", address, "stands beside a universe and a slot; those are used")
		}
	}
}

var (
	pairForm   = regexp.MustCompile(`^(?i)(?:universe|univ|uni|u)?\s*0*([0-9]{1,5})\s*[./:]\s*0*([0-9]{1,3})$`)
	letterForm = regexp.MustCompile(`^([A-Z])\s*[./:-]?\s*0*([0-9]{1,3})$`)
)

// wholeAddress writes an address as the format does, however its universe and slot
// stand side by side: 1/101, U1.101, A101. A number alone counts on from the first slot
// of universe 1, which is a guess, and marked as one.
func (s *sheet) wholeAddress(c cell) {
	text := c.text
	number, err := strconv.Atoi(text)
	switch {
	case pairForm.MatchString(text):
		m := pairForm.FindStringSubmatch(text)
		text = m[1] + "." + m[2]
	case letterForm.MatchString(text):
		m := letterForm.FindStringSubmatch(text)
		text = fmt.Sprintf("%d.%s", m[1][0]-'A'+1, m[2])
	case err == nil && number > 0 && number <= 63_999*512 && digits(text):
		text = fmt.Sprintf("%d.%d", (number-1)/512+1, (number-1)%512+1)
		if note := "addresses that count through from the first slot of universe 1"; !slices.Contains(s.told, note) {
			s.told = append(s.told, note)
		}
		s.begin("known", source.Object, c)
		s.part("address", value{source.String, "inferred"}, c)
		s.build.End(c.stop)
	}
	s.member("address", "address", value{source.String, text}, c)
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
