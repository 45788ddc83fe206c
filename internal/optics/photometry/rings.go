package photometry

import (
	"math"
	"sync"
)

// round is a distribution that is alike all round its axis. It is known by u = 1 - cos t, as solid angle is.
type round interface {
	Distribution
	around(u float64) (candela float64)
	// darkness is the u beyond which it gives less than a part of what it gives on its axis.
	darkness(part float64) (u float64)
	rings() *rings
}

// ringSteps is how finely a round beam is cut. The straight line between two of them is off by less than a thousandth
// of what lies there.
const ringSteps = 256

// rings is how much of the flux of a round distribution lies within an angle of its axis. It is added up when it is first
// asked for; those who share a distribution share it. What lies where it gives next to nothing counts as lying within.
type rings struct {
	once   sync.Once
	reach  float64 // radians: where the beam ends
	within [ringSteps + 1]float64
}

func (g *rings) fill(light round) {
	g.once.Do(func() {
		g.reach = 2 * math.Asin(math.Sqrt(min(1, light.darkness(patchDark)/2)))
		for i := range ringSteps {
			inner, outer := g.reach*float64(i)/ringSteps, g.reach*float64(i+1)/ringSteps
			g.within[i+1] = g.within[i] + (versineOf(outer)-versineOf(inner))*light.around(versineOf((inner+outer)/2))
		}
		scale := light.Flux() / g.within[ringSteps]
		for i := range g.within {
			g.within[i] *= scale
		}
	})
}

// lumens is the flux within an angle of the axis, in radians.
func (g *rings) lumens(theta float64) float64 {
	place := theta / g.reach * ringSteps
	i := min(int(place), ringSteps-1)
	return g.within[i] + min(1, place-float64(i))*(g.within[i+1]-g.within[i])
}
