package facts

import (
	"fmt"
	"slices"
	"sync"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// statesPerCue is about how many states of lamps a cue brings, for the size of a
// map that would otherwise grow many times.
const statesPerCue = 32

// rig is the show with its names looked up once.
type rig struct {
	mu sync.Mutex // for what lamp looks up while looks are measured side by side

	show     *schema.Show
	types    map[string]*schema.Type
	surfaces map[string]*schema.Surface
	places   map[string]*schema.Place
	byChan   map[int]*schema.Fixture // the first fixture on a channel
	lines    []*patched              // of the patch, in its order
	lineOf   map[*schema.Fixture]*patched
	fluxes   map[*schema.Type]float64
	emitters map[*schema.Type]engine
	colours  map[colour.XY]*impression
	shines   map[*tracking.State]*shine               // the last made of each state; the others follow
	whites   map[whiteKey]*colour.XY                  // nil: no such white
	anyFlux  bool                                     // whether a type of the rig has a flux
	occupied map[string]bool                          // places where somebody stands in any segment
	basis    basis                                    // what lamps count by; known once the scene is laid out
	systems  int                                      // purposes of a stage rig that the patch has
	scene    *scene                                   // laid out once
	files    map[*schema.Type]photometry.Distribution // read once
}

func newRig(show *schema.Show) *rig {
	r := &rig{
		show: show, types: map[string]*schema.Type{}, surfaces: map[string]*schema.Surface{},
		places: map[string]*schema.Place{}, byChan: map[int]*schema.Fixture{},
		lineOf: map[*schema.Fixture]*patched{}, shines: make(map[*tracking.State]*shine, len(show.Cues)*statesPerCue),
		fluxes: map[*schema.Type]float64{}, emitters: map[*schema.Type]engine{}, colours: map[colour.XY]*impression{}, whites: map[whiteKey]*colour.XY{}, occupied: map[string]bool{},
		files: map[*schema.Type]photometry.Distribution{},
	}
	for _, t := range show.Types {
		r.types[t.Name] = t
	}
	if show.Room != nil {
		for _, s := range show.Room.Surfaces {
			r.surfaces[s.Name] = s
		}
		for _, p := range show.Room.Places {
			r.places[p.Name] = p
		}
	}
	for _, f := range show.Patch {
		if r.byChan[f.Channel] == nil {
			r.byChan[f.Channel] = f
		}
	}
	for _, t := range show.Types {
		r.anyFlux = r.anyFlux || r.fluxOf(t) > 0
	}
	has := map[int]bool{-1: true}
	for i, f := range show.Patch {
		line := &patched{Channel: f.Channel, Type: f.Type, Purpose: f.Purpose, fixture: f, stage: r.stageLight(f), system: slices.Index(systems, f.Purpose)}
		line.of = makeOf{r.types[f.Type], f.Filter, value(f.WhiteK)}
		if i > 0 {
			line.asBefore = line.of == r.lines[i-1].of
		}
		r.lines = append(r.lines, line)
		r.lineOf[f] = line
		has[line.system] = true
	}
	r.systems = len(has) - 1
	for _, segment := range show.Order {
		for _, place := range segment.People {
			r.occupied[place] = true
		}
	}
	return r
}

// needPatch is what is missing where there is no patch: with no lamp known, a
// stage is not dark and a cue does not do nothing.
const needPatch = "the patch: which channel is which fixture, at which address"

// hasPatch reports whether the show says which lamps there are.
func (r *rig) hasPatch() bool { return len(r.show.Patch) > 0 }

// stageLight reports whether a fixture lights the stage: neither house light nor
// a lamp that is part of the set nor a haze machine.
func (r *rig) stageLight(f *schema.Fixture) bool {
	if t := r.types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) {
		return false
	}
	return f.Purpose != "house" && f.Purpose != "practical" && f.Purpose != "haze"
}

// slots returns how many slots a fixture listens to; nil with what is missing.
func (r *rig) slots(f *schema.Fixture) (*int, string) {
	t := r.types[f.Type]
	switch {
	case f.Type == "":
		return nil, fmt.Sprintf("the type of the fixture on channel %d", f.Channel)
	case t == nil:
		return nil, fmt.Sprintf("the type %q, with its slots", f.Type)
	case f.Mode != "":
		for _, mode := range t.Modes {
			if mode.Name == f.Mode && mode.Slots != nil {
				return mode.Slots, ""
			}
		}
		if len(t.Modes) > 0 {
			return nil, fmt.Sprintf("the slots of the mode %q of the type %q", f.Mode, t.Name)
		}
	case len(t.Modes) == 1 && t.Modes[0].Slots != nil && t.Slots == nil:
		return t.Modes[0].Slots, ""
	case len(t.Modes) > 1 && t.Slots == nil:
		return nil, fmt.Sprintf("the mode of the fixture on channel %d", f.Channel)
	}
	if t.Slots == nil {
		return nil, fmt.Sprintf("the slots of the type %q", t.Name)
	}
	return t.Slots, ""
}

// otherLights are the fixtures that give light without being stage lights:
// house lights and lamps that are part of the set.
func (r *rig) otherLights() []*schema.Fixture {
	var list []*schema.Fixture
	for _, f := range r.show.Patch {
		if t := r.types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) || f.Purpose == "haze" || r.stageLight(f) {
			continue
		}
		list = append(list, f)
	}
	return list
}

// beams are the stage lights of the purpose beam.
func (r *rig) beams() []*schema.Fixture {
	var beams []*schema.Fixture
	for _, f := range r.show.Patch {
		if f.Purpose == "beam" && r.stageLight(f) {
			beams = append(beams, f)
		}
	}
	return beams
}
