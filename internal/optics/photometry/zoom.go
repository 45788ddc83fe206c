package photometry

import (
	"errors"
	"fmt"
)

// Zoom is a fixture whose beam runs between two ends, each with what its data sheet says.
type Zoom struct {
	Narrow, Wide Spec
}

// At gives the beam at a fraction of the way from the narrow (0) to the wide (1) end. Beam and field angle go linearly in
// degrees between the ends, and so does the flux where both ends state it (as lumens, or as a peak from which the flux
// follows); stated at one end it is the same all along. Linear travel is common practice, no source: real lenses bend
// it a little. An angle that only one end gives is not used. assumed is that of Spec.Light.
func (z Zoom) At(fraction float64) (light Distribution, assumed string, err error) {
	if !(fraction >= 0 && fraction <= 1) {
		return nil, "", fmt.Errorf("zoom at %g of its travel: must be 0 to 1", fraction)
	}
	narrow, wide := z.Narrow, z.Wide
	if narrow.BeamDeg == nil || wide.BeamDeg == nil {
		narrow.BeamDeg, wide.BeamDeg = nil, nil
	}
	if narrow.FieldDeg == nil || wide.FieldDeg == nil {
		narrow.FieldDeg, wide.FieldDeg = nil, nil
	}
	for _, angle := range [][2]*float64{{narrow.BeamDeg, wide.BeamDeg}, {narrow.FieldDeg, wide.FieldDeg}} {
		if angle[0] != nil && !(*angle[0] <= *angle[1]) {
			return nil, "", fmt.Errorf("zoom: narrow end %g degrees is wider than wide end %g degrees", *angle[0], *angle[1])
		}
	}
	fluxNarrow, noteNarrow, err := narrow.flux()
	if err != nil {
		return nil, "", fmt.Errorf("zoom, narrow end: %w", err)
	}
	fluxWide, noteWide, err := wide.flux()
	if err != nil {
		return nil, "", fmt.Errorf("zoom, wide end: %w", err)
	}
	switch {
	case fluxNarrow == nil && fluxWide == nil:
		return nil, "", errors.New("zoom: neither end gives flux or peak intensity")
	case fluxNarrow == nil:
		fluxNarrow = fluxWide
	case fluxWide == nil:
		fluxWide = fluxNarrow
	}
	light, assumed, err = Spec{
		BeamDeg:  between(narrow.BeamDeg, wide.BeamDeg, fraction),
		FieldDeg: between(narrow.FieldDeg, wide.FieldDeg, fraction),
		Lumens:   between(fluxNarrow, fluxWide, fraction),
	}.Light()
	if err != nil {
		return nil, "", fmt.Errorf("zoom: %w", err)
	}
	return light, join(join(assumed, noteNarrow), noteWide), nil
}

// flux is that of one end, or nil where the end does not give any.
func (s Spec) flux() (lumens *float64, assumed string, err error) {
	if s.Lumens == nil && s.PeakCandela == nil {
		return nil, "", nil
	}
	light, assumed, err := s.Light()
	if err != nil {
		return nil, "", err
	}
	flux := light.Flux()
	return &flux, assumed, nil
}

func between(a, b *float64, fraction float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	v := *a*(1-fraction) + *b*fraction
	return &v
}
