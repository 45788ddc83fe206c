package colour

import (
	"cmp"
	"math"
	"slices"
)

// HueLimits are the choices in telling the hues of a look. All are common
// practice without a source, and can be changed.
type HueLimits struct {
	// A light is near-white if its OKLCh chroma, judged at luminance Y = 1, is
	// at most NearWhite; for scale, sRGB cyan has 0.17 and sRGB red 0.43.
	NearWhite float64
	// It is also near-white if it is a white by colour temperature: CCT from
	// LowestWhite to HighestWhite kelvin and abs(Duv) at most WhiteDuv. (Chroma
	// alone cannot tell: warm white of 3200 K has 0.13, a pastel pink 0.09.)
	// LowestWhite 0 switches this off.
	LowestWhite, HighestWhite, WhiteDuv float64
	// Width is the widest that one hue of a look may be, degrees, 0 to 180.
	Width float64
	// A hue is main if its share of the coloured light is at least Main, else
	// an accent if at least Accent, else a trace. 0 <= Accent <= Main <= 1.
	Main, Accent float64
}

// DefaultHueLimits returns limits for a stage with people and a camera.
func DefaultHueLimits() HueLimits {
	return HueLimits{
		NearWhite:   0.05,
		LowestWhite: 2400, HighestWhite: 10000, WhiteDuv: 0.010,
		Width: 30,
		Main:  0.20, Accent: 0.03,
	}
}

func (l HueLimits) valid() bool {
	return l.NearWhite >= 0 && l.LowestWhite >= 0 && l.HighestWhite >= 0 && l.WhiteDuv >= 0 &&
		l.Width >= 0 && l.Width <= 180 && l.Accent >= 0 && l.Main >= l.Accent && l.Main <= 1
}

func (l HueLimits) white(c XY, lch OKLCh) bool {
	if lch.C <= l.NearWhite {
		return true
	}
	if l.LowestWhite == 0 {
		return false
	}
	cct, duv, ok := CCT(c)
	return ok && cct >= l.LowestWhite && cct <= l.HighestWhite && math.Abs(duv) <= l.WhiteDuv
}

// Role is the part a hue plays in a look, by its share of the coloured light.
type Role int

// The roles, weakest first.
const (
	Trace Role = iota
	Accent
	Main
)

// HueGroup is one hue of a look: lights whose hues lie within Width degrees.
type HueGroup struct {
	Hue           float64 // mean OKLCh hue by lumens, degrees from 0 up to 360
	From, Span    float64 // the group begins at From and is Span degrees wide
	Share         float64 // of all light, white included
	ColouredShare float64 // of the coloured light
	Role          Role
	Lights        []int // indices, rising
}

// LookHues are the hues of a look.
type LookHues struct {
	Groups     []HueGroup // largest share first, then lowest hue
	White      []int      // indices of the near-white lights, rising
	WhiteShare float64    // of all light
	// Unknown are the indices of lights that no colour can be told of: a
	// negative or non-finite part, Y = 0 with other light, or no possible
	// chromaticity. They count nowhere else.
	Unknown []int
	Flux    float64 // the sum of Y over White and Groups
}

// Tint is what HuesOf needs to know of one light: its OKLCh hue, degrees from 0
// up to 360, whether it is near-white (and Hue means nothing), and its lumens.
type Tint struct {
	Hue   float64
	White bool
	Flux  float64
}

// hueGrain is the step that hues are rounded to, so that one colour at several
// levels is one hue.
const hueGrain = 1e-6 // degrees

// leastWeight is what a hue weighs at least in the making of groups, as a share
// of the coloured light, so that no mean is divided by nothing.
const leastWeight = 1e-12

// Tint returns the tint of a light. Its colour is judged at luminance Y = 1, so
// that hue and chroma do not depend on intensity. ok is false for darkness, a
// negative or non-finite part, Y = 0 and an impossible chromaticity.
func (l HueLimits) Tint(c XYZ) (tint Tint, ok bool) {
	xy, ok := c.XY()
	if !ok {
		return Tint{}, false
	}
	lch, ok := xy.OKLCh()
	if !ok {
		return Tint{}, false
	}
	if l.white(xy, lch) {
		return Tint{White: true, Flux: c.Y}, true
	}
	return Tint{Hue: wrapDegrees(math.Round(lch.H/hueGrain) * hueGrain), Flux: c.Y}, true
}

// HuesOfTints returns the hues of a look of tints. Those of no flux are unlit
// and left out; those whose flux is negative or not finite, or whose hue is not
// from 0 up to 360, are Unknown.
//
// Near-whites are set aside. The other hues, weighted by lumens, are divided on
// the circle into the fewest groups that are each at most Width wide, and among
// such divisions into the tightest (see arcs): exact, and independent of the
// order of the lights and of where 0 degrees is, except that equally good
// divisions, which only a symmetric set of hues has, go to the lowest hue. The
// fewest arcs, because "how many hues are on stage" is what is asked; joining
// neighbours instead would call a whole rainbow one hue.
//
// ok is false for limits out of their ranges and a sum of light that is not
// finite. No light at all gives an empty LookHues.
func HuesOfTints(tints []Tint, limits HueLimits) (look LookHues, ok bool) {
	if !limits.valid() {
		return LookHues{}, false
	}
	white, coloured := make([]tintAt, 0, 8), make([]tintAt, 0, len(tints))
	for i, tint := range tints {
		switch {
		case tint.Flux == 0:
		case !(tint.Flux > 0) || !finite(tint.Flux), !tint.White && !(tint.Hue >= 0 && tint.Hue < 360):
			look.Unknown = append(look.Unknown, i)
		case tint.White:
			white = append(white, tintAt{index: i, flux: tint.Flux})
			look.White = append(look.White, i)
		default:
			coloured = append(coloured, tintAt{i, tint.Hue, tint.Flux})
		}
	}

	// Summed in an order of the values, not of the lights, to the last bit.
	slices.SortFunc(white, tintAt.compare)
	slices.SortFunc(coloured, tintAt.compare)
	whiteFlux, colouredFlux := fluxOf(white), fluxOf(coloured)
	look.Flux = whiteFlux + colouredFlux
	if !finite(look.Flux) {
		return LookHues{}, false
	}
	if whiteFlux > 0 {
		look.WhiteShare = whiteFlux / look.Flux
	}

	// One point on the circle for each distinct hue; starts[i] is its first light.
	var hues []hueWeight
	var starts []int
	for i, light := range coloured {
		if i == 0 || light.hue != coloured[i-1].hue {
			hues = append(hues, hueWeight{hue: light.hue})
			starts = append(starts, i)
		}
		hues[len(hues)-1].weight += light.flux / colouredFlux
	}
	starts = append(starts, len(coloured))
	indices := make([]int, 0, len(coloured)) // of all groups
	for i := range hues {
		hues[i].weight = max(hues[i].weight, leastWeight)
	}

	for _, a := range arcs(hues, limits.Width) {
		group := HueGroup{From: hues[a.first].hue}
		var flux, weight, moment float64
		count := 0
		for k := range a.count {
			at := (a.first + k) % len(hues)
			h := hues[at]
			beyond := wrapDegrees(h.hue - group.From)
			weight += h.weight
			moment += h.weight * beyond
			group.Span = beyond
			members := coloured[starts[at]:starts[at+1]]
			flux += fluxOf(members)
			for _, light := range members {
				indices = append(indices, light.index)
			}
			count += len(members)
		}
		group.Lights = indices[len(indices)-count : len(indices) : len(indices)]
		slices.Sort(group.Lights)
		group.Hue = wrapDegrees(group.From + moment/weight)
		group.Share = flux / look.Flux
		group.ColouredShare = flux / colouredFlux
		switch {
		case inSteps(group.ColouredShare) >= inSteps(limits.Main):
			group.Role = Main
		case inSteps(group.ColouredShare) >= inSteps(limits.Accent):
			group.Role = Accent
		}
		look.Groups = append(look.Groups, group)
	}
	slices.SortFunc(look.Groups, func(a, b HueGroup) int {
		return cmp.Or(cmp.Compare(inSteps(b.ColouredShare), inSteps(a.ColouredShare)), cmp.Compare(a.Hue, b.Hue))
	})
	return look, true
}

// inSteps is a share in billionths: two groups that are equal but for the last bit of a sum
// stay equal, and one that is exactly at a limit is at it.
func inSteps(share float64) float64 { return math.Round(share * 1e9) }

// tintAt is a tint and the index of its light.
type tintAt struct {
	index     int
	hue, flux float64
}

func (a tintAt) compare(b tintAt) int {
	if a.hue != b.hue {
		return cmp.Compare(a.hue, b.hue)
	}
	if a.flux != b.flux {
		return cmp.Compare(a.flux, b.flux)
	}
	return a.index - b.index
}

func fluxOf(tints []tintAt) (sum float64) {
	for _, tint := range tints {
		sum += tint.flux
	}
	return sum
}
