package colour_test

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/optics/colour"
)

func ExampleCCT() {
	cct, duv, _ := colour.CCT(colour.XY{X: 0.3127, Y: 0.3290})
	fmt.Printf("%.0f K, Duv %+.4f\n", cct, duv)
	_, _, ok := colour.CCT(colour.XY{X: 0.15, Y: 0.06})
	fmt.Println("blue has a CCT:", ok)
	// Output:
	// 6504 K, Duv +0.0032
	// blue has a CCT: false
}

// At half voltage a 3200 K lamp gives a tenth of its light and turns amber; to
// stay within 20 mired of full it may go down to 78 % on a square-law dimmer.
func ExampleLamp() {
	lamp := colour.Lamp{CCT: 3200, LightExponent: colour.IncandescentLight}
	half, _ := lamp.Dim(colour.LinearVoltage, 0.5)
	fmt.Printf("light %.1f %%, %.0f K\n", 100*half.Light, half.CCT)
	level, _ := lamp.LowestLevel(colour.SquareLaw, 20)
	fmt.Printf("level %.0f %%\n", 100*level)
	// Output:
	// light 9.5 %, 2464 K
	// level 78 %
}
