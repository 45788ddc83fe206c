package photometry

import (
	"fmt"
	"math"
)

// Blade is one shutter blade of a profile fixture.
//
// DepthPercent is how far its edge stands inside the edge of the field, in percent of the radius of the field, measured
// square to the edge: 0 is out and cuts nothing at all, 100 puts the edge on the beam axis, 200 covers the whole field.
// AngleDeg turns the edge, positive counter-clockwise as seen from the fixture looking along the beam; -90 to 90, both
// excluded. Blades are named for the side of the light they cut, as seen from the fixture (in the fixture itself the
// image is upside down, so the upper blade often cuts the lower side).
type Blade struct {
	DepthPercent, AngleDeg float64
}

// Cuts are the four blades and the field angle (full, in degrees, below 180) that their depth is a part of. The zero
// value cuts nothing.
type Cuts struct {
	FieldDeg                 float64
	Top, Bottom, Left, Right Blade
}

// Side names a blade.
type Side string

// The blades.
const (
	Top    Side = "top"
	Bottom Side = "bottom"
	Left   Side = "left"
	Right  Side = "right"
)

// ImagePoint is a direction in the beam's picture, right and up as seen from the fixture looking along the beam: the
// tangents of its angles over the tangent of half the field angle, so the edge of the field is the circle of radius 1.
// Ahead is false for directions at 90 degrees from the axis or more, which no picture holds.
type ImagePoint struct {
	X, Y  float64
	Ahead bool
}

// edge is a blade's edge: a direction is blocked where its distance along the outward normal is at least reach.
type edge struct{ normalX, normalY, reach float64 }

func (c Cuts) blades() [4]Blade { return [4]Blade{c.Top, c.Bottom, c.Left, c.Right} }

// sides are in the order of blades, with the outward direction of each at angle 0.
var sides = [4]struct {
	side       Side
	outwardDeg float64
}{{Top, 90}, {Bottom, 270}, {Left, 180}, {Right, 0}}

// edges gives the blades that are in. Error: values outside the domain of Blade and Cuts.
func (c Cuts) edges() ([]edge, error) {
	var in []edge
	for i, b := range c.blades() {
		if !(b.DepthPercent >= 0 && b.DepthPercent <= 200) {
			return nil, fmt.Errorf("%s shutter at depth %g %%: must be 0 to 200 %% of the radius of the field", sides[i].side, b.DepthPercent)
		}
		if !(math.Abs(b.AngleDeg) < 90) {
			return nil, fmt.Errorf("%s shutter at angle %g degrees: must be between -90 and 90", sides[i].side, b.AngleDeg)
		}
		if b.DepthPercent == 0 {
			continue
		}
		sin, cos := math.Sincos((sides[i].outwardDeg + b.AngleDeg) * degree)
		in = append(in, edge{cos, sin, 1 - b.DepthPercent/100})
	}
	if len(in) > 0 && !(c.FieldDeg > 0 && c.FieldDeg < 180) {
		return nil, fmt.Errorf("shutter cuts need a field angle above 0 and below 180 degrees, not %g", c.FieldDeg)
	}
	return in, nil
}

// image gives the picture of a direction for a field of the given tangent of the half angle.
func image(thetaDeg, phiDeg, tanHalfField float64) ImagePoint {
	if thetaDeg >= 90 {
		return ImagePoint{}
	}
	sin, cos := math.Sincos(phiDeg * degree)
	r := math.Tan(thetaDeg*degree) / tanHalfField
	return ImagePoint{X: r * cos, Y: r * sin, Ahead: finite(r)}
}

// blocked says whether any of the blades takes the direction away. With a blade in, so is everything that is not ahead.
func blocked(edges []edge, p ImagePoint) bool {
	for _, e := range edges {
		if !p.Ahead || p.X*e.normalX+p.Y*e.normalY >= e.reach {
			return true
		}
	}
	return false
}

// Image gives the picture of each point in the beam of a fixture, for a full field angle above 0 and below 180 degrees.
// ok is false for another angle, or when a point is at the fixture or not finite.
func (f Frame) Image(fieldDeg float64, points []Vec) (picture []ImagePoint, ok bool) {
	if !(fieldDeg > 0 && fieldDeg < 180) {
		return nil, false
	}
	tan := math.Tan(fieldDeg / 2 * degree)
	for _, p := range points {
		theta, phi, _, ok := f.Direction(p)
		if !ok {
			return nil, false
		}
		picture = append(picture, image(theta, phi, tan))
	}
	return picture, true
}

// leastDepth is what a blade that is in at all is in by, so that directions beyond the edge of the field are cut too.
const leastDepth = 1.0

// SmallestCut finds the blade that clears some directions (the samples of a screen) with the least depth while leaving
// others lit (the faces), all as pictures by Frame.Image. The edge is not turned: a tilted blade may do with less. The
// depth is exact: the innermost direction to clear lies on the edge, and counts as cut. It is at least 1 percent.
//
// ok is false when no single blade can do it, when there is nothing to clear, or when a direction to keep is not ahead
// of the fixture. Equal depths go to the first of top, bottom, left, right.
func SmallestCut(clear, keep []ImagePoint) (side Side, depthPercent float64, ok bool) {
	if !finitePoints(clear) || !finitePoints(keep) {
		return "", 0, false
	}
	for _, s := range sides {
		sin, cos := math.Sincos(s.outwardDeg * degree)
		reach := math.Inf(1)
		for _, p := range clear {
			if p.Ahead { // what is not ahead is cut by any blade that is in
				reach = math.Min(reach, p.X*cos+p.Y*sin)
			}
		}
		depth := math.Max(leastDepth, 100*(1-reach))
		if len(clear) == 0 || !(depth <= 200) {
			continue
		}
		// The edge as edges will rebuild it from the depth, so that rounding cannot tell another story there.
		cut := []edge{{cos, sin, 1 - depth/100}}
		for anyLit(cut, clear) { // by a last bit at most
			depth = math.Nextafter(depth, 201)
			cut[0].reach = 1 - depth/100
		}
		if anyBlocked(cut, keep) || (ok && depth >= depthPercent) || depth > 200 {
			continue
		}
		side, depthPercent, ok = s.side, depth, true
	}
	return side, depthPercent, ok
}

func finitePoints(points []ImagePoint) bool {
	for _, p := range points {
		if !finite(p.X, p.Y) {
			return false
		}
	}
	return true
}

func anyLit(cut []edge, points []ImagePoint) bool {
	for _, p := range points {
		if !blocked(cut, p) {
			return true
		}
	}
	return false
}

func anyBlocked(cut []edge, points []ImagePoint) bool {
	for _, p := range points {
		if blocked(cut, p) {
			return true
		}
	}
	return false
}

// Passes is the part of a light's flux that the shutters let out, 0 to 1; none where they cover the whole field from both
// sides. What lies behind 90 degrees, or beyond where a light gives next to nothing, is left out. It is followed as
// [Source.LumensOn] is: within 2 % of the flux for beams of 5 to 60 degrees (tested). ok is false for cuts outside their
// domain and for a light that knows nothing.
func (c Cuts) Passes(light Distribution) (part float64, ok bool) {
	edges, err := c.edges()
	if err != nil || light == nil {
		return 0, false
	}
	if len(edges) == 0 {
		return 1, true
	}
	cone, ok := coneOf(light)
	if !ok {
		return 0, false
	}
	shut := Source{edges: edges, tanHalfField: math.Tan(c.FieldDeg / 2 * degree)}
	all, ok1 := cone.between(0, cone.wide, nil)
	out, ok2 := cone.between(0, cone.wide, shut.blades())
	return out / all, ok1 && ok2 && all > 0
}
