// Package gdtf reads the General Device Type Format (DIN SPEC 15800), the
// description of one type of fixture in a ZIP archive.
//
// In goes the text of its description.xml; out come the modes with what each
// listens to, and what is written about light and power, each value with its
// place. The standard fills in what is not written (25 degrees, 10,000 lm, 1,000 W,
// 6,000 K, an index of 100, a discharge lamp); here it is absent, as nobody measured
// it. A newcomer's mistake would be to count cells as fixtures or to take the beam
// of a cell for the light of all: [Mode] counts how often each beam shines.
package gdtf

import "github.com/cueproof/cueproof/loaders/format"

// Number is a number that is written, with its place.
type Number struct {
	Value float64
	At    format.Span
}

// Type is what one file describes.
type Type struct {
	Version      string
	Name         format.Text // the first of its names that is written
	ShortName    string
	LongName     string
	Manufacturer string
	ID           string // FixtureTypeID, in lower case
	At           format.Span
	Emitters     []*Emitter
	Filters      []*Filter
	Wheels       []*Wheel
	Modes        []*Mode
	Watts        *Number // of Properties: the sum of what is written there
	PowerFactor  *Number
	Problems     []format.Problem
	Left         map[string]int // what there is no word for here, counted by a phrase in the plural
}

// Colour is CIE 1931 x, y and a luminance Y from 0 to 100.
type Colour struct {
	X, Y, Luminance float64
	At              format.Span
}

// Emitter is one source of light of a kind.
type Emitter struct {
	Name         format.Text
	Colour       *Colour
	WavelengthNm *Number
	Spectrum     []Energy // of the measurement at the highest level, in ascending order
	At           format.Span
}

// Energy is a point of a spectrum, in nm and W/m2/nm.
type Energy struct{ Nm, Watts float64 }

// Filter is a filter that a channel can insert.
type Filter struct {
	Name   format.Text
	Colour *Colour
	At     format.Span
}

// Wheel is a wheel with its slots.
type Wheel struct {
	Name  format.Text
	Slots []Slot
}

// Slot is one slot of a wheel.
type Slot struct {
	Name   format.Text
	Colour *Colour // as written, or of the filter that it names
	Image  bool
	At     format.Span
}

// Mode is one way the type can be set to listen.
type Mode struct {
	Name      format.Text
	At        format.Span
	Breaks    []Break // in ascending order
	Beams     []Beam
	Functions []Function
	Watts     *Number // the sum of its consumers (WiringObject); nil if none is written
	CosPhi    *Number
}

// Slots returns how many slots the mode listens to, over all breaks.
func (m *Mode) Slots() int {
	n := 0
	for _, b := range m.Breaks {
		n += b.Slots
	}
	return n
}

// Break is a stretch of slots with a start address of its own.
type Break struct{ Number, Slots int }

// Beam is a geometry that light leaves, and how often it is there.
type Beam struct {
	*Lens
	Count int
}

// Lens is what is written about a Beam geometry; what is not written is nil.
type Lens struct {
	Name      string
	At        format.Span
	LampType  *format.Text // as written
	Watts     *Number
	FluxLm    *Number
	ColourK   *Number
	BeamDeg   *Number
	FieldDeg  *Number
	RadiusM   *Number
	Rendering *Number
	BeamType  string
	Spectrum  string // the emitter that it names
	Straight  bool   // it leaves the type along -Z of its base in the default pose
	seen      bool
}

// Function is what one channel does over a range of its values.
type Function struct {
	Attribute string
	Physical  *[2]float64 // from and to, if either is written
	Emitter   *Emitter
	Filter    *Filter
	Wheel     *Wheel
	At        format.Span
}
