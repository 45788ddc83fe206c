package photometry

import (
	"math"
	"strings"
)

// EULUMDAT holds what an EULUMDAT file says beyond File.
type EULUMDAT struct {
	Maker, Report, Number, FileName, DateUser string

	Type     int // 0 point source, no symmetry; 1 symmetric about the vertical axis; 2 linear; 3 point source, other symmetry
	Symmetry int // 0 none, 1 about the vertical axis, 2 about C0-C180, 3 about C90-C270, 4 about both

	// Luminaire and opening as written, in millimetres; a width of 0 means round.
	LengthMM, WidthMM, HeightMM     float64
	OpeningLengthMM, OpeningWidthMM float64
	OpeningHeightMM                 [4]float64 // at C0, C90, C180, C270

	DownwardPercent float64 // DFF, as written
	OutputRatio     float64 // LORL in percent, as written; 0 is unknown
	Conversion      float64 // factor on the intensities
	MeasuredTiltDeg float64
	LampSets        []LampSet   // alternatives; the first is the one computed with
	DirectRatios    [10]float64 // for room indices 0.6 0.8 1 1.25 1.5 2 2.5 3 4 5 (indices from memory)
}

// LampSet is one way to lamp the luminaire. Flux is that of all its lamps; Lamps below 0 is absolute photometry (from
// memory).
type LampSet struct {
	Lamps                   float64
	Type, Colour, Rendering string
	Lumens, Watts           float64
}

// ParseEULUMDAT reads an EULUMDAT file. Layout as reprinted in public descriptions; symmetries by standard practice, from
// memory. What comes back is as for ParseLM63.
func ParseEULUMDAT(data []byte, mode Mode) (*File, []Problem, error) {
	r := &eulumdatReader{problems: problems{mode: mode}}
	var file *File
	var ok bool
	if r.lines, ok = r.open(data); ok {
		file = r.read()
	}
	err := r.err()
	if err != nil && file != nil {
		file.Web = nil
	}
	return file, r.list, err
}

type eulumdatReader struct {
	problems
	lines   []string
	at      int // lines used
	stopped bool
	commas  bool // a decimal comma has been noted
}

func (r *eulumdatReader) stop(code, format string, args ...any) {
	if !r.stopped {
		r.add(Error, code, min(r.at, len(r.lines)), format, args...)
	}
	r.stopped = true
}

func (r *eulumdatReader) text(name string) string {
	r.at++
	if r.at > len(r.lines) {
		r.stop("number-count", "the file ends before %s", name)
		return ""
	}
	return strings.TrimSpace(r.lines[r.at-1])
}

// number is a line that must hold a number.
func (r *eulumdatReader) number(name string) float64 {
	text := r.text(name)
	if r.stopped {
		return 0
	}
	v, ok := r.parse(text)
	if !ok {
		r.stop("bad-number", "%s: %q is not a number", name, text)
	}
	return v
}

// optional is a line that may be left empty; 0 stands for unknown then.
func (r *eulumdatReader) optional(name string) float64 {
	if r.at < len(r.lines) && strings.TrimSpace(r.lines[r.at]) == "" {
		r.at++
		r.mendable("bad-number", r.at, "%s: the line is empty; taken as unknown", name)
		return 0
	}
	return r.number(name)
}

func (r *eulumdatReader) parse(text string) (float64, bool) {
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		if !r.commas {
			r.commas = true
			r.add(Note, "decimal-comma", r.at, "numbers have a decimal comma; read as a point")
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	return parseNumber(text)
}

// choice is a line with a whole number from 0 to most.
func (r *eulumdatReader) choice(name string, most int) (int, bool) {
	v := r.number(name)
	if r.stopped || !(v >= 0 && v <= float64(most)) || v != math.Trunc(v) {
		return 0, false
	}
	return int(v), true
}

func (r *eulumdatReader) count(name string) int {
	v := r.number(name)
	n, ok := whole(v)
	if !ok {
		r.stop("bad-count", "%s is %g: a whole number from 1 to %d is wanted", name, v, maxCount)
	}
	return n
}

func (r *eulumdatReader) read() *File {
	e := &EULUMDAT{}
	file := &File{Format: "EULUMDAT", EULUMDAT: e}
	e.Maker = r.text("maker")
	var ok bool
	if e.Type, ok = r.choice("type indicator", 3); !ok && !r.stopped {
		r.mendable("bad-type", r.at, "type indicator: 0, 1, 2 or 3 is wanted; 0 is assumed")
	}
	if e.Symmetry, ok = r.choice("symmetry indicator", 4); !ok {
		r.stop("bad-symmetry", "symmetry indicator: 0, 1, 2, 3 or 4 is wanted")
	}
	symmetryLine := r.at
	mc := r.count("number of C planes")
	dc := r.number("step between C planes")
	ng := r.count("number of intensities in a plane")
	dg := r.number("step between intensities")
	if r.stopped {
		return nil
	}
	if e.Type == 1 && e.Symmetry != 1 {
		r.add(Note, "type-symmetry", symmetryLine, "the type says symmetric about the vertical axis, the symmetry indicator says %d, which counts", e.Symmetry)
	}
	e.Report, file.Luminaire, e.Number = r.text("report number"), r.text("luminaire name"), r.text("luminaire number")
	e.FileName, e.DateUser = r.text("file name"), r.text("date")
	e.LengthMM, e.WidthMM, e.HeightMM = r.optional("length"), r.optional("width"), r.optional("height")
	e.OpeningLengthMM, e.OpeningWidthMM = r.optional("length of the luminous area"), r.optional("width of the luminous area")
	for i := range e.OpeningHeightMM {
		e.OpeningHeightMM[i] = r.optional("height of the luminous area")
	}
	file.Opening = opening(e)
	e.DownwardPercent = r.optional("downward flux fraction")
	e.OutputRatio = r.optional("light output ratio")
	r.conversion(e)
	e.MeasuredTiltDeg = r.optional("tilt during measurement")
	if r.stopped {
		return file
	}
	if !r.lampSets(file) {
		return file
	}
	for i := range e.DirectRatios {
		e.DirectRatios[i] = r.optional("direct ratio")
	}
	if r.stopped {
		return file
	}
	r.web(file, mc, ng, dc, dg, symmetryLine)
	return file
}

func opening(e *EULUMDAT) Vec {
	const metres = 1e-3
	width := e.OpeningWidthMM
	if width == 0 {
		width = e.OpeningLengthMM
	}
	height := 0.0
	for _, h := range e.OpeningHeightMM {
		height = math.Max(height, math.Abs(h))
	}
	return Vec{X: math.Abs(e.OpeningLengthMM) * metres, Y: math.Abs(width) * metres, Z: height * metres}
}

func (r *eulumdatReader) conversion(e *EULUMDAT) {
	e.Conversion = 1
	if r.at < len(r.lines) && strings.TrimSpace(r.lines[r.at]) == "" {
		r.at++
		r.add(Warning, "bad-factor", r.at, "conversion factor is empty; 1 is used")
		return
	}
	switch v := r.number("conversion factor"); {
	case r.stopped:
	case v > 0:
		e.Conversion = v
	case v == 0:
		r.add(Warning, "bad-factor", r.at, "conversion factor is 0; 1 is used")
	default:
		r.mendable("bad-factor", r.at, "conversion factor %g: above 0 is wanted; 1 is used", v)
	}
}

func (r *eulumdatReader) lampSets(file *File) bool {
	v := r.number("number of lamp sets")
	n, ok := whole(v)
	if r.stopped || !ok {
		r.stop("bad-lamp-sets", "number of lamp sets is %g: a whole number from 1 to %d is wanted", v, maxCount)
		return false
	}
	const linesPerSet = 6
	if left := len(r.lines) - r.at; n*linesPerSet > left {
		r.stop("bad-lamp-sets", "%d lamp sets call for %d lines, %d are left", n, n*linesPerSet, left)
		return false
	}
	e := file.EULUMDAT
	for range n {
		var s LampSet
		s.Lamps, s.Type = r.number("number of lamps"), r.text("lamp type")
		s.Lumens = r.number("flux of the lamps")
		fluxLine := r.at
		s.Colour, s.Rendering = r.text("colour of the lamps"), r.text("colour rendering")
		s.Watts = r.optional("power of the lamps")
		if r.stopped {
			return false
		}
		e.LampSets = append(e.LampSets, s)
		if len(e.LampSets) == 1 {
			if !(s.Lumens > 0) {
				r.add(Error, "bad-lumens", fluxLine, "flux of the lamps is %g lm: above 0 is wanted, because the intensities are given for each 1000 lm", s.Lumens)
			}
			if !(s.Watts > 0) {
				r.add(Note, "no-watts", r.at, "input power is not given")
			}
		}
	}
	first := e.LampSets[0]
	file.Absolute = first.Lamps < 0
	file.LampLumens = math.Max(0, first.Lumens)
	file.Watts = math.Max(0, first.Watts)
	return true
}

// eulumdatStream reads the lines from the first C angle on as numbers, whatever the line ends; in strict mode it holds
// against the file that a line has more or less than one.
type eulumdatStream struct {
	r      *eulumdatReader
	fields []string // of the current line, not yet used
	uneven bool     // that lines do not hold one number each has been reported
}

// next gives the next field of the stream, or false at the end of the file.
func (s *eulumdatStream) next() (string, bool) {
	for len(s.fields) == 0 {
		if s.r.at >= len(s.r.lines) {
			return "", false
		}
		s.fields = strings.Fields(s.r.lines[s.r.at])
		s.r.at++
		if len(s.fields) != 1 && s.r.mode == Strict && !s.uneven {
			s.uneven = true
			s.r.add(Error, "line-structure", s.r.at, "%d numbers on a line: one is wanted", len(s.fields))
		}
	}
	field := s.fields[0]
	s.fields = s.fields[1:]
	return field, true
}

func (s *eulumdatStream) take(n int, name string) []number {
	var taken []number
	for range n {
		field, ok := s.next()
		if !ok {
			s.r.stop("number-count", "%s: %d numbers are wanted, the file ends after %d", name, n, len(taken))
			return nil
		}
		v, ok := s.r.parse(field)
		if !ok {
			s.r.stop("bad-number", "%s: %q is not a number", name, field)
			return nil
		}
		taken = append(taken, number{value: v, line: s.r.at})
	}
	return taken
}

// leftover reports numbers after the last one wanted. Text there means nothing.
func (s *eulumdatStream) leftover() {
	s.uneven = true
	if field, ok := s.next(); ok {
		if _, isNumber := s.r.parse(field); isNumber {
			s.r.mendable("trailing-numbers", s.r.at, "numbers are left over after the last intensity")
		}
	}
}

func (r *eulumdatReader) web(file *File, mc, ng int, dc, dg float64, symmetryLine int) {
	e := file.EULUMDAT
	first, planes, mirror, divisor := stored(e.Symmetry, mc)
	if mc%divisor != 0 {
		r.add(Error, "bad-symmetry", symmetryLine, "symmetry %d needs a number of C planes that can be divided by %d, not %d", e.Symmetry, divisor, mc)
		return
	}
	s := &eulumdatStream{r: r}
	c := s.take(mc, "C angles")
	g := s.take(ng, "G angles")
	if r.stopped {
		return
	}
	intensities := s.take(planes*ng, "intensities")
	if r.stopped {
		return
	}
	s.leftover()
	checkAscending(&r.problems, "C", c)
	checkAscending(&r.problems, "G", g)
	if r.err() != nil {
		return
	}
	r.steps("C", c, dc, dc != 0 && dc*float64(mc) != 360)
	r.steps("G", g, dg, false)
	firstG, lastG := g[0].value, g[ng-1].value
	if firstG < 0 || lastG > 180 {
		r.add(Error, "g-range", g[0].line, "G angles %g to %g: 0 to 180 is all there is", firstG, lastG)
		return
	}
	if firstG != 0 || (lastG != 90 && lastG != 180) {
		r.add(Warning, "g-range", g[0].line, "G angles %g to %g: they should begin at 0 and end at 90 or 180; outside there is no light", firstG, lastG)
	}
	web := &Web{plane: typeC, mirror: mirror, v: values(g)}
	for k := range planes {
		angle := c[(first+k)%mc].value
		if first > 0 && first+k < mc { // symmetry about C90-C270 is stored from C270 over C0 to C90
			angle -= 360
		}
		web.h = append(web.h, angle)
	}
	if !r.cover(web, e.Symmetry, c[0].line) {
		return
	}
	web.cd = scaleCandela(&r.problems, intensities, e.Conversion*e.LampSets[0].Lumens/1000)
	if web.cd == nil {
		return
	}
	if mirror == crosswise {
		web.h, web.cd = mirrored(web.h, web.cd, ng)
	}
	finish(&r.problems, file, web, g[0].line)
	if file.Web != nil && e.OutputRatio != 0 && math.Max(maxStep(web.v), dg) <= 10 {
		if percent := 100 * web.flux / e.LampSets[0].Lumens; math.Abs(percent-e.OutputRatio) > 0.03*math.Abs(e.OutputRatio) {
			r.add(Warning, "lor-mismatch", 0, "the intensities add up to %.4g %% of the lamp flux, the file says %.4g %%", percent, e.OutputRatio)
		}
	}
}

// stored says which planes of the C list a file holds for a symmetry: the index of the first, how many from there on
// (past the end it goes on at the beginning), how they stand for the rest, and what the number of planes must divide by.
func stored(symmetry, mc int) (first, count int, how mirror, divisor int) {
	switch symmetry {
	case 1:
		return 0, 1, rotational, 1
	case 2:
		return 0, mc/2 + 1, bilateral, 2
	case 3:
		return 3 * mc / 4, mc/2 + 1, crosswise, 4
	case 4:
		return 0, mc/4 + 1, quadrant, 4
	}
	if mc == 1 {
		return 0, 1, rotational, 1
	}
	return 0, mc, fullCircle, 1
}

// steps warns where listed angles are not the step that the header gives (0: no fixed step). The list counts.
func (r *eulumdatReader) steps(name string, angles []number, step float64, wrongTotal bool) {
	const rounding = 0.01 // degrees; files give steps with one or two decimals
	if wrongTotal {
		r.add(Warning, "angle-step", angles[0].line, "%d %s planes %g degrees apart do not make 360 degrees; the list of angles counts", len(angles), name, step)
		return
	}
	for i, a := range angles {
		if step != 0 && math.Abs(a.value-angles[0].value-float64(i)*step) > rounding*float64(i+1) {
			r.add(Warning, "angle-step", a.line, "%s angle %g is not at the step of %g degrees; the list of angles counts", name, a.value, step)
			return
		}
	}
}

// cover checks that the stored planes reach over the whole range that their symmetry stands for.
func (r *eulumdatReader) cover(web *Web, symmetry, line int) bool {
	firstC, lastC := web.h[0], web.h[len(web.h)-1]
	var wantFirst, wantLast float64
	switch web.mirror {
	case rotational:
		return true
	case bilateral:
		wantLast = 180
	case quadrant:
		wantLast = 90
	case crosswise:
		wantFirst, wantLast = -90, 90
	default:
		if lastC-firstC > 360 {
			r.add(Error, "angle-order", line, "C angles %g to %g are more than a full turn", firstC, lastC)
			return false
		}
		return true
	}
	if firstC != wantFirst || lastC != wantLast {
		r.add(Error, "bad-symmetry", line, "symmetry %d stores C %g to %g, the list of angles gives %g to %g", symmetry, turn(wantFirst), wantLast, turn(firstC), lastC)
		return false
	}
	return true
}
