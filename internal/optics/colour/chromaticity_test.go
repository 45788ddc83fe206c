package colour

import (
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"
)

// roundTrip is the rounding of a few double-precision steps.
const roundTrip = 1e-12

// drawXY draws a possible chromaticity, real or not.
func drawXY(t *rapid.T) XY {
	y := rapid.Float64Range(0.01, 0.95).Draw(t, "y")
	return XY{rapid.Float64Range(0, 1-y).Draw(t, "x"), y}
}

func TestChromaticityRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawXY(t)
		lum := rapid.Float64Range(1e-3, 1e5).Draw(t, "lum")
		xyz, ok := c.XYZ(lum)
		if !ok || xyz.Y != lum {
			t.Fatalf("%v at %g: %v, %v", c, lum, xyz, ok)
		}
		fromXYZ, ok1 := xyz.XY()
		uv, ok2 := c.UV()
		fromUV, ok3 := uv.XY()
		prime, ok4 := c.UVPrime()
		fromPrime, ok5 := prime.XY()
		if !ok1 || !ok2 || !ok3 || !ok4 || !ok5 {
			t.Fatalf("no answer for %v", c)
		}
		for _, got := range []XY{fromXYZ, fromUV, fromPrime} {
			if math.Hypot(got.X-c.X, got.Y-c.Y) > roundTrip {
				t.Fatalf("%v came back as %v", c, got)
			}
		}
		if X, Y, Z := colorful.XyyToXyz(c.X, c.Y, lum); math.Abs(X-xyz.X)+math.Abs(Y-xyz.Y)+math.Abs(Z-xyz.Z) > 1e-9*(xyz.X+xyz.Y+xyz.Z) {
			t.Fatalf("go-colorful has %g %g %g, we %v", X, Y, Z, xyz)
		}
	})
}

func TestUVOfReferencePoints(t *testing.T) {
	const printed = 1.5e-6 // x, y, u and v are printed to six decimals
	for _, r := range reference(t, "planckian_cct_duv.csv", "source", "status") {
		if r["kind"] != "planck_locus" && r["kind"] != "offset" {
			continue
		}
		uv, ok := XY{r.number(t, "x"), r.number(t, "y")}.UV()
		if !ok {
			t.Fatalf("%s: no answer", r["id"])
		}
		near(t, r["id"]+" u", uv.U, r.number(t, "u"), printed)
		near(t, r["id"]+" v", uv.V, r.number(t, "v"), printed)
	}
	// u' and v' of D65: 0.1978, 0.4683 (CIE 015:2004, Table T.3).
	p, _ := D65.UVPrime()
	near(t, "u' of D65", p.U, 0.1978, 5e-5)
	near(t, "v' of D65", p.V, 0.4683, 5e-5)
}

func TestChromaticityDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []XY{{0.3, 0}, {0.3, -0.1}, {-0.1, 0.3}, {0.7, 0.5}, {nan, 0.3}, {0.3, nan}, {inf, 0.3}, {0.3, inf}, {0.3, -inf}, {}} {
		if _, ok := c.XYZ(1); ok {
			t.Errorf("%v.XYZ accepted", c)
		}
		if _, ok := c.UV(); ok {
			t.Errorf("%v.UV accepted", c)
		}
		if _, ok := c.UVPrime(); ok {
			t.Errorf("%v.UVPrime accepted", c)
		}
		if _, ok := c.OKLCh(); ok {
			t.Errorf("%v.OKLCh accepted", c)
		}
		if _, _, ok := CCT(c); ok {
			t.Errorf("CCT of %v accepted", c)
		}
		if _, ok := RealColour(c); ok {
			t.Errorf("RealColour(%v)", c)
		}
	}
	for _, lum := range []float64{-1, nan, inf, -inf} {
		if _, ok := D65.XYZ(lum); ok {
			t.Errorf("luminance %g accepted", lum)
		}
	}
	if _, ok := (XY{0.5, 5e-324}).XYZ(1e10); ok {
		t.Error("overflow accepted")
	}
	if dark, ok := D65.XYZ(0); !ok || dark != (XYZ{}) {
		t.Errorf("darkness: %v, %v", dark, ok)
	}
	for _, c := range []XYZ{{}, {1, 0, 1}, {-1, 1, 1}, {nan, 1, 1}, {inf, 1, 1}, {1e308, 1e308, 1e308}} {
		if xy, ok := c.XY(); ok {
			t.Errorf("%v has chromaticity %v", c, xy)
		}
		if _, ok := c.UV(); ok {
			t.Errorf("%v has a UV", c)
		}
	}
	for _, p := range []UV{{nan, 0.3}, {0.2, inf}, {0.2, 0.9}, {-1, 0.3}} {
		if xy, ok := p.XY(); ok {
			t.Errorf("%v has chromaticity %v", p, xy)
		}
	}
}
