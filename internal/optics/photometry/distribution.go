package photometry

// Distribution is where a fixture's light goes at full level.
//
// Candela gives the intensity in the direction (thetaDeg, phiDeg), both in degrees: theta from the beam axis, 0 to 180;
// phi around it, counter-clockwise as seen from the fixture looking along the beam, from the right (phi 0) over the top
// (phi 90), any finite value. ok is false for angles that are not in that domain.
//
// Flux is the total in lumens.
type Distribution interface {
	Candela(thetaDeg, phiDeg float64) (candela float64, ok bool)
	Flux() float64
}

// Spread is what a distribution knows of its own width. Beam angle: the full angle between the directions of 50 % of the
// maximum; field angle: 10 % (IES definitions; ANSI C78.379-2006 refers to the centre instead of the maximum, which is
// the same here for models and may differ for files). ok is false where there is no such edge.
type Spread interface {
	BeamDeg() (deg float64, ok bool)
	FieldDeg() (deg float64, ok bool)
}

const (
	beamFraction  = 0.5 // of the maximum, at the edge of the beam (IES definitions)
	fieldFraction = 0.1 // of the maximum, at the edge of the field (IES definitions)
)
