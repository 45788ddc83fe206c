// Package facts is what was measured about a show, in the words that rules may use.
//
// In go the show and its looks, out comes [Measured]: lists of subjects
// (fixtures, circuits, cues, looks, people, the show), each with facts as plain
// values whose names carry their unit. The facts are the public language of rule
// authors: the field's `expr` tag is the word, the comment behind it the
// explanation, and FACTS.md beside this file is made from both. A fact that
// cannot be known is nil, and the subject says what is missing; it is never zero
// and never NaN. A newcomer's mistake would be to let a rule see a file: a
// subject knows its places, and tells them only to reports.
package facts

import (
	"iter"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Name is one of the names that people know a subject by.
type Name struct{ Kind, Name string }

// Subject is one thing that rules judge.
type Subject interface {
	// Names says what it is, narrowest first: place, then segment.
	Names() []Name
	// Cue is the cue in which it shows, or "".
	Cue() string
	// Ref is where it stands in the show's files.
	Ref() source.Ref
	// Why says what would make an unknown fact known, in phrases such as
	// "the watts of the type warm profile 26".
	Why(fact string) []string
	// Basis says what a fact rests on: how it is known, what was inferred or assumed
	// for it, and between which numbers it lies if that is not quite right.
	Basis(fact string) finding.Basis
	// InPart calls use with each fact that is known of a part of what it is about alone, at
	// its worst; Why says what is missing of the rest.
	InPart(use func(fact string))
}

// Editor is a subject that a remedy can change.
type Editor interface {
	// Edits returns the changes that give a field a new value; a nil value
	// takes the field away.
	Edits(field string, value any) []source.Edit
}

// Measured is everything that rules may look at.
type Measured struct {
	Show     *Show
	Fixtures []*Fixture
	Circuits []*Circuit
	Cues     []*Cue
	Looks    []*Look
	People   []*Person
	Screens  []*Screen
	Showings []*Showing
	Changes  []*Change
	Segments []*Segment
	Machines []*Machine
	Minutes  []*Minute
	Cameras  []*Camera

	faces []*Person // also of those who wait in some light for their cue: what that changes is told of it
	none  map[string][]string
	back  *back

	before *Measured         // which was taken over from; nil if nothing was
	same   map[string][]bool // see Same
	slowly bool              // each look is measured, also those that are like an earlier one: for tests
	rest   func()            // measures what is left; see [Measured.Finish]
}

// Kinds lists the kinds of subject, in the word that rules use for each, with a
// value of its type.
func Kinds() map[string]Subject {
	return map[string]Subject{
		"show": (*Show)(nil), "fixture": (*Fixture)(nil), "circuit": (*Circuit)(nil),
		"cue": (*Cue)(nil), "look": (*Look)(nil), "person": (*Person)(nil), "screen": (*Screen)(nil), "lamp": (*Lamp)(nil), "showing": (*Showing)(nil),
		"change": (*Change)(nil), "segment": (*Segment)(nil), "machine": (*Machine)(nil), "minute": (*Minute)(nil), "camera": (*Camera)(nil),
	}
}

// Subjects returns all subjects of a kind, in the order of the show.
func (m *Measured) Subjects(kind string) []Subject {
	switch kind {
	case "show":
		return []Subject{m.Show}
	case "fixture":
		return widen(m.Fixtures)
	case "circuit":
		return widen(m.Circuits)
	case "cue":
		return widen(m.Cues)
	case "look":
		return widen(m.Looks)
	case "person":
		return widen(m.People)
	case "lamp":
		var lamps []Subject
		for _, lit := range m.Lit() {
			lamps = append(lamps, widen(newLamps(lit.Lamps))...)
		}
		return lamps
	case "screen":
		return widen(m.Screens)
	case "showing":
		return widen(m.Showings)
	case "change":
		return widen(m.Changes)
	case "segment":
		return widen(m.Segments)
	case "machine":
		return widen(m.Machines)
	case "minute":
		return widen(m.Minutes)
	case "camera":
		return widen(m.Cameras)
	}
	return nil
}

func widen[S Subject](list []S) []Subject {
	subjects := make([]Subject, len(list))
	for i, s := range list {
		subjects[i] = s
	}
	return subjects
}

// Lit measures the looks again, one after the other, as light. Each is good until the
// next: nothing of a look is kept but its facts.
func (m *Measured) Lit() iter.Seq2[*Look, *stage.LookLight] {
	return func(yield func(*Look, *stage.LookLight) bool) {
		walk := m.back.rig.Walk()
		var lit stage.LookLight
		for _, l := range m.Looks {
			if walk.To(l.look, &lit); !yield(l, &lit) {
				return
			}
		}
	}
}

// None says what the show would have to give for there to be a subject of the
// kind, when there is none.
func (m *Measured) None(kind string) []string { return m.none[kind] }

// Measure works out all facts of a show.
func Measure(show *schema.Show, looks []tracking.Look) *Measured {
	return MeasureAgain(show, looks, nil)
}

// MeasureAgain works out all facts of a changed copy of a show; its looks are those of
// [tracking.Again]. What the change does not touch is taken over: beams and lights, and
// the facts of every look that stands as before, in which nothing that has changed is lit.
func MeasureAgain(show *schema.Show, looks []tracking.Look, kept *Kept) *Measured {
	m := BeginAgain(show, looks, kept)
	m.Finish()
	return m
}

// early are the kinds of which [BeginAgain] measures all subjects, and late the facts of these
// that only the evening on the clock tells.
var (
	early = []string{"fixture", "circuit", "cue", "look", "person", "screen", "showing", "camera"}
	late  = []string{"look.picture_of_peak_pct"}
)

// IsEarly reports whether [BeginAgain] measures a fact, as "look.output_pct".
func IsEarly(path string) bool {
	kind, _, _ := strings.Cut(path, ".")
	return slices.Contains(early, kind) && !slices.Contains(late, path)
}

// Finish measures what [BeginAgain] has left.
func (m *Measured) Finish() {
	if m.rest != nil {
		delete(m.same, "look") // there are more facts of it
		m.rest()
		m.rest = nil
	}
}

// BeginAgain is MeasureAgain of what can be told without the evening on the clock, for those
// who may see by that alone that a change is no good. Nothing else may be asked for before
// [Measured.Finish].
func BeginAgain(show *schema.Show, looks []tracking.Look, kept *Kept) *Measured {
	var parts *stage.Kept
	var before *Measured
	var evenings *evening.Evening
	if kept != nil {
		parts, before, evenings = kept.rig, kept.m, kept.m.back.evening
	}
	rig := stage.NewRig(show, looks, parts)
	steady := rig.Steady(parts)
	m := &Measured{none: map[string][]string{}, before: before}
	m.back = &back{rig: rig, all: m}
	again := m.fixturesAgain(rig, looks, kept)
	if !again {
		m.Fixtures = m.measureFixtures(rig, looks)
		m.Circuits = measureCircuits(rig)
	}
	rewired := kept.onlyRewired(rig, steady)
	if rewired {
		m.takeOver(kept.m)
	} else {
		var cues []*Cue
		if again {
			cues = kept.m.Cues
		}
		m.Cues = measureCues(rig, cues)
		m.measureLooks(rig, looks, kept, steady)
		if !again {
			m.Screens = measureScreens(rig)
			m.Cameras = measureCameras(rig)
		}
	}
	m.fillFaceShares()
	var near neighbours
	for i, f := range m.Fixtures {
		if !again {
			if kept == nil || !rig.ShinesAs(kept.rig, i) || !f.seenAs(kept.m.Fixtures[i]) {
				f.fillOptics(rig.Room)
			}
			f.restOnPurpose()
			f.fillBands(rig, f.isUsed(), m.Looks)
		} else if was := kept.m; !rig.DimmedAs(kept.rig, i) || f.BandCue != "" && m.Looks[rig.Lines[i].DimmestIn].Number != was.Fixtures[i].BandCue {
			f.BandPct, f.BandShutter, f.BandLight, f.BandCamera, f.BandCue, f.PWMHz = nil, nil, nil, "", "", nil
			f.forget(bandFacts...)
			f.fillBands(rig, f.isUsed(), m.Looks)
		}
		near.share(&f.unknowns)
	}
	if !rewired {
		m.rest = func() { m.onTheClock(rig, looks, evenings, steady) }
	}
	return m
}

// onTheClock measures the evening, and what it takes to be complete.
func (m *Measured) onTheClock(rig *stage.Rig, looks []tracking.Look, evenings *evening.Evening, steady *stage.Steady) {
	show := rig.Show
	m.Show = measureShow(rig, m.Looks)
	m.Show.back = m.back
	evening := evening.NewEvening(rig, looks, evening.NewClock(show, looks), evenings, steady)
	m.back.evening = evening
	m.Changes = measureChanges(evening, m.Looks, m.faces)
	comparePicture(m.Looks, &evening.Dynamics)
	m.Segments = measureSegments(evening, m.Looks, m.Changes, m.back)
	m.Machines = measureMachines(evening, m.Looks, m.Changes, m.back)
	m.Minutes = measureMinutes(evening, m.Looks, m.Changes)
	m.Show.fillEvening(evening, m.Looks, m.Changes)

	need := func(kind string, found int, phrase string) {
		if found == 0 {
			m.none[kind] = []string{phrase}
		}
	}
	need("fixture", len(m.Fixtures), stage.NeedPatch)
	need("circuit", len(m.Circuits), "the circuits of the room, with volts and amps")
	need("cue", len(m.Cues), "the cue list")
	need("look", len(m.Looks), "the cue list")
	need("lamp", len(m.Looks), "the cue list")
	need("change", len(m.Changes), "the cue list")
	need("segment", len(m.Segments), "the running order, with the duration of each segment")
	need("minute", len(m.Minutes), "the running order, with the duration of each segment")
	need("camera", len(m.Cameras), "the cameras of the room, with the white balance of each")
	need("person", len(m.People), "the running order, with the places of the people in each segment")
	if show.Room == nil {
		need("screen", len(m.Screens), "the screens of the room, among its surfaces")
	}
}
