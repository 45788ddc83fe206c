// Package schema says what a show file is: the Go types of every section, the
// JSON Schemas (2020-12) beside them, and the check of one against the other.
//
// In go the value trees that a reader made; out come a [Show] and findings with
// ids that start with "file/". Every entity carries At, the place it was read
// from; the place of one of its fields is At.Find("/field"). A newcomer's
// mistake would be to add a field to a type and not to its schema: a test walks
// both.
//
// Axes: metres, right-handed, origin on the stage floor at the centre of the
// downstage edge; x to the right as seen from the house, y upstage, z up (the
// axes of DIN SPEC 15801). Angles are in degrees; a facing of 0 looks towards
// the house and grows towards +x.
//
// A number that may be missing is a pointer, and nil means "not given": a
// missing number is never a zero.
package schema

import (
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Show is everything that was read. A section that was not given is nil.
type Show struct {
	At source.Ref `json:"-"`

	Name       string `json:"name"`
	Date       string `json:"date"`        // the day of the service, YYYY-MM-DD
	ExportedAt string `json:"exported_at"` // when the files were written, RFC 3339
	StartsAt   string `json:"starts_at"`   // when the first segment starts by the clock, HH:MM

	Room     *Room                 `json:"room"`
	Types    []*Type               `json:"types"`
	Patch    []*Fixture            `json:"patch"`
	Groups   map[string]string     `json:"groups"` // name -> channels, as "1-6,9"
	Cues     []*Cue                `json:"cues"`
	Order    []*Segment            `json:"order"`
	Notices  *Notices              `json:"notices"`
	Readings []*Reading            `json:"readings"`
	ReadFrom map[string]source.Ref `json:"-"` // where each section that was given stands

	selections *selections // what channel selections mean, worked out once
}

// Room is the hall: where people stand, who films, what is hung, the air and the power.
type Room struct {
	At source.Ref `json:"-"`

	Name      string     `json:"name"`
	Places    []*Place   `json:"places"`
	Cameras   []*Camera  `json:"cameras"`
	Surfaces  []*Surface `json:"surfaces"`
	Air       *Air       `json:"air"`
	Circuits  []*Circuit `json:"circuits"`
	Paths     []*Path    `json:"paths"`
	Bars      []*Bar     `json:"bars"`
	Areas     []*Area    `json:"areas"`
	AmbientLx *float64   `json:"ambient_lx"` // light at a face on the stage when every fixture is off
	Ambient   []*Ambient `json:"ambient"`    // the same by place and clock
	Known     Known      `json:"known"`
}

// Point is a place in the room, in metres.
type Point struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	Z float64 `json:"z"`
}

// Place is where a person stands or sits. Z is the floor there; HeadM is above that floor.
type Place struct {
	At source.Ref `json:"-"`

	Name       string   `json:"name"`
	X          *float64 `json:"x"`
	Y          *float64 `json:"y"`
	Z          *float64 `json:"z"`
	HeadM      *float64 `json:"head_m"`
	FacingDeg  *float64 `json:"facing_deg"`
	Background string   `json:"background"` // the surface that the cameras see behind it

	Clothing        string   `json:"clothing"`         // black, dark, mid, light, white, or "#rrggbb"
	Skin            string   `json:"skin"`             // light, medium, dark
	SkinReflectance *float64 `json:"skin_reflectance"` // 0 to 1, measured; wins over Skin
	Meant           []Intent `json:"meant"`            // in every cue
	Known           Known    `json:"known"`
}

// Path is a way that somebody walks, from one place to another.
type Path struct {
	At source.Ref `json:"-"`

	Name  string  `json:"name"`
	From  string  `json:"from"` // names of places
	To    string  `json:"to"`
	Via   []Point `json:"via"` // of the floor, between the two; none is a straight way
	Known Known   `json:"known"`
}

// Bar is a bar, a truss or a stand: a line with two ends.
type Bar struct {
	At source.Ref `json:"-"`

	Name  string `json:"name"`
	Kind  string `json:"kind"` // bar, truss, stand
	From  *Point `json:"from"` // the foot of a stand
	To    *Point `json:"to"`
	Zero  string `json:"zero"` // where metres along it count from: from (default), middle
	Known Known  `json:"known"`
}

// Area is a rectangle of the house: seats, or an aisle.
type Area struct {
	At source.Ref `json:"-"`

	Name  string    `json:"name"`
	Kind  string    `json:"kind"` // audience, aisle
	X     []float64 `json:"x"`    // from, to; two numbers
	Y     []float64 `json:"y"`
	Z     *float64  `json:"z"`      // the floor at the side nearest the stage
	BackZ *float64  `json:"back_z"` // and farthest from it; Z if not given
	EyeM  *float64  `json:"eye_m"`  // above that floor
	Known Known     `json:"known"`
}

// Ambient is the light that is there when every fixture is off, at one place or
// everywhere, at a time of the day or all day.
type Ambient struct {
	At source.Ref `json:"-"`

	FaceLx *float64 `json:"face_lx"` // on an upright plane
	WhiteK *float64 `json:"white_k"`
	Place  string   `json:"place"`
	From   string   `json:"from"` // HH:MM
	Until  string   `json:"until"`
	Known  Known    `json:"known"`
}

// Camera is one that the stream uses, as it is set for the service.
type Camera struct {
	At source.Ref `json:"-"`

	Name           string   `json:"name"`
	X              *float64 `json:"x"`
	Y              *float64 `json:"y"`
	Z              *float64 `json:"z"`
	AimedAt        *Aim     `json:"aimed_at"`
	WhiteK         *float64 `json:"white_k"`
	ApertureF      *float64 `json:"aperture_f"`
	ShutterS       *float64 `json:"shutter_s"`
	SensitivityISO *float64 `json:"sensitivity_iso"`
	FrameRateHz    *float64 `json:"frame_rate_hz"`
	Role           string   `json:"role"` // main, second, roaming, phone
	Make           string   `json:"make"`
	ViewDeg        *float64 `json:"view_deg"` // full horizontal angle
	AutoWhite      *bool    `json:"auto_white"`
	AutoExposure   *bool    `json:"auto_exposure"`
	TintDuv        *float64 `json:"tint_duv"` // Duv of what it shows as white
	NDStops        *float64 `json:"nd_stops"`
	Known          Known    `json:"known"`
}

// Surface is a flat rectangle: a screen, a drape or a wall.
type Surface struct {
	At source.Ref `json:"-"`

	Name        string   `json:"name"`
	Kind        string   `json:"kind"` // emissive, projection, drape, wall
	Centre      *Point   `json:"centre"`
	WidthM      *float64 `json:"width_m"`
	HeightM     *float64 `json:"height_m"`
	FacingDeg   *float64 `json:"facing_deg"`
	TiltDeg     *float64 `json:"tilt_deg"` // 0 upright, 90 facing up
	WhiteK      *float64 `json:"white_k"`
	PeakCdM2    *float64 `json:"peak_cd_m2"`
	BlackCdM2   *float64 `json:"black_cd_m2"`
	DrivePct    *float64 `json:"drive_pct"`
	Reflectance *float64 `json:"reflectance"` // 0 to 1
	Gain        *float64 `json:"gain"`
	ProjectorLm *float64 `json:"projector_lm"`
	Colour      string   `json:"colour"`      // of cloth or paint in white light, "#rrggbb"
	ContentPct  *float64 `json:"content_pct"` // mean light of the picture, in percent of full white
	Content     string   `json:"content"`     // the same in a word: black, dark, mixed, bright
	Known       Known    `json:"known"`
}

// Air is what haze spreads in.
type Air struct {
	At source.Ref `json:"-"`

	VolumeM3       *float64 `json:"volume_m3"`
	AirChangesPerH *float64 `json:"air_changes_per_h"`
	SettlingPerH   *float64 `json:"settling_per_h"`
	StartMgM3      *float64 `json:"start_mg_m3"` // haze that is there when the first cue runs
	Start          string   `json:"start"`       // the same in a word: none, thin, full
	Known          Known    `json:"known"`
}

// Circuit is one protected outlet or dimmer feed.
type Circuit struct {
	At source.Ref `json:"-"`

	Name  string   `json:"name"`
	Volts *float64 `json:"volts"`
	Amps  *float64 `json:"amps"`
	Known Known    `json:"known"`
}

// Type is a kind of fixture.
type Type struct {
	At source.Ref `json:"-"`

	Name        string     `json:"name"`
	Source      string     `json:"source"` // tungsten, discharge, white-led, tunable-led, colour-led, none
	Modes       []*Mode    `json:"modes"`
	Slots       *int       `json:"slots"` // for a type with one mode
	Watts       *float64   `json:"watts"`
	PowerFactor *float64   `json:"power_factor"`
	WhiteK      *float64   `json:"white_k"`
	WhiteRangeK []float64  `json:"white_range_k"` // lowest and highest kelvin of a variable white
	Duv         *float64   `json:"duv"`
	Emitters    []*Emitter `json:"emitters"`
	Filters     []*Filter  `json:"filters"` // cyan, magenta, yellow flags and the like
	Halogen     *bool      `json:"halogen"`
	DimmerCurve string     `json:"dimmer_curve"` // linear, square, s; see Curve
	BeamDeg     *float64   `json:"beam_deg"`     // full angle at 50 % of the peak
	FieldDeg    *float64   `json:"field_deg"`    // full angle at 10 % of the peak
	Zoom        *ZoomRange `json:"zoom"`
	FluxLm      *float64   `json:"flux_lm"`
	PeakCd      *float64   `json:"peak_cd"`
	Photometry  string     `json:"photometry"` // an .ies or .ldt file beside the show
	PWMHz       *float64   `json:"pwm_hz"`
	CRI         *float64   `json:"cri"`
	TLCI        *float64   `json:"tlci"`
	Moving      *bool      `json:"moving"`
	Machine     *Machine   `json:"machine"`
	Typical     string     `json:"typical"`   // a built-in type whose numbers stand in for what is not given
	Breaks      []int      `json:"breaks"`    // slots of each DMX break, for a type with one mode
	Can         []string   `json:"can"`       // all that it can do; nil: not known
	OpeningM    []float64  `json:"opening_m"` // diameter, or width and height, of what shines
	CurveOf     string     `json:"curve_of"`  // what DimmerCurve shapes: light, voltage
	Known       Known      `json:"known"`

	PhotometryData []byte `json:"-"` // the bytes of the file that Photometry names
}

// Curve is the dimmer curve of the type: its shape, linear, square or s, and what it shapes, light or voltage. What the
// type does not tell is the usual one. That of a filament is a square law of light, as stage dimmers are mostly set, while
// linear and s shape its voltage; of any other lamp it shapes the light, linear if nothing is told. Common practice, no source.
func (t *Type) Curve() (shape, of string) {
	shape, of = t.DimmerCurve, t.CurveOf
	if t.Source != "tungsten" {
		of = "light"
	}
	switch {
	case shape == "" && t.Source == "tungsten" && of != "voltage":
		shape = "square"
	case shape == "":
		shape = "linear"
	}
	switch {
	case of == "" && shape == "square":
		of = "light"
	case of == "":
		of = "voltage"
	}
	return shape, of
}

// SlotsIn is how many slots a fixture of the type listens to in a mode; nil if the type does
// not tell.
func (t *Type) SlotsIn(mode string) *int {
	switch {
	case mode != "" && len(t.Modes) > 0:
		for _, m := range t.Modes {
			if m.Name == mode && m.Slots != nil {
				return m.Slots
			}
		}
		return nil
	case len(t.Modes) == 1 && t.Slots == nil:
		return t.Modes[0].Slots
	}
	return t.Slots
}

// Mode is one way a type can be set to listen.
type Mode struct {
	At source.Ref `json:"-"`

	Name   string `json:"name"`
	Slots  *int   `json:"slots"`
	Breaks []int  `json:"breaks"` // slots of each DMX break
}

// Emitter is one colour of a colour-mixing engine at full: chromaticity or
// dominant wavelength, and flux.
type Emitter struct {
	At source.Ref `json:"-"`

	Name         string   `json:"name"`
	X            *float64 `json:"x"`
	Y            *float64 `json:"y"`
	WavelengthNm *float64 `json:"wavelength_nm"`
	FluxLm       *float64 `json:"flux_lm"`
}

// Filter is a coloured glass or gel: the chromaticity of the light behind it and
// the part of the light it lets through.
type Filter struct {
	At source.Ref `json:"-"`

	Name         string   `json:"name"`
	X            *float64 `json:"x"`
	Y            *float64 `json:"y"`
	Transmission *float64 `json:"transmission"` // 0 to 1
	ShiftMired   *float64 `json:"shift_mired"`  // for correction filters
	HueDeg       *float64 `json:"hue_deg"`
}

// absent reports whether a lamp with the filter is left as it is: all that the
// filter says is a word such as "none".
func (f *Filter) absent() bool {
	return f != nil && NoColour(f.Name) && f.X == nil && f.Y == nil && f.Transmission == nil && f.ShiftMired == nil && f.HueDeg == nil
}

// NoColour reports whether a word in the place of a colour or of a filter says that
// there is none. The words are common practice, no source.
func NoColour(word string) bool {
	switch strings.ToLower(strings.TrimSpace(word)) {
	case "open", "none", "clear", "-", "–", "n/a", "nc", "no colour", "no color":
		return true
	}
	return false
}

// ZoomRange is the narrowest and the widest setting of a zoom.
type ZoomRange struct {
	At source.Ref `json:"-"`

	Narrow *ZoomEnd `json:"narrow"`
	Wide   *ZoomEnd `json:"wide"`
}

// ZoomEnd is the beam at one end of a zoom.
type ZoomEnd struct {
	At source.Ref `json:"-"`

	BeamDeg  *float64 `json:"beam_deg"`
	FieldDeg *float64 `json:"field_deg"`
	FluxLm   *float64 `json:"flux_lm"`
	PeakCd   *float64 `json:"peak_cd"`
}

// Machine is a haze or fog machine.
type Machine struct {
	At source.Ref `json:"-"`

	Kind      string   `json:"kind"`        // hazer, fogger
	Fluid     string   `json:"fluid"`       // glycol, glycerol, oil
	OutputMgH *float64 `json:"output_mg_h"` // aerosol at full output
}

// Fixture is one line of the patch.
type Fixture struct {
	At source.Ref `json:"-"`

	Channel  int        `json:"channel"`
	Name     string     `json:"name"`
	Address  string     `json:"address"` // universe.slot, "2.101"
	Type     string     `json:"type"`
	Mode     string     `json:"mode"`
	Purpose  string     `json:"purpose"`
	HungOn   string     `json:"hung_on"` // the name of a bar of the room, or words
	HungAt   *Point     `json:"hung_at"`
	AimedAt  *Aim       `json:"aimed_at"`
	ZoomDeg  *float64   `json:"zoom_deg"` // the field angle it is set to
	Shutters []*Shutter `json:"shutters"`
	Filter   *Filter    `json:"filter"`
	Circuit  string     `json:"circuit"`
	Groups   []string   `json:"groups"`
	WhiteK   *float64   `json:"white_k"` // what it is set to when no cue says otherwise

	MoreAddresses []string `json:"more_addresses"` // of its further DMX breaks, in their order
	HungOrder     *int     `json:"hung_order"`     // which one it is on its bar, from the bar's first end
	HungAtM       *float64 `json:"hung_at_m"`      // where on its bar, from the bar's zero
	Mount         string   `json:"mount"`          // hangs, stands
	AsOne         *bool    `json:"as_one"`         // it moves as one, on purpose, with others of its channel or its address

	Output float64 `json:"-"` // the part of its type's light that readings show it to give; 0: nobody has measured it
	Known  Known   `json:"known"`
}

// Shutter is one blade of a shutter cut.
type Shutter struct {
	At source.Ref `json:"-"`

	Side     string   `json:"side"` // top, bottom, left, right
	DepthPct *float64 `json:"depth_pct"`
	AngleDeg *float64 `json:"angle_deg"`
}

// Cue is one step of the cue list. What it does not mention stays as it was,
// unless Tracking says otherwise.
type Cue struct {
	At source.Ref `json:"-"`

	Number   CueNumber  `json:"cue"`
	Part     *int       `json:"part"` // 1 to [MaxPart]
	Name     string     `json:"name"`
	Segment  string     `json:"segment"`
	AtS      *float64   `json:"at_s"` // seconds after the start of its segment
	InS      *float64   `json:"in_s"`
	OutS     *float64   `json:"out_s"`
	DelayS   *float64   `json:"delay_s"`
	FollowS  *float64   `json:"follow_s"` // the next cue starts by itself this long after this one
	Tracking string     `json:"tracking"` // carry (default), restate, release
	Set      []*Setting `json:"set"`
	Screens  []*Drive   `json:"screens"`
	People   []string   `json:"people"` // names of places; nil: those of the segment, empty: nobody
	Lead     []string   `json:"lead"`   // of those who speak or lead; nil: those of the segment
	Walks    []string   `json:"walks"`  // names of paths
	Meant    []Intent   `json:"meant"`  // in this cue
	Note     string     `json:"note"`   // for people; it answers nothing
	Known    Known      `json:"known"`

	unnumbered bool // read without a number that is one
}

// Numbered reports whether the cue has a number. One that was read without, which
// a finding says, has no place in the list.
func (c *Cue) Numbered() bool { return !c.unnumbered }

// Setting is what a cue does to some channels.
type Setting struct {
	At source.Ref `json:"-"`

	Channels string `json:"channels"` // "1-6,9", a group's name, or "all"
	*Told           // never nil

	added bool // not in the file: put in by Apply
}

// Told is what channels are told. Many settings of a long cue list tell the same
// and share one, so it is never changed: [Apply] makes another.
type Told struct {
	Level         *Level             `json:"level"`
	WhiteK        *float64           `json:"white_k"`
	XY            []float64          `json:"xy"`
	Mix           map[string]float64 `json:"mix"`      // emitter or filter name -> percent; what it does not name is at zero
	MixPart       map[string]float64 `json:"mix_part"` // the same of some of them; what it does not name stays
	HueDeg        *float64           `json:"hue_deg"`
	SaturationPct *float64           `json:"saturation_pct"`
	Aim           *Aim               `json:"aim"`
	ZoomDeg       *float64           `json:"zoom_deg"`
	StrobeHz      *float64           `json:"strobe_hz"`
	Pattern       string             `json:"pattern"`
	Wheel         string             `json:"wheel"`
	Effect        *Effect            `json:"effect"` // its At is that of one of the settings that share it
}

// Effect is a running change: a chase, a strobe, a sweep of hues or of aim.
type Effect struct {
	At source.Ref `json:"-"`

	Kind      string   `json:"kind"` // chase, strobe, pulse, hue-sweep, rainbow, movement; none ends it
	RateHz    *float64 `json:"rate_hz"`
	DutyPct   *float64 `json:"duty_pct"`
	SpreadPct *float64 `json:"spread_pct"` // how far the channels are apart in the cycle; 0 all together
	LowPct    *float64 `json:"low_pct"`
	HighPct   *float64 `json:"high_pct"`
}

// Drive is what a cue does to a screen.
type Drive struct {
	At source.Ref `json:"-"`

	Screen   string   `json:"screen"`
	DrivePct *float64 `json:"drive_pct"`
	Palette  []string `json:"palette"` // "#rrggbb"

	ContentPct *float64 `json:"content_pct"` // mean light of the picture, in percent of full white
	Content    string   `json:"content"`     // the same in a word: black, dark, mixed, bright
}

// Segment is one item of the running order.
type Segment struct {
	At source.Ref `json:"-"`

	Name      string     `json:"name"`
	Kind      string     `json:"kind"`
	StartCue  *CueNumber `json:"start_cue"`
	DurationS *float64   `json:"duration_s"`
	People    []string   `json:"people"` // names of places
	Mood      string     `json:"mood"`
	Palette   []string   `json:"palette"` // the colours on screen, "#rrggbb"
	Lead      []string   `json:"lead"`    // names of places of those who speak or lead; nil: all its people
	Walks     []string   `json:"walks"`   // names of paths
	Screens   []*Drive   `json:"screens"` // what is on them while it lasts, unless a cue says otherwise
	Meant     []Intent   `json:"meant"`   // in all its cues
	Note      string     `json:"note"`    // for people; it answers nothing
	Known     Known      `json:"known"`
}

// Reading is what a light meter showed at a place. With neither cue nor channels
// every fixture was off.
type Reading struct {
	At source.Ref `json:"-"`

	Place       string     `json:"place"`
	Cue         *CueNumber `json:"cue"`
	Channels    string     `json:"channels"` // that alone were lit
	Level       *Level     `json:"level"`    // of those channels; full if nil
	Lx          *float64   `json:"lx"`
	WhiteK      *float64   `json:"white_k"`
	Duv         *float64   `json:"duv"`
	Plane       string     `json:"plane"`    // face (default), camera, up
	HeightM     *float64   `json:"height_m"` // above the floor there; the face if nil
	AccuracyPct *float64   `json:"accuracy_pct"`
}

// Notices records what people were told, and where or by whom.
type Notices struct {
	At source.Ref `json:"-"`

	Strobe         string `json:"strobe"`
	Haze           string `json:"haze"`
	SmokeDetection string `json:"smoke_detection"`
}
