package plan

import (
	"slices"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// here moves a change to where the fault is: a value that a cue set an hour before
// the fault begins is given anew in the cue where it begins, and the old one again
// behind the last cue that has it. A cure that has nothing to move has no edits.
func (o *offers) here(c cure) cure {
	moved, done := o.heres[c.id]
	if !done {
		moved = o.moved(c)
		o.heres[c.id] = moved
	}
	moved.rule, moved.why = c.rule, c.why
	return moved
}

func (o *offers) moved(c cure) cure {
	if !slices.ContainsFunc(c.edits, func(e source.Edit) bool { _, isTracked := trackedBy(e.Field); return isTracked }) {
		return cure{}
	}
	var faulty []int // looks
	for _, identity := range c.asked {
		faulty = append(faulty, o.looksOf(identity)...)
	}
	if len(faulty) == 0 {
		return cure{}
	}
	slices.Sort(faulty)
	faulty = slices.Compact(faulty)
	first, last := faulty[0], faulty[len(faulty)-1]
	o.words.findCues(c.edits)
	moved := false
	var edits []source.Edit
	for _, edit := range c.edits {
		value, isTracked := trackedBy(edit.Field)
		cue := o.words.cues[edit.At]
		if !isTracked || cue == nil || cue.At == edit.At {
			edits = append(edits, edit)
			continue
		}
		set, known := o.lookOf(cue.Number.String())
		if !known || set >= first {
			edits = append(edits, edit)
			continue
		}
		channels := o.words.channelsOf(edit) // its setting is read again for that
		if len(channels) == 0 {
			edits = append(edits, edit)
			continue
		}
		moved = true
		looks := o.state.Looks
		edits = append(edits, source.Edit{At: looks[first].Place(), Field: edit.Field, Value: edit.Value, Only: channels})
		for _, channel := range channels { // what was there goes on behind the fault
			next := last + 1
			if value == tracking.LevelBy {
				next = o.resumes(channel, last)
			}
			if next < 0 || next >= len(looks) || looks[next].SetBy(channel, value).Look >= first {
				continue
			}
			if was, ok := valueIn(&looks[next], channel, value); ok {
				edits = append(edits, source.Edit{At: looks[next].Place(), Field: edit.Field, Value: was, Only: []int{channel}})
			}
		}
	}
	if !moved {
		return cure{}
	}
	c.id, c.edits = "here\x00"+c.id, settle(edits)
	return c
}

// trackedBy says which of the values that cues track a field belongs to, if one number
// says all of it.
func trackedBy(field string) (tracking.Value, bool) {
	f, ok := schema.FieldOf(schema.OfSetting, field)
	switch {
	case !ok:
		return 0, false
	case f.Group == schema.Brightness:
		return tracking.LevelBy, true
	case f.Group == schema.Colour && f.Form == schema.AsKelvin:
		return tracking.ColourBy, true
	}
	return 0, false
}

// valueIn is what a channel has in a look, if one number says it.
func valueIn(look *tracking.Look, channel int, value tracking.Value) (float64, bool) {
	state := look.State(channel)
	switch {
	case value == tracking.LevelBy:
		return state.Level, true
	case state.Colour != nil && state.Colour.WhiteK != nil:
		return *state.Colour.WhiteK, true
	}
	return 0, false
}

// looksOf lists the looks in which a finding shows, by their places.
func (o *offers) looksOf(identity string) []int {
	if o.cues == nil {
		o.cues = map[string][]string{}
		for i := range o.order {
			o.cues[o.order[i].Identity()] = o.order[i].Cues
		}
	}
	var list []int
	for _, cue := range o.cues[identity] {
		if look, ok := o.lookOf(cue); ok {
			list = append(list, look)
		}
	}
	return list
}

// lookOf is the place of the look of a cue.
func (o *offers) lookOf(cue string) (int, bool) {
	if o.looks == nil {
		o.looks = make(map[string]int, len(o.state.Looks))
		for i := range o.state.Looks {
			o.looks[o.state.Looks[i].Number.String()] = i
		}
	}
	look, ok := o.looks[cue]
	return look, ok
}

// isMachine reports whether a channel is a haze machine.
func (w *words) isMachine(channel int) bool {
	i := slices.IndexFunc(w.show.Patch, func(f *schema.Fixture) bool { return f.Channel == channel })
	if i < 0 {
		return false
	}
	return slices.ContainsFunc(w.show.Types, func(t *schema.Type) bool { return t.Name == w.show.Patch[i].Type && t.Machine != nil })
}
