package photometry

import (
	"fmt"
	"math"
	"strings"
)

// LM63 holds what an ANSI/IES LM-63 file says beyond File: as written, before any repair that a warning tells of, except
// that Type and Units are what was assumed for a wrong one.
type LM63 struct {
	Edition  string    // "1986", "1991", "1995", "2002", "2019"; "unknown" is read by the newest rules
	Keywords []Keyword // in order, repeated ones too
	FreeText []string  // lines before TILT= that are no keywords

	Tilt     string // "NONE", "INCLUDE", or the name of a table in another file, which is not opened
	TiltLamp int    // with INCLUDE: 1 lamp base up or down, 2 lamp stays horizontal, 3 lamp tilts with the luminaire (from memory)
	TiltDeg  []float64
	// TiltFactor multiplies lamp output when the luminaire is tilted by the TiltDeg beside it. Not applied here.
	TiltFactor []float64

	Lamps, LumensPerLamp, Multiplier   float64
	Type                               string  // "A", "B" or "C"
	Units                              string  // "feet" or "metres"
	Width, Length, Height              float64 // raw, negative for round shapes, in Units
	BallastFactor, Field12, InputWatts float64
	Generation                         string // 2019: how the data came about, in words; "" when not one of the codes
	NearField                          bool   // taken close up: the inverse-square law does not hold for it
}

// Keyword is a [NAME] line of an LM-63 header with its [MORE] lines, which are joined by line ends.
type Keyword struct {
	Name, Text string
	Line       int
}

// lm63Editions are the first lines that name an edition (2019 from memory).
var lm63Editions = map[string]string{
	"IESNA91":          "1991",
	"IESNA:LM-63-1995": "1995",
	"IESNA:LM-63-2002": "2002",
	"IES:LM-63-2019":   "2019",
}

// lm63Required are the keywords that the 2002 edition asks for (that they are required: from memory).
var lm63Required = []string{"TEST", "TESTLAB", "ISSUEDATE", "MANUFAC"}

// lm63Generation are the values of field 12 in LM-63-2019, in units of 0.00001 above 1 (from memory).
var lm63Generation = map[int]string{
	1:     "undefined or from an older file",
	10:    "computer simulation",
	0:     "unaccredited laboratory",
	100:   "unaccredited laboratory, lumen-scaled",
	1000:  "unaccredited laboratory, interpolated angles",
	1100:  "unaccredited laboratory, interpolated angles, lumen-scaled",
	10000: "accredited laboratory",
	10100: "accredited laboratory, lumen-scaled",
	11000: "accredited laboratory, interpolated angles",
	11100: "accredited laboratory, interpolated angles, lumen-scaled",
}

// ParseLM63 reads an ANSI/IES LM-63 file of the editions 1986 to 2019, photometry of type C, B or A. Layout as reprinted
// in public descriptions of LM-63-2002; the 2019 edition was not seen and is read from memory.
//
// The error is the first problem of severity Error, and then there is no distribution: the file is nil when its header
// could not be read either, otherwise File.Web is nil. Every problem is in the list, in the order in which it was found.
func ParseLM63(data []byte, mode Mode) (*File, []Problem, error) {
	r := &lm63Reader{problems: problems{mode: mode}}
	file := r.read(data)
	err := r.err()
	if err != nil && file != nil {
		file.Web = nil
	}
	return file, r.list, err
}

type lm63Reader struct {
	problems
	numbers []number // not yet used
	end     int      // the last line, where a missing number is reported
}

func (r *lm63Reader) read(data []byte) *File {
	lines, ok := r.open(data)
	if !ok {
		return nil
	}
	r.end = len(lines)
	tiltLine := 0
	var tilt string
	for i, line := range lines {
		if value, found := tiltValue(line); found {
			tilt, tiltLine = value, i+1
			break
		}
	}
	if tiltLine == 0 {
		r.add(Error, "no-tilt", len(lines), "there is no line that begins with TILT=, so this is not a whole LM-63 file")
		return nil
	}
	lm63 := &LM63{}
	file := &File{Format: "LM-63", LM63: lm63}
	r.header(file, lines[:tiltLine-1])
	if !r.scan(lines[tiltLine:], tiltLine+1) || !r.tilt(lm63, tilt, tiltLine) {
		return file
	}
	nV, nH, ok := r.settings(file)
	if !ok {
		return file
	}
	r.web(file, nV, nH)
	return file
}

// tiltValue is what stands after TILT= ; spaces around the sign and the case do not matter.
func tiltValue(line string) (value string, found bool) {
	line = strings.TrimSpace(line)
	if len(line) < len("TILT=") || !strings.EqualFold(line[:4], "TILT") {
		return "", false
	}
	value, found = strings.CutPrefix(strings.TrimSpace(line[4:]), "=")
	return strings.TrimSpace(value), found
}

func (r *lm63Reader) header(file *File, lines []string) {
	lm63 := file.LM63
	lm63.Edition = "1986"
	named := false // whether a line has named the edition yet
	blank := 0
	var texts [][]string // of each keyword and its [MORE] lines; joined once, not line by line
	for i, line := range lines {
		text := strings.TrimSpace(line)
		if text == "" {
			blank = i + 1
			continue
		}
		if !named {
			named = true
			if r.edition(lm63, text, i+1) {
				continue
			}
		}
		name, rest, keyword := keywordLine(text)
		switch {
		case keyword && name == "MORE" && len(lm63.Keywords) > 0:
			last := &texts[len(texts)-1]
			*last = append(*last, rest)
		case keyword:
			lm63.Keywords = append(lm63.Keywords, Keyword{Name: name, Line: i + 1})
			texts = append(texts, []string{rest})
		default:
			if len(lm63.FreeText) == 0 && lm63.Edition != "1986" && r.mode == Strict {
				r.add(Error, "free-text", i+1, "line is not a [KEYWORD], which this edition asks for: %q", text)
			}
			lm63.FreeText = append(lm63.FreeText, text)
		}
	}
	if blank > 0 {
		r.pedantic("line-structure", blank, "blank line in the header")
	}
	has := map[string]bool{}
	for i := range lm63.Keywords {
		k := &lm63.Keywords[i]
		k.Text = strings.Join(texts[i], "\n")
		has[k.Name] = true
		if k.Name == "LUMINAIRE" && file.Luminaire == "" {
			file.Luminaire = k.Text
		}
		if k.Name == "NEARFIELD" {
			lm63.NearField = true
			r.add(Note, "nearfield", k.Line, "near-field photometry: the inverse-square law does not hold for it")
		}
	}
	if lm63.Edition == "2002" || lm63.Edition == "2019" {
		for _, name := range lm63Required {
			if !has[name] {
				r.add(Warning, "missing-keyword", 0, "the header has no [%s]", name)
			}
		}
	}
}

// edition takes the first line with text, and says whether it was an edition line.
func (r *lm63Reader) edition(lm63 *LM63, text string, line int) bool {
	upper := strings.ToUpper(text)
	if edition, known := lm63Editions[upper]; known {
		lm63.Edition = edition
		return true
	}
	if strings.HasPrefix(upper, "IES") {
		lm63.Edition = "unknown"
		r.add(Note, "unknown-edition", line, "edition %q is not known; read by the newest rules", text)
		return true
	}
	return false
}

// keywordLine takes "[NAME] text" apart.
func keywordLine(text string) (name, rest string, ok bool) {
	if !strings.HasPrefix(text, "[") {
		return "", "", false
	}
	name, rest, ok = strings.Cut(text[1:], "]")
	return strings.ToUpper(strings.TrimSpace(name)), strings.TrimSpace(rest), ok
}

// scan reads the stream of numbers after the TILT line: between them commas, blanks, tabs or line ends.
func (r *lm63Reader) scan(lines []string, firstLine int) bool {
	for i, line := range lines {
		fields := strings.FieldsFunc(line, func(c rune) bool { return c == ',' || c == ' ' || c == '\t' })
		for k, field := range fields {
			v, ok := parseNumber(field)
			if !ok {
				r.add(Error, "bad-number", firstLine+i, "%q is not a number", field)
				return false
			}
			r.numbers = append(r.numbers, number{v, firstLine + i, k == 0})
		}
	}
	return true
}

// take gives the next n numbers. group names them for the strict note when they do not begin a line.
func (r *lm63Reader) take(n int, group string) ([]number, bool) {
	if n > len(r.numbers) {
		r.add(Error, "number-count", r.end, "%s: %d numbers are wanted, %d are left (a decimal comma splits a number in two; a count may be wrong)", group, n, len(r.numbers))
		return nil, false
	}
	taken := r.numbers[:n]
	r.numbers = r.numbers[n:]
	if n > 0 && !taken[0].first {
		r.pedantic("line-structure", taken[0].line, "%s: does not begin on a line of its own", group)
	}
	return taken, true
}

func (r *lm63Reader) tilt(lm63 *LM63, value string, line int) bool {
	lm63.Tilt = value
	switch strings.ToUpper(value) {
	case "NONE":
		lm63.Tilt = "NONE"
		return true
	case "INCLUDE":
		lm63.Tilt = "INCLUDE"
	case "":
		r.add(Error, "no-tilt", line, "TILT= says nothing; NONE, INCLUDE or a file name is wanted")
		return false
	default:
		r.add(Note, "tilt-file", line, "the tilt table is in another file (%q), which is not opened", value)
		return true
	}
	lamp, ok := r.take(1, "lamp-to-luminaire geometry")
	if !ok {
		return false
	}
	if g := lamp[0].value; g == 1 || g == 2 || g == 3 {
		lm63.TiltLamp = int(g)
	} else {
		r.mendable("bad-type", lamp[0].line, "lamp-to-luminaire geometry %g: 1, 2 or 3 is wanted", g)
	}
	count, ok := r.take(1, "count of tilt angles")
	if !ok {
		return false
	}
	n, ok := whole(count[0].value)
	if !ok {
		r.add(Error, "bad-count", count[0].line, "count of tilt angles %g: a whole number from 1 to %d is wanted", count[0].value, maxCount)
		return false
	}
	angles, ok := r.take(n, "tilt angles")
	if !ok {
		return false
	}
	factors, ok := r.take(n, "tilt factors")
	if !ok {
		return false
	}
	lm63.TiltDeg, lm63.TiltFactor = values(angles), values(factors)
	return true
}

// settings reads the ten and the three numbers.
func (r *lm63Reader) settings(file *File) (nV, nH int, ok bool) {
	ten, ok := r.take(10, "line of ten numbers")
	if !ok {
		return 0, 0, false
	}
	three, ok := r.take(3, "line of three numbers")
	if !ok {
		return 0, 0, false
	}
	lm63 := file.LM63
	lm63.Lamps, lm63.LumensPerLamp, lm63.Multiplier = ten[0].value, ten[1].value, ten[2].value
	lm63.Width, lm63.Length, lm63.Height = ten[7].value, ten[8].value, ten[9].value
	lm63.BallastFactor, lm63.Field12, lm63.InputWatts = three[0].value, three[1].value, three[2].value

	nV, okV := whole(ten[3].value)
	nH, okH := whole(ten[4].value)
	if !okV || !okH {
		r.add(Error, "bad-count", ten[3].line, "%g vertical and %g horizontal angles: whole numbers from 1 to %d are wanted", ten[3].value, ten[4].value, maxCount)
		return 0, 0, false
	}
	switch ten[5].value {
	case 1, 2, 3:
		lm63.Type = " CBA"[int(ten[5].value) : int(ten[5].value)+1]
	default:
		lm63.Type = "C"
		r.mendable("bad-type", ten[5].line, "photometric type %g: 1, 2 or 3 is wanted; type C is assumed", ten[5].value)
	}
	metres := 1.0
	switch ten[6].value {
	case 1:
		lm63.Units, metres = "feet", metresPerFoot
	case 2:
		lm63.Units = "metres"
	default:
		lm63.Units = "metres"
		r.mendable("bad-units", ten[6].line, "units %g: 1 (feet) or 2 (metres) is wanted; metres are assumed", ten[6].value)
	}
	file.Opening = Vec{X: math.Abs(lm63.Length) * metres, Y: math.Abs(lm63.Width) * metres, Z: math.Abs(lm63.Height) * metres}

	if lm63.LumensPerLamp > 0 {
		file.LampLumens, _ = result(math.Max(0, lm63.Lamps) * lm63.LumensPerLamp)
	} else {
		file.Absolute = true
		if lm63.LumensPerLamp != -1 {
			r.add(Warning, "bad-lumens", ten[1].line, "%g lumens per lamp: above 0 or -1 is wanted; taken as absolute photometry", lm63.LumensPerLamp)
		}
	}
	if lm63.InputWatts > 0 {
		file.Watts = lm63.InputWatts
	} else {
		r.add(Note, "no-watts", three[2].line, "input power is not given")
	}
	if lm63.Edition == "2019" || lm63.Edition == "unknown" {
		lm63.Generation = generation(lm63.Field12)
	} else if lm63.Field12 != 1 && lm63.Field12 > 0 {
		r.add(Note, "factor12", three[1].line, "field 12 is %g, not 1; the intensities are multiplied by it", lm63.Field12)
	}
	return nV, nH, true
}

func generation(field12 float64) string {
	code := (field12 - 1) * 1e5
	if !(math.Abs(code) < 1e5) || math.Abs(code-math.Round(code)) > 0.01 { // the codes have five decimals
		return ""
	}
	return lm63Generation[int(math.Round(code))]
}

// factor is what the stored values are multiplied by: multiplier, ballast factor and, before 2019, field 12 (that it is
// the product: from memory). A part that is not above 0 would put out the light, so it is reported and left out.
func (r *lm63Reader) factor(lm63 *LM63, line int) float64 {
	parts := []struct {
		name  string
		value float64
	}{{"multiplier", lm63.Multiplier}, {"ballast factor", lm63.BallastFactor}, {"field 12", lm63.Field12}}
	if lm63.Edition == "2019" || lm63.Edition == "unknown" {
		parts = parts[:2]
	}
	product := 1.0
	for _, part := range parts {
		if part.value > 0 {
			product *= part.value
		} else {
			r.mendable("bad-factor", line, "%s %g: above 0 is wanted; 1 is used", part.name, part.value)
		}
	}
	return product
}

func (r *lm63Reader) web(file *File, nV, nH int) {
	// One look at the whole count first, before a lying one allocates or is reported as some smaller mishap.
	if want := nV + nH + nV*nH; want > len(r.numbers) {
		r.add(Error, "number-count", r.end, "%d vertical and %d horizontal angles call for %d numbers, %d are left (a decimal comma splits a number in two; a count may be wrong)", nV, nH, want, len(r.numbers))
		return
	}
	v, _ := r.take(nV, "vertical angles")
	h, _ := r.take(nH, "horizontal angles")
	candela := make([]number, 0, nV*nH)
	for j := range nH {
		block, _ := r.take(nV, fmt.Sprintf("intensities at horizontal angle %g", h[j].value))
		candela = append(candela, block...)
	}
	if len(r.numbers) > 0 {
		r.mendable("trailing-numbers", r.numbers[0].line, "%d numbers are left over (a decimal comma splits a number in two; a count may be wrong)", len(r.numbers))
	}
	checkAscending(&r.problems, "vertical", v)
	checkAscending(&r.problems, "horizontal", h)
	web := &Web{plane: map[string]planeType{"A": typeA, "B": typeB, "C": typeC}[file.LM63.Type], v: values(v), h: values(h)}
	factor := r.factor(file.LM63, v[0].line)
	if r.err() != nil || !r.ranges(web, file.LM63.Edition, v[0].line, h[0].line) {
		return
	}
	web.cd = scaleCandela(&r.problems, candela, factor)
	finish(&r.problems, file, web, v[0].line)
}

// ranges checks the listed angles against those the standard allows (from memory) and finds the symmetry.
func (r *lm63Reader) ranges(web *Web, edition string, lineV, lineH int) bool {
	firstV, lastV := web.v[0], web.v[len(web.v)-1]
	firstH, lastH := web.h[0], web.h[len(web.h)-1]
	if web.plane != typeC {
		return r.rangesAB(web, lineV, lineH)
	}
	if firstV < 0 || lastV > 180 {
		r.add(Error, "v-range", lineV, "vertical angles %g to %g: 0 to 180 is all there is in type C", firstV, lastV)
		return false
	}
	if lastH-firstH > 360 {
		r.add(Error, "h-range", lineH, "horizontal angles %g to %g are more than a full turn", firstH, lastH)
		return false
	}
	if (firstV != 0 && firstV != 90) || (lastV != 90 && lastV != 180) || firstV == lastV {
		r.mendable("v-range", lineV, "vertical angles %g to %g: they should begin at 0 or 90 and end at 90 or 180; outside there is no light", firstV, lastV)
	}
	switch {
	case len(web.h) == 1:
		web.mirror = rotational
		if firstH != 0 {
			r.add(Warning, "h-range", lineH, "the only horizontal angle is %g, not 0; taken as the same all round", firstH)
		}
	case firstH == 0 && lastH == 90:
		web.mirror = quadrant
	case firstH == 0 && lastH == 180:
		web.mirror = bilateral
	case firstH == 0 && lastH == 360:
		web.mirror = fullCircle
	case firstH == 90 && lastH == 270:
		web.mirror = crosswise
		if edition != "2002" && edition != "2019" && edition != "unknown" {
			r.mendable("h-range", lineH, "horizontal angles 90 to 270 came with the 2002 edition; read as there")
		}
	default:
		web.mirror = fullCircle
		r.mendable("h-range", lineH, "horizontal angles %g to %g: 0 to 0, 90, 180 or 360 is wanted; read as a full circle, straight across the gap", firstH, lastH)
	}
	return true
}

func (r *lm63Reader) rangesAB(web *Web, lineV, lineH int) bool {
	firstV, lastV := web.v[0], web.v[len(web.v)-1]
	firstH, lastH := web.h[0], web.h[len(web.h)-1]
	limitV, limitH := 90.0, 180.0 // V is the latitude in type A
	if web.plane == typeB {
		limitV, limitH = 180, 90
	}
	if firstV < -limitV || lastV > limitV {
		r.add(Error, "v-range", lineV, "vertical angles %g to %g do not fit on a sphere in this photometric type", firstV, lastV)
		return false
	}
	if firstH < -limitH || lastH > limitH {
		r.add(Error, "h-range", lineH, "horizontal angles %g to %g do not fit on a sphere in this photometric type", firstH, lastH)
		return false
	}
	if len(web.v) == 1 || len(web.h) == 1 {
		r.add(Error, "h-range", lineH, "a single row of angles spans no solid angle in photometric types A and B")
		return false
	}
	if (firstV != -90 && firstV != 0) || lastV != 90 {
		r.mendable("v-range", lineV, "vertical angles %g to %g: they should begin at -90 or 0 and end at 90; outside there is no light", firstV, lastV)
	}
	if firstH == 0 {
		web.mirror = aboutZero
	}
	if (firstH != -90 && firstH != 0) || lastH != 90 {
		r.mendable("h-range", lineH, "horizontal angles %g to %g: they should begin at -90 or 0 and end at 90; outside there is no light", firstH, lastH)
	}
	return true
}

// finish gives the file its distribution when nothing stands against it.
func finish(p *problems, file *File, web *Web, line int) {
	if p.err() != nil {
		return
	}
	web.flux = web.total()
	if !finite(web.flux) {
		p.add(Error, "bad-number", line, "the intensities are too large to add up")
		return
	}
	file.Web = web
	if web.flux == 0 {
		p.mendable("no-light", line, "the distribution adds up to no light at all")
		return
	}
	if ratio, ok := file.Efficiency(); ok && file.Format == "LM-63" && (ratio > 1 || ratio < 0.05) {
		p.add(Warning, "implausible-efficiency", line, "the luminaire gives %.4g times the flux of its lamps; 0.05 to 1 is plausible", ratio)
	}
}
