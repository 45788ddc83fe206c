package colour

import (
	"math"
	"testing"
)

// TestPhaseVoltageHasNoStep: where the series takes over from the difference, at y = 0.05, both
// give the same. The voltage goes there as y to the power of 3/2.
func TestPhaseVoltageHasNoStep(t *testing.T) {
	const at, step = 0.05 / (2 * math.Pi), 1e-9
	below, above := phaseVoltage(at*(1-step)), phaseVoltage(at*(1+step))
	if got, want := above/below-1, 3*step; math.Abs(got-want) > 1e-10 {
		t.Errorf("from below to above it rises by %g of itself, not %g", got, want)
	}
	// Half the control is half a wave of two: y - sin y is pi there, and all of it 2 pi at full.
	for x, want := range map[float64]float64{0: 0, 0.5: math.Sqrt(0.5), 1: 1} {
		if got := phaseVoltage(x); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %v the voltage is %v, not %v", x, got, want)
		}
	}
}
