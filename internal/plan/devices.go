package plan

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// exposure turns the cameras where the faces of most places are off in the same way:
// then it is not the lamps.
func (o *offers) exposure(f *finding.Finding, add adder) {
	room := o.state.Show.Room
	if f.Amount == nil || f.Amount.Unit != "stops" || nameOf(f, "place") == "" || room == nil {
		return
	}
	var stops []float64
	places := map[string]bool{}
	for i := range o.order {
		if other := &o.order[i]; other.Rule == f.Rule && other.Amount != nil {
			stops = append(stops, other.Amount.Value)
			places[nameOf(other, "place")] = true
		}
	}
	several := 3       // places: one or two may be lit wrongly (common practice, no source)
	const mostly = 0.6 // of the cues with people: in one song it is the lamps (common practice, no source)
	withPeople := 0
	for i := range o.state.Looks {
		people, known := o.peopleIn(i)
		withPeople += truth(known && len(people) > 0)
	}
	switch f.Rule {
	case "people/key-high": // a camera that is closed harms nobody
		several = 2
	case "people/no-key": // a key that is dark is no matter of cameras
		for _, i := range o.faultyOfRule(f.Rule) {
			people, _ := o.peopleIn(i)
			if slices.ContainsFunc(people, func(place string) bool {
				return !slices.ContainsFunc(o.lampsFor(place), func(l *schema.Fixture) bool { return !fromBehind(l) && o.level(i, l.Channel) > 0 })
			}) {
				return
			}
		}
		several = 1
	}
	if len(places) < several || float64(len(o.faultyOfRule(f.Rule))) < mostly*float64(withPeople) {
		return
	}
	slices.Sort(stops)
	by := math.Abs(stops[len(stops)/2])
	if strings.HasSuffix(f.Rule, "-high") {
		by = -by
	}
	if up := o.allUp(math.Exp2(by)); by > 0 && len(o.byRule["people/back-strong"])+len(o.byRule["white/dim-drift"]) > 0 && len(up) > 0 {
		add("Faces have the brightness that the cameras are set for, and their own white.", up...)
		return // no lens makes up for keys that are low beside everything else
	}
	var edits []source.Edit
	for _, c := range room.Cameras {
		const usual = 5.6 // f-number; a lens that is closed so far has been closed (common practice, no source)
		if by > 0 && c.ApertureF != nil && *c.ApertureF >= usual {
			edits = append(edits, source.Edit{At: c.At, Field: "aperture_f", Value: nominalF(*c.ApertureF * math.Exp2(-by/2))})
			continue
		}
		if c.SensitivityISO != nil && f.Rule != "people/no-key" { // so far no camera is turned up in place of light
			third := math.Round(3*(math.Log2(*c.SensitivityISO)+by)) / 3 // cameras are set in thirds of a stop
			edits = append(edits, source.Edit{At: c.At, Field: "sensitivity_iso", Value: nominal(math.Exp2(third))})
		}
	}
	add("Faces have the brightness that the cameras are set for.", edits...)
}

// levelBy is by what a lamp's level grows for so many times its light.
func (o *offers) levelBy(lamp *schema.Fixture, light float64) float64 {
	t := o.typeOf(lamp)
	if t == nil {
		return light
	}
	shape, of := t.Curve()
	if of == "voltage" {
		light = math.Pow(light, 1/stage.FilamentPower(t))
	}
	if shape == "square" {
		light = math.Sqrt(light)
	}
	return light
}

// allUp brings all lamps for faces up from the front, wherever they are lit, to so many times
// their light: to one level if they stand alike, or else each by itself; none if one of them
// has no room.
func (o *offers) allUp(factor float64) (edits []source.Edit) {
	const alike = 1.4 // between the lowest and the highest (common practice, no source: half a stop)
	type told struct{ look, channel int }
	levels := map[told]float64{}
	var order []told
	least, most, sum := math.Inf(1), 0.0, 0.0
	for _, lamp := range o.state.Show.Patch {
		if !forPeople(lamp) || fromBehind(lamp) {
			continue
		}
		factor := o.levelBy(lamp, factor)
		for i := range o.state.Looks {
			if level := factor * o.level(i, lamp.Channel); level > 0 && o.tells(i, lamp.Channel, tracking.LevelBy) {
				order = append(order, told{i, lamp.Channel})
				levels[told{i, lamp.Channel}] = level
				least, most, sum = min(least, level), max(most, level), sum+level
			}
		}
	}
	if most > 100 || len(order) == 0 {
		return nil
	}
	for _, at := range order {
		level := levels[at]
		if most <= alike*least {
			level = sum / float64(len(order))
		}
		edits = append(edits, o.setLevel(at.look, at.channel, math.Round(level)))
	}
	return edits
}

// unlikeCameras gives each camera the settings of the others, one by one and then all
// that differ; where one has a shutter that nobody uses, a usual one.
func (o *offers) unlikeCameras(f *finding.Finding, add adder) {
	room := o.state.Show.Room
	if room == nil {
		return
	}
	const effect = "All cameras see the same picture."
	if f.Rule == "white/key-camera" {
		o.whiteOfKeys(f, add)
	}
	var shutters []source.Edit
	// The one that takes the most light first: to close one that was opened by mistake does no
	// harm to the others.
	cameras := slices.Clone(room.Cameras)
	slices.SortStableFunc(cameras, func(a, b *schema.Camera) int {
		one, ok := exposureOf(a)
		other, known := exposureOf(b)
		if !ok || !known {
			return 0
		}
		return cmp.Compare(other, one)
	})
	for i, camera := range cameras {
		others := slices.Concat(cameras[:i], cameras[i+1:])
		var all []source.Edit
		if f.Rule == "camera/exposures-differ" || strings.HasPrefix(f.Rule, "people/") {
			add(effect, asSensitive(camera, others)...)
		}
		for _, field := range schema.AlikeFields(schema.OfCamera) {
			of := func(c *schema.Camera) *float64 { return field.Number(c) }
			if common, ok := inCommon(others, of); ok && differs(of(camera), common) {
				edit := source.Edit{At: camera.At, Field: field.Key, Value: common}
				all = append(all, edit)
				add(effect, edit)
			}
		}
		if len(all) > 1 {
			add(effect, all...)
		}
		shutters = append(shutters, o.usualShutter(camera)...)
	}
	if f.Rule == "camera/banding" {
		add("The picture has no bands, and faces keep their brightness.", shutters...)
	}
}

// whiteOfKeys sets one camera to the white that most keys have of all those of whom the rule
// speaks: it may have been left on the white of somebody else.
func (o *offers) whiteOfKeys(f *finding.Finding, add adder) {
	count, most, white := map[float64]int{}, 0, 0.0
	for _, i := range o.byRule[f.Rule] {
		for _, lamp := range o.lampsFor(nameOf(&o.order[i], "place")) {
			if t := o.typeOf(lamp); t == nil || t.Source == "tungsten" || fromBehind(lamp) {
				continue // what a filament gives goes with its level
			}
			if own := o.whiteOf(lamp); own != nil {
				if count[*own]++; count[*own] > most {
					most, white = count[*own], *own
				}
			}
		}
	}
	for _, c := range o.state.Show.Room.Cameras {
		if most > 0 && c.WhiteK != nil && !passForOne(*c.WhiteK, white) {
			add("Skin looks in the stream as it does in the room.", source.Edit{At: c.At, Field: schema.White, Value: white})
		}
	}
}

// exposureOf is how much light a camera takes, in stops from an arbitrary one.
func exposureOf(c *schema.Camera) (stops float64, ok bool) {
	if c.SensitivityISO == nil || c.ShutterS == nil || c.ApertureF == nil {
		return 0, false
	}
	stops = math.Log2(*c.SensitivityISO * *c.ShutterS / (*c.ApertureF * *c.ApertureF))
	if c.NDStops != nil {
		stops -= *c.NDStops
	}
	return stops, !math.IsNaN(stops) && !math.IsInf(stops, 0)
}

// asSensitive gives a camera the sensitivity with which it takes as much light as the others
// do, where more than one of its settings is another than theirs, or theirs are unlike and take as
// much light: they were chosen for the lens.
func asSensitive(camera *schema.Camera, others []*schema.Camera) []source.Edit {
	own, ok := exposureOf(camera)
	if !ok || len(others) == 0 {
		return nil
	}
	sum, unlike, mixed := 0.0, 0, false
	for _, c := range others {
		stops, ok := exposureOf(c)
		if !ok {
			return nil
		}
		sum += stops / float64(len(others))
	}
	for _, field := range schema.AlikeFields(schema.OfCamera) {
		common, ok := inCommon(others, func(c *schema.Camera) *float64 { return field.Number(c) })
		if own := field.Number(camera); field.Key != schema.White && ok && differs(own, common) {
			unlike++
		}
		mixed = mixed || !ok && (field.Key == "aperture_f" || field.Key == "sensitivity_iso")
	}
	const plain = 0.5 // stops
	agree := !slices.ContainsFunc(others, func(c *schema.Camera) bool {
		stops, _ := exposureOf(c)
		return math.Abs(stops-sum) >= plain
	})
	if unlike < 2 && !(mixed && agree) || math.Abs(own-sum) < plain {
		return nil
	}
	return []source.Edit{{At: camera.At, Field: "sensitivity_iso", Value: nominal(*camera.SensitivityISO * math.Exp2(sum-own))}}
}

// usualShutter opens a shutter for half of each frame, as is usual, and takes what that
// gains off the sensitivity.
func (o *offers) usualShutter(c *schema.Camera) []source.Edit {
	if c.ShutterS == nil || c.FrameRateHz == nil || *c.FrameRateHz <= 0 || *c.ShutterS <= 0 {
		return nil
	}
	usual := 1 / (2 * *c.FrameRateHz)
	if *c.ShutterS >= 0.9*usual {
		return nil
	}
	edits := []source.Edit{{At: c.At, Field: "shutter_s", Value: usual}}
	if c.SensitivityISO != nil {
		edits = append(edits, source.Edit{At: c.At, Field: "sensitivity_iso", Value: nominal(*c.SensitivityISO * *c.ShutterS / usual)})
	}
	return edits
}

// unlikeOtherCues gives a screen the drive that it has in most other cues.
func (o *offers) unlikeOtherCues(f *finding.Finding, add adder) {
	screen := nameOf(f, "screen")
	if screen == "" {
		return
	}
	faulty := map[int]bool{}
	for _, look := range o.looksOf(f.Identity()) {
		faulty[look] = true
	}
	count := map[float64]int{}
	usual, most := 0.0, 0
	for i := range o.state.Looks {
		if drive, ok := o.state.Looks[i].Drives.Of(screen); ok && !faulty[i] && drive.DrivePct != nil && *drive.DrivePct > 0 {
			count[*drive.DrivePct]++
			if n := count[*drive.DrivePct]; n > most {
				usual, most = *drive.DrivePct, n
			}
		}
	}
	if most < 2 {
		return
	}
	var edits []source.Edit
	for i := range o.state.Looks {
		for _, cue := range o.state.Looks[i].Parts {
			for _, drive := range cue.Screens {
				if faulty[i] && drive.Screen == screen && drive.DrivePct != nil && *drive.DrivePct != usual {
					edits = append(edits, source.Edit{At: drive.At, Field: "drive_pct", Value: usual})
				}
			}
		}
	}
	add("The screen is as bright as in the other cues.", edits...)
}

// plainlyBrighter is how many times as bright pictures are that are of another kind: a stop, as
// everywhere here (common practice, no source).
const plainlyBrighter = 2

// otherPictures gives a screen in the parts in which it is too bright pictures as bright as the
// brightest that it shows elsewhere, where those are plainly darker: what is wrong is the
// slides and not the screen.
func (o *offers) otherPictures(f *finding.Finding, add adder) {
	screen := nameOf(f, "screen")
	faulty := map[*schema.Drive]bool{}
	for _, i := range o.looksOf(f.Identity()) {
		look := &o.state.Looks[i]
		if look.Segment != nil {
			for _, drive := range look.Segment.Screens {
				faulty[drive] = true
			}
		}
		for _, cue := range look.Parts {
			for _, drive := range cue.Screens {
				faulty[drive] = true
			}
		}
	}
	most := -1.0
	var bright []*schema.Drive
	weigh := func(told []*schema.Drive) {
		for _, drive := range told {
			switch {
			case drive.Screen != screen || drive.ContentPct == nil:
			case faulty[drive]:
				bright = append(bright, drive)
			default:
				most = max(most, *drive.ContentPct)
			}
		}
	}
	for _, s := range o.state.Show.Order {
		weigh(s.Screens)
	}
	for _, cue := range o.state.Show.Cues {
		weigh(cue.Screens)
	}
	var edits []source.Edit
	for _, drive := range bright {
		if most > 0 && *drive.ContentPct >= plainlyBrighter*most {
			edits = append(edits, source.Edit{At: drive.At, Field: "content_pct", Value: most})
		}
	}
	add("The pictures are as bright as in the other parts.", edits...)
}

// oneDrive gives a screen that is too bright in several cues one drive for the whole
// evening: the lowest that any of them asks for.
func (o *offers) oneDrive(f *finding.Finding, add adder) {
	o.remedies(f.Rule)
	screen := nameOf(f, "screen")
	lowest, asked := math.Inf(1), 0
	for i := range o.order {
		other := &o.order[i]
		if other.Rule != f.Rule || nameOf(other, "screen") != screen {
			continue
		}
		asked++
		for _, remedy := range other.Remedies {
			for _, e := range remedy.Edits {
				if drive, ok := e.Value.(float64); ok && e.Field == "drive_pct" {
					lowest = min(lowest, drive)
				}
			}
		}
	}
	if asked < 2 || math.IsInf(lowest, 1) {
		return
	}
	var edits []source.Edit
	for _, cue := range o.state.Show.Cues {
		for _, drive := range cue.Screens {
			if drive.Screen == screen && drive.DrivePct != nil && *drive.DrivePct > lowest {
				edits = append(edits, source.Edit{At: drive.At, Field: "drive_pct", Value: lowest})
			}
		}
	}
	add("The screen and the faces before it fit into one picture all evening.", edits...)
}

// machines are the fixtures that make haze.
func (o *offers) machines() (list []*schema.Fixture) {
	for _, f := range o.state.Show.Patch {
		if t := o.typeOf(f); t != nil && t.Machine != nil {
			list = append(list, f)
		}
	}
	return list
}

// hazeOff stops the haze with the part of the evening that has the last beams, or in one
// of its cues, so that the air is clear when somebody speaks.
func (o *offers) hazeOff(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	if len(looks) == 0 {
		return
	}
	talk := looks[0]
	if of := o.state.Looks[talk].Segment; of != nil && of.DurationS != nil && *of.DurationS < evening.TalkS { // too short for its air to clear: it is enough that no more haze comes
		add("The haze thins out through the talk and is back for the songs.", o.machinesOff(talk, looks[len(looks)-1])...)
		return
	}
	last := -1 // with beams, before that
	for i := range talk {
		for _, lamp := range o.state.Show.Patch {
			if lamp.Purpose == "beam" && o.level(i, lamp.Channel) > 0 {
				last = i
			}
		}
	}
	from := last
	for from > 0 && o.state.Looks[from-1].Segment == o.state.Looks[last].Segment {
		from--
	}
	from, behind := max(0, from), min(last+1, talk)
	cues := []int{from}
	for k := behind; k > from; k-- {
		cues = append(cues, k)
	}
	if last >= 0 && o.between(last, talk) > o.clearsIn() { // it may stay for all beams
		cues = append(cues[1:], from)
	} else if soon := from + 1; soon < behind && secondsIn(&o.state.Looks[soon]) <= carries {
		cues = slices.Concat([]int{soon}, cues)
	}
	for _, k := range cues {
		add("The haze stops with the last beams, and the air is clear in the talk.", o.machinesOff(k, looks[len(looks)-1])...)
	}
}

// clearsIn is how long haze takes to go, in seconds: until a twentieth is left where the room tells how fast its air changes, but
// no longer than a quarter of an hour, which it is where nobody says so. Both are common practice, no source; that haze thins out
// by the same part in the same time is mass balance, as in package air.
func (o *offers) clearsIn() (seconds float64) {
	const most, left = 900, 0.05
	if room := o.state.Show.Room; room != nil && room.Air != nil && room.Air.AirChangesPerH != nil && *room.Air.AirChangesPerH > 0 {
		loss := *room.Air.AirChangesPerH
		if room.Air.SettlingPerH != nil {
			loss += max(0, *room.Air.SettlingPerH)
		}
		return min(most, -math.Log(left)/loss*3600)
	}
	return most
}

// carries is within which time of the last song with beams the haze may still go off so that
// what hangs in the air carries the song, in seconds (common practice, no source).
const carries = 90

// secondsIn is when the cue of a look is called in its part of the evening.
func secondsIn(look *tracking.Look) float64 {
	if at := look.Cue().AtS; at != nil {
		return *at
	}
	return math.Inf(1)
}

// between is how long the parts of the running order take that lie between two looks, in
// seconds; those of unknown length count for nothing.
func (o *offers) between(first, last int) (seconds float64) {
	looks := o.state.Looks
	for i := first + 1; i < last; i++ {
		s := looks[i].Segment
		if s != nil && s != looks[first].Segment && s != looks[last].Segment && s != looks[i-1].Segment && s.DurationS != nil {
			seconds += *s.DurationS
		}
	}
	return seconds
}

// machinesOff takes all haze machines out from one look to another.
func (o *offers) machinesOff(first, last int) (edits []source.Edit) {
	for _, machine := range o.machines() {
		for i := first; i <= last; i++ {
			if o.level(i, machine.Channel) > 0 && (i == first || o.tells(i, machine.Channel, tracking.LevelBy)) {
				edits = append(edits, o.setLevel(i, machine.Channel, 0))
			}
		}
	}
	return edits
}

// hazeOn lets haze machines that never run make haze from the start to the last beams
// before somebody speaks for long, and again for those that follow.
func (o *offers) hazeOn(_ *finding.Finding, add adder) {
	looks := o.state.Looks
	speaks := func(i int) bool {
		s := looks[i].Segment
		return s != nil && evening.SpeaksLong(s.Kind)
	}
	wanted, follow := make([]int, 0, len(looks)), false
	for i := len(looks) - 1; i >= 0; i-- {
		lit := slices.ContainsFunc(o.state.Show.Patch, func(l *schema.Fixture) bool { return l.Purpose == "beam" && o.level(i, l.Channel) > 0 })
		if follow = !speaks(i) && (follow || lit); follow {
			wanted = append(wanted, i)
		}
	}
	slices.Reverse(wanted)
	runs := stretches(wanted)
	const most = 3 // times that it is switched on: more is no order for one evening
	if len(runs) > most {
		return
	}
	for _, level := range []float64{30, 60, 100} {
		var edits []source.Edit
		for _, machine := range o.machines() {
			if o.litIn(machine.Channel, [2]int{0, len(looks) - 1}) {
				continue
			}
			for _, run := range runs {
				edits = append(edits, o.hold(machine.Channel, level, run[0], run[1])...)
			}
		}
		add("The air is ready when the beams come, and clear in the talk.", edits...)
	}
}

// lessHaze turns all haze machines down by what there is too much; haze in the air grows
// with what the machines put out.
func (o *offers) lessHaze(f *finding.Finding, add adder) {
	if f.Amount == nil || f.Amount.Value <= 0 || len(f.Limits) == 0 || f.Limits[0].Num == nil {
		return
	}
	const under = 0.9 // of the limit
	factor := under * *f.Limits[0].Num / f.Amount.Value
	if factor >= 1 {
		return
	}
	var edits []source.Edit
	for _, machine := range o.machines() {
		for i := range o.state.Looks {
			if level := o.level(i, machine.Channel); level > 0 && o.tells(i, machine.Channel, tracking.LevelBy) {
				edits = append(edits, o.setLevel(i, machine.Channel, max(1, math.Floor(level*factor))))
			}
		}
	}
	add("There is less haze all evening, and the air is clear in time.", edits...)
}

// byHand sets by hand what a camera sets by itself: its white to that of the others, or
// to that of most keys.
func (o *offers) byHand(f *finding.Finding, add adder) {
	if o.state.Show.Room == nil {
		return
	}
	is := func(b *bool) bool { return b != nil && *b }
	for _, c := range o.state.Show.Room.Cameras {
		if c.Name != nameOf(f, "camera") {
			continue
		}
		var edits []source.Edit
		if is(c.AutoWhite) {
			edits = append(edits, source.Edit{At: c.At, Field: "auto_white", Value: false})
		}
		if white := o.whiteByHand(c); is(c.AutoWhite) && c.WhiteK == nil && white > 0 {
			edits = append(edits, source.Edit{At: c.At, Field: schema.White, Value: white})
		}
		if is(c.AutoExposure) {
			edits = append(edits, source.Edit{At: c.At, Field: "auto_exposure", Value: false})
		}
		add("Faces keep their brightness and their colour, whatever the light around them does.", edits...)
	}
}

// whiteByHand is the white that the other cameras are set to by hand, or else the one that
// most keys have, in kelvin; 0 if nobody knows.
func (o *offers) whiteByHand(but *schema.Camera) (white float64) {
	for _, c := range o.state.Show.Room.Cameras {
		if c != but && c.WhiteK != nil && (c.AutoWhite == nil || !*c.AutoWhite) {
			return *c.WhiteK
		}
	}
	count := map[float64]int{}
	for _, lamp := range o.state.Show.Patch {
		k := o.whiteOf(lamp)
		if lamp.Purpose != "key" || k == nil {
			continue
		}
		if count[*k]++; count[*k] > count[white] {
			white = *k
		}
	}
	return white
}

// shutters are the fractions of a second that cameras and their operators name a shutter by
// (common practice, no source: those of half a frame's time and of mains light among them).
var shutters = []float64{24, 25, 30, 40, 48, 50, 60, 80, 100, 120, 125, 160, 200, 250}

// wholePeriods gives the shutters of the cameras a time that every camera has and in which a
// lamp that is dimmed by switching flashes a whole number of times, or very nearly.
func (o *offers) wholePeriods(f *finding.Finding, add adder) {
	lamp := o.aboutFixture(f)
	if lamp == nil || o.state.Show.Room == nil {
		return
	}
	t := o.typeOf(lamp)
	if t == nil || t.PWMHz == nil || *t.PWMHz <= 0 {
		return
	}
	const most = 1.5 // between the old time and the new: half a stop, about (common practice, no source)
	var edits []source.Edit
	for _, c := range o.state.Show.Room.Cameras {
		if c.ShutterS == nil || *c.ShutterS <= 0 || o.usualShutter(c) != nil {
			continue
		}
		best := 0.0
		for _, part := range shutters {
			periods, change := *t.PWMHz/part, part**c.ShutterS
			whole := periods >= 1 && math.Abs(periods-math.Round(periods)) < 0.01*periods
			if whole && max(change, 1/change) <= most && (c.FrameRateHz == nil || part >= *c.FrameRateHz) &&
				(best == 0 || math.Abs(math.Log(change)) < math.Abs(math.Log(best**c.ShutterS))) {
				best = part
			}
		}
		if best == 0 {
			return // no camera is set in between: the lamps are set otherwise
		}
		if time := 1 / best; differs(c.ShutterS, time) {
			edits = append(edits, source.Edit{At: c.At, Field: "shutter_s", Value: time})
		}
	}
	add("Each picture holds as many flashes as the next, and no band is seen. A higher dimming frequency in the menu of the lamps would do it too.", edits...)
}
