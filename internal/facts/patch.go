package facts

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// slotsPerUniverse is ANSI E1.11: 512 data slots in a packet, numbered from 1.
const slotsPerUniverse = 512

// Fixture is one line of the patch.
type Fixture struct {
	unknowns
	fixture *schema.Fixture

	Channel     int      `expr:"channel"`         // its channel
	FixtureName string   `expr:"name"`            // its name, or ""
	Type        string   `expr:"type"`            // the type the patch names
	Purpose     string   `expr:"purpose"`         // key, fill, back, side, top, wash, beam, effect, house, practical, haze, or ""
	Address     string   `expr:"address"`         // as written, or ""
	Universe    *int     `expr:"universe"`        // the universe of its address
	Slot        *int     `expr:"slot"`            // its first slot
	Slots       *int     `expr:"slots"`           // how many slots it listens to
	LastSlot    *int     `expr:"last_slot"`       // its last slot, beyond 512 if it runs over
	Overlaps    []string `expr:"overlaps"`        // fixtures earlier in the patch that listen to one of its slots, as "channel 3"
	Overlap     *int     `expr:"overlap_count"`   // how many those are
	FreeAddress *string  `expr:"free_address"`    // the lowest address where it would fit with nobody else
	Twins       []string `expr:"twins"`           // fixtures earlier in the patch on the same channel, as "address 1.5"
	TwinCount   int      `expr:"twin_count"`      // how many those are
	TypeKnown   *bool    `expr:"type_known"`      // whether the show describes its type
	NearestType *string  `expr:"nearest_type"`    // the described type whose name is most alike
	UsedInLooks *int     `expr:"used_in_looks"`   // in how many looks its channel is above zero
	NeedsCues   bool     `expr:"needs_cues"`      // whether cues should use it: true unless it is a house light
	IsKey       bool     `expr:"is_key"`          // whether its purpose is key
	Mixes       *bool    `expr:"white_by_mixing"` // whether it makes white only by mixing colours: it has colour emitters and no variable-white engine
	CRI         *float64 `expr:"cri"`             // the colour rendering index of its type
	TLCI        *float64 `expr:"tlci"`            // the television lighting consistency index of its type
	Role        *string  `expr:"geometry_role"`   // key, fill, side, back or top for the place it is aimed at, by azimuth and elevation
	AimPlace    string   `expr:"aimed_place"`     // that place, or ""
	Azimuth     *float64 `expr:"azimuth_deg"`     // how far to the side of the first camera it stands, as seen from there
	Elevation   *float64 `expr:"elevation_deg"`   // how high
	LensPct     *float64 `expr:"lens_pct"`        // of a back light: intensity towards the lens that gets most of it, as percent of that on its axis
	LensCamera  string   `expr:"lens_camera"`     // that camera
	PWMHz       *float64 `expr:"pwm_hz"`          // the frequency of its dimming
	BandPct     *float64 `expr:"band_depth_pct"`  // depth of the bands that this makes on the worst camera, at a tenth of its light
	BandCamera  string   `expr:"band_camera"`     // that camera
	BandShutter *float64 `expr:"band_shutter_s"`  // the shutter of that camera
	overlapRefs []*schema.Fixture
	twinRefs    []*schema.Fixture
}

// Names returns the channel.
func (f *Fixture) Names() []Name { return []Name{{"channel", strconv.Itoa(f.Channel)}} }

// Cue returns "": a line of the patch shows in no cue.
func (f *Fixture) Cue() string { return "" }

// Ref returns the line of the patch.
func (f *Fixture) Ref() source.Ref { return f.fixture.At }

// Label names the fixture for an order to a person.
func (f *Fixture) Label() string { return fmt.Sprintf("channel %d", f.Channel) }

// Edits changes a field of the line of the patch.
func (f *Fixture) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: f.fixture.At, Field: field, Value: value}}
}

// Others returns the lines of the patch that a fact of this one is about.
func (f *Fixture) Others(fact string) []source.Ref {
	var refs []source.Ref
	list := map[string][]*schema.Fixture{"overlaps": f.overlapRefs, "twins": f.twinRefs}[fact]
	for _, other := range list {
		refs = append(refs, other.At)
	}
	return refs
}

func measureFixtures(r *rig, looks []tracking.Look) []*Fixture {
	used := usedChannels(looks, r.show.Patch)
	taken := newSlotMap(r)
	typeNames := make([]string, 0, len(r.show.Types))
	for _, t := range r.show.Types {
		typeNames = append(typeNames, t.Name)
	}
	twins := map[int][]*schema.Fixture{}
	fixtures := make([]*Fixture, 0, len(r.show.Patch))
	for _, raw := range r.show.Patch {
		f := &Fixture{
			fixture: raw, Channel: raw.Channel, FixtureName: raw.Name, Type: raw.Type,
			Purpose: raw.Purpose, Address: raw.Address, NeedsCues: raw.Purpose != "house",
		}
		f.measureAddress(r, taken)
		f.measureType(r, typeNames)
		f.twinRefs = twins[raw.Channel]
		for _, twin := range f.twinRefs {
			f.Twins = append(f.Twins, addressLabel(twin))
		}
		f.TwinCount = len(f.Twins)
		twins[raw.Channel] = append(twins[raw.Channel], raw)
		if len(looks) > 0 {
			f.UsedInLooks = new(used[raw.Channel])
		} else {
			f.lacks("used_in_looks", "the cue list")
		}
		fixtures = append(fixtures, f)
	}
	return fixtures
}

// fillOptics tells what a fixture does to lenses and sensors, and whether its place
// in the room fits its purpose.
func (f *Fixture) fillOptics(s *scene, used bool) {
	if st, lack := s.standingOf(f.fixture); lack == "" {
		f.Role, f.AimPlace = new(string(st.role)), st.place
		f.Azimuth, f.Elevation = &st.bearing.AzimuthDeg, &st.bearing.ElevationDeg
	} else {
		f.lackAll([]string{"geometry_role", "azimuth_deg", "elevation_deg"}, lack)
	}
	if f.Purpose == "back" {
		pct, camera, missing := s.intoLens(f.fixture)
		f.LensCamera = camera
		if f.lacks("lens_pct", missing...); len(missing) == 0 {
			f.LensPct = &pct
		}
	}
	f.fillBands(s.rig, used)
}

func (f *Fixture) fillBands(r *rig, used bool) {
	t := r.types[f.Type]
	facts := []string{"pwm_hz", "band_depth_pct", "band_shutter_s"}
	if t == nil || t.PWMHz == nil {
		f.lackAll(facts, fmt.Sprintf("the PWM frequency of the type %q", f.Type))
		return
	}
	if !used {
		f.lackAll(facts, fmt.Sprintf("a cue that lights the fixture on channel %d", f.Channel))
		return
	}
	f.PWMHz = t.PWMHz
	worst, missing := r.bandsOf(t)
	if f.lackAll(facts[1:], missing...); len(missing) == 0 {
		f.BandPct, f.BandShutter, f.BandCamera = &worst.depthPct, &worst.shutterS, worst.camera
	}
}

func addressLabel(f *schema.Fixture) string {
	if f.Address == "" {
		return "a fixture without address"
	}
	return "address " + f.Address
}

func (f *Fixture) measureAddress(r *rig, taken *slotMap) {
	slots, missing := r.slots(f.fixture)
	f.Slots = slots
	if slots == nil {
		for _, fact := range []string{"slots", "last_slot", "overlap_count", "free_address"} {
			f.lacks(fact, missing)
		}
	}
	address, err := schema.ParseAddress(f.fixture.Address)
	if err != nil {
		for _, fact := range []string{"universe", "slot", "last_slot", "overlap_count"} {
			f.lacks(fact, fmt.Sprintf("the address of the fixture on channel %d", f.Channel))
		}
	} else {
		f.Universe, f.Slot = &address.Universe, &address.Slot
		if slots != nil {
			f.LastSlot = new(address.Slot + *slots - 1)
			f.overlapRefs = taken.claim(f.fixture, address, *slots)
			for _, other := range f.overlapRefs {
				f.Overlaps = append(f.Overlaps, fmt.Sprintf("channel %d", other.Channel))
			}
			f.Overlap = new(len(f.Overlaps))
		}
	}
	if slots != nil {
		if free, ok := taken.free(address.Universe, *slots); ok {
			f.FreeAddress = new(free.String())
		} else {
			f.lacks("free_address", fmt.Sprintf("a universe with %d free slots in a row", *slots))
		}
	}
}

func (f *Fixture) measureType(r *rig, typeNames []string) {
	f.IsKey = f.Purpose == "key"
	if t := r.types[f.Type]; t != nil {
		f.CRI, f.TLCI = t.CRI, t.TLCI
		if t.CRI == nil {
			f.lacks("cri", fmt.Sprintf("the colour rendering index of the type %q", f.Type))
		}
		if t.TLCI == nil {
			f.lacks("tlci", fmt.Sprintf("the television lighting consistency index of the type %q", f.Type))
		}
		if t.Source != "" {
			_, _, variable := whiteRange(t)
			f.Mixes = new(t.Source == "colour-led" && !variable)
		}
	}
	if r.types[f.Type] == nil {
		f.lacks("cri", fmt.Sprintf("the type %q, with its colour rendering", f.Type))
		f.lacks("tlci", fmt.Sprintf("the type %q, with its colour rendering", f.Type))
	}
	if f.Mixes == nil {
		f.lacks("white_by_mixing", fmt.Sprintf("the light source of the type %q", f.Type))
	}
	if r.show.Types == nil {
		f.lacks("type_known", "the types of fixture in the rig")
		f.lacks("nearest_type", "the types of fixture in the rig")
		return
	}
	f.TypeKnown = new(r.types[f.Type] != nil)
	if near := spelling.Nearest(f.Type, typeNames); near != "" {
		f.NearestType = &near
	} else {
		f.lacks("nearest_type", "a type with a name like it")
	}
}

// usedChannels counts for each patched channel the looks in which it is above zero.
func usedChannels(looks []tracking.Look, patch []*schema.Fixture) map[int]int {
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

// slotMap knows which fixture listens to which slot.
type slotMap struct {
	rig    *rig
	owners map[int][]*schema.Fixture     // universe -> by slot-1, the first to claim it
	full   map[int][]bool                // universe -> by slot-1, whether anyone at all listens there
	found  map[footprint]*schema.Address // what free has found; nil where there is none
}

// footprint is a number of slots in a universe.
type footprint struct{ universe, count int }

func newSlotMap(r *rig) *slotMap {
	m := &slotMap{rig: r, owners: map[int][]*schema.Fixture{}, full: map[int][]bool{}, found: map[footprint]*schema.Address{}}
	for _, f := range r.show.Patch {
		address, err := schema.ParseAddress(f.Address)
		slots, _ := r.slots(f)
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

// claim gives the fixture its slots and returns those who had some of them.
func (m *slotMap) claim(f *schema.Fixture, address schema.Address, count int) []*schema.Fixture {
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

// free returns the lowest address with room, first in the given universe and
// then in the ones that the patch uses, in order.
func (m *slotMap) free(universe, count int) (schema.Address, bool) {
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

func (m *slotMap) search(universe, count int) *schema.Address {
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

// Circuit is one protected outlet or dimmer feed, with all that is plugged into it.
type Circuit struct {
	unknowns
	circuit *schema.Circuit

	CircuitName string   `expr:"name"`         // its name
	LoadW       *float64 `expr:"load_w"`       // watts of everything on it at full
	LoadA       *float64 `expr:"load_a"`       // amperes of that, with each type's power factor where given
	RatedA      *float64 `expr:"rated_a"`      // amperes of its protection
	LoadPct     *float64 `expr:"load_pct"`     // load as percent of its protection
	Channels    []int    `expr:"channels"`     // what is plugged into it
	MoveChannel *int     `expr:"move_channel"` // the smallest load that has to leave for it to be at 80 % or less
	MoveTo      *string  `expr:"move_to"`      // a circuit that can take that load and stay at 80 % or less
	Mover       *Fixture `expr:"mover"`        // the fixture of move_channel
}

// continuousShare is NFPA 70, 210.20(A): protection must be at least 125 % of a
// continuous load, so that load may use 80 % of it. Other countries rate
// otherwise; the rule's limit can be changed, this is the aim of the proposal.
const continuousShare = 0.8

// Names returns the circuit.
func (c *Circuit) Names() []Name { return []Name{{"circuit", c.CircuitName}} }

// Cue returns "": a circuit shows in no cue.
func (c *Circuit) Cue() string { return "" }

// Ref returns where the circuit stands.
func (c *Circuit) Ref() source.Ref { return c.circuit.At }

// Label names the circuit for an order to a person.
func (c *Circuit) Label() string { return "circuit " + c.CircuitName }

// Edits changes a field of the circuit.
func (c *Circuit) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: c.circuit.At, Field: field, Value: value}}
}

func measureCircuits(r *rig) []*Circuit {
	if r.show.Room == nil {
		return nil
	}
	var circuits []*Circuit
	for _, raw := range r.show.Room.Circuits {
		c := &Circuit{circuit: raw, CircuitName: raw.Name, RatedA: raw.Amps}
		c.measureLoad(r)
		circuits = append(circuits, c)
	}
	for _, c := range circuits {
		c.proposeMove(r, circuits)
	}
	return circuits
}

// mostWatts is more than any circuit carries, and few enough to be added up.
const mostWatts = 1e12

func (c *Circuit) measureLoad(r *rig) {
	if c.RatedA != nil && *c.RatedA <= 0 {
		c.RatedA = nil
	}
	if c.RatedA == nil {
		c.lacks("rated_a", fmt.Sprintf("the amps of circuit %s", c.CircuitName))
	}
	volts := c.circuit.Volts
	if volts == nil || *volts <= 0 {
		volts = nil
		c.lacks("load_a", fmt.Sprintf("the volts of circuit %s", c.CircuitName))
		c.lacks("load_pct", fmt.Sprintf("the volts of circuit %s", c.CircuitName))
	}
	watts, amps, complete := 0.0, 0.0, true
	for _, f := range r.show.Patch {
		if f.Circuit != c.CircuitName {
			continue
		}
		c.Channels = append(c.Channels, f.Channel)
		load, missing := r.watts(f)
		if missing != "" {
			complete = false
			for _, fact := range []string{"load_w", "load_a", "load_pct"} {
				c.lacks(fact, missing)
			}
			continue
		}
		watts += load
		if volts != nil {
			amps += load / r.powerFactor(f) / *volts
		}
	}
	if !complete {
		return
	}
	if !(watts <= mostWatts && amps <= mostWatts) {
		for _, fact := range []string{"load_w", "load_a", "load_pct"} {
			c.lacks(fact, fmt.Sprintf("watts, power factors and volts of circuit %s that a circuit can have", c.CircuitName))
		}
		return
	}
	c.LoadW = &watts
	if volts == nil {
		return
	}
	c.LoadA = &amps
	if c.RatedA == nil {
		c.lacks("load_pct", fmt.Sprintf("the amps of circuit %s", c.CircuitName))
		return
	}
	if share := amps / *c.RatedA; share <= mostWatts {
		c.LoadPct = new(100 * share)
	} else {
		c.lacks("load_pct", fmt.Sprintf("the amps of circuit %s that a circuit can have", c.CircuitName))
	}
}

// watts returns what a fixture draws at full, or what is missing to know it.
func (r *rig) watts(f *schema.Fixture) (float64, string) {
	t := r.types[f.Type]
	switch {
	case t == nil && f.Type == "":
		return 0, fmt.Sprintf("the type of the fixture on channel %d", f.Channel)
	case t == nil:
		return 0, fmt.Sprintf("the type %q, with its watts", f.Type)
	case t.Watts == nil || *t.Watts < 0:
		return 0, fmt.Sprintf("the watts of the type %q", f.Type)
	}
	return *t.Watts, ""
}

// powerFactor is the type's, or 1: a filament lamp. A missing power factor makes
// the load of an LED driver look a little smaller than it is.
func (r *rig) powerFactor(f *schema.Fixture) float64 {
	if t := r.types[f.Type]; t != nil && t.PowerFactor != nil && *t.PowerFactor > 0 && *t.PowerFactor <= 1 {
		return *t.PowerFactor
	}
	return 1
}

// proposeMove finds the smallest load whose leaving is enough, and the emptiest
// circuit of the same voltage that can take it.
func (c *Circuit) proposeMove(r *rig, all []*Circuit) {
	if c.LoadPct == nil || *c.LoadPct <= 100*continuousShare {
		return
	}
	excess := *c.LoadA - continuousShare*(*c.RatedA)
	best := math.Inf(1)
	for _, f := range r.show.Patch {
		if f.Circuit != c.CircuitName {
			continue
		}
		watts, _ := r.watts(f)
		amps := watts / r.powerFactor(f) / *c.circuit.Volts
		if amps < excess || amps >= best {
			continue
		}
		if to := roomiest(c, all, amps); to != "" {
			best = amps
			c.MoveChannel, c.MoveTo = new(f.Channel), &to
			c.Mover = &Fixture{fixture: f, Channel: f.Channel}
		}
	}
	if c.MoveChannel == nil {
		phrase := "a circuit with room for what has to leave it"
		c.lacks("move_channel", phrase)
		c.lacks("move_to", phrase)
	}
}

func roomiest(from *Circuit, all []*Circuit, amps float64) string {
	name, most := "", -1.0
	for _, c := range all {
		if c == from || c.LoadPct == nil || *c.circuit.Volts != *from.circuit.Volts {
			continue
		}
		if spare := continuousShare*(*c.RatedA) - *c.LoadA - amps; spare >= 0 && spare > most {
			name, most = c.CircuitName, spare
		}
	}
	return name
}

// Cue is one cue as it is written, before tracking.
type Cue struct {
	unknowns
	cue *schema.Cue

	Number     string        `expr:"number"`             // its number
	CueName    string        `expr:"name"`               // its name, or ""
	Unpatched  []int         `expr:"unpatched"`          // the first hundred channels it sets that no fixture has
	Count      *int          `expr:"unpatched_count"`    // how many channels it sets that no fixture has
	Settings   []*CueSetting `expr:"unpatched_settings"` // the settings that mention them
	ChannelTxt string        `expr:"unpatched_text"`     // the same channels, as "41, 43-45"
}

// mostUnpatched is how many channels are listed one by one: no hall puts right more
// of them by hand, and a slip such as 1-99999 must not fill the memory.
const mostUnpatched = 100

// CueSetting is one setting of a cue that mentions channels that no fixture has.
type CueSetting struct {
	setting *schema.Setting
	cue     string
	// The channels of the setting that are patched, as "1-6, 9"; nil if there are none.
	Remaining *string `expr:"patched_channels"`
}

// Names returns the cue.
func (c *Cue) Names() []Name { return []Name{{"cue", c.Number}} }

// Cue returns the number of the cue.
func (c *Cue) Cue() string { return c.Number }

// Ref returns where the cue stands.
func (c *Cue) Ref() source.Ref { return c.cue.At }

// Others returns the settings that mention unpatched channels.
func (c *Cue) Others(string) []source.Ref {
	var refs []source.Ref
	for _, s := range c.Settings {
		refs = append(refs, s.setting.At)
	}
	return refs
}

// Label names the setting for an order to a person.
func (s *CueSetting) Label() string { return "cue " + s.cue }

// Edits changes a field of the setting; taking the channels away removes it.
func (s *CueSetting) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: s.setting.At, Field: field, Value: value}}
}

func measureCues(r *rig) []*Cue {
	cues := make([]*Cue, 0, len(r.show.Cues))
	for _, raw := range r.show.Cues {
		c := &Cue{cue: raw, Number: raw.Number.String(), CueName: raw.Name}
		if r.show.Patch == nil {
			c.lacks("unpatched_count", "the patch: which channel is which fixture")
			cues = append(cues, c)
			continue
		}
		var lists []schema.Ranges
		for _, setting := range raw.Set {
			lists = append(lists, c.measureSetting(r, setting))
		}
		unpatched := schema.Joined(lists...)
		c.Count = new(unpatched.Count())
		c.Unpatched = unpatched.First(mostUnpatched)
		c.ChannelTxt = source.Shorten(unpatched.String())
		cues = append(cues, c)
	}
	return cues
}

// measureSetting returns the channels that the setting gives and no fixture has.
func (c *Cue) measureSetting(r *rig, setting *schema.Setting) schema.Ranges {
	unpatched := r.show.Unpatched(setting.Channels)
	if len(unpatched) == 0 {
		return nil
	}
	s := &CueSetting{setting: setting, cue: c.Number}
	if patched, err := r.show.Channels(setting.Channels); err == nil && len(patched) > 0 {
		s.Remaining = new(strings.ReplaceAll(schema.FormatChannels(patched), " ", ""))
	}
	c.Settings = append(c.Settings, s)
	return unpatched
}
