package stage

import (
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sight is how much of what people see some lamps light together. Where that cannot be told,
// it is said what is missing. Light that is seen itself, and not only what it falls on, fills
// all of it: who looks into a lamp sees nothing else.
type Sight struct {
	PicturePct float64 // of the picture of the camera that sees most of it
	FieldPct   float64 // of ten degrees of the field of view, from where somebody in the house sees most of it

	NoPicture, NoField string // what is missing; "" where the number is known
}

// Everywhere is the sight of what fills it.
var Everywhere = Sight{PicturePct: 100, FieldPct: 100}

// How the sight of lamps is followed.
const (
	cellM     = 0.1 // metres: the side of a cell of a surface
	mostCells = 128 // along a side
	// tenDegrees is the solid angle of a cone of ten degrees, in steradians: 2 pi (1 - cos 5 degrees).
	tenDegrees = 0.02390946
	// pictureHigh is the height of a picture as a part of its width: 16 : 9, as streams are.
	pictureHigh = 9.0 / 16
	// landsPart is the part of a lamp's light that has to fall on what the room describes, so that what it
	// lights is known. Common practice, no source.
	landsPart = 0.9
)

// cell is a piece of a surface that is lit.
type cell struct {
	at, normal photometry.Vec
	area       float64 // m2
	light      float64 // lux times the part that goes out again
}

// SightOf tells how much of the pictures and of the view from the house some lamps light, where a
// point counts that has at least a part of the light of the brightest. Nothing hides them from
// each other, which is never too little.
func (s *Room) SightOf(lamps []*Lamp, part float64) Sight {
	var seen Sight
	cameras, lack := s.fixedViews()
	seen.NoPicture = lack
	if !s.HasAudience() {
		seen.NoField = "the areas of the room where people sit"
	}
	viewers := append(s.eyes(), s.houseEyes...)
	unknown := false
	for _, lamp := range lamps {
		switch b := lamp.Beam; {
		case SeenInAir(lamp.Purpose):
			return Everywhere
		case b == nil || b.Missing != "" || b.Column < 0 || lamp.Missing != "":
			unknown = true
		case !hiddenFrom(lamp, viewers):
			return Everywhere
		}
	}
	if unknown {
		lack := "where the light of each lamp that flashes falls"
		return Sight{NoPicture: lack, NoField: lack}
	}
	brightest := 0.0
	cells := s.cellsOf(lamps)
	for _, c := range cells {
		brightest = max(brightest, c.light)
	}
	if brightest <= 0 || s.onPeople(lamps, part) {
		return Everywhere
	}
	for _, v := range cameras {
		seen.PicturePct = max(seen.PicturePct, 100*v.part(cells, part*brightest))
	}
	for _, eye := range s.houseEyes {
		sum := 0.0
		for _, c := range cells {
			if c.light >= part*brightest {
				cos, far, _ := c.towards(eye)
				sum += c.area * cos / (far * far)
			}
		}
		seen.FieldPct = max(seen.FieldPct, min(100*sum/tenDegrees, 100))
	}
	return seen
}

// Unseen reports whether it is known of a lamp that it is seen by what it lights alone: nobody
// in the house and no camera looks into it, however it is aimed, and it is not made to be seen.
func (s *Room) Unseen(lamp *Lamp) bool {
	b := lamp.Beam
	return s.HasAudience() && !SeenInAir(lamp.Purpose) && b != nil && b.Missing == "" && b.Column >= 0 && lamp.Missing == "" &&
		hiddenFrom(lamp, append(s.eyes(), s.houseEyes...)) && s.camerasStand()
}

// camerasStand reports whether every camera has its place.
func (s *Room) camerasStand() bool {
	return !slices.ContainsFunc(s.Rig.Show.Room.Cameras, func(c *schema.Camera) bool { return c.X == nil || c.Y == nil || c.Z == nil || isCarried(c) })
}

// hiddenFrom reports whether no eyes are before a lamp, and what it lights is described.
func hiddenFrom(lamp *Lamp, eyes []photometry.Vec) bool {
	return !shinesAt(lamp.Beam.frame, eyes) && lamp.Share*lamp.Beam.Landed >= landsPart*lamp.XYZ.Y
}

// shinesAt reports whether some eyes are before a lamp, so that they see it shine however it is aimed.
func shinesAt(f photometry.Frame, eyes []photometry.Vec) bool {
	for _, eye := range eyes {
		if r3.Dot(f.Forward, r3.Sub(eye, f.Position)) > 0 {
			return true
		}
	}
	return false
}

// cellsOf cuts all surfaces and the floor into cells, with the light of the lamps on each.
func (s *Room) cellsOf(lamps []*Lamp) (cells []cell) {
	for _, panel := range append(s.Panels[:len(s.Panels):len(s.Panels)], s.floor) {
		if panel == nil || panel.missing != "" {
			continue
		}
		across, down := cellsAlong(panel.Rect.Width), cellsAlong(panel.Rect.Height)
		grid, err := panel.Rect.Grid(across, down)
		if err != nil {
			continue
		}
		area, out := panel.Rect.Width*panel.Rect.Height/float64(across*down), reflects(panel.Surface)
		for _, r := range grid {
			c := cell{at: r.Point, normal: r.Normal, area: area}
			for _, lamp := range lamps {
				if lux, ok := lamp.Beam.Source.Coefficient(r); ok {
					c.light += out * lux * lamp.Share
				}
			}
			if c.light > 0 {
				cells = append(cells, c)
			}
		}
	}
	return cells
}

func cellsAlong(side float64) int { return int(max(1, min(math.Ceil(side/cellM), mostCells))) }

// onPeople reports whether the lamps light a face or shoulders as they light what is brightest, by lux.
func (s *Room) onPeople(lamps []*Lamp, part float64) bool {
	sums := map[int]float64{}
	brightest := 0.0
	for _, lamp := range lamps {
		s.Lights(lamp.Beam, func(receiver int, full float64) {
			sums[receiver] += full * lamp.Share
			brightest = max(brightest, sums[receiver])
		})
	}
	for _, sp := range s.Stands {
		for _, v := range sp.views {
			if max(sums[v.face], sums[v.shoulder]) >= part*brightest {
				return true
			}
		}
	}
	return false
}

// towards is the cosine under which an eye sees a cell, 0 from behind, how far away it is, and the way there.
func (c *cell) towards(eye photometry.Vec) (cos, far float64, way photometry.Vec) {
	way = r3.Sub(c.at, eye)
	if far = r3.Norm(way); !(far > 0) {
		return 1, cellM, way // it fills the eye
	}
	return max(0, -r3.Dot(c.normal, way)/far), far, way
}

// fixedView is the picture of a camera that stands and looks where the room says.
type fixedView struct {
	frame photometry.Frame
	half  float64 // of its width, a metre away
}

// fixedViews are those of all cameras, or what is missing of one: a camera that is carried about has none.
func (s *Room) fixedViews() (views []fixedView, lack string) {
	for _, c := range s.Rig.Show.Room.Cameras {
		view, lack := s.fixedView(c)
		if isCarried(c) {
			lack = noView
		}
		if lack != "" {
			return nil, lack
		}
		views = append(views, view)
	}
	if len(views) == 0 {
		return nil, noView
	}
	return views, ""
}

// noView is what is missing of a camera of which nobody knows what is in its picture.
const noView = "of each camera its position, its aim and its angle of view (view_deg)"

// fixedView is the picture that a camera has where the room says, also of one that is carried about: whoever tells its
// aim and its view tells what it is for.
func (s *Room) fixedView(c *schema.Camera) (view fixedView, lack string) {
	frame, ok := s.looking(c)
	if !ok || c.ViewDeg == nil || !(*c.ViewDeg > 0 && *c.ViewDeg < 180) {
		return view, noView
	}
	return fixedView{frame, math.Tan(*c.ViewDeg / 2 * degree)}, ""
}

// looking is where a camera stands and looks; ok is false where the room does not say.
func (s *Room) looking(c *schema.Camera) (frame photometry.Frame, ok bool) {
	if c.X == nil || c.Y == nil || c.Z == nil || c.AimedAt == nil {
		return frame, false
	}
	target, missing := s.target(c.AimedAt)
	frame, err := photometry.AimAt(photometry.Vec{X: *c.X, Y: *c.Y, Z: *c.Z}, target, 0)
	return frame, missing == "" && err == nil
}

// shoulderM is from the head to the side of a shoulder: people are about half a metre wide (from memory).
const shoulderM = 0.25

// has reports whether a part of somebody is between the left and the right edge of a part of the picture.
func (v *fixedView) has(head photometry.Vec, part float64) bool {
	way := r3.Sub(head, v.frame.Position)
	ahead := r3.Dot(way, v.frame.Forward)
	return ahead > 0 && math.Abs(r3.Dot(way, v.frame.Right)) <= part*ahead*v.half+shoulderM
}

// hasPartOf reports whether a part of a surface is between the left and the right edge of the picture.
func (v *fixedView) hasPartOf(rect photometry.Rect) bool {
	left, right := math.Inf(1), math.Inf(-1)
	for _, corner := range rect.Corners() {
		way := r3.Sub(corner, v.frame.Position)
		ahead := r3.Dot(way, v.frame.Forward)
		if !(ahead > 0) {
			return true // it goes on behind the camera
		}
		across := r3.Dot(way, v.frame.Right) / ahead
		left, right = min(left, across), max(right, across)
	}
	return left <= v.half && right >= -v.half
}

// isCarried reports whether a camera is moved about in the evening. A telephone of which somebody tells the aim stands.
func isCarried(c *schema.Camera) bool { return c.Role == "roaming" }

// part is the part of the picture that cells with at least so much light fill: of each what its area has a
// metre before the camera, area cos / far^2 over the cube of the cosine to the axis.
func (v *fixedView) part(cells []cell, least float64) float64 {
	sum := 0.0
	for _, c := range cells {
		if c.light < least {
			continue
		}
		cos, far, way := c.towards(v.frame.Position)
		ahead := r3.Dot(way, v.frame.Forward)
		if !(ahead > 0) || math.Abs(r3.Dot(way, v.frame.Right)) > ahead*v.half || math.Abs(r3.Dot(way, v.frame.Up)) > ahead*v.half*pictureHigh {
			continue
		}
		sum += c.area * cos * far / (ahead * ahead * ahead)
	}
	return min(sum/(4*v.half*v.half*pictureHigh), 1)
}
