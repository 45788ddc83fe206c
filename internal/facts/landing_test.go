package facts

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"gonum.org/v1/gonum/spatial/r3"
)

// onSurface follows rays of a beam, evenly round its axis, to a surface: the lumens that land there, and the light
// where it is brightest, of what rays find and what lies along the sides. It shares nothing with what is tested but the
// intensity and where a ray meets a rectangle.
func onSurface(s photometry.Source, light photometry.Distribution, r photometry.Rect, reachDeg float64) (lumens, peak float64) {
	const turns, steps, along = 120, 200, 1000
	frame, normal := s.Frame(), r.Normal()
	at := func(x, z float64) photometry.Vec { // of half the sides
		return photometry.Vec{X: r.Centre.X + x*r.Width/2, Y: r.Centre.Y, Z: r.Centre.Z + z*r.Height/2}
	}
	farthest := 0.0
	for _, corner := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		theta, _, _, _ := frame.Direction(at(corner[0], corner[1]))
		farthest = max(farthest, theta)
	}
	step := min(reachDeg, farthest, 89.9) / steps * math.Pi / 180
	for i := range steps {
		theta := (float64(i) + 0.5) * step
		candela, _ := light.Candela(theta*180/math.Pi, 0)
		sin, cos := math.Sincos(theta)
		for k := range turns {
			across, up := math.Sincos(2 * math.Pi * (float64(k) + 0.5*float64(i%2)) / turns)
			way := r3.Add(r3.Scale(cos, frame.Forward), r3.Add(r3.Scale(sin*across, frame.Right), r3.Scale(sin*up, frame.Up)))
			if _, far, front, ok := r.Hit(frame.Position, way); ok && front {
				lumens += candela * sin * step * 2 * math.Pi / turns
				peak = max(peak, candela*-r3.Dot(way, normal)/(far*far))
			}
		}
	}
	for i := range along {
		x := 2*(float64(i)+0.5)/along - 1
		for _, p := range []photometry.Vec{at(x, -1), at(x, 1), at(-1, x), at(1, x)} {
			theta, phi, far, _ := frame.Direction(p)
			candela, _ := light.Candela(theta, phi)
			peak = max(peak, candela*-r3.Dot(r3.Sub(p, frame.Position), normal)/(far*far*far))
		}
	}
	return lumens, peak
}

// TestBeamsOnSurfaces sweeps beams of 2 to 60 degrees over surfaces of 2 to 15 m, straight, slantwise and steep, aimed at
// the middle, near the edge, at the edge, at a corner and past it: mean and peak on the screen, what the lamp counts by, and
// the output of its look are within 5 % of what rays find.
func TestBeamsOnSurfaces(t *testing.T) {
	const within = 0.05
	sizes := [][2]float64{{15, 3}, {2, 2}, {4, 2.25}, {10, 6}, {15, 15}}
	whole := os.Getenv("CUEPROOF_LONG") != ""
	if !whole {
		sizes = sizes[:1] // a second for each
	}
	for _, size := range sizes {
		wide, high := size[0], size[1]
		screen := photometry.Rect{Centre: photometry.Vec{Z: 8}, Width: wide, Height: high}
		for name, from := range map[string]photometry.Vec{
			"straight": {Y: -6, Z: 8}, "near": {X: 0.3 * wide, Y: -2.5, Z: 8.2}, "slantwise": {X: 7, Y: -5, Z: 9}, "steep": {X: -1, Y: -1.5, Z: 8 + high/2 + 3},
		} {
			if !whole && (name == "near" || name == "slantwise") {
				continue
			}
			type throw struct {
				source photometry.Source
				light  photometry.Distribution
				field  float64
			}
			var throws []throw
			var types, patch, cues []string
			for _, beam := range []float64{2, 3, 5, 8, 12, 20, 35, 60} {
				field := 1.5 * beam
				light, err := photometry.NewBeamFromFlux(beam, field, 1000)
				if err != nil {
					t.Fatal(err)
				}
				types = append(types, fmt.Sprintf(`{"name": "lamp %g", "source": "white-led", "white_k": 5600, "dimmer_curve": "linear", "beam_deg": %g, "field_deg": %g, "flux_lm": 1000}`, beam, beam, field))
				for _, aim := range [][2]float64{{0, 0}, {0.37, -0.21}, {0.5, 0}, {-0.5, 0.5}, {-0.53, 0.1}} {
					n := len(patch) + 1
					at := photometry.Vec{X: aim[0] * wide, Z: 8 + aim[1]*high}
					frame, _ := photometry.AimAt(from, at, 0)
					source, err := photometry.NewSource(frame, light, photometry.Cuts{})
					if err != nil {
						t.Fatal(err)
					}
					throws = append(throws, throw{source, light, field})
					patch = append(patch, fmt.Sprintf(`{"channel": %d, "type": "lamp %g", "purpose": "key", "hung_at": {"x": %g, "y": %g, "z": %g}, "aimed_at": {"x": %g, "y": %g, "z": %g}}`, n, beam, from.X, from.Y, from.Z, at.X, at.Y, at.Z))
					cues = append(cues, fmt.Sprintf(`{"cue": %d, "people": ["steps"], "set": [{"channels": "all", "level": 0}, {"channels": "%d", "level": 100}]}`, n, n))
				}
			}
			inRoom := func(patch, cues []string) *Measured {
				return measured(readShow(t, fmt.Sprintf(`{"room": {"surfaces": [{"name": "wall", "kind": "projection", "gain": 1, "projector_lm": 5000, "drive_pct": 100, "centre": {"x": 0, "y": 0, "z": 8}, "width_m": %g, "height_m": %g}],
"places": [{"name": "steps", "x": 0, "y": -60, "head_m": 1.6}]}, "types": [%s], "patch": [%s], "cues": [%s]}`, wide, high, strings.Join(types, ","), strings.Join(patch, ","), strings.Join(cues, ","))))
			}
			m := inRoom(patch, cues)
			var known, called []string // the lamps that are not for something else
			var landed []float64
			sum := 0.0
			for i, throw := range throws {
				lumens, peak := onSurface(throw.source, throw.light, screen, 2*throw.field)
				where := fmt.Sprintf("%g x %g m, %s, field of %g degrees, lamp %d", wide, high, name, throw.field, i+1)
				s := m.Showings[i]
				if mean := lumens / (wide * high); !isNear(s.SpillLux, mean, within*mean) {
					t.Errorf("%s: %s lx on average, rays find %.4g", where, factText(s.SpillLux), mean)
				}
				if want := 100 * peak / (math.Pi * *s.White); !isNear(s.PeakPct, want, within*want) {
					t.Errorf("%s: %s %% of white at the brightest, rays find %.4g", where, factText(s.PeakPct), want)
				}
				if lumens > 120 { // of 1,000
					known, called, landed, sum = append(known, patch[i]), append(called, cues[i]), append(landed, lumens), sum+lumens
				}
			}
			m = inRoom(known, called)
			if m.Show.OutputBasis != "arriving" {
				t.Fatalf("%g x %g m, %s: counted by what is %s%s", wide, high, name, m.Show.OutputBasis, m.Show.BasisNote)
			}
			for i, lumens := range landed {
				if want := 100 * lumens / sum; !isNear(m.Looks[i].OutputPct, want, within*want) {
					t.Errorf("%g x %g m, %s, lamp %s: %s %% of all, rays find %.4g", wide, high, name, m.Looks[i].Number, factText(m.Looks[i].OutputPct), want)
				}
			}
		}
	}
}
