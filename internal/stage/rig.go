// Package stage is the light in the room: what the lamps of a rig do in a look, and
// what of it arrives on people, screens and the stage floor.
//
// In go a show and its looks. [NewRig] looks its names up and lays out the room once
// (each fixture in each aim and zoom, the light that it gives on every plane). A
// [Walk] goes from look to look, and a [Room] answers what arrives somewhere: [Room.Light] brings it to a look, [Room.FaceOn] is somebody on a place
// as the cameras see them, [Room.SpillOn] a surface, [Room.HuesOf] the hues. What
// cannot be known comes back as phrases that fit behind "give": never as zero, never
// as NaN. Beside a formula stands its way back, with the number to aim at as an
// argument ([Lamp.LevelFor], [Rig.CommonWhite], [Room.CutFor]): which number that
// is, a rule says. A newcomer's mistake would be to ask a room for a look that it
// was not brought to: a room holds one look at a time, and several goroutines need
// [Room.Another] each.
package stage

import (
	"maps"
	"slices"
	"sync"

	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Rig is the show with its names looked up once.
type Rig struct {
	mu sync.Mutex // for lamps that no look lights, while looks are measured side by side

	kept     *Kept
	Show     *schema.Show
	Types    map[string]*schema.Type
	Surfaces map[string]*schema.Surface
	Places   map[string]*schema.Place
	byChan   map[int]*schema.Fixture // the first fixture on a channel
	Lines    []*Line                 // of the patch, in its order
	lineOf   map[*schema.Fixture]*Line
	backs    []*schema.Fixture // of the purpose back, in the order of the patch
	looks    []tracking.Look   // that it was made for
	fluxes   map[*schema.Type]float64
	leaving  map[leavingKey]fluxShare
	emitters map[*schema.Type]Engine
	colours  map[colour.XY]*impression
	Lights   map[lightKey]*Light                      // of each make in each state that is asked for
	makes    map[Make]*Make                           // each once
	whites   map[whiteKey]*colour.XY                  // nil: no such white
	anyFlux  bool                                     // whether a type of the rig has a flux
	between  []*Line                                  // the lamps for faces that the patch aims at a point where nobody stands: they serve those around it
	frontAt  map[string][]*Line                       // by place, the lamps for faces that the patch aims at it
	occupied map[string]bool                          // places where somebody stands in any segment
	Basis    Basis                                    // what lamps count by; known once the scene is laid out
	Systems  int                                      // purposes of a stage rig that the patch has
	inSystem [len(systems)]int                        // lamps of each
	Room     *Room                                    // laid out once
	files    map[*schema.Type]photometry.Distribution // read once
	spreads  map[spreadKey]spread
	apart    []bool   // by line; see [tracking.Apart]
	joined   struct { // see [Rig.WalkTogether]
		once  sync.Once
		lines []*Line
	}
}

// NewRig looks up the names of a show and lays out its room for the looks that the
// show has. kept is what the rig of an earlier state of the show handed on; nil if
// there is none.
func NewRig(show *schema.Show, looks []tracking.Look, kept *Kept) *Rig {
	if kept != nil && !slices.Equal(kept.types, show.Types) {
		kept = nil // the light of every lamp may be another
	}
	r := &Rig{
		kept: kept,
		Show: show, Types: map[string]*schema.Type{}, Surfaces: map[string]*schema.Surface{},
		Places: map[string]*schema.Place{}, byChan: map[int]*schema.Fixture{},
		lineOf: map[*schema.Fixture]*Line{}, Lights: map[lightKey]*Light{}, makes: map[Make]*Make{},
		fluxes: map[*schema.Type]float64{}, leaving: map[leavingKey]fluxShare{}, emitters: map[*schema.Type]Engine{}, colours: map[colour.XY]*impression{}, whites: map[whiteKey]*colour.XY{}, occupied: map[string]bool{}, frontAt: map[string][]*Line{},
		files: map[*schema.Type]photometry.Distribution{}, spreads: map[spreadKey]spread{},
	}
	if kept != nil {
		r.spreads, r.makes = maps.Clone(kept.spreads), maps.Clone(kept.makes)
	}
	for _, t := range show.Types {
		r.Types[t.Name] = t
	}
	if show.Room != nil {
		for _, s := range show.Room.Surfaces {
			r.Surfaces[s.Name] = s
		}
		for _, p := range show.Room.Places {
			r.Places[p.Name] = p
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
	for i, f := range show.Patch {
		line := &Line{index: i, Channel: f.Channel, Type: f.Type, Purpose: f.Purpose, Fixture: f, stage: r.StageLight(f), other: r.otherLight(f), system: systemOf(f.Purpose)}
		line.people, line.inAir, line.notKey = goesWithPeople(f.Purpose), SeenInAir(f.Purpose), slices.Contains(notKey[:], f.Purpose)
		line.Of = r.makeOf(f)
		if i > 0 {
			line.asBefore = line.Of == r.Lines[i-1].Of
		}
		r.Lines = append(r.Lines, line)
		if f.Purpose == "back" {
			r.backs = append(r.backs, f)
		}
		r.lineOf[f] = line
		if line.system >= 0 {
			if r.inSystem[line.system]++; r.inSystem[line.system] == 1 {
				r.Systems++
			}
		}
		if p := line.Purpose; line.stage && (p == "key" || p == "fill" || p == "") && f.AimedAt != nil {
			if f.AimedAt.Name != "" {
				r.frontAt[f.AimedAt.Name] = append(r.frontAt[f.AimedAt.Name], line)
			} else if show.Room != nil {
				between := p != ""
				for _, place := range show.Room.Places {
					if pointsAt(f.AimedAt, place) {
						r.frontAt[place.Name] = append(r.frontAt[place.Name], line)
						between = false
					}
				}
				if between {
					r.between = append(r.between, line)
				}
			}
		}
	}
	for _, segment := range show.Order {
		for _, place := range segment.People {
			r.occupied[place] = true
		}
	}
	r.layOut(looks)
	return r
}

// NeedPatch is what is missing where there is no patch: with no lamp known, a
// stage is not dark and a cue does not do nothing.
const NeedPatch = "the patch: which channel is which fixture, at which address"

// HasPatch reports whether the show says which lamps there are.
func (r *Rig) HasPatch() bool { return len(r.Show.Patch) > 0 }

// otherLight reports whether a fixture lights people without being stage light: a
// house light, or a lamp that is part of the set.
func (r *Rig) otherLight(f *schema.Fixture) bool {
	if t := r.Types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) {
		return false
	}
	return f.Purpose == "house" || f.Purpose == "practical"
}

// StageLight reports whether a fixture lights the stage: neither house light nor
// a lamp that is part of the set nor a haze machine.
func (r *Rig) StageLight(f *schema.Fixture) bool {
	if t := r.Types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) {
		return false
	}
	return f.Purpose != "house" && f.Purpose != "practical" && f.Purpose != "haze"
}

// OtherLights are the fixtures that give light without being stage lights:
// house lights and lamps that are part of the set.
func (r *Rig) OtherLights() []*schema.Fixture {
	var list []*schema.Fixture
	for _, f := range r.Show.Patch {
		if t := r.Types[f.Type]; t != nil && (t.Source == "none" || t.Machine != nil) || f.Purpose == "haze" || r.StageLight(f) {
			continue
		}
		list = append(list, f)
	}
	return list
}

// Beams are the stage lights of the purpose beam.
func (r *Rig) Beams() []*schema.Fixture {
	var beams []*schema.Fixture
	for _, f := range r.Show.Patch {
		if f.Purpose == "beam" && r.StageLight(f) {
			beams = append(beams, f)
		}
	}
	return beams
}

// Brightest is the most light of a fixture in any look, in lumens.
func (r *Rig) Brightest(f *schema.Fixture) float64 { return r.lineOf[f].Brightest }
