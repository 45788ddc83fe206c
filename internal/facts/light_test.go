package facts

import (
	"encoding/csv"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// exact is for numbers that differ in rounding alone: some thirty operations on
// doubles, each good to 1.1e-16 of its value.
const exact = 1e-12

// oneLamp measures channel 1 in cue 1: of the first type, with more said of it in
// the patch and in the cue. The arguments are members of JSON objects.
func oneLamp(t stopper, kind, patch, set string) *Lamp {
	t.Helper()
	join := func(start, more string) string {
		if more == "" {
			return start
		}
		return start + ", " + more
	}
	show := readShow(t, fmt.Sprintf(`{"types": [{%s}], "patch": [{%s}], "cues": [{"cue": 1, "set": [{%s}]}]}`,
		join(`"name": "lamp"`, kind), join(`"channel": 1, "type": "lamp", "purpose": "wash"`, patch), join(`"channels": "1"`, set)))
	m := measured(show)
	if len(m.Looks) != 1 || len(lampsOf(m, 0)) != 1 {
		t.Fatalf("not one lamp in one look: %v", m.Looks)
	}
	return lampsOf(m, 0)[0]
}

// reference reads a table of published numbers: a map for each row, by column.
func reference(t stopper, name string) []map[string]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(readFileText(t, filepath.Join("..", "..", "testdata", "reference", name)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var list []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		list = append(list, m)
	}
	if len(list) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return list
}

func parsed(t stopper, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// diode is an emitter as data sheets give it.
type diode struct {
	name       string
	x, y, flux float64
}

func emittersJSON(diodes []diode) string {
	var list []string
	for _, d := range diodes {
		list = append(list, fmt.Sprintf(`{"name": %q, "x": %v, "y": %v, "flux_lm": %v}`, d.name, d.x, d.y, d.flux))
	}
	return `"source": "colour-led", "emitters": [` + strings.Join(list, ",") + `]`
}

// sum is Grassmann's law by hand: X = sum of level flux x/y, and so on.
func sum(diodes []diode, levels []float64) (x, y, lumens float64) {
	var X, Y, Z float64
	for i, d := range diodes {
		Y += levels[i] * d.flux
		X += levels[i] * d.flux * d.x / d.y
		Z += levels[i] * d.flux * (1 - d.x - d.y) / d.y
	}
	return X / (X + Y + Z), Y / (X + Y + Z), Y
}

// Invented engines of usual LEDs: common practice, no source.
var (
	red   = diode{"red", 0.693, 0.306, 620}
	green = diode{"green", 0.170, 0.700, 1050}
	blue  = diode{"blue", 0.140, 0.050, 230}
	white = diode{"white", 0.329, 0.340, 1300}
	amber = diode{"amber", 0.560, 0.435, 700}
	lime  = diode{"lime", 0.410, 0.540, 1900}
	cyan  = diode{"cyan", 0.080, 0.510, 600}
	deep  = diode{"deep red", 0.720, 0.279, 200}
)

var engines = map[string][]diode{
	"RGB": {red, green, blue}, "RGBW": {red, green, blue, white}, "RGBA": {red, green, blue, amber},
	"RGBAL": {red, green, blue, amber, lime}, "six": {red, green, blue, amber, lime, cyan}, "seven": {red, green, blue, amber, lime, cyan, deep},
	"two whites": {{"warm", 0.4605, 0.4150, 1700}, {"cool", 0.3130, 0.3325, 2220}},
}

// TestMixing holds engines at the levels of a cue against sums by hand, at every
// level and with less light than the emitters give, which the lens keeps.
func TestMixing(t *testing.T) {
	for name, diodes := range engines {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			level := rapid.Float64Range(1, 100).Draw(t, "level")
			levels := make([]float64, len(diodes))
			var mix []string
			total := 0.0
			for i, d := range diodes {
				levels[i] = rapid.Float64Range(0.01, 1).Draw(t, d.name)
				mix = append(mix, fmt.Sprintf(`%q: %v`, d.name, 100*levels[i]))
				total += d.flux
			}
			out := rapid.SampledFrom([]float64{0, 0.5, 0.9}).Draw(t, "out of the lens")
			kind := emittersJSON(diodes)
			if out > 0 {
				kind += fmt.Sprintf(`, "flux_lm": %v`, out*total)
			} else {
				out = 1
			}
			lamp := oneLamp(t, kind, "", fmt.Sprintf(`"level": %v, "mix": {%s}`, level, strings.Join(mix, ", ")))
			x, y, lumens := sum(diodes, levels)
			lumens *= out * level / 100
			if !isNear(lamp.X, x, exact) || !isNear(lamp.Y, y, exact) || !isNear(lamp.Lumens, lumens, exact*lumens) {
				t.Fatalf("x %s, y %s, lumens %s, want %v, %v, %v", factText(lamp.X), factText(lamp.Y), factText(lamp.Lumens), x, y, lumens)
			}
		}))
	}
}

// TestWavelengths holds emitters that are given by wavelength against the CIE 1931
// functions: at a wavelength of the 5 nm table the chromaticity is that of the row.
func TestWavelengths(t *testing.T) {
	for _, row := range reference(t, "cie1931_2deg_5nm.csv") {
		nm := parsed(t, row["wavelength_nm"])
		if nm < 400 || nm > 700 {
			continue
		}
		x, y, z := parsed(t, row["xbar"]), parsed(t, row["ybar"]), parsed(t, row["zbar"])
		lamp := oneLamp(t, fmt.Sprintf(`"source": "colour-led", "emitters": [{"name": "one", "wavelength_nm": %v, "flux_lm": 100}]`, nm), "", `"level": 100, "mix": {"one": 100}`)
		if !isNear(lamp.X, x/(x+y+z), exact) || !isNear(lamp.Y, y/(x+y+z), exact) || !isNear(lamp.Lumens, 100, 100*exact) {
			t.Errorf("%v nm: x %s, y %s, lumens %s", nm, factText(lamp.X), factText(lamp.Y), factText(lamp.Lumens))
		}
	}
}

// oneKelvin is how well the temperature of a white comes back: the method is good
// to 0.1 K below 10,000 K, and figures with three decimals of a mired to 0.04 K.
const oneKelvin = 1

// TestWhites sets variable whites, within their range and beyond it.
func TestWhites(t *testing.T) {
	pair := strings.Replace(emittersJSON(engines["two whites"]), "colour-led", "tunable-led", 1)
	plain := `"source": "tunable-led", "flux_lm": 1000`
	for _, test := range []struct {
		name, kind, patch, set string
		kelvin, tolerance      float64
	}{
		{"within", plain + `, "white_range_k": [2700, 6500]`, "", `"white_k": 4300`, 4300, oneKelvin},
		{"the patch's", plain + `, "white_range_k": [2700, 6500]`, `"white_k": 5000`, ``, 5000, oneKelvin},
		{"the type's", plain + `, "white_range_k": [2700, 6500], "white_k": 3000`, ``, ``, 3000, oneKelvin},
		{"cooler than it can", plain + `, "white_range_k": [2700, 6500]`, "", `"white_k": 9000`, 6500, oneKelvin},
		{"warmer than it can", plain + `, "white_range_k": [2700, 6500]`, "", `"white_k": 2000`, 2700, oneKelvin},
		{"a fixed white cannot be told", `"source": "white-led", "flux_lm": 1000, "white_k": 3100`, "", `"white_k": 5600`, 3100, oneKelvin},
		{"a fixed white that is another than its type's", `"source": "white-led", "flux_lm": 1000, "white_k": 5600`, `"white_k": 3200`, `"white_k": 5600`, 3200, oneKelvin},
		{"two engines", pair + `, "white_range_k": [2700, 6500]`, "", `"white_k": 4000`, 4000, oneKelvin},
		{"two engines, cooler than they can", pair + `, "white_range_k": [2700, 6500]`, "", `"white_k": 20000`, 6500, 100}, // the cool engine is rounded to four digits
		{"by mixing colours", emittersJSON(engines["RGB"]), "", `"white_k": 4000`, 4000, oneKelvin},
	} {
		t.Run(test.name, func(t *testing.T) {
			set := `"level": 100`
			if test.set != "" {
				set += ", " + test.set
			}
			lamp := oneLamp(t, test.kind, test.patch, set)
			if !isNear(lamp.CCT, test.kelvin, test.tolerance) {
				t.Errorf("%s K, want %v", factText(lamp.CCT), test.kelvin)
			}
			if lamp.Coloured == nil || *lamp.Coloured {
				t.Error("a white is a colour")
			}
		})
	}
	t.Run("two engines stay on their line", func(t *testing.T) {
		lamp := oneLamp(t, pair+`, "white_range_k": [2700, 6500]`, "", `"level": 100, "white_k": 4000`)
		warm, cool := engines["two whites"][0], engines["two whites"][1]
		cross := (*lamp.X-warm.x)*(cool.y-warm.y) - (*lamp.Y-warm.y)*(cool.x-warm.x)
		if math.Abs(cross) > exact {
			t.Errorf("off the line by %v", cross)
		}
	})
}

// A white of several emitters is as bright as they can be together, and no brighter:
// where it lies on the line between two, each gives no more than it has, and one
// of them gives all. The lever law (Grassmann; lengths weighed by 1/y) is a second
// way to the shares.
func TestNoWhiteIsBrighterThanItsEmitters(t *testing.T) {
	pair := strings.Replace(emittersJSON(engines["two whites"]), "colour-led", "tunable-led", 1) + `, "white_range_k": [2700, 6500]`
	warm, cool := engines["two whites"][0], engines["two whites"][1]
	for kelvin := 2700.0; kelvin <= 6500; kelvin += 100 {
		lamp := oneLamp(t, pair, "", fmt.Sprintf(`"level": 100, "white_k": %v`, kelvin))
		// Y of each is its length of the lever times y: x = (Xw+Xc)/(sum), so
		// (x-xw) Yw/yw = (xc-x) Yc/yc.
		ratio := (*lamp.X - warm.x) / warm.y / ((cool.x - *lamp.X) / cool.y) // Yc/Yw
		fromWarm := *lamp.Lumens / (1 + ratio)
		fromCool := *lamp.Lumens - fromWarm
		const rounding = 1e-3 // lumens: the ends have chromaticities of four digits
		if fromWarm > warm.flux+rounding || fromCool > cool.flux+rounding || fromWarm < warm.flux-rounding && fromCool < cool.flux-rounding {
			t.Errorf("at %v K %.2f lm of %v and %.2f lm of %v", kelvin, fromWarm, warm.flux, fromCool, cool.flux)
		}
	}
	// Half the level is half the light, and three emitters keep to the same rule.
	full := oneLamp(t, pair, "", `"level": 100, "white_k": 4000`)
	half := oneLamp(t, pair, "", `"level": 50, "white_k": 4000`)
	if !isNear(half.Lumens, *full.Lumens/2, 1e-6) {
		t.Errorf("half of %v lm is %v", *full.Lumens, *half.Lumens)
	}
	three := strings.Replace(emittersJSON(engines["RGB"]), "colour-led", "tunable-led", 1) + `, "white_range_k": [2700, 6500]`
	mixed := oneLamp(t, emittersJSON(engines["RGB"]), "", `"level": 100, "white_k": 4000`)
	if lamp := oneLamp(t, three, "", `"level": 100, "white_k": 4000`); !isNear(lamp.Lumens, *mixed.Lumens, 1e-6) {
		t.Errorf("three emitters make %v lm as a tunable white and %v as a mix", *lamp.Lumens, *mixed.Lumens)
	}
}

// TestCorrectionFilters shifts whites by the mired of a filter.
func TestCorrectionFilters(t *testing.T) {
	for _, row := range reference(t, "mired_vectors.csv") {
		lamp := oneLamp(t, fmt.Sprintf(`"source": "white-led", "flux_lm": 1000, "white_k": %s`, row["from_K"]),
			fmt.Sprintf(`"filter": {"name": "correction", "shift_mired": %s, "transmission": 0.5}`, row["shift_mired"]), `"level": 100`)
		if want := parsed(t, row["to_K"]); !isNear(lamp.CCT, want, oneKelvin) || !isNear(lamp.Lumens, 500, 500*exact) {
			t.Errorf("%s K by %s mired is %s K and %s lm, want %v K and 500 lm", row["from_K"], row["shift_mired"], factText(lamp.CCT), factText(lamp.Lumens), want)
		}
	}
	// The same in the words of the trade: full blue correction of -130.7 mired.
	lamp := oneLamp(t, `"source": "tungsten", "flux_lm": 9000, "white_k": 3200`, `"filter": {"name": "full blue", "shift_mired": -130.7, "transmission": 0.34}`, `"level": 100`)
	if !isNear(lamp.CCT, 5500.5, oneKelvin) { // 1e6/(312.5 - 130.7)
		t.Errorf("%s K, want about 5500", factText(lamp.CCT))
	}
	if !isNear(lamp.Drift, 0, exact) {
		t.Errorf("a filament at full has drifted by %s mired", factText(lamp.Drift))
	}
	// The filter does not hide what dimming does behind it.
	bare := oneLamp(t, `"source": "tungsten", "flux_lm": 9000, "white_k": 3200`, "", `"level": 40`)
	gelled := oneLamp(t, `"source": "tungsten", "flux_lm": 9000, "white_k": 3200`, `"filter": {"name": "full blue", "shift_mired": -130.7}`, `"level": 40`)
	if bare.Drift == nil || *bare.Drift < 20 || !isNear(gelled.Drift, *bare.Drift, exact) {
		t.Errorf("drift %s mired, behind a filter %s", factText(bare.Drift), factText(gelled.Drift))
	}
}

// TestFilters puts flags, wheels and gels into a white.
func TestFilters(t *testing.T) {
	const kind = `"source": "discharge", "flux_lm": 10000, "white_k": 6500, "filters": [{"name": "magenta", "x": 0.33, "y": 0.16, "transmission": 0.15}, {"name": "Amber", "x": 0.5, "y": 0.42, "transmission": 0.55}]`
	bare := oneLamp(t, kind, "", `"level": 100`)
	for _, test := range []struct {
		name, patch, set string
		x, y, lumens     float64
	}{
		{"flag in", "", `"mix": {"magenta": 100}`, 0.33, 0.16, 1500},
		{"flag out", "", `"mix": {"magenta": 0}`, *bare.X, *bare.Y, 10000},
		{"wheel, by any case", "", `"wheel": "amber"`, 0.5, 0.42, 5500},
		{"gel", `"filter": {"name": "gel", "x": 0.4, "y": 0.5, "transmission": 0.6}`, ``, 0.4, 0.5, 6000},
	} {
		t.Run(test.name, func(t *testing.T) {
			lamp := oneLamp(t, kind, test.patch, strings.TrimSuffix(`"level": 100, `+test.set, ", "))
			const bands = 1e-9 // through three bands and back, by a matrix and its computed inverse
			if !isNear(lamp.X, test.x, bands) || !isNear(lamp.Y, test.y, bands) || !isNear(lamp.Lumens, test.lumens, bands*test.lumens) {
				t.Errorf("x %s, y %s, lumens %s, want %v, %v, %v", factText(lamp.X), factText(lamp.Y), factText(lamp.Lumens), test.x, test.y, test.lumens)
			}
		})
	}
	t.Run("flag half in", func(t *testing.T) {
		// Half the light passes beside the flag and half through it.
		lamp := oneLamp(t, kind, "", `"level": 100, "mix": {"magenta": 50}`)
		x, y, lumens := sum([]diode{{"beside", *bare.X, *bare.Y, 10000}, {"through", 0.33, 0.16, 1500}}, []float64{0.5, 0.5})
		if !isNear(lamp.X, x, 1e-9) || !isNear(lamp.Y, y, 1e-9) || !isNear(lamp.Lumens, lumens, 1e-9*lumens) {
			t.Errorf("x %s, y %s, lumens %s, want %v, %v, %v", factText(lamp.X), factText(lamp.Y), factText(lamp.Lumens), x, y, lumens)
		}
	})
}

// TestTungsten holds filaments on each dimmer curve against the published laws.
func TestTungsten(t *testing.T) {
	filament := func(curve string, halogen bool, level float64) *Lamp {
		return oneLamp(t, fmt.Sprintf(`"source": "tungsten", "flux_lm": 1000, "white_k": 3200, "dimmer_curve": %q, "halogen": %v`, curve, halogen), "", fmt.Sprintf(`"level": %v`, level))
	}
	held := 0
	for _, row := range reference(t, "tungsten_dimming.csv") {
		if row["given"] != "voltage" || parsed(t, row["given_value"]) > 1 {
			continue
		}
		lamp := filament("linear", false, 100*parsed(t, row["given_value"]))
		switch {
		case row["quantity"] == "light" && row["exponent"] == "3.4":
			held++
			if !isNear(lamp.Lumens, 1000*parsed(t, row["value"]), 1000*parsed(t, row["tolerance"])) {
				t.Errorf("%s: %s lm, want %s of 1000", row["id"], factText(lamp.Lumens), row["value"])
			}
		}
	}
	// The colour that goes with the light, whatever curve gave it.
	for _, row := range reference(t, "filament_planck.csv") {
		held++
		lamp := oneLamp(t, fmt.Sprintf(`"source": "tungsten", "flux_lm": 1000, "white_k": %s, "dimmer_curve": "linear", "curve_of": "light"`, row["full_cct_K"]), "", fmt.Sprintf(`"level": %v`, 100*parsed(t, row["light"])))
		want := parsed(t, row["cct_K"])
		switch {
		case want < 2000:
			if lamp.CCT != nil || lamp.Duv != nil || lamp.Drift == nil || !strings.Contains(strings.Join(lamp.Why("cct_k"), ""), "hotter than 2000 K") {
				t.Errorf("%s: %s K, lacks %q; nobody knows the white of a glow", row["id"], factText(lamp.CCT), lamp.Why("cct_k"))
			}
		case !isNear(lamp.CCT, want, oneKelvin):
			t.Errorf("%s: %s K, want %v", row["id"], factText(lamp.CCT), want)
		}
		const half = 0.0947 // 0.5^3.4
		if b := lamp.Basis("cct_k"); b.Known.Sure() != (parsed(t, row["light"]) > half) {
			t.Errorf("%s: the white is known as %v", row["id"], b)
		}
	}
	for _, row := range reference(t, "tungsten_dimming.csv") {
		if row["quantity"] != "square_law_level" {
			continue
		}
		held++
		level := parsed(t, row["value"])
		// The level is given to so many decimals; light goes as its square.
		if lamp := filament("square", false, 100*level); !isNear(lamp.Lumens, 1000*parsed(t, row["given_value"]), 2000*level*parsed(t, row["tolerance"])) {
			t.Errorf("%s: %s lm at %v", row["id"], factText(lamp.Lumens), level)
		}
	}
	// What a curve is of decides, and where it is not told that is assumed.
	for _, of := range []struct {
		text  string
		light float64
		sure  bool
	}{
		{`"dimmer_curve": "linear", "curve_of": "light"`, 0.5, true}, {`"dimmer_curve": "linear", "curve_of": "voltage"`, math.Pow(0.5, 3.4), true},
		{`"dimmer_curve": "linear"`, math.Pow(0.5, 3.4), false}, {`"dimmer_curve": "square", "curve_of": "voltage"`, math.Pow(0.25, 3.4), true},
		{`"dimmer_curve": "square"`, 0.25, false}, {`"curve_of": "light"`, 0.25, false}, {`"dimmer_curve": "s", "curve_of": "light"`, 0.5, true},
	} {
		lamp := oneLamp(t, `"source": "tungsten", "flux_lm": 1000, "white_k": 3200, `+of.text, "", `"level": 50`)
		b := lamp.Basis("lumens")
		if !isNear(lamp.Lumens, 1000*of.light, 1e-6) || b.Known.Sure() != of.sure {
			t.Errorf("%s: %s lm, known as %+v", of.text, factText(lamp.Lumens), b)
		}
		if !of.sure && (b.Range == nil || b.Range.Low > *lamp.Lumens || b.Range.High < *lamp.Lumens) {
			t.Errorf("%s: %s lm is not within %+v", of.text, factText(lamp.Lumens), b.Range)
		}
	}
	if held < 40 {
		t.Errorf("only %d published rows were used", held)
	}
	for _, x := range []float64{0.3, 0.5, 0.8, 1} {
		// Square law: light is the square of the level.
		if lamp := filament("square", true, 100*x); !isNear(lamp.Lumens, 1000*x*x, 1e-9) {
			t.Errorf("square law at %v: %s lm", x, factText(lamp.Lumens))
		}
		// Phase control: the part of the sine's power behind the firing angle, to the
		// power of 3 of a halogen lamp's law.
		a := math.Pi * (1 - x)
		volts := math.Sqrt(1 - a/math.Pi + math.Sin(2*a)/(2*math.Pi))
		if lamp := filament("s", true, 100*x); !isNear(lamp.Lumens, 1000*math.Pow(volts, 3), 1e-9) {
			t.Errorf("S curve at %v: %s lm, want %v", x, factText(lamp.Lumens), 1000*math.Pow(volts, 3))
		}
	}
	// A filament is white however far it is dimmed, and level_for_drift is where it
	// has drifted by so much: just there, and not a percent lower.
	lamp := filament("square", true, 3)
	if lamp.Coloured == nil || *lamp.Coloured {
		t.Error("a dimmed filament is a colour")
	}
	for _, most := range []float64{5, 12, 20, 40} {
		steady := *lamp.LevelForDrift(most)
		if at, under := filament("square", true, steady), filament("square", true, steady-1); *at.Drift > most || *under.Drift <= most {
			t.Errorf("at %v %% it has drifted by %s mired, at a percent less by %s; wanted %v", steady, factText(at.Drift), factText(under.Drift), most)
		}
	}
}

// TestUnknownLight breaks each thing that light is worked out from, and wants to
// hear what is missing.
func TestUnknownLight(t *testing.T) {
	rgb := emittersJSON(engines["RGB"])
	for _, test := range []struct{ name, kind, patch, set, want string }{
		{"no source", `"flux_lm": 100`, "", "", `the light source of the type "lamp"`},
		{"a word that is no source", `"source": "laser", "flux_lm": 100`, "", "", `the light source of the type "lamp"`},
		{"no white", `"source": "white-led", "flux_lm": 100`, "", "", `the white of the fixture on channel 1`},
		{"no white of its own", `"source": "white-led", "flux_lm": 100`, "", `"white_k": 4000`, `the white of the type "lamp"`},
		{"a range the wrong way round", `"source": "tunable-led", "flux_lm": 100, "white_range_k": [6500, 2700]`, `"white_k": 4000`, "", `a white range of the type "lamp" from its lowest to its highest kelvin`},
		{"a white that no light has", `"source": "white-led", "flux_lm": 100, "white_k": 1e9`, "", "", `a white of the fixture on channel 1 between 1000 and 25000 K`},
		{"a filament that melts", `"source": "tungsten", "flux_lm": 100, "white_k": 5600`, "", "", `a white of the type "lamp" that a filament can have`},
		{"a filament of no white", `"source": "tungsten", "flux_lm": 100`, "", "", `the white of the type "lamp" at full`},
		{"no emitters", `"source": "colour-led", "flux_lm": 100`, "", "", `the emitters of the type "lamp": the chromaticity and flux of each`},
		{"an emitter without flux", `"source": "colour-led", "flux_lm": 100, "emitters": [{"name": "red", "x": 0.69, "y": 0.3}]`, "", "", `the flux of the emitter "red" of the type "lamp"`},
		{"an emitter without colour", `"source": "colour-led", "emitters": [{"name": "red", "flux_lm": 100}]`, "", "", `the chromaticity of the emitter "red" of the type "lamp"`},
		{"y is 0", `"source": "colour-led", "emitters": [{"name": "red", "x": 0.69, "y": 0, "flux_lm": 100}]`, "", "", `a chromaticity of a real colour for the emitter "red" of the type "lamp"`},
		{"outside the locus", `"source": "colour-led", "emitters": [{"name": "red", "x": 0.1, "y": 0.9, "flux_lm": 100}]`, "", "", `a chromaticity of a real colour for the emitter "red" of the type "lamp"`},
		{"a wavelength nobody sees", `"source": "colour-led", "emitters": [{"name": "red", "wavelength_nm": 900, "flux_lm": 100}]`, "", "", `a wavelength between 360 and 830 nm for the emitter "red" of the type "lamp"`},
		{"negative flux of an emitter", `"source": "colour-led", "flux_lm": 100, "emitters": [{"name": "red", "x": 0.69, "y": 0.3, "flux_lm": -5}]`, "", "", `a flux of the emitter "red" of the type "lamp" that a lamp can have`},
		{"huge flux of an emitter", `"source": "colour-led", "flux_lm": 100, "emitters": [{"name": "red", "x": 0.69, "y": 0.3, "flux_lm": 1e300}]`, "", "", `a flux of the emitter "red" of the type "lamp" that a lamp can have`},
		{"nothing said of the colour", rgb, "", "", `the colour of the fixture on channel 1 in the cues that light it`},
		{"a filter without colour", `"source": "white-led", "flux_lm": 100, "white_k": 4000`, `"filter": {"name": "rose"}`, "", `the chromaticity and transmission of the filter "rose" on channel 1`},
		{"a filter of no transmission", `"source": "white-led", "flux_lm": 100, "white_k": 4000`, `"filter": {"name": "rose", "x": 0.4, "y": 0.3}`, "", `the chromaticity and transmission of the filter "rose" on channel 1`},
		{"a filter without x", `"source": "white-led", "flux_lm": 100, "white_k": 4000`, `"filter": {"name": "rose", "y": 0.3, "transmission": 0.5}`, "", `the chromaticity and transmission of the filter "rose" on channel 1`},
		{"a filter without y", `"source": "white-led", "flux_lm": 100, "white_k": 4000`, `"filter": {"name": "rose", "x": 0.4, "transmission": 0.5}`, "", `the chromaticity and transmission of the filter "rose" on channel 1`},
		{"a filter that adds light", `"source": "white-led", "flux_lm": 100, "white_k": 4000`, `"filter": {"name": "rose", "x": 0.4, "y": 0.3, "transmission": 3}`, "", `filters on channel 1 that light can pass`},
	} {
		t.Run(test.name, func(t *testing.T) {
			set := `"level": 100`
			if test.set != "" {
				set += ", " + test.set
			}
			lamp := oneLamp(t, test.kind, test.patch, set)
			for _, word := range []string{"lumens", "x", "y", "cct_k", "duv", "coloured", "hue_deg", "drift_mired"} {
				fact, _ := ValueOf(lamp, word)
				why := lamp.Why(word)
				if fact.Value != nil || len(why) != 1 || why[0] != test.want {
					t.Errorf("%s is %v, missing %q, want %q", word, fact.Value, why, test.want)
				}
			}
		})
	}
	t.Run("no type", func(t *testing.T) {
		m := measured(readShow(t, `{"patch": [{"channel": 1}, {"channel": 2, "type": "beam"}], "cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 10}]}]}`))
		for i, want := range []string{"the type of the fixture on channel 1", `the type "beam", with its light source`} {
			if why := lampsOf(m, 0)[i].Why("cct_k"); len(why) != 1 || why[0] != want {
				t.Errorf("missing %q, want %q", why, want)
			}
		}
	})
	t.Run("no flux", func(t *testing.T) {
		// Colour is known without it, lumens are not, and are not called 1 either.
		lamp := oneLamp(t, `"source": "white-led", "white_k": 4000`, "", `"level": 50`)
		if lamp.CCT == nil || lamp.Lumens != nil || lamp.Why("lumens")[0] != `the flux of the type "lamp"` {
			t.Errorf("%s K, %s lm, missing %q", factText(lamp.CCT), factText(lamp.Lumens), lamp.Why("lumens"))
		}
		for _, flux := range []string{"-100", "0", "1e300"} {
			lamp := oneLamp(t, `"source": "white-led", "white_k": 4000, "flux_lm": `+flux, "", `"level": 50`)
			if lamp.Lumens != nil {
				t.Errorf("a flux of %s is %s lm", flux, factText(lamp.Lumens))
			}
		}
	})
}

// TestPeakAndAngles: a type that is known by its peak and beam has a flux, that
// of the one-parameter beam: 2 pi I0/(n + 1), with cos(half angle)^n = 1/2.
func TestPeakAndAngles(t *testing.T) {
	lamp := oneLamp(t, `"source": "white-led", "white_k": 4000, "peak_cd": 20000, "beam_deg": 20`, "", `"level": 100`)
	n := math.Log(0.5) / math.Log(math.Cos(10*math.Pi/180))
	if want := 2 * math.Pi * 20000 / (n + 1); !isNear(lamp.Lumens, want, 1e-9*want) {
		t.Errorf("%s lm, want %v", factText(lamp.Lumens), want)
	}
}

// TestLumensLeave: what leaves a lamp follows its zoom, linearly between what its data
// sheet gives at the ends, as the light on a face does (TestZoom), and shutters take
// away what they cover.
func TestLumensLeave(t *testing.T) {
	const spot = `"source": "white-led", "white_k": 5600, "dimmer_curve": "linear", "zoom": {"narrow": {"beam_deg": 10, "field_deg": 16, "flux_lm": 2400}, "wide": {"beam_deg": 38, "field_deg": 54, "flux_lm": 3600}}`
	const plain = `"source": "white-led", "white_k": 5600, "dimmer_curve": "linear", "beam_deg": 20, "field_deg": 30, "flux_lm": 1000`
	for _, c := range []struct {
		about, kind, patch, set string
		want, off               float64
	}{
		{"the narrow end", spot, `"zoom_deg": 16`, `"level": 100`, 2400, 1e-6},
		{"half way", spot, `"zoom_deg": 35`, `"level": 100`, 3000, 1e-6},
		{"the wide end at half", spot, `"zoom_deg": 54`, `"level": 50`, 1800, 1e-6},
		{"a cue that zooms in", spot, `"zoom_deg": 54`, `"level": 100, "zoom_deg": 16`, 2400, 1e-6},
		{"a type that tells more than its zoom", spot + `, "flux_lm": 9000`, `"zoom_deg": 35`, `"level": 100`, 3000, 1e-6},
		{"one end alone tells its flux", `"source": "white-led", "white_k": 5600, "zoom": {"narrow": {"beam_deg": 10}, "wide": {"beam_deg": 38, "flux_lm": 3600}}`, `"zoom_deg": 12`, `"level": 100`, 3600, 1e-6},
		{"a peak at each end", `"source": "white-led", "white_k": 5600, "zoom": {"narrow": {"beam_deg": 20, "peak_cd": 20000}, "wide": {"beam_deg": 40, "peak_cd": 5000}}`, `"zoom_deg": 20`, `"level": 100`,
			2 * math.Pi * 20000 / (math.Log(0.5)/math.Log(math.Cos(10*math.Pi/180)) + 1), 1e-6},
		{"a shutter half way in", plain, `"shutters": [{"side": "top", "depth_pct": 50}]`, `"level": 100`, 500, 5},
		{"shutters that meet", plain, `"shutters": [{"side": "top", "depth_pct": 50}, {"side": "bottom", "depth_pct": 50}]`, `"level": 100`, 0, 0},
		{"shutters that overlap", plain, `"shutters": [{"side": "left", "depth_pct": 70}, {"side": "right", "depth_pct": 60}]`, `"level": 100`, 0, 0},
		{"a shutter that is out", plain, `"shutters": [{"side": "left", "depth_pct": 0}]`, `"level": 100`, 1000, 0},
		{"a coloured zoom", `"source": "colour-led", "emitters": [{"name": "white", "x": 0.33, "y": 0.34, "flux_lm": 4000}], "zoom": {"narrow": {"beam_deg": 10, "flux_lm": 1500}, "wide": {"beam_deg": 40, "flux_lm": 3000}}`,
			`"zoom_deg": 10`, `"level": 100, "mix": {"white": 100}`, 1500, 1e-6},
	} {
		lamp := oneLamp(t, c.kind, c.patch, c.set)
		if !isNear(lamp.Lumens, c.want, c.off) {
			t.Errorf("%s: %s lm, want %v", c.about, factText(lamp.Lumens), c.want)
		}
	}
}

// TestTheOutputOfAClosedLamp: a lamp behind shutters that overlap is no output, lights
// nobody and leaves no number that is none.
func TestTheOutputOfAClosedLamp(t *testing.T) {
	lamp := func(channel int, shutters string) string {
		return fmt.Sprintf(`{"channel": %d, "type": "lamp", "purpose": "wash", "hung_at": {"x": 0, "y": -4, "z": 4}, "aimed_at": {"x": 0, "y": 0, "z": 4}%s}`, channel, shutters)
	}
	const closed = `, "shutters": [{"side": "top", "depth_pct": 60}, {"side": "bottom", "depth_pct": 60}]`
	m := measured(wallShow(t, []string{lamp(1, ""), lamp(2, closed)}, []string{
		cueOf(1, `{"channels": "1", "level": 100}`), cueOf(2, `{"channels": "2", "level": 100}`), cueOf(3, `{"channels": "1", "level": 0}`),
	}, ""))
	for i, want := range []float64{100, 100, 0} {
		if got := m.Looks[i].OutputPct; !isNear(got, want, 1e-9) {
			t.Errorf("cue %d: %s %% of all at full, want %v", i+1, factText(got), want)
		}
	}
}
