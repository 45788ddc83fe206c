package plan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// words turns changes into orders to a person. It is the one place that knows
// how people say the fields of a show file.
type words struct {
	show  *schema.Show
	looks []tracking.Look
	cues  map[source.Ref]*schema.Cue // the cue of each setting and of each screen's drive that is asked for

	find     func([]source.Edit) map[source.Ref]int // made when it is first asked, as the next two
	bars     map[source.Ref]string                  // the bar that a lamp is hung on by the order in hand
	patch    map[source.Ref]*schema.Fixture
	channels map[int]*schema.Fixture
}

func wordsOf(state *proof.State) *words { return &words{show: state.Show, looks: state.Looks} }

// tracked is the value that channels have in a cue that says nothing of them, if all
// have the same.
func (w *words) tracked(edit source.Edit) (value float64, ok bool) {
	cue := w.cues[edit.At]
	told, isTracked := trackedBy(edit.Field)
	if !isTracked || cue == nil || cue.At != edit.At || len(edit.Only) == 0 {
		return 0, false
	}
	i, found := slices.BinarySearchFunc(w.looks, cue.Number, func(l tracking.Look, n schema.CueNumber) int { return cmp.Compare(l.Number, n) })
	if !found {
		return 0, false
	}
	for k, channel := range edit.Only {
		one, ok := valueIn(&w.looks[i], channel, told)
		if !ok || k > 0 && one != value {
			return 0, false
		}
		value = one
	}
	return value, true
}

// findCues finds the cues of the things that edits are about.
func (w *words) findCues(edits []source.Edit) {
	if w.find == nil {
		w.find = w.show.CueFinder()
	}
	w.cues = map[source.Ref]*schema.Cue{}
	for at, cue := range w.find(edits) {
		w.cues[at] = w.show.Cues[cue]
	}
}

// bladePhrases are the orders for the blades of a fixture, which are no fields of
// their own.
var bladePhrases = map[string]string{
	"shutter_top":    "Push the top shutter of %[1]s in to %[2]s %%",
	"shutter_bottom": "Push the bottom shutter of %[1]s in to %[2]s %%",
	"shutter_left":   "Push the left shutter of %[1]s in to %[2]s %%",
	"shutter_right":  "Push the right shutter of %[1]s in to %[2]s %%",
}

// phrase is how an order gives a field its value: %[1]s is the thing, %[2]s the
// value; "" if there is no order for it.
func phrase(field string) string {
	_, do, _ := schema.Spoken(field)
	return cmp.Or(bladePhrases[field], do)
}

// action writes what is to be done, and how to go back.
func (w *words) action(c cure, cleared []finding.Finding, set *rules.Set) outcome.Order {
	w.findCues(c.edits)
	cleared = finding.Gravest(cleared)
	a := outcome.Order{
		Why: cleared[0].Message, Effect: c.effect, Place: w.place(c.edits[0]),
		Consequence: cleared[0].Consequence, Level: worst(cleared),
	}
	var undo []string
	for _, group := range groupEdits(c.edits) {
		undo = append(undo, w.back(group)...)
	}
	a.Do = w.do(c.edits) + w.reason(c.edits, cleared, c.cause == "other-cues" || c.cause == "before") + unsure(cleared)
	a.Minutes, a.Where, a.Edits = w.minutes(c.edits), w.whereOf(c.edits), w.data(c.edits)
	a.Who = by[a.Where]
	a.Undo = strings.Join(undo, "; ") + "."
	for _, f := range cleared {
		a.Cures = append(a.Cures, f.Key())
		if !slices.Contains(a.Rules, f.Rule) {
			a.Rules = append(a.Rules, f.Rule)
		}
		if rule, ok := set.Find(f.Rule); ok && a.Caution == "" {
			a.Caution = rule.Caution
		}
	}
	return a
}

// unsure says of an order that rests on what is only likely what to look at first.
func unsure(cleared []finding.Finding) string {
	level := worst(cleared)
	if slices.ContainsFunc(cleared, func(f finding.Finding) bool { return f.Level == level && !f.Likely }) {
		return ""
	}
	for i := range cleared {
		if text := cleared[i].Unsure(); text != "" && cleared[i].Level == level {
			return text
		}
	}
	return ""
}

// leastDrive is under which drive a screen is no longer turned down where its pictures come
// from, in percent (common practice, no source: so few steps are left that the picture breaks
// into bands).
const leastDrive = 5

// reason is what somebody has to know beside an order: of a lamp that is aimed anew a cue in
// which its light is seen, and of a screen what its value goes by.
func (w *words) reason(edits []source.Edit, cleared []finding.Finding, found bool) string {
	only := func(field string) bool {
		return !slices.ContainsFunc(edits, func(e source.Edit) bool { return e.Field != field })
	}
	switch {
	case only("aimed_at"):
		for i := range cleared {
			if cues := cleared[i].Cues; len(cues) > 0 && nameOf(&cleared[i], "place") != "" {
				return fmt.Sprintf(" Bring up cue %s while you aim.", cues[0])
			}
		}
	case only("drive_pct"):
		said := ""
		if cleared[0].Rule == "screen/outshines-face" && !found {
			said = " White on it is then about a stop over a face."
		}
		if slices.ContainsFunc(edits, func(e source.Edit) bool { drive, ok := e.Value.(float64); return ok && drive < leastDrive }) {
			said += " So little is set in its own menu."
		}
		return said
	case only(schema.White) && !slices.ContainsFunc(edits, func(e source.Edit) bool { return !w.isSurface(e.At) }):
		return " That is set in its own menu."
	}
	return ""
}

// do says the order.
func (w *words) do(edits []source.Edit) string {
	list, _ := w.sentences(edits)
	return strings.Join(list, ". ") + "."
}

// levelOrder are lamps that an order gives levels: one, or one after the other in several cues.
type levelOrder struct {
	at    int // the place of its sentence
	lamps string
	in    string // the only cues, and the value there; "" if there are more
	value string
}

// sentences are the sentences of an order, and how much there is to get right in them. Levels
// of the same lamps in several cues are one, and so are those of several lamps in one cue,
// and the bar and the place on it where a lamp is hung.
func (w *words) sentences(edits []source.Edit) (list []string, things int) {
	list, edits = w.likeCues(edits)
	w.bars = map[source.Ref]string{}
	for _, edit := range edits {
		if bar, ok := edit.Value.(string); ok && edit.Field == "hung_on" {
			w.bars[edit.At] = bar
		}
	}
	var levels []levelOrder
	var drives []string
	driven := 0          // the place of their sentence
	var raised []float64 // heights that are told
	groups := groupEdits(edits)
	asPatched := slices.IndexFunc(groups, w.aimedByPatch)
	for at, group := range groups {
		switch field := group[0].Field; {
		case at > asPatched && asPatched >= 0 && w.aimedByPatch(group):
			continue // told with the first of them
		case at == asPatched:
			group = slices.Concat(slices.DeleteFunc(slices.Clone(groups), func(g []source.Edit) bool { return !w.aimedByPatch(g) })...)
		case field == "drive_pct" && group[0].Value != nil:
			if len(drives) == 0 {
				driven = len(list)
				list = append(list, "")
			}
			things++
			drives = append(drives, fmt.Sprintf("%s to %s %% drive", w.things(group), rules.FormatValue(group[0].Value)))
			list[driven] = "Bring " + spelling.List(drives)
			continue
		case field == "hung_at" && w.raisedTo(group[0]) > 0:
			if height := w.raisedTo(group[0]); !slices.Contains(raised, height) {
				raised = append(raised, height)
				together := slices.DeleteFunc(slices.Clone(edits), func(e source.Edit) bool { return e.Field != field || w.raisedTo(e) != height })
				list = append(list, fmt.Sprintf("Raise %s to %s m above the floor of the stage", w.things(together), rules.FormatValue(height)))
				things++
			}
			continue
		case (field == "hung_on" || field == "mount") && w.hungToo(group, edits), field == "out_s" && w.alsoIn(group, edits), field == schema.White && w.byHandToo(group, edits):
			continue
		case field == "auto_white" && w.whiteToo(group, edits) != nil:
			list = append(list, fmt.Sprintf("Set the white of %s by hand, to %s K", w.things(group), rules.FormatValue(w.whiteToo(group, edits))))
			continue
		case field == "in_s" && slices.ContainsFunc(edits, func(e source.Edit) bool { return e.Field == "out_s" && w.alsoIn([]source.Edit{e}, edits) }):
			list = append(list, fmt.Sprintf("Let %s fade over %s seconds", w.things(group), rules.FormatValue(group[0].Value)))
			continue
		case field == "level" && group[0].Value != nil:
			lamps, in := w.lampsIn(group)
			if lamps == "" {
				break
			}
			value := rules.FormatValue(group[0].Value) + " %"
			to := fmt.Sprintf(" in %s to %s", in, value)
			if i := slices.IndexFunc(levels, func(l levelOrder) bool { return l.lamps == lamps }); i >= 0 {
				if w.restores(group) {
					to = fmt.Sprintf(" and back to %s in %s", value, in)
				}
				list[levels[i].at] += "," + to
				levels[i].in = ""
				continue
			}
			l := levelOrder{at: len(list), lamps: lamps, in: in, value: value}
			switch {
			case w.restores(edits):
				l.in = ""
				list = append(list, fmt.Sprintf("Write %s at %s into %s", lamps, value, in))
			case w.restores(group):
				l.in = ""
				list = append(list, fmt.Sprintf("Bring %s back to %s in %s", lamps, value, in))
			default:
				list = append(list, "Bring "+lamps+to)
			}
			levels = append(levels, l)
			continue
		}
		list = append(list, w.order(group))
	}
	things += len(list) - truth(len(drives) > 0)
	return together(list, levels), things
}

// together says levels in the same cues in one sentence, where the first of them stands.
func together(list []string, levels []levelOrder) []string {
	for i, first := range levels {
		same := slices.Collect(func(yield func(string) bool) {
			for _, l := range levels[i:] {
				if l.in == first.in && first.in != "" && !yield(l.lamps+" to "+l.value) {
					return
				}
			}
		})
		if len(same) < 2 {
			continue
		}
		list[first.at] = fmt.Sprintf("In %s, bring %s", first.in, spelling.List(same))
		for k := i + 1; k < len(levels); k++ {
			if l := &levels[k]; l.in == first.in {
				list[l.at], l.in = "", ""
			}
		}
	}
	return slices.DeleteFunc(list, func(s string) bool { return s == "" })
}

// leastAlike is from how many levels on an order names the cue that has them, and mostAlike
// in how many cues: nobody types more of them right (common practice, no source).
const (
	leastAlike = 4
	mostAlike  = 3
)

// likeCues says levels of one cue that are all those of another by naming that; what is left
// is said one by one.
func (w *words) likeCues(edits []source.Edit) (list []string, left []source.Edit) {
	type state struct {
		edits  []source.Edit
		levels map[int]float64 // by channel
		values map[float64]bool
	}
	in := map[*schema.Cue]*state{}
	var order []*schema.Cue
	for _, e := range edits {
		cue, channels := w.cues[e.At], w.channelsOf(e)
		value, ok := e.Value.(float64)
		if e.Field != "level" || !ok || cue == nil || w.screen(e.At) != "" || len(channels) == 0 {
			left = append(left, e)
			continue
		}
		s := in[cue]
		if s == nil {
			s = &state{levels: map[int]float64{}, values: map[float64]bool{}}
			in[cue] = s
			order = append(order, cue)
		}
		s.edits = append(s.edits, e)
		s.values[value] = true
		for _, channel := range channels {
			s.levels[channel] = value
		}
	}
	for _, cue := range order {
		s := in[cue]
		lamps := w.lamps(slices.Collect(maps.Keys(s.levels)), false)
		other := ""
		if len(s.values) >= leastAlike && len(order) <= mostAlike {
			other = w.cueWith(cue, s.levels)
		}
		switch {
		case other == "":
			left = append(left, s.edits...)
		case other == cue.Number.String():
			list = append(list, fmt.Sprintf("Write %s into %s with the levels that they have there now", lamps, w.cueWords([]schema.CueNumber{cue.Number})))
		default:
			list = append(list, fmt.Sprintf("Give %s in %s the levels that they have in cue %s", lamps, w.cueWords([]schema.CueNumber{cue.Number}), other))
		}
	}
	return list, left
}

// cueWith is the number of the cue in which channels have all of these levels, the cue itself
// before the nearest other; "" if there is none.
func (w *words) cueWith(cue *schema.Cue, levels map[int]float64) (number string) {
	nearest := math.Inf(1)
	for i := range w.looks {
		away := math.Abs(float64(w.looks[i].Number) - float64(cue.Number))
		if away >= nearest {
			continue
		}
		has := true
		for channel, level := range levels {
			if has = w.looks[i].State(channel).Level == level; !has {
				break
			}
		}
		if has {
			nearest, number = away, w.looks[i].Number.String()
		}
	}
	return number
}

// restores reports whether edits give lamps what they have there now, so that what was
// changed before does not go on.
func (w *words) restores(edits []source.Edit) bool {
	return !slices.ContainsFunc(edits, func(e source.Edit) bool {
		value, ok := w.tracked(e)
		return !ok || value != e.Value
	})
}

// hungToo reports whether edits give all that is hung on a bar its place on it too.
func (w *words) hungToo(group, edits []source.Edit) bool {
	return !slices.ContainsFunc(group, func(e source.Edit) bool {
		return !slices.ContainsFunc(edits, func(o source.Edit) bool { return o.Field == "hung_at" && o.At == e.At })
	})
}

// whiteToo is the white that edits give all cameras of a group that are set by hand; nil if
// they give none or several.
func (w *words) whiteToo(group, edits []source.Edit) (white any) {
	for _, e := range group {
		i := slices.IndexFunc(edits, func(o source.Edit) bool { return o.Field == schema.White && o.At == e.At })
		if i < 0 || white != nil && edits[i].Value != white {
			return nil
		}
		white = edits[i].Value
	}
	return white
}

// byHandToo reports whether what is given a white is set by hand by the same edits, so that
// one sentence says both.
func (w *words) byHandToo(group, edits []source.Edit) bool {
	return !slices.ContainsFunc(group, func(e source.Edit) bool {
		return !slices.ContainsFunc(edits, func(o source.Edit) bool { return o.Field == "auto_white" && o.At == e.At })
	})
}

// alsoIn reports whether the fade out of cues is that of the fade in, so that one sentence
// says both.
func (w *words) alsoIn(group, edits []source.Edit) bool {
	return !slices.ContainsFunc(group, func(e source.Edit) bool {
		return !slices.ContainsFunc(edits, func(o source.Edit) bool { return o.Field == "in_s" && o.At == e.At && o.Value == e.Value })
	})
}

// lampsIn names the lamps that edits are about and the cues, if all of them are changed in
// the same cues; "" otherwise.
func (w *words) lampsIn(edits []source.Edit) (lamps, in string) {
	inCues := map[int][]schema.CueNumber{} // by channel
	for _, edit := range edits {
		cue, channels := w.cues[edit.At], w.channelsOf(edit)
		if cue == nil || w.screen(edit.At) != "" || len(channels) == 0 {
			return "", ""
		}
		for _, channel := range channels {
			inCues[channel] = append(inCues[channel], cue.Number)
		}
	}
	for _, channel := range slices.Sorted(maps.Keys(inCues)) {
		text := w.cueWords(inCues[channel])
		if in != "" && text != in {
			return "", ""
		}
		in = text
	}
	return w.lamps(slices.Sorted(maps.Keys(inCues)), false), in
}

// worst is the worst level of findings: an action that clears an error is never
// left out with the notes that it clears too.
func worst(found []finding.Finding) finding.Level {
	level := finding.Note
	for _, f := range found {
		if f.Level.AtLeast(level) {
			level = f.Level
		}
	}
	return level
}

// groupEdits puts together the edits that one sentence can say.
// The values of edits are numbers, truths and texts, so they can be compared.
func groupEdits(edits []source.Edit) [][]source.Edit {
	type change struct {
		field string
		value any
	}
	var groups [][]source.Edit
	index := map[change]int{}
	for _, edit := range edits {
		key := change{edit.Field, edit.Value}
		if same, known := index[key]; known && edit.Field != "channels" {
			groups[same] = append(groups[same], edit)
			continue
		}
		index[key] = len(groups)
		groups = append(groups, []source.Edit{edit})
	}
	return groups
}

func (w *words) order(edits []source.Edit) string {
	field, value := edits[0].Field, edits[0].Value
	if f, ok := schema.FieldOf(schema.OfCamera, field); ok && value != nil && w.isCamera(edits[0].At) {
		said := rules.FormatValue(value)
		if time, is := value.(float64); is && field == "shutter_s" && time > 0 && time < 1 {
			said = fmt.Sprintf("1/%.0f", 1/time) // as cameras show it
		}
		return fmt.Sprintf(f.Do, w.things(edits), said)
	}
	thing := w.things(edits)
	if field == "channels" && value != nil {
		if out := w.takenOut(edits[0]); out != "" {
			return fmt.Sprintf("Take %s out of %s", out, thing)
		}
	}
	if value == nil {
		was, _ := edits[0].At.Get(field)
		if _, _, phrase := schema.Spoken(field); phrase != "" {
			return fmt.Sprintf(phrase, thing, was.Str())
		}
		return fmt.Sprintf("Take %s of %s out of the show", field, thing)
	}
	if field == "effect" {
		return fmt.Sprintf(effectPhrase(value), thing)
	}
	if said := w.special(edits); said != "" {
		return said
	}
	do := cmp.Or(phrase(field), "Set "+strings.ReplaceAll(field, "%", "%%")+" of %[1]s to %[2]s")
	return fmt.Sprintf(do, thing, rules.FormatValue(value))
}

// effectPhrase says what becomes of an effect: a flash that goes on, slower, is not called stopped.
func effectPhrase(value any) string {
	effect, ok := value.(schema.Effect)
	if p, is := value.(*schema.Effect); is {
		effect, ok = *p, true
	}
	if ok && effect.Kind != "none" && effect.RateHz != nil {
		return "Slow the effect of %[1]s to " + rules.FormatValue(*effect.RateHz) + " times a second"
	}
	_, _, stop := schema.Spoken("effect")
	return stop
}

// special says the few changes that a phrase with a thing and a value says badly.
func (w *words) special(edits []source.Edit) string {
	field, value, at := edits[0].Field, edits[0].Value, edits[0].At
	text, _ := value.(string)
	switch field {
	case "type":
		if f := w.fixture(at); f != nil && w.swaps(edits[0]) {
			return fmt.Sprintf("Swap %s for a %q like its twins", w.things(edits), text)
		}
	case "channel":
		f := w.fixture(at)
		if f == nil || f.Address == "" {
			break
		}
		alike := func(o *schema.Fixture) bool { return o != f && o.Channel == f.Channel } // then the number tells nobody which
		if slices.ContainsFunc(w.show.Patch, alike) {
			return fmt.Sprintf("Give %s (address %s) channel %s instead of %d, which another lamp has too", cmp.Or(f.Name, "the lamp"), f.Address, rules.FormatValue(value), f.Channel)
		}
	case "hung_at":
		if f, p := w.fixture(at), pointOf(text); f != nil && p != nil {
			return fmt.Sprintf("Hang %s %s", w.lamps([]int{f.Channel}, false), w.onBar(w.bars[at], *p))
		}
	case "aim", "aimed_at":
		p := pointOf(text)
		if sign := w.wrongSign(edits[0], text, p); sign != "" {
			return fmt.Sprintf("Aim %s at %s, or only write its %s if it points there already", w.things(edits), cmp.Or(pointPhrase(p), text), sign)
		}
		if p != nil {
			alike := !slices.ContainsFunc(edits, func(e source.Edit) bool { return e.Value != value })
			if cue := w.aimsThere(edits[0], text); alike && cue != "" {
				return fmt.Sprintf("Aim %s where it points in cue %s", w.things(edits), cue)
			}
			if w.aimedByPatch(edits) {
				return fmt.Sprintf("Aim %s as the patch has it", w.things(edits))
			}
			return fmt.Sprintf("Aim %s at %s", w.things(edits), pointPhrase(p))
		}
	case "people", "lead", "walks", "meant", "channels":
		if member, ok := at.Get(field); ok {
			was, is := oneWord(member, text)
			switch {
			case is == "":
			case field == "channels":
				return fmt.Sprintf("Write channel %s instead of %s in %s", is, was, w.things(edits))
			default:
				return fmt.Sprintf("Write %q instead of %q under %s of %s", is, was, field, w.things(edits))
			}
		}
	case schema.Mix:
		var lit []string
		parts := strings.Split(text, ", ")
		for _, part := range parts {
			if !strings.HasSuffix(part, " 0") {
				lit = append(lit, part+" %")
			}
		}
		if len(lit) < len(parts) {
			lit = append(lit, "all else 0")
		}
		of := ""
		switch as := w.mixedIn(edits[0], text); {
		case as != "":
			of = " of cue " + as
		case w.isWhite(edits[0], text):
			of = " white"
		}
		return fmt.Sprintf("Give %s the colour%s: %s", w.things(edits), of, strings.Join(lit, ", "))
	case "auto_exposure":
		return fmt.Sprintf("Set the exposure of %s by hand, on a face in the key light", w.things(edits))
	case "auto_white":
		return fmt.Sprintf("Set the white of %s by hand, on a face in the key light", w.things(edits))
	case schema.Strobe:
		if value == 0.0 {
			return fmt.Sprintf("Stop the strobe of %s", w.things(edits))
		}
	case "filter":
		return fmt.Sprintf("Put a filter (%s) into %s", text, w.things(edits))
	case "delay_s":
		if value == 0.0 {
			return fmt.Sprintf("Let the light of %s begin as soon as it is called (delay_s 0)", w.things(edits))
		}
	case "at_s":
		if value == 0.0 {
			return fmt.Sprintf("Let %s come with the start of its part (at_s 0)", w.things(edits))
		}
	case "tracking":
		if text == "carry" {
			return fmt.Sprintf("Let %s keep the light that it does not set (tracking: carry)", w.things(edits))
		}
	case "start_cue":
		return fmt.Sprintf("Let %s start with cue %s", w.things(edits), text)
	case "facing_deg":
		return fmt.Sprintf("See that whoever is at %s looks %s, and write %s degrees as the facing there", w.things(edits), facingWords(value), rules.FormatValue(value))
	}
	return ""
}

// facingWords says which way somebody looks, in degrees from straight to the house to the right
// as seen from there.
func facingWords(value any) string {
	deg, _ := value.(float64)
	turned := math.Remainder(deg, 360)
	switch {
	case math.Abs(turned) < 10: // nobody stands as exactly
		return "straight to the house"
	case math.Abs(turned) > 100:
		return "away from the house"
	case turned > 0:
		return "to the house and to the right, seen from it"
	}
	return "to the house and to the left, seen from it"
}

// pointOf is the point that the text of an edit gives; nil if it is no point.
func pointOf(text string) *schema.Point {
	if p, ok := schema.ParsePoint(text); ok {
		return &p
	}
	return nil
}

// pointWords says a point of the room as somebody would show it: seen from the house, from the
// middle of the edge of the stage, in metres.
func pointWords(p schema.Point) string {
	up := "on its floor"
	if math.Abs(p.Z) >= nothing {
		up = side(p.Z, "above", "below") + " its floor"
	}
	along := "at the edge of the stage"
	if math.Abs(p.Y) >= nothing {
		along = side(p.Y, "behind", "before") + " the edge of the stage"
	}
	return fmt.Sprintf("%s, %s, %s", across(p), along, up)
}

// pointPhrase is a point as something to aim at; "" for none.
func pointPhrase(p *schema.Point) string {
	if p == nil {
		return ""
	}
	return "a point " + pointWords(*p)
}

// wrongSign says which number of an aim would have another sign in the file, "x as -2", if that
// is all in which a new one differs.
func (w *words) wrongSign(edit source.Edit, place string, to *schema.Point) string {
	now, close := w.pointNow(edit), nothing
	if o := (&offers{state: &proof.State{Show: w.show}}); to == nil {
		if head, ok := o.head(place); ok {
			to, close = &head, near
		}
	}
	if now == nil || to == nil || edit.Field != "aimed_at" {
		return ""
	}
	isSame := func(a, b float64) bool { return math.Abs(a-b) <= close }
	switch x, y := isSame(now.X, to.X), isSame(now.Y, to.Y); {
	case !x && y && isSame(-now.X, to.X):
		return fmt.Sprintf("x as %g", -now.X)
	case x && !y && isSame(-now.Y, to.Y):
		return fmt.Sprintf("y as %g", -now.Y)
	}
	return ""
}

// nothing is a length that nobody measures in a hall, in metres (common practice, no source).
const nothing = 0.05

func side(v float64, up, down string) string {
	if v < 0 {
		up = down
	}
	v, form := math.Abs(v), byte('f')
	if v < 1e15 { // beyond it there are no tenths to round to, and ten times it may be no number
		v = math.Round(10*v) / 10
	} else {
		form = 'g'
	}
	return fmt.Sprintf("%s m %s", strconv.FormatFloat(v, form, -1, 64), up)
}

// across says how far a point is from the middle of the stage.
func across(p schema.Point) string {
	if math.Abs(p.X) < nothing {
		return "in the middle"
	}
	return side(p.X, "right", "left") + " of the middle (seen from the house)"
}

// onBar says where on a bar a point is: of one that goes across the stage by how far from its
// middle, since the bar has the rest.
func (w *words) onBar(name string, p schema.Point) string {
	if name == "" {
		return pointWords(p)
	}
	isAcross := func(from, to schema.Point) bool {
		return math.Abs(to.X-from.X) >= max(math.Abs(to.Y-from.Y), math.Abs(to.Z-from.Z))
	}
	if w.show.Room != nil {
		for _, b := range w.show.Room.Bars {
			if b.Name == name && b.From != nil && b.To != nil && isAcross(*b.From, *b.To) {
				return "on " + name + ", " + across(p)
			}
		}
	}
	return "on " + name + ", " + pointWords(p)
}

// raisedTo is the height to which an edit brings a lamp that stands where it stood before; 0 if it does something else.
func (w *words) raisedTo(edit source.Edit) float64 {
	f := w.fixture(edit.At)
	text, _ := edit.Value.(string)
	if p := pointOf(text); f != nil && p != nil && w.stands(f) && f.HungAt != nil && p.X == f.HungAt.X && p.Y == f.HungAt.Y && p.Z > f.HungAt.Z {
		return p.Z
	}
	return 0
}

// aimsThere is the number of the nearest other cue in which the lamps of an edit point where it
// would turn them; "" if there is none.
func (w *words) aimsThere(edit source.Edit, text string) (cue string) {
	at, channels := w.cues[edit.At], w.channelsOf(edit)
	if at == nil || len(channels) == 0 {
		return ""
	}
	nearest := math.Inf(1)
	for i := range w.looks {
		away := math.Abs(float64(w.looks[i].Number) - float64(at.Number))
		rest := w.looks[i].State(channels[0]).Rest
		if rest != nil && rest.Aim != nil && away > 0 && away < nearest && schema.AimText(rest.Aim) == text {
			nearest, cue = away, w.looks[i].Number.String()
		}
	}
	return cue
}

// aimedByPatch reports whether edits of cues aim lamps as the patch does, each as it has that.
func (w *words) aimedByPatch(edits []source.Edit) bool {
	return !slices.ContainsFunc(edits, func(e source.Edit) bool {
		return e.Field != "aim" || slices.ContainsFunc(w.channelsOf(e), func(channel int) bool {
			lamp := w.onChannel(channel)
			return lamp == nil || lamp.AimedAt == nil || schema.AimText(lamp.AimedAt) != e.Value
		})
	})
}

// pointNow is the point that stands in the file where an edit gives another; nil if there is
// none.
func (w *words) pointNow(edit source.Edit) *schema.Point {
	member, ok := edit.At.Get(edit.Field)
	if !ok || edit.Field != "hung_at" && edit.Field != "aim" && edit.Field != "aimed_at" {
		return nil
	}
	var p schema.Point
	for key, to := range map[string]*float64{"x": &p.X, "y": &p.Y, "z": &p.Z} {
		number, has := member.Get(key)
		if *to, ok = number.Float(); !has || !ok {
			return nil
		}
	}
	return &p
}

// mixedIn is the number of the nearest cue in which a channel of an edit has a mix; "" if
// there is none.
func (w *words) mixedIn(edit source.Edit, mix string) (cue string) {
	at, channels := w.cues[edit.At], w.channelsOf(edit)
	if at == nil || len(channels) == 0 {
		return ""
	}
	nearest := math.Inf(1)
	for i := range w.looks {
		colour := w.looks[i].State(channels[0]).Colour
		away := math.Abs(float64(w.looks[i].Number) - float64(at.Number))
		if colour != nil && away > 0 && away < nearest && schema.MixText(colour.Mix) == mix {
			nearest, cue = away, w.looks[i].Number.String()
		}
	}
	return cue
}

// isWhite reports whether a mix is the one with which a channel of an edit makes the white of
// a camera.
func (w *words) isWhite(edit source.Edit, mix string) bool {
	o := &offers{state: &proof.State{Show: w.show}}
	for _, channel := range w.channelsOf(edit) {
		if t := o.typeOf(w.onChannel(channel)); t != nil {
			white, ok := stage.WhiteMix(t, o.cameraWhite())
			return ok && schema.MixText(white) == mix
		}
	}
	return false
}

// swaps reports whether a new type of a fixture is another lamp, and not the right name
// of the one that hangs there.
func (w *words) swaps(edit source.Edit) bool {
	f := w.fixture(edit.At)
	return f != nil && edit.Field == "type" && slices.ContainsFunc(w.show.Types, func(t *schema.Type) bool { return t.Name == f.Type })
}

// oneWord is the one item in which a list in a file differs from the text of another.
func oneWord(list source.Ref, text string) (was, is string) {
	now := strings.Split(text, schema.ListText([]string{"", ""}))
	i := 0
	for item := range list.Items() {
		if i >= len(now) {
			return "", ""
		}
		if item.Str() != now[i] {
			if is != "" {
				return "", ""
			}
			was, is = item.Str(), now[i]
		}
		i++
	}
	if i < len(now) { // and another item more
		return "", ""
	}
	return was, is
}

// takenOut names the channels that an edit takes out of a setting, if it adds none.
func (w *words) takenOut(edit source.Edit) string {
	was, _ := edit.At.Get("channels")
	before := numbersOf(was.Str())
	after := numbersOf(fmt.Sprint(edit.Value))
	var gone []int
	for channel := range before {
		if !after[channel] {
			gone = append(gone, channel)
		}
	}
	if len(gone) == 0 || len(after)+len(gone) != len(before) {
		return ""
	}
	return schema.ChannelWords(gone)
}

// numbersOf reads a list of channels as it is written, whether or not they are patched.
func numbersOf(text string) map[int]bool {
	const most = 10_000 // channels: more than any list that a person reads
	list := map[int]bool{}
	for part := range strings.SplitSeq(text, ",") {
		low, high, isRange := strings.Cut(strings.TrimSpace(part), "-")
		from, err1 := strconv.Atoi(strings.TrimSpace(low))
		to := from
		var err2 error
		if isRange {
			to, err2 = strconv.Atoi(strings.TrimSpace(high))
		}
		if err1 != nil || err2 != nil || to-from > most {
			return nil
		}
		for channel := from; channel <= to; channel++ {
			list[channel] = true
		}
	}
	return list
}

// things names what a group of edits changes by what people call it, and then by its
// numbers: channels together, and screens, each with the cues they are changed in,
// and everything else by itself.
func (w *words) things(edits []source.Edit) string {
	var patched []int
	var screens, names []string
	inCues := map[int][]schema.CueNumber{}        // by channel
	screenCues := map[string][]schema.CueNumber{} // by screen
	parts := map[string][]string{}                // the parts of the running order that show something on it, by screen
	for _, edit := range edits {
		cue, screen := w.cues[edit.At], w.screen(edit.At)
		fixture := w.fixture(edit.At)
		switch {
		case screen != "":
			if !slices.Contains(screens, screen) {
				screens = append(screens, screen)
			}
			if cue != nil {
				screenCues[screen] = append(screenCues[screen], cue.Number)
			} else {
				parts[screen] = append(parts[screen], fmt.Sprintf("%q", w.partWith(edit.At)))
			}
		case cue != nil && edit.Field != "channels" && len(w.channelsOf(edit)) > 0:
			for _, channel := range w.channelsOf(edit) {
				inCues[channel] = append(inCues[channel], cue.Number)
			}
		case fixture != nil:
			patched = append(patched, fixture.Channel)
		default:
			names = append(names, w.name(edit.At))
		}
	}
	var list []string
	if len(patched) > 0 {
		list = append(list, w.lamps(patched, true))
	}
	list = append(list, w.channelsInCues(inCues)...)
	for _, screen := range screens {
		in := parts[screen]
		if len(screenCues[screen]) > 0 {
			in = append(in, w.cueWords(screenCues[screen]))
		}
		list = append(list, fmt.Sprintf("the screen %q in %s", screen, strings.Join(in, " and ")))
	}
	return strings.Join(append(list, names...), " and ")
}

// channelsInCues names channels with the cues they are changed in, those with the
// same cues together.
func (w *words) channelsInCues(inCues map[int][]schema.CueNumber) []string {
	together := map[string][]int{}
	var order []string
	for _, channel := range slices.Sorted(maps.Keys(inCues)) {
		text := w.cueWords(inCues[channel])
		if together[text] == nil {
			order = append(order, text)
		}
		together[text] = append(together[text], channel)
	}
	for i, text := range order {
		order[i] = w.lamps(together[text], false) + " in " + text
	}
	return order
}

// lamps names fixtures as people do: by the name of a group, or of the one or two
// that they are, with where it hangs for who has to go there; then the numbers.
func (w *words) lamps(channels []int, hung bool) string {
	slices.Sort(channels)
	channels = slices.Compact(channels)
	numbers := schema.ChannelWords(channels)
	var names []string
	for _, channel := range channels[:min(len(channels), 2)] {
		f := w.onChannel(channel)
		if f == nil || strings.TrimSpace(f.Name) == "" {
			return numbers
		}
		name := f.Name
		if hung && f.HungOn != "" && len(channels) == 1 {
			name += " on " + f.HungOn
		}
		names = append(names, name)
	}
	switch more := len(channels) - len(names); {
	case more > 0:
		if groups := w.groups(channels); groups != "" {
			return fmt.Sprintf("%s (%s)", groups, numbers)
		}
		return fmt.Sprintf("%s and %d more (%s)", names[0], len(channels)-1, numbers)
	default:
		return fmt.Sprintf("%s (%s)", strings.Join(names, " and "), numbers)
	}
}

func (w *words) onChannel(channel int) *schema.Fixture {
	if w.channels == nil {
		w.channels = make(map[int]*schema.Fixture, len(w.show.Patch))
		for _, f := range w.show.Patch {
			if w.channels[f.Channel] == nil {
				w.channels[f.Channel] = f
			}
		}
	}
	return w.channels[channel]
}

// groups names the groups, three at most, that together have just these channels; "" if
// there are none.
func (w *words) groups(channels []int) string {
	const most = 3
	left := map[int]bool{}
	for _, channel := range channels {
		left[channel] = true
	}
	lists := map[string][]int{}
	for name := range w.show.Groups {
		if list, err := w.show.Channels(name); err == nil && len(list) > 0 {
			lists[name] = list
		}
	}
	var names []string
	for len(left) > 0 && len(names) < most {
		best := ""
		for _, name := range slices.Sorted(maps.Keys(lists)) {
			if list := lists[name]; !slices.ContainsFunc(list, func(c int) bool { return !left[c] }) && (best == "" || len(list) > len(lists[best])) {
				best = name
			}
		}
		if best == "" {
			return ""
		}
		for _, channel := range lists[best] {
			delete(left, channel)
		}
		names = append(names, best)
	}
	if len(left) > 0 {
		return ""
	}
	return strings.Join(names, " and ")
}

// cueWords names cues, each once: one by its name too, several by their numbers.
func (w *words) cueWords(cues []schema.CueNumber) string {
	cues = slices.Compact(slices.Sorted(slices.Values(cues)))
	numbers := make([]string, len(cues))
	for i, cue := range cues {
		numbers[i] = cue.String()
	}
	if len(numbers) > 1 {
		return "cues " + strings.Join(numbers, ", ")
	}
	for _, cue := range w.cues {
		if cue.Number == cues[0] && cue.Name != "" {
			return fmt.Sprintf("%q (cue %s)", cue.Name, numbers[0])
		}
	}
	return "cue " + numbers[0]
}

// channelsOf returns the channels that an edit of a setting changes; none for an
// edit of a screen or of the cue itself.
func (w *words) channelsOf(edit source.Edit) []int {
	if len(edit.Only) > 0 {
		return edit.Only
	}
	selection, isSetting := edit.At.Get("channels")
	if !isSetting {
		return nil
	}
	channels, _ := w.show.Channels(selection.Str())
	return channels
}

func (w *words) fixture(at source.Ref) *schema.Fixture {
	if w.patch == nil {
		w.patch = make(map[source.Ref]*schema.Fixture, len(w.show.Patch))
		for _, f := range w.show.Patch {
			if w.patch[f.At] == nil {
				w.patch[f.At] = f
			}
		}
	}
	return w.patch[at]
}

func (w *words) isCamera(at source.Ref) bool {
	return w.show.Room != nil && slices.ContainsFunc(w.show.Room.Cameras, func(c *schema.Camera) bool { return c.At == at })
}

// screen is the screen that a thing in a cue drives, or "".
func (w *words) screen(at source.Ref) string {
	name, _ := at.Get("screen")
	return name.Str()
}

// partWith is the part of the running order in which something is told to a screen.
func (w *words) partWith(drive source.Ref) string {
	for _, s := range w.show.Order {
		if slices.ContainsFunc(s.Screens, func(d *schema.Drive) bool { return d.At == drive }) {
			return s.Name
		}
	}
	return ""
}

// name says what a thing other than a fixture or a screen's drive is called.
func (w *words) name(at source.Ref) string {
	if cue := w.cues[at]; cue != nil {
		return w.cueWords([]schema.CueNumber{cue.Number})
	}
	name, _ := at.Get("name")
	kind := "the thing"
	if room := w.show.Room; room != nil {
		for _, camera := range room.Cameras {
			if camera.At == at {
				kind = "the camera"
			}
		}
		for _, surface := range room.Surfaces {
			switch {
			case surface.At != at:
			case w.kind(at) == "screen":
				kind = "the screen"
			default:
				kind = "the surface"
			}
		}
		for _, circuit := range room.Circuits {
			if circuit.At == at {
				kind = "the circuit"
			}
		}
		for _, place := range room.Places {
			if place.At == at {
				kind = "the place"
			}
		}
	}
	if slices.ContainsFunc(w.show.Types, func(t *schema.Type) bool { return t.At == at }) {
		kind = "the type"
	}
	if slices.ContainsFunc(w.show.Order, func(s *schema.Segment) bool { return s.At == at }) {
		kind = "the segment"
	}
	return fmt.Sprintf("%s %q", kind, name.Str())
}

// back says for a group of edits what stood there before, and of what.
func (w *words) back(edits []source.Edit) []string {
	var list []string
	var befores []string
	grouped := map[string][]source.Edit{}
	for _, edit := range edits {
		was := w.before(edit)
		if grouped[was] == nil {
			befores = append(befores, was)
		}
		grouped[was] = append(grouped[was], edit)
	}
	for _, was := range befores {
		group := grouped[was]
		thing, what := w.things(group), noun(group[0].Field)
		switch {
		case was != "":
			if unit := unitOf(group[0].Field); unit != "" && strings.Trim(was, "-0123456789.") == "" {
				was += " " + strings.Replace(unit, "deg", "degrees", 1)
			}
			list = append(list, fmt.Sprintf("the %s of %s back to %s", what, thing, was))
		case w.hasOtherColour(group):
			list = append(list, fmt.Sprintf("%s back to the colour that the file has", thing))
		default:
			list = append(list, fmt.Sprintf("take the new %s of %s out again", what, thing))
		}
	}
	return list
}

// hasOtherColour reports whether edits tell a colour to settings of which the file
// tells it in another way: taking the new one out again would not bring that back.
func (w *words) hasOtherColour(edits []source.Edit) bool {
	return slices.ContainsFunc(edits, func(edit source.Edit) bool {
		if !schema.TellsColour(edit.Field) {
			return false
		}
		return slices.ContainsFunc(schema.FieldsOf(schema.OfSetting), func(f *schema.Field) bool {
			_, has := edit.At.Get(f.Key)
			return has && f.Key != edit.Field && schema.TellsColour(f.Key)
		})
	})
}

// noun is how people call a field of a show file.
func noun(field string) string {
	if side, isBlade := strings.CutPrefix(field, "shutter_"); isBlade && field != "shutter_s" {
		return "depth of the " + side + " shutter"
	}
	word, _, _ := schema.Spoken(field)
	return cmp.Or(word, strings.ReplaceAll(strings.TrimSuffix(field, "_deg"), "_", " "))
}

// before is what stands in the file, to go back to; "" if nothing does.
func (w *words) before(edit source.Edit) string {
	if value, ok := w.tracked(edit); ok {
		return rules.FormatValue(value)
	}
	member, ok := edit.At.Get(edit.Field)
	if !ok {
		return ""
	}
	if text := strings.TrimSpace(member.Str()); text != "" {
		return text
	}
	if member.Kind() == source.Object && edit.Field == schema.Mix {
		mix := map[string]float64{}
		for item := range member.Items() {
			mix[item.Key()], _ = item.Float()
		}
		return schema.MixText(mix)
	}
	if p := w.pointNow(edit); p != nil {
		return pointWords(*p)
	}
	start, stop := member.Bytes()
	return strings.Join(strings.Fields(member.File.Text[start:stop]), " ") // yes or no, or a list
}

// place is where a change would be made: at the value, or else at its owner.
func (w *words) place(edit source.Edit) source.Place {
	if member, ok := edit.At.Get(edit.Field); ok {
		return member.Place()
	}
	return edit.At.Place()
}
