package facts

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// measureHues tells the hues of the look from the light of its lamps, filaments
// and other whites set aside. Lamps count by the light that arrives, see
// [scene.arriving].
func (l *Look) measureHues(s *scene) {
	facts := []string{"palette_apart_deg", "red_is_main", "coloured_count", "main_hue_count", "accent_hue_count", "hue_names", "odd_channels_text", "nearest_kept_hue_deg"}
	lamps := s.coloured[:0]
	for _, lamp := range l.lamps {
		if lamp.light.missing != "" {
			for _, fact := range facts {
				l.lacks(fact, lamp.light.missing)
			}
			continue
		}
		if lamp.Coloured != nil && *lamp.Coloured {
			lamps = append(lamps, lamp)
		}
	}
	s.coloured = lamps
	if len(l.Why("coloured_count")) > 0 {
		return
	}
	coloured := len(lamps)
	lumens, landed := s.arriving(l, lamps)
	// Lamps side by side that shine alike are one tint.
	tints, firsts := s.tints[:0], s.firsts[:0]
	for i, lamp := range lamps {
		flux := lamp.light.xyz.Y
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
	l.Coloured = &coloured
	hues, ok := colour.HuesOfTints(tints, hueLimits)
	if !ok {
		for _, fact := range facts {
			l.lacks(fact, fmt.Sprintf("light in cue %s that can be added up", l.Number))
		}
		return
	}
	main, accent := 0, 0
	var names []string
	var mains []float64
	for _, group := range hues.Groups {
		odd := false
		switch group.Role {
		case colour.Main:
			main++
			odd = main > 2
			mains = append(mains, group.Hue)
		case colour.Accent:
			accent++
			odd = accent > 1
		default:
			continue // a trace that nobody sees
		}
		if name, ok := colour.HueFamily(group.Hue); ok {
			names = append(names, name)
		}
		if odd {
			for _, index := range group.Lights {
				l.OddLamps = append(l.OddLamps, lamps[firsts[index]:firsts[index+1]]...)
			}
		}
	}
	l.MainHues, l.AccentHues = &main, &accent
	l.comparePalette(mains)
	l.RedMain = known(false)
	for _, hue := range mains {
		if name, _ := colour.HueFamily(hue); name == "red" {
			l.RedMain = known(true)
		}
	}
	l.HueNames = known(joinWords(names))
	l.OddText = known(channelsOf(l.OddLamps))
	if len(hues.Groups) > 0 {
		if wheel, ok := colour.WheelHue(hues.Groups[0].Hue); ok {
			l.NearestHue = &wheel
		}
	} else {
		l.lacks("nearest_kept_hue_deg", fmt.Sprintf("a colour in cue %s", l.Number))
	}
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
func (s *scene) arriving(look *Look, lamps []*Lamp) (lumens []float64, ok bool) {
	if s.transport == nil {
		return nil, false
	}
	var bodies [][]float64
	if segment := look.look.Segment; segment != nil {
		for _, name := range segment.People {
			if sp := s.spot(name); sp != nil && sp.body != nil {
				bodies = append(bodies, sp.body)
			}
		}
	}
	s.lumens = slices.Grow(s.lumens[:0], len(lamps))[:len(lamps)]
	lumens = s.lumens
	for i, lamp := range lamps {
		emitted := lamp.light.xyz.Y
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

// paletteHues are the hues of the segment's on-screen palette. Greys ask for no
// hue; what is grey is told by chroma alone, because a picture has no white
// balance of lamps: #ffa500 is a colour on a screen and nearly white as a lamp.
func (l *Look) paletteHues() []float64 {
	limits := hueLimits
	limits.LowestWhite = 0
	var hues []float64
	if segment := l.look.Segment; segment != nil {
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

// comparePalette finds the main hue that is farthest from every colour of the
// segment's on-screen palette.
func (l *Look) comparePalette(mains []float64) {
	hues := l.paletteHues()
	if len(hues) == 0 {
		l.lacks("palette_apart_deg", fmt.Sprintf("an on-screen palette with a colour for the segment of cue %s", l.Number))
		return
	}
	worst := 0.0
	for _, hue := range mains {
		nearest := 180.0
		for _, wanted := range hues {
			nearest = min(nearest, colour.HuesApart(hue, wanted))
		}
		if nearest > worst {
			worst = nearest
			l.OffHue, _ = colour.HueFamily(hue)
		}
	}
	l.PaletteApart = &worst
}

// systems are the purposes that count as systems of a stage rig.
var systems = []string{"key", "fill", "back", "side", "top", "wash", "beam", "effect"}

// measureSystems tells which systems of the rig are lit, and which lamps run
// through hues.
// The lamps to stop are those whose effect starts here, or comes from a look
// (before, nil for the first) that says what it is for.
func (l *Look) measureSystems(r *rig, before *Look) {
	if l.look.Segment != nil {
		l.SegmentPurpose = l.look.Segment.Purpose
	}
	lit := 0 // a bit for each system
	var sweeping []int
	for _, lamp := range l.lamps {
		if lamp.system >= 0 {
			lit |= 1 << lamp.system
		}
		if rest := lamp.state.Rest; rest != nil && rest.Effect != nil && (rest.Effect.Kind == "hue-sweep" || rest.Effect.Kind == "rainbow") {
			if before == nil || rest.By.Look == l.look.Index || before.Purpose != "" || before.SegmentPurpose != "" {
				l.SweepLamps = append(l.SweepLamps, lamp)
			}
			sweeping = append(sweeping, lamp.Channel)
		}
	}
	l.SweepCount, l.SweepText = len(sweeping), schema.FormatChannels(sweeping)
	l.SystemsLit, l.Systems = bits.OnesCount(uint(lit)), r.systems
	l.HasPalette = len(l.paletteHues()) > 0
}

// joinWords writes words as people list them: "red, amber and blue".
func joinWords(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
