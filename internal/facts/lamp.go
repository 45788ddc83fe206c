package facts

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Lamp is a fixture in a look: what the patch says of it and what the cues have
// made of it.
type Lamp struct {
	lamp stage.Lamp

	Number   string   `expr:"cue"`         // the number of the look's cue
	Channel  int      `expr:"channel"`     // its channel
	Type     string   `expr:"type"`        // the type that the patch names
	Purpose  string   `expr:"purpose"`     // what it is for, or ""
	Level    float64  `expr:"level_pct"`   // its level
	X        *float64 `expr:"x"`           // CIE 1931 x of its light
	Y        *float64 `expr:"y"`           // CIE 1931 y of its light
	Lumens   *float64 `expr:"lumens"`      // the light that leaves it
	CCT      *float64 `expr:"cct_k"`       // the correlated colour temperature of that light (Ohno 2014), if it has one
	Duv      *float64 `expr:"duv"`         // its distance from the Planckian locus, positive towards green
	Coloured *bool    `expr:"coloured"`    // whether the light is a colour rather than a white
	Hue      *float64 `expr:"hue_deg"`     // its hue (OKLCh), if it is a colour
	Drift    *float64 `expr:"drift_mired"` // how much warmer a dimmed filament is than at full; 0 for other sources
}

// newLamp puts a lamp into the words of rules.
func newLamp(l *stage.Lamp) *Lamp {
	return &Lamp{
		lamp: *l, Number: l.Look.Number.String(), Channel: l.Channel, Type: l.Type, Purpose: l.Purpose, Level: l.Level,
		X: l.X, Y: l.Y, Lumens: l.Lumens, CCT: l.CCT, Duv: l.Duv, Coloured: l.Coloured, Hue: l.Hue, Drift: l.Drift,
	}
}

func newLamps(list []*stage.Lamp) []*Lamp {
	var lamps []*Lamp
	for _, l := range list {
		lamps = append(lamps, newLamp(l))
	}
	return lamps
}

// Names returns the channel and the cue.
func (l *Lamp) Names() []Name {
	return []Name{{"channel", strconv.Itoa(l.Channel)}, {"cue", l.Number}}
}

// Cue returns the number of the look's cue.
func (l *Lamp) Cue() string { return l.Number }

// Ref returns the line of the patch.
func (l *Lamp) Ref() source.Ref { return l.lamp.Fixture.At }

// InPart has nothing to tell: what is known of a lamp is known of all of it.
func (l *Lamp) InPart(func(fact string)) {}

// Why returns what would make the fact known.
func (l *Lamp) Why(fact string) []string {
	switch {
	case l.lamp.Missing != "":
		return []string{l.lamp.Missing}
	case fact == "lumens" && l.Lumens == nil:
		return []string{fmt.Sprintf("the flux of the type %q", l.Type)}
	case l.X == nil:
		return []string{fmt.Sprintf("light of channel %d in cue %s", l.Channel, l.Number)}
	case fact == "hue_deg":
		return []string{fmt.Sprintf("light of channel %d in cue %s that is a colour", l.Channel, l.Number)}
	case l.lamp.Glowing():
		return []string{glowing(&l.lamp)}
	default:
		return []string{fmt.Sprintf("light of channel %d in cue %s that is near enough to white", l.Channel, l.Number)}
	}
}

// glowing says why the white of a filament is not known.
func glowing(l *stage.Lamp) string {
	return fmt.Sprintf("a level of channel %d at which its filament is hotter than 2000 K: below that its white is a guess", l.Channel)
}

// Basis returns what the fact rests on.
func (l *Lamp) Basis(fact string) finding.Basis {
	b := finding.Basis{Known: finding.Derived, Missing: l.Why(fact)}
	if fact == "lumens" && len(l.lamp.Rests) > 0 {
		b.Known, b.Rests = finding.Assumed, l.lamp.Rests
		if l.Lumens != nil {
			b.Range = &finding.Range{Low: *l.Lumens * l.lamp.AtLeast(), High: *l.Lumens * l.lamp.AtMost()}
		}
	}
	if off := l.lamp.DriftOff(); off.By > 0 && l.Drift != nil && slices.Contains([]string{"x", "y", "cct_k", "drift_mired"}, fact) {
		b.Known, b.Rests = finding.Assumed, []string{off.Rests}
		if fact == "drift_mired" {
			b.Range = &finding.Range{Low: max(0, *l.Drift-off.By), High: *l.Drift + off.By}
		}
	}
	if l.lamp.Extrapolated() && slices.Contains([]string{"x", "y", "cct_k", "duv", "drift_mired"}, fact) {
		b.Known, b.Range = finding.Assumed, nil
		b.Rests = append(b.Rests, fmt.Sprintf("the white of the filament on channel %d below half its voltage", l.Channel))
	}
	return b
}

// Label names the lamp for an order to a person.
func (l *Lamp) Label() string { return fmt.Sprintf("channel %d", l.Channel) }

// noEffect ends an effect.
var noEffect = &schema.Effect{Kind: "none"}

// Edits changes what the lamp does where that was set: in the setting that gave
// it the value, in the cue that asserted or released it, or in the patch if no
// cue ever did and the patch has such a field.
func (l *Lamp) Edits(field string, value any) []source.Edit {
	if f, ok := schema.FieldOf(schema.OfSetting, field); !ok || f.Group == "" {
		return []source.Edit{{At: l.lamp.Fixture.At, Field: field, Value: value}}
	}
	by := l.by(field)
	only := []int{l.Channel}
	_, patched := schema.FieldOf(schema.OfFixture, field)
	switch {
	case field == "effect" && value == nil: // it ends here; before, it may have been meant
		return []source.Edit{{At: l.lamp.Look.Place(), Field: field, Value: noEffect, Only: only}}
	case by.Setting != nil:
		return []source.Edit{{At: by.Setting.At, Field: field, Value: value, Only: only}}
	case by.Look < 0 && patched:
		return []source.Edit{{At: l.lamp.Fixture.At, Field: field, Value: value}}
	default:
		return []source.Edit{{At: l.lamp.Look.Place(), Field: field, Value: value, Only: only}}
	}
}

// SetBy returns the setting that gave the lamp a field's value, for reports.
func (l *Lamp) SetBy(field string) (source.Ref, bool) {
	if by := l.by(field); by.Setting != nil {
		return by.Setting.At, true
	}
	return source.Ref{}, false
}

func (l *Lamp) by(field string) tracking.By {
	f, _ := schema.FieldOf(schema.OfSetting, field)
	switch {
	case f != nil && f.Group == schema.Brightness:
		return l.lamp.Look.SetBy(l.Channel, tracking.LevelBy)
	case schema.TellsColour(field):
		return l.lamp.Look.SetBy(l.Channel, tracking.ColourBy)
	default:
		return l.lamp.Look.SetBy(l.Channel, tracking.RestBy)
	}
}

// LevelForDrift is the lowest level, in whole percent, at which a filament is at most
// a number of mired warmer than at full; unknown where there is none.
func (l *Lamp) LevelForDrift(maxMired float64) *float64 {
	if pct, ok := l.lamp.LevelForDrift(maxMired); ok {
		return &pct
	}
	return nil
}

// Channels names lamps by their channels, as "1-6, 9".
func Channels(lamps []*Lamp) string {
	channels := make([]int, len(lamps))
	for i, l := range lamps {
		channels[i] = l.Channel
	}
	return schema.FormatChannels(channels)
}

// Turn is a lamp with the level that would put a thing right.
type Turn struct {
	*Lamp
	Wanted float64 `expr:"wanted_pct"` // that level
}

// Edits changes what the lamp does, where that was set.
func (t *Turn) Edits(field string, value any) []source.Edit { return t.Lamp.Edits(field, value) }

// newTurns are the lamps at the levels at which each gives factor times its light
// now; see [stage.LevelsFor].
func newTurns(lamps []*stage.Lamp, factor float64) (turns []*Turn, ok bool) {
	levels, ok := stage.LevelsFor(lamps, factor)
	for i, lamp := range lamps {
		turns = append(turns, &Turn{newLamp(lamp), levels[i]})
	}
	return turns, ok
}
