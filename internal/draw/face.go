package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// skin is a skin as cameras reckon with it: its reflectance, from two camera handbooks,
// and how it tints white light (by eye, no source).
type skin struct {
	name        string
	reflectance float64
	tint        scene.RGB
}

var skins = []skin{
	{"light", 0.36, scene.RGB{1.22, 0.95, 0.82}},
	{"medium", 0.16, scene.RGB{1.34, 0.93, 0.68}},
	{"dark", 0.10, scene.RGB{1.38, 0.93, 0.62}},
}

// exposed is the linear part of full at which a camera that gets the light it wants
// shows light skin of 36 %: a stop under its white, as the calibration of ISO 2720 with
// a grey of 18 % at about 0.2 has it. Common practice, no source.
const exposed = 0.46

// leastShown is the linear part of full under which a camera shows black. Common
// practice, no source.
const leastShown = 0.02

// bands are the steps of brightness in which a face is printed, as the coded values at
// which each begins.
var bands = []float64{0.1, 0.22, 0.33, 0.44, 0.55, 0.66, 0.77, 0.88}

// zones are the parts of a face by colour, from cool to warm.
const (
	mostZones = 4
	leastWarm = 0.045 // difference in (red - blue) of all from which a face has parts. By eye
)

// FaceW and FaceH are the size of a face's picture.
const (
	FaceW = 200.0
	FaceH = 262.0
	faceY = 196.0 // where the row of small faces begins
)

// portrait is a face as its camera shows it.
type portrait struct {
	f      *scene.Face
	id     string
	kept   string // of the figure
	small  bool
	p      *picture.Pic
	gain   float64 // from lux to the linear part of full, for light skin
	lit    litFace
	bands  []float64 // in lux
	keys   []string  // ids of their outlines
	fills  [][]scene.RGB
	zones  []string // ids of clips, the first of them for all
	mask   string
	behind float64 // linear part of full; -1 if unknown
}

// Figure is what every head has, kept under an id for [Face] to show.
func Figure(id string) *picture.Pic {
	p := picture.New(0, 0)
	figure(p, id)
	return p
}

// Face draws a face in its picture, with the three skins below and the other camera's
// white beside them. id has to be one of its own in the page; kept is that of the figure
// in the page, "" for a picture that stands alone. small leaves the row below out.
func Face(f *scene.Face, cue, id, kept string, small bool) *picture.Pic {
	h := FaceH
	if small {
		h = faceY - 4
	}
	p := picture.New(FaceW, h)
	p.Title = fmt.Sprintf("Sketch of the face on %s in cue %s", f.Place, cue)
	p.Desc = SayFace(f)
	p.Table = faceTable(f)
	if len(f.Missing) > 0 {
		p.Rect(1, 1, FaceW-2, h-2, "empty")
		p.Text(FaceW/2, h/2, 14, picture.Middle, "sub", "unknown")
		return p
	}
	s := &portrait{f: f, id: id, kept: kept, p: p, lit: light(f), small: small}
	if kept == "" {
		s.kept = id + "-k"
		figure(p, s.kept)
	}
	wanted := f.Lux // a camera that sets its own exposure
	if f.Wanted != nil {
		wanted = *f.Wanted
	}
	if !(wanted > 0) {
		wanted = 1
	}
	s.gain = exposed / wanted
	s.behind = -1
	if f.Stops != nil {
		s.behind = exposed * f.Lux / wanted * math.Exp2(max(-20, min(20, *f.Stops)))
	}
	s.outlines()
	main := skins[0]
	for _, one := range skins {
		if one.name == f.Skin {
			main = one
		}
	}
	p.Clip(id+"-w", new(picture.Path).Move(0, 0).Line(FaceW, 0).Line(FaceW, faceY-4).Line(0, faceY-4).Close(), func() { s.scene(main, scene.RGB{1, 1, 1}, false) })
	s.clipped(main)
	if small {
		return p
	}
	x := 0.0
	row := func(one skin, gain scene.RGB) {
		p.Moved(x, faceY, 0.3, func() { s.scene(one, gain, true) })
		x += 68
	}
	if len(f.Others) > 0 {
		x = 0
		for _, one := range skins {
			p.Moved(x, faceY, 0.225, func() { s.scene(one, scene.RGB{1, 1, 1}, true) })
			x += 51.6
		}
		p.Moved(x, faceY, 0.225, func() { s.scene(main, f.Others[0].Gain, true) })
		p.Path(new(picture.Path).Move(x+0.5, faceY+0.5).Line(x+44.5, faceY+0.5).Line(x+44.5, faceY+43).Line(x+0.5, faceY+43).Close(), "box")
		p.H = faceY + 46
		return p
	}
	for _, one := range skins {
		row(one, scene.RGB{1, 1, 1})
	}
	p.H = faceY + 60
	return p
}

// place turns a point of the grid into one of the picture.
func place(i, j float64) (x, y float64) {
	return 100 + 76*spanX*(2*i/(litX-1)-1), 96 + 76*spanY*(2*j/(litY-1)-1)
}

// outlines follows the light on the face: bands of brightness, and parts by colour.
func (s *portrait) outlines() {
	field := picture.Field{NX: litX, NY: litY, At: s.lit.y, Loose: 0.5}
	mask := picture.Field{NX: litX, NY: litY, At: s.lit.mask}
	least, most := math.Inf(1), math.Inf(-1)
	for i, y := range s.lit.y {
		if s.lit.mask[i] > 0 {
			least, most = min(least, y), max(most, y)
		}
	}
	s.mask = s.id + "-m"
	s.p.Def(s.mask, mask.Above(0, place))
	s.bands = []float64{0}
	s.keys = []string{s.mask}
	for i, b := range bands {
		if s.small && i%2 == 1 {
			continue
		}
		lux := math.Pow(b, 2.2) / s.gain
		if lux <= least || lux >= most {
			if lux <= least {
				s.bands[0] = lux
			}
			continue
		}
		s.bands = append(s.bands, lux)
		key := fmt.Sprintf("%s-%d", s.id, len(s.keys))
		s.keys = append(s.keys, key)
		s.p.Def(key, field.Above(lux, place))
	}
	// Parts by colour.
	warmth := make([]float64, len(s.lit.y))
	var known []float64
	for i, y := range s.lit.y {
		warmth[i] = math.NaN()
		if rgb := s.lit.rgb[i]; y > 0 && rgb[0]+rgb[1]+rgb[2] > 0 {
			if warmth[i] = (rgb[0] - rgb[2]) / (rgb[0] + rgb[1] + rgb[2]); s.lit.mask[i] > 0 {
				known = append(known, warmth[i])
			}
		}
	}
	slices.Sort(known)
	var edges []float64
	if n := len(known); n > 0 {
		low, high := known[n/20], known[n-1-n/20]
		if parts := min(mostZones, int((high-low)/leastWarm)+1); parts > 1 {
			for k := 1; k < parts; k++ {
				edges = append(edges, low+(high-low)*float64(k)/float64(parts))
			}
		}
	}
	zone := func(w float64) int {
		k := 0
		for k < len(edges) && w > edges[k] {
			k++
		}
		return k
	}
	for k, edge := range edges {
		key := fmt.Sprintf("%s-z%d", s.id, k)
		s.p.Def(key, picture.Field{NX: litX, NY: litY, At: warmth, Loose: 0.5}.Above(edge, place))
		s.zones = append(s.zones, key)
	}
	// The mean colour of each band in each part.
	sums := make([][]scene.RGB, len(edges)+1)
	for k := range sums {
		sums[k] = make([]scene.RGB, len(s.bands))
	}
	whole := make([]scene.RGB, len(edges)+1)
	for i, y := range s.lit.y {
		if s.lit.mask[i] <= 0 || math.IsNaN(warmth[i]) {
			continue
		}
		k, b := zone(warmth[i]), 0
		for b+1 < len(s.bands) && y > s.bands[b+1] {
			b++
		}
		for c := range 3 {
			sums[k][b][c] += s.lit.rgb[i][c]
			whole[k][c] += s.lit.rgb[i][c]
		}
	}
	for k := range sums {
		for b := range sums[k] {
			if sums[k][b] == (scene.RGB{}) {
				sums[k][b] = whole[k]
			}
			sums[k][b] = even(sums[k][b])
		}
	}
	s.fills = sums
}

// even scales light to a luminance of 1.
func even(rgb scene.RGB) scene.RGB {
	y := 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2]
	if !(y > 0) {
		return scene.RGB{1, 1, 1}
	}
	return scene.RGB{rgb[0] / y, rgb[1] / y, rgb[2] / y}
}

// shown is light of a luminance as the camera shows it, with what is over full at full.
func shown(light scene.RGB, v float64) string {
	return hex(scene.RGB{light[0] * v, light[1] * v, light[2] * v})
}

// scene draws the background, shoulders, hair and the head of a skin.
func (s *portrait) scene(one skin, gain scene.RGB, little bool) {
	f := s.f
	tinted := func(rgb scene.RGB) scene.RGB {
		return scene.RGB{rgb[0] * gain[0], rgb[1] * gain[1], rgb[2] * gain[2]}
	}
	if s.behind >= 0 {
		s.p.Fill(0, 0, FaceW, faceY-4, shown(tinted(f.Behind), s.behind))
	} else {
		s.p.Fill(0, 0, FaceW, faceY-4, "#8a8272")
	}
	mean := scene.RGB{}
	for _, r := range f.Rays {
		for k := range mean {
			mean[k] += r.Lux * r.Light[k]
		}
	}
	mean = tinted(even(mean))
	dark := 0.06 / 0.36 * s.gain * f.Lux // dark cloth of 6 %
	s.p.Use(s.kept+"d", shown(mean, dark))
	neck := even(s.fills[0][0])
	hair := even(scene.RGB{mean[0] * 1.2, mean[1] * 0.96, mean[2] * 0.8})
	if !little { // too small to be seen
		s.p.Use(s.kept+"n", shown(tinted(skinLight(neck, one)), one.reflectance/0.36*s.gain*f.Lux*0.42))
		s.p.Use(s.kept+"e", shown(tinted(skinLight(neck, one)), one.reflectance/0.36*s.gain*f.Lux*0.5))
		s.p.Use(s.kept+"b", shown(hair, 0.03/0.36*s.gain*f.Lux))
		s.rims(tinted)
	}
	step := 1
	if little {
		step = 3
	}
	paint := func(zone int) {
		for b := 0; b < len(s.bands); b += step {
			mid := s.bands[b]
			if b+1 < len(s.bands) {
				mid = (mid + s.bands[min(b+step, len(s.bands)-1)]) / 2
			} else {
				mid *= 1.12
			}
			if b == 0 && len(s.bands) > 1 && s.bands[0] == 0 {
				mid = s.bands[1] * 0.7
			}
			s.p.Use(s.keys[b], shown(tinted(skinLight(s.fills[zone][b], one)), one.reflectance/0.36*s.gain*mid))
		}
	}
	inside := func(id, kept string, draw func()) {
		if little {
			s.p.Again(id, draw)
		} else {
			s.p.Within(id, kept, draw)
		}
	}
	inside(s.id+"-h", s.mask, func() {
		paint(0)
		for k, key := range s.zones {
			if !little || k == len(s.zones)/2 {
				inside(fmt.Sprintf("%s-c%d", s.id, k), key, func() { paint(k + 1) })
			}
		}
	})
	if !little {
		s.features()
	}
	s.p.Use(s.kept+"t", shown(hair, 0.035/0.36*s.gain*f.Lux))
}

// figure keeps the shapes that every head has: body, neck, ears, hair behind and on top.
func figure(p *picture.Pic, id string) {
	keep := func(name string, path *picture.Path) { p.Def(id+name, path) }
	keep("d", new(picture.Path).Move(12, 200).Curve(16, 172, 66, 160).Line(72, 140).Line(128, 140).Line(134, 160).Curve(184, 172, 188, 200).Close())
	keep("n", new(picture.Path).Move(78, 128).Line(76, 158).Curve(100, 178, 124, 158).Line(122, 128).Close())
	ears := new(picture.Path)
	for _, side := range []float64{-1, 1} {
		ears.Move(100+side*52, 82).Curve(100+side*63, 78, 100+side*60, 96).Curve(100+side*57, 112, 100+side*50, 108).Close()
	}
	keep("e", ears)
	for side := range 2 {
		mirror := func(x float64) float64 { return x + float64(side)*(FaceW-2*x) }
		rim := new(picture.Path).Move(mirror(13), 192).Curve(mirror(17), 173, mirror(64), 161)
		keep(fmt.Sprintf("r%d", side), rim.Move(mirror(45), 92).Curve(mirror(36), 50, mirror(56), 26).Curve(mirror(76), 8, mirror(100), 9))
	}
	keep("b", new(picture.Path).Move(45, 92).Curve(36, 50, 56, 26).Curve(76, 7, 100, 8).Curve(124, 7, 144, 26).Curve(164, 50, 155, 92).Close())
	keep("t", new(picture.Path).Move(45, 92).Curve(36, 50, 56, 26).Curve(76, 7, 100, 8).Curve(124, 7, 144, 26).Curve(164, 50, 155, 92).Line(151, 90).Curve(153, 66, 141, 54).Curve(131, 42, 112, 42).Curve(88, 40, 66, 48).Curve(47, 60, 49, 90).Close())
}

func skinLight(rgb scene.RGB, one skin) scene.RGB {
	return even(scene.RGB{rgb[0] * one.tint[0], rgb[1] * one.tint[1], rgb[2] * one.tint[2]})
}

// rims are the edges of hair and shoulders that light from behind draws, on the side
// that it comes from.
func (s *portrait) rims(tinted func(scene.RGB) scene.RGB) {
	var sides [2]struct {
		lux float64
		rgb scene.RGB
	}
	for _, r := range s.f.Rims {
		for side := range sides {
			part := 0.5
			if math.Abs(r.AzimuthDeg) < 160 {
				part = 0.1
				if (r.AzimuthDeg > 0) == (side == 1) {
					part = 0.9
				}
			}
			sides[side].lux += part * r.Lux
			for k := range 3 {
				sides[side].rgb[k] += part * r.Lux * r.Light[k]
			}
		}
	}
	for side, light := range sides {
		v := 0.5 * s.gain * light.lux
		if v < leastShown {
			continue
		}
		wide := 1.6 + min(2.6, 1.3*math.Log2(1+2*v))
		s.p.Trace(fmt.Sprintf("%sr%d", s.kept, side), shown(tinted(even(light.rgb)), max(0.12, v)), wide)
	}
}

// features are the lines of a face: lids, brows, mouth. They are drawn, not lit.
func (s *portrait) features() {
	yaw := max(-mostTurned, min(mostTurned, s.f.YawDeg)) * math.Pi / 180
	sin, cos := math.Sincos(yaw)
	table := heights()
	at := func(x, y float64) (float64, float64) {
		return 100 + 76*(x*cos+max(0, height(table, x, y))*sin), 96 - 76*y
	}
	path := new(picture.Path)
	line := func(points ...[2]float64) {
		for i, q := range points {
			x, y := at(q[0], q[1])
			if i == 0 {
				path.Move(x, y)
			} else {
				path.Line(x, y)
			}
		}
	}
	for _, side := range []float64{-1, 1} {
		line([2]float64{side * 0.19, 0.17}, [2]float64{side * 0.25, 0.145}, [2]float64{side * 0.31, 0.14}, [2]float64{side * 0.37, 0.155}, [2]float64{side * 0.41, 0.18})
		line([2]float64{side * 0.15, 0.34}, [2]float64{side * 0.26, 0.375}, [2]float64{side * 0.37, 0.37}, [2]float64{side * 0.45, 0.335})
		line([2]float64{side * 0.06, -0.29}, [2]float64{side * 0.1, -0.28})
	}
	line([2]float64{-0.2, -0.5}, [2]float64{-0.08, -0.515}, [2]float64{0, -0.505}, [2]float64{0.08, -0.515}, [2]float64{0.2, -0.5})
	s.p.Path(path, "feature")
}

// clipped hatches what the camera burns out, along the top, or loses in black, along
// the bottom.
func (s *portrait) clipped(one skin) {
	hatch := func(y float64, name string) {
		path := new(picture.Path)
		for x := -6.0; x < FaceW; x += 8 {
			path.Move(max(0, x), y+10).Line(min(FaceW, x+10), y)
		}
		s.p.Path(path, name)
	}
	if s.behind > 1 {
		hatch(0, "clip")
	}
	if s.behind >= 0 && s.behind < leastShown {
		hatch(faceY-14, "sunk")
	}
}

// Clips says what a camera burns out and what it loses, of a face that is known.
func Clips(f *scene.Face) (words []string) {
	if len(f.Missing) > 0 {
		return nil
	}
	wanted := f.Lux
	if f.Wanted != nil {
		wanted = *f.Wanted
	}
	if !(wanted > 0) {
		return nil
	}
	at := exposed * f.Lux / wanted
	if f.Stops != nil {
		switch v := at * math.Exp2(*f.Stops); {
		case v > 1:
			words = append(words, "the background burns out")
		case v < leastShown:
			words = append(words, "the background is black")
		}
	}
	if at > 1 {
		words = append(words, "light skin burns out")
	}
	for _, one := range skins {
		if at*one.reflectance/0.36 < leastShown {
			words = append(words, one.name+" skin is lost in black")
		}
	}
	return words
}

// SayFace is a face in a sentence.
func SayFace(f *scene.Face) string {
	if len(f.Missing) > 0 {
		return "The light on this face cannot be told: " + list(f.Missing, 2) + " is missing."
	}
	var words []string
	switch {
	case f.Wanted != nil:
		words = append(words, fmt.Sprintf("%s lux, where the camera %s wants %s", picture.Say(f.Lux, 0), f.Camera, picture.Say(*f.Wanted, 0)))
	case f.Camera == "":
		words = append(words, fmt.Sprintf("%s lux; no camera is known", picture.Say(f.Lux, 0)))
	default:
		words = append(words, fmt.Sprintf("%s lux; the exposure of the camera %s is not set by hand", picture.Say(f.Lux, 0), f.Camera))
	}
	if f.Kelvin != nil {
		words = append(words, picture.Kelvin(*f.Kelvin)+" kelvin")
	}
	words = append(words, picture.Say(f.BackLux, 0)+" lux from behind")
	if f.Stops != nil && f.Backdrop != "" {
		words = append(words, fmt.Sprintf("%s behind, %s stops from the face", f.Backdrop, stops(*f.Stops)))
	}
	words = append(words, Clips(f)...)
	return strings.Join(words, "; ") + ". A sketch from computed light."
}

func faceTable(f *scene.Face) picture.Table {
	t := picture.Table{Head: []string{"lamp", "lux on the face", "from the side, degrees", "from above, degrees"}}
	for _, r := range f.Rays {
		side := "right"
		if r.AzimuthDeg < 0 {
			side = "left"
		}
		t.Rows = append(t.Rows, []string{fmt.Sprintf("channel %d", r.Channel), picture.Say(r.Lux, 0), picture.Say(math.Abs(r.AzimuthDeg), 0) + " " + side, picture.Say(r.Elevation, 0)})
	}
	if f.Ambient > 0 {
		t.Rows = append(t.Rows, []string{"the hall", picture.Say(f.Ambient, 0), "all round", ""})
	}
	return t
}
