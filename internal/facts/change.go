package facts

import (
	"fmt"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Change is what happens when a cue is called: the way from the look before to
// its own, and what goes on until the next.
type Change struct {
	unknowns
	look   *Look
	before *Look // nil for the first

	movedWords []string

	Number      string `expr:"cue"`          // the number of the cue
	CueName     string `expr:"name"`         // the name of the cue, or ""
	From        string `expr:"from_cue"`     // the number of the cue before, or "" for the first
	SegmentName string `expr:"segment"`      // the segment it belongs to, or ""
	SegmentKind string `expr:"segment_kind"` // song, talk, prayer..., or ""
	Purpose     string `expr:"purpose"`      // what the cue says it is for, or ""

	StartS  *float64 `expr:"start_s"`           // when the cue is called, in seconds from the start of the running order
	Assumed *bool    `expr:"time_is_assumed"`   // whether that time is not given but spread evenly
	StandsS *float64 `expr:"stands_s"`          // how long it is until the next cue is called
	Follow  bool     `expr:"is_follow"`         // whether the cue starts by itself behind the one before
	FadeS   *float64 `expr:"fade_s"`            // from its first move to the end of its last
	Stops   *float64 `expr:"stage_stops"`       // how much brighter the stage is behind it, in stops; negative is darker
	DeltaE  *float64 `expr:"mean_delta_e"`      // CIEDE2000 between the mean colours of the two looks, at equal luminance (L* 50)
	MovedPc *float64 `expr:"light_moved_pct"`   // light that comes, goes or changes place, as percent of the brighter of the two looks
	Lamps   *int     `expr:"lamps_changed"`     // lamps that look different behind it
	Screens int      `expr:"screens_changed"`   // screens that it drives differently or gives another palette
	JumpPct *float64 `expr:"jump_pct"`          // change of stage light that takes under half a second, as percent of the brightest look of the show
	Settles bool     `expr:"sets_only_in_dark"` // whether it does something that nobody sees: aims, colours or patterns of dark lamps, haze

	Flashes    *float64 `expr:"flashes_per_s"`        // the most flashes in any second until the next cue (WCAG 2.2), from strobes, effects and fast cues together
	RedFlashes *float64 `expr:"red_flashes_per_s"`    // the same for changes to and from saturated red
	FlashText  string   `expr:"flash_sources"`        // what flashes, in words
	StrobesOn  bool     `expr:"strobe_in_use"`        // whether a strobe, or an effect that flashes, is on
	FastRun    bool     `expr:"fast_cues"`            // whether cues within a second of each other are part of the flashing
	TooFast    []*Lamp  `expr:"strobes_too_fast"`     // the lamps whose strobe runs at over three flashes a second
	Effects    []*Pulse `expr:"effects_too_fast"`     // the lamps whose effect flashes more than three times a second, with a slower effect
	BT1702     *float64 `expr:"bt1702_flashes_per_s"` // flashes by ITU-R BT.1702, if white on the picture is 200 cd/m2

	BeamCount   int       `expr:"beam_count"`           // lit lamps of the purpose beam
	BeamText    string    `expr:"beam_channels_text"`   // the same lamps, as "41-44"
	FirstBeam   bool      `expr:"is_first_beam_look"`   // whether it is the first cue with a beam
	Haze        *float64  `expr:"haze_mg_m3"`           // haze in the air when it is called
	HazeRan     bool      `expr:"haze_machine_has_run"` // whether a haze machine is or was on by then
	HazeLevels  []*Turn   `expr:"haze_levels"`          // the settings of the haze machines before it with the level that makes beams show by then
	HazeReach   *bool     `expr:"haze_can_reach"`       // whether none of those levels is above full
	HazeStart   []*Placed `expr:"haze_start"`           // the haze machines, to be started in the latest cue from which beams show by then
	HazeStartAt string    `expr:"haze_start_cue"`       // the number of that cue, or ""

	Moved      []*Lamp `expr:"moved_while_lit"`     // lamps lit before and behind it that travel, zoom or change wheel or pattern
	MovedCount int     `expr:"moved_count"`         // how many those are
	MovedText  string  `expr:"moved_channels_text"` // the same lamps, as "41-44"
	MovedWhat  string  `expr:"moved_what"`          // what they change, in words: "aim and wheel"
	LastDark   string  `expr:"last_dark_cue"`       // the last earlier cue in which all of them were dark, or ""
}

// Names returns the cue.
func (c *Change) Names() []Name { return []Name{{"cue", c.Number}} }

// Cue returns the number of the cue.
func (c *Change) Cue() string { return c.Number }

// Ref returns where the cue stands.
func (c *Change) Ref() source.Ref { return c.look.Ref() }

// Edits changes a field of the cue, in all its parts.
func (c *Change) Edits(field string, value any) []source.Edit {
	var edits []source.Edit
	for _, part := range c.look.look.Parts {
		edits = append(edits, source.Edit{At: part.At, Field: field, Value: value})
	}
	return edits
}

// jumpS is the fade time under which a change is a jump: half a second is about
// as short as a fade can be and still be seen as one. Common practice, no source.
const jumpS = 0.5

// seenColour is the CIEDE2000 difference from which a lamp's colour counts as
// changed: about 1 is a just noticeable difference side by side, and on a stage
// nothing is side by side. Common practice, no source.
const seenColour = 2.0

// seenLevel is the change of a lamp, as part of its light, from which it counts
// as changed; a step of the eye is about a fiftieth. Common practice, no source.
const seenLevel = 0.02

func measureChanges(e *evening) []*Change {
	changes := make([]*Change, len(e.looks))
	anyFade := slices.ContainsFunc(e.rig.show.Cues, func(c *schema.Cue) bool { return c.InS != nil || c.OutS != nil })
	for i, look := range e.looks {
		c := &Change{
			look: look, Number: look.Number, CueName: look.CueName, SegmentName: look.SegmentName,
			SegmentKind: look.SegmentKind, Purpose: look.Purpose,
		}
		changes[i] = c
		if i > 0 {
			c.before, c.From = e.looks[i-1], e.looks[i-1].Number
		}
		c.measureTime(e.time, i)
		if c.before != nil {
			c.measureLight(e, i)
			if !anyFade {
				c.noFades()
			}
		} else {
			for _, fact := range lightFacts {
				c.lacks(fact, "a look before the first")
			}
		}
	}
	e.measureFlashes(changes)
	e.measureBeams(changes)
	e.measureMoves(changes)
	return changes
}

// lightFacts compare two looks.
var lightFacts = []string{"stage_stops", "mean_delta_e", "light_moved_pct", "lamps_changed", "jump_pct", "fade_s"}

func (c *Change) measureTime(t *timeline, i int) {
	m := t.moments[i]
	_, c.Follow = t.follows(i)
	if m.missing != "" {
		c.lacks("start_s", m.missing)
		c.lacks("time_is_assumed", m.missing)
	} else {
		c.StartS, c.Assumed = known(m.at), known(m.assumed)
	}
	if wait, ok := t.until(i); ok {
		c.StandsS = &wait
		return
	}
	phrase := m.missing
	if phrase == "" && i+1 < len(t.moments) {
		phrase = t.moments[i+1].missing
	}
	if phrase == "" && len(t.spans) > 0 {
		phrase = fmt.Sprintf("the duration of the segment %q", t.spans[len(t.spans)-1].segment.Name)
	}
	c.lacks("stands_s", phrase)
}

// measureLight works out what the change does to the light.
func (c *Change) measureLight(e *evening, i int) {
	if !e.rig.hasPatch() {
		for _, fact := range lightFacts {
			c.lacks(fact, needPatch)
		}
		return
	}
	var missing []string
	lamps, jump, come, went := 0, 0.0, 0.0, 0.0
	at := e.time.moments[i].at
	first, end := math.Inf(1), math.Inf(-1)
	paces := pacesOf(c.look.look)
	moves := func(start, stop float64) {
		first, end = min(first, start), max(end, stop)
	}
	e.rig.differ(c.before, c.look, func(_ int, p pair) {
		c.noteMove(p)
		for _, lamp := range []*Lamp{p.before, p.after} {
			if lamp != nil && lamp.light.missing != "" && !slices.Contains(missing, lamp.light.missing) && !sameSetting(p) {
				missing = append(missing, lamp.light.missing)
			}
		}
		by := 0.0
		if p.after != nil {
			by += p.after.output()
		}
		if p.before != nil {
			by -= p.before.output()
		}
		if by > 0 {
			come += by
		} else {
			went -= by
		}
		if !looksDifferent(p) {
			return
		}
		lamps++
		start, stop := timesOf(paces, c.look.look, p, at)
		moves(start, stop)
		if stop-start < jumpS-slack {
			jump += by
		}
	})
	for _, f := range e.others {
		before, after := c.before.look.State(f.Channel), c.look.look.State(f.Channel)
		if before == after || before.Level == after.Level && (before.Level == 0 || before.Colour == after.Colour) {
			continue
		}
		lamps++
		pace := paces.of(after)
		long := pace.in
		if after.Level < before.Level {
			long = pace.out
		}
		moves(at+pace.delay, at+pace.delay+long)
	}
	c.Lamps, c.FadeS = &lamps, known(0.0)
	if end > first {
		c.FadeS = known(end - first)
	}
	c.Screens = screensChanged(c.before.look, c.look.look)
	c.Settles = lamps == 0 && c.Screens == 0 && setsInDark(c.look.look)
	if len(missing) > 0 {
		for _, fact := range []string{"stage_stops", "mean_delta_e", "light_moved_pct", "jump_pct"} {
			for _, phrase := range missing {
				c.lacks(fact, phrase)
			}
		}
		return
	}
	before, after := e.sums[i-1], e.sums[i]
	brighter := max(before.Y, after.Y)
	c.MovedPc, c.JumpPct = known(0.0), known(0.0)
	if brighter > 0 {
		c.MovedPc = known(100 * max(come, went) / brighter)
	}
	if e.peak > 0 {
		c.JumpPct = known(100 * math.Abs(jump) / e.peak)
	}
	dark := fmt.Sprintf("stage light in cues %s and %s", c.From, c.Number)
	if c.Stops = stopsApart(before.Y, after.Y); c.Stops == nil {
		c.lacks("stage_stops", dark)
	}
	if apart, ok := colour.Apart(before, after); ok {
		c.DeltaE = &apart
	} else {
		c.lacks("mean_delta_e", dark)
	}
}

// noFades takes back what was said of fades: a cue list without any fade time is
// one that was exported without them.
func (c *Change) noFades() {
	if c.FadeS == nil {
		return
	}
	const phrase = "the fade times (in_s) of the cues"
	if *c.Lamps > 0 {
		c.FadeS = nil
		c.lacks("fade_s", phrase)
	}
	if c.JumpPct != nil && *c.JumpPct > 0 {
		c.JumpPct = nil
		c.lacks("jump_pct", phrase)
	}
}

// sumOf is the output of a look's stage lamps, with its colour.
func sumOf(look *Look) colour.XYZ {
	var sum colour.XYZ
	for _, lamp := range look.lamps {
		sum = sum.Add(lamp.light.xyz.Scale(lamp.part))
	}
	return sum
}

// emittedBy is all light that leaves a look's stage lamps.
func emittedBy(look *Look) float64 {
	sum := 0.0
	for _, lamp := range look.lamps {
		sum += lamp.light.xyz.Y
	}
	return sum
}

// sameSetting reports whether a lamp is told the same in both looks, so that its
// light is the same whatever it is.
func sameSetting(p pair) bool {
	return p.before != nil && p.after != nil && p.before.Level == p.after.Level && sameColour(p.before.state.Colour, p.after.state.Colour) && sameRest(p.before.state.Rest, p.after.state.Rest)
}

// looksDifferent reports whether anybody can see that a lamp has changed.
func looksDifferent(p pair) bool {
	if p.before == nil || p.after == nil {
		return true
	}
	if sameSetting(p) {
		return false
	}
	a, b := p.before.light.xyz, p.after.light.xyz
	if p.before.light.missing != "" || p.after.light.missing != "" {
		return true
	}
	if math.Abs(a.Y-b.Y) > seenLevel*max(a.Y, b.Y) {
		return true
	}
	if apart, ok := colour.Apart(a, b); ok && apart > seenColour {
		return true
	}
	if len(p.after.movedFrom(p.before)) > 0 {
		return true
	}
	was, is := restOf(p.before), restOf(p.after)
	return positive(was.StrobeHz) != positive(is.StrobeHz) || !sameEffect(was.Effect, is.Effect)
}

func sameNumber(a, b *float64) bool {
	return a == b || a != nil && b != nil && *a == *b
}

// sameColour reports whether two colours were told in the same words.
func sameColour(a, b *tracking.Colour) bool {
	if a == b {
		return true
	}
	if a == nil || b == nil || !sameNumber(a.WhiteK, b.WhiteK) || !sameNumber(a.HueDeg, b.HueDeg) || !sameNumber(a.SaturationPct, b.SaturationPct) || !slices.Equal(a.XY, b.XY) || len(a.Mix) != len(b.Mix) {
		return false
	}
	for name, part := range a.Mix {
		if other, ok := b.Mix[name]; !ok || other != part {
			return false
		}
	}
	return true
}

// sameRest reports whether aim, zoom, strobe, pattern, wheel and effect are the same.
func sameRest(a, b *tracking.Rest) bool {
	if a == b {
		return true
	}
	var none tracking.Rest
	if a == nil {
		a = &none
	}
	if b == nil {
		b = &none
	}
	return len(moved(a, b)) == 0 && positive(a.StrobeHz) == positive(b.StrobeHz) && sameEffect(a.Effect, b.Effect)
}

func positive(n *float64) float64 {
	if n == nil {
		return 0
	}
	return *n
}

func sameEffect(a, b *schema.Effect) bool {
	if a == b {
		return true
	}
	return a != nil && b != nil && a.Kind == b.Kind && sameNumber(a.RateHz, b.RateHz) && sameNumber(a.DutyPct, b.DutyPct) &&
		sameNumber(a.SpreadPct, b.SpreadPct) && sameNumber(a.LowPct, b.LowPct) && sameNumber(a.HighPct, b.HighPct)
}

// screensChanged counts the screens that a look drives otherwise than the one before.
func screensChanged(before, after *tracking.Look) int {
	count := 0
	for name, now := range after.Drives {
		was := before.Drives[name]
		if !sameNumber(was.DrivePct, now.DrivePct) || !slices.Equal(was.Palette, now.Palette) {
			count++
		}
	}
	return count
}

// setsInDark reports whether a cue says anything at all about aims, colours,
// patterns or haze: what it does then is done in the dark.
func setsInDark(look *tracking.Look) bool {
	for _, part := range look.Parts {
		for _, s := range part.Set {
			if s.Aim != nil || s.ZoomDeg != nil || s.Wheel != "" || s.Pattern != "" {
				return true
			}
		}
	}
	return false
}

// Placed is a channel with a level that it is to have from a cue on, whether
// that cue sets it now or not.
type Placed struct {
	look    *tracking.Look
	Channel int     `expr:"channel"`    // the channel
	Wanted  float64 `expr:"wanted_pct"` // that level
}

// Label names the channel for an order to a person.
func (p *Placed) Label() string { return fmt.Sprintf("channel %d", p.Channel) }

// Edits changes the setting of the cue that sets the channel, or adds one to the cue.
func (p *Placed) Edits(field string, value any) []source.Edit {
	at, state := p.look.At(), p.look.State(p.Channel)
	if by := state.LevelBy; by.Look == p.look.Index && by.Setting != nil {
		at = by.Setting.At
	}
	return []source.Edit{{At: at, Field: field, Value: value, Only: []int{p.Channel}}}
}
