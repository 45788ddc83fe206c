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

// RimFromAzimuth is how far round, in degrees, light that is called back light makes at least a rim along hair and
// shoulder: behind the cheek, though beside the person for a camera that looks from the side. Common practice, no source.
const RimFromAzimuth = 105

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
