// Package tracking turns a cue list into looks: the resolved state of the stage
// after each cue, every value remembering the cue that set it.
//
// In goes a show, out comes one [Look] for each cue number, in numeric order.
// Levels and attributes persist until a cue changes them; a cue may also assert
// (take responsibility for everything that is on) or release (everything it does
// not mention goes to black). Resolve never fails: what cannot be resolved was
// already a finding of the reader. A newcomer's mistake would be to take a
// value's place from the cue in which it shows: ask its By.
package tracking

import (
	"maps"
	"slices"
	"sort"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// By says which cue gave a value: the index of its look, and the setting in it.
// Setting is nil for a value that an assert or release gave; Look is -1 for a
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

	states []*State // by position in the show's channels; nil: never mentioned
	slots  map[int]int
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

// Purpose returns what the cue says it is for.
func (l *Look) Purpose() string {
	for _, part := range l.Parts {
		if part.Purpose != "" {
			return part.Purpose
		}
	}
	return ""
}

// dark is the state of a channel that no cue has mentioned yet.
var dark = &State{LevelBy: Nobody}

// State returns what a channel does; a channel that no cue mentions is dark.
func (l *Look) State(channel int) *State {
	if slot, ok := l.slots[channel]; ok && l.states[slot] != nil {
		return l.states[slot]
	}
	return dark
}

// Resolve turns the cues of a show into looks.
func Resolve(show *schema.Show) []Look {
	groups := groupCues(show.Cues)
	slots := slotsOf(show)
	looks := make([]Look, 0, len(groups))
	states := make([]*State, len(slots))
	drives := map[string]Drive{}
	for index, parts := range groups {
		look := Look{Index: index, Number: parts[0].Number, Parts: parts, slots: slots}
		states = slices.Clone(states)
		for _, part := range parts {
			drives = applyPart(show, part, index, slots, states, drives)
		}
		look.states, look.Drives = states, drives
		look.Segment = segmentOf(show, parts)
		looks = append(looks, look)
	}
	return looks
}

// groupCues puts the cues in numeric order and the parts of a number together.
func groupCues(cues []*schema.Cue) [][]*schema.Cue {
	sorted := slices.Clone(cues)
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

func partOf(cue *schema.Cue) int {
	if cue.Part == nil {
		return 0
	}
	return *cue.Part
}

// slotsOf numbers every channel that the patch or a cue mentions.
func slotsOf(show *schema.Show) map[int]int {
	slots := map[int]int{}
	add := func(channel int) {
		if _, known := slots[channel]; !known {
			slots[channel] = len(slots)
		}
	}
	for _, fixture := range show.Patch {
		add(fixture.Channel)
	}
	for _, cue := range show.Cues {
		for _, setting := range cue.Set {
			channels, _ := show.Channels(setting.Channels)
			for _, channel := range channels {
				add(channel)
			}
		}
	}
	return slots
}

func applyPart(show *schema.Show, cue *schema.Cue, index int, slots map[int]int, states []*State, drives map[string]Drive) map[string]Drive {
	switch cue.Tracking {
	case "release":
		for slot, state := range states {
			if state != nil && state.Level > 0 {
				states[slot] = &State{LevelBy: By{Look: index}, Colour: state.Colour, Rest: state.Rest}
			}
		}
	case "assert":
		for slot, state := range states {
			if state != nil {
				asserted := *state
				asserted.LevelBy = By{Look: index}
				states[slot] = &asserted
			}
		}
	}
	for _, setting := range cue.Set {
		channels, _ := show.Channels(setting.Channels)
		by := By{Look: index, Setting: setting}
		for _, channel := range channels {
			slot := slots[channel]
			before := states[slot]
			if before == nil {
				before = dark
			}
			states[slot] = applySetting(before, setting, by)
		}
	}
	if len(cue.Screens) > 0 {
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
	if set.Mix != nil && before.Mix != nil {
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
		after.Pattern = set.Pattern
	}
	if set.Wheel != "" {
		after.Wheel = set.Wheel
	}
	if set.Effect != nil {
		after.Effect = set.Effect
	}
	return &after
}

// segmentOf finds the segment of a cue: the one it names, or else the last one
// of the running order that starts at its number or before it.
func segmentOf(show *schema.Show, parts []*schema.Cue) *schema.Segment {
	for _, part := range parts {
		for _, segment := range show.Order {
			if part.Segment != "" && part.Segment == segment.Name {
				return segment
			}
		}
	}
	var found *schema.Segment
	for _, segment := range show.Order {
		if segment.StartCue != nil && *segment.StartCue <= parts[0].Number && (found == nil || *segment.StartCue >= *found.StartCue) {
			found = segment
		}
	}
	return found
}
