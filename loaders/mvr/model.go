// Package mvr reads My Virtual Rig (DIN SPEC 15801), the plan of a rig in a ZIP
// archive.
//
// In goes the text of its GeneralSceneDescription.xml; out come the fixtures with
// their numbers, addresses, types, and where they are in the plan's own axes, each
// value with its place. A newcomer's mistake would be to take those axes for ours:
// where the origin of a plan lies is not in the file, so somebody has to say it,
// see [Mapping].
package mvr

import "fmt"

// Place is a stretch of GeneralSceneDescription.xml in bytes; Stop is exclusive.
type Place struct{ Start, Stop int }

// Text is words with their place.
type Text struct {
	Words string
	At    Place
}

// Scene is what a plan holds.
type Scene struct {
	Version  string // major.minor
	Provider string
	Fixtures []*Fixture
	Problems []Problem
	Left     map[string]int // what there is no word for here, counted by a phrase in the plural
}

// Fixture is an object that has a number or listens.
type Fixture struct {
	UUID       string // 32 hexadecimal digits, or ""
	Name       Text
	ID         Text // for people, may have letters
	Number     int  // 0 if there is none
	NumberAt   Place
	Spec       Text // name of the type's file in the archive, "" if none is named
	Mode       Text
	Function   Text
	Position   Text // name of the hanging position
	Unit       int  // number along its position, 0 if there is none
	Addresses  []Address
	World      Matrix
	MatrixAt   Place
	HasMatrix  bool        // it or what it is in has one that could be read
	Accessory  bool        // it hangs on a part of another fixture
	Focus      *[3]float64 // where it aims, in mm of the plan
	FocusAt    Place
	Multipatch bool // it shares the number of another one
	At         Place
}

// Address is where one break starts to listen.
type Address struct {
	Break    int // as DMXBreak of the type counts, from 1
	Absolute int // from 1; 0 is not patched
	At       Place
}

// Universe returns the universe and slot, both from 1.
func (a Address) Universe() (universe, slot int) {
	const slots = 512
	return (a.Absolute-1)/slots + 1, (a.Absolute-1)%slots + 1
}

// Severity of a problem.
type Severity uint8

// The severities, mildest first.
const (
	Note Severity = iota
	Warning
	Error
)

// Problem is something that is wrong with a plan.
type Problem struct {
	Code     string
	Severity Severity
	Message  string // one sentence
	At       Place
	Related  Place // the other of two; zero if there is none
}

func (p Problem) String() string { return fmt.Sprintf("%s (%s)", p.Message, p.Code) }
