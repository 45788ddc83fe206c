package facts

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// ChannelState is what one channel does in a look as its cues tell it, beside the light that
// is measured. Two of them are equal if people see the same.
type ChannelState struct {
	Channel  int
	Level    float64 // percent
	Haze     bool    // a machine: its level is haze, not light
	Aim      string
	Zoom     string
	Shutters string
	Pattern  string
	Wheel    string
	Strobe   string
	Effect   string
	Hung     string
}

// Trait is something of a look that is no light, in words.
type Trait struct{ What, Of, Text string }

// Doings returns a function that says of a look what its channels do that are not at
// zero, in the order of the patch: stage lamps, house lights, practicals and haze
// machines. It keeps the words it has made: a show has few of them.
func (m *Measured) Doings() func(*Look) []ChannelState {
	type told struct {
		line *stage.Line
		rest *tracking.Rest
	}
	known := map[told]ChannelState{}
	return func(l *Look) []ChannelState {
		list := make([]ChannelState, 0, len(l.back.rig.Lines))
		for _, line := range l.back.rig.Lines {
			state := l.look.State(line.Channel)
			if state.Level <= 0 {
				continue
			}
			key := told{line, state.Rest}
			d, done := known[key]
			if !done {
				d = doing(line, state.Rest)
				known[key] = d
			}
			d.Level = state.Level
			list = append(list, d)
		}
		return list
	}
}

func doing(line *stage.Line, rest *tracking.Rest) ChannelState {
	f := line.Fixture
	d := ChannelState{
		Channel: line.Channel, Haze: line.Of.Kind != nil && line.Of.Kind.Machine != nil || f.Purpose == "haze",
		Aim: aimWords(f.AimedAt), Zoom: measure(f.ZoomDeg, "degrees"), Shutters: shutterWords(f.Shutters), Hung: pointWords(f.HungAt),
	}
	if rest == nil {
		return d
	}
	if rest.Aim != nil {
		d.Aim = aimWords(rest.Aim)
	}
	if rest.ZoomDeg != nil {
		d.Zoom = measure(rest.ZoomDeg, "degrees")
	}
	if rest.StrobeHz != nil && *rest.StrobeHz > 0 {
		d.Strobe = measure(rest.StrobeHz, "Hz")
	}
	d.Pattern, d.Wheel, d.Effect = rest.Pattern, rest.Wheel, effectWords(rest.Effect)
	return d
}

// Traits returns how the look comes in, what follows it, what the screens do, and
// what the cue sets if no patch says which lamps that is.
func (l *Look) Traits() []Trait {
	var list []Trait
	for i, part := range l.look.Parts {
		of := ""
		if i > 0 {
			of = fmt.Sprintf("part %d", i+1)
		}
		for _, time := range []struct {
			what    string
			seconds *float64
		}{{"fade in", part.InS}, {"fade out", part.OutS}, {"delay", part.DelayS}, {"follow-on", part.FollowS}, {"start", part.AtS}} {
			if time.seconds != nil {
				list = append(list, Trait{time.what, of, measure(time.seconds, "s")})
			}
		}
	}
	if len(l.back.rig.Lines) == 0 {
		for _, part := range l.look.Parts {
			for _, set := range part.Set {
				list = append(list, Trait{"sets", set.Channels, settingWords(set)})
			}
		}
	}
	for _, drive := range l.look.Drives {
		if drive.DrivePct != nil {
			list = append(list, Trait{"screen", drive.Screen, measure(drive.DrivePct, "%")})
		}
		if len(drive.Palette) > 0 {
			list = append(list, Trait{"picture", drive.Screen, strings.Join(drive.Palette, ", ")})
		}
	}
	slices.SortStableFunc(list, func(a, b Trait) int { return strings.Compare(a.What+"\x00"+a.Of, b.What+"\x00"+b.Of) })
	return list
}

func valueWords(value any) string {
	switch value := value.(type) {
	case *schema.Level:
		return numberWords((*float64)(value))
	case *float64:
		return numberWords(value)
	case *schema.Aim:
		return aimWords(value)
	case *schema.Effect:
		return effectWords(value)
	}
	return fmt.Sprint(value) // maps are printed in the order of their keys
}

// settingWords writes out what a setting tells, as its fields stand.
func settingWords(s *schema.Setting) string {
	var words []string
	for field, value := range s.Values() {
		words = append(words, field.Key+" "+valueWords(value))
	}
	return strings.Join(words, ", ")
}

func numberWords(v *float64) string { return strings.TrimSpace(measure(v, "")) }

func measure(v *float64, unit string) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf("%.4g %s", *v, unit)
}

func aimWords(a *schema.Aim) string {
	switch {
	case a == nil:
		return ""
	case a.Point != nil:
		return pointWords(a.Point)
	}
	return a.Name
}

func pointWords(p *schema.Point) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf("%.4g, %.4g, %.4g m", p.X, p.Y, p.Z)
}

func shutterWords(list []*schema.Shutter) string {
	var words []string
	for _, s := range list {
		words = append(words, strings.TrimSpace(s.Side+" "+measure(s.DepthPct, "%")+" "+measure(s.AngleDeg, "degrees")))
	}
	return strings.Join(words, ", ")
}

func effectWords(e *schema.Effect) string {
	if e == nil {
		return ""
	}
	words := []string{e.Kind}
	add := func(format string, v *float64, unit string) {
		if v != nil {
			words = append(words, fmt.Sprintf(format, measure(v, unit)))
		}
	}
	add("at %s", e.RateHz, "Hz")
	add("lit %s of the time", e.DutyPct, "%")
	add("spread over %s", e.SpreadPct, "%")
	add("down to %s", e.LowPct, "%")
	add("up to %s", e.HighPct, "%")
	return strings.Join(words, " ")
}
