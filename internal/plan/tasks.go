package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// asked is what is asked about files, which are judged by no rule of a pack.
var asked = map[string]rules.Ask{
	"file/reading-differs": {
		Who: "the person responsible for the rig", Of: "lamps", Keys: []string{"aimed_at", "hung_at"},
		Do: "Look at {things} before you trust the numbers there: where they hang, aim, zoom, filter, shutters and dimmer. If all is as it is written, correct the light of their type.",
	},
}

// Tasks are what only a person can give or decide, of the findings that no order clears:
// a notice that was put up, something agreed with somebody, a lamp that is hired. Those of
// one rule are one task, which names the things. Nothing of it can be proved on a copy. What
// waits for somebody who is told to look away belongs to the task that asks them.
func Tasks(left []*finding.Finding, show *schema.Show, set *rules.Set, waits map[string]bool) []outcome.Order {
	if show == nil {
		show = &schema.Show{}
	}
	w := &words{show: show}
	// No notice makes up for flashes that are too fast: first they have to go.
	tooFast := slices.ContainsFunc(left, func(f *finding.Finding) bool {
		return f.Verdict == finding.Fail && (f.Rule == "safety/flash-rate" || f.Rule == "safety/red-flash")
	})
	var list []outcome.Order
	index := map[string]int{}
	found := map[string][]*finding.Finding{}
	for _, f := range left {
		ask, ok := asked[f.Rule]
		rule, known := set.Find(f.Rule)
		if known && rule.Ask != nil {
			ask, ok = *rule.Ask, true
		}
		if !ok || f.Rule == "safety/strobe-notice" && tooFast || ask.Of == "place" && !slices.Contains(ask.Keys, "facing_deg") && w.isLampAimedAt(nameOf(f, "place"), f.Rule == "people/no-back") {
			continue
		}
		at, begun := index[f.Rule]
		if !begun {
			at = len(list)
			index[f.Rule] = at
			task := outcome.Order{
				Why: f.Message, Effect: "It is asked for, or decided.", Undo: "Nothing is changed in the show.",
				Consequence: f.Consequence, Level: f.Level, Rules: []string{f.Rule}, Place: f.Place,
				Where: outcome.Booth, Who: ask.Who, Minutes: outcome.Minutes{Least: minutesToAsk / 2, Most: minutesToAsk},
			}
			if ask.Of == "notices" {
				task.Effect, task.Undo = "People know, and it is written down.", "Take the words out of notices again."
			}
			if known {
				task.Caution = rule.Caution
			}
			list = append(list, task)
		}
		list[at].Cures = append(list[at].Cures, f.Key())
		found[f.Rule] = append(found[f.Rule], f)
		if ask.Of == "notices" {
			list[at].Do = f.Hint
		}
	}
	for i := range list {
		task := &list[i]
		ask, ok := asked[task.Rules[0]]
		var limits []finding.Limit
		if rule, known := set.Find(task.Rules[0]); !ok && known {
			ask, limits = *rule.Ask, rule.Limits
		}
		about := found[task.Rules[0]]
		things, edits := w.askedOf(&ask, limits, about)
		say := ask.Do
		if strings.Contains(say, "{level}") && len(edits) > 0 {
			edits, say = w.bringUp(edits, say)
		}
		task.Edits = edits
		task.Do = cmp.Or(task.Do, strings.ReplaceAll(say, "{things}", things))
		if len(edits) > 0 && ask.To != "" {
			task.Do = strings.ReplaceAll(task.Do, "{to}", rules.FormatValue(edits[0].To))
		}
		if len(edits) > 0 && edits[0].Key == "level" && len(ask.Try) > 0 {
			var channels []int
			for number := range numbersOf(strings.Join(edits[0].Names, ",")) {
				channels = append(channels, number)
			}
			task.Do = fmt.Sprintf("Bring %s in %s to %v %%, and look whether that is enough. If not: %s", w.lamps(channels, false), things, edits[0].To, task.Do)
		}
		if place, lamps := w.bearingItsName(about); ask.Of == "place" && len(lamps) > 0 {
			task.Edits = append([]outcome.Edit{{What: "channels", Names: strings.Split(schema.FormatChannels(lamps), ","), Key: "aimed_at", To: place}}, edits...)
			task.Do = fmt.Sprintf("Look whether %s should be aimed at %q, as the name says, and what else the light would meet. If not: %s", w.lamps(lamps, true), place, task.Do)
		}
		if !slices.ContainsFunc(about, func(f *finding.Finding) bool { return !f.Likely }) {
			task.Do += about[0].Unsure()
		}
	}
	for i := range list {
		if slices.ContainsFunc(list[i].Edits, func(e outcome.Edit) bool { return e.Key == "facing_deg" }) {
			for k := range left {
				if waits[left[k].Identity()] {
					list[i].Cures = append(list[i].Cures, left[k].Key())
				}
			}
			break
		}
	}
	return oncePerTask(list)
}

// oncePerTask makes one task of those that ask for the same for several rules.
func oncePerTask(list []outcome.Order) (tasks []outcome.Order) {
	for _, task := range list {
		i := slices.IndexFunc(tasks, func(t outcome.Order) bool { return t.Do == task.Do })
		if i < 0 {
			tasks = append(tasks, task)
			continue
		}
		tasks[i].Rules, tasks[i].Cures = slices.Concat(tasks[i].Rules, task.Rules), slices.Concat(tasks[i].Cures, task.Cures)
	}
	return tasks
}

// minutesToAsk is how long it takes to find somebody and agree (common practice, no
// source).
const minutesToAsk = 10

// askedOf names the things that findings of one rule are about, and says as data what
// there is to be given or decided.
func (w *words) askedOf(ask *rules.Ask, limits []finding.Limit, found []*finding.Finding) (things string, edits []outcome.Edit) {
	var names []string
	once := func(name string) {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	what, quoted := ask.Of, true
	switch ask.Of {
	case "notices":
		for _, key := range ask.Keys {
			if w.notice(key) == "" {
				edits = append(edits, outcome.Edit{What: "notices", Names: []string{key}, Key: key})
			}
		}
		return "", edits
	case "lamps", "types", "machines":
		channels := w.lampsAsked(ask.Of, found)
		if ask.Of == "types" {
			what = "type"
			for _, channel := range channels {
				once(w.onChannel(channel).Type)
			}
			break
		}
		if len(channels) == 0 {
			return "the lamps there", nil
		}
		what, things, names = "channels", w.lamps(channels, true), strings.Split(schema.FormatChannels(channels), ",")
		for i := range names {
			names[i] = strings.TrimSpace(names[i])
		}
	case "cue":
		quoted = false
		var numbers []schema.CueNumber
		for _, f := range found {
			for _, cue := range f.Cues[:min(1, len(f.Cues))] {
				once(cue)
				if number, err := schema.ParseCueNumber(cue); err == nil && !slices.Contains(numbers, number) {
					numbers = append(numbers, number)
				}
			}
		}
		things = w.cuesByName(numbers)
	default:
		for _, f := range found {
			once(nameOf(f, ask.Of))
		}
	}
	if things == "" {
		list := slices.Clone(names)
		for i := range list {
			if quoted {
				list[i] = strconv.Quote(list[i])
			}
		}
		things = strings.Join(list, ", ")
	}
	for _, key := range ask.Keys {
		e := outcome.Edit{What: what, Names: names, Key: key, Unit: unitOf(key)}
		for _, l := range limits {
			if l.Name == ask.To {
				e.To = l.Value
			}
		}
		if ask.Of != "cue" {
			edits = append(edits, e)
			continue
		}
		for _, cue := range names { // each is another thing to change
			e.Names, e.Cue = []string{cue}, cue
			edits = append(edits, e)
		}
	}
	switch {
	case ask.Out:
		edits = w.outOf(names)
	case len(ask.Try) > 0:
		edits = append(w.tryIn(names, ask.Try), edits...)
	}
	return things, edits
}

// bringUp says as data and in words where lamps that no cue uses would come up: in the first
// cue with somebody at whom they are aimed, at the level that lamps of their purpose have.
func (w *words) bringUp(edits []outcome.Edit, say string) ([]outcome.Edit, string) {
	channels, _ := w.show.Channels(strings.Join(edits[0].Names, ","))
	if len(channels) == 0 || len(w.show.Cues) == 0 {
		return edits, say
	}
	lamp, cue := w.onChannel(channels[0]), w.show.Cues[0]
	o := &offers{state: &proof.State{Show: w.show}}
	if place, off := o.meantFor(lamp); off <= near {
		with := func(s *schema.Segment) bool { return s.StartCue != nil && slices.Contains(s.People, place) }
		if i := slices.IndexFunc(w.show.Order, with); i >= 0 {
			if k := slices.IndexFunc(w.show.Cues, func(c *schema.Cue) bool { return c.Number == *w.show.Order[i].StartCue }); k >= 0 {
				cue = w.show.Cues[k]
			}
		}
	}
	var levels []float64
	like := map[string]bool{} // whether a selection has a lamp like it
	for _, c := range w.show.Cues {
		for _, setting := range c.Set {
			if setting.Level == nil || *setting.Level < leastLevel {
				continue
			}
			is, known := like[setting.Channels]
			if !known {
				on, _ := w.show.Channels(setting.Channels)
				is = slices.ContainsFunc(on, func(c int) bool { f := w.onChannel(c); return f != nil && f.Purpose == lamp.Purpose })
				like[setting.Channels] = is
			}
			if is {
				levels = append(levels, float64(*setting.Level))
			}
		}
	}
	level := float64(unusedLevel)
	if slices.Sort(levels); len(levels) > 0 {
		level = levels[len(levels)/2]
	}
	for i := range edits {
		edits[i].Cue, edits[i].To = cue.Number.String(), level
	}
	return edits, strings.NewReplacer("{level}", rules.FormatValue(level), "{cue}", w.cuesByName([]schema.CueNumber{cue.Number})).Replace(say)
}

// tryIn says as data that the lamps of some purposes come up in cues to half of the most that
// any cue gives them; nothing if none does.
func (w *words) tryIn(cues, purposes []string) (edits []outcome.Edit) {
	var channels []int
	most := 0.0
	for _, lamp := range w.show.Patch {
		if slices.Contains(purposes, lamp.Purpose) {
			channels = append(channels, lamp.Channel)
		}
	}
	for _, cue := range w.show.Cues {
		for _, setting := range cue.Set {
			on, _ := w.show.Channels(setting.Channels)
			if setting.Level != nil && slices.ContainsFunc(on, func(c int) bool { return slices.Contains(channels, c) }) {
				most = max(most, float64(*setting.Level))
			}
		}
	}
	if most = math.Round(most / 2); most < leastLevel {
		return nil
	}
	for _, cue := range cues {
		edits = append(edits, outcome.Edit{What: "channels", Names: strings.Split(schema.FormatChannels(channels), ","), Cue: cue, Key: "level", To: most, Unit: unitOf("level")})
	}
	return edits
}

// outOf says as data that channels are out in all cues that give them a level.
func (w *words) outOf(names []string) (edits []outcome.Edit) {
	wanted, _ := w.show.Channels(strings.Join(names, ","))
	for _, cue := range w.show.Cues {
		for _, setting := range cue.Set {
			channels, _ := w.show.Channels(setting.Channels)
			if setting.Level != nil && *setting.Level > 0 && slices.ContainsFunc(channels, func(c int) bool { return slices.Contains(wanted, c) }) {
				edits = append(edits, outcome.Edit{What: "channels", Names: names, Cue: cue.Number.String(), Key: "level", From: float64(*setting.Level), To: 0.0, Unit: unitOf("level")})
			}
		}
	}
	return edits
}

// lampsAsked are the channels that findings are about: those that they name, those on a
// circuit, those for a face, or the haze machines.
func (w *words) lampsAsked(of string, found []*finding.Finding) (channels []int) {
	o := &offers{state: &proof.State{Show: w.show}}
	named := map[string]map[string]bool{"channel": {}, "circuit": {}, "place": {}} // each once: findings can be very many
	for _, f := range found {
		for kind, names := range named {
			if name := nameOf(f, kind); name != "" {
				names[name] = true
			}
		}
	}
	for _, lamp := range w.show.Patch {
		asked := named["channel"][strconv.Itoa(lamp.Channel)] || named["circuit"][lamp.Circuit]
		for place := range named["place"] {
			if asked {
				break
			}
			asked = forPeople(lamp) && !fromBehind(lamp) && o.off(lamp, place) <= near
		}
		if of == "machines" {
			asked = len(found) > 0 && w.isMachine(lamp.Channel)
		}
		if asked {
			channels = append(channels, lamp.Channel)
		}
	}
	if len(channels) == 0 && found[0].Rule == "file/reading-differs" {
		return o.nearestTo(nameOf(found[0], "place"))
	}
	if rule := found[0].Rule; rule != "white/key-camera" && rule != "white/key-mix" {
		return channels
	}
	unlike := slices.DeleteFunc(slices.Clone(channels), func(channel int) bool {
		lamp := w.onChannel(channel)
		white := o.whiteOf(lamp)
		place, _ := o.meantFor(lamp)
		return white == nil || passForOne(*white, o.whiteAt(place))
	})
	if len(unlike) > 0 {
		return unlike
	}
	return channels
}

// nearestTo are the lamps for faces that are aimed nearest to a place at which none is aimed.
func (o *offers) nearestTo(place string) (channels []int) {
	least := float64(stray)
	for _, lamp := range o.state.Show.Patch {
		if forPeople(lamp) && !fromBehind(lamp) {
			least = min(least, o.off(lamp, place))
		}
	}
	for _, lamp := range o.state.Show.Patch {
		if forPeople(lamp) && !fromBehind(lamp) && o.off(lamp, place) <= min(stray, least+near/2) {
			channels = append(channels, lamp.Channel)
		}
	}
	return channels
}

// bearingItsName is the one place that findings are about, with the lamps that bear its name and are
// aimed elsewhere: no change that aims them there was found to hold, and a person may know why.
func (w *words) bearingItsName(found []*finding.Finding) (place string, channels []int) {
	place = nameOf(found[0], "place")
	if place == "" || slices.ContainsFunc(found, func(f *finding.Finding) bool { return nameOf(f, "place") != place }) {
		return "", nil
	}
	o := &offers{state: &proof.State{Show: w.show}}
	behind := found[0].Rule == "people/no-back"
	for _, lamp := range w.show.Patch {
		if forPeople(lamp) && fromBehind(lamp) == behind && lamp.AimedAt != nil && o.namedFor(lamp) == place && o.off(lamp, place) > near {
			channels = append(channels, lamp.Channel)
		}
	}
	return place, channels
}

// isLampAimedAt reports whether some lamp could light a face at a place, or its head and
// shoulders from behind: none has to be asked for then.
func (w *words) isLampAimedAt(place string, behind bool) bool {
	o := &offers{state: &proof.State{Show: w.show}}
	return slices.ContainsFunc(o.lampsFor(place), func(l *schema.Fixture) bool { return fromBehind(l) == behind })
}

// notice is what is written under a key of the notices.
func (w *words) notice(key string) string {
	n := w.show.Notices
	if n == nil {
		return ""
	}
	return strings.TrimSpace(map[string]string{"strobe": n.Strobe, "haze": n.Haze, "smoke_detection": n.SmokeDetection}[key])
}

// cuesByName names cues that no edit is about.
func (w *words) cuesByName(numbers []schema.CueNumber) string {
	if len(numbers) == 1 {
		for _, cue := range w.show.Cues {
			if cue.Number == numbers[0] && cue.Name != "" {
				return fmt.Sprintf("%q (cue %s)", cue.Name, cue.Number)
			}
		}
	}
	return w.cueWords(numbers)
}
