package plan

import (
	"slices"
	"strconv"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// earlier is a state of the show that somebody was content with, to go back to.
type earlier struct {
	show  *schema.Show
	looks map[schema.CueNumber]*tracking.Look
}

// earlierOf resolves an earlier state once for all that look there; nil for none.
func earlierOf(show *schema.Show) *earlier {
	if show == nil {
		return nil
	}
	looks := tracking.Resolve(show)
	e := &earlier{show: show, looks: make(map[schema.CueNumber]*tracking.Look, len(looks))}
	for i := range looks {
		e.looks[looks[i].Number] = &looks[i]
	}
	return e
}

// asBefore gives what a finding is about the values that it had in an earlier state:
// cameras, lamps, the place, the times of the cue, and the levels in it, each by itself.
func (o *offers) asBefore(f *finding.Finding, add adder) {
	if o.earlier == nil {
		return
	}
	const effect = "It is as it was before."
	for _, edits := range [][]source.Edit{o.camerasBefore(), o.lampsBefore(f), o.placeBefore(f), o.timesBefore(f), o.levelsBefore(f)} {
		add(effect, edits...)
	}
}

// back adds the change that gives a field its earlier number, if it had another.
func back(edits []source.Edit, at source.Ref, field string, now, then *float64) []source.Edit {
	if then == nil || now != nil && *now == *then {
		return edits
	}
	return append(edits, source.Edit{At: at, Field: field, Value: *then})
}

// backText does the same for a text.
func backText(edits []source.Edit, at source.Ref, field, now, then string) []source.Edit {
	if then == "" || now == then {
		return edits
	}
	return append(edits, source.Edit{At: at, Field: field, Value: then})
}

func (o *offers) camerasBefore() (edits []source.Edit) {
	room, before := o.state.Show.Room, o.earlier.show.Room
	if room == nil || before == nil {
		return nil
	}
	for _, now := range room.Cameras {
		k := slices.IndexFunc(before.Cameras, func(c *schema.Camera) bool { return c.Name == now.Name })
		if k < 0 {
			continue
		}
		for _, field := range schema.AlikeFields(schema.OfCamera) {
			edits = back(edits, now.At, field.Key, field.Number(now), field.Number(before.Cameras[k]))
		}
	}
	return edits
}

// lampsBefore goes back to what the patch said of the lamps that a finding is about.
func (o *offers) lampsBefore(f *finding.Finding) (edits []source.Edit) {
	lamps := o.lampsFor(nameOf(f, "place"))
	if one := o.aboutFixture(f); one != nil {
		lamps = []*schema.Fixture{one}
	}
	for _, then := range o.earlier.show.Patch { // those that were meant for the place count too
		now := o.fixtureOn(then.Channel)
		if now != nil && !slices.Contains(lamps, now) && then.AimedAt != nil && then.AimedAt.Name != "" && then.AimedAt.Name == nameOf(f, "place") {
			lamps = append(lamps, now)
		}
	}
	for _, now := range lamps {
		k := slices.IndexFunc(o.earlier.show.Patch, func(t *schema.Fixture) bool { return t.Channel == now.Channel })
		if k < 0 {
			continue
		}
		then := o.earlier.show.Patch[k]
		edits = backText(edits, now.At, "address", now.Address, then.Address)
		edits = backText(edits, now.At, "type", now.Type, then.Type)
		edits = backText(edits, now.At, "mode", now.Mode, then.Mode)
		edits = backText(edits, now.At, "purpose", now.Purpose, then.Purpose)
		edits = backText(edits, now.At, "circuit", now.Circuit, then.Circuit)
		if then.AimedAt != nil && !sameAim(now.AimedAt, then.AimedAt) {
			edits = append(edits, source.Edit{At: now.At, Field: "aimed_at", Value: schema.AimText(then.AimedAt)})
		}
		edits = back(edits, now.At, "zoom_deg", now.ZoomDeg, then.ZoomDeg)
		edits = back(edits, now.At, "white_k", now.WhiteK, then.WhiteK)
		if now.Filter != nil && then.Filter == nil {
			edits = append(edits, source.Edit{At: now.At, Field: "filter"})
		}
	}
	return edits
}

func (o *offers) placeBefore(f *finding.Finding) (edits []source.Edit) {
	now, before := o.place(nameOf(f, "place")), o.earlier.show.Room
	if now == nil || before == nil {
		return nil
	}
	for _, then := range before.Places {
		if then.Name == now.Name {
			edits = back(edits, now.At, "facing_deg", now.FacingDeg, then.FacingDeg)
		}
	}
	return edits
}

func (o *offers) timesBefore(f *finding.Finding) (edits []source.Edit) {
	for _, i := range o.looksOf(f.Identity()) {
		now := o.state.Looks[i].Cue()
		look := o.earlier.looks[now.Number]
		if look == nil {
			continue
		}
		then := look.Cue()
		edits = back(edits, now.At, "in_s", now.InS, then.InS)
		edits = back(edits, now.At, "out_s", now.OutS, then.OutS)
		edits = back(edits, now.At, "at_s", now.AtS, then.AtS)
	}
	return edits
}

// levelsBefore goes back to the levels that lamps had in the same cues: of a place those
// of its lamps, and else all that are another.
func (o *offers) levelsBefore(f *finding.Finding) (edits []source.Edit) {
	lamps := o.state.Show.Patch
	if place := nameOf(f, "place"); place != "" {
		lamps = o.lampsFor(place)
	} else if number, err := strconv.Atoi(nameOf(f, "channel")); err == nil {
		if lamps = nil; o.fixtureOn(number) != nil {
			lamps = []*schema.Fixture{o.fixtureOn(number)}
		}
	}
	for _, run := range stretches(o.faulty(f)) {
		for _, lamp := range lamps {
			for i := run[0]; i <= run[1]; i++ {
				then := o.earlier.looks[o.state.Looks[i].Number]
				if then == nil || i > run[0] && !o.tells(i, lamp.Channel, tracking.LevelBy) {
					continue
				}
				if level := then.State(lamp.Channel).Level; level != o.level(i, lamp.Channel) {
					edits = append(edits, o.setLevel(i, lamp.Channel, level))
				}
			}
		}
	}
	return edits
}
