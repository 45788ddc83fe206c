package loaders

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// How many times the flux of a type its peak and its angles may add up to, since no lamp gives
// more than its own light: with both angles the shape of a beam is known well, one alone may
// be of a hard edge or of a soft one. And how many times less: a sheet often gives the flux of
// the bare source, of which a lens, a filter and what goes beside the beam take half and more.
// Common practice, no source.
const (
	mostOverBoth = 1.6
	mostOverOne  = 2.5
	mostUnder    = 4
)

// contradictions finds types whose peak, angles and flux cannot be true together: light
// on faces follows the peak, output the flux, so one of them is told wrong. What is
// assumed or measured otherwise has nothing to contradict.
func contradictions(show *schema.Show) (found []finding.Finding) {
	for _, t := range show.Types {
		if t.Photometry != "" || !toldAll(t, "beam_deg", "field_deg", "peak_cd", "flux_lm", "zoom") {
			continue // of a file, the flux is scaled to the type's
		}
		if t.Zoom == nil {
			found = append(found, contradiction(t, t.At, "", photometry.Spec{BeamDeg: t.BeamDeg, FieldDeg: t.FieldDeg, Lumens: t.FluxLm, PeakCandela: t.PeakCd})...)
			continue
		}
		for _, end := range []struct {
			name string
			of   *schema.ZoomEnd
		}{{"narrow", t.Zoom.Narrow}, {"wide", t.Zoom.Wide}} {
			if end.of != nil {
				found = append(found, contradiction(t, end.of.At, end.name, photometry.Spec{BeamDeg: end.of.BeamDeg, FieldDeg: end.of.FieldDeg, Lumens: end.of.FluxLm, PeakCandela: end.of.PeakCd})...)
			}
		}
	}
	return found
}

// toldAll reports whether nothing of some keys is assumed, inferred or derived.
func toldAll(t *schema.Type, keys ...string) bool {
	return !slices.ContainsFunc(keys, func(key string) bool {
		word := t.Known.Of(key).Word
		return word != "read" && word != "measured"
	})
}

// contradiction holds the flux of one beam against what its peak and angles add up to.
func contradiction(t *schema.Type, at source.Ref, end string, s photometry.Spec) []finding.Finding {
	if s.Lumens == nil || s.PeakCandela == nil {
		return nil
	}
	light, _, err := s.Light()
	if err != nil {
		return nil
	}
	most, angles := mostOverBoth, "with these angles"
	if s.BeamDeg == nil || s.FieldDeg == nil {
		most, angles = mostOverOne, "with this angle"
	}
	if off := light.Flux() / *s.Lumens; off <= most && off >= 1.0/mostUnder {
		return nil
	}
	of := fmt.Sprintf("type %q", t.Name)
	if end != "" {
		of = fmt.Sprintf("the %s end of the zoom of type %q", end, t.Name)
	}
	place := at.Place()
	if member, ok := at.Get("peak_cd"); ok {
		place = member.Place()
	}
	return []finding.Finding{{
		Rule: "file/numbers-contradict", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "type", Name: source.Shorten(t.Name)}}, Detail: end,
		Message: fmt.Sprintf("%s has a peak of %s cd, which means about %s lm %s, and flux_lm is %s: they cannot all be right.",
			of, plain(*s.PeakCandela, 4), plain(light.Flux(), 2), angles, plain(*s.Lumens, 4)),
		Hint:  "look the three up in the data sheet, all for the same lens and zoom; leave out the one that is not there. Light on faces is worked out from the peak",
		Place: place,
	}}
}

// plain writes a number above 0 with so many digits that count, and no exponent.
func plain(x float64, digits int) string {
	unit := math.Pow(10, math.Floor(math.Log10(x))-float64(digits-1))
	return strconv.FormatFloat(math.Round(x/unit)*unit, 'f', max(0, -int(math.Round(math.Log10(unit)))), 64)
}
