package facts

import (
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// scene is the geometry of the room: from which fixture, in which aim and zoom,
// how much light arrives on which plane. It is worked out once; a look is then
// one sparse product.
type scene struct {
	rig       *rig
	spots     []*spot
	byName    map[string]*spot
	screens   []*canvas
	floor     *canvas // nil where nothing tells how large it is
	beams     map[beamKey]*beam
	inOrder   []*beam // the same, as they were met
	columns   []*beam
	transport *photometry.Transport
	receivers []photometry.Receiver

	levels []float64    // of the look that was lit last, by column
	lit    []int        // columns above zero in that look
	lamps  []*stageLamp // by column, in that look

	// Room to work in, kept from one look or person to the next.
	face, shoulder []arrival
	coloured       []*stageLamp
	lumens         []float64
	tints          []colour.Tint
	firsts         []int
}

// spot is a place as the cameras see it.
type spot struct {
	place   *schema.Place
	head    photometry.Vec
	missing string // what keeps us from knowing where it is
	views   []view // one for each camera whose position is known

	body []float64 // lumens that a person there catches of each column at full
}

// view is one camera's sight of a place: the receivers of its planes, by index.
type view struct {
	camera   *schema.Camera
	head     photometry.Vec
	eye      photometry.Vec
	face     int
	shoulder int
	backdrop int // -1: no known surface is behind the place
	behind   *schema.Surface
	roles    []photometry.Role // of the fixture of each column, as they are asked for
}

// canvas is a surface that light falls on, with its samples.
type canvas struct {
	surface     *schema.Surface
	rect        photometry.Rect
	first, last int    // receivers: first to last-1
	missing     string // what keeps us from knowing where it is

	mean []float64 // mean lux on it of each column at full
}

// samplesAcross and samplesDown divide a surface. Halving the step changes the
// mean light on the surfaces of the demo shows by less than 2 % (1.4 % measured),
// and where there is less than 1 lx by less than 0.03 lx (tested).
const (
	samplesAcross = 12
	samplesDown   = 8
)

// beamKey is a fixture in one aim and zoom.
type beamKey struct {
	fixture *schema.Fixture
	aimed   bool
	name    string
	point   schema.Point
	zoom    float64
}

// beam is a fixture in one aim and zoom, and its column in the transport matrix.
type beam struct {
	fixture *schema.Fixture
	source  photometry.Source
	frame   photometry.Frame
	field   float64 // full angle, degrees; 0 if unknown
	column  int
	used    bool   // a look uses it: it is not just the patch's own aim
	shines  bool   // in one of them it gives light
	missing string // what keeps us from knowing where its light goes

	// Lumens of it at full that land on surfaces and the floor, and the same as
	// the cameras see them.
	landed, shown float64
	part          float64 // of its light that arrives, 0 to 1; see [scene.chooseBasis]
}

func vec(p *schema.Point) photometry.Vec { return photometry.Vec{X: p.X, Y: p.Y, Z: p.Z} }

// newScene lays out the room. The beams come with the looks that use them, and
// finish with what arrives of each.
func newScene(r *rig) *scene {
	s := &scene{rig: r, beams: map[beamKey]*beam{}, byName: map[string]*spot{}}
	r.scene = s
	if r.show.Room != nil {
		s.placeSurfaces()
		s.placePeople()
		s.placeFloor()
	}
	return s
}

// use returns the beam of a fixture in a state in which a look lights it.
func (s *scene) use(line *patched, shine *shine, state *tracking.State) *beam {
	if s.rig.show.Room == nil {
		return nil
	}
	if line.lastBeam == nil || line.lastRest != state.Rest {
		line.lastBeam, line.lastRest = s.beamOf(line.fixture, state), state.Rest
	}
	line.lastBeam.used = true
	line.lastBeam.shines = line.lastBeam.shines || shine.xyz.Y > 0
	return line.lastBeam
}

// finish finds out what arrives of each beam on each plane.
func (s *scene) finish() {
	if s.rig.show.Room != nil {
		s.transfer()
	}
	s.rig.basis = s.chooseBasis()
}

func (s *scene) transfer() {
	// The patch's own aim counts too: a remedy may light what is dark now.
	for _, line := range s.rig.lines {
		if line.stage {
			s.beamOf(line.fixture, &tracking.State{})
		}
	}
	sources := make([]photometry.Source, len(s.columns))
	for i, b := range s.columns {
		sources[i] = b.source
	}
	transport, unknown, err := photometry.NewTransport(s.receivers, sources, leastLux)
	if err != nil {
		return // no receiver and no source is no transport
	}
	for _, pair := range unknown {
		if s.floor != nil && pair.Receiver >= s.floor.first && pair.Receiver < s.floor.last {
			continue // a fixture on the floor hides its own spot of it
		}
		s.columns[pair.Source].missing = fmt.Sprintf("a position of the fixture on channel %d that is not on a person or a screen", s.columns[pair.Source].fixture.Channel)
	}
	s.transport = transport
	s.levels = make([]float64, len(sources))
	s.lamps = make([]*stageLamp, len(sources))
	s.addUp()
}

// leastLux is the light at full under which a beam does not count on a plane:
// thousands of them together give less than starlight.
const leastLux = 1e-6

func (s *scene) placeSurfaces() {
	for _, surface := range s.rig.show.Room.Surfaces {
		c := &canvas{surface: surface}
		s.screens = append(s.screens, c)
		if surface.Centre == nil || surface.WidthM == nil || surface.HeightM == nil {
			c.missing = fmt.Sprintf("the centre, width and height of the surface %q", surface.Name)
			continue
		}
		c.rect = photometry.Rect{Centre: vec(surface.Centre), Width: *surface.WidthM, Height: *surface.HeightM, FacingDeg: value(surface.FacingDeg), TiltDeg: value(surface.TiltDeg)}
		if !s.sample(c) {
			c.missing = fmt.Sprintf("a size of the surface %q above zero", surface.Name)
		}
	}
}

// sample lays the grid of a canvas.
func (s *scene) sample(c *canvas) bool {
	grid, err := c.rect.Grid(samplesAcross, samplesDown)
	if err != nil {
		return false
	}
	c.first = len(s.receivers)
	s.receivers = append(s.receivers, grid...)
	c.last = len(s.receivers)
	return true
}

// floorMargin is how far the stage floor reaches beyond the places where people
// stand, in metres. Common practice, no source.
const floorMargin = 2

// placeFloor lays the stage floor: a rectangle around all places where people
// stand, at the height of the lowest, turned towards the cameras. Without places
// and cameras there is none.
func (s *scene) placeFloor() {
	var heads []photometry.Vec
	var middle, eye photometry.Vec
	height := math.Inf(1)
	for _, sp := range s.spots {
		if sp.missing == "" {
			heads = append(heads, sp.head)
			middle = r3.Add(middle, sp.head)
			height = min(height, value(sp.place.Z))
		}
	}
	eyes := s.eyes()
	for _, e := range eyes {
		eye = r3.Add(eye, e)
	}
	if len(heads) == 0 || len(eyes) == 0 {
		return
	}
	middle, eye = r3.Scale(1/float64(len(heads)), middle), r3.Scale(1/float64(len(eyes)), eye)
	front := photometry.Vec{X: eye.X - middle.X, Y: eye.Y - middle.Y}
	length := r3.Norm(front)
	if !(length > 0) || math.IsInf(length, 0) {
		return
	}
	front = r3.Scale(1/length, front)
	side := photometry.Vec{X: -front.Y, Y: front.X}
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, head := range heads {
		for axis, along := range []photometry.Vec{side, front} {
			at := r3.Dot(r3.Sub(head, middle), along)
			low[axis], high[axis] = min(low[axis], at), max(high[axis], at)
		}
	}
	centre := r3.Add(middle, r3.Add(r3.Scale((low[0]+high[0])/2, side), r3.Scale((low[1]+high[1])/2, front)))
	floor := &canvas{rect: photometry.Rect{
		Centre: photometry.Vec{X: centre.X, Y: centre.Y, Z: height},
		Width:  high[0] - low[0] + 2*floorMargin, Height: high[1] - low[1] + 2*floorMargin,
		FacingDeg: math.Atan2(front.X, -front.Y) * 180 / math.Pi, TiltDeg: 90,
	}}
	if s.sample(floor) {
		s.floor = floor
	}
}

// value is a number that is zero where it is not given: angles alone.
func value(number *float64) float64 {
	if number == nil {
		return 0
	}
	return *number
}

func (s *scene) placePeople() {
	for _, place := range s.rig.show.Room.Places {
		sp := &spot{place: place}
		s.spots = append(s.spots, sp)
		if s.byName[place.Name] == nil {
			s.byName[place.Name] = sp
		}
		if place.X == nil || place.Y == nil || place.HeadM == nil {
			sp.missing = fmt.Sprintf("x, y and the head height of the place %q", place.Name)
			continue
		}
		sp.head = photometry.Vec{X: *place.X, Y: *place.Y, Z: value(place.Z) + *place.HeadM}
		for _, camera := range s.rig.show.Room.Cameras {
			if camera.X == nil || camera.Y == nil || camera.Z == nil {
				continue
			}
			s.look(sp, camera)
		}
	}
}

// look adds a camera's view of a place.
func (s *scene) look(sp *spot, camera *schema.Camera) {
	eye := photometry.Vec{X: *camera.X, Y: *camera.Y, Z: *camera.Z}
	face, ok1 := photometry.FacePlane(sp.head, eye)
	shoulder, ok2 := photometry.ShoulderPlane(sp.head, eye)
	if !ok1 || !ok2 {
		return
	}
	v := view{camera: camera, head: sp.head, eye: eye, backdrop: -1}
	v.face = s.receiver(face)
	v.shoulder = s.receiver(shoulder)
	direction := photometry.Vec{X: sp.head.X - eye.X, Y: sp.head.Y - eye.Y, Z: sp.head.Z - eye.Z}
	nearest := math.Inf(1)
	var wall photometry.Receiver
	for _, c := range s.screens {
		if c.missing != "" {
			continue
		}
		if at, distance, front, ok := c.rect.Hit(sp.head, direction); ok && front && distance < nearest {
			nearest, v.behind = distance, c.surface
			wall = photometry.Receiver{Point: at, Normal: c.rect.Normal()}
		}
	}
	if v.behind != nil {
		v.backdrop = s.receiver(wall)
	}
	sp.views = append(sp.views, v)
}

func (s *scene) receiver(r photometry.Receiver) int {
	s.receivers = append(s.receivers, r)
	return len(s.receivers) - 1
}

// spot returns a place by name, or nil.
func (s *scene) spot(name string) *spot { return s.byName[name] }

// target is the point that something is aimed at.
func (s *scene) target(aim *schema.Aim) (at photometry.Vec, missing string) {
	if aim.Point != nil {
		return vec(aim.Point), ""
	}
	if sp := s.spot(aim.Name); sp != nil {
		return sp.head, sp.missing
	}
	for _, c := range s.screens {
		if c.surface.Name == aim.Name {
			return c.rect.Centre, c.missing
		}
	}
	return at, fmt.Sprintf("where %q is", aim.Name)
}

// beamOfLamp is beamOf for a lamp, which may know it already.
func (s *scene) beamOfLamp(l *stageLamp) *beam {
	if l.beam == nil {
		l.beam = s.beamOf(l.fixture, l.state)
	}
	return l.beam
}

// beamOf returns the beam of a fixture in a state, laying it out the first time.
func (s *scene) beamOf(f *schema.Fixture, state *tracking.State) *beam {
	aim, zoom := f.AimedAt, value(f.ZoomDeg)
	if rest := state.Rest; rest != nil {
		if rest.Aim != nil {
			aim = rest.Aim
		}
		if rest.ZoomDeg != nil {
			zoom = *rest.ZoomDeg
		}
	}
	if t := s.rig.types[f.Type]; t == nil || t.Zoom == nil {
		zoom = 0
	}
	key := beamKey{fixture: f, zoom: zoom}
	if aim != nil {
		key.aimed, key.name = true, aim.Name
		if aim.Point != nil {
			key.point = schema.Point{X: aim.Point.X, Y: aim.Point.Y, Z: aim.Point.Z}
		}
	}
	if b, ok := s.beams[key]; ok {
		return b
	}
	b := &beam{fixture: f, column: -1}
	s.beams[key] = b
	s.inOrder = append(s.inOrder, b)
	s.layOut(b, aim, zoom)
	if b.missing == "" {
		b.column = len(s.columns)
		s.columns = append(s.columns, b)
	}
	return b
}

func (s *scene) layOut(b *beam, aim *schema.Aim, zoom float64) {
	f := b.fixture
	t := s.rig.types[f.Type]
	switch {
	case f.HungAt == nil:
		b.missing = fmt.Sprintf("where the fixture on channel %d hangs", f.Channel)
		return
	case aim == nil:
		b.missing = fmt.Sprintf("where the fixture on channel %d is aimed", f.Channel)
		return
	case t == nil:
		b.missing = fmt.Sprintf("the type %q, with its beam", f.Type)
		return
	}
	target, missing := s.target(aim)
	if missing != "" {
		b.missing = missing
		return
	}
	frame, err := photometry.AimAt(vec(f.HungAt), target, 0)
	if err != nil {
		b.missing = fmt.Sprintf("an aim of the fixture on channel %d that is not the fixture itself", f.Channel)
		return
	}
	light, err := s.rig.distribution(t, zoom)
	if err != nil {
		b.missing = err.Error()
		return
	}
	b.frame = frame
	if spread, ok := light.(photometry.Spread); ok {
		if deg, ok := spread.FieldDeg(); ok {
			b.field = deg
		}
	}
	cuts := photometry.Cuts{FieldDeg: b.field}
	for _, blade := range f.Shutters {
		cut := bladeOf(blade)
		switch blade.Side {
		case "top":
			cuts.Top = cut
		case "bottom":
			cuts.Bottom = cut
		case "left":
			cuts.Left = cut
		case "right":
			cuts.Right = cut
		}
	}
	if len(f.Shutters) == 0 {
		cuts = photometry.Cuts{}
	}
	b.source, err = photometry.NewSource(frame, light, cuts)
	if err != nil {
		b.missing = fmt.Sprintf("shutters of the fixture on channel %d that its beam can have", f.Channel)
	}
}

// bladeOf turns a blade of a show, which counts in percent of the whole picture,
// into one that counts in percent of the field's radius.
func bladeOf(s *schema.Shutter) photometry.Blade {
	return photometry.Blade{DepthPercent: 2 * value(s.DepthPct), AngleDeg: value(s.AngleDeg)}
}

// distribution is where a type's light goes, from its photometric file, its zoom
// or its beam; an error says in a phrase what is missing.
func (r *rig) distribution(t *schema.Type, zoom float64) (photometry.Distribution, error) {
	if t.Photometry != "" {
		return r.photometryFile(t)
	}
	if t.Zoom != nil && t.Zoom.Narrow != nil && t.Zoom.Wide != nil {
		return zoomed(t, zoom)
	}
	spec := photometry.Spec{BeamDeg: t.BeamDeg, FieldDeg: t.FieldDeg, Lumens: t.FluxLm, PeakCandela: t.PeakCd}
	if spec.Lumens == nil {
		if flux := givenFlux(t); flux > 0 {
			spec.Lumens = &flux
		}
	}
	light, _, err := spec.Light()
	if err != nil {
		return nil, fmt.Errorf("the beam or field angle and the flux or peak candela of the type %q", t.Name)
	}
	return light, nil
}

func zoomed(t *schema.Type, zoom float64) (photometry.Distribution, error) {
	end := func(e *schema.ZoomEnd) photometry.Spec {
		s := photometry.Spec{BeamDeg: e.BeamDeg, FieldDeg: e.FieldDeg, Lumens: e.FluxLm, PeakCandela: e.PeakCd}
		if s.Lumens == nil && s.PeakCandela == nil {
			if flux := givenFlux(t); flux > 0 {
				s.Lumens = &flux
			}
		}
		return s
	}
	z := photometry.Zoom{Narrow: end(t.Zoom.Narrow), Wide: end(t.Zoom.Wide)}
	fraction := 0.5
	low, high := fieldOf(t.Zoom.Narrow), fieldOf(t.Zoom.Wide)
	switch {
	case zoom <= 0:
		return nil, fmt.Errorf("the zoom that the fixtures of the type %q are set to", t.Name)
	case high > low:
		fraction = min(max((zoom-low)/(high-low), 0), 1)
	}
	light, _, err := z.At(fraction)
	if err != nil {
		return nil, fmt.Errorf("the beam and flux at both ends of the zoom of the type %q", t.Name)
	}
	return light, nil
}

// fieldOf is the angle that a zoom counts in: the field, or the beam where no
// field is given.
func fieldOf(e *schema.ZoomEnd) float64 {
	if e.FieldDeg != nil {
		return *e.FieldDeg
	}
	return value(e.BeamDeg)
}

// photometryFile is the distribution of a type's photometric file, scaled to the
// type's flux where that is given: the file's lamp need not be the one in use.
func (r *rig) photometryFile(t *schema.Type) (photometry.Distribution, error) {
	light, done := r.files[t]
	if !done {
		light = readFile(t)
		r.files[t] = light
	}
	if light == nil {
		return nil, fmt.Errorf("a photometric file for the type %q that can be read", t.Name)
	}
	return light, nil
}

func readFile(t *schema.Type) photometry.Distribution {
	file, _, err := photometry.Parse(t.PhotometryData, photometry.Lenient)
	if err != nil || file == nil || file.Web == nil || !(file.Web.Flux() > 0) {
		return nil
	}
	flux := givenFlux(t)
	if factor := flux / file.Web.Flux(); flux > 0 && factor <= mostLumens {
		return relamped{file.Web, factor}
	}
	return file.Web
}

// relamped is a measured distribution with another lamp in it.
type relamped struct {
	*photometry.Web
	factor float64
}

// Candela implements [photometry.Distribution].
func (s relamped) Candela(thetaDeg, phiDeg float64) (candela float64, ok bool) {
	candela, ok = s.Web.Candela(thetaDeg, phiDeg)
	return candela * s.factor, ok
}

// Flux implements [photometry.Distribution].
func (s relamped) Flux() float64 { return s.Web.Flux() * s.factor }
