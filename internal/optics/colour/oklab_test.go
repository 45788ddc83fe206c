package colour

import (
	"math"
	"strings"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"
)

func TestOKLab(t *testing.T) {
	for _, r := range reference(t, "oklab_vectors.csv", "source", "status") {
		xyz := XYZ{r.number(t, "X"), r.number(t, "Y"), r.number(t, "Z")}
		lab, ok := xyz.OKLab()
		if !ok {
			t.Fatalf("%s: no answer", r["id"])
		}
		tolerance := r.number(t, "tolerance")
		near(t, r["id"]+" L", lab.L, r.number(t, "L"), tolerance)
		near(t, r["id"]+" a", lab.A, r.number(t, "a"), tolerance)
		near(t, r["id"]+" b", lab.B, r.number(t, "b"), tolerance)
		if hex := r["srgb_hex"]; hex != "" {
			got, err := HexXYZ(hex)
			if err != nil {
				t.Fatal(err)
			}
			near(t, hex+" X", got.X, xyz.X, 5.1e-7) // printed to six decimals
			near(t, hex+" Y", got.Y, xyz.Y, 5.1e-7)
			near(t, hex+" Z", got.Z, xyz.Z, 5.1e-7)
		}
	}
}

func TestOKLabRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.Float64Range(0, 100)
		c := XYZ{part.Draw(t, "X"), part.Draw(t, "Y"), part.Draw(t, "Z")}
		lab, ok := c.OKLab()
		back, okBack := lab.LCh().Lab().XYZ()
		if !ok || !okBack || math.Abs(back.X-c.X)+math.Abs(back.Y-c.Y)+math.Abs(back.Z-c.Z) > 1e-10 {
			t.Fatalf("%v came back as %v", c, back)
		}
		// Hue does not depend on luminance: the promise that hues are built on.
		scaled, _ := c.Scale(0.125).OKLab()
		if math.Abs(2*scaled.L-lab.L)+math.Abs(2*scaled.A-lab.A)+math.Abs(2*scaled.B-lab.B) > 1e-12*(1+math.Abs(lab.L)) {
			t.Fatalf("%v scaled by 1/8: %v", lab, scaled)
		}
	})
}

// The other library carries the matrices of a later revision of the article, which
// differ in the fourth decimal.
func TestOKLabAgainstGoColorful(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(0, 1), 3, 3).Draw(t, "rgb")
		c := RGB{v[0], v[1], v[2]}.XYZ()
		lab, ok := c.OKLab()
		l, a, b := colorful.XyzToOkLab(c.X, c.Y, c.Z)
		if !ok || math.Abs(lab.L-l) > 1e-3 || math.Abs(lab.A-a) > 1e-3 || math.Abs(lab.B-b) > 1e-3 {
			t.Fatalf("%v: got %v, go-colorful %g %g %g", c, lab, l, a, b)
		}
	})
}

func TestOKLabDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []XYZ{{nan, 1, 1}, {1, inf, 1}, {1, 1, -inf}} {
		if _, ok := c.OKLab(); ok {
			t.Errorf("%v accepted", c)
		}
	}
	for _, c := range []OKLab{{nan, 0, 0}, {inf, 0, 0}, {1e200, 0, 0}} {
		if _, ok := c.XYZ(); ok {
			t.Errorf("%v accepted", c)
		}
	}
	black, ok := XYZ{}.OKLab()
	if !ok || black.LCh() != (OKLCh{}) {
		t.Errorf("black: %v, %v", black.LCh(), ok)
	}
	if h := hueDegrees(1, -1e-300); h != 0 {
		t.Errorf("a hue just below 360 came out as %g", h)
	}
	for h, want := range map[float64]float64{0: 0, 360: 0, -1: 359, 725: 5, -1e-20: 0} {
		if got := wrapDegrees(h); got != want {
			t.Errorf("wrapDegrees(%g) = %g", h, got)
		}
	}
}

func TestMatrixInverse(t *testing.T) {
	for name, m := range map[string]matrix{"M1": okM1, "M2": okM2, "sRGB": srgbToXYZ} {
		inverse := m.inverse()
		for j := range 3 {
			var unit [3]float64
			unit[j] = 1
			x, y, z := inverse.times(unit[0], unit[1], unit[2])
			x, y, z = m.times(x, y, z)
			if math.Abs(x-unit[0])+math.Abs(y-unit[1])+math.Abs(z-unit[2]) > 1e-14 {
				t.Errorf("%s times its inverse, column %d: %g %g %g", name, j, x, y, z)
			}
		}
	}
	// The inverse printed in IEC 61966-2-1 has four decimals.
	want := matrix{{3.2406, -1.5372, -0.4986}, {-0.9689, 1.8758, 0.0415}, {0.0557, -0.2040, 1.0570}}
	for i := range want {
		for j := range want[i] {
			near(t, "inverse of sRGB", xyzToSRGB[i][j], want[i][j], 6e-5)
		}
	}
}

func TestSRGB(t *testing.T) {
	white, ok := XYZ{0.9505, 1, 1.089}.LinearSRGB()
	if !ok || math.Abs(white.R-1)+math.Abs(white.G-1)+math.Abs(white.B-1) > 1e-12 {
		t.Errorf("white: %v, %v", white, ok)
	}
	if _, ok := (XYZ{math.NaN(), 1, 1}).LinearSRGB(); ok {
		t.Error("NaN accepted")
	}
	// The two branches of the transfer function meet to the standard's digits.
	near(t, "transfer function", 0.04045/12.92, math.Pow((0.04045+0.055)/1.055, 2.4), 1e-7)
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-0.5, 2), 3, 3).Draw(t, "rgb")
		c := RGB{v[0], v[1], v[2]}
		back, ok := c.XYZ().LinearSRGB()
		if !ok || math.Abs(back.R-c.R)+math.Abs(back.G-c.G)+math.Abs(back.B-c.B) > roundTrip {
			t.Fatalf("%v came back as %v", c, back)
		}
	})
}

func TestParseHex(t *testing.T) {
	for _, s := range []string{"", "#", "ffffff", "#fff", "#fffff", "#fffffff", "#ggffff", "# fffff", "#-1ffff", "#ffffff ", "#ÿfff", "＃ffffff", "0x123456"} {
		if c, err := ParseHex(s); err == nil {
			t.Errorf("%q read as %v", s, c)
		}
		if c, err := HexXYZ(s); err == nil {
			t.Errorf("%q read as %v", s, c)
		}
	}
	white, err := ParseHex("#FFFFFF")
	if err != nil || white != (RGB{1, 1, 1}) {
		t.Errorf("white: %v, %v", white, err)
	}
	// IEC 61966-2-1: straight up to 0.04045 of full, a power beyond.
	dim, err := ParseHex("#010a0b")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "1 of 255", dim.R, 1.0/255/12.92, 1e-12)
	near(t, "10 of 255", dim.G, 10.0/255/12.92, 1e-12)
	near(t, "11 of 255", dim.B, math.Pow((11.0/255+0.055)/1.055, 2.4), 1e-12)
}

func FuzzParseHex(f *testing.F) {
	for _, s := range []string{"#000000", "#1a2B3c", "#ffffff", "#fff", "", "#zzzzzz", "#\x00\x00\x00\x00\x00\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseHex(s)
		if err != nil {
			if c != (RGB{}) {
				t.Fatalf("%q: %v with %v", s, c, err)
			}
			return
		}
		// What is read can be written again by an independent library.
		got := colorful.LinearRgb(c.R, c.G, c.B).Clamped().Hex()
		if got != strings.ToLower(s) {
			t.Fatalf("%q came back as %q", s, got)
		}
	})
}
