package plan

import (
	"cmp"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// tooLow and tooHigh are from which part of what a lamp usually has a level is a slip and
// no choice (common practice, no source: two thirds of a stop).
const (
	tooLow  = 0.6
	tooHigh = 1.5
)

// pushedUp is the level, in percent, from which a lamp that a cue brought up was pushed to
// the end of its fader, and not set for a big look. Common practice, no source.
const pushedUp = 95

// unusedLevel is what a light is tried at first that no cue uses, in percent
// (common practice, no source).
const unusedLevel = 50

// darkLamps brings up the lamps that are aimed at somebody and left dark where the
// fault begins, or far below what they usually have, for as long as the fault lasts.
func (o *offers) darkLamps(f *finding.Finding, add adder) {
	place, looks := nameOf(f, "place"), o.looksOf(f.Identity())
	if place == "" || len(looks) == 0 {
		return
	}
	first, last := slices.Min(looks), slices.Max(looks)
	var front, back, everywhere []source.Edit
	add("The part stays quiet, and the face can be seen.", o.keepQuiet(f, place, first, last)...)
	for _, lamp := range o.lampsFor(place) {
		usual, ok := o.usual(lamp, place, looks)
		if most := o.mostOf(lamp.Channel); !ok && lamp.Purpose == "key" && most > 0 && most <= leastLevel { // a glow is all that it ever gives
			usual, ok = leastLevel, true
		}
		if fromBehind(lamp) && !o.litIn(lamp.Channel, [2]int{0, len(o.state.Looks) - 1}) { // it was forgotten in all cues
			if !ok { // and so were its twins
				usual, ok = unusedLevel, true
			}
			for _, run := range stretches(o.with(place)) {
				everywhere = append(everywhere, slices.Concat(o.hold(lamp.Channel, usual, run[0], run[1]), o.whiteFor(lamp, run[0]))...)
			}
		}
		if !ok || o.level(first, lamp.Channel) >= tooLow*usual {
			continue
		}
		edits := slices.Concat(o.hold(lamp.Channel, usual, first, last), o.whiteFor(lamp, first))
		if fromBehind(lamp) {
			back = append(back, edits...)
		} else {
			front = append(front, edits...)
		}
	}
	if f.Rule == "people/no-back" && len(everywhere) > 0 {
		add("Everybody has light from behind.", o.forgottenBacks()...)
	}
	add("There is light from behind wherever somebody stands there.", everywhere...)
	add("The face is lit as it is in the other cues.", front...)
	add("The face is lit as the others are who are there.", o.likeBeside(place, first, last)...)
	add("There is light from behind again, as in the other cues.", back...)
	if len(front) > 0 && len(back) > 0 {
		add("The person is lit as in the other cues.", slices.Concat(front, back)...)
	}
	for _, level := range []float64{unusedLevel, 30, 75, 100} {
		add("Those who stand there have light of their own.", o.forgotten(f, level)...)
	}
	if people, known := o.peopleIn(first); known && len(people) > 1 && !o.hasMood(first, "quiet") {
		add("Everybody is lit as in the other cues.", o.litAsElsewhere(first, last)...)
	}
	if !o.hasMood(first, "quiet") && (f.Rule == "people/back-weak" || f.Rule == "people/no-back") {
		add("There is light from behind again, as in the other cues.", o.backsAsElsewhere(first, last)...)
	}
	if f.Rule == "people/half-dark" {
		add("Both halves of the face are lit.", o.shareLight(place, false)...)
		add("Both halves of the face are lit, as brightly as one was.", o.shareLight(place, true)...)
	}
}

// shareLight lights the lamp of a face that is dark in all cues beside the one that is lit: with as
// much as such lamps give elsewhere in those cues, or else half, weighed by what the two can give;
// down takes as much from the other, so that the face is not brighter than before.
func (o *offers) shareLight(place string, down bool) (edits []source.Edit) {
	light := func(look int, lamp *schema.Fixture) float64 {
		light := o.level(look, lamp.Channel)
		if t := o.typeOf(lamp); t != nil && t.PeakCd != nil {
			light *= *t.PeakCd
		}
		return light
	}
	var lit, dark []*schema.Fixture
	for _, lamp := range o.lampsFor(place) {
		switch {
		case fromBehind(lamp):
		case o.mostOf(lamp.Channel) > 0:
			lit = append(lit, lamp)
		default:
			dark = append(dark, lamp)
		}
	}
	if len(lit) != 1 || len(dark) != 1 {
		return nil
	}
	key, fill := lit[0], dark[0]
	asKey := *fill
	asKey.Channel = key.Channel // what the other would give at the level of the key
	for _, run := range stretches(o.with(place)) {
		first, part := run[0], 0.5
		for _, other := range o.othersLike(key, func(l *schema.Fixture) bool { return o.level(first, l.Channel) > 0 }) {
			meant, _ := o.meantFor(other)
			for _, beside := range o.othersLike(fill, func(l *schema.Fixture) bool { return o.level(first, l.Channel) > 0 && o.off(l, meant) <= near }) {
				part = light(first, beside) / light(first, other)
			}
		}
		for from, to := first, 0; from <= run[1]; from = to {
			level := o.level(from, key.Channel)
			for to = from + 1; to <= run[1] && o.level(to, key.Channel) == level; {
				to++
			}
			if level <= 0 {
				continue
			}
			if down {
				level /= 1 + part
				edits = append(edits, o.hold(key.Channel, max(leastLevel, math.Round(level)), from, to-1)...)
			}
			edits = append(edits, o.hold(fill.Channel, min(100, max(leastLevel, math.Round(level*part*light(first, key)/light(first, &asKey)))), from, to-1)...)
		}
		edits = append(edits, o.whiteFor(fill, first)...)
	}
	return edits
}

// forgottenBacks brings up the lamps from behind that no cue uses wherever somebody is at whom
// they are aimed: one alone would only make it uneven.
func (o *offers) forgottenBacks() (edits []source.Edit) {
	for _, lamp := range o.state.Show.Patch {
		if !fromBehind(lamp) || o.litIn(lamp.Channel, [2]int{0, len(o.state.Looks) - 1}) {
			continue
		}
		var with []int
		for i := range o.state.Looks {
			people, _ := o.peopleIn(i)
			if slices.ContainsFunc(people, func(place string) bool { return o.off(lamp, place) <= near }) {
				with = append(with, i)
			}
		}
		level, meant := float64(unusedLevel), ""
		if meant, _ = o.meantFor(lamp); len(with) > 0 {
			if usual, ok := o.usual(lamp, meant, with); ok {
				level = usual
			}
		}
		for _, run := range stretches(with) {
			edits = append(edits, slices.Concat(o.hold(lamp.Channel, level, run[0], run[1]), o.whiteFor(lamp, run[0]))...)
		}
	}
	return edits
}

// likeBeside gives the lamps for the face at a place that are far below it what all of their twins
// have that light somebody else in the first look of a stretch.
func (o *offers) likeBeside(place string, first, last int) (edits []source.Edit) {
	people, _ := o.peopleIn(first)
	for _, lamp := range o.lampsFor(place) {
		if fromBehind(lamp) {
			continue
		}
		twins := o.othersLike(lamp, func(other *schema.Fixture) bool {
			meant, off := o.meantFor(other)
			return other.Type == lamp.Type && off <= near && meant != place && slices.Contains(people, meant)
		})
		common, ok := inCommon(twins, func(other *schema.Fixture) *float64 { level := o.level(first, other.Channel); return &level })
		if has := o.level(first, lamp.Channel); ok && has > 0 && has < tooLow*common {
			edits = append(edits, o.hold(lamp.Channel, common, first, last)...)
		}
	}
	return edits
}

// backsAsElsewhere gives all lamps from behind that are far below it in a stretch what they
// usually have, wherever they are aimed.
func (o *offers) backsAsElsewhere(first, last int) (edits []source.Edit) {
	for _, lamp := range o.state.Show.Patch {
		if !fromBehind(lamp) {
			continue
		}
		if usual, ok := o.usual(lamp, "", []int{first}); ok && o.level(first, lamp.Channel) < tooLow*usual {
			edits = append(edits, o.hold(lamp.Channel, usual, first, last)...)
		}
	}
	return edits
}

// forgotten brings up the lamps for faces that no cue uses, of all who are there in the cues
// in which one of them lacks light: the keys to a level, and what fills them to half of it.
func (o *offers) forgotten(f *finding.Finding, level float64) (edits []source.Edit) {
	looks := o.looksOf(f.Identity())
	if f.Rule != "people/key-low" && f.Rule != "people/no-key" {
		return nil
	}
	first, last := slices.Min(looks), slices.Max(looks)
	people, _ := o.peopleIn(first)
	for _, place := range people {
		for _, lamp := range o.lampsFor(place) {
			if fromBehind(lamp) || o.litIn(lamp.Channel, [2]int{0, len(o.state.Looks) - 1}) {
				continue
			}
			to := level
			if lamp.Purpose != "key" {
				to = max(leastLevel, math.Round(level/2))
			}
			edits = append(edits, slices.Concat(o.hold(lamp.Channel, to, first, last), o.whiteFor(lamp, first))...)
		}
	}
	return edits
}

// keepQuiet raises the lamps that light a face in a quiet part alike, by what is missing and
// no more: all of them were brought down on purpose, and a screen was forgotten.
func (o *offers) keepQuiet(f *finding.Finding, place string, first, last int) (edits []source.Edit) {
	s := o.state.Looks[first].Segment
	if f.Rule != "people/key-low" || f.Amount == nil || len(f.Limits) == 0 || f.Limits[0].Num == nil || s == nil || s.Mood != "quiet" || !slices.Contains(o.faultyOfRule("screen/outshines-face"), first) {
		return nil
	}
	for _, lamp := range o.lampsFor(place) {
		if usual, ok := o.usual(lamp, place, []int{first}); !ok || o.level(first, lamp.Channel) >= tooLow*usual {
			return nil
		}
	}
	const clear = 0.3 // stops to be clear of the limit (common practice, no source: a step of a camera)
	factor := math.Exp2(f.Amount.Value - *f.Limits[0].Num + clear)
	for _, lamp := range o.lampsFor(place) {
		switch level := o.level(first, lamp.Channel); {
		case fromBehind(lamp) || level <= 0:
		case level*factor > 100:
			return nil
		default:
			edits = append(edits, o.hold(lamp.Channel, max(leastLevel, math.Round(level*factor)), first, last)...)
		}
	}
	return edits
}

// mostOf is the highest level that a channel has in any look.
func (o *offers) mostOf(channel int) (most float64) {
	for i := range o.state.Looks {
		most = max(most, o.level(i, channel))
	}
	return most
}

// with lists the looks in which somebody is at a place.
func (o *offers) with(place string) (list []int) {
	for i := range o.state.Looks {
		if people, known := o.peopleIn(i); known && slices.Contains(people, place) {
			list = append(list, i)
		}
	}
	return list
}

// whiteFor tells a lamp that mixes its colours a white, if no cue has told it any: a
// level alone would leave it dark.
func (o *offers) whiteFor(lamp *schema.Fixture, look int) []source.Edit {
	t := o.typeOf(lamp)
	if t == nil || len(t.Emitters) == 0 || o.state.Looks[look].State(lamp.Channel).Colour != nil {
		return nil
	}
	edit, _ := o.white(lamp, t, look)
	return edit
}

// white is the change that gives a lamp of mixed colours the white of the camera, with its
// mix, none where its own menu has whites by kelvin; nothing if it can make no white.
func (o *offers) white(lamp *schema.Fixture, t *schema.Type, look int) (edits []source.Edit, mix map[string]float64) {
	edit := source.Edit{At: o.told(look, lamp.Channel, tracking.ColourBy), Only: []int{lamp.Channel}, Field: schema.White, Value: o.cameraWhite()}
	if !slices.Contains(t.Can, "white") && len(t.WhiteRangeK) == 0 {
		ok := false
		if mix, ok = stage.WhiteMix(t, o.cameraWhite()); !ok {
			return nil, nil
		}
		edit.Field, edit.Value = schema.Mix, schema.MixText(mix)
	}
	return []source.Edit{edit}, mix
}

// whiteAt is the white of the camera that looks at a place or the next beside it, or else of the
// first.
func (o *offers) whiteAt(place string) float64 {
	head, known := o.head(place)
	if o.state.Show.Room == nil || !known {
		return o.cameraWhite()
	}
	white, nearest := 0.0, math.Inf(1)
	for _, c := range o.state.Show.Room.Cameras {
		if c.WhiteK == nil || c.AimedAt == nil {
			continue
		}
		at, ok := o.head(c.AimedAt.Name)
		if c.AimedAt.Point != nil {
			at, ok = *c.AimedAt.Point, true
		}
		if off := math.Hypot(at.X-head.X, at.Y-head.Y); ok && off < nearest {
			white, nearest = *c.WhiteK, off
		}
	}
	if nearest > stray {
		return o.cameraWhite()
	}
	return white
}

// cameraWhite is the white of the main camera, or else of the first that says one; daylight if none does.
func (o *offers) cameraWhite() float64 {
	if room := o.state.Show.Room; room != nil {
		for _, any := range []bool{false, true} {
			for _, c := range room.Cameras {
				if c.WhiteK != nil && (any || c.Role == "main") {
					return *c.WhiteK
				}
			}
		}
	}
	const daylight = 5600 // K, as cameras name it
	return daylight
}

// brightLamps brings down the lamps of somebody that are far above what they usually
// have: of this person, and of everybody who is in those cues.
func (o *offers) brightLamps(f *finding.Finding, add adder) {
	looks := o.looksOf(f.Identity())
	if len(looks) == 0 {
		return
	}
	slices.Sort(looks)
	down := func(behind bool, places ...string) (edits []source.Edit) {
		for _, place := range places {
			for _, lamp := range o.lampsFor(place) {
				if !behind && fromBehind(lamp) != (f.Rule == "people/back-strong") {
					continue
				}
				for _, run := range stretches(looks) {
					usual, ok := o.usual(lamp, place, looks)
					if ok && o.level(run[0], lamp.Channel) > tooHigh*usual {
						edits = append(edits, o.hold(lamp.Channel, usual, run[0], run[1])...)
					}
				}
			}
		}
		return edits
	}
	people, _ := o.peopleIn(looks[0])
	for _, behind := range []bool{false, true} { // a key alone would leave the light from behind too strong
		add("The faces are lit as in the other cues.", down(behind, people...)...)
		if place := nameOf(f, "place"); place != "" {
			add("The face is lit as in the other cues.", down(behind, place)...)
		}
	}
}

// dimLamps brings up the lamps of whoever is lit far below what is usual among those who are
// seen together, as long as faces are unequal.
func (o *offers) dimLamps(f *finding.Finding, add adder) {
	looks := o.looksOf(f.Identity())
	if len(looks) == 0 {
		return
	}
	all := o.faultyOfRule(f.Rule)
	people, _ := o.peopleIn(looks[0])
	for _, run := range stretches(all) {
		if looks[0] < run[0] || looks[0] > run[1] {
			continue
		}
		for _, place := range people {
			var edits []source.Edit
			for _, lamp := range o.lampsFor(place) {
				usual, ok := o.usual(lamp, place, all)
				if ok && !fromBehind(lamp) && o.level(looks[0], lamp.Channel) < tooLow*usual {
					edits = append(edits, slices.Concat(o.hold(lamp.Channel, usual, looks[0], run[1]), o.whiteFor(lamp, looks[0]))...)
				}
			}
			add("The face is lit as in the other cues.", edits...)
		}
		var way []source.Edit
		for _, lamp := range o.state.Show.Patch {
			if !forPeople(lamp) || fromBehind(lamp) || !o.aimedAlong(lamp, o.waysIn(looks[0])) {
				continue
			}
			meant, _ := o.meantFor(lamp)
			if usual, ok := o.usual(lamp, meant, all); ok && o.level(looks[0], lamp.Channel) < tooLow*usual {
				way = append(way, o.hold(lamp.Channel, usual, looks[0], run[1])...)
			}
		}
		add("The way is lit as in the other cues.", way...)
	}
}

// likeCue gives all who stand in the dark in a cue the levels of one other cue in which all of
// them are lit: of the same mood before another, and of such the nearest.
func (o *offers) likeCue(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	if f.Rule == "dynamics/dark-on-camera" {
		looks = slices.DeleteFunc(slices.Clone(looks), func(i int) bool { return !o.isDark(i) })
	}
	runs := stretches(looks)
	if len(runs) == 0 {
		return
	}
	first, last := runs[0][0], runs[0][1]
	dark, _ := o.peopleIn(first)
	if len(dark) < 2 { // one alone has the levels that are usual there
		return
	}
	lit := func(i int, place string) bool {
		return slices.ContainsFunc(o.lampsFor(place), func(l *schema.Fixture) bool { return !fromBehind(l) && o.level(i, l.Channel) > leastLevel })
	}
	best, least := -1, math.Inf(1)
	for i := range o.state.Looks {
		people, known := o.peopleIn(i)
		if !known || slices.ContainsFunc(dark, func(place string) bool { return !slices.Contains(people, place) || !lit(i, place) }) {
			continue
		}
		away := math.Abs(float64(i - first))
		if o.hasMood(i, "quiet") != o.hasMood(first, "quiet") {
			away += float64(len(o.state.Looks))
		}
		if away < least {
			best, least = i, away
		}
	}
	if best < 0 {
		return
	}
	var edits []source.Edit
	for _, place := range dark {
		for _, lamp := range o.lampsFor(place) {
			if level := o.level(best, lamp.Channel); level >= leastLevel && o.level(first, lamp.Channel) < tooLow*level {
				edits = append(edits, slices.Concat(o.hold(lamp.Channel, level, first, last), o.whiteFor(lamp, first))...)
			}
		}
	}
	add("Everybody is lit as in that cue.", edits...)
}

// usualLevels gives the lamps of a face the levels that they usually have: a filament
// changes its white with its level.
func (o *offers) usualLevels(f *finding.Finding, add adder) {
	place, looks := nameOf(f, "place"), o.looksOf(f.Identity())
	if len(looks) == 0 {
		return
	}
	slices.Sort(looks)
	var edits []source.Edit
	for _, lamp := range o.lampsFor(place) {
		t := o.typeOf(lamp)
		if t == nil || t.Source != "tungsten" {
			continue
		}
		for _, run := range stretches(looks) {
			usual, ok := o.usual(lamp, place, looks)
			if has := o.level(run[0], lamp.Channel); ok && has > 0 && differs(&has, usual) {
				edits = append(edits, o.hold(lamp.Channel, usual, run[0], run[1])...)
			}
		}
	}
	add("The lamps burn as in the other cues, and so does their white.", edits...)
}

// usual is the level that a lamp for a place has in another look where it is lit: in the
// one in which the other lamps of the place stand most as they do now, and of such the
// nearest. Of a lamp that is lit nowhere else, what its twins have beside such lamps.
func (o *offers) usual(lamp *schema.Fixture, place string, faulty []int) (level float64, ok bool) {
	first := slices.Min(faulty)
	now := o.beside(first, lamp.Purpose, place)
	least := math.Inf(1)
	weigh := func(lamp *schema.Fixture, place string, not []int) {
		for i := range o.state.Looks {
			has := o.level(i, lamp.Channel)
			if has <= leastLevel || slices.Contains(not, i) {
				continue
			}
			apart := 0.0
			if now > 0 {
				apart = math.Abs(o.beside(i, lamp.Purpose, place) - now)
			}
			if o.hasMood(i, "quiet") != o.hasMood(first, "quiet") {
				apart += otherMood
				if o.hasMood(i, "loud") || o.hasMood(first, "loud") {
					apart += otherMood
				}
			}
			const nearer = 0.01 // of a percent: it only decides between looks that are alike
			if apart += nearer * math.Abs(float64(i-first)); apart < least {
				least, level, ok = apart, has, true
			}
		}
	}
	front := o.level(first, lamp.Channel)
	for _, other := range o.lampsFor(place) {
		if !fromBehind(other) {
			front = max(front, o.level(first, other.Channel))
		}
	}
	lit := o.level(first, lamp.Channel) > 0 && front > leastLevel
	if weigh(lamp, place, faulty); ok || lit { // where a face has light, what its lamps lack is worked out from that
		return level, ok
	}
	for _, twin := range o.state.Show.Patch {
		if twin != lamp && twin.Type == lamp.Type && twin.Purpose == lamp.Purpose {
			meant, _ := o.meantFor(twin)
			weigh(twin, meant, nil)
		}
	}
	return level, ok
}

// otherMood is by how many percent lamps beside may stand otherwise before a look of another
// mood is the more alike (common practice, no source).
const otherMood = 30

// hasMood reports whether a look belongs to a part of a mood.
func (o *offers) hasMood(look int, mood string) bool {
	s := o.state.Looks[look].Segment
	return s != nil && s.Mood == mood
}

// usualFade gives a cue that jumps the fade that most other cues have, where they have one.
func (o *offers) usualFade(f *finding.Finding, add adder) {
	const leastS = 3 // s: shorter is no fade that anybody would call one (common practice, no source)
	looks := o.looksOf(f.Identity())
	if len(looks) == 0 {
		return
	}
	var fades, alike []float64 // of all cues, and of those of the same mood
	for i := range o.state.Looks {
		if cue := o.state.Looks[i].Cue(); cue.InS != nil && *cue.InS >= leastS {
			fades = append(fades, *cue.InS)
			if o.hasMood(i, "quiet") == o.hasMood(looks[0], "quiet") {
				alike = append(alike, *cue.InS)
			}
		}
	}
	if len(fades) <= 2 || 2*len(fades) <= len(o.state.Looks) {
		return
	}
	if len(alike) > 2 {
		fades = alike
	}
	slices.Sort(fades)
	cue, usual := o.state.Looks[looks[0]].Cue(), fades[len(fades)/2]
	add("The light moves as it does in the other cues.", source.Edit{At: cue.At, Field: "in_s", Value: usual}, source.Edit{At: cue.At, Field: "out_s", Value: usual})
}

// beside is the highest level of the lamps for a place that have another purpose.
func (o *offers) beside(look int, purpose, place string) (level float64) {
	for _, lamp := range o.lampsFor(place) {
		if lamp.Purpose != purpose {
			level = max(level, o.level(look, lamp.Channel))
		}
	}
	return level
}

// emptyLamps takes out the lamps that wait on places where nobody is, from the cue in
// which the people left until the one in which somebody comes back.
func (o *offers) emptyLamps(f *finding.Finding, add adder) {
	out := func(looks []int) (edits []source.Edit) {
		for _, lamp := range o.state.Show.Patch {
			place, off := o.meantFor(lamp)
			if !forPeople(lamp) || off > near {
				continue
			}
			meant := o.straysFrom(lamp, "") // whoever stands there waits for this light: it is aimed and not taken out
			var waits []int
			for _, i := range looks {
				people, known := o.peopleIn(i)
				if known && !slices.Contains(people, place) && !slices.Contains(people, meant) && o.level(i, lamp.Channel) > 0 {
					waits = append(waits, i)
				}
			}
			for _, run := range stretches(waits) {
				edits = append(edits, o.hold(lamp.Channel, 0, run[0], run[1])...)
			}
		}
		return edits
	}
	add("No light waits where nobody is.", out(o.faultyOfRule(f.Rule))...)
	add("No light waits where nobody is.", out(o.looksOf(f.Identity()))...)
}

// lettingGo lets a cue keep what it does not mention, where it lets go of it.
func (o *offers) lettingGo(f *finding.Finding, add adder) {
	for _, i := range o.looksOf(f.Identity()) {
		if !o.goesOn(i) {
			continue // what was before belongs to another part
		}
		for _, cue := range o.state.Looks[i].Parts {
			if cue.Tracking == "release" {
				add("What the cue does not mention stays as it was.", source.Edit{At: cue.At, Field: "tracking", Value: "carry"})
			}
		}
	}
}

// goesOn reports whether a look belongs to the part of the evening that the one before it does.
func (o *offers) goesOn(look int) bool {
	looks := o.state.Looks
	return look > 0 && look < len(looks) && looks[look].Segment != nil && looks[look-1].Segment == looks[look].Segment
}

// wentDark keeps light where a cue took it away: what was lit in the cue before, people
// and what is around them apart from each other.
func (o *offers) wentDark(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	if f.Rule == "dynamics/dark-on-camera" {
		looks = slices.DeleteFunc(slices.Clone(looks), func(i int) bool { return !o.isDark(i) })
	}
	runs := stretches(looks)
	if len(runs) == 0 || runs[0][0] == 0 {
		return
	}
	first, last := runs[0][0], runs[0][1]
	var people, around, house []source.Edit
	for _, lamp := range o.state.Show.Patch {
		was := o.level(first-1, lamp.Channel)
		if was <= 0 || o.level(first, lamp.Channel) >= tooLow*was {
			continue
		}
		edits := o.hold(lamp.Channel, was, first, last)
		switch {
		case forPeople(lamp):
			people = append(people, edits...)
		case forPicture(lamp):
			around = append(around, edits...)
		case lamp.Purpose == "house" || lamp.Purpose == "practical":
			house = append(house, edits...)
		}
	}
	if f.Rule == "people/dark-walk" { // a way is lit, and no face
		half := o.most(0.5, first, last, "house", "practical")
		for _, edits := range [][]source.Edit{o.alongWay(1, first, last, false), house, half, o.alongWay(1.0/3, first, last, true), o.alongWay(1, first, last, true), o.most(1, first, last, "house", "practical"), around, slices.Concat(house, around), o.most(0.5, first, last, "wash"), o.most(1, first, last, "wash")} {
			add("The way can be seen.", edits...)
		}
		return
	}
	add("Who is there is lit as in the other cues.", o.litAsElsewhere(first, last)...)
	add("The light stays until the next part.", people...)
	add("A glow stays on stage until the next part.", around...)
	add("The light stays until the next part.", slices.Concat(people, around)...)
}

// alongWay gives the lamps that are aimed at a path which is dark a part of the most that they
// have in the evening; those for people only if that is asked for.
func (o *offers) alongWay(part float64, first, last int, people bool) (edits []source.Edit) {
	for _, lamp := range o.state.Show.Patch {
		if forPeople(lamp) && (!people || fromBehind(lamp)) || !o.aimedAlong(lamp, o.waysIn(first)) {
			continue
		}
		if most := math.Round(part * cmp.Or(o.mostOf(lamp.Channel), unusedLevel)); most > max(leastLevel, o.level(first, lamp.Channel)) {
			edits = append(edits, o.hold(lamp.Channel, most, first, last)...)
		}
	}
	return edits
}

// waysIn are the paths that people walk in a look, as lines of points on the floor; all of
// the room where nobody says which.
func (o *offers) waysIn(look int) (ways [][]schema.Point) {
	if o.state.Show.Room == nil {
		return nil
	}
	var names []string
	for _, part := range o.state.Looks[look].Parts {
		names = append(names, part.Walks...)
	}
	if s := o.state.Looks[look].Segment; s != nil && len(names) == 0 {
		names = s.Walks
	}
	for _, path := range o.state.Show.Room.Paths {
		if len(names) > 0 && !slices.Contains(names, path.Name) {
			continue
		}
		from, ok := o.head(path.From)
		to, known := o.head(path.To)
		if ok && known {
			ways = append(ways, slices.Concat([]schema.Point{from}, path.Via, []schema.Point{to}))
		}
	}
	return ways
}

// besideWay is how far from a way a lamp may be aimed and still light it, in metres (common
// practice, no source: a step or two).
const besideWay = 1.5

// aimedAlong reports whether a lamp is aimed at a way.
func (o *offers) aimedAlong(lamp *schema.Fixture, ways [][]schema.Point) bool {
	if lamp.AimedAt == nil {
		return false
	}
	at, ok := o.head(lamp.AimedAt.Name)
	if lamp.AimedAt.Point != nil {
		at, ok = *lamp.AimedAt.Point, true
	}
	return ok && slices.ContainsFunc(ways, func(way []schema.Point) bool {
		for i := 1; i < len(way); i++ {
			if fromLine(at, way[i-1], way[i]) <= besideWay {
				return true
			}
		}
		return false
	})
}

// fromLine is how far a point is from a stretch between two others, in metres, as seen from
// above.
func fromLine(p, a, b schema.Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	part := 0.0
	if long := dx*dx + dy*dy; long > 0 {
		part = min(1, max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/long))
	}
	return math.Hypot(p.X-a.X-part*dx, p.Y-a.Y-part*dy)
}

// litAsElsewhere gives the lamps for those who are there in a stretch what they usually
// have.
func (o *offers) litAsElsewhere(first, last int) (edits []source.Edit) {
	people, known := o.peopleIn(first)
	if !known {
		return nil
	}
	for _, place := range people {
		for _, lamp := range o.lampsFor(place) {
			if usual, ok := o.usual(lamp, place, []int{first}); ok && o.level(first, lamp.Channel) < tooLow*usual {
				edits = append(edits, o.hold(lamp.Channel, usual, first, last)...)
			}
		}
	}
	return edits
}

// most gives lamps of some purposes in a stretch a part of the most that they have in the
// evening.
func (o *offers) most(part float64, first, last int, purposes ...string) (edits []source.Edit) {
	for _, lamp := range o.state.Show.Patch {
		if !slices.Contains(purposes, lamp.Purpose) {
			continue
		}
		if most := math.Round(part * o.mostOf(lamp.Channel)); most > max(leastLevel, o.level(first, lamp.Channel)) {
			edits = append(edits, o.hold(lamp.Channel, most, first, last)...)
		}
	}
	return edits
}

// isDark reports whether no lamp is lit in a look.
func (o *offers) isDark(look int) bool {
	return !slices.ContainsFunc(o.state.Show.Patch, func(f *schema.Fixture) bool {
		t := o.typeOf(f)
		return o.level(look, f.Channel) > 0 && (t == nil || t.Machine == nil)
	})
}

// cameUp gives what a cue raised without being for people the level of the cue before.
func (o *offers) cameUp(f *finding.Finding, add adder) {
	for _, looks := range [][]int{o.faultyOfRule(f.Rule), o.looksOf(f.Identity())} {
		var edits []source.Edit
		for _, run := range stretches(looks) {
			if run[0] == 0 {
				continue
			}
			for _, lamp := range o.state.Show.Patch {
				was := o.level(run[0]-1, lamp.Channel)
				if t := o.typeOf(lamp); forPeople(lamp) || t != nil && t.Machine != nil || o.level(run[0], lamp.Channel) < pushedUp || o.level(run[0], lamp.Channel) <= tooHigh*was {
					continue
				}
				edits = append(edits, o.hold(lamp.Channel, was, run[0], run[1])...)
			}
		}
		add("One system leads, and the others stay where they were.", edits...)
	}
}

// lateCue lets the light of a part of the evening begin with the part, where somebody
// stands in what the part before it left.
func (o *offers) lateCue(f *finding.Finding, add adder) {
	for _, i := range o.faulty(f) {
		if i+1 >= len(o.state.Looks) {
			continue
		}
		look, next := &o.state.Looks[i], &o.state.Looks[i+1]
		lights := func(lamp *schema.Fixture) bool {
			return lamp.Purpose == "key" && o.level(i, lamp.Channel) < tooLow*o.level(i+1, lamp.Channel)
		}
		if f.Rule == "dynamics/dark-on-camera" && (!o.isDark(i) || o.isDark(i+1) || next.Segment != look.Segment || secondsIn(look) > 0) {
			continue
		}
		begins := f.Rule == "dynamics/dark-on-camera" || next.Segment != look.Segment || o.onlyForPeople(next) && slices.ContainsFunc(o.lampsFor(nameOf(f, "place")), lights)
		if cue := next.Cue(); next.Segment != nil && begins && cue.AtS != nil && *cue.AtS > 0 {
			add("The light is there with the first word.", source.Edit{At: cue.At, Field: "at_s", Value: 0.0})
		}
	}
}

// earlyCue lets a cue that takes all light away before a part of the evening is over come with
// its end.
func (o *offers) earlyCue(f *finding.Finding, add adder) {
	for _, i := range o.faulty(f) {
		cue, segment := o.state.Looks[i].Cue(), o.state.Looks[i].Segment
		if !o.isDark(i) || !o.goesOn(i) || o.isDark(i-1) || segment.DurationS == nil || cue.AtS == nil || *cue.AtS >= *segment.DurationS || o.goesOn(i+1) {
			continue
		}
		// Sooner before the end somebody clears the stage, and a glow is what is missing; before the last two fifths
		// the dark is a slip in the cue and no matter of when it is called (common practice, no source).
		const early, last = 30, 0.6 // s, and of the part
		if *segment.DurationS-*cue.AtS < early || *cue.AtS < last**segment.DurationS {
			continue
		}
		add("The light stays to the last word of the part.", source.Edit{At: cue.At, Field: "at_s", Value: *segment.DurationS})
	}
}

// onlyForPeople reports whether all that a look's cue sets are lamps for people: nothing else
// comes earlier with it.
func (o *offers) onlyForPeople(look *tracking.Look) bool {
	for _, part := range look.Parts {
		if len(part.Screens) > 0 {
			return false
		}
		for _, setting := range part.Set {
			channels, err := o.state.Show.Channels(setting.Channels)
			if err != nil || slices.ContainsFunc(channels, func(c int) bool { f := o.fixtureOn(c); return f == nil || !forPeople(f) }) {
				return false
			}
		}
	}
	return true
}

// darkBeforeMove takes lamps that are seen to move out in the cue before or in that of the
// move: first where they are missed less.
func (o *offers) darkBeforeMove(f *finding.Finding, add adder) {
	for _, i := range o.looksOf(f.Identity()) {
		if i == 0 {
			continue
		}
		looks := o.state.Looks
		var before, with []source.Edit
		was, is := 0.0, 0.0 // levels, added up
		for _, lamp := range o.state.Show.Patch {
			from, to := looks[i-1].State(lamp.Channel), looks[i].State(lamp.Channel)
			if from.Level <= 0 || to.Level <= 0 || from.Rest == to.Rest || from.Rest != nil && to.Rest != nil && sameAim(from.Rest.Aim, to.Rest.Aim) && from.Rest.Pattern == to.Rest.Pattern && from.Rest.Wheel == to.Rest.Wheel {
				continue
			}
			was, is = was+from.Level, is+to.Level
			before = append(before, o.setLevel(i-1, lamp.Channel, 0))
			if !o.tells(i, lamp.Channel, tracking.LevelBy) {
				before = append(before, o.setLevel(i, lamp.Channel, to.Level))
			}
			with = append(with, o.setLevel(i, lamp.Channel, 0))
			if i+1 < len(looks) && o.level(i+1, lamp.Channel) > 0 && !o.tells(i+1, lamp.Channel, tracking.LevelBy) {
				with = append(with, o.setLevel(i+1, lamp.Channel, o.level(i+1, lamp.Channel)))
			}
		}
		goOut := func() {
			add("The lamps go out while they move, and come up in their new place with the next cue.", with...)
		}
		missed := is >= was && (looks[i].Segment == nil || looks[i].Segment.Kind == "song") // while people speak nobody misses a beam
		if !missed {
			goOut()
		}
		add("The lamps are dark while they move, and come up in their new place.", before...)
		if missed {
			goOut()
		}
	}
}

func sameAim(a, b *schema.Aim) bool {
	if a == nil || b == nil {
		return a == b
	}
	return schema.AimText(a) == schema.AimText(b)
}

// out takes a lamp out wherever it is lit, unless it only has to point where it did before.
func (o *offers) out(f *finding.Finding, add adder) {
	o.aimBefore(f, add)
	lamp := o.aboutFixture(f)
	if lamp == nil || lamp.Purpose == "" || forPeople(lamp) && (!fromBehind(lamp) || lamp.Mount != "stands") { // a face needs its light: it is aimed otherwise
		return
	}
	var lit []int
	for i := range o.state.Looks {
		if o.level(i, lamp.Channel) > 0 {
			lit = append(lit, i)
		}
	}
	alone := func(look int) bool { // the only light that there is, such as that of a shadow play
		return !slices.ContainsFunc(o.state.Show.Patch, func(other *schema.Fixture) bool {
			t := o.typeOf(other)
			return other != lamp && other.Purpose != "house" && (t == nil || t.Machine == nil) && o.level(look, other.Channel) > 0
		})
	}
	lightsWay := func(look int) bool { return o.aimedAlong(lamp, o.waysIn(look)) }
	if slices.ContainsFunc(lit, alone) || slices.Contains([]string{"wash", "house", "practical"}, lamp.Purpose) && slices.ContainsFunc(lit, lightsWay) {
		return
	}
	var edits []source.Edit
	for _, run := range stretches(lit) {
		edits = append(edits, o.hold(lamp.Channel, 0, run[0], run[1])...)
	}
	add("The beam is out.", edits...)
}

// park writes that a lamp which no cue uses is dark on purpose. What is around people and
// what lights them is worth a question first: a cue may have forgotten it.
func (o *offers) park(f *finding.Finding, add adder) {
	lamp := o.aboutFixture(f)
	if lamp == nil || len(o.state.Looks) == 0 || forPicture(lamp) || forPeople(lamp) {
		return
	}
	add("Everybody sees that the lamp is not wanted tonight. If it is, bring it up in a cue instead.", o.setLevel(0, lamp.Channel, 0))
}

// washOnFace takes down lamps of the picture that are aimed at somebody: first to a
// third, then out.
func (o *offers) washOnFace(f *finding.Finding, add adder) {
	looks := o.faultyOfRule(f.Rule)
	place := nameOf(f, "place")
	if place == "" || len(looks) == 0 {
		return
	}
	var less, gone []source.Edit
	for _, lamp := range o.state.Show.Patch {
		if !forPicture(lamp) || o.off(lamp, place) > near {
			continue
		}
		for _, run := range stretches(looks) {
			if o.level(run[0], lamp.Channel) > 0 {
				less = append(less, o.scale(lamp.Channel, 1.0/3, false, run[0], run[1])...)
				gone = append(gone, o.hold(lamp.Channel, 0, run[0], run[1])...)
			}
		}
	}
	add("The key light decides how the face looks.", less...)
	add("The key light decides how the face looks.", gone...)
}

// pictureDown takes down what is around people in a part of the evening: by half, with
// the beams out, and to a quarter.
func (o *offers) pictureDown(f *finding.Finding, add adder) {
	for _, run := range stretches(o.faulty(f)) {
		if f.Rule == "people/background-bright" && (f.Level == finding.Note || o.hasMood(run[0], "loud")) { // the wall is part of the picture
			continue
		}
		if calm := o.calmest(run); f.Rule == "dynamics/quiet-too-bright" && len(calm) > 0 {
			add("Nothing is brighter than in the calmest of the other cues.", calm...)
		}
		for _, step := range []struct {
			factor float64
			beams  bool
			out    bool // what would be a trickle goes out
		}{{0.5, true, false}, {0.5, true, true}, {0.5, false, false}, {0.5, false, true}, {0.25, false, false}, {0.25, false, true}} {
			var edits []source.Edit
			for _, lamp := range o.state.Show.Patch {
				switch {
				case !forPicture(lamp) || !o.litIn(lamp.Channel, run):
				case lamp.Purpose == "beam" && !step.beams:
					edits = append(edits, o.hold(lamp.Channel, 0, run[0], run[1])...)
				default:
					edits = append(edits, o.scale(lamp.Channel, step.factor, step.out, run[0], run[1])...)
				}
			}
			add("It is darker around the people; faces keep their light.", edits...)
		}
	}
}

// calmest gives all lamps in a stretch that have the most there that they have in the evening
// the least that they have in a cue outside of it where they are lit, those that stand alike
// one level; none where the faces are no part of what is too bright, or where somebody who speaks
// would lose half of the light.
func (o *offers) calmest(run [2]int) (edits []source.Edit) {
	s := o.state.Looks[run[0]].Segment
	speaks := s != nil && evening.Speaks(s.Kind)
	type alike struct {
		kind, purpose string
		now, most     float64
	}
	calm := map[alike]float64{}
	of := map[int]alike{} // by channel
	faces := false
	for _, lamp := range o.state.Show.Patch {
		if t := o.typeOf(lamp); t != nil && t.Machine != nil || lamp.Purpose == "house" {
			continue
		}
		least, most := math.Inf(1), 0.0
		for i := range o.state.Looks {
			if level := o.level(i, lamp.Channel); (i < run[0] || i > run[1]) && level >= leastLevel {
				least, most = min(least, level), max(most, level)
			}
		}
		now := o.level(run[0], lamp.Channel)
		if most == 0 || now < most || now <= least {
			continue
		} else if forPeople(lamp) && !fromBehind(lamp) && now >= plainly*least {
			if faces = true; speaks && now > 2*least {
				return nil // whoever speaks keeps most of the light: that of a dim prayer is no measure
			}
		}
		like := alike{lamp.Type, lamp.Purpose, now, most}
		of[lamp.Channel], calm[like] = like, max(calm[like], least)
	}
	if !faces {
		return nil
	}
	for _, lamp := range o.state.Show.Patch {
		if like, ok := of[lamp.Channel]; ok {
			edits = append(edits, o.hold(lamp.Channel, calm[like], run[0], run[1])...)
		}
	}
	return edits
}

// plainly is how many times as much light somebody sees who is not told to look for it (common
// practice, no source: a quarter of a stop).
const plainly = 1.2

func (o *offers) litIn(channel int, run [2]int) bool {
	for i := run[0]; i <= run[1]; i++ {
		if o.level(i, channel) > 0 {
			return true
		}
	}
	return false
}

// louder is how much more than the most elsewhere what is to be loud gets (common
// practice, no source: more than half a stop, which is seen).
const louder = 1.5

// pictureUp gives what is around people, in a part that is to be loud, more than the most
// that it has elsewhere: the wash, and then the beams too.
func (o *offers) pictureUp(f *finding.Finding, add adder) {
	for _, run := range stretches(o.faulty(f)) {
		add("The loud part has the most light of the evening.", o.likeLoudest(run)...)
		var wash, beams []source.Edit
		for _, lamp := range o.state.Show.Patch {
			if !forPicture(lamp) {
				continue
			}
			most, peak := 0.0, 0.0
			for i := range o.state.Looks {
				if level := o.level(i, lamp.Channel); i < run[0] || i > run[1] {
					most = max(most, level)
				} else {
					peak = max(peak, level)
				}
			}
			switch {
			case louder*most <= peak:
			case peak > 0:
				wash = append(wash, o.scale(lamp.Channel, louder*most/peak, false, run[0], run[1])...)
			default:
				beams = append(beams, o.hold(lamp.Channel, min(100, math.Round(louder*most)), run[0], run[1])...)
			}
		}
		add("The loud part has the most light of the evening.", slices.Concat(wash, beams)...)
		loudest := o.loudest(run)
		for _, i := range loudest[:min(2, len(loudest))] { // the second may be easier on the wall behind them
			add("The loud part has the light of the other one, and the faces keep up with it.", o.asLoudest(i, run)...)
		}
		add("The loud part has the most light of the evening.", wash...)
	}
}

// asLoudest gives what is around people in a stretch, and the lamps of those who are there, the
// levels that they have in a louder look, where they are lower.
func (o *offers) asLoudest(best int, run [2]int) (edits []source.Edit) {
	people, _ := o.peopleIn(run[0])
	for _, lamp := range o.state.Show.Patch {
		isTheirs := forPeople(lamp) && slices.ContainsFunc(people, func(place string) bool { return o.off(lamp, place) <= near })
		if level := o.level(best, lamp.Channel); (forPicture(lamp) || isTheirs) && level > o.level(run[0], lamp.Channel) {
			edits = append(edits, o.hold(lamp.Channel, level, run[0], run[1])...)
		}
	}
	return edits
}

// loudest are the looks outside of a stretch, of songs that are not to be quiet, that have more of
// what is around people than it has, those with the most first.
func (o *offers) loudest(run [2]int) (list []int) {
	sum := func(i int) (sum float64) {
		for _, lamp := range o.state.Show.Patch {
			if forPicture(lamp) {
				sum += o.level(i, lamp.Channel)
			}
		}
		return sum
	}
	for i := range o.state.Looks {
		s := o.state.Looks[i].Segment
		if (i < run[0] || i > run[1]) && s != nil && s.Kind == "song" && s.Mood != "quiet" && sum(i) > sum(run[0]) {
			list = append(list, i)
		}
	}
	slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(sum(b), sum(a)) })
	return list
}

// likeLoudest gives what is around people in a stretch the levels that it has in the look
// outside of it with the most of them, all raised alike as far as there is room: so colours
// keep their shares.
func (o *offers) likeLoudest(run [2]int) (edits []source.Edit) {
	loudest := o.loudest(run)
	if len(loudest) == 0 {
		return nil
	}
	best, most := loudest[0], 0.0
	for _, lamp := range o.state.Show.Patch {
		if forPicture(lamp) {
			most = max(most, o.level(best, lamp.Channel))
		}
	}
	factor := min(louder, 100/most)
	for _, lamp := range o.state.Show.Patch {
		if level := math.Round(factor * o.level(best, lamp.Channel)); forPicture(lamp) && level != o.level(run[0], lamp.Channel) {
			edits = append(edits, o.hold(lamp.Channel, level, run[0], run[1])...)
		}
	}
	return edits
}

// beamsOut takes out beams that nobody can see, where there is no haze machine.
func (o *offers) beamsOut(f *finding.Finding, add adder) {
	if slices.ContainsFunc(o.state.Show.Patch, func(l *schema.Fixture) bool { t := o.typeOf(l); return t != nil && t.Machine != nil }) {
		return
	}
	var edits []source.Edit
	for _, run := range stretches(o.faultyOfRule(f.Rule)) {
		for _, lamp := range o.state.Show.Patch {
			if lamp.Purpose == "beam" && o.litIn(lamp.Channel, run) {
				edits = append(edits, o.hold(lamp.Channel, 0, run[0], run[1])...)
			}
		}
	}
	add("No beam is lit that nobody sees. With a haze machine they could stay.", edits...)
}

// filamentOut takes a filament out where it stands beside keys of another source: dimmed
// it goes warm, and up it is too bright.
func (o *offers) filamentOut(f *finding.Finding, add adder) {
	place := nameOf(f, "place")
	looks := o.faultyFor(f.Rule, place)
	if !o.isFilamentAmongCool(place) {
		return
	}
	var edits []source.Edit
	for _, lamp := range o.lampsFor(place) {
		if t := o.typeOf(lamp); t == nil || fromBehind(lamp) || t.Source != "tungsten" {
			continue
		}
		for _, run := range stretches(looks) {
			if o.level(run[0], lamp.Channel) > 0 {
				edits = append(edits, o.hold(lamp.Channel, 0, run[0], run[1])...)
			}
		}
	}
	add("All light on the face has one white.", edits...)
}

// isFilamentAmongCool reports whether filaments and other lamps are aimed at a face from the
// front: there a filament goes out, and not up.
func (o *offers) isFilamentAmongCool(place string) bool {
	filaments, others := false, false
	for _, lamp := range o.lampsFor(place) {
		if t := o.typeOf(lamp); t != nil && !fromBehind(lamp) {
			filaments, others = filaments || t.Source == "tungsten", others || t.Source != "tungsten"
		}
	}
	return filaments && others
}

// greyFilter puts a grey filter into filaments that are dimmed so far that they have gone
// warm, and brings them up by what it takes.
func (o *offers) greyFilter(f *finding.Finding, add adder) {
	looks := o.faultyFor(f.Rule, nameOf(f, "place"))
	if len(looks) == 0 || o.isFilamentAmongCool(nameOf(f, "place")) {
		return
	}
	for _, left := range []float64{50, 25, 16, 12} { // percent: one to three stops, as such filters are sold
		var edits []source.Edit
		for _, lamp := range o.lampsFor(nameOf(f, "place")) {
			if t := o.typeOf(lamp); t == nil || lamp.Filter != nil || fromBehind(lamp) {
				continue
			}
			factor := o.levelBy(lamp, 100/left)
			if o.mostOf(lamp.Channel)*factor > 100 {
				return
			}
			edits = append(edits, source.Edit{At: lamp.At, Field: "filter", Value: schema.GreyText(left)})
			for i := range o.state.Looks {
				if level := o.level(i, lamp.Channel); level > 0 && o.tells(i, lamp.Channel, tracking.LevelBy) {
					edits = append(edits, o.setLevel(i, lamp.Channel, math.Round(level*factor)))
				}
			}
		}
		add("The filament burns higher and keeps its white; the face has the light that it had.", edits...)
	}
}
