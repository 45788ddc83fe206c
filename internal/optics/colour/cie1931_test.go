package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestMatchingFunctionsEqualReference(t *testing.T) {
	rows := reference(t, "cie1931_2deg_5nm.csv", "source", "status")
	if len(rows) != len(cie1931) {
		t.Fatalf("the file has %d rows, the package %d", len(rows), len(cie1931))
	}
	for i, r := range rows {
		if nm := r.number(t, "wavelength_nm"); nm != float64(cmfFirst+i*cmfStep) {
			t.Errorf("row %d is at %g nm", i, nm)
		}
		want := [3]float64{r.number(t, "xbar"), r.number(t, "ybar"), r.number(t, "zbar")}
		if cie1931[i] != want {
			t.Errorf("%s nm: package %v, file %v", r["wavelength_nm"], cie1931[i], want)
		}
	}
}

// The sums of the 5 nm table from 380 to 780 nm, CIE 015 Table T.4.
func TestMatchingFunctionSums(t *testing.T) {
	var sum [3]float64
	for i := (380 - cmfFirst) / cmfStep; i <= (780-cmfFirst)/cmfStep; i++ {
		for j, v := range cie1931[i] {
			sum[j] += v
		}
	}
	for j, want := range []float64{21.37152521, 21.37132779, 21.37154021} {
		near(t, "sum", sum[j], want, 5e-9)
	}
}

// y-bar at 1 nm between 550 and 560 nm: CIE 1931 1 nm table, ISO/CIE 11664-1
// (from memory). The published 1 nm table was smoothed by hand in places, so it
// is met to four decimals, not to all seven.
func TestInterpolatedMatchingFunction(t *testing.T) {
	const smoothing = 5e-5
	for i, want := range []float64{0.9949501, 0.9967108, 0.9980983, 0.999112, 0.9997482, 1,
		0.9998567, 0.9993046, 0.9983255, 0.9968987, 0.995} {
		near(t, "y-bar", matching(550+float64(i)).Y, want, smoothing)
	}
}

func TestSpragueKeepsPolynomials(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c [5]float64
		for i := range c {
			c[i] = rapid.Float64Range(-1, 1).Draw(t, "coefficient")
		}
		f := func(x float64) float64 { return c[0] + x*(c[1]+x*(c[2]+x*(c[3]+x*c[4]))) }
		x := rapid.Float64Range(0, 1).Draw(t, "x")
		got := sprague([6]float64{f(-2), f(-1), f(0), f(1), f(2), f(3)}, x)
		if math.Abs(got-f(x)) > 1e-12 {
			t.Fatalf("at %g: got %g, want %g", x, got, f(x))
		}
	})
	r := [6]float64{3, -1, 4, 1, -5, 9}
	near(t, "at the left sample", sprague(r, 0), r[2], 0)
	near(t, "at the right sample", sprague(r, 1), r[3], 1e-13)
}

// The extrapolating coefficients keep straight lines, and no more.
func TestSpragueBeyondKeepsLines(t *testing.T) {
	f := func(x float64) float64 { return 2 - 3*x }
	end := [6]float64{f(0), f(1), f(2), f(3), f(4), f(5)}
	near(t, "one step beyond", spragueBeyond(end, 1), f(-1), 1e-12)
	near(t, "two steps beyond", spragueBeyond(end, 2), f(-2), 1e-12)
}

func TestSpectrumXYZ(t *testing.T) {
	// Equal energy: x = y = 1/3, as closely as the table sums allow (0.33331,
	// 0.33329 over the whole range).
	xyz, ok := SpectrumXYZ([]float64{300, 900}, []float64{1, 1})
	xy, okXY := xyz.XY()
	if !ok || !okXY {
		t.Fatal("no answer for equal energy")
	}
	near(t, "x of equal energy", xy.X, 0.33331, 1e-5)
	near(t, "y of equal energy", xy.Y, 0.33329, 1e-5)
	// 1 W/nm over the visible: 683 lm/W times the integral of y-bar, which the
	// 5 nm sum 21.37141 approximates.
	near(t, "lumens", xyz.Y/(683*21.37141*5), 1, 1e-5)

	// A narrow line of 1 W at 555 nm has 683 lm.
	line, _ := SpectrumXYZ([]float64{554.99, 555, 555.01}, []float64{0, 100, 0})
	near(t, "lumens of a line", line.Y, 683, 1e-3)

	// A Planckian spectrum given at 5 nm has the colour Planckian sums.
	var nm, power []float64
	for i, r := range planckRows {
		w := float64(cmfFirst + i*cmfStep)
		nm = append(nm, w)
		power = append(power, math.Pow(560/w, 5)/(math.Exp(r.c2OverWavelength/3200)-1))
	}
	got, _ := SpectrumXYZ(nm, power)
	gotUV, _ := got.UV()
	want, _ := PlanckianUV(3200)
	// Straight lines between the 5 nm samples of a curved spectrum.
	near(t, "u of 3200 K", gotUV.U, want.U, 1e-5)
	near(t, "v of 3200 K", gotUV.V, want.V, 1e-5)
}

func TestSpectrumXYZIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 20).Draw(t, "n")
		nm := make([]float64, n)
		a, b, sum := make([]float64, n), make([]float64, n), make([]float64, n)
		at := rapid.Float64Range(300, 500).Draw(t, "start")
		for i := range nm {
			nm[i] = at
			at += rapid.Float64Range(0.01, 60).Draw(t, "step")
			a[i] = rapid.Float64Range(0, 10).Draw(t, "a")
			b[i] = rapid.Float64Range(0, 10).Draw(t, "b")
			sum[i] = a[i] + b[i]
		}
		pa, ok1 := SpectrumXYZ(nm, a)
		pb, ok2 := SpectrumXYZ(nm, b)
		ps, ok3 := SpectrumXYZ(nm, sum)
		if !ok1 || !ok2 || !ok3 {
			t.Fatal("no answer")
		}
		if d := pa.Add(pb); math.Abs(d.X-ps.X)+math.Abs(d.Y-ps.Y)+math.Abs(d.Z-ps.Z) > 1e-9*(1+ps.X+ps.Y+ps.Z) {
			t.Fatalf("%v and %v make %v", pa, pb, ps)
		}
	})
}

func TestSpectrumXYZDomain(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct{ nm, power []float64 }{
		"nothing":          {nil, nil},
		"one sample":       {[]float64{500}, []float64{1}},
		"unequal lengths":  {[]float64{500, 510}, []float64{1}},
		"repeated":         {[]float64{500, 500}, []float64{1, 1}},
		"falling":          {[]float64{510, 500}, []float64{1, 1}},
		"negative power":   {[]float64{500, 510}, []float64{1, -1}},
		"NaN power":        {[]float64{500, 510}, []float64{1, nan}},
		"NaN wavelength":   {[]float64{500, nan}, []float64{1, 1}},
		"overflowing":      {[]float64{400, 700}, []float64{math.MaxFloat64, math.MaxFloat64}},
		"infinite at last": {[]float64{500, math.Inf(1)}, []float64{1, 1}},
	} {
		if _, ok := SpectrumXYZ(c.nm, c.power); ok {
			t.Errorf("%s: accepted", name)
		}
	}
	if xyz, ok := SpectrumXYZ([]float64{900, 1000}, []float64{1, 1}); !ok || xyz != (XYZ{}) {
		t.Errorf("infrared: got %v, %v, want darkness", xyz, ok)
	}
}
