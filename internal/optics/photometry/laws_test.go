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
			case "isotropic": // the candelas of so many lumens
				got = a / evenly(1).Flux()
			case "illuminance":
				got = under(t, a, b, c)
			case "illuminance_fc": // distance in feet, answer in footcandles
				got = under(t, a, b*metresPerFoot, c) * metresPerFoot * metresPerFoot
			case "exitance": // a perfect matt surface gives back what it gets
				got = a / known(LambertianLuminance(1, 1))
			case "exitance_flux": // times the area
				got = a / known(LambertianLuminance(1, 1)) * b
			case "lambert":
				got = known(LambertianLuminance(a, b))
			case "zonal_constant":
				got = known(evenly(1).FluxBetween(a, b))
			case "cone":
				got = known(evenly(1).FluxBetween(0, a/2))
			default:
				t.Fatalf("no such kind: %s", r["kind"])
			}
			near(t, r["kind"], got, r.num(t, "expected"), r.num(t, "tolerance"))
		})
	}
}

// evenly shines as strongly in every direction.
func evenly(candela float64) *Web {
	return sampled(rotational, []float64{0}, 5, 180, func(v, h float64) float64 { return candela })
}

// under is the illuminance at a distance from a lamp of so many candelas straight above, on a surface so many degrees off
// the level.
func under(t *testing.T, candela, distance, offDeg float64) float64 {
	t.Helper()
	frame, err := AimAt(Vec{Z: distance}, Vec{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	s, err := NewSource(frame, evenly(candela), Cuts{})
	if err != nil {
		t.Fatal(err)
	}
	sin, cos := math.Sincos(offDeg * degree)
	lux, ok := s.Coefficient(Receiver{Normal: Vec{X: sin, Z: cos}})
	if !ok {
		t.Fatal("no light")
	}
	return lux
}

func TestLawsKnowTheirDomain(t *testing.T) {
	nan := math.NaN()
	unknown(t, "negative lux")(LambertianLuminance(-1, 0.5))
	unknown(t, "NaN reflectance")(LambertianLuminance(1, nan))
}
