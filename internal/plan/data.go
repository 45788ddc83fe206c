package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// units are told by how the keys of the format end.
var units = []struct{ ending, unit string }{
	{"_pct", "%"}, {"_k", "K"}, {"_deg", "deg"}, {"_hz", "Hz"}, {"_s", "s"}, {"_m", "m"}, {"_lx", "lx"}, {"_cd_m2", "cd/m2"}, {"_stops", "stops"},
}

func unitOf(key string) string {
	if key == "level" || strings.HasPrefix(key, "shutter_") && key != "shutter_s" {
		return "%"
	}
	for _, u := range units {
		if strings.HasSuffix(key, u.ending) {
			return u.unit
		}
	}
	return ""
}

// data says edits as data: channels that change alike stand together.
func (w *words) data(edits []source.Edit) []outcome.Edit {
	type alike struct{ what, cue, segment, key, from, to string }
	var list []outcome.Edit
	index := map[alike]int{}
	channels := map[int][]int{} // by place in the list
	for _, edit := range edits {
		one := outcome.Edit{Key: edit.Field, To: plain(edit.Value), From: w.was(edit), Unit: unitOf(edit.Field)}
		if cue := w.cues[edit.At]; cue != nil {
			one.Cue = cue.Number.String()
		} else if w.screen(edit.At) != "" {
			one.Segment = w.partWith(edit.At)
		}
		var on []int
		one.What, one.Names, on = w.subject(edit)
		key := alike{one.What, one.Cue, one.Segment, one.Key, fmt.Sprint(one.From), fmt.Sprint(one.To)}
		at, known := index[key]
		if !known {
			at = len(list)
			index[key] = at
			list = append(list, one)
			list[at].Names = nil
		}
		channels[at] = append(channels[at], on...)
		for _, name := range one.Names {
			if !slices.Contains(list[at].Names, name) {
				list[at].Names = append(list[at].Names, name)
			}
		}
	}
	for at, on := range channels {
		if len(on) > 0 {
			list[at].Names = strings.Split(schema.FormatChannels(on), ",")
			for i, name := range list[at].Names {
				list[at].Names[i] = strings.TrimSpace(name)
			}
		}
	}
	return list
}

// subject says what an edit changes; of channels by their numbers.
func (w *words) subject(edit source.Edit) (what string, names []string, channels []int) {
	cue := w.cues[edit.At]
	if screen := w.screen(edit.At); screen != "" {
		return "screen", []string{screen}, nil
	}
	if cue != nil {
		if on := w.channelsOf(edit); edit.Field != "channels" && len(on) > 0 {
			return "channels", nil, on
		}
		return "cue", []string{cue.Number.String()}, nil
	}
	if f := w.fixture(edit.At); f != nil {
		return "channels", nil, []int{f.Channel}
	}
	name, _ := edit.At.Get("name")
	return w.kind(edit.At), []string{name.Str()}, nil
}

// kind says what stands at a place of the room, the types or the running order.
func (w *words) kind(at source.Ref) string {
	if room := w.show.Room; room != nil {
		for _, c := range room.Cameras {
			if c.At == at {
				return "camera"
			}
		}
		for _, s := range room.Surfaces {
			if s.At == at {
				if s.PeakCdM2 != nil || s.Kind == "emissive" || s.Kind == "projection" {
					return "screen"
				}
				return "surface"
			}
		}
		for _, c := range room.Circuits {
			if c.At == at {
				return "circuit"
			}
		}
		for _, p := range room.Places {
			if p.At == at {
				return "place"
			}
		}
		if room.Air != nil && room.Air.At == at {
			return "air"
		}
	}
	if slices.ContainsFunc(w.show.Types, func(t *schema.Type) bool { return t.At == at }) {
		return "type"
	}
	if slices.ContainsFunc(w.show.Order, func(s *schema.Segment) bool { return s.At == at }) {
		return "segment"
	}
	return "show"
}

// was is the value that stands in the file now; nil if none does.
func (w *words) was(edit source.Edit) any {
	if value, ok := w.tracked(edit); ok {
		return value
	}
	member, ok := edit.At.Get(edit.Field)
	if !ok {
		return nil
	}
	if number, isNumber := member.Float(); isNumber {
		return number
	}
	if truth, isTruth := member.Truth(); isTruth {
		return truth
	}
	if p := w.pointNow(edit); p != nil {
		return schema.PointText(*p)
	}
	return cmp.Or(w.before(edit), member.Str())
}

// plain is a new value as a number, a text or a truth.
func plain(value any) any {
	switch value := value.(type) {
	case nil, float64, string, bool:
		return value
	case *schema.Effect:
		if value.Kind == "none" {
			return nil
		}
		return effectText(*value)
	case schema.Effect:
		return effectText(value)
	default:
		return fmt.Sprint(value)
	}
}

// effectText is an effect as one value.
func effectText(e schema.Effect) string {
	if e.RateHz == nil {
		return e.Kind
	}
	return fmt.Sprintf("%s %g Hz", e.Kind, *e.RateHz)
}
