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

// Causes are what may have gone wrong in a show, as somebody would look for it who
// knows the booth, by the word that a rule names it with. None of them judges: the
// rules say of each on a copy whether that was it.
var causes = map[string]func(o *offers, f *finding.Finding, add adder){
	"dark-lamps":       (*offers).darkLamps,
	"bright-lamps":     (*offers).brightLamps,
	"dim-lamps":        (*offers).dimLamps,
	"like-cue":         (*offers).likeCue,
	"empty-lamps":      (*offers).emptyLamps,
	"letting-go":       (*offers).lettingGo,
	"went-dark":        (*offers).wentDark,
	"came-up":          (*offers).cameUp,
	"late-cue":         (*offers).lateCue,
	"early-cue":        (*offers).earlyCue,
	"usual-fade":       (*offers).usualFade,
	"dark-before-move": (*offers).darkBeforeMove,
	"straying":         (*offers).straying,
	"aim-before":       (*offers).aimBefore,
	"mirrored":         (*offers).mirrored,
	"out":              (*offers).out,
	"park":             (*offers).park,
	"filament-out":     (*offers).filamentOut,
	"grey-filter":      (*offers).greyFilter,
	"hang":             (*offers).hang,
	"facing":           (*offers).facing,
	"twins":            (*offers).twins,
	"swap":             (*offers).swap,
	"coloured-filters": (*offers).colouredFilters,
	"colour-elsewhere": (*offers).colourElsewhere,
	"white-keys":       (*offers).whiteKeys,
	"wash-on-face":     (*offers).washOnFace,
	"like-next":        (*offers).likeNext,
	"picture-down":     (*offers).pictureDown,
	"picture-up":       (*offers).pictureUp,
	"haze-off":         (*offers).hazeOff,
	"less-haze":        (*offers).lessHaze,
	"beams-out":        (*offers).beamsOut,
	"haze-on":          (*offers).hazeOn,
	"by-hand":          (*offers).byHand,
	"whole-periods":    (*offers).wholePeriods,
	"second-colour":    (*offers).secondColour,
	"typing-error":     (*offers).typingError,
	"usual-levels":     (*offers).usualLevels,
	"cameras":          (*offers).unlikeCameras,
	"exposure":         (*offers).exposure,
	"other-cues":       (*offers).unlikeOtherCues,
	"one-drive":        (*offers).oneDrive,
	"other-pictures":   (*offers).otherPictures,
	"raise":            (*offers).raise,
	"row":              (*offers).outOfRow,
	"number-twice":     (*offers).numberTwice,
	"called-double":    (*offers).calledDouble,
	"circuits":         (*offers).circuits,
}

// ofTheShow are causes for which all of a show is searched: once for a rule is enough.
var ofTheShow = []string{"number-twice", "cameras", "beams-out", "haze-on", "like-next", "whole-periods"}

// reveals are causes behind which rules may speak that had nothing to look at before, by
// how the names of those rules begin: what they say then was so before.
var reveals = map[string]string{"by-hand": "", "white-keys": "white/key-source", "facing": "people/"}

// lastResorts are causes that take people with a lift: they are weighed beside the
// remedies of the rule, which may be had at the console.
var lastResorts = []string{"swap", "hang", "filament-out", "grey-filter"}

// mostOfCause bounds the changes by one cause: no plan tries more for one finding, and they
// are tried in their order.
const mostOfCause = early*mostProofs + mostCandidates

// causes looks in the show for what may have gone wrong, where the rule says; last asks
// for what is done last.
func (o *offers) causes(f *finding.Finding, last bool) []cure {
	rule, known := o.rules.Find(f.Rule)
	if !known {
		return nil
	}
	var list []cure
	key := search{f.Identity(), last}
	if list, done := o.searched[key]; done {
		return list
	}
	defer func() { o.searched[key] = list }()
	free, cause := false, ""
	has := map[string]bool{}
	of := map[string]int{} // how many there are, by cause
	add := func(effect string, edits ...source.Edit) {
		if len(edits) == 0 || of[cause] == mostOfCause {
			return
		}
		id := "cause\x00" + f.Rule + "\x00" + textOf(edits)
		if has[id] {
			return
		}
		has[id] = true
		of[cause]++
		list = append(list, cure{
			id: id, edits: settle(edits), rule: f.Rule, why: key.identity, effect: effect, way: found, free: free, cause: cause,
		})
	}
	if cause = "before"; !last { // nothing is as likely as what it was when somebody was content
		o.asBefore(f, add)
	}
	for _, word := range rule.Causes {
		if slices.Contains(ofTheShow, word) && &o.order[o.byRule[f.Rule][0]] != f {
			continue
		}
		if look := causes[word]; look != nil && last == slices.Contains(lastResorts, word) {
			cause, free = word, word == "filament-out" // if a face needs the lamp, it stays
			look(o, f, add)
		}
	}
	return list
}

// textOf are edits on one line, to know the same ones by.
func textOf(edits []source.Edit) string {
	words := make([]string, len(edits))
	for i, e := range edits {
		file := ""
		if !e.At.IsZero() {
			file = e.At.File.Name
		}
		words[i] = fmt.Sprint(file, " ", e.At.Start(), e.Field, e.Value, e.Only)
	}
	return strings.Join(words, "\x00")
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
	if o.fixtures == nil {
		o.fixtures = make(map[int]*schema.Fixture, len(o.state.Show.Patch))
		for _, f := range o.state.Show.Patch {
			if o.fixtures[f.Channel] == nil {
				o.fixtures[f.Channel] = f
			}
		}
	}
	return o.fixtures[channel]
}

// aboutFixture is the fixture that a finding is about, or nil.
func (o *offers) aboutFixture(f *finding.Finding) *schema.Fixture {
	number, err := strconv.Atoi(nameOf(f, "channel"))
	if err != nil {
		return nil
	}
	return o.fixtureOn(number)
}

func (o *offers) typeOf(f *schema.Fixture) *schema.Type {
	if o.types == nil {
		o.types = make(map[string]*schema.Type, len(o.state.Show.Types))
		for _, t := range o.state.Show.Types {
			if o.types[t.Name] == nil {
				o.types[t.Name] = t
			}
		}
	}
	return o.types[f.Type]
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

// forPicture reports whether a lamp is for what is around people: it may change with
// a song, and nobody stands in the dark without it.
func forPicture(f *schema.Fixture) bool {
	return slices.Contains([]string{"wash", "beam", "effect"}, f.Purpose)
}

func fromBehind(f *schema.Fixture) bool { return f.Purpose == "back" }

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
	if f.AimedAt.Point == nil {
		return math.Inf(1)
	}
	head, ok := o.head(place)
	if !ok {
		return math.Inf(1)
	}
	flat := math.Hypot(f.AimedAt.Point.X-head.X, f.AimedAt.Point.Y-head.Y)
	return math.Hypot(flat, (f.AimedAt.Point.Z-head.Z)/2) // a lamp aimed at the chest is meant for the face
}

// head is where the face of somebody at a place is.
func (o *offers) head(place string) (schema.Point, bool) {
	p := o.place(place)
	if p == nil || p.X == nil || p.Y == nil {
		return schema.Point{}, false
	}
	at := schema.Point{X: *p.X, Y: *p.Y}
	if p.Z != nil {
		at.Z = *p.Z
	}
	if p.HeadM != nil {
		at.Z += *p.HeadM
	}
	return at, true
}

func (o *offers) place(name string) *schema.Place {
	if o.state.Show.Room == nil {
		return nil
	}
	for _, p := range o.state.Show.Room.Places {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// faulty lists the looks in which a finding shows, or, of one about a part of the
// running order, the looks of that part.
func (o *offers) faulty(f *finding.Finding) []int {
	segment := nameOf(f, "segment")
	if nameOf(f, "place") != "" || segment == "" {
		return o.looksOf(f.Identity())
	}
	var list []int
	for i := range o.state.Looks {
		if s := o.state.Looks[i].Segment; s != nil && s.Name == segment {
			list = append(list, i)
		}
	}
	return list
}

// faultyOfRule lists the looks in which any finding of a rule shows.
func (o *offers) faultyOfRule(rule string) []int {
	var list []int
	for _, i := range o.byRule[rule] {
		list = append(list, o.faulty(&o.order[i])...)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// stretches are the runs of neighbours in a sorted list.
func stretches(list []int) (runs [][2]int) {
	for _, i := range list {
		if n := len(runs); n > 0 && runs[n-1][1]+1 == i {
			runs[n-1][1] = i
			continue
		}
		runs = append(runs, [2]int{i, i})
	}
	return runs
}

// peopleIn are the places where somebody is in a look; known is false if the show does
// not say, or names a place that the room does not have.
func (o *offers) peopleIn(look int) (places []string, known bool) {
	l := &o.state.Looks[look]
	if l.Segment != nil {
		places = l.Segment.People
	}
	for _, part := range l.Parts {
		if part.People != nil {
			places = part.People
		}
	}
	return places, places != nil && len(o.nowhere(places)) == 0
}

// nowhere are the names of a list that no place of the room bears; none where no room tells
// of places.
func (o *offers) nowhere(people []string) []string {
	if o.state.Show.Room == nil || len(o.state.Show.Room.Places) == 0 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(people), func(name string) bool { return o.place(name) != nil })
}

// meantName writes what must be meant by a name in a part of the running order that the room
// does not have: of a place, or of a path.
func (o *offers) meantName(f *finding.Finding) []finding.Remedy {
	i := slices.IndexFunc(o.state.Show.Order, func(s *schema.Segment) bool { return s.Name == nameOf(f, "segment") })
	if i < 0 || o.state.Show.Room == nil {
		return nil
	}
	segment := o.state.Show.Order[i]
	switch list, _, _ := strings.Cut(f.Detail, "/"); list {
	case "people", "lead":
		return o.whoIsLit(segment)
	case "walks":
		return o.onlyWay(segment)
	}
	return nil
}

// instead writes one name for another in a list of names that stands under a key of a segment.
func instead(segment *schema.Segment, key string, list []string, wrong, right string) []source.Edit {
	i := slices.Index(list, wrong)
	if i < 0 {
		return nil
	}
	list = slices.Clone(list)
	list[i] = right
	return []source.Edit{{At: segment.At, Field: key, Value: schema.ListText(list)}}
}

// whoIsLit writes the place whose keys are lit in a part of the evening, and for nobody else
// who is there, instead of one that the room does not have, if it is the only one.
func (o *offers) whoIsLit(segment *schema.Segment) []finding.Remedy {
	var lit []string
	forOthers := func(lamp *schema.Fixture) bool {
		return slices.ContainsFunc(segment.People, func(place string) bool { return o.off(lamp, place) <= near })
	}
	for _, p := range o.state.Show.Room.Places {
		for k := range o.state.Looks {
			isLit := func(lamp *schema.Fixture) bool {
				return lamp.Purpose == "key" && o.level(k, lamp.Channel) > leastLevel && !forOthers(lamp)
			}
			if o.state.Looks[k].Segment == segment && !slices.Contains(segment.People, p.Name) && slices.ContainsFunc(o.lampsFor(p.Name), isLit) {
				lit = append(lit, p.Name)
				break
			}
		}
	}
	unknown := o.nowhere(segment.People)
	if len(lit) != 1 || len(unknown) != 1 {
		return nil
	}
	return []finding.Remedy{{
		Effect: "The checks know who is there: the light of this part is on that place. Ask first who stands where.",
		Edits:  slices.Concat(instead(segment, "people", segment.People, unknown[0], lit[0]), instead(segment, "lead", segment.Lead, unknown[0], lit[0])),
	}}
}

// onlyWay writes the one path that leads to somebody who is there in a part of the evening, or
// away from them, instead of one that the room does not have.
func (o *offers) onlyWay(segment *schema.Segment) []finding.Remedy {
	paths := o.state.Show.Room.Paths
	is := func(name string) bool {
		return slices.ContainsFunc(paths, func(p *schema.Path) bool { return p.Name == name })
	}
	unknown := slices.DeleteFunc(slices.Clone(segment.Walks), is)
	var ways []string
	for _, path := range paths {
		if !slices.Contains(segment.Walks, path.Name) && (slices.Contains(segment.People, path.From) || slices.Contains(segment.People, path.To)) {
			ways = append(ways, path.Name)
		}
	}
	if len(ways) != 1 || len(unknown) != 1 {
		return nil
	}
	return []finding.Remedy{{
		Effect: "The checks know which way is walked: no other leads to those who are there. Ask first who walks where.",
		Edits:  instead(segment, "walks", segment.Walks, unknown[0], ways[0]),
	}}
}

// told is where a look tells a channel a value: its own setting, or the cue itself.
func (o *offers) told(look, channel int, value tracking.Value) source.Ref {
	if by := o.state.Looks[look].SetBy(channel, value); by.Look == look && by.Setting != nil {
		return by.Setting.At
	}
	return o.state.Looks[look].Place()
}

func (o *offers) tells(look, channel int, value tracking.Value) bool {
	return o.state.Looks[look].SetBy(channel, value).Look == look
}

func (o *offers) level(look, channel int) float64 { return o.state.Looks[look].State(channel).Level }

func (o *offers) setLevel(look, channel int, level float64) source.Edit {
	return source.Edit{At: o.told(look, channel, tracking.LevelBy), Field: "level", Value: level, Only: []int{channel}}
}

// hold gives a channel a level from one look to another, and what it had after that.
func (o *offers) hold(channel int, level float64, first, last int) []source.Edit {
	other := false
	for i := first; i <= last; i++ {
		other = other || o.level(i, channel) != level
	}
	if !other {
		return nil // it stands there all the time
	}
	edits := []source.Edit{o.setLevel(first, channel, level)}
	for i := first + 1; i <= last; i++ {
		if o.tells(i, channel, tracking.LevelBy) {
			edits = append(edits, o.setLevel(i, channel, level))
		}
	}
	return append(edits, o.goOn(channel, first, last)...)
}

// goOn gives a channel behind a stretch the level that it has there, if a cue before the
// stretch set it. A lamp for people comes back with them: nobody is lit who is not there.
func (o *offers) goOn(channel, first, last int) []source.Edit {
	at := o.resumes(channel, last)
	if at < 0 || o.state.Looks[at].SetBy(channel, tracking.LevelBy).Look >= first { // it is told anew, or the fault goes on
		return nil
	}
	return []source.Edit{o.setLevel(at, channel, o.level(at, channel))}
}

// resumes is the first look behind a stretch in which a channel has to have again what it
// has there; -1 if there is none, or if a cue tells it before.
func (o *offers) resumes(channel, last int) int {
	lamp := o.fixtureOn(channel)
	place := ""
	if lamp != nil && forPeople(lamp) {
		place, _ = o.meantFor(lamp)
	}
	for i := last + 1; i < len(o.state.Looks); i++ {
		if o.tells(i, channel, tracking.LevelBy) {
			return -1
		}
		if place == "" || o.level(i, channel) <= 0 {
			return i
		}
		if people, known := o.peopleIn(i); known && slices.Contains(people, place) {
			return i
		}
	}
	return -1
}

// scale brings a channel to a part of its level from one look to another; where that would
// be a trickle, to the least that lamps are brought down to, or out.
func (o *offers) scale(channel int, factor float64, out bool, first, last int) (edits []source.Edit) {
	other := false
	for i := first; i <= last; i++ {
		level := o.level(i, channel)
		now := level
		if i > first && !o.tells(i, channel, tracking.LevelBy) || level <= 0 {
			continue
		}
		if least := min(level, leastLevel); level*factor >= least {
			level *= factor
		} else if level = least; out {
			level = 0
		}
		level = min(100, math.Round(level))
		other = other || level != now
		edits = append(edits, o.setLevel(i, channel, level))
	}
	if !other {
		return nil // a lamp at full gets no brighter
	}
	return append(edits, o.goOn(channel, first, last)...)
}

// nominalF is the f-number as lenses name it, in thirds of a stop (ISO 517, from memory).
func nominalF(f float64) float64 {
	names := []float64{1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22}
	best := names[0]
	for _, name := range names {
		if math.Abs(math.Log2(name/f)) < math.Abs(math.Log2(best/f)) {
			best = name
		}
	}
	return best
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
