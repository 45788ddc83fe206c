// Package photometry answers how much light arrives: from a fixture at a place, on a surface, and at a camera.
//
// In go positions in metres, angles in degrees, flux in lumens, intensity in candelas, and the photometric files that
// makers publish (ANSI/IES LM-63 and EULUMDAT). Out come illuminance in lux, luminance in candelas per square metre,
// exposure in stops, and the matrix that turns the levels of a look into lux in one product. Direct light only: nothing
// is reflected, nothing stands in the way, and every fixture is a point (see Illuminance for what that costs).
//
// Axes: right-handed, origin on the stage floor at the centre of the downstage edge; x to the right as seen from the
// house, y upstage (away from the house), z up.
//
// What a newcomer gets wrong: an angle on a data sheet (beam, field, cone) is the full angle from edge to edge, while
// theta in Candela is measured from the axis, so the edge of a 26 degree beam is at theta 13.
//
// Nothing here panics on bad values or gives NaN, an infinity or a silent zero: a function that cannot tell says so
// with ok false or an error. A zero with ok true is a real one, such as light arriving from behind a surface.
package photometry
