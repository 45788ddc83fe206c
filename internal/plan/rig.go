package plan

import (
	"cmp"
	"iter"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// straying aims lamps at those whom they were meant for, where they point at nobody
// and somebody stands a step or two away; also with the levels of their twins, where one was
// brought up to make up for it.
func (o *offers) straying(f *finding.Finding, add adder) {
	place, about := nameOf(f, "place"), o.aboutFixture(f)
	if f.Level == finding.Note { // nobody climbs up for a note
		return
	}
	var here, all [2][]source.Edit // from the front, from behind
	var levels []source.Edit       // of those that are here
	for _, lamp := range o.state.Show.Patch {
		if !forPeople(lamp) {
			continue
		}
		meant := o.straysFrom(lamp, place)
		if meant == "" {
			continue
		}
		edit := source.Edit{At: lamp.At, Field: "aimed_at", Value: o.aimAt(lamp, meant)}
		side := truth(fromBehind(lamp))
		all[side] = append(all[side], edit)
		if (meant == place || place == "") && (about == nil || about == lamp) {
			here[side] = append(here[side], edit)
			if _, off := o.meantFor(lamp); off > stray {
				levels = append(levels, o.levelsOfTwins(lamp)...)
			}
		}
	}
	for side, effect := range []string{"The light lands on the person again.", "The light from behind lands on the person again."} {
		if len(here[side]) > 0 && len(all[side]) > len(here[side]) {
			add(effect, all[side]...)
		}
		add(effect, here[side]...)
	}
	both := slices.Concat(here[0], here[1])
	if len(here[0]) > 0 && len(here[1]) > 0 {
		add("The light lands on the person again.", both...)
	}
	if len(levels) > 0 {
		add("The light lands on the person again, as much of it as its twins give.", append(both, levels...)...)
	}
}

// levelsOfTwins gives a lamp that stands far above it what lamps like it have most often.
func (o *offers) levelsOfTwins(lamp *schema.Fixture) (edits []source.Edit) {
	usual, ok := o.levelOf(lamp, func(other *schema.Fixture) bool { return other.Type == lamp.Type })
	for i := range o.state.Looks {
		if ok && o.level(i, lamp.Channel) > tooHigh*usual && o.tells(i, lamp.Channel, tracking.LevelBy) {
			edits = append(edits, o.setLevel(i, lamp.Channel, usual))
		}
	}
	return edits
}

// straysFrom is the place that a lamp was meant for and is not aimed at: that of its name, or the
// one that a slip explains or that lacks such a lamp, or else the nearest; "" where it is aimed as
// it should be, or nobody can tell.
func (o *offers) straysFrom(lamp *schema.Fixture, lacks string) string {
	nearest, off := o.meantFor(lamp)
	if named := o.namedFor(lamp); named != "" { // a line was copied and its aim left, or the lamp was knocked
		if named == nearest && off <= near {
			return ""
		}
		return named
	}
	lonely := lacks != "" && !o.hasLike(lamp, lacks) && o.hasLike(lamp, nearest)
	switch _, slipped := o.slipsTo(lamp)[lacks]; {
	case off > stray:
		return o.aimedWrong(lamp, lacks, true)
	case off <= near && !o.litWith(lamp, nearest): // there was a slip, or it is wanted here
		return o.aimedWrong(lamp, lacks, false)
	case lonely && (off > near && o.off(lamp, lacks) <= stray || slipped): // at the neighbour, who has one
		return lacks
	case off <= near, o.isBetween(lamp, nearest, off):
		return ""
	}
	return nearest
}

// isBetween reports whether a lamp is aimed between the place nearest to that and another which
// both have no lamp of its purpose: it is for both.
func (o *offers) isBetween(lamp *schema.Fixture, nearest string, off float64) bool {
	return !o.hasLike(lamp, nearest) && slices.ContainsFunc(o.state.Show.Room.Places, func(p *schema.Place) bool {
		return p.Name != nearest && o.off(lamp, p.Name) <= off+near && !o.hasLike(lamp, p.Name)
	})
}

// hasLike reports whether another lamp of the same purpose is aimed at a place.
func (o *offers) hasLike(lamp *schema.Fixture, place string) bool {
	return slices.ContainsFunc(o.lampsFor(place), func(other *schema.Fixture) bool { return other != lamp && other.Purpose == lamp.Purpose })
}

// litWith reports whether a lamp is lit in any look in which somebody may be at a place, or
// in none.
func (o *offers) litWith(lamp *schema.Fixture, place string) bool {
	lit := false
	for look := range o.state.Looks {
		if o.level(look, lamp.Channel) > 0 {
			if people, known := o.peopleIn(look); !known || slices.Contains(people, place) {
				return true
			}
			lit = true
		}
	}
	return !lit
}

// aimedWrong is the place that a lamp was meant for that is aimed near nobody: the one that a
// slip explains, or else, where it is near no place, the one that lacks light or alone has no such
// lamp, unless it lights a way; "" if nobody can tell.
func (o *offers) aimedWrong(lamp *schema.Fixture, lacks string, far bool) string {
	if lamp.AimedAt == nil || lamp.AimedAt.Point == nil {
		return ""
	}
	slips := o.slipsTo(lamp)
	switch _, slipped := slips[lacks]; {
	case slipped:
		return lacks
	case len(slips) == 1:
		for place := range slips {
			return place
		}
	case len(slips) > 1, !far:
		return ""
	}
	for look := range o.state.Looks {
		if o.level(look, lamp.Channel) > 0 && o.aimedAlong(lamp, o.waysIn(look)) {
			return ""
		}
	}
	return cmp.Or(lacks, o.withoutLike(lamp))
}

// slipsTo are the places at which a lamp would point whose aim is given in metres if its x or y
// had the other sign, or the point one digit farther on or back; with the aim that it would have.
func (o *offers) slipsTo(lamp *schema.Fixture) map[string]schema.Point {
	if lamp.AimedAt == nil || lamp.AimedAt.Point == nil || o.state.Show.Room == nil {
		return nil
	}
	aim, as, slips := *lamp.AimedAt.Point, *lamp, map[string]schema.Point{}
	for _, slip := range []float64{-1, 0.1, 10} {
		for _, p := range []schema.Point{{X: slip * aim.X, Y: aim.Y, Z: aim.Z}, {X: aim.X, Y: slip * aim.Y, Z: aim.Z}} {
			as.AimedAt = &schema.Aim{Point: &p}
			for _, place := range o.state.Show.Room.Places {
				if _, known := slips[place.Name]; !known && o.off(&as, place.Name) <= near {
					slips[place.Name] = p
				}
			}
		}
	}
	return slips
}

// aimAt is the aim at a place as the value of an edit: the point that a wrong sign explains, if that is
// beside it, or else the place. That a digit farther on lands a step beside a place is mostly by chance.
func (o *offers) aimAt(lamp *schema.Fixture, place string) string {
	as := *lamp
	if p, ok := o.slipsTo(lamp)[place]; ok {
		was := lamp.AimedAt.Point
		if as.AimedAt = (&schema.Aim{Point: &p}); o.off(&as, place) > near/2 && (p.X != 0 && p.X == -was.X || p.Y != 0 && p.Y == -was.Y) {
			return schema.PointText(p)
		}
	}
	return place
}

// withoutLike is the one place at which no lamp of the purpose of one is aimed, among those where
// somebody is while that is lit and the others of which have one; "" if there is none.
func (o *offers) withoutLike(lamp *schema.Fixture) string {
	var without []string
	with := false
	for look := range o.state.Looks {
		people, _ := o.peopleIn(look)
		for _, place := range people {
			switch {
			case o.level(look, lamp.Channel) <= 0 || slices.Contains(without, place):
			case o.hasLike(lamp, place):
				with = true
			default:
				without = append(without, place)
			}
		}
	}
	if len(without) != 1 || !with {
		return ""
	}
	return without[0]
}

// namedFor is the one place whose name, or most of its beginning, is part of the name of a
// lamp, or "".
func (o *offers) namedFor(f *schema.Fixture) string {
	if o.state.Show.Room == nil {
		return ""
	}
	best, most := "", 0
	for _, p := range o.state.Show.Room.Places {
		switch n := begins(p.Name, f.Name); {
		case n > most:
			best, most = p.Name, n
		case n == most:
			best = ""
		}
	}
	return best
}

// begins is how many letters of the beginning of a place's name, in whole words, are part
// of the name of a lamp.
func begins(place, lamp string) int {
	lamp = " " + strings.ToLower(lamp) + " "
	words := strings.Fields(strings.ToLower(place))
	for n := len(words); n > 0; n-- {
		if head := strings.Join(words[:n], " "); len(head) > 3 && strings.Contains(lamp, " "+head+" ") {
			return len(head)
		}
	}
	return 0
}

// meantFor is the place that a lamp is aimed nearest to, and by how much it misses.
func (o *offers) meantFor(f *schema.Fixture) (place string, off float64) {
	off = math.Inf(1)
	if room := o.state.Show.Room; room == nil || len(room.Places) == 0 { // a place is what lamps are aimed at, then
		if f.AimedAt != nil && f.AimedAt.Name != "" {
			return f.AimedAt.Name, 0
		}
		return "", off
	}
	for _, p := range o.state.Show.Room.Places {
		if miss := o.off(f, p.Name); miss < off {
			place, off = p.Name, miss
		}
	}
	return place, off
}

// aimBefore aims lamps where they pointed before a cue turned them into somebody's eyes
// or into a camera; all of which a rule says so, and each by itself.
func (o *offers) aimBefore(f *finding.Finding, add adder) {
	back := func(lamp *schema.Fixture) (edits []source.Edit) {
		var last *schema.Aim // the last that was not told here
		for i := range o.state.Looks {
			by := o.state.Looks[i].SetBy(lamp.Channel, tracking.RestBy)
			if by.Look != i || by.Setting == nil || by.Setting.Aim == nil {
				continue
			}
			if last == nil {
				last = lamp.AimedAt
			}
			if last != nil && !sameAim(by.Setting.Aim, last) {
				edits = append(edits, source.Edit{At: by.Setting.At, Field: "aim", Value: schema.AimText(last), Only: []int{lamp.Channel}})
			}
		}
		return edits
	}
	var all []source.Edit
	for i := range o.order {
		if lamp := o.aboutFixture(&o.order[i]); lamp != nil && o.order[i].Rule == f.Rule {
			all = append(all, back(lamp)...)
		}
	}
	add("The beam points where it did before.", all...)
	if lamp := o.aboutFixture(f); lamp != nil {
		add("The beam points where it did before.", back(lamp)...)
	}
}

// mirrored aims a lamp as the one that hangs across from it is aimed, on the other side: the lamp that is told or, of light on a
// face, one that points there and is not for people.
func (o *offers) mirrored(f *finding.Finding, add adder) {
	lamps := []*schema.Fixture{o.aboutFixture(f)}
	if place := nameOf(f, "place"); lamps[0] == nil && place != "" {
		lamps = slices.DeleteFunc(slices.Clone(o.state.Show.Patch), func(l *schema.Fixture) bool { return !forPicture(l) || o.off(l, place) > near })
	}
	const alike = 0.5 // m: lamps are not hung closer to where they are drawn (common practice, no source)
	for _, lamp := range lamps {
		if lamp == nil || lamp.HungAt == nil {
			continue
		}
		for _, twin := range o.othersLike(lamp, func(other *schema.Fixture) bool { return other.Type == lamp.Type }) {
			at := twin.HungAt
			if at == nil || twin.AimedAt == nil || at.X*lamp.HungAt.X >= 0 || metres(otherSide(*at), *lamp.HungAt) > alike {
				continue
			}
			to := *twin.AimedAt
			if to.Point != nil {
				to.Point = new(otherSide(*to.Point))
			} else if p := o.place(to.Name); p == nil || p.X == nil || math.Abs(*p.X) > alike { // it has another across
				continue
			}
			if now := lamp.AimedAt; now != nil && (sameAim(now, &to) || now.Point != nil && to.Point != nil && metres(*now.Point, *to.Point) <= alike) {
				continue
			}
			add("The two lamps cross the stage alike.", source.Edit{At: lamp.At, Field: "aimed_at", Value: schema.AimText(&to)})
		}
	}
}

// facing turns a place to where most others look, to the house, or to where the light for the
// face comes from.
func (o *offers) facing(f *finding.Finding, add adder) {
	at := o.place(nameOf(f, "place"))
	if at == nil {
		return
	}
	var others []*schema.Place
	for _, p := range o.state.Show.Room.Places {
		if p != at && p.FacingDeg != nil {
			others = append(others, p)
		}
	}
	const toTheHouse = 0.0 // deg
	count := map[float64]int{}
	most := toTheHouse
	for _, p := range others {
		if count[*p.FacingDeg]++; count[*p.FacingDeg] > max(1, count[most]) {
			most = *p.FacingDeg
		}
	}
	if count[most] > 1 {
		add("The place looks where the others look. Look first whether the person really turns away.", source.Edit{At: at.At, Field: "facing_deg", Value: most})
	}
	if most != toTheHouse {
		add("The place looks at the house. Look first whether the person really turns away.", source.Edit{At: at.At, Field: "facing_deg", Value: toTheHouse})
	}
	if deg, ok := o.towardsLight(at.Name); ok {
		add("The place looks to where the light for the face comes from. Look first whether the person really turns away.", source.Edit{At: at.At, Field: "facing_deg", Value: deg})
	}
}

// towardsLight is the direction to the middle of the lamps that are for the face at a place, in
// degrees as facing_deg counts them.
func (o *offers) towardsLight(place string) (deg float64, ok bool) {
	head, known := o.head(place)
	toX, toHouse := 0.0, 0.0
	for _, lamp := range o.lampsFor(place) {
		if !known || fromBehind(lamp) || lamp.HungAt == nil {
			continue
		}
		if dx, dy := lamp.HungAt.X-head.X, head.Y-lamp.HungAt.Y; dx != 0 || dy != 0 {
			toX, toHouse = toX+dx/math.Hypot(dx, dy), toHouse+dy/math.Hypot(dx, dy)
		}
	}
	if math.Hypot(toX, toHouse) < 0.5 { // from all around
		return 0, false
	}
	const step = 15 // deg: nobody tells by eye how somebody stands any closer (common practice, no source)
	return step * math.Round(math.Atan2(toX, toHouse)*180/math.Pi/step), true
}

// Where light for a face and light from behind should come from (common practice, no
// source: textbooks put the key 45 degrees up and as much to the side).
const (
	keyUpDeg    = 45
	keySideDeg  = 38
	backUpDeg   = 50
	barStep     = 0.1 // m between the places on a bar that are looked at
	worstPlace  = 40  // degrees off what is wanted, all together: farther is no better place
	leastCosine = 0.05
)

// hang finds for the lamps of a place, or for one lamp, a point on a bar from which
// their light comes as it should, and the level that gives as much light from there.
func (o *offers) hang(f *finding.Finding, add adder) {
	place := nameOf(f, "place")
	lamps := slices.DeleteFunc(o.lampsFor(place), fromBehind)
	if one := o.aboutFixture(f); one != nil {
		if !forPeople(one) || o.straysFrom(one, "") != "" { // one that points elsewhere is aimed first, and may hang well
			return
		}
		place, _ = o.meantFor(one)
		lamps = []*schema.Fixture{one}
	}
	head, ok := o.head(place)
	at := o.place(place)
	if !ok || at == nil || at.FacingDeg == nil {
		return
	}
	bars := o.bars()
	side := -1.0
	var edits, asThere []source.Edit // with the light that it gives now, and with the levels of its twins there
	for _, lamp := range lamps {
		if lamp.HungAt == nil {
			continue
		}
		now := seen(head, *at.FacingDeg, *lamp.HungAt)
		if math.Abs(now.side) > 5 && !fromBehind(lamp) {
			side = math.Copysign(1, now.side)
		}
		best, spot := math.Inf(1), schema.Point{}
		var on string
		for _, b := range bars {
			steps := int(b.length() / barStep)
			for k := range steps + 1 {
				point := b.at(float64(k) / max(1, float64(steps)))
				if off := seen(head, *at.FacingDeg, point).off(fromBehind(lamp), side); off < best && !o.taken(point, lamp) {
					best, spot, on = off, point, b.name
				}
			}
		}
		if best > worstPlace || best >= now.off(fromBehind(lamp), side) {
			continue
		}
		side = -side
		moved := []source.Edit{{At: lamp.At, Field: "hung_on", Value: on}, {At: lamp.At, Field: "hung_at", Value: schema.PointText(spot)}}
		if lamp.Mount == "stands" {
			moved = append(moved, source.Edit{At: lamp.At, Field: "mount", Value: "hangs"})
		}
		edits = append(edits, moved...)
		if level, ok := o.levelOf(lamp, func(other *schema.Fixture) bool { return other.Type == lamp.Type && other.HungOn == on }); ok {
			asThere = append(asThere, moved...)
			for i := range o.state.Looks {
				if o.level(i, lamp.Channel) > 0 && o.tells(i, lamp.Channel, tracking.LevelBy) {
					asThere = append(asThere, o.setLevel(i, lamp.Channel, level))
				}
			}
		}
		if then := seen(head, *at.FacingDeg, spot); !fromBehind(lamp) && now.cosine > leastCosine && then.cosine > leastCosine {
			factor := now.cosine / (now.far * now.far) / (then.cosine / (then.far * then.far))
			for i := range o.state.Looks {
				if level := o.level(i, lamp.Channel); level > 0 && o.tells(i, lamp.Channel, tracking.LevelBy) {
					edits = append(edits, o.setLevel(i, lamp.Channel, min(100, max(leastLevel, math.Round(level*factor)))))
				}
			}
		}
	}
	const effect = "The light comes from where a face looks natural. Hanging anything is for people who are trained and allowed to."
	add(effect, edits...)
	add(effect, asThere...)
}

// What a stand is raised to (common practice, no source): so high that the light of most of those that were
// left low comes from raiseUpDeg above the faces, or else from a little over what is too low; in steps
// that somebody can see, and not so high that it takes a lift.
const (
	raiseUpDeg  = 30
	raiseLowDeg = 24
	raiseSteps  = 10  // in a metre
	highestLamp = 4.0 // m above the floor of the stage
	lowUpDeg    = 20  // as people/key-angle has it
)

// raise brings lamps on stands that were left low up to one height from which they light the faces that
// they are for as they should; also with the levels that give as much light from there. Where others of them
// hang, one that stands was put there by mistake, and hangs better.
func (o *offers) raise(f *finding.Finding, add adder) {
	type low struct {
		lamp *schema.Fixture
		now  direction
		head schema.Point
	}
	var list []low
	for _, lamp := range o.state.Show.Patch {
		switch {
		case !forPeople(lamp) || fromBehind(lamp):
			continue
		case lamp.Mount == "hangs" || lamp.HungOn != "" && lamp.Mount == "":
			return
		case lamp.Mount != "stands" || lamp.HungAt == nil:
			continue
		}
		place, _ := o.meantFor(lamp)
		head, ok := o.head(place)
		if !ok {
			continue
		}
		if now := seen(head, 0, *lamp.HungAt); now.up < lowUpDeg {
			list = append(list, low{lamp, now, head})
		}
	}
	for _, upDeg := range []float64{raiseUpDeg, raiseLowDeg} {
		var heights []float64
		for _, l := range list {
			flat := math.Hypot(l.lamp.HungAt.X-l.head.X, l.lamp.HungAt.Y-l.head.Y)
			heights = append(heights, l.head.Z+flat*math.Tan(upDeg*math.Pi/180))
		}
		slices.Sort(heights)
		var raised, levels []source.Edit
		for _, l := range list {
			to := *l.lamp.HungAt
			to.Z = min(highestLamp, math.Round(heights[len(heights)/2]*raiseSteps)/raiseSteps)
			if to.Z < l.lamp.HungAt.Z+1.0/raiseSteps {
				continue
			}
			raised = append(raised, source.Edit{At: l.lamp.At, Field: "hung_at", Value: schema.PointText(to)})
			lost := math.Pow(seen(l.head, 0, to).far/l.now.far, 3) // an upright face: by the square of the way, and by how steep it is
			for i := range o.state.Looks {
				if level := o.level(i, l.lamp.Channel); level > 0 && o.tells(i, l.lamp.Channel, tracking.LevelBy) {
					levels = append(levels, o.setLevel(i, l.lamp.Channel, min(100, max(leastLevel, math.Round(o.levelBy(l.lamp, lost)*level)))))
				}
			}
		}
		const effect = "The light comes from above the eyes. A raised stand needs its feet spread and held down: whoever is responsible for it does that."
		add(effect, raised...)
		add(effect, slices.Concat(raised, levels)...)
	}
}

// levelOf is the level that the other lamps of the purpose of one have most often that are like it.
func (o *offers) levelOf(lamp *schema.Fixture, like func(*schema.Fixture) bool) (level float64, ok bool) {
	count := map[float64]int{}
	for _, other := range o.othersLike(lamp, like) {
		for i := range o.state.Looks {
			if has := o.level(i, other.Channel); has > leastLevel {
				if count[has]++; count[has] > count[level] {
					level, ok = has, true
				}
			}
		}
	}
	return level, ok
}

// taken reports whether another lamp hangs where one would be hung.
func (o *offers) taken(p schema.Point, but *schema.Fixture) bool {
	const apart = 0.3 // m: the width of a fixture
	return slices.ContainsFunc(o.state.Show.Patch, func(f *schema.Fixture) bool {
		return f != but && f.HungAt != nil && metres(*f.HungAt, p) < apart
	})
}

// direction is from where light reaches a face: degrees up, degrees to the side of where
// the face looks, the distance in metres, and the cosine to the upright face.
type direction struct{ up, side, far, cosine float64 }

func seen(head schema.Point, facingDeg float64, lamp schema.Point) direction {
	dx, dy, dz := lamp.X-head.X, lamp.Y-head.Y, lamp.Z-head.Z
	flat := math.Hypot(dx, dy)
	sin, cos := math.Sincos(facingDeg * math.Pi / 180)
	ahead, across := dx*sin-dy*cos, dx*cos+dy*sin
	far := math.Hypot(flat, dz)
	return direction{
		up: math.Atan2(dz, flat) * 180 / math.Pi, side: math.Atan2(across, ahead) * 180 / math.Pi,
		far: far, cosine: ahead / max(far, math.SmallestNonzeroFloat64),
	}
}

// off is by how many degrees light comes from elsewhere than it should.
func (d direction) off(behind bool, side float64) float64 {
	if behind {
		return math.Abs(d.up-backUpDeg) + 180 - math.Abs(d.side)
	}
	return math.Abs(d.up-keyUpDeg) + math.Abs(d.side-side*keySideDeg)
}

// line is where lamps can hang.
type line struct {
	name     string
	from, to schema.Point
}

func (l line) length() float64 { return metres(l.from, l.to) }

// metres is how far two points are apart.
func metres(a, b schema.Point) float64 { return math.Hypot(math.Hypot(a.X-b.X, a.Y-b.Y), a.Z-b.Z) }

// otherSide is a point on the other side of the stage.
func otherSide(p schema.Point) schema.Point {
	p.X = 0 - p.X // and never -0
	return p
}

func (l line) at(part float64) schema.Point {
	tenth := func(a, b float64) float64 { return math.Round(10*(a+part*(b-a))) / 10 }
	return schema.Point{X: tenth(l.from.X, l.to.X), Y: tenth(l.from.Y, l.to.Y), Z: tenth(l.from.Z, l.to.Z)}
}

// bars are the bars of the room; where it tells of none, the lines on which lamps hang.
func (o *offers) bars() []line {
	var list []line
	if room := o.state.Show.Room; room != nil {
		for _, b := range room.Bars {
			if b.From != nil && b.To != nil && b.Kind != "stand" {
				list = append(list, line{b.Name, *b.From, *b.To})
			}
		}
	}
	if len(list) > 0 {
		return list
	}
	byName := map[string]int{}
	for _, f := range o.state.Show.Patch {
		if f.HungAt == nil || f.HungOn == "" || f.Mount == "stands" {
			continue
		}
		k, known := byName[f.HungOn]
		if !known {
			byName[f.HungOn] = len(list)
			list = append(list, line{f.HungOn, *f.HungAt, *f.HungAt})
			continue
		}
		if f.HungAt.X < list[k].from.X {
			list[k].from = *f.HungAt
		}
		if f.HungAt.X > list[k].to.X {
			list[k].to = *f.HungAt
		}
	}
	return list
}

// twins gives lamps what all others of their type and purpose have: a filter out, the
// same zoom, the same white.
func (o *offers) twins(f *finding.Finding, add adder) {
	lamps := o.lampsFor(nameOf(f, "place"))
	if one := o.aboutFixture(f); one != nil {
		lamps = []*schema.Fixture{one}
	}
	for _, lamp := range lamps {
		if lamp.Filter != nil && !slices.ContainsFunc(o.state.Show.Patch, func(other *schema.Fixture) bool { return other != lamp && forPeople(other) && other.Filter != nil }) {
			const effect = "The lamp gives the light of the others again."
			out := source.Edit{At: lamp.At, Field: "filter"}
			if levels := o.likePartner(lamp); len(levels) > 0 {
				add(effect, append(levels, out)...)
			}
			add(effect, out)
		}
		twins := o.othersLike(lamp, func(other *schema.Fixture) bool { return other.Type == lamp.Type })
		if len(twins) < 2 && !fromBehind(lamp) { // keys and fills light the same faces
			twins = o.frontLike(lamp)
		}
		if len(twins) < 2 {
			continue
		}
		if lamp.Filter != nil && !slices.ContainsFunc(twins, func(t *schema.Fixture) bool { return t.Filter != nil }) {
			add("The lamp gives the light of its twins again.", source.Edit{At: lamp.At, Field: "filter"})
		}
		for _, field := range schema.AlikeFields(schema.OfFixture) {
			of := func(f *schema.Fixture) *float64 {
				if field.Key == schema.White {
					return o.whiteOf(f)
				}
				return field.Number(f)
			}
			if common, ok := inCommon(twins, of); ok && differs(of(lamp), common) {
				add("The lamp is set like its twins.", source.Edit{At: lamp.At, Field: field.Key, Value: common})
			}
		}
		if mode, ok := inCommonWord(twins, func(f *schema.Fixture) string { return f.Mode }); ok && lamp.Mode != mode && mode != "" {
			add("The lamp is set like its twins.", source.Edit{At: lamp.At, Field: "mode", Value: mode})
		}
	}
}

// likePartner gives a fill, wherever it is lit, the level of the key at its place: what a
// filter took was made up for by level.
func (o *offers) likePartner(lamp *schema.Fixture) (edits []source.Edit) {
	place, _ := o.meantFor(lamp)
	own := o.typeOf(lamp)
	for _, other := range o.lampsFor(place) {
		t := o.typeOf(other)
		if lamp.Purpose != "fill" || other.Purpose != "key" || own == nil || t == nil || t.Source != own.Source {
			continue
		}
		for i := range o.state.Looks {
			if level := o.level(i, other.Channel); level > 0 && o.level(i, lamp.Channel) > level && o.tells(i, lamp.Channel, tracking.LevelBy) {
				edits = append(edits, o.setLevel(i, lamp.Channel, level))
			}
		}
		break
	}
	return edits
}

// othersLike lists the other lamps of the same purpose that are like one.
func (o *offers) othersLike(lamp *schema.Fixture, like func(*schema.Fixture) bool) (list []*schema.Fixture) {
	for _, other := range o.state.Show.Patch {
		if other != lamp && other.Purpose == lamp.Purpose && other.Purpose != "" && like(other) {
			list = append(list, other)
		}
	}
	return list
}

// frontLike lists the other lamps of the same type that light faces from the front.
func (o *offers) frontLike(lamp *schema.Fixture) (list []*schema.Fixture) {
	for _, other := range o.state.Show.Patch {
		if other != lamp && other.Type == lamp.Type && forPeople(other) && !fromBehind(other) {
			list = append(list, other)
		}
	}
	return list
}

// sameWhite is how far whites may be apart, in mired, for lamps to be of one white: more than two makes of one kind, and less
// than a filament beside daylight (153 mired). Common practice, no source.
const sameWhite = 50

// oddWhite is the one of the lamps for a face, those from behind aside, that has another white than most such lamps of the show;
// nil where none or several have. The other is one that is right and can take its place; nil without one.
func (o *offers) oddWhite(lamps []*schema.Fixture) (odd, beside *schema.Fixture) {
	mired := func(f *schema.Fixture) (white float64, ok bool) {
		kelvin := o.whiteOf(f)
		if kelvin == nil || *kelvin <= 0 || !forPeople(f) || fromBehind(f) {
			return 0, false
		}
		return 1e6 / *kelvin, true
	}
	var all []float64
	for _, f := range o.state.Show.Patch {
		if white, ok := mired(f); ok {
			all = append(all, white)
		}
	}
	if len(all) == 0 {
		return nil, nil
	}
	slices.Sort(all)
	for _, f := range lamps {
		if white, ok := mired(f); ok && math.Abs(white-all[len(all)/2]) > sameWhite {
			if odd != nil {
				return nil, nil
			}
			odd = f
		}
	}
	if odd == nil {
		return nil, nil
	}
	for _, f := range lamps {
		if _, ok := mired(f); ok && f != odd && f.Purpose == odd.Purpose && o.likeInUse(f, odd) {
			return odd, f
		}
	}
	return odd, nil
}

// likeInUse reports whether one lamp can take the place of another: it has about the same field or, where nobody tells it, hangs
// beside it. A follow spot and a flood are there for something else. A tenth of the field is common practice, no source.
func (o *offers) likeInUse(one, other *schema.Fixture) bool {
	const apart = 0.1
	a, b := o.typeOf(one), o.typeOf(other)
	if a == nil || b == nil || a.FieldDeg == nil || b.FieldDeg == nil {
		return one.HungOn == other.HungOn
	}
	return math.Abs(*a.FieldDeg-*b.FieldDeg) <= apart**b.FieldDeg
}

// swap puts lamps of the type in the place of those that are of another than all the
// others of their purpose; where one alone has another white than the rest, that one, for one like that beside it.
func (o *offers) swap(f *finding.Finding, add adder) {
	place := nameOf(f, "place")
	var lamps []*schema.Fixture
	if one := o.aboutFixture(f); one == nil {
		lamps = o.lampsFor(place)
	} else if one.Purpose != "" { // or it has no twins
		place, _ = o.meantFor(one)
		lamps = []*schema.Fixture{one}
	}
	var edits []source.Edit
	as := func(lamp, twin *schema.Fixture) {
		if twin == nil || twin.Type == lamp.Type || fromBehind(lamp) {
			return
		}
		edits = append(edits, source.Edit{At: lamp.At, Field: "type", Value: twin.Type})
		if twin.Mode != lamp.Mode {
			edits = append(edits, source.Edit{At: lamp.At, Field: "mode", Value: twin.Mode})
		}
	}
	if odd, beside := o.oddWhite(lamps); odd != nil && len(lamps) > 1 { // one that is told alone has twins elsewhere
		as(odd, beside)
	} else {
		for _, lamp := range lamps {
			as(lamp, mostCommon(o.othersLike(lamp, func(other *schema.Fixture) bool { return o.off(other, place) > near })))
		}
	}
	add("The lamp is one like its twins. Its address and its plug have to fit.", edits...)
}

// mostCommon is a fixture of the type that most of a list have; nil if none has more than
// half of it.
func mostCommon(list []*schema.Fixture) *schema.Fixture {
	count := map[string]int{}
	for _, f := range list {
		if count[f.Type]++; count[f.Type] > max(1, len(list)/2) {
			return f
		}
	}
	return nil
}

// numberTwice gives one of two fixtures with the same channel a number of its own: the
// one that is missing in the row of its neighbours in the patch, or, for the one that
// does not stand in the row, the next that is free behind its twins.
func (o *offers) numberTwice(_ *finding.Finding, add adder) {
	calls, known := calledFor(o.start)
	if !known {
		return
	}
	used := map[int]int{}
	patch := o.state.Show.Patch
	for _, f := range patch {
		used[f.Channel]++
	}
	const effect = "Each fixture has a channel of its own."
	for i, f := range patch {
		if used[f.Channel] < 2 {
			continue
		}
		for _, want := range []struct{ beside, step int }{{i - 1, 1}, {i + 1, -1}} {
			if want.beside < 0 || want.beside >= len(patch) || patch[want.beside].Type != f.Type {
				continue
			}
			if number := patch[want.beside].Channel + want.step; number > 0 && used[number] == 0 {
				add(effect, source.Edit{At: f.At, Field: "channel", Value: float64(number)})
			}
		}
	}
	next := free{}
	for number := range used {
		next[number] = number + 1
	}
	for _, f := range slices.Backward(patch) {
		if used[f.Channel] < 2 || o.fixtureOn(f.Channel) == f {
			continue
		}
		number := next.from(f.Channel)
		if end, is := calls.End(number); is { // by a cue that meant another lamp
			number = next.from(end + 1)
		}
		add(effect, source.Edit{At: f.At, Field: "channel", Value: float64(number)})
	}
}

// calledDouble gives one of two lamps that bear the same number the one that a cue calls and
// no lamp has, where one slip explains both; what else the cue calls there is taken out.
func (o *offers) calledDouble(f *finding.Finding, add adder) {
	if f.Amount != nil && f.Amount.Value > mostValues { // whole lists of lamps are missing
		return
	}
	lines := map[int]int{} // of the patch, by channel
	for _, lamp := range o.state.Show.Patch {
		lines[lamp.Channel]++
	}
	for _, i := range o.looksOf(f.Identity()) {
		for _, part := range o.state.Looks[i].Parts {
			missing := map[int]bool{}
			for _, setting := range part.Set {
				for number := range numbersOf(setting.Channels) {
					if lines[number] == 0 {
						missing[number] = true
					}
				}
			}
			for _, meant := range slices.Sorted(maps.Keys(missing)) {
				lamp := o.doubleFor(meant, lines)
				if lamp == nil {
					continue
				}
				edits := []source.Edit{{At: lamp.At, Field: "channel", Value: float64(meant)}}
				for _, setting := range part.Set {
					numbers := numbersOf(setting.Channels)
					all := len(numbers)
					maps.DeleteFunc(numbers, func(n int, _ bool) bool { return n != meant && missing[n] })
					if len(numbers) < all {
						edits = append(edits, source.Edit{At: setting.At, Field: "channels", Value: schema.FormatChannels(slices.Sorted(maps.Keys(numbers)))})
					}
				}
				add("The cue finds the lamp that it calls. Look first whether it is this one.", edits...)
			}
		}
	}
}

// doubleFor is the one of two lamps of one number that another number was meant for: of the
// type of a neighbour, and between the neighbours in the patch or in the row of their
// addresses. It is nil if there is none.
func (o *offers) doubleFor(number int, lines map[int]int) *schema.Fixture {
	patch := o.state.Show.Patch
	for i, lamp := range slices.Backward(patch) {
		if lines[lamp.Channel] != 2 || number < 1 {
			continue
		}
		beside := func(k, channel int) bool {
			return k >= 0 && k < len(patch) && patch[k].Channel == channel && patch[k].Type == lamp.Type
		}
		if beside(i-1, number-1) || beside(i+1, number+1) || o.continuesRow(lamp, number, -1) || o.continuesRow(lamp, number, 1) {
			return lamp
		}
	}
	return nil
}

// continuesRow reports whether the address of a lamp continues that of its two neighbours by
// number on one side, in the step that they have.
func (o *offers) continuesRow(lamp *schema.Fixture, number, side int) bool {
	near, far := o.fixtureOn(number+side), o.fixtureOn(number+2*side)
	if near == nil || far == nil || near.Type != lamp.Type || far.Type != lamp.Type {
		return false
	}
	universe, at, ok := addressOf(lamp)
	nearIn, nearAt, ok1 := addressOf(near)
	farIn, farAt, ok2 := addressOf(far)
	return ok && ok1 && ok2 && universe == nearIn && universe == farIn && at-nearAt == nearAt-farAt && at != nearAt
}

// typingError gives a channel that is not patched the number that was meant, where one
// slip of the hand explains it: of a lamp of which the cue says nothing, and which has such
// a level elsewhere.
func (o *offers) typingError(f *finding.Finding, add adder) {
	if f.Amount != nil && f.Amount.Value > mostValues { // nobody mistypes as many: lamps are missing
		return
	}
	if o.slips == nil {
		o.slips = newSlips(o.state.Show.Patch)
	}
	for _, i := range o.looksOf(f.Identity()) {
		for _, part := range o.state.Looks[i].Parts {
			for _, setting := range part.Set {
				for part := range strings.SplitSeq(setting.Channels, ",") { // nobody mistypes the middle of a range
					wrong, err := strconv.Atoi(strings.TrimSpace(part))
					if err != nil || wrong < 0 || o.slips.has(wrong) {
						continue
					}
					if meant, ok := o.meantNumber(wrong, i, setting); ok {
						add("The lamp that was meant is lit. Look first whether it is this one.", source.Edit{At: setting.At, Field: "channels", Value: inPlaceOf(setting.Channels, wrong, meant)})
					}
				}
			}
		}
	}
}

// meantNumber is the patched channel that was written as another: the only one, or the one
// whose level elsewhere is nearest to that of the setting.
func (o *offers) meantNumber(wrong, look int, setting *schema.Setting) (meant int, ok bool) {
	least := math.Inf(1)
	for _, channel := range o.slips.from(wrong) {
		if o.tells(look, channel, tracking.LevelBy) {
			continue
		}
		apart := 100.0
		if setting.Level != nil {
			apart = min(apart, o.nearestLevel(channel, float64(*setting.Level)))
		}
		if apart < least {
			least, meant, ok = apart, channel, true
		}
	}
	const alike = 15 // percent: what is farther was meant for another lamp (common practice, no source)
	return meant, ok && least <= alike
}

// nearestLevel is how far a level is from the nearest that a channel has in any cue in
// which it is up.
func (o *offers) nearestLevel(channel int, level float64) float64 {
	levels, known := o.levels[channel]
	if !known {
		for k := range o.state.Looks {
			if level := o.level(k, channel); level > 0 {
				levels = append(levels, level)
			}
		}
		slices.Sort(levels)
		if levels = slices.Compact(levels); o.levels == nil {
			o.levels = map[int][]float64{}
		}
		o.levels[channel] = levels
	}
	at, _ := slices.BinarySearch(levels, level)
	apart := math.Inf(1)
	for _, other := range levels[max(at-1, 0):min(at+1, len(levels))] {
		apart = min(apart, math.Abs(other-level))
	}
	return apart
}

// slips finds the patched channels that one slip of the hand writes as a number: a digit
// that is wrong, or two that changed places.
type slips struct {
	places map[int]int          // by channel: the first of it in the patch
	unlike map[numberMask][]int // channels that are the same but for one digit
}

// numberMask is a number of so many digits but for one of them.
type numberMask struct{ digits, at, rest int }

func newSlips(patch []*schema.Fixture) *slips {
	s := &slips{map[int]int{}, map[numberMask][]int{}}
	for i, lamp := range patch {
		if s.has(lamp.Channel) {
			continue
		}
		s.places[lamp.Channel] = i
		for m := range masks(lamp.Channel) {
			s.unlike[m] = append(s.unlike[m], lamp.Channel)
		}
	}
	return s
}

func (s *slips) has(channel int) bool {
	_, patched := s.places[channel]
	return patched
}

// from lists the channels that may be meant by a number that is none of them, in the order
// of the patch.
func (s *slips) from(number int) (channels []int) {
	for m := range masks(number) {
		channels = append(channels, s.unlike[m]...)
	}
	for ten := 1; ten <= number/10; ten *= 10 {
		low, high := number/ten%10, number/ten/10%10
		swapped := number + (high-low)*ten + (low-high)*10*ten
		if low != high && digits(swapped) == digits(number) && s.has(swapped) {
			channels = append(channels, swapped)
		}
	}
	slices.SortFunc(channels, func(a, b int) int { return cmp.Compare(s.places[a], s.places[b]) })
	return channels
}

// masks are a number without each of its digits in turn.
func masks(number int) iter.Seq[numberMask] {
	return func(yield func(numberMask) bool) {
		all, ten := digits(number), 1
		for at := range all {
			if !yield(numberMask{all, at, number - number/ten%10*ten}) {
				return
			}
			ten *= 10
		}
	}
}

func digits(number int) int {
	count := 1
	for ; number >= 10; number /= 10 {
		count++
	}
	return count
}

// inPlaceOf writes a number of a list of channels anew; ranges that have it stay as they are.
func inPlaceOf(list string, wrong, meant int) string {
	parts := strings.Split(list, ",")
	for i, part := range parts {
		if strings.TrimSpace(part) == strconv.Itoa(wrong) {
			parts[i] = strings.Replace(part, strconv.Itoa(wrong), strconv.Itoa(meant), 1)
		}
	}
	return strings.Join(parts, ",")
}

// calledFor are the channels that cues set and no fixture has; known is false where there are
// no cues, or one sets what cannot be read, which may call any number.
func calledFor(show *schema.Show) (calls schema.Ranges, known bool) {
	lists := map[string]schema.Ranges{}
	for _, cue := range show.Cues {
		for _, set := range cue.Set {
			if _, known := lists[set.Channels]; !known {
				_, unpatched, err := show.Selected(set.Channels)
				if err != nil {
					return nil, false
				}
				lists[set.Channels] = unpatched
			}
		}
	}
	return schema.Joined(slices.Collect(maps.Values(lists))...), len(show.Cues) > 0
}

// free leads from each number that is taken to a higher one.
type free map[int]int

// from takes the lowest number from one on that is free. The way there is cut short for
// those who come next, or a row of twins would be walked along for each of them.
func (n free) from(number int) int {
	last := number
	for to, taken := n[last]; taken; to, taken = n[last] {
		last = to
	}
	n[last] = last + 1
	for number != last {
		number, n[number] = n[number], last+1
	}
	return last
}

// outOfRow gives a lamp the address that continues the row of its neighbours in the
// patch: the one that a slip of the hand explains.
func (o *offers) outOfRow(f *finding.Finding, add adder) {
	about := o.aboutFixture(f)
	if about == nil || f.Level == finding.Note { // nobody gets a new address for a remark, such as a lamp that is worked by hand
		return
	}
	o.inRow(about, add)
	if other := o.sharing(about); other != nil { // the slip may be at the other of two
		o.inRow(other, add)
	}
}

// sharing is the lamp that has a slot in common with one; nil if none has, or several have.
func (o *offers) sharing(lamp *schema.Fixture) (other *schema.Fixture) {
	universe, slot, ok := addressOf(lamp)
	if !ok {
		return nil
	}
	behind := slot + o.slotsOf(lamp)
	list := o.starts[universe]
	from, _ := slices.BinarySearchFunc(list, slot-o.longest, func(f inSlot, slot int) int { return f.slot - slot })
	for _, f := range list[from:] {
		if f.slot >= behind {
			break
		}
		if f.Fixture != lamp && slot < f.slot+o.slotsOf(f.Fixture) {
			if other != nil {
				return nil
			}
			other = f.Fixture
		}
	}
	return other
}

func (o *offers) inRow(lamp *schema.Fixture, add adder) {
	if o.row == nil {
		o.row, o.addresses, o.places, o.universes = slices.Clone(o.state.Show.Patch), map[string][]*schema.Fixture{}, map[*schema.Fixture]int{}, map[int][]inSlot{}
		slices.SortStableFunc(o.row, func(a, b *schema.Fixture) int { return a.Channel - b.Channel })
		for i, f := range o.row {
			address := addressText(f)
			o.addresses[address], o.places[f] = append(o.addresses[address], f), i
			if universe, slot, ok := addressOf(f); ok {
				o.universes[universe] = append(o.universes[universe], inSlot{f, slot})
				o.longest = max(o.longest, o.slotsOf(f))
			}
		}
		o.starts = map[int][]inSlot{}
		for universe, list := range o.universes {
			o.starts[universe] = slices.Clone(list)
			slices.SortStableFunc(o.starts[universe], func(a, b inSlot) int { return a.slot - b.slot })
		}
	}
	list, at := o.row, o.places[lamp]
	number := func(i int) (universe, slot int, ok bool) {
		if i < 0 || i >= len(list) || list[i].Type != lamp.Type || addressText(list[i]) == addressText(lamp) {
			return 0, 0, false
		}
		return addressOf(list[i])
	}
	const effect = "Each fixture answers to its own channel again. The fixture itself has to be set to the new address too."
	try := func(i, j, from, steps int) { // the row from i to j, carried on from there
		u1, s1, ok1 := number(i)
		u2, s2, ok2 := number(j)
		if !ok1 || !ok2 || u1 != u2 || list[j].Channel-list[i].Channel != j-i || (s2-s1)%(j-i) != 0 || s2 <= s1 {
			return
		}
		_, base, _ := number(from)
		o.addressed(lamp, u1, base+steps*((s2-s1)/(j-i)), effect, add)
	}
	if !o.asNumbered(lamp, effect, add) {
		try(at-1, at+1, at-1, 1)
		try(at-2, at-1, at-1, 1)
		try(at+1, at+2, at+1, -1)
	}
	if at > 0 {
		o.behind(list[at-1], lamp, effect, add)
	}
}

// inSlot is a lamp of a universe with the first of its slots.
type inSlot struct {
	*schema.Fixture
	slot int
}

// asNumbered gives a lamp the address that goes with its number, where those of most others in
// its universe do: so many slots for each number, from one slot on. fits is true of one that
// has that address: it is not the one that left the row.
func (o *offers) asNumbered(lamp *schema.Fixture, effect string, add adder) (fits bool) {
	universe, slot, ok := addressOf(lamp)
	for _, beside := range []int{o.places[lamp] - 1, o.places[lamp] + 1} { // one that has none belongs to its neighbours
		if !ok && beside >= 0 && beside < len(o.row) {
			universe, _, ok = addressOf(o.row[beside])
		}
	}
	if !ok {
		return false
	}
	type plan struct{ step, base int }
	count, best, others := map[plan]int{}, plan{}, 0
	takes, last := o.slotsOf(lamp), inSlot{}
	for _, f := range o.universes[universe] {
		if f.Fixture == lamp {
			continue
		}
		others++
		if last.Fixture != nil && f.Channel > last.Channel {
			if step := (f.slot - last.slot) / (f.Channel - last.Channel); step >= takes && step*(f.Channel-last.Channel) == f.slot-last.slot {
				p := plan{step, f.slot - step*f.Channel}
				if count[p]++; count[p] > count[best] {
					best = p
				}
			}
		}
		last = f
	}
	alike := 0
	for _, f := range o.universes[universe] {
		if f.Fixture != lamp && f.slot == best.step*f.Channel+best.base {
			alike++
		}
	}
	const leastFits = 3 // and two of three: with fewer it is chance and no plan (common practice, no source)
	want := best.step*lamp.Channel + best.base
	if alike < leastFits || 3*alike < 2*others {
		return false
	}
	if want != slot {
		o.addressed(lamp, universe, want, effect, add)
	}
	return want == slot
}

// behind deals with a lamp that one of its type in front of it in the row runs into: that one
// is set to the mode that all its twins have, or else the lamp begins where it ends.
func (o *offers) behind(before, lamp *schema.Fixture, effect string, add adder) {
	universe, slot, ok := addressOf(lamp)
	u, s, known := addressOf(before)
	if !ok || !known || u != universe || s == slot || before.Type != lamp.Type {
		return
	}
	twins := slices.DeleteFunc(slices.Clone(o.row), func(f *schema.Fixture) bool { return f == before || f.Type != before.Type })
	if mode, common := inCommonWord(twins, func(f *schema.Fixture) string { return f.Mode }); common && len(twins) > 1 && mode != "" && mode != before.Mode {
		add("The lamp is set like its twins. Look first how it is set now.", source.Edit{At: before.At, Field: "mode", Value: mode})
	}
	if want := s + o.slotsOf(before); want != slot {
		o.addressed(lamp, universe, want, effect, add)
	}
}

// addressed offers an address that is one, and where no other lamp begins.
func (o *offers) addressed(lamp *schema.Fixture, universe, slot int, effect string, add adder) {
	const most = 512 // slots of a universe (ANSI E1.11)
	address := schema.Address{Universe: universe, Slot: slot}.String()
	if slot >= 1 && slot <= most && len(o.addresses[address]) == 0 {
		add(effect, source.Edit{At: lamp.At, Field: "address", Value: address})
	}
}

// slotsOf is how many slots a lamp takes; 1 if nobody says.
func (o *offers) slotsOf(lamp *schema.Fixture) int {
	if t := o.typeOf(lamp); t != nil {
		if slots := t.SlotsIn(lamp.Mode); slots != nil {
			return *slots
		}
	}
	return 1
}

// addressText is the address of a lamp, however it is written.
func addressText(f *schema.Fixture) string {
	if address, err := schema.ParseAddress(f.Address); err == nil {
		return address.String()
	}
	return f.Address
}

// addressOf reads the address of a lamp: its universe and the first of its slots.
func addressOf(f *schema.Fixture) (universe, slot int, ok bool) {
	address, err := schema.ParseAddress(f.Address)
	return address.Universe, address.Slot, err == nil
}

// circuits moves lamps off a circuit that carries too much: those of one kind together,
// to the circuit that has their name or the most room, until it carries what it may.
func (o *offers) circuits(f *finding.Finding, add adder) {
	room, over := o.state.Show.Room, nameOf(f, "circuit")
	rule, known := o.rules.Find(f.Rule)
	if room == nil || !known {
		return
	}
	most := 0.0 // of what a circuit could carry
	for _, l := range rule.Limits {
		if l.Unit == "%" {
			most = l.Value / 100
		}
	}
	space := map[string]float64{} // volt-amperes that are left
	for _, c := range room.Circuits {
		if c.Volts != nil && c.Amps != nil {
			space[c.Name] = *c.Volts * *c.Amps * most
		}
	}
	kinds := map[string][]*schema.Fixture{}
	var order []string
	for _, lamp := range o.state.Show.Patch {
		draw, ok := o.draw(lamp)
		if !ok && lamp.Circuit != "" {
			delete(space, lamp.Circuit) // nobody knows what it carries
			continue
		}
		if _, has := space[lamp.Circuit]; has {
			space[lamp.Circuit] -= draw
		}
		if lamp.Circuit == over {
			kind := lamp.Purpose + "\x00" + lamp.Type
			if kinds[kind] == nil {
				order = append(order, kind)
			}
			kinds[kind] = append(kinds[kind], lamp)
		}
	}
	if _, has := space[over]; !has {
		return
	}
	var edits []source.Edit
	moved := map[*schema.Fixture]bool{}
	move := func(lamps []*schema.Fixture, to string) {
		for _, lamp := range lamps {
			draw, _ := o.draw(lamp)
			space[over] += draw
			space[to] -= draw
			edits = append(edits, source.Edit{At: lamp.At, Field: "circuit", Value: to})
		}
	}
	sum := func(lamps []*schema.Fixture) (sum float64) {
		for _, lamp := range lamps {
			draw, _ := o.draw(lamp)
			sum += draw
		}
		return sum
	}
	target := func(lamps []*schema.Fixture, named bool) string {
		best := ""
		for _, c := range room.Circuits {
			left, has := space[c.Name]
			if !has || c.Name == over || left < sum(lamps) || named && !o.bearsName(c.Name, lamps[0]) {
				continue
			}
			if best == "" || left > space[best] {
				best = c.Name
			}
		}
		return best
	}
	for space[over] < 0 { // those first that the name of another circuit calls
		var lamp *schema.Fixture
		home, most := "", 0
		for _, other := range o.state.Show.Patch {
			if other.Circuit != over || moved[other] {
				continue
			}
			own := sharedWords(over, other)
			draw, _ := o.draw(other)
			for _, c := range room.Circuits {
				if left, has := space[c.Name]; !has || left < draw || c.Name == over {
					continue
				}
				if more := sharedWords(c.Name, other) - own; more > max(most, 1) {
					lamp, home, most = other, c.Name, more
				}
			}
		}
		if lamp == nil {
			break
		}
		moved[lamp] = true
		move([]*schema.Fixture{lamp}, home)
		kind := lamp.Purpose + "\x00" + lamp.Type
		kinds[kind] = slices.DeleteFunc(kinds[kind], func(l *schema.Fixture) bool { return l == lamp })
	}
	for _, named := range []bool{true, false} { // whole kinds: home first
		for _, kind := range order {
			lamps := kinds[kind]
			if len(lamps) == 0 || o.bearsName(over, lamps[0]) || space[over] >= 0 && !named {
				continue
			}
			if to := target(lamps, named); to != "" && (named || len(order) > 1) {
				move(lamps, to)
				kinds[kind] = nil
			}
		}
	}
	for _, kind := range slices.Backward(order) { // then one by one, the last first
		for _, lamp := range slices.Backward(kinds[kind]) {
			if space[over] >= 0 {
				break
			}
			to := target([]*schema.Fixture{lamp}, true)
			if to == "" {
				to = target([]*schema.Fixture{lamp}, false)
			}
			if to != "" {
				move([]*schema.Fixture{lamp}, to)
			}
		}
	}
	if space[over] >= 0 {
		add("Nothing changes on stage. The plugs have to be moved by somebody who may do that.", edits...)
	}
}

// draw is what a lamp takes from its circuit, in volt-amperes; ok is false if nobody knows.
func (o *offers) draw(lamp *schema.Fixture) (va float64, ok bool) {
	t := o.typeOf(lamp)
	if t == nil || t.Watts == nil {
		return 0, false
	}
	if t.PowerFactor != nil && *t.PowerFactor > 0 {
		return *t.Watts / *t.PowerFactor, true
	}
	return *t.Watts, true
}

// sharedWords is how many words of a circuit's name are in what a lamp is called and for,
// whether or not they are plural.
func sharedWords(circuit string, lamp *schema.Fixture) (count int) {
	one := func(word string) string { return strings.TrimSuffix(word, "s") }
	var own []string
	for _, word := range strings.Fields(strings.ToLower(strings.Join([]string{lamp.Purpose, lamp.Type, lamp.Name, lamp.HungOn}, " "))) {
		own = append(own, one(word))
	}
	for _, word := range strings.Fields(strings.ToLower(circuit)) {
		if len(word) > 2 && slices.Contains(own, one(word)) {
			count++
		}
	}
	return count
}

// bearsName reports whether the name of a circuit has a word of a lamp's purpose, type,
// name or bar.
func (o *offers) bearsName(circuit string, lamp *schema.Fixture) bool {
	own := strings.Fields(strings.ToLower(strings.Join([]string{lamp.Purpose, lamp.Type, lamp.Name, lamp.HungOn}, " ")))
	return slices.ContainsFunc(strings.Fields(strings.ToLower(circuit)), func(word string) bool { return len(word) > 2 && slices.Contains(own, word) })
}
