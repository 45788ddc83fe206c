package evening

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/flash"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// How stage light becomes relative luminance, and what flashes together.
//
// The flash rules count changes of relative luminance, where 1 is the white of
// the picture. Two pictures are judged, and the worse of them counts:
//
//   - each face, surface and the floor, on which the light of several lamps adds up: 1 is
//     all that flashes there at its highest. The light of lamps that do not flash is
//     left out, which would only make flashes weaker. Where nobody can tell where the
//     light of a lamp lands, all of the look falls on one place, of which 1 is the
//     brightest look of the show.
//   - a lamp that somebody may look into, or that lights what nobody described: 1 is that
//     lamp alone, at the highest of its strobe or effect, or for fast cues at its brightest
//     in the show. It fills the field of view of whoever looks into it.
//
// Strobes and effects of one rate are taken to run in step, as one machine that
// gives the time makes them; those of different rates are not in step, and their
// rates add up. Flashes from cues that follow each other within a second are added
// to those of the strobes and effects that run meanwhile: that may be more than
// anybody will see, and never is less. Effects of movement are not counted.
const (
	// fastS is how near two cues have to be for their changes to count together.
	fastS = 1.0
	// btWhite is the white of the picture that ITU-R BT.1702 is held against, in
	// cd/m2: 200 is a usual setting of a television set. Common practice, no source.
	btWhite = 200.0
)

// Pulse is a lamp that runs an effect, with the same effect slowed down.
type Pulse struct {
	Lamp   *stage.Lamp
	Slower schema.Effect
}

// LookFlashes is what flashes in a look.
type LookFlashes struct {
	General, Red, BT1702 float64 // flashes a second
	Words                []string
	On                   bool     // a strobe, or an effect that flashes like one
	Fast                 bool     // cues within a second of each other are part of it
	Missing              []string // why the numbers are not known; empty if they are

	// So many of these are sure, and the others rest on all light falling on one place.
	SureGeneral, SureRed, SureBT1702 float64
	Rests                            []string // each a phrase behind "this rests on"

	Sight stage.Sight // how much of what people see flashes

	groups []clockGroup
}

// countFlashes counts the flashes of every look.
func (e *Evening) countFlashes(was *Evening, alike bool) []*LookFlashes {
	flashers := e.flashers()
	peak := e.emitted // flashing must not be hidden by where the light lands
	hues := sweeps{cycles: map[*schema.Type][]flash.Light{}, counted: map[sweepKey]flash.Result{}}
	if was != nil && slices.Equal(was.Rig.Show.Types, e.Rig.Show.Types) {
		hues = sweeps{maps.Clone(was.sweeps.cycles), maps.Clone(was.sweeps.counted)}
	}
	e.sweeps = hues
	// Beams that were laid out anew may have other places in the matrix.
	usable := alike && was.Rig.Room.Transport == e.Rig.Room.Transport && was.emitted == peak && slices.Equal(was.flashing.fixtures, flashers) && was.Air.Clear() == e.Air.Clear()
	now := flashingStates{fixtures: flashers}
	list := make([]*LookFlashes, len(e.Looks))
	states := make([]*tracking.State, len(flashers))
	for i := range e.Looks {
		look := &e.Looks[i]
		for k, f := range flashers {
			states[k] = look.State(f.Channel)
		}
		last := len(now.made) - 1
		if last < 0 || !slices.Equal(states, now.states[last]) {
			made := was.madeOf(states, usable)
			if made == nil {
				made = e.flashingOf(look, flashers, states, peak, hues)
			}
			now.states, now.made = append(now.states, slices.Clone(states)), append(now.made, made)
			last++
		}
		list[i] = now.made[last]
	}
	e.flashing = now
	e.countFastCues(list, peak)
	return list
}

// flashingStates are what some fixtures do over the evening, without what they do again in
// the next look, and what flashes then.
type flashingStates struct {
	fixtures []*schema.Fixture
	states   [][]*tracking.State
	made     []*LookFlashes
}

// madeOf is what flashes where the fixtures have these states; nil if it is not known.
func (e *Evening) madeOf(states []*tracking.State, usable bool) *LookFlashes {
	if !usable {
		return nil
	}
	i := slices.IndexFunc(e.flashing.states, func(s []*tracking.State) bool { return slices.Equal(s, states) })
	if i < 0 {
		return nil
	}
	return e.flashing.made[i]
}

// flashers are the fixtures that any cue gives a strobe or an effect.
func (e *Evening) flashers() []*schema.Fixture {
	channels := map[int]bool{}
	for _, cue := range e.Rig.Show.Cues {
		for _, s := range cue.Set {
			if s.StrobeHz == nil && s.Effect == nil {
				continue
			}
			list, _ := e.Rig.Show.Channels(s.Channels)
			for _, channel := range list {
				channels[channel] = true
			}
		}
	}
	if len(channels) == 0 {
		return nil
	}
	var flashers []*schema.Fixture
	for _, f := range e.Rig.Show.Patch {
		if t := e.Rig.Types[f.Type]; channels[f.Channel] && (t == nil || t.Machine == nil && t.Source != "none") && f.Purpose != "haze" {
			flashers = append(flashers, f)
		}
	}
	return flashers
}

// flasher is one lamp that flashes, by its strobe or by an effect.
type flasher struct {
	lamp      *stage.Lamp
	hz        float64
	duty      float64 // of a cycle
	low, high float64 // parts of its light
	spread    float64 // of a cycle, from the first lamp to one behind the last
	group     flashGroup
	effect    *schema.Effect
	colourful bool // it runs through hues
}

// flashGroup is lamps that share a clock: those of one rate.
type flashGroup struct {
	hz        float64
	colourful bool
}

// flashingOf works out what flashes in a look.
func (e *Evening) flashingOf(look *tracking.Look, fixtures []*schema.Fixture, states []*tracking.State, peak float64, hues sweeps) *LookFlashes {
	f := &LookFlashes{}
	var list []*flasher
	for k, fixture := range fixtures {
		state := states[k]
		if state.Level <= 0 || state.Rest == nil || state.Rest.StrobeHz == nil && state.Rest.Effect == nil {
			continue
		}
		lamp := e.Rig.Lamp(look, fixture, state)
		if e.Rig.Show.Room != nil {
			lamp.Beam = e.Rig.Room.Beam(fixture, state)
		}
		list = append(list, f.sourcesOf(lamp)...)
	}
	if len(list) == 0 {
		return f
	}
	groups := map[flashGroup][]*flasher{}
	var order []flashGroup
	for _, s := range list {
		if groups[s.group] == nil {
			order = append(order, s.group)
		}
		groups[s.group] = append(groups[s.group], s)
	}
	slices.SortFunc(order, func(a, b flashGroup) int {
		if a.hz != b.hz {
			return int(math.Copysign(1, a.hz-b.hz))
		}
		return 0
	})
	f.count(e, order, groups, peak, hues)
	for _, s := range list {
		f.On = f.On || s.strobes()
	}
	f.look(e, list)
	return f
}

// look tells how much of what people see the lamps light that flash. In haze their beams flash too.
func (f *LookFlashes) look(e *Evening, list []*flasher) {
	switch {
	case e.Rig.Show.Room == nil || e.Rig.Room.Transport == nil:
		f.Sight = stage.Sight{NoPicture: "the room, with its cameras", NoField: "the room, with the areas where people sit"}
	case !e.Air.Clear():
		f.Sight = stage.Everywhere
	default:
		var lamps []*stage.Lamp
		for _, s := range list {
			if !slices.Contains(lamps, s.lamp) {
				lamps = append(lamps, s.lamp)
			}
		}
		f.Sight = e.Rig.Room.SightOf(lamps, leastFlash)
	}
}

// sourcesOf lists what makes a lamp flash: its own strobe, and its effect.
func (f *LookFlashes) sourcesOf(lamp *stage.Lamp) []*flasher {
	var list []*flasher
	rest := lamp.State.Rest
	if hz := stage.Positive(rest.StrobeHz); hz > 0 {
		s := &flasher{lamp: lamp, hz: hz, duty: 0.5, high: 1, group: flashGroup{hz: hz}}
		if f.refuse(s) {
			return nil
		}
		list = append(list, s)
	}
	effect := rest.Effect
	if effect == nil {
		return list
	}
	part := func(given *float64, otherwise float64) float64 {
		if given == nil || math.IsNaN(*given) {
			return otherwise
		}
		return min(max(*given/100, 0), 1)
	}
	s := &flasher{lamp: lamp, effect: effect, low: part(effect.LowPct, 0), high: part(effect.HighPct, 1)}
	switch effect.Kind {
	case "strobe", "pulse":
		s.duty, s.spread = part(effect.DutyPct, 0.5), part(effect.SpreadPct, 0)
	case "chase":
		s.duty, s.spread = part(effect.DutyPct, 0), part(effect.SpreadPct, 1) // a duty of 0 is one step of the chase
	case "hue-sweep", "rainbow":
		s.colourful = true
	default:
		return list // movement does not flash the lamp
	}
	if effect.RateHz == nil {
		phrase := fmt.Sprintf("the rate of the effect on channel %d", lamp.Channel)
		if !slices.Contains(f.Missing, phrase) {
			f.Missing = append(f.Missing, phrase)
		}
		f.On = f.On || effect.Kind == "strobe"
		return list
	}
	s.hz = *effect.RateHz
	s.group = flashGroup{hz: s.hz, colourful: s.colourful}
	if s.hz == 0 || f.refuse(s) {
		return list
	}
	return append(list, s)
}

// strobes reports whether people would call the source a strobe: it is one, or
// it flashes faster than three times a second.
func (s *flasher) strobes() bool {
	if s.effect == nil || s.effect.Kind == "strobe" {
		return true
	}
	const least = 0.1 // of the light: a change of less is no flash (WCAG 2.2)
	return !s.colourful && s.hz > flash.MaxFlashes && s.high-s.low >= least*s.high
}

// refuse reports whether no lamp can have the rate of a source, and says so.
func (f *LookFlashes) refuse(s *flasher) bool {
	if s.hz >= 0 && s.hz <= flash.MaxHz {
		return false
	}
	phrase := fmt.Sprintf("a rate of the flashing of channel %d that a lamp can have", s.lamp.Channel)
	if !slices.Contains(f.Missing, phrase) {
		f.Missing = append(f.Missing, phrase)
	}
	return true
}

// light turns an amount into what the flash rules see, where 1 is a luminance of unit lumens.
func (a Amount) light(unit float64) flash.Light {
	if unit <= 0 || !a.finite() {
		return flash.Light{}
	}
	return flash.Light{Y: a.Y / unit, R: a.r / unit, G: a.g / unit, B: a.b / unit}
}

// rates is how often something flashes in a second.
type rates struct{ general, red, bt float64 }

func (c rates) plus(o rates) rates {
	return rates{c.general + o.general, c.red + o.red, c.bt + o.bt}
}

func (c rates) most(o rates) rates {
	return rates{max(c.general, o.general), max(c.red, o.red), max(c.bt, o.bt)}
}

func countedOf(r flash.Result, bt float64) rates {
	return rates{r.General.Flashes(), r.Red.Flashes(), bt}
}

// count adds up the groups of a look where they are seen together: on a face, a surface or
// the floor on which their light lands, and at a lamp that flashes in two ways. Lamps that
// land side by side count each for its own area. Where nobody can tell where the light of
// one of them lands, all of it is taken to fall on one place, which is never too few.
func (f *LookFlashes) count(e *Evening, order []flashGroup, groups map[flashGroup][]*flasher, peak float64, hues sweeps) {
	var every []*flasher
	for _, g := range order {
		every = append(every, groups[g]...)
	}
	apart := e.Rig.Show.Room != nil && !slices.ContainsFunc(every, func(s *flasher) bool { return !s.lands() })
	fields := e.fields(every)
	byArea, byLamp := make([]rates, len(fields)), map[*schema.Fixture]rates{}
	var bound, worst rates
	unseen := e.unseen(every, fields)
	for _, g := range order {
		list := groups[g]
		all, strobes := rates{}, rates{general: outOfStep(list)}
		for _, s := range list {
			if unseen[s.lamp.Fixture] {
				continue // its light counts where it lands, with what lands there beside it
			}
			alone := s.count(hues)
			all = all.most(alone)
			byLamp[s.lamp.Fixture] = byLamp[s.lamp.Fixture].plus(alone)
		}
		for k, field := range fields {
			there := landing(list, field, g.hz, hues)
			all = all.most(there)
			byArea[k] = byArea[k].plus(there)
		}
		all = all.most(strobes)
		if !apart {
			all = all.most(inOne(list, g.hz, peak))
		}
		bound, worst = bound.plus(all), worst.most(strobes)
		f.tell(g, list, all)
	}
	for _, c := range byArea {
		worst = worst.most(c)
	}
	for _, c := range byLamp {
		worst = worst.most(c)
	}
	f.SureGeneral, f.SureRed, f.SureBT1702 = worst.general, worst.red, worst.bt
	if apart {
		bound = worst
	} else {
		f.Rests = []string{"the light of " + astray(every) + " falling where the others flash"}
	}
	f.General, f.Red, f.BT1702 = bound.general, bound.red, bound.bt
}

// astray names the lamps of which nobody can tell where their light lands.
func astray(list []*flasher) string {
	var channels []int
	for _, s := range list {
		if !s.lands() {
			channels = append(channels, s.lamp.Channel)
		}
	}
	return schema.ChannelWords(channels)
}

// lands reports whether it is known where the light of a lamp lands.
func (s *flasher) lands() bool {
	b := s.lamp.Beam
	return s.lamp.Missing == "" && b != nil && b.Missing == "" && b.Column >= 0
}

// field is a point of a face, a surface or the floor: the light that each lamp which
// flashes gives there.
type field map[*flasher]float64

// leastFlash is the part of the strongest light at a point under which another is no part
// of the flashing there: a change of less is no flash (WCAG 2.2).
const leastFlash = 0.1

// unseen are the lamps that nobody looks into, in clear air, and that light nothing but what
// the fields are of. What they do counts there, where another may fill the gaps of their
// flashes; a lamp that is seen itself has no such excuse.
func (e *Evening) unseen(list []*flasher, fields []field) map[*schema.Fixture]bool {
	unseen := map[*schema.Fixture]bool{}
	if !e.Air.Clear() {
		return unseen
	}
	for _, s := range list {
		unseen[s.lamp.Fixture] = s.lands() && e.Rig.Room.Unseen(s.lamp) &&
			slices.ContainsFunc(fields, func(there field) bool { return there[s] > 0 })
	}
	return unseen
}

// fields are the points where the light of some lamps lands: of all that the same lamps
// light, the one where they are most alike, and for each of them the one of which it has
// most.
func (e *Evening) fields(list []*flasher) []field {
	room := e.Rig.Room
	if len(list) < 2 || e.Rig.Show.Room == nil || room.Transport == nil {
		return nil
	}
	at := map[int][]int{} // by receiver, who lights it
	lux := map[int][]float64{}
	for n, s := range list {
		if !s.lands() || !(s.lamp.XYZ.Y > 0) {
			continue
		}
		room.Lights(s.lamp.Beam, func(receiver int, full float64) {
			if arrives := full * s.lamp.Share; arrives > 0 {
				at[receiver], lux[receiver] = append(at[receiver], n), append(lux[receiver], arrives)
			}
		})
	}
	return pointsOf(list, at, lux)
}

// pointsOf are the fields of lamps of which at says which of them light a point, and lux how
// much each gives there.
func pointsOf(list []*flasher, at map[int][]int, lux map[int][]float64) []field {
	brightest := 0.0 // a point that is dark beside it is none where anything flashes
	for _, list := range lux {
		brightest = max(brightest, slices.Max(list))
	}
	type extreme struct {
		set  string // the lamps
		lamp int    // of which it has most; -1: where they are most alike
	}
	most, best := map[extreme]float64{}, map[extreme]field{}
	for _, receiver := range slices.Sorted(maps.Keys(at)) {
		strongest := slices.Max(lux[receiver])
		if strongest < leastFlash*brightest {
			continue
		}
		least, sum, there, name := strongest, 0.0, field{}, ""
		for k, n := range at[receiver] {
			if arrives := lux[receiver][k]; arrives >= leastFlash*strongest {
				there[list[n]], least, sum = arrives, min(least, arrives), sum+arrives
				name += fmt.Sprint(n, " ")
			}
		}
		keep := func(lamp int, part float64) {
			if at := (extreme{name, lamp}); part > most[at] {
				most[at], best[at] = part, there
			}
		}
		keep(-1, least/strongest)
		for k, n := range at[receiver] {
			if lux[receiver][k] >= leastFlash*strongest {
				keep(n, lux[receiver][k]/sum)
			}
		}
	}
	var fields []field
	for _, at := range slices.SortedFunc(maps.Keys(best), func(a, b extreme) int { return cmp.Or(strings.Compare(a.set, b.set), a.lamp-b.lamp) }) {
		fields = append(fields, best[at])
	}
	return fields
}

// count is how often the lamp flashes where it alone gives the light.
func (s *flasher) count(hues sweeps) rates {
	if s.colourful {
		result := s.sweep(hues)
		return countedOf(result, result.General.Flashes())
	}
	return countedOf(s.alone())
}

// inOne counts the flashes of lamps of one rate whose light all falls on one place, of
// which peak is the most.
func inOne(list []*flasher, hz, peak float64) rates {
	var strobes, bt []flash.Strobe
	for k, s := range list {
		if s.colourful {
			continue
		}
		on, off := s.amounts()
		strobe := flash.Strobe{Hz: s.hz, Duty: s.dutyAmong(len(list)), Phase: s.phase(k, len(list))}
		strobe.On, strobe.Off = on.light(peak), off.light(peak)
		strobes = append(strobes, strobe)
		strobe.On, strobe.Off = scaled(strobe.On), scaled(strobe.Off)
		bt = append(bt, strobe)
	}
	if len(strobes) == 0 || !(peak > 0) {
		return rates{}
	}
	return strobesTogether(strobes, bt, hz)
}

// strobesTogether counts strobes of one rate by both rules.
func strobesTogether(strobes, bt []flash.Strobe, hz float64) (c rates) {
	if result, ok := together(strobes, hz, flash.WCAG22); ok {
		c = countedOf(result, 0)
	}
	if result, ok := together(bt, hz, flash.BT1702); ok {
		c.bt = result.General.Flashes()
	}
	return c
}

// tell names the lamps of one rate and keeps how often they flash.
func (f *LookFlashes) tell(g flashGroup, list []*flasher, worst rates) {
	f.groups = append(f.groups, clockGroup{g, list, max(worst.general, worst.red)})
	var channels []int
	for _, s := range list {
		channels = append(channels, s.lamp.Channel)
	}
	what := "at"
	if g.colourful {
		what = "through hues at"
	}
	text := schema.FormatChannels(channels)
	word := "channels"
	if !strings.ContainsAny(text, ",-") {
		word = "channel"
	}
	f.Words = append(f.Words, fmt.Sprintf("%s %s %s %s Hz", word, text, what, number(g.hz)))
}

// landing counts the flashes of lamps of one rate where their light lands together, by
// adding it up over time: two in counter-phase flash at twice the rate with short
// pulses, and not at all where they fill each other's gaps. One that lands there without
// others counts as it is. What is steady there is left out: it hides nothing.
func landing(list []*flasher, there field, hz float64, hues sweeps) (c rates) {
	type part struct {
		s      *flasher
		factor float64
		k      int
	}
	var parts []part
	unit := 0.0
	for k, s := range list {
		arrives := there[s]
		if arrives <= 0 {
			continue
		}
		if s.colourful {
			c = c.most(s.count(hues))
			continue
		}
		parts = append(parts, part{s, arrives / s.lamp.XYZ.Y, k})
		unit += arrives * s.high
	}
	switch {
	case len(parts) == 1:
		return c.most(parts[0].s.count(hues))
	case len(parts) == 0 || unit <= 0:
		return c
	}
	var strobes, bt []flash.Strobe
	for _, p := range parts {
		on, off := p.s.amounts()
		strobe := flash.Strobe{Hz: hz, Duty: p.s.dutyAmong(len(list)), Phase: p.s.phase(p.k, len(list))}
		strobe.On, strobe.Off = on.times(p.factor).light(unit), off.times(p.factor).light(unit)
		strobes = append(strobes, strobe)
		strobe.On, strobe.Off = scaled(strobe.On), scaled(strobe.Off)
		bt = append(bt, strobe)
	}
	return c.most(strobesTogether(strobes, bt, hz))
}

// phase is the part of a cycle by which the lamp is ahead of the first.
func (s *flasher) phase(k, lamps int) float64 {
	return math.Mod(float64(k)/float64(lamps)*s.spread, 1)
}

// outOfStep adds up the flashes of strobes that are made to be seen themselves and are not
// in step: each is another direction from which the eye is hit, and several of them are
// a higher rate (guidance of theatre codes: strobes are synchronised; second-hand), also of
// beams side by side in the haze. Pulses, chases and washes are no strobes.
func outOfStep(list []*flasher) float64 {
	phases := map[float64]float64{}
	for k, s := range list {
		if !stage.SeenInAir(s.lamp.Purpose) || s.effect == nil || s.effect.Kind != "strobe" {
			continue
		}
		result, _ := s.alone()
		phase := math.Round(1000*s.phase(k, len(list))) / 1000
		phases[phase] = max(phases[phase], result.General.Flashes())
	}
	sum := 0.0
	for _, flashes := range phases {
		sum += flashes // in halves, so in any order the same
	}
	return sum
}

func scaled(l flash.Light) flash.Light { l.Y *= btWhite; return l }

// number writes a rate for people.
func number(f float64) string { return strings.TrimSuffix(fmt.Sprintf("%.4g", f), ".0") }

// together counts strobes of one rate over a repeat and a second more.
func together(strobes []flash.Strobe, hz float64, c flash.Criterion) (flash.Result, bool) {
	if result, err := flash.InStep(strobes, 1/hz+1.5, c); err == nil {
		return result, true
	}
	result, err := flash.Unsynchronised(strobes, c)
	return result, err == nil
}

// dutyAmong is the part of a cycle that the lamp is lit: in a chase that says
// nothing else, one step of it.
func (s *flasher) dutyAmong(lamps int) float64 {
	if s.duty > 0 {
		return s.duty
	}
	return 1 / float64(lamps)
}

// amounts are the lamp's light at its highest and its lowest.
func (s *flasher) amounts() (on, off Amount) {
	full := amountOf(s.lamp.XYZ)
	if s.lamp.Missing != "" {
		return Amount{}, Amount{}
	}
	return full.times(s.high), full.times(s.low)
}

// alone counts what is seen where the lamp alone gives the light. A lamp whose
// light is not known is taken as white.
func (s *flasher) alone() (flash.Result, float64) {
	on, off := s.amounts()
	if s.lamp.Missing != "" {
		white := Amount{1, 1, 1, 1}
		on, off = white.times(s.high), white.times(s.low)
	}
	unit := max(on.Y, off.Y)
	if unit <= 0 {
		return flash.Result{}, 0
	}
	strobe := flash.Strobe{Hz: s.hz, Duty: s.dutyAmong(2), On: on.light(unit), Off: off.light(unit)}
	result, err := strobe.Count(flash.WCAG22)
	if err != nil {
		return flash.Result{}, 0
	}
	strobe.On, strobe.Off = scaled(strobe.On), scaled(strobe.Off)
	bt, err := strobe.Count(flash.BT1702)
	if err != nil {
		return result, 0
	}
	return result, bt.General.Flashes()
}

// clockGroup is lamps that share a clock, with how often they flash in a second.
type clockGroup struct {
	group flashGroup
	list  []*flasher
	worst float64
}

// slowKey is an effect at another rate.
type slowKey struct {
	effect *schema.Effect
	rateHz float64
}

// Slowed lists the lamps of a look that flash more than so many times a second
// together with those of their rate: those with a strobe, and those with an effect,
// which is slowed down to that, or if it flashes more often than its cycle to as much
// less.
func (e *Evening) Slowed(i int, maxPerS float64) (strobes []*stage.Lamp, effects []Pulse) {
	for _, g := range e.Flashes[i].groups {
		if g.worst <= maxPerS || g.group.hz > flash.FusionHz {
			continue
		}
		rate := min(maxPerS, math.Floor(100*g.group.hz*maxPerS/g.worst)/100)
		for _, s := range g.list {
			lamp := e.Rig.Lamp(&e.Looks[i], s.lamp.Fixture, s.lamp.State)
			if s.effect == nil {
				strobes = append(strobes, lamp)
				continue
			}
			key := slowKey{s.effect, rate}
			slower, ok := e.slower[key]
			if !ok {
				slower = *s.effect
				slower.At = source.Ref{}
				slower.RateHz = new(rate)
				e.slower[key] = slower // one for all lamps, so that they are changed as one
			}
			effects = append(effects, Pulse{lamp, slower})
		}
	}
	return strobes, effects
}

// hueSteps divides a run through all hues. A run of 72 steps is one each 5
// degrees, finer than any two names of hues.
const hueSteps = 72

// sweep counts a run through all hues of the lamp's emitters at full saturation,
// as seen where the lamp alone gives the light.
func (s *flasher) sweep(known sweeps) flash.Result {
	if s.hz > flash.FusionHz {
		return flash.Result{Fused: true}
	}
	if s.lamp.Kind == nil || s.lamp.Kind.Source != "colour-led" {
		return flash.Result{} // a wheel or flags cannot run fast; what they do is not known
	}
	key := sweepKey{s.lamp.Kind, s.hz}
	result, done := known.counted[key]
	if !done {
		cycle, ok := known.cycles[key.kind]
		if !ok {
			cycle = hueCycle(key.kind)
			known.cycles[key.kind] = cycle
		}
		result = countSweep(cycle, s.hz)
		known.counted[key] = result
	}
	return result
}

// sweeps are the runs through hues that were counted already.
type sweeps struct {
	cycles  map[*schema.Type][]flash.Light // through all hues once
	counted map[sweepKey]flash.Result
}

type sweepKey struct {
	kind *schema.Type
	hz   float64
}

// countSweep counts a cycle that is run through so many times a second.
func countSweep(cycle []flash.Light, hz float64) flash.Result {
	if len(cycle) == 0 {
		return flash.Result{}
	}
	repeats := 2 + int(math.Ceil(1.5*hz))
	states := make([]flash.State, 0, repeats*len(cycle))
	for n := range repeats * len(cycle) {
		l := cycle[n%len(cycle)]
		states = append(states, flash.State{T: float64(n) / float64(len(cycle)) / hz, Y: l.Y, R: l.R, G: l.G, B: l.B})
	}
	result, err := flash.Ramps(states, flash.WCAG22)
	if err != nil {
		return flash.Result{}
	}
	return result
}

// hueCycle is the light of a type's emitters run through all hues once, in parts
// of the brightest of them; nil if the show does not say.
func hueCycle(kind *schema.Type) []flash.Light {
	emitters, lack := stage.EmittersOf(kind)
	if lack != "" {
		return nil
	}
	full := 0.0
	for _, e := range emitters {
		full += e.Flux
	}
	var cycle []flash.Light
	for k := range hueSteps {
		xy, ok := colour.HueSaturation(emitters, 360*float64(k)/hueSteps, 100)
		if !ok {
			return nil
		}
		if near, ok := colour.NearestInGamut(emitters, xy); ok {
			xy = near
		}
		levels, ok := colour.SolveLevels(emitters, xy)
		if !ok {
			continue
		}
		if xyz, ok := colour.Mix(emitters, levels); ok {
			cycle = append(cycle, amountOf(xyz).light(full))
		}
	}
	brightest := 0.0
	for _, l := range cycle {
		brightest = max(brightest, l.Y)
	}
	for k := range cycle {
		cycle[k].Y /= brightest
	}
	return cycle
}

// countFastCues counts the flashes that cues make which follow each other within
// a second, in the whole picture and where each lamp alone gives the light.
func (e *Evening) countFastCues(list []*LookFlashes, peak float64) {
	if peak <= 0 {
		return
	}
	for first := 0; first+1 < len(list); {
		last := first
		for last+1 < len(list) {
			a, b := e.Time.Moments[last], e.Time.Moments[last+1]
			if a.Clock != b.Clock || !b.chained && (a.Assumed || b.Assumed) || b.At-a.At > fastS {
				break
			}
			last++
		}
		// Three changes are no more than one flash and a half.
		if last-first >= 3 {
			e.countRun(list, first, last, peak)
		}
		first = last + 1
	}
}

// countRun counts the flashes of a run of fast cues.
func (e *Evening) countRun(list []*LookFlashes, first, last int, peak float64) {
	s := e.StretchOf(first, last, true)
	worst, bt := flash.Result{}, 0.0
	take := func(states []flash.State) {
		result, err := flash.Ramps(states, flash.WCAG22)
		if err != nil {
			return
		}
		if result.General.Transitions > worst.General.Transitions {
			worst.General = result.General
		}
		if result.Red.Transitions > worst.Red.Transitions {
			worst.Red = result.Red
		}
		for i := range states {
			states[i].Y *= btWhite
		}
		if result, err := flash.Ramps(states, flash.BT1702); err == nil {
			bt = max(bt, result.General.Flashes())
		}
	}
	if len(s.missing) == 0 {
		take(flashStates(s.Knots(), peak))
	}
	var path []flash.State
	for _, f := range e.Rig.Show.Patch {
		if e.Rig.StageLight(f) {
			path = e.lampPath(f, first, last, path)
			take(path)
		}
	}
	if len(list[first].Missing) > 0 {
		missing := stage.Missing{Phrases: list[first].Missing}
		missing.Add(s.missing...)
		list[first] = new(*list[first]) // others may have it too
		list[first].Missing = missing.Phrases
	}
	if worst.General.Transitions < 3 && worst.Red.Transitions < 3 && bt < 1.5 {
		return
	}
	at := e.lookAt(worst.General.Start, first, last)
	if worst.General.Transitions < worst.Red.Transitions {
		at = e.lookAt(worst.Red.Start, first, last)
	}
	if len(list[at].Missing) > 0 {
		return
	}
	f := new(*list[at])
	list[at] = f
	if f.General+f.Red+f.BT1702 > 0 {
		f.Rests = append(slices.Clip(f.Rests), "flashes by cues and by effects falling on one place")
	}
	general, red := worst.General.Flashes(), worst.Red.Flashes()
	f.Sight = stage.Everywhere // cues change all of the stage
	f.General, f.Red, f.BT1702, f.Fast = f.General+general, f.Red+red, f.BT1702+bt, true
	f.SureGeneral, f.SureRed, f.SureBT1702 = max(f.SureGeneral, general), max(f.SureRed, red), max(f.SureBT1702, bt)
	f.Words = append(slices.Clip(f.Words), fmt.Sprintf("cues %s to %s, called within a second of each other", e.Looks[first].Number, e.Looks[last].Number))
}

// lookAt is the look that stands at a time.
func (e *Evening) lookAt(t float64, first, last int) int {
	for i := last; i > first; i-- {
		if e.Time.Moments[i].At <= t+slack {
			return i
		}
	}
	return first
}

// lampPath is the light of a lamp in a run of looks, in parts of the most light
// that it gives in the show; nothing if it hardly changes.
func (e *Evening) lampPath(f *schema.Fixture, first, last int, path []flash.State) []flash.State {
	unit := e.Rig.Brightest(f)
	if unit <= 0 {
		return nil
	}
	path = path[:0]
	var old travel
	before := e.Looks[first].State(f.Channel)
	for i := first + 1; i <= last; i++ {
		look := &e.Looks[i]
		state := look.State(f.Channel)
		if state == before {
			continue
		}
		var p stage.Pair
		if before.Level > 0 {
			p.Before = e.Rig.Lamp(&e.Looks[i-1], f, before)
		}
		if state.Level > 0 {
			p.After = e.Rig.Lamp(look, f, state)
		}
		before = state
		if p.Before == nil && p.After == nil || p.Shown().Missing != "" {
			continue
		}
		way := wayOf(pacesOf(look), p, e.Time.Moments[i].At)
		if old.end > way.start { // what is left of the old way does not happen
			way.at = []Amount{old.value(way.start), way.at[len(way.at)-1]}
			for len(path) > 0 && path[len(path)-1].T > way.start {
				path = path[:len(path)-1]
			}
		}
		old = way
		for k, a := range way.at {
			l := a.light(unit)
			t := way.start
			if way.end > way.start {
				t += (way.end - way.start) * float64(k) / float64(len(way.at)-1)
			}
			path = append(path, flash.State{T: t, Y: l.Y, R: l.R, G: l.G, B: l.B})
		}
	}
	return path
}
