package stage

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
)

// Spill is the light of a look on a surface, in lux on average.
type Spill struct {
	Total float64 // of all lamps and of the ambient light
	Hall  float64 // the ambient light in it
	Keys  float64 // of the lamps for faces: key and fill
	Worst *Lamp   // the one of these that gives most; nil if none does
	Peak  float64 // of one of these where it is brightest
}

// OnScreen is the part of the ambient light at faces that falls on a screen: it hangs
// higher and farther back, away from windows and what lights the front. It may be a half
// of that, or all of the light at faces. Common practice, no source.
const OnScreen = 0.5

// SpillOn works out the light of a look on a surface, or says what is missing, as
// [Room.Light] did for the look.
func (s *Room) SpillOn(look *LookLight, c *Panel, missing []string) (sp Spill, lack []string) {
	if c.missing != "" {
		missing = append(slices.Clone(missing), c.missing)
	}
	if len(missing) > 0 {
		return sp, missing
	}
	sp.Hall = OnScreen * s.Rig.AmbientAt(look, "").Lux
	sp.Total = sp.Hall
	worst := 0.0
	for _, lamp := range look.Lamps { // in the order of the patch, so that ties are settled
		lux := c.Mean[lamp.Beam.Column] * lamp.Share
		sp.Total += lux
		if lamp.Purpose != "key" && lamp.Purpose != "fill" {
			continue
		}
		sp.Keys += lux
		if lux > 0 {
			sp.Peak = max(sp.Peak, lamp.Share*s.peakOn(c, lamp.Beam))
		}
		if Clearly(lux, worst) {
			worst, sp.Worst = lux, lamp
		}
	}
	return sp, nil
}

// peakOn is the light of a beam at full where it is brightest on a surface, in lux.
func (s *Room) peakOn(c *Panel, b *Beam) float64 {
	key := landingKey{b.key(), c.Rect}
	if known, done := s.peaks.Load(key); done {
		return known.(float64)
	}
	peak, ok := b.Source.PeakOn(c.Rect)
	if !ok {
		peak = c.Mean[b.Column]
	}
	s.peaks.Store(key, peak)
	return peak
}

// PartsOn is what each lamp of a look gives to a surface, without the ambient light; ok
// is false if the surface has no place.
func (s *Room) PartsOn(look *LookLight, c *Panel) (list []Part, ok bool) {
	if c.missing != "" {
		return nil, false
	}
	for _, lamp := range look.Lamps {
		if lux := c.Mean[lamp.Beam.Column] * lamp.Share; lux > 0 {
			list = append(list, Part{lamp.Fixture, lux, lamp.Coloured == nil || *lamp.Coloured})
		}
	}
	return list, true
}

// deepestContrast stands for a black that no light reaches: beyond any screen of
// today. Common practice, no source.
const deepestContrast = 1_000_000

// Matt is the part of the light on a screen that it reflects.
func Matt(surface *schema.Surface) float64 {
	if surface.Kind != "projection" {
		return reflectance(surface)
	}
	if surface.Gain != nil {
		return *surface.Gain
	}
	return 1
}

// What an LED wall reflects of the light on it where nobody says: 5 %, and not less than
// 2 nor more than 10. Common practice, no source.
const (
	usualWall = 0.05
	leastWall = 0.02
	mostWall  = 0.10
)

// Paled is the light of a lamp on a screen as a part of the screen's own white, in
// percent: how far black turns grey. Where nobody says what an LED wall reflects, usual
// is worked out with what they mostly do, between low and high.
func Paled(surface *schema.Surface, white, lux float64) (usual, low, high float64) {
	if !(white > 0) {
		return 0, 0, 0
	}
	per := 100 * lux / (math.Pi * white)
	if surface.Kind == "emissive" && surface.Reflectance == nil && surface.Gain == nil {
		return per * usualWall, per * leastWall, per * mostWall
	}
	usual = per * Matt(surface)
	return usual, usual, usual
}

// ContrastOf is the image contrast of a screen whose white has a luminance under a
// light, or what is missing: (white + ambient) / (black + ambient).
func ContrastOf(surface *schema.Surface, white, lux float64) (ratio float64, lack string) {
	added, ok := photometry.LambertianLuminance(lux, Matt(surface))
	if surface.Kind == "emissive" && surface.Reflectance == nil || !ok {
		return 0, fmt.Sprintf("the reflectance of the screen %q", surface.Name)
	}
	if added == 0 && surface.BlackCdM2 == nil && white > 0 {
		return deepestContrast, "" // nothing lightens a black that nobody measured
	}
	if ratio, ok := photometry.ContrastRatio(white, min(Value(surface.BlackCdM2), white), added); ok {
		return ratio, ""
	}
	return 0, fmt.Sprintf("the black luminance of the screen %q", surface.Name)
}

// CutFor finds the shutter of a lamp that clears a surface of its light and leaves
// what it is aimed at lit, and how deep it goes, in whole percent of the picture.
func (s *Room) CutFor(c *Panel, lamp *Lamp) (side string, pct float64, ok bool) {
	b := lamp.Beam
	target, missing := s.target(lamp.Aim())
	if missing != "" || b.field <= 0 {
		return "", 0, false
	}
	key := landingKey{b.key(), c.Rect}
	known, done := s.cuts.Load(key)
	if !done { // the target is on the axis, wherever that is
		known, _ = s.cuts.LoadOrStore(key, cutOf(c.Rect, b, target))
	}
	found := known.(cut)
	return found.side, found.pct, found.ok
}

// cut is a shutter and how deep it goes; ok is false where none does.
type cut struct {
	side string
	pct  float64
	ok   bool
}

func cutOf(rect photometry.Rect, b *Beam, target photometry.Vec) cut {
	grid, err := rect.Grid(SamplesAcross, SamplesDown)
	if err != nil {
		return cut{}
	}
	points := make([]photometry.Vec, len(grid))
	for i, receiver := range grid {
		points[i] = receiver.Point
	}
	clear, ok1 := b.frame.Image(b.field, points)
	keep, ok2 := b.frame.Image(b.field, []photometry.Vec{target})
	if !ok1 || !ok2 {
		return cut{}
	}
	// Only what the beam reaches has to be cleared.
	var reached []photometry.ImagePoint
	for _, p := range clear {
		if p.Ahead && math.Hypot(p.X, p.Y) <= 2 {
			reached = append(reached, p)
		}
	}
	side, depth, ok := photometry.SmallestCut(reached, keep)
	return cut{string(side), math.Ceil(depth / 2), ok}
}
