package facts

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Change is what happens when a cue is called: the way from the look before to
// its own, and what goes on until the next.
type Change struct {
	unknowns
	look *Look

	*cueWords
	From string `expr:"from_cue"` // the number of the cue before, or "" for the first
	*segmentWords

	StartS  *float64 `expr:"start_s"`         // when the cue is called, in seconds from the start of the running order
	Assumed *bool    `expr:"time_is_assumed"` // whether that time is not given but spread evenly
	StandsS *float64 `expr:"stands_s"`        // how long it is until the next cue is called
	Follow  bool     `expr:"is_follow"`       // whether the cue starts by itself behind the one before

	*changeLight

	LateS     float64  `expr:"late_s"`     // how long after the beginning of its segment its light comes, where somebody who speaks or leads waits for it in less; else 0
	LatePlace string   `expr:"late_place"` // the place of whoever has least of it, or ""
	LateStops *float64 `expr:"late_stops"` // by how much that face is darker until then than behind the cue, or than the most open camera is set for, if that is less; else 0

	Haze    *float64 `expr:"haze_mg_m3"`           // haze in the air when it is called
	HazeRan bool     `expr:"haze_machine_has_run"` // whether a haze machine is or was on by then

	*changeMoves
}

// changeLight is what a change does to the light, and what goes on until the next. Changes in
// which all of that is the same have it together: it is not written once they do.
type changeLight struct {
	FadeS    *float64 `expr:"fade_s"`            // from its first move to the end of its last
	Stops    *float64 `expr:"stage_stops"`       // how much brighter the stage is behind it, in stops; negative is darker
	DeltaE   *float64 `expr:"mean_delta_e"`      // CIEDE2000 between the mean colours of the two looks, at equal luminance (L* 50)
	MovedPc  *float64 `expr:"light_moved_pct"`   // light that comes, goes or changes place, as percent of the brighter of the two looks
	Lamps    *int     `expr:"lamps_changed"`     // lamps that look different behind it
	Screens  int      `expr:"screens_changed"`   // screens that it drives differently or gives another palette
	ScreenUp *float64 `expr:"screen_up_stops"`   // how much brighter the picture of the screen gets that gets brightest, over a black six stops under its white at full, or a fifth of the brightest white that it shows; 0 if none does
	Brighter string   `expr:"brighter_screen"`   // that screen, or ""
	JumpPct  *float64 `expr:"jump_pct"`          // of that what takes under half a second
	InSong   bool     `expr:"stays_in_song"`     // whether the cue before is of the same song, and that is not quiet
	Settles  bool     `expr:"sets_only_in_dark"` // whether it does something that nobody sees: aims, colours or patterns of dark lamps, haze

	Flashes    *float64 `expr:"flashes_per_s"`        // the most flashes in any second until the next cue (WCAG 2.2), from strobes, effects and fast cues together
	RedFlashes *float64 `expr:"red_flashes_per_s"`    // the same for changes to and from saturated red
	FlashText  string   `expr:"flash_sources"`        // what flashes, in words
	StrobesOn  bool     `expr:"strobe_in_use"`        // whether a strobe, or an effect that flashes, is on
	FastRun    bool     `expr:"fast_cues"`            // whether cues within a second of each other are part of the flashing
	BT1702     *float64 `expr:"bt1702_flashes_per_s"` // flashes by ITU-R BT.1702, if white on the picture is 200 cd/m2
	PicturePct *float64 `expr:"flash_picture_pct"`    // how much of the picture flashes of the camera that sees most of it; all of it where a lamp that flashes shines on people, through haze or towards a camera or the house, or where cues flash
	FieldPct   *float64 `expr:"flash_field_pct"`      // how large that is from where somebody in the house sees most of it, as percent of a cone of ten degrees; in the same cases all of it
	AreaText   string   `expr:"flash_area_text"`      // both in words, or "" where nothing flashes or one of them is not known

	BeamCount int    `expr:"beam_count"`         // lit lamps of the purpose beam
	BeamText  string `expr:"beam_channels_text"` // the same lamps, as "41-44"
	FirstBeam bool   `expr:"is_first_beam_look"` // whether it is the first cue with a beam
}

// changeMoves are the lamps that move while they are seen. Changes in which none does have it
// together, and it is not written.
type changeMoves struct {
	MovedCount int    `expr:"moved_count"`         // how many those are
	MovedText  string `expr:"moved_channels_text"` // the same lamps, as "41-44"
	MovedWhat  string `expr:"moved_what"`          // what they change, in words: "aim and wheel"
	LastDark   string `expr:"last_dark_cue"`       // the last earlier cue in which all of them were dark, or ""
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

func measureChanges(e *evening.Evening, looks []*Look, faces []*Person) []*Change {
	changes := make([]*Change, len(looks))
	anyFade := slices.ContainsFunc(e.Rig.Show.Cues, func(c *schema.Cue) bool { return c.InS != nil || c.OutS != nil })
	dark := evening.Darkness{Looks: e.Looks, ByChannel: map[int][]uint64{}}
	flashes := e.Flashes
	firstBeam := true
	beams := e.Rig.Beams()
	var near neighbours
	var light changeLight // of one change after the other
	var still changeMoves
	known, jumps := map[changeLight]*changeLight{}, jumps{}
	lit := make([]int, 0, len(beams)) // of one change after the other
	blacks := blacksOf(e.Rig, e.Looks)
	nobodyWaits := 0.0
	for i, look := range looks {
		light = changeLight{}
		c := &Change{look: look, cueWords: &look.cueWords, segmentWords: look.segmentWords, changeLight: &light, changeMoves: &still}
		changes[i] = c
		c.fillTime(e.Time, i)
		switch {
		case i == 0:
			c.lackAll(lightFacts, "a look before the first")
		case !e.Rig.HasPatch():
			c.From = looks[i-1].Number
			c.lackAll(lightFacts, stage.NeedPatch)
		default:
			c.From = looks[i-1].Number
			segment := e.Looks[i].Segment
			c.InSong = segment != nil && segment == e.Looks[i-1].Segment && segment.Kind == "song" && segment.Mood != "quiet"
			c.fillLight(e.Steps[i], jumps.of(e, e.Steps[i]))
			c.fillMoves(e.Steps[i], dark, looks, i)
		}
		if !anyFade {
			c.noFades()
		}
		if i > 0 {
			c.fillScreens(e.Rig, blacks, &e.Looks[i-1], &e.Looks[i])
		} else {
			c.lacks("screen_up_stops", "a look before the first")
		}
		if c.LateStops = &nobodyWaits; i > 0 && looks[i-1].late == look {
			c.fillLate(ofLook(faces, i-1), ofLook(faces, i))
		}
		c.fillFlashes(flashes[i])
		if c.fillBeams(e, beams, lit, i); c.BeamCount > 0 {
			c.FirstBeam, firstBeam = firstBeam, false
		}
		if c.changeLight = known[light]; c.changeLight == nil {
			c.changeLight = new(light)
			known[light] = c.changeLight
		}
		near.share(&c.unknowns)
	}
	return changes
}

// jumps are the [evening.Evening.JumpPct] of steps, once for each.
type jumps map[*evening.Step]*float64

func (j jumps) of(e *evening.Evening, s *evening.Step) *float64 {
	jump := j[s]
	if jump == nil {
		jump = new(e.JumpPct(s))
		j[s] = jump
	}
	return jump
}

// lightFacts compare two looks.
var lightFacts = []string{"stage_stops", "mean_delta_e", "light_moved_pct", "lamps_changed", "jump_pct", "fade_s"}

func (c *Change) fillTime(t *evening.Clock, i int) {
	m := &t.Moments[i]
	_, c.Follow = t.Follows(i)
	if m.Missing != "" {
		c.lacks("start_s", m.Missing)
		c.lacks("time_is_assumed", m.Missing)
	} else {
		c.StartS, c.Assumed = &m.At, &m.Assumed
	}
	if wait, ok := t.Until(i); ok {
		c.StandsS = &wait
		return
	}
	phrase := m.Missing
	if phrase == "" && i+1 < len(t.Moments) {
		phrase = t.Moments[i+1].Missing
	}
	if phrase == "" && len(t.Spans) > 0 {
		phrase = fmt.Sprintf("the duration of the segment %q", t.Spans[len(t.Spans)-1].Segment.Name)
	}
	c.lacks("stands_s", phrase)
}

// fillLate finds who waits for this cue in the light of the look before: of those who speak or lead in it, since its segment has begun.
func (c *Change) fillLate(before, behind []*Person) {
	var rests finding.Basis
	isDim := func(word string) bool { return word == "faces-dim" || slices.Contains(darkOnPurpose, word) }
	for _, was := range before {
		i := slices.IndexFunc(behind, func(p *Person) bool { return p.Place == was.Place })
		if i < 0 || !was.waitsInLight() || slices.ContainsFunc(was.Meant, isDim) {
			continue
		}
		is := behind[i]
		if was.FaceLux == nil || is.FaceLux == nil {
			if was.KeyCount == nil { // else a key that points there is lit
				c.lacks("late_stops", slices.Concat(was.Why("face_lx"), is.Why("face_lx"))...)
				c.LateS, c.LatePlace, c.LateStops = was.LateS, was.Place, nil
				return
			}
			continue
		}
		stops, basis := lateStops(was, is)
		if stops > *c.LateStops {
			c.LateS, c.LatePlace, c.LateStops, rests = was.LateS, was.Place, &stops, basis
		}
	}
	c.rests("late_stops", rests)
}

// lateStops is how much darker a face is in one look than in another, or than a camera is set for, if that is less, and what it rests on.
func lateStops(was, is *Person) (stops float64, rests finding.Basis) {
	of, to := was.Basis("face_lx"), is.Basis("face_lx")
	stops, rests = stopsUnder(*was.FaceLux, *is.FaceLux), of.And(to)
	if of.Range != nil || to.Range != nil {
		from, until := cmp.Or(of.Range, &finding.Range{Low: *was.FaceLux, High: *was.FaceLux}), cmp.Or(to.Range, &finding.Range{Low: *is.FaceLux, High: *is.FaceLux})
		rests.Range = &finding.Range{Low: stopsUnder(from.High, until.Low), High: stopsUnder(from.Low, until.High)}
	}
	if was.DarkStops != nil && *was.DarkStops < stops {
		dark := was.Basis("dark_stops")
		stops, rests = *was.DarkStops, rests.And(dark)
		rests.Range = dark.Range
	}
	return stops, rests
}

// LateCue is the part of the cue that is called late, where somebody waits for its light; nil otherwise.
func (c *Change) LateCue() *Cue { return c.look.lateBy(c.LateS, isCalledLate) }

// DelayedCue is likewise the part that waits before its light moves, where that is longer.
func (c *Change) DelayedCue() *Cue { return c.look.lateBy(c.LateS, isDelayed) }

// fillLight tells what the change does to the light.
func (c *Change) fillLight(s *evening.Step, jump *float64) {
	c.Lamps, c.FadeS, c.Screens, c.Settles = &s.Lamps, &s.FadeS, s.Screens, s.Settles
	if len(s.Missing) > 0 {
		c.lackAll([]string{"stage_stops", "mean_delta_e", "light_moved_pct", "jump_pct"}, s.Missing...)
		return
	}
	c.MovedPc, c.JumpPct, c.Stops, c.DeltaE = &s.MovedPct, jump, s.Stops, s.DeltaE
	dark := fmt.Sprintf("stage light in cues %s and %s", c.From, c.Number)
	if c.Stops == nil {
		c.lacks("stage_stops", dark)
	}
	if c.DeltaE == nil {
		c.lacks("mean_delta_e", dark)
	}
}

// fillMoves tells of the lamps that move while they are seen what they do, and when
// they were last dark.
func (c *Change) fillMoves(s *evening.Step, dark evening.Darkness, looks []*Look, i int) {
	if len(s.Moved) == 0 {
		return
	}
	var channels []int
	for _, lamp := range s.Moved {
		channels = append(channels, lamp.Channel)
	}
	c.changeMoves = &changeMoves{MovedCount: len(s.Moved), MovedText: schema.FormatChannels(channels), MovedWhat: spelling.List(s.MovedWords)}
	if k, ok := dark.Last(channels, i); ok {
		c.LastDark = looks[k].Number
	}
}

// How dark a picture is in which nothing is told apart: six stops under the screen's white at
// full, as for the stage, or for a screen that is never driven as far a fifth of the brightest
// white that it shows. Common practice, no source.
const (
	screenBlack = 1.0 / 64
	driveBlack  = 1.0 / 5
)

// blacksOf is that darkness of each surface, as a part of its white at full.
func blacksOf(r *stage.Rig, looks []tracking.Look) map[string]float64 {
	blacks := map[string]float64{}
	for name, surface := range r.Surfaces {
		highest := 0.0
		for i := range looks {
			if drive := (&stage.LookLight{Resolved: &looks[i]}).Drive(surface); drive != nil {
				highest = max(highest, *drive/100)
			}
		}
		if blacks[name] = screenBlack; highest > 0 {
			blacks[name] = min(screenBlack, driveBlack*highest)
		}
	}
	return blacks
}

// noScreen is by how much the picture gets brighter where none does.
var noScreen = 0.0

// fillScreens tells of the screen that gets brighter than it was. Whether it fades, no show
// says: it is taken to go over at once.
func (c *Change) fillScreens(r *stage.Rig, blacks map[string]float64, before, after *tracking.Look) {
	c.ScreenUp = &noScreen
	was, is := stage.LookLight{Resolved: before}, stage.LookLight{Resolved: after}
	for _, name := range slices.Sorted(maps.Keys(r.Surfaces)) {
		surface := r.Surfaces[name]
		if surface.Kind != "emissive" && surface.Kind != "projection" || stage.SameNumber(was.Drive(surface), is.Drive(surface)) && stage.SameNumber(was.Content(surface), is.Content(surface)) {
			continue
		}
		from, ok1 := pictureOn(surface, &was)
		to, ok2 := pictureOn(surface, &is)
		if !ok1 || !ok2 {
			c.ScreenUp = nil
			c.lacks("screen_up_stops", fmt.Sprintf("what the screen %q is driven at and how bright its picture is in cues %s and %s", name, c.From, c.Number))
			return
		}
		if from > 0 && to > 0 && (was.Content(surface) == nil) != (is.Content(surface) == nil) {
			continue // one of them is not described
		}
		if up := math.Log2((to + blacks[name]) / (from + blacks[name])); up > *c.ScreenUp {
			c.ScreenUp, c.Brighter = &up, name
		}
	}
	if *c.ScreenUp > 0 {
		c.rests("screen_up_stops", finding.Basis{Known: finding.Assumed, Rests: []string{"a screen that goes over at once"}})
	}
}

// pictureOn is the mean light of a screen's picture in a look, as a part of its white at full.
// A picture of which nobody ever says how bright it is counts as white.
func pictureOn(surface *schema.Surface, lit *stage.LookLight) (part float64, ok bool) {
	drive, content := lit.Drive(surface), lit.Content(surface)
	switch {
	case drive != nil && *drive <= 0 || content != nil && *content <= 0:
		return 0, true
	case drive == nil:
		return 0, false
	case content == nil:
		return *drive / 100, true
	}
	return *drive / 100 * *content / 100, true
}

// fillFlashes tells what flashes until the next cue.
func (c *Change) fillFlashes(f *evening.LookFlashes) {
	c.FlashText, c.StrobesOn, c.FastRun = strings.Join(f.Words, ", "), f.On, f.Fast
	if c.lackAll([]string{"flashes_per_s", "red_flashes_per_s", "bt1702_flashes_per_s"}, f.Missing...); len(f.Missing) == 0 {
		c.Flashes, c.RedFlashes, c.BT1702 = &f.General, &f.Red, &f.BT1702
		c.restOnPlace("flashes_per_s", f, f.SureGeneral, f.General)
		c.restOnPlace("red_flashes_per_s", f, f.SureRed, f.Red)
		c.restOnPlace("bt1702_flashes_per_s", f, f.SureBT1702, f.BT1702)
	}
	c.PicturePct, c.FieldPct = &f.Sight.PicturePct, &f.Sight.FieldPct
	if len(f.Words) > 0 && f.Sight != stage.Everywhere {
		c.AreaText = fmt.Sprintf("%.2g %% of a picture and %.2g %% of ten degrees as seen from the seats", f.Sight.PicturePct, f.Sight.FieldPct)
	}
	if f.Sight.NoPicture != "" {
		c.PicturePct, c.AreaText = nil, ""
		c.lacks("flash_picture_pct", f.Sight.NoPicture)
	}
	if f.Sight.NoField != "" {
		c.FieldPct, c.AreaText = nil, ""
		c.lacks("flash_field_pct", f.Sight.NoField)
	}
}

// restOnPlace records that of flashes only some are sure, since nobody can tell where the
// light of the others lands.
func (c *Change) restOnPlace(fact string, f *evening.LookFlashes, sure, all float64) {
	if sure < all {
		c.rests(fact, finding.Basis{Known: finding.Assumed, Rests: f.Rests, Range: &finding.Range{Low: sure, High: all}})
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

// fillBeams tells of the lamps with beams how much haze there is for them. channels is
// empty, with room for those that are lit.
func (c *Change) fillBeams(e *evening.Evening, beams []*schema.Fixture, channels []int, i int) {
	c.HazeRan = e.Air.First < i
	for _, f := range beams {
		if c.look.look.State(f.Channel).Level > 0 {
			channels = append(channels, f.Channel)
		}
	}
	c.BeamCount, c.BeamText = len(channels), schema.FormatChannels(channels)
	var missing []string
	c.Haze, missing = e.HazeAt(i)
	c.lacks("haze_mg_m3", missing...)
	c.restOnAirAt("haze_mg_m3", e.Air, c.Haze, e.Time.Moments[i].At)
}

// StrobesTooFast are the lamps whose strobe runs in a group that flashes more than so
// many times a second.
func (c *Change) StrobesTooFast(maxPerS float64) (lamps []*Lamp) {
	strobes, _ := c.look.back.slowed(c.look.look.Index, maxPerS)
	return newLamps(strobes)
}

// EffectsTooFast are the lamps whose effect does, with a slower effect.
func (c *Change) EffectsTooFast(maxPerS float64) (pulses []*Pulse) {
	_, effects := c.look.back.slowed(c.look.look.Index, maxPerS)
	for _, p := range effects {
		pulses = append(pulses, &Pulse{newLamp(p.Lamp), p.Slower})
	}
	return pulses
}

// HazeLevels are the settings of the haze machines before the cue with the level that
// brings the haze there to so many mg/m3, or full.
func (c *Change) HazeLevels(mgM3 float64) (turns []*Turn) {
	e, i := c.look.back.evening, c.look.look.Index
	if c.Haze == nil || !e.Air.CanAim(i) {
		return nil
	}
	settings, _ := e.Air.HazeLevels(i, *c.Haze, mgM3)
	for _, s := range settings {
		look := &e.Looks[s.Look]
		turns = append(turns, &Turn{newLamp(e.Rig.Lamp(look, s.Fixture, look.State(s.Fixture.Channel))), s.Level})
	}
	return turns
}

// HazeCanReach tells whether none of those levels is above full.
func (c *Change) HazeCanReach(mgM3 float64) bool {
	e, i := c.look.back.evening, c.look.look.Index
	if c.Haze == nil || !e.Air.CanAim(i) {
		return false
	}
	_, reach := e.Air.HazeLevels(i, *c.Haze, mgM3)
	return reach
}

// hazeStart is the latest look from which on the machines at full make the air ready.
func (c *Change) hazeStart(mgM3 float64) (*Look, bool) {
	e, i := c.look.back.evening, c.look.look.Index
	if c.Haze == nil || !e.Air.CanAim(i) {
		return nil, false
	}
	look, ok := c.look.back.hazeStart(i, mgM3)
	if !ok {
		return nil, false
	}
	return c.look.back.all.Looks[look], true
}

// HazeStart are the haze machines, to be started in the latest cue from which the air
// is ready by then.
func (c *Change) HazeStart(mgM3 float64) (placed []*Level) {
	if look, ok := c.hazeStart(mgM3); ok {
		for _, f := range c.look.back.evening.Air.Machines {
			placed = append(placed, &Level{look.look, f.Channel, 100})
		}
	}
	return placed
}

// HazeStartCue is the number of that cue, or "".
func (c *Change) HazeStartCue(mgM3 float64) string {
	if look, ok := c.hazeStart(mgM3); ok {
		return look.Number
	}
	return ""
}

// Pulse is a lamp that runs an effect, with the same effect slowed down.
type Pulse struct {
	*Lamp
	Slower schema.Effect `expr:"slower_effect"` // its effect at the fastest rate that flashes no more often than was asked for
}

// Edits changes what the lamp does, where that was set.
func (p *Pulse) Edits(field string, value any) []source.Edit { return p.Lamp.Edits(field, value) }

// Label names the lamp for an order to a person.
func (p *Pulse) Label() string { return p.Lamp.Label() }

// Level is a channel with a level that it is to have from a cue on, whether
// that cue sets it now or not.
type Level struct {
	look    *tracking.Look
	Channel int     `expr:"channel"`    // the channel
	Wanted  float64 `expr:"wanted_pct"` // that level
}

// newPlaced puts settings into the words of rules.
func newPlaced(looks []*Look, settings []evening.LampLevel) []*Level {
	var list []*Level
	for _, s := range settings {
		list = append(list, &Level{looks[s.Look].look, s.Fixture.Channel, s.Level})
	}
	return list
}

// Label names the channel for an order to a person.
func (p *Level) Label() string { return fmt.Sprintf("channel %d", p.Channel) }

// Edits changes the setting of the cue that sets the channel, or adds one to the cue.
func (p *Level) Edits(field string, value any) []source.Edit {
	at := p.look.Place()
	if by := p.look.SetBy(p.Channel, tracking.LevelBy); by.Look == p.look.Index && by.Setting != nil {
		at = by.Setting.At
	}
	return []source.Edit{{At: at, Field: field, Value: value, Only: []int{p.Channel}}}
}
