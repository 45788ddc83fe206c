package air

import (
	"math"
	"testing"
)

// TestHazeThatHangs holds what has no source against the sentence beside it: a tenth is left after 3.8 hours of oil, one of
// glycols, two of glycerol, and 10 m of beam scatter 3 % at 1 mg/m3 (3 m2/g: a textbook's, from memory) and 6 % at 2.
func TestHazeThatHangs(t *testing.T) {
	for aerosol, hours := range map[string]float64{"mineral oil": 3.84, "glycols": 1, "glycerol": 2} {
		fluid, ok := FluidFor(aerosol)
		left := Room{VolumeM3: 1, SettlingPerHour: fluid.SettlingPerHour}.Left(hours * secondsPerHour)
		if !ok || math.Abs(left-0.1) > 0.002 {
			t.Errorf("%s: %v of it is left after %v h", aerosol, left, hours)
		}
	}
	for level, part := range map[float64]float64{BeamsFaint: 0.03, BeamsClear: 0.06} {
		if got := 3e-3 * level * 10; math.Abs(got-part) > 1e-12 {
			t.Errorf("at %v mg/m3 10 m of beam scatter %v, want %v", level, got, part)
		}
	}
	if fluid, _ := FluidFor("mineral oil"); fluid.SettlingPerHour/SettlingOff != 0.3 || fluid.SettlingPerHour*SettlingOff != 1.2 {
		t.Errorf("oil settles %v times an hour, or %v times faster or slower; 0.3 to 1.2 are told", fluid.SettlingPerHour, SettlingOff)
	}
	for word, want := range map[string]Start{"none": {}, "thin": {1.4, 1, 2}, "full": {3, 2, 5}} {
		if Starts[word] != want {
			t.Errorf("%s haze is %v, want %v: what a show file means by the word", word, Starts[word], want)
		}
	}
}
