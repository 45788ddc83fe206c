package facts

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Fixture is one line of the patch.
type Fixture struct {
	unknowns
	fixture *schema.Fixture

	Channel     int      `expr:"channel"`         // its channel
	FixtureName string   `expr:"name"`            // its name, or ""
	Type        string   `expr:"type"`            // the type the patch names
	Mode        string   `expr:"mode"`            // the mode the patch names, or ""
	ModeKnown   *bool    `expr:"mode_known"`      // whether its type has that mode; true where the patch names none, or the type tells no modes
	TwinMode    *string  `expr:"twin_mode"`       // the mode that most other fixtures of its type have, else the only one of the type
	ModesText   string   `expr:"modes_text"`      // the modes of its type, as "six and ten"
	Purpose     string   `expr:"purpose"`         // key, fill, back, side, top, wash, beam, effect, house, practical, haze, or ""
	Address     string   `expr:"address"`         // as written, or ""
	ByHand      bool     `expr:"is_by_hand"`      // whether its name or type says that it is worked by hand, as "hand dimmer" and "wall switch" do
	Addressed   float64  `expr:"addressed_pct"`   // the part of the patch that has an address, in percent
	Universe    *int     `expr:"universe"`        // the universe of its address
	Slot        *int     `expr:"slot"`            // its first slot
	Slots       *int     `expr:"slots"`           // how many slots it listens to
	LastSlot    *int     `expr:"last_slot"`       // its last slot, beyond 512 if it runs over
	Overlaps    []string `expr:"overlaps"`        // fixtures earlier in the patch that listen to one of its slots, as "channel 3"
	Overlap     *int     `expr:"overlap_count"`   // how many those are
	FreeAddress *string  `expr:"free_address"`    // the lowest address where it would fit with nobody else
	Twins       []string `expr:"twins"`           // fixtures earlier in the patch on the same channel and not meant as one, as "address 1.5"; behind the first eight "3 more"
	TwinCount   int      `expr:"twin_count"`      // how many those are
	TypeKnown   *bool    `expr:"type_known"`      // whether the show describes its type
	NearestType *string  `expr:"nearest_type"`    // the described type whose name is most alike
	UsedInLooks *int     `expr:"used_in_looks"`   // in how many looks its channel is above zero
	NeedsCues   bool     `expr:"needs_cues"`      // whether cues should use it: true unless it is a house light or makes haze, which hands may do
	IsKey       bool     `expr:"is_key"`          // whether its purpose is key
	FaceShare   *float64 `expr:"face_share"`      // the most that its white light is of all light on a face in any look, 0 to 1; 0 where it lights none
	FacePlace   string   `expr:"face_place"`      // the place of that face
	FaceCue     string   `expr:"face_cue"`        // the first cue in which that is so
	Mixes       *bool    `expr:"white_by_mixing"` // whether it makes white only by mixing colours: it has colour emitters and no variable-white engine
	CRI         *float64 `expr:"cri"`             // the colour rendering index of its type
	TLCI        *float64 `expr:"tlci"`            // the television lighting consistency index of its type
	Role        *string  `expr:"geometry_role"`   // key, fill, side, back or top for the place it is aimed at, by azimuth and elevation
	AimPlace    string   `expr:"aimed_place"`     // that place, or ""
	Azimuth     *float64 `expr:"azimuth_deg"`     // how far to the side of the main camera (or of the first) it stands, as seen from there
	Elevation   *float64 `expr:"elevation_deg"`   // how high
	LensPct     *float64 `expr:"lens_pct"`        // of a lamp that is for no face: intensity towards the lens that gets most of it, as percent of that on its axis
	LensCamera  string   `expr:"lens_camera"`     // that camera
	EyesPct     *float64 `expr:"eyes_pct"`        // intensity towards the eyes of the house that get most of it, as percent of that on its axis
	EyesLux     *float64 `expr:"eyes_lx"`         // the most light that arrives at eyes of the house, with the fixture at full
	EyesAbove   *float64 `expr:"eyes_above_deg"`  // how high above these eyes the fixture stands, as they see it; below 0 under them
	EyesArea    string   `expr:"eyes_area"`       // the area of these eyes
	HasAudience bool     `expr:"house_is_known"`  // whether the room says where people sit or walk in the house
	PWMHz       *float64 `expr:"pwm_hz"`          // the frequency of its dimming
	BandPct     *float64 `expr:"band_depth_pct"`  // depth of the bands that this makes on the worst camera, in the look that dims it most
	BandCamera  string   `expr:"band_camera"`     // that camera
	BandShutter *float64 `expr:"band_shutter_s"`  // the shutter of that camera
	BandLight   *float64 `expr:"band_light_pct"`  // the part of its light that it gives in that look, in percent
	BandCue     string   `expr:"band_cue"`        // the first cue of such a look
	all         *Measured
	overlapRefs []*schema.Fixture
	twinRefs    []*schema.Fixture
}

// Names returns the channel.
func (f *Fixture) Names() []Name { return []Name{{"channel", strconv.Itoa(f.Channel)}} }

// Why returns what would make the fact known.
func (f *Fixture) Why(fact string) []string {
	return f.ofType(named(f.unknowns.Why(fact), "channel", strconv.Itoa(f.Channel)), thisType, strconv.Quote(f.Type))
}

// lacks and lackAll record what is missing in the words that it has in common with its
// neighbours, or a long patch of which nobody tells more would have them all for each line.
func (f *Fixture) lacks(fact string, phrases ...string) {
	f.unknowns.lacks(fact, f.inCommon(phrases)...)
}

func (f *Fixture) lackAll(facts []string, phrases ...string) {
	f.unknowns.lackAll(facts, f.inCommon(phrases)...)
}

// thisType stands for the type of a fixture, as thisOne for its channel.
const thisType = "\x01"

func (f *Fixture) inCommon(phrases []string) []string {
	return unnamed(f.ofType(phrases, strconv.Quote(f.Type), thisType), "channel", strconv.Itoa(f.Channel))
}

// ofType calls the type of the fixture otherwise, where phrases speak of it.
func (f *Fixture) ofType(phrases []string, was, is string) []string {
	was, is = "the type "+was, "the type "+is
	if !slices.ContainsFunc(phrases, func(phrase string) bool { return strings.Contains(phrase, was) }) {
		return phrases
	}
	words := make([]string, len(phrases))
	for i, phrase := range phrases {
		words[i] = strings.ReplaceAll(phrase, was, is)
	}
	return words
}

// Basis returns what a fact rests on.
func (f *Fixture) Basis(fact string) finding.Basis {
	b := f.unknowns.Basis(fact)
	b.Missing = f.Why(fact)
	return b
}

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

// isUsed reports whether any look lights it.
func (f *Fixture) isUsed() bool { return f.UsedInLooks != nil && *f.UsedInLooks > 0 }

// Others returns the lines of the patch that a fact of this one is about.
func (f *Fixture) Others(fact string) []source.Ref {
	var refs []source.Ref
	list := map[string][]*schema.Fixture{"overlaps": f.overlapRefs, "twins": f.twinRefs}[fact]
	for _, other := range list {
		refs = append(refs, other.At)
	}
	return refs
}

func (m *Measured) measureFixtures(r *stage.Rig, looks []tracking.Look) []*Fixture {
	used := stage.UsedChannels(looks, r.Show.Patch)
	taken := stage.NewSlotMap(r)
	nearest := nearestTypes{of: map[string]string{}}
	for _, t := range r.Show.Types {
		nearest.names = append(nearest.names, t.Name)
	}
	twins, modes := map[int]*channelFixtures{}, modesOf(r)
	addressed := 0
	for _, raw := range r.Show.Patch {
		if raw.Address != "" {
			addressed++
		}
	}
	fixtures, list := make([]*Fixture, 0, len(r.Show.Patch)), make([]Fixture, len(r.Show.Patch))
	kinds := map[[2]string]*Fixture{} // what type and mode tell, for all that have both
	var near neighbours
	var uncued alike
	for i, raw := range r.Show.Patch {
		kind := kinds[[2]string{raw.Type, raw.Mode}]
		if kind == nil {
			kind = &Fixture{all: m, Type: raw.Type, Mode: raw.Mode, Addressed: 100 * float64(addressed) / float64(len(r.Show.Patch))}
			kind.measureType(r, &nearest)
			kind.measureMode(r, modes)
			kind.lend()
			kinds[[2]string{raw.Type, raw.Mode}] = kind
		}
		f := &list[i]
		*f = *kind
		f.fixture, f.Channel, f.FixtureName, f.Address = raw, raw.Channel, raw.Name, raw.Address
		f.Purpose, f.IsKey, f.NeedsCues = raw.Purpose, raw.Purpose == "key", raw.Purpose != "house" && raw.Purpose != "haze"
		f.ByHand = saysByHand(raw.Name) || saysByHand(raw.Type)
		f.measureAddress(r, taken)
		before := twins[raw.Channel]
		if before == nil {
			before = &channelFixtures{}
			twins[raw.Channel] = before
		}
		if raw.AsOne != nil && *raw.AsOne {
			before = &channelFixtures{} // it is no other lamp by mistake
		}
		f.TwinCount, f.twinRefs, f.Twins = before.count, slices.Clip(before.first), slices.Clip(before.labels)
		if more := f.TwinCount - len(f.twinRefs); more > 0 {
			f.Twins = slices.Concat(f.Twins, []string{fmt.Sprintf("%d more", more)})
		}
		if before.count++; len(before.first) < mostListed {
			before.first, before.labels = append(before.first, raw), append(before.labels, addressLabel(raw))
		}
		if len(looks) > 0 {
			f.UsedInLooks = new(used[raw.Channel])
		} else {
			uncued.tell(&f.unknowns, func() { f.lacks("used_in_looks", "the cue list") })
		}
		near.share(&f.unknowns)
		fixtures = append(fixtures, f)
	}
	return fixtures
}

// modesOf counts the modes that fixtures of each type have, of those that the type has.
func modesOf(r *stage.Rig) map[string]map[string]int {
	modes := map[string]map[string]int{}
	for _, f := range r.Show.Patch {
		if t := r.Types[f.Type]; t != nil && hasMode(t, f.Mode) {
			if modes[f.Type] == nil {
				modes[f.Type] = map[string]int{}
			}
			modes[f.Type][f.Mode]++
		}
	}
	return modes
}

func hasMode(t *schema.Type, name string) bool {
	return slices.ContainsFunc(t.Modes, func(m *schema.Mode) bool { return m.Name == name })
}

// measureMode looks for the mode of the fixture among those of its type. Like measureType it names no
// channel: it is for all fixtures of the type and the mode.
func (f *Fixture) measureMode(r *stage.Rig, modes map[string]map[string]int) {
	t := r.Types[f.Type]
	if t == nil {
		f.lackAll([]string{"mode_known", "twin_mode"}, fmt.Sprintf("the type %q, with its modes", f.Type))
		return
	}
	f.ModeKnown = new(f.Mode == "" || len(t.Modes) == 0 || hasMode(t, f.Mode))
	names := make([]string, len(t.Modes))
	best := ""
	for i, mode := range t.Modes {
		names[i] = mode.Name
		if count := modes[f.Type][mode.Name]; count > 0 && (best == "" || count > modes[f.Type][best]) {
			best = mode.Name
		}
	}
	f.ModesText = spelling.List(names)
	if best == "" && len(t.Modes) == 1 {
		best = t.Modes[0].Name
	}
	if f.TwinMode = &best; best == "" {
		f.TwinMode = nil
		f.lacks("twin_mode", fmt.Sprintf("another fixture of the type %q whose mode the type has", f.Type))
	}
}

// IsParked tells whether a cue puts the fixture at zero by itself, or with others that
// no cue lights either: somebody has thought of it.
func (f *Fixture) IsParked() bool { return f.all.back.parked()[f.Channel] }

// parked are the channels that no look lights and that a cue puts at zero on purpose.
func (b *back) parked() map[int]bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.resting != nil {
		return b.resting
	}
	if was := b.all.before; was != nil && b.rig.CuedAs(was.back.rig) {
		b.resting = was.back.parked()
		return b.resting
	}
	b.resting = map[int]bool{}
	dark := map[int]bool{}
	for _, f := range b.all.Fixtures {
		dark[f.Channel] = f.UsedInLooks != nil && *f.UsedInLooks == 0
	}
	done := map[string]bool{"all": true}
	for _, cue := range b.rig.Show.Cues {
		for _, set := range cue.Set {
			if set.Level == nil || *set.Level > 0 || done[set.Channels] {
				continue
			}
			done[set.Channels] = true
			channels, _ := b.rig.Show.Channels(set.Channels)
			if slices.ContainsFunc(channels, func(channel int) bool { return !dark[channel] }) {
				continue
			}
			for _, channel := range channels {
				b.resting[channel] = true
			}
		}
	}
	return b.resting
}

// mostListed is how many fixtures on one channel are named beside each of them: a
// thousand of them by each other would be half a million.
const mostListed = 8

// channelFixtures are the fixtures on a channel so far.
type channelFixtures struct {
	first  []*schema.Fixture
	labels []string // of these
	count  int
}

// opticFacts are those of fillOptics of which something can be missing.
var opticFacts = []string{"geometry_role", "azimuth_deg", "elevation_deg", "eyes_pct", "eyes_lx", "eyes_above_deg", "lens_pct"}

// eyesFacts are those of them that tell of eyes of the house.
var eyesFacts = []string{"eyes_pct", "eyes_lx", "eyes_above_deg"}

// seenAs takes over what fillOptics told of the same fixture that shone as this one does;
// false if looks use only one of them.
func (f *Fixture) seenAs(was *Fixture) bool {
	if f.isUsed() != was.isUsed() {
		return false
	}
	f.Role, f.AimPlace, f.Azimuth, f.Elevation = was.Role, was.AimPlace, was.Azimuth, was.Elevation
	f.HasAudience, f.EyesPct, f.EyesLux, f.EyesAbove, f.EyesArea = was.HasAudience, was.EyesPct, was.EyesLux, was.EyesAbove, was.EyesArea
	f.LensPct, f.LensCamera = was.LensPct, was.LensCamera
	for _, fact := range opticFacts {
		f.lacks(fact, was.Why(fact)...)
	}
	return true
}

// fillOptics tells what a fixture does to lenses and eyes, and whether its place in the
// room fits its purpose.
func (f *Fixture) fillOptics(s *stage.Room) {
	st, lack := s.StandingOf(f.fixture)
	if how := f.fixture.Known.Of("hung_at").Word; lack == "" && how == "inferred" {
		lack = fmt.Sprintf("where on %q the fixture on channel %d hangs", f.fixture.HungOn, f.Channel)
	}
	if lack == "" {
		f.Role, f.AimPlace = new(string(st.Role)), st.Place
		f.Azimuth, f.Elevation = &st.Bearing.AzimuthDeg, &st.Bearing.ElevationDeg
	} else {
		f.lackAll([]string{"geometry_role", "azimuth_deg", "elevation_deg"}, lack)
	}
	if f.HasAudience = s.HasAudience(); f.HasAudience && f.isUsed() {
		pct, lux, above, area, missing := s.IntoEyes(f.fixture)
		f.EyesArea = area
		if f.lackAll(eyesFacts, missing...); len(missing) == 0 {
			f.EyesPct, f.EyesLux, f.EyesAbove = &pct, &lux, &above
		}
	} else if f.HasAudience {
		f.lackAll(eyesFacts, "a look that lights the fixture")
	} else {
		f.lackAll(eyesFacts, "the areas of the room in which people sit and walk")
	}
	if !slices.Contains([]string{"key", "fill", "house", "practical", "haze"}, f.Purpose) {
		pct, camera, missing := s.IntoLens(f.fixture)
		f.LensCamera = camera
		if f.lacks("lens_pct", missing...); len(missing) == 0 {
			f.LensPct = &pct
		}
	}
}

// restOnPurpose says of light in the eyes of the house that it rests on a lamp being none for the house, which shines there on
// purpose.
func (f *Fixture) restOnPurpose() {
	if f.Purpose != "" || f.EyesPct == nil {
		return
	}
	as := finding.Basis{Known: finding.Inferred, Rests: []string{fmt.Sprintf("channel %d being no house light, since nobody says what it is for", f.Channel)}}
	f.rests("eyes_pct", as)
	f.rests("eyes_lx", as)
}

// byHand are words by which people say of a lamp that no console works it. Common practice, no source.
var byHand = []string{"hand dimmer", "by hand", "hand operated", "manual dimmer", "wall dimmer", "wall switch", "light switch", "battery"}

// saysByHand looks for them as whole words: a standby handrail is none.
func saysByHand(text string) bool {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) })
	said := " " + strings.Join(words, " ") + " "
	return slices.ContainsFunc(byHand, func(words string) bool { return strings.Contains(said, " "+words+" ") })
}

var bandFacts = []string{"pwm_hz", "band_depth_pct", "band_shutter_s", "band_light_pct"}

func (f *Fixture) fillBands(r *stage.Rig, used bool, looks []*Look) {
	t, facts := r.Types[f.Type], bandFacts
	if t == nil || t.PWMHz == nil {
		f.lackAll(facts, fmt.Sprintf("the PWM frequency of the type %q", f.Type))
		return
	}
	if !used {
		f.lackAll(facts, "a cue that lights the fixture on "+thisOne)
		return
	}
	f.PWMHz = t.PWMHz
	if *t.PWMHz == 0 { // as the format says: it is not switched
		f.BandPct = new(0.0)
		f.lackAll([]string{"band_shutter_s", "band_light_pct"}, fmt.Sprintf("dimming by switching, which the type %q does not do", f.Type))
		return
	}
	worst, missing := r.BandsOf(f.fixture)
	if f.lackAll(facts[1:], missing...); len(missing) == 0 {
		f.BandPct, f.BandShutter, f.BandCamera = &worst.DepthPct, &worst.ShutterS, worst.Camera
		f.BandLight, f.BandCue = &worst.LightPct, looks[worst.Look].Number
	}
}

// fillFaceShares tells which fixtures light faces: what lands decides, not what a lamp
// is called.
func (m *Measured) fillFaceShares() {
	known := false
	for _, p := range m.People {
		known = known || p.FaceLux != nil
		if p.DarkStops != nil && *p.DarkStops > darkFace {
			continue // most of next to nothing makes nobody's colours
		}
		for _, s := range p.lit {
			f := m.Fixtures[s.line]
			if f.FaceShare == nil || stage.Clearly(float64(s.part), *f.FaceShare) {
				f.FaceShare, f.FacePlace, f.FaceCue = new(float64(s.part)), p.Place, p.Number
			}
		}
	}
	var same alike
	for _, f := range m.Fixtures {
		switch {
		case !known:
			same.tell(&f.unknowns, func() {
				f.lacks("face_share", "the light on the faces: places, cameras, and where lamps hang and point")
			})
		case f.FaceShare == nil:
			f.FaceShare = new(0.0)
		}
	}
}

func addressLabel(f *schema.Fixture) string {
	if f.Address == "" {
		return "a fixture without address"
	}
	return "address " + f.Address
}

func (f *Fixture) measureAddress(r *stage.Rig, taken *stage.SlotMap) {
	slots, missing := r.Slots(f.fixture)
	f.Slots = slots
	if slots == nil {
		f.lackAll([]string{"slots", "last_slot", "free_address"}, missing)
	}
	address, err := schema.ParseAddress(f.fixture.Address)
	if err != nil {
		f.lackAll([]string{"universe", "slot", "last_slot", "overlap_count"}, "the address of the fixture on "+thisOne)
	} else {
		f.Universe, f.Slot = &address.Universe, &address.Slot
		heard := 1 // whatever it is, it listens to the slot at which it starts
		if slots != nil {
			f.LastSlot, heard = new(address.Slot+*slots-1), *slots
		}
		f.overlapRefs = slices.DeleteFunc(taken.Claim(f.fixture, address, heard), func(other *schema.Fixture) bool { return asOne(f.fixture, other) })
		for _, other := range f.overlapRefs {
			f.Overlaps = append(f.Overlaps, fmt.Sprintf("channel %d", other.Channel))
		}
		if f.Overlap = new(len(f.Overlaps)); slots == nil && *f.Overlap == 0 {
			f.Overlap = nil
			f.lacks("overlap_count", missing)
		}
	}
	if slots != nil {
		if free, ok := taken.Free(address.Universe, *slots); ok {
			f.FreeAddress = new(free.String())
		} else {
			f.lacks("free_address", fmt.Sprintf("a universe with %d free addresses in a row", *slots))
		}
	}
}

// asOne reports whether two fixtures do the same on purpose: somebody said so of one of
// them, and they have one channel, or one address of one type and mode.
func asOne(a, b *schema.Fixture) bool {
	said := a.AsOne != nil && *a.AsOne || b.AsOne != nil && *b.AsOne
	return said && (a.Channel == b.Channel || a.Address == b.Address && a.Type == b.Type && a.Mode == b.Mode)
}

// nearestTypes looks for the types with a name like another, once for each.
type nearestTypes struct {
	names []string
	of    map[string]string
}

func (n *nearestTypes) to(name string) string {
	near, done := n.of[name]
	if !done {
		near = spelling.Nearest(name, n.names)
		n.of[name] = near
	}
	return near
}

func (f *Fixture) measureType(r *stage.Rig, nearest *nearestTypes) {
	if t := r.Types[f.Type]; t != nil {
		f.CRI, f.TLCI = t.CRI, t.TLCI
		if t.CRI == nil {
			f.lacks("cri", fmt.Sprintf("the colour rendering index of the type %q", f.Type))
		}
		if t.TLCI == nil {
			f.lacks("tlci", fmt.Sprintf("the television lighting consistency index of the type %q", f.Type))
		}
		if t.Source != "" {
			_, _, variable := stage.WhiteRange(t)
			f.Mixes = new(t.Source == "colour-led" && !variable)
		}
	}
	if r.Types[f.Type] == nil {
		f.lacks("cri", fmt.Sprintf("the type %q, with its colour rendering", f.Type))
		f.lacks("tlci", fmt.Sprintf("the type %q, with its colour rendering", f.Type))
	}
	if f.Mixes == nil {
		f.lacks("white_by_mixing", fmt.Sprintf("the light source of the type %q", f.Type))
	}
	if r.Show.Types == nil {
		f.lacks("type_known", "the types of fixture in the rig")
		f.lacks("nearest_type", "the types of fixture in the rig")
		return
	}
	if f.Type == "" {
		f.lacks("type_known", "the type of the fixture on "+thisOne)
	} else {
		f.TypeKnown = new(r.Types[f.Type] != nil)
	}
	if near := nearest.to(f.Type); near != "" {
		f.NearestType = &near
	} else {
		f.lacks("nearest_type", "a type with a name like it")
	}
}

// mostUnpatched is how many channels are listed one by one: no hall puts right more
// of them by hand, and a slip such as 1-99999 must not fill the memory.
const mostUnpatched = 100
