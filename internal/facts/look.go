package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Look is the stage after one cue.
type Look struct {
	unknowns
	look *tracking.Look

	cueWords
	*segmentWords
	OutputPct    *float64 `expr:"output_pct"`          // light of the stage rig that arrives on people, surfaces and the stage floor, as percent of that of everything at full; beams and effects, and everything if the show's output_basis is "emitted", count by all light that leaves them
	PeakShare    *float64 `expr:"output_of_peak_pct"`  // its output_pct as percent of the brightest look of the show
	PictureShare *float64 `expr:"picture_of_peak_pct"` // luminous flux of its picture without key light, in percent of the brightest of the show
	Opens        bool     `expr:"opens_evening"`       // whether it is of an opening, or the first lit look of the running order
	LouderComes  bool     `expr:"louder_follows"`      // whether a part that is to be loud follows, and its own is not to be loud
	Silhouette   bool     `expr:"has_silhouette"`      // whether somebody is meant to stand as a shape in it

	*lookLight

	dimmest, brightest *Person // of those who lead
	darker, brighter   *Person // of those who are compared with them
	shaded             *Person // the dimmest of all whose face is lit
	*around
	back *back
}

// cueWords are what the look of a cue and the change into it call it.
type cueWords struct {
	Number  string `expr:"cue"`  // the number of the cue
	CueName string `expr:"name"` // the name of the cue, or ""
}

// segmentWords are what its cues say of a segment. Cues that follow each other mostly say the
// same and have them together: they are not written.
type segmentWords struct {
	SegmentName string   `expr:"segment"`      // the segment it belongs to, or ""
	SegmentKind string   `expr:"segment_kind"` // song, talk, prayer..., or ""
	Meant       []string `expr:"meant"`        // what the cue and its segment mean for every place, as words of the vocabulary
}

func (w *segmentWords) are(other *segmentWords) bool {
	return w.SegmentName == other.SegmentName && w.SegmentKind == other.SegmentKind && slices.Equal(w.Meant, other.Meant)
}

// around is what comes and goes about a look. Looks that follow each other mostly have the same
// together: it is not written.
type around struct {
	passes  bool     // the next cue comes in the same moment: nobody sees it
	coming  []string // places of those who are there in the next look, if that comes soon
	moving  []string // places that somebody leaves with this look, or comes to with the next
	early   []string // of those whose segment begins in this look, because its first cue comes late
	earlyIn *schema.Segment
	late    *Look // the look of that cue
	lateS   float64
}

func (a *around) is(other *around) bool {
	return a.passes == other.passes && a.earlyIn == other.earlyIn && a.late == other.late && a.lateS == other.lateS &&
		slices.Equal(a.coming, other.coming) && slices.Equal(a.moving, other.moving) && slices.Equal(a.early, other.early)
}

// lookLight is what was measured of a look alone. Looks that come back, and those of a changed
// copy of a show that stand as they stood, have it together: it is not written once they do.
type lookLight struct {
	tints   []colour.Tint // its hues with their light
	output  float64       // what of its light counts, in lumens
	allDark bool          // there are faces, and none is lit

	Mood         string   `expr:"mood"`                   // of its segment: quiet, middle, loud, or ""
	Coloured     *int     `expr:"coloured_count"`         // lit lamps, key and fill aside, whose light is not white
	MainHues     *int     `expr:"main_hue_count"`         // hues that carry a large share of the coloured light: what lands on people and, as the cameras see it, on surfaces and the floor, and all light of beams and effects; where the room does not tell, the light that leaves the lamps
	AccentHues   *int     `expr:"accent_hue_count"`       // hues that carry a small share of it
	SecondHue    *float64 `expr:"second_hue_ratio"`       // light of its second hue as a part of that of its largest; 0 if there is none
	SecondUp     *float64 `expr:"second_drive_ratio"`     // how far up the lamps of one of its two largest hues are as a part of those of the other; 0 unless both are main hues, of lamps of one type that mixes its colours
	SecondSame   *float64 `expr:"second_same_place_pct"`  // how much of the light of its two largest hues lands on the same surface, floor or people; 100 where that cannot be told or there is no second
	SecondNear   bool     `expr:"second_is_beside"`       // whether these lamps hang on one level; false too where nobody says how high they hang
	HueNames     *string  `expr:"hue_names"`              // its hues in words, largest share first
	NearestHue   *float64 `expr:"nearest_kept_hue_deg"`   // its largest hue as a degree of the colour wheel, for odd lamps to join
	HasPalette   bool     `expr:"has_palette"`            // whether its segment has an on-screen palette with a colour
	PaletteApart *float64 `expr:"palette_apart_deg"`      // how far the main hue that is farthest from that palette is from it
	OffHue       string   `expr:"off_hue"`                // that hue in a word
	RedMain      *bool    `expr:"red_is_main"`            // whether one of its main hues is red
	SystemsLit   int      `expr:"systems_lit"`            // purposes with a lamp that is lit: key (with fill), back, side, top, wash, beam, effect
	SystemsUp    int      `expr:"systems_up"`             // of the lit purposes those that are up: on average their lamps have their dimmers, and the fullest emitter of a mix, at half of their light or more; and they show beside the brightest of them
	Systems      int      `expr:"systems"`                // purposes that the patch has
	LitUp        float64  `expr:"lit_up_pct"`             // how far the dimmers of the lamps of these purposes that are lit, and the fullest emitter of a mix, are up on average
	SweepCount   int      `expr:"sweep_count"`            // lit lamps that run through hues by an effect
	SweepText    string   `expr:"sweep_channels_text"`    // the same lamps, as "21-24"
	People       int      `expr:"people_count"`           // people on stage in it
	FaceRange    *float64 `expr:"face_range_stops"`       // from the dimmest to the brightest face of those who speak or lead; in a song that names nobody, 0
	KeysApart    float64  `expr:"key_levels_apart_stops"` // where no light on a face is known: from the lowest to the highest of their key lights, if these are of one type; else 0
	Dimmest      string   `expr:"dimmest_place"`          // the place of the dimmest face
	Brightest    string   `expr:"brightest_place"`        // the place of the brightest face
	OthersApart  *float64 `expr:"others_apart_stops"`     // the most that one of the others differs from one who leads; in a song that names nobody, from the dimmest to the brightest
	Darker       string   `expr:"darker_place"`           // the place of the dimmer of those two
	Brighter     string   `expr:"brighter_place"`         // the place of the brighter of them
	WaitingCount *int     `expr:"waiting_count"`          // places where nobody is and key light stands that lights nobody else, unless somebody comes with the next cue, and that within a minute
	WaitingText  string   `expr:"waiting_places_text"`    // the same places, as "lectern and pulpit"
	WalkLux      *float64 `expr:"walk_lx"`                // the light on the floor at the darkest step of the paths that somebody walks; unknown where nobody is known to walk
	WalkDip      float64  `expr:"dip_stops"`              // by how much a face on a path between two people is darker at the worst step than at the darker end, in a part in which people speak; else, and where nobody knows, 0
	DipPath      string   `expr:"dip_path"`               // that path
	WalkInferred bool     `expr:"walk_is_inferred"`       // whether nobody says that anybody walks, and people change there
	UnseenWay    bool     `expr:"way_is_unknown"`         // whether people change while no house light is lit, and no path tells where they walk
	HouseLux     float64  `expr:"way_ambient_lx"`         // then the light that is there without any lamp, as far as it is told
	Walked       string   `expr:"walked_path"`            // that path, or "" if nobody is known to walk
}

// Names returns the cue.
func (l *Look) Names() []Name { return []Name{{"cue", l.Number}} }

// Cue returns the number of the cue.
func (l *Look) Cue() string { return l.Number }

// Why returns what would make the fact known.
func (l *Look) Why(fact string) []string { return named(l.unknowns.Why(fact), "cue", l.Number) }

// Basis returns what a fact rests on.
func (l *Look) Basis(fact string) finding.Basis {
	b := l.unknowns.Basis(fact)
	b.Missing, b.Rests = l.Why(fact), named(b.Rests, "cue", l.Number)
	return b
}

// Ref returns where the cue stands.
func (l *Look) Ref() source.Ref { return l.look.Place() }

// standing are the places on which somebody is in a look. Whoever is there before and after a
// black on purpose in which nobody is named has gone nowhere meanwhile.
func standing(looks []tracking.Look, i int) []string {
	people := func(i int) []string { return (&stage.LookLight{Resolved: &looks[i]}).People() }
	is := people(i)
	if i == 0 || i+1 >= len(looks) || is == nil || len(is) > 0 || !slices.Contains(looks[i].Meant(""), "black") {
		return is
	}
	was, next := people(i-1), people(i+1)
	return slices.DeleteFunc(slices.Clone(was), func(place string) bool { return !slices.Contains(next, place) })
}

// nameLooks makes the looks with what their cues and segments say of them.
func (m *Measured) nameLooks(looks []tracking.Look) {
	m.Looks = make([]*Look, len(looks))
	words, last := &segmentWords{}, &around{}
	share := func(l *Look, now *around) {
		if !now.is(last) {
			last = new(*now)
		}
		l.around = last
	}
	var before *Look
	var about, next around // of the look before, and of this one
	for i := range looks {
		raw := &looks[i]
		l := &Look{look: raw, cueWords: cueWords{Number: raw.Number.String(), CueName: raw.Name()}, back: m.back}
		said := segmentWords{Meant: raw.Meant("")}
		if segment := raw.Segment; segment != nil {
			said.SegmentName, said.SegmentKind = segment.Name, segment.Kind
		}
		if !said.are(words) {
			words = new(said)
		}
		l.segmentWords = words
		m.Looks[i] = l
		if i > 0 {
			was, is := standing(looks, i-1), standing(looks, i)
			if !standsLong(looks, i-1) {
				about.coming = is
			}
			about.passes = before.look.Segment != nil && raw.Segment == before.look.Segment && isTimed(before.look) && isTimed(raw) && calledAt(before.look) >= calledAt(raw)
			if was != nil && is != nil {
				about.moving, next.moving = append(about.moving, without(is, was)...), without(was, is)
			}
			if at := calledAt(raw) + waits(raw); raw.Segment != nil && raw.Segment != before.look.Segment && at > lateS {
				about.early, _ = (&stage.LookLight{Resolved: raw}).Leads()
				about.earlyIn, about.late, about.lateS = raw.Segment, l, at
			}
			share(before, &about)
			about, next = next, around{}
		}
		before = l
	}
	if before != nil {
		share(before, &about)
	}
}

// measureLooks measures one look after the other, with the people and the screens in
// it, and keeps the words alone. Nothing of a look depends on another but what its
// cue means, so stretches of them are measured side by side.
func (m *Measured) measureLooks(r *stage.Rig, looks []tracking.Look, kept *Kept, steady *stage.Steady) {
	m.nameLooks(looks)
	firsts := m.firsts(r.Show, looks)
	full, fullMissing := r.FullOutput()
	people, showings := make([][]*Person, len(looks)), make([][]*Showing, len(looks))
	take := func(i int) (ok bool) {
		people[i], showings[i], ok = kept.look(m.Looks[i], steady, full)
		return ok
	}
	measure := func(list []int) {
		cores.Stretches(len(list), func(from, to int) {
			room, walk := r.Room.Another(), r.Walk()
			var lit stage.LookLight
			var near neighbours
			places, screens := sameThings{}, sameThings{}
			for _, i := range list[from:to] {
				if take(i) {
					continue
				}
				l := m.Looks[i]
				if l.lookLight = (&lookLight{}); l.look.Segment != nil {
					l.Mood = l.look.Segment.Mood
				}
				walk.To(&looks[i], &lit)
				l.fillSystems(r, &lit)
				l.fillOutput(&lit, full, fullMissing)
				l.fillHues(room, &lit)
				people[i], showings[i] = peopleAndScreens(room, &lit, l)
				near.share(&l.unknowns)
				places.sharePeople(people[i])
				screens.shareScreens(showings[i])
			}
		})
	}
	var news, rest []int
	for i, first := range firsts {
		if i == first {
			news = append(news, i)
		} else {
			rest = append(rest, i)
		}
	}
	measure(news)
	for _, i := range rest {
		if !take(i) {
			first := firsts[i]
			people[i], showings[i] = m.Looks[i].repeat(m.Looks[first], people[first], showings[first])
		}
	}
	compareOutput(m.Looks)
	fillOpening(m.Looks, r.Show.Order)
	m.faces, m.Showings = slices.Concat(people...), slices.Concat(showings...)
	fillDark(m.faces)
	m.People = slices.DeleteFunc(slices.Clone(m.faces), (*Person).waitsInLight)
	fillHeld(m.People)
	fillLookDrift(m.People)
	sameThings{}.sharePeople(m.faces) // what was said since is each one's own
}

// without are the names of one list that another does not have.
func without(list, other []string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(name string) bool { return slices.Contains(other, name) })
}

// waitingS is how long light may wait on a place for somebody who comes with the next cue,
// in seconds. Common practice, no source.
const waitingS = 60

// standsLong reports whether a look that another follows stands longer than that: by the
// times of the running order, or, where nobody tells them, because it is all of its segment.
func standsLong(looks []tracking.Look, i int) bool {
	look, next := &looks[i], &looks[i+1]
	segment := look.Segment
	begins := i == 0 || looks[i-1].Segment != segment
	switch {
	case segment == nil:
		return false
	case next.Segment == segment:
		return calledAt(next)-calledAt(look) > waitingS
	case segment.DurationS == nil:
		return begins
	}
	return (begins || calledAt(look) > 0) && *segment.DurationS-calledAt(look)+calledAt(next) > waitingS
}

// lateS is how long after the beginning of a segment its first cue may be called
// before its people count as being there without it, in seconds. Common practice, no source.
const lateS = 10

// calledAt is how long after the beginning of its segment a cue is called, in seconds;
// 0 if nobody says.
func calledAt(look *tracking.Look) (seconds float64) {
	for _, part := range look.Parts {
		if part.AtS != nil {
			seconds = max(seconds, *part.AtS)
		}
	}
	return seconds
}

// waits is how long a look waits before anything of it moves.
func waits(look *tracking.Look) (seconds float64) {
	for i, part := range look.Parts {
		if delay := stage.Value(part.DelayS); i == 0 || delay < seconds {
			seconds = delay
		}
	}
	return seconds
}

// isCalledLate and isDelayed are the two reasons why light comes late: its cue is called
// late, or waits longer than that before anything moves.
func isCalledLate(called, waits float64) bool { return called > 0 && called >= waits }
func isDelayed(called, waits float64) bool    { return waits > called }

// lateBy is the part of a cue whose light comes so many seconds late for one of the two
// reasons; nil if none does, or it is not late.
func (l *Look) lateBy(seconds float64, reason func(called, waits float64) bool) *Cue {
	if seconds <= 0 {
		return nil
	}
	for _, part := range l.look.Parts {
		called, waits := stage.Value(part.AtS), stage.Value(part.DelayS)
		if called+waits == seconds && reason(called, waits) {
			return &Cue{cue: part, Number: l.Number, notPatched: &notPatched{}}
		}
	}
	return nil
}

// isTimed reports whether somebody says when a cue is called.
func isTimed(look *tracking.Look) bool {
	return slices.ContainsFunc(look.Parts, func(part *schema.Cue) bool { return part.AtS != nil })
}

func (l *Look) fillOutput(lit *stage.LookLight, full float64, fullMissing []string) {
	output, missing := lit.Output()
	l.output = output
	l.lacks("output_pct", missing...)
	switch {
	case len(fullMissing) > 0:
		l.lacks("output_pct", fullMissing...)
	case len(missing) > 0:
	case full > 0:
		l.OutputPct = new(100 * output / full)
	default:
		l.lacks("output_pct", "the patch: which channel is which fixture")
	}
}

// fillHues tells the hues of the look.
func (l *Look) fillHues(s *stage.Room, lit *stage.LookLight) {
	facts := []string{"palette_apart_deg", "red_is_main", "coloured_count", "main_hue_count", "accent_hue_count", "second_hue_ratio", "second_drive_ratio", "second_same_place_pct", "hue_names", "nearest_kept_hue_deg"}
	hues, missing := s.HuesOf(lit)
	if len(missing) > 0 {
		l.lackAll(facts, missing...)
		return
	}
	l.Coloured = new(hues.Lamps)
	if !hues.OK {
		l.lackAll(facts, "light in "+thisOne+" that can be added up")
		return
	}
	l.MainHues, l.AccentHues = new(hues.Leading()), new(hues.Accents)
	l.HueNames, l.SecondHue, l.SecondUp, l.tints = new(spelling.List(hues.Names)), &hues.Second, &hues.Drive, hues.Tints
	l.SecondSame = new(100 * hues.Same)
	if l.SecondNear = hues.Beside; hues.Drive > 0 && !hues.Beside {
		l.rests("second_drive_ratio", finding.Basis{Known: finding.Assumed, Rests: []string{"the lamps of both colours hanging on one level, since nobody says how high they hang"}})
	}
	l.RedMain = new(slices.ContainsFunc(hues.Mains, func(hue float64) bool {
		name, _ := colour.HueFamily(hue)
		return name == "red"
	}))
	if hues.Any {
		if wheel, ok := colour.WheelHue(hues.Largest); ok {
			l.NearestHue = &wheel
		}
	} else {
		l.lacks("nearest_kept_hue_deg", "a colour in "+thisOne)
	}
	palette := stage.PaletteHues(l.look.Segment)
	if len(palette) == 0 {
		l.lacks("palette_apart_deg", "an on-screen palette with a colour for the segment of "+thisOne)
		return
	}
	apart, off := stage.PaletteApart(hues.Mains, palette)
	l.PaletteApart = &apart
	if apart > 0 {
		l.OffHue, _ = colour.HueFamily(off)
	}
}

// fillSystems tells which systems of the rig are lit, and which lamps run through
// hues.
func (l *Look) fillSystems(r *stage.Rig, lit *stage.LookLight) {
	sweeping := lit.Sweeping()
	l.SweepCount, l.SweepText = len(sweeping), schema.FormatChannels(stage.ChannelNumbers(sweeping))
	l.SystemsLit, l.SystemsUp, l.Systems = lit.SystemsLit(), lit.SystemsUp(r), r.Systems
	l.LitUp = 100 * lit.LitUp()
	l.HasPalette = len(stage.PaletteHues(l.look.Segment)) > 0
}

// SweepLamps are the lamps to stop: their effect starts here, or comes from a look
// that means it.
func (l *Look) SweepLamps() (lamps []*Lamp) {
	l.back.to(l.look, func(_ *stage.Room, lit *stage.LookLight, _ []string) {
		meant := l.look.Index == 0 || slices.Contains(l.back.all.Looks[l.look.Index-1].Meant, "sweep")
		for _, lamp := range lit.Sweeping() {
			if meant || l.look.SetBy(lamp.Channel, tracking.RestBy).Look == l.look.Index {
				lamps = append(lamps, newLamp(lamp))
			}
		}
	})
	return lamps
}

// OddLamps are the lamps of the hues beyond the largest so many main hues and accents.
func (l *Look) OddLamps(maxMain, maxAccent float64) (lamps []*Lamp) {
	l.back.to(l.look, func(s *stage.Room, lit *stage.LookLight, _ []string) {
		if hues, missing := s.HuesOf(lit); len(missing) == 0 {
			lamps = newLamps(hues.Beyond(int(maxMain), int(maxAccent)))
		}
	})
	return lamps
}

// comparePicture holds the picture of each look without its key light against the
// brightest; where there never is any, none is bright.
func comparePicture(looks []*Look, d *evening.Dynamics) {
	most := 0.0
	for _, flux := range d.Luminous {
		most = max(most, flux)
	}
	var near neighbours
	for i, l := range looks {
		if l.PictureShare = nil; l.PeakShare == nil {
			l.lacks("picture_of_peak_pct", l.Why("output_of_peak_pct")...)
			near.share(&l.unknowns)
			continue
		}
		l.PictureShare = new(0.0)
		if most > 0 {
			l.PictureShare = new(100 * d.Luminous[i] / most)
		}
	}
}

// SecondToTurn are the lamps of its second hue with the level at which their light is a
// ratio of that of the hue that leads: the first of its palette, or else the one that has
// the most light in the other looks.
func (l *Look) SecondToTurn(ratio float64) (turns []*Turn) {
	l.back.to(l.look, func(s *stage.Room, lit *stage.LookLight, _ []string) {
		hues, missing := s.HuesOf(lit)
		if len(missing) > 0 {
			return
		}
		if lamps, factor := hues.SecondLamps(l.leadingHue(), ratio); factor < 1 {
			turns, _ = newTurns(lamps, factor)
		}
	})
	return turns
}

// leadingHue is the hue that should lead in the look; nil if nothing tells.
func (l *Look) leadingHue() *float64 {
	if palette := stage.PaletteHues(l.look.Segment); len(palette) > 1 {
		return &palette[0]
	}
	var others []colour.Tint
	for _, other := range l.back.all.Looks {
		if other != l {
			others = append(others, other.tints...)
		}
	}
	return stage.LargestHue(others)
}

// fillOpening tells which looks open the evening, and what they leave room for.
func fillOpening(looks []*Look, order []*schema.Segment) {
	first := true
	for _, l := range looks {
		segment := l.look.Segment
		if segment == nil {
			continue
		}
		l.Opens = segment.Kind == "opening" || first && l.SystemsLit > 0
		first = first && l.SystemsLit == 0
		behind := order[slices.Index(order, segment)+1:]
		l.Silhouette = hasSilhouette(l)
		l.LouderComes = segment.Mood != "loud" && slices.ContainsFunc(behind, evening.IsLoud)
	}
}

// compareOutput holds the light of each look against the brightest.
func compareOutput(looks []*Look) {
	peak := 0.0
	var m stage.Missing
	for _, l := range looks {
		if l.OutputPct != nil {
			peak = max(peak, *l.OutputPct)
		}
		m.Add(l.Why("output_pct")...)
	}
	missing := m.Phrases
	var near neighbours
	for _, l := range looks {
		l.lacks("output_of_peak_pct", missing...)
		if len(missing) == 0 && peak > 0 {
			l.PeakShare = new(100 * *l.OutputPct / peak)
		} else if peak <= 0 {
			l.lacks("output_of_peak_pct", "a look that is lit")
		}
		near.share(&l.unknowns)
	}
}
