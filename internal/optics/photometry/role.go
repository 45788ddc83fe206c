package photometry

import "math"

// Role is what a fixture does for a person, told from where it hangs and how bright it is there.
type Role string

// The roles.
const (
	RoleKey  Role = "key"
	RoleFill Role = "fill"
	RoleSide Role = "side"
	RoleBack Role = "back"
	RoleTop  Role = "top"
)

// The bounds between the roles, in degrees. Common practice, no source; textbooks put key light some 45 degrees to the
// side and as high, which is well inside.
const (
	topFromElevation = 70  // from here up, any azimuth: light from overhead
	sideFromAzimuth  = 60  // over this away from the camera: modelling from the side
	backFromAzimuth  = 120 // from here on: behind the person
	keyFromElevation = 10  // below this: front light at eye level or from the floor fills shadows and makes none
)

// keyWithinStops is how far a front light may be under the brightest front light on the same face and still be part of
// the key. Common practice, no source: at twice the light, people say which side the light comes from.
const keyWithinStops = 1.0

// RoleByGeometry tells a role from the bearing alone, so every front light that is high enough counts as key: top from 70
// degrees elevation; else back from 120 degrees azimuth to either side, side over 60 degrees, and in front key from 10
// degrees elevation and fill below. ok is false for a bearing that BearingOf cannot give.
func RoleByGeometry(b Bearing) (role Role, ok bool) {
	azimuth := math.Abs(b.AzimuthDeg)
	if !(azimuth <= 180) || !(math.Abs(b.ElevationDeg) <= 90) {
		return "", false
	}
	switch {
	case b.ElevationDeg >= topFromElevation:
		return RoleTop, true
	case azimuth >= backFromAzimuth:
		return RoleBack, true
	case azimuth > sideFromAzimuth:
		return RoleSide, true
	case b.ElevationDeg < keyFromElevation:
		return RoleFill, true
	}
	return RoleKey, true
}

// Roles tells the roles of the fixtures that light one person, from their bearings and what each gives on the face plane
// in lux. It is RoleByGeometry, except that a key by geometry is fill when it is more than one stop under the brightest
// key: two front lights of like strength are both key. ok is false when the lengths differ, a bearing is bad, or a lux is
// negative or not finite.
func Roles(bearings []Bearing, faceLux []float64) (roles []Role, ok bool) {
	if len(bearings) != len(faceLux) {
		return nil, false
	}
	brightest := 0.0
	for i, b := range bearings {
		role, ok := RoleByGeometry(b)
		if !ok || !(faceLux[i] >= 0) || !finite(faceLux[i]) {
			return nil, false
		}
		roles = append(roles, role)
		if role == RoleKey {
			brightest = math.Max(brightest, faceLux[i])
		}
	}
	for i, role := range roles {
		if role == RoleKey && faceLux[i] < brightest*math.Exp2(-keyWithinStops) {
			roles[i] = RoleFill
		}
	}
	return roles, true
}
