package facts

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Look is the stage after one cue.
type Look struct {
	unknowns
	look *tracking.Look

	Number      string   `expr:"cue"`                  // the number of its cue
	CueName     string   `expr:"name"`                 // the name of its cue, or ""
	SegmentName string   `expr:"segment"`              // the segment it belongs to, or ""
	SegmentKind string   `expr:"segment_kind"`         // song, talk, prayer..., or ""
	Purpose     string   `expr:"purpose"`              // what the cue says it is for, or ""
	OutputPct   *float64 `expr:"output_pct"`           // light of the stage rig that arrives on people, surfaces and the stage floor, as percent of that of everything at full; beams and effects, and everything if the show's output_basis is "emitted", count by all light that leaves them
	Coloured    *int     `expr:"coloured_count"`       // lit lamps whose light is not white
	MainHues    *int     `expr:"main_hue_count"`       // hues that carry a large share of the coloured light: what lands on people and, as the cameras see it, on surfaces and the floor, and all light of beams and effects; where the room does not tell, the light that leaves the lamps
	AccentHues  *int     `expr:"accent_hue_count"`     // hues that carry a small share of it
	HueNames    *string  `expr:"hue_names"`            // its hues in words, largest share first
	OddLamps    []*Lamp  `expr:"odd_lamps"`            // the lamps of the hues beyond the two largest and one accent
	OddText     *string  `expr:"odd_channels_text"`    // the same lamps, as "21-24"
	NearestHue  *float64 `expr:"nearest_kept_hue_deg"` // its largest hue as a degree of the colour wheel, for odd lamps to join

	HasPalette     bool     `expr:"has_palette"`         // whether its segment has an on-screen palette with a colour
	PaletteApart   *float64 `expr:"palette_apart_deg"`   // how far the main hue that is farthest from that palette is from it
	OffHue         string   `expr:"off_hue"`             // that hue in a word
	RedMain        *bool    `expr:"red_is_main"`         // whether one of its main hues is red
	SystemsLit     int      `expr:"systems_lit"`         // purposes with a lamp that is lit: key, fill, back, side, top, wash, beam, effect
	Systems        int      `expr:"systems"`             // purposes that the patch has
	SweepLamps     []*Lamp  `expr:"sweep_lamps"`         // the lamps to stop: their effect starts here, or comes from a look that says what it is for
	SweepCount     int      `expr:"sweep_count"`         // lit lamps that run through hues by an effect
	SweepText      string   `expr:"sweep_channels_text"` // the same lamps, as "21-24"
	SegmentPurpose string   `expr:"segment_purpose"`     // what the running order says the segment is for, or ""
	PeakShare      *float64 `expr:"output_of_peak_pct"`  // its output_pct as percent of the brightest look of the show
	People         int      `expr:"people_count"`        // people on stage in it
	FaceRange      *float64 `expr:"face_range_stops"`    // from the dimmest to the brightest of their faces
	Dimmest        string   `expr:"dimmest_place"`       // the place of the dimmest face
	Brightest      string   `expr:"brightest_place"`     // the place of the brightest face
	DimKeys        []*Turn  `expr:"dimmest_keys"`        // the key lights of the dimmest face with the level that makes it as bright as the brightest

	dimmest *Person

	patch []*patched
	lamps []*Lamp  // the lit stage lamps, in the order of the patch
	noLux []string // what is missing to be sure of the light on people and screens
}

// Names returns the cue.
func (l *Look) Names() []Name { return []Name{{"cue", l.Number}} }

// Cue returns the number of the cue.
func (l *Look) Cue() string { return l.Number }

// Ref returns where the cue stands.
func (l *Look) Ref() source.Ref { return l.look.At() }

// Lamp is a fixture in a look: what the patch says of it and what the cues have
// made of it.
type Lamp struct {
	// A big show has millions of lamps, so a lamp only joins three parts that each
	// stand once: the look, the line of the patch, and what a state makes of all
	// fixtures of a type.
	*inLook
	*patched
	*shine
	part float64 // of its light that counts as output
	beam *beam   // where it points; nil until the scene was asked
}

// inLook is what all lamps of a look share.
type inLook struct {
	look *tracking.Look

	Number string `expr:"cue"` // the number of the look's cue
}

// patched is what a fixture is in every look.
type patched struct {
	fixture *schema.Fixture
	of      makeOf
	system  int  // the place of its purpose among the systems of a rig; -1 if it is none
	stage   bool // it lights the stage
	// asBefore: its light depends on its state as that of the line before it does.
	asBefore bool
	lastRest *tracking.Rest // of the state in which its beam was asked for last
	lastBeam *beam
	best     float64 // the most that a beam of it has for its part that arrives
	placed   bool    // a beam of it is known

	Channel int    `expr:"channel"` // its channel
	Type    string `expr:"type"`    // the type that the patch names
	Purpose string `expr:"purpose"` // what it is for, or ""
}

// shine is what a state makes of a fixture: the same for all of one type that
// are told the same.
type shine struct {
	of    makeOf
	only  *schema.Fixture // the one that it belongs to, because something is missing; nil: all of its make
	next  *shine          // of the same state, for another make
	kind  *schema.Type    // nil if the show does not describe it
	state *tracking.State
	light light
	share float64     // of its full light, 0 to 1
	tint  colour.Tint // of light that is a colour

	Level       float64  `expr:"level_pct"`        // its level
	X           *float64 `expr:"x"`                // CIE 1931 x of its light
	Y           *float64 `expr:"y"`                // CIE 1931 y of its light
	Lumens      *float64 `expr:"lumens"`           // the light that leaves it
	CCT         *float64 `expr:"cct_k"`            // the correlated colour temperature of that light (Ohno 2014), if it has one
	Duv         *float64 `expr:"duv"`              // its distance from the Planckian locus, positive towards green
	Coloured    *bool    `expr:"coloured"`         // whether the light is a colour rather than a white
	Hue         *float64 `expr:"hue_deg"`          // its hue (OKLCh), if it is a colour
	Drift       *float64 `expr:"drift_mired"`      // how much warmer a dimmed filament is than at full; 0 for other sources
	SteadyLevel *float64 `expr:"steady_level_pct"` // the lowest level at which a filament is at most 20 mired warmer than at full
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

// steadyMired is the drift that steady_level_pct allows; the rule white/dim-drift
// has the same number as its limit. Common practice, no source.
const steadyMired = 20

// Names returns the channel and the cue.
func (l *Lamp) Names() []Name {
	return []Name{{"channel", strconv.Itoa(l.Channel)}, {"cue", l.Number}}
}

// Cue returns the number of the look's cue.
func (l *Lamp) Cue() string { return l.Number }

// Ref returns the line of the patch.
func (l *Lamp) Ref() source.Ref { return l.fixture.At }

// Why returns what would make the fact known.
func (l *Lamp) Why(fact string) []string {
	switch {
	case l.light.missing != "":
		return []string{l.light.missing}
	case fact == "lumens" && l.Lumens == nil:
		return []string{fmt.Sprintf("the flux of the type %q", l.Type)}
	case l.X == nil:
		return []string{fmt.Sprintf("light of channel %d in cue %s", l.Channel, l.Number)}
	case fact == "hue_deg":
		return []string{fmt.Sprintf("light of channel %d in cue %s that is a colour", l.Channel, l.Number)}
	case fact == "steady_level_pct":
		return []string{fmt.Sprintf("a filament in the fixture on channel %d", l.Channel)}
	default:
		return []string{fmt.Sprintf("light of channel %d in cue %s that is near enough to white", l.Channel, l.Number)}
	}
}

// Basis returns what the fact rests on.
func (l *Lamp) Basis(fact string) finding.Basis {
	b := finding.Basis{Known: finding.Derived, Missing: l.Why(fact)}
	if fact == "lumens" && len(l.light.rests) > 0 {
		b.Known, b.Rests = finding.Assumed, l.light.rests
		if l.Lumens != nil {
			b.Range = &finding.Range{Low: *l.Lumens * l.light.atLeast(), High: *l.Lumens * l.light.atMost()}
		}
	}
	return b
}

// Label names the lamp for an order to a person.
func (l *Lamp) Label() string { return fmt.Sprintf("channel %d", l.Channel) }

// settingFields are the fields of a show file that belong to a setting of a cue.
var settingFields = []string{"level", "white_k", "hue_deg", "saturation_pct", "zoom_deg", "strobe_hz", "aim", "effect"}

// noEffect ends an effect.
var noEffect = &schema.Effect{Kind: "none"}

// Edits changes what the lamp does where that was set: in the setting that gave
// it the value, in the cue that asserted or released it, or in the patch if no
// cue ever did and the patch has such a field.
func (l *Lamp) Edits(field string, value any) []source.Edit {
	if !slices.Contains(settingFields, field) {
		return []source.Edit{{At: l.fixture.At, Field: field, Value: value}}
	}
	by := l.by(field)
	only := []int{l.Channel}
	switch {
	case field == "effect" && value == nil: // it ends here; before, it may have been meant
		return []source.Edit{{At: l.look.At(), Field: field, Value: noEffect, Only: only}}
	case by.Setting != nil:
		return []source.Edit{{At: by.Setting.At, Field: field, Value: value, Only: only}}
	case by.Look < 0 && field == "white_k":
		return []source.Edit{{At: l.fixture.At, Field: field, Value: value}}
	default:
		return []source.Edit{{At: l.look.At(), Field: field, Value: value, Only: only}}
	}
}

// SetBy returns the setting that gave the lamp a field's value, for reports.
func (l *Lamp) SetBy(field string) (source.Ref, bool) {
	if by := l.by(field); by.Setting != nil {
		return by.Setting.At, true
	}
	return source.Ref{}, false
}

func (l *Lamp) by(field string) tracking.By {
	switch field {
	case "level":
		return l.state.LevelBy
	case "white_k", "hue_deg", "saturation_pct":
		if l.state.Colour != nil {
			return l.state.Colour.By
		}
	default:
		if l.state.Rest != nil {
			return l.state.Rest.By
		}
	}
	return tracking.Nobody
}

// variableWhite reports whether the lamp's white can be set, and its range.
func (l *Lamp) variableWhite() (low, high float64, ok bool) {
	return whiteRange(l.kind)
}

// measure works out the colour of the light.
func (s *shine) measure(r *rig, filtered bool) {
	if s.light.missing != "" {
		return
	}
	if r.anyFlux {
		s.Lumens = &s.light.xyz.Y
	}
	if s.light.xyz.Y <= 0 {
		return // dark: every emitter at zero
	}
	s.X, s.Y = &s.light.xy.X, &s.light.xy.Y
	l := r.looksLike(s.light.xy)
	if l.known {
		s.CCT, s.Duv = &l.cct, &l.duv
	}
	filament := s.kind.Source == "tungsten" && !filtered // white however far it is dimmed
	s.Coloured = known(l.tinted && !filament)
	if *s.Coloured {
		s.tint = colour.Tint{Hue: l.hue, Flux: s.light.xyz.Y}
		s.Hue = &l.hue
	}
	s.Drift = &s.light.drift
	if s.light.filament.CCT > 0 {
		if level, ok := s.light.filament.LowestLevel(filamentCurves[s.kind.DimmerCurve], steadyMired); ok {
			s.SteadyLevel = known(math.Ceil(100 * level))
		}
	}
}

// impression is what a chromaticity looks like.
type impression struct {
	known    bool // it has a colour temperature
	cct, duv float64
	tinted   bool // it is a colour rather than a white
	hue      float64
}

// looksLike is worked out once for each chromaticity: a show has few.
func (r *rig) looksLike(xy colour.XY) *impression {
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

// aim returns what the lamp points at in this look: a cue's word, else the patch's.
func (l *Lamp) aim() *schema.Aim { return aimOf(l.fixture, l.state) }

func aimOf(f *schema.Fixture, state *tracking.State) *schema.Aim {
	if state.Rest != nil && state.Rest.Aim != nil {
		return state.Rest.Aim
	}
	return f.AimedAt
}

// weight is the light of the lamp at full, for shares of output: its flux, or 1
// where no type of the rig gives a flux.
func (r *rig) weight(f *schema.Fixture) (float64, string) {
	t := r.types[f.Type]
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

// fluxOf returns the flux of a type at full, or 0 if it is not known: as the
// type gives it, or else the sum of its emitters, or else what its photometric
// file or its peak and angles add up to, at its widest.
func (r *rig) fluxOf(t *schema.Type) float64 {
	if flux, ok := r.fluxes[t]; ok {
		return flux
	}
	flux := givenFlux(t)
	if flux == 0 {
		const widest = 180.0
		if light, err := r.distribution(t, widest); err == nil {
			flux = light.Flux()
		}
	}
	if !(flux > 0 && flux <= mostLumens) {
		flux = 0
	}
	r.fluxes[t] = flux
	return flux
}

// givenFlux is the flux that the type itself or its emitters name, or 0.
func givenFlux(t *schema.Type) float64 {
	if t.FluxLm != nil {
		return *t.FluxLm
	}
	sum := 0.0
	for _, e := range t.Emitters {
		if e.FluxLm != nil {
			sum += *e.FluxLm
		}
	}
	return sum
}

func measureLooks(r *rig, looks []tracking.Look) []*Look {
	measured := make([]*Look, 0, len(looks))
	s := newScene(r)
	type memo struct {
		state *tracking.State
		shine *shine
		beam  *beam
	}
	last := make([]memo, len(r.lines)) // what each fixture did in the look that it was lit in last
	var lit []int                      // the lines that are lit in this look
	for i := range looks {
		raw := &looks[i]
		l := &Look{look: raw, Number: raw.Number.String(), CueName: raw.Name(), Purpose: raw.Purpose(), patch: r.lines}
		if raw.Segment != nil {
			l.SegmentName, l.SegmentKind = raw.Segment.Name, raw.Segment.Kind
		}
		lit = lit[:0]
		for k, line := range r.lines {
			if !line.stage {
				continue
			}
			state := raw.State(line.fixture.Channel)
			if state.Level <= 0 {
				continue
			}
			if m := &last[k]; m.state != state {
				m.state = state
				if line.asBefore && last[k-1].state == state && last[k-1].shine.light.missing == "" {
					m.shine = last[k-1].shine
				} else {
					m.shine = r.shineOf(line, state)
				}
				m.beam = s.use(line, m.shine, state)
			}
			lit = append(lit, k)
		}
		in := &inLook{look: raw, Number: l.Number}
		lamps := make([]Lamp, len(lit)) // side by side in memory
		l.lamps = make([]*Lamp, len(lit))
		for i, k := range lit {
			lamps[i] = Lamp{inLook: in, patched: r.lines[k], shine: last[k].shine, part: 1, beam: last[k].beam}
			l.lamps[i] = &lamps[i]
		}
		var before *Look
		if len(measured) > 0 {
			before = measured[len(measured)-1]
		}
		l.measureSystems(r, before)
		measured = append(measured, l)
	}
	s.finish()
	full, fullMissing := r.fullOutput()
	cores.Stretches(len(measured), func(from, to int) {
		s := s.another()
		for _, l := range measured[from:to] {
			l.count(s)
			l.measureOutput(full, fullMissing)
			l.measureHues(s)
		}
	})
	compareOutput(measured)
	return measured
}

func (l *Look) measureOutput(full float64, fullMissing []string) {
	output := 0.0
	for _, lamp := range l.lamps {
		output += lamp.output()
		if lamp.light.missing != "" {
			l.lacks("output_pct", lamp.light.missing)
		}
	}
	switch {
	case len(fullMissing) > 0:
		for _, phrase := range fullMissing {
			l.lacks("output_pct", phrase)
		}
	case len(l.Why("output_pct")) > 0:
	case full > 0:
		l.OutputPct = known(100 * output / full)
	default:
		l.lacks("output_pct", "the patch: which channel is which fixture")
	}
}

// compareOutput holds the light of each look against the brightest.
func compareOutput(looks []*Look) {
	peak := 0.0
	var missing []string
	for _, l := range looks {
		if l.OutputPct != nil {
			peak = max(peak, *l.OutputPct)
		}
		for _, phrase := range l.Why("output_pct") {
			if !slices.Contains(missing, phrase) {
				missing = append(missing, phrase)
			}
		}
	}
	for _, l := range looks {
		for _, phrase := range missing {
			l.lacks("output_of_peak_pct", phrase)
		}
		if len(missing) == 0 && peak > 0 {
			l.PeakShare = known(100 * *l.OutputPct / peak)
		} else if peak <= 0 {
			l.lacks("output_of_peak_pct", "a look that is lit")
		}
	}
}

// lamp is a fixture in a look, lit or not. Several looks may ask at once.
func (r *rig) lamp(look *tracking.Look, f *schema.Fixture, state *tracking.State) *Lamp {
	r.mu.Lock()
	defer r.mu.Unlock()
	return &Lamp{inLook: &inLook{look, look.Number.String()}, patched: r.lineOf[f], shine: r.shineOf(r.lineOf[f], state), part: 1}
}

// makeOf is all that the light of a fixture depends on, beside its state.
type makeOf struct {
	kind   *schema.Type
	filter *schema.Filter
	white  float64 // of the line of the patch; 0 if it gives none
}

// shineOf is what a state makes of a fixture. What is missing is said of each
// fixture by its channel, so only known light is shared.
func (r *rig) shineOf(line *patched, state *tracking.State) *shine {
	first := r.shines[state]
	for s := first; s != nil; s = s.next {
		if s.of == line.of && (s.only == nil || s.only == line.fixture) {
			return s
		}
	}
	f := line.fixture
	s := &shine{of: line.of, kind: line.of.kind, state: state, light: r.lightOf(f, state), Level: state.Level, next: first}
	if full, lack := r.weight(f); lack == "" && full > 0 {
		s.share = s.light.xyz.Y / full
	}
	s.measure(r, f.Filter != nil)
	if s.light.missing != "" {
		s.only = f
	}
	r.shines[state] = s
	return s
}
