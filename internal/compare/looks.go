package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
)

// Changed reports whether the two are different numbers. What differs by less
// than a millionth is the same: sums of many lamps depend on their order by less.
func Changed(s outcome.Step) bool {
	if s.Old == nil || s.New == nil {
		return s.Old != s.New
	}
	const same = 1e-6
	return math.Abs(*s.Old-*s.New) > same*max(1, math.Abs(*s.Old), math.Abs(*s.New))
}

// Looks compares the looks of two shows, those that changed in the order of the
// new one, then those that are gone. Which look is which is told by the pairs of
// their cues. Same counts the looks with no change.
func Looks(old, now *facts.Measured, pairs *match.Pairs) (changes []outcome.LookChange, same int) {
	then, today := gather(old), gather(now)
	at := map[string]int{}
	for i := range then {
		at[then[i].Number] = i
	}
	gone := make([]bool, len(then))
	for i := range gone {
		gone[i] = true
	}
	for _, look := range today {
		link, ok := pairs.Then("cue", look.Number)
		i, there := at[link.Name]
		if !ok || !there {
			changes = append(changes, outcome.LookChange{NewCue: look.Number, Name: look.CueName})
			continue
		}
		gone[i] = false
		if change, differs := difference(then[i], look); differs {
			changes = append(changes, change)
		} else {
			same++
		}
	}
	for i := range then {
		if gone[i] {
			changes = append(changes, outcome.LookChange{OldCue: then[i].Number, Name: then[i].CueName})
		}
	}
	return changes, same
}

// stage is a look with what belongs to it.
type stage struct {
	*facts.Look
	lamps  []*facts.Lamp // lit ones
	faces  map[string]*float64
	doings func(*facts.Look) []facts.ChannelState
}

func gather(m *facts.Measured) []stage {
	list := make([]stage, len(m.Looks))
	byCue := map[string][]int{}
	doings := m.Doings()
	for i, look := range m.Looks {
		list[i] = stage{look, nil, map[string]*float64{}, doings}
		byCue[look.Number] = append(byCue[look.Number], i)
	}
	for _, subject := range m.Subjects("lamp") {
		lamp, ok := subject.(*facts.Lamp)
		if !ok {
			continue
		}
		for _, i := range byCue[lamp.Number] {
			list[i].lamps = append(list[i].lamps, lamp)
		}
	}
	for _, person := range m.People {
		for _, i := range byCue[person.Number] {
			list[i].faces[person.Place] = person.FaceLux
		}
	}
	return list
}

func difference(then, now stage) (outcome.LookChange, bool) {
	c := outcome.LookChange{OldCue: then.Number, NewCue: now.Number, Name: now.CueName, Output: outcome.Step{Old: then.OutputPct, New: now.OutputPct}}
	differs := Changed(c.Output)
	if !Changed(c.Output) {
		c.Output = outcome.Step{}
	}
	if a, b := word(then.HueNames), word(now.HueNames); a != b {
		c.OldHues, c.NewHues = a, b
		differs = true
	}
	before, after := byChannel(then.lamps), byChannel(now.lamps)
	c.Colours = colours(before, after)
	was, is := doings(then), doings(now)
	c.Levels, c.Haze = levels(was, is, false), levels(was, is, true)
	c.Others = others(was, is, then.Traits(), now.Traits())
	for _, place := range keys(then.faces, now.faces) {
		if step := (outcome.Step{Old: then.faces[place], New: now.faces[place]}); Changed(step) {
			c.Faces = append(c.Faces, outcome.FaceStep{Place: place, Step: step})
		}
	}
	return c, differs || len(c.Levels)+len(c.Colours)+len(c.Haze)+len(c.Others)+len(c.Faces) > 0
}

func word(text *string) string {
	if text == nil {
		return ""
	}
	return *text
}

// keys returns the keys of both maps, sorted.
func keys[K int | string, V any](a, b map[K]V) []K {
	var list []K
	for key := range a {
		list = append(list, key)
	}
	for key := range b {
		if _, twice := a[key]; !twice {
			list = append(list, key)
		}
	}
	slices.Sort(list)
	return list
}

func byChannel(lamps []*facts.Lamp) map[int]*facts.Lamp {
	channels := make(map[int]*facts.Lamp, len(lamps))
	for _, lamp := range lamps {
		channels[lamp.Channel] = lamp
	}
	return channels
}

// doings are what the channels do, by channel; of several fixtures on one, the first.
func doings(s stage) map[int]*facts.ChannelState {
	list := s.doings(s.Look)
	channels := make(map[int]*facts.ChannelState, len(list))
	for i := range list {
		if d := &list[i]; channels[d.Channel] == nil {
			channels[d.Channel] = d
		}
	}
	return channels
}

func levels(then, now map[int]*facts.ChannelState, haze bool) []outcome.ChannelStep {
	type levels struct{ old, new float64 }
	var order []levels
	channels := map[levels][]int{}
	for _, channel := range keys(then, now) {
		var l levels
		machine := false
		if d := then[channel]; d != nil {
			l.old, machine = d.Level, d.Haze
		}
		if d := now[channel]; d != nil {
			l.new, machine = d.Level, d.Haze
		}
		if machine != haze || !Changed(outcome.Step{Old: &l.old, New: &l.new}) {
			continue
		}
		if channels[l] == nil {
			order = append(order, l)
		}
		channels[l] = append(channels[l], channel)
	}
	var list []outcome.ChannelStep
	for _, l := range order {
		list = append(list, outcome.ChannelStep{Channels: ranges(channels[l]), Step: outcome.Step{Old: &l.old, New: &l.new}})
	}
	return list
}

// others compares what the channels do that are lit on both sides, and how the looks
// come and what the screens do.
func others(then, now map[int]*facts.ChannelState, before, after []facts.Trait) []outcome.OtherStep {
	var order []outcome.OtherStep
	channels := map[outcome.OtherStep][]int{}
	for _, channel := range keys(then, now) {
		a, b := then[channel], now[channel]
		if a == nil || b == nil {
			continue
		}
		for _, pair := range [][3]string{
			{"aim", a.Aim, b.Aim}, {"zoom", a.Zoom, b.Zoom}, {"shutters", a.Shutters, b.Shutters}, {"pattern", a.Pattern, b.Pattern},
			{"wheel", a.Wheel, b.Wheel}, {"strobe", a.Strobe, b.Strobe}, {"effect", a.Effect, b.Effect}, {"hung at", a.Hung, b.Hung},
		} {
			step := outcome.OtherStep{What: pair[0], Old: pair[1], New: pair[2]}
			if step.Old == step.New {
				continue
			}
			if channels[step] == nil {
				order = append(order, step)
			}
			channels[step] = append(channels[step], channel)
		}
	}
	for i, step := range order {
		order[i].Of = ranges(channels[step])
	}
	type key struct{ what, of string }
	gather := func(list []facts.Trait) map[key]string {
		texts := map[key]string{}
		for _, trait := range list {
			k := key{trait.What, trait.Of}
			if texts[k] != "" { // one channel set twice
				texts[k] += "; "
			}
			texts[k] += trait.Text
		}
		return texts
	}
	old, new := gather(before), gather(after)
	for _, trait := range append(slices.Clone(before), after...) {
		k := key{trait.What, trait.Of}
		if old[k] != new[k] {
			order = append(order, outcome.OtherStep{What: trait.What, Of: trait.Of, Old: old[k], New: new[k]})
		}
		delete(old, k)
		delete(new, k)
	}
	return order
}

// colours compares chromaticities to four decimals, which is less than any eye or
// meter tells apart (a standard deviation of colour matching is about 0.001:
// MacAdam 1942, from memory).
func colours(then, now map[int]*facts.Lamp) []outcome.ColourStep {
	type words struct{ old, new string }
	var order []words
	channels := map[words][]int{}
	for _, channel := range keys(then, now) {
		a, b := then[channel], now[channel]
		if a == nil || b == nil || a.X == nil || a.Y == nil || b.X == nil || b.Y == nil {
			continue
		}
		const same = 5e-5
		if math.Abs(*a.X-*b.X) < same && math.Abs(*a.Y-*b.Y) < same {
			continue
		}
		w := words{old: colourWords(a), new: colourWords(b)}
		if channels[w] == nil {
			order = append(order, w)
		}
		channels[w] = append(channels[w], channel)
	}
	var list []outcome.ColourStep
	for _, w := range order {
		list = append(list, outcome.ColourStep{Channels: ranges(channels[w]), Old: w.old, New: w.new})
	}
	return list
}

func colourWords(l *facts.Lamp) string {
	coloured := l.Coloured != nil && *l.Coloured
	switch {
	case coloured && l.Hue != nil:
		return fmt.Sprintf("a hue of %.0f degrees (xy %.4f, %.4f)", *l.Hue, *l.X, *l.Y)
	case l.CCT != nil:
		return fmt.Sprintf("%.0f K (xy %.4f, %.4f)", *l.CCT, *l.X, *l.Y)
	}
	return fmt.Sprintf("xy %.4f, %.4f", *l.X, *l.Y)
}

// ranges writes sorted channels as "1-3, 7".
func ranges(list []int) string {
	var words []string
	for i := 0; i < len(list); {
		j := i
		for j+1 < len(list) && list[j+1] == list[j]+1 {
			j++
		}
		if i == j {
			words = append(words, fmt.Sprint(list[i]))
		} else {
			words = append(words, fmt.Sprintf("%d-%d", list[i], list[j]))
		}
		i = j + 1
	}
	return strings.Join(words, ", ")
}
