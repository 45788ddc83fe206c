package facts

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Machine is a haze or fog machine of the patch.
type Machine struct {
	unknowns
	back    *back
	fixture *schema.Fixture
	kind    *schema.Type

	Channel  int      `expr:"channel"`          // its channel
	Type     string   `expr:"type"`             // the type that the patch names
	Kind     *string  `expr:"kind"`             // hazer or fogger
	Aerosol  *string  `expr:"aerosol"`          // what its fluid becomes in the air: glycols, glycerol or mineral oil
	Used     bool     `expr:"is_used"`          // whether any cue runs it
	RunS     *float64 `expr:"longest_run_s"`    // the longest time that it runs without a pause
	RunCues  string   `expr:"longest_run_cues"` // from which cue to which that is, as "1 to 17"
	Beams    bool     `expr:"show_has_beams"`   // whether the show has a look with a beam, for which the haze is meant
	Peak     *float64 `expr:"peak_mg_m3"`       // the most of its aerosol that hangs in the room, from all machines with the same fluid
	Mean     *float64 `expr:"eight_hour_mg_m3"` // mean over eight hours for somebody who is there all evening and in clean air for the rest
	PeakCue  string   `expr:"peak_cue"`         // the cue in which the peak is
	Settling *float64 `expr:"settling_per_h"`   // what the aerosol loses by itself, per hour: as the room says, or by the fluid
}

// Names returns the channel.
func (m *Machine) Names() []Name { return []Name{{"channel", strconv.Itoa(m.Channel)}} }

// Cue returns "": a machine is there all evening.
func (m *Machine) Cue() string { return "" }

// Ref returns the line of the patch.
func (m *Machine) Ref() source.Ref { return m.fixture.At }

// measureMachines tells what each machine does over the evening.
func measureMachines(e *evening.Evening, looks []*Look, changes []*Change, back *back) []*Machine {
	var machines []*Machine
	beams := slices.ContainsFunc(changes, func(c *Change) bool { return c.BeamCount > 0 })
	for _, c := range e.Air.ByFluid {
		for _, f := range c.Machines {
			m := &Machine{back: back, fixture: f, kind: e.Rig.Types[f.Type], Channel: f.Channel, Type: f.Type, Beams: beams}
			m.Used = e.Air.FirstUse([]*schema.Fixture{f}) < len(looks)
			m.fillKind()
			m.fillRun(e, looks)
			m.fillExposure(e, looks, c)
			machines = append(machines, m)
		}
	}
	return machines
}

func (m *Machine) fillKind() {
	switch {
	case m.kind == nil || m.kind.Machine == nil:
		m.lacks("kind", fmt.Sprintf("the machine of the type %q: hazer or fogger, fluid and output", m.Type))
		m.lacks("aerosol", fmt.Sprintf("the machine of the type %q: hazer or fogger, fluid and output", m.Type))
		return
	case m.kind.Machine.Kind == "":
		m.lacks("kind", fmt.Sprintf("whether the machine of the type %q is a hazer or a fogger", m.Type))
	default:
		m.Kind = &m.kind.Machine.Kind
	}
	if name, ok := evening.Aerosols[m.kind.Machine.Fluid]; ok {
		m.Aerosol = &name
	} else {
		m.lacks("aerosol", fmt.Sprintf("the fluid of the type %q: glycol, glycerol or oil", m.Type))
	}
}

// fillRun tells of the longest time that the machine runs.
func (m *Machine) fillRun(e *evening.Evening, looks []*Look) {
	longest, first, last, missing := e.LongestRun(m.Channel)
	if m.lacks("longest_run_s", missing...); len(missing) > 0 {
		return
	}
	m.RunS = &longest
	if first >= 0 {
		m.RunCues = fromTo(looks[first], looks[last])
	}
}

// fillExposure tells what somebody breathes who is in the room all evening.
func (m *Machine) fillExposure(e *evening.Evening, looks []*Look, c *evening.Air) {
	switch {
	case c.Course != nil:
		m.Settling = new(c.Room.SettlingPerHour)
	case c.Used:
		m.lacks("settling_per_h", e.Air.Missing...)
	default:
		m.lacks("settling_per_h", "a cue that runs a machine with this fluid")
	}
	b, missing := e.Air.BreathedOf(c)
	if m.lackAll([]string{"peak_mg_m3", "eight_hour_mg_m3"}, missing...); len(missing) > 0 {
		return
	}
	m.Peak, m.Mean = &b.Peak, &b.Mean
	m.restOnAir("peak_mg_m3", e.Air, m.Peak, b.LeastPeak, b.MostPeak)
	m.restOnAir("eight_hour_mg_m3", e.Air, m.Mean, b.LeastMean, b.MostMean)
	if b.Look >= 0 {
		m.PeakCue = looks[b.Look].Number
	}
}

// exposureShare is how much of an exposure limit a way back uses: levels are whole
// percent, and near the machine the air is thicker. Common practice, no source.
const exposureShare = 0.9

// SettingsToTurn are the settings of the machine with the level that keeps its aerosol
// at nine tenths of so many mg/m3 at any time and over eight hours: it is in
// proportion to the output.
func (m *Machine) SettingsToTurn(peakMgM3, meanMgM3 float64) []*Level {
	if m.Peak == nil || m.Mean == nil {
		return nil
	}
	factor := 1.0
	if *m.Peak > peakMgM3 {
		factor = min(factor, exposureShare*peakMgM3 / *m.Peak)
	}
	if *m.Mean > meanMgM3 {
		factor = min(factor, exposureShare*meanMgM3 / *m.Mean)
	}
	if factor == 1 {
		return nil
	}
	return newPlaced(m.back.all.Looks, m.back.evening.Scaled(m.fixture, factor))
}
