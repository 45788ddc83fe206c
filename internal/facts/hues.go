package facts

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// lookHues are the hues of a look, filaments and other whites set aside. Lamps
// count by the light that arrives, see [scene.arriving].
type lookHues struct {
	lamps   int          // lit lamps whose light is a colour
	ok      bool         // the light can be added up, so the rest is known
	any     bool         // there is a hue
	largest float64      // the hue with the most light, OKLCh degrees
	mains   []float64    // hues that carry a large share, largest first
	accents int          // hues that carry a small share
	names   []string     // both, in words
	odd     []*stageLamp // the lamps of the hues beyond two main ones and one accent
}

// huesOf tells the hues of a look from the light of its lamps, or what is missing.
func (s *scene) huesOf(look *stageLook) (h lookHues, missing []string) {
	lamps := s.coloured[:0]
	for _, lamp := range look.lamps {
		if lamp.missing != "" {
			missing = addMissing(missing, lamp.missing)
		} else if lamp.Coloured != nil && *lamp.Coloured {
			lamps = append(lamps, lamp)
		}
	}
	s.coloured = lamps
	if len(missing) > 0 {
		return h, missing
	}
	lumens, landed := s.arriving(look, lamps)
	// Lamps side by side that shine alike are one tint.
	tints, firsts := s.tints[:0], s.firsts[:0]
	for i, lamp := range lamps {
		flux := lamp.xyz.Y
		if landed {
			flux = lumens[i]
		}
		if i > 0 && lamp.shine == lamps[i-1].shine {
			tints[len(tints)-1].Flux += flux
			continue
		}
		tints = append(tints, colour.Tint{Hue: lamp.tint.Hue, Flux: flux})
		firsts = append(firsts, i)
	}
	firsts = append(firsts, len(lamps))
	s.tints, s.firsts = tints, firsts
	h.lamps = len(lamps)
	hues, ok := colour.HuesOfTints(tints, hueLimits)
	if !ok {
		return h, nil
	}
	h.ok = true
	for i, group := range hues.Groups {
		if i == 0 {
			h.any, h.largest = true, group.Hue
		}
		odd := false
		switch group.Role {
		case colour.Main:
			h.mains = append(h.mains, group.Hue)
			odd = len(h.mains) > 2
		case colour.Accent:
			h.accents++
			odd = h.accents > 1
		default:
			continue // a trace that nobody sees
		}
		if name, ok := colour.HueFamily(group.Hue); ok {
			h.names = append(h.names, name)
		}
		if odd {
			for _, index := range group.Lights {
				h.odd = append(h.odd, lamps[firsts[index]:firsts[index+1]]...)
			}
		}
	}
	return h, nil
}

// What counts as light that arrives.
const (
	// bodyArea is what a person shows to the light of each of two planes, the face
	// and the shoulders, in square metres. Common practice, no source.
	bodyArea = 0.5
	// leastLanded is the part of a lamp's light that has to land on something that
	// the room describes: with less, what it is for is not described. Common
	// practice, no source.
	leastLanded = 0.1
)

// arriving is what coloured lamps count by in the hues of a look: the lumens that
// land on the people of the look, and those that land on surfaces and the stage
// floor times the part of each that shows towards the cameras, whatever it
// reflects. (A floor that a camera sees from the side shows little of itself.)
// Beams and effects are seen in the air and count by all the light that leaves
// them. ok is false if that cannot be told of each lamp, or if nearly all the
// light of one lands on nothing that the room describes; then all count by the
// light that leaves them.
func (s *scene) arriving(look *stageLook, lamps []*stageLamp) (lumens []float64, ok bool) {
	if s.transport == nil {
		return nil, false
	}
	var bodies [][]float64
	for _, name := range look.people() {
		if sp := s.spot(name); sp != nil && sp.body != nil {
			bodies = append(bodies, sp.body)
		}
	}
	s.lumens = slices.Grow(s.lumens[:0], len(lamps))[:len(lamps)]
	lumens = s.lumens
	for i, lamp := range lamps {
		emitted := lamp.xyz.Y
		lumens[i] = emitted
		if lamp.Purpose == "beam" || lamp.Purpose == "effect" {
			continue
		}
		b := s.beamOfLamp(lamp)
		if b.missing != "" {
			return nil, false
		}
		people := 0.0
		for _, body := range bodies {
			people += body[b.column]
		}
		if lamp.share*(b.landed+people) < leastLanded*emitted {
			return nil, false
		}
		lumens[i] = min(lamp.share*(b.shown+people), emitted) // the grid of a surface is coarse
	}
	return lumens, true
}

// addUp sums what arrives of each column on every surface and person.
func (s *scene) addUp() {
	canvases := s.screens
	if s.floor != nil {
		canvases = append(slices.Clone(canvases), s.floor)
	}
	for _, c := range canvases {
		if c.missing != "" {
			continue
		}
		c.mean = make([]float64, len(s.columns))
		count := float64(c.last - c.first)
		cell := c.rect.Width * c.rect.Height / count
		for receiver := c.first; receiver < c.last; receiver++ {
			shown := cell * s.shown(s.receivers[receiver])
			s.transport.Row(receiver, func(column int, lux float64) {
				c.mean[column] += lux / count
				s.columns[column].landed += lux * cell
				s.columns[column].shown += lux * shown
			})
		}
	}
	for _, sp := range s.spots {
		if len(sp.views) == 0 {
			continue
		}
		sp.body = make([]float64, len(s.columns))
		for _, plane := range []func(v view) int{
			func(v view) int { return v.face },
			func(v view) int { return v.shoulder },
		} {
			most := make([]float64, len(s.columns)) // of the camera that sees most of it
			for _, v := range sp.views {
				s.transport.Row(plane(v), func(column int, lux float64) { most[column] = max(most[column], lux) })
			}
			for column, lux := range most {
				sp.body[column] += bodyArea * lux
			}
		}
	}
}

// shown is the part of a plane that shows towards the cameras: the cosine between
// its normal and the way to the camera, on average; all of it where no camera has
// a position.
func (s *scene) shown(r photometry.Receiver) float64 {
	eyes := s.eyes()
	if len(eyes) == 0 {
		return 1
	}
	sum := 0.0
	for _, eye := range eyes {
		way := r3.Sub(eye, r.Point)
		if far := r3.Norm(way) * r3.Norm(r.Normal); far > 0 && !math.IsInf(far, 0) {
			sum += max(0, r3.Dot(way, r.Normal)/far)
		}
	}
	return sum / float64(len(eyes))
}

// eyes are the positions of the cameras.
func (s *scene) eyes() []photometry.Vec {
	var eyes []photometry.Vec
	for _, camera := range s.rig.show.Room.Cameras {
		if camera.X != nil && camera.Y != nil && camera.Z != nil {
			eyes = append(eyes, photometry.Vec{X: *camera.X, Y: *camera.Y, Z: *camera.Z})
		}
	}
	return eyes
}

// paletteHues are the hues of a segment's on-screen palette. Greys ask for no
// hue; what is grey is told by chroma alone, because a picture has no white
// balance of lamps: #ffa500 is a colour on a screen and nearly white as a lamp.
func paletteHues(segment *schema.Segment) []float64 {
	limits := hueLimits
	limits.LowestWhite = 0
	var hues []float64
	if segment != nil {
		for _, hex := range segment.Palette {
			xyz, err := colour.HexXYZ(hex)
			if err != nil {
				continue
			}
			if tint, ok := limits.Tint(xyz); ok && !tint.White {
				hues = append(hues, tint.Hue)
			}
		}
	}
	return hues
}

// paletteApart finds of the main hues the one that is farthest from every hue of a
// palette, and by how many degrees.
func paletteApart(mains, palette []float64) (deg, hue float64) {
	for _, main := range mains {
		nearest := 180.0
		for _, wanted := range palette {
			nearest = min(nearest, colour.HuesApart(main, wanted))
		}
		if nearest > deg {
			deg, hue = nearest, main
		}
	}
	return deg, hue
}

// systems are the purposes that count as systems of a stage rig.
var systems = []string{"key", "fill", "back", "side", "top", "wash", "beam", "effect"}

// systemsLit counts the systems of the rig that have a lamp that is lit.
func (l *stageLook) systemsLit() int {
	lit := 0 // a bit for each system
	for _, lamp := range l.lamps {
		if lamp.system >= 0 {
			lit |= 1 << lamp.system
		}
	}
	return bits.OnesCount(uint(lit))
}

// sweeping lists the lamps that run through hues by an effect.
func (l *stageLook) sweeping() []*stageLamp {
	var list []*stageLamp
	for _, lamp := range l.lamps {
		if rest := lamp.state.Rest; rest != nil && rest.Effect != nil && (rest.Effect.Kind == "hue-sweep" || rest.Effect.Kind == "rainbow") {
			list = append(list, lamp)
		}
	}
	return list
}
