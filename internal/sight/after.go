package sight

import (
	"cmp"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// afters measures what each change does to the thing that its gravest finding is about.
func (v *view) afters() {
	for i, step := range v.o.Steps {
		if i == usualSteps {
			break
		}
		v.o.Tell("changes", i, min(len(v.o.Steps), usualSteps))
		f := telling(step.Cleared)
		if f == nil {
			continue
		}
		a := scene.After{Order: i}
		before, after := step.Before(), step.After()
		if f.Amount != nil && f.Amount.Fact != "" {
			a.What, a.Unit, a.LimitLow = f.Amount.Fact, f.Amount.Unit, f.Amount.Worse == finding.Less
			was := f.Amount.Value
			a.Was = &was
			a.Is = again(after, f)
			a.Limit = limitOf(f)
		}
		place, cue := "", ""
		for _, s := range f.Subjects {
			if s.Kind == "place" {
				place = s.Name
			}
		}
		if len(f.Cues) > 0 {
			cue = f.Cues[0]
		}
		if place != "" && cue != "" {
			a.FaceWas, a.FaceIs = v.faceIn(before, place, cue), v.faceIn(after, place, cue)
			if a.FaceWas == nil || a.FaceIs == nil || len(a.FaceWas.Missing)+len(a.FaceIs.Missing) > 0 {
				a.FaceWas, a.FaceIs = nil, nil
			}
		}
		if a.Is != nil || a.FaceWas != nil {
			v.scene.Afters = append(v.scene.Afters, a)
		}
	}
}

// telling is the finding of a change that tells most: the gravest with a measured number.
func telling(list []finding.Finding) *finding.Finding {
	sorted := finding.Gravest(list)
	for i := range sorted {
		if sorted[i].Amount != nil {
			return &sorted[i]
		}
	}
	if len(sorted) > 0 {
		return &sorted[0]
	}
	return nil
}

// limitOf is the limit that the amount of a finding is held against: the one in its
// unit, if there is just one.
func limitOf(f *finding.Finding) *float64 {
	var found *float64
	for i := range f.Limits {
		if l := &f.Limits[i]; l.Unit == f.Amount.Unit && l.Num != nil {
			if found != nil {
				return nil
			}
			found = l.Num
		}
	}
	return found
}

// again is the same number of the same thing in another state of the show; nil where it
// is not there.
func again(m *facts.Measured, f *finding.Finding) *float64 {
	kind, word, ok := strings.Cut(f.Amount.Fact, ".")
	if !ok || m == nil {
		return nil
	}
	for _, subject := range m.Subjects(kind) {
		if len(f.Cues) > 0 && subject.Cue() != f.Cues[0] {
			continue
		}
		names := subject.Names()
		same := len(names) == len(f.Subjects) || kind == "show"
		for i := 0; same && i < len(names) && kind != "show"; i++ {
			same = names[i].Kind == f.Subjects[i].Kind && names[i].Name == f.Subjects[i].Name
		}
		if !same {
			continue
		}
		if fact, ok := facts.ValueOf(subject, word); ok {
			return number(fact)
		}
	}
	return nil
}

// faceIn is a face in another state of the show.
func (v *view) faceIn(m *facts.Measured, place, cue string) *scene.Face {
	other := &view{m: m, show: m.Rig().Show, rig: m.Rig(), evening: m.Evening(), scene: v.scene, o: v.o}
	room := other.rig.Room.Another()
	for l, lit := range m.Lit() {
		if l.Number == cue {
			return other.face(room, lit, l.Resolved().Index, place)
		}
	}
	return nil
}

// walk is what somebody with a meter finds when all orders are done: each place in the
// look that most people see it in, the first in which somebody leads from it or stands.
func (v *view) walk() {
	m := v.m
	if n := len(v.o.Steps); n > 0 {
		m = v.o.Steps[n-1].After()
	}
	if v.show.Room == nil {
		return
	}
	best := map[string]*facts.Person{}
	for _, p := range m.People {
		if p.FaceLux == nil {
			continue
		}
		if old := best[p.Place]; old == nil || *p.FaceLux > *old.FaceLux*1.05 || !old.Leads && p.Leads && *p.FaceLux > *old.FaceLux*0.95 {
			best[p.Place] = p
		}
	}
	channels := v.channels(m, best)
	for _, place := range v.show.Room.Places {
		p := best[place.Name]
		if p == nil || slices.ContainsFunc(v.scene.Walk, func(f scene.Focus) bool { return f.Place == place.Name }) {
			continue
		}
		f := scene.Focus{Place: p.Place, Cue: p.Number, Lux: p.FaceLux, Kelvin: p.FaceCCT, Channels: channels[p.Place], Assumed: !p.Basis("face_lx").Known.Sure()}
		if p.KeyCamera != nil && *p.KeyCamera > otherWhite {
			f.Wanted = p.CameraK
		}
		v.scene.Walk = append(v.scene.Walk, f)
	}
	slices.SortStableFunc(v.scene.Walk, func(a, b scene.Focus) int { // as one walks: downstage first, from left to right
		pa, pb := v.rig.Places[a.Place], v.rig.Places[b.Place]
		row := func(p *schema.Place) int { return int(stage.Value(p.Y) / 1.5) }
		return cmp.Or(cmp.Compare(row(pa), row(pb)), cmp.Compare(stage.Value(pa.X), stage.Value(pb.X)))
	})
}

// otherWhite is how far the white on a face is from that of a camera where it is not what
// somebody should look for with a meter, in mired. Common practice, no source.
const otherWhite = 15

// channels are the lamps that light the places in their looks, and those from behind.
func (v *view) channels(m *facts.Measured, best map[string]*facts.Person) map[string]string {
	words := map[string]string{}
	room := m.Rig().Room.Another()
	for l, lit := range m.Lit() {
		for place, p := range best {
			if p.Number != l.Number {
				continue
			}
			f := room.FaceOn(lit, place, room.Light(lit))
			if len(f.Missing) > 0 {
				continue
			}
			keys, _ := f.Keys()
			backs, _ := f.Backs()
			var list []int
			for _, lamp := range slices.Concat(keys, backs) {
				if !slices.Contains(list, lamp.Channel) {
					list = append(list, lamp.Channel)
				}
			}
			slices.Sort(list)
			words[place] = schema.FormatChannels(list)
		}
	}
	return words
}

// number is a fact as a number; nil if it is none.
func number(f facts.Fact) *float64 {
	switch value := f.Value.(type) {
	case float64:
		return &value
	case int:
		n := float64(value)
		return &n
	}
	return nil
}
