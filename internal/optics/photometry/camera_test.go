package photometry

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestExposureVectors(t *testing.T) {
	for _, r := range reference(t, "exposure_vectors.csv") {
		t.Run(r["id"], func(t *testing.T) {
			known := must(t)
			if r["kind"] == "camera_setting" {
				n, s, iso := r.num(t, "f_number"), r.num(t, "shutter_s"), r.num(t, "iso")
				near(t, "illuminance", known(ExposureIlluminance(n, s, iso, r.num(t, "C"))), r.num(t, "illuminance_lx"), lastDigit(r["illuminance_lx"]))
			} else { // EV at ISO 100 is log2(N^2/t)
				lux := known(ExposureIlluminance(1, math.Exp2(-r.num(t, "ev100")), 100, CalibrationFlat))
				near(t, "illuminance from EV", lux, r.num(t, "illuminance_lx"), 1e-12*lux)
			}
		})
	}
}

// Reflectances against the grey card, from exposure handbooks: 36 % is 1.0 stop over 18 %, 16 % 0.17 under, 10 % 0.85 under.
func TestStops(t *testing.T) {
	known := must(t)
	for rho, want := range map[float64]float64{0.36: 1.0, 0.16: -0.17, 0.10: -0.85, 0.18: 0} {
		face := known(LambertianLuminance(122.5, rho))
		near(t, "face at the camera's own level", known(Stops(face, known(LambertianLuminance(122.5, GreyCard)))), want, 0.005)
		near(t, "screen against that face", known(ScreenOverFace(2*face, 122.5, rho)), 1, exact)
	}
	near(t, "stops", known(Stops(800, 100)), 3, exact)
	near(t, "stops under", known(Stops(100, 800)), -3, exact)
	near(t, "extremes", known(Stops(1e308, 1e-308)), 616*math.Log2(10), 1e-9)
}

func TestExposureKnowsItsDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, bad := range []float64{0, -1, nan, inf} {
		unknown(t, "f-number")(ExposureIlluminance(bad, 0.02, 800, 250))
		unknown(t, "time")(ExposureIlluminance(2.8, bad, 800, 250))
		unknown(t, "speed")(ExposureIlluminance(2.8, 0.02, bad, 250))
		unknown(t, "constant")(ExposureIlluminance(2.8, 0.02, 800, bad))
		unknown(t, "stops")(Stops(bad, 1))
		unknown(t, "stops")(Stops(1, bad))
		unknown(t, "over face")(ScreenOverFace(100, bad, 0.3))
		unknown(t, "over face")(ScreenOverFace(100, 300, bad))
	}
}

func TestContrastTable(t *testing.T) {
	known := must(t)
	for _, r := range reference(t, "display_contrast.csv") {
		ambient := known(LambertianLuminance(r.num(t, "ambient_lx"), r.num(t, "gain")))
		near(t, r["id"]+": ambient", ambient, r.num(t, "ambient_nits"), lastDigit(r["ambient_nits"]))
		near(t, r["id"], known(ContrastRatio(r.num(t, "white_nits"), r.num(t, "black_nits"), ambient)), r.num(t, "contrast_ratio"), lastDigit(r["contrast_ratio"]))
	}
	limits := map[string]float64{"passive viewing": ContrastPassiveViewing, "basic decision making": ContrastBasicDecisions,
		"analytical decision making": ContrastAnalyticDecisions, "full-motion video": ContrastFullMotionVideo}
	for _, r := range reference(t, "display_categories.csv") {
		near(t, r["category"], limits[r["category"]], r.num(t, "minimum_ratio"), 0)
	}
	// Worked example: 6000 lm on 4.0 x 2.25 m at gain 1 is 666.7 lx and 212.2 cd/m2.
	lux, nits, ok := ProjectorWhite(6000, 4.0, 2.25, 1)
	if !ok {
		t.Error("unknown")
	}
	near(t, "projector white, lux", lux, 666.7, 0.05)
	near(t, "projector white, luminance", nits, 212.2, 0.05)

	nan := math.NaN()
	for _, c := range [][3]float64{{100, 0, 0}, {1, 2, 0}, {-1, 0, 1}, {1, -1, 2}, {1, 0, -1}, {nan, 0, 1}, {1, nan, 1}, {1, 0, nan}, {math.Inf(1), 0, 1}, {1e308, 0, 1e-308}} {
		unknown(t, "contrast")(ContrastRatio(c[0], c[1], c[2]))
	}
	for _, c := range [][4]float64{{0, 1, 1, 1}, {1, 0, 1, 1}, {1, 1, -1, 1}, {1, 1, 1, nan}, {1, 1e-200, 1e-200, 1}, {1e-300, 1e200, 1e200, 1}} {
		if lux, nits, ok := ProjectorWhite(c[0], c[1], c[2], c[3]); ok || lux != 0 || nits != 0 {
			t.Errorf("projector %v: %g, %g, %v", c, lux, nits, ok)
		}
	}
}

func TestBandingTable(t *testing.T) {
	for _, r := range reference(t, "pwm_banding.csv") {
		f, s, duty := r.num(t, "frequency_hz"), r.num(t, "shutter_s"), r.num(t, "duty")
		got := must(t)(BandDepth(f, s, duty))
		near(t, r["id"], got, r.num(t, "band_depth"), lastDigit(r["band_depth"])*1e-9+tableRounding(r["band_depth"]))
		near(t, r["id"]+", integrated", got, integratedBands(f, s, duty), 1e-6)
	}
}

// tableRounding is what a printed depth can be off by; a printed 0 is exact.
func tableRounding(text string) float64 {
	if text == "0" {
		return 0
	}
	return lastDigit(text)
}

// integratedBands measures the light in the shutter for many phases of the square wave, by the running integral of the wave.
func integratedBands(f, s, duty float64) float64 {
	upTo := func(t float64) float64 { // on-time from 0 to t, in periods
		n := math.Floor(t)
		return n*duty + math.Min(t-n, duty)
	}
	lowest, highest, sum := math.Inf(1), math.Inf(-1), 0.0
	const phases = 100000
	for k := range phases {
		start := float64(k) / phases
		light := upTo(start+f*s) - upTo(start)
		lowest, highest, sum = math.Min(lowest, light), math.Max(highest, light), sum+light
	}
	return (highest - lowest) / (sum / phases)
}

// The formula against the integration for any lamp and shutter. Phases are 1e-5 apart, so the extremes are met within
// that much light: relative to the mean x D.
func TestBandDepthMatchesIntegration(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := rapid.Float64Range(50, 20000).Draw(rt, "f")
		s := 1 / rapid.Float64Range(20, 2000).Draw(rt, "1/s")
		duty := rapid.Float64Range(0.01, 1).Draw(rt, "duty")
		got, ok := BandDepth(f, s, duty)
		want := integratedBands(f, s, duty)
		if tolerance := 2.1e-5/(f*s*duty) + 1e-9; !ok || math.Abs(got-want) > tolerance {
			rt.Fatalf("got %g, integrated %g", got, want)
		}
		longer, ok := BandDepth(f, s, rapid.Float64Range(duty, 1).Draw(rt, "longer"))
		if !ok || longer > got+1e-12 {
			rt.Fatalf("depth %g, at a longer duty %g", got, longer)
		}
	})
}

func TestBandingKnowsItsDomain(t *testing.T) {
	known := must(t)
	near(t, "steady light", known(BandDepth(777, 0.013, 1)), 0, 1e-15)
	near(t, "on frequency, where 49 times 1/49 is not 1 in binary", known(BandDepth(49, 1.0/49, 0.5)), 0, 0)
	near(t, "a shutter shorter than a flash or a gap: all or nothing", known(BandDepth(100, 0.001, 0.5)), 2, 1e-12)
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		unknown(t, "frequency")(BandDepth(bad, 0.02, 0.5))
		unknown(t, "shutter")(BandDepth(1000, bad, 0.5))
		unknown(t, "duty")(BandDepth(1000, 0.02, bad))
	}
	unknown(t, "duty over 1")(BandDepth(1000, 0.02, 1.1))
	unknown(t, "product out of range")(BandDepth(1e200, 1e200, 0.5))
	unknown(t, "product out of range")(BandDepth(1e-200, 1e-200, 0.5))
}

// A projector without light, picture or gain has no white.
func TestProjectorsWithoutAWhite(t *testing.T) {
	for _, c := range [][4]float64{{0, 2, 1, 1}, {5000, 0, 1, 1}, {5000, 2, 0, 1}, {5000, 2, 1, 0}, {-1, 2, 1, 1}, {5000, -2, -1, 1}, {5000, 2, 1, math.NaN()}, {math.Inf(1), 2, 1, 1}} {
		if lux, nits, ok := ProjectorWhite(c[0], c[1], c[2], c[3]); ok || lux != 0 || nits != 0 {
			t.Errorf("%v lm on %v x %v m with a gain of %v: %v lx, %v cd/m2", c[0], c[1], c[2], c[3], lux, nits)
		}
	}
	lux, nits, ok := ProjectorWhite(5000, 2.5, 2, 1)
	if !ok {
		t.Fatal("no white")
	}
	near(t, "its light", lux, 1000, 1e-9)
	near(t, "its white", nits, 1000/math.Pi, 1e-9)
}
