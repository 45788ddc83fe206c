package stage

import (
	"iter"
	"math"
	"math/bits"
	"slices"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/schema"
)

// Hues are the hues of a look, filaments and other whites set aside, and the light for
// faces too: a colour there is another matter. Lamps
// count by the light that arrives, see [Room.arriving].
type Hues struct {
	Lamps   int       // lit lamps whose light is a colour, but those for faces
	OK      bool      // the light can be added up, so the rest is known
	Any     bool      // there is a hue
	Largest float64   // the hue with the most light, OKLCh degrees
	Mains   []float64 // hues that carry a large share, largest first
	Accents int       // hues that carry a small share
	Second  float64   // light of the second hue as a part of that of the largest; 0 if there is none
	Drive   float64   // how far up the lamps of the less driven of two main hues are, as a part of the other's; 0 if they cannot be compared
	Beside  bool      // they hang on one level; false too where nobody says how high they hang
	Same    float64   // how much of the light of the two largest hues lands on the same surface, floor or people, 0 to 1; 1 where nobody can tell

	Tints []colour.Tint // every hue with its light, largest first
	Names []string      // both, in words

	groups []hueGroup
	tinted []*Lamp // lamps whose light is a colour, good until the room is asked again
	firsts []int   // among them, of each tint
}

// hueGroup is a main hue or an accent, with the tints that are of it.
type hueGroup struct {
	main       bool
	hue, share float64 // OKLCh degrees; the part of the coloured light
	up         float64 // how far its lamps are up, added up; of two main hues that can be compared
	tints      []int
}

// SecondLamps lists the lamps of the second of the two largest hues, and how much of their
// light they may keep to have a ratio of that of the first, and to be no farther up. Of the two
// the one that is nearer to the hue that is to lead does; without one, the one with more light.
func (h *Hues) SecondLamps(leading *float64, ratio float64) (lamps []*Lamp, factor float64) {
	if len(h.groups) < 2 {
		return nil, 1
	}
	lead, second := h.groups[0], h.groups[1]
	if leading != nil && colour.HuesApart(second.hue, *leading) < colour.HuesApart(lead.hue, *leading) {
		lead, second = second, lead
	}
	factor = ratio * lead.share / second.share
	if h.Drive > 0 {
		factor = min(factor, ratio*lead.up/second.up)
	}
	return slices.Collect(h.lampsOf(second)), factor
}

// NearHues is how near to a larger hue another is a shade of it: violet beside blue. In
// OKLCh degrees; common practice, no source.
const NearHues = 45

// Leading is how many of the main hues stand apart: a shade of a larger one is none more.
func (h *Hues) Leading() int {
	leading := 0
	for i := range h.Mains {
		if !isShade(h.Mains[i], h.Mains[:i]) {
			leading++
		}
	}
	return leading
}

func isShade(hue float64, larger []float64) bool {
	return slices.ContainsFunc(larger, func(l float64) bool { return colour.HuesApart(hue, l) < NearHues })
}

// Beyond lists the lamps of the hues beyond the largest so many main ones and accents.
func (h *Hues) Beyond(mains, accents int) []*Lamp {
	var list []*Lamp
	var larger []float64
	for _, group := range h.groups {
		shade := group.main && isShade(group.hue, larger)
		if group.main {
			larger = append(larger, group.hue)
		}
		switch {
		case shade:
		case group.main && mains > 0, !group.main && accents == 0 && mains > 0: // a small one may stand where a large one might
			mains--
		case !group.main && accents > 0:
			accents--
		default:
			list = slices.AppendSeq(list, h.lampsOf(group))
		}
	}
	return list
}

// HuesOf tells the hues of a look from the light of its lamps, or what is missing.
func (s *Room) HuesOf(look *LookLight) (h Hues, missing []string) {
	lamps := s.coloured[:0]
	var m Missing
	for _, lamp := range look.Lamps {
		if lamp.Missing != "" {
			m.Add(lamp.Missing)
		} else if lamp.Purpose != "key" && lamp.Purpose != "fill" && (lamp.Coloured != nil && *lamp.Coloured || lamp.sweeps()) {
			lamps = append(lamps, lamp)
		}
	}
	s.coloured = lamps
	if len(m.Phrases) > 0 {
		return h, m.Phrases
	}
	lumens, landed := s.arriving(look, lamps)
	// Lamps side by side that shine alike are one tint.
	tints, firsts := s.tints[:0], s.firsts[:0]
	for i, lamp := range lamps {
		flux := lamp.XYZ.Y
		if landed {
			flux = lumens[i]
		}
		if lamp.sweeps() { // it shows all hues, at once or one after the other
			for k := range sweptHues {
				tints = append(tints, colour.Tint{Hue: 360 / sweptHues * float64(k), Flux: flux / sweptHues})
				firsts = append(firsts, i+min(k, 1)) // the lamp is of the first of them
			}
			continue
		}
		if i > 0 && lamp.Light == lamps[i-1].Light && !lamps[i-1].sweeps() {
			tints[len(tints)-1].Flux += flux
			continue
		}
		tints = append(tints, colour.Tint{Hue: lamp.tint.Hue, Flux: flux})
		firsts = append(firsts, i)
	}
	firsts = append(firsts, len(lamps))
	s.tints, s.firsts = tints, firsts
	h.Lamps = len(lamps)
	hues, ok := colour.HuesOfTints(tints, hueLimits)
	if !ok {
		return h, nil
	}
	h.OK = true
	h.tinted, h.firsts = lamps, firsts
	for i, group := range hues.Groups {
		switch i {
		case 0:
			h.Any, h.Largest = true, group.Hue
		case 1:
			h.Second = group.ColouredShare / hues.Groups[0].ColouredShare
		}
		h.Tints = append(h.Tints, colour.Tint{Hue: group.Hue, Flux: group.Share * hues.Flux})
		switch group.Role {
		case colour.Main:
			h.Mains = append(h.Mains, group.Hue)
		case colour.Accent:
			h.Accents++
		default:
			continue // a trace that nobody sees
		}
		h.groups = append(h.groups, hueGroup{main: group.Role == colour.Main, hue: group.Hue, share: group.ColouredShare, tints: group.Lights})
		if name, ok := colour.HueFamily(group.Hue); ok {
			h.Names = append(h.Names, name)
		}
	}
	h.compareDrives()
	h.Same = 1
	if landed && len(h.groups) > 1 {
		h.Same = s.alike(look, h.lampsOf(h.groups[0]), h.lampsOf(h.groups[1]))
	}
	return h, nil
}

// alike is how much of the light of some lamps lands where that of others does, 0 to 1: what
// both have in common of their shares on each surface, the floor, people and the air.
func (s *Room) alike(look *LookLight, some, others iter.Seq[*Lamp]) (same float64) {
	canvases, bodies := s.canvases(), s.bodiesIn(look)
	shares := func(lamps iter.Seq[*Lamp]) []float64 {
		at, all := make([]float64, len(canvases)+2), 0.0
		for lamp := range lamps {
			if lamp.Purpose == "beam" || lamp.Purpose == "effect" {
				at[len(canvases)+1] += lamp.XYZ.Y
				continue
			}
			for i, c := range canvases {
				at[i] += lamp.Share * c.Mean[lamp.Beam.Column] * c.Rect.Width * c.Rect.Height
			}
			for _, body := range bodies {
				at[len(canvases)] += lamp.Share * body[lamp.Beam.Column]
			}
		}
		for _, lumens := range at {
			all += lumens
		}
		for i := range at {
			at[i] /= max(all, math.SmallestNonzeroFloat64)
		}
		return at
	}
	a, b := shares(some), shares(others)
	for i := range a {
		same += min(a[i], b[i])
	}
	return same
}

// compareDrives holds the dimmers of the lamps of two main hues against each other if all are
// of one type that mixes its colours and hang on one level. Blue gives few lumens for what it
// shows, so that equal lamps at equal levels look equal and are not in lumens. Lamps on the
// floor light something else than those above: a blue cloth leads beside an amber floor.
func (h *Hues) compareDrives() {
	if len(h.groups) < 2 || !h.groups[1].main {
		return
	}
	var kind *schema.Type
	lowest, highest, told := math.Inf(1), math.Inf(-1), true
	for i := range h.groups[:2] {
		for lamp := range h.lampsOf(h.groups[i]) {
			if kind == nil {
				kind = lamp.Kind
			}
			if at := lamp.Fixture.HungAt; at != nil {
				lowest, highest = min(lowest, at.Z), max(highest, at.Z)
			} else {
				told = false
			}
			if lamp.Kind != kind || len(kind.Emitters) < 2 || lamp.Fixture.Filter != nil || lamp.State.Rest != nil && lamp.State.Rest.Wheel != "" {
				return
			}
			h.groups[i].up += lamp.Control(lamp.Level)
		}
	}
	const oneLevel = 1.5 // metres; common practice, no source: bars of one row, with what hangs under them
	if highest-lowest > oneLevel {
		return
	}
	a, b := h.groups[0].up, h.groups[1].up
	if most := max(a, b); most > 0 {
		h.Drive, h.Beside = min(a, b)/most, told
	}
}

// lampsOf yields the lamps of a hue.
func (h *Hues) lampsOf(group hueGroup) iter.Seq[*Lamp] {
	return func(yield func(*Lamp) bool) {
		for _, tint := range group.tints {
			for _, lamp := range h.tinted[h.firsts[tint]:h.firsts[tint+1]] {
				if !yield(lamp) {
					return
				}
			}
		}
	}
}

// sweptHues is how many hues stand for a run through all of them: one each 30 degrees,
// as wide as a hue of a look may be.
const sweptHues = 12

// sweeps reports whether the lamp runs through hues by an effect.
func (l *Lamp) sweeps() bool {
	rest := l.State.Rest
	return rest != nil && rest.Effect != nil && (rest.Effect.Kind == "hue-sweep" || rest.Effect.Kind == "rainbow")
}

// HuesOver tells the hues of several looks together, each tint with its light times the
// time for which it stands: the main ones, of which a shade of a larger one is none more, and the accents, both in words, and the share of
// the largest in the coloured light, 0 to 1.
func HuesOver(tints []colour.Tint) (mains, accents int, names []string, largest float64, ok bool) {
	hues, ok := colour.HuesOfTints(tints, hueLimits)
	if !ok {
		return 0, 0, nil, 0, false
	}
	var larger []float64
	for i, group := range hues.Groups {
		if i == 0 {
			largest = group.ColouredShare
		}
		switch {
		case group.Role == colour.Main:
			if !isShade(group.Hue, larger) {
				mains++
			}
			larger = append(larger, group.Hue)
		case group.Role == colour.Accent:
			accents++
		default:
			continue
		}
		if name, ok := colour.HueFamily(group.Hue); ok {
			names = append(names, name)
		}
	}
	return mains, accents, names, largest, true
}

// HuesApart counts the hues of some tints that stand apart, and says them in words, largest
// first: a shade of a larger one is none more.
func HuesApart(tints []colour.Tint) (count int, names []string) {
	hues, _ := colour.HuesOfTints(tints, hueLimits)
	var larger []float64
	for _, group := range hues.Groups {
		if isShade(group.Hue, larger) {
			continue
		}
		larger = append(larger, group.Hue)
		if name, ok := colour.HueFamily(group.Hue); ok {
			names = append(names, name)
		}
	}
	return len(larger), names
}

// LargestHue is the hue with the most light of several looks together, in OKLCh degrees; nil
// without one.
func LargestHue(tints []colour.Tint) *float64 {
	if hues, ok := colour.HuesOfTints(tints, hueLimits); ok && len(hues.Groups) > 0 {
		return &hues.Groups[0].Hue
	}
	return nil
}

// What counts as light that arrives.
const (
	// bodyArea is what a person shows to the light of each of two planes, the face
	// and the shoulders, in square metres. Common practice, no source.
	BodyArea = 0.5
	// leastLanded is the part of a lamp's light that has to land on something that
	// the room describes: with less, what it is for is not described. Common
	// practice, no source.
	leastLanded = 0.1
)

// arriving is what coloured lamps count by in the hues of a look: the lumens that
// land on the people of the look, and those that land on surfaces and the stage
// floor times the part of each that shows towards the cameras, whatever it
// reflects. (A floor that a camera sees from the side shows little of itself.)
// Beams and effects are seen in the air and count by all the light that leaves
// them. ok is false if that cannot be told of each lamp, or if nearly all the
// light of one lands on nothing that the room describes; then all count by the
// light that leaves them.
func (s *Room) arriving(look *LookLight, lamps []*Lamp) (lumens []float64, ok bool) {
	if s.Transport == nil {
		return nil, false
	}
	bodies := s.bodiesIn(look)
	s.lumens = slices.Grow(s.lumens[:0], len(lamps))[:len(lamps)]
	lumens = s.lumens
	for i, lamp := range lamps {
		emitted := lamp.XYZ.Y
		lumens[i] = emitted
		if lamp.Purpose == "beam" || lamp.Purpose == "effect" {
			continue
		}
		b := lamp.Beam
		if b.Missing != "" {
			return nil, false
		}
		people := 0.0
		for _, body := range bodies {
			people += body[b.Column]
		}
		if lamp.Share*(b.Landed+people) < leastLanded*emitted {
			return nil, false
		}
		lumens[i] = min(lamp.Share*(b.Shown+people), emitted) // the grid of a surface is coarse
	}
	return lumens, true
}

// bodiesIn is what each column gives at full to each of the people of a look.
func (s *Room) bodiesIn(look *LookLight) (bodies [][]float64) {
	for _, name := range look.People() {
		if sp := s.Stand(name); sp != nil && sp.Body != nil {
			bodies = append(bodies, sp.Body)
		}
	}
	return bodies
}

// PaletteHues are the hues of a segment's on-screen palette. Greys ask for no
// hue; what is grey is told by chroma alone, because a picture has no white
// balance of lamps: #ffa500 is a colour on a screen and nearly white as a lamp.
func PaletteHues(segment *schema.Segment) []float64 {
	limits := hueLimits
	limits.LowestWhite = 0
	var hues []float64
	if segment != nil {
		for _, hex := range segment.Palette {
			xyz, err := colour.HexXYZ(hex)
			if err != nil {
				continue
			}
			if tint, ok := limits.Tint(xyz); ok && !tint.White {
				hues = append(hues, tint.Hue)
			}
		}
	}
	return hues
}

// PaletteApart finds of the main hues the one that is farthest from every hue of a
// palette, and by how many degrees.
func PaletteApart(mains, palette []float64) (deg, hue float64) {
	for _, main := range mains {
		nearest := 180.0
		for _, wanted := range palette {
			nearest = min(nearest, colour.HuesApart(main, wanted))
		}
		if nearest > deg {
			deg, hue = nearest, main
		}
	}
	return deg, hue
}

// systems are the purposes that count as systems of a stage rig. Whatever fills is one
// system with the key: both are there for the same face. Common practice, no source.
var systems = [7]string{"key", "back", "side", "top", "wash", "beam", "effect"}

// systemOf is the place of a purpose among the systems of a rig; -1 if it is none.
func systemOf(purpose string) int {
	if purpose == "fill" {
		purpose = "key"
	}
	return slices.Index(systems[:], purpose)
}

// SystemsLit counts the systems of the rig that have a lamp that is lit.
func (l *LookLight) SystemsLit() int {
	lit := 0 // a bit for each system
	for _, lamp := range l.Lamps {
		if lamp.system >= 0 {
			lit |= 1 << lamp.system
		}
	}
	return bits.OnesCount(uint(lit))
}

// Ups is how far the lamps of each system of the rig are up on average, 0 to 1, whatever
// their colours take away.
type Ups [len(systems)]float64

// Ups adds up the dimmers of each system.
func (l *LookLight) Ups(r *Rig) (up Ups) {
	for _, lamp := range l.Lamps {
		if lamp.system >= 0 {
			up[lamp.system] += lamp.up * float64(lamp.Count()) / float64(r.inSystem[lamp.system])
		}
	}
	return up
}

// SystemsUp counts the systems of the rig whose lamps are up: on average each has its
// dimmer at half of its light or more, and together they show beside the brightest system.
func (l *LookLight) SystemsUp(r *Rig) int {
	var shows [len(systems)]float64
	for _, lamp := range l.Lamps {
		switch {
		case lamp.system < 0:
		case lamp.Missing != "":
			shows[lamp.system] = math.Inf(1) // it may be as bright as any
		default:
			shows[lamp.system] += lamp.presence
		}
	}
	brightest := 0.0
	for _, flux := range shows {
		if !math.IsInf(flux, 1) {
			brightest = max(brightest, flux)
		}
	}
	count := 0
	for i, up := range l.Ups(r) {
		if up >= upPart-1e-9 && shows[i] >= besidePart*brightest { // a sum of parts
			count++
		}
	}
	return count
}

// LitUp is how far the dimmers of the lamps of the systems that are lit are up on average,
// 0 to 1; 0 if none is lit.
func (l *LookLight) LitUp() float64 {
	up, count := 0.0, 0
	for _, lamp := range l.Lamps {
		if lamp.system >= 0 {
			up += lamp.up * float64(lamp.Count())
			count += lamp.Count()
		}
	}
	if count == 0 {
		return 0
	}
	return up / float64(count)
}

// besidePart is the part of the light of the brightest system under which another does not
// show beside it. Common practice, no source.
const besidePart = 0.05

// upPart is the part of its light from which a lamp counts as up: a stop under full
// leaves nothing that is seen as a step. Common practice, no source.
const upPart = 0.5

// Sweeping lists the lamps that run through hues by an effect.
func (l *LookLight) Sweeping() []*Lamp {
	var list []*Lamp
	for _, lamp := range l.Lamps {
		if lamp.sweeps() {
			list = append(list, lamp)
		}
	}
	return list
}
