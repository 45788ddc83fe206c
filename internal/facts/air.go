package facts

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/air"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

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

// runs reports whether a machine runs in a look.
func (a *airCourses) runs(i int) bool {
	return slices.ContainsFunc(a.machines, func(f *schema.Fixture) bool { return a.e.looks[i].look.State(f.Channel).Level > 0 })
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

// hazeAt is the haze when a look's cue is called, in mg/m3; nil with what is missing
// if that is not known.
func (e *evening) hazeAt(i int) (level *float64, missing []string) {
	m := e.time.moments[i]
	switch {
	case e.air.first >= i:
		return new(0.0), nil
	case m.missing != "":
		return nil, []string{m.missing}
	}
	return e.air.at(m.at)
}

// placed is a channel with a level that it is to have from a look on.
type placed struct {
	look    int
	fixture *schema.Fixture
	level   float64 // percent
}

// hazeMargin is by how much more than the level at which beams read well a
// proposal goes: rounding of levels eats a part of it.
const hazeMargin = 1.02

// hazeLevels finds the settings of the machines before a look that bring the haze
// there from one level to another, in mg/m3: the level in the air is in proportion
// to the output. reach is false if one of them would have to be above full.
func (a *airCourses) hazeLevels(i int, from, to float64) (settings []placed, reach bool) {
	if !(from > 0) {
		return nil, false
	}
	reach = true
	factor := to * hazeMargin / from
	seen := map[tracking.By]bool{}
	for k := range i {
		for _, f := range a.machines {
			state := a.e.looks[k].look.State(f.Channel)
			if state.Level <= 0 || state.LevelBy.Look != k || seen[state.LevelBy] {
				continue
			}
			seen[state.LevelBy] = true
			wanted := math.Ceil(state.Level * factor)
			if wanted > 100 {
				reach, wanted = false, 100
			}
			settings = append(settings, placed{k, f, wanted})
		}
	}
	return settings, reach
}

// canAim reports whether it can be told what machines would do for a look.
func (a *airCourses) canAim(i int) bool {
	return a.e.time.moments[i].clock == 0 && len(a.missing) == 0 && len(a.machines) > 0
}

// hazeStart finds the latest look before another from which on the machines at full
// have a haze ready for it, in mg/m3. The earlier they start, the more haze there
// is, so the looks are halved.
func (a *airCourses) hazeStart(i int, mgM3 float64) (look int, ok bool) {
	at := a.e.time.moments[i].at
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
		return sum >= mgM3
	}
	low, high := 0, i // ready from low on, not from high on
	if i == 0 || !ready(0) {
		return 0, false
	}
	for high-low > 1 {
		if middle := (low + high) / 2; ready(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, a.e.time.moments[low].clock == 0
}

// hazeOff finds the last look from which on the haze is no more than a level at a
// time of the evening if all machines are off from there on, and the settings that
// do it.
func (a *airCourses) hazeOff(at, mgM3 float64) (look int, settings []placed, ok bool) {
	last := -1
	for i, m := range a.e.time.moments {
		if m.clock == 0 && m.at <= at {
			last = i
		}
	}
	clears := func(k int) bool {
		sum := 0.0
		for _, fluid := range a.byFluid {
			if !fluid.used {
				continue
			}
			level, ok := a.levelIf(fluid, at, func(look int, set float64) float64 {
				if look >= k {
					return 0
				}
				return set
			})
			if !ok {
				return false
			}
			sum += level
		}
		return sum <= mgM3
	}
	if last < 0 || !clears(0) {
		return 0, nil, false
	}
	low, high := 0, last+1 // clear from low on, not from high on
	for high-low > 1 {
		if middle := (low + high) / 2; clears(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	for i := low; i <= last; i++ {
		for _, f := range a.machines {
			state := a.e.looks[i].look.State(f.Channel)
			if i == low && state.Level > 0 || i > low && state.Level > 0 && state.LevelBy.Look == i {
				settings = append(settings, placed{i, f, 0})
			}
		}
	}
	return low, settings, true
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

// longestRun is the longest time that a channel is above zero without a pause, and
// the first and last look of it (-1 if it never is), or what is missing.
func (e *evening) longestRun(channel int) (s float64, first, last int, missing []string) {
	first, last = -1, -1
	run, since := 0.0, -1
	for i, look := range e.looks {
		if look.look.State(channel).Level <= 0 {
			run, since = 0, -1
			continue
		}
		if since < 0 {
			since = i
		}
		stands, ok := e.time.until(i)
		if !ok {
			return 0, -1, -1, e.time.missing()
		}
		run += stands
		if since == first || run > s+slack { // of two that are equally long the first
			s, first, last = run, since, i
		}
	}
	return s, first, last, nil
}

// breathed is what somebody breathes of one fluid who is in the room all evening, in
// mg/m3.
type breathed struct {
	peak, mean float64 // the most, and the mean over eight hours
	look       int     // the look in which the peak is; -1 if there is none
}

// breathedOf works out what is breathed of a fluid, or what is missing.
func (a *airCourses) breathedOf(c *airCourse) (b breathed, missing []string) {
	b.look = -1
	if !c.used {
		return b, nil
	}
	if c.course == nil {
		return b, a.missing
	}
	end, ok := a.e.time.end()
	if !ok {
		if missing = a.e.time.missing(); len(missing) == 0 {
			missing = []string{"the running order, with the duration of each segment"}
		}
		return b, missing
	}
	if a.until != "" && end > a.known {
		return b, []string{a.until}
	}
	peak, at, ok1 := c.course.Peak(0, end)
	mean, ok2 := c.course.EightHourMean(0, end)
	if !ok1 || !ok2 {
		return b, []string{"a running order with a length"}
	}
	b.peak, b.mean = peak, mean
	for i, m := range a.e.time.moments {
		if peak > dust && m.clock == 0 && m.at <= at+slack {
			b.look = i
		}
	}
	return b, nil
}

// scaled are the settings of a channel, each times a factor, in whole percent.
func (e *evening) scaled(f *schema.Fixture, factor float64) []placed {
	var settings []placed
	for i, look := range e.looks {
		if state := look.look.State(f.Channel); state.Level > 0 && state.LevelBy.Look == i {
			settings = append(settings, placed{i, f, float64(int(state.Level * factor))})
		}
	}
	return settings
}
