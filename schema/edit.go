package schema

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Apply returns a copy of the show with the edits made, sharing with the
// original all that they do not touch. The original stays as it is. An edit that
// names no entity of the show, a field that the entity does not have, or a value
// that the field cannot have, is an error, and then there is no copy.
//
// An edit with Only on a setting that has other channels too does not change
// that setting: it adds one behind it for those channels alone. An edit of a
// whole setting changes what was added behind it as well, so that it holds for
// all of its channels. A reading without its place is taken out.
func Apply(show *Show, edits []source.Edit) (*Show, error) {
	shared := show.selectionsOf() // before the copy: it may be made just now, by several at once
	changed := *show
	changed.selections = shared
	a := applier{show: &changed, cues: show.CueFinder()(edits)}
	for _, edit := range edits {
		if err := a.apply(edit); err != nil {
			return nil, err
		}
	}
	return &changed, nil
}

type applier struct {
	show  *Show
	cues  map[source.Ref]int // the cue that holds what is edited, by its place in the list
	owned bool               // the list of cues is a copy already
}

// CueFinder finds the cues that edits are about, or that hold the settings and the screens
// that they are about, by their places in the list. A cue list can be long, so it is gone
// through once when somebody asks who will ask again, and then only for what stands
// neither in a cue as files have it nor in the patch.
func (s *Show) CueFinder() func(edits []source.Edit) map[source.Ref]int {
	ordered := s.inOrder()
	var patched map[source.Ref]bool // made when first asked
	return func(edits []source.Edit) map[source.Ref]int {
		cues, wanted := map[source.Ref]int{}, map[source.Ref]bool{}
		for _, edit := range edits {
			at := edit.At
			if ordered {
				if i := s.findInOrder(at); i >= 0 {
					cues[at] = i
					continue
				}
				if patched == nil {
					patched = make(map[source.Ref]bool, len(s.Patch))
					for _, f := range s.Patch {
						patched[f.At] = true
					}
				}
				if patched[at] {
					continue
				}
			}
			wanted[at] = true
		}
		if len(wanted) > 0 {
			s.findCues(wanted, cues)
		}
		return cues
	}
}

// findCues goes through the cue list for what is wanted.
func (s *Show) findCues(wanted map[source.Ref]bool, cues map[source.Ref]int) {
	found := func(at source.Ref, index int) {
		if _, known := cues[at]; wanted[at] && !known {
			cues[at] = index
		}
	}
	for i, cue := range s.Cues {
		found(cue.At, i)
		for _, setting := range cue.Set {
			found(setting.At, i)
		}
		for _, drive := range cue.Screens {
			found(drive.At, i)
		}
	}
}

// inOrder reports whether the cues stand in the order of one file, as they do when
// they were read from it.
func (s *Show) inOrder() bool {
	before := -1
	for i, cue := range s.Cues {
		if cue.At.IsZero() || i > 0 && cue.At.File != s.Cues[i-1].At.File {
			return false
		}
		start := cue.At.Start()
		if start <= before {
			return false
		}
		before = start
	}
	return true
}

// findInOrder finds the cue of an edit among cues that stand in order; -1 if none has it.
func (s *Show) findInOrder(at source.Ref) int {
	cues := s.Cues
	if at.IsZero() || len(cues) == 0 || at.File != cues[0].At.File {
		return -1
	}
	i, exact := slices.BinarySearchFunc(cues, at.Start(), func(c *Cue, start int) int { return cmp.Compare(c.At.Start(), start) })
	if !exact {
		i--
	}
	if i >= 0 && (cues[i].At == at ||
		slices.ContainsFunc(cues[i].Set, func(s *Setting) bool { return s.At == at }) ||
		slices.ContainsFunc(cues[i].Screens, func(d *Drive) bool { return d.At == at })) {
		return i
	}
	return -1
}

func (a *applier) apply(edit source.Edit) error {
	if edit.At.IsZero() {
		return fmt.Errorf("the edit of %s names no place", edit.Field)
	}
	if index, ok := a.cues[edit.At]; ok {
		return a.applyToCue(index, edit)
	}
	if change := changeIn(&a.show.Patch, edit.At); change != nil {
		a.show.selections = nil // channels and groups may mean something else now
		return assign(change, edit)
	}
	if change := changeIn(&a.show.Types, edit.At); change != nil {
		return assign(change, edit)
	}
	if change := changeIn(&a.show.Order, edit.At); change != nil {
		return assign(change, edit)
	}
	if change := changeInSegments(&a.show.Order, edit.At); change != nil {
		return assign(change, edit)
	}
	if i := slices.IndexFunc(a.show.Readings, func(r *Reading) bool { return r.At == edit.At }); i >= 0 && edit.Field == "place" && edit.Value == nil {
		a.show.Readings = slices.Delete(slices.Clone(a.show.Readings), i, i+1)
		return nil
	}
	if room, change := changeInRoom(a.show.Room, edit.At); change != nil {
		a.show.Room = room
		return assign(change, edit)
	}
	return fmt.Errorf("no entity of the show stands at %s", edit.At.Pointer())
}

// changeInSegments replaces the picture on a screen read at ref by a copy of it, in a copy
// of the running order, and returns the copy; nil if no segment has such a picture.
func changeInSegments(order *[]*Segment, ref source.Ref) *Drive {
	for _, segment := range *order {
		drives := segment.Screens
		if drive := changeIn(&drives, ref); drive != nil {
			changeIn(order, segment.At).Screens = drives
			return drive
		}
	}
	return nil
}

// changeInRoom returns a copy of the room with a copy of the entity read at ref
// in it; nil if the room has no such entity.
func changeInRoom(room *Room, ref source.Ref) (copied *Room, change any) {
	if room == nil {
		return nil, nil
	}
	copied = new(Room)
	*copied = *room
	for _, target := range []any{
		changeIn(&copied.Cameras, ref), changeIn(&copied.Surfaces, ref),
		changeIn(&copied.Circuits, ref), changeIn(&copied.Places, ref),
	} {
		if !reflect.ValueOf(target).IsNil() {
			return copied, target
		}
	}
	if room.Air != nil && room.Air.At == ref {
		air := *room.Air
		copied.Air = &air
		return copied, &air
	}
	return nil, nil
}

func (a *applier) applyToCue(index int, edit source.Edit) error {
	if !a.owned {
		a.show.Cues, a.owned = slices.Clone(a.show.Cues), true
	}
	cue := *a.show.Cues[index]
	cue.Set, cue.Screens = slices.Clone(cue.Set), slices.Clone(cue.Screens)
	a.show.Cues[index] = &cue
	for i, drive := range cue.Screens {
		if drive.At == edit.At {
			copied := *drive
			cue.Screens[i] = &copied
			return assign(&copied, edit)
		}
	}
	switch {
	case cue.At != edit.At:
		return a.changeSetting(&cue, edit)
	case len(edit.Only) == 0:
		return assign(&cue, edit)
	default:
		return cue.insert(len(cue.Set), edit)
	}
}

func (a *applier) changeSetting(cue *Cue, edit source.Edit) error {
	first := slices.IndexFunc(cue.Set, func(s *Setting) bool { return s.At == edit.At && !s.added })
	if first < 0 {
		return fmt.Errorf("the setting at %s was taken out before", edit.At.Pointer())
	}
	behind := first + 1
	for behind < len(cue.Set) && cue.Set[behind].added && cue.Set[behind].At == edit.At {
		behind++
	}
	channels, err := a.show.Channels(cue.Set[first].Channels)
	if err != nil {
		return err
	}
	others := slices.ContainsFunc(channels, func(c int) bool { return !slices.Contains(edit.Only, c) })
	if len(edit.Only) > 0 && others {
		return cue.insert(behind, edit)
	}
	if edit.Field == "channels" && edit.Value == nil {
		cue.Set = slices.Delete(cue.Set, first, behind)
		return nil
	}
	for i := first; i < behind; i++ {
		if i > first && edit.Field == "channels" {
			break // what was added is for channels of its own
		}
		copied := cue.Set[i].clone()
		cue.Set[i] = copied
		if err := assign(copied, edit); err != nil {
			return err
		}
	}
	return nil
}

func (s *Setting) clone() *Setting {
	copied, told := *s, Told{}
	if s.Told != nil {
		told = *s.Told
	}
	copied.Told = &told
	return &copied
}

// insert adds a setting for some channels that does one thing.
func (c *Cue) insert(index int, edit source.Edit) error {
	setting := &Setting{At: edit.At, Channels: FormatChannels(edit.Only), Told: new(Told), added: true}
	c.Set = slices.Insert(c.Set, index, setting)
	return assign(setting, edit)
}

// entity is what stands in a list of a show and knows its place.
type entity interface {
	Fixture | Camera | Surface | Circuit | Place | Type | Segment | Drive
}

// changeIn replaces the entity read at ref by a copy of it, in a copy of the
// list, and returns the copy; nil if the list has no such entity.
func changeIn[E entity](list *[]*E, ref source.Ref) *E {
	for i, item := range *list {
		if placeOf(item) == ref {
			copied := *item
			*list = slices.Clone(*list)
			(*list)[i] = &copied
			return &copied
		}
	}
	return nil
}

func placeOf(item any) source.Ref {
	switch item := item.(type) {
	case *Fixture:
		return item.At
	case *Camera:
		return item.At
	case *Surface:
		return item.At
	case *Circuit:
		return item.At
	case *Place:
		return item.At
	case *Type:
		return item.At
	case *Segment:
		return item.At
	case *Drive:
		return item.At
	}
	return source.Ref{}
}

// pushShutter sets the depth of one blade: "shutter_top" is the depth of the top
// blade of a fixture, which may have none yet.
func pushShutter(entity any, side string, value any) error {
	fixture, ok1 := entity.(*Fixture)
	depth, ok2 := value.(float64)
	if !ok1 || !ok2 {
		return fmt.Errorf("only a fixture has a %s shutter, and its depth is a number", side)
	}
	blades := slices.Clone(fixture.Shutters)
	index := slices.IndexFunc(blades, func(s *Shutter) bool { return s.Side == side })
	if index < 0 {
		fixture.Shutters = append(blades, &Shutter{At: fixture.At, Side: side, DepthPct: &depth})
		return nil
	}
	blade := *blades[index]
	blade.DepthPct = &depth
	blades[index] = &blade
	fixture.Shutters = blades
	return nil
}

// blades are the sides of a shutter cut.
var blades = []string{"top", "bottom", "left", "right"}

// assign sets the field that bears the edit's name in show files.
func assign(entity any, edit source.Edit) error {
	if side, isBlade := strings.CutPrefix(edit.Field, "shutter_"); isBlade && slices.Contains(blades, side) {
		return pushShutter(entity, side, edit.Value)
	}
	v := reflect.ValueOf(entity).Elem()
	index, known := fieldsOf(v.Type()).byName[edit.Field]
	if !known {
		return fmt.Errorf("%s has no field %s", v.Type().Name(), edit.Field)
	}
	if setting, ok := entity.(*Setting); ok && replacesColour(edit.Field) {
		setting.WhiteK, setting.XY, setting.Mix, setting.MixPart, setting.HueDeg, setting.SaturationPct = nil, nil, nil, nil, nil, nil
	}
	field := v.FieldByIndex(index)
	if edit.Value == nil {
		field.SetZero()
		return nil
	}
	target := field.Type()
	if whole := reflect.ValueOf(edit.Value); whole.Type() == target {
		field.Set(whole)
		return nil
	}
	if target.Kind() == reflect.Pointer {
		target = target.Elem()
	}
	value, ok := valueFor(target, edit.Value)
	if number, is := edit.Value.(float64); !ok || is && !takes(v.Type(), edit.Field, number) {
		return fmt.Errorf("%s of a %s cannot be %v", edit.Field, v.Type().Name(), edit.Value)
	}
	if field.Kind() == reflect.Pointer {
		pointer := reflect.New(target)
		pointer.Elem().Set(value)
		value = pointer
	}
	field.Set(value)
	return nil
}

// stands is where the schemas say what an entity is: a section, and the members that lead there.
var stands = map[reflect.Type][]string{
	reflect.TypeFor[Fixture](): {"patch"}, reflect.TypeFor[Type](): {"types"}, reflect.TypeFor[Segment](): {"order"},
	reflect.TypeFor[Cue](): {"cues"}, reflect.TypeFor[Setting](): {"cues", "set"}, reflect.TypeFor[Drive](): {"cues", "screens"},
	reflect.TypeFor[Camera](): {"room", "cameras"}, reflect.TypeFor[Surface](): {"room", "surfaces"}, reflect.TypeFor[Circuit](): {"room", "circuits"},
	reflect.TypeFor[Place](): {"room", "places"}, reflect.TypeFor[Air](): {"room", "air"},
}

// takes reports whether a number is one that a file may have in a field. What another
// thing has need not be: a value out of its range is told, and used as it is.
func takes(entity reflect.Type, field string, number float64) bool {
	path := stands[entity]
	if path == nil {
		return true
	}
	f := checkers[path[0]].form()
	for _, name := range slices.Concat(path[1:], []string{field}) {
		if f = f.referred(); f.items != nil {
			f = f.items.referred()
		}
		member := f.members[name]
		if member == nil {
			return true
		}
		f = member.forms[0]
	}
	f = f.referred()
	return !f.kinds[source.Number] || f.takesNumber(number)
}

// valueFor turns the value of an edit into one of a field's type.
func valueFor(target reflect.Type, value any) (reflect.Value, bool) {
	switch value := value.(type) {
	case float64:
		return numberFor(target, value)
	case string:
		switch target {
		case reflect.TypeFor[Aim]():
			if point, ok := ParsePoint(value); ok {
				return reflect.ValueOf(Aim{Point: &point}), true
			}
			return reflect.ValueOf(Aim{Name: value}), true
		case reflect.TypeFor[Filter]():
			filter, ok := parseGrey(value)
			return reflect.ValueOf(filter), ok
		case reflect.TypeFor[Point]():
			point, ok := ParsePoint(value)
			return reflect.ValueOf(point), ok
		case reflect.TypeFor[map[string]float64]():
			mix, ok := parseMix(value)
			return reflect.ValueOf(mix), ok
		case reflect.TypeFor[[]string]():
			return reflect.ValueOf(strings.Split(value, listed)), value != ""
		case reflect.TypeFor[[]Intent]():
			var intents []Intent
			for word := range strings.SplitSeq(value, listed) {
				intents = append(intents, Intent{Intent: word})
			}
			return reflect.ValueOf(intents), value != ""
		case reflect.TypeFor[Level]():
			level, err := ParseLevel(value)
			return reflect.ValueOf(level), err == nil
		case reflect.TypeFor[CueNumber]():
			number, err := ParseCueNumber(value)
			return reflect.ValueOf(number), err == nil
		}
	}
	v := reflect.ValueOf(value)
	return v, v.Type() == target
}

func numberFor(target reflect.Type, value float64) (reflect.Value, bool) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return reflect.Value{}, false
	}
	switch {
	case target == reflect.TypeFor[CueNumber]():
		number, err := ParseCueNumber(strconv.FormatFloat(value, 'f', -1, 64))
		return reflect.ValueOf(number), err == nil
	case target == reflect.TypeFor[Level]():
		return reflect.ValueOf(Level(value)), value >= 0 && value <= 100
	case target.Kind() == reflect.Float64:
		return reflect.ValueOf(value), true
	case target.Kind() == reflect.Int:
		return reflect.ValueOf(int(value)), value == math.Trunc(value) && math.Abs(value) <= 1<<31
	}
	return reflect.Value{}, false
}
