// Package tracking turns a cue list into looks: the resolved state of the stage
// after each cue, every value remembering the cue that set it.
//
// In goes a show, out comes one [Look] for each cue number, in numeric order.
// Levels and attributes persist until a cue changes them; a cue may also restate
// (take responsibility for everything that is on) or release (everything it does
// not mention goes to black). Resolve never fails: what cannot be resolved was
// already a finding of the reader. A newcomer's mistake would be to take a
// value's place from the cue in which it shows: ask its By.
package tracking

import (
	"cmp"
	"maps"
	"slices"
	"sort"
	"strconv"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// By says which cue gave a value: the index of its look, and the setting in it.
// Setting is nil for a value that a restate or release gave; Look is -1 for a
// value that no cue ever gave.
type By struct {
	Look    int
	Setting *schema.Setting
}

// Nobody is the By of a value that no cue gave.
var Nobody = By{Look: -1}

// State is what one channel does in one look. States are shared between looks
// and never changed.
type State struct {
	Level   float64 // percent
	LevelBy By
	Colour  *Colour // nil: no cue chose a colour
	Rest    *Rest   // nil: no cue set any of it
}

// Colour is the colour a channel was last told to make. White, chromaticity, hue
// and mix are alternatives: the last one told holds. Only parts of a mix persist.
type Colour struct {
	WhiteK        *float64
	XY            []float64
	Mix           map[string]float64
	HueDeg        *float64
	SaturationPct *float64
	By            By
}

// Rest is what a channel was told apart from level and colour.
type Rest struct {
	Aim      *schema.Aim
	ZoomDeg  *float64
	StrobeHz *float64
	Pattern  string
	Wheel    string
	Effect   *schema.Effect
	By       By // of the latest of them
}

// Drive is what a screen does in a look.
type Drive struct {
	schema.Drive
	By int // index of the look that set it
}

// Look is the stage after one cue.
type Look struct {
	Index   int
	Number  schema.CueNumber
	Parts   []*schema.Cue   // the cue's parts in order; most cues have one
	Segment *schema.Segment // nil if the running order does not say
	Drives  map[string]Drive

	states []*State // by slot; nil: never mentioned
	slots  slots
}

// Cue returns the first part of the look's cue.
func (l *Look) Cue() *schema.Cue { return l.Parts[0] }

// Name returns the first name that a part of the cue bears.
func (l *Look) Name() string {
	for _, part := range l.Parts {
		if part.Name != "" {
			return part.Name
		}
	}
	return ""
}

// At returns where the cue stands.
func (l *Look) At() source.Ref { return l.Parts[0].At }

// Meant returns what is done on purpose at a place in this look, in words of
// [schema.Meanings], as its cue and its segment say; with no place, what is meant
// for all of them.
func (l *Look) Meant(place string) []string {
	var words []string
	add := func(intents []schema.Intent) {
		for i := range intents {
			if intent := &intents[i]; intent.For(place) && !slices.Contains(words, intent.Intent) {
				words = append(words, intent.Intent)
			}
		}
	}
	for _, part := range l.Parts {
		add(part.Meant)
	}
	if l.Segment != nil {
		add(l.Segment.Meant)
	}
	return words
}

// dark is the state of a channel that no cue has mentioned yet.
var dark = &State{LevelBy: Nobody}

// State returns what a channel does; a channel that no cue mentions is dark.
func (l *Look) State(channel int) *State {
	if slot, ok := l.slots.of(channel); ok && l.states[slot] != nil {
		return l.states[slot]
	}
	return dark
}

// Resolve turns the cues of a show into looks.
func Resolve(show *schema.Show) []Look {
	groups := groupCues(show.Cues)
	slots := slotsOf(show)
	segments := segmentsOf(show)
	looks := make([]Look, 0, len(groups))
	states := make([]*State, slots.count)
	drives := map[string]Drive{}
	for index, parts := range groups {
		states = slices.Clone(states)
		applyTracking(parts, index, states)
		for _, part := range parts {
			applySettings(show, part, index, slots, states)
			drives = applyScreens(part, index, drives)
		}
		looks = append(looks, Look{
			Index: index, Number: parts[0].Number, Parts: parts, Segment: segments.of(parts),
			Drives: drives, states: states, slots: slots,
		})
	}
	return looks
}

// groupCues puts the cues in numeric order and the parts of a number together.
func groupCues(cues []*schema.Cue) [][]*schema.Cue {
	sorted := slices.DeleteFunc(slices.Clone(cues), unnumbered)
	sort.SliceStable(sorted, func(i, j int) bool {
		if sorted[i].Number != sorted[j].Number {
			return sorted[i].Number < sorted[j].Number
		}
		return partOf(sorted[i]) < partOf(sorted[j])
	})
	var groups [][]*schema.Cue
	for i, cue := range sorted {
		if i > 0 && cue.Number == sorted[i-1].Number {
			groups[len(groups)-1] = append(groups[len(groups)-1], cue)
			continue
		}
		groups = append(groups, []*schema.Cue{cue})
	}
	return groups
}

// unnumbered reports whether a cue was read without a number that is one. It has
// no place in the list, and a finding of the reader says so.
func unnumbered(cue *schema.Cue) bool {
	if cue.At.IsZero() {
		return false
	}
	number, _ := cue.At.Get("cue")
	text := number.Str()
	if value, ok := number.Float(); ok { // in any notation of JSON, such as 1e1
		text = strconv.FormatFloat(value+0, 'f', -1, 64)
	}
	_, err := schema.ParseCueNumber(text)
	return err != nil
}

func partOf(cue *schema.Cue) int {
	if cue.Part == nil {
		return 0
	}
	return *cue.Part
}

// slots numbers the patched channels. A channel beyond
// [schema.MaxChannel] was a finding of the reader and has none: it stays dark.
type slots struct {
	byChannel []int32 // 0: none, else the slot plus one
	count     int
}

func (s *slots) of(channel int) (slot int, ok bool) {
	if channel < 0 || channel >= len(s.byChannel) || s.byChannel[channel] == 0 {
		return 0, false
	}
	return int(s.byChannel[channel]) - 1, true
}

func (s *slots) add(channel int) {
	if channel < 0 || channel > schema.MaxChannel {
		return
	}
	for len(s.byChannel) <= channel {
		s.byChannel = append(s.byChannel, 0)
	}
	if s.byChannel[channel] == 0 {
		s.count++
		s.byChannel[channel] = int32(s.count)
	}
}

// slotsOf numbers the patched channels. What a cue does to a channel that no
// fixture has does nothing, so a selection such as 1-99999 costs no memory.
func slotsOf(show *schema.Show) slots {
	var s slots
	for _, fixture := range show.Patch {
		s.add(fixture.Channel)
	}
	return s
}

// change makes the same change of many channels. Channels that shared a state
// before it share one behind it, which keeps a big show small.
type change struct {
	of            func(before *State) *State
	before, after *State // the last one: neighbours mostly share a state
	made          bool
	done          map[*State]*State // those before it, if there were several
}

func (c *change) make(states []*State, slot int) {
	before := states[slot]
	if !c.made || before != c.before {
		c.turnTo(before)
	}
	states[slot] = c.after
}

func (c *change) turnTo(before *State) {
	if c.made {
		if c.done == nil {
			c.done = map[*State]*State{}
		}
		c.done[c.before] = c.after
	}
	after, known := c.done[before]
	if !known {
		after = c.of(before)
	}
	c.before, c.after, c.made = before, after, true
}

// applyTracking does what a cue does to all that it does not mention, before any
// of its parts speaks. Parts are one cue: what one of them says of the rest holds
// for the cue, and if they differ, release goes before restate.
func applyTracking(parts []*schema.Cue, index int, states []*State) {
	by := By{Look: index}
	var all change
	switch {
	case tracks(parts, "release"):
		all.of = func(before *State) *State {
			if before == nil || before.Level <= 0 {
				return before
			}
			return &State{LevelBy: by, Colour: before.Colour, Rest: before.Rest}
		}
	case tracks(parts, "restate"):
		all.of = func(before *State) *State { return restate(before, by) }
	default:
		return
	}
	for slot := range states {
		all.make(states, slot)
	}
}

func tracks(parts []*schema.Cue, word string) bool {
	return slices.ContainsFunc(parts, func(part *schema.Cue) bool { return part.Tracking == word })
}

// restate states again all that was told.
func restate(before *State, by By) *State {
	if before == nil {
		return nil
	}
	after := &State{Level: before.Level, LevelBy: by}
	if before.LevelBy == Nobody { // only its colour or aim was told so far
		after.LevelBy = Nobody
	}
	if before.Colour != nil {
		colour := *before.Colour
		colour.By = by
		after.Colour = &colour
	}
	if before.Rest != nil {
		rest := *before.Rest
		rest.By = by
		after.Rest = &rest
	}
	return after
}

func applySettings(show *schema.Show, cue *schema.Cue, index int, slots slots, states []*State) {
	for _, setting := range cue.Set {
		channels, _ := show.Channels(setting.Channels)
		by := By{Look: index, Setting: setting}
		set := change{of: func(before *State) *State {
			if before == nil {
				before = dark
			}
			return applySetting(before, setting, by)
		}}
		for _, channel := range channels {
			if slot, ok := slots.of(channel); ok {
				set.make(states, slot)
			}
		}
	}
}

// applyScreens returns what the screens do behind the cue; the map it was given
// belongs to the looks before.
func applyScreens(cue *schema.Cue, index int, drives map[string]Drive) map[string]Drive {
	if len(cue.Screens) == 0 {
		return drives
	}
	drives = maps.Clone(drives)
	for _, drive := range cue.Screens {
		merged := Drive{Drive: *drive, By: index}
		if before, ok := drives[drive.Screen]; ok {
			if merged.DrivePct == nil {
				merged.DrivePct = before.DrivePct
			}
			if merged.Palette == nil {
				merged.Palette = before.Palette
			}
		}
		drives[drive.Screen] = merged
	}
	return drives
}

func applySetting(before *State, set *schema.Setting, by By) *State {
	after := *before
	if set.Level != nil {
		after.Level, after.LevelBy = float64(*set.Level), by
	}
	if set.WhiteK != nil || set.XY != nil || set.Mix != nil || set.HueDeg != nil || set.SaturationPct != nil {
		after.Colour = mergeColour(before.Colour, set, by)
	}
	if set.Aim != nil || set.ZoomDeg != nil || set.StrobeHz != nil || set.Pattern != "" || set.Wheel != "" || set.Effect != nil {
		after.Rest = mergeRest(before.Rest, set, by)
	}
	return &after
}

func mergeColour(before *Colour, set *schema.Setting, by By) *Colour {
	after := &Colour{WhiteK: set.WhiteK, XY: set.XY, Mix: set.Mix, HueDeg: set.HueDeg, SaturationPct: set.SaturationPct, By: by}
	if before == nil {
		return after
	}
	if set.Mix != nil && !coversAll(set.Mix, before.Mix) {
		after.Mix = maps.Clone(before.Mix)
		maps.Copy(after.Mix, set.Mix)
	}
	// Hue and saturation are two handles of one colour: each keeps the other.
	if set.HueDeg != nil && set.SaturationPct == nil {
		after.SaturationPct = before.SaturationPct
	}
	if set.SaturationPct != nil && set.HueDeg == nil {
		after.HueDeg = before.HueDeg
	}
	return after
}

// coversAll reports whether a mix sets every part of another; then it stands for
// both, and no copy is made: most cues write mixes out.
func coversAll(mix, other map[string]float64) bool {
	if len(mix) < len(other) {
		return false
	}
	for name := range other {
		if _, ok := mix[name]; !ok {
			return false
		}
	}
	return true
}

// none is the word with which a cue ends an effect, or takes a pattern or a
// wheel's colour out of the light.
const none = "none"

func unless(word, text string) string {
	if text == word {
		return ""
	}
	return text
}

func mergeRest(before *Rest, set *schema.Setting, by By) *Rest {
	after := Rest{}
	if before != nil {
		after = *before
	}
	after.By = by
	if set.Aim != nil {
		after.Aim = set.Aim
	}
	if set.ZoomDeg != nil {
		after.ZoomDeg = set.ZoomDeg
	}
	if set.StrobeHz != nil {
		after.StrobeHz = set.StrobeHz
	}
	if set.Pattern != "" {
		after.Pattern = unless(none, set.Pattern)
	}
	if set.Wheel != "" {
		after.Wheel = unless(none, set.Wheel)
	}
	if set.Effect != nil {
		after.Effect = set.Effect
		if set.Effect.Kind == none {
			after.Effect = nil
		}
	}
	return &after
}

// segments finds the segment of a cue: the one it names, or else the last one of
// the running order that starts at its number or before it.
type segments struct {
	byName  map[string]*schema.Segment // of several with one name the first
	byStart []*schema.Segment          // those with a start cue; of several that start together the last wins
}

func segmentsOf(show *schema.Show) segments {
	s := segments{byName: map[string]*schema.Segment{}}
	for _, segment := range show.Order {
		if s.byName[segment.Name] == nil {
			s.byName[segment.Name] = segment
		}
		if segment.StartCue != nil {
			s.byStart = append(s.byStart, segment)
		}
	}
	slices.SortStableFunc(s.byStart, func(a, b *schema.Segment) int { return cmp.Compare(*a.StartCue, *b.StartCue) })
	return s
}

func (s *segments) of(parts []*schema.Cue) *schema.Segment {
	for _, part := range parts {
		if named := s.byName[part.Segment]; named != nil && part.Segment != "" {
			return named
		}
	}
	behind := sort.Search(len(s.byStart), func(i int) bool { return *s.byStart[i].StartCue > parts[0].Number })
	if behind == 0 {
		return nil
	}
	return s.byStart[behind-1]
}
