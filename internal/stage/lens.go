package stage

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Standing is where a fixture is as seen from the place that it is aimed at.
type Standing struct {
	Place   string
	Bearing photometry.Bearing
	Role    photometry.Role
}

// StandingOf works out where a fixture is as seen from the place that it is aimed
// at, or what is missing. The main camera decides, or the first where none is called so: cameras
// stand close together as seen from a lamp. Common practice, no source.
func (s *Room) StandingOf(f *schema.Fixture) (st Standing, lack string) {
	switch {
	case f.HungAt == nil:
		return st, fmt.Sprintf("where the fixture on channel %d hangs", f.Channel)
	case f.AimedAt == nil || f.AimedAt.Name == "" || s.Stand(f.AimedAt.Name) == nil:
		return st, fmt.Sprintf("a place that the fixture on channel %d is aimed at", f.Channel)
	}
	sp := s.Stand(f.AimedAt.Name)
	if sp.missing != "" || sp.house || len(sp.views) == 0 {
		return st, "the cameras of the room, with x, y and z of each"
	}
	from := max(0, slices.IndexFunc(sp.views, func(v View) bool { return v.camera.Role == "main" }))
	bearing, ok := photometry.BearingOf(vec(f.HungAt), sp.head, sp.views[from].eye)
	if !ok {
		return st, fmt.Sprintf("a position of the fixture on channel %d that is not on the person", f.Channel)
	}
	role, _ := photometry.RoleByGeometry(bearing)
	return Standing{f.AimedAt.Name, bearing, role}, ""
}

// IntoLens is how much of a beam goes into a lens: the intensity towards the lens that
// gets most of it, as percent of that on its axis, in the aims that the looks use; or
// what is missing. A lens sees nothing of a lamp behind a cloth, wall or screen, and its
// hood keeps off what comes from far beside the picture.
func (s *Room) IntoLens(f *schema.Fixture) (pct float64, camera string, missing []string) {
	phrase := fmt.Sprintf("where the fixture on channel %d hangs and is aimed, its beam, and the positions of the cameras", f.Channel)
	if s.Rig.Show.Room == nil || s.Transport == nil {
		return 0, "", []string{phrase}
	}
	pct = -1.0
	for _, b := range s.byFixture[f] {
		if !b.used {
			continue
		}
		if b.Missing != "" {
			missing = AddMissing(missing, b.Missing)
			continue
		}
		peak, ok := b.Source.CandelaTowards(along(b.frame))
		for _, c := range s.lenses() {
			if c.X == nil || c.Y == nil || c.Z == nil || !ok || peak <= 0 {
				missing = AddMissing(missing, phrase)
				continue
			}
			eye := photometry.Vec{X: *c.X, Y: *c.Y, Z: *c.Z}
			candela, ok := b.Source.CandelaTowards(eye)
			if ok && (candela < leastGlareLx*r3.Norm2(r3.Sub(eye, b.frame.Position)) || s.besideLens(c, b.frame.Position) || s.covered(b.frame.Position, eye)) {
				candela = 0
			}
			if ok && 100*candela/peak > pct {
				pct, camera = 100*candela/peak, c.Name
			}
		}
	}
	if len(missing) == 0 && pct < 0 {
		missing = []string{phrase}
	}
	return pct, camera, missing
}

// lenses are the cameras into whose lens no light may shine: not the telephones beside others, which nobody puts into the
// stream, and not those that wander, which nobody holds into a beam for long.
func (s *Room) lenses() []*schema.Camera {
	all := s.Rig.Show.Room.Cameras
	beside := func(c *schema.Camera) bool { return c.Role == "phone" || s.wanders(c) }
	if list := slices.DeleteFunc(slices.Clone(all), beside); len(list) > 0 {
		return list
	}
	return all
}

// What keeps a lens from turning milky: the light of a lamp farther beside the edge of the picture than its hood lets in, in
// degrees; the view of a camera of which nobody tells it; and the light at the lens, in lux, under which a lamp is just seen.
const (
	hoodDeg      = 25
	usualViewDeg = 70
	leastGlareLx = 5
)

// besideLens reports whether a lamp is so far beside where a camera looks that the hood of the lens keeps its light off. A
// camera of which nobody tells the aim may look anywhere.
func (s *Room) besideLens(c *schema.Camera, lamp photometry.Vec) bool {
	frame, known := s.looking(c)
	if !known {
		return false
	}
	view := float64(usualViewDeg)
	if c.ViewDeg != nil {
		view = *c.ViewDeg
	}
	off, _, _, ok := frame.Direction(lamp)
	return ok && off > view/2+hoodDeg
}

// covered reports whether a surface of the room stands between a lamp and a lens.
func (s *Room) covered(lamp, lens photometry.Vec) bool {
	return slices.ContainsFunc(s.Panels, func(p *Panel) bool { return p.missing == "" && p.Surface != nil && p.Rect.Between(lamp, lens) })
}

// along is a point on the axis of a beam.
func along(f photometry.Frame) photometry.Vec {
	return photometry.Vec{X: f.Position.X + f.Forward.X, Y: f.Position.Y + f.Forward.Y, Z: f.Position.Z + f.Forward.Z}
}

// Bands are the bands that the dimming of a fixture makes on the worst camera, in the
// look that dims it most: the shorter it flashes, the deeper they are.
type Bands struct {
	DepthPct, ShutterS float64
	Camera             string
	LightPct           float64 // of its light that it gives there, which is how much of the time it is lit
	Look               int
}

// BandsOf works out the bands of a fixture with a PWM frequency, or what is missing.
func (r *Rig) BandsOf(f *schema.Fixture) (worst Bands, missing []string) {
	t, line := r.Types[f.Type], r.lineOf[f]
	if r.Show.Room == nil || len(r.Show.Room.Cameras) == 0 {
		return worst, []string{"the cameras of the room, with the shutter of each"}
	}
	if line.Dimmest <= 0 {
		return worst, []string{fmt.Sprintf("a cue in which the light of the fixture on channel %d is known", f.Channel)}
	}
	for i, camera := range r.Show.Room.Cameras {
		if camera.ShutterS == nil {
			missing = append(missing, fmt.Sprintf("the shutter of the camera %q", camera.Name))
			continue
		}
		depth, ok := photometry.BandDepth(*t.PWMHz, *camera.ShutterS, min(line.Dimmest, 1))
		if !ok {
			missing = append(missing, fmt.Sprintf("a PWM frequency of the type %q and a shutter of the camera %q above zero", t.Name, camera.Name))
			continue
		}
		if i == 0 || 100*depth > worst.DepthPct {
			worst = Bands{100 * depth, *camera.ShutterS, camera.Name, 100 * line.Dimmest, line.DimmestIn}
		}
	}
	return worst, missing
}
