package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// near is how far a lamp may be aimed past somebody's head and still be meant for
// them, and stray how far it may have been knocked, in metres (common practice, no
// source: half a beam, and a step or two).
const (
	near  = 0.8
	stray = 3.5
)

// found is the way of a cure that no rule has offered. It has to clear what the rule
// says somewhere, and is tried once for a rule.
const found = -1

// causes looks in the show for what may have gone wrong, as somebody would who knows
// the booth: a lamp that is aimed there and left dark, a cue that lets go of
// everything, a lamp that is not like its twins, an address that breaks a row. It
// judges nothing: the rules say of each on a copy whether that was it.
func (o *offers) causes(f *finding.Finding) []cure {
	var list []cure
	add := func(effect string, edits ...source.Edit) {
		if len(edits) == 0 {
			return
		}
		words := make([]string, len(edits))
		for i, e := range edits {
			words[i] = fmt.Sprint(e.At.Pointer(), e.Field, e.Value, e.Only)
		}
		list = append(list, cure{
			id: "cause\x00" + f.Rule + "\x00" + strings.Join(words, "\x00"), edits: settle(edits), why: *f, effect: effect, way: found,
		})
	}
	if place := nameOf(f, "place"); place != "" {
		o.darkLamps(f, place, add)
		o.lettingGo(f, add)
		if f.Level != finding.Note { // nobody climbs up for a note
			o.straying(place, add)
		}
		o.unlikeTwins(o.lampsFor(place), add)
	}
	if f.Consequence == finding.Camera {
		o.unlikeCameras(add)
		o.exposure(f, add)
	}
	if screen := nameOf(f, "screen"); screen != "" {
		o.unlikeOtherCues(f, screen, add)
	}
	if number, err := strconv.Atoi(nameOf(f, "channel")); err == nil {
		if at := o.fixtureOn(number); at != nil {
			if strings.HasPrefix(f.Rule, "patch/") {
				o.outOfRow(at, add)
				o.numberTwice(add)
			} else {
				o.unlikeTwins([]*schema.Fixture{at}, add)
			}
		}
	}
	return list
}

// adder takes a change and what would be seen of it.
type adder func(effect string, edits ...source.Edit)

func nameOf(f *finding.Finding, kind string) string {
	for _, s := range f.Subjects {
		if s.Kind == kind {
			return s.Name
		}
	}
	return ""
}

func (o *offers) fixtureOn(channel int) *schema.Fixture {
	i := slices.IndexFunc(o.state.Show.Patch, func(f *schema.Fixture) bool { return f.Channel == channel })
	if i < 0 {
		return nil
	}
	return o.state.Show.Patch[i]
}

// lampsFor lists the lamps that are aimed at a place and have a purpose for people.
func (o *offers) lampsFor(place string) []*schema.Fixture {
	var list []*schema.Fixture
	for _, f := range o.state.Show.Patch {
		if forPeople(f) && o.off(f, place) <= near {
			list = append(list, f)
		}
	}
	return list
}

func forPeople(f *schema.Fixture) bool {
	return slices.Contains([]string{"key", "fill", "back", "side"}, f.Purpose)
}

// off is how far from a place a lamp is aimed, in metres; infinite if nobody knows.
func (o *offers) off(f *schema.Fixture, place string) float64 {
	if f.AimedAt == nil {
		return math.Inf(1)
	}
	if f.AimedAt.Name != "" {
		if f.AimedAt.Name == place {
			return 0
		}
		return math.Inf(1)
	}
	if f.AimedAt.Point == nil || o.state.Show.Room == nil {
		return math.Inf(1)
	}
	for _, p := range o.state.Show.Room.Places {
		if p.Name != place || p.X == nil || p.Y == nil {
			continue
		}
		height := 0.0
		if p.Z != nil {
			height = *p.Z
		}
		if p.HeadM != nil {
			height += *p.HeadM
		}
		flat := math.Hypot(f.AimedAt.Point.X-*p.X, f.AimedAt.Point.Y-*p.Y)
		return math.Hypot(flat, (f.AimedAt.Point.Z-height)/2) // a lamp aimed at the chest is meant for the face
	}
	return math.Inf(1)
}

// darkLamps brings up the lamps that are aimed at somebody and left dark where the
// fault begins, or far below what they usually have, for as long as the fault lasts.
func (o *offers) darkLamps(f *finding.Finding, place string, add adder) {
	looks := o.looksOf(f.Identity())
	if len(looks) == 0 {
		return
	}
	first, last := slices.Min(looks), slices.Max(looks)
	var front, back []source.Edit
	for _, lamp := range o.lampsFor(place) {
		usual, ok := o.usual(lamp, first)
		const far = 0.6 // of what it usually has: three quarters of a stop, which nobody chooses by accident
		if !ok || o.state.Looks[first].State(lamp.Channel).Level >= far*usual {
			continue
		}
		edits := o.hold(lamp.Channel, usual, first, last)
		if fromBehind(lamp) {
			back = append(back, edits...)
		} else {
			front = append(front, edits...)
		}
	}
	add("The face is lit as it is in the other cues.", front...)
	add("There is light from behind again, as in the other cues.", back...)
	if len(front) > 0 && len(back) > 0 {
		add("The person is lit as in the other cues.", slices.Concat(front, back)...)
	}
}

func fromBehind(f *schema.Fixture) bool { return f.Purpose == "back" }

// hold gives a channel a level from one look to another, and what it had after that.
func (o *offers) hold(channel int, level float64, first, last int) []source.Edit {
	looks := o.state.Looks
	edits := []source.Edit{{At: looks[first].Place(), Field: "level", Value: level, Only: []int{channel}}}
	if last+1 < len(looks) && looks[last+1].SetBy(channel, tracking.LevelBy).Look < first {
		edits = append(edits, source.Edit{At: looks[last+1].Place(), Field: "level", Value: looks[last+1].State(channel).Level, Only: []int{channel}})
	}
	return edits
}

// usual is the level that a lamp has in the nearest look where it is lit; of one
// that is lit nowhere else, what its twins have.
func (o *offers) usual(lamp *schema.Fixture, from int) (level float64, ok bool) {
	if level, ok := o.nearest(lamp.Channel, from); ok {
		return level, true
	}
	for _, twin := range o.state.Show.Patch {
		if twin != lamp && twin.Type == lamp.Type && twin.Purpose == lamp.Purpose {
			if level, ok := o.nearest(twin.Channel, from); ok {
				return level, true
			}
		}
	}
	return 0, false
}

func (o *offers) nearest(channel, from int) (level float64, ok bool) {
	looks := o.state.Looks
	for away := 1; away < len(looks); away++ {
		for _, i := range []int{from - away, from + away} {
			if i >= 0 && i < len(looks) {
				if level := looks[i].State(channel).Level; level > leastLevel {
					return level, true
				}
			}
		}
	}
	return 0, false
}

// lettingGo lets a cue keep what it does not mention, where it lets go of it.
func (o *offers) lettingGo(f *finding.Finding, add adder) {
	for _, i := range o.looksOf(f.Identity()) {
		for _, cue := range o.state.Looks[i].Parts {
			if cue.Tracking == "release" {
				add("What the cue does not mention stays as it was.", source.Edit{At: cue.At, Field: "tracking", Value: "carry"})
			}
		}
	}
}

// straying aims lamps at those whom they were meant for, where they point at nobody
// and somebody stands a step or two away.
func (o *offers) straying(place string, add adder) {
	var here, all [2][]source.Edit // from the front, from behind
	for _, lamp := range o.state.Show.Patch {
		if !forPeople(lamp) {
			continue
		}
		meant, off := o.meantFor(lamp)
		if named := o.namedFor(lamp); named != "" && named != meant { // a line was copied, and its aim left
			meant, off = named, stray
		}
		if off <= near || off > stray {
			continue
		}
		edit := source.Edit{At: lamp.At, Field: "aimed_at", Value: meant}
		side := truth(fromBehind(lamp))
		all[side] = append(all[side], edit)
		if meant == place {
			here[side] = append(here[side], edit)
		}
	}
	for side, effect := range []string{"The light lands on the person again.", "The light from behind lands on the person again."} {
		if len(here[side]) > 0 && len(all[side]) > len(here[side]) {
			add(effect, all[side]...)
		}
		add(effect, here[side]...)
	}
	if len(here[0]) > 0 && len(here[1]) > 0 {
		add("The light lands on the person again.", slices.Concat(here[0], here[1])...)
	}
}

// namedFor is the one place whose name is part of the name of a lamp, or "".
func (o *offers) namedFor(f *schema.Fixture) string {
	if o.state.Show.Room == nil {
		return ""
	}
	longest := ""
	for _, p := range o.state.Show.Room.Places {
		if p.Name != "" && len(p.Name) > len(longest) && strings.Contains(" "+strings.ToLower(f.Name)+" ", " "+strings.ToLower(p.Name)+" ") {
			longest = p.Name
		}
	}
	return longest
}

// meantFor is the place that a lamp is aimed nearest to, and by how much it misses.
func (o *offers) meantFor(f *schema.Fixture) (place string, off float64) {
	off = math.Inf(1)
	if o.state.Show.Room == nil {
		return "", off
	}
	for _, p := range o.state.Show.Room.Places {
		if miss := o.off(f, p.Name); miss < off {
			place, off = p.Name, miss
		}
	}
	return place, off
}

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
	const several = 3 // places: one or two may be lit wrongly (common practice, no source)
	if len(places) < several {
		return
	}
	slices.Sort(stops)
	by := math.Abs(stops[len(stops)/2])
	if strings.HasSuffix(f.Rule, "-high") {
		by = -by
	}
	var edits []source.Edit
	for _, c := range room.Cameras {
		if c.SensitivityISO != nil {
			third := math.Round(3*(math.Log2(*c.SensitivityISO)+by)) / 3 // cameras are set in thirds of a stop
			edits = append(edits, source.Edit{At: c.At, Field: "sensitivity_iso", Value: nominal(math.Exp2(third))})
		}
	}
	add("Faces have the brightness that the cameras are set for.", edits...)
}

// nominal is the sensitivity as cameras name it (ISO 12232, from memory).
func nominal(iso float64) float64 {
	names := []float64{50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800}
	best := names[0]
	for _, name := range names {
		if math.Abs(math.Log2(name/iso)) < math.Abs(math.Log2(best/iso)) {
			best = name
		}
	}
	return best
}

// unlikeOtherCues gives a screen the drive that it has in most other cues.
func (o *offers) unlikeOtherCues(f *finding.Finding, screen string, add adder) {
	faulty := map[int]bool{}
	for _, look := range o.looksOf(f.Identity()) {
		faulty[look] = true
	}
	count := map[float64]int{}
	usual, most := 0.0, 0
	for i := range o.state.Looks {
		if drive, ok := o.state.Looks[i].Drives[screen]; ok && !faulty[i] && drive.DrivePct != nil && *drive.DrivePct > 0 {
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

// numberTwice gives one of two fixtures with the same channel the number that is
// missing in the row of its neighbours in the patch.
func (o *offers) numberTwice(add adder) {
	used := map[int]int{}
	patch := o.state.Show.Patch
	for _, f := range patch {
		used[f.Channel]++
	}
	for i, f := range patch {
		if used[f.Channel] < 2 {
			continue
		}
		for _, want := range []struct{ beside, step int }{{i - 1, 1}, {i + 1, -1}} {
			if want.beside < 0 || want.beside >= len(patch) || patch[want.beside].Type != f.Type {
				continue
			}
			if number := patch[want.beside].Channel + want.step; number > 0 && used[number] == 0 {
				add("Each fixture has a channel of its own.", source.Edit{At: f.At, Field: "channel", Value: float64(number)})
			}
		}
	}
}

// unlikeTwins gives lamps what all others of their type and purpose have: a filter
// out, the same zoom, the same white.
func (o *offers) unlikeTwins(lamps []*schema.Fixture, add adder) {
	for _, lamp := range lamps {
		var twins []*schema.Fixture
		for _, other := range o.state.Show.Patch {
			if other != lamp && other.Type == lamp.Type && other.Purpose == lamp.Purpose && other.Purpose != "" {
				twins = append(twins, other)
			}
		}
		if len(twins) < 2 {
			continue
		}
		if lamp.Filter != nil && !slices.ContainsFunc(twins, func(t *schema.Fixture) bool { return t.Filter != nil }) {
			add("The lamp gives the light of its twins again.", source.Edit{At: lamp.At, Field: "filter"})
		}
		for _, field := range []struct {
			name string
			of   func(*schema.Fixture) *float64
		}{
			{"zoom_deg", func(f *schema.Fixture) *float64 { return f.ZoomDeg }},
			{"white_k", func(f *schema.Fixture) *float64 { return f.WhiteK }},
		} {
			if common, ok := inCommon(twins, field.of); ok && differs(field.of(lamp), common) {
				add("The lamp is set like its twins.", source.Edit{At: lamp.At, Field: field.name, Value: common})
			}
		}
		if mode, ok := inCommonWord(twins, func(f *schema.Fixture) string { return f.Mode }); ok && lamp.Mode != mode && mode != "" {
			add("The lamp is set like its twins.", source.Edit{At: lamp.At, Field: "mode", Value: mode})
		}
	}
}

// unlikeCameras gives each camera the settings of the others.
func (o *offers) unlikeCameras(add adder) {
	room := o.state.Show.Room
	if room == nil || len(room.Cameras) < 2 {
		return
	}
	fields := []struct {
		name string
		of   func(*schema.Camera) *float64
	}{
		{"sensitivity_iso", func(c *schema.Camera) *float64 { return c.SensitivityISO }},
		{"aperture_f", func(c *schema.Camera) *float64 { return c.ApertureF }},
		{"shutter_s", func(c *schema.Camera) *float64 { return c.ShutterS }},
		{"nd_stops", func(c *schema.Camera) *float64 { return c.NDStops }},
		{"white_k", func(c *schema.Camera) *float64 { return c.WhiteK }},
	}
	for i, camera := range room.Cameras {
		others := slices.Concat(room.Cameras[:i], room.Cameras[i+1:])
		for _, field := range fields {
			if common, ok := inCommon(others, field.of); ok && differs(field.of(camera), common) {
				add("All cameras see the same picture.", source.Edit{At: camera.At, Field: field.name, Value: common})
			}
		}
	}
}

func differs(have *float64, common float64) bool {
	const same = 0.02 // of the value
	return have != nil && math.Abs(*have-common) > same*math.Abs(common)
}

// inCommon is the value that all have.
func inCommon[T any](list []*T, of func(*T) *float64) (value float64, ok bool) {
	for i, one := range list {
		v := of(one)
		if v == nil || i > 0 && *v != value {
			return 0, false
		}
		value = *v
	}
	return value, len(list) > 0
}

func inCommonWord[T any](list []*T, of func(*T) string) (value string, ok bool) {
	for i, one := range list {
		v := of(one)
		if i > 0 && v != value {
			return "", false
		}
		value = v
	}
	return value, len(list) > 0
}

// outOfRow gives a lamp the address that continues the row of its neighbours in the
// patch: the one that a slip of the hand explains.
func (o *offers) outOfRow(lamp *schema.Fixture, add adder) {
	list := slices.Clone(o.state.Show.Patch)
	slices.SortStableFunc(list, func(a, b *schema.Fixture) int { return a.Channel - b.Channel })
	at := slices.Index(list, lamp)
	number := func(i int) (universe, slot int, ok bool) {
		if i < 0 || i >= len(list) || list[i].Type != lamp.Type {
			return 0, 0, false
		}
		left, right, found := strings.Cut(list[i].Address, ".")
		universe, err1 := strconv.Atoi(left)
		slot, err2 := strconv.Atoi(right)
		return universe, slot, found && err1 == nil && err2 == nil
	}
	try := func(i, j, from, steps int) { // the row from i to j, carried on from there
		u1, s1, ok1 := number(i)
		u2, s2, ok2 := number(j)
		if !ok1 || !ok2 || u1 != u2 || (s2-s1)%(j-i) != 0 || s2 <= s1 {
			return
		}
		_, base, _ := number(from)
		slot := base + steps*((s2-s1)/(j-i))
		address := fmt.Sprintf("%d.%d", u1, slot)
		if slot >= 1 && slot <= 512 && address != lamp.Address && !slices.ContainsFunc(list, func(f *schema.Fixture) bool { return f.Address == address }) {
			add("Each fixture answers to its own channel again. The fixture itself has to be set to the new address too.", source.Edit{At: lamp.At, Field: "address", Value: address})
		}
	}
	try(at-1, at+1, at-1, 1)
	try(at-2, at-1, at-1, 1)
	try(at+1, at+2, at+1, -1)
}
