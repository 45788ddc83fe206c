package colour

import (
	"math"
	"testing"
)

// The corners of the wheel are the primaries and secondaries of IEC 61966-2-1.
func TestWheelCorners(t *testing.T) {
	for hue, hex := range map[float64]string{0: "#ff0000", 60: "#ffff00", 120: "#00ff00", 180: "#00ffff", 240: "#0000ff", 300: "#ff00ff", 360: "#ff0000", -120: "#0000ff", 30: "#ff8000"} {
		got, ok := Wheel(hue, 100)
		xyz, err := HexXYZ(hex)
		want, ok2 := xyz.XY()
		// #80 is 128/255, half of full is 127.5/255: 30 degrees is that much off.
		if !ok || err != nil || !ok2 || math.Hypot(got.X-want.X, got.Y-want.Y) > 0.001 {
			t.Errorf("hue %v is at %v, want %v (%s)", hue, got, want, hex)
		}
	}
	if white, ok := Wheel(77, 0); !ok || math.Hypot(white.X-D65.X, white.Y-D65.Y) > 1e-4 {
		t.Errorf("saturation 0 is at %v, want D65 %v", white, D65)
	}
}

func TestWheelDomain(t *testing.T) {
	for _, tc := range [][2]float64{{math.NaN(), 50}, {math.Inf(1), 50}, {0, -1}, {0, 100.1}, {0, math.NaN()}} {
		if _, ok := Wheel(tc[0], tc[1]); ok {
			t.Errorf("Wheel(%v, %v) has an answer", tc[0], tc[1])
		}
	}
	if _, ok := WheelHue(math.NaN()); ok {
		t.Error("WheelHue(NaN) has an answer")
	}
}

func TestWheelHueIsTheInverseOfWheel(t *testing.T) {
	for degree := 0.0; degree < 360; degree++ {
		xy, _ := Wheel(degree, 100)
		lch, _ := xy.OKLCh()
		back, ok := WheelHue(lch.H)
		other, _ := Wheel(back, 100)
		lchBack, _ := other.OKLCh()
		// Around blue several degrees of the wheel have nearly one OKLCh hue: the
		// hue has to come back, not the degree.
		if !ok || math.Abs(math.Remainder(lchBack.H-lch.H, 360)) > 1e-9 {
			t.Errorf("degree %v comes back as %v", degree, back)
		}
	}
}
