package stage

import (
	"errors"
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"gonum.org/v1/gonum/spatial/r3"
)

// beamKey is a fixture in one aim and zoom.
type beamKey struct {
	fixture *schema.Fixture
	aimed   bool
	name    string
	point   schema.Point
	zoom    float64
}

// Beam is a fixture in one aim and zoom, and its column in the transport matrix.
type Beam struct {
	fixture *schema.Fixture
	state   *tracking.State // one that it is laid out for
	Source  photometry.Source
	frame   photometry.Frame
	kind    *schema.Type
	zoom    float64
	field   float64 // full angle, degrees; 0 if unknown
	index   int     // its place in the order in which they were met
	Column  int
	Missing string // what keeps us from knowing where its light goes
	use

	// Lumens of it at full that land on surfaces and the floor, and the same as
	// the cameras see them.
	Landed, Shown float64
	Part          float64 // of its light that arrives, 0 to 1; see [Room.chooseBasis]
	leaves        float64 // of its type's flux, 0 to 1

	reflected float64 // lumens of it at full that go out again from surfaces and the floor
	inPicture float64 // of its light what the picture counts; see [Lamp.Picture]
	aimedAt   string  // the name that it is aimed at, or ""
	atPerson  bool    // it is aimed at a person
}

// target is the point that something is aimed at.
func (s *Room) target(aim *schema.Aim) (at photometry.Vec, missing string) {
	if aim.Point != nil {
		return vec(aim.Point), ""
	}
	if sp := s.Stand(aim.Name); sp != nil {
		return sp.head, sp.missing
	}
	for _, c := range s.Panels {
		if c.Surface.Name == aim.Name {
			return c.Rect.Centre, c.missing
		}
	}
	return at, fmt.Sprintf("where %q is", aim.Name)
}

// beamOf returns the beam of a fixture in a state, laying it out the first time.
func (s *Room) beamOf(f *schema.Fixture, state *tracking.State) *Beam {
	key, aim := s.keyOf(f, state)
	if b, ok := s.beams[key]; ok {
		return b
	}
	b := &Beam{fixture: f, state: state, index: len(s.InOrder), Column: -1, aimedAt: key.name, atPerson: s.Rig.atPerson(aim)}
	s.beams[key] = b
	s.InOrder = append(s.InOrder, b)
	s.byFixture[f] = append(s.byFixture[f], b)
	s.layOut(b, aim, key.zoom)
	if b.Missing == "" {
		b.Column = len(s.Columns)
		s.Columns = append(s.Columns, b)
	}
	return b
}

// Beam returns the beam of a fixture in a state that a look has; nil if there is none.
func (s *Room) Beam(f *schema.Fixture, state *tracking.State) *Beam {
	key, _ := s.keyOf(f, state)
	return s.beams[key]
}

// keyOf is what the beam of a fixture in a state is known by, and where it points.
func (s *Room) keyOf(f *schema.Fixture, state *tracking.State) (beamKey, *schema.Aim) {
	aim, zoom := aimOf(f, state), zoomOf(f, state)
	if t := s.Rig.Types[f.Type]; t == nil || t.Zoom == nil {
		zoom = 0
	}
	key := beamKey{fixture: f, zoom: zoom}
	if aim != nil {
		key.aimed, key.name = true, aim.Name
		if aim.Point != nil {
			key.point = schema.Point{X: aim.Point.X, Y: aim.Point.Y, Z: aim.Point.Z}
		}
	}
	return key, aim
}

// zoomOf is what a state sets the zoom of a fixture to, else the patch; 0 if neither does.
func zoomOf(f *schema.Fixture, state *tracking.State) float64 {
	if state.Rest != nil && state.Rest.ZoomDeg != nil {
		return *state.Rest.ZoomDeg
	}
	return Value(f.ZoomDeg)
}

func (s *Room) layOut(b *Beam, aim *schema.Aim, zoom float64) {
	f := b.fixture
	t := s.Rig.Types[f.Type]
	var missing string
	var err error
	if f.HungAt != nil && aim != nil { // also of a lamp of which nothing else is known
		var target photometry.Vec
		if target, missing = s.target(aim); missing == "" {
			b.frame, err = photometry.AimAt(vec(f.HungAt), target, 0)
		}
	}
	switch {
	case f.HungAt == nil:
		b.Missing = fmt.Sprintf("where the fixture on channel %d hangs", f.Channel)
		return
	case aim == nil && f.Purpose != "practical":
		b.Missing = fmt.Sprintf("where the fixture on channel %d is aimed", f.Channel)
		return
	case t == nil:
		b.Missing = fmt.Sprintf("the type %q, with its beam", f.Type)
		return
	case aim == nil:
		s.layOutBulb(b, t)
		return
	case missing != "":
		b.Missing = missing
		return
	case err != nil:
		b.Missing = fmt.Sprintf("an aim of the fixture on channel %d that is not the fixture itself", f.Channel)
		return
	}
	b.kind, b.zoom = t, zoom
	light, err := s.Rig.distribution(t, zoom)
	if err != nil {
		b.Missing = err.Error()
		return
	}
	b.field = fieldDeg(light)
	cuts := cutsOf(f)
	if cuts != (photometry.Cuts{}) {
		cuts.FieldDeg = b.field
	}
	b.Source, err = photometry.NewSource(b.frame, light, cuts)
	if err != nil {
		b.Missing = fmt.Sprintf("shutters of the fixture on channel %d that its beam can have", f.Channel)
	}
}

// layOutBulb lays out a lamp of the set that points nowhere: it shines all around.
func (s *Room) layOutBulb(b *Beam, t *schema.Type) {
	all := bulb{givenFlux(t) / (4 * math.Pi)}
	if t.PeakCd != nil {
		all.candela = *t.PeakCd
	}
	if !(all.candela > 0 && all.candela*4*math.Pi <= mostLumens) {
		b.Missing = fmt.Sprintf("the flux or peak candela of the type %q", t.Name)
		return
	}
	at := vec(b.fixture.HungAt)
	frame, err := photometry.AimAt(at, r3.Add(at, photometry.Vec{Z: 1}), 0)
	if err == nil {
		b.frame, b.kind = frame, t
		b.Source, err = photometry.NewSource(frame, all, photometry.Cuts{})
	}
	if err != nil {
		b.Missing = fmt.Sprintf("where the fixture on channel %d hangs", b.fixture.Channel)
	}
}

// bulb is light that is the same all around.
type bulb struct{ candela float64 }

// Candela implements [photometry.Distribution].
func (l bulb) Candela(float64, float64) (float64, bool) { return l.candela, true }

// Flux implements [photometry.Distribution].
func (l bulb) Flux() float64 { return 4 * math.Pi * l.candela }

// fieldDeg is the field angle of a light, in degrees; 0 if it has none.
func fieldDeg(light photometry.Distribution) float64 {
	if spread, ok := light.(photometry.Spread); ok {
		if deg, ok := spread.FieldDeg(); ok {
			return deg
		}
	}
	return 0
}

// cutsOf are the shutters of a fixture, without the field that they are in.
func cutsOf(f *schema.Fixture) (cuts photometry.Cuts) {
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
	return cuts
}

// bladeOf turns a blade of a show, which counts in percent of the whole picture,
// into one that counts in percent of the field's radius.
func bladeOf(s *schema.Shutter) photometry.Blade {
	return photometry.Blade{DepthPercent: 2 * Value(s.DepthPct), AngleDeg: Value(s.AngleDeg)}
}

// spreadKey is a type at a zoom, and spread is where its light goes.
type (
	spreadKey struct {
		of   *schema.Type
		zoom float64
	}
	spread struct {
		light photometry.Distribution
		err   error
	}
)

// distribution is where a type's light goes, from its photometric file, its zoom
// or its beam; an error says in a phrase what is missing.
func (r *Rig) distribution(t *schema.Type, zoom float64) (photometry.Distribution, error) {
	known, done := r.spreads[spreadKey{t, zoom}]
	if !done {
		known.light, known.err = r.spreadOf(t, zoom)
		r.spreads[spreadKey{t, zoom}] = known
	}
	return known.light, known.err
}

func (r *Rig) spreadOf(t *schema.Type, zoom float64) (photometry.Distribution, error) {
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
		return nil, errors.New(lackOf(spec, fmt.Sprintf("the type %q", t.Name), err))
	}
	return light, nil
}

// lackOf says what a beam lacks that could not be made, in a phrase that fits behind
// "give": what the data sheet leaves out, or what of it cannot be.
func lackOf(s photometry.Spec, of string, err error) string {
	angle, amount := s.BeamDeg != nil || s.FieldDeg != nil, s.Lumens != nil || s.PeakCandela != nil
	switch {
	case !angle && !amount:
		return fmt.Sprintf("the beam or field angle and the flux or peak candela of %s", of)
	case !angle:
		return fmt.Sprintf("the beam or field angle of %s", of)
	case !amount:
		return fmt.Sprintf("the flux or peak candela of %s", of)
	case s.BeamDeg != nil && s.FieldDeg != nil && *s.BeamDeg == *s.FieldDeg:
		return fmt.Sprintf("the field angle of %s, to a tenth of the peak: it is given as the beam angle, %g degrees, and is always the wider one", of, *s.BeamDeg)
	}
	return fmt.Sprintf("other numbers for %s (%v)", of, err)
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
	low, high, _, _ := t.Zoom.Ends()
	switch {
	case zoom <= 0:
		return nil, fmt.Errorf("the zoom that the fixtures of the type %q are set to", t.Name)
	case high > low:
		fraction = min(max((zoom-low)/(high-low), 0), 1)
	}
	light, _, err := z.At(fraction)
	if err != nil {
		for _, end := range []struct {
			name string
			spec photometry.Spec
		}{{"narrow", z.Narrow}, {"wide", z.Wide}} {
			if _, _, err := end.spec.Light(); err != nil {
				return nil, errors.New(lackOf(end.spec, fmt.Sprintf("the %s end of the zoom of the type %q", end.name, t.Name), err))
			}
		}
		return nil, fmt.Errorf("other numbers for the zoom of the type %q (%w)", t.Name, err)
	}
	return light, nil
}

// photometryFile is the distribution of a type's photometric file, scaled to the
// type's flux where that is given: the file's lamp need not be the one in use.
func (r *Rig) photometryFile(t *schema.Type) (photometry.Distribution, error) {
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
		return scaledWeb{file.Web, factor}
	}
	return file.Web
}

// scaledWeb is a measured distribution with another lamp in it.
type scaledWeb struct {
	*photometry.Web
	factor float64
}

// Candela implements [photometry.Distribution].
func (s scaledWeb) Candela(thetaDeg, phiDeg float64) (candela float64, ok bool) {
	candela, ok = s.Web.Candela(thetaDeg, phiDeg)
	return candela * s.factor, ok
}

// Flux implements [photometry.Distribution].
func (s scaledWeb) Flux() float64 { return s.Web.Flux() * s.factor }
