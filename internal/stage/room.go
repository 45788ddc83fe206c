package stage

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// Room is the geometry of the room: from which fixture, in which aim and zoom,
// how much light arrives on which plane. It is worked out once; a look is then
// one sparse product.
type Room struct {
	Rig       *Rig
	Stands    []*Stand
	byName    map[string]*Stand
	paths     map[string]*walkway
	Panels    []*Panel
	floor     *Panel           // nil where nothing tells how large it is
	wandering []*schema.Camera // see [Room.wanders]
	seats     []seats
	houseEyes []photometry.Vec // in all of them
	middle    *photometry.Vec  // of the heads of everybody who stands somewhere, at which the house looks; nil where nobody does
	beams     map[beamKey]*Beam
	byFixture map[*schema.Fixture][]*Beam
	onto      map[landingKey]*landing // what was followed by its rays
	cuts      *sync.Map               // shutters, by landingKey, as they are asked for: the same of all changed copies of a show
	peaks     *sync.Map               // likewise the brightest points of beams on surfaces
	InOrder   []*Beam                 // the same, as they were met
	Columns   []*Beam
	given     []*photometry.Column // by each of them
	Transport *photometry.Transport
	Receivers []photometry.Receiver

	levels []float64 // of the look that was lit last, by column
	lit    []int     // columns above zero in that look
	unsure []unsure  // its lamps of which nobody knows what they give
	lamps  []*Lamp   // by column, in that look

	// Room to work in, kept from one look or person to the next.
	face, shoulder []Arrival
	wall           []Arrival
	bodies         map[[2]float64]body
	rays           []Ray
	whiteRays      []Ray
	coloured       []*Lamp
	lumens         []float64
	tints          []colour.Tint
	firsts         []int
}

// Stand is a place as the cameras see it.
type Stand struct {
	place   *schema.Place
	head    photometry.Vec
	missing string // what keeps us from knowing where it is
	views   []View // one for each camera whose position is known; see house
	house   bool   // of no camera the position is known, and those of the views stand in the house

	overhead []string         // cameras straight above or below it, which see no face
	past     []*schema.Camera // cameras that look past it
	facing   *photometry.Vec  // where the person looks, level; nil if nobody says

	Body []float64 // lumens that a person there catches of each column at full
}

// View is one camera's sight of a place: the receivers of its planes, by index.
type View struct {
	camera   *schema.Camera
	head     photometry.Vec
	eye      photometry.Vec
	face     int
	shown    int // of what the camera sees of the head: the face, or where that looks away the side towards the camera
	shoulder int
	turn     float64           // degrees round from where the person looks to the camera; 0 if nobody says
	backdrop int               // where the surface behind the place is seen
	behind   *schema.Surface   // nil: none that is known
	instead  bool              // of the surface that the place names, which this camera does not see behind it
	roles    []photometry.Role // of the fixture of each column, as they are asked for
	ways     []Ray             // likewise, from each in the row of the face, without their light
}

// Panel is a surface that light falls on, with its samples.
type Panel struct {
	Surface     *schema.Surface
	Rect        photometry.Rect
	first, last int              // receivers: first to last-1
	missing     string           // what keeps us from knowing where it is
	past        []*schema.Camera // that look past it

	Mean []float64 // mean lux on it of each column at full
}

// SamplesAcross and samplesDown divide a surface. Halving the step changes the
// mean light on the surfaces of the demo shows by less than 2 % (1.4 % measured),
// and where there is less than 1 lx by less than 0.03 lx (tested).
const (
	SamplesAcross = 12
	SamplesDown   = 8
)

func vec(p *schema.Point) photometry.Vec { return photometry.Vec{X: p.X, Y: p.Y, Z: p.Z} }

// newScene lays out the room. The beams come with the looks that use them, and
// finish with what arrives of each.
func newScene(r *Rig) *Room {
	s := &Room{Rig: r, beams: map[beamKey]*Beam{}, byFixture: map[*schema.Fixture][]*Beam{}, onto: map[landingKey]*landing{}, cuts: &sync.Map{}, peaks: &sync.Map{}, byName: map[string]*Stand{}}
	if r.kept != nil {
		s.cuts, s.peaks = r.kept.rig.Room.cuts, r.kept.rig.Room.peaks
	}
	r.Room = s
	if r.Show.Room != nil {
		s.placeSurfaces()
		s.placePeople()
		s.placePaths()
		s.placeFloor()
		s.placeHouse()
	}
	return s
}

// finish finds out what arrives of each beam on each plane.
func (s *Room) finish() {
	if s.Rig.Show.Room != nil {
		s.transfer()
	}
	s.Rig.Basis = s.chooseBasis()
}

func (s *Room) placeSurfaces() {
	for _, surface := range s.Rig.Show.Room.Surfaces {
		c := &Panel{Surface: surface}
		s.Panels = append(s.Panels, c)
		if surface.Centre == nil || surface.WidthM == nil || surface.HeightM == nil {
			c.missing = fmt.Sprintf("the centre, width and height of the surface %q", surface.Name)
			continue
		}
		c.Rect = photometry.Rect{Centre: vec(surface.Centre), Width: *surface.WidthM, Height: *surface.HeightM, FacingDeg: Value(surface.FacingDeg), TiltDeg: Value(surface.TiltDeg)}
		if !s.sample(c) {
			c.missing = fmt.Sprintf("a size of the surface %q above zero", surface.Name)
		}
	}
}

// sample lays the grid of a canvas.
func (s *Room) sample(c *Panel) bool {
	grid, err := c.Rect.Grid(SamplesAcross, SamplesDown)
	if err != nil {
		return false
	}
	c.first = len(s.Receivers)
	s.Receivers = append(s.Receivers, grid...)
	c.last = len(s.Receivers)
	return true
}

// floorMargin is how far the stage floor reaches beyond the places where people
// stand, in metres. Common practice, no source.
const floorMargin = 2

// heads are those of everybody of whom it is known where they stand.
func (s *Room) heads() (list []photometry.Vec) {
	for _, sp := range s.Stands {
		if sp.missing == "" {
			list = append(list, sp.head)
		}
	}
	return list
}

// middleOf is the middle of some points; nil of none.
func middleOf(points []photometry.Vec) *photometry.Vec {
	if len(points) == 0 {
		return nil
	}
	var sum photometry.Vec
	for _, p := range points {
		sum = r3.Add(sum, p)
	}
	return new(r3.Scale(1/float64(len(points)), sum))
}

// placeFloor lays the stage floor: a rectangle around all places where people
// stand, at the height of the lowest, turned towards the cameras. Without places
// and cameras there is none.
func (s *Room) placeFloor() {
	height := math.Inf(1)
	for _, sp := range s.Stands {
		if sp.missing == "" {
			height = min(height, Value(sp.place.Z))
		}
	}
	heads := s.heads()
	middle, eye := middleOf(heads), middleOf(s.eyes())
	if middle == nil || eye == nil {
		return
	}
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
			at := r3.Dot(r3.Sub(head, *middle), along)
			low[axis], high[axis] = min(low[axis], at), max(high[axis], at)
		}
	}
	centre := r3.Add(*middle, r3.Add(r3.Scale((low[0]+high[0])/2, side), r3.Scale((low[1]+high[1])/2, front)))
	floor := &Panel{Rect: photometry.Rect{
		Centre: photometry.Vec{X: centre.X, Y: centre.Y, Z: height},
		Width:  high[0] - low[0] + 2*floorMargin, Height: high[1] - low[1] + 2*floorMargin,
		FacingDeg: math.Atan2(front.X, -front.Y) * 180 / math.Pi, TiltDeg: 90,
	}}
	if s.sample(floor) {
		s.floor = floor
	}
}

// Value is a number that is zero where it is not given: angles alone.
func Value(number *float64) float64 {
	if number == nil {
		return 0
	}
	return *number
}

func (s *Room) placePeople() {
	for _, place := range s.Rig.Show.Room.Places {
		sp := &Stand{place: place}
		s.Stands = append(s.Stands, sp)
		if s.byName[place.Name] == nil {
			s.byName[place.Name] = sp
		}
		if place.X == nil || place.Y == nil || place.HeadM == nil {
			sp.missing = fmt.Sprintf("x, y and the head height of the place %q", place.Name)
			continue
		}
		sp.head = photometry.Vec{X: *place.X, Y: *place.Y, Z: Value(place.Z) + *place.HeadM}
		if place.FacingDeg != nil {
			sp.facing = &photometry.Vec{X: math.Sin(*place.FacingDeg * degree), Y: -math.Cos(*place.FacingDeg * degree)}
		}
	}
	s.lookPast()
	house := len(s.eyes()) == 0
	for _, sp := range s.Stands {
		switch sees := func(v View) bool { return v.turn <= ProfileDeg }; {
		case sp.missing != "":
		case house:
			sp.house = true
			for _, camera := range s.camerasOrOne() {
				s.look(sp, camera, r3.Add(sp.head, photometry.Vec{Y: -houseM}))
			}
		default:
			s.lookFrom(sp, false)
			if !slices.ContainsFunc(sp.views, sees) {
				s.lookFrom(sp, true)
			}
		}
	}
}

// lookFrom adds the views of a place that the cameras have which do not look past it: those that wander, or the others.
func (s *Room) lookFrom(sp *Stand, wandering bool) {
	for _, camera := range s.Rig.Show.Room.Cameras {
		if camera.X != nil && camera.Y != nil && camera.Z != nil && s.wanders(camera) == wandering && !slices.Contains(sp.past, camera) {
			s.look(sp, camera, photometry.Vec{X: *camera.X, Y: *camera.Y, Z: *camera.Z})
		}
	}
}

// lookPast finds the cameras that stand and look elsewhere, where another has the place or the surface in its picture: a
// corner with a camera of its own is lit for that one. What none has in its picture they all pan to. And it finds those
// that wander.
func (s *Room) lookPast() {
	cameras := s.Rig.Show.Room.Cameras
	views := map[*schema.Camera]*fixedView{} // of those that have one
	for _, c := range cameras {
		if view, lack := s.fixedView(c); lack == "" {
			views[c] = &view
		} else if isCarried(c) {
			s.wandering = append(s.wandering, c)
		}
	}
	if !slices.ContainsFunc(cameras, func(c *schema.Camera) bool { return c.Role != "phone" && !s.wanders(c) }) {
		s.wandering = nil
	}
	for _, sp := range s.Stands {
		seen := false
		for _, c := range cameras {
			switch view := views[c]; {
			case view == nil:
			case !view.has(sp.head, 1):
				sp.past = append(sp.past, c)
			case !isCarried(c) || view.has(sp.head, carriedPart):
				seen = true
			}
		}
		if !seen {
			sp.past = nil
		}
	}
	for _, p := range s.Panels {
		if p.missing == "" {
			p.past = slices.DeleteFunc(slices.Clone(cameras), func(c *schema.Camera) bool { return views[c] == nil || views[c].hasPartOf(p.Rect) })
		}
		if len(p.past) == len(cameras) {
			p.past = nil
		}
	}
}

// carriedPart is the part of the picture of a camera that is carried about in which somebody stands whom it is there for:
// whom it has at the edge the others pan to. Common practice, no source.
const carriedPart = 0.5

// wanders reports whether a camera is carried about beside others that stand, and nobody says where it looks: it may have
// anything in its picture, and nobody knows that it has. An only camera shows all there is.
func (s *Room) wanders(camera *schema.Camera) bool { return slices.Contains(s.wandering, camera) }

// looksPast reports whether a camera has a place outside of its picture that another has in it.
func (s *Room) looksPast(camera *schema.Camera, place string) bool {
	sp := s.Stand(place)
	return sp != nil && slices.Contains(sp.past, camera)
}

// SeenAlike reports whether the same cameras look past two places.
func (s *Room) SeenAlike(a, b string) bool {
	pastA, pastB := s.PastPlace(a), s.PastPlace(b)
	return !slices.ContainsFunc(s.Rig.Show.Room.Cameras, func(c *schema.Camera) bool { return pastA(c) != pastB(c) })
}

// PastPlace tells of a camera whether it looks past a place.
func (s *Room) PastPlace(place string) func(*schema.Camera) bool {
	return func(camera *schema.Camera) bool { return s.looksPast(camera, place) }
}

// PastSurface tells of a camera whether it stands and has nothing of a surface in its picture, where another has.
func (s *Room) PastSurface(surface *schema.Surface) func(*schema.Camera) bool {
	i := slices.IndexFunc(s.Panels, func(p *Panel) bool { return p.Surface == surface })
	return func(camera *schema.Camera) bool { return i >= 0 && slices.Contains(s.Panels[i].past, camera) }
}

// Share reports whether two cameras may show the same people: there is a place that neither of them looks past.
func (s *Room) Share(a, b *schema.Camera) bool {
	return len(s.Stands) == 0 || slices.ContainsFunc(s.Stands, func(sp *Stand) bool {
		return !s.looksPast(a, sp.place.Name) && !s.looksPast(b, sp.place.Name)
	})
}

// houseM is how far in the house a camera stands of which nobody says where it is: straight
// in front of each place and as high as the faces there. Common practice, no source.
const houseM = 10

// camerasOrOne are the cameras of a room, or, where there are none, one of which nothing is
// known.
func (s *Room) camerasOrOne() []*schema.Camera {
	if cameras := s.Rig.Show.Room.Cameras; len(cameras) > 0 {
		return cameras
	}
	return []*schema.Camera{{AutoWhite: new(true), AutoExposure: new(true)}}
}

// look adds a camera's view of a place.
func (s *Room) look(sp *Stand, camera *schema.Camera, eye photometry.Vec) {
	face, ok1 := photometry.FacePlane(sp.head, eye)
	shoulder, ok2 := photometry.ShoulderPlane(sp.head, eye)
	if !ok1 || !ok2 {
		sp.overhead = append(sp.overhead, camera.Name)
		return
	}
	v := View{camera: camera, head: sp.head, eye: eye}
	if sp.facing != nil { // one face, whoever looks at it
		v.turn = math.Atan2(r3.Norm(r3.Cross(*sp.facing, face.Normal)), r3.Dot(*sp.facing, face.Normal)) / degree
		if v.turn > ProfileDeg {
			v.shown = s.receiver(face)
		}
		face.Normal = *sp.facing
	}
	if sp.facing != nil && len(sp.views) > 0 {
		v.face = sp.views[0].face // it looks the same way in every picture
	} else {
		v.face = s.receiver(face)
	}
	if v.turn <= ProfileDeg {
		v.shown = v.face
	}
	v.shoulder = s.receiver(shoulder)
	direction := photometry.Vec{X: sp.head.X - eye.X, Y: sp.head.Y - eye.Y, Z: sp.head.Z - eye.Z}
	nearest := math.Inf(1)
	named := sp.place.Background // the team knows what is seen there, also past the edge of what hangs before it
	var wall photometry.Receiver
	for _, c := range s.Panels {
		if c.missing != "" {
			continue
		}
		at, distance, front, ok := c.Rect.Hit(sp.head, direction)
		if c.Surface.Name == named {
			if !ok {
				at, front, ok = c.Rect.Near(sp.head, direction)
			}
			distance, v.instead = 0, !ok || !front
		}
		if ok && front && distance < nearest {
			nearest, v.behind = distance, c.Surface
			wall = photometry.Receiver{Point: at, Normal: c.Rect.Normal()}
		}
	}
	if v.behind != nil {
		v.backdrop = s.receiver(wall)
	}
	sp.views = append(sp.views, v)
}

// stepM is how far apart the points of a path are looked at: about a step.
const stepM = 0.7

// walkway is a path with the receivers along it, which lie on its floor.
type walkway struct {
	receivers []int
	faces     [][]int // at each step, those of a face that looks at each camera; none where nobody knows the heads at its ends
	missing   string  // what keeps us from knowing where it is
}

// placePaths lays receivers along the paths, from one place to the other.
func (s *Room) placePaths() {
	s.paths = map[string]*walkway{}
	for _, path := range s.Rig.Show.Room.Paths {
		w := &walkway{}
		s.paths[path.Name] = w
		points := make([]photometry.Vec, 0, len(path.Via)+2)
		for i, name := range []string{path.From, path.To} {
			place := s.Rig.Places[name]
			if place == nil || place.X == nil || place.Y == nil {
				w.missing = fmt.Sprintf("x and y of the place %q, at an end of the path %q", name, path.Name)
				break
			}
			points = append(points, photometry.Vec{X: *place.X, Y: *place.Y, Z: Value(place.Z)})
			if i == 0 {
				for _, via := range path.Via {
					points = append(points, vec(&via))
				}
			}
		}
		if w.missing != "" {
			continue
		}
		for i := 1; i < len(points); i++ {
			way := r3.Sub(points[i], points[i-1])
			steps := max(1, min(mostSteps, int(math.Ceil(r3.Norm(way)/stepM))))
			for k := range steps + 1 {
				at := r3.Add(points[i-1], r3.Scale(float64(k)/float64(steps), way))
				w.receivers = append(w.receivers, s.receiver(photometry.Receiver{Point: at, Normal: photometry.Vec{Z: 1}}))
			}
		}
		from, to := s.Rig.Places[path.From].HeadM, s.Rig.Places[path.To].HeadM
		for i := 0; from != nil && to != nil && i < len(w.receivers); i++ {
			head := s.Receivers[w.receivers[i]].Point
			head.Z += *from + (*to-*from)*float64(i)/float64(len(w.receivers)-1)
			var faces []int
			for _, eye := range s.eyes() {
				if face, ok := photometry.FacePlane(head, eye); ok {
					faces = append(faces, s.receiver(face))
				}
			}
			w.faces = append(w.faces, faces)
		}
	}
}

// mostSteps bounds the work for one stretch of a path: a way of 140 m.
const mostSteps = 200

// WalkLight is the light on a path that somebody walks, in lux on its floor.
type WalkLight struct {
	Path    string
	Lux     float64 // at the darkest step
	Missing string
}

// DarkestFace is by how many stops a face on one of some paths is darker at the worst step than at the darker end, towards the
// camera that sees most of it, where people stand at both ends; 0 where nobody knows, or an end has no light.
func (s *Room) DarkestFace(look *LookLight, paths []string) (stops float64, path string) {
	ambient, people := s.Rig.AmbientAt(look, "").Lux, look.People()
	for _, p := range s.Rig.Show.Room.Paths {
		if !slices.Contains(paths, p.Name) || !slices.Contains(people, p.From) || !slices.Contains(people, p.To) {
			continue
		}
		var lux []float64
		for _, faces := range s.paths[p.Name].faces {
			most := 0.0
			for _, face := range faces {
				most = max(most, s.LuxAt(face))
			}
			lux = append(lux, most+ambient)
		}
		if len(lux) == 0 {
			continue
		}
		end, least := min(lux[0], lux[len(lux)-1]), slices.Min(lux)
		if under := math.Log2(end / least); end > 0 && under > stops {
			stops, path = min(under, blackBackdrop), p.Name
		}
	}
	return stops, path
}

// DarkestWalk is the darkest step of some paths in the look that the room was lit with;
// ok is false if there are none.
func (s *Room) DarkestWalk(look *LookLight, paths []string) (darkest WalkLight, ok bool) {
	ambient := s.Rig.AmbientAt(look, "").Lux
	for _, name := range paths {
		w := s.paths[name]
		if w == nil {
			return WalkLight{Path: name, Missing: fmt.Sprintf("the path %q in the room", name)}, true
		}
		if w.missing != "" {
			return WalkLight{Path: name, Missing: w.missing}, true
		}
		for _, receiver := range w.receivers {
			if lux := s.LuxAt(receiver) + ambient; !ok || lux < darkest.Lux {
				darkest, ok = WalkLight{Path: name, Lux: lux}, true
			}
		}
	}
	return darkest, ok
}

// LikelyWalk is the darkest of the ways that people walk who leave some places or come to
// them, each by the best-lit path that ends there; ok is false if no path does. place is
// where that person leaves or comes.
func (s *Room) LikelyWalk(look *LookLight, places []string) (darkest WalkLight, place string, ok bool) {
	for _, name := range places {
		var best WalkLight
		found := false
		for _, path := range s.Rig.Show.Room.Paths {
			if path.From != name && path.To != name {
				continue
			}
			if w, any := s.DarkestWalk(look, []string{path.Name}); any && w.Missing == "" && (!found || w.Lux > best.Lux) {
				best, found = w, true
			}
		}
		if found && (!ok || best.Lux < darkest.Lux) {
			darkest, place, ok = best, name, true
		}
	}
	return darkest, place, ok
}

// Waiting are the places on which nobody is and key light stands: that of lamps which
// point there, or at a point between places, and light nobody else, in the look that the room was lit with. The light is
// at least a part of what the most open camera is set for, without the ambient light but for no less than half of it, or
// of that on the best-lit face where no camera tells.
func (s *Room) Waiting(look *LookLight, part float64) (places []string) {
	people := look.People()
	best := 0.0
	for _, name := range people {
		if sp := s.byName[name]; sp != nil && len(sp.views) > 0 {
			best = max(best, s.LuxAt(sp.views[0].face))
		}
	}
	for _, sp := range s.Stands {
		name := sp.place.Name
		if s.Rig.somebodyAt(name, people) || len(sp.views) == 0 || len(s.Rig.frontAt[name])+len(s.Rig.between) == 0 {
			continue
		}
		wanted, told := s.floorLux(sp)
		if told { // by day lamps give the rest of it
			wanted = max(wanted-s.Rig.AmbientAt(look, name).Lux, wanted/2)
		} else {
			wanted = best
		}
		lux := 0.0
		add := func(line *Line, aimed func(*Lamp) bool) {
			lamp := look.of(line)
			if lamp != nil && lamp.Missing == "" && lamp.Beam != nil && lamp.Beam.Missing == "" && !s.serves(lamp, people) && aimed(lamp) {
				lux += s.full(sp.views[0].face, lamp.Beam.Column) * lamp.Share
			}
		}
		for _, line := range s.Rig.frontAt[name] {
			add(line, func(lamp *Lamp) bool { return pointsAt(lamp.Aim(), sp.place) })
		}
		for _, line := range s.Rig.between {
			add(line, func(*Lamp) bool { return true })
		}
		if wanted > 0 && lux >= part*wanted {
			places = append(places, name)
		}
	}
	return places
}

// leastAim is the part of its full light from which a key light stands on the place that it
// is aimed at, where nobody knows what arrives there. Common practice, no source.
const leastAim = 0.2

// WaitingByAim are likewise the places on which nobody is and key lights stand, by what
// aim and level tell alone: at least leastAim, and a part of what those give that are aimed at somebody.
func (s *Room) WaitingByAim(look *LookLight, part float64) (places []string) {
	people := look.People()
	up := func(place string) (share float64) {
		for _, line := range s.Rig.frontAt[place] {
			if lamp := look.of(line); lamp != nil && line.Purpose == "key" && lamp.Missing == "" && lamp.Aim() != nil && lamp.Aim().Name == place {
				share = max(share, lamp.Share)
			}
		}
		return share
	}
	least := leastAim
	for _, name := range people {
		least = max(least, part*up(name))
	}
	for name := range s.Rig.frontAt {
		if (s.byName[name] != nil || s.Rig.occupied[name]) && !s.Rig.somebodyAt(name, people) && up(name) >= least {
			places = append(places, name)
		}
	}
	slices.Sort(places)
	return places
}

// somebodyAt reports whether one of some people is at a place, or so near that the light there is theirs as well: one spot
// often has several names, by who stands there or where they look.
func (r *Rig) somebodyAt(place string, people []string) bool {
	return slices.ContainsFunc(people, func(name string) bool {
		metres, ok := r.besideAim(&schema.Aim{Name: name}, r.Places[place])
		return name == place || ok && metres <= besideM
	})
}

// goodPart is the part of the light on a place with which a lamp serves it. Common
// practice, no source.
const goodPart = 0.2

// serves reports whether a lamp gives a good part of the light on one of some places.
func (s *Room) serves(lamp *Lamp, places []string) bool {
	for _, name := range places {
		sp := s.byName[name]
		if sp == nil || len(sp.views) == 0 {
			continue
		}
		face := sp.views[0].face
		if lux := s.full(face, lamp.Beam.Column) * lamp.Share; lux > 0 && lux >= goodPart*s.LuxAt(face) {
			return true
		}
	}
	return false
}

// full is the light of a column at full on a receiver.
func (s *Room) full(receiver, column int) (lux float64) {
	columns, coefficients := s.Transport.RowOf(receiver)
	if at, ok := slices.BinarySearch(columns, int32(column)); ok {
		return coefficients[at]
	}
	return 0
}

// Stand returns a place by name, or nil.
func (s *Room) Stand(name string) *Stand { return s.byName[name] }
