package schema

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// zooms says which settings of the patch and of cues a zoom cannot have. The light is
// worked out with the nearest end all the same.
type zooms struct {
	of     map[int][]*Type    // by channel, the types that have a range
	chosen map[string][]*Type // by selection of a cue, each once
}

// zoomSlack is how far beyond its range a zoom may be set, as a part of the angle at that
// end: data sheets round, and scales are read by hand. Common practice, no source.
const zoomSlack = 0.05

// Ends returns the angles between which a zoom goes, field angles where both ends give
// them, else beam angles; ok is false where the ends do not tell.
func (z *ZoomRange) Ends() (low, high float64, word string, ok bool) {
	if z == nil || z.Narrow == nil || z.Wide == nil {
		return 0, 0, "", false
	}
	a, b, word := z.Narrow.FieldDeg, z.Wide.FieldDeg, "field"
	if a == nil || b == nil {
		a, b, word = z.Narrow.BeamDeg, z.Wide.BeamDeg, "beam"
	}
	if a == nil || b == nil || !(*a > 0 && *b >= *a) {
		return 0, 0, "", false
	}
	return *a, *b, word, true
}

func (s *Show) zooms() zooms {
	kinds := map[string]*Type{}
	for _, t := range s.Types {
		if _, _, _, ok := t.Zoom.Ends(); ok && kinds[t.Name] == nil {
			kinds[t.Name] = t
		}
	}
	z := zooms{of: map[int][]*Type{}, chosen: map[string][]*Type{}}
	if len(kinds) == 0 {
		return z
	}
	for _, f := range s.Patch {
		if t := kinds[f.Type]; t != nil && f.Type != "" && !slices.Contains(z.of[f.Channel], t) {
			z.of[f.Channel] = append(z.of[f.Channel], t)
		}
	}
	return z
}

// types returns the types with a zoom of a selection of channels.
func (z *zooms) types(show *Show, selection string) []*Type {
	list, done := z.chosen[selection]
	if !done && len(z.of) > 0 {
		channels, _ := show.Channels(selection)
		for _, channel := range channels {
			for _, t := range z.of[channel] {
				if !slices.Contains(list, t) {
					list = append(list, t)
				}
			}
		}
		z.chosen[selection] = list
	}
	return list
}

// beyond says so where a setting is out of the range of a type's zoom.
func (c *crossCheck) beyond(section string, at source.Ref, zoom *float64, t *Type, what string, by ...finding.Subject) {
	low, high, word, ok := t.Zoom.Ends()
	if !ok || zoom == nil || !(*zoom > 0) || *zoom >= low*(1-zoomSlack) && *zoom <= high*(1+zoomSlack) {
		return
	}
	if c.full("zoom-range", section, by) {
		return
	}
	c.say("zoom-range", section, at, "zoom_deg", finding.Finding{
		Level: finding.Warning, Subjects: by, Detail: "zoom_deg",
		Message: fmt.Sprintf("the zoom of %s is set to %g degrees, and the type %q goes from %g to %g (%s angle); its light is worked out with %g.",
			what, *zoom, t.Name, low, high, word, min(max(*zoom, low), high)),
		Hint: "write the angle that the lamp is really set to, or correct the ends of the zoom in the type",
	})
}
