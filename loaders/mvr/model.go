// Package mvr reads My Virtual Rig (DIN SPEC 15801), the plan of a rig in a ZIP
// archive.
//
// In goes the text of its GeneralSceneDescription.xml; out come the fixtures with
// their numbers, addresses, types, and where they are in the plan's own axes, each
// value with its place. A newcomer's mistake would be to take those axes for ours:
// where the origin of a plan lies is not in the file, so somebody has to say it,
// see [Mapping].
package mvr

import "github.com/cueproof/cueproof/loaders/format"

// Scene is what a plan holds.
type Scene struct {
	Version  string // major.minor
	Provider string
	Fixtures []*Fixture
	Problems []format.Problem
	Left     map[string]int // what there is no word for here, counted by a phrase in the plural
}

// Fixture is an object that has a number or listens.
type Fixture struct {
	UUID       string // 32 hexadecimal digits, or ""
	Name       format.Text
	ID         format.Text // for people, may have letters
	Number     int         // 0 if there is none
	NumberAt   format.Span
	Spec       format.Text // name of the type's file in the archive, "" if none is named
	Mode       format.Text
	Function   format.Text
	Position   format.Text // name of the hanging position
	Unit       int         // number along its position, 0 if there is none
	Addresses  []Address
	World      Matrix
	MatrixAt   format.Span
	HasMatrix  bool        // it or what it is in has one that could be read
	Accessory  bool        // it hangs on a part of another fixture
	Focus      *[3]float64 // where it aims, in mm of the plan
	FocusAt    format.Span
	Multipatch bool     // it shares the number of another one
	Shares     *Fixture // that one; nil if it is not in the plan
	At         format.Span
}

// Address is where one break starts to listen.
type Address struct {
	Break    int // as DMXBreak of the type counts, from 1
	Absolute int // from 1; 0 is not patched
	At       format.Span
}

// Universe returns the universe and slot, both from 1.
func (a Address) Universe() (universe, slot int) {
	const slots = 512
	return (a.Absolute-1)/slots + 1, (a.Absolute-1)%slots + 1
}
