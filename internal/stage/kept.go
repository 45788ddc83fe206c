package stage

import (
	"maps"
	"reflect"
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Kept is what rigs of changed copies of a show take over from the rig of the show
// itself: the light of each state, and what each beam gives to every place and
// surface. It is found by what it depends on and by nothing else. An entity that a
// change touches is another one in the copy, so what was worked out for it before is
// not found again; nobody has to keep a list of what depends on what. It is never
// changed once its rig is made, so several goroutines may use it.
type Kept struct {
	types  []*schema.Type // of which lights and fluxes are
	lights map[lightKey]*Light
	makes  map[Make]*Make
	room   []photometry.Receiver // of which columns are
	beams  map[columnKey]keptBeam
	onto   map[landingKey]*landing

	spreads map[spreadKey]spread

	rig     *Rig
	full    float64
	missing []string
}

// Steady is what of the looks of a rig is as in the one that was kept.
type Steady struct {
	Looks  []bool // whether a look has the same light and is told the same: lamps that hang or point otherwise are dark in it, as they were
	Backs  bool   // a lamp from behind hangs or points otherwise, which is told where it is dark too
	Full   bool   // everything at full gives the same light
	Wiring bool   // nothing but cues and the wiring is another
}

// Steady holds a rig against the one that was kept. It is nil where what has changed may
// show in any look.
func (r *Rig) Steady(k *Kept) *Steady {
	if k == nil || k.rig.Basis != r.Basis || len(r.looks) == 0 || len(k.rig.looks) == 0 {
		return nil
	}
	was, s := k.rig, &Steady{}
	other, ok := r.otherwise(was, s)
	full, missing := r.FullOutput()
	if s.Full = k.full == full; !ok || !slices.Equal(k.missing, missing) {
		return nil
	}
	s.Looks = r.standing(was, other)
	return s
}

// standing tells of each look whether it has the same light as in another rig, and is told
// the same, if all but some lines of the patch is so.
func (r *Rig) standing(was *Rig, other []bool) []bool {
	same := make([]bool, len(r.looks))
	var lit, moved []*Line // those that can give light, and of them the others
	for _, line := range r.Lines {
		if line.stage || line.other {
			if lit = append(lit, line); other[line.index] {
				moved = append(moved, line)
			}
		}
	}
	for i := range min(len(r.looks), len(was.looks)) {
		look, old := &r.looks[i], &was.looks[i]
		lines := lit
		if look.Does(old) {
			lines = moved
		}
		same[i] = look.ToldAs(old) && !slices.ContainsFunc(lines, func(line *Line) bool {
			now, before := look.State(line.Channel), old.State(was.Lines[line.index].Channel)
			if other[line.index] {
				return now.Level > 0 || before.Level > 0
			}
			return now != before
		})
	}
	return same
}

// IsAs reports whether the rig is the one that was kept, and its looks use the same beams.
func (r *Rig) IsAs(k *Kept) bool {
	return r.Room.Transport != nil && r.Room.Transport == k.rig.Room.Transport && slices.Equal(r.Show.Patch, k.rig.Show.Patch)
}

// ShinesAs reports whether a fixture shines from where and to where the one in its line did
// in the rig that was kept, among the same eyes, lenses and surfaces.
func (r *Rig) ShinesAs(k *Kept, line int) bool {
	was := k.rig
	if r.Lines[line].Fixture != was.Lines[line].Fixture || !sameSight(r.Show.Room, was.Show.Room) {
		return false
	}
	f := r.Lines[line].Fixture
	return slices.EqualFunc(r.Room.byFixture[f], was.Room.byFixture[f], func(a, b *Beam) bool {
		return a.key() == b.key() && a.use == b.use && a.Missing == b.Missing
	})
}

// sameSight reports whether two rooms differ at most in how their cameras are set.
func sameSight(a, b *schema.Room) bool {
	if a == b || a == nil || b == nil {
		return a == b
	}
	other := *b
	other.Cameras = a.Cameras
	return slices.EqualFunc(a.Cameras, b.Cameras, func(a, b *schema.Camera) bool {
		set := *a
		set.WhiteK, set.TintDuv, set.ApertureF, set.ShutterS, set.SensitivityISO, set.NDStops = b.WhiteK, b.TintDuv, b.ApertureF, b.ShutterS, b.SensitivityISO, b.NDStops
		return a == b || reflect.DeepEqual(&set, b)
	}) && reflect.DeepEqual(a, &other)
}

// CuedAs reports whether all cues of another rig do the same to the same channels.
func (r *Rig) CuedAs(was *Rig) bool {
	return slices.Equal(r.Show.Cues, was.Show.Cues) && tracking.AllAlike(r.looks, was.looks)
}

// DimmedAs reports whether a line of the patch is as dim, where it is dimmest, as in the rig
// that was kept, in the same look.
func (r *Rig) DimmedAs(k *Kept, line int) bool {
	now, was := r.Lines[line], k.rig.Lines[line]
	return now.Dimmest == was.Dimmest && now.DimmestIn == was.DimmestIn
}

// otherwise tells which lines of the patch hang or point otherwise than in another rig. ok is
// false where more than that has changed, or lamps are counted by something else.
func (r *Rig) otherwise(was *Rig, s *Steady) (other []bool, ok bool) {
	if was.Show.Room != r.Show.Room || !slices.Equal(was.Show.Types, r.Show.Types) || !slices.Equal(was.Show.Order, r.Show.Order) || len(was.Lines) != len(r.Lines) {
		return nil, false
	}
	other, s.Wiring = make([]bool, len(r.Lines)), true
	for i, line := range r.Lines {
		before := was.Lines[i]
		if sameLight(line.Fixture, before.Fixture) {
			continue
		}
		if line.Purpose != before.Purpose || line.stage != before.stage || line.other != before.other {
			return nil, false
		}
		other[i], s.Wiring, s.Backs = true, false, s.Backs || line.Purpose == "back"
	}
	return other, r.PictureLamps() == was.PictureLamps()
}

// hangsAs reports whether nothing of the show has changed but cues and the wiring.
func (r *Rig) hangsAs(k *Kept) bool {
	was := k.rig.Show
	return was.Room == r.Show.Room && slices.Equal(was.Types, r.Show.Types) && slices.EqualFunc(was.Patch, r.Show.Patch, sameLight) && slices.Equal(was.Order, r.Show.Order)
}

// standsAs takes over the room as it was laid out for the rig that was kept, if that hangs
// as this one does and the looks use the same beams.
func (r *Rig) standsAs(k *Kept) bool {
	if k == nil || len(r.looks) == 0 || len(k.rig.looks) == 0 || !r.hangsAs(k) {
		return false
	}
	was := k.rig
	same := slices.EqualFunc(r.looks, was.looks, func(a, b tracking.Look) bool { return a.Does(&b) })
	if same {
		makes := map[*Make]*Make{}
		for i, line := range was.Lines {
			makes[line.Of] = r.Lines[i].Of // another where the make is one fixture alone, and that is wired up otherwise
		}
		r.Lights = make(map[lightKey]*Light, len(k.lights))
		for key, light := range k.lights {
			key.of = makes[key.of]
			if key.only != nil {
				key.only = r.Lines[was.lineOf[key.only].index].Fixture
			}
			r.Lights[key] = light
		}
	} else {
		uses, ok := r.meet(func(line *Line, state *tracking.State) *Beam {
			return was.Room.Beam(was.Lines[line.index].Fixture, state)
		})
		uses = append(uses, make([]use, len(was.Room.InOrder)-len(uses))...)
		if !ok || !slices.EqualFunc(uses, was.Room.InOrder, func(u use, b *Beam) bool { return u == b.use }) {
			return false
		}
	}
	r.Room, r.Basis = was.Room.Another(), was.Basis
	r.Room.Rig = r
	changed := false
	for i, line := range r.Lines {
		before := was.Lines[i]
		line.Best, line.placed = before.Best, before.placed
		if same {
			line.Dimmest, line.DimmestIn, line.Brightest = before.Dimmest, before.DimmestIn, before.Brightest
		}
		changed = changed || line.Fixture != before.Fixture
	}
	if changed { // wired up otherwise
		r.Room.beams, r.Room.byFixture = maps.Clone(r.Room.beams), maps.Clone(r.Room.byFixture)
		for i, line := range r.Lines {
			if before := was.Lines[i].Fixture; line.Fixture != before {
				r.Room.byFixture[line.Fixture] = r.Room.byFixture[before]
				delete(r.Room.byFixture, before)
			}
		}
		for key, b := range was.Room.beams {
			if line := r.Lines[was.lineOf[key.fixture].index]; line.Fixture != key.fixture {
				delete(r.Room.beams, key)
				key.fixture = line.Fixture
				r.Room.beams[key] = b
			}
		}
	}
	return true
}

// sameLight reports whether two lines of the patch differ at most in how the fixture
// is wired up.
func sameLight(a, b *schema.Fixture) bool {
	if a == b {
		return true
	}
	wired := *a
	wired.Address, wired.MoreAddresses, wired.Mode, wired.Circuit = b.Address, b.MoreAddresses, b.Mode, b.Circuit
	return reflect.DeepEqual(&wired, b)
}

// columnKey is all that the beam of a fixture depends on.
type columnKey struct {
	fixture *schema.Fixture
	kind    *schema.Type
	zoom    float64
	frame   photometry.Frame
}

// keptBeam is a beam and what it gives to every receiver.
type keptBeam struct {
	beam   *Beam
	column *photometry.Column
}

// Keep returns what rigs of changed copies can take over from this one.
func (r *Rig) Keep() *Kept {
	r.kept = nil // or one would hold on to all before it
	k := &Kept{types: r.Show.Types, lights: r.Lights, makes: r.makes, room: r.Room.Receivers, beams: make(map[columnKey]keptBeam, len(r.Room.Columns)), onto: r.Room.onto, spreads: r.spreads, rig: r}
	k.full, k.missing = r.FullOutput()
	for i, b := range r.Room.Columns {
		k.beams[b.key()] = keptBeam{b, r.Room.given[i]}
	}
	return k
}

// landingKey is a beam and a surface.
type landingKey struct {
	beam columnKey
	rect photometry.Rect
}

// landing is what of a beam lands on a surface, in lumens at full, followed by its own
// rays; ok is false where that cannot be told.
type landing struct {
	lumens float64
	ok     bool
}

// landing follows a beam to a surface, if that is not known.
func (k *Kept) landing(b *Beam, rect photometry.Rect) *landing {
	if k != nil {
		if l := k.onto[landingKey{b.key(), rect}]; l != nil {
			return l
		}
	}
	lumens, ok := b.Source.LumensOn(rect)
	return &landing{lumens, ok}
}

func (b *Beam) key() columnKey { return columnKey{b.fixture, b.kind, b.zoom, b.frame} }

// light is what a state makes of a fixture, if it is known; else nil.
func (k *Kept) light(line *Line, state *tracking.State) *Light {
	if k == nil {
		return nil
	}
	return lightOf(k.lights, line, state)
}

// lightKey is all that a light depends on, beside the types.
type lightKey struct {
	state *tracking.State
	of    *Make
	only  *schema.Fixture // the one that it belongs to, because something is missing; nil: all of its make
}

func lightOf(lights map[lightKey]*Light, line *Line, state *tracking.State) *Light {
	if l := lights[lightKey{state, line.Of, nil}]; l != nil {
		return l
	}
	return lights[lightKey{state, line.Of, line.Fixture}]
}

// columns are what beams give to receivers; only those are worked out that are not
// known.
func (k *Kept) columns(receivers []photometry.Receiver, beams []*Beam) []*photometry.Column {
	list := make([]*photometry.Column, len(beams))
	var missing []int
	usable := k != nil && slices.Equal(k.room, receivers)
	for i, b := range beams {
		if usable {
			list[i] = k.beams[b.key()].column
		}
		if list[i] == nil {
			missing = append(missing, i)
		}
	}
	cores.Stretches(len(missing), func(from, to int) {
		for _, i := range missing[from:to] {
			list[i] = photometry.NewColumn(receivers, beams[i].Source, leastLux)
		}
	})
	return list
}
