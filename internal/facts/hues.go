package facts

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
)

// measureHues tells the hues of the look from the light of its lamps, filaments
// and other whites set aside.
func (l *Look) measureHues() {
	facts := []string{"coloured_count", "main_hue_count", "accent_hue_count", "hue_names", "odd_channels_text", "nearest_kept_hue_deg"}
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
		for _, fact := range facts[1:] {
			l.lacks(fact, fmt.Sprintf("light in cue %s that can be added up", l.Number))
		}
		return
	}
	main, accent := 0, 0
	var names []string
	for _, group := range hues.Groups {
		odd := false
		switch group.Role {
		case colour.Main:
			main++
			odd = main > 2
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
	l.HueNames = known(joinWords(names))
	l.OddText = known(channelsOf(l.OddLamps))
	if len(hues.Groups) > 0 {
		l.NearestHue = &hues.Groups[0].Hue
	} else {
		l.lacks("nearest_kept_hue_deg", fmt.Sprintf("a colour in cue %s", l.Number))
	}
}

// joinWords writes words as people list them: "red, amber and blue".
func joinWords(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
