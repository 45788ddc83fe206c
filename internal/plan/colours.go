package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// setColour tells a channel in a look a colour that it has elsewhere; nothing if it has
// none, or one that takes more than one value.
func (o *offers) setColour(look, channel int, colour *tracking.Colour) []source.Edit {
	edit := source.Edit{At: o.told(look, channel, tracking.ColourBy), Only: []int{channel}}
	switch {
	case colour == nil:
		return nil
	case len(colour.Mix) > 0:
		edit.Field, edit.Value = schema.Mix, schema.MixText(colour.Mix)
	case colour.WhiteK != nil:
		edit.Field, edit.Value = schema.White, *colour.WhiteK
	case colour.HueDeg != nil:
		edit.Field, edit.Value = "hue_deg", *colour.HueDeg
	default:
		return nil
	}
	return []source.Edit{edit}
}

func colourText(c *tracking.Colour) string {
	if c == nil {
		return ""
	}
	number := func(f *float64) string {
		if f == nil {
			return ""
		}
		return fmt.Sprint(*f)
	}
	return fmt.Sprint(number(c.WhiteK), c.XY, schema.MixText(c.Mix), number(c.HueDeg), number(c.SaturationPct))
}

// colourElsewhere gives the lamps whose colour a cue changed the colours that they have
// in another cue: of the same mood first, and then in the nearest. Of a part of the
// evening that goes through many colours, all its cues get those of one.
func (o *offers) colourElsewhere(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	if nameOf(f, "show") != "" || len(looks) == 0 {
		looks = o.faultyOfRule("colour/off-palette")
	}
	if all := o.faultyOfRule(f.Rule); f.Rule == "colour/off-palette" && len(all) > len(looks) { // one colour too many is taken out at once
		o.coloursOf(all, add)
	}
	o.coloursOf(looks, add)
}

// coloursOf gives what is around people in some looks the colours of another.
func (o *offers) coloursOf(looks []int, add adder) {
	var picture []*schema.Fixture
	for _, lamp := range o.state.Show.Patch {
		if t := o.typeOf(lamp); forPicture(lamp) || lamp.Purpose == "side" && t != nil && len(t.Emitters) > 0 { // dance is coloured from the side
			picture = append(picture, lamp)
		}
	}
	from := o.others(looks)
	tried := map[string]bool{}
	const most = 2 // other cues to take colours from
	for _, k := range from {
		if len(tried) == most {
			break
		}
		var edits []source.Edit
		for _, i := range looks {
			for _, lamp := range picture {
				want := o.state.Looks[k].State(lamp.Channel).Colour
				have := o.state.Looks[i].State(lamp.Channel).Colour
				if !o.tells(i, lamp.Channel, tracking.ColourBy) && i != looks[0] || have == want || colourText(have) == colourText(want) {
					continue
				}
				edits = append(edits, o.setColour(i, lamp.Channel, want)...)
			}
		}
		key := textOf(edits)
		if len(edits) == 0 || tried[key] {
			continue
		}
		tried[key] = true
		add(fmt.Sprintf("The colours are those of cue %s.", o.state.Looks[k].Number), edits...)
	}
}

// others are the looks that are none of a list, those of its mood first, and then the
// nearest.
func (o *offers) others(looks []int) []int {
	if len(looks) == 0 {
		return nil
	}
	first := looks[0]
	mood := func(i int) string {
		if s := o.state.Looks[i].Segment; s != nil {
			return s.Mood
		}
		return ""
	}
	quiet := func(i int) bool { return mood(i) == "quiet" }
	var list []int
	for i := range o.state.Looks {
		if !slices.Contains(looks, i) || len(looks) > 1 && i == first {
			list = append(list, i)
		}
	}
	slices.SortStableFunc(list, func(a, b int) int {
		return cmp.Or(
			cmp.Compare(truth(quiet(a) != quiet(first)), truth(quiet(b) != quiet(first))),
			cmp.Compare(max(a-first, first-a), max(b-first, first-b)), cmp.Compare(a, b),
		)
	})
	return list
}

// likeNext gives what is around people the colours, and then the levels too, of the cue
// that follows.
func (o *offers) likeNext(f *finding.Finding, add adder) {
	for _, run := range stretches(o.faultyOfRule(f.Rule)) {
		if run[1]+1 < len(o.state.Looks) {
			o.like(run[1]+1, run[0], run[1], add)
		}
	}
}

// like gives what is around people in a stretch the colours, and then the levels too, of
// another cue.
func (o *offers) like(k, first, last int, add adder) {
	var colours, levels []source.Edit
	for _, lamp := range o.state.Show.Patch {
		if !forPicture(lamp) {
			continue
		}
		was, is := o.state.Looks[k].State(lamp.Channel), o.state.Looks[first].State(lamp.Channel)
		if colourText(was.Colour) != colourText(is.Colour) {
			for i := first; i <= last; i++ {
				if i == first || o.tells(i, lamp.Channel, tracking.ColourBy) {
					colours = append(colours, o.setColour(i, lamp.Channel, was.Colour)...)
				}
			}
		}
		if is.Level > was.Level {
			level := was.Level
			if level < leastLevel {
				level = 0
			}
			levels = append(levels, o.hold(lamp.Channel, level, first, last)...)
		}
	}
	add("It begins in the colours of what follows.", colours...)
	add("It begins with room to grow.", levels...)
	if len(colours) > 0 && len(levels) > 0 {
		add("It begins in the colours of what follows, and with room to grow.", slices.Concat(levels, colours)...)
	}
}

// The colours that a second one is chosen from, as emitters of the same names give them and
// as an angle of hue: one warm and one cool, which no eye takes for each other (common
// practice, no source).
var (
	warm = struct {
		mix    map[string]float64
		hueDeg float64
	}{map[string]float64{"red": 100, "green": 34}, 35}
	cool = struct {
		mix    map[string]float64
		hueDeg float64
	}{map[string]float64{"blue": 100, "green": 18}, 220}
)

// secondColour gives what is around people in the last loud part of the evening another
// colour than it has all evening: first the weaker of those lamps, so that it is an accent,
// and then all.
func (o *offers) secondColour(_ *finding.Finding, add adder) {
	last := -1
	for i := range o.state.Looks {
		if s := o.state.Looks[i].Segment; s != nil && s.Kind == "song" && (s.Mood != "quiet" || last < 0) {
			last = i
		}
	}
	if last < 0 {
		return
	}
	first := last
	for first > 0 && o.state.Looks[first-1].Segment == o.state.Looks[last].Segment {
		first--
	}
	most := 0.0
	for _, lamp := range o.state.Show.Patch {
		if lamp.Purpose == "wash" {
			most = max(most, o.level(first, lamp.Channel))
		}
	}
	var weaker, all []source.Edit
	for _, lamp := range o.state.Show.Patch {
		level, t := o.level(first, lamp.Channel), o.typeOf(lamp)
		colour := o.state.Looks[first].State(lamp.Channel).Colour
		if lamp.Purpose != "wash" || level <= 0 || t == nil || colour == nil {
			continue
		}
		other := &cool
		if isCool := colour.HueDeg != nil && math.Abs(*colour.HueDeg-cool.hueDeg) < 90 || colour.Mix["blue"] > colour.Mix["red"]; isCool {
			other = &warm
		}
		edit := source.Edit{Field: "hue_deg", Value: other.hueDeg, Only: []int{lamp.Channel}}
		if len(t.Emitters) > 0 {
			mix := map[string]float64{}
			for _, e := range t.Emitters {
				mix[e.Name] = other.mix[e.Name]
			}
			edit.Field, edit.Value = schema.Mix, schema.MixText(mix)
		}
		for i := first; i <= last; i++ {
			if i == first || o.tells(i, lamp.Channel, tracking.ColourBy) {
				edit.At = o.told(i, lamp.Channel, tracking.ColourBy)
				all = append(all, edit)
				if level < most {
					weaker = append(weaker, edit)
				}
			}
		}
	}
	add("A second colour answers the first, and the last song has a face of its own.", weaker...)
	add("The last song has a colour of its own.", all...)
}

// whiteKeys tells lamps for faces that mix their colours a white again.
func (o *offers) whiteKeys(f *finding.Finding, add adder) {
	place := nameOf(f, "place")
	var edits []source.Edit
	for _, lamp := range o.lampsFor(place) {
		t := o.typeOf(lamp)
		if t == nil || len(t.Emitters) == 0 || fromBehind(lamp) {
			continue
		}
		for _, run := range stretches(o.faultyFor(f.Rule, place)) {
			for i := run[0]; i <= run[1]; i++ {
				white, mix := o.white(lamp, t, i)
				if i == run[0] || o.tells(i, lamp.Channel, tracking.ColourBy) {
					edits = append(edits, white...)
				}
				if factor := lessInWhite(t, o.state.Looks[i].State(lamp.Channel).Colour, mix); factor < 1 && (i == run[0] || o.tells(i, lamp.Channel, tracking.LevelBy)) {
					edits = append(edits, o.setLevel(i, lamp.Channel, max(leastLevel, math.Round(factor*o.level(i, lamp.Channel)))))
				}
			}
		}
	}
	add("The face is lit in white.", edits...)
}

// lessInWhite is the part of its level at which a lamp gives in a white mix the light that
// it gives in the mix of now; 1 if it would need more, or nobody can tell.
func lessInWhite(t *schema.Type, now *tracking.Colour, mix map[string]float64) float64 {
	if now == nil || len(now.Mix) == 0 {
		return 1
	}
	sum, white := 0.0, 0.0
	for _, e := range t.Emitters {
		if e.FluxLm == nil {
			return 1
		}
		sum += *e.FluxLm * now.Mix[e.Name]
		white += *e.FluxLm * mix[e.Name]
	}
	if sum <= 0 || white <= sum {
		return 1
	}
	return sum / white
}

// faultyFor lists the looks in which a rule speaks of a place.
func (o *offers) faultyFor(rule, place string) []int {
	var list []int
	for i := range o.order {
		if other := &o.order[i]; other.Rule == rule && nameOf(other, "place") == place {
			list = append(list, o.looksOf(other.Identity())...)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// colouredFilters takes coloured filters out of the lamps of the picture that are lit
// there.
func (o *offers) colouredFilters(f *finding.Finding, add adder) {
	looks := o.faulty(f)
	var edits []source.Edit
	for _, lamp := range o.state.Show.Patch {
		coloured := lamp.Filter != nil && (lamp.Filter.HueDeg != nil || lamp.Filter.X != nil)
		lit := func(i int) bool { return o.level(i, lamp.Channel) > 0 }
		if forPicture(lamp) && coloured && (len(looks) == 0 || slices.ContainsFunc(looks, lit)) {
			edits = append(edits, source.Edit{At: lamp.At, Field: "filter"})
		}
	}
	add("The lamps give their own light again.", edits...)
}
