package facts

import (
	"reflect"
	"slices"
	"sync"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// ways are the facts that a rule asks for in brackets, with the numbers to aim at:
// the method of each, by word. They are the ways back from what should be so to what
// would have to be done. Facts know no limit, so the rule hands over its own; and
// nothing of a way is worked out before a rule has failed and asks.
var ways = map[string]string{
	"backs_can_reach":  "BacksCanReach",
	"backs_to_turn":    "BacksToTurn",
	"best_camera_k":    "BestCameraK",
	"bring_down_stops": "BringDownStops",
	"bring_down_text":  "BringDownText",
	"cameras_to_set":   "CamerasToSet",
	"common_key_k":     "CommonKeyK",
	"dark_back_lamps":  "DarkBackLamps",
	"dark_keys":        "DarkKeys",
	"dark_keys_text":   "DarkKeysText",
	"dimmest_keys":     "DimmestKeys",
	"delayed_cue":      "DelayedCue",
	"drifted_keys":     "DriftedKeys",
	"drive_for_face":   "DriveForFace",
	"drive_for_white":  "DriveForWhite",
	"effects_too_fast": "EffectsTooFast",
	"haze_can_reach":   "HazeCanReach",
	"haze_levels":      "HazeLevels",
	"haze_off":         "HazeOff",
	"haze_off_cue":     "HazeOffCue",
	"haze_start":       "HazeStart",
	"haze_start_cue":   "HazeStartCue",
	"is_parked":        "IsParked",
	"keys_can_reach":   "KeysCanReach",
	"keys_to_camera":   "KeysToCamera",
	"keys_to_set":      "KeysToSet",
	"keys_to_turn":     "KeysToTurn",
	"late_cue":         "LateCue",
	"level_for_drift":  "LevelForDrift",
	"move_to":          "MoveTo",
	"mover":            "Mover",
	"odd_lamps":        "OddLamps",
	"own_lamps_out":    "OwnLampsOut",
	"second_to_turn":   "SecondToTurn",
	"settings_to_turn": "SettingsToTurn",
	"skins_over":       "SkinsOver",
	"spare_back":       "SpareBack",
	"spare_back_lamp":  "SpareBackLamp",
	"strobes_too_fast": "StrobesTooFast",
	"sweep_lamps":      "SweepLamps",
	"washes_can_dim":   "WashesCanDim",
	"washes_to_dim":    "WashesToDim",
	"worst_spiller":    "WorstSpiller",
}

// Way returns the method of a type that answers to a word in brackets.
func Way(of reflect.Type, word string) (method string, ok bool) {
	if of == nil {
		return "", false
	}
	if method, ok = ways[word]; ok {
		_, ok = of.MethodByName(method)
	}
	return method, ok
}

// back is what the ways back start from: the rig, and the one look that it was
// brought to last.
type back struct {
	rig     *stage.Rig
	evening *evening.Evening
	all     *Measured

	mu      sync.Mutex
	room    *stage.Room
	walk    *stage.Walk
	lit     stage.LookLight
	missing []string
	whites  map[string]stage.KeyWhites // by place: of all that its cameras see, once they were asked for
	starts  map[hazeAim]hazeStart
	resting map[int]bool // channels; see [back.parked]
}

// hazeAim is a haze to have in a look, and hazeStart the look from which it comes.
type (
	hazeAim struct {
		look int
		mgM3 float64
	}
	hazeStart struct {
		look int
		ok   bool
	}
)

// to measures a look again and hands it out for a while: the room brought to it, and
// what is missing to be sure of its light.
func (b *back) to(look *tracking.Look, use func(room *stage.Room, lit *stage.LookLight, missing []string)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.room == nil {
		b.room, b.walk = b.rig.Room.Another(), b.rig.Walk()
	}
	if b.lit.Resolved != look {
		b.walk.To(look, &b.lit)
		b.missing = b.room.Light(&b.lit)
	}
	use(b.room, &b.lit, b.missing)
}

// keyWhites counts the whites of the key lights of all looks with people, but for those of places that no camera shows
// which shows the one that is asked about.
func (b *back) keyWhites(place string) stage.KeyWhites {
	b.mu.Lock()
	defer b.mu.Unlock()
	if whites, done := b.whites[place]; done {
		return whites
	}
	if b.whites == nil {
		b.whites = map[string]stage.KeyWhites{}
	}
	for known, whites := range b.whites {
		if b.rig.Room.SeenAlike(place, known) {
			b.whites[place] = whites
			return whites
		}
	}
	past := b.rig.Room.PastPlace(place)
	elsewhere := map[string]bool{}
	for _, other := range b.rig.Show.Room.Places {
		pastOther := b.rig.Room.PastPlace(other.Name)
		elsewhere[other.Name] = !slices.ContainsFunc(b.rig.Show.Room.Cameras, func(c *schema.Camera) bool { return !past(c) && !pastOther(c) })
	}
	whites := stage.KeyWhites{}
	for _, lit := range b.all.Lit() {
		whites.Add(lit, func(place string) bool { return elsewhere[place] })
	}
	b.whites[place] = whites
	return whites
}

// hazeStart is worked out once for each look and haze: a sentence and two changes may
// ask for it.
func (b *back) hazeStart(look int, mgM3 float64) (from int, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	key := hazeAim{look, mgM3}
	start, done := b.starts[key]
	if !done {
		start.look, start.ok = b.evening.Air.HazeStart(look, mgM3)
		if b.starts == nil {
			b.starts = map[hazeAim]hazeStart{}
		}
		b.starts[key] = start
	}
	return start.look, start.ok
}

// slowed lists what flashes too fast in a look; see [evening.Evening.Slowed].
func (b *back) slowed(look int, maxPerS float64) ([]*stage.Lamp, []evening.Pulse) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.evening.Slowed(look, maxPerS)
}
