package photometry

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// sample is a worked example, made up for the description of the format that the readers follow.
func sample(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// codes lists severity and code of what a reader found.
func codes(list []Problem) (found []string) {
	for _, p := range list {
		found = append(found, string(p.Severity)+" "+p.Code)
	}
	return found
}

type candelaAt struct{ theta, phi, want float64 }

func TestLM63Sample(t *testing.T) {
	file, found, err := ParseLM63([]byte(sample(t, "wash.ies")), Strict)
	if err != nil || len(found) > 0 {
		t.Fatal(err, found)
	}
	known := must(t)
	for _, c := range []candelaAt{
		{0, 0, 1800}, {0, 77, 1800}, {30, 0, 1440}, {30, 22.5, 1395}, {45, 45, 900}, {60, 200, 1.8 * (300 - 50.0*20/45)}, {60, 270, 360}, {120, 0, 0},
	} {
		near(t, fmt.Sprintf("V %g H %g", c.theta, c.phi), known(file.Web.Candela(c.theta, c.phi)), c.want, 1e-10)
	}
	near(t, "flux", file.Web.Flux(), 4102.50, 0.05) // as the worked sample states it
	near(t, "efficiency", known(file.Efficiency()), 0.8205, 0.00005)
	near(t, "efficacy", file.Web.Flux()/file.Watts, 68.4, 0.05)
	for j, want := range []float64{4488.73, 4102.50, 3716.26} { // plane sums, if rotational
		near(t, "plane", 2*3.14159265358979*file.Web.planeSum(j, 0, 180), want, 0.005)
	}
	near(t, "beam", known(file.Web.BeamDeg()), 2*(30+30*(800-500)/(800-300.0)), 1e-9)
	near(t, "field", known(file.Web.FieldDeg()), 2*(60+30*(300-100)/300.0), 1e-9)
	if file.Opening != (Vec{X: 0.4, Y: 0.2}) || file.Watts != 60 || file.LampLumens != 5000 || file.Absolute {
		t.Errorf("read %+v", file)
	}
	want := []Keyword{
		{"TEST", "0001-EXAMPLE", 2}, {"TESTLAB", "Nowhere Photometry", 3}, {"ISSUEDATE", "01-JAN-2020", 4},
		{"MANUFAC", "Fictive Lamps", 5}, {"LUMCAT", "WASH-1", 6}, {"LUMINAIRE", "Example wash\nsecond line", 7},
	}
	if diff := cmp.Diff(want, file.LM63.Keywords); diff != "" {
		t.Error(diff)
	}
	if file.LM63.Edition != "2002" || file.Luminaire != "Example wash\nsecond line" {
		t.Errorf("edition %q, luminaire %q", file.LM63.Edition, file.Luminaire)
	}
}

// Layout is free: the same distribution from every way to write it.
func TestLM63Layout(t *testing.T) {
	text := strings.ReplaceAll(sample(t, "wash.ies"), "\r\n", "\n")
	header, numbers, _ := strings.Cut(text, "TILT=NONE\n")
	for name, c := range map[string]struct {
		text   string
		strict []string
	}{
		"LF":                        {text, nil},
		"CR":                        {strings.ReplaceAll(text, "\n", "\r"), nil},
		"commas and tabs":           {header + "TILT=NONE\n" + strings.NewReplacer(" ", ",\t").Replace(numbers), nil},
		"byte order mark":           {bom + text, []string{"note line-structure"}},
		"blank lines":               {"\n" + header + "\n  TILT = none \n\n" + strings.ReplaceAll(numbers, "\n", "\n\n"), []string{"note line-structure"}},
		"end of file mark":          {text + "\x1a", nil},
		"exponents and signs":       {strings.Replace(text, "5000 2 4", "+5e3 2.0E+00 4.", 1), nil},
		"tilt table included":       {header + "TILT=INCLUDE\n1\n3\n0 90 180\n1 .95 .9\n" + numbers, nil},
		"tilt table elsewhere":      {header + "TILT=lamp.tlt\n" + numbers, []string{"note tilt-file"}},
		"all on one line":           {header + "TILT=NONE\n" + strings.ReplaceAll(numbers, "\n", " "), []string{"note line-structure", "note line-structure", "note line-structure", "note line-structure", "note line-structure", "note line-structure"}},
		"Windows-1252 in a keyword": {strings.Replace(text, "Fictive Lamps", "Caf\xe9 \x80", 1), nil},
	} {
		t.Run(name, func(t *testing.T) {
			lenient, _, err := ParseLM63([]byte(c.text), Lenient)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "flux", lenient.Web.Flux(), 4102.50, 0.05)
			near(t, "candela", must(t)(lenient.Web.Candela(60, 200)), 500, 1e-10)
			_, found, err := ParseLM63([]byte(c.text), Strict)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.strict, codes(found)); diff != "" {
				t.Error(diff)
			}
			if name == "tilt table included" && !cmp.Equal(lenient.LM63.TiltFactor, []float64{1, .95, .9}) {
				t.Errorf("tilt factors %v", lenient.LM63.TiltFactor)
			}
			if name == "Windows-1252 in a keyword" && lenient.LM63.Keywords[3].Text != "Café €" {
				t.Errorf("text %q", lenient.LM63.Keywords[3].Text)
			}
		})
	}
}

// A luminaire is called by its own keyword, the first of them, and by no other.
func TestLM63NameOfALuminaire(t *testing.T) {
	text := strings.ReplaceAll(sample(t, "wash.ies"), "\r\n", "\n")
	for keywords, want := range map[string]string{
		"[OTHER] none": "", "[LUMINAIRE] one\n[LUMINAIRE] two": "one", "[OTHER] none\n[LUMINAIRE] one": "one",
	} {
		file, _, err := ParseLM63([]byte(strings.Replace(text, "[LUMINAIRE] Example wash\n[MORE] second line", keywords, 1)), Lenient)
		if err != nil || file.Luminaire != want {
			t.Errorf("%q: the luminaire is called %q, want %q (%v)", keywords, file.Luminaire, want, err)
		}
	}
}

// plain is a small file whose parts a test can set: 2 x 1 grid of 1000 cd, flux 2 pi 1000 by the zonal sum.
func plain(firstLine, ten, three, angles, candela string) string {
	text := "TILT=NONE\n" + ten + "\n" + three + "\n" + angles + "\n" + candela + "\n"
	if firstLine != "" {
		text = firstLine + "\n[TEST] a\n[TESTLAB] b\n[ISSUEDATE] c\n[MANUFAC] d\n" + text
	}
	return text
}

func TestLM63Editions(t *testing.T) {
	for _, c := range []struct {
		first, field12, edition string
		peak                    float64
		generation              string
		found                   []string
	}{
		{"", "0.5", "1986", 500, "", []string{"note factor12"}},
		{"IESNA91", "0.5", "1991", 500, "", []string{"note factor12"}},
		{"IESNA:LM-63-1995", "1", "1995", 1000, "", nil},
		{" iesna:lm-63-2002 ", "1", "2002", 1000, "", nil},
		{"IESNA:LM-63-2002", "0.5", "2002", 500, "", []string{"note factor12"}},
		{"IES:LM-63-2019", "1.10100", "2019", 1000, "accredited laboratory, lumen-scaled", nil},
		{"IES:LM-63-2019", "1.00010", "2019", 1000, "computer simulation", nil},
		{"IES:LM-63-2019", "7", "2019", 1000, "", nil},
		{"IES:LM-63-2019", "1.101001", "2019", 1000, "", nil}, // a decimal too many: no code
		{"IES:LM-63-2031", "1.1", "unknown", 1000, "accredited laboratory", []string{"note unknown-edition"}},
		{"some notes", "1", "1986", 1000, "", nil},
	} {
		t.Run(c.first+" "+c.field12, func(t *testing.T) {
			text := plain(c.first, "1 -1 1 2 1 1 2 0 0 0", "1 "+c.field12+" 10", "0 90 0", "1000 1000")
			file, found, err := ParseLM63([]byte(text), Lenient)
			if err != nil {
				t.Fatal(err)
			}
			peak, _, _, _ := file.Web.Peak()
			near(t, "peak", peak, c.peak, 1e-9)
			if file.LM63.Edition != c.edition || file.LM63.Generation != c.generation || !file.Absolute {
				t.Errorf("edition %q, generation %q, absolute %v", file.LM63.Edition, file.LM63.Generation, file.Absolute)
			}
			if diff := cmp.Diff(c.found, codes(found)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestLM63MalformedFiles(t *testing.T) {
	const (
		edition = "IESNA:LM-63-2002"
		ten     = "1 10000 1 2 1 1 2 0 0 0"
		three   = "1 1 10"
		angles  = "0 90\n0"
		candela = "1000 1000"
	)
	for _, c := range []struct {
		name            string
		text            string
		strict, lenient []string // severity and code
		line            int      // of the first problem
		flux            float64  // lenient; 0 where there is no distribution
	}{
		{"nothing wrong", plain(edition, ten, three, angles, candela), nil, nil, 0, 6283.185},
		{"empty", "", []string{"error no-tilt"}, []string{"error no-tilt"}, 1, 0},
		{"no tilt line", "IESNA:LM-63-2002\n[TEST] x\n1 2 3\n", []string{"error no-tilt"}, []string{"error no-tilt"}, 3, 0},
		{"tilt of nothing", "TILT=\n1 2 3\n", []string{"error no-tilt"}, []string{"error no-tilt"}, 1, 0},
		{"too few numbers", plain(edition, ten, three, angles, "1000"), []string{"error number-count"}, []string{"error number-count"}, 11, 0},
		{"ends in the ten", "TILT=NONE\n1 2 3\n", []string{"error number-count"}, []string{"error number-count"}, 2, 0},
		{"left over", plain(edition, ten, three, angles, candela+" 5 6"), []string{"error trailing-numbers"}, []string{"warning trailing-numbers"}, 11, 6283.185},
		{"a word", plain(edition, ten, three, angles, "1000 many"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"NaN", plain(edition, ten, three, angles, "1000 NaN"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"Inf", plain(edition, ten, three, angles, "1000 Inf"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"hexadecimal", plain(edition, ten, three, angles, "1000 0x10"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"underscore", plain(edition, ten, three, angles, "1000 1_000"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"too large", plain(edition, ten, three, angles, "1000 1e999"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"too large a product", plain(edition, "1 10000 1e10 2 1 1 2 0 0 0", three, angles, "1000 1e300"), []string{"error bad-number"}, []string{"error bad-number"}, 11, 0},
		{"too large a sum", plain(edition, ten, three, angles, "1.7e308 1.7e308"), []string{"error bad-number"}, []string{"error bad-number"}, 9, 0},
		{"count of nothing", plain(edition, "1 10000 1 0 1 1 2 0 0 0", three, angles, candela), []string{"error bad-count"}, []string{"error bad-count"}, 7, 0},
		{"half a count", plain(edition, "1 10000 1 2.5 1 1 2 0 0 0", three, angles, candela), []string{"error bad-count"}, []string{"error bad-count"}, 7, 0},
		{"count past the cap", plain(edition, "1 10000 1 2 10001 1 2 0 0 0", three, angles, candela), []string{"error bad-count"}, []string{"error bad-count"}, 7, 0},
		{"counts that lie", plain(edition, "1 10000 1 10000 10000 1 2 0 0 0", three, angles, candela), []string{"error number-count"}, []string{"error number-count"}, 11, 0},
		{"angles descend", plain(edition, ten, three, "90 0\n0", candela), []string{"error angle-order"}, []string{"error angle-order"}, 9, 0},
		{"angle twice", plain(edition, "1 10000 1 3 1 1 2 0 0 0", three, "0 0 90\n0", "1000 1000 1000"), []string{"error angle-order"}, []string{"warning angle-order"}, 9, 6283.185},
		{"V range", plain(edition, ten, three, "0 60\n0", candela), []string{"error v-range"}, []string{"warning v-range"}, 9, 3141.593},
		{"V off the sphere", plain(edition, ten, three, "0 190\n0", candela), []string{"error v-range"}, []string{"error v-range"}, 9, 0},
		{"one V angle", plain(edition, "1 10000 1 1 1 1 2 0 0 0", three, "90\n0", "1000"), []string{"error v-range"}, []string{"warning v-range", "warning no-light"}, 9, -1},
		{"H range", plain(edition, "1 10000 1 2 2 1 2 0 0 0", three, "0 90\n0 345", candela+"\n"+candela), []string{"error h-range"}, []string{"warning h-range"}, 10, 6283.185},
		{"H over a turn", plain(edition, "1 10000 1 2 2 1 2 0 0 0", three, "0 90\n0 400", candela+"\n"+candela), []string{"error h-range"}, []string{"error h-range"}, 10, 0},
		{"H 90 to 270 too early", plain("IESNA91", "1 10000 1 2 2 1 2 0 0 0", three, "0 90\n90 270", candela+"\n"+candela), []string{"error h-range"}, []string{"warning h-range"}, 10, 6283.185},
		{"one plane not at 0", plain(edition, ten, three, "0 90\n45", candela), []string{"warning h-range"}, []string{"warning h-range"}, 10, 6283.185},
		{"type 4", plain(edition, "1 10000 1 2 1 4 2 0 0 0", three, angles, candela), []string{"error bad-type"}, []string{"warning bad-type"}, 7, 6283.185},
		{"units 3", plain(edition, "1 10000 1 2 1 1 3 0 0 0", three, angles, candela), []string{"error bad-units"}, []string{"warning bad-units"}, 7, 6283.185},
		{"negative candela", plain(edition, ten, three, angles, "1000 -1000"), []string{"error negative-candela"}, []string{"warning negative-candela"}, 11, 3141.593},
		{"multiplier 0", plain(edition, "1 10000 0 2 1 1 2 0 0 0", three, angles, candela), []string{"error bad-factor"}, []string{"warning bad-factor"}, 9, 6283.185},
		{"ballast factor negative", plain(edition, ten, "-1 1 10", angles, candela), []string{"error bad-factor"}, []string{"warning bad-factor"}, 9, 6283.185},
		{"field 12 is 0", plain(edition, ten, "1 0 10", angles, candela), []string{"error bad-factor"}, []string{"warning bad-factor"}, 9, 6283.185},
		{"lumens 0", plain(edition, "1 0 1 2 1 1 2 0 0 0", three, angles, candela), []string{"warning bad-lumens"}, []string{"warning bad-lumens"}, 7, 6283.185},
		{"no watts", plain(edition, ten, "1 1 0", angles, candela), []string{"note no-watts"}, []string{"note no-watts"}, 8, 6283.185},
		{"too good a luminaire", plain(edition, "1 1000 1 2 1 1 2 0 0 0", three, angles, candela), []string{"warning implausible-efficiency"}, []string{"warning implausible-efficiency"}, 0, 6283.185},
		{"dark", plain(edition, ten, three, angles, "0 0"), []string{"error no-light"}, []string{"warning no-light"}, 9, -1},
		{"near field", strings.Replace(plain(edition, ten, three, angles, candela), "[TEST]", "[NEARFIELD] 1 1 1\n[TEST]", 1), []string{"note nearfield"}, []string{"note nearfield"}, 2, 6283.185},
		{"keyword missing", strings.Replace(plain(edition, ten, three, angles, candela), "[TEST] a\n", "", 1), []string{"warning missing-keyword"}, []string{"warning missing-keyword"}, 0, 6283.185},
		{"free text", strings.Replace(plain(edition, ten, three, angles, candela), "[TEST]", "hello\n[TEST]", 1), []string{"error free-text"}, nil, 2, 6283.185},
		{"tilt count lies", "TILT=INCLUDE\n1\n10000\n0 1\n", []string{"error number-count"}, []string{"error number-count"}, 4, 0},
		{"tilt count of nothing", "TILT=INCLUDE\n1\n0\n", []string{"error bad-count"}, []string{"error bad-count"}, 3, 0},
		{"tilt geometry", "TILT=INCLUDE\n4\n1\n0\n1\n" + strings.Join([]string{ten, three, angles, candela}, "\n"), []string{"error bad-type"}, []string{"warning bad-type"}, 2, 6283.185},
		{"type B, single row", plain(edition, "1 10000 1 2 1 2 2 0 0 0", three, "-90 90\n0", candela), []string{"error h-range"}, []string{"error h-range"}, 10, 0},
		{"type A, half of a half", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-90 90\n0 90", candela+"\n"+candela), nil, nil, 10, 6283.185}, // the other half is its mirror image
		{"type B, half of a half", plain(edition, "1 10000 1 2 2 2 2 0 0 0", three, "-90 90\n0 90", candela+"\n"+candela), nil, nil, 10, 6283.185},
		{"type A, from the side", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-90 90\n1 90", candela+"\n"+candela), []string{"error h-range"}, []string{"warning h-range"}, 10, 3106.686},                                                                 // 1000 * 2 * 89 degrees
		{"type A, narrow", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-10 10\n-20 20", candela+"\n"+candela), []string{"error v-range", "error h-range"}, []string{"warning v-range", "warning h-range", "warning implausible-efficiency"}, 9, 242.4586}, // 1000 (2 sin 10) 40 degrees
		{"type A, narrow below", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-30 90\n-90 90", candela+"\n"+candela), []string{"error v-range"}, []string{"warning v-range"}, 9, 4712.389},                                                                 // 1000 (sin 30 + 1) pi
		{"type A, narrow above", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-90 30\n-90 90", candela+"\n"+candela), []string{"error v-range"}, []string{"warning v-range"}, 9, 4712.389},                                                                 // the same
		{"type A, upper half", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "0 90\n-90 90", candela+"\n"+candela), nil, nil, 10, 3141.593},
		{"type B, off the sphere", plain(edition, "1 10000 1 2 2 2 2 0 0 0", three, "-90 90\n-91 91", candela+"\n"+candela), []string{"error h-range"}, []string{"error h-range"}, 10, 0},
		{"type A, off the sphere", plain(edition, "1 10000 1 2 2 3 2 0 0 0", three, "-91 90\n-90 90", candela+"\n"+candela), []string{"error v-range"}, []string{"error v-range"}, 9, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			checkProblems(t, ParseLM63, c.text, Strict, c.strict, c.line)
			file := checkProblems(t, ParseLM63, c.text, Lenient, c.lenient, 0)
			switch {
			case c.flux == 0:
				if file != nil && file.Web != nil {
					t.Error("there is a distribution")
				}
			case c.flux > 0:
				near(t, "flux", file.Web.Flux(), c.flux, 0.001)
			}
		})
	}
}

// The opening in metres, from feet and from the negative sizes that mean round shapes.
func TestLM63Opening(t *testing.T) {
	for sizes, want := range map[string]Vec{
		"1 1 2 0":       {X: 2 * 0.3048, Y: 0.3048},
		"2 -0.3 -0.3 0": {X: 0.3, Y: 0.3},
		"2 0.1 0.2 0.3": {X: 0.2, Y: 0.1, Z: 0.3},
	} {
		file, _, err := ParseLM63([]byte(plain("", "1 -1 1 2 1 1 "+sizes, "1 1 10", "0 90\n0", "1 1")), Strict)
		if err != nil {
			t.Fatal(err)
		}
		nearVec(t, sizes, file.Opening, want, 1e-15)
	}
}

// A decimal comma splits a number in two. The reader cannot know, but the count comes out wrong and it names the cause.
func TestLM63DecimalComma(t *testing.T) {
	for name, text := range map[string]string{
		"in the factors":     plain("IESNA91", "1 10000 1 2 1 1 2 0 0 0", "0,9 1 10", "0 90\n0", "1000 1000"),
		"in the intensities": plain("IESNA91", "1 10000 1 2 1 1 2 0 0 0", "1 1 10", "0 90\n0", "1000,5 1000,5"),
	} {
		_, found, err := ParseLM63([]byte(text), Strict)
		if err == nil || !strings.Contains(fmt.Sprint(found), "decimal comma") {
			t.Errorf("%s: %v", name, found)
		}
	}
}

// checkProblems reads a text, compares what was found, and checks that error, file and distribution go together.
func checkProblems(t *testing.T, parse func([]byte, Mode) (*File, []Problem, error), text string, mode Mode, want []string, line int) *File {
	t.Helper()
	file, found, err := parse([]byte(text), mode)
	if diff := cmp.Diff(want, codes(found)); diff != "" {
		t.Errorf("mode %d: %s\n%v", mode, diff, found)
	}
	if line != 0 && len(found) > 0 && found[0].Line != line {
		t.Errorf("mode %d: %v is not at line %d", mode, found[0], line)
	}
	checkConsistent(t, file, found, err)
	return file
}

// checkConsistent holds for every reading: there is a distribution exactly when there is no error, the error is the first
// one of the list, and every number is a number.
func checkConsistent(t *testing.T, file *File, found []Problem, err error) {
	t.Helper()
	var first error
	for _, p := range found {
		if p.Severity == Error && first == nil {
			first = p
		}
		if p.Code == "" || p.Message == "" || p.Line < 0 {
			t.Errorf("problem %+v", p)
		}
	}
	if !errors.Is(err, first) || (err == nil) != (first == nil) {
		t.Errorf("error %v, but the first one found is %v", err, first)
	}
	if (err == nil) != (file != nil && file.Web != nil) {
		t.Errorf("error %v with file %+v", err, file)
	}
	if err != nil {
		return
	}
	for _, theta := range []float64{0, 1, 45, 89.9, 90, 135, 180} {
		for _, phi := range []float64{-90, 0, 0.1, 45, 90, 179, 180, 270, 359.9, 360} {
			if cd, ok := file.Web.Candela(theta, phi); !ok || !finite(cd) || cd < 0 {
				t.Errorf("at %g, %g: %g, %v", theta, phi, cd, ok)
			}
		}
	}
	beam, _ := file.Web.BeamDeg()
	field, _ := file.Web.FieldDeg()
	efficiency, _ := file.Efficiency()
	peak, theta, phi, _ := file.Web.Peak()
	if !finite(file.Web.Flux(), beam, field, efficiency, peak, theta, phi) || file.Web.Flux() < 0 || beam < 0 || beam > 360 || (field > 0 && field < beam-1e-9) {
		t.Errorf("flux %g, beam %g, field %g, efficiency %g, peak %g at %g, %g", file.Web.Flux(), beam, field, efficiency, peak, theta, phi)
	}
}
