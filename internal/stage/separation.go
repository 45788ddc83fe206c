package stage

import (
	"math"

	"github.com/cueproof/cueproof/internal/optics/colour"
)

// Separation is how the outline that light from behind draws round a person stands out
// from what is behind, as the camera that sees the face shows both.
type Separation struct {
	Rim, Behind colour.Lab
	DeltaE      float64 // CIEDE2000 between the two
	Darkest     float64 // the same of the darkest skin that may stand there
}

// outline is the reflectance of the edge of a head, where light from behind glances off: of
// hair that of plain things, and no more than that of the skin beside it. Shoulders have
// that of the clothes, where the place tells them; what stands out more of the two counts.
const outline = plainReflectance

// clothes is what clothing gives back, by the words of the show format. Common practice,
// no source: black cloth 3 to 5 %, a grey card 18 %, a white shirt 80 %.
var clothes = map[string]float64{"black": 0.04, "dark": 0.08, "mid": 0.2, "light": 0.45, "white": 0.8}

// cloth is the colour of what somebody on a place wears, in white light; ok is false where
// nobody says.
func (r *Rig) cloth(place string) (rgb colour.XYZ, ok bool) {
	p := r.Places[place]
	if p == nil || p.Clothing == "" {
		return colour.XYZ{}, false
	}
	if part, named := clothes[p.Clothing]; named {
		return grey(part), true
	}
	xyz, err := colour.HexXYZ(p.Clothing)
	return xyz, err == nil
}

// ClothingOf is the part of white light that what somebody on a place wears gives back; ok is
// false where nobody says.
func (r *Rig) ClothingOf(place string) (part float64, ok bool) {
	rgb, ok := r.cloth(place)
	return rgb.Y, ok
}

// grey gives back the same part of all light: its XYZ against a white of Y = 1.
func grey(part float64) colour.XYZ { return pictureWhite.Scale(part) }

var pictureWhite = colour.RGB{R: 1, G: 1, B: 1}.XYZ()

// onto is what a matt thing shows under a light: the product in the three primaries of the
// picture, as near as three numbers come to a spectrum.
func onto(thing, light colour.XYZ) colour.XYZ {
	a, _ := thing.LinearSRGB()
	b, _ := light.LinearSRGB()
	return colour.RGB{R: a.R * b.R, G: a.G * b.G, B: a.B * b.B}.XYZ()
}

// landed adds up arrivals and light from all around that has a white.
func landed(arrivals []Arrival, around float64, white colour.XYZ) (sum colour.XYZ) {
	for i := range arrivals {
		if a := &arrivals[i]; a.lamp.XYZ.Y > 0 {
			sum = sum.Add(a.lamp.XYZ.Scale(a.lux / a.lamp.XYZ.Y))
		}
	}
	return sum.Add(white.Scale(around))
}

// SeparationOf compares a person with the background that was found last. The camera is the one
// that sees the face best: exposed for what it is set to, at least for the face, and with
// the white that it is set to, or else that of the light on the face. ok is false where
// there is no light to take a picture by.
func (s *Room) SeparationOf(f *Face, b Backdrop) (sep Separation, ok bool) {
	by := f.view.camera
	if b.Nits == nil || b.surface == nil || !(f.Lux > 0) {
		return sep, false
	}
	wanted, lack := WantedLux(by)
	if lack != "" || !SetsExposure(by) || wanted > f.Lux {
		wanted = f.Lux // that the whole face is too dark is another matter
	}
	camera := s.whiteOf(f)
	if !camera.ok {
		return sep, false
	}
	room := s.whiteLike(f.Ambient.Kelvin, camera)
	lab := func(c colour.XYZ) (l colour.Lab) {
		for _, part := range []*float64{&c.X, &c.Y, &c.Z} { // a product may leave the real colours by a little
			*part = max(0, *part)
		}
		l, _ = camera.picture.Lab(c.Scale(1 / wanted))
		return l
	}
	if b.surface.Kind == "emissive" {
		sep.Behind = lab(s.whiteLike(b.surface.WhiteK, camera).Scale(*b.Nits * math.Pi))
	} else {
		paint := grey(reflectance(b.surface))
		if xyz, err := colour.HexXYZ(b.surface.Colour); err == nil && xyz.Y > 0 {
			paint = xyz.Scale(reflectance(b.surface) / xyz.Y)
		}
		sep.Behind = lab(onto(paint, landed(s.wall, f.Ambient.Lux, room)))
	}
	back := landed(f.shoulder, f.Ambient.Lux, room)
	skin, darkest := s.Rig.SkinOf(f.place)
	cloth, told := s.Rig.cloth(f.place)
	edge := func(head float64) (shown colour.Lab, deltaE float64) {
		shown = lab(onto(grey(min(outline, head)), back))
		deltaE, _ = colour.DeltaE2000(shown, sep.Behind)
		if told {
			shoulders := lab(onto(cloth, back))
			if d, ok := colour.DeltaE2000(shoulders, sep.Behind); ok && d > deltaE {
				return shoulders, d
			}
		}
		return shown, deltaE
	}
	sep.Rim, sep.DeltaE = edge(skin)
	if sep.Darkest = sep.DeltaE; darkest < skin {
		_, sep.Darkest = edge(darkest)
	}
	return sep, true
}

// TintOf is how far coloured light takes a face from what its white light alone would
// show: CIEDE2000 between a sheet as bright as light skin in all light on the face and in
// as much of its white, in the picture of a camera that is set to that white. 0 where there
// is no colour, ok is false where there is no white.
func (s *Room) TintOf(f *Face) (deltaE float64, ok bool) {
	var all colour.XYZ
	coloured := false
	for i := range f.face {
		if a := &f.face[i]; a.lamp.XYZ.Y > 0 && !a.lamp.White() {
			coloured = true
			all = all.Add(a.lamp.XYZ.Scale(a.lux / a.lamp.XYZ.Y))
		}
	}
	if !coloured {
		return 0, true
	}
	mean, ok := MeanWhite(f.Rays(s, true))
	if !ok {
		return 0, false
	}
	white := s.bodyAt(1e6/mean.Mired, mean.Duv)
	if !white.ok {
		return 0, false
	}
	all = all.Add(white.one.Scale(max(0, f.Lux-all.Y)))
	shown, ok1 := white.picture.Lab(all.Scale(Skin / f.Lux))
	plain, ok2 := white.picture.Lab(white.one.Scale(Skin))
	if !ok1 || !ok2 {
		return 0, false
	}
	return colour.DeltaE2000(shown, plain)
}

// body is a white and the picture of a camera that is set to it.
type body struct {
	one     colour.XYZ // of Y = 1
	picture colour.CameraPicture
	ok      bool
}

// bodyAt is the white of a colour temperature, worked out once: an evening has few.
func (s *Room) bodyAt(kelvin, duv float64) body {
	key := [2]float64{kelvin, duv}
	b, known := s.bodies[key]
	if known {
		return b
	}
	if xy, ok := colour.PlanckianOffset(kelvin, duv); ok {
		b = bodyOf(xy)
	}
	if s.bodies == nil || len(s.bodies) >= mostBodies {
		s.bodies = map[[2]float64]body{}
	}
	s.bodies[key] = b
	return b
}

// mostBodies bounds the memory for whites of which every face has its own.
const mostBodies = 1000

func bodyOf(xy colour.XY) (b body) {
	b.one, b.ok = xy.XYZ(1)
	if b.ok {
		b.picture, b.ok = colour.Expose(xy)
	}
	return b
}

var daylight = bodyOf(colour.D65)

// wrongWhite is from how many mired on a camera is set to another white than that of the light on a face: that everything
// is blue or orange then is another matter. Common practice, no source.
const wrongWhite = 15

// whiteOf is what the camera that sees a face takes as white: what it is set to, if that is about right; else the
// light on the face; else daylight.
func (s *Room) whiteOf(f *Face) body {
	mean, ok := MeanWhite(f.Rays(s, true))
	if c := f.view.camera; SetsWhite(c) && IsWhite(c.WhiteK) && !(ok && math.Abs(mean.Mired - 1e6 / *c.WhiteK) > wrongWhite) {
		if b := s.bodyAt(*c.WhiteK, Value(c.TintDuv)); b.ok {
			return b
		}
	} else if ok {
		if b := s.bodyAt(1e6/mean.Mired, mean.Duv); b.ok {
			return b
		}
	}
	return daylight
}

// whiteLike is a white that somebody tells, of Y = 1, or else another.
func (s *Room) whiteLike(kelvin *float64, other body) colour.XYZ {
	if IsWhite(kelvin) {
		if b := s.bodyAt(*kelvin, 0); b.ok {
			return b.one
		}
	}
	return other.one
}
