package evening

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/air"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Aerosols gives the fluids of show files the names of the exposure limits.
var Aerosols = map[string]string{"glycol": "glycols", "glycerol": "glycerol", "oil": "mineral oil"}

// Airs is what hangs in the air over the evening.
type Airs struct {
	e        *Evening
	Machines []*schema.Fixture
	ByFluid  []*Air
	Missing  []string // why the haze is not known; empty if it is
	known    float64  // s on the evening's clock, up to which it is known
	until    string   // what would make it known behind that
	First    int      // the first look in which a machine runs; one behind the last if none does
	Hung     float64  // mg/m3 that hang in the room when the first cue runs, as far as is said
	Rests    []string // what is assumed, each a phrase behind "this rests on"

	hung   air.Start // with how far off that may be
	Start  string    // what is assumed of it, such a phrase too, or ""
	unsaid bool      // there is haze, and nobody says whether some hung before
}

// Air is the haze of one kind of fluid.
type Air struct {
	fluid    string
	Machines []*schema.Fixture
	Room     air.Room
	Course   *air.Course
	Used     bool

	assumed     bool        // how fast it settles
	least, most *air.Course // as little and as much as there may be, by that and by what hung before; nil where the course is known
}

// NewAirCourses works out the haze over the evening, from what hangs in the room when the
// running order begins: clear air, if nobody says anything else.
func NewAirCourses(e *Evening) *Airs {
	a := &Airs{e: e, known: maxSeconds, First: len(e.Looks)}
	byFluid := map[string]*Air{}
	for _, f := range e.Rig.Show.Patch {
		t := e.Rig.Types[f.Type]
		if f.Purpose != "haze" && (t == nil || t.Machine == nil) {
			continue
		}
		a.Machines = append(a.Machines, f)
		fluid := ""
		if t != nil && t.Machine != nil {
			fluid = t.Machine.Fluid
		}
		if byFluid[fluid] == nil {
			byFluid[fluid] = &Air{fluid: fluid}
			a.ByFluid = append(a.ByFluid, byFluid[fluid])
		}
		byFluid[fluid].Machines = append(byFluid[fluid].Machines, f)
	}
	a.clock()
	for _, c := range a.ByFluid {
		if first := a.FirstUse(c.Machines); first < len(e.Looks) {
			c.Used, a.First = true, min(a.First, first)
		}
	}
	a.hang()
	for _, c := range a.ByFluid {
		if c.Used {
			a.solve(c)
		}
	}
	return a
}

// hang finds out what hangs in the room before the first cue. It counts as haze of the
// first fluid that is used, else of the first there is. Where haze is used and nobody says
// how it began, the room may have been hazed by hand before doors.
func (a *Airs) hang() {
	show := a.e.Rig.Show
	var given schema.Air
	if show.Room != nil && show.Room.Air != nil {
		given = *show.Room.Air
	}
	word, known := air.Starts[given.Start]
	switch {
	case given.StartMgM3 != nil:
		a.hung = air.Start{Usual: *given.StartMgM3, Least: *given.StartMgM3, Most: *given.StartMgM3}
	case known:
		if a.hung = word; word.Usual > 0 {
			a.Start = fmt.Sprintf("%.2g mg/m3 for the %s haze that hangs when the first cue runs", word.Usual, given.Start)
		}
	default:
		a.Start = "clear air when the first cue runs, since nobody says otherwise"
		if a.unsaid = a.First < len(a.e.Looks) || show.Notices != nil && show.Notices.Haze != ""; a.unsaid {
			a.hung = air.Start{Most: air.Starts["full"].Most}
		}
	}
	a.Hung = a.hung.Usual
	if a.Hung <= 0 || slices.ContainsFunc(a.ByFluid, func(c *Air) bool { return c.Used }) {
		return
	}
	if len(a.ByFluid) == 0 {
		a.ByFluid = append(a.ByFluid, &Air{})
	}
	a.ByFluid[0].Used = true
}

// Between is the least and the most haze that there may be at a time of the evening, in
// mg/m3, because nobody has measured what hung before the first cue or how fast haze settles.
func (a *Airs) Between(t float64) (least, most float64) {
	for _, c := range a.ByFluid {
		if c.Used && c.Course != nil {
			low, high := c.within(func(c *air.Course) (float64, bool) { return c.At(t) })
			least, most = least+low, most+high
		}
	}
	return least, most
}

// within is the least and the most of something of the haze of a fluid.
func (c *Air) within(of func(*air.Course) (float64, bool)) (least, most float64) {
	low, high := c.Course, c.Course
	if c.least != nil {
		low, high = c.least, c.most
	}
	least, _ = of(low)
	most, _ = of(high)
	return least, most
}

// left is the part of what hung before the first cue that is left at a time of the evening.
func (a *Airs) left(t float64) float64 {
	for _, c := range a.ByFluid {
		if c.Used && c.Course != nil {
			return c.Room.Left(t)
		}
	}
	return 1
}

// needStart is what would make known what hung before the first cue.
const needStart = "the air of the room: how much haze hangs there when the first cue runs (start)"

// Clear reports whether there is no haze all evening.
func (a *Airs) Clear() bool { return a.First >= len(a.e.Looks) && a.hung.Most <= 0 }

// hungOf is what of the haze before the first cue is of a fluid.
func (a *Airs) hungOf(c *Air) air.Start {
	for _, other := range a.ByFluid {
		if other.Used {
			if other == c {
				return a.hung
			}
			break
		}
	}
	return air.Start{}
}

// FirstUse is the first look that runs one of the machines; one behind the last
// if none does.
func (a *Airs) FirstUse(machines []*schema.Fixture) int {
	for i := range a.e.Looks {
		look := &a.e.Looks[i]
		for _, f := range machines {
			if look.State(f.Channel).Level > 0 {
				return i
			}
		}
	}
	return len(a.e.Looks)
}

// Runs reports whether a machine runs in a look.
func (a *Airs) Runs(i int) bool {
	return slices.ContainsFunc(a.Machines, func(f *schema.Fixture) bool { return a.e.Looks[i].State(f.Channel).Level > 0 })
}

// clock finds out up to when the times of the machines' settings are known.
func (a *Airs) clock() {
	t := a.e.Time
	reached := 0.0
	for i := range a.e.Looks {
		look := &a.e.Looks[i]
		m := t.Moments[i]
		if m.Clock == 0 {
			reached = m.At
			continue
		}
		changed := slices.ContainsFunc(a.Machines, func(f *schema.Fixture) bool {
			level := look.State(f.Channel).Level
			if i == 0 {
				return level > 0
			}
			return level != a.e.Looks[i-1].State(f.Channel).Level
		})
		if changed && a.until == "" {
			a.known, a.until = reached, m.Missing
		}
	}
}

func (a *Airs) lack(phrase string) {
	if !slices.Contains(a.Missing, phrase) {
		a.Missing = append(a.Missing, phrase)
	}
}

// roomOf is the air that the haze of a fluid hangs in.
func (a *Airs) roomOf(c *Air) bool {
	room := a.e.Rig.Show.Room
	if room == nil || room.Air == nil || room.Air.VolumeM3 == nil || !(*room.Air.VolumeM3 > 0) {
		a.lack("the air of the room: a volume above zero")
	}
	if room == nil || room.Air == nil || room.Air.AirChangesPerH == nil || *room.Air.AirChangesPerH < 0 {
		a.lack("the air of the room: how often an hour it is changed")
	}
	if len(a.Missing) > 0 {
		return false
	}
	c.Room = air.Room{VolumeM3: *room.Air.VolumeM3, ACH: *room.Air.AirChangesPerH}
	if given := room.Air.SettlingPerH; given != nil {
		c.Room.SettlingPerHour = *given
	} else if fluid, ok := air.FluidFor(Aerosols[c.fluid]); ok {
		c.Room.SettlingPerHour, c.assumed = fluid.SettlingPerHour, true
		phrase := fmt.Sprintf("how fast haze of %s goes by itself: %g times an hour, where %g to %g are possible", fluid.Aerosol,
			fluid.SettlingPerHour, fluid.SettlingPerHour/air.SettlingOff, fluid.SettlingPerHour*air.SettlingOff)
		if !slices.Contains(a.Rests, phrase) {
			a.Rests = append(a.Rests, phrase)
		}
	} else if len(c.Machines) > 0 {
		a.lack(fmt.Sprintf("the fluid of the haze machine on channel %d, or how fast haze settles in the room", c.Machines[0].Channel))
		return false
	} else {
		a.lack("how fast haze settles in the room")
		return false
	}
	return true
}

// solve works out the haze of one fluid.
func (a *Airs) solve(c *Air) {
	if !a.roomOf(c) {
		return
	}
	for _, f := range c.Machines {
		if a.output(f) == nil {
			a.lack(fmt.Sprintf("the aerosol output of the type %q, in mg an hour at full", f.Type))
			return
		}
	}
	hung := a.hungOf(c)
	changes := a.changes(c, func(i int, f *schema.Fixture) float64 { return a.e.Looks[i].State(f.Channel).Level })
	course, err := air.Solve(c.Room, 0, hung.Usual, changes)
	if err != nil {
		a.lack("air and machine data that a room can have")
		return
	}
	c.Course = course
	slow, fast := c.Room, c.Room
	if c.assumed {
		slow.SettlingPerHour, fast.SettlingPerHour = c.Room.SettlingPerHour/air.SettlingOff, c.Room.SettlingPerHour*air.SettlingOff
	} else if hung.Least == hung.Most {
		return
	}
	least, err1 := air.Solve(fast, 0, hung.Least, changes)
	if most, err := air.Solve(slow, 0, hung.Most, changes); err == nil && err1 == nil {
		c.least, c.most = least, most
	}
}

// output is what a machine puts out at full, in mg/h; nil if it is not given.
func (a *Airs) output(f *schema.Fixture) *float64 {
	t := a.e.Rig.Types[f.Type]
	if t == nil || t.Machine == nil {
		return nil
	}
	return t.Machine.OutputMgH
}

// changes are those of the output of all machines of a fluid, when level says
// what each machine is set to in each look.
func (a *Airs) changes(c *Air, level func(look int, f *schema.Fixture) float64) []air.Change {
	var list []air.Change
	last := 0.0
	for i := range a.e.Looks {
		m := a.e.Time.Moments[i]
		if m.Clock != 0 || m.At > a.known {
			continue
		}
		sum := 0.0
		for _, f := range c.Machines {
			sum += level(i, f) / 100 * *a.output(f)
		}
		if sum != last {
			list = append(list, air.Change{At: m.At + pacesOf(&a.e.Looks[i]).first.delay, MgPerHour: sum})
			last = sum
		}
	}
	slices.SortStableFunc(list, func(x, y air.Change) int { return cmp.Compare(x.At, y.At) })
	return list
}

// At is the haze at a time of the evening, in mg/m3; nil with what is missing if
// that is not known.
func (a *Airs) At(t float64) (level *float64, missing []string) {
	sum := 0.0
	for _, c := range a.ByFluid {
		if !c.Used {
			continue
		}
		if c.Course == nil {
			return nil, a.lacking()
		}
		now, ok := c.Course.At(t)
		if !ok {
			return nil, []string{"a time of the evening at which the haze can be told"}
		}
		sum += now
	}
	if t > a.known && a.until != "" {
		return nil, []string{a.until}
	}
	if more := a.left(t) * (a.hung.Most - a.hung.Usual); a.unsaid && (a.First >= len(a.e.Looks) || sum < air.BeamsFaint && sum+more >= air.BeamsFaint) {
		return nil, []string{needStart} // it decides whether there is haze to see
	}
	return &sum, nil
}

// lacking is why the haze is not known at any time.
func (a *Airs) lacking() []string {
	if a.unsaid {
		return append(slices.Clone(a.Missing), needStart)
	}
	return a.Missing
}

// HazeAt is the haze when a look's cue is called, in mg/m3; nil with what is missing
// if that is not known.
func (e *Evening) HazeAt(i int) (level *float64, missing []string) {
	m := e.Time.Moments[i]
	switch {
	case e.Air.First >= i && e.Air.hung.Most <= 0:
		return new(0.0), nil
	case e.Air.First >= i && e.Air.unsaid && m.Missing != "":
		return nil, []string{needStart}
	case m.Missing != "":
		return nil, []string{m.Missing}
	}
	return e.Air.At(m.At)
}

// LampLevel is a channel with a level that it is to have from a look on.
type LampLevel struct {
	Look    int
	Fixture *schema.Fixture
	Level   float64 // percent
}

// hazeMargin is by how much more than the level at which beams read well a
// proposal goes: rounding of levels eats a part of it.
const hazeMargin = 1.02

// HazeLevels finds the settings of the machines before a look that bring the haze
// there from one level to another, in mg/m3: what the machines add is in proportion
// to their output. reach is false if one of them would have to be above full.
func (a *Airs) HazeLevels(i int, from, to float64) (settings []LampLevel, reach bool) {
	left := a.Hung * a.left(a.e.Time.Moments[i].At)
	if !(from > left) {
		return nil, false
	}
	reach = true
	factor := (to*hazeMargin - left) / (from - left)
	seen := map[tracking.By]bool{}
	for k := range i {
		for _, f := range a.Machines {
			state := a.e.Looks[k].State(f.Channel)
			if state.Level <= 0 {
				continue
			}
			by := a.e.Looks[k].SetBy(f.Channel, tracking.LevelBy)
			if by.Look != k || seen[by] {
				continue
			}
			seen[by] = true
			wanted := math.Ceil(state.Level * factor)
			if wanted > 100 {
				reach, wanted = false, 100
			}
			settings = append(settings, LampLevel{k, f, wanted})
		}
	}
	return settings, reach
}

// CanAim reports whether it can be told what machines would do for a look.
func (a *Airs) CanAim(i int) bool {
	return a.e.Time.Moments[i].Clock == 0 && len(a.Missing) == 0 && len(a.Machines) > 0
}

// HazeStart finds the latest look before another from which on the machines at full
// have a haze ready for it, in mg/m3. The earlier they start, the more haze there
// is, so the looks are halved.
func (a *Airs) HazeStart(i int, mgM3 float64) (look int, ok bool) {
	at := a.e.Time.Moments[i].At
	ready := func(k int) bool { // with the machines at full from look k on
		sum := 0.0
		for _, fluid := range a.ByFluid {
			if !a.roomOf(fluid) || slices.ContainsFunc(fluid.Machines, func(f *schema.Fixture) bool { return a.output(f) == nil }) {
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
	return low, a.e.Time.Moments[low].Clock == 0
}

// HazeOff finds the last look from which on the haze is no more than a level at a
// time of the evening if all machines are off from there on, and the settings that
// do it.
func (a *Airs) HazeOff(at, mgM3 float64) (look int, settings []LampLevel, ok bool) {
	last := -1
	for i, m := range a.e.Time.Moments {
		if m.Clock == 0 && m.At <= at {
			last = i
		}
	}
	clears := func(k int) bool {
		sum := 0.0
		for _, fluid := range a.ByFluid {
			if !fluid.Used {
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
		for _, f := range a.Machines {
			state := a.e.Looks[i].State(f.Channel)
			if state.Level > 0 && (i == low || a.e.Looks[i].SetBy(f.Channel, tracking.LevelBy).Look == i) {
				settings = append(settings, LampLevel{i, f, 0})
			}
		}
	}
	return low, settings, true
}

// levelIf is the haze of a fluid at a time if its machines were set otherwise.
func (a *Airs) levelIf(c *Air, at float64, level func(look int, set float64) float64) (mg float64, ok bool) {
	course, err := air.Solve(c.Room, 0, a.hungOf(c).Usual, a.changes(c, func(i int, f *schema.Fixture) float64 {
		return level(i, a.e.Looks[i].State(f.Channel).Level)
	}))
	if err != nil {
		return 0, false
	}
	return course.At(at)
}

// LongestRun is the longest time that a channel is above zero without a pause, and
// the first and last look of it (-1 if it never is), or what is missing.
func (e *Evening) LongestRun(channel int) (s float64, first, last int, missing []string) {
	first, last = -1, -1
	run, since := 0.0, -1
	for i := range e.Looks {
		look := &e.Looks[i]
		if look.State(channel).Level <= 0 {
			run, since = 0, -1
			continue
		}
		if since < 0 {
			since = i
		}
		stands, ok := e.Time.Until(i)
		if !ok {
			return 0, -1, -1, e.Time.Missing()
		}
		run += stands
		if since == first || run > s+slack { // of two that are equally long the first
			s, first, last = run, since, i
		}
	}
	return s, first, last, nil
}

// AirExposure is what somebody breathes of one fluid who is in the room all evening, in
// mg/m3.
type AirExposure struct {
	Peak, Mean float64 // the most, and the mean over eight hours
	// What they are at least and at most; see [Airs.Between].
	LeastPeak, MostPeak, LeastMean, MostMean float64

	Look int // the look in which the peak is; -1 if there is none
}

// BreathedOf works out what is breathed of a fluid, or what is missing.
func (a *Airs) BreathedOf(c *Air) (b AirExposure, missing []string) {
	b.Look = -1
	if !c.Used {
		return b, nil
	}
	if c.Course == nil {
		return b, a.Missing
	}
	end, ok := a.e.Time.End()
	if !ok {
		if missing = a.e.Time.Missing(); len(missing) == 0 {
			missing = []string{"the running order, with the duration of each segment"}
		}
		return b, missing
	}
	if a.until != "" && end > a.known {
		return b, []string{a.until}
	}
	peak, at, ok1 := c.Course.Peak(0, end)
	over := func(c *air.Course) (float64, bool) { return c.EightHourMean(0, end) }
	mean, ok2 := over(c.Course)
	if !ok1 || !ok2 {
		return b, []string{"a running order with a length"}
	}
	b.Peak, b.Mean = peak, mean
	b.LeastMean, b.MostMean = c.within(over)
	b.LeastPeak, b.MostPeak = c.within(func(c *air.Course) (float64, bool) {
		peak, _, ok := c.Peak(0, end)
		return peak, ok
	})
	for i, m := range a.e.Time.Moments {
		if peak > dust && m.Clock == 0 && m.At <= at+slack {
			b.Look = i
		}
	}
	return b, nil
}

// Scaled are the settings of a channel, each times a factor, in whole percent.
func (e *Evening) Scaled(f *schema.Fixture, factor float64) []LampLevel {
	var settings []LampLevel
	for i := range e.Looks {
		look := &e.Looks[i]
		if state := look.State(f.Channel); state.Level > 0 && look.SetBy(f.Channel, tracking.LevelBy).Look == i {
			settings = append(settings, LampLevel{i, f, float64(int(state.Level * factor))})
		}
	}
	return settings
}
