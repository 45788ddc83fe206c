package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/schema"
)

// measureHues tells the hues of the look from the light of its lamps, filaments
// and other whites set aside.
func (l *Look) measureHues() {
	facts := []string{"palette_apart_deg", "red_is_main", "coloured_count", "main_hue_count", "accent_hue_count", "hue_names", "odd_channels_text", "nearest_kept_hue_deg"}
	var lights []colour.XYZ
	var lamps []*Lamp
	coloured := 0
	for _, lamp := range l.lamps {
		if lamp.light.missing != "" {
			for _, fact := range facts {
				l.lacks(fact, lamp.light.missing)
			}
			continue
		}
		if lamp.Coloured != nil && *lamp.Coloured {
			coloured++
			lights = append(lights, lamp.light.xyz)
			lamps = append(lamps, lamp)
		}
	}
	if len(l.Why("coloured_count")) > 0 {
		return
	}
	l.Coloured = &coloured
	hues, ok := colour.HuesOf(lights, hueLimits)
	if !ok {
		for _, fact := range facts {
			l.lacks(fact, fmt.Sprintf("light in cue %s that can be added up", l.Number))
		}
		return
	}
	main, accent := 0, 0
	var names []string
	var mains []float64
	for _, group := range hues.Groups {
		odd := false
		switch group.Role {
		case colour.Main:
			main++
			odd = main > 2
			mains = append(mains, group.Hue)
		case colour.Accent:
			accent++
			odd = accent > 1
		default:
			continue // a trace that nobody sees
		}
		if name, ok := colour.HueFamily(group.Hue); ok {
			names = append(names, name)
		}
		if odd {
			for _, index := range group.Lights {
				l.OddLamps = append(l.OddLamps, lamps[index])
			}
		}
	}
	l.MainHues, l.AccentHues = &main, &accent
	l.comparePalette(mains)
	l.RedMain = known(false)
	for _, hue := range mains {
		if name, _ := colour.HueFamily(hue); name == "red" {
			l.RedMain = known(true)
		}
	}
	l.HueNames = known(joinWords(names))
	l.OddText = known(channelsOf(l.OddLamps))
	if len(hues.Groups) > 0 {
		if wheel, ok := colour.WheelHue(hues.Groups[0].Hue); ok {
			l.NearestHue = &wheel
		}
	} else {
		l.lacks("nearest_kept_hue_deg", fmt.Sprintf("a colour in cue %s", l.Number))
	}
}

// comparePalette finds the main hue that is farthest from every colour of the
// segment's on-screen palette. Greys in the palette ask for no hue.
func (l *Look) comparePalette(mains []float64) {
	segment := l.look.Segment
	if segment == nil || len(segment.Palette) == 0 {
		l.lacks("palette_apart_deg", fmt.Sprintf("the on-screen palette of the segment of cue %s", l.Number))
		return
	}
	var hues []float64
	for _, hex := range segment.Palette {
		xyz, err := colour.HexXYZ(hex)
		if err != nil {
			continue
		}
		if xy, ok := xyz.XY(); ok {
			if white, ok := hueLimits.White(xy); ok && !white {
				if hue, ok := hueOf(xy); ok {
					hues = append(hues, hue)
				}
			}
		}
	}
	if len(hues) == 0 {
		l.lacks("palette_apart_deg", fmt.Sprintf("a palette with a colour for the segment %q", segment.Name))
		return
	}
	l.HasPalette = true
	worst := 0.0
	for _, hue := range mains {
		nearest := 180.0
		for _, wanted := range hues {
			nearest = min(nearest, hueApart(hue, wanted))
		}
		if nearest > worst {
			worst = nearest
			l.OffHue, _ = colour.HueFamily(hue)
		}
	}
	l.PaletteApart = &worst
}

// hueApart is the angle between two hues, 0 to 180 degrees.
func hueApart(a, b float64) float64 {
	apart := math.Mod(math.Abs(a-b), 360)
	return min(apart, 360-apart)
}

// systems are the purposes that count as systems of a stage rig.
var systems = []string{"key", "fill", "back", "side", "top", "wash", "beam", "effect"}

// measureSystems tells which systems of the rig are lit, and which lamps run
// through hues.
func (l *Look) measureSystems(r *rig) {
	lit := map[string]bool{}
	var sweeping []int
	for _, lamp := range l.lamps {
		lit[lamp.Purpose] = true
		if rest := lamp.state.Rest; rest != nil && rest.Effect != nil && (rest.Effect.Kind == "hue-sweep" || rest.Effect.Kind == "rainbow") {
			l.SweepLamps = append(l.SweepLamps, lamp)
			sweeping = append(sweeping, lamp.Channel)
		}
	}
	l.SweepCount, l.SweepText = len(sweeping), schema.FormatChannels(sweeping)
	for _, system := range systems {
		if lit[system] {
			l.SystemsLit++
		}
		if slices.ContainsFunc(r.show.Patch, func(f *schema.Fixture) bool { return f.Purpose == system }) {
			l.Systems++
		}
	}
	if l.look.Segment != nil {
		l.SegmentPurpose = l.look.Segment.Purpose
	}
}

// joinWords writes words as people list them: "red, amber and blue".
func joinWords(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
