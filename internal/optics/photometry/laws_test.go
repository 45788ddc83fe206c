package photometry

import (
	"math"
	"testing"
)

func TestWorkedExamples(t *testing.T) {
	for _, r := range reference(t, "photometry_examples.csv") {
		t.Run(r["id"], func(t *testing.T) {
			known := must(t)
			a, b, c := r.num(t, "a"), r.num(t, "b"), r.num(t, "c")
			var got float64
			switch r["kind"] {
			case "isotropic":
				got = known(IsotropicCandela(a))
			case "illuminance":
				got = known(Illuminance(a, b, c))
			case "illuminance_fc": // distance in feet, answer in footcandles
				got = known(Illuminance(a, b*metresPerFoot, c)) / LuxPerFootcandle
			case "exitance":
				got = known(LambertianExitance(a))
			case "exitance_flux": // times the area
				got = known(LambertianExitance(a)) * b
			case "lux_per_fc":
				got = LuxPerFootcandle
			case "nits_per_fl":
				got = NitsPerFootlambert
			case "lambert":
				got = known(LambertianLuminance(a, b))
			case "beam_diameter":
				got = known(BeamDiameter(a, b))
			case "zonal_constant":
				got = known(ZonalConstant(a, b))
			case "cone":
				got = known(ConeSolidAngle(a))
			case "ratio_percent":
				got = 100 * a / b
			case "percent_of":
				got = a / 100 * b
			default:
				t.Fatalf("no such kind: %s", r["kind"])
			}
			near(t, r["kind"], got, r.num(t, "expected"), r.num(t, "tolerance"))
		})
	}
}

func TestZonesMirrorAboveTheHorizon(t *testing.T) {
	known := must(t)
	for a := 0.0; a < 90; a += 10 {
		near(t, "zone", known(ZonalConstant(180-a-10, 180-a)), known(ZonalConstant(a, a+10)), exact)
	}
}

func TestLawsKnowTheirDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	unknown(t, "no distance")(Illuminance(100, 0, 0))
	unknown(t, "negative distance")(Illuminance(100, -1, 0))
	unknown(t, "distance whose square is no number")(Illuminance(100, 1e200, 0))
	unknown(t, "distance whose square is 0")(Illuminance(100, 1e-200, 0))
	unknown(t, "NaN candela")(Illuminance(nan, 1, 0))
	unknown(t, "infinite candela from behind")(Illuminance(inf, 1, 120))
	unknown(t, "over half a turn")(Illuminance(100, 1, 181))
	unknown(t, "NaN angle")(Illuminance(100, 1, nan))
	unknown(t, "negative lux")(LambertianLuminance(-1, 0.5))
	unknown(t, "NaN reflectance")(LambertianLuminance(1, nan))
	unknown(t, "infinite luminance")(LambertianExitance(inf))
	unknown(t, "negative luminance")(LambertianExitance(-1))
	unknown(t, "negative flux")(IsotropicCandela(-1))
	unknown(t, "more than the sphere")(ConeSolidAngle(361))
	unknown(t, "NaN cone")(ConeSolidAngle(nan))
	unknown(t, "swapped zone")(ZonalConstant(20, 10))
	unknown(t, "zone past the pole")(ZonalConstant(170, 190))
	unknown(t, "flat cone")(BeamDiameter(1, 180))
	unknown(t, "no throw")(BeamDiameter(0, 20))

	known := must(t)
	near(t, "light from behind", known(Illuminance(100, 1, 91)), 0, 0)
	near(t, "whole sphere", known(ConeSolidAngle(360)), 4*math.Pi, exact*4*math.Pi)
	near(t, "no cone", known(ConeSolidAngle(0)), 0, 0)
}
