package facts

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/air"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Machine is a haze or fog machine of the patch.
type Machine struct {
	unknowns
	fixture *schema.Fixture
	kind    *schema.Type

	Channel  int       `expr:"channel"`          // its channel
	Type     string    `expr:"type"`             // the type that the patch names
	Kind     *string   `expr:"kind"`             // hazer or fogger
	Aerosol  *string   `expr:"aerosol"`          // what its fluid becomes in the air: glycols, glycerol or mineral oil
	Used     bool      `expr:"is_used"`          // whether any cue runs it
	RunS     *float64  `expr:"longest_run_s"`    // the longest time that it runs without a pause
	RunCues  string    `expr:"longest_run_cues"` // from which cue to which that is, as "1 to 17"
	Beams    bool      `expr:"show_has_beams"`   // whether the show has a look with a beam, for which the haze is meant
	Peak     *float64  `expr:"peak_mg_m3"`       // the most of its aerosol that hangs in the room, from all machines with the same fluid
	Mean     *float64  `expr:"eight_hour_mg_m3"` // mean over eight hours for somebody who is there all evening and in clean air for the rest
	PeakCue  string    `expr:"peak_cue"`         // the cue in which the peak is
	Turned   []*Placed `expr:"settings_to_turn"` // its settings with the level that keeps it at nine tenths of the published limits
	Settling *float64  `expr:"settling_per_h"`   // what the aerosol loses by itself, per hour: as the room says, or by the fluid
}

// Names returns the channel.
func (m *Machine) Names() []Name { return []Name{{"channel", strconv.Itoa(m.Channel)}} }

// Cue returns "": a machine is there all evening.
func (m *Machine) Cue() string { return "" }

// Ref returns the line of the patch.
func (m *Machine) Ref() source.Ref { return m.fixture.At }

// aerosols gives the fluids of show files the names of the exposure limits.
var aerosols = map[string]string{"glycol": "glycols", "glycerol": "glycerol", "oil": "mineral oil"}

// airCourses is what hangs in the air over the evening.
type airCourses struct {
	e        *evening
	machines []*schema.Fixture
	byFluid  []*airCourse
	missing  []string // why the haze is not known; empty if it is
	known    float64  // s on the evening's clock, up to which it is known
	until    string   // what would make it known behind that
	first    int      // the first look in which a machine runs; one behind the last if none does
	proposed int      // looks for which a proposal was sought
}

// airCourse is the haze of one kind of fluid.
type airCourse struct {
	fluid    string
	machines []*schema.Fixture
	room     air.Room
	course   *air.Course
	used     bool
}

// newAirCourses works out the haze over the evening: the air is clear when the
// running order begins.
func newAirCourses(e *evening) *airCourses {
	a := &airCourses{e: e, known: maxSeconds, first: len(e.looks)}
	byFluid := map[string]*airCourse{}
	for _, f := range e.rig.show.Patch {
		t := e.rig.types[f.Type]
		if f.Purpose != "haze" && (t == nil || t.Machine == nil) {
			continue
		}
		a.machines = append(a.machines, f)
		fluid := ""
		if t != nil && t.Machine != nil {
			fluid = t.Machine.Fluid
		}
		if byFluid[fluid] == nil {
			byFluid[fluid] = &airCourse{fluid: fluid}
			a.byFluid = append(a.byFluid, byFluid[fluid])
		}
		byFluid[fluid].machines = append(byFluid[fluid].machines, f)
	}
	a.clock()
	for _, c := range a.byFluid {
		if first := a.firstUse(c.machines); first < len(e.looks) {
			c.used, a.first = true, min(a.first, first)
			a.solve(c)
		}
	}
	return a
}

// firstUse is the first look that runs one of the machines; one behind the last
// if none does.
func (a *airCourses) firstUse(machines []*schema.Fixture) int {
	for i, look := range a.e.looks {
		for _, f := range machines {
			if look.look.State(f.Channel).Level > 0 {
				return i
			}
		}
	}
	return len(a.e.looks)
}

// clock finds out up to when the times of the machines' settings are known.
func (a *airCourses) clock() {
	t := a.e.time
	reached := 0.0
	for i, look := range a.e.looks {
		m := t.moments[i]
		if m.clock == 0 {
			reached = m.at
			continue
		}
		changed := slices.ContainsFunc(a.machines, func(f *schema.Fixture) bool {
			level := look.look.State(f.Channel).Level
			if i == 0 {
				return level > 0
			}
			return level != a.e.looks[i-1].look.State(f.Channel).Level
		})
		if changed && a.until == "" {
			a.known, a.until = reached, m.missing
		}
	}
}

func (a *airCourses) lack(phrase string) {
	if !slices.Contains(a.missing, phrase) {
		a.missing = append(a.missing, phrase)
	}
}

// roomOf is the air that the haze of a fluid hangs in.
func (a *airCourses) roomOf(c *airCourse) bool {
	room := a.e.rig.show.Room
	if room == nil || room.Air == nil || room.Air.VolumeM3 == nil || !(*room.Air.VolumeM3 > 0) {
		a.lack("the air of the room: a volume above zero")
	}
	if room == nil || room.Air == nil || room.Air.AirChangesPerH == nil || *room.Air.AirChangesPerH < 0 {
		a.lack("the air of the room: how often an hour it is changed")
	}
	if len(a.missing) > 0 {
		return false
	}
	c.room = air.Room{VolumeM3: *room.Air.VolumeM3, ACH: *room.Air.AirChangesPerH}
	if given := room.Air.SettlingPerH; given != nil {
		c.room.SettlingPerHour = *given
	} else if fluid, ok := air.FluidFor(aerosols[c.fluid]); ok {
		c.room.SettlingPerHour = fluid.SettlingPerHour
	} else {
		a.lack(fmt.Sprintf("the fluid of the haze machine on channel %d, or how fast haze settles in the room", c.machines[0].Channel))
		return false
	}
	return true
}

// solve works out the haze of one fluid.
func (a *airCourses) solve(c *airCourse) {
	if !a.roomOf(c) {
		return
	}
	for _, f := range c.machines {
		if a.output(f) == nil {
			a.lack(fmt.Sprintf("the aerosol output of the type %q, in mg an hour at full", f.Type))
			return
		}
	}
	course, err := air.Solve(c.room, 0, 0, a.changes(c, func(i int, f *schema.Fixture) float64 { return a.e.looks[i].look.State(f.Channel).Level }))
	if err != nil {
		a.lack("air and machine data that a room can have")
		return
	}
	c.course = course
}

// output is what a machine puts out at full, in mg/h; nil if it is not given.
func (a *airCourses) output(f *schema.Fixture) *float64 {
	t := a.e.rig.types[f.Type]
	if t == nil || t.Machine == nil {
		return nil
	}
	return t.Machine.OutputMgH
}

// changes are those of the output of all machines of a fluid, when level says
// what each machine is set to in each look.
func (a *airCourses) changes(c *airCourse, level func(look int, f *schema.Fixture) float64) []air.Change {
	var list []air.Change
	last := 0.0
	for i := range a.e.looks {
		m := a.e.time.moments[i]
		if m.clock != 0 || m.at > a.known {
			continue
		}
		sum := 0.0
		for _, f := range c.machines {
			sum += level(i, f) / 100 * *a.output(f)
		}
		if sum != last {
			list = append(list, air.Change{At: m.at + pacesOf(a.e.looks[i].look).first.delay, MgPerHour: sum})
			last = sum
		}
	}
	slices.SortStableFunc(list, func(x, y air.Change) int { return cmp.Compare(x.At, y.At) })
	return list
}

// at is the haze at a time of the evening, in mg/m3; nil with what is missing if
// that is not known.
func (a *airCourses) at(t float64) (level *float64, missing []string) {
	sum := 0.0
	for _, c := range a.byFluid {
		if !c.used {
			continue
		}
		if c.course == nil {
			return nil, a.missing
		}
		now, ok := c.course.At(t)
		if !ok {
			return nil, []string{"a time of the evening at which the haze can be told"}
		}
		sum += now
	}
	if t > a.known && a.until != "" {
		return nil, []string{a.until}
	}
	return &sum, nil
}

// measureBeams tells of every look with beams how much haze there is for them.
func (e *evening) measureBeams(changes []*Change) {
	first := true
	var beams []*schema.Fixture
	for _, f := range e.rig.show.Patch {
		if f.Purpose == "beam" && e.rig.stageLight(f) {
			beams = append(beams, f)
		}
	}
	for i, c := range changes {
		c.HazeRan = e.air.first < i
		var channels []int
		for _, f := range beams {
			if c.look.look.State(f.Channel).Level > 0 {
				channels = append(channels, f.Channel)
			}
		}
		c.BeamCount, c.BeamText = len(channels), schema.FormatChannels(channels)
		if c.BeamCount > 0 {
			c.FirstBeam, first = first, false
		}
		c.measureHaze(e, i)
	}
}

func (c *Change) measureHaze(e *evening, i int) {
	m := e.time.moments[i]
	switch {
	case e.air.first >= i:
		c.Haze = known(0.0)
	case m.missing != "":
		c.lacks("haze_mg_m3", m.missing)
	default:
		level, missing := e.air.at(m.at)
		for _, phrase := range missing {
			c.lacks("haze_mg_m3", phrase)
		}
		c.Haze = level
	}
	if c.Haze != nil && c.BeamCount > 0 && *c.Haze < air.BeamsClear {
		c.proposeHaze(e, i)
	} else {
		c.lacks("haze_can_reach", "a look with beams and too little haze")
	}
}

// hazeMargin is by how much more than the level at which beams read well a
// proposal goes: rounding of levels eats a part of it.
const hazeMargin = 1.02

// proposeHaze finds what brings the haze to where beams read well by a look:
// more output from the machines that run before it, or an earlier start.
func (c *Change) proposeHaze(e *evening, i int) {
	at := e.time.moments[i].at
	if e.time.moments[i].clock != 0 || len(e.air.missing) > 0 || len(e.air.machines) == 0 || e.air.proposed >= maxProposals {
		c.lacks("haze_can_reach", "a haze machine whose output and times are known")
		return
	}
	e.air.proposed++
	reach := true
	if *c.Haze > 0 { // the level in the air is in proportion to the output
		factor := air.BeamsClear * hazeMargin / *c.Haze
		seen := map[tracking.By]bool{}
		for k := range i {
			look := e.looks[k].look
			for _, f := range e.air.machines {
				state := look.State(f.Channel)
				if state.Level <= 0 || state.LevelBy.Look != k || seen[state.LevelBy] {
					continue
				}
				seen[state.LevelBy] = true
				wanted := roundUp(state.Level * factor)
				if wanted > 100 {
					reach, wanted = false, 100
				}
				c.HazeLevels = append(c.HazeLevels, &Turn{e.rig.lamp(look, f, state), wanted})
			}
		}
	} else {
		reach = false
	}
	c.HazeReach = &reach
	c.proposeStart(e, i, at)
}

// roundUp is a level to the whole percent above.
func roundUp(level float64) float64 {
	whole := float64(int(level))
	if whole < level {
		whole++
	}
	return whole
}

// maxProposals is for how many looks of a show a better haze is sought: with the
// first of them put right, the others mostly are.
const maxProposals = 20

// proposeStart finds the latest cue before a look from which the machines at full
// have the air ready for it. The earlier they start, the more haze there is, so
// the cues are halved.
func (c *Change) proposeStart(e *evening, i int, at float64) {
	a := e.air
	ready := func(k int) bool { // with the machines at full from look k on
		sum := 0.0
		for _, fluid := range a.byFluid {
			if !a.roomOf(fluid) || slices.ContainsFunc(fluid.machines, func(f *schema.Fixture) bool { return a.output(f) == nil }) {
				return false
			}
			level, ok := a.levelIf(fluid, at, func(look int, set float64) float64 {
				if look >= k && look < i {
					return 100
				}
				return set
			})
			if !ok {
				return false
			}
			sum += level
		}
		return sum >= air.BeamsClear
	}
	low, high := 0, i // ready from low on, not from high on
	if i == 0 || !ready(0) {
		return
	}
	for high-low > 1 {
		if middle := (low + high) / 2; ready(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	if e.time.moments[low].clock != 0 {
		return
	}
	c.HazeStartAt = e.looks[low].Number
	for _, f := range a.machines {
		c.HazeStart = append(c.HazeStart, &Placed{e.looks[low].look, f.Channel, 100})
	}
}

// levelIf is the haze of a fluid at a time if its machines were set otherwise.
func (a *airCourses) levelIf(c *airCourse, at float64, level func(look int, set float64) float64) (mg float64, ok bool) {
	course, err := air.Solve(c.room, 0, 0, a.changes(c, func(i int, f *schema.Fixture) float64 {
		return level(i, a.e.looks[i].look.State(f.Channel).Level)
	}))
	if err != nil {
		return 0, false
	}
	return course.At(at)
}

// measureMachines tells what each machine does over the evening.
func (e *evening) measureMachines(changes []*Change) []*Machine {
	var machines []*Machine
	beams := slices.ContainsFunc(changes, func(c *Change) bool { return c.BeamCount > 0 })
	for _, c := range e.air.byFluid {
		for _, f := range c.machines {
			m := &Machine{fixture: f, kind: e.rig.types[f.Type], Channel: f.Channel, Type: f.Type, Beams: beams}
			m.Used = e.air.firstUse([]*schema.Fixture{f}) < len(e.looks)
			m.measureKind()
			m.measureRuns(e)
			m.measureExposure(e, c)
			machines = append(machines, m)
		}
	}
	return machines
}

func (m *Machine) measureKind() {
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
	if name, ok := aerosols[m.kind.Machine.Fluid]; ok {
		m.Aerosol = &name
	} else {
		m.lacks("aerosol", fmt.Sprintf("the fluid of the type %q: glycol, glycerol or oil", m.Type))
	}
}

// measureRuns finds the longest time that the machine runs.
func (m *Machine) measureRuns(e *evening) {
	longest, first, last := 0.0, -1, -1
	run, since := 0.0, -1
	for i, look := range e.looks {
		if look.look.State(m.Channel).Level <= 0 {
			run, since = 0, -1
			continue
		}
		if since < 0 {
			since = i
		}
		stands, ok := e.time.until(i)
		if !ok {
			for _, phrase := range e.time.missing() {
				m.lacks("longest_run_s", phrase)
			}
			return
		}
		run += stands
		if since == first || run > longest+slack { // of two that are equally long the first
			longest, first, last = run, since, i
		}
	}
	m.RunS = &longest
	if first >= 0 {
		m.RunCues = e.looks[first].Number
		if last > first {
			m.RunCues += " to " + e.looks[last].Number
		}
	}
}

// exposureShare is how much of a published limit a proposal uses.
const exposureShare = 0.9

// measureExposure works out what somebody breathes who is in the room all evening.
func (m *Machine) measureExposure(e *evening, c *airCourse) {
	facts := []string{"peak_mg_m3", "eight_hour_mg_m3"}
	lack := func(phrases ...string) {
		for _, fact := range facts {
			for _, phrase := range phrases {
				m.lacks(fact, phrase)
			}
		}
	}
	if c.course != nil {
		m.Settling = known(c.room.SettlingPerHour)
	} else if c.used {
		m.copyWhy("settling_per_h", e.air.missing)
	} else {
		m.lacks("settling_per_h", "a cue that runs a machine with this fluid")
	}
	end, ok := e.time.end()
	switch {
	case !c.used:
		m.Peak, m.Mean = known(0.0), known(0.0)
		return
	case c.course == nil:
		lack(e.air.missing...)
		return
	case !ok:
		phrases := e.time.missing()
		if len(phrases) == 0 {
			phrases = []string{"the running order, with the duration of each segment"}
		}
		lack(phrases...)
		return
	case e.air.until != "" && end > e.air.known:
		lack(e.air.until)
		return
	}
	peak, at, ok1 := c.course.Peak(0, end)
	mean, ok2 := c.course.EightHourMean(0, end)
	if !ok1 || !ok2 {
		lack("a running order with a length")
		return
	}
	m.Peak, m.Mean = &peak, &mean
	for i, look := range e.looks {
		if peak > dust && e.time.moments[i].clock == 0 && e.time.moments[i].at <= at+slack {
			m.PeakCue = look.Number
		}
	}
	m.turn(e, peak, mean)
}

// turn proposes levels at which the aerosol stays under its published limits: it
// is in proportion to the output.
func (m *Machine) turn(e *evening, peak, mean float64) {
	if m.Aerosol == nil {
		return
	}
	limit, ok := air.LimitFor(*m.Aerosol)
	if !ok {
		return
	}
	factor := 1.0
	if peak > limit.PeakMgPerM3 {
		factor = min(factor, exposureShare*limit.PeakMgPerM3/peak)
	}
	if mean > limit.EightHourMean {
		factor = min(factor, exposureShare*limit.EightHourMean/mean)
	}
	if factor == 1 {
		return
	}
	for i, look := range e.looks {
		state := look.look.State(m.Channel)
		if state.Level > 0 && state.LevelBy.Look == i {
			m.Turned = append(m.Turned, &Placed{look.look, m.Channel, float64(int(state.Level * factor))})
		}
	}
}
