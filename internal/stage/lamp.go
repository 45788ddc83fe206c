package stage

import (
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Lamp is a fixture in a look: what the patch says of it and what the cues have
// made of it.
type Lamp struct {
	// A big show has millions of lamps, so a lamp only joins three parts that each
	// stand once: the look, the line of the patch, and what a state makes of all
	// fixtures of a type.
	Look *tracking.Look
	*Line
	*Light
	Part      float64 // of its light that counts as output
	InPicture float64 // of its light that counts in the picture without key light
	Beam      *Beam   // where it points; nil where it is dark, or without a room

	pictured int32 // of those that it stands for, how many count in the picture; see [Rig.WalkTogether]
}

// Count is how many lamps it stands for: one, but in a walk of [Rig.WalkTogether].
func (l *Lamp) Count() int { return 1 + len(l.with) }

// Line is what a fixture is in every look.
type Line struct {
	Fixture *schema.Fixture
	Of      *Make
	system  int  // the place of its purpose among the systems of a rig; -1 if it is none
	stage   bool // it lights the stage
	other   bool // it is a house light or a lamp of the set
	people  bool // it is there for people alone
	inAir   bool // its beam is seen in the air
	notKey  bool // its purpose is none that lights faces from the front
	// asBefore: its light depends on its state as that of the line before it does.
	asBefore  bool
	index     int     // of the line in the patch, from 0
	with      []*Line // the lines behind it that it stands for; see [Rig.WalkTogether]
	slot      int     // in such a walk, its number in the looks
	Best      float64 // the most that a beam of it has for its part that arrives
	placed    bool    // a beam of it is known
	Brightest float64 // the most light of it in any look
	Dimmest   float64 // the least part of its full light in any look that lights it; 0 if none is known
	DimmestIn int     // the first look with that, by index

	Channel int    // its channel
	Type    string // the type that the patch names
	Purpose string // what it is for, or ""
}

// Light is what a state makes of a fixture: the same for all of one type that
// are told the same.
type Light struct {
	Kind  *schema.Type // nil if the show does not describe it
	State *tracking.State
	Emission
	Share float64     // of its full light, 0 to 1
	up    float64     // the part of it, in one colour, that its dimmer and its mix give
	tint  colour.Tint // of light that is a colour

	Level    float64  // its level
	X        *float64 // CIE 1931 x of its light
	Y        *float64 // CIE 1931 y of its light
	Lumens   *float64 // the light that leaves it
	CCT      *float64 // the correlated colour temperature of that light (Ohno 2014), if it has one
	Duv      *float64 // its distance from the Planckian locus, positive towards green
	Coloured *bool    // whether the light is a colour rather than a white
	Hue      *float64 // its hue (OKLCh), if it is a colour
	Drift    *float64 // how much warmer a dimmed filament is than at full; 0 for other sources
}

// hueLimits are the bounds of what counts as white, and of what counts as one
// hue. White is what is near the Planckian locus between 2000 and 12,000 K:
// filters against green and magenta shift by up to about 0.02 Duv, and beyond
// those temperatures a lamp is used as amber or blue. Common practice, no source.
var hueLimits = func() colour.HueLimits {
	limits := colour.DefaultHueLimits()
	limits.LowestWhite, limits.HighestWhite, limits.WhiteDuv = 2000, 12_000, 0.02
	return limits
}()

// variableWhite reports whether the lamp's white can be set, and its range.
func (l *Lamp) variableWhite() (low, high float64, ok bool) {
	return WhiteRange(l.Kind)
}

// plainDuv is how far a lamp that is made for white may be off towards green or pink
// and still be a bad white rather than a colour. Common practice, no source.
const plainDuv = 0.04

// White reports whether the lamp gives a white to a face, and be it a bad one: a lamp
// that is made for white does, unless it is sent through a colour.
func (s *Light) White() bool {
	if s.Coloured == nil {
		return false
	}
	if !*s.Coloured {
		return true
	}
	return s.Kind != nil && s.Kind.Source != "colour-led" && s.CCT != nil && s.Duv != nil && math.Abs(*s.Duv) <= plainDuv && *s.CCT >= 2000
}

// measure works out the colour of the light.
func (s *Light) measure(r *Rig, filtered bool) {
	if s.Missing == "" {
		if r.anyFlux {
			s.Lumens = &s.XYZ.Y
		}
		if s.XYZ.Y <= 0 {
			return // dark: every emitter at zero
		}
		s.X, s.Y = &s.XY.X, &s.XY.Y
	}
	if s.XY == (colour.XY{}) {
		return
	}
	l := r.looksLike(s.XY)
	if l.known && !s.rough {
		s.CCT, s.Duv = &l.cct, &l.duv
	}
	filament := s.Kind.Source == "tungsten" && !filtered // white however far it is dimmed
	s.Coloured = new(l.tinted && !filament)
	if *s.Coloured {
		s.tint = colour.Tint{Hue: l.hue, Flux: s.XYZ.Y}
		s.Hue = &l.hue
	}
	s.Drift = &s.drift
}

// LevelForDrift is the lowest level, in whole percent, at which a filament is at most
// a number of mired warmer than at full; ok is false where there is none.
func (s *Light) LevelForDrift(mired float64) (pct float64, ok bool) {
	if !(s.filament.CCT > 0) {
		return 0, false
	}
	level, ok := s.filament.LowestLevel(filamentCurve(s.Kind), mired)
	return math.Ceil(100 * level), ok
}

// DriftOff is by how many mired a filament may be warmer or cooler than [Light.Drift] tells, because nobody says what its
// dimmer does.
func (s *Light) DriftOff() Off { return s.driftOff }

// Glowing reports whether the lamp is a filament so cold that its white is no more
// than a guess.
func (s *Light) Glowing() bool { return s.rough }

// Extrapolated reports whether the lamp is a filament below half its voltage, where the
// laws of its light are not known to hold.
func (s *Light) Extrapolated() bool { return s.extrapolated }

// impression is what a chromaticity looks like.
type impression struct {
	known    bool // it has a colour temperature
	cct, duv float64
	tinted   bool // it is a colour rather than a white
	hue      float64
}

// looksLike is worked out once for each chromaticity: a show has few.
func (r *Rig) looksLike(xy colour.XY) *impression {
	l := r.colours[xy]
	if l == nil {
		l = &impression{}
		l.cct, l.duv, l.known = colour.CCT(xy)
		if xyz, ok := xy.XYZ(1); ok {
			tint, ok := hueLimits.Tint(xyz)
			l.tinted, l.hue = ok && !tint.White, tint.Hue
		}
		r.colours[xy] = l
	}
	return l
}

// Aim returns what the lamp points at in this look: a cue's word, else the patch's.
func (l *Lamp) Aim() *schema.Aim { return aimOf(l.Fixture, l.State) }

func aimOf(f *schema.Fixture, state *tracking.State) *schema.Aim {
	if state.Rest != nil && state.Rest.Aim != nil {
		return state.Rest.Aim
	}
	return f.AimedAt
}

// pointsAt reports whether an aim is a place: by name, or a point where somebody there is.
func pointsAt(aim *schema.Aim, place *schema.Place) bool {
	switch {
	case aim == nil || place == nil:
		return false
	case aim.Point == nil:
		return aim.Name == place.Name
	case place.X == nil || place.Y == nil || place.HeadM == nil:
		return false
	}
	up := aim.Point.Z - Value(place.Z)
	return math.Hypot(aim.Point.X-*place.X, aim.Point.Y-*place.Y) <= besideM && up >= -besideM && up <= *place.HeadM+besideM
}

// Beside reports whether a lamp points at a place, or stands or hangs beside whoever is there.
func (s *Room) Beside(lamp *Lamp, place string) bool {
	at, p := lamp.Fixture.HungAt, s.Rig.Places[place]
	return pointsAt(lamp.Aim(), p) || at != nil && pointsAt(&schema.Aim{Point: at}, p)
}

// besideM is how far beside somebody a light may be pointed and still be meant for them,
// in metres: within reach of an arm. Common practice, no source.
const besideM = 0.7

// weight is the light of the lamp at full, for shares of output: its flux, or 1
// where no type of the rig gives a flux.
func (r *Rig) weight(f *schema.Fixture) (float64, string) {
	t := r.Types[f.Type]
	if !r.anyFlux {
		return 1, ""
	}
	if t == nil || r.fluxOf(t) <= 0 {
		return 0, fmt.Sprintf("the flux of the type %q", f.Type)
	}
	return r.fluxOf(t), ""
}

// mostLumens is more than any lamp gives, and few enough to be added up.
const mostLumens = 1e12

// fluxOf returns the flux of a type at full, or 0 if it is not known: of a zoom that at
// its brighter end; else as the type gives it, or else the sum of its emitters, or else
// what its photometric file or its peak and angles add up to.
func (r *Rig) fluxOf(t *schema.Type) float64 {
	if flux, ok := r.fluxes[t]; ok {
		return flux
	}
	narrow, wide, zooms := r.zoomFluxes(t)
	flux := givenFlux(t)
	switch {
	case zooms:
		flux = max(narrow, wide)
	case flux == 0:
		if light, err := r.distribution(t, 0); err == nil {
			flux = light.Flux()
		}
	}
	if !(flux > 0 && flux <= mostLumens) {
		flux = 0
	}
	r.fluxes[t] = flux
	return flux
}

// zoomFluxes are the lumens at the two ends of a type's zoom; ok is false where it has
// none that they are known of.
func (r *Rig) zoomFluxes(t *schema.Type) (narrow, wide float64, ok bool) {
	from, to, _, ok := t.Zoom.Ends()
	if !ok || t.Photometry != "" {
		return 0, 0, false
	}
	low, err1 := r.distribution(t, from)
	high, err2 := r.distribution(t, to)
	if err1 != nil || err2 != nil {
		return 0, 0, false
	}
	return low.Flux(), high.Flux(), true
}

// fluxShare is the part of a type's flux that leaves a fixture at full.
type fluxShare struct {
	part      float64
	low, high float64 // between which factors of it that lies; 1 and 1: it is that
	assumed   string  // what of it is assumed; "" if nothing is
}

// most is the brightest that it may be.
func (l fluxShare) most() float64 { return l.part * l.high }

// leavingKey is all that it depends on.
type leavingKey struct {
	kind *schema.Type
	zoom float64
	cuts photometry.Cuts
}

// leaves tells what of the flux of its type leaves a fixture in a state: a zoom does not
// give the same at both ends, and shutters take away what they cover.
func (r *Rig) leaves(f *schema.Fixture, state *tracking.State) fluxShare {
	t := r.Types[f.Type]
	if t == nil || t.Zoom == nil && len(f.Shutters) == 0 {
		return fluxShare{1, 1, 1, ""}
	}
	key := leavingKey{kind: t, cuts: cutsOf(f)}
	if t.Zoom != nil {
		key.zoom = zoomOf(f, state)
	}
	l, done := r.leaving[key]
	if !done {
		l = r.leaveOf(key)
		r.leaving[key] = l
	}
	return l
}

func (r *Rig) leaveOf(key leavingKey) fluxShare {
	l := fluxShare{1, 1, 1, ""}
	full := r.fluxOf(key.kind)
	if narrow, wide, ok := r.zoomFluxes(key.kind); ok && full > 0 {
		if light, err := r.distribution(key.kind, key.zoom); err == nil {
			l.part = min(light.Flux()/full, 1)
		} else if least := min(narrow, wide) / full; least < 1 { // nobody says what it is set to
			l.low, l.assumed = least, fmt.Sprintf("the zoom of the type %q where it gives most light", key.kind.Name)
		}
	}
	if key.cuts == (photometry.Cuts{}) {
		return l
	}
	zoom := key.zoom
	if _, wide, _, ok := key.kind.Zoom.Ends(); ok && zoom <= 0 {
		zoom = wide
	}
	light, err := r.distribution(key.kind, zoom)
	if err != nil {
		return l
	}
	cuts := key.cuts
	cuts.FieldDeg = fieldDeg(light)
	if passes, ok := cuts.Passes(light); ok {
		l.part *= passes
	}
	return l
}

// givenFlux is the flux that the type itself or its emitters name, or 0.
func givenFlux(t *schema.Type) float64 {
	if t.FluxLm != nil {
		return *t.FluxLm
	}
	if t.Known.Of("emitters").Word == "assumed" && (t.PeakCd != nil || t.Photometry != "") {
		return 0 // of usual emitters only their parts count
	}
	sum := 0.0
	for _, e := range t.Emitters {
		if e.FluxLm != nil {
			sum += *e.FluxLm
		}
	}
	return sum
}

// Lamp is a fixture in a look, lit or not. Several looks may ask at once.
func (r *Rig) Lamp(look *tracking.Look, f *schema.Fixture, state *tracking.State) *Lamp {
	line := r.lineOf[f]
	lamp := &Lamp{Look: look, Line: line, Light: r.known(line, state), Part: 1}
	if lamp.Light == nil { // no look lights it like this
		r.mu.Lock()
		defer r.mu.Unlock()
		lamp.Light = r.make(line, state)
	}
	return lamp
}

// Make is all that the light of a fixture depends on, beside its state.
type Make struct {
	Kind   *schema.Type
	filter *schema.Filter
	white  float64         // of the line of the patch; 0 if it gives none
	output float64         // the part of its type's light that it was measured to give; 0 if nobody has
	zoom   float64         // that the patch sets it to; 0 if it sets none, or the type has no zoom
	cut    *schema.Fixture // the one whose shutters are in; nil if none are
}

func (r *Rig) makeOf(f *schema.Fixture) *Make {
	m := Make{Kind: r.Types[f.Type], filter: f.Filter, white: Value(f.WhiteK), output: f.Output}
	if m.Kind != nil && m.Kind.Zoom != nil {
		m.zoom = Value(f.ZoomDeg)
	}
	if len(f.Shutters) > 0 {
		m.cut = f
	}
	if r.makes[m] == nil {
		r.makes[m] = &m
	}
	return r.makes[m]
}

// ShineOf is what a state makes of a fixture. What is missing is said of each
// fixture by its channel, so only known light is shared.
func (r *Rig) ShineOf(line *Line, state *tracking.State) *Light {
	s := r.known(line, state)
	if s == nil {
		if s = r.kept.light(line, state); s == nil {
			s = r.make(line, state)
		}
		key := lightKey{state, line.Of, nil}
		if s.Missing != "" {
			key.only = line.Fixture
		}
		r.Lights[key] = s
	}
	return s
}

// known is what a state makes of a fixture, if any look has asked for that; else nil.
func (r *Rig) known(line *Line, state *tracking.State) *Light {
	return lightOf(r.Lights, line, state)
}

func (r *Rig) make(line *Line, state *tracking.State) *Light {
	f := line.Fixture
	s := &Light{Kind: line.Of.Kind, State: state, Emission: r.lightOf(f, state), Level: state.Level}
	if f.Output > 0 {
		s.XYZ, s.presence = s.XYZ.Scale(f.Output), s.presence*f.Output
	}
	full, lack := r.weight(f)
	if lack == "" && full > 0 {
		s.Share = s.XYZ.Y / full
	}
	if leaves := r.leaves(f, state); leaves.part != 1 || leaves.assumed != "" {
		s.XYZ, s.presence = s.XYZ.Scale(leaves.part), s.presence*leaves.part
		if leaves.part == 0 {
			s.Share = 0
		}
		s.assumeLeaving(leaves)
	}
	s.measure(r, f.Filter != nil)
	s.up = s.Control(s.Level) * (1 - s.unmixed)
	return s
}
