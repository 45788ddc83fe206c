package schema

import (
	"fmt"
	"reflect"
	"slices"

	"github.com/cueproof/cueproof/internal/source"
)

// Apply returns a copy of the show with the edits made, sharing with the
// original all that they do not touch. The original stays as it is. An edit that
// names no entity of the show, or a field that the entity does not have, is an
// error, and then there is no copy.
//
// An edit with Only on a setting that has other channels too does not change
// that setting: it adds one behind it for those channels alone.
func Apply(show *Show, edits []source.Edit) (*Show, error) {
	making.Lock()
	changed := *show
	making.Unlock()
	changed.selections = nil
	a := applier{show: &changed}
	for _, edit := range edits {
		if err := a.apply(edit); err != nil {
			return nil, err
		}
	}
	return &changed, nil
}

type applier struct{ show *Show }

func (a *applier) apply(edit source.Edit) error {
	if change := changeIn(&a.show.Patch, edit.At); change != nil {
		return assign(change, edit)
	}
	if room := a.show.Room; room != nil && under(edit.At, room.At) {
		copied := *room
		a.show.Room = &copied
		for _, target := range []any{
			changeIn(&copied.Cameras, edit.At), changeIn(&copied.Surfaces, edit.At),
			changeIn(&copied.Circuits, edit.At), changeIn(&copied.Places, edit.At),
		} {
			if !reflect.ValueOf(target).IsNil() {
				return assign(target, edit)
			}
		}
		if copied.Air != nil && copied.Air.At == edit.At {
			air := *copied.Air
			copied.Air = &air
			return assign(&air, edit)
		}
	}
	if change := changeIn(&a.show.Types, edit.At); change != nil {
		return assign(change, edit)
	}
	if change := changeIn(&a.show.Order, edit.At); change != nil {
		return assign(change, edit)
	}
	return a.applyToCue(edit)
}

// under reports whether a value stands in the same file as the other: enough to
// skip a section, exact when sections have files of their own.
func under(ref, section source.Ref) bool { return ref.File == section.File }

func (a *applier) applyToCue(edit source.Edit) error {
	for i, cue := range a.show.Cues {
		inCue := cue.At == edit.At
		setting := slices.IndexFunc(cue.Set, func(s *Setting) bool { return s.At == edit.At && !s.added })
		screen := slices.IndexFunc(cue.Screens, func(d *Drive) bool { return d.At == edit.At })
		if !inCue && setting < 0 && screen < 0 {
			continue
		}
		copied := *cue
		copied.Set, copied.Screens = slices.Clone(cue.Set), slices.Clone(cue.Screens)
		cues := slices.Clone(a.show.Cues)
		cues[i] = &copied
		a.show.Cues = cues
		switch {
		case screen >= 0:
			drive := *copied.Screens[screen]
			copied.Screens[screen] = &drive
			return assign(&drive, edit)
		case inCue && len(edit.Only) == 0:
			return assign(&copied, edit)
		case inCue:
			return copied.insert(len(copied.Set), edit)
		default:
			return a.changeSetting(&copied, setting, edit)
		}
	}
	return fmt.Errorf("no entity of the show stands at %s", edit.At.Pointer())
}

func (a *applier) changeSetting(cue *Cue, index int, edit source.Edit) error {
	channels, err := a.show.Channels(cue.Set[index].Channels)
	if err != nil {
		return err
	}
	others := slices.ContainsFunc(channels, func(c int) bool { return !slices.Contains(edit.Only, c) })
	if len(edit.Only) > 0 && others {
		behind := index + 1
		for behind < len(cue.Set) && cue.Set[behind].added {
			behind++
		}
		return cue.insert(behind, edit)
	}
	setting := *cue.Set[index]
	cue.Set[index] = &setting
	if edit.Field == "channels" && edit.Value == nil {
		cue.Set = slices.Delete(cue.Set, index, index+1)
		return nil
	}
	return assign(&setting, edit)
}

// insert adds a setting for some channels that does one thing.
func (c *Cue) insert(index int, edit source.Edit) error {
	setting := &Setting{At: edit.At, Channels: FormatChannels(edit.Only), added: true}
	c.Set = slices.Insert(c.Set, index, setting)
	return assign(setting, edit)
}

// entity is what stands in a list of a show and knows its place.
type entity interface {
	Fixture | Camera | Surface | Circuit | Place | Type | Segment
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
	}
	return source.Ref{}
}

// assign sets the field that bears the edit's name in show files.
func assign(entity any, edit source.Edit) error {
	v := reflect.ValueOf(entity).Elem()
	index, known := fieldsOf(v.Type()).byName[edit.Field]
	if !known {
		return fmt.Errorf("%s has no field %s", v.Type().Name(), edit.Field)
	}
	field := v.Field(index)
	if edit.Value == nil {
		field.SetZero()
		return nil
	}
	value := reflect.ValueOf(edit.Value)
	target := field.Type()
	if target.Kind() == reflect.Pointer {
		target = target.Elem()
	}
	switch {
	case target == reflect.TypeFor[Aim]() && value.Kind() == reflect.String:
		field.Set(reflect.ValueOf(&Aim{Name: value.String()}))
		return nil
	case !value.CanConvert(target) || value.Kind() == reflect.String != (target.Kind() == reflect.String):
		return fmt.Errorf("%s of a %s cannot be %v", edit.Field, v.Type().Name(), edit.Value)
	}
	converted := value.Convert(target)
	if field.Kind() == reflect.Pointer {
		pointer := reflect.New(target)
		pointer.Elem().Set(converted)
		converted = pointer
	}
	field.Set(converted)
	return nil
}
